"""Whether a loaded truck is within the federal bridge formula: a warning only. Its loads are declared in `model`."""

from dataclasses import dataclass
from math import floor
from typing import Final

from basecalc.company import TRUCKS, Truck
from basecalc.core.errors import InputError, OutOfRangeError
from basecalc.core.numbers import number, printed
from basecalc.core.units import FOOT_M, POUND_KG

GROSS_LB: Final = 80_000
TANDEM_LB: Final = 34_000
TANDEM_FT: Final = 8.0


def bridge_limit_lb(length_ft: float, axles: int) -> int:
    """Return the federal limit of mass on a group of 2 to 9 axles, 4 to 60 ft [ft] from first to last [lb].

    W = 500 [L N / (N - 1) + 12 N + 36] to the nearest 500 lb, at most 80,000 lb; axles not more than 8 ft apart are a
    tandem: 34,000 lb (23-CFR-658-17 [read]). State limits differ; the truck's own papers and the state decide.

    Examples
    --------
    >>> bridge_limit_lb(36, 4)
    66000
    """
    length = number("length", length_ft, "ft", 4.0, 60.0)
    count = number("axles", axles, "", 2.0, 9.0)
    if count != int(count):
        raise OutOfRangeError(f"axles is {count:g}; it must be a whole number from 2 to 9")
    limit = 500 * floor(length * count / (count - 1) + 12 * count + 36 + 0.5)
    return min(limit, GROSS_LB if length > TANDEM_FT else TANDEM_LB)


@dataclass(frozen=True, slots=True)
class RoadWeight:
    """A full truck against the federal limit for its axles."""

    gross_kg: float
    limit_kg: float
    over_kg: float
    payload_kg: float


def missing(truck: Truck) -> tuple[str, ...]:
    """Return which of the numbers of the check the owner has not given, by their headings.

    Examples
    --------
    >>> missing(Truck("tandem", "both", 12_700.0, 9.2, axles=3))
    ('outer axles', 'empty weight')
    """
    given = {"axles": truck.axles, "outer_axles": truck.outer_axles_m, "empty": truck.empty_kg}
    return tuple(TRUCKS.field(key).name for key, value in given.items() if value is None)


def road_weight(truck: Truck) -> RoadWeight:
    """Return a full truck's weight beside the federal bridge formula for all its axles (23-CFR-658-17 [read]).

    Single axles, tandems, inner groups of axles and the limits of state and town are not looked at. Axles, the distance
    of the outer ones and the empty weight must be known.

    Examples
    --------
    >>> truck = Truck("tandem", "both", 28_000 * POUND_KG, 9.2, 3, 16 * FOOT_M, 24_000 * POUND_KG)
    >>> found = road_weight(truck)
    >>> [round(mass / POUND_KG) for mass in (found.gross_kg, found.limit_kg, found.over_kg, found.payload_kg)]
    [52000, 48000, 4000, 24000]
    """
    if truck.axles is None or truck.outer_axles_m is None or truck.empty_kg is None:
        raise InputError(f"truck {truck.name} has no {' and no '.join(missing(truck))}; the check needs all three")
    limit = bridge_limit_lb(printed(truck.outer_axles_m / FOOT_M), truck.axles) * POUND_KG
    gross = truck.empty_kg + truck.payload_kg
    over = gross - limit
    return RoadWeight(gross, limit, over if over > 1e-6 * limit else 0.0, max(limit - truck.empty_kg, 0.0))
