"""Quotes and records of some jobs become a season: each job used against estimated, and what they teach together."""

from collections.abc import Sequence

from basecalc.checks import counted
from basecalc.errors import InputError
from basecalc.pricing.record import Quote
from basecalc.reckoning.compare import job_actuals
from basecalc.reckoning.factors import suggestions
from basecalc.reckoning.outcome import Season
from basecalc.reckoning.places import company_grids
from basecalc.reckoning.record import WON, Records

_PLANNED = "Planned is worked out anew from the job files and this price workbook, as it is today"
_COST = (
    "Cost made is what tickets and hours say, at the prices of the workbook; where they say nothing the estimate stands"
)
_TAKEN = "A job with tickets or hours and no result in a list is taken as won and finished, its tickets complete"


def season(quotes: Sequence[Quote], records: Records) -> Season:
    """Return the season that some quotes and the records of their jobs make.

    Parameters
    ----------
    quotes
        Quotes of one price workbook, at least one.
    records
        Their tickets, hours and results.

    Raises
    ------
    InputError
        No job, two jobs of one number, or jobs of several price workbooks.
    """
    if not quotes:
        raise InputError("no job is named; give at least one")
    if len({one.book.path for one in quotes}) > 1:
        raise InputError("the jobs have several price workbooks; all must be held against one")
    book = quotes[0].book
    jobs = sorted((job_actuals(one, records) for one in quotes), key=lambda one: one.quote.job.number)
    found = suggestions([one for one in jobs if not one.doubts], book.company, company_grids(book.path))
    silent = [one.quote.job.number for one in jobs if one.result == WON and one.quote.job.number not in records.results]
    taken = (_TAKEN,) if silent else ()
    doubtful = [one.quote.job.number for one in jobs if one.doubts]
    if doubtful:
        left_out = counted(len(doubtful), "job")
        taken = (*taken, f"Left out of every suggestion, for they are in doubt: {left_out} ({', '.join(doubtful)})")
    notes = (_PLANNED, *((_COST,) if any(one.cost_made is not None for one in jobs) else ()), *taken, *records.notes)
    return Season(book.path, book.company.units, book.company.name, tuple(jobs), found, notes)
