"""Traffic, reinforcement and settings refuse what they should; how the depth moves with each input."""

import re
from dataclasses import replace

import pytest
from base_oracle import aashto_sn, giroud_han
from hypothesis import given, settings
from hypothesis import strategies as st
from printed import CLASSES, LEVELS, own_traffic, strong_edge, weak_edge

from basecalc import (
    BasecalcError,
    DesignSettings,
    InputError,
    OutOfRangeError,
    Strength,
    base_depth,
    reinforcement,
    traffic,
)
from basecalc.core.published import table
from basecalc.design.frost import frost_ground
from basecalc.design.sensitivity import sensitivity, unrounded_m
from basecalc.design.settings import NONE, TRAFFIC_NAMES, Reinforcement, Traffic

# ---- settings
# name, wheel load kN, tire kPa, passes, rut mm, ESAL
TRAFFIC_LEVELS = [
    ("light", 22, 350, 1000, 75, 2000),
    ("delivery", 40, 550, 1000, 75, 15000),
    ("heavy", 40, 550, 10000, 75, 50000),
]


@pytest.mark.source("design of basecalc; [own]")
@pytest.mark.parametrize("row", TRAFFIC_LEVELS)
def test_traffic_levels_are_those_of_the_design(row):
    level = traffic(row[0].upper())
    assert (level.name, level.wheel_load_kn, level.tire_kpa, level.passes, level.rut_mm, level.esal) == row
    assert level.meaning


def test_traffic_of_ones_own_is_taken_as_it_is():
    own = Traffic("farm", 30, 400, 500, 60, 3000)
    assert traffic(own) is own
    assert TRAFFIC_NAMES == ("light", "delivery", "heavy")


GOOD = {"name": "own", "wheel_load_kn": 30, "tire_kpa": 400, "passes": 500, "rut_mm": 60, "esal": 3000}


@pytest.mark.parametrize(
    ("changed", "sentence"),
    [
        ({"rut_mm": 49.9}, "allowed rut of traffic 'own' is 49.9 mm; it must be from 50 to 100 mm"),
        ({"rut_mm": 100.1}, "allowed rut of traffic 'own' is 100.1 mm; it must be from 50 to 100 mm"),
        ({"wheel_load_kn": 0}, "wheel load of traffic 'own' is 0 kN; it must be from 1 to 100 kN"),
        ({"tire_kpa": 5}, "tire pressure of traffic 'own' is 5 kPa; it must be from 100 to 1000 kPa"),
        ({"passes": 0.5}, "number of passes of traffic 'own' is 0.5; it must be from 1 to 100,000"),
        ({"esal": float("nan")}, "number of equivalent axles of traffic 'own' is not a finite number"),
        ({"esal": "many"}, "number of equivalent axles of traffic 'own' is 'many'"),
        ({"name": " "}, "the traffic has no name"),
    ],
)
def test_bad_traffic_is_refused(changed, sentence):
    with pytest.raises(BasecalcError, match=re.escape(sentence)):
        Traffic(**(GOOD | changed))


def test_traffic_at_the_very_limits_is_taken():
    for changed in ({"rut_mm": 50}, {"rut_mm": 100}, {"passes": 1}, {"passes": 100_000}, {"wheel_load_kn": 100}):
        assert Traffic(**(GOOD | changed)).name == "own"


def test_unknown_traffic_names_those_offered():
    with pytest.raises(InputError, match="traffic is 'tanks'; it must be one of: light, delivery, heavy"):
        traffic("tanks")
    with pytest.raises(InputError, match="traffic is missing"):
        traffic(None)


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        (("geogrid",), "has neither an aperture stability nor a documented reduction"),
        (("geogrid", 0.0), "has neither an aperture stability nor a documented reduction"),
        (("geogrid", 0.81), "aperture stability is 0.81 m-N/deg; it must be from 0 to 0.8 m-N/deg"),
        (("geogrid", -0.1), "aperture stability is -0.1 m-N/deg; it must be from 0 to 0.8 m-N/deg"),
        (("geogrid", float("nan")), "aperture stability is not a finite number"),
        (("geogrid", "stiff"), "aperture stability is 'stiff'"),
        (("geogrid", None, 0.51, "report"), "reduction by reinforcement is 0.51; it must be from 0 to 0.5"),
        (("geogrid", None, 30, "report"), "reduction by reinforcement is 30; it must be from 0 to 0.5"),
        (("geogrid", None, 0.3), "reduction by reinforcement is 0.3 without a source"),
        (("geogrid", None, 0.3, "  "), "reduction by reinforcement is 0.3 without a source"),
        (("netting",), "reinforcement is 'netting'; it must be one of: none, geotextile, geogrid"),
        (("none", 0.9), "aperture stability is 0.9 m-N/deg"),
        (("geotextile", None, 0.6), "reduction by reinforcement is 0.6"),
    ],
)
def test_bad_reinforcement_is_refused(arguments, sentence):
    with pytest.raises(BasecalcError, match=re.escape(sentence)):
        reinforcement(*arguments)


def test_numbers_of_a_geogrid_thin_nothing_without_one():
    assert reinforcement("none", 0.32) == NONE
    assert reinforcement("geotextile", 0.32, 0.2) == Reinforcement("geotextile")
    with pytest.raises(InputError, match="is given for 'geotextile'; only a geogrid may have one"):
        Reinforcement("geotextile", 0.32)


def test_reinforcement_at_the_very_limits_is_taken():
    assert reinforcement("geogrid", 0.8).aperture_stability == 0.8
    assert reinforcement("geogrid", "", 0.5, "report").reduction == 0.5
    assert reinforcement("geogrid", 0.32, 0.125, "report 7").words == (
        "geogrid, aperture stability 0.32 m-N/deg, documented reduction 12.5 % (report 7)"
    )


def test_default_settings_are_those_of_the_design():
    default = DesignSettings()
    assert (default.class_edge, default.modulus_rule) == ("weak", "safer")
    assert default.checks == ("platform", "structural", "minimum")
    assert (default.base_cbr, default.base_modulus_psi, default.drainage) == (20, 30_000, 1)
    assert (default.reliability, default.overall_deviation, default.serviceability_drop) == (0.75, 0.45, 1.7)
    inches = default.minimum_depth_m, default.paver_m, default.bedding_m, default.step_m
    assert [round(length / 0.0254, 6) for length in inches] == [6, 2.375, 1, 1]
    assert default.surface_coefficient == 0.44


@pytest.mark.parametrize(
    ("changed", "kind", "sentence"),
    [
        ({"class_edge": "strong"}, InputError, "edge of the class is 'strong'; it must be one of: weak, middle"),
        ({"modulus_rule": "best"}, InputError, "modulus rule is 'best'; it must be one of: safer, power, linear"),
        ({"base_cbr": 9.9}, OutOfRangeError, "CBR of the base is 9.9 %; it must be from 10 to 100 %"),
        ({"minimum_depth_m": 0.127}, OutOfRangeError, "least base depth is 0.127 m; it must be from 0.15 to 1 m"),
        (
            {"reliability": 75},
            OutOfRangeError,
            "reliability is 7500 %; it must be from 50 to 99.9 %",
        ),
        ({"overall_deviation": 0.1}, OutOfRangeError, "overall standard deviation is 0.1; it must be from 0.3 to 0.6"),
        ({"serviceability_drop": 0}, OutOfRangeError, "loss of serviceability is 0; it must be from 0.5 to 3"),
        ({"base_modulus_psi": 207}, OutOfRangeError, "resilient modulus of the base is 207 psi"),
        ({"drainage": 2}, OutOfRangeError, "drainage coefficient is 2; it must be from 0.4 to 1.4"),
        ({"paver_m": 2.375}, OutOfRangeError, "paver thickness is 2.375 m; it must be from 0.06 to 0.15 m"),
        ({"bedding_m": 1}, OutOfRangeError, "bedding thickness is 1 m; it must be from 0.012 to 0.051 m"),
        ({"surface_coefficient": 0.5}, OutOfRangeError, "layer coefficient of pavers and bedding is 0.5 per in"),
        ({"step_m": 0}, OutOfRangeError, "rounding step of the depth is 0 m"),
        ({"step_m": None}, InputError, "rounding step of the depth is missing"),
        ({"base_cbr": float("inf")}, OutOfRangeError, "CBR of the base is not a finite number"),
        ({"checks": ()}, InputError, "checks are nothing; 'minimum' must be among them"),
        ({"checks": ("minimum",)}, InputError, "with at least one of platform, structural and practice"),
        ({"checks": ("platform", "structural")}, InputError, "'minimum' must be among them"),
        ({"checks": ("platform", "platform", "minimum")}, InputError, "each once"),
        ({"checks": ("platform", "guess")}, InputError, "check is 'guess'; it must be one of: platform, structural"),
        ({"checks": "platform"}, InputError, "checks must be a list of"),
    ],
)
def test_bad_settings_are_refused(changed, kind, sentence):
    with pytest.raises(kind, match=re.escape(sentence)):
        DesignSettings(**changed)


def test_settings_take_what_a_file_would_hold():
    settings = DesignSettings(class_edge=" Middle ", checks=["Structural", "minimum"], base_cbr=40)
    assert (settings.class_edge, settings.checks) == ("middle", ("structural", "minimum"))
    assert isinstance(settings.base_cbr, float)


@pytest.mark.source("ICPI-TOLERANCES: 6 in below a residential driveway; [read]")
def test_the_least_base_that_is_designed_with_is_the_printed_one() -> None:
    """The sentence of the check prints the table; the depth comes from the settings. They must not part."""
    assert table("least_bases").exact("residential driveway")["base"] == 6
    assert DesignSettings().minimum_depth_m == pytest.approx(6 * 0.0254, abs=1e-12)


# ---- sensitivity
INCH = 0.0254
DELIVERY = traffic("delivery")
PLATFORM = DesignSettings(checks=("platform", "minimum"), minimum_depth_m=0.15)
NAMES = [str(row["words"]) for row in table("sensitivity_ranges").rows]


def row(found, name):
    return next(one for one in found.rows if one.name == name)


# Input, its ends, what the independent solver is asked at each: CBR, base CBR, load, tire, passes, rut
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
