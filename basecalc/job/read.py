"""An area whose strip along the foundation is an area of its own: the strip first, then what is left.

From the checked keys of a job file to areas in metres and spots with their readings.
A job file becomes a job, or one sentence that says what is wrong with it and where.
"""

import re
import tomllib
from collections.abc import Callable, Mapping, Sequence
from copy import deepcopy
from dataclasses import replace
from difflib import get_close_matches
from pathlib import Path
from typing import Any, Final

from pydantic import BaseModel, ValidationError

from basecalc.core.errors import BasecalcError, InputError, OutOfRangeError, WorkbookError
from basecalc.core.files import whole_file
from basecalc.core.numbers import plural, shown
from basecalc.core.records import Place, refusals, words
from basecalc.core.units import FOOT_M
from basecalc.ground.classes import Strength
from basecalc.ground.cone_log import Design
from basecalc.ground.old_pavement import Pavement, Seen
from basecalc.ground.readings import Reading, find, in_edition
from basecalc.job.fields import (
    ROWS_OF_THE_JOB,
    AreaFields,
    ClimateFields,
    FileFields,
    FrostFields,
    HoleFields,
    JobTable,
    LogRowFields,
    PhotoFields,
    ReadingFields,
    SeenFields,
    SpotFields,
    climate,
    design_readings,
    frost_soil,
    log_content,
    loose_fill,
    pavement,
    require_strip,
    spot_designs,
)
from basecalc.job.record import Job, JobArea, Photo, Spot
from basecalc.plan import shapes
from basecalc.plan.area import (
    DIMENSIONS,
    OPTIONAL_DIMENSIONS,
    Part,
    falls,
    open_corners,
    open_edge_m,
    plan_shape,
    require_fill,
    require_pavement,
    split_falls,
    split_strip,
)


def strip_name(area: str) -> str:
    """Return what the strip along the foundation of an area is called.

    Examples
    --------
    >>> strip_name("Driveway")
    'Driveway at the foundation'
    """
    return f"{area} at the foundation"


def split_area(
    area: JobArea, width_m: float, open_ends: int | None, strength: Strength | None
) -> tuple[JobArea, JobArea]:
    """Return what is left of an area, and the strip along its foundation.

    The strip takes the foundation, its fill, the loose fill and what sank there with it; edge restraint goes with the
    open edge. On loose fill no old base stays. The finish falls along the building as that of the whole, and away from
    it each part has its share.
    """
    whole = Part(area.area_m2, area.perimeter_m, area.open_edge_m, area.corners, area.extent_m)
    strip, rest = split_strip(whole, area.foundation_edge_m, width_m, open_ends, rectangle=area.shape == "rectangle")
    along = min(strip.open_edge_m, area.edge_restraint_m)
    falls = None if area.fall_m is None else split_falls(whole, rest, area.foundation_edge_m, width_m, area.fall_m)
    cut = area.shape == "rectangle" and rest.extent_m != area.extent_m
    seen = area.pavement.seen if area.pavement else ()
    left = replace(
        area,
        shape="rectangle" if cut else "measured",
        area_m2=rest.area_m2,
        perimeter_m=rest.perimeter_m,
        open_edge_m=rest.open_edge_m,
        corners=rest.corners,
        extent_m=rest.extent_m,
        foundation_edge_m=0.0,
        foundation_fill_depth_m=0.0,
        foundation_fill_width_m=0.0,
        edge_restraint_m=area.edge_restraint_m - along,
        loose_fill=None,
        footing_m=None,
        fall_m=falls[1] if falls else None,
        pavement=_seen_at(area.pavement, [one for one in seen if one.where != "foundation"]),
    )
    beside = replace(
        area,
        name=strip_name(area.name),
        shape="rectangle",
        area_m2=strip.area_m2,
        perimeter_m=strip.perimeter_m,
        open_edge_m=strip.open_edge_m,
        corners=strip.corners,
        extent_m=strip.extent_m,
        keep_old_base=False,
        foundation_fill_width_m=width_m,
        edge_restraint_m=along,
        strength=strength,
        note="",
        strip_of=area.name,
        outline=(),
        fall_m=falls[0] if falls else None,
        pavement=_seen_at(area.pavement, [one for one in seen if one.where == "foundation"]),
    )
    return left, beside


def _seen_at(pavement: Pavement | None, seen: Sequence[Seen]) -> Pavement | None:
    return None if pavement is None else replace(pavement, seen=tuple(seen))


_ALL_DIMENSIONS: Final = tuple(
    dict.fromkeys(
        [key for sets in DIMENSIONS.values() for keys in sets for key in keys]
        + [key for keys in OPTIONAL_DIMENSIONS.values() for key in keys]
    )
)
_METRES: Final = re.compile(r"\d m2?\b")


def numbered(what: str, position: int, name: str) -> str:
    """Return how a refusal names one of several tables of a file.

    Examples
    --------
    >>> numbered("area", 2, "Parking")
    'area 2 "Parking"'
    """
    short = name if len(name) <= 40 else name[:37] + "..."
    return f'{what} {position} "{short}"' if short else f"{what} {position}"


def build_areas(fields: FileFields, where: str) -> tuple[tuple[JobArea, ...], list[BasecalcError]]:
    """Return the areas of a job file, and everything wrong with them."""
    built: list[JobArea] = []
    wrong: list[BasecalcError] = []
    seen: dict[str, int] = {}
    for position, area in enumerate(fields.area, 1):
        place = f"{where}, {numbered('area', position, area.name)}"
        for name in _names(area):
            first = seen.setdefault(name.casefold(), position)
            if first != position:
                wrong.append(InputError(f"name stands twice, area {first} has it too; it must be its own", where=place))
        try:
            built += _areas(area, fields)
        except BasecalcError as error:
            wrong.append(error.at(place))
    return tuple(built), wrong


def _names(area: AreaFields) -> tuple[str, ...]:
    """Return the names that an area of the file takes up: its own, and that of its strip."""
    return (area.name, strip_name(area.name)) if area.foundation_strip else (area.name,)


def _areas(area: AreaFields, fields: FileFields) -> tuple[JobArea, ...]:
    """Return an area of the file, or the two that it is split into."""
    made = _area(area, fields)
    if not area.foundation_strip:
        return (made,)
    strength, name = area.foundation_strip_strength, strip_name(area.name)
    spots = [spot.name for spot in fields.spot if _stands_for(spot, fields) == name.casefold()]
    if strength is not None and spots:
        raise InputError(
            f"foundation strip strength is given, but spot {shown(spots[0])} was read there; it must be one or "
            "the other"
        )
    return split_area(made, area.foundation_fill_width, area.foundation_strip_open_ends, strength)


def _area(area: AreaFields, fields: FileFields) -> JobArea:
    shape = _shape(area, metric=fields.job.units == "metric")
    foundation = area.foundation_edge or 0.0
    open_edge = open_edge_m(shape, foundation, area.open_edge)
    edge_restraint = open_edge if area.edge_restraint is None else area.edge_restraint
    require_pavement(area.old_pavement, area.old_pavement_kind)
    require_strip(area, foundation, area.foundation_fill_width)
    if not area.foundation_strip:
        require_fill(area.foundation_fill_depth, area.foundation_fill_width, foundation)
    spots = [spot for spot in fields.spot if _stands_for(spot, fields) == area.name.casefold()]
    names = {name.casefold() for one in fields.area for name in _names(one)}
    strayed = any(_stands_for(spot, fields) not in names for spot in fields.spot)
    if area.strength is None and not spots and not strayed:  # a spot that names no area is refused by itself
        raise InputError(
            "there is no spot with a reading and no strength; add a [[spot]] with area = "
            f'"{area.name}", or a strength such as strength = "soft" or strength = 2.1 (CBR, %)'
        )
    if area.strength is not None and spots:
        raise InputError(
            f"strength is given, but spot {shown(spots[0].name)} was read here; it must be one or the other"
        )
    soil = area.soil or fields.job.soil
    if not soil:
        raise InputError("soil is missing; it must be what is dug here, such as 'clay', here or in [job]")
    return JobArea(
        name=area.name,
        shape=area.shape,
        area_m2=shape.area_m2,
        perimeter_m=shape.perimeter_m,
        open_edge_m=open_edge,
        corners=open_corners(area.shape, shape, open_edge, area.corners),
        extent_m=_extent(shape),
        outline=shape.corners,
        finish_above_ground_m=area.finish_above_ground,
        soil=soil,
        old_pavement_m=area.old_pavement,
        old_pavement_kind=area.old_pavement_kind,
        keep_old_base=area.keep_old_base,
        foundation_edge_m=foundation,
        foundation_fill_depth_m=area.foundation_fill_depth,
        foundation_fill_width_m=area.foundation_fill_width,
        edge_restraint_m=edge_restraint,
        geotextile=area.geotextile,
        strength=area.strength,
        note=area.note,
        water_table_m=area.water_table,
        frost=frost_soil(area.frost),
        pavement=pavement(area, area.old_pavement, area.old_pavement_kind, fields.job.units),
        loose_fill=loose_fill(area, area.foundation_fill_depth),
        fill_looked_for=area.loose_fill_depth is not None,
        footing_m=area.footing_depth,
        walked=fields.job.walked if area.walked is None else area.walked,
        fall_m=falls(
            _extent(shape),
            area.slope,
            area.slope_direction,
            area.fall_length,
            area.fall_width,
            turned=area.shape == "rectangle" and (area.length or 0.0) < (area.width or 0.0),
        ),
    )


def _shape(area: AreaFields, *, metric: bool) -> shapes.PlanShape:
    """Return the plan shape, refusing dimensions that are missing or that belong to another shape."""
    given = {key: value for key in _ALL_DIMENSIONS if (value := getattr(area, key)) is not None}
    try:
        return plan_shape(area.shape, given)
    except BasecalcError as error:
        # The geometry speaks metres, which a reader in feet may take for feet.
        note = f" (1 m = {1 / FOOT_M:.4g} ft)" if not metric and _METRES.search(error.sentence) else ""
        raise type(error)(error.sentence + note) from None


def _extent(shape: shapes.PlanShape) -> tuple[float, float]:
    if shape.extent_m is None:
        raise InputError("length and width are missing; they must be given, rolls are cut to them")
    return shape.extent_m


def _stands_for(spot: SpotFields, fields: FileFields) -> str:
    """Return the area a spot stands for, in lower case; where there is one area only, it need not be named."""
    return (spot.area or (fields.area[0].name if len(fields.area) == 1 else "")).casefold()


def build_spots(
    fields: FileFields, where: str, logs: Mapping[str, str] | None = None
) -> tuple[tuple[Spot, ...], list[BasecalcError]]:
    """Return the spots of a job file, every reading tried, and everything wrong with them."""
    names = {name.casefold(): name for area in fields.area for name in _names(area)}
    built: list[Spot] = []
    wrong: list[BasecalcError] = []
    seen: dict[str, int] = {}
    for position, spot in enumerate(fields.spot, 1):
        place = f"{where}, {numbered('spot', position, spot.name)}"
        first = seen.setdefault(spot.name.casefold(), position)
        if first != position:
            wrong.append(InputError(f"name stands twice, spot {first} has it too; it must be its own", where=place))
        area = names.get(_stands_for(spot, fields))
        if area is None:
            offered = ", ".join(names.values())
            wrong.append(InputError(f"area is {shown(spot.area)}; it must be one of: {offered}", where=place))
            continue
        readings, more = _readings(spot, area, fields, place)
        wrong += more
        drops: tuple[Design, ...] = ()
        notes: tuple[str, ...] = ()
        log_text = ""
        try:
            soil = _soil(area, fields)
            log_text = log_content(spot.log, where, logs) if spot.log and not spot.log_rows else ""
            drops, notes = spot_designs(spot, soil, where, log_text)
            name = spot.log or ROWS_OF_THE_JOB
            readings += design_readings(drops, notes, name, fields.job.season, soil, fields.job.units)
        except BasecalcError as error:
            wrong.append(error.at(place))
        log = spot.log or (ROWS_OF_THE_JOB if drops else "")
        built.append(Spot(spot.name, area, readings, log, drops, notes, log_text, spot.base_bottom))
    return tuple(built), wrong


def _readings(
    spot: SpotFields, area: str, fields: FileFields, place: str
) -> tuple[tuple[Reading, ...], Sequence[BasecalcError]]:
    readings: list[Reading] = []
    wrong: list[BasecalcError] = []
    if spot.readings is None and not spot.log and not spot.log_rows:
        wrong.append(InputError("readings is missing; a spot must have at least one reading, or a log", where=place))
    for position, one in enumerate(spot.readings or (), 1):
        value = in_edition(one.test, one.reading, fields.job.units)
        soil = one.soil or _soil(area, fields)
        reading = Reading(one.test, value, one.moisture or fields.job.season, soil, one.note)
        try:
            find(reading)
        except BasecalcError as error:
            wrong.append(error.at(f"{place}, reading {position}"))
        readings.append(reading)
    return tuple(readings), wrong


def _soil(area: str, fields: FileFields) -> str:
    return next(one for one in fields.area if area in _names(one)).soil or fields.job.soil


_TABLES: Final[Mapping[str, type[BaseModel]]] = {"job": JobTable, "area": AreaFields, "spot": SpotFields}
_INNER: Final[Mapping[str, type[BaseModel]]] = {
    "readings": ReadingFields,
    "log_rows": LogRowFields,
    "frost": FrostFields,
    "climate": ClimateFields,
    "old_pavement_seen": SeenFields,
    "test_holes": HoleFields,
    "photos": PhotoFields,
}
_LISTS: Final = ("job", "area", "spot", "readings", "log_rows", "notes", "points", "old_pavement_seen", "test_holes")
MOST_BYTES: Final = 5_000_000
# How many of each a job may have; the work grows with them, and no driveway comes near.
MOST: Final[Mapping[str, int]] = {"area": 200, "spot": 1_000, "reading": 2_000, "note": 200}
_MADE: Final = (
    "soil",
    "notes",
    "climate",
    "walked",
    "photos",
)  # keys of [job] that do not become fields of the job as they are


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
    """Return what stands in a job file, not yet checked."""
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
    """Return everything that is wrong with a job file, at once."""
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
    """Return the job in a mapping, or None and everything that is wrong with it."""
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
    photos = tuple(Photo(one.file, one.caption) for one in fields.job.photos)
    source = where if Path(where).suffix else ""
    winter = climate(fields.job.climate)
    return Job(
        **kept, areas=areas, spots=spots, notes=notes, photos=photos, source_path=source, climate=winter,
        entered=deepcopy(data),
    ), []  # fmt: skip


def entered_again(job: Job) -> tuple[Mapping[str, Any], Job]:
    """Return the mapping that a job was read from, and the job that it gives again, logs and all."""
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
        OutOfRangeError(f"the job has {plural(count, kind)}; it must be at most {MOST[kind]:,}", where=where)
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
