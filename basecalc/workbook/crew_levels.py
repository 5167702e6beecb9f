"""Of a crew page: how deep to dig at each corner, measured from the finished surface, with a sketch of the corners."""

from collections.abc import Iterator, Sequence
from typing import Final

from basecalc.core.published import sources, table
from basecalc.plan.area import Corner, corners, steepest_slope
from basecalc.pricing.records import Quote
from basecalc.takeoff.takeoff import AreaTakeoff
from basecalc.workbook import style
from basecalc.workbook.crew_kit import COLUMNS, box, head, tape, tape_format, tape_words
from basecalc.workbook.figures import words
from basecalc.workbook.layout import Flow

_ROWS: Final = 6  # of the sketch: the upper corners, four of the box, the lower corners
_WATER: Final = 3


def write(flow: Flow, quote: Quote, area: AreaTakeoff) -> None:
    """Write the depths of an area, its corners and their sketch."""
    units = quote.job.units
    head(flow, "Dig: how deep, measured down from the finished surface")
    kept, past = area.kept_m > 0, area.extension_m > 0
    top_m = area.below_finish_m - area.new_m
    row = _boxes(flow, units, (
        ("Top of old base" if kept else "Bottom of dig", _bottom_m(area)),
        ("New stone on it" if kept else "Stone base", area.new_m),
        ("Top of base", top_m), ("Base past the edge", area.extension_m),
    ))  # fmt: skip
    columns = [("Top of base", top_m, f"M{row}"), ("Old base" if kept else "Bottom of dig", _bottom_m(area), f"A{row}")]
    if kept and past:
        there = _boxes(flow, units, (("Dig past the edge", top_m + area.base_m), ("Stone there", area.base_m)))
        columns = [("Old base", area.below_finish_m, f"A{row}"),
                   ("Dig past edge", top_m + area.base_m, f"A{there}")]  # fmt: skip
    elif area.area.loose_fill is not None and area.fill_m > 0:
        _boxes(flow, units, (("Top of the fill", area.below_finish_m), ("Granular fill", area.fill_m)))
    flow.gap(4)
    _corners(flow, quote, area, columns)
    for text, look in _remarks(quote, area):
        flow.put(1, COLUMNS, text, look)
        flow.next()


def _bottom_m(area: AreaTakeoff) -> float:
    """Return how deep below the finish it is dug: to the old base that stays, or through loose fill to sound ground."""
    loose = area.fill_m if area.area.loose_fill is not None else 0.0
    return area.below_finish_m + loose


def _boxes(flow: Flow, units: str, boxes: Sequence[tuple[str, float]]) -> int:
    """Write depths in boxes side by side, and return their row."""
    for place, (title, _) in enumerate(boxes):
        flow.put(6 * place + 1, 6 * place + 6, title, "crew column")
    flow.next()
    row = flow.row
    for place, (_, depth_m) in enumerate(boxes):
        value = tape(depth_m, units)
        flow.put(6 * place + 1, 6 * place + 6, value, "crew big", tape_format(value, units))
        box(flow, row, row, 6 * place + 1, 6 * place + 6)
    flow.next(28)
    return row


def _corners(flow: Flow, quote: Quote, area: AreaTakeoff, columns: Sequence[tuple[str, float, str]]) -> None:
    """Write the table at the right and the sketch at the left, in the same rows."""
    units = quote.job.units
    found = corners(area.area.extent_m, area.area.fall_m)
    highest = next(corner.name for corner in found if corner.down_m == 0)
    first = flow.row
    titles = ("Corner", "Finish below", *(title for title, _, _ in columns))
    spans = ((13, 14), (15, 17), (18, 20), (21, 24))
    for (left, right), title in zip(spans, titles, strict=True):
        flow.put(left, right, title, "crew column")
    _edge(flow, area, found, 0, units)
    flow.next(26)
    for place, corner in enumerate(found):
        row = flow.row
        down = tape(corner.down_m, units)
        flow.put(13, 14, corner.name, "crew cell")
        flow.put(15, 17, down, "crew cell", tape_format(down, units))
        for (_, depth_m, cell), (left, right) in zip(columns, spans[2:], strict=True):
            value = down + tape(depth_m, units)
            flow.formula(left, right, f"=O{row}+{cell}", value, "crew cell", tape_format(value, units))
        box(flow, row, row, 13, 24)
        _edge(flow, area, found, place + 1, units)
        flow.next(21)
    _edge(flow, area, found, _ROWS - 1, units)
    flow.put(13, COLUMNS, f"Depths below the finish at corner {highest}, the highest." if area.area.fall_m else
             "No fall was given: the corners are as if level.", "crew source")  # fmt: skip
    flow.next(21)
    box(flow, first + 1, first + 4, 2, 11)
    flow.gap(4)


def _edge(flow: Flow, area: AreaTakeoff, found: tuple[Corner, ...], row: int, units: str) -> None:
    """Write one row of the sketch: D and C over the box, A and B under it, each with its dig; the water's way in it."""
    a, b, c, d = found
    if row in (0, _ROWS - 1):
        for corner, left in zip((d, c) if row == 0 else (a, b), (1, 7), strict=True):
            deep = tape_words(corner.down_m + _bottom_m(area), units)
            side = "left" if left == 1 else "right"
            flow.put(left, left + 5, f"{corner.name}  {deep}", "crew label", across=side)
    elif row == _WATER:
        along, across = area.area.fall_m or (0.0, 0.0)
        arrows = [mark for fall, marks in ((along, "\N{RIGHTWARDS ARROW}\N{LEFTWARDS ARROW}"),
                  (across, "\N{UPWARDS ARROW}\N{DOWNWARDS ARROW}")) if fall for mark in marks[fall < 0]]  # fmt: skip
        flow.put(3, 10, f"water runs {' '.join(arrows)}" if arrows else "no fall given", "crew column")


def _remarks(quote: Quote, area: AreaTakeoff) -> Iterator[tuple[str, style.Look]]:
    """Yield what else must be known for the dig, each with its look."""
    units, one = quote.job.units, area.area
    length, width = one.extent_m
    around = "" if one.shape == "rectangle" else " (the box around the area)"
    told = f"A to B {words(length, 'length', units, 1)}, A to D {words(width, 'length', units, 1)}{around}."
    if one.strip_of:
        told += f" {'A to B' if abs(length - one.foundation_edge_m) < 1e-6 else 'A to D'} runs along the building."
    slope = steepest_slope(one.extent_m, one.fall_m) if one.fall_m else None
    if one.fall_m:
        told += (
            f" The finish falls {_fall(one.fall_m[0], 'A to B', units)}, {_fall(one.fall_m[1], 'A to D', units)} "
            f"({slope:.1%})."
        )
    told += f" {_dug(area, units)}"
    if area.extension_m:
        told += f" Past every open edge dig and base go on for {tape_words(area.extension_m, units)}"
        told += ", not along the building." if one.foundation_edge_m else "."
    yield told, "crew"
    least = table("crew_limits").exact("least slope")
    if slope is not None and slope < float(least["value"]) / 100 - 1e-9:
        cited = f"{sources()[str(least['source'])].title} [{least['trust']}]"
        yield (
            f"CALL FIRST: the finish falls less than {least['value']:g} %, the least for a surface. {cited}",
            "crew label",
        )
    if one.old_pavement_m > 0:
        kind = one.old_pavement_kind or "pavement"
        out = " The stone base under it is dug out as well." if area.old_base and not area.kept_m else ""
        yield f"Old {kind}, {tape_words(one.old_pavement_m, units)} thick, comes out first.{out}", "crew label"
    yield from ((text, "crew label") for text in _deep(area, units))
    for text in (one.note, *(flag for flag in area.flags if flag != area.old_base)):
        if text:
            yield f"Note: {text}", "crew label"


def _dug(area: AreaTakeoff, units: str) -> str:
    """Return what is dug, from the surface of today or from below the old pavement."""
    whole, paved = words(area.base_area_m2, "area", units), words(area.area.area_m2, "area", units)
    if area.kept_m > 0:
        off = f"Take {tape_words(area.dig_m, units)} off its top" if area.dig_m > 0 else "Take nothing off its top"
        past = f"; past the edge dig {tape_words(area.beside_m, units)} of ground" if area.extension_m else ""
        return f"The old base stays on {paved}. {off}{past}."
    loose = area.fill_m if area.area.loose_fill is not None else 0.0
    where = "below the old pavement" if area.area.old_pavement_m > 0 else "from the ground as it lies"
    return f"Dig {whole}, {tape_words(area.dig_m + loose, units)} deep {where}."


def _deep(area: AreaTakeoff, units: str) -> Iterator[str]:
    """Yield what must be known where loose fill is dug out, and beside a footing."""
    one = area.area
    if one.loose_fill is not None and area.fill_m > 0:
        sound = tape_words(one.loose_fill.depth_m, units)
        yield f"Dig on to sound ground, {sound} below the surface of today; call before it is filled."
    bottom = area.dig_m + one.old_pavement_m + area.fill_m
    if one.footing_m is not None and bottom > one.footing_m + 1e-9:
        yield (
            f"CALL FIRST: the dig goes {tape_words(bottom, units)} below the surface of today, below the footing at "
            f"{tape_words(one.footing_m, units)}: not without support or an engineer's approval."
        )
    elif one.footing_m is not None:
        yield f"The footing ends {tape_words(one.footing_m, units)} below the surface of today: never dig below it."
    elif one.strip_of or (one.foundation_edge_m and one.loose_fill):
        yield "How deep the footing lies is not known: find its bottom first, and never dig below it."


def _fall(drop_m: float, way: str, units: str) -> str:
    if abs(drop_m) < 1e-9:
        return f"nothing from {way}"
    return f"{tape_words(abs(drop_m), units)} from {way if drop_m > 0 else ' to '.join(way.split(' to ')[::-1])}"
