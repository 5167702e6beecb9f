"""Cautions follow what was found: each kind of finding calls for its own, with the place, for client and for crew."""

from dataclasses import replace
from typing import Any

import pytest
from papers import client_file, office_file, text
from trial_quote import FIRM, SOFT, TWO_AREAS, trial_quote

from basecalc import Quote
from basecalc.cautions import cautions, site_facts
from basecalc.core.published import table
from basecalc.ground.strength import ALWAYS, Fact

ROWS = table("cautions").rows
KEYS = list(dict.fromkeys(str(row["when"]) for row in ROWS if row["when"] != ALWAYS))
DRIVE = FIRM["area"][0]


def with_area(**changes: Any) -> dict[str, Any]:
    return {**FIRM, "area": [{**DRIVE, **changes}]}


def with_job(**changes: Any) -> dict[str, Any]:
    return {**FIRM, "job": {**FIRM["job"], **changes}}


def with_note(note: str) -> dict[str, Any]:
    street, garage = FIRM["spot"]
    return {**FIRM, "spot": [street, {**garage, "readings": [{**garage["readings"][0], "note": note}]}]}


OLD_BASE = with_area(
    old_pavement=3, old_pavement_kind="asphalt", keep_old_base=True,
    old_pavement_seen=[{"what": "rut", "where": "wheel tracks", "gap": 0.25, "straightedge": 8}],
    test_holes=[{"where": "gate", "base": 9, "state": "clean"}, {"where": "middle", "base": 9, "state": "clean"}],
)  # fmt: skip


def found(made: Quote, key: str) -> list[Fact]:
    return [fact for fact in site_facts(made) if fact.key == key]


@pytest.mark.parametrize(
    ("job", "fact"),
    [
        (SOFT, Fact("soft", "Driveway", "By the ditch", "soft ground")),
        (with_note("black peat below 12 in"), Fact("organic", "Driveway", "At the garage", 'a note says "peat"')),
        (with_job(new_build=True), Fact("fill", "", "", "a new-build lot")),
        (with_note("brick rubble"), Fact("fill", "Driveway", "At the garage", 'a note says "rubble"')),
        (with_area(note="Dumped soil at the back"), Fact("fill", "Driveway", "", 'a note says "dumped"')),
        (with_area(water_table=20), Fact("water", "Driveway", "", "water 20 in below the ground")),
        (with_job(notes=["The corner stays wet."]), Fact("water", "", "", 'a note says "stays wet"')),
        (FIRM, Fact("foundation", "Driveway", "", "14 ft along a building")),
        (TWO_AREAS, Fact("foundation", "Driveway", "", "fill at a foundation, 24 in deep")),
        (with_area(note="retaining wall"), Fact("foundation", "Driveway", "", 'a note says "retaining wall"')),
        (with_job(traffic="delivery"), Fact("heavy", "", "", "a trash or delivery truck every week")),
        (with_job(notes=["A fire truck must get in"]), Fact("heavy", "", "", 'a note says "fire truck"')),
        (OLD_BASE, Fact("old pavement", "Driveway", "", "9 in of the old base stays")),
        (with_area(soil="silt"), Fact("frost soil", "Driveway", "", "silt")),
        (with_area(soil="fat clay"), Fact("swelling clay", "Driveway", "", "fat clay")),
        (with_area(soil="CH"), Fact("swelling clay", "Driveway", "", "fat clay")),
        (with_note("swelling clay"), Fact("swelling clay", "Driveway", "At the garage", 'a note says "swelling clay"')),
        (with_area(frost={"group": "F3"}), Fact("frost soil", "Driveway", "", "frost group F3")),
    ],
)  # fmt: skip
def test_a_finding_calls_for_its_cautions_and_names_its_place(job: dict[str, Any], fact: Fact) -> None:
    made = trial_quote(job)
    assert fact in site_facts(made)
    for who in ("client", "crew"):
        called = [caution for caution in cautions(who, site_facts(made)) if fact in caution.found]
        # what a crew must always know of foundations is there in any case
        assert called or (who, fact.key) == ("crew", "foundation")
        assert all(fact.place in caution.told and fact.found in caution.told for caution in called)


@pytest.mark.parametrize("key", [key for key in KEYS if key != "foundation"])
def test_an_ordinary_job_is_not_warned_of_what_was_not_found(key: str) -> None:
    assert found(trial_quote(FIRM), key) == []


def test_far_water_a_light_load_and_a_good_soil_call_for_nothing() -> None:
    made = trial_quote(with_area(water_table=300, frost={"group": "F1"}))
    assert {fact.key for fact in site_facts(made)} == {"foundation"}


def test_a_word_counts_as_a_whole_word_only() -> None:
    assert found(trial_quote(with_note("filled the tank, beetroots, boggle")), "fill") == []
    assert found(trial_quote(with_note("filled the tank, beetroots, boggle")), "organic") == []


def test_a_rod_that_stands_out_calls_for_the_cautions_of_fill_at_its_spot() -> None:
    facts = found(trial_quote(TWO_AREAS), "fill")
    assert Fact("fill", "Driveway", "At the house", "a steel rod went in far deeper than beside it") in facts


def test_findings_of_one_place_are_told_together() -> None:
    told = [caution.told for caution in cautions("client", site_facts(trial_quote(TWO_AREAS)))]
    place = "Driveway, At the house"
    assert any(f'{place}: a note says "backfill", a steel rod went in far deeper than beside it' in one for one in told)


def test_another_room_may_bring_a_finding_with_the_strength_of_an_area() -> None:
    made = trial_quote(FIRM)
    brought = Fact("old pavement", "Driveway", "At the street", "cracks all over")
    ground = {"Driveway": replace(made.ground["Driveway"], facts=(brought,))}
    told = [caution.told for caution in cautions("client", site_facts(replace(made, ground=ground)))]
    assert "Driveway, At the street: cracks all over" in told


def test_the_same_finding_is_told_once_and_many_are_counted() -> None:
    many = [Fact("water", f"Part {k}", "", "wet") for k in range(6)]
    (water,) = (caution for caution in cautions("crew", many) if caution.key == "crew water")
    assert water.told == "Part 0: wet; Part 1: wet; Part 2: wet; and 3 more"


def test_every_trigger_has_cautions_for_a_client_and_a_crew() -> None:
    called = {str(row["when"]) for row in ROWS if row["who"] == "client"}
    called |= {"geogrid", "breaking", "slope"}  # for those who build, not for the client
    for row in table("cautions/triggers").rows:
        assert row["key"] in KEYS
        assert row["key"] in called
        assert any(one["who"] == "crew" and one["when"] in (row["key"], "always") for one in ROWS)


@pytest.mark.parametrize("key", ["soft", "organic", "fill", "foundation", "heavy", "frost soil", "swelling clay"])
def test_what_the_rules_of_the_trade_do_not_cover_is_deferred_to_an_engineer(key: str) -> None:
    (client,) = (str(row["text"]) for row in ROWS if (row["who"], row["when"]) == ("client", key))
    assert "engineer" in client


def test_every_caution_says_where_it_comes_from_and_how_far_that_is_trusted() -> None:
    for who in ("client", "crew"):
        for caution in cautions(who, [Fact(key) for key in KEYS]):
            assert caution.source.endswith("]")
            assert len(caution.source) > 12
    assert any("common practice of the trade, no source" in one.source for one in cautions("crew", [Fact("soft")]))


def test_both_files_tell_what_was_found_where() -> None:
    made = trial_quote(with_note("old roots"))
    for data in (client_file(made, 1), office_file(made, 1)):
        assert 'Driveway, At the garage: a note says "roots"' in text(data)


def test_an_old_base_that_is_dug_out_calls_for_no_word_about_one_that_stays() -> None:
    made = trial_quote(with_area(keep_old_base=True))  # no test hole: priced as dug out
    assert not found(made, "old pavement")
