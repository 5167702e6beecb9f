"""The office's sheet Stone order: each material by delivery, whole loads, when they come, and the text to send."""

from typing import Final

from basecalc.core.numbers import half_up
from basecalc.core.units import SHORT_TON_KG, TONNE_KG, YARD3_M3
from basecalc.pricing.records import Quote
from basecalc.schedule import OrderedStone, StoneOrder, stone_order
from basecalc.workbook import office_order_plan
from basecalc.workbook.figures import shown_unit, unit
from basecalc.workbook.layout import Flow
from basecalc.workbook.office_sheet import COUNTS, columns, finish, start
from basecalc.workbook.values import ValuedBook

TITLE = "Stone order"
_PAGE_PT: Final = 495.0  # room on a sheet of either paper, across


def write(book: ValuedBook, quote: Quote, revision: int) -> None:
    """Write the sheet."""
    units = quote.job.units
    mass = unit("mass", units)
    flow = start(
        book, TITLE, (20.0, 34.0, 26.0, 13.0, 13.0, 11.0, 13.0), quote, revision,
        "What to order for the option offered, by material and truckload.",
    )  # fmt: skip
    flow.page_height = _PAGE_PT
    order = stone_order(quote)
    truck = order.truck
    ton = TONNE_KG if units == "metric" else SHORT_TON_KG
    box = f", box {truck.box_m3:.1f} m³" if units == "metric" else f", box {truck.box_m3 / YARD3_M3:.1f} yd³"
    flow.put(1, 7, f"Truck: {truck.name}, payload {truck.payload_kg / ton:.4g} {mass}{box}.")
    flow.next()
    flow.gap(4)
    columns(
        flow, "Code", "Material", "For", f"Order, {mass}", f"Full load, {mass}", "Loads", f"Last load, {mass}",
        right=(4, 5, 6, 7),
    )  # fmt: skip
    totals = {stone.code: _material(flow, quote, stone) for stone in order.stones}
    office_order_plan.write(flow, quote, order, totals)
    _others(flow, quote, order)
    finish(flow, quote)


def _material(flow: Flow, quote: Quote, stone: OrderedStone) -> int:
    """Write the rows of a material and return that of its total."""
    first = flow.row
    for quantity in quote.offer.takeoff.of(stone.code):
        flow.put(1, 1, quantity.code)
        flow.put(2, 2, quantity.variant or quantity.item)
        flow.put(3, 3, quantity.area or "whole job")
        flow.put(4, 4, quantity.amount, "number", "two")
        flow.next(rule=True)
    row = flow.row
    flow.put(1, 3, f"{stone.material}, all", "total")
    flow.formula(4, 4, f"=SUM(D{first}:D{row - 1})", stone.tons, "total", "two", across="right")
    flow.put(5, 5, stone.full_tons, "total", "two", across="right")
    flow.formula(
        6, 6, COUNTS.format(f"D{row}", f"E{row}", f"ROUNDUP(ROUND(D{row}/E{row},9),0)"), stone.loads, "total", "whole",
        across="right",
    )  # fmt: skip
    flow.formula(7, 7, f"=ROUND(ROUND(D{row}-(F{row}-1)*E{row},8),2)", half_up(stone.last_tons, 2), "total", "two",
                 across="right")  # fmt: skip
    flow.next()
    flow.gap(6)
    flow.keep(first)
    return row


def _others(flow: Flow, quote: Quote, order: StoneOrder) -> None:
    """Write what is not stone and must be on site as well, with the day by which it is needed."""
    wanted = {"geogrid": "base-place", "geotextile": "base-place", "pavers": "paver-lay", "edge-restraint": "paver-lay",
              "joint-sand": "paver-lay"}  # fmt: skip
    found = [quantity for code in wanted for quantity in quote.offer.takeoff.of(code)]
    if not found:
        return
    days = {step.code: step.first_day for step in order.plan}
    top = flow.heading("On site as well", 0)
    columns(flow, "Code", "Material", "For", "Order", "Unit", "By day", "", right=(4, 6))
    for quantity in found:
        flow.put(1, 1, quantity.code)
        flow.put(2, 2, quantity.variant or quantity.item)
        flow.put(3, 3, quantity.area or "whole job")
        format = "whole" if quantity.unit in ("roll", "bag", "load") else "two"
        flow.put(4, 4, half_up(quantity.amount, 2), "number", format)
        flow.put(5, 5, shown_unit(quantity.unit))
        day = days.get(wanted[quantity.code])
        flow.put(6, 6, "not known" if day is None else day, "number", "whole")
        flow.next(rule=True)
    flow.keep(top)
