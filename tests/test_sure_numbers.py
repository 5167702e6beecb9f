"""Numbers that are most likely a slip are asked about, and taken where the owner writes yes: shares, prices, dates."""

import re
from datetime import date, timedelta
from decimal import Decimal
from functools import partial
from pathlib import Path
from typing import Any

import pytest
from estimating_kit import demo_job, demo_prices
from openpyxl.workbook import Workbook
from price_books import Change, filled, find, heading, in_table, setting, sound, spoiled

from basecalc import BasecalcError, carry_over, load_prices, parse_job, quote, write_price_workbook
from basecalc.cli import main
from basecalc.health import file_problems

SHARES = (
    "overhead on cost", "profit as a share of the price", "contingency on cost", "sales tax", "deposit at signing",
)  # fmt: skip
PRICE = "unit price"


def refusal(path: Path) -> str:
    """Return the one thing that is wrong with a price workbook."""
    problems = file_problems(path)
    assert len(problems) == 1, problems
    return str(problems[0])


# What is typed, and what is asked. A spreadsheet program stores 0.0012 where 0.12 is typed into a cell with the percent
# sign; 1, typed into a cell without it, is 100 %; 46,089 is the number of a day in 2026.
ASKED: list[tuple[Any, str]] = [
    *((partial(setting, label, 0.0012), f"cell B.*{label} is 0.12 %; is that meant, or 12 %\\?") for label in SHARES),
    (partial(setting, "deposit at signing", 1), r"deposit at signing is 100 %; is that meant, or 1 %\?"),
    (partial(in_table, "Company", "crusher run", "waste [%]", 0.0005), r"is 0\.05 %; is that meant, or 5 %\?"),
    (partial(in_table, "Company", "cobble", "cutting waste [%]", 0.0005), r"is 0\.05 %; is that meant, or 5 %\?"),
    (partial(in_table, "Prices", "base-stone", "unit", "lb"),
     r"base-stone is \$24\.5 a lb, which is \$49,000 a ton; expected is from \$1 to \$500 a ton"),
    (partial(in_table, "Prices", "pavers", PRICE, 46089), r"pavers is \$46,089 a ft2; expected is"),
    (partial(in_table, "Prices", "pavers", "priced on", date.today() + timedelta(900)), r"on is .*, 900 days ahead"),
    (partial(in_table, "Prices", "old-pavement-haul", "code", "base-stoen"), r"did you mean 'base-stone'\?"),
    (partial(in_table, "Prices", "geogrid", PRICE, 3), r"geogrid is \$3 a roll; expected is"),
    (partial(in_table, "Prices", "crew-time", PRICE, 13500), r"crew-time is \$13,500 a h; expected is"),
]  # fmt: skip


@pytest.mark.parametrize(("change", "sentence"), ASKED)
def test_a_number_that_is_most_likely_a_slip_is_asked_about_and_taken_with_yes(
    tmp_path: Path, change: Any, sentence: str
) -> None:
    path = spoiled(tmp_path, change())
    found = refusal(path)
    assert re.search(sentence, found), found
    assert "write yes under 'sure?'" in found
    with pytest.raises(BasecalcError, match="sure"):
        load_prices(path)
    assert not file_problems(spoiled(tmp_path, change(sure="Yes"), "meant.xlsx"))


@pytest.mark.parametrize(
    ("typed", "sure", "taken"),
    [
        (0.0012, "Yes", 0.0012), (0.00001, "yes", 0.00001), (0, None, 0), (0.01, None, 0.01), (0.12, None, 0.12),
        ("12 %", None, 0.12), ("0.5 %", None, 0.005), ("12.3 %", None, 0.123), ("0.78 %", None, 0.0078),
    ],
)  # fmt: skip
def test_a_share_that_was_meant_and_one_with_its_sign_are_taken(
    tmp_path: Path, typed: Any, sure: str | None, taken: float
) -> None:
    book = load_prices(spoiled(tmp_path, setting("overhead on cost", typed, sure=sure)))
    assert book.company.overhead == taken


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        (setting("profit as a share of the price", 15), "it must be from 0 to 60 %; for 15 % type 15 %"),
        *((setting("sales tax", 0.06, unit), f"sales tax is '{unit}'; it must be %") for unit in ("ft", "1", "in")),
        (heading("waste [%]", "waste [ft]"), "the unit of waste is 'ft'; it must be [%]"),
        (in_table("Company", "tested grid", "documented reduction [%]", 0.003), "is 0.3 %; is that meant, or 30 %?"),
        *((heading(PRICE, f"{PRICE} [{unit}]"), f"names a unit, '{unit}'; prices are in $")
          for unit in ("cents", "EUR", "per load")),
        (lambda book: book["Prices"].cell(5, 12, PRICE), "'unit price' appears twice"),
    ],
)  # fmt: skip
def test_a_wrong_unit_of_a_share_or_a_price_is_refused(tmp_path: Path, change: Change, sentence: str) -> None:
    assert sentence in refusal(spoiled(tmp_path, change))


def test_the_percent_sign_beside_a_share_changes_nothing(tmp_path: Path) -> None:
    """An older sheet says share beside the number, a new one %: the number is the same."""

    def respelled(book: Workbook) -> None:
        for label in SHARES:
            row, _ = find(book["Company"], label, 1)
            assert book["Company"].cell(row, 3).value == "%"
            assert "Type " in " ".join(str(cell.value) for cell in book["Company"][row])
            assert "%" in book["Company"].cell(row, 2).number_format
            book["Company"].cell(row, 3).value = "share"
        for row in book["Company"].iter_rows():
            for cell in row:
                if str(cell.value).endswith(" [%]") and "CBR" not in str(cell.value):
                    cell.value = f"{str(cell.value).removesuffix(' [%]')} [share]"

    old, new = load_prices(spoiled(tmp_path, respelled)), load_prices(filled(tmp_path))
    assert new.company == old.company
    assert (new.company.overhead, new.company.stones[0].waste) == (0.12, 0.05)


def test_a_kept_small_share_survives_into_the_next_workbook(tmp_path: Path) -> None:
    old = spoiled(tmp_path, setting("overhead on cost", 0.005, sure="yes"))
    carried = carry_over(old)
    assert load_prices(write_price_workbook(tmp_path / "new.xlsx", carried.records)).company.overhead == 0.005


def test_a_price_far_from_the_older_list_is_asked_about(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    filled(tmp_path, "old.xlsx")

    def checked(price: float, sure: str | None = None) -> tuple[Any, str]:
        file = spoiled(tmp_path, in_table("Prices", "base-stone", PRICE, price, sure=sure))
        with pytest.raises(SystemExit) as ended:
            main(["check", str(file), "--against", str(tmp_path / "old.xlsx")])
        return ended.value.code, capsys.readouterr().err

    code, said = checked(245.0)
    assert code == 2
    assert "base-stone is $245 a ton, and $24.5 in the older price list; expected is at most 3 times" in said
    assert checked(49.0)[0] == checked(245.0, "yes")[0] == 0


@pytest.mark.parametrize(
    ("first", "heading", "value"),
    [("crusher run", "loose density [ton/yd3]", 2.4), ("tandem", "payload [ton]", 0.007), ("tandem", "box [yd3]", 0.1)],
)
def test_check_refuses_what_no_quote_can_be_made_with(tmp_path: Path, first: str, heading: str, value: float) -> None:
    path = spoiled(tmp_path, in_table("Company", first, heading, value))
    assert refusal(path)
    with pytest.raises(BasecalcError):
        quote(parse_job(demo_job("1-firm-ground")), load_prices(path))


def test_the_sound_book_and_the_demo_are_sound(tmp_path: Path) -> None:
    path = tmp_path / "sound.xlsx"
    path.write_bytes(sound())
    assert not file_problems(path)
    demo = write_price_workbook(tmp_path / "demo.xlsx", demo_prices())
    assert not file_problems(demo)
    assert quote(parse_job(demo_job("2-soft-ground")), load_prices(demo)).offer.total > Decimal(20_000)
