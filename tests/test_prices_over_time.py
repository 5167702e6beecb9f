"""Prices grow old and change: the owner is told, and told what it does to quotes that are out; nothing is stopped."""

import json
from collections.abc import Mapping
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from io import BytesIO
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from openpyxl.workbook import Workbook
from papers import client_file, office_file
from price_books import edited, in_table
from pricing_kit import PRICES, book, owner, priced_at
from printed import SHORT_TON_KG
from test_command_line import one_line, run  # noqa: F401 (a fixture)
from trial_quote import FIRM, SOFT, trial_book, trial_quote

from basecalc import PriceBook, old_prices, parse_job, price_changes, quote, reprice, write_quote
from basecalc.company import Rate, Stone
from basecalc.demo import write_demo
from basecalc.pricing.price_changes import old_in_quote, old_words
from basecalc.reports import quote_numbers, quote_text
from basecalc.runs import Outcome, quote_files

PRICED_ON = date(2026, 4, 1)  # the day of every price of `pricing_kit.book`


def dated(**days: date | None) -> PriceBook:
    """Return the owner's book with other days at some prices, named with _ for -."""
    made = book()
    prices = dict(made.prices)
    for key, day in days.items():
        code = key.replace("_", "-")
        prices[code] = replace(prices[code], priced_on=day)
    return replace(made, prices=prices)


def test_a_price_is_old_from_the_day_after_the_owners_limit_and_without_a_date_it_has_no_age() -> None:
    # common practice, no source: 180 days
    for days, count in ((180, 0), (181, len(PRICES)), (0, 0), (-30, 0)):
        assert len(old_prices(book(), PRICED_ON + timedelta(days=days))) == count
    short = replace(dated(geogrid=None), company=owner(old_price_days=10))
    old = old_prices(short, PRICED_ON + timedelta(days=11))
    assert {one.code for one in old} == PRICES.keys() - {"geogrid"}
    assert {one.days for one in old} == {11}


def test_the_oldest_is_named_first_and_many_are_counted() -> None:
    made = dated(pavers=date(2025, 1, 31), geogrid=date(2025, 3, 1))
    old = old_prices(made, PRICED_ON + timedelta(days=100))
    assert old_words(old, made.company) == (
        "2 prices are older than 180 days: pavers (2025-01-31, 525 days), geogrid (2025-03-01, 496 days)"
    )
    assert old_words((), made.company) == ""
    everything = old_prices(made, PRICED_ON + timedelta(days=200))
    assert old_words(everything, made.company).endswith(f"and {len(PRICES) - 4} more")
    assert old_words(everything[:1], made.company).startswith("1 price is older")


def test_a_quote_names_the_old_prices_it_rests_on_to_the_office_and_never_to_the_client(tmp_path: Path) -> None:
    prices = trial_book().prices
    old = {code: replace(price, priced_on=date(2024, 5, 1)) for code, price in prices.items() if code == "pavers"}
    unused = {"old-pavement": replace(prices["old-pavement"], priced_on=date(2023, 1, 1))}
    made = quote(parse_job(FIRM), replace(trial_book(), prices={**prices, **old, **unused}))
    assert [(one.code, one.days) for one in old_in_quote(made)] == [("pavers", 713)]  # 2024-05-01 to 2026-04-14
    told = "1 price is older than 180 days: pavers (2024-05-01, 713 days)"
    assert told in cells(office_file(made, 1))
    assert "2024-05-01" not in cells(client_file(made, 1))
    assert "older than" not in cells(client_file(made, 1))
    outcome = Outcome(Path("x.toml"), made, write_quote(made, tmp_path))
    assert told in quote_text(outcome)
    assert quote_numbers(outcome)["old_prices"] == [{"code": "pavers", "priced_on": "2024-05-01", "days": 713}]
    fresh = Outcome(Path("x.toml"), trial_quote(FIRM), write_quote(trial_quote(FIRM), tmp_path))
    assert "older than" not in quote_text(fresh)
    assert quote_numbers(fresh)["old_prices"] == []
    assert "older than 180" not in cells(office_file(trial_quote(FIRM), 1))


def cells(data: bytes) -> str:
    return "\n".join(
        str(cell.value) for sheet in openpyxl.load_workbook(BytesIO(data)) if sheet.title != "As quoted"
        for row in sheet.iter_rows() for cell in row if cell.value is not None
    )  # fmt: skip


def told(new: PriceBook, old: PriceBook) -> list[tuple[str, str, str, str, float | None]]:
    return [(one.kind, one.what, one.old, one.new, one.percent) for one in price_changes(new, old)]


def repriced(**rows: tuple[str, str, bool]) -> PriceBook:
    return book({**PRICES, **{key.replace("_", "-"): row for key, row in rows.items()}})


CHANGES: Mapping[str, tuple[PriceBook, tuple[str, str, str, str, float | None]]] = {
    # 27.44 / 24.50 = 1.12
    "dearer": (priced_at("base-stone", "27.44"), ("price", "base-stone", "$24.50 a ton", "$27.44 a ton", 12.0)),
    # 585 / 780 = 0.75
    "cheaper": (priced_at("geogrid", "585"), ("price", "geogrid", "$780.00 a roll", "$585.00 a roll", -25.0)),
    "from nothing": (priced_at("stone-haul", "5"), ("price", "stone-haul", "$0.00 a load", "$5.00 a load", None)),
    "to nothing": (priced_at("spoil-tip", "0"), ("price", "spoil-tip", "$60.00 a load", "$0.00 a load", -100.0)),
    "by four places": (priced_at("pavers", "4.1525"), ("price", "pavers", "$4.15 a ft2", "$4.1525 a ft2", 0.0602)),
    "taxed": (repriced(paver_lay=("ft2", "5.25", True)), ("tax", "paver-lay", "not taxed", "taxed", None)),
    # 4.15 a ft2 is 44.6702 a m2 (0.09290304 m2): 44.67 is as much, to 0.001 %
    "same in metric": (repriced(pavers=("m2", "44.67", True)),
                       ("unit", "pavers", "$4.15 a ft2", "$44.67 a m2", -0.0005)),
    "no such measure": (repriced(joint_sand=("lb", "0.6", True)),
                        ("unit", "joint-sand", "$28.00 a bag", "$0.60 a lb", None)),
    "added": (repriced(dig=("yd3", "14", False)), ("added", "dig", "", "$14.00 a yd3", None)),
    "removed": (book({key: row for key, row in PRICES.items() if key != "geogrid"}),
                ("removed", "geogrid", "$780.00 a roll", "", None)),
    "share": (book(own=owner(overhead=0.135)), ("setting", "overhead on cost", "12 %", "13.5 %", None)),
    "depth": (book(own=owner(standard_depth_m=12)), ("setting", "your standard depth", "14 in", "12 in", None)),
    "word": (book(own=owner(**{"design.class_edge": "middle"})),
             ("setting", "design a class at its", "weak", "middle", None)),
    "check": (book(own=owner(**{"checks.frost": "yes"})), ("setting", "count the frost check", "no", "yes", None)),
    "limit of age": (book(own=owner(old_price_days=90)),
                     ("setting", "a price is old after", "180 day", "90 day", None)),
}  # fmt: skip


@pytest.mark.parametrize("name", CHANGES)
def test_one_change_is_one_row(name: str) -> None:
    assert told(book(), book()) == []
    new, (kind, what, was, now, percent) = CHANGES[name]
    (row,) = told(new, book())
    assert row[:4] == (kind, what, was, now)
    assert row[4] == (None if percent is None else pytest.approx(percent, abs=6e-4))


def test_materials_trucks_rates_soils_and_terms_are_told_in_the_units_of_the_sheet() -> None:
    own = owner()
    stones = (replace(own.stones[0], waste=0.08), *own.stones[1:], Stone("riprap", "base-stone", "base", 1500, 1.2, 0))
    new = replace(
        own, stones=stones, trucks=(replace(own.trucks[0], payload_kg=15.5 * SHORT_TON_KG),), pavers=own.pavers[::-1],
        rates=(Rate("dig", 12.0, None, "yd3"), *own.rates[2:]), soils={"clay": 1.4}, terms=("Pay by card.",),
        rolls=(replace(own.rolls[0], aperture_stability=0.4), own.rolls[1]),
    )  # fmt: skip
    assert told(replace(book(), company=new), book()) == [
        ("Stone and sand", "crusher run: waste", "5 %", "8 %", None),
        ("Stone and sand", "riprap", "", "added", None),
        ("Geogrid and geotextile", "stiff grid: aperture stability", "0.32 m-N/deg", "0.4 m-N/deg", None),
        ("Trucks", "tandem: payload", "14 ton", "15.5 ton", None),
        ("Soil in the truck", "clay", "", "added", None),
        ("Work rates", "dig: per crew hour", "10", "12", None),
        ("Work rates", "dig: per machine hour", "10", "nothing", None),
        ("Work rates", "old-pavement", "there", "removed", None),
        ("Terms", "Pay by card.", "", "added", None),
    ]
    # the first row of a table counts, so its order is told
    (row,) = told(replace(book(), company=replace(own, stones=own.stones[::-1])), book())
    assert row[:2] == ("Stone and sand", "order of the rows")


def test_quotes_that_are_out_are_priced_again_and_what_cannot_be_is_told(tmp_path: Path) -> None:
    for job in (FIRM, SOFT):
        write_quote(trial_quote(job), tmp_path)
    (tmp_path / "Q-9-r1-office.xlsx").write_bytes(b"no workbook")
    (tmp_path / "notes.txt").write_text("mine")
    prices = trial_book().prices
    dear = replace(
        trial_book(), prices={code: replace(one, unit_price=one.unit_price * 2) for code, one in prices.items()}
    )
    soft, firm, broken = reprice(tmp_path, dear)
    assert (soft.number, soft.revision, firm.number) == ("FH-118", 1, "FH-119")
    for row, job in ((soft, SOFT), (firm, FIRM)):
        was = trial_quote(job).offer
        # every line twice, to the cent; what is added on top rounds by a cent or two
        assert row.quoted == was.total
        assert row.now is not None
        assert abs(row.now - 2 * was.total) <= Decimal("0.03")
        assert row.difference == row.now - was.total
        assert row.percent == pytest.approx(100, abs=0.001)
    assert broken.quoted is broken.percent is broken.difference is None
    assert "Q-9-r1-office.xlsx" in broken.refusal
    bare = replace(trial_book(), prices={code: one for code, one in prices.items() if code != "pavers"})
    assert [row.refusal.startswith("at the new prices: ") for row in reprice(tmp_path, bare)] == [True, True, False]
    assert reprice(tmp_path, bare)[0].quoted == trial_quote(SOFT).offer.total


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Any:
    made = write_demo(tmp_path_factory.mktemp("demo"))
    list(quote_files(made.jobs[:2], made.prices, made.quotes))
    return made


def test_check_against_an_older_workbook_prints_what_changed_and_what_it_does(run, demo, tmp_path) -> None:  # noqa: F811
    new = edited(demo.prices, tmp_path / "new.xlsx", in_table("Prices", "base-stone", "unit price", 31.0))
    before = {path: path.read_bytes() for path in (new, demo.prices, *demo.quotes.iterdir())}
    code, out, _ = run("check", new, "--against", demo.prices, "--quotes", demo.quotes)
    assert code == 0
    assert "$24.80 a ton -> $31.00 a ton  +25.0 %" in " ".join(out.split(" ")).replace("   ", "  ")
    assert "LF-2601-r1" in out
    assert "LF-2602-r1" in out
    numbers = json.loads(run("check", new, "--against", demo.prices, "--quotes", demo.quotes, "--json")[1])
    assert numbers["changes"] == [
        {"kind": "price", "what": "base-stone", "old": "$24.80 a ton", "new": "$31.00 a ton", "percent": 25.0}
    ]
    for row in numbers["quotes"]:
        assert Decimal(row["new_total"]) - Decimal(row["quoted_total"]) == Decimal(row["difference"]) > 0
        assert row["percent"] > 0
    assert run("check", demo.prices, "--against", demo.prices)[1] == "Nothing changed.\n"
    same = run("check", demo.prices, "--against", demo.prices, "--quotes", demo.quotes)[1]
    assert any(line.endswith("$13,937.95  no change") for line in same.splitlines())
    assert before == {path: path.read_bytes() for path in before}


def test_check_names_old_prices_and_stops_nothing(run, demo, monkeypatch) -> None:  # noqa: F811
    class Later(date):
        @classmethod
        def today(cls) -> "Later":
            return cls(2031, 1, 1)

    monkeypatch.setattr("basecalc.pricing.price_changes.date", Later)
    code, out, err = run("check", demo.prices)
    assert (code, out) == (0, f"{demo.prices}: nothing wrong was found\n")
    assert "prices are older than 180 days" in one_line(err)
    assert json.loads(run("check", demo.prices, "--against", demo.prices, "--json")[1])["old_prices"]
    assert run("check", demo.jobs[0])[2] == ""


BAD: Mapping[str, tuple[tuple[str, ...], str]] = {
    "no file": (("--against", "PRICES"), "need FILE"),
    "a job": (("JOB", "--against", "PRICES"), "it must be a price workbook"),
    "against a job": (("PRICES", "--against", "JOB"), "it must be a price workbook"),
    "against nothing": (("PRICES", "--against", "none.xlsx"), "there is no such file"),
    "no folder": (("PRICES", "--quotes", "nowhere"), "the folder cannot be read"),
    "no quotes": (("PRICES", "--quotes", "EMPTY"), "holds no office file"),
    "a file for a folder": (("PRICES", "--quotes", "PRICES"), "the folder cannot be read"),
    "against a quote": (("PRICES", "--against", "OFFICE"), "there is no sheet"),
}


@pytest.mark.parametrize("name", BAD)
def test_bad_words_for_check_end_in_one_line(name: str, run, demo, tmp_path) -> None:  # noqa: F811
    places = {
        "PRICES": demo.prices, "JOB": demo.jobs[0], "EMPTY": tmp_path, "OFFICE": demo.quotes / "LF-2601-r1-office.xlsx",
    }  # fmt: skip
    arguments, words = BAD[name]
    code, out, err = run("check", *(places.get(word, word) for word in arguments))
    assert (code, out) == (2, "")
    assert words in one_line(err)


def test_a_wrong_workbook_is_still_named_cell_by_cell(run, demo, tmp_path) -> None:  # noqa: F811
    def spoil(prices: Workbook) -> None:
        prices["Prices"].cell(6, 4).value = -5
        prices["Prices"].cell(7, 4).value = "much"

    wrong = edited(demo.prices, tmp_path / "wrong.xlsx", spoil)
    code, _, err = run("check", wrong, "--against", demo.prices)
    assert code == 2
    assert len(err.splitlines()) == 2
    code, out, err = run("check", demo.prices, "--against", wrong)
    assert (code, out) == (2, "")
    assert "wrong.xlsx, sheet Prices, cell D6" in one_line(err)
