"""Small sums by hand: bags, digits of prices, one rounding on every paper, orders that add up, hauling by any unit."""

from collections.abc import Mapping
from dataclasses import replace
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from engines import ironcalc_results, stored
from estimating_kit import demo_job, demo_prices
from hypothesis import given, settings
from hypothesis import strategies as st
from openpyxl import load_workbook
from papers import crew_file, rows, text
from price_books import Change, edited, in_table
from pricing_kit import PRICES, book, job_data, owner

from basecalc import (
    PriceBook,
    PriceError,
    Quote,
    load_prices,
    load_quote,
    parse_job,
    quote,
    write_price_workbook,
    write_quote,
)
from basecalc.company import Rate
from basecalc.pricing.prices import problems
from basecalc.pricing.records import Line
from basecalc.render.office import office_file as office_workbook
from basecalc.report import report
from basecalc.schedule import stone_order


@pytest.fixture(scope="module")
def prices(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_price_workbook(tmp_path_factory.mktemp("prices") / "prices.xlsx", demo_prices())


def set_price(code: str, **cells: Any) -> list[Change]:
    return [in_table("Prices", code, heading.replace("_", " "), value) for heading, value in cells.items()]


def rectangle(long_ft: float, wide_ft: float) -> dict[str, Any]:
    data = job_data(strength="hard")
    return {**data, "area": [{**data["area"][0], "length": long_ft, "width": wide_ft}]}


def lines_of(of: Quote, code: str) -> list[Line]:
    return [line for line in of.stone.lines if line.code == code]


@pytest.mark.parametrize(
    ("long_ft", "wide_ft", "bags"), [(50, 20, 20), (20, 10, 4), (50, 10, 10), (75, 20, 30), (51, 20, 21)]
)
def test_joint_sand_of_a_pound_a_square_foot_is_a_bag_for_fifty_square_feet(
    prices: Path, long_ft: float, wide_ft: float, bags: int
) -> None:
    # 1 lb/ft2, bags of 50 lb: 1,000 ft2 are 20 bags and not one more
    made = quote(parse_job(rectangle(long_ft, wide_ft)), load_prices(prices))
    assert made.offer.takeoff.amount("joint-sand") == bags


def test_a_setting_keeps_the_digits_it_was_typed_with(prices: Path) -> None:
    # 1 lb = 0.45359237 kg and 1 ft = 0.3048 m exactly
    assert load_prices(prices).company.joint_sand_kg_m2 == pytest.approx(0.45359237 / 0.3048**2, rel=1e-13)


@pytest.mark.parametrize("typed", [0.00004, 24.12345])
def test_a_unit_price_keeps_its_digits_and_none_above_0_becomes_free(
    prices: Path, tmp_path: Path, typed: float
) -> None:
    changes = (*set_price("base-stone", unit="lb"), in_table("Prices", "base-stone", "unit price", typed, sure="yes"))
    own = load_prices(edited(prices, tmp_path / "own.xlsx", *changes))
    assert own.prices["base-stone"].unit_price == Decimal(str(typed))
    made = quote(parse_job(rectangle(40, 20)), own)
    (line,) = lines_of(made, "base-stone")
    assert line.amount == (line.quantity * Decimal(str(typed))).quantize(Decimal("0.01"), ROUND_HALF_UP)
    assert "priced at 0" not in line.note
    assert bool(line.note) == (line.amount == 0)
    kept = load_quote(write_quote(made, tmp_path).office).quote
    assert (kept.offer.total, kept.book.prices["base-stone"].unit_price) == (made.offer.total, Decimal(str(typed)))
    cell = next(
        row[9] for row in load_workbook(tmp_path / f"{made.job.number}-r1-office.xlsx")["Costs"].iter_rows()
        if str(row[0].value).endswith("(base-stone)")
    )  # fmt: skip
    assert "######" in cell.number_format
    assert cell.value == pytest.approx(typed)


@pytest.mark.parametrize(("long", "wide"), [(66, 37), (210, 63)])  # quarters of a foot: 152.625 and 826.875 ft2
def test_quantities_are_printed_as_costs_charges_them(long: int, wide: int) -> None:
    """Half a hundredth is rounded up on both sheets: 868.125 ft2 is 868.13."""
    made = quote(parse_job(rectangle(long / 4, wide / 4)), book())
    said = rows(office_workbook(report(made), 1), "Quantities")
    printed = {row[0]: row[3] for row in said[: said.index(["Hours"])] if len(row) > 3}
    for code in ("base-stone", "pavers", "paver-lay", "edge-restraint"):
        charged = next(line.quantity for line in made.stone.lines if line.quantity_code == code)
        assert Decimal(str(printed[code])) == charged, code


@pytest.mark.parametrize("finish", [0.125, 0.3125])
def test_the_crew_reads_a_tie_between_two_eighths_as_the_greater(finish: float) -> None:
    """Sixteenths of an inch lie between two eighths of a tape; both are rounded up, as ROUND does."""
    data = job_data(strength="medium", finish_above_ground=finish, fall_length=0.1875, fall_width=0.0625)
    made = quote(parse_job(data), book())
    ground_in = Fraction(made.offer.takeoff.areas[0].dig_m / 0.0254).limit_denominator(64)
    eighths = (ground_in * 8 + Fraction(1, 2)).__floor__()  # half an eighth goes up
    whole, part = divmod(Fraction(eighths, 8), 1)
    words = f"{whole}-{part}" if part else str(whole)
    assert f"in the ground, {words} in below today's ground" in text(crew_file(made))


@settings(max_examples=30, deadline=None)
@given(st.integers(60, 600), st.integers(36, 200), st.sampled_from(["us", "metric"]))
def test_the_days_of_a_stone_order_sum_to_the_order_as_printed(long: int, wide: int, units: str) -> None:
    data = rectangle(long / 4, wide / 4)
    made = quote(parse_job({**data, "job": {**data["job"], "units": units}}), book())
    for stone in stone_order(made).stones:
        days = sum((Decimal(str(one.tons)) for one in stone.deliveries), Decimal(0))
        assert days == Decimal(f"{stone.tons:.9f}").quantize(Decimal("0.01"), ROUND_HALF_UP), stone.material


# Hauling and tipping by what a haulier charges for: a drive of 40 x 20 ft on hard ground, 6 in of base.


def hauled(units: Mapping[str, tuple[str, str]], rates: tuple[Rate, ...] = (), minimum: str = "") -> PriceBook:
    given = {**PRICES, **{code: (unit, price, False) for code, (unit, price) in units.items()}}
    own = owner()
    made = book(given, replace(own, rates=(*own.rates, *rates)))
    if minimum:
        rows = {
            key: replace(row, minimum=Decimal(minimum)) if key == "spoil-tip" else row
            for key, row in made.prices.items()
        }
        made = replace(made, prices=rows)
    return made


def test_hauling_by_ton_cubic_yard_and_hour_by_hand() -> None:
    # 40 x 20 ft: 861 ft2 with 6 in past 120 ft of edge and 4 corners: 800 + 60 + 1. Dug 6 + 3.375 = 9.375 in:
    # 861 x 9.375 / 324 = 24.9132 yd3, x 1.43 = 35.6259 loose, x 1.2825 ton = 45.6902 ton: 4 loads of 14 ton.
    data = {**rectangle(40, 20), "area": [{**rectangle(40, 20)["area"][0], "finish_above_ground": 0}]}
    by = hauled({"spoil-haul": ("yd3", "6.5"), "spoil-tip": ("ton", "11"), "stone-haul": ("h", "95")},
                (Rate("stone-haul", None, 0.8, "load"),))  # fmt: skip
    made = quote(parse_job(data), by)
    (dug,), (tipped,) = lines_of(made, "spoil-haul"), lines_of(made, "spoil-tip")
    assert (dug.quantity, dug.unit, dug.amount) == (Decimal("35.63"), "yd3", Decimal("231.60"))  # 231.595
    assert (tipped.quantity, tipped.unit, tipped.amount) == (Decimal("45.69"), "ton", Decimal("502.59"))
    # Stone 861 x 6 / 324 = 15.9444 yd3 x 1.254 x 1.48 x 1.05 = 31.07 ton: 3 loads at 0.8 an hour are 3.75 h; sand is
    # 1 load, 1.25 h.
    brought = lines_of(made, "stone-haul")
    assert [(line.quantity, line.unit, line.amount) for line in brought] == [
        (Decimal("3.75"), "h", Decimal("356.25")), (Decimal("1.25"), "h", Decimal("118.75")),
    ]  # fmt: skip
    assert "0.8 loads an hour" in brought[0].working
    assert made.stone.takeoff.amount("spoil-haul") == 4  # the truck still makes as many trips


def test_a_ton_of_any_kind_costs_the_same_and_a_metric_job_too() -> None:
    # 24.88 a ton of 2,000 lb is 0.01244 a lb; tons are printed to a hundredth, 20 lb, half of which at most is 0.13
    data = rectangle(40, 20)
    stone = [
        lines_of(quote(parse_job(data), hauled({"base-stone": row})), "base-stone")[0].amount
        for row in (("ton", "24.88"), ("lb", "0.01244"))
    ]
    assert abs(stone[0] - stone[1]) <= Decimal("0.13")
    us = quote(parse_job(data), hauled({"spoil-tip": ("ton", "11")}))
    pounds = quote(parse_job(data), hauled({"spoil-tip": ("lb", "0.0055")}))
    assert abs(lines_of(us, "spoil-tip")[0].amount - lines_of(pounds, "spoil-tip")[0].amount) <= Decimal("0.06")
    (metric,) = lines_of(quote(parse_job(data), hauled({"spoil-tip": ("t", "11")})), "spoil-tip")
    tons = us.stone.takeoff.areas[0].spoil_kg / 1000
    assert metric.quantity == Decimal(f"{tons:.9f}").quantize(Decimal("0.01"), ROUND_HALF_UP)


def test_hauling_by_the_hour_without_a_rate_is_refused_in_one_sentence() -> None:
    with pytest.raises(PriceError, match=r"the price of 'spoil-haul' is for one h; it needs a work rate") as refusal:
        quote(parse_job(rectangle(40, 20)), hauled({"spoil-haul": ("h", "95")}))
    assert "\n" not in str(refusal.value)


def test_a_least_charge_is_made_up_in_a_line_that_says_so() -> None:
    data = parse_job(rectangle(40, 20))
    plain = quote(data, hauled({}))
    (before,) = lines_of(plain, "spoil-tip")
    made = quote(data, hauled({}, minimum=str(before.amount + 75)))
    line, rest = lines_of(made, "spoil-tip")
    assert line == before
    assert (rest.quantity, rest.amount) == (1, Decimal("75.00"))
    assert "minimum charge of $" in rest.note
    assert made.stone.cost == plain.stone.cost + 75
    enough = quote(data, hauled({}, minimum=str(before.amount)))
    assert enough.stone.total == plain.stone.total


def test_haul_units_and_minimum_come_from_the_owners_sheet_and_survive_the_office_file(
    prices: Path, tmp_path: Path
) -> None:
    changes = (
        *set_price("spoil-tip", unit="ton", unit_price=14.5, minimum=2000),
        *set_price("spoil-haul", unit="cu yd", unit_price=7.25),
    )
    own = load_prices(edited(prices, tmp_path / "own.xlsx", *changes))
    made = quote(parse_job(demo_job("1-firm-ground")), own)
    tip = [line for line in made.offer.lines if line.code == "spoil-tip"]
    assert [line.unit for line in tip] == ["ton", "job"]
    assert sum(line.amount for line in tip) == 2000
    again = load_quote(write_quote(made, tmp_path / "out").office).quote
    assert again.offer.lines == made.offer.lines
    office = next((tmp_path / "out").glob("*-office.xlsx"))
    results = ironcalc_results(office)
    for place, value in stored(office).items():
        if place[0] == "Costs" and isinstance(value, int | float):
            assert results[place] == pytest.approx(value, abs=0.0051), place


@pytest.mark.parametrize(
    ("code", "cells", "said"),
    [
        ("base-stone", {"minimum": 50}, "minimum is for hauling and tipping only; base-stone is not"),
        ("spoil-tip", {"minimum": -1}, "minimum is -1; it must be a number from 0"),
        ("spoil-tip", {"minimum": "some"}, "minimum is 'some'; it must be a number"),
        ("spoil-haul", {"unit": "ft2"}, "unit is 'ft2'; spoil-haul must have one of: load, ton"),
        ("base-stone", {"unit": "h"}, "base-stone must have one of: ton"),
    ],
)
def test_what_no_haulier_charges_is_refused_with_its_cell(
    prices: Path, tmp_path: Path, code: str, cells: dict[str, Any], said: str
) -> None:
    wrong = problems(edited(prices, tmp_path / "own.xlsx", *set_price(code, **cells)))
    assert [str(one) for one in wrong if said in str(one)], [str(one) for one in wrong]
    assert all("sheet Prices, cell " in str(one) for one in wrong)
