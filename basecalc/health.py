"""What is installed and works here, and everything wrong with a file, all at once."""

import platform
import shutil
from collections.abc import Callable
from dataclasses import dataclass
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

from basecalc.base.depth import base_depth
from basecalc.base.reinforcement import NONE
from basecalc.base.traffic import traffic
from basecalc.company import company
from basecalc.errors import BasecalcError, WorkbookError
from basecalc.estimating.read_job import holds_job, job_sheet_problems, load_job
from basecalc.ground.classes import strength
from basecalc.ground.cone import cone_cbr
from basecalc.job import job_problems
from basecalc.pricing.prices import problems
from basecalc.pricing.quote import area_grounds
from basecalc.pricing.soil_question import area_question
from basecalc.takeoff.earthwork import loose_volume_m3
from basecalc.units import to_unit
from basecalc.workbook.as_quoted import holds_quote, load_quote

NEEDED = ("click", "defusedxml", "numpy", "openpyxl", "pandas", "pint", "pydantic", "rich", "xlwings")


@dataclass(frozen=True, slots=True)
class Part:
    """One thing looked at: its name, whether it works, whether it must, and what was seen."""

    name: str
    works: bool
    needed: bool
    seen: str


def installation() -> list[Part]:
    """Return what was looked at on this machine: Python, the libraries, known values, LibreOffice, Excel."""
    parts = [Part("Python", True, True, platform.python_version())]
    for name in NEEDED:
        try:
            parts.append(Part(name, True, True, version(name)))
        except PackageNotFoundError:
            parts.append(Part(name, False, True, f"not installed; 'pip install {name}' brings it"))
    parts += [_known(name, work, expected, tolerance) for name, work, expected, tolerance in _KNOWN]
    office = shutil.which("soffice") or shutil.which("libreoffice")
    parts.append(Part("LibreOffice", bool(office), False, office or "not found; only PDF output needs it"))
    windows = platform.system() == "Windows"
    seen = "Windows: 'xlwings addin install' connects Excel" if windows else "worksheet functions in Excel need Windows"
    parts.append(Part("Excel", windows, False, seen))
    return parts


# Printed values a broken installation would miss; the tests hold many more, with their sources.
_KNOWN: tuple[tuple[str, Callable[[], float], float, float], ...] = (
    ("cone index 10 mm/blow is CBR 22.2", lambda: cone_cbr(10.0), 22.2, 0.1),
    ("100 yd3 of clay in place are 143 loose", lambda: loose_volume_m3(100.0, 1.43), 143.0, 0.5),
    ("350 mm are 13.78 in", lambda: to_unit("depth", "350 mm", "in"), 13.78, 0.005),
    (
        "hard ground under cars takes the least base, 6 in",
        lambda: base_depth(strength("hard"), traffic("light")).required_m / 0.0254,
        6.0,
        1e-6,
    ),
)


def _known(name: str, work: Callable[[], float], expected: float, tolerance: float) -> Part:
    try:
        got = work()
    except BasecalcError as refusal:
        return Part(name, False, True, str(refusal))
    return Part(name, abs(got - expected) <= tolerance, True, f"{got:.4g}")


def file_problems(path: Path) -> list[BasecalcError]:
    """Return everything wrong with a job file, a workbook or the office file of a quote; an empty list for nothing.

    Parameters
    ----------
    path
        A job (.toml), or a price or estimating workbook (.xlsx or .xlsm). An estimating workbook in which no job was
        begun is looked at for its prices alone. In the office file of a quote it is whether it can be made again.

    Raises
    ------
    WorkbookError
        The file is neither.
    """
    if path.suffix.lower() == ".toml":
        return job_problems(path)
    if path.suffix.lower() in {".xlsx", ".xlsm"} and holds_quote(path):
        try:
            load_quote(path)
        except BasecalcError as refusal:
            return [refusal]
        return []
    if path.suffix.lower() in {".xlsx", ".xlsm"}:
        found = list(problems(path))
        return [*found, *job_sheet_problems(path, begun=True)] if holds_job(path) else found
    raise WorkbookError("this is neither a job file (.toml) nor a workbook (.xlsx)", where=str(path))


def file_questions(path: Path) -> tuple[str, ...]:
    """Return what to ask about the soil of a sound job, where its word decides the depth by the standard settings.

    Parameters
    ----------
    path
        A job, or a workbook; a workbook without a job asks nothing.
    """
    if path.suffix.lower() != ".toml" and (holds_quote(path) or not holds_job(path)):
        return ()
    try:
        job = load_job(path)
        owner = company({"name": "any", "overhead": 0, "profit": 0, "contingency": 0, "tax_rate": 0, "deposit": 0})
        loads = traffic(job.traffic)
        asked = {
            area.name: area_question(
                job,
                area.name,
                lambda other: area_grounds(other, owner),
                loads,
                NONE,
                owner.design,
            )
            for area in job.areas
        }
    except BasecalcError:  # no job is begun, or its traffic is the owner's own: the quote asks by his settings
        return ()
    return tuple(f"{path}, area {name}: {words}" for name, words in asked.items() if words)
