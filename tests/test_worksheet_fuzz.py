"""Whatever stands in the cells, a function answers with a number, a word or one sentence: never with an exception,
a blank, a nought or a value that no sheet can hold."""  # fmt: skip

import datetime as dt
import math
import re
from collections.abc import Iterator
from decimal import Decimal
from typing import Any

import pytest
from com_host import ExcelHost
from com_stubs import MISSING, ComRange, error
from hypothesis import given, settings
from hypothesis import strategies as st

from basecalc.formulas.cells import LEFT_OUT
from basecalc.formulas.functions import FUNCTIONS
from basecalc.formulas.spec import Function
from basecalc.ground.classes import CLASSES
from basecalc.ground.readings import MOISTURES, SOILS, TESTS

WORDS = (*TESTS, *CLASSES, *MOISTURES, *SOILS, "light", "heavy", "geogrid", "none", "auto", "in", "mm", "m3", "ton")
UNITS = ("in", "ft", "mm", "m^2", "ft2", "yd3", "kPa", "tsf", "%", "tonne", "lb/yd3", "mm/blow", "s", "ton", "degC", "")

numbers = st.one_of(
    st.floats(),
    st.floats(0.01, 500),
    st.integers(-10, 10**6),
    st.decimals(),
    st.sampled_from([0.0, -0.0, 5e-324, 1e308]),
)
written = st.builds("{:g} {}".format, st.floats(-10, 1e4), st.sampled_from(UNITS))
texts = st.one_of(
    st.sampled_from(WORDS), written, st.text(max_size=12), st.text("0123456789.-+eE'\"/*^ inftm%", max_size=12)
)
errors = st.one_of(st.sampled_from(["#N/A", "#DIV/0!", "#x; y"]), st.integers(2000, 2060).map(error))
cells = st.one_of(numbers, texts, st.none(), st.booleans(), st.datetimes(), errors)
# Cells that might be right, so that the calculation behind them runs too.
likely = st.one_of(st.floats(0.5, 50), st.sampled_from(WORDS), st.just(LEFT_OUT))


def arguments(cell: st.SearchStrategy[Any], function: Function) -> st.SearchStrategy[list[Any]]:
    return st.lists(cell, max_size=len(function.arguments))


def assert_an_answer(function: Function, shown: object) -> None:
    if isinstance(shown, float):
        assert math.isfinite(shown)
        assert shown > 0
        return
    assert isinstance(shown, str)
    assert "failed here" not in shown, shown
    if shown.startswith("#"):
        assert re.match(rf"#({'|'.join(argument.name for argument in function.arguments)})[ :,]", shown), shown
        assert "\n" not in shown
    else:
        assert shown in CLASSES or "governs" in shown


@pytest.mark.parametrize("function", FUNCTIONS, ids=lambda function: function.name)
@settings(max_examples=200, deadline=None)
@given(data=st.data())
def test_any_cells_end_in_an_answer(function: Function, data: st.DataObject) -> None:
    cell = data.draw(st.sampled_from([cells, likely, st.one_of(cells, likely)]))
    assert_an_answer(function, function(*data.draw(arguments(cell, function))))


@pytest.mark.parametrize("function", FUNCTIONS, ids=lambda function: function.name)
@settings(max_examples=50, deadline=None)
@given(data=st.data())
def test_any_ranges_end_in_answers_of_their_shape(function: Function, data: st.DataObject) -> None:
    rows, columns = data.draw(st.sampled_from([(1, 1), (3, 1), (1, 3), (2, 2)]))
    block = st.lists(
        st.lists(st.one_of(cells, likely), min_size=columns, max_size=columns), min_size=rows, max_size=rows
    )
    argument = st.one_of(block, cells)
    shown = function(*data.draw(st.lists(argument, min_size=1, max_size=len(function.arguments))))
    if isinstance(shown, list):
        assert (len(shown), {len(row) for row in shown}) == (rows, {columns})
        for row in shown:
            for cell in row:
                assert_an_answer(function, cell)
    else:
        assert_an_answer(function, shown)


@pytest.mark.parametrize("function", FUNCTIONS, ids=lambda function: function.name)
@settings(max_examples=50, deadline=None)
@given(data=st.data())
def test_a_column_shows_what_its_cells_would_show_alone(function: Function, data: st.DataObject) -> None:
    if function.arguments[0].whole:
        column = data.draw(st.lists(cells, min_size=1, max_size=4))
        assert function([[cell] for cell in column]) == function([column])
        return
    column = data.draw(st.lists(st.one_of(cells, likely), min_size=2, max_size=4))
    rest = data.draw(st.lists(st.one_of(cells, likely), max_size=len(function.arguments) - 1))
    assert function([[cell] for cell in column], *rest) == [[function(cell, *rest)] for cell in column]


@pytest.fixture(scope="module")
def excel() -> Iterator[ExcelHost]:
    with ExcelHost() as host:
        yield host


def sent(cell: Any) -> Any:
    """Return what VBA sends for a cell: errors and dates as they are, a date never with a time zone of its own."""
    if cell is LEFT_OUT:
        return MISSING
    return ComRange(cell) if not isinstance(cell, dt.datetime) else ComRange(cell.replace(tzinfo=dt.UTC))


@pytest.mark.parametrize("function", FUNCTIONS, ids=lambda function: function.name)
@settings(max_examples=60, deadline=None)
@given(data=st.data())
def test_excel_shows_what_python_answers(excel: ExcelHost, function: Function, data: st.DataObject) -> None:
    simple = st.one_of(st.floats(0.5, 50), st.sampled_from(WORDS), written, st.booleans(), st.none(), errors)
    decimals = st.decimals(-100, 100, places=4)
    drawn = data.draw(st.lists(st.one_of(simple, decimals, likely), max_size=len(function.arguments)))
    shown = excel.call(function.name, *map(sent, drawn))
    assert_an_answer(function, shown)
    assert shown == function(*drawn)


def test_decimals_without_a_value_reach_no_total() -> None:
    for function in FUNCTIONS:
        assert str(function(Decimal("NaN"))).startswith("#")
