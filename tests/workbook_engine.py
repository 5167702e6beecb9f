"""A spreadsheet engine for tests: IronCalc evaluates the native formulas, our worksheet functions run in Python.

Each call is replaced by a cell of a sheet of its own; the engine is asked for its arguments, the function answers, and
this goes on until nothing changes any more. The engine knows nothing of the evaluator that the workbook is stored with.
"""

import re
from collections.abc import Iterator
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import ironcalc
from openpyxl import Workbook, load_workbook
from openpyxl.cell.cell import MergedCell
from openpyxl.formula import Tokenizer
from openpyxl.utils import range_boundaries

from basecalc.formulas.functions import FUNCTIONS

CALLS = "_CALLS"
OURS = {function.name: function for function in FUNCTIONS}
A1 = re.compile(r"\$?[A-Z]{1,3}\$?\d+(:\$?[A-Z]{1,3}\$?\d+)?$")
ERROR = re.compile(r"#(NULL!|DIV/0!|VALUE!|REF!|NAME\?|NUM!|N/A|ERROR!|N/IMPL!|CIRC!|SPILL!)$")
MOST_PASSES = 30


def rewritten(formula: str, sheet: str, calls: list[tuple[str, list[str]]]) -> str:
    """Return the formula with each call replaced by its cell; the calls are added to the list."""
    frames: list[tuple[str, list[str]]] = [("", [""])]
    for token in Tokenizer(formula).items:
        if token.type in ("FUNC", "PAREN") and token.subtype == "OPEN":
            frames.append((token.value, [""]))
        elif token.type in ("FUNC", "PAREN"):
            opener, arguments = frames.pop()
            name = opener[:-1].upper()
            if name in OURS:
                calls.append((name, [] if arguments == [""] else [text.strip() for text in arguments]))
                text = f"{CALLS}!$A${len(calls)}"
            else:
                text = f"{opener}{','.join(arguments)})"
            frames[-1][1][-1] += text
        elif token.type == "SEP" and frames[-1][0]:
            frames[-1][1].append("")
        elif token.type == "OPERAND" and token.subtype == "RANGE" and A1.match(token.value):
            frames[-1][1][-1] += f"'{sheet}'!{token.value}"  # arguments move to another sheet
        else:
            frames[-1][1][-1] += token.value
    return f"={frames[0][1][0]}"


def loaded(book: Workbook) -> Any:
    """Return the book as the engine holds it; it cannot read notes, which no formula depends on."""
    for sheet in book:
        for cell in sheet._cells.values():
            if getattr(cell, "comment", None):
                cell.comment = None
    with TemporaryDirectory() as folder:
        file = Path(folder) / "book.xlsx"
        book.save(file)
        return ironcalc.load_from_xlsx(str(file), "en", "UTC", "en")


class Engine:
    """An estimating workbook that recalculates; cells are changed and read by sheet and cell, or by name."""

    def __init__(self, path: Path) -> None:
        book = load_workbook(path)
        self.model = loaded(book)
        self.sheets = {title: place for place, title in enumerate(book.sheetnames)}
        self.names = {name: str(made.attr_text) for name, made in book.defined_names.items()}
        self._empty(book)
        self.calls: list[tuple[str, list[str]]] = []
        self.where: list[tuple[str, str]] = []  # the cell of each call
        self.model.add_sheet(CALLS)
        self.side = len(self.sheets)
        for sheet in book:
            for row in sheet.iter_rows():
                for cell in row:
                    if cell.data_type == "f" and any(f"{name}(" in str(cell.value) for name in OURS):
                        made = rewritten(str(cell.value), sheet.title, self.calls)
                        self.where += [(sheet.title, cell.coordinate)] * (len(self.calls) - len(self.where))
                        self.model.set_user_input(self.sheets[sheet.title], cell.row, cell.column, made)
        self.slots: dict[str, int] = {}
        for _, arguments in self.calls:
            for text in arguments:
                if self._span(text) is None and text not in self.slots:
                    self.slots[text] = len(self.slots) + 1
                    self.model.set_user_input(self.side, self.slots[text], 3, f"={text}")
        self.seen: list[Any] = [None] * len(self.calls)
        self.forced: dict[int, Any] = {}  # what calls answer, by their place, whatever they are asked
        self.recalculate()

    def _empty(self, book: Workbook) -> None:
        """Empty the cells that have a look only, which the engine takes for noughts."""
        for sheet in book:
            for (row, column), cell in sheet._cells.items():
                if cell.value is None and not isinstance(cell, MergedCell):
                    self.model.set_user_input(self.sheets[sheet.title], row, column, "")

    def _span(self, text: str) -> tuple[int, int, int, int, int] | None:
        """Return sheet and corners of an argument that is a range or the name of one."""
        text = self.names.get(text, text)
        on, mark, cells = text.rpartition("!")
        title = on.strip("'")
        if not mark or title not in self.sheets or not A1.match(cells):
            return None
        left, top, right, bottom = range_boundaries(cells.replace("$", ""))
        return self.sheets[title], int(top), int(left), int(bottom), int(right)

    def answer_of(self, place: int) -> Any:
        """Return what a call answers, by its place in the list of calls."""
        return self.model.get_cell_value(self.side, place + 1, 1)

    def set(self, sheet: str, cell: str, value: Any) -> None:
        """Type something into a cell, or empty it; a text that begins with = is typed as a formula."""
        left, top, _, _ = range_boundaries(cell)
        typed = "" if value is None else str(value)
        if isinstance(value, str) and value and not value.startswith("="):
            self.model.set_user_input(self.sheets[sheet], top, left, typed)
            return
        self.model.set_user_input(self.sheets[sheet], top, left, typed)

    def cell(self, sheet: str, cell: str) -> Any:
        """Return what a cell shows."""
        left, top, _, _ = range_boundaries(cell)
        return self.model.get_cell_value(self.sheets[sheet], top, left)

    def named(self, name: str) -> Any:
        """Return what a named cell shows."""
        sheet, _, cell = self.names[name].rpartition("!")
        return self.cell(sheet.strip("'"), cell.replace("$", ""))

    def recalculate(self) -> None:
        """Evaluate until no call changes any more."""
        for _ in range(MOST_PASSES):
            self.model.evaluate()
            ranges: dict[tuple[int, int, int, int, int], Any] = {}
            changed = False
            for place, (name, arguments) in enumerate(self.calls):
                given = [self._argument(text, ranges) for text in arguments]
                if place in self.forced:
                    given = [self.forced[place]]
                if given == self.seen[place]:
                    continue
                self.seen[place], changed = given, True
                self._answer(place + 1, self.forced[place] if place in self.forced else OURS[name](*given))
            if not changed:
                return
        raise AssertionError(f"not settled after {MOST_PASSES} passes")

    def _argument(self, text: str, ranges: dict[tuple[int, int, int, int, int], Any]) -> Any:
        span = self._span(text)
        if span is None:
            return self._handed(self.model.get_cell_value(self.side, self.slots[text], 3))
        if span not in ranges:
            sheet, top, left, bottom, right = span
            if (top, left) == (bottom, right):
                ranges[span] = self._handed(self.model.get_cell_value(sheet, top, left))
            else:
                ranges[span] = tuple(self._row(sheet, row, left, right) for row in range(top, bottom + 1))
        return ranges[span]

    def _row(self, sheet: int, row: int, left: int, right: int) -> tuple[Any, ...]:
        return tuple(self._handed(self.model.get_cell_value(sheet, row, column)) for column in range(left, right + 1))

    @staticmethod
    def _handed(value: Any) -> Any:
        return None if value == "" else value

    def _answer(self, row: int, value: Any) -> None:
        assert not isinstance(value, list), "a call in a cell of its own has one answer"
        if isinstance(value, float):
            self.model.update_cell_with_number(self.side, row, 1, value)
        else:
            self.model.update_cell_with_text(self.side, row, 1, value)

    def values(self, book_values: dict[str, dict[str, Any]]) -> Iterator[tuple[str, str, Any, Any]]:
        """Yield sheet, cell, stored value and the engine's own for each formula."""
        for sheet, cells in book_values.items():
            for cell, stored in cells.items():
                yield sheet, cell, stored, self.cell(sheet, cell)
