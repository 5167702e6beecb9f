"""What many rows share, once, beside the sheet Ground: the readings in parts, and what each soil swells and weighs.

A row that took all readings of the site would hand on more, the longer the table is; so it takes those of a few rows.
"""

from typing import Final

from openpyxl.utils import get_column_letter
from openpyxl.workbook import Workbook
from openpyxl.worksheet.worksheet import Worksheet

from basecalc.estimating.areas_sheet import FIRST, HEADING_ROW, AreaSheet
from basecalc.estimating.column_step import PART
from basecalc.estimating.edition import Edition
from basecalc.estimating.sheet_kit import mark_refusals, name_cell
from basecalc.estimating.tables import AREAS, GROUND
from basecalc.ground.readings import SOILS
from basecalc.workbook import style
from basecalc.workbook.template_table import ROW_HEIGHT, note

_SOIL: Final = 16  # first column of the soils, behind a gap beside the list of spots
_PARTS: Final = 20  # first column of the readings in parts


def write_site_parts(book: Workbook, sheet: Worksheet, edition: Edition, areas: AreaSheet, last: int) -> list[str]:
    """Write what many rows share, to the right of what is printed, and return where its formulas stand."""
    written = _soils(book, sheet, edition, areas)
    end, width = get_column_letter(len(AREAS.columns)), get_column_letter(len(GROUND.columns))
    readings = [
        (f"$A${first}:${width}${min(first + PART - 1, last)}",
         f"SITE_ROWS(SiteLine,{first - FIRST + 1},{min(first + PART - 1, last) - FIRST + 1})")
        for first in range(FIRST, last + 1, PART)
    ]  # fmt: skip
    named = [
        (f"Areas!$A${first}:${end}${below}", f"SITE_AREAS(SiteLine,Areas!$A${first}:$A${below})")
        for first, below in areas.parts()
    ]
    told = f"The readings once more, {PART} rows of the table in a cell: a row below takes its own part only."
    for at, (words, name, made) in enumerate(
        (("readings, by rows", "ReadingParts", readings), ("readings, by areas", "AreaParts", named)), _PARTS
    ):
        style.put(sheet, HEADING_ROW, at, words, "column", across="left")
        note(sheet, HEADING_ROW, at, told)
        for row, (asked, call) in enumerate(made, FIRST):
            text = f'=IF(COUNTA({asked})=0,"",IF(LEFT(SiteLine,1)="#",SiteLine,{call}))'
            style.align(style.formula(sheet, row, at, text, "quiet", across="left"), up="top", wrap=True)
            sheet.row_dimensions[row].height = ROW_HEIGHT  # of a long line its beginning shows
        letter = get_column_letter(at)
        written.append(f"{letter}{FIRST}:{letter}{FIRST + len(made) - 1}")
        name_cell(book, name, sheet, written[-1])
        sheet.column_dimensions[letter].width = 20
    for cells in written:
        mark_refusals(sheet, cells, cells.split(":")[0])
    return written


def _soils(book: Workbook, sheet: Worksheet, edition: Edition, areas: AreaSheet) -> list[str]:
    """Write what every soil swells and weighs, by the owner's own numbers or the published ones, where one is dug."""
    last, written = FIRST + len(SOILS) - 1, []
    for place, (words, name, what) in enumerate((
        ("soil", "SoilWords", ""),
        ("swell", "SoilSwell", '"swell",OwnerSoils'),
        (f"weight [{edition.density}]", "SoilWeight", f'"loose weight",OwnerSoils,"{edition.density}"'),
    )):  # fmt: skip
        at = _SOIL + place
        letter = get_column_letter(at)
        style.put(sheet, HEADING_ROW, at, words, "column", across="right" if what else "left")
        for row, soil in enumerate(SOILS, FIRST):
            if not what:
                style.put(sheet, row, at, soil, "text")
                continue
            text = f'=IF(COUNTIF({areas.column("soil")},$P{row})=0,"",SPOIL_VALUE($P{row},{what}))'
            style.align(style.formula(sheet, row, at, text, "number", "three"), up="center", wrap=False)
        name_cell(book, name, sheet, f"{letter}{FIRST}:{letter}{last}")
        if what:
            written.append(f"{letter}{FIRST}:{letter}{last}")
        sheet.column_dimensions[letter].width = 16
    note(sheet, HEADING_ROW, _SOIL, "Each soil that is dug here: loose for one in the ground, and its loose weight.")
    return written
