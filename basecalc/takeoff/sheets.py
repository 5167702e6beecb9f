"""Rolls over a whole job: what is laid in each area, and how many rolls the strips of all areas are cut from."""

from collections.abc import Sequence
from dataclasses import dataclass

from basecalc.base.depth import BaseDepth
from basecalc.company import Roll
from basecalc.errors import InputError
from basecalc.job import JobArea
from basecalc.takeoff.materials import Materials
from basecalc.takeoff.rolls import lay, overlap, pooled_rolls


@dataclass(frozen=True, slots=True)
class Laid:
    """One kind of roll laid below an area.

    Parameters
    ----------
    roll
        The owner's roll.
    length_m
        Length of each strip [m].
    side_m, end_m
        Overlap of neighbouring strips, and of the pieces of a strip [m].
    strips
        Strips side by side.
    covered_m2
        Plan area covered [m2].
    sentence
        The rule of the overlap, in words.
    sewn
        Whether the seams have to be sewn.
    """

    roll: Roll
    length_m: float
    side_m: float
    end_m: float
    strips: int
    covered_m2: float
    sentence: str
    sewn: bool


def laid(
    area: JobArea, depth: BaseDepth | None, cbr: float | None, base_m2: float, extension_m: float, own: Materials
) -> tuple[Laid, ...]:
    """Return the rolls laid below an area: the geogrid its depth was designed with, the geotextile it asks for.

    Parameters
    ----------
    area
        The area.
    depth
        The checks behind its base depth; None where it was given as a number.
    cbr
        Strength of the ground there [%], for the overlaps; None where it is not known.
    base_m2, extension_m
        Area of the base [m2], and how far it reaches beyond the edge [m].
    own
        The owner's rolls that the job takes.

    Raises
    ------
    InputError
        Neither the ground nor the owner says how far the strips overlap.
    """
    found = []
    if depth is not None and depth.reinforcement.kind == "geogrid" and own.geogrid is not None:
        found.append(own.geogrid)
    if area.geotextile and own.geotextile is not None:
        found.append(own.geotextile)
    length, width = (side + 2 * extension_m for side in area.extent_m)
    return tuple(_laid(roll, area, cbr, base_m2, length, width) for roll in found)


def _laid(roll: Roll, area: JobArea, cbr: float | None, base_m2: float, length: float, width: float) -> Laid:
    if cbr is None and roll.overlap_m is None:
        raise InputError(
            f"area {area.name}: the overlap of the {roll.kind} needs the strength of the ground, or an owner's own"
        )
    rule = None if cbr is None else overlap(cbr, roll.kind)
    if roll.overlap_m is not None:
        side = end = roll.overlap_m
        sentence = f"overlap of the owner for {roll.name}"
    else:
        assert rule is not None
        side, end, sentence = rule.side_m, rule.end_m, rule.sentence
    plan = lay(length, width, roll.length_m, roll.width_m, side, end)
    sewn = rule is not None and rule.sewn
    if sewn and roll.overlap_m is not None and rule is not None:
        sentence = rule.sentence
    return Laid(roll, length, side, end, plan.strips, base_m2, sentence, sewn)


def whole_rolls(sheets: Sequence[Laid]) -> int:
    """Return the whole rolls that the strips of all areas are cut from, one after the other.

    What is left of a roll begins the next strip, also in the next area; the pieces of a strip overlap at their ends.

    Parameters
    ----------
    sheets
        What is laid in each area, all of the same roll.
    """
    if not sheets:
        return 0
    return pooled_rolls([(sheet.strips, sheet.length_m, sheet.end_m) for sheet in sheets], sheets[0].roll.length_m)


def exact_rolls(sheets: Sequence[Laid]) -> float:
    """Return the rolls as a fraction, by area covered and overlap of the sides: for rates, not for orders.

    Parameters
    ----------
    sheets
        What is laid in each area, all of the same roll.
    """
    return sum(sheet.covered_m2 / ((sheet.roll.width_m - sheet.side_m) * sheet.roll.length_m) for sheet in sheets)
