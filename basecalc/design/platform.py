"""Working platform over soft ground by Giroud and Han (2004), with and without reinforcement."""

from collections.abc import Callable
from dataclasses import dataclass
from math import ceil, exp, inf, log, log10, pi, sqrt
from typing import Final

from basecalc.core.errors import OutOfRangeError
from basecalc.core.published import Working, table
from basecalc.design.settings import NONE, Check, Reinforcement, Traffic, designed_cbr, limit
from basecalc.ground.classes import cohesion_kpa

#: Depths between which the equation is solved [m]; one root lies there in every ordinary case.
SHALLOWEST_M: Final = 0.02
DEEPEST_M: Final = 2.5
REFERENCE_RUT_MM: Final = 75.0
#: Neighboring trial depths have this ratio when a root is looked for from the deep end.
RATIO: Final = 1.3


def bisect(excess: Callable[[float], float], low: float, high: float) -> float:
    """Return where the excess passes from positive to negative, to the last digits of a float."""
    while True:
        middle = 0.5 * (low + high)
        if not low < middle < high:
            return middle
        if excess(middle) >= 0:
            low = middle
        else:
            high = middle


def deepest_root(excess: Callable[[float], float], low: float, high: float) -> float:
    """Return the greatest value at which the excess passes from positive to negative; infinity where none is enough.

    The search comes down from the deep end, so that of several roots it finds the one on the safe side.
    """
    steps = ceil(round(log(high / low) / log(RATIO), 9))
    inner = (float(f"{high * (low / high) ** (step / steps):.12g}") for step in range(1, steps))
    outer = inf
    for trial in (high, *inner, low):
        if excess(trial) >= 0:
            return bisect(excess, trial, outer) if outer < inf else inf
        outer = trial
    return 0.0


@dataclass(frozen=True, slots=True)
class Terms:
    """Everything in the equation that the trial depth does not change."""

    radius_m: float
    repetition: float
    modulus_ratio: float
    stiffness: float
    strength_kpa: float
    tire_kpa: float


def terms(cbr: float, traffic: Traffic, nc: float, stability: float, base_cbr: float) -> Terms:
    """Return the terms of the equation of `thickness` that do not depend on h."""
    modulus_ratio = min(3.48 * base_cbr**0.3 / cbr, 5.0)
    return Terms(
        radius_m=sqrt(traffic.wheel_load_kn / (pi * traffic.tire_kpa)),
        repetition=(0.661 - 1.006 * stability**2) * log10(traffic.passes),
        modulus_ratio=modulus_ratio,
        stiffness=1 + 0.204 * (modulus_ratio - 1),
        strength_kpa=traffic.rut_mm / REFERENCE_RUT_MM * nc * cohesion_kpa(cbr),
        tire_kpa=traffic.tire_kpa,
    )


def excess(depth_m: float, t: Terms) -> float:
    """Return how much more depth the equation of `thickness` asks for than the trial depth [m]: 0 at its solution."""
    slenderness = t.radius_m / depth_m
    mobilized = 1 - 0.9 * exp(-(slenderness**2))
    spread = (0.868 + t.repetition * slenderness * sqrt(slenderness)) / t.stiffness
    return spread * (sqrt(t.tire_kpa / (mobilized * t.strength_kpa)) - 1) * t.radius_m - depth_m


def bearing_factor(kind: str) -> float:
    """Return the bearing capacity factor Nc of the subgrade for a kind of reinforcement."""
    return float(table("bearing_factors").exact(kind)["factor"])


def thickness(
    cbr: float, traffic: Traffic, kind: str = "none", stability: float = 0.0, base_cbr: float = 20.0
) -> float:
    """Return the depth the equation asks for [m], before any least depth.

    Notes
    -----
    ::

        h = [0.868 + (0.661 - 1.006 J^2) (r/h)^1.5 log10 N] / fE * (sqrt(P / (pi r^2 m Nc cu)) - 1) * r

        r  = sqrt(P / (pi p))                        radius of the tire print [m]
        m  = (s / 75 mm) (1 - 0.9 exp(-(r/h)^2))     share of the bearing capacity that a rut s mobilizes
        fE = 1 + 0.204 (RE - 1),  RE = min(5, 3.48 CBRbase^0.3 / CBR)
        cu = 30 kPa x CBR                            undrained shear strength of the subgrade

    h depth [m]; CBR of the subgrade and CBRbase of the base [%]; P wheel load, half an axle [kN]; p tire pressure
    [kPa]; N passes; s allowed rut, 50 to 100 mm; J aperture stability modulus of a geogrid [m-N/deg], 0 to 0.8, else 0;
    Nc of ``bearing_factors``. No base is needed where p <= (s / 75 mm) Nc cu, which is P <= (s / 75 mm) pi r^2 Nc cu.
    h is on both sides; of several roots the deepest is taken. Calibrated for unpaved roads on subgrades up to CBR 5.

    References
    ----------
    Giroud and Han 2004, J. Geotech. Geoenviron. Eng. 130(8), 775-797; [read].
    """
    t = terms(cbr, traffic, bearing_factor(kind), stability, base_cbr)
    if t.tire_kpa <= t.strength_kpa:
        return 0.0
    depth = deepest_root(lambda trial: excess(trial, t), SHALLOWEST_M, DEEPEST_M)
    if depth == inf:
        raise OutOfRangeError(
            f"CBR is {cbr:g} %; for traffic '{traffic.name}' the platform check finds no depth up to {DEEPEST_M:g} m, "
            "a licensed engineer must design the base"
        )
    return depth


def platform_rule(reinforcement: Reinforcement) -> tuple[str, float, float]:
    """Return what the platform check goes by: kind for the bearing factor, aperture stability, share saved on top.

    A geotextile never thins the finished base. A geogrid does: by its aperture stability where it has one, else by its
    documented reduction, never by both.
    """
    if reinforcement.kind == "geogrid" and reinforcement.aperture_stability:
        return "geogrid", reinforcement.aperture_stability, 0.0
    return "none", 0.0, reinforcement.reduction


def platform_depth(cbr: float, traffic: Traffic, reinforcement: Reinforcement = NONE, base_cbr: float = 20.0) -> Check:
    """Return the platform check: the depth of `thickness`, less a documented reduction, at least 0.10 m."""
    return _check("platform", cbr, traffic, *platform_rule(reinforcement), base_cbr, counts=True)


def geotextile_information(cbr: float, traffic: Traffic, base_cbr: float = 20.0) -> Check:
    """Return the platform depth with a geotextile, for information: it never makes the finished base thinner."""
    return _check("platform with geotextile", cbr, traffic, "geotextile", 0.0, 0.0, base_cbr, counts=False)


def _check(
    name: str, cbr: float, traffic: Traffic, kind: str, stability: float, saved: float, base_cbr: float, *, counts: bool
) -> Check:
    cbr = designed_cbr(cbr)
    nc, least = bearing_factor(kind), limit("least platform")
    raw = thickness(cbr, traffic, kind, stability, base_cbr)
    depth = max(raw * (1 - saved), least)
    t = terms(cbr, traffic, nc, stability, base_cbr)
    working = [
        Working("wheel load", traffic.wheel_load_kn, "kN", f"traffic: {traffic.name}"),
        Working("tire pressure", traffic.tire_kpa, "kPa"),
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
        mobilized = traffic.rut_mm / REFERENCE_RUT_MM * (1 - 0.9 * exp(-((t.radius_m / raw) ** 2)))
        working.append(Working("mobilized bearing capacity m", mobilized, "", "at the depth by the equation"))
    working.append(Working("depth by the equation", raw, "m", "" if raw else "the subgrade bears the wheel as it is"))
    if saved:
        working.append(Working("documented reduction", saved, "share"))
    working.append(Working("least depth", least, "m"))
    source = f"{table('bearing_factors').source}: a method for unpaved roads, so the structural check is made beside it"
    return Check(name, depth, counts, _sentence(cbr, traffic, kind, raw, saved), tuple(working), source)


def _sentence(cbr: float, traffic: Traffic, kind: str, raw: float, saved: float) -> str:
    what = {"none": "without reinforcement", "geotextile": "with a geotextile", "geogrid": "with the geogrid"}[kind]
    if saved:
        what = f"less the geogrid's documented reduction of {saved * 100:.3g} %"
    text = (
        f"working platform over CBR {cbr:.3g} % for {traffic.passes:,.0f} passes of the {traffic.name} traffic's "
        f"wheel, {what}"
    )
    if not raw:
        text += "; the ground bears the wheel as it is, so the least platform applies"
    if cbr > (end := limit("strongest ground of the platform calibration")):
        text += f"; CBR above {end:g} % lies outside the calibration of the method: its equation is used all the same"
        text += ", which is on the deep side"
    if kind == "geotextile":
        text += "; for information only: a separation geotextile does not thin the finished base"
    return text
