"""An area whose strip along the foundation is an area of its own: the strip first, then what is left."""

from collections.abc import Sequence
from dataclasses import replace

from basecalc.ground.classes import Strength
from basecalc.ground.pavement import Pavement, Seen
from basecalc.job.record import JobArea
from basecalc.plan.strip import Part, split_falls, split_strip


def strip_name(area: str) -> str:
    """Return what the strip along the foundation of an area is called.

    Examples
    --------
    >>> strip_name("Driveway")
    'Driveway at the foundation'
    """
    return f"{area} at the foundation"


def split_area(
    area: JobArea, width_m: float, open_ends: int | None, strength: Strength | None
) -> tuple[JobArea, JobArea]:
    """Return what is left of an area, and the strip along its foundation.

    The strip takes the foundation, its fill, the loose fill and what sank there with it; edge restraint goes with the
    open edge. On loose fill no old base stays. The finish falls along the building as that of the whole, and away from
    it each part has its share.

    Parameters
    ----------
    area
        The whole area.
    width_m
        Width of the strip [m].
    open_ends
        How many of its ends lie at an open edge; None for as many as can.
    strength
        Of the strip, given by hand; None where spots decide, or where it is taken as soft until tested.

    Raises
    ------
    OutOfRangeError
        A strip as large as the area, or wider.
    InputError
        A finish that falls, where the fall of the two parts cannot be told.
    """
    whole = Part(area.area_m2, area.perimeter_m, area.open_edge_m, area.corners, area.extent_m)
    strip, rest = split_strip(whole, area.foundation_edge_m, width_m, open_ends, rectangle=area.shape == "rectangle")
    along = min(strip.open_edge_m, area.edge_restraint_m)
    falls = None if area.fall_m is None else split_falls(whole, rest, area.foundation_edge_m, width_m, area.fall_m)
    cut = area.shape == "rectangle" and rest.extent_m != area.extent_m
    seen = area.pavement.seen if area.pavement else ()
    left = replace(
        area,
        shape="rectangle" if cut else "measured",
        area_m2=rest.area_m2,
        perimeter_m=rest.perimeter_m,
        open_edge_m=rest.open_edge_m,
        corners=rest.corners,
        extent_m=rest.extent_m,
        foundation_edge_m=0.0,
        foundation_fill_depth_m=0.0,
        foundation_fill_width_m=0.0,
        edge_restraint_m=area.edge_restraint_m - along,
        loose_fill=None,
        footing_m=None,
        fall_m=falls[1] if falls else None,
        pavement=_seen_at(area.pavement, [one for one in seen if one.where != "foundation"]),
    )
    beside = replace(
        area,
        name=strip_name(area.name),
        shape="rectangle",
        area_m2=strip.area_m2,
        perimeter_m=strip.perimeter_m,
        open_edge_m=strip.open_edge_m,
        corners=strip.corners,
        extent_m=strip.extent_m,
        keep_old_base=False,
        foundation_fill_width_m=width_m,
        edge_restraint_m=along,
        strength=strength,
        note="",
        strip_of=area.name,
        fall_m=falls[0] if falls else None,
        pavement=_seen_at(area.pavement, [one for one in seen if one.where == "foundation"]),
    )
    return left, beside


def _seen_at(pavement: Pavement | None, seen: Sequence[Seen]) -> Pavement | None:
    return None if pavement is None else replace(pavement, seen=tuple(seen))
