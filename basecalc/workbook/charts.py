"""Native charts that say their piece in black and white: sections of the pavement, bars side by side, tornadoes."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, floor, log10
from typing import Any, Final

from openpyxl.chart import BarChart, Reference, Series
from openpyxl.chart.axis import ChartLines
from openpyxl.chart.label import DataLabelList
from openpyxl.chart.shapes import GraphicalProperties
from openpyxl.chart.text import RichText, Text
from openpyxl.chart.title import Title
from openpyxl.drawing.line import LineProperties
from openpyxl.drawing.spreadsheet_drawing import AnchorMarker, OneCellAnchor
from openpyxl.drawing.text import (
    CharacterProperties,
    Font,
    Paragraph,
    ParagraphProperties,
    RegularTextRun,
    RichTextProperties,
)
from openpyxl.drawing.xdr import XDRPositiveSize2D
from openpyxl.worksheet.worksheet import Worksheet

from basecalc.workbook import style

POINT_EMU: Final = 12_700
# Dark beside light, so that neighbors differ without color.
BAR_FILLS: Final = (style.SLATE, "B9B4AA", "EFE7D3")


@dataclass(frozen=True, slots=True)
class Block:
    """A table on a sheet that a chart draws: names down the first column, one series per further column."""

    sheet: Worksheet
    first_row: int
    last_row: int
    names: int
    columns: tuple[int, ...]
    titles: tuple[str, ...]


def side_by_side(block: Block, title: str, format: str, highest: float) -> BarChart:
    """Return standing bars for each name, the value written on top of each."""
    chart = _bars(block, BAR_FILLS, "col", title)
    chart.grouping, chart.gapWidth = "clustered", 60
    step = round_step(highest * 1.2 / 4)
    chart.y_axis.scaling.min, chart.y_axis.scaling.max = 0, step * ceil(highest * 1.15 / step)
    chart.y_axis.majorUnit = step
    chart.y_axis.number_format = format
    chart.y_axis.majorGridlines = ChartLines(spPr=GraphicalProperties(ln=LineProperties(solidFill=style.HAIR, w=6350)))
    for one in chart.series:
        one.dLbls = _labels(format, style.INK, "outEnd", bold=True)
    chart.legend.position = "b"
    return chart


def round_step(step: float) -> float:
    """Return the next 1, 2, 2.5 or 5 times a power of ten that is not below a step of a scale.

    Examples
    --------
    >>> round_step(7.2), round_step(2100)
    (10.0, 2500.0)
    """
    power = 10.0 ** floor(log10(step)) if step > 0 else 1.0
    return next(factor * power for factor in (1, 2, 2.5, 5, 10) if factor * power >= step)


def place(sheet: Worksheet, chart: BarChart, row: int, column: int, width: float, height: float) -> None:
    """Put a chart on a sheet with its upper left corner at a cell."""
    size = XDRPositiveSize2D(round(width * POINT_EMU), round(height * POINT_EMU))
    corner = AnchorMarker(col=column - 1, row=row - 1, colOff=2 * POINT_EMU, rowOff=2 * POINT_EMU)
    anchor: Any = OneCellAnchor(_from=corner, ext=size)  # openpyxl takes an anchor as well as the cell it is typed as
    chart.anchor = anchor
    sheet.add_chart(chart)


def _bars(block: Block, fills: Sequence[str], way: str, title: str) -> BarChart:
    chart = BarChart()
    chart.type = way
    chart.style = 2
    chart.roundedCorners = False
    names = Reference(block.sheet, min_col=block.names, min_row=block.first_row, max_row=block.last_row)
    for column, words, fill in zip(block.columns, block.titles, fills, strict=False):
        values = Reference(block.sheet, min_col=column, min_row=block.first_row, max_row=block.last_row)
        series = Series(values, title=words)
        series.graphicalProperties = filled(fill)
        series.invertIfNegative = False
        chart.series.append(series)
    chart.set_categories(names)
    chart.title = heading(title, 10)
    chart.x_axis.delete = chart.y_axis.delete = False  # openpyxl hides both otherwise
    for axis in (chart.x_axis, chart.y_axis):
        axis.txPr = lettering(8)
        axis.graphicalProperties = GraphicalProperties(ln=LineProperties(solidFill=style.LINE, w=9525))
    chart.legend.txPr = lettering(8)
    chart.graphical_properties = GraphicalProperties(ln=LineProperties(noFill=True))
    return chart


def filled(fill: str) -> GraphicalProperties:
    """Return a fill of one color with a thin dark outline, which holds in black and white."""
    return GraphicalProperties(solidFill=fill, ln=LineProperties(solidFill=style.INK, w=6350))


class _OwnFormat(DataLabelList):
    """Labels that keep to their own number format; openpyxl leaves it open, and some programs take the cells' then."""

    # openpyxl gathers these from a class's own fields, of which this one has none.
    __elements__ = DataLabelList.__elements__
    __nested__ = DataLabelList.__nested__
    __attrs__ = DataLabelList.__attrs__

    def to_tree(self, tagname: str | None = None, idx: Any = None, namespace: str | None = None) -> Any:
        tree = super().to_tree(tagname, idx, namespace)
        for node in tree:
            if node.tag.endswith("numFmt"):
                node.set("sourceLinked", "0")
        return tree


def _labels(format: str, color: str, where: str, *, bold: bool = False) -> DataLabelList:
    labels = _OwnFormat()
    labels.showVal = True
    labels.showSerName = labels.showCatName = labels.showLegendKey = labels.showPercent = False
    labels.numFmt = format
    labels.position = where
    labels.txPr = lettering(8.5, bold=bold, color=color)
    return labels


def _letters(size: float, *, bold: bool, color: str) -> CharacterProperties:
    return CharacterProperties(
        sz=round(size * 100), b=bold, solidFill=color, latin=Font(typeface=style.TYPEFACE), lang="en-US"
    )


def lettering(size: float, *, bold: bool = False, color: str = style.INK) -> RichText:
    """Return the type that axes, legends and labels are set in, of so many points."""
    look = ParagraphProperties(defRPr=_letters(size, bold=bold, color=color))
    return RichText(bodyPr=RichTextProperties(), p=[Paragraph(pPr=look, endParaRPr=CharacterProperties(lang="en-US"))])


def heading(words: str, size: float, *, bold: bool = True) -> Title:
    """Return the title of a chart or an axis, of so many points."""
    letters = _letters(size, bold=bold, color=style.INK)
    run = RegularTextRun(t=words, rPr=letters)
    paragraph = Paragraph(pPr=ParagraphProperties(defRPr=letters), r=[run])
    return Title(tx=Text(rich=RichText(bodyPr=RichTextProperties(), p=[paragraph])), overlay=False)
