"""Text with a unit becomes a float of a fixed unit; the exact factors are here once.

Plain numbers are taken in the unit the caller names.
"""

import re
from dataclasses import dataclass
from fractions import Fraction
from functools import cache, lru_cache
from math import inf, pi
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
# Every unit that anybody may write, as so many of another; m, kg and s are the last. Exact by definition (NIST-SP-811,
# App. B), but for the degree. A spelling that is not here, nor made of these by multiplying, dividing and small powers,
# is no unit: what a user wrote is never evaluated.
_UNITS: Final = {
    "in inch inches": ("0.0254", "m"), "ft foot feet lf": ("12", "in"), "yd yds yard yards": ("3", "ft"),
    "mi mile miles": ("5280", "ft"), "mm millimeter millimeters millimetre millimetres": ("0.001", "m"),
    "cm centimeter centimeters centimetre centimetres": ("0.01", "m"), "dm": ("0.1", "m"),
    "meter meters metre metres": ("1", "m"), "km kilometer kilometers kilometre kilometres": ("1000", "m"),
    "sf sqft": ("1", "ft^2"), "sy": ("1", "yd^2"), "acre acres": ("4840", "yd^2"),
    "ha hectare hectares": ("10000", "m^2"), "cf": ("1", "ft^3"), "cy": ("1", "yd^3"),
    "l L liter liters litre litres": ("0.001", "m^3"), "gal gallon gallons": ("231", "in^3"),
    "lb lbs pound pounds": ("0.45359237", "kg"), "oz ounce ounces": ("1/16", "lb"),
    "ton tons short_ton short_tons": ("2000", "lb"), "g gram grams": ("0.001", "kg"),
    "kilogram kilograms kgs": ("1", "kg"), "t tonne tonnes metric_ton metric_tons Mg": ("1000", "kg"),
    "long_ton": ("2240", "lb"), "N newton newtons": ("1", "kg*m/s^2"), "kN kilonewton kilonewtons": ("1000", "N"),
    "MN": ("1000000", "N"), "lbf pound_force": ("9.80665", "lb*m/s^2"), "kip kips": ("1000", "lbf"),
    "kgf kilogram_force": ("9.80665", "N"), "force_ton": ("2000", "lbf"), "Pa pascal pascals": ("1", "N/m^2"),
    "kPa kilopascal kilopascals": ("1000", "Pa"), "MPa megapascal megapascals": ("1000000", "Pa"),
    "GPa": ("1000000000", "Pa"), "bar": ("100000", "Pa"), "psi": ("1", "lbf/in^2"), "ksi": ("1", "kip/in^2"),
    "psf": ("1", "lbf/ft^2"), "ksf": ("1", "kip/ft^2"), "tsf": ("1", "force_ton/ft^2"), "pcf": ("1", "lb/ft^3"),
    "h hr hrs hour hours": ("3600", "s"), "min minute minutes": ("60", "s"), "sec second seconds": ("1", "s"),
    "day days": ("24", "h"), "week weeks": ("7", "day"), "year years": ("365.25", "day"),
    "deg degree degrees": (repr(pi / 180), ""), "rad radian radians": ("1", ""), "% percent": ("0.01", ""),
    "share dimensionless": ("1", ""),
}  # fmt: skip
_ATOMS: Final = {word: entry for names, entry in _UNITS.items() for word in names.split()}
_BASES: Final = ("m", "kg", "s")
# Spellings that would mean something else part by part.
_WHOLE: Final = {"mm/blow": "mm", **dict.fromkeys(("kg/cm2", "kgf/cm2", "kg/cm^2", "kgf/cm^2"), "kgf/cm^2")}
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


_Unit = tuple[Fraction, tuple[int, ...]]  # how many of m, kg and s to which powers


@cache
def _atom(word: str) -> _Unit | None:
    if word in _BASES:
        return Fraction(1), tuple(int(word == base) for base in _BASES)
    if word not in _ATOMS:
        return None
    many, of = _ATOMS[word]
    inside = _unit(of)
    return None if inside is None else (Fraction(many) * inside[0], inside[1])


@lru_cache(maxsize=512)
def _unit(spelling: str) -> _Unit | None:
    """Return the unit that a spelling means, None where it is none."""
    if len(spelling) > LONGEST_TEXT:
        return None
    word = " ".join(spelling.split())
    if word in _WHOLE and word != _WHOLE[word]:
        return _unit(_WHOLE[word])
    factor, powers, at, sign = Fraction(1), (0,) * len(_BASES), 0, 1
    if not word:
        return factor, powers
    while match := _ATOM.match(word, at):
        atom = (Fraction(1), powers) if match["name"] == "1" else _atom(match["name"])
        if atom is None:
            return None
        power = sign * int(match["power"] or 1)
        factor *= atom[0] ** power
        if match["name"] != "1":
            powers = tuple(old + power * new for old, new in zip(powers, atom[1], strict=True))
        if match.end() == len(word):
            return factor, powers
        sign = -1 if word[match.end()] == "/" else 1
        at = match.end() + len(_BETWEEN.match(word, match.end())[0])  # type: ignore[index]  # it matches nothing too
    return None


@lru_cache(maxsize=512)
def _factor(unit: str, to: str) -> float:
    have, wanted = _unit(unit), _unit(to)
    if have is None or wanted is None or have[1] != wanted[1]:
        raise InputError(f"{shown(unit)} cannot be turned into {to}")
    try:
        return float(have[0] / wanted[0])
    except ArithmeticError:
        raise InputError(f"{shown(unit)} cannot be turned into {to}") from None


def convert(value: float, unit: str, to: str) -> float:
    """Return the number in another unit of the same dimension.

    Examples
    --------
    >>> round(convert(1, "yd3", "ft3"), 9)
    27.0
    """
    if unit == to:
        return value
    return value * _factor(unit, to)


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
