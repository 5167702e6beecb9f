"""Loose fill priced both ways: more stone above it, or dug out to sound ground and replaced by granular fill."""

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal

from basecalc.errors import BasecalcError
from basecalc.job import Job
from basecalc.pricing.estimate import estimate
from basecalc.pricing.fill_record import FillOption, FillWay, Way
from basecalc.pricing.prices import PriceBook
from basecalc.pricing.record import Quote
from basecalc.takeoff.amounts import in_unit
from basecalc.takeoff.codes import code
from basecalc.takeoff.count import stone_mass_kg
from basecalc.takeoff.materials import materials
from basecalc.takeoff.record import Quantity


def fill_options(made: Quote, quoted: Callable[[Job, PriceBook], Quote]) -> tuple[FillOption, ...]:
    """Return the other way of dealing with loose fill, for each area that has some, priced as a whole job.

    Each area is turned alone, the others stay as they are quoted; with or without geogrid is chosen anew, by what the
    job asks to be offered.

    Parameters
    ----------
    made
        The job as it is quoted.
    quoted
        Quotes a job.
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
        return volume, estimate(replace(stays.offer.takeoff, quantities=quantities), stays.book).total, ""
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
