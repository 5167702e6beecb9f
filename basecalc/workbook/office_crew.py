"""The office's sheet Crew: how deep to dig from the finish, lifts, rolls, loads in and out, when to stop and call."""

from basecalc.pricing.record import Quote
from basecalc.workbook import client_words
from basecalc.workbook.figures import depth_format, depth_words, number, words
from basecalc.workbook.layout import Flow
from basecalc.workbook.office_sheet import columns, finish, start
from basecalc.workbook.values import ValuedBook

TITLE = "Crew"


def write(book: ValuedBook, quote: Quote, revision: int) -> None:
    """Write the sheet.

    Parameters
    ----------
    book
        The office's workbook.
    quote, revision
        The priced job and its revision.
    """
    flow = start(
        book, TITLE, (20.0, 14.0, 15.0, 13.0, 14.0, 15.5, 13.0), quote, revision, "For the crew on the day.",
    )  # fmt: skip
    _lines(flow)
    _depths(flow, quote)
    _build(flow, quote)
    _loads(flow, quote)
    _stops(flow, quote)
    finish(flow, quote, landscape=False)


def _lines(flow: Flow) -> None:
    flow.put(1, 7, "Before the first bucket: are the buried lines marked? Public lines by the one-call center (811 in "
             "the US), private lines by the client. No marks, no digging.", "caution")  # fmt: skip
    flow.next()


def _depths(flow: Flow, quote: Quote) -> None:
    units = quote.job.units
    flow.heading("How deep, measured down from the finished surface", 0)
    columns(flow, "Area", "Top of base", "Bottom of dig", "Stone base", "Dig, ground", "Past the edge", "Dig area",
            right=(2, 3, 4, 5, 6, 7))  # fmt: skip
    for area in quote.offer.takeoff.areas:
        row = flow.row
        flow.put(1, 1, area.area.name, "label")
        top = area.below_finish_m - area.new_m
        for column, depth in ((2, top), (4, area.new_m), (5, area.dig_m), (6, area.extension_m)):
            flow.put(column, column, number(depth, "depth", units), "number", depth_format(depth, units))
        bottom = number(area.below_finish_m, "depth", units)
        flow.formula(3, 3, f"=B{row}+D{row}", bottom, "strong", depth_format(area.below_finish_m, units))
        flow.put(7, 7, words(area.base_area_m2, "area", units), "number")
        flow.next(rule=True)
        for text in (area.area.note, *area.flags):
            if text:
                flow.put(2, 7, client_words.capital(text), "caution")
                flow.next()
        if area.area.old_pavement_m > 0:
            kind = area.area.old_pavement_kind or "pavement"
            flow.put(2, 7, f"Old {kind}, {depth_words(area.area.old_pavement_m, units)} thick, comes out first.")
            flow.next()
        if area.area.loose_fill is not None and area.fill_m > 0:
            deep = depth_words(area.area.loose_fill.depth_m, units)
            flow.put(2, 7, f"Dig on to sound ground, {deep} below the surface of today; call before it is filled.")
            flow.next()


def _build(flow: Flow, quote: Quote) -> None:
    units = quote.job.units
    flow.heading("How to build it up")
    for area in quote.offer.takeoff.areas:
        steps = []
        if area.area.geotextile:
            steps.append("geotextile on the dug ground")
        if client_words.on_grid(quote, area.area.name):
            strips = "one strip" if area.strips == 1 else f"{area.strips} strips side by side"
            steps.append(f"geogrid in {strips}, overlap {depth_words(area.overlap_m, units)}")
        lifts = "one lift" if area.lifts == 1 else f"{area.lifts} lifts"
        if area.kept_m > 0:
            steps.append(f"level the old base that stays, {depth_words(area.kept_m, units)} thick, and loosen its top")
        past = f", past the edge {depth_words(area.base_m, units)} deep," if area.kept_m > 0 else ""
        steps.append(
            f"stone{past} in {lifts} of {depth_words(area.lift_m, units)} compacted, each rolled before the next"
        )
        if area.fill_m3 > 0 and area.area.loose_fill is not None:
            steps.insert(0, f"granular fill, {depth_words(area.fill_m, units)} deep, in lifts, up to the base")
        elif area.fill_m3 > 0:
            fill = f"granular fill along {words(area.area.foundation_edge_m, 'length', units)} of foundation"
            steps.append(f"{fill}, {depth_words(area.area.foundation_fill_depth_m, units)} deep, in lifts")
        flow.put(1, 1, area.area.name, "label")
        flow.put(2, 7, client_words.capital("; ".join(steps)) + ".")
        flow.next(rule=True)


def _loads(flow: Flow, quote: Quote) -> None:
    takeoff, company = quote.offer.takeoff, quote.book.company
    flow.heading("Loads, rolls and hours")
    for code in ("old-pavement-haul", "spoil-haul", "stone-haul", "geogrid", "geotextile"):
        for quantity in takeoff.of(code):
            flow.put(1, 2, client_words.capital(quantity.item + (f", {quantity.variant}" if quantity.variant else "")))
            flow.put(3, 3, round(quantity.amount, 2), "strong", "#,##0.##" if not takeoff.whole_loads else "whole")
            flow.put(4, 4, quantity.unit + ("s" if quantity.amount != 1 else ""))
            flow.put(5, 7, quantity.area or "whole job", "quiet")
            flow.next(rule=True)
    hours = [work.crew_h for work in quote.offer.hours if work.crew_h is not None]
    if hours:
        total = sum(hours)
        flow.put(1, 2, "Crew hours, by the owner's rates")
        flow.put(3, 3, round(total, 1), "strong", "one")
        flow.put(4, 7, f"h, about {total / company.hours_per_day:.1f} days of {company.hours_per_day:g} h", "quiet")
        flow.next(rule=True)


def _stops(flow: Flow, quote: Quote) -> None:
    units = quote.job.units
    flow.heading("Stop and call the office when")
    for area in quote.offer.takeoff.areas:
        name = area.area.name
        word = quote.ground[name].strength.strength_class
        rate = quote.extra_inch.areas.get(name)
        extra = f" Each further {quote.extra_inch.step} is priced; the client must agree first." if rate else ""
        flow.put(1, 1, name, "label")
        flow.put(
            2, 7,
            f"Priced for {word} ground. On the dug bottom: {client_words.stop_sign(word, units)}.{extra}", "caution",
        )  # fmt: skip
        flow.next()
    for text in (
        "The bottom pumps or ruts more than 1 in under a loaded tandem truck in the proof roll.",
        "Water stands in or runs into the dig; peat, black or smelling soil; rubbish or dumped fill.",
        "A line that was not marked; the level of a foundation, a wall or its footing is reached.",
        "The dig gets 5 ft deep, or its side cracks or slumps at any depth.",
    ):
        flow.put(1, 1, "Everywhere", "label")
        flow.put(2, 7, text, "caution")
        flow.next()
