"""A native chart of strength: the scale of the six classes, and where on it each spot of a job lies."""

from math import log2
from typing import Any, Final

from openpyxl.chart import BarChart
from openpyxl.chart.axis import ChartLines
from openpyxl.chart.data_source import AxDataSource, NumData, NumDataSource, NumVal, StrData, StrVal
from openpyxl.chart.label import DataLabelList
from openpyxl.chart.series import Series, SeriesLabel
from openpyxl.chart.shapes import GraphicalProperties
from openpyxl.drawing.line import LineProperties

from basecalc.ground.classes import CLASSES, rank, weak_edge
from basecalc.ground.evidence import AreaEvidence, SpotEvidence
from basecalc.workbook import charts, style

MOST_ROWS: Final = 10
_LONGEST: Final = 32  # letters of an area and a spot that one line has room for
_ROW_PT: Final = 13.0
_AROUND_PT: Final = 26.0
_LEAST_PT: Final = 92.0  # in a lower chart LibreOffice breaks the names of the classes
_HALF_MARK: Final = 0.12  # half the width of the mark of a measured ratio, in classes
_MEANING: Final = "a narrow mark was measured, a wide bar is what simpler tests leave open"
# Light beside lighter: every segment has a dark outline and its name, so that no shade has to be told from another.
_SHADES: Final = ("FFFFFF", "F1F1EE")


def place_on_scale(cbr: float) -> float:
    """Return where a bearing ratio lies on the scale of classes: soft begins at 1, hard at 5; 0 to 6.

    Each class's band ends at twice where it begins, so that a class is one step of the logarithm.

    Examples
    --------
    >>> place_on_scale(0.4), place_on_scale(1.6), place_on_scale(100)
    (1.0, 3.0, 6.0)
    """
    return min(max(1.0 + log2(cbr / weak_edge(CLASSES[1])), 0.0), float(len(CLASSES)))


def height_of(rows: int) -> float:
    """Return how high the chart is with so many spots [pt]."""
    return max(_AROUND_PT + _ROW_PT * (rows + 1), _LEAST_PT)


def marks(found: list[AreaEvidence]) -> list[tuple[str, float, float]]:
    """Return name, begin and end on the scale of each spot drawn: those that decide and the weakest, where too many.

    A spot known by its classes covers them; one with a measured ratio is a narrow mark.
    """
    several = len(found) > 1
    spots = [(area.area, spot) for area in found for spot in area.spots]
    kept = sorted(spots, key=lambda one: (not one[1].governs, _ends(one[1])))[:MOST_ROWS]
    return [(_name(area, spot, several=several), *_ends(spot)) for area, spot in spots if (area, spot) in kept]


def _name(area: str, spot: SpotEvidence, *, several: bool) -> str:
    name = f"{area}: {spot.name}" if several and len(area) + len(spot.name) <= _LONGEST else spot.name
    name = name if len(name) <= _LONGEST + 2 else f"{name[: _LONGEST + 1]}\N{HORIZONTAL ELLIPSIS}"
    return f"{name}{', decides' if spot.governs else ''}"


def _ends(spot: SpotEvidence) -> tuple[float, float]:
    if spot.strength.cbr is None:
        return float(rank(spot.left.weakest)), rank(spot.left.strongest) + 1.0
    at = place_on_scale(spot.strength.cbr)
    at = min(max(at, _HALF_MARK), len(CLASSES) - _HALF_MARK)
    return at - _HALF_MARK, at + _HALF_MARK


def strength_chart(found: list[AreaEvidence]) -> BarChart:
    """Return the chart: the named scale above, below it a dark bar over the classes each spot leaves open.

    Its numbers are held by the chart itself: a client has no use for a table of them.
    """
    rows = marks(found)
    names = ["from weak to strong", *(name for name, *_ in rows)]
    chart = BarChart()
    chart.type, chart.style, chart.roundedCorners = "bar", 2, False
    chart.grouping, chart.overlap, chart.gapWidth = "stacked", 100, 40
    for place, word in enumerate(CLASSES):
        scale = _series(word, names, [1.0, *([None] * len(rows))])
        scale.graphicalProperties = charts.filled(_SHADES[place % 2])
        scale.dLbls = _named()
        chart.series.append(scale)
    before = _series("before", names, [None, *(begin for _, begin, _ in rows)])
    before.graphicalProperties = GraphicalProperties(noFill=True, ln=LineProperties(noFill=True))
    spots = _series("spots", names, [None, *(end - begin for _, begin, end in rows)])
    spots.graphicalProperties = charts.filled(style.SLATE)
    chart.series += [before, spots]
    chart.title = chart.legend = None
    chart.x_axis.scaling.orientation = "maxMin"
    chart.x_axis.delete, chart.y_axis.delete = False, False
    chart.y_axis.scaling.min, chart.y_axis.scaling.max, chart.y_axis.majorUnit = 0, len(CLASSES), 1
    chart.y_axis.title = charts.heading(_MEANING, 8, bold=False)
    chart.y_axis.crosses = "max"  # with the names turned over, this is the lower edge
    chart.y_axis.number_format = ";;;"  # its steps carry the names of the classes, not numbers
    chart.y_axis.majorGridlines = ChartLines(spPr=GraphicalProperties(ln=LineProperties(solidFill=style.LINE, w=6350)))
    for axis in (chart.x_axis, chart.y_axis):
        axis.txPr = charts.lettering(8)
        axis.graphicalProperties = GraphicalProperties(ln=LineProperties(solidFill=style.LINE, w=9525))
    chart.graphical_properties = GraphicalProperties(ln=LineProperties(noFill=True))
    return chart


def _series(title: str, names: list[str], values: list[float | None]) -> Any:
    points = [NumVal(idx=place, v=repr(value)) for place, value in enumerate(values) if value is not None]
    texts = [StrVal(idx=place, v=name) for place, name in enumerate(names)]
    return Series(
        idx=0, order=0,
        tx=SeriesLabel(v=title),
        cat=AxDataSource(strLit=StrData(ptCount=len(texts), pt=texts)),
        val=NumDataSource(numLit=NumData(formatCode="General", ptCount=len(values), pt=points)),
    )  # fmt: skip


def _named() -> DataLabelList:
    """Return labels that show the name of the series in the middle of its bar."""
    labels = DataLabelList()
    labels.showSerName = True
    labels.showVal = labels.showCatName = labels.showLegendKey = labels.showPercent = False
    labels.position = "ctr"
    labels.txPr = charts.lettering(7)
    labels.txPr.bodyPr.wrap = "none"
    return labels
