"""A new estimating workbook from what an owner has: nothing, an older workbook, a job, or both."""

from dataclasses import dataclass
from pathlib import Path

from basecalc.core.errors import WorkbookError
from basecalc.estimating.carry_over import CarriedOver, carry_over
from basecalc.estimating.read_job import load_job
from basecalc.estimating.template import ENDINGS, PROGRAMS, write_template
from basecalc.workbook.starter import edition


@dataclass(frozen=True, slots=True)
class NewWorkbook:
    """A workbook that was written: where, for which program, in which units, and what of the old one it lacks."""

    path: Path
    program: str
    units: str
    left_behind: tuple[str, ...]


def new_workbook(
    path: Path, host: str = "", prices: Path | None = None, job: Path | None = None, units: str = ""
) -> NewWorkbook:
    """Write an estimating workbook, and return what became of it."""
    host = host or _host(path)
    fill = None if job is None else load_job(job)
    if fill is not None:
        units = units or fill.units
    old = CarriedOver({}) if prices is None else carry_over(prices, units)
    system = units or edition(old.records)
    write_template(path, old.records, host=host, units=system, job=fill, notes=old.notes)
    return NewWorkbook(path, PROGRAMS[host], system, old.left_behind)


def _host(path: Path) -> str:
    for host in PROGRAMS:
        if path.suffix.casefold() == ENDINGS[host]:
            return host
    raise WorkbookError(
        "the name of an estimating workbook must end in .xlsm (Excel) or .xlsx (LibreOffice Calc)", where=str(path)
    )
