"""Worksheet functions of cone logs on a sheet: checked and split into layers once, then asked for single numbers.

The first line of each docstring and the text of each parameter are the help that a spreadsheet program shows.
"""

from collections.abc import Sequence
from typing import Any, Final

from basecalc.core.errors import InputError
from basecalc.core.units import INCH_M
from basecalc.formulas.cells import is_blank, number, word
from basecalc.formulas.company import frozen, plain
from basecalc.formulas.log_line import LogDrop, drops_of, log_line, log_of, refused_row
from basecalc.formulas.site_line import site_of
from basecalc.ground.cone_log import HOW, LOG_FIELDS

_UNITS: Final = {"us": INCH_M * 1000, "metric": 1.0}
_OF_A_DROP: Final = ("spot", "drop", "deep", "layers", "readings", "index", "cbr")
_OF_A_LAYER: Final = ("layer from", "layer to", "layer cbr")
_OF_A_READING: Final = ("reading at", "reading cbr")
_DEPTHS: Final = ("deep", "layer from", "layer to", "reading at")
_ASKED: Final = ("drops", *_OF_A_DROP, *_OF_A_LAYER, *_OF_A_READING)


def cone_log(
    log_rows: Any, blows_how: Any, depths_how: Any, area_names: Sequence[Any], area_soils: Sequence[Any], soil: Any,
    edition: Any = "us",
) -> str:  # fmt: skip
    """Give the cone logs of a sheet in one line, every row checked and the layers found, for the functions beside it.

    Parameters
    ----------
    log_rows
        The rows on the sheet Cone log: spot, area, drop, depth, blows, hammer, soil, bottom of base, note.
    blows_how
        How the blows are counted: per step or total.
    depths_how
        How the depths are counted: total or per step.
    area_names
        Column with the names of the areas.
    area_soils
        Column with their soils; blank for the soil of the job.
    soil
        Soil of areas that name none; blank where nobody noted it.
    edition
        us (if left out) or metric: the units of plain depths.

    Returns
    -------
    str
        The drops with their layers, read by CONE_LOG_SAYS, CONE_LOG_VALUE and SITE_READINGS.
    """
    if len(log_rows[0]) < len(LOG_FIELDS) - 1:
        raise InputError(f"log_rows is {len(log_rows[0])} cells wide; it must be the rows of the table, spot to note")
    if all(is_blank(cell) for row in log_rows for cell in row):
        if len(log_rows) == len(log_rows[0]) == 1:
            raise InputError("log_rows is missing; it must be the rows on the sheet Cone log")
        return "[]"
    units = word("edition", edition, tuple(_UNITS))
    counted = word("blows_how", blows_how, HOW), word("depths_how", depths_how, HOW)
    site = site_of(area_names, area_soils, None, soil, "yes", units)
    return log_line(frozen(log_rows), counted, site)


def cone_log_says(row: Any, log: Any) -> str:
    """Give what one row of a cone log says: penetration of a blow and CBR, or that it is where the drop starts.

    Parameters
    ----------
    row
        Which row of the table it is, from 1.
    log
        The cell that holds CONE_LOG.

    Returns
    -------
    str
        A few words; where another row is refused, that it waits for that one.
    """
    at = int(number("row", row, "", 1, 1_000_000))
    if refused := refused_row(log):
        if refused[0] == at:
            raise InputError(f"row: {refused[1]}")
        return f"waits for row {refused[0]} of this table"
    for drop in drops_of(log_of(log)):
        if at in drop.rows:
            index, cbr = drop.readings.get(at, (0.0, 0.0, 0.0))[1:]
            if index:
                return f"{index:.3g} mm a blow, CBR {cbr:.3g} %"
            return "the start of the drop" if at == drop.rows[0] else "the cone had stopped"
    raise InputError(f"row is {at}; it must be a row of a log that is filled in")


def cone_log_value(log: Any, drop: Any, what: Any, item: Any = 1, edition: Any = "us") -> float | str:
    """Give one thing of a drop of the cone logs: its spot, its depth, the layer it is designed for, a layer, a reading.

    Parameters
    ----------
    log
        The cell that holds CONE_LOG.
    drop
        Which drop it is, from 1, in the order of the sheet.
    what
        drops (how many), spot, drop, deep, layers, readings, index (mm a blow where it is weakest), cbr (there, %),
        layer from, layer to, layer cbr, reading at, reading cbr.
    item
        Which layer or reading, from 1 (if left out); the last one where there are fewer.
    edition
        us (if left out) or metric: depths in in or mm.

    Returns
    -------
    float or str
        A number or a word.
    """
    asked, unit = word("what", what, _ASKED), _UNITS[word("edition", edition, tuple(_UNITS))]
    drops = drops_of(log_of(log))
    if asked == "drops":
        return float(len(drops))
    count, at = int(number("drop", drop, "", 1, 10_000)), int(number("item", item, "", 1, 10_000))
    if count > len(drops):
        raise InputError(f"drop is {count}; it must be at most {len(drops)}, as many as there are on the sheet")
    one = drops[count - 1]
    if asked in ("spot", "drop"):
        return (one.spot if asked == "spot" else one.name) or "only one"
    return plain(_number(one, asked, at) / (unit if asked in _DEPTHS else 1.0))


def _number(one: LogDrop, asked: str, at: int) -> float:
    """Return a number of a drop, depths in mm."""
    if asked in _OF_A_LAYER:
        return one.layers[min(at, len(one.layers)) - 1][_OF_A_LAYER.index(asked)]
    if asked in _OF_A_READING:
        middle, _, cbr = list(one.readings.values())[min(at, len(one.readings)) - 1]
        return middle if asked == "reading at" else cbr
    found = {"deep": one.layers[-1][1], "layers": len(one.layers), "readings": len(one.readings), "index": one.index}
    return float(found.get(asked, one.cbr))
