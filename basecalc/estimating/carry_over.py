"""An older workbook of the owner's becomes the records of a new one; what finds no place is listed, cell by cell.

Cells are taken as they stand, sound or not: whatever was wrong with the old workbook is still there to be named by
`basecalc check`, and nothing is lost on the way.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any, Final

from basecalc.company import Setting, settings
from basecalc.core.errors import BasecalcError, PriceError
from basecalc.core.numbers import brief, shown
from basecalc.core.units import to_unit
from basecalc.estimating.old_cells import Carrier, Note, sheet_with
from basecalc.estimating.old_remains import remains
from basecalc.estimating.other_edition import in_unit, records_in
from basecalc.pricing.price_tables import (
    COMPANY_SHEET,
    COMPANY_TABLES,
    PRICES,
    PRICES_SHEET,
    SETTING_COLUMNS,
    SETTINGS_TABLE,
)
from basecalc.pricing.prices import rows_end
from basecalc.tables.from_workbook import Grid, Sheet, find_grid, heading_row, open_book
from basecalc.tables.schema import Field, Table, shares_unit

SETTINGS: Final = "settings"
_UNITS: Final = ("us", "metric")


@dataclass(frozen=True, slots=True)
class CarriedOver:
    """What an older workbook gave: the records of a new one, the notes on its cells, and what found no place.

    Parameters
    ----------
    records
        As `basecalc.workbook.template.write_price_workbook` takes them.
    notes
        Notes of the owner's for cells of the new workbook.
    left_behind
        One sentence for each cell, or part of the workbook, that was not taken as it stands.
    """

    records: Mapping[str, Any]
    notes: tuple[Note, ...] = ()
    left_behind: tuple[str, ...] = field(default=())

    __repr__ = brief


def carry_over(old_path: str | Path, units: str = "") -> CarriedOver:
    """Return what an older price or estimating workbook holds, for a new one. The old file is only read.

    Parameters
    ----------
    old_path
        The old workbook (.xlsx or .xlsm).
    units
        'us' or 'metric', the edition of the new workbook; that of the old one where nothing is said.

    Raises
    ------
    WorkbookError
        No such file, no workbook, a damaged one.
    PriceError
        It has neither a sheet of the company nor one of prices.
    """
    opened = open_book(old_path)
    company = sheet_with(opened, COMPANY_SHEET, SETTINGS_TABLE)
    prices = sheet_with(opened, PRICES_SHEET, PRICES.name)
    if company is None and prices is None:
        raise PriceError("there is neither a sheet 'Company' nor a sheet 'Prices' to carry over", where=opened.file)
    carrier = Carrier()
    records: dict[str, Any] = {}
    if company is None:
        carrier.leave(opened.file, "there is no sheet 'Company'; the new workbook starts with the built-in one")
    else:
        records = _company(company, carrier)
    if prices is None:
        carrier.leave(opened.file, "there is no sheet 'Prices'; the new workbook has no unit prices yet")
    else:
        grid = _grid(prices, PRICES.name, PRICES.title, PRICES.fields, carrier)
        if grid:
            records[PRICES.key] = _rows(PRICES, grid, "us", carrier)
    remains(opened, (company, prices), carrier)
    moved = records_in(records, units) if units else records
    return CarriedOver(moved, tuple(carrier.notes), tuple(carrier.left_behind))


def _company(sheet: Sheet, carrier: Carrier) -> dict[str, Any]:
    found = {SETTINGS: _grid(sheet, SETTINGS_TABLE, "settings", SETTING_COLUMNS, carrier)}
    for table in COMPANY_TABLES:
        found[table.key] = _grid(sheet, table.name, table.title, table.fields, carrier)
    grids = {key: grid for key, grid in found.items() if grid}
    grids = {key: replace(grid, end=rows_end(grids, key)) for key, grid in grids.items()}
    records: dict[str, Any] = {SETTINGS: _settings(grids.get(SETTINGS), carrier)}
    if sure := _sure(grids.get(SETTINGS), carrier):
        records["sure"] = sure
    units = str(records[SETTINGS]["units"])
    for table in COMPANY_TABLES:
        if table.key in grids:
            records[table.key] = _rows(table, grids[table.key], units, carrier)
    return records


def _grid(sheet: Sheet, name: str, title: str, columns: tuple[Field, ...], carrier: Carrier) -> Grid | None:
    """Return where a table stands, with the columns it has; what it lacks is listed."""
    try:
        span = sheet.table_range(name)
        top = span[1] if span else heading_row(sheet, title, columns)
    except PriceError:
        carrier.leave(sheet.where(), f"there is no table of {title}; the new workbook has its own")
        return None
    labels = [sheet.heading(top, at)[0] for at in sheet.filled.get(top, [])]
    there = tuple(column for column in columns if column.name in labels)
    for column in columns:
        if column.name not in labels and not column.optional:
            carrier.leave(sheet.where(top), f"the table of {title} has no column {shown(column.name)}")
    while there:
        try:
            return find_grid(sheet, name, title, there)[0]
        except PriceError as doubled:  # a heading that stands twice: nobody can tell which is meant
            carrier.leave(doubled.where, doubled.sentence)
            there = tuple(column for column in there if shown(column.name) not in doubled.sentence)
    carrier.leave(sheet.where(), f"the table of {title} has none of its headings; the new workbook has its own")
    return None


def _settings(grid: Grid | None, carrier: Carrier) -> dict[str, Any]:
    """Return the settings by key; always with 'units', on which the units of all else hang."""
    if grid is None:
        return {"units": "us"}
    cells = _setting_rows(grid, carrier)
    units, made = "us", {}
    if "units" in cells:
        row, word = cells.pop("units")
        units = str(word).strip().casefold()
        if units not in _UNITS:
            carrier.leave(grid.where(row, "value"), f"{settings()['units'].label} is {shown(word)}; 'us' was taken")
            units = "us"
    for key, (row, value) in cells.items():
        try:
            setting, unit = settings()[key], _unit_beside(grid, row)
            made[key] = _setting(setting, value, shares_unit(unit) if setting.unit == "share" else unit, units)
        except BasecalcError as error:
            default = settings()[key].edge_default(units)
            instead = "the cell is blank now" if default is None else f"{shown(default)} stands there now"
            carrier.leave(grid.where(row, "value"), f"{error.sentence}; {instead}")
    return {**made, "units": units}


def _sure(grid: Grid | None, carrier: Carrier) -> tuple[str, ...]:
    """Return the keys of the settings whose unusual value the owner said is meant."""
    by_label = {setting.label.casefold(): key for key, setting in settings().items()}
    if grid is None or "sure" not in grid.columns:
        return ()
    meant = []
    for row in grid.rows():
        key = by_label.get(grid.word(row, "label"))
        word = carrier.value(grid, row, "sure") if key else None
        if key and settings()[key].unit == "share" and str(word).strip().casefold() == "yes":
            meant.append(key)
        elif word is not None:
            carrier.leave(grid.where(row, "sure"), f"{shown(word)} has no place in the new workbook")
    return tuple(meant)


def _setting_rows(grid: Grid, carrier: Carrier) -> dict[str, tuple[int, Any]]:
    """Return the row and the value of each setting."""
    by_label = {setting.label.casefold(): key for key, setting in settings().items()}
    groups = {setting.group.casefold() for setting in settings().values()}
    found: dict[str, tuple[int, Any]] = {}
    for row in grid.rows():
        label = _word(grid, row, "label")
        key = by_label.get(label, "")
        if label in groups:
            carrier.place(grid, row, "label")
            continue
        if not key or key in found:
            if label:
                carrier.place(grid, row, "label")
                told = "stands twice" if key else "is not a setting"
                carrier.leave(grid.where(row, "label"), f"{shown(label)} {told}; it has no place in the new workbook")
            continue  # the value beside it is listed with all that remains
        for name in grid.columns:
            carrier.place(grid, row, name, (SETTINGS, key, name))
        found[key] = (row, carrier.value(grid, row, "value") if "value" in grid.columns else None)
    return found


def _word(grid: Grid, row: int, name: str) -> str:
    return grid.word(row, name) if name in grid.columns else ""


def _unit_beside(grid: Grid, row: int) -> str:
    """Return the unit beside a setting as it is spelled; nothing where the cell has a fault of its own."""
    try:
        return str(grid.value(row, "unit") or "").strip() if "unit" in grid.columns else ""
    except PriceError:
        return ""


def _setting(setting: Setting, value: Any, unit: str, units: str) -> Any:
    """Return a setting in the unit of its edition; a `BasecalcError` where nobody can tell what number is meant."""
    numeric = setting.kind in ("number", "whole")
    if not numeric or value is None:
        return value
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        raise PriceError(f"{setting.label} is {shown(value)}; it must be a number")
    to = setting.edge_unit(units)
    if isinstance(value, str) and not _plain(value):
        return to_unit(setting.label, value, to)
    if to and not unit:
        raise PriceError(f"{setting.label} is {shown(value)} and has no unit beside it")
    return in_unit(float(value), unit, to) if to and unit != to else value


def _plain(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return True


def _rows(table: Table, grid: Grid, units: str, carrier: Carrier) -> list[dict[str, Any]]:
    """Return the rows of a table, every cell as it stands, numbers in the units of the edition."""
    rows: list[dict[str, Any]] = []
    for row in grid.rows():
        made: dict[str, Any] = {}
        for column in table.fields:
            if column.key in grid.columns:
                carrier.place(grid, row, column.key, (table.key, len(rows), column.key))
                value = carrier.value(grid, row, column.key, dated=column.format == "date")
                made[column.key] = _in_column(value, column, grid, row, units, carrier)
        if any(value is not None for value in made.values()):
            rows.append(made)
    return rows


def _in_column(value: Any, column: Field, grid: Grid, row: int, units: str, carrier: Carrier) -> Any:
    plain = (isinstance(value, int | float) and not isinstance(value, bool)) or (
        isinstance(value, str) and _plain(value)
    )
    unit, to = grid.units.get(column.key, ""), column.unit(units)
    if not column.unit("us") or not plain or unit == to:
        return value
    try:
        return in_unit(float(value), unit, to)
    except BasecalcError:
        heading = grid.where(grid.heading_row, column.key).rsplit(" ", 1)[-1]
        told = f"is in {shown(unit)}" if unit else "names no unit"
        carrier.leave(grid.where(row, column.key), f"{column.name} is {shown(value)}, but its heading {heading} {told}")
        return None
