"""The field card: one page to print and take to the site, in the order and the words of the entry sheet."""

from pathlib import Path
from typing import Final

from openpyxl.styles import Border, Side
from openpyxl.utils import get_column_letter

from basecalc.core.errors import WorkbookError
from basecalc.core.numbers import choice
from basecalc.estimating.blocks import BAND, LINE, PALE, Sheets
from basecalc.estimating.fields import CARD, READING_FIELDS, area_fields
from basecalc.ground.readings import test_help, test_words
from basecalc.workbook import style
from basecalc.workbook.new_file import workbook_file, write_one

# What is worth trying first: what takes no tool and covers the most ground, then what gives a number.
TRIED: Final = (
    "walk",
    "stand",
    "pickup",
    "dump truck",
    "straightedge",
    "shovel",
    "rod",
    "thumb",
    "cone",
    "pocket",
    "vane",
)
_WIDTHS: Final = (26, 14, 12, 12, 13, 14, 12, 13, 11)
_READINGS, _AREAS = 14, 5
_ASKED: Final = (
    "Walked all of it, softest place tested?  yes / no", "Ground today: dry / moist / wet / frozen",
    "Utilities located and marked?  Call 811 first", "New house?  yes / no   How deep is the fill?",
    "Water: highest in the year, in below the ground", "Old paving: age, even / settled / rutted, worst gap and where",
    "Test holes: where, base in, clean / dirty", "Photos: whole site / soft places / old paving / edges at the house",
)  # fmt: skip


def write_field_card(path: str | Path, units: str = "us") -> Path:
    """Write the field card and return where it is.

    Parameters
    ----------
    path
        Where it goes; it must end in .xlsx and must not be there yet.
    units
        ``us`` or ``metric``.

    Raises
    ------
    WorkbookError
        The file exists, has another ending, or cannot be written.
    """
    target, system = Path(path), choice("units", units, ("us", "metric"))
    if target.suffix.casefold() != ".xlsx":
        raise WorkbookError("the name of a field card must end in .xlsx", where=str(path))
    book = style.new_book()
    sheets = Sheets(book, system)
    page, put = sheets.sheet("Field card"), sheets.put
    page.sheet_view.showGridLines = False
    last = len(_WIDTHS)
    for column, width in enumerate(_WIDTHS, 1):
        page.column_dimensions[get_column_letter(column)].width = width
    put(page, 1, 1, "Field card", bold=True, size=16, color=BAND)
    put(page, 1, 4, "Test where it gives most: the weakest spot decides.", size=9)
    row = 3
    for place, (_, label, needed, *_) in enumerate(CARD):
        column = 1 + 3 * (place % 3)
        put(page, row + place // 3, column, f"{label}{' *' if needed else ''}", bold=needed, size=8)
        for at in (column + 1, column + 2):
            page.cell(row + place // 3, at).border = Border(bottom=Side("thin", color=LINE))
    row += 5
    put(page, row, 1, "Areas", bold=True, size=11, color=BAND)
    for column, one in enumerate(area_fields(system), 1):
        put(
            page,
            row + 1,
            column,
            one.heading(system),
            bold=True,
            back=PALE,
            box=True,
            size=8,
            wrap=True,
            across="center",
        )
    for line in range(_AREAS):
        for column in range(1, last + 1):
            put(page, row + 2 + line, column, None, box=True)
        page.row_dimensions[row + 2 + line].height = 17
    row += _AREAS + 3
    put(page, row, 1, "What to try, in this order", bold=True, size=11, color=BAND)
    for place, test in enumerate(TRIED):
        words = [word for word in test_words(test) if word not in test_help(test)]
        put(page, row + 1 + place, 1, f"{place + 1}  {test}", bold=True, size=8)
        put(page, row + 1 + place, 2, "; or ".join((test_help(test), *((", ".join(words),) if words else ()))), size=8)
    row += len(TRIED) + 2
    put(page, row, 1, "Readings: three spots or more, the softest one among them", bold=True, size=11, color=BAND)
    spans = ((1, 1), (2, 3), (4, 4), (5, 6), (7, 7), (8, 9))
    titles = [*(one.label for one in READING_FIELDS), "Note"]
    for line in range(_READINGS + 1):
        for (first, end), title in zip(spans, titles, strict=True):
            for column in range(first, end + 1):
                text = title if line == 0 and column == first else None
                put(page, row + 1 + line, column, text, bold=True, back=PALE if line == 0 else "", box=True, size=8)
            if end > first:
                page.merge_cells(start_row=row + 1 + line, end_row=row + 1 + line, start_column=first, end_column=end)
        page.row_dimensions[row + 1 + line].height = 16
    row += _READINGS + 3
    put(page, row, 1, "Ask and look", bold=True, size=11, color=BAND)
    for place, text in enumerate(_ASKED):
        put(page, row + 1 + place, 1, text, size=8)
        for column in range(5, last + 1):
            page.cell(row + 1 + place, column).border = Border(bottom=Side("thin", color=LINE))
        page.row_dimensions[row + 1 + place].height = 15
    row += len(_ASKED) + 2
    put(
        page,
        row,
        1,
        "Sketch with measures: sides, corners, house, street, falls, soft places, north",
        bold=True,
        size=11,
        color=BAND,
    )
    for column in range(1, last + 1):
        put(page, row + 1, column, None, box=True)
    page.merge_cells(start_row=row + 1, end_row=row + 1, start_column=1, end_column=last)
    page.row_dimensions[row + 1].height = 190
    style.fit_width(page, 1)
    page.print_area = f"A1:{get_column_letter(last)}{row + 1}"
    return write_one(target, workbook_file(book))
