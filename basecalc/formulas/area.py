"""Worksheet functions that give all that is designed for an area at once: one call a row of a long sheet.

Each answer is what the function of that name shows by itself, refusals included. The first line of each docstring and
the text of each parameter are the help that a spreadsheet program shows.
"""

import json
from collections.abc import Sequence
from functools import lru_cache
from typing import Any, Final

from basecalc.core.errors import InputError
from basecalc.formulas.answers import answer_line
from basecalc.formulas.cells import LEFT_OUT, content, is_blank, unit_word, word
from basecalc.formulas.company import frozen, words_of
from basecalc.formulas.design import design_cbr, design_depth, design_reason
from basecalc.formulas.plan import roll_overlap
from basecalc.formulas.ranges import one_answer
from basecalc.formulas.site import area_strength, area_strength_reason
from basecalc.plan.area import AREA_FIELDS
from basecalc.tables.schema import YES_NO

# The answers of AREA_DESIGN in their order, as the sheet Areas calls its columns.
DESIGNED: Final = (
    "strength", "ground_why", "cbr", "depth", "why", "grid_depth", "grid_why",
    "textile_side", "textile_end", "grid_side", "grid_end",
)  # fmt: skip
_LONG: Final = {"in": "ft", "mm": "m"}  # lengths beside each unit of depth
_TASK: Final = 8
_NAME, _STRENGTH = (AREA_FIELDS.index(key) for key in ("name", "strength"))


def design_task(
    design: Any, traffic: Any, class_edge: Any, aperture_stability: Any, reduction: Any, reduction_source: Any,
    unit: Any = "in", walked: Any = "no",
) -> str:  # fmt: skip
    """Give what is the same for every area of a job in one line, for AREA_DESIGN, which checks it.

    Parameters
    ----------
    design
        The cell that holds DESIGN_SETTINGS.
    traffic
        The cell that holds TRAFFIC_LEVEL.
    class_edge
        weak or middle: where in its band a class alone is designed.
    aperture_stability
        Aperture stability modulus of the geogrid [m-N/deg], or none.
    reduction
        Its documented reduction, a share, or none.
    reduction_source
        Where that is documented, or none.
    unit
        Unit of depths: in (if left out; lengths are then in ft) or mm (lengths in m).
    walked
        no (if left out) or yes: whether the whole area was walked and its softest place tested.

    Returns
    -------
    str
        The task, read by AREA_DESIGN.
    """
    names = ("design", "traffic", "class_edge", "aperture_stability", "reduction", "reduction_source")
    given = frozen([[design, traffic, class_edge, aperture_stability, reduction, reduction_source]])[0]
    line, load, edge, stability, share, source = (
        cell if cell is None or isinstance(cell, str | float) else content(name, cell)
        for name, cell in zip(names, given, strict=True)
    )
    if any(is_blank(cell) for cell in (line, load, edge)):
        raise InputError("design, traffic or class_edge is missing; each must be the cell that holds it")
    cells = (line, load, edge, _as_number(stability), _as_number(share), source)
    # default: a cell that a spreadsheet turned into a date goes along as text, for AREA_DESIGN to refuse
    seen = "no" if is_blank(walked) else word("walked", walked, YES_NO)
    return json.dumps([*cells, unit_word(unit, _LONG), seen], separators=(",", ":"), default=str)


def _as_number(cell: Any) -> Any:
    """Return a number that is written as text as a number; AREA_DESIGN judges it, and all else, as it stands."""
    try:
        return float(cell)
    except (TypeError, ValueError):
        return cell


@lru_cache(maxsize=16)
def _task(line: str) -> tuple[Any, ...]:
    try:
        held = json.loads(line)
    except ValueError:
        held = None
    if not isinstance(held, list) or len(held) != _TASK or held[-2] not in _LONG:
        raise InputError("task is no line of DESIGN_TASK; it must be the cell that holds it")
    return tuple(held)


def area_design(area: Any, by_hand: Any, soil: Any, site: Any, task: Any) -> str:
    """Give all that is designed for an area in one line: ground, CBR, depths with their reasons, overlaps of rolls.

    Parameters
    ----------
    area
        The name of the area.
    by_hand
        Its strength by hand: a class or a CBR [%], only where nothing was read.
    soil
        Its soil in a word or its frost group, with what AREA_MEASURE says of the place as its frost ground.
    site
        The cell that holds SITE_READINGS, or the SITE_AREAS of a part of the areas.
    task
        The cell that holds DESIGN_TASK.

    Returns
    -------
    str
        Strength, its reason, CBR, depth and reason, both with geogrid, side and end overlaps of geotextile and geogrid.
    """
    design, traffic, class_edge, *grid, unit, walked = _task(words_of("task", task))
    row: list[Any] = [None] * len(AREA_FIELDS)
    row[_NAME], row[_STRENGTH] = area, by_hand
    ground = ([row], site, class_edge, design, walked)
    strength = one_answer(area_strength, ground)
    cbr = one_answer(design_cbr, (strength, design))
    alone = (strength, traffic, design, soil, unit)
    found = [strength, one_answer(area_strength_reason, ground), cbr]
    for given in (alone, (*alone, *grid)):
        found += [one_answer(design_depth, given), one_answer(design_reason, given)]
    return answer_line([*found, *_overlaps(cbr, _LONG[unit])])


def _overlaps(cbr: float | str, unit: str) -> Sequence[float | str]:
    return [
        one_answer(roll_overlap, (kind, cbr, where, LEFT_OUT, unit))
        for kind in ("geotextile", "geogrid")
        for where in ("side", "end")
    ]
