"""Numbers as users give them, checked or refused in one sentence; and rounding that float noise cannot tip over.

Numbers as people read them are in `basecalc.core.words`.
"""

import sys
from collections.abc import Mapping, Sequence
from dataclasses import fields
from datetime import date, time
from decimal import ROUND_HALF_UP, Decimal
from math import ceil, inf, isfinite
from typing import Any, Final

from basecalc.core.errors import InputError, OutOfRangeError

_LONGEST: Final = 40
_MOST: Final = 10


def brief(record: Any) -> str:
    """Return a record as one short line: its plain fields, and how much of everything else it holds."""
    values = [(field.name, getattr(record, field.name)) for field in fields(record) if field.repr]
    parts = [f"{name}={_value(value)}" for name, value in values if value is not None and value not in ("", (), {})]
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
    name = next((_value(word) for word in names if isinstance(word, str | Decimal)), "")
    return f"<{type(value).__name__}{f' {name}' if name else ''}>"


MOST_FLOAT: Final = sys.float_info.max


def digits(value: float | Decimal) -> str:
    """Return a number as a person writes it, large ones in groups of three."""
    if isinstance(value, int) and abs(value) > MOST_FLOAT:
        return f"{Decimal(value):.6g}"
    if 1e4 <= abs(float(value)) < 1e15:
        return f"{float(value):,.2f}".rstrip("0").rstrip(".")
    return f"{float(value):.6g}"


def quoted(value: Any) -> str:
    """Return a value as a complaint prints it: short, quoted where it is text."""
    if value is None or value == "":
        return "nothing"
    if isinstance(value, bool):
        return "TRUE" if value else "FALSE"
    if isinstance(value, int | float | Decimal):
        return digits(value)
    if isinstance(value, list | tuple | dict):
        return "a table" if isinstance(value, dict) else "a list"
    text = str(value)
    return repr(text if len(text) <= 40 else text[:37] + "...")


def words(key: object) -> str:
    """Return a key as a person writes it."""
    return str(key).replace("_", " ").replace("-", " ").strip()


def plural(count: int, thing: str) -> str:
    """Return a number of things in words."""
    return f"{count:,} {thing}{'' if count == 1 else 's'}"


def limits(low: float, high: float, unit: str, *, above: bool = False) -> str:
    """Return the words for a range: 'from 1 to 350 mm', 'above 0 in', 'at most 4'; nothing where there is none."""
    if low == -inf and high == inf:
        return ""
    if unit == "share":
        return limits(low * 100, high * 100, "%", above=above)
    tail = f" {unit}" if unit else ""
    start = "" if low == -inf else (f"above {digits(low)}" if above else f"at least {digits(low)}")
    if high == inf:
        return start + tail
    if not start:
        return f"at most {digits(high)}{tail}"
    return f"{start} and at most {digits(high)}{tail}" if above else f"from {digits(low)} to {digits(high)}{tail}"


def number(
    name: str, value: Any, unit: str, low: float = -inf, high: float = inf, *, above: bool = False, why: str = "",
    written: str = "",
) -> float:  # fmt: skip
    """Return the value as a float after the checks every number of a user goes through.

    A refusal shows what was `written` too, where the value was worked out from a text.
    """
    if type(value) is float and isfinite(value) and low <= value <= high and not (above and value == low):
        return value  # most of them, many thousand in a quote
    allowed = limits(low, high, unit, above=above)
    kind = "" if unit == "share" and allowed else f"a number {'' if allowed or not unit else f'({unit})'}"
    needed = f"it must be {kind}{allowed}".rstrip()
    if value is None or value == "":
        raise InputError(f"is missing; {needed}", about=name)
    if isinstance(value, date | time):
        raise InputError(
            f"is the date or time {quoted(value)}; {needed}. A spreadsheet turns 1/2 into a date: type it as text",
            about=name,
        )
    if isinstance(value, bool) or not isinstance(value, int | float | Decimal):
        raise InputError(f"is {quoted(value)}; {needed}", about=name)
    try:
        result = float(value)
    except OverflowError:
        result = inf
    if not isfinite(result):
        raise OutOfRangeError(f"is not a finite number; {needed}", about=name)
    if result < low or result > high or (above and result == low):
        reason = f" ({why})" if why else ""
        first = f"is {quoted(written)}, " if written else "is "
        if unit == "share":
            typed = (
                f"; for {digits(result)} % type {digits(result)} %"
                if result >= 1 and low <= result / 100 <= high
                else ""
            )
            raise OutOfRangeError(f"{first}{in_percent(result)}; it must be {allowed}{reason}{typed}", about=name)
        tail = f" {unit}" if unit else ""
        raise OutOfRangeError(f"{first}{quoted(value)}{tail}; it must be {allowed}{reason}", about=name)
    return result


def in_percent(share: float) -> str:
    """Return a share as a person reads it."""
    return f"{digits(share * 100)} %"


def meant_share(name: str, share: float, *, sure: bool = False, beside: bool = True) -> float:
    """Return a share of a price list, unless it looks like a percentage typed a hundred times too small.

    A spreadsheet program turns 0.12, typed where 12 % is due, into 0.12 %.
    """
    if sure or not (0 < share < 0.01 or share == 1):
        return share
    other = share * 100 if share < 1 else share / 100
    keep = f", or write yes under 'sure?' to keep {in_percent(share)}" if beside else ""
    raise InputError(
        f"is {in_percent(share)}; is that meant, or {in_percent(other)}? (type 12 for 12 %{keep})", about=name
    )


def choice(name: str, value: Any, options: Sequence[str]) -> str:
    """Return the offered word that the value spells, whatever its case and spacing."""
    offered = ", ".join(options)
    if value is None or value == "":
        raise InputError(f"is missing; it must be one of: {offered}", about=name)
    if isinstance(value, str):
        word = " ".join(value.split()).casefold()
        for option in options:
            if option.casefold() == word:
                return option
    raise InputError(f"is {quoted(value)}; it must be one of: {offered}", about=name)


CENT = Decimal("0.01")


def printed(value: float) -> float:
    """Return the number as it would be printed, without the noise behind the ninth digit."""
    return float(f"{value:.9g}")


def round_up(ratio: float) -> int:
    """Return the least whole number that is not below the ratio, noise apart."""
    return ceil(round(ratio, 9))


def round_up_to(value: float, step: float) -> float:
    """Return the value rounded up to the next whole step, in the unit of both."""
    return printed(round_up(value / step) * step)


def decimal(value: float | Decimal, places: int) -> Decimal:
    """Return the value as a decimal number, rounded half up to so many places.

    A float is taken as it would be printed, so that 2.675 means 2.675.
    """
    exact = value if isinstance(value, Decimal) else Decimal(f"{value:.12g}")
    return exact.quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP)


def half_up(value: float, places: int = 0) -> float:
    """Return the number rounded half up to so many places, as a spreadsheet rounds it and shows it."""
    return float(decimal(value, places))


def fixed(value: float | Decimal, places: int) -> str:
    """Return the number as text with so many places, rounded half up, large ones in groups of three."""
    return f"{decimal(value, places):,.{places}f}"


def cents(value: Decimal) -> Decimal:
    """Return an amount of money rounded half up to the cent."""
    return value.quantize(CENT, ROUND_HALF_UP)
