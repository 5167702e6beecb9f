"""Answers that were worked out before, for the next time the same is asked.

A spreadsheet program asks every formula again whenever a sheet is calculated anew, and the same question has the same
answer. One memory serves every host. It is bounded by the number of answers and by their text.
"""

from collections.abc import Callable, Iterable, Sequence
from math import copysign
from typing import Any, Final

from basecalc.formulas.cells import LEFT_OUT

Key = tuple[Any, ...]

MOST_ANSWERS: Final = 20_000
MOST_CHARACTERS: Final = 20_000_000
# A question with more cells than this is asked once a sheet and not remembered.
MOST_CELLS_REMEMBERED: Final = 64
# What cells hold as a rule. Others (a currency, a date) may be equal and yet be told differently.
_KINDS: Final = frozenset({float, str, type(None), int, bool, type(LEFT_OUT)})


def question(calculate: Callable[..., Any], row: Sequence[Any]) -> Key | None:
    """Return what tells this question from all others, or None where its answer is not to be remembered.

    Parameters
    ----------
    calculate
        The function of one row.
    row
        Its cells; a list of cells for an argument that takes a range.

    Examples
    --------
    >>> question(len, (1.0,)) == question(len, (1,)), question(len, (1.0,)) == question(len, (True,))
    (False, False)
    >>> question(len, (0.0,)) == question(len, (-0.0,)), question(len, ([1.0] * 65,))
    (False, None)
    """
    kinds = list(map(type, row))
    if list not in kinds:
        # An equal number may be told differently: 1 and TRUE by their kind, 0 and -0 only by their sign.
        return (calculate, *row, *kinds, *_signs(row)) if _KINDS.issuperset(kinds) else None
    cells: list[Any] = []
    shape: list[Any] = []
    for cell, kind in zip(row, kinds, strict=True):
        if kind is not list:
            cells.append(cell)
            shape.append(None)
            continue
        if len(cell) > MOST_CELLS_REMEMBERED:
            return None
        shape.append(len(cell))
        cells += cell
    kinds = list(map(type, cells))
    if len(cells) > MOST_CELLS_REMEMBERED or not _KINDS.issuperset(kinds):
        return None
    return (calculate, *shape, *cells, *kinds, *_signs(cells))


def _signs(cells: Sequence[Any]) -> list[float]:
    """Return the sign of each zero; there is none as a rule."""
    return [copysign(1.0, cell) for cell in cells if not cell and isinstance(cell, float)] if 0.0 in cells else []


class Memory:
    """Answers by their question; the half not asked for longest is forgotten when there is no room for another.

    Parameters
    ----------
    answers
        How many it holds at most.
    characters
        How many characters of text it holds at most, in questions and answers together.
    """

    def __init__(self, answers: int = MOST_ANSWERS, characters: int = MOST_CHARACTERS) -> None:
        self._most, self._longest = answers // 2, characters // 2
        self.forget()

    def __len__(self) -> int:
        return len(self._new.keys() | self._old.keys())

    def forget(self) -> None:
        """Forget everything."""
        self._new: dict[Key, float | str] = {}
        self._old: dict[Key, float | str] = {}
        self._characters = 0

    def recall(self, key: Key) -> float | str | None:
        """Return the answer to a question, or None where there is none.

        Parameters
        ----------
        key
            The question.
        """
        found = self._new.get(key)
        if found is None and (found := self._old.get(key)) is not None:
            self.keep(key, found)
        return found

    def keep(self, key: Key, shown: float | str) -> None:
        """Remember an answer; one too long for the memory is let go.

        Parameters
        ----------
        key
            The question.
        shown
            The answer.
        """
        length = _length((*key, shown))
        if length > self._longest:
            return
        if len(self._new) >= self._most or self._characters + length > self._longest:
            self._old, self._new, self._characters = self._new, {}, 0
        self._new[key] = shown
        self._characters += length


def _length(parts: Iterable[Any]) -> int:
    return sum(len(part) for part in parts if isinstance(part, str))


ANSWERS: Final = Memory()
