"""Rows of a log that stand in cells, a number or a word each: checked one by one, and put together to drops."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

from basecalc.checks import number, shown
from basecalc.errors import BasecalcError, InputError
from basecalc.ground.cone import hammer_factor
from basecalc.ground.log.record import Drop, LogRow
from basecalc.ground.log.rows import drop_steps
from basecalc.units import Measure, to_unit

# A row of a log as cells: these in this order.
LOG_FIELDS: Final = ("spot", "area", "drop", "depth", "blows", "hammer", "soil", "base_bottom", "note")
DEPTH: Final = Measure("mm", "in", "mm", 0)
BOTTOM: Final = Measure("m", "in", "mm", 0, 118)  # 3 m, as deep as a log may go
MOST_BLOWS: Final = 10_000
WHOLE_BLOWS: Final = "it must be a whole number of blows"
ASSUMED_HAMMER: Final = "Nothing says which hammer was used: the 8 kg hammer is assumed; the light one counts double"


@dataclass(frozen=True, slots=True)
class Entry:
    """One row of a log, each of its cells sound by itself.

    Parameters
    ----------
    row
        Its number, from 1.
    depth_mm
        As read, per step or in total [mm].
    blows
        As counted.
    hammer, drop
        As written; nothing where it is the one of the row above.
    soil, note
        What stands beside it.
    """

    row: int
    depth_mm: float
    blows: float
    hammer: str = ""
    drop: str = ""
    soil: str = ""
    note: str = ""


def blow_count(value: Any) -> float:
    """Return blows as a whole number.

    Parameters
    ----------
    value
        What stands in the cell.

    Raises
    ------
    InputError
        Nothing, no number, or a part of a blow.
    OutOfRangeError
        A negative number, or more blows than anybody drives.

    Examples
    --------
    >>> blow_count("5")
    5.0
    """
    held = number("blows", to_unit("blows", value, ""), "", 0, MOST_BLOWS)
    if held != round(held):
        raise InputError(f"blows is {shown(value)}; {WHOLE_BLOWS}; are the columns of blows and depth swapped?")
    return held


def hammer_word(value: Any) -> str:
    """Return a hammer as it is written, or nothing where the cell is blank.

    Parameters
    ----------
    value
        What stands in the cell.

    Raises
    ------
    InputError
        No such hammer.
    """
    if value is None or value == "":
        return ""
    hammer_factor(value)
    return str(value)


def entry_drops(
    entries: Sequence[Entry], blows_how: str = "per step", depth_how: str = "total"
) -> tuple[tuple[Drop, ...], tuple[str, ...]]:
    """Return the drops of one spot from its rows, and what was assumed for all of them.

    Parameters
    ----------
    entries
        Its rows, in order.
    blows_how, depth_how
        "per step" or "total".

    Raises
    ------
    InputError, OutOfRangeError
        The first row that cannot be used; its place is the row.
    """
    factor, name = 0.0, ""
    notes: tuple[str, ...] = ()
    found: dict[str, list[LogRow]] = {}
    last = ""
    for one in entries:
        name = one.drop or name
        if one.hammer:
            factor = hammer_factor(one.hammer)
        elif not factor:
            factor, notes = 1.0, (ASSUMED_HAMMER,)
        if name in found and name != last:
            raise InputError(
                f"drop {shown(name)} starts again behind another one; the rows of a drop must stand together",
                where=f"row {one.row}",
            )
        last = name
        row = LogRow(one.row, one.blows, round(one.depth_mm, 6), factor, one.soil, one.note)
        found.setdefault(name, []).append(row)
    drops = []
    for name, rows in found.items():
        try:
            drops.append(drop_steps(rows, blows_how, depth_how, name))
        except BasecalcError as refusal:
            raise (refusal.at(f"drop {name}") if name else refusal) from None
    return tuple(drops), notes
