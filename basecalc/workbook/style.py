"""The one look of every workbook: type, colors, number formats, page set-up, and safe text.

Calm, and readable in black and white: an input cell has a box round it, a computed one has none; a total has a rule
above it; a warning carries a word. A color never says anything alone.
"""

import re
from collections.abc import Callable, Hashable
from datetime import date
from decimal import Decimal
from functools import cache
from typing import Any, Final, Literal, cast

from openpyxl.cell.cell import Cell
from openpyxl.styles import Alignment, Border, Font, NamedStyle, PatternFill, Protection, Side
from openpyxl.styles.cell_style import StyleArray
from openpyxl.utils import get_column_letter
from openpyxl.workbook import Workbook
from openpyxl.worksheet.header_footer import HeaderFooterItem
from openpyxl.worksheet.pagebreak import Break
from openpyxl.worksheet.properties import PageSetupProperties
from openpyxl.worksheet.worksheet import Worksheet

from basecalc.pricing.archive import LONGEST_ENTRY

TYPEFACE: Final = "Arial"

# Slate and clay on paper; every pair of text and background has a contrast of 4.5 : 1 or more.
INK: Final = "262B30"
QUIET: Final = "5B646D"
SLATE: Final = "33475B"
BAND: Final = "E8ECEF"
FIELD: Final = "FFF8E6"
LINE: Final = "9AA5AF"
CLAY: Final = "9C4A1A"

Look = Literal["title", "subtitle", "heading", "column", "text", "quiet", "label", "input"]

# Number formats, by what the number is. Units stand in the heading, not in the cell.
FORMATS: Final = {
    "text": "@",
    "general": "General",
    "whole": "#,##0",
    "one": "#,##0.0",
    "two": "#,##0.00",
    "three": "0.000",
    "money": '"$"#,##0.00',
    "share": "0.0%",
    "date": "yyyy-mm-dd",
}

_THIN: Final = Side("thin", color=LINE)
_RULE: Final = Side("medium", color=SLATE)
_NONE: Final = Side(None)
_UNPRINTABLE: Final = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\ufffe\uffff]")


def _named(
    look: str, *, size: float = 10, bold: bool = False, color: str = INK, fill: str = "", border: Border | None = None,
    wrap: bool = True, across: str | None = None, up: str = "top", locked: bool = True, indent: int = 0,
) -> NamedStyle:  # fmt: skip
    return NamedStyle(
        name=f"basecalc {look}",
        font=Font(name=TYPEFACE, size=size, bold=bold, color=color),
        fill=PatternFill("solid", fgColor=fill) if fill else PatternFill(),
        border=border or Border(),
        alignment=_alignment(across, up, wrap, indent),
        protection=Protection(locked=locked),
    )


_LOOKS: Final[dict[str, dict[str, Any]]] = {
    "title": {"size": 18, "bold": True, "color": SLATE, "wrap": False, "up": "center"},
    "subtitle": {"size": 11, "color": QUIET, "wrap": False, "up": "center"},
    "heading": {
        "size": 12, "bold": True, "color": SLATE, "border": Border(bottom=_RULE), "wrap": False, "up": "bottom",
    },
    "column": {"bold": True, "fill": BAND, "border": Border(_NONE, _NONE, _THIN, _RULE), "up": "bottom"},
    "text": {},
    "quiet": {"size": 9, "color": QUIET},
    "label": {"bold": True},
    "input": {
        "fill": FIELD, "border": Border(_THIN, _THIN, _THIN, _THIN), "up": "center", "across": "left", "locked": False,
        "indent": 1,
    },
}  # fmt: skip


def new_book() -> Workbook:
    """Return an empty workbook without sheets that knows every look and has the house typeface."""
    book = Workbook()
    for name in list(book.sheetnames):
        del book[name]
    book._named_styles["Normal"].font = Font(name=TYPEFACE, size=10, color=INK)  # type: ignore[attr-defined]  # no public way to the default font
    for name, look in _LOOKS.items():
        book.add_named_style(_named(name, **look))
    return book


# openpyxl compares every font, border and alignment of every cell with all it knows. A workbook of ours has a few dozen
# looks and thousands of cells: the place of a look in its tables is kept with it, and given to each further cell.
def dress(cell: Cell, look: Hashable, change: Callable[[], None]) -> None:
    """Give a cell a look, by its own change the first time and by its place in the workbook's tables from then on."""
    styled: Any = cell  # openpyxl's types leave out where a cell keeps its place in the tables
    known: dict[Hashable, StyleArray] = vars(styled.parent.parent).setdefault("basecalc_looks", {})
    kept = known.get(look)
    if kept is None:
        change()
        known[look] = StyleArray(styled._style)
    else:
        styled._style = StyleArray(kept)


def safe_text(text: str) -> str:
    """Return the text without what a cell cannot hold: control characters and more than 32,767 characters."""
    clean = _UNPRINTABLE.sub(" ", text.replace("\r\n", "\n").replace("\r", "\n"))
    return clean if len(clean) <= LONGEST_ENTRY else clean[: LONGEST_ENTRY - 1] + "\N{HORIZONTAL ELLIPSIS}"


def put_text(cell: Cell, text: str) -> Cell:
    """Write text of a user into a cell so that it stays text whatever it begins with, now and when it is edited."""
    clean = safe_text(text)
    cell.value = clean
    cell.data_type = "s"  # openpyxl takes '=...' for a formula and '#N/A' for an error
    if clean[:1] in ("=", "+", "-", "@", "#"):
        cell.quotePrefix = True
    return cell


def put(
    sheet: Worksheet, row: int, column: int, value: Any, look: Look = "text", format: str = "", *, across: str = ""
) -> Cell:
    """Write one cell and return it."""
    cell = cast(Cell, sheet.cell(row, column))

    def change() -> None:
        cell.style = f"basecalc {look}"
        if format:
            cell.number_format = FORMATS.get(format, format)
        if across:
            align(cell, across=across)

    dress(cell, (look, format, across), change)
    if isinstance(value, str):
        put_text(cell, value)
    elif isinstance(value, bool):
        put_text(cell, "yes" if value else "no")
    elif value is None or isinstance(value, int | float | Decimal | date):
        cell.value = value
    else:
        raise TypeError(f"a cell cannot hold {type(value).__name__}")
    return cell


def align(
    cell: Cell, *, across: str = "", up: str = "", wrap: bool | None = None, indent: int | None = None
) -> Cell:  # fmt: skip
    """Change how a cell is aligned, and nothing else about it, and return it."""

    def change() -> None:
        kept = cell.alignment
        cell.alignment = _alignment(
            across or kept.horizontal,
            up or kept.vertical,
            kept.wrap_text if wrap is None else wrap,
            kept.indent if indent is None else indent,
        )

    before: Any = getattr(cell, "_style", None)
    dress(cell, (before.tobytes() if before else b"", across, up, wrap, indent), change)
    return cell


@cache
def _alignment(across: str | None, up: str | None, wrap: bool | None, indent: float) -> Alignment:
    """Return the one alignment of this kind, which openpyxl knows again at once."""
    return Alignment(horizontal=across, vertical=up, wrap_text=wrap, indent=indent)


def widths(sheet: Worksheet, *characters: float) -> None:
    """Set the widths of the columns from the left, in characters of the house typeface."""
    for column, width in enumerate(characters, 1):
        sheet.column_dimensions[get_column_letter(column)].width = width


def wrapped_lines(text: str, width: float) -> int:
    """Return how many lines a text takes in a cell so many characters wide, broken at spaces."""
    lines, used = 1, 0.0
    for word in text.split(" "):
        if used and used + len(word) > width * 1.02:
            lines, used = lines + 1, 0.0
        used += len(word) + 1
        while used > width * 1.02 + 1:
            lines, used = lines + 1, used - width
    return lines


def fit_width(sheet: Worksheet, pages_high: int = 0, orientation: Literal["", "portrait", "landscape"] = "") -> None:
    """Let a sheet print one page wide, and so many pages high; 0 is as many as it takes."""
    sheet.sheet_properties.pageSetUpPr = PageSetupProperties(fitToPage=True)
    sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight = 1, pages_high
    if orientation:
        sheet.page_setup.orientation = orientation


def page(
    sheet: Worksheet, area: str, *, units: str = "us", landscape: bool = False, repeat_rows: str = "", foot: str = ""
) -> None:
    """Set a sheet up for paper: one page wide, the area printed, headings repeated, page numbers at the foot."""
    sheet.print_area = area
    fit_width(sheet, 0, "landscape" if landscape else "portrait")
    sheet.page_setup.paperSize = 9 if units == "metric" else 1
    margins = sheet.page_margins
    margins.left = margins.right = 0.6
    margins.top, margins.bottom, margins.header, margins.footer = 0.6, 0.75, 0.3, 0.35
    if repeat_rows:
        sheet.print_title_rows = repeat_rows
    footer = cast(HeaderFooterItem, sheet.oddFooter)
    left, right = footer.left, footer.right
    left.text, right.text = foot.replace("&", "&&"), "Page &P of &N"
    for part in (left, right):
        part.size, part.font, part.color = 8, TYPEFACE, QUIET
    sheet.print_options.horizontalCentered = False
    sheet.sheet_view.showGridLines = False


def page_break(sheet: Worksheet, after_row: int) -> None:
    """Start a new printed page after this row."""
    sheet.row_breaks.append(Break(id=after_row))
