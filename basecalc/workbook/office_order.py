"""The office's sheet Stone order: each material by delivery, whole loads, and what is left for the last one."""

from basecalc.company import Stone
from basecalc.pricing.record import Quote
from basecalc.rounding import printed, whole_up
from basecalc.takeoff.materials import materials
from basecalc.units import SHORT_TON_KG, TONNE_KG, YARD3_M3
from basecalc.workbook.figures import shown_unit, unit
from basecalc.workbook.layout import Flow
from basecalc.workbook.office_sheet import COUNTS, columns, finish, start
from basecalc.workbook.values import ValuedBook

TITLE = "Stone order"


def write(book: ValuedBook, quote: Quote, revision: int) -> None:
    """Write the sheet.

    Parameters
    ----------
    book
        The office's workbook.
    quote, revision
        The priced job and its revision.
    """
    units = quote.job.units
    mass = unit("mass", units)
    flow = start(
        book, TITLE, (20.0, 34.0, 26.0, 13.0, 13.0, 11.0, 13.0), quote, revision,
        "What to order for the option offered, by material and truckload.",
    )  # fmt: skip
    own = materials(quote.job, quote.book.company)
    truck = own.stone_truck
    ton = TONNE_KG if units == "metric" else SHORT_TON_KG
    box = f", box {truck.box_m3:.1f} m³" if units == "metric" else f", box {truck.box_m3 / YARD3_M3:.1f} yd³"
    flow.put(1, 7, f"Truck: {truck.name}, payload {truck.payload_kg / ton:.4g} {mass}{box}.")
    flow.next()
    flow.gap(4)
    columns(
        flow, "Code", "Material", "For", f"Order, {mass}", f"Full load, {mass}", "Loads", f"Last load, {mass}",
        right=(4, 5, 6, 7),
    )  # fmt: skip
    stones: dict[str, Stone | None] = {
        "base-stone": own.stone,
        "foundation-fill": own.fill,
        "bedding-sand": own.bedding,
    }
    for code, stone in stones.items():
        if stone is not None:
            _material(flow, quote, code, stone)
    _others(flow, quote)
    finish(flow, quote)


def _material(flow: Flow, quote: Quote, code: str, stone: Stone) -> None:
    found = quote.offer.takeoff.of(code)
    if not found:
        return
    truck = materials(quote.job, quote.book.company).stone_truck
    ton = TONNE_KG if quote.job.units == "metric" else SHORT_TON_KG
    first = flow.row
    for quantity in found:
        flow.put(1, 1, quantity.code)
        flow.put(2, 2, quantity.variant or quantity.item)
        flow.put(3, 3, quantity.area or "whole job")
        flow.put(4, 4, printed(quantity.amount), "number", "two")
        flow.next(rule=True)
    row = flow.row
    tons = printed(sum(printed(quantity.amount) for quantity in found))
    full = printed(min(truck.payload_kg, truck.box_m3 * stone.loose_density_kg_m3) / ton)
    loads = whole_up(tons / full)
    flow.put(1, 3, f"{stone.name}, all", "total")
    flow.formula(4, 4, f"=SUM(D{first}:D{row - 1})", tons, "total", "two", across="right")
    flow.put(5, 5, full, "total", "two", across="right")
    flow.formula(
        6, 6, COUNTS.format(f"D{row}", f"E{row}", f"ROUNDUP(ROUND(D{row}/E{row},9),0)"), loads, "total", "whole",
        across="right",
    )  # fmt: skip
    flow.formula(7, 7, f"=ROUND(D{row}-(F{row}-1)*E{row},2)", round(tons - (loads - 1) * full, 2), "total", "two",
                 across="right")  # fmt: skip
    flow.next()
    flow.gap(6)


def _others(flow: Flow, quote: Quote) -> None:
    """Write what is not stone and must be on site as well."""
    wanted = ("geogrid", "geotextile", "pavers", "edge-restraint", "joint-sand")
    found = [quantity for code in wanted for quantity in quote.offer.takeoff.of(code)]
    if not found:
        return
    flow.heading("On site as well", 0)
    columns(flow, "Code", "Material", "For", "Order", "Unit", "", "", right=(4,))
    for quantity in found:
        flow.put(1, 1, quantity.code)
        flow.put(2, 2, quantity.variant or quantity.item)
        flow.put(3, 3, quantity.area or "whole job")
        format = "whole" if quantity.unit in ("roll", "bag", "load") else "two"
        flow.put(4, 4, round(quantity.amount, 2), "number", format)
        flow.put(5, 5, shown_unit(quantity.unit))
        flow.next(rule=True)
