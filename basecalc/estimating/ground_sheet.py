"""The sheet Ground: every reading, what it says, and the strength of each spot with its picture."""

from collections.abc import Mapping, Sequence
from typing import Any, Final, cast

from openpyxl.cell.cell import Cell
from openpyxl.utils import get_column_letter
from openpyxl.workbook import Workbook
from openpyxl.worksheet.table import TableFormula
from openpyxl.worksheet.worksheet import Worksheet

from basecalc.estimating.areas_sheet import FIRST as FIRST_AREA
from basecalc.estimating.areas_sheet import HEADING_ROW, MORE_ROWS, AreaSheet, column_formula
from basecalc.estimating.column_step import PART
from basecalc.estimating.edition import Edition
from basecalc.estimating.sheet_kit import keep_formulas, mark_refusals, name_cell, title
from basecalc.estimating.site_parts import write_site_parts
from basecalc.estimating.tables import GROUND
from basecalc.workbook import style
from basecalc.workbook.charts import Block, place, side_by_side
from basecalc.workbook.template_table import ROW_HEIGHT, add_table, drop_down, mark_gaps, note

FIRST: Final = HEADING_ROW + 1
SPOTS: Final = 8  # spots in the picture
_INPUTS: Final = len(GROUND.columns)
_WIDTHS: Final = (24, 20, 13, 18, 10, 12, 30, 34, 7, 3, 24, 14, 12)
_SAYS, _SPOT = _INPUTS + 1, _INPUTS + 2
_LIST: Final = _INPUTS + 4  # first column of the list of spots
_HEADINGS: Final = ("what it says", "spot no.")


def write_ground(
    book: Workbook, edition: Edition, rows: Sequence[Mapping[str, Any]], ready_rows: int, areas: AreaSheet
) -> int:
    """Write the sheet Ground and return its last row with formulas."""
    sheet = cast(Worksheet, book.create_sheet(GROUND.sheet))
    style.widths(sheet, *_WIDTHS)
    title(sheet, "Ground", "What was tried, where, and what it read. The weakest of what disagrees is taken, and said.")
    style.put(sheet, 3, 1, "A boxed cell is yours.", "input")
    usual = "in" if edition.units == "us" else "mm"
    told = (
        f"Plain numbers: sink, gap and rod in {usual}; cone in mm a blow; pocket and vane in "
        f"{'tsf' if usual == 'in' else 'kPa'}."
    )
    style.align(
        style.put(sheet, 3, 2, f"{told} A number may carry its unit. What each test wants: sheet Sources.", "quiet"),
        up="center",
        wrap=False,
        indent=1,
    )
    style.formula(sheet, 4, 1, "=Banner", "label", across="left")
    style.align(cast(Cell, sheet.cell(4, 1)), wrap=False, up="center")
    mark_refusals(sheet, "A4", "A4")
    for row in (3, 4):
        sheet.row_dimensions[row].height = 18
    headings = [column.heading(edition.units) for column in GROUND.columns] + list(_HEADINGS)
    helps = [column.help for column in GROUND.columns]
    helps += [
        "The classes this reading leaves open; # says why it cannot be used.",
        "Counts the spots, for the list on the right.",
    ]
    for at, (text, help) in enumerate(zip(headings, helps, strict=True), 1):
        style.put(sheet, HEADING_ROW, at, text, "column", across="left")
        note(sheet, HEADING_ROW, at, help)
    sheet.row_dimensions[HEADING_ROW].height = 30
    last = FIRST + max(ready_rows, len(rows)) - 1
    for row in range(FIRST, last + 1):
        _row(sheet, row, rows[row - FIRST] if row - FIRST < len(rows) else {})
    add_table(sheet, GROUND.name, f"A{HEADING_ROW}:{get_column_letter(_SPOT)}{last}", headings)
    says = str(sheet.cell(FIRST, _SAYS).value)
    table = sheet.tables[GROUND.name]
    table.tableColumns[_SAYS - 1].calculatedColumnFormula = TableFormula(
        attr_text=column_formula(says, headings, GROUND.name)[1:]
    )
    reach = last + MORE_ROWS
    for at, column in enumerate(GROUND.columns, 1):
        cells = f"{get_column_letter(at)}{FIRST}:{get_column_letter(at)}{reach}"
        if column.choices == "areas":
            drop_down(sheet, cells, f"Areas!$A${FIRST_AREA}:$A${areas.last}", strict=False)
        elif column.choices:
            drop_down(sheet, cells, tuple(column.choices))
    mark_refusals(sheet, f"H{FIRST}:H{last}", f"H{FIRST}")
    for letter in "ACD":
        mark_gaps(sheet, f"{letter}{FIRST}:{letter}{reach}", f'AND(COUNTA($A{FIRST}:$F{FIRST})>0,{letter}{FIRST}="")')
    name_cell(book, "FirstReading", sheet, f"A{FIRST}")
    name_cell(book, "ReadingRows", sheet, f"A{FIRST}:G{reach}")
    _spots(sheet, last)
    keep_formulas(sheet, f"H{FIRST}:I{last}", *write_site_parts(book, sheet, edition, areas, reach))
    sheet.freeze_panes = f"B{FIRST}"
    style.page(
        sheet,
        f"A1:M{last}",
        units=edition.units,
        landscape=True,
        repeat_rows=f"{HEADING_ROW}:{HEADING_ROW}",
        foot="Ground (office only)",
    )
    return last


def _row(sheet: Worksheet, row: int, values: Mapping[str, Any]) -> None:
    sheet.row_dimensions[row].height = ROW_HEIGHT
    for at, column in enumerate(GROUND.columns, 1):
        value = values.get(column.key)
        across = "right" if column.key == "reading" and not isinstance(value, str) else "left"
        style.align(style.put(sheet, row, at, value, "input", column.format, across=across), wrap=False)
    below = f"ROW($A{row})-ROW(FirstReading)"
    says = f"READING_SAYS({below}+1,INDEX(ReadingParts,INT(({below})/{PART})+1))"
    cell = style.formula(sheet, row, _SAYS, f'=IF(COUNTA($A{row}:$G{row})=0,"",{says})', "quiet")
    style.align(cell, up="center", wrap=False, across="left", indent=1)
    before = f"$A${HEADING_ROW}:$A{row - 1}"
    count = f'=IF($A{row}="","",IF(SUMPRODUCT(--({before}=$A{row}))=0,MAX($I${HEADING_ROW}:$I{row - 1})+1,""))'
    style.align(style.formula(sheet, row, _SPOT, count, "quiet"), up="center", across="right")


def _spots(sheet: Worksheet, last: int) -> None:
    """Write the list of spots with their strength, and draw it."""
    names = ("spot", "strength", "CBR [%]")
    for at, text in enumerate(names, _LIST):
        style.put(sheet, HEADING_ROW, at, text, "column", across="left" if at == _LIST else "right")
    note(sheet, HEADING_ROW, _LIST, f"The first {SPOTS} spots, each as all its readings together say it.")
    note(sheet, HEADING_ROW, _LIST + 2, "What a base is designed with there: as measured, or at the edge of the class.")
    for place_, row in enumerate(range(FIRST, FIRST + SPOTS), 1):
        spot = f"$K{row}"
        named = f'=IFERROR(INDEX($A${FIRST}:$A${last},MATCH({place_},$I${FIRST}:$I${last},0)),"")'
        style.align(style.formula(sheet, row, _LIST, named, "text"), up="center", wrap=False)
        say = f"SPOT_STRENGTH({spot},SiteLine)"
        style.align(style.formula(sheet, row, _LIST + 1, f'=IF({spot}="","",{say})', "number", "0.0"), up="center")
        cbr = f'=IF({spot}="","",DESIGN_CBR($L{row},DesignLine))'
        style.align(style.formula(sheet, row, _LIST + 2, cbr, "number", "two"), up="center")
    mark_refusals(sheet, f"L{FIRST}:M{FIRST + SPOTS - 1}", f"L{FIRST}")
    chart = side_by_side(
        Block(sheet, FIRST, FIRST + SPOTS - 1, _LIST, (_LIST + 2,), ("CBR designed with [%]",)),
        "Strength by spot, CBR in %",
        "0.0",
        10.0,
    )
    chart.legend = None
    chart.y_axis.scaling.max = chart.y_axis.majorUnit = None
    place(sheet, chart, FIRST + SPOTS + 1, _LIST, 290, 250)
