"""Formulas as the edition for Calc is given them: our functions under the add-in's name, no false noughts."""

from pathlib import Path

import openpyxl
import pytest
from libreoffice import Calc
from openpyxl.workbook.defined_name import DefinedName

from basecalc.addin.spelling import calc_formula

SPELLED = [
    ("=BASE_DEPTH(B7)", "=BASECALC.BASE_DEPTH(B7:B7)"),
    ("=base_depth($B$7)", "=BASECALC.BASE_DEPTH($B$7:$B$7)"),
    ('=BASE_DEPTH("B7",,"none", C7 )', '=BASECALC.BASE_DEPTH("B7",,"none",C7:C7)'),
    ("=BASE_DEPTH()", "=BASECALC.BASE_DEPTH()"),
    ("=SITE_STRENGTH(A1:A9)", "=BASECALC.SITE_STRENGTH(A1:A9)"),
    ("=ROLLS('My (own) sheet'!B2,Width,3,B7*2)", "=BASECALC.ROLLS('My (own) sheet'!B2:B2,Width:Width,3,B7*2)"),
    ("=BASE_LIFTS(Dig,Lift)", "=BASECALC.BASE_LIFTS(Dig,Lift:Lift)"),  # Dig:Dig would be the column DIG
    ('=IF(B7=0,B7,TRUCKLOADS(IF(C7="",D7,E7),F7))', '=IF(B7=0,B7,BASECALC.TRUCKLOADS(IF(C7="",D7,E7),F7:F7))'),
    ("=BASE_LIFTS(BASE_DEPTH(A1),(B1))+1", "=BASECALC.BASE_LIFTS(BASECALC.BASE_DEPTH(A1:A1),(B1))+1"),
    ("=ROLLS(T[[#This Row],[a]],T[b],1,1)", "=BASECALC.ROLLS(T[[#This Row],[a]]:T[[#This Row],[a]],T[b]:T[b],1,1)"),
    ("=SUM(A1,B1)*MY_BASE_DEPTH(C1)", "=SUM(A1,B1)*MY_BASE_DEPTH(C1)"),
    ('="BASE_DEPTH(B7)"&B7', '="BASE_DEPTH(B7)"&B7'),
    ("plain text BASE_DEPTH(B7)", "plain text BASE_DEPTH(B7)"),
]  # fmt: skip


@pytest.mark.parametrize(("formula", "spelled"), SPELLED)
def test_spelled_for_calc(formula: str, spelled: str) -> None:
    assert calc_formula(formula).replace(" ", "") == spelled.replace(" ", "")
    assert calc_formula(calc_formula(formula)) == calc_formula(formula)


def test_the_name_of_a_range_is_left_as_it_is() -> None:
    assert calc_formula("=SITE_STRENGTH(Spots,Rule)", {"Spots"}) == "=BASECALC.SITE_STRENGTH(Spots,Rule:Rule)"


@pytest.mark.libreoffice
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
