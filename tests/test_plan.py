"""Plan shapes against shapely: area, outline, and what mitred corners add to an extended base."""

from collections.abc import Callable
from itertools import pairwise
from math import cos, hypot, pi, sin, sqrt, tau

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from printed import FOOT2_M2, FOOT_M, INCH_M
from shapely import LineString, Polygon, unary_union

from basecalc import InputError, OutOfRangeError
from basecalc.plan import area
from basecalc.plan.area import open_corners, open_edge_m
from basecalc.plan.shapes import (
    PlanShape,
    circle,
    edges_of,
    measured,
    polygon,
    rectangle,
    trapezoid,
    triangle,
    triangle_by_sides,
    turns,
)
from basecalc.takeoff.model import MODEL


def extended_area_m2(plan: float, edge: float, reach: float, corners: float = 0.0) -> float:
    return float(MODEL.value("base_area", plan=plan, open=edge, reach=reach, corner=corners))


Corners = list[tuple[float, float]]
# 20 x 50 ft less a notch in one corner: 840 ft2, 140 ft round.
L_SHAPE: Corners = [(0, 0), (50, 0), (50, 12), (30, 12), (30, 20), (0, 20)]


def feet(corners: Corners) -> Corners:
    return [(x * FOOT_M, y * FOOT_M) for x, y in corners]


def mitred(corners: Corners, extension: float) -> float:
    return float(Polygon(corners).buffer(extension, join_style="mitre", mitre_limit=1000).area)


def extended(shape: PlanShape, extension: float) -> float:
    assert shape.perimeter_m is not None
    return extended_area_m2(shape.area_m2, shape.perimeter_m, extension, shape.corner_sum)


@pytest.mark.source("shapely buffer with mitred joins, an independent library; [computed]")
def test_a_rectangle_of_40_by_20_ft_reaches_8_in_out() -> None:
    corners = feet([(0, 0), (40, 0), (40, 20), (0, 20)])
    assert mitred(corners, 8 * INCH_M) / FOOT2_M2 == pytest.approx(881.78, abs=0.005)
    for shape in (rectangle(40 * FOOT_M, 20 * FOOT_M), polygon(corners)):
        assert extended(shape, 8 * INCH_M) / FOOT2_M2 == pytest.approx(881.78, abs=0.005)


@pytest.mark.source("shapely buffer with mitred joins, an independent library; [computed]")
@pytest.mark.parametrize("corners", [L_SHAPE, L_SHAPE[::-1], [*L_SHAPE[2:], *L_SHAPE[:2]], [*L_SHAPE, L_SHAPE[0]]])
def test_an_l_shape_counts_inside_corners_off_outside_ones(corners: Corners) -> None:
    shape = polygon(feet(corners))
    assert shape.area_m2 / FOOT2_M2 == pytest.approx(840)
    assert shape.perimeter_m == pytest.approx(140 * FOOT_M)
    assert shape.corner_sum == pytest.approx(5 - 1)
    assert extended(shape, 0.5 * FOOT_M) / FOOT2_M2 == pytest.approx(911.0, abs=1e-6)
    assert mitred(feet(corners), 0.5 * FOOT_M) / FOOT2_M2 == pytest.approx(911.0, abs=1e-6)


def test_a_circle_grows_as_a_larger_circle() -> None:
    assert extended(circle(8.0), 0.3) == pytest.approx(pi * 4.3**2)


@st.composite
def convex(draw: st.DrawFn) -> Corners:
    """Corners on an ellipse, turned and moved: convex, of any angles."""
    count = draw(st.integers(3, 10))
    steps = [draw(st.floats(0.3, 1.0)) for _ in range(count)]
    wide, high, turn = draw(st.floats(2, 30)), draw(st.floats(2, 30)), draw(st.floats(0, tau))
    corners, angle = [], 0.0
    for step in steps:
        angle += step * tau / sum(steps)
        x, y = wide * cos(angle), high * sin(angle)
        corners.append((x * cos(turn) - y * sin(turn) + 50, x * sin(turn) + y * cos(turn) - 20))
    return corners


@st.composite
def skyline(draw: st.DrawFn) -> Corners:
    """Right angles only: columns of different heights side by side, none narrower than 1 m."""
    corners: Corners = [(0.0, 0.0)]
    x = 0.0
    for _ in range(draw(st.integers(1, 6))):
        height = draw(st.integers(8, 40)) / 2
        if abs(height - corners[-1][1]) < 0.25:
            height += 0.5
        corners.append((x, height))
        x += draw(st.floats(1, 9))
        corners.append((x, height))
    return [*corners, (x, 0.0)]


@given(convex(), st.floats(0.001, 1), st.booleans())
def test_convex_outlines_agree_with_shapely(corners: Corners, extension: float, backwards: bool) -> None:
    oracle = Polygon(corners)
    shape = polygon(corners[::-1] if backwards else corners)
    assert shape.area_m2 == pytest.approx(oracle.area, rel=1e-9)
    assert shape.perimeter_m == pytest.approx(oracle.length, rel=1e-9)
    assert extended(shape, extension) == pytest.approx(mitred(corners, extension), rel=1e-6)
    assert shape.extent_m is not None
    box = oracle.minimum_rotated_rectangle
    assert shape.extent_m[0] * shape.extent_m[1] == pytest.approx(box.area, rel=1e-6)
    assert shape.extent_m[0] >= shape.extent_m[1]


@given(skyline(), st.floats(0.001, 0.49), st.booleans())
def test_right_angled_outlines_agree_with_shapely(corners: Corners, extension: float, backwards: bool) -> None:
    shape = polygon(corners[::-1] if backwards else corners)
    assert shape.corner_sum == pytest.approx(4)
    assert shape.area_m2 == pytest.approx(Polygon(corners).area)
    assert extended(shape, extension) == pytest.approx(mitred(corners, extension), rel=1e-9)


@given(skyline(), st.floats(0.5, 3))
def test_a_narrow_notch_is_never_counted_as_less_than_it_is(corners: Corners, extension: float) -> None:
    assert extended(polygon(corners), extension) >= mitred(corners, extension) * (1 - 1e-9)


@given(st.lists(st.floats(3, 12), min_size=4, max_size=9))
def test_slanted_inside_corners_agree_with_shapely(radii: list[float]) -> None:
    corners = [(r * cos(tau * i / len(radii)), r * sin(tau * i / len(radii))) for i, r in enumerate(radii)]
    assume(all(abs(turn) < 2.9 for turn in turns(edges_of(corners))))
    shape = polygon(corners)
    assert extended(shape, 0.02) == pytest.approx(mitred(corners, 0.02), rel=1e-9)


@given(st.floats(1, 40), st.floats(1, 40), st.floats(0, 1), st.floats(0.001, 1))
def test_a_triangle_of_base_and_height_never_has_too_short_an_outline(
    base: float, height: float, tip: float, extension: float
) -> None:
    corners = [(0.0, 0.0), (base, 0.0), (tip * base, height)]
    shape = triangle(base, height)
    assert shape.area_m2 == pytest.approx(base * height / 2)
    assert extended(shape, extension) >= mitred(corners, extension) * (1 - 1e-9)


@given(st.floats(2, 40), st.floats(0.1, 1), st.floats(1, 20), st.floats(0, 1), st.floats(0.001, 1))
def test_a_trapezoid_without_legs_never_has_too_short_an_outline(
    side: float, ratio: float, height: float, lean: float, extension: float
) -> None:
    opposite = side * ratio
    start = lean * (side - opposite)
    corners = [(0.0, 0.0), (side, 0.0), (start + opposite, height), (start, height)]
    for shape in (trapezoid(side, opposite, height), trapezoid(opposite, side, height)):
        assert shape.area_m2 == pytest.approx((side + opposite) / 2 * height)
        assert extended(shape, extension) >= mitred(corners, extension) * (1 - 1e-9)


@given(st.floats(2, 40), st.floats(2, 40), st.floats(1, 20), st.floats(-10, 10))
def test_a_trapezoid_with_legs_has_exactly_its_outline(side: float, other: float, height: float, start: float) -> None:
    corners = [(0.0, 0.0), (side, 0.0), (start + other, height), (start, height)]
    shape = trapezoid(side, other, height, (hypot(start, height), hypot(side - start - other, height)))
    assert shape.perimeter_m == pytest.approx(Polygon(corners).length)
    assert shape.area_m2 == pytest.approx(Polygon(corners).area)


@given(convex())
def test_three_sides_give_the_triangle_they_enclose(corners: Corners) -> None:
    three = Polygon(corners[:3])
    xy = list(three.exterior.coords)
    a, b, c = (hypot(q[0] - p[0], q[1] - p[1]) for p, q in pairwise(xy))
    assume(three.area > 0.03 * max(a, b, c) ** 2)  # no spike
    shape = triangle_by_sides(a, b, c)
    assert shape.area_m2 == pytest.approx(three.area, rel=1e-6)
    assert shape.perimeter_m == pytest.approx(three.length)
    assert extended(shape, 0.2) == pytest.approx(mitred(list(three.exterior.coords), 0.2), rel=1e-6)


@given(st.floats(0.5, 100), st.floats(0.5, 100), st.floats(1, 2), st.floats(0, 1), st.floats(0.001, 1))
def test_a_larger_area_or_extension_never_gives_a_smaller_base(
    length: float, width: float, more: float, extension: float, further: float
) -> None:
    small, large = rectangle(length, width), rectangle(length * more, width)
    assert extended(large, extension) >= extended(small, extension)
    assert extended(small, extension + further) >= extended(small, extension) >= small.area_m2


def test_the_extent_follows_a_slanted_driveway_not_the_map() -> None:
    corners = [(x * 0.8 - y * 0.6, x * 0.6 + y * 0.8) for x, y in [(0.0, 0.0), (12.0, 0.0), (12.0, 4.0), (0.0, 4.0)]]
    assert polygon(corners).extent_m == pytest.approx((12, 4))


def test_a_measured_area_says_what_it_does_not_know() -> None:
    assert measured(85.0) == PlanShape(85.0, None, 4.0, None)
    assert measured(85.0, 40.0, (8.0, 12.0)) == PlanShape(85.0, 40.0, 4.0, (12.0, 8.0))


@pytest.mark.parametrize(
    ("corners", "sentence"),
    [
        ([(0, 0), (4, 4), (4, 0), (0, 4)], "crosses or touches itself: edge 1 meets edge 3"),
        ([(0, 0), (6, 0), (6, 6), (3, 0), (0, 6)], "crosses or touches itself"),
        ([(0, 0), (6, 0), (6, 6), (3, -1), (0, 6)], "crosses or touches itself"),
        ([(0, 0), (4, 0), (8, 0)], "folds back on itself at corner"),
        ([(0, 0), (8, 0), (4, 0), (4, 3)], "crosses or touches itself|folds back"),
        ([(0, 0), (4, 0), (4, 0), (0, 4)], "corner 3 lies within 1 mm of the corner before it"),
    ],
)
def test_an_outline_that_is_no_outline_is_refused(corners: Corners, sentence: str) -> None:
    with pytest.raises(OutOfRangeError, match=sentence):
        polygon(corners)


@pytest.mark.parametrize(
    ("corners", "sentence"),
    [
        ([(0, 0), (1, 0)], "a polygon of 2 corners"),
        ([(0, 0), (4, 0), (0, 0)], "a polygon of 2 corners"),
        ([(0, 0), (4, 0), (4,)], "corner 3 must be two numbers"),
        ([(0, 0), (4, 0), ("x", 3)], "x of corner 3 is 'x'"),
        ([(float(i), 0.0) for i in range(501)], "a polygon of 501 corners"),
    ],
)
def test_corners_that_are_no_corners_are_refused(corners: Corners, sentence: str) -> None:
    with pytest.raises(InputError, match=sentence):
        polygon(corners)


def test_measurements_that_do_not_close_are_refused() -> None:
    with pytest.raises(OutOfRangeError, match="side is 9 m; it must be below 7 m"):
        triangle_by_sides(3, 9, 4)
    with pytest.raises(OutOfRangeError, match="leg is 2 m; it must be at least 3 m"):
        trapezoid(10, 6, 3, (2, 5))
    with pytest.raises(OutOfRangeError, match="other leg is 4 m; it must be 3 m within 2 %"):
        trapezoid(10, 6, 3, (5, 4))
    with pytest.raises(OutOfRangeError, match=r"perimeter is 20 m; it must be at least 35\.45 m"):
        measured(100, 20)
    with pytest.raises(OutOfRangeError, match="at least the area of 100 m2"):
        measured(100, None, (9, 9))


@pytest.mark.parametrize("size", [0.0, -3.0, float("nan"), 1000.1])
def test_a_side_that_is_no_side_is_refused(size: float) -> None:
    for make in (
        lambda: rectangle(size, 4),
        lambda: circle(size),
        lambda: triangle(4, size),
        lambda: measured(size * 1e4),
    ):
        with pytest.raises(OutOfRangeError):
            make()


def one_side_closed(corners: Corners, side: int, extension: float) -> float:
    """Return the area of an anticlockwise outline with its base past every side but one, its corners mitred."""
    walked = [*corners[side + 1 :], *corners[: side + 1]]  # from the end of the closed side round to its start
    beside = LineString(walked).buffer(-extension, single_sided=True, join_style="mitre", mitre_limit=1000)
    return float(unary_union([Polygon(corners), beside]).area)


@pytest.mark.parametrize("count", [3, 4, 5, 8])
def test_with_one_side_at_a_house_the_base_is_that_of_the_mitred_outline(count: int) -> None:
    radius, extension = 15 * FOOT_M, 14 * INCH_M
    corners = [(radius * cos(tau * i / count), radius * sin(tau * i / count)) for i in range(count)]
    side = 2 * radius * sin(tau / count / 2)
    shape = polygon(corners)
    assert shape.perimeter_m is not None
    edge = open_edge_m(shape, side, None)
    base = extended_area_m2(shape.area_m2, edge, extension, open_corners("polygon", shape, edge, None))
    assert base == pytest.approx(one_side_closed(corners, 0, extension), rel=1e-9)


@given(convex(), st.floats(0.001, 0.2), st.data())
def test_any_side_that_is_closed_leaves_the_corners_between_the_others(
    corners: Corners, extension: float, data: st.DataObject
) -> None:
    side = data.draw(st.integers(0, len(corners) - 1))
    shape = polygon(corners)
    lengths = [hypot(b[0] - a[0], b[1] - a[1]) for a, b in zip(corners, [*corners[1:], corners[0]], strict=True)]
    alone = [one for one in lengths if abs(one - lengths[side]) <= 0.05 * lengths[side]]
    runs = [sum((lengths * 2)[i : i + n]) for i in range(len(lengths)) for n in range(2, len(lengths))]
    assume(len(alone) == 1 and all(abs(run - lengths[side]) > 0.05 * lengths[side] for run in runs))
    edge = open_edge_m(shape, lengths[side], None)
    base = extended_area_m2(shape.area_m2, edge, extension, open_corners("polygon", shape, edge, None))
    assert base == pytest.approx(one_side_closed(corners, side, extension), rel=1e-6)


def test_a_triangle_with_one_side_closed_keeps_no_more_than_its_one_open_corner() -> None:
    shape = triangle_by_sides(12.0, 12.0, 12.0)
    assert open_corners("triangle", shape, 24.0, None) == pytest.approx(sqrt(3))
    assert open_corners("triangle", shape, 20.0, None) == pytest.approx(sqrt(3))  # part of a side and more: the least
    assert open_corners("rectangle", rectangle(12.0, 6.0), 30.0, None) == 2
    assert open_corners("rectangle", rectangle(12.0, 6.0), 18.0, None) == 1  # a long and a short side at the house
    assert open_corners("rectangle", rectangle(12.0, 6.0), 34.0, None) == 2
    assert open_corners("measured", measured(72.0, 36.0), 30.0, None) == 2


# ---- what is typed of an area: corners, slopes, falls, a strip along a building


@pytest.mark.parametrize(
    ("worked_out", "expected"),
    [
        (lambda: area.corner_points("0 0; 60,0; 60 14"), [["0", "0"], ["60", "0"], ["60", "14"]]),
        (
            lambda: [area.slope_share(given) for given in (2, "1/4 in/ft", "20 mm/m")],
            [0.02, pytest.approx(1 / 48), 0.02],
        ),
        (lambda: area.falls((20.0, 5.0), 0.02, "length", None, None), (0.4, 0.0)),
        (lambda: area.falls((20.0, 5.0), None, "", None, 0.1), (0.0, 0.1)),
        (lambda: area.steepest_slope((20.0, 5.0), (0.6, 0.2)), pytest.approx(0.05)),
        (lambda: [corner.down_m for corner in area.corners((0.4, -0.1))], pytest.approx([0.1, 0.5, 0.4, 0.0])),
    ],
)
def test_corners_slopes_and_falls_are_read(worked_out: Callable[[], object], expected: object) -> None:
    assert worked_out() == expected


def test_a_strip_and_what_is_left_add_up_to_the_whole() -> None:
    drive = area.Part(72.0, 36.0, 30.0, 2.0, (12.0, 6.0))
    strip, rest = area.split_strip(drive, 6.0, 1.5, None, rectangle=True)
    assert (strip.area_m2, strip.open_edge_m) == (9.0, 3.0)
    assert (rest.area_m2, rest.open_edge_m, rest.extent_m) == (63.0, 27.0, (10.5, 6.0))
    assert area.split_falls(drive, rest, 6.0, 1.5, (0.24, 0.06)) == ((0.06, 0.03), (0.21, 0.06))
