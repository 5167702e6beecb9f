"""Where things stand on the sheet Estimate, and how money is rounded there."""

from collections.abc import Mapping
from typing import Final

from openpyxl.utils import column_index_from_string
from openpyxl.worksheet.worksheet import Worksheet

from basecalc.workbook import style

WIDTH: Final = 13
QUANTITY: Final[Mapping[str, str]] = {"stone": "E", "geogrid": "G", "habit": "I"}
AMOUNT: Final[Mapping[str, str]] = {"stone": "F", "geogrid": "H", "habit": "J"}
REASONS: Final = 5  # areas whose reasons are shown here; all of them stand on the sheet Areas
PICTURED: Final = REASONS
CHART_ROWS: Final = 10
COMPARED_ROW: Final = 5
REASONS_ROW: Final = COMPARED_ROW + 11
PICTURES_ROW: Final = REASONS_ROW + REASONS + 3


def place_of(letter: str) -> int:
    """Return the number of a column."""
    return int(column_index_from_string(letter))


def cents(amount: str) -> str:
    """Return the formula that rounds half up to two places, the noise of floats set aside first.

    Examples
    --------
    >>> cents("E7*C7")
    'ROUND(ROUND((E7*C7)*100,6),0)/100'
    """
    return f"ROUND(ROUND(({amount})*100,6),0)/100"


def heads(sheet: Worksheet, row: int, texts: Mapping[str, str], left: str = "AKM") -> None:
    """Write a row of headings across the sheet."""
    for at, letter in enumerate("ABCDEFGHIJKLM", 1):
        cell = style.put(sheet, row, at, texts.get(letter), "column", across="left" if letter in left else "right")
        style.align(cell, indent=int(letter in left and at > 1))
    sheet.row_dimensions[row].height = 30
