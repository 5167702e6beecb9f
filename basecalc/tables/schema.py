"""A table is declared once: its fields with their units, limits and help, whatever it is read from or written to.

A field reads one value, of a cell, of a key of a job file or of a list, and refuses it with its key. Nothing here needs
more than Python itself.
"""

import datetime as dt
import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import MISSING, dataclass, fields, replace
from difflib import get_close_matches
from types import NoneType, SimpleNamespace
from typing import Any, Final, Protocol, get_args, get_type_hints

from basecalc.core.errors import BasecalcError, InputError, OutOfRangeError, Place
from basecalc.core.numbers import choice, meant_share, quoted, words
from basecalc.core.units import UNIT

Row = SimpleNamespace
YES_NO: Final[tuple[str, ...]] = ("yes", "no")
SHARE: Final = "share"


class Kind(Protocol):
    """What a field holds: how a value of it is read, and the unit of a plain number."""

    def unit(self, units: str) -> str:
        """Return the unit of a plain number in the 'us' or the 'metric' edition."""
        ...

    def read(self, name: str, value: Any, unit: str) -> Any:
        """Return the value as it is kept, or refuse it by its name."""
        ...


class _WithoutUnit:
    def unit(self, _units: str) -> str:
        """Return no unit."""
        return ""


@dataclass(frozen=True, slots=True)
class Text(_WithoutUnit):
    """Words on one line; a number is taken as its digits."""

    longest: int = 200
    lower: bool = False

    def read(self, name: str, value: Any, _unit: str) -> str:
        """Return the words; nothing where there are none and none are needed."""
        if isinstance(value, bool) or not (value is None or isinstance(value, str | int | float)):
            raise InputError(f"is {quoted(value)}; it must be text", about=name)
        if isinstance(value, int | float) and not abs(value) < 1e200:  # nor nan
            raise InputError(f"is {quoted(value)}; it must be text, in quotation marks", about=name)
        given = "" if value is None else f"{value:.15g}" if isinstance(value, float) else str(value)
        if odd := next((letter for letter in given if not letter.isprintable() and letter in _CONTROL), ""):
            raise InputError(f"holds the control character U+{ord(odd):04X}; it must be plain text", about=name)
        line = " ".join(given.split())
        if not line:
            raise InputError("is missing; it must be text", about=name)
        if len(line) > self.longest:
            raise OutOfRangeError(
                f"has {len(line)} characters; it must be at most {self.longest} characters", about=name
            )
        return line.casefold() if self.lower else line


# No spreadsheet file can hold these.
_CONTROL: Final = frozenset(
    map(chr, (*range(0x09), 0x0B, 0x0C, *range(0x0E, 0x20), 0x7F, *range(0xD800, 0xE000), 0xFFFE, 0xFFFF))
)


@dataclass(frozen=True, slots=True)
class Words(_WithoutUnit):
    """One of the words offered, whatever its case and spacing."""

    offers: tuple[str, ...]

    def read(self, name: str, value: Any, _unit: str) -> str:
        """Return the word as it is offered."""
        return choice(name, value, self.offers)


@dataclass(frozen=True, slots=True)
class YesNo(_WithoutUnit):
    """Yes or no, true or false."""

    offers: tuple[str, ...] = YES_NO

    def read(self, name: str, value: Any, _unit: str) -> bool:
        """Return whether it is yes."""
        return value if isinstance(value, bool) else choice(name, value, YES_NO) == "yes"


@dataclass(frozen=True, slots=True)
class Day(_WithoutUnit):
    """A date within two others; as text only where `written`."""

    first: dt.date
    last: dt.date = dt.date.max
    written: bool = True

    def read(self, name: str, value: Any, _unit: str) -> dt.date:
        """Return the day."""
        day = value.date() if isinstance(value, dt.datetime) else value
        if self.written and isinstance(day, str):
            try:
                day = dt.date.fromisoformat(day.strip())
            except ValueError:
                day = None
        if not isinstance(day, dt.date):
            form = " such as 2025-04-30" if self.written else ", entered as a date and not as text or a number"
            raise InputError(f"is {quoted(value)}; it must be a date{form}", about=name)
        if not self.first <= day <= self.last:
            allowed = f"{self.first} or later" if self.last == dt.date.max else f"from {self.first} to {self.last}"
            raise OutOfRangeError(f"is {day}; it must be {allowed}", about=name)
        return day


@dataclass(frozen=True, slots=True)
class By(_WithoutUnit):
    """What a function of the name and the value makes of it."""

    reads: Callable[[str, Any], Any]
    offers: tuple[str, ...] = ()

    def read(self, name: str, value: Any, _unit: str) -> Any:
        """Return what the function makes of the value."""
        return self.reads(name, value)


@dataclass(frozen=True, slots=True)
class Each(_WithoutUnit):
    """A list of so many things of a kind."""

    of: "Kind | Table | Each"
    least: int = 0
    most: int = 10_000
    single: bool = False  # one thing may be given without the list


@dataclass(frozen=True, slots=True)
class Inner(_WithoutUnit):
    """A table of its own under one key, named in a refusal by `within` where that says more than its key."""

    table: "Table"
    within: str = ""


@dataclass(frozen=True, slots=True)
class Field:
    """One field of a table.

    Parameters
    ----------
    key
        What it is called in data: a job file, a mapping, `field` of a refusal.
    label
        What people call it: heading of its column, first words of a refusal. The key in words if left out.
    kind
        What it holds; a `basecalc.core.units.Measure` for a number with its units and limits.
    help
        What to fill in, in a sentence.
    needed
        Whether it must be filled in; `blank` is taken where it need not.
    blank
        What an empty one is.
    into
        What the record calls it, the key if left out; nothing is handed on for "-".
    format
        How its cells look.
    offers
        What a drop-down offers, where the kind does not say: words, or the name of a list of the workbook.
    optional
        Whether a sheet may lack the column.
    formerly
        What people called it in older workbooks, which are still read.
    """

    key: str
    label: str = ""
    kind: Any = Text()
    help: str = ""
    needed: bool = True
    blank: Any = None
    into: str = ""
    format: str = "general"
    offers: tuple[str, ...] | str = ()
    optional: bool = False
    formerly: tuple[str, ...] = ()

    @property
    def name(self) -> str:
        """What people call it."""
        return self.label or words(self.key)

    @property
    def names(self) -> frozenset[str]:
        """What a workbook of any age calls it, in lower case."""
        return frozenset(name.casefold() for name in (self.name, *self.formerly))

    @property
    def record_name(self) -> str:
        """What the record calls it."""
        return self.into or self.key

    @property
    def choices(self) -> tuple[str, ...] | str:
        """What a drop-down offers."""
        return self.offers or tuple(getattr(self.kind, "offers", ()))

    def unit(self, units: str) -> str:
        """Return the unit of a plain number in the 'us' or the 'metric' edition."""
        return str(self.kind.unit(units))

    def heading(self, units: str) -> str:
        """Return the heading of its column, its unit in brackets."""
        unit = sheet_unit(self.unit(units))
        return f"{self.name} [{unit}]" if unit else self.name

    def read(self, value: Any, unit: str = "", *, name: str = "", sure: bool | None = None) -> Any:
        """Return the value as the record keeps it; `sure` says whether an unusual share is meant, if anybody can."""
        if not self.needed and is_blank(value):
            return self.blank
        try:
            result = self.kind.read(name or self.name, value, unit)
            if unit == SHARE:
                signed = isinstance(value, str) and "%" in value
                result = meant_share(name or self.name, result, sure=bool(sure) or signed, beside=sure is not None)
        except BasecalcError as refusal:
            raise refusal.at("", field=UNIT if refusal.field == UNIT else self.key) from None
        return result


def declared(record: type) -> tuple[Field, ...]:
    """Return the fields that a record declares beside its attributes, in their order.

    What has a default there, or may be None, need not be filled in.
    """
    hints, found = get_type_hints(record, include_extras=True), []
    for one in fields(record):
        for note in getattr(hints[one.name], "__metadata__", ()):
            if one.default is not MISSING:
                found.append(replace(note, into=one.name, needed=False, blank=one.default))
            else:
                needed = note.needed and NoneType not in get_args(get_args(hints[one.name])[0])
                found.append(replace(note, into=one.name, needed=needed))
    return tuple(found)


def is_blank(value: Any) -> bool:
    """Return whether nothing is filled in."""
    return value is None or (isinstance(value, str) and not value.strip())


_HEADING: Final = re.compile(r"(?P<label>[^\[(]*)(?:[\[(](?P<unit>[^\])]*)[\])])?\s*$")


def heading_parts(text: str) -> tuple[str, str]:
    """Return the label of a heading, in lower case, and the unit in its brackets; nothing for what is not a heading.

    Examples
    --------
    >>> heading_parts("Loose density [ton/yd3]"), heading_parts("name")
    (('loose density', 'ton/yd3'), ('name', ''))
    """
    match = _HEADING.match(" ".join(text.split()))
    return (match["label"].strip().casefold(), (match["unit"] or "").strip()) if match else ("", "")


def sheet_unit(unit: str) -> str:
    """Return how a sheet spells a unit: a share is shown in percent."""
    return "%" if unit == SHARE else unit


def shares_unit(spelled: str) -> str:
    """Return the unit of a share as it is held, however a sheet spells it; the number itself is 0.12 for 12 %."""
    return SHARE if spelled in (SHARE, "%") else spelled


@dataclass(frozen=True, slots=True)
class Table:
    """A table of fields, and what becomes of a row of it.

    Parameters
    ----------
    key
        What it is called in data.
    fields
        Its fields; the first one names a row of an owner's table.
    record
        What is made of a row, from its values by name; what it refuses is blamed on the field `blame`.
    name, title, help
        Its name in a workbook, its title and its help on the sheet.
    free_rows
        Empty rows below those filled in.
    """

    key: str
    fields: tuple[Field, ...]
    record: Callable[..., Any] = Row
    name: str = ""
    title: str = ""
    help: str = ""
    free_rows: int = 3
    blame: str = ""

    def field(self, key: str) -> Field:
        """Return the field with this key."""
        return next(one for one in self.fields if one.key == key)

    @property
    def keys(self) -> tuple[str, ...]:
        """The keys of its fields, in their order."""
        return tuple(one.key for one in self.fields)

    def row(
        self, cells: Mapping[str, Any], place: Callable[[str], Place], units: str = "us",
        unit_of: Mapping[str, str] | None = None, kind: type[BasecalcError] | None = None,
    ) -> tuple[Any, list[BasecalcError]]:  # fmt: skip
        """Return the record of a row, or None and everything wrong with it, each with its field and its place."""
        spelled = unit_of or {}
        values: dict[str, Any] = {}
        wrong: list[BasecalcError] = []
        sure = None
        for field in sorted(self.fields, key=lambda one: one.key != "sure"):  # the shares of a row ask it
            try:
                value = field.read(cells.get(field.key), spelled.get(field.key, field.unit(units)), sure=sure)
            except BasecalcError as refusal:
                wrong.append(refusal.changed(kind, where=place(field.key)))
                continue
            if field.into != "-":
                values[field.record_name] = value
            if field.key == "sure":
                sure = value
        if wrong:
            return None, wrong
        try:
            return self.record(**values), []
        except BasecalcError as refusal:
            return None, [refusal.changed(kind, where=place(self.blame), field=self.blame)]


def unknown_key(key: str, known: Iterable[str]) -> str:
    """Return the sentence for a key that a table does not have, with the one that was most likely meant."""
    names = sorted(known)
    near = get_close_matches(key.casefold().replace("-", "_").replace(" ", "_"), names, 1, 0.5)
    hint = f"did you mean {quoted(near[0])}?" if near else f"the keys here are: {', '.join(names)}"
    return f"there is no key {quoted(key)}; {hint}"
