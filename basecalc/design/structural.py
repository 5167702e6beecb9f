"""Base depth by structural number, AASHTO Guide 1993: what the pavers and their bedding do not carry, the base must."""

from math import log10
from statistics import NormalDist
from typing import Final

from basecalc.core.errors import OutOfRangeError
from basecalc.core.published import Working, sources, table
from basecalc.core.units import INCH_M
from basecalc.design.platform import bisect
from basecalc.design.settings import (
    DEFAULT_SETTINGS,
    NONE,
    Check,
    DesignSettings,
    Reinforcement,
    Traffic,
    designed_cbr,
    limit,
)

HIGHEST_SN: Final = 20.0


def resilient_modulus_psi(cbr: float, rule: str = "safer") -> float:
    """Return the resilient modulus of the subgrade [psi].

    Parameters
    ----------
    cbr
        CBR of the subgrade [%], above 0, at most 100.
    rule
        'power', 'linear' (up to CBR 10) or 'safer', the lesser of the two.

    Notes
    -----
    power: ``MR = 2555 CBR^0.64``; linear: ``MR = 1500 CBR``. The two cross at CBR 4.39, below which 1500 CBR is the
    lesser and so the safer one.

    References
    ----------
    FHWA-NHI-05-037, Eq. 5.13 and Table 5-34; [digitized].
    """
    if rule == "linear" and cbr > (end := limit("strongest ground of 1500 CBR")):
        raise OutOfRangeError(
            f"CBR is {cbr:g} %; the modulus rule 'linear' (1500 CBR) ends at {end:g} %, the rule must be 'safer' or "
            "'power'"
        )
    power: float = 2555 * cbr**0.64
    linear = 1500 * cbr
    return {"power": power, "linear": linear, "safer": min(power, linear)}[rule]


def modulus_words(cbr: float, rule: str) -> str:
    """Return the formula that gave the modulus, and that it is the lesser of two where it was chosen as that."""
    by_power = rule == "power" or (rule == "safer" and resilient_modulus_psi(cbr) < 1500 * cbr)
    text = "2555 CBR^0.64" if by_power else "1500 CBR"
    return f"{text}, the lesser of 2555 CBR^0.64 and 1500 CBR" if rule == "safer" else text


def layer_coefficient(modulus_psi: float) -> float:
    """Return the layer coefficient a2 of a granular base [1/in].

    Notes
    -----
    ``a2 = 0.249 log10 Ebs - 0.977``, Ebs resilient modulus of the base [psi].

    References
    ----------
    AASHTO-1993, Part II, section 2.3.5; [digitized].
    """
    return 0.249 * log10(modulus_psi) - 0.977


def standard_deviate(reliability: float) -> float:
    """Return the standard normal deviate ZR, 0 or negative, of a reliability from 0.5 to 0.999 [share]."""
    return NormalDist().inv_cdf(1 - reliability)


def log_axles(sn: float, modulus_psi: float, zr: float, overall_deviation: float, serviceability_drop: float) -> float:
    """Return log10 of the 18-kip axles W18 that a structural number bears.

    Notes
    -----
    ::

        log10 W18 = ZR So + 9.36 log10(SN + 1) - 0.20 + log10(dPSI / 2.7) / (0.40 + 1094 / (SN + 1)^5.19)
                    + 2.32 log10 MR - 8.07

    SN structural number [in]; MR resilient modulus of the subgrade [psi]; ZR standard normal deviate of the
    reliability; So overall standard deviation; dPSI loss of serviceability.

    References
    ----------
    AASHTO-1993, Fig. 3.1; [read].
    """
    rise = sn + 1
    loss: float = log10(serviceability_drop / 2.7) / (0.40 + 1094 / rise**5.19)
    return zr * overall_deviation + 9.36 * log10(rise) - 0.20 + loss + 2.32 * log10(modulus_psi) - 8.07


def structural_number(
    esal: float, modulus_psi: float, zr: float, overall_deviation: float, serviceability_drop: float
) -> float:
    """Return the structural number [in] that the traffic asks for: `log_axles` solved for SN, by bisection."""

    def missing(sn: float) -> float:
        return log10(esal) - log_axles(sn, modulus_psi, zr, overall_deviation, serviceability_drop)

    if missing(0.0) <= 0:
        return 0.0
    if missing(HIGHEST_SN) > 0:
        raise OutOfRangeError(
            f"{esal:,.0f} equivalent axles over a resilient modulus of {modulus_psi:,.0f} psi ask for a structural "
            f"number above {HIGHEST_SN:g}; a licensed engineer must design the base"
        )
    return bisect(missing, 0.0, HIGHEST_SN)


def least_base_m(esal: float) -> float:
    """Return the least base depth of the guide for so many equivalent axles [m]."""
    return float(table("aashto_least_bases").band("number of equivalent axles", esal)["base"]) * INCH_M


def surface_number(settings: DesignSettings) -> float:
    """Return the structural number [in] of pavers and bedding: a1 (paver + bedding)."""
    return settings.surface_coefficient * (settings.paver_m + settings.bedding_m) / INCH_M


def base_m(sn: float, settings: DesignSettings) -> float:
    """Return the base depth [m] for a structural number [in], negative where pavers and bedding carry more."""
    per_inch = layer_coefficient(settings.base_modulus_psi) * settings.drainage
    return (sn - surface_number(settings)) / per_inch * INCH_M


def structural_depth(
    cbr: float,
    traffic: Traffic,
    reinforcement: Reinforcement = NONE,
    settings: DesignSettings = DEFAULT_SETTINGS,
) -> Check:
    """Return the structural check: the base that the pavers and their bedding leave to be carried.

    Notes
    -----
    ``SN = a1 D1 + a2 m2 D2`` solved for the base depth ``D2 = (SN - a1 D1) / (a2 m2)``, less a documented reduction by
    a geogrid, at least the guide's least base (``aashto_least_bases``). D1 pavers and bedding [in], a1 their layer
    coefficient; a2 of `layer_coefficient`; m2 drainage coefficient; SN of `structural_number` for the traffic's
    equivalent 18-kip axles over the MR of `resilient_modulus_psi`.

    References
    ----------
    AASHTO-1993, Part II, Fig. 3.1 and section 3.1; [read].
    """
    cbr = designed_cbr(cbr)
    zr = standard_deviate(settings.reliability)
    mr = resilient_modulus_psi(cbr, settings.modulus_rule)
    sn = structural_number(traffic.esal, mr, zr, settings.overall_deviation, settings.serviceability_drop)
    carried, raw, least = surface_number(settings), base_m(sn, settings), least_base_m(traffic.esal)
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
        text += "; the geogrid does not thin this check, it has no documented reduction"
    if depth == least:
        text += "; the guide's least base applies"
    return Check("structural", depth, True, text, tuple(working), f"{sources()['AASHTO-1993']}, Part II, Fig. 3.1")
