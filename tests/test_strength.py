"""Readings of a spot, spots of an area: intersection, conflicts, the weakest spot, flags, what to test next."""

import re
from itertools import permutations
from statistics import median

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from printed import class_of_cbr, rank, strong_edge, weak_edge

from basecalc import InputError, OutOfRangeError, Reading, Strength, area_strength, spot_strength
from basecalc.ground.strength import SpotStrength, site_strength


def spot(name: str, *readings: tuple[str, object]) -> SpotStrength:
    """Return a spot of wet ground with these tests and values."""
    return spot_strength(name, [Reading(test, value, "wet") for test, value in readings])  # type: ignore[arg-type]


def measured(name: str, cbr: float) -> SpotStrength:
    return spot(name, ("cbr", cbr))


def cone_spots(*cbrs: float) -> list[SpotStrength]:
    return [measured(f"S{place}", cbr) for place, cbr in enumerate(cbrs, 1)]


READINGS = st.one_of(
    st.builds(Reading, st.just("stand"), st.floats(0, 6), st.sampled_from(["", "dry", "wet"])),
    st.builds(Reading, st.just("walk"), st.floats(0, 6), st.sampled_from(["", "dry", "wet"])),
    st.builds(Reading, st.just("dump truck"), st.floats(0, 9), st.just("wet")),
    st.builds(Reading, st.just("shovel"), st.sampled_from(["no effort", "easy", "moderate", "hard", "pick"])),
    st.builds(Reading, st.just("rod"), st.floats(0, 40), st.just("frozen"), st.sampled_from(["", "sand", "clay"])),
    st.builds(Reading, st.just("cone"), st.floats(1, 350), st.just("moist"), st.sampled_from(["", "CL", "CH"])),
    st.builds(Reading, st.just("pocket"), st.floats(0, 5)),
)
SEVERAL = st.lists(READINGS, min_size=1, max_size=5)


# one spot
def test_readings_intersect() -> None:
    both = spot("S1", ("stand", 1.5), ("shovel", "moderate"))  # soft to medium, medium to stiff
    assert (both.weakest, both.strongest, both.cbr, both.conflicts) == ("medium", "medium", None, ())
    assert both.decided_by.reading.test == "shovel", "it rules out what is weaker than medium"
    assert both.strength == Strength("medium")


def test_a_conflict_is_won_by_the_weakest_and_names_both_readings() -> None:
    torn = spot("S1", ("thumb", "thumb great effort"), ("walk", 2.5))
    assert (torn.weakest, torn.strongest) == ("soft", "soft")
    assert torn.decided_by.reading.test == "walk"
    assert torn.conflicts == ("'walk 2.5 in' says soft, but 'thumb great effort' says stiff: the weaker is taken",)


def test_each_reading_that_disagrees_is_named() -> None:
    torn = spot("S1", ("thumb", "thumbnail hard"), ("walk", 2.5), ("dump truck", 0.1), ("stand", 1))
    assert len(torn.conflicts) == 2
    assert all("'walk 2.5 in' says soft" in conflict for conflict in torn.conflicts)
    assert "'thumbnail hard' says hard" in torn.conflicts[1]
    assert "'dump truck 0.1 in' says hard" in torn.conflicts[0]


def test_the_lowest_measured_ratio_inside_the_interval_counts() -> None:
    assert spot("S1", ("cbr", 2.5), ("cbr", 2.0), ("pickup", 0.7)).cbr == 2.0
    assert spot("S1", ("walk", 0.5), ("cbr", 2.0)).strength == Strength("stiff", 2.0)


def test_a_measured_ratio_counts_no_further_than_a_weaker_reading_allows() -> None:
    torn = spot("S1", ("walk", 2.5), ("cbr", 2.0))  # soft ends at CBR 0.8
    assert (torn.strength, len(torn.conflicts)) == (Strength("soft", 0.8), 1)
    assert torn.decided_by.reading.test == "walk"
    very_soft = spot("S1", ("stand", 4), ("cbr", 2.0))  # for the engineer, whatever was measured
    assert (very_soft.strength, len(very_soft.conflicts)) == (Strength("very soft", None), 1)


@pytest.mark.source("common practice, no source: the weakest of several signs counts; ASTM-D6951, all soils; [read]")
def test_weaker_evidence_at_a_spot_never_counts_more() -> None:
    def cone(mm: float) -> SpotStrength:
        return spot_strength("S1", [Reading("walk", 1.5, "wet"), Reading("cone", mm, "wet", "sand")])

    # medium ends at CBR 1.6; 292 / 106^1.12 is 1.574
    assert (cone(104).cbr, cone(106).cbr) == (1.6, pytest.approx(1.574, abs=0.001))
    ruts = [spot("S1", ("pickup", 2), ("walk", 1.5)), spot("S1", ("pickup", 2), ("dump truck", 0.2))]
    assert [one.strength for one in ruts] == [Strength("medium"), Strength("medium")]


def test_a_low_measured_ratio_wins_over_a_stronger_class() -> None:
    torn = spot("S1", ("pickup", 0.7), ("cbr", 0.9))
    assert torn.strength == Strength("medium", 0.9)
    assert torn.decided_by.reading.test == "cbr"


def test_the_season_rule_reaches_the_spot() -> None:
    reading = Reading("cbr", 2.0, "dry", "clay")
    assert spot_strength("S1", [reading]).strength == Strength("medium", 1.0)
    assert spot_strength("S1", [reading], class_down=False).strength == Strength("stiff", 2.0)


def test_a_spot_needs_a_reading_and_a_refusal_names_the_spot() -> None:
    with pytest.raises(InputError, match="spot S7 has no reading; it needs at least one"):
        spot_strength("S7", [])
    with pytest.raises(OutOfRangeError, match=r"^spot S7: walk is 99 in"):
        spot_strength("S7", [Reading("walk", 99)])


@given(SEVERAL)
@example([Reading("rod", 0.0, "frozen", "sand"), Reading("rod", 0.0, "frozen")])
def test_the_order_of_readings_does_not_matter(several: list[Reading]) -> None:
    results = [spot_strength("S", list(order)) for order in list(permutations(several))[:24]]
    first = results[0]
    for other in results[1:]:
        assert (other.weakest, other.strongest, other.cbr, other.decided_by, other.conflicts, other.test_next) == (
            first.weakest, first.strongest, first.cbr, first.decided_by, first.conflicts, first.test_next,
        )  # fmt: skip


@given(SEVERAL)
def test_a_spot_is_never_stronger_than_any_of_its_readings_allows(several: list[Reading]) -> None:
    result = spot_strength("S", several)
    assert rank(result.weakest) <= rank(result.strongest)
    assert all(rank(result.strongest) <= rank(finding.strongest) for finding in result.findings)
    assert result.decided_by in result.findings
    counting = [finding for finding in result.findings if finding.counts]
    if not counting:
        assert (result.counts, result.strength, result.conflicts) == (False, Strength("very soft"), ())
        return
    assert result.decided_by in counting
    assert result.weakest in (result.decided_by.weakest, result.decided_by.strongest)
    if result.cbr is not None:
        assert class_of_cbr(result.cbr) == result.weakest
        assert result.cbr in (result.decided_by.cbr, strong_edge(result.decided_by.strongest))
        assert result.cbr <= min(finding.cbr for finding in counting if finding.cbr is not None)
    assert bool(result.conflicts) == any(rank(f.weakest) > rank(result.strongest) for f in counting)


# an area
def test_below_four_measured_spots_the_weakest_governs() -> None:
    spots = [measured("S1", 3), measured("S2", 2.2), measured("S3", 5)]
    area = area_strength("drive", spots, walked=True)
    assert (area.strength, area.governed_by) == (Strength("stiff", 2.2), "S2")
    assert area.rule.startswith("the weakest of 3 spots: S2; the area was walked")
    area = area_strength("drive", spots)  # 0.7 x 2.2 = 1.54, not less than 1.6, where stiff ground begins
    assert (area.strength, area.governed_by) == (Strength("stiff", 1.6, 2.2), "S2")
    assert area.rule.startswith("the weakest of 3 spots: S2; the area was not walked")
    assert area_strength("drive", spots, allowance=0.9).strength == Strength("stiff", 1.98, 2.2)


def test_a_class_alone_counts_with_its_weak_edge_among_the_weakest() -> None:
    by_class = spot("S2", ("pickup", 0.7))  # stiff: 1.6

    def walked(cbr: float, edge: str = "weak") -> Strength:
        return area_strength("drive", [measured("S1", cbr), by_class], class_edge=edge, walked=True).strength

    assert walked(2.2) == Strength("stiff", None)
    assert walked(1.5) == Strength("medium", 1.5)
    # an owner who designs at the middle of the band (2.26) is governed by the measured 2.2 instead
    assert walked(2.2, "middle") == Strength("stiff", 2.2)


@pytest.mark.source("TM-5-818-8, sec. 2-7a: the lower quartile; [read]")
def test_from_four_measured_spots_on_the_lower_quartile_governs_where_the_owner_asks_for_it() -> None:
    # 2, 3, 4, 5: the (4 + 1) / 4 = 1.25th value lies a quarter of the way from 2 to 3
    area = area_strength("drive", cone_spots(5, 3, 2, 4), walked=True, spot_rule="quartile")
    assert (area.strength, area.governed_by) == (Strength("stiff", 2.25), "")
    assert area.rule.startswith(
        "the lower quartile of 4 measured bearing ratios, at most 1.25 times the weakest, 2.2 % (TM 5-818-8, sec. 2-7a"
    )
    assert area_strength("drive", cone_spots(5, 3, 2, 4), walked=True).strength == Strength("stiff", 2.0)
    three = area_strength("drive", cone_spots(5, 3, 2), walked=True, spot_rule="quartile")
    assert (three.strength, three.governed_by) == (Strength("stiff", 2.0), "S3")


@pytest.mark.source("UFC-3-260-02, fig. 6-2: design 4.7 of these 20 tests (85 percent equal or greater); [read]")
def test_the_lower_quartile_is_near_the_airfield_rule_and_below_the_median() -> None:
    tests = [4, 4, 4, 4, *[5] * 5, *[6] * 5, 7, 7, 8, 8, 10, 11]
    assert site_strength(tests).cbr == 4.0, "by default more cautious than the airfield rule"
    ours = site_strength(tests, "quartile").cbr
    assert ours == 5.0, "by TM 5-818-8; the airfield rule is a little more cautious"
    assert abs(ours - 4.7) <= 0.5
    assert ours <= median(tests)
    # 16 of 20 are 5 or greater, all are 4 or greater: 85 percent lies a quarter of the way from 5 down to 4
    assert pytest.approx(4.7, abs=0.2) == 5 - (0.85 - 16 / 20) / (1 - 16 / 20)


def test_a_class_only_spot_weaker_than_the_quartile_governs() -> None:
    area = area_strength("drive", [*cone_spots(5, 3, 2.5, 4), spot("S5", ("walk", 1.5))], spot_rule="quartile")
    assert (area.strength, area.governed_by) == (Strength("medium", None), "S5")
    assert area.rule.startswith("S5, known by class only, is weaker than the lower quartile of 4")


def test_a_class_only_spot_governs_by_what_it_counts_not_by_its_word() -> None:
    by_class = spot("S5", ("pickup", 0.7))  # stiff: 1.6
    area = area_strength("drive", [*cone_spots(3, 3, 2.5, 3), by_class], walked=True, spot_rule="quartile")
    assert (area.strength, area.governed_by) == (Strength("stiff"), "S5")


def test_a_very_soft_spot_governs_whatever_the_quartile() -> None:
    by_ratio = area_strength("drive", cone_spots(8, 8, 8, 8, 8, 0.39), walked=True, spot_rule="quartile")
    assert by_ratio.strength == Strength("very soft", 0.39), "1.25 times it would be soft"
    assert by_ratio.rule.startswith("S6 is very soft, which governs whatever the other spots are")
    by_class = area_strength("drive", [*cone_spots(8, 8, 8, 8, 0.3), spot("S9", ("stand", 4))])
    assert (by_class.strength, by_class.governed_by) == (Strength("very soft", None), "S9")


def test_one_spot_is_the_area() -> None:
    area = area_strength("drive", [spot("S1", ("pickup", 0.7))])
    assert (area.strength, area.rule) == (Strength("stiff"), "the only spot")


def test_conflicts_of_its_spots_are_shown_with_their_names() -> None:
    area = area_strength("drive", [measured("S1", 3), spot("S2", ("walk", 2.5), ("cbr", 2.0))])
    assert len(area.conflicts) == 1
    assert area.conflicts[0].startswith("S2: 'walk 2.5 in' says soft, but 'cbr 2 %' says stiff")


def test_an_area_needs_spots_with_names_of_their_own() -> None:
    with pytest.raises(InputError, match="area drive has no spot"):
        area_strength("drive", [])
    with pytest.raises(InputError, match="area drive has two spots named S1"):
        area_strength("drive", [measured("S1", 3), measured("S1", 2)])


@given(st.lists(SEVERAL, min_size=1, max_size=6), st.booleans())
def test_an_area_is_never_stronger_than_its_weakest_spot_allows(groups: list[list[Reading]], walked: bool) -> None:
    spots = [spot_strength(f"S{place}", group) for place, group in enumerate(groups)]
    if not any(result.counts for result in spots):
        with pytest.raises(InputError, match="area drive was read in frozen ground only; frozen ground does not"):
            area_strength("drive", spots, walked=walked)
        return
    area = area_strength("drive", spots, walked=walked)
    spots = [result for result in spots if result.counts]
    weakest = min(rank(result.weakest) for result in spots)
    share = 1.0 if walked else 0.7
    designs = [max(share * (result.cbr or 0.0), weak_edge(result.weakest)) for result in spots]
    own = area.strength.cbr if area.strength.cbr is not None else weak_edge(area.strength.strength_class)
    assert own == pytest.approx(min(designs))
    assert rank(area.strength.strength_class) == weakest
    if weakest == 0:
        assert area.strength.strength_class == "very soft"
    assert all(rank(area.strength.strength_class) <= rank(result.weakest) for result in spots if result.cbr is None), (
        "no spot known by class alone is weaker than the area"
    )
    assert area.test_next


@given(st.lists(st.floats(0.05, 100), min_size=4, max_size=12))
def test_the_lower_quartile_lies_between_the_weakest_and_the_median(cbrs: list[float]) -> None:
    result = site_strength(cbrs, "quartile")
    assert result.cbr is not None
    assert min(cbrs) <= result.cbr * (1 + 1e-8)
    assert result.cbr <= median(cbrs) * (1 + 1e-8)
    assert result.cbr <= 1.25 * min(cbrs) * (1 + 1e-8)
    assert result.strength_class == class_of_cbr(result.cbr)


# a range of classes and ratios
def test_site_strength_takes_words_and_numbers() -> None:
    assert site_strength(["stiff", "Medium", "hard"]) == Strength("medium", None)
    assert site_strength(["stiff", 0.9, "2 %"]) == Strength("medium", 0.9)
    assert site_strength([4, 5, 6, 7]) == Strength("very stiff", 4.0)
    assert site_strength([4, 5, 6, 7], "weakest") == Strength("very stiff", 4.0)
    assert site_strength([4, 5, 6, 7], "Lower Quartile") == Strength("very stiff", 4.25)
    assert site_strength([4, 5, 6, 7], "quartile") == Strength("very stiff", 4.25)
    assert site_strength([4, 9, 9, 9], "quartile") == Strength("very stiff", 5.0), "at most 1.25 times the weakest"
    assert site_strength([4, 5, 6, 7, "very soft"], "quartile") == Strength("very soft", None)
    assert site_strength([4, 5, 6, 7, "medium"], "quartile") == Strength("medium", None)


def test_site_strength_refuses_what_it_cannot_judge() -> None:
    with pytest.raises(InputError, match="strengths are missing"):
        site_strength([])
    with pytest.raises(InputError, match=r"^value 2: strength is 'firm'"):
        site_strength(["soft", "firm"])
    with pytest.raises(InputError, match=r"^value 1: strength is missing"):
        site_strength([None])
    with pytest.raises(OutOfRangeError, match=r"^value 3: strength is 200 %"):
        site_strength([1, 2, 200])
    with pytest.raises(InputError, match="rule is 'lower quartile' with 3 measured CBRs; it needs at least 4"):
        site_strength([1, 2, 3, "soft"], "lower quartile")
    with pytest.raises(InputError, match="rule is 'mean'; it must be one of: auto, weakest, quartile, lower quartile"):
        site_strength([1, 2], "mean")


# what to test next
@pytest.mark.parametrize(
    ("result", "words"),
    [
        (spot("S", ("walk", 2.5)), "A cone test would give a number"),
        (spot("S", ("stand", 4)), "Very soft ground is beyond the rules of the trade: .*licensed soils engineer"),
        (spot("S", ("cbr", 0.3)), "licensed soils engineer"),
        (spot("S", ("rod", 30)), "Very soft ground is not ruled out: stand on it"),
        (spot("S", ("rod", 30), ("stand", 1.5)), "Soft to medium is left open: walk over it"),
        (spot("S", ("stand", 0.5)), "Soft to hard is left open: walk over it"),
        (spot("S", ("walk", 0.5)), "Medium to hard is left open: drive an empty pickup"),
        (spot("S", ("walk", 0.5), ("pickup", 0.2)), "Stiff to hard is left open: drive a loaded dump truck"),
        (spot("S", ("dump truck", 0.5)), "Very stiff to hard is left open: a cone test"),
        (spot("S", ("straightedge", 0.5)), "Open a test hole through the old pavement"),
        (spot("S", ("walk", 2.5), ("cbr", 2)), "The readings disagree: test the same place with a cone"),
        (spot("S", ("cbr", 2)), "No further test is needed here"),
    ],
)
def test_what_to_test_next_at_a_spot(result: SpotStrength, words: str) -> None:
    assert re.search(words, result.test_next)
    assert result.test_next.count(".") == 1
    assert result.test_next.endswith(".")


def test_a_dry_or_frozen_reading_is_to_be_read_again() -> None:
    assert "after a wet spell" in spot_strength("S", [Reading("walk", 1.5, "dry", "silt")], class_down=True).test_next
    assert "has thawed" in spot_strength("S", [Reading("cbr", 9, "frozen", "gravel")]).test_next
    coarse = spot_strength("S", [Reading("cbr", 9, "dry", "gravel")])
    assert coarse.test_next == "No further test is needed here."


def test_what_to_test_next_in_an_area() -> None:
    single = area_strength("drive", [spot("S1", ("walk", 2.5))])
    assert single.test_next.startswith("A cone test would give a number")
    two = area_strength("drive", [spot("S1", ("walk", 2.5)), measured("S2", 3)])
    assert two.test_next.startswith("At S1: A cone test would give a number")
    apart = area_strength("drive", [measured("S1", 0.6), measured("S2", 3)])
    assert apart.test_next.startswith("Find out how far the weaker ground around S1 reaches")
    alike = area_strength("drive", [measured("S1", 2), measured("S2", 3)])
    assert alike.test_next == "No further test is needed here."
    assert area_strength("drive", cone_spots(2, 3, 4, 5)).test_next == "No further test is needed here."
    assert "engineer" in area_strength("drive", [measured("S1", 0.3), measured("S2", 3)]).test_next
    dry = [spot_strength(f"S{n}", [Reading("cbr", 4, "dry", "clay")]) for n in range(4)]
    assert "after a wet spell" in area_strength("drive", dry).test_next


# flags
def rods(*depths: float) -> list[SpotStrength]:
    return [spot(f"S{place}", ("rod", depth)) for place, depth in enumerate(depths, 1)]


@pytest.mark.source(
    "a rod that goes in much further is loose backfill: common practice, no source; [practice]; the limits: own choice"
)
@pytest.mark.parametrize(
    ("depths", "flagged"),
    [
        ((5, 6, 5, 20), "S4"),
        ((5, 20), "S2"),
        ((6, 12.1), "S2"),  # more than twice, 6.1 in deeper
        ((6, 12), None),  # twice is not more than twice
        ((2, 7.9), None),  # more than twice, not 6 in deeper
        ((2, 8), "S2"),
        ((20, 30, 25), None),
        ((30,), None),
    ],
)
def test_a_rod_that_goes_far_deeper_than_its_neighbours(depths: tuple[float, ...], flagged: str | None) -> None:
    flags = area_strength("drive", rods(*depths)).flags
    assert len(flags) == (flagged is not None)
    assert all(f"At {flagged} the rod went in" in flag and "loose backfill" in flag for flag in flags)


def test_the_deepest_rod_of_a_spot_counts_and_words_have_no_depth() -> None:
    spots = [spot("S1", ("rod", 5), ("rod", 22)), spot("S2", ("rod", "6 in")), spot("S3", ("rod", "easy"))]
    (flag,) = area_strength("drive", spots).flags
    assert flag.startswith("At S1 the rod went in 22 in, at its neighbors 6 in")


def test_new_plot_foundation_and_old_pavement_are_flagged() -> None:
    firm, weak = [measured("S1", 2)], [measured("S1", 1)]
    assert area_strength("drive", firm).flags == ()
    (new,) = area_strength("drive", firm, new_build=True).flags
    assert "settles for years" in new
    (near,) = area_strength("drive", firm, near_foundation=True).flags
    assert "along a foundation" in near
    (stays,) = area_strength("drive", firm, old_pavement=True).flags
    assert "its base can probably stay" in stays
    assert area_strength("drive", weak, old_pavement=True).flags == ()
    assert len(area_strength("drive", firm, new_build=True, near_foundation=True, old_pavement=True).flags) == 3
