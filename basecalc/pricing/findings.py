"""What an old pavement, a foundation strip and loose fill do to the ground of an area, and the flags they raise."""

from dataclasses import replace
from typing import Final

from basecalc.errors import InputError
from basecalc.ground.advice import place_flags
from basecalc.ground.classes import Strength, rank
from basecalc.ground.governing import choose
from basecalc.ground.old_base import hole_advice, holes_needed
from basecalc.ground.pavement import Pavement, open_words, speaks
from basecalc.ground.strength import OLD_PAVEMENT, SOUND_GROUND, AreaStrength
from basecalc.job import JobArea
from basecalc.takeoff.amounts import told
from basecalc.takeoff.record import AreaTakeoff

UNTESTED: Final = "soft"  # own choice: loose backfill that nobody tested is not taken for better
_READ_IT: Final = "Push the rod every few steps along the foundation and read the ground at two spots of the strip."


def untested_strip(area: JobArea, beside: AreaStrength, class_edge: str, *, new_build: bool) -> AreaStrength:
    """Return the ground of a strip along a foundation where nothing was read: soft until tested.

    Parameters
    ----------
    area
        The strip.
    beside
        The ground of the area it was cut from: where that is weaker still, so is the strip.
    class_edge
        Where in its band a class is designed, 'weak' or 'middle'.
    new_build
        Whether the plot is newly built on.
    """
    strength = choose(["strip", "beside"], [Strength(UNTESTED), beside.strength], "weakest", class_edge).strength
    flags = place_flags(strength.strength_class, new_build=new_build, near_foundation=True, old_pavement=False)
    flags.append(
        f"Nothing was read in the strip along the foundation: it is taken as {strength.strength_class} until tested."
    )
    rule = "loose backfill, taken as soft until tested (basecalc's own choice)"
    return AreaStrength(area.name, (), strength, rule, (), tuple(flags), _READ_IT)


def on_sound_ground(area: JobArea, own: AreaStrength, beside: AreaStrength | None) -> AreaStrength:
    """Return the ground that the base of an area stands on once its loose fill is replaced; its own where it is not.

    Parameters
    ----------
    area
        The area.
    own
        Its ground as it is.
    beside
        The ground of the area it is the strip of; None where it is none.

    Raises
    ------
    InputError
        Sound ground that is weaker than what lies above it.
    """
    loose = area.loose_fill
    if loose is not None and loose.sound is not None and rank(loose.sound.strength_class) < rank(_class(own)):
        raise InputError(
            f"sound ground is {loose.sound.strength_class}; it must be at least {_class(own)}, as strong as what lies "
            "above it"
        )
    if loose is None or loose.way != "fill":
        return own
    strength, whose = loose.sound, "as given by hand"
    if strength is None and beside is not None:
        strength, whose = beside.strength, f"as {beside.name}"
    if strength is None:
        return own
    rule = f"granular fill, compacted, down to sound ground taken {whose}; without it {own.strength.strength_class}"
    check = "Look at the bottom of the dig before it is filled: the sound ground must be as strong as it was taken."
    return replace(own, strength=strength, rule=rule, test_next=check, governed_by="", overruled=SOUND_GROUND)


def _class(ground: AreaStrength) -> str:
    return ground.strength.strength_class


def with_pavement(area: JobArea, own: AreaStrength, units: str) -> AreaStrength:
    """Return the ground of an area with what its old pavement says: the weaker is taken, in the open.

    Parameters
    ----------
    area
        The area.
    own
        Its ground as read or given.
    units
        'us' or 'metric', for the words.
    """
    if not area.old_pavement_m or not (area.pavement or area.keep_old_base):
        return own
    known = area.pavement or Pavement()
    said = speaks(known, area.old_pavement_kind, units)
    words = open_words(said)
    flags = [f"Old {area.old_pavement_kind}: {sentence}." for sentence in said.sentences]
    if words:
        flags.append(f"The old pavement speaks for {words} ground ({said.source}).")
    if len(known.holes) < holes_needed(area.area_m2):
        flags.append(f"{hole_advice(area.area_m2, units)}.")
    if known.base_m and not known.holes:
        flags.append(
            f"{told(known.base_m, 'depth', units)} of old base is hearsay: without a test hole none of it counts."
        )
    taken = own.strength.strength_class
    conflicts = list(own.conflicts)
    if words and rank(taken) > rank(said.strongest):
        conflicts.append(f"the old pavement speaks for {words} ground, but {taken} was taken: the weaker is taken")
        rule = f"the old pavement, which speaks for {words} ground, is weaker than {own.rule}"
        own = replace(own, strength=Strength(said.strongest), rule=rule, governed_by="", overruled=OLD_PAVEMENT)
    elif words and rank(taken) < rank(said.weakest):
        flags.append(f"It speaks for better ground than the {taken} that was taken; testing again may save stone.")
    return replace(own, flags=(*own.flags, *flags), conflicts=tuple(conflicts))


def finding_flags(area: JobArea, taken: AreaTakeoff, units: str, *, new_build: bool) -> tuple[str, ...]:
    """Return what must catch the eye once the dig is known: the old base, the footing, the loose fill.

    Parameters
    ----------
    area
        The area.
    taken
        What is dug and laid there.
    units
        'us' or 'metric', for the words.
    new_build
        Whether the plot is newly built on.

    References
    ----------
    29-CFR-1926, 1926.651(i) [memory]; the line of one down on one out below a footing is common practice, no source.
    """
    flags = [f"{taken.old_base[:1].upper()}{taken.old_base[1:]}."] if taken.old_base else []
    bottom = taken.dig_m + area.old_pavement_m + taken.fill_m
    deep = told(bottom, "depth", units)
    if area.footing_m is not None and bottom > area.footing_m + 1e-9:
        flags.append(
            f"The dig along the foundation goes {deep} down, below the bottom of its footing at "
            f"{told(area.footing_m, 'depth', units)}: not without support or a registered engineer's approval "
            "(29 CFR 1926.651(i), from memory)."
        )
    elif area.footing_m is None and (area.strip_of or (area.foundation_edge_m and area.loose_fill)):
        flags.append(
            f"How deep the footing lies is not known, and the dig beside it goes {deep} down: find its bottom first. "
            "Never below it, nor below a line that falls from its edge one down on one out (common practice, no "
            "source), without a licensed engineer."
        )
    if new_build and area.foundation_edge_m and not area.strip_of:
        flags.append(
            "The backfill along a new foundation is taken as strong as the rest of this area: with its width known, "
            "make it an area of its own (foundation_strip = true)."
        )
    if area.strip_of or area.loose_fill:
        flags.append(
            "Fill that nobody compacted is a matter for a licensed engineer; what replaces it is placed in thin "
            "layers, each compacted and tested."
        )
    if area.loose_fill is not None and area.loose_fill.way == "stone" and bottom >= area.loose_fill.depth_m:
        flags.append("The base reaches the sound ground below the loose fill by itself: no fill is left to replace.")
    return tuple(flags)
