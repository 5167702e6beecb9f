"""The crew's work on a job: levels below ZERO, lifts, rolls cut to the wall, steps in order, holds, stop signs."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from basecalc.core.numbers import fixed, half_up, plural, round_up
from basecalc.core.published import table
from basecalc.core.units import FOOT2_M2, FOOT_M, INCH_M, POUND_KG, SHORT_TON_KG, TONNE_KG
from basecalc.core.words import (
    area_words,
    capital,
    depth_words,
    length_words,
    listed,
    loose_words,
    number,
    quantity_words,
    tape_words,
    the,
    unit,
)
from basecalc.ground.old_pavement import holes_needed
from basecalc.ground.readings import rut_of, weaker_signs
from basecalc.job import JobArea
from basecalc.plan.area import Corner, corners, steepest_slope
from basecalc.pricing.records import Line, Quote
from basecalc.pricing.site import trucks_may_drive
from basecalc.takeoff.road_weight import TANDEM_LB
from basecalc.takeoff.rolls import Piece, cut
from basecalc.takeoff.takeoff import AreaTakeoff, Laid, Materials, equal_lifts

_WHEEL_KN: Final = TANDEM_LB / 4 * POUND_KG * 9.80665 / 1000  # half of one axle of a full tandem
_HAND_M: Final = 0.1  # less of a spare is not worth a word
MANY: Final = 3  # areas that a page still says one by one


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


def run_words(length_m: float, units: str) -> str:
    """Return a length to order, to the next whole foot or meter."""
    whole = round_up(length_m / FOOT_M if units == "us" else length_m)
    return f"{whole:,} {'ft' if units == 'us' else 'm'}"


def base_words(area: AreaTakeoff, units: str, *, short: bool = False) -> str:
    """Return the base of an area in words, with the old one that stays."""
    new = f"{depth_words(area.new_m, units)}{'' if short else ' of compacted stone'}"
    if area.kept_m <= 0:
        return new
    kept = f"{depth_words(area.kept_m, units)} of the old base"
    return f"{new} on {kept}" if area.new_m > 0 else kept


def bottom_m(area: AreaTakeoff) -> float:
    """Return how deep below ZERO it is dug: to the old base that stays, or through loose fill to sound ground."""
    return area.below_finish_m + (area.fill_m if area.area.loose_fill is not None else 0.0)


def _levels(area: AreaTakeoff, quote: Quote, own: Materials) -> tuple[Level, ...]:
    """Return the surfaces of an area from the bottom of the dig up, the order in which they are built."""
    bedding, paver = quote.book.company.design.bedding_m, own.paver.thickness_m
    top = paver + bedding
    kept = area.kept_m > 0
    rows: list[Level] = []
    if area.area.loose_fill is None and area.fill_m > 0:
        rows.append(Level("BOTTOM OF STRIP", area.below_finish_m + area.fill_m, loud=True))
    if kept and area.extension_m > 0:
        rows.append(Level("DIG PAST THE EDGE", top + area.base_m, loud=True))
    rows.append(Level("TOP OF OLD BASE" if kept else "BOTTOM OF DIG", bottom_m(area), loud=True))
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


def crew_area(quote: Quote, area: AreaTakeoff, own: Materials) -> CrewArea:
    """Return an area as the crew digs and builds it."""
    units, one, company = quote.job.units, area.area, quote.book.company
    calls = list(_calls_first(area, units))
    slope = steepest_slope(one.extent_m, one.fall_m) if one.fall_m else None
    least = _limit("least slope")
    if slope is not None and slope < least / 100 - 1e-9:
        calls.append(f"CALL FIRST: the finish falls less than {least:g} %, the least for a surface.")
    sewn = {sheet.sentence for sheet in area.rolls}
    notes = [one.note, *(flag for flag in area.flags if flag != area.old_base and flag not in sewn)]
    rolls = tuple(_rolls(quote, area))
    lift, fill = _lift_words(area, own, company.lift_m, units), _fill_words(area, own, company.lift_m, units)
    told = [("Dig", _dig_words(area, units)), ("Fill", fill)]
    told += [("Fabric" if roll.kind == "geotextile" else "Geogrid", roll_words(one, roll, units)) for roll in rolls]
    told += [("Stone", lift), ("Edge", length_words(one.edge_restraint_m, units) if one.edge_restraint_m else "")]
    return CrewArea(
        area, _levels(area, quote, own), _layers(area, quote, own), lift, fill, rolls, _dig_words(area, units),
        corners(one.fall_m) if one.fall_m else (), slope, _stop_words(quote, one.name),
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
        count, thick_m = equal_lifts(area.base_m, lift_m)
        deep = each(thick_m)
        text += f". Past the edge {tape_words(area.base_m, units)} of stone in {plural(count, 'lift')}, {deep}"
    return text


def _fill_words(area: AreaTakeoff, own: Materials, lift_m: float, units: str) -> str:
    if own.fill is None or area.fill_m3 <= 0:
        return ""
    count, each = equal_lifts(area.fill_m, lift_m)
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


def _cut_m(area: AreaTakeoff, sheet: Laid) -> float:
    """Return how long a strip is cut: past every open end, but only up to a building."""
    one = area.area
    wall_at_end = one.shape == "rectangle" and abs(one.foundation_edge_m - one.extent_m[1]) <= 0.02 * one.extent_m[1]
    return sheet.length_m - (area.extension_m if one.foundation_edge_m and wall_at_end else 0.0)


def _rolls(quote: Quote, area: AreaTakeoff) -> list[RollCut]:
    """Return the rolls below an area; a geotextile lies below a geogrid."""
    found = []
    for sheet in reversed(area.rolls):
        places: list[tuple[int, float, float]] = []
        before = 0
        for other in quote.offer.takeoff.areas:
            if other is area:
                before = sum(place[0] for place in places)
            same = [one for one in other.rolls if one.roll.name == sheet.roll.name]
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


def _limit(key: str) -> float:
    return float(table("crew_limits").exact(key)["value"])


def limit_words(inches: float, units: str) -> str:
    """Return a limit of the trade in words, in metric with an inch of 25 mm."""
    return f"{int(inches * 25.0)} mm" if units == "metric" else tape_words(inches * INCH_M, units)


def _truck_may_roll(quote: Quote, name: str) -> bool:
    """Return whether the dug ground of an area may be proof rolled with a loaded truck."""
    may = rut_of(quote.ground[name].strength.strength_class, "dump truck")
    return may is not None and may[1] <= _limit("rut on new subgrade")


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
    truck = _limit("truck")
    weight = f"{half_up(truck * SHORT_TON_KG / TONNE_KG, 0):g} t" if units == "metric" else f"{truck:g} tons"
    rut = limit_words(rut_in, units)
    return f"a loaded tandem truck of {weight} or more, at walking pace: rut {rut} at most, no pumping"


def _ground_hold(quote: Quote, area: AreaTakeoff) -> str:
    """Return what must be seen at the bottom of the dig before anything is laid on it."""
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
        rut = _limit("rut on new subgrade")
        return f"Dug bottom rolled with {_proof(rut, units)}."
    return "Dug bottom walked end to end, no stop sign seen. No truck on it."


def _base_hold(area: AreaTakeoff, units: str) -> str:
    rut = _limit("rut on stabilised subgrade")
    flat = "10 mm in 3 m" if units == "metric" else "3/8 in in 10 ft"
    traffic = area.depth.traffic if area.depth else None
    if traffic is not None and traffic.wheel_load_kn >= _WHEEL_KN:
        return f"Base 98% of standard Proctor, flat to {flat}, falls 2% or more. Rolled with {_proof(rut, units)}."
    return (
        f"Base 98% of standard Proctor, flat to {flat}, falls 2% or more. No loaded truck just to test it; a machine "
        f"that ruts it more than {limit_words(rut, units)}, or pumping: stop."
    )


def crew_steps(quote: Quote, crew: Sequence[CrewArea], own: Materials, extras: Sequence[Line]) -> list[CrewStep]:
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

    def counted(key: str, word: str) -> str:
        return plural(round(takeoff.amount(key)), word)

    def brought(key: str, material: str, places: int = 0) -> str:
        loads = round(sum(one.amount for one in takeoff.of("stone-haul") if one.variant == material))
        return f"{fixed(takeoff.amount(key), places)} {ton}, {plural(loads, 'load')}"

    ton = "t" if units == "metric" else "tons"
    rows: list[CrewStep] = []
    if takeoff.of("old-pavement-haul"):
        kinds = {
            one.name: f"{one.takeoff.area.old_pavement_kind or 'pavement'}, "
            f"{tape_words(one.takeoff.area.old_pavement_m, units)} thick"
            + (", its stone base as well" if one.takeoff.old_base and not one.takeoff.kept_m else "") for one in crew
            if one.takeoff.area.old_pavement_m > 0
        }
        rows.append(CrewStep("OLD PAVING", per_area(kinds), f"{counted('old-pavement-haul', 'load')} out", "loads"))
    digs = per_area({one.name: one.dig for one in crew})
    rows.append(CrewStep("DIG", digs, f"{counted('spoil-haul', 'load')} out", "loads"))
    fill = {one.name: one.fill for one in crew if one.fill}
    if fill and own.fill is not None:
        amount = brought("foundation-fill", own.fill.name)
        rows.append(CrewStep("FILL", f"{capital(own.fill.name)}. " + per_area(fill), amount, ton))
    for kind, name in (("geotextile", "FABRIC"), ("geogrid", "GEOGRID")):
        words = {
            one.name: roll_words(one.takeoff.area, roll, units) for one in crew for roll in one.rolls
            if roll.kind == kind
        }
        if words:
            bare = " No tracks on the bare grid." if kind == "geogrid" else ""
            rows.append(CrewStep(name, per_area(words) + bare, counted(kind, "roll"), "rolls"))
    passes = plural(quote.book.company.passes, "pass").replace("passs", "passes")
    tip = [one.name for one in crew if one.tip_from_end]
    driven = "Tip from the end. No loaded truck on the base." if len(tip) == len(crew) else (
        f"Tip from the end on {listed([the(name) for name in tip])}." if tip
        else "Loaded trucks on it only at full depth, rolled."
    )
    lifts_told = per_area({one.name: one.lifts for one in crew if one.lifts})
    if lifts_told:
        amount = brought("base-stone", own.stone.name)
        rows.append(CrewStep("STONE", f"{capital(own.stone.name)}. {lifts_told} {passes} each. {driven}", amount, ton))
    edge = sum(one.takeoff.area.edge_restraint_m for one in crew)
    if edge > 0:
        where = {one.name: length_words(one.takeoff.area.edge_restraint_m, units) for one in crew}
        how = "Along every open edge, spiked." if not many else per_area(where)
        rows.append(CrewStep("EDGE", how, run_words(edge, units)))
    bed = depth_words(quote.book.company.design.bedding_m, units)
    screed = f"{capital(own.bedding.name)}. Screed {bed}. Don't fill low spots with it."
    rows.append(CrewStep("SAND", screed, brought("bedding-sand", own.bedding.name, 1), ton))
    looks = ", ".join(part for part in (own.paver.name, quote.job.paver_color, quote.job.paver_pattern) if part)
    laid_m2 = takeoff.amount("pavers") * (1 if units == "metric" else FOOT2_M2)
    rows.append(CrewStep("PAVERS", f"{capital(looks)}.", area_words(laid_m2, units)))
    if takeoff.amount("joint-sand"):
        rows.append(CrewStep("JOINTS", "Sweep in, compact, sweep again.", counted("joint-sand", "bag"), "bags"))
    rows += [CrewStep("ALSO", f"{line.item}.", quantity_words(line.quantity, line.unit)) for line in extras]
    return rows
