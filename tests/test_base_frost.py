"""Frost groups, support index, and the frost check of the base: shown, and counted only where it is switched on."""

import re

import numpy as np
import pytest
from base_oracle import aashto_sn, giroud_han
from geotech_references.ufc_pavement.tables import table_19_2_frost_classification, table_19_3_frost_support_index
from hypothesis import given
from hypothesis import strategies as st

from basecalc import DesignSettings, InputError, OutOfRangeError, base_depth, reinforcement, traffic
from basecalc.design.depth import Site
from basecalc.design.frost import GROUPS, FrostSoil, frost_ground, index_below, support_index
from basecalc.ground.readings import SOILS

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


@pytest.mark.source("UFC-3-250-01, Table 19-2 = TM-5-822-12, Table 5; [digitised]")
@pytest.mark.parametrize(("soil", "fines", "expected"), TABLE_19_2)
def test_gravel_and_sand_are_sorted_by_what_is_finer_than_two_hundredths_of_a_millimetre(soil, fines, expected):
    assert group(soil, fines_percent=fines) == expected


@pytest.mark.source("UFC-3-250-01, Table 19-2; [digitised] by an independent library")
@pytest.mark.parametrize(
    ("soil", "fines", "symbol"),
    [
        ("gravel", 0.7, "GW"), ("gravel", 2.2, "GP"), ("gravel", 4.5, "GM"), ("gravel", 8, "GM"), ("gravel", 15, "GM"),
        ("gravel", 30, "GM"), ("sand", 1.5, "SW"), ("sand", 4.5, "SP-SM"), ("sand", 10, "SM"), ("silt", 60, "ML"),
    ],
)  # fmt: skip
def test_groups_agree_with_an_independent_reading_of_the_table(soil, fines, symbol):
    assert group(soil, fines_percent=fines) == table_19_2_frost_classification(symbol, fines)["frost_group"]


@pytest.mark.source("UFC-3-250-01, Table 19-2: clays PI > 12 are F3, PI < 12 are F4; [digitised]")
@pytest.mark.parametrize("soil", ["clay", "lean clay", "fat clay", "CL"])
def test_clay_is_sorted_by_its_plasticity(soil):
    assert group(soil, plasticity_index=25) == "F3"
    assert group(soil, plasticity_index=12.1) == "F3"
    assert group(soil, plasticity_index=12) == "F4"
    assert group(soil, plasticity_index=6) == "F4"


def test_the_independent_library_calls_every_lean_clay_f3():
    """Its table leaves the plasticity index out; if that is ever mended, the comparison above can take clay in."""
    assert table_19_2_frost_classification("CL")["frost_group"] == "F3"
    assert group("lean clay", plasticity_index=6) == "F4"


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
