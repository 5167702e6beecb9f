"""The cone logs in a filled estimating workbook, read as a log in a file is: every spot is a drop."""

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any, Final

from basecalc.core.errors import BasecalcError, InputError, Place
from basecalc.core.numbers import shown
from basecalc.estimating.sheet_cells import SheetJob, plain_text
from basecalc.estimating.sheet_mapping import sheet_job
from basecalc.estimating.tables import AREAS_SHEET, LOG, START_SHEET
from basecalc.ground.cone_layers import design, profile
from basecalc.ground.cone_log import ConeLog, Design
from basecalc.ground.readings import soil_named as soil_named
from basecalc.job.fields import LOG as LOG_KEYS
from basecalc.job.fields import rows_log
from basecalc.tables.from_mapping import MappingReader
from basecalc.tables.from_workbook import open_book

_SOIL_NOTE: Final = f"Soil where a row names none: as on the sheets {AREAS_SHEET} or {START_SHEET}"


def read_log_sheet(path: str | Path, soil: str = "") -> tuple[ConeLog, tuple[Design, ...]]:
    """Return the cone logs on the sheets of a filled workbook, and the layer to design for of each drop."""
    opened = open_book(path)
    made = sheet_job(opened)
    if not made.data:
        raise made.wrong[0]
    if wrong := [error for error in made.wrong if f"sheet {LOG.sheet}, " in error.where]:
        raise wrong[0]
    where, units = f"{opened.file}, sheet {LOG.sheet}", made.data["job"]["units"]
    asked = soil_named(soil).name if soil else ""
    found: list[Design] = []
    notes: dict[str, None] = {}
    comments: list[tuple[int, str]] = []
    for at, spot in enumerate(made.data["spot"]):
        if "log_rows" not in spot:
            continue
        own = asked or _soil(spot, at, made)
        if own and not asked:
            notes[_SOIL_NOTE] = None
        log, fitting = _designs(spot, at, made, own)
        found += fitting
        notes |= dict.fromkeys(log.notes)
        comments += log.comments
    if not found:
        raise InputError("there is no row; fill in spot, depth and blows of a log", where=where)
    drops = tuple(one.profile.drop for one in found)
    unit = "mm" if units == "metric" else "in"
    return ConeLog(where, drops, unit, tuple(notes), tuple(comments)), tuple(found)


def _designs(spot: Mapping[str, Any], at: int, made: SheetJob, soil: str) -> tuple[ConeLog, list[Design]]:
    """Return the log of one spot with its drops named by the spot, or its first fault with its cell."""
    given = {key: spot[key] for key in LOG_KEYS.keys if key in spot}
    reader = MappingReader(made.data["job"]["units"])
    fields = reader.table(LOG_KEYS, given, Place(path=("spot", at)))
    if reader.wrong:
        first = reader.wrong[0]
        raise first.changed(where=made.place((*first.place.path, first.field)))
    try:
        log = rows_log(fields)
    except BasecalcError as refusal:
        row = refusal.place.row
        raise type(refusal)(refusal.sentence, where=made.log_place(at, row, refusal.sentence)) from None
    found = []
    for drop in log.drops:
        name = f"{spot['name']}, {drop.name}" if drop.name else spot["name"]
        try:
            found.append(design(profile(replace(drop, name=name), soil), fields.base_bottom))
        except BasecalcError as refusal:
            raise type(refusal)(refusal.sentence, where=made.place(("spot", at, "base_bottom"))) from None
    return log, found


def _soil(spot: Mapping[str, Any], at: int, made: SheetJob) -> str:
    """Return the soil of a spot's area or of the job; nothing where none is named."""
    areas = {plain_text(area.get("name")).casefold(): area for area in made.data["area"]}
    named = plain_text(spot.get("area"))
    if named and areas and named.casefold() not in areas:
        offered = ", ".join(plain_text(area.get("name")) for area in areas.values())
        place = made.place(("spot", at, "area"))
        raise InputError(f"area is {shown(named)}; it must be one of: {offered}", where=place)
    own = areas.get(named.casefold(), next(iter(areas.values())) if len(areas) == 1 else {})
    for said in (own.get("soil"), made.data["job"].get("soil")):
        if said is not None:
            return soil_named(said).name
    return ""
