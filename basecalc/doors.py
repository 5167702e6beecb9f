"""Public doors that take the paths a user has, where the rooms behind them take what was read from those."""

from pathlib import Path

from basecalc.core.errors import InputError
from basecalc.estimating.read_job import is_workbook, load_job
from basecalc.job import Job
from basecalc.pricing import quote as room
from basecalc.pricing.prices import PriceBook, load_prices
from basecalc.pricing.records import Quote


def quote(job: Job | str | Path, book: PriceBook | str | Path | None = None) -> Quote:
    """Return a job's ground, depths and priced options: all that the workbooks are written from.

    Parameters
    ----------
    job
        The job, or the path of a job file (.toml) or a filled estimating workbook; a file is only read.
    book
        The owner's settings and prices, or the path of the workbook with them. A filled estimating workbook brings its
        own, where nothing is given.

    Raises
    ------
    WorkbookError
        There is no such file, or it cannot be read.
    InputError
        Something in the job is wrong, the job names what the owner does not have, or asks for a geogrid option that
        there is not.
    OutOfRangeError
        Ground too weak for a base depth, or a depth at which an area cannot be built; the message names the area.
    PriceError
        A price or a material that the job needs is missing or wrong.

    Examples
    --------
    From two files to the total::

        quote("drive.toml", "prices.xlsx").offer.total
    """
    if book is None:
        if isinstance(job, Job) or not is_workbook(job):
            raise InputError("book is missing; a job has no prices, so the path of the price workbook must be given")
        book = job
    read = job if isinstance(job, Job) else load_job(job)
    return room.quote(read, book if isinstance(book, PriceBook) else load_prices(book))
