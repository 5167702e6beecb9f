"""Roots for a whole column at once: Chandrupatla's bracketed method, all rows side by side (NumPy)."""

from collections.abc import Callable
from typing import Final, TypeAlias

import numpy as np
from numpy.typing import NDArray

from basecalc.base.solving import Functions, trials

Column: TypeAlias = NDArray[np.float64]
#: Rows of a column: their positions, or a stretch of them.
Rows: TypeAlias = NDArray[np.intp] | slice

COLUMN: Final = Functions(np.exp, np.log10, np.sqrt, np.minimum)
_MOST_STEPS: Final = 100
_LONG: Final = 10_000  # rows from which knots pay
_KNOTS: Final = 400
_SPREAD: Final = 1 + 1e-6  # largest over smallest parameter from which knots can be told apart
_AT_A_TIME: Final = 10_000  # rows that a processor's cache holds
_CLOSE: Final = 1.1  # ratio of the roots of two knots with no leap between them
_APART: Final = 1e-4  # of the two trial values of a first step, as a share
_SETTLED: Final = 1e-8  # last step as a share; what is then left is its square or less
_HAIR: Final = 1e-12


def bracketed(excess: Callable[[Column, Rows], Column], low: Column, high: Column, tolerance: float = 1e-14) -> Column:
    """Return, row by row, where the excess passes from not negative at low to negative at high.

    Parameters
    ----------
    excess
        Takes trial values and the positions of the rows they belong to.
    low, high
        A bracket for each row, in the unit of the result.
    tolerance
        How close to the root, in the same unit.

    References
    ----------
    Chandrupatla 1997, Advances in Engineering Software 28(3), 145-149.
    """
    rows = np.arange(low.size)
    result = np.empty_like(low)
    a, b = high.copy(), low.copy()
    fa, fb = excess(a, rows), excess(b, rows)
    c, fc, share = b.copy(), fb.copy(), np.full_like(low, 0.5)
    for _ in range(_MOST_STEPS):
        x = a + share * (b - a)
        fx = excess(x, rows)
        same = (fx >= 0) == (fa >= 0)
        c, fc = np.where(same, a, b), np.where(same, fa, fb)
        b, fb = np.where(same, b, a), np.where(same, fb, fa)
        a, fa = x, fx
        nearest = np.where(np.abs(fa) < np.abs(fb), a, b)
        result[rows] = nearest
        width = np.abs(b - a)
        least = tolerance + 4e-16 * np.abs(nearest)
        open_ = (np.minimum(np.abs(fa), np.abs(fb)) > 0) & (width > 2 * least)
        if not open_.any():
            return result
        rows, a, b, c = rows[open_], a[open_], b[open_], c[open_]
        fa, fb, fc, least = fa[open_], fb[open_], fc[open_], least[open_]
        share = _next_share(a, b, c, fa, fb, fc, least / width[open_])
    return result


def _next_share(a: Column, b: Column, c: Column, fa: Column, fb: Column, fc: Column, edge: Column) -> Column:
    """Return where in the bracket to look next: inverse quadratic interpolation where it is safe, else the middle."""
    share = np.full_like(a, 0.5)
    xi, phi = (a - b) / (c - b), (fa - fb) / np.where(fc == fb, 1.0, fc - fb)
    safe = (fc != fb) & (fc != fa) & (phi**2 < xi) & ((1 - phi) ** 2 < 1 - xi)
    a, b, c, fa, fb, fc = a[safe], b[safe], c[safe], fa[safe], fb[safe], fc[safe]
    share[safe] = fa / (fb - fa) * fc / (fb - fc) + (c - a) / (b - a) * fa / (fc - fa) * fb / (fc - fb)
    clipped: Column = np.clip(share, edge, 1 - edge)
    return clipped


def deepest_roots(excess: Callable[[Column, Rows], Column], size: int, low: float, high: float) -> Column:
    """Return, row by row, what `basecalc.base.solving.deepest_root` returns for one number.

    Parameters
    ----------
    excess
        Takes trial values and the positions of the rows they belong to.
    size
        Number of rows.
    low, high
        Where to search, in the unit of the result.
    """
    result = np.zeros(size)
    inner, outer = np.zeros(size), np.zeros(size)
    rows, last = np.arange(size), np.inf
    for trial in trials(low, high):
        reached = excess(np.full(rows.size, trial), rows) >= 0
        inner[rows[reached]], outer[rows[reached]] = trial, last
        rows, last = rows[~reached], trial
        if not rows.size:
            break
    result[np.isinf(outer)] = np.inf
    found = np.flatnonzero((inner > 0) & np.isfinite(outer))
    if found.size:
        result[found] = bracketed(lambda x, at: excess(x, found[at]), inner[found], outer[found])
    return result


def falling_roots(
    parameter: Column, solve: Callable[[Column], Column], excess: Callable[[Column, Rows], Column]
) -> Column:
    """Return the root of each row of a long column, most of them by a few steps from the roots of its neighbours.

    Roots fall where the parameter grows, so those of some knots bracket those of the rows between them. A row is worked
    out by itself where its knots are far apart, or where the steps do not settle between them.

    Parameters
    ----------
    parameter
        The one number in which the rows differ, above 0.
    solve
        Gives the root of each row of a column of parameters, from nothing.
    excess
        Takes trial values and the positions of the rows they belong to.
    """
    if parameter.size < _LONG:
        return solve(parameter)
    least, most = parameter.min(), parameter.max()
    if most < least * _SPREAD:
        return solve(parameter)
    known = solve(np.geomspace(least, most, _KNOTS))
    origin, apart = np.log(least), np.log(most / least) / (_KNOTS - 1)
    result = np.empty_like(parameter)
    for first in range(0, parameter.size, _AT_A_TIME):
        rows = slice(first, min(first + _AT_A_TIME, parameter.size))
        place = (np.log(parameter[rows]) - origin) / apart
        at = np.clip(place.astype(np.intp), 0, _KNOTS - 2)
        deep, shallow = known[at], known[at + 1]
        with np.errstate(all="ignore"):  # rows without a root of their own are told apart below
            start = deep + (place - at) * (shallow - deep)
            other = start * (1 + _APART)
            f_start, f_other = excess(start, rows), excess(other, rows)
            nearer = start - f_start * (other - start) / (f_other - f_start)
            f_nearer = excess(nearer, rows)
            found = nearer - f_nearer * (nearer - start) / (f_nearer - f_start)
            found = np.where(f_nearer == 0, nearer, found)
            inside = (found <= deep * (1 + _HAIR)) & (found >= shallow * (1 - _HAIR)) & (deep < shallow * _CLOSE)
            settled = inside & (np.abs(found - nearer) < _SETTLED * nearer)
        result[rows] = found
        if not settled.all():
            alone = first + np.flatnonzero(~settled)
            result[alone] = solve(parameter[alone])
    return result
