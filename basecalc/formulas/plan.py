"""Worksheet functions that measure an area from its row of cells, and lay rolls below it.

The first line of each docstring and the text of each parameter are the help that a spreadsheet program shows.
"""

from collections.abc import Mapping, Sequence
from functools import lru_cache
from typing import Any, Final

from basecalc.core.errors import InputError
from basecalc.core.numbers import choice
from basecalc.core.units import FOOT2_M2, FOOT_M, INCH_M, YARD3_M3, Measure
from basecalc.design.frost import GROUPS, FrostSoil, frost_ground
from basecalc.formulas.answers import answer_line
from basecalc.formulas.cells import LEFT_OUT, content, is_blank, number, unit_word, word
from basecalc.formulas.company import NONE, frozen, plain, words_of
from basecalc.ground.readings import soil_named as soil_named
from basecalc.plan import area as plan
from basecalc.takeoff import rolls as roll_goods
from basecalc.takeoff.model import MODEL

_UNITS: Final = {
    "us": {"length": FOOT_M, "area": FOOT2_M2, "depth": INCH_M, "volume": YARD3_M3},
    "metric": {"length": 1.0, "area": 1.0, "depth": 0.001, "volume": 1.0},
}
_LENGTHS: Final = {"ft": FOOT_M, "m": 1.0}
# What can be asked for, and the dimension of the answer.
MEASURED: Final[Mapping[str, str]] = {
    "area": "area", "open edge": "length", "open corners": "", "longest": "length", "widest": "length",
    "finish above ground": "depth", "old pavement": "depth", "fill": "volume", "edge restraint": "length", "soil": "",
    "kind of pavement": "", "geotextile": "", "frost ground": "",
}  # fmt: skip
_MEASURES: Final[Mapping[str, Measure]] = {
    "area": plan.PLAN_AREA, "perimeter": plan.LENGTH, "foundation_edge": plan.EDGE, "open_edge": plan.EDGE,
    "corners": plan.CORNERS, "finish_above_ground": plan.LEVEL, "old_pavement": plan.THICKNESS,
    "foundation_fill_depth": plan.FILL_DEPTH, "foundation_fill_width": plan.FILL_WIDTH, "edge_restraint": plan.EDGE,
    "water_table": plan.WATER_TABLE, **plan.FROST_NUMBERS, **dict.fromkeys(plan.SIZES, plan.LENGTH),
}  # fmt: skip


@lru_cache(maxsize=4096)
def _measured(row: tuple[Any, ...], usual_soil: str, units: str) -> Mapping[str, float | str]:
    """Return everything that can be asked of an area, in the units of the edition."""
    cells = dict(zip(plan.AREA_FIELDS, (*row, *[None] * len(plan.AREA_FIELDS)), strict=False))
    read: dict[str, float | None] = {}
    for key, kind in _MEASURES.items():
        name, cell = key.replace("_", " "), content(key.replace("_", " "), cells[key])
        read[key] = None if cell is None else kind.read(name, cell, kind.unit(units))
    said = {key: words_of(key.replace("_", " "), cells[key]) for key in ("name", "shape", "points", "soil")}
    if not said["name"]:
        raise InputError("area_row has no name; the first cell must name the area")
    shape_word = choice("shape", said["shape"], plan.SHAPES)
    corners = [
        [plan.POSITION.read("corners at", place, plan.POSITION.unit(units)) for place in corner]
        for corner in plan.corner_points(said["points"])
    ]
    sizes = [read[key] for key in plan.SIZES]
    shape = plan.plan_shape(shape_word, plan.sized(shape_word, sizes, corners or None, read["area"], read["perimeter"]))
    at_building = read["foundation_edge"] or 0.0
    edge = plan.open_edge_m(shape, at_building, read["open_edge"])
    old, deep, wide = (read[key] or 0.0 for key in ("old_pavement", "foundation_fill_depth", "foundation_fill_width"))
    kind_word = _one_of(cells, "old_pavement_kind", plan.OLD_PAVEMENTS)
    plan.require_pavement(old, kind_word)
    plan.require_fill(deep, wide, at_building)
    _one_of(cells, "keep_old_base", ("yes", "no"))
    soil = said["soil"] or usual_soil
    if not soil:
        raise InputError("soil is missing; it must be what is dug here, such as clay, in the row or on the sheet Start")
    if shape.extent_m is None:
        raise InputError("length and width are missing; they must be given, rolls are cut to them")
    restraint = read["edge_restraint"]
    group = _one_of(cells, "frost_group", GROUPS)
    frost = frost_ground(soil, FrostSoil(group, read["fines_below_20_microns"], read["plasticity_index"]))
    found: dict[str, float | str] = {
        "area": shape.area_m2,
        "open edge": edge,
        "open corners": plan.open_corners(shape_word, shape, edge, read["corners"]),
        "longest": shape.extent_m[0],
        "widest": shape.extent_m[1],
        "finish above ground": read["finish_above_ground"] or 0.0,
        "old pavement": old,
        "fill": MODEL.value("fill", along=at_building, fill_width=wide, fill_depth=deep, sound_at=0.0),
        "edge restraint": edge if restraint is None else restraint,
        "soil": soil_named(soil).name,
        "kind of pavement": kind_word or NONE,
        "geotextile": _one_of(cells, "geotextile", ("yes", "no")) or "no",
        "frost ground": _ground_words(soil, frost.group, read, cells, units),
    }
    return {
        key: value if isinstance(value, str) or not MEASURED[key] else plain(value / _UNITS[units][MEASURED[key]])
        for key, value in found.items()
    }


def _ground_words(soil: str, group: str, read: Mapping[str, float | None], cells: Mapping[str, Any], units: str) -> str:
    """Return what the least base and the frost check go by: frost group or soil, and what the row says of the place."""
    said = [group or soil_named(soil).name]
    if not soil_named(soil).fine:
        said.append("coarse")
    if any(not is_blank(cells[key]) for key in ("frost_group", *plan.FROST_NUMBERS)):
        said.append("frost tested")
    if (water := read["water_table"]) is not None:
        unit, size = ("in", INCH_M) if units == "us" else ("mm", 0.001)
        said.append(
            f"water {plain((water + (read['finish_above_ground'] or 0.0)) / size):.15g} {unit} below the finish"
        )
    return ", ".join(said)


def _one_of(cells: Mapping[str, Any], key: str, offered: Sequence[str]) -> str:
    said = words_of(key.replace("_", " "), cells[key])
    return choice(key.replace("_", " "), said, offered) if said else ""


def area_measure(area_row: Any, what: Any, soil: Any = "", edition: Any = "us") -> float | str:
    """Give one measure of an area, the whole row of the area checked.

    Parameters
    ----------
    area_row
        The row of the area on the sheet Areas, from its name to its note.
    what
        area, open edge, open corners, longest, widest, finish above ground, old pavement, fill, edge restraint, soil,
        kind of pavement, geotextile or frost ground (frost group, else soil).
    soil
        Soil of an area that names none; nothing if left out.
    edition
        us (if left out) or metric: the units of the row and of the result.

    Returns
    -------
    float or str
        ft, ft2, in and yd3, or m, m2, mm and m3; or a word.
    """
    units, asked = word("edition", edition, tuple(_UNITS)), word("what", what, tuple(MEASURED))
    return _measured(frozen(area_row)[0], words_of("soil", soil), units)[asked]


def area_measures(area_row: Any, soil: Any = "", edition: Any = "us") -> str:
    """Give all that AREA_MEASURE can be asked in one line, from which each number is picked; the row is read once.

    Parameters
    ----------
    area_row
        As in AREA_MEASURE: the row of the area.
    soil
        As in AREA_MEASURE: soil of an area that names none; nothing if left out.
    edition
        As in AREA_MEASURE: us (if left out) or metric.

    Returns
    -------
    str
        The measures, in the order in which AREA_MEASURE names them.
    """
    found = _measured(frozen(area_row)[0], words_of("soil", soil), word("edition", edition, tuple(_UNITS)))
    return answer_line([found[what] for what in MEASURED])


def roll_overlap(kind: Any, strength: Any, where: Any, own: Any = LEFT_OUT, unit: Any = "ft") -> float:
    """Give how far strips of geogrid or geotextile overlap: as the owner says, or by the strength of the ground.

    Parameters
    ----------
    kind
        geogrid or geotextile.
    strength
        CBR of the ground [%].
    where
        side: of neighbouring strips; end: where one roll ends and the next begins.
    own
        The owner's own overlap [unit]; none, or left out, for the table by strength.
    unit
        Unit of the result: ft (if left out) or m.

    Returns
    -------
    float
        Overlap [`unit`].

    Examples
    --------
    >>> roll_overlap("geogrid", 5, "side")
    1.0
    """
    of, place, to = word("kind", kind, ("geogrid", "geotextile")), word("where", where, ("side", "end")), _length(unit)
    rule = roll_goods.overlap(number("strength", strength, "%", 0.05, 100), of)
    if not (own is LEFT_OUT or is_blank(own) or own == NONE):
        return number("own", own, to, 0, 20)
    return plain((rule.side_m if place == "side" else rule.end_m) / _LENGTHS[to])


def _length(unit: Any) -> str:
    return unit_word(unit, _LENGTHS)


def roll_strips(
    length: Any, width: Any, roll_length: Any, roll_width: Any, side_overlap: Any, end_overlap: Any, unit: Any = "ft"
) -> float:
    """Give how many strips of a roll lie side by side on a rectangle.

    Parameters
    ----------
    length
        Length to cover, along the strips [unit].
    width
        Width to cover, across the strips [unit].
    roll_length
        Length of a roll [unit].
    roll_width
        Width of a roll [unit].
    side_overlap
        Overlap of neighbouring strips [unit].
    end_overlap
        Overlap where one roll ends and the next begins [unit].
    unit
        Unit of all lengths: ft (if left out) or m.

    Returns
    -------
    float
        Whole strips.
    """
    to = _length(unit)
    given = {
        "length": length, "width": width, "roll_length": roll_length, "roll_width": roll_width,
        "side_overlap": side_overlap, "end_overlap": end_overlap,
    }  # fmt: skip
    metres = [
        number(name, cell, to, 0, 4000, above="overlap" not in name) * _LENGTHS[to] for name, cell in given.items()
    ]
    return float(roll_goods.lay(*metres).strips)


def pooled_rolls(strips: Any, lengths: Any, end_overlaps: Any, roll_length: Any, unit: Any = "ft") -> float:
    """Give the whole rolls that the strips of all areas are cut from, what is left of a roll beginning the next strip.

    Parameters
    ----------
    strips
        Column with the strips of each area; blank where none are laid.
    lengths
        Column with the length of those strips [unit].
    end_overlaps
        Column with the overlap of roll ends there [unit].
    roll_length
        Length of a roll [unit].
    unit
        Unit of all lengths: ft (if left out) or m.

    Returns
    -------
    float
        Whole rolls.
    """
    to, laid = _length(unit), []
    if len({len(strips), len(lengths), len(end_overlaps)}) > 1:
        raise InputError("strips, lengths and end_overlaps have different sizes; they must be columns of one size")
    for count, length, end in zip(strips, lengths, end_overlaps, strict=True):
        if not is_blank(count):
            laid.append(
                (
                    int(number("strips", count, "", 0, 10_000)),
                    number("lengths", length, to, 0, 4000) * _LENGTHS[to],
                    number("end_overlaps", end, to, 0, 66) * _LENGTHS[to],
                )
            )
    if not any(count for count, _, _ in laid):
        raise InputError("strips is a range without strips; it must have at least one")
    roll = {"grid_length": number("roll_length", roll_length, to, 1, 4000) * _LENGTHS[to]}
    return float(roll_goods.strip_rows(laid, roll)[-1]["grid_used"])
