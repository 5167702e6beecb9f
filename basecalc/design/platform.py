"""The functions an equation is written with, for one number and a column alike; a safe root for one number.

Working-platform depth over soft ground by Giroud and Han (2004), with and without reinforcement.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from math import inf, log10, pi, sqrt
from typing import Any, Final, TypeAlias

from basecalc.core.errors import OutOfRangeError
from basecalc.core.numbers import number
from basecalc.core.published import Working, table
from basecalc.design.settings import NONE, Check, Reinforcement, Traffic, designed_cbr, limit
from basecalc.ground.classes import cohesion_kpa

#: A float, or a NumPy array of floats: the equations of this package are written once for both.
Number: TypeAlias = Any

#: Neighbouring trial depths stand in this ratio when a root is looked for from the deep end.
RATIO: Final = 1.3


@dataclass(frozen=True, slots=True)
class Functions:
    """Where an equation takes its functions from: `math` for one number, NumPy for a column."""

    exp: Callable[[Number], Number]
    log10: Callable[[Number], Number]
    sqrt: Callable[[Number], Number]
    least: Callable[[Number, Number], Number]


SCALAR: Final = Functions(math.exp, math.log10, math.sqrt, min)


def trials(low: float, high: float) -> tuple[float, ...]:
    """Return the trial values from high down to low, neighbours in one ratio.

    Examples
    --------
    >>> trials(1.0, 1.69)
    (1.69, 1.3, 1.0)
    """
    steps = math.ceil(round(math.log(high / low) / math.log(RATIO), 9))
    inner = (high * (low / high) ** (step / steps) for step in range(1, steps))
    return (high, *(float(f"{value:.12g}") for value in inner), low)


def bisect(excess: Callable[[float], float], low: float, high: float) -> float:
    """Return where the excess passes from positive to negative, to the last digits of a float.

    Examples
    --------
    >>> round(bisect(lambda x: 2 - x * x, 1.0, 2.0), 12)
    1.414213562373
    """
    while True:
        middle = 0.5 * (low + high)
        if not low < middle < high:
            return middle
        if excess(middle) >= 0:
            low = middle
        else:
            high = middle


def deepest_root(excess: Callable[[float], float], low: float, high: float) -> float:
    """Return the greatest value at which the excess passes from positive to negative.

    The search comes down from the deep end, so that of several roots it finds the one on the safe side.

    Examples
    --------
    >>> round(deepest_root(lambda x: 2 - x * x, 0.5, 10), 9)
    1.414213562
    """
    outer = math.inf
    for trial in trials(low, high):
        if excess(trial) >= 0:
            return bisect(excess, trial, outer) if outer < math.inf else math.inf
        outer = trial
    return 0.0


#: Depths between which the equation is solved [m]; one root lies there in every ordinary case.
SHALLOWEST_M: Final = 0.02
DEEPEST_M: Final = 2.5

REFERENCE_RUT_MM: Final = 75.0


@dataclass(frozen=True, slots=True)
class Terms:
    """Everything in the equation that the trial depth does not change; CBR terms are numbers or columns."""

    radius_m: float
    repetition: float
    modulus_ratio: Number
    stiffness: Number
    strength_kpa: Number
    tyre_kpa: float


def terms(cbr: Number, traffic: Traffic, nc: float, stability: float, base_cbr: float, f: Functions) -> Terms:
    """Return the terms of the equation for a CBR or a column of them."""
    modulus_ratio = f.least(3.48 * base_cbr**0.3 / cbr, 5.0)
    return Terms(
        radius_m=sqrt(traffic.wheel_load_kn / (pi * traffic.tyre_kpa)),
        repetition=(0.661 - 1.006 * stability**2) * log10(traffic.passes),
        modulus_ratio=modulus_ratio,
        stiffness=1 + 0.204 * (modulus_ratio - 1),
        strength_kpa=traffic.rut_mm / REFERENCE_RUT_MM * nc * cohesion_kpa(cbr),
        tyre_kpa=traffic.tyre_kpa,
    )


def excess(depth_m: Number, t: Terms, f: Functions) -> Number:
    """Return how much more depth [m] the equation asks for than the trial depth gives: 0 at its solution.

    P / (pi r^2 m Nc cu) is written as tyre pressure over (m Nc cu), which is the same.
    """
    slenderness = t.radius_m / depth_m
    mobilised = 1 - 0.9 * f.exp(-(slenderness**2))
    spread = (0.868 + t.repetition * slenderness * f.sqrt(slenderness)) / t.stiffness
    return spread * (f.sqrt(t.tyre_kpa / (mobilised * t.strength_kpa)) - 1) * t.radius_m - depth_m


def bearing_factor(kind: str) -> float:
    """Return the bearing capacity factor Nc of the subgrade for a kind of reinforcement.

    Examples
    --------
    >>> bearing_factor("none")
    3.14
    """
    return float(table("bearing_factors").exact(kind)["factor"])


def thickness(
    cbr: float, traffic: Traffic, kind: str = "none", stability: float = 0.0, base_cbr: float = 20.0
) -> float:
    """Return the depth the equation asks for [m], before any least depth.

    Parameters
    ----------
    cbr
        CBR of the subgrade [%], not checked here.
    traffic
        Wheel load, tyre pressure, passes and allowed rut.
    kind
        Kind of reinforcement, for the bearing capacity factor.
    stability
        Aperture stability modulus [m-N/deg], 0 without a geogrid.
    base_cbr
        CBR of the base [%].

    Returns
    -------
    float
        Depth [m]; 0 where the subgrade bears the wheel without a base, or with less than 0.02 m.

    Raises
    ------
    OutOfRangeError
        No depth down to 2.5 m is enough.

    Examples
    --------
    >>> round(thickness(1.0, Traffic("truck", 40, 550, 1000, 75, 15000)), 4)
    0.4702

    References
    ----------
    Giroud and Han 2004, J. Geotech. Geoenviron. Eng. 130(8), 775-797.
    """
    t = terms(cbr, traffic, bearing_factor(kind), stability, base_cbr, SCALAR)
    if t.tyre_kpa <= t.strength_kpa:
        return 0.0
    depth = deepest_root(lambda trial: float(excess(trial, t, SCALAR)), SHALLOWEST_M, DEEPEST_M)
    if depth == inf:
        raise too_deep(cbr, traffic)
    return depth


def too_deep(cbr: float, traffic: Traffic) -> OutOfRangeError:
    """Return the refusal of ground and traffic for which no sensible platform depth exists."""
    return OutOfRangeError(
        f"CBR is {cbr:g} %; for traffic '{traffic.name}' the platform check finds no depth up to {DEEPEST_M:g} m, "
        "a licensed engineer must design the base"
    )


def platform_rule(reinforcement: Reinforcement) -> tuple[str, float, float]:
    """Return what the platform check goes by: kind for the bearing factor, aperture stability, share saved on top.

    A geotextile never thins the finished base; a geogrid does by its aperture stability, and by its documented
    reduction only where there is no aperture stability: never by both.

    Examples
    --------
    >>> platform_rule(Reinforcement("geogrid", 0.32))
    ('geogrid', 0.32, 0.0)
    """
    if reinforcement.kind == "geogrid" and reinforcement.aperture_stability:
        return "geogrid", reinforcement.aperture_stability, 0.0
    return "none", 0.0, reinforcement.reduction


def platform_depth(cbr: float, traffic: Traffic, reinforcement: Reinforcement = NONE, base_cbr: float = 20.0) -> Check:
    """Return the platform check."""
    kind, stability, saved = platform_rule(reinforcement)
    return _check("platform", cbr, traffic, kind, stability, saved, base_cbr, counts=True)


def geotextile_information(cbr: float, traffic: Traffic, base_cbr: float = 20.0) -> Check:
    """Return the platform depth with a geotextile, for information: it never makes the finished base thinner."""
    return _check("platform with geotextile", cbr, traffic, "geotextile", 0.0, 0.0, base_cbr, counts=False)


def _check(
    name: str,
    cbr: float,
    traffic: Traffic,
    kind: str,
    stability: float,
    saved: float,
    base_cbr: float,
    *,
    counts: bool,
) -> Check:
    cbr = designed_cbr(cbr)
    row = table("design_defaults").exact("base_cbr")
    base_cbr = number(
        "CBR of the base", base_cbr, "%", float(row["low"]), float(row["high"]), why="basecalc's own range"
    )
    nc, least = bearing_factor(kind), limit("least platform")
    raw = thickness(cbr, traffic, kind, stability, base_cbr)
    depth = max(raw * (1 - saved), least)
    t = terms(cbr, traffic, nc, stability, base_cbr, SCALAR)
    working = [
        Working("wheel load", traffic.wheel_load_kn, "kN", f"traffic: {traffic.name}"),
        Working("tyre pressure", traffic.tyre_kpa, "kPa"),
        Working("passes", traffic.passes),
        Working("allowed rut", traffic.rut_mm, "mm"),
        Working("contact radius r", t.radius_m, "m", "square root of P / (pi p)"),
        Working("CBR of the subgrade", cbr, "%"),
        Working("shear strength of the subgrade cu", cohesion_kpa(cbr), "kPa", "30 kPa x CBR"),
        Working("bearing capacity factor Nc", nc, "", table("bearing_factors").cited),
        Working("CBR of the base", base_cbr, "%"),
        Working("limited modulus ratio RE", t.modulus_ratio, "", "3.48 CBRbase^0.3 / CBRsub, at most 5"),
        Working("stiffness factor fE", t.stiffness, "", "1 + 0.204 (RE - 1)"),
        Working(
            "aperture stability J", stability, "m-N/deg", "from the grid's own test report" if stability else "none"
        ),
    ]
    if raw:
        mobilised = traffic.rut_mm / REFERENCE_RUT_MM * (1 - 0.9 * SCALAR.exp(-((t.radius_m / raw) ** 2)))
        working.append(Working("mobilised bearing capacity m", mobilised, "", "at the depth found"))
    working.append(Working("depth by the equation", raw, "m", "" if raw else "the subgrade bears the wheel as it is"))
    if saved:
        working.append(Working("documented reduction", saved, "share"))
    working.append(Working("least depth", least, "m"))
    return Check(name, depth, counts, _sentence(cbr, traffic, kind, raw, saved), tuple(working), _source())


def _sentence(cbr: float, traffic: Traffic, kind: str, raw: float, saved: float) -> str:
    what = {"none": "without reinforcement", "geotextile": "with a geotextile", "geogrid": "with the geogrid"}[kind]
    if saved:
        what = f"less the geogrid's documented reduction of {saved * 100:.3g} %"
    text = (
        f"working platform over CBR {cbr:.3g} % for {traffic.passes:,.0f} passes of a {traffic.wheel_load_kn:g} kN "
        f"wheel at {traffic.tyre_kpa:g} kPa with ruts up to {traffic.rut_mm:g} mm, {what}"
    )
    if not raw:
        text += "; the ground bears the wheel as it is, so that the least platform applies"
    if cbr > (end := limit("strongest ground of the platform calibration")):
        text += (
            f"; CBR above {end:g} % lies outside the calibration of the method; its equation is kept, on the deep side"
        )
    if kind == "geotextile":
        text += "; for information only: a separation geotextile does not thin the finished base"
    return text


def _source() -> str:
    return f"{table('bearing_factors').source}: a method for unpaved roads, so the structural check stands beside it"
