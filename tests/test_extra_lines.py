"""What else a driveway costs, and the owner's terms: extra lines, mobilization, discount, rounding, payments."""

import json
from contextlib import redirect_stdout
from dataclasses import replace
from decimal import Decimal
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from engines import ironcalc_results, stored, without_values
from openpyxl import load_workbook
from pricing_kit import PRICES, book, job_data, owner
from test_random_jobs import price_book

import basecalc
from basecalc import (
    BasecalcError,
    InputError,
    PriceBook,
    PriceError,
    Quote,
    change_order,
    lines_frame,
    parse_job,
    quote,
)
from basecalc.cli import main

# Ten kinds of lines: item or code, quantity, unit, unit price, taxed, sense; and what each comes to by hand.
TEN: list[tuple[dict[str, Any], str]] = [
    (
        {"item": "Permit", "unit": "lump", "unit_price": 350, "sense": "price", "scope": "Town permit, at cost."},
        "350.00",
    ),
    ({"item": "Catch basin", "quantity": 2, "unit": "ea", "unit_price": 184.5, "taxable": "yes"}, "369.00"),
    ({"item": "Excavator on standby", "quantity": 3.5, "unit": "h", "unit_price": 95}, "332.50"),
    ({"item": "Trench plates", "quantity": 4, "unit": "days", "unit_price": 41.25}, "165.00"),
    ({"item": "Trench drain", "quantity": 24.5, "unit": "lf", "unit_price": 31.25, "taxable": True}, "765.63"),  # .625
    ({"item": "Sealer", "quantity": 812.35, "unit": "sf", "unit_price": 0.9375}, "761.58"),  # 761.578125
    ({"item": "Topsoil", "quantity": 6.25, "unit": "cy", "unit_price": 42, "taxable": True}, "262.50"),
    ({"item": "Rock for the swale", "quantity": 3.333, "unit": "ton", "unit_price": 38.4, "taxable": True}, "127.87"),
    ({"code": "border", "quantity": 66, "scope": "Soldier course, both sides.", "area": "driveway"}, "478.50"),
    ({"code": "steps", "quantity": 3, "unit": "each", "taxable": False}, "1380.00"),
]
OWN_ROWS = {**PRICES, "border": ("ft", "7.25", True), "steps": ("each", "460", True)}


def made(lines: list[dict[str, Any]], prices: PriceBook | None = None, **settings: Any) -> Quote:
    job = parse_job({**job_data(strength="stiff"), "line": lines})
    return quote(job, prices or book(OWN_ROWS, owner(**settings)))


def test_ten_lines_of_ten_kinds_agree_by_hand_to_the_cent() -> None:
    plain, more = made([]).stone, made([line for line, _ in TEN]).stone
    extra = [line for line in more.lines if line.extra]
    assert [str(line.amount) for line in extra] == [amount for _, amount in TEN]
    # By hand, from the take-off's own lines and those amounts: overhead 12 %, contingency 3 %, profit 15 %, tax 7 %.
    marked = plain.cost + sum(Decimal(amount) for line, amount in TEN if line.get("sense") != "price")
    taxed = plain.taxable + sum(map(Decimal, ("369.00", "765.63", "262.50", "127.87", "478.50")))
    cent = Decimal("0.01")
    contingency = (marked * Decimal("0.03")).quantize(cent, "ROUND_HALF_UP")
    overhead = ((marked + contingency) * Decimal("0.12")).quantize(cent, "ROUND_HALF_UP")
    before = marked + contingency + overhead
    profit = (before * Decimal("0.15") / Decimal("0.85")).quantize(cent, "ROUND_HALF_UP")
    tax = (taxed * Decimal("0.07")).quantize(cent, "ROUND_HALF_UP")
    assert (more.cost, more.profit, more.taxable, more.tax) == (marked, profit, taxed, tax)
    assert more.total == before + profit + Decimal("350.00") + tax
    assert sum(one.amount for one in more.scope_prices) == more.total


def test_the_price_of_ten_lines_of_ten_kinds_by_hand() -> None:
    """Where the take-off costs nothing, every sum is one of the ten lines: all of it worked out on paper."""
    free = {code: (unit, "0", taxed) for code, (unit, _, taxed) in PRICES.items()}
    one = made(
        [line for line, _ in TEN], book({**free, "border": OWN_ROWS["border"], "steps": OWN_ROWS["steps"]})
    ).stone
    # 369.00 + 332.50 + 165.00 + 765.63 + 761.58 + 262.50 + 127.87 + 478.50 + 1380.00; the permit is charged as it is
    assert one.cost == Decimal("4642.58")
    assert one.contingency == Decimal("139.28")  # 3 % of 4642.58 is 139.2774
    assert one.overhead == Decimal("573.82")  # 12 % of 4781.86 is 573.8232
    assert one.profit == Decimal("945.12")  # 15/85 of 5355.68
    assert one.before_tax == Decimal("6650.80")  # 5355.68 + 945.12 + 350.00
    assert one.taxable == Decimal("2003.50")  # 369.00 + 765.63 + 262.50 + 127.87 + 478.50
    assert one.tax == Decimal("140.25")  # 7 % is 140.245, half a cent up
    assert one.total == Decimal("6791.05")


def test_the_client_reads_each_extra_line_with_its_own_words_and_an_allowance_at_its_own_price() -> None:
    offer = made([line for line, _ in TEN]).offer
    said = {one.title: (one.text, one.amount) for one in offer.scope_prices}
    assert said["Permit"] == ("Town permit, at cost.", Decimal("350.00"))
    assert said["own words for border"][0] == "Soldier course, both sides."
    assert said["Sealer"][1] > Decimal("761.58")  # marked up
    border = next(line for line in offer.lines if line.code == "border")
    assert (border.area, border.cell, border.quantity, border.taxable) == (
        "Driveway", "Prices, border", Decimal("66.00"), True
    )  # fmt: skip
    assert {"Catch basin", "Trench plates"} <= set(lines_frame(offer)["item"])


def test_a_price_row_prices_an_amount_in_another_unit() -> None:
    lines = made([{"code": "border", "quantity": 20.1168, "unit": "m"}]).stone.lines
    (line,) = (line for line in lines if line.code == "border")
    assert (line.quantity, line.unit, line.amount) == (Decimal("66.00"), "ft", Decimal("478.50"))


WRONG: list[tuple[dict[str, Any], str]] = [
    ({"item": "Permit"}, r'line 1 "Permit": unit is missing; a line needs item, unit and unit price, or a code'),
    ({"unit": "ea", "unit_price": 3, "quantity": 1}, "line 1: item is missing"),
    ({"item": "Drain", "unit": "ft", "unit_price": 3}, 'line 1 "Drain": quantity is missing; it must be how many ft'),
    ({"item": "Drain", "unit": "furlong", "unit_price": 3}, "unit is 'furlong'; it must be one of: ton"),
    ({"item": "Drain", "unit": "ft", "unit_price": -3, "quantity": 1}, r"unit price is -3 \$; it must be from 0"),
    ({"item": "Drain", "unit": "ft", "unit_price": 3, "quantity": 0}, "quantity is 0; it must be above 0"),
    ({"item": "Drain", "unit": "ft", "unit_price": "free", "quantity": 1}, "unit price is 'free'"),
    ({"code": "border", "unit_price": 3, "quantity": 1}, "code and unit price are both given"),
    ({"code": "border", "quantity": 1, "area": "Barn"}, "area is 'Barn'; it must be one of: Driveway"),
    ({"code": "border", "quantity": 1, "sense": "gift"}, "sense is 'gift'; it must be one of: cost, price"),
    ({"code": "border", "amount": 1}, "there is no key 'amount'"),
]  # fmt: skip


@pytest.mark.parametrize(("line", "sentence"), WRONG)
def test_a_line_that_says_too_little_or_too_much_is_refused_with_its_place(line: dict[str, Any], sentence: str) -> None:
    with pytest.raises(InputError if "must be from" not in sentence and "above" not in sentence else BasecalcError,
                       match=sentence):  # fmt: skip
        parse_job({**job_data(), "line": [line]})


@pytest.mark.parametrize(
    ("line", "sentence"),
    [
        ({"code": "railing", "quantity": 1}, "line 1: there is no price for 'railing'; add a row 'railing'"),
        (
            {"code": "border", "quantity": 1, "unit": "ton"},
            "line 1: unit is 'ton'; the price of 'border' is for one ft",
        ),
        ({"code": "border"}, "line 1: quantity is missing; it must be how many ft there are"),
    ],
)
def test_a_line_that_its_price_row_cannot_price_is_refused(line: dict[str, Any], sentence: str) -> None:
    with pytest.raises(PriceError, match=sentence):
        made([line])


def test_mobilization_discount_and_rounding_are_worked_into_the_price() -> None:
    company, plain = owner(), made([]).stone
    assert (company.mobilization, company.minimum_charge, company.discount, company.progress) == (0, 0, 0, 0)
    assert company.round_price == "off"  # until they are set
    terms = made([], mobilization=400, discount=0.05, discount_words="Spring discount", round_price="50").stone
    asked = plain.before_tax + 400
    discount = (asked * Decimal("0.05")).quantize(Decimal("0.01"), "ROUND_HALF_UP")
    summed = asked - discount + plain.tax
    assert terms.sum("discount") == discount
    assert terms.total % 50 == 0
    assert 0 <= terms.total - summed < 50
    assert terms.sum("rounding") == terms.total - summed
    said = [(one.title, one.amount) for one in terms.scope_prices]
    assert said[-2:] == [("Mobilization", Decimal("400.00")), ("Spring discount", -discount)]
    assert sum(amount for _, amount in said) == terms.total


def test_no_job_is_priced_below_the_minimum_charge() -> None:
    plain = made([]).stone
    least = made([], minimum_charge=50_000, discount=0.1).stone
    assert least.before_tax == Decimal("50000.00")
    assert least.total == Decimal("50000.00") + plain.tax
    assert made([], minimum_charge=100).stone.total == plain.total


def test_deposit_progress_and_balance_sum_to_the_total() -> None:
    one = made([], progress=0.4, progress_when="when the stone is in")
    total = one.offer.total
    assert [due.words for due in one.payments] == [
        "Deposit at signing", "Progress payment when the stone is in", "Balance when the work is done"
    ]  # fmt: skip
    assert one.payments[0].amount == (total * Decimal("0.3")).quantize(Decimal("0.01"), "ROUND_HALF_UP")
    assert one.payments[1].amount == (total * Decimal("0.4")).quantize(Decimal("0.01"), "ROUND_HALF_UP")
    assert sum(due.amount for due in one.payments) == total
    with pytest.raises(BasecalcError, match=r"sheet Company: deposit and progress payment are 1\.1 of the total"):
        made([], progress=0.8)


def test_a_change_order_leaves_the_extra_lines_as_they_were_signed() -> None:
    signed = made([line for line, _ in TEN], mobilization=400)
    order = change_order(signed, {"Driveway": "soft"})
    lines = {line.title: line for line in order.lines}
    assert {lines[title].difference for title in ("Permit", "Sealer", "Mobilization")} == {0}
    assert sum(line.signed for line in order.lines) == signed.offer.total
    assert sum(line.found for line in order.lines) == order.price
    better = change_order(signed, {"Driveway": "hard"})
    assert sum(line.found for line in better.lines) == better.price


JOB = """
[job]
number = "X-1"
client = "Ines Hollowell"
site = "4 Kiln Row, Brackwater"
soil = "clay"

[[area]]
name = "Drive"
shape = "rectangle"
length = 40
width = 20
strength = "stiff"

[[line]]
code = "sealer"
quantity = 800

[[line]]
item = "Permit"
unit = "lump"
unit_price = 350
sense = "price"
scope = "Town permit, at cost."
"""


@pytest.fixture(scope="module")
def quoted(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, dict[str, Any]]:
    folder = tmp_path_factory.mktemp("extra")
    (folder / "drive.toml").write_text(JOB, "utf-8")
    records = basecalc_records()
    basecalc.write_price_workbook(folder / "prices.xlsx", records)
    job, prices = str(folder / "drive.toml"), str(folder / "prices.xlsx")
    arguments = ["quote", job, "--prices", prices, "--out", str(folder), "--json"]
    with redirect_stdout(StringIO()) as out, pytest.raises(SystemExit) as ended:
        main(arguments)
    assert ended.value.code == 0
    return folder, json.loads(out.getvalue())


def basecalc_records() -> dict[str, Any]:
    records = price_book(3)[0]
    own = {"code": "sealer", "item": "Seal the pavers", "unit": "ft2", "unit_price": 0.95, "taxable": "yes"}
    settings = {**records["settings"], "mobilization": 250, "progress": 0.3, "round_price": "10"}
    return {**records, "settings": settings, "prices": [*records["prices"], own]}


def test_extra_lines_and_terms_go_through_files_json_and_the_kept_quote(quoted: tuple[Path, dict[str, Any]]) -> None:
    folder, numbers = quoted
    (job,) = numbers if isinstance(numbers, list) else numbers["jobs"]
    lines = job["options"]["stone"]["extra_lines"]
    assert [(line["item"], line["amount"], line["sense"]) for line in lines] == [
        ("Seal the pavers", "760.00", "cost"), ("Permit", "350.00", "price"), ("Mobilization", "250.00", "price")
    ]  # fmt: skip
    assert Decimal(job["total"]) % 10 == 0
    assert sum(Decimal(due["amount"]) for due in job["payments"]) == Decimal(job["total"])
    again = basecalc.load_quote(folder / "X-1-r1-office.xlsx").quote
    assert again.offer.total == Decimal(job["total"])
    assert [line.item for line in again.job.lines] == ["", "Permit"]


def test_json_says_what_to_get_and_how_long_the_work_takes(quoted: tuple[Path, dict[str, Any]]) -> None:
    (job,) = quoted[1]
    sealer = {"item": "Seal the pavers", "area": "", "quantity": "800.00", "unit": "ft2", "scope": ""}
    assert job["order"]["extra_lines"] == [sealer]  # a permit and mobilization are lumps
    assert {one["code"] for one in job["order"]["stone"]} == {"base-stone", "bedding-sand"}
    steps, work = job["work"]["steps"], job["work"]
    assert [one["work"] for one in steps] == ["dig", "base-place", "paver-lay"]
    assert work["days"] == max(one["last_day"] for one in steps)
    assert work["crew_hours"] >= 0 <= work["machine_hours"]


def differences(path: Path, scratch: Path, least: int) -> dict[tuple[str, str], tuple[Any, float]]:
    """Return what another engine gives otherwise than it is stored; at least so many numbers must be formulas."""
    results = ironcalc_results(without_values(path, scratch / path.name))
    due = {at: value for at, value in stored(path).items() if isinstance(value, int | float)}
    assert len(due) >= least
    return {at: (results[at], value) for at, value in due.items() if abs(results[at] - value) > 0.005}


def test_the_files_of_a_job_with_extra_lines_and_terms_add_up_in_another_engine(
    quoted: tuple[Path, dict[str, Any]], tmp_path: Path
) -> None:
    folder, numbers = quoted
    (job,) = numbers if isinstance(numbers, list) else numbers["jobs"]
    # The client's page adds up what the price is made of; the office's file every line, markup and total.
    for kind, least in (("quote", 1), ("office", 40)):
        path = folder / f"X-1-r1-{kind}.xlsx"
        assert differences(path, tmp_path, least) == {}
        assert float(job["total"]) in stored(path).values()


@pytest.mark.parametrize(
    ("terms", "named"),
    [
        ({"discount": "4 %", "round_price": "50"}, ("Discount", "Rounding")),
        ({"minimum_charge": 60000, "discount": "4 %"}, ("Discount", "Up to the minimum charge")),
        ({"minimum_charge": 60000, "round_price": "50", "mobilization": 250}, ("Up to the minimum charge",)),
    ],
)
def test_costs_of_the_office_come_to_the_estimate_under_every_term(
    terms: dict[str, Any], named: tuple[str, ...], tmp_path: Path
) -> None:
    """Every amount on Costs, worked out anew, is the estimate's: cost, markups, terms, tax and total, cent for cent."""
    of = made([line for line, _ in TEN], **terms)
    path = basecalc.write_quote(of, tmp_path / "out").office
    assert differences(path, tmp_path, 40) == {}
    results = ironcalc_results(without_values(path, tmp_path / path.name))
    sheet = load_workbook(path)["Costs"]
    row_of = {str(sheet.cell(row, 1).value): row for row in range(sheet.max_row, 0, -1)}  # the first of each name
    one = of.offer
    assert set(named) <= set(row_of)
    for label, amount in (
        ("Cost", one.cost), ("Contingency, on cost", one.contingency),
        ("Overhead, on cost and contingency", one.overhead), ("Profit, a share of the price before tax", one.profit),
        ("Price before tax", one.before_tax), ("of the cost, taxable", one.taxable), ("Tax, on taxable lines", one.tax),
        ("Total", one.total),
    ):  # fmt: skip
        assert results["Costs", f"O{row_of[label]}"] == pytest.approx(float(amount), abs=0.0001), label
    for label, amount in (
        ("Lines charged as they are", one.sum("charged")), ("Discount", -one.sum("discount")),
        ("Up to the minimum charge", one.sum("small_job")), ("Rounding", one.sum("rounding")),
    ):  # fmt: skip
        shown = sheet[f"O{row_of[label]}"].value if label in row_of else 0
        shown = results["Costs", f"O{row_of[label]}"] if str(shown).startswith("=") else shown
        assert shown == pytest.approx(float(amount), abs=0.0001), label


def test_a_dearer_permit_and_stone_run_through_discount_tax_and_rounding_on_costs(tmp_path: Path) -> None:
    """An office that changes prices on Costs reads what the quote would come to at those prices."""

    def terms(permit: float, stone: str) -> Quote:
        given = [{**TEN[0][0], "unit_price": permit}]
        job = parse_job({**job_data(strength="stiff"), "line": given})
        rows = {**OWN_ROWS, "base-stone": ("ton", stone, True)}
        return quote(job, book(rows, owner(discount="4 %", round_price="50", minimum_charge=3000)))

    path = basecalc.write_quote(terms(350, "24.50"), tmp_path / "out").office
    sheets = load_workbook(path)
    sheet = sheets["Costs"]
    row_of = {str(sheet.cell(row, 1).value): row for row in range(sheet.max_row, 0, -1)}
    (permit,) = (row for name, row in row_of.items() if name.startswith("Permit ("))
    (stone,) = (row for name, row in row_of.items() if name.endswith("(base-stone)"))
    sheet.cell(permit, 10).value, sheet.cell(stone, 10).value = 975, 38.75
    sheets.save(tmp_path / "dearer.xlsx")
    results, dearer = ironcalc_results(tmp_path / "dearer.xlsx"), terms(975, "38.75").offer
    assert dearer.sum("discount")
    assert dearer.sum("rounding")
    assert results["Costs", f"O{row_of['Total']}"] == pytest.approx(float(dearer.total), abs=0.0001)
    assert results["Costs", f"O{row_of['Cost']}"] == pytest.approx(float(dearer.cost), abs=0.0001)


@pytest.mark.parametrize("found", ["soft", "hard"])
def test_a_change_order_adds_up_in_another_engine_under_every_term(found: str, tmp_path: Path) -> None:
    terms = {"discount": "4 %", "minimum_charge": 60000, "round_price": "50", "mobilization": 300}
    order = change_order(made([line for line, _ in TEN], **terms), {"Driveway": found})
    assert differences(basecalc.write_change(order, tmp_path / "out").office, tmp_path, 40) == {}


def test_a_haul_that_only_an_extra_line_needs_is_charged_its_minimum() -> None:
    own = book(OWN_ROWS)
    spoil = own.prices["spoil-haul"]
    own.prices["old-pavement-haul"] = replace(spoil, code="old-pavement-haul", minimum=Decimal("900"))
    lines = made([{"code": "old-pavement-haul", "quantity": 1, "taxable": "yes", "sense": "price"}], own).stone.lines
    line, rest = (one for one in lines if one.code == "old-pavement-haul")
    assert line.amount + rest.amount == Decimal("900.00")
    assert (rest.taxable, rest.sense) == (spoil.taxable, "cost")


def test_a_part_of_a_job_takes_no_extra_line_twice() -> None:
    whole = made([TEN[0][0]], mobilization=400)
    job = replace(whole.job, lines=())
    assert quote(job, whole.book).stone.total == whole.stone.total - Decimal("350.00")
