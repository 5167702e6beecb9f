"""The sheet Sources: the words that the drop-downs offer, what each test wants, and where the numbers come from."""

from collections.abc import Mapping
from typing import Final, cast

from openpyxl.workbook import Workbook
from openpyxl.worksheet.worksheet import Worksheet

from basecalc.core.published import sources
from basecalc.design.settings import TRAFFIC_NAMES, traffic
from basecalc.estimating.edition import Edition
from basecalc.estimating.sheet_kit import heading, lock, name_cell, title
from basecalc.estimating.tables import SOURCES_SHEET
from basecalc.ground.readings import TESTS, test_help, test_words
from basecalc.plan.area import SIZES_TOLD
from basecalc.workbook import style

WIDTH: Final = 3
_WIDTHS: Final = (24, 44, 66)


def write_sources(book: Workbook, edition: Edition, own_traffic: tuple[str, int, int]) -> Mapping[str, str]:
    """Write the sheet Sources and return where the list of traffic levels stands, by key."""
    sheet = cast(Worksheet, book.create_sheet(SOURCES_SHEET))
    style.widths(sheet, *_WIDTHS)
    title(
        sheet,
        "Sources",
        "What the words mean, what each test wants, and where the numbers come from. Nothing to fill in.",
    )
    row = _rows(sheet, 4, "Shapes and their sizes", [(shape, told, "") for shape, told in SIZES_TOLD.items()])
    name_cell(book, "ShapeWords", sheet, f"A5:A{row - 2}")
    name_cell(book, "ShapeSizes", sheet, f"B5:B{row - 2}")
    tests = [
        (test, test_help(test), f"or a word: {', '.join(test_words(test))}" if test_words(test) else "")
        for test in TESTS
    ]
    if edition.units == "metric":
        tests = [(test, told.replace(", in", ", mm").replace(", tsf", ", kPa"), words) for test, told, words in tests]
    row = _rows(sheet, row, "Tests of the ground, and what to write", tests)
    first = row + 1
    levels = [(name, traffic(name).meaning, "") for name in TRAFFIC_NAMES]
    row = _rows(sheet, row, "Traffic levels", levels) - 1
    title_, top, last = own_traffic
    for line in range(top, last + 1):
        style.formula(sheet, row, 1, f"='{title_}'!$A${line}&\"\"", "text", across="left")
        row += 1
    lists = {"traffics": f"{SOURCES_SHEET}!$A${first}:$A${row - 1}"}
    style.page_break(sheet, row)
    _rows(sheet, row + 1, "Published sources", [(key, str(source), "") for key, source in sources().items()], wide=True)
    last_row = sheet.max_row
    lock(sheet)
    sheet.freeze_panes = "A3"
    style.page(sheet, f"A1:C{last_row}", units=edition.units, foot="Sources (office only)")
    return lists


def _rows(sheet: Worksheet, top: int, words: str, rows: list[tuple[str, str, str]], *, wide: bool = False) -> int:
    heading(sheet, top, words, WIDTH)
    row = top
    for first, second, third in rows:
        row += 1
        style.put(sheet, row, 1, first, "label")
        cell = style.put(sheet, row, 2, second)
        if wide:
            sheet.merge_cells(start_row=row, start_column=2, end_row=row, end_column=3)
            style.align(cell, wrap=True)
            style.fit_height(sheet, row, {118: second, 22: first})
        else:
            style.put(sheet, row, 3, third, "quiet")
            style.fit_height(sheet, row, {42: second, 68: third})
    return row + 2
