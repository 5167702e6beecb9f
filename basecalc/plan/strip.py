"""A strip along a building, taken out of an area as an area of its own; what is left keeps the other edges."""

from dataclasses import dataclass
from typing import Final

from basecalc.checks import number
from basecalc.errors import InputError, OutOfRangeError
from basecalc.units import FOOT2_M2, FOOT_M

_HAIR: Final = 1e-9
_ENDS: Final = 2


@dataclass(frozen=True, slots=True)
class Part:
    """One of the two parts of a split area, seen from above.

    Parameters
    ----------
    area_m2
        Its area [m2].
    perimeter_m
        The length around it [m], with the line between the parts; None where that of the whole is not known.
    open_edge_m
        The part of it past which the base is carried on [m]; never the line between the parts.
    corners
        Outside less inside corners of that edge.
    extent_m
        Length and width that a roll must cover [m], longer first.
    """

    area_m2: float
    perimeter_m: float | None
    open_edge_m: float
    corners: float
    extent_m: tuple[float, float]


def split_strip(
    whole: Part, edge_m: float, width_m: float, open_ends: int | None, *, rectangle: bool
) -> tuple[Part, Part]:
    """Return the strip along a building and what is left of the area.

    The strip has the area of edge times width. Its long sides lie at the building and at the rest, so that only its
    ends can be open. Open edges, corners and areas of the two parts add up to those of the whole.

    Parameters
    ----------
    whole
        The area before.
    edge_m
        Length along the building [m].
    width_m
        Width of the strip [m].
    open_ends
        How many of its two ends lie at an open edge; None for as many as the open edge is long enough for.
    rectangle
        Whether the whole is a rectangle: then the sides it is cut from are known.

    Raises
    ------
    OutOfRangeError
        A strip as large as the area or wider than it, or ends longer than the open edge.

    Examples
    --------
    >>> drive = Part(72.0, 36.0, 30.0, 2.0, (12.0, 6.0))
    >>> strip, rest = split_strip(drive, 6.0, 1.5, None, rectangle=True)
    >>> strip.area_m2, strip.open_edge_m, rest.area_m2, rest.open_edge_m, rest.extent_m
    (9.0, 3.0, 63.0, 27.0, (10.5, 6.0))
    """
    edge = number("foundation edge", edge_m, "m", 0.0, above=True)
    width = number("foundation fill width", width_m, "m", 0.0, above=True)
    length, across = whole.extent_m
    limit = across if rectangle and edge > across * (1 + _HAIR) else length
    if width > limit * (1 + _HAIR):
        raise OutOfRangeError(
            f"foundation fill width is {_both(width)}; it must be at most {_both(limit)}, as wide as the area is there"
        )
    area = edge * width
    if area >= whole.area_m2 * (1 - _HAIR):
        raise OutOfRangeError(
            f"the strip of {_both(edge)} x {_both(width)} is {area / FOOT2_M2:.6g} ft2 ({area:.6g} m2); it must be "
            f"below the area, {whole.area_m2 / FOOT2_M2:.6g} ft2 ({whole.area_m2:.6g} m2)"
        )
    ends = min(int(whole.open_edge_m / width * (1 + _HAIR)), _ENDS) if open_ends is None else open_ends
    if ends * width > whole.open_edge_m * (1 + _HAIR):
        raise OutOfRangeError(
            f"foundation strip open ends is {ends}, {_both(ends * width)} together; the open edge is only "
            f"{_both(whole.open_edge_m)}"
        )
    left = whole.open_edge_m - ends * width
    left = left if left > _HAIR * whole.open_edge_m else 0.0
    around = None if whole.perimeter_m is None else whole.perimeter_m + 2 * width * (1 - ends)
    strip = Part(
        area, 2 * (edge + width), whole.open_edge_m - left, 0.0 if left else whole.corners,
        (max(edge, width), min(edge, width)),
    )  # fmt: skip
    rest = Part(whole.area_m2 - area, around, left, whole.corners if left else 0.0, whole.extent_m)
    if rectangle and ends == _ENDS and (cut := _cut(whole.extent_m, edge, width)):
        rest = Part(rest.area_m2, rest.perimeter_m, rest.open_edge_m, rest.corners, cut)
    return strip, rest


def _cut(extent: tuple[float, float], edge: float, width: float) -> tuple[float, float] | None:
    """Return the sides of a rectangle with a strip cut off along one whole side; nothing where it is no whole side."""
    for side, other in (extent, extent[::-1]):
        if abs(edge - side) <= _HAIR * side and other > width:
            return max(side, other - width), min(side, other - width)
    return None


def split_falls(
    whole: Part, rest: Part, edge_m: float, width_m: float, fall_m: tuple[float, float]
) -> tuple[tuple[float, float], tuple[float, float]]:
    """Return how the finish falls along and across the strip, and what is left, of an even slope on the whole [m].

    Along the building the fall of both is that of the whole; away from it each has its share of the length.

    Parameters
    ----------
    whole, rest
        The area before, and what is left of it.
    edge_m, width_m
        Length along the building, and width of the strip [m].
    fall_m
        How far the whole falls along its longer side and across it [m].

    Raises
    ------
    InputError
        It falls, and the strip is no whole side of a rectangle; or it is one of a square, and nothing says which.

    Examples
    --------
    >>> drive = Part(72.0, 36.0, 30.0, 2.0, (12.0, 6.0))
    >>> strip, rest = split_strip(drive, 6.0, 1.5, None, rectangle=True)
    >>> split_falls(drive, rest, 6.0, 1.5, (0.24, 0.06))
    ((0.06, 0.03), (0.21, 0.06))
    """
    if fall_m == (0.0, 0.0):
        return fall_m, fall_m
    length, across = whole.extent_m
    square = abs(length - across) <= _HAIR * length and fall_m[0] != fall_m[1]
    if rest.extent_m == whole.extent_m or square:
        which = "one side of a square, and nothing says which" if square else "no whole side of a rectangle"
        raise InputError(
            f"the finish falls, and the strip lies along {_both(edge_m)} of the foundation, {which}: the fall of the "
            "two parts is not known; strip and rest must be areas of their own, each with its fall, without foundation "
            "strip"
        )
    on_longer = abs(edge_m - length) <= _HAIR * length
    along, away = fall_m if on_longer else fall_m[::-1]
    share = width_m / (across if on_longer else length)
    near, far = (along, away * share), (along, away * (1 - share))
    strip = near if edge_m >= width_m else near[::-1]
    left = (across if on_longer else length) - width_m
    return strip, far if left < edge_m else far[::-1]


def _both(length_m: float) -> str:
    return f"{length_m / FOOT_M:.6g} ft ({length_m:.6g} m)"
