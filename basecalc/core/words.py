"""Numbers as people read them: lengths by the tape or in decimals, amounts, money, percent, counts, lists of words.

Values come in SI units (m, m2, m3, kg) and go out in the unit asked for; 'us' and 'metric' name a job's units.
"""

from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Final

from basecalc.core.numbers import fixed as fixed
from basecalc.core.numbers import in_percent as in_percent
from basecalc.core.numbers import plural as plural
from basecalc.core.numbers import printed
from basecalc.core.units import FOOT2_M2, FOOT_M, INCH_M, SHORT_TON_KG, TONNE_KG, YARD3_M3

#: What one unit is in the SI unit of its dimension. Counts are themselves.
SI: Final[Mapping[str, float]] = {
    "in": INCH_M, "ft": FOOT_M, "ft2": FOOT2_M2, "yd3": YARD3_M3, "ton": SHORT_TON_KG,
    "mm": 0.001, "m": 1.0, "m2": 1.0, "m3": 1.0, "t": TONNE_KG, "load": 1.0, "roll": 1.0, "bag": 1.0,
}  # fmt: skip
#: A unit's code as a reader expects it.
SHOWN_UNITS: Final[Mapping[str, str]] = {"ft2": "ft²", "m2": "m²", "yd3": "yd³", "m3": "m³", "ton": "tons"}
#: The options of a quote by their key, in the middle of a sentence.
OPTION_WORDS: Final[Mapping[str, str]] = {"stone": "stone only", "geogrid": "with geogrid", "habit": "standard depth"}
_EIGHTHS: Final = ("", "1/8", "1/4", "3/8", "1/2", "5/8", "3/4", "7/8")
_NEAR: Final = 0.02  # of an eighth: what nobody can see on a tape


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


def depth(depth_m: float, units: str) -> str:
    """Return a depth in words, as exactly as it is: eighths or tenths of an inch, or whole millimeters."""
    return amount(depth_m, "mm", 0) if units == "metric" else f"{eighths(printed(depth_m / INCH_M))} in"


def tape(depth_m: float, units: str) -> str:
    """Return a depth as a tape reads it: the nearest eighth of an inch, or millimeter."""
    nearest = fixed(printed(depth_m / INCH_M) * 8, 0).replace(",", "")
    return amount(depth_m, "mm", 0) if units == "metric" else f"{eighths(int(nearest) / 8)} in"


def tenths(depth_m: float, units: str) -> str:
    """Return a depth that was measured or worked out: tenths of an inch, or whole millimeters."""
    return amount(depth_m, "mm", 0) if units == "metric" else amount(depth_m, "in", 1, trim=True)


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
