"""Base depth by the rules of the trade: light traffic, no reinforcement; shown beside the calculated checks."""

from math import log

from basecalc.base.check import Check
from basecalc.base.limits import designed_cbr
from basecalc.base.traffic import Traffic, traffic
from basecalc.tables import table
from basecalc.units import INCH_M
from basecalc.working import Working


def knots() -> tuple[tuple[float, float], ...]:
    """Return the edges of the bands as pairs of CBR [%] and depth [in], weakest first."""
    rows = table("practice_depths").rows
    edges = [(float(row["above"]), float(row["depth_at_above"])) for row in rows]
    return (*edges, (float(rows[-1]["up_to"]), float(rows[-1]["depth_at_up_to"])))


def speaks_of(level: Traffic) -> bool:
    """Return whether practice has a word on this traffic: nothing heavier than the light level of the table."""
    light = traffic("light")
    return level.wheel_load_kn <= light.wheel_load_kn and level.passes <= light.passes and level.esal <= light.esal


def practice_m(cbr: float) -> float:
    """Return the depth of practice for light traffic [m], between the edges of a band linear in log CBR.

    Parameters
    ----------
    cbr
        CBR of the ground [%], 0.4 to 100.

    Examples
    --------
    >>> round(practice_m(0.8) / 0.0254, 6)
    13.0
    """
    row = table("practice_depths").band("CBR", cbr)
    weak, strong = float(row["above"]), float(row["up_to"])
    first, last = float(row["depth_at_above"]), float(row["depth_at_up_to"])
    return (first + (last - first) * log(cbr / weak) / log(strong / weak)) * INCH_M


def practice_depth(cbr: float, level: Traffic, *, counts: bool = False) -> Check:
    """Return what practice says, or that it says nothing of this traffic.

    Parameters
    ----------
    cbr
        CBR of the ground [%], 0.4 to 100.
    level
        The traffic.
    counts
        Whether the required depth takes it into account where it says something.

    Raises
    ------
    OutOfRangeError
        Ground below CBR 0.4.
    """
    cbr = designed_cbr(cbr)
    rules = table("practice_depths")
    if not speaks_of(level):
        text = f"practice has no depth for traffic '{level.name}', only for light traffic"
        return Check("practice", None, False, text, (Working("traffic", level.name),), rules.cited)
    row = rules.band("CBR", cbr)
    first, last = float(row["depth_at_above"]), float(row["depth_at_up_to"])
    text = f"rule of the trade for light traffic without reinforcement over CBR {cbr:.3g} %: {first:g} in"
    if first != last:
        text += f" at CBR {row['above']:g} down to {last:g} in at CBR {row['up_to']:g}"
    working = (
        Working("CBR of the ground", cbr, "%"),
        Working("depth at the weak edge of the band", first, "in", f"CBR {row['above']:g}"),
        Working("depth at the strong edge of the band", last, "in", f"CBR {row['up_to']:g}"),
    )
    return Check("practice", practice_m(cbr), counts, text, working, rules.cited)
