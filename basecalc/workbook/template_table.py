"""Real tables on a sheet: headings with notes, boxed cells, drop-downs, free rows to grow."""

from collections.abc import Mapping, Sequence
from typing import Any, Final

from openpyxl.comments import Comment
from openpyxl.formatting.rule import Rule
from openpyxl.styles import Border, Font, PatternFill, Side
from openpyxl.styles.differential import DifferentialStyle
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.datavalidation import DataValidation
from openpyxl.worksheet.filters import AutoFilter
from openpyxl.worksheet.table import Table, TableColumn
from openpyxl.worksheet.worksheet import Worksheet

from basecalc.pricing.price_tables import PRICES, PRICES_SHEET
from basecalc.tables.schema import Field
from basecalc.workbook import style

CODES_SHEET: Final = "Codes"
CODES_FROM: Final = 5  # first row of codes on that sheet
ROW_HEIGHT: Final = 16.5
ROWS_TO_COME: Final = 200  # drop-downs and the mark of a gap reach so far below a table
LONGEST_LIST: Final = 255  # characters of a drop-down written out


def letter(column: int) -> str:
    """Return the letters of a column."""
    return get_column_letter(column)


def add_table(sheet: Worksheet, name: str, ref: str, headings: Sequence[str], *, buttons: bool = False) -> None:
    """Make a range a real table without a look of its own."""
    table = Table(displayName=name, name=name, ref=ref)
    table.tableColumns = [TableColumn(id=at, name=heading) for at, heading in enumerate(headings, 1)]
    if buttons:
        table.autoFilter = AutoFilter(ref=ref)
    sheet.add_table(table)


def note(sheet: Worksheet, row: int, column: int, text: str) -> None:
    """Hang a note on a cell, as large as its text needs."""
    remark = Comment(style.safe_text(text), "basecalc", width=230)
    remark.height = 24 + 16 * style.wrapped_lines(text, 34)
    sheet.cell(row, column).comment = remark


def drop_down(sheet: Worksheet, cells: str, source: str | Sequence[str], *, strict: bool = True) -> None:
    """Offer words in cells: a list, or a range that holds one."""
    written = source if isinstance(source, str) else '"' + ",".join(source) + '"'
    if not isinstance(source, str) and len(written) > LONGEST_LIST:
        raise ValueError(f"a list of {len(written)} characters is too long to be written out")
    rule = DataValidation(type="list", formula1=written, allow_blank=True, showDropDown=False)
    rule.errorStyle = "stop" if strict else "warning"
    rule.errorTitle, rule.error = "Not in the list", "Choose one of the words offered."
    if not strict:
        rule.error = "This is not in the list. Keep it only if it is a code of your own."
    rule.showErrorMessage = True
    rule.add(cells)
    sheet.add_data_validation(rule)


def mark_gaps(sheet: Worksheet, cells: str, when: str) -> None:
    """Hatch cells that must still be filled in, by a formula for the first of them."""
    edge = Side("thin", color=style.CLAY)
    look = DifferentialStyle(
        font=Font(color=style.CLAY),
        fill=PatternFill("lightUp", fgColor=style.CLAY, bgColor=style.FIELD),
        border=Border(left=edge, right=edge, top=edge, bottom=edge),
    )
    sheet.conditional_formatting.add(cells, Rule(type="expression", dxf=look, formula=[when]))


def write_rows(
    sheet: Worksheet, heading_row: int, fields: Sequence[Field], rows: Sequence[Mapping[str, Any]], units: str,
    *, name: str, free_rows: int, inside: bool, unit_words: Sequence[str], soil_words: Sequence[str],
    work_words: Sequence[str], buttons: bool = False,
) -> int:  # fmt: skip
    """Write a table and return its last row, free rows included."""
    headings = [field.heading(units) for field in fields]
    for at, (field, heading) in enumerate(zip(fields, headings, strict=True), 1):
        style.align(
            style.put(sheet, heading_row, at, heading, "column", across="right" if _numeric(field) else "left"),
            indent=1,
        )
        if field.help:
            note(sheet, heading_row, at, field.help)
    room = [(sheet.column_dimensions[letter(at)].width or 10) - 2 for at in range(1, len(fields) + 1)]
    lines = max(style.wrapped_lines(text, wide) for text, wide in zip(headings, room, strict=True))
    sheet.row_dimensions[heading_row].height = 12.8 * lines + 3
    last = heading_row + len(rows) + free_rows
    for row in range(heading_row + 1, last + 1):
        values = rows[row - heading_row - 1] if row - heading_row <= len(rows) else {}
        sheet.row_dimensions[row].height = ROW_HEIGHT
        for at, field in enumerate(fields, 1):
            value = values.get(field.key)
            across = "left" if isinstance(value, str) or not _numeric(field) else "right"
            cell = style.put(sheet, row, at, value, "input", field.format, across=across)
            style.align(cell, wrap=not _numeric(field))
    end = last if inside else heading_row + max(len(rows), 1)
    add_table(sheet, name, f"A{heading_row}:{letter(len(fields))}{end}", headings, buttons=buttons)
    words = {
        "units": unit_words,
        "soils": soil_words,
        "work codes": work_words,
        "price codes": f"'{CODES_SHEET}'!$A${CODES_FROM}:$A${CODES_FROM + ROWS_TO_COME}"
        if fields is PRICES.fields
        else f"'{PRICES_SHEET}'!$A${CODES_FROM + 1}:$A${CODES_FROM + ROWS_TO_COME}",
    }
    reach = last if inside else last + ROWS_TO_COME
    for at, field in enumerate(fields, 1):
        if field.choices:
            key = field.choices
            offered = words[key] if isinstance(key, str) else key
            cells = f"{letter(at)}{heading_row + 1}:{letter(at)}{reach}"
            drop_down(sheet, cells, offered, strict=key != "price codes")
    return last


def _numeric(field: Field) -> bool:
    return field.format not in ("text", "general") and not field.choices
