"""Every check and every second opinion side by side; what counts is what counted before."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from basecalc.core.errors import OutOfRangeError
from basecalc.design.depth import base_depth
from basecalc.design.frost import frost_ground
from basecalc.design.second_opinions import compare, second_opinions, unrounded_m
from basecalc.design.settings import NONE, TRAFFIC_NAMES, DesignSettings, Reinforcement, traffic
from basecalc.ground.classes import Strength, class_of_cbr

OPINIONS = ["forest service", "corps", "aggregate road"]


def measured(cbr):
    return Strength(class_of_cbr(cbr), cbr)


def test_rows_are_the_checks_and_then_the_second_opinions():
    found = compare(measured(2.0), traffic("delivery"))
    assert [row.name for row in found.rows] == ["platform", "structural", "minimum", "practice", *OPINIONS]
    assert [row.counts for row in found.rows] == [True, True, True, False, False, False, False]
    assert [row.name for row in found.rows if row.governs] == ["platform"]
    for row in found.rows:
        assert row.note
        assert row.source


def test_each_row_says_how_far_it_lies_from_what_governs():
    found = compare(measured(2.0), traffic("delivery"))
    top = found.made.check("platform").depth_m
    for row in found.rows:
        assert row.against_m == (None if row.depth_m is None else pytest.approx(row.depth_m - top))
    assert next(row for row in found.rows if row.governs).against_m == 0
    assert unrounded_m(found.made) == top


def test_what_is_laid_and_the_frost_come_into_the_rows():
    found = compare(
        measured(2.0), traffic("delivery"), Reinforcement("geotextile"), frost=frost_ground("silt"), unit="mm"
    )
    names = [row.name for row in found.rows]
    assert "forest service with geotextile" in names
    assert "platform with geotextile" in names
    assert "frost" in names
    assert " mm" in found.made.reason
    on = DesignSettings(checks=("platform", "minimum", "frost"))
    thaw = compare(measured(9.0), traffic("heavy"), NONE, on, frost=frost_ground("silt"))
    assert [row.name for row in thaw.rows if row.governs] == ["frost"]


def test_ground_too_soft_is_refused_as_it_is_for_the_depth():
    with pytest.raises(OutOfRangeError, match=r"below 0\.4 %"):
        compare(measured(0.3), traffic("light"))


grids = st.one_of(
    st.just(NONE),
    st.just(Reinforcement("geotextile")),
    st.builds(Reinforcement, st.just("geogrid"), st.floats(0.1, 0.8)),
)


@settings(deadline=None, max_examples=60)
@given(st.floats(0.4, 100), st.sampled_from(TRAFFIC_NAMES), grids)
def test_a_second_opinion_never_counts_and_never_changes_the_depth(cbr, level, grid):
    found = compare(measured(cbr), traffic(level), grid)
    assert found.made == base_depth(measured(cbr), traffic(level), grid)
    assert found.opinions == second_opinions(found.made)
    assert not any(check.counts for check in found.opinions)
    assert sum(row.governs for row in found.rows) == 1
    assert all(row.depth_m is None or row.depth_m >= 0 for row in found.rows)
