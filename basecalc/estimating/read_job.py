"""A filled estimating workbook becomes a job, or sentences that say what is wrong with it, each with sheet and cell."""

import re
from collections.abc import Iterable
from pathlib import Path
from typing import Final

from basecalc.core.errors import BasecalcError, KeyPath
from basecalc.core.numbers import words
from basecalc.estimating.sheet_cells import SheetJob
from basecalc.estimating.sheet_mapping import named_key, sheet_job
from basecalc.estimating.tables import AREAS, GROUND, JOB_ENTRIES, START_SHEET
from basecalc.job import Job
from basecalc.job import load_job as load_job_file
from basecalc.job.fields import AREA
from basecalc.job.read import checked_job
from basecalc.tables.from_workbook import open_book, sheet_names

WORKBOOKS: Final = frozenset({".xlsx", ".xlsm"})
_TABLE: Final = re.compile(r"(area|spot) (\d+)")
_READING: Final = re.compile(r"reading (\d+)$")
_LOG_ROW: Final = re.compile(r"row (\d+)$")
_SHEET: Final = re.compile(r"sheet (.+), cell")
# What a sheet calls what a job file has a key for, where they differ.
_LABELS: Final = {
    START_SHEET: {words(one.key): one.label for one in JOB_ENTRIES if words(one.key) != one.label},
    **{
        table.sheet: {words(one.key): one.name for one in table.columns if words(one.key) != one.name}
        for table in (GROUND, AREAS)
    },
}
_LABELS[AREAS.sheet]["group"] = "frost group"  # the key in a job file's table of frost
# What the geometry calls a size, and the key that says it.
_SHAPE_WORDS: Final = {
    "side": "sides", "opposite side": "parallel_sides", "leg": "legs", "other leg": "legs", "corner": "points",
    "the outline": "points", "a polygon": "points", "x of corner": "points", "y of corner": "points",
}  # fmt: skip


def load_job(path: str | Path) -> Job:
    """Return the job in a file: a job file, or a filled estimating workbook.

    Parameters
    ----------
    path
        A ``.toml`` file or a workbook (``.xlsx``, ``.xlsm``); it is only read.

    Raises
    ------
    WorkbookError
        There is no such file, or it cannot be read.
    InputError, OutOfRangeError
        The first thing that is wrong in it.
    """
    return read_job_sheets(path) if is_workbook(path) else load_job_file(path)


def is_workbook(path: str | Path) -> bool:
    """Return whether a file is a workbook, by its ending."""
    return Path(path).suffix.casefold() in WORKBOOKS


def read_job_sheets(path: str | Path) -> Job:
    """Return the job in a filled estimating workbook."""
    opened = open_book(path)
    job, wrong = _checked(sheet_job(opened), opened.file)
    if job is None:
        raise wrong[0]
    return job


def job_sheet_problems(path: str | Path, *, begun: bool = False) -> list[BasecalcError]:
    """Return everything that is wrong with the job in a filled workbook, at once, sheet by sheet."""
    try:
        opened = open_book(path)
    except BasecalcError as unreadable:
        return [unreadable]
    made = sheet_job(opened)
    if begun and made.data and not made.data["area"] and not made.data["spot"]:
        return []
    return _checked(made, opened.file)[1]


def has_job(path: str | Path) -> bool:
    """Return whether a job was begun in a workbook that has the sheets of one: an area or a reading is there."""
    made = sheet_job(open_book(path))
    return bool(made.data and (made.data["area"] or made.data["spot"]))


def holds_job(path: Path) -> bool:
    """Return whether a workbook has the sheets of a job, by their names alone."""
    listed = {name.strip().casefold() for name in sheet_names(path)}
    return {GROUND.sheet.casefold(), AREAS.sheet.casefold()} <= listed


def _checked(made: SheetJob, file: str) -> tuple[Job | None, list[BasecalcError]]:
    if not made.data:
        return None, made.wrong
    job, wrong = checked_job(made.data, file, made.place)
    told = {error.where for error in made.wrong}
    placed = [_placed(error, file, made) for error in wrong]
    everything = [*made.wrong, *(_as_labelled(error) for error in placed if error.where not in told)]
    return (None if everything else job), everything


def _as_labelled(error: BasecalcError) -> BasecalcError:
    """Return a refusal of a cell with what the sheet calls it in the place of the key of a job file."""
    sheet = _SHEET.search(error.where)
    for key, label in sorted(_LABELS.get(sheet[1] if sheet else "", {}).items(), key=lambda one: -len(one[0])):
        if error.sentence.startswith(f"{key} is "):
            return type(error)(label + error.sentence.removeprefix(key), where=error.where)
    return error


def _placed(error: BasecalcError, file: str, made: SheetJob) -> BasecalcError:
    """Return a refusal with the cell it is about in the place of the table of a job file."""
    rest = error.where.removeprefix(f"{file}, ")
    found = _TABLE.match(rest)
    if not found:
        return error  # it names its cell already
    path: KeyPath = (found[1], int(found[2]) - 1)
    reading, log_row = _READING.search(rest), _LOG_ROW.search(rest)
    if log_row and found[1] == "spot":
        return type(error)(error.sentence, where=made.log_place(int(found[2]) - 1, int(log_row[1]), error.sentence))
    if reading and found[1] == "spot":
        path = (*path, "readings", int(reading[1]) - 1)
        key = named_key(error.sentence, tuple(column.key for column in GROUND.columns))
    elif "bottom of the base" in error.sentence:
        key = "base_bottom"
    else:
        key = _key(error.sentence, AREA.keys)
    return type(error)(error.sentence, where=made.place((*path, key)))


def _key(sentence: str, keys: Iterable[str]) -> str:
    found = named_key(sentence, tuple(keys)) or named_key(sentence, tuple(_SHAPE_WORDS))
    return _SHAPE_WORDS.get(found, found)
