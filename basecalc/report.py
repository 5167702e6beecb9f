"""Everything that client, office and crew read of a quote, worked out once; papers, JSON and frames only lay it out.

Where a plan is drawn: which side of an area is the building, which the job says only by its length. Levels: how deep
each layer is below ZERO, the top of the finished pavers. Rolls: strips cut to the wall. Risks for the office.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from decimal import Decimal
from functools import cached_property
from math import hypot
from typing import Final

from basecalc.cautions import FIND_THE_FILL, site_facts, unknown_fill
from basecalc.core.errors import BasecalcError
from basecalc.core.numbers import brief, cents
from basecalc.core.units import INCH_M
from basecalc.core.words import (
    OPTION_WORDS,
    area_words,
    capital,
    depth_words,
    length_words,
    listed,
    money,
    number,
    quantity_words,
    tape_words,
    the,
)
from basecalc.crew_plan import (
    CrewArea,
    CrewStep,
    base_words,
    bottom_m,
    crew_area,
    crew_steps,
    run_words,
)
from basecalc.design.depth import BaseDepth
from basecalc.design.sensitivity import Sensitivity, sensitivity
from basecalc.design.settings import Check
from basecalc.ground.classes import CLASSES, rank
from basecalc.ground.evidence import AreaEvidence, ground_evidence
from basecalc.ground.readings import Finding, scale
from basecalc.ground.strength import SOUND_GROUND, AreaStrength, Fact
from basecalc.job import JobArea
from basecalc.pricing.estimate import estimate
from basecalc.pricing.price_changes import OldPrice, old_in_quote, old_words
from basecalc.pricing.quote import depth_prices
from basecalc.pricing.records import DepthPrices, Estimate, Line, Payment, Quote, ScopePrice, payments
from basecalc.pricing.site import construction, trucks_may_drive
from basecalc.pricing.value_of_testing import WorthOfTest, worth_of_tests
from basecalc.schedule import Step, StoneOrder, stone_order, work_day, work_plan
from basecalc.takeoff.takeoff import Materials, materials, take_off

_CALL_AFTER: Final = timedelta(days=7)  # common practice, no source


@dataclass(frozen=True, slots=True)
class PlanArea:
    """An area as it is drawn: corners counterclockwise [m], which sides lie at the building, how far the dig goes past.

    A circle has no corners; where only the box around an area is known, `boxed` is set and the box is what is drawn.
    """

    name: str
    size: str
    area: str
    corners: tuple[tuple[float, float], ...]
    diameter_m: float
    boxed: bool
    walls: tuple[int, ...]
    wall_m: float
    past_m: float
    strip_m: float
    strip_words: str


@dataclass(frozen=True, slots=True)
class Option:
    """One way to build the whole job: what the client may choose, and what it is worth to the office."""

    mark: str
    name: str
    estimate: Estimate
    depths: Mapping[str, BaseDepth]
    deeper: DepthPrices
    plan: tuple[Step, ...]
    crew_h: float
    machine_h: float
    crew_days: float
    stone_tons: float
    loads_in: int
    loads_out: int
    payments: tuple[Payment, ...]

    @property
    def days(self) -> int | None:
        """Work days from the first to the last; None where a production rate is missing."""
        last = [step.last_day for step in self.plan]
        return None if not last or None in last else max(day for day in last if day is not None)

    @property
    def margin(self) -> Decimal:
        """Price before tax less cost: what pays contingency, overhead and profit."""
        return self.estimate.before_tax - self.estimate.cost

    @property
    def margin_share(self) -> float:
        """The margin as a share of the price before tax."""
        return float(self.margin / self.estimate.before_tax) if self.estimate.before_tax else 0.0

    @property
    def per_crew_day(self) -> Decimal | None:
        """The margin for each day of the crew; None where no crew hours are known."""
        return cents(self.margin / Decimal(repr(self.crew_days))) if self.crew_days > 0 else None

    @property
    def on_grid(self) -> tuple[str, ...]:
        """The areas under which geogrid is laid."""
        return tuple(name for name, made in self.depths.items() if made.reinforcement.kind == "geogrid")


@dataclass(frozen=True, slots=True)
class GroundRow:
    """A reading as a client sees it: where, by which test, what was seen, and which classes it allows (ranks)."""

    area: str
    where: str
    test: str
    saw: str
    low: int
    high: int
    weakest: bool
    counts: bool


@dataclass(frozen=True, slots=True)
class Risk:
    """What may go wrong, what it is worth, and what to do about it."""

    title: str
    what: str
    do: str


@dataclass(frozen=True)
class Report:
    """Everything that the papers of a quote say. What takes long is worked out when it is first asked for, once."""

    quote: Quote
    until: date | None
    plan: tuple[PlanArea, ...]
    options: tuple[Option, ...]
    standard: Option | None
    parts: tuple[ScopePrice, ...]
    spec: tuple[tuple[str, str], ...]
    extras: tuple[Line, ...]
    crew: tuple[CrewArea, ...]
    steps: tuple[CrewStep, ...]
    ground: tuple[GroundRow, ...]
    facts: tuple[Fact, ...]
    order: StoneOrder
    construction: Mapping[str, Check]
    may_drive: Mapping[str, bool]
    unknown_fill: Mapping[str, str]
    old_prices: tuple[OldPrice, ...]

    __repr__ = brief

    @property
    def units(self) -> str:
        """The units of the job, 'us' or 'metric'."""
        return self.quote.job.units

    @property
    def offer(self) -> Option:
        """The option that the client is offered."""
        return self.options[0]

    @property
    def other(self) -> Option | None:
        """The other option; None where there is none."""
        return self.options[1] if len(self.options) > 1 else None

    @cached_property
    def evidence(self) -> Mapping[str, AreaEvidence]:
        """All that was read in each area, and how far it can be trusted."""
        edge = self.quote.book.company.design.class_edge
        sizes = {area.name: area.area_m2 for area in self.quote.job.areas}
        return {name: ground_evidence(ground, edge, sizes[name]) for name, ground in self.quote.ground.items()}

    @cached_property
    def worths(self) -> tuple[WorthOfTest, ...]:
        """What one more test is worth, by area."""
        return worth_of_tests(self.quote)

    @cached_property
    def alike(self) -> tuple[tuple[tuple[str, ...], BaseDepth], ...]:
        """The different depths of the offered option, each with the areas it holds for."""
        found: list[tuple[tuple[str, ...], BaseDepth]] = []
        for name, made in self.quote.offered_depths.items():
            place = next((at for at, (_, other) in enumerate(found) if other == made), None)
            if place is None:
                found.append(((name,), made))
            else:
                found[place] = ((*found[place][0], name), made)
        return tuple(found)

    @cached_property
    def sensitivities(self) -> tuple[Sensitivity, ...]:
        """How far each input moves the base, for each of the different depths."""
        return tuple(sensitivity(made) for _, made in self.alike)

    @cached_property
    def risks(self) -> tuple[Risk, ...]:
        """What the office must know before it sends the quote, the most pressing first."""
        return tuple(_risks(self))

    @cached_property
    def calls(self) -> tuple[tuple[str, str], ...]:
        """What is to be done next, each with its day where there is one."""
        return tuple(_calls(self))


def report(quote: Quote) -> Report:
    """Return everything that the papers of a quote say.

    Parameters
    ----------
    quote
        The priced job.

    Examples
    --------
    What each option leaves for a day of the crew::

        [option.per_crew_day for option in report(quote("drive.toml", "prices.xlsx")).options]
    """
    job, takeoff = quote.job, quote.offer.takeoff
    own = materials(job, quote.book.company)
    crew = tuple(crew_area(quote, area, own) for area in takeoff.areas)
    extras = tuple(line for line in quote.offer.lines if line.extra)
    return Report(
        quote=quote, until=job.date + timedelta(days=quote.book.company.valid_days) if job.date else None,
        plan=tuple(_plan_area(quote, area) for area in job.areas if not area.strip_of), options=tuple(_options(quote)),
        standard=_option(quote, quote.standard, "", {}, DepthPrices(INCH_M, "", {})) if quote.standard else None,
        parts=tuple(_parts(quote)), spec=tuple(_spec(quote, own, extras)), extras=extras, crew=crew,
        steps=tuple(crew_steps(quote, crew, own, extras)), ground=tuple(_ground_rows(quote)), facts=site_facts(quote),
        order=stone_order(quote), construction={name: construction(quote, name) for name in quote.offered_depths},
        may_drive={name: trucks_may_drive(quote, name) for name in quote.offered_depths},
        unknown_fill=unknown_fill(job, quote.ground), old_prices=old_in_quote(quote)
    )


# --- options


def _options(quote: Quote) -> list[Option]:
    both = quote.geogrid is not None
    found = [_option(quote, quote.offer, "A" if both else "", quote.offered_depths, quote.deeper)]
    other = quote.stone if quote.offered == "geogrid" else quote.geogrid
    if other is not None:
        turned = replace(quote, offered=other.option)
        found.append(_option(quote, other, "B", turned.offered_depths, depth_prices(turned)))
    return found


def _option(quote: Quote, priced: Estimate, mark: str, depths: Mapping[str, BaseDepth], deeper: DepthPrices) -> Option:
    company, takeoff = quote.book.company, priced.takeoff
    work = priced.work(company.hours_per_day)
    crew_h = sum(one.crew_h or 0.0 for one in work)
    words = OPTION_WORDS[priced.option]
    offered = f"Stone base {words.removeprefix('stone ')}" if mark else "Stone base"
    name = capital(words) if priced.option == "habit" else offered
    return Option(
        mark, name, priced, depths, deeper, work_plan(priced, company.hours_per_day), crew_h,
        sum(one.machine_h or 0.0 for one in work), crew_h / company.hours_per_day,
        number(sum(area.stone_kg for area in takeoff.areas), "mass", quote.job.units),
        round(takeoff.amount("stone-haul")), round(takeoff.amount("spoil-haul") + takeoff.amount("old-pavement-haul")),
        payments(priced, company),
    )


# --- plan


def _plan_area(quote: Quote, area: JobArea) -> PlanArea:
    units = quote.job.units
    taken = quote.offer.takeoff.area(area.name)
    strip = next((one for one in quote.job.areas if one.strip_of == area.name), None)
    whole_m2 = area.area_m2 + (strip.area_m2 if strip else 0.0)
    wall_m = strip.foundation_edge_m if strip else area.foundation_edge_m
    outline, (length, width) = area.outline, area.extent_m
    boxed = not outline and area.shape != "circle"
    if boxed:
        outline = ((0.0, 0.0), (length, 0.0), (length, width), (0.0, width))
    walls = _walls(area, outline, wall_m) if wall_m and not boxed else ()
    strip_m, strip_words = 0.0, ""
    if strip is not None:
        deep = quote.offer.takeoff.area(strip.name)
        strip_m = strip.foundation_fill_width_m
        strip_words = f"strip {length_words(strip_m, units)}, dig to {tape_words(bottom_m(deep), units)}"
    elif area.foundation_fill_depth_m and area.foundation_fill_width_m:
        strip_m = area.foundation_fill_width_m
        bottom = tape_words(bottom_m(taken) + area.foundation_fill_depth_m, units)
        strip_words = f"fill strip {length_words(strip_m, units)}, dig to {bottom}"
    return PlanArea(
        area.name, _size(area, units), area_words(whole_m2, units), outline, length if not outline else 0.0, boxed,
        walls, wall_m, taken.extension_m, strip_m if walls else 0.0, strip_words
    )


def _walls(area: JobArea, outline: Sequence[tuple[float, float]], wall_m: float) -> tuple[int, ...]:
    """Return the one side that is as long as the building; none where several are, or none is."""
    runs = [hypot(b[0] - a[0], b[1] - a[1]) for a, b in zip(outline, (*outline[1:], outline[0]), strict=True)]
    fits = [place for place, run in enumerate(runs) if abs(run - wall_m) <= 0.02 * run]
    if area.shape == "rectangle" and fits:  # turned round it is the same plan
        return (fits[0],) if len(fits) <= 2 else (1,)
    return tuple(fits) if len(fits) == 1 else ()


def _size(area: JobArea, units: str) -> str:
    length, width = (length_words(side, units) for side in area.extent_m)
    if area.shape == "rectangle":
        return f"{length} x {width}"
    if area.shape == "circle":
        return f"circle, {length} across"
    return f"within {length} x {width}"


# --- what is built


def _spec(quote: Quote, own: Materials, extras: Sequence[Line]) -> list[tuple[str, str]]:
    """Return what the price builds, in the client's words; nothing that no line of the price pays for."""
    job, units, takeoff = quote.job, quote.job.units, quote.offer.takeoff
    coded = {line.quantity_code for line in quote.offer.lines} | {work.code for work in quote.offer.hours}
    plans = [_plan_area(quote, area) for area in job.areas if not area.strip_of]
    sizes = [f"{one.name}: {one.size}, {one.area}" if len(plans) > 1 else f"{one.size} = {one.area}" for one in plans]
    if len(plans) > 3:
        sizes.append(f"{area_words(sum(a.area_m2 for a in job.areas), units)} in all")
    rows = [("Size", "\n".join(sizes))]
    if "pavers" in coded:
        looks = ", ".join(
            part for part in (job.paver_color, job.paver_pattern and f"{job.paver_pattern} pattern") if part
        )
        thick = "" if _says_thickness(own.paver.name) else f", {depth_words(own.paver.thickness_m, units)} thick"
        rows.append(("Pavers", "\n".join(part for part in (capital(own.paver.name) + thick, capital(looks)) if part)))
    sheets = [
        f"{word}" for word, code in (("geogrid", "geogrid"), ("geotextile fabric", "geotextile")) if code in coded
    ]
    bed = f"{depth_words(quote.book.company.design.bedding_m, units)} of sand on " if "bedding-sand" in coded else ""
    over = f", over {listed(sheets)}" if sheets else ""
    rows.append(("Under them", capital(f"{bed}compacted stone{over}")))
    kept = [the(one.area.name) for one in takeoff.areas if one.kept_m > 0]
    if kept:
        rows.append(("Old base", f"Stays under {listed(kept)}, where it is clean and dry"))
    for area in job.areas:
        fill = takeoff.area(area.name)
        if fill.fill_m3 > 0 and area.loose_fill is not None:
            rows.append(("Loose fill", f"{area.name}: dug out to firm ground and refilled in compacted layers"))
        elif fill.fill_m3 > 0:
            along, wide = (length_words(v, units) for v in (area.foundation_edge_m, area.foundation_fill_width_m))
            rows.append(
                (
                    "At the building",
                    f"{along} x {wide} dug {depth_words(fill.fill_m, units)} deeper, refilled and compacted"
                )
            )
    if "edge-restraint" in coded:
        edge = sum(area.edge_restraint_m for area in job.areas)
        rows.append(("Edges", f"{run_words(edge, units)} of edge restraint"))
    if "joint-sand" in coded:
        rows.append(("Joints", "Joint sand, swept and compacted"))
    old = dict.fromkeys(area.old_pavement_kind or "pavement" for area in job.areas if area.old_pavement_m > 0)
    if old:
        rows.append(("Old drive", f"{capital(listed(list(old)))} taken up and hauled away"))
    also = [(line.item, quantity_words(line.quantity, line.unit)) for line in extras]
    if also:
        rows.append(("Also", "\n".join(item if much == "1" else f"{item}, {much}" for item, much in also)))
    return rows


# What a scope of work includes, by the code of what is priced: nothing is named that no line pays for.
_INCLUDED: Final = {
    "surface": {
        "bedding-sand": "bedding sand", "pavers": "pavers laid and cut to the edges",
        "edge-restraint": "edge restraint", "joint-sand": "sand in the joints"
    },
    "reinforcement": {"geotextile": "geotextile fabric", "geogrid": "geogrid"}
}
_LAID: Final = {"surface": "", "reinforcement": " on the ground, strips overlapped, before the stone is placed"}


def _parts(quote: Quote) -> Iterator[ScopePrice]:
    """Yield what the price is made of, each part with what it includes."""
    coded = {line.quantity_code for line in quote.offer.lines}
    for part in quote.offer.scope_prices:
        named = [words for code, words in _INCLUDED.get(part.scope, {}).items() if code in coded]
        yield replace(part, text=f"{capital(listed(named))}{_LAID[part.scope]}.") if named else part


def _says_thickness(name: str) -> bool:
    return any(word in name.casefold() for word in (" in", " mm", '"'))


# --- ground


def _ground_rows(quote: Quote) -> list[GroundRow]:
    rows = []
    for ground in quote.ground.values():
        if ground.overruled == SOUND_GROUND:
            continue
        for spot in ground.spots:
            for finding in spot.findings:
                test, saw = _seen(finding, quote.job.units)
                low, high = rank(finding.weakest), rank(finding.strongest)
                weakest = spot.name == ground.governed_by and len(ground.spots) > 1
                rows.append(GroundRow(ground.name, capital(spot.name), test, saw, low, high, weakest, finding.counts))
    return rows


def _seen(finding: Finding, units: str) -> tuple[str, str]:
    """Return a test and what it showed, for a client: no file, no symbol."""
    reading = finding.reading
    if reading.basis:
        return (
            "Cone penetrometer, driven through the layers",
            f"Strength {finding.cbr:.2g}, crushed stone is 100" if finding.cbr else "see layers"
        )
    told = scale(reading.test, reading.value, reading.soil).told
    test, _, saw = told.partition(": ")
    if finding.amount is not None and reading.test in _MEASURED:
        saw = _MEASURED[reading.test][units == "metric"].format(
            *(f"{finding.amount * k:.2g}" for k in (1, 95.76, 1 / 25.4))
        )
    return (test, capital(saw)) if saw else (capital(reading.test), told)


_TONS: Final = ("It read {0} tons per sq ft", "It read {1} kPa")
_MEASURED: Final = {"pocket": _TONS, "vane": _TONS, "cone": ("It went in {2} in a blow", "It went in {0} mm a blow")}


def known_from(ground: AreaStrength) -> tuple[int, int]:
    """Return at how many spots an area was read, and with how many tests that count."""
    spots = [spot for spot in ground.spots if spot.counts]
    return len(spots), sum(finding.counts for spot in spots for finding in spot.findings)


# --- office


def _risks(made: Report) -> list[Risk]:
    quote, units = made.quote, made.units
    rows = [
        Risk(
            f"Fill of unknown depth, {name}",
            f"{capital(words)}. The price holds only where sound ground is no deeper than the dig.",
            f"{capital(FIND_THE_FILL.split('. ', 1)[1])}."
        ) for name, words in list(made.unknown_fill.items())[:1]
    ]
    if quote.separator is not None:
        name, words = next(iter(quote.separator.why.items()))
        price = "it has no price" if quote.separator.more is None else f"it adds {money(quote.separator.more)}"
        rows.append(
            Risk(
                f"No separator, {name}", f"{capital(words)}; {price}.",
                "Set geotextile = true, or tell the client in writing."
            )
        )
    if (softer := _softer(made)) is not None:
        rows.append(softer)
    rows += _test_risks(made)
    wet = listed(list(dict.fromkeys(fact.found or fact.area for fact in made.facts if fact.key == "water"))[:2])
    if wet:
        rows.append(
            Risk(
                "Water", f"{capital(wet)}. No drain and no pump is priced.", "Offer a drain as an extra before signing."
            )
        )
    weak = [name for name, ground in quote.ground.items() if ground.strength.strength_class in CLASSES[:2]]
    if weak:
        rows.append(
            Risk(
                f"Below the table, {listed(weak[:2])}", "Softer still needs an engineered design and a new price.",
                "Have an engineer's number and other work for the crew ready."
            )
        )
    if words := old_words(made.old_prices, quote.book.company):
        rows.append(Risk("Old prices", f"{capital(words)}.", "Ask for new prices before you sign."))
    for name, ground in quote.ground.items():
        rows += [
            Risk(f"Readings, {name}", f"{capital(text)}", "Read it again before you dig.") for text in ground.conflicts
        ]
    if not rows:
        depth = listed([base_words(area, units, short=True) for area in quote.offer.takeoff.areas][:2])
        rows.append(
            Risk("Ground", f"No sign of weaker ground; the base is {depth}.", "Walk the dug bottom all the same.")
        )
    return rows


def _softer(made: Report) -> Risk | None:
    """Return what the end of the promised table pays, and what it costs."""
    quote = made.quote
    ends = {name: prices[-1] for name, prices in quote.deeper.areas.items() if prices}
    if not ends:
        return None
    name = max(ends, key=lambda key: ends[key])
    more_m = len(quote.deeper.areas[name]) * quote.deeper.step_m
    try:
        deeper = take_off(quote.job, quote.book.company, quote.offered_depths, quote.offered, {name: more_m})
        cost = estimate(deeper, quote.book).cost - quote.offer.cost
    except BasecalcError:
        return None
    depth = depth_words(quote.offer.takeoff.base_m[name] + more_m, made.units)
    where = quote.ground[name].governed_by or name
    return Risk(
        f"Softer {where}" if where != name else f"Softer ground, {name}",
        f"One class weaker needs {depth}: the client's table pays {money(ends[name])}, our cost is {money(cost)}.",
        "Test again in the dig before the trucks roll."
    )


def _test_risks(made: Report) -> list[Risk]:
    rows = []
    for worth in sorted(made.worths, key=lambda one: -one.chance_more):
        if not worth.proposed:
            continue
        saves = "" if not worth.saves else f"on average saves {money(worth.saves)}"
        more = (
            f"in {100 * worth.chance_more:.0f} of 100 cases shows that more is needed" if worth.chance_more >= 0.005
            else ""
        )
        costs = f" ({money(worth.more)} more, owed anyway)" if more and worth.more else ""
        if saves or more:
            where = listed(list(worth.evidence.to_test[:2])) or worth.area
            rows.append(
                Risk(
                    f"Not measured, {worth.area}", f"A cone test {' and '.join(filter(None, (saves, more)))}{costs}.",
                    f"Cone test: {where}."
                )
            )
    return rows[:2]


def _calls(made: Report) -> list[tuple[str, str]]:
    quote = made.quote
    sent = quote.job.date
    rows = [
        (
            "Next call",
            f"{sent + _CALL_AFTER:%B} {(sent + _CALL_AFTER).day}: did it arrive, which option, any questions?"
            if sent
            else "A week after it is sent: did it arrive, which option?",
        )
    ]
    rows.append(
        (
            "Valid until",
            f"{made.until:%B} {made.until.day}, {made.until.year}"
            if made.until
            else f"{quote.book.company.valid_days} days",
        )
    )
    signing = [
        f"Deposit {option.mark} {money(option.estimate.sum('deposit'))}".replace("  ", " ")
        for option in made.options
        if option.estimate.sum("deposit")
    ]
    signing.append("check the box marked and the initials")
    if made.other is not None:
        way = made.other.estimate.option
        cheaper = "geogrid" if way == "geogrid" else "stone"
        signing.append(f'if B is signed, set offer = "{cheaper}" and quote again before any change order')
    rows.append(("At signing", f"{capital('; '.join(signing))}."))
    start = quote.job.start
    lines = "Call at least 3 working days before the dig"
    rows.append(
        (
            "811",
            f"{lines}; the start is {start:%A}, {start:%B} {start.day}." if start else f"{lines}; no start is set yet."
        )
    )
    return rows


def first_days(made: Report) -> list[tuple[Step, date | None]]:
    """Return the steps of the work with their first day as a date, where the start is known."""
    start = made.order.start
    return [
        (step, None if start is None or step.first_day is None else work_day(start, step.first_day))
        for step in made.order.plan
    ]
