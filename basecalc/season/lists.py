"""Lists of tickets, hours, invoices and results: what their headings and words mean, and a checked record for each row.

A fault names its file and its row.
"""

import re
from collections.abc import Mapping, MutableMapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from math import inf
from pathlib import Path
from typing import Any, Final

from basecalc.company import STONE_CODES, Company
from basecalc.core.errors import BasecalcError, InputError, OutOfRangeError, Place
from basecalc.core.numbers import cents, quoted
from basecalc.core.units import convert, price_unit
from basecalc.season.records import AGREE_KG, LOST, RESULTS, Hours, Invoice, Load, Records, Result, Ticket
from basecalc.tables.from_csv import (
    Heading,
    Line,
    Listing,
    cell_number,
    cell_word,
    has_decimal_comma,
    heading_words,
    kind_of,
    parted,
    plain_word,
    read_listing,
)
from basecalc.takeoff.codes import codes
from basecalc.takeoff.model import HEAVIEST_KG_M3, LIGHTEST_KG_M3

MATERIALS: Final = ("base-stone", "bedding-sand", "foundation-fill")
HAULS: Final = ("spoil-haul", "old-pavement-haul")
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
            words[plain_word(word)] = (code, "")
    for stone in company.stones:
        for word in (stone.code, stone.name):
            if plain_word(word) not in words or word == stone.name:
                words[plain_word(word)] = (STONE_CODES[stone.kind], stone.name if word == stone.name else "")
    return words


def work_words() -> dict[str, str]:
    """Return the words for kinds of work, each with its code.

    Examples
    --------
    >>> work_words()["dig"]
    'dig'
    """
    known = {key: entry.title for key, entry in codes().items() if entry.kind == "work"}
    return {plain_word(word): key for key, title in known.items() for word in (key, title)}


HOLDS: Final = (
    "columns of tickets (job, material, net weight), of hours (job, work, crew hours), of results (job, result) or of "
    "invoices (job, what, amount)"
)


@dataclass(frozen=True, slots=True)
class Column:
    """A kind of column: the words of a heading that say so, and of an amount its units.

    `inside` is the unit it is kept in; beyond `most` a number is a typo, or in another unit than its heading says.
    """

    kind: str
    signs: str
    units: tuple[str, ...] = ()
    inside: str = ""
    most: float = inf


_TONS: Final = ("ton", "t", "lb", "kg")
# In this order: the first that fits is what a column is.
COLUMNS: Final = (
    Column("comment", "comment comments note notes remark remarks"),
    Column("date", "date day"),
    Column("gross", "gross", _TONS, "kg", 75_000.0),
    Column("tare", "tare empty", _TONS, "kg", 30_000.0),
    Column("extra", "extra deeper", ("in", "mm"), "m", 1.0),
    Column("volume", "volume", ("yd3", "m3", "ft3"), "m3", 60.0),
    Column("net", "net weight mass", _TONS, "kg", 45_000.0),
    Column("price", "price charged invoiced"),
    Column("unit", "unit units"),
    Column("amount", "amount"),
    Column("invoice", "invoice"),
    Column("what", "what"),
    Column("reason", "reason why"),
    Column("revision", "revision"),
    Column("change", "change"),
    Column("ticket", "ticket slip docket"),
    Column("checked", "checked cleared"),
    Column("result", "result outcome"),
    Column("built", "built option"),
    Column("material", "material product"),
    Column("kind", "kind way"),
    Column("work", "work task"),
    Column("supplier", "supplier quarry pit"),
    Column("truck", "truck vehicle"),
    Column("job", "job quote project"),
    Column("crew", "", ("h",), "h", 200.0),  # known by `_hours_of`
    Column("machine", "", ("h",), "h", 200.0),
)
_BY_KIND: Final = {one.kind: one for one in COLUMNS}
_KINDS: Final = tuple((one.kind, frozenset(one.signs.split())) for one in COLUMNS)
_DEPTHS: Final = {"in": "in", "inch": "in", "inches": "in", "mm": "mm"}
_TIMES: Final = frozenset({"day", "days", "minute", "minutes", "min", "week", "weeks"})
_HOURS: Final = frozenset({"hours", "hrs"})
_HOUR: Final = _HOURS | {"h", "hr", "hour"}  # with the word crew or machine beside it
_WHOSE: Final = frozenset({"crew", "machine"})
_BESIDE: Final = _WHOSE | _HOUR | {"time", "work", "worked", "spent", "total"}
_PEOPLE: Final = frozenset({"man", "men", "person", "people", "labor", "worker", "workers"})


def unit_word(kind: str, word: str) -> str:
    """Return the unit that a word stands for in a kind of column; nothing where it is none of its units.

    Examples
    --------
    >>> unit_word("net", "short tons"), unit_word("net", "yd3"), unit_word("extra", "inches")
    ('ton', '', 'in')
    """
    plain = " ".join(word.split()).casefold()
    unit = _DEPTHS.get(plain, "") if kind == "extra" else price_unit(plain) or ""
    return unit if kind in _BY_KIND and unit in _BY_KIND[kind].units else ""


def heading(column: int, text: str) -> Heading:
    """Return what a heading means.

    Examples
    --------
    >>> heading(3, "Net weight (short tons)").unit, heading(0, "job no.").kind
    ('ton', 'job')
    """
    words, bracketed = heading_words(text)
    kind = _hours_of(set(words), text)
    if kind is None:
        kind = kind_of(words, _KINDS)
    last = [" ".join(words[-2:]), words[-1]] if words else []
    unit = next((found for word in (*bracketed, *last) if (found := unit_word(kind, word))), "")
    offered = _BY_KIND[kind].units if kind else ()
    if offered and bracketed and bracketed[0] and not unit:
        raise InputError(
            f"the heading {quoted(text)} names the unit {quoted(bracketed[0])}; it must be one of: {', '.join(offered)}"
        )
    return Heading(column, text, kind, unit)


def _hours_of(words: set[str], text: str) -> str | None:
    """Return whose hours a heading counts; nothing where it names a crew or machine but not hours; None for others."""
    counts = bool(words & _HOURS or (words & _WHOSE and words & _HOUR))
    if words & _WHOSE and words & _TIMES:
        raise InputError(f"the heading {quoted(text)} does not count hours; it must be hours")
    if counts and words & _PEOPLE:
        raise InputError(
            f"the heading {quoted(text)} counts the hours of each person; it must be crew hours, the hours the whole "
            "crew worked"
        )
    if counts and words <= _BESIDE:
        return "machine" if "machine" in words else "crew"
    return "" if counts or words & (_WHOSE | _PEOPLE) else None


def headings(first: Sequence[str], where: Place) -> dict[str, Heading]:
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
                f"two columns may hold the {one.kind}, {quoted(found[one.kind].text)} and {quoted(text)}; only one may",
                where=where,
            )
        else:
            found[one.kind] = one
    if not found.keys() & {"result", "material", "work", "amount"}:
        raise InputError(f"the headings are {quoted(', '.join(first))}; they must name {HOLDS}", where=where)
    if "amount" in found and "what" not in found:
        raise InputError("no heading names what was invoiced; one must say 'what'", where=where)
    if "material" in found and not found.keys() & {"net", "gross"}:
        raise InputError("no heading names the net weight; one must say it, such as 'net (ton)'", where=where)
    if "work" in found and not found.keys() & {"crew", "machine"}:
        other = next((one.text for one in found.values() if set(one.text.casefold().split()) & _WHOSE), "")
        more = f"; {quoted(other)} may be how many there were, or which" if other else ""
        raise InputError(f"no heading names hours; one must say 'crew hours' or 'machine hours'{more}", where=where)
    return found


_DATES: Final = (
    (re.compile(r"\d{4}-\d{1,2}-\d{1,2}$"), "%Y-%m-%d"),
    (re.compile(r"\d{1,2}/\d{1,2}/\d{4}$"), "%m/%d/%Y"),
    (re.compile(r"\d{1,2}\.\d{1,2}\.\d{4}$"), "%d.%m.%Y"),
)


@dataclass(frozen=True, slots=True)
class List:
    """A list with what its headings mean: its rows, and the amounts, words and dates in a row of it."""

    listing: Listing
    known: Mapping[str, Heading]
    commas: frozenset[str]  # kinds of columns with decimal commas
    united: frozenset[str]  # kinds of columns where some row says its unit

    @classmethod
    def read(cls, listing: Listing) -> "List":
        """Return a list by its headings."""
        first, *body = listing.lines
        known = headings(first.cells, listing.place(first.row))
        if not body:
            raise InputError("there are headings but no rows under them", where=listing.place())
        columns = {kind: [line.cells[one.column] for line in body] for kind, one in known.items()}
        beside = any(columns.get("unit", ()))
        commas = {kind for kind, cells in columns.items() if has_decimal_comma(parted(cell)[0] for cell in cells)}
        united = {
            kind for kind, cells in columns.items()
            if any(parted(cell)[1] for cell in cells) or (beside and kind in ("gross", "tare", "net"))
        }  # fmt: skip
        return cls(listing, known, frozenset(commas), frozenset(united))

    def cell(self, line: Line, kind: str) -> str:
        """Return the cell of a kind of column; nothing where the list has none."""
        return line.cells[self.known[kind].column] if kind in self.known else ""

    def amount(self, line: Line, kind: str, *, zero: bool) -> float | None:
        """Return an amount in its fixed unit; nothing where the cell is blank."""
        text = self.cell(line, kind)
        if not text:
            return None
        title, one = self.known[kind], _BY_KIND[kind]
        offered = ", ".join(one.units)
        number, written = parted(text)
        beside = self.cell(line, "unit") if kind in ("gross", "tare", "net") else ""
        if written and not unit_word(kind, written):
            raise InputError(
                f"is {quoted(text)}; it must be a number, or a number with one of: {offered}", about=title.text
            )
        if beside and not unit_word(kind, beside):
            raise InputError(f"is {quoted(beside)}; it must be one of: {offered}", about="unit")
        own, other = unit_word(kind, written), unit_word(kind, beside)
        unit = own or other or title.unit or ("h" if one.inside == "h" else "")
        for source, said in (("column", other), ("heading", title.unit)):
            if said and said != unit:
                raise InputError(
                    f"is {quoted(text)} in {unit}, but the {source} of units says {said}; they must agree",
                    about=title.text,
                )
        if not unit and kind not in self.united:
            raise InputError(
                f"nothing says the unit of {quoted(title.text)}; write it in the heading, such as "
                f"'{title.text} ({one.units[0]})'",
                where=self.listing.place(),
            )
        if not unit:
            raise InputError(f"is {quoted(text)}, without a unit; it must be one of: {offered}", about=title.text)
        value = cell_number(title.text, number, "it must be a number", commas=kind in self.commas, cell=text)
        if value < 0 or (value == 0 and not zero):
            raise OutOfRangeError(
                f"is {quoted(text)}; it must be {'at least' if zero else 'above'} 0 {unit}", about=title.text
            )
        inside = value * convert(1.0, unit, one.inside)
        if inside > one.most:
            most = f"{convert(one.most, one.inside, unit):,.3g} {unit}"
            raise OutOfRangeError(
                f"is {quoted(text)}{'' if written else f' {unit}'}; it must be at most {most}; is the unit right?",
                about=title.text,
            )
        return inside

    def day(self, line: Line) -> date | None:
        """Return the date of a row; nothing for a blank cell, which is allowed."""
        text = self.cell(line, "date")
        day = _date(text)
        if text and day is None:
            raise InputError(
                f"is {quoted(text)}; it must be a day such as 2026-04-21, 4/21/2026 or 21.04.2026", about="date"
            )
        return day

    def refuse_total(self, line: Line) -> None:
        """Refuse a row that adds others up, as the last row of a list often does."""
        read = {0, *(one.column for kind, one in self.known.items() if kind in _NAMING)}
        if any(_TOTAL.fullmatch(line.cells[at]) for at in read):
            raise InputError("this row is a total of others; leave it out, each row must be one entry")


_NAMING: Final = ("job", "ticket", "date", "material", "work")  # a supplier may be called Total
_TOTAL: Final = re.compile(r"(?:grand |sub[ -]?|job |day )?(?:totals?|sums?)\b[ :.\w-]*", re.IGNORECASE)


def _date(written: str) -> date | None:
    cell = re.sub(r"[ T]\d{1,2}:\d{2}.*$", "", written)  # a scale prints the time behind the day
    for pattern, form in _DATES:
        if pattern.match(cell):
            try:
                return datetime.strptime(cell, form).date()
            except ValueError:
                return None
    return None


OVERLOAD: Final = 1.3  # of the largest payload; a load beyond is in another unit, or another truck's; own choice


Seen = MutableMapping[str, list[Load]]


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
        self.jobs = {plain_word(number): number for number in jobs}
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

    def read(self, path: str) -> None:
        """Read a file, row by row; the first row that cannot be used is refused."""
        listing = read_listing(path, HOLDS)
        rows = List.read(listing)
        for kind in rows.known:
            if kind.startswith("?") and kind != "?":
                self.notes.append(f"Not used: the column {quoted(kind[1:])} of {path}")
        many = len(self.jobs) > 1 and "job" not in rows.known
        before = len(self.tickets)
        for line in listing.lines[1:]:
            try:
                rows.refuse_total(line)
                day = rows.day(line)
                if many:
                    raise InputError(
                        f"no heading names the job, and there are {len(self.jobs)} jobs; one must say 'job'",
                        where=listing.place(),
                    )
                self._row(rows, line, self._job(rows, line), day, str(listing.place(line.row)))
            except BasecalcError as refusal:
                raise (refusal if refusal.place.file else refusal.at(listing.place(line.row))) from None
        if len(self.tickets) > before and "ticket" not in rows.known:
            self.notes.append(f"{path} has no column of ticket numbers: a ticket entered twice cannot be seen")

    def _job(self, rows: List, line: Line) -> str:
        if "job" not in rows.known:
            return next(iter(self.jobs.values()))
        names = list(self.jobs.values())
        few = ", ".join(names[:6]) + (f" and {len(names) - 6} more" if len(names) > 6 else "")
        return str(cell_word("job", rows.cell(line, "job"), self.jobs, lambda: few))

    def _row(self, rows: List, line: Line, job: str, day: date | None, where: str) -> None:
        if "result" in rows.known:
            self._result(rows, line, job, day, where)
            return
        if "amount" in rows.known:
            self._invoice(rows, line, job, day, where)
            return
        material, work = rows.cell(line, "material"), rows.cell(line, "work")
        if material and work:
            raise InputError("this row has a material and a work; a row is a ticket or hours, not both")
        if not material and not work:
            wanted = " and no ".join(kind for kind in ("material", "work") if kind in rows.known)
            raise InputError(f"this row has no {wanted}")
        if material:
            self._ticket(rows, line, job, day, where)
        else:
            self._hours(rows, line, job, day, where)

    def _ticket(self, rows: List, line: Line, job: str, day: date | None, where: str) -> None:
        """Take the ticket in a row: one load, or what was left over; its weights agree, and it is listed once."""
        names = ", ".join((*MATERIALS, *HAULS))
        code, name = cell_word(
            "material", rows.cell(line, "material"), self.materials, lambda: f"{names}, or a stone of yours"
        )
        left = bool(cell_word("kind", rows.cell(line, "kind"), LEFT_OVER, lambda: "delivered, left over", needed=False))
        stone = code in MATERIALS
        if left and not stone:
            raise InputError(f"kind is left over; {code} is hauled away")
        net = _net(rows, line, left=left)
        if net is None and (stone or left):
            raise InputError(f"the net weight is missing; {code} needs it, or gross and tare")
        volume = rows.amount(line, "volume", zero=False)
        if stone and not left and net is not None and volume is not None:
            density = net / volume
            if not LIGHTEST_KG_M3 <= density <= HEAVIEST_KG_M3:
                raise OutOfRangeError(
                    f"{net:,.0f} kg in {volume:,.2f} m3 is {density:,.0f} kg/m3; loose stone weighs "
                    f"{LIGHTEST_KG_M3:,.0f} to {HEAVIEST_KG_M3:,.0f} kg/m3; is a unit wrong?"
                )
        weight = rows.cell(line, "net" if "net" in rows.known else "gross")
        if net is not None and net > OVERLOAD * self.payload_kg and not re.search("[A-Za-z]", weight):
            raise OutOfRangeError(
                f"the load is {_tons(net)}, and your largest truck on Company carries {_tons(self.payload_kg)}; is the "
                "unit right? Where a larger truck brought it, write the unit behind the weight"
            )
        if "ticket" in rows.known:
            load = Load(where, rows.cell(line, "ticket"), rows.cell(line, "supplier"), job, day, net)
            self._refuse_double(load, needed=stone and not left)
        self.tickets.append(Ticket(where, job, code, name, net, volume if stone and not left else None, left))

    def _refuse_double(self, load: Load, *, needed: bool) -> None:
        if not load.ticket:
            if needed:
                raise InputError("the ticket number is missing; other rows have one")
            return
        known_by = self.seen.setdefault(plain_number(load.ticket), [])
        if before := next((other for other in known_by if load.is_again(other)), None):
            spelled = "it is" if before.ticket == load.ticket else f"it is {quoted(before.ticket)}"
            raise InputError(
                f"ticket {quoted(load.ticket)} is listed twice: {spelled} in {before.where}. "
                "Leave one out; where it is another load, add a letter to its number"
            )
        known_by.append(load)

    def _hours(self, rows: List, line: Line, job: str, day: date | None, where: str) -> None:
        offered = ", ".join(dict.fromkeys(self.work.values()))
        code = cell_word("work", rows.cell(line, "work"), self.work, lambda: offered)
        crew, machine = (rows.amount(line, kind, zero=True) for kind in ("crew", "machine"))
        if not crew and not machine:
            raise InputError("hours are missing; the row must have crew hours or machine hours above 0")
        said = (job, code, day, crew, machine, rows.cell(line, "comment"))
        before = self.worked.setdefault(said, where)
        if before != where:
            self.doubts.setdefault(job, []).append(
                f"{where} has the hours of {before} once more: entered twice? A comment on one of them says that both "
                "are right"
            )
        self.hours.append(Hours(where, job, code, crew, machine))

    def _invoice(self, rows: List, line: Line, job: str, day: date | None, where: str) -> None:
        """Take the invoice in a row, which is listed once; without its number a second one is only doubted."""
        what, text, slip, supplier = (rows.cell(line, kind) for kind in ("what", "amount", "invoice", "supplier"))
        if not what:
            raise InputError("what was invoiced is missing; it must be a code, a name or 'other'")
        amount = _money(rows, line, "amount", -_HIGHEST)
        if amount is None:
            raise InputError("the amount is missing; a credit is written with a minus")
        entry = (job, plain_word(what), text, plain_word(supplier), plain_number(slip))
        before = self.invoiced.setdefault(entry if slip else (*entry, day), where)
        if before != where and slip:
            raise InputError(
                f"invoice {quoted(slip)} is listed twice for {quoted(what)}; it is in {before} already. Leave one out, "
                "or enter both as one amount"
            )
        if before != where:
            self.doubts.setdefault(job, []).append(
                f"{where} has the amount of {before} once more: entered twice? Invoice numbers tell them apart"
            )
        self.invoices.append(Invoice(where, job, what, amount))

    def _result(self, rows: List, line: Line, job: str, day: date | None, where: str) -> None:
        result, state = cell_word("result", rows.cell(line, "result"), RESULTS, lambda: ", ".join(RESULTS))
        told = "stone, geogrid, standard depth; nothing for the option offered"
        built = cell_word("built", rows.cell(line, "built"), _BUILT, lambda: told, needed=False)
        charged = _money(rows, line, "price", 0)
        revision, change = (_numbered(rows, line, kind) for kind in ("revision", "change"))
        extra = rows.amount(line, "extra", zero=True)
        checked = cell_word("checked", rows.cell(line, "checked"), _YES, lambda: "yes, no", needed=False)
        if job in self.results:
            raise InputError(f"job {job} appears twice; its result is already in {self.results[job].where}")
        self.results[job] = Result(
            where, job, result, built or "", charged, extra or 0.0, checked is True, state, day,
            rows.cell(line, "reason"), revision, change,
        )  # fmt: skip


def _money(rows: List, line: Line, kind: str, lowest: float) -> Decimal | None:
    """Return an amount of money; nothing where the cell is blank."""
    text = rows.cell(line, kind)
    if not text:
        return None
    number = re.sub(r"^(-?)\s*\$\s*", r"\1", text)
    value = cell_number(kind, number, "it must be a number ($)", commas=kind in rows.commas, cell=text)
    if value == 0 or not lowest <= value <= _HIGHEST:
        limit = "above 0" if not lowest else f"not 0, at least {lowest:,}"
        raise OutOfRangeError(f"is {quoted(text)}; it must be {limit} and at most {_HIGHEST:,}", about=kind)
    return cents(Decimal(f"{value:.12g}"))


def _numbered(rows: List, line: Line, kind: str) -> int:
    """Return the number of a revision or a change order, such as 2, r2 or change 2; 0 for a blank cell."""
    text = rows.cell(line, kind)
    match = re.fullmatch(r"(?:r|change)?\s*([1-9]\d{0,5})", text, re.IGNORECASE)
    if text and match is None:
        raise InputError(f"is {quoted(text)}; it must be its number, such as 2", about=kind)
    return int(match[1]) if match else 0


def _net(rows: List, line: Line, *, left: bool) -> float | None:
    """Return the net weight [kg] as written, or gross less tare; where all three are given they must agree."""
    net = rows.amount(line, "net", zero=True)
    if net == 0 and not left:
        raise OutOfRangeError("the net weight is 0; it must be above 0")
    gross, tare = (rows.amount(line, kind, zero=False) for kind in ("gross", "tare"))
    if gross is None or tare is None:
        return net
    worked = gross - tare
    if worked <= 0:
        raise OutOfRangeError(f"gross is {gross:,.0f} kg and tare {tare:,.0f} kg; gross must be the greater")
    if net is not None and abs(worked - net) > AGREE_KG:
        raise InputError(
            f"gross less tare is {worked:,.0f} kg, but net is {net:,.0f} kg; they must agree within {AGREE_KG:.0f} kg"
        )
    return worked if net is None else net


def read_records(paths: Sequence[str | Path], jobs: Sequence[str], company: Company | None) -> Records:
    """Return the tickets, hours, invoices and results in some files of text, checked row by row."""
    found = _Found(jobs, company)
    for path in dict.fromkeys(str(path) for path in paths):
        found.read(path)
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
