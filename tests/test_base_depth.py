"""The required depth: which check governs, what reinforcement may save, what practice says beside it."""

import subprocess
import sys
from dataclasses import replace
from decimal import Decimal
from functools import partial

import pandas as pd
import pytest
from geotech_references.ufc_pavement.tables import figure_e1_flexible_thickness
from hypothesis import given
from hypothesis import strategies as st

from basecalc import (
    BasecalcError,
    DesignSettings,
    InputError,
    OutOfRangeError,
    Strength,
    base_depth,
    depth_column,
    reinforcement,
    traffic,
)
from basecalc.design.depth import practice_m

INCH = 0.0254
LIGHT = traffic("light")
NONE = reinforcement("none")
LEVELS = ("light", "delivery", "heavy")
WEAK_EDGES = {"soft": 0.4, "medium": 0.8, "stiff": 1.6, "very stiff": 3.2, "hard": 6.4}


def inches(cbr, level=LIGHT, laid=NONE, design=None):
    return base_depth(cbr, level, laid, design or DesignSettings()).required_m / INCH


# Practice: CBR at the class edge, depth in
PRACTICE = [(0.4, 24), (0.8, 13), (1.6, 6)]


@pytest.mark.source("rules of the trade, light traffic; [practice]")
@pytest.mark.parametrize(("cbr", "depth"), PRACTICE)
def test_required_depth_brackets_practice_within_two_inches(cbr, depth):
    assert inches(cbr) == pytest.approx(depth, abs=2 + 1e-9)
    assert base_depth(cbr, LIGHT).check("practice").depth_m / INCH == pytest.approx(depth, abs=1e-9)


@pytest.mark.source("rules of the trade, hard ground 6 in; [practice]")
@pytest.mark.parametrize("cbr", [1.6, 1.61, 1.8, 2.0, 2.4, 2.8, 3.2, 4.0, 5.0, 6.4, 10, 20, 50, 100])
def test_required_depth_stays_near_six_inches_from_stiff_ground_on(cbr):
    assert inches(cbr) == pytest.approx(6, abs=2 + 1e-9)
    assert inches(cbr) >= 6 - 1e-9


@pytest.mark.source("basecalc's own design of the light traffic; [computed]")
@pytest.mark.parametrize(("cbr", "raw"), [(0.4, 23.2), (0.8, 14.6), (1.6, 7.9)])
def test_light_traffic_gives_the_depths_it_was_set_for(cbr, raw):
    check = base_depth(cbr, LIGHT).check("platform")
    assert check.depth_m / INCH == pytest.approx(raw, abs=0.05)
    assert check.counts


def test_practice_is_interpolated_in_the_logarithm():
    # Half way between CBR 0.4 and 0.8 on a logarithmic scale is sqrt(0.32) = 0.566: (24 + 13) / 2 = 18.5 in.
    assert practice_m(0.32**0.5) / INCH == pytest.approx(18.5)
    assert practice_m(1.28**0.5) / INCH == pytest.approx(9.5)
    assert practice_m(100) / INCH == pytest.approx(6)


def test_practice_speaks_of_light_traffic_only_and_says_so():
    switched_on = DesignSettings(checks=("practice", "platform", "minimum"))
    check = base_depth(0.8, "delivery", NONE, switched_on).check("practice")
    assert check.depth_m is None
    assert not check.counts
    assert "only for light traffic" in check.sentence
    cart = replace(LIGHT, name="cart", wheel_load_kn=10, tyre_kpa=300, passes=100, esal=100)
    assert base_depth(0.8, cart).check("practice").depth_m is not None


def test_practice_counts_only_when_switched_on():
    both = DesignSettings(checks=("practice", "minimum"))
    assert base_depth(0.8, LIGHT).check("practice").counts is False
    result = base_depth(0.8, LIGHT, NONE, both)
    assert (result.governs, round(result.required_m / INCH, 6)) == ("practice", 13)
    with pytest.raises(OutOfRangeError, match="only practice is switched on, which knows light traffic only"):
        base_depth(0.8, traffic("heavy"), NONE, both)


def test_each_check_can_govern():
    assert base_depth(0.8, LIGHT).governs == "platform"
    assert base_depth(10, LIGHT).governs == "minimum"
    geogrid = reinforcement("geogrid", 0.65)
    assert base_depth(0.4, traffic("heavy"), geogrid).governs == "structural"
    assert base_depth(0.4, LIGHT, geogrid).governs == "reinforcement limit"
    structural = DesignSettings(checks=("structural", "minimum"))
    result = base_depth(0.4, LIGHT, NONE, structural)
    assert (result.governs, result.check("platform")) == ("structural", None)


def test_reason_names_the_check_and_by_how_much():
    result = base_depth(0.8, LIGHT)
    structural = result.check("structural").depth_m / INCH
    more = 14.6 - max(structural, 8.0)  # 8 in: the least base on fine soil below CBR 5
    assert structural < 8
    assert result.reason == f"platform check governs: 14.6 in, {more:.1f} in more than the minimum; rounded up to 15 in"
    soft = base_depth("soft", LIGHT)
    assert soft.reason.startswith("platform check governs: 23.2 in, 12.5 in more than the structural check")
    assert soft.reason.endswith("soft, taken at the weak edge of its class, CBR 0.4 %")


@pytest.mark.source("GIROUD-HAN, CBR 3, 40 kN: 0.2548 m = 10.03 in; [computed]")
def test_reason_does_not_round_away_why_an_inch_was_added():
    assert "governs: 10.03 in," in base_depth(3.0, traffic("delivery")).reason
    assert "rounded up to 11 in" in base_depth(3.0, traffic("delivery")).reason


def test_reason_in_millimetres():
    metric = DesignSettings(step_m=0.010, minimum_depth_m=0.15)
    result = base_depth(3.0, traffic("delivery"), NONE, metric, unit="mm")
    assert result.reason.startswith("platform check governs: 255 mm, 55 mm more than the minimum; rounded up to 260 mm")
    assert result.required_m == 0.26
    assert base_depth(50, LIGHT, NONE, metric, unit="mm").reason.startswith("minimum governs: 150 mm, ")
    with pytest.raises(InputError, match="unit is 'cm'; it must be one of: in, mm"):
        base_depth(3.0, LIGHT, unit="cm")


def test_exact_inches_are_not_rounded_up():
    for whole in (6, 7, 8, 12, 14, 23, 36):
        design = DesignSettings(minimum_depth_m=whole * INCH)
        assert base_depth(50, LIGHT, NONE, design).required_m == pytest.approx(whole * INCH, abs=1e-12)
        assert "rounded" not in base_depth(50, LIGHT, NONE, design).reason


def test_minimum_of_the_owner_holds_for_every_reinforcement():
    design = DesignSettings(minimum_depth_m=10 * INCH)
    for laid in (NONE, reinforcement("geotextile"), reinforcement("geogrid", 0.8)):
        assert inches(6.4, LIGHT, laid, design) == pytest.approx(10)


@pytest.mark.source("GIROUD-HAN, Nc of a geotextile; BURAK-2005, no thinner base; [read]")
def test_geotextile_is_shown_and_never_thins_the_base():
    result = base_depth(1.0, traffic("delivery"), reinforcement("geotextile"))
    assert result.required_m == result.unreinforced_m == base_depth(1.0, traffic("delivery")).required_m
    shown = result.check("platform with geotextile")
    assert shown.depth_m == pytest.approx(0.3260, abs=0.0005)
    assert not shown.counts
    assert "for information only" in shown.sentence


def test_class_alone_is_designed_at_the_weak_edge_or_in_the_middle():
    for word, edge in WEAK_EDGES.items():
        assert base_depth(word, LIGHT).cbr == edge
    # middle of medium: sqrt(0.8 x 1.6) = 1.1314
    middle = DesignSettings(class_edge="middle")
    made = base_depth("medium", LIGHT, NONE, middle)
    assert made.cbr == pytest.approx(1.1314, abs=5e-5)
    assert made.cbr_from == "medium, taken in the middle of its class, CBR 1.13 %"
    assert made.cbr_from in made.reason
    assert made.required_m < base_depth("medium", LIGHT).required_m


def test_measured_ratio_is_designed_as_measured():
    result = base_depth(Strength("medium", 1.5), LIGHT, NONE, DesignSettings(class_edge="middle"))
    assert (result.cbr, result.cbr_from) == (1.5, "measured CBR 1.5 %")
    assert "class" not in result.reason


@pytest.mark.parametrize("edge", ["weak", "middle"])
def test_very_soft_ground_gets_a_sentence_and_no_number(edge):
    design = DesignSettings(class_edge=edge)
    with pytest.raises(OutOfRangeError, match=r"strength is 'very soft' without a measured CBR; .* licensed engineer"):
        base_depth(Strength("very soft"), LIGHT, NONE, design)
    with pytest.raises(OutOfRangeError, match=r"CBR is 0\.39 %; below 0\.4 % \(very soft ground\) no base depth"):
        base_depth(0.39, LIGHT, NONE, design)
    assert inches(0.4, design=design) == pytest.approx(24)  # measured on the very edge: a number
    assert inches(0.1 * 4 - 1e-15, design=design) == pytest.approx(24)  # and float noise does not turn it away


@pytest.mark.parametrize("cbr", [float("nan"), float("inf"), 101.0])
def test_impossible_ratio_is_refused(cbr):
    with pytest.raises(OutOfRangeError, match="CBR is"):
        base_depth(Strength("hard", cbr), LIGHT)


def test_every_check_carries_its_working_and_source():
    result = base_depth("soft", LIGHT, reinforcement("geogrid", 0.65, 0.2, "test report 3"))
    names = [check.name for check in result.checks]
    assert names == ["platform", "structural", "minimum", "reinforcement limit", "practice"]
    for check in result.checks:
        assert check.sentence
        assert check.source
        assert check.working
        for item in check.working:
            assert item.name
            assert item.value == item.value  # no NaN


def test_depths_need_no_numpy():
    # Worksheet hosts that run pure Python only must be able to work out a depth.
    code = (
        "import sys; sys.modules.update(dict.fromkeys(('numpy', 'pandas', 'pint', 'pydantic')));"
        "from basecalc.design.depth import base_depth; from basecalc.design.settings import traffic;"
        "from basecalc.ground.classes import Strength;"
        "print(round(base_depth(Strength('soft'), traffic('light')).required_m / 0.0254))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "24"


@pytest.mark.source("UFC-3-250-01, Figure E-1, read off by an independent library; [digitised]; two methods, 15 %")
@pytest.mark.parametrize("name", ["delivery", "heavy"])
@pytest.mark.parametrize("cbr", [1, 2, 3, 4, 5])
def test_base_and_surface_are_as_thick_as_the_corps_chart_has_a_flexible_pavement(name, cbr):
    level = traffic(name)
    made = base_depth(cbr, level)
    deepest = max(check.depth_m for check in made.checks if check.counts)
    total = (deepest + made.settings.paver_m + made.settings.bedding_m) / INCH
    assert total == pytest.approx(figure_e1_flexible_thickness(cbr, level.esal)["thickness_in"], rel=0.15)


def test_column_takes_what_a_sheet_or_a_frame_hands_over():
    expected = [base_depth(cbr, "light").required_m for cbr in (0.4, 3.0, 8.0)]
    for given_as in ([0.4, 3, 8], (0.4, 3.0, 8.0), pd.Series([0.4, 3.0, 8.0]), [Decimal("0.4"), 3, 8.0]):
        assert depth_column(given_as, "light") == expected
    assert depth_column([], "light") == []
    assert depth_column(pd.Series([3, 8]), LIGHT) == expected[1:]
    grid = {"reinforcement": "geogrid", "aperture_stability": 0.32, "settings": DesignSettings(step_m=0.01)}
    assert depth_column([0.6], "heavy", **grid) == [base_depth(0.6, "heavy", **grid).required_m]


@pytest.mark.parametrize(
    ("bad", "sentence"),
    [
        (float("nan"), "row 3: CBR is not a finite number"),
        (float("inf"), "row 3: CBR is not a finite number"),
        (None, "row 3: CBR is missing"),
        (pd.NA, "row 3: CBR is missing"),
        ("soft", "row 3: CBR is 'soft'; it must be a number"),
        (True, "row 3: CBR is TRUE; it must be a number"),
        (0.39, "row 3: CBR is 0.39 %; below 0.4 % (very soft ground) no base depth is given"),
        (-2.0, "row 3: CBR is -2 %; below 0.4 %"),
        (101.0, "row 3: CBR is 101 %; it must be at most 100 %"),
    ],
)
def test_bad_row_is_named_and_nothing_comes_out(bad, sentence):
    with pytest.raises(BasecalcError) as refusal:
        depth_column([1.0, 2.0, bad, 0.1], "light")
    assert str(refusal.value).startswith(sentence)


def test_bad_row_is_named_as_the_caller_names_it():
    with pytest.raises(OutOfRangeError, match=r"^spot B: CBR is 0\.1 %"):
        depth_column([1.0, 0.1], "light", rows=["spot A", "spot B"])
    with pytest.raises(OutOfRangeError, match=r"^row 2: CBR is 12 %; the modulus rule 'linear'"):
        depth_column([1.0, 12.0], "light", settings=DesignSettings(modulus_rule="linear"))
    with pytest.raises(InputError, match="must be one column"):
        depth_column([[1.0, 2.0], [3.0, 4.0]], "light")
    with pytest.raises(InputError, match="a name for each row"):
        depth_column([1.0, 2.0], "light", rows=["only one"])


cbrs = st.floats(0.4, 100)
soft_cbrs = st.floats(0.4, 8)
stabilities = st.floats(0.01, 0.8)
levels = st.builds(
    partial(replace, LIGHT, name="any"),
    wheel_load_kn=st.floats(1, 100),
    tyre_kpa=st.floats(100, 1000),
    passes=st.floats(1, 100_000),
    rut_mm=st.floats(50, 100),
    esal=st.floats(1, 1e6),
)
designs = st.builds(DesignSettings, base_cbr=st.floats(10, 100), step_m=st.sampled_from([INCH, 0.01]))
grids = st.one_of(
    st.builds(reinforcement, st.just("geogrid"), stabilities),
    st.builds(reinforcement, st.just("geogrid"), st.just(0.0), st.floats(0.01, 0.5), st.just("report")),
    st.builds(reinforcement, st.just("geogrid"), stabilities, st.floats(0.01, 0.5), st.just("report")),
)
laid_ones = st.one_of(st.just(NONE), grids)


def required(cbr, level, laid, design):
    return base_depth(cbr, level, laid, design).required_m


@given(st.one_of(cbrs, soft_cbrs), st.one_of(cbrs, soft_cbrs), levels, laid_ones, designs)
def test_depth_never_rises_with_the_strength_of_the_ground(one, other, level, laid, design):
    weak, strong = sorted((one, other))
    assert required(strong, level, laid, design) <= required(weak, level, laid, design)


@given(soft_cbrs, stabilities, stabilities, levels, designs)
def test_depth_never_rises_with_aperture_stability(cbr, one, other, level, design):
    low, high = (reinforcement("geogrid", value) for value in sorted((one, other)))
    assert required(cbr, level, high, design) <= required(cbr, level, low, design)


@given(soft_cbrs, levels, st.sampled_from(["wheel_load_kn", "passes", "esal"]), st.floats(1, 50), laid_ones, designs)
def test_depth_never_falls_with_load_or_passes(cbr, level, field, factor, laid, design):
    most = {"wheel_load_kn": 100, "passes": 100_000, "esal": 1e6}[field]
    heavier = replace(level, **{field: min(most, getattr(level, field) * factor)})
    assert required(cbr, heavier, laid, design) >= required(cbr, level, laid, design)


@given(st.one_of(cbrs, soft_cbrs), levels, grids, designs)
def test_geogrid_saves_at_most_half_and_never_goes_below_the_minimum(cbr, level, grid, design):
    result = base_depth(cbr, level, grid, design)
    plain = required(cbr, level, NONE, design)
    assert result.unreinforced_m == plain
    assert result.required_m <= plain
    assert result.required_m >= 0.5 * plain - 1e-9
    assert result.required_m >= design.minimum_depth_m - 1e-9
    assert result.required_m >= 6 * INCH - 1e-9


@given(cbrs, st.sampled_from(LEVELS))
def test_required_depth_is_the_greatest_check_rounded_up_once(cbr, name):
    result = base_depth(cbr, traffic(name))
    greatest = max(check.depth_m for check in result.checks if check.counts)
    assert greatest - 1e-9 <= result.required_m < greatest + INCH
    assert round(result.required_m / INCH) == pytest.approx(result.required_m / INCH, abs=1e-9)
    assert result.check(result.governs).depth_m == greatest
