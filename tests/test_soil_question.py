"""Leaving the soil out never thins a base; where the word decides the depth, both depths and a question are shown."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from papers import office_file, text
from test_command_line import run  # noqa: F401 (a fixture)
from trial_quote import FIRM, trial_quote

from basecalc.ground.readings import SOILS, soil_named
from basecalc.worksheet import BASE_DEPTH, BEARING_RATIO

Run = Callable[..., tuple[int, str, str]]
FINE = [word for word in SOILS if soil_named(word).fine]
WHICH_CLAY = "Is it lean or fat clay? A laboratory test of the soil would tell"


def job_of(word: str, index: float) -> dict[str, Any]:
    spots = [{"name": "Gate", "area": "Driveway", "readings": [{"test": "cone", "reading": index, "moisture": "wet"}]}]
    return {**FIRM, "area": [{**FIRM["area"][0], "soil": word}], "spot": spots}


def evidence(job: dict[str, Any]) -> str:
    return text(office_file(trial_quote(job, grid=False)), "Ground evidence")


@settings(deadline=None, max_examples=60)
@given(st.sampled_from(FINE), st.floats(2, 90), st.sampled_from(["light", "delivery", "heavy"]))
def test_leaving_the_soil_out_never_thins_the_base(word: str, index: float, traffic: str) -> None:
    assert BASE_DEPTH(BEARING_RATIO("cone", index), traffic) >= BASE_DEPTH(BEARING_RATIO("cone", index, word), traffic)


def test_a_more_specific_word_found_by_a_laboratory_may_thin_the_base() -> None:
    depths = [
        BASE_DEPTH(BEARING_RATIO("cone", 62, word), "delivery") for word in ("fat clay", "clay", "lab-tested fat clay")
    ]
    assert depths[0] == depths[1] > depths[2] + 3


@pytest.mark.parametrize("word", ["clay", "fat clay"])
def test_the_office_sees_both_depths_and_the_question(word: str) -> None:
    words = evidence(job_of(word, 62))
    assert f"{WHICH_CLAY}: lean clay " in words
    # 0.7 / (0.002871 x 62) is CBR 3.9 as nobody walked the area: weak fine soil, which takes 8 in
    assert ", lab-tested fat clay 8 in." in words


@pytest.mark.source(
    "ASTM-D6951, all soils and CH; ICPI-TOLERANCES, 6 in; ICPI-FREEZE-THAW, 10 in where frost lifts the soil; [read]"
)
def test_the_question_counts_frost_and_the_kind_of_soil_like_the_quote() -> None:
    cold = job_of("fat clay", 62)
    cold["area"][0]["frost"] = {"group": "F4"}
    assert ", lab-tested fat clay 10 in." in evidence(cold)
    assert ", sand 6 in." in evidence(job_of("earth", 50))  # 0.7 x 292 / 50^1.12 is CBR 2.6


@pytest.mark.parametrize(("word", "index"), [("lean clay", 62), ("lab-tested fat clay", 62), ("sand", 62), ("clay", 6)])
def test_nothing_is_asked_where_the_answer_changes_little(word: str, index: float) -> None:
    assert "A laboratory test of the soil" not in evidence(job_of(word, index))


def test_dcp_shows_both_depths_and_the_question(run: Run, tmp_path: Path) -> None:  # noqa: F811
    log = tmp_path / "gate.csv"
    log.write_text("blows per step,depth mm\n0,0\n" + "".join(f"1,{62 * k}\n" for k in range(1, 9)))
    told = " ".join(run("dcp", log, "--soil", "fat clay")[1].split())
    assert f"{WHICH_CLAY}: lean clay" in told
    assert "lab-tested fat clay 6 in (light traffic, no geogrid)." in told
    assert "Is it mostly clay or mostly sand?" in run("dcp", log)[1]
    assert "A laboratory test" not in run("dcp", log, "--soil", "lean clay")[1]


def test_check_asks_it_of_a_job(run: Run, tmp_path: Path) -> None:  # noqa: F811
    made = tmp_path / "job.toml"
    demo = Path(__file__).parents[1] / "basecalc" / "data" / "demo" / "1-firm-ground.toml"
    made.write_text(demo.read_text("utf-8").replace("reading = 10.5", "reading = 62  "), "utf-8")
    assert "A laboratory test" not in run("check", demo)[1]
    code, told, _ = run("check", made)
    assert code == 0
    assert f"{WHICH_CLAY}: lean clay" in told
    assert "nothing wrong was found" in told
