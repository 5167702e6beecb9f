"""A cone penetrometer's log from a file: blows and depths of one or several drops, every row checked."""

import re
from collections.abc import Sequence
from itertools import pairwise
from pathlib import Path
from typing import Final

import pandas as pd

from basecalc.checks import choice, shown
from basecalc.errors import BasecalcError, InputError
from basecalc.ground.cone import hammer_factor
from basecalc.ground.log.columns import Faults, Text, blow_counts, depths_mm, hammers, soils
from basecalc.ground.log.entries import ASSUMED_HAMMER
from basecalc.ground.log.headings import HOW, UNITS, Columns, Heading, columns
from basecalc.ground.log.record import ConeLog, Drop, LogRow, log_rule
from basecalc.ground.log.rows import drop_steps
from basecalc.ground.log.text import Cells, cells, read_bytes

_USUAL_HAMMER: Final = "8 kg"
_HAMMER_COMMENT: Final = re.compile(r"hammer\D{0,12}(\d+(?:[.,]\d+)?)\s*kg|(\d+(?:[.,]\d+)?)\s*kg\s*hammer")


def read_cone_log(
    path: str | Path, *, unit: str = "", hammer: str | float = "", blows: str = "", depths: str = ""
) -> ConeLog:
    """Return the log in a file of text, checked row by row.

    Parameters
    ----------
    path
        A file with columns of blows and depth, separated by commas, semicolons or tabs; it is only read.
    unit
        Unit of the depths: mm, cm, in, m or ft; nothing where the heading or the cells say it. It is never guessed.
    hammer
        Weight of the hammer, 8 or 4.6 kg; nothing where a column says it, or for the 8 kg hammer.
    blows, depths
        "per step" or "total", as they are counted; nothing where the heading says it or the numbers prove it.

    Raises
    ------
    WorkbookError
        There is no such file, or it is no text.
    InputError, OutOfRangeError
        The first row that cannot be used, with its number in the file.
    """
    where = str(path)
    return cone_log(cells(read_bytes(path), where), where, unit=unit, hammer=hammer, blows=blows, depths=depths)


def cone_log(
    table: Cells, where: str, *, unit: str = "", hammer: str | float = "", blows: str = "", depths: str = ""
) -> ConeLog:
    """Return the log in a table of text cells, checked row by row.

    Parameters
    ----------
    table
        The cells, the first row being the headings, if there are any.
    where
        What a refusal calls the log.
    unit, hammer, blows, depths
        As in `read_cone_log`.

    Raises
    ------
    InputError, OutOfRangeError
        The first row that cannot be used, with its number.
    """
    frame = table.frame
    known = columns([str(cell) for cell in frame.iloc[0]], f"{where}, row {frame.index[0]}")
    if known.headed:
        frame, unit = _under_the_headings(frame, known, unit)
    said = _comments(frame, known, table.comments)
    frame = frame[(frame[known.blows.column] != "") | (frame[known.depth.column] != "")]
    if frame.empty:
        raise InputError("there are headings but no readings under them", where=where)
    faults = Faults(where)
    notes = [f"Not used: the column {shown(text)}" for text in known.unused]
    if not known.headed:
        notes.append("There are no headings: the first column is taken for blows, the second for depth")
    counts = blow_counts(frame[known.blows.column], faults)
    deep, depth_unit = depths_mm(frame[known.depth.column], known.depth, unit, faults)
    factors = _factors(frame, known, hammer, said, faults, notes)
    soil = soils(frame[known.soil.column], faults) if known.soil else pd.Series("", frame.index)
    names = _drop_names(frame, known.drop, faults)
    faults.check()
    rows = pd.DataFrame({"blows": counts, "depth": deep, "factor": factors, "soil": soil, "drop": names})
    rows["note"] = [said.get(int(row), "") for row in rows.index]
    rows["place"] = (rows["drop"] != rows["drop"].shift()).cumsum()
    blows_how, told = _how("blows", rows, known.blows, blows, where)
    depth_how, more = _how("depth", rows, known.depth, depths, where)
    every = [
        LogRow(int(row), *cells_) for row, *cells_ in rows[["blows", "depth", "factor", "soil", "note"]].itertuples()
    ]
    starts = [place for place, first in enumerate(rows["place"].diff() != 0) if first]
    drops = [
        _drop(every[start:end], blows_how, depth_how, where, str(names.iloc[start]))
        for start, end in pairwise([*starts, len(rows)])
    ]
    return ConeLog(where, tuple(drops), depth_unit, (*notes, *told, *more), tuple(sorted(said.items())))


def _under_the_headings(frame: pd.DataFrame, known: Columns, unit: str) -> tuple[pd.DataFrame, str]:
    """Return the readings, and the unit where it stands in a row of its own under the headings."""
    body = frame.iloc[1:]
    if len(body) and not known.depth.unit and body.iloc[0, known.blows.column] in ("", "-"):
        below = UNITS.get(str(body.iloc[0, known.depth.column]).strip("()[]").casefold(), "")
        if below and (not unit or UNITS.get(unit.strip().casefold()) == below):
            return body.iloc[1:], below
    return body, unit


def _comments(frame: pd.DataFrame, known: Columns, lines: dict[int, str]) -> dict[int, str]:
    """Return every comment by row: lines, ends of lines and comment columns."""
    said = dict(lines)
    for one in known.comments:
        text = frame[one.column]
        for row, words in text[text != ""].items():
            said[int(row)] = f"{said[int(row)]}; {words}" if said.get(int(row)) else str(words)  # type: ignore[call-overload]
    return {row: " ".join(words.split()) for row, words in said.items() if words.strip()}


def _factors(
    frame: pd.DataFrame, known: Columns, given: str | float, said: dict[int, str], faults: Faults, notes: list[str]
) -> pd.Series:
    """Return the hammer factor of each row: by column, argument or comment, or, told, that of the 8 kg hammer."""
    text: Text | None = frame[known.hammer.column] if known.hammer else None
    if text is not None and (text != "").any():
        return hammers(text, known.hammer, given, frame.index, faults)
    used = given
    for row, words in said.items():
        named = _HAMMER_COMMENT.search(words.casefold())
        if named is None:
            continue
        weight = named[1] or named[2]
        place = f"{faults.where}, row {row}"
        if used == "" and row < frame.index[0]:
            used = weight
            notes.append(f"The hammer of {weight} kg is the one that the comment in row {row} names")
        try:
            other = hammer_factor(weight) != hammer_factor(used or _USUAL_HAMMER)
        except InputError as refusal:
            raise refusal.at(place) from None
        if other:
            raise InputError(
                f"the comment names a hammer of {weight} kg, but {used or _USUAL_HAMMER} is taken elsewhere; a column "
                "'hammer kg' must say which was used where",
                where=place,
            )
    if used == "":
        notes.append(ASSUMED_HAMMER)
    return hammers(None, None, used, frame.index, faults)


def _drop_names(frame: pd.DataFrame, column: Heading | None, faults: Faults) -> pd.Series:
    """Return the drop that each row belongs to; a blank cell means as above."""
    if column is None:
        return pd.Series("", frame.index)
    text = frame[column.column]
    names = text.where(text != "").ffill()
    faults.add(names.isna(), InputError, lambda _: f"{column.text} is missing; the first row must name the drop")
    starts = names[(names != names.shift()) & names.notna()]
    again = starts.duplicated()
    faults.add(again, InputError, lambda row: (
        f"drop {shown(names[row])} starts again behind another one; the rows of a drop must stand together"
    ))  # fmt: skip
    return names


def _how(what: str, rows: pd.DataFrame, column: Heading, given: str, where: str) -> tuple[str, list[str]]:
    """Return how blows or depths are counted, and what was concluded from the numbers alone.

    A running total never falls, so counts that often do not rise are counts per step, and many that always rise are a
    total. What lies between is refused.
    """
    name = "blows" if what == "blows" else "depths"
    asked = choice(name, given, HOW) if given else ""
    if asked and column.how and asked != column.how:
        raise InputError(
            f"{name} are given as {shown(asked)}, but the heading {shown(column.text)} says {shown(column.how)}; they "
            "must agree",
            where=where,
        )
    if asked or column.how:
        return asked or column.how, []
    values = rows[what]
    rise = values.diff()[rows["place"] == rows["place"].shift()]
    if rise.empty:  # one reading a drop, which `drop_steps` refuses
        return "per step", []
    flat = rise[rise <= 0]
    if len(flat) and len(flat) >= log_rule("share that does not rise") * len(rise):
        return "per step", ([] if what == "blows" else ["The depths do not keep rising: they are taken per step"])
    if len(flat) == 0 and len(rise) + 1 >= log_rule("readings that rise"):
        return "total", [f"The {name} rise in every row: they are taken as a running total"]
    heading = shown(column.text) if column.text else "the column without a heading"
    row = "" if flat.empty else f" (row {flat.index[0]} does not rise, nearly all others do)"
    raise InputError(
        f"{heading} does not say whether {name} are counted per step or in total{row}; write 'per step' or 'total' in "
        f"the heading, such as 'total {what}', or say it where the log is named ({name})",
        where=where,
    )


def _drop(rows: Sequence[LogRow], blows_how: str, depth_how: str, where: str, name: str) -> Drop:
    try:
        return drop_steps(rows, blows_how, depth_how, name)
    except BasecalcError as refusal:
        raise refusal.at(f"{where}, drop {name}" if name else where) from None
