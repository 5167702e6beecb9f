"""How frost weakens the ground: frost group by soil and fines, support index, and the check of the base in the thaw.

What season and water say about a base: free water near its bottom, and when the ground should have been read.
How soil and surface pass heat to the frost: thermal conductivity by Kersten's equations, n factor of a surface.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import log10
from typing import Any, Final

from basecalc.core.errors import InputError
from basecalc.core.numbers import choice, number, printed
from basecalc.core.published import Table, Working, table
from basecalc.core.units import FOOT_M
from basecalc.design.settings import Check
from basecalc.ground.readings import soil_named as soil_named

GROUPS: Final[tuple[str, ...]] = tuple(table("frost_support").keys())
HEAVE: Final = "A base of this depth carries the load; it does not stop frost from lifting damp ground"
_DENSITY_LIMITS: Final = (50.0, 160.0)
_WATER_LIMITS: Final = (1.0, 100.0)


@dataclass(frozen=True, slots=True)
class FrostSoil:
    """What a job knows about the ground below the base in frost; all of it may be left out, and is checked.

    Examples
    --------
    >>> FrostSoil("f3").group
    'F3'
    """

    group: str = ""
    fines_percent: float | None = None
    plasticity_index: float | None = None
    dry_density_pcf: float | None = None
    water_percent: float | None = None

    def __post_init__(self) -> None:
        if self.group:
            object.__setattr__(self, "group", choice("frost group", self.group, GROUPS))
        for field, name, unit, low, high in (
            ("fines_percent", "share of grains finer than 0.02 mm", "%", 0.0, 100.0),
            ("plasticity_index", "plasticity index", "", 0.0, 200.0),
            ("dry_density_pcf", "dry unit weight", "pcf", *_DENSITY_LIMITS),
            ("water_percent", "water content", "%", *_WATER_LIMITS),
        ):
            value: Any = getattr(self, field)
            if value is not None:
                object.__setattr__(self, field, number(name, value, unit, low, high))


@dataclass(frozen=True, slots=True)
class FrostGround:
    """How the ground below the base behaves in frost and thaw."""

    group: str
    support_index: float | None
    why: str
    source: str


def support_index(group: str) -> float | None:
    """Return the frost-area soil support index of a group [%], used as if it were a CBR; None for NFS and PFS.

    Parameters
    ----------
    group
        One of `GROUPS`.

    Raises
    ------
    InputError
        No such group.

    Examples
    --------
    >>> support_index("F2"), support_index("NFS")
    (6.5, None)

    References
    ----------
    UFC-3-260-02, Table 3-5; [read].
    """
    index = float(table("frost_support").exact(choice("frost group", group, GROUPS))["index"])
    return index or None


def frost_ground(soil: str, known: FrostSoil | None = None) -> FrostGround:
    """Return the frost group of the ground and its support index.

    Parameters
    ----------
    soil
        One of `basecalc.ground.readings.SOILS`.
    known
        What the job knows besides: the group itself, or fines and plasticity; where the table needs what it does not
        know, the weakest group of the soil is taken.

    Raises
    ------
    InputError
        No such soil.

    Examples
    --------
    >>> frost_ground("sand", FrostSoil(fines_percent=8.0)).group
    'F2'
    >>> frost_ground("clay").why
    'clay, plasticity index not given: the weakest group of the soil is taken'

    References
    ----------
    UFC-3-250-01, Table 19-2 = TM-5-822-12, Table 5; [digitised].
    """
    known = known or FrostSoil()
    name = soil_named(soil).name
    if known.group:
        return FrostGround(known.group, support_index(known.group), "group given by the job", "the job itself")
    row = table("frost_soils").exact(name)
    kind, weakest = str(row["kind"]), str(row["unknown"])
    if kind == "rock":
        why = "the frost table does not class rock in place; the job must give a group if frost is to be checked"
        return FrostGround("", None, why, table("frost_gravel").cited)
    mixed = "" if kind == name or name.endswith(kind) else f", taken as {kind}"
    if kind == "silt":
        return FrostGround(weakest, support_index(weakest), f"{name}{mixed}", table("frost_clay").cited)
    by, value, words, unit = _sorted_by(kind, known)
    if value is None:
        why = f"{name}, {words} not given: the weakest group of the soil is taken"
        return FrostGround(weakest, support_index(weakest), why, by.cited)
    group = str(by.band(words, printed(value))["group"])
    return FrostGround(group, support_index(group), f"{name} with {words} of {value:g}{unit}", by.cited)


def _sorted_by(kind: str, known: FrostSoil) -> tuple[Table, float | None, str, str]:
    if kind == "clay":
        return table("frost_clay"), known.plasticity_index, "plasticity index", ""
    return table(f"frost_{kind}"), known.fines_percent, "share of grains finer than 0.02 mm", " %"


def index_below(frost: FrostGround, cbr: float) -> float | None:
    """Return the support index [%] where it is lower than the CBR and so governs in the thaw; None otherwise.

    Examples
    --------
    >>> index_below(frost_ground("silt"), 6.0), index_below(frost_ground("silt"), 3.0)
    (3.5, None)
    """
    index = frost.support_index
    return index if index is not None and index < cbr else None


def required_frost(frost: FrostGround | None) -> FrostGround:
    """Return the ground in frost, or refuse a frost check of which nobody said what ground it is for."""
    if frost is None:
        raise InputError(
            "the frost check is switched on, but nothing says what soil lies below; the soil or a frost group must "
            f"be given, one of: {', '.join(GROUPS)}"
        )
    return frost


def frost_check(frost: FrostGround, cbr: float, in_thaw: Sequence[Check], *, counts: bool) -> Check:
    """Return the frost check: what the other checks ask for when the support index stands in for the CBR."""
    working = [
        Working("frost group", frost.group or "none", "", frost.why),
        Working("CBR designed with", cbr, "%"),
    ]
    if frost.support_index is not None:
        cited = table("frost_support").cited
        working.append(Working("frost-area soil support index", frost.support_index, "%", f"as if a CBR; {cited}"))
    depths = [(check.depth_m, check.name) for check in in_thaw if check.depth_m is not None]
    if not depths:
        return Check("frost", None, False, f"{_no_more(frost, cbr)}. {HEAVE}", tuple(working), frost.source)
    depth, deepest = max(depths)
    working += [Working(f"{name} with the support index", value, "m") for value, name in depths]
    text = (
        f"thaw on frost group {frost.group} ({frost.why}): its support index {frost.support_index:g} stands in for the "
        f"CBR of {cbr:.3g} %; the {deepest} check asks for the most. {HEAVE}"
    )
    return Check("frost", depth, counts, text, tuple(working), frost.source)


def _no_more(frost: FrostGround, cbr: float) -> str:
    if not frost.group:
        return frost.why
    if frost.support_index is None:
        tested = "; it is to be tested before it is trusted" if frost.group == "PFS" else ""
        return f"frost group {frost.group} ({frost.why}): the thaw does not weaken it{tested}"
    return (
        f"frost group {frost.group} ({frost.why}): the CBR of {cbr:.3g} % is not above its support index "
        f"{frost.support_index:g} and governs by itself"
    )


_WET: Final = "wet"


def water_reach(water_table_m: float, dig_m: float) -> str:
    """Return how free water stands to the bottom of the dig: a word of the table of reaches, 'none' beyond them.

    Parameters
    ----------
    water_table_m
        Depth of the highest water of the year below the ground [m], 0 to 30.
    dig_m
        Depth of the dig below the ground [m].

    Raises
    ------
    OutOfRangeError
        A water table above the ground or deeper than 30 m.

    Examples
    --------
    >>> water_reach(0.6, 0.4), water_reach(0.3, 0.4), water_reach(3.0, 0.4)
    ('pumping', 'in the dig', 'none')

    References
    ----------
    TM-5-818-2, troublesome within 5 ft of the subgrade; [memory]. Within 2 ft: basecalc's own choice.
    """
    water = number("water table", water_table_m, "m", 0, 30)
    room_ft = printed((water - dig_m) / FOOT_M)
    return str(table("water_reach").band("room above the water", room_ft)["reach"])


def water_matters(reach: str, *, fine: bool) -> bool:
    """Return whether water in this reach weakens the ground: fine soil draws it up, coarse soil only pumps it.

    Examples
    --------
    >>> water_matters("feeding", fine=True), water_matters("feeding", fine=False)
    (True, False)
    """
    return reach in ("in the dig", "pumping") or (reach == "feeding" and fine)


def water_flag(reach: str, *, fine: bool, water_words: str, dig_words: str) -> str:
    """Return the caution that goes with a reach of water, or nothing.

    Examples
    --------
    >>> water_flag("feeding", fine=False, water_words="60 in", dig_words="18 in")
    ''
    """
    stands = f"Water stands {water_words} below the ground, the bottom of the dig lies at {dig_words}"
    if reach == "in the dig":
        return (
            f"{stands}: the dig fills with water. It must be drained before it is dug, and a licensed engineer decides "
            "how; no price holds without that."
        )
    if reach == "pumping":
        return (
            f"{stands}: a roller pumps water up into the ground, which softens. Drain it first, compact without "
            "vibration, and take the strength of the wettest season."
        )
    if reach == "feeding" and fine:
        return (
            f"{stands}: fine soil draws water up to the base, where it softens the ground and feeds frost. The "
            "strength of the wettest season counts; a drain at the low edge helps."
        )
    return ""


def season_flag(moistures: tuple[str, ...], reach: str) -> str:
    """Return what the season of the reading leaves open where water stands near, or nothing.

    Examples
    --------
    >>> season_flag(("wet", "moist"), "pumping")
    'Not every reading was taken in wet ground, and water stands near: read it again in the wettest weeks of the year.'
    """
    if reach == "none" or not moistures or all(moisture.strip().casefold() == _WET for moisture in moistures):
        return ""
    return (
        "Not every reading was taken in wet ground, and water stands near: read it again in the wettest weeks of the "
        "year."
    )


_INCHES_OF_A_FOOT = 12  # Kersten prints Btu in/(ft2 h F)


def conductivity(fine: bool, dry_density_pcf: float, water_percent: float) -> float:
    """Return the thermal conductivity of soil [Btu/(h ft F)], the mean of frozen and unfrozen.

    Parameters
    ----------
    fine
        Whether it is silt or clay; else sand or gravel.
    dry_density_pcf
        Dry unit weight [pcf], 50 to 160.
    water_percent
        Water by dry weight [%]: 7 to 100 in silt and clay, 1 to 100 in sand and gravel.

    Raises
    ------
    OutOfRangeError
        A value outside what the equations were fitted to.

    Examples
    --------
    >>> round(conductivity(True, 100, 15), 2)
    0.76

    References
    ----------
    KERSTEN, equations for silt and clay and for sandy soil; [memory], confirmed by the case of TM-5-852-6.
    """
    density = number("dry unit weight", dry_density_pcf, "pcf", 50, 160)
    water = number("water content", water_percent, "%", 7 if fine else 1, 100, why="the range of Kersten's equations")
    if fine:
        unfrozen = (0.9 * log10(water) - 0.2) * 10 ** (0.01 * density)
        frozen = 0.01 * 10 ** (0.022 * density) + 0.085 * 10 ** (0.008 * density) * water
    else:
        unfrozen = (0.7 * log10(water) + 0.4) * 10 ** (0.01 * density)
        frozen = 0.076 * 10 ** (0.013 * density) + 0.032 * 10 ** (0.0146 * density) * water
    return (unfrozen + frozen) / 2 / _INCHES_OF_A_FOOT


def surface_factor(surface: str) -> float:
    """Return the n factor of a surface: its freezing index over that of the air.

    Examples
    --------
    >>> surface_factor("concrete"), surface_factor("turf")
    (0.75, 0.5)
    """
    return float(table("frost_surfaces").exact(surface)["factor"])
