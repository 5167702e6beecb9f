"""From a job and the owner's prices to a quote: depths, priced options, the promised price of a deeper base.

Other ways are priced and shown, never taken: loose fill the other way round, a weak corner as an area of its own, the
separator that is missing.
"""

from collections.abc import Mapping, Set
from dataclasses import replace
from decimal import Decimal
from functools import partial
from typing import Literal

from basecalc.company import Company
from basecalc.core.errors import BasecalcError, InputError, OutOfRangeError
from basecalc.core.expressions import in_unit
from basecalc.core.numbers import choice, round_up
from basecalc.core.published import table
from basecalc.core.units import INCH_M
from basecalc.core.words import tenths
from basecalc.design.depth import BaseDepth, StoneTrucks, base_depth
from basecalc.design.settings import (
    NONE,
    TRAFFIC_NAMES,
    DesignSettings,
    Reinforcement,
    Traffic,
    reinforcement,
    traffic,
)
from basecalc.ground.classes import CLASSES, Strength, rank
from basecalc.ground.strength import (
    AreaStrength,
    area_rule,
    counted,
    known_cbr,
)
from basecalc.job import Job, JobArea
from basecalc.pricing.estimate import break_even, estimate, saving, total_of
from basecalc.pricing.prices import PriceBook
from basecalc.pricing.records import DepthPrices, Estimate, FillOption, FillWay, Quote, Separator, Way, WeakCorner
from basecalc.pricing.site import (
    area_grounds,
    frost_of,
    separator_why,
    site_of,
    stone_trucks,
    with_site_flags,
)
from basecalc.pricing.value_of_testing import designed_at
from basecalc.takeoff.codes import code
from basecalc.takeoff.takeoff import Option, Quantity, materials, stone_mass_kg, take_off


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
        made, deeper=depth_prices(made), fill_options=fill_options(made), weak_corners=weak_corners(made),
        separator=separator(made),
    )  # fmt: skip


def quote_on(job: Job, book: PriceBook, known: Mapping[str, AreaStrength] | None = None) -> Quote:
    """Return the quote without what prices the job again: no table of deeper bases, no other ways."""
    company = book.company
    own = materials(job, company)
    design = replace(company.design, paver_m=own.paver.thickness_m)
    ground = area_grounds(job, company, known)
    depths_with = partial(_depths, job, ground, _traffic(job, company), design)

    trucks = StoneTrucks(0, own.stone_truck.axles) if job.stone_trucks_on_base is True else None
    depths = depths_with(NONE, trucks)
    while trucks is not None:  # more stone is more trucks, which may need more stone: loads are only ever added
        arriving = stone_trucks(take_off(job, company, depths, "stone"), own)
        if arriving.loads <= trucks.loads:
            break
        trucks = arriving
        depths = depths_with(NONE, trucks)
    stone = estimate(take_off(job, company, depths, "stone"), book)

    grids, no_geogrid = {}, "There is no geogrid in the owner's lists."
    geogrid: Estimate | None = None
    if (roll := own.geogrid) is not None:
        laid = reinforcement("geogrid", roll.aperture_stability, roll.reduction, roll.reduction_source)
        kept = {area.area.name for area in stone.takeoff.areas if area.kept_m > 0}
        # the stone trucks are those of the option without it, of which there are no fewer
        grids, no_geogrid = _where_thinner(depths_with(laid, trucks), depths, kept), ""
        if not grids:
            no_geogrid = f"{roll.name} would make no base thinner here."
        else:
            geogrid, cannot = _priced(job, book, grids, "geogrid", {})
            if cannot:
                grids, no_geogrid = {}, f"With geogrid the base would be too thin here: {cannot}."

    everywhere = dict.fromkeys(depths, company.standard_depth_m)
    standard, no_standard = _priced(job, book, everywhere, "habit", {name: made.cbr for name, made in depths.items()})
    offered = _offered(job, stone, geogrid, no_geogrid)
    offer = geogrid if offered == "geogrid" and geogrid is not None else stone
    return Quote(
        job=job,
        book=book,
        ground=with_site_flags(job, company, ground, grids if offered == "geogrid" else depths, offer.takeoff),
        depths=depths,
        geogrid_depths=grids,
        stone=stone,
        geogrid=geogrid,
        standard=standard,
        offered=offered,
        against_standard=saving(offer, standard) if standard is not None else None,
        against_stone=saving(geogrid, stone) if geogrid is not None else None,
        break_even=break_even(stone, geogrid, own.geogrid) if geogrid is not None and own.geogrid is not None else None,
        no_geogrid=no_geogrid,
        no_standard=f"The standard depth cannot be built here: {no_standard}." if no_standard else "",
    )


def _traffic(job: Job, company: Company) -> Traffic:
    own = {level.name.casefold(): level for level in company.traffics}
    names = tuple(dict.fromkeys((*(level.name for level in company.traffics), *TRAFFIC_NAMES)))
    try:
        word = choice("traffic", job.traffic, names)
    except BasecalcError as error:
        raise error.at(job.place()) from None
    return own.get(word.casefold()) or traffic(word)


def _depths(
    job: Job,
    ground: Mapping[str, AreaStrength],
    loads: Traffic,
    design: DesignSettings,
    laid: Reinforcement,
    trucks: StoneTrucks | None,
) -> dict[str, BaseDepth]:
    """Return the base of each area on its ground."""
    unit = "mm" if job.units == "metric" else "in"
    depths = {}
    for area in job.areas:
        try:
            frost = frost_of(job, area, design)
            depths[area.name] = base_depth(
                ground[area.name].strength, loads, laid, design, unit=unit, frost=frost, site=site_of(job, area, trucks)
            )
        except BasecalcError as error:
            raise error.at(job.place(area.name)) from None
    return depths


def _where_thinner(
    grids: Mapping[str, BaseDepth], plain: Mapping[str, BaseDepth], kept: Set[str]
) -> dict[str, BaseDepth]:
    """Return the depths with a geogrid laid only where it thins the base; nothing where it thins none.

    It is never laid where an old base stays, for it could not be laid below that.
    """
    thinner = {name for name, depth in grids.items() if depth.required_m < plain[name].required_m - 1e-9} - kept
    return {name: grids[name] if name in thinner else plain[name] for name in plain} if thinner else {}


def _priced(
    job: Job, book: PriceBook, depths: Mapping[str, BaseDepth | float], option: Option, cbrs: Mapping[str, float]
) -> tuple[Estimate | None, str]:
    """Return an option priced that need not be possible, or why it cannot be built here."""
    try:
        return estimate(take_off(job, book.company, depths, option, cbrs=cbrs), book), ""
    except OutOfRangeError as error:
        return None, str(error)


def _offered(job: Job, stone: Estimate, geogrid: Estimate | None, why_not: str) -> Option:
    if job.offer == "geogrid" and geogrid is None:
        raise InputError(
            f"offer is 'geogrid', but there is no such option: {why_not} It must be 'stone' or 'cheaper'",
            where=job.place(),
        )
    if geogrid is None or job.offer == "stone":
        return "stone"
    return "geogrid" if job.offer == "geogrid" or geogrid.total < stone.total else "stone"


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
    return DepthPrices(step_m, tenths(step_m, quote.job.units), areas)


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
            deeper = take_off(job, quote.book.company, depths, quote.offered, {name: step * step_m}, words=False)
        except OutOfRangeError:
            break
        highest = max(highest, total_of(deeper, quote.book) - quote.offer.total)
        prices.append(highest)
    return tuple(prices)


def _limit_m(key: str, *, metric: bool) -> float:
    row = table("price_by_depth").exact(key)
    return float(row["metric"]) / 1000 if metric else float(row["us"]) * INCH_M


def _weaker(offered: BaseDepth, units: str) -> BaseDepth:
    """Return the base on ground one class weaker, built the same way; on soft ground, at the weak edge of soft."""
    below = CLASSES[max(rank(offered.strength.strength_class) - 1, 1)]
    at_edge = replace(offered, settings=replace(offered.settings, class_edge="weak"))
    return designed_at(at_edge, Strength(below), offered.reinforcement, units)


def fill_options(made: Quote) -> tuple[FillOption, ...]:
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
            turned_quote = quote_on(job, made.book)
            other, cannot = _way(turned_quote, area.name, way), ""
        except BasecalcError as error:
            turned_quote, other, cannot = None, None, error.sentence
        stays = made if way == "fill" else turned_quote
        volume, recompact, no_price = (0.0, None, cannot) if stays is None else _recompacted(stays, area.name)
        found.append(FillOption(area.name, chosen, other, cannot, area.loose_fill.offered, volume, recompact, no_price))
    return tuple(found)


def _way(made: Quote, name: str, way: Way) -> FillWay:
    takeoff = made.offer.takeoff
    area = takeoff.area(name)
    own = materials(made.job, made.book.company)
    fill_kg = 0.0 if own.fill is None else stone_mass_kg(area.fill_m3, own.fill)
    out, loads = takeoff.amount("spoil-haul") + takeoff.amount("old-pavement-haul"), takeoff.amount("stone-haul")
    return FillWay(
        way, area.base_m, area.bank_m3, area.stone_kg, fill_kg, round(out), round(loads), made.offer.cost,
        made.offer.total, made.offered_depths[name].reinforcement.kind == "geogrid",
    )  # fmt: skip


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
    units_of = {key: code(key).unit(stays.job.units) for key in ("dig", "foundation-place")}
    quantities = tuple(
        Quantity(key, code(key).title, name, in_unit(volume, unit), unit, "loose fill")
        for key, unit in units_of.items()
    )
    try:
        return volume, estimate(replace(stays.offer.takeoff, quantities=quantities), stays.book, part=True).total, ""
    except BasecalcError as error:
        return volume, None, f"no price: {error.sentence}"


def separator(made: Quote) -> Separator | None:
    """Return the separator that the offer lacks, and what the offer costs more with it; None where it lacks none."""
    why = missing(made)
    if not why:
        return None
    areas = tuple(replace(area, geotextile=True) if area.name in why else area for area in made.job.areas)
    offer: Literal["stone", "geogrid"] = "geogrid" if made.offered == "geogrid" else "stone"
    try:
        other = quote_on(replace(made.job, areas=areas, offer=offer), made.book)
    except BasecalcError as refusal:
        return Separator(why, None, refusal.sentence)
    return Separator(why, other.offer.total - made.offer.total, "")


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


def weak_corners(made: Quote) -> tuple[WeakCorner, ...]:
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
            split = quote_on(replace(made.job, areas=areas, spots=others), made.book)
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
