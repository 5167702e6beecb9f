"""How frost and water weaken the ground: frost group and support index, the check in the thaw, water near the dig."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields
from typing import Any, Final

from basecalc.core.errors import InputError
from basecalc.core.numbers import choice, number, printed
from basecalc.core.published import Cell, Table, Working, table
from basecalc.core.units import FOOT_M, Measure
from basecalc.design.settings import Check
from basecalc.ground.readings import soil_named

GROUPS: Final[tuple[str, ...]] = tuple(table("frost_support").keys())
HEAVE: Final = "A base of this depth carries the load; it does not stop frost from lifting damp ground"
#: What a job may say of the ground in frost, in the order of `FrostSoil`.
FROST_NUMBERS: Final[Mapping[str, Measure]] = {
    "fines_below_20_microns": Measure("%", "%", "%", 0, 100),
    "plasticity_index": Measure("", "", "", 0, 200),
    "dry_density": Measure("pcf", "pcf", "kg/m3", 50, 160),
    "water_content": Measure("%", "%", "%", 1, 100),
}


@dataclass(frozen=True, slots=True)
class FrostSoil:
    """What a job knows about the ground below the base in frost, checked; all of it may be left out."""

    group: str = ""
    fines_percent: float | None = None
    plasticity_index: float | None = None
    dry_density_pcf: float | None = None
    water_percent: float | None = None

    def __post_init__(self) -> None:
        if self.group:
            object.__setattr__(self, "group", choice("frost group", self.group, GROUPS))
        names = ("share of grains finer than 0.02 mm", "plasticity index", "dry unit weight", "water content")
        for field, name, measure in zip(fields(self)[1:], names, FROST_NUMBERS.values(), strict=True):
            value: Any = getattr(self, field.name)
            if value is not None:
                object.__setattr__(self, field.name, number(name, value, measure.us, measure.low, measure.high))


@dataclass(frozen=True, slots=True)
class FrostGround:
    """How the ground below the base behaves in frost and thaw."""

    group: str
    support_index: float | None
    why: str
    source: str


def support_index(group: str) -> float | None:
    """Return the frost-area soil support index of a group [%], used as if it were a CBR; None for NFS and PFS.

    Notes
    -----
    Table ``frost_support``: the strength in the thaw, whatever the ground bears in summer.

    References
    ----------
    UFC-3-260-02, Table 3-5; [read].
    """
    index = float(table("frost_support").exact(choice("frost group", group, GROUPS))["index"])
    return index or None


def frost_ground(soil: str, known: FrostSoil | None = None) -> FrostGround:
    """Return the frost group of the ground and its support index.

    Notes
    -----
    By the share of grains finer than 0.02 mm (tables ``frost_gravel``, ``frost_sand``) or the plasticity index
    (``frost_clay``); silt is one group. Where the table needs what the job does not know, the weakest group of the soil
    is taken.

    References
    ----------
    UFC-3-250-01, Table 19-2 = TM-5-822-12, Table 5; [digitized].
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
    """Return the support index [%] where it is lower than the CBR and so governs in the thaw; None otherwise."""
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
    """Return the frost check: the deepest of the other checks, made anew with the support index in place of the CBR."""
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
        f"thaw on frost group {frost.group} ({frost.why}): its support index {frost.support_index:g} takes the place "
        f"of the CBR of {cbr:.3g} %; the {deepest} check asks for the most. {HEAVE}"
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


def water_reach(water_table_m: float, dig_m: float) -> str:
    """Return how near free water comes to the bottom of the dig: a word of its table, 'none' where it is far.

    References
    ----------
    TM-5-818-2, troublesome within 5 ft of the subgrade; [memory]. Within 2 ft: basecalc's own choice.
    """
    water = number("water table", water_table_m, "m", 0, 30)
    room_ft = printed((water - dig_m) / FOOT_M)
    return str(table("water_reach").band("room above the water", room_ft)["reach"])


def water_matters(reach: str, *, fine: bool) -> bool:
    """Return whether water in this reach weakens the ground."""
    return _reach(reach)["weakens"] in ("all", "fine" if fine else "all")


def water_flag(reach: str, *, fine: bool, water_words: str, dig_words: str) -> str:
    """Return the caution that goes with a reach of water, or nothing."""
    if not water_matters(reach, fine=fine):
        return ""
    water = f"Water stands {water_words} below the ground, the bottom of the dig lies at {dig_words}"
    return f"{water}: {_reach(reach)['caution']}"


def _reach(word: str) -> Mapping[str, Cell]:
    return next(row for row in table("water_reach").rows if row["reach"] == word)


def season_flag(moistures: tuple[str, ...], reach: str) -> str:
    """Return what the season of the reading leaves open where water is near, or nothing."""
    if reach == "none" or not moistures or all(moisture.strip().casefold() == "wet" for moisture in moistures):
        return ""
    return (
        "Not every reading was taken in wet ground, and water stands near: read it again in the wettest weeks of the "
        "year."
    )
