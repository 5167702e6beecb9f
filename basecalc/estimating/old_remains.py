"""What an older workbook holds beside its tables: notes for the new cells, and all that finds no place there."""

from functools import cache
from typing import Final

from openpyxl.cell.cell import Cell

from basecalc.core.errors import PriceError
from basecalc.core.numbers import shown
from basecalc.estimating.build import HOSTS, build_book
from basecalc.estimating.host_excel import CONF_SHEET
from basecalc.estimating.old_cells import Carrier, Note
from basecalc.estimating.start_sheet import steps_for
from basecalc.estimating.tables import AREAS, COUNTING_TABLE, GROUND, JOB_COLUMNS, JOB_ENTRIES, JOB_TABLE, LOG, SHEETS
from basecalc.tables.from_workbook import Book, Grid, Sheet, find_grid
from basecalc.workbook.template_table import CODES_SHEET

_OWN_SHEETS: Final = frozenset(name.casefold() for name in (*SHEETS, CODES_SHEET, CONF_SHEET))
_ENTRIES: Final = {entry.label.casefold(): entry for entry in JOB_ENTRIES}
_BELOW_HEAD: Final = 4  # above it a cell that looks like one to fill in only shows how they look
_OURS: Final = "basecalc"  # what our looks are named after, and who signs our notes
_INPUT: Final = f"{_OURS} input"


def remains(opened: Book, carried: tuple[Sheet | None, Sheet | None], carrier: Carrier) -> None:
    """Take the notes on cells that were placed, and list every cell, note and sheet that was not."""
    names = {sheet.name for sheet in carried if sheet}
    for sheet in opened.sheets():
        if sheet.name in names:
            _cells(sheet, carrier, every=True)
        elif sheet.name.strip().casefold() in _OWN_SHEETS:
            _cells(sheet, carrier, every=False)
            _job(sheet, carrier)
        elif sheet.filled or any(cell.comment for cell in sheet.written()):
            count = sum(map(len, sheet.filled.values()))
            carrier.leave(
                sheet.where(), f"the sheet is none of ours; its {count} filled cells stay in the old workbook"
            )


def _cells(sheet: Sheet, carrier: Carrier, *, every: bool) -> None:
    """List the cells of a sheet that were not placed, and their notes: `every` one, or those outside of its tables."""
    own = frozenset() if every else _in_tables(sheet)
    for (row, column), cell in carrier.cells(sheet).items():
        at = (sheet.name, row, column)
        blank = cell.value is None or not str(cell.value).strip()
        if not blank and at not in carrier.placed and (row, column) not in own and not _ours(cell, every=every):
            value = getattr(cell.value, "text", cell.value)
            carrier.leave(sheet.where(row, column), f"{shown(value)} has no place in the new workbook")
        if cell.comment is None:
            continue
        text, author = cell.comment.text, cell.comment.author or ""
        if at in carrier.targets:
            carrier.notes.append(Note(*carrier.targets[at], text, author))
        elif _one_line(text) not in _own_texts() and (every or author != _OURS):
            carrier.leave(sheet.where(row, column), f"the note {shown(text)} has no place in the new workbook")


def _in_tables(sheet: Sheet) -> frozenset[tuple[int, int]]:
    """Return the cells inside the tables of a job, which is told of as a whole."""
    spans = [
        span
        for name in (JOB_TABLE, GROUND.name, COUNTING_TABLE, LOG.name, AREAS.name)
        if (span := sheet.table_range(name))
    ]
    return frozenset(
        (row, column)
        for left, top, right, bottom in spans
        for row in range(top, bottom + 1)
        for column in range(left, right + 1)
    )


def _ours(cell: Cell, *, every: bool) -> bool:
    """Return whether a cell holds a text or a formula of ours and nothing that somebody filled in."""
    look = _look(cell)
    if look.startswith(f"{_OURS} ") and not (every and look == _INPUT):
        return True
    if not every and cell.data_type == "f":
        return True
    return isinstance(cell.value, str) and _one_line(cell.value) in _own_texts()


def _look(cell: Cell) -> str:
    """Return the name of a cell's look; nothing where another program has renumbered them."""
    try:
        return str(cell.style or "")
    except IndexError:
        return ""


def _one_line(text: str) -> str:
    return " ".join(text.split())


@cache
def _own_texts() -> frozenset[str]:
    """Return every text and every note that our own sheets hold before anybody fills them in."""
    found: set[str] = set()
    for units in ("us", "metric"):
        book, _ = build_book(units=units, area_rows=1, reading_rows=1, log_rows=1)
        cells = [cell for sheet in book.worksheets for cell in sheet._cells.values() if isinstance(cell, Cell)]
        found |= {cell.comment.text for cell in cells if cell.comment}
        texts = [cell for cell in cells if isinstance(cell.value, str) and cell.data_type == "s"]
        found |= {str(cell.value) for cell in texts if cell.style != _INPUT or cell.row < _BELOW_HEAD}
        found |= {text for host in HOSTS for text in steps_for(host)}
    return frozenset(map(_one_line, found))


def _job(sheet: Sheet, carrier: Carrier) -> None:
    """Say that what belongs to a job stays in the old workbook, where there is any."""
    for name, title, columns in (
        (JOB_TABLE, "the job card", JOB_COLUMNS[:2]),
        (GROUND.name, GROUND.title, GROUND.columns),
        (LOG.name, LOG.title, LOG.columns),
        (AREAS.name, AREAS.title, AREAS.columns),
    ):
        if not sheet.table_range(name):
            continue
        try:
            grid, _ = find_grid(sheet, name, title, columns)
        except PriceError:
            continue
        rows = [row for row in grid.rows() if (_filled_in(grid, row) if name == JOB_TABLE else True)]
        if rows:
            count = f"{len(rows)} row{'s' if len(rows) > 1 else ''} of {title}"
            carrier.leave(sheet.where(rows[0]), f"{count} from here on belong to a job and stay in the old workbook")


def _filled_in(grid: Grid, row: int) -> bool:
    """Return whether an entry of the job card says something that no new card says."""
    entry = _ENTRIES.get(grid.word(row, "label"))
    return entry is not None and grid.word(row, "value") not in ("", entry.default.casefold())
