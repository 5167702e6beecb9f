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
    ("mm/blow", '"mm"'), ("sq ft", '"sf"'), ("sqft", '"sf"'), ("ft2", '"sf"'), ("ft²", '"sf"'), ("m2", '"sq m"'), ("m²", '"sq m"'),
    ("feet", "\"'\""), ("foot", "\"'\""), ("ft.", "\"'\""), ("ft", "\"'\""),
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


def _fraction(text: str) -> str:
    """Return a formula for the value of 3, 1/2 or 1 1/2; an error for anything else.

    Numerator and denominator are read apart, so that no date can come of them.
    """
    blank, slash = f'FIND(" ",{text})', f'FIND("/",{text})'
    return (
        f"IF(ISERROR({slash}),IF(ISERROR({blank}),VALUE({text}),NA()),IF(ISERROR({blank}),0,VALUE(LEFT({text},{blank}-1)))"
        f"+VALUE(MID({text},IFERROR({blank},0)+1,{slash}-IFERROR({blank},0)-1))/VALUE(MID({text},{slash}+1,9)))"
    )


def numbers_block(sheets: Sheets, rows: Sequence[Typed], top: int = 3) -> Block:
    """Declare the table of all typed numbers."""
    block = Block(sheets, "numbers", SHEET, top, len(rows), "Every number that is typed on Entry, read step by step")
    block.add("cell", "Cell", [one.cell for one in rows])
    block.add("what", "What", [one.what for one in rows])
    block.add("kind", "Kind", [one.kind for one in rows])
    block.add("unit", "Unit", [one.unit for one in rows])
    block.add("typed", "As typed", [f"={one.source}" for one in rows])
    body = 'IF([sign]=-1,MID(TRIM([typed]),2,60),[typed])'
    fractions = [(mark, f'" {text}"') for mark, text in FRACTIONS.items()]
    plain = _substituted(f"LOWER({body})", [*_MARKS, *fractions, *_UNITS])
    block.add("plain", "No text", '=IF(OR([typed]="",ISNUMBER([typed])),1,0)')
    block.add("sign", "Sign", [_sign(one) for one in rows])
    at = 'FIND(",",[typed])'  # a comma before anything but three figures is not a thousand
    comma = f'IF(AND(LEN(TRIM(MID([typed]&" ",{at}+1,3)))=3,ISNUMBER(VALUE(MID([typed],{at}+1,3))),ISERROR(VALUE(MID([typed]&"x",{at}+4,1)))),0,1)'
    block.add("comma", "Comma", f'=IF(OR([plain]=1,ISERROR({at})),0,IFERROR({comma},1))')
    block.add(
        "rewritten", "Rewritten",
        '=IF([plain]=1,"",IF(OR([comma]=1,RIGHT(TRIM([typed]),1)="-",LEN([typed])>60),"?",'
        f'TRIM({_substituted(plain, [("-", chr(34) + " " + chr(34)), (",", chr(34) * 2), (".", _POINT)])})))',
    )  # fmt: skip
    left = _once(_substituted(f'SUBSTITUTE([rewritten],{_POINT},"")', [(str(d), '""') for d in range(10)]),
                 ('"/"', "\"'\"", _QUOTE))  # fmt: skip
    block.add("behind", "Unit behind", f"=TRIM({left})")
    block.add("feet", "Sign of feet", '=IFERROR(FIND("\'",[rewritten]),0)')
    block.add("inches", "Sign of inches", f"=IFERROR(FIND({_QUOTE},[rewritten]),0)")
    whole = 'IF([behind]="",[rewritten],IF(RIGHT([rewritten],LEN([behind]))=[behind],LEFT([rewritten],LEN([rewritten])-LEN([behind])),"?"))'
    block.add("first", "First part", f'=IF([feet]>0,TRIM(LEFT([rewritten],[feet]-1)),TRIM(SUBSTITUTE({whole},{_QUOTE},"")))')
    block.add("second", "Inches after feet", f'=IF([feet]>0,TRIM(SUBSTITUTE(MID([rewritten],[feet]+1,30),{_QUOTE},"")),"")')
    own = '[kind]&" "&IF([feet]>0,"ft",IF([inches]>0,"in",[behind]))'
    block.add("unit_key", "Kind and unit", f'=IF(OR([rewritten]="",AND([feet]+[inches]=0,[behind]="")),"",IF(AND([feet]+[inches]>0,[behind]<>""),"?",{own}))')
    row = "MATCH([unit_key],[units.key:],0)"  # a * or ? finds another word
    block.add("factor", "Unit counts", f'=IF([unit_key]="",1,IF(INDEX([units.key:],{row})=[unit_key],INDEX([units.factor:],{row}),NA()))')
    block.add("first_value", "First part, value", f"={_fraction('[first]')}")
    inch = 'INDEX([units.factor:],MATCH([kind]&" in",[units.key:],0))'
    value = f'ROUND([first_value]*[factor]+IF([second]="",0,({_fraction("[second]")})*{inch}),12)'
    block.add("value", "Value", f'=IF([typed]="","",IF([plain]=1,[typed],IF([sign]=0,NA(),[sign]*{value})))')
    block.add("low", "At least", [one.low for one in rows])
    block.add("high", "At most", [one.high for one in rows])
    block.add("says", "What is wrong", first_of([
        ('[typed]=""', '""'),
        ("ISERROR([value])", '[what]&" in "&[cell]&" says "&[typed]&". Write a number such as 24, 2.5, 1/2"&IF([kind]="length",", 14 ft 6 in","")&"."'),
        ("OR([value]<[low],[value]>[high])",
         '[what]&" in "&[cell]&" is "&ROUND([value],3)&". It must be from "&[low]&" to "&[high]&IF([unit]="",""," "&[unit])&"."'),
    ]))  # fmt: skip
    return block


def _sign(row: Typed) -> str:
    minus = 'OR(LEFT(TRIM([typed]),1)="-",LEFT(TRIM([typed]),1)="\u2212")'
    return f'=IF([plain]=1,1,IF({minus},{-1 if row.signed else 0},1))'
