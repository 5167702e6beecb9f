"""An area whose strip along the foundation is an area of its own: the strip first, then what is left.

From the checked keys of a job file to areas in meters and spots with their readings.
A job file becomes a job, or one sentence that says what is wrong with it and where.
"""

import tomllib
from collections.abc import Callable, Mapping, Sequence
from copy import deepcopy
from dataclasses import asdict, replace
from pathlib import Path
from typing import Any, Final

from basecalc.core.errors import BasecalcError, InputError, KeyPath, OutOfRangeError, Place, WorkbookError
from basecalc.core.files import whole_file
from basecalc.core.numbers import plural, quoted
from basecalc.core.units import FOOT_M
from basecalc.ground.classes import Strength
from basecalc.ground.cone_layers import log_reading
from basecalc.ground.cone_log import Design
from basecalc.ground.old_pavement import Pavement, Seen
from basecalc.ground.readings import Reading, find, in_edition
from basecalc.job.fields import (
    AREA,
    FILE,
    JOB,
    ROWS_OF_THE_JOB,
    extra_line,
    log_content,
    loose_fill,
    pavement,
    require_others,
    require_strip,
    spot_designs,
)
from basecalc.job.record import ExtraLine, Job, JobArea, Spot
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
from basecalc.tables.from_mapping import MappingReader, numbered
from basecalc.tables.schema import Row


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
    along_fall, away_fall = (
        (None, None) if area.fall_m is None
        else split_falls(whole, rest, area.foundation_edge_m, width_m, area.fall_m)
    )  # fmt: skip
    cut = area.shape == "rectangle" and rest.extent_m != area.extent_m
    seen = area.pavement.seen if area.pavement else ()
    left = replace(
        area,
        **asdict(rest),
        shape="rectangle" if cut else "measured",
        foundation_edge_m=0.0,
        foundation_fill_depth_m=0.0,
        foundation_fill_width_m=0.0,
        edge_restraint_m=area.edge_restraint_m - along,
        loose_fill=None,
        footing_m=None,
        fall_m=away_fall,
        pavement=_seen_at(area.pavement, [one for one in seen if one.where != "foundation"]),
    )
    beside = replace(
        area,
        **asdict(strip),
        name=strip_name(area.name),
        shape="rectangle",
        keep_old_base=False,
        foundation_fill_width_m=width_m,
        edge_restraint_m=along,
        strength=strength,
        note="",
        strip_of=area.name,
        outline=(),
        fall_m=along_fall,
        pavement=_seen_at(area.pavement, [one for one in seen if one.where == "foundation"]),
    )
    return left, beside


def _seen_at(pavement: Pavement | None, seen: Sequence[Seen]) -> Pavement | None:
    return None if pavement is None else replace(pavement, seen=tuple(seen))


_SIZES: Final = {key for sets in DIMENSIONS.values() for keys in sets for key in keys} | {
    key for keys in OPTIONAL_DIMENSIONS.values() for key in keys
}


def build_areas(fields: Row, where: str) -> tuple[tuple[JobArea, ...], list[BasecalcError]]:
    """Return the areas of a job file, and everything wrong with them."""
    built: list[JobArea] = []
    wrong: list[BasecalcError] = []
    seen: dict[str, int] = {}
    for position, area in enumerate(fields.area, 1):
        place = _place(where, "area", position, area.name)
        for name in _names(area):
            wrong += _doubled(seen, "area", position, name, place)
        try:
            built += _areas(area, fields)
        except BasecalcError as error:
            wrong.append(error.at(place))
    return tuple(built), wrong


def _place(where: str, kind: str, position: int, name: str) -> Place:
    return Place(where, within=(numbered(kind, position, name),), path=(kind, position - 1))


def _doubled(seen: dict[str, int], kind: str, position: int, name: str, place: Place) -> list[BasecalcError]:
    """Return a refusal where another area or spot has the name already."""
    first = seen.setdefault(name.casefold(), position)
    told = f"duplicate name: {kind} {first} already uses it; give each {kind} its own name"
    return [] if first == position else [InputError(told, where=place, field="name")]


def _names(area: Row) -> tuple[str, ...]:
    """Return the names that an area of the file takes up: its own, and that of its strip."""
    return (area.name, strip_name(area.name)) if area.foundation_strip else (area.name,)


def _areas(area: Row, fields: Row) -> tuple[JobArea, ...]:
    """Return an area of the file, or the two that it is split into."""
    made = _area(area, fields)
    if not area.foundation_strip:
        return (made,)
    strength, name = area.foundation_strip_strength, strip_name(area.name)
    spots = [spot.name for spot in fields.spot if _stands_for(spot, fields) == name.casefold()]
    if strength is not None and spots:
        raise InputError(
            f"foundation strip strength is given, but spot {quoted(spots[0])} was read there; it must be one or "
            "the other",
            field="foundation_strip_strength",
        )
    return split_area(made, area.foundation_fill_width, area.foundation_strip_open_ends, strength)


_RECORD: Final = JobArea.__dataclass_fields__


def _area(area: Row, fields: Row) -> JobArea:
    shape = _shape(area, metric=fields.job.units == "metric")
    foundation = area.foundation_edge or 0.0
    open_edge = open_edge_m(shape, foundation, area.open_edge)
    require_pavement(area.old_pavement, area.old_pavement_kind)
    require_others(area)
    require_strip(area)
    if not area.foundation_strip:
        require_fill(area.foundation_fill_depth, area.foundation_fill_width, foundation)
    spots = [spot for spot in fields.spot if _stands_for(spot, fields) == area.name.casefold()]
    names = {name.casefold() for one in fields.area for name in _names(one)}
    strayed = any(_stands_for(spot, fields) not in names for spot in fields.spot)
    if area.strength is None and not spots and not strayed:  # a spot that names no area is refused by itself
        raise InputError(
            "there is no spot with a reading and no strength; add a [[spot]] with area = "
            f'"{area.name}", or a strength such as strength = "soft" or strength = 2.1 (CBR, %)',
            field="strength",
        )
    if area.strength is not None and spots:
        raise InputError(
            f"strength is given, but spot {quoted(spots[0].name)} was read here; it must be one or the other",
            field="strength",
        )
    soil = area.soil or fields.job.soil
    if not soil:
        raise InputError("is missing; it must be what is dug here, such as 'clay', here or in [job]", about="soil")
    extent = _extent(shape)
    typed = {one.record_name: getattr(area, one.key) for one in AREA.fields if one.record_name in _RECORD}
    turned = area.shape == "rectangle" and (area.length or 0.0) < (area.width or 0.0)
    worked_out = {
        "area_m2": shape.area_m2,
        "perimeter_m": shape.perimeter_m,
        "open_edge_m": open_edge,
        "corners": open_corners(area.shape, shape, open_edge, area.corners),
        "extent_m": extent,
        "outline": shape.corners,
        "soil": soil,
        "foundation_edge_m": foundation,
        "edge_restraint_m": open_edge if area.edge_restraint is None else area.edge_restraint,
        "pavement": pavement(area, fields.job.units),
        "loose_fill": loose_fill(area),
        "fill_looked_for": area.loose_fill_depth is not None,
        "walked": fields.job.walked if area.walked is None else area.walked,
        "fall_m": falls(extent, area.slope, area.slope_direction, area.fall_length, area.fall_width, turned=turned),
    }
    return JobArea(**typed | worked_out)


def _shape(area: Row, *, metric: bool) -> shapes.PlanShape:
    """Return the plan shape, refusing dimensions that are missing or that belong to another shape."""
    given = {key: value for key in AREA.keys if key in _SIZES and (value := getattr(area, key)) is not None}
    try:
        return plan_shape(area.shape, given)
    except BasecalcError as error:
        if metric or not (isinstance(error, OutOfRangeError) and error.about):
            raise
        # A size that does not fit: the geometry speaks meters, which a reader in feet may take for feet.
        raise error.changed(sentence=f"{error.rest} (1 m = {1 / FOOT_M:.4g} ft)") from None


def _extent(shape: shapes.PlanShape) -> tuple[float, float]:
    if shape.extent_m is None:
        raise InputError("length and width are missing; they must be given, rolls are cut to them", field="length")
    return shape.extent_m


def _stands_for(spot: Row, fields: Row) -> str:
    """Return the area a spot is in, in lower case; where there is one area only, it need not be named."""
    return str(spot.area or (fields.area[0].name if len(fields.area) == 1 else "")).casefold()


def build_spots(
    fields: Row, where: str, logs: Mapping[str, str] | None = None
) -> tuple[tuple[Spot, ...], list[BasecalcError]]:
    """Return the spots of a job file, every reading tried, and everything wrong with them."""
    names = {name.casefold(): name for area in fields.area for name in _names(area)}
    built: list[Spot] = []
    wrong: list[BasecalcError] = []
    seen: dict[str, int] = {}
    for position, spot in enumerate(fields.spot, 1):
        place = _place(where, "spot", position, spot.name)
        wrong += _doubled(seen, "spot", position, spot.name, place)
        area = names.get(_stands_for(spot, fields))
        if area is None:
            offered = ", ".join(names.values())
            wrong.append(InputError(f"is {quoted(spot.area)}; it must be one of: {offered}", about="area", where=place))
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
            told = spot.log or ROWS_OF_THE_JOB
            season, metric = fields.job.season, fields.job.units == "metric"
            readings += tuple(log_reading(one, told, season, soil, assumed=notes, metric=metric) for one in drops)
        except BasecalcError as error:
            wrong.append(error.at(place))
        log = spot.log or (ROWS_OF_THE_JOB if drops else "")
        built.append(Spot(spot.name, area, readings, log, drops, notes, log_text, spot.base_bottom))
    return tuple(built), wrong


def build_lines(fields: Row, where: str) -> tuple[tuple[ExtraLine, ...], list[BasecalcError]]:
    """Return the extra lines of a job file, and everything wrong with them."""
    names = {name.casefold(): name for area in fields.area for name in _names(area)}
    built: list[ExtraLine] = []
    wrong: list[BasecalcError] = []
    for position, line in enumerate(fields.line, 1):
        try:
            built.append(extra_line(line, names))
        except BasecalcError as error:
            wrong.append(error.at(_place(where, "line", position, line.item or line.code)))
    return tuple(built), wrong


def _readings(spot: Row, area: str, fields: Row, place: Place) -> tuple[tuple[Reading, ...], Sequence[BasecalcError]]:
    readings: list[Reading] = []
    wrong: list[BasecalcError] = []
    if spot.readings is None and not spot.log and not spot.log_rows:
        wrong.append(
            InputError("is missing; a spot must have at least one reading, or a log", about="readings", where=place)
        )
    for position, one in enumerate(spot.readings or (), 1):
        value = in_edition(one.test, one.reading, fields.job.units)
        soil = one.soil or _soil(area, fields)
        reading = Reading(one.test, value, one.moisture or fields.job.season, soil, one.note)
        try:
            find(reading)
        except BasecalcError as error:
            wrong.append(error.at(Place(within=(f"reading {position}",), path=("readings", position - 1))).at(place))
        readings.append(reading)
    return tuple(readings), wrong


def _soil(area: str, fields: Row) -> str:
    return str(next(one for one in fields.area if area in _names(one)).soil or fields.job.soil)


MOST_BYTES: Final = 5_000_000
# How many of each a job may have; the work grows with them, and no driveway comes near.
MOST: Final[Mapping[str, int]] = {"area": 200, "spot": 1_000, "line": 200, "reading": 2_000, "note": 200}
_MADE: Final = ("soil", "notes", "walked", "photos")  # keys of [job] that do not become fields of the job as they are


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
    """Return what a job file holds, not yet checked."""
    where = str(path)
    content = whole_file(path, "a job file (.toml)", "a [job] table and at least one [[area]]", MOST_BYTES)
    try:
        return tomllib.loads(content.decode("utf-8-sig"))
    except UnicodeDecodeError:
        raise WorkbookError("not a text file; a job file must be TOML saved as UTF-8", where=Place(where)) from None
    except tomllib.TOMLDecodeError as error:
        reason = str(error)[:1].lower() + str(error)[1:]
        raise WorkbookError(f"not a TOML file: {reason}; fix it there", where=Place(where)) from None
    except RecursionError:
        raise WorkbookError(
            "not a job file: its tables are nested too deeply; it must hold [job], [[area]] and [[spot]]",
            where=Place(where),
        ) from None
    except ValueError:  # Python's own limit on the digits of a whole number
        raise WorkbookError(
            "a number in this file has thousands of digits; write it shorter", where=Place(where)
        ) from None


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
    place: Callable[[KeyPath], Place | str] | None = None,
    logs: Mapping[str, str] | None = None,
) -> tuple[Job | None, list[BasecalcError]]:
    """Return the job in a mapping, or None and everything that is wrong with it."""
    fields, wrong = _read_fields(data, where, place)
    if fields is None:
        return None, wrong
    areas, wrong = build_areas(fields, where)
    spots, more = build_spots(fields, where, logs)
    lines, others = build_lines(fields, where)
    wrong += [*more, *others]
    if wrong:
        return None, wrong
    kept = {name: getattr(fields.job, name) for name in JOB.keys if name not in _MADE}
    return Job(
        **kept,
        areas=areas,
        spots=spots,
        lines=lines,
        notes=tuple(note for note in fields.job.notes if note),
        photos=tuple(fields.job.photos),
        source_path=where if Path(where).suffix else "",
        entered=deepcopy(data),
    ), []


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
    data: Any, where: str, place: Callable[[KeyPath], Place | str] | None
) -> tuple[Row | None, list[BasecalcError]]:
    """Return the values of the file by key, or everything wrong with them."""
    if not isinstance(data, Mapping):
        told = "not a job; it must be a [job] table with [[area]] and [[spot]] tables"
        return None, [InputError(told, where=Place(where))]
    if too_many := _too_many(data, where):
        return None, too_many
    job = data.get("job")
    units = job.get("units", "us") if isinstance(job, Mapping) else "us"
    reader = MappingReader(units.strip().casefold() if isinstance(units, str) else "us")
    missing = {field.key: told for field in FILE.fields if (told := _no_table(field.key, data))}
    fields = reader.table(FILE, data, Place(where), leave=missing)
    head = [InputError(told, where=Place(where), field=key) for key, told in missing.items()]
    # A key that nobody knows is most often the cause of one that is missing.
    wrong = [*reader.stray, *head, *reader.wrong]
    if not wrong and (start := fields.job.start) and fields.job.date and start < fields.job.date:
        told = f"is {start}; it must not be before the date of the quote, {fields.job.date}"
        inside = Place(where, within=("[job]",), path=("job",))
        wrong.append(InputError(told, about="start", where=inside))
    if place:
        wrong = [
            one.changed(where=place((*one.place.path, one.field) if one.field else one.place.path)) for one in wrong
        ]
    return (None, wrong) if wrong else (fields, [])


def _no_table(key: str, data: Mapping[str, Any]) -> str:
    """Return the sentence for a table of the file that is not there, or not written as one; nothing where it is."""
    if key == "job":
        there = isinstance(data.get(key), Mapping)
        return "" if there else "the table [job] is missing; it must be written as [job]"
    if isinstance(data.get(key), list | tuple) or (key not in data and key in ("spot", "line")):
        return ""
    return f"there is no list of {key}s; each {key} must be written as [[{key}]]"


def _too_many(data: Any, where: str) -> list[BasecalcError]:
    """Return a refusal for each kind of thing there is more of than a job may have."""
    if not isinstance(data, Mapping):
        return []
    job, spots = data.get("job"), data.get("spot")
    inner = [spot.get("readings") for spot in spots if isinstance(spot, Mapping)] if isinstance(spots, list) else []
    lists = {
        "area": [data.get("area")],
        "spot": [spots],
        "line": [data.get("line")],
        "reading": inner,
        "note": [job.get("notes") if isinstance(job, Mapping) else None],
    }
    counts = {kind: sum(len(one) for one in held if isinstance(one, list)) for kind, held in lists.items()}
    return [
        OutOfRangeError(f"the job has {plural(count, kind)}; it must be at most {MOST[kind]:,}", where=Place(where))
        for kind, count in counts.items()
        if count > MOST[kind]
    ]
