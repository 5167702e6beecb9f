"""Ranges in, ranges of the same shape out; a bad row spoils itself and no other."""

import logging
import math
from typing import Any

import pytest

from basecalc.core.errors import InputError
from basecalc.formulas.ranges import MOST_CELLS, answer, grid


def plus(a: Any, b: Any) -> float:
    if a is None or b is None:
        raise InputError("a is missing; it must be a number")
    return float(a + b)


def add(a: object, b: object) -> Any:
    return answer(plus, ["a", "b"], [a, b])


@pytest.mark.parametrize(
    ("a", "b", "expected"),
    [
        (1.0, 2.0, 3.0),
        ([[1.0]], 2.0, 3.0),
        ([[1.0], [2.0]], 10.0, [[11.0], [12.0]]),
        (10.0, [[1.0], [2.0]], [[11.0], [12.0]]),
        ([[1.0], [2.0]], [[3.0], [4.0]], [[4.0], [6.0]]),
        ([[1.0, 2.0]], 10.0, [[11.0, 12.0]]),
        ([[1.0, 2.0], [3.0, 4.0]], [[10.0]], [[11.0, 12.0], [13.0, 14.0]]),
        (((1.0,), (2.0,)), 10.0, [[11.0], [12.0]]),
        ([1.0, 2.0], 10.0, [[11.0], [12.0]]),
    ],
)
def test_single_cells_go_with_every_row_and_the_shape_is_kept(a: object, b: object, expected: object) -> None:
    assert add(a, b) == expected


def test_a_bad_row_is_refused_in_its_own_row() -> None:
    assert add([[1.0], [None], [3.0]], 1.0) == [[2.0], ["#a is missing; it must be a number"], [4.0]]


@pytest.mark.parametrize(
    ("a", "b"),
    [([[1.0], [2.0]], [[1.0], [2.0], [3.0]]), ([[1.0], [2.0]], [[1.0, 2.0]]), ([[1.0], [2.0]], [[1.0, 2.0]] * 2)],
)
def test_ranges_of_different_size_are_refused_as_a_whole(a: object, b: object) -> None:
    shown = add(a, b)
    assert shown.startswith("#b is ")
    assert "it must be as large as a, 2 x 1 cells, or one cell" in shown


@pytest.mark.parametrize("bad", [[], [[]], ((),)])
def test_a_range_without_cells_is_refused(bad: object) -> None:
    assert add(bad, 1.0) == "#a is a range without cells; it must have at least 1"


@pytest.mark.parametrize("bad", [[[1.0], [2.0, 3.0]], [[1.0, 2.0], 3.0]])
def test_rows_of_different_length_are_refused(bad: object) -> None:
    assert add(bad, 1.0) == "#a has rows of different length; they must have the same number of cells"


def test_a_whole_column_given_by_mistake_is_refused_at_once() -> None:
    with pytest.raises(InputError, match=f"it must have at most {MOST_CELLS:,}"):
        grid("a", [[None]] * (MOST_CELLS + 1))


def test_an_argument_that_takes_the_whole_range_gets_every_cell_once_per_result() -> None:
    def count(cells: list[Any], rule: str) -> str:
        return f"{rule} {len(cells)}"

    assert answer(count, ["cells", "rule"], [[[1.0, 2.0], [3.0, None]], "n"], whole="cells") == "n 4"
    assert answer(count, ["cells", "rule"], [3.0, [["a"], ["b"]]], whole="cells") == [["a 1"], ["b 1"]]


@pytest.mark.parametrize("result", [None, math.nan, math.inf, "", True, [1.0]])
def test_a_result_that_a_sheet_would_show_as_blank_or_nought_is_a_fault(result: object) -> None:
    shown = answer(lambda _: result, ["a"], [1.0])  # type: ignore[arg-type,return-value]
    assert isinstance(shown, str)
    assert shown.startswith("#basecalc itself failed here (")


def test_an_unforeseen_exception_shows_no_traceback_and_is_logged_in_full(caplog: pytest.LogCaptureFixture) -> None:
    def broken(_: object) -> float:
        return 1 / 0

    with caplog.at_level(logging.ERROR, "basecalc.worksheet"):
        shown = answer(broken, ["a"], [1.0])
    assert shown == (
        "#basecalc itself failed here (ZeroDivisionError: division by zero); do not use this row, and report it"
    )
    assert "Traceback" in caplog.text
    assert "broken" in caplog.text


@pytest.mark.parametrize("stop", [KeyboardInterrupt, SystemExit])
def test_a_stop_from_outside_is_not_swallowed(stop: type[BaseException]) -> None:
    def stopped(_: object) -> float:
        raise stop

    with pytest.raises(stop):
        answer(stopped, ["a"], [1.0])
