"""Amounts in the units that a job is printed in, and single quantities of the model for those who need just one."""

from collections.abc import Mapping
from typing import Final, cast

from basecalc.core.expressions import KINDS, Input, written
from basecalc.core.numbers import number
from basecalc.core.units import INCH_M
from basecalc.takeoff.model import MODEL

# What one unit is in the SI unit of its dimension: m, m2, m3, kg. Counts are themselves.
SI: Final[Mapping[str, float]] = {
    "load": 1.0, "roll": 1.0, "bag": 1.0,
    **{kind.unit(system): float(kind.si(system)) for kind in KINDS.values() for system in ("us", "metric") if kind.us},
}  # fmt: skip


def in_unit(amount: float, unit: str) -> float:
    """Return an SI amount in a printed unit.

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
    return KINDS[dimension].unit(units)


def told(amount: float, dimension: str, units: str) -> str:
    """Return an SI amount as a sheet prints it, with its unit.

    Examples
    --------
    >>> told(0.2032, "depth", "us"), told(12.5, "volume", "metric")
    ('8 in', '12.5 m3')
    """
    return written(amount, dimension, units)


STRIPPING_M: Final = 4 * INCH_M  # topsoil and roots are seldom thinner; practice
DEEPEST_M: Final = 5.0  # beyond this a depth is a typo, and an engineer's matter anyhow
_DENSITY: Final = next(
    entry for entry in MODEL.tables["company"].entries if isinstance(entry, Input) and entry.key == "stone_density"
)
LIGHTEST_KG_M3: Final = _DENSITY.low
HEAVIEST_KG_M3: Final = _DENSITY.high


def _both(depth_m: float) -> str:
    return f"{depth_m / INCH_M:.1f} in ({depth_m * 1000:.0f} mm)"


def stripping_flag(dig_m: float, old_pavement_m: float = 0.0, stripping_m: float = STRIPPING_M) -> str:
    """Return a warning where so little is dug that topsoil and roots would stay below the base; nothing otherwise.

    Examples
    --------
    >>> stripping_flag(0.3)
    ''
    """
    dig = number("dig depth", dig_m, "m", 0.0, 2 * DEEPEST_M)
    topsoil = number("topsoil depth", stripping_m, "m", 0.0, DEEPEST_M)
    old = number("old pavement thickness", old_pavement_m, "m", 0.0, DEEPEST_M)
    if old > 0 or dig >= topsoil - 1e-9:
        return ""
    return (
        f"only {_both(dig)} is dug: topsoil and roots to {_both(topsoil)} or more must still be stripped and replaced "
        "by stone, which the quantities do not count; lower the finish or choose a deeper base"
    )


def lifts(depth_m: float, max_lift_m: float) -> int:
    """Return in how many layers a depth of stone is placed and compacted.

    Examples
    --------
    >>> lifts(0.3556, 0.1016)
    4
    """
    return cast(int, MODEL.value("lifts", laid=depth_m, lift=max_lift_m))


def lift_thickness_m(depth_m: float, count: int) -> float:
    """Return the thickness of each of so many equal layers [m].

    Examples
    --------
    >>> lift_thickness_m(0.36, 4)
    0.09
    """
    return cast(float, MODEL.value("each_lift", laid=depth_m, lifts=count))
