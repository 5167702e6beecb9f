"""A new estimating workbook as a file, for one host."""

from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any, Final

from basecalc.core.errors import WorkbookError
from basecalc.core.numbers import number
from basecalc.estimating.build import build_book
from basecalc.estimating.host_excel import add_excel_host
from basecalc.estimating.old_cells import Note, hang_notes
from basecalc.estimating.tables import AREAS, GROUND, LOG
from basecalc.job import Job
from basecalc.workbook.new_file import workbook_file, write_one
from basecalc.workbook.values import store_values

PROGRAMS: Final[Mapping[str, str]] = {"excel": "Excel", "calc": "LibreOffice Calc"}
MOST_ROWS: Final = 10_000
ENDINGS: Final[Mapping[str, str]] = {"excel": ".xlsm", "calc": ".xlsx", "test": ".xlsx"}


def write_template(
    path: str | Path,
    records: Mapping[str, Any] | None = None,
    *,
    host: str = "excel",
    units: str = "",
    job: Job | Mapping[str, Any] | None = None,
    notes: Iterable[Note] = (),
    area_rows: int = AREAS.ready_rows,
    reading_rows: int = GROUND.ready_rows,
    log_rows: int = LOG.ready_rows,
) -> Path:
    """Write a new estimating workbook and return where it is.

    Parameters
    ----------
    path
        Where it goes; .xlsm for Excel, .xlsx for others; it must not be there yet.
    records, host, units, job, area_rows, reading_rows, log_rows
        As `basecalc.estimating.build.build_book` takes them.
    notes
        Notes for cells of Company and Prices, as `basecalc.estimating.carry_over.carry_over` finds them.

    Raises
    ------
    InputError
        As `build_book`.
    WorkbookError
        The file exists, has another ending, or cannot be written.
    """
    target = Path(path)
    for name, rows in (("area rows", area_rows), ("reading rows", reading_rows), ("log rows", log_rows)):
        number(name, rows, "", 1, MOST_ROWS)
    book, values = build_book(
        records, host, units, job, area_rows=area_rows, reading_rows=reading_rows, log_rows=log_rows
    )
    ending = ENDINGS[host]
    if target.suffix.casefold() != ending:
        raise WorkbookError(
            f"the name of an estimating workbook for {PROGRAMS.get(host, host)} must end in {ending}", where=str(path)
        )
    hang_notes(book, notes)
    if host == "excel":
        add_excel_host(book)
    return write_one(target, store_values(workbook_file(book), values))
