"""Files of tickets and jobs into a season, and its workbook on the disk.

Used against estimated as lines of text and as plain numbers; what the season suggests for the price workbook.
"""

from collections.abc import Iterator, Sequence
from pathlib import Path
from textwrap import wrap
from typing import Any

from basecalc.core.errors import InputError, Place, WorkbookError
from basecalc.core.files import reason
from basecalc.core.numbers import printed
from basecalc.core.units import INCH_M
from basecalc.estimating.read_job import is_workbook, load_job
from basecalc.ground_report import WIDTH
from basecalc.pricing.prices import PriceBook, load_prices
from basecalc.pricing.quote import quote
from basecalc.render.archive import holds_quote
from basecalc.runs import job_files, own_prices
from basecalc.season.actuals import VERDICTS, JobActuals, Season, Suggestion, Used, sentence
from basecalc.season.factors import CONFIDENCE, season
from basecalc.season.lists import read_records
from basecalc.season.workbook import season_file
from basecalc.workbook import figures
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
                where=Place(str(path)),
            )
    book = _book(files, prices)
    read = {path: load_job(path) for path in files}
    first: dict[str, Path] = {}
    for path, job in read.items():
        known = job.number.casefold()
        if known in first:
            raise InputError(
                f"job number {job.number} stands in {first[known]} already; each job once", where=Place(str(path))
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
            raise InputError("the folder holds no list of tickets, hours or results (*.csv)", where=Place(str(path)))
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
        raise WorkbookError("the name of the season's workbook must end in .xlsx", where=Place(str(path)))
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise WorkbookError(f"the folder cannot be made: {reason(error)}", where=Place(str(path.parent))) from None
    return write_one(path, season_file(made))


def season_text(made: Season) -> str:
    """Return a season as lines of text: each job used against estimated, then the suggestions."""
    rows: list[str] = []
    for one in made.jobs:
        rows += [*_job(one), ""]
    rows += _suggestions(made)
    for note in made.notes:
        rows += wrap(sentence(note), WIDTH)
    rows += wrap(f"Nothing was written to {made.prices}: enter what you want there by hand.", WIDTH)
    return "\n".join(row.rstrip() for row in rows)


def _job(one: JobActuals) -> Iterator[str]:
    job = one.quote.job
    yield f"{job.number}  {job.client}, {job.site}: {one.result}"
    money = f"margin planned {one.margin_planned:.1%}"
    if one.margin_made is not None:
        money += f", made {one.margin_made:.1%} ({one.measured:.0%} of the cost measured)"
    yield f"  {money}; {saved_words(one)}"
    if one.cost_made is not None:
        yield f"  {'':40}{'estimated':>12}{'used':>12}{'difference':>12}{'':>9}"
        yield from map(_used, one.rows)
    for note in one.notes:
        yield from wrap(sentence(note), WIDTH, initial_indent="  ", subsequent_indent="    ")


def saved_words(one: JobActuals) -> str:
    """Return the depth saved against the one-depth habit in words."""
    if one.saved_m is None:
        return "the one-depth habit cannot be built here"
    metric = one.quote.job.units == "metric"
    depth = abs(one.saved_m) * 1000 if metric else abs(one.saved_m) / INCH_M
    unit = "mm" if metric else "in"
    return f"{depth:,.{0 if metric else 1}f} {unit} {'less' if one.saved_m >= 0 else 'more'} base than the habit"


def _share(share: float) -> str:
    words = f"{share:+.0%}"
    return "0%" if words in ("+0%", "-0%") else words


def _used(row: Used) -> str:
    def told(value: float | None, sign: str = "") -> str:
        if value is None:
            return "-"
        text = f"{value:{sign},.{0 if row.whole else 1}f}"
        return text[1:] if text.strip("+-0.") == "" and sign else text

    left = "" if row.left_over is None else f"  {told(row.left_over)} of it left over"
    share = "" if row.share is None else _share(row.share)
    what = f"{row.what}, {figures.shown_unit(row.unit)}" if not row.whole else row.what
    return f"  {what:40}{told(row.estimated):>12}{told(row.used):>12}{told(row.difference, '+'):>12}{share:>9}{left}"


def _suggestions(made: Season) -> Iterator[str]:
    if not made.suggestions:
        yield "No tickets or hours that a factor could rest on."
        return
    yield f"For your price workbook, each with its {CONFIDENCE:.0%} interval; big jobs weigh more:"
    for one in made.suggestions:
        yield f"  {one.of}: {one.what}"
        yield f"    {old_words(one)}; {new_words(one)}" + (f"  [{one.cell}]" if one.cell else "")
        yield from wrap(f"{one.told}.", WIDTH, initial_indent="    ", subsequent_indent="    ")
    yield from wrap(
        "What all jobs have in common, such as a base always dug too deep or a scale that is off, no interval shows.",
        WIDTH,
    )
    yield ""


def _value(one: Suggestion, value: float) -> str:
    if one.unit == "share":
        return f"{value:.1%}"
    places = 2 if "/" in one.unit else one.places
    return f"{value:,.{places}f}"


def old_words(one: Suggestion) -> str:
    """Return what the price workbook has, in words."""
    unit = "" if one.unit == "share" else f" {one.unit}".rstrip()
    return "yours: nothing" if one.old is None else f"yours: {_value(one, one.old)}{unit}"


def new_words(one: Suggestion) -> str:
    """Return a suggestion with its interval, from how many jobs, and what to do about it."""
    if one.new is None or one.low is None or one.high is None:
        return VERDICTS[one.verdict]
    ends = f"{_value(one, one.low)} to {_value(one, one.high)}"
    unit = "" if one.unit == "share" else f" {one.unit}".rstrip()
    return f"{one.jobs} jobs: {_value(one, one.new)}{unit} ({ends}), {VERDICTS[one.verdict]}"


def season_numbers(made: Season) -> dict[str, Any]:
    """Return a season as plain numbers."""
    return {
        "prices": made.prices,
        "notes": list(made.notes),
        "jobs": [_job_numbers(one) for one in made.jobs],
        "confidence": CONFIDENCE,
        "suggestions": [
            {
                "of": one.of, "what": one.what, "unit": one.unit, "old": _plain(one.old), "suggested": _plain(one.new),
                "low": _plain(one.low), "high": _plain(one.high), "jobs": one.jobs, "cell": one.cell or None,
                "verdict": one.verdict, "sentence": one.told,
            }
            for one in made.suggestions
        ],
    }  # fmt: skip


def _plain(value: float | None) -> float | None:
    return None if value is None else printed(value)


def _job_numbers(one: JobActuals) -> dict[str, Any]:
    return {
        "number": one.quote.job.number,
        "client": one.quote.job.client,
        "result": one.result,
        "built": one.planned.option,
        "price_before_tax": str(one.price),
        "cost_planned": str(one.planned.cost),
        "cost_made": None if one.cost_made is None else str(one.cost_made),
        "cost_measured_share": printed(one.measured),
        "margin_planned": printed(one.margin_planned),
        "margin_made": _plain(one.margin_made),
        "saved_against_habit_in": None if one.saved_m is None else printed(one.saved_m / INCH_M),
        "notes": list(one.notes),
        "doubts": list(one.doubts),
        "quantities": [
            {
                "code": row.code, "what": row.what, "unit": row.unit, "estimated": _plain(row.estimated),
                "used": _plain(row.used), "difference": _plain(row.difference), "share": _plain(row.share),
                "left_over": _plain(row.left_over),
            }
            for row in one.rows
        ],
    }  # fmt: skip
