"""How frost weakens the ground: frost group by soil and fines, support index, and the check of the base in the thaw."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

from basecalc.base.check import Check
from basecalc.checks import choice, number
from basecalc.errors import InputError
from basecalc.ground.soils import soil as soil_named
from basecalc.rounding import printed
from basecalc.tables import Table, table
from basecalc.working import Working

GROUPS: Final[tuple[str, ...]] = tuple(table("frost_support").keys())
HEAVE: Final = "A base of this depth carries the load; it does not stop frost from lifting damp ground"
_DENSITY_LIMITS: Final = (50.0, 160.0)
_WATER_LIMITS: Final = (1.0, 100.0)


@dataclass(frozen=True, slots=True)
class FrostSoil:
    """What a job knows about the ground below the base in frost; all of it may be left out, and is checked.

    Parameters
    ----------
    group
        Frost group given directly, one of `GROUPS`; nothing where soil and fines decide.
    fines_percent
        Grains finer than 0.02 mm by weight [%], 0 to 100; not the share passing the No. 200 sieve.
    plasticity_index
        Plasticity index, 0 to 200.
    dry_density_pcf
        Dry unit weight [pcf], 50 to 160.
    water_percent
        Water by dry weight [%], 1 to 100.

    Raises
    ------
    InputError
        No such group, or a value that is no number.
    OutOfRangeError
        A value outside its limits.

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
    """How the ground below the base behaves in frost and thaw.

    Parameters
    ----------
    group
        Frost group, one of `GROUPS`; nothing where the table does not speak of the soil.
    support_index
        Frost-area soil support index, used as if it were a CBR [%]; nothing where frost does not weaken the ground.
    why
        How the group was found, in words.
    source
        Where the group comes from.
    """

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
        One of `basecalc.ground.soils.SOILS`.
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

    Parameters
    ----------
    frost
        The ground in frost.
    cbr
        CBR the base is designed with [%].

    Examples
    --------
    >>> index_below(frost_ground("silt"), 6.0), index_below(frost_ground("silt"), 3.0)
    (3.5, None)
    """
    index = frost.support_index
    return index if index is not None and index < cbr else None


def required_frost(frost: FrostGround | None) -> FrostGround:
    """Return the ground in frost, or refuse a frost check of which nobody said what ground it is for.

    Parameters
    ----------
    frost
        The ground in frost, if it was given.

    Raises
    ------
    InputError
        It was not given.
    """
    if frost is None:
        raise InputError(
            "the frost check is switched on, but nothing says what soil lies below; the soil or a frost group must "
            f"be given, one of: {', '.join(GROUPS)}"
        )
    return frost


def frost_check(frost: FrostGround, cbr: float, in_thaw: Sequence[Check], *, counts: bool) -> Check:
    """Return the frost check: what the other checks ask for when the support index stands in for the CBR.

    Parameters
    ----------
    frost
        The ground in frost.
    cbr
        CBR the base is designed with [%].
    in_thaw
        The checks that look at the ground, made with the support index as CBR; none where it does not govern.
    counts
        Whether the required depth takes the check into account where it says something.

    Returns
    -------
    Check
        Depth [m]; None where frost asks for no more than the ground as it was read.
    """
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
