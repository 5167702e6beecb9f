"""The rows of one drop become steps from reading to reading, or the sentence for the first row that cannot be one."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import accumulate, pairwise
from math import gcd

from basecalc.errors import BasecalcError, InputError, OutOfRangeError
from basecalc.ground.cone import cone_cbr
from basecalc.ground.log.record import Drop, LogRow, Step, log_rule
from basecalc.rounding import printed
from basecalc.tables import table

_NEW_DROP = "; where a new drop begins, a column 'drop' must say so"


@dataclass(frozen=True, slots=True)
class _Made:
    """A reading with the blows and the penetration since the one before, and the depth reached."""

    of: LogRow
    blows: float
    advance: float
    bottom: float


def drop_steps(rows: Sequence[LogRow], blows_how: str, depth_how: str, name: str) -> Drop:
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
    start = made[0].bottom - made[0].advance
    if depth_how == "total" and start > 0:
        notes.append(f"The ruler stood at {start:g} mm when the cone was seated: depths are counted from there")
    bottoms = [printed((one.bottom - start) / 1000) for one in made]
    steps = tuple(
        Step(one.of.row, top, bottom, int(one.blows), one.of.factor, one.of.soil, one.of.note)
        for one, top, bottom in zip(made, [0.0, *bottoms[:-1]], bottoms, strict=True)
    )
    marks = [round(depth * 1000) for depth in [start, *(one.bottom for one in made)]]
    ruler = min(gcd(*marks) / 1000, log_rule("coarsest ruler"))
    return Drop(name, steps, printed(ruler), tuple(notes), tuple(rows), (blows_how, depth_how))


def usual_rows(drop: Drop) -> tuple[LogRow, ...]:
    """Return the rows of a drop as logs are mostly kept: blows per step, depths in total, from a seating reading.

    Parameters
    ----------
    drop
        The drop; read again, its rows give the same steps.
    """
    blows_how, depth_how = drop.counted
    blows, depths = [one.blows for one in drop.rows], [one.depth_mm for one in drop.rows]
    hits = _rises(blows) if blows_how == "total" else blows
    deep = depths if depth_how == "total" else [round(depth, 6) for depth in accumulate(depths)]
    made = [
        replace(one, blows=hit, depth_mm=depth) for one, hit, depth in zip(drop.rows, hits, deep, strict=True)
    ]  # fmt: skip
    if depth_how == "per step" and hits[0] > 0:  # its first step starts at the top
        made.insert(0, replace(made[0], blows=0.0, depth_mm=0.0, note=""))
    return tuple(made)


def _differences(rows: Sequence[LogRow], blows_how: str, depth_how: str) -> tuple[list[_Made], list[str]]:
    """Return blows and penetration of each step, the seating reading taken off, and what was assumed about it."""
    first, before, deep = rows[0].row, rows[0].blows, rows[0].depth_mm
    notes: list[str] = []
    if before > 0 and depth_how == "total":
        notes.append(
            f"There is no seating reading with 0 blows: the first reading, row {first} ({deep:g} mm), is taken as the "
            f"start, and its {before:g} blows do not count"
        )
    elif before > 0:
        notes.append(f"There is no seating reading with 0 blows: the first step, row {first}, counts from the start")
    blows, depths = [one.blows for one in rows], [one.depth_mm for one in rows]
    hits = _rises(blows) if blows_how == "total" else blows
    advances = [round(rise, 6) for rise in _rises(depths)] if depth_how == "total" else depths
    bottoms = depths if depth_how == "total" else list(accumulate(depths))
    made = [_Made(*one) for one in zip(rows, hits, advances, bottoms, strict=True)]
    if before > 0 and depth_how == "per step":
        return made, notes
    if len(rows) == 1:
        raise InputError(
            "the drop has one reading only; it must have a seating reading and at least one more", where=f"row {first}"
        )
    return made[1:], notes


def _rises(totals: Sequence[float]) -> list[float]:
    return [below - above for above, below in pairwise([0.0, *totals])]


def _refuse(made: Sequence[_Made], blows_how: str, depth_how: str) -> None:
    """Raise what is wrong in the first bad step."""
    for one in made:
        if one.blows > 0 and one.advance >= 0:
            continue
        told = _wrong_step(one, blows_how, depth_how)
        raise InputError(told, where=f"row {one.of.row}")


def _wrong_step(one: _Made, blows_how: str, depth_how: str) -> str:
    moved, hit = one.advance, one.blows
    if moved < 0:
        told = f"the depth goes back by {-moved:g} mm, to {one.bottom:g} mm; it must grow from reading to reading"
        return told + (f", or columns are swapped{_NEW_DROP}" if depth_how == "total" else "")
    if hit < 0:
        return f"the running total of blows goes back by {-hit:g}; it must grow{_NEW_DROP}"
    if hit == 0 and moved == 0:
        return "neither blows nor depth grow here, as if the reading above was written twice; take it out"
    return (
        f"the cone went {moved:g} mm deeper with no blow{' more' if blows_how == 'total' else ''}; such soft "
        "ground has no index, and a seating reading must be the first of its drop"
    )


def _until_it_stopped(made: list[_Made], notes: list[str]) -> list[_Made]:
    """Return the steps above the place where the cone no longer went in, which is noted."""
    least = _limits()[0]
    goes = [place for place, one in enumerate(made) if one.advance * one.of.factor >= one.blows * least]
    if not goes or goes[-1] == len(made) - 1:
        return made
    stopped = made[goes[-1] + 1 :]
    notes.append(
        f"The cone stopped in row {stopped[0].of.row}, where {sum(one.blows for one in stopped):g} blows moved it "
        f"{sum(one.advance for one in stopped):g} mm (less than {least:g} mm a blow, a stone or hard ground): the log "
        "ends above, and says nothing about what lies below"
    )
    return made[: goes[-1] + 1]


def _limits() -> tuple[float, float]:
    """Return the least and the greatest index of the cone [mm/blow]."""
    row = table("reading_tests").exact("cone")
    return float(row["low"]), float(row["high"])


def _plausible(made: Sequence[_Made]) -> None:
    """Refuse an index or a depth that no cone has, most often a wrong unit; blows at a stone may move nothing."""
    smallest, greatest = _limits()
    for one in made:
        index = one.advance / one.blows
        if index > 0 and not smallest <= index * one.of.factor <= greatest:
            try:
                cone_cbr(printed(index), "", one.of.factor)
            except BasecalcError as refusal:
                raise refusal.at(f"row {one.of.row}") from None
    least, most = log_rule("least depth"), log_rule("greatest depth")
    travelled = list(accumulate(one.advance for one in made))
    for one, depth in zip(made, travelled, strict=True):
        if depth > most:
            raise OutOfRangeError(
                f"the depth is {depth:g} mm; it must be at most {most:g} mm below the start of the log, so the unit "
                "may be wrong",
                where=f"row {one.of.row}",
            )
    if travelled[-1] < least:
        raise OutOfRangeError(
            f"the drop ends {travelled[-1]:g} mm deep; it must be at least {least:g} mm deep to say anything about "
            "the ground under a base, so the unit may be wrong",
            where=f"row {made[-1].of.row}",
        )
