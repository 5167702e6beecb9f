"""What a job file says of frost and water, and what the quote makes of it: the check, the flags, the cautions."""

from copy import deepcopy
from dataclasses import replace
from typing import Any

import pytest
from trial_quote import METRIC, SOFT, TWO_AREAS, trial_book, trial_quote

from basecalc.cautions import cautions, site_facts
from basecalc.core.errors import BasecalcError
from basecalc.design.frost import FrostSoil
from basecalc.design.frost_depth import Climate
from basecalc.ground.strength import Fact
from basecalc.job import parse_job
from basecalc.pricing.quote import quote
from basecalc.pricing.records import Quote
from basecalc.pricing.site import water_near
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


def test_a_job_may_leave_frost_and_water_out() -> None:
    job = parse_job(SOFT)
    assert (job.climate, job.areas[0].frost, job.areas[0].water_table_m) == (None, None, None)


def test_frost_and_water_of_an_area_are_read_in_us_units() -> None:
    grains = {"fines_below_20_microns": 12, "plasticity_index": 5}
    frost = {"group": "f2", "dry_density": 110, "water_content": "9 %"} | grains
    job = parse_job(with_site(SOFT, WINTER, frost=frost, water_table=36))
    assert job.areas[0].frost == FrostSoil("F2", 12.0, 5.0, 110.0, 9.0)
    assert job.areas[0].water_table_m == pytest.approx(36 * 0.0254)
    assert job.climate == Climate(1200, 44, 110)


def test_and_in_metric_ones() -> None:
    winter = {"freezing_index": 500, "mean_annual_temperature": 7.5, "freezing_season": 95}
    job = parse_job(with_site(METRIC, winter, frost={"dry_density": 1760}, water_table=900))
    assert job.climate is not None
    assert job.climate.freezing_index == pytest.approx(900)
    assert job.climate.mean_annual_f == pytest.approx(45.5)
    assert job.climate.season_days == 95
    assert job.areas[0].water_table_m == pytest.approx(0.9)
    assert job.areas[0].frost is not None
    assert job.areas[0].frost.dry_density_pcf == pytest.approx(109.87, abs=0.01)


@pytest.mark.parametrize(
    ("climate", "area", "sentence"),
    [
        (None, {"frost": {"group": "F7"}}, "area 1 \"Driveway\": group is 'F7'; it must be one of: NFS, PFS, S1, S2"),
        (
            None,
            {"frost": {"fines_below_20_microns": 120}},
            "fines below 20 microns is 120 %; it must be from 0",
        ),
        (None, {"frost": {"fines": 12}}, "there is no key 'fines'; the keys here are: dry_density, fines_below_20_m"),
        (None, {"frost": "F2"}, "frost is 'F2'; it must be a table of fields"),
        (None, {"water_table": -3}, "water table is -3 in; it must be from 0 to 600 in"),
        ({"freezing_index": 1200}, {}, "[job]: mean annual temperature is missing"),
        (WINTER | {"freezing_index": -1}, {}, "freezing index is -1 F-days; it must be from 0 to 10,000 F-days"),
        (WINTER | {"mean_annual_temperature": 25}, {}, "mean annual temperature is 25 F; it must be from 32 to 90 F"),
        (WINTER | {"freezing_season": "long"}, {}, "freezing season is 'long'"),
        (WINTER | {"season": 90}, {}, "[job]: there is no key 'season'; did you mean 'freezing_season'?"),
    ],
)
def test_what_a_job_file_may_not_say(climate: dict[str, Any] | None, area: dict[str, Any], sentence: str) -> None:
    with pytest.raises(BasecalcError) as refusal:
        parse_job(with_site(SOFT, climate, **area), "drive.toml")
    assert sentence in str(refusal.value)
    assert str(refusal.value).startswith("drive.toml, ")


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
    assert water_near(area, 0.5)  # 40 in below the dig, in clay
    assert not water_near(replace(area, soil="sand"), 0.5)
    assert not water_near(replace(area, water_table_m=None), 0.5)
    assert water_near(area, 0.0)  # just 5 ft
    assert not water_near(replace(area, water_table_m=1.53), 0.0)
