"""Stone: from the volume of the finished base to the mass that is ordered, and the lifts it is placed in."""

from dataclasses import dataclass
from typing import Final

from basecalc.checks import number
from basecalc.rounding import whole_up
from basecalc.tables import table
from basecalc.units import POUND_KG, YARD3_M3

COMMON_GRAVITY: Final = 2.65  # the specific gravity the printed weights stand for
STOCKPILE_WASTE: Final = 0.10
LIGHTEST_KG_M3: Final = 800.0
HEAVIEST_KG_M3: Final = 2500.0
_PER_M3: Final = POUND_KG / YARD3_M3


@dataclass(frozen=True, slots=True)
class StoneWeight:
    """What a base material weighs, dry.

    Parameters
    ----------
    name
        Its name in the table.
    loose_density_kg_m3, compacted_density_kg_m3
        Density in the truck and in the finished base [kg/m3].
    compaction_factor
        Loose over compacted volume.
    cited
        The table it comes from.
    """

    name: str
    loose_density_kg_m3: float
    compacted_density_kg_m3: float
    compaction_factor: float
    cited: str


def stone_weight(name: str) -> StoneWeight:
    """Return what a material of the published table weighs.

    Parameters
    ----------
    name
        'ballast', 'crushed surfacing top course' or 'crushed surfacing base course'.

    Raises
    ------
    InputError
        The table has no such material.

    Examples
    --------
    >>> round(stone_weight("ballast").loose_density_kg_m3)
    1839

    References
    ----------
    WSDOT-M22-01, Exhibit 620-1 [read].
    """
    weights = table("stones")
    row = weights.exact(name)
    return StoneWeight(
        str(row["stone"]),
        float(row["loose"]) * _PER_M3,
        float(row["compacted"]) * _PER_M3,
        float(row["factor"]),
        weights.cited,
    )


def _factor(compaction_factor: float) -> float:
    return number("compaction factor", compaction_factor, "", 1.0, 2.0, why="loose over compacted volume")


def _share(name: str, value: float, high: float) -> float:
    return number(name, value, "", 0.0, high, why="a share: 0.05 stands for 5 %")


def loose_stone_m3(compacted_m3: float, compaction_factor: float, waste: float = 0.0) -> float:
    """Return the volume of stone in the trucks [m3].

    Parameters
    ----------
    compacted_m3
        Volume of the finished base [m3].
    compaction_factor
        Loose over compacted volume, from 1 to 2.
    waste
        Stone lost, as a share of the stone used, from 0 to 0.5.

    Examples
    --------
    >>> loose_stone_m3(10.0, 1.25)
    12.5
    """
    volume = number("compacted volume", compacted_m3, "m3", 0.0, 1e7)
    return volume * _factor(compaction_factor) * (1 + _share("waste", waste, 0.5))


def aggregate_mass_kg(
    compacted_m3: float,
    loose_density_kg_m3: float,
    compaction_factor: float,
    waste: float = 0.0,
    *,
    specific_gravity: float = COMMON_GRAVITY,
    free_water: float = 0.0,
) -> float:
    """Return the mass of stone to order for a volume of finished base [kg].

    Compacted volume x compaction factor x loose density, then in the printed order x specific gravity / 2.65,
    x (1 + free water), x (1 + waste).

    Parameters
    ----------
    compacted_m3
        Volume of the finished base [m3].
    loose_density_kg_m3
        Dry density in the truck [kg/m3], from 800 to 2500.
    compaction_factor
        Loose over compacted volume, from 1 to 2.
    waste
        Stone lost, as a share of the stone used, from 0 to 0.5; 0.10 for a stockpile on the site.
    specific_gravity
        Of the rock, from 1.5 to 4; 2.65 where the density is the stone's own.
    free_water
        Mass of water over mass of dry stone, from 0 to 0.2, where the stone is weighed wet.

    Examples
    --------
    >>> round(aggregate_mass_kg(10.0, 1750.0, 1.254), 3)
    21945.0

    References
    ----------
    WSDOT-M22-01, Exhibit 620-1 [read].
    """
    loose = loose_stone_m3(compacted_m3, compaction_factor)
    density = number("loose density", loose_density_kg_m3, "kg/m3", LIGHTEST_KG_M3, HEAVIEST_KG_M3)
    gravity = number("specific gravity", specific_gravity, "", 1.5, 4.0)
    water = _share("free water", free_water, 0.2)
    return loose * density * (gravity / COMMON_GRAVITY) * (1 + water) * (1 + _share("waste", waste, 0.5))


def lifts(depth_m: float, max_lift_m: float) -> int:
    """Return in how many layers a depth of stone is placed and compacted.

    Parameters
    ----------
    depth_m
        Depth of the base, compacted [m].
    max_lift_m
        The thickest layer the machine compacts through [m]: 3 to 4 in for a walk-behind plate, 6 in for a heavy
        reversible plate or a roller [practice]. The owner's choice.

    Examples
    --------
    >>> lifts(0.3556, 0.1016)
    4

    References
    ----------
    FHWA-NHI-05-037, sec. 8.4.4 [digitised]: 6 to 12 in with road rollers.
    """
    depth = number("base depth", depth_m, "m", 0.0, 5.0)
    return whole_up(depth / number("thickest lift", max_lift_m, "m", 0.025, 0.61))


def lift_thickness_m(depth_m: float, count: int) -> float:
    """Return the thickness of each of so many equal layers [m].

    Parameters
    ----------
    depth_m
        Depth of the base, compacted [m].
    count
        Number of layers, at least 1.

    Examples
    --------
    >>> lift_thickness_m(0.36, 4)
    0.09
    """
    depth = number("base depth", depth_m, "m", 0.0, 5.0)
    return depth / number("lifts", count, "", 1.0)
