"""What readings leave open together, how far they can be trusted, and the chance that the ground is weaker."""

import importlib.util
import sys
from itertools import pairwise, permutations
from math import sqrt
from pathlib import Path
from types import ModuleType

import pytest
from hypothesis import given
from hypothesis import strategies as st
from printed import rank

from basecalc import AreaEvidence, Reading, Strength, area_strength, ground_evidence, spot_strength
from basecalc.core.published import table
from basecalc.ground.evidence import (
    AGREES,
    DECIDES,
    NOT_COUNTED,
    SET_ASIDE,
    area_chance,
    chance_weaker,
    chance_words,
    confidence,
    scatter,
    span_of,
    variance,
)
from basecalc.ground.strength import AreaStrength, SpotStrength

# ---- all readings together
MOISTURES = st.sampled_from(["", "dry", "moist", "wet", "frozen"])
SOILS = st.sampled_from(["", "clay", "silt", "fat clay"])
READINGS = st.one_of(
    st.builds(Reading, st.just("stand"), st.floats(0, 6), MOISTURES, SOILS),
    st.builds(Reading, st.just("walk"), st.floats(0, 6), MOISTURES, SOILS),
    st.builds(Reading, st.just("pickup"), st.floats(0, 6), MOISTURES),
    st.builds(Reading, st.just("dump truck"), st.floats(0, 9), MOISTURES),
    st.builds(Reading, st.just("shovel"), st.sampled_from(["no effort", "easy", "moderate", "hard", "pick"])),
    st.builds(Reading, st.just("rod"), st.floats(0, 40), MOISTURES),
    st.builds(Reading, st.just("cone"), st.floats(1, 350), MOISTURES, SOILS),
    st.builds(Reading, st.just("pocket"), st.floats(0, 5), MOISTURES, SOILS),
    st.builds(Reading, st.just("cbr"), st.floats(0.05, 100), MOISTURES, SOILS),
)
SPOTS = st.lists(st.lists(READINGS, min_size=1, max_size=4), min_size=1, max_size=6)
EDGES = st.sampled_from(["weak", "middle"])


def spot(name: str, *readings: tuple[str, object], moisture: str = "wet") -> SpotStrength:
    return spot_strength(name, [Reading(test, value, moisture) for test, value in readings])  # type: ignore[arg-type]


def area(groups: list[list[Reading]], edge: str = "weak") -> AreaStrength:
    """Return an area of these spots; where all were read frozen, with a spot more that was not."""
    spots = [spot_strength(f"S{k}", group) for k, group in enumerate(groups)]
    if not any(one.counts for one in spots):
        spots.append(spot("thawed", ("pickup", 0.7)))
    return area_strength("drive", spots, class_edge=edge)


def evidence(*spots: SpotStrength, rule: str = "weakest") -> AreaEvidence:
    return ground_evidence(area_strength("drive", list(spots), walked=True, spot_rule=rule))


# what each reading allows
def test_each_reading_stands_as_read_and_as_taken_with_its_part() -> None:
    found = evidence(spot("S1", ("walk", 2.5), ("thumb", "thumb great effort"), ("rod", 20), moisture="dry"))
    (one,) = found.spots
    assert [(row.finding.reading.test, row.role) for row in one.readings] == [
        ("walk", DECIDES), ("rod", AGREES), ("thumb", SET_ASIDE),
    ]  # fmt: skip
    walked = one.readings[0]
    assert (walked.as_read.weakest, walked.taken.weakest) == ("soft", "very soft")
    assert (walked.as_read.low_cbr, walked.as_read.high_cbr) == (0.4, 0.8)
    assert all(row.source for row in one.readings)
    assert len(found.conflicts) == 1


def test_a_measured_ratio_may_lie_off_by_the_published_difference_of_the_cone_curves() -> None:
    assert scatter() == (0.7, 1.4)
    found = span_of(Strength("stiff", 2.0))
    assert (found.low_cbr, found.high_cbr) == pytest.approx((1.4, 2.8))
    assert (found.weakest, found.strongest) == ("medium", "stiff")
    row = evidence(spot("S1", ("cbr", 2.0))).spots[0].readings[0]
    assert "0.7 and 1.4 of it" in row.source


def test_a_reading_by_class_narrows_what_a_measured_ratio_leaves_open() -> None:
    found = evidence(spot("S1", ("cbr", 3.0), ("pickup", 0.7))).left
    assert (found.low_cbr, found.high_cbr) == pytest.approx((2.1, 3.2))  # 4.2 without the rut, which says stiff


# what is left open in an area
def test_the_next_weakest_spot_bounds_what_tests_can_find() -> None:
    found = evidence(spot("S1", ("walk", 2.5)), spot("S2", ("pickup", 0.7)))
    assert (found.left.low_cbr, found.left.high_cbr) == (0.4, 0.8)
    assert found.to_test == ("S1",)  # at S2 the ground is stiff in any case


def test_every_spot_that_holds_the_strength_back_is_to_be_tested() -> None:
    found = evidence(spot("S1", ("walk", 1.5)), spot("S2", ("walk", 1.2)), spot("S3", ("cbr", 5)))
    assert found.to_test == ("S1", "S2")
    assert (found.left.low_cbr, found.left.high_cbr) == (0.8, 1.6)


@pytest.mark.source("TM-5-818-8, sec. 2-7a: the lower quartile; [read]")
def test_one_more_spot_moves_the_quartile_between_those_of_the_weakest_and_the_strongest() -> None:
    found = evidence(*(spot(f"S{k}", ("cbr", cbr)) for k, cbr in enumerate((2, 3, 4, 5))), rule="quartile")
    # the (n + 1) quartile of four is a quarter of the way from 2 to 3; of five, half way between the first two:
    # 2 of 2 2 3 4 5; 2.5 of 2 3 4 5 5, which is 1.25 times the weakest, its most
    assert (found.cbr, found.left.low_cbr, found.left.high_cbr, found.to_test) == (2.25, 2.0, 2.5, ())
    assert "lower quartile" in found.rule
    assert "sec. 2-7a" in found.rule_source


def test_a_spot_known_by_class_is_to_be_tested_where_it_undercuts_the_quartile() -> None:
    found = evidence(*(spot(f"S{k}", ("cbr", 4)) for k in range(4)), spot("S9", ("walk", 1.5)), rule="quartile")
    assert (found.cbr, found.to_test) == (0.8, ("S9",))
    assert (found.left.low_cbr, found.left.high_cbr) == (0.8, 1.6)


def test_ground_given_by_hand_is_open_over_its_class() -> None:
    given_by_hand = AreaStrength("drive", (), Strength("medium"), "given by hand", (), (), "")
    found = ground_evidence(given_by_hand)
    assert (found.spots, found.left, found.confidence.word) == ((), span_of(Strength("medium")), "none")


@given(st.lists(READINGS, min_size=1, max_size=4))
def test_any_order_of_readings_is_the_same_evidence(readings: list[Reading]) -> None:
    first, *others = (ground_evidence(area([list(order)])) for order in permutations(readings))
    for other in others:
        assert (other.strength, other.left, other.to_test, other.conflicts, other.confidence) == (
            first.strength, first.left, first.to_test, first.conflicts, first.confidence,
        )  # fmt: skip
        assert [(row.finding.label, row.role, row.taken) for row in other.spots[0].readings] == [
            (row.finding.label, row.role, row.taken) for row in first.spots[0].readings
        ]


@given(SPOTS, EDGES)
def test_what_is_left_open_holds_the_strength_designed_for(groups: list[list[Reading]], edge: str) -> None:
    found = ground_evidence(area(groups, edge), edge)
    assert found.left.low_cbr <= found.left.high_cbr
    assert found.left.holds(found.cbr)
    assert rank(found.left.weakest) <= rank(found.left.strongest)
    for one in found.spots:
        counts = any(row.role != NOT_COUNTED for row in one.readings)
        assert sum(row.role == DECIDES for row in one.readings) == counts
        assert one.left.low_cbr <= one.left.high_cbr
        if one.strength.cbr is not None:
            assert one.left.holds(one.strength.cbr)


# how far it can be trusted
@pytest.mark.parametrize(
    ("spots", "word", "doubts"),
    [
        ([spot(f"S{k}", ("cbr", 3), ("pickup", 0.7)) for k in range(3)], "fair", 0),  # 1 in 6
        ([spot(f"S{k}", ("cbr", 3), ("pickup", 0.7)) for k in range(4)], "good", 0),  # 1 in 10
        ([spot(f"S{k}", ("cbr", 3), ("pickup", 0.7)) for k in range(2)], "fair", 1),
        ([spot(f"S{k}", ("pickup", 0.7), ("shovel", "hard")) for k in range(3)], "fair", 1),  # class alone
        ([spot(f"S{k}", ("cbr", 3)) for k in range(4)], "fair", 1),  # one test
        ([*(spot(f"S{k}", ("cbr", 3), moisture="frozen") for k in range(4)), spot("S9", ("cbr", 3))], "low", 2),
        ([spot(f"S{k}", ("cbr", 3), moisture="") for k in range(3)], "fair", 2),  # one test, no moisture
        ([spot("S1", ("walk", 2.5))], "low", 3),
        ([spot("S1", ("stand", 1.5), ("thumb", "thumbnail hard"))], "low", 3),  # medium: the greatest the boot allows
    ],
)  # fmt: skip
def test_the_word_follows_the_reasons_to_doubt(spots: list[SpotStrength], word: str, doubts: int) -> None:
    found = confidence(area_strength("drive", spots))
    assert (found.word, len(found.doubts)) == (word, doubts)
    assert found.sentence.startswith(f"{word}: ")
    assert "common practice" in found.source


def test_spots_far_apart_hand_instruments_moist_ground_and_few_spots_for_the_area_are_doubts() -> None:
    """Four spots, one of them far weaker: nothing here is 'good', and the sentence says what was done."""
    corner = [
        spot("corner", ("cbr", 0.45), ("walk", 2.8)), *(spot(f"S{k}", ("cbr", 6), ("pickup", 0.3)) for k in range(3))
    ]  # fmt: skip
    found = confidence(area_strength("drive", corner))
    assert found.word != "good"
    assert "the spots differ by more than a class" in found.doubts
    assert found.ratio == pytest.approx(6 / 0.45)
    assert "no reason to doubt" not in found.sentence
    assert "4 spots, 8 readings, 4 with a bearing ratio" in found.sentence
    assert "the area was not walked" in found.sentence
    by_hand = confidence(area_strength("drive", [spot(f"S{k}", ("pocket", 1), ("pickup", 0.7)) for k in range(4)]))
    by_cone = confidence(area_strength("drive", [spot(f"S{k}", ("cone", 40), ("pickup", 0.7)) for k in range(4)]))
    assert any("pocket penetrometer" in doubt for doubt in by_hand.doubts)
    assert not any("pocket penetrometer" in doubt for doubt in by_cone.doubts)
    for soil, doubted in (("", True), ("clay", True), ("sand", False)):
        moist = spot_strength("S1", [Reading("cbr", 3, "moist", soil)])
        assert any("moist" in doubt for doubt in confidence(area_strength("drive", [moist])).doubts) is doubted
    three = area_strength("drive", [spot(f"S{k}", ("cbr", 3), ("pickup", 0.7)) for k in range(3)])
    assert not any("2,000 ft2" in doubt for doubt in confidence(three, area_m2=28.0).doubts)
    assert any("2,000 ft2" in doubt for doubt in confidence(three, area_m2=2787.0).doubts)  # 30,000 ft2


def test_a_pocket_penetrometer_at_the_end_of_its_scale_says_at_least() -> None:
    (row,) = evidence(spot("S1", ("pocket", 4.5))).spots[0].readings
    assert (row.taken.strongest, row.taken.high_cbr) == ("hard", float("inf"))
    assert "'at least'" in row.source
    (row,) = evidence(spot("S1", ("pocket", 4.25))).spots[0].readings
    assert row.taken.high_cbr < 20


def test_old_pavement_looked_at_in_dry_weather_is_no_doubt_of_the_season() -> None:
    words = confidence(area_strength("drive", [spot("S1", ("straightedge", 0.5), moisture="dry")])).doubts
    assert not any("dry ground" in doubt for doubt in words)


@given(SPOTS)
def test_confidence_counts_what_was_read(groups: list[list[Reading]]) -> None:
    made = area(groups)
    found = confidence(made)
    thawed = [[one for one in read.findings if one.reading.moisture != "frozen"] for read in made.spots]
    assert (found.spots, found.tests) == (sum(map(bool, thawed)), sum(map(len, thawed)))
    assert found.word in {str(row["word"]) for row in table("confidence_words").rows}
    assert found.word != "good" or (not found.doubts and found.chance is not None and found.chance <= 0.1)


# ---- the chance of weaker ground
DRIVEWAYS = 3000
SIMULATION = Path(__file__).parent / "bench" / "ground_chance.py"


@pytest.fixture(scope="module")
def simulation() -> ModuleType:
    spec = importlib.util.spec_from_file_location("ground_chance", SIMULATION)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules["ground_chance"] = module
    spec.loader.exec_module(module)
    return module


@pytest.mark.source("tests/bench/ground_chance.py: simulation; [computed]")
def test_every_printed_chance_is_what_a_shorter_simulation_gives(simulation: ModuleType) -> None:
    """Another seed, a twentieth of the driveways; within four standard errors of four grounds of so many driveways."""
    printed = table("chance_weaker").rows
    again = simulation.rows(DRIVEWAYS, seed=71)
    assert len(printed) == len(again) == 8
    for row, found in zip(printed, again, strict=True):
        assert row.keys() == found.keys()
        for column, value in row.items():
            share = float(value) / 100
            within = 100 * 4 * sqrt(share * (1 - share) / (4 * DRIVEWAYS)) + 0.1
            assert found[column] == pytest.approx(float(value), abs=within), (row["spots"], column)


def test_more_spots_and_a_smaller_allowance_never_raise_a_chance() -> None:
    rows = table("chance_weaker").rows
    steps = [name for name in rows[0] if name.startswith("at_")]
    for before, after in pairwise(rows):
        assert all(after[column] < before[column] for column in steps)
    for row in rows:
        values = [float(row[column]) for column in steps]
        assert values == sorted(values)
        assert row["walked"] < row["at_100"]  # walking helps where a reading counts alike


def test_the_rule_moves_the_chance() -> None:
    assert chance_weaker(3, 0) == float(table("chance_weaker").rows[2]["at_70"]) / 100
    assert chance_weaker(3, 0, allowance=0.72) == chance_weaker(3, 0, allowance=0.8) > chance_weaker(3, 0)
    assert chance_weaker(3, 0, walked=True, allowance=0.5) == chance_weaker(3, 0, walked=True)  # counts as measured
    assert chance_weaker(0, 3) < chance_weaker(1, 2) == chance_weaker(3, 0)  # both kinds: the worse
    assert chance_weaker(0, 3, class_edge="middle") > chance_weaker(0, 3)
    assert chance_weaker(5, 0, spot_rule="quartile") > chance_weaker(5, 0)
    assert chance_weaker(40, 0) == chance_weaker(8, 0)


@pytest.mark.parametrize(
    ("share", "words"),
    [
        (0.163, "1 in 6"),
        (0.283, "1 in 4"),
        (0.518, "1 in 2"),
        (0.56, "6 in 10"),
        (0.673, "7 in 10"),
        (0.001, "1 in 50"),
    ],
)
def test_a_chance_is_said_as_a_person_says_it(share: float, words: str) -> None:
    assert chance_words(share) == f"about {words}"


def test_spots_read_in_frozen_ground_lower_no_chance() -> None:
    firm = [spot_strength(f"S{k}", [Reading("cbr", 3, "wet")]) for k in range(2)]
    frozen = [spot_strength(f"F{k}", [Reading("cbr", 30, "frozen")]) for k in range(4)]
    assert area_chance(area_strength("drive", [*firm, *frozen])) == area_chance(area_strength("drive", firm))


def test_one_or_two_spots_are_said_loudly() -> None:
    spots = [spot_strength(f"S{k}", [Reading("cone", 40, "wet"), Reading("walk", 0.2, "wet")]) for k in range(3)]
    for count in (1, 2, 3):
        found = confidence(area_strength("drive", spots[:count]))
        assert found.few is (count < 3)
        assert found.chance_sentence.startswith("only ") is (count < 3)
        assert found.chance is not None
        assert chance_words(found.chance) in found.chance_sentence


@pytest.mark.source("variances add, UFC 3-220-20 ch. 7; [digitized]")
def test_variances_of_the_tests() -> None:
    assert variance("pocket") == pytest.approx(0.35**2 + 0.35**2)
    assert variance("cone") == pytest.approx(0.25**2 + 0.30**2)
    assert variance("class") == pytest.approx(0.20**2 + 0.35**2)
