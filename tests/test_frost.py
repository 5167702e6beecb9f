"""Frost groups and support index, the frost check, frost depth by modified Berggren, water near the dig."""

import math
import re

import numpy as np
import pytest
from base_oracle import aashto_sn, giroud_han
from geotech_references.ufc_pavement.tables import table_19_2_frost_classification, table_19_3_frost_support_index
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq
from scipy.special import erf, erfc

from basecalc import DesignSettings, InputError, OutOfRangeError, base_depth, reinforcement, traffic
from basecalc.design.depth import Site
from basecalc.design.frost import (
    GROUPS,
    FrostSoil,
    frost_ground,
    index_below,
    season_flag,
    support_index,
    water_flag,
    water_reach,
)
from basecalc.design.frost_depth import Climate, conductivity, correction, frost_depth, heave_warning, surface_factor
from basecalc.ground.readings import SOILS

# ---- groups, index, check
NONE = reinforcement("none")
INCH = 0.0254
HEAVY = traffic("heavy")
FROST_ON = DesignSettings(checks=("platform", "structural", "minimum", "frost"))
SILT = frost_ground("silt")


def group(soil, **known):
    return frost_ground(soil, FrostSoil(**known)).group


# Soil, percent finer than 0.02 mm, group; values in the middle of each printed band
TABLE_19_2 = [
    ("gravel", 0.7, "NFS"), ("gravel", 2.2, "PFS"), ("gravel", 4.5, "S1"), ("gravel", 8, "F1"), ("gravel", 15, "F2"),
    ("gravel", 30, "F3"), ("sand", 1.5, "NFS"), ("sand", 4.5, "S2"), ("sand", 10, "F2"), ("sand", 25, "F3"),
]  # fmt: skip


@pytest.mark.source("UFC-3-250-01, Table 19-2 = TM-5-822-12, Table 5; [digitized]")
@pytest.mark.parametrize(("soil", "fines", "expected"), TABLE_19_2)
def test_gravel_and_sand_are_sorted_by_what_is_finer_than_two_hundredths_of_a_millimetre(soil, fines, expected):
    assert group(soil, fines_percent=fines) == expected


@pytest.mark.source("UFC-3-250-01, Table 19-2; [digitized] by an independent library")
@pytest.mark.parametrize(
    ("soil", "fines", "symbol"),
    [
        ("gravel", 0.7, "GW"), ("gravel", 2.2, "GP"), ("gravel", 4.5, "GM"), ("gravel", 8, "GM"), ("gravel", 15, "GM"),
        ("gravel", 30, "GM"), ("sand", 1.5, "SW"), ("sand", 4.5, "SP-SM"), ("sand", 10, "SM"), ("silt", 60, "ML"),
    ],
)  # fmt: skip
def test_groups_agree_with_an_independent_reading_of_the_table(soil, fines, symbol):
    assert group(soil, fines_percent=fines) == table_19_2_frost_classification(symbol, fines)["frost_group"]


@pytest.mark.source("UFC-3-250-01, Table 19-2: clays PI > 12 are F3, PI < 12 are F4; [digitized]")
@pytest.mark.parametrize("soil", ["clay", "lean clay", "fat clay", "CL"])
def test_clay_is_sorted_by_its_plasticity(soil):
    assert group(soil, plasticity_index=25) == "F3"
    assert group(soil, plasticity_index=12.1) == "F3"
    assert group(soil, plasticity_index=12) == "F4"
    assert group(soil, plasticity_index=6) == "F4"


@pytest.mark.parametrize(
    ("soil", "edge", "below", "at"),
    [
        ("gravel", 1.5, "NFS", "PFS"), ("gravel", 3, "PFS", "S1"), ("gravel", 6, "S1", "F1"),
        ("gravel", 10, "F1", "F2"), ("gravel", 20, "F2", "F3"), ("sand", 3, "NFS", "S2"),
        ("sand", 6, "S2", "F2"), ("sand", 15, "F2", "F3"),
    ],
)  # fmt: skip
def test_a_boundary_belongs_to_the_weaker_group(soil, edge, below, at):
    assert group(soil, fines_percent=edge - 0.001) == below
    assert group(soil, fines_percent=edge) == at
    assert group(soil, fines_percent=edge + 1e-12) == at


@pytest.mark.source("UFC-3-260-02, Table 3-5; [read]")
@pytest.mark.parametrize(
    ("name", "index"), [("F1", 9.0), ("S1", 9.0), ("F2", 6.5), ("S2", 6.5), ("F3", 3.5), ("F4", 3.5)]
)
def test_support_index(name, index):
    assert support_index(name) == index
    assert table_19_3_frost_support_index(name)["soil_support_index"] == index


def test_groups_that_frost_does_not_weaken_have_no_index():
    assert support_index("NFS") is None
    assert support_index("PFS") is None
    with pytest.raises(InputError, match="frost group is 'F5'; it must be one of: NFS, PFS, S1"):
        support_index("F5")


def test_what_nobody_knows_is_taken_as_the_weakest_the_soil_can_be():
    for soil, weakest in (("gravel", "F3"), ("sand", "F3"), ("clay", "F4"), ("fat clay", "F4")):
        found = frost_ground(soil)
        assert found.group == weakest
        assert "not given: the weakest group of the soil is taken" in found.why
    for soil in ("earth", "loam"):
        assert frost_ground(soil).group == "F4"
        assert "taken as silt" in frost_ground(soil).why


def test_a_group_given_by_the_job_stands():
    found = frost_ground("gravel", FrostSoil(" pfs ", fines_percent=50))
    assert (found.group, found.support_index, found.why) == ("PFS", None, "group given by the job")


def test_rock_has_no_group_and_says_so():
    found = frost_ground("rock")
    assert (found.group, found.support_index) == ("", None)
    assert "does not class rock" in found.why
    assert frost_ground("rock", FrostSoil("F1")).group == "F1"


@pytest.mark.parametrize(
    ("changed", "sentence"),
    [
        ({"group": "F9"}, "frost group is 'F9'"),
        ({"fines_percent": 101}, "share of grains finer than 0.02 mm is 101 %; it must be from 0 to 100 %"),
        ({"fines_percent": -1}, "share of grains finer than 0.02 mm is -1 %"),
        ({"fines_percent": float("nan")}, "share of grains finer than 0.02 mm is not a finite number"),
        ({"plasticity_index": 300}, "plasticity index is 300; it must be from 0 to 200"),
        ({"plasticity_index": "high"}, "plasticity index is 'high'"),
        ({"dry_density_pcf": 1.6}, "dry unit weight is 1.6 pcf; it must be from 50 to 160 pcf"),
        ({"water_percent": 0}, "water content is 0 %; it must be from 1 to 100 %"),
    ],
)
def test_bad_frost_soil_is_refused(changed, sentence):
    with pytest.raises((InputError, OutOfRangeError), match=re.escape(sentence)):
        FrostSoil(**changed)


@pytest.mark.source("TM-5-822-12, worked example: CBR 4 on F2 soil is below the index and governs; [read]")
def test_the_lower_of_index_and_measured_ratio_governs():
    f2 = frost_ground("sand", FrostSoil(fines_percent=10))
    assert index_below(f2, 4.0) is None
    assert index_below(f2, 8.0) == 6.5
    assert index_below(f2, 6.5) is None
    assert index_below(frost_ground("gravel", FrostSoil("NFS")), 50.0) is None


@pytest.mark.source("GIROUD-HAN at CBR 3.5, the support index of F4; [computed] by an independent solver")
def test_where_it_is_switched_on_the_frost_check_designs_for_the_thaw():
    plain = base_depth(6.0, HEAVY)
    made = base_depth(6.0, HEAVY, NONE, FROST_ON, frost=SILT)
    check = made.check("frost")
    expected = giroud_han(3.5, 20, 40, 550, 10_000, 75, 0.0, "none")
    assert check.depth_m == pytest.approx(expected, abs=1e-6)
    assert (check.counts, made.governs) == (True, "frost")
    assert made.required_m > plain.required_m
    assert made.required_m / INCH == pytest.approx(np.ceil(expected / INCH), abs=1e-9)
    assert made.reason.startswith("frost check governs: ")
    assert (
        "group F4 (silt): its support index 3.5 takes the place of the CBR of 6 %; the platform check" in check.sentence
    )
    assert "does not stop frost from lifting damp ground" in check.sentence
    assert (made.cbr, made.frost) == (6.0, SILT)


@pytest.mark.source("AASHTO-1993 at 1500 x 3.5 psi; [computed] by an independent solver")
def test_the_frost_check_asks_those_checks_that_are_switched_on():
    design = DesignSettings(checks=("structural", "minimum", "frost"), paver_m=0.06, surface_coefficient=0.2)
    check = base_depth(9.0, HEAVY, NONE, design, frost=SILT).check("frost")
    sn = aashto_sn(50_000, -0.67449, 0.45, 1.7, 1500 * 3.5)
    surface = 0.2 * (0.06 + 0.0254) / INCH
    assert check.depth_m / INCH == pytest.approx((sn - surface) / (0.249 * np.log10(30_000) - 0.977), abs=1e-3)
    assert "the structural check asks for the most" in check.sentence


def test_where_it_is_off_the_frost_check_is_shown_and_changes_nothing():
    site = Site(freezes=False)  # else soil that frost lifts takes a deeper least base
    plain = base_depth(6.0, HEAVY)
    shown = base_depth(6.0, HEAVY, frost=SILT, site=site)
    assert plain.check("frost") is None
    assert shown.check("frost").depth_m > shown.required_m
    assert not shown.check("frost").counts
    assert (shown.required_m, shown.governs, shown.reason) == (plain.required_m, plain.governs, plain.reason)


@pytest.mark.parametrize(
    ("soil", "known", "cbr", "sentence"),
    [
        ("silt", FrostSoil(), 3.0, "the CBR of 3 % is not above its support index 3.5 and governs by itself"),
        ("gravel", FrostSoil("NFS"), 20.0, "the thaw does not weaken it"),
        ("gravel", FrostSoil("PFS"), 20.0, "it is to be tested before it is trusted"),
        ("rock", FrostSoil(), 20.0, "does not class rock"),
    ],
)
def test_where_frost_asks_for_no_more_the_check_says_why_and_gives_no_depth(soil, known, cbr, sentence):
    made = base_depth(cbr, HEAVY, NONE, FROST_ON, frost=frost_ground(soil, known))
    check = made.check("frost")
    assert (check.depth_m, check.counts) == (None, False)
    assert sentence in check.sentence
    assert made.required_m == base_depth(cbr, HEAVY).required_m


def test_a_frost_check_without_its_ground_is_refused():
    with pytest.raises(InputError, match="frost check is switched on, but nothing says what soil lies below"):
        base_depth(6.0, HEAVY, NONE, FROST_ON)


def test_frost_alone_is_no_check_of_the_ground():
    with pytest.raises(InputError, match="with at least one of platform, structural and practice"):
        DesignSettings(checks=("frost", "minimum"))
    practice = DesignSettings(checks=("practice", "minimum", "frost"))
    with pytest.raises(OutOfRangeError, match="only practice is switched on"):
        base_depth(6.0, HEAVY, NONE, practice, frost=SILT)
    assert base_depth(6.0, traffic("light"), NONE, practice, frost=SILT).check("frost").depth_m > 0


def test_the_saving_of_a_geogrid_is_capped_in_the_thaw_too():
    grid = reinforcement("geogrid", 0.65)
    made = base_depth(6.0, HEAVY, grid, FROST_ON, frost=SILT)
    plain = base_depth(6.0, HEAVY, NONE, FROST_ON, frost=SILT)
    assert made.unreinforced_m == plain.required_m
    assert made.check("reinforcement limit").depth_m == pytest.approx(plain.check("frost").depth_m / 2)
    assert made.check("frost").depth_m < plain.check("frost").depth_m


cbrs = st.floats(0.4, 100)
grounds = st.one_of(
    st.builds(frost_ground, st.sampled_from(SOILS)),
    st.builds(frost_ground, st.just("earth"), st.builds(FrostSoil, st.sampled_from(GROUPS))),
)
grids = st.one_of(st.just(NONE), st.builds(reinforcement, st.just("geogrid"), st.floats(0.01, 0.8)))


@given(cbrs, grounds, grids)
def test_frost_never_makes_a_base_thinner(cbr, ground, grid):
    made = base_depth(cbr, HEAVY, grid, FROST_ON, frost=ground)
    assert made.required_m >= base_depth(cbr, HEAVY, grid).required_m


@given(st.sampled_from(["gravel", "sand"]), st.floats(0, 100), st.floats(0, 100))
def test_more_fines_never_support_more(soil, one, other):
    few, many = sorted((one, other))
    first, last = (frost_ground(soil, FrostSoil(fines_percent=share)).support_index for share in (few, many))
    assert (first or 100) >= (last or 100)


# ---- frost depth
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


# ---- water and season


@pytest.mark.source("TM-5-818-2, water within 5 ft of the subgrade is troublesome; [memory]. Within 2 ft: own choice")
@pytest.mark.parametrize(
    ("room_ft", "reach"),
    [
        (-1, "in the dig"), (0, "in the dig"), (0.01, "pumping"), (2, "pumping"), (2.01, "feeding"), (5, "feeding"),
        (5.01, "none"), (40, "none"),
    ],
)  # fmt: skip
def test_reach_of_the_water(room_ft, reach):
    assert water_reach(0.5 + room_ft * FOOT, 0.5) == reach


def test_an_impossible_water_table_is_refused():
    with pytest.raises(OutOfRangeError, match=r"water table is -0\.1 m; it must be from 0 to 30 m"):
        water_reach(-0.1, 0.5)


@pytest.mark.parametrize(
    ("reach", "fine", "part"),
    [
        ("in the dig", False, "the dig fills with water. It must be drained before it is dug, and a licensed engineer"),
        ("in the dig", True, "the dig fills with water"),
        ("pumping", False, "a roller pumps water up into the ground"),
        ("pumping", True, "take the strength of the wettest season"),
        ("feeding", True, "fine soil draws water up to the base, where it softens the ground and feeds frost"),
    ],
)
def test_caution_of_the_water(reach, fine, part):
    words = water_flag(reach, fine=fine, water_words="30 in", dig_words="20 in")
    assert words.startswith("Water stands 30 in below the ground, the bottom of the dig lies at 20 in: ")
    assert re.search(re.escape(part), words)


def test_water_far_down_or_below_sand_says_nothing():
    assert water_flag("feeding", fine=False, water_words="60 in", dig_words="20 in") == ""
    assert water_flag("none", fine=True, water_words="99 in", dig_words="20 in") == ""


def test_readings_in_a_dry_season_are_doubted_where_water_stands_near():
    assert "read it again in the wettest weeks" in season_flag(("moist", ""), "feeding")
    assert season_flag(("wet", " Wet "), "pumping") == ""
    assert season_flag(("dry",), "none") == ""
    assert season_flag((), "pumping") == ""
