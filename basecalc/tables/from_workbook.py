"""The bytes of a workbook, taken whole and looked at before anything in them is unpacked or trusted.

The owner's workbook as cells that know where they stand; it is read, never written, never held open.
"""

import posixpath
import re
import warnings
import zipfile
import zlib
from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from io import BytesIO
from os.path import lexists
from pathlib import Path
from typing import Any, Final
from xml.parsers import expat

from openpyxl import load_workbook
from openpyxl.utils import range_boundaries
from openpyxl.workbook import Workbook
from openpyxl.worksheet.worksheet import Worksheet

from basecalc.core.errors import BasecalcError, InputError, Place, PriceError, WorkbookError
from basecalc.core.files import whole_file
from basecalc.core.numbers import quoted
from basecalc.core.units import convert
from basecalc.tables.schema import SHARE, Field, Table, heading_parts, shares_unit, sheet_unit

MEGABYTE: Final = 1_000_000
MOST_BYTES: Final = 30 * MEGABYTE  # of the file as it lies on the disk
LARGEST_PART: Final = 20 * MEGABYTE  # some 200,000 cells; a filled workbook of ours has 10,000
MOST_UNPACKED: Final = 60 * MEGABYTE  # all parts together, pictures too
MOST_PARTS: Final = 5_000
# What is counted, how much of it can be read within a minute and a gigabyte, and what to do where there is more.
_CELLS, _ROWS, _VALUES, _TEXTS, _MERGED, _LINKED = "cells", "rows", "values", "texts", "merged", "linked"
_PLACES, _RULES, _STYLES, _OTHERS, _COPIED = "places", "rules", "styles", "others", "copied"
_BEYOND: Final = "Delete the empty rows and columns beyond the tables, and save it again"
MOST: Final[Mapping[str, tuple[int, str, str]]] = {
    _CELLS: (200_000, "the file has more than {:,} cells", _BEYOND),
    _ROWS: (200_000, "the file has more than {:,} rows", _BEYOND),
    _VALUES: (400_000, "the file has more than {:,} values and formulas", _BEYOND),
    _TEXTS: (400_000, "the file has more than {:,} texts", _BEYOND),
    _MERGED: (100_000, "more than {:,} cells are merged into one", "Undo that and save it again"),
    _LINKED: (100_000, "more than {:,} cells are under one link", "Undo that and save it again"),
    _PLACES: (5_000, "the file has more than {:,} merges and links", "Undo those beyond the tables, and save it again"),
    _RULES: (
        10_000,
        "the file has more than {:,} drop-downs and rules",
        "Clear those beyond the tables, and save it again",
    ),
    _STYLES: (100_000, "its styles have more than {:,} entries", "Copy the tables into a new workbook"),
    _COPIED: (5_000_000, "its copied formulas have more than {:,} letters", _BEYOND),
    _OTHERS: (
        200_000,
        "the file has more than {:,} drawings, notes and the like",
        "Copy the tables into a new workbook",
    ),
}
DAMAGED: Final = "the file is damaged or is not a workbook; it must be an .xlsx saved by a spreadsheet program"
_ORDINARY: Final = "save it as an ordinary .xlsx"
_OLD_FORMAT: Final = b"\xd0\xcf\x11\xe0"  # compound file: an .xls, or a workbook behind a password
_STRICT: Final = "http://purl.oclc.org/ooxml/"
_ENCRYPTED: Final = 0x1
BROKEN: Final = (
    zipfile.BadZipFile, zlib.error, LookupError, ValueError, TypeError, AttributeError, OSError, EOFError, SyntaxError,
    NotImplementedError, RuntimeError, ArithmeticError,
)  # fmt: skip  # everything openpyxl and zipfile were seen to raise on damaged files; XML errors are SyntaxError


def workbook_bytes(path: str | Path) -> bytes:
    """Return the content of a workbook, sound enough to be unpacked; the file is closed again before this returns."""
    content, _ = _looked_at(path)
    return content


def sheet_names(path: str | Path) -> tuple[str, ...]:
    """Return the names of the sheets of a workbook; none where it cannot be read."""
    try:
        return _looked_at(path)[1]
    except WorkbookError:
        return ()


def lock_of(path: str | Path) -> Path | None:
    """Return the lock file that a spreadsheet program keeps beside a workbook it has open; None where there is none."""
    file = Path(path)
    names = (f"~${file.name}", f"~${file.name[2:]}", f".~lock.{file.name}#")
    return next((file.parent / name for name in names if lexists(file.parent / name)), None)


def _looked_at(path: str | Path) -> tuple[bytes, tuple[str, ...]]:
    """Return the content of a workbook and the names of its sheets."""
    file = str(path)
    content = whole_file(path, "an .xlsx workbook", "", MOST_BYTES)
    if not content:
        raise WorkbookError("the file is empty (0 bytes); it must be an .xlsx workbook", where=Place(file))
    if content.startswith(_OLD_FORMAT):
        raise WorkbookError(
            "this is an old .xls workbook or one behind a password; save it as .xlsx without a password",
            where=Place(file),
        )
    if not content.startswith(b"PK"):
        raise WorkbookError("not a workbook, whatever its name says; it must be an .xlsx workbook", where=Place(file))
    names, refusal = _names(content, file)
    if refusal is not None:
        raise refusal
    return content, names


@lru_cache(maxsize=4)  # a command asks several times about the same file, which is read each time
def _names(content: bytes, file: str) -> tuple[tuple[str, ...], WorkbookError | None]:
    """Return the names of the sheets of a workbook, or why it is not sound enough to be unpacked."""
    try:
        with zipfile.ZipFile(BytesIO(content)) as parts:
            _require_small(parts, file)
            return _require_few(parts, file), None
    except WorkbookError as refusal:
        return (), refusal
    except BROKEN:
        return (), WorkbookError(DAMAGED, where=Place(file))


def _require_small(parts: zipfile.ZipFile, file: str) -> None:
    """Refuse by the list of parts alone; what a part unpacks to is never more than it says there."""
    listed = parts.infolist()
    if len(listed) > MOST_PARTS:
        raise WorkbookError(
            f"the file holds {len(listed):,} parts; it must be an .xlsx workbook of at most {MOST_PARTS:,}",
            where=Place(file),
        )
    twice = [name for name, count in Counter(part.filename.casefold() for part in listed).items() if count > 1]
    if twice:
        raise WorkbookError(
            f"the file holds its part {twice[0]} more than once; open it in a spreadsheet program and {_ORDINARY}",
            where=Place(file),
        )
    for part in listed:
        if part.flag_bits & _ENCRYPTED:
            raise WorkbookError(f"the file is encrypted; {_ORDINARY} without a password", where=Place(file))
        if part.file_size > LARGEST_PART:
            raise WorkbookError(
                f"its part {part.filename} unpacks to {part.file_size / MEGABYTE:,.0f} MB; at most "
                f"{LARGEST_PART / MEGABYTE:.0f} MB can be read. {_BEYOND}",
                where=Place(file),
            )
    unpacked = sum(part.file_size for part in listed)
    if unpacked > MOST_UNPACKED:
        raise WorkbookError(
            f"the file unpacks to {unpacked / MEGABYTE:,.0f} MB; at most {MOST_UNPACKED / MEGABYTE:.0f} MB can be "
            f"read. {_BEYOND}",
            where=Place(file),
        )


def _require_few(parts: zipfile.ZipFile, file: str) -> tuple[str, ...]:
    """Return the names of the sheets, after everything in all parts was counted as often as it will be read."""
    counts = {name: _Count(parts.read(name)) for name in parts.namelist()}
    if any(one.strict for one in counts.values()):
        raise WorkbookError(
            f"this is a Strict Open XML workbook, which cannot be read; {_ORDINARY} (Excel Workbook)", where=Place(file)
        )
    named = {target for name, one in counts.items() for target, _ in _relations(name, one, counts)}
    reached: dict[str, Counter[str] | None] = {}
    total: Counter[str] = Counter()
    for name in sorted(counts, key=named.__contains__):  # what no relation names is read once, if at all
        if name not in reached:
            total += _reached(name, counts, reached)
    for kind, (most, words, remedy) in MOST.items():
        if total[kind] > most:
            raise WorkbookError(f"{words.format(most)}; at most {most:,} can be read. {remedy}", where=Place(file))
    return tuple(name for one in counts.values() for name in one.sheets)


def _relations(name: str, part: "_Count", counts: "Mapping[str, _Count]") -> Iterator[tuple[str, int]]:
    """Yield each part that a part names, and how often it does."""
    folder, own = posixpath.split(name)
    rels = counts.get(posixpath.join(folder, "_rels", f"{own}.rels"))
    for key, target in rels.relations if rels else ():
        inside = target[1:] if target.startswith("/") else posixpath.normpath(posixpath.join(folder, target))
        if inside in counts:
            yield inside, max(1, part.uses[key])


def _reached(name: str, counts: "Mapping[str, _Count]", done: dict[str, Counter[str] | None]) -> Counter[str]:
    """Return what is read with a part: its own things and those of every part it names, as often as it names it."""
    if name not in done:
        done[name] = None
        total = counts[name].found.copy()
        for target, times in _relations(name, counts[name], counts):
            total.update({kind: times * number for kind, number in _reached(target, counts, done).items()})
        done[name] = total
    known = done[name]
    if known is None:
        raise ValueError("a part that names itself in the end")
    return known


_KINDS: Final = {
    "c": _CELLS, "row": _ROWS, "v": _VALUES, "f": _VALUES, "si": _TEXTS, "is": _TEXTS, "t": _TEXTS,
    "dataValidation": _RULES, "conditionalFormatting": _RULES, "cfRule": _RULES, "mergeCell": _PLACES,
    "hyperlink": _PLACES,
}  # fmt: skip
_SPREAD: Final = {"mergeCell": _MERGED, "hyperlink": _LINKED}


class _Enough(Exception):  # noqa: N818  # no error: the count goes no further
    """A part alone has more of something than the whole file may have."""


class _Count:
    """What one part holds, counted as it is parsed; what is no XML holds nothing.

    ``found`` is the number of each kind, ``relations`` the key and target of each relation inside the file, ``uses``
    how often each key is used, ``sheets`` the names of the sheets, ``strict`` whether it is of the strict kind.
    """

    def __init__(self, content: bytes) -> None:
        self.found: Counter[str] = Counter()
        self.uses: Counter[str] = Counter()
        self.relations: list[tuple[str, str]] = []
        self.sheets: list[str] = []
        self.strict = False
        self._root = ""
        self._shared: dict[str, int] = {}
        self._formula: list[str] = []
        self._parser = expat.ParserCreate(namespace_separator=" ")
        self._parser.StartElementHandler = self._start
        self._parser.EntityDeclHandler = _refuse_entity
        try:
            self._parser.Parse(content, True)
        except (expat.ExpatError, _Enough):
            return  # a picture, or damaged from here on: no reader comes further than this

    def _start(self, tag: str, attributes: dict[str, str]) -> None:
        space, _, name = tag.rpartition(" ")
        if not self._root:
            self._root = name
            self.strict = name == "workbook" and space.startswith(_STRICT)
        kind = _STYLES if self._root == "styleSheet" else _KINDS.get(name, _OTHERS)
        count = self.found[kind] = self.found[kind] + 1
        if count > MOST[kind][0]:
            raise _Enough
        if name in ("c", "row", "v"):
            return
        for key, value in attributes.items():
            if key.endswith("relationships id"):
                self.uses[value] += 1
            elif key == "sqref":
                self.found[_RULES] += value.count(" ")
        if name == "f":
            self._copied(attributes)
        elif name in _SPREAD:
            self.found[_SPREAD[name]] += _cells(attributes.get("ref", ""))
        elif name == "sheet" and self._root == "workbook":
            self.sheets.append(attributes.get("name", ""))
        elif name == "Relationship" and attributes.get("TargetMode") != "External":
            self.relations.append((attributes.get("Id", ""), attributes.get("Target", "")))

    def _copied(self, attributes: Mapping[str, str]) -> None:
        """Count the letters of a formula that is copied from another cell: they are gone through for each copy."""
        if attributes.get("t") != "shared":
            return
        key = attributes.get("si", "")
        self.found[_COPIED] += self._shared.get(key, 0)
        self._formula = []
        self._parser.CharacterDataHandler = self._formula.append
        self._parser.EndElementHandler = self._formula_ends(key)

    def _formula_ends(self, key: str) -> Callable[[str], None]:
        def ends(_: str) -> None:
            if length := sum(map(len, self._formula)):
                self._shared.setdefault(key, length)
                self.found[_COPIED] += length
            self._parser.CharacterDataHandler = self._parser.EndElementHandler = None

        return ends


def _cells(ref: str) -> int:
    """Return how many cells a range has; 0 for what is not a range, which the reader of workbooks refuses."""
    try:
        left, top, right, bottom = (int(edge or 0) for edge in range_boundaries(ref))
    except (ValueError, TypeError):
        return 0
    return max(0, right - left + 1) * max(0, bottom - top + 1)


def _refuse_entity(*_: object) -> None:
    raise ValueError("an entity of its own")


_ONE_CELL: Final = re.compile(r"\$?[A-Z]{1,3}\$?\d+$")
_DOLLARS: Final = frozenset({"$", "usd", "us$", "dollars"})
LAST_ROW: Final = 1_048_576  # of any sheet of any spreadsheet program


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

    def place(self, row: int = 0, column: int = 0) -> Place:
        """Return where a cell, a row or the sheet is."""
        return Place(self.file, self.name, row=row, column=column)

    def value(self, row: int, column: int) -> Any:
        """Return what the cell shows."""
        written, kept = self._formulas.cell(row, column), self._values.cell(row, column)
        if kept.data_type == "e":
            source = f" (its formula is {quoted(written.value)})" if written.data_type == "f" else ""
            raise PriceError(
                f"the cell shows {kept.value}{source}; it must hold a value", where=self.place(row, column)
            )
        if written.data_type == "f" and kept.value is None:
            text = getattr(written.value, "text", written.value)
            raise PriceError(
                f"the formula {quoted(text)} was never calculated, so it has no value; open the file in a spreadsheet "
                "program, let it calculate and save it",
                where=self.place(row, column),
            )
        return kept.value if str(kept.value or 0).strip() else None

    def comment(self, row: int, column: int) -> Any:
        """Return the note on a cell; None where there is none."""
        return getattr(self._formulas.cell(row, column), "comment", None)

    def heading(self, row: int, column: int) -> tuple[str, str]:
        """Return the label of a heading, in lower case, and the unit in its brackets."""
        text = self._formulas.cell(row, column).value
        return heading_parts(text) if isinstance(text, str) else ("", "")

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
        """Return the sheet with this name, whatever its case."""
        for sheet in self._formulas.worksheets:
            if sheet.title.strip().casefold() == name.casefold():
                return Sheet(self.file, sheet, self._values[sheet.title])
        have = ", ".join(self._formulas.sheetnames) or "none"
        raise PriceError(f"there is no sheet {quoted(name)}; its sheets are: {have}", where=Place(self.file))

    def named(self) -> dict[str, tuple[str, str]]:
        """Return sheet and cell of each name of the workbook that names a single cell."""
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


# Sheets of an estimating workbook that nothing is read from; their 20,000 formulas would be gone through for nothing.
_CALCULATION: Final = frozenset(
    {
        "Problems", "Estimate", "Quote", "Numbers", "Lists", "Owner", "Particulars", "Areas", "Outlines", "Ground",
        "Stone only", "Geogrid", "Standard", "Lines", "Depths", "Checks",
    }
)  # fmt: skip
_SHEET: Final = re.compile(rb'<sheet [^>]*?name="([^"]+)"[^>]*?r:id="([^"]+)"')
_TARGET: Final = re.compile(rb"<Relationship [^>]*>")
_EMPTY: Final = b'<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData/></worksheet>'


def _without_calculation(content: bytes) -> bytes:
    """Return a workbook with the sheets of the calculation emptied, where it is an estimating workbook."""
    with zipfile.ZipFile(BytesIO(content)) as old:
        names = {key.decode(): title.decode() for title, key in _SHEET.findall(old.read("xl/workbook.xml"))}
        if not {"Entry", "Checks", "Numbers"} <= set(names.values()):
            return content
        parts = {}
        for link in _TARGET.findall(old.read("xl/_rels/workbook.xml.rels")):
            fields = dict(re.findall(r'(\w+)="([^"]*)"', link.decode()))
            parts[f"xl/{fields['Target'].removeprefix('/xl/')}"] = names.get(fields["Id"], "")
        out = BytesIO()
        with zipfile.ZipFile(out, "w", zipfile.ZIP_STORED) as new:
            for item in old.infolist():
                emptied = parts.get(item.filename) in _CALCULATION
                new.writestr(item.filename, _EMPTY if emptied else old.read(item))
        return out.getvalue()


def open_book(path: str | Path) -> Book:
    """Return the workbook at this path, read whole; the file is closed again before this returns."""
    return _opened(workbook_bytes(path), str(path))


@lru_cache(maxsize=4)
def _opened(content: bytes, file: str) -> Book:
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # openpyxl warns of parts it does not keep; nothing is written back
            light = _without_calculation(content)
            books = [load_workbook(BytesIO(light), data_only=values) for values in (False, True)]
    except BROKEN:
        raise WorkbookError(DAMAGED, where=Place(file)) from None
    for sheet in books[0].worksheets:
        last = max((row for row, _ in sheet._cells), default=1)
        if last > LAST_ROW:
            raise WorkbookError(
                f"the sheet {quoted(sheet.title)} has a cell in row {last:,}; a sheet ends at row {LAST_ROW:,}. Delete "
                "it and save it again",
                where=Place(file),
            )
    return Book(file, *books)


@dataclass(frozen=True, slots=True)
class Grid:
    """A table found on a sheet: where each field is and in which unit; its rows end before `end`, if anywhere."""

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
        return PriceError(sentence, where=self.place(row, field), field=field)

    def place(self, row: int, field: str | None = None) -> Place:
        """Return the place of a field in a row; of the row's first field where none is named."""
        return self.sheet.place(row, self.columns.get(field or "", min(self.columns.values())))


def find_grid(sheet: Sheet, table: Table) -> tuple[Grid, list[BasecalcError]]:
    """Return where the columns of a table stand, found by their headings, with what is wrong with those.

    The table is looked for by its name, then by its headings anywhere on the sheet: columns may have been moved, others
    added, and the table may have lost its name in another program.
    """
    span = sheet.table_range(table.name)
    inside = range(span[0], span[2] + 1) if span else range(0)
    row = span[1] if span else heading_row(sheet, table)
    found: dict[str, int] = {}
    units: dict[str, str] = {}
    wrong: list[BasecalcError] = []
    for field in table.fields:
        hits = [at for at in sheet.filled.get(row, []) if sheet.heading(row, at)[0] in field.names]
        if field.format != "money":  # of two prices nobody can tell which is meant, wherever the table ends
            hits = [at for at in hits if at in inside] or hits
        if not hits and field.optional:
            continue
        if not hits:
            raise PriceError(
                f"the table of {table.title} has no column {quoted(field.name)} in its heading row {row}",
                where=sheet.place(),
            )
        if len(hits) > 1:
            raise PriceError(
                f"the heading {quoted(field.name)} appears twice in row {row}", where=sheet.place(row, hits[1])
            )
        found[field.key] = hits[0]
        if field.unit("us"):
            unit = sheet.heading(row, hits[0])[1]
            units[field.key] = shares_unit(unit) if field.unit("us") == SHARE else unit
            wrong += _unit_faults(sheet, row, hits[0], field, units[field.key])
        elif field.format not in ("general", "text", "date"):
            beside = sheet.heading(row, hits[0])[1]
            if beside and not (field.format == "money" and beside.casefold() in _DOLLARS):
                takes = "prices are in $" if field.format == "money" else "it has none"
                sentence = f"the heading {quoted(field.name)} names a unit, {quoted(beside)}; {takes}: take it out"
                wrong.append(PriceError(sentence, where=sheet.place(row, hits[0])))
    return Grid(sheet, table.title, row, found, units), wrong


def _unit_faults(sheet: Sheet, row: int, at: int, field: Field, unit: str) -> list[BasecalcError]:
    offered = " or ".join(dict.fromkeys(f"[{sheet_unit(one)}]" for one in map(field.unit, ("us", "metric")) if one))
    place = sheet.place(row, at)
    if not unit:
        return [PriceError(f"the heading {quoted(field.name)} names no unit; write it behind, {offered}", where=place)]
    try:
        if field.unit("us") == SHARE and unit != SHARE:
            raise InputError("a share has one unit")
        convert(1.0, unit, field.unit("us"))
    except BasecalcError:
        return [PriceError(f"the unit of {field.name} is {quoted(unit)}; it must be {offered}", where=place)]
    return []


def heading_row(sheet: Sheet, table: Table) -> int:
    """Return the row with most of a table's headings; a `PriceError` where none has half of them."""
    wanted = [field.names for field in table.fields if not field.optional]
    best, most = 0, 0
    for row in sorted(sheet.filled):
        headings = {sheet.heading(row, at)[0] for at in sheet.filled[row]}
        hits = sum(not names.isdisjoint(headings) for names in wanted)
        if hits > most:
            best, most = row, hits
    if most * 2 <= len(wanted) and most < len(wanted):
        names = ", ".join(field.name for field in table.fields)
        raise PriceError(f"there is no table of {table.title}; its headings are: {names}", where=sheet.place())
    return best
