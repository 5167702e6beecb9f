"""The sheet Start: what to do in which order, whether the functions work here, and the card of the job."""

from collections.abc import Mapping
from typing import Any, Final, cast

from openpyxl.cell.cell import Cell
from openpyxl.styles import Protection
from openpyxl.workbook import Workbook
from openpyxl.worksheet.worksheet import Worksheet

from basecalc.estimating.edition import Edition
from basecalc.estimating.host_excel import START_STEPS
from basecalc.estimating.sheet_kit import heading, lock, mark_refusals, name_cell, title
from basecalc.estimating.tables import JOB_COLUMNS, JOB_ENTRIES, JOB_TABLE, START_SHEET, JobEntry
from basecalc.workbook import style
from basecalc.workbook.template_table import add_table, drop_down, mark_gaps, note

WIDTH: Final = 4
_WIDTHS: Final = (22, 40, 58, 12)
LOADED: Final = "A4"
NOT_ASKED: Final = (
    "The worksheet functions have not been asked on this computer yet: you see the last "
    "values stored. Recalculate (Ctrl+Alt+F9; in LibreOffice Ctrl+Shift+F9)."
)
_LOADED: Final = "The worksheet functions are loaded: every number is live."
_MISSING: Final = (
    "The worksheet functions are NOT LOADED here: nothing below recalculates. How to get them "
    "stands under 'If the functions are missing'."
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
    (
        "Where do I change the price of stone?",
        "Sheet Prices, row base-stone, column unit price. Every estimate takes its prices from there and nowhere else.",
    ),
    ("1  Company, once", "Settings, materials, trucks and work rates. Hatched cells are still needed."),
    ("2  Prices, when they move", "One row a code: unit, unit price, taxed or not. 0 is a price, a blank is not."),
    ("3  Start, above", "The card of this job: client, traffic, how wet the ground was, what you offer."),
    (
        "4  Ground",
        "One row for each reading. Beside it stands what it says; disagreements are said, the weakest is taken.",
    ),
    ("5  Areas", "One row for each area: its shape and sizes. To the right: how deep, and why this depth."),
    (
        "6  Estimate",
        "Options side by side, the lines, the total. #N/A or REFUSED is never a price: the line on top says "
        "where to look.",
    ),
    (
        "7  Quote",
        "What the client pays, by scope. The finished client file: basecalc quote THIS-FILE --prices THIS-FILE",
    ),
)
_CAUTIONS: Final = (
    "The calculation informs; it does not replace a soils engineer or your local code, which decide where "
    "they ask for more.",
    "Very soft ground (a boot sinks over 3 in, CBR below 0.4 %) gets no number here: a licensed engineer "
    "must design it.",
    "Have buried lines marked before anyone digs (811 in the US). Private lines are marked by nobody.",
    "Tables on Ground and Areas grow in Excel when a row is typed below them; in LibreOffice use the rows "
    "made ready, or copy a whole row down.",
)


def steps_for(host: str) -> tuple[str, ...]:
    """Return how to get the functions, for 'excel', 'calc' or 'test'."""
    return {"excel": START_STEPS, "calc": CALC_STEPS, "test": _TEST_STEPS}[host]


def write_start(book: Workbook, edition: Edition, card: Mapping[str, Any], host: str, lists: Mapping[str, str]) -> None:
    """Write the sheet Start.

    Parameters
    ----------
    book
        The workbook to add it to.
    edition
        Its units.
    card
        What the job card starts with, by key.
    host
        'excel', 'calc' or 'test'.
    lists
        Where the words of the drop-downs stand, by key.
    """
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
    row = _card(book, sheet, 6, edition, card, lists)
    row = _told(sheet, row + 1, "How it goes", _STEPS)
    style.page_break(sheet, row - 1)
    row = _lines(sheet, row, "If the functions are missing", steps_for(host))
    row = _lines(sheet, row, "Cautions", _CAUTIONS)
    row = _legend(sheet, row)
    lock(sheet)
    sheet.freeze_panes = "A5"
    style.page(sheet, f"A1:C{row}", units=edition.units, foot="Start (office only)")


def _card(
    book: Workbook, sheet: Worksheet, top: int, edition: Edition, card: Mapping[str, Any], lists: Mapping[str, str]
) -> int:
    for at, column in enumerate(JOB_COLUMNS, 1):
        style.put(sheet, top, at, column.label, "column", across="left")
    note(sheet, top, 2, "Boxed cells are yours; a drop-down offers the words that are known.")
    row = top
    for entry in JOB_ENTRIES:
        row += 1
        style.align(style.put(sheet, row, 1, entry.label, "label" if entry.needed else "text"), up="center")
        value = card.get(entry.key, entry.default or None)
        style.put(sheet, row, 2, value, "input", "date" if entry.key == "date" else "general", across="left")
        style.align(style.put(sheet, row, 3, entry.help, "quiet", across="left"), up="center", indent=1)
        sheet.row_dimensions[row].height = 34 if entry.key == "notes" else 17
        name_cell(book, f"Job{entry.key.title().replace('_', '')}", sheet, f"B{row}")
        _choices(sheet, f"B{row}", entry, lists)
        if entry.needed:
            mark_gaps(sheet, f"B{row}", f'TRIM(B{row})=""')
    add_table(sheet, JOB_TABLE, f"A{top}:C{row}", [column.label for column in JOB_COLUMNS])
    assert edition.units
    return row + 1


def _choices(sheet: Worksheet, cell: str, entry: JobEntry, lists: Mapping[str, str]) -> None:
    if isinstance(entry.choices, str):
        drop_down(sheet, cell, lists[entry.choices], strict=False)
    elif entry.choices:
        drop_down(sheet, cell, entry.choices)


def _told(sheet: Worksheet, top: int, words: str, rows: tuple[tuple[str, str], ...]) -> int:
    heading(sheet, top, words, 3)
    row = top
    for label, text in rows:
        row += 1
        style.align(style.put(sheet, row, 1, label, "label"), up="center", wrap=True)
        cell = style.put(sheet, row, 2, text)
        sheet.merge_cells(start_row=row, start_column=2, end_row=row, end_column=3)
        style.align(cell, up="center", wrap=True)
        sheet.row_dimensions[row].height = 30
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
            style.align(cast(Cell, sheet.cell(row, column)), up="center")
        cast(Cell, sheet.cell(row, 1)).protection = Protection(locked=True)
    return top + 3
