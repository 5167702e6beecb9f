"""Everything that client, office and crew read of a quote, worked out once; papers, JSON and frames only lay it out.

Where a plan is drawn: which side of an area is the building, which the job says only by its length. Levels: how deep
each layer is below ZERO, the top of the finished pavers. Rolls: strips cut to the wall. Risks for the office.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from decimal import Decimal
from functools import cached_property
from math import hypot
from typing import Final

from basecalc.cautions import FIND_THE_FILL, site_facts, unknown_fill
from basecalc.core.errors import BasecalcError
from basecalc.core.numbers import brief, cents, fixed, half_up, plural, whole_up
from basecalc.core.published import table
from basecalc.core.units import FOOT2_M2, FOOT_M, INCH_M, POUND_KG
from basecalc.design.depth import BaseDepth
from basecalc.design.sensitivity import Sensitivity, sensitivity
from basecalc.design.settings import Check
from basecalc.ground.classes import CLASSES, rank
from basecalc.ground.evidence import AreaEvidence, ground_evidence
from basecalc.ground.readings import Finding, scale
from basecalc.ground.strength import SOUND_GROUND, AreaStrength, Fact
from basecalc.ground.warning_signs import rut_of, weaker_signs
from basecalc.job import JobArea
from basecalc.plan.area import Corner, corners, steepest_slope
from basecalc.pricing.estimate import estimate
from basecalc.pricing.price_changes import OldPrice, old_in_quote, old_words
from basecalc.pricing.quote import depth_prices
from basecalc.pricing.records import DepthPrices, Estimate, Line, Quote, ScopePrice
from basecalc.pricing.site import construction, trucks_may_drive
from basecalc.pricing.value_of_testing import WorthOfTest, worth_of_tests
from basecalc.schedule import Step, StoneOrder, stone_order, work_day, work_plan
from basecalc.takeoff.codes import codes
from basecalc.takeoff.earthwork import lift_thickness_m, lifts
from basecalc.takeoff.hauling import TANDEM_LB
from basecalc.takeoff.rolls import Piece, cut
from basecalc.takeoff.takeoff import AreaTakeoff, Laid, Materials, laid, materials, take_off
from basecalc.workbook.figures import (
    area_words,
    capital,
    depth_words,
    length_words,
    listed,
    loose_words,
    money,
    number,
    tape_words,
    the,
    unit,
)

OPTION_WORDS: Final = {"stone": "Stone base alone", "geogrid": "Stone base with geogrid", "habit": "Standard depth"}
_WHEEL_KN: Final = TANDEM_LB / 4 * POUND_KG * 9.80665 / 1000  # half of one axle of a full tandem
_HAND_M: Final = 0.1  # less of a spare is not worth a word
MANY: Final = 3  # areas that a page still says one by one
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
    dues: Mapping[str, Decimal]

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
class Level:
    """A surface of the finished work and how far below ZERO it lies [m]."""

    name: str
    depth_m: float
    loud: bool = False


@dataclass(frozen=True, slots=True)
class RollCut:
    """One kind of roll below an area: strips, their length cut to the building, laps, and the pieces of each."""

    kind: str
    name: str
    strips: int
    length_m: float
    lap_m: float
    end_lap_m: float
    spare_m: float
    sewn: bool
    pieces: tuple[tuple[Piece, ...], ...]


@dataclass(frozen=True, slots=True)
class CrewArea:
    """One area as the crew digs and builds it."""

    takeoff: AreaTakeoff
    levels: tuple[Level, ...]
    layers: tuple[tuple[str, float, float], ...]  # name, top and bottom below ZERO [m]
    lifts: str
    fill: str
    rolls: tuple[RollCut, ...]
    dig: str
    string: tuple[Corner, ...]
    slope: float | None
    stops: str
    detail: tuple[tuple[str, str], ...]
    ground_hold: str
    base_hold: str
    tip_from_end: bool
    calls: tuple[str, ...]
    notes: tuple[str, ...]

    @property
    def name(self) -> str:
        """The name of the area."""
        return self.takeoff.area.name


@dataclass(frozen=True, slots=True)
class CrewStep:
    """A step of the work in its order: what, how, how much, and what is written down as used."""

    do: str
    how: str
    amount: str
    used: str = ""


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

    @property
    def dues(self) -> Mapping[str, tuple[str, float]]:
        """When each payment is due, and its share of the total; nothing where all is paid at the end."""
        company = self.quote.book.company
        shares = {"deposit": company.deposit, "progress": company.progress}
        words = {"deposit": "At signing", "progress": f"Progress payment {company.progress_when}"}
        due = {key: (words[key], share) for key, share in shares.items() if share}
        return {**due, "rest": ("Balance when the work is done", 0.0)} if due else {}

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
    crew = tuple(_crew_area(quote, area, own) for area in takeoff.areas)
    extras = tuple(line for line in quote.offer.lines if _extra(line))
    return Report(
        quote=quote, until=job.date + timedelta(days=quote.book.company.valid_days) if job.date else None,
        plan=tuple(_plan_area(quote, area) for area in job.areas if not area.strip_of), options=tuple(_options(quote)),
        standard=None if quote.habit is None else _option(quote, quote.habit, "", {}, DepthPrices(INCH_M, "", {})),
        parts=quote.offer.scope_prices, spec=tuple(_spec(quote, own, extras)), extras=extras, crew=crew,
        steps=tuple(_steps(quote, crew, own, extras)), ground=tuple(_ground_rows(quote)), facts=site_facts(quote),
        order=stone_order(quote), construction={name: construction(quote, name) for name in quote.offered_depths},
        may_drive={name: trucks_may_drive(quote, name) for name in quote.offered_depths},
        unknown_fill=unknown_fill(job, quote.ground), old_prices=old_in_quote(quote)
    )


def _extra(line: Line) -> bool:
    """Return whether a line is one of the owner's extra lines: priced by a code that no take-off counts."""
    return bool(line.quantity_code or line.code) and (line.quantity_code or line.code) not in codes()


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
    crew_h = sum(work.crew_h or 0.0 for work in priced.hours)
    return Option(
        mark, OPTION_WORDS[priced.option], priced, depths, deeper, work_plan(priced, company.hours_per_day), crew_h,
        sum(work.machine_h or 0.0 for work in priced.hours), crew_h / company.hours_per_day,
        number(sum(area.stone_kg for area in takeoff.areas), "mass", quote.job.units),
        round(takeoff.amount("stone-haul")), round(takeoff.amount("spoil-haul") + takeoff.amount("old-pavement-haul")),
        {key: priced.sum(key) for key in ("deposit", "progress", "rest")},
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
        strip_words = f"strip {length_words(strip_m, units)}, dig to {tape_words(_bottom_m(deep), units)}"
    elif area.foundation_fill_depth_m and area.foundation_fill_width_m:
        strip_m = area.foundation_fill_width_m
        bottom = tape_words(_bottom_m(taken) + area.foundation_fill_depth_m, units)
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
        sizes = [f"{len(plans)} areas, {area_words(sum(a.area_m2 for a in job.areas), units)} in all"]
    rows = [("Size", "\n".join(sizes))]
    if "pavers" in coded:
        looks = ", ".join(
            part for part in (job.paver_color, job.paver_pattern and f"{job.paver_pattern} pattern") if part
        )
        thick = "" if _says_thickness(own.paver.name) else f", {depth_words(own.paver.thickness_m, units)} thick"
        rows.append(("Pavers", "\n".join(part for part in (capital(own.paver.name) + thick, capital(looks)) if part)))
    sheets = [
        f"{word}" for word, code in (("geogrid", "geogrid"), ("separation fabric", "geotextile")) if code in coded
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
    rows += [("Also", f"{line.item}, {_quantity(line.quantity, line.unit)}") for line in extras]
    return rows


def _says_thickness(name: str) -> bool:
    return any(word in name.casefold() for word in (" in", " mm", '"'))


def run_words(length_m: float, units: str) -> str:
    """Return a length to order, to the next whole foot or meter."""
    whole = whole_up(length_m / FOOT_M if units == "us" else length_m)
    return f"{whole:,} {'ft' if units == 'us' else 'm'}"


def _quantity(amount: Decimal | float, unit: str) -> str:
    text = fixed(amount, 2).rstrip("0").rstrip(".")
    return f"{text} {unit}"


def base_words(area: AreaTakeoff, units: str, *, short: bool = False) -> str:
    """Return the base of an area in words, with the old one that stays."""
    new = f"{depth_words(area.new_m, units)}{'' if short else ' of compacted stone'}"
    if area.kept_m <= 0:
        return new
    kept = f"{depth_words(area.kept_m, units)} of the old base"
    return f"{new} on {kept}" if area.new_m > 0 else kept


# --- crew


def _bottom_m(area: AreaTakeoff) -> float:
    """Return how deep below ZERO it is dug: to the old base that stays, or through loose fill to sound ground."""
    return area.below_finish_m + (area.fill_m if area.area.loose_fill is not None else 0.0)


def _strip_fill_m(area: AreaTakeoff) -> float:
    return area.fill_m if area.area.loose_fill is None else 0.0


def _levels(area: AreaTakeoff, quote: Quote, own: Materials) -> tuple[Level, ...]:
    """Return the surfaces of an area from the bottom of the dig up, the order in which they are built."""
    bedding, paver = quote.book.company.design.bedding_m, own.paver.thickness_m
    top = paver + bedding
    kept = area.kept_m > 0
    rows: list[Level] = []
    if _strip_fill_m(area) > 0:
        rows.append(Level("BOTTOM OF STRIP", area.below_finish_m + area.fill_m, loud=True))
    if kept and area.extension_m > 0:
        rows.append(Level("DIG PAST THE EDGE", top + area.base_m, loud=True))
    rows.append(Level("TOP OF OLD BASE" if kept else "BOTTOM OF DIG", _bottom_m(area), loud=True))
    if area.area.loose_fill is not None and area.fill_m > 0:
        rows.append(Level("Top of fill", area.below_finish_m))
    if area.new_m > 0:
        rows += [
            Level(f"Top of lift {n}", area.below_finish_m - n * area.lift_m) for n in range(1, area.lifts)
        ] + [Level("Top of base" if area.lifts == 1 else f"Top of lift {area.lifts} = base", top)]
    elif area.extension_m > 0:
        tops = [top + area.base_m - n * area.lift_m for n in range(1, area.lifts)]
        rows += [Level(f"Past the edge, top of lift {n}", deep) for n, deep in enumerate(tops, 1)]
    rows.sort(key=lambda level: -level.depth_m)
    return (*rows, Level("Top of sand bed", paver), Level("Top of pavers", 0.0))


def _layers(area: AreaTakeoff, quote: Quote, own: Materials) -> tuple[tuple[str, float, float], ...]:
    paver, top = own.paver.thickness_m, own.paver.thickness_m + quote.book.company.design.bedding_m
    rows = [("pavers", 0.0, paver), ("sand", paver, top), ("stone", top, top + area.new_m)]
    if area.kept_m > 0:
        rows.append(("old base", top + area.new_m, top + area.new_m + area.kept_m))
    if area.fill_m > 0:
        rows.append(("fill", area.below_finish_m, area.below_finish_m + area.fill_m))
    return tuple(row for row in rows if row[2] > row[1])


def _crew_area(quote: Quote, area: AreaTakeoff, own: Materials) -> CrewArea:
    units, one, company = quote.job.units, area.area, quote.book.company
    calls = list(_calls_first(area, units))
    slope = steepest_slope(one.extent_m, one.fall_m) if one.fall_m else None
    least = float(table("crew_limits").exact("least slope")["value"])
    if slope is not None and slope < least / 100 - 1e-9:
        calls.append(f"CALL FIRST: the finish falls less than {least:g} %, the least for a surface.")
    sewn = {sheet.sentence for sheet in _laid(area, own)}
    notes = [one.note, *(flag for flag in area.flags if flag != area.old_base and flag not in sewn)]
    rolls = tuple(_rolls(quote, area, own))
    lift, fill = _lift_words(area, own, company.lift_m, units), _fill_words(area, own, company.lift_m, units)
    told = [("Dig", _dig_words(area, units)), ("Fill", fill)]
    told += [("Fabric" if roll.kind == "geotextile" else "Geogrid", roll_words(one, roll, units)) for roll in rolls]
    told += [("Stone", lift), ("Edge", length_words(one.edge_restraint_m, units) if one.edge_restraint_m else "")]
    return CrewArea(
        area, _levels(area, quote, own), _layers(area, quote, own), lift, fill, rolls, _dig_words(area, units),
        corners(one.extent_m, one.fall_m) if one.fall_m else (), slope, _stop_words(quote, one.name),
        tuple((do, how) for do, how in told if how), _ground_hold(quote, area), _base_hold(area, units),
        not trucks_may_drive(quote, one.name), tuple(calls), tuple(note for note in notes if note)
    )


def _lift_words(area: AreaTakeoff, own: Materials, lift_m: float, units: str) -> str:
    factor = own.stone.compaction_factor

    def each(thick_m: float) -> str:
        return f"{loose_words(thick_m * factor, units)} loose to {tape_words(thick_m, units)}"

    if area.kept_m <= 0:
        return f"{plural(area.lifts, 'lift')}, {each(area.lift_m)}"
    kept = f"Level the old base that stays, {tape_words(area.kept_m, units)} thick"
    text = f"{kept}, loosen its top" if area.new_m > 0 else f"{kept}, roll it: no stone on it, the sand comes next"
    if area.new_m > 0:
        text += f". {plural(area.lifts, 'lift')}, {each(area.lift_m)}"
    if area.extension_m > 0:
        count = lifts(area.base_m, lift_m)
        deep = each(lift_thickness_m(area.base_m, count))
        text += f". Past the edge {tape_words(area.base_m, units)} of stone in {plural(count, 'lift')}, {deep}"
    return text


def _fill_words(area: AreaTakeoff, own: Materials, lift_m: float, units: str) -> str:
    if own.fill is None or area.fill_m3 <= 0:
        return ""
    count = lifts(area.fill_m, lift_m)
    each = lift_thickness_m(area.fill_m, count)
    one = area.area
    where = (
        "on all of the dug ground" if one.loose_fill is not None
        else f"{length_words(one.foundation_edge_m, units)} along the building, "
        f"{length_words(one.foundation_fill_width_m, units)} wide"
    )
    lift = f"{plural(count, 'lift')}, {loose_words(each * own.fill.compaction_factor, units)} loose to"
    return f"{tape_words(area.fill_m, units)} deep {where}. {lift} {tape_words(each, units)}"


def _dig_words(area: AreaTakeoff, units: str) -> str:
    """Return what is dug of an area: how much in the ground, how deep from today's ground, how far past the edge."""
    one = area.area
    volume = f"{fixed(number(area.bank_m3, 'volume', units), 0)} {unit('volume', units)}"
    if area.kept_m > 0:
        off = f"take {tape_words(area.dig_m, units)} off its top" if area.dig_m > 0 else "take nothing off its top"
        text = f"{volume} in the ground. The old base stays: {off}"
    else:
        deep = area.dig_m + (area.fill_m if one.loose_fill is not None else 0.0)
        where = "the old pavement" if one.old_pavement_m > 0 else "today's ground"
        text = f"{volume} in the ground, {tape_words(deep, units)} below {where}"
    if area.extension_m:
        wall = ", not at the building" if one.foundation_edge_m else ""
        text += f"; {tape_words(area.extension_m, units)} past every open edge{wall}"
    return text


def _calls_first(area: AreaTakeoff, units: str) -> list[str]:
    one = area.area
    texts = []
    if one.loose_fill is not None and area.fill_m > 0:
        sound = tape_words(one.loose_fill.depth_m, units)
        texts.append(f"Dig on to sound ground, {sound} below today's ground. CALL before it is filled.")
    bottom = area.dig_m + one.old_pavement_m + area.fill_m
    if one.footing_m is not None and bottom > one.footing_m + 1e-9:
        texts.append(
            f"CALL FIRST: the dig goes {tape_words(bottom, units)} below today's ground, below the footing at "
            f"{tape_words(one.footing_m, units)}: not without support or an engineer's approval."
        )
    elif one.footing_m is not None:
        texts.append(f"The footing ends {tape_words(one.footing_m, units)} below today's ground: never dig below it.")
    elif one.strip_of or (one.foundation_edge_m and (one.loose_fill or area.fill_m > 0)):
        texts.append("Nobody knows how deep the footing is: find its bottom first, and never dig below it.")
    return texts


def _laid(area: AreaTakeoff, own: Materials) -> tuple[Laid, ...]:
    cbr = area.depth.cbr if area.depth else None
    return laid(area.area, area.depth, cbr, area.base_area_m2, area.extension_m, own)


def _cut_m(area: AreaTakeoff, sheet: Laid) -> float:
    """Return how long a strip is cut: past every open end, but only up to a building."""
    one = area.area
    wall_at_end = one.shape == "rectangle" and abs(one.foundation_edge_m - one.extent_m[1]) <= 0.02 * one.extent_m[1]
    return sheet.length_m - (area.extension_m if one.foundation_edge_m and wall_at_end else 0.0)


def _rolls(quote: Quote, area: AreaTakeoff, own: Materials) -> list[RollCut]:
    """Return the rolls below an area; a geotextile lies below a geogrid."""
    found = []
    for sheet in reversed(_laid(area, own)):
        places: list[tuple[int, float, float]] = []
        before = 0
        for other in quote.offer.takeoff.areas:
            if other is area:
                before = sum(place[0] for place in places)
            same = [one for one in _laid(other, own) if one.roll.name == sheet.roll.name]
            places += [(one.strips, _cut_m(other, one), one.end_m) for one in same]
        pieces, _ = cut(places, sheet.roll.length_m)
        width = area.area.extent_m[1] + 2 * area.extension_m
        spare = sheet.strips * sheet.roll.width_m - (sheet.strips - 1) * sheet.side_m - width
        found.append(
            RollCut(
                sheet.roll.kind, sheet.roll.name, sheet.strips, _cut_m(area, sheet), sheet.side_m, sheet.end_m,
                spare if sheet.strips > 1 and spare > _HAND_M else 0.0, sheet.sewn,
                pieces[before : before + sheet.strips]
            )
        )
    return found


def roll_words(area: JobArea, roll: RollCut, units: str) -> str:
    """Return how the strips of an area are laid."""
    text = f"{plural(roll.strips, 'strip')} of {length_words(roll.length_m, units)}"
    if roll.strips > 1:
        text += f", lap {length_words(roll.lap_m, units)}{' or more' if roll.spare_m else ''}"
    if any(len(pieces) > 1 for pieces in roll.pieces):
        text += f", roll ends {length_words(roll.end_lap_m, units)}"
    if area.foundation_edge_m:
        text += ". Cut at the building, never up it"
    return text + (". SEW THE SEAMS: too soft for a lap alone" if roll.sewn else "")


_SIGNS: Final = {
    "stand": "a person standing still sinks {0} or more", "walk": "a boot sinks {0} or more at a step",
    "pickup": "an empty pickup leaves a rut of {0} or more",
    "dump truck": "a loaded dump truck leaves a rut of {0} or more"
}


def limit_words(inches: float, units: str) -> str:
    """Return a limit of the trade in words, in metric with an inch of 25 mm."""
    return f"{int(inches * 25.0)} mm" if units == "metric" else tape_words(inches * INCH_M, units)


def _truck_may_roll(quote: Quote, name: str) -> bool:
    """Return whether the dug ground of an area may be proof rolled with a loaded truck."""
    may = rut_of(quote.ground[name].strength.strength_class, "dump truck")
    return may is not None and may[1] <= float(table("crew_limits").exact("rut on new subgrade")["value"])


def _stop_words(quote: Quote, name: str) -> str:
    """Return what shows weaker ground; the truck only where one may drive on the dug ground."""
    signs = weaker_signs(quote.ground[name].strength.strength_class)
    truck = _truck_may_roll(quote, name)
    shown = [
        _SIGNS[sign.test].format(limit_words(sign.least_in, quote.job.units)) for sign in signs
        if sign.test != "dump truck" or truck
    ]
    return " or ".join(shown)


def _proof(rut_in: float, units: str) -> str:
    truck = float(table("crew_limits").exact("truck")["value"])
    weight = f"{half_up(truck * 0.907185, 0):g} t" if units == "metric" else f"{truck:g} tons"
    return (
        f"a loaded tandem truck of {weight} or more, at walking pace: rut {limit_words(rut_in, units)} at "
        "most, no pumping"
    )


def _ground_hold(quote: Quote, area: AreaTakeoff) -> str:
    """Return what must be seen at the bottom of the dig before anything is laid on it."""
    from basecalc.ground.old_pavement import holes_needed

    name, units = area.area.name, quote.job.units
    word = quote.ground[name].strength.strength_class
    if area.kept_m > 0:
        return (
            f"Old base opened at {holes_needed(area.area.area_m2)} places, a wheel track and the worst place among "
            f"them: {tape_words(area.kept_m, units)} or more of clean stone, no mud, no water."
        )
    if area.area.loose_fill is not None and area.fill_m > 0:
        return (
            f"All loose fill out, {word.upper()} ground everywhere, rod pushed. No truck in the dig. "
            "Office called before filling."
        )
    if _truck_may_roll(quote, name):
        rut = float(table("crew_limits").exact("rut on new subgrade")["value"])
        return f"Dug bottom rolled with {_proof(rut, units)}."
    return "Dug bottom walked end to end, no stop sign seen. No truck on it."


def _base_hold(area: AreaTakeoff, units: str) -> str:
    rut = float(table("crew_limits").exact("rut on stabilised subgrade")["value"])
    flat = "10 mm in 3 m" if units == "metric" else "3/8 in in 10 ft"
    traffic = area.depth.traffic if area.depth else None
    if traffic is not None and traffic.wheel_load_kn >= _WHEEL_KN:
        return f"Base 98% of standard Proctor, flat to {flat}, falls 2% or more. Rolled with {_proof(rut, units)}."
    return (
        f"Base 98% of standard Proctor, flat to {flat}, falls 2% or more. No loaded truck just to test it; a machine "
        f"that ruts it more than {limit_words(rut, units)}, or pumping: stop."
    )


def _steps(quote: Quote, crew: Sequence[CrewArea], own: Materials, extras: Sequence[Line]) -> list[CrewStep]:
    """Return the steps of the work in their order, each with what the whole job needs of it."""
    takeoff, units = quote.offer.takeoff, quote.job.units
    many = len(crew) > 1

    def per_area(words: Mapping[str, str]) -> str:
        same = set(words.values())
        if len(crew) > MANY and len(same) > 1:
            return "Area by area on the next pages."
        told = [f"{name}: {text}" if many else capital(text) for name, text in words.items() if text]
        if many and len(same) == 1 and len(words) == len(crew):
            return f"All areas: {next(iter(same))}."
        return "\n".join(f"{text}." for text in told)

    def haul(variant: str) -> int:
        return round(sum(one.amount for one in takeoff.of("stone-haul") if one.variant == variant))

    def tons(key: str) -> float:
        return sum(one.amount for one in takeoff.of(key))

    ton = "t" if units == "metric" else "tons"
    rows: list[CrewStep] = []
    old = takeoff.of("old-pavement-haul")
    if old:
        kinds = {
            one.name: f"{one.takeoff.area.old_pavement_kind or 'pavement'}, "
            f"{tape_words(one.takeoff.area.old_pavement_m, units)} thick"
            + (", its stone base as well" if one.takeoff.old_base and not one.takeoff.kept_m else "") for one in crew
            if one.takeoff.area.old_pavement_m > 0
        }
        rows.append(
            CrewStep("OLD PAVING", per_area(kinds), f"{plural(round(sum(o.amount for o in old)), 'load')} out", "loads")
        )
    loads = round(takeoff.amount("spoil-haul"))
    rows.append(CrewStep("DIG", per_area({one.name: one.dig for one in crew}), f"{plural(loads, 'load')} out", "loads"))
    fill = {one.name: one.fill for one in crew if one.fill}
    if fill and own.fill is not None:
        amount = f"{fixed(tons('foundation-fill'), 0)} {ton}, {plural(haul(own.fill.name), 'load')}"
        rows.append(CrewStep("FILL", f"{capital(own.fill.name)}. " + per_area(fill), amount, ton))
    for kind, name in (("geotextile", "FABRIC"), ("geogrid", "GEOGRID")):
        words = {
            one.name: roll_words(one.takeoff.area, roll, units) for one in crew for roll in one.rolls
            if roll.kind == kind
        }
        if words:
            bare = " No tracks on the bare grid." if kind == "geogrid" else ""
            rows.append(CrewStep(name, per_area(words) + bare, plural(round(takeoff.amount(kind)), "roll"), "rolls"))
    passes = plural(quote.book.company.passes, "pass").replace("passs", "passes")
    tip = [one.name for one in crew if one.tip_from_end]
    driven = "Tip from the end: no loaded truck on the base." if len(tip) == len(crew) else (
        f"Tip from the end on {listed([the(name) for name in tip])}." if tip
        else "Loaded trucks on it only at full depth, rolled."
    )
    lifts_told = per_area({one.name: one.lifts for one in crew if one.lifts})
    if lifts_told:
        amount = f"{fixed(tons('base-stone'), 0)} {ton}, {plural(haul(own.stone.name), 'load')}"
        rows.append(CrewStep("STONE", f"{capital(own.stone.name)}. {lifts_told} {passes} each. {driven}", amount, ton))
    edge = sum(one.takeoff.area.edge_restraint_m for one in crew)
    if edge > 0:
        where = {one.name: length_words(one.takeoff.area.edge_restraint_m, units) for one in crew}
        how = "Along every open edge, spiked." if not many else per_area(where)
        rows.append(CrewStep("EDGE", how, run_words(edge, units)))
    bed = depth_words(quote.book.company.design.bedding_m, units)
    amount = f"{fixed(tons('bedding-sand'), 1)} {ton}, {plural(haul(own.bedding.name), 'load')}"
    rows.append(
        CrewStep("SAND", f"{capital(own.bedding.name)}. Screed {bed}. Don't fill low spots with it.", amount, ton)
    )
    looks = ", ".join(part for part in (own.paver.name, quote.job.paver_color, quote.job.paver_pattern) if part)
    rows.append(CrewStep("PAVERS", f"{capital(looks)}.", _pavers(takeoff.amount("pavers"), units)))
    if takeoff.amount("joint-sand"):
        rows.append(
            CrewStep(
                "JOINTS", "Sweep in, compact, sweep again.", plural(round(takeoff.amount("joint-sand")), "bag"), "bags"
            )
        )
    rows += [CrewStep("ALSO", f"{line.item}.", _quantity(line.quantity, line.unit)) for line in extras]
    return rows


def _pavers(amount: float, units: str) -> str:
    return area_words(amount if units == "metric" else amount * FOOT2_M2, units)


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
                weakest = bool(ground.governed_by) and spot.name == ground.governed_by
                rows.append(GroundRow(ground.name, capital(spot.name), test, saw, low, high, weakest, finding.counts))
    return rows


def _seen(finding: Finding, units: str) -> tuple[str, str]:
    """Return a test and what it showed, for a client: no file, no symbol."""
    reading = finding.reading
    if reading.basis:
        return (
            "Cone penetrometer, driven through the layers",
            f"Strength {finding.cbr:.2g} (CBR, %)" if finding.cbr else "see layers"
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
        f"Deposit {option.mark} {money(option.dues['deposit'])}".replace("  ", " ")
        for option in made.options
        if option.dues["deposit"]
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


def step_dates(made: Report) -> list[tuple[Step, date | None, date | None]]:
    """Return the steps of the work with their first and last day as dates, where the start is known."""
    start = made.order.start

    def on(day: int | None) -> date | None:
        return work_day(start, day) if start is not None and day is not None else None

    return [(step, on(step.first_day), on(step.last_day)) for step in made.order.plan]

