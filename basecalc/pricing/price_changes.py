"""What changed from one price workbook to another: prices, units, tax, settings, materials, trucks, rates, terms."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields
from decimal import Decimal
from typing import Any, Final

from basecalc.checks import shown
from basecalc.company import Company, Setting, settings
from basecalc.pricing.price_cells import Column
from basecalc.pricing.price_tables import COMPANY_TABLES, SOILS, TERMS, SheetTable
from basecalc.pricing.prices import Price, PriceBook
from basecalc.rounding import printed
from basecalc.takeoff.owner import units_like
from basecalc.units import convert
from basecalc.validation import words

# How the fields of the company's records end, and the unit that says.
_SUFFIXES: Final = {
    "_kg_m3": "kg/m3", "_m3": "m3", "_mm": "mm", "_m": "m", "_kg": "kg", "_kn": "kN", "_kpa": "kPa",
}  # fmt: skip


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
        What stood there and what stands there, in words; nothing where there was or is nothing.
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
    if not was.unit_price or now.unit not in units_like(was.unit):
        return None
    per_old_unit = 1.0 if now.unit == was.unit else convert(1.0, was.unit, now.unit)
    return printed((float(now.unit_price) * per_old_unit / float(was.unit_price) - 1) * 100)


def _settings(new: Company, old: Company) -> Iterator[PriceChange]:
    for key, setting in settings().items():
        was, now = (_held(one, key) for one in (old, new))
        if was != now:
            before, after = (_setting(setting, one, new.units) for one in (was, now))
            yield PriceChange("setting", setting.label, before, after)


def _held(company: Company, key: str) -> Any:
    place, _, name = key.rpartition(".")
    if place == "checks":
        return name in company.design.checks
    return getattr(company.design if place else company, name)


def _setting(setting: Setting, value: Any, units: str) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, str):
        return value or "nothing"
    unit = setting.edge_unit(units)
    if unit == "share":
        return f"{printed(value * 100):g} %"
    inside = setting.inside or setting.unit
    shown_value = convert(value, inside, unit) if unit and unit != inside else value
    return f"{float(f'{shown_value:.6g}'):g} {unit}".rstrip()


def _tables(new: Company, old: Company) -> Iterator[PriceChange]:
    for table in COMPANY_TABLES:
        was, now = (_rows(one, table) for one in (old, new))
        for name, row in now.items():
            if name not in was:
                yield PriceChange(table.title, name, "", "added")
            else:
                yield from _row(table, name, was[name], row, new.units)
        for name in was:
            if name not in now:
                yield PriceChange(table.title, name, "there", "removed")
        if list(was) != list(now) and sorted(was) == sorted(now):
            yield PriceChange(table.title, "order of the rows", ", ".join(was), ", ".join(now))


def _rows(company: Company, table: SheetTable) -> Mapping[str, Any]:
    """Return the rows of a table by what names them."""
    held = getattr(company, table.key)
    if table is SOILS:
        return dict(held)
    if table is TERMS:
        return dict.fromkeys(held)
    name = table.columns[0].field
    return {getattr(row, name): row for row in held}


def _row(table: SheetTable, name: str, was: Any, now: Any, units: str) -> Iterator[PriceChange]:
    if was == now:
        return
    if table is SOILS:
        yield PriceChange(table.title, f"{name}: swell", f"{was:g}", f"{now:g}")
        return
    for one in fields(now):
        pair = [getattr(row, one.name) for row in (was, now)]
        if pair[0] != pair[1]:
            column, inside = _column(table, one.name)
            label = column.label if column else words(one.name)
            before, after = (_value(value, column, inside, units) for value in pair)
            yield PriceChange(table.title, f"{name}: {label}", before, after)


def _column(table: SheetTable, field: str) -> tuple[Column | None, str]:
    """Return the column of the sheet that fills a field of a record, and the unit the record holds it in."""
    inside = next((unit for ending, unit in _SUFFIXES.items() if field.endswith(ending)), "")
    ending = next((ending for ending in _SUFFIXES if field.endswith(ending)), "")
    stem = field.removesuffix(ending)
    return next((column for column in table.columns if column.field in (field, stem)), None), inside


def _value(value: Any, column: Column | None, inside: str, units: str) -> str:
    if isinstance(value, str) or value is None:
        return shown(value)
    unit = column.edge_unit(units) if column else ""
    if unit == "share":
        return f"{printed(value * 100):g} %"
    told = convert(value, inside, unit) if inside and unit and unit != inside else value
    return f"{float(f'{told:.5g}'):g} {unit or inside}".rstrip()
