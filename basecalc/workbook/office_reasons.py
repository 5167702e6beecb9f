"""The office's sheet Why this depth: every check of every area, both options side by side, working and source."""

from typing import Final

from basecalc.core.numbers import printed
from basecalc.core.published import Working
from basecalc.design.depth import BaseDepth
from basecalc.design.settings import Check
from basecalc.job import JobArea
from basecalc.pricing.records import Quote
from basecalc.workbook.client_words import capital
from basecalc.workbook.figures import depth_format, depth_words, number
from basecalc.workbook.layout import Flow
from basecalc.workbook.office_sheet import columns, finish, start
from basecalc.workbook.values import ValuedBook

TITLE = "Why this depth"
_WIDTHS: Final = (33.0, 13.0, 13.0, 9.0, 46.0, 50.0)
_Depths = tuple[tuple[str, BaseDepth], ...]


def write(book: ValuedBook, quote: Quote, revision: int) -> None:
    """Write the sheet."""
    flow = start(
        book, TITLE, _WIDTHS, quote, revision,
        "From the strength to the depth, every check with its working; the readings stand on Ground evidence.",
    )  # fmt: skip
    for area in quote.job.areas:
        top = flow.heading(area.name)
        _holes(flow, area, quote.job.units)
        _depths(flow, _ways(quote, area.name), quote.job.units, top)
    finish(flow, quote)


def _ways(quote: Quote, name: str) -> _Depths:
    """Return the depths of an area with their headings; one where both options build it alike."""
    stone, grid = quote.depths[name], quote.geogrid_depths.get(name)
    if grid is None:
        return (("Stone only", stone),)
    return (("Both options", stone),) if grid == stone else (("Stone only", stone), ("With geogrid", grid))


def _depths(flow: Flow, ways: _Depths, units: str, top: int) -> None:
    """Write the depths and every check, none of them torn by a page: the first one stays with its heading."""
    for words, depth in ways:
        flow.put(1, 1, words, "label")
        flow.put(2, 2, number(depth.required_m, "depth", units), "strong", depth_format(depth.required_m, units))
        flow.put(3, 6, f"{capital(depth.reason)}. Designed with {depth.cbr_from}; {depth.reinforcement.words}.")
        flow.next()
    heads = [words for words, _ in ways]
    columns(flow, "Check", *heads, *([""] * (2 - len(ways))), "Counts", "What it did", "Source", right=(2, 3))
    names = dict.fromkeys(check.name for _, depth in ways for check in depth.checks)
    for name in names:
        _check(flow, name, ways, units)
        flow.keep(top)
        top = flow.row
    flow.gap(4)


def _holes(flow: Flow, area: JobArea, units: str) -> None:
    """Write what the test holes through an old pavement found."""
    for place, hole in enumerate(area.pavement.holes if area.pavement else ()):
        flow.put(1, 1, "" if place else "Test holes", "label")
        flow.put(2, 6, f"{hole.where}: {depth_words(hole.base_m, units)} of old base, {hole.state}")
        flow.next()


def _check(flow: Flow, name: str, ways: _Depths, units: str) -> None:
    """Write one check of all ways in a row, and below it the numbers it rests on."""
    found = [depth.check(name) for _, depth in ways]
    governs = [words for words, depth in ways if depth.governs == name]
    mark = "" if not governs else " (governs)" if len(governs) == len(ways) else f" (governs {governs[0].lower()})"
    made = [check for check in found if check is not None]
    flow.put(1, 1, name + mark, "label")
    for column, check in enumerate(found, 2):
        _depth(flow, column, check, units)
    flow.put(4, 4, " / ".join(dict.fromkeys("yes" if check.counts else "no" for check in made)))
    flow.put(5, 5, "\n".join(dict.fromkeys(capital(check.sentence) for check in made)))
    flow.put(6, 6, "; ".join(dict.fromkeys(check.source for check in made)), "quiet")
    flow.next(rule=True)
    for items in _side_by_side(found):
        _working(flow, items, units)


def _side_by_side(found: list[Check | None]) -> list[list[Working | None]]:
    """Return the working of the ways row by row, numbers of one name beside each other."""
    rows: dict[tuple[str, int], list[Working | None]] = {}
    for place, check in enumerate(found):
        seen: dict[str, int] = {}
        for item in check.working if check is not None else ():
            seen[item.name] = seen.get(item.name, 0) + 1
            rows.setdefault((item.name, seen[item.name]), [None] * len(found))[place] = item
    return list(rows.values())


def _depth(flow: Flow, column: int, check: Check | None, units: str) -> None:
    if check is None:
        return
    shown = "none" if check.depth_m is None else number(check.depth_m, "depth", units)
    flow.put(column, column, shown, "number", '0" mm"' if units == "metric" else '0.0" in"', across="right")


def _working(flow: Flow, items: list[Working | None], units: str) -> None:
    told = [item for item in items if item is not None]
    flow.put(1, 1, f"   {told[0].name}", "quiet")
    for column, item in enumerate(items, 2):
        if item is not None:
            value, _ = _shown(item.value, item.unit, units)
            flow.put(column, column, value, "quiet", _places(value), across="right")
    flow.put(4, 4, _shown(told[0].value, told[0].unit, units)[1], "quiet")
    flow.put(5, 6, "; ".join(dict.fromkeys(item.note for item in told if item.note)), "quiet")
    flow.next()


def _shown(value: float | str, unit: str, units: str) -> tuple[float | str, str]:
    """Return a working value in a unit that the reader uses: meters of depth become inches or millimeters."""
    if isinstance(value, str):
        return value, unit
    if unit == "m":
        return number(value, "depth", units), "mm" if units == "metric" else "in"
    return printed(value), unit


def _places(value: float | str) -> str:
    if isinstance(value, str):
        return "general"
    if value == round(value) and abs(value) < 1e9:
        return "whole"
    return "0.0000" if abs(value) < 0.1 else "0.000" if abs(value) < 10 else "#,##0.0"
