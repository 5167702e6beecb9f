"""Loose fill priced both ways: more stone above it, or dug out to sound ground and replaced by granular fill."""

from collections.abc import Callable
from dataclasses import replace

from basecalc.errors import BasecalcError
from basecalc.job import Job
from basecalc.pricing.fill_record import FillOption, FillWay, Way
from basecalc.pricing.prices import PriceBook
from basecalc.pricing.record import Quote
from basecalc.takeoff.count import stone_mass_kg
from basecalc.takeoff.materials import materials


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
            other, cannot = _way(quoted(job, made.book), area.name, way), ""
        except BasecalcError as error:
            other, cannot = None, error.sentence
        found.append(FillOption(area.name, chosen, other, cannot, area.loose_fill.offered))
    return tuple(found)


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
