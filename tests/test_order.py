"""The stone order: whole loads by day, what the supplier is told, shared trips, the weight of a full truck."""

from dataclasses import replace
from datetime import date
from decimal import ROUND_HALF_UP, Decimal
from math import ceil
from pathlib import Path
from typing import Any

import papers
import pytest
from papers import crew_file, office_file, rows
from price_books import filled, spoiled
from printed import FOOT_M, POUND_KG, SHORT_TON_KG, YARD3_M3
from trial_quote import FIRM, METRIC, PRICES, SOFT, TWO_AREAS, trial_book, trial_quote

from basecalc import ChangeOrder, InputError, Quote, carry_over, change_order, load_prices, order_text, parse_job, quote
from basecalc.company import Rate, Truck
from basecalc.pricing.changes import working_days
from basecalc.pricing.prices import problems
from basecalc.report import report
from basecalc.schedule import back_haul_words, site_only, stone_order, work_day, work_plan
from basecalc.takeoff.road_weight import missing, road_weight

START = date(2026, 6, 4)  # a Thursday


def rated(job: dict[str, Any], **rates: float) -> Quote:
    """Return a quote whose owner does so many units of each work in a machine hour."""
    book = trial_book()
    rows = tuple(
        Rate(code.replace("_", "-"), None, rate, "ft2" if code in ("paver_lay", "old_pavement") else "yd3")
        for code, rate in rates.items()
    )
    return quote(parse_job(job), replace(book, company=replace(book.company, rates=rows)))


def text(made: Quote) -> str:
    return papers.text(office_file(made), "Stone order")


@pytest.mark.parametrize("job", [SOFT, FIRM, TWO_AREAS, METRIC])
def test_deliveries_add_up_to_the_loads_and_tons_that_are_priced(job: dict[str, Any]) -> None:
    made = trial_quote(job)
    priced = {one.variant: one.amount for one in made.offer.takeoff.of("stone-haul")}
    order = stone_order(made)
    assert {stone.material: stone.loads for stone in order.stones} == priced
    for stone in order.stones:
        assert sum(one.loads for one in stone.deliveries) == stone.loads
        days = sum((Decimal(str(one.tons)) for one in stone.deliveries), Decimal(0))
        assert days == Decimal(f"{stone.tons:.9f}").quantize(Decimal("0.01"), ROUND_HALF_UP)  # as both are printed
        assert stone.tons == pytest.approx(made.offer.takeoff.amount(stone.code))
        assert stone.deliveries[-1].last_tons == pytest.approx(stone.last_tons)
        assert 0 < stone.last_tons <= stone.full_tons + 1e-9


def test_days_follow_from_the_owners_rates_by_hand() -> None:
    """The job is dug in 10 h and its base placed in 20 h, 8 h a day: dig day 1-2, base day 2-4, 6 8 6 hours of it."""
    probe = trial_quote(SOFT)
    dug, placed = probe.offer.takeoff.amount("dig"), probe.offer.takeoff.amount("base-place")
    made = rated(SOFT, dig=dug / 10, base_place=placed / 20, paver_lay=1344 / 8)
    plan = work_plan(made.offer, 8.0)
    assert [(step.code, step.first_day, step.last_day) for step in plan] == [
        ("dig", 1, 2), ("base-place", 2, 4), ("paver-lay", 4, 5),
    ]  # fmt: skip
    stone = stone_order(made).stones[0]
    # 144.77 tons are 10.34 loads of 14: after 6, 14 and 20 of 20 hours 3.1, 7.2 and 10.34 loads are used up.
    assert stone.tons / stone.full_tons == pytest.approx(10.34, abs=0.005)
    assert [(one.day, one.loads, round(one.after_h, 6)) for one in stone.deliveries] == [
        (2, 4, 2),
        (3, 4, 0),
        (4, 3, 0),
    ]
    assert [round(one.tons, 2) for one in stone.deliveries] == [56, 56, 32.77]


def test_nothing_is_ordered_for_the_last_minutes_of_a_day() -> None:
    """Dug in 7.75 h of an 8 h day: the base is begun on day 2, and its stone comes then."""
    probe = trial_quote(SOFT)
    dug, placed = probe.offer.takeoff.amount("dig"), probe.offer.takeoff.amount("base-place")
    made = rated(SOFT, dig=dug / 7.75, base_place=placed / 4, paver_lay=200.0)
    assert [(one.day, one.loads, one.after_h) for one in stone_order(made).stones[0].deliveries] == [(2, 11, 0)]


def test_a_work_without_a_rate_leaves_the_days_open_and_says_so() -> None:
    made = trial_quote(TWO_AREAS)  # an old pavement, priced by its own row
    assert [(step.code, step.first_day) for step in work_plan(made.offer, 8.0)] == [
        ("old-pavement", 1), ("dig", None), ("foundation-place", None), ("base-place", None), ("paver-lay", None),
    ]  # fmt: skip
    order = stone_order(made, START)
    assert {(one.day, one.date) for stone in order.stones for one in stone.deliveries} == {(None, None)}
    loads = ceil(made.offer.takeoff.amount("base-stone") / 14)  # the trial company's truck takes 14 tons
    assert f"on a day we will tell you: {loads} loads" in order_text(made)
    assert "no work rate for: remove old pavement" in text(made)


def test_dates_leave_weekends_out_unless_work_begins_on_one() -> None:
    assert [work_day(START, day) for day in (1, 2, 3)] == [START, date(2026, 6, 5), date(2026, 6, 8)]
    assert work_day(date(2026, 6, 6), 2) == date(2026, 6, 8)  # a Saturday: six days a week
    assert work_day(date(2026, 6, 7), 7) == date(2026, 6, 13)  # a Sunday: every day


def test_the_first_day_of_the_job_file_is_the_one_of_the_order() -> None:
    made = trial_quote(SOFT | {"job": SOFT["job"] | {"start": START}})
    assert "Day 1 is Thu 2026-06-04." in order_text(made)
    assert "day 2 (Fri 2026-06-05)" in order_text(made)
    assert "Day 1 is Mon 2026-06-15." in order_text(made, date(2026, 6, 15))
    with pytest.raises(InputError, match="start is 'soon'; it must be a date"):
        parse_job(SOFT | {"job": SOFT["job"] | {"start": "soon"}})
    with pytest.raises(
        InputError, match=r"start is 2026-04-20; it must not be before the date of the quote, 2026-04-21"
    ):
        parse_job(SOFT | {"job": SOFT["job"] | {"start": date(2026, 4, 20)}})
    assert parse_job(SOFT | {"job": SOFT["job"] | {"start": date(2026, 4, 21)}}).start == date(2026, 4, 21)


@pytest.mark.parametrize("job", [SOFT, FIRM, TWO_AREAS, METRIC])
def test_the_supplier_hears_of_no_client_no_price_and_no_other_supplier(job: dict[str, Any]) -> None:
    made = trial_quote(job)
    words = order_text(made, START).casefold()
    assert made.job.site.casefold() in words
    secret = {made.job.client, made.job.number, made.book.company.name, "$", "price", "quote"}
    own = {f"{stone.tons:.2f}" for stone in stone_order(made).stones}  # a tonnage may look like some price
    secret |= {supplier for *_, supplier in PRICES if supplier} | {price for _, _, price, *_ in PRICES} - own
    assert {word for word in secret if word.casefold() in words} == set()
    assert order_text(made) in text(made)


@pytest.mark.parametrize(
    ("site", "told"),
    [
        ("31 Rushes Lane, Brackwater", "31 Rushes Lane, Brackwater"),
        ("c/o Ada Fell, 4 Mill Lane, Brackwater", "4 Mill Lane, Brackwater"),
        ("4 Mill Lane (ADA FELL), Brackwater", "4 Mill Lane, Brackwater"),
        ("Ada Fell", "to follow"),
    ],
)
def test_a_clients_name_in_the_address_stays_behind(site: str, told: str) -> None:
    assert site_only(site, "Ada Fell") == told
    assert "ada fell" not in site_only(site, "Ada Fell").casefold()


def test_shared_trips_change_no_quantity_and_no_price() -> None:
    plain, shared = trial_quote(SOFT), trial_quote(SOFT, back_haul="yes")
    assert shared.offer.total == plain.offer.total
    assert shared.offer.takeoff.quantities == plain.offer.takeoff.quantities
    out = plain.offer.takeoff.amount("spoil-haul")
    found = stone_order(shared).back_haul
    assert (found.loads_in, found.loads_out, found.shared) == (11, out, min(11, out))  # the load of sand comes too late
    assert stone_order(plain).back_haul.shared == 0
    assert "no quantity and no price in this quote is less by it" in text(shared)
    assert "Sharing trips is off" in text(plain)


def test_no_trip_is_shared_where_soil_goes_by_another_truck() -> None:
    book = trial_book(back_haul="yes")
    trucks = (
        Truck("Tandem", "stone", 14 * SHORT_TON_KG, 12 * YARD3_M3),
        Truck("Tri-axle", "spoil", 18 * SHORT_TON_KG, 15 * YARD3_M3),
    )
    made = quote(parse_job(SOFT), replace(book, company=replace(book.company, trucks=trucks)))
    found = stone_order(made).back_haul
    assert (found.asked, found.shared, found.other_truck) == (True, 0, True)
    assert "none is shared" in back_haul_words(found)
    assert text(made).count("not checked against the federal bridge formula") == 2


EXTRA = [
    {"item": "Swale rock", "quantity": 3.3, "unit": "ton", "unit_price": 38, "scope": "Rock for the swale."},
    {"item": "Topsoil", "quantity": 6.25, "unit": "yd3", "unit_price": 42},
    {"item": "Catch basin", "quantity": 2, "unit": "each", "unit_price": 184.5},
    {"item": "Permit", "unit": "lump", "unit_price": 350},
    {"item": "Set the steps", "quantity": 6, "unit": "h", "unit_price": 148},
    {"item": "Build the wall", "quantity": 2, "unit": "day", "unit_price": 1184},
    {"code": "machine-time", "item": "Grade the swale", "quantity": 4},
]


def test_extra_lines_are_ordered_and_take_their_days() -> None:
    """Three lines are bought by amount; 6 h, 2 days of 8 h and 4 h of a machine follow the paving: 26 h more."""
    plain, more = rated(SOFT, dig=30, base_place=22, paver_lay=168), quote_with_lines(EXTRA)
    was, now = report(plain), report(more)
    assert [(step.title, step.hours) for step in now.order.plan[len(was.order.plan) :]] == [
        ("Set the steps", 6), ("Build the wall", 16), ("Grade the swale", 4),
    ]  # fmt: skip
    end = was.order.plan[-1].end_h
    assert end is not None
    assert was.offer.days == ceil(end / 8)
    assert now.offer.days == ceil((end + 26) / 8)
    assert now.offer.crew_h == was.offer.crew_h + 22
    assert now.offer.machine_h == pytest.approx(was.offer.machine_h + 4)
    assert now.order.stones == was.order.stones  # no stone comes on another day
    got = [(line.item, str(line.quantity), line.unit, line.text) for line in now.order.extras]
    assert got == [
        ("Swale rock", "3.30", "ton", "Rock for the swale."), ("Topsoil", "6.25", "yd3", ""),
        ("Catch basin", "2", "each", ""),
    ]  # fmt: skip
    words = order_text(more)
    assert words.startswith(order_text(plain))
    assert words.endswith("Also needed, on a day we will tell you:\n  Swale rock: 3.30 tons\n  Topsoil: 6.25 yd³")
    assert days_change(change_order(more, {"Driveway": 0.6})) == days_change(change_order(plain, {"Driveway": 0.6}))
    said = [" ".join(map(str, row)) for row in rows(office_file(more))]
    for line in ("Swale rock 3.3 tons as needed", "Catch basin 2 as needed", "Build the wall 16.0 h day"):
        assert any(line in row for row in said), line
    assert any(row[0] == "Build the wall" for row in rows(crew_file(more), "Safety and days"))


def quote_with_lines(lines: list[dict[str, Any]]) -> Quote:
    return rated(SOFT | {"line": lines}, dig=30, base_place=22, paver_lay=168)


def days_change(order: ChangeOrder) -> float:
    before, after, _ = working_days(order)
    return round(after - before, 9)


# Length ft, axles, limit lb, as printed.
CFR_23_658_17 = [(8, 2, 34_000), (51, 5, 80_000), (36, 4, 66_000), (48, 5, 78_000), (9, 2, 39_000), (16, 3, 48_000)]


@pytest.mark.source("23-CFR-658-17, bridge formula; [read]")
@pytest.mark.parametrize(("length_ft", "axles", "limit_lb"), CFR_23_658_17)
def test_a_full_truck_is_held_against_the_printed_limit(length_ft: float, axles: int, limit_lb: float) -> None:
    empty = 12_000 * POUND_KG
    for over_lb in (-1, 0, 1, 500):
        payload = limit_lb * POUND_KG - empty + over_lb * POUND_KG
        found = road_weight(Truck("any", "both", payload, 9.0, axles, length_ft * FOOT_M, empty))
        assert found.limit_kg / POUND_KG == pytest.approx(limit_lb)
        assert found.over_kg / POUND_KG == pytest.approx(max(over_lb, 0), abs=0.06)
        assert found.payload_kg / POUND_KG == pytest.approx(limit_lb - 12_000)


def test_an_overweight_truck_is_a_warning_and_changes_no_load() -> None:
    book = trial_book()
    heavy = Truck("Tandem", "both", 14 * SHORT_TON_KG, 12 * YARD3_M3, 3, 16 * FOOT_M, 12 * SHORT_TON_KG)
    made = quote(parse_job(SOFT), replace(book, company=replace(book.company, trucks=(heavy,))))
    # 24,000 lb empty and 28,000 lb of stone, 48,000 lb allowed
    assert "too heavy by 4,000 lb when full" in text(made)
    assert "A payload of 24,000 lb would be within it" in text(made)
    assert made.offer.total == trial_quote(SOFT).offer.total


def test_what_the_check_lacks_is_named() -> None:
    half = Truck("Tandem", "both", 12_700.0, 9.2, axles=3)
    assert missing(half) == ("outer axles", "empty weight")
    with pytest.raises(InputError, match="no outer axles and no empty weight"):
        road_weight(half)


def test_the_company_sheet_takes_the_trucks_axles_and_does_without_them(tmp_path: Path) -> None:
    rows = [{"name": "tandem", "use": "both", "payload": 14, "box": 12, "axles": 3, "outer_axles": 16, "empty": 12}]
    path = filled(tmp_path, trucks=rows)
    truck = load_prices(path).company.trucks[0]
    assert carry_over(path).records["trucks"] == rows
    assert (truck.axles, truck.outer_axles_m, truck.empty_kg) == (3, 16 * FOOT_M, pytest.approx(12 * SHORT_TON_KG))

    def older(book: Any) -> None:
        page = book["Company"]
        for row in page.iter_rows():
            for cell in row:
                if str(cell.value).split(" [")[0] in ("axles", "outer axles", "empty weight"):
                    cell.value = None
                if cell.value in ("passes of the plate or roller", "trucks that bring stone take soil out"):
                    for at in range(1, 5):
                        page.cell(cell.row, at).value = None
        page.tables["Trucks"].ref = page.tables["Trucks"].ref.replace("G", "D")
        for column in page.tables["Trucks"].tableColumns[4:]:
            page.tables["Trucks"].tableColumns.remove(column)

    path = spoiled(tmp_path, older)
    assert carry_over(path).records["trucks"][0]["box"] == 12
    company = load_prices(path).company
    assert (company.trucks[0].axles, company.passes, company.back_haul) == (None, 4, False)


@pytest.mark.parametrize(
    ("field", "value", "told"),
    [("axles", 2.5, "axles is 2.5; it must be a whole number"), ("axles", 1, "axles is 1"),
     ("outer_axles", 3, "outer axles is 3 ft"), ("empty", 0, "empty weight is 0 ton")],
)  # fmt: skip
def test_an_impossible_truck_is_refused_at_its_cell(tmp_path: Path, field: str, value: float, told: str) -> None:
    row = {"name": "tandem", "use": "both", "payload": 14, "box": 12, field: value}
    assert any(
        told in str(one) and "sheet Company, cell" in str(one) for one in problems(filled(tmp_path, trucks=[row]))
    )
