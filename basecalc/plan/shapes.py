"""Plan shapes of a paved area: area, perimeter, what its corners add to an extended base, and its extent for rolls."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from math import atan2, degrees, hypot, inf, pi, sqrt, tan
from typing import Final

from basecalc.core.errors import InputError, OutOfRangeError
from basecalc.core.numbers import number

Point = tuple[float, float]
Edge = tuple[Point, Point]

FARTHEST_M: Final = 1e5
MOST_CORNERS: Final = 500
SAME_POINT_M: Final = 0.001
SHARPEST_DEG: Final = 1.0  # a sharper corner is a spike: its mitre would be longer than the plot
_HAIR: Final = 1e-9


def edges_of(corners: Sequence[Point]) -> list[Edge]:
    """Return the edges between the corners, in order, after every check an outline goes through."""
    points = _points(corners)
    edges = list(zip(points, points[1:] + points[:1], strict=True))
    _refuse_crossing(edges)
    return edges


def signed_area(edges: Sequence[Edge]) -> float:
    """Return the area inside the edges [m2], ``sum(x_a y_b - x_b y_a) / 2``: above 0 where counterclockwise."""
    x0, y0 = edges[0][0]
    return sum((a[0] - x0) * (b[1] - y0) - (b[0] - x0) * (a[1] - y0) for a, b in edges) / 2


def _points(corners: Sequence[Point]) -> list[Point]:
    points: list[Point] = []
    for position, corner in enumerate(corners, 1):
        if isinstance(corner, str) or not isinstance(corner, Sequence) or len(corner) != 2:
            raise InputError(f"corner {position} must be two numbers, x and y in m")
        x, y = (
            number(f"{axis} of corner {position}", value, "m", -FARTHEST_M, FARTHEST_M)
            for axis, value in zip("xy", corner, strict=True)
        )
        points.append((x, y))
    if len(points) > 1 and _near(points[0], points[-1]):
        points.pop()
    if not 3 <= len(points) <= MOST_CORNERS:
        raise InputError(f"a polygon of {len(points)} corners cannot be measured; it must have 3 to {MOST_CORNERS}")
    for position, point in enumerate(points):
        if _near(points[position - 1], point):
            raise OutOfRangeError(f"corner {position + 1} lies within 1 mm of the corner before it")
    return points


def _near(a: Point, b: Point) -> bool:
    return hypot(b[0] - a[0], b[1] - a[1]) < SAME_POINT_M


def _side(a: Point, b: Point, c: Point) -> int:
    """Return on which side of the line a-b the point c lies: 1 left, -1 right, 0 within a hair of it."""
    ux, uy, vx, vy = b[0] - a[0], b[1] - a[1], c[0] - a[0], c[1] - a[1]
    cross = ux * vy - uy * vx
    return 0 if abs(cross) <= _HAIR * hypot(ux, uy) * max(hypot(vx, vy), 1.0) else (1 if cross > 0 else -1)


def _between(a: Point, b: Point, c: Point) -> bool:
    return (
        min(a[0], b[0]) - _HAIR <= c[0] <= max(a[0], b[0]) + _HAIR
        and min(a[1], b[1]) - _HAIR <= c[1] <= max(a[1], b[1]) + _HAIR
    )


def _meet(a: Point, b: Point, c: Point, d: Point) -> bool:
    if _side(a, b, c) * _side(a, b, d) < 0 and _side(c, d, a) * _side(c, d, b) < 0:
        return True
    return any(_side(p, q, r) == 0 and _between(p, q, r) for p, q, r in ((a, b, c), (a, b, d), (c, d, a), (c, d, b)))


def _refuse_crossing(edges: Sequence[Edge]) -> None:
    count = len(edges)
    for i in range(count):
        for j in range(i + 2, count):
            if (i, j) != (0, count - 1) and _meet(*edges[i], *edges[j]):
                raise OutOfRangeError(
                    f"the outline crosses or touches itself: edge {i + 1} meets edge {j + 1}; list the corners in order"
                )


def turns(edges: Sequence[Edge]) -> list[float]:
    """Return how far the outline turns at the end of each edge [rad]: above 0 to the left."""
    result = []
    for position, (a, b) in enumerate(edges):
        c = edges[(position + 1) % len(edges)][1]
        ux, uy, vx, vy = b[0] - a[0], b[1] - a[1], c[0] - b[0], c[1] - b[1]
        turn = atan2(ux * vy - uy * vx, ux * vx + uy * vy)
        if 180.0 - abs(degrees(turn)) < SHARPEST_DEG:
            where = (position + 1) % len(edges) + 1
            raise OutOfRangeError(
                f"the outline folds back on itself at corner {where}; it must open by at least 1 degree"
            )
        result.append(turn)
    return result


def extent(edges: Sequence[Edge]) -> tuple[float, float]:
    """Return length and width of the smallest rectangle that lies along one of the edges and holds them all [m]."""
    best, least = (inf, inf), inf
    for a, b in edges:
        run = hypot(b[0] - a[0], b[1] - a[1])
        ux, uy = (b[0] - a[0]) / run, (b[1] - a[1]) / run
        along = [p[0] * ux + p[1] * uy for p, _ in edges]
        across = [p[1] * ux - p[0] * uy for p, _ in edges]
        length, width = max(along) - min(along), max(across) - min(across)
        if length * width < least * (1 - _HAIR):
            best, least = (max(length, width), min(length, width)), length * width
    return best


LONGEST_M: Final = 1000.0  # beyond this a length is a typo, not a driveway
TAPE: Final = 0.02  # how far measured sides may disagree


@dataclass(frozen=True, slots=True)
class PlanShape:
    """An area seen from above.

    Notes
    -----
    A base that reaches e beyond every open edge covers ``A + P e + C e^2``: area A, open edge P, and
    ``C = sum of tan(turn / 2)`` over the open corners, the mitre at each (a right angle adds 1, a circle pi).
    ``corner_sum`` is C of the whole outline; ``sides`` are the length of each side and the C of the corner at its end.
    """

    area_m2: float
    perimeter_m: float | None
    corner_sum: float
    extent_m: tuple[float, float] | None
    sides: tuple[tuple[float, float], ...] = field(default=(), repr=False)
    corners: tuple[Point, ...] = field(default=(), repr=False)  # counterclockwise; none of a circle


def _length(name: str, value: float) -> float:
    return number(name, value, "m", 0.0, LONGEST_M, above=True)


def rectangle(length_m: float, width_m: float) -> PlanShape:
    """Return a rectangle."""
    length, width = _length("length", length_m), _length("width", width_m)
    sides = ((length, 1.0), (width, 1.0)) * 2
    long, short = max(length, width), min(length, width)
    corners = ((0.0, 0.0), (long, 0.0), (long, short), (0.0, short))
    return PlanShape(length * width, 2 * (length + width), 4.0, (long, short), sides, corners)


def circle(diameter_m: float) -> PlanShape:
    """Return a circle."""
    diameter = _length("diameter", diameter_m)
    return PlanShape(pi * diameter**2 / 4, pi * diameter, pi, (diameter, diameter))


def triangle(base_m: float, height_m: float) -> PlanShape:
    """Return a triangle of a base and the height above it, taken as right-angled.

    Of all triangles with their tip above the base the right-angled one has the longest outline, so an edge extension is
    never taken too small. Where three sides are known, `triangle_by_sides` is exact.
    """
    base, height = _length("base", base_m), _length("height", height_m)
    return polygon([(0.0, 0.0), (base, 0.0), (0.0, height)])


def triangle_by_sides(side_m: float, second_m: float, third_m: float) -> PlanShape:
    """Return the triangle of three sides.

    Notes
    -----
    The tip lies at ``x = (a^2 + b^2 - c^2) / (2 a)`` along the longest side a, ``sqrt(b^2 - x^2)`` above it.
    """
    short, middle, longest = sorted((_length("side", side_m), _length("side", second_m), _length("side", third_m)))
    if longest >= short + middle:
        raise OutOfRangeError(
            f"is {longest:g} m; it must be below {short + middle:g} m, the two other sides together, "
            "or the triangle does not close",
            about="side",
        )
    along = (longest**2 + middle**2 - short**2) / (2 * longest)
    return polygon([(0.0, 0.0), (longest, 0.0), (along, sqrt(max(middle**2 - along**2, 0.0)))])


def trapezoid(
    side_m: float, opposite_m: float, height_m: float, legs_m: tuple[float, float] | None = None
) -> PlanShape:
    """Return a trapezoid of two parallel sides and the distance between them.

    Without the legs one of them is taken at a right angle: of all trapezoids whose shorter side lies opposite the
    longer one, that has the longest outline, so that an edge extension is never taken too small.
    """
    side, opposite = _length("side", side_m), _length("opposite side", opposite_m)
    height = _length("height", height_m)
    start = 0.0
    if legs_m is not None:
        leg, other = _length("leg", legs_m[0]), _length("other leg", legs_m[1])
        if min(leg, other) < height * (1 - TAPE):
            raise OutOfRangeError(
                f"is {min(leg, other):g} m; it must be at least {height:g} m, the height", about="leg"
            )
        lean = sqrt(max(leg**2 - height**2, 0.0))
        start = min((lean, -lean), key=lambda x: abs(hypot(side - opposite - x, height) - other))
        closing = hypot(side - opposite - start, height)
        if abs(closing - other) > TAPE * other:
            raise OutOfRangeError(
                f"is {other:g} m; it must be {closing:.4g} m within 2 %, or the four sides do not close",
                about="other leg",
            )
    return polygon([(0.0, 0.0), (side, 0.0), (start + opposite, height), (start, height)])


def measured(
    area_m2: float, perimeter_m: float | None = None, extent_m: tuple[float, float] | None = None
) -> PlanShape:
    """Return a shape of four right angles of which only the area is known, and perhaps its outline and its extent."""
    area = number("area", area_m2, "m2", 0.0, LONGEST_M**2, above=True)
    if perimeter_m is not None:
        least = sqrt(4 * pi * area)
        perimeter_m = number("perimeter", perimeter_m, "m", 0.0, 100 * LONGEST_M, above=True)
        if perimeter_m < least * (1 - 1e-9):
            raise OutOfRangeError(
                f"is {perimeter_m:g} m; it must be at least {least:.4g} m, that of a circle of {area:g} m2",
                about="perimeter",
            )
    if extent_m is not None:
        length, width = _length("length", extent_m[0]), _length("width", extent_m[1])
        if length * width < area * (1 - TAPE):
            raise OutOfRangeError(
                f"is {length:g} x {width:g} m; together it must be at least the area of {area:g} m2",
                about="length x width",
            )
        extent_m = (max(length, width), min(length, width))
    return PlanShape(area, perimeter_m, 4.0, extent_m)


def polygon(corners: Sequence[Point]) -> PlanShape:
    """Return the shape of straight edges between corners, walked round in either direction."""
    edges = edges_of(corners)
    area = signed_area(edges)
    round_to_right = -1.0 if area < 0 else 1.0
    corner = [round_to_right * tan(turn / 2) for turn in turns(edges)]
    lengths = [hypot(b[0] - a[0], b[1] - a[1]) for a, b in edges]
    sides = tuple(zip(lengths, corner, strict=True))
    walked = tuple(a for a, _ in edges)
    around = walked if area > 0 else walked[::-1]
    return PlanShape(abs(area), sum(lengths), round(sum(corner), 12), extent(edges), sides, around)
