"""Tickets, hours and results as people and scales write them, right and wrong, each with what must become of it.

Every case is invented. A right one must give the very tickets of `PLAIN`; a wrong one is refused in one line with its
row.
"""

from dataclasses import dataclass

JOBS = ("FH-1", "FH-2")
PLAIN = """date,job,ticket,material,kind,gross ton,tare ton,net ton,volume yd3,truck
2026-05-04,FH-1,401,base-stone,delivered,26.00,13.00,13.00,8.8,tandem
2026-05-04,FH-1,402,base-stone,delivered,25.50,13.00,12.50,8.4,tandem
2026-05-05,FH-2,403,bedding-sand,delivered,17.25,13.00,4.25,,tandem
2026-05-05,FH-2,404,spoil,,,,,,dump
2026-05-06,FH-1,,base-stone,left over,,,1.50,,
"""
HOURS = "date,job,work,crew hours,machine hours\n2026-05-04,FH-1,dig,3.5,4\n2026-05-05,FH-2,base-place,2,\n"
RESULTS = "job,result,built,price before tax,extra depth in\nFH-1,won,stone,15000,2\nFH-2,open,,,\n"


HEAD = "date,job,ticket,supplier,material,net ton\n"
LOADS = f"{HEAD}2026-04-29,FH-1,23955,Ostmoor,base-stone,13.12\n2026-04-29,FH-1,23976,Ostmoor,base-stone,12.79\n"


@dataclass(frozen=True)
class Case:
    """A file, and either nothing (it gives the plain tickets) or the row and words of its refusal."""

    content: bytes
    row: int = 0
    told: str = ""


def right(text: str | bytes) -> Case:
    return Case(text.encode() if isinstance(text, str) else text)


def wrong(row: int, told: str, text: str | bytes) -> Case:
    return Case(text.encode() if isinstance(text, str) else text, row, told)


def changed(line: int, old: str, new: str, text: str = PLAIN) -> str:
    """Return a file with words of one line replaced, the first line being 1."""
    lines = text.splitlines()
    assert old in lines[line - 1]
    lines[line - 1] = lines[line - 1].replace(old, new, 1)
    return "\n".join(lines) + "\n"


def without(column: int, text: str = PLAIN) -> str:
    """Return a file without one of its columns, from 0."""
    rows = [line.split(",") for line in text.splitlines()]
    return "".join(",".join(row[:column] + row[column + 1 :]) + "\n" for row in rows)


_SEMICOLON = PLAIN.replace(",", ";").replace(".", ",")
_KG = (
    PLAIN.replace("gross ton,tare ton,net ton", "gross kg,tare kg,net kg")
    .replace("26.00,13.00,13.00", "23586.80324,11793.40162,11793.40162")
    .replace("25.50,13.00,12.50", "23133.21087,11793.40162,11339.80925")
    .replace("17.25,13.00,4.25", "15648.936765,11793.40162,3855.535145")
    .replace("1.50", "1360.77711")
)

CASES: dict[str, Case] = {
    "plain": right(PLAIN),
    "byte order mark": right(b"\xef\xbb\xbf" + PLAIN.encode()),
    "utf-16": right(PLAIN.encode("utf-16")),
    "lines of Windows": right(PLAIN.replace("\n", "\r\n")),
    "blank lines and remarks": right("# May\n\n" + PLAIN.replace("\n", "\n\n") + ",,,,,,,,,\n"),
    "tabs": right(PLAIN.replace(",", "\t")),
    "semicolons and decimal commas": right(_SEMICOLON),
    "kilograms": right(_KG),
    "a unit in the cells": right(
        PLAIN.replace("net ton", "net").replace(",13.00,8.8", ",13.00 short tons,8.8").replace(",12.50,", ",12.50 ton,")
        .replace(",4.25,", ",4.25 tons,").replace(",1.50,", ",1.50 ton,")
    ),
    "a column of units": right(
        "".join(
            line.replace(" ton", "") + ("," + ("unit" if not place else "ton")) + "\n"
            for place, line in enumerate(PLAIN.splitlines())
        )
    ),
    "net from gross and tare": right(PLAIN.replace("13.00,13.00", "13.00,").replace("13.00,12.50", "13.00,")),
    "other words and case": right(
        PLAIN.replace("base-stone", "Base Stone").replace("spoil", "haul soil away").replace("FH-1", "fh-1")
        .replace("left over", "Left-over")
    ),
    "days as in the States": right(PLAIN.replace("2026-05-04", "5/4/2026")),
    "the time behind the day": right(PLAIN.replace("2026-05-04", "2026-05-04 07:30")),
    "net within the scale's rounding": right(changed(2, "26.00,13.00,13.00", "26.01,13.00,13.00")),
    # ---- refused
    "no headings": wrong(1, "they must name", "\n".join(PLAIN.splitlines()[1:]) + "\n"),
    "an unknown job": wrong(3, "job is 'FH-9'; it must be one of: FH-1, FH-2", changed(3, "FH-1", "FH-9")),
    "no job in a row": wrong(4, "job is missing", changed(4, "FH-2", "")),
    "an unknown material": wrong(2, "material is 'basestone'", changed(2, "base-stone", "basestone")),
    "a negative weight": wrong(3, "it must be from 0 to 50 ton", changed(3, "12.50", "-12.50")),
    "a weight of nought": wrong(3, "the net weight is 0", changed(3, "25.50,13.00,12.50", ",,0")),
    "no weight of a load of stone": wrong(3, "the net weight is missing", changed(3, "25.50,13.00,12.50", ",,")),
    "a word for a weight": wrong(3, "net ton is 'heavy'", changed(3, "12.50", "heavy")),
    "pounds under a heading of tons": wrong(3, "is the unit right?", changed(3, "25.50,13.00,12.50", ",,25000")),
    "a ticket twice": wrong(3, "ticket '401' is listed twice: it is in", changed(3, "402", "401")),
    "no ticket number in one row": wrong(3, "the ticket number is missing", changed(3, "402", "")),
    "gross, tare and net at odds": wrong(2, "they must agree within 20 kg", changed(2, "26.00", "26.10")),
    "tare above gross": wrong(2, "gross must be the greater", changed(2, "26.00,13.00,13.00", "13.00,26.00,")),
    "two units": wrong(2, "they must agree", changed(2, "13.00,8.8", "13.00 t,8.8")),
    "an unknown unit": wrong(2, "one with its unit: ton, t", changed(2, "13.00,8.8", "13.00 st,8.8")),
    "no unit": wrong(0, "nothing says the unit of 'net'", PLAIN.replace("net ton", "net")),
    "a unit of another kind": wrong(1, "it must be one of: ton, t, lb, kg", PLAIN.replace("net ton", "net (yd3)")),
    "thousands or decimals": wrong(3, "may mean thousands", changed(3, "12.50", '"12,500"')),
    "point and comma": wrong(3, "other rows have a decimal comma", changed(3, "12,50", "12.50", _SEMICOLON)),
    "an impossible day": wrong(2, "date is '2026-02-30'", changed(2, "2026-05-04", "2026-02-30")),
    "day first with slashes": wrong(2, "date is '13/5/2026'", changed(2, "2026-05-04", "13/5/2026")),
    "a volume that cannot hold the weight": wrong(2, "is a unit wrong?", changed(2, "8.8", "2.0")),
    "soil left over": wrong(5, "spoil-haul is hauled away", changed(5, "spoil,,", "spoil,left over,")),
    "an unknown kind": wrong(2, "kind is 'lost'", changed(2, "delivered", "lost")),
    "a row of nothing but a date": wrong(7, "this row has no material", PLAIN + "2026-05-07,FH-1,,,,,,,,\n"),
    "two columns of net weight": wrong(1, "two columns may hold the net", PLAIN.replace("gross ton", "weight ton")),
    "more cells than headings": wrong(3, "more cells than the first", changed(3, "tandem", "tandem,x")),
    "headings only": wrong(0, "no rows under them", PLAIN.splitlines()[0] + "\n"),
    "no column of the job": wrong(0, "no heading names the job", without(1)),
    "an open quotation mark": wrong(3, "is not closed", changed(3, "tandem", '"tandem')),
    "a quotation mark inside a heading": wrong(
        1, "the headings are", 'date,job,wo"rk,,crew hours,machine hours"\n2026-05-04,FH-1,dig,3.5,4,\n'
    ),
    "a workbook": wrong(0, "this is a workbook", b"PK\x03\x04 and so on"),
    "nothing": wrong(0, "the file is empty; it must hold columns of tickets", b""),
    "hours of no work": wrong(2, "work is 'digging'", HOURS.replace("dig,", "digging,")),
    "hours of nought": wrong(2, "hours are missing", HOURS.replace("3.5,4", "0,")),
    "too many hours": wrong(2, "from 0 to 200 h", HOURS.replace("3.5,4", "3.5,400")),
    "days instead of hours": wrong(1, "does not count hours", HOURS.replace("crew hours", "crew days")),
    "a negative hour": wrong(2, "must be from 0 to 200 h", HOURS.replace("3.5", "-3.5")),
    "a ticket and hours in one row": wrong(
        2, "a row is a ticket or hours, not both", "job,material,net ton,work,crew hours\nFH-1,spoil,,dig,2\n"
    ),
    "an unknown result": wrong(2, "result is 'perhaps'", RESULTS.replace("won", "perhaps")),
    "a job's result twice": wrong(3, "job FH-1 appears twice", RESULTS.replace("FH-2,open", "FH-1,open")),
    "an unknown option": wrong(2, "built is 'concrete'", RESULTS.replace("stone", "concrete")),
    "a price of nought": wrong(2, "price is 0", RESULTS.replace("15000", "0")),
    "an extra depth of feet": wrong(2, "is the unit right?", RESULTS.replace(",2\n", ",200\n")),
    "a load once more under another spelling": wrong(
        4, "is listed twice: it is '23955'", LOADS + "2026-04-29,FH-1,023955,,base-stone,13.12\n"
    ),
    **{
        f"a total, {place}": wrong(row, "this row is a total of others; leave it out", text)
        for place, (row, text) in enumerate((
            (4, LOADS + ",FH-1,Total,,base-stone,25.91\n"), (4, LOADS + "Total,FH-1,23999,,base-stone,25.91\n"),
            (4, LOADS + ",TOTAL:,,,,25.91\n"), (4, LOADS + "2026-04-29,FH-1,Sum,,base-stone,25.91\n"),
            (3, "date,job,work,crew hours\n2026-05-03,FH-1,dig,3\n,FH-1,Total,3\n"),
            (3, "date,job,work,crew hours\n2026-05-03,FH-1,dig,3\nGrand total,FH-1,dig,3\n"),
        ))
    },
    **{
        f"{heading} for hours": wrong(1, "say 'crew hours' or 'machine hours'", f"job,work,{heading}\nFH-1,dig,3\n")
        for heading in ("crew size", "crew", "men", "people", "crew (men)", "crew count", "machine")
    },
    **{
        heading: wrong(1, "counts the hours of each person; it must be crew hours", f"job,work,{heading}\nFH-1,dig,3\n")
        for heading in ("man hours", "labor hours", "man-hrs")
    },
}  # fmt: skip
