"""A column of depths is the same as one depth after another, and a bad row is named."""

from decimal import Decimal

import numpy as np
import pandas as pd
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from basecalc.core.errors import BasecalcError, InputError, OutOfRangeError
from basecalc.design.column import depth_column, platform_thickness_column
from basecalc.design.depth import base_depth
from basecalc.design.settings import NONE, TRAFFIC_NAMES, DesignSettings, Reinforcement, Traffic, traffic
from basecalc.ground.classes import Strength, class_of_cbr

LIGHT = traffic("light")
REINFORCEMENTS = [
    NONE,
    Reinforcement("geotextile"),
    Reinforcement("geogrid", 0.32),
    Reinforcement("geogrid", 0.8),
    Reinforcement("geogrid", 0.0, 0.3, "report"),
    Reinforcement("geogrid", 0.5, 0.5, "report"),
]
DESIGNS = [
    DesignSettings(),
    DesignSettings(step_m=0.01, minimum_depth_m=0.15, base_cbr=60, modulus_rule="power", reliability=0.9),
    DesignSettings(checks=("structural", "minimum")),
    DesignSettings(checks=("platform", "practice", "minimum")),
]


def one_by_one(cbrs, level, reinforcement, design):
    return [base_depth(Strength(class_of_cbr(cbr), cbr), level, reinforcement, design).required_m for cbr in cbrs]


@pytest.mark.parametrize("design", DESIGNS)
@pytest.mark.parametrize("name", TRAFFIC_NAMES)
@pytest.mark.parametrize("reinforcement", REINFORCEMENTS)
def test_column_equals_one_by_one(name, reinforcement, design):
    cbrs = np.exp(np.random.default_rng(7).uniform(np.log(0.4), np.log(100), 60))
    cbrs[:4] = 0.4, 0.8, 1.6, 100
    level = traffic(name)
    column = depth_column(cbrs, level, reinforcement, design)
    assert column.tolist() == one_by_one(cbrs.tolist(), level, reinforcement, design)


@settings(deadline=None, max_examples=60)
@given(
    st.lists(st.floats(0.4, 20), min_size=1, max_size=6),
    st.floats(1, 100),
    st.floats(100, 1000),
    st.floats(1, 100_000),
    st.floats(50, 100),
    st.floats(1, 1e6),
    st.floats(10, 100),
)
def test_column_equals_one_by_one_for_any_traffic(cbrs, load, tyre, passes, rut, esal, base):
    level, design = Traffic("any", load, tyre, passes, rut, esal), DesignSettings(base_cbr=base)
    assert depth_column(cbrs, level, NONE, design).tolist() == one_by_one(cbrs, level, NONE, design)


@settings(deadline=None, max_examples=25)
@given(st.floats(10, 60), st.floats(300, 1000), st.floats(1, 100_000), st.floats(50, 100), st.floats(1, 1e6),
       st.floats(10, 30))  # fmt: skip
def test_a_long_column_is_what_its_short_pieces_are(load, tyre, passes, rut, esal, base):
    """Its rows are found from their neighbours; also where the equation has three roots and the depth leaps."""
    level, design = Traffic("any", load, tyre, passes, rut, esal), DesignSettings(base_cbr=base)
    cbrs = np.exp(np.random.default_rng(3).uniform(np.log(0.4), np.log(60), 12_000))
    cbrs[:3] = 0.4, 100, 0.4
    try:
        column = depth_column(cbrs, level, NONE, design)
    except OutOfRangeError:
        assume(False)
    pieces = [depth_column(cbrs[first : first + 3000], level, NONE, design) for first in range(0, 12_000, 3000)]
    assert column.tolist() == np.concatenate(pieces).tolist()


def test_roots_of_a_long_column_are_those_found_from_nothing():
    cbrs = np.geomspace(0.4, 100, 20_001)
    for name in TRAFFIC_NAMES:
        long = platform_thickness_column(cbrs, traffic(name))
        short = np.concatenate([platform_thickness_column(part, traffic(name)) for part in np.array_split(cbrs, 7)])
        assert np.abs(long - short).max() < 1e-12
    same = platform_thickness_column(np.full(20_000, 1.0), LIGHT)
    assert np.abs(same - platform_thickness_column(np.array([1.0]), LIGHT)).max() == 0


def test_column_takes_what_a_sheet_or_a_frame_hands_over():
    expected = one_by_one([0.4, 3.0, 8.0], LIGHT, NONE, DesignSettings())
    for given_as in ([0.4, 3, 8], (0.4, 3.0, 8.0), pd.Series([0.4, 3.0, 8.0]), [Decimal("0.4"), 3, 8.0]):
        assert depth_column(given_as, LIGHT).tolist() == expected
    assert depth_column([], LIGHT).tolist() == []
    assert depth_column(np.array([3, 8]), LIGHT).tolist() == expected[1:]


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
        depth_column([1.0, 2.0, bad, 0.1], LIGHT)
    assert str(refusal.value).startswith(sentence)


def test_bad_row_is_named_as_the_caller_names_it():
    with pytest.raises(OutOfRangeError, match=r"^spot B: CBR is 0\.1 %"):
        depth_column([1.0, 0.1], LIGHT, rows=["spot A", "spot B"])
    with pytest.raises(OutOfRangeError, match=r"^row 2: CBR is 12 %; the modulus rule 'linear'"):
        depth_column([1.0, 12.0], LIGHT, NONE, DesignSettings(modulus_rule="linear"))
    with pytest.raises(OutOfRangeError, match="only practice is switched on"):
        depth_column([1.0], traffic("heavy"), NONE, DesignSettings(checks=("practice", "minimum")))


def test_shape_that_is_no_column_is_refused():
    with pytest.raises(InputError, match="must be one column"):
        depth_column([[1.0, 2.0], [3.0, 4.0]], LIGHT)
    with pytest.raises(InputError, match="must be one column"):
        depth_column(1.0, LIGHT)
    with pytest.raises(InputError, match="a name for each row"):
        depth_column([1.0, 2.0], LIGHT, rows=["only one"])
