"""A job file becomes a job, or one sentence that says what is wrong with it and where."""

import tomllib
from collections.abc import Callable, Mapping
from copy import deepcopy
from dataclasses import replace
from difflib import get_close_matches
from pathlib import Path
from typing import Any, Final

from pydantic import BaseModel, ValidationError

from basecalc.checks import counted, shown
from basecalc.errors import BasecalcError, InputError, OutOfRangeError, WorkbookError
from basecalc.files import whole_file
from basecalc.job.build import build_areas, build_spots, numbered
from basecalc.job.fields import AreaFields, FileFields, JobTable, ReadingFields, SpotFields
from basecalc.job.findings import HoleFields, SeenFields
from basecalc.job.frost import ClimateFields, FrostFields, climate
from basecalc.job.logs import LogRowFields
from basecalc.job.record import Job
from basecalc.validation import Place, refusals, words

_TABLES: Final[Mapping[str, type[BaseModel]]] = {"job": JobTable, "area": AreaFields, "spot": SpotFields}
_INNER: Final[Mapping[str, type[BaseModel]]] = {
    "readings": ReadingFields,
    "log_rows": LogRowFields,
    "frost": FrostFields,
    "climate": ClimateFields,
    "old_pavement_seen": SeenFields,
    "test_holes": HoleFields,
}
_LISTS: Final = ("job", "area", "spot", "readings", "log_rows", "notes", "points", "old_pavement_seen", "test_holes")
MOST_BYTES: Final = 5_000_000
# How many of each a job may have; the work grows with them, and no driveway comes near.
MOST: Final[Mapping[str, int]] = {"area": 200, "spot": 1_000, "reading": 2_000, "note": 200}
_MADE: Final = ("soil", "notes", "climate", "walked")  # keys of [job] that do not become fields of the job as they are


def load_job(path: str | Path) -> Job:
    """Return the job in a file.

    Parameters
    ----------
    path
        A ``.toml`` file; it is only read.

    Raises
    ------
    WorkbookError
        There is no such file, or it cannot be read.
    InputError, OutOfRangeError
        The first thing that is wrong in it.
    """
    return parse_job(read_job_file(path), str(path))


def read_job_file(path: str | Path) -> Mapping[str, Any]:
    """Return what stands in a job file, not yet checked.

    Parameters
    ----------
    path
        A ``.toml`` file; it is only read.

    Raises
    ------
    WorkbookError
        There is no such file, it is a folder, it is empty, or it is not TOML.
    """
    where = str(path)
    content = whole_file(path, "a job file (.toml)", "a [job] table and at least one [[area]]", MOST_BYTES)
    try:
        return tomllib.loads(content.decode("utf-8-sig"))
    except UnicodeDecodeError:
        raise WorkbookError("this is no text file; it must be a job file (.toml) saved as UTF-8", where=where) from None
    except tomllib.TOMLDecodeError as error:
        reason = str(error)[:1].lower() + str(error)[1:]
        raise WorkbookError(f"this is no TOML file: {reason}; mend it there", where=where) from None
    except RecursionError:
        raise WorkbookError(
            "this is no job file: its tables are nested too deeply; it must hold [job], [[area]] and [[spot]]",
            where=where,
        ) from None
    except ValueError:  # Python's own limit on the digits of a whole number
        raise WorkbookError("a number in this file has thousands of digits; write it shorter", where=where) from None


def parse_job(data: Mapping[str, Any], where: str = "job") -> Job:
    """Return the job in a mapping such as a parsed file or a web form gives.

    Parameters
    ----------
    data
        The tables ``job``, ``area`` and ``spot``; plain numbers are US units, or metric where the job says so.
    where
        What the data is called in a refusal; the path of the file where it comes from one.

    Raises
    ------
    InputError, OutOfRangeError
        The first thing that is wrong, with its place.

    Examples
    --------
    >>> drive = {"name": "Drive", "shape": "rectangle", "length": 40, "width": 20, "soil": "clay", "strength": "soft"}
    >>> job = parse_job({"job": {"number": "Q-1", "client": "Any Client", "site": "Any Lane 1"}, "area": [drive]})
    >>> round(job.areas[0].area_m2, 2), job.areas[0].strength.strength_class
    (74.32, 'soft')
    """
    job, wrong = checked_job(data, where)
    if job is None:
        raise wrong[0]
    return job


def job_problems(path: str | Path) -> list[BasecalcError]:
    """Return everything that is wrong with a job file, at once.

    Parameters
    ----------
    path
        A ``.toml`` file; it is only read.
    """
    try:
        data = read_job_file(path)
    except WorkbookError as error:
        return [error]
    return checked_job(data, str(path))[1]


def checked_job(
    data: Mapping[str, Any],
    where: str,
    place: Callable[[Place], str] | None = None,
    logs: Mapping[str, str] | None = None,
) -> tuple[Job | None, list[BasecalcError]]:
    """Return the job in a mapping, or None and everything that is wrong with it.

    Parameters
    ----------
    data, where
        As in `parse_job`.
    place
        Turns the path of a key, such as ``("area", 1, "width")``, into the place a user finds it at, where that is no
        table of a job file.
    logs
        What stands in the cone logs, by the names the job gives them, where they lie in no file of their own.
    """
    fields, wrong = _read_fields(data, where, place)
    if fields is None:
        return None, wrong
    areas, wrong = build_areas(fields, where)
    spots, more = build_spots(fields, where, logs)
    wrong += more
    if wrong:
        return None, wrong
    kept = {name: getattr(fields.job, name) for name in type(fields.job).model_fields if name not in _MADE}
    notes = tuple(note for note in fields.job.notes if note)
    source = where if Path(where).suffix else ""
    winter = climate(fields.job.climate)
    return Job(
        **kept, areas=areas, spots=spots, notes=notes, source_path=source, climate=winter, entered=deepcopy(data)
    ), []


def entered_again(job: Job) -> tuple[Mapping[str, Any], Job]:
    """Return the mapping that a job was read from, and the job that it gives again, logs and all.

    Parameters
    ----------
    job
        A job that was read, from a file or from a mapping.

    Raises
    ------
    InputError
        It was put together in Python, or changed after it was read: what was entered does not say the same.
    """
    if job.entered is None:
        raise InputError(
            "the job was not read from a job file, a workbook or a form; basecalc.parse_job reads a mapping"
        )
    logs = {spot.log: spot.log_text for spot in job.spots if spot.log}
    again, _ = checked_job(job.entered, job.source_path or "job", logs=logs)
    if again is None or replace(again, source_path=job.source_path) != job:
        raise InputError("the job was changed after it was read; it must be read again from what was changed")
    return job.entered, again


def _read_fields(
    data: Any, where: str, place: Callable[[Place], str] | None
) -> tuple[FileFields | None, list[BasecalcError]]:
    """Return the checked keys of the file, or everything wrong with them."""
    if too_many := _too_many(data, where):
        return None, too_many
    job = data.get("job") if isinstance(data, Mapping) else None
    units = job.get("units", "us") if isinstance(job, Mapping) else "us"
    context = {"units": units.strip().casefold() if isinstance(units, str) else "us"}
    try:
        return FileFields.model_validate(data, context=context), []
    except ValidationError as error:
        found = refusals(error, place or (lambda path: _place(path, data, where)))
        details = error.errors(include_url=False)
        better = [_better(one, detail) for one, detail in zip(found, details, strict=True)]
        # A key that nobody knows is most often the cause of one that is missing.
        stray = [detail["type"] == "extra_forbidden" for detail in details]
        return None, [one for one, first in zip(better, stray, strict=True) if first] + [
            one for one, first in zip(better, stray, strict=True) if not first
        ]


def _too_many(data: Any, where: str) -> list[BasecalcError]:
    """Return a refusal for each kind of thing there is more of than a job may have."""
    if not isinstance(data, Mapping):
        return []
    job, spots = data.get("job"), data.get("spot")
    inner = [spot.get("readings") for spot in spots if isinstance(spot, Mapping)] if isinstance(spots, list) else []
    lists = {
        "area": [data.get("area")],
        "spot": [spots],
        "reading": inner,
        "note": [job.get("notes") if isinstance(job, Mapping) else None],
    }
    counts = {kind: sum(len(one) for one in held if isinstance(one, list)) for kind, held in lists.items()}
    return [
        OutOfRangeError(f"the job has {counted(count, kind)}; it must be at most {MOST[kind]:,}", where=where)
        for kind, count in counts.items()
        if count > MOST[kind]
    ]


def _better(one: BasecalcError, detail: Any) -> BasecalcError:
    """Return the refusal in the words of a job file, where those of any file say too little."""
    path, kind = detail["loc"], detail["type"]
    key = next((str(step) for step in reversed(path) if isinstance(step, str)), "")
    told = ""
    if kind == "extra_forbidden":
        told = _unknown_key(path)
    elif len(path) == 1 and key in _TABLES and kind in ("missing", "list_type", "model_type"):
        told = f"the table [{key}] is missing" if key == "job" else f"there is no list of {key}s"
        told += "; it must be written as [job]" if key == "job" else f"; each {key} must be written as [[{key}]]"
    elif not path:
        told = "this is no job; it must be a [job] table with [[area]] and [[spot]] tables"
    elif kind in ("too_short", "too_long"):
        limits = detail["ctx"]
        limit = limits.get("min_length", limits.get("max_length"))
        least = "at least" if kind == "too_short" else "at most"
        told = f"{words(key)} has {limits['actual_length']} entries; it must have {least} {limit}"
    return InputError(told, where=one.where) if told else one


def _place(path: Place, data: Any, where: str) -> str:
    """Return where in the file a key stands: table, its number and its name."""
    parts = [where]
    entry = data
    for position, step in enumerate(path):
        if step not in _LISTS:
            continue
        index = path[position + 1] if position + 1 < len(path) else None
        entry = entry.get(step) if isinstance(entry, Mapping) else None
        if not isinstance(index, int):
            if step == "job" and len(path) > 1:
                parts.append("[job]")
            continue
        entry = entry[index] if isinstance(entry, list) and index < len(entry) else None
        name = entry.get("name") if isinstance(entry, Mapping) else None
        what = words(str(step).removeprefix("log_")).removesuffix("s")
        parts.append(numbered(what, index + 1, name if isinstance(name, str) else ""))
    return ", ".join(parts)


def _unknown_key(path: Place) -> str:
    key = str(path[-1])
    inside = [step for step in path[:-1] if isinstance(step, str)]
    inner = next((_INNER[step] for step in reversed(inside) if step in _INNER), None)
    fields = inner or (_TABLES[inside[0]] if inside else FileFields)
    known = sorted(fields.model_fields)
    near = get_close_matches(key.casefold().replace("-", "_").replace(" ", "_"), known, 1, 0.5)
    hint = f"did you mean {shown(near[0])}?" if near else f"the keys here are: {', '.join(known)}"
    return f"there is no key {shown(key)}; {hint}"
