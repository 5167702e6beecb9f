"""A whole file from the disk, and why one could not be read or written: the one door for bytes that others wrote."""

import stat
from pathlib import Path
from typing import Final

from basecalc.core.errors import Place, WorkbookError

_TRIES: Final = 3


def reason(error: OSError | ValueError) -> str:
    """Return why a file could not be read or written, in the system's own words."""
    if not isinstance(error, OSError):
        return "no file can have such a name"
    return (error.strerror or str(error)).lower()


def whole_file(path: str | Path, wanted: str, holds: str, most_bytes: int) -> bytes:
    """Return what a file holds; it is only read."""
    file, where = Path(path), Place(str(path))
    try:
        kind = file.stat().st_mode
        content = _read(file, most_bytes) if stat.S_ISREG(kind) else b""
        size = file.stat().st_size
    except FileNotFoundError:
        raise WorkbookError("there is no such file", where=where) from None
    except OSError as error:
        raise WorkbookError(
            f"the file cannot be read ({reason(error)}); close it elsewhere and try again", where=where
        ) from None
    except ValueError as error:  # a name that no file can have
        raise WorkbookError(f"the file cannot be read ({reason(error)})", where=where) from None
    if stat.S_ISDIR(kind):
        raise WorkbookError(f"this is a folder; it must be {wanted}", where=where)
    if not stat.S_ISREG(kind):
        raise WorkbookError(f"this is a pipe or a device, not a file; it must be {wanted}", where=where)
    if content is None:
        raise WorkbookError("the file is being written by another program; try again when it is done", where=where)
    if len(content) > most_bytes:
        raise WorkbookError(
            f"the file has {max(size, len(content)) / 1e6:,.1f} MB; it must be {wanted} of at most "
            f"{most_bytes / 1e6:.0f} MB",
            where=where,
        )
    if holds and not content.strip():
        raise WorkbookError(f"the file is empty; it must hold {holds}", where=where)
    return content


def _read(file: Path, most_bytes: int) -> bytes | None:
    """Return the content, or one byte more than allowed; None where it never was the same before and after."""
    for _ in range(_TRIES):
        before = file.stat()
        with file.open("rb") as stream:
            content = stream.read(most_bytes + 1)
        after = file.stat()
        settled = (before.st_mtime_ns, before.st_size) == (after.st_mtime_ns, after.st_size)
        if len(content) > most_bytes or (settled and after.st_size == len(content)):
            return content
    return None
