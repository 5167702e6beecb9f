"""The office's sheets As quoted and As changed: all that a quote or a change order was made from, as plain text.

Only the program reads them, so they are hidden and never printed.
"""

from collections.abc import Sequence
from datetime import date

from openpyxl.workbook import Workbook

from basecalc.pricing.archive import CHANGE_TITLE, TITLE, Line, change_rows, quote_rows
from basecalc.pricing.changes import ChangeOrder
from basecalc.pricing.records import Quote
from basecalc.workbook.style import put_text


def write(book: Workbook, quote: Quote, revision: int) -> None:
    """Write the sheet As quoted; where the quote cannot be kept, a sentence that says why."""
    words = "What this quote was made from: 'basecalc quote' makes it again from here. Change nothing."
    _write(book, TITLE, quote_rows(quote, revision), words)


def write_changed(book: Workbook, order: ChangeOrder, place: int, day: date) -> None:
    """Write the sheet As changed of a change order."""
    words = "The ground found, and what the change order adds: 'basecalc book' and 'basecalc actuals' read it here."
    _write(book, CHANGE_TITLE, change_rows(order, place, day), words)


def _write(book: Workbook, title: str, rows: Sequence[Line], words: str) -> None:
    sheet = book.create_sheet(title)
    sheet.sheet_state = "hidden"
    sheet.column_dimensions["A"].width, sheet.column_dimensions["B"].width = 26.0, 70.0
    put_text(sheet["A1"], words)
    for row, line in enumerate(rows, 3):
        for column, text in enumerate(line, 1):
            if text:
                cell = put_text(sheet.cell(row, column), text)
                cell.number_format = "@"
