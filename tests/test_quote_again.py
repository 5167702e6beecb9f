"""A quote is made again exactly as it was from its own office file, whatever became of the prices since."""

import shutil
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from decimal import Decimal
from pathlib import Path
from random import Random
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from log_corpus import PLAIN
from openpyxl import Workbook, load_workbook
from openpyxl.worksheet.worksheet import Worksheet
from test_numbers_and_clients import dear
from test_random_jobs import job_data
from trial_quote import FIRM, METRIC, SOFT, TWO_AREAS, trial_book, trial_quote

from basecalc import (
    BasecalcError,
    InputError,
    WorkbookError,
    load_job,
    load_quote,
    parse_job,
    quote,
    traffic,
    write_quote,
)
from basecalc.demo import write_demo
from basecalc.estimating.template import new_workbook
from basecalc.health import file_problems
from basecalc.price_runs import old_prices_in
from basecalc.pricing.archive import TITLE, fingerprint, kept_tables, quote_again, toml_lines, toml_tables
from basecalc.runs import quote_file, quote_files

JOBS = {"soft": SOFT, "firm": FIRM, "two areas": TWO_AREAS, "metric": METRIC}


def cells(path: Path) -> dict[tuple[str, str], tuple[Any, str, str]]:
    """Return what each cell of a workbook holds: its value or formula, its type and its number format."""
    return {
        (sheet.title, cell.coordinate): (cell.value, cell.data_type, cell.number_format)
        for sheet in load_workbook(path)
        for row in sheet.iter_rows()
        for cell in row
    }


@pytest.mark.parametrize("name", JOBS)
def test_the_clients_file_comes_again_cell_by_cell_but_for_the_revision(name: str, tmp_path: Path) -> None:
    first = write_quote(trial_quote(JOBS[name]), tmp_path)
    before = first.office.read_bytes()
    outcome = quote_file(first.office, None, tmp_path)
    assert outcome.refusal == ""
    assert outcome.files is not None
    assert outcome.files.revision == 2
    number = JOBS[name]["job"]["number"]
    old, new = cells(first.client), cells(outcome.files.client)
    assert old.keys() == new.keys()
    changed = {place: (old[place][0], new[place][0]) for place in old if old[place] != new[place]}
    assert changed
    assert all(new == old.replace(number, f"{number}, revision 2") for old, new in changed.values())
    assert first.office.read_bytes() == before


def test_new_prices_do_not_touch_it_and_the_pictures_and_the_office_come_again_too(tmp_path: Path) -> None:
    demo = write_demo(tmp_path / "demo")
    (made,) = quote_files([demo.jobs[1]], demo.prices, demo.quotes)
    dear(demo.prices, demo.prices)
    demo.jobs[1].unlink()
    assert made.files is not None
    (again,) = quote_files([made.files.office], None, demo.quotes)
    assert again.files is not None
    assert again.quote is not None
    assert made.quote is not None
    assert again.quote.offer.total == made.quote.offer.total
    old, new = cells(made.files.office), cells(again.files.office)
    differing = {str(old[place][0]) + "|" + str(new[place][0]) for place in old if old[place] != new.get(place)}
    # the revision stands in the head of each sheet and on the sheet As quoted, whose fingerprint covers it
    assert all("revision" in words or words == "1|2" or len(words) == 129 for words in differing)
    assert len(differing) == 3


CONE = (
    '[job]\nnumber = "Q-31"\nclient = "Any Client"\nsite = "Any Lane 1"\nseason = "wet"\nsoil = "clay"\n'
    '[[area]]\nname = "Drive"\nshape = "rectangle"\nlength = 40\nwidth = 20\n[[spot]]\nname = "gate"\n'
)
ROWS = "log_rows = [{ depth = 0, blows = 0 }, { depth = 6, blows = 5 }, { depth = 14, blows = 4 }]"


@pytest.mark.parametrize("log", ['log = "gate.csv"', ROWS])
def test_a_cone_log_comes_along_when_its_file_is_gone(log: str, tmp_path: Path) -> None:
    (tmp_path / "gate.csv").write_text(PLAIN, "utf-8")
    job = tmp_path / "another name.toml"
    job.write_text(CONE + log, "utf-8")
    made = quote(load_job(job), trial_book())
    files = write_quote(made, tmp_path / "q")
    (tmp_path / "gate.csv").unlink()
    again = load_quote(files.office).quote
    assert again.offer.total == made.offer.total
    assert again.job.spots[0].drops == made.job.spots[0].drops != ()
    assert "another name" not in made.job.spots[0].readings[0].told  # the client reads it


def test_a_filled_workbook_is_kept_like_a_job_file(tmp_path: Path) -> None:
    demo = write_demo(tmp_path / "demo")
    new_workbook(tmp_path / "filled.xlsx", "", demo.prices, demo.jobs[2], "")
    (made,) = quote_files([tmp_path / "filled.xlsx"], None, demo.quotes)
    assert made.files is not None
    assert made.quote is not None
    again = load_quote(made.files.office).quote
    assert again.offer.lines == made.quote.offer.lines
    assert again.job == replace(made.quote.job, source_path=again.job.source_path)


@settings(max_examples=20)
@given(data=st.integers(0, 10**6).map(lambda seed: job_data(Random(seed), seed)))
def test_what_any_job_says_survives_the_lines(data: dict[str, Any]) -> None:
    try:
        job = parse_job(data)
    except BasecalcError:
        return
    assert parse_job(toml_tables(toml_lines(data))) == job


@given(
    st.dictionaries(
        st.text(max_size=8),
        st.one_of(st.text(st.characters(exclude_categories=["Cs"])), st.integers(-(2**60), 2**60), st.booleans(),
                  st.floats(allow_nan=False, allow_infinity=False), st.dates(), st.lists(st.floats(-1e9, 1e9))),
    )
)  # fmt: skip
def test_any_plain_value_survives_the_lines_to_the_last_bit(values: dict[str, Any]) -> None:
    assert toml_tables(toml_lines({"a": values, "b": [values, {"c": 1}]})) == {"a": values, "b": [values, {"c": 1}]}


def test_the_sheet_is_plain_hidden_text_and_says_what_was_used(tmp_path: Path) -> None:
    made = trial_quote(TWO_AREAS)
    book = load_workbook(write_quote(made, tmp_path).office)
    sheet = book[TITLE]
    assert [one.title for one in book if one.sheet_state != "visible"] == [TITLE]
    assert not any(cell.data_type == "f" for row in sheet.iter_rows() for cell in row)
    assert all(isinstance(cell.value, str | None) for row in sheet.iter_rows() for cell in row)
    text = "\n".join(f"{row[0].value} = {row[1].value}" for row in sheet.iter_rows())
    for words in (
        'client = "=Marguerite Sandhollow"', 'site = "@Plot 4, Tannery Field, Brackwater"', "overhead = 0.1173",
        'unit_price = "23.87"', 'supplier = "Ninebark Quarry"', "basecalc = ", f'total = "{made.offer.total}"',
        "date = 2026-05-06", "reading = 62", "habit_depth_m = ",  # the word of older files stays
    ):  # fmt: skip
        assert words in text, words


def test_a_kept_file_spells_its_keys_as_older_versions_do_and_is_read(tmp_path: Path) -> None:
    made = trial_quote(FIRM)
    camper = replace(traffic("light"), name="camper", tire_kpa=450)
    owner = replace(made.book, company=replace(made.book.company, traffics=(camper,)))
    files = write_quote(quote(made.job, owner), tmp_path)
    kept = kept_tables(load_quote(files.office).quote, 1)["company"]
    assert (kept["habit_depth_m"], kept["traffics"]["1"]["tyre_kpa"]) == (made.book.company.standard_depth_m, 450)
    assert load_quote(files.office).quote.book.company == owner.company


Spoil = Callable[[Worksheet], object]


def row_of(sheet: Worksheet, entry: str) -> int:
    return next(row for row in range(1, sheet.max_row + 1) if sheet.cell(row, 1).value == entry)


def put(entry: str, value: Any, column: int = 2) -> Spoil:
    return lambda sheet: sheet.cell(row_of(sheet, entry), column, value)


SPOILT: dict[str, tuple[Spoil, str]] = {
    "a cheaper client": (put("overhead", "0.01"), "was changed after it was written"),
    "a number for text": (put("overhead", 0.1173), "holds 0.1173, not text"),
    "a formula": (put("overhead", "=1+1"), "its fingerprint does not fit"),
    "an error": (put("overhead", "#REF!"), "its fingerprint does not fit"),
    "a row out": (lambda sheet: sheet.delete_rows(row_of(sheet, "profit")), "was changed after it was written"),
    "two rows swapped": (lambda sheet: sheet.move_range(f"A{row_of(sheet, 'profit')}:B{row_of(sheet, 'profit')}", 1),
                         "was changed after it was written"),
    "no fingerprint": (lambda sheet: sheet.delete_rows(sheet.max_row), "was changed after it was written"),
    "no headings": (put("Entry", "Text", 1), "was changed after it was written"),
    "nothing": (lambda sheet: sheet.delete_rows(1, sheet.max_row), "was changed after it was written"),
}  # fmt: skip


@pytest.mark.parametrize("name", SPOILT)
def test_a_sheet_that_was_changed_is_refused_in_one_sentence_and_nothing_is_written(name: str, tmp_path: Path) -> None:
    office = write_quote(trial_quote(FIRM), tmp_path / "q").office
    book = load_workbook(office)
    spoil, words = SPOILT[name]
    spoil(book[TITLE])
    book.save(tmp_path / "spoilt.xlsx")
    outcome = quote_file(tmp_path / "spoilt.xlsx", None, tmp_path / "out")
    assert words in outcome.refusal
    assert "spoilt.xlsx, sheet As quoted" in outcome.refusal
    assert "\n" not in outcome.refusal
    assert not (tmp_path / "out").exists()


def sealed(path: Path, entry: str, value: str | None) -> Path:
    """Change an entry of the sheet and put the fingerprint right: what a hand that knows how would do."""
    book = load_workbook(path)
    sheet = book[TITLE]
    if value is None:
        sheet.delete_rows(row_of(sheet, entry))
    else:
        sheet.cell(row_of(sheet, entry), 2).value = value
    head = row_of(sheet, "Entry")
    lines = [(str(row[0].value), str(row[1].value or "")) for row in sheet.iter_rows(head + 1)][:-1]
    sheet.cell(sheet.max_row, 2).value = fingerprint(lines)
    book.save(path)
    return path


@pytest.mark.parametrize(
    ("entry", "value", "words"),
    [
        ("total", '"1.00"', r"made as stone only at \$1.00 by basecalc 0.*was changed"),
        ("total", '"much"', r"\[quote\]: total is 'much'; it must be a number"),
        ("total", '"nan"', "total is 'nan'; it must be a number"),
        ("total", "12", r"made as stone only at \$12.00"),
        ("revision", "true", r"\[quote\]: revision is TRUE; it must be a whole number"),
        ("overhead", None, "overhead is missing"),
        ("overhead", '"much"', "overhead is 'much'; it must be a number"),
        ("overhead", "nan", "nan, which is not a number"),
        ("base_cbr", "-5.0", "base_cbr|strength of the base|CBR"),
        ("length", "-62", "length is -62"),
        ("client", '"no end', "cannot be read"),
        ("client", None, "client"),
        ("shape", '"blob"', "shape is 'blob'"),
        ("hours_per_day", "8\nodd = 1", "'odd', which basecalc"),
        ("1", '{code = "dig"}', "missing"),
    ],
)
def test_a_sheet_that_was_changed_with_its_fingerprint_is_still_read_with_care(
    entry: str, value: str | None, words: str, tmp_path: Path
) -> None:
    office = sealed(write_quote(trial_quote(FIRM), tmp_path).office, entry, value)
    with pytest.raises(BasecalcError, match=words) as refusal:
        load_quote(office)
    assert "\n" not in str(refusal.value)
    assert office.name in str(refusal.value)


def test_a_setting_that_came_later_takes_its_default(tmp_path: Path) -> None:
    office = sealed(write_quote(trial_quote(FIRM), tmp_path).office, "valid_days", None)
    assert load_quote(office).quote.book.company.valid_days == 30


def test_a_job_that_a_script_changed_says_so_instead_of_keeping_another_one(tmp_path: Path) -> None:
    made = trial_quote(FIRM)
    other = quote(replace(made.job, offer="stone", date=date(2026, 5, 1)), made.book)
    with pytest.raises(InputError, match="was changed after it was read"):
        kept_tables(other, 1)
    office = write_quote(other, tmp_path).office
    with pytest.raises(InputError, match="cannot be made again from this file: the job was changed"):
        load_quote(office)
    with pytest.raises(InputError, match="was not read from"):
        kept_tables(quote(replace(made.job, entered=None), made.book), 1)


def test_what_the_caller_does_to_the_mapping_afterwards_does_not_reach_the_job() -> None:
    data = {**FIRM, "job": dict(FIRM["job"])}
    job = parse_job(data)
    data["job"]["client"] = "Somebody Else"
    assert kept_tables(quote(job, trial_book()), 1)["job"]["client"] == "Corbin Vastra"


def test_tables_without_their_log_are_refused() -> None:
    tables = kept_tables(trial_quote(FIRM), 1)
    spot = {**tables["spot"][0], "log": "gone.csv"}
    with pytest.raises(BasecalcError, match=r"'gone\.csv' did not come along"):
        quote_again({**tables, "spot": [spot, *tables["spot"][1:]]}, "x.xlsx")
    for log in ([{"1": "0,0"}], [{"name": "a", "2": "0,0"}], "text"):
        with pytest.raises(BasecalcError, match="log"):
            quote_again({**tables, "log": log}, "x.xlsx")


@pytest.mark.parametrize("content", [None, b"", b"PK\x03\x04 half", b"text", "another workbook"])
def test_a_file_that_holds_no_quote_is_refused(content: bytes | str | None, tmp_path: Path) -> None:
    path = tmp_path / "a-office.xlsx"
    if isinstance(content, bytes):
        path.write_bytes(content)
    elif content:
        Workbook().save(path)
    words = "a-office" if not isinstance(content, str) else "there is no sheet 'As quoted'"
    with pytest.raises(WorkbookError, match=words):
        load_quote(path)


def test_check_says_whether_a_quote_can_be_made_again(tmp_path: Path) -> None:
    office = write_quote(trial_quote(FIRM), tmp_path).office
    assert file_problems(office) == []
    assert old_prices_in(office) == ()
    sealed(office, "total", '"1.00"')
    (problem,) = file_problems(office)
    assert "cannot be made again" in str(problem)


def test_other_prices_are_not_mixed_into_a_kept_quote(tmp_path: Path) -> None:
    office = write_quote(trial_quote(FIRM), tmp_path).office
    shutil.copy(office, tmp_path / "copy.xlsx")
    outcome = quote_file(tmp_path / "copy.xlsx", trial_book(), tmp_path / "out")
    assert "leave out --prices" in outcome.refusal
    assert Decimal(str(load_quote(office).quote.offer.total)) == trial_quote(FIRM).offer.total
