"""A filled price workbook of an invented company, and ways to spoil a copy of it. Every number here is made up."""

import re
import zipfile
from collections.abc import Callable
from datetime import date
from functools import cache
from io import BytesIO
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from openpyxl import load_workbook
from openpyxl.workbook import Workbook
from openpyxl.worksheet.worksheet import Worksheet

from basecalc import write_price_workbook

PRICES = {
    "old-pavement-haul": 210.0, "spoil-haul": 145.0, "spoil-tip": 60, "geotextile": 395.0, "geogrid": 640.0,
    "base-stone": 24.5, "stone-haul": 85.0, "bedding-sand": 31.25, "pavers": 4.85, "edge-restraint": 2.1,
    "joint-sand": 17.4, "foundation-fill": 22.0, "crew-time": 135.0, "machine-time": 95.0,
}  # fmt: skip
RECORDS: dict[str, Any] = {
    "settings": {
        "name": "Larch Fork Paving", "address": "7 Kiln Row, Brackwater", "phone": "555 0117",
        "email": "office@larchfork.example", "overhead": 0.12, "profit": 0.15, "contingency": 0.03, "tax_rate": 0.065,
        "deposit": 0.3, "standard_depth_m": "350 mm", "design.class_edge": "middle",
    },
    "stones": [
        {"name": "crusher run", "code": "base-stone", "use": "base", "loose_density": 1.48, "compaction_factor": 1.254,
         "waste": 0.05},
        {"name": "screenings", "code": "bedding-sand", "use": "bedding", "loose_density": 1.35,
         "compaction_factor": 1.15, "waste": 0.1},
    ],
    "pavers": [{"name": "cobble", "code": "pavers", "thickness": 2.375, "cutting_waste": 0.06}],
    "rolls": [
        {"name": "grid", "code": "geogrid", "kind": "geogrid", "length": 150, "width": 13, "aperture_stability": 0.32},
        {"name": "tested grid", "code": "geogrid", "kind": "geogrid", "length": 150, "width": 13, "reduction": 0.3,
         "reduction_source": "plate tests of May 2024", "overlap": 1.5},
        {"name": "cloth", "code": "geotextile", "kind": "geotextile", "length": 300, "width": 12.5},
    ],
    "trucks": [{"name": "tandem", "use": "both", "payload": 14, "box": 12}],
    "soils": [{"soil": "clay", "swell": 1.35}],
    "rates": [
        {"code": "dig", "per_crew_hour": 12, "per_machine_hour": 15, "unit": "yd3"},
        {"code": "paver-lay", "per_crew_hour": 65, "unit": "sf"},
    ],
    "traffics": [
        {"name": "camper", "wheel_load": 5000, "tire_pressure": 65, "passes": 800, "rut": 2.5, "esal": 3000,
         "meaning": "a camper every week"},
    ],
    "terms": [{"line": "Half a day's notice, please."}],
    "prices": [
        {"code": code, "unit_price": price, "supplier": "Ridge Pit", "priced_on": date(2026, 3, 2)}
        for code, price in PRICES.items()
    ],
}  # fmt: skip


Change = Callable[[Workbook], None]


def setting(label: str, value: Any, unit: Any = ..., *, sure: Any = None) -> Change:
    """Return a change of a setting: its value, the unit beside it, the word under 'sure?'."""

    def change(book: Workbook) -> None:
        sheet = book["Company"]
        row, _ = find(sheet, label, 1)
        sheet.cell(row, 2).value = value
        if unit is not ...:
            sheet.cell(row, 3).value = unit
        if sure is not None:
            sheet.cell(row, find(sheet, "sure?")[1]).value = sure

    return change


def heading(text: str, other: str | None) -> Change:
    """Return a change of the first cell that holds this text."""

    def change(book: Workbook) -> None:
        cells = (cell for sheet in book.worksheets for row in sheet.iter_rows() for cell in row)
        next(cell for cell in cells if cell.value == text).value = other

    return change


def in_table(sheet: str, first: str, heading: str, value: Any, *, sure: Any = None) -> Change:
    """Return a change of a cell of a table: its row by what is first in it, its column by its heading."""

    def change(book: Workbook) -> None:
        found = book[sheet]
        row, _ = find(found, first, 1)
        top = max(at for at in range(1, row) if any(cell.value == heading for cell in found[at]))
        for cell in found[top]:
            if cell.value == heading:
                found.cell(row, cell.column).value = value
            if cell.value == "sure?" and sure is not None:
                found.cell(row, cell.column).value = sure

    return change


def edited(path: Path, into: Path, *changes: Change) -> Path:
    """Return a copy of a workbook after some changes, saved as a spreadsheet program saves it."""
    book = load_workbook(path)
    for change in changes:
        change(book)
    book.save(into)
    return into


def filled(folder: Path, name: str = "prices.xlsx", **tables: Any) -> Path:
    """Return a sound workbook in a folder; tables given replace those of `RECORDS`."""
    return write_price_workbook(folder / name, {**RECORDS, **tables})


def spoiled(folder: Path, change: Change, name: str = "spoiled.xlsx") -> Path:
    """Return a copy of the sound workbook after one change through openpyxl."""
    book = load_workbook(BytesIO(sound()))
    change(book)
    path = folder / name
    book.save(path)
    return path


@cache
def sound() -> bytes:
    """Return the bytes of the sound workbook."""
    with TemporaryDirectory() as folder:
        return filled(Path(folder)).read_bytes()


def parts(content: bytes) -> dict[str, bytes]:
    """Return what is in a workbook, part by part."""
    with zipfile.ZipFile(BytesIO(content)) as book:
        return {name: book.read(name) for name in book.namelist()}


def zipped(parts: dict[str, bytes]) -> bytes:
    """Return these parts as a file."""
    out = BytesIO()
    with zipfile.ZipFile(out, "w") as book:
        for name, content in parts.items():
            book.writestr(name, content)
    return out.getvalue()


def with_formula(folder: Path, formula: str, stored: str, kind: str = "") -> Path:
    """Return a sound workbook whose price of base stone is a formula with this value stored."""

    def change(book: Workbook) -> None:
        book["Prices"]["D11"] = f"={formula}"

    path = spoiled(folder, change)
    inside, name = parts(path.read_bytes()), "xl/worksheets/sheet2.xml"
    inside[name], count = re.subn(
        rb'<c r="D11"([^>]*)><f>[^<]*</f><v ?/?>(</v>)?</c>',
        rf'<c r="D11"\1{kind}><f>{formula}</f><v>{stored}</v></c>'.encode(),
        inside[name],
    )
    assert count == 1
    path.write_bytes(zipped(inside))
    return path


def find(sheet: Worksheet, text: str, column: int | None = None) -> tuple[int, int]:
    """Return row and column of the first cell that holds this text."""
    for row in sheet.iter_rows():
        for cell in row:
            if cell.value == text and (column is None or cell.column == column):
                return cell.row, cell.column
    raise LookupError(text)
