"""The office's file: cost, quantities, reasons, options, stone order, cautions, all from one quote."""

from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from engines import printed_pages
from openpyxl import Workbook, load_workbook
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.worksheet import Worksheet
from trial_quote import FIRM, METRIC, SOFT, TWO_AREAS, trial_quote

from basecalc.pricing.records import Quote
from basecalc.workbook.client import client_file
from basecalc.workbook.figures import depth_words, quantity_format
from basecalc.workbook.office import office_file

SHEETS = [
    "Costs",
    "Quantities",
    "Ground evidence",
    "Why this depth",
    "What moves the depth",
    "Options",
    "Stone order",
    "Cautions and sources",
    "As quoted",
]


@pytest.fixture(scope="module")
def quote() -> Quote:
    return trial_quote(TWO_AREAS)


@pytest.fixture(scope="module")
def book(quote: Quote) -> Workbook:
    return load_workbook(BytesIO(office_file(quote, 2)), data_only=True)


@pytest.fixture(scope="module")
def live(quote: Quote) -> Workbook:
    return load_workbook(BytesIO(office_file(quote, 2)))


def rows(sheet: Worksheet) -> list[list[Any]]:
    return [[cell.value for cell in row] for row in sheet.iter_rows()]


def text(sheet: Worksheet) -> str:
    return "\n".join(str(value) for row in rows(sheet) for value in row if value is not None)


def row_of(sheet: Worksheet, first: str, *, after: int = 0) -> int:
    return next(row for row in range(after + 1, sheet.max_row + 1) if sheet.cell(row, 1).value == first)


def test_the_sheets_stand_in_the_order_of_the_work(book: Workbook) -> None:
    assert book.sheetnames == SHEETS
    assert all(sheet.sheet_state == "visible" for sheet in book)


def test_every_line_is_a_live_guarded_formula_and_every_option_has_its_total(
    quote: Quote, book: Workbook, live: Workbook
) -> None:
    costs, formulas = book["Costs"], live["Costs"]
    total = row_of(costs, "Total")
    assert quote.geogrid is not None
    for column, one in ((7, quote.geogrid), (9, quote.stone), (11, quote.habit)):
        assert costs.cell(total, column).value == pytest.approx(float(one.total))
        amounts = [
            (costs.cell(row, column).value, str(formulas.cell(row, column).value))
            for row in range(1, row_of(costs, "Cost"))
            if str(formulas.cell(row, column).value).startswith("=")
        ]
        assert sum(amount for amount, _ in amounts) == pytest.approx(float(one.cost))
        assert all(words.startswith("=IF(AND(ISNUMBER(") and words.endswith(",NA())") for _, words in amounts)
        assert sorted(amount for amount, _ in amounts if amount) == pytest.approx(
            sorted(float(line.amount) for line in one.lines)
        )


def test_the_client_price_is_held_against_the_office_total(book: Workbook, live: Workbook) -> None:
    row = row_of(book["Costs"], "Less the total above")
    assert (book["Costs"].cell(row, 4).value, book["Costs"].cell(row, 5).value) == (0, "the two agree to the cent")
    assert "they differ" in live["Costs"].cell(row, 5).value


def test_every_quantity_stands_with_its_working(quote: Quote, book: Workbook) -> None:
    found = [(row[0], row[2], row[5]) for row in rows(book["Quantities"])]
    for quantity in (*quote.stone.takeoff.quantities, *quote.offer.takeoff.quantities):
        assert quantity.working
        assert (quantity.code, quantity.area or "whole job", quantity.working) in found


def test_every_check_of_every_area_stands_with_its_working_and_source(quote: Quote, book: Workbook) -> None:
    words = text(book["Why this depth"]).casefold()
    for depths in (quote.depths, quote.geogrid_depths):
        for depth in depths.values():
            assert depth.reason.casefold() in words
            for check in depth.checks:
                assert check.source.casefold() in words
                assert all(item.name.casefold() in words for item in check.working)


def test_options_stand_side_by_side_with_what_they_save(quote: Quote, book: Workbook, live: Workbook) -> None:
    sheet = book["Options"]
    row = row_of(sheet, "Total")
    assert str(live["Options"].cell(row, 2).value).startswith("=Costs!")
    assert sheet.cell(row, 5).value == pytest.approx(float(quote.against_habit.money))
    assert quote.break_even is not None
    assert quote.break_even.sentence in text(sheet)
    assert float(quote.deeper.areas["Driveway"][0]) in [value for line in rows(sheet) for value in line]


@pytest.mark.parametrize("job", [SOFT, FIRM, TWO_AREAS])
def test_the_stone_order_asks_for_the_loads_that_were_priced(job: dict[str, Any]) -> None:
    quote = trial_quote(job)
    sheet = load_workbook(BytesIO(office_file(quote, 1)), data_only=True)["Stone order"]
    hauled = {quantity.variant: quantity for quantity in quote.offer.takeoff.of("stone-haul")}
    assert hauled
    for name, quantity in hauled.items():
        row = row_of(sheet, f"{name}, all")
        tons, full, loads, last = (sheet.cell(row, column).value for column in (4, 5, 6, 7))
        assert loads == quantity.amount
        assert 0 < last <= full + 0.005
        assert (loads - 1) * full + last == pytest.approx(tons, abs=0.006)


def test_cautions_for_a_crew_stand_with_their_sources(book: Workbook) -> None:
    words = text(book["Cautions and sources"])
    for expected in (
        "1926.652(a)(1)", "1926.651(b)", "1926.651(j)(2)", "1926.651(i)", "1926.1153 Table 1", "licensed engineer",
        "Local code governs", "Giroud and Han", "AASHTO Guide", "[memory] from memory", "bare grid", "Loose fill",
    ):  # fmt: skip
        assert expected in words


def test_geogrid_is_no_caution_where_none_is_laid() -> None:
    sheet = load_workbook(BytesIO(office_file(trial_quote(FIRM), 1)))["Cautions and sources"]
    assert "bare grid" not in text(sheet)


def test_no_row_is_lower_than_the_lines_its_text_needs(quote: Quote) -> None:
    """Cut text would be the first thing a client sees; 1.35 letters of type 10 to a column unit is the least."""
    for data in (client_file(quote, 1), office_file(quote, 1)):
        for sheet in load_workbook(BytesIO(data)):
            merged = {str(area).split(":")[0]: area for area in sheet.merged_cells.ranges}
            for row in sheet.iter_rows():
                for cell in row:
                    if not isinstance(cell.value, str) or not cell.alignment.wrap_text or cell.data_type == "f":
                        continue
                    area = merged.get(cell.coordinate)
                    columns = range(area.min_col, area.max_col + 1) if area else (cell.column,)
                    width = sum(sheet.column_dimensions[get_column_letter(column)].width for column in columns)
                    size = float(cell.font.size)
                    least = sum(max(1, len(part) // (width * 1.35 * 10 / size)) for part in cell.value.split("\n"))
                    assert sheet.row_dimensions[cell.row].height >= least * size * 1.15, (sheet.title, cell.coordinate)


@pytest.mark.libreoffice
@pytest.mark.parametrize("job", ["SOFT", "FIRM", "TWO_AREAS", "METRIC"])
def test_the_client_file_prints_on_one_to_three_pages(job: str, tmp_path: Path) -> None:
    jobs = {"SOFT": SOFT, "FIRM": FIRM, "TWO_AREAS": TWO_AREAS, "METRIC": METRIC}
    path = tmp_path / "quote.xlsx"
    path.write_bytes(client_file(trial_quote(jobs[job], **({"units": "metric"} if job == "METRIC" else {})), 1))
    assert 1 <= printed_pages(path, tmp_path) <= 3


@pytest.mark.parametrize(
    ("depth_m", "units", "words"),
    [
        (0.0603, "us", "2-3/8 in"), (0.3556, "us", "14 in"), (0.0127, "us", "1/2 in"), (0.094, "us", "3.7 in"),
        (0.35, "metric", "350 mm"), (1.2, "metric", "1,200 mm"),
    ],
)  # fmt: skip
def test_depths_are_written_as_the_trade_writes_them(depth_m: float, units: str, words: str) -> None:
    assert depth_words(depth_m, units) == words


def test_whole_things_are_shown_whole() -> None:
    assert quantity_format("load").startswith("#,##0;")
    assert quantity_format("ton").startswith("#,##0.00;")


def test_an_office_file_is_written_where_stone_alone_is_possible() -> None:
    area = SOFT["area"][0] | {"finish_above_ground": 20, "strength": 0.5}
    made = trial_quote(SOFT | {"area": [area], "spot": []})
    assert (made.habit, made.geogrid) == (None, None)
    book = load_workbook(BytesIO(office_file(made, 1)), data_only=True)
    words = [value for row in rows(book["Options"]) for value in row]
    assert made.no_habit in words
    assert "Stone only, offered" in words
    assert float(made.stone.total) in [value for row in rows(book["Costs"]) for value in row]
