"""What is remembered of the worksheet functions is what would be worked out, and memory is bounded."""

import math
from decimal import Decimal
from typing import Any

import pytest

from basecalc.addin import calc
from basecalc.formulas import memory
from basecalc.formulas.functions import FUNCTIONS
from basecalc.formulas.memory import ANSWERS, MOST_CELLS_REMEMBERED, Memory, question
from basecalc.formulas.ranges import answer, one_answer

CALLABLE = {function.name: function for function in FUNCTIONS}


@pytest.fixture(autouse=True)
def nothing_remembered() -> None:
    ANSWERS.forget()


class Counted:
    """A function of one row that counts how often it is asked."""

    def __init__(self) -> None:
        self.asked = 0

    def __call__(self, *row: Any) -> str:
        self.asked += 1
        return f"{row}"


def test_the_same_cells_are_worked_out_once() -> None:
    counted = Counted()
    asked = [1.5, "soft", None, [[1.0, 2.0]]]
    shown = [answer(counted, ["a", "b", "c", "d"], asked, whole=["d"]) for _ in range(3)]
    assert shown == ["(1.5, 'soft', None, [1.0, 2.0])"] * 3
    assert counted.asked == 1


@pytest.mark.parametrize(
    "alike", [(1, 1.0, True), (0.0, -0.0, 0, False), ([1.0], [True], 1.0), ([0.0], [-0.0]), ("1", 1.0)]
)
def test_cells_that_are_only_equal_do_not_share_an_answer(alike: tuple[Any, ...]) -> None:
    counted = Counted()
    for _ in range(2):
        assert [one_answer(counted, (cell,)) for cell in alike] == [f"({cell!r},)" for cell in alike]
    assert counted.asked == len(alike)


def test_a_refusal_is_remembered_word_for_word_and_a_fault_is_not() -> None:
    first = CALLABLE["LOOSE_VOLUME"](True, "clay")
    assert first == CALLABLE["LOOSE_VOLUME"](True, "clay") != CALLABLE["LOOSE_VOLUME"](1.0, "clay")
    asked = []

    def fails_once(depth: float) -> float:
        asked.append(depth)
        if len(asked) == 1:
            raise MemoryError
        return depth

    assert str(one_answer(fails_once, (2.0,))).startswith("#basecalc itself failed here (MemoryError")
    assert one_answer(fails_once, (2.0,)) == 2.0


def test_an_answer_that_was_handed_out_and_changed_changes_no_later_one() -> None:
    shown = CALLABLE["LOOSE_VOLUME"]([[100.0], [200.0]], "clay")
    assert isinstance(shown, list)
    shown[0][0] = 7.0
    assert CALLABLE["LOOSE_VOLUME"]([[100.0], [200.0]], "clay") == [[143.0], [286.0]]


@pytest.mark.parametrize(
    "row", [(Decimal("1.50"),), ([1.0] * (MOST_CELLS_REMEMBERED + 1),), ([[1.0, Decimal(2)]],), ([[[1.0]]],)]
)
def test_rare_kinds_and_whole_tables_are_not_remembered(row: tuple[Any, ...]) -> None:
    assert question(len, row) is None
    assert one_answer(Counted(), row) == f"{row}"
    assert not len(ANSWERS)


def test_no_number_and_no_text_fills_the_memory() -> None:
    small = Memory(answers=10, characters=1000)
    for place in range(1000):
        small.keep((len, float(place), math.nan), 2.0)
        assert len(small) <= 10
    assert small.recall((len, 999.0, math.nan)) == 2.0
    for place in range(100):
        small.keep((len, str(place) * 100), "x")
        held = [*small._new.items(), *small._old.items()]
        assert sum(memory._length((*key, shown)) for key, shown in held) <= 1000
    small.keep((len, "x" * 2000), "too long")
    assert small.recall((len, "x" * 2000)) is None


def test_what_is_asked_again_and_again_stays() -> None:
    small = Memory(answers=10)
    small.keep((len, 1.0), 5.0)
    for place in range(100):
        small.keep((len, "other", place), 1.0)
        assert small.recall((len, 1.0)) == 5.0


def test_libreoffice_and_excel_share_one_memory() -> None:
    assert calc.answer("BASE_LIFTS", (14.25, None)) == 4.0
    held = len(ANSWERS)
    assert CALLABLE["BASE_LIFTS"](14.25) == calc.answer("BASE_LIFTS", (14.25, None)) == 4.0
    assert len(ANSWERS) == held == 1


def test_a_short_cut_for_one_row_refuses_as_the_long_way_does() -> None:
    for given in ([], [[]], [[1.0], [2.0, 3.0]], (), [[None]], [1.0, "soft"], ((1.0,), ("soft",)), [[[1.0]]]):
        names, defaults = ["classes", "rule"], ["auto"]
        function = CALLABLE["SITE_STRENGTH"]
        assert function(given) == answer(function.calculate, names, [given, *defaults], whole="classes"), given
