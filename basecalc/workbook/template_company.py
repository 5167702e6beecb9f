"""The sheet Company of a new price workbook: settings, then the owner's materials, trucks, work and terms."""

from collections.abc import Mapping
from typing import Any, Final, cast

from openpyxl.cell.cell import Cell
from openpyxl.styles import Border, Side
from openpyxl.workbook import Workbook
from openpyxl.worksheet.datavalidation import DataValidation
from openpyxl.worksheet.worksheet import Worksheet

from basecalc.company import COMPANY_SHEET, COMPANY_TABLES, SETTING_ROWS, TERMS, Setting, settings
from basecalc.core.numbers import limits
from basecalc.core.units import Measure
from basecalc.ground.readings import SOILS
from basecalc.tables.schema import YES_NO, Table, Text, sheet_unit
from basecalc.takeoff.model import CODES
from basecalc.workbook import style
from basecalc.workbook.starter import setting_values, table_rows, unit_words
from basecalc.workbook.template_table import ROW_HEIGHT, add_table, drop_down, letter, mark_gaps, write_rows

_WIDTHS: Final = (40, 28, 16, 17, 16, 18, 21, 15, 36)
_WIDE: Final = len(_WIDTHS)
_HELP: Final = "what it does"
_SURE: Final = len(SETTING_ROWS.fields)
_BREAK_BEFORE: Final = frozenset({"Depth of the base", "stones", "soils"})
WORK: Final = tuple(key for key, code in CODES.items() if code.kind in ("work", "haul"))
_BOX: Final = Side("thin", color=style.LINE)


def write_company(book: Workbook, records: Mapping[str, Any], units: str) -> None:
    """Write the sheet Company."""
    sheet = book.create_sheet(COMPANY_SHEET)
    style.widths(sheet, *_WIDTHS)
    style.put(sheet, 1, 1, "Company", "title")
    sheet.row_dimensions[1].height = 30
    style.put(
        sheet,
        2,
        1,
        "How your company designs, works and adds up. Unit prices have their own sheet, Prices.",
        "subtitle",
    )
    style.put(sheet, 3, 1, "A boxed cell is yours to fill in.", "input")
    sheet.row_dimensions[2].height, sheet.row_dimensions[3].height = 20, 18
    legend = (
        "Hatched or dark: still needed. Headings carry notes. Units in headings and beside values may be changed, but "
        "for %: there you type 12 for 12 %."
    )
    style.align(style.put(sheet, 3, 2, legend, "quiet"), across="left", up="center", wrap=False, indent=1)
    row = _settings(sheet, 5, records, units)
    for table in COMPANY_TABLES:
        if table.key in _BREAK_BEFORE:
            style.page_break(sheet, row)
        row = _table(sheet, row + 1, table, records, units)
    sheet.freeze_panes = "A4"
    style.page(sheet, f"A1:{letter(_WIDE)}{row}", units=units, landscape=True, repeat_rows="1:1", foot="Company")


def _settings(sheet: Worksheet, heading_row: int, records: Mapping[str, Any], units: str) -> int:
    """Write the settings and return the row below them."""
    headings = [field.name for field in SETTING_ROWS.fields] + [_HELP]
    for at, heading in enumerate(headings, 1):
        style.align(
            style.put(sheet, heading_row, at, heading, "column"),
            across="right" if at == 2 else "left",
            indent=int(at in (2, 3)),
        )
    for at in range(len(headings) + 1, _WIDE + 1):
        style.put(sheet, heading_row, at, None, "column")
    values = setting_values(records, units)
    row, group, needed = heading_row, "", []
    for key, setting in settings().items():
        row += 1
        if setting.group != group:
            group = setting.group
            if group in _BREAK_BEFORE:
                style.page_break(sheet, row - 1)
            style.put(sheet, row, 1, group, "label", across="left")
            sheet.row_dimensions[row].height = 24
            for at in range(1, _WIDE + 1):
                cell = cast(Cell, sheet.cell(row, at))
                cell.border = Border(bottom=Side("thin", color=style.SLATE))
                style.align(cell, up="bottom")
            row += 1
        _setting(sheet, row, setting, values[key], units, sure=key in records.get("sure", ()))
        if setting.default is None:
            needed.append(f"B{row}")
    add_table(sheet, SETTING_ROWS.name, f"A{heading_row}:{letter(len(headings))}{row}", headings)
    for place in needed:
        mark_gaps(sheet, place, f'TRIM({place})=""')
    return row + 1


def _setting(sheet: Worksheet, row: int, setting: Setting, value: Any, units: str, *, sure: bool) -> None:
    unit, number = setting.unit(units), isinstance(setting.kind, Measure)
    text = isinstance(setting.kind, Text)
    style.align(style.put(sheet, row, 1, setting.label, "text"), up="center")
    shape = (
        "text"
        if text
        else "0.0%"
        if unit == "share"
        else "#,##0.####"
        if number and not setting.kind.whole
        else "general"
    )
    if shape == "#,##0.####" and isinstance(value, int | float) and float(value).is_integer():
        shape = "whole"
    style.put(sheet, row, 2, value, "input", shape, across="left" if text else "right")
    style.align(style.put(sheet, row, 3, sheet_unit(unit), "text"), across="left", up="center", indent=1)
    if unit == "share":
        style.put(sheet, row, _SURE, "yes" if sure else None, "input", across="left")
        drop_down(sheet, f"{letter(_SURE)}{row}", YES_NO)
        asked = f'AND(ISNUMBER(B{row}),OR(AND(B{row}>0,B{row}<0.01),B{row}=1),{letter(_SURE)}{row}<>"yes")'
        mark_gaps(sheet, f"B{row}", asked)
    style.align(style.put(sheet, row, _SURE + 1, setting.help, "quiet"), up="center", wrap=False)
    lines = style.wrapped_lines(str(value), _WIDTHS[1] - 3) if text and value else 1
    sheet.row_dimensions[row].height = ROW_HEIGHT + 13 * (lines - 1)
    if setting.choices:
        drop_down(sheet, f"B{row}", setting.choices)
    elif number:
        _limits(sheet, f"B{row}", setting, units)


def _limits(sheet: Worksheet, cell: str, setting: Setting, units: str) -> None:
    """Ask, in the program itself, whether a number outside the limits is meant; the reader refuses it in any case."""
    unit = setting.unit(units)
    low, high = setting.kind.limits_in(unit)
    rule = DataValidation(
        type="decimal", operator="between", formula1=f"{low:g}", formula2=f"{high:g}", allow_blank=True
    )
    rule.errorStyle, rule.showErrorMessage = "warning", True
    rule.errorTitle = "Outside the limits"
    rule.error = f"It must be {limits(low, high, unit)}."
    if unit == "share":  # a program makes 0.12 % of a typed 0.12
        rule.type, rule.operator = "custom", None
        rule.formula1, rule.formula2 = f"OR({cell}=0,AND({cell}>=0.01,{cell}<={high:g}))", None
        rule.error += " Type 12 for 12 %."
    rule.add(cell)
    sheet.add_data_validation(rule)


def _table(sheet: Worksheet, row: int, table: Table, records: Mapping[str, Any], units: str) -> int:
    """Write a table with its title and help from this row on, and return the row below it."""
    style.put(sheet, row, 1, table.title, "heading")
    sheet.row_dimensions[row].height = 22
    for at in range(2, _WIDE + 1):
        style.put(sheet, row, at, None, "heading")
    style.align(style.put(sheet, row + 1, 1, table.help, "quiet"), up="center", wrap=False)
    sheet.row_dimensions[row + 1].height = 16
    rows = table_rows(records, table, units)
    last = write_rows(
        sheet, row + 2, table.fields, rows, units, name=table.name, free_rows=table.free_rows, inside=True,
        unit_words=unit_words(), soil_words=SOILS, work_words=WORK,
    )  # fmt: skip
    if table is TERMS:
        _long_lines(sheet, row + 2, last)
    return last + 1


def _long_lines(sheet: Worksheet, heading_row: int, last: int) -> None:
    """Draw the one wide column of the terms as a box across the page; the text runs over the empty cells."""
    for at in range(2, _WIDE + 1):
        style.put(sheet, heading_row, at, None, "column")
    for row in range(heading_row + 1, last + 1):
        for at in range(1, _WIDE + 1):
            cell = style.put(sheet, row, at, None, "input") if at > 1 else cast(Cell, sheet.cell(row, at))
            cell.border = Border(_BOX if at == 1 else None, _BOX if at == _WIDE else None, _BOX, _BOX)
            style.align(cell, wrap=False)
