"""The sheet Cone log: every row of every log, what it says, the drops with their design layer, and one as a picture."""

from collections.abc import Mapping, Sequence
from typing import Any, Final, cast

from openpyxl.cell.cell import Cell
from openpyxl.formatting.rule import Rule
from openpyxl.styles import Font
from openpyxl.styles.differential import DifferentialStyle
from openpyxl.utils import get_column_letter
from openpyxl.workbook import Workbook
from openpyxl.worksheet.datavalidation import DataValidation
from openpyxl.worksheet.table import TableFormula
from openpyxl.worksheet.worksheet import Worksheet

from basecalc.estimating.areas_sheet import FIRST as FIRST_AREA
from basecalc.estimating.areas_sheet import MORE_ROWS, AreaSheet, column_formula
from basecalc.estimating.edition import Edition
from basecalc.estimating.sheet_kit import keep_formulas, mark_refusals, name_cell, title
from basecalc.estimating.tables import COUNTING, COUNTING_COLUMNS, COUNTING_TABLE, LOG
from basecalc.workbook import style
from basecalc.workbook.charts import place
from basecalc.workbook.log_plot import Points, cbr_by_depth
from basecalc.workbook.template_table import ROW_HEIGHT, add_table, drop_down, mark_gaps, note

HEADING_ROW: Final = 10
FIRST: Final = HEADING_ROW + 1
DROPS: Final = 8  # drops in the list
_COUNTED: Final = 6  # heading row of how a log is counted
_INPUTS: Final = len(LOG.columns)
_SAYS: Final = _INPUTS + 1
_LIST: Final = _SAYS + 2  # first column of the list of drops
_LIST_HEADINGS: Final = ("spot", "drop", "deep", "mm a blow", "CBR [%]")
_PICTURE: Final = _LIST + len(_LIST_HEADINGS) + 1  # first column of what the picture draws; it is not printed
_WIDTHS: Final = (20, 20, 9, 11, 9, 10, 12, 11, 28, 28, 3, 18, 10, 9, 11, 9, 3, 10, 10, 10, 10)
_LAYERS, _READINGS = 12, 60  # in the picture
LAST_COLUMN: Final = get_column_letter(_INPUTS)


def write_log(
    book: Workbook, edition: Edition, rows: Sequence[Mapping[str, Any]], ready_rows: int, areas: AreaSheet
) -> int:
    """Write the sheet Cone log and return its last row with formulas."""
    sheet = cast(Worksheet, book.create_sheet(LOG.sheet))
    style.widths(sheet, *_WIDTHS)
    title(
        sheet, "Cone log", "A cone penetrometer, blow by blow: every drop becomes layers, and the weakest one counts."
    )
    _head(book, sheet)
    headings = [column.heading(edition.units) for column in LOG.columns] + ["what it says"]
    helps = [column.help for column in LOG.columns]
    helps.append("Penetration of a blow of the 8 kg hammer, and its CBR; # says why the row cannot be used.")
    for at, (text, help) in enumerate(zip(headings, helps, strict=True), 1):
        style.put(sheet, HEADING_ROW, at, text, "column", across="left")
        note(sheet, HEADING_ROW, at, help)
    sheet.row_dimensions[HEADING_ROW].height = 30
    last = FIRST + max(ready_rows, len(rows)) - 1
    deep = [one.get("depth") for one in rows]
    fine = any(isinstance(one, float) and round(one, 2) != one for one in deep)  # written in other units, most likely
    for row in range(FIRST, last + 1):
        _row(sheet, row, rows[row - FIRST] if row - FIRST < len(rows) else {}, "two" if fine else "general")
    letter = get_column_letter(_SAYS)
    add_table(sheet, LOG.name, f"A{HEADING_ROW}:{letter}{last}", headings)
    kept = column_formula(_says(FIRST_AREA), headings, LOG.name)[1:]
    sheet.tables[LOG.name].tableColumns[_SAYS - 1].calculatedColumnFormula = TableFormula(attr_text=kept)
    reach = last + MORE_ROWS
    for at, column in enumerate(LOG.columns, 1):
        cells = f"{get_column_letter(at)}{FIRST}:{get_column_letter(at)}{reach}"
        if column.choices == "areas":
            drop_down(sheet, cells, f"Areas!$A${FIRST_AREA}:$A${areas.last}", strict=False)
        elif column.choices:
            drop_down(sheet, cells, tuple(column.choices))
    keep_formulas(sheet, f"{letter}{FIRST}:{letter}{last}")
    mark_refusals(sheet, f"{letter}{FIRST}:{letter}{last}", f"{letter}{FIRST}")
    for filled in "DE":
        gap = f'AND(COUNTA($A{FIRST}:${LAST_COLUMN}{FIRST})>0,{filled}{FIRST}="")'
        mark_gaps(sheet, f"{filled}{FIRST}:{filled}{reach}", gap)
    mark_gaps(sheet, f"A{FIRST}:A{FIRST}", f'AND(COUNTA($B{FIRST}:${LAST_COLUMN}{FIRST})>0,A{FIRST}="")')
    name_cell(book, "FirstLogRow", sheet, f"A{FIRST}")
    name_cell(book, "LogRows", sheet, f"A{FIRST}:{LAST_COLUMN}{reach}")
    _drops(book, sheet, edition)
    _picture(book, sheet, edition)
    sheet.freeze_panes = f"B{FIRST}"
    printed = get_column_letter(_LIST + len(_LIST_HEADINGS) - 1)
    repeated = f"{HEADING_ROW}:{HEADING_ROW}"
    style.page(
        sheet, f"A1:{printed}{last}", units=edition.units, landscape=True, repeat_rows=repeated,
        foot=f"{LOG.sheet} (office only)",
    )  # fmt: skip
    return last


def _head(book: Workbook, sheet: Worksheet) -> None:
    style.put(sheet, 3, 1, "A boxed cell is yours.", "input")
    told = "One row for each reading from the top down, the seating reading (0 blows) first. No cone: leave it empty."
    style.align(style.put(sheet, 3, 2, told, "quiet"), up="center", wrap=False, indent=1)
    style.formula(sheet, 4, 1, "=Banner", "label", across="left")
    style.align(cast(Cell, sheet.cell(4, 1)), wrap=False, up="center")
    mark_refusals(sheet, "A4", "A4")
    for row in (3, 4):
        sheet.row_dimensions[row].height = 18
    for at, column in enumerate(COUNTING_COLUMNS, 1):
        style.put(sheet, _COUNTED, at, column.name, "column", across="left")
    for row, entry in enumerate(COUNTING, _COUNTED + 1):
        style.align(style.put(sheet, row, 1, entry.label, "label"), up="center")
        style.put(sheet, row, 2, entry.default, "input", across="left")
        style.align(style.put(sheet, row, 3, entry.help, "quiet"), up="center", wrap=False, across="left", indent=1)
        drop_down(sheet, f"B{row}", tuple(entry.choices))
        mark_gaps(sheet, f"B{row}", f'TRIM(B{row})=""')
        name_cell(book, entry.key.title().replace("_", ""), sheet, f"B{row}")
        sheet.row_dimensions[row].height = 18
    last = _COUNTED + len(COUNTING)
    add_table(sheet, COUNTING_TABLE, f"A{_COUNTED}:B{last}", [column.name for column in COUNTING_COLUMNS])


def _row(sheet: Worksheet, row: int, values: Mapping[str, Any], depth_format: str) -> None:
    sheet.row_dimensions[row].height = ROW_HEIGHT
    for at, column in enumerate(LOG.columns, 1):
        value = values.get(column.key)
        numeric = column.key in ("depth", "blows", "base_bottom") and not isinstance(value, str)
        across = "right" if numeric else "left"
        kind = depth_format if column.key == "depth" else column.format
        style.align(style.put(sheet, row, at, value, "input", kind, across=across), wrap=False)
    cell = style.formula(sheet, row, _SAYS, _says(row), "quiet")
    style.align(cell, up="center", wrap=False, across="left", indent=1)


def _says(row: int) -> str:
    says = f"CONE_LOG_SAYS(ROW($A{row})-ROW(FirstLogRow)+1,LogLine)"
    return f'=IF(COUNTA($A{row}:${LAST_COLUMN}{row})=0,"",{says})'


def _drops(book: Workbook, sheet: Worksheet, edition: Edition) -> None:
    """Write the list of drops with the layer that each is designed for."""
    letters = [get_column_letter(_LIST + at) for at in range(len(_LIST_HEADINGS))]
    for at, text in enumerate(_LIST_HEADINGS):
        words = f"{text} [{edition.depth}]" if text == "deep" else text
        style.put(sheet, HEADING_ROW, _LIST + at, words, "column", across="left" if at < 2 else "right")
    note(sheet, HEADING_ROW, _LIST, f"The first {DROPS} drops. Each is a reading of the cone at its spot.")
    note(sheet, HEADING_ROW, _LIST + 3, "The weakest layer that matters, which the drop is designed for.")
    note(sheet, HEADING_ROW, _LIST + 4, "Of that layer, before the season is thought of.")
    style.align(style.put(sheet, HEADING_ROW - 3, _LIST, "drops on this sheet", "label"), up="center", wrap=False)
    count = '=IF(LEFT(LogLine,1)="#",0,CONE_LOG_VALUE(LogLine,1,"drops"))'
    style.align(style.formula(sheet, HEADING_ROW - 3, _LIST + 2, count, "number", "0"), up="center")
    name_cell(book, "LogDrops", sheet, f"{letters[2]}{HEADING_ROW - 3}")
    for drop in range(1, DROPS + 1):
        row = FIRST + drop - 1
        for at, (what, kind) in enumerate(
            (("spot", "text"), ("drop", "text"), ("deep", "0.0"), ("index", "0.0"), ("cbr", "0.0"))
        ):
            call = f'CONE_LOG_VALUE(LogLine,{drop},"{what}",1,"{edition.units}")'
            text = f'=IF({drop}>LogDrops,"",{call})'
            look: style.Look = "text" if kind == "text" else "number"
            shown = "" if kind == "text" else ("0" if what == "deep" and edition.units == "metric" else kind)
            style.align(style.formula(sheet, row, _LIST + at, text, look, shown), up="center", wrap=False)
    mark_refusals(sheet, f"{letters[0]}{FIRST}:{letters[-1]}{FIRST + DROPS - 1}", f"{letters[0]}{FIRST}")


def _picture(book: Workbook, sheet: Worksheet, edition: Edition) -> None:
    """Write the points of one drop beside the printed sheet, and draw them below the list."""
    row = HEADING_ROW - 2
    style.align(style.put(sheet, row, _LIST, "drop in the picture", "label"), up="center", wrap=False)
    cell = f"{get_column_letter(_LIST + 2)}{row}"
    style.put(sheet, row, _LIST + 2, 1, "input", "0", across="right")
    note(sheet, row, _LIST + 2, f"1 for the first drop of the list, and so on. Up to {_LAYERS} layers are drawn, "
         f"and the first {_READINGS} readings.")  # fmt: skip
    rule = DataValidation(type="whole", operator="between", formula1="1", formula2="1000", allow_blank=True)
    rule.errorTitle, rule.error = "A drop", "A whole number from 1: the place of the drop in the list."
    rule.add(cell)
    sheet.add_data_validation(rule)
    drawn = f"=IF(LogDrops=0,0,IF(ISNUMBER({cell}),MAX(1,MIN(LogDrops,INT({cell}))),1))"
    style.put(sheet, HEADING_ROW - 1, _PICTURE, "What the picture draws; drop no.", "quiet")
    style.formula(sheet, HEADING_ROW - 1, _PICTURE + 3, drawn, "quiet", "0")
    style.align(cast(Cell, sheet.cell(HEADING_ROW - 1, _PICTURE)), wrap=False)
    name_cell(book, "LogDrawn", sheet, f"{get_column_letter(_PICTURE + 3)}{HEADING_ROW - 1}")
    for at, text in enumerate(("layers: CBR", edition.depth, "readings: CBR", edition.depth)):
        style.put(sheet, HEADING_ROW, _PICTURE + at, text, "column", across="right")

    def points(column: int, first: str, second: str, count: int) -> Points:
        for place_ in range(count):
            item = place_ // 2 + 1 if second else place_ + 1
            deep = (second if place_ % 2 else first) if second else first
            for at, what in ((column, f"{first.split()[0]} cbr"), (column + 1, deep)):
                call = f'CONE_LOG_VALUE(LogLine,LogDrawn,"{what}",{item},"{edition.units}")'
                style.formula(sheet, FIRST + place_, at, f"=IF(LogDrawn=0,NA(),{call})", "quiet", "0.0")
        return Points(FIRST, FIRST + count - 1, column, column + 1)

    line = points(_PICTURE, "layer from", "layer to", 2 * _LAYERS)
    readings = points(_PICTURE + 2, "reading at", "", _READINGS)
    cells = f"{get_column_letter(_PICTURE)}{FIRST}:{get_column_letter(_PICTURE + 3)}{FIRST + _READINGS - 1}"
    quiet = DifferentialStyle(font=Font(color="FFFFFF"))
    nothing = f"ISERROR({get_column_letter(_PICTURE)}{FIRST})"
    sheet.conditional_formatting.add(cells, Rule(type="expression", dxf=quiet, formula=[nothing]))
    chart = cbr_by_depth(sheet, line, readings, edition.units, "CBR by depth", 0.1)
    place(sheet, chart, FIRST + DROPS + 1, _LIST, 310, 330)
