"""The office's sheet As quoted: all that a quote was made from, as plain text, so that it can be made again."""

from collections.abc import Mapping, Sequence
from hashlib import sha256
from pathlib import Path
from typing import Any, Final

from basecalc.core.errors import BasecalcError, InputError, Place, WorkbookError
from basecalc.pricing.archive import ONE_LINE_ROWS, Kept, Line, kept_tables, quote_again, toml_lines, toml_tables
from basecalc.pricing.records import Quote
from basecalc.tables.from_workbook import Sheet, open_book, sheet_names
from basecalc.workbook.office_sheet import columns, finish, start
from basecalc.workbook.style import LONGEST_TEXT
from basecalc.workbook.values import ValuedBook

TITLE: Final = "As quoted"
_HEADINGS: Final = ("Entry", "As quoted")
_FINGERPRINT: Final = "fingerprint"
_NOT_KEPT: Final = "This quote cannot be made again from this file"
_CHANGED: Final = (
    f"the sheet {TITLE!r} was changed after it was written, its fingerprint does not fit; a quote can be made again "
    "only from the sheet as basecalc wrote it"
)


def write(book: ValuedBook, quote: Quote, revision: int) -> None:
    """Write the sheet; where the quote cannot be kept, a sentence that says why."""
    flow = start(
        book, TITLE, (26.0, 70.0), quote, revision,
        "The job as entered, and the prices and settings as used: 'basecalc quote' makes this quote again from here.",
    )  # fmt: skip
    try:
        lines = toml_lines(kept_tables(quote, revision), ONE_LINE_ROWS)
        if max(len(value) for _, value in lines) > LONGEST_TEXT:
            raise InputError("an entry is too long for a cell")
    except BasecalcError as refusal:
        flow.put(1, 2, f"{_NOT_KEPT}: {refusal.sentence}.", "caution")
        flow.next()
        finish(flow, quote, landscape=False)
        return
    head = columns(flow, *_HEADINGS)
    for entry, value in lines:
        flow.put(1, 1, entry, "text" if value else "label")
        flow.put(2, 2, value, "text", "text")
        flow.next()
    flow.put(1, 1, _FINGERPRINT, "quiet")
    flow.put(2, 2, _fingerprint(lines), "quiet", "text")
    flow.next()
    finish(flow, quote, landscape=False, repeat_rows=f"{head}:{head}", freeze=f"A{head + 1}")


def _fingerprint(lines: Sequence[Line]) -> str:
    """Return a check sum that shows a slip of the hand or a damaged cell; it is no seal."""
    return sha256("\n".join("\t".join(line) for line in lines).encode()).hexdigest()


def holds_quote(path: Path) -> bool:
    """Return whether a workbook has the sheet, by the names of its sheets alone."""
    return any(name.strip().casefold() == TITLE.casefold() for name in sheet_names(path))


def quoted_tables(path: str | Path) -> Mapping[str, Any]:
    """Return what an office file keeps of its quote, as plain tables, without pricing it again."""
    opened = open_book(path)
    sheet = next((one for one in opened.sheets() if one.name.strip().casefold() == TITLE.casefold()), None)
    if sheet is None:
        raise WorkbookError(
            f"there is no sheet {TITLE!r}; only the office file of a quote has it, and only from the version of "
            "basecalc on that writes it",
            where=Place(opened.file),
        )
    try:
        return toml_tables(_lines(sheet))
    except BasecalcError as refusal:
        raise (refusal if refusal.place.file else refusal.at(sheet.place())) from None


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


def _lines(sheet: Sheet) -> list[Line]:
    """Return the entries of the sheet, each of which must be text as it was written."""
    rows = {row: [_text(sheet, row, column) for column in (1, 2)] for row in sheet.filled}
    head = next((row for row, cells in rows.items() if tuple(cells) == _HEADINGS), None)
    if head is None:
        told = next((cells[0] for cells in rows.values() if cells[0].startswith(_NOT_KEPT)), "")
        raise InputError(told[:1].lower() + told[1:].rstrip(".") if told else _CHANGED)
    lines: list[Line] = [(entry, value) for row, (entry, value) in sorted(rows.items()) if row > head]
    if not lines or lines[-1] != (_FINGERPRINT, _fingerprint(lines[:-1])):
        raise InputError(_CHANGED)
    return lines[:-1]


def _text(sheet: Sheet, row: int, column: int) -> str:
    value = sheet.value(row, column)
    if value is not None and not isinstance(value, str):
        raise InputError(f"the cell holds {value!r}, no text; {_CHANGED}", where=sheet.place(row, column))
    return value or ""
