"""Straight-edged outlines: their corners checked, and what is measured along their edges."""

from collections.abc import Sequence
from math import atan2, degrees, hypot, inf
from typing import Final

from basecalc.checks import number
from basecalc.errors import InputError, OutOfRangeError

Point = tuple[float, float]
Edge = tuple[Point, Point]

FARTHEST_M: Final = 1e5
MOST_CORNERS: Final = 500
SAME_POINT_M: Final = 0.001
SHARPEST_DEG: Final = 1.0  # a sharper corner is a spike: its mitre would be longer than the plot
_HAIR: Final = 1e-9


def edges_of(corners: Sequence[Point]) -> list[Edge]:
    """Return the edges between the corners, in order, after every check an outline goes through.

    Parameters
    ----------
    corners
        At least three corners as (x, y) [m]; the first may be repeated at the end.

    Raises
    ------
    InputError
        Fewer than three corners, or a corner that is not two numbers.
    OutOfRangeError
        A corner given twice, or an outline that crosses or touches itself.

    Examples
    --------
    >>> edges_of([(0, 0), (4, 0), (0, 3)])[0]
    ((0.0, 0.0), (4.0, 0.0))
    """
    points = _points(corners)
    edges = list(zip(points, points[1:] + points[:1], strict=True))
    _refuse_crossing(edges)
    return edges


def signed_area(edges: Sequence[Edge]) -> float:
    """Return the area inside the edges [m2]: above 0 where they run anticlockwise.

    Parameters
    ----------
    edges
        The edges of an outline, in order [m].

    Examples
    --------
    >>> signed_area(edges_of([(0, 0), (0, 3), (4, 0)]))
    -6.0
    """
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
            raise OutOfRangeError(f"corner {position + 1} stands within 1 mm of the corner before it")
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
    """Return how far the outline turns at the end of each edge [rad]: above 0 to the left.

    Parameters
    ----------
    edges
        The edges of an outline, in order [m].

    Raises
    ------
    OutOfRangeError
        A corner that folds back on itself.

    Examples
    --------
    >>> [round(turn, 4) for turn in turns(edges_of([(0, 0), (2, 0), (2, 2), (0, 2)]))]
    [1.5708, 1.5708, 1.5708, 1.5708]
    """
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
    """Return length and width of the smallest rectangle that lies along one of the edges and holds them all [m].

    Parameters
    ----------
    edges
        The edges of an outline, in order [m].

    Examples
    --------
    >>> extent(edges_of([(0, 0), (4, 0), (0, 3)]))
    (4.0, 3.0)
    """
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
