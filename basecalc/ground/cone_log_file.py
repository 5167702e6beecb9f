"""The text of a log becomes a table of cells, each row under its own number; what is no text or no table is refused.

Columns of text cells become numbers, whole columns at a time; the first cell that is none is named by its row.
A cone penetrometer's log from a file: blows and depths of one or several drops, every row checked.
"""

import re
from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass
from io import StringIO
from itertools import pairwise
from math import inf
from pathlib import Path
from typing import Any, Final

import pandas as pd

from basecalc.core.errors import BasecalcError, InputError, OutOfRangeError, Place, WorkbookError
from basecalc.core.files import whole_file
from basecalc.core.numbers import choice, shown
from basecalc.core.units import convert
from basecalc.ground.cone_log import (
    ASSUMED_HAMMER,
    HOW,
    MOST_BLOWS,
    UNITS,
    WHOLE_BLOWS,
    Columns,
    ConeLog,
    Drop,
    Heading,
    LogRow,
    columns,
    drop_steps,
    log_rule,
)
from basecalc.ground.readings import hammer_factor
from basecalc.ground.readings import soil_named as soil_named

MOST_BYTES: Final = 20_000_000
MOST_COLUMNS: Final = 60
_MARKS: Final = ((b"\xef\xbb\xbf", "utf-8-sig"), (b"\xff\xfe", "utf-16"), (b"\xfe\xff", "utf-16"))
_UNPRINTABLE: Final = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ufffe\uffff]")
_QUOTED: Final = re.compile(r'"[^"]*"')
_MARK: Final = re.compile(r'"?sep=([,;\t]?)"?', re.IGNORECASE)
_SEPARATORS: Final = "\t;,"
_MOST_TITLES: Final = 3  # rows above the headings; own choice
_CONE: Final = "columns of blows and depth"


@dataclass(frozen=True, slots=True)
class Cells:
    """The cells of a log as text."""

    frame: pd.DataFrame
    comments: dict[int, str]


def read_bytes(path: str | Path, holds: str = _CONE) -> bytes:
    """Return what stands in a file."""
    return whole_file(path, "a log (.csv)", holds, MOST_BYTES)


def cells(content: bytes, where: str, holds: str = _CONE) -> Cells:
    """Return the cells of a log."""
    lines = pd.Series(decoded(content, where, holds).replace("\r\n", "\n").replace("\r", "\n").split("\n"), dtype=str)
    lines.index = pd.RangeIndex(1, len(lines) + 1)
    lines = lines.str.strip(" \ufeff\u00a0")
    remark = lines.str.startswith("#") | lines.str.startswith('"#')
    comments = {int(row): _plain(text) for row, text in lines[remark].items()}  # type: ignore[call-overload]
    content_lines = lines[~remark & (lines.str.strip(' \t,;"') != "")]
    if content_lines.empty:
        raise WorkbookError(f"the file holds no readings; it must hold {holds}", where=Place(where))
    content_lines, marked = _without_mark(content_lines)
    content_lines, titles = _without_titles(content_lines, marked)
    comments |= titles
    first = str(content_lines.iloc[0])
    parts = content_lines.iloc[1:].str.extract(r"^(?P<cells>.*?)(?:(?<=[\s,;])#(?P<comment>.*))?$")
    behind = parts["comment"].dropna()
    comments |= {int(row): _plain(text) for row, text in behind.items()}  # type: ignore[call-overload]
    body = pd.concat([content_lines.iloc[:1], parts["cells"].str.rstrip()])
    body = body[body.str.strip(" \t,;") != ""]  # nothing but a comment was in that row
    odd = body[body.str.count('"') % 2 == 1]
    if not odd.empty:
        raise InputError('a quotation mark (") is not closed in this row', where=Place(where, row=odd.index[0]))
    return Cells(_split(body, marked or _separator(first, where, holds), where), comments)


def _without_mark(lines: "pd.Series[str]") -> tuple["pd.Series[str]", str]:
    """Return the lines without a first one such as 'sep=;', by which Excel is told the separator, and that one."""
    said = _MARK.fullmatch(str(lines.iloc[0]))
    return (lines.iloc[1:], said[1] or "\t") if said and len(lines) > 1 else (lines, "")


def _without_titles(lines: "pd.Series[str]", marked: str) -> tuple["pd.Series[str]", dict[int, str]]:
    """Return the lines without a title above the headings: words in one cell, and the next row has more."""
    cells = [re.split(f"[{marked or _SEPARATORS}]", line) for line in lines.iloc[: _MOST_TITLES + 1]]
    filled = [sum(bool(cell.strip(' "')) for cell in line) for line in cells]
    titles = {}
    while len(filled) > 1 and filled[0] == 1 and max(filled[1:]) > 1 and re.search("[^\\W\\d_]", str(lines.iloc[0])):
        titles[int(lines.index[0])] = _plain(str(lines.iloc[0]))
        lines, filled = lines.iloc[1:], filled[1:]
    return lines, titles


def _plain(text: str) -> str:
    return text.strip(' #",;\t')


def decoded(content: bytes, where: str, holds: str = _CONE) -> str:
    """Return the text of a file, by its byte order mark, its zero bytes, or as UTF-8 and the western code page."""
    if content[:2] == b"PK" or content[:4] == b"\xd0\xcf\x11\xe0":
        raise WorkbookError("this is a workbook, no text; save its sheet as CSV", where=Place(where))
    kinds = [kind for mark, kind in _MARKS if content.startswith(mark)]
    if not kinds and b"\x00" in content[:200]:
        kinds = ["utf-16-le" if content[1:2] == b"\x00" else "utf-16-be"]
    for kind in kinds or ["utf-8", "cp1252"]:
        try:
            text = content.decode(kind)
        except UnicodeDecodeError:
            continue
        if _UNPRINTABLE.search(text) is None:
            return text
    raise WorkbookError(f"this is no text file; a log must be text with {holds}", where=Place(where))


def _separator(first: str, where: str, holds: str) -> str:
    """Return what stands between the cells, by the first row."""
    bare = _QUOTED.sub("", first)
    for mark in ("\t", ";", ","):
        if mark in bare:
            return mark
    raise InputError(
        f"the first row is {shown(first)}, which is one column only; it must be {holds}, separated by commas, "
        "semicolons or tabs",
        where=f"{where}, row 1",
    )


def _split(body: "pd.Series[str]", separator: str, where: str) -> pd.DataFrame:
    mark = re.escape(separator)
    # Only a quotation mark at the start of a cell opens one; any other is a letter like the rest.
    counts = body.str.replace(rf'(^|{mark})\s*"(?:[^"]|"")*"', r"\1", regex=True).str.count(mark) + 1
    width, widest = int(counts.max()), counts.idxmax()
    if width > MOST_COLUMNS:
        raise InputError(
            f"the row has {width} columns; a log has at most {MOST_COLUMNS}", where=Place(where, row=int(str(widest)))
        )
    frame = pd.read_csv(
        StringIO("\n".join(body)), sep=separator, header=None, names=range(width), index_col=False, dtype=str,
        keep_default_na=False, skip_blank_lines=False, skipinitialspace=True,
    )  # fmt: skip
    frame = frame.fillna("").apply(lambda column: column.str.strip(" \t\u00a0"))
    frame.index = body.index
    return _without_empty_columns(frame, where)


def _without_empty_columns(frame: pd.DataFrame, where: str) -> pd.DataFrame:
    """Return the columns that the first row names; a cell beyond them is refused."""
    named = frame.iloc[0] != ""
    width = int(named[named].index.max()) + 1
    beyond = (frame.loc[:, width:] != "").any(axis=1)
    if beyond.any():
        row = first_row(beyond)
        raise InputError(
            f"this row has more cells than the first one, which has {width}; a comma inside a number needs semicolons "
            "between the columns",
            where=Place(where, row=row),
        )
    return frame.loc[:, : width - 1]


Text = pd.Series  # of str, by row
_NUMBER: Final = r"[-+]?(?:\d+[.,]?\d*|[.,]\d+)(?:[eE][-+]?\d+)?"
_THOUSANDS: Final = r"[-+]?[1-9]\d{0,2},\d{3}"
_BY_FACTOR: Final = {"1": 1.0, "2": 2.0, "1.0": 1.0, "2.0": 2.0}


def first_row(bad: "pd.Series[bool]") -> int:
    """Return the row of the first cell that is bad, of some that are."""
    row: Any = bad.idxmax()
    return int(row)


class Faults:
    """What is wrong with the rows of a log; the first one is raised."""

    def __init__(self, where: str) -> None:
        self.where = where
        self._found: list[tuple[int, BasecalcError]] = []

    def add(self, bad: "pd.Series[bool]", kind: type[BasecalcError], sentence: Callable[[int], str]) -> None:
        """Note the first row of a column that is bad, with a sentence for it."""
        if bad.any():
            row = first_row(bad)
            self._found.append((row, kind(sentence(row), where=Place(self.where, row=row))))

    def check(self) -> None:
        """Raise what is wrong in the first of the bad rows, if there are any."""
        if self._found:
            raise min(self._found, key=lambda one: one[0])[1]


def blow_counts(text: Text, faults: Faults) -> pd.Series:
    """Return blows as whole numbers."""
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
    """Return depths [mm] and the unit they were given in."""
    given = UNITS.get(unit.strip().casefold(), "")
    if unit and not given:
        raise InputError(f"unit is {shown(unit)}; it must be one of: mm, cm, in, m, ft")
    if given and column.unit and given != column.unit:
        raise InputError(
            f"the unit given is {given}, but the heading {shown(column.text)} says {column.unit}; they must agree",
            where=Place(faults.where),
        )
    known = given or column.unit
    parts = text.str.extract(r"^(?P<number>.*?)\s*(?P<unit>[A-Za-z\"]+)?$")
    written = parts["unit"].fillna("").str.casefold().map(lambda word: UNITS.get(word, "") if word else "")
    units = [one for one in written.unique() if one]
    if not known and not units:
        raise InputError(
            "nothing says the unit of the depths; write it in the heading, such as 'depth mm' or 'depth (in)', or give "
            "it as the unit",
            where=Place(faults.where),
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
    """Return cells as numbers, with a decimal point or a decimal comma; NaN where there is a fault."""
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
    """Return the hammer factor of each row, that of the 8 kg hammer where nobody names one."""
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
    """Return the soil of each row by its name; nothing where the cell is blank."""
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


_USUAL_HAMMER: Final = "8 kg"
_HAMMER_COMMENT: Final = re.compile(r"hammer\D{0,12}(\d+(?:[.,]\d+)?)\s*kg|(\d+(?:[.,]\d+)?)\s*kg\s*hammer")


def read_cone_log(
    path: str | Path, *, unit: str = "", hammer: str | float = "", blows: str = "", depths: str = ""
) -> ConeLog:
    """Return the log in a file of text, checked row by row."""
    where = str(path)
    return cone_log(cells(read_bytes(path), where), where, unit=unit, hammer=hammer, blows=blows, depths=depths)


def cone_log(
    table: Cells, where: str, *, unit: str = "", hammer: str | float = "", blows: str = "", depths: str = ""
) -> ConeLog:
    """Return the log in a table of text cells, checked row by row."""
    frame = table.frame
    known = columns([str(cell) for cell in frame.iloc[0]], f"{where}, row {frame.index[0]}")
    if known.headed:
        frame, unit = _under_the_headings(frame, known, unit)
    said = _comments(frame, known, table.comments)
    frame = frame[(frame[known.blows.column] != "") | (frame[known.depth.column] != "")]
    if frame.empty:
        raise InputError("there are headings but no readings under them", where=Place(where))
    faults = Faults(where)
    notes = [f"Not used: the column {shown(text)}" for text in known.unused]
    if not known.headed:
        notes.append("There are no headings: the first column is taken for blows, the second for depth")
    counts = blow_counts(frame[known.blows.column], faults)
    deep, depth_unit = depths_mm(frame[known.depth.column], known.depth, unit, faults)
    factors = _factors(frame, known, hammer, said, faults, notes)
    soil = soils(frame[known.soil.column], faults) if known.soil else pd.Series("", frame.index)
    names = _drop_names(frame, known.drop, faults)
    faults.check()
    rows = pd.DataFrame({"blows": counts, "depth": deep, "factor": factors, "soil": soil, "drop": names})
    rows["note"] = [said.get(int(row), "") for row in rows.index]
    rows["place"] = (rows["drop"] != rows["drop"].shift()).cumsum()
    blows_how, told = _how("blows", rows, known.blows, blows, where)
    depth_how, more = _how("depth", rows, known.depth, depths, where)
    every = [
        LogRow(int(row), *cells_) for row, *cells_ in rows[["blows", "depth", "factor", "soil", "note"]].itertuples()
    ]
    starts = [place for place, first in enumerate(rows["place"].diff() != 0) if first]
    drops = [
        _drop(every[start:end], blows_how, depth_how, where, str(names.iloc[start]))
        for start, end in pairwise([*starts, len(rows)])
    ]
    return ConeLog(where, tuple(drops), depth_unit, (*notes, *told, *more), tuple(sorted(said.items())))


def _under_the_headings(frame: pd.DataFrame, known: Columns, unit: str) -> tuple[pd.DataFrame, str]:
    """Return the readings, and the unit where it stands in a row of its own under the headings."""
    body = frame.iloc[1:]
    if len(body) and not known.depth.unit and body.iloc[0, known.blows.column] in ("", "-"):
        below = UNITS.get(str(body.iloc[0, known.depth.column]).strip("()[]").casefold(), "")
        if below and (not unit or UNITS.get(unit.strip().casefold()) == below):
            return body.iloc[1:], below
    return body, unit


def _comments(frame: pd.DataFrame, known: Columns, lines: dict[int, str]) -> dict[int, str]:
    """Return every comment by row: lines, ends of lines and comment columns."""
    said = dict(lines)
    for one in known.comments:
        text = frame[one.column]
        for row, words in text[text != ""].items():
            said[int(row)] = f"{said[int(row)]}; {words}" if said.get(int(row)) else str(words)  # type: ignore[call-overload]
    return {row: " ".join(words.split()) for row, words in said.items() if words.strip()}


def _factors(
    frame: pd.DataFrame, known: Columns, given: str | float, said: dict[int, str], faults: Faults, notes: list[str]
) -> pd.Series:
    """Return the hammer factor of each row: by column, argument or comment, or, told, that of the 8 kg hammer."""
    text: Text | None = frame[known.hammer.column] if known.hammer else None
    if text is not None and (text != "").any():
        return hammers(text, known.hammer, given, frame.index, faults)
    used = given
    for row, words in said.items():
        named = _HAMMER_COMMENT.search(words.casefold())
        if named is None:
            continue
        weight = named[1] or named[2]
        place = f"{faults.where}, row {row}"
        if used == "" and row < frame.index[0]:
            used = weight
            notes.append(f"The hammer of {weight} kg is the one that the comment in row {row} names")
        try:
            other = hammer_factor(weight) != hammer_factor(used or _USUAL_HAMMER)
        except InputError as refusal:
            raise refusal.at(place) from None
        if other:
            raise InputError(
                f"the comment names a hammer of {weight} kg, but {used or _USUAL_HAMMER} is taken elsewhere; a column "
                "'hammer kg' must say which was used where",
                where=place,
            )
    if used == "":
        notes.append(ASSUMED_HAMMER)
    return hammers(None, None, used, frame.index, faults)


def _drop_names(frame: pd.DataFrame, column: Heading | None, faults: Faults) -> pd.Series:
    """Return the drop that each row belongs to; a blank cell means as above."""
    if column is None:
        return pd.Series("", frame.index)
    text = frame[column.column]
    names = text.where(text != "").ffill()
    faults.add(names.isna(), InputError, lambda _: f"{column.text} is missing; the first row must name the drop")
    starts = names[(names != names.shift()) & names.notna()]
    again = starts.duplicated()
    faults.add(again, InputError, lambda row: (
        f"drop {shown(names[row])} starts again behind another one; the rows of a drop must stand together"
    ))  # fmt: skip
    return names


def _how(what: str, rows: pd.DataFrame, column: Heading, given: str, where: str) -> tuple[str, list[str]]:
    """Return how blows or depths are counted, and what was concluded from the numbers alone.

    A running total never falls, so counts that often do not rise are counts per step, and many that always rise are a
    total. What lies between is refused.
    """
    name = "blows" if what == "blows" else "depths"
    asked = choice(name, given, HOW) if given else ""
    if asked and column.how and asked != column.how:
        raise InputError(
            f"{name} are given as {shown(asked)}, but the heading {shown(column.text)} says {shown(column.how)}; they "
            "must agree",
            where=Place(where),
        )
    if asked or column.how:
        return asked or column.how, []
    values = rows[what]
    rise = values.diff()[rows["place"] == rows["place"].shift()]
    if rise.empty:  # one reading a drop, which `drop_steps` refuses
        return "per step", []
    flat = rise[rise <= 0]
    if len(flat) and len(flat) >= log_rule("share that does not rise") * len(rise):
        return "per step", ([] if what == "blows" else ["The depths do not keep rising: they are taken per step"])
    if len(flat) == 0 and len(rise) + 1 >= log_rule("readings that rise"):
        return "total", [f"The {name} rise in every row: they are taken as a running total"]
    heading = shown(column.text) if column.text else "the column without a heading"
    row = "" if flat.empty else f" (row {flat.index[0]} does not rise, nearly all others do)"
    raise InputError(
        f"{heading} does not say whether {name} are counted per step or in total{row}; write 'per step' or 'total' in "
        f"the heading, such as 'total {what}', or say it where the log is named ({name})",
        where=Place(where),
    )


def _drop(rows: Sequence[LogRow], blows_how: str, depth_how: str, where: str, name: str) -> Drop:
    try:
        return drop_steps(rows, blows_how, depth_how, name)
    except BasecalcError as refusal:
        raise refusal.at(f"{where}, drop {name}" if name else where) from None
