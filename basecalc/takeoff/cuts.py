"""How strips are cut from whole rolls, piece by piece: what is left of a roll begins the next strip."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

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

    Parameters
    ----------
    strips
        For each place the number of strips, their length [m], and the overlap of their pieces [m], which is below the
        length of a roll.
    roll_length_m
        Length of the roll [m].

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
