"""The office's file: cost, quantities, reasons, options, stone order, cautions. Not for the client."""

from basecalc.pricing.records import Quote
from basecalc.workbook import (
    as_quoted,
    log_chart,
    office_cautions,
    office_costs,
    office_evidence,
    office_options,
    office_order,
    office_quantities,
    office_reasons,
    tornado_chart,
)
from basecalc.workbook.values import ValuedBook


def office_file(quote: Quote, revision: int) -> bytes:
    """Return the office's workbook."""
    book = ValuedBook()
    totals = office_costs.write(book, quote, revision)
    office_quantities.write(book, quote, revision)
    office_evidence.write(book, quote, revision)
    office_reasons.write(book, quote, revision)
    log_chart.add_log_sheet(book, quote, revision)
    tornado_chart.write(book, quote, revision)
    office_options.write(book, quote, revision, totals)
    office_order.write(book, quote, revision)
    office_cautions.write(book, quote, revision)
    as_quoted.write(book, quote, revision)
    book.describe(f"Quote {quote.job.number}, office", quote.book.company.name, "Cost and work; not for the client")
    return book.to_bytes()
