"""Tickets, hours, invoices and results from files of text, every row checked; a fault names its file and row."""

import re
from collections.abc import Callable, Iterable, Mapping, MutableMapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from math import inf, isnan
from pathlib import Path
from typing import Any, Final

import pandas as pd

from basecalc.company import Company
from basecalc.core.errors import BasecalcError, InputError, OutOfRangeError
from basecalc.core.numbers import cents, shown
from basecalc.core.units import convert
from basecalc.ground.cone_log_file import Faults, Text, cells, numbers, read_bytes
from basecalc.season.records import (
    AGREE_KG,
    LOST,
    RESULTS,
    Hours,
    Invoice,
    Load,
    Records,
    Result,
    Ticket,
)
from basecalc.takeoff.codes import codes, price_unit
from basecalc.takeoff.earthwork import HEAVIEST_KG_M3, LIGHTEST_KG_M3

MATERIALS: Final = ("base-stone", "bedding-sand", "foundation-fill")
HAULS: Final = ("spoil-haul", "old-pavement-haul")
_USES: Final = {"base": "base-stone", "bedding": "bedding-sand", "fill": "foundation-fill"}
# What people write on tickets, beside the code and the title of a quantity.
_ALSO: Final[Mapping[str, tuple[str, ...]]] = {
    "base-stone": ("stone", "base", "crushed stone", "crushed base"),
    "bedding-sand": ("sand", "bedding"),
    "foundation-fill": ("fill", "foundation fill"),
    "spoil-haul": ("spoil", "soil", "dirt"),
    "old-pavement-haul": ("old pavement", "broken pavement"),
}
LEFT_OVER: Final[Mapping[str, bool]] = {
    "": False, "delivered": False, "in": False, "hauled": False, "out": False,
    "left over": True, "leftover": True, "returned": True, "brought back": True,
}  # fmt: skip


def plain(word: str) -> str:
    """Return a word as it is compared: lower case, single spaces.

    Examples
    --------
    >>> plain("  Left-Over ")
    'left over'
    """
    return " ".join(word.casefold().replace("-", " ").replace("_", " ").split())


def material_words(company: Company) -> dict[str, tuple[str, str]]:
    """Return the words for what a ticket brings or takes: each with its code and the owner's stone it names.

    Examples
    --------
    >>> from basecalc.company import company
    >>> given = {"name": "Any Paving", "overhead": 0.1, "profit": 0.1, "contingency": 0, "tax_rate": 0, "deposit": 0}
    >>> material_words(company(given))["sand"]
    ('bedding-sand', '')
    """
    words: dict[str, tuple[str, str]] = {}
    for code, also in _ALSO.items():
        for word in (code, codes()[code].title, *also):
            words[plain(word)] = (code, "")
    for stone in company.stones:
        for word in (stone.code, stone.name):
            if plain(word) not in words or word == stone.name:
                words[plain(word)] = (_USES[stone.kind], stone.name if word == stone.name else "")
    return words


def work_words() -> dict[str, str]:
    """Return the words for kinds of work, each with its code.

    Examples
    --------
    >>> work_words()["dig"]
    'dig'
    """
    known = {key: entry.title for key, entry in codes().items() if entry.kind == "work"}
    return {plain(word): key for key, title in known.items() for word in (key, title)}


HOLDS: Final = (
    "columns of tickets (job, material, net weight), of hours (job, work, crew hours), of results (job, result) or of "
    "invoices (job, what, amount)"
)
# In this order: the first that fits is what a column is.
_KINDS: Final[tuple[tuple[str, frozenset[str]], ...]] = (
    ("comment", frozenset({"comment", "comments", "note", "notes", "remark", "remarks"})),
    ("date", frozenset({"date", "day"})),
    ("gross", frozenset({"gross"})),
    ("tare", frozenset({"tare", "empty"})),
    ("extra", frozenset({"extra", "deeper"})),
    ("volume", frozenset({"volume"})),
    ("net", frozenset({"net", "weight", "mass"})),
    ("price", frozenset({"price", "charged", "invoiced"})),
    ("unit", frozenset({"unit", "units"})),
    ("amount", frozenset({"amount"})),
    ("invoice", frozenset({"invoice"})),
    ("what", frozenset({"what"})),
    ("reason", frozenset({"reason", "why"})),
    ("revision", frozenset({"revision"})),
    ("change", frozenset({"change"})),
    ("ticket", frozenset({"ticket", "slip", "docket"})),
    ("checked", frozenset({"checked", "cleared"})),
    ("result", frozenset({"result", "outcome"})),
    ("built", frozenset({"built", "option"})),
    ("material", frozenset({"material", "product"})),
    ("kind", frozenset({"kind", "way"})),
    ("work", frozenset({"work", "task"})),
    ("supplier", frozenset({"supplier", "quarry", "pit"})),
    ("truck", frozenset({"truck", "vehicle"})),
    ("job", frozenset({"job", "quote", "project"})),
)
# What a plain number of a column may be in.
UNITS_OF: Final[Mapping[str, tuple[str, ...]]] = {
    "gross": ("ton", "t", "lb", "kg"), "tare": ("ton", "t", "lb", "kg"), "net": ("ton", "t", "lb", "kg"),
    "volume": ("yd3", "m3", "ft3"), "crew": ("h",), "machine": ("h",), "extra": ("in", "mm"),
}  # fmt: skip
_DEPTHS: Final = {"in": "in", "inch": "in", "inches": "in", "mm": "mm"}
_TIMES: Final = frozenset({"day", "days", "minute", "minutes", "min", "week", "weeks"})
_HOURS: Final = frozenset({"hours", "hrs"})
_HOUR: Final = _HOURS | {"h", "hr", "hour"}  # with the word crew or machine beside it
_WHOSE: Final = frozenset({"crew", "machine"})
_BESIDE: Final = _WHOSE | _HOUR | {"time", "work", "worked", "spent", "total"}
_PEOPLE: Final = frozenset({"man", "men", "person", "people", "labor", "worker", "workers"})


@dataclass(frozen=True, slots=True)
class Heading:
    """One heading: its place from 0, its text, what the column holds, and the unit it says."""

    column: int
    text: str
    kind: str
    unit: str = ""


def unit_word(kind: str, word: str) -> str:
    """Return the unit that a word stands for in a kind of column; nothing where it is none of its units.

    Examples
    --------
    >>> unit_word("net", "short tons"), unit_word("net", "yd3"), unit_word("extra", "inches")
    ('ton', '', 'in')
    """
    plain = " ".join(word.split()).casefold()
    unit = _DEPTHS.get(plain, "") if kind == "extra" else price_unit(plain) or ""
    return unit if unit in UNITS_OF.get(kind, ()) else ""


def heading(column: int, text: str) -> Heading:
    """Return what a heading means.

    Examples
    --------
    >>> heading(3, "Net weight (short tons)"), heading(0, "job no.").kind
    (Heading(column=3, text='Net weight (short tons)', kind='net', unit='ton'), 'job')
    """
    plain = text.casefold().replace("_", " ").replace("-", " ")
    bracketed = re.findall(r"[(\[]\s*([^)\]]*?)\s*[)\]]", plain)
    words = re.findall(r"[^\W_]+", plain)
    kind = _hours_of(set(words), text)
    if kind is None:
        kind = next((name for name, signs in _KINDS if set(words) & signs), "")
    last = [" ".join(words[-2:]), words[-1]] if words else []
    unit = next((found for word in (*bracketed, *last) if (found := unit_word(kind, word))), "")
    if kind in UNITS_OF and bracketed and bracketed[0] and not unit:
        offered = ", ".join(UNITS_OF[kind])
        raise InputError(
            f"the heading {shown(text)} names the unit {shown(bracketed[0])}; it must be one of: {offered}"
        )
    return Heading(column, text, kind, unit)


def _hours_of(words: set[str], text: str) -> str | None:
    """Return whose hours a heading counts; nothing where it names a crew or machine but not hours; None for others."""
    counts = bool(words & _HOURS or (words & _WHOSE and words & _HOUR))
    if words & _WHOSE and words & _TIMES:
        raise InputError(f"the heading {shown(text)} does not count hours; it must be hours")
    if counts and words & _PEOPLE:
        raise InputError(
            f"the heading {shown(text)} counts the hours of each person; it must be crew hours, the hours the whole "
            "crew worked"
        )
    if counts and words <= _BESIDE:
        return "machine" if "machine" in words else "crew"
    return "" if counts or words & (_WHOSE | _PEOPLE) else None


def headings(first: Sequence[str], where: str) -> dict[str, Heading]:
    """Return the columns of a list by what they hold; those that nobody knows by their text behind a '?'."""
    found: dict[str, Heading] = {}
    for column, text in enumerate(first):
        try:
            one = heading(column, text)
        except InputError as refusal:
            raise refusal.at(where) from None
        if not one.kind:
            found[f"?{text}"] = one
        elif one.kind in found and one.kind != "comment":
            raise InputError(
                f"two columns may hold the {one.kind}, {shown(found[one.kind].text)} and {shown(text)}; only one may",
                where=where,
            )
        else:
            found[one.kind] = one
    if not found.keys() & {"result", "material", "work", "amount"}:
        raise InputError(f"the headings are {shown(', '.join(first))}; they must name {HOLDS}", where=where)
    if "amount" in found and "what" not in found:
        raise InputError("no heading names what was invoiced; one must say 'what'", where=where)
    if "material" in found and not found.keys() & {"net", "gross"}:
        raise InputError("no heading names the net weight; one must say it, such as 'net (ton)'", where=where)
    if "work" in found and not found.keys() & {"crew", "machine"}:
        other = next((one.text for one in found.values() if set(one.text.casefold().split()) & _WHOSE), "")
        more = f"; {shown(other)} may be how many there were, or which" if other else ""
        raise InputError(f"no heading names hours; one must say 'crew hours' or 'machine hours'{more}", where=where)
    return found


INSIDE: Final[Mapping[str, str]] = {
    "gross": "kg", "tare": "kg", "net": "kg", "volume": "m3", "crew": "h", "machine": "h", "extra": "m",
}  # fmt: skip
# Beyond these a number is a slip of the pen, or in another unit than its heading says.
MOST: Final[Mapping[str, float]] = {
    "gross": 75_000.0, "tare": 30_000.0, "net": 45_000.0, "volume": 60.0, "crew": 200.0, "machine": 200.0, "extra": 1.0,
}  # fmt: skip
_DATES: Final = (
    (re.compile(r"\d{4}-\d{1,2}-\d{1,2}$"), "%Y-%m-%d"),
    (re.compile(r"\d{1,2}/\d{1,2}/\d{4}$"), "%m/%d/%Y"),
    (re.compile(r"\d{1,2}\.\d{1,2}\.\d{4}$"), "%d.%m.%Y"),
)


def column(frame: pd.DataFrame, known: Mapping[str, Heading], kind: str) -> Text:
    """Return the cells of a kind of column by row; blank ones where the list has no such column."""
    return frame[known[kind].column] if kind in known else pd.Series("", frame.index, dtype=str)


def amounts(frame: pd.DataFrame, known: Mapping[str, Heading], kind: str, faults: Faults, *, nought: bool) -> pd.Series:
    """Return a column of amounts in their fixed unit, NaN where a cell is blank."""
    text = column(frame, known, kind)
    filled = text[text != ""]
    if filled.empty:
        return pd.Series(float("nan"), frame.index)
    title, offered = known[kind], UNITS_OF[kind]
    parts = filled.str.extract(r"^(?P<number>.*?)\s*(?P<unit>[A-Za-z][A-Za-z0-9^ ]*)?$")
    written = parts["unit"].fillna("")
    faults.add((written != "") & (written.map(lambda word: unit_word(kind, word)) == ""), InputError, lambda row: (
        f"{title.text} is {shown(text[row])}; it must be a number, or a number with one of: {', '.join(offered)}"
    ))  # fmt: skip
    weighed = kind in ("gross", "tare", "net")
    beside = column(frame, known, "unit")[filled.index] if weighed else pd.Series("", filled.index, dtype=str)
    faults.add((beside != "") & (beside.map(lambda word: unit_word(kind, word)) == ""), InputError, lambda row: (
        f"unit is {shown(beside[row])}; it must be one of: {', '.join(offered)}"
    ))  # fmt: skip
    own, other = (part.map(lambda word: unit_word(kind, word) if word else "") for part in (written, beside))
    said = pd.DataFrame({"cell": own, "beside": other, "heading": title.unit}, index=filled.index)
    unit = said["cell"].where(own != "", said["beside"].where(other != "", said["heading"]))
    if kind in ("crew", "machine"):
        unit = unit.where(unit != "", "h")
    for one in ("beside", "heading"):
        faults.add((said[one] != "") & (said[one] != unit), InputError, lambda row, one=one: (  # type: ignore[misc]
            f"{title.text} is {shown(text[row])} in {unit[row]}, but the {'column' if one == 'beside' else one} of "
            f"units says {said[one][row]}; they must agree"
        ))  # fmt: skip
    if (unit == "").any() and not (written != "").any() and not (beside != "").any():
        raise InputError(
            f"nothing says the unit of {shown(title.text)}; write it in the heading, such as "
            f"'{title.text} ({offered[0]})'",
            where=faults.where,
        )
    faults.add(
        unit == "",
        InputError,
        lambda row: f"{title.text} is {shown(text[row])}, without a unit; it must be one of: {', '.join(offered)}",
    )
    values = numbers(parts["number"], title.text, "it must be a number", faults)
    inside = values * unit.map(lambda word: convert(1.0, word, INSIDE[kind]) if word else float("nan"))
    faults.add((values < 0) | ((values == 0) & (not nought)), OutOfRangeError, lambda row: (
        f"{title.text} is {shown(text[row])}; it must be {'at least' if nought else 'above'} 0 {unit[row]}"
    ))  # fmt: skip
    faults.add(inside > MOST[kind], OutOfRangeError, lambda row: (
        f"{title.text} is {shown(text[row])} {unit[row] if not written[row] else ''}; it must be at most "
        f"{convert(MOST[kind], INSIDE[kind], unit[row]):,.3g} {unit[row]}; is the unit right?"
    ).replace(" ;", ";"))  # fmt: skip
    return inside.reindex(frame.index)


def dates(text: Text, faults: Faults) -> "pd.Series[Any]":
    """Return a column of dates; None for a blank cell, which is allowed."""
    found = pd.Series([_date(cell) for cell in text], text.index, dtype=object)
    faults.add((text != "") & found.isna(), InputError, lambda row: (
        f"date is {shown(text[row])}; it must be a day such as 2026-04-21, 4/21/2026 or 21.04.2026"
    ))  # fmt: skip
    return found


_NAMING: Final = ("job", "ticket", "date", "material", "work")  # a supplier may be called Total
_TOTAL: Final = re.compile(r"(?:grand |sub[ -]?|job |day )?(?:totals?|sums?)\b[ :.\w-]*", re.IGNORECASE)


def refuse_totals(frame: pd.DataFrame, known: Mapping[str, Heading], faults: Faults) -> None:
    """Note the first row that adds others up, as the last row of a list often does."""
    read = list(dict.fromkeys([0, *(one.column for kind, one in known.items() if kind in _NAMING)]))
    adds = frame[read].apply(lambda cells: cells.str.fullmatch(_TOTAL)).any(axis=1)
    faults.add(adds, InputError, lambda _: "this row is a total of others; leave it out, each row must be one entry")


def _date(written: str) -> date | None:
    cell = re.sub(r"[ T]\d{1,2}:\d{2}.*$", "", written)  # a scale prints the time behind the day
    for pattern, form in _DATES:
        if pattern.match(cell):
            try:
                return datetime.strptime(cell, form).date()
            except ValueError:
                return None
    return None


def words(
    text: Text, name: str, offered: Mapping[str, Any], faults: Faults, told: Callable[[], str], *, needed: bool = True
) -> pd.Series:
    """Return what the words of a column stand for; None where there is a fault or a blank."""
    if needed:
        faults.add(text == "", InputError, lambda _: f"{name} is missing; it must be one of: {told()}")
    flat = text.map(plain)
    faults.add((text != "") & ~flat.isin(list(offered)), InputError, lambda row: (
        f"{name} is {shown(text[row])}; it must be one of: {told()}"
    ))  # fmt: skip
    return flat.map(offered)


OVERLOAD: Final = 1.3  # of the largest payload; a load beyond is in another unit, or another truck's; own choice


Seen = MutableMapping[str, list[Load]]


def tickets_of(
    frame: pd.DataFrame, known: Mapping[str, Heading], jobs: "pd.Series[str]", offered: Mapping[str, tuple[str, str]],
    days: "pd.Series[Any]", payload_kg: float, faults: Faults, seen: Seen,
) -> list[Ticket]:  # fmt: skip
    """Return the tickets in some rows."""
    names = ", ".join((*MATERIALS, *HAULS))
    what = words(column(frame, known, "material"), "material", offered, faults, lambda: f"{names}, or a stone of yours")
    left = words(
        column(frame, known, "kind"), "kind", LEFT_OVER, faults, lambda: "delivered, left over", needed=False
    ).map(lambda one: one is True)
    code = what.map(lambda one: one[0] if isinstance(one, tuple) else "")
    stone = code.isin(MATERIALS)
    faults.add(left & ~stone & (code != ""), InputError, lambda row: f"kind is left over; {code[row]} is hauled away")
    net = _net(frame, known, left, faults)
    faults.add(net.isna() & (stone | left), InputError, lambda row: (
        f"the net weight is missing; {code[row] or 'this row'} needs it, or gross and tare"
    ))  # fmt: skip
    volume = amounts(frame, known, "volume", faults, nought=False)
    density = net / volume
    faults.add(stone & ~left & ((density < LIGHTEST_KG_M3) | (density > HEAVIEST_KG_M3)), OutOfRangeError, lambda row: (
        f"{net[row]:,.0f} kg in {volume[row]:,.2f} m3 is {density[row]:,.0f} kg/m3; loose stone weighs "
        f"{LIGHTEST_KG_M3:,.0f} to {HEAVIEST_KG_M3:,.0f} kg/m3; is a unit wrong?"
    ))  # fmt: skip
    written = column(frame, known, "net" if "net" in known else "gross")
    faults.add(
        (net > OVERLOAD * payload_kg) & ~written.str.contains("[A-Za-z]"), OutOfRangeError, lambda row: (
            f"the load is {_tons(net[row])}, and your largest truck on Company carries {_tons(payload_kg)}; is the "
            "unit right? Where a larger truck brought it, write the unit behind the weight"
        ),
    )  # fmt: skip
    _refuse_doubles(frame, known, stone & ~left, jobs, days, net, faults, seen)
    return [
        Ticket(
            f"{faults.where}, row {row}", str(jobs[row]), str(code[row]), what[row][1], _known(net[row]),
            _known(volume[row]) if stone[row] and not left[row] else None, bool(left[row]),
        )
        for row in frame.index if isinstance(what[row], tuple)
    ]  # fmt: skip


def _known(value: float) -> float | None:
    return None if isnan(value) else float(value)


def _net(frame: pd.DataFrame, known: Mapping[str, Heading], left: "pd.Series[bool]", faults: Faults) -> pd.Series:
    """Return the net weight [kg] as written, or gross less tare; where all three stand they must agree."""
    net = amounts(frame, known, "net", faults, nought=True)
    faults.add((net == 0) & ~left, OutOfRangeError, lambda _: "the net weight is 0; it must be above 0")
    gross, tare = (amounts(frame, known, kind, faults, nought=False) for kind in ("gross", "tare"))
    worked = gross - tare
    faults.add(worked <= 0, OutOfRangeError, lambda row: (
        f"gross is {gross[row]:,.0f} kg and tare {tare[row]:,.0f} kg; gross must be the greater"
    ))  # fmt: skip
    faults.add((worked - net).abs() > AGREE_KG, InputError, lambda row: (
        f"gross less tare is {worked[row]:,.0f} kg, but net is {net[row]:,.0f} kg; they must agree within "
        f"{AGREE_KG:.0f} kg"
    ))  # fmt: skip
    return net.fillna(worked)


def _tons(mass_kg: float) -> str:
    return f"{convert(mass_kg, 'kg', 'ton'):,.1f} ton ({mass_kg:,.0f} kg)"


def plain_number(ticket: str) -> str:
    """Return a ticket number as it is compared: a spreadsheet's 1.0 and a printed 001 are 1.

    Examples
    --------
    >>> [plain_number(one) for one in ("001", "1.0", "No. 1", "A-017", "0")]
    ['1', '1', '1', 'a17', '0']
    """
    plain = re.sub(r"^(?:no|nr|ticket)\b|[^\w.]", "", ticket.casefold().replace("_", ""))
    plain = re.sub(r"^(\d+)\.0*$", r"\1", plain.strip(".")).replace(".", "")
    return re.sub(r"(?<!\d)0+(?=\d)", "", plain)


def _refuse_doubles(
    frame: pd.DataFrame, known: Mapping[str, Heading], needed: "pd.Series[bool]", jobs: "pd.Series[str]",
    days: "pd.Series[Any]", net: "pd.Series[float]", faults: Faults, seen: Seen,
) -> None:  # fmt: skip
    if "ticket" not in known:
        return
    numbers, supplier = column(frame, known, "ticket"), column(frame, known, "supplier")
    faults.add((numbers == "") & needed, InputError, lambda _: "the ticket number is missing; other rows have one")
    again: dict[int, Load] = {}
    for row in frame.index[numbers != ""]:
        load = Load(
            f"{faults.where}, row {row}", numbers[row], supplier[row], str(jobs[row]), days[row], float(net[row])
        )
        known_by = seen.setdefault(plain_number(load.ticket), [])
        if before := _listed(load, known_by):
            again[row] = before
        known_by.append(load)
    faults.add(frame.index.to_series().isin(list(again)), InputError, lambda row: (
        f"ticket {shown(numbers[row])} is listed twice: {_spelled(again[row], numbers[row])} in {again[row].where}. "
        "Leave one out; where it is another load, add a letter to its number"
    ))  # fmt: skip


def _listed(load: Load, known_by: Iterable[Load]) -> Load | None:
    return next((other for other in known_by if load.is_again(other)), None)


def _spelled(other: Load, ticket: str) -> str:
    return "it is" if other.ticket == ticket else f"it is {shown(other.ticket)}"


_BUILT: Final = {
    "stone": "stone",
    "stone only": "stone",
    "geogrid": "geogrid",
    "with geogrid": "geogrid",
    "habit": "habit",
    "standard depth": "habit",
}
_YES: Final = {"yes": True, "no": False}
_HIGHEST: Final = 10_000_000


class _Found:
    """What is gathered over the files."""

    def __init__(self, jobs: Sequence[str], company: Company | None) -> None:
        self.jobs = {plain(number): number for number in jobs}
        self.materials, self.work = material_words(company) if company else {}, work_words()
        self.tickets: list[Ticket] = []
        self.hours: list[Hours] = []
        self.results: dict[str, Result] = {}
        self.invoices: list[Invoice] = []
        self.invoiced: dict[tuple[Any, ...], str] = {}
        self.payload_kg = max((truck.payload_kg for truck in company.trucks), default=inf) if company else inf
        self.seen: Seen = {}
        self.worked: dict[tuple[Any, ...], str] = {}
        self.doubts: dict[str, list[str]] = {}
        self.notes: list[str] = []


def read_records(paths: Sequence[str | Path], jobs: Sequence[str], company: Company | None) -> Records:
    """Return the tickets, hours and results in some files of text, checked row by row."""
    found = _Found(jobs, company)
    for path in dict.fromkeys(str(path) for path in paths):
        frame = cells(read_bytes(path, HOLDS), path, HOLDS).frame
        _read(frame, path, found)
    rows: list[Ticket | Hours | Invoice] = [*found.tickets, *found.hours, *found.invoices]
    for row in rows:
        result = found.results.get(row.job)
        if result is not None and result.result == LOST:
            raise InputError(
                f"job {row.job} is marked lost in {result.where}; a lost job has no tickets, no hours and no invoices",
                where=row.where,
            )
    return Records(
        tuple(dict.fromkeys(map(str, paths))), tuple(found.tickets), tuple(found.hours), found.results,
        tuple(dict.fromkeys(found.notes)), {job: tuple(told) for job, told in found.doubts.items()},
        tuple(found.invoices),
    )  # fmt: skip


def _read(frame: pd.DataFrame, where: str, found: _Found) -> None:
    known = headings([str(cell) for cell in frame.iloc[0]], f"{where}, row {frame.index[0]}")
    body = frame.iloc[1:]
    if body.empty:
        raise InputError("there are headings but no rows under them", where=where)
    faults = Faults(where)
    try:
        refuse_totals(body, known, faults)
        days = dates(column(body, known, "date"), faults)
        jobs = _jobs(body, known, found, faults)
        for kind in known:
            if kind.startswith("?") and kind != "?":
                found.notes.append(f"Not used: the column {shown(kind[1:])} of {where}")
        if "result" in known:
            results = _results(body, known, jobs, days, found, faults)
            faults.check()
            found.results |= results
            return
        if "amount" in known:
            invoices = _invoices(body, known, jobs, days, found, faults)
            faults.check()
            found.invoices += invoices
            return
        material, work = (column(body, known, kind) != "" for kind in ("material", "work"))
        faults.add(material & work, InputError, lambda _: (
            "this row has a material and a work; a row is a ticket or hours, not both"
        ))  # fmt: skip
        faults.add(~material & ~work, InputError, lambda _: f"this row has no {_wanted(known)}")
        tickets = (
            tickets_of(
                body[material], known, jobs, found.materials, days, found.payload_kg, faults, found.seen
            ) if material.any() else []
        )  # fmt: skip
        hours = _hours(body[work & ~material], known, jobs, days, found, faults) if work.any() else []
    except BasecalcError:
        faults.check()  # a fault of a row comes before one of the whole file
        raise
    faults.check()
    if tickets and "ticket" not in known:
        found.notes.append(f"{where} has no column of ticket numbers: a ticket entered twice cannot be seen")
    found.tickets += tickets
    found.hours += hours


def _wanted(known: Mapping[str, Heading]) -> str:
    return " and no ".join(kind for kind in ("material", "work") if kind in known)


def _jobs(frame: pd.DataFrame, known: Mapping[str, Heading], found: _Found, faults: Faults) -> "pd.Series[str]":
    if "job" not in known:
        if len(found.jobs) > 1:
            raise InputError(
                f"no heading names the job, and there are {len(found.jobs)} jobs; one must say 'job'",
                where=faults.where,
            )
        return pd.Series(next(iter(found.jobs.values())), frame.index)
    names = list(found.jobs.values())
    few = ", ".join(names[:6]) + (f" and {len(names) - 6} more" if len(names) > 6 else "")
    return words(column(frame, known, "job"), "job", found.jobs, faults, lambda: few)


def _hours(
    frame: pd.DataFrame, known: Mapping[str, Heading], jobs: "pd.Series[str]", days: "pd.Series[Any]", found: _Found,
    faults: Faults,
) -> list[Hours]:  # fmt: skip
    offered = ", ".join(dict.fromkeys(found.work.values()))
    code = words(column(frame, known, "work"), "work", found.work, faults, lambda: offered)
    crew, machine = (amounts(frame, known, kind, faults, nought=True) for kind in ("crew", "machine"))
    faults.add(crew.fillna(0) + machine.fillna(0) == 0, InputError, lambda _: (
        "hours are missing; the row must have crew hours or machine hours above 0"
    ))  # fmt: skip
    faults.check()
    comment = column(frame, known, "comment")
    for row in frame.index:
        said = (jobs[row], code[row], days[row], _some(crew[row]), _some(machine[row]), comment[row])
        where = f"{faults.where}, row {row}"
        before = found.worked.setdefault(said, where)
        if before != where:
            found.doubts.setdefault(str(jobs[row]), []).append(
                f"{where} has the hours of {before} once more: entered twice? A comment on one of them says that both "
                "are right"
            )
    return [
        Hours(f"{faults.where}, row {row}", str(jobs[row]), str(code[row]), _some(crew[row]), _some(machine[row]))
        for row in frame.index
    ]


def _some(value: float) -> float | None:
    return None if isnan(value) else float(value)


def _money(text: Text, name: str, faults: Faults, lowest: float) -> pd.Series:
    """Return a column of money; blank cells are left out."""
    price = numbers(text[text != ""], name, "it must be a number, without a currency sign", faults)
    limit = "above 0" if not lowest else "not 0, at least -10,000,000"
    faults.add((price == 0) | (price < lowest) | (price > _HIGHEST), OutOfRangeError, lambda row: (
        f"{name} is {shown(text[row])}; it must be {limit} and at most {_HIGHEST:,}"
    ))  # fmt: skip
    return price


def _invoices(
    frame: pd.DataFrame, known: Mapping[str, Heading], jobs: "pd.Series[str]", days: "pd.Series[Any]", found: _Found,
    faults: Faults,
) -> list[Invoice]:  # fmt: skip
    what, text, slip, supplier = (column(frame, known, kind) for kind in ("what", "amount", "invoice", "supplier"))
    faults.add(what == "", InputError, lambda _: "what was invoiced is missing; it must be a code, a name or 'other'")
    faults.add(text == "", InputError, lambda _: "the amount is missing; a credit is written with a minus")
    amount = _money(text, "amount", faults, -_HIGHEST)
    again: dict[int, str] = {}
    for row in frame.index:
        entry = (jobs[row], plain(what[row]), text[row], plain(supplier[row]), plain_number(slip[row]))
        where = f"{faults.where}, row {row}"
        before = found.invoiced.setdefault(entry if slip[row] else (*entry, days[row]), where)
        if before == where:
            continue
        if slip[row]:
            again[int(row)] = before
        else:
            found.doubts.setdefault(str(jobs[row]), []).append(
                f"{where} has the amount of {before} once more: entered twice? Invoice numbers tell them apart"
            )
    faults.add(frame.index.to_series().isin(list(again)), InputError, lambda row: (
        f"invoice {shown(slip[row])} is listed twice for {shown(what[row])}; it is in {again[row]} already. Leave one "
        "out, or enter both as one amount"
    ))  # fmt: skip
    faults.check()
    return [
        Invoice(f"{faults.where}, row {row}", str(jobs[row]), str(what[row]), cents(Decimal(f"{amount[row]:.12g}")))
        for row in frame.index
    ]


def _place(frame: pd.DataFrame, known: Mapping[str, Heading], kind: str, faults: Faults) -> "pd.Series[int]":
    """Return the numbers of revisions or change orders, such as 2, r2 or change 2; 0 for a blank cell."""
    text = column(frame, known, kind)
    digits = text.str.extract(r"^(?i:r|change)?\s*([1-9]\d{0,5})$")[0]
    faults.add((text != "") & digits.isna(), InputError, lambda row: (
        f"{kind} is {shown(text[row])}; it must be its number, such as 2"
    ))  # fmt: skip
    return digits.fillna("0").astype(int)


def _results(
    frame: pd.DataFrame, known: Mapping[str, Heading], jobs: "pd.Series[str]", days: "pd.Series[Any]", found: _Found,
    faults: Faults,
) -> dict[str, Result]:  # fmt: skip
    result = words(column(frame, known, "result"), "result", RESULTS, faults, lambda: ", ".join(RESULTS))
    told = "stone, geogrid, standard depth; nothing for the option offered"
    built = words(column(frame, known, "built"), "built", _BUILT, faults, lambda: told, needed=False)
    text = column(frame, known, "price")
    price = _money(text, "price", faults, 0)
    reason = column(frame, known, "reason")
    revision, change = (_place(frame, known, kind, faults) for kind in ("revision", "change"))
    extra = amounts(frame, known, "extra", faults, nought=True)
    checked = words(column(frame, known, "checked"), "checked", _YES, faults, lambda: "yes, no", needed=False)
    places = {job: row.where for job, row in found.results.items()}
    again: dict[int, str] = {}
    for row, job in jobs.items():
        if not isinstance(job, str):  # a fault already
            continue
        if job in places:
            again[int(row)] = places[job]  # type: ignore[call-overload]
        places.setdefault(job, f"{faults.where}, row {row}")
    faults.add(frame.index.to_series().isin(list(again)), InputError, lambda row: (
        f"job {jobs[row]} is listed twice; its result is in {again[row]} already"
    ))  # fmt: skip
    faults.check()
    return {
        str(jobs[row]): Result(
            f"{faults.where}, row {row}", str(jobs[row]), result[row][0],
            built[row] if isinstance(built[row], str) else "",
            cents(Decimal(f"{price[row]:.12g}")) if row in price.index else None, _some(extra[row]) or 0.0,
            checked[row] is True, result[row][1], days[row], str(reason[row]), int(revision[row]), int(change[row]),
        )
        for row in frame.index
    }  # fmt: skip
