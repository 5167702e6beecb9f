"""A column of the sheet Areas that is worked out, and the options that it may belong to."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from basecalc.formulas.answers import picked

OPTIONS: Final = ("stone", "geogrid", "habit")
LINES: Final = "lines"  # the group of the columns with the lines of calls
PART: Final = 20  # rows of a table that share a part of the readings
OPTION_WORDS: Final[Mapping[str, str]] = {
    "stone": "stone only",
    "geogrid": "with geogrid",
    "habit": "usual depth",
}
SHORT: Final[Mapping[str, str]] = {"stone": "stone", "geogrid": "grid", "habit": "usual"}


@dataclass(frozen=True, slots=True)
class Step:
    """A column that is worked out."""

    key: str
    label: str
    unit: str
    formula: str
    help: str
    format: str = "two"
    width: float = 10.5
    group: str = "ground"
    counts: str = "always"

    @property
    def heading(self) -> str:
        """The heading with its unit in brackets."""
        return f"{self.label} [{self.unit}]" if self.unit else self.label


def answer_of(line: str, answers: Sequence[str], which: str) -> str:
    """Return the native step that picks an answer from a column with the line of a call.

    Examples
    --------
    >>> answer_of("measures", ["area"], "area")[:34]
    'IF(LEFT({measures},1)<>":",{measur'
    """
    return picked(f"{{{line}}}", list(answers).index(which))


def guarded(numbers: tuple[str, ...], formula: str) -> str:
    """Return a native step that shows #N/A unless all its numbers are numbers.

    Examples
    --------
    >>> guarded(("plan", "Bedding"), "{plan}*Bedding")
    'IF(AND(ISNUMBER({plan}),ISNUMBER(Bedding)),{plan}*Bedding,NA())'
    """
    tests = ",".join(f"ISNUMBER({one})" if one[:1].isupper() else f"ISNUMBER({{{one}}})" for one in numbers)
    return f"IF(AND({tests}),{formula},NA())"
