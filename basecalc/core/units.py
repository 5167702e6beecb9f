"""Text with a unit becomes a float of a fixed unit; the exact factors stand here once.

Plain numbers never go near pint: they are taken in the unit the caller names. The one registry is here.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache, lru_cache
from math import inf
from typing import Any, Final

from basecalc.core.errors import InputError
from basecalc.core.numbers import digits, in_percent, limits, number, quoted

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

UNIT: Final = "unit"  # the field of a refusal that is of a unit and not of the number beside it
LONGEST_TEXT: Final = 60  # of a number with its unit; looked at before any pattern
# Every unit that anybody may write, by the name pint has for it, or in terms of such names. A spelling that is not
# here, nor made of these by multiplying, dividing and small powers, is no unit: what a user wrote is never evaluated.
SPELLINGS: Final[Mapping[str, str]] = {
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
_ATOMS: Final = {word: name for name, words in SPELLINGS.items() for word in words.split()}
# In capitals too, as on a plan: 14 FT, 22 KPA. Not where capitals are another unit or may be: mg, t, g, l, h, s.
_CAPITALS: Final = {
    word.casefold(): name for word, name in _ATOMS.items() if len(word) > 1 and word.casefold() != "mg"
} | {"m": "meter"}  # fmt: skip
# Spellings that would mean something else, or nothing, part by part.
_WHOLE: Final = {
    "": "dimensionless", "mm/blow": "millimeter", "kg/cm2": "kilogram_force / centimeter ** 2",
    "kgf/cm2": "kilogram_force / centimeter ** 2", "kg/cm^2": "kilogram_force / centimeter ** 2",
    "kgf/cm^2": "kilogram_force / centimeter ** 2", "mm per blow": "millimeter", "sq ft": "foot ** 2",
    "sq yd": "yard ** 2", "sq m": "meter ** 2",
}  # fmt: skip
_ATOM: Final = re.compile(r"(?P<name>[A-Za-zµ_%]+|1(?=\s*/))(?:(?:\s*(?:\^|\*\*)\s*)?(?P<power>-?[1-4]))?(?![\w^])\s*")
_BETWEEN: Final = re.compile(r"[*/-]?\s*")
_BARE_TON: Final = re.compile(r"(?<![a-z_])tons?(?![a-z_])", re.IGNORECASE)
# A number as the trade writes it: 12, 12.5, .5, 1e2, 1,250.00, 1/2, 1 1/2, 1-1/2; each followed by a unit or by none.
_AMOUNT: Final = (
    r"(?:(?:\d+(?:\s*-\s*|\s+))?\d+\s*/\s*\d+"
    r"|(?:\d{1,3}(?:,\d{3})+(?![\d,])|\d+)(?:\.\d*)?(?:[eE][-+]?\d+)?|\.\d+(?:[eE][-+]?\d+)?)"
)
_FEET_INCHES: Final = re.compile(
    rf"({_AMOUNT})\s*(?:'\s*-?\s*({_AMOUNT})\s*(?:\"|in\.?|inch|inches)?"
    rf"|(?:ft\.?|feet|foot)\s*-?\s*({_AMOUNT})\s*(?:\"|in\.?|inch|inches))",
    re.IGNORECASE,
)
_PLAIN: Final = re.compile(r"[-+]?(\d+\.?\d*|\.\d+)([eE][-+]?\d+)?")
_WITH_UNIT: Final = re.compile(rf"({_AMOUNT})\s*(\"|'|\$|[A-Za-z%µ][A-Za-z%µ_0-9^*/. -]*)?")
_UNCLEAR: Final = re.compile(r"[-+]?[1-9]\d{0,2},\d{3}(?![\d,.])")  # 1,250: thousands, or a decimal in metric lands
_METRIC: Final = frozenset({"mm", "cm", "m", "m2", "m3", "kg", "t", "kg/m3", "t/m3", "kN", "kPa"})
FRACTIONS: Final = {
    "½": "1/2", "⅓": "1/3", "⅔": "2/3", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8",
}  # fmt: skip
SIGNS: Final = {
    "’": "'", "‘": "'", "′": "'", "”": '"', "“": '"', "″": '"', "−": "-", "–": "-", "⁄": "/",
}  # fmt: skip
_MARKS: Final = str.maketrans(
    SIGNS | {"\u00a0": " ", "\u202f": " ", "²": "^2", "³": "^3", "\N{MULTIPLICATION SIGN}": "*"}
    | {mark: f" {fraction}" for mark, fraction in FRACTIONS.items()}
)  # fmt: skip


@cache
def _registry() -> Any:
    import pint  # a fifth of a second, and most work never needs it

    return pint.UnitRegistry(non_int_type=float)


@lru_cache(maxsize=512)
def _unit(spelling: str) -> Any:
    """Return the unit that a spelling means, None where it is none."""
    if len(spelling) > LONGEST_TEXT:
        return None
    word = " ".join(spelling.split())
    if (whole := _WHOLE.get(word) or _WHOLE.get(word.casefold())) is not None:
        return _registry().Unit(whole)
    made, at, power = _registry().Unit("dimensionless"), 0, 1
    while match := _ATOM.match(word, at):
        spelled = match["name"]
        name = "dimensionless" if spelled == "1" else _ATOMS.get(spelled) or _CAPITALS.get(spelled.casefold())
        if name is None:
            return None
        made *= _registry().Unit(name) ** (power * int(match["power"] or 1))
        if match.end() == len(word):
            return made
        power = -1 if word[match.end()] == "/" else 1
        at = match.end() + len(_BETWEEN.match(word, match.end())[0])  # type: ignore[index]  # it matches nothing too
    return None


def convert(value: float, unit: str, to: str) -> float:
    """Return the number in another unit of the same dimension."""
    if unit == to:
        return value
    have, wanted = _unit(unit), _unit(to)
    if have is None or wanted is None or have.dimensionality != wanted.dimensionality:
        raise InputError(f"{quoted(unit)} cannot be turned into {to}")
    try:
        return float(_registry().Quantity(value, have).to(wanted).magnitude)
    except ArithmeticError:
        raise InputError(f"{quoted(unit)} cannot be turned into {to}") from None


@cache
def spellings(unit: str) -> Mapping[str, float]:
    """Return every plain word for a unit of this dimension, in lower case, and how much of this unit one of it is.

    Examples
    --------
    >>> spellings("in")["feet"], spellings("%")
    (12.0, {'%': 1.0, 'percent': 1.0})
    """
    asked = _unit(unit)
    alike = {word for word, name in _ATOMS.items() if (name == "percent") == (unit == "%")} | set(_WHOLE)
    words = {word for word in alike if word.replace(" ", "").replace("%", "").isalpha() or word == "%"}
    return {
        word.casefold(): float(f"{convert(1.0, word, unit):.15g}")
        for word in sorted(words) if _unit(word).dimensionality == asked.dimensionality
    }  # fmt: skip


def written(text: str) -> tuple[float, str] | None:
    r"""Return the number that a text holds as the trade writes it, and the unit behind it; None where it is none."""
    line = text.translate(_MARKS).replace("''", '"').strip()
    if len(text) > LONGEST_TEXT:
        return None
    sign, line = (-1.0, line[1:].lstrip()) if line[:1] == "-" else (1.0, line.removeprefix("+").lstrip())
    if line.startswith("$"):
        line = f"{line[1:].strip()} $"
    if match := _FEET_INCHES.fullmatch(line):
        feet, inches = _amount(match[1]), _amount(match[2] or match[3])
        if feet is None or inches is None or feet != int(feet) or inches >= 12:
            return None
        return sign * (feet * 12 + inches), "in"
    if (match := _WITH_UNIT.fullmatch(line)) is None or (amount := _amount(match[1])) is None:
        return None
    return sign * amount, {'"': "in", "'": "ft"}.get(match[2] or "", (match[2] or "").strip())


def _amount(text: str) -> float | None:
    """Return a number without sign and unit; None for a fraction that is none."""
    if "/" not in text:
        return float(text.replace(",", ""))
    *whole, above, below = (int(part) for part in re.findall(r"\d+", text))
    return None if not below or (whole and above >= below) else sum(whole) + above / below


def _parse(name: str, text: str, unit: str) -> float:
    """Return the number that a text means, in the unit asked for."""
    needed = f" ({unit}), or a number with a unit that can be turned into {unit}" if unit else " without a unit"
    needed = " of dollars" if unit == "$" else needed
    refusal = InputError(f"is {quoted(text)}; it must be a number{needed}", about=name)
    if (found := written(text)) is None:
        raise refusal
    amount, spelling = found
    if _BARE_TON.search(re.sub(r"short[ _]ton|metric ton", "", spelling)):
        raise InputError(
            f"is {quoted(text)}; write 'short ton' (2,000 lb) or 'tonne' (1,000 kg), a bare ton may be either",
            about=name,
        )
    if unit in _METRIC and _UNCLEAR.match(text):
        raise InputError(
            f"is {quoted(text)}, which may mean thousands or a decimal; write it with a point or without comma",
            about=name,
        )
    if unit == "share" and not spelling:
        if 0 < amount < 1:
            raise InputError(
                f"is {quoted(text)}; is that {in_percent(amount)}, or {digits(amount)} %? (type 12 for 12 %)",
                about=name,
            )
        return amount / 100
    if not spelling:
        return amount
    spelling = re.sub(r"short tons?", "short_ton", re.sub(r"metric tons?|tonnes", "tonne", spelling))
    try:
        return float(f"{convert(amount, spelling, unit or 'dimensionless'):.14g}")  # 20 ft is 6.096 m, not a hair less
    except InputError:
        raise refusal from None


def to_unit(
    name: str, value: Any, unit: str, low: float = -inf, high: float = inf, *, above: bool = False, why: str = ""
) -> float:
    r"""Return what a user wrote as a float in a fixed unit, checked against its limits."""
    if not isinstance(value, str) or not value.strip():
        return number(name, value if not isinstance(value, str) else None, unit, low, high, above=above, why=why)
    found = _parse(name, value.strip(), unit)
    told = "" if _PLAIN.fullmatch(value.strip()) else value
    return number(name, found, unit, low, high, above=above, why=why, written=told)


@dataclass(frozen=True, slots=True)
class Measure:
    """A number that users fill in: the unit it is held in, the units it is written in, and its limits.

    The limits are in the unit `given`, the US one if left out.
    """

    inside: str
    us: str
    metric: str = ""
    low: float = -inf
    high: float = inf
    above: bool = False
    why: str = ""
    given: str = ""
    whole: bool = False

    def unit(self, units: str) -> str:
        """Return the unit of a plain number in the 'us' or the 'metric' edition."""
        return self.metric if units == "metric" and self.metric else self.us

    def limits_in(self, unit: str) -> tuple[float, float]:
        """Return the limits in another unit, to four digits; to five where they are given in one of its own."""
        return _limits_in(self.low, self.high, self.given or self.us, unit, 5 if self.given else 4)

    def read(self, name: str, value: Any, unit: str) -> float | int:
        """Return the number that a user wrote, as it is held, checked; a whole one as an int."""
        try:
            low, high = self.limits_in(unit)
        except InputError:
            units = " or ".join(dict.fromkeys((self.us, self.metric or self.us)))
            raise InputError(
                f"the unit of {name} is {quoted(unit)}; it must be one that can be turned into {units}", field=UNIT
            ) from None
        found = to_unit(name, value, unit, low, high, above=self.above, why=self.why)
        if self.whole:
            if found != int(found):
                raise InputError(f"is {quoted(value)}; it must be a whole number {limits(low, high, unit)}", about=name)
            return int(found)
        # Noise goes, every digit that was typed stays: 868.125 ft2 is a tie when it is printed, and must remain one.
        return float(f"{convert(found, unit, self.inside):.14g}") if unit != self.inside else found


@lru_cache(maxsize=256)
def _limits_in(low: float, high: float, unit: str, other: str, places: int) -> tuple[float, float]:
    """Return limits in another unit, to so many digits."""
    ends = [
        end if abs(end) == inf or other == unit else float(f"{convert(end, unit, other):.{places}g}")
        for end in (low, high)
    ]
    return ends[0], ends[1]


# Units a price may be for, as written here and as the trade also writes them. Nothing else is guessed.
PRICE_UNITS: Final[Mapping[str, tuple[str, ...]]] = {
    "ton": ("tons", "short ton", "short tons"),
    "t": ("tonne", "tonnes", "metric ton", "metric tons"),
    "lb": ("lbs", "pound", "pounds"),
    "kg": (),
    "yd3": ("cy", "cu yd", "cubic yard", "cubic yards", "yd^3", "yd\N{SUPERSCRIPT THREE}"),
    "ft3": ("cf", "cu ft", "cubic foot", "cubic feet", "ft^3", "ft\N{SUPERSCRIPT THREE}"),
    "m3": ("cubic metre", "cubic metres", "cubic meter", "cubic meters", "m^3", "m\N{SUPERSCRIPT THREE}"),
    "ft2": ("sf", "sq ft", "square foot", "square feet", "ft^2", "ft\N{SUPERSCRIPT TWO}"),
    "yd2": ("sy", "sq yd", "square yard", "square yards", "yd^2", "yd\N{SUPERSCRIPT TWO}"),
    "m2": ("square metre", "square metres", "square meter", "square meters", "m^2", "m\N{SUPERSCRIPT TWO}"),
    "ft": ("lf", "foot", "feet", "lin ft"),
    "m": ("metre", "metres", "meter", "meters"),
    "load": ("loads",),
    "roll": ("rolls",),
    "bag": ("bags",),
    "h": ("hr", "hrs", "hour", "hours"),
    "day": ("days",),
    "each": ("ea", "piece", "pieces", "pc", "pcs"),
    "lump": ("ls", "lump sum", "job"),
}
COUNTED_UNITS: Final = frozenset({"load", "roll", "bag", "each", "lump", "day"})  # measures of themselves only
_UNIT_WORDS: Final = {word: unit for unit, others in PRICE_UNITS.items() for word in (unit, *others)}


def price_unit(word: str) -> str | None:
    """Return the unit that a word of the trade means; None where it is none of them."""
    return _UNIT_WORDS.get(" ".join(word.replace(".", " ").split()).casefold())
