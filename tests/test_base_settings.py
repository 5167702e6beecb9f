"""Traffic, reinforcement and settings refuse what they should, in one sentence with value, limit and unit."""

import re

import pytest

from basecalc import BasecalcError, DesignSettings, InputError, OutOfRangeError, reinforcement, traffic
from basecalc.core.published import table
from basecalc.design.settings import NONE, TRAFFIC_NAMES, Reinforcement, Traffic

# name, wheel load kN, tyre kPa, passes, rut mm, ESAL
TRAFFIC_LEVELS = [
    ("light", 22, 350, 1000, 75, 2000),
    ("delivery", 40, 550, 1000, 75, 15000),
    ("heavy", 40, 550, 10000, 75, 50000),
]


@pytest.mark.source("design of basecalc; [own]")
@pytest.mark.parametrize("row", TRAFFIC_LEVELS)
def test_traffic_levels_are_those_of_the_design(row):
    level = traffic(row[0].upper())
    assert (level.name, level.wheel_load_kn, level.tyre_kpa, level.passes, level.rut_mm, level.esal) == row
    assert level.meaning


def test_traffic_of_ones_own_is_taken_as_it_is():
    own = Traffic("farm", 30, 400, 500, 60, 3000)
    assert traffic(own) is own
    assert TRAFFIC_NAMES == ("light", "delivery", "heavy")


GOOD = {"name": "own", "wheel_load_kn": 30, "tyre_kpa": 400, "passes": 500, "rut_mm": 60, "esal": 3000}


@pytest.mark.parametrize(
    ("changed", "sentence"),
    [
        ({"rut_mm": 49.9}, "allowed rut of traffic 'own' is 49.9 mm; it must be from 50 to 100 mm"),
        ({"rut_mm": 100.1}, "allowed rut of traffic 'own' is 100.1 mm; it must be from 50 to 100 mm"),
        ({"wheel_load_kn": 0}, "wheel load of traffic 'own' is 0 kN; it must be from 1 to 100 kN"),
        ({"tyre_kpa": 5}, "tire pressure of traffic 'own' is 5 kPa; it must be from 100 to 1000 kPa"),
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
