"""The ground of each area of a job: its readings, what an old pavement, a strip and loose fill make of them.

Once the dig is known, flags for the office: season, water, frost, footing, walking. Where one word for the soil decides
the depth, both depths and the question that settles it. What calls for a separator below the stone.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Final

from basecalc.company import Company
from basecalc.core.errors import BasecalcError, InputError, OutOfRangeError
from basecalc.core.expressions import written
from basecalc.core.numbers import printed
from basecalc.core.units import INCH_M
from basecalc.core.words import amount, tenths
from basecalc.design.depth import UNKNOWN, BaseDepth, Site, StoneTrucks, base_depth, construction_check, water_near
from basecalc.design.frost import FrostGround, frost_ground, season_flag, water_flag, water_reach
from basecalc.design.frost_depth import frost_depth, heave_warning
from basecalc.design.settings import (
    DEFAULT_SETTINGS,
    NONE,
    Check,
    DesignSettings,
    Reinforcement,
    Traffic,
    limit,
    traffic,
)
from basecalc.ground.classes import Strength, class_of_cbr, rank
from basecalc.ground.old_pavement import Pavement, hole_advice, holes_needed, open_words, speaks
from basecalc.ground.readings import cone_cbr, question, soil_named
from basecalc.ground.strength import (
    OLD_PAVEMENT,
    SOUND_GROUND,
    AreaStrength,
    area_strength,
    choose,
    place_flags,
    spot_strength,
)
from basecalc.job import Job, JobArea
from basecalc.pricing.records import Quote
from basecalc.takeoff.takeoff import AreaTakeoff, Materials, Takeoff, materials

_UNTESTED: Final = "soft"  # own choice: loose backfill that nobody tested is not taken for better
_READ_IT: Final = "Push the rod every few steps along the foundation and read the ground at two spots of the strip."


def area_grounds(
    job: Job, company: Company, known: Mapping[str, AreaStrength] | None = None
) -> dict[str, AreaStrength]:
    """Return the strength of each area by name, from its spots or as given by hand."""
    grounds: dict[str, AreaStrength] = {}
    for area in job.areas:  # an area comes before the strip that was cut from it
        if known and area.name in known:
            grounds[area.name] = known[area.name]
            continue
        beside = grounds.get(area.strip_of)
        tested = area.strength is not None or bool(job.spots_of(area.name))
        if beside is not None and not tested:
            own = _untested_strip(area, beside, company.design.class_edge, new_build=job.new_build)
        else:
            own = _ground(job, area, company)
        try:
            grounds[area.name] = _on_sound_ground(area, _with_pavement(area, own, job.units), beside)
        except BasecalcError as error:
            raise error.at(job.place(area.name)) from None
    return grounds


def _ground(job: Job, area: JobArea, company: Company) -> AreaStrength:
    at_house, old = area.foundation_edge_m > 0, area.old_pavement_m > 0
    if area.strength is not None:
        word = area.strength.strength_class
        flags = place_flags(word, new_build=job.new_build, near_foundation=at_house, old_pavement=old)
        return AreaStrength(
            area.name, (), area.strength, "given by hand, nothing was read here", (), tuple(flags),
            "Read the ground at three spots before this is built: the strength is only an assumption.",
        )  # fmt: skip
    try:
        spots = [
            spot_strength(spot.name, spot.readings, class_down=company.class_down) for spot in job.spots_of(area.name)
        ]
        return area_strength(
            area.name, spots, new_build=job.new_build, near_foundation=at_house, old_pavement=old,
            class_edge=company.design.class_edge, walked=area.walked, allowance=company.design.reading_allowance,
            spot_rule=company.design.spot_rule,
        )  # fmt: skip
    except BasecalcError as error:
        raise error.at(job.place(area.name)) from None


def _untested_strip(area: JobArea, beside: AreaStrength, class_edge: str, *, new_build: bool) -> AreaStrength:
    """Return the ground of a strip along a foundation where nothing was read: soft until tested."""
    strength = choose(["strip", "beside"], [Strength(_UNTESTED), beside.strength], "weakest", class_edge).strength
    flags = place_flags(strength.strength_class, new_build=new_build, near_foundation=True, old_pavement=False)
    flags.append(
        f"Nothing was read in the strip along the foundation: it is taken as {strength.strength_class} until tested."
    )
    rule = "loose backfill, taken as soft until tested (basecalc's own choice)"
    return AreaStrength(area.name, (), strength, rule, (), tuple(flags), _READ_IT)


def _on_sound_ground(area: JobArea, own: AreaStrength, beside: AreaStrength | None) -> AreaStrength:
    """Return the ground that the base of an area lies on once its loose fill is replaced; its own where it is not."""
    loose = area.loose_fill
    if loose is not None and loose.sound is not None and rank(loose.sound.strength_class) < rank(_class(own)):
        raise InputError(
            f"sound ground is {loose.sound.strength_class}; it must be at least {_class(own)}, as strong as what lies "
            "above it"
        )
    if loose is None or loose.way != "fill":
        return own
    strength, whose = loose.sound, "as given by hand"
    if strength is None and beside is not None:
        strength, whose = beside.strength, f"as {beside.name}"
    if strength is None:
        return own
    rule = f"granular fill, compacted, down to sound ground taken {whose}; without it {own.strength.strength_class}"
    check = "Look at the bottom of the dig before it is filled: the sound ground must be as strong as it was taken."
    return replace(own, strength=strength, rule=rule, test_next=check, governed_by="", overruled=SOUND_GROUND)


def _class(ground: AreaStrength) -> str:
    return ground.strength.strength_class


def _with_pavement(area: JobArea, own: AreaStrength, units: str) -> AreaStrength:
    """Return the ground of an area with what its old pavement says: the weaker is taken, in the open."""
    if not area.old_pavement_m or not (area.pavement or area.keep_old_base):
        return own
    known = area.pavement or Pavement()
    said = speaks(known, area.old_pavement_kind, units)
    words = open_words(said)
    flags = [f"Old {area.old_pavement_kind}: {sentence}." for sentence in said.sentences]
    if words:
        flags.append(f"The old pavement speaks for {words} ground ({said.source}).")
    if len(known.holes) < holes_needed(area.area_m2):
        flags.append(f"{hole_advice(area.area_m2, units)}.")
    if known.base_m and not known.holes:
        flags.append(
            f"{written(known.base_m, 'depth', units)} of old base is hearsay: without a test hole none of it counts."
        )
    taken = own.strength.strength_class
    conflicts = list(own.conflicts)
    if words and rank(taken) > rank(said.strongest):
        conflicts.append(f"the old pavement speaks for {words} ground, but {taken} was taken: the weaker is taken")
        rule = f"the old pavement, which speaks for {words} ground, is weaker than {own.rule}"
        own = replace(own, strength=Strength(said.strongest), rule=rule, governed_by="", overruled=OLD_PAVEMENT)
    elif words and rank(taken) < rank(said.weakest):
        flags.append(f"It speaks for better ground than the {taken} that was taken; testing again may save stone.")
    return replace(own, flags=(*own.flags, *flags), conflicts=tuple(conflicts))


def _finding_flags(area: JobArea, taken: AreaTakeoff, units: str, *, new_build: bool) -> tuple[str, ...]:
    """Return what must catch the eye once the dig is known: the old base, the footing, the loose fill."""
    flags = [f"{taken.old_base[:1].upper()}{taken.old_base[1:]}."] if taken.old_base else []
    bottom = taken.dig_m + area.old_pavement_m + taken.fill_m
    deep = written(bottom, "depth", units)
    if area.footing_m is not None and bottom > area.footing_m + 1e-9:
        flags.append(
            f"The dig along the foundation goes {deep} down, below the bottom of its footing at "
            f"{written(area.footing_m, 'depth', units)}: not without support or a registered engineer's approval "
            "(29 CFR 1926.651(i), from memory)."
        )
    elif area.footing_m is None and (area.strip_of or (area.foundation_edge_m and area.loose_fill)):
        flags.append(
            f"How deep the footing lies is not known, and the dig beside it goes {deep} down: find its bottom first. "
            "Never below it, nor below a line that falls from its edge one down on one out (common practice, no "
            "source), without a licensed engineer."
        )
    if new_build and area.foundation_edge_m and not area.strip_of:
        flags.append(
            "The backfill along a new foundation is taken as strong as the rest of this area: with its width known, "
            "make it an area of its own (foundation_strip = true)."
        )
    if area.strip_of or area.loose_fill:
        flags.append(
            "Fill that nobody compacted is a matter for a licensed engineer; what replaces it is placed in thin "
            "layers, each compacted and tested."
        )
    if area.loose_fill is not None and area.loose_fill.way == "stone" and bottom >= area.loose_fill.depth_m:
        flags.append("The base reaches the sound ground below the loose fill by itself: no fill is left to replace.")
    return tuple(flags)


def site_of(job: Job, area: JobArea, trucks: StoneTrucks | None = None) -> Site:
    """Return what the place of an area adds to the strength of its ground."""
    water = None if area.water_table_m is None else area.water_table_m + area.finish_above_ground_m
    freezes = job.climate is None or job.climate.freezing_index > 0
    return Site(soil_named(area.soil).fine, water, freezes, trucks)


def frost_of(job: Job, area: JobArea, design: DesignSettings) -> FrostGround | None:
    """Return the ground of an area in frost where the owner or the job asks for it, or nothing."""
    asked = "frost" in design.checks or area.frost is not None or job.climate is not None
    return frost_ground(area.soil, area.frost) if asked else None


def construction(quote: Quote, name: str) -> Check:
    """Return the construction check of an area as it is offered; for information where no truck drives on the base."""
    made = quote.offered_depths[name]
    if (counted := made.check("construction")) is not None:
        return counted
    trucks = stone_trucks(quote.offer.takeoff, materials(quote.job, quote.book.company))
    return construction_check(made.cbr, trucks, made.reinforcement, made.settings.base_cbr, counts=False)


def stone_trucks(takeoff: Takeoff, own: Materials) -> StoneTrucks:
    """Return the loaded trucks that bring the stone of a take-off."""
    return StoneTrucks(round(takeoff.amount("stone-haul")), own.stone_truck.axles)


def trucks_may_drive(quote: Quote, name: str) -> bool:
    """Return whether the finished base of an area bears the loaded stone trucks, and nobody forbade them."""
    needed = construction(quote, name).depth_m
    bears = needed is not None and needed <= quote.offered_depths[name].required_m + 1e-9
    return bears and quote.job.stone_trucks_on_base is not False


def water_near_dig(area: JobArea, dig_m: float) -> bool:
    """Return whether free water is so near the bottom of an area's dig that it is a matter for the job."""
    return bool(_water(area, dig_m, "in"))


def with_site_flags(
    job: Job,
    company: Company,
    ground: Mapping[str, AreaStrength],
    depths: Mapping[str, BaseDepth],
    takeoff: Takeoff,
) -> dict[str, AreaStrength]:
    """Return the ground of each area with the flags of season, water, frost and soil, and what walking would save."""
    unit = "mm" if job.units == "metric" else "in"
    found = {}
    for area in job.areas:
        taken, own, made = takeoff.area(area.name), ground[area.name], depths[area.name]
        flags = [*own.flags, *_finding_flags(area, taken, job.units, new_build=job.new_build)]
        if area.water_table_m is not None:
            moistures = tuple(finding.reading.moisture for spot in own.spots for finding in spot.findings)
            flags += [
                _water(area, taken.dig_m, unit),
                season_flag(moistures, water_reach(area.water_table_m, taken.dig_m)),
            ]
        flags.append(_heave(job, area, made, taken.below_finish_m, unit))
        asked = area_question(
            job, area.name, company, made.traffic, made.reinforcement, made.settings, made.site.trucks
        )
        flags.append(f"{asked}." if asked else "")
        advice = " ".join(words for words in (own.test_next, _walking(own, made, unit)) if words)
        found[area.name] = replace(own, flags=tuple(dict.fromkeys(flag for flag in flags if flag)), test_next=advice)
    return found


def _walking(own: AreaStrength, made: BaseDepth, unit: str) -> str:
    """Return what walking the whole area would save in depth; nothing where it was walked, or would save nothing."""
    if own.walked or own.overruled or not own.spots or own.strength.as_read is None:
        return ""
    edge = made.settings.class_edge
    full = area_strength(own.name, own.spots, class_edge=edge, walked=True, spot_rule=own.spot_rule).strength
    depth = base_depth(
        full, made.traffic, made.reinforcement, made.settings, unit=unit, frost=made.frost, site=made.site
    )
    if depth.required_m >= made.required_m - 1e-9:
        return ""
    return (
        "Walk the whole area and test its softest place (walked = true): readings then count as measured, and if no "
        f"softer place turns up, {amount(depth.required_m, unit, 0)} of base do instead of "
        f"{amount(made.required_m, unit, 0)}."
    )


def _water(area: JobArea, dig_m: float, unit: str) -> str:
    if area.water_table_m is None:
        return ""
    return water_flag(
        water_reach(area.water_table_m, dig_m), fine=soil_named(area.soil).fine,
        water_words=amount(area.water_table_m, unit, 0), dig_words=amount(dig_m, unit, 0),
    )  # fmt: skip


def _heave(job: Job, area: JobArea, depth: BaseDepth, bottom_m: float, unit: str) -> str:
    if job.climate is None or depth.frost is None:
        return ""
    try:
        frost = frost_depth(job.climate, area.soil, area.frost)
    except BasecalcError as refusal:
        raise refusal.at(job.place(area.name)) from None
    return heave_warning(frost, bottom_m, depth.frost.group, amount(frost.depth_m, unit, 0), amount(bottom_m, unit, 0))


def index_question(mm_per_blow: float, soil: str, units: str = "us") -> str:
    """Return the question for one index of the cone, both depths under light traffic without reinforcement.

    Examples
    --------
    >>> index_question(62, "fat clay")
    'Is it lean or fat clay? A laboratory test of the soil would tell: lean clay 14 in, lab-tested fat clay 6 in'
    >>> index_question(5, "fat clay")
    ''
    """
    ask, *kinds = question(soil)
    if not ask:
        return ""
    ratios = [cone_cbr(mm_per_blow, kind) for kind in kinds]
    depths = [_depth(Strength(class_of_cbr(cbr), cbr), traffic("light"), NONE, DEFAULT_SETTINGS) for cbr in ratios]
    return _sentence(ask, kinds, depths, units)


def area_question(
    job: Job,
    name: str,
    company: Company,
    loads: Traffic,
    laid: Reinforcement,
    design: DesignSettings,
    trucks: StoneTrucks | None = None,
) -> str:
    """Return the question for an area of a job, both depths as it is offered; nothing where it changes little."""
    soils = {
        reading.soil
        for spot in job.spots_of(name)
        for reading in spot.readings
        if reading.test.strip().casefold() == "cone" and question(reading.soil)[0]
    }
    if not soils:
        return ""
    asked = sorted({question(soil) for soil in soils})
    depths: list[float | None] = []
    named = next(one for one in job.areas if one.name == name)
    for kind in (1, 2):
        area = replace(named, soil=question(named.soil)[kind] or named.soil)
        spots = tuple(
            replace(spot, readings=tuple(
                replace(reading, soil=question(reading.soil)[kind] or reading.soil)
                if reading.test.strip().casefold() == "cone" else reading
                for reading in spot.readings
            )) if spot.area == name else spot
            for spot in job.spots
        )  # fmt: skip
        ground = area_grounds(replace(job, spots=spots), company)[name]
        frost, site = frost_of(job, area, design), site_of(job, area, trucks)
        depths.append(_depth(ground.strength, loads, laid, design, frost, site))
    kinds = [" or ".join(dict.fromkeys(one[kind] for one in asked)) for kind in (1, 2)]
    return _sentence(asked[0][0], kinds, depths, job.units)


def _depth(
    strength: Strength,
    loads: Traffic,
    laid: Reinforcement,
    design: DesignSettings,
    frost: FrostGround | None = None,
    site: Site = UNKNOWN,
) -> float | None:
    """Return the base depth [m]; None for ground that no base is designed for."""
    try:
        return base_depth(strength, loads, laid, design, frost=frost, site=site).required_m
    except OutOfRangeError:
        return None


def _sentence(ask: str, kinds: Sequence[str], depths: Sequence[float | None], units: str) -> str:
    weak, strong = depths
    far = limit("a soil word matters from") * INCH_M
    if weak == strong or (weak is not None and strong is not None and printed(weak - strong) < printed(far)):
        return ""
    words = ["an engineered base" if one is None else tenths(one, units) for one in depths]
    told = [f"{kind} {base}" for kind, base in zip(kinds, words, strict=True)]
    return f"{ask}: {', '.join(told)}"


def separator_why(
    job: Job, area: JobArea, ground: AreaStrength, cbr: float, settings: DesignSettings, *, on_grid: bool
) -> str:
    """Return what calls for a separator under the stone of an area; nothing where it has one or needs none.

    References
    ----------
    FHWA-NHI-05-037, Table 7-15: below CBR 3 [digitized]. Wet soil and any fine soil under a geogrid: Giroud and Han's
    later recommendations ask for a filter between base and subgrade [read in part]; what is asked here: own choice.
    """
    if area.geotextile or not soil_named(area.soil).fine:
        return ""
    moistures = {finding.reading.moisture.strip().casefold() for spot in ground.spots for finding in spot.findings}
    wet = "wet" in (moistures or {job.season.casefold()}) or water_near(site_of(job, area), settings)
    weak = printed(cbr) < limit("strongest ground that needs a separator")
    if not (on_grid or wet or weak):
        return ""
    laid = "a geogrid" if on_grid else "stone"
    return f"{laid} on {'wet ' if wet else ''}{area.soil} with no geotextile"


def separator_required(cbr: float, *, on_grid: bool) -> bool:
    """Return whether no geogrid should be laid without a separator: basecalc's own choice."""
    return on_grid and printed(cbr) < limit("weakest geogrid without a separator")
