"""From a job and the owner's prices to the options side by side."""

from collections.abc import Mapping, Set
from dataclasses import replace

from basecalc.base.construction import StoneTrucks
from basecalc.base.depth import BaseDepth, base_depth
from basecalc.base.reinforcement import NONE, Reinforcement, reinforcement
from basecalc.base.settings import DesignSettings
from basecalc.base.traffic import TRAFFIC_NAMES, Traffic, traffic
from basecalc.checks import choice
from basecalc.company import Company
from basecalc.errors import BasecalcError, InputError, OutOfRangeError
from basecalc.ground.advice import place_flags
from basecalc.ground.strength import AreaStrength, area_strength, spot_strength
from basecalc.job import Job, JobArea
from basecalc.pricing.depth_prices import depth_prices
from basecalc.pricing.estimate import estimate
from basecalc.pricing.findings import on_sound_ground, untested_strip, with_pavement
from basecalc.pricing.loose_fill import fill_options
from basecalc.pricing.prices import PriceBook
from basecalc.pricing.rates import break_even, saving
from basecalc.pricing.record import BreakEven, DepthPrices, Estimate, Quote, Saving
from basecalc.pricing.separator import separator
from basecalc.pricing.site import frost_of, stone_trucks, with_site_flags
from basecalc.pricing.site_place import site_of
from basecalc.pricing.soil_question import area_question
from basecalc.pricing.weak_corner import weak_corners
from basecalc.takeoff.materials import Materials, materials
from basecalc.takeoff.record import Option
from basecalc.takeoff.takeoff import take_off

__all__ = ["BreakEven", "DepthPrices", "Quote", "Saving", "area_grounds", "quote", "quote_on"]


def quote(job: Job, book: PriceBook) -> Quote:
    """Return a job's ground, depths and priced options: all that the workbooks are written from.

    Parameters
    ----------
    job
        The job.
    book
        The owner's settings and prices.

    Raises
    ------
    InputError
        The job names what the owner does not have, or asks for a geogrid option that there is not.
    OutOfRangeError
        Ground too weak for a base depth, or a depth at which an area cannot be built; the message names the area.
    PriceError
        A price or a material that the job needs is missing.

    Examples
    --------
    Read both files, then ask for the quote::

        quote(load_job("drive.toml"), load_prices("prices.xlsx")).offer.total
    """
    made = quote_on(job, book)
    return replace(
        made,
        deeper=depth_prices(made),
        fill_options=fill_options(made, quote_on),
        weak_corners=weak_corners(made, quote_on),
        separator=separator(made, quote_on),
    )


def quote_on(job: Job, book: PriceBook, known: Mapping[str, AreaStrength] | None = None) -> Quote:
    """Return the quote without what prices the job again: no table of deeper bases, no other ways with loose fill.

    Parameters
    ----------
    job, book
        The job, and the owner's settings and prices.
    known
        Ground of areas that is known already, by name; what the job says of it is not asked again.
    """
    company = book.company
    own = materials(job, company)
    design = replace(company.design, paver_m=own.paver.thickness_m)
    ground = area_grounds(job, company, known)
    loads = _traffic(job, company)
    trucks = None if job.stone_trucks_on_base is not True else StoneTrucks(0, own.stone_truck.axles)
    depths = _depths(job, ground, loads, NONE, design, trucks)
    while trucks is not None:  # more stone is more trucks, which may need more stone: loads are only ever added
        arriving = stone_trucks(take_off(job, company, depths, "stone"), own)
        if arriving.loads <= trucks.loads:
            break
        trucks = arriving
        depths = _depths(job, ground, loads, NONE, design, trucks)
    stone = estimate(take_off(job, company, depths, "stone"), book)
    usual = dict.fromkeys(depths, company.habit_depth_m)
    habit, no_habit = _priced(job, book, usual, "habit", {name: depth.cbr for name, depth in depths.items()})
    kept = {area.area.name for area in stone.takeoff.areas if area.kept_m > 0}
    grids, why_not = _geogrid_depths(job, ground, loads, own, design, depths, kept, trucks)
    geogrid, cannot = _priced(job, book, grids, "geogrid", {}) if grids else (None, "")
    if cannot:
        grids, why_not = {}, f"With geogrid the base would be too thin here: {cannot}."
    offered = _offered(job, stone, geogrid, why_not)
    offer = geogrid if offered == "geogrid" and geogrid is not None else stone
    offered_depths = grids if offered == "geogrid" else depths
    flagged = with_site_flags(job, ground, offered_depths, offer.takeoff)
    asked = {
        name: area_question(
            job, name, lambda other: area_grounds(other, company), loads, depth.reinforcement, design, trucks
        )
        for name, depth in offered_depths.items()
    }
    return Quote(
        job=job,
        book=book,
        ground={
            name: replace(one, flags=(*one.flags, f"{asked[name]}.")) if asked[name] else one
            for name, one in flagged.items()
        },
        depths=depths,
        geogrid_depths=grids,
        stone=stone,
        geogrid=geogrid,
        habit=habit,
        offered=offered,
        against_habit=saving(offer, habit) if habit is not None else None,
        against_stone=saving(geogrid, stone) if geogrid is not None else None,
        break_even=break_even(stone, geogrid, own.geogrid) if geogrid is not None and own.geogrid is not None else None,
        no_geogrid=why_not,
        no_habit=f"The one-depth habit cannot be built here: {no_habit}." if no_habit else "",
    )


def _priced(
    job: Job, book: PriceBook, depths: Mapping[str, BaseDepth | float], option: Option, cbrs: Mapping[str, float]
) -> tuple[Estimate | None, str]:
    """Return an option priced that need not be possible, or why it cannot be built here."""
    try:
        return estimate(take_off(job, book.company, depths, option, cbrs=cbrs), book), ""
    except OutOfRangeError as error:
        return None, str(error)


def area_grounds(
    job: Job, company: Company, known: Mapping[str, AreaStrength] | None = None
) -> dict[str, AreaStrength]:
    """Return the strength of each area by name, from its spots or as given by hand.

    Parameters
    ----------
    job
        The job.
    company
        The owner's settings.
    known
        Ground of areas that is known already, by name: it is taken as it is.
    """
    grounds: dict[str, AreaStrength] = {}
    for area in job.areas:  # an area comes before the strip that was cut from it
        if known and area.name in known:
            grounds[area.name] = known[area.name]
            continue
        beside = grounds.get(area.strip_of)
        tested = area.strength is not None or bool(job.spots_of(area.name))
        if beside is not None and not tested:
            own = untested_strip(area, beside, company.design.class_edge, new_build=job.new_build)
        else:
            own = _ground(job, area, company)
        try:
            grounds[area.name] = on_sound_ground(area, with_pavement(area, own, job.units), beside)
        except BasecalcError as error:
            raise error.at(_where(job, area.name)) from None
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
        raise error.at(_where(job, area.name)) from None


def _where(job: Job, area: str) -> str:
    return f'{job.source_path or f"job {job.number}"}, area "{area}"'


def _traffic(job: Job, company: Company) -> Traffic:
    own = {level.name.casefold(): level for level in company.traffics}
    names = tuple(dict.fromkeys((*(level.name for level in company.traffics), *TRAFFIC_NAMES)))
    try:
        word = choice("traffic", job.traffic, names)
    except BasecalcError as error:
        raise error.at(job.source_path or f"job {job.number}") from None
    return own.get(word.casefold()) or traffic(word)


def _depths(
    job: Job,
    ground: Mapping[str, AreaStrength],
    loads: Traffic,
    laid: Reinforcement,
    design: DesignSettings,
    trucks: StoneTrucks | None = None,
) -> dict[str, BaseDepth]:
    unit = "mm" if job.units == "metric" else "in"
    depths = {}
    for area in job.areas:
        try:
            frost = frost_of(job, area, design)
            depths[area.name] = base_depth(
                ground[area.name].strength, loads, laid, design, unit=unit, frost=frost, site=site_of(job, area, trucks)
            )
        except BasecalcError as error:
            raise error.at(_where(job, area.name)) from None
    return depths


def _geogrid_depths(
    job: Job,
    ground: Mapping[str, AreaStrength],
    loads: Traffic,
    own: Materials,
    design: DesignSettings,
    plain: Mapping[str, BaseDepth],
    kept: Set[str],
    trucks: StoneTrucks | None,
) -> tuple[dict[str, BaseDepth], str]:
    """Return the depths of the geogrid option, or why there is none.

    Grid is laid only where it thins the base, and never where an old base stays: it could not be laid below that. The
    stone trucks are those of the option without it, of which there are no fewer.
    """
    roll = own.geogrid
    if roll is None:
        return {}, "There is no geogrid in the owner's lists."
    laid = reinforcement("geogrid", roll.aperture_stability, roll.reduction, roll.reduction_source)
    grids = _depths(job, ground, loads, laid, design, trucks)
    thinner = {name for name, depth in grids.items() if depth.required_m < plain[name].required_m - 1e-9} - kept
    if not thinner:
        return {}, f"{roll.name} would make no base thinner here."
    return {name: grids[name] if name in thinner else plain[name] for name in plain}, ""


def _offered(job: Job, stone: Estimate, geogrid: Estimate | None, why_not: str) -> Option:
    if job.offer == "geogrid" and geogrid is None:
        raise InputError(
            f"offer is 'geogrid', but there is no such option: {why_not} It must be 'stone' or 'cheaper'",
            where=job.source_path or f"job {job.number}",
        )
    if geogrid is None or job.offer == "stone":
        return "stone"
    return "geogrid" if job.offer == "geogrid" or geogrid.total < stone.total else "stone"
