"""The sheet Factors: used over estimated by material and work over the season, and the list of suggestions."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from basecalc.reckoning.outcome import VERDICTS, Season, Suggestion
from basecalc.reckoning.ratio import CONFIDENCE
from basecalc.reckoning.season_kit import bars, finish, start
from basecalc.rounding import printed
from basecalc.workbook import charts, style
from basecalc.workbook.client_words import capital
from basecalc.workbook.figures import shown_unit
from basecalc.workbook.layout import Flow
from basecalc.workbook.office_sheet import COUNTS, columns
from basecalc.workbook.values import ValuedBook

TITLE: Final = "Factors"
_WIDTHS: Final = (25.0, 20.0, 9.0, 11.0, 12.5, 11.0, 10.0, 6.5, 19.0, 25.0, 37.0)
_LIST: Final = 7  # columns beside which the chart stands
_ROW_PT: Final = 15.0
_PER: Final = {word: shown_unit(word) for word in ("yd3", "m3", "ft2", "m2")}


@dataclass(frozen=True, slots=True)
class Over:
    """One quantity over the jobs where it was both estimated and used."""

    what: str
    unit: str
    estimated: float
    used: float
    jobs: int


def over_jobs(made: Season) -> list[Over]:
    """Return each quantity over the jobs where it was both estimated and used: materials, loads, hours.

    Parameters
    ----------
    made
        The season.
    """
    both: dict[tuple[str, str], list[tuple[float, float]]] = {}
    for one in made.jobs:
        for row in one.rows:
            if row.estimated is not None and row.used is not None:
                both.setdefault((row.what, row.unit), []).append((row.estimated, row.used))
    found = [
        Over(what, unit, sum(pair[0] for pair in pairs), sum(pair[1] for pair in pairs), len(pairs))
        for (what, unit), pairs in both.items()
    ]
    return sorted(found, key=lambda one: ("load", "h").index(one.unit) + 1 if one.unit in ("load", "h") else 0)


def write(book: ValuedBook, made: Season) -> None:
    """Write the sheet.

    Parameters
    ----------
    book
        The season's workbook.
    made
        The season.
    """
    flow = start(book, TITLE, _WIDTHS, made, "Used against estimated over all jobs, and what that suggests.")
    found = over_jobs(made)
    if found:
        _used(flow, found)
    flow.heading("For your price workbook, to be entered by hand or not", 0)
    head = _suggestions(flow, made.suggestions)
    flow.gap(4)
    flow.put(
        1, len(_WIDTHS), f"From and to are the ends of a {CONFIDENCE:.0%} interval: of twenty such intervals about one "
        "misses. Each number is a sum over all jobs, so big jobs weigh more; how far the jobs differ among themselves "
        "makes the interval. What all jobs have in common, such as a base always dug too deep or a scale that is off, "
        f"no interval shows. Nothing was written to {Path(made.prices).name}.", "quiet",
    )  # fmt: skip
    flow.next()
    finish(flow, made, len(made.suggestions), head)


def _used(flow: Flow, found: Sequence[Over]) -> None:
    top, above = flow.height, flow.row
    titles = ("Quantity", "", "Unit", "Estimated", "Used", "Of estimate", "Jobs")
    for place, title in enumerate(titles, 1):
        flow.put(place, place, title, "column", across="right" if place > 3 else "")
    flow.next()
    first = flow.row
    for one in found:
        row = flow.row
        flow.put(1, 2, capital(one.what), "label")
        flow.put(3, 3, shown_unit(one.unit))
        for column, amount in ((4, one.estimated), (5, one.used)):
            flow.put(column, column, printed(amount), "number", "whole" if one.unit == "load" else "one")
        share = COUNTS.format(f"D{row}", f"E{row}", f"E{row}/D{row}")
        flow.formula(6, 6, share, printed(one.used) / printed(one.estimated), "number", "0%")
        flow.put(7, 7, one.jobs, "number", "whole")
        flow.next(_ROW_PT)
    block = charts.Block(flow.sheet, first, flow.row - 1, 1, (6,), ("used",))
    chart = bars(block, "Used, share of the estimate", "0%", [one.used / one.estimated for one in found])
    chart.legend = None
    height = max(_ROW_PT * 1.35 * len(found), 170.0)
    charts.place(flow.sheet, chart, above, _LIST + 1, flow.width_of(_LIST + 1, len(_WIDTHS)) - 8, height)
    short = height - (flow.height - top)
    if short > 0:
        flow.gap(short + 4)


def _suggestions(flow: Flow, found: Sequence[Suggestion]) -> int:
    """Write the list of suggestions and return the row of its headings."""
    head = columns(
        flow, "Row", "Number", "Unit", "Yours", "Suggested", "From", "To", "Jobs", "Advice", "Where it stands",
        "What it means", right=(4, 5, 6, 7, 8),
    )  # fmt: skip
    for one in found:
        format = "share" if one.unit == "share" else "two" if "/" in one.unit else "one" if one.places == 1 else "three"
        flow.put(1, 1, one.of, "label")
        flow.put(2, 2, capital(one.what))
        flow.put(3, 3, "%" if one.unit == "share" else "/".join(_PER.get(part, part) for part in one.unit.split("/")))
        for column, value in ((4, one.old), (5, one.new), (6, one.low), (7, one.high)):
            shown = None if value is None else printed(value)
            flow.put(column, column, shown, "strong" if column == 5 else "number", format)
        flow.put(8, 8, one.jobs, "number", "whole")
        style.align(flow.put(9, 9, capital(VERDICTS[one.verdict])), across="left", indent=1)
        flow.put(10, 10, one.cell)
        flow.put(11, 11, f"{one.told}.", "quiet")
        flow.next(rule=True)
    if not found:
        flow.put(1, len(_WIDTHS), "No tickets or hours that a factor could rest on.")
        flow.next()
    return head
