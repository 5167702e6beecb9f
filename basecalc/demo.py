"""An invented company, its prices and its jobs, written out so that a newcomer sees the whole work at once."""

import tomllib
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path
from typing import Final

from basecalc.errors import WorkbookError
from basecalc.estimating.template import write_template
from basecalc.files import reason
from basecalc.workbook.template import write_price_workbook

ESTIMATED: Final = "2-soft-ground"  # the job that also stands in an estimating workbook


@dataclass(frozen=True, slots=True)
class DemoFiles:
    """Where the demo was written: prices, job files, an estimating workbook, and the folder for quotes.

    Parameters
    ----------
    prices
        The price workbook.
    jobs
        The job files.
    estimate
        An estimating workbook for Excel, filled with one of the jobs and the same prices. It stands outside the folder
        of the jobs, so that quoting that folder quotes each job once.
    quotes
        The folder for the quotes, not made yet.
    """

    prices: Path
    jobs: tuple[Path, ...]
    estimate: Path
    quotes: Path


def fresh_directory(wished: Path) -> Path:
    """Return the wished folder if nothing is there yet, else the next free name after it.

    Parameters
    ----------
    wished
        The folder one would like.
    """
    names = (wished if k == 1 else wished.with_name(f"{wished.name}-{k}") for k in range(1, 10_000))
    return next(name for name in names if not name.exists())


def write_demo(directory: Path) -> DemoFiles:
    """Write the invented company's price workbook, three job files and an estimating workbook; return where they are.

    Parameters
    ----------
    directory
        A folder that is not there yet, or is empty.

    Raises
    ------
    WorkbookError
        The folder holds something already, or cannot be made.
    """
    if directory.exists() and (not directory.is_dir() or any(directory.iterdir())):
        raise WorkbookError(
            "the demo goes into a new or empty folder, and this one is not; name another", where=str(directory)
        )
    data = files("basecalc") / "data" / "demo"
    jobs = tuple(sorted(entry.name for entry in data.iterdir() if entry.name[0].isdigit()))
    try:
        (directory / "jobs").mkdir(parents=True)
        for name in jobs:
            (directory / "jobs" / name).write_bytes((data / name).read_bytes())
    except OSError as error:
        raise WorkbookError(f"the demo cannot be written: {reason(error)}", where=str(directory)) from None
    records = tomllib.loads((data / "prices.toml").read_text("utf-8"))
    prices = write_price_workbook(directory / "prices.xlsx", records)
    job = tomllib.loads((data / f"{ESTIMATED}.toml").read_text("utf-8"))
    estimate = write_template(directory / f"estimate-{ESTIMATED}.xlsm", records, job=job)
    return DemoFiles(prices, tuple(directory / "jobs" / name for name in jobs), estimate, directory / "quotes")
