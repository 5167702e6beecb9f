"""Roots for a whole column at once: Chandrupatla's bracketed method, all rows side by side (NumPy)."""

from collections.abc import Callable
from typing import Final, TypeAlias

import numpy as np
from numpy.typing import NDArray

from basecalc.base.solving import Functions, trials

Column: TypeAlias = NDArray[np.float64]

COLUMN: Final = Functions(np.exp, np.log10, np.sqrt, np.minimum)
_MOST_STEPS: Final = 100


def bracketed(
    excess: Callable[[Column, NDArray[np.intp]], Column], low: Column, high: Column, tolerance: float = 1e-14
) -> Column:
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


def deepest_roots(excess: Callable[[Column, NDArray[np.intp]], Column], size: int, low: float, high: float) -> Column:
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
