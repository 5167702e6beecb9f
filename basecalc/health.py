"""What is installed and works here, and everything wrong with a file, all at once."""

import csv
import platform
import shutil
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from importlib import import_module
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

from basecalc.cautions import FIND_THE_FILL, unknown_fill
from basecalc.company import company
from basecalc.core.errors import BasecalcError, InputError, OutOfRangeError, Place, WorkbookError
from basecalc.core.numbers import quoted, words
from basecalc.core.units import to_unit
from basecalc.design.depth import base_depth, design_cbr
from basecalc.design.settings import NONE, TRAFFIC_NAMES, traffic
from basecalc.estimating.read_job import has_job, holds_job, is_workbook, job_sheet_problems, load_job, other_total
from basecalc.formulas.takeoff import loose_volume
from basecalc.ground.classes import strength
from basecalc.ground.readings import cone_cbr
from basecalc.job import job_problems, parse_job
from basecalc.pricing.archive import holds_quote, load_quote
from basecalc.pricing.prices import PriceBook, load_prices, problems
from basecalc.pricing.quote import area_grounds, quote, separator_why
from basecalc.pricing.site import area_question

NEEDED = ("click", "defusedxml", "openpyxl", "pandas", "pint", "rich", "xlwings")


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
            import_module(name)
        except PackageNotFoundError:
            parts.append(Part(name, False, True, f"not installed; 'pip install {name}' brings it"))
        except Exception as broken:  # noqa: BLE001  # whatever a broken library raises is what is to be seen
            parts[-1] = Part(name, False, True, f"cannot be loaded: {broken}; 'pip install -U {name}' may repair it")
    parts += [_known(name, work, expected, tolerance) for name, work, expected, tolerance in _KNOWN]
    office = shutil.which("soffice") or shutil.which("libreoffice")
    parts.append(Part("LibreOffice", bool(office), False, office or "not found; only PDF output needs it"))
    windows = platform.system() == "Windows"
    seen = "Windows: 'xlwings addin install' connects Excel" if windows else "worksheet functions in Excel need Windows"
    parts.append(Part("Excel", windows, False, seen))
    return [*parts, *_excel_python()]


def _excel_python() -> list[Part]:
    """Return whether an xlwings set-up of this user names the Python that runs now; nothing where there is none.

    `xlwings addin install` leaves an older set-up as it is, and in a conda shell names conda's Python.
    """
    try:
        lines = Path.home().joinpath(".xlwings", "xlwings.conf").read_text("utf-8", errors="replace").splitlines()
    except (OSError, RuntimeError):
        return []
    rows = [row for row in csv.reader(lines) if len(row) > 1]
    settings = {row[0].strip().upper(): row[1].strip() for row in rows}
    keys = ("INTERPRETER_WIN", "INTERPRETER", "CONDA PATH")
    named = next((settings[key] for key in keys if settings.get(key)), "no Python at all")
    here = Path(sys.executable)
    same = Path(named).parent == here.parent
    mend = here.with_name("xlwings")
    other = (
        f"Excel is set to {named}, not to {here}; close Excel and run, outside of conda: {mend} config create --force"
    )
    seen = named if same else other
    return [Part("Python of xlwings in Excel", same, False, seen)]


# Printed values a broken installation would miss; the tests hold many more, with their sources.
_KNOWN: tuple[tuple[str, Callable[[], float], float, float], ...] = (
    ("cone index 10 mm/blow is CBR 22.2", lambda: cone_cbr(10.0), 22.2, 0.1),
    ("100 yd3 of clay in place are 143 loose", lambda: loose_volume(100, "clay"), 143.0, 0.5),
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
    except Exception as refusal:  # noqa: BLE001  # of our own, or of a library that is broken
        return Part(name, False, True, str(refusal))
    return Part(name, abs(got - expected) <= tolerance, True, f"{got:.4g}")


def _trial(path: Path) -> list[BasecalcError]:
    """Return what stops a quote with a sound price workbook, in memory: that of the job in it, else of small driveways.

    Each stone, paver, roll and truck is tried once; a price that is not there yet stops none of these.
    """
    book = load_prices(path)
    found: dict[str, BasecalcError] = {}
    try:
        if holds_job(path) and has_job(path):
            made = quote(load_job(path), book)
            differs = other_total(path, made.offer.total)
            return [WorkbookError(differs)] if differs else []
    except BasecalcError as refusal:
        return [refusal]
    for row in _materials(book):
        job = {
            "job": {"number": "trial", "client": "trial", "site": "trial", "units": "us", "soil": "clay", **row},
            "area": [{"name": "trial", "shape": "rectangle", "length": 60, "width": 12, "geotextile": True}],
            "spot": [{"name": "trial", "readings": [{"test": "cbr", "reading": 4}]}],
        }
        try:
            quote(parse_job(job), book)
        except (InputError, OutOfRangeError) as refusal:
            what = ", ".join(f"{words(key)} {quoted(name)}" for key, name in row.items()) or "any job"
            found.setdefault(refusal.sentence, WorkbookError(f"{what}: {refusal.sentence}", where=Place(str(path))))
        except BasecalcError:
            continue  # a price that is not there yet
    return list(found.values())


def _materials(book: PriceBook) -> Iterator[dict[str, str]]:
    """Yield what a trial job names: each material and truck of the owner's once."""
    owner = book.company
    yield {}
    yield from ({"stone": one.name} for one in owner.stones if one.kind == "base")
    yield from ({"paver": one.name} for one in owner.pavers)
    yield from ({one.kind: one.name} for one in owner.rolls)
    for use in ("spoil", "stone"):
        yield from ({f"{use}_truck": one.name} for one in owner.trucks if one.use in (use, "both"))


def worth_a_look(path: Path) -> list[str]:
    """Return what a sound job leaves open before it is priced: its soil, fill of unknown depth, a missing separator."""
    workbook = is_workbook(path)
    if (workbook and (holds_quote(path) or not holds_job(path))) or not (workbook or path.suffix.lower() == ".toml"):
        return []
    try:
        job = load_job(path)
        owner = load_prices(path).company if workbook else company(_ANYBODY)
        ground = area_grounds(job, owner)
        rows = [f"{name}: {signs}; {FIND_THE_FILL}" for name, signs in unknown_fill(job, ground).items()]
        loads = traffic(job.traffic) if job.traffic in TRAFFIC_NAMES else None  # one of the owner's own: the quote asks
        for area in job.areas:
            if loads is not None:
                asked = area_question(
                    job, area.name, lambda other: area_grounds(other, owner), loads, NONE, owner.design
                )
                rows += [f"{area.name}: {asked}"] if asked else []
            cbr = design_cbr(ground[area.name].strength, owner.design)[0]
            if why := separator_why(job, area, ground[area.name], cbr, owner.design, on_grid=False):
                rows.append(f"{area.name}: {why}; geotextile = true prices a separator below the stone")
    except BasecalcError as refusal:  # a job not begun, or ground that only a priced job would refuse
        return [] if workbook else [refusal.sentence]
    return rows


_ANYBODY = {"name": "any", "overhead": 0.0, "profit": 0.0, "contingency": 0.0, "tax_rate": 0.0, "deposit": 0.0}


def file_problems(path: Path) -> list[BasecalcError]:
    """Return everything wrong with a job file, a workbook or the office file of a quote; an empty list for nothing."""
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
        if holds_job(path):
            found += job_sheet_problems(path, begun=True)
        return found or _trial(path)
    raise WorkbookError("this is neither a job file (.toml) nor a workbook (.xlsx)", where=Place(str(path)))
