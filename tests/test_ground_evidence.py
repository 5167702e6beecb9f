"""All readings together: what each allows, which decides, what is left open, and how far it can be trusted."""

from itertools import permutations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from printed import rank

from basecalc import AreaEvidence, Reading, Strength, area_strength, ground_evidence, spot_strength
from basecalc.core.published import table
from basecalc.ground.evidence import AGREES, DECIDES, NOT_COUNTED, SET_ASIDE, confidence, scatter, span_of
from basecalc.ground.strength import AreaStrength, SpotStrength

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


@settings(deadline=None)  # a busy machine is no fault
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


@settings(deadline=None)  # a busy machine is no fault
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


@settings(deadline=None)  # a busy machine is no fault
@given(SPOTS, READINGS, st.integers(0, 5))
def test_no_further_reading_makes_an_area_stronger_than_its_weakest_spot_allows(
    groups: list[list[Reading]], one_more: Reading, at: int
) -> None:
    """Held against what the readings allow, not against our own choice of the weakest."""
    groups = [list(group) for group in groups]
    groups[at % len(groups)].append(one_more)
    found = ground_evidence(area(groups))
    for one in found.spots:
        allowed = min(rank(row.taken.strongest) if row.finding.cbr is None else rank(row.finding.strongest)
                      for row in one.readings)  # fmt: skip
        assert rank(one.strength.strength_class) <= allowed
        assert rank(found.strength.strength_class) <= allowed


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


@settings(deadline=None)  # a busy machine is no fault
@given(SPOTS)
def test_confidence_counts_what_was_read(groups: list[list[Reading]]) -> None:
    made = area(groups)
    found = confidence(made)
    thawed = [[one for one in read.findings if one.reading.moisture != "frozen"] for read in made.spots]
    assert (found.spots, found.tests) == (sum(map(bool, thawed)), sum(map(len, thawed)))
    assert found.word in {str(row["word"]) for row in table("confidence_words").rows}
    assert found.word != "good" or (not found.doubts and found.chance is not None and found.chance <= 0.1)
