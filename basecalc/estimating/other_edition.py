"""The same records in the units of the other edition: what a company is does not change with the sheet it stands on."""

from collections.abc import Mapping
from typing import Any, Final

from basecalc.company import settings
from basecalc.core.units import convert
from basecalc.pricing.price_tables import COMPANY_TABLES, PRICES
from basecalc.tables.schema import Table
from basecalc.takeoff.codes import codes
from basecalc.workbook.starter import edition

_TABLES: Final[Mapping[str, Table]] = {table.key: table for table in COMPANY_TABLES}


def in_unit(value: float, unit: str, to: str) -> float:
    """Return a number in another unit, without the noise behind the fourteenth digit.

    Examples
    --------
    >>> in_unit(14, "in", "mm"), in_unit(14, "in", "in")
    (355.6, 14)
    """
    return value if unit == to else float(f"{convert(value, unit, to):.14g}")


def records_in(records: Mapping[str, Any], units: str) -> Mapping[str, Any]:
    """Return the records of a template in the units of an edition.

    A setting that the records leave to its default is filled in, for the round default of the other edition is not the
    same; so is the unit of a price that names none, for the price is for one of the old unit. Tables that they leave to
    the built-in ones stay so.

    Examples
    --------
    >>> records_in({"settings": {"lift_m": 6}}, "metric")["settings"]["lift_m"]
    152.4
    """
    old = edition(records)
    if old == units:
        return records
    given = dict(records.get("settings", {}))
    inside: dict[str, Any] = {}
    for key, setting in settings().items():
        if key in given or setting.edge_default(old) is not None:
            value = given.get(key, setting.edge_default(old))
            inside[key] = _other(value, setting.edge_unit(old), setting.edge_unit(units))
    unknown = {key: value for key, value in given.items() if key not in settings()}  # for the writer to refuse
    made: dict[str, Any] = {**records, "settings": {**inside, **unknown, "units": units}}
    if PRICES.key in records:
        made[PRICES.key] = [_with_unit(row, old) for row in records[PRICES.key]]
    for key, table in _TABLES.items():
        if key in records:
            changed = {column.key: (column.unit(old), column.unit(units)) for column in table.fields}
            made[key] = [
                {field: _other(value, *changed.get(field, ("", ""))) for field, value in row.items()}
                for row in records[key]
            ]
    return made


def _with_unit(price: Mapping[str, Any], units: str) -> Mapping[str, Any]:
    known = codes().get(str(price.get("code", "")))
    return {"unit": known.unit(units), **price} if known else price


def _other(value: Any, unit: str, to: str) -> Any:
    """Return a plain number in the other unit; a text, which may carry its own, and all else as they are."""
    if unit == to or isinstance(value, bool) or not isinstance(value, int | float | str):
        return value
    if isinstance(value, str):
        try:
            value = float(value)
        except ValueError:
            return value
    return in_unit(value, unit, to)
