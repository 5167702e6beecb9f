"""Files of tickets and jobs into a season; the season as text, as plain numbers and as a workbook on the disk."""

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from textwrap import wrap
from typing import Any, Final

from basecalc.core.errors import InputError, Place, WorkbookError
from basecalc.core.files import reason
from basecalc.core.units import INCH_M
from basecalc.core.words import shown_unit, tenths
from basecalc.estimating.read_job import is_workbook, load_job
from basecalc.ground_report import WIDTH
from basecalc.pricing.archive import holds_quote
from basecalc.pricing.prices import PriceBook, load_prices
from basecalc.pricing.quote import quote
from basecalc.runs import job_files, own_prices
from basecalc.season.actuals import VERDICTS, JobActuals, Season, Suggestion, Used, sentence
from basecalc.season.book import Book, Filed, plain, quotes_in
from basecalc.season.factors import CONFIDENCE, season
from basecalc.season.lists import read_records
from basecalc.season.workbook import book_file, season_file
from basecalc.workbook.new_file import write_one


def load_season(records: Sequence[str | Path], jobs: Sequence[str | Path], prices: str | Path | None = None) -> Season:
    """Return used against signed, or against estimated, of some jobs, and what they suggest.

    Parameters
    ----------
    records
        Files of tickets, hours, invoices and results, or folders of them (.csv).
    jobs
        Office files of quotes or folders of them, whose plan is what was signed; or job files, filled workbooks and
        folders of these, whose plan is worked out anew.
    prices
        The owner's price workbook, which the suggestions are for; None for a single filled workbook, which brings its
        own, and for office files, which are then compared with the prices of the last of them.

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
    What the season says against what was signed::

        for one in load_season(["tickets.csv"], ["quotes"], "prices.xlsx").suggestions:
            print(one.of, one.what, one.old, one.new)
    """
    paths, lists = [Path(job) for job in jobs], _lists([Path(one) for one in records])
    quoted = [_quoted(path) for path in paths]
    filed = [one for found, _ in quoted for one in found]
    if not filed:
        return _planned_anew(job_files(paths), lists, prices)
    for path, (found, _) in zip(paths, quoted, strict=True):
        if not found:
            raise InputError(
                "there are office files of quotes beside it; give those or job files", where=Place(str(path))
            )
    numbers = [one.number for one in filed]
    _require_once([(one.number, str(next(iter(one.revisions.values())))) for one in filed])
    book = None if prices is None else load_prices(prices)
    last = max(filed, key=lambda one: str(one.latest["job"].get("date", ""))).signed(None).quote.book
    read = read_records(lists, numbers, (book or last).company)
    made = season([one.signed(read.results.get(one.number)) for one in filed], read, book or last)
    left_out = tuple(f"Not counted: {words}" for _, several in quoted for words in several)
    return replace(made, notes=(*made.notes, *left_out))


def _quoted(path: Path) -> tuple[list[Filed], list[str]]:
    """Return the quotes that a path holds as office files; nothing where it holds none."""
    if path.is_dir() and any(path.glob("*-office.xlsx")):
        return quotes_in(path)
    if not path.is_dir() and is_workbook(path) and holds_quote(path):
        return quotes_in(path)
    return [], []


def _planned_anew(files: Sequence[Path], lists: Sequence[Path], prices: str | Path | None) -> Season:
    book = _book(files, prices)
    read = {path: load_job(path) for path in files}
    _require_once([(job.number, str(path)) for path, job in read.items()])
    records = read_records(lists, [job.number for job in read.values()], book.company)
    return season([quote(job, book) for job in read.values()], records)


def _require_once(numbers: Sequence[tuple[str, str]]) -> None:
    first: dict[str, str] = {}
    for number, path in numbers:
        before = first.setdefault(number.casefold(), path)
        if before != path:
            raise InputError(f"job number {number} is in {before} already; each job once", where=Place(path))


def _lists(paths: Sequence[Path]) -> list[Path]:
    """Return the lists that the paths stand for: files as they are, folders as the .csv files in them."""
    found: list[Path] = []
    for path in paths:
        inside = sorted(one for one in path.iterdir() if one.suffix.casefold() == ".csv") if path.is_dir() else [path]
        if not inside:
            raise InputError(
                "the folder holds no list of tickets, hours, invoices or results (*.csv)", where=Place(str(path))
            )
        found += inside
    return found


def _book(files: Sequence[Path], prices: str | Path | None) -> PriceBook:
    if prices is not None:
        return load_prices(prices)
    if len(files) > 1:
        raise InputError(
            f"there are {len(files)} jobs and no price workbook to compare them all with; name it with --prices"
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
    return _write(file, lambda: season_file(made))


def write_book(made: Book, file: str | Path) -> Path:
    """Write the workbook of the book of quotes, for the office only, and return its path.

    Parameters
    ----------
    made
        The book of quotes.
    file
        The .xlsx file, which must not be there yet.

    Raises
    ------
    WorkbookError
        There is such a file, or it cannot be written.
    """
    return _write(file, lambda: book_file(made))


def _write(file: str | Path, content: Callable[[], bytes]) -> Path:
    path = Path(file)
    if path.suffix.casefold() != ".xlsx":
        raise WorkbookError("the workbook's name must end in .xlsx", where=Place(str(path)))
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise WorkbookError(f"the folder cannot be made: {reason(error)}", where=Place(str(path.parent))) from None
    return write_one(path, content())


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
    if one.cost_made is not None:
        made = "margin made not known" if one.margin_made is None else f"made {one.margin_made:.1%}"
        money += f", {made} ({one.measured:.0%} of the cost measured)"
    yield f"  {money}; {_saved(one)}"
    if one.cost_made is not None:
        yield f"  {'':48}{'estimated':>12}{'used':>12}{'difference':>12}{'':>9}"
        yield from map(_used, one.rows)
    for note in one.notes:
        yield from wrap(sentence(note), WIDTH, initial_indent="  ", subsequent_indent="    ")


def _saved(one: JobActuals) -> str:
    """Return the depth saved against the standard depth in words."""
    if one.saved_m is None:
        return "the standard depth cannot be built here"
    word = "less" if one.saved_m >= 0 else "more"
    return f"{tenths(abs(one.saved_m), one.quote.job.units)} {word} base than the standard depth"


def _used(row: Used) -> str:
    places = 0 if row.unit == "load" else 1

    def told(value: float | None, sign: str = "") -> str:
        if value is None:
            return "-"
        text = f"{value:{sign},.{0 if row.unit == 'load' else 1}f}"
        return text[1:] if text.strip("+-0.") == "" and sign else text

    left = "" if row.left_over is None else f"  {told(row.left_over)} of it left over"
    share = "" if row.share is None else re.sub(r"[+-](0%)", r"\1", f"{row.share:+.0%}")
    what = f"{row.what}, {shown_unit(row.unit)}" if places else row.what
    return f"  {what:48}{told(row.estimated):>12}{told(row.used):>12}{told(row.difference, '+'):>12}{share:>9}{left}"


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
            plain({
                "of": one.of, "what": one.what, "unit": one.unit, "old": one.old, "suggested": one.new,
                "low": one.low, "high": one.high, "jobs": one.jobs, "cell": one.cell or None,
                "verdict": one.verdict, "sentence": one.told,
            })
            for one in made.suggestions
        ],
    }  # fmt: skip


_QUANTITY: Final = ("code", "what", "unit", "estimated", "used", "difference", "share", "left_over")


def _job_numbers(one: JobActuals) -> dict[str, Any]:
    saved = None if one.saved_m is None else one.saved_m / INCH_M
    return plain({
        "number": one.quote.job.number, "client": one.quote.job.client, "result": one.result,
        "built": one.planned.option, "price_before_tax": one.price, "price_signed_before_tax": one.quoted,
        "invoiced": one.invoiced, "cost_planned": one.planned.cost, "cost_made": one.cost_made,
        "cost_measured_share": one.measured, "margin_planned": one.margin_planned, "margin_made": one.margin_made,
        "saved_against_habit_in": saved,
    }) | {
        "notes": list(one.notes), "doubts": list(one.doubts),
        "quantities": [plain({key: getattr(row, key) for key in _QUANTITY}) for row in one.rows],
    }  # fmt: skip
