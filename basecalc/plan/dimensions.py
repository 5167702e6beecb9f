"""What an area is measured by: the sizes of each shape, its edges, and the limits of every number."""

from collections.abc import Mapping, Sequence
from typing import Any, Final

from basecalc.errors import InputError, OutOfRangeError
from basecalc.plan import shapes
from basecalc.plan.outline import MOST_CORNERS
from basecalc.units import FOOT_M, Measure

SHAPES: Final = ("rectangle", "triangle", "trapezoid", "circle", "polygon", "measured")
OLD_PAVEMENTS: Final = ("asphalt", "concrete", "pavers", "gravel")

# What each shape is measured by: sets of keys, of which one must be complete.
DIMENSIONS: Final[Mapping[str, tuple[tuple[str, ...], ...]]] = {
    "rectangle": (("length", "width"),),
    "triangle": (("sides",), ("base", "height")),
    "trapezoid": (("parallel_sides", "height"),),
    "circle": (("diameter",),),
    "polygon": (("points",),),
    "measured": (("area", "length", "width"),),
}
OPTIONAL_DIMENSIONS: Final[Mapping[str, tuple[str, ...]]] = {"trapezoid": ("legs",), "measured": ("perimeter",)}

# An area as a row of cells: these keys in this order. Sizes stand in five cells; which key of `DIMENSIONS` each fills
# depends on the shape.
AREA_FIELDS: Final = (
    "name", "shape", "size_1", "size_2", "size_3", "size_4", "size_5", "points", "area", "perimeter", "foundation_edge",
    "open_edge", "corners", "finish_above_ground", "fall_length", "fall_width", "soil", "old_pavement",
    "old_pavement_kind", "keep_old_base", "foundation_fill_depth", "foundation_fill_width", "edge_restraint",
    "geotextile", "strength", "water_table", "frost_group", "fines_below_20_microns", "plasticity_index", "dry_density",
    "water_content", "note",
)  # fmt: skip
FROST_FIELDS: Final = AREA_FIELDS[26:31]
SIZES: Final = AREA_FIELDS[2:7]
SIZES_OF: Final[Mapping[str, tuple[str, ...]]] = {
    "rectangle": ("length", "width"),
    "triangle": ("base", "height"),  # with a third size: the three sides
    "trapezoid": ("parallel_sides", "parallel_sides", "height", "legs", "legs"),
    "circle": ("diameter",),
    "polygon": (),
    "measured": ("length", "width"),  # the box that a roll must cover
}
_THREE_SIDES: Final = ("sides", "sides", "sides")
SIZES_TOLD: Final[Mapping[str, str]] = {
    "rectangle": "1 length, 2 width",
    "triangle": "1 base, 2 height; or 1 2 3: its sides",
    "trapezoid": "1 2 parallel sides, 3 height",
    "circle": "1 diameter",
    "polygon": "corners: 0 0; 60 0; 60 14; 0 14",
    "measured": "area, outline, 1 length, 2 width",
}

LENGTH: Final = Measure("m", "ft", "m", 0, 3000, above=True)
POSITION: Final = Measure("m", "ft", "m", -30000, 30000)
EDGE: Final = Measure("m", "ft", "m", 0, 30000)
PLAN_AREA: Final = Measure("m2", "ft2", "m2", 0, 1_000_000, above=True)
LEVEL: Final = Measure("m", "in", "mm", -120, 120)
THICKNESS: Final = Measure("m", "in", "mm", 0, 36)
FILL_DEPTH: Final = Measure("m", "in", "mm", 0, 120)
FILL_WIDTH: Final = Measure("m", "ft", "m", 0, 30)
WATER_TABLE: Final = Measure("m", "in", "mm", 0, 600)
FROST_NUMBERS: Final[Mapping[str, Measure]] = {
    "fines_below_20_microns": Measure("%", "%", "%", 0, 100),
    "plasticity_index": Measure("", "", "", 0, 200),
    "dry_density": Measure("pcf", "pcf", "kg/m3", 50, 160),
    "water_content": Measure("%", "%", "%", 1, 100),
}
CORNERS: Final = Measure("", "", "", -MOST_CORNERS, MOST_CORNERS)  # a sharp corner counts as many right angles
_ENDS: Final = 2  # a closed stretch has two ends, at which no corner is open


def sized(
    shape: str, sizes: Sequence[Any], points: Any = None, area: Any = None, perimeter: Any = None
) -> dict[str, Any]:
    """Return the dimensions that a row of cells fills in, by their key in `DIMENSIONS`; empty cells are left out.

    Parameters
    ----------
    shape
        One of `SHAPES`.
    sizes
        The five sizes, None where a cell is empty.
    points, area, perimeter
        What stands in the cells of their own, None where they are empty.

    Raises
    ------
    InputError
        A size that the shape does not have.

    Examples
    --------
    >>> sized("trapezoid", [24, 18, 20, None, None])
    {'parallel_sides': [24, 18], 'height': 20}
    """
    keys = _THREE_SIDES if shape == "triangle" and sizes[2] is not None else SIZES_OF[shape]
    given: dict[str, Any] = {}
    for position, value in enumerate(sizes, 1):
        if value is None:
            continue
        if position > len(keys):
            raise InputError(f"size {position} does not belong to a {shape}, which takes: {SIZES_TOLD[shape]}")
        key = keys[position - 1]
        if keys.count(key) > 1:
            given.setdefault(key, []).append(value)
        else:
            given[key] = value
    for key in [key for key, value in given.items() if isinstance(value, list) and len(value) != keys.count(key)]:
        raise InputError(f"{key.replace('_', ' ')} has {len(given[key])} sizes; it must have {keys.count(key)}")
    own = {"points": points, "area": area, "perimeter": perimeter}
    return given | {key: value for key, value in own.items() if value is not None}


def corner_points(text: str) -> list[list[str]]:
    """Return the corners that a cell lists: x and y of each, as written.

    Parameters
    ----------
    text
        Such as ``"0 0; 60 0; 60 14; 0 14"``.

    Raises
    ------
    InputError
        A corner that is not two numbers.

    Examples
    --------
    >>> corner_points("0 0; 60,0; 60 14")
    [['0', '0'], ['60', '0'], ['60', '14']]
    """
    corners = [corner.replace(",", " ").split() for corner in text.split(";") if corner.strip()]
    for corner in corners:
        if len(corner) != 2:
            raise InputError(
                f"corners at: {' '.join(corner)!r} is no corner; it must be 'x y; x y; ...', two numbers each"
            )
    return corners


def plan_shape(shape: str, given: Mapping[str, Any]) -> shapes.PlanShape:
    """Return the plan shape of an area.

    Parameters
    ----------
    shape
        One of `SHAPES`.
    given
        The dimensions that are filled in, by their key in `DIMENSIONS` [m, m2]: numbers, or lists of them.

    Raises
    ------
    InputError
        A dimension that is missing, or one that belongs to another shape.
    OutOfRangeError
        Dimensions that make no such shape.

    Examples
    --------
    >>> plan_shape("rectangle", {"length": 12.0, "width": 6.0}).area_m2
    72.0
    """
    sets, optional = DIMENSIONS[shape], set(OPTIONAL_DIMENSIONS.get(shape, ()))
    needed = " or ".join(" and ".join(word.replace("_", " ") for word in keys) for keys in sets)
    complete = [keys for keys in sets if set(keys) <= set(given)]
    if not complete:
        lacking = [key for key in sets[0] if key not in given]
        raise InputError(f"{lacking[0].replace('_', ' ')} is missing; a {shape} needs {needed}")
    stray = sorted(set(given) - set(complete[0]) - optional)
    if stray:
        raise InputError(f"{stray[0].replace('_', ' ')} does not belong to a {shape}, which needs only {needed}")
    match shape:
        case "rectangle":
            return shapes.rectangle(given["length"], given["width"])
        case "triangle" if "sides" in given:
            first, second, third = given["sides"]
            return shapes.triangle_by_sides(first, second, third)
        case "triangle":
            return shapes.triangle(given["base"], given["height"])
        case "trapezoid":
            first, second = given["parallel_sides"]
            legs = (given["legs"][0], given["legs"][1]) if "legs" in given else None
            return shapes.trapezoid(first, second, given["height"], legs)
        case "circle":
            return shapes.circle(given["diameter"])
        case "polygon":
            return shapes.polygon([(point[0], point[1]) for point in given["points"]])
        case _:
            extent = (given["length"], given["width"])
            return shapes.measured(given["area"], given.get("perimeter"), extent_m=extent)


def open_edge_m(shape: shapes.PlanShape, foundation_edge_m: float, given_m: float | None) -> float:
    """Return the edge past which the base is carried on: as given, or all of it but what lies along a building [m].

    Parameters
    ----------
    shape
        The plan shape.
    foundation_edge_m
        Length along a building [m].
    given_m
        As the user says [m]; None where nothing is said.

    Raises
    ------
    InputError
        Nothing is said, and the perimeter was not measured.
    OutOfRangeError
        Longer than the perimeter leaves room for.
    """
    _within("foundation edge", foundation_edge_m, shape.perimeter_m, "the perimeter")
    if given_m is not None:
        rest = None if shape.perimeter_m is None else shape.perimeter_m - foundation_edge_m
        _within("open edge", given_m, rest, "the perimeter less the foundation edge")
        return given_m
    if shape.perimeter_m is None:
        raise InputError("open edge is missing; it must be given where the perimeter of a measured area is not")
    return max(shape.perimeter_m - foundation_edge_m, 0.0)


def open_corners(word: str, shape: shapes.PlanShape, edge_m: float, given: float | None) -> float:
    """Return what the corners of the open edge add: as given, or those of the shape at which both sides are open.

    Parameters
    ----------
    word
        The shape in a word.
    shape
        The plan shape.
    edge_m
        The open edge [m].
    given
        As the user says; None where nothing is said.

    Notes
    -----
    A corner at which both sides are open adds ``tan(turn / 2)`` (the mitre); at the end of a closed side the base ends
    square. Where the closed length is that of a side, or of some sides in a row, within 2 %, those are taken as closed;
    of several that would do, those that leave the most. Else the two greatest corners are left out.
    """
    if given is not None:
        return given
    if edge_m == 0:
        return 0.0
    if shape.perimeter_m is None or edge_m >= shape.perimeter_m * (1 - 1e-9):
        return shape.corner_sum
    if word == "circle":
        return shape.corner_sum * edge_m / shape.perimeter_m
    if not shape.sides:  # an area that was measured: four right angles are taken
        return max(shape.corner_sum - _ENDS, 0.0)
    left = _left_open(shape.sides, shape.perimeter_m - edge_m)
    if left:
        return round(max(left), 12)
    greatest = sorted(corner for _, corner in shape.sides)[-_ENDS:]
    return max(round(shape.corner_sum - sum(greatest), 12), 0.0)


def _left_open(sides: Sequence[tuple[float, float]], closed_m: float) -> list[float]:
    """Return what the open corners add, for each way to close sides in a row that together are so long."""
    count, found = len(sides), []
    for first in range(count):
        length, lost = 0.0, sides[first - 1][1]  # the corner before the first closed side
        for place in range(first, first + count - 1):
            length, lost = length + sides[place % count][0], lost + sides[place % count][1]
            if abs(length - closed_m) <= shapes.TAPE * closed_m:
                found.append(sum(corner for _, corner in sides) - lost)
    return found


def require_pavement(thickness_m: float, kind: str) -> None:
    """Refuse an old pavement whose thickness or kind is missing.

    Parameters
    ----------
    thickness_m
        Its thickness [m], 0 for none.
    kind
        One of `OLD_PAVEMENTS`, or nothing.

    Raises
    ------
    InputError
        One of the two is missing.
    """
    if thickness_m > 0 and not kind:
        raise InputError(f"old pavement kind is missing; it must be one of: {', '.join(OLD_PAVEMENTS)}")
    if thickness_m == 0 and kind:
        raise InputError("old pavement is missing; it must be its thickness where its kind is given")


def require_fill(depth_m: float, width_m: float, foundation_edge_m: float) -> None:
    """Refuse a fill at a foundation that is not given whole.

    Parameters
    ----------
    depth_m, width_m
        Of the fill [m].
    foundation_edge_m
        Length along the building [m].

    Raises
    ------
    InputError
        Depth, width or length is missing.
    """
    if (depth_m > 0) != (width_m > 0):
        lacking = "width" if depth_m > 0 else "depth"
        raise InputError(f"foundation fill {lacking} is missing; depth and width of the fill are given together")
    if depth_m > 0 and not foundation_edge_m:
        raise InputError("foundation edge is missing; it must be the length along which the fill is placed")


def _within(name: str, value: float, limit: float | None, words: str) -> None:
    if limit is not None and value > limit * (1 + 1e-9) + 1e-9:
        raise OutOfRangeError(
            f"{name} is {value / FOOT_M:.6g} ft ({value:.6g} m); it must be at most {max(limit, 0.0) / FOOT_M:.6g} ft "
            f"({max(limit, 0.0):.6g} m), {words}"
        )
