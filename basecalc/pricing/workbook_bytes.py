"""The bytes of a workbook, taken whole and looked at before anything in them is unpacked or trusted."""

import re
import zipfile
import zlib
from io import BytesIO
from pathlib import Path
from typing import Final

from openpyxl.utils import range_boundaries

from basecalc.errors import WorkbookError
from basecalc.files import reason

MEGABYTE: Final = 1_000_000
LARGEST_PART: Final = 20 * MEGABYTE  # some 200,000 cells; a filled workbook of ours has 10,000
MOST_PARTS: Final = 5_000
MOST_MERGED: Final = 100_000  # cells; each is made one by one
DAMAGED: Final = "the file is damaged or is no workbook; it must be an .xlsx saved by a spreadsheet program"
_OLD_FORMAT: Final = b"\xd0\xcf\x11\xe0"  # compound file: an .xls, or a workbook behind a password
BROKEN: Final = (
    zipfile.BadZipFile, zlib.error, LookupError, ValueError, TypeError, AttributeError, OSError, EOFError, SyntaxError,
    NotImplementedError, RuntimeError, ArithmeticError,
)  # fmt: skip  # everything openpyxl and zipfile were seen to raise on damaged files; XML errors are SyntaxError
_SPREAD: Final = re.compile(rb"<(?:\w+:)?(mergeCell|hyperlink)\b[^>]*?\bref=[\"']([^\"']+)[\"']")
_TRIES: Final = 3


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
    file = str(path)
    content = _read(Path(path), file)
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
    except WorkbookError:
        raise
    except BROKEN:
        raise WorkbookError(DAMAGED, where=file) from None
    return content


def lock_of(path: str | Path) -> Path | None:
    """Return the lock file that a spreadsheet program keeps beside a workbook it has open; None where there is none.

    Parameters
    ----------
    path
        The workbook.
    """
    file = Path(path)
    for name in (f"~${file.name}", f"~${file.name[2:]}", f".~lock.{file.name}#"):
        if (lock := file.with_name(name)).exists():
            return lock
    return None


def _read(path: Path, file: str) -> bytes:
    if path.is_dir():
        raise WorkbookError("this is a folder; it must be an .xlsx workbook", where=file)
    try:
        for _ in range(_TRIES):
            before = path.stat()
            content = path.read_bytes()
            after = path.stat()
            unchanged = (before.st_mtime_ns, before.st_size) == (after.st_mtime_ns, len(content))
            if unchanged and after.st_size == len(content):
                return content
    except FileNotFoundError:
        raise WorkbookError("there is no such file", where=file) from None
    except OSError as error:
        raise WorkbookError(
            f"the file cannot be read ({reason(error)}); close it elsewhere and try again", where=file
        ) from None
    raise WorkbookError("the file is being written by another program; try again when it is done", where=file)


def _require_small(parts: zipfile.ZipFile, file: str) -> None:
    listed = parts.infolist()
    if len(listed) > MOST_PARTS:
        raise WorkbookError(
            f"the file holds {len(listed):,} parts; it must be an .xlsx workbook of at most {MOST_PARTS:,}", where=file
        )
    for part in listed:
        if not part.filename.casefold().endswith((".xml", ".rels", ".vml")):
            continue
        if part.file_size > LARGEST_PART:
            raise WorkbookError(
                f"its part {part.filename} unpacks to {part.file_size / MEGABYTE:,.0f} MB; at most "
                f"{LARGEST_PART / MEGABYTE:.0f} MB can be read. Delete the empty rows and columns beyond the tables, "
                "and save it again",
                where=file,
            )
        if part.filename.startswith("xl/worksheets/") and part.file_size:
            _require_unspread(parts.read(part), part.filename, file)


def _require_unspread(sheet: bytes, name: str, file: str) -> None:
    if sheet.startswith((b"\xff\xfe", b"\xfe\xff")):
        sheet = sheet.decode("utf-16", "replace").encode()
    for kind, ref in _SPREAD.findall(sheet):
        try:
            left, top, right, bottom = (int(edge or 0) for edge in range_boundaries(ref.decode("ascii")))
        except (ValueError, TypeError, UnicodeDecodeError):
            continue  # no place at all: the reader of workbooks refuses it
        cells = (right - left + 1) * (bottom - top + 1)
        if cells > MOST_MERGED:
            what = "merged into one" if kind == b"mergeCell" else "under one link"
            raise WorkbookError(
                f"{cells:,} cells of {name} ({ref.decode('ascii')}) are {what}; at most {MOST_MERGED:,} can be read. "
                "Undo that and save it again",
                where=file,
            )
