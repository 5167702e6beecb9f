"""The office's sheets As quoted and As changed: all that a quote or a change order was made from, as plain text.

Only the program reads them, so they are hidden and never printed.
"""

import warnings
from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import date
from io import BytesIO
from pathlib import Path
from typing import Any, Final

from openpyxl import load_workbook
from openpyxl.workbook import Workbook

from basecalc.core.errors import BasecalcError, InputError, Place, WorkbookError
from basecalc.pricing.archive import (
    ONE_LINE_ROWS,
    Kept,
    Line,
    change_tables,
    fingerprint,
    kept_tables,
    quote_again,
    toml_lines,
    toml_tables,
)
from basecalc.pricing.changes import ChangeOrder
from basecalc.pricing.records import Quote
from basecalc.tables.from_workbook import BROKEN, DAMAGED, sheet_names, workbook_bytes
from basecalc.workbook.style import LONGEST_TEXT, put_text

TITLE: Final = "As quoted"
CHANGE_TITLE: Final = "As changed"
_HEADINGS: Final = ("Entry", "As quoted")
_FINGERPRINT: Final = "fingerprint"
_NOT_KEPT: Final = "This quote cannot be made again from this file"
_CHANGED: Final = (
    "the sheet was changed after it was written, its fingerprint does not fit; a quote can be made again only from the "
    "sheet as basecalc wrote it"
)


def write(book: Workbook, quote: Quote, revision: int) -> None:
    """Write the sheet As quoted; where the quote cannot be kept, a sentence that says why."""
    words = "What this quote was made from: 'basecalc quote' makes it again from here. Change nothing."
    _write(book, TITLE, lambda: kept_tables(quote, revision), words)


def write_changed(book: Workbook, order: ChangeOrder, place: int, day: date) -> None:
    """Write the sheet As changed of a change order."""
    words = "The ground found, and what the change order adds: 'basecalc book' and 'basecalc actuals' read it here."
    _write(book, CHANGE_TITLE, lambda: change_tables(order, place, day), words)


def _write(book: Workbook, title: str, kept: Callable[[], Mapping[str, Any]], words: str) -> None:
    sheet = book.create_sheet(title)
    sheet.sheet_state = "hidden"
    sheet.column_dimensions["A"].width, sheet.column_dimensions["B"].width = 26.0, 70.0
    put_text(sheet["A1"], words)
    try:
        lines = toml_lines(kept(), ONE_LINE_ROWS)
        if max(len(value) for _, value in lines) > LONGEST_TEXT:
            raise InputError("an entry is too long for a cell")
    except BasecalcError as refusal:
        put_text(sheet["A2"], f"{_NOT_KEPT}: {refusal.sentence}.")
        return
    for row, line in enumerate((_HEADINGS, *lines, (_FINGERPRINT, fingerprint(lines))), 3):
        for column, text in enumerate(line, 1):
            if text:
                cell = put_text(sheet.cell(row, column), text)
                cell.number_format = "@"


def holds_quote(path: Path) -> bool:
    """Return whether a workbook has the sheet As quoted, by the names of its sheets alone."""
    return any(name.strip().casefold() == TITLE.casefold() for name in sheet_names(path))


def quoted_tables(path: str | Path, title: str = TITLE) -> Mapping[str, Any]:
    """Return what an office file keeps of its quote or change order, as plain tables, without pricing it again."""
    sheet, rows = _sheet(path, title)
    try:
        return toml_tables(_lines(rows, Place(str(path), sheet)))
    except BasecalcError as refusal:
        raise (refusal if refusal.place.file else refusal.at(Place(str(path), sheet))) from None


def load_quote(path: str | Path) -> Kept:
    """Return the quote that an office file holds, made again from its own sheet.

    Parameters
    ----------
    path
        An office workbook that `basecalc.write_quote` wrote; it is only read.

    Raises
    ------
    WorkbookError
        There is no such file, it is no workbook, or it has no such sheet.
    BasecalcError
        The sheet was changed or damaged, or this version of basecalc comes to another price.
    """
    tables = quoted_tables(path)
    try:
        return quote_again(tables, str(path))
    except BasecalcError as refusal:
        if refusal.place.file == str(path):
            raise
        raise refusal.at(Place(str(path), TITLE)) from None


Row = tuple[int, Any, Any]


def _sheet(path: str | Path, title: str) -> tuple[str, list[Row]]:
    """Return the sheet's own name and its rows that hold anything; no other sheet is unpacked, which takes long."""
    content = workbook_bytes(path)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            book = load_workbook(BytesIO(content), read_only=True)
            name = next((one for one in book.sheetnames if one.strip().casefold() == title.casefold()), "")
            cells: Iterable[Sequence[Any]] = book[name].iter_rows(max_col=2, values_only=True) if name else ()
            rows: list[Row] = []
            for row, (entry, *value) in enumerate(cells, 1):
                if entry is not None or any(value):
                    rows.append((row, entry, value[0] if value else None))
            book.close()
    except BROKEN:
        raise WorkbookError(DAMAGED, where=Place(str(path))) from None
    if not name:
        raise WorkbookError(
            f"there is no sheet {title!r}; only the office file of a {'quote' if title == TITLE else 'change order'} "
            "has it, and only from the version of basecalc on that writes it",
            where=Place(str(path)),
        )
    return name, rows


def _lines(rows: Sequence[Row], place: Place) -> list[Line]:
    """Return the entries of the sheet, each of which must be text as it was written."""
    for row, *both in rows:
        for column, value in enumerate(both, 1):
            if not isinstance(value, str | None):
                raise InputError(
                    f"the cell holds {value!r}, not text; {_CHANGED}", where=Place(row=row, column=column).inside(place)
                )
    lines: list[Line] = [(entry or "", value or "") for _, entry, value in rows]
    if _HEADINGS not in lines:
        reason = next((entry for entry, _ in lines if entry.startswith(_NOT_KEPT)), "")
        raise InputError(reason[:1].lower() + reason[1:].rstrip(".") if reason else _CHANGED)
    lines = lines[lines.index(_HEADINGS) + 1 :]
    if not lines or lines[-1] != (_FINGERPRINT, fingerprint(lines[:-1])):
        raise InputError(_CHANGED)
    return lines[:-1]
