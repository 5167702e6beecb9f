"""What a job used against its estimate, quantity by quantity, and what it cost by what it used."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property
from typing import Final

from basecalc.company import Stone
from basecalc.core.errors import InputError
from basecalc.core.expressions import SI, in_unit, written
from basecalc.core.numbers import brief, cents, decimal, quoted
from basecalc.core.units import convert
from basecalc.core.words import OPTION_WORDS
from basecalc.design.depth import BaseDepth
from basecalc.pricing.changes import ChangeOrder
from basecalc.pricing.estimate import estimate
from basecalc.pricing.records import Estimate, Line, Quote
from basecalc.season.lists import (
    HAULS,
    MATERIALS,
    OPEN,
    SIGNED,
    WON,
    Hours,
    Invoice,
    Records,
    Result,
    Ticket,
    material_words,
    rule,
)
from basecalc.tables.from_csv import plain_word
from basecalc.takeoff.codes import WHOLE_UNITS, code
from basecalc.takeoff.model import CODES
from basecalc.takeoff.takeoff import materials, stone_mass_kg, take_off

# What to do about a suggestion, in words.
VERDICTS: Final[Mapping[str, str]] = {
    "consider": "worth entering",
    "together": "enter with the others of this stone",
    "keep": "yours fits: keep it",
    "shown": "shown only",
    "none": "no suggestion",
}


def sentence(text: str) -> str:
    """Return a text closed with a full stop, where it does not close itself."""
    return text if text.endswith("?") else f"{text}."


@dataclass(frozen=True, slots=True)
class Used:
    """One quantity, used against estimated."""

    code: str
    what: str
    unit: str
    estimated: float | None
    used: float | None
    left_over: float | None = None

    @property
    def difference(self) -> float | None:
        """Used less estimated, in the unit; None where either is not known."""
        return None if self.used is None or self.estimated is None else self.used - self.estimated

    @property
    def share(self) -> float | None:
        """The difference as a share of the estimate; None where it is not known or the estimate is zero."""
        return self.difference / self.estimated if self.difference is not None and self.estimated else None


@dataclass(frozen=True, slots=True)
class Brought:
    """A material over one job: what a suggestion rests on."""

    code: str
    material: str
    built_m3: float
    delivered_kg: float
    left_kg: float | None
    weighed_kg: float
    measured_m3: float


@dataclass(frozen=True, slots=True)
class Worked:
    """Work over one job: its code, how much was built and in which unit, and the hours it took [h]."""

    code: str
    amount: float
    unit: str
    crew_h: float | None
    machine_h: float | None


@dataclass(frozen=True, slots=True)
class Signed:
    """A job as it was signed: its quote, its signed change order, and what must be known about both."""

    quote: Quote
    change: ChangeOrder | None = None
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class JobActuals:
    """A job as planned and what it used: price before tax, cost made, and the share of that which was measured."""

    quote: Quote
    planned: Estimate
    quoted: Decimal
    result: str
    rows: tuple[Used, ...]
    brought: tuple[Brought, ...]
    worked: tuple[Worked, ...]
    price: Decimal
    cost_made: Decimal | None
    measured: float
    invoiced: Decimal
    saved_m: float | None
    notes: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()

    __repr__ = brief

    @property
    def margin_planned(self) -> float:
        """Price before tax less cost, as a share of the price, as signed or quoted."""
        return float((self.quoted - self.planned.cost) / self.quoted)

    @property
    def margin_made(self) -> float | None:
        """The same by what was charged and used; None where too little of the cost was measured to say."""
        if self.cost_made is None or self.measured < rule("least share of cost measured"):
            return None
        return float((self.price - self.cost_made) / self.price)


@dataclass(frozen=True, slots=True)
class Suggestion:
    """A number of the sheet Company that a season of jobs speaks to. It is never written anywhere."""

    what: str
    of: str
    unit: str
    old: float | None
    new: float | None
    low: float | None
    high: float | None
    jobs: int
    cell: str
    told: str
    places: int = 3
    joined: bool = False

    @property
    def verdict(self) -> str:
        """What to do about it: consider it, enter it with the others, keep the old one, look only; or none."""
        if self.new is None or self.low is None or self.high is None:
            return "none"
        if not self.cell:
            return "shown"
        if self.old is None or not self.low <= self.old <= self.high:
            return "consider"
        return "together" if self.joined else "keep"


@dataclass(frozen=True, slots=True)
class Season:
    """Some jobs and what they teach."""

    prices: str
    units: str
    company: str
    jobs: tuple[JobActuals, ...]
    suggestions: tuple[Suggestion, ...]
    notes: tuple[str, ...] = ()

    __repr__ = brief


_OTHER: Final = "other"  # invoiced, and not in the estimate


def job_actuals(job: Quote | Signed, records: Records) -> JobActuals:
    """Return what a job used against what was signed or, without a signed quote, estimated."""
    signed = job if isinstance(job, Signed) else Signed(job)
    quote = signed.quote if signed.change is None else signed.change.found
    number = quote.job.number
    tickets = [row for row in records.tickets if row.job == number]
    hours = [row for row in records.hours if row.job == number]
    invoices = [row for row in records.invoices if row.job == number]
    used = bool(tickets or hours or invoices)
    result = records.results.get(number) or Result("", number, WON if used else OPEN)
    planned = _planned(signed, quote, result)
    quoted = planned.before_tax if signed.change is None else signed.change.price - planned.tax
    if quoted <= 0:
        raise InputError(f"job {number} is priced at nothing, so it has no margin; the price workbook must price it")
    use = _Use(quote, planned, _built(quote, planned, result), tickets, hours, invoices)
    done = used and result.result == WON
    cost, measured = use.cost() if done else (None, 0.0)
    doubts = (*records.doubts.get(number, ()), *use.doubts()) if done and not result.checked else ()
    brought, worked = (tuple(use.brought()), tuple(use.worked())) if done else ((), ())
    price = quoted if result.price is None else result.price
    return JobActuals(
        quote, planned, quoted, result.result, tuple(use.rows()), brought, worked, price, cost, measured,
        sum((row.amount for row in invoices), Decimal("0.00")), _saved(quote, planned),
        (*signed.notes, *use.notes(result, doubts)), doubts,
    )  # fmt: skip


def _planned(signed: Signed, quote: Quote, result: Result) -> Estimate:
    if not result.built or (signed.change is not None and result.built == quote.offered):
        return quote.offer
    if signed.change is not None:
        raise InputError(
            f"job {quote.job.number} is said to be built as {OPTION_WORDS[result.built]!r}, and its signed "
            f"change order is for {OPTION_WORDS[quote.offered]!r}; leave built blank",
            where=result.where,
        )
    options = {"stone": quote.stone, "geogrid": quote.geogrid, "habit": quote.standard}
    option = options[result.built]
    if option is None:
        why = quote.no_geogrid if result.built == "geogrid" else quote.no_standard
        raise InputError(
            f"job {quote.job.number} is said to be built as {OPTION_WORDS[result.built]!r}, but there is no such "
            f"option. {why}",
            where=result.where,
        )
    return option


def _built(quote: Quote, planned: Estimate, result: Result) -> Estimate:
    """Return the estimate at the depth built, where that is deeper than signed."""
    if not result.extra_m:
        return planned
    options: Mapping[str, Mapping[str, BaseDepth | float]] = {
        "stone": quote.depths,
        "geogrid": quote.geogrid_depths,
        "habit": planned.takeoff.base_m,
    }
    depths = options[planned.option]
    cbrs = {name: depth.cbr for name, depth in quote.depths.items()}
    deeper = take_off(quote.job, quote.book.company, depths, planned.option, result.extra_m, cbrs=cbrs)
    return estimate(deeper, quote.book)


def _priced(line: Line, used: float) -> Decimal:
    places = 0 if line.unit in WHOLE_UNITS and used == int(used) else 2
    return cents(decimal(used, places) * line.unit_price)


def _saved(quote: Quote, planned: Estimate) -> float | None:
    """Return the depth below the standard depth, each area by the size of its base [m]."""
    if quote.standard is None:
        return None
    standard, areas = quote.standard.takeoff.base_m, planned.takeoff.areas
    whole = sum(area.base_area_m2 for area in areas)
    return sum((standard[area.area.name] - area.base_m) * area.base_area_m2 for area in areas) / whole


@dataclass(frozen=True)
class _Use:
    """What one job used: its tickets, hours and invoices against the estimate planned and the one built."""

    quote: Quote
    planned: Estimate
    built: Estimate
    tickets: Sequence[Ticket]
    hours: Sequence[Hours]
    invoices: Sequence[Invoice]

    @property
    def units(self) -> str:
        return self.quote.job.units

    def delivered(self, key: str) -> list[Ticket]:
        return [one for one in self.tickets if one.code == key and not one.left_over]

    def left(self, key: str) -> float | None:
        """Return what was brought back [kg]; None where nobody wrote it down."""
        back = [one.net_kg or 0.0 for one in self.tickets if one.code == key and one.left_over]
        return sum(back) if back else None

    def kg(self, key: str) -> float:
        """Return the weight delivered of a material."""
        return sum(one.net_kg or 0.0 for one in self.delivered(key))

    @cached_property
    def stones(self) -> Sequence[tuple[str, Stone]]:
        """Each material that comes by weight, with the owner's stone."""
        own = materials(self.quote.job, self.quote.book.company)
        pairs = zip(MATERIALS, (own.stone, own.bedding, own.fill), strict=True)
        return [(key, stone) for key, stone in pairs if stone is not None]

    def rows(self) -> Iterator[Used]:
        for key in MATERIALS:
            asked, came, left = self.planned.takeoff.of(key), self.delivered(key), self.left(key)
            if asked or came:
                unit = code(key).unit(self.units)
                yield Used(
                    key, code(key).title, unit, sum(one.amount for one in asked) if asked else None,
                    in_unit(self.kg(key), unit) if came else None, None if left is None else in_unit(left, unit),
                )  # fmt: skip
        yield from self._load_rows()
        planned = {one.code: one for one in self.planned.hours}
        for work in dict.fromkeys([*planned, *(one.code for one in self.hours)]):
            for who in ("crew", "machine"):
                hours = getattr(planned[work], f"{who}_h") if work in planned else None
                spent = self.spent(work, f"{who}_h")
                if hours is not None or spent is not None:
                    yield Used(work, f"{who} hours: {code(work).title}", "h", hours, spent)

    def _load_rows(self) -> Iterator[Used]:
        haul = self.planned.takeoff.of("stone-haul")
        for key, stone in self.stones:
            asked = sum(one.amount for one in haul if one.variant == stone.name)
            came = len(self.delivered(key))
            if asked or came:
                what = f"loads of {code(key).title}"
                yield Used("stone-haul", what, "load", asked or None, float(came) if came else None)
        for key in HAULS:
            asked, went = self.planned.takeoff.amount(key), len(self.delivered(key))
            if asked or went:
                what = f"loads of {'soil' if key == 'spoil-haul' else 'old pavement'}"
                yield Used(key, what, "load", asked or None, float(went) if went else None)

    def spent(self, work: str, field: str) -> float | None:
        found = [hours for one in self.hours if one.code == work and (hours := getattr(one, field)) is not None]
        return sum(found) if found else None

    def brought(self) -> Iterator[Brought]:
        for key, stone in self.stones:
            came = self.delivered(key)
            wanted = sum(one.amount for one in self.built.takeoff.of(key))
            if not came or not wanted or any(one.material not in ("", stone.name) for one in came):
                continue
            mass = wanted * SI[code(key).unit(self.units)]
            measured = [one for one in came if one.volume_m3 is not None]
            delivered, left = self.kg(key), self.left(key)
            if left is not None and left >= delivered:
                raise InputError(
                    f"job {self.quote.job.number}: {written(left, 'mass', self.units)} of {stone.name} is left over "
                    f"and {written(delivered, 'mass', self.units)} was delivered; less must be left than came"
                )
            yield Brought(
                key, stone.name, mass / stone_mass_kg(1.0, stone), delivered, left,
                sum(one.net_kg or 0.0 for one in measured), sum(one.volume_m3 or 0.0 for one in measured),
            )  # fmt: skip

    def worked(self) -> Iterator[Worked]:
        for work in dict.fromkeys(one.code for one in self.hours):
            amount = self.built.takeoff.amount(work)
            if amount > 0:
                unit = code(work).unit(self.units)
                yield Worked(work, amount, unit, self.spent(work, "crew_h"), self.spent(work, "machine_h"))

    def cost(self) -> tuple[Decimal, float]:
        """Return what the job cost, and the share of that which was measured.

        A line with an invoice costs what was invoiced; one with tickets or hours costs what they say at the quote's own
        prices; the others cost what was estimated. Credits come off.
        """
        total = measured = sum((row.amount for row in self.invoices), Decimal(0))
        invoiced = {place for row in self.invoices if row.amount > 0 for place in self.lines_of(row)}
        for place, line in enumerate(self.built.lines):
            if place in invoiced:
                continue
            used = self._used_of(line)
            amount = line.amount if used is None else _priced(line, used)
            total += amount
            measured += amount if used is not None else 0
        if total <= 0:
            raise InputError(
                f"job {self.quote.job.number}: it costs {total} by its invoices and credits; it must be above 0"
            )
        return total, float(measured / total)

    def lines_of(self, invoice: Invoice) -> set[int]:
        """Return the places of the estimate's lines that an invoice pays for; none for what the estimate lacks."""
        places: set[int] = set()
        for part in invoice.what.split("+"):
            word = plain_word(part)
            if word.split(" ")[0].rstrip(":") == _OTHER:
                continue
            key = self.words.get(word, "")
            lines = {
                place
                for place, line in enumerate(self.built.lines)
                if word in map(plain_word, (line.code, line.item, line.work or line.code))
                or (key and key in (line.code, line.quantity_code))
            }
            if not lines and not key:
                raise InputError(
                    f"what was invoiced is {quoted(part.strip())}; it must be a line of the estimate of "
                    f"{invoice.job} by code or name, or 'other' for what it does not have. It has: "
                    f"{', '.join(dict.fromkeys(line.code for line in self.built.lines))}",
                    where=invoice.where,
                )
            places |= lines
        return places

    @cached_property
    def words(self) -> Mapping[str, str]:
        """The words for quantities and the owner's materials, each with its code."""
        company = self.quote.book.company
        named = {plain_word(word): key for key, entry in CODES.items() for word in (key, entry.title)}
        named |= {word: key for word, (key, _) in material_words(company).items()}
        return (
            named
            | {plain_word(paver.name): "pavers" for paver in company.pavers}
            | {plain_word(roll.name): roll.kind for roll in company.rolls}
        )

    def _used_of(self, line: Line) -> float | None:
        """Return how much of a line was used, in the unit of its price; None where nobody measured it."""
        if line.work:
            spent = self.spent(line.work, "crew_h" if line.code == "crew-time" else "machine_h")
            return None if spent is None else convert(spent, "h", line.unit)
        key = line.quantity_code
        if not key or (code(key).kind == "haul" and line.unit != "load"):
            return None  # the rest of a least charge; hauling by weight, volume or hours, of which tickets count loads
        if key == "stone-haul":
            found = [len(self.delivered(own)) for own, stone in self.stones if line.item.endswith(f": {stone.name}")]
            return float(found[0]) if found and found[0] else None
        came = self.delivered("spoil-haul" if key == "spoil-tip" else key)
        if not came:
            return None
        if key in MATERIALS:
            return convert(self.kg(key), "kg", line.unit)
        same = [other.quantity for other in self.built.lines if other.quantity_code == key]
        return len(came) * float(line.quantity / sum(same))  # old pavements of two kinds share their loads

    def doubts(self) -> Iterator[str]:
        """Yield what of the materials is too far from the estimate at the depth built to be all of it and once."""
        for key in MATERIALS:
            wanted = sum(one.amount for one in self.built.takeoff.of(key)) * SI[code(key).unit(self.units)]
            share = self.kg(key) / wanted if wanted and self.delivered(key) else 1.0
            if not rule("least use of stone") <= share <= rule("greatest use of stone"):
                yield f"{code(key).title} used is {share:.0%} of the estimate: are tickets missing or entered twice?"

    def notes(self, result: Result, doubts: Sequence[str]) -> Iterator[str]:
        if result.result in (OPEN, SIGNED) and (self.tickets or self.hours or self.invoices):
            state = "Still open" if result.result == OPEN else "Signed and not built yet"
            yield f"{state}: its tickets, hours and invoices count for no margin and no factor"
            return
        if result.extra_m:
            deeper = written(result.extra_m, "depth", self.units)
            yield f"Built {deeper} deeper than signed; its factors rest on what was built"
        yield from doubts
        if doubts:
            yield "In doubt, so it counts for no factor until the list of results says 'yes' for it under 'checked'"
        elif result.checked:
            yield from (f"{one[:-1]}. Checked, and right" for one in self.doubts())
        for row in self.rows():
            if row.code in MATERIALS and row.used is None and self.tickets:
                yield f"No ticket of {row.what}, which the estimate has"
