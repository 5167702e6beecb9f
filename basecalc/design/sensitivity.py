"""How the depth of a base moves with each thing that went into it, one at a time, over a range that is plausible."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from functools import partial
from math import isfinite
from typing import Any, Final

from basecalc.core.errors import OutOfRangeError
from basecalc.core.numbers import printed
from basecalc.core.published import Cell, table
from basecalc.design.depth import BaseDepth, base_depth
from basecalc.design.settings import TRAFFIC_NUMBERS, limit
from basecalc.ground.classes import MOST_CBR, Strength, class_of_cbr, strong_edge, weak_edge

#: A depth that moves by less than this does not move [m]: solvers end in the last digits of a float.
_STILL_M: Final = 1e-9
_RULES: Final = ("power", "linear")
HARDEST_CBR: Final = 20.0


@dataclass(frozen=True, slots=True)
class End:
    """One end of a range: the input there, the depth it gives, and what there is to say of it."""

    value: float | str
    depth_m: float | None
    note: str = ""


@dataclass(frozen=True, slots=True)
class Moved:
    """How the depth moves with one input."""

    name: str
    unit: str
    used: float | str
    low: End
    high: End
    reason: str

    def depths_m(self, designed_m: float) -> tuple[float, float]:
        """Return the least and the greatest depth over the range, the designed one included [m]."""
        ends = [end.depth_m for end in (self.low, self.high) if end.depth_m is not None]
        return min(designed_m, *ends), max(designed_m, *ends)

    def spread_m(self, designed_m: float) -> float:
        """Return how far apart the least and the greatest depth lie [m]."""
        least, most = self.depths_m(designed_m)
        return most - least


@dataclass(frozen=True, slots=True)
class Sensitivity:
    """What moves a base depth: the input that moves it most comes first."""

    base: BaseDepth
    designed_m: float
    rows: tuple[Moved, ...]

    @property
    def moving(self) -> tuple[Moved, ...]:
        """The inputs that move the depth at all within their range."""
        return tuple(row for row in self.rows if row.spread_m(self.designed_m) > _STILL_M)

    @property
    def still(self) -> tuple[Moved, ...]:
        """The inputs that do not: another check governs over their whole range."""
        return tuple(row for row in self.rows if row.spread_m(self.designed_m) <= _STILL_M)


def unrounded_m(base: BaseDepth) -> float:
    """Return the required depth of a base before it is rounded up [m]."""
    return max(check.depth_m for check in base.checks if check.counts and check.depth_m is not None)


def sensitivity(base: BaseDepth) -> Sensitivity:
    """Return how a base depth moves with each of its inputs, one at a time, over its plausible range.

    Notes
    -----
    Each input goes from one end of its range in ``sensitivity_ranges`` to the other while the rest stay; the depth is
    worked out anew at both ends and is not rounded. A class alone goes over its whole band.
    """
    designed = unrounded_m(base)
    rows = [_moved(base, row) for row in table("sensitivity_ranges").rows if _asked(base, str(row["input"]))]
    rows.sort(key=lambda row: (-printed(row.spread_m(designed)), row.name))
    return Sensitivity(base, designed, tuple(rows))


def _asked(base: BaseDepth, name: str) -> bool:
    return name != "aperture_stability" or base.reinforcement.aperture_stability > 0


def _moved(base: BaseDepth, row: Mapping[str, Cell]) -> Moved:
    name, way, words, unit = (str(row[key]) for key in ("input", "way", "words", "unit"))
    again = partial(_again, base, name)
    if way == "words":
        low, high = (End(rule, *_tried(again, rule)) for rule in _RULES)
        used: float | str = str(_value(base, name))
    else:
        used = float(_value(base, name))
        low, high = (_end(base, name, *_ends(base, row, used, key), again, used) for key in ("low", "high"))
    return Moved(words, unit, used, low, high, str(row["reason"]))


def _value(base: BaseDepth, name: str) -> Any:
    if name == "cbr":
        return base.cbr
    if name == "aperture_stability":
        return base.reinforcement.aperture_stability
    return getattr(base.traffic if hasattr(base.traffic, name) else base.settings, name)


def _ends(base: BaseDepth, row: Mapping[str, Cell], used: float, key: str) -> tuple[float, str]:
    """Return one end of a range as the table has it, and what there is to say of it."""
    ratio = float(row[key])
    if row["way"] == "value":
        return (min(used, ratio) if key == "low" else max(used, ratio)), ""
    if row["way"] == "class" and base.strength.cbr is None:
        word = base.strength.strength_class
        edge = weak_edge(word) if key == "low" else strong_edge(word)
        return (
            (edge, "") if isfinite(edge) else (HARDEST_CBR, f"hard ground has no end; taken as CBR {HARDEST_CBR:g} %")
        )
    return used * ratio, ""


def _end(base: BaseDepth, name: str, value: float, note: str, again: Callable[[Any], float], used: float) -> End:
    low, high = _limits(name)
    inside = min(max(value, low), high)
    if inside != value:
        note = f"moved to {inside:g}, the limit of the method"
    if inside == used:
        return End(inside, unrounded_m(base), note)
    depth, refused = _tried(again, inside)
    return End(printed(inside), depth, refused or note)


def _limits(name: str) -> tuple[float, float]:
    """Return between which values the methods take an input; those of the settings are in their table."""
    if name == "cbr":
        return limit("weakest ground designed"), MOST_CBR
    if name == "aperture_stability":
        return 0.0, limit("greatest aperture stability")
    if name in TRAFFIC_NUMBERS:
        measure = TRAFFIC_NUMBERS[name][1]
        return measure.low, measure.high
    row = table("design_defaults").exact(name)
    return float(row["low"]), float(row["high"])


def _again(base: BaseDepth, name: str, value: Any) -> float:
    """Return the depth with one input changed, before it is rounded up [m]."""
    strength, traffic, laid, settings = base.strength, base.traffic, base.reinforcement, base.settings
    if name == "cbr":
        strength = Strength(class_of_cbr(value), value)
    elif name == "aperture_stability":
        laid = replace(laid, aperture_stability=value)
    elif hasattr(traffic, name):
        traffic = replace(traffic, **{name: value})
    else:
        settings = replace(settings, **{name: value})
    return unrounded_m(base_depth(strength, traffic, laid, settings, frost=base.frost, site=base.site))


def _tried(again: Callable[[Any], float], value: float | str) -> tuple[float | None, str]:
    try:
        return again(value), ""
    except OutOfRangeError as refusal:
        return None, refusal.sentence
