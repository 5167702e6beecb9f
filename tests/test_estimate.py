"""Quantities and prices become lines, sums and the client's lines; a missing price is loud."""

from dataclasses import replace
from decimal import Decimal

import pytest
from pricing_kit import PRICES, book, job_data, owner, priced_at
from printed import INCH_M

from basecalc import Estimate, PriceBook, PriceError, estimate, parse_job, take_off
from basecalc.company import Rate
from basecalc.takeoff.takeoff import Takeoff

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
    (hours,) = (one for one in priced().hours if one.code == "paver-lay")
    assert (hours.crew_h, hours.machine_h) == (None, None)
    assert "no production rate" in hours.working


def test_work_that_takes_no_machine_has_no_machine_line() -> None:
    made = estimate(takeoff(foundation_edge=20, foundation_fill_depth=12, foundation_fill_width=2), book())
    lines = [line.code for line in made.lines if line.quantity_code == "foundation-place"]
    assert lines == ["crew-time"]


@pytest.mark.parametrize("code", ["base-stone", "spoil-haul", "spoil-tip", "stone-haul", "pavers", "joint-sand"])
def test_a_missing_price_is_told_with_its_code_and_what_needs_it(code: str) -> None:
    said = rf"prices\.xlsx, sheet Prices: there is no price for '{code}', which [\d.,]+ .*add a row '{code}'"
    with pytest.raises(PriceError, match=said):
        estimate(takeoff(), book(without(code)))


def test_a_price_of_nought_is_the_owners_decision_and_is_shown() -> None:
    (line,) = [one for one in priced(priced_at("spoil-tip", "0")).lines if one.code == "spoil-tip"]
    assert (line.amount, line.note) == (Decimal("0.00"), "priced at 0 by the owner")


def test_a_price_in_another_unit_prices_the_same_amount() -> None:
    (feet,) = [line for line in priced().lines if line.code == "pavers"]
    made = priced(book({**PRICES, "pavers": ("m2", "44.67", True)}))
    (metres,) = [line for line in made.lines if line.code == "pavers"]
    assert feet.quantity == Decimal("840.00")
    assert metres.quantity == Decimal("78.04")  # 840 x 0.09290304 = 78.0386


NO_RATE = "there is no price for 'paver-lay'.*or a work rate for it on the sheet Company"
NO_HOUR = "there is no price for 'machine-time'.*or a price for 'dig' itself"


@pytest.mark.parametrize(
    ("prices", "said"),
    [
        (without("paver-lay"), NO_RATE),
        (without("machine-time"), NO_HOUR),
        *(
            (
                {**PRICES, code: (unit, "5", False)},
                f"Prices, {code}: the price of '{code}' is for one {unit}; it must be",
            )
            for code, unit in (("pavers", "ton"), ("joint-sand", "ton"), ("base-stone", "bag"), ("dig", "h"))
        ),
    ],
)
def test_what_cannot_be_priced_is_refused(prices: dict[str, tuple[str, str, bool]], said: str) -> None:
    with pytest.raises(PriceError, match=said):
        estimate(takeoff(), book(prices))


def test_a_rate_in_a_unit_that_is_no_measure_of_the_work_is_refused() -> None:
    with pytest.raises(PriceError, match="the production rate of 'dig' is for ton"):
        estimate(takeoff(), book(own=replace(owner(), rates=(Rate("dig", 5, 5, "ton"),))))


def test_what_is_not_needed_makes_no_line() -> None:
    codes = {line.code for line in priced().lines}
    assert codes.isdisjoint({"geogrid", "geotextile", "old-pavement-haul", "foundation-fill"})
    assert {price.scope for price in priced().scope_prices} == {"dig", "base", "surface"}
