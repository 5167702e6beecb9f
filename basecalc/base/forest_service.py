"""A second opinion on depth over soft ground: the US Forest Service method, bearing capacity against spread load.

The manual reads the depth from charts; what they draw is the load of a square contact area spread by Boussinesq's
theory, which is written here instead. It falls within about an inch of the two depths the manual prints.
"""

from math import atan2, pi, sqrt
from typing import Final

from basecalc.base.check import Check
from basecalc.base.limits import designed_cbr
from basecalc.base.opinions import SHOWN_ONLY, opinion_number, opinion_source
from basecalc.base.reinforcement import NONE, Reinforcement
from basecalc.base.solving import bisect
from basecalc.base.traffic import Traffic
from basecalc.ground.classes import cohesion_kpa
from basecalc.tables import sources
from basecalc.working import Working

_SHALLOWEST_M: Final = 1e-6
_DEEPEST_M: Final = 20.0
_WITHOUT: Final = "forest service, without geotextile"
_WITH: Final = "forest service, with geotextile"
_STRONGEST: Final = "forest service, strongest ground"


def spread_below_square(depth_m: float, side_m: float) -> float:
    """Return the share of the pressure on a square that is left below its middle.

    Parameters
    ----------
    depth_m
        Depth [m], above 0.
    side_m
        Side of the square [m].

    Examples
    --------
    >>> round(spread_below_square(1.0, 2.0), 3)
    0.701

    References
    ----------
    NEWMARK, pressure below the corner of a rectangle, four corners put together; [memory].
    """
    m = side_m / 2 / depth_m
    v = 1 + 2 * m * m
    corner = 2 * m * m * sqrt(v) / (v + m**4) * (v + 1) / v + atan2(2 * m * m * sqrt(v), v - m**4)
    return 4 * corner / (4 * pi)


def spread_depth_m(strength_kpa: float, load_kn: float, pressure_kpa: float) -> float:
    """Return the depth at which a wheel's load is spread so far that the ground bears it [m].

    Parameters
    ----------
    strength_kpa
        Pressure that the ground may bear, bearing factor times cohesion [kPa], above 0.
    load_kn
        Load on the contact area [kN].
    pressure_kpa
        Pressure in the contact area [kPa].

    Returns
    -------
    float
        Depth [m]; 0 where the ground bears the pressure as it is.

    Examples
    --------
    >>> round(spread_depth_m(81.08, 64.05, 413.7) / 0.0254, 1)
    22.0
    """
    if strength_kpa >= pressure_kpa:
        return 0.0
    side = sqrt(load_kn / pressure_kpa)
    return bisect(
        lambda depth: pressure_kpa * spread_below_square(depth, side) - strength_kpa, _SHALLOWEST_M, _DEEPEST_M
    )


def forest_service_depth(cbr: float, traffic: Traffic, reinforcement: Reinforcement = NONE) -> tuple[Check, ...]:
    """Return the second opinion by the Forest Service method: without geotextile, and with one where one is laid.

    Parameters
    ----------
    cbr
        CBR of the ground [%], 0.4 to 100.
    traffic
        Its wheel load, taken as one wheel at its tyre pressure.
    reinforcement
        What is laid; of geogrids the method says nothing.

    Returns
    -------
    tuple of Check
        Depths [m], never counted; None on ground stronger than the method is for.

    Raises
    ------
    OutOfRangeError
        Ground below CBR 0.4.

    References
    ----------
    TM-5-818-8, sec. 2-7, and FM-5-430-00-1, App. H; [read].
    """
    cbr = designed_cbr(cbr)
    rows = [("forest service", _WITHOUT)]
    if reinforcement.kind == "geotextile":
        rows.append(("forest service with geotextile", _WITH))
    return tuple(_check(name, row, cbr, traffic, reinforcement) for name, row in rows)


def _check(name: str, row: str, cbr: float, traffic: Traffic, reinforcement: Reinforcement) -> Check:
    source = f"{opinion_source(row)}; load spread after {sources()['NEWMARK']}, [memory]"
    strongest = opinion_number(_STRONGEST)
    if cbr > strongest:
        text = f"the method is for soft ground, CBR up to {strongest:g} %; it says nothing of CBR {cbr:.3g} %"
        return Check(name, None, False, text, (Working("CBR of the ground", cbr, "%"),), source)
    factor, cohesion = opinion_number(row), cohesion_kpa(cbr)
    depth = spread_depth_m(factor * cohesion, traffic.wheel_load_kn, traffic.tyre_kpa)
    working = (
        Working("wheel load", traffic.wheel_load_kn, "kN", f"traffic: {traffic.name}, taken as one wheel"),
        Working("tyre pressure", traffic.tyre_kpa, "kPa"),
        Working("side of the contact area", sqrt(traffic.wheel_load_kn / traffic.tyre_kpa), "m", "taken as a square"),
        Working("CBR of the ground", cbr, "%"),
        Working("cohesion of the ground C", cohesion, "kPa", "30 kPa x CBR"),
        Working("bearing factor Nc", factor, "", opinion_source(row)),
        Working("pressure the ground may bear S", factor * cohesion, "kPa", "Nc C"),
        Working("depth", depth, "m", "" if depth else "the ground bears the tyre as it is"),
    )
    what = "with a geotextile" if row == _WITH else "without a geotextile"
    text = f"{SHOWN_ONLY}: unpaved road with ruts below 2 in over CBR {cbr:.3g} %, {what}"
    if not depth:
        text += "; the ground bears the tyre as it is"
    if reinforcement.kind == "geogrid":
        text += "; of geogrids the method says nothing"
    return Check(name, depth, False, text, working, source)
