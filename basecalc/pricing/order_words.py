"""The stone order in words: a text to paste into a message for the supplier, and what sharing trips would change."""

from datetime import date
from typing import Final

from basecalc.checks import counted
from basecalc.pricing.order import BackHaul, Delivery, StoneOrder, stone_order
from basecalc.pricing.record import Quote
from basecalc.rounding import fixed

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
    """Return the text of an order, one line a delivery.

    Parameters
    ----------
    order
        The order.
    """
    lines = ["Stone order", f"Site: {order.site}"]
    if order.start is not None:
        lines.append(f"Day 1 is {order.start:%a %Y-%m-%d}.")
    elif any(one.day is not None for stone in order.stones for one in stone.deliveries):
        lines.append("Day 1 is our first day on site; we will tell you its date.")
    for stone in order.stones:
        lines += [
            "",
            f"{stone.material}: {fixed(stone.tons, 2)} {order.ton} in all, {counted(stone.loads, 'load')} of up to "
            f"{fixed(stone.full_tons, 2)} {order.ton}",
            *(f"  {when(one)}: {_loads(one, stone.full_tons, order.ton)}" for one in stone.deliveries),
        ]
    return "\n".join(lines)


def when(delivery: Delivery) -> str:
    """Return when a delivery must be there, in words.

    Parameters
    ----------
    delivery
        The delivery.
    """
    if delivery.day is None:
        return "on a day we will tell you"
    dated = f" ({delivery.date:%a %Y-%m-%d})" if delivery.date else ""
    return f"day {delivery.day}{dated}, {hour_words(delivery.after_h)}"


def hour_words(after_h: float) -> str:
    """Return a time of the working day in words.

    Parameters
    ----------
    after_h
        Hours after the start of work [h].

    Examples
    --------
    >>> hour_words(0.2), hour_words(2.6)
    ('first thing', 'about 3 h after the start of work')
    """
    return "first thing" if after_h < _FIRST_THING_H else f"about {fixed(after_h, 0)} h after the start of work"


def _loads(delivery: Delivery, full_tons: float, ton: str) -> str:
    part = delivery.last_tons < full_tons - 0.005
    thing = "part load" if part and delivery.loads == 1 else "load"
    words = f"{counted(delivery.loads, thing)}, {fixed(delivery.tons, 2)} {ton}"
    return f"{words}, the last one {fixed(delivery.last_tons, 2)} {ton}" if part and delivery.loads > 1 else words


def back_haul_words(found: BackHaul) -> str:
    """Return what back-hauling changes on a job, in sentences.

    Parameters
    ----------
    found
        Loads in and out, and what may be shared.
    """
    priced = (
        f"Priced: {counted(found.loads_in, 'load')} of stone and fill in, {counted(found.loads_out, 'load')} of soil "
        "out, each a trip of its own."
    )
    if not found.asked:
        return f"{priced} Sharing trips is off on the sheet Company."
    if found.other_truck:
        return f"{priced} Sharing trips is on, but soil goes out by another truck than stone comes in: none is shared."
    return (
        f"{priced} With soil going out on the trucks that bring stone, up to {counted(found.shared, 'trip')} could be "
        "saved. That changes the order only: no quantity and no price in this quote is less by it. It needs soil that "
        "waits on the site until the stone comes, a box swept clean before stone goes in, and the haulier's word."
    )
