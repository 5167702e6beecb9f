"""The office's sheets As quoted and As changed: all that a quote or a change order was made from, as plain text."""

from collections.abc import Sequence
from datetime import date

from basecalc.pricing.archive import CHANGE_TITLE, FINGERPRINT, TITLE, Line, change_rows, quote_rows
from basecalc.pricing.changes import ChangeOrder
from basecalc.pricing.records import Quote
from basecalc.workbook.office_sheet import columns, finish, start
from basecalc.workbook.style import Look
from basecalc.workbook.values import ValuedBook


def write(book: ValuedBook, quote: Quote, revision: int) -> None:
    """Write the sheet As quoted; where the quote cannot be kept, a sentence that says why."""
    words = (
        "The job as entered, and the prices and settings as used: 'basecalc quote' makes this quote again from here."
    )
    _write(book, TITLE, quote, revision, words, quote_rows(quote, revision))


def write_changed(book: ValuedBook, order: ChangeOrder, place: int, day: date) -> None:
    """Write the sheet As changed of a change order."""
    words = "The ground found, and what the change order adds: 'basecalc book' and 'basecalc actuals' read it here."
    _write(book, CHANGE_TITLE, order.signed, order.revision, words, change_rows(order, place, day))


def _write(book: ValuedBook, title: str, quote: Quote, revision: int, words: str, rows: Sequence[Line]) -> None:
    flow = start(book, title, (26.0, 70.0), quote, revision, words)
    headings, *lines = rows
    if not lines:
        flow.put(1, 2, headings[0], "caution")
        flow.next()
        finish(flow, quote, landscape=False)
        return
    head = columns(flow, *headings)
    for entry, value in lines:
        look: Look = "quiet" if entry == FINGERPRINT else "text" if value else "label"
        flow.put(1, 1, entry, look)
        flow.put(2, 2, value, "quiet" if look == "quiet" else "text", "text")
        flow.next()
    finish(flow, quote, landscape=False, repeat_rows=f"{head}:{head}", freeze=f"A{head + 1}")
