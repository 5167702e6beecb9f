"""SI amounts in the units that a job is printed in.

What is dug: the extended area of the base, the depth, and the volume in the ground and on the truck.
Stone: from the volume of the finished base to the mass that is ordered, and the lifts it is placed in.
What lies on the base and beside it: bedding sand, pavers, edge, joint sand, fill at a foundation; and hours.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from basecalc.core.errors import OutOfRangeError
from basecalc.core.numbers import fixed, number, whole_up
from basecalc.core.published import table
from basecalc.core.units import FOOT2_M2, FOOT_M, INCH_M, POUND_KG, SHORT_TON_KG, TONNE_KG, YARD3_M3

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

    Examples
    --------
    >>> told(0.2032, "depth", "us"), told(12.5, "volume", "metric")
    ('8 in', '12.5 m3')
    """
    unit = unit_of(dimension, units)
    text = fixed(in_unit(amount, unit), _PLACES.get(unit, 2))
    return f"{text.rstrip('0').rstrip('.') if '.' in text else text} {unit}"


LEAST_EXTENSION_M: Final = 6 * INCH_M
STRIPPING_M: Final = 4 * INCH_M  # topsoil and roots are seldom thinner; practice
DEEPEST_M: Final = 5.0  # beyond this a depth is a slip of the pen, and an engineer's matter anyhow
LARGEST_M2: Final = 1e6
LARGEST_M3: Final = 1e7


def _both(depth_m: float) -> str:
    return f"{depth_m / INCH_M:.1f} in ({depth_m * 1000:.0f} mm)"


def edge_extension_m(base_m: float, least_m: float = LEAST_EXTENSION_M) -> float:
    """Return how far the base reaches beyond an open edge of the paving [m]: its own depth, or the least if greater.

    Parameters
    ----------
    base_m
        Depth of the base [m].
    least_m
        The least extension [m]; 6 in unless the owner asks for another.

    Examples
    --------
    >>> edge_extension_m(0.20), round(edge_extension_m(0.10), 4)
    (0.2, 0.1524)

    References
    ----------
    ICPI-TOLERANCES [read]: the greater of 6 in or the base thickness.
    """
    base = number("base depth", base_m, "m", 0.0, DEEPEST_M)
    return max(base, number("least edge extension", least_m, "m", 0.0, DEEPEST_M))


def extended_area_m2(area_m2: float, open_edge_m: float, extension_m: float, corners: float = 0.0) -> float:
    """Return the area of the base with its extension along the open edges, corners mitred [m2].

    A notch narrower than twice the extension is counted as more than it is, never as less.

    Examples
    --------
    >>> extended_area_m2(72.0, 36.0, 0.2, 4)
    79.36
    """
    area = number("area", area_m2, "m2", 0.0, LARGEST_M2, above=True)
    edge = number("open edge", open_edge_m, "m", 0.0, LARGEST_M2)
    extension = number("edge extension", extension_m, "m", 0.0, DEEPEST_M)
    turns = number("corners", corners, "", -1000.0, 1000.0)
    added = edge * extension + turns * extension**2
    if added < -1e-9 * area:
        raise OutOfRangeError(
            f"corners is {turns:g}; inside corners must not take away more than the open edge of {edge:g} m adds"
        )
    if edge == 0 and turns > 0 and extension > 0:
        raise OutOfRangeError(f"corners is {turns:g}; it must be 0 where the open edge is 0 m")
    return area + added


def dig_depth_m(
    base_m: float, paver_m: float, bedding_m: float, finish_above_ground_m: float = 0.0, old_pavement_m: float = 0.0
) -> float:
    """Return how deep the ground is dug, below the old pavement where there is one [m].

    Examples
    --------
    >>> round(dig_depth_m(0.20, 0.06, 0.025, finish_above_ground_m=0.05), 4)
    0.235
    """
    layers = (
        number("base depth", base_m, "m", 0.0, DEEPEST_M)
        + number("paver thickness", paver_m, "m", 0.0, 0.5)
        + number("bedding thickness", bedding_m, "m", 0.0, 0.5)
    )
    above = number("finish above ground", finish_above_ground_m, "m", -DEEPEST_M, DEEPEST_M)
    old = number("old pavement thickness", old_pavement_m, "m", 0.0, DEEPEST_M)
    depth = layers - above - old
    if depth < -1e-9:
        cause = f"the finish stands {_both(abs(above))} {'below' if above < 0 else 'above'} the ground"
        cause += f" and the old pavement removed is {_both(old)} thick" if old else ""
        raise OutOfRangeError(
            f"{cause}, but pavers, bedding and base are only {_both(layers)}: {_both(-depth)} of fill is "
            "missing below the base; raise the least base depth by as much, or lower the finish"
        )
    return max(depth, 0.0)


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


def bank_volume_m3(area_m2: float, depth_m: float) -> float:
    """Return the volume of soil in the ground [m3].

    Examples
    --------
    >>> bank_volume_m3(80.0, 0.25)
    20.0
    """
    area = number("area", area_m2, "m2", 0.0, LARGEST_M2)
    return area * number("depth", depth_m, "m", 0.0, 2 * DEEPEST_M)


def excavation_volume_m3(
    area_m2: float, depth_m: float, open_edge_m: float = 0.0, extension_m: float = 0.0, corners: float = 0.0
) -> float:
    """Return the volume dug in the ground below a paved area and its extended edges [m3].

    Examples
    --------
    >>> round(excavation_volume_m3(72.0, 0.25, 36.0, 0.2, 4), 9)
    19.84
    """
    return bank_volume_m3(extended_area_m2(area_m2, open_edge_m, extension_m, corners), depth_m)


def loose_volume_m3(bank_m3: float, swell: float) -> float:
    """Return the volume of dug soil lying loose [m3].

    Parameters
    ----------
    bank_m3
        Volume in the ground [m3].
    swell
        Loose over bank volume, from 1 to 2.

    Examples
    --------
    >>> round(loose_volume_m3(100.0, 1.43), 9)
    143.0

    References
    ----------
    FM-5-434, Table 1-1 [memory].
    """
    bank = number("bank volume", bank_m3, "m3", 0.0, LARGEST_M3)
    return bank * number("swell", swell, "", 1.0, 2.0, why="loose over bank volume")


def compacted_volume_m3(bank_m3: float, shrink: float) -> float:
    """Return the volume of dug soil when it is compacted again [m3].

    Parameters
    ----------
    bank_m3
        Volume in the ground [m3].
    shrink
        Compacted over bank volume, from 0.5 to 1.5; above 1 for rock.

    Examples
    --------
    >>> compacted_volume_m3(100.0, 0.95)
    95.0

    References
    ----------
    FM-5-434, Table 1-1 [memory].
    """
    bank = number("bank volume", bank_m3, "m3", 0.0, LARGEST_M3)
    return bank * number("shrink", shrink, "", 0.5, 1.5, why="compacted over bank volume")


def average_end_area(first: float, last: float, length: float) -> float:
    """Return the volume between two cross-sections as their mean area times the length.

    Parameters
    ----------
    first, last
        Areas of the two sections [square of the length unit].
    length
        Distance between them [any length unit].

    Examples
    --------
    >>> average_end_area(40.0, 0.0, 50.0)
    1000.0

    References
    ----------
    UFC-3-220-20 [read]: V = L (A1 + A2) / 2.
    """
    a, b = number("first area", first, "", 0.0), number("last area", last, "", 0.0)
    return number("length", length, "", 0.0) * (a + b) / 2


def prismoidal(first: float, middle: float, last: float, length: float) -> float:
    """Return the volume between two cross-sections with the section midway between them: exact for wedge and cone.

    Parameters
    ----------
    first, middle, last
        Areas of the three sections [square of the length unit].
    length
        Distance from the first to the last [any length unit].

    Examples
    --------
    >>> round(prismoidal(40.0, 20.0, 0.0, 50.0), 1)
    1000.0

    References
    ----------
    UFC-3-220-20 [read]: V = L (A1 + 4 Am + A2) / 6.
    """
    ends = number("first area", first, "", 0.0) + number("last area", last, "", 0.0)
    return number("length", length, "", 0.0) * (ends + 4 * number("middle area", middle, "", 0.0)) / 6


COMMON_GRAVITY: Final = 2.65  # the specific gravity the printed weights stand for
STOCKPILE_WASTE: Final = 0.10
LIGHTEST_KG_M3: Final = 800.0
HEAVIEST_KG_M3: Final = 2500.0
_PER_M3: Final = POUND_KG / YARD3_M3


@dataclass(frozen=True, slots=True)
class StoneWeight:
    """What a base material weighs, dry."""

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

    Examples
    --------
    >>> lift_thickness_m(0.36, 4)
    0.09
    """
    depth = number("base depth", depth_m, "m", 0.0, 5.0)
    return depth / number("lifts", count, "", 1.0)


LARGEST_M2_SURFACE: Final = 1e6


def _area(area_m2: float) -> float:
    return number("area", area_m2, "m2", 0.0, LARGEST_M2_SURFACE)


def bedding_volume_m3(area_m2: float, bedding_m: float) -> float:
    """Return the volume of bedding sand, screeded [m3].

    Parameters
    ----------
    area_m2
        The paved area [m2].
    bedding_m
        Thickness of the sand [m], up to 0.15; 1 in nominal.

    Examples
    --------
    >>> bedding_volume_m3(80.0, 0.025)
    2.0

    References
    ----------
    ICPI-TOLERANCES [read]: bedding 1 in nominal.
    """
    return _area(area_m2) * number("bedding thickness", bedding_m, "m", 0.0, 0.15)


def paver_area_m2(area_m2: float, cutting_waste: float = 0.0) -> float:
    """Return the area of pavers to order [m2].

    Examples
    --------
    >>> paver_area_m2(80.0, 0.05)
    84.0
    """
    return _area(area_m2) * (
        1 + number("cutting waste", cutting_waste, "", 0.0, 0.5, why="a share: 0.05 stands for 5 %")
    )


def edge_restraint_m(length_m: float, piece_m: float | None = None) -> float:
    """Return the length of edge restraint to order [m]: as measured, or in whole pieces.

    Examples
    --------
    >>> edge_restraint_m(25.0), edge_restraint_m(25.0, 2.0)
    (25.0, 26.0)
    """
    length = number("edge restraint", length_m, "m", 0.0, LARGEST_M2_SURFACE)
    if piece_m is None:
        return length
    piece = number("piece of edge restraint", piece_m, "m", 0.0, 20.0, above=True)
    return whole_up(length / piece) * piece


def joint_sand_kg(area_m2: float, coverage_kg_m2: float) -> float:
    """Return the mass of joint sand [kg].

    Examples
    --------
    >>> joint_sand_kg(80.0, 5.0)
    400.0
    """
    return _area(area_m2) * number("joint sand", coverage_kg_m2, "kg/m2", 0.1, 50.0)


def foundation_fill_m3(length_m: float, width_m: float, depth_m: float) -> float:
    """Return the volume of granular fill, compacted, that replaces loose soil along a foundation [m3].

    Examples
    --------
    >>> foundation_fill_m3(10.0, 1.5, 1.0)
    15.0
    """
    length = number("length along the foundation", length_m, "m", 0.0, 1000.0)
    width = number("width of the fill", width_m, "m", 0.0, 20.0)
    return length * width * number("depth of the fill", depth_m, "m", 0.0, 5.0)


def work_hours(quantity: float, per_hour: float) -> float:
    """Return the hours a quantity takes at a production rate [h].

    Examples
    --------
    >>> work_hours(60.0, 15.0)
    4.0
    """
    return number("quantity", quantity, "", 0.0) / number("production rate", per_hour, "an hour", 0.0, above=True)
