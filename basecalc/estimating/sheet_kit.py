"""What all sheets of the estimating workbook are made with: names for cells, formulas, guards, marks of refusals."""

from collections.abc import Iterable
from typing import Final, cast

from openpyxl.cell.cell import Cell
from openpyxl.formatting.rule import Rule
from openpyxl.styles import Border, Font, PatternFill, Side
from openpyxl.styles.differential import DifferentialStyle
from openpyxl.workbook import Workbook
from openpyxl.workbook.defined_name import DefinedName
from openpyxl.worksheet.datavalidation import DataValidation
from openpyxl.worksheet.worksheet import Worksheet

from basecalc.workbook import style

REFUSED: Final = "REFUSED"
BEGUN: Final = "COUNTA(AreaNames)>0"  # an area is there: from now on what cannot be worked out is a fault
DASH: Final = "\N{EN DASH}"
# A nought is a dash: a column of work that a job does not need stays quiet.
QUIET_NUMBERS: Final = {
    "two": f'#,##0.00;-#,##0.00;"{DASH}"',
    "whole": f'#,##0;-#,##0;"{DASH}"',
    "money": f'"$"#,##0.00;-"$"#,##0.00;"{DASH}"',
}


def name_cell(book: Workbook, name: str, sheet: Worksheet, cells: str) -> None:
    """Give a cell or a range a name that formulas on every sheet may use."""
    fixed = ":".join(
        f"${''.join(filter(str.isalpha, end))}${''.join(filter(str.isdigit, end))}" for end in cells.split(":")
    )
    book.defined_names[name] = DefinedName(name, attr_text=f"'{sheet.title}'!{fixed}")


def mark_refusals(sheet: Worksheet, cells: str, first: str, *, begun: str = "") -> None:
    """Make refused and failed cells stand out by a bar, bold type and a hatch, whatever the colour."""
    look = DifferentialStyle(
        font=Font(color=style.CLAY, bold=True),
        fill=PatternFill("lightUp", fgColor="E9C4AC", bgColor=style.CLAY_LIGHT),
        border=Border(left=Side("thin", color=style.CLAY)),
    )
    formula = f'IF(ISERROR({first}),TRUE,OR(LEFT({first},1)="#",LEFT({first},7)="{REFUSED}"))'
    if begun:
        pale = DifferentialStyle(font=Font(color=style.HAIR))
        waits = Rule(type="expression", dxf=pale, formula=[f"IF({begun},FALSE,{formula})"], stopIfTrue=True)
        sheet.conditional_formatting.add(cells, waits)
    sheet.conditional_formatting.add(cells, Rule(type="expression", dxf=look, formula=[formula]))


def mark_words(sheet: Worksheet, cells: str, when: str) -> None:
    """Make cells bold with a clay bar where a formula for the first of them holds."""
    look = DifferentialStyle(font=Font(color=style.CLAY, bold=True), border=Border(left=Side("thin", color=style.CLAY)))
    sheet.conditional_formatting.add(cells, Rule(type="expression", dxf=look, formula=[when]))


def keep_formulas(sheet: Worksheet, *ranges: str) -> None:
    """Stop a formula from being typed over, on a sheet that cannot be protected because its table has to grow."""
    rule = DataValidation(type="custom", formula1="FALSE", allow_blank=False)
    rule.errorStyle, rule.showErrorMessage = "stop", True
    rule.errorTitle = "Worked out"
    rule.error = "This cell is worked out from the cells you fill in. Nothing is typed here."
    for cells in ranges:
        rule.add(cells)
    sheet.add_data_validation(rule)


def lock(sheet: Worksheet) -> None:
    """Lock all cells but the boxed ones; there is no password."""
    sheet.protection.sheet = True
    sheet.protection.formatColumns = sheet.protection.formatRows = False
    sheet.protection.selectLockedCells = False


def heading(sheet: Worksheet, row: int, text: str, width: int) -> None:
    """Write the heading of a block across the sheet."""
    style.put(sheet, row, 1, text, "heading")
    for column in range(2, width + 1):
        style.put(sheet, row, column, None, "heading")
    sheet.row_dimensions[row].height = 24


def title(sheet: Worksheet, text: str, subtitle: str) -> None:
    """Write the title of a sheet and the line below it."""
    style.put(sheet, 1, 1, text, "title")
    style.put(sheet, 2, 1, subtitle, "subtitle")
    sheet.row_dimensions[1].height, sheet.row_dimensions[2].height = 30, 20


def line_below(sheet: Worksheet, row: int, columns: Iterable[int]) -> None:
    """Draw a hair line below a row."""
    for column in columns:
        cell = cast(Cell, sheet.cell(row, column))
        cell.border = Border(bottom=Side("thin", color=style.HAIR))
