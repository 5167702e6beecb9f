"""What lies on the base and beside it: bedding sand, pavers, edge, joint sand, fill at a foundation; and hours."""

from typing import Final

from basecalc.checks import number
from basecalc.rounding import whole_up

LARGEST_M2: Final = 1e6


def _area(area_m2: float) -> float:
    return number("area", area_m2, "m2", 0.0, LARGEST_M2)


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

    Parameters
    ----------
    area_m2
        The paved area [m2].
    cutting_waste
        Pavers cut away, as a share of the paved area, from 0 to 0.5.

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

    Parameters
    ----------
    length_m
        Length of the edges to be held [m].
    piece_m
        Length of one piece [m], up to 20; None where it is sold by length.

    Examples
    --------
    >>> edge_restraint_m(25.0), edge_restraint_m(25.0, 2.0)
    (25.0, 26.0)
    """
    length = number("edge restraint", length_m, "m", 0.0, LARGEST_M2)
    if piece_m is None:
        return length
    piece = number("piece of edge restraint", piece_m, "m", 0.0, 20.0, above=True)
    return whole_up(length / piece) * piece


def joint_sand_kg(area_m2: float, coverage_kg_m2: float) -> float:
    """Return the mass of joint sand [kg].

    Parameters
    ----------
    area_m2
        The paved area [m2].
    coverage_kg_m2
        What the joints of a square metre take [kg/m2], from 0.1 to 50.

    Examples
    --------
    >>> joint_sand_kg(80.0, 5.0)
    400.0
    """
    return _area(area_m2) * number("joint sand", coverage_kg_m2, "kg/m2", 0.1, 50.0)


def foundation_fill_m3(length_m: float, width_m: float, depth_m: float) -> float:
    """Return the volume of granular fill, compacted, that replaces loose soil along a foundation [m3].

    Parameters
    ----------
    length_m, width_m, depth_m
        Along the foundation, away from it, and down below the base [m].

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

    Parameters
    ----------
    quantity
        How much is to be done [unit of the rate].
    per_hour
        How much of it is done in an hour [the same unit], above 0.

    Examples
    --------
    >>> work_hours(60.0, 15.0)
    4.0
    """
    return number("quantity", quantity, "", 0.0) / number("production rate", per_hour, "an hour", 0.0, above=True)
