"""What a cell holds is read for what it is: nothing is taken for a number that is none."""

import datetime as dt
import math
from decimal import Decimal

import pytest

from basecalc.core.errors import BasecalcError, InputError, OutOfRangeError
from basecalc.formulas.cells import LEFT_OUT, content, is_blank, number, unit_word, word


@pytest.mark.parametrize("cell", [None, "", "  ", "\t", "\N{NO-BREAK SPACE}"])
def test_a_cell_that_looks_empty_is_blank(cell: object) -> None:
    assert is_blank(cell)
    assert content("depth", cell) is None


@pytest.mark.parametrize("cell", [0, 0.0, False, "0", LEFT_OUT])
def test_a_nought_is_not_blank(cell: object) -> None:
    assert not is_blank(cell)


@pytest.mark.parametrize(
    ("cell", "expected"), [(3, 3.0), (2.5, 2.5), (Decimal("2.50"), 2.5), ("350 mm", 350.0), (" 14 ", 14.0)]
)
def test_numbers_come_through_whatever_the_format_of_the_cell(cell: object, expected: float) -> None:
    assert number("depth", cell, "mm") == expected


@pytest.mark.parametrize("cell", [True, False])
def test_true_is_not_one(cell: bool) -> None:
    with pytest.raises(InputError, match=f"^depth is {str(cell).upper()}; it must be a number from 1 to 9 in$"):
        number("depth", cell, "in", 1, 9)


@pytest.mark.parametrize(
    "cell", [math.nan, math.inf, -math.inf, Decimal("NaN"), Decimal("sNaN"), 10**400, Decimal("1e999")]
)
def test_numbers_without_a_value_are_refused(cell: object) -> None:
    with pytest.raises(OutOfRangeError, match=r"^depth is not a finite number; it must be a number from 1 to 9 in$"):
        number("depth", cell, "in", 1, 9)


@pytest.mark.parametrize(
    ("cell", "shown"),
    [
        ("#DIV/0!", "#DIV/0!"),
        ("#N/A", "#N/A"),
        ("#NAME?", "#NAME?"),
        ("#REF!", "#REF!"),
        ("Err:502", "Err:502"),
        (-2146826281, "#DIV/0!"),
        (-2146826246, "#N/A"),
        (-2146826243, "#SPILL!"),
        (-2146826238, "#CALC!"),
        (-2146826245, "#GETTING_DATA"),
        (-2146826000, "#ERROR_2288"),
    ],
)
def test_an_error_cell_is_told_from_a_blank_and_from_a_number(cell: object, shown: str) -> None:
    with pytest.raises(InputError) as refusal:
        content("depth", cell)
    assert str(refusal.value).startswith(f"depth is the error {shown}; ")


def test_a_refusal_further_up_the_sheet_is_passed_on_with_its_way() -> None:
    with pytest.raises(InputError, match=r"^strength: reading is 400 mm/blow; it must be from 1 to 350 mm/blow$"):
        content("strength", "#reading is 400 mm/blow; it must be from 1 to 350 mm/blow")


def test_a_text_that_merely_begins_with_a_hash_is_text() -> None:
    assert content("soil", "#57 stone") == "#57 stone"


@pytest.mark.parametrize(
    ("cell", "shown"),
    [(dt.datetime(2024, 1, 2), "2024-01-02"), (dt.date(2024, 1, 2), "2024-01-02"), (dt.time(6, 30), "06:30")],
)
def test_a_date_is_named_as_one_because_a_spreadsheet_makes_dates_of_fractions(cell: object, shown: str) -> None:
    with pytest.raises(InputError, match=rf"^reading is the date or time {shown}; it must be a number or a word"):
        content("reading", cell)


@pytest.mark.parametrize("cell", [b"12", object(), 2j, [1.0], {"a": 1}, lambda: 1])
def test_what_no_cell_can_hold_is_refused(cell: object) -> None:
    with pytest.raises(InputError, match=r"^depth is (a range|no cell); it must be one cell with a number or a word$"):
        content("depth", cell)


def test_a_negative_whole_number_that_is_no_error_stays_a_number() -> None:
    assert content("corners", -4) == -4.0


def test_a_word_is_found_whatever_its_case_and_spacing() -> None:
    assert word("test", " Dump  Truck ", ["dump truck"]) == "dump truck"


@pytest.mark.parametrize("cell", [3.0, True, None, "#N/A", "trucks"])
def test_what_is_no_word_on_offer_is_refused(cell: object) -> None:
    with pytest.raises(BasecalcError, match=r"^test .*it must be"):
        word("test", cell, ["dump truck"])


@pytest.mark.parametrize("cell", ["m3", "M3", "m^3", "m³"])
def test_a_unit_may_be_written_as_people_write_it(cell: str) -> None:
    assert unit_word(cell, ["yd3", "m3"]) == "m3"


def test_a_unit_of_another_kind_is_refused_with_those_on_offer() -> None:
    with pytest.raises(InputError, match=r"^unit is 'kg'; it must be one of: yd3, m3$"):
        unit_word("kg", ["yd3", "m3"])
