"""A printed page as a sheet: 24 equal columns, rows with a height of their own, fitted to the paper whatever the font.

Column widths hang on the Normal style's font, so that is the page's own. Merged cells do not grow by themselves: the
height of a row is counted from its words, so generously that a wider face stays inside.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from functools import cache
from math import ceil
from typing import Any, Final, cast
from zipfile import ZIP_STORED

from openpyxl.cell.cell import Cell
from openpyxl.styles import Alignment, Border, Font, PatternFill, Side
from openpyxl.utils import get_column_letter
from openpyxl.utils.indexed_list import IndexedList
from openpyxl.workbook import Workbook

from basecalc.render.drawings import Drawing, Picture, add_drawings
from basecalc.workbook.new_file import workbook_file
from basecalc.workbook.style import dress, fit_width, put_text, safe_text
from basecalc.workbook.values import Value, store_values

FACE: Final = "Arial"
COLUMNS: Final = 24
WIDE: Final = 32  # columns of a page that lies across
INK: Final = "24443B"
GRAY: Final = "555555"
_RULE: Final = "8A968F"
_COLUMN: Final = 4.14  # characters
COLUMN_IN: Final = 0.302  # what such a column measures in print
# Widths of letters as a share of their size, the others about 0.54, capitals 0.72 [practice: read off Arial].
_WIDTHS: Final = dict.fromkeys(" ijltfrI.,:;'|!()[]-/", 0.29) | dict.fromkeys("mwMW%@", 0.86)
_SLACK: Final = 1.03  # programs and faces differ in how wide they set the same words

MONEY: Final = '"$"#,##0.00'
ADDED: Final = '"+$"#,##0.00;"-$"#,##0.00;"$"0.00'


@dataclass(frozen=True, slots=True)
class Formula:
    """A formula of our own, never a user's text, with the value it gives."""

    text: str
    value: Value


CellValue = str | int | float | Decimal | date | Formula | None


@dataclass(frozen=True, slots=True)
class Style:
    """How a cell looks; `top`, `bottom` and `box` name a line, `high` counts the rows it spans."""

    size: float = 9.0
    bold: bool = False
    across: str = "left"
    up: str = "center"
    color: str = "000000"
    fill: str = ""
    top: str = ""
    bottom: str = ""
    box: str = ""
    high: int = 1
    format: str = ""
    indent: int = 0


Look = str | Style  # in words, such as "bold 12 right": see `look`
Put = tuple[int, int, CellValue, Look]  # first and last column, what it says, how it looks
_WORDS: Final[dict[str, dict[str, Any]]] = {
    "bold": {"bold": True}, "left": {"across": "left"}, "right": {"across": "right"}, "center": {"across": "center"},
    "high": {"up": "top"},
    "low": {"up": "bottom"}, "gray": {"color": GRAY}, "ink": {"color": INK},
    "black": {"fill": "000000", "color": "FFFFFF", "bold": True}, "loud": {"fill": "FBEDE3"},
    "money": {"format": MONEY}, "added": {"format": ADDED}, "dash": {"format": '"$"#,##0.00;-"$"#,##0.00;"-"'},
    "one": {"format": "#,##0.0"}, "two": {"format": "#,##0.00"}, "three": {"format": "0.000"}, "whole": {"format": "0"},
    "percent": {"format": "0.0%"},
    "cbr": {"format": "[<10]0.0#;0.0"}, **{line: {"bottom": line} for line in ("hair", "thin", "medium")},
    **{f"top-{line}": {"top": line} for line in ("thin", "medium")},
    **{f"box-{line}": {"box": line} for line in ("thin", "medium")},
    **{f"in{count}": {"indent": count} for count in (1, 2)}
}


@cache
def look(words: Look) -> Style:
    """Return a look said in words: a number is the size, hair, thin and medium a line below, high up in its row.

    Examples
    --------
    >>> look("bold 12 right").size, look("hair money").format
    (12.0, '"$"#,##0.00')
    """
    if isinstance(words, Style):
        return words
    fields: dict[str, Any] = {}
    for word in words.split():
        fields |= _WORDS[word] if word in _WORDS else {"size": float(word)}
    return Style(**fields)


# openpyxl takes long to make a look and to find it again; these few are made once.
@cache
def _font(size: float, bold: bool, color: str) -> Font:
    return Font(name=FACE, size=size, bold=bold, color=color)


@cache
def _alignment(across: str, up: str, indent: int) -> Alignment:
    ways: dict[str, Any] = {"horizontal": across, "vertical": up}
    return Alignment(wrap_text=True, indent=indent, **ways)


@cache
def _border(top: str, bottom: str, left: str, right: str, box: str) -> Border:
    def line(kind: Any) -> Side:
        return Side(kind or None, color=_RULE if kind in ("thin", "hair") and not box else "000000")

    return Border(top=line(top), bottom=line(bottom), left=line(left), right=line(right))


class Book:
    """A workbook of printed pages; each formula is entered together with the value it gives."""

    def __init__(self, units: str) -> None:
        self.units = units
        self.workbook = Workbook()
        for name in list(self.workbook.sheetnames):
            del self.workbook[name]
        looks: Any = self.workbook  # openpyxl has no public way to the default font
        looks._fonts = IndexedList([Font(name=FACE, size=10)])
        looks._named_styles["Normal"].font = looks._fonts[0]
        self.spans: dict[str, list[str]] = {}  # merged cells, by sheet
        self._values: dict[str, dict[str, Value]] = {}
        self._drawings: dict[str, list[tuple[int, int, Drawing | Picture]]] = {}

    def page(
        self, title: str, foot: str, right: str = "", *, margin: float = 0.6, high: int = 1, wide: bool = False,
        widths: Sequence[float] = (),
    ) -> "Page":  # fmt: skip
        """Add a page; `high` is the most printed pages it may take, 0 as many as it needs; `wide` lays it across.

        A page that is one long list has columns of its own `widths` [characters], so that it can be sorted.
        """
        return Page(self, title, foot, right, margin, high, wide, widths)

    def hidden(self, title: str, words: str, rows: Sequence[Sequence[str]]) -> None:
        """Add a sheet of plain text that only the program reads: hidden, never printed, its words for who finds it."""
        sheet = self.workbook.create_sheet(title)
        sheet.sheet_state = "hidden"
        sheet.column_dimensions["A"].width, sheet.column_dimensions["B"].width = 26.0, 70.0
        put_text(sheet["A1"], words)
        for row, line in enumerate(rows, 3):
            for column, text in enumerate(line, 1):
                if text:
                    put_text(cast(Cell, sheet.cell(row, column)), text).number_format = "@"

    def value(self, sheet: str, cell: str, value: Value) -> None:
        """Keep the value that a formula gives."""
        self._values.setdefault(sheet, {})[cell] = value

    def draw(self, sheet: str, column: int, row: int, drawing: Drawing | Picture) -> None:
        """Keep a drawing with the cell that its upper left corner lies at, counted from 1."""
        self._drawings.setdefault(sheet, []).append((column - 1, row - 1, drawing))

    def to_bytes(self, title: str, company: str, subject: str) -> bytes:
        """Return the finished .xlsx file, with properties that say only what they should."""
        properties = self.workbook.properties
        properties.title, properties.subject = safe_text(title), safe_text(subject)
        properties.creator = properties.lastModifiedBy = safe_text(company)
        data = store_values(workbook_file(self.workbook, ZIP_STORED), self._values, self.spans)
        return add_drawings(data, self.workbook.sheetnames, self._drawings)


class Page:
    """A sheet that prints on one page unless it may take more; rows are written from the top."""

    def __init__(
        self, book: Book, title: str, foot: str, right: str, margin: float, high: int, wide: bool,
        widths: Sequence[float],
    ) -> None:  # fmt: skip
        self.book, self.row, self.used, self._high = book, 1, 0.0, high
        self.sheet = book.workbook.create_sheet(title)
        sheet = self.sheet
        self.widths = widths or (_COLUMN,) * (WIDE if wide else COLUMNS)
        self.columns = len(self.widths)
        for column, width in enumerate(self.widths, 1):
            sheet.column_dimensions[get_column_letter(column)].width = width
        sheet.sheet_view.showGridLines = False
        fit_width(sheet, high, "landscape" if wide else "portrait")
        sheet.page_setup.paperSize = 9 if book.units == "metric" else 1
        margins = sheet.page_margins
        margins.left = margins.right = margin
        margins.top, margins.bottom, margins.header, margins.footer = 0.45, 0.6, 0.3, 0.3
        sheet.print_options.horizontalCentered = True
        footer: Any = sheet.oddFooter
        for part, words in ((footer.left, foot), (footer.right, right)):
            part.text, part.size, part.font = (
                words.replace("&", "&&").replace("&&P", "&P").replace("&&N", "&N"), 8, FACE
            )

    def put(self, first: int, last: int, value: CellValue, words: Look = "") -> Cell:
        """Write a span of the row, or of several rows, and return its first cell."""
        sheet, row, style = self.sheet, self.row, look(words)
        above, below, low = style.top or style.box, style.bottom or style.box, row + style.high - 1
        for at in range(row, low + 1) if above or below or style.fill else ():
            for column in range(first, last + 1):
                sides = (
                    above if at == row else "", below if at == low else "", style.box if column == first else "",
                    style.box if column == last else ""
                )  # fmt: skip
                self._dress(cast(Cell, sheet.cell(at, column)), style, sides)
        cell = cast(Cell, sheet.cell(row, first))
        if not (above or below or style.fill):
            self._dress(cell, style, ("", "", "", ""))
        if isinstance(value, str):
            put_text(cell, value)
        elif isinstance(value, Formula):
            cell.value = value.text
            self.book.value(sheet.title, cell.coordinate, value.value)
        else:
            cell.value = value
        if last > first or style.high > 1:
            span = f"{cell.coordinate}:{get_column_letter(last)}{row + style.high - 1}"
            self.book.spans.setdefault(sheet.title, []).append(span)
        return cell

    @staticmethod
    def _dress(cell: Cell, style: Style, sides: tuple[str, str, str, str]) -> None:
        def change() -> None:
            cell.border = _border(*sides, style.box)
            cell.font = _font(style.size, style.bold, style.color)
            cell.alignment = _alignment(style.across, style.up, style.indent)
            if style.fill:
                cell.fill = PatternFill("solid", fgColor=style.fill)
            if style.format:
                cell.number_format = style.format

        dress(cell, (style, sides), change)

    def next(self, height: float) -> None:
        """End the row."""
        self.sheet.row_dimensions[self.row].height = height
        self.used += height
        self.row += 1

    def write(self, height: float | None, *cells: Put) -> int:
        """Write a row of spans and end it; without a height it is as high as its words need. Return the row."""
        row = self.row
        for first, last, value, style in cells:
            self.put(first, last, value, style)
        self.next(height or max(need(first, last, value, style, self.widths) for first, last, value, style in cells))
        return row

    def line(self, words: CellValue, style: Look = "high", height: float | None = None) -> None:
        """Write words over the width of the page."""
        self.write(height, (1, self.columns, words, style))

    def said(self, label: str, words: str, first: int = 6, look: Look = "high") -> None:
        """Write a labeled paragraph; the words begin in a column, and their look is the label's but for bold."""
        bold = look.replace("loud", "") if isinstance(look, str) else ""
        self.write(None, (1, first - 1, label, f"bold {bold}"), (first, self.columns, words, look))

    def head(self, *titles: tuple[int, int, str], gap: float = 7.0) -> None:
        """Write headings of sections side by side."""
        if gap:
            self.next(gap)
        self.write(16, *[(first, last, words, "bold 10 ink medium") for first, last, words in titles])
        self.next(2.5)

    def tick(self, column: int) -> None:
        """Draw a box to mark."""
        self.put(column, column, None, "box-medium")

    def draw(self, column: int, drawing: Drawing | Picture) -> None:
        """Place a drawing with its upper left corner at a column of this row."""
        self.book.draw(self.sheet.title, column, self.row, drawing)

    def close(self, repeat: str = "") -> None:
        """End the page: what is printed, headings that repeat; a wide page lies whichever way prints larger."""
        self.sheet.print_area = f"A1:{get_column_letter(self.columns)}{self.row - 1}"
        if self.widths == (_COLUMN,) * WIDE:
            paper, tall = (8.27, 11.69) if self.book.units == "metric" else (8.5, 11.0)
            wide, high = WIDE * COLUMN_IN, self.used / 72 / max(self._high, 1)
            up, across = (
                min(1.0, (side - 1.2) / wide, (end - 1.05) / high) for side, end in ((paper, tall), (tall, paper))
            )
            self.sheet.page_setup.orientation = "portrait" if up > across else "landscape"
        if repeat:
            self.sheet.print_title_rows = repeat


def quantity_format(unit: str) -> str:
    """Return the number format of a quantity by its unit: whole loads, two places for the rest; a dash for none."""
    return '#,##0;-#,##0;"-"' if unit in ("load", "roll", "bag") else '#,##0.00;-#,##0.00;"-"'


def need(first: int, last: int, value: Any, words: Look = "", widths: Sequence[float] = (_COLUMN,) * WIDE) -> float:
    """Return the height [pt] that wrapped words need in a span."""
    style = look(words)
    said = value.value if isinstance(value, Formula) else value
    if not isinstance(said, str):
        return style.size * 1.27 + 3
    room = sum(widths[first - 1 : last]) / _COLUMN * COLUMN_IN * 72 - 6 * style.indent
    letters = room / (style.size * _SLACK * (1.06 if style.bold else 1.0))
    return sum(_lines(part, letters) for part in said.split("\n")) * style.size * 1.27 + 3


def fitted(first: int, last: int, words: str, sizes: Sequence[float]) -> float:
    """Return the greatest of some sizes [pt], the greatest first, at which bold words take one line of a span."""
    fits = (size for size in sizes if need(first, last, words, f"bold {size}") <= size * 1.27 + 3)
    return next(fits, sizes[-1])


def _lines(text: str, room: float) -> int:
    """Return how many lines words take, broken at spaces; the room is in sizes of the type."""
    lines, used = 1, 0.0
    for word in text.split(" "):
        wide = sum(_WIDTHS.get(letter, 0.72 if letter.isupper() else 0.54) for letter in word)
        if used and used + wide > room:
            lines, used = lines + 1, 0.0
        lines += ceil(wide / room) - 1 if wide > room else 0
        used += wide + _WIDTHS[" "]
    return lines


Heads = Sequence[tuple[int, int, str, str]]  # first and last column, words, how its cells are aligned


def columns(named: str) -> Heads:
    """Return the columns of a table from their names, each with how many columns of the page it takes, > to the right.

    Examples
    --------
    >>> columns("Item 6|Price 3>")
    [(1, 6, 'Item', 'left'), (7, 9, 'Price', 'right')]
    """
    heads, first = [], 1
    for column in named.split("|"):
        title, _, wide = column.rpartition(" ")
        last = first + int(wide.rstrip(">")) - 1
        heads.append((first, last, title, "right" if wide.endswith(">") else "left"))
        first = last + 1
    return heads


def table(page: Page, heads: Heads | str, rows: Iterable[Sequence[Any]], words: Look = "8.5") -> None:
    """Write a table; a cell is a value or (value, look), a row may end early. Without any title it has no heading."""
    heads = columns(heads) if isinstance(heads, str) else heads
    if any(title for _, _, title, _ in heads):
        page.write(None, *[(a, b, title, f"8 gray thin low {to}") for a, b, title, to in heads])
    for row in rows:
        cells: list[Put] = []
        for (a, b, _, to), value in zip(heads, row, strict=False):
            said, own = value if isinstance(value, tuple) else (value, words)
            cells.append((a, b, said, _in_column(own, to)))
        page.write(None, *cells)


@cache
def _in_column(own: Look, to: str) -> Style:
    column = look(to)
    return replace(look(own), across=column.across, indent=column.indent, bottom="hair", up="top")
