"""Loose fill priced both ways: more stone above it, or dug out to sound ground and replaced by granular fill.

Where fine soil would work up into the stone: a separator between them is called for, and what it would cost.
A weak corner as an area of its own: what it would cost to build it deep and the rest of the area less deep.
What a deeper base adds to the price, depth by depth and area by area: worked out at quoting, then promised.
From a job and the owner's prices to the options side by side.
"""

from collections.abc import Callable, Mapping, Set
from dataclasses import replace
from decimal import Decimal
from typing import Final, Literal

from basecalc.company import Company
from basecalc.core.errors import BasecalcError, InputError, OutOfRangeError
from basecalc.core.numbers import choice, printed, round_up
from basecalc.core.published import table
from basecalc.core.units import INCH_M
from basecalc.design.depth import BaseDepth, StoneTrucks, base_depth, water_near
from basecalc.design.settings import (
    NONE,
    TRAFFIC_NAMES,
    DesignSettings,
    Reinforcement,
    Traffic,
    limit,
    reinforcement,
    traffic,
)
from basecalc.ground.classes import CLASSES, Strength, rank
from basecalc.ground.readings import soil_named
from basecalc.ground.strength import (
    AreaStrength,
    area_rule,
    area_strength,
    counted,
    known_cbr,
    place_flags,
    spot_strength,
)
from basecalc.job import Job, JobArea
from basecalc.pricing.estimate import break_even, estimate, saving
from basecalc.pricing.prices import PriceBook
from basecalc.pricing.records import DepthPrices, Estimate, FillOption, FillWay, Quote, Separator, Way, WeakCorner
from basecalc.pricing.site import (
    area_question,
    frost_of,
    on_sound_ground,
    site_of,
    stone_trucks,
    untested_strip,
    with_pavement,
    with_site_flags,
)
from basecalc.pricing.value_of_testing import designed_at
from basecalc.takeoff.codes import code
from basecalc.takeoff.earthwork import in_unit
from basecalc.takeoff.takeoff import Materials, Option, Quantity, materials, stone_mass_kg, take_off


def fill_options(made: Quote, quoted: Callable[[Job, PriceBook], Quote]) -> tuple[FillOption, ...]:
    """Return the other way of dealing with loose fill, for each area that has some, priced as a whole job.

    Each area is turned alone, the others stay as they are quoted; with or without geogrid is chosen anew, by what the
    job asks to be offered.
    """
    found = []
    for area in made.job.areas:
        if area.loose_fill is None:
            continue
        way: Way = "stone" if area.loose_fill.way == "fill" else "fill"
        turned = replace(area, loose_fill=replace(area.loose_fill, way=way))
        job = replace(made.job, areas=tuple(turned if one is area else one for one in made.job.areas))
        chosen = _way(made, area.name, area.loose_fill.way)
        try:
            turned_quote = quoted(job, made.book)
            other, cannot = _way(turned_quote, area.name, way), ""
        except BasecalcError as error:
            turned_quote, other, cannot = None, None, error.sentence
        stays = made if way == "fill" else turned_quote
        volume, recompact, no_price = (0.0, None, cannot) if stays is None else _recompacted(stays, area.name)
        found.append(FillOption(area.name, chosen, other, cannot, area.loose_fill.offered, volume, recompact, no_price))
    return tuple(found)


def _recompacted(stays: Quote, name: str) -> tuple[float, Decimal | None, str]:
    """Return the loose fill left below the stone, and what digging it out and compacting it in lifts costs the client.

    It is priced as digging and as placing fill, by the owner's own prices of both; no stone, no truck. The base stays
    as deep as on the loose fill: how strong it becomes, only a test of the finished lifts would show.
    """
    area = stays.offer.takeoff.area(name)
    deep = area.area.loose_fill.depth_m if area.area.loose_fill else 0.0
    volume = area.base_area_m2 * max(deep - area.dig_m - area.area.old_pavement_m, 0.0)
    if not volume:
        return 0.0, None, "the base reaches sound ground by itself"
    units = stays.job.units
    quantities = tuple(
        Quantity(
            key, code(key).title, name, in_unit(volume, code(key).unit(units)), code(key).unit(units), "loose fill"
        )
        for key in ("dig", "foundation-place")
    )
    try:
        return volume, estimate(replace(stays.offer.takeoff, quantities=quantities), stays.book, part=True).total, ""
    except BasecalcError as error:
        return volume, None, f"no price: {error.sentence}"


def _way(made: Quote, name: str, way: Way) -> FillWay:
    takeoff = made.offer.takeoff
    area = takeoff.area(name)
    own = materials(made.job, made.book.company)
    fill_kg = 0.0 if own.fill is None else stone_mass_kg(area.fill_m3, own.fill)
    return FillWay(
        way,
        area.base_m,
        area.bank_m3,
        area.stone_kg,
        fill_kg,
        round(takeoff.amount("spoil-haul") + takeoff.amount("old-pavement-haul")),
        round(takeoff.amount("stone-haul")),
        made.offer.cost,
        made.offer.total,
        made.offered_depths[name].reinforcement.kind == "geogrid",
    )


_WET: Final = "wet"


def separator_why(
    job: Job, area: JobArea, ground: AreaStrength, cbr: float, settings: DesignSettings, *, on_grid: bool
) -> str:
    """Return what calls for a separator under the stone of an area; nothing where it has one or needs none.

    References
    ----------
    FHWA-NHI-05-037, Table 7-15: below CBR 3 [digitised]. Wet soil and any fine soil under a geogrid: Giroud and Han's
    later recommendations ask for a filter between base and subgrade [read in part]; what is asked here: own choice.
    """
    if area.geotextile or not soil_named(area.soil).fine:
        return ""
    moistures = {finding.reading.moisture.strip().casefold() for spot in ground.spots for finding in spot.findings}
    wet = _WET in (moistures or {job.season.casefold()}) or water_near(site_of(job, area), settings)
    weak = printed(cbr) < limit("strongest ground that needs a separator")
    if not (on_grid or wet or weak):
        return ""
    laid = "a geogrid" if on_grid else "stone"
    return f"{laid} on {'wet ' if wet else ''}{area.soil} with no geotextile"


def separator_required(cbr: float, *, on_grid: bool) -> bool:
    """Return whether no geogrid should be laid without a separator: basecalc's own choice."""
    return on_grid and printed(cbr) < limit("weakest geogrid without a separator")


def missing(quote: Quote) -> dict[str, str]:
    """Return what calls for a separator in each area of the offer that has none."""
    found = {}
    for area in quote.job.areas:
        made = quote.offered_depths[area.name]
        on_grid = made.reinforcement.kind == "geogrid"
        ground = quote.ground[area.name]
        if why := separator_why(quote.job, area, ground, made.cbr, made.settings, on_grid=on_grid):
            found[area.name] = why
    return found


def separator(made: Quote, quoted: Callable[[Job, PriceBook], Quote]) -> Separator | None:
    """Return the separator that the offer lacks, and what the offer costs more with it; None where it lacks none."""
    why = missing(made)
    if not why:
        return None
    areas = tuple(replace(area, geotextile=True) if area.name in why else area for area in made.job.areas)
    offer: Literal["stone", "geogrid"] = "geogrid" if made.offered == "geogrid" else "stone"
    try:
        other = quoted(replace(made.job, areas=areas, offer=offer), made.book)
    except BasecalcError as refusal:
        return Separator(why, None, refusal.sentence)
    return Separator(why, other.offer.total - made.offer.total, "")


def weak_corners(made: Quote, quoted: Callable[[Job, PriceBook], Quote]) -> tuple[WeakCorner, ...]:
    """Return for each area with a weak corner what the job would cost with that corner as an area of its own.

    Never applied: where the corner ends is an estimate until two more spots find it. Areas with a foundation strip,
    loose fill or ground that the spots do not decide are left out.

    Notes
    -----
    Looked at from five spots on, where the weakest counts below half of the next weakest. Of n spots the corner is
    taken to reach to the next good ones, 2 / n of the area. Common practice, no source; tried on random ground.
    """
    found = []
    for area in made.job.areas:
        if area.strip_of or area.loose_fill or any(one.strip_of == area.name for one in made.job.areas):
            continue
        pair = _two_weakest(made.ground[area.name], made.book.company.design.class_edge)
        if pair is None:
            continue
        spot, weak, rest = pair
        spots = sum(one.counts for one in made.ground[area.name].spots)
        share = area_rule("area of a weak corner") / spots
        name = f"{area.name}, weak corner"
        parts = (_part(area, area.name, 1 - share, rest), _part(area, name, share, weak))
        areas = tuple(part for one in made.job.areas for part in (parts if one is area else (one,)))
        others = tuple(one for one in made.job.spots if one.area != area.name)
        try:
            split = quoted(replace(made.job, areas=areas, spots=others), made.book)
        except BasecalcError:  # it cannot be built so, and nothing is offered
            continue
        depths = split.offered_depths
        whole = made.offered_depths[area.name].required_m
        if depths[area.name].required_m < whole - 1e-9:
            found.append(
                WeakCorner(
                    area.name, spot, spots, share, whole, depths[name].required_m, depths[area.name].required_m,
                    made.offer.total, split.offer.total,
                )
            )  # fmt: skip
    return tuple(found)


def _two_weakest(ground: AreaStrength, class_edge: str) -> tuple[str, Strength, Strength] | None:
    """Return the weakest spot, what it and the next weakest count; nothing where there is no weak corner."""
    spots = [spot for spot in ground.spots if spot.counts]
    if ground.overruled or len(spots) < area_rule("spots for a weak corner"):
        return None
    known = sorted(
        ((counted(spot.strength, walked=ground.walked, allowance=ground.allowance), spot.name) for spot in spots),
        key=lambda one: (known_cbr(one[0], class_edge), one[1]),
    )
    (weak, name), (rest, _) = known[:2]
    below = area_rule("weak corner below") * known_cbr(rest, class_edge)
    return (name, weak, rest) if known_cbr(weak, class_edge) < below else None


def _part(area: JobArea, name: str, share: float, strength: Strength) -> JobArea:
    """Return a part of an area, cut across its length: edges and corners by its share."""
    length, width = area.extent_m
    return replace(
        area,
        name=name,
        shape="measured",
        area_m2=area.area_m2 * share,
        perimeter_m=None if area.perimeter_m is None else area.perimeter_m * share,
        open_edge_m=area.open_edge_m * share,
        corners=area.corners * share,
        extent_m=(length * share, width),
        foundation_edge_m=area.foundation_edge_m * share,
        edge_restraint_m=area.edge_restraint_m * share,
        strength=strength,
    )


_WORDS: Final = {"us": "1 in", "metric": "10 mm"}


def depth_prices(quote: Quote) -> DepthPrices:
    """Return what each further step of base depth adds to the price, for each area on its own.

    Notes
    -----
    P(n) = max(0, P(n - 1), T(d + n s) - T(d)), where T is the total of the whole job with the base of that one area at
    a depth, d the depth offered and s the step (1 in, or 10 mm in a metric job). T counts whole loads and rolls, the
    extension at the edges and what granular fill is saved; rolls lap as the weaker ground needs. n goes as far as
    ground one class weaker, at the weak edge of its class, would need, within the limits of
    ``data/price_by_depth.toml``. The greatest is taken so that a deeper base is never promised for less than a
    shallower one, nor for less than nothing (basecalc's own choice).

    Examples
    --------
    Ask a quote what 3 in more under the driveway adds::

        quote(job, book).deeper.price("Driveway", 3 * 0.0254)
    """
    metric = quote.job.units == "metric"
    step_m = _limit_m("step", metric=metric)
    areas = {
        area.name: _prices(quote, area.name, step_m, metric=metric)
        for area in quote.job.areas
        if quote.offer.takeoff.area(area.name).kept_m <= 0
    }
    return DepthPrices(step_m, _WORDS["metric" if metric else "us"], areas)


def _limit_m(key: str, *, metric: bool) -> float:
    row = table("price_by_depth").exact(key)
    return float(row["metric"]) / 1000 if metric else float(row["us"]) * INCH_M


def _prices(quote: Quote, name: str, step_m: float, *, metric: bool) -> tuple[Decimal, ...]:
    """Return the added prices of one area; they end early where the area cannot be built any deeper."""
    offered = quote.offered_depths[name]
    weaker = _weaker(offered, quote.job.units)
    least, most = (_limit_m(f"{which} reach", metric=metric) for which in ("least", "greatest"))
    reach = min(max(weaker.required_m - offered.required_m, least), most)
    # Weaker ground below the base that was offered: it decides how far rolls lap.
    depths = {**quote.offered_depths, name: replace(offered, strength=weaker.strength, cbr=weaker.cbr)}
    areas = (replace(area, keep_old_base=area.keep_old_base and area.name != name) for area in quote.job.areas)
    job = replace(quote.job, areas=tuple(areas))
    prices: list[Decimal] = []
    highest = Decimal("0.00")
    for step in range(1, round_up(reach / step_m) + 1):
        try:
            deeper = take_off(job, quote.book.company, depths, quote.offered, {name: step * step_m})
        except OutOfRangeError:
            break
        highest = max(highest, estimate(deeper, quote.book).total - quote.offer.total)
        prices.append(highest)
    return tuple(prices)


def _weaker(offered: BaseDepth, units: str) -> BaseDepth:
    """Return the base on ground one class weaker, built the same way; on soft ground, at the weak edge of soft."""
    below = CLASSES[max(rank(offered.strength.strength_class) - 1, 1)]
    at_edge = replace(offered, settings=replace(offered.settings, class_edge="weak"))
    return designed_at(at_edge, Strength(below), offered.reinforcement, units)


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
    """Return the quote without what prices the job again: no table of deeper bases, no other ways with loose fill."""
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
        no_habit=f"The standard depth cannot be built here: {no_habit}." if no_habit else "",
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
    """Return the strength of each area by name, from its spots or as given by hand."""
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
