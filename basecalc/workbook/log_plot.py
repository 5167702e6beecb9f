"""CBR by depth as a native chart, from cells: the layers as a line, the single readings as dots, downwards."""

from dataclasses import dataclass
from math import floor, log10
from typing import Any

from openpyxl.chart import Reference, ScatterChart, Series
from openpyxl.chart.axis import ChartLines
from openpyxl.chart.legend import Legend
from openpyxl.chart.marker import Marker
from openpyxl.chart.shapes import GraphicalProperties
from openpyxl.drawing.line import LineProperties
from openpyxl.worksheet.worksheet import Worksheet

from basecalc.workbook import charts, style
from basecalc.workbook.figures import unit


@dataclass(frozen=True, slots=True)
class Points:
    """Where the points of a line stand: rows from first to last, a column for each axis."""

    first: int
    last: int
    across: int
    down: int


def cbr_by_depth(
    sheet: Worksheet, line: Points, readings: Points, units: str, title: str, weakest: float,
    deepest: float | None = None,
) -> Any:  # a ScatterChart, which `charts.place` takes as well as the bars it is typed for  # fmt: skip
    """Return the chart."""
    chart = ScatterChart()
    chart.style = 2
    chart.scatterStyle = "lineMarker"
    chart.roundedCorners = False
    layers = _series(sheet, line, "layers")
    layers.graphicalProperties = GraphicalProperties(ln=LineProperties(solidFill=style.SLATE, w=28575))
    layers.marker = Marker("none")
    single = _series(sheet, readings, "readings")
    single.graphicalProperties = GraphicalProperties(ln=LineProperties(noFill=True))
    single.marker = Marker("circle", size=6, spPr=charts.filled(charts.BAR_FILLS[1]))
    for series in (layers, single):
        series.smooth = False
        chart.series.append(series)
    across, down = chart.x_axis, chart.y_axis
    across.scaling.logBase = 10
    across.scaling.min, across.scaling.max = 10.0 ** floor(log10(weakest)), 100
    across.title = charts.heading("CBR, % (each step of the grid is ten times the one before)", 8, bold=False)
    across.number_format = "General"
    down.scaling.orientation = "maxMin"
    down.scaling.min = 0
    if deepest is not None:
        step = charts.round_step(deepest / 6)
        down.scaling.max = step * -(-deepest // step)
        down.majorUnit = step
    down.title = charts.heading(f"depth below the start of the log, {unit('depth', units)}", 8, bold=False)
    down.number_format = "General"
    for axis in (across, down):
        axis.delete = False
        axis.txPr = charts.lettering(8)
        axis.majorGridlines = ChartLines(spPr=GraphicalProperties(ln=LineProperties(solidFill=style.HAIR, w=6350)))
        axis.graphicalProperties = GraphicalProperties(ln=LineProperties(solidFill=style.LINE, w=9525))
    chart.title = charts.heading(title, 10)
    chart.legend = Legend()
    chart.legend.position = "b"
    chart.legend.txPr = charts.lettering(8)
    chart.graphical_properties = GraphicalProperties(ln=LineProperties(noFill=True))
    return chart


def _series(sheet: Worksheet, points: Points, title: str) -> Any:
    across, down = (
        Reference(sheet, min_col=column, min_row=points.first, max_row=points.last)
        for column in (points.across, points.down)
    )
    return Series(down, across, title=title)
