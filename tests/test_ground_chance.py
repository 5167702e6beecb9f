"""The chance that more than a quarter of an area is weaker than designed for: table, simulation, words."""

import importlib.util
import sys
from itertools import pairwise
from math import sqrt
from pathlib import Path
from types import ModuleType

import pytest

from basecalc import BasecalcError, Reading, area_strength, spot_strength
from basecalc.core.published import table
from basecalc.ground.evidence import area_chance, chance_weaker, chance_words, confidence, variance

DRIVEWAYS = 6000
SIMULATION = Path(__file__).parent / "bench" / "ground_chance.py"


@pytest.fixture(scope="module")
def simulation() -> ModuleType:
    spec = importlib.util.spec_from_file_location("ground_chance", SIMULATION)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules["ground_chance"] = module
    spec.loader.exec_module(module)
    return module


@pytest.mark.source("tests/bench/ground_chance.py: simulation; [computed]")
def test_every_printed_chance_is_what_a_shorter_simulation_gives(simulation: ModuleType) -> None:
    """Another seed, a tenth of the driveways; within four standard errors of four grounds of so many driveways."""
    printed = table("chance_weaker").rows
    again = simulation.rows(DRIVEWAYS, seed=71)
    assert len(printed) == len(again) == 8
    for row, found in zip(printed, again, strict=True):
        assert row.keys() == found.keys()
        for column, value in row.items():
            share = float(value) / 100
            within = 100 * 4 * sqrt(share * (1 - share) / (4 * DRIVEWAYS)) + 0.1
            assert found[column] == pytest.approx(float(value), abs=within), (row["spots"], column)


def test_more_spots_and_a_smaller_allowance_never_raise_a_chance() -> None:
    rows = table("chance_weaker").rows
    steps = [name for name in rows[0] if name.startswith("at_")]
    for before, after in pairwise(rows):
        assert all(after[column] < before[column] for column in steps)
    for row in rows:
        values = [float(row[column]) for column in steps]
        assert values == sorted(values)
        assert row["walked"] < row["at_100"]  # walking helps where a reading counts alike


def test_the_rule_moves_the_chance() -> None:
    assert chance_weaker(3, 0) == float(table("chance_weaker").rows[2]["at_70"]) / 100
    assert chance_weaker(3, 0, allowance=0.72) == chance_weaker(3, 0, allowance=0.8) > chance_weaker(3, 0)
    assert chance_weaker(3, 0, walked=True, allowance=0.5) == chance_weaker(3, 0, walked=True)  # counts as measured
    assert chance_weaker(0, 3) < chance_weaker(1, 2) == chance_weaker(3, 0)  # both kinds: the worse
    assert chance_weaker(0, 3, class_edge="middle") > chance_weaker(0, 3)
    assert chance_weaker(5, 0, spot_rule="quartile") > chance_weaker(5, 0)
    assert chance_weaker(40, 0) == chance_weaker(8, 0)
    for wrong in ({"allowance": 1.2}, {"class_edge": "edge"}, {"spot_rule": "mean"}):
        with pytest.raises(BasecalcError):
            chance_weaker(3, 0, **wrong)
    with pytest.raises(BasecalcError, match="no spot"):
        chance_weaker(0, 0)


@pytest.mark.parametrize(
    ("share", "words"),
    [
        (0.163, "1 in 6"),
        (0.283, "1 in 4"),
        (0.518, "1 in 2"),
        (0.56, "6 in 10"),
        (0.673, "7 in 10"),
        (0.001, "1 in 50"),
    ],
)
def test_a_chance_is_said_as_a_person_says_it(share: float, words: str) -> None:
    assert chance_words(share) == f"about {words}"


def test_spots_read_in_frozen_ground_lower_no_chance() -> None:
    firm = [spot_strength(f"S{k}", [Reading("cbr", 3, "wet")]) for k in range(2)]
    frozen = [spot_strength(f"F{k}", [Reading("cbr", 30, "frozen")]) for k in range(4)]
    assert area_chance(area_strength("drive", [*firm, *frozen])) == area_chance(area_strength("drive", firm))


def test_one_or_two_spots_are_said_loudly() -> None:
    spots = [spot_strength(f"S{k}", [Reading("cone", 40, "wet"), Reading("walk", 0.2, "wet")]) for k in range(3)]
    for count in (1, 2, 3):
        found = confidence(area_strength("drive", spots[:count]))
        assert found.few is (count < 3)
        assert found.chance_sentence.startswith("only ") is (count < 3)
        assert found.chance is not None
        assert chance_words(found.chance) in found.chance_sentence


@pytest.mark.source("variances add, UFC 3-220-20 ch. 7; [digitised]")
def test_variances_of_the_tests() -> None:
    assert variance("pocket") == pytest.approx(0.35**2 + 0.35**2)
    assert variance("cone") == pytest.approx(0.25**2 + 0.30**2)
    assert variance("class") == pytest.approx(0.20**2 + 0.35**2)
