"""A formula with our functions as LibreOffice Calc must be given it."""

import re
from collections.abc import Collection
from typing import Final

from openpyxl.formula import Tokenizer
from openpyxl.formula.tokenizer import Token

from basecalc.addin.parts import SERVICE
from basecalc.formulas.functions import FUNCTIONS

_COLUMN: Final = re.compile(r"[A-Za-z]{1,3}$")
_OURS: Final = {function.name for function in FUNCTIONS}


def calc_formula(formula: str, ranges: Collection[str] = ()) -> str:
    """Return a formula for Calc: our functions under the add-in's name, single cells given to them as ranges of one.

    Calc hands over a single empty cell as 0, and an empty cell of a range as empty: only so is a missing reading told
    from a reading of zero.
    """
    if not formula.startswith("="):
        return formula
    written = ["="]
    functions: list[tuple[bool, int]] = []  # of each open call or bracket: whether it is ours, where its argument began
    for token in Tokenizer(formula).items:
        ours, start = functions[-1] if functions else (False, 0)
        if token.subtype == "OPEN":
            mine = token.value[:-1].upper() in _OURS
            written.append(f"{SERVICE}.{token.value.upper()}" if mine else token.value)
            functions.append((mine, len(written)))
        elif token.subtype == "CLOSE" or (token.type == Token.SEP and token.subtype == Token.ARG):
            if ours:
                written[start:] = [_as_range("".join(written[start:]), ranges)]
            written.append(token.value)
            if token.subtype == "CLOSE":
                functions.pop()
            else:
                functions[-1] = (ours, len(written))
        else:
            written.append(token.value)
    return "".join(written)


def _as_range(argument: str, ranges: Collection[str]) -> str:
    """Return an argument that is one cell or name as a range; others, and a name like a column, as they are."""
    text = argument.strip()
    tokens = Tokenizer(f"={text}").items
    if len(tokens) != 1 or tokens[0].subtype != Token.RANGE or ":" in text or _COLUMN.match(text) or text in ranges:
        return argument
    sheet, _, cell = text.rpartition("!") if not text.endswith("]") else ("", "", text)
    return f"{text}:{cell}" if sheet else f"{text}:{text}"
