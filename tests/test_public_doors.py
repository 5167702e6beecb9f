"""The public functions take the words and paths a user has, and refuse every other kind of argument in one sentence."""

import pickle
import sys
import tomllib
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from test_job import US_FILE

import basecalc
from basecalc.core.errors import BasecalcError
from basecalc.version import VERSION
from basecalc.worksheet import BASE_DEPTH, SITE_STRENGTH

TRAP = """
[job]
number = "T-7"
client = "Any Client"
site = "Any Lane 1"
soil = "clay"

[[area]]
name = "Trap"
shape = "trapezoid"
parallel_sides = [30, 20]
height = 40
strength = "soft"

[[area]]
name = "Kite"
shape = "polygon"
points = [[0, 0], [40, 0], [45.25, 20], [0, 25]]
strength = 2.1

[[area]]
name = "Corner"
shape = "triangle"
sides = [30, 40, 50]
strength = "medium"
"""


@pytest.mark.parametrize(
    ("words", "cell"),
    [(("soft", "light"), ()), (("hard", "heavy"), ()), ((2.1, "delivery"), ()), (("2.1 %", "delivery"), ())],
)
def test_the_depth_takes_the_words_that_the_worksheet_function_takes(words: tuple[Any, Any], cell: tuple[Any]) -> None:
    assert basecalc.base_depth(*words).required_m == pytest.approx(BASE_DEPTH(*words, *cell) * 0.0254)
    records = basecalc.strength(words[0]), basecalc.traffic(words[1])
    assert basecalc.base_depth(*records) == basecalc.base_depth(*words)


def test_a_geogrid_is_named_by_its_kind_and_its_modulus() -> None:
    made = basecalc.base_depth("soft", "delivery", "geogrid", aperture_stability=0.3)
    assert made == basecalc.base_depth("soft", "delivery", basecalc.reinforcement("geogrid", 0.3))
    assert made.required_m < basecalc.base_depth("soft", "delivery").required_m
    with pytest.raises(BasecalcError, match="neither an aperture stability nor a documented reduction"):
        basecalc.base_depth("soft", "delivery", "geogrid")
    column = basecalc.depth_column([0.6, 2.1], "delivery", "geogrid", aperture_stability=0.3)
    rows = [basecalc.base_depth(cbr, "delivery", "geogrid", aperture_stability=0.3).required_m for cbr in (0.6, 2.1)]
    assert list(column) == pytest.approx(rows)


def test_a_quote_is_made_from_two_paths(demo: Any) -> None:
    job, prices = demo.jobs[1], demo.prices
    by_records = basecalc.quote(basecalc.load_job(job), basecalc.load_prices(prices))
    for made in (
        basecalc.quote(str(job), str(prices)),
        basecalc.quote(job, prices),
        basecalc.quote(basecalc.load_job(job), prices),
    ):
        assert made.offer.total == by_records.offer.total
    assert basecalc.quote(demo.estimate).offer.total == basecalc.quote(demo.estimate, demo.estimate).offer.total


def test_only_the_tables_for_pandas_need_pandas(demo: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "pandas", None)
    made = basecalc.quote(demo.jobs[0], demo.prices)
    with pytest.raises(BasecalcError, match=r"^this table is .+, and pandas is not installed: pip install pandas$"):
        basecalc.lines_frame(made.offer)


WRONG: dict[str, tuple[Callable[[], Any], str]] = {
    "depth of mud": (lambda: basecalc.base_depth("mud", "light"), "strength is 'mud'; it must be one of"),
    "depth of nothing": (lambda: basecalc.base_depth(None, "light"), "strength is nothing; it must be"),
    "depth of a list": (lambda: basecalc.base_depth([1], "light"), "strength holds|strength is a list"),
    "traffic of no kind": (lambda: basecalc.base_depth("soft", "lite"), "traffic is 'lite'; it must be one of"),
    "settings of no kind": (lambda: basecalc.base_depth("soft", "light", "none", 3), "settings is 3; it must be a Des"),
    "frost of no kind": (lambda: basecalc.base_depth("soft", "light", frost=3), "frost is 3; it must be a FrostGround"),
    "column of text": (lambda: basecalc.depth_column("x", "light"), "must be one column"),
    "column of rags": (lambda: basecalc.depth_column([[1], [2, 3]], "light"), "must be one column"),
    "column of no traffic": (lambda: basecalc.depth_column([1], 3), "traffic is 3; it must be a Traffic"),
    "quote of a number": (lambda: basecalc.quote(3, "b.xlsx"), "job is 3; it must be a Job"),
    "quote of no file": (lambda: basecalc.quote("none.toml", "none.xlsx"), "none.toml: there is no such file"),
    "quote without prices": (lambda: basecalc.quote("none.toml"), "book is missing"),
    "job of a number": (lambda: basecalc.load_job(3), "path is 3; it must be text or a path"),
    "prices of nothing": (lambda: basecalc.load_prices(None), "path is nothing; it must be text or a path"),
    "mapping of a text": (lambda: basecalc.parse_job("x"), "data is 'x'; it must be a mapping"),
    "area of classes": (lambda: basecalc.area_strength("A", ["soft"]), "spots holds 'soft'; it must be a list, each"),
    "area of a word": (lambda: basecalc.area_strength("A", "soft"), "spots is 'soft'; it must be a list, each"),
    "spot of pairs": (lambda: basecalc.spot_strength("A", [("walk", 3)]), "readings holds a list"),
    "spot of numbers": (lambda: basecalc.spot_strength("A", [basecalc.Reading(3, None)]), "test is 3"),
    "evidence of a word": (lambda: basecalc.ground_evidence("x"), "ground is 'x'; it must be an AreaStrength"),
    "estimate of numbers": (lambda: basecalc.estimate(1, 2), "takeoff is 1; it must be a Takeoff"),
    "frame of a word": (lambda: basecalc.lines_frame("x"), "source is 'x'; it must be an Estimate"),
    "order of a word": (lambda: basecalc.order_text("x"), r"quote is 'x'; it must be a Quote \(basecalc.quote gives"),
    "worth of a number": (lambda: basecalc.worth_of_tests(3), "quote is 3; it must be a Quote"),
    "files of a word": (lambda: basecalc.write_quote("x", "out"), "quote is 'x'; it must be a Quote"),
    "change of a word": (lambda: basecalc.change_order("x", {}), "signed is 'x'; it must be a Quote"),
    "season of words": (lambda: basecalc.load_season("a", "b"), "records is 'a'; it must be a list"),
    "workbook for nobody": (lambda: basecalc.write_template("x.xlsm", host="pdf"), "host is 'pdf'; it must be one of"),
    "workbook of a number": (
        lambda: basecalc.write_template("x.xlsm", {"stones": 3}),
        "stones is 3; it must be a list",
    ),
    "settings of a number": (lambda: basecalc.write_price_workbook("x.xlsx", {"settings": 3}), "settings holds 3"),
    "rows of numbers": (lambda: basecalc.write_price_workbook("x.xlsx", {"prices": [3]}), "prices holds 3"),
    "path of a number": (lambda: basecalc.carry_over(3), "old path is 3; it must be text or a path"),
}


@pytest.mark.parametrize("name", WRONG)
def test_a_wrong_kind_of_argument_ends_in_one_sentence_of_ours(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    work, words = WRONG[name]
    with pytest.raises(BasecalcError, match=words) as refusal:
        work()
    assert "\n" not in str(refusal.value)
    assert list(tmp_path.iterdir()) == []


def test_a_public_function_says_what_it_says_in_its_room_and_goes_to_another_process() -> None:
    assert basecalc.base_depth.__doc__.startswith("Return the required base depth")
    assert pickle.loads(pickle.dumps(basecalc.base_depth)) is basecalc.base_depth
    with pytest.raises(TypeError, match="missing 1 required positional argument"):
        basecalc.base_depth("soft")


def test_a_job_fills_the_sheets_with_its_shapes_as_they_were_measured(tmp_path: Path) -> None:
    (tmp_path / "trap.toml").write_text(TRAP, "utf-8")
    job = basecalc.load_job(tmp_path / "trap.toml")
    by_job = basecalc.write_template(tmp_path / "job.xlsx", host="calc", job=job)
    by_mapping = basecalc.write_template(tmp_path / "mapping.xlsx", host="calc", job=tomllib.loads(TRAP))
    for path in (by_job, by_mapping):
        back = basecalc.load_job(path)
        assert [area.shape for area in back.areas] == ["trapezoid", "polygon", "triangle"]
        assert [replace(area) for area in back.areas] == list(job.areas)


def test_a_job_that_was_changed_or_put_together_in_python_is_not_filled_in_as_something_else(tmp_path: Path) -> None:
    job = basecalc.parse_job(tomllib.loads(US_FILE))
    for other, words in (
        (replace(job, client="Somebody Else"), "the job was changed after it was read"),
        (replace(job, entered=None), "the job was not read from"),
    ):
        with pytest.raises(BasecalcError, match=words):
            basecalc.write_template(tmp_path / "x.xlsm", job=other)
    assert list(tmp_path.iterdir()) == []


def test_large_records_show_themselves_on_one_short_line(demo: Any) -> None:
    made = basecalc.quote(demo.jobs[1], demo.prices)
    order = basecalc.change_order(made, {made.job.areas[0].name: "soft"})
    ground, depth = next(iter(made.ground.values())), next(iter(made.depths.values()))
    for record in (made, made.job, made.book, made.book.company, made.offer, made.offer.takeoff, ground, depth, order):
        line = repr(record)
        assert len(line) < 400, line
        assert line.startswith(f"{type(record).__name__}(")
        assert "\n" not in line
    assert str(made.offer.total) in repr(made)
    assert made.job.number in repr(made)
    assert repr(made.job.client) in repr(made.job)


def test_the_version_is_that_of_the_package() -> None:
    assert basecalc.__version__ == VERSION


@pytest.mark.parametrize("cell", [[[[1.0]], [1]], [[[[1.0]]], [[1]]], [[[1, 2], [3]], [[4], [5]]]])
def test_lists_inside_a_range_get_an_answer(cell: Any) -> None:
    """No sheet sends them; a script that calls the functions itself may."""
    answer = SITE_STRENGTH(cell)
    assert isinstance(answer, str)
    assert answer.startswith("#")
