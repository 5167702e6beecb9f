"""Filled workbooks of invented jobs: the tables of a job written plainly beside a sound price workbook."""

from collections.abc import Callable, Mapping, Sequence
from io import BytesIO
from pathlib import Path
from typing import Any

from basecalc.estimating.job_cells import JobCells, job_cells
from basecalc.estimating.tables import (
    AREAS,
    COUNTING,
    COUNTING_COLUMNS,
    COUNTING_TABLE,
    GROUND,
    JOB_COLUMNS,
    JOB_ENTRIES,
    JOB_TABLE,
    LOG,
    START_SHEET,
)
from openpyxl import load_workbook
from openpyxl.workbook import Workbook
from openpyxl.worksheet.table import Table
from openpyxl.worksheet.worksheet import Worksheet
from price_books import sound

from basecalc.tables.schema import Field

DRIVE: Mapping[str, Any] = {
    "job": {
        "number": "LF-7", "client": "Ida Farrow", "site": "4 Rushes Lane, Brackwater", "traffic": "light",
        "season": "wet", "soil": "clay", "notes": ["The gate is 9 ft wide.", "Dog."],
    },
    "area": [
        {"name": "Drive", "shape": "rectangle", "length": 40, "width": 20, "foundation_edge": 20, "geotextile": True},
        {"name": "Bay", "shape": "trapezoid", "parallel_sides": [24, 18], "height": 20, "soil": "sand",
         "strength": "stiff"},
        {"name": "Turn", "shape": "triangle", "sides": [30, "12 ft", 28], "old_pavement": 3,
         "old_pavement_kind": "asphalt", "strength": 2.1},
    ],
    "spot": [
        {"name": "gate", "area": "Drive", "readings": [{"test": "walk", "reading": 2.5},
                                                       {"test": "vane", "reading": "22 kPa", "note": "twice"}]},
        {"name": "house", "area": "Drive", "readings": [{"test": "thumb", "reading": "thumb deep"}]},
    ],
}  # fmt: skip


def _put(sheet: Worksheet, name: str, top: int, headings: Sequence[str], rows: Sequence[Sequence[Any]]) -> None:
    for at, cells in enumerate([headings, *rows], top):
        for column, value in enumerate(cells, 1):
            cell = sheet.cell(at, column)
            cell.value = value
            if isinstance(value, str):
                cell.data_type = "s"
    last = sheet.cell(top + max(len(rows), 1), len(headings)).coordinate
    sheet.add_table(Table(displayName=name, name=name, ref=f"A{top}:{last}"))


def _rows(columns: Sequence[Field], rows: Sequence[Mapping[str, Any]]) -> list[list[Any]]:
    return [[row.get(column.key) for column in columns] for row in rows]


def add_job(book: Workbook, cells: JobCells) -> Workbook:
    """Add the three tables of a job to a workbook, headings in the units of the job."""
    units = cells.job.units
    card = [[entry.label, cells.card.get(entry.key, entry.default or None)] for entry in JOB_ENTRIES]
    _put(book.create_sheet(START_SHEET, 0), JOB_TABLE, 4, [column.label for column in JOB_COLUMNS[:2]], card)
    for table, rows in ((GROUND, cells.readings), (AREAS, cells.areas)):
        headings = [column.heading(units) for column in table.columns]
        _put(book.create_sheet(table.sheet), table.name, 3, headings, _rows(table.columns, rows))
    if cells.logs:
        sheet = book.create_sheet(LOG.sheet)
        counted = [[entry.label, entry.default] for entry in COUNTING]
        _put(sheet, COUNTING_TABLE, 3, [column.label for column in COUNTING_COLUMNS], counted)
        _put(sheet, LOG.name, 8, [column.heading(units) for column in LOG.columns], _rows(LOG.columns, cells.logs))
    return book


def plain_book(
    folder: Path, job: Any, name: str = "filled.xlsx", change: Callable[[Workbook], None] | None = None
) -> Path:
    """Return a workbook with the sound prices and a job, changed through openpyxl if so asked."""
    book = add_job(load_workbook(BytesIO(sound())), job_cells(job))
    if change:
        change(book)
    path = folder / name
    book.save(path)
    return path


def cell_of(book: Workbook, sheet: str, heading: str, row: int) -> str:
    """Return the cell below a heading: so many rows down, or beside the label of the job card that `heading` names."""
    page = book[sheet]
    for line in page.iter_rows():
        for cell in line:
            if isinstance(cell.value, str) and cell.value.split(" [")[0] == heading:
                return (
                    page.cell(cell.row, cell.column + 1).coordinate
                    if not row
                    else page.cell(cell.row + row, cell.column).coordinate
                )
    raise LookupError(heading)
