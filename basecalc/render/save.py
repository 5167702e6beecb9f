"""Finished files reach the disk whole, all of a revision together, and never in the place of another.

Change orders likewise, each under the next free number of its quote. The latest finished quote of a number in a folder:
whose it is, and what has changed since it was made.
"""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal, InvalidOperation
from pathlib import Path
from typing import Any, Final, TypeVar
from unicodedata import normalize

from basecalc.core.errors import BasecalcError, Place, WorkbookError
from basecalc.core.files import reason
from basecalc.core.words import money
from basecalc.job import Job
from basecalc.pricing.archive import (
    CHANGE_TITLE,
    change_tables,
    kept_job,
    kept_tables,
    quoted_tables,
    toml_lines,
    toml_tables,
)
from basecalc.pricing.changes import ChangeOrder
from basecalc.pricing.records import Quote
from basecalc.render.change_order import ChangeMark, change_crew_file, change_file, change_office_file
from basecalc.render.client import client_file
from basecalc.render.crew import crew_file
from basecalc.render.office import office_file
from basecalc.report import report
from basecalc.workbook.new_file import clear_drafts, write_new

KINDS: Final = ("office", "crew", "quote")  # the client's last: where it is there, its revision is complete
_LONGEST_STEM: Final = 200  # bytes; a file name has 255 on most disks
# What Windows takes for a device whatever follows the dot; of a number without a dot more follows before it.
_DEVICE: Final = re.compile(r"(?:con|prn|aux|nul|conin\$|conout\$|(?:com|lpt)[0-9¹²³])", re.IGNORECASE)
_TRIES: Final = 50  # others may be writing revisions of the same quote at the same time
_Files = TypeVar("_Files")


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
    made = report(quote)
    return save_pair(
        Path(out_dir), quote.job.number,
        lambda revision: {
            "quote": client_file(made, revision), "office": office_file(made, revision),
            "crew": crew_file(made, revision)
        }
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

    def write(revision: int) -> QuoteFiles:
        files, contents = revision_files(folder, number, revision), build(revision)
        paths = {"office": files.office, "crew": files.crew, "quote": files.client}
        write_new({paths[kind]: contents[kind] for kind in KINDS})
        return files

    return _numbered(folder, f"quote {number}", lambda: next_revision(folder, number), write)


def _numbered(folder: Path, what: str, first: Callable[[], int], write: Callable[[int], _Files]) -> _Files:
    """Make the folder, and return what was written in it under the first free number."""
    where = Place(str(folder))
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        words = f"the folder cannot be made: {reason(error)}; {what} cannot be written there"
        raise WorkbookError(words, where=where) from None
    clear_drafts(folder)
    free = first()
    for place in range(free, free + _TRIES):
        try:
            return write(place)
        except FileExistsError:
            continue
        except OSError as error:
            words = f"{what} cannot be written there: {reason(error)}; nothing was written"
            raise WorkbookError(words, where=where) from None
    raise WorkbookError(f"no free number for {what} after {_TRIES} tries", where=where)


@dataclass(frozen=True, slots=True)
class ChangeFiles:
    """The workbooks of one change order for client, office and crew, and its number.

    Parameters
    ----------
    client, office, crew
        The files written.
    place
        Which change order of the quote this is, from 1.
    """

    client: Path
    office: Path
    crew: Path
    place: int


def write_change(order: ChangeOrder, out_dir: str | Path, day: date | None = None) -> ChangeFiles:
    """Write the workbooks of a change order under its next free number: all or none.

    Parameters
    ----------
    order
        The change.
    out_dir
        The folder for them; made if it is not there.
    day
        The day it is written; today where it is left out.

    Raises
    ------
    WorkbookError
        The folder cannot be made or written; nothing is left behind.
    """
    folder, number = Path(out_dir), order.signed.job.number
    stem = f"{file_stem(number)}-r{order.revision}-change"

    def write(place: int) -> ChangeFiles:
        mark, files = ChangeMark(place, day or date.today()), _files(folder, stem, place)
        contents = {files.office: change_office_file, files.crew: change_crew_file, files.client: change_file}
        write_new({path: build(order, mark) for path, build in contents.items()})
        return files

    return _numbered(folder, f"the change order of quote {number}", lambda: _next(folder, stem), write)


def same_change(order: ChangeOrder, folder: Path) -> ChangeFiles | None:
    """Return the latest change order of a quote in a folder where it says the same as a new one; else None."""
    stem = f"{file_stem(order.signed.job.number)}-r{order.revision}-change"
    place = _next(folder, stem) - 1 if folder.is_dir() else 0
    files = _files(folder, stem, place)
    if not place or not all(map(holds_something, (files.office, files.crew, files.client))):
        return None
    try:
        kept = _change_said(quoted_tables(files.office, CHANGE_TITLE))
        new = toml_tables(toml_lines(change_tables(order, place, date.today())))
        return files if kept == _change_said(new) else None
    except BasecalcError:
        return None  # it cannot be read, so nobody knows that it is the same


def _change_said(tables: Mapping[str, Any]) -> dict[str, Any]:
    """Return what a change order says, whenever and by whichever version it was written."""
    return {**tables, "change": {**tables["change"], "basecalc": "", "written": ""}}


def _files(folder: Path, stem: str, place: int) -> ChangeFiles:
    client, office, crew = (folder / f"{stem}{place}{kind}.xlsx" for kind in ("", "-office", "-crew"))
    return ChangeFiles(client, office, crew, place)


def _next(folder: Path, stem: str) -> int:
    name = re.compile(re.escape(stem) + r"(\d{1,6})(-office|-crew)?\.xlsx", re.IGNORECASE)
    found = [int(match[1]) for entry in folder.iterdir() if (match := name.fullmatch(entry.name))]
    return max(found, default=0) + 1


def office_files(folder: Path, number: str = "") -> list[tuple[Path, int]]:
    """Return the office files of quotes in a folder, each with its revision, by name and revision."""
    stem = re.escape(file_stem(number)) if number else r".+"
    name = re.compile(rf"({stem})-r(\d{{1,6}})-office\.xlsx", re.IGNORECASE)
    try:
        found = [(match, entry) for entry in folder.iterdir() if (match := name.fullmatch(entry.name))]
    except OSError as error:
        raise WorkbookError(f"the folder cannot be read: {reason(error)}", where=Place(str(folder))) from None
    found.sort(key=lambda one: (one[0][1].casefold(), int(one[0][2])))
    return [(entry, int(match[2])) for match, entry in found if not entry.name.startswith("~$")]


JOB: Final = "the job"
PRICES: Final = "the prices"
PROGRAM: Final = "basecalc itself"
_PRICED_BY: Final = ("company", "prices")


@dataclass(frozen=True, slots=True)
class LastQuote:
    """The latest finished revision of a quote, by what its office file keeps."""

    files: QuoteFiles
    name: str
    tables: Mapping[str, Any]
    unread: str = ""

    def other_client(self, job: Job) -> str:
        """Return whose quote it is, where that is not the client and the site of a job."""
        return other_client(self.tables, job)

    def changes(self, quote: Quote) -> tuple[str, ...]:
        """Return what is not as it was when the quote was made; nothing where it would be the same quote again."""
        try:
            now = toml_tables(toml_lines(kept_tables(quote, self.files.revision)))
            was = kept_job(self.tables, str(self.files.office))
        except BasecalcError:
            return (JOB,)
        found = [] if replace(was, source_path="") == replace(quote.job, source_path="") else [JOB]
        if any(self.tables.get(key) != now.get(key) for key in _PRICED_BY):
            found.append(PRICES)
        if not found and (self._said("offered"), self.total) != (quote.offered, quote.offer.total):
            found.append(PROGRAM)
        return tuple(found)

    def since(self, quote: Quote) -> str:
        """Return what changed since and what it does to the price; nothing where the client would get the same."""
        if self.unread:
            return f"whether {self.name} is still what the job comes to cannot be seen: {self.unread}"
        found = [one for one in self.changes(quote) if one == JOB or self.total != quote.offer.total]
        if not found:
            return ""
        then = "" if self.total is None else money(self.total)
        moved = (
            f"{then} then, {money(quote.offer.total)} now" if self.total != quote.offer.total else f"{then} as before"
        )
        return (
            f"{' and '.join(found)} changed since {self.name} was quoted ({moved}); it is left as it is. Quote it "
            "without --only-new for a new revision"
        )

    @property
    def total(self) -> Decimal | None:
        """Its total; None where the office file does not say it."""
        try:
            return Decimal(str(self._said("total")))
        except InvalidOperation:
            return None

    def _said(self, key: str) -> Any:
        head = self.tables.get("quote")
        return head.get(key) if isinstance(head, Mapping) else None


def other_client(tables: Mapping[str, Any], job: Job) -> str:
    """Return client and site of a kept quote where they are not those of a job; nothing where they are."""
    kept = tables.get("job")
    if not isinstance(kept, Mapping):
        return ""
    client, site = str(kept.get("client", "")), str(kept.get("site", ""))
    return "" if _plain(client, site) == _plain(job.client, job.site) else f"{client}, {site}"


def _plain(*words: str) -> list[str]:
    """Return words as they are compared: without regard to case, spaces and points."""
    return [" ".join(word.replace(".", " ").replace(",", " ").split()).casefold() for word in words]


def last_quote(folder: Path, number: str) -> LastQuote | None:
    """Return the latest finished revision of a quote number in a folder; None where there is none."""
    revision = last_finished(folder, number)
    if not revision:
        return None
    files, name = revision_files(folder, number, revision), f"{number}-r{revision}"
    try:
        return LastQuote(files, name, quoted_tables(files.office))
    except BasecalcError as refusal:
        return LastQuote(files, name, {}, str(refusal))
