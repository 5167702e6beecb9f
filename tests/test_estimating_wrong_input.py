"""Wrong input in every input cell, one by one: never a number that looks fine, and a banner that says where to look."""

from datetime import datetime
from pathlib import Path
from typing import Any

import pytest
from estimating_kit import REFUSED, TOTALS, demo_book, input_cells, library, same_money, typed
from openpyxl.workbook import Workbook
from workbook_engine import ERROR, Engine

WRONG: dict[str, Any] = {"blank": None, "text": "abc", "negative": -3, "huge": 1e9, "error": "=1/0"}
OF_THE_JOB = ("Start", "Ground", "Areas")


def as_typed(value: Any) -> Any:
    return value.date().isoformat() if isinstance(value, datetime) else value


@pytest.fixture(scope="module")
def trial(tmp_path_factory: pytest.TempPathFactory) -> tuple[Workbook, Engine, Path]:
    folder = tmp_path_factory.mktemp("wrong")
    book, _ = demo_book("3-new-build")
    book.save(folder / "engine.xlsx")
    return book, Engine(folder / "engine.xlsx"), folder / "library.xlsx"


def looks_fine(trial: tuple[Workbook, Engine, Path], sheet: str, cell: str, kind: str, right: dict[str, Any]) -> bool:
    """Return whether a total shows a number that is neither that of the sound job nor the library's own."""
    book, engine, path = trial
    before = book[sheet][cell].value
    engine.set(sheet, cell, WRONG[kind])
    engine.recalculate()
    shown = {name: engine.named(name) for name in TOTALS}
    engine.set(sheet, cell, as_typed(before))
    if all(shown[name] == right[name] or ERROR.match(str(shown[name])) for name in TOTALS):
        return False
    typed(book, sheet, cell, "#DIV/0!" if kind == "error" else WRONG[kind])
    expected = library(book, path)
    book[sheet][cell].data_type = "n"
    typed(book, sheet, cell, before)
    return REFUSED in expected or not all(same_money(shown[name], expected[name]) for name in TOTALS)


def test_wrong_input_in_any_cell_never_ends_in_a_number_that_looks_fine(trial: tuple[Workbook, Engine, Path]) -> None:
    book, engine, _ = trial
    right = {name: engine.named(name) for name in TOTALS}
    cells = input_cells(book)
    assert len(cells) > 200
    kinds = list(WRONG)
    tried = [
        (sheet, cell, kind)
        for place, (sheet, cell) in enumerate(cells)
        for kind in (kinds if sheet in OF_THE_JOB else [kinds[place % len(kinds)]])
    ]
    assert [one for one in tried if looks_fine(trial, *one, right)] == []
    engine.recalculate()
    assert {name: engine.named(name) for name in TOTALS} == right


@pytest.mark.parametrize("kind", ["blank", "text", "negative", "error"])
def test_a_wrong_price_of_stone_is_said_on_top_of_every_sheet(trial: tuple[Workbook, Engine, Path], kind: str) -> None:
    book, engine, _ = trial
    row = next(cell.row for cell in book["Prices"]["A"] if cell.value == "base-stone")
    before = book["Prices"][f"D{row}"].value
    engine.set("Prices", f"D{row}", WRONG[kind])
    engine.recalculate()
    said = [
        engine.cell(sheet, cell)
        for sheet, cell in (("Start", "A3"), ("Ground", "A4"), ("Areas", "B4"), ("Estimate", "A3"))
    ]
    engine.set("Prices", f"D{row}", before)
    engine.recalculate()
    assert {text[:7] for text in said} == {"REFUSED"}


@pytest.mark.parametrize("code", ["digg", 7])
def test_work_with_a_misspelled_code_is_not_priced_by_its_hours_instead(
    trial: tuple[Workbook, Engine, Path], code: str | int
) -> None:
    book, engine, _ = trial
    row = next(cell.row for cell in book["Prices"]["A"] if cell.value == "dig")
    engine.set("Prices", f"A{row}", code)
    engine.recalculate()
    shown = {name: engine.named(name) for name in TOTALS}
    said = engine.cell("Start", "A3")
    engine.set("Prices", f"A{row}", "dig")
    engine.recalculate()
    assert all(ERROR.match(str(total)) for total in shown.values())
    assert said == "REFUSED: Prices: a code is not known"
