"""Second opinions on depth against the points that their manuals print, and against numerical integration."""

import math

import pytest
from geotech_references.ufc_pavement.tables import figure_e1_flexible_thickness
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import dblquad

from basecalc.core.errors import OutOfRangeError
from basecalc.core.published import table
from basecalc.core.units import POUND_KG, PSI_KPA
from basecalc.design.platform import thickness
from basecalc.design.second_opinions import (
    aggregate_road_depth,
    beta,
    concentration,
    corps_depth,
    forest_service_depth,
    opinion_number,
    opinion_source,
    spread_below_square,
    spread_depth_m,
    stress_psi,
    thickness_in,
)
from basecalc.design.settings import TRAFFIC_NAMES, DesignSettings, Reinforcement, Traffic, traffic

INCH = 0.0254
LB_KN = POUND_KG * 9.80665 / 1000
LIGHT, DELIVERY = traffic("light"), traffic("delivery")


@pytest.mark.source("Boussinesq's point load summed over the square by scipy; [computed]")
@pytest.mark.parametrize(("depth", "side"), [(0.2, 0.3), (0.5, 0.3), (1.0, 0.3), (0.1, 0.5)])
def test_spread_below_a_square_is_boussinesqs(depth, side):
    def point(y, x):
        return 3 / (2 * math.pi) * depth**3 / (depth**2 + x**2 + y**2) ** 2.5

    summed, _ = dblquad(point, -side / 2, side / 2, -side / 2, side / 2)
    assert spread_below_square(depth, side) == pytest.approx(summed, rel=1e-6)


@pytest.mark.source("NEWMARK, influence value below a corner, m = n = 1: 0.175; [memory]")
def test_spread_meets_the_printed_influence_value():
    assert spread_below_square(1.0, 2.0) / 4 == pytest.approx(0.175, abs=0.0005)


# Pressure in the print [psi]: 75 % of an inflation of 80 to 100 psi, as the field manual has it for dual tyres.
@pytest.mark.source(
    "TM-5-818-8, sec. 2-7, example: CBR 1 (C 4.2 psi), 24,000 lb tandem: 22 in, 14 in; [read], as a band"
)
@pytest.mark.parametrize("pressure", [60, 75])
def test_forest_service_depths_fall_within_an_inch_and_a_half_of_the_worked_example(pressure):
    # One of the two axles of the tandem, a fifth more for its neighbour (FM 5-430-00-1, App. H); tyres are not printed.
    load = 24_000 / 2 * 1.2 * LB_KN
    depths = [
        spread_depth_m(nc * 4.2 * PSI_KPA, load, pressure * PSI_KPA) / INCH
        for nc in (
            opinion_number("forest service, without geotextile"),
            opinion_number("forest service, with geotextile"),
        )
    ]
    assert depths[0] == pytest.approx(22, abs=1.5)
    assert depths[1] == pytest.approx(14, abs=1.75)
    assert 1 - depths[1] / depths[0] == pytest.approx(0.36, abs=0.06)


@pytest.mark.source("TM-5-818-8, sec. 2-7: S = 2.8 C without, 5.0 C with geotextile, 11.8 psi at C 4.2; [read]")
def test_bearing_factors_of_the_forest_service_method():
    assert opinion_number("forest service, without geotextile") * 4.2 == pytest.approx(11.8, abs=0.05)
    assert opinion_number("forest service, with geotextile") == 5.0
    assert "[read]" in opinion_source("forest service, with geotextile")


def test_forest_service_is_shown_and_never_counted():
    (plain,) = forest_service_depth(1.0, DELIVERY)
    assert (plain.name, plain.counts) == ("forest service", False)
    assert "never mixed" in plain.sentence
    worked = {item.name: item.value for item in plain.working}
    # S is 2.8 x 30 kPa: below the middle of the print, at the depth found, just that pressure is left.
    side = math.sqrt(40 / 550)
    assert 550 * spread_below_square(plain.depth_m, side) == pytest.approx(84.0, rel=1e-9)
    assert worked["side of the contact area"] == pytest.approx(side)
    without, with_one = forest_service_depth(1.0, DELIVERY, Reinforcement("geotextile"))
    assert without.depth_m == plain.depth_m
    assert with_one.depth_m < without.depth_m
    assert "without a geotextile" in without.sentence
    assert "with a geotextile" in with_one.sentence
    (grid,) = forest_service_depth(1.0, DELIVERY, Reinforcement("geogrid", 0.3))
    assert "of geogrids the method says nothing" in grid.sentence


def test_forest_service_says_nothing_of_strong_ground_and_where_no_base_is_needed():
    (strong,) = forest_service_depth(4.01, DELIVERY)
    assert strong.depth_m is None
    assert "it says nothing of CBR 4.01 %" in strong.sentence
    assert forest_service_depth(4.0, DELIVERY)[0].depth_m > 0
    _, bare = forest_service_depth(4.0, LIGHT, Reinforcement("geotextile"))
    assert bare.depth_m == 0
    assert "the ground bears the tyre as it is" in bare.sentence
    with pytest.raises(OutOfRangeError, match=r"below 0\.4"):
        forest_service_depth(0.39, LIGHT)


@pytest.mark.source(
    "GIROUD-HAN, [computed], beside TM-5-818-8; two methods for the same road, half to twice of each other"
)
@pytest.mark.parametrize("name", TRAFFIC_NAMES)
@pytest.mark.parametrize("cbr", [0.4, 0.8, 1.6, 3.2])
def test_forest_service_and_platform_are_of_one_mind_on_soft_ground(name, cbr):
    (check,) = forest_service_depth(cbr, traffic(name))
    assert 0.5 < check.depth_m / max(thickness(cbr, traffic(name)), 0.1) < 2


# CBR, passes, thickness read from the chart [in]
FIGURE_E1 = [(3, 1e6, 16.4), (4, 5e6, 14.5), (7, 5e6, 9.8), (10, 5e6, 7.8), (25, 5e6, 3.4)]


@pytest.mark.source("UFC-3-250-01, Figure E-1, points of its worked examples; [digitised], +/- 0.3 in")
@pytest.mark.parametrize(("cbr", "passes", "inches"), FIGURE_E1)
def test_corps_thickness_meets_the_printed_points_of_the_chart(cbr, passes, inches):
    assert thickness_in(cbr, passes) == pytest.approx(inches, abs=0.3)


@pytest.mark.source("UFC-3-250-01, Figure E-1, arrow of the chart and the example for frost; [digitised]")
@pytest.mark.parametrize(("cbr", "passes", "inches", "off"), [(5, 1e6, 10.5, 1.21), (3.5, 1.2e6, 16, -0.86)])
def test_two_points_of_the_chart_are_missed_by_as_much_as_the_table_says(cbr, passes, inches, off):
    """They do not lie on one smooth curve with the other five; the note of the table tells the reader by how much."""
    found = thickness_in(cbr, passes)
    assert found - inches == pytest.approx(off, abs=0.05)
    assert f"{found:.1f} in where" in " ".join(table("second_opinions").note.split())


@pytest.mark.source("UFC-3-250-01, Figure E-1, read off by an independent library; [digitised], +/- 10 %")
@pytest.mark.parametrize("cbr", [2, 3, 5])
@pytest.mark.parametrize("passes", [1e3, 1e4, 1e5])
def test_corps_thickness_follows_the_chart_at_the_traffic_of_a_driveway(cbr, passes):
    assert thickness_in(cbr, passes) == pytest.approx(
        figure_e1_flexible_thickness(cbr, passes)["thickness_in"], rel=0.1
    )


@pytest.mark.source("Froehlich's point load summed over the tyre print by scipy; [computed]")
@pytest.mark.parametrize("factor", [1.5, 2.0, 3.0])
@pytest.mark.parametrize("aside", [0.0, 6.75, 13.5])
def test_stress_of_a_tyre_is_that_of_point_loads(factor, aside):
    depth, pressure = 6.0, 70
    radius = math.sqrt(4500 / (math.pi * pressure))

    def point(angle, r):
        flat = aside**2 + r**2 - 2 * aside * r * math.cos(angle)
        return r * pressure * factor / (2 * math.pi) * depth**factor / (depth**2 + flat) ** ((factor + 2) / 2)

    summed, _ = dblquad(point, 0, radius, 0, 2 * math.pi)
    assert stress_psi(depth, aside, 4500, pressure, factor) == pytest.approx(summed, rel=0.01)


@pytest.mark.source("CBR-BETA: with a factor of 2 the equation is the classic t = sqrt(P/(beta CBR) - A/pi); [read]")
def test_with_a_concentration_of_two_a_single_tyre_gives_the_classic_equation():
    cbr, load, pressure = 6.0, 9000, 70
    assert concentration(cbr) == 2.0
    classic = math.sqrt(load / (8.1 * cbr) - load / pressure / math.pi)
    assert stress_psi(classic, 0, load, pressure, 2) == pytest.approx(8.1 * cbr / math.pi, rel=1e-12)


@pytest.mark.source("TM-5-822-13, Table 5-2: 2.64 operations per coverage; [read]")
def test_passes_become_coverages():
    worked = {item.name: item.value for item in corps_depth(3.0, DELIVERY).working}
    assert worked["coverages"] == pytest.approx(15_000 / 2.64)
    assert worked["stress the ground may bear"] == pytest.approx(beta(15_000 / 2.64) * 3.0 / math.pi)


def test_corps_takes_pavers_and_bedding_off_inch_for_inch_and_never_counts():
    check = corps_depth(2.0, DELIVERY)
    assert check.depth_m == pytest.approx(thickness_in(2.0, 15_000) * INCH - 0.060325 - 0.0254)
    assert not check.counts
    thick = corps_depth(2.0, DELIVERY, DesignSettings(paver_m=0.1))
    assert thick.depth_m == pytest.approx(check.depth_m - (0.1 - 0.060325))
    alone = corps_depth(50.0, LIGHT)
    assert alone.depth_m == 0
    assert "pavers and bedding are thick enough alone" in alone.sentence


@pytest.mark.parametrize(("cbr", "esal"), [(0.99, 2000), (3.0, 9), (3.0, 10_000_001)])
def test_outside_its_chart_the_corps_method_says_nothing(cbr, esal):
    check = corps_depth(cbr, Traffic("own", 40, 550, 1000, 75, esal))
    assert check.depth_m is None
    assert "it says nothing of CBR" in check.sentence
    assert corps_depth(1.0, Traffic("own", 40, 550, 1000, 75, 10)).depth_m is not None


@pytest.mark.source("TM-5-822-12, worked example: 12.0 in over CBR 4, 7 in over CBR 8; [read], as bands")
def test_the_worked_example_of_an_aggregate_road():
    assert aggregate_road_depth(4.0).depth_m / INCH == pytest.approx(12.0)
    assert aggregate_road_depth(7.9).depth_m / INCH == pytest.approx(12.0)
    assert aggregate_road_depth(8.0).depth_m / INCH == pytest.approx(7.0)
    assert aggregate_road_depth(100.0).depth_m / INCH == pytest.approx(7.0)
    below = aggregate_road_depth(3.9)
    assert below.depth_m is None
    assert "the worked example begins at CBR 4 %" in below.sentence
    assert not aggregate_road_depth(5.0).counts


@pytest.mark.source("TM-5-822-12, 12.0 in over CBR 4 and 7 in over CBR 8 for tracked traffic; [read], as upper bounds")
@pytest.mark.parametrize(("cbr", "inches"), [(4.0, 12.0), (8.0, 7.0)])
def test_the_platform_of_heavy_traffic_stays_below_the_aggregate_road(cbr, inches):
    assert thickness(cbr, traffic("heavy")) / INCH < inches


def test_every_number_of_the_second_opinions_has_its_own_source():
    for row in table("second_opinions").rows:
        assert f"[{row['trust']}]" in opinion_source(str(row["name"]))


@settings(deadline=None, max_examples=50)
@given(st.floats(0.4, 4), st.floats(0.4, 4), st.floats(1, 3))
def test_second_opinions_never_rise_with_the_strength_of_the_ground_or_fall_with_load(one, other, more):
    weak, strong = sorted((one, other))
    truck = Traffic("truck", 30, 500, 1000, 75, 10_000)
    heavier = Traffic("heavier", 30 * more, 500, 1000, 75, 10_000 * more)
    assert forest_service_depth(strong, truck)[0].depth_m <= forest_service_depth(weak, truck)[0].depth_m + 1e-12
    assert forest_service_depth(weak, heavier)[0].depth_m >= forest_service_depth(weak, truck)[0].depth_m - 1e-12
    if weak >= 1:
        assert corps_depth(strong, truck).depth_m <= corps_depth(weak, truck).depth_m + 1e-9
        assert corps_depth(weak, heavier).depth_m >= corps_depth(weak, truck).depth_m - 1e-9
