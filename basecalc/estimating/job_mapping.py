"""A job back into a mapping that it could have been read from."""

from collections.abc import Mapping
from dataclasses import fields
from typing import Any, Final

from basecalc.checks import shown
from basecalc.errors import InputError
from basecalc.ground.cone import hammer_of
from basecalc.ground.log.entries import ASSUMED_HAMMER
from basecalc.ground.log.rows import usual_rows
from basecalc.ground.readings import Reading
from basecalc.job import Job
from basecalc.job.frost import frost_keys, winter
from basecalc.job.record import JobArea, Spot
from basecalc.plan import shapes
from basecalc.units import FOOT2_M2, FOOT_M, INCH_M

_MM: Final = 0.001
# Fields that a job file writes as they are.
_HEAD: Final = (
    "number", "client", "site", "date", "prepared_by", "units", "traffic", "season", "new_build", "offer", "stone",
    "paver", "geogrid", "geotextile", "spoil_truck", "stone_truck", "start",
)  # fmt: skip
_KNOWN: Final = ("strength", "water_table_m", "frost")
_AREA: Final = ("name", "soil", "old_pavement_kind", "keep_old_base", "geotextile", "note", "corners")
# Fields that become keys in feet or metres, and in inches or millimetres.
_PLAN: Final = {
    "open_edge_m": "open_edge", "foundation_edge_m": "foundation_edge", "edge_restraint_m": "edge_restraint",
    "foundation_fill_width_m": "foundation_fill_width",
}  # fmt: skip
_THICK: Final = {
    "finish_above_ground_m": "finish_above_ground", "old_pavement_m": "old_pavement",
    "foundation_fill_depth_m": "foundation_fill_depth",
}  # fmt: skip
_MADE: Final = {
    Job: {*_HEAD, "notes", "areas", "spots", "source_path", "entered", "climate"},
    JobArea: {
        *_AREA,
        *_PLAN,
        *_THICK,
        "shape",
        "area_m2",
        "perimeter_m",
        "extent_m",
        "strength",
        "fall_m",
        "water_table_m",
        "frost",
        "walked",
    },
    # the readings hold what the log's drops came to
    Spot: {"name", "area", "readings", "log", "drops", "log_notes", "log_text", "base_bottom_m"},
    Reading: {"test", "value", "moisture", "soil", "note", "told", "basis"},
}
_TOLD: Final = {
    "pavement": "findings of an old pavement",
    "strip_of": "a strip along the foundation",
    "footing_m": "footing depth",
}


def job_mapping(job: Job) -> Mapping[str, Any]:
    """Return a mapping that `basecalc.job.parse_job` reads this job from.

    Areas come back as rectangles or circles where their sizes can be told, else as measured ones: the corners of a
    polygon are not kept in a job, only what they add up to. The rows of a cone log come back as they were read.

    Parameters
    ----------
    job
        The job.

    Raises
    ------
    InputError
        It says something beyond client, areas and readings.
    """
    _refuse_more(job, "the job")
    head = {name: getattr(job, name) for name in _HEAD} | {"walked": job_walked(job)}
    if job.climate is not None:
        head["climate"] = winter(job.climate, metric=job.units == "metric")
    return {
        "job": {**head, "notes": list(job.notes)},
        "area": [_area(area, metric=job.units == "metric") for area in job.areas],
        "spot": spot_mappings(job),
    }


def job_walked(job: Job) -> bool:
    """Return whether the areas of a job were walked, all of them alike.

    Parameters
    ----------
    job
        The job.

    Raises
    ------
    InputError
        Some were and some were not.
    """
    walked = {area.walked for area in job.areas}
    if len(walked) > 1:
        raise InputError(
            "an area has 'walked' other than the job, for which the sheets of the estimating workbook have no place; "
            "quote the job file itself"
        )
    return True in walked


def spot_mappings(job: Job) -> list[dict[str, Any]]:
    """Return the spots of a job as a job file tells them, the rows of a cone log with them.

    Parameters
    ----------
    job
        The job.

    Raises
    ------
    InputError
        A spot says something beyond its readings and its log.
    """
    return [_spot(spot, metric=job.units == "metric") for spot in job.spots]


def _refuse_more(record: Job | JobArea | Spot | Reading, what: str) -> None:
    """Refuse a field that would be lost."""
    for one in fields(record):
        if one.name not in _MADE[type(record)] and getattr(record, one.name) != one.default:
            key = _TOLD.get(one.name, one.name.removesuffix("_m").replace("_", " "))
            raise InputError(
                f"{what} has {shown(key)}, for which the sheets of the estimating workbook have no place; quote the "
                "job file itself"
            )


def _area(area: JobArea, *, metric: bool) -> dict[str, Any]:
    _refuse_more(area, f"area {shown(area.name)}")
    plan, thick, square = (1.0, _MM, 1.0) if metric else (FOOT_M, INCH_M, FOOT2_M2)
    made = {name: getattr(area, name) for name in _AREA}
    made |= {key: getattr(area, field) / plan for field, key in _PLAN.items()}
    made |= {key: getattr(area, field) / thick for field, key in _THICK.items()}
    if area.fall_m is not None:
        made["fall_length"], made["fall_width"] = (fall / thick for fall in area.fall_m)
    if area.water_table_m is not None:
        made["water_table"] = area.water_table_m / thick
    if area.frost is not None:
        made["frost"] = frost_keys(area.frost, metric=metric)
    if area.strength is not None:
        made["strength"] = area.strength.strength_class if area.strength.cbr is None else area.strength.cbr
    length, width = area.extent_m
    seen = (area.area_m2, area.perimeter_m)
    if area.shape == "rectangle" and seen == _seen(shapes.rectangle(length, width)):
        return made | {"shape": "rectangle", "length": length / plan, "width": width / plan}
    if area.shape == "circle" and seen == _seen(shapes.circle(length)):
        return made | {"shape": "circle", "diameter": length / plan}
    outline = None if area.perimeter_m is None else area.perimeter_m / plan
    box = {"length": length / plan, "width": width / plan}
    return made | {"shape": "measured", "area": area.area_m2 / square, "perimeter": outline, **box}


def _seen(shape: shapes.PlanShape) -> tuple[float, float | None]:
    return shape.area_m2, shape.perimeter_m


def _spot(spot: Spot, *, metric: bool) -> dict[str, Any]:
    _refuse_more(spot, f"spot {shown(spot.name)}")
    own = spot.readings[: len(spot.readings) - len(spot.drops)]  # each drop of a log is a reading behind the others
    made: dict[str, Any] = {"name": spot.name, "area": spot.area}
    if own:
        made["readings"] = [_reading(reading) for reading in own]
    if spot.drops:
        made |= {"log_rows": log_rows(spot, metric=metric), "log_blows": "per step", "log_depths": "total"}
    if spot.base_bottom_m is not None:
        made["base_bottom"] = spot.base_bottom_m / (_MM if metric else INCH_M)
    return made


def log_rows(spot: Spot, *, metric: bool) -> list[dict[str, Any]]:
    """Return the rows of a spot's log as a job file holds them: blows per step, depths in total.

    Parameters
    ----------
    spot
        A spot.
    metric
        Whether depths are in millimetres; else in inches.
    """
    unsaid = ASSUMED_HAMMER in spot.log_notes
    rows: list[dict[str, Any]] = []
    for design in spot.drops:
        drop = design.profile.drop
        for one in usual_rows(drop):
            hammer = "" if unsaid and one.factor == 1 else hammer_of(one.factor)
            deep = one.depth_mm if metric else one.depth_mm / 1000 / INCH_M
            told = {"drop": drop.name, "depth": deep, "blows": one.blows, "hammer": hammer, "soil": one.soil}
            rows.append({key: value for key, value in (told | {"note": one.note}).items() if value != ""})
    return rows


def _reading(reading: Reading) -> dict[str, Any]:
    _refuse_more(reading, "a reading")
    return {
        "test": reading.test, "reading": reading.value, "moisture": reading.moisture, "soil": reading.soil,
        "note": reading.note,
    }  # fmt: skip
