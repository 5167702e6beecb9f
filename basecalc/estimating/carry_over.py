"""What an owner's older workbook carries over into a new one: settings, prices, materials, work rates, notes on cells."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Any

from openpyxl.workbook import Workbook

from basecalc.company import COMPANY_SHEET, COMPANY_TABLES, SETTING_ROWS, settings, settings_by_name
from basecalc.core.errors import BasecalcError, PriceError
from basecalc.core.units import convert
from basecalc.pricing.prices import PRICES, PRICES_SHEET
from basecalc.tables.from_workbook import Grid, Sheet, find_grid, open_book
from basecalc.tables.schema import Table, shares_unit
from basecalc.workbook.starter import edition
from basecalc.workbook.template_table import note

Records = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Note:
    """A note of the owner's: the table, the word in its first column, the field it hangs on, the text."""

    table: str
    word: str
    field: str
    text: str
    author: str


@dataclass(frozen=True, slots=True)
class CarriedOver:
    """What an older workbook gives to a new one.

    Parameters
    ----------
    records
        Settings, tables and prices, as `write_template` takes them.
    notes
        The owner's notes on their cells.
    """

    records: Records
    notes: tuple[Note, ...] = field(default=())


def carry_over(old_path: str | Path, units: str = "") -> CarriedOver:
    """Return the company, materials, prices and notes of an older workbook. The file is only read.

    Parameters
    ----------
    old_path
        A workbook with the sheets Company and Prices; what is still blank in it stays blank.
    units
        ``us`` or ``metric`` for the units of the records; by default those of the old workbook.

    Raises
    ------
    WorkbookError
        There is no such file, or it cannot be read.
    PriceError
        A sheet or a table is missing, or a cell shows an error; the message names it.
    """
    opened = open_book(old_path)
    company, prices = opened.sheet(COMPANY_SHEET), opened.sheet(PRICES_SHEET)
    notes: list[Note] = []
    rows, _ = find_grid(company, SETTING_ROWS)
    grids = {table.key: find_grid(company, table)[0] for table in COMPANY_TABLES}
    records = _settings(rows, notes)
    have = edition(records)
    ends = sorted(grid.heading_row for grid in grids.values())
    for table in COMPANY_TABLES:
        grid = grids[table.key]
        end = next((row - 2 for row in ends if row > grid.heading_row), None)
        records[table.key] = _rows(table, grid, have, end, notes)
    records[PRICES.key] = _rows(PRICES, find_grid(prices, PRICES)[0], have, None, notes)
    return CarriedOver(in_edition(records, have, units or have), tuple(notes))


def _settings(grid: Grid, notes: list[Note]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    cells: dict[str, tuple[Any, str]] = {}
    sure = []
    for row in grid.rows():
        setting = settings_by_name().get(grid.word(row, "label"))
        if setting is None or setting.key in cells:
            continue
        key = setting.key
        cells[key] = (grid.value(row, "value"), str(grid.value(row, "unit") or "").strip())
        if "sure" in grid.columns and grid.word(row, "sure") == "yes":
            sure.append(key)
        _note(grid, row, "settings", setting.label.casefold(), notes)
    units = "metric" if str(cells.get("units", ("us", ""))[0]).strip().casefold() == "metric" else "us"
    for key, (value, unit) in cells.items():
        setting = settings()[key]
        own = setting.unit(units)
        if own and unit and shares_unit(unit) != shares_unit(own):
            found[key] = _turned(value, unit, own)
        elif value is not None or setting.default is not None:
            found[key] = setting.edge_default(units) if value is None else value
    return {"settings": found | {"units": units}, **({"sure": tuple(sure)} if sure else {})}


def _rows(table: Table, grid: Grid, units: str, end: int | None, notes: list[Note]) -> list[dict[str, Any]]:
    found = []
    for row in grid.rows():
        if end is not None and row >= end:
            break
        values = {}
        for column in table.fields:
            if column.key in grid.columns:
                value = grid.value(row, column.key)
                unit, own = grid.units.get(column.key, ""), column.unit(units)
                value = _turned(value, unit, own) if unit and own and unit != shares_unit(own) else value
                values[column.key] = value.date() if isinstance(value, datetime) and column.format == "date" else value
        if any(value is not None for value in values.values()):
            found.append(values)
            _note(grid, row, table.key, grid.word(row, table.fields[0].key), notes)
    return found


def _note(grid: Grid, row: int, table: str, word: str, notes: list[Note]) -> None:
    for name, column in grid.columns.items():
        remark = grid.sheet.comment(row, column)
        if remark is not None:
            notes.append(Note(table, word, name, remark.text, remark.author or "basecalc"))


def in_edition(records: Records, have: str, want: str) -> dict[str, Any]:
    """Return the records of an owner in the units of another edition; prices stay for the units they are for."""
    if have == want:
        return {**records, "settings": {**records.get("settings", {}), "units": want}}
    made: dict[str, Any] = dict(records)
    held = dict(records.get("settings", {}))
    for key, setting in settings().items():
        value = held.get(key, setting.edge_default(have))
        if setting.unit(have) and value is not None:
            held[key] = _turned(value, setting.unit(have), setting.unit(want))
    made["settings"] = held | {"units": want}
    for table in COMPANY_TABLES:
        if table.key in records:
            units = {column.key: (column.unit(have), column.unit(want)) for column in table.fields}
            made[table.key] = [
                {key: _turned(value, *units.get(key, ("", ""))) for key, value in row.items()}
                for row in records[table.key]
            ]
    return made


def _turned(value: Any, have: str, want: str) -> Any:
    """Return a plain number in another unit; anything else as it is."""
    if (
        isinstance(value, bool)
        or not isinstance(value, int | float)
        or have == want
        or not have
        or shares_unit(have) == "share"
    ):
        return value
    try:
        return float(f"{convert(float(value), have, want):.12g}")
    except BasecalcError:
        return value


def hang_notes(book: Workbook, notes: Iterable[Note]) -> None:
    """Hang the owner's notes on the cells of a new workbook that carry the same thing."""
    tables = {table.key: table for table in (SETTING_ROWS, *COMPANY_TABLES, PRICES)}
    for one in notes:
        sheet = book[PRICES_SHEET if one.table == PRICES.key else COMPANY_SHEET]
        grid = find_grid(Sheet("", sheet, sheet), tables[one.table])[0]
        first = next(iter(grid.columns))
        row = next((row for row in grid.rows() if grid.word(row, first) == one.word), None)
        if row is None or one.field not in grid.columns:
            raise PriceError(f"the note on {one.word!r} has no place in the new workbook")
        note(sheet, row, grid.columns[one.field], one.text)
        remark = sheet.cell(row, grid.columns[one.field]).comment
        if remark is not None:
            remark.author = one.author
