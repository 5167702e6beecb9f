"""Stiffness of subgrade and base for the structural design: resilient modulus from CBR, layer coefficient.

Base depth by structural number, AASHTO Guide 1993: what the pavers and their bedding do not carry, the base must.
"""

from math import log10
from statistics import NormalDist
from typing import Final

from basecalc.core.errors import OutOfRangeError
from basecalc.core.numbers import choice, number
from basecalc.core.published import Working, sources, table
from basecalc.core.units import INCH_M
from basecalc.design.platform import SCALAR, Functions, Number, bisect
from basecalc.design.settings import (
    DEFAULT_SETTINGS,
    MODULUS_RULES,
    NONE,
    Check,
    DesignSettings,
    Reinforcement,
    Traffic,
    designed_cbr,
    limit,
)


def modulus(cbr: Number, rule: str, f: Functions) -> Number:
    """Return the resilient modulus [psi] by a rule already checked; CBR [%] is a number or a column."""
    power, linear = 2555 * cbr**0.64, 1500 * cbr
    return {"power": power, "linear": linear, "safer": f.least(power, linear)}[rule]


def resilient_modulus_psi(cbr: float, rule: str = "safer") -> float:
    """Return the resilient modulus of the subgrade [psi].

    Parameters
    ----------
    cbr
        CBR of the subgrade [%], above 0, at most 100.
    rule
        'power': 2555 CBR^0.64; 'linear': 1500 CBR, up to CBR 10; 'safer': the lesser of the two, which is 1500 CBR
        below CBR 4.39.

    Raises
    ------
    OutOfRangeError
        A CBR outside the limits of the rule.

    Examples
    --------
    >>> resilient_modulus_psi(3.0), round(resilient_modulus_psi(10.0)), round(resilient_modulus_psi(3.0, "power"))
    (4500.0, 11153, 5161)

    References
    ----------
    FHWA-NHI-05-037, Eq. 5.13 and Table 5-34.
    """
    rule = choice("modulus rule", rule, MODULUS_RULES)
    cbr = number("CBR", cbr, "%", 0, 100, above=True)
    if rule == "linear" and cbr > limit("strongest ground of 1500 CBR"):
        raise linear_refusal(cbr)
    return float(modulus(cbr, rule, SCALAR))


def linear_refusal(cbr: float) -> OutOfRangeError:
    """Return the refusal of ground too strong for the rule 'linear'."""
    return OutOfRangeError(
        f"CBR is {cbr:g} %; the modulus rule 'linear' (1500 CBR) ends at {limit('strongest ground of 1500 CBR'):g} %, "
        "the rule must be 'safer' or 'power'"
    )


def layer_coefficient(modulus_psi: float) -> float:
    """Return the layer coefficient a2 of a granular base [1/in].

    Parameters
    ----------
    modulus_psi
        Resilient modulus of the base [psi].

    Examples
    --------
    >>> round(layer_coefficient(30000), 3)
    0.138

    References
    ----------
    AASHTO-1993, Part II, section 2.3.5.
    """
    return 0.249 * log10(modulus_psi) - 0.977


def modulus_words(cbr: float, rule: str) -> str:
    """Return the formula that gave the modulus, and that it was chosen as the lesser where it was.

    Examples
    --------
    >>> modulus_words(3.0, "safer")
    '1500 CBR, the lesser of 2555 CBR^0.64 and 1500 CBR'
    """
    if rule == "power" or (rule == "safer" and modulus(cbr, "power", SCALAR) < modulus(cbr, "linear", SCALAR)):
        text = "2555 CBR^0.64"
    else:
        text = "1500 CBR"
    return f"{text}, the lesser of 2555 CBR^0.64 and 1500 CBR" if rule == "safer" else text


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
    """Return the modulus term of the equation, to be added to `log_axles`."""
    return 2.32 * f.log10(modulus_psi)


def standard_deviate(reliability: float) -> float:
    """Return the standard normal deviate ZR, 0 or negative.

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
    """Return the structural check."""
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
