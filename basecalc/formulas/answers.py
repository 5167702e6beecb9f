"""Several answers of one call in one line of text, and the native formula that picks one of them.

A call costs far more than a native cell, so what belongs together is asked once. A line begins with `MARK`; then comes
a field of `WIDTH` characters for each answer: a number as whole digits and a power of ten, which every language setting
reads alike and which loses nothing, or where in the line its text stands. Refusals are texts like any other.
"""

import re
from collections.abc import Sequence
from decimal import Decimal
from typing import Final

from basecalc.formulas.ranges import Answer

MARK: Final = ":"
WIDTH: Final = 20
_TEXT: Final = "@"
_WIDE: Final = re.compile(r"[^\u0000-\uffff]")  # Excel counts such a character as two, LibreOffice as one


def answer_line(answers: Sequence[Answer]) -> str:
    """Return answers in one line.

    Parameters
    ----------
    answers
        Numbers, of which 15 digits are kept, and texts.

    Raises
    ------
    ValueError
        A number too great or too small for its field.

    Examples
    --------
    >>> answer_line([1.5, "soft"])
    ':+000000000000015E-01@0004200004         soft'
    """
    fields, texts = [], ""
    begin = len(MARK) + WIDTH * len(answers) + 1
    for one in answers:
        if isinstance(one, str):
            field = f"{_TEXT}{begin + len(texts):05}{len(one):05}".ljust(WIDTH)
            texts += _WIDE.sub("\N{REPLACEMENT CHARACTER}", one)
        else:
            sign, digits, power = Decimal(f"{one:.15g}").as_tuple()
            field = f"{'-' if sign else '+'}{''.join(map(str, digits)):>015}E{power:+03}"
        if len(field) != WIDTH:
            raise ValueError(f"{one!r} does not fit into a field of {WIDTH} characters")
        fields.append(field)
    return f"{MARK}{''.join(fields)}{texts}"


def picked(line: str, place: int) -> str:
    """Return the native formula that picks one answer: its number or text; a line that is refused, as it stands.

    Parameters
    ----------
    line
        The cell of the line.
    place
        Which answer, from 0.

    Examples
    --------
    >>> picked("B7", 0)[:46]
    'IF(LEFT(B7,1)<>":",B7,IF(MID(B7,2,1)="@",MID(B'
    """
    at = len(MARK) + WIDTH * place + 1
    text = f"MID({line},VALUE(MID({line},{at + 1},5)),VALUE(MID({line},{at + 6},5)))"
    number = f"VALUE(MID({line},{at},{WIDTH}))"
    return f'IF(LEFT({line},1)<>"{MARK}",{line},IF(MID({line},{at},1)="{_TEXT}",{text},{number}))'
