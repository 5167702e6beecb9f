"""Free water near the bottom of the dig, and what the season of the readings leaves open."""

import re

import pytest

from basecalc import OutOfRangeError
from basecalc.design.frost import season_flag, water_flag, water_reach

FOOT = 0.3048


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
