"""Every formula of the written workbooks carries a value that two independent engines calculate as well."""

import math
from collections.abc import Iterator
from io import BytesIO
from pathlib import Path
from zipfile import ZipFile

import pandas as pd
import pytest
from engines import formulas, ironcalc_results, libreoffice_results, stored, without_values
from openpyxl import load_workbook
from openpyxl.formula import Tokenizer
from openpyxl.utils.cell import coordinate_to_tuple
from trial_quote import FIRM, METRIC, SOFT, TWO_AREAS, trial_quote

from basecalc.render.page import Book, Formula, Page
from basecalc.render.save import write_quote

ALLOWED = {
    "AND",
    "IF",
    "ISNUMBER",
    "MAX",
    "MIN",
    "NA",
    "ROUND",
    "ROUNDUP",
    "SUM",
    "SUMIF",
}  # all in Excel since 2007 or before


@pytest.fixture(scope="module")
def books(tmp_path_factory: pytest.TempPathFactory) -> list[Path]:
    folder = tmp_path_factory.mktemp("quotes")
    quotes = [
        trial_quote(SOFT),
        trial_quote(FIRM, grid=False, deposit=0.0),
        trial_quote(TWO_AREAS),
        trial_quote(METRIC, units="metric"),
    ]
    files = [write_quote(quote, folder) for quote in quotes]
    return [path for pair in files for path in (pair.client, pair.office)]


def same(left: object, right: object) -> bool:
    if isinstance(left, str) or isinstance(right, str):
        return left == right
    return math.isclose(float(left), float(right), rel_tol=0, abs_tol=0.004)  # type: ignore[arg-type]


def apart(found: dict[tuple[str, str], object], expected: dict[tuple[str, str], object]) -> Iterator[object]:
    assert found.keys() == expected.keys()
    for place, value in expected.items():
        if value is None or not same(found[place], value):
            yield place, found[place], value


def test_every_formula_cell_reads_as_its_value_without_a_spreadsheet_program(books: list[Path]) -> None:
    for path in books:
        values = stored(path)
        assert values, f"{path.name} has no formula"
        words = {place: value for place, value in values.items() if not isinstance(value, int | float)}
        assert set(words.values()) <= {"agrees with the price to the cent", "as ordered"}
        assert all(math.isfinite(value) for place, value in values.items() if place not in words)


def test_pandas_reads_the_numbers_of_every_formula_cell(books: list[Path]) -> None:
    for path in books:
        frames = pd.read_excel(path, sheet_name=None, header=None)
        for (sheet, at), value in stored(path).items():
            row, column = coordinate_to_tuple(at)
            read = frames[sheet].iat[row - 1, column - 1]
            assert same(read, value), (path.name, sheet, at, read, value)


def test_ironcalc_agrees_to_the_cent_with_every_stored_value(books: list[Path], tmp_path: Path) -> None:
    for path in books:
        bare = without_values(path, tmp_path / path.name)
        assert not list(apart(ironcalc_results(bare), stored(path))), path.name


@pytest.mark.libreoffice
def test_libreoffice_agrees_to_the_cent_with_every_stored_value(books: list[Path], tmp_path: Path) -> None:
    bare = [without_values(path, tmp_path / path.name) for path in books]
    for path, results in zip(books, libreoffice_results(bare, tmp_path), strict=True):
        assert not list(apart(results, stored(path))), path.name


def test_formulas_use_only_functions_that_every_program_knows(books: list[Path]) -> None:
    used = {
        token.value.rstrip("(")
        for path in books
        for formula in formulas(path).values()
        for token in Tokenizer(formula).items
        if token.type == "FUNC" and token.subtype == "OPEN"
    }
    assert used <= ALLOWED
    assert "ROUND" in used


def test_a_changed_unit_price_runs_through_to_the_total(books: list[Path], tmp_path: Path) -> None:
    """The office's numbers are live: a dollar more per ton raises cost by the tons, and a text price is loud."""
    office = load_workbook(books[1])
    sheet = office["Costs"]
    row = next(row for row in range(1, 60) if str(sheet.cell(row, 1).value).endswith("(base-stone)"))
    total = next(row for row in range(row, 90) if sheet.cell(row, 1).value == "Cost")
    before = load_workbook(books[1], data_only=True)["Costs"][f"O{total}"].value
    sheet.cell(row, 10).value = float(sheet.cell(row, 10).value) + 1
    office.save(tmp_path / "dearer.xlsx")
    tons = float(sheet.cell(row, 13).value)
    after = ironcalc_results(tmp_path / "dearer.xlsx")["Costs", f"O{total}"]
    assert after == pytest.approx(before + tons, abs=0.006)
    sheet.cell(row, 10).value = "on request"
    office.save(tmp_path / "loud.xlsx")
    assert ironcalc_results(tmp_path / "loud.xlsx")["Costs", f"O{total}"] == "#N/A"


def test_programs_are_not_asked_to_calculate_before_they_show_anything(books: list[Path]) -> None:
    for path in books:
        assert b'fullCalcOnLoad="1"' not in ZipFile(path).read("xl/workbook.xml")


def sheet() -> tuple[Book, Page]:
    book = Book("us")
    return book, book.page("One & <two>", "")


def test_all_parts_but_the_sheets_stay_byte_for_byte() -> None:
    book, page = sheet()
    page.put(1, 1, 2)
    page.put(2, 2, Formula('=IF(A1<3,"x & y","z")', "x & y"))
    page.put(3, 3, Formula("=A1=2", True))
    saved = BytesIO()
    book.workbook.save(saved)
    after = book.to_bytes("One", "Any", "Any")
    old, new = ZipFile(BytesIO(saved.getvalue())), ZipFile(BytesIO(after))
    assert old.namelist() == new.namelist()
    changed = [name for name in old.namelist() if old.read(name) != new.read(name)]
    named = ("docProps/core.xml", "xl/workbook.xml", "xl/styles.xml")
    assert [name for name in changed if name not in named] == ["xl/worksheets/sheet1.xml"]
    fonts = [sorted(book.read("xl/styles.xml")) for book in (old, new)]  # in another order, and nothing else
    assert fonts[0] == fonts[1]
    read = load_workbook(BytesIO(after), data_only=True)["One & <two>"]
    assert [cell.value for cell in read[1]][:3] == [2, "x & y", True]
    assert load_workbook(BytesIO(after))["One & <two>"]["B1"].value == '=IF(A1<3,"x & y","z")'


def test_a_formula_without_a_value_is_never_saved() -> None:
    for text, value, told in (
        (None, None, "without a value: \\['A1'\\]"), ("=1+1", math.nan, "nan"),
        ("1+1", 2, "values without a formula: \\['A1'\\]"),
    ):  # fmt: skip
        book, page = sheet()
        if text is None:
            page.sheet["A1"] = "=1+1"
        else:
            page.put(1, 1, Formula(text, value))
        with pytest.raises((LookupError, ValueError), match=told):
            book.to_bytes("One", "Any", "Any")
