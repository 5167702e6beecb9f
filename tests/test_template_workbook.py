"""The price workbook that `template` writes: real tables, safe text, drop-downs that offer what the reader accepts."""

import re
import subprocess
import zipfile
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from engines import libreoffice
from openpyxl import load_workbook
from openpyxl.utils import get_column_letter, range_boundaries
from openpyxl.workbook import Workbook
from price_books import RECORDS, filled

from basecalc.company import COMPANY_TABLES, settings
from basecalc.core.errors import InputError, WorkbookError
from basecalc.pricing.prices import PRICES, load_prices
from basecalc.takeoff.model import CODES
from basecalc.workbook import style
from basecalc.workbook.template import write_price_workbook


@pytest.fixture(scope="module", params=["us", "metric"])
def book(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Workbook:
    folder = tmp_path_factory.mktemp("template")
    return load_workbook(write_price_workbook(folder / "new.xlsx", {"settings": {"units": request.param}}))


def test_the_sheets_stand_in_order_and_none_is_hidden(book: Workbook) -> None:
    assert book.sheetnames == ["Company", "Prices", "Codes"]
    assert {sheet.sheet_state for sheet in book.worksheets} == {"visible"}


def test_every_table_has_a_legal_name_and_headings_that_match_its_cells(book: Workbook) -> None:
    names = [table.displayName for sheet in book.worksheets for table in sheet.tables.values()]
    assert sorted(names) == sorted(
        ["Settings", "QuantityCodes", PRICES.name, *(table.name for table in COMPANY_TABLES)]
    )
    for sheet in book.worksheets:
        ids = []
        for table in sheet.tables.values():
            assert re.fullmatch(r"[A-Za-z_][A-Za-z0-9_.]*", table.displayName)
            assert not re.fullmatch(r"[A-Za-z]{1,3}\d+", table.displayName)  # it would be taken for a cell
            left, top, right, bottom = range_boundaries(table.ref)
            assert bottom > top
            headings = [sheet.cell(top, column).value for column in range(left, right + 1)]
            assert headings == [column.name for column in table.tableColumns]
            assert len(set(headings)) == len(headings)
            ids.append(table.id)
        assert len(set(ids)) == len(ids)


def test_no_two_tables_touch_and_no_cells_are_merged_in_one(book: Workbook) -> None:
    for sheet in book.worksheets:
        ranges = sorted(range_boundaries(table.ref) for table in sheet.tables.values())
        rows = sorted((top, bottom) for _, top, _, bottom in ranges)
        assert all(upper[1] + 1 < lower[0] for upper, lower in pairwise(rows))
        for merged in sheet.merged_cells.ranges:
            assert all(merged.max_row < top or merged.min_row > bottom for top, bottom in rows)


def test_every_sheet_is_frozen_and_set_up_for_one_page_of_width(book: Workbook) -> None:
    paper = 9 if book["Company"]["B11"].value == "metric" else 1
    for sheet in book.worksheets:
        assert sheet.freeze_panes
        assert sheet.print_area
        assert sheet.print_title_rows
        assert (sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight) == (1, 0)
        assert sheet.page_setup.paperSize == paper
        last = range_boundaries(sheet.print_area.split("!")[-1].replace("$", ""))
        widest = max(cell.column for row in sheet.iter_rows() for cell in row if cell.value is not None)
        assert widest <= last[2]


def test_input_cells_differ_from_others_by_a_box_and_not_by_colour_alone(book: Workbook) -> None:
    for sheet in book.worksheets:
        for row in sheet.iter_rows():
            for cell in row:
                boxed = all(side and side.style for side in (cell.border.top, cell.border.bottom))
                if cell.style == "basecalc input":
                    assert boxed
                    assert not cell.protection.locked
                elif cell.fill.fgColor.rgb == f"00{style.FIELD}":
                    pytest.fail(f"{sheet.title}!{cell.coordinate} looks like an input and is none")


def offered(book: Workbook, sheet: str, cell: str) -> tuple[str, ...]:
    """Return the words that the drop-down of a cell offers."""
    for rule in book[sheet].data_validations.dataValidation:
        if rule.type == "list" and cell in rule.sqref:
            if rule.formula1.startswith('"'):
                return tuple(rule.formula1.strip('"').split(","))
            name, _, span = rule.formula1.replace("$", "").rpartition("!")
            cells = [row[0].value for row in book[name.strip("'")][span]]
            return tuple(str(value) for value in cells if value)
    return ()


def test_drop_downs_offer_what_the_reader_accepts(book: Workbook) -> None:
    assert offered(book, "Prices", "A6") == tuple(CODES)
    assert offered(book, "Prices", "A60") == tuple(CODES)
    assert set(offered(book, "Prices", "C6")) >= {unit for code in CODES.values() for unit in code.units}
    assert offered(book, "Prices", "E6") == ("yes", "no")
    for row in range(5, 60):
        label = book["Company"].cell(row, 1).value
        setting = next((one for one in settings().values() if one.label == label), None)
        if setting and setting.choices:
            assert offered(book, "Company", f"B{row}") == setting.choices
    company = book["Company"]
    stones = range_boundaries(company.tables["BaseStone"].ref)
    first = stones[1] + 1
    assert offered(book, "Company", f"C{first}") == ("base", "bedding", "fill")
    assert "base-stone" in offered(book, "Company", f"B{first}")
    for rule in (rule for sheet in book.worksheets for rule in sheet.data_validations.dataValidation):
        assert len(rule.formula1) <= 255


def test_headings_carry_notes_and_units(book: Workbook) -> None:
    metric = book["Company"]["B11"].value == "metric"
    for table in COMPANY_TABLES:
        left, top, *_ = range_boundaries(book["Company"].tables[table.name].ref)
        for at, column in enumerate(table.fields):
            cell = book["Company"].cell(top, left + at)
            assert bool(cell.comment) == bool(column.help)
            unit = column.unit("metric" if metric else "us")
            unit = "%" if unit == "share" else unit
            assert cell.value == (f"{column.name} [{unit}]" if unit else column.name)


@pytest.mark.parametrize("text", ["=1+1", "+1 555 0117", "-5 %", "@sum(A1)", '=HYPERLINK("x")', "#N/A", "#REF!"])
def test_text_that_looks_like_a_formula_stays_text(tmp_path: Path, text: str) -> None:
    stones = [{**RECORDS["stones"][0], "name": text}, RECORDS["stones"][1]]
    terms = [{"line": text}]
    path = filled(tmp_path, settings={**RECORDS["settings"], "phone": text}, stones=stones, terms=terms)
    cells = [cell for row in load_workbook(path)["Company"].iter_rows() for cell in row if cell.value == text]
    assert [cell.data_type for cell in cells] == ["s"] * 3
    assert all(cell.quotePrefix for cell in cells)
    with zipfile.ZipFile(path) as parts:
        assert b"<f>" not in b"".join(parts.read(name) for name in parts.namelist() if "worksheets/sheet" in name)
    ours = load_prices(path).company
    assert (ours.phone, ours.stones[0].name, ours.terms) == (text, text, (text,))


def test_characters_that_no_cell_can_hold_become_spaces(tmp_path: Path) -> None:
    path = filled(tmp_path, settings={**RECORDS["settings"], "address": "7 Kiln\x00 Row\x0b", "email": "a\r\nb"})
    assert (load_prices(path).company.address, load_prices(path).company.email) == ("7 Kiln Row", "a b")
    assert len(style.safe_text("x" * 40_000)) == style.LONGEST_ENTRY


def test_an_existing_file_is_never_replaced(tmp_path: Path) -> None:
    path = tmp_path / "prices.xlsx"
    path.write_bytes(b"the owner's own")
    with pytest.raises(WorkbookError, match=r"prices\.xlsx: the file exists and is left as it is"):
        write_price_workbook(path)
    assert path.read_bytes() == b"the owner's own"
    assert list(tmp_path.iterdir()) == [path]


def test_a_file_that_cannot_be_written_leaves_nothing_behind(tmp_path: Path) -> None:
    with pytest.raises(WorkbookError, match=r"the file cannot be written: no such file or directory"):
        write_price_workbook(tmp_path / "nowhere" / "prices.xlsx")
    with pytest.raises(WorkbookError, match=r"prices\.ods: the name of a price workbook must end in \.xlsx"):
        write_price_workbook(tmp_path / "prices.ods")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("records", "sentence"),
    [
        ({"stone": []}, "there is no table 'stone'; tables are: settings, stones"),
        ({"settings": {"profits": 0.1}}, "settings: there is no setting 'profits'"),
        ({"stones": [{"colour": "grey"}]}, "stones: there is no column 'colour'; columns are: name, code, use"),
        ({"settings": {"units": "imperial"}}, "units is 'imperial'; it must be one of: us, metric"),
        ({"settings": {"standard_depth_m": "a foot"}}, "your standard depth is 'a foot'; it must be a number"),
    ],
)
def test_records_that_fit_nowhere_are_refused(tmp_path: Path, records: dict[str, Any], sentence: str) -> None:
    with pytest.raises(InputError) as refused:
        write_price_workbook(tmp_path / "prices.xlsx", records)
    assert sentence in str(refused.value)
    assert not list(tmp_path.iterdir())


def test_prices_that_give_no_more_than_their_code_take_its_words(tmp_path: Path) -> None:
    prices = [
        {"code": "base-stone", "unit_price": 20},
        {"code": "dig", "unit_price": 30, "item": "our digging", "unit": "cy"},
    ]
    sheet = load_workbook(filled(tmp_path, prices=prices, stones=[], pavers=[], rolls=[]))["Prices"]
    stone, dig = ([cell.value for cell in row[:5]] for row in sheet["A6:E7"])
    assert stone == ["base-stone", CODES["base-stone"].title, "ton", 20, "yes"]
    assert dig == ["dig", "our digging", "cy", 30, "no"]


def test_widths_hold_the_longest_word_of_each_column(tmp_path: Path) -> None:
    for sheet in load_workbook(filled(tmp_path)).worksheets:
        for table in sheet.tables.values():
            left, top, right, bottom = range_boundaries(table.ref)
            for column in range(left, right + 1):
                width = sheet.column_dimensions[get_column_letter(column)].width
                words = str(sheet.cell(top, column).value).split()
                assert max(map(len, words)) + 2 <= width
            assert bottom <= sheet.max_row


@pytest.mark.libreoffice
def test_a_workbook_saved_by_libreoffice_reads_the_same(tmp_path: Path) -> None:
    program, path = libreoffice(), filled(tmp_path)
    for _ in range(2):  # a fresh profile may end the first start without doing anything
        subprocess.run(
            [program, f"-env:UserInstallation=file://{tmp_path}/profile", "--headless", "--convert-to", "xlsx",
             "--outdir", str(tmp_path / "saved"), str(path)],
            check=False, capture_output=True, timeout=120,
        )  # fmt: skip
        if (tmp_path / "saved" / path.name).exists():
            break
    saved, ours = load_prices(tmp_path / "saved" / path.name), load_prices(path)
    assert (saved.company, saved.prices) == (ours.company, ours.prices)
