"""The sheets of a filled workbook as the mapping of a job file, with the cell that every key came from."""

from collections.abc import Mapping
from typing import Any, Final

from basecalc.core.errors import BasecalcError, KeyPath
from basecalc.core.numbers import shown, words
from basecalc.estimating.log_mapping import add_logs
from basecalc.estimating.sheet_cells import SheetJob, cell_value, check_units, found_table, plain_text, stands_for
from basecalc.estimating.tables import AREAS, CLIMATE, GROUND, JOB_COLUMNS, JOB_ENTRIES, JOB_TABLE, START_SHEET
from basecalc.plan.area import FROST_FIELDS, SHAPES, SIZES, SIZES_OF, corner_points, sized
from basecalc.tables.from_workbook import Book, Grid

_DIMENSIONS: Final = ("length", "width", "base", "height", "diameter", "sides", "parallel_sides", "legs", "points",
                      "area", "perimeter")  # fmt: skip
_AREA: Final = tuple(column for column in AREAS.columns if column.key not in (*SIZES, *_DIMENSIONS))


def sheet_job(opened: Book) -> SheetJob:
    """Return what the sheets of a filled workbook say, in the units that their formulas work in."""
    made = SheetJob()
    card = found_table(opened, START_SHEET, JOB_TABLE, "this job", JOB_COLUMNS[:2], made)
    readings = found_table(opened, GROUND.sheet, GROUND.name, GROUND.title, GROUND.columns, made)
    areas = found_table(opened, AREAS.sheet, AREAS.name, AREAS.title, AREAS.columns, made)
    if card is None or readings is None or areas is None:
        return made
    units = _edition(areas, made)
    made.data = {"job": {"units": units}, "area": [], "spot": []}
    _card(card, made)
    for row in areas.rows():
        _area(areas, row, made)
    if not made.data["area"]:
        made.refuse("there is no area; fill in a row of the table", ("area",))
    for row in readings.rows():
        _reading(readings, row, made)
    add_logs(opened, units, made)
    _complete(made)
    return made


def _edition(areas: Grid, made: SheetJob) -> str:
    """Return the edition of the sheets."""
    written = {column.key: column for column in AREAS.columns if column.key in areas.units}
    written = {name: column for name, column in written.items() if column.unit("us") != column.unit("metric")}
    metric = sum(areas.units[name] == column.unit("metric") for name, column in written.items())
    units = "metric" if metric * 2 > len(written) else "us"
    check_units(areas, AREAS.columns, units, made)
    return units


def _card(grid: Grid, made: SheetJob) -> None:
    entries = {entry.label.casefold(): entry for entry in JOB_ENTRIES}
    head = made.data["job"]
    for row in grid.rows():
        entry = entries.get(grid.word(row, "label"))
        if entry is None or ("job", entry.key) in made.places:
            continue
        made.places["job", entry.key] = grid.where(row, "value")
        value = cell_value(grid, row, "value", made)
        if value is not None:
            head[entry.key] = value.splitlines() if entry.key == "notes" and isinstance(value, str) else value
        elif entry.needed:
            made.refuse(f"{entry.label} is missing; fill it in", ("job", entry.key))
    if winter := {key: head.pop(key) for key in CLIMATE if key in head}:
        head["climate"] = winter
        for key in CLIMATE:
            if ("job", key) in made.places:
                made.places["job", "climate", key] = made.places["job", key]
        made.places.setdefault(("job", "climate"), made.places["job", next(iter(winter))])
    for entry in JOB_ENTRIES:
        if entry.needed and ("job", entry.key) not in made.places:
            made.refuse(f"there is no row {shown(entry.label)}", ("job",))


def _area(grid: Grid, row: int, made: SheetJob) -> None:
    at = len(made.data["area"])
    cells: dict[str, Any] = {}
    for name in grid.columns:
        made.places["area", at, name] = grid.where(row, name)
        cells[name] = cell_value(grid, row, name, made)
    made.places["area", at] = made.places["area", at, "name"]
    area = {column.key: value for column in _AREA if (value := cells.get(column.key)) is not None}
    if frost := {key: area.pop(key) for key in FROST_FIELDS if key in area}:
        area["frost"] = {key.removeprefix("frost_"): value for key, value in frost.items()}
    for key in FROST_FIELDS:
        if key in grid.columns:
            made.places["area", at, "frost", key.removeprefix("frost_")] = grid.where(row, key)
    made.data["area"].append(area)
    shape = " ".join(str(cells["shape"]).split()).casefold()
    for place, key in enumerate(SIZES_OF.get(shape, ())):
        made.places.setdefault(("area", at, key), made.places["area", at, SIZES[place]])
        first = SIZES_OF[shape].index(key)
        made.places["area", at, key, place - first] = made.places["area", at, SIZES[place]]
    for place, size in enumerate(SIZES[:3]):
        made.places.setdefault(("area", at, "sides", place), made.places["area", at, size])
        made.places.setdefault(("area", at, "sides"), made.places["area", at, SIZES[0]])
    if shape in SHAPES:
        _dimensions(area, shape, cells, ("area", at), made)


def _dimensions(area: dict[str, Any], shape: str, cells: Mapping[str, Any], at: KeyPath, made: SheetJob) -> None:
    """Add what the size cells of an area say, by the keys of its shape."""
    try:
        points = None if cells["points"] is None else corner_points(str(cells["points"]))
    except BasecalcError as error:
        made.refuse(error.sentence, (*at, "points"))
        points = None
    try:
        area |= sized(shape, [cells[size] for size in SIZES], points, cells["area"], cells["perimeter"])
    except BasecalcError as error:
        made.refuse(error.sentence, (*at, named_key(error.sentence, (*SIZES, *_DIMENSIONS))))


def named_key(sentence: str, keys: tuple[str, ...]) -> str:
    """Return the key that a refusal begins with, the longest that fits; nothing where it begins with none.

    Examples
    --------
    >>> named_key("open edge is missing; it must be given", ("open_edge", "open"))
    'open_edge'
    """
    return max((key for key in keys if sentence.startswith(f"{words(key)} ")), key=len, default="")


def _reading(grid: Grid, row: int, made: SheetJob) -> None:
    """Add a reading to its spot, which may stand in several rows."""
    cells = {name: cell_value(grid, row, name, made) for name in grid.columns}
    spots = made.data["spot"]
    name = plain_text(cells.pop("spot"))
    at = next((place for place, spot in enumerate(spots) if name and spot["name"].casefold() == name.casefold()), -1)
    if at < 0:
        at = len(spots)
        spots.append({"name": name, "readings": []})
        made.places["spot", at] = made.places["spot", at, "name"] = grid.where(row, "spot")
        made.places["spot", at, "area"] = grid.where(row, "area")
    if not name:
        made.refuse("spot is missing; name the place where this was read", ("spot", at))
    stands_for(spots[at], cells.pop("area"), grid, row, made)
    place: KeyPath = ("spot", at, "readings", len(spots[at]["readings"]))
    for key in cells:
        made.places[(*place, key)] = grid.where(row, key)
    made.places[place] = made.places[(*place, "reading")]
    spots[at]["readings"].append({key: value for key, value in cells.items() if value is not None})


def _complete(made: SheetJob) -> None:
    """Refuse what a job file would refuse in words that fit no sheet."""
    areas, spots = made.data["area"], made.data["spot"]
    read = {plain_text(spot.get("area")).casefold() for spot in spots}
    for at, area in enumerate(areas):
        name = plain_text(area.get("name"))
        known = name.casefold() in read or ("" in read and len(areas) == 1)
        if area.get("strength") is None and name and not known:
            told = (
                f"nothing was read in area {shown(name)}, and no strength is given by hand; it must be one or the other"
            )
            made.refuse(told, ("area", at, "strength"))
        if area.get("soil") is None and made.data["job"].get("soil") is None:
            made.refuse("soil is missing; fill it in here or on the sheet Start", ("area", at, "soil"))
