"""Any mix of cells, drawn at random far quicker than by search: thousands of calls, in the long run 100,000 of each.

The long run:  ABUSE=250 pytest tests/test_abuse_functions.py
"""

import datetime as dt
import math
import random
from collections.abc import Callable
from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest
from abuse import STRENGTH
from test_worksheet_fuzz import UNITS, WORDS

from basecalc.core.errors import InputError
from basecalc.formulas.functions import FUNCTIONS
from basecalc.formulas.ranges import answer
from basecalc.formulas.spec import Function
from basecalc.plan.area import SHAPES

CALLS = 400 * STRENGTH
ODD_TEXTS = (
    "", " ", "\x00", "\ud800", "\N{ZERO WIDTH SPACE}", "\N{RIGHT-TO-LEFT OVERRIDE}12", "١٢", "½", "1e400", "-0", "nan",
    "inf", "1,5", "1 000", "0x10", "=1+1", "#N/A", "#REF!", "#depth is lost", "x" * 40_000, "9" * 400, "1/0",
    "in", "5 in in", "5 inches of rain", "TRUE", "'12", "12'", '6"', "soft\nhard", "\N{SNOWMAN}", "__import__('os')",
)  # fmt: skip
ODD_NUMBERS = (
    0.0, -0.0, 5e-324, -1.0, 1e308, -1e308, math.inf, -math.inf, math.nan, 1e-9, 0.4, 0.39999999999999997, 100.0, 350.0,
    10**400, -(10**400), 2**63, True, False, Decimal("NaN"), Decimal("sNaN"), Decimal("Infinity"), Decimal("1e-400"),
    Fraction(1, 3), -2146826246, 2042,
)  # fmt: skip
DATES = (dt.date(2026, 2, 29 - 1), dt.datetime(1, 1, 1), dt.datetime(9999, 12, 31, tzinfo=dt.UTC), dt.time(8))
WELL = (*WORDS, *SHAPES, "yes", "no", "us", "metric", "weakest", "lower quartile", "weak", "middle", "side", "end")


def number(chance: random.Random) -> Any:
    """Return a plain number that some argument may like."""
    return round(10 ** chance.uniform(-2, 3), chance.randint(0, 6))


def text(chance: random.Random) -> str:
    """Return a few characters from anywhere."""
    return "".join(chr(chance.choice((chance.randrange(128), chance.randrange(0x3000)))) for _ in range(6))


KINDS: tuple[Callable[[random.Random], Any], ...] = (
    number, number, number, lambda chance: chance.choice(WELL), lambda chance: chance.choice(WELL),
    lambda chance: f"{number(chance)} {chance.choice(UNITS)}", lambda chance: chance.choice(ODD_TEXTS),
    lambda chance: chance.choice(ODD_NUMBERS), lambda chance: chance.choice(DATES), lambda _: None, text,
)  # fmt: skip


def cell(chance: random.Random) -> Any:
    """Return what a cell may hold."""
    return chance.choice(KINDS)(chance)


def argument(chance: random.Random) -> Any:
    """Return a cell, or now and then a range."""
    if chance.random() < 0.75:
        return cell(chance)
    columns = chance.choice((1, 1, 2, 7, 24))
    return [[cell(chance) for _ in range(columns)] for _ in range(chance.randint(1, 4))]


def faults(shown: Any) -> list[Any]:
    """Return what no cell may show: anything but a finite number, or one line of text."""
    if isinstance(shown, list):
        return [fault for row in shown for one in row for fault in faults(one)]
    if isinstance(shown, float):
        return [] if math.isfinite(shown) else [shown]
    whole = isinstance(shown, str) and shown.strip() and len(shown.splitlines()) == 1 and len(shown) <= 32_767
    return [] if whole and "failed here" not in shown else [shown]


@pytest.mark.parametrize("function", FUNCTIONS, ids=lambda function: function.name)
def test_no_mix_of_cells_ends_in_anything_but_an_answer(function: Function) -> None:
    chance = random.Random(function.name)
    refused = answered = 0
    for call in range(CALLS):
        given = [argument(chance) for _ in range(chance.randint(1, len(function.arguments)))]
        shown = function(*given)
        assert not faults(shown), (call, given, shown)
        first = shown[0][0] if isinstance(shown, list) else shown
        refused += str(first).startswith("#")
        answered += not str(first).startswith("#")
    assert refused
    assert refused + answered == CALLS


def test_a_text_too_long_for_a_cell_becomes_a_sentence_that_fits() -> None:
    def refuse(what: str) -> float:
        raise InputError(f"what is {what!r}; it must be short")

    shown = str(answer(refuse, ["what"], ["x" * 40_000]))
    assert shown.startswith("#what is 'xxx")
    assert len(shown) == 32_767
    assert shown.endswith("(cut here)")
    assert answer(lambda row: "y" * row, ["row"], [32_767]) == "y" * 32_767
    assert answer(lambda row: "y" * row, ["row"], [32_768]) == (
        "#the answer is 32,768 characters long; a cell holds 32,767, so give fewer rows"
    )


def test_a_fault_would_be_seen() -> None:
    for wrong in (math.nan, math.inf, "", " ", "two\nlines", None, 3, True, [[1.0, math.nan]], "x" * 40_000):
        assert faults(wrong)
    assert not faults([[1.0, "soft"], ["#depth is 'x'; it must be a number", 0.0]])
