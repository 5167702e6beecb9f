"""New files: whole or not at all, and never in the place of another."""

import gc
import os
import re
import sys
import tempfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from datetime import date, datetime
from datetime import time as clock
from io import BytesIO
from pathlib import Path
from time import monotonic, sleep, time
from typing import Any, Final
from uuid import uuid4
from zipfile import ZIP_DEFLATED, ZipFile, ZipInfo

from openpyxl.workbook import Workbook
from openpyxl.writer.excel import ExcelWriter

from basecalc.core.errors import Place, WorkbookError
from basecalc.core.files import reason

_DRAFT: Final = ".basecalc-{}.tmp"
_CLAIM: Final = ".basecalc-{}.lock"
_STALE_S: Final = 3600.0
_PATIENCE_S: Final = 120.0  # a quote takes seconds; own choice
# A program whose own calculation id is greater works every formula out anew as it opens the file; where the worksheet
# functions are missing that turns stored values into #NAME?. This is the id that Excel 2019 and 365 write [memory].
CALCULATION_ID: Final = 191029

# What a font says, in the order that the schema of Open XML wants; openpyxl has its own.
_FONT: Final = re.compile(rb"<font>(.*?)</font>", re.DOTALL)
_PART: Final = re.compile(rb"<(\w+)[^>]*/>")
_FONT_ORDER: Final = b"b i strike u vertAlign sz color name family charset scheme".split()


class Undated(ZipFile):
    """A zip whose parts carry no time, so that the same workbook of the same day is the same bytes."""

    def writestr(self, zinfo_or_arcname: Any, data: Any, *given: Any, **named: Any) -> None:
        """Write a part; fonts in the order of the schema."""
        part = _FONT.sub(_in_order, data) if zinfo_or_arcname == "xl/styles.xml" else data
        super().writestr(zinfo_or_arcname, part, *given, **named)

    def open(self, name: Any, *given: Any, **named: Any) -> Any:
        """Open a part; one to be written gets the zip format's first day."""
        if isinstance(name, ZipInfo):
            name.date_time = (1980, 1, 1, 0, 0, 0)
        return super().open(name, *given, **named)


def _in_order(font: re.Match[bytes]) -> bytes:
    parts = sorted(_PART.finditer(font[1]), key=lambda part: _FONT_ORDER.index(part[1]))
    return b"<font>" + b"".join(part[0] for part in parts) + b"</font>"


def workbook_file(book: Workbook, packing: int = ZIP_DEFLATED) -> bytes:
    """Return the bytes of a workbook as a file; ZIP_STORED where its parts are changed and packed once more."""
    saved = BytesIO()
    book.calculation.calcId, book.calculation.fullCalcOnLoad = CALCULATION_ID, False  # what is stored is what opens
    book.properties.created = book.properties.modified = datetime.combine(date.today(), clock.min)
    try:
        ExcelWriter(book, Undated(saved, "w", packing)).save()
    except OSError as error:
        why = reason(error)
        _forget(error)
        raise WorkbookError(
            f"the workbook cannot be made: {why} in the folder for temporary files", where=tempfile.gettempdir()
        ) from None
    return saved.getvalue()


def _forget(error: OSError) -> None:
    """Let go of a writer that stopped halfway; it fails once more in doing so, of which nobody need hear."""
    told, sys.unraisablehook = sys.unraisablehook, lambda _: None
    try:
        error.__traceback__ = None
        gc.collect()
    finally:
        sys.unraisablehook = told


def write_one(path: Path, content: bytes) -> Path:
    """Write one new file and return where it is."""
    try:
        write_new({path: content})
    except FileExistsError:
        raise WorkbookError(
            "the file exists and is left as it is; choose another name", where=Place(str(path))
        ) from None
    except OSError as error:
        raise WorkbookError(f"the file cannot be written: {reason(error)}", where=Place(str(path))) from None
    return path


def write_new(contents: Mapping[Path, bytes]) -> None:
    """Write files that do not exist yet: all of them, whole, or none."""
    drafts: dict[Path, Path] = {}
    made: list[Path] = []
    try:
        for path, data in contents.items():
            drafts[path] = path.with_name(_DRAFT.format(uuid4().hex))
            with drafts[path].open("xb") as stream:
                stream.write(data)
                stream.flush()
                os.fsync(stream.fileno())
        for path, draft in drafts.items():
            _publish(draft, path)
            made.append(path)
    except BaseException:
        for path in made:
            path.unlink(missing_ok=True)
        raise
    finally:
        for draft in drafts.values():
            draft.unlink(missing_ok=True)


def _publish(draft: Path, path: Path) -> None:
    """Give a finished draft its name, unless that name is taken."""
    try:
        os.link(draft, path)
    except FileExistsError:
        raise
    except OSError:  # a disk without links, as on a memory stick
        if os.name == "nt":
            draft.rename(path)  # which replaces nothing there
            return
        path.open("xb").close()  # the name is taken, then filled at once
        try:
            draft.replace(path)
        except BaseException:
            path.unlink(missing_ok=True)
            raise


@contextmanager
def claimed(folder: Path, name: str) -> Iterator[None]:
    """Hold a name in a folder for this process alone; another one that asks for it waits.

    The claim is a lock of the system on a hidden file, so a process that is killed holds nothing any longer.
    """
    claim, until = folder / _CLAIM.format(name), monotonic() + _PATIENCE_S
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise WorkbookError(f"the folder cannot be made: {reason(error)}", where=Place(str(folder))) from None
    while True:
        try:
            held = os.open(claim, os.O_RDWR | os.O_CREAT, 0o666)
        except OSError as error:
            raise WorkbookError(
                f"the folder cannot be written: {reason(error)}; nothing was written", where=Place(str(folder))
            ) from None
        if _locks(held) and _is(held, claim):
            break
        os.close(held)
        if monotonic() > until:
            raise WorkbookError(
                f"another run of basecalc holds it for {_PATIENCE_S:.0f} s; wait for that run or end it",
                where=Place(str(claim)),
            )
        sleep(0.05)
    try:
        yield
    finally:
        if os.name != "nt":  # there the file goes only after it is closed
            claim.unlink(missing_ok=True)
        os.close(held)
        if os.name == "nt":
            with suppress(OSError):
                claim.unlink(missing_ok=True)


def _locks(held: int) -> bool:
    """Return whether an open file is locked now; a disk that knows no locks never keeps anyone waiting."""
    if sys.platform == "win32":
        import msvcrt

        try:
            msvcrt.locking(held, msvcrt.LK_NBLCK, 1)
        except OSError:
            return False
        return True
    import fcntl

    try:
        fcntl.flock(held, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        return False
    except OSError:
        return True
    return True


def _is(held: int, claim: Path) -> bool:
    """Return whether an open file still has its name, which the run that held it before takes away at its end."""
    try:
        os.utime(claim)
        return os.path.samestat(os.fstat(held), claim.stat())
    except OSError:
        return False


def clear_drafts(folder: Path) -> None:
    """Remove drafts and claims that a killed run left behind; those of the last hour may be another run's."""
    for draft in (*folder.glob(_DRAFT.format("*")), *folder.glob(_CLAIM.format("*"))):
        try:
            if time() - draft.stat().st_mtime > _STALE_S:
                draft.unlink()
        except OSError:
            continue  # another run was quicker, or it is not ours to remove
