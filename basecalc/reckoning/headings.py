"""What the headings of a list of tickets, hours or results mean: which column holds what, and in which unit."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from basecalc.checks import shown
from basecalc.errors import InputError
from basecalc.takeoff.owner import price_unit

HOLDS: Final = (
    "columns of tickets (job, material, net weight), of hours (job, work, crew hours) or of results (job, result)"
)
# In this order: the first that fits is what a column is.
_KINDS: Final[tuple[tuple[str, frozenset[str]], ...]] = (
    ("comment", frozenset({"comment", "comments", "note", "notes", "remark", "remarks"})),
    ("date", frozenset({"date", "day"})),
    ("gross", frozenset({"gross"})),
    ("tare", frozenset({"tare", "empty"})),
    ("extra", frozenset({"extra", "deeper"})),
    ("volume", frozenset({"volume"})),
    ("net", frozenset({"net", "weight", "mass"})),
    ("price", frozenset({"price", "charged", "invoiced"})),
    ("unit", frozenset({"unit", "units"})),
    ("ticket", frozenset({"ticket", "slip", "docket"})),
    ("checked", frozenset({"checked", "cleared"})),
    ("result", frozenset({"result", "outcome"})),
    ("built", frozenset({"built", "option"})),
    ("material", frozenset({"material", "product"})),
    ("kind", frozenset({"kind", "way"})),
    ("work", frozenset({"work", "task"})),
    ("supplier", frozenset({"supplier", "quarry", "pit"})),
    ("truck", frozenset({"truck", "vehicle"})),
    ("job", frozenset({"job", "quote", "project"})),
)
# What a plain number of a column may be in.
UNITS_OF: Final[Mapping[str, tuple[str, ...]]] = {
    "gross": ("ton", "t", "lb", "kg"), "tare": ("ton", "t", "lb", "kg"), "net": ("ton", "t", "lb", "kg"),
    "volume": ("yd3", "m3", "ft3"), "crew": ("h",), "machine": ("h",), "extra": ("in", "mm"),
}  # fmt: skip
_DEPTHS: Final = {"in": "in", "inch": "in", "inches": "in", "mm": "mm"}
_TIMES: Final = frozenset({"day", "days", "minute", "minutes", "min", "week", "weeks"})
_HOURS: Final = frozenset({"hours", "hrs"})
_HOUR: Final = _HOURS | {"h", "hr", "hour"}  # with the word crew or machine beside it
_WHOSE: Final = frozenset({"crew", "machine"})
_BESIDE: Final = _WHOSE | _HOUR | {"time", "work", "worked", "spent", "total"}
_PEOPLE: Final = frozenset({"man", "men", "person", "people", "labor", "worker", "workers"})


@dataclass(frozen=True, slots=True)
class Heading:
    """One heading: its place from 0, its text, what the column holds, and the unit it says."""

    column: int
    text: str
    kind: str
    unit: str = ""


def unit_word(kind: str, word: str) -> str:
    """Return the unit that a word stands for in a kind of column; nothing where it is none of its units.

    Parameters
    ----------
    kind
        What the column holds.
    word
        As written.

    Examples
    --------
    >>> unit_word("net", "short tons"), unit_word("net", "yd3"), unit_word("extra", "inches")
    ('ton', '', 'in')
    """
    plain = " ".join(word.split()).casefold()
    unit = _DEPTHS.get(plain, "") if kind == "extra" else price_unit(plain) or ""
    return unit if unit in UNITS_OF.get(kind, ()) else ""


def heading(column: int, text: str) -> Heading:
    """Return what a heading means.

    Parameters
    ----------
    column
        Its place, from 0.
    text
        As written.

    Examples
    --------
    >>> heading(3, "Net weight (short tons)"), heading(0, "job no.").kind
    (Heading(column=3, text='Net weight (short tons)', kind='net', unit='ton'), 'job')
    """
    plain = text.casefold().replace("_", " ").replace("-", " ")
    bracketed = re.findall(r"[(\[]\s*([^)\]]*?)\s*[)\]]", plain)
    words = re.findall(r"[^\W_]+", plain)
    kind = _hours_of(set(words), text)
    if kind is None:
        kind = next((name for name, signs in _KINDS if set(words) & signs), "")
    last = [" ".join(words[-2:]), words[-1]] if words else []
    unit = next((found for word in (*bracketed, *last) if (found := unit_word(kind, word))), "")
    if kind in UNITS_OF and bracketed and bracketed[0] and not unit:
        offered = ", ".join(UNITS_OF[kind])
        raise InputError(
            f"the heading {shown(text)} names the unit {shown(bracketed[0])}; it must be one of: {offered}"
        )
    return Heading(column, text, kind, unit)


def _hours_of(words: set[str], text: str) -> str | None:
    """Return whose hours a heading counts; nothing where it names a crew or machine but not hours; None for others."""
    counts = bool(words & _HOURS or (words & _WHOSE and words & _HOUR))
    if words & _WHOSE and words & _TIMES:
        raise InputError(f"the heading {shown(text)} does not count hours; it must be hours")
    if counts and words & _PEOPLE:
        raise InputError(
            f"the heading {shown(text)} counts the hours of each person; it must be crew hours, the hours the whole "
            "crew worked"
        )
    if counts and words <= _BESIDE:
        return "machine" if "machine" in words else "crew"
    return "" if counts or words & (_WHOSE | _PEOPLE) else None


def headings(first: Sequence[str], where: str) -> dict[str, Heading]:
    """Return the columns of a list by what they hold; those that nobody knows by their text behind a '?'.

    Parameters
    ----------
    first
        The cells of its first row.
    where
        The row, for a refusal.

    Raises
    ------
    InputError
        The row names no list that is known, or two columns may hold the same.
    """
    found: dict[str, Heading] = {}
    for column, text in enumerate(first):
        try:
            one = heading(column, text)
        except InputError as refusal:
            raise refusal.at(where) from None
        if not one.kind:
            found[f"?{text}"] = one
        elif one.kind in found and one.kind != "comment":
            raise InputError(
                f"two columns may hold the {one.kind}, {shown(found[one.kind].text)} and {shown(text)}; only one may",
                where=where,
            )
        else:
            found[one.kind] = one
    if not found.keys() & {"result", "material", "work"}:
        raise InputError(f"the headings are {shown(', '.join(first))}; they must name {HOLDS}", where=where)
    if "material" in found and not found.keys() & {"net", "gross"}:
        raise InputError("no heading names the net weight; one must say it, such as 'net (ton)'", where=where)
    if "work" in found and not found.keys() & {"crew", "machine"}:
        other = next((one.text for one in found.values() if set(one.text.casefold().split()) & _WHOSE), "")
        more = f"; {shown(other)} may be how many there were, or which" if other else ""
        raise InputError(f"no heading names hours; one must say 'crew hours' or 'machine hours'{more}", where=where)
    return found
