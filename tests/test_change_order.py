"""A change order: worked on paper to the cent, whole on its pages, honest about what it is taken against."""

import json
import re
from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from io import BytesIO
from math import exp, log10, pi, sqrt
from pathlib import Path
from typing import Any
from zipfile import ZipFile

import pytest
from engines import ironcalc_results, libreoffice_results, stored, without_values
from hypothesis import given, reject, settings
from hypothesis import strategies as st
from openpyxl import load_workbook
from papers import client_file, rows, text
from pricing_kit import book
from test_command_line import one_line, run  # noqa: F401 (a fixture)
from test_numbers_and_clients import dear
from test_paper_job import FILE
from trial_quote import FIRM, METRIC, SOFT, TWO_AREAS, trial_quote

from basecalc import (
    BasecalcError,
    ChangeOrder,
    InputError,
    OutOfRangeError,
    WorkbookError,
    change_order,
    load_quote,
    parse_job,
    quote,
    write_change,
    write_quote,
)
from basecalc.change_runs import change_job, change_numbers, change_text
from basecalc.core.units import FOOT2_M2, INCH_M, SHORT_TON_KG, YARD3_M3
from basecalc.demo import write_demo
from basecalc.ground.classes import CLASSES
from basecalc.pricing.changes import amounts, found_words, working_days
from basecalc.render.change_order import ChangeMark, change_file, change_office_file
from basecalc.runs import quote_files

MARK = ChangeMark(1, date(2026, 6, 9))
HARD = {**FILE, "area": [{**FILE["area"][0], "strength": "hard"}], "spot": []}  # the paper job, given as hard ground


# The job worked on paper in test_paper_job: 30 x 12 ft of drive, one side at the garage. Here it was signed for hard
# ground, and soft ground was found. Every number below was worked out with a desk calculator.


@pytest.fixture(scope="module")
def softer() -> ChangeOrder:
    return change_order(quote(parse_job(HARD), book()), {"Drive": "soft"}, 1)


@pytest.mark.source("GIROUD-HAN, design equation [read]; AASHTO-1993 Fig. 3.1 [read]; ICPI least base of 6 in [read]")
def test_hard_ground_takes_the_least_base_and_soft_ground_24_inches(softer: ChangeOrder) -> None:
    # Hard is CBR 6.4 and more, designed at 6.4. At 6 in = 0.1524 m the platform equation, r = 0.14145 m, cu = 192 kPa:
    h, r = 6 * INCH_M, sqrt(22 / (pi * 350))
    f_e = 1 + 0.204 * (3.48 * 20**0.3 / 6.4 - 1)  # RE = 1.336: fE = 1.068
    m = 1 - 0.9 * exp(-((r / h) ** 2))
    spread = (0.868 + 0.661 * (r / h) ** 1.5 * 3) / f_e
    # the bearing term is below zero: the tire alone does not rut this ground, no stone is asked for
    assert sqrt(22 / (pi * r**2 * m * 3.14 * 30 * 6.4)) - 1 < h / r / spread
    # structural: MR = 2555 x 6.4^0.64 = 8,381 psi, SN = 0.44 x 3.375 + 0.1378 x 6 = 2.312; 2,000 axle loads are asked
    sn, mr = 0.44 * 3.375 + (0.249 * log10(30000) - 0.977) * 6, 2555 * 6.4**0.64
    loads = 9.36 * log10(sn + 1) - 0.2 + log10(1.7 / 2.7) / (0.4 + 1094 / (sn + 1) ** 5.19) + 2.32 * log10(mr) - 8.07
    assert loads - 0.674 * 0.45 > log10(2000)
    old, new = softer.signed.offer.takeoff.base_m["Drive"], softer.found.offer.takeoff.base_m["Drive"]
    assert (round(old / INCH_M, 6), round(new / INCH_M, 6)) == (6.0, 24.0)  # 24: test_paper_job


def test_the_signed_price_to_the_cent(softer: ChangeOrder) -> None:
    # Extension 6 in = 0.5 ft: 360 + 72 x 0.5 + 2 x 0.25 = 396.5 ft2. Dig 6 + 1 + 2.375 - 0.375 = 9 in = 0.75 ft:
    # 396.5 x 0.75 / 27 = 11.013889 yd3, x 1.43 = 15.749861 loose, x 1.2825 = 20.199197 ton: 2 loads of 14 ton.
    # Stone 396.5 x 0.5 / 27 = 7.342593 yd3, x 1.254 x 1.48 x 1.05 = 14.308610 ton: 2 loads.
    area = softer.signed.offer.takeoff.area("Drive")
    assert area.base_area_m2 / FOOT2_M2 == pytest.approx(396.5)
    assert area.bank_m3 / YARD3_M3 == pytest.approx(11.013889, abs=1e-6)
    assert area.stone_kg / SHORT_TON_KG == pytest.approx(14.308610, abs=1e-4)
    lines = [
        ("crew-time", "1.10", "162.80"),  # 11.0139 yd3 at 10 an hour
        ("machine-time", "1.10", "79.20"),
        ("spoil-haul", "2", "190.00"),
        ("spoil-tip", "2", "120.00"),
        ("base-stone", "14.31", "350.60"),  # x 24.50 = 350.595, half up
        ("stone-haul", "2", "0.00"),
        ("stone-haul", "1", "0.00"),
        ("crew-time", "1.22", "180.56"),  # 7.3426 yd3 at 6 an hour
        ("machine-time", "1.22", "87.84"),
        ("bedding-sand", "1.82", "56.42"),
        ("pavers", "378.00", "1568.70"),
        ("paver-lay", "360.00", "1890.00"),
        ("edge-restraint", "72.00", "169.20"),
        ("joint-sand", "8", "224.00"),
    ]
    made = softer.signed.offer
    assert [(line.code, str(line.quantity), str(line.amount)) for line in made.lines] == lines
    # cost 5,079.32; x 3 % = 152.3796; 5,231.70 x 12 % = 627.804; 5,859.50 x 15/85 = 1,034.0294;
    # taxed 350.60 + 56.42 + 1,568.70 + 169.20 + 224.00 = 2,368.92, x 7 % = 165.8244
    below = (made.cost, made.contingency, made.overhead, made.profit, made.tax, made.total)
    assert tuple(map(str, below)) == ("5079.32", "152.38", "627.80", "1034.03", "165.82", "7059.35")


def test_the_change_by_line_and_in_all_to_the_cent(softer: ChangeOrder) -> None:
    # 24 in of stone only on soft ground is 12,454.02 (test_paper_job): + 5,394.67.
    assert (softer.found.offer.total, softer.total) == (Decimal("12454.02"), Decimal("5394.67"))
    # Untaxed x 1.35717647, taxed x 1.42717647.
    # Quoted: dig 552.00 -> 749.161; base 268.40 and 350.60 taxed -> 364.266 + 500.368 = 864.634; surface 5,445.562;
    # together 7,059.358. Scaled to 7,059.35, in cents: 74,916.06  86,463.34  544,555.62: the cent left goes to .62.
    # Found: dig 1,869.40 -> 2,537.106; base 1,390.40 and 1,810.80 taxed -> 1,887.018 + 2,584.331 = 4,471.349;
    # together 12,454.017. Scaled to 12,454.02: 253,710.62  447,135.03  544,556.35: the cent left goes to .62.
    assert [(one.title, str(one.signed), str(one.found), str(one.difference)) for one in softer.lines] == [
        ("Dig out", "749.16", "2537.11", "1787.95"),
        ("Stone base", "864.63", "4471.35", "3606.72"),
        ("Paved surface", "5445.56", "5445.56", "0.00"),
    ]


def test_what_is_dug_and_hauled_more_and_how_long_it_takes(softer: ChangeOrder) -> None:
    # 42.666667 - 11.013889 yd3; 73.906859 - 14.308610 ton; loads out 6 for 2, in 7 for 3.
    rows = {one.words: (one.signed, one.found) for one in amounts(softer)}
    dug, stone = rows["Ground dug, in place"], rows["Base stone"]
    assert [value / YARD3_M3 for value in dug] == pytest.approx([11.013889, 42.666667], abs=1e-5)
    assert [value / SHORT_TON_KG for value in stone] == pytest.approx([14.308610, 73.906859], abs=1e-4)
    assert (rows["Loads of soil hauled away"], rows["Loads of stone and sand"]) == ((2, 6), (3, 7))
    assert "Rolls of geogrid" not in rows
    # (1.101389 + 1.223765) h / 8; (4.266667 + 6.320988) h / 8; laying has a price and no rate
    old, new, missed = working_days(softer)
    assert (old, new) == pytest.approx((0.290644, 1.323457), abs=1e-6)
    assert missed == ("lay and compact pavers",)


def test_better_ground_is_a_credit_of_the_whole_difference() -> None:
    # Signed on soft ground with geogrid, 10,627.06 (test_paper_job); found hard: 6 in, on which a grid saves nothing.
    order = change_order(quote(parse_job(FILE), book()), {"drive": "hard"}, 1)
    assert (order.signed.offered, order.found.offered, order.left_out) == ("geogrid", "stone", True)
    assert (order.signed.offer.total, order.found.offer.total) == (Decimal("10627.06"), Decimal("7059.35"))
    assert order.total == Decimal("-3567.71")
    assert sum(one.difference for one in order.lines) == order.total
    assert not order.softer


def test_ground_softer_than_the_table_goes_is_priced_anew_and_says_so(softer: ChangeOrder) -> None:
    # Very stiff ground, one class weaker than hard, takes 6 in as well: the table goes on by the least, 3 in. 24 in do
    # not lie in it.
    assert len(softer.signed.deeper.areas["Drive"]) == 3
    assert (softer.promised, softer.total) == ({}, softer.real)
    said = text(change_file(softer, MARK))
    assert "priced anew, at the unit prices of the quote: the base goes deeper than the table." in said


def test_the_way_that_was_signed_stays_the_way_where_it_can() -> None:
    grid = change_order(trial_quote(SOFT), {"Driveway": 0.45}, 1)
    assert (grid.signed.offered, grid.found.offered) == ("geogrid", "geogrid")
    said = text(change_file(grid, MARK))
    assert "Quoted for soft ground" in said
    assert "When it was opened it was stronger, soft (strength 0.45% of crushed stone, CBR): a boot" in said
    plain = change_order(trial_quote({**SOFT, "job": {**SOFT["job"], "offer": "stone"}}), {"Driveway": 0.45}, 1)
    assert (plain.signed.offered, plain.found.offered) == ("stone", "stone")
    assert plain.other is not None
    assert plain.other.total == grid.found.offer.total


def test_the_area_that_is_not_named_stays_as_quoted() -> None:
    order = change_order(trial_quote(TWO_AREAS), {"parking bay": "medium"}, 1)
    old, new = order.signed.offer.takeoff.base_m, order.found.offer.takeoff.base_m
    assert old["Driveway"] == new["Driveway"]
    assert new["Parking bay"] > old["Parking bay"]


@given(st.sampled_from(CLASSES[1:]), st.sampled_from(["Driveway", "Parking bay"]))
@settings(max_examples=10, deadline=None)
def test_lines_always_add_up_and_weaker_ground_never_gives_a_credit(word: str, area: str) -> None:
    signed = trial_quote(TWO_AREAS)
    try:
        order = change_order(signed, {area: word}, 1)
    except InputError:  # ground of the class it was quoted for
        reject()
    assert sum((one.difference for one in order.lines), Decimal(0)) == order.total
    assert sum((one.found for one in order.lines), Decimal(0)) == order.price
    deeper = order.found.offer.takeoff.base_m[area] - signed.offer.takeoff.base_m[area]
    laid = [made.offered_depths[area].reinforcement.kind == "geogrid" for made in (signed, order.found)]
    assert (order.total > 0) == (deeper > 0 or (deeper == 0 and laid == [False, True]))


BAD: dict[str, tuple[dict[str, Any], type[BasecalcError], str]] = {
    "very soft": ({"Driveway": "very soft"}, OutOfRangeError, "needs an engineered design"),
    "very soft by number": ({"Driveway": 0.4}, OutOfRangeError, "needs an engineered design"),
    "no such area": (
        {"Garden": "soft"},
        InputError,
        "there is no area 'Garden' in this quote; its areas are: Driveway",
    ),
    "no area": ({}, InputError, "no ground is given"),
    "twice": ({"Driveway": "soft", "driveway": "soft"}, InputError, "given twice"),
    "no class": ({"Driveway": "boggy"}, InputError, "strength is 'boggy'; it must be one of"),
    "no strength": ({"Driveway": ""}, InputError, "strength is missing"),
    "far too strong": ({"Driveway": 400}, OutOfRangeError, "100"),
    "not a number": ({"Driveway": float("nan")}, BasecalcError, "is not a finite number"),
    "the same": ({"Driveway": "hard"}, InputError, "takes the same base as the signed quote"),
}


@pytest.mark.parametrize("name", BAD)
def test_what_cannot_be_priced_is_one_sentence(name: str) -> None:
    found, kind, words = BAD[name]
    with pytest.raises(kind, match=re.escape(words)) as refusal:
        change_order(trial_quote(FIRM), found, 1)
    assert "\n" not in str(refusal.value)


@pytest.mark.parametrize("words", ["soft", "=soft", "Drive=", "=", ""])
def test_words_that_name_no_area_or_no_ground_are_refused(words: str) -> None:
    with pytest.raises(InputError, match="it must be an area, '=' and a class word or a CBR"):
        found_words([words])
    with pytest.raises(InputError, match="given twice"):
        found_words(["Drive=soft", "Drive = hard"])


ORDERS = {
    "softer": (FIRM, {"Driveway": "medium"}),
    "better": (SOFT, {"Driveway": "very stiff"}),
    "two areas": (TWO_AREAS, {"Driveway": 0.9, "Parking bay": "medium"}),
    "metric": (METRIC, {"Driveway": "soft"}),
}


@pytest.fixture(scope="module", params=ORDERS)
def made(request: pytest.FixtureRequest) -> ChangeOrder:
    job, found = ORDERS[request.param]
    changes = {"units": "metric"} if request.param == "metric" else {}
    return change_order(trial_quote(job, **changes), found, 1)


def written(order: ChangeOrder, folder: Path) -> list[Path]:
    paths = [folder / "client.xlsx", folder / "office.xlsx"]
    for path, data in zip(paths, (change_file(order, MARK), change_office_file(order, MARK)), strict=True):
        path.write_bytes(data)
    return paths


def agree(path: Path, results: Mapping[tuple[str, str], Any]) -> None:
    kept = stored(path)
    assert len(kept) >= 8
    for place, value in kept.items():
        assert results[place] == (pytest.approx(value, abs=0.0051) if isinstance(value, int | float) else value), place


def test_an_engine_agrees_with_every_stored_value(made: ChangeOrder, tmp_path: Path) -> None:
    for path in written(made, tmp_path):
        agree(path, ironcalc_results(path))


@pytest.mark.libreoffice
def test_libreoffice_agrees_too(tmp_path: Path) -> None:
    order = change_order(trial_quote(TWO_AREAS), {"Driveway": 0.9, "Parking bay": "medium"}, 1)
    paths = written(order, tmp_path)
    bare = [without_values(path, tmp_path / f"bare-{path.name}") for path in paths]
    for path, results in zip(paths, libreoffice_results(bare, tmp_path), strict=True):
        agree(path, results)


def parts(data: bytes) -> str:
    with ZipFile(BytesIO(data)) as archive:
        return "\n".join(archive.read(name).decode("utf-8") for name in archive.namelist())


def test_no_cost_margin_supplier_or_hidden_sheet_is_in_the_clients_change_order(made: ChangeOrder) -> None:
    data = change_file(made, MARK)
    sheets = load_workbook(BytesIO(data))
    assert [(sheet.title, sheet.sheet_state) for sheet in sheets] == [("Change order", "visible")]
    text = parts(data)
    numbers = {round(Decimal(one.replace(",", "")), 4) for one in re.findall(r"(?<=[>$ ])\d[\d,]*\.?\d*", text)}
    assert round(made.found.offer.total, 4) in numbers
    for one in (made.signed, made.found):
        office = [one.offer.cost, one.offer.contingency, one.offer.overhead, one.offer.profit, one.offer.tax]
        office += [line.unit_price for line in one.offer.lines if line.unit_price > 5]
        assert not numbers & {round(value, 4) for value in office}
    lower = text.casefold()
    for word in (
        "ninebark", "gorse bank", "sedge", "alder mews", "overhead", "profit", "contingency", "habit", "crew-time",
        "prices.xlsx",
    ):  # fmt: skip
        assert word not in lower, word


def test_the_client_reads_what_changes_and_where_to_sign() -> None:
    order = change_order(trial_quote(FIRM), {"Driveway": "medium"}, 2)
    said = text(change_file(order, ChangeMark(3, date(2026, 6, 9))))
    for words in (
        "CHANGE ORDER", "FH-119, change 3", "June 9, 2026", "Quote FH-119, revision 2 of April 14, 2026",
        "Corbin Vastra", "Fernhollow Driveways", "Quoted for hard ground", "it was medium", "Work stops here", "811",
        "licensed engineer", "Local code", "ACCEPTED.", "REFUSED.", "This replaces all earlier change orders",
        "Work days",
    ):  # fmt: skip
        assert words in said, words
    assert "is added to the price, which is then" in said
    drawn = parts(change_file(order, ChangeMark(3, date(2026, 6, 9))))
    assert "Driveway, quoted: 9-3/8 in deep" in drawn
    assert "Driveway, revised: " in drawn
    better = text(change_file(change_order(trial_quote(SOFT), {"Driveway": "hard"}, 1), MARK))
    assert "is taken off the price, which is then" in better
    assert f"REFUSED. Build it as quoted, for ${trial_quote(SOFT).offer.total:,.2f}." in better
    assert "it is left out" in better


def test_without_a_signed_quote_the_paper_says_so() -> None:
    order = change_order(trial_quote(FIRM), {"Driveway": "medium"})
    said = text(change_file(order, MARK))
    assert "No signed quote at hand; taken against the job FH-119 at today's prices" in said
    assert "Signed quote" not in said
    assert "signed" not in said.replace("until this is signed", "").replace("No signed quote", "")
    assert "original quote" not in said


def test_change_orders_are_numbered_and_never_replace_one(tmp_path: Path) -> None:
    order = change_order(trial_quote(FIRM), {"Driveway": "medium"}, 2)
    first, second = write_change(order, tmp_path), write_change(order, tmp_path)
    assert [path.name for path in (first.client, second.client)] == ["FH-119-r2-change1.xlsx", "FH-119-r2-change2.xlsx"]
    assert second.office.name == "FH-119-r2-change2-office.xlsx"
    assert second.crew.name == "FH-119-r2-change2-crew.xlsx"
    (tmp_path / "FH-119-r2-change7-office.xlsx").write_bytes(b"mine")
    assert write_change(order, tmp_path).place == 8
    (tmp_path / "file").write_text("")
    with pytest.raises(WorkbookError, match="cannot be written there"):
        write_change(order, tmp_path / "file")


def test_a_change_order_takes_no_revision_of_its_quote(tmp_path: Path) -> None:
    made = trial_quote(FIRM)
    write_quote(made, tmp_path)
    write_change(change_order(made, {"Driveway": "medium"}, 1), tmp_path)
    assert write_quote(made, tmp_path).revision == 2


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Any:
    demo = write_demo(tmp_path_factory.mktemp("demo"))
    list(quote_files(demo.jobs, demo.prices, demo.quotes))
    return demo


def test_the_signed_prices_count_and_not_todays(folder: Any, tmp_path: Path) -> None:
    office = folder.quotes / "LF-2601-r1-office.xlsx"
    prices = dear(folder.prices, tmp_path / "dear.xlsx")
    by_file = change_job(office, ["Driveway=medium"], None, tmp_path / "a", day=MARK.day)
    by_folder = change_job(folder.jobs[0], ["Driveway=medium"], prices, folder.quotes, day=MARK.day)
    today = change_job(folder.jobs[0], ["Driveway=medium"], prices, tmp_path / "b", day=MARK.day)
    assert by_file.order.total == by_folder.order.total
    assert today.order.total > by_file.order.total
    assert (by_file.order.revision, by_folder.order.revision, today.order.revision) == (1, 1, 0)
    assert today.files.client.name == "LF-2601-r0-change1.xlsx"
    assert "no signed quote of LF-2601 was found" in today.signed.notes[0]
    assert by_file.signed.notes == ()
    (note,) = by_folder.signed.notes
    assert "dear.xlsx was not used: the signed quote in" in note
    assert str(office) in change_text(by_folder)
    assert json.loads(json.dumps(change_numbers(by_file)))["difference"] == str(by_file.order.total)


def test_a_second_change_order_and_another_job_file_are_told(folder: Any, tmp_path: Path) -> None:
    other = tmp_path / "other.toml"
    other.write_text(folder.jobs[2].read_text("utf-8").replace("height = 20", "height = 24"), "utf-8")
    change_job(folder.jobs[2], ["Parking bay=medium"], None, folder.quotes)
    made = change_job(other, ["Parking bay=medium"], None, folder.quotes, again=True)
    assert "is not the job that was quoted" in made.signed.notes[0]
    assert "takes its place and is not added to it" in made.signed.notes[1]


def test_the_command_writes_prints_and_refuses_in_one_line(run, folder, tmp_path) -> None:  # noqa: F811
    office = folder.quotes / "LF-2602-r1-office.xlsx"
    code, out, err = run("quote", office, "--found", "Driveway=0.45", "--out", tmp_path)
    assert (code, err) == (0, "")
    assert "LF-2602-r1-change1.xlsx" in out
    before = sorted(tmp_path.iterdir())
    code, out, err = run("quote", office, "--found", "Driveway=0.45", "--out", tmp_path, "--json")
    numbers = json.loads(out)
    assert (code, numbers["change"], numbers["unchanged"]) == (0, 1, True)
    assert "change order 1 says the same already: nothing was written" in one_line(err)
    assert sorted(tmp_path.iterdir()) == before
    again = json.loads(run("quote", office, "--found", "Driveway=0.45", "--out", tmp_path, "--json", "--again")[1])
    assert (again["change"], again["unchanged"]) == (2, False)
    # What the signed table says for the deeper base, printed for the client too, is what is charged.
    signed, area = load_quote(office).quote, numbers["areas"]["Driveway"]
    price = signed.deeper.price("Driveway", (area["base_found_in"] - area["base_signed_in"]) * INCH_M)
    assert price is not None
    assert float(price) in [value for line in rows(client_file(signed)) for value in line]
    assert numbers["promised"] == {"Driveway": str(price)}
    assert numbers["difference"] == numbers["by_the_quotes_rate"] == str(price)
    assert Decimal(numbers["found_total"]) - Decimal(numbers["signed_total"]) == price
    assert sum(Decimal(line["difference"]) for line in numbers["lines"]) == price
    words = [value for line in rows(Path(numbers["office_file"]), "Change costs") for value in line]
    assert "Real difference at the quote's own prices" in words
    assert "Deeper base, Driveway, 14 in: as the quote's table promises" in words
    asked = run("quote", folder.jobs[2], "--prices", folder.prices, "--dry-run", "--json")[1]
    table = json.loads(asked)[0]["deeper_base"]["Parking bay"]
    assert [row["base_depth_in"] for row in table][:3] == [7, 8, 9]
    assert all(Decimal(row["adds"]) >= 0 for row in table)
    before = sorted(tmp_path.iterdir())
    for words, part in (
        ((office, "--found", "Driveway=very soft"), "needs an engineered design"),
        ((office, "--found", "Driveway"), "it must be an area"),
        ((office, "--found", "Drive=soft"), "there is no area 'Drive'"),
        ((office, office, "--found", "Driveway=soft"), "2 are named"),
        (("--found", "Driveway=soft"), "0 are named"),
        ((folder.jobs[0], "--found", "Driveway=soft"), "no signed quote of LF-2601 was found"),
        ((tmp_path / "none.toml", "--found", "Driveway=soft"), "there is no such file"),
        ((office, "--found", "Driveway=soft", "--prices", folder.prices), "leave out --prices"),
        ((office, "--found", "Driveway=soft", "--only-new"), "--only-new says nothing; leave it out"),
        ((office, "--found", "Driveway=soft", "--workers", "2"), "--workers says nothing; leave it out"),
    ):
        code, out, err = run("quote", *words, "--out", tmp_path)
        assert (code, out) == (2, "")
        assert part in one_line(err)
    assert sorted(tmp_path.iterdir()) == before
