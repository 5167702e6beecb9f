"""What the reader of the filled sheets works with: tables, cells, and the place of everything it takes from them."""

from dataclasses import dataclass, field
from typing import Any, Final

from basecalc.core.errors import BasecalcError, InputError, KeyPath, PriceError
from basecalc.core.numbers import shown
from basecalc.estimating.old_cells import sheet_with
from basecalc.estimating.tables import AREAS, GROUND
from basecalc.tables.from_workbook import Book, Grid, find_grid
from basecalc.tables.schema import Field

_TABLES: Final = {AREAS.name: "area", GROUND.name: "spot"}


@dataclass(slots=True)
class SheetJob:
    """A job as its sheets say it: the mapping, the place of every key, and what is wrong with the sheets themselves."""

    data: dict[str, Any] = field(default_factory=dict)
    places: dict[KeyPath, str] = field(default_factory=dict)
    wrong: list[BasecalcError] = field(default_factory=list)

    def place(self, path: KeyPath) -> str:
        """Return the cell a key came from; where it has none, that of the table around it."""
        while path and path not in self.places:
            path = path[:-1]
        return self.places.get(path, "")

    def log_place(self, spot: int, row: int, sentence: str) -> str:
        """Return the cell of a row of a cone log that a refusal is about: its drop, its blows, or else its depth."""
        rows = self.data["spot"][spot]["log_rows"]
        at = next(place for place, one in enumerate(rows) if one["row"] == row)
        of_blows = "total of blows" in sentence or "with no blow" in sentence
        key = "drop" if sentence.startswith("drop ") else "blows" if of_blows else "depth"
        return self.place(("spot", spot, "log_rows", at, key))

    def refuse(self, sentence: str, path: KeyPath) -> None:
        """Add a complaint about a key."""
        self.wrong.append(InputError(sentence, where=self.place(path)))


def found_table(
    opened: Book, sheet_name: str, name: str, title: str, columns: tuple[Field, ...], made: SheetJob
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
    made.places[(_TABLES.get(name, "job"),)] = grid.where(grid.heading_row)
    return None if faults else grid


def check_units(grid: Grid, columns: tuple[Field, ...], units: str, made: SheetJob) -> None:
    """Refuse a heading with a unit of another edition, for no formula would follow it."""
    for column in columns:
        usual, written = column.unit(units), grid.units.get(column.key)
        if written is not None and written != usual:
            sentence = (
                f"the heading of {column.name} says [{written}]; it must say [{usual}], as the formulas take it (a "
                f"single cell may carry another unit, such as '12 {written}')"
            )
            made.wrong.append(InputError(sentence, where=grid.where(grid.heading_row, column.key)))


def cell_value(grid: Grid, row: int, name: str, made: SheetJob) -> Any:
    """Return what a cell holds; nothing, with a complaint, where it shows an error or was never calculated."""
    try:
        return grid.value(row, name)
    except PriceError as error:
        made.wrong.append(InputError(error.sentence, where=error.where))
        return None


def stands_for(spot: dict[str, Any], area: Any, grid: Grid, row: int, made: SheetJob) -> None:
    """Note the area that a row says its spot stands for; one spot stands for one area."""
    if area is None:
        return
    had = spot.setdefault("area", area)
    if plain_text(had).casefold() != plain_text(area).casefold():
        sentence = f"area is {shown(area)}, but {shown(had)} in an earlier row of the spot {shown(spot['name'])}"
        made.wrong.append(InputError(f"{sentence}; a spot stands for one area", where=grid.where(row, "area")))


def plain_text(value: Any) -> str:
    """Return the text of a cell on one line, a number as its digits, as names are compared."""
    return " ".join((f"{value:.15g}" if isinstance(value, float) else str("" if value is None else value)).split())
