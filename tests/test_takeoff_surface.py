"""Bedding, pavers, edge, joints, fill at a foundation, hours: sums worked by hand."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from basecalc.core.errors import OutOfRangeError
from basecalc.core.units import FOOT2_M2, FOOT_M, INCH_M, POUND_KG, YARD3_M3
from basecalc.takeoff.earthwork import (
    bedding_volume_m3,
    edge_restraint_m,
    foundation_fill_m3,
    joint_sand_kg,
    paver_area_m2,
    work_hours,
)


@pytest.mark.source("100 ft2 x 1 in / 27 = 0.309 yd3; [computed]; 1 in nominal, ICPI-TOLERANCES; [read]")
def test_100_ft2_take_0_309_yd3_of_sand() -> None:
    assert bedding_volume_m3(100 * FOOT2_M2, INCH_M) / YARD3_M3 == pytest.approx(0.309, abs=0.0005)


def test_cut_pavers_are_ordered_on_top() -> None:
    assert paver_area_m2(800 * FOOT2_M2, 0.05) / FOOT2_M2 == pytest.approx(840)
    assert paver_area_m2(800 * FOOT2_M2) / FOOT2_M2 == pytest.approx(800)


@given(st.integers(0, 4000), st.integers(1, 60))
def test_whole_pieces_of_edge_reach_and_none_is_spare(length: int, piece: int) -> None:
    ordered = edge_restraint_m(length / 10, piece / 10)
    assert length / 10 - 1e-9 <= ordered < length / 10 + piece / 10
    assert ordered / (piece / 10) == pytest.approx(round(ordered / (piece / 10)))


def test_edge_by_the_foot_is_as_measured() -> None:
    assert edge_restraint_m(120 * FOOT_M) == 120 * FOOT_M


def test_joint_sand_at_one_pound_a_square_foot() -> None:
    assert joint_sand_kg(800 * FOOT2_M2, POUND_KG / FOOT2_M2) / POUND_KG == pytest.approx(800)


def test_fill_along_30_ft_of_wall() -> None:
    # 30 x 4 x 2.25 ft = 270 ft3 = 10 yd3
    assert foundation_fill_m3(30 * FOOT_M, 4 * FOOT_M, 2.25 * FOOT_M) / YARD3_M3 == pytest.approx(10)


def test_hours_are_quantity_over_rate() -> None:
    assert work_hours(19.75, 12.5) == pytest.approx(1.58)
    assert work_hours(0, 12.5) == 0


@pytest.mark.parametrize(
    ("call", "sentence"),
    [
        (lambda: work_hours(5, 0), "production rate is 0 an hour; it must be above 0"),
        (lambda: work_hours(-5, 1), "quantity is -5"),
        (lambda: paver_area_m2(80, 5), "cutting waste is 5; it must be from 0 to 0.5 .a share: 0.05 stands for 5 %"),
        (lambda: bedding_volume_m3(80, 1), "bedding thickness is 1 m"),
        (lambda: edge_restraint_m(5, 0), "piece of edge restraint is 0 m"),
        (lambda: joint_sand_kg(80, 0), "joint sand is 0 kg/m2"),
        (lambda: foundation_fill_m3(5, 1, 6), "depth of the fill is 6 m"),
        (lambda: foundation_fill_m3(5, 21, 1), "width of the fill is 21 m"),
    ],
)
def test_a_number_outside_its_limits_is_refused(call: object, sentence: str) -> None:
    assert callable(call)
    with pytest.raises(OutOfRangeError, match=sentence):
        call()
