"""All answers of an area in one call: as they are one by one, refusals included, whatever part of a site is asked."""

from typing import Any

import pytest
from addin_examples import AREAS, CALLABLE, DESIGN, LIGHT, READINGS, SITE, TASK
from basecalc.estimating.evaluate import _Values
from basecalc.estimating.language import tree
from hypothesis import given, settings
from hypothesis import strategies as st

from basecalc.formulas.answers import answer_line, picked
from basecalc.formulas.area import DESIGNED
from basecalc.formulas.cells import LEFT_OUT
from basecalc.formulas.plan import MEASURED
from basecalc.workbook import style

NUMBERS = st.floats(-1e9, 1e9).map(lambda number: float(f"{number:.15g}")).filter(lambda n: n == 0 or abs(n) > 1e-30)
TEXTS = st.text(st.characters(min_codepoint=32, max_codepoint=0xD7FF, exclude_categories=["Cc"]), min_size=1)
ANSWERS = st.lists(st.one_of(NUMBERS, TEXTS), min_size=1, max_size=12)


def native(line: str, place: int) -> Any:
    """Return what a sheet picks of a line."""
    book = style.new_book()
    style.put(book.create_sheet("one"), 1, 1, line)
    return _Values(book)._worked_out(tree(f"={picked('A1', place)}"), "one")


def one_by_one(row: tuple[Any, ...], task: tuple[Any, ...]) -> list[Any]:
    design, traffic, edge, stability, reduction, source, unit, *walked = task
    long = {"in": "ft", "mm": "m"}[unit]
    strength = CALLABLE["AREA_STRENGTH"]((row,), SITE, edge, design, *walked)
    cbr = CALLABLE["DESIGN_CBR"](strength, design)
    found = [strength, CALLABLE["AREA_STRENGTH_REASON"]((row,), SITE, edge, design, *walked), cbr]
    for more in ((), (stability, reduction, source)):
        for name in ("DESIGN_DEPTH", "DESIGN_REASON"):
            found.append(CALLABLE[name](strength, traffic, design, "clay", unit, *more))
    for kind in ("geotextile", "geogrid"):
        found += [CALLABLE["ROLL_OVERLAP"](kind, cbr, where, LEFT_OUT, long) for where in ("side", "end")]
    return found


@settings(deadline=None)
@given(ANSWERS)
def test_a_native_formula_picks_every_answer_as_it_was(answers: list[Any]) -> None:
    line = answer_line(answers)
    assert [native(line, place) for place in range(len(answers))] == answers


def test_a_character_that_hosts_count_differently_moves_nothing() -> None:
    line = answer_line(["oak \N{DECIDUOUS TREE}", "#refused; it must be"])
    assert native(line, 0) == "oak \N{REPLACEMENT CHARACTER}"
    assert native(line, 1) == "#refused; it must be"
    assert len(line.encode("utf-16-le")) == 2 * len(line)


def test_a_line_that_is_refused_is_picked_as_it_stands() -> None:
    assert native("#shape is missing; it must be one", 3) == "#shape is missing; it must be one"


def test_a_number_that_no_field_holds_is_a_fault_never_another_number() -> None:
    with pytest.raises(ValueError, match="does not fit"):
        answer_line([1e-120])


def test_measures_are_those_asked_one_by_one() -> None:
    for row in AREAS[:2]:
        line = CALLABLE["AREA_MEASURES"]((row,), "clay", "us")
        for place, what in enumerate(MEASURED):
            alone = CALLABLE["AREA_MEASURE"]((row,), what, "clay", "us")
            assert native(line, place) == (pytest.approx(alone, rel=1e-14) if isinstance(alone, float) else alone)
    refused = CALLABLE["AREA_MEASURES"]((("Drive", "blob", *[""] * 22),), "clay", "us")
    assert refused == CALLABLE["AREA_MEASURE"]((("Drive", "blob", *[""] * 22),), "area", "clay", "us")


TASKS = {
    "sound": (DESIGN, LIGHT, "weak", 0.32, "none", "none", "in"),
    "metric": (DESIGN, LIGHT, "middle", 0.32, 0.2, "its own report", "mm"),
    "no grid": (DESIGN, LIGHT, "weak", "none", "none", "none", "in"),
    "settings refused": ("#thickest lift is -1 in; it must be more", LIGHT, "weak", 0.32, "none", "none", "in"),
    "traffic refused": (DESIGN, "#traffic is 'tank'; it must be known", "weak", 0.32, "none", "none", "in"),
    "grid refused": (DESIGN, LIGHT, "weak", "#item is not there; it must be", "none", "none", "in"),
    "edge refused": (DESIGN, LIGHT, "strong", 0.32, "none", "none", "in"),
}


@pytest.mark.parametrize("row", [AREAS[0], AREAS[1], ("Yard", *[""] * 23)], ids=["measured", "class", "nothing read"])
@pytest.mark.parametrize("task", TASKS.values(), ids=TASKS)
def test_designs_are_those_asked_one_by_one_refusals_included(row: tuple[Any, ...], task: tuple[Any, ...]) -> None:
    line = CALLABLE["AREA_DESIGN"](row[0], "", "clay", SITE, CALLABLE["DESIGN_TASK"](*task))
    for place, (which, alone) in enumerate(zip(DESIGNED, one_by_one(row, task), strict=True)):
        wanted = pytest.approx(alone, rel=1e-14) if isinstance(alone, float) else alone
        assert native(line, place) == wanted, which


def test_a_strength_by_hand_counts_only_where_nothing_was_read() -> None:
    by_hand = CALLABLE["AREA_DESIGN"]("Yard", "soft", "clay", SITE, TASK)
    assert native(by_hand, DESIGNED.index("depth")) == CALLABLE["DESIGN_DEPTH"]("soft", LIGHT, DESIGN, "clay", "in")
    both = CALLABLE["AREA_DESIGN"]("Driveway", "soft", "clay", SITE, TASK)
    assert "it must be one or the other" in native(both, DESIGNED.index("strength"))


def test_a_part_of_the_readings_says_of_its_areas_and_rows_what_the_whole_says() -> None:
    part = CALLABLE["SITE_AREAS"](SITE, (("turning",), ("",)))
    assert CALLABLE["AREA_DESIGN"]("Turning", "", "clay", part, TASK) == CALLABLE["AREA_DESIGN"](
        "Turning", "", "clay", SITE, TASK
    )
    assert "no reading" in native(CALLABLE["AREA_DESIGN"]("Driveway", "", "clay", part, TASK), 0)
    rows = CALLABLE["SITE_ROWS"](SITE, 2.0, 3.0)
    assert [CALLABLE["READING_SAYS"](row, rows) for row in (2.0, 3.0)] == [
        CALLABLE["READING_SAYS"](row, SITE) for row in (2.0, 3.0)
    ]
    assert str(CALLABLE["READING_SAYS"](1.0, rows)).startswith("#row is 1")
    assert len(READINGS) == 4


def test_a_task_that_is_none_is_refused() -> None:
    for wrong in ("soft", "[1]", DESIGN):
        assert str(CALLABLE["AREA_DESIGN"]("Driveway", "", "clay", SITE, wrong)).startswith("#task is no line")
