"""An invented company, its prices and its jobs, written out so that a newcomer sees the whole work at once."""

import tomllib
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path
from typing import Final

from basecalc.core.errors import Place, WorkbookError
from basecalc.core.files import reason
from basecalc.estimating.template import write_template
from basecalc.workbook.template import write_price_workbook

ESTIMATED: Final = "2-soft-ground"  # the job that is also in an estimating workbook


@dataclass(frozen=True, slots=True)
class DemoFiles:
    """Where the demo was written: prices, job files, an estimating workbook, and the folder for quotes."""

    prices: Path
    jobs: tuple[Path, ...]
    estimate: Path
    quotes: Path


def fresh_directory(wished: Path) -> Path:
    """Return the wished folder if nothing is there yet, else the next free name after it."""
    names = (wished if k == 1 else wished.with_name(f"{wished.name}-{k}") for k in range(1, 10_000))
    return next(name for name in names if not name.exists())


def write_demo(directory: Path) -> DemoFiles:
    """Write the invented company's price workbook, three jobs and an estimating workbook; return where they are."""
    if directory.exists() and (not directory.is_dir() or any(directory.iterdir())):
        raise WorkbookError(
            "the demo goes into a new or empty folder, and this one is not; name another", where=Place(str(directory))
        )
    data = files("basecalc") / "data" / "demo"
    jobs = tuple(sorted(entry.name for entry in data.iterdir() if entry.name[0].isdigit()))
    try:
        (directory / "jobs").mkdir(parents=True)
        for name in jobs:
            (directory / "jobs" / name).write_bytes((data / name).read_bytes())
    except OSError as error:
        raise WorkbookError(f"the demo cannot be written: {reason(error)}", where=Place(str(directory))) from None
    records = tomllib.loads((data / "prices.toml").read_text("utf-8"))
    prices = write_price_workbook(directory / "prices.xlsx", records)
    job = tomllib.loads((data / f"{ESTIMATED}.toml").read_text("utf-8"))
    estimate = write_template(directory / f"estimate-{ESTIMATED}.xlsx", records, job=job)
    return DemoFiles(prices, tuple(directory / "jobs" / name for name in jobs), estimate, directory / "quotes")
