"""Files of tickets and jobs into a season, and its workbook on the disk."""

from collections.abc import Sequence
from pathlib import Path

from basecalc.errors import InputError, WorkbookError
from basecalc.estimating.read_job import is_workbook, load_job
from basecalc.files import reason
from basecalc.pricing.prices import PriceBook, load_prices
from basecalc.pricing.quote import quote
from basecalc.reckoning.dashboard import season_file
from basecalc.reckoning.outcome import Season
from basecalc.reckoning.reader import read_records
from basecalc.reckoning.season import season
from basecalc.runs import job_files, own_prices
from basecalc.workbook.as_quoted import holds_quote
from basecalc.workbook.new_file import write_one


def load_season(records: Sequence[str | Path], jobs: Sequence[str | Path], prices: str | Path | None = None) -> Season:
    """Return used against estimated of some jobs, and what they suggest.

    Parameters
    ----------
    records
        Files of tickets, hours and results, or folders of them (.csv).
    jobs
        Job files, filled workbooks, or folders of them.
    prices
        The owner's price workbook; None for a single filled workbook, which brings its own.

    Raises
    ------
    WorkbookError
        A file that cannot be read.
    InputError, OutOfRangeError
        The first thing that is wrong in records or jobs, with its place.
    PriceError
        The price workbook cannot be used.

    Examples
    --------
    Tickets of a season against its jobs::

        for one in load_season(["tickets.csv"], ["jobs"], "prices.xlsx").suggestions:
            print(one.of, one.what, one.old, one.new)
    """
    files = job_files([Path(job) for job in jobs])
    for path in files:
        if is_workbook(path) and holds_quote(path):
            raise InputError(
                "this is the office file of a quote; give the job file or the filled workbook it was made from",
                where=str(path),
            )
    book = _book(files, prices)
    read = {path: load_job(path) for path in files}
    first: dict[str, Path] = {}
    for path, job in read.items():
        known = job.number.casefold()
        if known in first:
            raise InputError(
                f"job number {job.number} stands in {first[known]} already; each job once", where=str(path)
            )
        first[known] = path
    found = read_records(_lists([Path(one) for one in records]), [job.number for job in read.values()], book.company)
    return season([quote(job, book) for job in read.values()], found)


def _lists(paths: Sequence[Path]) -> list[Path]:
    """Return the lists that the paths stand for: files as they are, folders as the .csv files in them."""
    found: list[Path] = []
    for path in paths:
        inside = sorted(one for one in path.iterdir() if one.suffix.casefold() == ".csv") if path.is_dir() else [path]
        if not inside:
            raise InputError("the folder holds no list of tickets, hours or results (*.csv)", where=str(path))
        found += inside
    return found


def _book(files: Sequence[Path], prices: str | Path | None) -> PriceBook:
    if prices is not None:
        return load_prices(prices)
    if len(files) > 1:
        raise InputError(
            f"there are {len(files)} jobs and no price workbook to hold them all against; name it with --prices"
        )
    return own_prices(files[0])


def write_season(made: Season, file: str | Path) -> Path:
    """Write the season's workbook, for the office only, and return its path.

    Parameters
    ----------
    made
        The season.
    file
        The .xlsx file, which must not be there yet.

    Raises
    ------
    WorkbookError
        There is such a file, or it cannot be written.
    """
    path = Path(file)
    if path.suffix.casefold() != ".xlsx":
        raise WorkbookError("the name of the season's workbook must end in .xlsx", where=str(path))
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise WorkbookError(f"the folder cannot be made: {reason(error)}", where=str(path.parent)) from None
    return write_one(path, season_file(made))
