"""Truckloads: whole, by what the truck may carry and by what its box holds; the federal bridge formula."""

from dataclasses import dataclass
from math import floor
from typing import Final, Literal

from basecalc.checks import number
from basecalc.errors import InputError, OutOfRangeError
from basecalc.rounding import whole_up

GROSS_LB: Final = 80_000
TANDEM_LB: Final = 34_000
TANDEM_FT: Final = 8.0


@dataclass(frozen=True, slots=True)
class Haul:
    """How a mass is carried.

    Parameters
    ----------
    loads
        Whole loads.
    exact
        Loads before they are rounded up.
    limit
        Which limit fills a truck first: 'payload' or 'box'.
    full_kg
        Mass of a full load [kg].
    last_kg
        Mass of the last load [kg].
    """

    loads: int
    exact: float
    limit: Literal["payload", "box"]
    full_kg: float
    last_kg: float


def haul(mass_kg: float, payload_kg: float, loose_m3: float | None = None, box_m3: float | None = None) -> Haul:
    """Return how many loads carry a mass, which limit fills the truck first, and what the last load holds.

    Parameters
    ----------
    mass_kg
        Mass to carry [kg].
    payload_kg
        What the truck may carry [kg].
    loose_m3
        The same material's loose volume [m3], or None to go by mass alone.
    box_m3
        What the box holds [m3]; given together with the loose volume.

    Raises
    ------
    InputError
        Only one of loose volume and box volume is given.
    OutOfRangeError
        A volume to carry that weighs nothing, or a number outside its limits.

    Examples
    --------
    >>> haul(25_000.0, 10_000.0)
    Haul(loads=3, exact=2.5, limit='payload', full_kg=10000.0, last_kg=5000.0)
    """
    mass = number("mass", mass_kg, "kg", 0.0, 1e9)
    payload = number("payload", payload_kg, "kg", 100.0, 60_000.0)
    if (loose_m3 is None) != (box_m3 is None):
        raise InputError(
            f"{'loose volume' if loose_m3 is None else 'box volume'} is missing; loads by volume need both volumes"
        )
    by_mass, by_box = mass / payload, 0.0
    if loose_m3 is not None:
        loose = number("loose volume", loose_m3, "m3", 0.0, 1e7)
        by_box = loose / number("box volume", box_m3, "m3", 0.1, 60.0)
        if loose > 0 and mass == 0:
            raise OutOfRangeError(f"mass is 0 kg; it must be above 0 where the loose volume is {loose:g} m3")
    exact = max(by_mass, by_box)
    loads = whole_up(exact)
    full = mass / exact if exact else payload
    last = mass - (loads - 1) * full if loads else 0.0
    return Haul(loads, exact, "box" if by_box > by_mass else "payload", full, min(last, full))


def exact_loads(mass_kg: float, payload_kg: float, loose_m3: float | None = None, box_m3: float | None = None) -> float:
    """Return the loads before they are rounded up.

    Parameters
    ----------
    mass_kg, payload_kg
        Mass to carry, and what the truck may carry [kg].
    loose_m3, box_m3
        Loose volume, and what the box holds [m3]; both or neither.

    Examples
    --------
    >>> exact_loads(25_000.0, 10_000.0)
    2.5
    """
    return haul(mass_kg, payload_kg, loose_m3, box_m3).exact


def loads(mass_kg: float, payload_kg: float, loose_m3: float | None = None, box_m3: float | None = None) -> int:
    """Return the whole loads that carry a mass and, where given, its loose volume.

    Parameters
    ----------
    mass_kg, payload_kg
        Mass to carry, and what the truck may carry [kg].
    loose_m3, box_m3
        Loose volume, and what the box holds [m3]; both or neither.

    Examples
    --------
    >>> loads(30_000.0, 10_000.0), loads(30_000.0, 10_000.0, 20.0, 5.0)
    (3, 4)
    """
    return haul(mass_kg, payload_kg, loose_m3, box_m3).loads


def bridge_limit_lb(length_ft: float, axles: int) -> int:
    """Return the federal limit of mass on a group of axles, to the nearest 500 lb [lb].

    State limits differ; the truck's own papers and the state decide.

    Parameters
    ----------
    length_ft
        Distance from the first to the last axle of the group [ft], from 4 to 60.
    axles
        Axles in the group, from 2 to 9.

    Examples
    --------
    >>> bridge_limit_lb(36, 4)
    66000

    References
    ----------
    23-CFR-658-17 [read]: W = 500 [L N / (N - 1) + 12 N + 36]; at most 80,000 lb gross. Axles not more than 8 ft
    apart are a tandem: 34,000 lb.
    """
    length = number("length", length_ft, "ft", 4.0, 60.0)
    count = number("axles", axles, "", 2.0, 9.0)
    if count != int(count):
        raise OutOfRangeError(f"axles is {count:g}; it must be a whole number from 2 to 9")
    limit = 500 * floor(length * count / (count - 1) + 12 * count + 36 + 0.5)
    return min(limit, GROSS_LB if length > TANDEM_FT else TANDEM_LB)
