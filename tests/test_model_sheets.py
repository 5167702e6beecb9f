"""The model written as a plain workbook and recalculated by another engine gives the library's own numbers.

What differs is named by quantity and cell: ``stone (base, compacted) in area!AR3: sheet 41.2, library 42.7``.
"""

from collections.abc import Mapping
from decimal import Decimal
from pathlib import Path
from random import Random
from typing import Any

import ironcalc
import openpyxl
import pytest
from openpyxl.utils import get_column_letter as letter
from openpyxl.utils.cell import coordinate_to_tuple
from test_random_jobs import job_data, price_book

from basecalc import BasecalcError, Estimate, parse_job, quote
from basecalc.core.expressions import KINDS, Quantity
from basecalc.takeoff.model import MODEL

TOP = 3  # labels, units, then the rows
ONE_ROW = ("company", "job", "price")


class Sheets:
    """A sheet for each table of the model: inputs as numbers, quantities as formulas, a row for each row of values."""

    def __init__(self, made: Estimate, system: str) -> None:
        self.values: Mapping[str, tuple[Mapping[str, Any], ...]] = {**made.takeoff.values, **made.values}
        self.system, self.book = system, openpyxl.Workbook()
        self.book.remove(self.book.active)
        self.at: dict[str, tuple[str, str]] = {}  # the table and the column of a name
        self.due: dict[tuple[str, str], tuple[str, Any]] = {}
        for table, declared in MODEL.tables.items():
            for place, entry in enumerate(declared.entries, 2):
                self.at[entry.key] = (table, letter(place))
            self.at |= {later: self.at[of] for later, of in declared.carried.items()}
        for table in MODEL.tables:
            self._write(table)
        self._tie()

    def _cell(self, table: str, row: int, name: str) -> str:
        """Return where a formula in a row finds a name: its own row, the row above, the one row, or a whole column."""
        of, column = self.at[name]
        if of != table:
            last = TOP if of in ONE_ROW else TOP + max(len(self.values[of]), 1) - 1
            return f"{of}!${column}${TOP}" if of in ONE_ROW else f"{of}!${column}${TOP}:${column}${last}"
        if name not in MODEL.tables[table].carried:
            return f"{column}{row}"
        return f"{column}{row - 1}" if row > TOP else "0"

    def _rows(self, name: str) -> str:
        of = self.at[name][0]
        return f"COUNTA({of}!$A${TOP}:$A${TOP + max(len(self.values[of]), 1) - 1})"

    def _write(self, table: str) -> None:
        sheet = self.book.create_sheet(table)
        for row, values in enumerate(self.values[table], TOP):
            sheet.cell(row, 1, f"{table} {row - TOP + 1}")
            for entry in MODEL.tables[table].entries:
                at, value = f"{self.at[entry.key][1]}{row}", self._in_unit(values.get(entry.key), entry.kind)
                sheet[at.rstrip("0123456789") + "1"] = entry.label
                if isinstance(entry, Quantity):

                    def cell(name: str, row: int = row) -> str:
                        return self._cell(table, row, name)

                    sheet[at] = MODEL.formula(entry.key, cell, self.system, self._rows)
                    self.due[table, at] = (f"{entry.key} ({entry.label})", value)
                else:
                    sheet[at] = value

    def _tie(self) -> None:
        """Write what is wrong in each row behind it, and tie the cost, and all above it, to nothing being wrong."""
        counts = []
        for table, declared in MODEL.tables.items():
            place = len(declared.entries) + 3
            for row in range(TOP, TOP + len(self.values[table])):

                def cell(name: str, row: int = row, table: str = table) -> str:
                    return self._cell(table, row, name)

                said = self.book[table].cell(row, place, MODEL.problem(table, cell, self.system))
                self.book[table].cell(row, place + 1, f"=LEN({said.coordinate})")
            column = letter(place + 1)
            counts += [f"SUM({table}!{column}{TOP}:{column}{TOP + len(self.values[table]) - 1})"] * bool(
                self.values[table]
            )
        cost = self.book["price"][f"{self.at['cost'][1]}{TOP}"]
        cost.value = f"=IF({'+'.join(counts)}=0,{str(cost.value)[1:]},NA())"

    def _in_unit(self, value: Any, kind: str) -> Any:
        if value is None or kind == "word":
            return value
        return float(f"{float(value) / float(KINDS[kind].si(self.system)):.15g}")

    def differences(self, path: Path) -> list[str]:
        """Return what an independent engine works out otherwise, by quantity and cell."""
        self.book.save(path)
        engine = ironcalc.load_from_xlsx(str(path))
        engine.evaluate()
        wrong = []
        for (table, at), (name, due) in self.due.items():
            got = engine.get_cell_value(self.book.sheetnames.index(table), *coordinate_to_tuple(at))
            if not isinstance(got, int | float) or abs(got - due) > 1e-9 * max(abs(due), 1e-3):
                wrong.append(f"{name} in {table}!{at}: sheet {got}, library {due}")
        return wrong


def made_of(number: int) -> list[Estimate]:
    """Return the options of a random job; none where it is refused."""
    try:
        made = quote(parse_job(job_data(Random(f"job {number}"), number)), price_book(number % 4)[1])
    except BasecalcError:
        return []
    return [option for option in (made.stone, made.geogrid, made.standard) if option is not None]


@pytest.mark.parametrize("number", range(5))
def test_a_sheet_of_the_model_gives_the_librarys_numbers_in_either_unit_system(number: int, tmp_path: Path) -> None:
    for place, option in enumerate(made_of(number)):
        for system in ("us", "metric"):
            sheets = Sheets(option, system)
            assert len(sheets.due) > 100
            assert sheets.differences(tmp_path / f"{place}-{system}.xlsx") == []


def test_a_wrong_formula_is_named_by_its_quantity_and_its_cell(tmp_path: Path) -> None:
    sheets = Sheets(made_of(1)[0], "us")
    column = sheets.at["stone"][1]
    cell = sheets.book["area"][f"{column}{TOP}"]
    cell.value = f"{cell.value}*1.01"
    wrong = sheets.differences(tmp_path / "wrong.xlsx")
    assert wrong[0].startswith(f"stone (base, compacted) in area!{column}{TOP}: sheet ")
    assert any(line.startswith("stone_bought (base stone) in job!") for line in wrong)


SPOILED = ("", "12 in", "=NA()", "1e12")


def test_a_spoiled_input_of_the_price_never_lowers_the_total(tmp_path: Path) -> None:
    """Every typed cell of lines, minimums and markups, one after the other: an error, or a total no lower."""
    sheets = Sheets(made_of(1)[0], "us")
    path = tmp_path / "spoiled.xlsx"
    sheets.book.save(path)
    engine = ironcalc.load_from_xlsx(str(path))
    engine.evaluate()
    total = (sheets.book.sheetnames.index("price"), *coordinate_to_tuple(f"{sheets.at['price_total'][1]}{TOP}"))
    right = engine.get_cell_value(*total)
    lower = []
    for table in ("line", "price"):
        place = sheets.book.sheetnames.index(table)
        for cells in sheets.book[table].iter_rows(min_row=TOP, min_col=2):
            for cell in cells:
                if not isinstance(cell.value, int | float | Decimal):
                    continue
                for spoil in SPOILED:
                    engine.set_user_input(place, cell.row, cell.column, spoil)
                    engine.evaluate()
                    got = engine.get_cell_value(*total)
                    if isinstance(got, int | float) and got < right - 0.005:
                        lower.append((table, cell.coordinate, spoil, got, right))
                engine.set_user_input(place, cell.row, cell.column, repr(cell.value))
    assert lower == []
