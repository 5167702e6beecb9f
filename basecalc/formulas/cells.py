"""What a spreadsheet program hands over for one cell becomes a number, a word, or a refusal that names the argument.

A number arrives as a float, a currency cell as a `Decimal`, a date as a datetime, an empty cell as None, an error
cell as its text or as a bare negative integer, and a cell that basecalc refused as the text of its refusal.
"""

import re
from collections.abc import Iterable, Sequence
from datetime import date, time
from decimal import Decimal
from enum import Enum
from math import inf, nan
from typing import Any, Final

from basecalc.core.errors import InputError
from basecalc.core.numbers import choice
from basecalc.core.units import to_unit


class _LeftOut(Enum):
    """The type of the one mark for an argument that the formula does not give."""

    LEFT_OUT = "left out"


# An argument that is left out takes its default; a cell that is empty is refused.
LEFT_OUT: Final = _LeftOut.LEFT_OUT

# An error cell read through COM is 0x800A0000 plus the number of the error, as a signed 32-bit integer.
_ERROR_BASE: Final = 0x800A0000 - 2**32
_ERRORS: Final = {
    2000: "#NULL!", 2007: "#DIV/0!", 2015: "#VALUE!", 2023: "#REF!", 2029: "#NAME?", 2036: "#NUM!", 2042: "#N/A",
    2043: "#GETTING_DATA", 2045: "#SPILL!", 2046: "#CONNECT!", 2047: "#BLOCKED!", 2048: "#UNKNOWN!", 2049: "#FIELD!",
    2050: "#CALC!",
}  # fmt: skip
_ERROR_TEXT: Final = re.compile(r"#[A-Z][A-Z0-9/_]+[!?]?$|Err:\d+$")
_REFUSAL: Final = re.compile(r"#(?P<sentence>[^#;]+; .+)$", re.DOTALL)


def is_blank(cell: Any) -> bool:
    """Return whether a cell holds nothing, or nothing but spaces."""
    return cell is None or (isinstance(cell, str) and not cell.strip())


def content(name: str, cell: Any) -> float | str | bool | None:
    """Return what the cell holds, numbers as floats and blanks as None."""
    if is_blank(cell) or cell is LEFT_OUT:
        return None
    if isinstance(cell, str):
        return _text(name, cell)
    if isinstance(cell, bool):
        return cell
    if error := error_text(cell):
        return _text(name, error)
    if isinstance(cell, int | float | Decimal):
        return as_float(cell)
    if isinstance(cell, date | time):
        shown = f"{cell:%Y-%m-%d}" if isinstance(cell, date) else f"{cell:%H:%M}"
        raise InputError(
            f"{name} is the date or time {shown}; it must be a number or a word (a spreadsheet turns 1/2 into a date)"
        )
    what = "a range" if isinstance(cell, list | tuple) else "no cell"
    raise InputError(f"{name} is {what}; it must be one cell with a number or a word")


def error_text(cell: Any) -> str:
    """Return the text of an error cell that came as a bare number; nothing for any other cell."""
    if not isinstance(cell, int) or not 0 <= cell - _ERROR_BASE < 2**16:
        return ""
    return _ERRORS.get(cell - _ERROR_BASE, f"#ERROR_{cell - _ERROR_BASE}")


def _text(name: str, cell: str) -> str:
    """Return the text, unless it is an error or a refusal further up the sheet."""
    text = cell.strip()
    if _ERROR_TEXT.match(text):
        raise InputError(f"{name} is the error {text}; it must be a number or a word, so fix that cell first")
    if refusal := _REFUSAL.match(text):
        raise InputError(f"{name}: {refusal['sentence']}")
    return text


def as_float(cell: float | Decimal) -> float:
    """Return a number of a cell as a float: infinity where it is too great, NaN where it is not a number."""
    try:
        return float(cell)
    except OverflowError:
        return inf
    except ValueError:  # a signalling NaN of Decimal
        return nan


def number(
    name: str, cell: Any, unit: str, low: float = -inf, high: float = inf, *, above: bool = False, why: str = ""
) -> float:
    """Return the number of a cell in the unit asked for, checked against its limits."""
    return to_unit(name, content(name, cell), unit, low, high, above=above, why=why)


def word(name: str, cell: Any, options: Sequence[str]) -> str:
    """Return the offered word that the cell spells, whatever its case and spacing."""
    return choice(name, content(name, cell), options)


def unit_word(cell: Any, options: Iterable[str]) -> str:
    """Return the unit of a result: one of those offered; exponents may be written `^3`."""
    held = content("unit", cell)
    return choice("unit", held.replace("^", "").replace("³", "3") if isinstance(held, str) else held, tuple(options))
