"""What a quote makes of frost and water: the check, the flags, the cautions."""

from copy import deepcopy
from dataclasses import replace
from typing import Any

import pytest
from trial_quote import METRIC, SOFT, TWO_AREAS, trial_book, trial_quote

from basecalc import BasecalcError, Quote, parse_job, quote
from basecalc.cautions import cautions, site_facts
from basecalc.ground.strength import Fact
from basecalc.pricing.site import water_near_dig
from basecalc.render.sentences import why

WINTER = {"freezing_index": 1200, "mean_annual_temperature": 44, "freezing_season": 110}


def with_site(job: dict[str, Any], climate: dict[str, Any] | None = None, **area: Any) -> dict[str, Any]:
    data = deepcopy(job)
    data["area"][0] |= area
    if climate is not None:
        data["job"]["climate"] = climate
    return data


def flags(made: Quote, area: str = "Driveway") -> str:
    return "\n".join(made.ground[area].flags)


def test_without_a_word_of_frost_no_quote_shows_a_frost_check() -> None:
    assert all(depth.check("frost") is None for depth in trial_quote(TWO_AREAS).depths.values())


def test_frost_of_an_area_is_shown_and_counts_once_the_owner_switches_it_on() -> None:
    job = with_site(SOFT, frost={"group": "F4"})
    job["area"][0] |= {"strength": 12}
    del job["spot"]
    job["job"]["traffic"] = "heavy"
    shown = trial_quote(job)
    depth = shown.depths["Driveway"]
    check = depth.check("frost")
    assert check is not None
    assert check.depth_m is not None
    assert not check.counts
    on = quote(parse_job(job), trial_book(**{"checks.frost": True}))
    counted = on.depths["Driveway"]
    assert counted.governs == "frost"
    assert counted.required_m > depth.required_m
    assert on.stone.total > shown.stone.total
    assert "In the spring thaw this soil is weaker" in why(counted, "us")


def test_the_owner_may_count_frost_for_jobs_that_say_nothing_of_it() -> None:
    made = quote(parse_job(TWO_AREAS), trial_book(**{"checks.frost": True}))
    grounds = {name: depth.frost for name, depth in made.depths.items()}
    assert {name: ground.group for name, ground in grounds.items() if ground is not None} == {
        "Driveway": "F4", "Parking bay": "F3",
    }  # fmt: skip


def test_the_frost_depth_warns_that_the_base_does_not_stop_heave() -> None:
    made = trial_quote(with_site(SOFT, WINTER))
    assert "Frost goes about " in flags(made)
    assert "on frost group F4. A base of this depth carries the load; it does not stop frost" in flags(made)
    celsius = {"freezing_index": 500, "mean_annual_temperature": 7, "freezing_season": 90}
    assert " mm deep in the design winter" in flags(trial_quote(with_site(METRIC, celsius)))
    assert "Frost goes" not in flags(trial_quote(with_site(SOFT, WINTER, frost={"group": "NFS"})))
    assert "Frost goes" not in flags(trial_quote(with_site(SOFT, WINTER | {"freezing_index": 0})))


def test_a_soil_outside_the_frost_equations_is_refused_with_its_area() -> None:
    with pytest.raises(BasecalcError, match=r'area "Driveway": water content is 4 %; it must be from 7 to 100 %'):
        trial_quote(with_site(SOFT, WINTER, frost={"water_content": 4}))


def test_water_near_the_dig_is_flagged_and_far_water_is_not() -> None:
    made = trial_quote(with_site(SOFT, water_table=36))
    dig_m = made.offer.takeoff.area("Driveway").dig_m
    assert f"Water stands 36 in below the ground, the bottom of the dig lies at {dig_m / 0.0254:.0f} in" in flags(made)
    assert "wettest weeks" not in flags(made)  # every reading of this job was taken in wet ground
    far = trial_quote(with_site(SOFT, water_table=240))
    assert "Water" not in flags(far)
    assert "the dig fills with water" in flags(trial_quote(with_site(SOFT, water_table=6)))
    moist = trial_quote(with_site(TWO_AREAS, water_table=60))
    assert "read it again in the wettest weeks of the year" in flags(moist)
    assert "Water" not in flags(moist, "Parking bay")


def test_water_near_the_dig_brings_its_cautions_to_client_and_crew() -> None:
    made = trial_quote(with_site(SOFT, water_table=36))
    assert Fact("water", "Driveway", "", "water 36 in below the ground") in site_facts(made)
    for who in ("client", "crew"):
        assert f"{who} water" in {caution.key for caution in cautions(who, site_facts(made))}
    for far in (SOFT, with_site(SOFT, water_table=240)):
        assert not [fact for fact in site_facts(trial_quote(far)) if "water" in fact.found]


def test_water_near_is_a_matter_of_the_dig_and_the_soil() -> None:
    area = parse_job(with_site(SOFT, water_table=60)).areas[0]
    assert water_near_dig(area, 0.5)  # 40 in below the dig, in clay
    assert not water_near_dig(replace(area, soil="sand"), 0.5)
    assert not water_near_dig(replace(area, water_table_m=None), 0.5)
    assert water_near_dig(area, 0.0)  # just 5 ft
    assert not water_near_dig(replace(area, water_table_m=1.53), 0.0)
