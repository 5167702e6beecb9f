"""The take-off of a whole job: what belongs to an area, what is pooled, and what US and metric jobs share."""

from dataclasses import fields, replace
from math import floor
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pricing_kit import changed, job_data, owner
from printed import FOOT2_M2, FOOT_M, INCH_M, POUND_KG, SHORT_TON_KG, YARD3_M3

from basecalc import BasecalcError, InputError, OutOfRangeError, PriceError, parse_job, take_off
from basecalc.company import Paver, Stone, Truck
from basecalc.core.numbers import round_up
from basecalc.takeoff.rolls import cut
from basecalc.takeoff.takeoff import Takeoff

OWNER = owner()


def taken(depth_in: float = 8.0, **area: Any) -> Takeoff:
    job = parse_job(job_data(**area))
    return take_off(job, OWNER, {"Driveway": depth_in * INCH_M}, "stone", cbrs={"Driveway": 2.0})


def two_areas(**job: Any) -> dict[str, Any]:
    first = job_data()["area"][0]
    bay = {**first, "name": "Bay", "length": 20, "width": 10, "soil": "sand"}
    return changed({**job_data(), "area": [first, bay]}, **job)


@pytest.mark.source("WSDOT-M22-01, Exhibit 620-1: 800 ft2 x 8 in at 1.48 ton/yd3 loose x 1.254 [read]")
def test_base_stone_of_eight_inches_without_extension() -> None:
    # 800 x 8 / 12 / 27 = 19.7531 yd3, x 1.254 x 1.48 = 36.660 ton, x 1.05 for waste = 38.493 ton
    made = taken(open_edge=0).area("Driveway")
    assert made.base_area_m2 / FOOT2_M2 == pytest.approx(800)
    assert made.stone_m3 / YARD3_M3 == pytest.approx(19.7531, abs=1e-4)
    assert made.stone_kg / SHORT_TON_KG == pytest.approx(38.493, abs=1e-3)


@pytest.mark.source("shapely, buffer with mitred corners: 40 x 20 ft + 8 in, 881.78 ft2 [computed]")
def test_the_base_reaches_beyond_the_open_edge_by_its_own_depth_or_six_inches() -> None:
    assert taken().area("Driveway").base_area_m2 / FOOT2_M2 == pytest.approx(881.78, abs=5e-3)
    # 4 in of base: 6 in, the least. 800 + 120 x 0.5 + 4 x 0.25 = 861 ft2
    assert taken(4).area("Driveway").base_area_m2 / FOOT2_M2 == pytest.approx(861)


def test_an_old_pavement_is_a_quantity_of_its_own_and_comes_off_the_dig_below_it() -> None:
    made = taken(old_pavement=3, old_pavement_kind="asphalt")
    area = made.area("Driveway")
    # 8 + 1 + 2.375 - 3 = 8.375 in below it; beside it, on 81.78 ft2, 11.375 in.
    by_hand = 800 * 8.375 / 12 / 27 + 81.7778 * 11.375 / 12 / 27
    assert area.bank_m3 / YARD3_M3 == pytest.approx(by_hand, rel=1e-6)
    assert made.amount("old-pavement") == pytest.approx(800)
    # 800 x 3 / 12 / 27 = 7.4074 yd3 in place x 3,915 lb = 14.5 ton, 11.11 yd3 broken: 1.04 loads of 14 ton
    assert made.amount("old-pavement-haul") == 2
    assert area.below_finish_m / INCH_M == pytest.approx(11.375)
    assert taken().amount("old-pavement") == taken().amount("old-pavement-haul") == 0


def test_fill_that_would_be_needed_below_the_base_is_refused_with_its_area() -> None:
    with pytest.raises(OutOfRangeError, match='area "Driveway": the finish is 20 in') as refused:
        taken(finish_above_ground=20)
    assert "fill is missing below the base" in str(refused.value)


def test_granular_fill_at_a_foundation_is_dug_hauled_and_brought() -> None:
    made = taken(foundation_edge=20, foundation_fill_depth=24, foundation_fill_width=3)
    # 20 x 3 x 2 / 27 = 4.4444 yd3 in place, x 1.15 x 1.4 = 7.1556 ton
    assert made.amount("foundation-place") == pytest.approx(4.4444, abs=1e-4)
    assert made.amount("foundation-fill") == pytest.approx(7.1556, abs=1e-4)
    base, fill = made.of("dig")
    assert fill.amount == pytest.approx(4.4444, abs=1e-4)
    assert made.area("Driveway").bank_m3 / YARD3_M3 == pytest.approx(base.amount + fill.amount)
    assert [one.variant for one in made.of("stone-haul")] == ["crusher run", "concrete sand", "washed gravel"]


def test_loads_are_whole_for_the_job_and_not_for_each_area() -> None:
    job = parse_job(two_areas())
    depths = {"Driveway": 8 * INCH_M, "Bay": 8 * INCH_M}
    made = take_off(job, OWNER, depths, "stone")
    (exact,) = made.values["job"]
    for code, keys in (
        ("spoil-haul", ["spoil_trucks"]), ("joint-sand", ["bags_used"]),
        ("stone-haul", ["stone_trucks", "sand_trucks"]),
    ):  # fmt: skip
        assert [one.amount for one in made.of(code)] == [round_up(exact[key]) for key in keys]
    kg = sum(area.stone_kg for area in made.areas)
    assert exact["stone_trucks"] == pytest.approx(kg / (14 * SHORT_TON_KG))


@pytest.mark.source("FM-5-434 Table 1-1 (sand 1.11, clay 1.43) [memory]; TM-9-2320-366-10-1 Table 2-15 [read]")
def test_each_soil_bulks_and_weighs_in_its_own_way() -> None:
    made = take_off(parse_job(two_areas()), OWNER, {"Driveway": 0.2, "Bay": 0.2}, "stone")
    clay, sand = made.areas
    assert (clay.loose_m3 / clay.bank_m3, sand.loose_m3 / sand.bank_m3) == pytest.approx((1.43, 1.11))
    per_yard = [area.spoil_kg / POUND_KG / (area.loose_m3 / YARD3_M3) for area in made.areas]
    assert per_yard == pytest.approx([2565, 2970])


def test_the_owners_own_swell_and_box_are_counted() -> None:
    own = replace(OWNER, soils={"clay": 1.3})
    area = take_off(parse_job(job_data()), own, {"Driveway": 0.2}, "stone").areas[0]
    assert area.loose_m3 / area.bank_m3 == pytest.approx(1.3)
    own = replace(OWNER, trucks=(Truck("small box", "both", 14 * SHORT_TON_KG, 5 * YARD3_M3),))
    made = take_off(parse_job(job_data()), own, {"Driveway": 8 * INCH_M}, "stone")
    loose = made.areas[0].loose_m3 / YARD3_M3
    assert made.amount("spoil-haul") == round_up(loose / 5)
    assert "filled by volume" in made.of("spoil-haul")[0].working


def test_geotextile_is_laid_where_the_area_asks_for_it() -> None:
    made = taken(geotextile=True)
    # 8 in beyond each edge: 41.33 x 21.33 ft; overlap 3.3 ft at CBR 2: (21.33 - 3.3) / (12.5 - 3.3) = 1.96: 2 strips.
    assert made.amount("geotextile") == 1
    assert [(one.strips, round(one.side_m / FOOT_M, 3)) for one in made.areas[0].rolls] == [(2, 3.3)]
    assert taken().amount("geotextile") == 0
    with pytest.raises(InputError, match="the overlap of the geotextile needs the strength of the ground"):
        take_off(parse_job(job_data(geotextile=True)), OWNER, {"Driveway": 0.2}, "habit")


def test_sewn_seams_and_topsoil_that_stays_catch_the_eye() -> None:
    job = parse_job(job_data(geotextile=True))
    made = take_off(job, OWNER, {"Driveway": 0.6}, "stone", cbrs={"Driveway": 0.45})
    assert any("must be sewn" in flag for flag in made.areas[0].flags)
    assert any("topsoil" in flag for flag in taken(6, finish_above_ground=7).areas[0].flags)
    assert taken(12).areas[0].flags == ()


@pytest.mark.source("rolls by laying them out [computed]")
def test_what_is_left_of_a_roll_begins_the_next_area() -> None:
    # Four areas of one 15 m strip each, rolls of 50 m: three strips and a rest of 5 m, the fourth laps on it.
    made, left = cut([(1, 15.0, 0.3)] * 4, 50.0)
    assert [[(piece.roll, round(piece.length_m, 9)) for piece in strip] for strip in made] == [
        [(1, 15.0)], [(1, 15.0)], [(1, 15.0)], [(1, 5.0), (2, 10.3)]
    ]  # fmt: skip
    assert left == pytest.approx(39.7)
    bay = {**job_data()["area"][0], "name": "Bay", "length": 20, "width": 10}
    job = parse_job(
        {**job_data(), "area": [{**job_data()["area"][0], "geotextile": True}, {**bay, "geotextile": True}]}
    )
    both = take_off(job, OWNER, {"Driveway": 8 * INCH_M, "Bay": 8 * INCH_M}, "stone", cbrs={"Driveway": 2, "Bay": 2})
    assert both.amount("geotextile") == 1
    assert [row["textile_used"] for row in both.values["textile"]] == [1, 1, 1]


def test_an_inch_more_is_added_where_it_is_asked_for() -> None:
    job = parse_job(two_areas())
    depths = {"Driveway": 8 * INCH_M, "Bay": 6 * INCH_M}
    everywhere = take_off(job, OWNER, depths, "stone", INCH_M).base_m
    in_the_bay = take_off(job, OWNER, depths, "stone", {"Bay": INCH_M}).base_m
    assert {name: round(depth / INCH_M, 9) for name, depth in everywhere.items()} == {"Driveway": 9, "Bay": 7}
    assert {name: round(depth / INCH_M, 9) for name, depth in in_the_bay.items()} == {"Driveway": 8, "Bay": 7}


def test_a_metric_job_is_the_same_job() -> None:
    us = two_areas()
    areas = [{**area, "length": area["length"] * 0.3048, "width": area["width"] * 0.3048} for area in us["area"]]
    metric = changed({**us, "area": areas}, units="metric")
    depths = {"Driveway": 0.25, "Bay": 0.2}
    made, same = (take_off(parse_job(data), OWNER, depths, "stone") for data in (us, metric))
    for one, other in zip(made.areas, same.areas, strict=True):
        for field in fields(one):
            if isinstance(getattr(one, field.name), float):
                assert getattr(other, field.name) == pytest.approx(getattr(one, field.name), rel=1e-8), field.name
    factors = {"yd3": ("m3", YARD3_M3), "ton": ("t", SHORT_TON_KG / 1000), "ft2": ("m2", FOOT2_M2), "ft": ("m", FOOT_M)}
    for ours, theirs in zip(made.quantities, same.quantities, strict=True):
        unit, factor = factors.get(ours.unit, (ours.unit, 1.0))
        assert (theirs.code, theirs.unit) == (ours.code, unit)
        assert theirs.amount == pytest.approx(ours.amount * factor, rel=1e-8)


def test_a_job_takes_the_material_it_names() -> None:
    own = replace(
        OWNER,
        stones=(*OWNER.stones, Stone("rail ballast", "ballast", "base", 1840.0, 1.258, 0.0)),
        pavers=(*OWNER.pavers, Paver("thick block", "thick", 0.08, 0.05)),
    )
    job = parse_job(changed(job_data(), stone="Rail  Ballast", paver="thick block"))
    made = take_off(job, own, {"Driveway": 0.2}, "stone")
    assert made.of("base-stone")[0].variant == "rail ballast"
    assert made.of("pavers")[0].variant == "thick block"
    assert made.areas[0].below_finish_m == pytest.approx(0.2 + 0.08 + 0.0254)


def test_a_material_the_owner_does_not_have_is_refused() -> None:
    job = parse_job(changed(job_data(), stone="marble"), "drive.toml")
    with pytest.raises(InputError, match=r"drive\.toml: stone is 'marble'; it must be one of the owner's: crusher run"):
        take_off(job, OWNER, {"Driveway": 0.2}, "stone")
    with pytest.raises(PriceError, match="sheet Company: there is no paver in the owner's lists"):
        take_off(parse_job(job_data()), replace(OWNER, pavers=()), {"Driveway": 0.2}, "stone")


def test_an_area_without_a_depth_is_refused() -> None:
    with pytest.raises(InputError, match="area Driveway has no base depth"):
        take_off(parse_job(job_data()), OWNER, {}, "stone")
    with pytest.raises(BasecalcError, match=r"base depth is 0 m; it must be from 0\.05 to 3 m"):
        take_off(parse_job(job_data()), OWNER, {"Driveway": 0.0}, "stone")


@given(
    length=st.floats(5, 300), width=st.floats(5, 60), inches=st.integers(4, 40),
    tons=st.floats(4, 30), yards=st.floats(3, 25),
)  # fmt: skip
def test_the_trucks_ordered_always_hold_what_is_hauled(
    length: float, width: float, inches: int, tons: float, yards: float
) -> None:
    own = replace(OWNER, trucks=(Truck("any", "both", tons * SHORT_TON_KG, yards * YARD3_M3),))
    made = take_off(parse_job(job_data(length=length, width=width)), own, {"Driveway": inches * INCH_M}, "stone")
    area = made.areas[0]
    out, brought = made.amount("spoil-haul"), made.of("stone-haul")[0].amount
    assert out == floor(out)
    assert brought == floor(brought)
    hair = 1e-8
    assert brought * tons * SHORT_TON_KG >= area.stone_kg * (1 - hair)
    assert brought * yards * YARD3_M3 >= area.stone_loose_m3 * (1 - hair)
    assert out * tons * SHORT_TON_KG >= area.spoil_kg * (1 - hair)
    assert out * yards * YARD3_M3 >= area.loose_m3 * (1 - hair)
    assert (brought - 1) * min(tons * SHORT_TON_KG / area.stone_kg, yards * YARD3_M3 / area.stone_loose_m3) < 1 + hair
