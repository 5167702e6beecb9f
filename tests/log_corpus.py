"""Cone logs as people and programs write them, right and wrong: each with what must become of it.

Every case is invented. A right one must give the very drop of `PLAIN`; a wrong one is refused in one line with its row.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

# blows and depth in mm of one drop: 25 mm in five blows, then 40 mm in two
READINGS = ((0, 0), (5, 25), (5, 50), (5, 75), (5, 100), (2, 140), (2, 180), (2, 220), (2, 260))
ROWS = "".join(f"{blows},{depth}\n" for blows, depth in READINGS)
PLAIN = "blows,depth mm\n" + ROWS


@dataclass(frozen=True)
class Case:
    """A file, how it is read, and either nothing (it gives the plain drop) or row and words of the refusal."""

    content: bytes
    row: int = 0
    told: str = ""
    given: Mapping[str, Any] = field(default_factory=dict)


def right(text: str | bytes, **given: Any) -> Case:
    return Case(text.encode() if isinstance(text, str) else text, given=given)


def wrong(row: int, told: str, text: str | bytes, **given: Any) -> Case:
    return Case(text.encode() if isinstance(text, str) else text, row, told, given)


def changed(line: int, by: str, text: str = PLAIN) -> str:
    """Return a log with another line, the first being 1."""
    lines = text.splitlines()
    lines[line - 1] = by
    return "\n".join(lines) + "\n"


def _table(heading: str, pairs: Any, mark: str = ",") -> str:
    return heading + "\n" + "".join(f"{blows}{mark}{depth}\n" for blows, depth in pairs)


_TOTAL_BLOWS = [
    (sum(blows for blows, _ in READINGS[: place + 1]), READINGS[place][1]) for place in range(len(READINGS))
]
_STEPS = [(blows, depth - before) for (blows, depth), (_, before) in zip(READINGS[1:], READINGS, strict=False)]
_SEMICOLON = _table("blows;depth cm", [(b, f"{d / 10:.1f}".replace(".", ",")) for b, d in READINGS], ";")
_MANY = "drop,blows,depth mm\n" + "".join(
    f"D{drop},{blows},{depth}\n" for drop in range(600) for blows, depth in READINGS
)

CASES: dict[str, Case] = {
    "plain": right(PLAIN),
    "byte order mark": right(b"\xef\xbb\xbf" + PLAIN.encode()),
    "utf-16 with its mark": right(PLAIN.encode("utf-16")),
    "utf-16 without a mark": right(PLAIN.encode("utf-16-le")),
    "utf-16 big end first": right(b"\xfe\xff" + PLAIN.encode("utf-16-be")),
    "western code page": right(changed(3, "5,25,na\xefve", PLAIN.replace("mm\n", "mm,note\n")).encode("cp1252")),
    "lines of Windows": right(PLAIN.replace("\n", "\r\n")),
    "lines of an old Mac": right(PLAIN.replace("\n", "\r")),
    "no last line end": right(PLAIN.rstrip()),
    "blank lines": right(PLAIN.replace("\n", "\n\n")),
    "rows of separators only": right(PLAIN + ",\n,,\n"),
    "tabs": right(PLAIN.replace(",", "\t")),
    "semicolons and decimal commas": right(_SEMICOLON),
    "decimal commas in quotation marks": right(changed(3, '5,"25,0"')),
    "spaces and hard spaces": right(PLAIN.replace(",", " ,\N{NO-BREAK SPACE}")),
    "everything in quotation marks": right(
        "".join('"' + line.replace(",", '","') + '"\n' for line in PLAIN.splitlines())
    ),
    "comment lines": right("# at the gate\n" + changed(3, "5,25  # a root") + "# rain\n"),
    "comment column with separators in it": right(
        changed(4, '5,50,"wet, soft; brown"', PLAIN.replace("mm\n", "mm,Remarks\n"))
    ),
    "blank lines above the headings": right("\n\n" + PLAIN),
    "inches": right(_table("blows;penetration total (in)", [(b, d / 25.4) for b, d in READINGS], ";")),
    "feet": right(_table("Number of blows,Depth (ft)", [(b, d / 304.8) for b, d in READINGS])),
    "unit given": right(PLAIN.replace(" mm", ""), unit="mm"),
    "unit in a row of its own": right(PLAIN.replace("depth mm\n", "depth\n,mm\n")),
    "unit in the cells": right("blows,depth\n" + "".join(f"{b},{d} mm\n" for b, d in READINGS)),
    "total of blows, said": right(_table("cumulative blows,depth mm", _TOTAL_BLOWS)),
    "total of blows, given": right(_table("blows,depth mm", _TOTAL_BLOWS), blows="total"),
    "penetration per step": right(_table("blows,penetration per step mm", [(0, 0), *_STEPS])),
    "columns the other way round, with headings": right(_table("depth mm,blows", [(d, b) for b, d in READINGS])),
    "no headings": right(ROWS, unit="mm"),
    "worked-out columns beside": right(PLAIN.replace("\n", ",5\n").replace("mm,5", "mm,mm/blow", 1)),
    "the light hammer beside half the depth": right(
        "blows,depth mm,hammer kg\n" + "".join(f"{b},{d / 2},4.6\n" for b, d in READINGS)
    ),
    # ---- refused
    "bars between the cells": wrong(1, "separated by commas, semicolons or tabs", PLAIN.replace(",", "|")),
    "other separator below the headings": wrong(2, "'0;0'", changed(2, "0;0")),
    "decimal comma between commas": wrong(3, "a comma inside a number", changed(3, "5,25,5")),
    "thousands or decimals": wrong(4, "may mean thousands", changed(4, '5,"1,050"')),
    "point and comma": wrong(4, "other rows have a decimal comma", changed(4, "5;5.0", _SEMICOLON)),
    "no unit": wrong(0, "nothing says the unit", PLAIN.replace(" mm", "")),
    "unit against the heading": wrong(0, "they must agree", PLAIN, unit="in"),
    "an unknown unit": wrong(0, "it must be one of: mm, cm, in, m, ft", PLAIN, unit="yd"),
    "mixed units": wrong(5, "the other depths are in mm", changed(5, "5,2.95 in")),
    "a unit in some cells only": wrong(3, "without the unit", "blows,depth\n0,0 mm\n5,25\n5,50 mm\n"),
    "inches taken for millimetres": wrong(
        3, "not inches", _table("blows,depth mm", [(b, round(d / 25.4, 2)) for b, d in READINGS])
    ),
    "centimetres taken for millimetres": wrong(
        10, "the unit may be wrong", _table("blows per step,depth mm", [(min(b, 1), d / 10) for b, d in READINGS])
    ),
    "millimetres taken for inches": wrong(7, "from 1 to 350 mm/blow", PLAIN.replace("mm", "in")),
    "depth going back": wrong(6, "the depth goes back by 20 mm, to 55 mm", changed(6, "5,55")),
    "total of blows going back": wrong(
        6, "goes back by 5", changed(6, "10,100", _table("total blows,depth mm", _TOTAL_BLOWS))
    ),
    "zero blows": wrong(5, "with no blow", changed(5, "0,75")),
    "duplicate total": wrong(5, "written twice", changed(5, "10,50", _table("total blows,depth mm", _TOTAL_BLOWS))),
    "negative depth": wrong(3, "it must be at least 0", changed(3, "5,-25")),
    "negative blows": wrong(3, "from 0 to 10,000", changed(3, "-5,25")),
    "half a blow": wrong(3, "whole number of blows", changed(3, "2.5,25")),
    "words for a number": wrong(4, "'five'", changed(4, "five,50")),
    "a word for a depth": wrong(4, "'refused'", changed(4, "5,refused")),
    "missing depth": wrong(4, "depth is missing", changed(4, "5,")),
    "missing blows": wrong(4, "blows is missing", changed(4, ",50")),
    "not a number": wrong(4, "'nan'", changed(4, "5,nan")),
    "beyond all numbers": wrong(4, "must be finite", changed(4, "5,1e999")),
    "more blows than a day has": wrong(4, "from 0 to 10,000", changed(4, "1000000,50")),
    "an index too great": wrong(10, "from 1 to 350 mm/blow", changed(10, "2,960")),
    "too deep": wrong(5, "at most 3000 mm", "blows per step,depth mm\n0,0\n10,900\n10,1900\n10,3075\n"),
    "an index too small in between": wrong(4, "from 1 to 350 mm/blow", changed(4, "30,50")),
    "swapped columns": wrong(0, "per step or in total", _table("blows,depth mm", [(d, b) for b, d in READINGS][:7])),
    "swapped columns without headings": wrong(
        0, "per step or in total", _table("0,0", [(d, b) for b, d in READINGS][1:7]), unit="mm"
    ),
    "no column of blows": wrong(1, "no heading names the blows", PLAIN.replace("blows", "count")),
    "no column of depth": wrong(1, "no heading names the depth", PLAIN.replace("depth", "way")),
    "two columns of depth": wrong(1, "two columns may hold the depth", "blows,depth mm,depth in\n0,0,0\n"),
    "three columns without headings": wrong(1, "name the columns", "0,0,8\n5,25,8\n", unit="mm"),
    "blows that may be a total": wrong(0, "per step or in total", "blows,depth mm\n0,0\n5,25\n10,60\n15,110\n"),
    "penetration that may be a total": wrong(0, "per step or in total", "blows,penetration mm\n5,60\n5,65\n5,70\n"),
    "no seating and one reading": wrong(2, "one reading only", "blows,depth mm\n5,125\n"),
    "too shallow": wrong(4, "at least 100 mm", "blows per step,depth mm\n0,0\n5,25\n5,50\n"),
    "an unknown hammer": wrong(3, "it must be 8 kg or 4.6 kg", "blows,depth mm,hammer kg\n0,0,8\n5,25,10\n5,60,8\n"),
    "a hammer against the one given": wrong(
        2, "they must agree", "blows,depth mm,hammer kg\n0,0,4.6\n5,25,4.6\n", hammer=8
    ),
    "a hammer changed in a comment": wrong(
        6, "must say which was used where", changed(6, "5,100 # 4.6 kg hammer from here")
    ),
    "an unknown soil": wrong(3, "soil is 'jelly'", "blows,depth mm,soil\n0,0,clay\n5,25,jelly\n"),
    "a new drop that is not named": wrong(11, "a column 'drop' must say so", PLAIN + ROWS),
    "a drop in two parts": wrong(6, "starts again", "drop,blows,depth mm\nA,0,0\nA,5,125\nB,0,0\nB,5,125\nA,5,150\n"),
    "no drop named": wrong(2, "the first row must name the drop", "drop,blows,depth mm\n,0,0\nA,5,125\n"),
    "an open quotation mark": wrong(4, "not closed", changed(4, '5,"50')),
    "headings only": wrong(0, "no readings under them", "blows,depth mm\n"),
    "comments only": wrong(0, "holds no readings", "# gate\n# nothing read\n"),
    "empty": wrong(0, "the file is empty", b""),
    "one column": wrong(1, "one column only", "depth mm\n0\n25\n"),
    "a hundred columns": wrong(3, "at most 60", changed(3, "5,25" + "," * 100)),
    "a workbook": wrong(0, "this is a workbook", b"PK\x03\x04" + bytes(range(64))),
    "binary junk": wrong(0, "not a text file", bytes(range(256)) * 40),
    "binary junk behind a byte order mark": wrong(0, "not a text file", b"\xff\xfe" + b"\xd8\x00\xd8" * 40),
    "thousands of rows of one drop": wrong(
        3003, "at most 3000 mm", "blows per step,depth mm\n" + "".join(f"1,{d}\n" for d in range(4_000))
    ),
}  # fmt: skip
MANY = Case(_MANY.encode())
