"""Where the slope of depth against blows changes: the best cut of a row of indices into levels, outliers capped."""

from dataclasses import dataclass
from math import log
from typing import Final

import numpy as np
from numpy.typing import NDArray

from basecalc.ground.log.record import log_rule

Numbers = NDArray[np.float64]
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
    logs = np.log(indices)
    scatter = _scatter(logs)
    spread = np.sqrt(scatter**2 + (_READ_TWICE * ruler_mm / advances_mm) ** 2)
    starts = _starts(logs, spread)
    ends = (*starts[1:], len(logs))
    levels = tuple(float(np.median(logs[start:end])) for start, end in zip(starts, ends, strict=True))
    level = np.repeat(levels, np.subtract(ends, starts))
    return Cut(starts, levels, logs, (logs - level) / spread, scatter)


def _scatter(logs: Numbers) -> float:
    """Return the scatter by neighbouring readings, which the few jumps between layers hardly touch."""
    usual = log_rule("usual scatter")
    seen = len(logs) - 1
    if seen < 1:
        return usual
    weight = log_rule("readings the usual scatter counts for")
    differences = np.abs(np.diff(logs)) * 2**-0.5
    found = float(np.median(differences)) * _NORMAL_MAD
    pooled = ((weight * usual**2 + seen * found**2) / (weight + seen)) ** 0.5
    return float(np.clip(pooled, log_rule("least scatter"), log_rule("greatest scatter")))


def _starts(logs: Numbers, spread: Numbers) -> tuple[int, ...]:
    """Return where the levels of the cheapest cut start."""
    count, least = len(logs), int(log_rule("least readings in a layer"))
    if count < 2 * least:
        return (0,)
    price = log_rule("price of a layer") * log(count)
    grid = np.arange(logs.min() - _STEP, logs.max() + 2 * _STEP, _STEP)
    cap = log_rule("stands out beyond") ** 2
    squares = ((logs[:, None] - grid) / spread[:, None]) ** 2
    losses = np.minimum(squares, cap) + _TIE * squares
    cheapest = np.full(count, np.inf)  # of all cuts that end behind a reading
    began = np.zeros(count, dtype=np.intp)  # where the last level of that cut began
    cost = losses[:least].sum(axis=0)  # of the cuts up to here, by the last level
    start = np.zeros(len(grid), dtype=np.intp)
    for end in range(least - 1, count):
        if end >= least:
            cost = cost + losses[end]
            before = end - least
            if before >= least - 1:
                fresh = cheapest[before] + price + losses[before + 1 : end + 1].sum(axis=0)
                better = fresh < cost
                cost = np.where(better, fresh, cost)
                start = np.where(better, before + 1, start)
        best = int(cost.argmin())
        cheapest[end], began[end] = cost[best], start[best]
    found = [int(began[-1])]
    while found[-1] > 0:
        found.append(int(began[found[-1] - 1]))
    return tuple(reversed(found))
