"""A job as the cells of the estimating workbook: the job card, a row for each reading, a row for each area."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Final

from basecalc.core.errors import InputError
from basecalc.core.numbers import printed, shown
from basecalc.core.units import INCH_M, to_unit
from basecalc.estimating.tables import AREAS, GROUND, JOB_ENTRIES, LOG
from basecalc.ground.cone_log import ASSUMED_HAMMER, BOTTOM, usual_rows
from basecalc.ground.readings import SOILS, hammer_of, soil_named
from basecalc.job import Job, parse_job
from basecalc.job.fields import LogFields
from basecalc.job.read import entered_again
from basecalc.job.record import JobArea, Spot
from basecalc.plan.area import SIZES, SIZES_OF
from basecalc.pricing.workbook_reader import Column
from basecalc.takeoff.earthwork import in_unit

_AREA_COLUMNS: Final = {column.field: column for column in AREAS.columns}
_READING_COLUMNS: Final = {column.field: column for column in GROUND.columns}
_LOG_COLUMNS: Final = {column.field: column for column in LOG.columns}
_CARD: Final = {entry.key: entry for entry in JOB_ENTRIES}
_SIZE_KEYS: Final = frozenset({key for keys in SIZES_OF.values() for key in keys} | {"sides"})
_NOTHING: Final[tuple[Any, ...]] = (None, "", [], {})


@dataclass(frozen=True, slots=True)
class JobCells:
    """What a job puts into the cells of the workbook, by field; what is left blank is missing."""

    job: Job
    card: Mapping[str, Any]
    readings: tuple[Mapping[str, Any], ...]
    areas: tuple[Mapping[str, Any], ...]
    logs: tuple[Mapping[str, Any], ...] = ()


def job_cells(job: Job | Mapping[str, Any]) -> JobCells:
    """Return the cells that a job fills.

    Every shape is kept as it was measured: a `Job` remembers the mapping it was read from.

    Examples
    --------
    >>> drive = {"name": "Drive", "shape": "circle", "diameter": "6 m", "soil": "CL", "strength": 2.1}
    >>> job_cells({"job": {"number": "Q-1", "client": "Any", "site": "Any Lane"}, "area": [drive]}).areas[0]["soil"]
    'lean clay'
    """
    data, read = entered_again(job) if isinstance(job, Job) else (job, parse_job(job))
    head = data["job"]
    _refuse(data, ("job", "area", "spot"), "the job file")
    _refuse(head, _CARD.keys() | {"units", "climate"}, "the job")
    head = {**head, **(head.get("climate") or {}), "walked": _walked(read)}
    card = {key: _cell(value, _CARD[key].choices) for key, value in head.items() if key in _CARD and given(value)}
    if isinstance(card.get("notes"), list):
        card["notes"] = "\n".join(note for note in card["notes"] if note.strip())
    # A strip would be an area more, but there is no place for one, and its row is refused.
    areas = tuple(_area_row(area, made, read.units) for area, made in zip(data["area"], read.areas, strict=False))
    readings = tuple(row for spot in data.get("spot") or () for row in _spot_rows(spot))
    logs = tuple(row for spot in read.spots for row in _log_rows(spot, read.units))
    return JobCells(job if isinstance(job, Job) else read, card, readings, areas, logs)


def given(value: Any) -> bool:
    """Return whether a key of a job file says anything."""
    return value not in _NOTHING


def _walked(job: Job) -> bool:
    """Return whether the areas of a job were walked, all of them alike: the job card has one place for it."""
    walked = {area.walked for area in job.areas}
    if len(walked) > 1:
        raise InputError(
            "an area has 'walked' other than the job, for which the sheets of the estimating workbook have no place; "
            "quote the job file itself"
        )
    return True in walked


def _refuse(table: Mapping[str, Any], known: Iterable[str], what: str) -> None:
    """Refuse a job that says something there is no cell for: the sheets would give other numbers."""
    for key, value in table.items():
        if key not in known and given(value):
            raise InputError(
                f"{what} has {shown(key.replace('_', ' '))}, for which the sheets of the estimating workbook have no "
                "place; quote the job file itself"
            )


def _area_row(area: Mapping[str, Any], made: JobArea, units: str) -> dict[str, Any]:
    what = f"area {shown(str(area['name']))}"
    _refuse(area, _AREA_COLUMNS.keys() | _SIZE_KEYS | {"frost", "slope", "slope_direction", "walked"}, what)
    if made.fall_m is not None and given(area.get("slope")):  # of which the sheet has the fall of the whole area
        key = f"fall_{' '.join(str(area['slope_direction']).split()).casefold()}"
        area = {**area, key: printed(in_unit(sum(made.fall_m), _AREA_COLUMNS[key].edge_unit(units)))}
    for key, value in (area.get("frost") or {}).items():
        area = {**area, "frost_group" if key == "group" else key: value}
    row = {key: area[key] for key in area if key in _AREA_COLUMNS and given(area[key])}
    row["shape"] = _cell(area["shape"], _AREA_COLUMNS["shape"].choices)
    if "points" in row:
        row["points"] = "; ".join(" ".join(_number(at, units) for at in point) for point in row["points"])
    row |= dict(zip(SIZES, _sizes(area, row["shape"]), strict=False))
    return {field: _in_column(value, _AREA_COLUMNS[field], units) for field, value in row.items()}


def _sizes(area: Mapping[str, Any], shape: str) -> Iterator[Any]:
    """Yield the sizes of a shape in the order of its cells."""
    keys = ("sides",) * 3 if given(area.get("sides")) else SIZES_OF[shape]
    for place, key in enumerate(keys):
        value = area.get(key)
        if isinstance(value, list):
            yield value[place - keys.index(key)]
        elif given(value):
            yield value


def _number(value: Any, units: str) -> str:
    """Return a coordinate in feet or metres as digits that read back as the same number."""
    exact = to_unit("corner", value, _AREA_COLUMNS["points"].edge_unit(units))
    return f"{exact:.15g}" if float(f"{exact:.15g}") == exact else repr(exact)


def _spot_rows(spot: Mapping[str, Any]) -> Iterator[dict[str, Any]]:
    _refuse(spot, ("name", "area", "readings", *LogFields.model_fields), f"spot {shown(str(spot['name']))}")
    head = {"spot": spot["name"], "area": spot.get("area")}
    for reading in spot.get("readings") or ():
        row = head | reading
        _refuse(row, _READING_COLUMNS, f"spot {shown(str(spot['name']))}")
        yield {key: _cell(value, _READING_COLUMNS[key].choices) for key, value in row.items() if given(value)}


def _log_rows(spot: Spot, units: str) -> Iterator[dict[str, Any]]:
    """Yield the rows of a spot's logs, what holds for all of them in the first."""
    head: dict[str, Any] = {"spot": spot.name, "area": spot.area}
    if spot.base_bottom_m is not None:
        head["base_bottom"] = spot.base_bottom_m / BOTTOM.read("", 1.0, _LOG_COLUMNS["base_bottom"].edge_unit(units))
    for row in _rows(spot, metric=units == "metric"):
        yield head | row
        head = {"spot": spot.name}


def _rows(spot: Spot, *, metric: bool) -> Iterator[dict[str, Any]]:
    """Yield the rows of a spot's log: blows per step, depths in total, in inches or millimeters."""
    unsaid = ASSUMED_HAMMER in spot.log_notes
    for design in spot.drops:
        drop = design.profile.drop
        for row in usual_rows(drop):
            hammer = "" if unsaid and row.factor == 1 else hammer_of(row.factor)
            depth = row.depth_mm if metric else row.depth_mm / 1000 / INCH_M
            cells = {"drop": drop.name, "depth": depth, "blows": row.blows, "hammer": hammer, "soil": row.soil}
            yield {key: value for key, value in (cells | {"note": row.note}).items() if value != ""}


def _in_column(value: Any, column: Column, units: str) -> Any:
    """Return a value as the column shows it: a number in the unit of its heading, a word of its drop-down."""
    unit = column.edge_unit(units)
    numeric = column.format != "text" and (unit or column.field in ("corners", "plasticity_index"))
    if numeric and isinstance(value, str):
        return to_unit(column.label, value, unit)
    return _cell(value, column.choices)


def _cell(value: Any, choices: tuple[str, ...] | str) -> Any:
    """Return words as a drop-down offers them; all else as it is."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if not isinstance(value, str) or isinstance(choices, str):
        return value
    if choices == SOILS:
        return soil_named(value).name
    wanted = " ".join(value.split()).casefold()
    return next((choice for choice in choices if choice.casefold() == wanted), value)
