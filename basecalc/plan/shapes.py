"""Plan shapes of a paved area: area, perimeter, what its corners add to an extended base, and its extent for rolls."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from math import hypot, pi, sqrt, tan
from typing import Final

from basecalc.checks import number
from basecalc.errors import OutOfRangeError
from basecalc.plan.outline import MOST_CORNERS, Point, edges_of, extent, signed_area, turns

LONGEST_M: Final = 1000.0  # beyond this a length is a slip of the pen, not a driveway
TAPE: Final = 0.02  # how far measured sides may disagree


@dataclass(frozen=True, slots=True)
class PlanShape:
    """An area seen from above.

    Parameters
    ----------
    area_m2
        Its area [m2].
    perimeter_m
        The length of its outline [m]; None where only the area was measured.
    corner_sum
        What the corners add when the outline is moved outwards by e with mitred corners: the area becomes
        ``area + perimeter e + corner_sum e2``. One for each outside right angle, less one for each inside one.
    extent_m
        Length and width of the smallest rectangle along one of its edges that holds it [m], longer first;
        None where it is not known.
    sides
        Each straight side in order: its length [m], and what the corner at its end is of `corner_sum`. None of a circle
        or of a measured area.
    """

    area_m2: float
    perimeter_m: float | None
    corner_sum: float
    extent_m: tuple[float, float] | None
    sides: tuple[tuple[float, float], ...] = field(default=(), repr=False)


def _length(name: str, value: float) -> float:
    return number(name, value, "m", 0.0, LONGEST_M, above=True)


def rectangle(length_m: float, width_m: float) -> PlanShape:
    """Return a rectangle.

    Parameters
    ----------
    length_m, width_m
        Its sides [m], above 0.

    Examples
    --------
    >>> rectangle(12.0, 6.0)
    PlanShape(area_m2=72.0, perimeter_m=36.0, corner_sum=4.0, extent_m=(12.0, 6.0))
    """
    length, width = _length("length", length_m), _length("width", width_m)
    sides = ((length, 1.0), (width, 1.0)) * 2
    return PlanShape(length * width, 2 * (length + width), 4.0, (max(length, width), min(length, width)), sides)


def circle(diameter_m: float) -> PlanShape:
    """Return a circle.

    Parameters
    ----------
    diameter_m
        Its diameter [m], above 0.

    Examples
    --------
    >>> round(circle(10.0).area_m2, 2)
    78.54
    """
    diameter = _length("diameter", diameter_m)
    return PlanShape(pi * diameter**2 / 4, pi * diameter, pi, (diameter, diameter))


def triangle(base_m: float, height_m: float) -> PlanShape:
    """Return a triangle of a base and the height above it, taken as right-angled.

    Of all triangles whose tip stands above the base the right-angled one has the longest outline, so that
    an edge extension is never taken too small. Where three sides are known, `triangle_by_sides` is exact.

    Parameters
    ----------
    base_m, height_m
        One side, and the distance of the opposite corner from it [m], above 0.

    Examples
    --------
    >>> triangle(4.0, 3.0).perimeter_m
    12.0
    """
    base, height = _length("base", base_m), _length("height", height_m)
    return polygon([(0.0, 0.0), (base, 0.0), (0.0, height)])


def triangle_by_sides(side_m: float, second_m: float, third_m: float) -> PlanShape:
    """Return the triangle of three sides.

    Parameters
    ----------
    side_m, second_m, third_m
        Its sides [m], above 0; the longest is shorter than the other two together.

    Raises
    ------
    OutOfRangeError
        The sides do not meet.

    Examples
    --------
    >>> round(triangle_by_sides(3.0, 4.0, 5.0).area_m2, 9)
    6.0
    """
    short, middle, longest = sorted((_length("side", side_m), _length("side", second_m), _length("side", third_m)))
    if longest >= short + middle:
        raise OutOfRangeError(
            f"side is {longest:g} m; it must be below {short + middle:g} m, the two other sides together, "
            "or the triangle does not close"
        )
    along = (longest**2 + middle**2 - short**2) / (2 * longest)
    return polygon([(0.0, 0.0), (longest, 0.0), (along, sqrt(max(middle**2 - along**2, 0.0)))])


def trapezoid(
    side_m: float, opposite_m: float, height_m: float, legs_m: tuple[float, float] | None = None
) -> PlanShape:
    """Return a trapezoid of two parallel sides and the distance between them.

    Without the legs one of them is taken at a right angle: of all trapezoids whose shorter side lies opposite the
    longer one, that has the longest outline, so that an edge extension is never taken too small.

    Parameters
    ----------
    side_m, opposite_m
        The parallel sides [m], above 0.
    height_m
        The distance between them [m], above 0.
    legs_m
        The two other sides [m], where they were measured.

    Raises
    ------
    OutOfRangeError
        A leg is shorter than the height, or the four sides do not close within 2 %.

    Examples
    --------
    >>> trapezoid(10.0, 6.0, 3.0).perimeter_m
    24.0
    """
    side, opposite = _length("side", side_m), _length("opposite side", opposite_m)
    height = _length("height", height_m)
    start = 0.0
    if legs_m is not None:
        leg, other = _length("leg", legs_m[0]), _length("other leg", legs_m[1])
        if min(leg, other) < height * (1 - TAPE):
            raise OutOfRangeError(f"leg is {min(leg, other):g} m; it must be at least {height:g} m, the height")
        lean = sqrt(max(leg**2 - height**2, 0.0))
        start = min((lean, -lean), key=lambda x: abs(hypot(side - opposite - x, height) - other))
        closing = hypot(side - opposite - start, height)
        if abs(closing - other) > TAPE * other:
            raise OutOfRangeError(
                f"other leg is {other:g} m; it must be {closing:.4g} m within 2 %, or the four sides do not close"
            )
    return polygon([(0.0, 0.0), (side, 0.0), (start + opposite, height), (start, height)])


def measured(
    area_m2: float,
    perimeter_m: float | None = None,
    corner_sum: float = 4.0,
    extent_m: tuple[float, float] | None = None,
) -> PlanShape:
    """Return a shape of which only the area is known, and perhaps its outline and its extent.

    Parameters
    ----------
    area_m2
        The area [m2], above 0.
    perimeter_m
        The length of the outline [m], or None where it is not known.
    corner_sum
        Outside less inside corners; 4 for any outline of right angles.
    extent_m
        Length and width that rolls have to cover [m], or None where they are not known.

    Raises
    ------
    OutOfRangeError
        The outline is too short, or the extent too small, for the area.

    Examples
    --------
    >>> measured(85.0).perimeter_m is None
    True
    """
    area = number("area", area_m2, "m2", 0.0, LONGEST_M**2, above=True)
    corners = number("corners", corner_sum, "", -float(MOST_CORNERS), float(MOST_CORNERS))
    if perimeter_m is not None:
        least = sqrt(4 * pi * area)
        perimeter_m = number("perimeter", perimeter_m, "m", 0.0, 100 * LONGEST_M, above=True)
        if perimeter_m < least * (1 - 1e-9):
            raise OutOfRangeError(
                f"perimeter is {perimeter_m:g} m; it must be at least {least:.4g} m, that of a circle of {area:g} m2"
            )
    if extent_m is not None:
        length, width = _length("length", extent_m[0]), _length("width", extent_m[1])
        if length * width < area * (1 - TAPE):
            raise OutOfRangeError(
                f"length x width is {length:g} x {width:g} m; together it must be at least the area of {area:g} m2"
            )
        extent_m = (max(length, width), min(length, width))
    return PlanShape(area, perimeter_m, corners, extent_m)


def polygon(corners: Sequence[Point]) -> PlanShape:
    """Return the shape of straight edges between corners, walked round in either direction.

    Parameters
    ----------
    corners
        At least three corners as (x, y) [m]; the first may be repeated at the end.

    Raises
    ------
    InputError
        Fewer than three corners, or a corner that is not two numbers.
    OutOfRangeError
        A corner given twice, a spike, or an outline that crosses or touches itself.

    Examples
    --------
    >>> polygon([(0, 0), (0, 6), (12, 6), (12, 0)]).corner_sum
    4.0
    """
    edges = edges_of(corners)
    area = signed_area(edges)
    round_to_right = -1.0 if area < 0 else 1.0
    corner = [round_to_right * tan(turn / 2) for turn in turns(edges)]
    lengths = [hypot(b[0] - a[0], b[1] - a[1]) for a, b in edges]
    sides = tuple(zip(lengths, corner, strict=True))
    return PlanShape(abs(area), sum(lengths), round(sum(corner), 12), extent(edges), sides)
