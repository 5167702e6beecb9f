"""The estimating workbook as it is written: sheets, tables, names, formulas of every edition, and its guards."""

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from basecalc.estimating.areas_sheet import FIRST, column_formula
from basecalc.estimating.evaluate import formula_values
from basecalc.estimating.native import NATIVE
from basecalc.estimating.other_edition import records_in
from basecalc.estimating.tables import AREAS, GROUND, JOB_TABLE, SHEETS
from estimating_kit import METRIC_JOB, REFUSED, TOTALS, demo_job, demo_prices, library, named_value, row_of, same_money
from openpyxl import load_workbook
from openpyxl.formula import Tokenizer
from openpyxl.utils import range_boundaries
from openpyxl.workbook import Workbook
from workbook_engine import ERROR, Engine

from basecalc.core.errors import InputError, WorkbookError
from basecalc.estimating.build import HOSTS, build_book
from basecalc.estimating.template import ENDINGS, write_template
from basecalc.formulas.functions import FUNCTIONS

PREFIX = {"excel": "", "calc": "BASECALC.", "test": ""}
OURS = {function.name: function for function in FUNCTIONS}
# All that a formula of Excel 2007 may use here; SEARCH stands in conditional formats only.
EXCEL_2007 = frozenset(NATIVE) | {"SEARCH", "ROW"}
# Deposit and validity stand on the quote only; no geotextile is laid in the job of that test.
ASKED_FOR_NOTHING = {'"deposit at signing"', '"quote is good for"', "TextileName", '"geotextile"'}
FOR_INFORMATION = {
    "DESIGN_REASON", "AREA_STRENGTH_REASON", "SPOT_STRENGTH", "BASE_DEPTH", "CONE_LOG_SAYS", "CONE_LOG_VALUE",
}  # fmt: skip


@pytest.fixture(scope="module", params=["us", "metric"])
def filled(request: pytest.FixtureRequest) -> tuple[Workbook, dict[str, dict[str, Any]]]:
    return edition_book("3-new-build", request.param)


def edition_book(name: str, units: str, host: str = "test") -> tuple[Workbook, dict[str, dict[str, Any]]]:
    if units == "us":
        return build_book(demo_prices(), host, "us", demo_job(name))
    return build_book(records_in(demo_prices(), "metric"), host, "metric", METRIC_JOB)


def formulas(book: Workbook) -> Iterator[tuple[str, str, str]]:
    for sheet in book:
        for cell in sheet._cells.values():
            if cell.data_type == "f":
                yield sheet.title, cell.coordinate, str(cell.value)
        for table in sheet.tables.values():
            for column in table.tableColumns:
                if column.calculatedColumnFormula is not None:
                    yield sheet.title, f"{table.name}[{column.name}]", f"={column.calculatedColumnFormula.attr_text}"


def calls(formula: str) -> Iterator[tuple[str, int]]:
    """Yield each function of a formula with the number of its arguments."""
    frames: list[list[Any]] = []
    for token in Tokenizer(formula).items:
        if token.subtype == "OPEN":
            frames.append([token.value[:-1].upper(), 1, True])
        elif token.subtype == "CLOSE":
            name, count, empty = frames.pop()
            if name:
                yield name, 0 if empty else count
        elif token.type == "SEP" and token.subtype == "ARG":
            frames[-1][1] += 1
        if frames and token.subtype != "OPEN" and token.type != "WHITE-SPACE":
            frames[-1][2] = False


def test_the_sheets_stand_in_the_order_of_the_work(filled: tuple[Workbook, Any]) -> None:
    assert tuple(filled[0].sheetnames) == (*SHEETS, "Codes")
    assert filled[0].active.title == "Start"


@pytest.mark.parametrize("host", HOSTS)
@pytest.mark.parametrize("units", ["us", "metric"])
def test_every_function_exists_and_has_as_many_arguments_as_it_takes(host: str, units: str) -> None:
    book, _ = edition_book("2-soft-ground", units, host)
    wrong, seen = [], set()
    for sheet, cell, formula in formulas(book):
        for spelled, count in calls(formula):
            name = spelled.removeprefix(PREFIX[host])
            if name in OURS:
                seen.add(name)
                needed = sum(not argument.optional for argument in OURS[name].arguments)
                if not needed <= count <= len(OURS[name].arguments) or (host == "calc") != spelled.startswith(
                    "BASECALC."
                ):
                    wrong.append((sheet, cell, spelled, count))
            elif spelled not in EXCEL_2007 | {"ABS"}:
                wrong.append((sheet, cell, spelled, count))
    assert wrong == []
    assert len(seen) >= 20


def test_no_name_is_undefined_and_no_sheet_is_missing(filled: tuple[Workbook, Any]) -> None:
    book = filled[0]
    unknown = set()
    for sheet, cell, formula in formulas(book):
        for token in Tokenizer(formula).items:
            if token.type != "OPERAND" or token.subtype != "RANGE" or "[" in token.value:
                continue
            on, mark, place = token.value.rpartition("!")
            known = on.strip("'") in book.sheetnames if mark else True
            if (
                not re.fullmatch(r"\$?[A-Z]{1,3}\$?\d+(:\$?[A-Z]{1,3}\$?\d+)?", place)
                and token.value not in book.defined_names
            ):
                known = False
            if not known:
                unknown.add((sheet, cell, token.value))
    assert unknown == set()
    for name, made in book.defined_names.items():
        on, _, place = str(made.attr_text).rpartition("!")
        assert on.strip("'") in book.sheetnames, name
        range_boundaries(place.replace("$", ""))


def test_no_formula_and_no_text_in_one_is_longer_than_excel_takes(filled: tuple[Workbook, Any]) -> None:
    for sheet, cell, formula in formulas(filled[0]):
        assert len(formula) <= 8192, (sheet, cell)
        for token in Tokenizer(formula).items:
            assert token.subtype != "TEXT" or len(token.value) <= 257, (sheet, cell)


def test_each_call_stands_in_a_cell_of_its_own(filled: tuple[Workbook, Any]) -> None:
    for sheet, cell, formula in formulas(filled[0]):
        assert sum(name in OURS for name, _ in calls(formula)) <= 1, (sheet, cell, formula)


def test_a_refusal_of_any_call_stops_the_total_or_leaves_it_as_it_is(tmp_path: Path) -> None:
    book, _ = edition_book("3-new-build", "us")
    book.save(tmp_path / "engine.xlsx")
    engine = Engine(tmp_path / "engine.xlsx")
    right = engine.named("OfferedTotal")
    assert isinstance(right, float)
    harmless = set()
    for place, (name, arguments) in enumerate(engine.calls):
        before = engine.answer_of(place)
        if engine.cell(*engine.where[place]) != before or str(before).startswith("#"):
            continue  # the cell does not ask it: an empty row, a line that is not needed
        engine.forced = {place: "#refused; it must be something else"}
        engine.recalculate()
        shown = engine.named("OfferedTotal")
        if not ERROR.match(str(shown)):
            assert shown == right, (name, arguments, shown)
            harmless.add((name, *engine.where[place], *arguments))
        engine.forced = {}
    engine.recalculate()
    assert engine.named("OfferedTotal") == right
    counted = {one for one in harmless if one[0] not in FOR_INFORMATION}
    about = {one for one in counted if not set(one) & ASKED_FOR_NOTHING}
    assert about == set()


def test_tables_are_real_and_a_row_typed_below_takes_the_formulas_of_its_columns(filled: tuple[Workbook, Any]) -> None:
    book = filled[0]
    tables = {table.name: (sheet, table) for sheet in book for table in sheet.tables.values()}
    assert {JOB_TABLE, GROUND.name, AREAS.name, "UnitPrices", "BaseStone", "Settings"} <= set(tables)
    for name in (AREAS.name, GROUND.name):
        sheet, table = tables[name]
        headings = [str(column.name) for column in table.tableColumns]
        assert len(set(headings)) == len(headings)
        assert [str(cell.value) for cell in sheet[FIRST - 1][: len(headings)]] == headings
        for place, column in enumerate(table.tableColumns, 1):
            if column.calculatedColumnFormula is not None:
                written = str(sheet.cell(FIRST, place).value)
                assert f"={column.calculatedColumnFormula.attr_text}" == column_formula(written, headings, name)
    assert sum(column.calculatedColumnFormula is not None for column in tables[AREAS.name][1].tableColumns) > 55


def test_each_row_made_ready_has_the_formula_of_the_first_for_its_own_row(filled: tuple[Workbook, Any]) -> None:
    sheet = filled[0]["Areas"]
    for cell in sheet[FIRST]:
        if cell.data_type == "f":
            for row in (FIRST + 1, FIRST + 11):
                moved = re.sub(rf"(\$[A-Z]{{1,3}}){FIRST}(?!\d)", rf"\g<1>{row}", str(cell.value))
                assert sheet.cell(row, cell.column).value == moved


def test_inputs_are_boxed_and_open_and_formulas_locked_or_kept(filled: tuple[Workbook, Any]) -> None:
    book = filled[0]
    for sheet in book:
        for cell in sheet._cells.values():
            if cell.data_type == "f":
                assert cell.protection.locked, (sheet.title, cell.coordinate)
    for title in ("Start", "Estimate", "Quote", "Sources"):
        assert book[title].protection.sheet
        assert book[title].protection.password is None
    for title in ("Ground", "Areas"):  # a protected sheet would keep its table from growing
        assert not book[title].protection.sheet
        kept = [rule for rule in book[title].data_validations.dataValidation if rule.type == "custom"]
        assert [rule.errorStyle for rule in kept] == ["stop"]


def test_every_sheet_is_set_up_for_paper_with_frozen_headings(filled: tuple[Workbook, Any]) -> None:
    for sheet in filled[0]:
        assert sheet.print_area, sheet.title
        assert sheet.freeze_panes, sheet.title
        assert sheet.page_setup.paperSize == (1 if filled[0]["Areas"]["C6"].value == "size 1 [ft]" else 9)


def test_a_metric_workbook_says_what_the_library_says_of_it(tmp_path: Path) -> None:
    book, values = edition_book("", "metric")
    expected = library(book, tmp_path / "library.xlsx")
    assert REFUSED not in expected
    assert [one for one in TOTALS if not same_money(named_value(book, values, one), expected[one])] == []
    book.save(tmp_path / "engine.xlsx")
    engine = Engine(tmp_path / "engine.xlsx")
    assert [one for one in TOTALS if not same_money(engine.named(one), expected[one])] == []


@pytest.mark.parametrize("units", ["us", "metric"])
def test_a_new_workbook_is_quiet_and_shows_no_price(units: str) -> None:
    book, values = build_book(None, "test", units)
    assert named_value(book, values, "Banner") == "Nothing to work out yet: fill in Ground and Areas."
    assert all(not isinstance(named_value(book, values, name), float) for name in TOTALS)
    shown = [value for cell, value in values["Areas"].items() if int(re.sub(r"\D", "", cell)) >= FIRST]
    assert set(shown) == {""}


def test_a_workbook_of_the_other_edition_or_a_job_in_other_units_is_refused() -> None:
    with pytest.raises(InputError, match="records are those of the us edition"):
        build_book(demo_prices() | {"settings": {"units": "us"}}, "test", "metric")
    with pytest.raises(InputError, match="job is in us units"):
        build_book({"settings": {"units": "metric"}}, "test", "metric", demo_job("1-firm-ground"))


@pytest.mark.parametrize("host", HOSTS)
def test_the_file_carries_its_values_and_is_never_written_over(host: str, tmp_path: Path) -> None:
    path = tmp_path / f"new{ENDINGS[host]}"
    assert write_template(path, demo_prices(), host=host, job=demo_job("1-firm-ground")) == path
    shown = load_workbook(path, data_only=True)
    place = str(load_workbook(path).defined_names["OfferedTotal"].attr_text).split("!")[1].replace("$", "")
    assert shown["Estimate"][place].value == 13937.95
    assert "not been asked on this computer" in shown["Start"]["A4"].value
    with pytest.raises(WorkbookError, match="exists and is left as it is"):
        write_template(path, host=host)
    with pytest.raises(WorkbookError, match="must end in"):
        write_template(tmp_path / "new.csv", host=host)


def test_more_rows_may_be_made_ready() -> None:
    book, _ = build_book(None, "test", "us", area_rows=30, reading_rows=60)
    assert book["Areas"].cell(FIRST + 29, len(AREAS.columns) + 2).data_type == "f"
    assert book["Areas"].cell(FIRST + 30, len(AREAS.columns) + 2).value is None


@pytest.mark.parametrize("units", ["us", "metric"])
def test_start_answers_why_so_deep_what_it_costs_and_where_the_price_of_stone_stands(units: str) -> None:
    book, values = edition_book("3-new-build", units) if units == "us" else edition_book("", units)
    start = values["Start"]
    told = " ".join(str(value) for value in start.values())
    row = row_of(book, "Start", "Where do I change the price of stone?")
    assert start[f"B{row}"] == next(row["unit_price"] for row in demo_prices()["prices"] if row["code"] == "base-stone")
    assert "from the sheet Prices, row base-stone. Change it there and nowhere else." in told
    assert start[f"B{row - 1}"] == named_value(book, values, "OfferedTotal")
    assert re.search(r": why [\d.]+ (in|mm)\?", told)
    assert "governs" in start["B7"]
    links = {
        cell.value: cell.hyperlink.location for line in book["Start"].iter_rows() for cell in line if cell.hyperlink
    }
    assert all(place.split("!")[0].strip("'") in book.sheetnames for place in links.values())
    assert [place.split("!")[0] for place in links.values()] == [
        "'Company'", "'Prices'", "'Start'", "'Ground'", "'Areas'", "'Estimate'", "'Quote'",
    ]  # fmt: skip


def test_start_shows_no_price_of_stone_where_there_is_none_or_its_column_was_moved() -> None:
    book, values = build_book({}, "test", "us")
    row = row_of(book, "Start", "Where do I change the price of stone?")
    assert values["Start"][f"B{row}"] == "no price yet"
    assert values["Start"]["A7"] == "Why this depth?"
    book, _ = build_book(demo_prices(), "test", "us")
    book["Prices"]["D5"], book["Prices"]["E5"] = "taxable", "unit price"
    assert formula_values(book)["Start"][f"B{row}"] == "no price yet"
