"""What one more test is worth: mean saving, chance and cost of more, by hand and by random draws, never netted."""

from decimal import Decimal
from math import log, sqrt
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pricing_kit import book, job_data
from scipy.stats import norm
from trial_quote import METRIC, SOFT, TWO_AREAS, trial_book, trial_quote

from basecalc import Quote, Strength, WorthOfTest, evidence_frame, parse_job, quote, worth_frame, worth_of_tests
from basecalc.ground.evidence import prospect

INCH = 0.0254
TRIAL = trial_book()


def job_of(*readings: dict[str, Any], **area: Any) -> dict[str, Any]:
    """Return the driveway read at one spot."""
    data = job_data(**area)
    del data["area"][0]["strength"]
    return {**data, "spot": [{"name": "S1", "readings": list(readings)}]}


def made_of(data: dict[str, Any], *, trial: bool = False) -> Quote:
    return quote(parse_job(data), TRIAL if trial else book())


def worth(data: dict[str, Any]) -> WorthOfTest:
    (found,) = worth_of_tests(made_of(data))
    return found


@pytest.mark.parametrize("end", ["weak", "strong"])
def test_each_end_is_what_the_quote_itself_says_of_ground_of_that_strength(end: str) -> None:
    found = worth_of_tests(trial_quote(TWO_AREAS))[0]
    at = getattr(found, end)
    by_hand = dict(TWO_AREAS, spot=[spot for spot in TWO_AREAS["spot"] if spot["area"] != "Driveway"])
    by_hand["area"] = [{**TWO_AREAS["area"][0], "strength": at.cbr}, TWO_AREAS["area"][1]]
    by_hand["job"] = {**TWO_AREAS["job"], "offer": "geogrid"}
    again = quote(parse_job(by_hand), TRIAL)
    assert again.geogrid is not None
    assert at.depth.required_m == again.geogrid_depths["Driveway"].required_m
    assert at.total == again.geogrid.total


def test_the_worth_of_a_cone_test_worked_out_by_hand() -> None:
    """A boot at one spot says medium: five equally likely readings through the rule, by hand.

    ln of the middle of the band, 0.8 x sqrt 2; s = sqrt(0.2^2 + 0.35^2 + (ln 2)^2 / 12 + 0.25^2 + 0.30^2) = 0.596;
    readings 1.131 exp(0.596 z), z = -1.2816 -0.5244 0 0.5244 1.2816: 0.527 0.828 1.131 1.546 2.428. As they count:
    0.527 is soft, the weak edge 0.4 is more than 0.7 of it; 0.828 and 1.131 count at 0.8; 0.7 x 1.546 = 1.082; 2.428 is
    cut off at 1.6, where the boot's class ends, 1.12.
    """
    data = job_of({"test": "walk", "reading": 1.5, "moisture": "wet"})
    found = worth({**data, "job": {**data["job"], "offer": "stone"}})
    hand = job_data()
    stone = {}
    for cbr in (0.4, 0.8, 1.0821, 1.12):
        hand["area"][0]["strength"] = cbr
        made = made_of({**hand, "job": {**hand["job"], "offer": "stone"}})
        stone[cbr] = (made.depths["Driveway"].required_m / INCH, made.stone.total)
    offer = stone[0.8]
    saved = [max(0.0, offer[0] - stone[cbr][0]) for cbr in (0.4, 0.8, 0.8, 1.0821, 1.12)]
    money = [max(Decimal(0), offer[1] - stone[cbr][1]) for cbr in (0.4, 0.8, 0.8, 1.0821, 1.12)]
    assert found.saves_m / INCH == pytest.approx(sum(saved) / 5)
    assert found.saves == pytest.approx(sum(money) / 5, abs=Decimal("0.011"))
    assert found.more_m / INCH == pytest.approx(stone[0.4][0] - offer[0])
    assert found.more == stone[0.4][1] - offer[1]
    # NORM.S.DIST(ln(0.8 / 1.1314) / 0.5958) = NORM.S.DIST(-0.5817), table of the normal distribution: 0.2804
    assert found.chance_more == pytest.approx(norm.cdf(log(0.8 / (0.8 * sqrt(2))) / 0.5958), abs=2e-4)
    assert found.chance_more == pytest.approx(0.2804, abs=2e-4)
    assert found.sentence("us") == (
        f"One cone test (S1): expected saving {sum(saved) / 5:.1f} in of stone; a chance of 28 % that more is needed, "
        f"then {stone[0.4][0] - offer[0]:g} in more."
    )


def test_the_prospect_of_a_reading_agrees_with_random_ground() -> None:
    """Ground even over the bands left open, read by class; then by a cone: the closed form's points and its middle."""
    rng = np.random.default_rng(5)
    for weakest, strongest, ends in (("medium", "medium", (0.8, 1.6)), ("medium", "very stiff", (0.8, 6.4))):
        found = prospect(Strength(weakest), strongest, "")
        truth = rng.uniform(log(ends[0]), log(ends[1]), 400_000) + rng.normal(0, sqrt(0.2**2 + 0.35**2), 400_000)
        cone = np.exp(truth + rng.normal(0, sqrt(0.25**2 + 0.3**2), 400_000))
        points = np.quantile(cone, (0.1, 0.3, 0.5, 0.7, 0.9))
        assert found.readings == pytest.approx(points, rel=0.06)  # a normal in place of the even bands
        for limit in (0.5, 0.8, 1.2):
            assert found.chance_below(limit) == pytest.approx((cone < limit).mean(), abs=0.015)
    number = prospect(Strength("medium", 1.0), "medium", "pocket")
    assert number.spread == pytest.approx(sqrt(0.35**2 + 0.35**2 + 0.25**2 + 0.3**2))
    dry = prospect(Strength("soft", 0.5), "soft", "cone", dry=True)
    assert (dry.middle, dry.spread**2 - 2 * (0.25**2 + 0.3**2)) == pytest.approx((0.5, log(4) ** 2 / 12))
    assert prospect(Strength("medium", 1.0), "medium", "cone", dry=True, lowered=False).middle == 0.5


def test_tests_at_several_spots_agree_with_random_draws_of_all_of_them() -> None:
    """Two spots known by class, one weaker class each way: the weakest of both counts, drawn independently."""
    data = job_of({"test": "walk", "reading": 1.5, "moisture": "wet"})
    data["spot"] = [{"name": name, "readings": [{"test": "walk", "reading": 1.5, "moisture": "wet"}]} for name in "AB"]
    data["job"] = {**data["job"], "offer": "stone"}
    found = worth(data)
    assert found.evidence.to_test == ("A", "B")
    one = (0.4, 0.8, 0.8, 1.0821, 1.12)
    depths = {cbr: made_of({**job_data(strength=cbr), "job": data["job"]}).depths["Driveway"].required_m for cbr in one}
    saved = [max(0.0, depths[0.8] - depths[min(a, b)]) for a in one for b in one]
    assert found.saves_m == pytest.approx(sum(saved) / 25)
    assert sum(at.chance for at in found.outcomes) == pytest.approx(1)
    assert found.chance_more == pytest.approx(1 - (1 - 0.2804) ** 2, abs=3e-4)


def test_what_is_saved_and_what_more_costs_are_never_netted() -> None:
    """Stone only is offered: with the geogrid fine soil of this class has its least base of 8 in, and saves nothing."""
    data = job_of({"test": "walk", "reading": 1.5, "moisture": "wet"})
    found = worth({**data, "job": {**data["job"], "offer": "stone"}})
    losing = [at for at in found.outcomes if at.depth.required_m > found.offered.depth.required_m]
    assert losing
    assert found.saves is not None
    assert found.more is not None
    assert found.saves > 0 < found.more
    totals = [(Decimal(str(at.chance)), at.total) for at in found.outcomes if at.total is not None]
    netted = sum(chance * (found.offered.total - total) for chance, total in totals)
    assert found.saves > netted


def test_one_more_number_at_a_spot_that_has_one_never_saves() -> None:
    found = worth(job_of({"test": "cbr", "reading": 0.8, "moisture": "wet"}))
    assert (found.evidence.to_test, found.saves_m, found.saves) == ((), 0, 0)
    assert "never saves stone" in found.sentence("us")
    beside = job_of({"test": "cbr", "reading": 0.8, "moisture": "wet"})
    beside["spot"].append({"name": "S2", "readings": [{"test": "walk", "reading": 1.5, "moisture": "wet"}]})
    assert worth(beside).evidence.to_test == ()  # the number beside it holds the strength back


def test_what_more_spots_and_walking_change_is_said() -> None:
    data = job_of({"test": "cbr", "reading": 1.5, "moisture": "wet"})
    data["job"] = {**data["job"], "offer": "stone"}
    found = worth(data)
    one_more, walk = found.next_steps()
    assert "chance of 1 in 2" in one_more
    assert "from about 1 in 2 to about 1 in 4" in one_more
    assert found.walked is not None
    as_measured = made_of(job_data(strength=1.5))
    assert found.walked.total == as_measured.stone.total
    assert "the chance is about 1 in 3." in walk
    assert "A softer place that is found needs more" in walk
    walked = worth({**data, "job": {**data["job"], "walked": True}})
    assert (walked.walked, walked.if_walked, len(walked.next_steps())) == (None, None, 1)


def test_ground_that_an_engineer_must_design_is_said_in_words_and_not_priced() -> None:
    found = worth(job_of({"test": "walk", "reading": 2.5, "moisture": "wet"}))
    assert found.weak.cbr == 0.4
    assert found.sentence("us").endswith(
        "It could also show ground below CBR 0.4 %, which a licensed engineer must design."
    )
    plain = worth(job_of({"test": "pickup", "reading": 0.7, "moisture": "wet"}))
    assert "engineer" not in plain.sentence("us")


def test_firm_ground_by_class_saves_nothing_and_needs_more_where_it_is_far_weaker() -> None:
    """Very stiff fine soil has its least base of 8 in, and a rut of 1 in says that it is no firmer than that class."""
    found = worth(job_of({"test": "dump truck", "reading": 1, "moisture": "wet"}))
    assert found.saves_m == 0
    assert 0.005 < found.chance_more < 0.2804  # not at the weak edge: the least base serves weaker ground, too
    assert found.sentence("us").startswith("One cone test (S1): expected saving no stone; ")


def test_an_end_that_cannot_be_built_has_a_depth_and_no_price_and_says_why() -> None:
    data = job_of({"test": "walk", "reading": 2.5, "moisture": "wet"}, finish_above_ground=24)
    (found,) = worth_of_tests(made_of({**data, "job": {**data["job"], "offer": "stone"}}))
    assert found.strong.total is None
    assert found.saves is None
    assert found.saves_m > 0
    assert "Driveway" not in found.sentence("us")
    assert found.strong.note


def test_nothing_read_is_told_apart_from_one_more_spot() -> None:
    assert worth(job_data()).sentence("us").startswith("A cone test: expected saving ")
    assert worth(job_data()).next_steps() == ()
    assert worth_of_tests(trial_quote(SOFT))[0].sentence("us").startswith("One cone test (By the ditch): ")


def test_a_metric_job_is_told_in_millimetres() -> None:
    stone_only = {**METRIC, "job": {**METRIC["job"], "offer": "stone"}}  # a base with geogrid is at its least already
    (found,) = worth_of_tests(trial_quote(stone_only, units="metric"))
    assert found.sentence("metric").startswith("A cone test: expected saving ")
    assert " mm of stone; a chance of " in found.sentence("metric")
    assert " in " not in found.sentence("metric").replace("a chance of", "")


@settings(deadline=None, max_examples=25)  # each example is three quotes
@given(
    st.one_of(
        st.builds(dict, test=st.just("cbr"), reading=st.floats(0.41, 60)),
        st.builds(dict, test=st.just("walk"), reading=st.floats(0, 2.5)),
        st.builds(dict, test=st.just("pickup"), reading=st.floats(0, 1)),
    ),
    st.sampled_from(["weak", "middle"]),
    st.sampled_from(["light", "delivery", "heavy"]),
)
def test_a_test_is_never_worth_less_than_nothing(reading: dict[str, Any], edge: str, level: str) -> None:
    data = job_of({**reading, "moisture": "wet"})
    data["job"]["traffic"] = level
    own = trial_book(**{"design.class_edge": edge})
    (found,) = worth_of_tests(quote(parse_job(data), own))
    assert found.saves_m >= 0
    assert found.more_m >= 0
    assert found.weak.depth.required_m >= found.strong.depth.required_m
    assert edge == "middle" or found.offered.depth.required_m >= found.strong.depth.required_m
    assert 0 <= found.chance_more <= 1
    assert sum(at.chance for at in found.outcomes) == pytest.approx(1)
    assert found.saves is not None
    assert found.more is not None
    assert found.saves >= Decimal(0) <= found.more
    assert found.chance_more < 0.005 or found.more > 0 or found.engineer


def test_frames_hold_the_evidence_and_the_worth_a_row_each() -> None:
    made = trial_quote(TWO_AREAS)
    rows, worths = evidence_frame(made), worth_frame(made)
    assert len(rows) == sum(len(spot.findings) for ground in made.ground.values() for spot in ground.spots)
    assert set(rows["part"]) == {"decides", "agrees", "cut off"}
    assert (rows["low_cbr_percent"] <= rows["high_cbr_percent"]).all()
    assert (rows["source"] != "").all()
    assert list(worths["area"]) == ["Driveway", "Parking bay"]
    assert (worths["depth_weak_m"] >= worths["depth_m"]).all()
    assert (worths["depth_m"] >= worths["depth_strong_m"]).all()
    assert worths["total"].iloc[0] == made.offer.total
    assert worths["expected_saving"].iloc[0] == worth_of_tests(made)[0].saves
    assert worths["chance_weaker"].between(0, 1).all()
    assert (worths["chance_weaker_one_more_spot"] < worths["chance_weaker"]).all()
    assert evidence_frame(made_of(job_data())).empty
