"""Required base depth for a whole column of measured CBRs at once, equal to `base_depth` row by row (NumPy)."""

from collections.abc import Callable, Sequence
from decimal import Decimal
from typing import Any

import numpy as np
from numpy.typing import NDArray

from basecalc.base.depth import require_ground_check
from basecalc.base.frost import FrostGround, required_frost
from basecalc.base.limits import designed_cbr, limit
from basecalc.base.minimum import UNKNOWN, Site, minimum_m
from basecalc.base.modulus import linear_refusal, modulus
from basecalc.base.platform import platform_rule, too_deep
from basecalc.base.platform_column import platform_thickness_column
from basecalc.base.practice import knots, speaks_of
from basecalc.base.reinforcement import NONE, Reinforcement
from basecalc.base.reinforcement import reinforcement as described
from basecalc.base.settings import DEFAULT_SETTINGS, DesignSettings
from basecalc.base.solving_column import COLUMN, Column
from basecalc.base.structural import base_m, least_base_m, standard_deviate, too_weak
from basecalc.base.structural_column import structural_number_column
from basecalc.base.traffic import Traffic
from basecalc.base.traffic import traffic as traffic_level
from basecalc.errors import BasecalcError, InputError
from basecalc.rounding import step_up
from basecalc.units import INCH_M


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
