"""Numbers as people read them: lengths by the tape or in decimals, amounts, money, percent, counts, lists of words.

Values come in SI units (m, m2, m3, kg) and go out in the unit asked for; 'us' and 'metric' name a job's units.
"""

from collections.abc import Mapping, Sequence
from datetime import date
from decimal import Decimal
from typing import Final

from basecalc.core.expressions import KINDS, SI
from basecalc.core.numbers import fixed as fixed
from basecalc.core.numbers import half_up, printed
from basecalc.core.numbers import in_percent as in_percent
from basecalc.core.numbers import plural as plural
from basecalc.core.units import FOOT_M, INCH_M

#: A unit's code as a reader expects it.
SHOWN_UNITS: Final[Mapping[str, str]] = {"ft2": "ft²", "m2": "m²", "yd3": "yd³", "m3": "m³", "ton": "tons"}
#: The options of a quote in the middle of a sentence, by their keys: the words of kept files, lists and --json.
OPTION_WORDS: Final[Mapping[str, str]] = {"stone": "stone only", "geogrid": "with geogrid", "habit": "standard depth"}
_UNIT_WORDS: Final = {"each": "", "lump": "", "ft2": "sq ft", "yd3": "cu yd", "m2": "m²", "m3": "m³", "h": "hour"}
_EIGHTHS: Final = ("", "1/8", "1/4", "3/8", "1/2", "5/8", "3/4", "7/8")
_NEAR: Final = 0.02  # of an eighth: what nobody can see on a tape


def number(value: float, kind: str, units: str) -> float:
    """Return an SI value as a number in the unit of the job.

    Examples
    --------
    >>> number(0.3556, "depth", "us"), number(0.35, "depth", "metric")
    (14.0, 350.0)
    """
    return printed(value / SI[KINDS[kind].unit(units)])


def unit(kind: str, units: str) -> str:
    """Return the unit that goes with `number`, as a reader expects it.

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


def quantity_words(amount: Decimal | float, unit: str) -> str:
    """Return an amount with its unit as a client calls it, without empty decimals.

    Examples
    --------
    >>> quantity_words(96, "ft"), quantity_words(3, "day"), quantity_words(6.5, "yd3"), quantity_words(1, "lump")
    ('96 ft', '3 days', '6.5 cu yd', '1')
    """
    text = fixed(amount, 2).rstrip("0").rstrip(".")
    word = _UNIT_WORDS.get(unit, unit)
    counted = word in ("hour", "day", "ton", "load", "roll", "bag") and text != "1"
    return f"{text} {word}{'s' if counted else ''}".strip()


def amount(value: float, unit: str, places: int, *, trim: bool = False) -> str:
    """Return an SI value in a unit, with so many places; trim takes zeros off its end."""
    text = fixed(value / SI[unit], places)
    return f"{text.rstrip('0').rstrip('.') if trim and '.' in text else text} {unit}"


def eighths(inches: float) -> str:
    """Return inches as the trade writes them, to the eighth; with a decimal where they are not eighths."""
    if abs(inches * 8 - round(inches * 8)) > _NEAR:
        return fixed(inches, 1)
    whole, part = divmod(round(inches * 8), 8)
    return "-".join(piece for piece in (str(whole) if whole or not part else "", _EIGHTHS[part]) if piece)


def depth_words(depth_m: float, units: str) -> str:
    """Return a depth in words, as exactly as it is: eighths or tenths of an inch, or whole millimeters.

    Examples
    --------
    >>> depth_words(0.060325, "us"), depth_words(0.1464, "us"), depth_words(0.35, "metric")
    ('2-3/8 in', '5.8 in', '350 mm')
    """
    return amount(depth_m, "mm", 0) if units == "metric" else f"{eighths(printed(depth_m / INCH_M))} in"


def tape_words(depth_m: float, units: str, *, bare: bool = False) -> str:
    """Return a depth as a tape reads it: the nearest eighth of an inch, or millimeter; bare: without the unit.

    Examples
    --------
    >>> tape_words(0.1464, "us"), tape_words(0.1464, "metric"), tape_words(0.1464, "us", bare=True)
    ('5-3/4 in', '146 mm', '5-3/4')
    """
    if units == "metric":
        return fixed(depth_m * 1000, 0) + ("" if bare else " mm")
    return eighths(half_up(printed(depth_m / INCH_M) * 8) / 8) + ("" if bare else " in")


def loose_words(depth_m: float, units: str) -> str:
    """Return a layer of loose stone as the crew spreads it: to 1/8 in, or to 5 mm.

    Examples
    --------
    >>> loose_words(0.117, "us"), loose_words(0.117, "metric")
    ('4-5/8 in', '115 mm')
    """
    return f"{half_up(depth_m / 0.005) * 5:,.0f} mm" if units == "metric" else tape_words(depth_m, units)


def tenths(depth_m: float, units: str) -> str:
    """Return a depth that was measured or worked out: tenths of an inch, or whole millimeters."""
    return amount(depth_m, "mm", 0) if units == "metric" else amount(depth_m, "in", 1, trim=True)


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


def both(value: float, us: str, metric: str) -> str:
    """Return an SI value in both systems, for a refusal that does not know its reader."""
    return f"{value / SI[us]:.6g} {us} ({value / SI[metric]:.6g} {metric})"


def money(dollars: Decimal) -> str:
    """Return an amount of money."""
    return f"{'-' if dollars < 0 else ''}${abs(dollars):,.2f}"


def listed(words: Sequence[str], last: str = "and") -> str:
    """Return words as a sentence lists them."""
    return f" {last} ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)


def capital(text: str) -> str:
    """Return a text with its first letter as a capital; the rest stays as it is."""
    return text[:1].upper() + text[1:]


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


def day_words(day: date | None, *, weekday: bool = False) -> str:
    """Return a day in words; nothing for none.

    Examples
    --------
    >>> day_words(date(2026, 6, 1)), day_words(date(2026, 6, 1), weekday=True)
    ('June 1, 2026', 'Monday, June 1, 2026')
    """
    return f"{f'{day:%A}, ' if weekday else ''}{day:%B} {day.day}, {day.year}" if day else ""
