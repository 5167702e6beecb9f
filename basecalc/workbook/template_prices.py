"""The sheets Prices and Codes of a new price workbook: what things cost, and what there is to price."""

from collections.abc import Mapping
from typing import Any, Final

from openpyxl.workbook import Workbook
from openpyxl.worksheet.datavalidation import DataValidation

from basecalc.pricing.prices import PRICES, PRICES_SHEET
from basecalc.takeoff.codes import HIGHEST_PRICE
from basecalc.takeoff.model import CODES, SCOPES
from basecalc.workbook import style
from basecalc.workbook.starter import table_rows, unit_words
from basecalc.workbook.template_table import (
    CODES_FROM,
    CODES_SHEET,
    ROW_HEIGHT,
    ROWS_TO_COME,
    add_table,
    letter,
    mark_gaps,
    write_rows,
)

_HEADING: Final = 5
_KINDS: Final = {
    "material": "bought",
    "haul": "hauled",
    "work": "work: own price, or crew and machine hours",
    "time": "hours",
}


def write_prices(book: Workbook, records: Mapping[str, Any], units: str) -> None:
    """Write the sheet Prices, the one place for unit prices."""
    sheet = book.create_sheet(PRICES_SHEET)
    style.widths(sheet, 20, 36, 9, 14, 11, 14, 28, 12, 10)
    style.put(sheet, 1, 1, "Prices", "title")
    sheet.row_dimensions[1].height = 30
    style.put(
        sheet,
        2,
        1,
        "What each thing costs you. Every estimate takes its prices from here and nowhere else.",
        "subtitle",
    )
    style.put(
        sheet, 3, 1,
        "Hatched or dark: price still needed. 0 is a price, a blank is not. Work (dig, lay ...) is priced by crew and "
        "machine hours; give it a row of its own where you price it by the unit.",
        "quiet",
    )  # fmt: skip
    sheet.merge_cells(start_row=3, start_column=1, end_row=3, end_column=len(PRICES.fields))
    for row, height in ((2, 20), (3, 27), (4, 6)):
        sheet.row_dimensions[row].height = height
    last = write_rows(
        sheet, _HEADING, PRICES.fields, table_rows(records, PRICES, units), units, name=PRICES.name,
        free_rows=PRICES.free_rows, inside=False, unit_words=unit_words(), soil_words=(), work_words=(), buttons=True,
    )  # fmt: skip
    at = letter(1 + PRICES.keys.index("unit_price"))
    reach = f"{at}{_HEADING + 1}:{at}{last + ROWS_TO_COME}"
    mark_gaps(sheet, reach, f'AND($A{_HEADING + 1}<>"",{at}{_HEADING + 1}="")')
    rule = DataValidation(
        type="decimal", operator="between", formula1="0", formula2=str(HIGHEST_PRICE), allow_blank=True
    )
    rule.errorTitle, rule.error = "Not a price", "A price is a number of 0 or more, without a unit."
    rule.showErrorMessage = True
    rule.add(reach)
    sheet.add_data_validation(rule)
    sheet.freeze_panes = f"B{_HEADING + 1}"
    foot = "Prices (office only)"
    printed_area = f"A1:{letter(len(PRICES.fields))}{last}"
    style.page(sheet, printed_area, units=units, repeat_rows=f"{_HEADING}:{_HEADING}", foot=foot)


def write_codes(book: Workbook, units: str) -> None:
    """Write the sheet Codes, which says what each code means and feeds the drop-down of the prices."""
    sheet = book.create_sheet(CODES_SHEET)
    style.widths(sheet, 20, 34, 10, 12, 42, 34)
    style.put(sheet, 1, 1, "Codes", "title")
    sheet.row_dimensions[1].height = 30
    style.put(
        sheet,
        2,
        1,
        "Everything a job may need, and which line of the client's quote it ends up in. Nothing to fill in.",
        "subtitle",
    )
    headings = ["code", "what it is", "US unit", "metric unit", "how it is priced", "line of the quote"]
    for at, heading in enumerate(headings, 1):
        style.put(sheet, CODES_FROM - 1, at, heading, "column")
    row = CODES_FROM - 1
    for key, code in CODES.items():
        row += 1
        line = SCOPES[code.scope].title if code.scope else "the line of the work it is for"
        for at, value in enumerate((key, code.title, code.units[0], code.units[-1], _KINDS[code.kind], line), 1):
            style.align(style.put(sheet, row, at, value), up="center")
        sheet.row_dimensions[row].height = ROW_HEIGHT
    add_table(sheet, "QuantityCodes", f"A{CODES_FROM - 1}:F{row}", headings)
    sheet.freeze_panes = f"A{CODES_FROM}"
    style.page(
        sheet, f"A1:F{row}", units=units, landscape=True, repeat_rows=f"{CODES_FROM - 1}:{CODES_FROM - 1}", foot="Codes"
    )
