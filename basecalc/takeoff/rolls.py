"""How strips are cut from whole rolls, piece by piece: what is left of a roll begins the next strip.

Rolls of geogrid and geotextile: strips side by side, cut from whole rolls, with overlaps by the ground.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from basecalc.core.errors import OutOfRangeError
from basecalc.core.numbers import choice, number, whole_up
from basecalc.core.published import table
from basecalc.core.units import FOOT_M

HAIR_M: Final = 1e-9


@dataclass(frozen=True, slots=True)
class Piece:
    """A piece of a strip: the roll it comes from, the first being 1, and its length [m]."""

    roll: int
    length_m: float


def cut(
    strips: Sequence[tuple[int, float, float]], roll_length_m: float
) -> tuple[tuple[tuple[Piece, ...], ...], float]:
    """Return the pieces of every strip, one place after the other, and the length left on the last roll [m].

    The pieces of a strip overlap at their ends, so together they are longer than it; an offcut no longer than that
    overlap is not used.

    Examples
    --------
    >>> [[piece.length_m for piece in strip] for strip in cut([(2, 40.0, 0.5)], 50.0)[0]]
    [[40.0], [10.0, 30.5]]
    """
    made: list[tuple[Piece, ...]] = []
    used, left = 0, 0.0
    for count, length, end in strips:
        for _ in range(count):
            need = length
            if not used:
                used, left = 1, roll_length_m
            pieces = []
            while need > left + HAIR_M:
                if left > end + HAIR_M:
                    pieces.append(Piece(used, left))
                    need += end - left
                used, left = used + 1, roll_length_m
            pieces.append(Piece(used, need))
            left = max(left - need, 0.0)
            made.append(tuple(pieces))
    return tuple(made), left


MOST_STRIPS: Final = 10_000
_TABLES: Final = {"geotextile": "overlap", "geogrid": "grid_overlap"}


@dataclass(frozen=True, slots=True)
class Overlap:
    """How far strips lie over each other."""

    side_m: float
    end_m: float
    sewn: bool
    sentence: str
    cited: str


@dataclass(frozen=True, slots=True)
class RollPlan:
    """How an area is covered."""

    strips: int
    strip_m: float
    rolls: int
    joints: int
    left_m: float


def overlap(cbr: float, kind: str) -> Overlap:
    """Return the overlap for a ground, where the owner has not written another.

    Parameters
    ----------
    cbr
        California bearing ratio of the ground [%], from 0 to 100.
    kind
        'geotextile' or 'geogrid'.

    Examples
    --------
    >>> overlap(0.45, "geotextile").sewn
    True

    References
    ----------
    AASHTO-M288 [memory] for the geotextile; practice for the geogrid.
    """
    word = choice("kind", kind, tuple(_TABLES))
    rule = table(_TABLES[word])
    row = rule.band("CBR", cbr)
    side, end, sewn = float(row["greatest"]), float(row["roll_end"]), bool(row["sewn"])
    sentence = f"at CBR {cbr:.3g} the strips of {word} overlap {side:g} ft, roll ends {end:g} ft"
    if sewn:
        sentence = f"at CBR {cbr:.3g} the seams of the {word} must be sewn, not only lapped; counted with {side:g} ft"
    return Overlap(side * FOOT_M, end * FOOT_M, sewn, sentence, rule.cited)


def overlap_m(cbr: float, kind: str) -> float:
    """Return the overlap of neighbouring strips for a ground [m].

    Examples
    --------
    >>> round(overlap_m(5.0, "geogrid"), 4)
    0.3048
    """
    return overlap(cbr, kind).side_m


def strips(width_m: float, roll_width_m: float, overlap_m: float) -> int:
    """Return how many strips side by side cover a width.

    Examples
    --------
    >>> strips(6.0, 4.0, 0.3), strips(3.8, 4.0, 0.3)
    (2, 1)
    """
    width = number("width", width_m, "m", 0.0, 1000.0, above=True)
    roll = number("roll width", roll_width_m, "m", 0.0, 20.0, above=True)
    lap = number("overlap", overlap_m, "m", 0.0, 20.0)
    if width <= roll + HAIR_M:
        return 1
    if lap >= roll:
        raise OutOfRangeError(f"overlap is {lap:g} m; it must be below the roll width of {roll:g} m")
    count = (width - lap) / (roll - lap)
    if count > MOST_STRIPS:
        raise OutOfRangeError(
            f"overlap is {lap:g} m; beside a roll width of {roll:g} m it leaves more than {MOST_STRIPS:,} strips"
        )
    return whole_up(count)


def lay(
    length_m: float,
    width_m: float,
    roll_length_m: float,
    roll_width_m: float,
    overlap_m: float,
    end_overlap_m: float | None = None,
) -> RollPlan:
    """Return how strips along the length are cut from whole rolls, what is left of a roll beginning the next strip.

    A strip made of two pieces has an end overlap between them; an offcut no longer than that overlap is not used.

    Examples
    --------
    >>> lay(40.0, 6.0, 50.0, 4.0, 0.5)
    RollPlan(strips=2, strip_m=40.0, rolls=2, joints=1, left_m=19.5)
    """
    length = number("length", length_m, "m", 0.0, 1000.0, above=True)
    roll = number("roll length", roll_length_m, "m", 1.0, 1000.0)
    end = number("end overlap", overlap_m if end_overlap_m is None else end_overlap_m, "m", 0.0, 20.0)
    count = strips(width_m, roll_width_m, overlap_m)
    if length > roll and end > roll / 2:
        raise OutOfRangeError(f"end overlap is {end:g} m; it must be at most half the roll length of {roll:g} m")
    made, left = cut([(count, length, end)], roll)
    return RollPlan(count, length, made[-1][-1].roll, sum(len(pieces) - 1 for pieces in made), left)


def rolls(
    length_m: float,
    width_m: float,
    roll_length_m: float,
    roll_width_m: float,
    overlap_m: float,
    end_overlap_m: float | None = None,
) -> int:
    """Return the whole rolls that cover a rectangle.

    Examples
    --------
    >>> rolls(40.0, 6.0, 50.0, 4.0, 0.5)
    2
    """
    return lay(length_m, width_m, roll_length_m, roll_width_m, overlap_m, end_overlap_m).rolls


def pooled_rolls(strips: Sequence[tuple[int, float, float]], roll_length_m: float) -> int:
    """Return the whole rolls that the strips of several places are cut from, one place after the other.

    What is left of a roll begins the next strip, also at the next place; the pieces of a strip overlap at their ends.

    Examples
    --------
    >>> pooled_rolls([(2, 20.0, 0.3), (1, 9.0, 0.3)], 50.0)
    1
    """
    roll = number("roll length", roll_length_m, "m", 1.0, 1000.0)
    for _, length, end in strips:
        number("length", length, "m", 0.0, 1000.0)
        number("end overlap", end, "m", 0.0, roll / 2 if length > roll else 20.0)
    made, _ = cut(strips, roll)
    return made[-1][-1].roll if made else 0
