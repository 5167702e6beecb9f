"""The client's file: one sheet, one to three pages, and nothing in it that is the office's own."""

from collections.abc import Sequence
from datetime import date
from typing import Final

from openpyxl.worksheet.properties import PageSetupProperties

from basecalc.company import Company
from basecalc.pricing.records import Quote
from basecalc.workbook import client_findings, client_ground, client_price, client_words, style
from basecalc.workbook.layout import Flow
from basecalc.workbook.values import ValuedBook

COLUMNS: Final = 12
_WIDTHS: Final = {"us": 7.8, "metric": 7.6}
_PAGE_HEIGHT: Final = {"us": 686.0, "metric": 736.0}
_SCALES: Final = (100, 92, 85, 78, 74)  # a long job is set smaller before it takes more pages
_MOST_PAGES: Final = 3
_EMPTY: Final = 2 / 3  # a last page with more room left than this is saved where a smaller print does it


def client_file(quote: Quote, revision: int) -> bytes:
    """Return the client's workbook."""
    book = ValuedBook()
    for scale in _SCALES:
        flow = _write(book, quote, revision, scale)
        if flow.pages <= _MOST_PAGES:
            break
    if scale == _SCALES[0] and flow.pages > 1 and flow.left > flow.page_height * _EMPTY:
        tighter = _write(book, quote, revision, _SCALES[1])
        if tighter.pages >= flow.pages:
            _write(book, quote, revision, scale)
    return book.to_bytes()


def _write(book: ValuedBook, quote: Quote, revision: int, scale: int) -> Flow:
    """Write the book at a scale of print [%]; return its sheet, which knows how many pages it takes."""
    book.begin_again()
    units, company = quote.job.units, quote.book.company
    flow = sheet_flow(book, "Quote", units, scale)
    _head(flow, quote, revision)
    row, column = _glance(flow, quote)
    client_ground.write(flow, quote)
    client_price.write_options(flow, quote)
    client_findings.write_option(flow, quote)
    total = client_price.write_price(flow, quote)
    style.align(
        book.formula(flow.sheet, row, column, f"={total}", quote.offer.total, "title", "money", across="right"),
        indent=1,
    )
    client_price.write_softer(flow, quote)
    client_price.write_cautions(flow, quote)
    client_price.write_terms(flow, quote, day_words(client_words.valid_until(quote)))
    accepted = "Accepted as offered" + (", with geogrid" if quote.offered == "geogrid" else "") + ":"
    client_price.write_signatures(flow, quote, accepted)
    set_up_page(flow, units, scale, f"{company.name}   Quote {_number(quote, revision)}")
    book.describe(f"Quote {quote.job.number}", company.name, f"{quote.job.client}, {quote.job.site}")
    return flow


def sheet_flow(book: ValuedBook, title: str, units: str, scale: int) -> Flow:
    """Return the one sheet of a client's file, as wide and as high as its paper."""
    wide, high = _WIDTHS[units] * 100 / scale, _PAGE_HEIGHT[units] * 100 / scale
    return Flow(book, title, (wide,) * COLUMNS, high)


def set_up_page(flow: Flow, units: str, scale: int, foot: str) -> None:
    """Set a client's sheet up for paper."""
    style.page(flow.sheet, flow.area, units=units, foot=foot)
    # Our own page breaks count only where the print is not fitted to pages.
    flow.sheet.sheet_properties.pageSetUpPr = PageSetupProperties(fitToPage=False)
    flow.sheet.page_setup.scale = scale


def day_words(day: date | None) -> str:
    """Return a day in words; nothing for none."""
    return f"{day:%B} {day.day}, {day.year}" if day else ""


def _number(quote: Quote, revision: int) -> str:
    return f"{quote.job.number}, revision {revision}" if revision > 1 else quote.job.number


def _head(flow: Flow, quote: Quote, revision: int) -> None:
    job = quote.job
    rows = (
        ("For", job.client, "Date", day_words(job.date)),
        ("Site", job.site, "Good until", day_words(client_words.valid_until(quote))),
        ("Work", "Paved driveway on a compacted stone base", "Prepared by", job.prepared_by),
    )
    write_head(flow, quote.book.company, "QUOTE", _number(quote, revision), rows)


def write_head(flow: Flow, company: Company, kind: str, number: str, rows: Sequence[tuple[str, str, str, str]]) -> None:
    """Write who writes, what this paper is, and for whom."""
    flow.put(1, 7, company.name, "title")
    flow.put(8, 12, kind, "title", across="right")
    flow.next(28)
    flow.put(1, 9, "   ".join(part for part in (company.address, company.phone, company.email) if part), "quiet")
    flow.put(10, 12, number, "strong")
    flow.next(rule=True)
    flow.gap(6)
    for left, text, right, value in rows:
        flow.put(1, 1, left, "label")
        flow.put(2, 7, text)
        if value:
            flow.put(8, 9, right, "label")
            flow.put(10, 12, value)
        flow.next()
    flow.gap(8)


def _glance(flow: Flow, quote: Quote) -> tuple[int, int]:
    """Write the offer in short and return the row and column that wait for the total."""
    flow.put(1, 8, client_words.in_short(quote), "good")
    flow.put(9, 12, None, "title")
    waiting = (flow.row, 9)
    flow.next(42)
    flow.put(9, 12, "total price, everything included", "quiet", across="right")
    flow.next()
    return waiting
