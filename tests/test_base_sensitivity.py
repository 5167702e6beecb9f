"""How the depth moves with each input: against independent solvers at the ends of the ranges, sorted, and honest."""

from dataclasses import replace

import pytest
from base_oracle import aashto_sn, giroud_han
from hypothesis import given, settings
from hypothesis import strategies as st
from printed import CLASSES, LEVELS, own_traffic, strong_edge, weak_edge

from basecalc import DesignSettings, Strength, base_depth, reinforcement, traffic
from basecalc.core.published import table
from basecalc.design.frost import frost_ground
from basecalc.design.sensitivity import sensitivity, unrounded_m

NONE = reinforcement("none")

INCH = 0.0254
DELIVERY = traffic("delivery")
PLATFORM = DesignSettings(checks=("platform", "minimum"), minimum_depth_m=0.15)
NAMES = [str(row["words"]) for row in table("sensitivity_ranges").rows]


def row(found, name):
    return next(one for one in found.rows if one.name == name)


# Input, its ends, what the independent solver is asked at each: CBR, base CBR, load, tyre, passes, rut
PLATFORM_ENDS = [
    ("CBR of the ground", (0.7, 1.4), lambda v: (v, 20, 40, 550, 1000, 75)),
    ("wheel load", (32, 50), lambda v: (1.0, 20, v, 550, 1000, 75)),
    ("tire pressure", (440, 687.5), lambda v: (1.0, 20, 40, v, 1000, 75)),
    ("passes on the platform", (333, 3000), lambda v: (1.0, 20, 40, 550, v, 75)),
    ("allowed rut", (50, 100), lambda v: (1.0, 20, 40, 550, 1000, v)),
]


@pytest.mark.source("GIROUD-HAN, solved by scipy at both ends of each range; [computed]")
@pytest.mark.parametrize(("name", "ends", "asked"), PLATFORM_ENDS)
def test_platform_inputs_move_the_depth_as_the_equation_does(name, ends, asked):
    found = sensitivity(base_depth(1.0, DELIVERY, NONE, PLATFORM))
    moved = row(found, name)
    for end, value in zip((moved.low, moved.high), ends, strict=True):
        assert end.value == pytest.approx(value)
        assert end.depth_m == pytest.approx(giroud_han(*asked(value), 0.0, "none"), abs=1e-6)
    assert found.designed_m == pytest.approx(0.4702, abs=0.0005)  # not rounded up to a whole inch


@pytest.mark.source("AASHTO-1993, solved by scipy at both ends of the range; [computed]")
def test_structural_inputs_move_the_depth_as_the_guide_does():
    design = DesignSettings(checks=("structural", "minimum"), minimum_depth_m=0.15)
    found = sensitivity(base_depth(0.5, traffic("heavy"), NONE, design))
    surface = 0.44 * 3.375

    def inches(esal=50_000.0, zr=-0.67449, mr=750.0, a2=0.13780):
        return (aashto_sn(esal, zr, 0.45, 1.7, mr) - surface) / a2

    for name, low, high in (
        ("equivalent axles", inches(25_000), inches(100_000)),
        ("reliability", inches(zr=0.0), inches(zr=-1.28155)),
        ("rule for the modulus of the ground", inches(mr=2555 * 0.5**0.64), inches()),
    ):
        moved = row(found, name)
        assert moved.low.depth_m / INCH == pytest.approx(low, abs=0.01)
        assert moved.high.depth_m / INCH == pytest.approx(high, abs=0.01)
    assert row(found, "rule for the modulus of the ground").used == "safer"
    assert row(found, "drainage coefficient").low.depth_m > row(found, "drainage coefficient").high.depth_m


def test_rows_are_sorted_by_how_far_they_move_the_depth():
    found = sensitivity(base_depth(1.2, DELIVERY))
    spreads = [one.spread_m(found.designed_m) for one in found.rows]
    assert spreads == sorted(spreads, reverse=True)
    assert spreads[0] > 0.05
    assert [*found.moving, *found.still] == list(found.rows)


def test_what_does_not_govern_does_not_move_the_depth():
    found = sensitivity(base_depth(50.0, traffic("light")))
    assert found.moving == ()
    assert {one.name for one in found.still} == set(NAMES) - {"aperture stability of the geogrid"}


def test_a_class_alone_is_tried_over_its_whole_band():
    for word in CLASSES[1:5]:
        moved = row(sensitivity(base_depth(Strength(word), DELIVERY)), "CBR of the ground")
        assert (moved.low.value, moved.high.value) == (weak_edge(word), strong_edge(word))
    moved = row(sensitivity(base_depth(Strength("hard"), DELIVERY)), "CBR of the ground")
    assert (moved.low.value, moved.high.value) == (6.4, 20.0)
    assert "hard ground has no end" in moved.high.note


def test_an_end_beyond_a_method_is_moved_to_its_limit_and_says_so():
    moved = row(sensitivity(base_depth(0.5, DELIVERY)), "CBR of the ground")
    assert moved.low.value == 0.4
    assert moved.low.note == "moved to 0.4, the limit of the method"
    strong = own_traffic("own", 95, 550, 1000, 75, 1000)
    assert row(sensitivity(base_depth(3.0, strong)), "wheel load").high.value == 100
    grid = reinforcement("geogrid", 0.75)
    aperture = row(sensitivity(base_depth(1.0, DELIVERY, grid)), "aperture stability of the geogrid")
    assert (aperture.high.value, aperture.high.note) == (0.8, "moved to 0.8, the limit of the method")


def test_an_end_that_a_method_refuses_says_why_and_gives_no_depth():
    found = sensitivity(base_depth(12.0, DELIVERY))
    rule = row(found, "rule for the modulus of the ground")
    assert rule.high.depth_m is None
    assert "the modulus rule 'linear' (1500 CBR) ends at 10 %" in rule.high.note
    assert rule.depths_m(found.designed_m) == (found.designed_m, found.designed_m)


def test_aperture_stability_stands_there_only_with_a_geogrid_that_has_one():
    assert "aperture stability of the geogrid" not in {one.name for one in sensitivity(base_depth(1.0, DELIVERY)).rows}
    documented = reinforcement("geogrid", 0.0, 0.3, "report")
    assert len(sensitivity(base_depth(1.0, DELIVERY, documented)).rows) == len(NAMES) - 1
    assert len(sensitivity(base_depth(1.0, DELIVERY, reinforcement("geogrid", 0.3))).rows) == len(NAMES)


def test_a_value_of_the_owner_beyond_a_range_is_an_end_of_it():
    own = DesignSettings(base_cbr=60, reliability=0.95)
    found = sensitivity(base_depth(3.0, DELIVERY, NONE, own))
    assert (row(found, "CBR of the base").low.value, row(found, "CBR of the base").high.value) == (15, 60)
    assert row(found, "reliability").high == replace(row(found, "reliability").high, value=0.95, note="")


def test_frost_stays_in_force_while_the_inputs_move():
    on = DesignSettings(checks=("platform", "structural", "minimum", "frost"))
    found = sensitivity(base_depth(9.0, traffic("heavy"), NONE, on, frost=frost_ground("silt")))
    ground = row(found, "CBR of the ground")
    assert ground.low.depth_m == ground.high.depth_m == found.designed_m  # the index stands in for every CBR above 3.5


def test_every_range_names_where_it_comes_from():
    found = sensitivity(base_depth(1.0, DELIVERY, reinforcement("geogrid", 0.3)))
    assert all(one.reason for one in found.rows)
    assert {one.name for one in found.rows} == set(NAMES)


grids = st.one_of(st.just(NONE), st.builds(reinforcement, st.just("geogrid"), st.floats(0.1, 0.8)))


@settings(max_examples=40)
@given(st.floats(0.4, 100), st.sampled_from(LEVELS), grids)
def test_the_designed_depth_lies_within_every_range_and_ends_are_finite(cbr, level, grid):
    made = base_depth(cbr, traffic(level), grid)
    found = sensitivity(made)
    assert found.designed_m == unrounded_m(made)
    for one in found.rows:
        least, most = one.depths_m(found.designed_m)
        assert 0.15 <= least <= found.designed_m <= most < 3
        assert all(end.note for end in (one.low, one.high) if end.depth_m is None)
