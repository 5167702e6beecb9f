"""New files: whole or not at all, and never in the place of another."""

import gc
import os
import sys
import tempfile
from collections.abc import Mapping
from io import BytesIO
from pathlib import Path
from time import time
from typing import Final
from uuid import uuid4

from openpyxl.workbook import Workbook

from basecalc.errors import WorkbookError
from basecalc.files import reason

_DRAFT: Final = ".basecalc-{}.tmp"
_STALE_S: Final = 3600.0
# A program whose own calculation id is greater works every formula out anew as it opens the file; where the worksheet
# functions are missing that turns stored values into #NAME?. This is the id that Excel 2019 and 365 write [memory].
CALCULATION_ID: Final = 191029


def workbook_file(book: Workbook) -> bytes:
    """Return the bytes of a workbook as a file.

    Parameters
    ----------
    book
        The workbook.

    Raises
    ------
    WorkbookError
        There is no room for the temporary files that are needed on the way.
    """
    saved = BytesIO()
    book.calculation.calcId, book.calculation.fullCalcOnLoad = CALCULATION_ID, False  # what is stored is what opens
    try:
        book.save(saved)
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
    """Write one new file and return where it is.

    Parameters
    ----------
    path
        Where it goes; what is there already is never replaced.
    content
        Its bytes.

    Raises
    ------
    WorkbookError
        The file exists or cannot be written; nothing is left behind.
    """
    try:
        write_new({path: content})
    except FileExistsError:
        raise WorkbookError("the file exists and is left as it is; choose another name", where=str(path)) from None
    except OSError as error:
        raise WorkbookError(f"the file cannot be written: {reason(error)}", where=str(path)) from None
    return path


def write_new(contents: Mapping[Path, bytes]) -> None:
    """Write files that do not exist yet: all of them, whole, or none.

    Parameters
    ----------
    contents
        The bytes of each file.

    Raises
    ------
    FileExistsError
        One of them exists; it is left alone and none is written.
    OSError
        One cannot be written; none is left behind.
    """
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


def clear_drafts(folder: Path) -> None:
    """Remove drafts that a run left behind when it was killed; those of the last hour may be another run's.

    Parameters
    ----------
    folder
        Where quotes are kept.
    """
    for draft in folder.glob(_DRAFT.format("*")):
        try:
            if time() - draft.stat().st_mtime > _STALE_S:
                draft.unlink()
        except OSError:
            continue  # another run was quicker, or it is not ours to remove
