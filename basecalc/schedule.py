"""Which work falls on which day, and what stone to order for it: whole loads by day, and the text for the supplier."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from math import floor
from typing import Final

from basecalc.company import Stone, Truck
from basecalc.core.numbers import fixed, half_up, number, plural, round_up
from basecalc.core.units import SHORT_TON_KG, TONNE_KG
from basecalc.core.words import SHOWN_UNITS
from basecalc.pricing.records import Estimate, Line, Quote
from basecalc.takeoff.codes import code, units_like
from basecalc.takeoff.takeoff import Materials, materials

STEPS: Final = ("old-pavement", "dig", "foundation-place", "base-place", "paver-lay")
EXTRA: Final = "extra"  # a step that is an extra line of the job


@dataclass(frozen=True, slots=True)
class Step:
    """A step of the work on the whole job."""

    code: str
    title: str
    hours: float | None
    start_h: float | None
    end_h: float | None
    day_h: float

    @property
    def first_day(self) -> int | None:
        """The day it begins, the first day of work being 1; None where nobody can tell."""
        return None if self.start_h is None else floor(round(self.start_h / self.day_h, 9)) + 1

    @property
    def last_day(self) -> int | None:
        """The day it ends; None where nobody can tell."""
        if self.end_h is None or self.first_day is None:
            return None
        return max(round_up(self.end_h / self.day_h), self.first_day)

    def done_by(self, day: int) -> float:
        """Return the share of the step that is done at the end of a day; all of it where its length is not known."""
        if self.start_h is None or self.end_h is None:
            return 1.0
        done = (min(day * self.day_h, self.end_h) - self.start_h) / (self.end_h - self.start_h)
        return min(max(round(done, 12), 0.0), 1.0)


def work_plan(estimate: Estimate, hours_per_day: float) -> tuple[Step, ...]:
    """Return the steps of a job with their hours and days, in the order of the work.

    One crew is taken to finish each step on every area before it begins the next. Extra lines by the hour or the day
    come last, each a step of its own.
    """
    day = number("hours in a day", hours_per_day, "h", 0.5, 24.0)
    order = {key: place for place, key in enumerate(STEPS)} | {EXTRA: len(STEPS) + 1}
    steps: list[Step] = []
    clock: float | None = 0.0
    for work in sorted(estimate.work(day), key=lambda one: order.get(one.code, len(STEPS))):
        known = [hours for hours in (work.crew_h, work.machine_h) if hours is not None]
        hours = max(known) if known else None
        end = None if clock is None or hours is None else clock + hours
        steps.append(
            Step(work.code, work.item if work.code == EXTRA else code(work.code).title, hours, clock, end, day)
        )
        clock = end
    return tuple(steps)


# Units of what a supplier of stone and soil brings.
LOOSE: Final = frozenset({*units_like("ton"), *units_like("yd3")})
# Each material with the step of the work that it is for.
STONE_STEPS: Final = {"foundation-fill": "foundation-place", "base-stone": "base-place", "bedding-sand": "paver-lay"}
_TOO_LATE_H: Final = 0.5
_WORK_DAYS: Final = 5  # of a week


@dataclass(frozen=True, slots=True)
class Delivery:
    """The loads of one material that must be on site for one day's work."""

    day: int | None
    date: date | None
    after_h: float
    loads: int
    tons: float
    last_tons: float


@dataclass(frozen=True, slots=True)
class OrderedStone:
    """One material of the order. Masses are in the tons of the job: short tons, or tonnes in a metric one."""

    code: str
    material: str
    tons: float
    full_tons: float
    last_tons: float
    loads: int
    deliveries: tuple[Delivery, ...]


@dataclass(frozen=True, slots=True)
class BackHaul:
    """Trips on which a truck that brought stone takes soil out. Nothing that is priced rests on it."""

    asked: bool
    loads_in: int
    loads_out: int
    shared: int
    other_truck: bool


@dataclass(frozen=True, slots=True)
class StoneOrder:
    """What to order for the option offered: stone by the load, and what extra lines need."""

    site: str
    ton: str
    start: date | None
    truck: Truck
    stones: tuple[OrderedStone, ...]
    extras: tuple[Line, ...]
    plan: tuple[Step, ...]
    back_haul: BackHaul
    trucks: tuple[Truck, ...]


def stone_order(quote: Quote, start: date | None = None) -> StoneOrder:
    """Return what stone to order for the option that the client is offered."""
    job, company = quote.job, quote.book.company
    own = materials(job, company)
    first = start or job.start
    plan = work_plan(quote.offer, company.hours_per_day)
    trucks = tuple(dict.fromkeys((own.stone_truck, own.spoil_truck)))
    stones = tuple(_ordered(quote, own, plan, first))
    return StoneOrder(
        site_only(job.site, job.client), "t" if job.units == "metric" else "tons", first, own.stone_truck, stones,
        quote.offer.to_get, plan, _back_haul(quote, own), trucks,
    )  # fmt: skip


def full_load_tons(truck: Truck, stone: Stone, units: str) -> float:
    """Return what a full load of a stone holds, in the tons of the job: by weight or by volume, the smaller."""
    ton = TONNE_KG if units == "metric" else SHORT_TON_KG
    return min(truck.payload_kg, truck.box_m3 * stone.loose_density_kg_m3) / ton


def work_day(start: date, day: int) -> date:
    """Return the date of a day of work, Saturdays and Sundays left out; those up to the first day's own count.

    Examples
    --------
    >>> work_day(date(2026, 6, 5), 2), work_day(date(2026, 6, 6), 3)
    (datetime.date(2026, 6, 8), datetime.date(2026, 6, 9))
    """
    days_of_a_week = max(start.weekday() + 1, _WORK_DAYS)
    when = start
    for _ in range(day - 1):
        when += timedelta(1)
        while when.weekday() >= days_of_a_week:
            when += timedelta(1)
    return when


def site_only(site: str, client: str) -> str:
    """Return the address of the site for a supplier, without the client's name.

    Examples
    --------
    >>> site_only("c/o Ada Fell, 4 Mill Lane, Brackwater", "Ada Fell")
    '4 Mill Lane, Brackwater'
    """
    at = site.casefold().find(client.casefold())
    if not client or at < 0:
        return site
    rest = f"{site[:at]}, {site[at + len(client) :]}"
    parts = [part.strip(" .:;-()[]") for part in rest.split(",")]
    return ", ".join(part for part in parts if part and part.casefold() not in ("c/o", "for", "attn")) or "to follow"


def _ordered(quote: Quote, own: Materials, plan: tuple[Step, ...], start: date | None) -> Iterator[OrderedStone]:
    stones = {"base-stone": own.stone, "foundation-fill": own.fill, "bedding-sand": own.bedding}
    for key, work in STONE_STEPS.items():
        stone, quantities = stones[key], quote.offer.takeoff.of(key)
        if stone is None or not quantities:
            continue
        tons = sum(quantity.amount for quantity in quantities)
        full = full_load_tons(own.stone_truck, stone, quote.job.units)
        loads = round_up(tons / full)
        step = next(step for step in plan if step.code == work)
        deliveries = tuple(_deliveries(step, tons, full, start))
        yield OrderedStone(key, stone.name, tons, full, tons - (loads - 1) * full, loads, deliveries)


def _deliveries(step: Step, tons: float, full: float, start: date | None) -> Iterator[Delivery]:
    """Yield the loads by day: at any time at least as many are there as the step will have used by that evening."""
    exact, brought = tons / full, 0
    first, last = step.first_day, step.last_day
    days: list[int | None] = [first] if first is None or last is None else list(range(first, last + 1))
    if first and step.start_h is not None and len(days) > 1 and first * step.day_h - step.start_h < _TOO_LATE_H:
        days = days[1:]  # nobody starts it in the last minutes of a day
    for day in days:
        share = 1.0 if day is None or day == days[-1] else step.done_by(day)
        loads = round_up(share * exact) - brought
        if not loads:
            continue
        before, brought = brought, brought + loads
        # Printed sums of the days before and after, so that the days sum to the order.
        there, had = (half_up(min(tons, count * full), 2) for count in (brought, before))
        last_tons = min(tons, brought * full) - (brought - 1) * full
        after = max((step.start_h or 0.0) - (day - 1) * step.day_h, 0.0) if day else 0.0
        yield Delivery(
            day, None if start is None or day is None else work_day(start, day), after, loads, half_up(there - had, 2),
            last_tons,
        )  # fmt: skip


def _back_haul(quote: Quote, own: Materials) -> BackHaul:
    hauled = quote.offer.takeoff.of("stone-haul")
    sand = own.bedding.name
    brought = sum(round(quantity.amount) for quantity in hauled if quantity.variant != sand)
    out = round(quote.offer.takeoff.amount("spoil-haul"))
    asked, other = quote.book.company.back_haul, own.stone_truck != own.spoil_truck
    return BackHaul(asked, brought, out, min(brought, out) if asked and not other else 0, other)


_FIRST_THING_H: Final = 0.5


def order_text(quote: Quote, start: date | None = None) -> str:
    """Return the stone order as plain text for the supplier: site, materials, tons, loads, days. No client, no price.

    Parameters
    ----------
    quote
        The priced job.
    start
        First day of work; by default that of the job.
    """
    return message(stone_order(quote, start))


def message(order: StoneOrder) -> str:
    """Return the text of an order, one line a delivery."""
    lines = ["Stone order", f"Site: {order.site}"]
    if order.start is not None:
        lines.append(f"Day 1 is {order.start:%a %Y-%m-%d}.")
    elif any(delivery.day is not None for stone in order.stones for delivery in stone.deliveries):
        lines.append("Day 1 is our first day on site; we will tell you its date.")
    for stone in order.stones:
        lines += [
            "",
            f"{stone.material}: {fixed(stone.tons, 2)} {order.ton} in all, {plural(stone.loads, 'load')} of up to "
            f"{fixed(stone.full_tons, 2)} {order.ton}",
            *(f"  {when(delivery)}: {_loads(delivery, stone.full_tons, order.ton)}" for delivery in stone.deliveries),
        ]
    loose = [line for line in order.extras if line.unit in LOOSE]
    if loose:
        lines += ["", "Also needed, on a day we will tell you:"]
    lines += [f"  {line.item}: {fixed(line.quantity, 2)} {SHOWN_UNITS.get(line.unit, line.unit)}" for line in loose]
    return "\n".join(lines)


def when(delivery: Delivery) -> str:
    """Return when a delivery must be there, in words."""
    if delivery.day is None:
        return "on a day we will tell you"
    dated = f" ({delivery.date:%a %Y-%m-%d})" if delivery.date else ""
    return f"day {delivery.day}{dated}, {hour_words(delivery.after_h)}"


def hour_words(after_h: float) -> str:
    """Return a time of the working day in words.

    Examples
    --------
    >>> hour_words(0.2), hour_words(2.6)
    ('first thing', 'about 3 h after the start of work')
    """
    return "first thing" if after_h < _FIRST_THING_H else f"about {fixed(after_h, 0)} h after the start of work"


def _loads(delivery: Delivery, full_tons: float, ton: str) -> str:
    part = delivery.last_tons < full_tons - 0.005
    thing = "part load" if part and delivery.loads == 1 else "load"
    words = f"{plural(delivery.loads, thing)}, {fixed(delivery.tons, 2)} {ton}"
    return f"{words}, the last one {fixed(delivery.last_tons, 2)} {ton}" if part and delivery.loads > 1 else words


def back_haul_words(trips: BackHaul) -> str:
    """Return what back-hauling changes on a job, in sentences."""
    priced = (
        f"Priced: {plural(trips.loads_in, 'load')} of stone and fill in, {plural(trips.loads_out, 'load')} of soil "
        "out, each a trip of its own."
    )
    if not trips.asked:
        return f"{priced} Sharing trips is off on the sheet Company."
    if trips.other_truck:
        return f"{priced} Sharing trips is on, but soil goes out by another truck than stone comes in: none is shared."
    return (
        f"{priced} With soil going out on the trucks that bring stone, up to {plural(trips.shared, 'trip')} could be "
        "saved. That changes the order only: no quantity and no price in this quote is less by it. It needs soil that "
        "waits on the site until the stone comes, a box swept clean before stone goes in, and the trucker's agreement."
    )
