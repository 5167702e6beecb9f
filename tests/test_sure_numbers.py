"""Numbers that are most likely a slip are asked about, and taken where the owner writes yes: shares, prices, dates."""

import re
from collections.abc import Callable
from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from estimating_kit import demo_job, demo_prices
from openpyxl import load_workbook
from openpyxl.workbook import Workbook
from price_books import filled, find, sound, spoiled

from basecalc import BasecalcError, carry_over, load_prices, parse_job, quote, write_price_workbook
from basecalc.cli import main
from basecalc.health import file_problems

Change = Callable[[Workbook], None]
SHARES = (
    "overhead on cost", "profit as a share of the price", "contingency on cost", "sales tax", "deposit at signing",
)  # fmt: skip


def setting(label: str, value: Any, *, unit: Any = ..., sure: Any = None) -> Change:
    """Return a change of a setting: its value, the unit beside it, the word under 'sure?'."""

    def change(book: Workbook) -> None:
        sheet = book["Company"]
        row, _ = find(sheet, label, 1)
        _, at = find(sheet, "sure?")
        sheet.cell(row, 2).value = value
        sheet.cell(row, at).value = sure
        if unit is not ...:
            sheet.cell(row, 3).value = unit

    return change


def in_table(sheet: str, first: str, heading: str, value: Any, *, sure: Any = None) -> Change:
    """Return a change of a cell of a table: its row by what is first in it, its column by its heading."""

    def change(book: Workbook) -> None:
        found, word = book[sheet], None
        row, _ = find(found, first, 1)
        top = max(at for at in range(1, row) if any(cell.value == heading for cell in found[at]))
        for cell in found[top]:
            if cell.value == heading:
                found.cell(row, cell.column).value = value
            word = cell.column if cell.value == "sure?" else word
        if sure is not None:
            found.cell(row, word).value = sure

    return change


def refusal(path: Path) -> str:
    """Return the one thing that is wrong with a price workbook."""
    problems = file_problems(path)
    assert len(problems) == 1, problems
    return str(problems[0])


@pytest.mark.parametrize("label", SHARES)
def test_a_share_below_one_percent_is_asked_about(tmp_path: Path, label: str) -> None:
    """A spreadsheet program stores 0.0012 where 0.12 is typed into a cell with the percent sign."""
    found = refusal(spoiled(tmp_path, setting(label, 0.0012)))
    assert f"{label} is 0.12 %; is that meant, or 12 %?" in found
    assert "write yes under 'sure?'" in found
    assert "sheet Company, cell B" in found
    with pytest.raises(BasecalcError, match="is that meant"):
        load_prices(tmp_path / "spoiled.xlsx")


@pytest.mark.parametrize("value", [0.0012, 0.0099, 0.00001])
def test_yes_beside_it_takes_it(tmp_path: Path, value: float) -> None:
    book = load_prices(spoiled(tmp_path, setting("overhead on cost", value, sure="Yes")))
    assert book.company.overhead == value


@pytest.mark.parametrize("value", [0, 0.01, 0.12, "12 %", "0.5 %", "12.3 %", "0.78 %"])
def test_nothing_and_one_percent_and_a_text_with_its_sign_are_not_asked_about(tmp_path: Path, value: Any) -> None:
    company = load_prices(spoiled(tmp_path, setting("overhead on cost", value))).company
    assert company.overhead == {"12 %": 0.12, "0.5 %": 0.005, "12.3 %": 0.123, "0.78 %": 0.0078}.get(value, value)


def test_the_whole_is_asked_about(tmp_path: Path) -> None:
    """1, typed into a cell without the percent sign, is 100 %."""
    assert "deposit at signing is 100 %; is that meant, or 1 %?" in refusal(
        spoiled(tmp_path, setting("deposit at signing", 1))
    )


def test_a_share_typed_as_a_whole_number_is_refused_with_what_to_type(tmp_path: Path) -> None:
    found = refusal(spoiled(tmp_path, setting("profit as a share of the price", 15)))
    assert "it must be from 0 to 60 %; for 15 % type 15 %" in found


def test_the_percent_sign_beside_a_share_changes_nothing(tmp_path: Path) -> None:
    """An older sheet says share beside the number, a new one %: the number is the same."""

    def respelled(word: str) -> Change:
        def change(book: Workbook) -> None:
            for label in SHARES:
                row, _ = find(book["Company"], label, 1)
                book["Company"].cell(row, 3).value = word
            for row in book["Company"].iter_rows():
                for cell in row:
                    if str(cell.value).endswith(" [%]") and "CBR" not in str(cell.value):
                        cell.value = f"{str(cell.value).removesuffix(' [%]')} [{word}]"

        return change

    new, old = (load_prices(spoiled(tmp_path, respelled(word), f"{word[:2]}.xlsx")) for word in ("%", "share"))
    assert new.company == old.company
    assert (new.company.overhead, new.company.stones[0].waste) == (0.12, 0.05)


@pytest.mark.parametrize("unit", ["ft", "1", "in"])
def test_the_unit_of_a_share_is_fixed(tmp_path: Path, unit: str) -> None:
    assert f"the unit of sales tax is '{unit}'; it must be %" in refusal(
        spoiled(tmp_path, setting("sales tax", 0.06, unit=unit))
    )


@pytest.mark.parametrize(
    ("first", "heading"), [("crusher run", "waste [%]"), ("cobble", "cutting waste [%]")], ids=["stone", "paver"]
)
def test_waste_below_one_percent_is_asked_about(tmp_path: Path, first: str, heading: str) -> None:
    found = refusal(spoiled(tmp_path, in_table("Company", first, heading, 0.0005)))
    assert "is 0.05 %; is that meant, or 5 %?" in found
    assert not file_problems(spoiled(tmp_path, in_table("Company", first, heading, 0.0005, sure="yes"), "sure.xlsx"))


def test_a_documented_reduction_below_one_percent_is_refused(tmp_path: Path) -> None:
    found = refusal(spoiled(tmp_path, in_table("Company", "tested grid", "documented reduction [%]", 0.003)))
    assert "is 0.3 %; is that meant, or 30 %?" in found


def test_the_heading_of_a_share_is_fixed(tmp_path: Path) -> None:
    def change(book: Workbook) -> None:
        row, column = find(book["Company"], "waste [%]")
        book["Company"].cell(row, column).value = "waste [ft]"

    assert "the unit of waste is 'ft'; it must be [%]" in refusal(spoiled(tmp_path, change))


def test_the_sheet_says_percent_and_how_to_type_it(tmp_path: Path) -> None:
    sheet = load_workbook(filled(tmp_path))["Company"]
    for label in SHARES:
        row, _ = find(sheet, label, 1)
        assert sheet.cell(row, 3).value == "%"
        assert "Type " in " ".join(str(cell.value) for cell in sheet[row])
        assert "%" in sheet.cell(row, 2).number_format


def test_a_kept_small_share_survives_into_the_next_workbook(tmp_path: Path) -> None:
    old = spoiled(tmp_path, setting("overhead on cost", 0.005, sure="yes"))
    carried = carry_over(old)
    assert load_prices(write_price_workbook(tmp_path / "new.xlsx", carried.records)).company.overhead == 0.005


PRICE = "unit price"
# The code, what is typed into which column of its row, what is said.
SLIPS: list[tuple[str, str, Any, str]] = [
    ("base-stone", "unit", "lb",
     r"unit price of base-stone is \$24\.5 a lb, which is \$49,000 a ton; expected is from \$1 to \$500 a ton"),
    ("pavers", PRICE, 46089, r"pavers is \$46,089 a ft2; expected is"),  # the number of a day in 2026
    ("pavers", "priced on", date.today() + timedelta(days=900), r"priced on is .*, 900 days ahead"),
    ("geogrid", PRICE, 3, r"geogrid is \$3 a roll; expected is"),
    ("crew-time", PRICE, 13500, r"crew-time is \$13,500 a h; expected is"),
]  # fmt: skip


@pytest.mark.parametrize(("code", "heading", "value", "sentence"), SLIPS)
def test_a_price_that_cannot_be_is_asked_about_and_taken_with_yes(
    tmp_path: Path, code: str, heading: str, value: Any, sentence: str
) -> None:
    path = spoiled(tmp_path, in_table("Prices", code, heading, value))
    found = refusal(path)
    assert re.search(sentence, found), found
    assert "write yes under 'sure?'" in found
    with pytest.raises(BasecalcError, match="sure"):
        load_prices(path)
    meant = spoiled(tmp_path, in_table("Prices", code, heading, value, sure="yes"), "meant.xlsx")
    assert not file_problems(meant)


@pytest.mark.parametrize("unit", ["cents", "EUR", "per load"])
def test_prices_are_in_dollars_whatever_the_heading_says(tmp_path: Path, unit: str) -> None:
    def change(book: Workbook) -> None:
        row, column = find(book["Prices"], PRICE)
        book["Prices"].cell(row, column).value = f"unit price [{unit}]"

    assert f"names a unit, '{unit}'; prices are in $" in refusal(spoiled(tmp_path, change))


def test_two_columns_of_prices_are_refused(tmp_path: Path) -> None:
    def change(book: Workbook) -> None:
        row, _ = find(book["Prices"], PRICE)
        book["Prices"].cell(row, 12).value = PRICE

    assert "'unit price' appears twice" in refusal(spoiled(tmp_path, change))


def test_a_price_far_from_the_older_list_is_asked_about(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    filled(tmp_path, "old.xlsx")
    dear = spoiled(tmp_path, in_table("Prices", "base-stone", PRICE, 245.0), "dear.xlsx")
    same = spoiled(tmp_path, in_table("Prices", "base-stone", PRICE, 49.0), "same.xlsx")
    sure = spoiled(tmp_path, in_table("Prices", "base-stone", PRICE, 245.0, sure="yes"), "sure.xlsx")

    def checked(file: Path) -> tuple[Any, str]:
        with pytest.raises(SystemExit) as ended:
            main(["check", str(file), "--against", str(tmp_path / "old.xlsx")])
        return ended.value.code, capsys.readouterr().err

    code, said = checked(dear)
    assert code == 2
    assert "base-stone is $245 a ton, and $24.5 in the older price list; expected is at most 3 times" in said
    assert checked(same)[0] == checked(sure)[0] == 0


@pytest.mark.parametrize(
    ("heading", "value"), [("loose density [ton/yd3]", 2.4), ("payload [ton]", 0.007), ("box [yd3]", 0.1)]
)
def test_check_refuses_what_no_quote_can_be_made_with(tmp_path: Path, heading: str, value: float) -> None:
    first = "crusher run" if "density" in heading else "tandem"
    path = spoiled(tmp_path, in_table("Company", first, heading, value))
    assert len(file_problems(path)) == 1
    with pytest.raises(BasecalcError):
        quote(parse_job(demo_job("1-firm-ground")), load_prices(path))


def test_the_sound_book_and_the_demo_are_sound(tmp_path: Path) -> None:
    path = tmp_path / "sound.xlsx"
    path.write_bytes(sound())
    assert not file_problems(path)
    demo = write_price_workbook(tmp_path / "demo.xlsx", demo_prices())
    assert not file_problems(demo)
    made = quote(parse_job(demo_job("2-soft-ground")), load_prices(demo))
    assert made.offer.total > Decimal(20_000)
