"""What a spreadsheet program has to know of a worksheet function: its name, its arguments, their help.

All of it is read from the Python function itself, so that every host (Excel, LibreOffice, a test) is told the same.
"""

import inspect
from collections.abc import Callable
from dataclasses import dataclass
from itertools import takewhile
from typing import Any

from basecalc.formulas.cells import LEFT_OUT
from basecalc.formulas.ranges import Answer, Calculate, answer


@dataclass(frozen=True, slots=True)
class Argument:
    """An argument: its help, its default where it may be left out, whether it takes a whole range for one result."""

    name: str
    help: str  # at most 255 characters, the most that Excel keeps
    optional: bool
    default: Any
    whole: bool


@dataclass(frozen=True, slots=True)
class Function:
    """A worksheet function: its name in capitals, its help in one line, its arguments, and what it does with cells."""

    name: str
    help: str
    arguments: tuple[Argument, ...]
    calculate: Calculate

    def __call__(self, *cells: Any) -> Answer | list[list[Answer]]:
        """Return what the cell, or each cell of the ranges, shows.

        Cells or ranges come in the order of the arguments; those marked `LEFT_OUT`, and those missing at the end, take
        their defaults.
        """
        if len(cells) > len(self.arguments):
            raise TypeError(f"{self.name} takes at most {len(self.arguments)} arguments, {len(cells)} were given")
        filled = (*cells, *[LEFT_OUT] * (len(self.arguments) - len(cells)))
        given = [
            argument.default if cell is LEFT_OUT else cell
            for argument, cell in zip(self.arguments, filled, strict=True)
        ]
        whole = [argument.name for argument in self.arguments if argument.whole]
        return answer(self.calculate, [argument.name for argument in self.arguments], given, whole=whole)


def described(
    calculate: Callable[..., Answer], *, whole: str = "", like: Callable[..., Answer] | None = None
) -> Function:
    """Return the worksheet function that a Python function of one row of cells makes.

    Its name in capitals is the worksheet's name; `whole` names the argument that takes a whole range for one result;
    `like` is the function whose help on the same arguments holds for it.
    """
    helps = _helps(inspect.getdoc(like or calculate) or "") | {"": (inspect.getdoc(calculate) or "").split("\n")[0]}
    arguments = []
    for name, parameter in inspect.signature(calculate).parameters.items():
        optional = parameter.default is not parameter.empty
        default = parameter.default if optional else None
        arguments.append(Argument(name, helps.get(name, ""), optional, default, name == whole))
    return Function(calculate.__name__.upper(), helps.get("", ""), tuple(arguments), calculate)


def _helps(docstring: str) -> dict[str, str]:
    """Return the first line of a numpydoc docstring under no name, and the text of each parameter under its own."""
    lines = docstring.splitlines()
    helps = {"": lines[0] if lines else ""}
    start = lines.index("Parameters") + 2 if "Parameters" in lines else len(lines)
    name = ""
    for line in takewhile(bool, lines[start:]):
        if line.startswith(" "):
            helps[name] = f"{helps[name]} {line.strip()}".strip()
        else:
            name = line.strip()
            helps[name] = ""
    return helps
