"""Whatever is wrong with the owner's workbook is one sentence with file, sheet, cell, value and limit."""

# ruff: noqa: E501  (the table of complaints has a row a line)

import re
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from openpyxl import Workbook
from openpyxl.chart import BarChart, Reference
from price_books import RECORDS, Change, filled, find, heading, parts, setting, sound, spoiled, with_formula, zipped
from refusals import Refusal, faults

from basecalc import PriceError, WorkbookError, load_prices
from basecalc.pricing.prices import problems


def cell(sheet: str, place: str, value: Any) -> Change:
    def change(book: Workbook) -> None:
        book[sheet][place] = value

    return change


def plain_number(place: str, value: float) -> Change:
    def change(book: Workbook) -> None:
        book["Prices"][place].number_format = "General"
        book["Prices"][place] = value

    return change


def below(heading: str, column: int, value: Any, *, rows: int) -> Change:
    """Return a change of the cell so many rows below a title of the sheet Company, in this column."""

    def change(book: Workbook) -> None:
        sheet = book["Company"]
        row, _ = find(sheet, heading, 1)
        sheet.cell(row + rows, column).value = value

    return change


# Prices: row 6 is old-pavement-haul, 7 spoil-haul, 11 base-stone. Company: a table's first row is 3 below its title.
CELLS: list[tuple[str, Change, str]] = [
    ("blank price", cell("Prices", "D7", None), r"sheet Prices, cell D7: unit price is missing; it must be a number from 0"),
    ("spaces", cell("Prices", "D7", "  "), r"Prices, cell D7: unit price is missing"),
    ("negative", cell("Prices", "D7", -1), r"cell D7: unit price is -1; it must be a number from 0 to 1,000,000"),
    ("huge", cell("Prices", "D7", 1e7), r"cell D7: unit price is 10,000,000; it must be a number from 0 to 1,000,000"),
    ("text price", cell("Prices", "D7", "$38.50 a ton"), r"cell D7: unit price is '\$38\.50 a ton'; it must be a number"),
    ("another currency", cell("Prices", "D7", "38.50 EUR"), r"cell D7: unit price is '38\.50 EUR'; it must be .*\(\$\)"),
    ("truth for a price", cell("Prices", "D7", True), r"cell D7: unit price is TRUE; it must be a number"),
    ("date for a price", cell("Prices", "D7", date(2026, 1, 1)), r"cell D7: unit price is '2026-01-01.*it must be a number"),
    ("double code", cell("Prices", "A7", "Base-Stone"), r"cell A11: code 'base-stone' appears twice; row 7 already has it"),
    ("unknown code", cell("Prices", "A6", "base-ston"), r"cell A6: code is 'base-ston', .*did you mean 'base-stone'\?"),
    ("strange code", cell("Prices", "A6", "base-stoen"), r"cell A6: code is 'base-stoen', .*did you mean 'base-stone'\?"),
    ("no code", cell("Prices", "A6", None), r"cell A6: code is missing"),
    ("no item", cell("Prices", "B6", None), r"cell B6: item is missing"),
    ("unknown unit", cell("Prices", "C11", "furlong"), r"cell C11: unit is 'furlong'; it must be one of: ton, t, lb"),
    ("no unit", cell("Prices", "C11", None), r"cell C11: unit is nothing; it must be one of"),
    ("a day", cell("Prices", "C18", "day"), r"cell C18: unit is 'day'; crew-time must have one of: h"),
    ("wrong dimension", cell("Prices", "C11", "yd3"), r"cell C11: unit is 'yd3'; base-stone must have one of: ton, t, lb, kg"),
    ("load for a ton", cell("Prices", "C11", "load"), r"cell C11: unit is 'load'; base-stone must have"),
    ("taxable perhaps", cell("Prices", "E11", "maybe"), r"cell E11: taxable is 'maybe'; it must be one of: yes, no"),
    ("taxable 1", cell("Prices", "E11", 1), r"cell E11: taxable is 1; it must be one of: yes, no"),
    ("no taxable", cell("Prices", "E11", None), r"cell E11: taxable is missing; it must be one of: yes, no"),
    ("date as text", cell("Prices", "F11", "3/4/2026"), r"cell F11: priced on is '3/4/2026'; it must be a date, entered as a"),
    ("date as number", plain_number("F11", 46000), r"cell F11: priced on is 46,000; it must be a date"),
    ("old date", cell("Prices", "F11", date(1999, 1, 1)), r"cell F11: priced on is 1999-01-01; it must be 2000-01-01 or later"),
    ("never calculated", cell("Prices", "D11", "=12*2"), r"cell D11: the formula '=12\*2' was never calculated"),
    ("error typed", cell("Prices", "D11", "#REF!"), r"cell D11: the cell shows #REF!.*it must hold a value"),
    ("formula for a code", cell("Prices", "A11", '="base-"&"stone"'), r"cell A11: the formula .* was never calculated"),
    ("no company", setting("company name", None), r"sheet Company, cell B\d+: company name is missing"),
    ("blank share", setting("overhead on cost", None), r"Company, cell B\d+: overhead on cost is missing; .*from 0 to 1"),
    ("12 for 12 %", setting("overhead on cost", 12), r"overhead on cost is 1200 %; it must be from 0 to 100 %; for 12 % type 12 %"),
    ("profit", setting("profit as a share of the price", 0.7), r"cell B\d+: profit as a share of the price is 70 %; .*from 0 to 60 %"),
    ("word", setting("working hours in a day", "long"), r"cell B\d+: working hours in a day is 'long'; it must be a number"),
    ("no number", setting("quote is good for", 30.5), r"quote is good for is 30\.5; it must be a whole number from 1 to 365"),
    ("choice", setting("design a class at its", "strong"), r"design a class at its is 'strong'; .*one of: weak, middle"),
    ("yes", setting("count the rule of the trade", "x"), r"count the rule of the trade is 'x'; it must be one of: yes, no"),
    ("unit of setting", setting("your standard depth", 14, "lb"), r"cell C\d+: the unit of your standard depth is 'lb'; .*in or mm"),
    ("no unit beside", setting("your standard depth", 14, None), r"cell C\d+: your standard depth has no unit; .*in or mm"),
    ("limit in its unit", setting("your standard depth", 10, "mm"), r"your standard depth is 10 mm; .*from 50\.8 to 1524 mm"),
    ("blank with default", setting("thickest lift", None), r"cell B\d+: thickest lift is missing; .*from 2 to 12 in"),
    ("label", heading("thickest lift", "thickest lifts"), r"cell A\d+: 'thickest lifts' is not a setting; did you mean 'thickest lift'"),
    ("label twice", heading("thickest lift", "joint sand"), r"cell A\d+: the setting 'joint sand' appears twice"),
    ("density", below("Stone and sand", 4, 15, rows=3), r"cell D\d+: loose density is 15 ton/yd3; .*from 0\.8 to 2\.1 ton/yd3"),
    ("factor", below("Stone and sand", 5, 0.9, rows=3), r"cell E\d+: compaction factor is 0\.9; it must be from 1 to 1\.6"),
    ("waste", below("Stone and sand", 6, "some", rows=3), r"cell F\d+: waste is 'some'; it must be a number"),
    ("use", below("Stone and sand", 3, "path", rows=3), r"cell C\d+: use is 'path'; it must be one of: base, bedding, fill"),
    ("same stone", below("Stone and sand", 1, "Crusher Run", rows=4), r"cell A\d+: name 'crusher run' appears twice"),
    ("no such price", below("Stone and sand", 2, "gold", rows=3), r"Company, cell B\d+: price code is 'gold'; there is no row with"),
    ("paver", below("Pavers", 3, 1, rows=3), r"cell C\d+: thickness is 1 in; it must be from 2\.3622 to 5\.9 in \(60 mm"),
    ("grid", below("Geogrid and geotextile", 6, None, rows=3), r"cell F\d+: the geogrid has neither an aperture stability nor"),
    ("source", below("Geogrid and geotextile", 9, None, rows=4), r"cell F\d+: reduction by reinforcement is 0\.3 without a source"),
    ("saving", below("Geogrid and geotextile", 7, 0.7, rows=4), r"cell G\d+: documented reduction is 70 %; .*from 0 to 50 %"),
    ("payload", below("Trucks", 3, 0, rows=3), r"cell C\d+: payload is 0 ton; it must be from 0\.25 to 50 ton"),
    ("soil", below("Soil in the truck", 1, "moon", rows=3), r"cell A\d+: soil is 'moon'; it must be one of: sand, gravel"),
    ("swell", below("Soil in the truck", 2, 0.9, rows=3), r"cell B\d+: swell is 0\.9; it must be from 1 to 2 \(loose over bank"),
    ("work", below("Work rates", 1, "dance", rows=3), r"cell A\d+: work is 'dance'; it must be one of: old-pavement, old-pavement-haul, dig"),
    ("rate unit", below("Work rates", 4, "ton", rows=3), r"cell D\d+: unit is 'ton'; dig must have one of: yd3"),
    ("no rate", below("Work rates", 2, None, rows=4), r"cell B\d+: both rates are missing"),
    ("rate", below("Work rates", 2, 0, rows=3), r"cell B\d+: per crew hour is 0; it must be above 0"),
    ("rut", below("Traffic levels of your own", 5, 5, rows=3), r"cell E\d+: rut is 5 in; it must be from 1\.9685 to 3\.937 in"),
    ("own light", below("Traffic levels of your own", 1, "Light", rows=3), r"cell A\d+: name is 'light', which is a traffic level already"),
    ("price heading", heading("unit price", "cost"), r"sheet Prices: the table of Prices has no column 'unit price' in its heading row 5"),
    ("stone heading", heading("waste [%]", "loss"), r"sheet Company: the table of Stone and sand has no column 'waste'"),
    ("heading twice", heading("supplier", "code"), r"sheet Prices, cell G5: the heading 'code' appears twice"),
    ("heading's unit", heading("loose density [ton/yd3]", "loose density [mph]"), r"cell D\d+: the unit of loose density is 'mph'; .*\[ton/yd3\] or \[t/m3\]"),
    ("no unit in it", heading("payload [ton]", "payload"), r"cell C\d+: the heading 'payload' names no unit; .*\[ton\] or \[t\]"),
]  # fmt: skip


@pytest.mark.parametrize(("change", "sentence"), [row[1:] for row in CELLS], ids=[row[0] for row in CELLS])
def test_a_bad_cell_is_named_with_its_value_and_limit(tmp_path: Path, change: Change, sentence: str) -> None:
    path = spoiled(tmp_path, change)
    found = problems(path)
    assert {type(one) for one in found} == {PriceError}
    assert [wrong for one in found if (wrong := faults(Refusal("", str(one), (f"{path}, sheet ",))))] == []
    assert any(re.search(sentence, str(one)) for one in found), [str(one) for one in found]


def test_a_formula_that_shows_an_error_is_refused_by_what_it_shows(tmp_path: Path) -> None:
    with pytest.raises(PriceError, match=r"cell D11: the cell shows #REF! \(its formula is '=Nowhere\+1'\)"):
        load_prices(with_formula(tmp_path, "Nowhere+1", "#REF!", ' t="e"'))


def remove(sheet: str, title: str = "") -> Change:
    """Return a change that takes out a sheet, or one table of the sheet Company with its title."""

    def change(book: Workbook) -> None:
        if not title:
            del book[sheet]
            return
        table = next(one for one in book[sheet].tables.values() if one.displayName == title)
        for row in book[sheet][table.ref]:
            for one in row:
                one.value = None
        del book[sheet].tables[title]

    return change


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        (remove("Prices"), "there is no sheet 'Prices'; its sheets are: Company, Codes"),
        (remove("Company"), "there is no sheet 'Company'; its sheets are: Prices, Codes"),
        (
            remove("Prices", "UnitPrices"),
            "sheet Prices: there is no table of Prices; its headings are: code, item, unit",
        ),
        (
            remove("Company", "Trucks"),
            "sheet Company: there is no table of Trucks; its headings are: name, use, payload, box",
        ),
        (remove("Company", "Settings"), "sheet Company: there is no table of settings"),
        (remove("Company", "Terms"), "sheet Company: there is no table of Terms"),
    ],
)
def test_a_missing_sheet_or_table_is_named(tmp_path: Path, change: Change, sentence: str) -> None:
    assert sentence in " | ".join(str(one) for one in problems(spoiled(tmp_path, change)))


def test_a_table_without_prices_is_refused(tmp_path: Path) -> None:
    path = filled(tmp_path, prices=[], stones=[], pavers=[], rolls=[])
    assert [str(one) for one in problems(path)] == [
        f"{path}, sheet Prices, cell A5: there is no price; fill in the table of prices"
    ]


def test_everything_wrong_is_told_at_once_in_the_order_of_the_sheets(tmp_path: Path) -> None:
    def change(book: Workbook) -> None:
        for one in (
            setting("sales tax", -0.1), below("Trucks", 3, "big", rows=3), cell("Prices", "D7", None),
            cell("Prices", "D8", -3), cell("Prices", "A9", "geogird"), cell("Prices", "C11", "yd3"),
            cell("Prices", "E11", "si"),
        ):  # fmt: skip
            one(book)

    path = spoiled(tmp_path, change)
    places = [re.search(r"sheet (\w+, cell \w+)", str(one)) for one in problems(path)]
    assert [place[1] for place in places if place] == [
        "Company, cell B16", "Company, cell B86", "Company, cell C94", "Prices, cell D7", "Prices, cell D8",
        "Prices, cell A9", "Prices, cell C11", "Prices, cell E11",
    ]  # fmt: skip
    assert len(places) == 8
    with pytest.raises(PriceError) as first:
        load_prices(path)
    assert str(first.value) == str(problems(path)[0])


DAMAGED = r"the file is damaged or is not a workbook"


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        (lambda: b"", r"the file is empty \(0 bytes\); it must be an \.xlsx workbook"),
        (lambda: b"code,item,unit\nbase-stone,stone,ton\n", r"not a workbook, whatever its name says"),
        (lambda: sound()[: len(sound()) // 2], DAMAGED),
        (
            lambda: b"\xd0\xcf\x11\xe0" + bytes(600),
            r"this is an old \.xls workbook or one behind a password; save it as \.xlsx",
        ),
        (lambda: zipped({"readme.txt": b"no workbook"}), DAMAGED),
        (lambda: zipped({**parts(sound()), "xl/worksheets/sheet1.xml": b"<broken"}), DAMAGED),
    ],
)
def test_a_file_that_is_no_workbook_is_refused_in_one_line(tmp_path: Path, content: Any, sentence: str) -> None:
    path = tmp_path / "prices.xlsx"
    path.write_bytes(content())
    with pytest.raises(WorkbookError, match=f"^{re.escape(str(path))}: {sentence}"):
        load_prices(path)
    assert [type(one) for one in problems(path)] == [WorkbookError]


def test_a_missing_file_and_a_folder_are_refused(tmp_path: Path) -> None:
    with pytest.raises(WorkbookError, match=r"none\.xlsx: there is no such file"):
        load_prices(tmp_path / "none.xlsx")
    with pytest.raises(WorkbookError, match=r"this is a folder; it must be an \.xlsx workbook"):
        load_prices(tmp_path)


def test_a_file_that_may_not_be_read_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = filled(tmp_path)

    def locked(*_: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "open", locked)
    with pytest.raises(WorkbookError, match=r"cannot be read \(permission denied\); close it elsewhere"):
        load_prices(path)


def test_a_workbook_with_a_chart_sheet_is_read(tmp_path: Path) -> None:
    def change(book: Workbook) -> None:
        chart = BarChart()
        chart.add_data(Reference(book["Prices"], min_col=4, min_row=5, max_row=12), titles_from_data=True)
        book.create_chartsheet("Trend").add_chart(chart)

    assert problems(spoiled(tmp_path, change)) == []


def test_no_terms_and_no_soils_are_allowed(tmp_path: Path) -> None:
    ours = load_prices(filled(tmp_path, terms=[], soils=[], traffics=[])).company
    assert (ours.terms, dict(ours.soils), ours.traffics) == ((), {}, ())
    assert RECORDS["terms"]
