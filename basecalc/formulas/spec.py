"""What a spreadsheet program has to know of a worksheet function: its name, its arguments, their help.

All of it is read from the Python function itself, so that every host (Excel, LibreOffice, a test) is told the same.
"""

import inspect
from collections.abc import Callable
from dataclasses import dataclass, field
from itertools import takewhile
from typing import Any

from basecalc.formulas.cells import LEFT_OUT
from basecalc.formulas.ranges import Answer, Calculate, answer, one_answer, one_row


@dataclass(frozen=True, slots=True)
class Argument:
    """An argument: its name, its help text, and whether it may be left out.

    Parameters
    ----------
    name
        As in design and documentation.
    help
        At most 255 characters, the most that Excel keeps.
    optional
        Whether a formula may leave it out.
    default
        What the calculation then gets; nothing for an argument that must be given.
    whole
        Whether it takes a whole range for one result.
    """

    name: str
    help: str
    optional: bool
    default: Any
    whole: bool


@dataclass(frozen=True, slots=True)
class Function:
    """A worksheet function: its name, its help text, its arguments, and what it does with cells.

    Parameters
    ----------
    name
        In capitals, as a formula spells it.
    help
        One line that says what the cell shows.
    arguments
        In the order of the formula.
    calculate
        The Python function of one row of cells.
    """

    name: str
    help: str
    arguments: tuple[Argument, ...]
    calculate: Calculate
    _names: list[str] = field(init=False, repr=False, compare=False)
    _defaults: list[Any] = field(init=False, repr=False, compare=False)
    _lists: frozenset[str] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        """Make ready what every call needs."""
        arguments = self.arguments
        object.__setattr__(self, "_names", [argument.name for argument in arguments])
        object.__setattr__(self, "_defaults", [argument.default for argument in arguments])
        object.__setattr__(self, "_lists", frozenset(a.name for a in arguments if a.whole))

    def __call__(self, *cells: Any) -> Answer | list[list[Answer]]:
        """Return what the cell, or each cell of the ranges, shows.

        Parameters
        ----------
        *cells
            One cell or range per argument, in order; those marked `LEFT_OUT`, and those missing at the end, take their
            defaults.

        Raises
        ------
        TypeError
            More cells than arguments.
        """
        if len(cells) > len(self._defaults):
            raise TypeError(f"{self.name} takes at most {len(self.arguments)} arguments, {len(cells)} were given")
        given = [
            default if cell is LEFT_OUT else cell for cell, default in zip(cells, self._defaults, strict=False)
        ] + self._defaults[len(cells) :]
        if (row := one_row(self._names, given, self._lists)) is not None:
            return one_answer(self.calculate, row)
        return answer(self.calculate, self._names, given, whole=self._lists)


def described(calculate: Callable[..., Answer], *, whole: str = "") -> Function:
    """Return the worksheet function that a Python function of one row of cells makes.

    Parameters
    ----------
    calculate
        A function with positional arguments and a numpydoc docstring; its name in capitals is the worksheet's name.
    whole
        Name of the argument that takes a whole range for one result.

    Examples
    --------
    >>> def double(depth: float = 6.0) -> float:
    ...     '''Return twice the depth.
    ...
    ...     Parameters
    ...     ----------
    ...     depth
    ...         How deep [in].
    ...     '''
    ...     return 2 * depth
    >>> function = described(double)
    >>> function.name, function.help, function.arguments[0].help, function(4.0), function()
    ('DOUBLE', 'Return twice the depth.', 'How deep [in].', 8.0, 12.0)
    """
    helps = _helps(inspect.getdoc(calculate) or "")
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
