"""Where the slope of depth against blows changes: the best cut of a row of indices into levels, outliers capped."""

from collections import deque
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import ceil, inf, log
from statistics import median
from typing import Final

from basecalc.ground.log.record import log_rule

Numbers = Sequence[float]
_STEP: Final = 0.02  # of the logarithm of the index: 2 % of the index, far finer than any scatter
_NORMAL_MAD: Final = 1.4826  # standard deviation by median absolute deviation, normal scatter
_TIE: Final = 1e-3  # of a square: a reading beyond the cap of two layers goes to the nearer one
_READ_TWICE: Final = 6**-0.5  # standard deviation of a difference of two readings, in marks of the ruler


@dataclass(frozen=True, slots=True)
class Cut:
    """Levels of a row of indices.

    Parameters
    ----------
    starts
        Where each level starts, counted from 0.
    levels
        The robust middle of each, as the logarithm of the index.
    logs
        The logarithm of each index.
    apart
        How far each reading lies from its level, in its own scatter; positive where it is weaker.
    scatter
        Standard deviation of the logarithm of the index.
    """

    starts: tuple[int, ...]
    levels: tuple[float, ...]
    logs: Numbers
    apart: Numbers
    scatter: float


def cut(indices: Numbers, advances_mm: Numbers, ruler_mm: float) -> Cut:
    """Return the best cut of a row of indices into levels.

    Parameters
    ----------
    indices
        Penetration per blow of each reading [mm/blow].
    advances_mm
        Penetration of each reading [mm]: how well the ruler could tell it.
    ruler_mm
        How finely the depth was read [mm].

    Notes
    -----
    The cut is the one whose sum over all readings of min((y - level)^2 / s^2, K^2), plus a price for each further
    level, is least; y is the logarithm of the index, s its scatter with that of reading the ruler twice. It is found
    exactly on a grid of levels, by functional dynamic programming with a capped ("biweight") loss: a bad reading can
    never pull a boundary to itself. A level has at least two readings.

    References
    ----------
    FEARNHEAD-RIGAILL, capped loss; MAIDSTONE-2017, functional pruning and optimal partitioning; [memory]. The figures
    of `cone_log_rules` are basecalc's own.
    """
    logs = [log(index) for index in indices]
    scatter = _scatter(logs)
    spread = [(scatter**2 + (_READ_TWICE * ruler_mm / advance) ** 2) ** 0.5 for advance in advances_mm]
    starts = _starts(logs, spread)
    spans = list(pairwise([*starts, len(logs)]))
    levels = tuple(median(logs[start:end]) for start, end in spans)
    level = [one for one, (start, end) in zip(levels, spans, strict=True) for _ in range(start, end)]
    apart = tuple((y - middle) / s for y, middle, s in zip(logs, level, spread, strict=True))
    return Cut(starts, levels, tuple(logs), apart, scatter)


def _scatter(logs: Numbers) -> float:
    """Return the scatter by neighbouring readings, which the few jumps between layers hardly touch."""
    usual = log_rule("usual scatter")
    seen = len(logs) - 1
    if seen < 1:
        return usual
    weight = log_rule("readings the usual scatter counts for")
    found = median(abs(below - above) * 2**-0.5 for above, below in pairwise(logs)) * _NORMAL_MAD
    pooled = ((weight * usual**2 + seen * found**2) / (weight + seen)) ** 0.5
    return float(min(max(pooled, log_rule("least scatter")), log_rule("greatest scatter")))


def _starts(logs: Numbers, spread: Numbers) -> tuple[int, ...]:
    """Return where the levels of the cheapest cut start."""
    count, least = len(logs), int(log_rule("least readings in a layer"))
    if count < 2 * least:
        return (0,)
    price = log_rule("price of a layer") * log(count)
    lowest = min(logs) - _STEP
    grid = [lowest + step * _STEP for step in range(ceil((max(logs) + 2 * _STEP - lowest) / _STEP))]
    cap = log_rule("stands out beyond") ** 2
    cheapest = [inf] * count  # of all cuts that end behind a reading
    began = [0] * count  # where the last level of that cut began
    cost = [0.0] * len(grid)  # of the cuts up to here, by the last level
    start = [0] * len(grid)
    losses: deque[list[float]] = deque(maxlen=least)  # of the last readings, by level
    for end in range(count):
        squares = [((logs[end] - level) / spread[end]) ** 2 for level in grid]
        losses.append([(square if square < cap else cap) + _TIE * square for square in squares])
        cost = [so_far + more for so_far, more in zip(cost, losses[-1], strict=True)]
        before = end - least
        if before >= least - 1:
            entry = cheapest[before] + price
            for place, more in enumerate(zip(*losses, strict=True)):
                fresh = entry + sum(more)
                if fresh < cost[place]:
                    cost[place], start[place] = fresh, before + 1
        if end >= least - 1:
            cheapest[end] = min(cost)
            began[end] = start[cost.index(cheapest[end])]
    found = [began[-1]]
    while found[-1] > 0:
        found.append(began[found[-1] - 1])
    return tuple(reversed(found))
