"""The sheet Numbers: every typed number, a row each, read in small steps as the trade writes them.

``1/2``, ``1-1/2"``, ``14'-6"``, ``14 ft 6 in``, ``1,250``, ``22 kPa``: what is typed, rewritten with one sign for feet
and one for inches, the unit behind it, the part before the foot sign and the part after it, the value. The same
spellings are read in job files (`basecalc.core.units.to_unit`); functions of Excel 2007 only.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from basecalc.core.units import FRACTIONS, SIGNS
from basecalc.estimating.blocks import Block, Sheets, first_of

SHEET: Final = "Numbers"
_QUOTE: Final = '""""'
_MARKS: Final = [*((mark, _QUOTE if plain == '"' else f'"{plain}"') for mark, plain in SIGNS.items()), ("''", _QUOTE)]
_UNITS: Final = [
    ("mm/blow", '"mm"'), ("mm per blow", '"mm"'), ("sq ft", '"sf"'), ("sqft", '"sf"'), ("ft2", '"sf"'), ("ft²", '"sf"'),
    ("m2", '"qm"'), ("m²", '"qm"'), ("feet", "\"'\""), ("foot", "\"'\""), ("ft.", "\"'\""), ("ft", "\"'\""),
    ("inches", _QUOTE), ("inch", _QUOTE), ("in.", _QUOTE), ("in", _QUOTE),
]  # fmt: skip
_POINT: Final = "MID(1/2,2,1)"  # the sign before decimals in this program


@dataclass(frozen=True, slots=True)
class Typed:
    """A number to read: where it is typed, what it is, its kind, the cell it comes from, its limits (or formulas)."""

    cell: str
    what: str
    kind: str
    source: str
    low: float | str
    high: float | str
    unit: str = ""
    signed: bool = False


def _substituted(text: str, pairs: Sequence[tuple[str, str]]) -> str:
    for old, new in pairs:
        text = f'SUBSTITUTE({text},"{old}",{new})'
    return text


def _once(text: str, marks: Sequence[str]) -> str:
    for mark in marks:
        text = f"SUBSTITUTE({text},{mark},\"\",1)"
    return text


def fraction(part: str) -> str:
    """Return a formula for the value of 3, 1/2 or 1 1/2; an error for anything else.

    Numerator and denominator are read apart, so that no date can come of them.
    """
    blank = f'IF(ISNUMBER(FIND(" ",{part})),FIND(" ",{part}),0)'
    return (
        f'IF({part}="",NA(),IF(ISNUMBER(FIND("/",{part})),IF({blank}=0,0,VALUE(LEFT({part},{blank}-1)))'
        f'+VALUE(MID({part},{blank}+1,FIND("/",{part})-{blank}-1))/VALUE(MID({part},FIND("/",{part})+1,9)),'
        f"IF({blank}>0,NA(),VALUE({part}))))"
    )


def numbers_block(sheets: Sheets, rows: Sequence[Typed], top: int = 3) -> Block:
    """Declare the table of all typed numbers."""
    block = Block(sheets, "numbers", SHEET, top, len(rows), "Every number that is typed on Entry, read step by step")
    block.add("cell", "Cell", lambda n: rows[n - 1].cell)
    block.add("what", "What", lambda n: rows[n - 1].what)
    block.add("kind", "Kind", lambda n: rows[n - 1].kind)
    block.add("unit", "Unit", lambda n: rows[n - 1].unit)
    block.add("typed", "As typed", lambda n: f"={rows[n - 1].source}")
    block.add("sign", "Sign", lambda n: _sign(rows[n - 1]))
    body = 'IF([sign]=-1,MID(TRIM([typed]),2,60),[typed])'
    fractions = [(mark, f'" {text}"') for mark, text in FRACTIONS.items()]
    plain = _substituted(f"LOWER({body})", [*_MARKS, *fractions, *_UNITS])
    comma = (  # a comma before anything but three figures is not a thousand
        'IF(ISNUMBER(FIND(",",[typed])),IF(AND(LEN(TRIM(MID([typed]&" ",FIND(",",[typed])+1,3)))=3,'
        'ISNUMBER(VALUE(MID([typed],FIND(",",[typed])+1,3))),ISERROR(VALUE(MID([typed]&"x",FIND(",",[typed])+4,1)))),0,1),0)'
    )
    block.add("comma", "Comma", f'=IF(OR([typed]="",ISNUMBER([typed])),0,IF(ISERROR({comma}),1,{comma}))')
    block.add(
        "rewritten", "Rewritten",
        '=IF(OR([typed]="",ISNUMBER([typed])),"",IF(OR([comma]=1,RIGHT(TRIM([typed]),1)="-",LEN([typed])>60),"?",'
        f'TRIM({_substituted(plain, [("-", chr(34) + " " + chr(34)), (",", chr(34) * 2), (".", _POINT)])})))',
    )  # fmt: skip
    left = _once(_substituted(f'SUBSTITUTE([rewritten],{_POINT},"")', [(str(d), '""') for d in range(10)]),
                 ('"/"', "\"'\"", _QUOTE))  # fmt: skip
    block.add("behind", "Unit behind", f"=TRIM({left})")
    feet = 'ISNUMBER(FIND("\'",[rewritten]))'
    inches = f"ISNUMBER(FIND({_QUOTE},[rewritten]))"
    whole = 'IF([behind]="",[rewritten],IF(RIGHT([rewritten],LEN([behind]))=[behind],LEFT([rewritten],LEN([rewritten])-LEN([behind])),"?"))'
    block.add(
        "first", "First part",
        f'=IF({feet},TRIM(LEFT([rewritten],FIND("\'",[rewritten])-1)),TRIM(SUBSTITUTE({whole},{_QUOTE},"")))',
    )
    block.add(
        "second", "Inches after feet",
        f'=IF({feet},TRIM(SUBSTITUTE(MID([rewritten],FIND("\'",[rewritten])+1,30),{_QUOTE},"")),"")',
    )
    def factor(unit: str) -> str:
        return f'INDEX([units.factor:],MATCH([kind]&" "&{unit},[units.key:],0))'

    own = f'IF({feet},"ft",IF({inches},"in",[behind]))'
    block.add(
        "factor", "Unit counts",
        f'=IF([rewritten]="","",IF({own}="",1,IF(AND(OR({feet},{inches}),[behind]<>""),NA(),{factor(own)})))',
    )
    value = f'{fraction("[first]")}*[factor]+IF([second]="",0,({fraction("[second]")})*{factor(chr(34) + "in" + chr(34))})'
    block.add(
        "value", "Value", f'=IF([typed]="","",IF(ISNUMBER([typed]),[typed],IF([sign]=0,NA(),[sign]*ROUND({value},12))))'
    )
    block.add("low", "At least", lambda n: rows[n - 1].low)
    block.add("high", "At most", lambda n: rows[n - 1].high)
    block.add("says", "What is wrong", first_of([
        ('[typed]=""', '""'),
        ("ISERROR([value])", '[what]&" in "&[cell]&" says "&[typed]&". Write a number such as 24, 2.5, 1/2"&IF([kind]="length",", 14 ft 6 in","")&"."'),
        ("OR([value]<[low],[value]>[high])",
         '[what]&" in "&[cell]&" is "&ROUND([value],3)&". It must be from "&[low]&" to "&[high]&IF([unit]="",""," "&[unit])&"."'),
    ]))  # fmt: skip
    return block


def _sign(row: Typed) -> str:
    minus = 'OR(LEFT(TRIM([typed]),1)="-",LEFT(TRIM([typed]),1)="\u2212")'
    return f'=IF(OR([typed]="",ISNUMBER([typed])),1,IF({minus},{-1 if row.signed else 0},1))'
