"""What the sheets of the season's workbook have in common: head, print set-up, and bars that may go below nought."""

from collections.abc import Sequence
from math import ceil
from typing import Final

from openpyxl.chart import BarChart

from basecalc.reckoning.outcome import Season
from basecalc.workbook import charts, style
from basecalc.workbook.layout import Flow
from basecalc.workbook.values import ValuedBook

_MOST_ROWS: Final = 32  # of a table on one page that can still be read
_MOST_NUMBERS: Final = 24  # over the bars of a chart


def start(book: ValuedBook, title: str, widths: tuple[float, ...], made: Season, words: str) -> Flow:
    """Add a sheet with its head and return the flow behind it.

    Parameters
    ----------
    book
        The workbook.
    title
        Name of the sheet.
    widths
        Widths of its columns [characters].
    made
        The season.
    words
        What the sheet is for, in a line.
    """
    flow = Flow(book, title, widths)
    numbers = [one.quote.job.number for one in made.jobs]
    span = numbers[0] if len(numbers) == 1 else f"{numbers[0]} to {numbers[-1]}"
    for value, look, height in (
        (title, "title", 26.0), (f"{made.company}, quotes {span}", "text", 0.0),
        (f"{words} Office only.", "quiet", 0.0),
    ):  # fmt: skip
        flow.put(1, len(widths), value, look)  # type: ignore[arg-type]  # a tuple of literals loses them
        flow.next(height)
    flow.gap(6)
    return flow


def finish(flow: Flow, made: Season, rows: int, head: int) -> None:
    """Set a sheet up for one printed page, across; for as many as it takes where its table is long.

    Parameters
    ----------
    flow
        The sheet.
    made
        The season.
    rows
        Rows of its longest table.
    head
        The row of its headings, repeated where it takes more than a page.
    """
    foot = f"{made.company}, {flow.sheet.title}. Office only."
    short = rows <= _MOST_ROWS
    style.page(
        flow.sheet, flow.area, units=made.units, landscape=True, foot=foot,
        repeat_rows="" if short else f"{head}:{head}", pages_high=int(short),
    )  # fmt: skip


def bars(block: charts.Block, title: str, format: str, values: Sequence[float]) -> BarChart:
    """Return standing bars whose scale reaches below nought where a value does.

    Parameters
    ----------
    block
        Names by series.
    title
        Words over the chart; they say the unit.
    format
        Number format of the values.
    values
        All of them.
    """
    lowest, highest = min(values), max(values)
    chart = charts.side_by_side(block, title, format, max(highest, abs(lowest), 1e-3))
    step = float(chart.y_axis.majorUnit or 1.0)
    if len(values) > _MOST_NUMBERS:
        for series in chart.series:
            series.dLbls = None  # they would lie on each other; the table has them
    if lowest < 0:
        chart.y_axis.scaling.min = -step * ceil(abs(lowest) * 1.15 / step)
        chart.x_axis.tickLblPos = "low"
    return chart
