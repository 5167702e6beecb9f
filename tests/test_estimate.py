"""Quantities and prices become lines, sums and the client's lines; a missing price is loud."""

from decimal import Decimal
from fractions import Fraction

import pytest
from pricing_kit import PRICES, book, job_data, owner, priced_at

from basecalc.company import Rate
from basecalc.core.errors import PriceError
from basecalc.core.units import INCH_M
from basecalc.job import parse_job
from basecalc.pricing.estimate import Estimate, cents_down, estimate, spread
from basecalc.pricing.prices import PriceBook
from basecalc.takeoff.takeoff import Takeoff, take_off

OWNER = owner()


def takeoff(depth_in: float = 8.0, **area: object) -> Takeoff:
    job = parse_job(job_data(**area))
    return take_off(job, OWNER, {"Driveway": depth_in * INCH_M}, "stone")


def priced(prices: PriceBook | None = None) -> Estimate:
    return estimate(takeoff(), prices or book())


def without(*codes: str) -> dict[str, tuple[str, str, bool]]:
    return {code: price for code, price in PRICES.items() if code not in codes}


def test_a_line_is_the_printed_quantity_times_the_price_rounded_half_up() -> None:
    (line,) = [one for one in priced().lines if one.code == "base-stone"]
    # 881.78 ft2 x 8 in: 21.7723 yd3 x 1.254 x 1.48 x 1.05 = 42.4281 ton, printed 42.43, x 24.50 = 1,039.535
    assert (line.quantity, line.unit, line.amount) == (Decimal("42.43"), "ton", Decimal("1039.54"))
    assert line.cell == "Prices, base-stone"


def test_work_goes_by_its_own_price_row_where_there_is_one_and_by_hours_elsewhere() -> None:
    by_hours = priced()
    assert [line.code for line in by_hours.lines if line.quantity_code == "dig"] == ["crew-time", "machine-time"]
    own = estimate(takeoff(), book({**PRICES, "dig": ("yd3", "31", False)}))
    (line,) = [one for one in own.lines if one.quantity_code == "dig"]
    # 881.78 ft2 x 11.375 in / 12 / 27 = 30.96 yd3
    assert (line.code, line.quantity, line.amount) == ("dig", Decimal("30.96"), Decimal("959.76"))
    # The office sees the hours either way.
    for made, priced_by_hours in ((by_hours, True), (own, False)):
        (hours,) = [one for one in made.hours if one.code == "dig"]
        assert hours.crew_h == pytest.approx(3.0957, abs=1e-4)
        assert hours.priced_by_hours is priced_by_hours


def test_work_without_a_rate_shows_no_hours_rather_than_none_needed() -> None:
    (hours,) = [one for one in priced().hours if one.code == "paver-lay"]
    assert (hours.crew_h, hours.machine_h) == (None, None)
    assert "no production rate" in hours.working


def test_work_that_takes_no_machine_has_no_machine_line() -> None:
    made = estimate(takeoff(foundation_edge=20, foundation_fill_depth=12, foundation_fill_width=2), book())
    lines = [line.code for line in made.lines if line.quantity_code == "foundation-place"]
    assert lines == ["crew-time"]


@pytest.mark.parametrize("code", ["base-stone", "spoil-haul", "spoil-tip", "stone-haul", "pavers", "joint-sand"])
def test_a_missing_price_is_told_with_its_code_and_what_needs_it(code: str) -> None:
    with pytest.raises(
        PriceError, match=rf"prices\.xlsx, sheet Prices: there is no price for '{code}', which [\d.,]+ "
    ) as told:
        estimate(takeoff(), book(without(code)))
    assert f"add a row '{code}'" in str(told.value)


def test_work_with_neither_price_nor_rate_nor_hourly_price_is_refused() -> None:
    with pytest.raises(
        PriceError, match=r"there is no price for 'paver-lay'.*or a work rate for it on the sheet Company"
    ):
        estimate(takeoff(), book(without("paver-lay")))
    with pytest.raises(PriceError, match=r"there is no price for 'machine-time'.*or a price for 'dig' itself"):
        estimate(takeoff(), book(without("machine-time")))


def test_a_price_of_nought_is_the_owners_decision_and_is_shown() -> None:
    (line,) = [one for one in priced(priced_at("spoil-tip", "0")).lines if one.code == "spoil-tip"]
    assert (line.amount, line.note) == (Decimal("0.00"), "priced at 0 by the owner")


def test_a_price_in_another_unit_prices_the_same_amount() -> None:
    (feet,) = [line for line in priced().lines if line.code == "pavers"]
    made = priced(book({**PRICES, "pavers": ("m2", "44.67", True)}))
    (metres,) = [line for line in made.lines if line.code == "pavers"]
    assert feet.quantity == Decimal("840.00")
    assert metres.quantity == Decimal("78.04")  # 840 x 0.09290304 = 78.0386


@pytest.mark.parametrize(
    ("code", "unit"), [("pavers", "ton"), ("joint-sand", "ton"), ("base-stone", "bag"), ("dig", "h")]
)
def test_a_price_in_a_unit_that_is_no_measure_of_the_quantity_is_refused(code: str, unit: str) -> None:
    with pytest.raises(
        PriceError, match=rf"Prices, {code}: the price of '{code}' is for one {unit}; it must be for a unit"
    ):
        estimate(takeoff(), book({**PRICES, code: (unit, "5", False)}))


def test_a_rate_in_a_unit_that_is_no_measure_of_the_work_is_refused() -> None:
    own = owner()
    wrong = book(
        own=type(own)(**{**{name: getattr(own, name) for name in own.__slots__}, "rates": (Rate("dig", 5, 5, "ton"),)})
    )
    with pytest.raises(PriceError, match="the production rate of 'dig' is for ton"):
        estimate(takeoff(), wrong)


def test_what_is_not_needed_makes_no_line() -> None:
    codes = {line.code for line in priced().lines}
    assert codes.isdisjoint({"geogrid", "geotextile", "old-pavement-haul", "foundation-fill"})
    assert {price.scope for price in priced().scope_prices} == {"dig", "base", "surface"}


def test_profit_is_a_share_of_the_price_before_tax() -> None:
    made = priced()
    assert made.profit / made.before_tax == pytest.approx(Decimal("0.15"), abs=Decimal("0.00001"))


def test_tax_falls_on_the_taxed_lines_only_and_is_not_marked_up() -> None:
    made = priced()
    taxed = sum(line.amount for line in made.lines if line.taxable)
    assert made.taxable == taxed
    assert made.tax == (taxed * Decimal("0.07")).quantize(Decimal("0.01"))
    assert made.total == made.cost + made.contingency + made.overhead + made.profit + made.tax


def test_a_total_is_spread_to_the_cent() -> None:
    weights = {"a": Fraction(1), "b": Fraction(2), "c": Fraction(0)}
    assert spread(Decimal("100.00"), weights) == {"a": Decimal("33.33"), "b": Decimal("66.67"), "c": Decimal("0.00")}
    assert spread(Decimal("0.00"), {"a": Fraction(0)}) == {"a": Decimal("0.00")}


def test_rates_are_rounded_for_the_one_who_quotes_them() -> None:
    assert (cents_down(Fraction(1, 3)), cents_down(Fraction(1, 4))) == (Decimal("0.33"), Decimal("0.25"))
