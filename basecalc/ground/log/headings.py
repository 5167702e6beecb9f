"""What the headings of a log mean: which column holds what, in which unit, counted how."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from basecalc.checks import shown
from basecalc.errors import InputError

HOW: Final = ("per step", "total")
UNITS: Final[Mapping[str, str]] = {
    "mm": "mm", "millimeter": "mm", "millimeters": "mm", "millimetre": "mm", "millimetres": "mm",
    "cm": "cm", "centimeter": "cm", "centimeters": "cm", "centimetre": "cm", "centimetres": "cm",
    "in": "in", "inch": "in", "inches": "in", '"': "in",
    "m": "m", "meter": "m", "meters": "m", "metre": "m", "metres": "m",
    "ft": "ft", "foot": "ft", "feet": "ft",
}  # fmt: skip
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
class Heading:
    """One heading.

    Parameters
    ----------
    column
        Its place, from 0.
    text
        As written.
    kind
        What the column holds; nothing where nobody knows.
    how
        One of `HOW`, where the heading says it.
    unit
        The unit of a depth, where the heading says it.
    factor
        Whether a hammer is given by its factor.
    """

    column: int
    text: str
    kind: str
    how: str = ""
    unit: str = ""
    factor: bool = False


@dataclass(frozen=True, slots=True)
class Columns:
    """Which column of a log holds what.

    Parameters
    ----------
    blows, depth
        The two that every log has.
    hammer, drop, soil
        Others that count; None where the log has none.
    comments
        Columns with comments.
    unused
        Headings of columns that do not count.
    headed
        Whether the log has headings at all.
    """

    blows: Heading
    depth: Heading
    hammer: Heading | None = None
    drop: Heading | None = None
    soil: Heading | None = None
    comments: tuple[Heading, ...] = ()
    unused: tuple[str, ...] = ()
    headed: bool = True


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
    >>> heading(0, "No. of blows").kind, heading(1, "Cumulative penetration (mm)").how
    ('blows', 'total')
    >>> heading(2, "penetration per blow, in").kind, heading(1, "depth in").unit
    ('worked out', 'in')
    """
    plain = text.casefold().replace("_", " ").replace("-", " ")
    words = re.findall(r"[^\W_]+|[#\"%/]", plain)
    found = frozenset(words)
    if "per blow" in plain or re.search(r"/\s*blow", plain):
        return Heading(column, text, "worked out")
    kind = next((name for name, signs in _KINDS if found & signs), "")
    if kind == "depth" and found & _NUMBERED:
        return Heading(column, text, "")
    how = "total" if found & _TOTAL else "per step" if found & _STEP else ""
    if kind == "depth" and not how and found & _ONLY_TOTAL:
        how = "total"
    return Heading(column, text, kind, how, _unit(plain, words) if kind == "depth" else "", "factor" in found)


def _unit(plain: str, words: Sequence[str]) -> str:
    """Return the unit in a heading: in brackets, or a word of its own; 'in' and 'm' only where they come last."""
    bracketed = re.findall(r"[(\[]\s*([^)\]]*?)\s*[)\]]", plain)
    alone = [word for place, word in enumerate(words) if word not in ("in", "m") or place == len(words) - 1]
    return next((UNITS[word] for word in [*bracketed, *alone] if word in UNITS), "")


def columns(first: Sequence[str], where: str) -> Columns:
    """Return which column holds what, by the first row of a log.

    Parameters
    ----------
    first
        Its cells. Where one of them is a number, the log has no headings: then there must be two columns, blows and
        depth in that order.
    where
        The row, for a refusal.

    Raises
    ------
    InputError
        No column of blows or of depth, or two that may be meant.
    """
    if any(re.match(r"[-+]?[.,]?\d", cell) for cell in first):
        if len(first) != 2:
            raise InputError(
                f"the first row, {shown(', '.join(first))}, is no row of headings and has {len(first)} columns; name "
                "the columns, such as: blows, depth mm",
                where=where,
            )
        return Columns(Heading(0, "", "blows"), Heading(1, "", "depth"), headed=False)
    known = [heading(column, text) for column, text in enumerate(first)]
    blows, depth = _one(known, "blows", "per step", where), _one(known, "depth", "total", where)
    single = {kind: [one for one in known if one.kind == kind] for kind in ("hammer", "drop", "soil")}
    for kind, ones in single.items():
        if len(ones) > 1:
            raise InputError(
                f"two columns may hold the {kind}, {shown(ones[0].text)} and {shown(ones[1].text)}; only one may",
                where=where,
            )
    comments = tuple(one for one in known if one.kind == "comment")
    used = {blows, depth, *comments, *(one for ones in single.values() for one in ones)}
    hammer, drop, soil = (next(iter(ones), None) for ones in single.values())
    unused = tuple(one.text for one in known if one not in used and one.text)
    return Columns(blows, depth, hammer, drop, soil, comments, unused)


def _one(known: Sequence[Heading], kind: str, rather: str, where: str) -> Heading:
    """Return the one column of a kind; of two that say how they count, the one that counts as is usual for a log."""
    ones = [one for one in known if one.kind == kind]
    if not ones:
        other = "'blows'" if kind == "blows" else "'depth mm'"
        raise InputError(
            f"no heading names the {kind}, there are {shown(', '.join(one.text for one in known))}; one must say "
            f"{other}",
            where=where,
        )
    best = [one for one in ones if one.how == rather] if len(ones) > 1 else ones
    if len(best) != 1:
        named = best or ones
        raise InputError(
            f"two columns may hold the {kind}, {shown(named[0].text)} and {shown(named[1].text)}; one of them must say "
            f"{shown(rather)}",
            where=where,
        )
    return best[0]
