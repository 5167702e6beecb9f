"""Numbers and words as the printed sheets show them, in the units of the job."""

from datetime import date
from typing import Final

from basecalc.core.expressions import KINDS
from basecalc.core.numbers import fixed, half_up, printed
from basecalc.core.units import FOOT_M, INCH_M
from basecalc.core.words import SHOWN_UNITS
from basecalc.core.words import capital as capital
from basecalc.core.words import depth as depth_words
from basecalc.core.words import eighths as in_eighths
from basecalc.core.words import listed as listed
from basecalc.core.words import money as money

_WHOLE: Final = frozenset({"load", "roll", "bag"})


def number(value: float, kind: str, units: str) -> float:
    """Return an SI value as a number in the unit of the job.

    Examples
    --------
    >>> number(0.3556, "depth", "us"), number(0.35, "depth", "metric")
    (14.0, 350.0)
    """
    return printed(value / float(KINDS[kind].si(units)))


def unit(kind: str, units: str) -> str:
    """Return the unit that goes with `number`, as printed.

    Examples
    --------
    >>> unit("area", "us"), unit("mass", "metric")
    ('ft²', 't')
    """
    return shown_unit(KINDS[kind].unit(units))


def shown_unit(word: str) -> str:
    """Return a unit's code as a reader expects it: ft² for ft2, tons for ton.

    Examples
    --------
    >>> shown_unit("yd3"), shown_unit("load")
    ('yd³', 'load')
    """
    return SHOWN_UNITS.get(word, word)


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


def tape(depth_m: float, units: str) -> float:
    """Return a depth as a tape reads it, in the unit of the job: to 1/8 in, or to the millimeter.

    Examples
    --------
    >>> tape(0.1464, "us"), tape(0.1464, "metric")
    (5.75, 146.0)
    """
    return half_up(depth_m * 1000) if units == "metric" else half_up(depth_m / INCH_M * 8) / 8


def tape_words(depth_m: float, units: str, *, bare: bool = False) -> str:
    """Return a depth as a tape reads it, in words; bare: without the unit.

    Examples
    --------
    >>> tape_words(0.1464, "us"), tape_words(0.1464, "metric"), tape_words(0.1464, "us", bare=True)
    ('5-3/4 in', '146 mm', '5-3/4')
    """
    value = tape(depth_m, units)
    words, unit = (f"{value:,.0f}", " mm") if units == "metric" else (in_eighths(value), " in")
    return words if bare else words + unit


def loose_words(depth_m: float, units: str) -> str:
    """Return a layer of loose stone as the crew spreads it: to 1/8 in, or to 5 mm.

    Examples
    --------
    >>> loose_words(0.117, "us"), loose_words(0.117, "metric")
    ('4-5/8 in', '115 mm')
    """
    return f"{half_up(depth_m / 0.005) * 5:,.0f} mm" if units == "metric" else tape_words(depth_m, units)


def length_words(length_m: float, units: str) -> str:
    """Return a length as it is laid out: feet and inches, or meters.

    Examples
    --------
    >>> length_words(6.1722, "us"), length_words(29.2608, "us"), length_words(6.1722, "metric")
    ('20 ft 3 in', '96 ft', '6.17 m')
    """
    if units == "metric":
        return f"{half_up(length_m, 2):,.2f}".rstrip("0").rstrip(".") + " m"
    feet, inches = divmod(int(half_up(length_m / INCH_M)), 12)
    return " ".join(
        part for part in (f"{feet:,} ft" if feet or not inches else "", f"{inches} in" if inches else "") if part
    )


def area_words(area_m2: float, units: str) -> str:
    """Return an area as a client reads it.

    Examples
    --------
    >>> area_words(124.86, "us"), area_words(124.86, "metric")
    ('1,344 sq ft', '125 m²')
    """
    return f"{half_up(area_m2 / FOOT_M**2):,.0f} sq ft" if units == "us" else f"{half_up(area_m2):,.0f} m²"


def day_words(day: date | None, *, weekday: bool = False) -> str:
    """Return a day in words; nothing for none.

    Examples
    --------
    >>> day_words(date(2026, 6, 1)), day_words(date(2026, 6, 1), weekday=True)
    ('June 1, 2026', 'Monday, June 1, 2026')
    """
    return f"{f'{day:%A}, ' if weekday else ''}{day:%B} {day.day}, {day.year}" if day else ""


def lower_first(name: str) -> str:
    """Return a name as it is written inside a sentence, names in capitals left alone."""
    return name if name[:2].isupper() or any(letter.isupper() for letter in name[1:]) else name[:1].lower() + name[1:]


def the(name: str) -> str:
    """Return an area's name with its article, inside a sentence.

    Examples
    --------
    >>> the("Driveway"), the("The long bend"), the("Area 2"), the("RV pad")
    ('the driveway', 'the long bend', 'area 2', 'the RV pad')
    """
    words = lower_first(name)
    return words if words.casefold().startswith("the ") or words[-1:].isdigit() else f"the {words}"


__all__ = [
    "area_words",
    "capital",
    "day_words",
    "depth_format",
    "depth_words",
    "in_eighths",
    "length_words",
    "listed",
    "loose_words",
    "lower_first",
    "money",
    "number",
    "quantity_format",
    "shown_unit",
    "tape",
    "tape_words",
    "the",
    "unit",
    "words",
]
