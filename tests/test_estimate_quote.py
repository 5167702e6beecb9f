"""Options side by side: which is offered, what it saves, the break-even price, the rate for softer ground; frames."""

from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pricing_kit import PRICES, book, changed, job_data, owner, priced_at
from printed import INCH_M

from basecalc import (
    BasecalcError,
    Estimate,
    InputError,
    OutOfRangeError,
    Quote,
    checks_frame,
    estimate,
    findings_frame,
    lines_frame,
    parse_job,
    quantities_frame,
    quote,
    take_off,
)
from basecalc.design.settings import Traffic
from basecalc.pricing.estimate import break_even

SOFT = job_data()


def quoted(data: dict[str, Any] = SOFT, **job: Any) -> Quote:
    return quote(parse_job(changed(data, **job), "drive.toml"), book())


def options(made: Quote) -> list[Estimate]:
    return [one for one in (made.stone, made.geogrid, made.standard) if one is not None]


def test_the_cheaper_option_is_offered_and_stone_where_they_tie() -> None:
    assert quoted().offered == "geogrid"
    assert quoted(offer="stone").offered == "stone"
    assert quoted(offer="geogrid").offered == "geogrid"
    dear = quote(parse_job(SOFT), priced_at("geogrid", "99000"))
    assert dear.offered == "stone"
    assert dear.break_even is not None
    assert not dear.break_even.pays
    even = quoted().break_even
    assert even is not None
    assert even.per_roll is not None
    above = quote(parse_job(SOFT), priced_at("geogrid", str(even.per_roll + Decimal("0.02"))))
    assert above.offered == "stone"


def test_there_is_no_geogrid_option_where_it_makes_no_base_thinner() -> None:
    firm = quoted(job_data(strength="hard"))
    assert (firm.geogrid, firm.break_even, firm.against_stone, firm.geogrid_depths) == (None, None, None, {})
    assert firm.no_geogrid == "stiff grid would make no base thinner here."
    assert firm.offered == "stone"
    with pytest.raises(InputError, match=r"drive\.toml: offer is 'geogrid', but there is no such option"):
        quoted(job_data(strength="hard"), offer="geogrid")


def test_there_is_no_geogrid_option_where_the_owner_has_none() -> None:
    own = owner()
    cloth = tuple(roll for roll in own.rolls if roll.kind == "geotextile")
    made = quote(parse_job(SOFT), book(own=replace(own, rolls=cloth)))
    assert made.geogrid is None
    assert made.no_geogrid == "There is no geogrid in the owner's lists."


def test_geogrid_is_laid_only_where_it_makes_the_base_thinner() -> None:
    hard = {**job_data(strength="hard")["area"][0], "name": "Bay"}
    made = quoted({**SOFT, "area": [SOFT["area"][0], hard]})
    assert made.geogrid is not None
    assert {name: depth.reinforcement.kind for name, depth in made.geogrid_depths.items()} == {
        "Driveway": "geogrid", "Bay": "none",
    }  # fmt: skip
    assert [bool(area.rolls) for area in made.geogrid.takeoff.areas] == [True, False]
    assert made.against_stone is not None
    assert made.against_stone.depth_m["Bay"] == pytest.approx(0)


def test_the_standard_depth_wastes_stone_on_hard_ground_and_saves_it_wrongly_on_soft() -> None:
    firm, soft = quoted(job_data(strength="hard")), quoted(offer="stone")
    assert firm.against_standard.depth_m["Driveway"] / INCH_M == pytest.approx(14 - 6)
    assert firm.against_standard.money > 0
    assert firm.against_standard.loads > 0
    assert soft.against_standard.stone_m3 < 0
    assert soft.against_standard.money < 0


def test_very_soft_ground_without_a_measured_cbr_gets_a_sentence_and_no_price() -> None:
    with pytest.raises(OutOfRangeError, match=r'drive\.toml, area "Driveway": strength is \'very soft\''):
        quoted(job_data(strength="very soft"))


def test_ground_given_by_hand_is_flagged_as_an_assumption() -> None:
    ground = quoted(job_data(foundation_edge=20), new_build=True).ground["Driveway"]
    assert ground.rule == "given by hand, nothing was read here"
    assert any("New-build" in flag for flag in ground.flags)
    assert "assumption" in ground.test_next


def test_traffic_may_be_the_owners_own_and_must_be_one_there_is() -> None:
    own = replace(owner(), traffics=(Traffic("horse box", 30, 400, 500, 75, 4000, "a trailer at weekends"),))
    made = quote(parse_job(changed(SOFT, traffic="Horse Box")), book(own=own))
    assert made.depths["Driveway"].traffic.name == "horse box"
    with pytest.raises(InputError, match=r"drive\.toml: traffic is 'tanks'; it must be one of: light, delivery, heavy"):
        quoted(traffic="tanks")


def test_the_paver_of_the_job_is_the_one_designed_with() -> None:
    own = owner()
    thick = replace(own.pavers[0], name="thick block", thickness_m=0.08)
    made = quote(parse_job(changed(SOFT, paver="thick block")), book(own=replace(own, pavers=(*own.pavers, thick))))
    assert made.depths["Driveway"].settings.paver_m == 0.08


def test_geogrid_pays_only_for_nothing_where_digging_and_stone_cost_nothing() -> None:
    # Digging, stone and hauling for nothing: then only the grid costs, and any price above 0 is too much.
    free = {code: (unit, "0", taxed) for code, (unit, _, taxed) in PRICES.items()}
    made = quote(parse_job(SOFT), book({**free, "geogrid": ("roll", "780", True)}))
    assert made.break_even is not None
    assert made.break_even.per_roll == Decimal("0.00")
    assert made.offered == "stone"


def test_a_quote_that_saves_nothing_has_no_negative_price() -> None:
    made = quoted()
    assert made.geogrid is not None
    roll = owner().rolls[0]
    cheap_stone = replace(made.stone, lines=made.stone.lines[:1])
    none = break_even(cheap_stone, made.geogrid, roll)
    assert (none.per_roll, none.per_yd2, none.per_m2) == (None, None, None)
    assert "does not pay here at any price" in none.sentence


def test_a_metric_job_is_priced_as_its_us_twin() -> None:
    area = {**SOFT["area"][0], "length": 12.192, "width": 6.096}
    us, metric = quoted(), quoted({**SOFT, "area": [area]}, units="metric")
    assert (us.deeper.step, metric.deeper.step) == ("1 in", "10 mm")
    assert metric.depths["Driveway"].required_m == us.depths["Driveway"].required_m
    assert "mm" in metric.depths["Driveway"].reason
    assert metric.offer.total == us.offer.total


def test_frames_hold_every_row_with_its_unit() -> None:
    spot = {"name": "gate", "readings": [{"test": "walk", "reading": 2.5}, {"test": "cone", "reading": 70}]}
    made = quoted({**job_data(strength=None), "spot": [spot]})
    quantities, lines = quantities_frame(made.offer), lines_frame(made.offer)
    assert list(quantities["amount"]) == [one.amount for one in made.offer.takeoff.quantities]
    assert set(quantities["unit"]) <= {"ft2", "yd3", "ft", "ton", "load", "roll", "bag"}
    assert sum(lines["amount"]) == made.offer.cost
    checks, findings = checks_frame(made), findings_frame(made)
    assert set(checks["option"]) == {"stone", "geogrid"}
    assert checks.loc[checks["governs"], "required_in"].notna().all()
    assert list(findings["test"]) == ["walk", "cone"]
    assert findings["decides"].sum() == 1
    assert isinstance(findings.loc[1, "cbr_percent"], float)
    assert quantities_frame(made.offer.takeoff).equals(quantities)
    empty = findings_frame(quoted())  # a job without readings
    assert empty.empty
    assert "cbr_percent" in empty


PRICE = st.decimals(0, 5000, places=2, allow_nan=False)
# With their sign, as a bare share below 1 % is asked about.
SHARES = st.fixed_dictionaries({
    "overhead": st.decimals(0, 50, places=1).map("{} %".format),
    "profit": st.decimals(0, 50, places=1).map("{} %".format),
    "contingency": st.decimals(0, 30, places=1).map("{} %".format),
    "tax_rate": st.decimals(0, 20, places=2).map("{} %".format),
})  # fmt: skip
AREA = st.fixed_dictionaries({
    "length": st.integers(8, 200), "width": st.integers(8, 60),
    "strength": st.sampled_from(["soft", "medium", "stiff", "hard", 0.5, 2.2]),
    "finish_above_ground": st.integers(-6, 2), "geotextile": st.booleans(), "open_edge": st.integers(0, 32),
})  # fmt: skip


def drawn_book(prices: dict[str, Decimal], shares: dict[str, str]) -> Any:
    rows = {code: (unit, str(prices[code]), taxed) for code, (unit, _, taxed) in PRICES.items()}
    return book(rows, owner(**shares))


@settings(max_examples=60, deadline=None)
@given(area=AREA, prices=st.fixed_dictionaries(dict.fromkeys(PRICES, PRICE)), shares=SHARES)
def test_the_total_is_the_sum_of_what_is_printed(
    area: dict[str, Any], prices: dict[str, Decimal], shares: dict[str, str]
) -> None:
    corners = {"corners": 0} if area["open_edge"] == 0 else {}
    made = quote(parse_job(job_data(**area, **corners)), drawn_book(prices, shares))
    for one in options(made):
        assert sum(line.amount for line in one.lines) == one.cost
        assert one.cost + one.contingency + one.overhead + one.profit + one.tax == one.total
        assert sum(price.amount for price in one.scope_prices) == one.total
        assert all(price.amount >= 0 for price in one.scope_prices)
        for line in one.lines:
            assert line.quantity > 0
            assert abs(line.quantity * line.unit_price - line.amount) <= Decimal("0.005")


@settings(max_examples=60, deadline=None)
@given(
    code=st.sampled_from(sorted(PRICES)), price=PRICE, more=st.decimals("0.01", 500, places=2), shares=SHARES, area=AREA
)
def test_no_total_falls_when_a_price_rises(
    code: str, price: Decimal, more: Decimal, shares: dict[str, str], area: dict[str, Any]
) -> None:
    unit, _, taxed = PRICES[code]
    corners = {"corners": 0} if area["open_edge"] == 0 else {}
    made = take_off(parse_job(job_data(**area, **corners)), owner(), {"Driveway": 0.4}, "stone", cbrs={"Driveway": 1.0})
    low, high = (
        estimate(made, book({**PRICES, code: (unit, str(value), taxed)}, owner(**shares))).total
        for value in (price, price + more)
    )
    assert low <= high


@settings(max_examples=40, deadline=None)
@given(prices=st.fixed_dictionaries({code: st.decimals(1, 500, places=2) for code in PRICES}), shares=SHARES)
def test_at_the_break_even_price_both_options_cost_the_same(prices: dict[str, Decimal], shares: dict[str, str]) -> None:
    made = quote(parse_job(SOFT), drawn_book(prices, shares))
    even = made.break_even
    assert even is not None
    assert even.per_roll is not None
    again = quote(parse_job(SOFT), drawn_book({**prices, "geogrid": even.per_roll}, shares))
    assert again.geogrid is not None
    # A cent of the price of one roll, marked up, and half a cent for each line and sum.
    assert abs(again.geogrid.total - again.stone.total) <= Decimal("0.40")


def test_an_estimate_is_refused_for_a_profit_of_the_whole_price() -> None:
    own = replace(owner(), profit=1.0)
    with pytest.raises(BasecalcError, match=r"profit is 100% of the price; it must be below 100 %"):
        quote(parse_job(SOFT), book(own=own))


def raised(above_in: float) -> Quote:
    """Return the quote of soft ground (24 in of stone, 15 in with geogrid) with the finish so far above the ground."""
    return quote(parse_job(job_data(name="Drive", finish_above_ground=above_in)), book())


def test_an_option_too_thin_for_a_raised_finish_is_left_out_with_its_reason() -> None:
    """The job is not refused because the standard depth, or the thinner base on geogrid, would leave a gap below it."""
    level = raised(0)
    assert level.standard is not None
    assert level.geogrid is not None
    high = raised(22)
    assert (high.standard, high.against_standard, high.geogrid, high.offered) == (None, None, None, "stone")
    assert "the finish is 22 in" in high.no_standard
    assert "the finish is 22 in" in high.no_geogrid
    assert high.geogrid_depths == {}


def test_a_job_whose_every_option_is_too_thin_is_refused() -> None:
    with pytest.raises(OutOfRangeError, match=r'area "Drive": the finish is 40 in'):
        raised(40)
