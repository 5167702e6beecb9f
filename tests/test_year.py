"""A year of sixty jobs from a known truth: the book and the season agree with it by hand sums, seed after seed."""

import csv
import json
import shutil
from collections.abc import Callable
from datetime import date, timedelta
from decimal import ROUND_HALF_UP, Decimal
from pathlib import Path

import pytest
from bench.season_coverage import maker, year_held
from engines import ironcalc_results, stored, without_values
from openpyxl import load_workbook
from test_command_line import one_line, run  # noqa: F401 (a fixture)
from year import GROUNDS, JOBS, UNSIGNED, Year, make_year, write_lists

from basecalc import BasecalcError, load_book, load_season, write_book
from basecalc.season.book import Book

Run = Callable[..., tuple[int, str, str]]
CENT = Decimal("0.01")
DAY = date(2026, 12, 20)


@pytest.fixture(scope="module")
def year(tmp_path_factory: pytest.TempPathFactory) -> Year:
    made = make_year(tmp_path_factory.mktemp("year"))
    write_lists(made, made.folder, 1)
    return made


@pytest.fixture(scope="module")
def book(year: Year) -> Book:
    return load_book(year.folder, day=DAY)


@pytest.fixture
def few(year: Year, tmp_path: Path) -> Path:
    """Return a folder with the quotes YR-001 to YR-005 and no lists."""
    for path in year.folder.glob("YR-00[1-5]-*.xlsx"):
        shutil.copy(path, tmp_path)
    return tmp_path


def signed_price(year: Year, place: int) -> Decimal:
    """Return what a client signed: the quote, and the change order that he signed."""
    quote = year.quotes[place - 1]
    price = quote.offer.total
    return price if place not in GROUNDS or place in UNSIGNED else price + year.changes[quote.job.number].total


@pytest.mark.source("sums of the quotes by what the script knows of each job; [computed]")
def test_the_book_adds_up_to_the_truth(year: Year, book: Book) -> None:
    assert (len(book.entries), book.not_counted) == (JOBS, ())
    for place, (entry, drive) in enumerate(zip(book.entries, year.drives, strict=True), 1):
        assert (entry.number, entry.client, entry.site) == (drive.number, drive.client, drive.site)
        assert (entry.state, entry.reason, entry.total) == (drive.result, drive.reason, signed_price(year, place))
        assert entry.written == drive.start - timedelta(days=20)
        assert entry.valid_until == drive.start + timedelta(days=10)  # the invented company's quotes are good 30 days
    for month in book.months:
        mine = [
            (signed_price(year, place), drive.result)
            for place, drive in enumerate(year.drives, 1)
            if f"{drive.start - timedelta(days=20):%Y-%m}" == month.name
        ]
        won = [price for price, state in mine if state in ("signed", "built")]
        lost = [price for price, state in mine if state == "lost"]
        assert month.of() == (len(mine), sum(price for price, _ in mine))
        assert month.of("signed", "built") == (len(won), sum(won))
        assert month.of("lost") == (len(lost), sum(lost))
        assert month.won() == (len(won) / (len(won) + len(lost)) if won or lost else None)
        assert month.won(1) == pytest.approx(float(sum(won) / (sum(won) + sum(lost))))
    assert sum(one.of()[0] for one in book.months) == sum(one.of()[0] for one in book.options) == JOBS
    grid = sum(
        price
        for place, one in enumerate(year.quotes, 1)
        if one.offered == "geogrid"
        for price in [signed_price(year, place)]
    )
    assert {one.name: one.of()[1] for one in book.options}["with geogrid"] == grid


def test_the_book_says_what_to_do_on_a_day(year: Year, book: Book, tmp_path: Path) -> None:
    to_do = {one.number: one.to_do for one in book.to_do}
    for place, drive in enumerate(year.drives, 1):
        valid = drive.start + timedelta(days=10)
        if place in UNSIGNED:
            adds = year.changes[drive.number].total
            assert to_do.pop(drive.number) == f"change order 1 (${adds:,.2f}) is not signed"
        elif drive.result == "sent":
            left = (valid - DAY).days
            ran_out = f"ran out {-left} days ago: renew it or mark it lost"
            assert to_do.pop(drive.number) == (ran_out if left < 0 else f"runs out in {left} days: call")
    assert to_do == {}
    # YR-060 starts on December 17: quoted 20 days before, good until 10 days after, last heard of 8 days before
    for path in year.folder.glob("YR-060-*.xlsx"):
        shutil.copy(path, tmp_path)
    (tmp_path / "results.csv").write_text("job,result,date\nYR-060,sent,2026-12-09\n", "utf-8")
    for day, words in ((12, ""), (17, "no answer for 8 days: call"), (27, "runs out today: call")):
        (entry,) = load_book(tmp_path, day=date(2026, 12, day)).entries
        assert entry.to_do == words


def cost_by_hand(year: Year, number: str) -> tuple[Decimal, Decimal]:
    """Return what a built job cost by its lists, and how much of that was measured; without the season's code.

    What was invoiced costs its invoices; stone and sand cost their tons, hours their wage; the rest is as estimated.
    """
    quote = next(one for one in year.built if one.job.number == number)
    rows = {
        name: [
            row
            for row in csv.DictReader((year.folder / f"{name}.csv").read_text("utf-8").splitlines())
            if row["job"] == number
        ]
        for name in ("tickets", "hours", "invoices")
    }
    bills = [(row["what"].split(" + "), Decimal(row["amount"])) for row in rows["invoices"]]
    billed = {code for codes, amount in bills if amount > 0 for code in codes}
    total = measured = sum(amount for _, amount in bills)
    names = {"base-stone": maker().STONE, "bedding-sand": maker().SAND}
    for line in quote.offer.lines:
        if line.code in billed:
            continue
        tons = [
            Decimal(row["net ton"]) for row in rows["tickets"]
            if row["material"] == names.get(line.code) and row["kind"] != "left over"
        ]  # fmt: skip
        column = {"crew-time": "crew hours", "machine-time": "machine hours"}.get(line.code)
        hours = [Decimal(row[column]) for row in rows["hours"] if column and row["work"] == line.work and row[column]]
        used = sum(tons or hours)
        amount = (used * line.unit_price).quantize(CENT, ROUND_HALF_UP) if used else line.amount
        total, measured = total + amount, measured + (amount if used else 0)
    return total, measured


@pytest.mark.source("added up from the lists of the year row by row; [computed]")
def test_the_season_agrees_with_the_truth_by_hand(year: Year) -> None:
    season = load_season([year.folder], [year.folder], year.prices)
    assert len(season.jobs) == JOBS
    assert any("Planned is what was signed" in note for note in season.notes)
    for place, (job, drive) in enumerate(zip(season.jobs, year.drives, strict=True), 1):
        change = year.changes.get(drive.number) if place not in UNSIGNED else None
        tax = (change.found if change else year.quotes[place - 1]).offer.tax
        assert job.quoted == signed_price(year, place) - tax
        if drive.result != "built":
            assert (job.cost_made, job.margin_made) == (None, None)
            continue
        cost, measured = cost_by_hand(year, drive.number)
        assert job.cost_made == cost
        assert job.measured == pytest.approx(float(measured / cost))
        assert job.margin_made == pytest.approx(float((job.quoted - cost) / job.quoted))
        unsigned = any("is not signed by the list of results" in note for note in job.notes)
        assert unsigned == (place in UNSIGNED)


def test_intervals_hold_the_truth_as_often_as_they_say(year: Year) -> None:
    """Ten numbers of three years; the bench runs two hundred. At 95 % some 28 of 30 hold."""
    found = list(year_held(range(1, 4), year))
    assert len(found) == 30
    assert sum(holds for _, holds, _, _ in found) >= 25
    assert max(half for (_, what), _, _, half in found if what != "waste") < 0.16


def test_planned_is_as_signed_whatever_prices_are_today(few: Path, year: Year) -> None:
    (few / "tickets.csv").write_text("job,ticket,material,net ton\nYR-001,1,base-stone,12\n", "utf-8")
    prices = few / "dear.xlsx"
    book = load_workbook(year.prices)
    book["Prices"]["D12"].value *= 1.2
    book.save(prices)
    season = load_season([few / "tickets.csv"], [few / "YR-001-r1-office.xlsx"], prices)
    assert season.jobs[0].planned.total == year.quotes[0].offer.total
    assert season.jobs[0].margin_made is None  # one ticket is far less than half of the cost


def test_files_that_are_not_whole_or_not_ours_are_named_and_not_counted(few: Path, year: Year) -> None:
    (few / "YR-001-r1-quote.xlsx").unlink()
    office = load_workbook(few / "YR-002-r1-office.xlsx")
    office["As quoted"]["B9"] = "1.00"
    office.save(few / "YR-002-r1-office.xlsx")
    shutil.copy(year.prices, few / "prices.xlsx")
    (few / "YR-004-r1-office.xlsx").unlink()
    (few / "YR-005-r1-office.xlsx").write_bytes(b"")
    shutil.copy(year.folder / "YR-013-r1-change1-office.xlsx", few / "YR-003-r1-change2-office.xlsx")
    for kind in ("office", "quote"):  # a copy under the name of another quote would count twice
        shutil.copy(few / f"YR-003-r1-{kind}.xlsx", few / f"YR-009-r1-{kind}.xlsx")
    book = load_book(few, day=DAY)
    assert [(one.number, len(one.changes)) for one in book.entries] == [("YR-003", 1)]
    said = "\n".join(book.not_counted)
    for words in (
        "YR-001-r1-office.xlsx: not counted as a quote; its client file", "YR-002-r1-office.xlsx, sheet As quoted",
        "prices.xlsx: not a file of a quote", "YR-004-r1-quote.xlsx: its office file", "YR-005-r1-office.xlsx",
        "YR-003-r1-change2-office.xlsx: this change order was not taken from the quote",
        "YR-009-r1-office.xlsx: its name says 'YR-009', and it keeps the quote 'YR-003'",
    ):  # fmt: skip
        assert words in said
    assert len(book.not_counted) == 8  # the client file of YR-005 as well
    for path in few.glob("YR-003*"):
        path.unlink()
    for folder in (few, year.prices.parent / "jobs"):  # nothing that counts is no book of nothing
        with pytest.raises(BasecalcError, match="holds no finished quote"):
            load_book(folder)


def test_which_of_two_revisions_was_signed_is_asked_and_may_be_said(few: Path) -> None:
    for kind in ("office", "quote"):
        shutil.copy(few / f"YR-001-r1-{kind}.xlsx", few / f"YR-001-r2-{kind}.xlsx")
    for revision, words in (("", "the list of results does not say which revision was signed"), ("1", "")):
        (few / "results.csv").write_text(f"job,result,revision\nYR-001,signed,{revision}\n", "utf-8")
        entry = load_book(few, day=DAY).entries[0]
        assert (entry.to_do, entry.revision) == (words, 1 if revision else 2)
    office = few / "YR-001-r1-office.xlsx"
    office.rename(few / "signed by the client.xlsx")
    (job,) = load_season([few / "results.csv"], [few / "signed by the client.xlsx"]).jobs
    assert job.quote.job.number == "YR-001"


def test_a_list_that_names_what_is_not_there_stops_the_book(few: Path, year: Year) -> None:
    plain = next(one.job.number for one in year.quotes[:5] if one.geogrid is None)
    for head, row, words in (
        ("result", "YR-009,sent", "job is 'YR-009'"),
        ("result,revision", "YR-001,signed,2", "revision 2 of YR-001 is not in the folder; there is 1"),
        ("result,change signed", "YR-003,built,2", "change order 2 of YR-003 is not in the folder; there is 1"),
        ("result,change signed", "YR-001,built,1", "there is none"),
        ("result,built", f"{plain},built,geogrid", "no such option"),
        ("result,change signed", "YR-003,built,first", "change is 'first'; it must be its number"),
        ("result,date", "YR-003,built,May", "date is 'May'"),
    ):
        (few / "results.csv").write_text(f"job,{head}\n{row}\n", "utf-8")
        with pytest.raises(BasecalcError, match=words) as refused:
            load_book(few, day=DAY)
        assert "results.csv, row 2" in refused.value.where


def test_the_command_prints_the_book_and_writes_it_once(run: Run, few: Path) -> None:  # noqa: F811
    (few / "results.csv").write_text(
        "job,result,date,reason,change signed\nYR-001,lost,2026-02-20,price,\nYR-003,signed,2026-02-21,,1\n", "utf-8"
    )
    out = few.parent / "out" / "book.xlsx"
    code, text, err = run("book", few, "--day", "2026-03-20", "--out", out)
    assert (code, err) == (0, "")
    assert "5 quotes" in text
    assert "YR-001-r1" in text
    assert "lost 2026-02-20: price" in text
    assert out.is_file()
    numbers = json.loads(run("book", few, "--day", "2026-03-20", "--json")[1])
    by_number = {one["number"]: one for one in numbers["quotes"]}
    assert by_number["YR-003"]["changes"][0]["signed"] is True
    assert (by_number["YR-001"]["reason"], by_number["YR-003"]["reason"]) == ("price", None)
    assert (numbers["next"], run("book", few, "--next")[1]) == ("YR-006", "YR-006\n")
    assert "exists" in one_line(run("book", few, "--out", out)[2])


def test_the_books_workbook_holds_its_sums(book: Book, tmp_path: Path) -> None:
    path = write_book(book, tmp_path / "book.xlsx")
    sheets = load_workbook(path, data_only=True)
    rows = {row[0]: row for row in sheets["Book"].iter_rows(values_only=True)}
    for one in book.entries:
        assert rows[f"{one.number}-r1"][3] == pytest.approx(float(one.total))
    total = next(row for row in sheets["Totals"].iter_rows(values_only=True) if row[0] == "All")
    assert (total[1], total[2]) == (JOBS, pytest.approx(float(sum(one.total for one in book.entries))))
    found = ironcalc_results(without_values(path, tmp_path / "bare.xlsx"))
    assert all(found[cell] == pytest.approx(value, rel=1e-6) for cell, value in stored(path).items())


def bills(few: Path, rows: str) -> Path:
    file = few / "invoices.csv"
    file.write_text(f"job,supplier,invoice,what,amount\n{rows}", "utf-8")
    (few / "results.csv").write_text("job,result\nYR-001,built\n", "utf-8")
    return file


def test_two_suppliers_credits_and_costs_that_nobody_planned(few: Path, year: Year) -> None:
    """The cost made is the estimate, less the lines that were invoiced, plus the invoices, less the credit."""
    file = bills(few, "".join((
        "YR-001,Ostmoor,17,base-stone + stone-haul,1500\n", "YR-001,Brackwater Pit,17,base-stone,900.50\n",
        "YR-001,Block Works,9,pavers,6000\n", "YR-001,Block Works,C9,pavers,-250.25\n",
        "YR-001,City,,other: street sweeping,120\n",
    )))  # fmt: skip
    season = load_season([file, few / "results.csv"], [few / "YR-001-r1-office.xlsx"])
    offer = year.quotes[0].offer
    replaced = sum(line.amount for line in offer.lines if line.code in ("base-stone", "stone-haul", "pavers"))
    invoiced = Decimal("1500") + Decimal("900.50") + Decimal("6000") - Decimal("250.25") + Decimal("120")
    (job,) = season.jobs
    assert job.invoiced == invoiced
    assert job.cost_made == offer.cost - replaced + invoiced
    assert job.measured == pytest.approx(float(invoiced / job.cost_made))


@pytest.mark.parametrize(
    ("rows", "words"),
    [
        ("YR-001,A,1,pavers,100\nYR-001,A,1,pavers,100\n", "invoice '1' is listed twice"),
        ("YR-001,A,1,gold,100\n", "what was invoiced is 'gold'; it must be a line of the estimate"),
        ("YR-001,A,1,pavers,0\n", "amount is 0; it must be another"),
        ("YR-001,A,1,pavers,\n", "the amount is missing"),
        ("YR-001,A,1,,100\n", "what was invoiced is missing"),
        ("YR-001,A,1,pavers,a lot\n", "amount is 'a lot'; it must be a number"),
        ("YR-002,A,1,pavers,100\n", "job is 'YR-002'"),
        ("YR-001,A,1,other,-99999\n", "its invoices and credits; it must be above 0"),
    ],
)
def test_a_wrong_invoice_is_refused(few: Path, rows: str, words: str) -> None:
    with pytest.raises(BasecalcError, match=words):
        load_season([bills(few, rows), few / "results.csv"], [few / "YR-001-r1-office.xlsx"])


def test_a_job_signed_and_not_built_counts_for_nothing_yet(few: Path) -> None:
    (few / "results.csv").write_text("job,result\nYR-001,signed\n", "utf-8")
    (few / "tickets.csv").write_text("job,ticket,material,net ton\nYR-001,1,base-stone,12\n", "utf-8")
    (job,) = load_season([few], [few / "YR-001-r1-office.xlsx"]).jobs
    assert (job.result, job.cost_made, job.brought) == ("signed", None, ())
    assert "Signed and not built yet" in job.notes[0]
