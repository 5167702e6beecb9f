"""Where a number of the owner's stands on the sheet Company, to be entered by hand. The file is only read."""

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

from basecalc.pricing.company_sheet import rows_end
from basecalc.pricing.price_cells import Grid, find_grid, open_book
from basecalc.pricing.price_tables import COMPANY_SHEET, COMPANY_TABLES


def company_grids(path: str) -> Mapping[str, Grid]:
    """Return the tables of the sheet Company by key, as far as there is such a file.

    Parameters
    ----------
    path
        A price workbook that was read before.
    """
    if not Path(path).is_file():
        return {}
    sheet = open_book(path).sheet(COMPANY_SHEET)
    found = {one.key: find_grid(sheet, one.name, one.title, one.columns)[0] for one in COMPANY_TABLES}
    return {key: replace(grid, end=rows_end(found, key)) for key, grid in found.items()}


def place(grid: Grid | None, word: str, field: str) -> str:
    """Return sheet and cell of a field in the row that a word heads; nothing where there is none.

    Parameters
    ----------
    grid
        The table; None where there is none.
    word
        What stands in its first column.
    field
        The field.
    """
    first = "name" if grid and "name" in grid.columns else "code"
    for row in grid.rows() if grid else ():
        if grid and grid.word(row, first) == " ".join(word.split()).casefold():
            return "sheet " + grid.where(row, field).rsplit(", sheet ", 1)[1]
    return ""
