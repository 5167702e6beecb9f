"""Earthwork against printed values: extension, depth of the dig, bank and loose volume, sections."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from basecalc.core.errors import OutOfRangeError
from basecalc.core.published import table
from basecalc.core.units import FOOT2_M2, FOOT_M, INCH_M, YARD3_M3
from basecalc.takeoff.earthwork import (
    average_end_area,
    bank_volume_m3,
    compacted_volume_m3,
    dig_depth_m,
    edge_extension_m,
    excavation_volume_m3,
    extended_area_m2,
    loose_volume_m3,
    prismoidal,
    stripping_flag,
)

# FM 5-434 Table 1-1: in place -> loose, compacted.
FM_5_434_TABLE_1_1 = [
    ("sand", 1.11, 0.95),
    ("earth", 1.25, 0.90),
    ("clay", 1.43, 0.90),
    ("rock", 1.50, 1.30),
]


@pytest.mark.source("FM-5-434, Table 1-1; [memory]; the row of sand [read]")
@pytest.mark.parametrize(("soil", "loose", "compacted"), FM_5_434_TABLE_1_1)
def test_100_yd3_in_place_become_loose_and_compacted_as_printed(soil: str, loose: float, compacted: float) -> None:
    row = table("swell").exact(soil)
    bank = 100 * YARD3_M3
    assert loose_volume_m3(bank, float(row["swell"])) / YARD3_M3 == pytest.approx(100 * loose, abs=0.5)
    assert compacted_volume_m3(bank, float(row["shrink"])) / YARD3_M3 == pytest.approx(100 * compacted, abs=0.5)


@pytest.mark.source("UFC-3-220-20 sec. 3-4.3.2: coarse soils bulk about 10 %, fine soils 30-40 %; [digitised]")
def test_the_swell_of_sand_and_clay_lies_where_another_manual_puts_it() -> None:
    assert float(table("swell").exact("sand")["swell"]) == pytest.approx(1.10, abs=0.02)
    assert 1.25 <= float(table("swell").exact("clay")["swell"]) <= 1.45  # printed in whole tens of percent


@pytest.mark.source("27 ft3 = 1 yd3 by definition: 800 ft2 x 8 in = 533.3 ft3 = 19.75 yd3; [computed]")
def test_800_ft2_dug_8_in_deep_are_19_75_yd3() -> None:
    assert bank_volume_m3(800 * FOOT2_M2, 8 * INCH_M) / YARD3_M3 == pytest.approx(19.75, abs=0.005)
    assert excavation_volume_m3(800 * FOOT2_M2, 8 * INCH_M) / YARD3_M3 == pytest.approx(19.75, abs=0.005)


@pytest.mark.source("881.78 ft2 from shapely's mitred buffer x 8 in / 27; [computed]")
def test_the_same_driveway_with_its_edges_is_21_77_yd3() -> None:
    volume = excavation_volume_m3(800 * FOOT2_M2, 8 * INCH_M, 120 * FOOT_M, 8 * INCH_M, 4)
    assert volume / YARD3_M3 == pytest.approx(881.78 * 8 / 12 / 27, abs=0.005)


@pytest.mark.source("UFC-3-220-20, V = L (A1 + A2) / 2 and V = L (A1 + 4 Am + A2) / 6; [read]")
def test_a_section_that_dies_out_over_50_ft() -> None:
    assert average_end_area(40, 0, 50) == pytest.approx(1000)
    assert prismoidal(40, 10, 0, 50) == pytest.approx(666.7, abs=0.05)  # pyramid: A h / 3


@pytest.mark.source("ICPI-TOLERANCES: the greater of 6 in or the base thickness; [read]")
@pytest.mark.parametrize(
    ("base_in", "least_in", "expected_in"), [(4, 6, 6), (6, 6, 6), (6.1, 6, 6.1), (14, 6, 14), (8, 12, 12)]
)
def test_the_base_reaches_out_by_its_depth_or_the_least(base_in: float, least_in: float, expected_in: float) -> None:
    assert edge_extension_m(base_in * INCH_M, least_in * INCH_M) / INCH_M == pytest.approx(expected_in)


def test_the_extension_is_6_in_where_the_owner_asks_for_nothing_else() -> None:
    assert edge_extension_m(0.1) == pytest.approx(6 * INCH_M)


def test_an_edge_open_along_one_side_only_has_no_corner() -> None:
    assert extended_area_m2(72, 12, 0.2) == pytest.approx(72 + 12 * 0.2)
    assert extended_area_m2(72, 12 + 6, 0.2, 1) == pytest.approx(72 + 18 * 0.2 + 0.04)
    assert extended_area_m2(72, 0, 0.2) == 72


@pytest.mark.parametrize(
    ("above_in", "old_in", "expected_in"),
    [
        # pavers 2-3/8 in, bedding 1 in, base 8 in: 11-3/8 in below the finish
        (0, 0, 11.375),
        (2, 0, 9.375),
        (-3, 0, 14.375),
        (0, 4, 7.375),
        (2, 4, 5.375),
        (11.375, 0, 0),
    ],
)
def test_the_dig_is_the_layers_less_what_stands_above_and_what_was_taken_before(
    above_in: float, old_in: float, expected_in: float
) -> None:
    depth = dig_depth_m(8 * INCH_M, 2.375 * INCH_M, 1 * INCH_M, above_in * INCH_M, old_in * INCH_M)
    assert depth / INCH_M == pytest.approx(expected_in, abs=1e-9)
    assert depth >= 0


def test_a_finish_too_high_for_the_base_is_refused_with_the_fill_that_is_missing() -> None:
    with pytest.raises(OutOfRangeError, match=r"finish stands 14.0 in \(356 mm\) above .* only 11.4 in .* 2.6 in"):
        dig_depth_m(8 * INCH_M, 2.375 * INCH_M, INCH_M, 14 * INCH_M)


def test_an_old_pavement_thicker_than_the_new_layers_is_refused() -> None:
    with pytest.raises(OutOfRangeError, match=r"old pavement removed is 15.0 in .* 3.6 in .* of fill is missing"):
        dig_depth_m(8 * INCH_M, 2.375 * INCH_M, INCH_M, 0, 15 * INCH_M)


def test_topsoil_left_below_the_base_is_flagged() -> None:
    assert "topsoil and roots to 4.0 in (102 mm)" in stripping_flag(0.0)
    assert stripping_flag(3.9 * INCH_M)
    assert not stripping_flag(4 * INCH_M)
    assert not stripping_flag(0.0, old_pavement_m=0.1)


@given(
    st.floats(0.1, 1.0), st.floats(0.04, 0.1), st.floats(0.01, 0.05), st.floats(-0.5, 0.1), st.floats(0, 0.1)
)  # the layers always reach the bottom
def test_a_deeper_base_is_dug_deeper_by_as_much(
    base: float, paver: float, sand: float, above: float, more: float
) -> None:
    shallow = dig_depth_m(base, paver, sand, above)
    assert dig_depth_m(base + more, paver, sand, above) == pytest.approx(shallow + more)
    assert shallow >= 0


@given(st.floats(0, 1e5), st.floats(1, 2))
def test_loose_soil_is_never_less_than_the_hole(bank: float, swell: float) -> None:
    assert loose_volume_m3(bank, swell) >= bank


@pytest.mark.parametrize(
    ("call", "sentence"),
    [
        (lambda: loose_volume_m3(10, 0.9), "swell is 0.9; it must be from 1 to 2"),
        (lambda: loose_volume_m3(10, 2.01), "swell is 2.01"),
        (lambda: loose_volume_m3(-1, 1.2), "bank volume is -1 m3"),
        (lambda: loose_volume_m3(float("nan"), 1.2), "bank volume is not a finite number"),
        (lambda: compacted_volume_m3(10, 0.4), "shrink is 0.4"),
        (lambda: bank_volume_m3(80, -0.1), "depth is -0.1 m"),
        (lambda: extended_area_m2(0, 10, 0.2), "area is 0 m2"),
        (lambda: extended_area_m2(72, 0, 0.2, 4), "corners is 4; it must be 0 where the open edge is 0 m"),
        (lambda: extended_area_m2(72, 1, 2, -3), "corners is -3; inside corners must not take away more"),
        (lambda: edge_extension_m(5.1), "base depth is 5.1 m"),
        (lambda: dig_depth_m(0.2, 0.6, 0.02), "paver thickness is 0.6 m"),
        (lambda: average_end_area(-1, 0, 50), "first area is -1"),
        (lambda: prismoidal(1, -1, 0, 50), "middle area is -1"),
    ],
)
def test_a_number_outside_its_limits_is_refused(call: object, sentence: str) -> None:
    assert callable(call)
    with pytest.raises(OutOfRangeError, match=sentence):
        call()
