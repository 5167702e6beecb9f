"""A weak corner as an area of its own: what it would cost to build it deep and the rest of the area less deep."""

from collections.abc import Callable
from dataclasses import replace

from basecalc.errors import BasecalcError
from basecalc.ground.classes import Strength
from basecalc.ground.governing import area_rule, counted, known_cbr
from basecalc.ground.strength import AreaStrength
from basecalc.job import Job, JobArea
from basecalc.pricing.prices import PriceBook
from basecalc.pricing.record import Quote, WeakCorner


def weak_corners(made: Quote, quoted: Callable[[Job, PriceBook], Quote]) -> tuple[WeakCorner, ...]:
    """Return for each area with a weak corner what the job would cost with that corner as an area of its own.

    Never applied: where the corner ends is an estimate until two more spots find it. Areas with a foundation strip,
    loose fill or ground that the spots do not decide are left out.

    Parameters
    ----------
    made
        The job as it is quoted.
    quoted
        Quotes a job.

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
