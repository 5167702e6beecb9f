"""Tables of formulas on locked sheets: each column is named once, and formulas call columns by their names.

In a formula ``[key]`` is the cell of that column in the same row, ``[^key]`` that of the row above, ``[key:]`` the whole
column, ``[block.key]`` and ``[block.key:]`` those of another table (the one cell of a list of values), ``[#]`` the number
of the row.
"""

import re
from collections.abc import Sequence
from typing import Any, Final

from openpyxl.styles import Alignment, Border, Font, PatternFill, Protection, Side
from openpyxl.styles.cell_style import StyleArray
from openpyxl.utils import get_column_letter
from openpyxl.workbook import Workbook
from openpyxl.worksheet.worksheet import Worksheet

FACE: Final = "Arial"
INK, BAND, ANSWER_HEAD, PALE, ANSWER, INPUT = "1F2933", "17414F", "3D6B78", "E9EFF0", "DCE8EA", "FFFFFF"
NEEDED, LINE, BAD, LINK, GOOD = "FFF1C2", "9AA8AD", "8A1C1C", "1D4E89", "1E5631"
_NAMED: Final = re.compile(r"\[(\^?(?:\w+\.)?(?:\w+|#):?)\]")
_THIN: Final = Side("thin", color=LINE)
_BOX: Final = Border(_THIN, _THIN, _THIN, _THIN)
Formula = Any  # a value, a formula, a list of values, or a function that gives what each row holds


class Sheets:
    """A workbook under construction, and its tables of formulas by name."""

    def __init__(self, book: Workbook, units: str) -> None:
        self.book, self.units = book, units
        self.blocks: dict[str, Block] = {}
        self._looks: dict[tuple[Any, ...], Any] = {}
        self._parts: dict[str, list[str]] = {}
        self._places: dict[tuple[str, str], tuple[str, int | None]] = {}

    def sheet(self, title: str) -> Worksheet:
        """Return the sheet of that title, added at the end where it is not there yet."""
        if title not in self.book.sheetnames:
            self.book.create_sheet(title)
        return self.book[title]

    def put(
        self, sheet: Worksheet, row: int, column: int, value: Any, *, bold: bool = False, color: str = INK,
        back: str = "", size: float = 9, form: str = "", unlocked: bool = False, box: bool = False, across: str = "left",
        wrap: bool = False, up: str = "center",
    ) -> Any:  # fmt: skip
        """Write a cell with its look, and return it."""
        cell: Any = sheet.cell(row, column)
        if value is not None:
            cell.value = value
            if cell.data_type == "f" and (form == "@" or value[0] != "="):
                cell.data_type = "s"
        key = (bold, color, back, size, form, unlocked, box, across, wrap, up)
        if key not in self._looks:
            cell.font = Font(name=FACE, size=size, bold=bold, color=color)
            cell.fill = PatternFill("solid", start_color=back) if back else PatternFill()
            cell.border = _BOX if box else Border()
            cell.number_format = form or "General"
            cell.protection = Protection(locked=not unlocked)
            cell.alignment = Alignment(horizontal=across, vertical=up, wrap_text=wrap)
            self._looks[key] = StyleArray(cell._style)
        else:
            cell._style = StyleArray(self._looks[key])
        return cell

    def write(self) -> None:
        """Write every table; those that were given no column stand side by side on their sheet."""
        free: dict[str, int] = {}
        for block in self.blocks.values():
            if not block.left:
                block.left = free.get(block.sheet, 1)
                free[block.sheet] = block.left + len(block.columns) + 1
        for block in self.blocks.values():
            block.write()

    def read(self, formula: str, own: "Block", row: int) -> str:
        """Return a formula with the names of columns replaced by cells, as it is in a row of a table."""
        parts = self._parts.get(formula)
        if parts is None:
            parts = self._parts[formula] = _NAMED.split(formula)
        made = list(parts)
        for at in range(1, len(parts), 2):
            place, top = self._place(parts[at], own)
            made[at] = place if top is None else f"{place}{top + row}"
        return "".join(made)

    def _place(self, name: str, own: "Block") -> tuple[str, int | None]:
        """Return what a name in brackets means, and where it has a row of its own the row above the first."""
        found = self._places.get((name, own.name))
        if found is None:
            block, _, key = name.removesuffix(":").removeprefix("^").rpartition(".")
            table = self.blocks[block] if block else own
            if key == "#":
                found = "", 0
            elif name.endswith(":"):
                found = table.range(key, own.sheet), None
            elif table.rows is None:
                found = table.cell(key, 1, own.sheet), None
            else:
                found = table.cell(key, 0, own.sheet).removesuffix(str(table.top)), table.top - name.startswith("^")
            self._places[name, own.name] = found
        return found


class Block:
    """A table of formulas: a name, its sheet, the row of its headings, and how many rows it has.

    A list of values (`rows` is None) goes down the page instead: label and value. Nothing is written before
    `Sheets.write`, so that tables may call each other whatever their order.
    """

    def __init__(
        self, sheets: Sheets, name: str, sheet: str, top: int, rows: int | None, title: str, left: int = 1
    ) -> None:
        self.sheets, self.name, self.sheet, self.top, self.rows, self.left = sheets, name, sheet, top, rows, left
        self.title = title
        self.columns: dict[str, tuple[int, str, Formula, str]] = {}
        sheets.blocks[name] = self
        sheets.sheet(sheet)

    @property
    def count(self) -> int:
        """How many rows it has."""
        return self.rows or 0

    def _prefix(self, seen_from: str) -> str:
        if seen_from == self.sheet:
            return ""
        return f"{self.sheet}!" if self.sheet.isalnum() else f"'{self.sheet}'!"

    def cell(self, key: str, row: int, seen_from: str = "") -> str:
        """Return the cell of a column in a row, counted from 1."""
        place = self.columns[key][0]
        if self.rows is None:
            return f"{self._prefix(seen_from)}${get_column_letter(self.left + 1)}${self.top + place + 1}"
        return f"{self._prefix(seen_from)}${get_column_letter(self.left + place)}{self.top + row}"

    def range(self, key: str, seen_from: str = "") -> str:
        """Return the whole column."""
        if self.rows is None:
            raise KeyError(f"{self.name}.{key} is one value")
        column = get_column_letter(self.left + self.columns[key][0])
        return f"{self._prefix(seen_from)}${column}${self.top + 1}:${column}${self.top + self.rows}"

    def add(self, key: str, heading: str, formula: Formula, form: str = "") -> None:
        """Add a column (or a value), the same formula in every row, or what each row holds."""
        if key in self.columns:
            raise KeyError(f"{self.name}.{key} is there twice")
        self.columns[key] = (len(self.columns), heading, formula, form)

    def write(self) -> None:
        """Write the table to its sheet."""
        put, page = self.sheets.put, self.sheets.sheet(self.sheet)
        put(page, self.top - 1, self.left, self.title, bold=True, size=11, color=BAND)
        if self.rows is not None:
            page.row_dimensions[self.top].height = 36
        for key, (place, heading, formula, form) in self.columns.items():
            if self.rows is None:
                put(page, self.top + place + 1, self.left, heading)
                value = self._written(key, formula, 1)
                put(page, self.top + place + 1, self.left + 1, value, form=form, across="right")
                continue
            at = self.left + place
            put(page, self.top, at, heading, bold=True, color="FFFFFF", back=BAND, wrap=True, across="center")
            for row in range(1, self.rows + 1):
                put(page, self.top + row, at, self._written(key, formula, row), form=form)

    def _written(self, key: str, formula: Formula, row: int) -> Any:
        value = formula(row) if callable(formula) else formula[row - 1] if isinstance(formula, list) else formula
        if not (isinstance(value, str) and value.startswith("=")):
            return value
        try:
            return self.sheets.read(value, self, row)
        except KeyError as unknown:
            raise KeyError(f"{self.name}.{key}: there is no {unknown}") from None


def first_of(cases: Sequence[tuple[str, str]], otherwise: str = '""') -> str:
    """Return a formula that gives what goes with the first test that holds."""
    for test, value in reversed(cases):
        otherwise = f"IF({test},{value},{otherwise})"
    return f"={otherwise}"
