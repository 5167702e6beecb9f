"""The value of every formula of a workbook, worked out in Python, so that it can be stored beside the formula.

Our worksheet functions are called as they are; the native ones are those that our formulas use, in their plain meaning.
"""

from collections.abc import Mapping
from typing import Any, Final

from openpyxl.utils import get_column_letter, range_boundaries
from openpyxl.workbook import Workbook

from basecalc.estimating.language import Call, Place, Sum, Tree, Value, tree
from basecalc.estimating.native import NATIVE, Fault, Lazy, compared, joined, number_of
from basecalc.formulas.functions import FUNCTIONS
from basecalc.workbook.values import Value as Stored

_OURS: Final = {function.name: function for function in FUNCTIONS}
_ARITHMETIC: Final = ("+", "-", "*", "/", "^")


def formula_values(book: Workbook) -> dict[str, dict[str, Stored]]:
    """Return the value of each formula cell, by sheet and cell."""
    values = _Values(book)
    found: dict[str, dict[str, Stored]] = {}
    for sheet in book.worksheets:
        for row in sheet.iter_rows():
            for cell in row:
                if cell.data_type == "f":
                    value = values.cell(sheet.title, int(cell.row or 1), int(cell.column or 1))
                    found.setdefault(sheet.title, {})[cell.coordinate] = 0.0 if value is None else _stored(value)
    return found


def _stored(value: Any) -> Stored:
    return value.text if isinstance(value, Fault) else value


class _Values:
    """Cells of a workbook, worked out when they are first asked for."""

    def __init__(self, book: Workbook) -> None:
        self._sheets = {sheet.title: sheet for sheet in book.worksheets}
        self._names: Mapping[str, str] = {name: str(made.value) for name, made in book.defined_names.items()}
        self._known: dict[tuple[str, int, int], Any] = {}
        self._ranges: dict[str, Any] = {}
        self._open: set[tuple[str, int, int]] = set()

    def cell(self, sheet: str, row: int, column: int) -> Any:
        key = (sheet, row, column)
        if key in self._known:
            return self._known[key]
        if key in self._open:
            raise ValueError(f"{sheet}!{get_column_letter(column)}{row} depends on itself")
        cell = self._sheets[sheet]._cells.get((row, column))
        value: Any = None if cell is None else cell.value
        if cell is not None and cell.data_type == "f":
            self._open.add(key)
            value = self._worked_out(tree(str(value)), sheet)
            self._open.discard(key)
            value = value[0][0] if isinstance(value, list) else value
        elif cell is not None and cell.data_type == "e":
            value = Fault(str(value))
        elif isinstance(value, int) and not isinstance(value, bool):
            value = float(value)
        self._known[key] = value
        return value

    def _row(self, text: str) -> float:
        """Return the row that a place stands in."""
        cells = self._names.get(text, text).rpartition("!")[2]
        return float(range_boundaries(cells.replace("$", ""))[1] or 1)

    def _place(self, text: str, sheet: str) -> Any:
        if text in self._names:
            text = self._names[text]
        known = f"{sheet}|{text}" if "!" not in text else text
        if known in self._ranges:
            return self._ranges[known]
        on, mark, cells = text.rpartition("!")
        title = on.strip("'").replace("''", "'") if mark else sheet
        left, top, right, bottom = range_boundaries(cells.replace("$", ""))
        if (left, top) == (right, bottom):
            return self.cell(title, int(top or 1), int(left or 1))
        made = [
            [self.cell(title, row, column) for column in range(int(left or 1), int(right or 1) + 1)]
            for row in range(int(top or 1), int(bottom or 1) + 1)
        ]
        self._ranges[known] = made
        return made

    def _worked_out(self, node: Tree, sheet: str) -> Any:
        if isinstance(node, Value):
            return node.value
        if isinstance(node, Place):
            return self._place(node.text, sheet)
        if isinstance(node, Sum):
            return self._sum(node, sheet)
        return self._call(node, sheet)

    def _sum(self, node: Sum, sheet: str) -> Any:
        left = self._worked_out(node.left, sheet)
        right = None if node.right is None else self._worked_out(node.right, sheet)
        if isinstance(left, list) or isinstance(right, list):
            return _by_cell(node.operator, left, right)
        return _operated(node.operator, left, right)

    def _call(self, node: Call, sheet: str) -> Any:
        if node.name in _OURS:
            return _ours(node.name, [self._worked_out(argument, sheet) for argument in node.arguments])
        if node.name == "ROW" and isinstance(node.arguments[0], Place):
            return self._row(node.arguments[0].text)
        if node.name not in NATIVE:
            raise ValueError(f"{node.name} is not in the language of our formulas")
        lazy: list[Lazy] = [lambda argument=argument: self._worked_out(argument, sheet) for argument in node.arguments]  # type: ignore[misc]
        return NATIVE[node.name](*lazy)


def _ours(name: str, arguments: list[Any]) -> Any:
    """Return what one of our functions shows; its cells arrive as a spreadsheet program hands them over."""
    for argument in arguments:
        if isinstance(argument, Fault):
            return argument  # LibreOffice does not call with an error; Excel calls, and the answer is a refusal
    given = [
        [[_handed(cell) for cell in row] for row in argument] if isinstance(argument, list) else _handed(argument)
        for argument in arguments
    ]
    return _OURS[name](*given)


def _handed(cell: Any) -> Any:
    return cell.text if isinstance(cell, Fault) else None if cell == "" else cell


def _by_cell(operator: str, left: Any, right: Any) -> Any:
    """Return an operator over two ranges, a single column or cell going with every column of the other."""
    sides = [side if isinstance(side, list) else [[side]] for side in (left, right)]
    height, width = max(len(side) for side in sides), max(len(side[0]) for side in sides)

    def at(side: list[list[Any]], row: int, column: int) -> Any:
        return side[row if len(side) > 1 else 0][column if len(side[0]) > 1 else 0]

    return [
        [_operated(operator, at(sides[0], row, column), at(sides[1], row, column)) for column in range(width)]
        for row in range(height)
    ]


def _operated(operator: str, left: Any, right: Any) -> Any:
    for side in (left, right):
        if isinstance(side, Fault):
            return side
    if operator == "&":
        return joined(left) + joined(right)
    if operator in ("=", "<>", "<", ">", "<=", ">="):
        return compared(operator, left, right)
    first, second = number_of(left), number_of(right)
    for side in (first, second):
        if isinstance(side, Fault):
            return side
    if operator == "-x":
        return -first
    if operator == "+x":
        return first
    if operator == "%":
        return first / 100
    if operator == "/" and second == 0:
        return Fault("#DIV/0!")
    return _arithmetic(operator, first, second)


def _arithmetic(operator: str, first: Any, second: Any) -> float:
    match operator:
        case "+":
            return float(first + second)
        case "-":
            return float(first - second)
        case "*":
            return float(first * second)
        case "/":
            return float(first / second)
        case _:
            return float(first**second)
