"""SI amounts in the units that a job is printed in."""

from collections.abc import Mapping
from typing import Final

from basecalc.rounding import fixed
from basecalc.units import FOOT2_M2, FOOT_M, INCH_M, SHORT_TON_KG, TONNE_KG, YARD3_M3

# What one unit is in the SI unit of its dimension: m, m2, m3, kg. Counts are themselves.
SI: Final[Mapping[str, float]] = {
    "in": INCH_M, "ft": FOOT_M, "ft2": FOOT2_M2, "yd3": YARD3_M3, "ton": SHORT_TON_KG,
    "mm": 0.001, "m": 1.0, "m2": 1.0, "m3": 1.0, "t": TONNE_KG,
    "load": 1.0, "roll": 1.0, "bag": 1.0,
}  # fmt: skip
_PRINTED: Final[Mapping[str, tuple[str, str]]] = {
    "depth": ("in", "mm"), "length": ("ft", "m"), "area": ("ft2", "m2"), "volume": ("yd3", "m3"), "mass": ("ton", "t"),
}  # fmt: skip
_PLACES: Final[Mapping[str, int]] = {"mm": 0}


def in_unit(amount: float, unit: str) -> float:
    """Return an SI amount in a printed unit.

    Parameters
    ----------
    amount
        In m, m2, m3 or kg, or a count.
    unit
        One of `SI`.

    Examples
    --------
    >>> round(in_unit(0.3048, "in"), 9)
    12.0
    """
    return amount / SI[unit]


def unit_of(dimension: str, units: str) -> str:
    """Return the unit a dimension is printed in, for 'us' or 'metric'.

    Examples
    --------
    >>> unit_of("volume", "us"), unit_of("mass", "metric")
    ('yd3', 't')
    """
    return _PRINTED[dimension][units == "metric"]


def told(amount: float, dimension: str, units: str) -> str:
    """Return an SI amount as a sheet prints it, with its unit.

    Parameters
    ----------
    amount
        In m, m2, m3 or kg.
    dimension
        'depth', 'length', 'area', 'volume' or 'mass'.
    units
        'us' or 'metric'.

    Examples
    --------
    >>> told(0.2032, "depth", "us"), told(12.5, "volume", "metric")
    ('8 in', '12.5 m3')
    """
    unit = unit_of(dimension, units)
    text = fixed(in_unit(amount, unit), _PLACES.get(unit, 2))
    return f"{text.rstrip('0').rstrip('.') if '.' in text else text} {unit}"
