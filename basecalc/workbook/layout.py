"""Rows that are as high as their text and pages that break between blocks, which openpyxl leaves to the reader."""

from collections.abc import Sequence
from copy import copy
from functools import lru_cache
from math import inf
from typing import Any, Final, cast

from openpyxl.cell.cell import Cell
from openpyxl.styles import Side
from openpyxl.utils import get_column_letter

from basecalc.workbook import style
from basecalc.workbook.dress import alter, merge, seen
from basecalc.workbook.values import Value, ValuedBook

# Widths of the house typeface's characters in thousandths of its size [practice: read off the metric-alike fonts].
_NARROW: Final = dict.fromkeys("ijl'|", 222) | dict.fromkeys(" .,:;!/\\ftI[]", 278) | dict.fromkeys("()r-`", 333)
_MIDDLE: Final = dict.fromkeys("cksvxyzJ", 500) | dict.fromkeys('\N{BULLET}"*', 355)
_WIDE: Final = (
    dict.fromkeys("FTZL", 611) | dict.fromkeys("ABEKPSVXY&", 667) | dict.fromkeys("CDHNRUw", 722)
    | dict.fromkeys("GOQ", 778) | dict.fromkeys("mMW%@\N{EM DASH}", 920)
)  # fmt: skip
_ADVANCE: Final = _NARROW | _MIDDLE | _WIDE
_OTHER: Final = 560
_HAIR: Final = Side("thin", color=style.HAIR)
_COLUMN_PT: Final = 5.25  # points per character of column width
_PADDING_PT: Final = 5.0
_LINE: Final = 1.24  # height of a line as a share of the type size
_SLACK: Final = 1.01  # programs differ a little in how wide they set the same words


@lru_cache(maxsize=10_000)
def text_width(text: str, size: float, *, bold: bool = False) -> float:
    """Return how wide a text is when set on one line [pt]."""
    total = sum(1000 if ord(letter) > 0x2E80 else _ADVANCE.get(letter, _OTHER) for letter in text)
    return total * size / 1000 * _SLACK * (1.07 if bold else 1.0)


def line_count(text: str, width: float, size: float, *, bold: bool = False) -> int:
    r"""Return how many lines a text takes when it is broken at spaces.

    Examples
    --------
    >>> line_count("one two three", 400, 10), line_count("one two three", 30, 10), line_count("a\nb", 400, 10)
    (1, 3, 2)
    """
    lines = 0
    space = text_width(" ", size, bold=bold)
    for paragraph in text.split("\n"):
        lines += 1
        used = 0.0
        for word in paragraph.split(" "):
            long = text_width(word, size, bold=bold)
            if used and used + space + long > width:
                lines += 1
                used = 0.0
            used += long + (space if used else 0.0)
            while used > width:  # a word longer than the line is broken anywhere
                lines += 1
                used -= width
    return lines


class Flow:
    """Writes a sheet from the top down: cells of a row first, then the row's height, then the next row."""

    def __init__(self, book: ValuedBook, title: str, widths: tuple[float, ...], page_height: float = 0.0) -> None:
        self.book = book
        self.sheet = book.sheet(title)
        self.widths = widths
        self.row = 1
        self.page_height = page_height
        self._needed = 0.0
        self._tops = {1: 0.0}
        self._page_top = 0.0
        style.widths(self.sheet, *widths)

    def put(
        self, first: int, last: int, value: Any, look: style.Look = "text", format: str = "", *, across: str = "",
        lines: int = 0,
    ) -> Cell:  # fmt: skip
        """Write a value over some columns of the current row and return its cell."""
        cell = style.put(self.sheet, self.row, first, value, look, format, across=across)
        self._dress(cell, look)
        self._span(first, last)
        text = value if isinstance(value, str) else ""
        self._grow(cell, text, first, last, lines)
        return cell

    def formula(
        self, first: int, last: int, text: str, value: Value, look: style.Look = "number", format: str = "", *,
        across: str = "",
    ) -> str:  # fmt: skip
        """Write a formula with its value over some columns of the current row and return the cell's address."""
        cell = self.book.formula(self.sheet, self.row, first, text, value, look, format, across=across)
        self._dress(cell, look)
        self._span(first, last)
        self._grow(cell, value if isinstance(value, str) else "", first, last, 1)
        return cell.coordinate

    def next(self, height: float = 0.0, *, rule: bool = False) -> int:
        """Close the current row, at the height its text needs or a greater one [pt]; return the new row's number.

        With a rule a hair line is drawn below the row.
        """
        height = max(self._needed, height, 3.0)
        if rule:
            for column in range(1, len(self.widths) + 1):
                _rule(cast(Cell, self.sheet.cell(self.row, column)))
            height += 2.5
        height = round(height, 1)
        self.sheet.row_dimensions[self.row].height = height
        self._tops[self.row + 1] = self._tops[self.row] + height
        self.row += 1
        self._needed = 0.0
        return self.row

    def gap(self, height: float = 8.0) -> None:
        """Leave a blank row [pt]."""
        self.next(height)

    def heading(self, text: str, below: float = 4.0) -> int:
        """Write the heading of a section over the whole width and return the row a new page may start with.

        Below it a gap is left [pt]; none, where a table follows.
        """
        start = self.row
        self.gap(9)
        self.put(1, len(self.widths), text, "heading")
        self.next(20)
        if below:
            self.gap(below)
        return start

    def room(self, rows: int, height: float) -> int:
        """Leave rows of equal height for a picture and return the first of them."""
        first = self.row
        for _ in range(rows):
            self.next(height / rows)
        return first

    @property
    def height(self) -> float:
        """Height of all rows so far [pt]."""
        return self._tops[self.row]

    @property
    def left(self) -> float:
        """Height left on the current page [pt]; without limit where the sheet has no pages."""
        return self.page_height - (self._tops[self.row] - self._page_top) if self.page_height else inf

    @property
    def pages(self) -> int:
        """Printed pages so far."""
        return len(self.sheet.row_breaks.brk) + 1

    def keep(self, first_row: int) -> bool:
        """Start a new page before this row if what was written from it on does not fit the page; say whether."""
        if not self.page_height or self._tops[self.row] - self._page_top <= self.page_height:
            return False
        if first_row > 1 and self._tops[first_row] > self._page_top:
            style.page_break(self.sheet, first_row - 1)
            self._page_top = self._tops[first_row]
            return True
        return False

    @property
    def width(self) -> float:
        """Width of the whole sheet [pt]."""
        return sum(self.widths) * _COLUMN_PT

    def width_of(self, first: int, last: int) -> float:
        """Width of some columns [pt]."""
        return sum(self.widths[first - 1 : last]) * _COLUMN_PT

    @property
    def area(self) -> str:
        """The range written so far, for the print area."""
        return f"A1:{get_column_letter(len(self.widths))}{self.row - 1}"

    @staticmethod
    def _dress(cell: Cell, look: style.Look) -> None:
        """Keep numbers off the text at their right, and text off the bar at its left."""
        if seen(cell).across == "right":
            style.align(cell, indent=1)
        elif look in ("good", "caution"):
            style.align(cell, across="left", indent=1)

    def _span(self, first: int, last: int) -> None:
        if last > first:
            merge(self.sheet, self.row, first, last)

    def _grow(self, cell: Cell, text: str, first: int, last: int, lines: int) -> None:
        look = seen(cell)
        if text and look.wrap:
            room = self.width_of(first, last) - _PADDING_PT - 7.0 * look.indent
            lines = max(lines, line_count(text, room, look.size, bold=look.bold))
        self._needed = max(self._needed, max(lines, 1) * look.size * _LINE + 3.5)


def _rule(cell: Cell) -> None:
    def change() -> None:
        kept: Any = copy(cell.border)
        kept.bottom = _HAIR
        cell.border = kept
        style.align(cell, up="center")

    alter(cell, "rule", change)


COUNTS: Final = "=IF(AND(ISNUMBER({0}),ISNUMBER({1})),{2},NA())"  # a refusal ends in #N/A, never in a smaller total


def columns(flow: Flow, *titles: str, right: Sequence[int] = ()) -> int:
    """Write a row of column headings and return its row."""
    row = flow.row
    for place, title in enumerate(titles, 1):
        flow.put(place, place, title, "column", across="right" if place in right else "")
    flow.next()
    return row
