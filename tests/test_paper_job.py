"""One small job worked on paper, from what was read in the yard to the price the client pays, to the cent.

Every number below was worked out from the tables and formulas named beside it with a desk calculator (bc), none with
basecalc. Feet, inches, cubic yards and short tons throughout, as on the paper.

The owner (`pricing_kit`): contingency 3 %, overhead 12 %, profit 15 % of the price, tax 7 %; crusher run of 1.48
ton/yd3 loose, compaction factor 1.254, 5 % waste; bedding sand of 1.35 ton/yd3, factor 1.1, 10 % waste; pavers 2-3/8 in
with 5 % cutting; a truck of 14 ton and 12 yd3; a grid of aperture stability 0.32 in rolls of 164 x 13.1 ft.
The job: 30 x 12 ft of drive, one 12 ft side at the garage, the finish 3/8 in above the ground; soft wet clay; light
traffic.
"""

from decimal import Decimal
from math import exp, pi, sqrt

import pytest
from pricing_kit import book

from basecalc import Quote, parse_job, quote
from basecalc.core.units import FOOT2_M2, FOOT_M, INCH_M, SHORT_TON_KG, YARD3_M3
from basecalc.design.settings import traffic
from basecalc.takeoff.takeoff import AreaTakeoff

FILE = {
    "job": {"number": "P-1", "client": "Any Client", "site": "Any Lane 1", "season": "wet", "soil": "clay"},
    "area": [
        {
            "name": "Drive", "shape": "rectangle", "length": 30, "width": 12, "foundation_edge": 12,
            "finish_above_ground": 0.375,
        }
    ],
    "spot": [
        {"name": "mid", "readings": [{"test": "walk", "reading": 2.5}, {"test": "thumb", "reading": "thumb deep"}]}
    ],
}  # fmt: skip


@pytest.fixture(scope="module")
def priced() -> Quote:
    return quote(parse_job(FILE), book())


@pytest.mark.source("ETL-1110-1-189 (walking sinks 2-3 in: soft) [memory]; TM-5-818-1 Table 2-2 (thumb) [read]")
def test_the_readings_say_soft_and_a_class_is_designed_at_its_weak_edge(priced: Quote) -> None:
    # Walking sank 2.5 in: soft. The thumb goes in several inches easily: soft. Both agree, and both were read wet, so
    # nothing is taken down. Soft is CBR 0.4 to 0.8; a class alone is designed at its weak edge: 0.4.
    ground = priced.ground["Drive"]
    assert (ground.strength.strength_class, ground.strength.cbr, ground.conflicts) == ("soft", None, ())
    assert priced.depths["Drive"].cbr == 0.4


def platform_side(h_m: float, n_c: float, j: float) -> float:
    """Return the right side of the platform equation, written out once more from the paper of Giroud and Han."""
    r = sqrt(22 / (pi * 350))  # light traffic: wheel load 22 kN, tire 350 kPa: r = 0.14145 m
    f_e = 1 + 0.204 * (5 - 1)  # RE = 3.48 x 20^0.3 / 0.4 = 21.4, taken as 5 at most: fE = 1.816
    m = 1 - 0.9 * exp(-((r / h_m) ** 2))  # rut 75 mm = fs
    nominator = 0.868 + (0.661 - 1.006 * j**2) * (r / h_m) ** 1.5 * 3  # log10 of 1,000 passes = 3
    return nominator / f_e * (sqrt(22 / (pi * r**2 * m * n_c * 30 * 0.4)) - 1) * r


@pytest.mark.source("GIROUD-HAN, design equation [read]; hand-worked values [computed]")
@pytest.mark.parametrize(
    ("inches", "n_c", "j", "by_hand"),
    [
        # none, 23 in = 0.5842 m: m = 0.151246, P/(pi r2 m Nc cu) = 61.4150, (r/h)^1.5 = 0.119141
        (23, 3.14, 0.0, 0.588041),
        # none, 24 in = 0.6096 m: m = 0.147176, 63.1133, 0.111773
        (24, 3.14, 0.0, 0.589394),
        # grid, 14 in = 0.3556 m: m = 0.231710, 22.0448, 0.250877
        (14, 5.71, 0.32, 0.370702),
        # grid, 15 in = 0.3810 m: m = 0.215881, 23.6612, 0.226212
        (15, 5.71, 0.32, 0.375238),
    ],
)
def test_the_platform_equation_written_out_gives_what_the_calculator_gave(
    inches: int, n_c: float, j: float, by_hand: float
) -> None:
    assert platform_side(inches * INCH_M, n_c, j) == pytest.approx(by_hand, abs=1e-6)


@pytest.mark.source("GIROUD-HAN [read]; AASHTO-1993 Fig. 3.1 [read]")
def test_the_depths_are_the_first_whole_inches_that_satisfy_the_platform_equation(priced: Quote) -> None:
    # A depth is enough where it is no less than the right side at that depth.
    # none: 23 in 0.5842 < 0.5880, not enough; 24 in 0.6096 > 0.5894, enough.
    # grid: 14 in 0.3556 < 0.3707, not enough; 15 in 0.3810 > 0.3752, enough.
    # Half of 0.59 m, the most a grid may save, is 11.6 in and does not stop it; the minimum of 6 in neither.
    # Structural, MR = 1500 x 0.4 = 600 psi (the safer rule), a2 = 0.249 log10 30,000 - 0.977 = 0.1378:
    # at 14 in SN = 0.44 x 3.375 + 0.1378 x 14 = 3.414, good for 4,816 axle loads; 2,000 are asked.
    # So the platform governs both.
    plain, grid = priced.depths["Drive"], priced.geogrid_depths["Drive"]
    assert (round(plain.required_m / INCH_M, 6), plain.governs) == (24.0, "platform")
    assert (round(grid.required_m / INCH_M, 6), grid.governs) == (15.0, "platform")
    light = traffic("light")
    assert (light.wheel_load_kn, light.tire_kpa, light.passes, light.rut_mm, light.esal) == (22, 350, 1000, 75, 2000)


def us(area: AreaTakeoff) -> tuple[float, ...]:
    return (
        area.extension_m / FOOT_M, area.base_area_m2 / FOOT2_M2, area.dig_m / INCH_M, area.bank_m3 / YARD3_M3,
        area.loose_m3 / YARD3_M3, area.spoil_kg / SHORT_TON_KG, area.stone_m3 / YARD3_M3,
        area.stone_kg / SHORT_TON_KG,
    )  # fmt: skip


@pytest.mark.source(
    "ICPI-TOLERANCES (extension) [read]; FM-5-434 Table 1-1 (clay 1.43) [memory]; TM-9-2320-366-10-1 Table 2-15 "
    "(moist packed earth 2,565 lb/yd3) [read]; WSDOT-M22-01 (1.48 ton/yd3, 1.254) [read]"
)
def test_the_take_off_without_reinforcement(priced: Quote) -> None:
    # Open edge 84 - 12 = 72 ft with two open corners; extension 24 in = 2 ft: 360 + 72 x 2 + 2 x 2^2 = 512 ft2.
    # Dig 24 + 1 + 2.375 - 0.375 = 27 in = 2.25 ft: 512 x 2.25 / 27 = 42.666667 yd3 in place, x 1.43 = 61.013333 loose,
    # x 2,565 / 2,000 = 78.2496 ton.
    # Stone 512 x 2 / 27 = 37.925926 yd3, x 1.254 x 1.48 x 1.05 = 73.906859 ton.
    area = priced.stone.takeoff.area("Drive")
    by_hand = (2.0, 512.0, 27.0, 42.666667, 61.013333, 78.2496, 37.925926, 73.906859)
    assert us(area) == pytest.approx(by_hand, abs=1e-5)
    # 24 in by the 4 in a plate compacts: 6 lifts.
    assert area.lifts == 6
    # Soil 78.2496 / 14 = 5.59 by weight, 61.0133 / 12 = 5.08 by volume: 6 loads. Stone 73.9069 / 14 = 5.28: 6.
    # Sand 360 ft2 x 1 in = 30 ft3 = 1.1111 yd3, x 1.1 x 1.35 x 1.1 = 1.815 ton: 1 load. Joint sand 360 lb / 50: 8 bags.
    takeoff = priced.stone.takeoff
    assert [one.amount for one in takeoff.of("spoil-haul")] == [6]
    assert [one.amount for one in takeoff.of("stone-haul")] == [6, 1]
    assert takeoff.amount("joint-sand") == 8
    assert takeoff.amount("geogrid") == 0


@pytest.mark.source("the same tables; strips = ceil((W - o)/(w - o)), overlap 3 ft below CBR 1 [practice]")
def test_the_take_off_with_geogrid(priced: Quote) -> None:
    # Extension 15 in = 1.25 ft: 360 + 72 x 1.25 + 2 x 1.5625 = 453.125 ft2. Dig 15 + 3.375 - 0.375 = 18 in = 1.5 ft:
    # 25.173611 yd3, x 1.43 = 35.998264 loose, x 1.2825 = 46.167773 ton. Stone 453.125 x 1.25 / 27 = 20.978009 yd3,
    # x 1.254 x 1.48 x 1.05 = 40.880182 ton.
    assert priced.geogrid is not None
    area = priced.geogrid.takeoff.area("Drive")
    by_hand = (1.25, 453.125, 18.0, 25.173611, 35.998264, 46.167773, 20.978009, 40.880182)
    assert us(area) == pytest.approx(by_hand, abs=1e-5)
    # 46.1678 / 14 = 3.30: 4 loads out; 40.8802 / 14 = 2.92: 3 loads in.
    # The grid covers 30 + 2.5 by 12 + 2.5 ft: (14.5 - 3) / (13.1 - 3) = 1.14: 2 strips of 32.5 ft from one roll.
    takeoff = priced.geogrid.takeoff
    assert [one.amount for one in takeoff.of("spoil-haul")] == [4]
    assert [one.amount for one in takeoff.of("stone-haul")] == [3, 1]
    assert ([roll.strips for roll in area.rolls], takeoff.amount("geogrid")) == ([2], 1)


STONE_LINES = [
    # 42.6667 yd3 at 10 an hour = 4.2667, printed 4.27 h: x 148 and x 72
    ("crew-time", "4.27", "631.96"),
    ("machine-time", "4.27", "307.44"),
    ("spoil-haul", "6", "570.00"),  # x 95
    ("spoil-tip", "6", "360.00"),  # x 60
    ("base-stone", "73.91", "1810.80"),  # x 24.50 = 1,810.795, half up
    ("stone-haul", "6", "0.00"),  # the stone is bought delivered
    ("stone-haul", "1", "0.00"),
    # 37.9259 yd3 at 6 an hour = 6.3210, printed 6.32 h
    ("crew-time", "6.32", "935.36"),
    ("machine-time", "6.32", "455.04"),
    ("bedding-sand", "1.82", "56.42"),  # 1.815 half up is 1.82, x 31
    ("pavers", "378.00", "1568.70"),  # 360 x 1.05, x 4.15
    ("paver-lay", "360.00", "1890.00"),  # x 5.25
    ("edge-restraint", "72.00", "169.20"),  # the open edge, x 2.35
    ("joint-sand", "8", "224.00"),  # x 28
]
GRID_LINES = [
    ("crew-time", "2.52", "372.96"),  # 25.1736 / 10 = 2.5174
    ("machine-time", "2.52", "181.44"),
    ("spoil-haul", "4", "380.00"),
    ("spoil-tip", "4", "240.00"),
    ("geogrid", "1", "780.00"),
    ("base-stone", "40.88", "1001.56"),
    ("stone-haul", "3", "0.00"),
    ("stone-haul", "1", "0.00"),
    ("crew-time", "3.50", "518.00"),  # 20.9780 / 6 = 3.4963
    ("machine-time", "3.50", "252.00"),
    *STONE_LINES[9:],
]
# cost, contingency, overhead, profit, tax, total
# Without: lines sum to 8,978.92; x 3 % = 269.3676; (8,978.92 + 269.37) x 12 % = 1,109.7948;
# 10,358.08 x 15/85 = 1,827.8965; taxed 1,810.80 + 56.42 + 1,568.70 + 169.20 + 224.00 = 3,829.12, x 7 % = 268.0384.
STONE_SUMS = ("8978.92", "269.37", "1109.79", "1827.90", "268.04", "12454.02")
# With: lines 7,634.28; 229.0284; 7,863.31 x 12 % = 943.5972; 8,806.91 x 15/85 = 1,554.1606;
# taxed 3,799.88, x 7 % = 265.9916.
GRID_SUMS = ("7634.28", "229.03", "943.60", "1554.16", "265.99", "10627.06")


@pytest.mark.parametrize(
    ("option", "lines", "sums"), [("stone", STONE_LINES, STONE_SUMS), ("geogrid", GRID_LINES, GRID_SUMS)]
)
def test_every_line_and_the_sums_below_to_the_cent(
    priced: Quote, option: str, lines: list[tuple[str, str, str]], sums: tuple[str, ...]
) -> None:
    made = priced.stone if option == "stone" else priced.geogrid
    assert made is not None
    assert [(line.code, str(line.quantity), str(line.amount)) for line in made.lines] == lines
    below = (made.cost, made.contingency, made.overhead, made.profit, made.tax, made.total)
    assert tuple(str(amount) for amount in below) == sums


def test_the_client_reads_the_cheaper_option_by_scope_to_the_cent(priced: Quote) -> None:
    # What 1 of cost adds to the total: 1.03 x 1.12 / 0.85 = 1.35717647, and 0.07 more where it is taxed: 1.42717647.
    # dig 1,174.40 x 1.35717647 = 1,593.868; grid 780 x 1.42717647 = 1,113.198; base 770.00 x 1.35717647 + 1,001.56 x
    # 1.42717647 = 2,474.429; surface 1,890 x 1.35717647 + 2,018.32 x 1.42717647 = 5,445.562; together 10,627.0568.
    # Scaled to 10,627.06, in cents: 159,386.85  247,442.95  111,319.80  544,556.40. Cut off they sum to 1,062,703: the
    # three cents left go to .95, .85 and .80.
    assert priced.offered == "geogrid"
    assert {one.scope: str(one.amount) for one in priced.offer.scope_prices} == {
        "dig": "1593.87",
        "base": "2474.43",
        "reinforcement": "1113.20",
        "surface": "5445.56",
    }


def test_what_geogrid_saves_and_the_price_at_which_it_would_save_nothing(priced: Quote) -> None:
    # 24 - 15 = 9 in; stone 37.925926 - 20.978009 = 16.947917 yd3 and 73.906859 - 40.880182 = 33.026677 ton;
    # loads in 7 - 4 = 3, out 6 - 4 = 2; money 12,454.02 - 10,627.06 = 1,826.96.
    less = priced.against_stone
    assert less is not None
    assert less.depth_m["Drive"] / INCH_M == pytest.approx(9)
    assert less.stone_m3 / YARD3_M3 == pytest.approx(16.947917, abs=1e-5)
    assert less.stone_kg / SHORT_TON_KG == pytest.approx(33.026677, abs=1e-5)
    assert (less.stone_loads, less.spoil_loads, less.money) == (3, 2, Decimal("1826.96"))
    # Untaxed lines 5,149.80 against 3,834.40, taxed ones without the grid 3,829.115 (the stone line unrounded) against
    # 3,019.88: (1,315.40 x 1.35717647 + 809.235 x 1.42717647) / 1.42717647 = 2,060.1174 a roll.
    # A roll is 164 x 13.1 ft = 238.7111 yd2: 8.6302 a yd2.
    even = priced.break_even
    assert even is not None
    assert (even.per_roll, even.per_yd2, even.pays) == (Decimal("2060.11"), Decimal("8.63"), True)


def test_one_more_inch_if_the_ground_is_softer_than_read(priced: Quote) -> None:
    # From 15 to 16 in, whole loads and rolls. Area 360 + 72 x 1.3333 + 2 x 1.7778 = 459.5556 ft2, dig 19 in:
    # 26.9492 yd3 / 10 = 2.69 h: 398.12 and 193.68. Out 26.9492 x 1.43 x 1.2825 = 49.42 ton: 4 loads as before.
    # Stone 22.6941 yd3 x 1.254 x 1.48 x 1.05 = 44.22 ton: 1,083.39, and a fourth load at 0.00. 22.6941 / 6 = 3.78 h:
    # 559.44 and 272.16. The strip still comes from one roll. Lines 7,634.28 + 99.00 + 81.83 = 7,815.11; x 3 % = 234.45;
    # 8,049.56 x 12 % = 965.95; 9,015.51 x 15/85 = 1,590.97; taxed 3,881.71, x 7 % = 271.72: 10,878.20 - 10,627.06.
    assert priced.deeper.areas["Drive"][0] == Decimal("251.14")
    assert priced.deeper.price("Drive", 1 * INCH_M) == Decimal("251.14")


def test_the_standard_depth_is_priced_beside_it(priced: Quote) -> None:
    # 14 in everywhere: 9 in less than soft ground without reinforcement needs, 1 in less than with the grid.
    assert priced.standard.takeoff.base_m["Drive"] / INCH_M == pytest.approx(14)
    assert priced.against_standard.depth_m["Drive"] / INCH_M == pytest.approx(-1)
    assert priced.against_standard.money == priced.standard.total - Decimal("10627.06")
