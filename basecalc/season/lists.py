"""Lists of tickets, hours, invoices and results: what their headings and words mean, and a checked record for each row.

A fault names its file and its row.
"""

import re
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import date, datetime
from decimal import Decimal
from math import inf
from pathlib import Path
from typing import Any, Final

from basecalc.company import STONE_CODES, Company
from basecalc.core.errors import BasecalcError, InputError, OutOfRangeError, Place
from basecalc.core.numbers import cents, number, quoted
from basecalc.core.published import table
from basecalc.core.units import Measure, convert, price_unit
from basecalc.core.words import OPTION_WORDS
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
from basecalc.takeoff.model import CODES, HEAVIEST_KG_M3, LIGHTEST_KG_M3


def rule(name: str) -> float:
    """Return one of the numbers by which quotes are followed up and a season is read."""
    return float(table("season_rules").exact(name)["value"])


WON: Final = "won"
SIGNED: Final = "signed"  # and not finished yet
LOST: Final = "lost"
OPEN: Final = "open"
# What people write of a quote: what the season takes it for, and its state in the book of quotes.
RESULTS: Final = {
    "sent": (OPEN, "sent"), "open": (OPEN, "sent"), "signed": (SIGNED, "signed"), "won": (WON, "signed"),
    "built": (WON, "built"), "lost": (LOST, "lost"),
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Ticket:
    """One load, or what was left over of a material."""

    where: str
    job: str
    code: str
    material: str
    net_kg: float | None
    volume_m3: float | None = None
    left_over: bool = False


@dataclass(frozen=True, slots=True)
class Hours:
    """Hours spent on one kind of work."""

    where: str
    job: str
    code: str
    crew_h: float | None
    machine_h: float | None


@dataclass(frozen=True, slots=True)
class Result:
    """What became of a quote: its state, since when and why, and which revision and change order were signed."""

    where: str
    job: str
    result: str
    built: str = ""
    price: Decimal | None = None
    extra_m: float = 0.0
    checked: bool = False
    state: str = "sent"
    day: date | None = None
    reason: str = ""
    revision: int = 0
    change: int = 0


@dataclass(frozen=True, slots=True)
class Invoice:
    """What a supplier charged for something on a job; a credit is negative."""

    where: str
    job: str
    what: str
    amount: Decimal


@dataclass(frozen=True, slots=True)
class Records:
    """Everything read from some files, every row checked."""

    tickets: tuple[Ticket, ...]
    hours: tuple[Hours, ...]
    results: Mapping[str, Result]
    notes: tuple[str, ...] = ()
    doubts: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    invoices: tuple[Invoice, ...] = ()


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
_LEFT_OVER: Final = {
    **dict.fromkeys(("", "delivered", "in", "hauled", "out"), False),
    **dict.fromkeys(("left over", "leftover", "returned", "brought back"), True),
}
_BUILT: Final = {word: key for key, words in OPTION_WORDS.items() for word in (key, words)}
_HOLDS: Final = (
    "columns of tickets (job, material, net weight), of hours (job, work, crew hours), of results (job, result) or of "
    "invoices (job, what, amount)"
)


def material_words(company: Company) -> dict[str, tuple[str, str]]:
    """Return the words for what a ticket brings or takes: each with its code and the owner's stone it names."""
    words = {plain_word(word): (code, "") for code, also in _ALSO.items() for word in (code, CODES[code].title, *also)}
    for stone in company.stones:
        words.setdefault(plain_word(stone.code), (STONE_CODES[stone.kind], ""))
        words[plain_word(stone.name)] = (STONE_CODES[stone.kind], stone.name)
    return words


_COLUMNS: Final = {str(row["column"]): row for row in table("list_columns").rows}
_SIGNS: Final = [(kind, frozenset(str(row["words"]).split())) for kind, row in _COLUMNS.items()]
_UNITS: Final = {kind: tuple(str(row["units"]).split()) for kind, row in _COLUMNS.items()}
_AMOUNTS: Final = {
    kind: Measure(
        str(row["inside"]), _UNITS[kind][0], low=0, high=float(row["most"]), above=not row["zero"],
        why="is the unit right?",
    )
    for kind, row in _COLUMNS.items() if row["inside"]
}  # fmt: skip
_WEIGHTS: Final = ("gross", "tare", "net")
_NAMING: Final = ("job", "ticket", "date", "material", "work")  # a supplier may be called Total
_TOTAL: Final = re.compile(r"(?:grand |sub[ -]?|job |day )?(?:totals?|sums?)\b[ :.\w-]*", re.IGNORECASE)
_INCHES: Final = {"in": "in", "inch": "in", "inches": "in", "mm": "mm"}
_TIMES: Final = frozenset({"day", "days", "minute", "minutes", "min", "week", "weeks"})
_HOURS: Final = frozenset({"hours", "hrs"})
_WHOSE: Final = frozenset({"crew", "machine"})
_HOUR: Final = _HOURS | {"h", "hr", "hour"}  # with the word crew or machine beside it
_BESIDE: Final = _WHOSE | _HOUR | {"time", "work", "worked", "spent", "total"}
_PEOPLE: Final = frozenset({"man", "men", "person", "people", "labor", "worker", "workers"})
_DATES: Final = ("%Y-%m-%d", "%m/%d/%Y", "%d.%m.%Y")


def _unit(kind: str, word: str) -> str:
    """Return the unit that a word means in a kind of column; nothing where it is none of its units."""
    plain = " ".join(word.split()).casefold()
    unit = _INCHES.get(plain, "") if kind == "extra" else price_unit(plain) or ""
    return unit if unit in _UNITS.get(kind, ()) else ""


def _heading(column: int, text: str) -> Heading:
    """Return what a heading means."""
    words, bracketed = heading_words(text)
    kind = _hours_of(set(words), text)
    if kind is None:
        kind = kind_of(words, _SIGNS)
    last = [" ".join(words[-2:]), words[-1]] if words else []
    unit = next((found for word in (*bracketed, *last) if (found := _unit(kind, word))), "")
    offered = _UNITS.get(kind, ())
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


def _headings(first: Sequence[str]) -> dict[str, Heading]:
    """Return the columns of a list by what they hold; those that nobody knows by their text behind a '?'."""
    found: dict[str, Heading] = {}
    for column, text in enumerate(first):
        one = _heading(column, text)
        if one.kind in found and one.kind != "comment":
            raise InputError(
                f"two columns may hold the {one.kind}, {quoted(found[one.kind].text)} and {quoted(text)}; only one may"
            )
        found[one.kind or f"?{text}"] = one
    if not found.keys() & {"result", "material", "work", "amount"}:
        raise InputError(f"the headings are {quoted(', '.join(first))}; they must name {_HOLDS}")
    if "amount" in found and "what" not in found:
        raise InputError("no heading names what was invoiced; one must say 'what'")
    if "material" in found and not found.keys() & {"net", "gross"}:
        raise InputError("no heading names the net weight; one must say it, such as 'net (ton)'")
    if "work" in found and not found.keys() & {"crew", "machine"}:
        other = next((one.text for one in found.values() if set(one.text.casefold().split()) & _WHOSE), "")
        more = f"; {quoted(other)} may be how many there were, or which" if other else ""
        raise InputError(f"no heading names hours; one must say 'crew hours' or 'machine hours'{more}")
    return found


@dataclass(frozen=True, slots=True)
class _Row:
    """A row of a list, with what its headings mean, and which columns have decimal commas."""

    known: Mapping[str, Heading]
    commas: frozenset[str]
    line: Line
    place: Place

    @property
    def where(self) -> str:
        return str(self.place)

    def cell(self, kind: str) -> str:
        """Return the cell of a kind of column; nothing where the list has none."""
        return self.line.cells[self.known[kind].column] if kind in self.known else ""

    def word(self, kind: str, known: Mapping[str, Any], offered: str, *, needed: bool = True) -> Any:
        """Return what the words of a cell mean."""
        return cell_word(kind, self.cell(kind), known, lambda: offered, needed=needed)

    def amount(self, kind: str) -> float | None:
        """Return an amount in its fixed unit; nothing where the cell is blank."""
        text = self.cell(kind)
        if not text:
            return None
        title = self.known[kind]
        digits, behind = parted(text)
        beside = self.cell("unit") if kind in _WEIGHTS else ""
        for about, said, spelled in ((title.text, text, behind), ("unit", beside, beside)):
            if spelled and not _unit(kind, spelled):
                offered = ", ".join(_UNITS[kind])
                raise InputError(
                    f"is {quoted(said)}; it must be a number, or one with its unit: {offered}", about=about
                )
        named = dict.fromkeys(filter(None, (_unit(kind, behind), _unit(kind, beside), title.unit)))
        if len(named) > 1:
            raise InputError(
                f"is {quoted(text)}, and its units are {' and '.join(named)}; they must agree", about=title.text
            )
        unit = next(iter(named), "h" if _UNITS[kind] == ("h",) else "")
        if not unit:
            raise InputError(
                f"nothing says the unit of {quoted(title.text)}; write it in the heading, such as "
                f"'{title.text} ({_UNITS[kind][0]})'"
            )
        value = cell_number(title.text, digits, "it must be a number", commas=kind in self.commas, cell=text)
        return float(_AMOUNTS[kind].read(title.text, value, unit))

    def money(self, kind: str, lowest: float) -> Decimal | None:
        """Return an amount of money; nothing where the cell is blank."""
        text = self.cell(kind)
        if not text:
            return None
        digits = re.sub(r"^(-?)\s*\$\s*", r"\1", text)
        value = cell_number(kind, digits, "it must be a number ($)", commas=kind in self.commas, cell=text)
        if value == 0:
            raise OutOfRangeError("is 0; it must be another amount", about=kind)
        return cents(Decimal(f"{number(kind, value, '$', lowest, rule('greatest amount of money')):.12g}"))

    def count(self, kind: str) -> int:
        """Return the number of a revision or a change order, such as 2, r2 or change 2; 0 for a blank cell."""
        text = self.cell(kind)
        match = re.fullmatch(r"(?:r|change)?\s*([1-9]\d{0,5})", text, re.IGNORECASE)
        if text and match is None:
            raise InputError(f"is {quoted(text)}; it must be its number, such as 2", about=kind)
        return int(match[1]) if match else 0

    def day(self) -> date | None:
        """Return the date; nothing for a blank cell, which is allowed."""
        text = self.cell("date")
        cell = re.sub(r"[ T]\d{1,2}:\d{2}.*$", "", text)  # a scale prints the time behind the day
        for form in _DATES:
            with suppress(ValueError):
                return datetime.strptime(cell, form).date()
        if text:
            raise InputError(
                f"is {quoted(text)}; it must be a day such as 2026-04-21, 4/21/2026 or 21.04.2026", about="date"
            )
        return None

    def net(self, *, left: bool) -> float | None:
        """Return the net weight [kg] as written, or gross less tare; where all three are given they must agree."""
        net = self.amount("net")
        if net == 0 and not left:
            raise OutOfRangeError("the net weight is 0; it must be above 0")
        gross, tare = self.amount("gross"), self.amount("tare")
        if gross is None or tare is None:
            return net
        worked, most = gross - tare, rule("difference between two weighings")
        if worked <= 0:
            raise OutOfRangeError(f"gross is {gross:,.0f} kg and tare {tare:,.0f} kg; gross must be the greater")
        if net is not None and abs(worked - net) > most:
            raise InputError(
                f"gross less tare is {worked:,.0f} kg, but net is {net:,.0f} kg; they must agree within {most:.0f} kg"
            )
        return worked if net is None else net

    def refuse_total(self) -> None:
        """Refuse a row that adds others up, as the last row of a list often does."""
        read = {0, *(self.known[kind].column for kind in _NAMING if kind in self.known)}
        if any(_TOTAL.fullmatch(self.line.cells[at]) for at in read):
            raise InputError("this row is a total of others; leave it out, each row must be one entry")


@dataclass(frozen=True, slots=True)
class _Load:
    """What a load is known by, to see it again: where it is listed, supplier, job, day and net weight [kg]."""

    where: str
    ticket: str
    supplier: str
    job: str
    day: date | None
    net_kg: float | None

    def is_again(self, other: "_Load") -> bool:
        """Return whether another load of the same number is this one, by what both lists say of it."""
        mine, theirs = (frozenset(re.findall(r"\w+", one.supplier.casefold())) for one in (self, other))
        if mine == theirs:
            return True  # a supplier gives a number once
        weights = [one.net_kg for one in (self, other) if one.net_kg is not None]
        same_weight = not weights or (
            len(weights) == 2 and abs(weights[0] - weights[1]) <= rule("difference between two weighings")
        )
        same_day = self.day == other.day or self.day is None or other.day is None
        if not (self.job == other.job and same_day and same_weight):
            return False
        named_alike = mine <= theirs or theirs <= mine  # 'Ostmoor', 'Ostmoor Quarry', or one list without suppliers
        return named_alike or (self.day is not None and self.day == other.day and bool(weights))


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


def _tons(mass_kg: float) -> str:
    return f"{convert(mass_kg, 'kg', 'ton'):,.1f} ton ({mass_kg:,.0f} kg)"


class _Found:
    """What is gathered over the files."""

    def __init__(self, jobs: Sequence[str], company: Company | None) -> None:
        self.jobs = {plain_word(number): number for number in jobs}
        self.materials = material_words(company) if company else {}
        work = {key: entry.title for key, entry in CODES.items() if entry.kind == "work"}
        self.work = {plain_word(word): key for key, title in work.items() for word in (key, title)}
        self.payload_kg = max((truck.payload_kg for truck in company.trucks), default=inf) if company else inf
        self.tickets: list[Ticket] = []
        self.hours: list[Hours] = []
        self.results: dict[str, Result] = {}
        self.invoices: list[Invoice] = []
        self.loads: dict[str, list[_Load]] = {}
        self.entered: dict[tuple[Any, ...], str] = {}
        self.doubts: dict[str, list[str]] = {}
        self.notes: list[str] = []

    def read(self, path: str) -> None:
        """Read a file, row by row; the first row that cannot be used is refused."""
        listing = read_listing(path, _HOLDS)
        first, *body = listing.lines
        known, before = self._known(listing, first, body), len(self.tickets)
        commas = frozenset(
            kind for kind, one in known.items()
            if has_decimal_comma(parted(line.cells[one.column])[0] for line in body)
        )  # fmt: skip
        for line in body:
            row = _Row(known, commas, line, listing.place(line.row))
            try:
                row.refuse_total()
                self._take(row, self._job(row))
            except BasecalcError as refusal:
                raise (refusal if refusal.place.file else refusal.at(row.place)) from None
        if len(self.tickets) > before and "ticket" not in known:
            self.notes.append(f"{path} has no column of ticket numbers: a ticket entered twice cannot be seen")

    def _known(self, listing: Listing, first: Line, body: Sequence[Line]) -> Mapping[str, Heading]:
        try:
            known = _headings(first.cells)
        except InputError as refusal:
            raise refusal.at(listing.place(first.row)) from None
        if not body:
            raise InputError("there are headings but no rows under them", where=listing.place())
        if len(self.jobs) > 1 and "job" not in known:
            raise InputError(
                f"no heading names the job, and there are {len(self.jobs)} jobs; one must say 'job'",
                where=listing.place(),
            )
        for kind in known:
            if kind.startswith("?") and kind != "?":
                self.notes.append(f"Not used: the column {quoted(kind[1:])} of {listing.where}")
        return known

    def _job(self, row: _Row) -> str:
        names = list(self.jobs.values())
        if "job" not in row.known:
            return names[0]
        few = ", ".join(names[:6]) + (f" and {len(names) - 6} more" if len(names) > 6 else "")
        return str(row.word("job", self.jobs, few))

    def _take(self, row: _Row, job: str) -> None:
        if "result" in row.known:
            self._result(row, job)
        elif "amount" in row.known:
            self._invoice(row, job)
        else:
            kinds = [kind for kind in ("material", "work") if kind in row.known]
            given = [kind for kind in kinds if row.cell(kind)]
            if len(given) > 1:
                raise InputError("this row has a material and a work; a row is a ticket or hours, not both")
            if not given:
                raise InputError(f"this row has no {' and no '.join(kinds)}")
            (self._ticket if given == ["material"] else self._hours)(row, job)

    def _ticket(self, row: _Row, job: str) -> None:
        """Take the ticket in a row: one load, or what was left over; its weights agree, and it is listed once."""
        code, name = row.word("material", self.materials, f"{', '.join((*MATERIALS, *HAULS))}, or a stone of yours")
        left = bool(row.word("kind", _LEFT_OVER, "delivered, left over", needed=False))
        day, stone = row.day(), code in MATERIALS
        if left and not stone:
            raise InputError(f"kind is left over; {code} is hauled away")
        net, volume = row.net(left=left), row.amount("volume")
        if net is None and (stone or left):
            raise InputError(f"the net weight is missing; {code} needs it, or gross and tare")
        if stone and not left and net is not None and volume is not None:
            density = net / volume
            if not LIGHTEST_KG_M3 <= density <= HEAVIEST_KG_M3:
                raise OutOfRangeError(
                    f"{net:,.0f} kg in {volume:,.2f} m3 is {density:,.0f} kg/m3; loose stone weighs "
                    f"{LIGHTEST_KG_M3:,.0f} to {HEAVIEST_KG_M3:,.0f} kg/m3; is a unit wrong?"
                )
        weight = row.cell("net" if "net" in row.known else "gross")
        if (
            net is not None
            and net > rule("greatest load of a truck") * self.payload_kg
            and not re.search("[A-Za-z]", weight)
        ):
            raise OutOfRangeError(
                f"the load is {_tons(net)}, and your largest truck on Company carries {_tons(self.payload_kg)}; is the "
                "unit right? Where a larger truck brought it, write the unit behind the weight"
            )
        if "ticket" in row.known:
            load = _Load(row.where, row.cell("ticket"), row.cell("supplier"), job, day, net)
            self._refuse_double(load, needed=stone and not left)
        self.tickets.append(Ticket(row.where, job, code, name, net, volume if stone and not left else None, left))

    def _refuse_double(self, load: _Load, *, needed: bool) -> None:
        if not load.ticket:
            if needed:
                raise InputError("the ticket number is missing; other rows have one")
            return
        known_by = self.loads.setdefault(plain_number(load.ticket), [])
        if before := next((other for other in known_by if load.is_again(other)), None):
            spelled = "it is" if before.ticket == load.ticket else f"it is {quoted(before.ticket)}"
            raise InputError(
                f"ticket {quoted(load.ticket)} is listed twice: {spelled} in {before.where}. "
                "Leave one out; where it is another load, add a letter to its number"
            )
        known_by.append(load)

    def _before(self, row: _Row, *entry: Any) -> str:
        """Return where the same entry is already; nothing where it is new."""
        before = self.entered.setdefault(entry, row.where)
        return "" if before == row.where else before

    def _hours(self, row: _Row, job: str) -> None:
        code = row.word("work", self.work, ", ".join(dict.fromkeys(self.work.values())))
        day, crew, machine = row.day(), row.amount("crew"), row.amount("machine")
        if not crew and not machine:
            raise InputError("hours are missing; the row must have crew hours or machine hours above 0")
        if before := self._before(row, job, code, day, crew, machine, row.cell("comment")):
            self.doubts.setdefault(job, []).append(
                f"{row.where} has the hours of {before} once more: entered twice? A comment on one of them says that "
                "both are right"
            )
        self.hours.append(Hours(row.where, job, code, crew, machine))

    def _invoice(self, row: _Row, job: str) -> None:
        """Take the invoice in a row, which is listed once; without its number a second one is only doubted."""
        day, what, slip = row.day(), row.cell("what"), row.cell("invoice")
        if not what:
            raise InputError("what was invoiced is missing; it must be a code, a name or 'other'")
        amount = row.money("amount", -rule("greatest amount of money"))
        if amount is None:
            raise InputError("the amount is missing; a credit is written with a minus")
        entry = (job, plain_word(what), amount, plain_word(row.cell("supplier")))
        before = self._before(row, *entry, plain_number(slip) if slip else day)
        if before and slip:
            raise InputError(
                f"invoice {quoted(slip)} is listed twice for {quoted(what)}; it is in {before} already. Leave one out, "
                "or enter both as one amount"
            )
        if before:
            self.doubts.setdefault(job, []).append(
                f"{row.where} has the amount of {before} once more: entered twice? Invoice numbers tell them apart"
            )
        self.invoices.append(Invoice(row.where, job, what, amount))

    def _result(self, row: _Row, job: str) -> None:
        if job in self.results:
            raise InputError(f"job {job} appears twice; its result is already in {self.results[job].where}")
        result, state = row.word("result", RESULTS, ", ".join(RESULTS))
        offered = f"{', '.join(OPTION_WORDS.values())}; nothing for the option offered"
        self.results[job] = Result(
            row.where, job, result, row.word("built", _BUILT, offered, needed=False) or "", row.money("price", 0),
            row.amount("extra") or 0.0,
            bool(row.word("checked", {"yes": True, "no": False}, "yes, no", needed=False)), state, row.day(),
            row.cell("reason"), row.count("revision"), row.count("change"),
        )  # fmt: skip


def read_records(paths: Sequence[str | Path], jobs: Sequence[str], company: Company | None) -> Records:
    """Return the tickets, hours, invoices and results in some files of text, checked row by row."""
    found = _Found(jobs, company)
    for path in dict.fromkeys(map(str, paths)):
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
        tuple(found.tickets), tuple(found.hours), found.results, tuple(dict.fromkeys(found.notes)),
        {job: tuple(told) for job, told in found.doubts.items()}, tuple(found.invoices),
    )  # fmt: skip
