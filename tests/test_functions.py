"""The eleven worksheet functions: published numbers, cells of every kind, ranges, any mix of cells; with pint alone.

The long run of mixed cells:  ABUSE=250 pytest tests/test_functions.py
"""

import datetime as dt
import logging
import math
import random
import re
import subprocess
import sys
from collections.abc import Callable, Iterator
from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest
from abuse import STRENGTH
from com_host import ExcelHost
from com_stubs import ComRange, error
from printed import CLASSES

import basecalc.worksheet as sheet
from basecalc import InputError
from basecalc.addin import calc
from basecalc.formulas.cells import LEFT_OUT
from basecalc.formulas.functions import FUNCTIONS
from basecalc.formulas.ranges import answer
from basecalc.formulas.spec import Function
from basecalc.ground import readings
from basecalc.ground.readings import MOISTURES, SOILS, TESTS
from basecalc.plan.area import SHAPES

EACH = pytest.mark.parametrize("function", FUNCTIONS, ids=lambda function: function.name)


@pytest.mark.source("ETL-1110-1-189, table after the PCA Soil Primer; [memory]")
def test_ground_under_load() -> None:
    assert sheet.STRENGTH_CLASS(["stand", "walk", "pickup", "dump truck"], [4, 2.5, 0.75, 2]) == [
        ["very soft"], ["soft"], ["stiff"], ["very stiff"],
    ]  # fmt: skip


@pytest.mark.parametrize(("test", "reading"), [("pocket", 4.5), ("walk", 0), ("cone", 10), ("shovel", "pick")])
def test_frozen_ground_is_no_evidence_of_strength(test: str, reading: Any) -> None:
    answer = sheet.STRENGTH_CLASS(test, reading, "frozen")
    assert isinstance(answer, str)
    assert answer.startswith(
        "#moisture is frozen: frozen ground does not show how strong it is after the thaw; test it"
    )


@pytest.mark.source("ASTM-D6951, CBR = 292/DPI^1.12 for all soils; [computed]")
@pytest.mark.parametrize(
    ("index", "cbr"),
    [(5, 48.1), (10, 22.2), (20, 10.19), (25.4, 7.80), (40, 4.69), (60, 2.98), (87, 1.96), (120, 1.37)],
)
def test_cone_in_all_soils(index: float, cbr: float) -> None:
    assert sheet.BEARING_RATIO("cone", index, "sand") == pytest.approx(cbr, rel=0.005)


@pytest.mark.source("ASTM-D6951, CL and CH; [computed]")
@pytest.mark.parametrize(
    ("soil", "index", "cbr"),
    [
        ("clay", 25, 5.52),
        ("lean clay", 30, 3.84),
        ("CL", 40, 2.16),
        ("fat clay", 40, 2.16),
        ("CH", 60, 0.96),
        ("lab-tested fat clay", 40, 8.71),
        ("lab-tested fat clay", 60, 5.81),
        ("lab-tested fat clay", 87, 4.00),
        ("lab-tested fat clay", 120, 2.90),
        (LEFT_OUT, 40, 2.16),
        ("loam", 60, 0.96),
    ],
)
def test_cone_in_clay(soil: str, index: float, cbr: float) -> None:
    assert sheet.BEARING_RATIO("cone", index, soil) == pytest.approx(cbr, rel=0.005)


@pytest.mark.source("GIROUD-HAN, cu = 30 kPa x CBR; qu 1.0 tsf -> CBR 1.60; [computed]")
def test_pocket_penetrometer_as_a_bearing_ratio() -> None:
    assert sheet.BEARING_RATIO("pocket", 1.0) == pytest.approx(1.60, rel=0.005)


def test_the_tests_said_to_measure_a_bearing_ratio_are_those_that_do() -> None:
    value = {test: (*readings.test_words(test), 1.0)[0] for test in TESTS}
    measuring = [test for test in TESTS if isinstance(sheet.BEARING_RATIO(test, value[test]), float)]
    sentence = sheet.BEARING_RATIO("walk", 2)
    assert isinstance(sentence, str)
    assert sorted(sentence.split("one of: ")[1].split(", ")) == sorted(measuring)


@pytest.mark.source("TM-5-818-8, sec. 2-7a, lower quartile; [read]")
def test_the_weakest_spot_counts_and_the_capped_quartile_only_where_asked_for() -> None:
    # 0.7 2.0 2.0 8.0: the quartile, 1.025, is cut to 1.25 x 0.7 = 0.875, above 0.8, the bound of soft
    assert sheet.SITE_STRENGTH([0.7, 2.0, 2.0, 8.0]) == "soft"
    assert sheet.SITE_STRENGTH([0.7, 2.0, 2.0, 8.0], "weakest") == "soft"
    assert sheet.SITE_STRENGTH([0.7, 2.0, 2.0, 8.0], "quartile") == "medium"
    assert sheet.SITE_STRENGTH([0.7, 2.0, 2.0, 8.0], "lower quartile") == "medium"
    assert sheet.SITE_STRENGTH([0.6, 8.0, 8.0, 8.0], "quartile") == "soft", "at most 1.25 times the weakest"
    assert sheet.SITE_STRENGTH([0.7, 1.0, 2.0]) == "soft"


def test_depth_in_other_units_is_rounded_up_to_what_is_dug() -> None:
    inches, feet = sheet.BASE_DEPTH("medium"), sheet.BASE_DEPTH("medium", "light", "none", None, "ft")
    millimetres, centimetres, metres = (sheet.BASE_DEPTH("medium", "light", "none", None, u) for u in ("mm", "cm", "m"))
    assert feet == pytest.approx(inches / 12)  # type: ignore[operator]
    assert millimetres % 10 == 0  # type: ignore[operator]
    assert millimetres == centimetres * 10 == metres * 1000  # type: ignore[operator]
    assert abs(millimetres - inches * 25.4) <= 25.4  # type: ignore[operator]
    assert sheet.BASE_DEPTH("hard", "light", "none", None, "mm") == 150  # the metric edition of 6 in


def test_the_reason_names_the_check_and_the_depth_in_the_unit_asked_for() -> None:
    assert f"rounded up to {sheet.BASE_DEPTH('soft'):g} in" in sheet.BASE_DEPTH_REASON("soft")
    millimetres = sheet.BASE_DEPTH("soft", "light", "none", None, "cm") * 10  # type: ignore[operator]
    assert f"rounded up to {millimetres:.0f} mm" in sheet.BASE_DEPTH_REASON("soft", "light", "none", None, "cm")
    assert "platform check governs" in sheet.BASE_DEPTH_REASON("soft")


@pytest.mark.source("27 ft3 = 1 yd3: 800 ft2 x 8 in = 19.75 yd3; [computed]")
def test_excavation_without_an_edge() -> None:
    assert sheet.EXCAVATION_VOLUME(800, 8) == pytest.approx(19.75, abs=0.005)


@pytest.mark.source(
    "shapely, mitred buffer: 40 x 20 ft + 8 in = 881.78 ft2; L-shape 840 ft2 + 6 in = 911.0 ft2; [computed]"
)
def test_excavation_with_its_edge_extension() -> None:
    assert sheet.EXCAVATION_VOLUME(800, 12, 120, 8, 4) == pytest.approx(881.78 / 27, rel=1e-5)
    assert sheet.EXCAVATION_VOLUME(840, 12, 140, 6, 4) == pytest.approx(911.0 / 27, rel=1e-5)


@pytest.mark.source("ICPI-TOLERANCES: the greater of 6 in or the base thickness; [read]")
def test_the_edge_extension_that_is_left_out() -> None:
    assert sheet.EXCAVATION_VOLUME(800, 4, 120) == sheet.EXCAVATION_VOLUME(800, 4, 120, 6)
    assert sheet.EXCAVATION_VOLUME(800, 14, 120) == sheet.EXCAVATION_VOLUME(800, 14, 120, 14)


@pytest.mark.source("WSDOT-M22-01, Exhibit 620-1: 800 ft2 x 8 in at 1.85 -> 36.5 tons; 1.48 x 1.254 = 1.85; [read]")
def test_tons_of_stone() -> None:
    volume = sheet.EXCAVATION_VOLUME(800, 8)
    assert sheet.AGGREGATE_TONS(volume, 1.85, 1) == pytest.approx(36.5, abs=0.05)
    assert sheet.AGGREGATE_TONS(volume) == pytest.approx(36.5, rel=0.005)  # the defaults are rounded in print
    assert sheet.AGGREGATE_TONS(volume, "2950 lb/yd3") == pytest.approx(36.5, abs=0.05)
    assert sheet.AGGREGATE_TONS(1, 1.85, 1, 0, "kg") == pytest.approx(2195 * 0.764555, rel=0.0005)


def test_waste_is_a_share_of_the_stone() -> None:
    assert sheet.AGGREGATE_TONS(10, 1.48, 1.254, 0.1) == pytest.approx(1.1 * sheet.AGGREGATE_TONS(10))  # type: ignore[operator]
    assert sheet.AGGREGATE_TONS(10, 1.48, 1.254, "10 %") == sheet.AGGREGATE_TONS(10, 1.48, 1.254, 0.1)


@pytest.mark.source("TM-9-2320-366-10-1, Table 2-15: for aggregate the weight comes before the volume; [read]")
def test_loads_by_weight_and_by_box() -> None:
    # 15,414 lb and 5.19 yd3 level: ten loads of gravel at 2,970 lb/yd3 are 77.07 tons and 51.9 yd3
    assert sheet.TRUCKLOADS(77.07, "15414 lb") == 10
    assert sheet.TRUCKLOADS(77.07, "15414 lb", 51.9, 5.19) == 10
    assert sheet.TRUCKLOADS(60, "15414 lb", 51.95, 5.19) == 11


@pytest.mark.source("ceil(mass/payload) must not be one too many on exact multiples; [computed]")
def test_loads_of_exact_multiples() -> None:
    wrong = [(n, p) for n in range(1, 60) for p in (0.7, 7.7, 13.3, 14.1, 20.9) if sheet.TRUCKLOADS(n * p, p) != n]
    assert wrong == []


@pytest.mark.source("lifts: walk-behind plate 3-4 in, roller 6 in; [practice]")
@pytest.mark.parametrize(("depth", "most", "lifts"), [(12, 4, 3), (12.01, 4, 4), (14, 6, 3), (6, 6, 1), (0.5, 4, 1)])
def test_lifts(depth: float, most: float, lifts: float) -> None:
    assert sheet.BASE_LIFTS(depth, most) == lifts
    if most == 4:
        assert sheet.BASE_LIFTS(depth) == lifts


@pytest.mark.source("strips = ceil((W - o)/(w - o)): W 20, w 13.1, o 1 -> 2; W 26, o 2 -> 3; W 12.5 -> 1; [computed]")
@pytest.mark.parametrize(("width", "overlap", "strips"), [(20, 1, 2), (26, 2, 3), (12.5, 1, 1)])
def test_rolls_as_long_as_the_area(width: float, overlap: float, strips: float) -> None:
    assert sheet.ROLLS(164, width, 164, 13.1, overlap) == strips


def test_a_chain_of_cells_from_reading_to_loads() -> None:
    strength = sheet.SITE_STRENGTH(sheet.STRENGTH_CLASS(["walk", "walk", "pickup"], [1.5, 2.5, 0.75]))
    assert strength == "soft"
    depth = sheet.BASE_DEPTH(strength)
    compacted = sheet.EXCAVATION_VOLUME(800, depth)
    tons = sheet.AGGREGATE_TONS(compacted)
    loads = sheet.TRUCKLOADS(tons, 14)
    # 24 in: 800 x 2 / 27 = 59.26 yd3; x 1.48 x 1.254 = 109.98 tons; / 14 = 7.86
    assert depth == 24
    assert compacted == pytest.approx(59.26, abs=0.005)
    assert tons == pytest.approx(109.98, abs=0.01)
    assert loads == math.ceil(7.86)


# ---- with pint alone

_ALONE = """
import sys
from importlib.machinery import BuiltinImporter, FrozenImporter, PathFinder
HERE = {"basecalc", "pint", "flexcache", "flexparser", "platformdirs", "typing_extensions", *sys.stdlib_module_names}

class Only:
    def find_spec(self, name, path=None, target=None):
        return PathFinder.find_spec(name, path, target) if name.partition(".")[0] in HERE else None

sys.meta_path[:] = [BuiltinImporter, FrozenImporter, Only()]
from basecalc.formulas.functions import FUNCTIONS
F = {function.name: function for function in FUNCTIONS}
shown = [
    F["STRENGTH_CLASS"]("pocket", "28.7 kPa"), F["BEARING_RATIO"]("cone", 40, "clay"),
    F["SITE_STRENGTH"]([["stiff"], [None], [2.5], ["medium"]]), F["BASE_DEPTH"]("soft", "light", "geogrid", 0.32),
    F["BASE_DEPTH_REASON"]("hard"), F["EXCAVATION_VOLUME"]([["85 m^2"], [800]], "200 mm", 120, 8, 4),
    F["LOOSE_VOLUME"]([[100], [200]], "clay"), F["AGGREGATE_TONS"](19.75, "2950 lb/yd3"),
    F["TRUCKLOADS"]("30 tonne", 14, 60, 14), F["BASE_LIFTS"]("350 mm"), F["ROLLS"](100, 20, "50 m", 13.1),
]
assert len(shown) == len(F)
print(repr(shown))
"""


def test_all_eleven_work_where_nothing_but_pint_is_installed() -> None:
    """As in a spreadsheet program's own Python: no other library can be found."""
    done = subprocess.run([sys.executable, "-W", "error", "-c", _ALONE], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert done.stdout.startswith("['soft', 2.157")
    assert "#" not in done.stdout
    assert "[[143.0], [286.0]]" in done.stdout


# ---- what a cell holds


@pytest.mark.parametrize(
    ("cell", "shown"),
    [
        (12, 3.0), (12.5, 4.0), (Decimal("12.00"), 3.0), (" 12 ", 3.0), ("300 mm", 3.0), ("1'", 3.0),
        (None, "#depth is missing; it must be a number from 0.1 to 120 in"),
        ("\N{NO-BREAK SPACE}\t", "#depth is missing"),
        (0, "#depth is 0 in"), ("0", "#depth is 0 in"),
        (True, "#depth is TRUE; it must be a number from 0.1 to 120 in"), (False, "#depth is FALSE"),
        (math.nan, "#depth is not a finite number; it must be a number from 0.1 to 120 in"),
        (-math.inf, "#depth is not a finite number"), (Decimal("sNaN"), "#depth is not a finite number"),
        (10**400, "#depth is not a finite number"), (Decimal("1e999"), "#depth is not a finite number"),
        ("#DIV/0!", "#depth is the error #DIV/0!; it must be"), ("#NAME?", "#depth is the error #NAME?"),
        ("Err:502", "#depth is the error Err:502"), (-2146826281, "#depth is the error #DIV/0!"),
        (-2146826243, "#depth is the error #SPILL!"), (-2146826000, "#depth is the error #ERROR_2288"),
        (-4, "#depth is -4 in"),
        ("#reading is 400 mm/blow; it must be from 1 to 350 mm/blow",
         "#depth: reading is 400 mm/blow; it must be from 1 to 350 mm/blow"),
        ("#57 stone", "#depth is '#57 stone'; it must be a number"),
        (dt.datetime(2024, 1, 2), "#depth is the date or time 2024-01-02; it must be a number or a word"),
        (dt.date(2024, 1, 2), "#depth is the date or time 2024-01-02"),
        (dt.time(6, 30), "#depth is the date or time 06:30"),
        (b"12", "#depth is no cell; it must be one cell with a number or a word"), (2j, "#depth is no cell"),
        ({"a": 1}, "#depth is no cell"), (object(), "#depth is no cell"),
    ],
)  # fmt: skip
def test_a_cell_is_taken_for_what_it_holds(cell: object, shown: float | str) -> None:
    answered = sheet.BASE_LIFTS(cell)
    assert answered == shown if isinstance(shown, float) else str(answered).startswith(shown)


@pytest.mark.parametrize("unit", ["m3", "M3", "m^3", "m³"])
def test_a_unit_may_be_written_as_people_write_it(unit: str) -> None:
    assert sheet.LOOSE_VOLUME("100 m3", " CLAY", unit) == 143.0
    assert sheet.LOOSE_VOLUME(100, "clay", "kg") == "#unit is 'kg'; it must be one of: yd3, ft3, m3"


# ---- ranges

NEEDED = "it must be a number from 0.001 to 500,000 yd3"
AS_LARGE = "it must be as large as bank_volume, 2 x 1 cells, or one cell"
ALIKE = "they must have the same number of cells"
AT_MOST = "it must have at most 100,000, so give the rows in use only"


@pytest.mark.parametrize(
    ("volume", "soil", "expected"),
    [
        ([[100.0]], "clay", 143.0),
        ([[100.0], [200.0]], "clay", [[143.0], [286.0]]),
        (100.0, [["clay"], ["rock"]], [[143.0], [150.0]]),
        ([[100.0], [200.0]], [["clay"], ["rock"]], [[143.0], [300.0]]),
        ([[100.0, 200.0]], "clay", [[143.0, 286.0]]),
        ([[100.0, 200.0], [300.0, 400.0]], [["rock"]], [[150.0, 300.0], [450.0, 600.0]]),
        (((100.0,), (200.0,)), "clay", [[143.0], [286.0]]),
        ([100.0, 200.0], "clay", [[143.0], [286.0]]),
        ([[100.0], [None]], "clay", [[143.0], ["#bank_volume is missing; " + NEEDED]]),
        ([[1.0], [2.0]], [["clay"]] * 3, "#soil is 3 x 1 cells (rows x columns); " + AS_LARGE),
        ([[1.0], [2.0]], [["clay", "rock"]], "#soil is 1 x 2 cells (rows x columns); " + AS_LARGE),
        ([], "clay", "#bank_volume is a range without cells; it must have at least 1"),
        (((),), "clay", "#bank_volume is a range without cells; it must have at least 1"),
        ([[1.0], [2.0, 3.0]], "clay", "#bank_volume has rows of different length; " + ALIKE),
        ([[1.0, 2.0], 3.0], "clay", "#bank_volume has rows of different length; " + ALIKE),
        ([[None]] * 100_001, "clay", "#bank_volume has 100,001 cells; " + AT_MOST),
    ],
)  # fmt: skip
def test_single_cells_go_with_every_row_the_shape_is_kept_and_a_bad_row_spoils_itself(
    volume: object, soil: object, expected: object
) -> None:
    assert sheet.LOOSE_VOLUME(volume, soil) == expected


def test_a_range_for_one_result_is_taken_whole_each_time() -> None:
    assert sheet.SITE_STRENGTH([["stiff", 2.0], ["hard", None]]) == "stiff"
    assert sheet.SITE_STRENGTH([["stiff"], ["soft"]], [["auto"], ["weakest"]]) == [["soft"], ["soft"]]


@pytest.mark.parametrize("result", [None, math.nan, math.inf, "", True, [1.0]])
def test_a_result_that_a_sheet_would_show_as_blank_or_nought_is_a_fault(result: object) -> None:
    shown = answer(lambda _: result, ["a"], [1.0])  # type: ignore[arg-type,return-value]
    assert str(shown).startswith("#basecalc itself failed here (")


def test_an_unforeseen_exception_shows_no_traceback_and_is_logged_in_full(caplog: pytest.LogCaptureFixture) -> None:
    def broken(_: object) -> float:
        return 1 / 0

    with caplog.at_level(logging.ERROR, "basecalc.worksheet"):
        shown = answer(broken, ["a"], [1.0])
    assert shown == (
        "#basecalc itself failed here (ZeroDivisionError: division by zero); do not use this row, and report it"
    )
    assert "Traceback" in caplog.text
    assert "broken" in caplog.text


@pytest.mark.parametrize("stop", [KeyboardInterrupt, SystemExit])
def test_a_stop_from_outside_is_not_swallowed(stop: type[BaseException]) -> None:
    def stopped(_: object) -> float:
        raise stop

    with pytest.raises(stop):
        answer(stopped, ["a"], [1.0])


# ---- any mix of cells: a number, a word or one sentence, never an exception, a blank, a zero, nan or infinity

WORDS = (*TESTS, *CLASSES, *MOISTURES, *SOILS, "light", "heavy", "geogrid", "none", "auto", "in", "mm", "m3", "ton")
UNITS = ("in", "ft", "mm", "m^2", "ft2", "yd3", "kPa", "tsf", "%", "tonne", "lb/yd3", "mm/blow", "s", "ton", "degC", "")
CALLS = 400 * STRENGTH
ODD_TEXTS = (
    "", " ", "\x00", "\ud800", "\N{ZERO WIDTH SPACE}", "\N{RIGHT-TO-LEFT OVERRIDE}12", "١٢", "½", "1e400", "-0", "nan",
    "inf", "1,5", "1 000", "0x10", "=1+1", "#N/A", "#REF!", "#depth is lost", "x" * 40_000, "9" * 400, "1/0",
    "in", "5 in in", "5 inches of rain", "TRUE", "'12", "12'", '6"', "soft\nhard", "\N{SNOWMAN}", "__import__('os')",
)  # fmt: skip
ODD_NUMBERS = (
    0.0, -0.0, 5e-324, -1.0, 1e308, -1e308, math.inf, -math.inf, math.nan, 1e-9, 0.4, 0.39999999999999997, 100.0, 350.0,
    10**400, -(10**400), 2**63, True, False, Decimal("NaN"), Decimal("sNaN"), Decimal("Infinity"), Decimal("1e-400"),
    Fraction(1, 3), -2146826246, 2042,
)  # fmt: skip
DATES = (dt.date(2026, 2, 29 - 1), dt.datetime(1, 1, 1), dt.datetime(9999, 12, 31, tzinfo=dt.UTC), dt.time(8))
WELL = (*WORDS, *SHAPES, "yes", "no", "us", "metric", "weakest", "lower quartile", "weak", "middle", "side", "end")


def number(chance: random.Random) -> Any:
    """Return a plain number that some argument may like."""
    return round(10 ** chance.uniform(-2, 3), chance.randint(0, 6))


def text(chance: random.Random) -> str:
    """Return a few characters from anywhere."""
    return "".join(chr(chance.choice((chance.randrange(128), chance.randrange(0x3000)))) for _ in range(6))


KINDS: tuple[Callable[[random.Random], Any], ...] = (
    number, number, number, lambda chance: chance.choice(WELL), lambda chance: chance.choice(WELL),
    lambda chance: f"{number(chance)} {chance.choice(UNITS)}", lambda chance: chance.choice(ODD_TEXTS),
    lambda chance: chance.choice(ODD_NUMBERS), lambda chance: chance.choice(DATES), lambda _: None, text,
)  # fmt: skip


def cell(chance: random.Random) -> Any:
    """Return what a cell may hold."""
    return chance.choice(KINDS)(chance)


def argument(chance: random.Random) -> Any:
    """Return a cell, or now and then a range."""
    if chance.random() < 0.75:
        return cell(chance)
    columns = chance.choice((1, 1, 2, 7, 24))
    return [[cell(chance) for _ in range(columns)] for _ in range(chance.randint(1, 4))]


def faults(function: Function, shown: Any) -> list[Any]:
    """Return what no cell may show: anything but a finite number above 0, an answer, or a line on an argument."""
    if isinstance(shown, list | tuple):
        return [fault for row in shown for one in row for fault in faults(function, one)]
    if isinstance(shown, float):
        return [] if math.isfinite(shown) and shown > 0 else [shown]
    if not isinstance(shown, str) or len(shown.splitlines()) != 1 or len(shown) > 32_767 or "failed here" in shown:
        return [shown]
    about = rf"#({'|'.join(argument.name for argument in function.arguments)})[ :,]"
    return [] if re.match(about, shown) or shown in CLASSES or re.match(r"[a-z].* governs", shown) else [shown]


def same(one: Any, other: Any) -> bool:
    return repr(one) == repr(other)


@EACH
def test_no_mix_of_cells_ends_in_anything_but_an_answer(function: Function) -> None:
    chance = random.Random(function.name)
    refused = 0
    for call in range(CALLS):
        given = [argument(chance) for _ in range(chance.randint(1, len(function.arguments)))]
        shown = function(*given)
        assert not faults(function, shown), (call, given, shown)
        refused += str(shown[0][0] if isinstance(shown, list) else shown).startswith("#")
    assert refused


@EACH
def test_a_column_shows_what_its_cells_would_show_alone(function: Function) -> None:
    chance = random.Random(function.name)
    for _ in range(CALLS // 8):
        column = [cell(chance) for _ in range(chance.randint(2, 4))]
        rest = [cell(chance) for _ in function.arguments[1:]]
        if function.arguments[0].whole:
            assert same(function([[one] for one in column]), function([column]))
        else:
            assert same(function([[one] for one in column], *rest), [[function(one, *rest)] for one in column])


@pytest.fixture(scope="module")
def excel() -> Iterator[ExcelHost]:
    with ExcelHost() as host:
        yield host


@EACH
def test_excel_shows_what_python_answers(excel: ExcelHost, function: Function) -> None:
    """Whatever VBA can send: a number, a currency, a text, TRUE, an empty cell, an error."""
    chance = random.Random(function.name)
    for _ in range(CALLS // 8):
        given = [
            chance.choice([
                number(chance), chance.choice(WELL), f"{number(chance)} {chance.choice(UNITS)}", None, True,
                Decimal(chance.randint(-10**6, 10**6)).scaleb(-4), "#N/A", "#x; y", error(chance.randint(2000, 2060)),
            ]) for _ in function.arguments
        ]  # fmt: skip
        shown = excel.call(function.name, *map(ComRange, given))
        assert not faults(function, shown), given
        assert same(shown, function(*given)), given


@EACH
def test_nothing_that_calc_can_send_gives_anything_but_an_answer(function: Function) -> None:
    chance = random.Random(function.name)
    for _ in range(CALLS // 8):
        given = [
            None if chance.random() < 0.2 else tuple(map(tuple, one)) if isinstance(one, list) else one
            for one in (argument(chance) for _ in function.arguments)
        ]
        shown = calc.answer(function.name, given)
        assert not faults(function, shown), (given, shown)


def test_a_text_too_long_for_a_cell_becomes_a_sentence_that_fits() -> None:
    def refuse(what: str) -> float:
        raise InputError(f"what is {what!r}; it must be short")

    shown = str(answer(refuse, ["what"], ["x" * 40_000]))
    assert shown.startswith("#what is 'xxx")
    assert len(shown) == 32_767
    assert shown.endswith("(cut here)")
    assert answer(lambda row: "y" * row, ["row"], [32_767]) == "y" * 32_767
    assert answer(lambda row: "y" * row, ["row"], [32_768]) == (
        "#the answer is 32,768 characters long; a cell holds 32,767, so give fewer rows"
    )


def test_a_fault_would_be_seen() -> None:
    for wrong in (math.nan, math.inf, 0.0, "", " ", "two\nlines", None, 3, True, [[1.0, math.nan]], "x" * 40_000):
        assert faults(FUNCTIONS[0], wrong)
    assert not faults(FUNCTIONS[0], [[1.0, "soft"], ["#test is 'x'; it must be one of: walk", 2.0]])
