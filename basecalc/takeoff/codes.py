"""The plain codes of all quantities, declared in `basecalc.takeoff.model`; what a unit price may be."""

from datetime import date
from decimal import Decimal
from functools import cache
from typing import Any, Final

from basecalc.core.errors import InputError, OutOfRangeError
from basecalc.core.numbers import choice, digits, quoted
from basecalc.core.published import table
from basecalc.core.units import COUNTED_UNITS, PRICE_UNITS, convert, written
from basecalc.takeoff.model import CODES, Code

WHOLE_UNITS: Final = COUNTED_UNITS - {"lump", "day"}


def code(key: str) -> Code:
    """Return the entry of one code.

    Examples
    --------
    >>> code("Base-Stone").kind
    'material'
    """
    return CODES.get(key) or CODES[choice("code", key, tuple(CODES))]


HIGHEST_PRICE: Final = 1_000_000


def units_like(unit: str) -> tuple[str, ...]:
    """Return the units a price may have where the quantity has this one: the same, or of the same dimension.

    Examples
    --------
    >>> units_like("ton"), units_like("load")
    (('ton', 't', 'lb', 'kg'), ('load',))
    """
    return tuple(other for other in PRICE_UNITS if unit_in(unit, other) is not None)


@cache
def unit_in(unit: str, other: str) -> float | None:
    """Return how many of a unit another one is; None where it measures something else.

    Examples
    --------
    >>> unit_in("lb", "ton"), unit_in("load", "ton")
    (2000.0, None)
    """
    if unit == other or COUNTED_UNITS & {unit, other}:
        return 1.0 if unit == other else None  # a bag is a measure to pint; here it is a bag of whatever is in it
    try:
        return convert(1.0, other, unit)
    except InputError:
        return None


def unit_price(name: str, value: Any) -> Decimal:
    """Return a unit price as it is charged: not below 0, with every digit that was typed.

    Examples
    --------
    >>> unit_price("unit price", 24.8), unit_price("unit price", "$1,250.00")
    (Decimal('24.8'), Decimal('1250'))
    """
    needed = f"it must be a number from 0 to {HIGHEST_PRICE:,} ($)"
    if value is None or (isinstance(value, str) and not value.strip()):
        raise InputError(f"is missing; {needed}, and 0 only where you mean 0", about=name)
    found = written(value) if isinstance(value, str) else (value, "")
    if found is None or found[1] not in ("", "$") or isinstance(value, bool) or not isinstance(found[0], int | float):
        raise InputError(f"is {quoted(value)}; {needed}", about=name)
    if not 0 <= found[0] <= HIGHEST_PRICE:
        raise OutOfRangeError(f"is {quoted(value)}; {needed}", about=name)
    return Decimal(f"{found[0]:.12g}")  # noise of the cell goes, digits stay: a price above 0 never becomes 0


_KEEP: Final = "write yes under 'sure?' to keep it"


def require_plausible(name: str, code: str, unit: str, price: Decimal) -> None:
    """Refuse a unit price outside the band of what it is for: a wrong unit, a date, cents for dollars.

    Examples
    --------
    >>> require_plausible("unit price", "base-stone", "ton", Decimal("24.80"))
    """
    for band in table("price_bands").rows:
        of = str(band["unit"])
        times = unit_in(of, unit)
        if band["code"] != code or price == 0 or times is None:
            continue
        per_unit = float(price) / times
        if not float(band["low"]) <= per_unit <= float(band["high"]):
            so = f", which is ${digits(per_unit)} a {of}" if of != unit else ""
            low, high = (digits(float(band[end])) for end in ("low", "high"))
            raise OutOfRangeError(
                f"{name} of {code} is ${digits(float(price))} a {unit}{so}; expected is from ${low} to ${high} a {of}: "
                f"correct the price or its unit, or {_KEEP}"
            )
        return


def require_past(name: str, day: date, today: date) -> None:
    """Refuse the day of a price that lies far ahead: such a price would never grow old."""
    most = int(float(table("price_bands").exact("rule days")["high"]))
    if (day - today).days > most:
        raise OutOfRangeError(
            f"{name} is {day}, {(day - today).days:,} days ahead; it must be at most {most} days ahead of today: "
            f"correct it, or {_KEEP}"
        )


def require_near(name: str, code: str, price: float, older: float, unit: str) -> None:
    """Refuse a unit price far from that of an older price list."""
    band = table("price_bands").exact("rule factor")
    most = float(band["high"])
    if older > 0 and not float(band["low"]) <= price / older <= most:
        raise OutOfRangeError(
            f"{name} of {code} is ${digits(price)} a {unit}, and ${digits(older)} in the older price list; expected is "
            f"at most {digits(most)} times as much or as little: correct the price or its unit, or {_KEEP}"
        )
