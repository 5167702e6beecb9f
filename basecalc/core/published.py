"""Published tables as printed, each with its source and how far it is trusted; the ways of looking them up."""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache, cached_property
from math import inf
from pathlib import Path
from typing import Any, Final, Literal

from basecalc.core.errors import InputError
from basecalc.core.numbers import number, quoted

DATA: Final = Path(__file__).parent.parent / "data"


@dataclass(frozen=True, slots=True)
class Working:
    """A named value on the way to a result, so that a sheet can show why the result is what it is."""

    name: str
    value: float | str
    unit: str = ""
    note: str = ""


Cell = float | str | bool
Trust = Literal["read", "digitized", "memory", "computed", "practice", "own"]

TRUST: Final[Mapping[str, str]] = {
    "read": "read in the source's own text",
    "digitized": "read in a third-party digitization of the named manual",
    "memory": "from memory of the source",
    "computed": "follows from the stated formula",
    "practice": "common practice, no source",
    "own": "basecalc's own choice, no source",
}
_RULES: Final = {
    "from": "from ≤ value < below: a value on a boundary belongs to the later row",
    "up_to": "above < value ≤ up_to: a value on a boundary belongs to the earlier row",
    "exact": "the row with that very key",
}
_UNITS: Final = frozenset({
    "", "text", "class", "yes/no", "in", "ft", "ft2", "mm", "mm/blow", "m", "tsf", "kPa", "kN", "psi", "lb", "%",
    "share", "blows", "passes", "ESAL", "ton/yd3", "lb/yd3", "pcf", "loose/bank", "compacted/bank", "loose/compacted",
})  # fmt: skip


@dataclass(frozen=True, slots=True)
class Source:
    """A publication: its short key, what it is, its edition."""

    key: str
    title: str
    edition: str

    def __str__(self) -> str:
        return f"{self.title}, {self.edition}" if self.edition else self.title


@dataclass(frozen=True)
class Table:
    """A table as printed: where it was printed, the unit of each column, its rows, and how it is looked up."""

    key: str
    title: str
    source: Source
    place: str
    trust: Trust
    rule: str
    columns: Mapping[str, str]
    rows: tuple[Mapping[str, Cell], ...]
    note: str

    @property
    def cited(self) -> str:
        """The source as a sheet prints it: publication, place, and how far it is trusted."""
        return ", ".join(part for part in (str(self.source), self.place, f"[{self.trust}]") if part)

    def exact(self, key: str) -> Mapping[str, Cell]:
        """Return the row whose first column is this word."""
        row = self._by_word.get(" ".join(str(key).split()).casefold())
        if row is not None:
            return row
        first = next(iter(self.columns))
        raise InputError(f"{first} is {quoted(key)}; it must be one of: {', '.join(self.keys())}")

    @cached_property
    def _by_word(self) -> Mapping[str, Mapping[str, Cell]]:
        first = next(iter(self.columns))
        return {str(row[first]).casefold(): row for row in reversed(self.rows)}

    def keys(self) -> list[str]:
        """Return the words of the first column, in the order printed."""
        first = next(iter(self.columns))
        return [str(row[first]) for row in self.rows]

    def band(self, name: str, value: float) -> Mapping[str, Cell]:
        """Return the row whose band holds the value, by the table's rule for boundaries."""
        low, high = ("from", "below") if self.rule == "from" else ("above", "up_to")
        number(name, value, self.columns[low], float(self.rows[0][low]), float(self.rows[-1][high]), why=self.cited)
        for row in self.rows:
            if (value < float(row[high])) if self.rule == "from" else (value <= float(row[high])):
                return row
        return self.rows[-1]  # its very end


class TableError(Exception):
    """A data file of the package itself is wrong: a fault of ours, never of a user."""


@cache
def sources() -> Mapping[str, Source]:
    """Return every publication cited, by key."""
    raw = tomllib.loads((DATA / "sources.toml").read_text("utf-8"))
    return {key: Source(key, entry["title"], entry.get("edition", "")) for key, entry in raw.items()}


@cache
def table(key: str) -> Table:
    """Return the table in ``data/<key>.toml``, checked; a second one in the same file is ``<key>/<its name>``."""
    file, _, part = key.partition("/")
    raw = tomllib.loads((DATA / f"{file}.toml").read_text("utf-8"))
    return check(key, raw[part] if part else raw)


def check(key: str, raw: Mapping[str, Any]) -> Table:
    """Return the table that a parsed file describes, or refuse it: gaps, disorder, unknown sources or units."""
    try:
        source = sources()[raw["source"]]
        columns, rows = dict(raw["columns"]), tuple(dict(row) for row in raw["rows"])
        place, trust, rule, title = raw.get("place", ""), raw["trust"], raw["rule"], raw["title"]
    except KeyError as missing:
        raise TableError(f"{key}.toml: {missing} is missing or is not a source in sources.toml") from None
    _require(key, trust in TRUST, f"trust {trust!r} is not one of {sorted(TRUST)}")
    _require(key, rule in _RULES, f"rule {rule!r} is not one of {sorted(_RULES)}")
    _require(key, bool(rows), "it has no rows")
    for unit in columns.values():
        _require(key, unit in _UNITS, f"unit {unit!r} is unknown")
    for row in rows:
        _require(key, list(row) == list(columns), f"row {row} does not have the columns {list(columns)}")
    if rule == "exact":
        first = [str(row[next(iter(columns))]).casefold() for row in rows]
        _require(key, len(set(first)) == len(first), "a key is listed twice")
    else:
        _check_bands(key, rule, rows)
    return Table(key, title, source, place, trust, rule, columns, rows, raw.get("note", ""))


def _check_bands(key: str, rule: str, rows: tuple[Mapping[str, Cell], ...]) -> None:
    low, high = ("from", "below") if rule == "from" else ("above", "up_to")
    end = -inf
    for position, row in enumerate(rows):
        start, stop = float(row[low]), float(row[high])
        _require(key, position == 0 or start == end, f"there is a gap or an overlap at {start:g}")
        _require(key, start < stop, f"band {start:g} to {stop:g} is upside down")
        end = stop


def _require(key: str, holds: bool, otherwise: str) -> None:
    if not holds:
        raise TableError(f"{key}.toml: {otherwise}")
