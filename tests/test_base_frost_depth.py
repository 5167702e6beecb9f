"""Frost depth by the modified Berggren equation, its coefficient against scipy, and the warning that goes with it."""

import math
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq
from scipy.special import erf, erfc

from basecalc import InputError, OutOfRangeError
from basecalc.design.frost import FrostSoil
from basecalc.design.frost_depth import Climate, conductivity, correction, frost_depth, heave_warning, surface_factor
from basecalc.ground.readings import SOILS

FOOT = 0.3048
# The manual's case: surface freezing index 2500, that is n FI.
WINTER = Climate(2500 / 0.75, 37.2, 160)
SOIL = FrostSoil(dry_density_pcf=100, water_percent=15)


def worked(found):
    return {item.name: item.value for item in found.working}


STEFAN = "depth by Stefan, an upper bound"


def scipy_lambda(alpha, mu):
    """Solve the equation of the coefficient with scipy's own error function and root finder."""

    def missing(g):
        return g * math.sqrt(math.pi) * math.exp(g * g) / mu - 1 / erf(g) + alpha / erfc(g)

    return brentq(missing, 1e-9, 5, xtol=1e-15, rtol=1e-14) * math.sqrt(2 / mu)


# alpha, mu, lambda
LAMBDA = [(0, 0.2, 0.969), (1, 0.2, 0.776), (2, 0.2, 0.639), (0, 1, 0.877), (1, 1, 0.534)]


@pytest.mark.source("TM-5-852-6, Figure 3-1 by its equation; [computed]")
@pytest.mark.parametrize(("alpha", "mu", "expected"), LAMBDA)
def test_the_coefficient_is_that_of_the_manuals_figure(alpha, mu, expected):
    assert correction(alpha, mu) == pytest.approx(expected, abs=0.0005)


@pytest.mark.source("scipy.special.erf and scipy.optimize.brentq; [computed]")
@given(st.floats(0, 20), st.floats(1e-4, 20))
def test_the_coefficient_agrees_with_scipy(alpha, mu):
    assert correction(alpha, mu) == pytest.approx(scipy_lambda(alpha, mu), rel=1e-8)


@given(st.floats(0, 20), st.floats(0, 20), st.floats(1e-3, 10), st.floats(1e-3, 10))
def test_the_coefficient_falls_with_stored_heat_and_never_passes_stefans(one, other, mu, larger):
    low, high = sorted((one, other))
    small, great = sorted((mu, larger))
    assert 0 < correction(high, great) <= correction(low, small) * (1 + 1e-9) <= 1 + 1e-8


def test_without_stored_heat_it_is_stefans_equation():
    assert correction(0, 1e-6) == pytest.approx(1, abs=1e-6)


@pytest.mark.parametrize(
    ("alpha", "mu", "sentence"),
    [
        (-0.1, 1, "thermal ratio is -0.1; it must be from 0 to 100"),
        (0, 0, "fusion parameter is 0; it must be above 0 and at most 20"),
        (0, 21, "fusion parameter is 21"),
        (float("nan"), 1, "thermal ratio is not a finite number"),
    ],
)
def test_impossible_ratios_are_refused(alpha, mu, sentence):
    with pytest.raises(OutOfRangeError, match=re.escape(sentence)):
        correction(alpha, mu)


@pytest.mark.source("TM-5-852-6, case of 100 pcf, 15 %, k 0.76, nFI 2500, 160 days, 37.2 F; [computed]")
def test_frost_depth_of_the_manuals_case():
    found = frost_depth(WINTER, "silt", SOIL, conductivity_btu=0.76)
    assert worked(found)["volumetric latent heat L"] == pytest.approx(2160)
    assert worked(found)["surface freezing index n FI"] == pytest.approx(2500)
    assert worked(found)[STEFAN] / FOOT == pytest.approx(6.50, abs=0.005)
    assert found.depth_m / FOOT == pytest.approx(5.82, abs=0.005)
    assert found.depth_m == pytest.approx(worked(found)["coefficient lambda"] * worked(found)[STEFAN])


@pytest.mark.source("KERSTEN against the conductivity of the same case, 0.76; [memory] against [read]")
def test_conductivity_of_the_manuals_case():
    assert conductivity(True, 100, 15) == pytest.approx(0.76, abs=0.005)
    assert frost_depth(WINTER, "silt", SOIL).depth_m / FOOT == pytest.approx(5.82, abs=0.02)


@pytest.mark.source("KERSTEN, equations worked by hand; [memory]")
def test_conductivity_of_sand_by_hand():
    # 120 pcf, 8 %: unfrozen (0.7 x 0.90309 + 0.4) x 10^1.2 = 16.36,
    # frozen 0.076 x 10^1.56 + 0.032 x 10^1.752 x 8 = 17.22, in Btu in/(ft2 h F)
    assert conductivity(False, 120, 8) == pytest.approx((16.36 + 17.22) / 2 / 12, abs=0.002)


@pytest.mark.source("TM-5-852-6, n factors; TM 5-852-4, Table 4-1; [read]")
@pytest.mark.parametrize(
    ("surface", "n"),
    [("bare soil", 0.7), ("turf", 0.5), ("concrete", 0.75), ("asphalt", 0.7), ("snow", 1.0), ("shaded", 0.9)],
)
def test_surface_factors(surface, n):
    assert surface_factor(surface) == n


def test_a_place_without_frost_has_none_and_says_so():
    found = frost_depth(Climate(0, 55, 30), "clay")
    assert found.depth_m == 0.0
    assert found.sentence.endswith("there is none")


def test_every_soil_has_numbers_to_go_by_and_says_they_are_assumed():
    for soil in SOILS:
        found = frost_depth(Climate(1000, 45, 100), soil)
        assert 0.2 < found.depth_m < 4
        assert any("assumed for the soil" in item.note for item in found.working)
    known = frost_depth(Climate(1000, 45, 100), "clay", FrostSoil(dry_density_pcf=105, water_percent=18))
    assert not any("assumed for the soil" in item.note for item in known.working)


@pytest.mark.parametrize(
    ("values", "sentence"),
    [
        ((-1, 40, 100), "air freezing index is -1 F-days; it must be from 0 to 10,000 F-days"),
        (
            (1000, 31, 100),
            "mean annual temperature is 31 F; it must be from 32 to 90 F (colder ground is",
        ),
        ((1000, 40, 0), "length of the freezing season is 0 days"),
        ((float("inf"), 40, 100), "air freezing index is not a finite number"),
        ((1000, None, 100), "mean annual temperature is missing"),
    ],
)
def test_impossible_winters_are_refused(values, sentence):
    with pytest.raises((InputError, OutOfRangeError), match=re.escape(sentence)):
        Climate(*values)


def test_what_the_equations_are_not_for_is_refused():
    with pytest.raises(OutOfRangeError, match=r"water content is 3 %; it must be from 7 to 100 % \(the range"):
        frost_depth(WINTER, "clay", FrostSoil(water_percent=3))
    with pytest.raises(OutOfRangeError, match="the frost depth cannot be worked out: thermal ratio is"):
        frost_depth(Climate(1, 89, 365), "clay")
    with pytest.raises(InputError, match="surface is 'gravel'; it must be one of: snow, concrete"):
        frost_depth(WINTER, "clay", surface="gravel")
    with pytest.raises(OutOfRangeError, match="thermal conductivity is 9"):
        frost_depth(WINTER, "clay", conductivity_btu=9)


def test_the_warning_says_that_a_base_does_not_stop_heave():
    frost = frost_depth(WINTER, "silt", SOIL)
    words = heave_warning(frost, 0.4, "F4", "70 in", "16 in")
    assert words == (
        "Frost goes about 70 in deep in the design winter, the bottom of the base lies at 16 in, on frost group F4. "
        "A base of this depth carries the load; it does not stop frost from lifting damp ground."
    )
    assert heave_warning(frost, 2.0, "F4", "70 in", "79 in") == ""
    assert heave_warning(frost, 0.4, "NFS", "70 in", "16 in") == ""
    assert heave_warning(frost, 0.4, "", "70 in", "16 in") == ""


winters = st.builds(Climate, st.floats(100, 5000), st.floats(32, 55), st.floats(60, 200))


@given(winters, st.floats(1, 2), st.sampled_from(SOILS))
def test_a_colder_winter_freezes_deeper_and_stefan_is_the_upper_bound(winter, colder, soil):
    mild = frost_depth(winter, soil)
    harsh = frost_depth(Climate(winter.freezing_index * colder, winter.mean_annual_f, winter.season_days), soil)
    assert mild.depth_m <= harsh.depth_m * (1 + 1e-9)
    assert mild.depth_m <= worked(mild)[STEFAN] * (1 + 1e-9)
