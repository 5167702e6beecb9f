"""The client's file: one sheet, one to three pages, and nothing in it that is the office's own."""

from datetime import date
from typing import Final

from openpyxl.worksheet.properties import PageSetupProperties

from basecalc.pricing.record import Quote
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
    """Return the client's workbook.

    Parameters
    ----------
    quote
        The priced job.
    revision
        Which revision of the quote it is.
    """
    for scale in _SCALES:
        book, flow = _written(quote, revision, scale)
        if flow.pages <= _MOST_PAGES:
            break
    if scale == _SCALES[0] and flow.pages > 1 and flow.left > flow.page_height * _EMPTY:
        smaller, tighter = _written(quote, revision, _SCALES[1])
        book = smaller if tighter.pages < flow.pages else book
    return book.to_bytes()


def _written(quote: Quote, revision: int, scale: int) -> tuple[ValuedBook, Flow]:
    """Return the book at a scale of print [%], and its sheet, which knows how many pages it takes."""
    book, units, company = ValuedBook(), quote.job.units, quote.book.company
    wide, high = _WIDTHS[units] * 100 / scale, _PAGE_HEIGHT[units] * 100 / scale
    flow = Flow(book, "Quote", (wide,) * COLUMNS, high)
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
    client_price.write_terms(flow, quote, _day(client_words.valid_until(quote)))
    client_price.write_signatures(flow, quote)
    style.page(flow.sheet, flow.area, units=units, foot=f"{company.name}   Quote {_number(quote, revision)}")
    # Our own page breaks count only where the print is not fitted to pages.
    flow.sheet.sheet_properties.pageSetUpPr = PageSetupProperties(fitToPage=False)
    flow.sheet.page_setup.scale = scale
    book.describe(f"Quote {quote.job.number}", company.name, f"{quote.job.client}, {quote.job.site}")
    return book, flow


def _day(day: date | None) -> str:
    return f"{day:%B} {day.day}, {day.year}" if day else ""


def _number(quote: Quote, revision: int) -> str:
    return f"{quote.job.number}, revision {revision}" if revision > 1 else quote.job.number


def _head(flow: Flow, quote: Quote, revision: int) -> None:
    company, job = quote.book.company, quote.job
    flow.put(1, 9, company.name, "title")
    flow.put(10, 12, "QUOTE", "title", across="right")
    flow.next(28)
    flow.put(1, 9, "   ".join(part for part in (company.address, company.phone, company.email) if part), "quiet")
    flow.put(10, 12, _number(quote, revision), "strong")
    flow.next(rule=True)
    flow.gap(6)
    for left, text, right, value in (
        ("For", job.client, "Date", _day(job.date)),
        ("Site", job.site, "Good until", _day(client_words.valid_until(quote))),
        ("Work", "Paved driveway on a compacted stone base", "Prepared by", job.prepared_by),
    ):
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
