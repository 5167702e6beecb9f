"""Single quantities of the model against printed values, sums worked by hand and what must always hold."""

from math import ceil
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from printed import FOOT2_M2, FOOT_M, INCH_M, POUND_KG, SHORT_TON_KG, YARD3_M3

from basecalc import InputError, OutOfRangeError
from basecalc.core.published import table
from basecalc.takeoff.model import MODEL
from basecalc.takeoff.road_weight import bridge_limit_lb

TON_PER_YARD3 = SHORT_TON_KG / YARD3_M3
LB_PER_YARD3 = POUND_KG / YARD3_M3
DRIVEWAY_M3 = 800 * FOOT2_M2 * 8 * INCH_M

# FM 5-434 Table 1-1: in place -> loose, compacted.
FM_5_434_TABLE_1_1 = [("sand", 1.11, 0.95), ("earth", 1.25, 0.90), ("clay", 1.43, 0.90), ("rock", 1.50, 1.30)]


def loose(bank_m3: float, swell: float) -> float:
    return float(MODEL.value("loose", bank=bank_m3, trimmed=0.0, keep=0, swell=swell))


def mass(compacted_m3: float, density: float, factor: float, waste: float = 0.0) -> float:
    known = {"stone": compacted_m3, "stone_density": density, "stone_factor": factor, "stone_waste": waste}
    return float(MODEL.value("stone_mass", known))


def extended(area: float, edge: float, reach: float, corners: float = 0.0) -> float:
    return float(MODEL.value("base_area", plan=area, open=edge, reach=reach, corner=corners))


def dug(base: float, paver: float, bedding: float, finish: float = 0.0, old: float = 0.0, system: str = "us") -> float:
    known = {"base": base, "paver": paver, "bedding": bedding, "finish": finish, "old": old, "may_stay": 0}
    return float(MODEL.value("dig", known, system=system, textile=0, grid=0))


def loads(mass_kg: float, payload: float, room: float = 0.0, box: float = 1.0) -> int:
    known = {"spoil_weight": mass_kg, "spoil_payload": payload, "spoil_room": room, "spoil_box": box}
    return int(MODEL.value("spoil_loads", known))


def lifts(depth_m: float, most_m: float) -> int:
    return int(MODEL.value("lifts", laid=depth_m, lift=most_m))


@pytest.mark.source("FM-5-434, Table 1-1; [memory]; the row of sand [read]")
@pytest.mark.parametrize(("soil", "swell", "shrink"), FM_5_434_TABLE_1_1)
def test_100_yd3_in_place_become_loose_and_compacted_as_printed(soil: str, swell: float, shrink: float) -> None:
    row = table("swell").exact(soil)
    assert loose(100 * YARD3_M3, float(row["swell"])) / YARD3_M3 == pytest.approx(100 * swell, abs=0.5)
    assert 100 * float(row["shrink"]) == pytest.approx(100 * shrink, abs=0.5)


@pytest.mark.source("UFC-3-220-20 sec. 3-4.3.2: coarse soils bulk about 10 %, fine soils 30-40 %; [digitized]")
def test_the_swell_of_sand_and_clay_lies_where_another_manual_puts_it() -> None:
    assert float(table("swell").exact("sand")["swell"]) == pytest.approx(1.10, abs=0.02)
    assert 1.25 <= float(table("swell").exact("clay")["swell"]) <= 1.45  # printed in whole tens of percent


@pytest.mark.source("27 ft3 = 1 yd3 by definition: 800 ft2 x 8 in = 533.3 ft3 = 19.75 yd3; [computed]")
def test_800_ft2_dug_8_in_deep_are_19_75_yd3() -> None:
    known = {"plan": 800 * FOOT2_M2, "beside": 0.0, "dig": 8 * INCH_M, "beside_dig": 8 * INCH_M}
    assert MODEL.value("base_dig", known) / YARD3_M3 == pytest.approx(19.75, abs=0.005)


@pytest.mark.source("881.78 ft2 from shapely's mitred buffer x 8 in / 27; [computed]")
def test_the_same_driveway_with_its_edges_is_21_77_yd3() -> None:
    area = extended(800 * FOOT2_M2, 120 * FOOT_M, 8 * INCH_M, 4)
    assert area / FOOT2_M2 == pytest.approx(881.78, abs=0.005)
    assert area * 8 * INCH_M / YARD3_M3 == pytest.approx(881.78 * 8 / 12 / 27, abs=0.005)


@pytest.mark.source("ICPI-TOLERANCES: the greater of 6 in or the base thickness; [read]")
@pytest.mark.parametrize(
    ("base_in", "least_in", "expected_in"), [(4, 6, 6), (6, 6, 6), (6.1, 6, 6.1), (14, 6, 14), (8, 12, 12)]
)
def test_the_base_reaches_out_by_its_depth_or_the_least(base_in: float, least_in: float, expected_in: float) -> None:
    reach = MODEL.value("reach", base=base_in * INCH_M, least_reach=least_in * INCH_M, open=1.0)
    assert reach / INCH_M == pytest.approx(expected_in)
    assert MODEL.value("reach", base=base_in * INCH_M, least_reach=least_in * INCH_M, open=0.0) == 0


def test_an_edge_open_along_one_side_only_has_no_corner() -> None:
    assert extended(72, 12, 0.2) == pytest.approx(72 + 12 * 0.2)
    assert extended(72, 12 + 6, 0.2, 1) == pytest.approx(72 + 18 * 0.2 + 0.04)
    assert extended(72, 0, 0.2) == 72


@pytest.mark.parametrize(
    ("above_in", "old_in", "expected_in"),
    # pavers 2-3/8 in, bedding 1 in, base 8 in: 11-3/8 in below the finish
    [(0, 0, 11.375), (2, 0, 9.375), (-3, 0, 14.375), (0, 4, 7.375), (2, 4, 5.375), (11.375, 0, 0)],
)
def test_the_dig_is_the_layers_less_what_is_above_and_what_was_taken_before(
    above_in: float, old_in: float, expected_in: float
) -> None:
    depth = dug(8 * INCH_M, 2.375 * INCH_M, 1 * INCH_M, above_in * INCH_M, old_in * INCH_M)
    assert depth / INCH_M == pytest.approx(expected_in, abs=1e-9)
    assert depth >= 0


def test_a_finish_too_high_for_the_base_is_refused_with_the_fill_that_is_missing() -> None:
    with pytest.raises(OutOfRangeError, match=r"the finish is 14 in above .* only 11\.38 in: 2\.63 in of fill is miss"):
        dug(8 * INCH_M, 2.375 * INCH_M, INCH_M, 14 * INCH_M)
    with pytest.raises(OutOfRangeError, match=r"the finish is 356 mm above .* only 289 mm: 67 mm of fill is missing"):
        dug(8 * INCH_M, 2.375 * INCH_M, INCH_M, 14 * INCH_M, system="metric")
    # an old pavement thicker than the new layers
    with pytest.raises(OutOfRangeError, match=r"the finish is 15 in above the ground that is left.* 3\.63 in of fill"):
        dug(8 * INCH_M, 2.375 * INCH_M, INCH_M, 0, 15 * INCH_M)


# WSDOT M 22-01 Exhibit 620-1: lb/yd3 in the truck, compacted, loose over compacted volume.
WSDOT_EXHIBIT_620_1 = [
    ("ballast", 3100, 1.55, 3900, 1.95, 1.258),
    ("crushed surfacing top course", 2850, 1.43, 3700, 1.85, 1.298),
    ("crushed surfacing base course", 2950, 1.48, 3700, 1.85, 1.254),
]


@pytest.mark.source("WSDOT-M22-01, Exhibit 620-1; [read]")
@pytest.mark.parametrize(("name", "loose_lb", "loose_ton", "compacted", "compacted_ton", "factor"), WSDOT_EXHIBIT_620_1)
def test_a_yard_of_finished_base_weighs_what_the_table_prints(
    name: str, loose_lb: float, loose_ton: float, compacted: float, compacted_ton: float, factor: float
) -> None:
    row = table("stones").exact(name)
    assert (row["loose"], row["compacted"], row["factor"]) == (loose_lb, compacted, factor)
    assert loose_lb * LB_PER_YARD3 / TON_PER_YARD3 == pytest.approx(loose_ton, abs=0.0051)
    kg = mass(YARD3_M3, float(row["loose"]) * LB_PER_YARD3, float(row["factor"]))
    assert kg / POUND_KG == pytest.approx(compacted, abs=2)
    assert kg / SHORT_TON_KG == pytest.approx(compacted_ton, abs=0.005)


@pytest.mark.source("WSDOT-M22-01, Exhibit 620-1, base course; [read]; 800 ft2 x 8 in = 19.75 yd3 x 1.85; [computed]")
def test_800_ft2_of_8_in_take_36_5_tons_and_24_8_yd3_in_the_truck() -> None:
    row = table("stones").exact("crushed surfacing base course")
    factor = float(row["factor"])
    kg = mass(DRIVEWAY_M3, float(row["loose"]) * LB_PER_YARD3, factor)
    assert kg / SHORT_TON_KG == pytest.approx(36.5, abs=0.05)
    room = MODEL.value("stone_loose", stone=DRIVEWAY_M3, stone_factor=factor, stone_waste=0.0)
    assert room / YARD3_M3 == pytest.approx(24.8, abs=0.05)
    assert mass(DRIVEWAY_M3, 1.85 * TON_PER_YARD3, 1.0) / SHORT_TON_KG == pytest.approx(36.5, abs=0.05)


@pytest.mark.source("WSDOT-M22-01, Exhibit 620-1: stockpile +10 % waste; [read]")
def test_a_stockpile_takes_more() -> None:
    assert mass(10, 1750, 1.254, 0.10) == pytest.approx(mass(10, 1750, 1.254) * 1.1)
    assert MODEL.value("stone_loose", stone=10.0, stone_factor=1.254, stone_waste=0.1) == pytest.approx(13.794)


@pytest.mark.source("1.85 short ton/yd3 = 2195 kg/m3 by the exact pound and yard; [computed]")
def test_the_compacted_weight_in_metric() -> None:
    per_m3 = [float(table("stones").exact(name)["compacted"]) * LB_PER_YARD3 for name, *_ in WSDOT_EXHIBIT_620_1]
    assert per_m3[0] == pytest.approx(1.95 / 1.85 * 2195, abs=1)
    assert per_m3[1] == pytest.approx(2195, abs=0.5)


@pytest.mark.source("TM-9-2320-366-10-1, Table 2-15: 5.19 yd3 level, gravel 2,970 lb/yd3 -> 15,414 lb; [read]")
def test_a_level_box_of_gravel_reaches_the_weight_before_the_volume() -> None:
    """The heaped box of 7.78 yd3 would hold more than the truck may carry: payload is what counts."""
    box = 5.19 * YARD3_M3
    kg = box * 2970 * LB_PER_YARD3
    assert kg / POUND_KG == pytest.approx(15_414, abs=0.5)
    assert loads(2 * kg, kg, 2 * box, 7.78 * YARD3_M3) == 2
    assert loads(2 * kg, 2 * kg, 2 * box, box) == 2


# 2,200 exact multiples: 22 payloads of 1 to 22.5 tons in odd tenths, 1 to 100 loads each.
PAYLOADS_TON = [round(1.3 + 1.01 * i, 2) for i in range(22)]


def test_no_load_too_many_on_exact_multiples() -> None:
    cases = [(count, payload) for payload in PAYLOADS_TON for count in range(1, 101)]
    assert len(cases) == 2200
    wrong = [
        (count, payload)
        for count, payload in cases
        if loads(round(count * payload, 2) * SHORT_TON_KG, payload * SHORT_TON_KG) != count
    ]
    assert wrong == []
    assert loads(0, 10_000) == 0
    # The noise that the rounding guards against is really there.
    exact = [ceil(round(n * payload, 2) * SHORT_TON_KG / (payload * SHORT_TON_KG)) == n for n, payload in cases]
    assert not all(exact)


@pytest.mark.source("TM-9-2320-366-10-1, Table 2-15: dry earth 2,025 lb/yd3; [read]")
def test_light_loose_soil_fills_the_box_first() -> None:
    """20 tons payload, 12 yd3 box: 100 yd3 weigh 101.25 tons, 5.06 loads by weight and 8.33 by box."""
    earth = 100 * YARD3_M3
    assert loads(earth * 2025 * LB_PER_YARD3, 20 * SHORT_TON_KG, earth, 12 * YARD3_M3) == 9


# 23 CFR 658.17 and its table: distance ft, axles, lb.
CFR_23_658_17 = [(4, 2, 34_000), (51, 5, 80_000), (36, 4, 66_000), (48, 5, 78_000), (9, 2, 39_000), (16, 3, 48_000)]


@pytest.mark.source("23-CFR-658-17, bridge formula and its table; [read]")
@pytest.mark.parametrize(("length", "axles", "limit"), CFR_23_658_17)
def test_the_bridge_formula_gives_the_printed_limits(length: float, axles: int, limit: int) -> None:
    assert bridge_limit_lb(length, axles) == limit


@pytest.mark.source("23-CFR-658-17: 34,000 lb tandem, 80,000 lb gross; [read]")
def test_the_bridge_formula_never_exceeds_the_tandem_and_gross_limits() -> None:
    assert bridge_limit_lb(8, 2) == 34_000
    assert bridge_limit_lb(60, 9) == 80_000
    assert all(bridge_limit_lb(length, axles) % 500 == 0 for length in range(4, 61) for axles in range(2, 10))


@pytest.mark.source("walk-behind plate 3-4 in, heavy plate or roller 6 in; [practice]")
@pytest.mark.parametrize(
    ("depth_in", "lift_in", "count"),
    [(14, 4, 4), (12, 4, 3), (12.1, 4, 4), (6, 6, 1), (6, 3, 2), (24, 6, 4), (0, 4, 0)],
)
def test_lifts_are_whole_and_none_too_thick(depth_in: float, lift_in: float, count: int) -> None:
    assert lifts(depth_in * INCH_M, lift_in * INCH_M) == count
    if count:
        each = MODEL.value("each_lift", laid=depth_in * INCH_M, lifts=count)
        assert each <= lift_in * INCH_M * (1 + 1e-9)


@given(st.integers(1, 40), st.integers(3, 12))
def test_a_whole_number_of_lifts_needs_no_more(count: int, lift_in: int) -> None:
    depth_in = min(count, 160 // lift_in) * lift_in
    assert lifts(depth_in * INCH_M, lift_in * INCH_M) == depth_in // lift_in


@pytest.mark.source("100 ft2 x 1 in / 27 = 0.309 yd3; [computed]; 1 in nominal, ICPI-TOLERANCES; [read]")
def test_100_ft2_take_0_309_yd3_of_sand() -> None:
    sand = MODEL.value("sand", plan=100 * FOOT2_M2, bedding=INCH_M)
    assert sand / YARD3_M3 == pytest.approx(0.309, abs=0.0005)


def test_cut_pavers_are_ordered_on_top() -> None:
    for share, due in ((0.05, 840), (0.0, 800)):
        assert MODEL.value("pavers", plan=800 * FOOT2_M2, cutting=share) / FOOT2_M2 == pytest.approx(due)


def test_joint_sand_at_one_pound_a_square_foot_is_counted_once_for_the_job() -> None:
    known = {"joint_cover": POUND_KG / FOOT2_M2, "bag": 50 * POUND_KG}
    # 800 ft2 and 20 ft2: 820 lb in bags of 50 lb are 16.4, 17 bags, and not 16 + 1.
    assert MODEL.value("bags_used", known, plan=[800 * FOOT2_M2, 20 * FOOT2_M2]) == pytest.approx(16.4)
    assert MODEL.value("bags", known, plan=[800 * FOOT2_M2, 20 * FOOT2_M2]) == 17


def test_fill_along_30_ft_of_wall() -> None:
    # 30 x 4 x 2.25 ft = 270 ft3 = 10 yd3
    known = {"along": 30 * FOOT_M, "fill_width": 4 * FOOT_M, "fill_depth": 2.25 * FOOT_M, "sound_at": 0.0}
    assert MODEL.value("fill", known) / YARD3_M3 == pytest.approx(10)


def test_hours_are_quantity_over_rate() -> None:
    for yards, hours in ((19.75, 1.58), (0.0, 0.0)):
        amount = yards * YARD3_M3
        assert MODEL.value("units_bought", amount=amount, size=YARD3_M3, rate=12.5) == pytest.approx(hours)


NO_OLD: dict[str, Any] = {"bank": 10.0, "trimmed": 0.0, "keep": 0}
HAUL: dict[str, Any] = {"spoil_weight": 5.0, "spoil_room": 5.0, "spoil_payload": 900.0}
REFUSED: list[tuple[str, dict[str, Any], str]] = [
    ("loose", {**NO_OLD, "swell": 0.9}, "swell is 0.9; it must be from 1 to 2"),
    ("loose", {**NO_OLD, "swell": 2.01}, "swell is 2.01"),
    ("stone_mass", {"stone": 10.0, "stone_density": 1480.0, "stone_factor": 0.8}, "is 0.8; it must"),
    ("stone_mass", {"stone": 10.0, "stone_density": 1.48}, r"density is 0\.00148 t/m3; it must be from 0\.8 to 2"),
    ("stone_mass", {"stone": 10.0, "stone_waste": 5}, "waste is 5; it must be from 0 to 0.5"),
    ("base_area", {"plan": 0.0}, "paved area is 0 m2"),
    ("base_area", {"plan": -1.0}, "paved area is -1 m2"),
    ("base_area", {"plan": float("nan")}, "paved area is not a finite number"),
    ("base_area", {"plan": 72.0, "open": 0.0, "reach": 0.2, "corner": 4}, "corners is 4; it must be 0 where the open"),
    ("base_area", {"plan": 72.0, "open": 1.0, "reach": 2.0, "corner": -3}, "corners is -3; inside corners must not"),
    ("reach", {"base": 5.1, "least_reach": 0.15, "open": 1.0}, "base is 5100 mm; it must be from 50 to 5000 mm"),
    ("sand", {"plan": 80.0, "bedding": 1.0}, "bedding sand is 1000 mm"),
    ("pavers", {"plan": 80.0, "cutting": 5}, "cutting waste is 5; it must be from 0 to 0.5"),
    ("bags", {"plan": [80.0], "joint_cover": 0.0, "bag": 20.0}, "joint sand is 0 kg/m2"),
    ("fill", {"along": 5.0, "fill_width": 1.0, "fill_depth": 6.0}, "depth of the fill there is 6000"),
    ("lifts", {"laid": 0.2, "lift": 0.01}, "thickest lift is 10 mm; it must be from 25 to 610 mm"),
    ("spoil_loads", {**HAUL, "spoil_payload": 0.0}, "payload is 0 t"),
    ("spoil_loads", {**HAUL, "spoil_box": 0.0}, "box is 0 m3"),
    ("units_bought", {"amount": 5.0, "size": 1.0, "rate": 0.0}, "units in an hour, else 1 is 0"),
]  # fmt: skip


@pytest.mark.parametrize(("key", "known", "sentence"), REFUSED)
def test_a_number_outside_its_limits_is_refused(key: str, known: dict[str, Any], sentence: str) -> None:
    with pytest.raises(OutOfRangeError, match=sentence):
        MODEL.value(key, known)


def test_what_is_needed_and_not_given_is_named() -> None:
    with pytest.raises(InputError, match="waste is missing; base stone needs it"):
        MODEL.value("stone_mass", stone=10.0, stone_density=1480.0, stone_factor=1.2)
    with pytest.raises(OutOfRangeError, match=r"axles is 2\.5; it must be a whole number"):
        bridge_limit_lb(30, 2.5)  # type: ignore[arg-type]
    with pytest.raises(OutOfRangeError, match="length is 3 ft"):
        bridge_limit_lb(3, 2)
