"""Of the sheet Stone order: the work by day, deliveries, shared trips, the weight of a full truck, the text to send."""

from collections.abc import Mapping
from typing import cast

from openpyxl.cell.cell import Cell

from basecalc.company import Truck
from basecalc.core.errors import BasecalcError
from basecalc.core.numbers import fixed, half_up, printed
from basecalc.core.units import FOOT_M, POUND_KG, TONNE_KG
from basecalc.pricing.records import Quote
from basecalc.schedule import StoneOrder, back_haul_words, hour_words, message
from basecalc.takeoff.hauling import missing, road_weight
from basecalc.workbook import style
from basecalc.workbook.figures import unit
from basecalc.workbook.layout import Flow
from basecalc.workbook.office_sheet import columns


def write(flow: Flow, quote: Quote, order: StoneOrder, totals: Mapping[str, int]) -> None:
    """Write what follows the table of materials."""
    _deliveries(flow, quote, order, totals)
    _plan(flow, quote, order)
    top = flow.heading("Trucks")
    flow.put(1, 1, "Shared trips", "label")
    flow.put(2, 7, back_haul_words(order.back_haul))
    flow.next(rule=True)
    for truck in order.trucks:
        flow.put(1, 1, "Weight on the road", "label")
        words, over = weight_words(truck, quote.job.units)
        flow.put(2, 7, words, "caution" if over else "text")
        flow.next(rule=True)
    flow.keep(top)
    top = flow.heading("Text to send to the supplier")
    flow.put(1, 7, message(order))
    flow.next()
    flow.keep(top)


def _deliveries(flow: Flow, quote: Quote, order: StoneOrder, totals: Mapping[str, int]) -> None:
    mass = unit("mass", quote.job.units)
    top = flow.heading("When it must be there", 0)
    columns(
        flow, "Day", "Material", "Before", f"Brings, {mass}", f"Last load, {mass}", "Loads", "Date", right=(4, 5, 6)
    )
    for stone in order.stones:
        first = flow.row
        for one in stone.deliveries:
            flow.put(1, 1, "not known" if one.day is None else f"{one.day}, {hour_words(one.after_h)}", "label")
            flow.put(2, 2, stone.material)
            flow.put(3, 3, stone.step)
            flow.put(4, 4, one.tons, "number", "two")
            flow.put(5, 5, half_up(one.last_tons, 2), "number", "two")
            flow.put(6, 6, one.loads, "number", "whole")
            style.align(flow.put(7, 7, one.date, "text", "date", across="left"), indent=1)
            flow.next(rule=True)
        row, ordered = flow.row, f"F{totals[stone.code]}"
        flow.put(1, 3, f"{stone.material}, all deliveries", "total")
        flow.formula(4, 4, f"=SUM(D{first}:D{row - 1})", printed(sum(one.tons for one in stone.deliveries)),
                     "total", "two", across="right")  # fmt: skip
        flow.put(5, 5, None, "total")
        flow.formula(6, 6, f"=SUM(F{first}:F{row - 1})", stone.loads, "total", "whole", across="right")
        flow.formula(7, 7, f'=IF(F{row}={ordered},"as ordered","differs from the order")', "as ordered", "total")
        style.align(cast(Cell, flow.sheet.cell(row, 7)), across="right")
        flow.next()
        flow.gap(6)
        flow.keep(top)


def _plan(flow: Flow, quote: Quote, order: StoneOrder) -> None:
    day = quote.book.company.hours_per_day
    top = flow.heading("The days they are counted from", 0)
    columns(flow, "Work", "", "Hours", "From day", "To day", "", "", right=(3, 4, 5))
    for step in order.plan:
        flow.put(1, 2, step.title)
        flow.put(3, 3, "no rate" if step.hours is None else half_up(step.hours, 1), "number", "one")
        flow.put(4, 4, "not known" if step.first_day is None else step.first_day, "number", "whole")
        flow.put(5, 5, "not known" if step.last_day is None else step.last_day, "number", "whole")
        flow.next(rule=True)
    lacking = [step.title for step in order.plan if step.hours is None]
    if lacking:
        flow.put(1, 7, f"No day is known from here on: the sheet Company has no work rate for: {', '.join(lacking)}.",
                 "caution")  # fmt: skip
        flow.next()
    flow.put(1, 7, f"By your own production rates, {day:g} h a day: one crew finishes each step on every area before "
             "the next begins. Rain, inspections and other jobs are not counted.", "quiet")  # fmt: skip
    flow.next()
    flow.keep(top)


def weight_words(truck: Truck, units: str) -> tuple[str, bool]:
    """Return how heavy a full truck is beside the federal limit, in a sentence, and whether it is too heavy."""
    lacking = missing(truck)
    if lacking:
        return (
            f"{truck.name}: not checked against the federal bridge formula; the sheet Company does not say its "
            f"{', '.join(lacking)}. The payload is the one you gave.", False,
        )  # fmt: skip
    try:
        found = road_weight(truck)
    except BasecalcError as refusal:
        return f"{truck.name}: not checked against the federal bridge formula; {refusal.sentence}.", True
    assert truck.outer_axles_m is not None
    told = f"{truck.axles} axles over {_length(truck.outer_axles_m, units)} may weigh {_mass(found.limit_kg, units)}"
    full = f"full it weighs {_mass(found.gross_kg, units)}"
    rest = "Single axles, tandems and the limits of state and town are not looked at. 23 CFR 658.17 [read]."
    if not found.over_kg:
        return f"{truck.name}: {full}; by the federal bridge formula its {told}. {rest}", False
    return (
        f"{truck.name} is too heavy by {_mass(found.over_kg, units)} when full: {full}, and by the federal bridge "
        f"formula its {told}. A payload of {_mass(found.payload_kg, units)} would be within it, unless your state "
        f"allows more: correct the payload on the sheet Company, and the loads follow. {rest}", True,
    )  # fmt: skip


def _mass(mass_kg: float, units: str) -> str:
    return f"{fixed(mass_kg / TONNE_KG, 2)} t" if units == "metric" else f"{fixed(mass_kg / POUND_KG, 0)} lb"


def _length(length_m: float, units: str) -> str:
    return f"{fixed(length_m, 1)} m" if units == "metric" else f"{fixed(length_m / FOOT_M, 1)} ft"
