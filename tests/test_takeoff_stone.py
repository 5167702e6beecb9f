"""Stone, trucks and lifts against printed values and against what must always hold."""

from math import ceil

import pytest
from hypothesis import given
from hypothesis import strategies as st

from basecalc.core.errors import InputError, OutOfRangeError
from basecalc.core.units import FOOT2_M2, INCH_M, POUND_KG, SHORT_TON_KG, YARD3_M3
from basecalc.takeoff.earthwork import (
    STOCKPILE_WASTE,
    aggregate_mass_kg,
    lift_thickness_m,
    lifts,
    loose_stone_m3,
    stone_weight,
)
from basecalc.takeoff.hauling import bridge_limit_lb, exact_loads, haul, loads

TON_PER_YARD3 = SHORT_TON_KG / YARD3_M3
LB_PER_YARD3 = POUND_KG / YARD3_M3
DRIVEWAY_M3 = 800 * FOOT2_M2 * 8 * INCH_M

# WSDOT M 22-01 Exhibit 620-1: lb/yd3 in the truck, compacted, loose over compacted volume.
WSDOT_EXHIBIT_620_1 = [
    ("ballast", 3100, 1.55, 3900, 1.95, 1.258),
    ("crushed surfacing top course", 2850, 1.43, 3700, 1.85, 1.298),
    ("crushed surfacing base course", 2950, 1.48, 3700, 1.85, 1.254),
]


@pytest.mark.source("WSDOT-M22-01, Exhibit 620-1; [read]")
@pytest.mark.parametrize(("name", "loose", "loose_ton", "compacted", "compacted_ton", "factor"), WSDOT_EXHIBIT_620_1)
def test_a_yard_of_finished_base_weighs_what_the_table_prints(
    name: str, loose: float, loose_ton: float, compacted: float, compacted_ton: float, factor: float
) -> None:
    stone = stone_weight(name)
    assert stone.loose_density_kg_m3 / LB_PER_YARD3 == pytest.approx(loose)
    assert stone.loose_density_kg_m3 / TON_PER_YARD3 == pytest.approx(loose_ton, abs=0.0051)
    assert stone.compacted_density_kg_m3 / LB_PER_YARD3 == pytest.approx(compacted)
    assert stone.compaction_factor == factor
    mass = aggregate_mass_kg(YARD3_M3, stone.loose_density_kg_m3, stone.compaction_factor)
    assert mass / POUND_KG == pytest.approx(compacted, abs=2)
    assert mass / SHORT_TON_KG == pytest.approx(compacted_ton, abs=0.005)


@pytest.mark.source("WSDOT-M22-01, Exhibit 620-1, base course; [read]; 800 ft2 x 8 in = 19.75 yd3 x 1.85; [computed]")
def test_800_ft2_of_8_in_take_36_5_tons_and_24_8_yd3_in_the_truck() -> None:
    stone = stone_weight("crushed surfacing base course")
    mass = aggregate_mass_kg(DRIVEWAY_M3, stone.loose_density_kg_m3, stone.compaction_factor)
    assert mass / SHORT_TON_KG == pytest.approx(36.5, abs=0.05)
    assert loose_stone_m3(DRIVEWAY_M3, stone.compaction_factor) / YARD3_M3 == pytest.approx(24.8, abs=0.05)
    assert aggregate_mass_kg(DRIVEWAY_M3, 1.85 * TON_PER_YARD3, 1.0) / SHORT_TON_KG == pytest.approx(36.5, abs=0.05)


@pytest.mark.source("WSDOT-M22-01, Exhibit 620-1, free water: 3,700 lb with 5 % -> 3,885; [read]")
def test_wet_stone_is_heavier_by_its_water() -> None:
    wet = aggregate_mass_kg(YARD3_M3, 3700 * LB_PER_YARD3, 1.0, free_water=0.05)
    assert wet / POUND_KG == pytest.approx(3885, abs=0.5)


@pytest.mark.source("WSDOT-M22-01, Exhibit 620-1: x specific gravity / 2.65, stockpile +10 % waste; [read]")
def test_heavier_rock_and_a_stockpile_take_more() -> None:
    plain = aggregate_mass_kg(10, 1750, 1.254)
    assert aggregate_mass_kg(10, 1750, 1.254, specific_gravity=2.65) == plain
    assert aggregate_mass_kg(10, 1750, 1.254, specific_gravity=2.915) == pytest.approx(plain * 1.1)
    assert STOCKPILE_WASTE == 0.10
    assert aggregate_mass_kg(10, 1750, 1.254, STOCKPILE_WASTE) == pytest.approx(plain * 1.1)
    assert loose_stone_m3(10, 1.254, 0.1) == pytest.approx(13.794)


@pytest.mark.source("1.85 short ton/yd3 = 2195 kg/m3 by the exact pound and yard; [computed]")
def test_the_compacted_weight_in_metric() -> None:
    assert stone_weight("ballast").compacted_density_kg_m3 == pytest.approx(1.95 / 1.85 * 2195, abs=1)
    assert stone_weight("crushed surfacing top course").compacted_density_kg_m3 == pytest.approx(2195, abs=0.5)


@pytest.mark.source("TM-9-2320-366-10-1, Table 2-15: 5.19 yd3 level, gravel 2,970 lb/yd3 -> 15,414 lb; [read]")
def test_a_level_box_of_gravel_reaches_the_weight_before_the_volume() -> None:
    """The heaped box of 7.78 yd3 would hold more than the truck may carry: payload is what counts."""
    box = 5.19 * YARD3_M3
    mass = box * 2970 * LB_PER_YARD3
    assert mass / POUND_KG == pytest.approx(15_414, abs=0.5)
    two = haul(2 * mass, mass, 2 * box, 7.78 * YARD3_M3)
    assert (two.loads, two.limit) == (2, "payload")
    assert loads(2 * mass, mass, 2 * box, box) == 2


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
    naive = [
        1
        for count, payload in cases
        if ceil(round(count * payload, 2) * SHORT_TON_KG / (payload * SHORT_TON_KG)) != count
    ]
    assert naive  # the noise that the rounding guards against is really there


@given(st.integers(1, 200_000), st.integers(50, 4000))
def test_the_loads_carry_the_mass_and_one_fewer_does_not(hundredths: int, payload_hundredths: int) -> None:
    count = loads(hundredths / 100 * SHORT_TON_KG, payload_hundredths / 100 * SHORT_TON_KG)
    assert count * payload_hundredths >= hundredths > (count - 1) * payload_hundredths


@given(st.floats(0, 1e6), st.floats(500, 40_000), st.floats(0.001, 500), st.floats(2, 20))
def test_every_load_keeps_both_limits(mass: float, payload: float, loose: float, box: float) -> None:
    mass = max(mass, 0.01)
    trip = haul(mass, payload, loose, box)
    noise = 1e-9
    assert trip.loads * payload >= mass - noise * payload
    assert trip.loads * box >= loose - noise * box
    assert trip.exact > trip.loads - 1
    assert trip.full_kg <= payload * (1 + noise)
    assert trip.full_kg * loose / mass <= box * (1 + noise)
    assert -1e-6 <= trip.last_kg <= trip.full_kg
    assert (trip.loads - 1) * trip.full_kg + trip.last_kg == pytest.approx(mass)
    assert exact_loads(mass, payload, loose, box) == trip.exact


def test_nothing_to_carry_takes_no_truck() -> None:
    assert loads(0, 10_000) == 0
    assert haul(0, 10_000).last_kg == 0


def test_light_loose_soil_fills_the_box_first() -> None:
    """20 tons payload, 12 yd3 box, dry earth of 2,025 lb/yd3 (TM 9-2320-366-10-1): 12.15 tons fill the box."""
    earth = 100 * YARD3_M3
    trip = haul(earth * 2025 * LB_PER_YARD3, 20 * SHORT_TON_KG, earth, 12 * YARD3_M3)
    assert (trip.loads, trip.limit) == (9, "box")
    assert trip.full_kg / SHORT_TON_KG == pytest.approx(12.15)


# 23 CFR 658.17 and its table: distance ft, axles, lb.
CFR_23_658_17 = [
    (4, 2, 34_000),
    (51, 5, 80_000),
    (36, 4, 66_000),
    (48, 5, 78_000),
    (9, 2, 39_000),
    (16, 3, 48_000),
]


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
        assert lift_thickness_m(depth_in * INCH_M, count) <= lift_in * INCH_M * (1 + 1e-9)


@given(st.integers(1, 40), st.integers(3, 12))
def test_a_whole_number_of_lifts_needs_no_more(count: int, lift_in: int) -> None:
    depth_in = min(count, 160 // lift_in) * lift_in
    assert lifts(depth_in * INCH_M, lift_in * INCH_M) == depth_in // lift_in


@pytest.mark.parametrize(
    ("call", "sentence"),
    [
        (lambda: aggregate_mass_kg(10, 1750, 0.8), "compaction factor is 0.8; it must be from 1 to 2"),
        (lambda: aggregate_mass_kg(10, 1.48, 1.25), "loose density is 1.48 kg/m3; it must be from 800 to 2500 kg/m3"),
        (lambda: aggregate_mass_kg(10, 1750, 1.25, 5), "waste is 5; it must be from 0 to 0.5 .a share: 0.05"),
        (lambda: aggregate_mass_kg(-1, 1750, 1.25), "compacted volume is -1 m3"),
        (lambda: aggregate_mass_kg(10, 1750, 1.25, free_water=5), "free water is 5"),
        (lambda: loads(10, 0), "payload is 0 kg"),
        (lambda: loads(-1, 10_000), "mass is -1 kg"),
        (lambda: loads(0, 10_000, 5.0, 10.0), "mass is 0 kg; it must be above 0"),
        (lambda: loads(5, 10_000, 5.0, 0.0), "box volume is 0 m3"),
        (lambda: bridge_limit_lb(3, 2), "length is 3 ft"),
        (lambda: bridge_limit_lb(30, 2.5), "axles is 2.5; it must be a whole number"),  # type: ignore[arg-type]
        (lambda: lifts(0.2, 0.01), "thickest lift is 0.01 m"),
        (lambda: lift_thickness_m(0.2, 0), "lifts is 0"),
    ],
)
def test_a_number_outside_its_limits_is_refused(call: object, sentence: str) -> None:
    assert callable(call)
    with pytest.raises(OutOfRangeError, match=sentence):
        call()


def test_a_missing_partner_or_an_unknown_stone_is_refused() -> None:
    with pytest.raises(InputError, match="box volume is missing"):
        loads(10, 10_000, loose_m3=3.0)
    with pytest.raises(InputError, match="loose volume is missing"):
        loads(10, 10_000, box_m3=3.0)
    with pytest.raises(InputError, match="stone is 'sand'; it must be one of: ballast"):
        stone_weight("sand")
