"""What a job file may say of an old pavement and of loose fill: the keys of an area, each with its unit and limits."""

from typing import Annotated, Any, Final, Literal

from pydantic import BeforeValidator, Field, ValidationInfo

from basecalc.checks import number, shown
from basecalc.errors import InputError
from basecalc.ground.classes import Strength, strength
from basecalc.ground.pavement import BASE_STATES, PLACES, STATES, WHAT, Pavement, Seen, TestHole, speaks
from basecalc.ground.straightedge import settled_gap_in
from basecalc.job.record import LooseFill
from basecalc.units import FOOT_M, INCH_M, Measure
from basecalc.validation import Record, measured, one_of, text, words, yes_no

WAYS: Final = ("stone", "fill")
_YEARS: Final = Measure("", "", "", 0, 150)
_GAP: Final = Measure("m", "in", "mm", 0, 6)
_STRAIGHTEDGE: Final = Measure("m", "ft", "m", 1, 30)
_BASE: Final = Measure("m", "in", "mm", 0, 36)
_DEPTH: Final = Measure("m", "in", "mm", 0, 120, above=True)
_FILL: Final = Measure("m", "in", "mm", 0, 120)


def by_hand(value: Any) -> Strength | None:
    """Return a strength given by hand; nothing for a blank."""
    return None if value is None or value == "" else strength(value)


def _ends(value: Any, info: ValidationInfo) -> int | None:
    if value is None or value == "":
        return None
    ends = number(words(info.field_name), value, "", 0, 2)
    if ends != int(ends):
        raise InputError(f"{words(info.field_name)} is {shown(value)}; it must be 0, 1 or 2")
    return int(ends)


class SeenFields(Record):
    """A settlement or a rut of an old pavement: what, where, and the gap under a straightedge."""

    what: Annotated[str, one_of(WHAT)]
    where: Annotated[str, one_of(PLACES)]
    gap: Annotated[float, measured(_GAP)]
    straightedge: Annotated[float, measured(_STRAIGHTEDGE)] = 6 * FOOT_M
    note: Annotated[str, text(needed=False)] = ""


class HoleFields(Record):
    """A test hole through an old pavement: where, how much base there was, and whether it was clean."""

    where: Annotated[str, text()]
    base: Annotated[float, measured(_BASE)]
    state: Annotated[str, one_of(BASE_STATES)]


class FindingFields(Record):
    """The keys of an area that say what is known of its old pavement and of loose fill.

    Parameters
    ----------
    old_pavement_age
        Age of the old pavement [years].
    old_pavement_state
        How it looks: ``even``, ``settled``, ``rutted`` or ``settled and rutted``.
    old_pavement_seen
        Where it sank or rutted, and the gap under a straightedge there.
    old_base
        Thickness of its stone base as somebody says [in, mm]; it counts only as test holes find it.
    test_holes
        The holes through it: where, how much base, clean or dirty.
    foundation_strip
        Whether the strip along the foundation, as wide as the loose backfill, is an area of its own.
    foundation_strip_strength
        Its strength by hand; without it and without a spot there it is taken as soft until tested.
    foundation_strip_open_ends
        How many of its two ends lie at an open edge; as many as can, where nothing is said.
    footing_depth
        Bottom of the footing below the surface of today [in, mm].
    loose_fill_depth
        Depth of sound ground below the surface of today [in, mm]; 0 where it was looked for and there is no loose fill.
    loose_fill
        ``stone``: the fill stays, under a deeper base; ``fill``: it is dug out and replaced by granular fill.
    sound_ground
        Strength of the sound ground; for a strip that of the rest of the area, where nothing is said.
    offer_other_way
        Whether the client sees the other way to deal with the loose fill as an option.
    """

    old_pavement_age: Annotated[float | None, measured(_YEARS, blank=True)] = None
    old_pavement_state: Annotated[str, one_of(STATES, blank="")] = ""
    old_pavement_seen: list[SeenFields] = Field(default_factory=list)
    old_base: Annotated[float | None, measured(_BASE, blank=True)] = None
    test_holes: list[HoleFields] = Field(default_factory=list)
    foundation_strip: Annotated[bool, yes_no(blank=False)] = False
    foundation_strip_strength: Annotated[Strength | None, BeforeValidator(by_hand)] = None
    foundation_strip_open_ends: Annotated[int | None, BeforeValidator(_ends)] = None
    footing_depth: Annotated[float | None, measured(_DEPTH, blank=True)] = None
    loose_fill_depth: Annotated[float | None, measured(_FILL, blank=True)] = None
    loose_fill: Annotated[Literal["stone", "fill", ""], one_of(WAYS, blank="")] = ""
    sound_ground: Annotated[Strength | None, BeforeValidator(by_hand)] = None
    offer_other_way: Annotated[bool, yes_no(blank=False)] = False


def pavement(fields: FindingFields, thickness_m: float, kind: str, units: str) -> Pavement | None:
    """Return what a job file says of an old pavement, or nothing.

    Parameters
    ----------
    fields
        The checked keys of the area.
    thickness_m, kind
        Of the old pavement [m]; 0 where there is none.
    units
        'us' or 'metric'.

    Raises
    ------
    InputError
        Something is said of a pavement that there is not, or the findings contradict each other.
    OutOfRangeError
        A gap under a straightedge that no rule speaks of.
    """
    names = ("old_pavement_age", "old_pavement_state", "old_pavement_seen", "old_base", "test_holes")
    told = [name for name in names if getattr(fields, name) not in (None, "", [])]
    if not told:
        return None
    if not thickness_m:
        raise InputError(f"{words(told[0])} is given, but no old pavement; old pavement must be its thickness")
    found = Pavement(
        fields.old_pavement_age,
        fields.old_pavement_state,
        tuple(Seen(one.what, one.where, one.gap, one.straightedge, one.note) for one in fields.old_pavement_seen),
        fields.old_base or 0.0,
        tuple(TestHole(hole.where, hole.base, hole.state) for hole in fields.test_holes),
    )
    gap = max((one.gap_m / INCH_M for one in found.seen), default=0.0)
    if found.state == "even" and gap >= settled_gap_in():
        raise InputError(
            f"old pavement state is 'even', but a gap of {gap:.3g} in ({gap * INCH_M * 1000:.0f} mm) was measured; "
            f"even is below {settled_gap_in():g} in ({settled_gap_in() * INCH_M * 1000:.0f} mm)"
        )
    speaks(found, kind, units)
    return found


def loose_fill(fields: FindingFields, fill_depth_m: float) -> LooseFill | None:
    """Return what a job file says of loose fill, or nothing.

    Parameters
    ----------
    fields
        The checked keys of the area.
    fill_depth_m
        Depth of the fill at a foundation that is ordered anyhow [m].

    Raises
    ------
    InputError
        A key that needs another one, or two orders for the same fill.
    """
    if not fields.loose_fill_depth:
        for name in ("loose_fill", "sound_ground", "offer_other_way"):
            if getattr(fields, name):
                raise InputError(f"{words(name)} is given, but no loose fill depth; it must be how deep the fill lies")
        return None
    if fill_depth_m > 0:
        raise InputError(
            "loose fill depth and foundation fill depth are both given; it must be one: the fill below the base as "
            "ordered, or the depth of the loose fill from which it is worked out"
        )
    if fields.sound_ground is None and not fields.foundation_strip:
        raise InputError(
            "sound ground is missing; it must be the strength below the loose fill, such as 'stiff' (for a foundation "
            "strip it is otherwise that of the rest of the area)"
        )
    way: Literal["stone", "fill"] = "fill" if fields.loose_fill == "fill" else "stone"
    return LooseFill(fields.loose_fill_depth, way, fields.sound_ground, fields.offer_other_way)


def require_strip(fields: FindingFields, edge_m: float, width_m: float) -> None:
    """Refuse a strip along a foundation that is not given whole, and keys that only a strip has.

    Parameters
    ----------
    fields
        The checked keys of the area.
    edge_m, width_m
        Length along the foundation, and width of the loose backfill [m].

    Raises
    ------
    InputError
        Edge, width or strip is missing.
    """
    if fields.footing_depth is not None and not edge_m:
        raise InputError("footing depth is given, but no foundation edge; it must be the length along the building")
    if not fields.foundation_strip:
        for name in ("foundation_strip_strength", "foundation_strip_open_ends"):
            if getattr(fields, name) is not None:
                raise InputError(f"{words(name)} is given, but foundation strip is not true; a strip must be asked for")
        return
    for name, value in (("foundation edge", edge_m), ("foundation fill width", width_m)):
        if not value:
            raise InputError(f"{name} is missing; a foundation strip needs its length and its width")
