"""What is dug: the extended area of the base, the depth, and the volume in the ground and on the truck."""

from typing import Final

from basecalc.checks import number
from basecalc.errors import OutOfRangeError
from basecalc.units import INCH_M

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

    Parameters
    ----------
    area_m2
        The paved area [m2].
    open_edge_m
        Length of the edges along which the base is extended [m]; the whole perimeter where all are open.
    extension_m
        How far it is extended [m].
    corners
        Corners at which both edges are open: outside less inside right angles, or the `corner_sum` of a whole shape.

    Raises
    ------
    OutOfRangeError
        More inside corners than the open edge has room for.

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

    Parameters
    ----------
    base_m, paver_m, bedding_m
        Thickness of base, pavers and bedding sand [m].
    finish_above_ground_m
        How far the finished surface stands above the surface of today, which is the old pavement's where there is one
        [m]; negative where it lies below.
    old_pavement_m
        Thickness of an old pavement removed before, as a quantity of its own [m].

    Raises
    ------
    OutOfRangeError
        The finish stands so high, or the old pavement is so thick, that the new layers do not reach the bottom: fill
        would be needed below the base, and no quantity here counts it.

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

    Parameters
    ----------
    dig_m
        Depth dug [m].
    old_pavement_m
        Thickness of the old pavement removed before [m]: below one there is no topsoil.
    stripping_m
        Depth of the topsoil [m]; 4 in where it was not measured [practice].

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

    Parameters
    ----------
    area_m2
        Area dug [m2], with the extension.
    depth_m
        Depth dug [m].

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

    Parameters
    ----------
    area_m2
        The paved area [m2].
    depth_m
        Depth dug [m].
    open_edge_m, extension_m, corners
        Length and width of the extension [m], and its corners, as in `extended_area_m2`.

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
