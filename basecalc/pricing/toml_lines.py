"""Tables of plain values as lines of TOML, each an entry and what stands behind it, and back."""

import json
import re
import tomllib
from collections.abc import Collection, Iterator, Mapping, Sequence
from datetime import date
from decimal import Decimal
from typing import Any, Final

from basecalc.checks import shown
from basecalc.errors import InputError

Line = tuple[str, str]  # an entry and its value; a heading such as '[[area]]' has none
_BARE: Final = re.compile(r"[A-Za-z0-9_-]+")


def toml_lines(tables: Mapping[str, Any], rows: Collection[str] = ()) -> list[Line]:
    r"""Return tables as lines; nothing (None) is left out, and a decimal becomes text that keeps its digits.

    Parameters
    ----------
    tables
        Mappings, lists and plain values by name.
    rows
        Paths of tables, such as 'company.stones', whose every entry is a table that is written on one line.

    Raises
    ------
    InputError
        A value that is none of these.

    Examples
    --------
    >>> toml_lines({"job": {"client": "A \"B\"", "units": None}, "area": [{"width": 12.5}]})
    [('[job]', ''), ('client', '"A \\"B\\""'), ('[[area]]', ''), ('width', '12.5')]
    >>> toml_lines({"prices": {"dig": {"unit": "yd3", "unit_price": Decimal("13.50")}}}, rows=["prices"])
    [('[prices]', ''), ('dig', '{unit = "yd3", unit_price = "13.50"}')]
    """
    return list(_table(tables, "", rows))


def _table(table: Mapping[str, Any], path: str, rows: Collection[str]) -> Iterator[Line]:
    given = {str(key): value for key, value in table.items() if value is not None}
    for key, value in given.items():
        if path in rows or not (isinstance(value, Mapping) or _of_tables(value)):
            yield _key(key), _value(key, value)
    for key, value in given.items() if path not in rows else ():
        inner = f"{path}.{_key(key)}" if path else _key(key)
        for one in value if _of_tables(value) else [value] if isinstance(value, Mapping) else []:
            yield (f"[{inner}]" if isinstance(value, Mapping) else f"[[{inner}]]"), ""
            yield from _table(one, inner, rows)


def _of_tables(value: Any) -> bool:
    return isinstance(value, list | tuple) and bool(value) and all(isinstance(one, Mapping) for one in value)


def _key(key: str) -> str:
    return key if _BARE.fullmatch(key) else _text(key)


def _text(text: str) -> str:
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def _value(key: str, value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int | float):
        return repr(value)
    if isinstance(value, str | Decimal):
        return _text(str(value))
    if isinstance(value, date):  # and a datetime, which is one
        return value.isoformat()
    if isinstance(value, Mapping):
        inside = {str(inner): one for inner, one in value.items() if one is not None}
        return f"{{{', '.join(f'{_key(inner)} = {_value(inner, one)}' for inner, one in inside.items())}}}"
    if isinstance(value, list | tuple):
        return f"[{', '.join(_value(key, one) for one in value)}]"
    raise InputError(f"{key} is {shown(value)}, a {type(value).__name__}, which no file of plain text can keep")


def toml_tables(lines: Sequence[Line]) -> Mapping[str, Any]:
    """Return the tables that lines say.

    Parameters
    ----------
    lines
        As `toml_lines` gives them.

    Raises
    ------
    InputError
        They are no TOML, or hold a number that is none.
    """
    text = "\n".join(f"{entry} = {value}" if value else entry for entry, value in lines)
    try:
        return tomllib.loads(text, parse_float=_finite)
    except tomllib.TOMLDecodeError as error:
        reason = str(error)[:1].lower() + str(error)[1:]
        raise InputError(f"it cannot be read: {reason}, counted from the first entry") from None
    except RecursionError:
        raise InputError("it cannot be read: its entries are nested too deeply") from None


def _finite(text: str) -> float:
    number = float(text)
    if number != number or abs(number) == float("inf"):
        raise InputError(f"it holds {text}, which is no number")
    return number
