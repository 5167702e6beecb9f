"""A strip along a building taken out of an area: sums by hand, and what must hold for every split."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from printed import FOOT2_M2, FOOT_M

from basecalc import InputError, OutOfRangeError
from basecalc.plan.area import Part, split_falls, split_strip
from basecalc.takeoff.model import MODEL


def extended_area_m2(plan: float, edge: float, reach: float, corners: float = 0.0) -> float:
    return float(MODEL.value("base_area", plan=plan, open=edge, reach=reach, corner=corners))


FT, FT2 = FOOT_M, FOOT2_M2


def drive(length: float = 60.0, width: float = 14.0, edge: float = 14.0, corners: float = 2.0) -> Part:
    return Part(
        length * width * FT2, 2 * (length + width) * FT, (2 * (length + width) - edge) * FT, corners,
        (max(length, width) * FT, min(length, width) * FT),
    )  # fmt: skip


def test_a_strip_across_the_end_of_a_drive_by_hand() -> None:
    # 60 x 14 ft, garage along one 14 ft end, 5 ft of backfill. Strip 14 x 5 = 70 ft2, around it 2 x (14 + 5) = 38 ft,
    # open at its two ends: 10 ft. Rest 55 x 14 = 770 ft2, around it 2 x (55 + 14) = 138 ft, open 134 - 10 = 124 ft.
    strip, rest = split_strip(drive(), 14 * FT, 5 * FT, None, rectangle=True)
    assert (strip.area_m2 / FT2, strip.open_edge_m / FT, strip.corners) == pytest.approx((70, 10, 0))
    assert (rest.area_m2 / FT2, rest.open_edge_m / FT, rest.corners) == pytest.approx((770, 124, 2))
    assert strip.perimeter_m == pytest.approx(38 * FT)
    assert rest.perimeter_m == pytest.approx(138 * FT)
    assert [side / FT for side in rest.extent_m] == pytest.approx([55, 14])
    assert [side / FT for side in strip.extent_m] == pytest.approx([14, 5])


def test_a_strip_in_the_middle_of_a_long_side_has_no_open_end() -> None:
    # 60 x 20 ft, building along 24 ft of a long side, strip 24 x 4 = 96 ft2: a notch. The rest keeps all 136 ft of open
    # edge; around it are 160 + 2 x 4 = 168 ft, and its rolls are cut to the whole box.
    whole = drive(60, 20, 24)
    strip, rest = split_strip(whole, 24 * FT, 4 * FT, 0, rectangle=True)
    assert (strip.open_edge_m, rest.open_edge_m / FT) == pytest.approx((0, 136))
    assert (rest.area_m2 / FT2, rest.perimeter_m / FT) == pytest.approx((1104, 168))  # type: ignore[operator]
    assert rest.extent_m == whole.extent_m


def test_a_strip_takes_the_corners_where_nothing_open_is_left() -> None:
    whole = Part(80.0, None, 3.0, 2.0, (10.0, 8.0))
    strip, rest = split_strip(whole, 8.0, 1.5, None, rectangle=True)
    assert (strip.open_edge_m, strip.corners, rest.open_edge_m, rest.corners) == (3.0, 2.0, 0.0, 0.0)
    assert rest.perimeter_m is None


@pytest.mark.parametrize(
    ("edge", "width", "ends", "said"),
    [
        (14, 61, None, r"foundation fill width is 61 ft \(18.5928 m\); it must be at most 60 ft"),
        (14, 60, None, r"the strip of 14 ft .* is 840 ft2 .*; it must be below the area, 840 ft2"),
        (30, 15, None, "foundation fill width is 15 ft .*; it must be at most 14 ft"),
        (60, 14, None, "must be below the area"),
    ],
)
def test_a_strip_that_is_no_strip_is_refused(edge: float, width: float, ends: int | None, said: str) -> None:
    with pytest.raises(OutOfRangeError, match=said):
        split_strip(drive(edge=edge), edge * FT, width * FT, ends, rectangle=True)


def test_ends_longer_than_the_open_edge_are_refused() -> None:
    whole = Part(80.0, 36.0, 2.0, 0.0, (10.0, 8.0))
    with pytest.raises(OutOfRangeError, match=r"open ends is 2, .* the open edge is only 6.56168 ft \(2 m\)"):
        split_strip(whole, 8.0, 1.5, 2, rectangle=True)


@given(
    length=st.floats(4, 60), width=st.floats(3, 12), share=st.floats(0.05, 0.9), ends=st.sampled_from([None, 0, 1, 2]),
    shallow=st.floats(0.1, 0.6), more=st.floats(0, 0.6),
)  # fmt: skip
def test_a_split_keeps_area_edges_and_corners_and_never_digs_less(
    length: float, width: float, share: float, ends: int | None, shallow: float, more: float
) -> None:
    """The strip is at least as deep as the rest: dug apart, they take at least what one shallow dig takes."""
    around = 2 * (length + width)
    whole = Part(length * width, around, around - width, 2.0, (max(length, width), min(length, width)))
    strip, rest = split_strip(whole, width, share * length, ends, rectangle=True)
    assert strip.area_m2 + rest.area_m2 == pytest.approx(whole.area_m2)
    assert strip.open_edge_m + rest.open_edge_m == pytest.approx(whole.open_edge_m)
    assert strip.corners + rest.corners == whole.corners
    counted = round(strip.open_edge_m / (share * length))
    between = width + (2 - counted) * share * length  # the line that both parts share
    assert strip.perimeter_m is not None
    assert rest.perimeter_m is not None
    assert strip.perimeter_m + rest.perimeter_m == pytest.approx(around + 2 * between)
    deep = shallow + more
    dug = [
        extended_area_m2(part.area_m2, part.open_edge_m, depth if part.open_edge_m else 0.0, part.corners) * depth
        for part, depth in ((strip, deep), (rest, shallow))
    ]
    together = extended_area_m2(whole.area_m2, whole.open_edge_m, shallow, whole.corners) * shallow
    assert sum(dug) >= together * (1 - 1e-9)


@pytest.mark.parametrize(
    ("extent", "edge", "width", "fall", "strip", "rest"),
    [
        # 60 x 14 ft, garage along a 14 ft end, 5 ft of backfill; 12 in along the 60 ft, 3 in across the 14 ft.
        # Strip 14 x 5 ft, A to B along the garage: 3 in, and 12 x 5 / 60 = 1 in. Rest 55 x 14 ft: 11 in and 3 in.
        ((60, 14), 14, 5, (12, 3), (3, 1), (11, 3)),
        # Building along the whole 60 ft, 5 of the 14 ft: 12 in and 2.8 x 5 / 14 = 1 in; rest 60 x 9 ft: 12 in, 1.8 in.
        ((60, 14), 60, 5, (12, 2.8), (12, 1), (12, 1.8)),
        # 20 x 18 ft, along the 18 ft, 5 ft: the rest is 15 x 18 ft, its longer side the one along the building.
        # 4 in along the 20 ft, so 1 in in the strip and 3 in in the rest; -2 in (it rises) along the building.
        ((20, 18), 18, 5, (4, -2), (-2, 1), (-2, 3)),
        # 20 x 6 ft, along the 6 ft, 8 ft: the strip is longer away from the building. 5 x 8 / 20 = 2 in there, 3 left.
        ((20, 6), 6, 8, (5, 1), (2, 1), (3, 1)),
        # A square that falls as much one way as the other: whichever side it is, 4 x 5 / 20 = 1 in away from it.
        ((20, 20), 20, 5, (4, 4), (4, 1), (4, 3)),
    ],
)
def test_the_fall_of_strip_and_rest_by_hand(
    extent: tuple[float, float], edge: float, width: float, fall: tuple[float, float], strip: tuple[float, float],
    rest: tuple[float, float],
) -> None:  # fmt: skip
    whole = drive(*extent, edge)
    _, left = split_strip(whole, edge * FT, width * FT, None, rectangle=True)
    near, far = split_falls(whole, left, edge * FT, width * FT, fall)
    assert near == pytest.approx(strip)
    assert far == pytest.approx(rest)


def test_a_fall_of_two_parts_that_nobody_can_tell_is_refused_in_one_sentence() -> None:
    notch = drive(60, 20, 24)
    _, rest = split_strip(notch, 24 * FT, 4 * FT, 0, rectangle=True)
    said = r"the strip lies along 24 ft \(7.3152 m\) of the foundation, no whole side.*must be areas of their own"
    with pytest.raises(InputError, match=said):
        split_falls(notch, rest, 24 * FT, 4 * FT, (12, 0))
    assert split_falls(notch, rest, 24 * FT, 4 * FT, (0.0, 0.0)) == ((0.0, 0.0), (0.0, 0.0))
    square = drive(20, 20, 20)
    _, rest = split_strip(square, 20 * FT, 4 * FT, None, rectangle=True)
    with pytest.raises(InputError, match="one side of a square, and nothing says which"):
        split_falls(square, rest, 20 * FT, 4 * FT, (12, 0))
