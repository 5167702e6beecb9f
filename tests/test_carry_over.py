"""An older workbook of the owner's carried into a new one: nothing changed, nothing lost, the rest listed."""

import re
import subprocess
import warnings
from collections.abc import Callable, Iterator
from datetime import date
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from basecalc.estimating.old_cells import hang_notes
from basecalc.estimating.other_edition import records_in
from estimating_kit import JOBS, demo_job, demo_prices
from hypothesis import Phase, given, settings
from hypothesis import strategies as st
from libreoffice import libreoffice
from openpyxl import load_workbook
from openpyxl.comments import Comment
from openpyxl.utils import range_boundaries
from openpyxl.workbook import Workbook
from openpyxl.worksheet.worksheet import Worksheet
from price_books import RECORDS, filled, find, sound, spoiled

from basecalc.company import settings as company_settings
from basecalc.core.errors import PriceError, WorkbookError
from basecalc.estimating.carry_over import CarriedOver, carry_over
from basecalc.estimating.template import write_template as write_estimating
from basecalc.pricing.prices import load_prices, problems
from basecalc.workbook.starter import built_in
from basecalc.workbook.template import write_price_workbook
from basecalc.workbook.values import store_values


def new_book(folder: Path, carried: CarriedOver, name: str = "new.xlsx") -> Path:
    """Write the new workbook with the notes, as one does that knows both."""
    path = write_price_workbook(folder / name, carried.records)
    book = load_workbook(path)
    hang_notes(book, carried.notes)
    book.save(path)
    return path


def complaints(path: Path) -> list[str]:
    """Return what is wrong with a workbook, without its name and rows, which may be others in a new one."""
    return sorted(re.sub(r"\d+", "", str(one).removeprefix(f"{path}, ")) for one in problems(path))


def notes(path: Path) -> dict[str, str]:
    """Return each note that is not one of ours, by the text of its cell."""
    cells = [cell for sheet in load_workbook(path) for row in sheet.iter_rows() for cell in row if cell.comment]
    return {str(cell.value): cell.comment.text for cell in cells if cell.comment.author != "basecalc"}


@pytest.mark.parametrize("units", ["us", "metric"])
def test_a_sound_workbook_comes_over_whole(tmp_path: Path, units: str) -> None:
    old = write_price_workbook(tmp_path / "old.xlsx", records_in(RECORDS, units))
    before = old.read_bytes()
    carried = carry_over(old)
    assert not carried.left_behind
    new = new_book(tmp_path, carried)
    assert load_prices(new).company == load_prices(old).company
    assert load_prices(new).prices == load_prices(old).prices
    assert old.read_bytes() == before
    again = carry_over(new)
    assert (again.records, again.left_behind) == (carried.records, ())


def test_an_empty_workbook_comes_over_as_it_is(tmp_path: Path) -> None:
    old = write_price_workbook(tmp_path / "old.xlsx")
    carried = carry_over(old)
    assert not carried.left_behind
    assert complaints(new_book(tmp_path, carried)) == complaints(old)
    assert {row["code"] for row in carried.records["prices"]} >= {"base-stone", "crew-time"}


def move_columns(sheet: Worksheet, table: str, order: list[int]) -> None:
    """Put the columns of a table into another order, notes and all."""
    left, top, right, bottom = range_boundaries(sheet.tables[table].ref)
    bottom = max(bottom, sheet.max_row if table in ("UnitPrices",) else bottom)
    for row in range(top, bottom + 1):
        cells = [sheet.cell(row, column) for column in range(left, right + 1)]
        held = [(cell.value, cell.data_type, cell.comment) for cell in cells]
        for cell in cells:
            cell.comment = None
        for cell, source in zip(cells, order, strict=True):
            cell.value, cell.data_type = held[source][:2]
            if held[source][2]:
                cell.comment = Comment(held[source][2].text, held[source][2].author)
    for column, source in zip(sheet.tables[table].tableColumns, order, strict=True):
        column.name = sheet.cell(top, left + order.index(source)).value


def reorder(book: Workbook) -> None:
    move_columns(book["Prices"], "UnitPrices", [3, 6, 0, 8, 1, 5, 7, 2, 4])
    move_columns(book["Company"], "Trucks", [2, 0, 3, 1, 6, 4, 5])


def turn_sheets(book: Workbook) -> None:
    book.move_sheet("Prices", -1)
    book.move_sheet("Codes", -2)


def lose_tables(book: Workbook) -> None:
    for sheet in book:
        for name in list(sheet.tables):
            del sheet.tables[name]


def rename_sheets(book: Workbook) -> None:
    book["Company"].title = "Larch Fork"
    book["Prices"].title = "2026"


@pytest.mark.parametrize("change", [reorder, turn_sheets, lose_tables, rename_sheets])
def test_tables_are_found_wherever_the_owner_put_them(tmp_path: Path, change: Callable[[Workbook], None]) -> None:
    carried = carry_over(spoiled(tmp_path, change))
    assert not carried.left_behind
    ours = load_prices(filled(tmp_path))
    new = load_prices(new_book(tmp_path, carried))
    assert (new.company, new.prices) == (ours.company, ours.prices)


def test_what_the_new_workbook_has_no_place_for_is_listed_by_cell(tmp_path: Path) -> None:
    def change(book: Workbook) -> None:
        prices, company = book["Prices"], book["Company"]
        prices["J5"], prices["J6"], prices["J8"] = "my remark", "ask for a rebate", 17.25
        company["K3"] = "ring Ostmoor Pit"
        row, _ = find(company, "overhead on cost")
        company.cell(row, 6).value = "twelve since May"
        company.cell(row, 6).style = "Normal"
        company.cell(row + 1, 1).value = "profit we hope for"
        book.create_sheet("Fleet")["B2"] = "tyres"

    old = spoiled(tmp_path, change)
    told = "\n".join(carry_over(old).left_behind)
    row, _ = find(load_workbook(old)["Company"], "overhead on cost")
    for place, value in (
        ("sheet Prices, cell J5", "'my remark'"), ("sheet Prices, cell J6", "'ask for a rebate'"),
        ("sheet Prices, cell J8", "17.25"), ("sheet Company, cell K3", "'ring Ostmoor Pit'"),
        (f"sheet Company, cell F{row}", "'twelve since May'"),
        (f"sheet Company, cell A{row + 1}", "'profit we hope for' is not a setting"),
        (f"sheet Company, cell B{row + 1}", "0.15"), ("sheet Fleet", "its 1 filled cells"),
    ):  # fmt: skip
        assert f"{old}, {place}: " in told
        assert value in told
    assert len(told.splitlines()) == 8


def test_rows_added_below_a_table_come_over(tmp_path: Path) -> None:
    def change(book: Workbook) -> None:
        prices, company = book["Prices"], book["Company"]
        row = range_boundaries(prices.tables["UnitPrices"].ref)[3] + 3
        for at, value in enumerate(
            ["pavers-large", "large format", "ft2", 6.4, "yes", date(2026, 4, 1), "Kiln Row"], 1
        ):
            prices.cell(row, at).value = value
        top = range_boundaries(company.tables["Pavers"].ref)[1]
        for at, value in enumerate(["large slab", "pavers-large", 2.75, 0.1], 1):
            company.cell(top + 3, at).value = value

    carried = carry_over(spoiled(tmp_path, change))
    assert not carried.left_behind
    new = load_prices(new_book(tmp_path, carried))
    assert str(new.prices["pavers-large"].unit_price) == "6.4"
    assert [paver.name for paver in new.company.pavers] == ["cobble", "large slab"]


def test_notes_hang_on_the_same_cells(tmp_path: Path) -> None:
    def change(book: Workbook) -> None:
        prices, company = book["Prices"], book["Company"]
        row, _ = find(prices, "base-stone")
        prices.cell(row, 4).comment = Comment("valid to June, says the pit", "Ida")
        prices.cell(row, 10).comment = Comment("on nothing of ours", "Ida")
        row, _ = find(company, "sales tax")
        company.cell(row, 2).comment = Comment("new rate from July", "Ida")
        row, _ = find(company, "tandem")
        company.cell(row, 1).comment = Comment("the green one", "Ida")
        company.cell(row, 3).comment = Comment("weighed in March", "basecalc")
        prices["D5"].comment = Comment("always net", "Ida")
        move_columns(prices, "UnitPrices", [0, 3, 2, 1, 4, 5, 6, 7, 8])

    old = spoiled(tmp_path, change)
    carried = carry_over(old)
    new = new_book(tmp_path, carried)
    assert notes(new) == {
        "24.5": "valid to June, says the pit", "0.065": "new rate from July", "tandem": "the green one",
    }  # fmt: skip
    row, _ = find(load_workbook(new)["Company"], "tandem")
    assert load_workbook(new)["Company"].cell(row, 3).comment.text == "weighed in March"
    assert sorted(one.split(": ")[1] for one in carried.left_behind) == [
        "the note 'always net' has no place in the new workbook",
        "the note 'on nothing of ours' has no place in the new workbook",
    ]
    assert carry_over(new).notes == carried.notes


@pytest.mark.parametrize(
    ("cell", "value"),
    [
        ("Prices!D8", "12,50"), ("Prices!D8", -3), ("Prices!D8", "$24.50"), ("Prices!D8", None), ("Prices!C8", None),
        ("Prices!C8", "day"), ("Prices!E8", "perhaps"), ("Prices!E8", None), ("Prices!A8", "geogird"),
        ("Prices!F8", "last May"), ("Prices!A9", "old-pavement-haul"), ("Company!unit of habit", None),
        ("Company!sales tax", "a lot"), ("Company!sales tax", -0.2), ("Company!sales tax", None),
        ("Company!company name", None), ("Company!your usual base depth", 900), ("Company!quote is good for", 1.5),
        ("Company!tandem", None), ("Company!design a class at its", "strong"), ("Prices!B8", None),
    ],
)  # fmt: skip
def test_a_bad_value_is_carried_as_it_stands_or_listed(tmp_path: Path, cell: str, value: Any) -> None:
    """It is never a sound value of ours instead, with nobody told."""

    def change(book: Workbook) -> None:
        sheet, _, at = cell.partition("!")
        page = book[sheet]
        if sheet == "Prices":
            page[at].value = value
        elif at.startswith("unit of"):
            page.cell(find(page, "your usual base depth")[0], 3).value = value
        else:
            row, column = find(page, at)
            page.cell(row, column + (at != "tandem")).value = value

    old = spoiled(tmp_path, change)
    assert complaints(old)
    carried = carry_over(old)
    new = new_book(tmp_path, carried)
    listed = [one for one in carried.left_behind if one.startswith(f"{old}, sheet ")]
    assert complaints(new) == complaints(old) or (listed and len(listed) == len(carried.left_behind))


def test_a_setting_that_cannot_be_read_is_listed_with_what_stands_there_now(tmp_path: Path) -> None:
    def change(book: Workbook) -> None:
        page = book["Company"]
        page.cell(find(page, "thickest lift")[0], 2).value = "a shovel deep"
        page.cell(find(page, "sales tax")[0], 2).value = "a lot"
        page.cell(find(page, "least base depth")[0], 3).value = None
        page.cell(find(page, "units on printed sheets")[0], 2).value = "imperial"

    told = "\n".join(carry_over(spoiled(tmp_path, change)).left_behind)
    assert "thickest lift is 'a shovel deep'; it must be a number (in)" in told
    assert "; 4 stands there now" in told
    assert re.search(r"sales tax is 'a lot'; .*; the cell is blank now", told)
    assert "least base depth is 6 and has no unit beside it; 6 stands there now" in told
    assert "units on printed sheets is 'imperial'; 'us' was taken" in told


def with_formulas(folder: Path, formulas: dict[tuple[str, str], tuple[str, Any]]) -> Path:
    """Return the sound workbook with formulas in cells, and the value stored with each that has one."""
    book = load_workbook(BytesIO(sound()))
    for (sheet, at), (text, _) in formulas.items():
        book[sheet][at].value = text
    saved = BytesIO()
    book.save(saved)
    values: dict[str, dict[str, Any]] = {}
    for (sheet, at), (_, value) in formulas.items():
        values.setdefault(sheet, {})[at] = value
    path = folder / "formulas.xlsx"
    path.write_bytes(store_values(saved.getvalue(), values) if values else saved.getvalue())
    return path


def test_a_formula_gives_its_value_and_is_listed(tmp_path: Path) -> None:
    old = with_formulas(tmp_path, {("Prices", "D8"): ("=22+1.75", 23.75), ("Prices", "D9"): ("=1/0", "#DIV/0!")})
    carried = carry_over(old)
    assert carried.records["prices"][2]["unit_price"] == 23.75
    assert carried.records["prices"][3]["unit_price"] is None
    assert sorted(carried.left_behind) == [
        f"{old}, sheet Prices, cell D8: the formula '=22+1.75' is carried over as its value, 23.75",
        f"{old}, sheet Prices, cell D9: the cell shows #DIV/0! (its formula is '=1/0'); it must hold a value",
    ]
    assert any("unit price is missing" in str(one) for one in problems(new_book(tmp_path, carried)))


def test_a_formula_that_was_never_calculated_is_listed_and_left_blank(tmp_path: Path) -> None:
    old = spoiled(tmp_path, lambda book: book["Prices"].__setitem__("D8", "=D7*2"))
    carried = carry_over(old)
    assert carried.records["prices"][2]["unit_price"] is None
    assert len(carried.left_behind) == 1
    assert "sheet Prices, cell D8: the formula '=D7*2' was never calculated" in carried.left_behind[0]


def test_a_unit_the_owner_changed_in_a_heading_counts(tmp_path: Path) -> None:
    def change(book: Workbook) -> None:
        page = book["Company"]
        row, column = find(page, "payload [ton]")
        page.cell(row, column).value = "payload [t]"
        page.cell(row + 1, column).value = 12.70058636
        row, column = find(page, "loose density [ton/yd3]")
        page.cell(row, column).value = "loose density [stone]"
        row, _ = find(page, "thickest lift")
        page.cell(row, 2).value, page.cell(row, 3).value = 100, "mm"

    carried = carry_over(spoiled(tmp_path, change))
    new = new_book(tmp_path, carried)
    assert carried.records["trucks"][0]["payload"] == pytest.approx(14)
    assert carried.records["settings"]["lift_m"] == pytest.approx(100 / 25.4)
    assert [stone["loose_density"] for stone in carried.records["stones"]] == [None, None]
    assert (
        sum("loose density is 1.48, but its heading" in one and "is in 'stone'" in one for one in carried.left_behind)
        == 1
    )
    assert {one for one in complaints(new) if "loose density is missing" in one}


def test_the_other_edition_is_the_same_company(tmp_path: Path) -> None:
    ours = load_prices(filled(tmp_path)).company
    metric = load_prices(
        write_price_workbook(tmp_path / "m.xlsx", carry_over(tmp_path / "prices.xlsx", "metric").records)
    ).company
    assert metric.units == "metric"
    assert metric.design == ours.design
    assert (metric.habit_depth_m, metric.lift_m, metric.stones) == (ours.habit_depth_m, ours.lift_m, ours.stones)
    assert (metric.rolls, metric.trucks, metric.pavers) == (ours.rolls, ours.trucks, ours.pavers)
    back = records_in(carry_over(tmp_path / "m.xlsx").records, "us")
    again = load_prices(write_price_workbook(tmp_path / "us.xlsx", back)).company
    assert (again.design, again.trucks, again.rolls) == (ours.design, ours.trucks, ours.rolls)


def test_a_price_that_names_no_unit_keeps_the_one_it_was_meant_for() -> None:
    records = {
        "prices": [{"code": "base-stone", "unit_price": 24.8}, {"code": "dig", "unit_price": 13.5, "unit": None}]
    }
    stone, dig = records_in(records, "metric")["prices"]
    assert (stone["unit"], stone["unit_price"], dig["unit"]) == ("ton", 24.8, None)


def test_parts_that_are_missing_are_told(tmp_path: Path) -> None:
    def no_prices(book: Workbook) -> None:
        del book["Prices"]
        row, column = find(book["Company"], "box [yd3]")
        book["Company"].cell(row, column).value = "volume"
        top = range_boundaries(book["Company"].tables["Soils"].ref)[1]
        del book["Company"].tables["Soils"]
        for column in (1, 2):
            book["Company"].cell(top, column).value = None

    carried = carry_over(spoiled(tmp_path, no_prices))
    told = "\n".join(carried.left_behind)
    assert "there is no sheet 'Prices'; the new workbook has no unit prices yet" in told
    assert "there is no table of Soil in the truck; the new workbook has its own" in told
    assert re.search(r"row \d+: the table of Trucks has no column 'box'", told)
    assert re.search(r"cell D\d+: 12 has no place", told)
    assert "prices" not in carried.records
    assert "soils" not in carried.records
    assert built_in().get("soils", ()) is not None


def test_a_workbook_that_is_none_of_ours_is_refused(tmp_path: Path) -> None:
    stranger = tmp_path / "other.xlsx"
    Workbook().save(stranger)
    with pytest.raises(PriceError, match=r"other\.xlsx: there is neither a sheet 'Company' nor a sheet 'Prices'"):
        carry_over(stranger)
    with pytest.raises(WorkbookError, match="there is no such file"):
        carry_over(tmp_path / "nowhere.xlsx")


def priced(book: Workbook) -> None:
    """Fill in what the owner fills in, with a note, a row, and a column of his own."""
    prices, company = book["Prices"], book["Company"]
    row, _ = find(prices, "base-stone")
    prices.cell(row, 4).value, prices.cell(row, 7).value = 31.4, "Ostmoor Pit"
    prices.cell(row, 4).comment = Comment("valid to June", "Ida")
    prices.cell(row, 10).value = "look at this again"
    company.cell(find(company, "sales tax")[0], 2).value = 0.07
    row = range_boundaries(prices.tables["UnitPrices"].ref)[3] + 1
    for at, value in enumerate(["base-place", "place base, by the yard", "yd3", 14.0, "no"], 1):
        prices.cell(row, at).value = value


@pytest.mark.parametrize(("old_host", "new_host"), [("excel", "calc"), ("calc", "excel")])
def test_an_estimating_workbook_hands_its_prices_to_the_next(tmp_path: Path, old_host: str, new_host: str) -> None:
    endings = {"excel": ".xlsm", "calc": ".xlsx"}
    first = write_estimating(
        tmp_path / f"first{endings[old_host]}", demo_prices(), host=old_host, job=demo_job(JOBS[2])
    )
    book = load_workbook(first)
    priced(book)
    old = tmp_path / "old.xlsx"
    book.save(old)
    before = old.read_bytes()
    carried = carry_over(old)
    new = write_estimating(tmp_path / f"new{endings[new_host]}", carried.records, host=new_host, notes=carried.notes)
    assert old.read_bytes() == before
    ours, theirs = load_prices(new), load_prices(old)
    assert ours.company == theirs.company
    assert {code: str(price.unit_price) for code, price in ours.prices.items()} == {
        code: str(price.unit_price) for code, price in theirs.prices.items()
    }
    assert str(ours.prices["base-stone"].unit_price) == "31.4"
    assert notes(new) == {"31.4": "valid to June"}
    told = [one.removeprefix(f"{old}, sheet ") for one in carried.left_behind]
    assert len(told) == 4
    assert told[0].startswith("Start, row 22: 9 rows of the job card from here on belong to a job")
    assert re.fullmatch(r"Prices, cell J\d+: 'look at this again' has no place in the new workbook", told[1])
    assert told[2].startswith("Ground, row 7: 7 rows of readings")
    assert told[3].startswith("Areas, row 7: 2 rows of areas")


def test_a_new_estimating_workbook_leaves_nothing_behind(tmp_path: Path) -> None:
    for units in ("us", "metric"):
        carried = carry_over(write_estimating(tmp_path / f"{units}.xlsm", units=units))
        assert not carried.left_behind
        assert not carried.notes


def test_a_price_workbook_of_old_becomes_an_estimating_one(tmp_path: Path) -> None:
    carried = carry_over(filled(tmp_path))
    new = load_prices(write_estimating(tmp_path / "new.xlsm", carried.records, notes=carried.notes))
    ours = load_prices(tmp_path / "prices.xlsx")
    assert (new.company, new.prices) == (ours.company, ours.prices)


@pytest.mark.libreoffice
def test_a_workbook_saved_by_libreoffice_comes_over_the_same(tmp_path: Path) -> None:
    program, path = libreoffice(), filled(tmp_path)
    for _ in range(2):  # a fresh profile may end the first start without doing anything
        subprocess.run(
            [program, f"-env:UserInstallation=file://{tmp_path}/profile", "--headless", "--convert-to", "xlsx",
             "--outdir", str(tmp_path / "saved"), str(path)],
            check=False, capture_output=True, timeout=120,
        )  # fmt: skip
        if (tmp_path / "saved" / path.name).exists():
            break
    carried = carry_over(tmp_path / "saved" / path.name)
    assert not carried.left_behind
    new, ours = load_prices(new_book(tmp_path, carried)), load_prices(path)
    assert (new.company, new.prices) == (ours.company, ours.prices)


def places() -> Iterator[tuple[str, str]]:
    """Yield every cell of the sound workbook that somebody fills in, and a few around."""
    for sheet in load_workbook(BytesIO(sound())):
        if sheet.title != "Codes":
            yield from (
                (sheet.title, cell.coordinate)
                for row in sheet.iter_rows()
                for cell in row
                if cell.style == "basecalc input"
            )
            yield from ((sheet.title, f"L{row}") for row in range(3, 20, 5))


PLACES = tuple(places())
JUNK = st.one_of(
    st.none(), st.booleans(), st.integers(-10**6, 10**6), st.floats(-1e9, 1e9).map(lambda number: round(number, 3)),
    st.dates(date(1901, 1, 1)),
    st.sampled_from(["", " ", "12 m", "3/8", "=1+1", "#N/A", "yes", "us", "metric", "base-stone", "12%", "nan"]),
    st.text(st.characters(codec="utf-8", exclude_categories=["Cs", "Cc"]), max_size=30),
)  # fmt: skip


@settings(max_examples=15, deadline=None, phases=[Phase.explicit, Phase.reuse, Phase.generate])
@given(changes=st.dictionaries(st.sampled_from(PLACES), JUNK, min_size=1, max_size=8))
def test_whatever_stands_in_the_cells_it_is_in_the_new_workbook_or_on_the_list(
    tmp_path_factory: pytest.TempPathFactory, changes: dict[tuple[str, str], Any]
) -> None:
    folder = tmp_path_factory.mktemp("any")

    def change(book: Workbook) -> None:
        for (sheet, at), value in changes.items():
            book[sheet][at].value = value
            if isinstance(value, str):
                book[sheet][at].data_type = "s"

    old = spoiled(folder, change)
    before = old.read_bytes()
    carried = carry_over(old)
    new = load_workbook(new_book(folder, carried))
    assert old.read_bytes() == before
    held = {str(cell.value) for sheet in new for row in sheet.iter_rows() for cell in row if cell.value is not None}
    told = "\n".join(carried.left_behind)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # a number in a date cell that is no day of any calendar
        cells = load_workbook(BytesIO(before))
    for (sheet, at), value in changes.items():
        kept = cells[sheet][at].value
        if kept is None or not str(kept).strip():
            continue
        same = {
            str(kept),
            str(kept).strip(),
            {True: "yes", False: "no"}.get(value, str(kept)) if isinstance(value, bool) else "",
        }
        assert same & held or f"sheet {sheet}, cell {at}: " in told or _converted(kept, held), (sheet, at, kept)


def _converted(value: Any, held: set[str]) -> bool:
    """Return whether a text with a unit stands there as a number."""
    if isinstance(value, str) and re.fullmatch(r"\s*\d+ m\s*", value):
        metres = float(value.strip().removesuffix(" m"))
        return any(_near(text, metres / factor) for text in held for factor in (1, 0.3048, 0.0254, 0.001))
    if isinstance(value, str) and re.fullmatch(r"\s*\d+%\s*", value):  # a text in a column of shares
        return any(_near(text, float(value.strip().removesuffix("%")) / 100) for text in held)
    return isinstance(value, int | float | str) and any(_near(text, value) for text in held)


def _near(text: str, number: Any) -> bool:
    try:
        return float(text) == pytest.approx(float(number), rel=1e-9)
    except ValueError:
        return False


@pytest.mark.parametrize("text", ["12%", "12 %", " 12% "])
def test_a_share_written_as_a_text_comes_over_as_what_it_means(tmp_path: Path, text: str) -> None:
    def change(book: Workbook) -> None:
        row, column = find(book["Company"], "documented reduction [%]")
        cell = book["Company"].cell(row + 2, column)
        assert cell.value == 0.3
        cell.value, cell.data_type = text, "s"

    carried = carry_over(spoiled(tmp_path, change))
    assert not carried.left_behind
    page = load_workbook(new_book(tmp_path, carried))["Company"]
    row, column = find(page, "documented reduction [%]")
    assert page.cell(row + 2, column).value == pytest.approx(0.12)
    assert [roll.reduction for roll in load_prices(tmp_path / "new.xlsx").company.rolls][1] == pytest.approx(0.12)


def test_every_setting_is_carried_by_its_label(tmp_path: Path) -> None:
    assert set(carry_over(filled(tmp_path)).records["settings"]) == set(company_settings())
