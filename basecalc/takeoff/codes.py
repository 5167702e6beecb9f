"""The plain codes of all quantities: what each is, its units, and which line of the client's it joins."""

import tomllib
from collections.abc import Mapping
from dataclasses import MISSING, dataclass, fields
from functools import cache
from importlib.resources import files
from types import MappingProxyType
from typing import Any, Final, Literal, get_args

from basecalc.checks import choice
from basecalc.tables import TRUST, TableError, sources

Kind = Literal["material", "haul", "work", "time"]

# The first unit of a pair is US, the second metric; a count has no other.
_UNITS: Final = frozenset(
    {("ft2", "m2"), ("yd3", "m3"), ("ft", "m"), ("ton", "t"), ("load",), ("roll",), ("bag",), ("h",)}
)
WHOLE_UNITS: Final = frozenset({"load", "roll", "bag"})


@dataclass(frozen=True, slots=True)
class Scope:
    """A line of the client's: its key, its title, and what it promises."""

    scope: str
    title: str
    text: str


@dataclass(frozen=True, slots=True)
class Code:
    """A quantity that is priced.

    Parameters
    ----------
    code
        Its plain code.
    title
        What it is.
    kind
        'material', 'haul', 'work' or 'time'.
    scope
        The client's line it joins; nothing for time, which joins the line of the work it is for.
    units
        The units it may be priced in, the US one first.
    taxable_default
        Whether it is taxed where the owner has not said.
    must_be_priced
        Whether the quantity needs a price of its own; work may go through crew and machine hours instead.
    also_priced_by
        Other units that a load may be priced by: its weight, its loose volume, the hours it takes.
    """

    code: str
    title: str
    kind: Kind
    scope: str
    units: tuple[str, ...]
    taxable_default: bool
    must_be_priced: bool
    also_priced_by: tuple[str, ...] = ()

    def unit(self, system: str) -> str:
        """Return the unit for 'us' or 'metric'."""
        return self.units[-1 if choice("units", system, ("us", "metric")) == "metric" else 0]

    @property
    def whole(self) -> bool:
        """Whether it is counted in whole pieces: loads, rolls, bags."""
        return self.units[0] in WHOLE_UNITS


@cache
def _catalogue() -> tuple[Mapping[str, Code], Mapping[str, Scope]]:
    return check(tomllib.loads((files("basecalc") / "data" / "quantity_codes.toml").read_text("utf-8")))


def codes() -> Mapping[str, Code]:
    """Return every code, in the order of the work.

    Examples
    --------
    >>> codes()["dig"].units
    ('yd3', 'm3')
    """
    return _catalogue()[0]


def scopes() -> Mapping[str, Scope]:
    """Return every line of the client's, in the order of the work.

    Examples
    --------
    >>> scopes()["dig"].title
    'Dig out'
    """
    return _catalogue()[1]


def code(key: str) -> Code:
    """Return the entry of one code.

    Parameters
    ----------
    key
        The code, in any case.

    Raises
    ------
    InputError
        No such code.

    Examples
    --------
    >>> code("Base-Stone").kind
    'material'
    """
    return codes()[choice("code", key, tuple(codes()))]


def check(raw: Mapping[str, Any]) -> tuple[Mapping[str, Code], Mapping[str, Scope]]:
    """Return the catalogue that a parsed file describes, or refuse it.

    Raises
    ------
    TableError
        A missing or double key, an unknown kind, line, unit, source or trust, or a line without a code.
    """
    _require(raw.get("source") in sources() and raw.get("trust") in TRUST, "its source or trust is unknown")
    lines = {line.scope: line for line in (Scope(**_row(Scope, row)) for row in raw["scopes"])}
    entries = {}
    for row in raw["codes"]:
        also = tuple(row.get("also_priced_by", ()))
        entry = Code(**{**_row(Code, row), "units": tuple(row["units"]), "also_priced_by": also})
        name = entry.code
        _require(name not in entries, f"{name} stands twice")
        _require(name == name.casefold().strip() and name.replace("-", "").isalpha(), f"{name!r} is no plain code")
        _require(entry.kind in get_args(Kind), f"{name}: kind {entry.kind!r} is unknown")
        _require(entry.units in _UNITS, f"{name}: units {entry.units} are unknown")
        _require(not also or entry.kind == "haul", f"{name}: only a haul has other measures")
        _require(entry.scope == "" if entry.kind == "time" else entry.scope in lines, f"{name}: line {entry.scope!r}")
        _require(entry.must_be_priced == (entry.kind != "work"), f"{name}: only work may go without a price of its own")
        entries[name] = entry
    _require(len(lines) == len(raw["scopes"]), "a line stands twice")
    _require(set(lines) <= {entry.scope for entry in entries.values()}, "a line has no code")
    return MappingProxyType(entries), MappingProxyType(lines)


def _row(kind: type[Scope | Code], row: Mapping[str, Any]) -> Mapping[str, Any]:
    wanted = {field.name: field.type for field in fields(kind) if field.name in row or field.default is MISSING}
    _require(sorted(row) == sorted(wanted), f"row {dict(row)} does not have the keys {list(wanted)}")
    for key, value in row.items():
        right = bool if wanted[key] is bool else list if key in ("units", "also_priced_by") else str
        _require(isinstance(value, right), f"row {dict(row)}: {key} is not a {right.__name__}")
    return row


def _require(holds: bool, otherwise: str) -> None:
    if not holds:
        raise TableError(f"quantity_codes.toml: {otherwise}")
