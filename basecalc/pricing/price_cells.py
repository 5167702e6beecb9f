"""The owner's workbook as cells that know where they stand; it is read, never written, never held open."""

import re
import warnings
from collections.abc import Iterator
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path
from typing import Any, Final

from openpyxl import load_workbook
from openpyxl.cell.cell import Cell
from openpyxl.utils import get_column_letter, range_boundaries
from openpyxl.workbook import Workbook
from openpyxl.worksheet.worksheet import Worksheet

from basecalc.checks import shown
from basecalc.company import shares_unit, sheet_unit
from basecalc.errors import BasecalcError, InputError, PriceError, WorkbookError
from basecalc.pricing.workbook_bytes import BROKEN, DAMAGED, workbook_bytes
from basecalc.units import convert

_ONE_CELL: Final = re.compile(r"\$?[A-Z]{1,3}\$?\d+$")
_DOLLARS: Final = frozenset({"$", "usd", "us$", "dollars"})
_HEADING: Final = re.compile(r"(?P<label>[^\[(]*)(?:[\[(](?P<unit>[^\])]*)[\])])?\s*$")
LAST_ROW: Final = 1_048_576  # of any sheet of any spreadsheet program


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a table of the owner's: its field, what its heading says, its unit in either edition.

    Parameters
    ----------
    field
        Name of the field that the column fills.
    label
        The heading without its unit.
    help
        What to write, for the note on the heading.
    unit, metric
        Unit in the US and in the metric edition; nothing where it has none.
    format
        How the template formats it, a key of the number formats of the workbooks.
    choices
        Words offered in a drop-down, or the key of such a list.
    optional
        Whether an older workbook may lack it.
    """

    field: str
    label: str
    help: str = ""
    unit: str = ""
    metric: str = ""
    format: str = "general"
    choices: tuple[str, ...] | str = ()
    optional: bool = False

    def edge_unit(self, units: str) -> str:
        """Return the unit of the 'us' or the 'metric' edition."""
        return self.metric if units == "metric" and self.metric else self.unit

    def heading(self, units: str) -> str:
        """Return the heading with its unit in brackets."""
        unit = sheet_unit(self.edge_unit(units))
        return f"{self.label} [{unit}]" if unit else self.label


class Sheet:
    """One sheet, as formulas and as values, that hands out cells or says what is wrong with them."""

    def __init__(self, file: str, formulas: Worksheet, values: Worksheet) -> None:
        self.file, self.name = file, formulas.title
        self._formulas, self._values = formulas, values
        self.filled: dict[int, list[int]] = {}
        # Only cells that are there: a sheet formatted to its last row would be a million empty ones.
        for (row, column), cell in sorted(formulas._cells.items()):
            if cell.value is not None and str(cell.value).strip():
                self.filled.setdefault(row, []).append(column)

    def where(self, row: int = 0, column: int = 0) -> str:
        """Return the place as a complaint names it."""
        cell = f", cell {get_column_letter(column)}{row}" if row and column else (f", row {row}" if row else "")
        return f"{self.file}, sheet {self.name}{cell}"

    def value(self, row: int, column: int) -> Any:
        """Return what the cell shows.

        Raises
        ------
        PriceError
            A formula that was never calculated, or an error such as #REF!.
        """
        written, kept = self._formulas.cell(row, column), self._values.cell(row, column)
        if kept.data_type == "e":
            source = f" (its formula is {shown(written.value)})" if written.data_type == "f" else ""
            raise PriceError(
                f"the cell shows {kept.value}{source}; it must hold a value", where=self.where(row, column)
            )
        if written.data_type == "f" and kept.value is None:
            text = getattr(written.value, "text", written.value)
            raise PriceError(
                f"the formula {shown(text)} was never calculated, so it has no value; open the file in a spreadsheet "
                "program, let it calculate and save it",
                where=self.where(row, column),
            )
        return kept.value if str(kept.value or 0).strip() else None

    def written(self) -> list[Cell]:
        """Return every cell that is there, by row and column, as it was typed: its formula, its note, its look."""
        return [cell for _, cell in sorted(self._formulas._cells.items()) if isinstance(cell, Cell)]

    def heading(self, row: int, column: int) -> tuple[str, str]:
        """Return the label of a heading, in lower case, and the unit in its brackets."""
        text = self._formulas.cell(row, column).value
        match = _HEADING.match(" ".join(text.split())) if isinstance(text, str) else None
        return (match["label"].strip().casefold(), (match["unit"] or "").strip()) if match else ("", "")

    def table_range(self, name: str) -> tuple[int, int, int, int] | None:
        """Return first column, first row, last column, last row of the table with this name, if there is one."""
        for table in self._formulas.tables.values():
            if str(table.displayName).casefold() == name.casefold():
                first_column, first_row, last_column, last_row = range_boundaries(table.ref)
                return int(first_column or 1), int(first_row or 1), int(last_column or 1), int(last_row or 1)
        return None


class Book:
    """An opened workbook; everything was read, nothing is held open."""

    def __init__(self, file: str, formulas: Workbook, values: Workbook) -> None:
        self.file = file
        self._formulas, self._values = formulas, values

    def sheets(self) -> list[Sheet]:
        """Return every sheet, in the order of the file."""
        return [Sheet(self.file, sheet, self._values[sheet.title]) for sheet in self._formulas.worksheets]

    def sheet(self, name: str) -> Sheet:
        """Return the sheet with this name, whatever its case.

        Raises
        ------
        PriceError
            There is none.
        """
        for sheet in self._formulas.worksheets:
            if sheet.title.strip().casefold() == name.casefold():
                return Sheet(self.file, sheet, self._values[sheet.title])
        have = ", ".join(self._formulas.sheetnames) or "none"
        raise PriceError(f"there is no sheet {shown(name)}; its sheets are: {have}", where=self.file)

    def named(self) -> dict[str, tuple[str, str]]:
        """Return sheet and cell of each name of the workbook that stands for a single cell."""
        places = {}
        for name, made in self._formulas.defined_names.items():
            on, _, cell = str(made.attr_text).rpartition("!")
            title = on.strip("'").replace("''", "'")
            if _ONE_CELL.match(cell) and title in self._formulas.sheetnames:
                places[name] = (title, cell.replace("$", ""))
        return places

    def stored(self, sheet: str, cell: str) -> Any:
        """Return the value last stored in a cell; None where it has none."""
        return self._values[sheet][cell].value


def open_book(path: str | Path) -> Book:
    """Return the workbook at this path, read whole; the file is closed again before this returns.

    Raises
    ------
    WorkbookError
        As `basecalc.pricing.workbook_bytes.workbook_bytes`, or a damaged one.
    """
    file = str(path)
    content = workbook_bytes(path)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # openpyxl warns of parts it does not keep; nothing is written back
            books = [load_workbook(BytesIO(content), data_only=values) for values in (False, True)]
    except BROKEN:
        raise WorkbookError(DAMAGED, where=file) from None
    for sheet in books[0].worksheets:
        last = max((row for row, _ in sheet._cells), default=1)
        if last > LAST_ROW:
            raise WorkbookError(
                f"the sheet {shown(sheet.title)} has a cell in row {last:,}; a sheet ends at row {LAST_ROW:,}. Delete "
                "it and save it again",
                where=file,
            )
    return Book(file, *books)


@dataclass(frozen=True, slots=True)
class Grid:
    """A table found on a sheet: where each field stands and in which unit; its rows end before `end`, if anywhere."""

    sheet: Sheet
    title: str
    heading_row: int
    columns: dict[str, int]
    units: dict[str, str]
    end: int | None = None

    def rows(self) -> Iterator[int]:
        """Yield the rows below the heading that hold something, also below the end of the table."""
        for row in sorted(self.sheet.filled):
            below = row > self.heading_row and (self.end is None or row < self.end)
            if below and set(self.sheet.filled[row]) & set(self.columns.values()):
                yield row

    def value(self, row: int, field: str) -> Any:
        """Return what a field's cell shows; a `PriceError` where it shows nothing sensible."""
        return self.sheet.value(row, self.columns[field])

    def word(self, row: int, field: str) -> str:
        """Return a field's cell as a word to compare by; nothing where the cell has a fault of its own."""
        try:
            return " ".join(str(self.value(row, field) or "").split()).casefold()
        except PriceError:
            return ""

    def fault(self, row: int, field: str, sentence: str) -> PriceError:
        """Return a complaint about a field of a row."""
        return PriceError(sentence, where=self.where(row, field))

    def where(self, row: int, field: str | None = None) -> str:
        """Return the place of a field in a row; of the row's first field where none is named."""
        return self.sheet.where(row, self.columns.get(field or "", min(self.columns.values())))


def find_grid(sheet: Sheet, table: str, title: str, columns: tuple[Column, ...]) -> tuple[Grid, list[BasecalcError]]:
    """Return where the columns of a table stand, found by their headings, with what is wrong with those.

    The table is looked for by its name, then by its headings anywhere on the sheet: columns may have been moved, others
    added, and the table may have lost its name in another program.

    Raises
    ------
    PriceError
        There is no such table, or it lacks a column.
    """
    span = sheet.table_range(table)
    inside = range(span[0], span[2] + 1) if span else range(0)
    row = span[1] if span else heading_row(sheet, title, columns)
    found: dict[str, int] = {}
    units: dict[str, str] = {}
    wrong: list[BasecalcError] = []
    for column in columns:
        hits = [at for at in sheet.filled.get(row, []) if sheet.heading(row, at)[0] == column.label]
        if column.format != "money":  # of two prices nobody can tell which is meant, wherever the table ends
            hits = [at for at in hits if at in inside] or hits
        if not hits and column.optional:
            continue
        if not hits:
            raise PriceError(
                f"the table of {title} has no column {shown(column.label)} in its heading row {row}",
                where=sheet.where(),
            )
        if len(hits) > 1:
            raise PriceError(
                f"the heading {shown(column.label)} stands twice in row {row}", where=sheet.where(row, hits[1])
            )
        found[column.field] = hits[0]
        if column.unit:
            unit = sheet.heading(row, hits[0])[1]
            units[column.field] = shares_unit(unit) if column.unit == "share" else unit
            wrong += _unit_faults(sheet, row, hits[0], column, units[column.field])
        elif column.format not in ("general", "text", "date"):
            beside = sheet.heading(row, hits[0])[1]
            if beside and not (column.format == "money" and beside.casefold() in _DOLLARS):
                takes = "prices are in $" if column.format == "money" else "it has none"
                sentence = f"the heading {shown(column.label)} names a unit, {shown(beside)}; {takes}: take it out"
                wrong.append(PriceError(sentence, where=sheet.where(row, hits[0])))
    return Grid(sheet, title, row, found, units), wrong


def _unit_faults(sheet: Sheet, row: int, at: int, column: Column, unit: str) -> list[BasecalcError]:
    offered = " or ".join(dict.fromkeys(f"[{sheet_unit(one)}]" for one in (column.unit, column.metric) if one))
    place = sheet.where(row, at)
    if not unit:
        return [PriceError(f"the heading {shown(column.label)} names no unit; write it behind, {offered}", where=place)]
    try:
        if column.unit == "share" and unit != "share":
            raise InputError("a share has one unit")
        convert(1.0, unit, column.unit)
    except BasecalcError:
        return [PriceError(f"the unit of {column.label} is {shown(unit)}; it must be {offered}", where=place)]
    return []


def heading_row(sheet: Sheet, title: str, columns: tuple[Column, ...]) -> int:
    """Return the row with most of a table's headings; a `PriceError` where none has half of them."""
    wanted = {column.label for column in columns if not column.optional}
    best, most = 0, 0
    for row in sorted(sheet.filled):
        hits = len(wanted & {sheet.heading(row, at)[0] for at in sheet.filled[row]})
        if hits > most:
            best, most = row, hits
    if most * 2 <= len(wanted) and most < len(wanted):
        names = ", ".join(column.label for column in columns)
        raise PriceError(f"there is no table of {title}; its headings are: {names}", where=sheet.where())
    return best
