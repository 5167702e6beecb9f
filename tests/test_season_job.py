"""Used against estimated: what tickets and hours say, what they do not, and what the job cost by them."""

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from trial_quote import FIRM, LOOSE_KG_M3, METRIC, SOFT, TWO_AREAS, trial_quote

from basecalc import BasecalcError, Quote
from basecalc.core.numbers import cents
from basecalc.core.units import INCH_M, SHORT_TON_KG
from basecalc.season.actuals import JobActuals, Used, job_actuals
from basecalc.season.lists import Hours, Invoice, Records, Result, Ticket

QUOTE = trial_quote(SOFT)
STONE = "3/4 in crushed base"
TONS = st.lists(st.floats(0.1, 40.0), min_size=1, max_size=12)


def load(tons: float | None, code: str = "base-stone", *, quote: Quote = QUOTE, left: bool = False) -> Ticket:
    net = None if tons is None else tons * SHORT_TON_KG
    return Ticket("t.csv, row 2", quote.job.number, code, "", net, None, left)


def spent(code: str, crew: float | None, machine: float | None = None) -> Hours:
    return Hours("h.csv, row 2", QUOTE.job.number, code, crew, machine)


def held(
    tickets: Sequence[Ticket] = (), hours: Sequence[Hours] = (), quote: Quote = QUOTE,
    invoices: Sequence[Invoice] = (), result: str = "", built: str = "", **said: object,
) -> JobActuals:  # fmt: skip
    number = quote.job.number
    results = {number: Result("r.csv, row 5", number, result, built, **said)} if result else {}  # type: ignore[arg-type]
    return job_actuals(quote, Records(tuple(tickets), tuple(hours), results, invoices=tuple(invoices)))


def row(made: JobActuals, what: str) -> Used:
    return next(one for one in made.rows if one.what == what)


def test_tickets_are_summed_and_counted_and_what_none_tells_is_not_zero() -> None:
    soil = (load(None, "spoil-haul"), load(9.0, "spoil-haul"))
    made = held([load(13.0), load(12.5), load(1.5, left=True), *soil])
    stone, wanted = row(made, "base stone"), QUOTE.offer.takeoff.amount("base-stone")
    assert (stone.unit, stone.estimated, stone.left_over) == ("ton", wanted, pytest.approx(1.5))
    assert stone.used == pytest.approx(25.5)  # what is left over does not make less delivered
    assert (stone.difference, stone.share) == (pytest.approx(25.5 - wanted), pytest.approx(25.5 / wanted - 1))
    assert (row(made, "loads of base stone").used, row(made, "loads of soil").used) == (2, 2)
    assert row(made, "loads of soil").estimated == QUOTE.offer.takeoff.amount("spoil-haul")
    sand = row(made, "bedding sand")
    assert (sand.used, sand.difference, sand.share, sand.left_over) == (None, None, None, None)
    assert any("No ticket of bedding sand" in note for note in made.notes)
    metric = trial_quote(METRIC)
    stone = row(held([load(11.0, quote=metric)], quote=metric), "base stone")
    assert (stone.unit, stone.used) == ("t", pytest.approx(11.0 * SHORT_TON_KG / 1000))


def test_hours_are_summed_by_work_and_a_blank_is_not_zero() -> None:
    made = held(hours=[spent("base-place", 2.0), spent("base-place", 1.5)])
    crew = row(made, "crew hours: place and compact the base")
    planned = next(one for one in QUOTE.offer.hours if one.code == "base-place")
    assert (crew.used, crew.estimated) == (pytest.approx(3.5), planned.crew_h)
    assert row(made, "machine hours: place and compact the base").used is None


def test_a_job_without_tickets_or_still_open_counts_for_nothing_yet() -> None:
    bare = held()
    assert (bare.result, bare.cost_made, bare.margin_made) == ("open", None, None)
    assert all(one.used is None for one in bare.rows)
    made = held([load(13.0)], [spent("base-place", 2.0)], result="open")
    assert row(made, "base stone").used == pytest.approx(13.0)
    assert (made.cost_made, made.brought, made.worked) == (None, (), ())
    assert "Still open" in made.notes[0]


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
    (timed,) = [line for line in QUOTE.offer.lines if line.work == "base-place" and line.code == "crew-time"]
    made, cost = held(hours=[spent("base-place", 7.25)]), cents(Decimal("7.25") * timed.unit_price)
    assert made.cost_made == QUOTE.offer.cost - timed.amount + cost
    assert made.measured == pytest.approx(float(cost / made.cost_made))


def test_what_was_charged_counts_where_it_is_given() -> None:
    bought = [line for line in QUOTE.offer.lines if not line.work]
    bills = [Invoice("i.csv, row 2", QUOTE.job.number, line.code, line.amount) for line in bought]
    made = held([load(13.0)], invoices=bills, result="won", price=Decimal("20000.00"))
    assert made.price == 20000
    assert made.cost_made == QUOTE.offer.cost  # each line was invoiced as estimated, the crew is as planned
    assert made.margin_made == pytest.approx(float((20000 - made.cost_made) / 20000))  # type: ignore[operator]


def test_what_was_built_is_the_take_offs_own_and_moves_with_the_depth() -> None:
    """A deeper base moves what was built and not what was quoted; another stone counts as tons only."""
    plain, deep = held([load(13.0)]), held([load(13.0)], result="won", extra_m=2 * INCH_M)
    assert plain.brought[0].built_m3 == pytest.approx(sum(one.stone_m3 for one in QUOTE.offer.takeoff.areas), rel=1e-12)
    assert plain.brought[0].material == STONE
    assert row(deep, "base stone").estimated == row(plain, "base stone").estimated
    assert deep.brought[0].built_m3 > plain.brought[0].built_m3 * 1.1
    assert "Built 2 in deeper than signed" in deep.notes[0]
    other = held([replace(load(13.0), material="Ballast")])
    assert (row(other, "base stone").used, other.brought) == (pytest.approx(13.0), ())
    measured = replace(load(13.0), volume_m3=13.0 * SHORT_TON_KG / LOOSE_KG_M3)
    found = held([measured, load(12.0)]).brought[0]
    assert found.weighed_kg / found.measured_m3 == pytest.approx(LOOSE_KG_M3)
    assert found.delivered_kg == pytest.approx(25.0 * SHORT_TON_KG)


def test_the_option_built_is_the_one_compared_with() -> None:
    made = held([load(13.0)], result="won", built="habit")
    assert made.planned is QUOTE.standard
    assert made.saved_m == pytest.approx(0)
    firm, two = trial_quote(FIRM), trial_quote(TWO_AREAS)
    assert firm.geogrid is None
    with pytest.raises(BasecalcError, match=r"r\.csv, row 5: .* built as 'with geogrid', but .* no such option"):
        held(quote=firm, result="won", built="geogrid")
    areas = two.offer.takeoff.areas  # depth saved goes by the size of the areas
    saved = sum((14 * INCH_M - one.base_m) * one.base_area_m2 for one in areas) / sum(one.base_area_m2 for one in areas)
    assert held(quote=two).saved_m == pytest.approx(saved)


def test_tickets_far_off_the_estimate_are_asked_about_and_more_left_than_came_is_refused() -> None:
    wanted = QUOTE.offer.takeoff.amount("base-stone")
    for share, asked in ((0.3, True), (0.61, False), (1.0, False), (1.59, False), (1.7, True)):
        assert any("are tickets missing" in note for note in held([load(wanted * share)]).notes) is asked
    with pytest.raises(BasecalcError, match="14 ton of 3/4 in crushed base is left over and 13 ton was delivered"):
        held([load(13.0), load(14.0, left=True)])


@settings(deadline=None)
@given(TONS, st.randoms())
def test_the_order_of_tickets_does_not_matter_and_twice_the_weights_are_twice_used(tons: list[float], chance) -> None:
    shuffled = list(tons)
    chance.shuffle(shuffled)
    one, other, twice = (
        held([load(ton) for ton in some]) for some in (tons, shuffled, [2 * ton for ton in tons])
    )  # fmt: skip
    for mine, theirs in zip(one.rows, other.rows, strict=True):
        assert (mine.what, mine.used) == (theirs.what, pytest.approx(theirs.used) if theirs.used else theirs.used)
    assert one.cost_made == other.cost_made
    assert row(twice, "base stone").used == pytest.approx(2 * (row(one, "base stone").used or 0))
    assert row(twice, "loads of base stone").used == row(one, "loads of base stone").used
