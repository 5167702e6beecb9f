"""From the checked keys of a job file to areas in metres and spots with their readings."""

import re
from collections.abc import Mapping, Sequence
from typing import Final

from basecalc.checks import shown
from basecalc.errors import BasecalcError, InputError
from basecalc.ground.log.record import Design
from basecalc.ground.readings import Reading, find, in_edition
from basecalc.job.fields import AreaFields, FileFields, SpotFields
from basecalc.job.findings import loose_fill, pavement, require_strip
from basecalc.job.frost import frost_soil
from basecalc.job.logs import ROWS_OF_THE_JOB, design_readings, log_content, spot_designs
from basecalc.job.record import JobArea, Spot
from basecalc.job.strip import split_area, strip_name
from basecalc.plan import shapes
from basecalc.plan.dimensions import (
    DIMENSIONS,
    OPTIONAL_DIMENSIONS,
    open_corners,
    open_edge_m,
    plan_shape,
    require_fill,
    require_pavement,
)
from basecalc.plan.levels import falls
from basecalc.units import FOOT_M

_ALL_DIMENSIONS: Final = tuple(
    dict.fromkeys(
        [key for sets in DIMENSIONS.values() for keys in sets for key in keys]
        + [key for keys in OPTIONAL_DIMENSIONS.values() for key in keys]
    )
)
_METRES: Final = re.compile(r"\d m2?\b")


def numbered(what: str, position: int, name: str) -> str:
    """Return how a refusal names one of several tables of a file.

    Parameters
    ----------
    what
        'area', 'spot' or 'reading'.
    position
        Its place in the file, from 1.
    name
        Its own name, where it has one.

    Examples
    --------
    >>> numbered("area", 2, "Parking")
    'area 2 "Parking"'
    """
    short = name if len(name) <= 40 else name[:37] + "..."
    return f'{what} {position} "{short}"' if short else f"{what} {position}"


def build_areas(fields: FileFields, where: str) -> tuple[tuple[JobArea, ...], list[BasecalcError]]:
    """Return the areas of a job file, and everything wrong with them.

    Parameters
    ----------
    fields
        The checked keys.
    where
        The file, for refusals.
    """
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
    """Return the spots of a job file, every reading tried, and everything wrong with them.

    Parameters
    ----------
    fields
        The checked keys.
    where
        The file, for refusals.
    logs
        The cone logs by name, where they lie in no file of their own.
    """
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
