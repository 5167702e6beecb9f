"""The crew's file: a page for the job, one for each area, one of cautions. No cost and no price."""

import re
from collections.abc import Iterable
from typing import Final

from basecalc.cautions import site_facts
from basecalc.core.numbers import fixed, half_up
from basecalc.pricing.records import Quote
from basecalc.schedule import StoneOrder, stone_order
from basecalc.takeoff.takeoff import AreaTakeoff, Quantity
from basecalc.workbook import crew_build, crew_levels, crew_lifts, crew_rolls
from basecalc.workbook.cautions import cautions
from basecalc.workbook.client_words import capital
from basecalc.workbook.crew_kit import COLUMNS, finish_page, head, new_crew_book, start_page
from basecalc.workbook.figures import shown_unit
from basecalc.workbook.layout import Flow
from basecalc.workbook.values import ValuedBook

JOB_SHEET: Final = "Job"
CAUTIONS_SHEET: Final = "Cautions"
_NO_NAME: Final = re.compile(r"[\[\]:*?/\\']")
_THINGS: Final = frozenset({"load", "roll", "bag"})
_LONGEST: Final = 28  # of the 31 letters that a sheet's name may have
_COUNTED: Final = (
    "old-pavement-haul",
    "spoil-haul",
    "stone-haul",
    "geotextile",
    "geogrid",
    "edge-restraint",
    "joint-sand",
)
_EVERYWHERE: Final = (
    "Water stands in the dig or runs into it.",
    "Peat, black or smelling soil, rubbish or dumped fill.",
    "A line that was not marked; the level of a foundation, a wall or its footing is reached.",
    "The side of the dig cracks or slumps, at any depth.",
)


def crew_file(quote: Quote, revision: int) -> bytes:
    """Return the crew's workbook."""
    book = new_crew_book()
    _job(book, quote, revision)
    names = sheet_names(area.area.name for area in quote.offer.takeoff.areas)
    for name, area in zip(names, quote.offer.takeoff.areas, strict=True):
        _area(book, name, quote, revision, area)
    _cautions(book, quote, revision)
    book.describe(f"Crew sheet {quote.job.number}", quote.book.company.name, "Digging and building; no prices")
    return book.to_bytes()


def sheet_names(areas: Iterable[str]) -> list[str]:
    """Return a name for the sheet of each area: its own, without what a sheet's name cannot hold, each once.

    Examples
    --------
    >>> sheet_names(["Drive/east", "Drive east", "Job"])
    ['Drive east', 'Drive east 2', 'Job 2']
    """
    taken = {JOB_SHEET.casefold(), CAUTIONS_SHEET.casefold()}
    names: list[str] = []
    for area in areas:
        plain = " ".join(_NO_NAME.sub(" ", area).split())[:_LONGEST] or "Area"
        name, count = plain, 1
        while name.casefold() in taken:
            count += 1
            name = f"{plain[: _LONGEST - 2]} {count}"
        taken.add(name.casefold())
        names.append(name)
    return names


def _area(book: ValuedBook, name: str, quote: Quote, revision: int, area: AreaTakeoff) -> None:
    flow = start_page(book, name, area.area.name, quote, revision)
    crew_levels.write(flow, quote, area)
    crew_lifts.write_fill(flow, quote, area)
    crew_rolls.write(flow, quote, area)
    crew_lifts.write_lifts(flow, quote, area)
    crew_build.write_loads(flow, quote, area)
    crew_build.write_holds(flow, quote, area)
    flow.gap(6)
    crew_build.write_stops(flow, quote, area)
    finish_page(flow, quote)


def _job(book: ValuedBook, quote: Quote, revision: int) -> None:
    flow = start_page(book, JOB_SHEET, "Crew sheet", quote, revision)
    flow.gap(6)
    lines = next(one for one in cautions("crew", ()) if one.key == "crew lines")
    flow.put(1, COLUMNS, f"BEFORE THE FIRST BUCKET: {lines.text}", "crew box")
    flow.next()
    _days(flow, stone_order(quote))
    head(flow, "Loads and materials, whole job")
    for code in _COUNTED:
        for quantity in quote.offer.takeoff.of(code):
            flow.put(1, 14, _item(quantity), "crew")
            flow.put(15, 18, half_up(quantity.amount, 1), "crew big", "#,##0")
            many = "s" if quantity.unit in _THINGS and quantity.amount != 1 else ""
            flow.put(19, COLUMNS, shown_unit(quantity.unit) + many, "crew")
            flow.next()
    head(flow, "Stop and call the office, everywhere")
    flow.put(1, COLUMNS, "\n".join(_EVERYWHERE), "crew box")
    flow.next()
    head(flow, "Hold points for every area: the bottom of the dig before stone, the finished base before sand")
    for text, source in crew_build.everywhere(quote.job.units):
        flow.put(1, COLUMNS, text, "crew")
        flow.next()
        flow.put(1, COLUMNS, source, "crew source")
        flow.next()
    if quote.job.notes:
        head(flow, "Notes")
        for note in quote.job.notes:
            flow.put(1, COLUMNS, note, "crew")
            flow.next()
    finish_page(flow, quote)


def _item(quantity: Quantity) -> str:
    return capital(quantity.item + (f": {quantity.variant}" if quantity.variant else "")) + (
        f", {quantity.area}" if quantity.area else ""
    )


def _days(flow: Flow, order: StoneOrder) -> None:
    head(flow, "Which day" if order.start is None else f"Which day; day 1 is {order.start:%a %Y-%m-%d}")
    for step in order.plan:
        flow.put(1, 14, capital(step.title), "crew")
        first, last = step.first_day, step.last_day
        if first is None:
            days = "day not known"
        elif last is None:
            days = f"from day {first}"
        else:
            days = f"day {first}" if first == last else f"day {first} to {last}"
        flow.put(15, 19, days, "crew label")
        flow.put(20, COLUMNS, "no rate" if step.hours is None else f"{fixed(step.hours, 1)} h", "crew")
        flow.next()
    for stone in order.stones:
        brings = [f"day {one.day}: {one.loads}" for one in stone.deliveries if one.day is not None]
        if brings:
            flow.put(1, COLUMNS, f"Loads of {stone.material}: {', '.join(brings)}.", "crew")
            flow.next()


def _cautions(book: ValuedBook, quote: Quote, revision: int) -> None:
    flow = start_page(book, CAUTIONS_SHEET, "Cautions", quote, revision)
    flow.gap(6)
    for caution in cautions("crew", site_facts(quote), quote.job.units):
        flow.put(1, 6, caution.heading, "crew label")
        flow.put(7, COLUMNS, f"{caution.text} ({capital(caution.told)})" if caution.told else caution.text, "crew")
        flow.next()
        flow.put(7, COLUMNS, caution.source, "crew source")
        flow.next(rule=True)
    finish_page(flow, quote)
