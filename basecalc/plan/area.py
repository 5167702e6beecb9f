"""What an area is measured by: sizes of each shape, edges, falls and levels, and a strip split off along a building."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import hypot
from typing import Any, Final

from basecalc.core.errors import InputError, OutOfRangeError
from basecalc.core.numbers import limits, number, quoted
from basecalc.core.units import Measure, to_unit
from basecalc.core.words import both
from basecalc.plan import shapes
from basecalc.plan.shapes import MOST_CORNERS

SHAPES: Final = ("rectangle", "triangle", "trapezoid", "circle", "polygon", "measured")
OLD_PAVEMENTS: Final = ("asphalt", "concrete", "pavers", "gravel")

# What each shape is measured by: sets of keys, of which one must be complete.
DIMENSIONS: Final[Mapping[str, tuple[tuple[str, ...], ...]]] = {
    "rectangle": (("length", "width"),),
    "triangle": (("sides",), ("base", "height")),
    "trapezoid": (("parallel_sides", "height"),),
    "circle": (("diameter",),),
    "polygon": (("points",),),
    "measured": (("area", "length", "width"),),
}
OPTIONAL_DIMENSIONS: Final[Mapping[str, tuple[str, ...]]] = {"trapezoid": ("legs",), "measured": ("perimeter",)}

LENGTH: Final = Measure("m", "ft", "m", 0, 3000, above=True)
POSITION: Final = Measure("m", "ft", "m", -30000, 30000)
EDGE: Final = Measure("m", "ft", "m", 0, 30000)
PLAN_AREA: Final = Measure("m2", "ft2", "m2", 0, 1_000_000, above=True)
LEVEL: Final = Measure("m", "in", "mm", -120, 120)
THICKNESS: Final = Measure("m", "in", "mm", 0, 36)
FILL_DEPTH: Final = Measure("m", "in", "mm", 0, 120)
FILL_WIDTH: Final = Measure("m", "ft", "m", 0, 30)
WATER_TABLE: Final = Measure("m", "in", "mm", 0, 600)
CORNERS: Final = Measure("", "", "", -MOST_CORNERS, MOST_CORNERS)  # a sharp corner counts as many right angles
_ENDS: Final = 2  # of a closed stretch, at which no corner is open; of a strip


def corner_points(text: str) -> list[list[str]]:
    """Return the corners that a cell lists: x and y of each, as written."""
    corners = [corner.replace(",", " ").split() for corner in text.split(";") if corner.strip()]
    for corner in corners:
        if len(corner) != 2:
            raise InputError(
                f"corners at: {' '.join(corner)!r} is not a corner; it must be 'x y; x y; ...', two numbers each"
            )
    return corners


def plan_shape(shape: str, given: Mapping[str, Any]) -> shapes.PlanShape:
    """Return the plan shape of an area."""
    sets, optional = DIMENSIONS[shape], set(OPTIONAL_DIMENSIONS.get(shape, ()))
    needed = " or ".join(" and ".join(word.replace("_", " ") for word in keys) for keys in sets)
    complete = [keys for keys in sets if set(keys) <= set(given)]
    if not complete:
        lacking = [key for key in sets[0] if key not in given]
        raise InputError(f"is missing; a {shape} needs {needed}", about=lacking[0].replace("_", " "), field=lacking[0])
    stray = sorted(set(given) - set(complete[0]) - optional)
    if stray:
        told = f"does not belong to a {shape}, which needs only {needed}"
        raise InputError(told, about=stray[0].replace("_", " "), field=stray[0])
    match shape:
        case "rectangle":
            return shapes.rectangle(given["length"], given["width"])
        case "triangle" if "sides" in given:
            first, second, third = given["sides"]
            return shapes.triangle_by_sides(first, second, third)
        case "triangle":
            return shapes.triangle(given["base"], given["height"])
        case "trapezoid":
            first, second = given["parallel_sides"]
            legs = (given["legs"][0], given["legs"][1]) if "legs" in given else None
            return shapes.trapezoid(first, second, given["height"], legs)
        case "circle":
            return shapes.circle(given["diameter"])
        case "polygon":
            return shapes.polygon([(point[0], point[1]) for point in given["points"]])
        case _:
            return shapes.measured(given["area"], given.get("perimeter"), (given["length"], given["width"]))


def open_edge_m(shape: shapes.PlanShape, foundation_edge_m: float, given_m: float | None) -> float:
    """Return the edge past which the base is carried on: as given, or all of it but what lies along a building [m]."""
    _within("foundation edge", foundation_edge_m, shape.perimeter_m, "the perimeter")
    if given_m is not None:
        rest = None if shape.perimeter_m is None else shape.perimeter_m - foundation_edge_m
        _within("open edge", given_m, rest, "the perimeter less the foundation edge")
        return given_m
    if shape.perimeter_m is None:
        raise InputError("open edge is missing; it must be given where the perimeter of a measured area is not")
    return max(shape.perimeter_m - foundation_edge_m, 0.0)


def open_corners(word: str, shape: shapes.PlanShape, edge_m: float, given: float | None) -> float:
    """Return what the corners of the open edge add: as given, or those of the shape at which both sides are open.

    Notes
    -----
    A corner at which both sides are open adds ``tan(turn / 2)`` (the mitre); at the end of a closed side the base ends
    square. Where the closed length is that of a side, or of some sides in a row, within 2 %, those are taken as closed;
    of several that would do, those that leave the most. Else the two greatest corners are left out.
    """
    if given is not None:
        return given
    if edge_m == 0:
        return 0.0
    if shape.perimeter_m is None or edge_m >= shape.perimeter_m * (1 - 1e-9):
        return shape.corner_sum
    if word == "circle":
        return shape.corner_sum * edge_m / shape.perimeter_m
    if not shape.sides:  # an area that was measured: four right angles are taken
        return max(shape.corner_sum - _ENDS, 0.0)
    left = _left_open(shape.sides, shape.perimeter_m - edge_m)
    if left:
        return round(max(left), 12)
    greatest = sorted(corner for _, corner in shape.sides)[-_ENDS:]
    return max(round(shape.corner_sum - sum(greatest), 12), 0.0)


def _left_open(sides: Sequence[tuple[float, float]], closed_m: float) -> list[float]:
    """Return what the open corners add, for each way to close sides in a row that together are so long."""
    count, ways = len(sides), []
    for first in range(count):
        length, lost = 0.0, sides[first - 1][1]  # the corner before the first closed side
        for place in range(first, first + count - 1):
            length, lost = length + sides[place % count][0], lost + sides[place % count][1]
            if abs(length - closed_m) <= shapes.TAPE * closed_m:
                ways.append(sum(corner for _, corner in sides) - lost)
    return ways


def require_pavement(thickness_m: float, kind: str) -> None:
    """Refuse an old pavement whose thickness or kind is missing."""
    if thickness_m > 0 and not kind:
        raise InputError(f"old pavement kind is missing; it must be one of: {', '.join(OLD_PAVEMENTS)}")
    if thickness_m == 0 and kind:
        raise InputError("old pavement is missing; it must be its thickness where its kind is given")


def require_fill(depth_m: float, width_m: float, foundation_edge_m: float) -> None:
    """Refuse a fill at a foundation that is not given whole."""
    if (depth_m > 0) != (width_m > 0):
        lacking = "width" if depth_m > 0 else "depth"
        raise InputError(f"foundation fill {lacking} is missing; depth and width of the fill are given together")
    if depth_m > 0 and not foundation_edge_m:
        raise InputError("foundation edge is missing; it must be the length along which the fill is placed")


def _within(name: str, value: float, limit: float | None, words: str) -> None:
    if limit is not None and value > limit * (1 + 1e-9) + 1e-9:
        raise OutOfRangeError(f"{name} is {_both(value)}; it must be at most {_both(max(limit, 0.0))}, {words}")


SLOPE_DIRECTIONS: Final = ("length", "width")
STEEPEST: Final = 0.25  # beyond this a slope is a typo, not a driveway


@dataclass(frozen=True, slots=True)
class Corner:
    """One corner of the box around an area, and how far it lies below the highest one."""

    name: str
    down_m: float


def slope_share(value: Any) -> float | None:
    """Return a slope as a share: a plain number is per cent, a text may say '2 %', '1/4 in/ft' or '20 mm/m'."""
    if value is None or (isinstance(value, str) and not value.strip()):
        return None
    share = _share(value)
    if abs(share) > STEEPEST * (1 + 1e-9):
        raise OutOfRangeError(f"slope is {quoted(value)}; it must be {limits(-STEEPEST * 100, STEEPEST * 100, '%')}")
    return share


def _share(value: Any) -> float:
    text = value.strip() if isinstance(value, str) else ""
    try:
        if any(letter.isalpha() or letter == "%" for letter in text):
            return to_unit("slope", text, "share")
        return to_unit("slope", text or value, "") / 100
    except InputError:
        raise InputError(
            f"slope is {quoted(value)}; it must be a number in %, or text such as '2 %', '1/4 in/ft' or '20 mm/m'"
        ) from None


def falls(
    extent_m: tuple[float, float],
    slope: float | None,
    direction: str,
    fall_length_m: float | None,
    fall_width_m: float | None,
    *,
    turned: bool = False,
) -> tuple[float, float] | None:
    """Return how far the surface falls along the longer side of an area and across it [m]; None where none is given."""
    given = fall_length_m is not None or fall_width_m is not None
    if slope is not None and given:
        raise InputError("slope and a fall are both given; it must be one or the other")
    if slope is not None and not direction:
        raise InputError("slope direction is missing; it must say where the surface falls: length or width")
    if direction and slope is None:
        raise InputError(f"slope is missing; it must be given where slope direction is {quoted(direction)}")
    if slope is None and not given:
        return None
    length, width = extent_m[::-1] if turned else extent_m
    if slope is not None:
        fall = (slope * length, 0.0) if direction == "length" else (0.0, slope * width)
    else:
        fall = (fall_length_m or 0.0, fall_width_m or 0.0)
    for name, drop, run in (("fall length", fall[0], length), ("fall width", fall[1], width)):
        if abs(drop) > STEEPEST * run * (1 + 1e-9):
            raise OutOfRangeError(
                f"{name} is {drop * 1000:.0f} mm ({drop / 0.0254:.1f} in), which is {abs(drop) / run:.0%} of "
                f"{run:.1f} m ({run / 0.3048:.1f} ft); it must be at most {STEEPEST:.0%}"
            )
    return fall[::-1] if turned else fall


def steepest_slope(extent_m: tuple[float, float], fall_m: tuple[float, float]) -> float:
    """Return the slope of the surface in the direction in which water runs [share]: sqrt(along^2 + across^2)."""
    return hypot(fall_m[0] / extent_m[0], fall_m[1] / extent_m[1])


def corners(fall_m: tuple[float, float]) -> tuple[Corner, ...]:
    """Return the four corners of the box around an area with the level of the finished surface at each."""
    along, across = fall_m
    drops = (0.0, along, along + across, across)
    return tuple(Corner(name, drop - min(drops)) for name, drop in zip("ABCD", drops, strict=True))


_HAIR: Final = 1e-9


@dataclass(frozen=True, slots=True)
class Part:
    """One of the two parts of a split area, seen from above."""

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
            f"the strip of {_both(edge)} x {_both(width)} is {both(area, 'ft2', 'm2')}; it must be below the area, "
            f"{both(whole.area_m2, 'ft2', 'm2')}"
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
    """Return the sides of a rectangle with a strip cut off along one whole side; None where it is not a whole side."""
    for side, other in (extent, extent[::-1]):
        if abs(edge - side) <= _HAIR * side and other > width:
            return max(side, other - width), min(side, other - width)
    return None


def split_falls(
    whole: Part, rest: Part, edge_m: float, width_m: float, fall_m: tuple[float, float]
) -> tuple[tuple[float, float], tuple[float, float]]:
    """Return how the finish falls along and across the strip, and what is left, of an even slope on the whole [m].

    Along the building the fall of both is that of the whole; away from it each has its share of the length.
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
    return both(length_m, "ft", "m")
