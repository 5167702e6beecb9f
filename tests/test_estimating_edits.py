"""Whatever is edited, the sheets say what the library says, to the cent, in an engine that knows nothing of ours."""

import random
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from estimating_kit import (
    JOBS,
    NO_OPTION,
    REFUSED,
    TOTALS,
    any_edit,
    column_of,
    demo_book,
    library,
    named_value,
    row_of,
    same_money,
    setting_cell,
    typed,
)
from openpyxl.workbook import Workbook
from workbook_engine import ERROR, Engine

EDITS = 30


@pytest.fixture(scope="module", params=JOBS)
def demo(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory
) -> tuple[Workbook, Any, Engine, Path]:
    folder = tmp_path_factory.mktemp(request.param)
    book, values = demo_book(request.param)
    book.save(folder / "engine.xlsx")
    return book, values, Engine(folder / "engine.xlsx"), folder / "library.xlsx"


def test_totals_of_the_demo_equal_the_library_to_the_cent(demo: tuple[Workbook, Any, Engine, Path]) -> None:
    book, values, engine, path = demo
    expected = library(book, path)
    assert {name: engine.named(name) for name in TOTALS if not same_money(engine.named(name), expected[name])} == {}
    assert [name for name in TOTALS if not same_money(named_value(book, values, name), expected[name])] == []


def test_every_stored_value_is_what_the_engine_works_out(demo: tuple[Workbook, Any, Engine, Path]) -> None:
    _, values, engine, _ = demo
    differ, count = [], 0
    for sheet, cell, stored, shown in engine.values(values):
        count += 1
        if isinstance(stored, float) and isinstance(shown, float):
            same = shown == pytest.approx(stored, rel=1e-12, abs=1e-12)
        else:
            same = stored == shown
        if not same and (sheet, cell) not in {("Start", "A4"), ("Quote", "B7")}:  # a note of ours, and a date
            differ.append((sheet, cell, stored, shown))
    assert count > 1500
    assert differ == []


@pytest.fixture(scope="module")
def edited(tmp_path_factory: pytest.TempPathFactory) -> tuple[Workbook, Engine, Path]:
    folder = tmp_path_factory.mktemp("edits")
    book, _ = demo_book("3-new-build")
    book.save(folder / "engine.xlsx")
    return book, Engine(folder / "engine.xlsx"), folder / "library.xlsx"


def agree(engine: Engine, expected: dict[str, Any], what: object) -> None:
    shown = {name: engine.named(name) for name in TOTALS}
    if REFUSED in expected:
        assert all(not isinstance(shown[name], float) for name in ("OfferedTotal", "QuotedTotal")), (
            what,
            expected,
            shown,
        )
        assert str(engine.named("Banner")).startswith("REFUSED"), (what, expected)
    else:
        assert [name for name in TOTALS if not same_money(shown[name], expected[name])] == [], (what, shown, expected)


@pytest.mark.parametrize("place", range(EDITS))
def test_thirty_random_edits_one_after_the_other(place: int, edited: tuple[Workbook, Engine, Path]) -> None:
    book, engine, path = edited
    for sheet, cell, value in any_edit(book, random.Random(1000 + place)):
        typed(book, sheet, cell, value)
        engine.set(sheet, cell, value)
    engine.recalculate()
    agree(engine, library(book, path), place)


def test_edits_that_the_library_refuses_never_leave_a_price(tmp_path: Path) -> None:
    book, _ = demo_book("3-new-build")
    book.save(tmp_path / "engine.xlsx")
    engine = Engine(tmp_path / "engine.xlsx")
    area = {
        label: column_of(book, "Areas", label)
        for label in ("size 1", "soil", "finish above ground", "strength by hand", "open edge", "old pavement")
    }
    price = f"{column_of(book, 'UnitPrices', 'unit price')}{row_of(book, 'Prices', 'base-stone')}"
    cases = [
        ("Ground", "D10", 14.0),
        ("Ground", "C7", "stone throw"),
        ("Ground", "B7", "Drivway"),
        ("Ground", "A7", None),
        ("Areas", f"{area['size 1']}8", None),
        ("Areas", f"{area['size 1']}8", "wide"),
        ("Areas", f"{area['soil']}8", "chalk"),
        ("Areas", f"{area['finish above ground']}8", 40),
        ("Areas", f"{area['strength by hand']}8", "soft"),
        ("Areas", f"{area['open edge']}8", 900),
        ("Areas", f"{area['old pavement']}8", 3),
        ("Areas", "A8", "Driveway"),
        ("Prices", price, None),
        ("Prices", price, -1),
        ("Prices", price, "ask"),
        ("Company", setting_cell(book, "profit as a share of the price"), 0.9),
        ("Company", setting_cell(book, "company name"), None),
        ("Start", f"B{row_of(book, 'Start', 'traffic')}", "tanks"),
        ("Start", f"B{row_of(book, 'Start', 'base stone')}", "gold"),
    ]
    left = []
    for sheet, cell, value in cases:
        before = book[sheet][cell].value
        typed(book, sheet, cell, value)
        engine.set(sheet, cell, value)
        engine.recalculate()
        expected = library(book, tmp_path / "library.xlsx")
        assert REFUSED in expected, (sheet, cell, value)
        if isinstance(engine.named("OfferedTotal"), float) or not ERROR.match(str(engine.named("OfferedTotal"))):
            left.append((sheet, cell, value, engine.named("OfferedTotal"), expected))
        if not str(engine.named("Banner")).startswith("REFUSED"):
            left.append((sheet, cell, value, engine.named("Banner")))
        typed(book, sheet, cell, before)
        engine.set(sheet, cell, before)
    assert left == []
    engine.recalculate()
    agree(engine, library(book, tmp_path / "library.xlsx"), "restored")


def test_a_row_typed_below_the_table_stops_the_totals_until_its_formulas_are_there(tmp_path: Path) -> None:
    book, _ = demo_book("3-new-build")
    book.save(tmp_path / "engine.xlsx")
    engine = Engine(tmp_path / "engine.xlsx")
    engine.set("Areas", "A40", "Shed pad")
    engine.recalculate()
    assert ERROR.match(str(engine.named("OfferedTotal")))
    assert "copy them down" in engine.named("Banner")
    engine.set("Areas", "A40", None)
    engine.set("Ground", "A60", "by the fence")
    engine.recalculate()
    assert ERROR.match(str(engine.named("OfferedTotal")))
    engine.set("Ground", "A60", None)
    engine.set("Areas", "C900", 5)
    engine.recalculate()
    assert ERROR.match(str(engine.named("OfferedTotal")))
    assert "below the rows that are counted" in engine.named("Banner")


def test_a_geogrid_that_thins_nothing_is_no_option(tmp_path: Path) -> None:
    book, values = demo_book("1-firm-ground")
    assert named_value(book, values, "TotalGeogrid") == NO_OPTION
    assert named_value(book, values, "Offered") == "stone"
    assert isinstance(library(book, tmp_path / "library.xlsx")["TotalStone"], Decimal)
