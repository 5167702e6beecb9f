"""Base depth by structural number, AASHTO Guide 1993: what the pavers and their bedding do not carry, the base must."""

from math import log10
from statistics import NormalDist
from typing import Final

from basecalc.base.check import Check
from basecalc.base.limits import designed_cbr
from basecalc.base.modulus import layer_coefficient, modulus_words, resilient_modulus_psi
from basecalc.base.reinforcement import NONE, Reinforcement
from basecalc.base.settings import DEFAULT_SETTINGS, DesignSettings
from basecalc.base.solving import SCALAR, Functions, Number, bisect
from basecalc.base.traffic import Traffic
from basecalc.checks import number
from basecalc.errors import OutOfRangeError
from basecalc.tables import sources, table
from basecalc.units import INCH_M
from basecalc.working import Working

HIGHEST_SN: Final = 20.0


def log_axles(sn: Number, zr: float, overall_deviation: float, serviceability_drop: float, f: Functions) -> Number:
    """Return log10 W18 of a structural number over a subgrade of 1 psi: the equation without its modulus term.

    Parameters
    ----------
    sn
        Structural number [in].
    zr
        Standard normal deviate of the reliability.
    overall_deviation
        Overall standard deviation So.
    serviceability_drop
        Loss of serviceability.
    f
        Functions for one number or for a column.

    References
    ----------
    AASHTO-1993, Fig. 3.1.
    """
    rise = sn + 1
    loss = log10(serviceability_drop / 2.7) / (0.40 + 1094 / rise**5.19)
    return zr * overall_deviation + 9.36 * f.log10(rise) - 0.20 + loss - 8.07


def log_modulus(modulus_psi: Number, f: Functions) -> Number:
    """Return the modulus term of the equation, to be added to `log_axles`.

    Parameters
    ----------
    modulus_psi
        Resilient modulus of the subgrade [psi].
    f
        Functions for one number or for a column.
    """
    return 2.32 * f.log10(modulus_psi)


def standard_deviate(reliability: float) -> float:
    """Return the standard normal deviate ZR, 0 or negative.

    Parameters
    ----------
    reliability
        Reliability [share], 0.5 to 0.999.

    Examples
    --------
    >>> round(standard_deviate(0.75), 3)
    -0.674
    """
    return NormalDist().inv_cdf(1 - number("reliability", reliability, "", 0.5, 0.9990001, why="a share, not percent"))


def traffic_capacity(
    sn: float, modulus_psi: float, zr: float, overall_deviation: float, serviceability_drop: float
) -> float:
    """Return the equivalent 18-kip axles that a structural number bears.

    Parameters
    ----------
    sn
        Structural number [in].
    modulus_psi
        Resilient modulus of the subgrade [psi].
    zr
        Standard normal deviate of the reliability.
    overall_deviation
        Overall standard deviation.
    serviceability_drop
        Loss of serviceability.

    Examples
    --------
    >>> round(traffic_capacity(5.04, 10000, -1.282, 0.5, 2.0))
    26128077
    """
    log_w18 = log_axles(sn, zr, overall_deviation, serviceability_drop, SCALAR) + log_modulus(modulus_psi, SCALAR)
    return float(10**log_w18)


def structural_number(
    esal: float, modulus_psi: float, zr: float, overall_deviation: float, serviceability_drop: float
) -> float:
    """Return the structural number [in] that the traffic asks for.

    Parameters
    ----------
    esal
        Equivalent 18-kip single axles.
    modulus_psi
        Resilient modulus of the subgrade [psi].
    zr
        Standard normal deviate of the reliability.
    overall_deviation
        Overall standard deviation.
    serviceability_drop
        Loss of serviceability.

    Returns
    -------
    float
        Structural number [in]; 0 where the subgrade bears the traffic as it is.

    Raises
    ------
    OutOfRangeError
        No structural number up to 20 is enough.

    Examples
    --------
    >>> round(structural_number(5e6, 5000, -1.645, 0.35, 1.9), 3)
    4.976
    """
    wanted = log10(esal) - log_modulus(modulus_psi, SCALAR)

    def missing(sn: float) -> float:
        return float(wanted - log_axles(sn, zr, overall_deviation, serviceability_drop, SCALAR))

    if missing(0.0) <= 0:
        return 0.0
    if missing(HIGHEST_SN) > 0:
        raise too_weak(esal, modulus_psi)
    return bisect(missing, 0.0, HIGHEST_SN)


def too_weak(esal: float, modulus_psi: float) -> OutOfRangeError:
    """Return the refusal of traffic that no structural number bears."""
    return OutOfRangeError(
        f"{esal:,.0f} equivalent axles over a resilient modulus of {modulus_psi:,.0f} psi ask for a structural number "
        f"above {HIGHEST_SN:g}; a licensed engineer must design the base"
    )


def least_base_m(esal: float) -> float:
    """Return the least base depth of the guide for so many equivalent axles [m]."""
    return float(table("aashto_least_bases").band("number of equivalent axles", esal)["base"]) * INCH_M


def surface_number(settings: DesignSettings) -> float:
    """Return the structural number [in] of pavers and bedding."""
    return settings.surface_coefficient * (settings.paver_m + settings.bedding_m) / INCH_M


def base_m(sn: Number, settings: DesignSettings) -> Number:
    """Return the base depth [m] for a structural number [in], negative where pavers and bedding carry more."""
    per_inch = layer_coefficient(settings.base_modulus_psi) * settings.drainage
    return (sn - surface_number(settings)) / per_inch * INCH_M


def structural_depth(
    cbr: float,
    traffic: Traffic,
    reinforcement: Reinforcement = NONE,
    settings: DesignSettings = DEFAULT_SETTINGS,
) -> Check:
    """Return the structural check.

    Parameters
    ----------
    cbr
        CBR of the subgrade [%], 0.4 to 100.
    traffic
        Its equivalent axles count here.
    reinforcement
        A geogrid thins this check by its documented reduction only.
    settings
        Reliability, modulus rule, base modulus, pavers and bedding.

    Returns
    -------
    Check
        Depth [m], at least the least base of the guide.

    Raises
    ------
    OutOfRangeError
        Ground below CBR 0.4 or outside the modulus rule, or traffic that no base bears.
    """
    cbr = designed_cbr(cbr)
    zr = standard_deviate(settings.reliability)
    mr = resilient_modulus_psi(cbr, settings.modulus_rule)
    sn = structural_number(traffic.esal, mr, zr, settings.overall_deviation, settings.serviceability_drop)
    carried, raw, least = surface_number(settings), float(base_m(sn, settings)), least_base_m(traffic.esal)
    saved = reinforcement.reduction
    depth = max(raw * (1 - saved), least)
    formula = modulus_words(cbr, settings.modulus_rule)
    working = [
        Working("equivalent axles", traffic.esal, "ESAL", f"traffic: {traffic.name}"),
        Working("reliability", settings.reliability, "share"),
        Working("standard deviate ZR", zr),
        Working("overall deviation So", settings.overall_deviation),
        Working("loss of serviceability", settings.serviceability_drop),
        Working("CBR of the subgrade", cbr, "%"),
        Working("resilient modulus of the subgrade", mr, "psi", formula),
        Working("structural number needed", sn, "in"),
        Working("structural number of pavers and bedding", carried, "in", f"{settings.surface_coefficient:g} per in"),
        Working("layer coefficient of the base a2", layer_coefficient(settings.base_modulus_psi), "per in"),
        Working("drainage coefficient", settings.drainage),
        Working("depth by the equation", raw, "m", "" if raw > 0 else "pavers and bedding carry the traffic alone"),
    ]
    if saved:
        working.append(Working("documented reduction", saved, "share", reinforcement.reduction_source))
    working.append(Working("least depth", least, "m", table("aashto_least_bases").cited))
    text = (
        f"structural number {sn:.2f} for {traffic.esal:,.0f} equivalent axles over a resilient modulus of {mr:,.0f} "
        f"psi ({formula}), of which pavers and bedding carry {min(carried, sn):.2f}"
    )
    if saved:
        text += f"; less the geogrid's documented reduction of {saved * 100:.3g} % ({reinforcement.reduction_source})"
    elif reinforcement.kind == "geogrid":
        text += "; the geogrid does not thin this check, no documented reduction is given"
    if depth == least:
        text += "; the guide's least base applies"
    return Check("structural", depth, True, text, tuple(working), f"{sources()['AASHTO-1993']}, Part II, Fig. 3.1")
