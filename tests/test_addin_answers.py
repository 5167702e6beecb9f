"""What Calc hands over for a call, and what it gets back, at the entrance that its component uses."""

import logging
import math
from typing import Any

import pytest
from addin_examples import CALLABLE, EXAMPLES, directly
from hypothesis import given, settings
from hypothesis import strategies as st

from basecalc.addin import calc
from basecalc.addin.calc import answer

APART = "which LibreOffice does not tell apart"
NOUGHTS = [
    (name, place) for name, cells in EXAMPLES.items() for place, cell in enumerate(cells) if isinstance(cell, float)
]


def filled(name: str, cells: tuple[Any, ...]) -> tuple[Any, ...]:
    """Return the arguments as Calc sends them: as many as the function has, None where nothing was given."""
    return (*cells, *[None] * (len(CALLABLE[name].arguments) - len(cells)))


@pytest.mark.parametrize("name", EXAMPLES)
def test_an_example_gives_the_librarys_answer(name: str) -> None:
    cells = tuple(((0.0,),) if cell == 0 else cell for cell in EXAMPLES[name])
    assert answer(name, filled(name, cells)) == directly(name, EXAMPLES[name])


@pytest.mark.parametrize(("name", "place"), NOUGHTS)
def test_a_nought_is_taken_from_a_text_or_a_range_and_never_from_what_may_be_empty(name: str, place: int) -> None:
    cells = [((0.0,),) if cell == 0 else cell for cell in EXAMPLES[name]]

    def with_nought(cell: Any) -> Any:
        return answer(name, filled(name, (*cells[:place], cell, *cells[place + 1 :])))

    truly, empty, plain = with_nought(((0.0,),)), with_nought((("",),)), with_nought(0.0)
    if str(truly).startswith("#") or truly == empty:
        assert plain == truly
    else:
        assert str(plain).startswith(
            f"#{CALLABLE[name].arguments[place].name} is 0 or an empty cell, {APART}; it must be"
        )
        assert with_nought("0") == truly
    assert with_nought(-0.0) == plain or str(with_nought(-0.0)).startswith("#")


def test_some_argument_takes_a_nought_and_some_an_empty_cell() -> None:
    """Otherwise the test above holds of nothing."""
    reading = answer("STRENGTH_CLASS", ("walk", 0.0, None))
    assert str(reading).startswith(f"#reading is 0 or an empty cell, {APART}")
    assert answer("STRENGTH_CLASS", ("walk", ((0.0,),), None)) == answer("STRENGTH_CLASS", ("walk", "0 in", None))
    assert answer("BASE_DEPTH", ("hard", None, "none", 0.0, None)) == 6.0  # no grid: an empty modulus is as good


def test_a_nought_beside_a_range_is_refused_once_for_the_range() -> None:
    shown = answer("AGGREGATE_TONS", (((10.0,), (20.0,)), 1.48, 1.254, 0.0, None))
    assert str(shown).startswith(f"#waste is 0 or an empty cell, {APART}")


def test_rows_come_back_as_tuples_that_the_bridge_can_carry() -> None:
    column = answer("LOOSE_VOLUME", (((100.0,), ("",)), "clay", None))
    assert isinstance(column, tuple)
    assert column[0] == (143.0,)
    assert str(column[1][0]).startswith("#bank_volume is missing")
    assert answer("LOOSE_VOLUME", (((100.0, 200.0),), "clay", None)) == ((143.0, 286.0),)
    assert answer("LOOSE_VOLUME", (((100.0,),), "clay", None)) == 143.0


def test_a_fault_of_our_own_is_a_sentence_and_goes_to_the_log(
    monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    def broken(*_: Any) -> Any:
        raise RuntimeError("inside")

    monkeypatch.setitem(calc._CALLABLE, "ROLLS", broken)
    with caplog.at_level(logging.ERROR, "basecalc.addin"):
        shown = answer("ROLLS", (1.0, 2.0))
    assert shown == "#basecalc itself failed here (RuntimeError); do not use this row, and report it"
    assert "RuntimeError: inside" in caplog.text
    assert str(answer("NO_SUCH_FUNCTION", ())).startswith("#basecalc itself failed here (KeyError)")


CELLS = st.one_of(
    st.none(),
    st.floats(allow_nan=True, allow_infinity=True),
    st.sampled_from(["", " ", "soft", "walk", "geogrid", "clay", "in", "350 mm", "1 ton", "#N/A", "#a; b", "0"]),
    st.text(max_size=8),
)
IN_RANGES = CELLS.map(lambda cell: "" if cell is None else cell)


def rows_of(width: int) -> st.SearchStrategy[Any]:
    row = st.lists(IN_RANGES, min_size=width, max_size=width).map(tuple)
    return st.lists(row, min_size=1, max_size=3).map(tuple)


RANGES = st.integers(1, 30).flatmap(rows_of)


@settings(max_examples=400, deadline=None)
@given(data=st.data(), name=st.sampled_from(sorted(EXAMPLES)))
def test_nothing_that_calc_can_send_raises_or_gives_anything_but_numbers_and_text(data: Any, name: str) -> None:
    cells = [data.draw(st.one_of(CELLS, RANGES)) for _ in CALLABLE[name].arguments]
    shown = answer(name, cells)
    for cell in [cell for row in shown for cell in row] if isinstance(shown, tuple) else [shown]:
        assert (isinstance(cell, float) and math.isfinite(cell)) or (isinstance(cell, str) and cell)
        assert "failed here" not in str(cell), shown
