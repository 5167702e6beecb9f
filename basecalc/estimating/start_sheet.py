"""The sheet Start: what to do in which order, whether the functions work here, and the card of the job."""

from collections.abc import Mapping
from typing import Any, Final, cast

from openpyxl.cell.cell import Cell
from openpyxl.styles import Protection
from openpyxl.utils import get_column_letter, range_boundaries
from openpyxl.workbook import Workbook
from openpyxl.worksheet.hyperlink import Hyperlink
from openpyxl.worksheet.worksheet import Worksheet

from basecalc.estimating.edition import Edition
from basecalc.estimating.estimate_layout import REASONS_ROW
from basecalc.estimating.host_excel import START_STEPS
from basecalc.estimating.sheet_kit import heading, lock, mark_refusals, name_cell, title
from basecalc.estimating.tables import (
    AREAS,
    ESTIMATE_SHEET,
    GROUND,
    JOB_COLUMNS,
    JOB_ENTRIES,
    JOB_TABLE,
    QUOTE_SHEET,
    START_SHEET,
    JobEntry,
)
from basecalc.pricing.price_tables import COMPANY_SHEET, PRICES, PRICES_SHEET
from basecalc.workbook import style
from basecalc.workbook.template_table import ROWS_TO_COME, add_table, drop_down, mark_gaps, note

WIDTH: Final = 4
_WIDTHS: Final = (26, 40, 58, 12)
_GLANCED: Final = 2  # areas whose depth is explained on this sheet
LOADED: Final = "A4"
NOT_ASKED: Final = (
    "The worksheet functions have not been asked on this computer yet: you see the last "
    "values stored. Recalculate (Ctrl+Alt+F9; in LibreOffice Ctrl+Shift+F9)."
)
_LOADED: Final = "The worksheet functions are loaded."
_MISSING: Final = (
    "The worksheet functions are NOT LOADED here: no number below can be worked out. How to get them "
    "is under 'If the functions are missing'."
)
CALC_STEPS: Final = (
    "LibreOffice Calc, once on each computer:",
    "1. In a terminal, where basecalc is installed: basecalc addin --for calc driveway-base.oxt",
    "2. In LibreOffice: Tools > Extension Manager > Add, choose that file, and start LibreOffice again.",
    "3. Open this workbook and press Ctrl+Shift+F9. Save it as .xlsx: its formulas stay the same.",
)
_TEST_STEPS: Final = (
    "This edition is for a program that calls the functions of basecalc.worksheet by their plain names.",
)
_STEPS: Final = (
    ("1  Company, once", "Settings, materials, trucks, work rates. Hatched cells are still needed.", COMPANY_SHEET),
    ("2  Prices, when they move", "One row a code: unit, unit price, taxed or not. 0 is a price, a blank is not.",
     PRICES_SHEET),
    ("3  Start, below", "The card of this job: client, traffic, how wet the ground was, what you offer.", START_SHEET),
    ("4  Ground", "One row a reading; what it says stands beside it. A cone driven blow by blow: sheet Cone log.",
     GROUND.sheet),
    ("5  Areas", "One row for each area: shape and sizes. To the right: how deep, and why.", AREAS.sheet),
    ("6  Estimate", "The options side by side, every line, the total. #N/A or REFUSED is never a price.",
     ESTIMATE_SHEET),
    ("7  Quote", "What the client pays. Save, then the finished files: basecalc quote THIS-FILE", QUOTE_SHEET),
)  # fmt: skip
_CAUTIONS: Final = (
    "The calculation informs; it does not replace a soils engineer or your local code, which decide where "
    "they ask for more.",
    "Very soft ground (a boot sinks over {sunk}, CBR below 0.4 %) gets no number here: a licensed engineer "
    "must design it.",
    "Have buried lines marked before anyone digs (811 in the US). Private lines are marked by nobody.",
    "Tables on Ground and Areas grow in Excel when a row is typed below them; in LibreOffice use the rows "
    "made ready, or copy a whole row down.",
)


def steps_for(host: str) -> tuple[str, ...]:
    """Return how to get the functions, for 'excel', 'calc' or 'test'."""
    return {"excel": START_STEPS, "calc": CALC_STEPS, "test": _TEST_STEPS}[host]


def write_start(book: Workbook, edition: Edition, card: Mapping[str, Any], host: str, lists: Mapping[str, str]) -> None:
    """Write the sheet Start."""
    sheet = cast(Worksheet, book.create_sheet(START_SHEET))
    style.widths(sheet, *_WIDTHS)
    system = "inches, feet, cubic yards, short tons" if edition.units == "us" else "millimetres, metres, tonnes"
    title(sheet, "Driveway base estimate", f"From readings of the ground to a quote, on one set of sheets ({system}).")
    for row, text in ((3, "=Banner"), (4, f'=IF(ISNUMBER(BASE_DEPTH("soft")),"{_LOADED}","{_MISSING}")')):
        cell = style.formula(sheet, row, 1, text, "label", across="left")
        sheet.merge_cells(start_row=row, start_column=1, end_row=row, end_column=3)
        style.align(cell, wrap=True, up="center")
        sheet.row_dimensions[row].height = 30
    mark_refusals(sheet, "A3", "A3")
    row = _glance(book, sheet, 6, edition)
    row = _steps(sheet, row)
    row = _card(book, sheet, row, card, lists) + 1
    style.page_break(sheet, row - 1)
    row = _lines(sheet, row, "If the functions are missing", steps_for(host))
    sunk = "3 in" if edition.units == "us" else "75 mm"
    row = _lines(sheet, row, "Cautions", tuple(text.format(sunk=sunk) for text in _CAUTIONS))
    row = _legend(sheet, row)
    lock(sheet)
    sheet.freeze_panes = "A5"
    style.page(sheet, f"A1:C{row}", units=edition.units, foot="Start (office only)")


def _glance(book: Workbook, sheet: Worksheet, top: int, edition: Edition) -> int:
    """Answer on the first sheet what is asked most: why so deep, what it costs, where the price of stone stands."""
    heading(sheet, top, "At a glance", WIDTH - 1)
    row, deep = top, edition.depth
    for place in range(_GLANCED):
        row += 1
        name, stone, grid, why = (f"{ESTIMATE_SHEET}!${letter}${REASONS_ROW + 2 + place}" for letter in "ABCE")
        none = "Why this depth?" if place == 0 else ""
        asked = f'{name}&IF(ISNUMBER({stone}),": why "&{stone}&" {deep}?",": no depth")'
        style.formula(sheet, row, 1, f'=IF({name}="","{none}",{asked})', "label", across="left")
        none = "No area yet: fill in Ground and Areas, and the reason stands here." if place == 0 else ""
        thinner = (
            f'IF(AND(ISNUMBER({stone}),ISNUMBER({grid})),IF({grid}<{stone},{grid}&" {deep} with geogrid. ",""),"")'
        )
        style.formula(sheet, row, 2, f'=IF({name}="","{none}",{thinner}&{why})', "text", across="left")
        sheet.merge_cells(start_row=row, start_column=2, end_row=row, end_column=3)
    row += 1
    style.put(sheet, row, 1, "What do we offer?", "label")
    style.formula(
        sheet, row, 2, '=IF(ISNUMBER(OfferedTotal),OfferedTotal,"nothing yet")', "text", "money", across="left"
    )
    laid = 'IF(Offered="geogrid","with geogrid","stone only")'
    told = f'=IF(ISNUMBER(OfferedTotal),{laid}&", tax included; the options side by side: sheet Estimate","")'
    style.formula(sheet, row, 3, told, "text", across="left")
    row += 1
    style.put(sheet, row, 1, "Where do I change the price of stone?", "label")
    price, unit = (_stone(book[PRICES_SHEET], label) for label in ("unit price", "unit"))
    style.formula(sheet, row, 2, f'=IFERROR({price},"no price yet")', "text", '"$"#,##0.00##', across="left")
    where = f'"a "&{unit}&", from the sheet Prices, row "&StoneCode&". Change it there and nowhere else."'
    told = f'=IF(ISNUMBER($B{row}),{where},"On the sheet Prices, column unit price, and nowhere else.")'
    style.formula(sheet, row, 3, told, "text", across="left")
    for at in range(top + 1, row + 1):
        sheet.row_dimensions[at].height = 18 if at == row - 1 else 30 if at == row else 42
        for column in (1, 2, 3):
            style.align(cast(Cell, sheet.cell(at, column)), up="center", wrap=True)
    mark_refusals(sheet, f"A{top + 1}:C{row}", f"A{top + 1}")
    return row + 2


def _stone(prices: Worksheet, label: str) -> str:
    """Return the formula of a cell of the stone's row on the sheet Prices; #N/A where the column was moved away."""
    left, top, right, bottom = range_boundaries(prices.tables[PRICES.name].ref)
    at = next(column for column in range(left or 1, (right or 1) + 1) if prices.cell(top or 1, column).value == label)
    first, last = (top or 1) + 1, (bottom or 1) + ROWS_TO_COME
    column, code = (f"{PRICES_SHEET}!${letter}" for letter in (get_column_letter(at), "A"))
    found = f"INDEX({column}${first}:${get_column_letter(at)}${last},MATCH(StoneCode,{code}${first}:$A${last},0))"
    return f'IF({column}${top}="{label}",IF({found}="",NA(),{found}),NA())'


def _link(cell: Cell, sheet: str, at: str) -> None:
    """Make a cell a way to another sheet."""
    cell.hyperlink = Hyperlink(ref=cell.coordinate, location=f"'{sheet}'!{at}")


def _card(book: Workbook, sheet: Worksheet, top: int, card: Mapping[str, Any], lists: Mapping[str, str]) -> int:
    for at, column in enumerate(JOB_COLUMNS, 1):
        style.put(sheet, top, at, column.name, "column", across="left")
    note(sheet, top, 2, "Boxed cells are yours; a drop-down offers the words that are known.")
    row = top
    for entry in JOB_ENTRIES:
        row += 1
        style.align(style.put(sheet, row, 1, entry.label, "label" if entry.needed else "text"), up="center")
        value = card.get(entry.key, entry.default or None)
        style.put(sheet, row, 2, value, "input", "date" if entry.key in ("date", "start") else "general", across="left")
        style.align(style.put(sheet, row, 3, entry.help, "quiet", across="left"), up="center", indent=1)
        sheet.row_dimensions[row].height = 34 if entry.key == "notes" else 17
        name_cell(book, f"Job{entry.key.title().replace('_', '')}", sheet, f"B{row}")
        _choices(sheet, f"B{row}", entry, lists)
        if entry.needed:
            mark_gaps(sheet, f"B{row}", f'TRIM(B{row})=""')
    add_table(sheet, JOB_TABLE, f"A{top}:C{row}", [column.name for column in JOB_COLUMNS])
    return row + 1


def _choices(sheet: Worksheet, cell: str, entry: JobEntry, lists: Mapping[str, str]) -> None:
    if isinstance(entry.choices, str):
        drop_down(sheet, cell, lists[entry.choices], strict=False)
    elif entry.choices:
        drop_down(sheet, cell, entry.choices)


def _steps(sheet: Worksheet, top: int) -> int:
    heading(sheet, top, "How it goes (a click on a step opens its sheet)", WIDTH - 1)
    row = top
    for label, text, to in _STEPS:
        row += 1
        cell = style.align(style.put(sheet, row, 1, label, "label"), up="center")
        _link(cell, to, f"A{top + len(_STEPS) + 2 if to == START_SHEET else 1}")
        style.align(style.put(sheet, row, 2, text), up="center", wrap=False)
        sheet.row_dimensions[row].height = 18
    return row + 2


def _lines(sheet: Worksheet, top: int, words: str, lines: tuple[str, ...]) -> int:
    heading(sheet, top, words, 3)
    row = top
    for text in lines:
        row += 1
        cell = style.put(sheet, row, 1, text, "label" if text.endswith(":") else "text")
        sheet.merge_cells(start_row=row, start_column=1, end_row=row, end_column=3)
        style.align(cell, up="center", wrap=True)
        style.fit_height(sheet, row, {112: text})
    return row + 2


def _legend(sheet: Worksheet, top: int) -> int:
    heading(sheet, top, "What the cells look like", 3)
    style.put(sheet, top + 1, 1, "yours", "input")
    style.put(sheet, top + 1, 2, "A box with a tint: fill it in, or leave it blank where the note says so.", "text")
    style.put(sheet, top + 2, 1, "worked out", "number", across="left")
    style.put(sheet, top + 2, 2, "No box: worked out, and kept from being typed over. There is no password.", "text")
    style.put(sheet, top + 3, 1, "#... or REFUSED", "caution")
    style.put(
        sheet,
        top + 3,
        2,
        "Hatched and bold: cannot be worked out; the cell says what is wrong and what it must be.",
        "text",
    )
    for row in range(top + 1, top + 4):
        sheet.merge_cells(start_row=row, start_column=2, end_row=row, end_column=3)
        sheet.row_dimensions[row].height = 20
        for column in (1, 2):
            style.align(cast(Cell, sheet.cell(row, column)), across="left", up="center", indent=1)
        cast(Cell, sheet.cell(row, 1)).protection = Protection(locked=True)
    return top + 3
