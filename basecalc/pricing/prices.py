"""The owner's price workbook, its sheets Company and Prices, read and checked cell by cell."""

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from difflib import get_close_matches
from functools import partial
from pathlib import Path
from typing import Annotated, Any, Final

from basecalc.company import (
    COMPANY_SHEET,
    COMPANY_TABLES,
    SETTING_ROWS,
    STONE_CODES,
    SURE,
    TERMS,
    UNIT_OF_PRICE,
    Company,
    Setting,
    assemble,
    settings,
    settings_by_name,
)
from basecalc.core.errors import BasecalcError, InputError, OutOfRangeError, Place, PriceError, column_letters
from basecalc.core.numbers import brief, cents, quoted
from basecalc.core.units import UNIT, price_unit
from basecalc.design.settings import TRAFFIC_NAMES
from basecalc.ground.readings import soil_named
from basecalc.tables.from_workbook import Book, Grid, Sheet, find_grid, open_book
from basecalc.tables.schema import SHARE, By, Day, Field, Table, Text, YesNo, declared, shares_unit, sheet_unit
from basecalc.takeoff.codes import require_near, require_past, require_plausible, unit_in, unit_price, units_like
from basecalc.takeoff.model import CODES, Code

PRICES_SHEET: Final = "Prices"


def _minimum(name: str, value: Any) -> Decimal:
    return cents(unit_price(name, value))


@dataclass(frozen=True, slots=True)
class Price:
    """One row of the owner's prices and the cell its price is in; a haul may have a least charge for the whole job."""

    # fmt: off
    code: Annotated[str, Field(
        "code", kind=Text(60, lower=True), help="One row a code; the drop-down shows them all.", format="text",
        offers="price codes")]
    item: Annotated[str, Field("item", help="Your own words for it.", format="text")]
    unit: Annotated[str, Field(
        "unit", kind=UNIT_OF_PRICE, format="text", offers="units",
        help="What one is: the price is for one of these. Hauling and tipping: load, ton, yd3 or h.")]
    unit_price: Annotated[Decimal, Field(
        "unit_price", kind=By(unit_price), help="What it costs you, delivered. 0 only where you mean 0.",
        format="money")]
    taxable: Annotated[bool, Field("taxable", kind=YesNo(), help="yes or no")]
    priced_on: Annotated[date | None, Field(
        "priced_on", kind=Day(date(2000, 1, 1), written=False), help="The day you got the price, as a date.",
        format="date")]
    supplier: Annotated[str, Field(
        "supplier", help="Stays in the office file; no client sees it.", needed=False, blank="", format="text")]
    cell: str
    minimum: Annotated[Decimal | None, Field(
        "minimum", kind=By(_minimum), format="money", optional=True,
        help="Hauling and tipping only: the least charge for a job. Blank where there is none.")] = None
    # fmt: on


def _price(**row: Any) -> Mapping[str, Any]:
    """Return the price of a row; its day may lie far ahead only where the owner says so."""
    if row["priced_on"] is not None and not row["sure"]:
        require_past("priced on", row["priced_on"], date.today())
    return row


PRICES: Final = Table(
    "prices", (*declared(Price), replace(SURE, into="sure")), _price, "UnitPrices", "Prices", free_rows=8,
    blame="priced_on",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class CompanySheet:
    """What the sheet Company gave: the company where all is sound, and its tables by key where there is a sheet."""

    company: Company | None
    grids: Mapping[str, Grid] | None


def sheet_of(opened: Book, name: str, wrong: list[BasecalcError]) -> Sheet | None:
    """Return the sheet with this name; None where there is none, with a complaint added."""
    try:
        return opened.sheet(name)
    except PriceError as missing:
        wrong.append(missing)
        return None


def read_company(opened: Book, wrong: list[BasecalcError]) -> CompanySheet:
    """Return what the sheet Company says; what is wrong with it is added to the list."""
    sheet = sheet_of(opened, COMPANY_SHEET, wrong)
    if sheet is None:
        return CompanySheet(None, None)
    before = len(wrong)
    grids, unusable = _grids(sheet, (SETTING_ROWS, *COMPANY_TABLES), wrong)
    values = _settings(grids, wrong)
    made: dict[str, tuple[Any, ...]] = {}
    for table in COMPANY_TABLES:
        if table.key in grids and table.key not in unusable:
            made[table.key] = tuple(read_rows(table, grids[table.key], wrong).values())
        if table.key in grids and table is not TERMS:
            refuse_doubles(table, grids[table.key], wrong)
    _known_words(grids, wrong)
    if len(wrong) > before:
        return CompanySheet(None, grids)
    try:
        company = assemble(values, **{**made, "soils": dict(made["soils"])})
    except BasecalcError as error:
        wrong.append(error.changed(PriceError, where=sheet.place()))
        return CompanySheet(None, grids)
    return CompanySheet(company, grids)


def _grids(sheet: Sheet, tables: Sequence[Table], wrong: list[BasecalcError]) -> tuple[dict[str, Grid], set[str]]:
    """Return the tables found, by key, and the keys of those whose units cannot be told."""
    grids: dict[str, Grid] = {}
    unusable: set[str] = set()
    for table in tables:
        try:
            grids[table.key], faults = find_grid(sheet, table)
        except PriceError as missing:
            wrong.append(missing)
            continue
        wrong += faults
        unusable |= {table.key} if faults else set()
    return {key: replace(grid, end=rows_end(grids, key)) for key, grid in grids.items()}, unusable


def rows_end(grids: Mapping[str, Grid], key: str) -> int | None:
    """Return the row where a table's rows end: the title over the next table below it, if there is one."""
    own = grids[key]
    span = range(min(own.columns.values()), max(own.columns.values()) + 1)
    below = [
        grid for grid in grids.values()
        if grid.heading_row > own.heading_row and any(column in span for column in grid.columns.values())
    ]  # fmt: skip
    if not below:
        return None
    row = min(grid.heading_row for grid in below)
    for _ in ("the line of help", "the title"):
        if len(own.sheet.filled.get(row - 1, [])) == 1:
            row -= 1
    return row


def _settings(grids: Mapping[str, Grid], wrong: list[BasecalcError]) -> dict[str, Any]:
    grid = grids.get(SETTING_ROWS.key)
    if grid is None:
        return {}
    groups = {setting.group.casefold() for setting in settings().values()}
    values: dict[str, Any] = {}
    for row in grid.rows():
        label = grid.word(row, "label")
        if label in groups:
            continue
        try:
            setting = _known(label, values, grid.place(row, "label"))
            values[setting.key] = None
            values[setting.key] = _setting(grid, row, setting)
        except PriceError as error:
            wrong.append(error)
    for key, setting in settings().items():
        if key not in values:
            default = setting.edge_default(str(values.get("units") or "us"))
            if default is None:
                wrong.append(PriceError(f"the setting {quoted(setting.label)} is missing", where=grid.sheet.place()))
            else:
                values[key] = setting.read(default, setting.unit(str(values.get("units") or "us")))
    return values


def _known(label: str, had: Mapping[str, Any], where: Place) -> Setting:
    setting = settings_by_name().get(label)
    if setting is None:
        near = get_close_matches(label, settings_by_name(), 1)
        hint = f"; did you mean {settings_by_name()[near[0]].label.casefold()!r}?" if near else ""
        raise PriceError(f"{quoted(label)} is not a setting{hint}", where=where)
    if setting.key in had:
        raise PriceError(f"the setting {quoted(label)} appears twice", where=where)
    return setting


def _setting(grid: Grid, row: int, setting: Setting) -> Any:
    value = grid.value(row, "value")
    unit = str(grid.value(row, "unit") or "").strip()
    own = setting.unit("us")
    allowed = " or ".join(dict.fromkeys(sheet_unit(one) for one in (own, setting.unit("metric"))))
    if own and not unit:
        raise PriceError(f"{setting.label} has no unit; it must be {allowed}", where=grid.place(row, "unit"))
    sure = "sure" in grid.columns and grid.word(row, "sure") == "yes"
    try:
        if own == SHARE and (unit := shares_unit(unit)) != SHARE:
            raise InputError(f"the unit of {setting.label} is {quoted(unit)}; it must be {allowed}", field=UNIT)
        return setting.read(value, unit if own else "", sure=sure)
    except BasecalcError as error:
        field = UNIT if error.field == UNIT else "value"
        raise error.changed(PriceError, where=grid.place(row, field), field=setting.key) from None


def read_rows(table: Table, grid: Grid, wrong: list[BasecalcError]) -> dict[int, Any]:
    """Return what the sound rows of a table give, by row; complaints about the others are added to the list."""
    found: dict[int, Any] = {}
    for row in grid.rows():
        cells: dict[str, Any] = {}
        faults: list[BasecalcError] = []
        for field in grid.columns:
            try:
                cells[field] = grid.value(row, field)
            except PriceError as error:
                faults.append(error)
        if not faults:
            record, faults = table.row(cells, partial(grid.place, row), unit_of=grid.units, kind=PriceError)
            found |= {} if faults else {row: record}
        wrong += faults
    return found


def refuse_doubles(table: Table, grid: Grid, wrong: list[BasecalcError]) -> None:
    """Complain of every row whose first column says what a row above it says already."""
    field = table.fields[0]
    first: dict[str, int] = {}
    for row in grid.rows():
        word = grid.word(row, field.key)
        if word and word in first:
            sentence = f"{field.name} {quoted(word)} appears twice; row {first[word]} already has it"
            wrong.append(grid.fault(row, field.key, sentence))
        first.setdefault(word, row)


def refuse_unit(grid: Grid, row: int, code: str, fitting: tuple[str, ...], wrong: list[BasecalcError]) -> None:
    """Complain of a unit that exists and does not fit the quantity of its code."""
    unit = price_unit(grid.word(row, "unit"))
    if unit and unit not in fitting:
        sentence = f"unit is {quoted(unit)}; {code} must have one of: {', '.join(fitting)}"
        wrong.append(grid.fault(row, "unit", sentence))


def _known_words(grids: Mapping[str, Grid], wrong: list[BasecalcError]) -> None:
    """Refuse a soil no job may name, a rate for no work, a rate in a wrong unit, a traffic level that has our name."""
    for grid, row, word in _words(grids, "soils", "soil"):
        try:
            soil_named(word)
        except InputError as error:
            wrong.append(grid.fault(row, "soil", error.sentence))
    work = {key: code for key, code in CODES.items() if code.kind in ("work", "haul")}
    for grid, row, word in _words(grids, "rates", "code"):
        if word not in work:
            wrong.append(grid.fault(row, "code", f"work is {quoted(word)}; it must be one of: {', '.join(work)}"))
        else:
            refuse_unit(grid, row, word, units_like(work[word].us), wrong)
    for grid, row, word in _words(grids, "traffics", "name"):
        if word in TRAFFIC_NAMES:
            sentence = f"name is {quoted(word)}, which is a traffic level already; give yours another name"
            wrong.append(grid.fault(row, "name", sentence))


def _words(grids: Mapping[str, Grid], key: str, field: str) -> Iterator[tuple[Grid, int, str]]:
    """Yield each word of a column of a table, if that table was found, with where it is."""
    grid = grids.get(key)
    for row in grid.rows() if grid else ():
        if grid and (word := grid.word(row, field)):
            yield grid, row, word


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


def _down_the_sheets(error: BasecalcError) -> tuple[bool, int, int]:
    """Return what sorts complaints by sheet, row and column; those about a whole sheet come before its cells."""
    place = error.place
    return place.sheet.casefold() == PRICES_SHEET.casefold(), place.row if place.column else 0, place.column


def far_prices(book: PriceBook, older: PriceBook) -> list[BasecalcError]:
    """Return a sentence for each price that is many times, or a fraction of, that of an older list."""
    found: list[BasecalcError] = []
    for code, price in book.prices.items():
        then = older.prices.get(code)
        times = unit_in(price.unit, then.unit) if then else None
        if then is None or times is None or code in book.sure:
            continue
        try:
            require_near("unit price", code, float(price.unit_price), float(then.unit_price) / times, price.unit)
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
    grid = _grids(sheet, (PRICES,), wrong)[0].get(PRICES.key) if sheet else None
    if sheet is None or grid is None:
        return None
    column = column_letters(grid.columns["unit_price"])
    rows = read_rows(PRICES, grid, wrong)
    prices = {
        price["code"]: Price(
            **{key: value for key, value in price.items() if key != "sure"},
            cell=f"sheet {sheet.name}, cell {column}{row}",
        )
        for row, price in rows.items()
    }
    sure |= {price["code"] for price in rows.values() if price["sure"]}
    refuse_doubles(PRICES, grid, wrong)
    materials = list(_materials(owner or {}))
    known = {**CODES, **{code: like for code, like, _, _ in materials}}
    for row, price in rows.items():
        if not price["sure"]:
            try:
                like = known[price["code"]].code if price["code"] in known else price["code"]
                require_plausible("unit price", like, price["unit"], price["unit_price"])
            except OutOfRangeError as asked:
                wrong.append(grid.fault(row, "unit_price", asked.sentence))
    written = {row: code for row in grid.rows() if (code := grid.word(row, "code"))}
    for row, code in written.items():
        of = known.get(code)
        if of:
            refuse_unit(grid, row, code, (*units_like(of.us), *of.also_priced_by), wrong)
        elif owner is not None and code not in sure and (typo := _typo(code, known)):
            wrong.append(grid.fault(row, "code", typo))
        if code in prices and prices[code].minimum is not None and not (of and of.kind == "haul"):
            wrong.append(grid.fault(row, "minimum", f"minimum is for hauling and tipping only; {code} is not"))
    if not written:
        wrong.append(grid.fault(grid.heading_row, "code", "there is no price; fill in the table of prices"))
    for code, _, table, row in materials:
        if code not in written.values():
            sentence = f"price code is {quoted(code)}; there is no row with that code on the sheet {PRICES_SHEET}"
            wrong.append(table.fault(row, "code", sentence))
    return prices


def _materials(owner: Mapping[str, Grid]) -> Iterator[tuple[str, Code, Grid, int]]:
    """Yield every price code that a stone, paver or roll names, the code it is priced like, and where that is."""
    for key in ("stones", "pavers", "rolls"):
        grid = owner.get(key)
        for row in grid.rows() if grid else ():
            if grid and (code := grid.word(row, "code")):
                kind = next((grid.word(row, field) for field in ("use", "kind") if field in grid.columns), "pavers")
                like = CODES.get(STONE_CODES.get(kind, kind))
                if like:
                    yield code, like, grid, row


def _typo(code: str, known: Collection[str]) -> str:
    """Return what is asked of a code of the owner's own that looks like a typo; nothing of one that does not."""
    near = get_close_matches(code, known, 1)
    if not near:
        return ""
    return (
        f"code is {quoted(code)}, which is not a quantity or a material of yours; did you mean {near[0]!r}? For a line "
        "of your own under that code write yes under 'sure?'"
    )
