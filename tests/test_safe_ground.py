"""Ground that fails safe: least base by ground and climate, stone trucks, separators, loose fill, cautions."""

from copy import deepcopy
from dataclasses import replace
from decimal import Decimal
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from base_oracle import giroud_han
from hypothesis import given
from hypothesis import strategies as st
from openpyxl import load_workbook
from papers import client_file, crew_file, office_file
from trial_quote import FIRM, METRIC, SOFT, TWO_AREAS, trial_book, trial_quote

from basecalc import (
    DesignSettings,
    InputError,
    Quote,
    base_depth,
    parse_job,
    quote,
    reinforcement,
    traffic,
)
from basecalc.cautions import unknown_fill
from basecalc.cli import main
from basecalc.design.depth import Site, StoneTrucks, construction_check, practice_depth, truck_traffic
from basecalc.design.frost import FrostSoil, frost_ground
from basecalc.formulas import ground as sheet
from basecalc.pricing.site import construction, trucks_may_drive

INCH = 0.0254
LIGHT = traffic("light")
SILT = frost_ground("silt")
METRIC_OWNER = DesignSettings(step_m=0.010, minimum_depth_m=0.15)
TIP = "Tip from the end. No loaded truck on the base."


def inches(cbr: float, **known: Any) -> float:
    return round(base_depth(cbr, LIGHT, **known).required_m / INCH, 6)


def changed(job: dict[str, Any], area: dict[str, Any] | None = None, **head: Any) -> dict[str, Any]:
    made = deepcopy(job)
    made["job"].update(head)
    made["area"][0].update(area or {})
    return made


def words(data: bytes) -> str:
    return "\n".join(str(cell.value) for sheet in load_workbook(BytesIO(data)) for row in sheet for cell in row)


WRITERS = {"client": client_file, "office": office_file, "crew": crew_file}


def paper(made: Quote, reader: str) -> str:
    return words(WRITERS[reader](made, 1))


def asked_m(cbr: float, trucks: StoneTrucks, stability: float = 0.0) -> float:
    """Return what the published equation asks for under these trucks, solved by scipy."""
    load = truck_traffic(trucks)
    kind = "geogrid" if stability else "none"
    return giroud_han(cbr, 20, load.wheel_load_kn, load.tire_kpa, load.passes, load.rut_mm, stability, kind)


# -- the least base ----------------------------------------------------------------------------------------------------


@pytest.mark.source("ICPI-TOLERANCES, 6 in in driveways [read]; 2 in more on weak ground: CMHA-PAV-TEC-002 [memory]")
def test_six_inches_are_for_firm_ground_and_weak_fine_soil_takes_eight() -> None:
    assert [inches(cbr) for cbr in (2.5, 3.2, 4.99)] == [8, 8, 8]
    assert [inches(cbr) for cbr in (5, 6.4, 20)] == [6, 6, 6]
    assert inches(3.2, site=Site(fine=False)) == 6  # sand or gravel
    assert base_depth(3.2, LIGHT, reinforcement("geogrid", 0.32)).required_m == pytest.approx(8 * INCH)


@pytest.mark.source("ICPI-FREEZE-THAW, 10 in in freeze-thaw climates [read]; wet ground: CMHA-PAV-TEC-002 [memory]")
def test_soil_that_frost_lifts_takes_ten_and_near_water_eight() -> None:
    assert inches(8, frost=SILT) == 10
    assert inches(8, frost=frost_ground("sand", FrostSoil("F1")), site=Site(fine=False)) == 6
    assert inches(8, frost=SILT, site=Site(freezes=False)) == 6  # a design winter without frost
    assert inches(8, site=Site(water_below_finish_m=0.75)) == 8  # 30 in: 18 in below the dig
    assert inches(8, site=Site(water_below_finish_m=3.0)) == 6
    # 5 ft below the dig feed fine soil only: TM-5-818-2 [memory]
    assert [inches(8, site=Site(fine=fine, water_below_finish_m=1.5)) for fine in (True, False)] == [8, 6]
    assert inches(8, site=Site(water_below_finish_m=-1.0)) == 8


def test_an_owners_own_deeper_least_base_stays() -> None:
    owner = DesignSettings(minimum_depth_m=12 * INCH)
    assert base_depth(3.2, LIGHT, settings=owner, frost=SILT).required_m == pytest.approx(12 * INCH)


@pytest.mark.source("8 in (200 mm) and 10 in (250 mm), as the trade rounds them; common practice, no source")
def test_who_digs_by_the_millimeter_takes_the_metric_figure() -> None:
    assert base_depth(3.2, LIGHT, settings=METRIC_OWNER).required_m == pytest.approx(0.2)
    assert base_depth(8.0, LIGHT, settings=METRIC_OWNER, frost=SILT).required_m == pytest.approx(0.25)


@given(
    st.floats(0.4, 30), st.floats(0.4, 30), st.booleans(), st.booleans(), st.booleans(),
    st.sampled_from(["light", "delivery", "heavy"]),
)  # fmt: skip
def test_weaker_ground_and_a_further_sign_of_weakness_never_make_a_base_thinner(
    one: float, other: float, coarse: bool, wet: bool, cold: bool, load: str
) -> None:
    weak, strong = sorted((one, other))
    site = Site(fine=not coarse, water_below_finish_m=0.5 if wet else None)
    frost = SILT if cold else None
    level = traffic(load)
    asked = base_depth(weak, level, site=site, frost=frost).required_m
    assert asked >= base_depth(strong, level, site=site, frost=frost).required_m - 1e-9
    assert asked >= base_depth(weak, level, site=Site(fine=not coarse)).required_m - 1e-9


@pytest.mark.source("practice: medium 6 to 13 in under light traffic; common practice, no source")
def test_practice_is_still_shown_as_it_is_printed_beside_a_deeper_least_base() -> None:
    made = base_depth(1.6, LIGHT)
    assert made.check("practice") == practice_depth(1.6, LIGHT)
    assert made.check("practice").depth_m == pytest.approx(6 * INCH)
    assert (made.governs, made.required_m) == ("minimum", pytest.approx(8 * INCH))


def test_the_worksheet_function_counts_a_class_as_fine_soil() -> None:
    assert [sheet.base_depth(word) for word in ("medium", "stiff", "very stiff", "hard")] == [15, 8, 8, 6]
    assert sheet.base_depth("very stiff", "light", "none", sheet.LEFT_OUT, "mm") == 200


def test_a_job_takes_the_least_base_of_its_soil_its_water_and_its_winter() -> None:
    winter = {"freezing_index": 1500, "mean_annual_temperature": 44, "freezing_season": 120}
    warm = {**winter, "freezing_index": 0}

    def depth(area: dict[str, Any] | None = None, **head: Any) -> float:
        return round(trial_quote(changed(FIRM, area, **head)).stone.takeoff.base_m["Driveway"] / INCH, 6)

    assert depth() == 6
    assert depth(climate=winter) == 10
    assert depth(climate=warm) == 6
    assert depth({"frost": {"group": "F3"}}) == 10
    assert depth({"water_table": 30}) == 8
    assert depth({"water_table": 200}) == 6


def test_the_client_is_not_told_that_deeper_is_waste_where_the_ground_asks_for_more() -> None:
    waste = "Going deeper would add cost and no strength"
    free = {"foundation_edge": 0}  # along a foundation the backfill is in doubt
    assert waste in paper(trial_quote(changed(FIRM, free)), "client")
    cold = paper(trial_quote(changed(FIRM, {**free, "frost": {"group": "F4"}})), "client")
    assert waste not in cold
    assert "10 in is the least depth for a driveway on soil that frost lifts" in cold


# -- the stone trucks --------------------------------------------------------------------------------------------------


@pytest.mark.source("23-CFR-658-17: 20,000 lb single, 34,000 lb tandem [read]; 100 psi: common practice, no source")
def test_a_loaded_truck_puts_its_legal_axle_on_the_base() -> None:
    single, tandem = truck_traffic(StoneTrucks(10)), truck_traffic(StoneTrucks(10, 3))
    assert single.wheel_load_kn == pytest.approx(44.48, abs=0.01)  # 10,000 lb
    assert tandem.wheel_load_kn == pytest.approx(37.81, abs=0.01)  # 8,500 lb
    assert (single.passes, tandem.passes) == (20, 40)  # each axle in and out
    assert single.tire_kpa == pytest.approx(689.48, abs=0.01)
    assert (single.rut_mm, tandem.rut_mm) == (75, 75)


@pytest.mark.source("GIROUD-HAN, equation [read], solved by scipy [computed]")
@pytest.mark.parametrize("cbr", [0.4, 0.6, 0.8, 1.6, 2.5])
def test_the_construction_check_is_the_platform_equation_for_those_trucks(cbr: float) -> None:
    trucks = StoneTrucks(14, 3)
    assert construction_check(cbr, trucks).depth_m == pytest.approx(asked_m(cbr, trucks), abs=5e-5)
    if cbr < 2:
        grid = construction_check(cbr, trucks, reinforcement("geogrid", 0.32))
        assert grid.depth_m == pytest.approx(max(asked_m(cbr, trucks, 0.32), 0.1), abs=5e-5)


def test_trucks_that_drive_on_the_base_deepen_it_until_their_loads_agree() -> None:
    """The fixed point: the depth bears the loads of its own take-off, and one inch less does not bear them."""
    plain, driven = trial_quote(SOFT), trial_quote(changed(SOFT, stone_trucks_on_base=True))
    made = driven.depths["Driveway"]
    assert made.governs == "construction"
    assert made.required_m > plain.depths["Driveway"].required_m
    loads = round(driven.stone.takeoff.amount("stone-haul"))
    assert made.site.trucks is not None
    assert made.site.trucks.loads == loads
    asked = asked_m(made.cbr, made.site.trucks)
    assert asked <= made.required_m < asked + INCH
    grid = driven.geogrid_depths["Driveway"]
    assert grid.required_m >= plain.geogrid_depths["Driveway"].required_m
    assert grid.required_m >= made.required_m / 2 - 1e-9
    assert "construction" in paper(driven, "office")
    assert TIP not in paper(driven, "crew")
    assert "trucks that bring the stone drive on it" in paper(driven, "client")


def test_nobody_pays_for_trucks_that_tip_from_the_end_and_the_crew_is_told() -> None:
    made = trial_quote(SOFT)
    assert made.depths["Driveway"].check("construction") is None
    asked = construction(made, "Driveway")
    assert not asked.counts
    assert asked.depth_m is not None
    assert asked.depth_m > made.offered_depths["Driveway"].required_m
    assert not trucks_may_drive(made, "Driveway")
    assert TIP in paper(made, "crew")
    assert "tip from the end" in paper(made, "office")
    firm = trial_quote(FIRM)
    assert trucks_may_drive(firm, "Driveway")
    assert TIP not in paper(firm, "crew")
    kept_off = trial_quote(changed(FIRM, stone_trucks_on_base="no"))
    assert kept_off.stone.total == firm.stone.total
    assert TIP in paper(kept_off, "crew")


def test_a_word_that_is_neither_yes_nor_no_is_refused() -> None:
    with pytest.raises(InputError, match="stone trucks on base is 'sometimes'; it must be one of: yes, no"):
        trial_quote(changed(FIRM, stone_trucks_on_base="sometimes"))


# -- the separator -----------------------------------------------------------------------------------------------------


@pytest.mark.source("FHWA-NHI-05-037 Table 7-15: below CBR 3 [digitized]; BURAK-2005: no thinner base [read]")
def test_a_geogrid_on_wet_clay_without_a_separator_is_said_to_everybody_and_priced() -> None:
    bare = trial_quote(changed(SOFT, {"geotextile": False}))
    with_one = trial_quote(SOFT)
    assert bare.separator is not None
    assert bare.separator.more == with_one.offer.total - bare.offer.total
    assert bare.separator.more > 0
    assert "we advise against building without it" in paper(bare, "client")
    assert "NO SEPARATOR" in paper(bare, "office")
    assert "GEOGRID WITHOUT A SEPARATOR" in paper(bare, "crew")
    assert with_one.separator is None
    for reader in WRITERS:
        text = paper(with_one, reader)
        assert "eparation fabric" not in text
        assert "SEPARATOR" not in text


def test_stone_on_wet_or_weak_fine_soil_calls_for_one_and_firm_or_coarse_ground_does_not() -> None:
    def lacks(job: dict[str, Any]) -> bool:
        return trial_quote(job, grid=False).separator is not None

    assert lacks(changed(SOFT, {"geotextile": False}))
    assert lacks(changed(FIRM, {"water_table": 30}))
    assert not lacks(FIRM)
    gravel = changed(FIRM, {"water_table": 30, "soil": "gravel", "strength": 8})
    assert not lacks({**gravel, "spot": []})


def test_an_owner_without_a_geotextile_still_hears_of_it() -> None:
    book = trial_book()
    none = replace(book, company=replace(book.company, rolls=()))
    made = quote(parse_job(changed(SOFT, {"geotextile": False})), none)
    assert made.separator is not None
    assert (made.separator.more, "geotextile" in made.separator.cannot) == (None, True)
    assert "cannot be priced" in paper(made, "office")


# -- loose fill --------------------------------------------------------------------------------------------------------


def test_a_price_over_fill_of_unknown_depth_is_conditional_until_somebody_measures_it() -> None:
    unknown = trial_quote(changed(FIRM, new_build=True))
    assert set(unknown_fill(unknown.job, unknown.ground)) == {"Driveway"}
    assert "this price is conditional" in paper(unknown, "client")
    assert "nobody measured how deep it goes" in paper(unknown, "office")
    assert "How deep the fill goes" in paper(unknown, "crew")
    measured_job = changed(FIRM, {"loose_fill_depth": 40, "sound_ground": "hard"}, new_build=True)
    for job in (measured_job, changed(FIRM, {"loose_fill_depth": 0}, new_build=True)):
        made = trial_quote(job)
        assert unknown_fill(made.job, made.ground) == {}
        assert "this price is conditional" not in paper(made, "client")
    assert unknown_fill(trial_quote(FIRM).job, trial_quote(FIRM).ground) == {}


def test_a_rod_that_stands_out_is_a_sign_of_fill_too() -> None:
    made = trial_quote(TWO_AREAS)
    assert "a steel rod went in far deeper than beside it" in unknown_fill(made.job, made.ground)["Driveway"]


def test_recompacting_in_place_is_priced_by_digging_and_placing() -> None:
    """The volume from the bottom of the dig to sound ground at 40 in, dug and placed; no tax on work. By hand:

    62.5 x 15 ft with the reach of 6 in, 40 - (3 3/8 + 6 - 1) in deep: 91.51 yd3, dug at 14 yd3 an hour by crew and
    machine (6.54 h) and placed by the crew at 5 yd3 an hour (18.30 h); 167.39 and 93.71 an hour.
    """
    made = trial_quote(changed(FIRM, {"loose_fill_depth": 40, "sound_ground": "hard"}))
    (one,) = made.fill_options
    yd3 = 62.5 * 15 * (40 - 8.375) / 12 / 27
    assert one.recompact_m3 == pytest.approx(yd3 * 0.764554857984)
    assert (round(yd3 / 14, 2), round(yd3 / 5, 2)) == (6.54, 18.30)
    cost = Decimal("1094.73") + Decimal("612.86") + Decimal("3063.24")
    contingency = Decimal("157.91")  # 3.31 % of 4,770.83
    overhead = Decimal("578.14")  # 11.73 % of 4,928.74
    profit = Decimal("1018.63")  # 15.61 % of the price: 5,506.88 x 0.1561 / 0.8439
    assert one.recompact == cost + contingency + overhead + profit
    assert "put back in compacted lifts" in paper(made, "office")


# -- cautions and holds ------------------------------------------------------------------------------------------------

ON_ANY_JOB = (
    "Nothing raised within 10 ft of a power line", "GAS SMELL OR A STRUCK LINE: engines off, leave, call 911",
    "Hand dig within 24 in of a mark", "Keep off septic tanks, septic and drip fields and wells",
    "Roots thicker than 2 in", "working backup alarm", "weights that town roads post", "Keep soil on the site",
    "HOLD before the first lift", "95 % of standard Proctor",
)  # fmt: skip


def test_every_crew_reads_what_can_hurt_and_some_cautions_are_for_their_finding_only() -> None:
    firm = paper(trial_quote(FIRM), "crew")
    assert [sentence for sentence in ON_ANY_JOB if sentence not in firm] == []
    assert "No vibration and no heavy roller closer to a basement wall" in firm  # along the garage
    assert "fills like a tub" not in firm
    soft = trial_quote(SOFT)
    assert "fills like a tub" in paper(soft, "client")
    assert "fills like a tub" in paper(soft, "crew")
    assert "Jackhammer outdoors" in paper(trial_quote(TWO_AREAS), "crew")
    assert "Jackhammer outdoors" not in firm
    steep = paper(trial_quote(changed(FIRM, {"fall_length": 62 * 12 * 0.1, "fall_width": 0})), "crew")
    assert "a slope of 10 %" in steep.casefold()
    assert "No truck with its box up across the slope" in steep
    assert "No truck with its box up across the slope" not in firm
    assert "within 3 m of a power line" in paper(trial_quote(METRIC, units="metric"), "crew")


def test_check_says_what_a_sound_job_leaves_open(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    def check() -> tuple[int, str]:
        with pytest.raises(SystemExit) as stop:
            main(["check", str(job)])
        return int(stop.value.code or 0), capsys.readouterr().out

    job = tmp_path / "job.toml"
    text = '[job]\nnumber = "Q-1"\nclient = "Any"\nsite = "Any Lane"\nseason = "wet"\nsoil = "clay"\n'
    area = '[[area]]\nname = "Drive"\nshape = "rectangle"\nlength = 40\nwidth = 12\n'
    spot = '[[spot]]\nname = "gate"\nreadings = [{ test = "walk", reading = 2.5, note = "old backfill" }]\n'
    job.write_text(text + area + spot)
    code, output = check()
    assert code == 0
    assert "worth a look: Drive: stone on wet clay" in output
    assert 'worth a look: Drive: a note says "backfill"; nobody measured how deep it goes' in output
    job.write_text(text + area + "geotextile = true\nloose_fill_depth = 0\n" + spot)
    assert check() == (0, f"{job}: nothing wrong was found\n")
