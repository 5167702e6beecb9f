"""A list in a file of text becomes rows of cells, each under its own number, and the numbers, units and words in them.

A file that is not text or not a list is refused; so is the first cell that does not fit its column, by its row.
"""

import csv
import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import inf
from pathlib import Path
from typing import Any, Final

from basecalc.core.errors import InputError, OutOfRangeError, Place, WorkbookError
from basecalc.core.files import whole_file
from basecalc.core.numbers import quoted
from basecalc.core.units import written

MOST_BYTES: Final = 20_000_000
MOST_COLUMNS: Final = 60
_MARKS: Final = ((b"\xef\xbb\xbf", "utf-8-sig"), (b"\xff\xfe", "utf-16"), (b"\xfe\xff", "utf-16"))
_UNPRINTABLE: Final = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ufffe\uffff]")
_QUOTED: Final = re.compile(r'"[^"]*"')
_MARK: Final = re.compile(r'"?sep=([,;\t]?)"?', re.IGNORECASE)
_SEPARATORS: Final = "\t;,"
_SPACE: Final = " \ufeff\u00a0"
_COMMENT: Final = re.compile(r"(?<=[\s,;])#(?P<words>.*)$")
_MOST_TITLES: Final = 3  # rows above the headings; own choice


@dataclass(frozen=True, slots=True)
class Line:
    """One row of a list: its number in the file, and its cells as text."""

    row: int
    cells: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Listing:
    """The rows of a list, that of the headings first, and the comments beside them by row."""

    where: str
    lines: tuple[Line, ...]
    comments: Mapping[int, str]

    def place(self, row: int = 0) -> Place:
        """Return where a row is."""
        return Place(self.where, row=row)


def read_listing(path: str | Path, holds: str) -> Listing:
    """Return the list in a file of text; `holds` says in words which columns it must have."""
    return listing(read_bytes(path, holds), str(path), holds)


def read_bytes(path: str | Path, holds: str) -> bytes:
    """Return what is in a file of text."""
    return whole_file(path, "a log (.csv)", holds, MOST_BYTES)


def listing(content: bytes, where: str, holds: str) -> Listing:
    """Return the list in the content of a file."""
    text = decoded(content, where, holds).replace("\r\n", "\n").replace("\r", "\n")
    comments: dict[int, str] = {}
    lines: list[tuple[int, str]] = []
    for row, written_line in enumerate(text.split("\n"), 1):
        line = written_line.strip(_SPACE)
        if line.startswith(("#", '"#')):
            comments[row] = _plain(line)
        elif line.strip(' \t,;"'):
            lines.append((row, line))
    if not lines:
        raise WorkbookError(f"the file holds no readings; it must hold {holds}", where=Place(where))
    said = _MARK.fullmatch(lines[0][1])  # a first line such as 'sep=;', by which a spreadsheet is told the separator
    marked = (said[1] or "\t") if said and len(lines) > 1 else ""
    lines = lines[1:] if marked else lines
    lines = _without_titles(lines, marked, comments)
    body = lines[:1]
    for row, line in lines[1:]:
        kept = line
        if found := _COMMENT.search(line):
            comments[row], kept = _plain(found["words"]), line[: found.start()].rstrip()
        if kept.strip(" \t,;"):  # else there was nothing but a comment
            body.append((row, kept))
    for row, line in body:
        if line.count('"') % 2:
            raise InputError('a quotation mark (") is not closed in this row', where=Place(where, row=row))
    return Listing(where, _split(body, marked or _separator(lines[0][1], where, holds), where), comments)


def _without_titles(lines: list[tuple[int, str]], marked: str, comments: dict[int, str]) -> list[tuple[int, str]]:
    """Return the lines without a title above the headings: words in one cell, and the next row has more."""
    cells = [re.split(f"[{marked or _SEPARATORS}]", line) for _, line in lines[: _MOST_TITLES + 1]]
    filled = [sum(bool(cell.strip(' "')) for cell in line) for line in cells]
    while len(filled) > 1 and filled[0] == 1 and max(filled[1:]) > 1 and re.search("[^\\W\\d_]", lines[0][1]):
        comments[lines[0][0]] = _plain(lines[0][1])
        lines, filled = lines[1:], filled[1:]
    return lines


def _plain(text: str) -> str:
    return text.strip(' #",;\t')


def decoded(content: bytes, where: str, holds: str) -> str:
    """Return the text of a file, by its byte order mark, its zero bytes, or as UTF-8 and the western code page."""
    if content[:2] == b"PK" or content[:4] == b"\xd0\xcf\x11\xe0":
        raise WorkbookError("this is a workbook, not text; save its sheet as CSV", where=Place(where))
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
    raise WorkbookError(f"not a text file; a log must be text with {holds}", where=Place(where))


def _separator(first: str, where: str, holds: str) -> str:
    """Return what separates the cells, by the first row."""
    bare = _QUOTED.sub("", first)
    for mark in _SEPARATORS:
        if mark in bare:
            return mark
    raise InputError(
        f"the first row is {quoted(first)}, which is one column only; it must be {holds}, separated by commas, "
        "semicolons or tabs",
        where=Place(where, row=1),
    )


def _split(body: Sequence[tuple[int, str]], separator: str, where: str) -> tuple[Line, ...]:
    """Return the cells of each line, as many as the first one names; a cell beyond them is refused."""
    lines = []
    width = 0
    for row, line in body:
        # Only a quotation mark at the start of a cell opens one; any other is a letter like the rest.
        parts = line.split(separator)
        if '"' in line:
            parts = next(csv.reader([line], delimiter=separator, skipinitialspace=True))
        cells = [cell.strip(" \t\u00a0") for cell in parts]
        if len(cells) > MOST_COLUMNS:
            raise InputError(
                f"the row has {len(cells)} columns; a log has at most {MOST_COLUMNS}", where=Place(where, row=row)
            )
        width = width or max((at for at, cell in enumerate(cells, 1) if cell), default=0)
        if any(cells[width:]):
            raise InputError(
                f"this row has more cells than the first one, which has {width}; a comma inside a number needs "
                "semicolons between the columns",
                where=Place(where, row=row),
            )
        lines.append(Line(row, (*cells[:width], *[""] * (width - len(cells)))))
    return tuple(lines)


_NUMBER: Final = re.compile(r"[-+]?(?:\d+[.,]?\d*|[.,]\d+)(?:[eE][-+]?\d+)?")
_THOUSANDS: Final = re.compile(r"[-+]?[1-9]\d{0,2},\d{3}")
_WITH_UNIT: Final = re.compile(r"(?P<number>.*?)\s*(?P<unit>[A-Za-z][A-Za-z0-9^ ]*|\")?")


def parted(text: str) -> tuple[str, str]:
    """Return the number in a cell and the unit behind it, both as written.

    Examples
    --------
    >>> parted("12.5 short tons"), parted("14"), parted("about 3")
    (('12.5', 'short tons'), ('14', ''), ('', 'about 3'))
    """
    match = _WITH_UNIT.fullmatch(text)
    return (match["number"], match["unit"] or "") if match else (text, "")


def has_decimal_comma(cells: Iterable[str]) -> bool:
    """Return whether the numbers of a column have decimal commas."""
    return any("," in cell and not _THOUSANDS.fullmatch(cell) and _NUMBER.fullmatch(cell) for cell in cells)


def cell_number(name: str, text: str, needed: str, *, commas: bool, cell: str = "") -> float:
    """Return the number in a cell, with a decimal point or, where the column has `commas`, with a decimal comma."""
    said = quoted(cell or text)
    if not text:
        raise InputError(f"is missing; {needed}", about=name)
    if _THOUSANDS.fullmatch(text):
        raise InputError(
            f"is {said}, which may mean thousands or a decimal; write it with a point or without comma", about=name
        )
    if not _NUMBER.fullmatch(text):
        found = written(text)
        if found is None or found[1]:
            raise InputError(f"is {said}; {needed}", about=name)
        return found[0]
    if commas and "." in text:
        raise InputError(
            f"is {said} with a decimal point, but other rows have a decimal comma; all must be alike", about=name
        )
    value = float(text.replace(",", "."))
    if abs(value) == inf:
        raise OutOfRangeError(f"is {said}; it must be finite", about=name)
    return value


def cell_word(name: str, text: str, known: Mapping[str, Any], told: Callable[[], str], *, needed: bool = True) -> Any:
    """Return what the words of a cell stand for; None for a blank that may be one."""
    if not text:
        if needed:
            raise InputError(f"is missing; it must be one of: {told()}", about=name)
        return None
    if (word := plain_word(text)) not in known:
        raise InputError(f"is {quoted(text)}; it must be one of: {told()}", about=name)
    return known[word]


def plain_word(word: str) -> str:
    """Return a word as it is compared: lower case, single spaces.

    Examples
    --------
    >>> plain_word("  Left-Over ")
    'left over'
    """
    return " ".join(word.casefold().replace("-", " ").replace("_", " ").split())


@dataclass(frozen=True, slots=True)
class Heading:
    """A heading of a list: its place from 0, its text, what the column holds, its unit, and how it is counted."""

    column: int
    text: str
    kind: str
    unit: str = ""
    how: str = ""
    factor: bool = False


def heading_words(text: str) -> tuple[list[str], list[str]]:
    """Return the words of a heading in lower case, and what is in its brackets.

    Examples
    --------
    >>> heading_words("Net-weight (short tons)")
    (['net', 'weight', 'short', 'tons'], ['short tons'])
    """
    plain = text.casefold().replace("_", " ").replace("-", " ")
    return re.findall(r"[^\W_]+|[#\"%/]", plain), re.findall(r"[(\[]\s*([^)\]]*?)\s*[)\]]", plain)


def kind_of(words: Iterable[str], kinds: Sequence[tuple[str, frozenset[str]]]) -> str:
    """Return the first kind of column one of whose signs is among the words of a heading; nothing for none."""
    there = frozenset(words)
    return next((kind for kind, signs in kinds if there & signs), "")
