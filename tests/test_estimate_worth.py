"""What one more test would be worth: both ends of what is left open, designed and priced like the offer."""

from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pricing_kit import book, job_data
from trial_quote import METRIC, SOFT, TWO_AREAS, trial_book, trial_quote

from basecalc.frames import evidence_frame, worth_frame
from basecalc.job import parse_job
from basecalc.pricing.quote import quote
from basecalc.pricing.record import Quote
from basecalc.pricing.worth import WorthOfTest, worth_of_tests

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
    assert (at.total, at.cost) == (again.geogrid.total, again.geogrid.cost)


def test_a_class_alone_can_only_save_and_says_how_much() -> None:
    found = worth(job_of({"test": "walk", "reading": 1.5, "moisture": "wet"}))
    assert (found.weak.cbr, found.strong.cbr) == (0.8, 1.6)
    assert (found.more_m, found.more) == (0, 0)
    inches = (found.offered.depth.required_m - found.strong.depth.required_m) / INCH
    assert inches >= 1
    assert found.saves is not None
    assert found.saves == found.offered.total - found.strong.total > 0
    assert found.sentence("us") == f"One cone test (S1) could save up to {inches:g} in of stone."


def test_a_measured_ratio_can_save_or_cost() -> None:
    found = worth(job_of({"test": "cbr", "reading": 0.8, "moisture": "wet"}, walked=True))
    assert (found.weak.cbr, found.strong.cbr) == pytest.approx((0.56, 1.12))
    assert found.saves_m > 0 < found.more_m
    assert found.saves is not None
    assert found.more is not None
    assert found.saves > 0 < found.more
    assert "or show that up to" in found.sentence("us")
    assert found.spread_m == pytest.approx(found.weak.depth.required_m - found.strong.depth.required_m)


def test_ground_that_an_engineer_must_design_is_said_in_words_and_not_priced() -> None:
    found = worth(job_of({"test": "cbr", "reading": 0.5, "moisture": "wet"}))
    assert found.evidence.left.low_cbr == pytest.approx(0.35)
    assert found.weak.cbr == 0.4
    assert "licensed engineer" in found.weak.note
    assert found.sentence("us").endswith(
        "it could also show ground below CBR 0.4 %, which a licensed engineer must design."
    )
    plain = worth(job_of({"test": "cbr", "reading": 0.7, "moisture": "wet"}))
    assert "engineer" not in plain.sentence("us")


def test_hard_ground_has_no_end_and_says_which_one_was_taken() -> None:
    found = worth(job_of({"test": "dump truck", "reading": 0.5, "moisture": "wet"}))
    assert found.strong.cbr == 20
    assert "no end" in found.strong.note
    assert found.sentence("us") == "One cone test (S1) would not change the depth."


def test_an_end_that_cannot_be_built_has_a_depth_and_no_price_and_says_why() -> None:
    data = job_of({"test": "walk", "reading": 2.5, "moisture": "wet"}, finish_above_ground=24)
    (found,) = worth_of_tests(made_of({**data, "job": {**data["job"], "offer": "stone"}}))
    assert found.strong.total is None
    assert found.saves is None
    assert found.saves_m > 0
    assert "Driveway" not in found.sentence("us")
    assert found.strong.note


def test_nothing_read_is_told_apart_from_one_more_spot() -> None:
    assert worth(job_data()).sentence("us").startswith("A cone test could save up to")
    four = job_data()
    del four["area"][0]["strength"]
    four["spot"] = [
        {"name": f"S{k}", "readings": [{"test": "cbr", "reading": cbr, "moisture": "wet"}]}
        for k, cbr in enumerate((0.7, 1.0, 1.5, 1.6))
    ]
    by_quartile = quote(parse_job(four), trial_book(**{"design.spot_rule": "quartile"}))
    assert worth_of_tests(by_quartile)[0].sentence("us").startswith("A cone test at one more spot could")
    assert worth_of_tests(trial_quote(SOFT))[0].sentence("us").startswith("Cone tests at 3 spots (By the gate; ")


def test_a_geogrid_that_comes_or_goes_is_said() -> None:
    job = {**TWO_AREAS, "spot": [*TWO_AREAS["spot"][:2], {"name": "Bay", "area": "Parking bay",
           "readings": [{"test": "cbr", "reading": 5.6}]}]}  # fmt: skip
    driveway, bay = worth_of_tests(trial_quote(job))
    assert driveway.offered.depth.reinforcement.kind == "geogrid"
    assert (bay.more_m, bay.offered.depth.reinforcement.kind, bay.weak.depth.reinforcement.kind) == (
        0,
        "none",
        "geogrid",
    )
    assert bay.sentence("us") == "One cone test (Bay) could show that a geogrid is needed."


def test_a_metric_job_is_told_in_millimetres() -> None:
    (found,) = worth_of_tests(trial_quote(METRIC, units="metric"))
    assert found.sentence("metric") == "A cone test could save up to 50 mm of stone."


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
    assert found.weak.depth.required_m >= found.offered.depth.required_m >= found.strong.depth.required_m
    assert found.saves is not None
    assert found.more is not None
    assert found.saves >= Decimal(0) <= found.more


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
    assert evidence_frame(made_of(job_data())).empty
