"""The cells of an older workbook on their way into a new one: which were placed, what hangs on them, what is left."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date
from typing import Any, Final

from openpyxl.cell.cell import Cell
from openpyxl.workbook import Workbook
from openpyxl.worksheet.worksheet import Worksheet

from basecalc.company import settings
from basecalc.core.errors import PriceError
from basecalc.core.numbers import shown
from basecalc.pricing.price_tables import COMPANY_TABLES, PRICES, SETTING_COLUMNS, SETTINGS_TABLE
from basecalc.tables.from_workbook import Book, Grid, Sheet, find_grid
from basecalc.tables.schema import Field
from basecalc.workbook.template_table import note

Target = tuple[str, int | str, str]
_TABLES: Final[dict[str, tuple[str, str, tuple[Field, ...]]]] = {
    "settings": (SETTINGS_TABLE, "settings", SETTING_COLUMNS),
    **{table.key: (table.name, table.title, table.fields) for table in (*COMPANY_TABLES, PRICES)},
}


@dataclass(frozen=True, slots=True)
class Note:
    """A note for a cell of the new workbook."""

    table: str
    row: int | str
    field: str
    text: str
    author: str


@dataclass(slots=True)
class Carrier:
    """Takes cells out of the old workbook and keeps book: what was placed, and what must be listed."""

    placed: set[tuple[str, int, int]] = field(default_factory=set)
    targets: dict[tuple[str, int, int], Target] = field(default_factory=dict)
    notes: list[Note] = field(default_factory=list)
    seen: dict[str, dict[tuple[int, int], Cell]] = field(default_factory=dict)
    left_behind: list[str] = field(default_factory=list)

    def cells(self, sheet: Sheet) -> dict[tuple[int, int], Cell]:
        """Return the cells of a sheet as they were typed, by row and column."""
        if sheet.name not in self.seen:
            self.seen[sheet.name] = {(cell.row, cell.column): cell for cell in sheet.written()}
        return self.seen[sheet.name]

    def leave(self, where: str, sentence: str) -> None:
        """List something that was not taken as it stands."""
        self.left_behind.append(f"{where}: {sentence}" if where else sentence)

    def place(self, grid: Grid, row: int, name: str, target: Target | None = None) -> None:
        """Tick a cell off, and remember where it goes."""
        at = (grid.sheet.name, row, grid.columns[name])
        self.placed.add(at)
        if target:
            self.targets[at] = target

    def value(self, grid: Grid, row: int, name: str, *, dated: bool = False) -> Any:
        """Return what a cell shows; an error, a formula, or a date where none belongs (`dated`) is listed."""
        try:
            value = grid.value(row, name)
        except PriceError as error:
            self.leave(error.where, error.sentence)
            return None
        typed = self.cells(grid.sheet)[row, grid.columns[name]] if value is not None else None
        if typed is not None and typed.data_type == "f":
            formula = getattr(typed.value, "text", typed.value)
            self.leave(
                grid.where(row, name), f"the formula {shown(formula)} is carried over as its value, {shown(value)}"
            )
        if value is None or isinstance(value, str | bool | int | float) or (dated and isinstance(value, date)):
            return value
        plain = str(value).removesuffix(" 00:00:00")
        self.leave(grid.where(row, name), f"{plain} is carried over as text")
        return plain


def sheet_with(opened: Book, name: str, table: str) -> Sheet | None:
    """Return the sheet with this name, or else the one that holds this table; None where there is neither."""
    sheets = opened.sheets()
    named = [sheet for sheet in sheets if sheet.name.strip().casefold() == name.casefold()]
    return next(iter(named + [sheet for sheet in sheets if sheet.table_range(table)]), None)


def hang_notes(book: Workbook, notes: Iterable[Note]) -> None:
    """Hang the owner's notes on the cells of a new workbook that carry the same thing."""
    grids: dict[str, Grid] = {}
    for one in notes:
        if one.table not in grids:
            grids[one.table] = _new_grid(book, *_TABLES[one.table])
        grid = grids[one.table]
        row = _setting_row(grid, str(one.row)) if one.table == "settings" else grid.heading_row + 1 + int(one.row)
        sheet: Worksheet = book[grid.sheet.name]
        column = grid.columns[one.field]
        note(sheet, row, column, one.text)
        remark = sheet.cell(row, column).comment
        if remark is not None:
            remark.author = one.author


def _new_grid(book: Workbook, name: str, title: str, columns: tuple[Field, ...]) -> Grid:
    sheets = [Sheet("", sheet, sheet) for sheet in book.worksheets]
    return find_grid(next(sheet for sheet in sheets if sheet.table_range(name)), name, title, columns)[0]


def _setting_row(grid: Grid, key: str) -> int:
    label = settings()[key].label.casefold()
    return next(row for row in grid.rows() if grid.word(row, "label") == label)
