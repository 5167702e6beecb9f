"""What LibreOffice Calc hands over for a formula becomes what the worksheet functions take, and back again.

An argument that is left out arrives as None, a range as rows of cells in which an empty one is '', TRUE as 1. A single
empty cell arrives as 0: where that would pass for a number, the cell is refused. A cell in error never arrives, Calc
shows the error itself.
"""

import logging
from collections.abc import Sequence
from typing import Any, Final

from basecalc.core.units import convert
from basecalc.formulas.cells import LEFT_OUT
from basecalc.formulas.functions import FUNCTIONS
from basecalc.formulas.ranges import Answer
from basecalc.formulas.spec import Function

Shown = Answer | tuple[tuple[Answer, ...], ...]

_CALLABLE: Final = {function.name: function for function in FUNCTIONS}
_log = logging.getLogger("basecalc.addin")


def answer(name: str, cells: Sequence[Any]) -> Shown:
    """Return what a formula shows: a number, a word, or `#` and why not; for ranges, rows of these."""
    try:
        function = _CALLABLE[name]
        given = [LEFT_OUT if cell is None else cell for cell in cells]
        shown = function(*given)
        if refusal := _nought_or_empty(function, given, shown):
            return refusal
    except Exception as fault:  # noqa: BLE001 - nothing may be raised into a sheet; the traceback goes to the log
        _log.exception("worksheet function %s failed", name)
        return f"#basecalc itself failed here ({type(fault).__name__}); do not use this row, and report it"
    return tuple(tuple(row) for row in shown) if isinstance(shown, list) else shown


def _nought_or_empty(function: Function, given: Sequence[Any], shown: Any) -> str:
    """Return the refusal of a 0 that may be an empty cell, where an empty cell would not show the same."""
    for place, cell in enumerate(given):
        if isinstance(cell, float) and cell == 0 and not _refused(shown):
            empty = function(*given[:place], None, *given[place + 1 :])
            if empty != shown:
                return (
                    f"#{function.arguments[place].name} is 0 or an empty cell, which LibreOffice does not tell apart; "
                    "it must be a filled cell, or, for zero, the text '0' or a range of one cell, such as B7:B7"
                )
    return ""


def _refused(shown: Any) -> bool:
    """Return whether there is nothing but refusals."""
    if isinstance(shown, list):
        return all(_refused(cell) for row in shown for cell in row)
    return isinstance(shown, str) and shown.startswith("#")


convert(1.0, "in", "mm")  # units are made ready once, before several threads of Calc can ask for them at a time
