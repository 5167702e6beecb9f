"""Whether a loaded truck is within the federal bridge formula: a warning for the owner, no limit of ours."""

from dataclasses import dataclass

from basecalc.company import Truck
from basecalc.errors import InputError
from basecalc.rounding import printed
from basecalc.takeoff.hauling import bridge_limit_lb
from basecalc.units import FOOT_M, POUND_KG


@dataclass(frozen=True, slots=True)
class RoadWeight:
    """A full truck against the federal limit for its axles.

    Parameters
    ----------
    gross_kg
        Empty weight and payload [kg].
    limit_kg
        Federal limit of all axles together [kg].
    over_kg
        How much the full truck is above it [kg]; 0 where it is not.
    payload_kg
        The greatest payload within the limit [kg]; 0 where the empty truck is above it already.
    """

    gross_kg: float
    limit_kg: float
    over_kg: float
    payload_kg: float


def missing(truck: Truck) -> tuple[str, ...]:
    """Return which of the numbers of the check the owner has not given, by their headings.

    Parameters
    ----------
    truck
        The owner's truck.

    Examples
    --------
    >>> missing(Truck("tandem", "both", 12_700.0, 9.2, axles=3))
    ('outer axles', 'empty weight')
    """
    given = {"axles": truck.axles, "outer axles": truck.outer_axles_m, "empty weight": truck.empty_kg}
    return tuple(name for name, value in given.items() if value is None)


def road_weight(truck: Truck) -> RoadWeight:
    """Return a full truck's weight beside the federal bridge formula for all its axles.

    Single axles, tandems, inner groups of axles and the limits of state and town are not looked at.

    Parameters
    ----------
    truck
        The owner's truck, with its axles, the distance of the outer ones and its empty weight.

    Raises
    ------
    InputError
        One of the three is missing.
    OutOfRangeError
        Axles or distance outside the formula.

    Examples
    --------
    >>> truck = Truck("tandem", "both", 28_000 * POUND_KG, 9.2, 3, 16 * FOOT_M, 24_000 * POUND_KG)
    >>> found = road_weight(truck)
    >>> [round(mass / POUND_KG) for mass in (found.gross_kg, found.limit_kg, found.over_kg, found.payload_kg)]
    [52000, 48000, 4000, 24000]

    References
    ----------
    23-CFR-658-17 [read].
    """
    if truck.axles is None or truck.outer_axles_m is None or truck.empty_kg is None:
        raise InputError(f"truck {truck.name} has no {' and no '.join(missing(truck))}; the check needs all three")
    limit = bridge_limit_lb(printed(truck.outer_axles_m / FOOT_M), truck.axles) * POUND_KG
    gross = truck.empty_kg + truck.payload_kg
    over = gross - limit
    return RoadWeight(gross, limit, over if over > 1e-6 * limit else 0.0, max(limit - truck.empty_kg, 0.0))
