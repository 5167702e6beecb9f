"""From the checked keys of a job file to areas in metres and spots with their readings."""

import re
from collections.abc import Sequence
from typing import Final

from basecalc.checks import shown
from basecalc.errors import BasecalcError, InputError, OutOfRangeError
from basecalc.ground.readings import Reading, find, test_unit
from basecalc.job.fields import DIMENSIONS, OPTIONAL_DIMENSIONS, AreaFields, FileFields, SpotFields
from basecalc.job.record import JobArea, Spot
from basecalc.plan import shapes
from basecalc.units import FOOT_M

_ALL_DIMENSIONS: Final = tuple(
    dict.fromkeys(
        [key for sets in DIMENSIONS.values() for keys in sets for key in keys]
        + [key for keys in OPTIONAL_DIMENSIONS.values() for key in keys]
    )
)
_METRIC: Final = {"in": "mm", "tsf": "kPa"}
_METRES: Final = re.compile(r"\d m2?\b")
SPAN: Final = 2  # outside corners lost where one straight side is closed


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
        first = seen.setdefault(area.name.casefold(), position)
        if first != position:
            wrong.append(InputError(f"name stands twice, area {first} has it too; it must be its own", where=place))
        try:
            built.append(_area(area, fields))
        except BasecalcError as error:
            wrong.append(error.at(place))
    return tuple(built), wrong


def _area(area: AreaFields, fields: FileFields) -> JobArea:
    shape = _shape(area, metric=fields.job.units == "metric")
    foundation = area.foundation_edge or 0.0
    _within("foundation edge", foundation, shape.perimeter_m, "the perimeter")
    if area.open_edge is not None:
        open_edge = area.open_edge
        rest = None if shape.perimeter_m is None else shape.perimeter_m - foundation
        _within("open edge", open_edge, rest, "the perimeter less the foundation edge")
    elif shape.perimeter_m is None:
        raise InputError("open edge is missing; it must be given where the perimeter of a measured area is not")
    else:
        open_edge = max(shape.perimeter_m - foundation, 0.0)
    edge_restraint = open_edge if area.edge_restraint is None else area.edge_restraint
    _pavement(area)
    _fill(area)
    spots = [spot for spot in fields.spot if _stands_for(spot, fields) == area.name.casefold()]
    strayed = any(_stands_for(spot, fields) not in {one.name.casefold() for one in fields.area} for spot in fields.spot)
    if area.strength is None and not spots and not strayed:  # a spot that names no area is refused by itself
        raise InputError(
            "there is no spot with a reading and no strength; add a [[spot]] with area = "
            f'"{area.name}", or a strength such as strength = "soft" or strength = 2.1 (CBR, %)'
        )
    if area.strength is not None and spots:
        raise InputError(
            f"strength is given by hand, but spot {shown(spots[0].name)} was read here; it must be one or the other"
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
        corners=_corners(area, shape, open_edge),
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
    )


def _shape(area: AreaFields, *, metric: bool) -> shapes.PlanShape:
    """Return the plan shape, refusing dimensions that are missing or that belong to another shape."""
    given = {key for key in _ALL_DIMENSIONS if getattr(area, key) is not None}
    sets, optional = DIMENSIONS[area.shape], set(OPTIONAL_DIMENSIONS.get(area.shape, ()))
    needed = " or ".join(" and ".join(word.replace("_", " ") for word in keys) for keys in sets)
    complete = [keys for keys in sets if set(keys) <= given]
    if not complete:
        lacking = [key for key in sets[0] if key not in given]
        raise InputError(f"{lacking[0].replace('_', ' ')} is missing; a {area.shape} needs {needed}")
    stray = sorted(given - set(complete[0]) - optional)
    if stray:
        raise InputError(f"{stray[0].replace('_', ' ')} does not belong to a {area.shape}, which needs only {needed}")
    try:
        return _plan(area)
    except BasecalcError as error:
        # The geometry speaks metres, which a reader in feet may take for feet.
        note = f" (1 m = {1 / FOOT_M:.4g} ft)" if not metric and _METRES.search(error.sentence) else ""
        raise type(error)(error.sentence + note) from None


def _plan(area: AreaFields) -> shapes.PlanShape:
    match area.shape:
        case "rectangle":
            return shapes.rectangle(_given(area.length), _given(area.width))
        case "triangle" if area.sides is not None:
            return shapes.triangle_by_sides(area.sides[0], area.sides[1], area.sides[2])
        case "triangle":
            return shapes.triangle(_given(area.base), _given(area.height))
        case "trapezoid" if area.parallel_sides is not None:
            legs = None if area.legs is None else (area.legs[0], area.legs[1])
            return shapes.trapezoid(area.parallel_sides[0], area.parallel_sides[1], _given(area.height), legs)
        case "circle":
            return shapes.circle(_given(area.diameter))
        case "polygon":
            return shapes.polygon([(point[0], point[1]) for point in area.points or ()])
        case _:
            extent = (_given(area.length), _given(area.width))
            return shapes.measured(_given(area.area), area.perimeter, extent_m=extent)


def _given(value: float | None) -> float:
    if value is None:
        raise InputError("a dimension is missing")
    return value


def _extent(shape: shapes.PlanShape) -> tuple[float, float]:
    if shape.extent_m is None:
        raise InputError("length and width are missing; they must be given, rolls are cut to them")
    return shape.extent_m


def _corners(area: AreaFields, shape: shapes.PlanShape, open_edge: float) -> float:
    """Return what the corners of the open edge add: as given, or those of the shape less those at a closed side."""
    if area.corners is not None:
        return area.corners
    if open_edge == 0:
        return 0.0
    if shape.perimeter_m is None or open_edge >= shape.perimeter_m * (1 - 1e-9):
        return shape.corner_sum
    if area.shape == "circle":
        return shape.corner_sum * open_edge / shape.perimeter_m
    return max(shape.corner_sum - SPAN, 0.0)


def _within(name: str, value: float, limit: float | None, words: str) -> None:
    if limit is not None and value > limit * (1 + 1e-9) + 1e-9:
        raise OutOfRangeError(
            f"{name} is {value / FOOT_M:.6g} ft ({value:.6g} m); it must be at most {max(limit, 0.0) / FOOT_M:.6g} ft "
            f"({max(limit, 0.0):.6g} m), {words}"
        )


def _pavement(area: AreaFields) -> None:
    if area.old_pavement > 0 and not area.old_pavement_kind:
        raise InputError("old pavement kind is missing; it must be one of: asphalt, concrete, pavers, gravel")
    if area.old_pavement == 0 and area.old_pavement_kind:
        raise InputError("old pavement is missing; it must be its thickness where its kind is given")


def _fill(area: AreaFields) -> None:
    depth, width = area.foundation_fill_depth, area.foundation_fill_width
    if (depth > 0) != (width > 0):
        lacking = "width" if depth > 0 else "depth"
        raise InputError(f"foundation fill {lacking} is missing; depth and width of the fill are given together")
    if depth > 0 and not area.foundation_edge:
        raise InputError("foundation edge is missing; it must be the length along which the fill is placed")


def _stands_for(spot: SpotFields, fields: FileFields) -> str:
    """Return the area a spot stands for, in lower case; where there is one area only, it need not be named."""
    return (spot.area or (fields.area[0].name if len(fields.area) == 1 else "")).casefold()


def build_spots(fields: FileFields, where: str) -> tuple[tuple[Spot, ...], list[BasecalcError]]:
    """Return the spots of a job file, every reading tried, and everything wrong with them.

    Parameters
    ----------
    fields
        The checked keys.
    where
        The file, for refusals.
    """
    names = {area.name.casefold(): area.name for area in fields.area}
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
        built.append(Spot(spot.name, area, readings))
    return tuple(built), wrong


def _readings(
    spot: SpotFields, area: str, fields: FileFields, place: str
) -> tuple[tuple[Reading, ...], Sequence[BasecalcError]]:
    here = next(one for one in fields.area if one.name == area)
    readings: list[Reading] = []
    wrong: list[BasecalcError] = []
    for position, one in enumerate(spot.readings, 1):
        value = _with_unit(one.test, one.reading) if fields.job.units == "metric" else one.reading
        soil = one.soil or here.soil or fields.job.soil
        reading = Reading(one.test, value, one.moisture or fields.job.season, soil, one.note)
        try:
            find(reading)
        except BasecalcError as error:
            wrong.append(error.at(f"{place}, reading {position}"))
        readings.append(reading)
    return tuple(readings), wrong


def _with_unit(test: str, value: float | str) -> float | str:
    """Return a plain number of a metric job with its metric unit, where the test's own unit is not metric."""
    unit = _METRIC.get(test_unit(test), "")
    try:
        return f"{float(value):.12g} {unit}" if unit else value
    except ValueError:
        return value
