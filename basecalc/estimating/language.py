"""The formulas of the estimating workbook as trees: just enough of a spreadsheet's language to read what we write."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Final

from openpyxl.formula import Tokenizer
from openpyxl.formula.tokenizer import Token


@dataclass(frozen=True, slots=True)
class Value:
    """A number, a text, a yes or no, or an error, as written."""

    value: Any


@dataclass(frozen=True, slots=True)
class Place:
    """A cell, a range or a defined name, as written."""

    text: str


@dataclass(frozen=True, slots=True)
class Sum:
    """An operator between two terms, or before or behind one (then `right` is None)."""

    operator: str
    left: "Tree"
    right: "Tree | None"


@dataclass(frozen=True, slots=True)
class Call:
    """A function with its arguments."""

    name: str
    arguments: tuple["Tree", ...]


Tree = Value | Place | Sum | Call
_BINDING: Final = {"=": 1, "<>": 1, "<": 1, ">": 1, "<=": 1, ">=": 1, "&": 2, "+": 3, "-": 3, "*": 4, "/": 4, "^": 5}


@lru_cache(maxsize=20_000)
def tree(formula: str) -> Tree:
    """Return the tree of a formula.

    Examples
    --------
    >>> tree("=1+A1*2").operator
    '+'
    """
    tokens = [token for token in Tokenizer(formula).items if token.type != "WHITE-SPACE"]
    reader = _Reader(iter(tokens))
    made = reader.term(0)
    if reader.next is not None:
        raise ValueError(f"{formula!r} goes on after its end")
    return made


class _Reader:
    """Reads tokens from left to right, the tighter operators first."""

    def __init__(self, tokens: Iterator[Token]) -> None:
        self._tokens = tokens
        self.next: Token | None = None
        self._step()

    def _step(self) -> Token:
        taken, self.next = self.next, next(self._tokens, None)
        return taken  # type: ignore[return-value]  # only the first step takes none

    def term(self, least: int) -> Tree:
        left = self._one()
        while self.next is not None and self.next.type in ("OPERATOR-INFIX", "OPERATOR-POSTFIX"):
            if self.next.type == "OPERATOR-POSTFIX":
                left = Sum(self._step().value, left, None)
                continue
            binding = _BINDING[self.next.value]
            if binding < least:
                break
            operator = self._step().value
            left = Sum(operator, left, self.term(binding + 1))
        return left

    def _one(self) -> Tree:
        token = self._step()
        if token.type == "OPERATOR-PREFIX":
            return Sum(f"{token.value}x", self.term(6), None)
        if token.type == "OPERAND":
            return _operand(token)
        if token.type == "PAREN" and token.subtype == "OPEN":
            inside = self.term(0)
            self._step()
            return inside
        if token.type == "FUNC" and token.subtype == "OPEN":
            return Call(token.value[:-1].upper(), tuple(self._arguments()))
        raise ValueError(f"{token.value!r} is not in the language of our formulas")

    def _arguments(self) -> Iterator[Tree]:
        if self.next is not None and self.next.subtype == "CLOSE":
            self._step()
            return
        while True:
            yield self.term(0)
            if self._step().subtype == "CLOSE":
                return


def _operand(token: Token) -> Tree:
    if token.subtype == "NUMBER":
        return Value(float(token.value))
    if token.subtype == "TEXT":
        return Value(token.value[1:-1].replace('""', '"'))
    if token.subtype == "LOGICAL":
        return Value(token.value == "TRUE")
    if token.subtype == "RANGE":
        return Place(token.value)
    raise ValueError(f"{token.value!r} is not in the language of our formulas")
