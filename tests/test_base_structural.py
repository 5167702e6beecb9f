"""The structural number against the guide's example, printed capacities, a digitisation and an independent solver."""

import numpy as np
import pytest
from base_oracle import aashto_sn
from geotech_references.aashto_1993.equations import flexible_sn_from_w18, layer_coefficient_a2_granular_base
from geotech_references.aashto_1993.tables import minimum_layer_thickness, standard_normal_deviate_zr
from geotech_references.fhwa_pavements.equations import (
    resilient_modulus_from_cbr,
    resilient_modulus_from_cbr_aashto93,
)
from printed import own_traffic

from basecalc import DesignSettings, OutOfRangeError, reinforcement, traffic
from basecalc.design.structural import (
    layer_coefficient,
    least_base_m,
    log_axles,
    resilient_modulus_psi,
    standard_deviate,
    structural_depth,
    structural_number,
    surface_number,
)

INCH = 0.0254


@pytest.mark.source("AASHTO-1993, Fig. 3.1, example; [digitised]")
def test_example_of_the_guide():
    sn = structural_number(5e6, 5000, -1.645, 0.35, 1.9)
    assert sn == pytest.approx(5.0, abs=0.05)
    assert sn == pytest.approx(4.976, abs=0.001)


@pytest.mark.source("AASHTO-1993, Fig. 3.1, printed capacities; [read]")
@pytest.mark.parametrize(("zr", "axles"), [(-1.282, 26_128_077), (-2.326, 7_854_299)])
def test_printed_capacities(zr, axles):
    assert 10 ** log_axles(5.04, 10_000, zr, 0.5, 2.0) == pytest.approx(axles, abs=10)


@pytest.mark.source("AASHTO-1993, Fig. 3.1 over 2555 CBR^0.64; [computed]")
def test_structural_number_over_ground_of_cbr_3():
    modulus = resilient_modulus_psi(3.0, "power")
    assert structural_number(50_000, modulus, -0.674, 0.45, 1.7) == pytest.approx(2.198, abs=0.001)


@pytest.mark.source("AASHTO-1993, section 2.3.5; [digitised]")
def test_layer_coefficient_of_a_base():
    assert layer_coefficient(30_000) == pytest.approx(0.138, abs=0.001)
    assert round(layer_coefficient(30_000), 2) == 0.14  # as printed
    for modulus in (15_000, 20_000, 40_000):
        assert layer_coefficient(modulus) == pytest.approx(layer_coefficient_a2_granular_base(modulus)["a2"], abs=5e-5)


@pytest.mark.source("AASHTO-1993, Part I, Table 4.1; [digitised]")
@pytest.mark.parametrize(("reliability", "zr"), [(0.75, -0.674), (0.80, -0.841), (0.90, -1.282), (0.95, -1.645)])
def test_printed_deviates(reliability, zr):
    assert standard_deviate(reliability) == pytest.approx(zr, abs=0.001)  # the guide cuts its third decimal: 0.8416


@pytest.mark.source("AASHTO-1993, Part I, Table 4.1; [digitised]")
@pytest.mark.parametrize("percent", [50, 60, 70, 85, 91, 92, 93, 94, 96, 97, 98, 99, 99.9])
def test_deviates_of_the_whole_table(percent):
    assert standard_deviate(percent / 100) == pytest.approx(standard_normal_deviate_zr(percent)["zr"], abs=0.001)


@pytest.mark.parametrize("reliability", [0.49, 0.9995, 75, float("nan")])
def test_reliability_outside_the_table_is_refused(reliability):
    with pytest.raises(OutOfRangeError, match="reliability"):
        standard_deviate(reliability)


# CBR, 2555 CBR^0.64, 1500 CBR [psi]
MODULI = [(1, 2555, 1500), (3, 5161, 4500), (10, 11153, 15000)]


@pytest.mark.source("FHWA-NHI-05-037, Eq. 5.13 and Table 5-34; [computed]")
@pytest.mark.parametrize(("cbr", "power", "linear"), MODULI)
def test_resilient_modulus(cbr, power, linear):
    assert resilient_modulus_psi(cbr, "power") == pytest.approx(power, abs=0.5)
    assert resilient_modulus_psi(cbr, "linear") == pytest.approx(linear, abs=0.5)
    assert resilient_modulus_psi(cbr) == pytest.approx(min(power, linear), abs=0.5)


@pytest.mark.source("FHWA-NHI-05-037, Eq. 5.13 and Table 5-34; [digitised]")
@pytest.mark.parametrize("cbr", [0.4, 0.8, 1.6, 3.2, 4.38, 4.4, 6.4, 9.9])
def test_resilient_modulus_as_digitised(cbr):
    power, linear = resilient_modulus_from_cbr(cbr)["mr"], resilient_modulus_from_cbr_aashto93(cbr)["mr_psi"]
    assert resilient_modulus_psi(cbr, "power") == pytest.approx(power, abs=0.051)
    assert resilient_modulus_psi(cbr, "linear") == pytest.approx(linear, abs=0.051)
    assert resilient_modulus_psi(cbr, "safer") == pytest.approx(min(power, linear), abs=0.051)


@pytest.mark.source("FHWA-NHI-05-037, where the two moduli cross; [computed]")
def test_working_states_which_modulus_was_taken():
    light = traffic("light")
    below, above = structural_depth(4.38, light), structural_depth(4.40, light)
    assert "(1500 CBR, the lesser of 2555 CBR^0.64 and 1500 CBR)" in below.sentence
    assert "(2555 CBR^0.64, the lesser of 2555 CBR^0.64 and 1500 CBR)" in above.sentence
    notes = {item.name: item.note for item in below.working}
    assert notes["resilient modulus of the subgrade"].startswith("1500 CBR")


def test_linear_modulus_is_refused_above_its_range():
    assert resilient_modulus_psi(10.0, "linear") == 15_000
    with pytest.raises(OutOfRangeError, match=r"CBR is 10\.1 %; the modulus rule 'linear' \(1500 CBR\) ends at 10 %"):
        resilient_modulus_psi(10.1, "linear")
    with pytest.raises(OutOfRangeError, match="must be 'safer' or 'power'"):
        structural_depth(12.0, traffic("light"), settings=DesignSettings(modulus_rule="linear"))


@pytest.mark.source("AASHTO-1993, Fig. 3.1 solved by scipy; [computed]")
def test_scipy_solves_the_equation_alike():
    random = np.random.default_rng(1993)
    for _ in range(600):
        axles = float(np.exp(random.uniform(np.log(500), np.log(5e7))))
        modulus, zr = float(np.exp(random.uniform(np.log(600), np.log(40_000)))), float(random.uniform(-3.09, 0))
        deviation, loss = float(random.uniform(0.3, 0.6)), float(random.uniform(0.5, 3.0))
        expected = aashto_sn(axles, zr, deviation, loss, modulus)
        assert structural_number(axles, modulus, zr, deviation, loss) == pytest.approx(expected, abs=1e-9)
        assert 10 ** log_axles(expected, modulus, zr, deviation, loss) == pytest.approx(axles, rel=1e-8)


@pytest.mark.source("AASHTO-1993, Fig. 3.1; [digitised]")
@pytest.mark.parametrize("level", ["light", "delivery", "heavy"])
@pytest.mark.parametrize("cbr", [0.4, 0.8, 1.6, 3.2, 6.4])
def test_digitised_guide_solves_our_traffic_alike(level, cbr):
    axles, modulus = traffic(level).esal, resilient_modulus_psi(cbr)
    expected = flexible_sn_from_w18(axles, -0.674, 0.45, 1.7, modulus)["sn"]
    assert structural_number(axles, modulus, -0.674, 0.45, 1.7) == pytest.approx(expected, abs=0.001)


@pytest.mark.source("AASHTO-1993, Part II, section 3.1.4; [digitised]")
@pytest.mark.parametrize(
    "axles", [1, 2_000, 49_999, 50_000, 50_001, 150_000, 150_001, 500_000, 500_001, 2e6, 2e6 + 1, 7e6, 7e6 + 1, 5e7]
)
def test_least_base_of_the_guide(axles):
    expected = minimum_layer_thickness(axles)["aggregate_base_min_in"]
    assert least_base_m(axles) == pytest.approx(expected * INCH)


@pytest.mark.source("paver and 1 in of sand at 0.44 per in over 4-1/8 in; [memory]")
def test_structural_number_of_an_80_mm_paver():
    assert surface_number(DesignSettings(paver_m=3.125 * INCH)) == pytest.approx(1.815, abs=0.0005)


@pytest.mark.source("AASHTO-1993, Fig. 3.1 and section 2.3.5; [computed]")
def test_base_carries_what_pavers_and_bedding_do_not():
    # heavy, CBR 3 by 2555 CBR^0.64: SN 2.198 above. Pavers and bedding 0.44 x 3.375 = 1.485; a2 = 0.13780.
    # (2.198 - 1.485) / 0.13780 = 5.17 in; half a thousandth of SN is 0.004 in. ZR to four places shifts SN by 0.0005.
    check = structural_depth(3.0, traffic("heavy"), settings=DesignSettings(modulus_rule="power"))
    assert check.depth_m / INCH == pytest.approx(5.17, abs=0.02)
    wetter = structural_depth(3.0, traffic("heavy"), settings=DesignSettings(modulus_rule="power", drainage=0.8))
    assert wetter.depth_m / INCH == pytest.approx(5.17 / 0.8, abs=0.03)


def test_least_base_holds_where_the_pavers_carry_the_traffic():
    check = structural_depth(20.0, traffic("light"))
    assert check.depth_m == pytest.approx(4 * INCH)
    assert "least base applies" in check.sentence
    assert {item.name: item.note for item in check.working}["depth by the equation"].startswith("pavers and bedding")


def test_geogrid_thins_this_check_by_its_documented_reduction_only():
    plain = structural_depth(0.8, traffic("delivery"))
    stable = structural_depth(0.8, traffic("delivery"), reinforcement("geogrid", 0.65))
    documented = structural_depth(0.8, traffic("delivery"), reinforcement("geogrid", 0.0, 0.2, "test report 12"))
    assert stable.depth_m == plain.depth_m
    assert "does not thin this check" in stable.sentence
    assert documented.depth_m == pytest.approx(0.8 * plain.depth_m)
    assert "20 % (test report 12)" in documented.sentence
    firm = reinforcement("geogrid", 0.0, 0.5, "test report 12")
    assert structural_depth(6.0, traffic("light"), firm).depth_m == pytest.approx(4 * INCH)


def test_traffic_beyond_every_structural_number_is_refused():
    with pytest.raises(OutOfRangeError, match="ask for a structural number above 20"):
        structural_number(1e30, 600, -3.0, 0.6, 0.5)
    assert structural_number(1e-3, 15_000, 0.0, 0.45, 1.7) == 0.0


def test_harshest_settings_end_in_a_refusal_not_in_a_wrong_number():
    harsh = DesignSettings(reliability=0.999, overall_deviation=0.6, serviceability_drop=0.5)
    with pytest.raises(OutOfRangeError, match="50,000,000 equivalent axles over a resilient modulus of 600 psi"):
        structural_depth(0.4, own_traffic("worst", 100, 1000, 100_000, 50, 50_000_000), settings=harsh)
    assert structural_depth(0.4, traffic("heavy"), settings=harsh).depth_m > 0.5
