"""All cone logs of a sheet as one line of text: checked and split into layers once, and read by those that ask."""

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Final

from basecalc.core.errors import BasecalcError, InputError
from basecalc.core.numbers import printed, shown
from basecalc.formulas.cells import content
from basecalc.formulas.company import words_of
from basecalc.formulas.site_line import Site, packed, unpacked
from basecalc.ground.cone_layers import design, profile
from basecalc.ground.cone_log import BOTTOM, DEPTH, LOG_FIELDS, Design, Entry, blow_count, entry_drops, hammer_word
from basecalc.ground.readings import soil_named as soil_named

_ROW: Final = "log_rows, row "


@dataclass(frozen=True, slots=True)
class LogDrop:
    """A drop as its line says it; depths in mm, indices in mm a blow.

    Parameters
    ----------
    spot, area, name, soil
        Where it was driven, the area it stands for, its own name, and the soil of the layer to design for.
    index, cbr
        Of that layer.
    rows
        First and last of its rows in the table, and all between.
    layers
        From, to and CBR of each.
    readings
        Middle, index and CBR of each reading, by row.
    """

    spot: str
    area: str
    name: str
    soil: str
    index: float
    cbr: float
    rows: range
    layers: tuple[tuple[float, float, float], ...]
    readings: Mapping[int, tuple[float, float, float]]


@dataclass(slots=True)
class _Spot:
    """The rows of one spot on their way."""

    name: str
    area: str = ""
    bottom_m: float | None = None
    entries: list[Entry] | None = None


@lru_cache(maxsize=16)
def log_line(rows: tuple[tuple[Any, ...], ...], counted: tuple[str, str], site: Site) -> str:
    """Return all logs in one line that a cell can hold.

    Parameters
    ----------
    rows
        The cells of the table.
    counted
        How blows and depths are counted.
    site
        The areas, their soils and the units.

    Raises
    ------
    InputError, OutOfRangeError
        The first row that cannot be used, with its number; or more logs than a cell can hold.
    """
    spots: list[_Spot] = []
    for position, row in enumerate(rows, 1):
        try:
            if any(words_of("cell", cell) for cell in row):
                _add(spots, position, row, site)
        except BasecalcError as refusal:
            raise type(refusal)(f"{_ROW}{position}: {refusal}") from None
    drops = [_written(one, area, spot) for spot in spots for area, one in _designs(spot, counted, site)]
    return packed("log_rows: the readings", json.dumps(drops, ensure_ascii=False, separators=(",", ":")))


def _add(spots: list[_Spot], position: int, row: Sequence[Any], site: Site) -> None:
    """Add a row to its spot; a blank spot is that of the row above."""
    cells = dict(zip(LOG_FIELDS, (*row, *[None] * len(LOG_FIELDS)), strict=False))
    said = {key: words_of(key.replace("_", " "), cells[key]) for key in ("spot", "area", "drop", "soil", "note")}
    if not said["spot"] and not spots:
        raise InputError("spot is missing; the first row must name the place where the cone was driven")
    if said["spot"] and (not spots or spots[-1].name.casefold() != said["spot"].casefold()):
        if any(one.name.casefold() == said["spot"].casefold() for one in spots):
            raise InputError(
                f"spot {shown(said['spot'])} starts again behind another one; the rows of a spot must stand together"
            )
        spots.append(_Spot(said["spot"], entries=[]))
    spot = spots[-1]
    if said["area"]:
        area = site.area_named(said["area"])
        if spot.area and area != spot.area:
            raise InputError(f"area is {shown(area)}, but {shown(spot.area)} above; a spot stands for one area")
        spot.area = area
    unit = DEPTH.unit(site.units)
    bottom = content("bottom of base", cells["base_bottom"])
    if bottom is not None:
        held = BOTTOM.read("bottom of base", bottom, unit)
        if spot.bottom_m not in (None, held):
            raise InputError(f"bottom of base is {shown(bottom)}, another than above; it must be one for the spot")
        spot.bottom_m = held
    entry = Entry(
        position,
        DEPTH.read("depth", content("depth", cells["depth"]), unit),
        blow_count(content("blows", cells["blows"])),
        hammer_word(content("hammer", cells["hammer"])),
        said["drop"],
        soil_named(said["soil"]).name if said["soil"] else "",
        said["note"],
    )
    assert spot.entries is not None
    spot.entries.append(entry)


def _designs(spot: _Spot, counted: tuple[str, str], site: Site) -> list[tuple[str, Design]]:
    """Return the drops of a spot with the layer each is designed for, and the area they stand for."""
    entries = spot.entries or []
    try:
        area = site.area_named(spot.area)
        soil = dict(site.areas)[area]
        drops, _ = entry_drops(entries, *counted)
        return [(area, design(profile(drop, soil), spot.bottom_m)) for drop in drops]
    except BasecalcError as refusal:
        raise type(refusal)(f"{_ROW}{refusal.place.row or entries[0].row}: {refusal.sentence}") from None


def _written(one: Design, area: str, spot: _Spot) -> list[Any]:
    drop, layer = one.profile.drop, one.layer
    readings = [
        [step.row, printed((step.top_m + step.bottom_m) * 500), step.mm_per_blow, printed(cbr)]
        for step, cbr in zip(drop.steps, one.profile.step_cbrs, strict=True)
    ]
    layers = [
        [printed(part) for part in (each.top_m * 1000, each.bottom_m * 1000, each.cbr)] for each in one.profile.layers
    ]
    span = [drop.rows[0].row, drop.rows[-1].row]
    return [spot.name, area, drop.name, layer.soil, layer.mm_per_blow, printed(layer.cbr), span, layers, readings]


@lru_cache(maxsize=16)
def drops_of(line: str) -> tuple[LogDrop, ...]:
    """Return the drops that a line of CONE_LOG holds.

    Parameters
    ----------
    line
        The text of its cell.

    Raises
    ------
    InputError
        It is no such line.
    """
    try:
        return tuple(
            LogDrop(
                str(spot), str(area), str(name), str(soil), float(index), float(cbr), range(int(first), int(last) + 1),
                tuple((float(top), float(bottom), float(its)) for top, bottom, its in layers),
                {int(row): (float(middle), float(one), float(own)) for row, middle, one, own in readings},
            )
            for spot, area, name, soil, index, cbr, (first, last), layers, readings in json.loads(unpacked(line))
        )  # fmt: skip
    except (ValueError, TypeError):
        raise InputError("log is no line of CONE_LOG; it must be the cell that holds it") from None


def log_of(log: Any) -> str:
    """Return the line that a cell of CONE_LOG holds, or refuse what is none."""
    line = content("log", log)
    if not isinstance(line, str):
        raise InputError("log is missing; it must be the cell that holds CONE_LOG")
    return line


def refused_row(log: Any) -> tuple[int, str] | None:
    """Return the row that a cell of CONE_LOG refuses and why; nothing where it holds a line or another refusal."""
    if not isinstance(log, str) or not log.startswith(f"#{_ROW}"):
        return None
    row, _, sentence = log.removeprefix(f"#{_ROW}").partition(": ")
    return int(row), sentence
