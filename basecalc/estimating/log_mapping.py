"""The sheet of cone logs as rows of the spots of a job, with the cell that every key came from."""

from typing import Any

from basecalc.core.errors import InputError, PriceError
from basecalc.core.numbers import shown
from basecalc.estimating.old_cells import sheet_with
from basecalc.estimating.sheet_cells import SheetJob, cell_value, check_units, plain_text, stands_for
from basecalc.estimating.tables import COUNTING, COUNTING_COLUMNS, COUNTING_TABLE, LOG
from basecalc.tables.from_workbook import Book, Grid, Sheet, find_grid


def add_logs(opened: Book, units: str, made: SheetJob) -> None:
    """Add the logs of a filled workbook to its spots; a workbook without that sheet has none."""
    sheet = sheet_with(opened, LOG.sheet, LOG.name)
    if sheet is None:
        return
    try:
        grid, faults = find_grid(sheet, LOG.name, LOG.title, LOG.columns)
    except PriceError as missing:
        made.wrong.append(InputError(missing.sentence, where=missing.where))
        return
    made.wrong += [InputError(fault.sentence, where=fault.where) for fault in faults]
    if faults:
        return
    check_units(grid, LOG.columns, units, made)
    rows = list(grid.rows())
    counted = _counted(sheet, made) if rows else {}
    above = -1
    for row in rows:
        above = _row(grid, row, above, counted, made)


def _counted(sheet: Sheet, made: SheetJob) -> dict[str, tuple[Any, str]]:
    """Return how blows and depths are counted, each with its cell; a job says the rest of what is wrong with it."""
    try:
        grid, faults = find_grid(sheet, COUNTING_TABLE, "how a log is counted", COUNTING_COLUMNS)
    except PriceError as missing:
        made.wrong.append(InputError(missing.sentence, where=missing.where))
        return {}
    made.wrong += [InputError(fault.sentence, where=fault.where) for fault in faults]
    found: dict[str, tuple[Any, str]] = {}
    if faults:
        return found
    for row in grid.rows():
        for entry in COUNTING:
            if grid.word(row, "label") == entry.label and entry.key not in found:
                cell = grid.where(row, "value")
                value = cell_value(grid, row, "value", made)
                if value is None and not any(error.where == cell for error in made.wrong):
                    choices = " or ".join(entry.choices)
                    made.wrong.append(InputError(f"{entry.label} is missing; it must be {choices}", where=cell))
                found[entry.key] = (value, cell)
    for entry in COUNTING:
        if entry.key not in found:
            place = grid.where(grid.heading_row)
            made.wrong.append(InputError(f"there is no row {shown(entry.label)}", where=place))
    return found


def _row(grid: Grid, row: int, above: int, counted: dict[str, tuple[Any, str]], made: SheetJob) -> int:
    """Add a row to its spot and return which spot that is."""
    cells = {name: cell_value(grid, row, name, made) for name in grid.columns}
    spots = made.data["spot"]
    name = plain_text(cells.pop("spot"))
    if not name and above < 0:
        sentence = "spot is missing; the first row must name the place where the cone was driven"
        made.wrong.append(InputError(sentence, where=grid.where(row, "spot")))
    named = (at for at, one in enumerate(spots) if one["name"].casefold() == name.casefold())
    at = above if not name and above >= 0 else next(named, len(spots))
    if at == len(spots):
        spots.append({"name": name})
        made.places["spot", at] = made.places["spot", at, "name"] = grid.where(row, "spot")
        made.places["spot", at, "area"] = grid.where(row, "area")
    spot = spots[at]
    if "log_rows" not in spot:
        spot["log_rows"] = []
        made.places["spot", at, "log_rows"] = grid.where(row, "depth")
        for key, (value, cell) in counted.items():
            spot[key], made.places["spot", at, key] = value, cell
    elif at != above:
        sentence = f"spot {shown(name)} starts again behind another one; the rows of a spot must stand together"
        made.wrong.append(InputError(sentence, where=grid.where(row, "spot")))
    stands_for(spot, cells.pop("area"), grid, row, made)
    _bottom(spot, at, cells.pop("base_bottom"), grid, row, made)
    place = ("spot", at, "log_rows", len(spot["log_rows"]))
    for key in cells:
        made.places[(*place, key)] = grid.where(row, key)
    made.places[place] = grid.where(row, "depth")
    spot["log_rows"].append({"row": row} | {key: value for key, value in cells.items() if value is not None})
    return at


def _bottom(spot: dict[str, Any], at: int, value: Any, grid: Grid, row: int, made: SheetJob) -> None:
    """Take the bottom of the base, which stands in any row of a spot."""
    if value is None:
        return
    had = spot.setdefault("base_bottom", value)
    made.places.setdefault(("spot", at, "base_bottom"), grid.where(row, "base_bottom"))
    if had != value:
        sentence = f"bottom of base is {shown(value)}, but {shown(had)} in an earlier row of the spot; it must be one"
        made.wrong.append(InputError(sentence, where=grid.where(row, "base_bottom")))
