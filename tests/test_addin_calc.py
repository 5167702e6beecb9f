"""The worksheet functions inside LibreOffice: every one, called in every way, with the library's own answers."""

from itertools import product
from math import ceil
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from addin_examples import CALLABLE, EXAMPLES, directly
from estimating_kit import demo_prices
from libreoffice import Calc, Value
from openpyxl.utils import get_column_letter
from openpyxl.workbook.defined_name import DefinedName
from openpyxl.worksheet.formula import ArrayFormula
from test_worksheet_excel import CASES

from basecalc import write_template
from basecalc.addin.spelling import calc_formula
from basecalc.formulas.functions import FUNCTIONS

pytestmark = pytest.mark.libreoffice

NAMES = list(EXAMPLES)
# Every place of an example where there is one cell, not a range.
SINGLE = [(name, place) for name in NAMES for place, cell in enumerate(EXAMPLES[name]) if not isinstance(cell, tuple)]
ODD = "no such thing"


class Sheet:
    """A sheet that is filled first and calculated once: inputs to the right of each formula's row."""

    def __init__(self, calc: Calc) -> None:
        self.calc = calc
        self.cells: list[tuple[str, str, Value]] = []
        self.arrays: list[tuple[str, str]] = []
        self.row = 1
        self.known: dict[Any, str] = {}

    def put(self, rows: Any) -> str:
        """Write an input below the others, a single value or rows of them, and return its address as a range."""
        if rows in self.known:
            return self.known[rows]
        block = rows if isinstance(rows, tuple) else ((rows,),)
        for y, row in enumerate(block):
            self.cells += [
                ("Sheet1", f"{get_column_letter(4 + x)}{self.row + y}", None if cell == "" else cell)
                for x, cell in enumerate(row)
            ]
        address = f"D{self.row}:{get_column_letter(3 + len(block[0]))}{self.row + len(block) - 1}"
        self.row += len(block)
        self.known[rows] = address
        return address

    def formula(self, name: str, arguments: list[str]) -> str:
        """Write a call and return the address of its cell."""
        while arguments and not arguments[-1]:
            arguments = arguments[:-1]
        at = f"A{self.row}"
        self.cells.append(("Sheet1", at, f"=BASECALC.{name}({';'.join(arguments)})"))
        self.row += 1
        return at

    def answers(self) -> dict[str, Value]:
        """Fill a new sheet, calculate it, and return what each formula shows by its address."""
        self.calc.open()
        self.calc.write(self.cells)
        for at, formula in self.arrays:
            self.calc.ask("array", "Sheet1", at, formula)
        self.calc.ask("calculate")
        column = self.calc.block("Sheet1", f"A1:A{self.row}")
        return {f"A{place}": row[0] for place, row in enumerate(column, 1)}


def as_cells(sheet: Sheet, given: tuple[Any, ...]) -> list[str]:
    """Return arguments as references: ranges as such, single cells plainly; a 0 as a range of one cell."""
    found = []
    for cell in given:
        address = "" if cell is None else sheet.put(cell)
        found.append(address if isinstance(cell, tuple) or cell == 0 else address.split(":")[0])
    return found


def written(cell: Any) -> str:
    """Return a single value as a formula spells it."""
    if isinstance(cell, str):
        return '"' + cell.replace('"', '""') + '"'
    return "" if cell is None else repr(cell)


def differing(sheet: Sheet, expected: dict[str, tuple[Any, Any]]) -> list[Any]:
    """Return what the sheet shows otherwise than expected, by address: what was called, and the answer."""
    shown = sheet.answers()
    assert expected
    return [(called, shown[at], wanted) for at, (called, wanted) in expected.items() if shown[at] != wanted]


def test_installed_in_a_fresh_profile_under_its_name_and_version(calc: Calc) -> None:
    ((identifier, version, name, about),) = calc.ask("installed")
    assert (identifier, version) == ("basecalc.worksheetfunctions", "0.1.0")
    assert "basecalc" in name
    assert f"{len(FUNCTIONS)} worksheet functions" in about


def test_the_function_wizard_knows_each_function_once_with_its_arguments(calc: Calc) -> None:
    listed = [known for known in calc.ask("wizard", "") if known[0] in CALLABLE]
    assert sorted(known[0] for known in listed) == sorted(CALLABLE)
    for name, about, arguments in listed:
        function = CALLABLE[name]
        assert about == function.help
        assert [each[0] for each in arguments] == [argument.name for argument in function.arguments]
        for argument, (_, text, _) in zip(function.arguments, arguments, strict=True):
            assert text.removeprefix("Needed. ") == argument.help


def test_every_function_has_an_example() -> None:
    assert EXAMPLES.keys() == CALLABLE.keys()
    refused = [name for name in NAMES if str(directly(name, EXAMPLES[name])).startswith("#")]
    assert not refused


Call = tuple[str, tuple[Any, ...]]


def with_cell(name: str, place: int, cell: Any) -> Call:
    """Return an example with another cell at a place."""
    given = EXAMPLES[name]
    return name, (*given[:place], cell, *given[place + 1 :])


OPTIONAL = [(name, place) for name, place in SINGLE if CALLABLE[name].arguments[place].optional]
CALLS: dict[str, list[Call]] = {
    "values in cells": [*EXAMPLES.items()],
    "nothing given": [(name, ()) for name in NAMES],
    "left out in between": [with_cell(name, place, None) for name, place in OPTIONAL],
    "left out at the end": [(name, EXAMPLES[name][:place]) for name, place in OPTIONAL],
    "an empty cell as a range of one": [with_cell(name, place, (("",),)) for name, place in SINGLE],
    "wrong text": [with_cell(name, place, ODD) for name, place in SINGLE],
    **{
        f"the number {number}": [with_cell(name, place, number) for name, place in SINGLE]
        for number in (-1.0, 1e300, -1e-300)
    },
    "text with a unit": [
        ("EXCAVATION_VOLUME", ("74.32 m^2", "203.2 mm", "0 m", None, None, "m3")),
        ("STRENGTH_CLASS", ("walk", "0 in")),
        ("STRENGTH_CLASS", ("pocket", "28.7 kPa")),
        ("TRUCKLOADS", ("30 tonne", "10000 kg")),
        ("BASE_LIFTS", ("350 mm", "4 in")),
        ("ROLLS", ("12' 6\"", "20 ft", "50 m", "4 m")),
        ("EXCAVATION_VOLUME", ("800 ft", 8.0)),
        ("TRUCKLOADS", ("36.5 tons", 14.0)),
    ],
}


@pytest.mark.parametrize("kind", CALLS)
def test_calc_shows_what_the_library_answers(calc: Calc, kind: str) -> None:
    sheet = Sheet(calc)
    expected = {
        sheet.formula(name, as_cells(sheet, given)): ((name, given), directly(name, given))
        for name, given in CALLS[kind]
    }
    assert not differing(sheet, expected)
    refused = sum(str(wanted).startswith("#") for _, wanted in expected.values())
    least, most = {"values in cells": (0, 0), "nothing given": (1, 1), "wrong text": (0.8, 1)}.get(kind, (0, 1))
    assert least * len(expected) <= refused <= most * len(expected)


def test_values_written_in_the_formula(calc: Calc) -> None:
    sheet, expected = Sheet(calc), {}
    for name, given in EXAMPLES.items():
        arguments = [sheet.put(cell) if isinstance(cell, tuple) or cell == 0 else written(cell) for cell in given]
        expected[sheet.formula(name, arguments)] = (name, directly(name, given))
    assert not differing(sheet, expected)


def test_an_empty_cell_given_plainly_never_passes_for_nought(calc: Calc) -> None:
    """Calc hands it over as 0: it shows what an empty cell shows in Excel, or a refusal."""
    sheet, called = Sheet(calc), {}
    for name, place in SINGLE:
        given = EXAMPLES[name]
        arguments = as_cells(sheet, given)
        arguments[place] = sheet.put("").split(":")[0]
        called[sheet.formula(name, arguments)] = (
            name,
            place,
            directly(name, (*given[:place], "", *given[place + 1 :])),
        )
    shown = sheet.answers()
    for at, (name, place, blank) in called.items():
        assert str(shown[at]).startswith("#") or shown[at] == blank, (name, place, shown[at])
    sentences = [str(shown[at]) for at in called if "which LibreOffice does not tell apart" in str(shown[at])]
    assert any(sentence.startswith("#open_edge is 0 or an empty cell") for sentence in sentences)


def test_an_error_in_a_cell_stays_that_error(calc: Calc) -> None:
    sheet, called = Sheet(calc), {}
    for name, place in SINGLE:
        for formula, error in (("=1/0", "#DIV/0!"), ("=NA()", "#N/A"), ("=nonsense", "#NAME?")):
            arguments = as_cells(sheet, EXAMPLES[name])
            arguments[place] = sheet.put(formula).split(":")[0]
            called[sheet.formula(name, arguments)] = (name, place, error)
    shown = sheet.answers()
    assert not [(what, shown[at]) for at, what in called.items() if shown[at] != what[2]]


def test_an_error_within_a_range_is_an_error(calc: Calc) -> None:
    """In every row of every argument that takes a whole range for one result."""
    sheet, called = Sheet(calc), {}
    for name, given in EXAMPLES.items():
        for place, cells in enumerate(given):
            for row, error in product(range(len(cells) if isinstance(cells, tuple) else 0), ("=1/0", "=NA()")):
                arguments = as_cells(sheet, given)
                arguments[place] = sheet.put((*cells[:row], (*cells[row][:-1], error), *cells[row + 1 :]))
                called[sheet.formula(name, arguments)] = (name, place)
    shown = sheet.answers()
    ranges = {(one.name, at) for one in FUNCTIONS for at, argument in enumerate(one.arguments) if argument.whole}
    assert ranges
    assert set(called.values()) == ranges
    assert len(called) > 5
    assert {shown[at] for at in called} == {"Err:504"}


@pytest.mark.parametrize("name", [name for name in CASES if name != "SITE_STRENGTH"])
def test_a_column_gives_a_column_in_an_array_formula(calc: Calc, name: str) -> None:
    given = EXAMPLES[name]
    column = ((given[0],), ("",), (ODD,), (given[0],))
    sheet = Sheet(calc)
    arguments = as_cells(sheet, (column, *given[1:]))
    row = sheet.row
    sheet.row += len(column)
    sheet.arrays.append((f"A{row}:A{row + 3}", f"=BASECALC.{name}({';'.join(arguments)})"))
    shown = sheet.answers()
    wanted = [cell for (cell,) in directly(name, (column, *given[1:]))]
    assert [shown[f"A{row + step}"] for step in range(4)] == wanted
    assert wanted[0] == directly(name, given)
    assert str(wanted[1]).startswith("#")
    assert str(wanted[2]).startswith("#")


def test_columns_of_different_size_are_refused(calc: Calc) -> None:
    sheet = Sheet(calc)
    two, three = sheet.put(((1.0,), (2.0,))), sheet.put(((1.0,), (2.0,), (3.0,)))
    at = sheet.formula("EXCAVATION_VOLUME", [two, three])
    assert str(sheet.answers()[at]).startswith("#depth is 3 x 1 cells (rows x columns); it must be as large as area")


def test_too_many_arguments_are_an_error_of_the_formula(calc: Calc) -> None:
    sheet = Sheet(calc)
    at = sheet.formula("BASE_LIFTS", ["14", "4", "1"])
    assert sheet.answers()[at] == "Err:504"


def test_a_whole_column_is_refused_not_worked_through(calc: Calc) -> None:
    sheet = Sheet(calc)
    at = sheet.formula("LOOSE_VOLUME", ["Z1:Z1048576", '"clay"'])
    assert str(sheet.answers()[at]).startswith("#bank_volume has 1,048,576 cells; it must have at most 100,000")


def guarded_book(path: Path) -> Path:
    """Write, with openpyxl, a small sheet as an estimator keeps one: a call in each cell, totals through guards."""
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = "Drive"
    for at, value in {
        "A1": "soft", "A2": 1344.0, "A3": 24.8,
        "B1": "=BASECALC.BASE_DEPTH(A1)",
        "B2": "=BASECALC.EXCAVATION_VOLUME(A2:A2,B1:B1)",
        "B3": "=BASECALC.AGGREGATE_TONS(B2)",
        "B4": "=BASECALC.TRUCKLOADS(B3,14)",
        "B5": '=BASECALC.BASE_DEPTH_REASON(A1,"light")',
        "B6": '=IF(ISNUMBER(B4),"numbers","refused")',
        "C3": "=IF(ISNUMBER(B3),B3*A3,NA())",
        "C4": "=IF(ISNUMBER(B4),B4*150,NA())",
        "C5": "=SUM(C3:C4)",
        "C6": '=COUNTIF(B1:B5,"#*")',
        "C7": '=IF(C6>0,"a cell was refused","")',
        "E1": 10.0, "E2": 20.0,
    }.items():  # fmt: skip
        sheet[at] = value
    sheet["F1"] = ArrayFormula("F1:F2", '=BASECALC.LOOSE_VOLUME(E1:E2,"clay")')
    book.save(path)
    return path


def same(shown: list[Value], wanted: list[Value]) -> bool:
    """Return whether cells hold the same: texts to the letter, numbers to the last digits that a sum may differ in."""
    return len(shown) == len(wanted) and all(
        cell == pytest.approx(value, rel=1e-12) if isinstance(value, float) else cell == value
        for cell, value in zip(shown, wanted, strict=True)
    )


WATCHED = [("Drive", at) for at in ("B1", "B2", "B3", "B4", "B5", "B6", "C5", "C6", "C7", "F1", "F2")]


def by_hand(strength: str) -> list[Value]:
    depth = directly("BASE_DEPTH", (strength,))
    dug = directly("EXCAVATION_VOLUME", (1344.0, depth))
    tons = directly("AGGREGATE_TONS", (dug,))
    loads = directly("TRUCKLOADS", (tons, 14.0))
    reason = directly("BASE_DEPTH_REASON", (strength, "light"))
    return [depth, dug, tons, loads, reason, "numbers", tons * 24.8 + loads * 150, 0.0, "", 14.3, 28.6]


def test_a_workbook_of_openpyxl_calculates_is_edited_and_refuses_loudly(calc: Calc, tmp_path: Path) -> None:
    path = guarded_book(tmp_path / "drive.xlsx")
    before = path.read_bytes()
    assert calc.open(path) == ["Drive"]
    assert same(calc.read(WATCHED), by_hand("soft"))
    for strength in ("hard", "medium", "very stiff", "stiff", "soft"):
        assert same(calc.edited([("Drive", "A1", strength)], WATCHED), by_hand(strength))
    for wrong in ("very soft", ODD, -3.0, None, 0.0, 1e9):
        depth, dug, tons, loads, reason, verdict, total, refused, banner, *_ = calc.edited(
            [("Drive", "A1", wrong)], WATCHED
        )
        assert all(
            str(shown).startswith("#strength") or "strength" in str(shown) for shown in (depth, dug, tons, loads)
        )
        assert str(reason).startswith("#strength")
        assert (verdict, total, refused, banner) == ("refused", "#N/A", 5.0, "a cell was refused")
    assert path.read_bytes() == before


def test_what_libreoffice_saves_as_xlsx_opens_and_calculates_again(calc: Calc, tmp_path: Path) -> None:
    calc.open(guarded_book(tmp_path / "drive.xlsx"))
    calc.edited([("Drive", "A1", "medium")], [])
    again = calc.save(tmp_path / "again.xlsx")
    formulas = {cell.coordinate: cell.value for row in openpyxl.load_workbook(again)["Drive"] for cell in row}
    assert formulas["B1"] == "=BASECALC.BASE_DEPTH(A1)"
    assert formulas["B2"] == "=BASECALC.EXCAVATION_VOLUME(A2:A2,B1:B1)"
    stored = openpyxl.load_workbook(again, data_only=True)["Drive"]
    assert [stored[at].value for _, at in WATCHED[:4]] == by_hand("medium")[:4]
    calc.open(again)
    assert same(calc.read(WATCHED), by_hand("medium"))


def test_calc_tells_empty_cells_from_noughts_in_formulas_so_spelled(calc: Calc, tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = "My (own) sheet"
    other = book.create_sheet("Calls")
    sheet["A1"], sheet["A2"] = "walk", 0
    book.defined_names["Sink"] = DefinedName("Sink", attr_text="'My (own) sheet'!$A$2")
    book.defined_names["Empty"] = DefinedName("Empty", attr_text="'My (own) sheet'!$A$3")
    for at, formula in {
        "A1": "=STRENGTH_CLASS('My (own) sheet'!A1,'My (own) sheet'!A2)",
        "A2": "=STRENGTH_CLASS('My (own) sheet'!A1,'My (own) sheet'!A3)",
        "A3": "=STRENGTH_CLASS('My (own) sheet'!A1,Sink)",
        "A4": "=STRENGTH_CLASS('My (own) sheet'!A1,Empty)",
    }.items():
        other[at] = calc_formula(formula)
    book.save(tmp_path / "book.xlsx")
    calc.open(tmp_path / "book.xlsx")
    ((nought,), (gap,), (nought_by_name,), (gap_by_name,)) = calc.block("Calls", "A1:A4")
    assert nought == nought_by_name == "medium"
    assert gap == gap_by_name
    assert str(gap).startswith("#reading (walk) is missing; it must be: sink of a person walking")


def test_the_sheet_quick_gives_the_functions_answers_and_the_owners_price(calc: Calc, tmp_path: Path) -> None:
    calc.open(write_template(tmp_path / "quick.xlsx", demo_prices(), host="calc"))
    typed = ("Mill Lane", "walk", 2.5, "wet", "clay", 96.0, 14.0)
    shown = calc.edited(
        [("Quick", f"{column}6", cell) for column, cell in zip("ABCDEFG", typed, strict=True)],
        [("Quick", f"{column}6") for column in "HIJKLMNOPQRST"],
    )
    said = dict(zip("HIJKLMNOPQRST", shown, strict=True))
    area, edge, above = 96.0 * 14, 2 * (96.0 + 14), 2.375 + 1
    deep = directly("BASE_DEPTH", (said["J"],))
    stone = directly("EXCAVATION_VOLUME", (area, deep, edge))
    dug = directly("EXCAVATION_VOLUME", (area, deep + above, edge))
    tons = directly("AGGREGATE_TONS", (stone, None, None, 0.05))
    assert said == {
        "H": directly("STRENGTH_CLASS", ("walk", 2.5, "wet")), "I": directly("BEARING_RATIO", ("walk", 2.5, "clay")),
        "J": directly("SITE_STRENGTH", (((said["H"],),),)), "K": deep,
        "L": directly("BASE_DEPTH_REASON", (said["J"],)),
        "M": directly("BASE_DEPTH", (said["J"], "light", "geogrid", 0.3)), "N": pytest.approx(dug),
        "O": pytest.approx(directly("LOOSE_VOLUME", (dug, "clay"))), "P": pytest.approx(tons),
        "Q": directly("TRUCKLOADS", (tons, 14)), "R": directly("BASE_LIFTS", (deep, 4)),
        "S": directly("ROLLS", (96.0, 14.0, 150.0, 12.0)), "T": said["T"],
    }  # fmt: skip
    # The prices of the invented owner: stone, its hauling, digging, soil hauled and tipped, placing, pavers and laying.
    soil = ceil(max(said["O"] / 12, said["O"] * 1.28 / 14))
    cost = tons * 24.80 + said["Q"] * 118 + dug * 13.50 + soil * (165 + 58) + stone * (186 + 92) / 10
    cost += area * (4.65 * 1.07 + 186 / 75)
    assert said["T"] == pytest.approx(cost * 1.03 * 1.12 / 0.86 / area)
