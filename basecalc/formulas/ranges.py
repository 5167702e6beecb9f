"""One worksheet function over whole ranges: a row is worked out by itself, and refused by itself."""

import logging
from collections.abc import Callable, Collection, Iterator, Sequence
from itertools import repeat
from math import isfinite
from typing import Any, Final

from basecalc.core.errors import BasecalcError, InputError

Answer = float | str
Calculate = Callable[..., Answer]

# A whole column (1,048,576 cells) given by mistake would keep the sheet busy for minutes.
MOST_CELLS: Final = 100_000
LONGEST: Final = 32_767  # characters of a cell, in Excel and in LibreOffice
_CUT: Final = " ... (cut here)"
_FAULT: Final = "#basecalc itself failed here"

_log = logging.getLogger("basecalc.worksheet")


def answer(
    calculate: Calculate, names: Sequence[str], arguments: Sequence[Any], *, whole: Collection[str] = ()
) -> Answer | list[list[Answer]]:
    """Return what the cell shows, or for ranges what each of their cells shows: a number, a word, or `#` and why not.

    Single cells go with every row of the ranges beside them. A column gives a column, a row a row, a block a block.
    """
    try:
        grids = [grid(name, argument) for name, argument in zip(names, arguments, strict=True)]
        size = _common_size([(name, g) for name, g in zip(names, grids, strict=True) if name not in whole])
    except BasecalcError as refusal:
        return _refused(str(refusal))
    spread = [_spread(g, name in whole) for name, g in zip(names, grids, strict=True)]
    if size == (1, 1):
        return _worked_out(calculate, [next(cells) for cells in spread])
    height, width = size
    return [[_worked_out(calculate, [next(cells) for cells in spread]) for _ in range(width)] for _ in range(height)]


def grid(name: str, argument: Any) -> list[list[Any]]:
    """Return an argument as rows of cells, all of one length."""
    if not isinstance(argument, list | tuple):
        return [[argument]]
    rows = [list(row) if isinstance(row, list | tuple) else [row] for row in argument]
    width = len(rows[0]) if rows else 0
    if width == 0:
        raise InputError(f"{name} is a range without cells; it must have at least 1")
    if any(len(row) != width for row in rows):
        raise InputError(f"{name} has rows of different length; they must have the same number of cells")
    if len(rows) * width > MOST_CELLS:
        raise InputError(
            f"{name} has {len(rows) * width:,} cells; it must have at most {MOST_CELLS:,}, so give the rows in use only"
        )
    return rows


def _common_size(grids: Sequence[tuple[str, list[list[Any]]]]) -> tuple[int, int]:
    """Return rows and columns of the ranges given; single cells go with any."""
    size, owner = (1, 1), ""
    for name, g in grids:
        its = (len(g), len(g[0]))
        if its in ((1, 1), size):
            continue
        if owner:
            raise InputError(
                f"{name} is {its[0]} x {its[1]} cells (rows x columns); "
                f"it must be as large as {owner}, {size[0]} x {size[1]} cells, or one cell"
            )
        size, owner = its, name
    return size


def _spread(g: list[list[Any]], as_list: bool) -> Iterator[Any]:
    """Return what each cell of the answer takes: its own cell, or a single cell or a whole range again and again."""
    cells = [cell for row in g for cell in row]
    return repeat(cells) if as_list else repeat(cells[0]) if len(cells) == 1 else iter(cells)


def _worked_out(calculate: Calculate, row: Sequence[Any]) -> Answer:
    try:
        result = calculate(*row)
    except BasecalcError as refusal:
        return _refused(str(refusal))
    except Exception as fault:  # noqa: BLE001 - the only place: a traceback in a cell helps nobody; it goes to the log
        _log.exception("worksheet function %s failed", getattr(calculate, "__name__", calculate))
        return _fault(f"{type(fault).__name__}: {fault}")
    if isinstance(result, float) and isfinite(result):
        return result
    if isinstance(result, str) and len(result) > LONGEST:
        return f"#the answer is {len(result):,} characters long; a cell holds {LONGEST:,}, so give fewer rows"
    return result if isinstance(result, str) and result else _fault(f"{result!r} as a result")


def _refused(sentence: str) -> str:
    return f"#{sentence}" if len(sentence) < LONGEST else f"#{sentence[: LONGEST - 1 - len(_CUT)]}{_CUT}"


def _fault(what: str) -> str:
    """Return the text for a fault of our own: no number, so that no total can use it."""
    return f"{_FAULT} ({what[:120]}); do not use this row, and report it"
