"""Columns of text cells become numbers, whole columns at a time; the first cell that is none is named by its row."""

from collections.abc import Callable, Hashable
from math import inf
from typing import Any, Final

import pandas as pd

from basecalc.checks import shown
from basecalc.errors import BasecalcError, InputError, OutOfRangeError
from basecalc.ground.cone import hammer_factor
from basecalc.ground.log.entries import MOST_BLOWS, WHOLE_BLOWS
from basecalc.ground.log.headings import UNITS, Heading
from basecalc.ground.soils import soil as soil_named
from basecalc.units import convert

Text = pd.Series  # of str, by row
_NUMBER: Final = r"[-+]?(?:\d+[.,]?\d*|[.,]\d+)(?:[eE][-+]?\d+)?"
_THOUSANDS: Final = r"[-+]?[1-9]\d{0,2},\d{3}"
_BY_FACTOR: Final = {"1": 1.0, "2": 2.0, "1.0": 1.0, "2.0": 2.0}


def first_row(bad: "pd.Series[bool]") -> int:
    """Return the row of the first cell that is bad, of some that are.

    Parameters
    ----------
    bad
        Which are bad, by row.
    """
    row: Any = bad.idxmax()
    return int(row)


class Faults:
    """What is wrong with the rows of a log; the first one is raised.

    Parameters
    ----------
    where
        The file.
    """

    def __init__(self, where: str) -> None:
        self.where = where
        self._found: list[tuple[int, BasecalcError]] = []

    def add(self, bad: "pd.Series[bool]", kind: type[BasecalcError], sentence: Callable[[int], str]) -> None:
        """Note the first row of a column that is bad, with a sentence for it."""
        if bad.any():
            row = first_row(bad)
            self._found.append((row, kind(sentence(row), where=f"{self.where}, row {row}")))

    def check(self) -> None:
        """Raise what is wrong in the first of the bad rows, if there are any."""
        if self._found:
            raise min(self._found, key=lambda one: one[0])[1]


def blow_counts(text: Text, faults: Faults) -> pd.Series:
    """Return blows as whole numbers.

    Parameters
    ----------
    text
        The cells, by row.
    faults
        Takes what is wrong.
    """
    needed = WHOLE_BLOWS
    values = numbers(text, "blows", needed, faults)
    swapped = "; are the columns of blows and depth swapped?"
    whole = (values == values.round()) | values.isna()
    faults.add(~whole, InputError, lambda row: f"blows is {shown(text[row])}; {needed}{swapped}")
    outside = (values < 0) | (values > MOST_BLOWS)
    faults.add(
        outside, OutOfRangeError, lambda row: f"blows is {shown(text[row])}; it must be from 0 to {MOST_BLOWS:,}"
    )
    return values


def depths_mm(text: Text, column: Heading, unit: str, faults: Faults) -> tuple[pd.Series, str]:
    """Return depths [mm] and the unit they were given in.

    Parameters
    ----------
    text
        The cells, by row.
    column
        Their heading, which may say the unit.
    unit
        The unit as the caller gives it; nothing leaves it to the file.
    faults
        Takes what is wrong.

    Raises
    ------
    InputError
        Nobody says the unit, or two say different ones.
    """
    given = UNITS.get(unit.strip().casefold(), "")
    if unit and not given:
        raise InputError(f"unit is {shown(unit)}; it must be one of: mm, cm, in, m, ft")
    if given and column.unit and given != column.unit:
        raise InputError(
            f"the unit given is {given}, but the heading {shown(column.text)} says {column.unit}; they must agree",
            where=faults.where,
        )
    known = given or column.unit
    parts = text.str.extract(r"^(?P<number>.*?)\s*(?P<unit>[A-Za-z\"]+)?$")
    written = parts["unit"].fillna("").str.casefold().map(lambda word: UNITS.get(word, "") if word else "")
    units = [one for one in written.unique() if one]
    if not known and not units:
        raise InputError(
            "nothing says the unit of the depths; write it in the heading, such as 'depth mm' or 'depth (in)', or give "
            "it as the unit",
            where=faults.where,
        )
    if not known and units:
        faults.add(written == "", InputError, lambda row: (
            f"depth is {shown(text[row])}, without the unit that other rows have; all must have the same unit"
        ))  # fmt: skip
    known = known or units[0]
    other = (written != "") & (written != known)
    faults.add(
        other,
        InputError,
        lambda row: f"depth is {shown(text[row])}, but the other depths are in {known}; all must have the same unit",
    )
    bare = parts["number"].where(written != "", text)
    values = numbers(bare, "depth", f"it must be a number ({known})", faults)
    faults.add(values < 0, OutOfRangeError, lambda row: f"depth is {shown(text[row])} {known}; it must be at least 0")
    return (values * convert(1.0, known, "mm")).round(6), known


def numbers(text: Text, name: str, needed: str, faults: Faults) -> pd.Series:
    """Return cells as numbers, with a decimal point or a decimal comma; NaN where there is a fault.

    Parameters
    ----------
    text
        The cells, by row; a blank one is a fault.
    name
        What the column is called.
    needed
        What its cells must be, for a refusal.
    faults
        Takes what is wrong.
    """
    faults.add(text == "", InputError, lambda _: f"{name} is missing; {needed}")
    unclear = text.str.fullmatch(_THOUSANDS)
    faults.add(unclear, InputError, lambda row: (
        f"{name} is {shown(text[row])}, which may mean thousands or a decimal; write it with a point or without comma"
    ))  # fmt: skip
    fits = text.str.fullmatch(_NUMBER) & ~unclear
    faults.add(~fits & (text != "") & ~unclear, InputError, lambda row: f"{name} is {shown(text[row])}; {needed}")
    comma = fits & text.str.contains(",", regex=False)
    if comma.any():
        faults.add(fits & text.str.contains(".", regex=False), InputError, lambda row: (
            f"{name} is {shown(text[row])} with a decimal point, but other rows have a decimal comma; all must be alike"
        ))  # fmt: skip
    plain = text.where(fits, other="nan").str.replace(",", ".", regex=False).astype(float)
    faults.add(plain.abs() == inf, OutOfRangeError, lambda row: f"{name} is {shown(text[row])}; it must be finite")
    return plain


def hammers(
    text: Text | None, column: Heading | None, given: str | float, index: pd.Index, faults: Faults
) -> pd.Series:
    """Return the hammer factor of each row, that of the 8 kg hammer where nobody names one.

    Parameters
    ----------
    text
        The cells, by row; a blank one means as above. None where there is no such column.
    column
        Their heading.
    given
        The hammer as the caller gives it; nothing leaves it to the file.
    index
        The rows.
    faults
        Takes what is wrong.

    Raises
    ------
    InputError
        No such hammer.
    """
    whole = hammer_factor(given) if given != "" else None
    if text is None or column is None:
        return pd.Series(1.0 if whole is None else whole, index)
    known: dict[Hashable, float] = {}
    for word in text[text != ""].unique():
        try:
            known[word] = _BY_FACTOR[str(word)] if column.factor else hammer_factor(word)
        except (KeyError, InputError):
            continue
    filled = text.where(text != "").ffill()
    faults.add(filled.isna(), InputError, lambda _: "hammer is missing; it must be 8 kg or 4.6 kg")
    needed = "1 (8 kg hammer) or 2 (4.6 kg hammer)" if column.factor else "8 kg or 4.6 kg"
    strange = filled.notna() & ~filled.isin(list(known))
    faults.add(strange, InputError, lambda row: f"hammer is {shown(filled[row])}; it must be {needed}")
    factors = filled.map(known)
    if whole is not None:
        faults.add(factors.notna() & (factors != whole), InputError, lambda row: (
            f"hammer is {shown(filled[row])}, but the hammer given is {shown(given)}; they must agree"
        ))  # fmt: skip
    return factors


def soils(text: Text, faults: Faults) -> pd.Series:
    """Return the soil of each row by its name; nothing where the cell is blank.

    Parameters
    ----------
    text
        The cells, by row.
    faults
        Takes what is wrong.
    """
    known: dict[Hashable, str] = {"": ""}
    sentences: dict[Hashable, str] = {}
    for word in text.unique():
        if word:
            try:
                known[word] = soil_named(word).name
            except InputError as refusal:
                sentences[word] = refusal.sentence
    faults.add(text.isin(list(sentences)), InputError, lambda row: sentences[text[row]])
    return text.map(known).fillna("")
