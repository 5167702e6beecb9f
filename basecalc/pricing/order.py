"""What stone to order for a job: whole loads, which of them must be there on which day, trips that may be shared."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import Final, cast

import numpy as np

from basecalc.company import Stone, Truck
from basecalc.pricing.record import Quote
from basecalc.pricing.work_plan import Step, work_plan
from basecalc.rounding import half_up, whole_up
from basecalc.takeoff.materials import Materials, materials
from basecalc.units import SHORT_TON_KG, TONNE_KG

# Each material with the step of the work that it is for.
STONE_STEPS: Final = {"foundation-fill": "foundation-place", "base-stone": "base-place", "bedding-sand": "paver-lay"}
_TOO_LATE_H: Final = 0.5


@dataclass(frozen=True, slots=True)
class Delivery:
    """The loads of one material that must be on site for one day's work.

    Parameters
    ----------
    day
        The day, the first day of work being 1; None where the owner's rates do not tell it.
    date
        Its date; None where the first day of work is not known.
    after_h
        How long after the start of that day's work the first of them is needed [h].
    loads
        Whole loads.
    tons
        What they hold together, in the tons of the job.
    last_tons
        What the last of them holds.
    """

    day: int | None
    date: date | None
    after_h: float
    loads: int
    tons: float
    last_tons: float


@dataclass(frozen=True, slots=True)
class OrderedStone:
    """One material of the order. Masses are in the tons of the job: short tons, or tonnes in a metric one.

    Parameters
    ----------
    code, material
        The price code, and the owner's name for it.
    step
        Title of the work it is for.
    tons, full_tons, last_tons
        All of it, a full load, and the last load.
    loads
        Whole loads.
    deliveries
        When they must be there.
    """

    code: str
    material: str
    step: str
    tons: float
    full_tons: float
    last_tons: float
    loads: int
    deliveries: tuple[Delivery, ...]


@dataclass(frozen=True, slots=True)
class BackHaul:
    """Trips on which a truck that brought stone takes soil out. Nothing that is priced rests on it.

    Parameters
    ----------
    asked
        Whether the owner wants it.
    loads_in, loads_out
        Loads of stone and fill in, loads of soil out: each is priced as a trip of its own.
    shared
        Round trips that may be saved at the most; 0 where it is not asked or soil goes by another truck.
    other_truck
        Whether soil goes by another truck than stone.
    """

    asked: bool
    loads_in: int
    loads_out: int
    shared: int
    other_truck: bool


@dataclass(frozen=True, slots=True)
class StoneOrder:
    """What to order for the option offered.

    Parameters
    ----------
    site
        The address of the site, without the client's name.
    ton
        'tons' (short tons) or 't'.
    start
        First day of work; None where it is not known yet.
    truck
        What brings the stone.
    stones
        The materials, in the order in which they are needed.
    plan
        The steps of the work with their days.
    back_haul
        What trips may be shared.
    trucks
        Every truck that the job takes, each once.
    """

    site: str
    ton: str
    start: date | None
    truck: Truck
    stones: tuple[OrderedStone, ...]
    plan: tuple[Step, ...]
    back_haul: BackHaul
    trucks: tuple[Truck, ...]


def stone_order(quote: Quote, start: date | None = None) -> StoneOrder:
    """Return what stone to order for the option that the client is offered.

    Parameters
    ----------
    quote
        The priced job.
    start
        First day of work; by default that of the job.
    """
    job, company = quote.job, quote.book.company
    own = materials(job, company)
    first = start or job.start
    plan = work_plan(quote.offer, company.hours_per_day)
    trucks = tuple(dict.fromkeys((own.stone_truck, own.spoil_truck)))
    stones = tuple(_ordered(quote, own, plan, first))
    return StoneOrder(
        site_only(job.site, job.client), "t" if job.units == "metric" else "tons", first, own.stone_truck, stones, plan,
        _back_haul(quote, own), trucks,
    )  # fmt: skip


def full_load_tons(truck: Truck, stone: Stone, units: str) -> float:
    """Return what a full load of a stone holds, in the tons of the job: by weight or by volume, the smaller.

    Parameters
    ----------
    truck, stone
        The owner's truck and stone.
    units
        'us' or 'metric'.
    """
    ton = TONNE_KG if units == "metric" else SHORT_TON_KG
    return min(truck.payload_kg, truck.box_m3 * stone.loose_density_kg_m3) / ton


def work_day(start: date, day: int) -> date:
    """Return the date of a day of work, Saturdays and Sundays left out; those up to the first day's own count.

    Parameters
    ----------
    start
        Date of the first day of work.
    day
        The day, from 1.

    Examples
    --------
    >>> work_day(date(2026, 6, 5), 2), work_day(date(2026, 6, 6), 3)
    (datetime.date(2026, 6, 8), datetime.date(2026, 6, 9))
    """
    worked = "1" * max(start.weekday() + 1, 5)
    moved = np.busday_offset(np.datetime64(start, "D"), day - 1, weekmask=worked.ljust(7, "0"))
    return cast(date, moved.item())


def site_only(site: str, client: str) -> str:
    """Return the address of the site for a supplier, with the client's name cut out where it stands in it.

    Parameters
    ----------
    site, client
        As the job gives them.

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
    for code, work in STONE_STEPS.items():
        stone, found = stones[code], quote.offer.takeoff.of(code)
        if stone is None or not found:
            continue
        tons = sum(one.amount for one in found)
        full = full_load_tons(own.stone_truck, stone, quote.job.units)
        loads = whole_up(tons / full)
        step = next(step for step in plan if step.code == work)
        deliveries = tuple(_deliveries(step, tons, full, start))
        yield OrderedStone(code, stone.name, step.title, tons, full, tons - (loads - 1) * full, loads, deliveries)


def _deliveries(step: Step, tons: float, full: float, start: date | None) -> Iterator[Delivery]:
    """Yield the loads by day: at any time at least as many are there as the step will have used by that evening."""
    exact, brought = tons / full, 0
    first, last = step.first_day, step.last_day
    days: list[int | None] = [first] if first is None or last is None else list(range(first, last + 1))
    if first and step.start_h is not None and len(days) > 1 and first * step.day_h - step.start_h < _TOO_LATE_H:
        days = days[1:]  # nobody starts it in the last minutes of a day
    for day in days:
        share = 1.0 if day is None or day == days[-1] else step.done_by(day)
        loads = whole_up(share * exact) - brought
        if not loads:
            continue
        before, brought = brought, brought + loads
        # Printed sums of the days before and after, so that the days sum to the order.
        held, had = (half_up(min(tons, count * full), 2) for count in (brought, before))
        last_tons = min(tons, brought * full) - (brought - 1) * full
        after = max((step.start_h or 0.0) - (day - 1) * step.day_h, 0.0) if day else 0.0
        yield Delivery(
            day, None if start is None or day is None else work_day(start, day), after, loads, half_up(held - had, 2),
            last_tons,
        )  # fmt: skip


def _back_haul(quote: Quote, own: Materials) -> BackHaul:
    hauled = quote.offer.takeoff.of("stone-haul")
    sand = own.bedding.name
    brought = sum(round(one.amount) for one in hauled if one.variant != sand)
    out = round(quote.offer.takeoff.amount("spoil-haul"))
    asked, other = quote.book.company.back_haul, own.stone_truck != own.spoil_truck
    return BackHaul(asked, brought, out, min(brought, out) if asked and not other else 0, other)
