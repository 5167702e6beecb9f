"""Looks that were worked out once for a workbook, and merged cells, both many times quicker than openpyxl's own way.

openpyxl compares every font, border and alignment of every cell with all it knows. A workbook of ours has a few dozen
looks and thousands of cells: the place of a look in its tables is kept, and given to each further cell.
"""

from collections.abc import Callable, Hashable
from copy import copy
from typing import Any, Final, NamedTuple, cast

from openpyxl.cell.cell import Cell
from openpyxl.worksheet.cell_range import CellRange
from openpyxl.worksheet.worksheet import Worksheet

_KNOWN: Final = "_known_looks"  # where a workbook keeps them


def dress(cell: Cell, look: Hashable, change: Callable[[], None]) -> None:
    """Give a cell a look, by its own change the first time and by its place in the workbook's tables from then on."""
    styled: Any = cell  # openpyxl's types leave out where a cell keeps its place in the tables
    known = styled.parent.parent.__dict__.setdefault(_KNOWN, {})
    kept = known.get(look)
    if kept is None:
        change()
        known[look] = copy(styled._style)
    else:
        styled._style = copy(kept)


class Seen(NamedTuple):
    """What the height of a row depends on in a cell's look."""

    across: str | None
    wrap: bool
    indent: float
    size: float
    bold: bool


def seen(cell: Cell) -> Seen:
    """Return how a cell is aligned and set, read off once for each look of a workbook."""
    styled: Any = cell
    known = styled.parent.parent.__dict__.setdefault(_KNOWN, {})
    look = (styled._style.tobytes(), "seen")
    found = known.get(look)
    if found is None:
        align, font = cell.alignment, cell.font
        found = Seen(
            align.horizontal, bool(align.wrap_text), align.indent or 0, float(font.size or 10), bool(font.bold)
        )
        known[look] = found
    return cast(Seen, found)


def alter(cell: Cell, way: Hashable, change: Callable[[], None]) -> None:
    """Change the look of a cell, by what the same change once made of the same look."""
    before: Any = getattr(cell, "_style", None)
    dress(cell, (before.tobytes() if before else b"", way), change)


def merge(sheet: Worksheet, row: int, first: int, last: int) -> None:
    """Make some cells of a row one, all with the look of the first."""
    cells: list[Any] = [sheet.cell(row, column) for column in range(first, last + 1)]
    for cell in cells[1:]:
        cell._style = copy(cells[0]._style)
    sheet.merged_cells.ranges.add(CellRange(min_row=row, max_row=row, min_col=first, max_col=last))
