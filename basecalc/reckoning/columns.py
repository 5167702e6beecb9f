"""Columns of a list become amounts in fixed units, dates and words; a cell that cannot be used is named by its row."""

import re
from collections.abc import Callable, Mapping
from datetime import date, datetime
from typing import Any, Final

import pandas as pd

from basecalc.checks import shown
from basecalc.errors import InputError, OutOfRangeError
from basecalc.ground.log.columns import Faults, Text, numbers
from basecalc.reckoning.headings import UNITS_OF, Heading, unit_word
from basecalc.reckoning.words import plain
from basecalc.units import convert

INSIDE: Final[Mapping[str, str]] = {
    "gross": "kg", "tare": "kg", "net": "kg", "volume": "m3", "crew": "h", "machine": "h", "extra": "m",
}  # fmt: skip
# Beyond these a number is a slip of the pen, or in another unit than its heading says.
MOST: Final[Mapping[str, float]] = {
    "gross": 75_000.0, "tare": 30_000.0, "net": 45_000.0, "volume": 60.0, "crew": 200.0, "machine": 200.0, "extra": 1.0,
}  # fmt: skip
_DATES: Final = (
    (re.compile(r"\d{4}-\d{1,2}-\d{1,2}$"), "%Y-%m-%d"),
    (re.compile(r"\d{1,2}/\d{1,2}/\d{4}$"), "%m/%d/%Y"),
    (re.compile(r"\d{1,2}\.\d{1,2}\.\d{4}$"), "%d.%m.%Y"),
)


def column(frame: pd.DataFrame, known: Mapping[str, Heading], kind: str) -> Text:
    """Return the cells of a kind of column by row; blank ones where the list has no such column.

    Parameters
    ----------
    frame
        The cells.
    known
        The headings, by what their column holds.
    kind
        What it holds.
    """
    return frame[known[kind].column] if kind in known else pd.Series("", frame.index, dtype=str)


def amounts(frame: pd.DataFrame, known: Mapping[str, Heading], kind: str, faults: Faults, *, nought: bool) -> pd.Series:
    """Return a column of amounts in their fixed unit, NaN where a cell is blank.

    Parameters
    ----------
    frame, known
        The cells, and their headings by what the column holds.
    kind
        One of `INSIDE`.
    faults
        Takes what is wrong.
    nought
        Whether 0 is allowed.

    Raises
    ------
    InputError
        Nothing says the unit.
    """
    text = column(frame, known, kind)
    filled = text[text != ""]
    if filled.empty:
        return pd.Series(float("nan"), frame.index)
    title, offered = known[kind], UNITS_OF[kind]
    parts = filled.str.extract(r"^(?P<number>.*?)\s*(?P<unit>[A-Za-z][A-Za-z0-9^ ]*)?$")
    written = parts["unit"].fillna("")
    faults.add((written != "") & (written.map(lambda word: unit_word(kind, word)) == ""), InputError, lambda row: (
        f"{title.text} is {shown(text[row])}; it must be a number, or a number with one of: {', '.join(offered)}"
    ))  # fmt: skip
    weighed = kind in ("gross", "tare", "net")
    beside = column(frame, known, "unit")[filled.index] if weighed else pd.Series("", filled.index, dtype=str)
    faults.add((beside != "") & (beside.map(lambda word: unit_word(kind, word)) == ""), InputError, lambda row: (
        f"unit is {shown(beside[row])}; it must be one of: {', '.join(offered)}"
    ))  # fmt: skip
    own, other = (part.map(lambda word: unit_word(kind, word) if word else "") for part in (written, beside))
    said = pd.DataFrame({"cell": own, "beside": other, "heading": title.unit}, index=filled.index)
    unit = said["cell"].where(own != "", said["beside"].where(other != "", said["heading"]))
    if kind in ("crew", "machine"):
        unit = unit.where(unit != "", "h")
    for one in ("beside", "heading"):
        faults.add((said[one] != "") & (said[one] != unit), InputError, lambda row, one=one: (  # type: ignore[misc]
            f"{title.text} is {shown(text[row])} in {unit[row]}, but the {'column' if one == 'beside' else one} of "
            f"units says {said[one][row]}; they must agree"
        ))  # fmt: skip
    if (unit == "").any() and not (written != "").any() and not (beside != "").any():
        raise InputError(
            f"nothing says the unit of {shown(title.text)}; write it in the heading, such as "
            f"'{title.text} ({offered[0]})'",
            where=faults.where,
        )
    faults.add(
        unit == "",
        InputError,
        lambda row: f"{title.text} is {shown(text[row])}, without a unit; it must be one of: {', '.join(offered)}",
    )
    values = numbers(parts["number"], title.text, "it must be a number", faults)
    inside = values * unit.map(lambda word: convert(1.0, word, INSIDE[kind]) if word else float("nan"))
    faults.add((values < 0) | ((values == 0) & (not nought)), OutOfRangeError, lambda row: (
        f"{title.text} is {shown(text[row])}; it must be {'at least' if nought else 'above'} 0 {unit[row]}"
    ))  # fmt: skip
    faults.add(inside > MOST[kind], OutOfRangeError, lambda row: (
        f"{title.text} is {shown(text[row])} {unit[row] if not written[row] else ''}; it must be at most "
        f"{convert(MOST[kind], INSIDE[kind], unit[row]):,.3g} {unit[row]}; is the unit right?"
    ).replace(" ;", ";"))  # fmt: skip
    return inside.reindex(frame.index)


def dates(text: Text, faults: Faults) -> "pd.Series[Any]":
    """Return a column of dates; None for a blank cell, which is allowed.

    Parameters
    ----------
    text
        The cells: 2026-04-21, 4/21/2026 (month first) or 21.04.2026.
    faults
        Takes what is wrong.
    """
    found = pd.Series([_date(cell) for cell in text], text.index, dtype=object)
    faults.add((text != "") & found.isna(), InputError, lambda row: (
        f"date is {shown(text[row])}; it must be a day such as 2026-04-21, 4/21/2026 or 21.04.2026"
    ))  # fmt: skip
    return found


_NAMING: Final = ("job", "ticket", "date", "material", "work")  # a supplier may be called Total
_TOTAL: Final = re.compile(r"(?:grand |sub[ -]?|job |day )?(?:totals?|sums?)\b[ :.\w-]*", re.IGNORECASE)


def refuse_totals(frame: pd.DataFrame, known: Mapping[str, Heading], faults: Faults) -> None:
    """Note the first row that adds others up, as the last row of a list often does.

    Parameters
    ----------
    frame, known
        The cells, and their headings by what the column holds.
    faults
        Takes what is wrong.
    """
    read = list(dict.fromkeys([0, *(one.column for kind, one in known.items() if kind in _NAMING)]))
    adds = frame[read].apply(lambda cells: cells.str.fullmatch(_TOTAL)).any(axis=1)
    faults.add(adds, InputError, lambda _: "this row is a total of others; leave it out, each row must be one entry")


def _date(written: str) -> date | None:
    cell = re.sub(r"[ T]\d{1,2}:\d{2}.*$", "", written)  # a scale prints the time behind the day
    for pattern, form in _DATES:
        if pattern.match(cell):
            try:
                return datetime.strptime(cell, form).date()
            except ValueError:
                return None
    return None


def words(
    text: Text, name: str, offered: Mapping[str, Any], faults: Faults, told: Callable[[], str], *, needed: bool = True
) -> pd.Series:
    """Return what the words of a column stand for; None where there is a fault or a blank.

    Parameters
    ----------
    text
        The cells.
    name
        What the column is called.
    offered
        What each plain word stands for.
    faults
        Takes what is wrong.
    told
        Gives the words to offer, for a refusal.
    needed
        Whether a blank cell is a fault.
    """
    if needed:
        faults.add(text == "", InputError, lambda _: f"{name} is missing; it must be one of: {told()}")
    flat = text.map(plain)
    faults.add((text != "") & ~flat.isin(list(offered)), InputError, lambda row: (
        f"{name} is {shown(text[row])}; it must be one of: {told()}"
    ))  # fmt: skip
    return flat.map(offered)
