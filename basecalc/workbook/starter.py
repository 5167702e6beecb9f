"""What goes into a new price workbook: the built-in starter, or records of one's own laid over it."""

import tomllib
from collections.abc import Mapping, Sequence
from functools import cache
from importlib.resources import files
from typing import Any

from basecalc.company import COMPANY_TABLES, settings
from basecalc.core.errors import BasecalcError, InputError
from basecalc.core.numbers import choice, quoted
from basecalc.core.units import Measure, convert, to_unit
from basecalc.pricing.prices import PRICES
from basecalc.tables.schema import Field, Table
from basecalc.takeoff.codes import units_like
from basecalc.takeoff.model import CODES

Rows = tuple[Mapping[str, Any], ...]
_TABLES: Mapping[str, Table] = {table.key: table for table in (*COMPANY_TABLES, PRICES)}


@cache
def built_in() -> Mapping[str, Any]:
    """Return the starter that comes with the package: materials without prices, work without rates."""
    return tomllib.loads((files("basecalc") / "data" / "starter.toml").read_text("utf-8"))


def edition(records: Mapping[str, Any]) -> str:
    """Return 'us' or 'metric': what the records say under settings, units."""
    _require_mappings("settings", [records.get("settings", {})])
    return choice("units", dict(records.get("settings", {})).get("units", "us"), ("us", "metric"))


def setting_values(records: Mapping[str, Any], units: str) -> dict[str, Any]:
    """Return what is in the value cell of each setting, by key: as given, else its default, else nothing."""
    given = dict(records.get("settings", {}))
    for key in given:
        if key not in settings():
            raise InputError(f"there is no setting {quoted(key)}", where="settings")
    values = {}
    for key, setting in settings().items():
        value = given.get(key, setting.edge_default(units))
        if isinstance(setting.kind, Measure) and isinstance(value, str):
            value = to_unit(setting.label, value, setting.unit(units))
        values[key] = value
    return values


def table_rows(records: Mapping[str, Any], table: Table, units: str) -> Rows:
    """Return the rows of a table as the sheet shows them, in the units of the edition."""
    for key, rows in records.items():
        if key not in ("settings", "sure") and key not in _TABLES:
            raise InputError(f"there is no table {quoted(key)}; tables are: settings, {', '.join(_TABLES)}")
        if key == "sure":
            continue
        if key == "settings":
            _require_mappings(key, [rows])
        elif not isinstance(rows, list | tuple):
            raise InputError(f"{key} is {quoted(rows)}; it must be a list of rows")
        else:
            _require_mappings(key, rows)
    own = table.key in records
    rows = records[table.key] if own else built_in().get(table.key, ())
    if table is PRICES:
        rows = _price_rows(rows if own else [{"code": key} for key in CODES if CODES[key].must_be_priced], units)
    return tuple(_row(row, table, units, own=own) for row in rows)


def _require_mappings(key: str, rows: Sequence[Any]) -> None:
    """Refuse a row that says nothing by field."""
    for row in rows:
        if not isinstance(row, Mapping):
            raise InputError(f"{key} holds {quoted(row)}; it must be a mapping of fields and their values")


def _row(row: Mapping[str, Any], table: Table, units: str, *, own: bool) -> Mapping[str, Any]:
    columns = {field.key: field for field in table.fields}
    for key in row:
        if key not in columns:
            raise InputError(f"there is no column {quoted(key)}; columns are: {', '.join(columns)}", where=table.key)
    shown_row = {key: _edge(row.get(key), field, units, own=own) for key, field in columns.items()}
    if table.key == "rates" and not own and units == "metric":
        shown_row["unit"] = CODES[str(row["code"])].units[-1]
    return shown_row


def _edge(value: Any, field: Field, units: str, *, own: bool) -> Any:
    """Return a value in the unit of the column; the built-in ones are US and are rounded to three places in metric."""
    unit = field.unit(units)
    if value is None or not unit:
        return value
    if isinstance(value, str):
        try:
            return to_unit(field.name, value, unit)
        except BasecalcError:
            return value  # the reader of the workbook will say what is wrong with it
    return value if own or unit == field.unit("us") else float(f"{convert(value, field.unit('us'), unit):.3g}")


def _price_rows(rows: Sequence[Mapping[str, Any]], units: str) -> list[dict[str, Any]]:
    """Return price rows with what their code says filled in: words, unit, tax."""
    filled = []
    for row in rows:
        known = CODES.get(str(row.get("code", "")))
        usual = {"item": known.title, "unit": known.unit(units), "taxable": known.taxable_default} if known else {}
        filled.append({**usual, **row})
    return filled


def unit_words() -> tuple[str, ...]:
    """Return every unit that some code may be priced in, as a drop-down offers them."""
    found = [(*units_like(code.units[0]), *code.also_priced_by) for code in CODES.values()]
    return tuple(dict.fromkeys(unit for units in found for unit in units))
