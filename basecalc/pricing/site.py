"""What season, water and frost add to an area's ground once its dig is known: flags for the office before it prices."""

from collections.abc import Mapping
from dataclasses import replace

from basecalc.base.check import Check
from basecalc.base.construction import StoneTrucks, construction_check
from basecalc.base.depth import BaseDepth, base_depth
from basecalc.base.frost import FrostGround, frost_ground
from basecalc.base.frost_depth import frost_depth, heave_warning
from basecalc.base.season import season_flag, water_flag, water_reach
from basecalc.base.settings import DesignSettings
from basecalc.errors import BasecalcError
from basecalc.ground.soils import soil
from basecalc.ground.strength import AreaStrength, area_strength
from basecalc.job import Job, JobArea
from basecalc.pricing.findings import finding_flags
from basecalc.pricing.record import Quote
from basecalc.rounding import fixed
from basecalc.takeoff.materials import Materials, materials
from basecalc.takeoff.record import Takeoff
from basecalc.units import INCH_M


def frost_of(job: Job, area: JobArea, design: DesignSettings) -> FrostGround | None:
    """Return the ground of an area in frost where the owner or the job asks for it, or nothing.

    Parameters
    ----------
    job
        The job; its design winter asks.
    area
        The area; what it says of frost asks.
    design
        The owner's settings; the frost check asks.
    """
    asked = "frost" in design.checks or area.frost is not None or job.climate is not None
    return frost_ground(area.soil, area.frost) if asked else None


def construction(quote: Quote, name: str) -> Check:
    """Return the construction check of an area as it is offered; for information where no truck need drive on the base.

    Parameters
    ----------
    quote
        The priced job.
    name
        The area.
    """
    made = quote.offered_depths[name]
    if (counted := made.check("construction")) is not None:
        return counted
    trucks = stone_trucks(quote.offer.takeoff, materials(quote.job, quote.book.company))
    return construction_check(made.cbr, trucks, made.reinforcement, made.settings.base_cbr, counts=False)


def stone_trucks(takeoff: Takeoff, own: Materials) -> StoneTrucks:
    """Return the loaded trucks that bring the stone of a take-off.

    Parameters
    ----------
    takeoff
        Every quantity of one option.
    own
        The owner's materials: the axles of the truck.
    """
    return StoneTrucks(round(takeoff.amount("stone-haul")), own.stone_truck.axles)


def trucks_may_drive(quote: Quote, name: str) -> bool:
    """Return whether the finished base of an area bears the loaded stone trucks, and nobody forbade them.

    Parameters
    ----------
    quote
        The priced job.
    name
        The area.
    """
    needed = construction(quote, name).depth_m
    bears = needed is not None and needed <= quote.offered_depths[name].required_m + 1e-9
    return bears and quote.job.stone_trucks_on_base is not False


def water_near(area: JobArea, dig_m: float) -> bool:
    """Return whether free water stands so near the bottom of an area's dig that it is a matter for the job.

    Parameters
    ----------
    area
        The area.
    dig_m
        Depth of its dig below the ground [m].
    """
    if area.water_table_m is None:
        return False
    return bool(_water(area, dig_m, "in"))


def with_site_flags(
    job: Job, ground: Mapping[str, AreaStrength], depths: Mapping[str, BaseDepth], takeoff: Takeoff
) -> dict[str, AreaStrength]:
    """Return the ground of each area with the flags of season, water and frost, and what walking it would save.

    Parameters
    ----------
    job
        The job.
    ground
        Strength of each area, by name.
    depths
        Base depth of each area, by name.
    takeoff
        The offered option, which knows how deep each area is dug.

    Raises
    ------
    OutOfRangeError
        A design winter or a soil outside the frost equations; the message names the area.
    """
    unit = "mm" if job.units == "metric" else "in"
    found = {}
    for area in job.areas:
        taken, own = takeoff.area(area.name), ground[area.name]
        flags = [*own.flags, *finding_flags(area, taken, job.units, new_build=job.new_build)]
        if area.water_table_m is not None:
            moistures = tuple(finding.reading.moisture for spot in own.spots for finding in spot.findings)
            flags += [
                _water(area, taken.dig_m, unit),
                season_flag(moistures, water_reach(area.water_table_m, taken.dig_m)),
            ]
        flags.append(_heave(job, area, depths[area.name], taken.below_finish_m, unit))
        advice = " ".join(words for words in (own.test_next, _walking(own, depths[area.name], unit)) if words)
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
        f"softer place turns up, {_words(depth.required_m, unit)} of base do instead of "
        f"{_words(made.required_m, unit)}."
    )


def _water(area: JobArea, dig_m: float, unit: str) -> str:
    if area.water_table_m is None:
        return ""
    reach = water_reach(area.water_table_m, dig_m)
    return water_flag(
        reach, fine=soil(area.soil).fine, water_words=_words(area.water_table_m, unit), dig_words=_words(dig_m, unit)
    )


def _heave(job: Job, area: JobArea, depth: BaseDepth, bottom_m: float, unit: str) -> str:
    if job.climate is None or depth.frost is None:
        return ""
    try:
        frost = frost_depth(job.climate, area.soil, area.frost)
    except BasecalcError as refusal:
        place = job.source_path or f"job {job.number}"
        raise refusal.at(f'{place}, area "{area.name}"') from None
    return heave_warning(frost, bottom_m, depth.frost.group, _words(frost.depth_m, unit), _words(bottom_m, unit))


def _words(depth_m: float, unit: str) -> str:
    """Return a depth of the ground in whole inches or millimetres."""
    return f"{fixed(depth_m / INCH_M if unit == 'in' else depth_m * 1000, 0)} {unit}"
