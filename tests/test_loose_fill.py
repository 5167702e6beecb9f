"""An old base that stays and loose fill that goes: quantities by hand, both ways priced, and what each reader sees."""

import io
from dataclasses import replace
from decimal import Decimal
from typing import Any

import openpyxl
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from papers import client_file, office_file
from pricing_kit import book, job_data, owner
from printed import FOOT2_M2, INCH_M, POUND_KG, YARD3_M3

from basecalc import InputError, Job, Quote, parse_job, quote
from basecalc.takeoff.takeoff import AreaTakeoff

HOLES = [{"where": "gate", "base": 8, "state": "clean"}, {"where": "garage", "base": 7, "state": "clean"}]
KEPT: dict[str, Any] = {
    "old_pavement": 3, "old_pavement_kind": "asphalt", "finish_above_ground": 1, "strength": "hard",
    "keep_old_base": True, "test_holes": HOLES,
}  # fmt: skip
STRIP: dict[str, Any] = {
    "foundation_edge": 20, "foundation_fill_width": 4, "foundation_strip": True, "strength": "hard",
    "loose_fill_depth": 36,
}  # fmt: skip
AT_HOUSE = "Driveway at the foundation"
OLD_STRIP = {"old_pavement": 3, "old_pavement_kind": "asphalt"}


def job(**area: Any) -> Job:
    return parse_job(job_data(**area))


def made(**area: Any) -> Quote:
    return quote(job(**area), book())


def drive(of: Quote, name: str = "Driveway") -> AreaTakeoff:
    return of.stone.takeoff.area(name)


def flags(of: Quote, name: str = "Driveway") -> str:
    return "\n".join((*of.ground[name].flags, *of.ground[name].conflicts))


def texts(content: bytes) -> str:
    sheets = openpyxl.load_workbook(io.BytesIO(content)).worksheets
    return "\n".join(str(cell.value) for sheet in sheets for row in sheet.iter_rows() for cell in row if cell.value)


def test_an_old_base_that_stays_by_hand() -> None:
    # Hard ground: the least base, 6 in. Pavers and sand 2.375 + 1 in, finish 1 in up, asphalt 3 in: the sand ends
    # 0.625 in above the old base, so 0.625 in of new stone. 7 in of old base x 10 / 14 = 5 in: together 5.625 in,
    # 0.375 in short. Each inch replaced gains 4 / 14: 1.3125 in are replaced, 5.6875 in stay under 1.9375 in of stone.
    area = drive(made(**KEPT))
    assert area.base_m / INCH_M == pytest.approx(6)
    assert area.kept_m / INCH_M == pytest.approx(5.6875)
    assert area.new_m / INCH_M == pytest.approx(1.9375)
    assert area.dig_m / INCH_M == pytest.approx(1.3125)
    assert area.below_finish_m / INCH_M == pytest.approx(3.375 + 1.9375)
    # Past the edge: 120 ft x 0.5 ft + 4 x 0.25 = 61 ft2, dug 6 + 3.375 - 1 = 8.375 in, 6 in of stone.
    assert area.bank_m3 / YARD3_M3 == pytest.approx((800 * 1.3125 + 61 * 8.375) / 324)
    assert area.stone_m3 / YARD3_M3 == pytest.approx((800 * 1.9375 + 61 * 6) / 324)
    # What comes off the old base is gravel (swell 1.11, 2,970 lb/yd3), beside it clay (1.43, 2,565).
    gravel, clay = 800 * 1.3125 / 324 * 1.11, 61 * 8.375 / 324 * 1.43
    assert area.loose_m3 / YARD3_M3 == pytest.approx(gravel + clay)
    assert area.spoil_kg / POUND_KG == pytest.approx(gravel * 2970 + clay * 2565)


@pytest.mark.parametrize(
    "against",
    [
        {"test_holes": []},
        {"test_holes": HOLES[:1]},
        {"test_holes": [], "old_base": 12},
        {"test_holes": [HOLES[0], {**HOLES[1], "state": "dirty"}]},
        {"strength": "medium"},
        {"geotextile": True},
        {"old_pavement_state": "settled"},
        {"finish_above_ground": -1},  # the sand would reach 1.375 in into it, and less than 3 in would be left
    ],
)
def test_an_old_base_that_may_not_stay_costs_what_digging_it_out_costs_and_says_so(against: dict[str, Any]) -> None:
    """A kept base is never counted by accident: every number is that of a job that does not ask for it."""
    kept, plain = made(**{**KEPT, **against}), made(**{**KEPT, **against, "keep_old_base": False, "test_holes": []})
    assert kept.stone.total == plain.stone.total
    assert [(one.code, one.amount) for one in kept.stone.takeoff.quantities] == [
        (one.code, one.amount) for one in plain.stone.takeoff.quantities
    ]
    assert "The old base is priced as dug out, it may not stay: " in flags(kept)
    assert any("dug out" in flag for flag in drive(kept).flags)


def test_a_claimed_thickness_without_a_hole_is_told_loudly() -> None:
    of = made(**{**KEPT, "test_holes": [], "old_base": 12})
    assert "12 in of old base is hearsay: without a test hole none of it counts." in flags(of)
    assert "Open 2 test holes" in flags(of)
    assert "The old stone base is priced as dug out. It may stay only if 2 test holes" in texts(client_file(of, 1))


@settings(max_examples=40, deadline=None)
@example(base=3.0, above=4.0, old=6.0, ground="hard")  # dug out, it would take more stone than the ground needs
@given(base=st.floats(3, 14), above=st.floats(-2, 5), old=st.floats(0.5, 6), ground=st.sampled_from(["stiff", "hard"]))
def test_what_stays_is_always_worth_the_base_needed_and_fits_between_the_levels(
    base: float, above: float, old: float, ground: str
) -> None:
    holes = [{"where": place, "base": base, "state": "clean"} for place in ("a", "b")]
    more = {"old_pavement": old, "finish_above_ground": above, "test_holes": holes, "strength": ground}
    area = drive(made(**{**KEPT, **more}))
    if not area.kept_m:
        assert area.new_m == area.base_m
        return
    assert area.new_m + area.kept_m * 10 / 14 >= area.base_m - 1e-9
    assert area.kept_m / INCH_M >= 3 - 1e-9
    assert area.new_m >= 0
    # from the finish down: pavers, sand, new stone, old base, and there lies the bottom of the old base
    bottom = (2.375 + 1) * INCH_M + area.new_m + area.kept_m
    assert bottom == pytest.approx((above + old + base) * INCH_M)


def test_no_geogrid_is_laid_below_a_base_that_stays_and_digging_it_out_after_all_is_priced_anew() -> None:
    of = made(
        **{**KEPT, "strength": "stiff", "finish_above_ground": 5, "test_holes": [{**h, "base": 14} for h in HOLES]}
    )
    assert drive(of).kept_m > 0
    assert of.geogrid is None
    assert of.deeper.areas == {}
    assert "If it has to come out, we price that anew" in texts(client_file(of, 1))
    dug_out = made(**{**KEPT, "test_holes": []})
    assert dug_out.deeper.areas["Driveway"][0] > 0
    assert "If it has to come out" not in texts(client_file(dug_out, 1))


def test_an_old_base_under_a_high_finish_stays_with_the_stone_that_fills_its_place() -> None:
    """Asphalt 6 in, finish 4 in up: 10 in to fill, pavers and sand are 3.375: 6.625 in of new stone on the old base."""
    high = {"old_pavement": 6, "finish_above_ground": 4, "test_holes": [{**hole, "base": 3} for hole in HOLES]}
    of = made(**{**KEPT, **high})
    assert drive(of).kept_m / INCH_M == pytest.approx(3)
    assert drive(of).new_m / INCH_M == pytest.approx(6.625)
    assert of.deeper.areas == {}


def test_an_old_pavement_that_speaks_for_weaker_ground_wins_and_the_conflict_is_shown() -> None:
    sunk = [{"what": "settlement", "where": "middle", "gap": 1}]
    of = made(**{**OLD_STRIP, "strength": "hard", "old_pavement_seen": sunk})
    assert of.ground["Driveway"].strength.strength_class == "stiff"
    assert "speaks for medium to stiff ground, but hard was taken: the weaker is taken" in flags(of)
    better = made(**{**OLD_STRIP, "strength": "medium", "old_pavement_age": 15, "old_pavement_state": "even"})
    assert better.ground["Driveway"].strength.strength_class == "medium"
    assert "better ground than the medium that was taken" in flags(better)
    assert "common practice of the trade, no source [practice]" in flags(better)


def test_a_strip_that_nobody_tested_is_soft_and_no_stronger_than_the_rest() -> None:
    of = made(**STRIP)
    assert [of.ground[name].strength.strength_class for name in ("Driveway", AT_HOUSE)] == ["hard", "soft"]
    assert "Nothing was read in the strip along the foundation" in flags(of, AT_HOUSE)
    weak = made(**{**STRIP, "strength": 0.42, "loose_fill_depth": 60})
    assert drive(weak, AT_HOUSE).base_m >= drive(weak).base_m
    given_by_hand = made(**STRIP, foundation_strip_strength="medium")
    assert given_by_hand.ground[AT_HOUSE].strength.strength_class == "medium"
    assert "we rate it" not in texts(client_file(given_by_hand, 1))


def test_loose_fill_dug_out_by_hand() -> None:
    # Strip 20 x 4 ft on hard ground once filled: base 6 in, dug 6 + 2.375 + 1 = 9.375 in; ends 2 x 4 ft reach 0.5 ft
    # on: 84 ft2. Sound ground at 36 in: 36 - 9.375 = 26.625 in of fill. The rest 720 ft2, open 92 ft, 2 corners.
    of = made(**STRIP, loose_fill="fill")
    strip, rest = drive(of, AT_HOUSE), drive(of)
    assert strip.base_area_m2 / FOOT2_M2 == pytest.approx(84)
    assert strip.fill_m / INCH_M == pytest.approx(26.625)
    assert strip.fill_m3 / YARD3_M3 == pytest.approx(84 * 26.625 / 324)
    assert strip.bank_m3 / YARD3_M3 == pytest.approx(84 * 36 / 324)
    assert rest.base_area_m2 / FOOT2_M2 == pytest.approx(720 + 92 * 0.5 + 2 * 0.25)
    assert rest.fill_m3 == 0
    assert of.stone.takeoff.amount("foundation-place") == pytest.approx(84 * 26.625 / 324)
    # washed gravel of the kit: x 1.15 x 1.4 ton/yd3
    assert of.stone.takeoff.amount("foundation-fill") == pytest.approx(84 * 26.625 / 324 * 1.15 * 1.4)


def test_a_split_area_digs_and_fills_no_less_than_the_whole_one() -> None:
    """One depth everywhere, or a deeper strip: the parts together never take less than the whole did."""
    whole = drive(made(foundation_edge=20, strength="hard"))
    same = made(**STRIP, foundation_strip_strength="hard")
    parts = [drive(same), drive(same, AT_HOUSE)]
    assert sum(part.bank_m3 for part in parts) == pytest.approx(whole.bank_m3)
    assert sum(part.stone_m3 for part in parts) == pytest.approx(whole.stone_m3)
    soft = made(**STRIP)
    assert drive(soft).bank_m3 + drive(soft, AT_HOUSE).bank_m3 > whole.bank_m3
    ordered = {**STRIP, "foundation_fill_depth": 24}
    ordered.pop("loose_fill_depth")
    alone = made(**{**ordered, "foundation_strip": False})
    assert made(**ordered).stone.takeoff.amount("foundation-place") == pytest.approx(
        alone.stone.takeoff.amount("foundation-place")
    )


def test_a_new_plot_without_a_strip_says_that_the_backfill_is_taken_for_as_strong_as_the_rest() -> None:
    data = job_data(foundation_edge=20, strength="hard")
    data["job"]["new_build"] = True
    assert "taken as strong as the rest of this area" in flags(quote(parse_job(data), book()))
    data["area"][0] |= STRIP
    assert "taken as strong as the rest" not in flags(quote(parse_job(data), book()), AT_HOUSE)


def test_a_base_that_reaches_sound_ground_leaves_no_fill_to_replace() -> None:
    of = made(**{**STRIP, "loose_fill": "fill", "loose_fill_depth": 9})
    assert drive(of, AT_HOUSE).fill_m == 0
    assert of.stone.takeoff.of("foundation-fill") == ()
    stone = made(**{**STRIP, "loose_fill_depth": 20})
    assert "reaches the sound ground below the loose fill by itself" in flags(stone, AT_HOUSE)


def test_both_ways_are_priced_as_the_whole_job_and_each_is_the_job_quoted_that_way() -> None:
    stone, fill = made(**STRIP), made(**STRIP, loose_fill="fill")
    option = stone.fill_options[0]
    assert (option.area, option.chosen.way, option.chosen.total) == (AT_HOUSE, "stone", stone.offer.total)
    assert option.other is not None
    assert (option.other.way, option.other.total, option.other.cost) == ("fill", fill.offer.total, fill.offer.cost)
    assert option.more == fill.offer.total - stone.offer.total
    back = fill.fill_options[0]
    assert back.other is not None
    assert (back.other.total, back.more) == (stone.offer.total, -(option.more or Decimal(0)))
    assert made(strength="hard").fill_options == ()


def test_a_way_that_cannot_be_built_is_told_and_not_priced() -> None:
    of = made(**STRIP, loose_fill="fill", foundation_strip_strength="very soft")
    option = of.fill_options[0]
    assert option.other is None
    assert option.more is None
    assert "a licensed engineer must design it" in option.cannot
    assert "The other way cannot be priced here: strength is 'very soft'" in texts(office_file(of, 1))
    assert "and compact granular fill in its place" in texts(client_file(of, 1))
    assert "each part built for the ground it lies on" in texts(client_file(of, 1))


def test_a_soft_area_may_be_dug_out_too() -> None:
    of = made(strength="soft", loose_fill_depth=30, loose_fill="fill", sound_ground="stiff")
    area = drive(of)
    assert of.ground["Driveway"].strength.strength_class == "stiff"
    assert area.fill_m == pytest.approx(30 * INCH_M - area.dig_m)
    assert "without it soft" in of.ground["Driveway"].rule


def test_sound_ground_weaker_than_the_fill_above_it_is_refused() -> None:
    with pytest.raises(
        InputError, match=r'area "Driveway": sound ground is soft; it must be at least stiff, as strong'
    ):
        made(strength="stiff", loose_fill_depth=30, sound_ground="soft")


def test_an_owner_without_granular_fill_is_told_that_the_other_way_has_no_material() -> None:
    short = replace(owner(), stones=tuple(stone for stone in owner().stones if stone.kind != "fill"))
    option = quote(job(**STRIP), book(own=short)).fill_options[0]
    assert option.other is None
    assert "there is no granular fill in the owner's lists" in option.cannot


def test_the_client_sees_the_other_way_only_when_it_is_offered_and_the_office_always() -> None:
    quiet, offered = made(**STRIP), made(**STRIP, offer_other_way=True)
    assert "Another way to deal with the loose fill" not in texts(client_file(quiet, 1))
    shown = texts(client_file(offered, 1))
    assert "the loose fill is dug out to firm ground at 36 in" in shown
    more = offered.fill_options[0].more
    assert more is not None
    assert f"${abs(more):,.2f} {'more' if more > 0 else 'less'} in all" in shown
    office = texts(office_file(quiet, 1))
    assert f"Loose fill, {AT_HOUSE}. Priced: " in office
    assert f"by ${abs(more):,.2f}" in office


def test_a_dig_below_the_footing_is_told_with_its_source() -> None:
    deep = made(**STRIP, loose_fill="fill", footing_depth=30)
    assert "goes 36 in down, below the bottom of its footing at 30 in" in flags(deep, AT_HOUSE)
    assert "29 CFR 1926.651(i), from memory" in flags(deep, AT_HOUSE)
    assert "footing" not in flags(made(**STRIP, loose_fill="fill", footing_depth=48), AT_HOUSE)
    unknown = flags(made(**STRIP), AT_HOUSE)
    assert "one down on one out (common practice, no source)" in unknown
    assert "licensed engineer" in unknown


def test_the_standard_depth_and_a_what_if_by_depth_alone_keep_no_old_base() -> None:
    of = made(**KEPT)
    assert of.standard is not None
    assert of.standard.takeoff.area("Driveway").kept_m == 0
