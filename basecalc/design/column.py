"""Roots for a whole column at once: Chandrupatla's bracketed method, all rows side by side (NumPy).

The equation of `platform` solved for a whole column of subgrades at once (NumPy).
The equation of `structural` solved for a whole column of subgrades at once (NumPy).
Required base depth for a whole column of measured CBRs at once, equal to `base_depth` row by row (NumPy).
"""

from collections.abc import Callable, Sequence
from dataclasses import replace
from decimal import Decimal
from math import log10
from typing import Any, Final, TypeAlias

import numpy as np
from numpy.typing import NDArray

from basecalc.core.errors import BasecalcError, InputError
from basecalc.core.numbers import step_up
from basecalc.core.units import INCH_M
from basecalc.design.depth import UNKNOWN, Site, knots, minimum_m, require_ground_check, speaks_of
from basecalc.design.frost import FrostGround, required_frost
from basecalc.design.platform import (
    DEEPEST_M,
    SHALLOWEST_M,
    Functions,
    bearing_factor,
    excess,
    platform_rule,
    terms,
    too_deep,
    trials,
)
from basecalc.design.settings import DEFAULT_SETTINGS, NONE, DesignSettings, Reinforcement, Traffic, designed_cbr, limit
from basecalc.design.settings import reinforcement as described
from basecalc.design.settings import traffic as traffic_level
from basecalc.design.structural import (
    HIGHEST_SN,
    base_m,
    least_base_m,
    linear_refusal,
    log_axles,
    log_modulus,
    modulus,
    standard_deviate,
    too_weak,
)

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
    """Return, row by row, what `basecalc.design.platform.deepest_root` returns for one number."""
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


def platform_thickness_column(
    cbr: Column, traffic: Traffic, kind: str = "none", stability: float = 0.0, base_cbr: float = 20.0
) -> Column:
    """Return the depth the platform equation asks for, row by row, before any least depth [m]."""
    nc = bearing_factor(kind)

    def missing_at(grounds: Column) -> Callable[[Column, Rows], Column]:
        t = terms(grounds, traffic, nc, stability, base_cbr, COLUMN)

        def missing(trial: Column, rows: Rows) -> Column:
            some = replace(t, stiffness=t.stiffness[rows], strength_kpa=t.strength_kpa[rows])
            result: Column = excess(trial, some, COLUMN)
            return result

        return missing

    def solve(grounds: Column) -> Column:
        return deepest_roots(missing_at(grounds), grounds.size, SHALLOWEST_M, DEEPEST_M)

    t = terms(cbr, traffic, nc, stability, base_cbr, COLUMN)
    needed = np.flatnonzero(t.tyre_kpa > t.strength_kpa)
    depth = np.zeros(cbr.size)
    depth[needed] = falling_roots(cbr[needed], solve, missing_at(cbr[needed]))
    return depth


def structural_number_column(
    esal: float, modulus_psi: Column, zr: float, overall_deviation: float, serviceability_drop: float
) -> Column:
    """Return the structural number that the traffic asks for, row by row [in]."""

    def missing_at(grounds: Column) -> Callable[[Column, Rows], Column]:
        wanted = log10(esal) - log_modulus(grounds, COLUMN)

        def missing(sn: Column, rows: Rows) -> Column:
            result: Column = wanted[rows] - log_axles(sn, zr, overall_deviation, serviceability_drop, COLUMN)
            return result

        return missing

    def solve(grounds: Column) -> Column:
        missing, every = missing_at(grounds), np.arange(grounds.size)
        weak, strong = (missing(np.full(grounds.size, sn), every) for sn in (0.0, HIGHEST_SN))
        result = np.where(strong > 0, np.inf, 0.0)
        open_ = np.flatnonzero((weak > 0) & (strong <= 0))
        if open_.size:
            ends = np.zeros(open_.size), np.full(open_.size, HIGHEST_SN)
            result[open_] = bracketed(lambda sn, at: missing(sn, open_[at]), *ends)
        return result

    return falling_roots(modulus_psi, solve, missing_at(modulus_psi))


def depth_column(
    cbrs: Any,
    traffic: Traffic | str,
    reinforcement: Reinforcement | str = NONE,
    settings: DesignSettings = DEFAULT_SETTINGS,
    *,
    rows: Sequence[str] = (),
    frost: FrostGround | None = None,
    aperture_stability: float | str | None = None,
    site: Site = UNKNOWN,
) -> Column:
    """Return the required base depth of each row [m].

    Parameters
    ----------
    cbrs
        Measured CBR of the ground [%], one a row, each 0.4 to 100.
    traffic
        What drives on the base: a level, or its name.
    reinforcement
        What is laid, or its kind.
    settings
        The owner's design settings.
    rows
        Names of the rows for a complaint; 'row 1', 'row 2' and so on where there are none.
    frost
        The ground in frost and thaw, the same in every row; needed where the settings switch the frost check on.
    aperture_stability
        Of a geogrid named by its kind: the modulus from its own test report [m-N/deg].
    site
        What the place adds to the strength, the same in every row.

    Returns
    -------
    numpy.ndarray
        Depths rounded up to the step of the settings [m].

    Raises
    ------
    InputError
        A row that holds nothing or no number, not one column, or a frost check without the ground in frost.
    OutOfRangeError
        A row that is not finite, too soft, or outside what a check is meant for: the first such row is named.

    Examples
    --------
    >>> [round(depth / 0.0254) for depth in depth_column([0.4, 0.8, 3.0], "light")]
    [24, 15, 8]
    """
    traffic = traffic_level(traffic)
    if not isinstance(reinforcement, Reinforcement):
        reinforcement = described(reinforcement, aperture_stability)
    cbr = _checked(cbrs, rows)
    require_ground_check(settings, "practice" in settings.checks and speaks_of(traffic), traffic)
    index = required_frost(frost).support_index if "frost" in settings.checks else None
    grounds = [cbr] if index is None else [cbr, np.minimum(cbr, index)]
    # The least base changes with the CBR at one place only: worked out once below it and once above.
    firm = limit("firm ground of the least base")
    least_base = np.where(
        np.round(cbr, 9) < firm, minimum_m(0.0, settings, site, frost), minimum_m(firm, settings, site, frost)
    )

    def greatest(laid: Reinforcement) -> Column:
        deepest: Column = np.max([_greatest(ground, traffic, laid, settings, rows) for ground in grounds], axis=0)
        return np.maximum(deepest, least_base)

    unreinforced = greatest(NONE)
    if reinforcement.kind != "geogrid":
        return _rounded(unreinforced, settings.step_m)
    least = unreinforced * (1 - limit("greatest saving by reinforcement"))
    return _rounded(np.maximum(greatest(reinforcement), least), settings.step_m)


def _name(rows: Sequence[str], position: int) -> str:
    return rows[position] if len(rows) else f"row {position + 1}"


def _checked(cbrs: Any, rows: Sequence[str]) -> Column:
    try:
        given = np.asarray(cbrs)
    except ValueError:  # rows of different lengths
        raise InputError("CBRs come in rows of different lengths; they must be one column") from None
    if given.ndim != 1 or (len(rows) and len(rows) != given.size):
        raise InputError(
            f"CBRs come in a shape of {given.shape}; they must be one column, with a name for each row or none"
        )
    truths = isinstance(cbrs, list | tuple) and any(isinstance(item, bool) for item in cbrs)
    numeric = given.dtype.kind in "iuf" and not truths  # NumPy would take TRUE for 1
    cbr = given.astype(np.float64) if numeric else np.full(given.size, np.nan)
    # The plain comparison lets the ordinary column through at once; what it stops is judged as one number would be.
    doubtful = np.flatnonzero(~((cbr >= limit("weakest ground designed")) & (cbr <= 100)))
    items = list(cbrs) if doubtful.size else []
    for position in doubtful.tolist():
        item = items[position].item() if isinstance(items[position], np.generic) else items[position]
        try:  # what is neither number nor text is a missing value of one library or another
            cbr[position] = designed_cbr(item if isinstance(item, int | float | Decimal | str) else None)
        except BasecalcError as refusal:
            raise refusal.at(_name(rows, position)) from None
    return cbr


def _refuse_first(bad: NDArray[np.bool_], rows: Sequence[str], refusal: Callable[[int], BasecalcError]) -> None:
    if bad.any():
        position = int(np.flatnonzero(bad)[0])
        raise refusal(position).at(_name(rows, position))


def _greatest(
    cbr: Column, traffic: Traffic, reinforcement: Reinforcement, settings: DesignSettings, rows: Sequence[str]
) -> Column:
    greatest: Column = np.full(cbr.size, settings.minimum_depth_m)
    if "platform" in settings.checks:
        greatest = np.maximum(greatest, _platform(cbr, traffic, reinforcement, settings, rows))
    if "structural" in settings.checks:
        greatest = np.maximum(greatest, _structural(cbr, traffic, reinforcement, settings, rows))
    if "practice" in settings.checks and speaks_of(traffic):
        ratios, depths = zip(*knots(), strict=True)
        greatest = np.maximum(greatest, np.interp(np.log(cbr), np.log(ratios), depths) * INCH_M)
    return greatest


def _platform(
    cbr: Column, traffic: Traffic, reinforcement: Reinforcement, settings: DesignSettings, rows: Sequence[str]
) -> Column:
    kind, stability, saved = platform_rule(reinforcement)
    raw = platform_thickness_column(cbr, traffic, kind, stability, settings.base_cbr)
    _refuse_first(np.isinf(raw), rows, lambda position: too_deep(float(cbr[position]), traffic))
    return np.maximum(raw * (1 - saved), limit("least platform"))


def _structural(
    cbr: Column, traffic: Traffic, reinforcement: Reinforcement, settings: DesignSettings, rows: Sequence[str]
) -> Column:
    if settings.modulus_rule == "linear":
        end = limit("strongest ground of 1500 CBR")
        _refuse_first(cbr > end, rows, lambda position: linear_refusal(float(cbr[position])))
    mr = modulus(cbr, settings.modulus_rule, COLUMN)
    zr = standard_deviate(settings.reliability)
    sn = structural_number_column(traffic.esal, mr, zr, settings.overall_deviation, settings.serviceability_drop)
    _refuse_first(np.isinf(sn), rows, lambda position: too_weak(traffic.esal, float(mr[position])))
    depth: Column = np.maximum(base_m(sn, settings) * (1 - reinforcement.reduction), least_base_m(traffic.esal))
    return depth


def _rounded(depth_m: Column, step_m: float) -> Column:
    """Return each depth rounded up by the very rule of one number, applied once to each different depth."""
    steps = np.ceil(np.round(depth_m / step_m, 9))
    different, where = np.unique(steps, return_inverse=True)
    return np.array([step_up(float(count) * step_m, step_m) for count in different], dtype=np.float64)[where]
