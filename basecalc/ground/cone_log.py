"""What a cone penetrometer's log says: readings, drops, layers, and the layer that a base is designed for.

What the headings of a log mean: which column holds what, in which unit, counted how.
The rows of one drop become steps from reading to reading, or the sentence for the first row that cannot be one.
Rows of a log that stand in cells, a number or a word each: checked one by one, and put together to drops.
"""

import re
from collections.abc import Container, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import accumulate, pairwise
from math import gcd
from typing import Any, Final

from basecalc.core.errors import BasecalcError, InputError, OutOfRangeError, Place
from basecalc.core.numbers import number, printed, quoted
from basecalc.core.published import table
from basecalc.core.units import SPELLINGS, Measure, to_unit
from basecalc.ground.readings import cone_cbr, hammer_factor
from basecalc.tables.from_csv import Heading, heading_words, kind_of

RULES: Final = "cone_log_rules"


def log_rule(name: str) -> float:
    """Return one of the numbers by which a log is taken."""
    return float(table(RULES).exact(name)["value"])


@dataclass(frozen=True, slots=True)
class Entry:
    """One row of a log as it was written, each of its cells sound by itself."""

    row: int
    depth_mm: float
    blows: float
    hammer: str = ""
    drop: str = ""
    soil: str = ""
    note: str = ""
    factor: float = 1.0  # what a blow of its hammer counts


@dataclass(frozen=True, slots=True)
class Step:
    """From one reading to the next: so many blows drove the cone from here to there, or nowhere at a stone."""

    row: int
    top_m: float
    bottom_m: float
    blows: int
    hammer_factor: float = 1.0
    soil: str = ""
    note: str = ""

    @property
    def mm_per_blow(self) -> float:
        """The index: penetration per blow of the 8 kg hammer [mm/blow]; 0 where the blows did not move the cone."""
        return printed((self.bottom_m - self.top_m) * 1000 * self.hammer_factor / self.blows)


@dataclass(frozen=True, slots=True)
class Drop:
    """One driving of the cone, from the seating reading down."""

    name: str
    steps: tuple[Step, ...]
    ruler_mm: float
    notes: tuple[str, ...] = ()

    @property
    def depth_m(self) -> float:
        """How deep the cone went below the start of the log [m]."""
        return self.steps[-1].bottom_m


@dataclass(frozen=True, slots=True)
class ConeLog:
    """A log as it was read and checked."""

    file: str
    drops: tuple[Drop, ...]
    unit: str
    notes: tuple[str, ...] = ()
    comments: tuple[tuple[int, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Layer:
    """A run of readings of near-constant slope."""

    top_m: float
    bottom_m: float
    first_row: int
    last_row: int
    blows: int
    mm_per_blow: float
    cbr: float
    soil: str
    set_aside: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Profile:
    """A drop with its layers."""

    drop: Drop
    layers: tuple[Layer, ...]
    scatter: float
    remarks: tuple[str, ...]
    step_cbrs: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Design:
    """The layer of a drop that a base is designed for."""

    profile: Profile
    layer: Layer
    zone_m: tuple[float, float]
    how: str
    warnings: tuple[str, ...] = ()

    @property
    def cbr(self) -> float:
        """The bearing ratio to design for [%], before the season is thought of."""
        return self.layer.cbr


HOW: Final = ("per step", "total")
_LENGTHS: Final = {"mm": "millimeter", "cm": "centimeter", "in": "inch", "m": "meter", "ft": "foot"}
UNITS: Final[Mapping[str, str]] = {
    word: unit for unit, name in _LENGTHS.items() for word in SPELLINGS[name].split()
} | {'"': "in"}  # fmt: skip
_TOTAL: Final = frozenset({"total", "cumulative", "cum", "running", "accumulated", "sum"})
_STEP: Final = frozenset(
    {"step", "each", "between", "increment", "incremental", "interval", "since", "difference", "per"}
)
_NUMBERED: Final = frozenset({"no", "nr", "number", "row", "line", "#", "id"})
# In this order: the first that fits is what a column is.
_KINDS: Final[tuple[tuple[str, frozenset[str]], ...]] = (
    ("comment", frozenset({"comment", "comments", "note", "notes", "remark", "remarks"})),
    ("worked out", frozenset({"dpi", "dcpi", "index", "cbr", "rate"})),
    ("blows", frozenset({"blow", "blows"})),
    ("hammer", frozenset({"hammer"})),
    ("soil", frozenset({"soil"})),
    ("depth", frozenset({"depth", "depths", "penetration", "advance", "ruler", "scale", "reading"})),
    ("drop", frozenset({"drop", "test", "hole", "spot", "location", "point", "place"})),
)
_ONLY_TOTAL: Final = frozenset({"depth", "depths", "ruler", "scale", "reading"})


@dataclass(frozen=True, slots=True)
class Columns:
    """Which column of a log holds what."""

    blows: Heading
    depth: Heading
    hammer: Heading | None = None
    drop: Heading | None = None
    soil: Heading | None = None
    comments: tuple[Heading, ...] = ()
    unused: tuple[str, ...] = ()
    headed: bool = True


def heading(column: int, text: str) -> Heading:
    """Return what a heading means."""
    words, bracketed = heading_words(text)
    found = frozenset(words)
    if any(before in ("per", "/") and after.startswith("blow") for before, after in pairwise(words)):
        return Heading(column, text, "worked out")
    kind = kind_of(words, _KINDS)
    if kind == "depth" and found & _NUMBERED:
        return Heading(column, text, "")
    how = "total" if found & _TOTAL else "per step" if found & _STEP else ""
    if kind == "depth" and not how and found & _ONLY_TOTAL:
        how = "total"
    return Heading(column, text, kind, _unit(words, bracketed) if kind == "depth" else "", how, "factor" in found)


def _unit(words: Sequence[str], bracketed: Sequence[str]) -> str:
    """Return the unit in a heading: in brackets, or a word of its own; 'in' and 'm' only where they come last."""
    alone = [word for place, word in enumerate(words) if word not in ("in", "m") or place == len(words) - 1]
    return next((UNITS[word] for word in [*bracketed, *alone] if word in UNITS), "")


def columns(first: Sequence[str], where: Place) -> Columns:
    """Return which column holds what, by the first row of a log."""
    if any(re.match(r"[-+]?[.,]?\d", cell) for cell in first):
        if len(first) != 2:
            raise InputError(
                f"the first row, {quoted(', '.join(first))}, is not a row of headings and has {len(first)} columns; "
                "name the columns, such as: blows, depth mm",
                where=where,
            )
        return Columns(Heading(0, "", "blows"), Heading(1, "", "depth"), headed=False)
    known = [heading(column, text) for column, text in enumerate(first)]
    blows, depth = _one(known, "blows", "per step", where), _one(known, "depth", "total", where)
    single = {kind: [one for one in known if one.kind == kind] for kind in ("hammer", "drop", "soil")}
    for kind, ones in single.items():
        if len(ones) > 1:
            raise InputError(
                f"two columns may hold the {kind}, {quoted(ones[0].text)} and {quoted(ones[1].text)}; only one may",
                where=where,
            )
    comments = tuple(one for one in known if one.kind == "comment")
    used = {blows, depth, *comments, *(one for ones in single.values() for one in ones)}
    hammer, drop, soil = (next(iter(ones), None) for ones in single.values())
    unused = tuple(one.text for one in known if one not in used and one.text)
    return Columns(blows, depth, hammer, drop, soil, comments, unused)


def _one(known: Sequence[Heading], kind: str, rather: str, where: Place) -> Heading:
    """Return the one column of a kind; of two that say how they count, the one that counts as is usual for a log."""
    ones = [one for one in known if one.kind == kind]
    if not ones:
        other = "'blows'" if kind == "blows" else "'depth mm'"
        raise InputError(
            f"no heading names the {kind}, there are {quoted(', '.join(one.text for one in known))}; one must say "
            f"{other}",
            where=where,
        )
    best = [one for one in ones if one.how == rather] if len(ones) > 1 else ones
    if len(best) != 1:
        named = best or ones
        raise InputError(
            f"two columns may hold the {kind}, {quoted(named[0].text)} and {quoted(named[1].text)}; one of them must "
            f"say {quoted(rather)}",
            where=where,
        )
    return best[0]


_NEW_DROP = "; where a new drop begins, a column 'drop' must say so"


@dataclass(frozen=True, slots=True)
class _Made:
    """A reading with the blows and the penetration since the one before, and the depth reached."""

    of: Entry
    blows: float
    advance: float
    bottom: float


def drop_steps(rows: Sequence[Entry], blows_how: str, depth_how: str, name: str) -> Drop:
    """Return one drop, from its seating reading to its last reading or to where the cone no longer went in."""
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
    return Drop(name, steps, printed(ruler), tuple(notes))


def _differences(rows: Sequence[Entry], blows_how: str, depth_how: str) -> tuple[list[_Made], list[str]]:
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
            "the drop has one reading only; it must have a seating reading and at least one more",
            where=Place(row=first),
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
        raise InputError(told, where=Place(row=one.of.row))


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
                raise refusal.at(Place(row=one.of.row)) from None
    least, most = log_rule("least depth"), log_rule("greatest depth")
    traveled = list(accumulate(one.advance for one in made))
    for one, depth in zip(made, traveled, strict=True):
        if depth > most:
            raise OutOfRangeError(
                f"the depth is {depth:g} mm; it must be at most {most:g} mm below the start of the log, so the unit "
                "may be wrong",
                where=Place(row=one.of.row),
            )
    if traveled[-1] < least:
        raise OutOfRangeError(
            f"the drop ends {traveled[-1]:g} mm deep; it must be at least {least:g} mm deep to say anything about "
            "the ground under a base, so the unit may be wrong",
            where=Place(row=made[-1].of.row),
        )


DEPTH: Final = Measure("mm", "in", "mm", 0)
BOTTOM: Final = Measure("m", "in", "mm", 0, 118)  # 3 m, as deep as a log may go
MOST_BLOWS: Final = 10_000
WHOLE_BLOWS: Final = "it must be a whole number of blows"
ASSUMED_HAMMER: Final = "Nothing says which hammer was used: the 8 kg hammer is assumed; the light one counts double"


def blow_count(value: Any) -> float:
    """Return blows as a whole number."""
    held = number("blows", to_unit("blows", value, ""), "", 0, MOST_BLOWS)
    if held != round(held):
        raise InputError(f"blows is {quoted(value)}; {WHOLE_BLOWS}; are the columns of blows and depth swapped?")
    return held


def hammer_word(value: Any) -> str:
    """Return a hammer as it is written, or nothing where the cell is blank."""
    if value is None or value == "":
        return ""
    hammer_factor(value)
    return str(value)


def next_drop(name: str, last: str, seen: Container[str], row: int) -> str:
    """Return the drop that a row belongs to, unless that has ended above."""
    if name in seen and name != last:
        raise InputError(
            f"drop {quoted(name)} starts again behind another one; the rows of a drop must be together",
            where=Place(row=row),
        )
    return name


def entry_drops(
    entries: Sequence[Entry], blows_how: str = "per step", depth_how: str = "total"
) -> tuple[tuple[Drop, ...], tuple[str, ...]]:
    """Return the drops of one spot from its rows, and what was assumed for all of them."""
    factor, name = 0.0, ""
    notes: tuple[str, ...] = ()
    found: dict[str, list[Entry]] = {}
    last = ""
    for one in entries:
        name = one.drop or name
        if one.hammer:
            factor = hammer_factor(one.hammer)
        elif not factor:
            factor, notes = 1.0, (ASSUMED_HAMMER,)
        last = next_drop(name, last, found, one.row)
        found.setdefault(name, []).append(replace(one, depth_mm=round(one.depth_mm, 6), factor=factor))
    drops = []
    for name, rows in found.items():
        try:
            drops.append(drop_steps(rows, blows_how, depth_how, name))
        except BasecalcError as refusal:
            raise (refusal.at(f"drop {name}") if name else refusal) from None
    return tuple(drops), notes
