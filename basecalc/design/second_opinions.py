"""A second opinion on depth over soft ground: the US Forest Service method, bearing capacity against spread load.

Second opinions of the Corps of Engineers: thickness of a flexible pavement by CBR, and its aggregate-surfaced roads.
The numbers of the second opinions on depth, each with its own publication.
Every check of a base beside the second opinions: what each asks for, what counts, and how far they lie apart.
"""

from dataclasses import dataclass
from math import atan2, cos, log10, pi, sqrt
from typing import Final

from basecalc.core.published import Working, sources, table
from basecalc.core.units import INCH_M
from basecalc.design.depth import UNKNOWN, BaseDepth, Site, base_depth
from basecalc.design.frost import FrostGround
from basecalc.design.platform import bisect
from basecalc.design.settings import DEFAULT_SETTINGS, NONE, Check, DesignSettings, Reinforcement, Traffic, designed_cbr
from basecalc.ground.classes import Strength, cohesion_kpa

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
    """Return the second opinion by the Corps' CBR procedure for flexible pavements."""
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


#: Said of every second opinion, so that nobody takes it for a check of the design.
SHOWN_ONLY: Final = "a second opinion, shown beside the checks and never mixed with them"


def opinion_number(name: str) -> float:
    """Return a number of a comparison method, in the unit of its row in the table.

    Examples
    --------
    >>> opinion_number("forest service, with geotextile")
    5.0
    """
    return float(table("second_opinions").exact(name)["value"])


def opinion_source(name: str) -> str:
    """Return where a number of a comparison method was published, and how far that is trusted.

    Examples
    --------
    >>> opinion_source("corps, passes per coverage")[-57:]
    'Table 5-2: single axle, dual wheels, 10 to 15 kip, [read]'
    """
    row = table("second_opinions").exact(name)
    return f"{sources()[str(row['from'])]}, {row['place']}, [{row['trust']}]"


@dataclass(frozen=True, slots=True)
class Row:
    """One line of a comparison."""

    name: str
    depth_m: float | None
    counts: bool
    governs: bool
    against_m: float | None
    note: str
    source: str


@dataclass(frozen=True, slots=True)
class Comparison:
    """A base depth with second opinions beside it."""

    made: BaseDepth
    opinions: tuple[Check, ...]

    @property
    def rows(self) -> tuple[Row, ...]:
        """The checks, those that count first, then the second opinions."""
        top = unrounded_m(self.made)
        return tuple(
            Row(
                check.name,
                check.depth_m,
                check.counts,
                check.name == self.made.governs,
                None if check.depth_m is None else check.depth_m - top,
                check.sentence,
                check.source,
            )
            for check in (*self.made.checks, *self.opinions)
        )


def unrounded_m(made: BaseDepth) -> float:
    """Return the required depth of a base before it is rounded up [m]."""
    return max(check.depth_m for check in made.checks if check.counts and check.depth_m is not None)


def second_opinions(made: BaseDepth) -> tuple[Check, ...]:
    """Return the second opinions on a base depth: shown beside its checks, never counted."""
    return (
        *forest_service_depth(made.cbr, made.traffic, made.reinforcement),
        corps_depth(made.cbr, made.traffic, made.settings),
        aggregate_road_depth(made.cbr),
    )


def compare(
    strength: Strength,
    traffic: Traffic,
    reinforcement: Reinforcement = NONE,
    settings: DesignSettings = DEFAULT_SETTINGS,
    *,
    unit: str = "in",
    frost: FrostGround | None = None,
    site: Site = UNKNOWN,
) -> Comparison:
    """Return a base depth and the second opinions beside it.

    Examples
    --------
    >>> from basecalc.design.settings import traffic
    >>> rows = compare(Strength("soft"), traffic("delivery")).rows
    >>> [(row.name, row.counts) for row in rows][-3:]
    [('forest service', False), ('corps', False), ('aggregate road', False)]
    """
    made = base_depth(strength, traffic, reinforcement, settings, unit=unit, frost=frost, site=site)
    return Comparison(made, second_opinions(made))
