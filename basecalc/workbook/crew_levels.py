"""Of a crew page: how deep to dig at each corner, measured from the finished surface, with a sketch of the corners."""

from collections.abc import Iterator
from typing import Final

from basecalc.plan.levels import Corner, corners, steepest_slope
from basecalc.pricing.record import Quote
from basecalc.tables import sources, table
from basecalc.takeoff.record import AreaTakeoff
from basecalc.workbook import style
from basecalc.workbook.crew_kit import COLUMNS, box, head, tape, tape_format, tape_words
from basecalc.workbook.figures import words
from basecalc.workbook.layout import Flow

_ROWS: Final = 6  # of the sketch: the upper corners, four of the box, the lower corners
_WATER: Final = 3


def write(flow: Flow, quote: Quote, area: AreaTakeoff) -> None:
    """Write the depths of an area, its corners and their sketch.

    Parameters
    ----------
    flow
        The page.
    quote
        The priced job.
    area
        The area as offered.
    """
    units = quote.job.units
    head(flow, "Dig: how deep, measured down from the finished surface")
    top_m = area.below_finish_m - area.base_m
    boxes = (("Bottom of dig", area.below_finish_m), ("Stone base", area.base_m), ("Top of base", top_m),
             ("Base past the edge", area.extension_m))  # fmt: skip
    for place, (title, _) in enumerate(boxes):
        flow.put(6 * place + 1, 6 * place + 6, title, "crew column")
    flow.next()
    row = flow.row
    for place, (_, depth_m) in enumerate(boxes):
        value = tape(depth_m, units)
        flow.put(6 * place + 1, 6 * place + 6, value, "crew big", tape_format(value, units))
        box(flow, row, row, 6 * place + 1, 6 * place + 6)
    flow.next(28)
    flow.gap(4)
    _corners(flow, quote, area, row)
    for text, look in _remarks(quote, area):
        flow.put(1, COLUMNS, text, look)
        flow.next()


def _corners(flow: Flow, quote: Quote, area: AreaTakeoff, depths_row: int) -> None:
    """Write the table at the right and the sketch at the left, in the same rows."""
    units = quote.job.units
    found = corners(area.area.extent_m, area.area.fall_m)
    highest = next(corner.name for corner in found if corner.down_m == 0)
    first = flow.row
    titles = ("Corner", "Finish below", "Top of base", "Bottom of dig")
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
        deep = ((area.below_finish_m - area.base_m, "M", 18, 20), (area.below_finish_m, "A", 21, 24))
        for depth_m, column, left, right in deep:
            value = down + tape(depth_m, units)
            flow.formula(left, right, f"=O{row}+{column}{depths_row}", value, "crew cell", tape_format(value, units))
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
            deep = tape_words(corner.down_m + area.below_finish_m, units)
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
    slope = steepest_slope(one.extent_m, one.fall_m) if one.fall_m else None
    if one.fall_m:
        told += (
            f" The finish falls {_fall(one.fall_m[0], 'A to B', units)}, {_fall(one.fall_m[1], 'A to D', units)} "
            f"({slope:.1%})."
        )
    told += f" Dig {words(area.base_area_m2, 'area', units)}, {tape_words(area.dig_m, units)} of it ground."
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
        yield f"Old {kind}, {tape_words(one.old_pavement_m, units)} thick, comes out first.", "crew label"
    for text in (one.note, *area.flags):
        if text:
            yield f"Note: {text}", "crew label"


def _fall(drop_m: float, way: str, units: str) -> str:
    if abs(drop_m) < 1e-9:
        return f"nothing from {way}"
    return f"{tape_words(abs(drop_m), units)} from {way if drop_m > 0 else ' to '.join(way.split(' to ')[::-1])}"
