"""How deep the base must be, as a list of thresholds: the largest CBR that still needs each depth.

The library works the list out for the company's design settings, each traffic level, paver thickness and geogrid. A
sheet then looks a depth up; what the site adds (weak fine soil, water, frost) is a least depth beside it.
"""

from collections.abc import Callable, Sequence
from dataclasses import replace
from decimal import ROUND_UP, Context
from functools import lru_cache
from math import exp, log
from typing import Any, Final, NamedTuple

from basecalc.company import Company
from basecalc.core.errors import OutOfRangeError
from basecalc.core.numbers import printed, round_up_to
from basecalc.design.depth import Site, base_depth
from basecalc.design.settings import NONE, TRAFFIC_NAMES, DesignSettings, Reinforcement, Traffic, limit, traffic
from basecalc.ground.classes import Strength, class_of_cbr

_STRONGEST: Final = (100.0, 10.0)  # the linear rule for the stiffness of the ground ends at CBR 10
_SAMPLES: Final = 24
_HAIR: Final = 1e-13
_NOISE: Final = 4e-10  # of a step: less than that is rounded off before a depth is rounded up
_ROOM: Final = 1 + 2e-12  # a threshold errs by so much to the side of the deeper base
_PLAIN: Final = Site(fine=False, freezes=False)


class Steps(NamedTuple):
    """Thresholds of one traffic, paver and reinforcement: pairs of CBR [%] and depth [m], the least depth first."""

    rows: tuple[tuple[float, float], ...]
    weakest: float  # below it no depth is given


class Key(NamedTuple):
    """What a list of thresholds is for; a stability and a reduction of 0 are the base without geogrid."""

    traffic: str
    paver_m: float
    stability: float
    reduction: float


def company_steps(company: Company, pavers_m: Sequence[float]) -> dict[Key, Steps]:
    """Return the thresholds for every traffic level, paver thickness and geogrid of a company."""
    levels = [*map(traffic, TRAFFIC_NAMES), *company.traffics]
    grids = [
        Reinforcement("geogrid", roll.aperture_stability, roll.reduction, roll.reduction_source)
        for roll in company.rolls
        if roll.kind == "geogrid" and (roll.aperture_stability or roll.reduction)
    ]
    found: dict[Key, Steps] = {}
    for level in levels:
        for paver_m in dict.fromkeys(pavers_m):
            design = replace(
                company.design, paver_m=paver_m, class_edge="weak", reading_allowance=1.0, spot_rule="weakest"
            )
            for grid in (NONE, *grids):
                steps = thresholds(design, level, grid)
                if steps is not None:
                    found[Key(level.name, paver_m, grid.aperture_stability, grid.reduction)] = steps
    return found


@lru_cache(maxsize=256)
def thresholds(design: DesignSettings, level: Traffic, grid: Reinforcement = NONE) -> Steps | None:
    """Return the largest CBR that still needs each depth; None where the checks give none for this traffic."""
    depth: Callable[[float], Any] = lru_cache(maxsize=None)(lambda cbr: _greatest_m(cbr, level, grid, design))
    strongest = next((end for end in _STRONGEST if depth(end) is not None), None)
    if strongest is None:
        return None
    weakest = limit("weakest ground designed")
    if depth(weakest) is None:
        weakest = _edge(depth, weakest, strongest)
    step = design.step_m
    samples = [weakest * (strongest / weakest) ** (place / _SAMPLES) for place in range(_SAMPLES + 1)]
    heights = [depth(cbr) for cbr in samples]
    least, most = (round(round_up_to(height, step) / step) for height in (heights[-1], heights[0]))
    rows = [(strongest, printed(least * step))]
    for count in range(least + 1, most + 1):
        edge = (count - 1 + _NOISE) * step  # above it the base is one step deeper
        place = max(at for at, height in enumerate(heights) if height > edge)
        cbr = _root(depth, edge, samples[place], samples[min(place + 1, _SAMPLES)])
        rows.append((_up(cbr * _ROOM), printed(count * step)))
    return Steps(tuple(rows), weakest)


def _greatest_m(cbr: float, level: Traffic, grid: Reinforcement, design: DesignSettings) -> float | None:
    """Return the depth before it is rounded up [m]; None where a check refuses the ground."""
    plain = replace(design, checks=tuple(check for check in design.checks if check != "frost"))
    try:
        made = base_depth(Strength(class_of_cbr(cbr), cbr), level, grid, plain, site=_PLAIN)
    except OutOfRangeError:
        return None
    return max(check.depth_m for check in made.checks if check.counts and check.depth_m is not None)


def _root(depth: Callable[[float], Any], edge: float, low: float, high: float) -> float:
    """Return the CBR at which the depth falls to an edge: false position, every third step halved."""
    a, b = log(low), log(high)
    fa, fb = depth(low) - edge, depth(high) - edge
    for turn in range(200):
        if b - a <= _HAIR or fa == 0:
            break
        middle = a + (b - a) * (0.5 if turn % 3 == 2 or fa == fb else min(max(fa / (fa - fb), 1e-3), 1 - 1e-3))
        value = depth(exp(middle)) - edge
        if value > 0:
            a, fa = middle, value
        else:
            b, fb = middle, value
    return exp(b)


def _edge(depth: Callable[[float], Any], low: float, high: float) -> float:
    """Return the weakest ground for which there is a depth."""
    for _ in range(60):
        middle = (low * high) ** 0.5
        low, high = (low, middle) if depth(middle) is not None else (middle, high)
    return _up(high)


def _up(value: float) -> float:
    return float(Context(prec=12, rounding=ROUND_UP).create_decimal(repr(value)))
