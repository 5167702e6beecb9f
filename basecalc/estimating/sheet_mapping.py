"""The sheets of a filled workbook as the mapping of a job file, with the cell that every key came from."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Final

from basecalc.checks import shown
from basecalc.errors import BasecalcError, InputError, PriceError
from basecalc.estimating.old_cells import sheet_with
from basecalc.estimating.tables import (
    AREAS,
    GROUND,
    JOB_COLUMNS,
    JOB_ENTRIES,
    JOB_TABLE,
    START_SHEET,
)
from basecalc.plan.dimensions import SHAPES, SIZES, SIZES_OF, corner_points, sized
from basecalc.pricing.price_cells import Book, Column, Grid, find_grid
from basecalc.validation import Place, words

_DIMENSIONS: Final = ("length", "width", "base", "height", "diameter", "sides", "parallel_sides", "legs", "points",
                      "area", "perimeter")  # fmt: skip
_AREA: Final = tuple(column for column in AREAS.columns if column.field not in (*SIZES, *_DIMENSIONS))


@dataclass(slots=True)
class SheetJob:
    """A job as its sheets say it: the mapping, the place of every key, and what is wrong with the sheets themselves."""

    data: dict[str, Any] = field(default_factory=dict)
    places: dict[Place, str] = field(default_factory=dict)
    wrong: list[BasecalcError] = field(default_factory=list)

    def place(self, path: Place) -> str:
        """Return the cell a key came from; where it has none, that of the table around it."""
        while path and path not in self.places:
            path = path[:-1]
        return self.places.get(path, "")

    def refuse(self, sentence: str, path: Place) -> None:
        """Add a complaint about a key."""
        self.wrong.append(InputError(sentence, where=self.place(path)))


def sheet_job(opened: Book) -> SheetJob:
    """Return what the sheets of a filled workbook say, in the units that their formulas work in.

    Parameters
    ----------
    opened
        The workbook.
    """
    made = SheetJob()
    card = _table(opened, START_SHEET, JOB_TABLE, "this job", JOB_COLUMNS[:2], made)
    readings = _table(opened, GROUND.sheet, GROUND.name, GROUND.title, GROUND.columns, made)
    areas = _table(opened, AREAS.sheet, AREAS.name, AREAS.title, AREAS.columns, made)
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
    _complete(made)
    return made


def _table(
    opened: Book, sheet_name: str, name: str, title: str, columns: tuple[Column, ...], made: SheetJob
) -> Grid | None:
    """Return where a table stands: on the sheet of its name, or on whatever sheet has it; None with a complaint."""
    sheet = sheet_with(opened, sheet_name, name)
    if sheet is None:
        sentence = (
            f"there is no sheet {shown(sheet_name)}, which holds the table of {title}; this is no estimating workbook"
        )
        made.wrong.append(InputError(sentence, where=opened.file))
        return None
    try:
        grid, faults = find_grid(sheet, name, title, columns)
    except PriceError as missing:
        made.wrong.append(InputError(missing.sentence, where=missing.where))
        return None
    made.wrong += [InputError(fault.sentence, where=fault.where) for fault in faults]
    made.places[({AREAS.name: "area", GROUND.name: "spot"}.get(name, "job"),)] = grid.where(grid.heading_row)
    return None if faults else grid


def _edition(areas: Grid, made: SheetJob) -> str:
    """Return the edition of the sheets; a heading with another unit is refused, for no formula would follow it."""
    written = {column.field: column for column in AREAS.columns if column.field in areas.units}
    metric = sum(areas.units[name] == column.metric for name, column in written.items())
    units = "metric" if metric * 2 > len(written) else "us"
    for name, column in written.items():
        usual = column.edge_unit(units)
        if areas.units[name] != usual:
            sentence = (
                f"the heading of {column.label} says [{areas.units[name]}]; it must say [{usual}], as the formulas "
                f"take it (a single cell may carry another unit, such as '12 {areas.units[name]}')"
            )
            made.wrong.append(InputError(sentence, where=areas.where(areas.heading_row, name)))
    return units


def _value(grid: Grid, row: int, name: str, made: SheetJob) -> Any:
    """Return what a cell holds; nothing, with a complaint, where it shows an error or was never calculated."""
    try:
        return grid.value(row, name)
    except PriceError as error:
        made.wrong.append(InputError(error.sentence, where=error.where))
        return None


def _card(grid: Grid, made: SheetJob) -> None:
    entries = {entry.label.casefold(): entry for entry in JOB_ENTRIES}
    head = made.data["job"]
    for row in grid.rows():
        entry = entries.get(grid.word(row, "label"))
        if entry is None or ("job", entry.key) in made.places:
            continue
        made.places["job", entry.key] = grid.where(row, "value")
        value = _value(grid, row, "value", made)
        if value is not None:
            head[entry.key] = value.splitlines() if entry.key == "notes" and isinstance(value, str) else value
        elif entry.needed:
            made.refuse(f"{entry.label} is missing; fill it in", ("job", entry.key))
    for entry in JOB_ENTRIES:
        if entry.needed and ("job", entry.key) not in made.places:
            made.refuse(f"there is no row {shown(entry.label)}", ("job",))


def _area(grid: Grid, row: int, made: SheetJob) -> None:
    at = len(made.data["area"])
    cells: dict[str, Any] = {}
    for name in grid.columns:
        made.places["area", at, name] = grid.where(row, name)
        cells[name] = _value(grid, row, name, made)
    made.places["area", at] = made.places["area", at, "name"]
    area = {column.field: value for column in _AREA if (value := cells.get(column.field)) is not None}
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


def _dimensions(area: dict[str, Any], shape: str, cells: Mapping[str, Any], at: Place, made: SheetJob) -> None:
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

    Parameters
    ----------
    sentence
        A refusal, which in this house starts with the name of what it refuses.
    keys
        The keys it may be about.

    Examples
    --------
    >>> named_key("open edge is missing; it must be given", ("open_edge", "open"))
    'open_edge'
    """
    return max((key for key in keys if sentence.startswith(f"{words(key)} ")), key=len, default="")


def _reading(grid: Grid, row: int, made: SheetJob) -> None:
    """Add a reading to its spot, which may stand in several rows."""
    cells = {name: _value(grid, row, name, made) for name in grid.columns}
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
    _stands_for(spots[at], cells.pop("area"), grid, row, made)
    place: Place = ("spot", at, "readings", len(spots[at]["readings"]))
    for key in cells:
        made.places[(*place, key)] = grid.where(row, key)
    made.places[place] = made.places[(*place, "reading")]
    spots[at]["readings"].append({key: value for key, value in cells.items() if value is not None})


def _stands_for(spot: dict[str, Any], area: Any, grid: Grid, row: int, made: SheetJob) -> None:
    if area is None:
        return
    had = spot.setdefault("area", area)
    if plain_text(had).casefold() != plain_text(area).casefold():
        sentence = f"area is {shown(area)}, but {shown(had)} in an earlier row of the spot {shown(spot['name'])}"
        made.wrong.append(InputError(f"{sentence}; a spot stands for one area", where=grid.where(row, "area")))


def plain_text(value: Any) -> str:
    """Return the text of a cell on one line, a number as its digits, as names are compared."""
    return " ".join((f"{value:.15g}" if isinstance(value, float) else str("" if value is None else value)).split())


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
