"""A new estimating workbook as a file: from nothing, an older workbook, a job, or both."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any, Final
from zipfile import ZIP_STORED

from openpyxl.utils.datetime import to_excel
from openpyxl.workbook import Workbook

from basecalc.core.errors import InputError, Place, WorkbookError
from basecalc.core.numbers import choice
from basecalc.estimating.build import build_book, tidy
from basecalc.estimating.carry_over import CarriedOver, Note, carry_over, hang_notes, in_edition
from basecalc.estimating.entries import entries
from basecalc.estimating.host_excel import add_excel_host
from basecalc.estimating.read_job import load_job
from basecalc.job import Job
from basecalc.job.read import entered_again
from basecalc.workbook.new_file import workbook_file, write_one
from basecalc.workbook.starter import edition
from basecalc.workbook.values import store_values

PROGRAMS: Final[Mapping[str, str]] = {
    "any": "any spreadsheet program", "excel": "Excel on Windows with the worksheet functions", "calc": "LibreOffice Calc with the add-in",
}  # fmt: skip
ENDINGS: Final[Mapping[str, str]] = {"any": ".xlsx", "excel": ".xlsm", "calc": ".xlsx"}
_ENTRY_PART: Final = "xl/worksheets/sheet2.xml"


@dataclass(frozen=True, slots=True)
class NewWorkbook:
    """A workbook that was written: where, for which program, and in which units."""

    path: Path
    program: str
    units: str


def new_workbook(
    path: Path, host: str = "", prices: Path | None = None, job: Path | None = None, units: str = ""
) -> NewWorkbook:
    """Write an estimating workbook from files, and return where it is and what it is for."""
    host = host or ("excel" if path.suffix.casefold() == ENDINGS["excel"] else "any")
    fill = None if job is None else load_job(job)
    wanted = units or (fill.units if fill is not None else "")
    old = CarriedOver({}) if prices is None else carry_over(prices, wanted)
    system = wanted or edition(old.records)
    write_template(path, old.records, host=host, units=system, job=fill, notes=old.notes)
    return NewWorkbook(path, PROGRAMS[host], system)


def write_template(
    path: str | Path,
    records: Mapping[str, Any] | None = None,
    *,
    host: str = "",
    units: str = "",
    job: Job | Mapping[str, Any] | None = None,
    notes: Iterable[Note] = (),
) -> Path:
    """Write a new estimating workbook and return where it is.

    Parameters
    ----------
    path
        Where it goes; .xlsm for Excel with the worksheet functions, .xlsx for others; it must not be there yet.
    records
        What Company and Prices start with, as `write_price_workbook` takes it.
    host
        ``any``: formulas that every spreadsheet program recalculates, no functions needed. ``excel`` and ``calc`` add
        the sheet Quick, which calls the eleven worksheet functions. By default the ending of the name says it.
    units
        ``us`` or ``metric``; by default those of the job or of the records.
    job
        A job to fill it with, in the same units.
    notes
        Notes for cells of Company and Prices, as `carry_over` returns them.

    Raises
    ------
    InputError
        A setting, table or column that does not exist, or a job in other units.
    OutOfRangeError
        A job with more areas, readings or particulars than the workbook takes.
    WorkbookError
        The file exists, has another ending, or cannot be written.
    """
    target, given = Path(path), records or {}
    program = choice(
        "host", host or ("excel" if target.suffix.casefold() == ENDINGS["excel"] else "any"), tuple(PROGRAMS)
    )
    if target.suffix.casefold() != ENDINGS[program]:
        raise WorkbookError(
            f"the name of a workbook for {PROGRAMS[program]} must end in {ENDINGS[program]}", where=Place(str(path))
        )
    data = entered_again(job)[0] if isinstance(job, Job) else job
    held = str((data or {}).get("job", {}).get("units", "us" if data else "")).strip().casefold()
    system = choice("units", units or held or edition(given), ("us", "metric"))
    if held and held != system:
        raise InputError(
            f"the job is in {held} units, and the workbook would be in {system} units; leave out the units"
        )
    book = build_book(in_edition(given, edition(given), system), system, entries(data) if data else {}, program)
    hang_notes(book, notes)
    if program == "excel":
        add_excel_host(book)
    return write_one(target, tidy(store_values(workbook_file(book, ZIP_STORED), _values(book)), _ENTRY_PART))


def _values(book: Workbook) -> dict[str, dict[str, Any]]:
    """Return what every formula gives, worked out by a spreadsheet engine that is not ours."""
    import ironcalc

    model = ironcalc.create("book", "en", "UTC", "en")
    model.rename_sheet(0, book.worksheets[0].title)
    for page in book.worksheets[1:]:
        model.add_sheet(page.title)
    formulas: list[tuple[int, Any]] = []
    for place, page in enumerate(book.worksheets):
        for (row, column), cell in page._cells.items():
            value: Any = cell.value
            if cell.data_type == "f":
                formulas.append((place, cell))
            elif isinstance(value, str):
                model.update_cell_with_text(place, row, column, value)
            elif isinstance(value, bool):
                model.update_cell_with_bool(place, row, column, value)
            elif value is not None:
                number = to_excel(value) if isinstance(value, date) else value
                model.update_cell_with_number(place, row, column, number)
    for place, cell in formulas:
        model.update_cell_with_formula(place, cell.row, cell.column, cell.value)
    model.evaluate()
    values: dict[str, dict[str, Any]] = {}
    for place, cell in formulas:
        value = model.get_cell_value(place, cell.row, cell.column)
        values.setdefault(book.worksheets[place].title, {})[cell.coordinate] = value
    return values
