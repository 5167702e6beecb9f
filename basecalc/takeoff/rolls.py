"""Rolls of geogrid and geotextile: how far strips overlap on a ground, and how they are cut, piece by piece.

How many strips and rolls there are is declared in `basecalc.takeoff.model`: an offcut begins the next strip.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from basecalc.core.numbers import choice, number
from basecalc.core.published import table
from basecalc.core.units import FOOT_M
from basecalc.takeoff.model import MODEL


@dataclass(frozen=True, slots=True)
class Piece:
    """A piece of a strip: the roll it comes from, the first being 1, and its length [m]."""

    roll: int
    length_m: float


Row = Mapping[str, Any]
Strip = tuple[int, float, float]  # how many, how long, and how far the pieces of each overlap [m]


def strip_rows(
    strips: Sequence[Strip], company: Mapping[str, Any], roll: str = "grid"
) -> tuple[Mapping[str, Any], ...]:
    """Return the values of the model for every strip, one place after the other; `company` holds the roll."""
    rows: list[Row] = []
    full, left, used = company[f"{roll}_length"], 0.0, 0
    for count, length, end in strips:
        for _ in range(count):
            known = {
                f"{roll}_length": full, f"{roll}_need": length, f"{roll}_over": end, f"{roll}_left_before": left,
                f"{roll}_used_before": used,
            }  # fmt: skip
            rows.append(MODEL.work_out(roll, known))
            left, used = rows[-1][f"{roll}_left"], rows[-1][f"{roll}_used"]
    return tuple(rows)


def cut(strips: Sequence[Strip], roll_length_m: float) -> tuple[tuple[tuple[Piece, ...], ...], float]:
    """Return the pieces of every strip, one place after the other, and the length left on the last roll [m].

    The pieces of a strip overlap at their ends, so together they are longer than it; an offcut no longer than that
    overlap is not used.

    Examples
    --------
    >>> [[piece.length_m for piece in strip] for strip in cut([(2, 40.0, 0.5)], 50.0)[0]]
    [[40.0], [10.0, 30.5]]
    """
    rows = strip_rows(strips, {"grid_length": roll_length_m})
    return tuple(_pieces(row) for row in rows), rows[-1]["grid_left"] if rows else 0.0


def _pieces(row: Row) -> tuple[Piece, ...]:
    """Return the pieces of a strip from what the model says of it: what the begun roll gives, then new rolls."""
    full, end, begun = row["grid_length"], row["grid_over"], row["grid_used_before"]
    if not row["grid_fresh"]:
        return (Piece(begun, row["grid_need"]),)
    first = (Piece(begun, row["grid_left_before"]),) if row["grid_left_before"] > end else ()
    whole = tuple(Piece(begun + 1 + place, full) for place in range(row["grid_more"]))
    last = row["grid_rest"] - row["grid_more"] * (full - end)
    return (*first, *whole, Piece(row["grid_used"], last))


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
    """Return the overlap of a 'geotextile' or 'geogrid' on ground of this CBR [%]; the owner may write another.

    AASHTO-M288 [memory] for the geotextile; practice for the geogrid.

    Examples
    --------
    >>> overlap(0.45, "geotextile").sewn
    True
    """
    word = choice("kind", kind, tuple(_TABLES))
    rule = table(_TABLES[word])
    row = rule.band("CBR", cbr)
    side, end, sewn = float(row["greatest"]), float(row["roll_end"]), bool(row["sewn"])
    sentence = f"at CBR {cbr:.3g} the strips of {word} overlap {side:g} ft, roll ends {end:g} ft"
    if sewn:
        sentence = f"at CBR {cbr:.3g} the seams of the {word} must be sewn, not only lapped; counted with {side:g} ft"
    return Overlap(side * FOOT_M, end * FOOT_M, sewn, sentence, rule.cited)


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
    width = number("width", width_m, "m", 0.0, 1000.0, above=True)
    roll = number("roll length", roll_length_m, "m", 1.0, 1000.0)
    end = overlap_m if end_overlap_m is None else end_overlap_m
    count = MODEL.value("grid_strips", wide=width, reach=0.0, grid=1, grid_width=roll_width_m, grid_lap=overlap_m)
    strips, left = cut([(count, length, end)], roll)
    return RollPlan(count, length, strips[-1][-1].roll, sum(len(pieces) - 1 for pieces in strips), left)
