"""The plain codes of all quantities: what each is, its units, which line of the client's it joins; units of prices."""

import tomllib
from collections.abc import Mapping
from dataclasses import MISSING, dataclass, fields
from datetime import date
from decimal import Decimal
from functools import cache
from importlib.resources import files
from types import MappingProxyType
from typing import Any, Final, Literal, get_args

from basecalc.core.errors import InputError, OutOfRangeError
from basecalc.core.numbers import choice, digits, quoted
from basecalc.core.published import TRUST, TableError, sources, table
from basecalc.core.units import COUNTED_UNITS, PRICE_UNITS, convert, written

Kind = Literal["material", "haul", "work", "time"]

# The first unit of a pair is US, the second metric; a count has no other.
_UNITS: Final = frozenset(
    {("ft2", "m2"), ("yd3", "m3"), ("ft", "m"), ("ton", "t"), ("load",), ("roll",), ("bag",), ("h",)}
)
WHOLE_UNITS: Final = COUNTED_UNITS - {"lump", "day"}


@dataclass(frozen=True, slots=True)
class Scope:
    """A line of the client's: its key, its title, and what it promises."""

    scope: str
    title: str
    text: str


@dataclass(frozen=True, slots=True)
class Code:
    """A quantity that is priced."""

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
        known = system if system in ("us", "metric") else choice("units", system, ("us", "metric"))
        return self.units[-1 if known == "metric" else 0]

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

    Examples
    --------
    >>> code("Base-Stone").kind
    'material'
    """
    return codes().get(key) or codes()[choice("code", key, tuple(codes()))]


def check(raw: Mapping[str, Any]) -> tuple[Mapping[str, Code], Mapping[str, Scope]]:
    """Return the catalogue that a parsed file describes, or refuse it."""
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


HIGHEST_PRICE: Final = 1_000_000


def units_like(unit: str) -> tuple[str, ...]:
    """Return the units a price may have where the quantity has this one: the same, or of the same dimension.

    Examples
    --------
    >>> units_like("ton"), units_like("load")
    (('ton', 't', 'lb', 'kg'), ('load',))
    """
    return tuple(other for other in PRICE_UNITS if _same_dimension(unit, other))


@cache
def _same_dimension(unit: str, other: str) -> bool:
    if unit == other or COUNTED_UNITS & {unit, other}:
        return unit == other  # a bag is a measure to pint; here it is a bag of whatever is in it
    try:
        convert(1.0, unit, other)
    except InputError:
        return False
    return True


def unit_price(name: str, value: Any) -> Decimal:
    """Return a unit price as it is charged: not below 0, with every digit that was typed.

    Examples
    --------
    >>> unit_price("unit price", 24.8), unit_price("unit price", "$1,250.00")
    (Decimal('24.8'), Decimal('1250'))
    """
    needed = f"it must be a number from 0 to {HIGHEST_PRICE:,} ($)"
    if value is None or (isinstance(value, str) and not value.strip()):
        raise InputError(f"is missing; {needed}, and 0 only where you mean 0", about=name)
    found = written(value) if isinstance(value, str) else (value, "")
    if found is None or found[1] not in ("", "$") or isinstance(value, bool) or not isinstance(found[0], int | float):
        raise InputError(f"is {quoted(value)}; {needed}", about=name)
    if not 0 <= found[0] <= HIGHEST_PRICE:
        raise OutOfRangeError(f"is {quoted(value)}; {needed}", about=name)
    return Decimal(f"{found[0]:.12g}")  # noise of the cell goes, digits stay: a price above 0 never becomes 0


_KEEP: Final = "write yes under 'sure?' to keep it"


def require_plausible(name: str, code: str, unit: str, price: Decimal) -> None:
    """Refuse a unit price outside the band of what it is for: a wrong unit, a date, cents for dollars.

    Examples
    --------
    >>> require_plausible("unit price", "base-stone", "ton", Decimal("24.80"))
    """
    for band in table("price_bands").rows:
        of = str(band["unit"])
        if band["code"] != code or price == 0 or not _same_dimension(of, unit):
            continue
        per_unit = float(price) / convert(1.0, unit, of) if of != unit else float(price)
        if not float(band["low"]) <= per_unit <= float(band["high"]):
            so = f", which is ${digits(per_unit)} a {of}" if of != unit else ""
            low, high = (digits(float(band[end])) for end in ("low", "high"))
            raise OutOfRangeError(
                f"{name} of {code} is ${digits(float(price))} a {unit}{so}; expected is from ${low} to ${high} a {of}: "
                f"correct the price or its unit, or {_KEEP}"
            )
        return


def require_past(name: str, day: date, today: date) -> None:
    """Refuse the day of a price that lies far ahead: such a price would never grow old."""
    most = int(float(table("price_bands").exact("rule days")["high"]))
    if (day - today).days > most:
        raise OutOfRangeError(
            f"{name} is {day}, {(day - today).days:,} days ahead; it must be at most {most} days ahead of today: "
            f"correct it, or {_KEEP}"
        )


def require_near(name: str, code: str, price: float, older: float, unit: str) -> None:
    """Refuse a unit price far from that of an older price list."""
    band = table("price_bands").exact("rule factor")
    most = float(band["high"])
    if older > 0 and not float(band["low"]) <= price / older <= most:
        raise OutOfRangeError(
            f"{name} of {code} is ${digits(price)} a {unit}, and ${digits(older)} in the older price list; expected is "
            f"at most {digits(most)} times as much or as little: correct the price or its unit, or {_KEEP}"
        )
