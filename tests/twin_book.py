"""An estimating workbook twice: open in LibreOffice, and its filled cells in a plain copy that the library reads.

Every edit goes into both. What the sheets show after it is held against what the library makes of the copy; the
formulas of the workbook take no part in that.
"""

from collections.abc import Iterable
from pathlib import Path
from typing import Any

import openpyxl
from libreoffice import ERRORS, Calc, Cell, Value
from openpyxl.utils import range_boundaries
from openpyxl.worksheet.worksheet import Worksheet

from basecalc.core.errors import BasecalcError
from basecalc.estimating.read_job import load_job
from basecalc.pricing.prices import load_prices
from basecalc.pricing.quote import quote
from basecalc.pricing.records import Quote

WORKED_OUT = ("Estimate", "Quote", "Sources", "Codes")
TOTALS = ("TotalStone", "TotalGeogrid", "TotalUsual", "Offered", "OfferedTotal", "QuotedTotal", "Banner")
Edit = tuple[str, str, Value]


class TwinBook:
    """A workbook in a running LibreOffice and its plain copy.

    Parameters
    ----------
    calc
        The running LibreOffice, with the add-in.
    path
        The workbook; it is only read.
    copy
        Where the copy goes.
    """

    def __init__(self, calc: Calc, path: Path, copy: Path) -> None:
        self.calc, self.copy = calc, copy
        self.plain = openpyxl.load_workbook(path)
        self.names = {name: str(made.attr_text) for name, made in self.plain.defined_names.items()}
        for sheet in WORKED_OUT:
            del self.plain[sheet]
        for name in list(self.plain.defined_names):
            del self.plain.defined_names[name]
        for sheet in self.plain:
            sheet.conditional_formatting = type(sheet.conditional_formatting)()
            sheet.data_validations.dataValidation = []
            for cell in sheet._cells.values():
                if getattr(cell, "comment", None):
                    cell.comment = None
                if cell.data_type == "f":
                    cell.value = None
        calc.open(path)

    def _table(self, name: str) -> tuple[Worksheet, int, int, int]:
        """Return the sheet of a table, its heading row, its first column and its last row."""
        for sheet in self.plain:
            if name in sheet.tables:
                left, top, _, bottom = range_boundaries(sheet.tables[name].ref)
                return sheet, int(top), int(left), int(bottom)
        raise AssertionError(f"no table {name}")

    def cell(self, table: str, row: int | str, column: str) -> Cell:
        """Return a cell of a table by the number of its row (from 1) or what stands first in it, and its heading."""
        sheet, top, left, bottom = self._table(table)
        headings = [str(cell.value).split(" [")[0] for cell in sheet[top][left - 1 :]]
        at = left + headings.index(column)
        if isinstance(row, str):
            firsts = [sheet.cell(line, left).value for line in range(top + 1, bottom + 1)]
            row = firsts.index(row) + 1
        return sheet.title, sheet.cell(top + row, at).coordinate

    def held(self, cell: Cell) -> Any:
        """Return what was typed into a cell."""
        return self.plain[cell[0]][cell[1]].value

    def edit(self, edits: Iterable[Edit]) -> None:
        """Type into both."""
        edits = list(edits)
        self.calc.write(edits)
        self.calc.ask("calculate")
        for sheet, at, value in edits:
            self.plain[sheet][at].value = value
            if isinstance(value, str) and not value.startswith("="):
                self.plain[sheet][at].data_type = "s"

    def shown(self) -> dict[str, Value]:
        """Return what the named totals of the workbook show."""
        return dict(zip(TOTALS, self.calc.read([("", name) for name in TOTALS]), strict=True))

    def answer(self) -> Quote | BasecalcError:
        """Return what the library makes of the copy: a quote, or its refusal."""
        self.plain.save(self.copy)
        try:
            return quote(load_job(self.copy), load_prices(self.copy))
        except BasecalcError as refusal:
            return refusal


def differences(shown: dict[str, Value], answer: Quote | BasecalcError) -> list[str]:
    """Return where the totals shown are not the library's own, to the cent; refused totals must be errors."""
    if isinstance(answer, BasecalcError):
        return [] if loud(shown) else [f"{shown['QuotedTotal']} is quoted, but the library: {answer}"]
    wanted: dict[str, Any] = {
        "TotalStone": answer.stone.total,
        "TotalGeogrid": answer.geogrid.total if answer.geogrid else None,
        "TotalUsual": answer.habit.total if answer.habit else None,
        "OfferedTotal": answer.offer.total,
        "QuotedTotal": answer.offer.total,
    }
    found = [
        f"{name} shows {shown[name]}, the library {value}"
        for name, value in wanted.items()
        if (isinstance(shown[name], float) if value is None else not same_cents(shown[name], value))
    ]
    if shown["Offered"] != answer.offered:
        found.append(f"{shown['Offered']} is offered, by the library {answer.offered}")
    return found


def same_cents(shown: Value, value: Any) -> bool:
    """Return whether a cell shows this amount of money."""
    return isinstance(shown, float) and abs(shown - float(value)) < 0.000_001


def loud(shown: dict[str, Value]) -> bool:
    """Return whether the quoted total is an error, not a number and not a text."""
    return shown["QuotedTotal"] in (*ERRORS.values(), "Err:504")
