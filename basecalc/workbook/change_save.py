"""Change orders reach the disk whole, each under the next free number of its quote, and never replace one."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any, Final

from basecalc.core.errors import BasecalcError, WorkbookError
from basecalc.core.files import reason
from basecalc.pricing.archive import CHANGE_TITLE, change_tables, quoted_tables, toml_lines, toml_tables
from basecalc.pricing.changes import ChangeOrder
from basecalc.workbook.change_client import ChangeMark, change_file
from basecalc.workbook.change_office import change_office_file
from basecalc.workbook.crew import crew_file
from basecalc.workbook.new_file import write_new
from basecalc.workbook.save import file_stem, holds_something

_DAY: Final = re.compile(r"\d{4}-\d{2}-\d{2}")
_TRIES: Final = 50  # others may be writing change orders of the same quote at the same time


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
    try:
        folder.mkdir(parents=True, exist_ok=True)
        place = _next(folder, stem)
        for _ in range(_TRIES):
            mark = ChangeMark(place, day or date.today())
            files = _files(folder, stem, place)
            contents = {
                files.office: change_office_file(order, mark),
                files.crew: crew_file(order.found, order.revision),
                files.client: change_file(order, mark),
            }
            try:
                write_new(contents)
            except FileExistsError:
                place += 1
                continue
            return files
    except OSError as error:
        raise WorkbookError(
            f"the change order of quote {number} cannot be written there: {reason(error)}; nothing was written",
            where=str(folder),
        ) from None
    raise WorkbookError(f"no free number for a change order of quote {number} after {_TRIES} tries", where=str(folder))


def same_change(order: ChangeOrder, folder: Path) -> ChangeFiles | None:
    """Return the latest change order of a quote in a folder where it says the same as a new one; else None."""
    stem = f"{file_stem(order.signed.job.number)}-r{order.revision}-change"
    place = _next(folder, stem) - 1 if folder.is_dir() else 0
    files = _files(folder, stem, place)
    if not place or not all(map(holds_something, (files.office, files.crew, files.client))):
        return None
    try:
        kept = _said(quoted_tables(files.office, CHANGE_TITLE))
        return files if kept == _said(toml_tables(toml_lines(change_tables(order, place, date.today())))) else None
    except BasecalcError:
        return None  # it cannot be read, so nobody knows that it is the same


def _said(tables: Mapping[str, Any]) -> dict[str, Any]:
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
        raise WorkbookError(f"the folder cannot be read: {reason(error)}", where=str(folder)) from None
    found.sort(key=lambda one: (one[0][1].casefold(), int(one[0][2])))
    return [(entry, int(match[2])) for match, entry in found if not entry.name.startswith("~$")]
