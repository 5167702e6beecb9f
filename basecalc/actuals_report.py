"""Used against estimated as lines of text and as plain numbers; what the season suggests for the price workbook."""

from collections.abc import Iterator
from textwrap import wrap
from typing import Any

from basecalc.reckoning.outcome import VERDICTS, JobActuals, Season, Suggestion, Used, sentence
from basecalc.reckoning.ratio import CONFIDENCE
from basecalc.reports import WIDTH
from basecalc.rounding import printed
from basecalc.units import INCH_M
from basecalc.workbook import figures


def season_text(made: Season) -> str:
    """Return a season as lines of text: each job used against estimated, then the suggestions.

    Parameters
    ----------
    made
        The season.
    """
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
    """Return the depth saved against the one-depth habit in words.

    Parameters
    ----------
    one
        The job.
    """
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
    """Return what the price workbook has, in words.

    Parameters
    ----------
    one
        The suggestion.
    """
    unit = "" if one.unit == "share" else f" {one.unit}".rstrip()
    return "yours: nothing" if one.old is None else f"yours: {_value(one, one.old)}{unit}"


def new_words(one: Suggestion) -> str:
    """Return a suggestion with its interval, from how many jobs, and what to do about it.

    Parameters
    ----------
    one
        The suggestion.
    """
    if one.new is None or one.low is None or one.high is None:
        return VERDICTS[one.verdict]
    ends = f"{_value(one, one.low)} to {_value(one, one.high)}"
    unit = "" if one.unit == "share" else f" {one.unit}".rstrip()
    return f"{one.jobs} jobs: {_value(one, one.new)}{unit} ({ends}), {VERDICTS[one.verdict]}"


def season_numbers(made: Season) -> dict[str, Any]:
    """Return a season as plain numbers.

    Parameters
    ----------
    made
        The season.
    """
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
