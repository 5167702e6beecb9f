"""The rows of one drop become steps from reading to reading, or the sentence for the first row that cannot be one."""

from dataclasses import dataclass
from math import gcd

import numpy as np
from numpy.typing import NDArray

from basecalc.errors import BasecalcError, InputError, OutOfRangeError
from basecalc.ground.cone import cone_cbr
from basecalc.ground.log.record import Drop, Step, log_rule
from basecalc.rounding import printed
from basecalc.tables import table

Numbers = NDArray[np.float64]
_NEW_DROP = "; where a new drop begins, a column 'drop' must say so"


@dataclass(frozen=True, slots=True)
class Rows:
    """The rows of a drop, one entry each.

    Parameters
    ----------
    row
        Its number in the file.
    blows
        As counted, per step or in total.
    depth_mm
        As read, per step or in total [mm].
    factor
        Of the hammer.
    soil, note
        What stands beside it.
    """

    row: NDArray[np.int64]
    blows: Numbers
    depth_mm: Numbers
    factor: Numbers
    soil: NDArray[np.object_]
    note: NDArray[np.object_]

    def part(self, which: slice) -> "Rows":
        """Return some of the rows."""
        return Rows(
            self.row[which], self.blows[which], self.depth_mm[which], self.factor[which], self.soil[which],
            self.note[which],
        )  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Steps:
    """Blows, penetration and depth reached of each step."""

    rows: Rows
    blows: Numbers
    advance: Numbers
    bottom: Numbers

    def part(self, which: slice) -> "_Steps":
        return _Steps(self.rows.part(which), self.blows[which], self.advance[which], self.bottom[which])


def drop_steps(rows: Rows, blows_how: str, depth_how: str, name: str) -> Drop:
    """Return one drop, from its seating reading to its last reading or to where the cone no longer went in.

    Parameters
    ----------
    rows
        The readings.
    blows_how, depth_how
        "per step" or "total".
    name
        What the log calls the drop.

    Raises
    ------
    InputError, OutOfRangeError
        The first row that cannot be used; its place is the row.
    """
    made, notes = _differences(rows, blows_how, depth_how)
    _refuse(made, blows_how, depth_how)
    made = _until_it_stopped(made, notes)
    _plausible(made)
    start = float(made.bottom[0] - made.advance[0])
    if depth_how == "total" and start > 0:
        notes.append(f"The ruler stood at {start:g} mm when the cone was seated: depths are counted from there")
    bottoms = [printed((deep - start) / 1000) for deep in made.bottom.tolist()]
    steps = tuple(
        Step(row, top, bottom, int(blows), factor, soil, note)
        for row, top, bottom, blows, factor, soil, note in zip(
            made.rows.row.tolist(), [0.0, *bottoms[:-1]], bottoms, made.blows.tolist(), made.rows.factor.tolist(),
            made.rows.soil, made.rows.note, strict=True,
        )
    )  # fmt: skip
    marks = [round(depth * 1000) for depth in [start, *made.bottom.tolist()]]
    ruler = min(gcd(*marks) / 1000, log_rule("coarsest ruler"))
    return Drop(name, steps, printed(ruler), tuple(notes))


def _differences(rows: Rows, blows_how: str, depth_how: str) -> tuple[_Steps, list[str]]:
    """Return blows and penetration of each step, the seating reading taken off, and what was assumed about it."""
    first, before, deep = rows.row[0], rows.blows[0], rows.depth_mm[0]
    notes: list[str] = []
    if before > 0 and depth_how == "total":
        notes.append(
            f"There is no seating reading with 0 blows: the first reading, row {first} ({deep:g} mm), is taken as the "
            f"start, and its {before:g} blows do not count"
        )
    elif before > 0:
        notes.append(f"There is no seating reading with 0 blows: the first step, row {first}, counts from the start")
    made = _Steps(
        rows,
        np.diff(rows.blows, prepend=0.0) if blows_how == "total" else rows.blows,
        np.round(np.diff(rows.depth_mm, prepend=0.0), 6) if depth_how == "total" else rows.depth_mm,
        rows.depth_mm if depth_how == "total" else np.cumsum(rows.depth_mm),
    )
    if before > 0 and depth_how == "per step":
        return made, notes
    if len(rows.row) == 1:
        raise InputError(
            "the drop has one reading only; it must have a seating reading and at least one more", where=f"row {first}"
        )
    return made.part(slice(1, None)), notes


def _refuse(made: _Steps, blows_how: str, depth_how: str) -> None:
    """Raise what is wrong in the first bad step."""
    blows, advance = made.blows, made.advance
    # Trailing rows without penetration are where the cone stopped; in between they say that something is wrong.
    still = (advance == 0) & (blows > 0)
    moving = np.flatnonzero(advance != 0)
    still[moving[-1] + 1 if len(moving) else 0 :] = False
    bad = np.flatnonzero((blows < 0) | (advance < 0) | (blows == 0) | still)
    if not len(bad):
        return
    place = int(bad[0])
    moved, hit, deep = advance[place], blows[place], made.bottom[place]
    if moved < 0:
        told = f"the depth goes back by {-moved:g} mm, to {deep:g} mm; it must grow from reading to reading"
        told += f", or columns are swapped{_NEW_DROP}" if depth_how == "total" else ""
    elif hit < 0:
        told = f"the running total of blows goes back by {-hit:g}; it must grow{_NEW_DROP}"
    elif hit == 0 and moved == 0:
        told = "neither blows nor depth grow here, as if the reading above stood twice; it must be taken out"
    elif hit == 0:
        told = (
            f"the cone went {moved:g} mm deeper with no blow{' more' if blows_how == 'total' else ''}; such soft "
            "ground has no index, and a seating reading must be the first of its drop"
        )
    else:
        told = (
            f"{hit:g} blows did not move the cone, yet it goes on below; a reading that stands twice must be taken "
            "out, and at a stone the cone must be driven again beside it"
        )
    raise InputError(told, where=f"row {made.rows.row[place]}")


def _until_it_stopped(made: _Steps, notes: list[str]) -> _Steps:
    """Return the steps above the place where the cone no longer went in, which is noted."""
    least = _limits()[0]
    goes = np.flatnonzero(made.advance * made.rows.factor >= made.blows * least)
    if not len(goes) or goes[-1] == len(made.blows) - 1:
        return made
    stopped = made.part(slice(int(goes[-1]) + 1, None))
    notes.append(
        f"The cone stopped in row {stopped.rows.row[0]}, where {stopped.blows.sum():g} blows moved it "
        f"{stopped.advance.sum():g} mm (less than {least:g} mm a blow, a stone or hard ground): the log ends above, "
        "and says nothing about what lies below"
    )
    return made.part(slice(0, int(goes[-1]) + 1))


def _limits() -> tuple[float, float]:
    """Return the least and the greatest index of the cone [mm/blow]."""
    row = table("reading_tests").exact("cone")
    return float(row["low"]), float(row["high"])


def _plausible(made: _Steps) -> None:
    """Refuse an index or a depth that no cone has, most often a wrong unit."""
    indices = made.advance / made.blows
    scaled = indices * made.rows.factor
    smallest, greatest = _limits()
    for place in np.flatnonzero((scaled < smallest) | (scaled > greatest)).tolist():
        try:
            cone_cbr(printed(float(indices[place])), "", float(made.rows.factor[place]))
        except BasecalcError as refusal:
            raise refusal.at(f"row {made.rows.row[place]}") from None
    travelled = np.cumsum(made.advance)
    least, most = log_rule("least depth"), log_rule("greatest depth")
    if travelled[-1] > most:
        place = int(np.argmax(travelled > most))
        raise OutOfRangeError(
            f"the depth is {travelled[place]:g} mm; it must be at most {most:g} mm below the start of the log, so the "
            "unit may be wrong",
            where=f"row {made.rows.row[place]}",
        )
    if travelled[-1] < least:
        raise OutOfRangeError(
            f"the drop ends {travelled[-1]:g} mm deep; it must be at least {least:g} mm deep to say anything about "
            "the ground under a base, so the unit may be wrong",
            where=f"row {made.rows.row[-1]}",
        )
