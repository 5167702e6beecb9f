"""A whole file from the disk, and why one could not be read or written."""

from math import inf
from pathlib import Path

from basecalc.errors import WorkbookError


def reason(error: OSError | ValueError) -> str:
    """Return why a file could not be read or written, in the system's own words."""
    if not isinstance(error, OSError):
        return "no file can have such a name"
    return (error.strerror or str(error)).lower()


def whole_file(path: str | Path, wanted: str, holds: str, most_bytes: float = inf) -> bytes:
    """Return what stands in a file; it is only read.

    Parameters
    ----------
    path
        The file.
    wanted
        What it must be, for a refusal, such as 'a job file (.toml)'.
    holds
        What must stand in it, for a refusal.
    most_bytes
        How large it may be [bytes].

    Raises
    ------
    WorkbookError
        There is no such file, it is a folder, it cannot be read, it is empty or too large.
    """
    file, where = Path(path), str(path)
    try:
        folder, size = file.is_dir(), file.stat().st_size
        content = file.read_bytes() if not folder and size <= most_bytes else b""
    except FileNotFoundError:
        raise WorkbookError("there is no such file", where=where) from None
    except (OSError, ValueError) as error:  # ValueError: a name that no file can have
        raise WorkbookError(f"the file cannot be read ({reason(error)})", where=where) from None
    if folder:
        raise WorkbookError(f"this is a folder; it must be {wanted}", where=where)
    if size > most_bytes:
        raise WorkbookError(
            f"the file has {size / 1e6:.1f} MB; it must be {wanted} of at most {most_bytes / 1e6:.0f} MB", where=where
        )
    if not content.strip():
        raise WorkbookError(f"the file is empty; it must hold {holds}", where=where)
    return content
