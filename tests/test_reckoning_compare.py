"""Used against estimated: what tickets and hours say, what they do not, and what the job cost by them."""

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from trial_quote import FIRM, LOOSE_KG_M3, METRIC, SOFT, TWO_AREAS, trial_quote

from basecalc.core.errors import InputError
from basecalc.core.numbers import cents
from basecalc.core.units import INCH_M, SHORT_TON_KG
from basecalc.pricing.records import Quote
from basecalc.season.actuals import JobActuals, Used, job_actuals
from basecalc.season.records import Hours, Invoice, Records, Result, Ticket

QUOTE = trial_quote(SOFT)
STONE = "3/4 in crushed base"


def load(tons: float | None, code: str = "base-stone", *, quote: Quote = QUOTE, left: bool = False) -> Ticket:
    net = None if tons is None else tons * SHORT_TON_KG
    return Ticket("t.csv, row 2", quote.job.number, code, "", net, None, left)


def spent(code: str, crew: float | None, machine: float | None = None) -> Hours:
    return Hours("h.csv, row 2", QUOTE.job.number, code, crew, machine)


def held(
    tickets: Sequence[Ticket] = (), hours: Sequence[Hours] = (), result: Result | None = None, quote: Quote = QUOTE,
    invoices: Sequence[Invoice] = (),
) -> JobActuals:  # fmt: skip
    results = {} if result is None else {quote.job.number: result}
    return job_actuals(quote, Records((), tuple(tickets), tuple(hours), results, invoices=tuple(invoices)))


def row(made: JobActuals, what: str) -> Used:
    return next(one for one in made.rows if one.what == what)


def test_tons_are_summed_and_held_against_the_estimate() -> None:
    made = row(held([load(13.0), load(12.5)]), "base stone")
    wanted = QUOTE.offer.takeoff.amount("base-stone")
    assert (made.unit, made.used) == ("ton", pytest.approx(25.5))
    assert made.estimated == wanted
    assert made.difference == pytest.approx(25.5 - wanted)
    assert made.share == pytest.approx(25.5 / wanted - 1)


def test_what_no_ticket_tells_is_not_nought() -> None:
    made = held([load(13.0)])
    sand = row(made, "bedding sand")
    assert (sand.used, sand.difference, sand.share) == (None, None, None)
    assert any("No ticket of bedding sand" in note for note in made.notes)


def test_loads_are_counted_whether_weighed_or_not() -> None:
    made = held([load(13.0), load(12.5), load(None, "spoil-haul"), load(9.0, "spoil-haul"), load(4.0, "bedding-sand")])
    assert row(made, "loads of base stone").used == 2
    assert row(made, "loads of bedding sand").used == 1
    assert row(made, "loads of soil").used == 2
    assert row(made, "loads of soil").estimated == QUOTE.offer.takeoff.amount("spoil-haul")


def test_left_over_stone_is_told_and_does_not_make_less_delivered() -> None:
    made = row(held([load(13.0), load(1.5, left=True)]), "base stone")
    assert (made.used, made.left_over) == (pytest.approx(13.0), pytest.approx(1.5))
    assert row(held([load(13.0)]), "base stone").left_over is None


def test_an_open_job_counts_for_nothing_yet() -> None:
    made = held([load(13.0)], [spent("base-place", 2.0)], Result("r.csv, row 2", QUOTE.job.number, "open"))
    assert row(made, "base stone").used == pytest.approx(13.0)
    assert (made.cost_made, made.brought, made.worked) == (None, (), ())
    assert "Still open" in made.notes[0]


def test_hours_are_summed_by_work_and_a_blank_is_not_nought() -> None:
    made = held(hours=[spent("base-place", 2.0), spent("base-place", 1.5)])
    assert row(made, "crew hours: place and compact the base").used == pytest.approx(3.5)
    assert row(made, "machine hours: place and compact the base").used is None
    planned = next(one for one in QUOTE.offer.hours if one.code == "base-place")
    assert row(made, "crew hours: place and compact the base").estimated == planned.crew_h


def test_a_job_without_tickets_is_open_and_has_no_cost_made() -> None:
    made = held()
    assert (made.result, made.cost_made, made.margin_made) == ("open", None, None)
    assert all(one.used is None for one in made.rows)


@pytest.mark.source("worked on paper: price before tax less cost, over the price; [computed]")
def test_margins_planned_and_made() -> None:
    """Twice the estimated stone costs its line once more; nothing else moves."""
    offer = QUOTE.offer
    line = next(one for one in offer.lines if one.quantity_code == "base-stone")
    tons = 2 * float(line.quantity)
    made = held([load(tons / 10) for _ in range(10)])
    haul = next(one for one in offer.lines if one.quantity_code == "stone-haul" and one.item.endswith(STONE))
    assert made.cost_made == (
        offer.cost - line.amount + cents(2 * line.quantity * line.unit_price)
        - haul.amount + 10 * haul.unit_price
    )  # fmt: skip
    assert made.margin_planned == pytest.approx(float((offer.before_tax - offer.cost) / offer.before_tax))
    assert made.measured < 0.5
    assert made.margin_made is None  # too little was measured to say


def test_hours_replace_the_hours_that_were_priced() -> None:
    timed = [line for line in QUOTE.offer.lines if line.work == "base-place" and line.code == "crew-time"]
    assert len(timed) == 1
    made = held(hours=[spent("base-place", 7.25)])
    assert made.cost_made == QUOTE.offer.cost - timed[0].amount + cents(Decimal("7.25") * timed[0].unit_price)
    assert made.measured == pytest.approx(float(cents(Decimal("7.25") * timed[0].unit_price) / made.cost_made))


def test_what_was_charged_counts_where_it_is_given() -> None:
    result = Result("r.csv, row 2", QUOTE.job.number, "won", price=Decimal("20000.00"))
    bought = [line for line in QUOTE.offer.lines if not line.work]
    bills = [Invoice("i.csv, row 2", QUOTE.job.number, line.code, line.amount) for line in bought]
    made = held([load(13.0)], result=result, invoices=bills)
    assert made.price == 20000
    assert made.cost_made == QUOTE.offer.cost  # each line was invoiced as estimated, the crew is as planned
    assert made.margin_made == pytest.approx(float((20000 - made.cost_made) / 20000))  # type: ignore[operator]


def test_a_deeper_base_moves_what_was_built_and_not_what_was_quoted() -> None:
    result = Result("r.csv, row 2", QUOTE.job.number, "won", extra_m=2 * INCH_M)
    plain, deep = held([load(13.0)]), held([load(13.0)], result=result)
    assert row(deep, "base stone").estimated == row(plain, "base stone").estimated
    assert deep.brought[0].built_m3 > plain.brought[0].built_m3 * 1.1
    assert "Built 2 in deeper than signed" in deep.notes[0]


def test_the_volume_built_is_the_take_offs_own() -> None:
    made = held([load(13.0)])
    assert made.brought[0].built_m3 == pytest.approx(sum(one.stone_m3 for one in QUOTE.offer.takeoff.areas), rel=1e-12)
    assert made.brought[0].material == STONE


def test_the_option_built_is_the_one_held_against() -> None:
    made = held([load(13.0)], result=Result("r.csv, row 2", QUOTE.job.number, "won", "habit"))
    assert made.planned is QUOTE.habit
    assert made.saved_m == pytest.approx(0)


def test_an_option_that_there_is_not_is_refused() -> None:
    firm = trial_quote(FIRM)
    assert firm.geogrid is None
    result = Result("r.csv, row 5", firm.job.number, "won", "geogrid")
    with pytest.raises(InputError, match=r"r\.csv, row 5: job .* built as 'geogrid', but there is no such option"):
        held(quote=firm, result=result)


def test_depth_saved_goes_by_the_size_of_the_areas() -> None:
    quote = trial_quote(TWO_AREAS)
    assert quote.habit is not None
    areas = quote.offer.takeoff.areas
    saved = sum((14 * INCH_M - one.base_m) * one.base_area_m2 for one in areas) / sum(one.base_area_m2 for one in areas)
    assert held(quote=quote).saved_m == pytest.approx(saved)


def test_a_metric_job_is_told_in_tonnes() -> None:
    quote = trial_quote(METRIC)
    made = row(held([load(11.0, quote=quote)], quote=quote), "base stone")
    assert (made.unit, made.used) == ("t", pytest.approx(11.0 * SHORT_TON_KG / 1000))


def test_tickets_far_off_the_estimate_are_asked_about() -> None:
    wanted = QUOTE.offer.takeoff.amount("base-stone")
    assert any("are tickets missing" in note for note in held([load(wanted * 0.3)]).notes)
    assert not any("are tickets missing" in note for note in held([load(wanted)]).notes)


def test_more_left_over_than_came_is_refused() -> None:
    with pytest.raises(InputError, match="14 ton of 3/4 in crushed base is left over and 13 ton was delivered"):
        held([load(13.0), load(14.0, left=True)])


def test_another_stone_than_planned_counts_as_tons_and_not_for_the_factor() -> None:
    made = held([replace(load(13.0), material="Ballast")])
    assert row(made, "base stone").used == pytest.approx(13.0)
    assert not made.brought


def test_loads_with_a_measured_volume_give_the_density() -> None:
    one = replace(load(13.0), volume_m3=13.0 * SHORT_TON_KG / LOOSE_KG_M3)
    found = held([one, load(12.0)]).brought[0]
    assert found.weighed_kg / found.measured_m3 == pytest.approx(LOOSE_KG_M3)
    assert found.delivered_kg == pytest.approx(25.0 * SHORT_TON_KG)


TONS = st.lists(st.floats(0.1, 40.0), min_size=1, max_size=12)


@settings(deadline=None)
@given(TONS, st.randoms())
def test_the_order_of_tickets_does_not_matter(tons: list[float], chance: object) -> None:
    shuffled = list(tons)
    chance.shuffle(shuffled)  # type: ignore[attr-defined]
    one, other = held([load(ton) for ton in tons]), held([load(ton) for ton in shuffled])
    for mine, theirs in zip(one.rows, other.rows, strict=True):
        assert (mine.what, mine.used) == (theirs.what, pytest.approx(theirs.used) if theirs.used else theirs.used)
    assert one.cost_made == other.cost_made


@settings(deadline=None)
@given(TONS)
def test_twice_the_weights_are_twice_what_was_used(tons: list[float]) -> None:
    one, other = held([load(ton) for ton in tons]), held([load(2 * ton) for ton in tons])
    assert row(other, "base stone").used == pytest.approx(2 * (row(one, "base stone").used or 0))
    assert row(other, "loads of base stone").used == row(one, "loads of base stone").used
