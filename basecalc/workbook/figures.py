"""Numbers as the printed sheets show them, in the units of the job."""

from decimal import Decimal
from typing import Final

from basecalc.core.numbers import fixed, printed
from basecalc.takeoff.earthwork import in_unit, unit_of

_EIGHTHS: Final = ("", "1/8", "1/4", "3/8", "1/2", "5/8", "3/4", "7/8")
_SHOWN: Final = {"ft2": "ft²", "m2": "m²", "yd3": "yd³", "m3": "m³", "ton": "tons"}
_WHOLE: Final = frozenset({"load", "roll", "bag"})


def number(value: float, kind: str, units: str) -> float:
    """Return an SI value as a number in the unit of the job.

    Examples
    --------
    >>> number(0.3556, "depth", "us"), number(0.35, "depth", "metric")
    (14.0, 350.0)
    """
    return printed(in_unit(value, unit_of(kind, units)))


def unit(kind: str, units: str) -> str:
    """Return the unit that goes with `number`, as printed.

    Examples
    --------
    >>> unit("area", "us"), unit("mass", "metric")
    ('ft²', 't')
    """
    return shown_unit(unit_of(kind, units))


def shown_unit(word: str) -> str:
    """Return a unit's code as a reader expects it: ft² for ft2, tons for ton.

    Examples
    --------
    >>> shown_unit("yd3"), shown_unit("load")
    ('yd³', 'load')
    """
    return _SHOWN.get(word, word)


def in_eighths(inches: float) -> str:
    """Return inches as the trade writes them; with a decimal where they are no eighths.

    Examples
    --------
    >>> in_eighths(2.375), in_eighths(14.0), in_eighths(0.5), in_eighths(2.36)
    ('2-3/8', '14', '1/2', '2.4')
    """
    eighths = inches * 8
    if abs(eighths - round(eighths)) > 0.02:
        return fixed(inches, 1)
    whole, part = divmod(round(eighths), 8)
    return "-".join(piece for piece in (str(whole) if whole or not part else "", _EIGHTHS[part]) if piece)


def depth_words(depth_m: float, units: str) -> str:
    """Return a depth in words.

    Examples
    --------
    >>> depth_words(0.060325, "us"), depth_words(0.35, "metric")
    ('2-3/8 in', '350 mm')
    """
    if units == "metric":
        return f"{fixed(number(depth_m, 'depth', units), 0)} mm"
    return f"{in_eighths(number(depth_m, 'depth', units))} in"


def depth_format(depth_m: float, units: str) -> str:
    """Return the number format under which a cell shows a depth as `depth_words` does."""
    if units == "metric":
        return '0" mm"'
    inches = number(depth_m, "depth", units)
    if abs(inches - round(inches)) < 0.003:
        return '0" in"'
    return '# ?/8" in"' if abs(inches * 8 - round(inches * 8)) <= 0.02 else '0.0" in"'


def words(value: float, kind: str, units: str, places: int = 0) -> str:
    """Return an SI value in words, with so many places.

    Examples
    --------
    >>> words(74.32, "area", "us"), words(33000.0, "mass", "us", 1)
    ('800 ft²', '36.4 tons')
    """
    return f"{fixed(number(value, kind, units), places)} {unit(kind, units)}"


def quantity_format(word: str) -> str:
    """Return the number format of a quantity by its unit: whole loads, two places for the rest; a dash for none."""
    return '#,##0;-#,##0;"-"' if word in _WHOLE else '#,##0.00;-#,##0.00;"-"'


def money(amount: Decimal) -> str:
    """Return an amount of money in words.

    Examples
    --------
    >>> money(Decimal("12345.5")), money(Decimal("-3"))
    ('$12,345.50', '-$3.00')
    """
    return f"{'-' if amount < 0 else ''}${abs(amount):,.2f}"
