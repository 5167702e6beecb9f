"""Rolls against printed overlaps, hand-worked strips and an exhaustive search."""

from functools import cache

import pytest
from hypothesis import given
from hypothesis import strategies as st
from printed import FOOT_M

from basecalc import InputError, OutOfRangeError
from basecalc.takeoff.model import MODEL
from basecalc.takeoff.rolls import RollPlan, lay, overlap


def strips(width: float, roll: float, lap: float) -> int:
    known = {"wide": width, "reach": 0.0, "grid": 1, "grid_width": roll, "grid_lap": lap}
    return int(MODEL.value("grid_strips", known))


def overlap_m(cbr: float, kind: str) -> float:
    return overlap(cbr, kind).side_m


@pytest.mark.source("strips = ceil((W - o) / (w - o)), worked by hand; [computed]")
@pytest.mark.parametrize(
    ("width", "lap", "count"),
    [(20, 1, 2), (26, 2, 3), (12.5, 1, 1), (13.1, 1, 1), (13.2, 1, 2), (25.2, 1, 2), (25.3, 1, 3), (0.5, 1, 1)],
)
def test_strips_of_a_roll_of_13_1_ft(width: float, lap: float, count: int) -> None:
    assert strips(width * FOOT_M, 13.1 * FOOT_M, lap * FOOT_M) == count


@given(st.floats(0.1, 300), st.floats(1, 6), st.floats(0, 0.9))
def test_the_strips_cover_the_width_and_one_fewer_does_not(width: float, roll: float, share: float) -> None:
    lap = share * roll
    count = strips(width, roll, lap)
    assert count * roll - (count - 1) * lap >= width - 1e-6
    if count > 1:
        assert (count - 1) * roll - (count - 2) * lap < width


@given(st.integers(1, 60), st.integers(5, 60), st.integers(0, 4))
def test_an_exact_number_of_strips_needs_no_more(count: int, roll_tenths: int, lap_tenths: int) -> None:
    roll, lap = roll_tenths / 10 * FOOT_M, lap_tenths / 10 * FOOT_M
    assert strips(lap + count * (roll - lap), roll, lap) == count


@pytest.mark.parametrize(
    ("length", "width", "roll_length", "expected"),
    [
        (40, 20, 100, 1),  # 2 strips of 40: 80 ft from one roll
        (50, 20, 100, 1),  # exactly one roll
        (60, 20, 100, 2),  # 120 ft, and a joint
        (100, 20, 100, 2),
        (100, 12.5, 100, 1),
        (150, 12.5, 100, 2),  # one strip of two pieces: 150 + 1 ft
        (199, 12.5, 100, 2),  # 199 + 1: just two rolls
        (199.5, 12.5, 100, 3),  # half a foot short of the overlap
    ],
)
def test_rolls_cut_by_hand(length: float, width: float, roll_length: float, expected: int) -> None:
    assert lay(length * FOOT_M, width * FOOT_M, roll_length * FOOT_M, 13.1 * FOOT_M, FOOT_M).rolls == expected


def test_a_plan_says_what_it_cuts_and_what_is_left() -> None:
    # 3 strips of 40 m from rolls of 50 m, end overlap 1 m: 40 | 10 + 31 | 19 + 22, 28 m left
    assert lay(40, 10, 50, 4, 0.5, 1.0) == RollPlan(strips=3, strip_m=40.0, rolls=3, joints=2, left_m=28.0)


def test_an_offcut_no_longer_than_the_overlap_is_waste() -> None:
    assert lay(49, 6, 50, 4, 1.0) == RollPlan(strips=2, strip_m=49.0, rolls=2, joints=0, left_m=1.0)


@cache
def fewest(needs: tuple[int, ...], left: int, roll: int, end: int) -> int:
    """Return the fewest further rolls, trying at each one to use what is left or to leave it."""
    if not needs:
        return 0
    need, rest = needs[0], needs[1:]
    if need <= left:
        return fewest(rest, left - need, roll, end)
    choices = [1 + fewest(needs, roll, roll, end)] if left != roll else []
    if left > end:
        choices.append(1 + fewest((need - left + end, *rest), roll, roll, end))
    return min(choices)


@given(st.integers(1, 120), st.integers(1, 5), st.integers(20, 60), st.integers(0, 9))
def test_no_other_way_of_cutting_needs_fewer_rolls(length: int, count: int, roll: int, end: int) -> None:
    plan = lay(length, 3.0 * count, roll, 3.0, 0.0, end)
    assert plan.strips == count
    assert plan.rolls == fewest((length,) * count, 0, roll, end)


@given(st.floats(1, 200), st.floats(1, 60), st.floats(20, 100), st.floats(2, 6), st.floats(0, 1))
def test_the_rolls_hold_every_strip_and_every_joint(
    length: float, width: float, roll_length: float, roll_width: float, lap: float
) -> None:
    plan = lay(length, width, roll_length, roll_width, lap)
    laid = plan.strips * length + plan.joints * lap
    assert plan.rolls * roll_length - plan.left_m >= laid - 1e-6
    assert plan.rolls * roll_length - plan.left_m - laid <= plan.rolls * lap + 1e-6  # only offcuts within an overlap
    assert 0 <= plan.left_m < roll_length


# AASHTO M 288: greatest printed overlap, ft; below 0.5 the seams are sewn.
M_288 = [
    (0.3, 3.3, True),
    (0.51, 3.3, False),
    (0.8, 3.3, False),
    (2.0, 3.3, False),
    (3.01, 1.5, False),
    (8.0, 1.5, False),
]


@pytest.mark.source("AASHTO-M288 / FHWA NHI-07-092 ch. 5, a geotextile table; [memory]")
@pytest.mark.parametrize(("cbr", "lap_ft", "sewn"), M_288)
def test_the_overlap_of_a_geotextile(cbr: float, lap_ft: float, sewn: bool) -> None:
    found = overlap(cbr, "geotextile")
    assert found.side_m / FOOT_M == pytest.approx(lap_ft)
    assert found.end_m / FOOT_M == pytest.approx(3.3)
    assert found.sewn is sewn
    assert ("must be sewn" in found.sentence) is sewn
    assert "[memory]" in found.cited


@pytest.mark.source("geogrid 1 ft above CBR 2-3, up to 3 ft below CBR 1; [practice]")
@pytest.mark.parametrize(("cbr", "lap_ft"), [(0.5, 3), (0.99, 3), (3.1, 1), (10, 1)])
def test_the_overlap_of_a_geogrid(cbr: float, lap_ft: float) -> None:
    assert overlap_m(cbr, "geogrid") / FOOT_M == pytest.approx(lap_ft)
    assert "[practice]" in overlap(cbr, "geogrid").cited


def test_between_the_printed_grounds_the_geogrid_takes_our_middle() -> None:
    assert [overlap_m(cbr, "geogrid") / FOOT_M for cbr in (1.0, 1.01, 3.0)] == pytest.approx([3, 2, 2])
    with pytest.raises(InputError, match="kind is 'net'; it must be one of: geotextile, geogrid"):
        overlap(2, "net")


@pytest.mark.parametrize("kind", ["geotextile", "geogrid"])
@pytest.mark.parametrize("edge", [0.5, 1.0, 3.0])
def test_a_boundary_belongs_to_the_weaker_ground(kind: str, edge: float) -> None:
    assert overlap(edge, kind).side_m == overlap(edge - 1e-6, kind).side_m
    assert overlap(edge, kind).sewn == overlap(edge - 1e-6, kind).sewn


@given(st.sampled_from(["geotextile", "geogrid"]), st.floats(0, 100), st.floats(0, 100))
def test_weaker_ground_never_takes_less_overlap(kind: str, one: float, other: float) -> None:
    assert overlap_m(min(one, other), kind) >= overlap_m(max(one, other), kind)


@pytest.mark.parametrize(
    ("call", "sentence"),
    [
        (lambda: strips(20, 4, 4), "overlap is 4 m; it must be below the roll width of 4 m"),
        (lambda: strips(900, 4, 3.99), "leaves more than 10,000 strips"),
        (lambda: lay(20, 0, 50, 4, 1), "width is 0 m"),
        (lambda: lay(60, 3, 50, 4, 1, 26), "end overlap is 26 m"),
        (lambda: lay(60, 3, 30, 4, 1, 16), "end overlap is 16 m; it must be at most half the roll length of 30 m"),
        (lambda: lay(60, 3, 0, 4, 1), "roll length is 0 m"),
        (lambda: overlap(101, "geogrid"), "CBR is 101 %"),
        (lambda: overlap(-1, "geogrid"), "CBR is -1 %"),
    ],
)
def test_a_number_outside_its_limits_is_refused(call: object, sentence: str) -> None:
    assert callable(call)
    with pytest.raises(OutOfRangeError, match=sentence):
        call()
