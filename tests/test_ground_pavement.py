"""An old pavement against the rules of the trade: gaps carried over to 6 ft, the classes it speaks for, its base."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from printed import FOOT2_M2, FOOT_M, INCH_M

from basecalc import InputError, OutOfRangeError, Reading
from basecalc.core.published import table
from basecalc.ground.old_pavement import (
    Pavement,
    Seen,
    TestHole,
    hole_advice,
    holes_needed,
    old_base_verdict,
    open_words,
    speaks,
)
from basecalc.ground.readings import find, gap_under_six_feet


def seen(gap: float, length: float = 6.0, where: str = "wheel tracks") -> Seen:
    return Seen("rut", where, gap * INCH_M, length * FOOT_M)


def said(kind: str = "asphalt", **what: object) -> tuple[str, str]:
    speech = speaks(Pavement(**what), kind, "us")  # type: ignore[arg-type]
    return speech.weakest, speech.strongest


@pytest.mark.source("a gap over 3/4 in under 6 ft, medium to stiff: common practice, no source; [practice]")
def test_a_gap_over_three_quarters_of_an_inch_is_medium_to_stiff() -> None:
    assert said(seen=(seen(0.76),)) == said(seen=(seen(1.9),)) == ("medium", "stiff")
    assert said(seen=(seen(0.74),)) == ("medium", "hard")  # our own closing of the gap in the rule, on the weak side


@pytest.mark.source("ten years with no settlement, stiff or hard: common practice, no source; [practice]")
def test_ten_years_without_settlement_is_stiff_or_hard() -> None:
    assert said(age=10.0, state="even") == said("gravel", age=25.0, state="even") == ("stiff", "hard")


def test_what_the_rule_does_not_speak_of_says_nothing() -> None:
    assert said(age=9.0, state="even") == said(state="even") == said(state="settled") == said() == ("", "")
    assert "no gap was measured" in speaks(Pavement(state="rutted"), "pavers", "us").sentences[0]
    assert "only 9 years old" in speaks(Pavement(age=9.0, state="even"), "pavers", "us").sentences[0]
    assert open_words(speaks(Pavement(), "pavers", "us")) == ""


def test_concrete_that_lies_even_says_nothing_but_a_wide_gap_does() -> None:
    assert said("concrete", age=30.0, state="even") == said("concrete", seen=(seen(0.5),)) == ("", "")
    assert said("concrete", seen=(seen(1.0),)) == ("medium", "stiff")


def test_a_gap_under_another_length_is_an_interval_by_hand() -> None:
    # one even sag: gaps as the squares, 1 x (6 / 8)^2 = 0.5625; a narrow rut: the same 1 in
    assert gap_under_six_feet(1.0, 8.0) == pytest.approx((0.5625, 1.0))
    # 5 ft: 0.6 x (6 / 5)^2 = 0.864
    assert gap_under_six_feet(0.6, 5.0) == pytest.approx((0.6, 0.864))
    assert said(seen=(seen(1.0, 8.0),)) == ("medium", "hard")  # between 0.56, medium or better, and 1, medium to stiff
    assert said(seen=(seen(2.5, 10.0),)) == ("soft", "stiff")  # between 0.9 and 2.5


@pytest.mark.parametrize("length", [3.0, 4.0, 4.89, 10.1, 16.0])
def test_a_length_far_from_six_feet_is_refused(length: float) -> None:
    with pytest.raises(OutOfRangeError, match=r"straightedge is [\d.]+ ft; it must be from 4.9 to 10 ft \(the rule"):
        gap_under_six_feet(0.5, length)


@given(st.floats(0, 2), st.floats(4.9, 10))
def test_the_interval_always_holds_the_gap_itself_and_the_weak_end_is_no_better(gap: float, length: float) -> None:
    low, high = gap_under_six_feet(gap, length)
    assert low <= high
    assert low * (1 - 1e-8) <= gap <= high * (1 + 1e-8)
    assert gap_under_six_feet(gap, 6.0) == (pytest.approx(gap), pytest.approx(gap))


def test_a_reading_may_name_the_length_of_its_straightedge() -> None:
    finding = find(Reading("straightedge", "1 in under 8 ft"))
    assert (finding.weakest, finding.strongest) == ("medium", "hard")
    assert "1 in under a straightedge of 8 ft" in finding.sentence
    assert "[own]" in finding.source
    metric = find(Reading("straightedge", "20 mm under 2 m"))  # 0.79 in, or 0.79 x (1.8288 / 2)^2 = 0.66 in
    assert (metric.weakest, metric.strongest) == ("medium", "hard")
    with pytest.raises(OutOfRangeError, match=r"must be from 4\.9 to 10 ft"):
        find(Reading("straightedge", "1 in under 4 ft"))
    with pytest.raises(InputError, match="gap is '1'; it must have its unit"):
        find(Reading("straightedge", "1 under 8 ft"))


@pytest.mark.source("AASHTO-1993, Part III, Table 5.2, granular base; [memory]")
def test_layer_coefficients_of_an_old_granular_base() -> None:
    credit = table("old_base_credit")
    assert (credit.exact("clean")["low"], credit.exact("clean")["high"]) == (0.10, 0.14)
    assert (credit.exact("dirty")["low"], credit.exact("dirty")["high"]) == (0.00, 0.10)


CLEAN = (TestHole("gate", 8 * INCH_M, "clean"), TestHole("garage", 7 * INCH_M, "clean"))
SMALL = 800 * FOOT2_M2


def test_an_old_base_stays_with_clean_holes_on_stiff_ground_and_counts_by_its_thinnest_hole() -> None:
    verdict = old_base_verdict(Pavement(holes=CLEAN, seen=(seen(0.25),)), "stiff", SMALL)
    assert verdict.stays
    assert verdict.base_m == 7 * INCH_M
    assert verdict.share == pytest.approx(10 / 14)


@pytest.mark.parametrize(
    ("known", "word", "reason"),
    [
        (None, "hard", "0 of the 2 test holes"),
        (Pavement(base_m=0.2), "hard", "0 of the 2 test holes"),  # somebody's word is no hole
        (Pavement(holes=CLEAN[:1]), "hard", "1 of the 2 test holes"),
        (Pavement(holes=CLEAN), "medium", "the ground below is medium"),
        (Pavement(holes=CLEAN, seen=(seen(0.75),)), "stiff", "has settled or rutted"),
        (Pavement(holes=CLEAN, state="settled"), "stiff", "has settled or rutted"),
        (Pavement(holes=(*CLEAN, TestHole("edge", 0.2, "dirty"))), "stiff", "at edge there is mud"),
        (Pavement(holes=(*CLEAN, TestHole("edge", 0.0, "clean"))), "stiff", "shows no base at all"),
    ],
)
def test_every_reason_against_an_old_base_is_told(known: Pavement | None, word: str, reason: str) -> None:
    verdict = old_base_verdict(known, word, SMALL)
    assert not verdict.stays
    assert any(reason in against for against in verdict.against)


def test_a_larger_area_needs_more_holes() -> None:
    # own choice: two, or one for each 1,000 ft2 where that is more
    assert [holes_needed(area * FOOT2_M2) for area in (100, 2000, 2001, 4500)] == [2, 2, 3, 5]
    assert "Open 3 test holes" in hole_advice(2500 * FOOT2_M2, "us")
    assert "12 in into the ground" in hole_advice(SMALL, "us")
    assert "305 mm into the ground" in hole_advice(SMALL, "metric")
