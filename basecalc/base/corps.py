"""Second opinions of the Corps of Engineers: thickness of a flexible pavement by CBR, and its aggregate-surfaced roads.

The thickness chart of UFC 3-250-01 prints no equation. The one here is the reformulated CBR procedure of the Corps,
written down from memory; it meets five of the seven points of the chart that are printed as numbers within 0.2 in.
"""

from math import cos, log10, pi, sqrt
from typing import Final

from basecalc.base.check import Check
from basecalc.base.limits import designed_cbr
from basecalc.base.opinions import SHOWN_ONLY, opinion_number, opinion_source
from basecalc.base.settings import DEFAULT_SETTINGS, DesignSettings
from basecalc.base.solving import bisect
from basecalc.base.traffic import Traffic
from basecalc.tables import sources, table
from basecalc.units import INCH_M
from basecalc.working import Working

_SHALLOWEST_IN: Final = 0.05
_DEEPEST_IN: Final = 100.0
_RINGS: Final = 8
_SPOKES: Final = 12


def concentration(cbr: float) -> float:
    """Return Froehlich's concentration factor of a pavement over ground of a CBR.

    Parameters
    ----------
    cbr
        CBR of the ground [%].

    Examples
    --------
    >>> round(concentration(6.0), 3)
    2.0

    References
    ----------
    CBR-BETA; [memory].
    """
    return float(2 * (cbr / 6) ** 0.1912)


def beta(coverages: float) -> float:
    """Return the stress that ground may bear under so many coverages, as a multiple of CBR / pi [psi per %].

    Parameters
    ----------
    coverages
        Coverages by the tyre, at least 1.

    Examples
    --------
    >>> round(beta(1.0), 1)
    35.0

    References
    ----------
    CBR-BETA; [memory].
    """
    exponent = log10(max(coverages, 1.0))
    return float(10 ** ((1.5441 + 0.0730 * exponent) / (1 + 0.2354 * exponent)))


def stress_psi(depth_in: float, aside_in: float, load: float, pressure_psi: float, factor: float) -> float:
    """Return the vertical stress that a round tyre print brings to a point [psi], after Froehlich.

    Parameters
    ----------
    depth_in
        Depth of the point below the surface [in].
    aside_in
        How far the point lies beside the middle of the print [in].
    load
        Load on the print [lb].
    pressure_psi
        Pressure in the print [psi].
    factor
        Concentration factor; 3 is Boussinesq's.

    Examples
    --------
    >>> round(stress_psi(10, 0, 4500, 70, 3), 1)
    17.1
    """
    radius = sqrt(load / (pi * pressure_psi))
    if aside_in == 0:
        return float(pressure_psi * (1 - (1 + (radius / depth_in) ** 2) ** (-factor / 2)))
    total = 0.0
    for ring in range(_RINGS):
        middle = radius * sqrt((ring + 0.5) / _RINGS)  # rings of equal area
        for spoke in range(_SPOKES):
            flat = middle**2 + aside_in**2 - 2 * middle * aside_in * cos(2 * pi * (spoke + 0.5) / _SPOKES)
            total += (depth_in**2 + flat) ** (-(factor + 2) / 2)
    share = load / (_RINGS * _SPOKES)
    return float(share * factor / (2 * pi) * depth_in**factor * total)


def thickness_in(cbr: float, passes: float) -> float:
    """Return the thickness of a flexible pavement above ground of a CBR [in], for passes of an 18-kip axle.

    Parameters
    ----------
    cbr
        CBR of the ground [%].
    passes
        Passes of a single axle of 18,000 lb on dual tyres.

    Returns
    -------
    float
        Thickness of everything above the ground [in]; 0 where it bears the tyres as it is.

    Examples
    --------
    >>> round(thickness_in(3, 1e6), 1)
    16.5

    References
    ----------
    CBR-BETA; [memory]. Compared with UFC-3-250-01, Figure E-1; [digitised].
    """
    load, pressure = opinion_number("corps, load on one tyre"), opinion_number("corps, tyre pressure")
    spacing = opinion_number("corps, spacing of dual tyres")
    factor = concentration(cbr)
    allowed = beta(passes / opinion_number("corps, passes per coverage")) * cbr / pi

    def excess(depth: float) -> float:
        below = stress_psi(depth, 0, load, pressure, factor) + stress_psi(depth, spacing, load, pressure, factor)
        between = 2 * stress_psi(depth, spacing / 2, load, pressure, factor)
        return max(below, between) - allowed

    return bisect(excess, _SHALLOWEST_IN, _DEEPEST_IN) if excess(_SHALLOWEST_IN) > 0 else 0.0


def corps_depth(cbr: float, traffic: Traffic, settings: DesignSettings = DEFAULT_SETTINGS) -> Check:
    """Return the second opinion by the Corps' CBR procedure for flexible pavements.

    Parameters
    ----------
    cbr
        CBR of the ground [%], 0.4 to 100.
    traffic
        Its equivalent axles are the passes.
    settings
        Pavers and bedding, which are taken off the thickness inch for inch.

    Returns
    -------
    Check
        Depth of the base [m], never counted; None outside the chart.

    Raises
    ------
    OutOfRangeError
        Ground below CBR 0.4.
    """
    cbr = designed_cbr(cbr)
    source = f"{sources()['CBR-BETA']}, [memory]; chart of {sources()['UFC-3-250-01']}, Figure E-1, [digitised]"
    weakest = opinion_number("corps, weakest ground")
    fewest, most = opinion_number("corps, fewest passes"), opinion_number("corps, most passes")
    given = (Working("CBR of the ground", cbr, "%"), Working("passes of an 18-kip axle", traffic.esal, "ESAL"))
    if cbr < weakest or not fewest <= traffic.esal <= most:
        text = (
            f"the chart is for CBR from {weakest:g} % and {fewest:,.0f} to {most:,.0f} passes of an 18-kip axle; it "
            f"says nothing of CBR {cbr:.3g} % and {traffic.esal:,.0f} passes"
        )
        return Check("corps", None, False, text, given, source)
    coverages = traffic.esal / opinion_number("corps, passes per coverage")
    total = thickness_in(cbr, traffic.esal) * INCH_M
    surface = settings.paver_m + settings.bedding_m
    working = (
        *given,
        Working("coverages", coverages, "", opinion_source("corps, passes per coverage")),
        Working("beta", beta(coverages)),
        Working("concentration factor n", concentration(cbr)),
        Working("stress the ground may bear", beta(coverages) * cbr / pi, "psi", "beta CBR / pi"),
        Working("thickness above the ground", total, "m"),
        Working("pavers and bedding", surface, "m", "taken off inch for inch, basecalc's own choice"),
    )
    text = (
        f"{SHOWN_ONLY}: thickness of a flexible pavement over CBR {cbr:.3g} % for {traffic.esal:,.0f} passes of an "
        "18-kip axle, less pavers and bedding"
    )
    if total <= surface:
        text += "; pavers and bedding are thick enough alone"
    return Check("corps", max(total - surface, 0.0), False, text, working, source)


def aggregate_road_depth(cbr: float) -> Check:
    """Return what the worked example of the Corps' manual on aggregate-surfaced roads prints for such ground.

    Parameters
    ----------
    cbr
        CBR of the ground [%], 0.4 to 100.

    Returns
    -------
    Check
        Depth [m], never counted; None below CBR 4, of which the example says nothing.

    Raises
    ------
    OutOfRangeError
        Ground below CBR 0.4.

    References
    ----------
    TM-5-822-12, worked example; [read].
    """
    cbr = designed_cbr(cbr)
    example = table("aggregate_roads")
    first = float(example.rows[0]["from"])
    given = (Working("CBR of the ground", cbr, "%"),)
    if cbr < first:
        text = f"the worked example begins at CBR {first:g} %; it says nothing of CBR {cbr:.3g} %"
        return Check("aggregate road", None, False, text, given, example.cited)
    row = example.band("CBR", cbr)
    depth = float(row["thickness"])
    text = (
        f"{SHOWN_ONLY}: {depth:g} in over CBR {row['from']:g} % in a worked example of an unpaved road for far heavier "
        "traffic, so an upper bound"
    )
    working = (*given, Working("thickness printed", depth, "in", f"over CBR {row['from']:g} %"))
    return Check("aggregate road", depth * INCH_M, False, text, working, example.cited)
