"""A cone penetrometer's log from a file of text: blows and depths of one or several drops, every row checked."""

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import Final

from basecalc.core.errors import BasecalcError, InputError, OutOfRangeError, Place
from basecalc.core.numbers import choice, quoted
from basecalc.core.units import convert
from basecalc.ground.cone_log import (
    HOW,
    UNITS,
    WHOLE_BLOWS,
    Columns,
    ConeLog,
    Entry,
    blow_count,
    columns,
    entry_drops,
    log_rule,
    next_drop,
)
from basecalc.ground.readings import hammer_factor, hammer_of, soil_named
from basecalc.tables.from_csv import (
    Heading,
    Line,
    Listing,
    cell_number,
    decoded,
    has_decimal_comma,
    listing,
    parted,
    read_bytes,
)

_CONE: Final = "columns of blows and depth"
_BY_FACTOR: Final = {"1": 1.0, "2": 2.0, "1.0": 1.0, "2.0": 2.0}
_USUAL_HAMMER: Final = "8 kg"
_HAMMER_COMMENT: Final = re.compile(r"hammer\D{0,12}(\d+(?:[.,]\d+)?)\s*kg|(\d+(?:[.,]\d+)?)\s*kg\s*hammer")


def log_text(path: str | Path) -> str:
    """Return what is in the file of a log, as text."""
    return decoded(read_bytes(path, _CONE), str(path), _CONE).replace("\r\n", "\n").replace("\r", "\n")


def read_cone_log(
    path: str | Path, *, unit: str = "", hammer: str | float = "", blows: str = "", depths: str = ""
) -> ConeLog:
    """Return the log in a file of text, checked row by row."""
    return cone_log(read_bytes(path, _CONE), str(path), unit=unit, hammer=hammer, blows=blows, depths=depths)


def cone_log(
    content: bytes, where: str, *, unit: str = "", hammer: str | float = "", blows: str = "", depths: str = ""
) -> ConeLog:
    """Return the log in the content of a file, checked row by row."""
    read = listing(content, where, _CONE)
    first, *body = read.lines
    known = columns(first.cells, read.place(first.row))
    if known.headed:
        body, unit = _under_the_headings(body, known, unit)
    else:
        body = [first, *body]
    said = _comments(read, body, known)
    body = [line for line in body if line.cells[known.blows.column] or line.cells[known.depth.column]]
    if not body:
        raise InputError("there are headings but no readings under them", where=Place(where))
    notes = [f"Not used: the column {quoted(text)}" for text in known.unused]
    if not known.headed:
        notes.append("There are no headings: the first column is taken for blows, the second for depth")
    depth = _depths([line.cells[known.depth.column] for line in body], known.depth, unit, Place(where))
    given, hammers_by = _hammer(body, known, hammer, said, read, notes)
    commas = has_decimal_comma(line.cells[known.blows.column] for line in body)
    entries: list[Entry] = []
    name, seen = "", set[str]()
    for line in body:
        try:
            hit, deep = (
                blow_count(cell_number("blows", line.cells[known.blows.column], WHOLE_BLOWS, commas=commas)),
                depth.read(line),
            )
            driven = hammers_by(line)
            soil = line.cells[known.soil.column] if known.soil else ""
            soil = soil_named(soil).name if soil else ""
            name = next_drop(line.cells[known.drop.column] or name, name, seen, line.row) if known.drop else ""
            if known.drop and not name:
                raise InputError("is missing; the first row must name the drop", about=known.drop.text)
        except BasecalcError as refusal:
            raise refusal.at(read.place(line.row)) from None
        seen.add(name)
        entries.append(Entry(line.row, deep, hit, driven or given, name, soil, said.get(line.row, "")))
    blows_how, told = _how("blows", entries, [one.blows for one in entries], known.blows, blows, where)
    depth_how, more = _how("depth", entries, [one.depth_mm for one in entries], known.depth, depths, where)
    try:
        drops, assumed = entry_drops(entries, blows_how, depth_how)
    except BasecalcError as refusal:
        raise refusal.at(Place(where)) from None
    return ConeLog(where, drops, depth.unit, (*notes, *assumed, *told, *more), tuple(sorted(said.items())))


def _under_the_headings(body: list[Line], known: Columns, unit: str) -> tuple[list[Line], str]:
    """Return the readings, and the unit where it is in a row of its own under the headings."""
    if body and not known.depth.unit and body[0].cells[known.blows.column] in ("", "-"):
        below = UNITS.get(body[0].cells[known.depth.column].strip("()[]").casefold(), "")
        if below and (not unit or UNITS.get(unit.strip().casefold()) == below):
            return body[1:], below
    return body, unit


def _comments(read: Listing, body: Sequence[Line], known: Columns) -> dict[int, str]:
    """Return every comment by row: lines, ends of lines and comment columns."""
    said = dict(read.comments)
    for line in body:
        for one in known.comments:
            if words := line.cells[one.column]:
                said[line.row] = f"{said[line.row]}; {words}" if said.get(line.row) else words
    return {row: " ".join(words.split()) for row, words in said.items() if words.strip()}


@dataclass(frozen=True, slots=True)
class _Depths:
    """How the depths of a log are written: their unit, whether every cell says it, decimal commas."""

    column: int
    unit: str
    each: bool
    commas: bool

    def read(self, line: Line) -> float:
        """Return the depth in a row [mm]."""
        cell = line.cells[self.column]
        number, unit = _with_unit(cell)
        if self.each and not unit:
            raise InputError(
                f"is {quoted(cell)}, without the unit that other rows have; all must have the same unit", about="depth"
            )
        if unit not in ("", self.unit):
            raise InputError(
                f"is {quoted(cell)}, but the other depths are in {self.unit}; all must have the same unit",
                about="depth",
            )
        needed = f"it must be a number ({self.unit})"
        value = cell_number("depth", number if unit else cell, needed, commas=self.commas, cell=cell)
        if value < 0:
            raise OutOfRangeError(f"is {quoted(cell)} {self.unit}; it must be at least 0", about="depth")
        return round(value * convert(1.0, self.unit, "mm"), 6)


def _with_unit(cell: str) -> tuple[str, str]:
    number, unit = parted(cell)
    return number, UNITS.get(unit.casefold(), "")


def _depths(cells: Sequence[str], column: Heading, unit: str, where: Place) -> _Depths:
    """Return how the depths of a log are written, by what the caller, the heading and the cells say."""
    given = UNITS.get(unit.strip().casefold(), "")
    if unit and not given:
        raise InputError(f"is {quoted(unit)}; it must be one of: mm, cm, in, m, ft", about="unit")
    if given and column.unit and given != column.unit:
        raise InputError(
            f"the unit given is {given}, but the heading {quoted(column.text)} says {column.unit}; they must agree",
            where=where,
        )
    parts = [_with_unit(cell) for cell in cells]
    units = [unit for _, unit in parts if unit]
    known = given or column.unit
    if not known and not units:
        raise InputError(
            "nothing says the unit of the depths; write it in the heading, such as 'depth mm' or 'depth (in)', or give "
            "it as the unit",
            where=where,
        )
    bare = (number if unit else cell for (number, unit), cell in zip(parts, cells, strict=True))
    return _Depths(column.column, known or units[0], not known, has_decimal_comma(bare))


def _hammer(
    body: Sequence[Line], known: Columns, given: str | float, said: Mapping[int, str], read: Listing, notes: list[str]
) -> tuple[str, Callable[[Line], str]]:
    """Return the hammer of the whole log, and what gives that of a row: by column, argument or comment, else assumed.

    A blank cell of the column means as above.
    """
    column = known.hammer
    if column is not None and any(line.cells[column.column] for line in body):
        return "", _by_column(column, given)
    used = given
    for row, words in said.items():
        named = _HAMMER_COMMENT.search(words.casefold())
        if named is None:
            continue
        weight = named[1] or named[2]
        if used == "" and row < body[0].row:
            used = weight
            notes.append(f"The hammer of {weight} kg is the one that the comment in row {row} names")
        try:
            other = hammer_factor(weight) != hammer_factor(used or _USUAL_HAMMER)
        except InputError as refusal:
            raise refusal.at(read.place(row)) from None
        if other:
            raise InputError(
                f"the comment names a hammer of {weight} kg, but {used or _USUAL_HAMMER} is taken elsewhere; a column "
                "'hammer kg' must say which was used where",
                where=read.place(row),
            )
    return ("" if used == "" else hammer_of(hammer_factor(used))), lambda _: ""


def _by_column(column: Heading, given: str | float) -> Callable[[Line], str]:
    whole = hammer_factor(given) if given != "" else None
    needed = "1 (8 kg hammer) or 2 (4.6 kg hammer)" if column.factor else "8 kg or 4.6 kg"
    above = ""

    def hammer(line: Line) -> str:
        nonlocal above
        word = above = line.cells[column.column] or above
        if not word:
            raise InputError("is missing; it must be 8 kg or 4.6 kg", about="hammer")
        try:
            factor = _BY_FACTOR[word] if column.factor else hammer_factor(word)
        except (KeyError, InputError):
            raise InputError(f"is {quoted(word)}; it must be {needed}", about="hammer") from None
        if whole is not None and factor != whole:
            raise InputError(
                f"is {quoted(word)}, but the hammer given is {quoted(given)}; they must agree", about="hammer"
            )
        return hammer_of(factor)

    return hammer


def _how(
    what: str, entries: Sequence[Entry], values: Sequence[float], column: Heading, given: str, where: str
) -> tuple[str, list[str]]:
    """Return how blows or depths are counted, and what was concluded from the numbers alone.

    A running total never falls, so counts that often do not rise are counts per step, and many that always rise are a
    total. What lies between is refused.
    """
    name = "blows" if what == "blows" else "depths"
    asked = choice(name, given, HOW) if given else ""
    if asked and column.how and asked != column.how:
        raise InputError(
            f"{name} are given as {quoted(asked)}, but the heading {quoted(column.text)} says {quoted(column.how)}; "
            "they must agree",
            where=Place(where),
        )
    if asked or column.how:
        return asked or column.how, []
    steps = list(zip(pairwise(entries), pairwise(values), strict=True))
    rises = [(below.row, after - before) for (above, below), (before, after) in steps if above.drop == below.drop]
    if not rises:  # one reading a drop, which `entry_drops` refuses
        return "per step", []
    flat = [row for row, rise in rises if rise <= 0]
    if flat and len(flat) >= log_rule("share that does not rise") * len(rises):
        return "per step", ([] if what == "blows" else ["The depths do not keep rising: they are taken per step"])
    if not flat and len(rises) + 1 >= log_rule("readings that rise"):
        return "total", [f"The {name} rise in every row: they are taken as a running total"]
    heading = quoted(column.text) if column.text else "the column without a heading"
    row = f" (row {flat[0]} does not rise, nearly all others do)" if flat else ""
    raise InputError(
        f"{heading} does not say whether {name} are counted per step or in total{row}; write 'per step' or 'total' in "
        f"the heading, such as 'total {what}', or say it where the log is named ({name})",
        where=Place(where),
    )
