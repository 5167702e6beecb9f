"""The owner's price workbook, read and checked cell by cell."""

import re
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from difflib import get_close_matches
from pathlib import Path
from typing import Final

from openpyxl.utils import get_column_letter

from basecalc.brief import brief
from basecalc.checks import shown
from basecalc.company import Company
from basecalc.errors import BasecalcError, OutOfRangeError, PriceError
from basecalc.pricing.company_sheet import read_company, read_rows, refuse_doubles, refuse_unit, sheet_of
from basecalc.pricing.price_cells import Book, Grid, find_grid, open_book
from basecalc.pricing.price_tables import PRICED_TABLES, PRICES, PRICES_SHEET
from basecalc.takeoff.codes import codes
from basecalc.takeoff.owner import require_near, require_plausible, units_like
from basecalc.units import convert

_STONE_CODES: Final = {"base": "base-stone", "bedding": "bedding-sand", "fill": "foundation-fill"}


@dataclass(frozen=True, slots=True)
class Price:
    """One row of the owner's prices and the cell its price is in; a haul may have a least charge for the whole job."""

    code: str
    item: str
    unit: str
    unit_price: Decimal
    taxable: bool
    priced_on: date | None
    supplier: str
    cell: str
    minimum: Decimal | None = None


@dataclass(frozen=True, slots=True)
class PriceBook:
    """The owner's workbook as read.

    Parameters
    ----------
    company
        The owner's settings and materials.
    prices
        The price of each code.
    path
        The file they come from.
    sure
        Codes of the prices whose unusual number the owner said is meant.
    """

    company: Company
    prices: Mapping[str, Price]
    path: str
    sure: frozenset[str] = frozenset()

    __repr__ = brief


def load_prices(path: str | Path) -> PriceBook:
    """Return the owner's company and prices. The file is only read.

    Parameters
    ----------
    path
        The .xlsx workbook with the sheets Company and Prices.

    Raises
    ------
    WorkbookError
        No such file, no workbook, a damaged one.
    PriceError
        The first thing wrong in it, with its file, sheet and cell; `problems` returns all of them.
    """
    book, wrong = _read(path)
    if wrong or book is None:
        raise wrong[0]
    return book


def problems(path: str | Path) -> list[BasecalcError]:
    """Return everything that is wrong with the owner's workbook, in the order of its sheets; nothing if it is sound."""
    try:
        return _read(path)[1]
    except BasecalcError as unreadable:
        return [unreadable]


def _read(path: str | Path) -> tuple[PriceBook | None, list[BasecalcError]]:
    opened = open_book(path)
    wrong: list[BasecalcError] = []
    owner = read_company(opened, wrong)
    sure: set[str] = set()
    prices = _prices(opened, owner.grids, wrong, sure)
    wrong.sort(key=_down_the_sheets)
    if wrong or owner.company is None or prices is None:
        return None, wrong
    return PriceBook(owner.company, prices, str(path), frozenset(sure)), wrong


def _down_the_sheets(error: BasecalcError) -> tuple[bool, int, int, str]:
    """Return what sorts complaints by sheet, row and column; those about a whole sheet come before its cells."""
    cell = re.search(r", cell ([A-Z]+)(\d+)$", error.where)
    at = (int(cell[2]), len(cell[1]), cell[1]) if cell else (0, 0, "")
    return f"sheet {PRICES_SHEET}".casefold() in error.where.casefold(), *at


def far_prices(book: PriceBook, older: PriceBook) -> list[BasecalcError]:
    """Return a sentence for each price that is many times, or a fraction of, that of an older list.

    Parameters
    ----------
    book, older
        The owner's workbook now and then.
    """
    found: list[BasecalcError] = []
    for code, price in book.prices.items():
        then = older.prices.get(code)
        if then is None or code in book.sure or then.unit not in units_like(price.unit):
            continue
        per_unit = float(then.unit_price) / (convert(1.0, then.unit, price.unit) if then.unit != price.unit else 1.0)
        try:
            require_near("unit price", code, float(price.unit_price), per_unit, price.unit)
        except OutOfRangeError as asked:
            found.append(PriceError(asked.sentence, where=f"{book.path}, {price.cell}"))
    return found


def _prices(
    opened: Book, owner: Mapping[str, Grid] | None, wrong: list[BasecalcError], sure: set[str]
) -> dict[str, Price] | None:
    """Return the prices by code, and add codes said to be meant.

    What is wrong with them, and between them and the company's tables, is added too.
    """
    sheet = sheet_of(opened, PRICES_SHEET, wrong)
    if sheet is None:
        return None
    try:
        grid, faults = find_grid(sheet, PRICES.name, PRICES.title, PRICES.columns)
    except PriceError as missing:
        wrong.append(missing)
        return None
    wrong += faults
    column = get_column_letter(grid.columns["unit_price"])
    rows = read_rows(PRICES, grid, wrong)
    prices = {
        price.code: Price(
            **{field: value for field, value in price if field != "sure"},
            cell=f"sheet {sheet.name}, cell {column}{row}",
        )
        for row, price in rows.items()
    }
    sure |= {price.code for price in rows.values() if price.sure}
    refuse_doubles(PRICES, grid, wrong)
    own = dict(_named(owner or {}))
    for row, price in rows.items():
        if not price.sure:
            try:
                like = own[price.code].like if price.code in own else price.code
                require_plausible("unit price", like, price.unit, price.unit_price)
            except OutOfRangeError as asked:
                wrong.append(grid.fault(row, "unit_price", asked.sentence))
    written = {row: code for row in grid.rows() if (code := grid.word(row, "code"))}
    for row, code in written.items():
        needed = own[code].unit if code in own else codes()[code].units[0] if code in codes() else None
        also = codes()[code].also_priced_by if code in codes() else ()
        if needed:
            refuse_unit(grid, row, code, needed, wrong, also)
        elif owner is not None:
            wrong.append(grid.fault(row, "code", _unknown_code(code, own)))
        if code in prices and prices[code].minimum is not None and not also:
            wrong.append(grid.fault(row, "minimum", f"minimum is for hauling and tipping only; {code} is not"))
    if not written:
        wrong.append(grid.fault(grid.heading_row, "code", "there is no price; fill in the table of prices"))
    for code, named in _named(owner or {}):
        if code not in written.values():
            sentence = f"price code is {shown(code)}; there is no row with that code on the sheet {PRICES_SHEET}"
            wrong.append(named.grid.fault(named.row, "code", sentence))
    return prices


@dataclass(frozen=True, slots=True)
class _Named:
    """Where a material names a price code, the quantity it is priced like, and the unit it is counted in."""

    like: str
    unit: str
    grid: Grid
    row: int


def _named(owner: Mapping[str, Grid]) -> Iterator[tuple[str, _Named]]:
    """Yield every price code that a stone, paver or roll names."""
    for key in PRICED_TABLES:
        grid = owner.get(key)
        for row in grid.rows() if grid else ():
            if grid and (code := grid.word(row, "code")):
                kind = next((grid.word(row, field) for field in ("use", "kind") if field in grid.columns), "pavers")
                like = codes().get(_STONE_CODES.get(kind, kind))
                if like:
                    yield code, _Named(like.code, like.units[0], grid, row)


def _unknown_code(code: str, own: Collection[str]) -> str:
    near = get_close_matches(code, [*codes(), *own], 1)
    hint = f"did you mean {near[0]!r}?" if near else "the drop-down of the column shows the codes there are"
    return f"code is {shown(code)}, which is no quantity and no material of yours; {hint}"
