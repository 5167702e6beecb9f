"""The bytes of a workbook, taken whole and looked at before anything in them is unpacked or trusted.

A reader of workbooks builds an object for every cell, style and rule, follows every relation, and does so as often as a
part is named. So all of these are counted first, over all parts, as often as they will be read, by a parser that keeps
nothing.
"""

import posixpath
import zipfile
import zlib
from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from io import BytesIO
from os.path import lexists
from pathlib import Path
from typing import Final
from xml.parsers import expat

from openpyxl.utils import range_boundaries

from basecalc.errors import WorkbookError
from basecalc.files import whole_file

MEGABYTE: Final = 1_000_000
MOST_BYTES: Final = 30 * MEGABYTE  # of the file as it lies on the disk
LARGEST_PART: Final = 20 * MEGABYTE  # some 200,000 cells; a filled workbook of ours has 10,000
MOST_UNPACKED: Final = 60 * MEGABYTE  # all parts together, pictures too
MOST_PARTS: Final = 5_000
# What is counted, how much of it can be read within a minute and a gigabyte, and what to do where there is more.
_CELLS, _ROWS, _VALUES, _TEXTS, _MERGED, _LINKED = "cells", "rows", "values", "texts", "merged", "linked"
_PLACES, _RULES, _STYLES, _OTHERS, _COPIED = "places", "rules", "styles", "others", "copied"
_BEYOND: Final = "Delete the empty rows and columns beyond the tables, and save it again"
MOST: Final[Mapping[str, tuple[int, str, str]]] = {
    _CELLS: (200_000, "the file has more than {:,} cells", _BEYOND),
    _ROWS: (200_000, "the file has more than {:,} rows", _BEYOND),
    _VALUES: (400_000, "the file has more than {:,} values and formulas", _BEYOND),
    _TEXTS: (400_000, "the file has more than {:,} texts", _BEYOND),
    _MERGED: (100_000, "more than {:,} cells are merged into one", "Undo that and save it again"),
    _LINKED: (100_000, "more than {:,} cells are under one link", "Undo that and save it again"),
    _PLACES: (5_000, "the file has more than {:,} merges and links", "Undo those beyond the tables, and save it again"),
    _RULES: (
        10_000,
        "the file has more than {:,} drop-downs and rules",
        "Clear those beyond the tables, and save it again",
    ),
    _STYLES: (100_000, "its styles have more than {:,} entries", "Copy the tables into a new workbook"),
    _COPIED: (5_000_000, "its copied formulas have more than {:,} letters", _BEYOND),
    _OTHERS: (
        200_000,
        "the file has more than {:,} drawings, notes and the like",
        "Copy the tables into a new workbook",
    ),
}
DAMAGED: Final = "the file is damaged or is no workbook; it must be an .xlsx saved by a spreadsheet program"
_ORDINARY: Final = "save it as an ordinary .xlsx"
_OLD_FORMAT: Final = b"\xd0\xcf\x11\xe0"  # compound file: an .xls, or a workbook behind a password
_STRICT: Final = "http://purl.oclc.org/ooxml/"
_ENCRYPTED: Final = 0x1
BROKEN: Final = (
    zipfile.BadZipFile, zlib.error, LookupError, ValueError, TypeError, AttributeError, OSError, EOFError, SyntaxError,
    NotImplementedError, RuntimeError, ArithmeticError,
)  # fmt: skip  # everything openpyxl and zipfile were seen to raise on damaged files; XML errors are SyntaxError


def workbook_bytes(path: str | Path) -> bytes:
    """Return the content of a workbook, sound enough to be unpacked; the file is closed again before this returns.

    Parameters
    ----------
    path
        The file; it is only read.

    Raises
    ------
    WorkbookError
        No such file, a folder, an empty file, an .xls or a protected file, a damaged one, one that unpacks to more than
        can be read, or one that another program is just writing.
    """
    content, _ = _looked_at(path)
    return content


def sheet_names(path: str | Path) -> tuple[str, ...]:
    """Return the names of the sheets of a workbook; none where it cannot be read.

    Parameters
    ----------
    path
        The file; it is only read.
    """
    try:
        return _looked_at(path)[1]
    except WorkbookError:
        return ()


def lock_of(path: str | Path) -> Path | None:
    """Return the lock file that a spreadsheet program keeps beside a workbook it has open; None where there is none.

    Parameters
    ----------
    path
        The workbook.
    """
    file = Path(path)
    names = (f"~${file.name}", f"~${file.name[2:]}", f".~lock.{file.name}#")
    return next((file.parent / name for name in names if lexists(file.parent / name)), None)


def _looked_at(path: str | Path) -> tuple[bytes, tuple[str, ...]]:
    """Return the content of a workbook and the names of its sheets."""
    file = str(path)
    content = whole_file(path, "an .xlsx workbook", "", MOST_BYTES)
    if not content:
        raise WorkbookError("the file is empty (0 bytes); it must be an .xlsx workbook", where=file)
    if content.startswith(_OLD_FORMAT):
        raise WorkbookError(
            "this is an old .xls workbook or one behind a password; save it as .xlsx without a password", where=file
        )
    if not content.startswith(b"PK"):
        raise WorkbookError("this is no workbook, whatever its name says; it must be an .xlsx workbook", where=file)
    try:
        with zipfile.ZipFile(BytesIO(content)) as parts:
            _require_small(parts, file)
            return content, _require_few(parts, file)
    except WorkbookError:
        raise
    except BROKEN:
        raise WorkbookError(DAMAGED, where=file) from None


def _require_small(parts: zipfile.ZipFile, file: str) -> None:
    """Refuse by the list of parts alone; what a part unpacks to is never more than it says there."""
    listed = parts.infolist()
    if len(listed) > MOST_PARTS:
        raise WorkbookError(
            f"the file holds {len(listed):,} parts; it must be an .xlsx workbook of at most {MOST_PARTS:,}", where=file
        )
    twice = [name for name, count in Counter(part.filename.casefold() for part in listed).items() if count > 1]
    if twice:
        raise WorkbookError(
            f"the file holds its part {twice[0]} more than once; open it in a spreadsheet program and {_ORDINARY}",
            where=file,
        )
    for part in listed:
        if part.flag_bits & _ENCRYPTED:
            raise WorkbookError(f"the file is encrypted; {_ORDINARY} without a password", where=file)
        if part.file_size > LARGEST_PART:
            raise WorkbookError(
                f"its part {part.filename} unpacks to {part.file_size / MEGABYTE:,.0f} MB; at most "
                f"{LARGEST_PART / MEGABYTE:.0f} MB can be read. {_BEYOND}",
                where=file,
            )
    unpacked = sum(part.file_size for part in listed)
    if unpacked > MOST_UNPACKED:
        raise WorkbookError(
            f"the file unpacks to {unpacked / MEGABYTE:,.0f} MB; at most {MOST_UNPACKED / MEGABYTE:.0f} MB can be "
            f"read. {_BEYOND}",
            where=file,
        )


def _require_few(parts: zipfile.ZipFile, file: str) -> tuple[str, ...]:
    """Return the names of the sheets, after everything in all parts was counted as often as it will be read."""
    counts = {name: _Count(parts.read(name)) for name in parts.namelist()}
    if any(one.strict for one in counts.values()):
        raise WorkbookError(
            f"this is a Strict Open XML workbook, which cannot be read; {_ORDINARY} (Excel Workbook)", where=file
        )
    named = {target for name, one in counts.items() for target, _ in _relations(name, one, counts)}
    reached: dict[str, Counter[str] | None] = {}
    total: Counter[str] = Counter()
    for name in sorted(counts, key=named.__contains__):  # what no relation names is read once, if at all
        if name not in reached:
            total += _reached(name, counts, reached)
    for kind, (most, words, remedy) in MOST.items():
        if total[kind] > most:
            raise WorkbookError(f"{words.format(most)}; at most {most:,} can be read. {remedy}", where=file)
    return tuple(name for one in counts.values() for name in one.sheets)


def _relations(name: str, part: "_Count", counts: "Mapping[str, _Count]") -> Iterator[tuple[str, int]]:
    """Yield each part that a part names, and how often it does."""
    folder, own = posixpath.split(name)
    rels = counts.get(posixpath.join(folder, "_rels", f"{own}.rels"))
    for key, target in rels.relations if rels else ():
        inside = target[1:] if target.startswith("/") else posixpath.normpath(posixpath.join(folder, target))
        if inside in counts:
            yield inside, max(1, part.uses[key])


def _reached(name: str, counts: "Mapping[str, _Count]", done: dict[str, Counter[str] | None]) -> Counter[str]:
    """Return what is read with a part: its own things and those of every part it names, as often as it names it."""
    if name not in done:
        done[name] = None
        total = counts[name].found.copy()
        for target, times in _relations(name, counts[name], counts):
            total.update({kind: times * number for kind, number in _reached(target, counts, done).items()})
        done[name] = total
    known = done[name]
    if known is None:
        raise ValueError("a part that names itself in the end")
    return known


_KINDS: Final = {
    "c": _CELLS, "row": _ROWS, "v": _VALUES, "f": _VALUES, "si": _TEXTS, "is": _TEXTS, "t": _TEXTS,
    "dataValidation": _RULES, "conditionalFormatting": _RULES, "cfRule": _RULES, "mergeCell": _PLACES,
    "hyperlink": _PLACES,
}  # fmt: skip
_SPREAD: Final = {"mergeCell": _MERGED, "hyperlink": _LINKED}


class _Enough(Exception):  # noqa: N818  # no error: the count goes no further
    """A part alone has more of something than the whole file may have."""


class _Count:
    """What one part holds, counted as it is parsed; what is no XML holds nothing.

    ``found`` is the number of each kind, ``relations`` the key and target of each relation inside the file, ``uses``
    how often each key is used, ``sheets`` the names of the sheets, ``strict`` whether it is of the strict kind.
    """

    def __init__(self, content: bytes) -> None:
        self.found: Counter[str] = Counter()
        self.uses: Counter[str] = Counter()
        self.relations: list[tuple[str, str]] = []
        self.sheets: list[str] = []
        self.strict = False
        self._root = ""
        self._shared: dict[str, int] = {}
        self._formula: list[str] = []
        self._parser = expat.ParserCreate(namespace_separator=" ")
        self._parser.StartElementHandler = self._start
        self._parser.EntityDeclHandler = _refuse_entity
        try:
            self._parser.Parse(content, True)
        except (expat.ExpatError, _Enough):
            return  # a picture, or damaged from here on: no reader comes further than this

    def _start(self, tag: str, attributes: dict[str, str]) -> None:
        space, _, name = tag.rpartition(" ")
        if not self._root:
            self._root = name
            self.strict = name == "workbook" and space.startswith(_STRICT)
        kind = _STYLES if self._root == "styleSheet" else _KINDS.get(name, _OTHERS)
        count = self.found[kind] = self.found[kind] + 1
        if count > MOST[kind][0]:
            raise _Enough
        if name in ("c", "row", "v"):
            return
        for key, value in attributes.items():
            if key.endswith("relationships id"):
                self.uses[value] += 1
            elif key == "sqref":
                self.found[_RULES] += value.count(" ")
        if name == "f":
            self._copied(attributes)
        elif name in _SPREAD:
            self.found[_SPREAD[name]] += _cells(attributes.get("ref", ""))
        elif name == "sheet" and self._root == "workbook":
            self.sheets.append(attributes.get("name", ""))
        elif name == "Relationship" and attributes.get("TargetMode") != "External":
            self.relations.append((attributes.get("Id", ""), attributes.get("Target", "")))

    def _copied(self, attributes: Mapping[str, str]) -> None:
        """Count the letters of a formula that is copied from another cell: they are gone through for each copy."""
        if attributes.get("t") != "shared":
            return
        key = attributes.get("si", "")
        self.found[_COPIED] += self._shared.get(key, 0)
        self._formula = []
        self._parser.CharacterDataHandler = self._formula.append
        self._parser.EndElementHandler = self._formula_ends(key)

    def _formula_ends(self, key: str) -> Callable[[str], None]:
        def ends(_: str) -> None:
            if length := sum(map(len, self._formula)):
                self._shared.setdefault(key, length)
                self.found[_COPIED] += length
            self._parser.CharacterDataHandler = self._parser.EndElementHandler = None

        return ends


def _cells(ref: str) -> int:
    """Return how many cells a range has; 0 for what is no range, which the reader of workbooks refuses."""
    try:
        left, top, right, bottom = (int(edge or 0) for edge in range_boundaries(ref))
    except (ValueError, TypeError):
        return 0
    return max(0, right - left + 1) * max(0, bottom - top + 1)


def _refuse_entity(*_: object) -> None:
    raise ValueError("an entity of its own")
