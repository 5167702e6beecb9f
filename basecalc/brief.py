"""How a large record shows itself on a terminal or in a notebook: on one short line, with what is in it counted."""

from collections.abc import Mapping
from dataclasses import fields
from datetime import date
from decimal import Decimal
from typing import Any, Final

_LONGEST: Final = 40
_MOST: Final = 10


def brief(record: Any) -> str:
    """Return a record as one short line: its plain fields, and how much of everything else it holds.

    Parameters
    ----------
    record
        A dataclass.
    """
    said = [(one.name, getattr(record, one.name)) for one in fields(record) if one.repr]
    parts = [f"{name}={_value(value)}" for name, value in said if value is not None and value not in ("", (), {})]
    return f"{type(record).__name__}({', '.join(parts[:_MOST])}{', ...' if len(parts) > _MOST else ''})"


def _value(value: Any) -> str:
    if isinstance(value, str):
        return repr(value if len(value) <= _LONGEST else f"{value[: _LONGEST - 3]}...")
    if value is None or isinstance(value, bool | int | date):
        return str(value)
    if isinstance(value, float | Decimal):
        return f"{value:.6g}" if isinstance(value, float) else str(value)
    if isinstance(value, Mapping | tuple | list | frozenset):
        return f"<{len(value)}>"
    names = (getattr(value, key, None) for key in ("name", "number", "total"))
    name = next((_value(one) for one in names if isinstance(one, str | Decimal)), "")
    return f"<{type(value).__name__}{f' {name}' if name else ''}>"
