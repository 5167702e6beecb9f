"""The office's sheet Cone log: every drop with its layers, CBR by depth as a native chart, and every reading."""

from typing import Final

from basecalc.core.numbers import half_up
from basecalc.ground.classes import class_of_cbr
from basecalc.ground.cone_log import Design, Layer
from basecalc.ground.readings import hammer_of
from basecalc.job import Spot
from basecalc.pricing.records import Quote
from basecalc.workbook import charts, style
from basecalc.workbook.client_words import capital
from basecalc.workbook.figures import number, unit
from basecalc.workbook.layout import Flow
from basecalc.workbook.log_plot import Points, cbr_by_depth
from basecalc.workbook.office_sheet import columns, finish, start
from basecalc.workbook.values import ValuedBook

TITLE: Final = "Cone log"
_WIDTHS: Final = (9.0, 11.0, 11.0, 11.0, 9.0, 10.0, 11.0, 10.0, 12.0, 34.0)
_CBR: Final = "[<10]0.0;0"
_WHAT: Final = "What the cone penetrometer read, its layers, and the CBR designed for."
_CHART_PT: Final = 300.0


def add_log_sheet(book: ValuedBook, quote: Quote, revision: int) -> None:
    """Write the sheet, where a spot of the job has a cone log; no sheet where none has."""
    spots = [spot for spot in quote.job.spots if spot.drops]
    if not spots:
        return
    flow = start(book, TITLE, _WIDTHS, quote, revision, _WHAT)
    for spot in spots:
        for design in spot.drops:
            _drop(flow, spot, design, quote.job.units)
    finish(flow, quote, landscape=False)


def _drop(flow: Flow, spot: Spot, design: Design, units: str) -> None:
    drop, last = design.profile.drop, len(_WIDTHS)
    name = f", drop {drop.name}" if drop.name else ""
    flow.heading(f"{capital(spot.name)} ({spot.area}): {spot.log}{name}")
    flow.put(1, 2, "Design CBR, %", "label")
    flow.put(3, 3, half_up(design.cbr, 3), "strong", _CBR)
    flow.put(4, last, f"{design.how}. Season and moisture come on top: see Ground evidence.")
    flow.next()
    for text in (*design.warnings, *design.profile.remarks, *drop.notes, *spot.log_notes):
        flow.put(1, last, f"{text}.", "quiet")
        flow.next()
    flow.gap(4)
    _layers(flow, design, units)
    line = _line(flow, design, units)
    # The chart stands above the readings that it draws, whose rows follow it.
    place = flow.room(20, _CHART_PT)
    flow.gap(4)
    readings = _readings(flow, design, units)
    chart = cbr_by_depth(
        flow.sheet, Points(*line, 3, 2), Points(*readings, 7, 4), units, f"CBR by depth: {spot.name}{name}",
        min([design.cbr, *design.profile.step_cbrs]), _deep(drop.depth_m, units),
    )  # fmt: skip
    charts.place(flow.sheet, chart, place, 1, flow.width - 8, _CHART_PT - 6)
    flow.gap(6)


def _deep(depth_m: float, units: str) -> float:
    return number(depth_m, "depth", units)


def _places(units: str) -> str:
    return "0" if units == "metric" else "0.0"


def _layers(flow: Flow, design: Design, units: str) -> None:
    word = unit("depth", units)
    titles = ("Layer", f"From, {word}", f"To, {word}", "Blows", "Rows", "mm/blow", "CBR, %", "Ground", "Soil")
    columns(flow, *titles, "Counts", right=(2, 3, 4, 6, 7))
    for place, layer in enumerate(design.profile.layers, 1):
        flow.put(1, 1, str(place), "label")
        flow.put(2, 2, _deep(layer.top_m, units), "number", _places(units))
        flow.put(3, 3, _deep(layer.bottom_m, units), "number", _places(units))
        flow.put(4, 4, layer.blows, "number", "whole")
        flow.put(5, 5, f"{layer.first_row}-{layer.last_row}", across="center")
        flow.put(6, 6, layer.mm_per_blow, "number", "one")
        flow.put(7, 7, half_up(layer.cbr, 3), "number", _CBR)
        style.align(flow.put(8, 8, class_of_cbr(layer.cbr)), across="left", indent=1)
        flow.put(9, 9, layer.soil or "all soils")
        flow.put(10, 10, _counts(layer, design))
        flow.next(rule=True)
    flow.gap(4)


def _counts(layer: Layer, design: Design) -> str:
    told = ["the design layer"] if layer is design.layer else []
    if layer.set_aside:
        told.append(f"without row{'s' if len(layer.set_aside) > 1 else ''} {', '.join(map(str, layer.set_aside))}")
    return capital(", ".join(told))


def _line(flow: Flow, design: Design, units: str) -> tuple[int, int]:
    """Write the corners of the line of layers, which the chart draws, and return their first and last row."""
    columns(flow, "Line", f"Depth, {unit('depth', units)}", "CBR, %", right=(2, 3))
    first = flow.row
    for layer in design.profile.layers:
        for depth_m in (layer.top_m, layer.bottom_m):
            flow.put(2, 2, _deep(depth_m, units), "quiet", _places(units), across="right")
            flow.put(3, 3, half_up(layer.cbr, 3), "quiet", _CBR, across="right")
            flow.next()
    last = flow.row - 1
    flow.gap(4)
    return first, last


def _readings(flow: Flow, design: Design, units: str) -> tuple[int, int]:
    """Write every reading, and return the first and last row of the table."""
    word = unit("depth", units)
    titles = (
        "Row in log",
        f"From, {word}",
        f"To, {word}",
        f"Middle, {word}",
        "Blows",
        "mm/blow",
        "CBR, %",
        "Hammer",
        "Soil",
    )
    columns(flow, *titles, "Note", right=(1, 2, 3, 4, 5, 6, 7))
    first = flow.row
    for step, cbr in zip(design.profile.drop.steps, design.profile.step_cbrs, strict=True):
        flow.put(1, 1, step.row, "number", "whole")
        for column, depth_m in ((2, step.top_m), (3, step.bottom_m), (4, (step.top_m + step.bottom_m) / 2)):
            flow.put(column, column, _deep(depth_m, units), "number", _places(units))
        flow.put(5, 5, step.blows, "number", "whole")
        flow.put(6, 6, step.mm_per_blow, "number", "one")
        flow.put(7, 7, half_up(cbr, 3), "number", _CBR)
        style.align(flow.put(8, 8, hammer_of(step.hammer_factor)), across="left", indent=1)
        flow.put(9, 9, step.soil)
        flow.put(10, 10, step.note)
        flow.next()
    return first, flow.row - 1
