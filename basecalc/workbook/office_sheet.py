"""What every sheet of the office's file has in common: its head, its table headings, its print set-up."""

from collections.abc import Sequence
from typing import Final

from openpyxl.worksheet.pagebreak import RowBreak
from openpyxl.worksheet.properties import PageSetupProperties

from basecalc.pricing.records import Estimate, Quote
from basecalc.workbook import style
from basecalc.workbook.layout import Flow
from basecalc.workbook.values import ValuedBook

OPTION_WORDS: Final = {"stone": "Stone only", "geogrid": "With geogrid", "habit": "One-depth habit"}
COUNTS: Final = "=IF(AND(ISNUMBER({0}),ISNUMBER({1})),{2},NA())"  # a refusal ends in #N/A, never in a smaller total


_PAPER_PT: Final = (690.0, 505.0)  # room on a sheet of either paper, along and across
_NEARLY_ONE: Final = 1.3
_TIGHT: Final = 0.97  # programs differ a little in how high they set the same rows


def start(book: ValuedBook, title: str, widths: tuple[float, ...], quote: Quote, revision: int, words: str) -> Flow:
    """Add a sheet with its head and return the flow behind it."""
    flow = Flow(book, title, widths)
    flow.page_height = page_height(flow)
    last = len(widths)
    flow.put(1, last, title, "title")
    flow.next(26)
    job = quote.job
    flow.put(1, last, f"Quote {job.number}, revision {revision}.  {job.client}, {job.site}", "text")
    flow.next()
    flow.put(1, last, f"{words} Office only.", "quiet")
    flow.next()
    flow.gap(6)
    return flow


def page_height(flow: Flow, *, landscape: bool = True) -> float:
    """Return how much of a sheet's height a page holds, printed one page wide [pt]."""
    long, short = _PAPER_PT
    wide, high = (long, short) if landscape else (short, long)
    return high / min(1.0, wide / flow.width)


def columns(flow: Flow, *titles: str, right: Sequence[int] = ()) -> int:
    """Write a row of column headings and return its row."""
    row = flow.row
    for place, title in enumerate(titles, 1):
        flow.put(place, place, title, "column", across="right" if place in right else "")
    flow.next()
    return row


def finish(flow: Flow, quote: Quote, *, landscape: bool = True, repeat_rows: str = "", freeze: str = "") -> None:
    """Set the sheet up for paper and freeze its headings; what hardly misses one page is set smaller to fit it."""
    one = flow.height < _NEARLY_ONE * page_height(flow, landscape=landscape)
    if one:
        flow.sheet.row_breaks = RowBreak()
    style.page(
        flow.sheet, flow.area, units=quote.job.units, landscape=landscape, repeat_rows=repeat_rows,
        foot=f"Quote {quote.job.number}, {flow.sheet.title}. Office only.", pages_high=int(one),
    )  # fmt: skip
    if freeze:
        flow.sheet.freeze_panes = freeze


def page_each(flow: Flow, tops: Sequence[int]) -> None:
    """Print a finished sheet that lies across a page for each of its parts, as small as the longest needs."""
    wide, high = _PAPER_PT
    ends = [*tops[1:], flow.row]
    longest = max(flow.top_of(end) - flow.top_of(top) for top, end in zip([1, *tops[1:]], ends, strict=True))
    for top in tops[1:]:
        style.page_break(flow.sheet, top - 1)
    # Our own page breaks count only where the print is not fitted to pages.
    flow.sheet.sheet_properties.pageSetUpPr = PageSetupProperties(fitToPage=False)
    flow.sheet.page_setup.scale = int(min(100.0, 100 * wide / flow.width, 100 * high * _TIGHT / longest))


def options(quote: Quote) -> list[Estimate]:
    """Return the priced options, the one offered first and the habit last where it can be built."""
    others = [one for one in (quote.stone, quote.geogrid) if one is not None and one.option != quote.offered]
    return [quote.offer, *others, *([quote.habit] if quote.habit is not None else [])]
