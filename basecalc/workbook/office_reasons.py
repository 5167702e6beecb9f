"""The office's sheet Why this depth: the readings, every check of every area with its working, and the source."""

from basecalc.base.depth import BaseDepth
from basecalc.ground.readings import ground_words
from basecalc.ground.strength import AreaStrength
from basecalc.job import JobArea
from basecalc.pricing.record import Quote
from basecalc.rounding import printed
from basecalc.workbook.client_words import capital
from basecalc.workbook.figures import depth_format, depth_words, number
from basecalc.workbook.layout import Flow
from basecalc.workbook.office_sheet import columns, finish, start
from basecalc.workbook.values import ValuedBook

TITLE = "Why this depth"
_WIDTHS = (31.0, 14.0, 10.0, 48.0, 54.0)


def write(book: ValuedBook, quote: Quote, revision: int) -> None:
    """Write the sheet.

    Parameters
    ----------
    book
        The office's workbook.
    quote, revision
        The priced job and its revision.
    """
    flow = start(book, TITLE, _WIDTHS, quote, revision, "From the readings to the depth, every check with its working.")
    for area in quote.job.areas:
        flow.heading(area.name)
        _ground(flow, quote.ground[area.name])
        _holes(flow, area, quote.job.units)
        for words, depths in (("Stone only", quote.depths), ("With geogrid", quote.geogrid_depths)):
            if area.name in depths:
                _depth(flow, words, depths[area.name], quote.job.units)
    finish(flow, quote)


def _ground(flow: Flow, ground: AreaStrength) -> None:
    strength = ground.strength
    measured = f", CBR {strength.cbr:.3g} %" if strength.cbr is not None else ", by class"
    flow.put(1, 1, "Ground", "label")
    flow.put(2, 5, f"{capital(strength.strength_class)}{measured}; {ground.rule}.")
    flow.next()
    if ground.spots:
        columns(flow, "Spot", "Taken as", "CBR, %", "Reading", "Source", right=(3,))
    for spot in ground.spots:
        for place, finding in enumerate(spot.findings):
            flow.put(1, 1, spot.name if place == 0 else "")
            flow.put(2, 2, ground_words(finding.weakest, finding.strongest))
            flow.put(3, 3, None if finding.cbr is None else printed(round(finding.cbr, 3)), "number", "0.0##")
            note = f" Note: {finding.reading.note}" if finding.reading.note else ""
            flow.put(4, 4, finding.sentence + note)
            flow.put(5, 5, finding.source, "quiet")
            flow.next(rule=True)
    for words, texts in (("Conflict", ground.conflicts), ("Flag", ground.flags), ("Test next", (ground.test_next,))):
        for text in texts:
            if text:
                flow.put(1, 1, words, "label")
                flow.put(2, 5, capital(text), "text" if words == "Test next" else "caution")
                flow.next()
    flow.gap(4)


def _holes(flow: Flow, area: JobArea, units: str) -> None:
    """Write what the test holes through an old pavement found."""
    for place, hole in enumerate(area.pavement.holes if area.pavement else ()):
        flow.put(1, 1, "" if place else "Test holes", "label")
        flow.put(2, 5, f"{hole.where}: {depth_words(hole.base_m, units)} of old base, {hole.state}")
        flow.next()


def _depth(flow: Flow, words: str, depth: BaseDepth, units: str) -> None:
    flow.put(1, 1, words, "label")
    flow.put(2, 2, number(depth.required_m, "depth", units), "strong", depth_format(depth.required_m, units))
    flow.put(3, 5, f"{capital(depth.reason)}. Designed with {depth.cbr_from}; {depth.reinforcement.words}.")
    flow.next()
    columns(flow, f"Check, {words.lower()}", "Depth", "Counts", "What it did", "Source", right=(2,))
    for check in depth.checks:
        flow.put(1, 1, check.name + (" (governs)" if check.name == depth.governs else ""), "label")
        shown = None if check.depth_m is None else number(check.depth_m, "depth", units)
        format = '0" mm"' if units == "metric" else '0.0" in"'
        flow.put(2, 2, "none" if shown is None else shown, "number", format)
        flow.put(3, 3, check.counts)
        flow.put(4, 4, capital(check.sentence))
        flow.put(5, 5, check.source, "quiet")
        flow.next(rule=True)
        for item in check.working:
            flow.put(1, 1, f"   {item.name}", "quiet")
            value, unit = _shown(item.value, item.unit, units)
            flow.put(2, 2, value, "quiet", _places(value), across="right")
            flow.put(3, 3, unit, "quiet")
            flow.put(4, 5, item.note, "quiet")
            flow.next()
    flow.gap(4)


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
