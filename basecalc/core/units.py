"""Text with a unit becomes a float of a fixed unit; the exact factors stand here once.

Plain numbers never go near pint: they are taken in the unit the caller names. The one registry is here.
"""

import re
from dataclasses import dataclass
from functools import cache, lru_cache
from math import inf
from typing import Any, Final

from basecalc.core.errors import InputError, OutOfRangeError
from basecalc.core.numbers import number, shown

# Exact by definition (international yard and pound agreement of 1959; standard gravity 9.80665 m/s2).
INCH_M: Final = 0.0254
FOOT_M: Final = 0.3048
FOOT2_M2: Final = FOOT_M**2
YARD2_M2: Final = 9 * FOOT2_M2
YARD3_M3: Final = (3 * FOOT_M) ** 3
POUND_KG: Final = 0.45359237
SHORT_TON_KG: Final = 2000 * POUND_KG
TONNE_KG: Final = 1000.0
PSI_KPA: Final = POUND_KG * 9.80665 / INCH_M**2 / 1000
TSF_KPA: Final = SHORT_TON_KG * 9.80665 / FOOT2_M2 / 1000

LONGEST_TEXT: Final = 60  # of a number with its unit; looked at before any pattern
# Every unit that anybody may write, by the name pint has for it, or in terms of such names. A spelling that is not
# here, nor made of these by multiplying, dividing and small powers, is no unit: what a user wrote is never evaluated.
_NAMES: Final = {
    "inch": "in inch inches", "foot": "ft foot feet lf", "yard": "yd yds yard yards", "mile": "mi mile miles",
    "millimeter": "mm millimeter millimeters millimetre millimetres",
    "centimeter": "cm centimeter centimeters centimetre centimetres", "decimeter": "dm",
    "meter": "m meter meters metre metres", "kilometer": "km kilometer kilometers kilometre kilometres",
    "foot ** 2": "sf sqft", "yard ** 2": "sy", "acre": "acre acres", "hectare": "ha hectare hectares",
    "foot ** 3": "cf", "yard ** 3": "cy", "liter": "l L liter liters litre litres", "gallon": "gal gallon gallons",
    "pound": "lb lbs pound pounds", "ounce": "oz ounce ounces", "short_ton": "ton tons short_ton short_tons",
    "gram": "g gram grams", "kilogram": "kg kilogram kilograms kgs", "tonne": "t tonne tonnes metric_ton metric_tons",
    "megagram": "Mg", "long_ton": "long_ton",
    "newton": "N newton newtons", "kilonewton": "kN kilonewton kilonewtons", "meganewton": "MN",
    "pound_force": "lbf pound_force", "kip": "kip kips", "kilogram_force": "kgf kilogram_force",
    "force_ton": "force_ton", "pascal": "Pa pascal pascals", "kilopascal": "kPa kilopascal kilopascals",
    "megapascal": "MPa megapascal megapascals", "gigapascal": "GPa", "bar": "bar", "psi": "psi", "ksi": "ksi",
    "pound_force / foot ** 2": "psf", "kip / foot ** 2": "ksf", "force_ton / foot ** 2": "tsf",
    "pound / foot ** 3": "pcf", "hour": "h hr hrs hour hours", "minute": "min minute minutes",
    "second": "s sec second seconds", "day": "day days", "week": "week weeks", "year": "year years",
    "degree": "deg degree degrees", "radian": "rad radian radians", "percent": "% percent",
    "dimensionless": "share dimensionless",
}  # fmt: skip
_ATOMS: Final = {word: name for name, words in _NAMES.items() for word in words.split()}
# Spellings that would mean something else, or nothing, part by part.
_WHOLE: Final = {
    "": "dimensionless", "mm/blow": "millimeter", "kg/cm2": "kilogram_force / centimeter ** 2",
    "kgf/cm2": "kilogram_force / centimeter ** 2", "kg/cm^2": "kilogram_force / centimeter ** 2",
    "kgf/cm^2": "kilogram_force / centimeter ** 2",
}  # fmt: skip
_ATOM: Final = re.compile(r"(?P<name>[A-Za-zµ_%]+|1(?=\s*/))(?:(?:\s*(?:\^|\*\*)\s*)?(?P<power>-?[1-4]))?(?![\w^])\s*")
_BETWEEN: Final = re.compile(r"[*/-]?\s*")
_BARE_TON: Final = re.compile(r"(?<![a-z_])tons?(?![a-z_])", re.IGNORECASE)
_NUMBER: Final = re.compile(r"[-+]?(\d+\.?\d*|\.\d+)([eE][-+]?\d+)?$")
_FEET_INCHES: Final = re.compile(
    r"(\d+\.?\d*)\s*(?:'|ft|feet|foot)\s*(?:(\d+\.?\d*)\s*(?:\"|''|in|inch|inches))?$", re.IGNORECASE
)
_INCHES: Final = re.compile(r"(\d+\.?\d*)\s*(?:\"|'')$")
_TEXT: Final = re.compile(
    r"(?P<number>[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)\s*(?P<unit>[A-Za-z%µ][A-Za-z%µ_0-9^*/. -]*)$"
)


@cache
def _registry() -> Any:
    import pint  # a fifth of a second, and most work never needs it

    return pint.UnitRegistry(non_int_type=float)


@lru_cache(maxsize=512)
def _unit(spelling: str) -> Any:
    """Return the unit that a spelling stands for, None where it is none."""
    if len(spelling) > LONGEST_TEXT:
        return None
    word = " ".join(spelling.split())
    if word in _WHOLE:
        return _registry().Unit(_WHOLE[word])
    made, at, power = _registry().Unit("dimensionless"), 0, 1
    while match := _ATOM.match(word, at):
        name = "dimensionless" if match["name"] == "1" else _ATOMS.get(match["name"])
        if name is None:
            return None
        made *= _registry().Unit(name) ** (power * int(match["power"] or 1))
        if match.end() == len(word):
            return made
        power = -1 if word[match.end()] == "/" else 1
        at = match.end() + len(_BETWEEN.match(word, match.end())[0])  # type: ignore[index]  # it matches nothing too
    return None


def convert(value: float, unit: str, to: str) -> float:
    """Return the number in another unit of the same dimension.

    Examples
    --------
    >>> round(convert(1, "yd3", "ft3"), 9)
    27.0
    """
    if unit == to:
        return value
    have, wanted = _unit(unit), _unit(to)
    if have is None or wanted is None or have.dimensionality != wanted.dimensionality:
        raise InputError(f"{shown(unit)} cannot be turned into {to}")
    try:
        return float(_registry().Quantity(value, have).to(wanted).magnitude)
    except ArithmeticError:
        raise InputError(f"{shown(unit)} cannot be turned into {to}") from None


def _parse(name: str, text: str, unit: str) -> float:
    """Return the number that a text with a unit stands for, in the unit asked for."""
    refusal = f"{name} is {shown(text)}; it must be a number" + (
        f" ({unit}), or a number with a unit that can be turned into {unit}" if unit else " without a unit"
    )
    if len(text) > LONGEST_TEXT:
        raise InputError(refusal)
    if _BARE_TON.search(text.replace("short ton", "").replace("short_ton", "").replace("metric ton", "")):
        raise InputError(
            f"{name} is {shown(text)}; write 'short ton' (2,000 lb) or 'tonne' (1,000 kg), a bare ton may be either"
        )
    if match := _INCHES.match(text):
        text = f"{match[1]} inch"
    elif match := _FEET_INCHES.match(text):
        text = f"{float(match[1]) * 12 + float(match[2] or 0)!r} inch"
    match = _TEXT.match(text)
    if match is None:
        raise InputError(refusal)
    spelling = re.sub(r"short tons?", "short_ton", re.sub(r"metric tons?|tonnes", "tonne", match["unit"].strip()))
    try:
        return convert(float(match["number"]), spelling, unit or "dimensionless")
    except InputError:
        raise InputError(refusal) from None


def to_unit(
    name: str, value: Any, unit: str, low: float = -inf, high: float = inf, *, above: bool = False, why: str = ""
) -> float:
    r"""Return what a user wrote as a float in a fixed unit, checked against its limits.

    Examples
    --------
    >>> round(to_unit("depth", "350 mm", "in"), 3), to_unit("width", "12' 6\"", "ft"), to_unit("depth", 14, "in")
    (13.78, 12.5, 14.0)
    """
    if isinstance(value, str) and value.strip():
        text = value.strip().replace("²", "^2").replace("³", "^3").replace("\N{MULTIPLICATION SIGN}", "*")
        if len(text) > LONGEST_TEXT or not _NUMBER.match(text):
            found = _parse(name, text, unit)
            try:
                return number(name, found, unit, low, high, above=above, why=why)
            except OutOfRangeError as refusal:  # the value as it was given, then what that comes to
                rest = refusal.sentence.removeprefix(f"{name} is ")
                raise OutOfRangeError(f"{name} is {shown(value)}, {rest}") from None
        value = float(text)
    elif isinstance(value, str):
        value = None
    return number(name, value, unit, low, high, above=above, why=why)


@dataclass(frozen=True, slots=True)
class Measure:
    """A number that users fill in: the unit it is held in, the units it is written in, and its limits.

    Examples
    --------
    >>> Measure("m", "ft", "m", 0, 3000).read("length", 10, "ft")
    3.048
    """

    inside: str
    us: str
    metric: str = ""
    low: float = -inf
    high: float = inf
    above: bool = False
    why: str = ""

    def unit(self, units: str) -> str:
        """Return the unit of a plain number in the 'us' or the 'metric' edition."""
        return self.metric if units == "metric" and self.metric else self.us

    def read(self, name: str, value: Any, unit: str) -> float:
        """Return the number that a user wrote, as it is held, checked."""
        try:
            low, high = _limits_in(self.low, self.high, self.us, unit)
        except InputError:
            raise InputError(
                f"the unit of {name} is {shown(unit)}; it must be one that can be turned into {self.us}"
            ) from None
        found = to_unit(name, value, unit, low, high, above=self.above, why=self.why)
        # Noise goes, every digit that was typed stays: 868.125 ft2 is a tie when it is printed, and must remain one.
        return float(f"{convert(found, unit, self.inside):.14g}") if unit != self.inside else found


@lru_cache(maxsize=256)
def _limits_in(low: float, high: float, unit: str, other: str) -> tuple[float, float]:
    """Return limits in another unit, to four digits."""
    ends = [
        end if abs(end) == inf or other == unit else float(f"{convert(end, unit, other):.4g}") for end in (low, high)
    ]
    return ends[0], ends[1]
