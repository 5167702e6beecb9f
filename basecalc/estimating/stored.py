"""What a filled workbook shows, compared with what its cells hold: values pasted over formulas, and its total."""

from decimal import Decimal
from pathlib import Path
from typing import Final

from openpyxl.utils import range_boundaries

from basecalc.core.errors import BasecalcError, PriceError
from basecalc.core.numbers import cents, shown
from basecalc.estimating.tables import AREAS, ESTIMATE_SHEET, GROUND, LOG, QUOTE_SHEET
from basecalc.tables.from_workbook import Book, Sheet, open_book

_WORKED_OUT: Final = (ESTIMATE_SHEET, QUOTE_SHEET)  # no number is typed on these
_TOTAL: Final = "OfferedTotal"


def pasted_over(path: str | Path) -> list[BasecalcError]:
    """Return a sentence for each worked-out cell of a filled workbook that holds a typed or pasted value."""
    opened = open_book(path)
    sheets = {sheet.name: sheet for sheet in opened.sheets()}
    found: list[BasecalcError] = []
    for table in (GROUND, LOG, AREAS):
        if table.sheet in sheets:
            found += _in_table(sheets[table.sheet], table.name)
    named = {place: name for name, place in opened.named().items()}
    for title in _WORKED_OUT:
        for cell in sheets[title].written() if title in sheets else ():
            typed = cell.data_type != "f" and cell.value is not None
            if typed and (cell.data_type in ("n", "d", "b") or (title, cell.coordinate) in named):
                found.append(_pasted(sheets[title], cell.row, cell.column, cell.value))
    return found


def _in_table(sheet: Sheet, name: str) -> list[BasecalcError]:
    """Return the values in columns of a table that hold formulas in other rows."""
    if (span := sheet.table_range(name)) is None:
        return []
    left, top, right, bottom = span
    inside = [cell for cell in sheet.written() if top < cell.row <= bottom and left <= cell.column <= right]
    worked_out = {cell.column for cell in inside if cell.data_type == "f"}
    typed = [cell for cell in inside if cell.data_type != "f" and cell.value is not None and cell.column in worked_out]
    filled_in = set(range(left, min(worked_out, default=left)))
    return [_pasted(sheet, cell.row, cell.column, cell.value) for cell in typed if cell.column not in filled_in]


def _pasted(sheet: Sheet, row: int, column: int, value: object) -> BasecalcError:
    return PriceError(
        f"the cell is worked out, and {shown(value)} was typed or pasted over its formula; copy the formula back from "
        "another row or from a new workbook",
        where=sheet.where(row, column),
    )


def stored_total(opened: Book) -> float | None:
    """Return the total that a filled workbook shows for the offered option; None where it shows none."""
    place = opened.named().get(_TOTAL)
    value = opened.stored(*place) if place else None
    return float(value) if isinstance(value, int | float) and not isinstance(value, bool) else None


def other_total(path: str | Path, total: Decimal) -> str:
    """Return a sentence where a filled workbook shows another total than the quote made from it; nothing where not."""
    opened = open_book(path)
    shows = stored_total(opened)
    if shows is None or cents(Decimal(repr(shows))) == total:
        return ""
    sheet, cell = opened.named()[_TOTAL]
    left, top, _, _ = range_boundaries(cell)
    return (
        f"{opened.sheet(sheet).where(int(top or 1), int(left or 1))}: the workbook shows a total of ${shows:,.2f}, and "
        f"the quote from the cells that were filled in comes to ${total:,.2f}; recalculate and save the workbook, and "
        "find out why they differ before anything is sent"
    )
