"""Prices that have grown old: which, and by how many days; a word to the owner that never stops a quote.

What changed from one price workbook to another: prices, units, tax, settings, materials, trucks, rates, terms.
"""

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any, Final

from basecalc.company import COMPANY_TABLES, SOILS, TERMS, Company, Setting, settings
from basecalc.core.numbers import printed, quoted
from basecalc.core.units import convert
from basecalc.pricing.prices import Price, PriceBook
from basecalc.pricing.records import Quote
from basecalc.tables.schema import SHARE, Field, Table
from basecalc.takeoff.codes import unit_in

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
    """Return the old prices that a quote rests on, on its own day; today where the job has no date."""
    priced = (quote.stone, quote.geogrid, quote.standard)
    used = {line.code for one in priced if one is not None for line in one.lines}
    return old_prices(quote.book, quote.job.date, used)


def old_words(old: Sequence[OldPrice], company: Company) -> str:
    """Return old prices in a sentence; nothing where there are none."""
    if not old:
        return ""
    told = [f"{one.code} ({one.priced_on}, {one.days} days)" for one in old[:_SHOWN]]
    more = f" and {len(old) - _SHOWN} more" if len(old) > _SHOWN else ""
    count = "1 price is" if len(old) == 1 else f"{len(old)} prices are"
    return f"{count} older than {company.old_price_days} days: {', '.join(told)}{more}"


def old_numbers(old: Sequence[OldPrice]) -> list[dict[str, Any]]:
    """Return old prices as plain values."""
    return [{"code": one.code, "priced_on": one.priced_on.isoformat(), "days": one.days} for one in old]


@dataclass(frozen=True, slots=True)
class PriceChange:
    """One thing that differs between two price workbooks.

    Parameters
    ----------
    kind
        'price', 'unit', 'tax', 'added', 'removed', 'setting', or the title of a table of the sheet Company.
    what
        The code, the setting, or the row and its column.
    old, new
        What was there and what is there now, in words; empty where there was or is nothing.
    percent
        By how much a price rose [%], per unit of the same thing; None where it cannot be told.
    """

    kind: str
    what: str
    old: str
    new: str
    percent: float | None = None


def price_changes(new: PriceBook, old: PriceBook) -> tuple[PriceChange, ...]:
    """Return what changed from an older price workbook to a newer one: prices first, then settings and tables.

    Parameters
    ----------
    new, old
        The two workbooks.
    """
    return (*_prices(new, old), *_settings(new.company, old.company), *_tables(new.company, old.company))


def _told(price: Price) -> str:
    return f"${_money(price.unit_price)} a {price.unit}"


def _money(amount: Decimal) -> str:
    """Return a unit price with two places, or the more that it has."""
    places = max(2, -int(amount.normalize().as_tuple().exponent))
    return f"{amount:,.{places}f}"


def _prices(new: PriceBook, old: PriceBook) -> Iterator[PriceChange]:
    for code, now in new.prices.items():
        was = old.prices.get(code)
        if was is None:
            yield PriceChange("added", code, "", _told(now))
            continue
        if now.unit != was.unit:
            yield PriceChange("unit", code, _told(was), _told(now), _percent(now, was))
        elif now.unit_price != was.unit_price:
            yield PriceChange("price", code, _told(was), _told(now), _percent(now, was))
        if now.minimum != was.minimum:
            before, after = ("none" if one.minimum is None else f"${one.minimum:,.2f}" for one in (was, now))
            yield PriceChange("minimum", code, before, after)
        if now.taxable != was.taxable:
            before, after = ("taxed" if one.taxable else "not taxed" for one in (was, now))
            yield PriceChange("tax", code, before, after)
    for code, was in old.prices.items():
        if code not in new.prices:
            yield PriceChange("removed", code, _told(was), "")


def _percent(now: Price, was: Price) -> float | None:
    """Return by how much a price rose [%]; None from a price of 0, or where the units measure different things."""
    per_old_unit = unit_in(now.unit, was.unit)
    if not was.unit_price or per_old_unit is None:
        return None
    return printed((float(now.unit_price) * per_old_unit / float(was.unit_price) - 1) * 100)


def _settings(new: Company, old: Company) -> Iterator[PriceChange]:
    for key, setting in settings().items():
        was, now = (_held(one, key) for one in (old, new))
        if was != now:
            before, after = (_value(one, setting, new.units) or "nothing" for one in (was, now))
            yield PriceChange("setting", setting.label, before, after)


def _held(company: Company, key: str) -> Any:
    place, _, name = key.rpartition(".")
    if place == "checks":
        return name in company.design.checks
    return getattr(company.design if place else company, name)


def _tables(new: Company, old: Company) -> Iterator[PriceChange]:
    for table in COMPANY_TABLES:
        was, now = (_rows(one, table) for one in (old, new))
        for name, row in now.items():
            if name not in was:
                yield PriceChange(table.title, name, "", "added")
                continue
            for field in table.fields:
                cells = [held.get(field.record_name) for held in (was[name], row)]
                if cells[0] != cells[1]:
                    before, after = (_value(cell, field, new.units) for cell in cells)
                    yield PriceChange(table.title, f"{name}: {field.name}", before, after)
        for name in was:
            if name not in now:
                yield PriceChange(table.title, name, "there", "removed")
        if list(was) != list(now) and sorted(was) == sorted(now):
            yield PriceChange(table.title, "order of the rows", ", ".join(was), ", ".join(now))


def _rows(company: Company, table: Table) -> Mapping[str, Mapping[str, Any]]:
    """Return what is in the rows of a table, by what names them."""
    held = getattr(company, table.key)
    if table is SOILS:
        return {soil: {"swell": swell} for soil, swell in held.items()}
    if table is TERMS:
        return {line: {} for line in held}
    names = [field.record_name for field in table.fields if field.into != "-"]
    return {getattr(row, names[0]): {name: getattr(row, name) for name in names} for row in held}


def _value(value: Any, field: Field, units: str) -> str:
    """Return what is in a cell, in the unit of the edition."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, str) and isinstance(field, Setting):
        return value
    if isinstance(value, str) or value is None:
        return quoted(value)
    unit = field.unit(units)
    if unit == SHARE:
        return f"{printed(value * 100):g} %"
    shown = convert(value, field.kind.inside, unit) if unit else value
    return f"{float(f'{shown:.6g}'):g} {unit}".rstrip()
