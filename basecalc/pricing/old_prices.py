"""Prices that have grown old: which, and by how many days; a word to the owner that never stops a quote."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any, Final

from basecalc.company import Company
from basecalc.pricing.prices import PriceBook
from basecalc.pricing.record import Quote

_SHOWN: Final = 4


@dataclass(frozen=True, slots=True)
class OldPrice:
    """A price that is older than the owner's limit.

    Parameters
    ----------
    code
        What it is the price of.
    priced_on
        Its day.
    days
        Its age on the day asked about [days].
    """

    code: str
    priced_on: date
    days: int


def old_prices(book: PriceBook, day: date | None = None, codes: Collection[str] | None = None) -> tuple[OldPrice, ...]:
    """Return the prices that are older than the owner's limit on a day, the oldest first.

    A price without a date is not among them: nobody knows how old it is.

    Parameters
    ----------
    book
        The owner's settings and prices.
    day
        The day; today where it is left out.
    codes
        Only these codes; every code where it is left out.
    """
    today = day or date.today()
    found = [
        OldPrice(price.code, price.priced_on, (today - price.priced_on).days)
        for price in book.prices.values()
        if price.priced_on is not None and (codes is None or price.code in codes)
    ]
    return tuple(
        sorted((one for one in found if one.days > book.company.old_price_days), key=lambda one: (-one.days, one.code))
    )


def old_in_quote(quote: Quote) -> tuple[OldPrice, ...]:
    """Return the old prices that a quote rests on, on its own day; today where the job has no date.

    Parameters
    ----------
    quote
        The priced job.
    """
    priced = (quote.stone, quote.geogrid, quote.habit)
    used = {line.code for one in priced if one is not None for line in one.lines}
    return old_prices(quote.book, quote.job.date, used)


def old_words(old: Sequence[OldPrice], company: Company) -> str:
    """Return old prices in a sentence; nothing where there are none.

    Parameters
    ----------
    old
        The old prices.
    company
        The owner's settings, which say when a price is old.
    """
    if not old:
        return ""
    told = [f"{one.code} ({one.priced_on}, {one.days} days)" for one in old[:_SHOWN]]
    more = f" and {len(old) - _SHOWN} more" if len(old) > _SHOWN else ""
    count = "1 price is" if len(old) == 1 else f"{len(old)} prices are"
    return f"{count} older than {company.old_price_days} days: {', '.join(told)}{more}"


def old_numbers(old: Sequence[OldPrice]) -> list[dict[str, Any]]:
    """Return old prices as plain values.

    Parameters
    ----------
    old
        The old prices.
    """
    return [{"code": one.code, "priced_on": one.priced_on.isoformat(), "days": one.days} for one in old]
