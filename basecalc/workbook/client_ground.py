"""The client's file, its ground: what was read where, what it means, why this depth, and the section."""

from collections.abc import Sequence
from typing import Final

from basecalc.core.numbers import half_up
from basecalc.core.units import INCH_M
from basecalc.design.depth import BaseDepth
from basecalc.ground.evidence import AreaEvidence, ground_evidence
from basecalc.ground.readings import ground_words
from basecalc.pricing.records import Quote
from basecalc.takeoff.takeoff import AreaTakeoff
from basecalc.workbook import charts, client_findings, client_words, strength_chart, style
from basecalc.workbook.figures import depth_format, depth_words, number, unit
from basecalc.workbook.layout import Flow, line_count

_CHART_LOW, _CHART_HIGH = 122.0, 142.0  # points: as high as the page has room for
_TOGETHER: Final = 3  # readings of a spot that stand on one page
_SCALE_PT, _LETTERS_PT = 70.0, 8.0  # beside the bars of a section, and of their names
_SECTION_PT, _ROW_PT = 60.0 + _CHART_LOW, 18.0
_LAYERS: Final = ("Pavers", "Sand bed", "Stone base")


def write(flow: Flow, quote: Quote) -> None:
    """Write what was found and why the base is as deep as it is, the section of each area, and the readings."""
    edge = quote.book.company.design.class_edge
    _found(flow, quote)
    _picture(flow, [ground_evidence(ground, edge) for ground in quote.ground.values()])
    if flow.left >= _SECTION_PT + _ROW_PT * len(quote.job.areas):
        _section(flow, quote)
        _evidence(flow, quote)
    else:  # the readings fill what is left of the page, row by row
        _evidence(flow, quote)
        _section(flow, quote)


def _found(flow: Flow, quote: Quote) -> None:
    """Write for each area what was found, why it matters, and what was done to know it."""
    units = quote.job.units
    start = flow.heading("What we found, and why this depth")
    for area in quote.job.areas:
        flow.put(1, 3, f"{area.name}:\n{client_findings.ground_word(quote, area)}", "label")
        why = client_words.why(
            quote.offered_depths[area.name], units, enough=client_words.needs_no_more(quote, area.name)
        )
        texts = (client_findings.found(quote, area), why, client_words.what_we_did(quote.ground[area.name]))
        flow.put(4, 12, "\n".join(text for text in texts if text))
        flow.next()
        flow.keep(start)
        start = flow.row
    if words := client_words.walking(quote.ground):
        flow.put(1, 12, words)
        flow.next()
        flow.keep(start)


def _picture(flow: Flow, areas: list[AreaEvidence]) -> None:
    """Draw where each spot lies on the scale of strength; nothing where no spot was read."""
    found = [one for one in areas if one.spots]
    if not found:
        return
    start = flow.row
    flow.gap(4)
    high = strength_chart.height_of(len(strength_chart.marks(found)))
    row = flow.room(6, high)
    chart = strength_chart.strength_chart(found)
    charts.place(flow.sheet, chart, row, 1, flow.width - 6, high - 4)
    flow.keep(start)


def _evidence(flow: Flow, quote: Quote) -> None:
    spots = [(name, spot) for name, ground in quote.ground.items() for spot in ground.spots]
    if not spots:
        return
    several = len(quote.job.areas) > 1
    ratio = any("bearing ratio" in finding.sentence for _, spot in spots for finding in spot.findings)
    start = flow.heading("What we read on your ground", 4 if ratio else 0)
    if ratio:
        flow.put(
            1, 12, "The bearing ratio says how well ground carries, as a share of what crushed stone carries.", "quiet"
        )
        flow.next()
    flow.put(1, 3, "Where", "column")
    flow.put(4, 10, "What we did, what we saw, what it means", "column")
    flow.put(11, 12, "Taken as", "column")
    flow.next()
    for area, spot in spots:
        where = f"{spot.name}, {client_words.lower_first(area)}" if several else spot.name
        together = len(spot.findings) <= _TOGETHER
        for place, finding in enumerate(spot.findings):
            row = flow.row
            name = flow.put(1, 3, client_words.capital(where) if place == 0 else "")
            flow.put(4, 10, finding.sentence)
            flow.put(11, 12, ground_words(finding.weakest, finding.strongest))
            flow.next(rule=True)
            if spot.conflicts and place == len(spot.findings) - 1:
                flow.put(4, 10, "These readings do not agree; we go by the weaker one.", "quiet")
                flow.next(rule=True)
            if flow.keep(start) and start == row:  # the spot is named again at the top of a page
                style.put_text(name, client_words.capital(where))
            if not together or place == len(spot.findings) - 1:
                start = flow.row


def layers(area: AreaTakeoff, depth: BaseDepth) -> tuple[float, float, float]:
    """Return the thickness of pavers, bedding and base of an area [m], from the top, an old base that stays with it."""
    return depth.settings.paver_m, depth.settings.bedding_m, area.kept_m + area.new_m


def _section(flow: Flow, quote: Quote) -> None:
    rows = [(area.area.name, layers(area, quote.offered_depths[area.area.name])) for area in quote.offer.takeoff.areas]
    grids = [name for name in quote.offered_depths if client_words.on_grid(quote, name)]
    below = ""
    if len(grids) < len(rows):
        few = len(grids) <= client_words.MOST_NAMED
        named = client_words.listed([client_words.the(name) for name in grids]) if few and grids else ""
        below = f" of {named or f'{len(grids)} of the {len(rows)} areas'}"
    grid = f", geogrid under the stone{below}" if grids else ""
    write_section(flow, "What we will build", rows, f"Section through the ground{grid}", quote.job.units)
    for area in quote.offer.takeoff.areas:
        if words := not_new_stone(area, quote.job.units):
            flow.put(1, 12, f"{area.area.name}: {words}.", "quiet")
            flow.next()


def not_new_stone(area: AreaTakeoff, units: str) -> str:
    """Return what of a section is old stone, and what lies below it; nothing where all of it is new."""
    if area.kept_m > 0:
        under = f", under {depth_words(area.new_m, units)} of new stone" if area.new_m > 0 else ""
        return f"{depth_words(area.kept_m, units)} of the stone base is the old one that stays{under}"
    if area.area.loose_fill is not None and area.fill_m > 0:
        return f"below the stone base lies granular fill, {_about(area.fill_m, units)} deep, compacted in layers"
    return ""


def _about(depth_m: float, units: str) -> str:
    """Return a depth to the inch or to 10 mm: ground that is sound lies where it lies."""
    step = 0.01 if units == "metric" else INCH_M
    return f"about {depth_words(half_up(depth_m / step) * step, units)}"


def write_section(
    flow: Flow,
    heading: str,
    rows: Sequence[tuple[str, tuple[float, float, float]]],
    title: str,
    units: str,
    highest: float = _CHART_HIGH,
) -> None:
    """Write how thick pavers, bedding and base are, as a table and as a section through the ground."""
    start = flow.heading(heading, 0)
    flow.put(1, 4, "Area", "column")
    for place, words in enumerate((*_LAYERS, "All together")):
        flow.put(5 + 2 * place, 6 + 2 * place, words, "column", across="right")
    flow.next()
    first, deepest = flow.row, 0.0
    for name, built in rows:
        flow.put(1, 4, name)
        for place, thick in enumerate(built):
            flow.put(5 + 2 * place, 6 + 2 * place, number(thick, "depth", units), "number", depth_format(thick, units))
        total = sum(built)
        deepest = max(deepest, total)
        cells = f"E{flow.row},G{flow.row},I{flow.row}"
        flow.formula(11, 12, f"=SUM({cells})", number(total, "depth", units), "strong", depth_format(total, units))
        flow.next(rule=True)
    last = flow.row - 1
    block = charts.Block(flow.sheet, first, last, 1, (5, 7, 9), _titles(rows[0][1], units))
    axis = f"{unit('depth', units)} below the surface"
    whole = '0" mm"' if units == "metric" else '0" in"'
    chart = charts.section(block, title, axis, _bottom(deepest, units), whole)
    flow.gap(4)
    room = (flow.width - _SCALE_PT) / len(rows)
    names = max(line_count(name, room, _LETTERS_PT) for name, _ in rows)  # they stand over the bars, line below line
    highest += (names - 1) * _LETTERS_PT * 1.25
    high = min(flow.left - 6.0, highest) if flow.left >= _CHART_LOW else highest
    row = flow.room(10, high)
    charts.place(flow.sheet, chart, row, 1, flow.width - 6, high - 10)
    flow.keep(start)


def _titles(built: tuple[float, float, float], units: str) -> tuple[str, str, str]:
    return (
        f"{_LAYERS[0]}, {depth_words(built[0], units)}",
        f"{_LAYERS[1]}, {depth_words(built[1], units)}",
        f"{_LAYERS[2]}, compacted",
    )


def _bottom(deepest_m: float, units: str) -> float:
    """Return where the section's scale ends: a little below the deepest dig, on a round figure."""
    step = 100.0 if units == "metric" else 5.0
    return (int(number(deepest_m, "depth", units) * 1.08 / step) + 1) * step
