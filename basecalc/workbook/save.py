"""Finished files reach the disk whole, all of a revision together, and never in the place of another."""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Final
from unicodedata import normalize

from basecalc.core.errors import Place, WorkbookError
from basecalc.core.files import reason
from basecalc.pricing.records import Quote
from basecalc.workbook.client import client_file
from basecalc.workbook.crew import crew_file
from basecalc.workbook.new_file import clear_drafts, write_new
from basecalc.workbook.office import office_file

KINDS: Final = ("office", "crew", "quote")  # the client's last: where it is there, its revision is complete
_LONGEST_STEM: Final = 200  # bytes; a file name has 255 on most disks
# What Windows takes for a device whatever follows the dot; of a number without a dot more follows before it.
_DEVICE: Final = re.compile(r"(?:con|prn|aux|nul|conin\$|conout\$|(?:com|lpt)[0-9¹²³])", re.IGNORECASE)
_TRIES: Final = 50  # others may be writing revisions of the same quote at the same time


@dataclass(frozen=True, slots=True)
class QuoteFiles:
    """The workbooks of one revision of a quote: for the client, the office and the crew.

    Parameters
    ----------
    client, office, crew
        The files written.
    revision
        The number of the revision, from 1.
    """

    client: Path
    office: Path
    revision: int
    crew: Path


def write_quote(quote: Quote, out_dir: str | Path) -> QuoteFiles:
    """Write the workbooks of a quote for client, office and crew under its next free revision: all or none.

    Parameters
    ----------
    quote
        The priced job.
    out_dir
        The folder for them; made if it is not there.

    Raises
    ------
    WorkbookError
        The folder cannot be made or written; nothing is left behind.
    """
    return save_pair(
        Path(out_dir),
        quote.job.number,
        lambda revision: {
            "quote": client_file(quote, revision),
            "office": office_file(quote, revision),
            "crew": crew_file(quote, revision),
        },
    )


def file_stem(number: str) -> str:
    """Return a quote number as a file name can hold it on any system.

    Examples
    --------
    >>> file_stem("24/017 B"), file_stem("../../etc/passwd"), file_stem("con.7")
    ('24-017-B', 'etc-passwd', 'quote-con.7')
    """
    stem = re.sub(r"[^\w.-]+", "-", normalize("NFC", number)).strip("-. ")[:80]
    while len(stem.encode()) > _LONGEST_STEM:
        stem = stem[:-1]
    stem = stem.rstrip("-. ") or "quote"
    return f"quote-{stem}" if _DEVICE.fullmatch(stem.partition(".")[0]) else stem


def next_revision(folder: Path, number: str) -> int:
    """Return the first revision that no file of the folder has or has had a later one of."""
    return max(_revisions(folder, number), default=0) + 1


def _revisions(folder: Path, number: str) -> dict[int, list[str]]:
    """Return the revisions that files of a quote have in a folder, each with the kinds that hold anything."""
    name = re.compile(re.escape(file_stem(number)) + rf"-r(\d{{1,6}})-({'|'.join(KINDS)})\.xlsx", re.IGNORECASE)
    found: dict[int, list[str]] = {}
    try:
        for entry in folder.iterdir():
            if match := name.fullmatch(entry.name):
                kinds = found.setdefault(int(match[1]), [])
                if holds_something(entry):
                    kinds.append(match[2].lower())
    except OSError as error:
        raise WorkbookError(f"the folder cannot be read: {reason(error)}", where=Place(str(folder))) from None
    return found


def holds_something(path: Path) -> bool:
    """Return whether there is such a file and it is not empty, as one is whose writing was cut off."""
    try:
        return path.stat().st_size > 0
    except OSError:
        return False


def last_finished(folder: Path, number: str) -> int:
    """Return the latest revision of a quote that was finished, which its client's file shows; 0 where there is none."""
    if not folder.is_dir():
        return 0
    return max((place for place, kinds in _revisions(folder, number).items() if KINDS[-1] in kinds), default=0)


def is_quoted(folder: Path, number: str) -> bool:
    """Return whether a folder holds a finished quote with this number."""
    return last_finished(folder, number) > 0


def is_finished(office: Path) -> bool:
    """Return whether the revision of an office file was finished: the client's file, written last, is beside it."""
    return holds_something(client_of(office))


def client_of(office: Path) -> Path:
    """Return where the client's file of an office's file is."""
    return office.with_name(re.sub(r"-office(\.xlsx)$", rf"-{KINDS[-1]}\1", office.name, flags=re.IGNORECASE))


def revision_files(folder: Path, number: str, revision: int) -> QuoteFiles:
    """Return where the files of a revision are."""
    paths = {kind: folder / f"{file_stem(number)}-r{revision}-{kind}.xlsx" for kind in KINDS}
    return QuoteFiles(paths["quote"], paths["office"], revision, paths["crew"])


def save_pair(folder: Path, number: str, build: Callable[[int], Mapping[str, bytes]]) -> QuoteFiles:
    """Write the files of a quote under its next free revision: all or none."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise WorkbookError(f"the folder cannot be made: {reason(error)}", where=Place(str(folder))) from None
    clear_drafts(folder)
    revision = next_revision(folder, number)
    for _ in range(_TRIES):
        files = revision_files(folder, number, revision)
        paths = {"office": files.office, "crew": files.crew, "quote": files.client}
        contents = build(revision)
        try:
            write_new({paths[kind]: contents[kind] for kind in KINDS})
        except FileExistsError:
            revision += 1
            continue
        except OSError as error:
            raise WorkbookError(
                f"quote {number} cannot be written there: {reason(error)}; nothing was written",
                where=Place(str(folder)),
            ) from None
        return files
    raise WorkbookError(f"no free revision of quote {number} after {_TRIES} tries", where=Place(str(folder)))
