"""What the pages of the crew's file have in common: black type that is read at arm's length, one page each."""

from typing import Final, cast

from openpyxl.cell.cell import Cell
from openpyxl.styles import Alignment, Border, Font, NamedStyle, PatternFill, Side

from basecalc.core.numbers import half_up
from basecalc.core.units import INCH_M
from basecalc.pricing.records import Quote
from basecalc.workbook import style
from basecalc.workbook.dress import alter
from basecalc.workbook.figures import in_eighths
from basecalc.workbook.layout import Flow
from basecalc.workbook.values import ValuedBook

COLUMNS: Final = 24
BLACK: Final = "000000"
THICK: Final = Side("medium", color=BLACK)
THIN: Final = Side("thin", color=BLACK)
HATCH: Final = PatternFill("lightUp", fgColor=BLACK, bgColor=style.PAPER)
_COLUMN: Final = 5.1  # characters
_EIGHTH_M: Final = INCH_M / 8
_HALF_CM_M: Final = 0.005


def new_crew_book() -> ValuedBook:
    """Return an empty workbook that knows the looks of the crew's pages as well."""
    book = ValuedBook()
    for look in _looks():
        book.workbook.add_named_style(look)
    return book


def _looks() -> list[NamedStyle]:
    return [
        _look("crew title", 26),
        _look("crew head", 15, border=Border(bottom=THICK), up="bottom", wrap=False),
        _look("crew column", 11.5, up="bottom", across="center"),
        _look("crew", 13, bold=False),
        _look("crew label", 13),
        _look("crew big", 19, across="center", wrap=False),
        _look("crew source", 9, bold=False),
        _look("crew box", 14, border=Border(THICK, THICK, THICK, THICK), indent=1),
        _look("crew cell", 14, border=Border(THIN, THIN, THIN, THIN), across="center"),
    ]


def _look(
    name: str, size: float, *, bold: bool = True, border: Border | None = None, up: str = "center",
    across: str = "left", wrap: bool = True, indent: int = 0,
) -> NamedStyle:  # fmt: skip
    return NamedStyle(
        name=f"basecalc {name}",
        font=Font(name=style.TYPEFACE, size=size, bold=bold, color=BLACK),
        border=border or Border(),
        alignment=Alignment(wrap_text=wrap, vertical=up, horizontal=across, indent=indent),
    )


def start_page(book: ValuedBook, sheet: str, title: str, quote: Quote, revision: int) -> Flow:
    """Add a page with its head and return the flow behind it."""
    flow = Flow(book, sheet, (_COLUMN,) * COLUMNS)
    flow.put(1, COLUMNS, title, "crew title")
    flow.next(32)
    job = quote.job
    flow.put(1, COLUMNS, f"{job.site}.  Quote {job.number}, revision {revision}, {job.client}.", "crew")
    flow.next()
    return flow


def head(flow: Flow, words: str) -> None:
    """Write the heading of a section."""
    flow.gap(5)
    flow.put(1, COLUMNS, words, "crew head")
    flow.next(21)
    flow.gap(3)


def finish_page(flow: Flow, quote: Quote) -> None:
    """Set a page up for one sheet of paper."""
    style.page(
        flow.sheet, flow.area, units=quote.job.units, foot=f"Crew sheet {quote.job.number}, {flow.sheet.title}",
        pages_high=1,
    )  # fmt: skip
    margins = flow.sheet.page_margins
    margins.left = margins.right = 0.5
    margins.top, margins.bottom = 0.4, 0.6


def tape(depth_m: float, units: str) -> float:
    """Return a depth as a tape reads it, in the unit of the job: to 1/8 in, or to the millimetre.

    Examples
    --------
    >>> tape(0.1464, "us"), tape(0.1464, "metric")
    (5.75, 146.0)
    """
    if units == "metric":
        return half_up(depth_m * 1000)
    return half_up(depth_m / _EIGHTH_M) / 8


def tape_words(depth_m: float, units: str) -> str:
    """Return a depth as a tape reads it, in words.

    Examples
    --------
    >>> tape_words(0.1464, "us"), tape_words(0.1464, "metric")
    ('5-3/4 in', '146 mm')
    """
    return f"{tape(depth_m, units):,.0f} mm" if units == "metric" else f"{in_eighths(tape(depth_m, units))} in"


def tape_format(value: float, units: str) -> str:
    """Return the number format under which a cell shows a depth as a tape reads it."""
    if units == "metric":
        return '0" mm"'
    return '0" in"' if abs(value - round(value)) < 1e-6 else '# ?/?" in"'


def to_tape(formula: str, units: str, *, spread: bool = False) -> str:
    """Return a formula rounded as a tape reads: to 1/8 in or 1 mm, for stone that is spread to 5 mm."""
    if units != "metric":
        return f"=ROUND(({formula})*8,0)/8"
    return f"=ROUND(({formula})/5,0)*5" if spread else f"=ROUND({formula},0)"


def spread_tape(depth_m: float, units: str) -> float:
    """Return a layer of loose stone as the crew spreads it, in the unit of the job: to 1/8 in, or to 5 mm."""
    return half_up(depth_m / _HALF_CM_M) * 5.0 if units == "metric" else tape(depth_m, units)


def box(flow: Flow, first_row: int, last_row: int, first: int, last: int) -> None:
    """Draw a thick line round some cells."""
    for row in range(first_row, last_row + 1):
        for column in range(first, last + 1):
            sides = (column == first, column == last, row == first_row, row == last_row)
            _thick(cast(Cell, flow.sheet.cell(row, column)), sides)


def _thick(cell: Cell, sides: tuple[bool, bool, bool, bool]) -> None:
    """Draw a thick line at the left, right, top, bottom of a cell, where it is wanted."""

    def change() -> None:
        kept = cell.border
        left, right, top, bottom = sides
        cell.border = Border(
            left=THICK if left else kept.left,
            right=THICK if right else kept.right,
            top=THICK if top else kept.top,
            bottom=THICK if bottom else kept.bottom,
        )

    alter(cell, ("box", sides), change)
