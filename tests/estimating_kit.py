"""An estimating workbook under test: edited cell by cell, worked out by the engine, and by the library "
"from the file."""

import random
import tomllib
from collections.abc import Mapping
from decimal import Decimal
from importlib.resources import files
from pathlib import Path
from typing import Any

from openpyxl.cell.cell import Cell, MergedCell
from openpyxl.workbook import Workbook

from basecalc.core.errors import BasecalcError
from basecalc.estimating.build import build_book
from basecalc.estimating.read_job import read_job_sheets
from basecalc.pricing.prices import load_prices
from basecalc.pricing.quote import quote
from basecalc.workbook import style

DEMO = files("basecalc") / "data" / "demo"
JOBS = ("1-firm-ground", "2-soft-ground", "3-new-build")
TOTALS = ("TotalStone", "TotalGeogrid", "TotalUsual", "OfferedTotal", "QuotedTotal")
METRIC_JOB: dict[str, Any] = {
    "job": {
        "number": "LF-2604", "client": "Ida Farrow", "site": "4 Rushes Lane, Brackwater", "units": "metric",
        "traffic": "light", "season": "wet", "soil": "silt",
    },
    "area": [
        {"name": "Drive", "shape": "rectangle", "length": 22.5, "width": 4.2, "foundation_edge": 4.2,
         "geotextile": True, "foundation_fill_depth": 400, "foundation_fill_width": 1.2},
        {"name": "Court", "shape": "circle", "diameter": 9, "soil": "clay", "finish_above_ground": 30,
         "old_pavement": 60, "old_pavement_kind": "asphalt"},
    ],
    "spot": [
        {"name": "gate", "area": "Drive",
         "readings": [{"test": "walk", "reading": 60}, {"test": "vane", "reading": 25}]},
        {"name": "court", "area": "Court", "readings": [{"test": "cone", "reading": 38}]},
    ],
}  # fmt: skip
NO_OPTION = "no option here"
REFUSED = "refused"


def demo_prices() -> dict[str, Any]:
    return tomllib.loads((DEMO / "prices.toml").read_text("utf-8"))


def demo_job(name: str) -> dict[str, Any]:
    return tomllib.loads((DEMO / f"{name}.toml").read_text("utf-8"))


def demo_book(name: str, **settings: Any) -> tuple[Workbook, dict[str, dict[str, Any]]]:
    """Return the workbook of a demo job for the test engine, and the values stored with it."""
    records = demo_prices()
    records["settings"] |= settings
    return build_book(records, "test", "us", demo_job(name))


def named_value(book: Workbook, values: Mapping[str, Mapping[str, Any]], name: str) -> Any:
    """Return the stored value of a named formula cell."""
    sheet, _, cell = str(book.defined_names[name].attr_text).rpartition("!")
    return values[sheet.strip("'")][cell.replace("$", "")]


def typed(book: Workbook, sheet: str, cell: str, value: Any) -> None:
    """Type something into a cell of the book; text stays text."""
    place = book[sheet][cell]
    if isinstance(value, str):
        style.put_text(place, value)
        if value.startswith("#"):
            place.data_type = "e"
    else:
        place.value = value


def library(book: Workbook, path: Path) -> dict[str, Any]:
    """Return the totals as the library works them out from the saved file, or why it refuses."""
    book.save(path)
    try:
        made = quote(read_job_sheets(path), load_prices(path))
    except BasecalcError as refusal:
        return {REFUSED: str(refusal)}
    return {
        "TotalStone": made.stone.total,
        "TotalGeogrid": made.geogrid.total if made.geogrid else NO_OPTION,
        "TotalUsual": made.habit.total,
        "OfferedTotal": made.offer.total,
        "QuotedTotal": made.offer.total,
    }


def same_money(shown: Any, expected: Decimal | str) -> bool:
    if isinstance(expected, str):
        return bool(shown == expected)
    return isinstance(shown, float) and Decimal(f"{shown:.4f}") == expected


def input_cells(book: Workbook) -> list[tuple[str, str]]:
    """Return every cell with something in it that a user may change, by sheet and cell."""
    found = []
    for sheet in book:
        for cell in sheet._cells.values():
            if isinstance(cell, MergedCell) or cell.value is None or not isinstance(cell, Cell):
                continue
            if cell.style == "basecalc input":
                found.append((sheet.title, cell.coordinate))
    return found


def column_of(book: Workbook, table: str, label: str) -> str:
    """Return the letter of a column of a table, found by its heading without a unit."""
    for sheet in book:
        for one in sheet.tables.values():
            if one.name == table:
                row = sheet[one.ref.split(":")[0]].row
                for cell in sheet[row]:
                    if str(cell.value or "").split(" [")[0] == label:
                        return cell.column_letter
    raise LookupError(f"{table} has no column {label}")


def setting_cell(book: Workbook, label: str) -> str:
    """Return the value cell of a setting on the sheet Company."""
    return next(f"B{cell.row}" for cell in book["Company"]["A"] if cell.value == label)


def row_of(book: Workbook, sheet: str, word: str, column: str = "A") -> int:
    """Return the first row with this word in a column."""
    return next(cell.row for cell in book[sheet][column] if cell.value == word)


def any_edit(book: Workbook, chance: random.Random) -> list[tuple[str, str, Any]]:
    """Return a random edit of a reading, a size, the traffic, a price or a setting."""
    price = column_of(book, "UnitPrices", "unit price")
    area = {
        label: column_of(book, "Areas", label)
        for label in (
            "size 1",
            "size 2",
            "finish above ground",
            "along a building",
            "geotextile",
            "soil",
            "strength by hand",
            "open edge",
            "edge restraint",
        )
    }
    row = chance.choice([7, 8])
    codes = [
        cell.row
        for cell in book["Prices"]["A"]
        if cell.value in ("base-stone", "dig", "spoil-haul", "geogrid", "pavers", "crew-time")
    ]
    kinds = {
        "price": lambda: [
            ("Prices", f"{price}{chance.choice(codes)}", round(chance.uniform(0, 700), chance.choice([0, 2, 3])))
        ],
        "size": lambda: [
            ("Areas", f"{area['size 1']}8", round(chance.uniform(8, 80), 2)),
            ("Areas", f"{area['size 2']}8", round(chance.uniform(8, 40), 2)),
        ],
        "finish": lambda: [("Areas", f"{area['finish above ground']}{row}", round(chance.uniform(-4, 6), 1))],
        "textile": lambda: [("Areas", f"{area['geotextile']}{row}", chance.choice(["yes", "no"]))],
        "soil": lambda: [("Areas", f"{area['soil']}{row}", chance.choice(["sand", "clay", "silt", "rock", "gravel"]))],
        "edge": lambda: [("Areas", f"{area['open edge']}8", round(chance.uniform(0, 60), 1))],
        "restraint": lambda: [("Areas", f"{area['edge restraint']}8", round(chance.uniform(0, 90), 1))],
        "cone": lambda: [("Ground", "D7", round(chance.uniform(4, 90), 1))],
        "pickup": lambda: [("Ground", "D8", round(chance.uniform(0, 4), 2))],
        "walk": lambda: [("Ground", "D10", round(chance.uniform(0, 2.9), 2))],
        "bay": lambda: [("Ground", "D12", round(chance.uniform(4, 90), 1))],
        "wet": lambda: [
            ("Ground", f"E{chance.randint(7, 13)}", chance.choice(["dry", "moist", "wet", "frozen", None]))
        ],
        "traffic": lambda: [
            ("Start", f"B{row_of(book, 'Start', 'traffic')}", chance.choice(["light", "delivery", "heavy"]))
        ],
        "season": lambda: [
            ("Start", f"B{row_of(book, 'Start', 'ground on the day')}", chance.choice(["dry", "moist", "wet"]))
        ],
        "offer": lambda: [("Start", f"B{row_of(book, 'Start', 'offer')}", chance.choice(["stone", "cheaper"]))],
        "usual": lambda: [("Company", setting_cell(book, "your usual base depth"), chance.choice([8, 10.5, 12, 18]))],
        "shares": lambda: [
            ("Company", setting_cell(book, label), round(chance.uniform(0, 0.3), 4))
            for label in ("overhead on cost", "profit as a share of the price", "contingency on cost", "sales tax")
        ],
        "edge of class": lambda: [
            ("Company", setting_cell(book, "design a class at its"), chance.choice(["weak", "middle"]))
        ],
        "step": lambda: [("Company", setting_cell(book, "round the depth up to steps of"), chance.choice([0.5, 1, 2]))],
        "checks": lambda: [
            ("Company", setting_cell(book, "count the rule of the trade"), chance.choice(["yes", "no"]))
        ],
        "class down": lambda: [
            ("Company", setting_cell(book, "dry or frozen fine soil one class down"), chance.choice(["yes", "no"]))
        ],
        "bedding": lambda: [
            ("Company", setting_cell(book, "thickness of the bedding sand"), chance.choice([0.75, 1, 1.25]))
        ],
    }
    return kinds[chance.choice(sorted(kinds))]()
