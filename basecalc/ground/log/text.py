"""The text of a log becomes a table of cells, each row under its own number; what is no text or no table is refused.

A log is whatever is kept row by row in a text file: blows of a cone, weigh tickets, hours.
"""

import re
from dataclasses import dataclass
from io import StringIO
from pathlib import Path
from typing import Final

import pandas as pd

from basecalc.checks import shown
from basecalc.errors import InputError, WorkbookError
from basecalc.files import whole_file
from basecalc.ground.log.columns import first_row

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
    """The cells of a log as text.

    Parameters
    ----------
    frame
        A row for each line that holds anything but a comment; its index is the number of the row in the file.
    comments
        Comments by row: lines that start with #, and what stands behind a # at the end of a line.
    """

    frame: pd.DataFrame
    comments: dict[int, str]


def read_bytes(path: str | Path, holds: str = _CONE) -> bytes:
    """Return what stands in a file.

    Parameters
    ----------
    path
        The log; it is only read.
    holds
        What must stand in it, for a refusal.

    Raises
    ------
    WorkbookError
        There is no such file, it is a folder, it cannot be read, it is empty or far too large.
    """
    return whole_file(path, "a log (.csv)", holds, MOST_BYTES)


def cells(content: bytes, where: str, holds: str = _CONE) -> Cells:
    """Return the cells of a log.

    Parameters
    ----------
    content
        The file.
    where
        What a refusal calls it.
    holds
        What must stand in it, for a refusal.

    Raises
    ------
    WorkbookError
        It is no text.
    InputError
        A row that cannot be split into cells.
    """
    lines = pd.Series(decoded(content, where, holds).replace("\r\n", "\n").replace("\r", "\n").split("\n"), dtype=str)
    lines.index = pd.RangeIndex(1, len(lines) + 1)
    lines = lines.str.strip(" \ufeff\u00a0")
    remark = lines.str.startswith("#") | lines.str.startswith('"#')
    comments = {int(row): _plain(text) for row, text in lines[remark].items()}  # type: ignore[call-overload]
    content_lines = lines[~remark & (lines.str.strip(' \t,;"') != "")]
    if content_lines.empty:
        raise WorkbookError(f"the file holds no readings; it must hold {holds}", where=where)
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
        raise InputError('a quotation mark (") is not closed in this row', where=f"{where}, row {odd.index[0]}")
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
    """Return the text of a file, by its byte order mark, its zero bytes, or as UTF-8 and the western code page.

    Parameters
    ----------
    content
        The file.
    where
        What a refusal calls it.
    holds
        What the file must hold, for a refusal.

    Raises
    ------
    WorkbookError
        It is no text.
    """
    if content[:2] == b"PK" or content[:4] == b"\xd0\xcf\x11\xe0":
        raise WorkbookError("this is a workbook, no text; save its sheet as CSV", where=where)
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
    raise WorkbookError(f"this is no text file; a log must be text with {holds}", where=where)


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
            f"the row has {width} columns; a log has at most {MOST_COLUMNS}", where=f"{where}, row {widest}"
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
            where=f"{where}, row {row}",
        )
    return frame.loc[:, : width - 1]
