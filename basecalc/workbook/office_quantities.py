"""The office's sheet Quantities: what is needed, area by area, each with the sum it comes from; hours."""

from basecalc.core.numbers import half_up
from basecalc.pricing.records import Estimate, Quote
from basecalc.workbook.figures import quantity_format, shown_unit
from basecalc.workbook.layout import Flow
from basecalc.workbook.office_sheet import OPTION_WORDS, columns, finish, options, start
from basecalc.workbook.values import ValuedBook

TITLE = "Quantities"


def write(book: ValuedBook, quote: Quote, revision: int) -> None:
    """Write the sheet."""
    flow = start(
        book, TITLE, (16.0, 31.0, 22.0, 12.5, 7.0, 62.0), quote, revision, "Each quantity with the sum it comes from."
    )
    shown = [one for one in options(quote) if one.option != "habit"]
    for one in shown:
        offered = ", offered" if one is quote.offer else ""
        _quantities(flow, one, flow.heading(f"{OPTION_WORDS[one.option]}{offered}", 0))
        flow.gap(4)
        _hours(flow, one)
    finish(flow, quote)


def _quantities(flow: Flow, one: Estimate, top: int) -> None:
    """Write a quantity a row; the first stays on the page of the heading."""
    columns(flow, "Code", "Item", "Area", "Quantity", "Unit", "Working", right=(4,))
    for quantity in one.takeoff.quantities:
        flow.put(1, 1, quantity.code)
        flow.put(2, 2, quantity.item + (f", {quantity.variant}" if quantity.variant else ""))
        flow.put(3, 3, quantity.area or "whole job")
        flow.put(4, 4, half_up(quantity.amount, 2), "number", quantity_format(quantity.unit))
        flow.put(5, 5, shown_unit(quantity.unit))
        flow.put(6, 6, quantity.working, "quiet")
        flow.next(rule=True)
        flow.keep(top)
        top = flow.row


def _hours(flow: Flow, one: Estimate) -> None:
    if not one.hours:
        return
    top = columns(flow, "Work", "Item", "Crew hours", "Machine h", "", "Working", right=(3, 4))
    for work in one.hours:
        flow.put(1, 1, work.code)
        flow.put(2, 2, work.item)
        for column, hours in ((3, work.crew_h), (4, work.machine_h)):
            flow.put(column, column, "no rate" if hours is None else half_up(hours, 2), "number", "two")
        priced = "priced by these hours" if work.priced_by_hours else "for the plan only, priced by its own row"
        flow.put(6, 6, f"{work.working}; {priced}", "quiet")
        flow.next(rule=True)
    flow.keep(top)
