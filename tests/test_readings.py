"""Every test word at each edge of its bands, dry and frozen ground, what the client reads, old pavements."""

import subprocess
import sys
from decimal import Decimal
from math import inf, nan

import pytest
from hypothesis import given
from hypothesis import strategies as st
from printed import CLASSES, FOOT2_M2, FOOT_M, INCH_M, TSF_KPA, class_of_cbr, rank, weaker_by

from basecalc import InputError, OutOfRangeError, Reading
from basecalc.core.published import table
from basecalc.ground import readings
from basecalc.ground.old_pavement import (
    Pavement,
    Seen,
    TestHole,
    hole_advice,
    holes_needed,
    old_base_verdict,
    open_words,
    speaks,
)
from basecalc.ground.readings import TESTS, Finding, find, gap_under_six_feet

# ---- every test word


def seen(test: str, value: object, **more: str) -> tuple[str, str]:
    """Return the interval that a reading of wet ground leaves open."""
    finding = find(Reading(test, value, **({"moisture": "wet"} | more)))  # type: ignore[arg-type]
    return finding.weakest, finding.strongest


VERY_SOFT, SOFT, MEDIUM, STIFF, VERY_STIFF, HARD = ((word, word) for word in CLASSES)


def test_the_thirteen_test_words() -> None:
    assert TESTS == (
        "stand", "walk", "pickup", "dump truck", "straightedge", "shovel", "rod", "cone", "pocket", "vane", "spt",
        "cbr",
        "thumb",
    )  # fmt: skip


# ETL-1110-1-189, table of ground under load, and common practice, no source
@pytest.mark.source(
    "ETL-1110-1-189, table of ground under load; [memory]. Rules of the trade: common practice, no source; [practice]"
)
@pytest.mark.parametrize(
    ("test", "value", "expected"),
    [
        ("stand", 3.5, VERY_SOFT),  # person standing sinks > 3 in
        ("walk", 2.5, SOFT),  # person walking sinks 2-3 in
        ("walk", 1.5, MEDIUM),  # 1-2 in
        ("walk", 1.0, MEDIUM),  # 1 in
        ("pickup", 0.75, STIFF),  # pickup ruts 1/2-1 in
        ("dump truck", 2.0, VERY_STIFF),  # loaded dump truck ruts 1-3 in
        ("dump truck", 0.0, HARD),  # no rut to speak of
        ("straightedge", 1.0, ("medium", "stiff")),  # gap over 3/4 in
        ("straightedge", "no settlement", ("stiff", "hard")),  # ten years old with no settlement
        ("shovel", "hard", ("stiff", "hard")),  # fairly stiff
    ],
)
def test_published_rows(test: str, value: object, expected: tuple[str, str]) -> None:
    assert seen(test, value) == expected


# test, upper end of the table, then (from, weakest, strongest) of every band; a boundary belongs to the weaker class
BANDS = [
    ("stand", 36, [(0, "soft", "hard"), (1, "soft", "medium"), (2, *SOFT), (3, *VERY_SOFT)]),
    ("walk", 36, [(0, "medium", "hard"), (1, *MEDIUM), (2, *SOFT), (3, *VERY_SOFT)]),
    ("pickup", 24, [(0, "stiff", "hard"), (0.5, *STIFF), (1, "soft", "medium"), (3, "very soft", "medium")]),
    (
        "dump truck",
        36,
        [(0, *HARD), (0.25, "very stiff", "hard"), (1, *VERY_STIFF), (3, "soft", "stiff"), (6, "very soft", "medium")],
    ),
    ("straightedge", 6, [(0, "medium", "hard"), (0.75, "medium", "stiff"), (2, "soft", "stiff")]),
    ("rod", 96, [(0, "medium", "hard"), (6, "soft", "stiff"), (24, "very soft", "medium")]),
]


@pytest.mark.source("ETL-1110-1-189 [memory]; common practice, no source [practice]; gaps closed on the weak side: own")
@pytest.mark.parametrize(("test", "end", "bands"), BANDS)
def test_every_band_at_its_edge_beside_it_and_outside(
    test: str, end: float, bands: list[tuple[float, str, str]]
) -> None:
    starts = [start for start, *_ in bands]
    for (start, weakest, strongest), below in zip(bands, [*starts[1:], end], strict=True):
        for value in (start, start + 0.001, (start + below) / 2, below - 0.001):
            assert seen(test, value) == (weakest, strongest), value
    assert seen(test, end) == bands[-1][1:]
    for value in (-0.001, end + 0.001, nan, inf):
        with pytest.raises(OutOfRangeError, match=f"^{test} is .*from 0 to {end:g} in"):
            find(Reading(test, value))


@given(st.sampled_from([(test, end) for test, end, _ in BANDS]), st.floats(0, 1), st.floats(0, 1))
def test_deeper_is_never_stronger(test: tuple[str, float], one: float, other: float) -> None:
    name, end = test
    shallow, deep = (seen(name, share * end) for share in sorted((one, other)))
    assert rank(deep[0]) <= rank(shallow[0])
    assert rank(deep[1]) <= rank(shallow[1])


@given(st.floats(0, 36))
def test_standing_never_promises_more_than_walking_does(sink: float) -> None:
    # a boot that walks sinks at least as far as one that stands
    assert rank(seen("stand", sink)[1]) <= rank(seen("walk", sink)[1])


# TM 5-818-1 Table 2-2, column "by hand", and the words for it
TM_5_818_1_TABLE_2_2 = [
    ("fist deep", "very soft"), ("thumb deep", "soft"), ("thumb moderate", "medium"), ("thumb great effort", "stiff"),
    ("thumbnail easy", "very stiff"), ("thumbnail hard", "hard"),
]  # fmt: skip


@pytest.mark.source("TM-5-818-1, Table 2-2; [read]")
@pytest.mark.parametrize(("word", "expected"), TM_5_818_1_TABLE_2_2)
def test_thumb(word: str, expected: str) -> None:
    assert seen("thumb", word.upper()) == (expected, expected)
    assert readings.test_words("thumb") == tuple(entry for entry, _ in TM_5_818_1_TABLE_2_2)


@pytest.mark.source("hard to dig is fairly stiff: common practice, no source; [practice]; the other words: own choice")
def test_words_of_shovel_and_rod_from_weak_to_strong() -> None:
    assert {word: seen("shovel", word) for word in readings.test_words("shovel")} == {
        "no effort": ("very soft", "soft"),
        "easy": ("soft", "medium"),
        "moderate": ("medium", "stiff"),
        "hard": ("stiff", "hard"),
        "pick": ("very stiff", "hard"),
    }
    depth_of = {"easy": 30, "moderate": 12, "hard": 3}
    assert {word: seen("rod", word) for word in readings.test_words("rod")} == {
        word: seen("rod", depth) for word, depth in depth_of.items()
    }


@pytest.mark.source(
    "TERZAGHI-PECK, FHWA-SA-02-054 Table 4-1; N 1, 3, 6, 12, 20, 40 are the six classes in order; [digitized]"
)
def test_spt() -> None:
    assert [seen("spt", blows)[0] for blows in (1, 3, 6, 12, 20, 40)] == list(CLASSES)
    assert find(Reading("spt", 12)).cbr is None


@pytest.mark.parametrize(("boundary", "weaker"), list(zip([2, 4, 8, 15, 30], CLASSES, strict=False)))
def test_spt_boundary_belongs_to_the_weaker_class(boundary: float, weaker: str) -> None:
    assert seen("spt", boundary) == (weaker, weaker)
    assert seen("spt", boundary - 0.5) == (weaker, weaker)
    assert seen("spt", boundary + 0.5) == (CLASSES[rank(weaker) + 1],) * 2


@pytest.mark.source("TM-5-818-1, Table 2-2, qu 0.3 tsf soft, 1.5 tsf stiff, 0.4 tsf soft; [read]")
@pytest.mark.parametrize(
    ("qu", "expected"),
    [*zip([0.1, 0.3, 0.7, 1.5, 3.0, 4.5], CLASSES, strict=True), (0.4, "soft")],
)
def test_pocket(qu: float, expected: str) -> None:
    assert seen("pocket", qu) == (expected, expected)
    assert seen("vane", qu / 2) == (expected, expected), "su is half of qu"


@pytest.mark.source("TM-5-818-1, Table 2-2; a boundary belongs to the weaker class")
@pytest.mark.parametrize(("boundary", "weaker"), list(zip([0.25, 0.5, 1.0, 2.0, 4.0], CLASSES, strict=False)))
def test_pocket_boundary_belongs_to_the_weaker_class(boundary: float, weaker: str) -> None:
    assert seen("pocket", boundary) == (weaker, weaker)
    assert seen("pocket", boundary * 0.99) == (weaker, weaker)
    assert rank(seen("pocket", boundary * 1.01)[0]) == rank(weaker) + 1
    assert seen("vane", boundary / 2) == (weaker, weaker)


@pytest.mark.source("TxDOT Geotechnical Manual, Table 4-2: su 0.2 tsf is soft; [read]")
def test_vane() -> None:
    assert seen("vane", 0.2) == SOFT


@pytest.mark.source("TERZAGHI-PECK, qu kPa, values inside the classes; [digitized]")
def test_pocket_in_kilopascals() -> None:
    for pressure, word in zip(["12 kPa", "37 kPa", "75 kPa", "150 kPa", "300 kPa", "450 kPa"], CLASSES, strict=True):
        assert seen("pocket", pressure) == (word, word)


@pytest.mark.source("1 kg/cm2 is 98.0665 kPa, standard gravity 9.80665 m/s2 by definition: 1.024 tsf; [computed]")
@pytest.mark.parametrize("unit", ["kg/cm2", "kgf/cm2", "kg/cm²", "kgf/cm^2"])
def test_a_pocket_penetrometer_printed_in_kilograms(unit: str) -> None:
    finding = find(Reading("pocket", f"1.5 {unit}"))
    assert finding.amount == pytest.approx(1.5 * 98.0665 / TSF_KPA)
    assert finding.amount == pytest.approx(1.5 * 1.024, rel=0.001)
    assert find(Reading("vane", f"0.4 {unit}")).cbr == pytest.approx(0.4 * 98.0665 / 30)


@pytest.mark.source("TM-5-818-1 and TM-5-818-8, sec. 2-7: qu 1.0 tsf is CBR 1.60 (0.5 %); [read]")
def test_strength_becomes_a_bearing_ratio() -> None:
    assert find(Reading("pocket", 1.0)).cbr == pytest.approx(1.60, rel=0.005)
    assert find(Reading("vane", 0.5)).cbr == find(Reading("pocket", 1.0)).cbr
    # 100 kPa / 2 / 30
    assert find(Reading("pocket", "100 kPa")).cbr == pytest.approx(100 / 60)


@given(st.floats(0, 5))
def test_class_and_bearing_ratio_of_one_reading_agree(qu: float) -> None:
    finding = find(Reading("pocket", qu))
    if finding.cbr is None:
        assert finding.weakest == "very soft"
        assert qu * TSF_KPA / 60 < 0.0501
    else:
        assert class_of_cbr(finding.cbr) == finding.weakest == finding.strongest


@pytest.mark.source("ASTM-D6951: 25.4 mm/blow is CBR 7.80, CL 30 mm/blow 3.84; [computed]")
def test_cone_reads_a_bearing_ratio_and_its_class() -> None:
    inch = find(Reading("cone", "1 in", soil="gravel"))
    assert (inch.weakest, inch.cbr) == ("hard", pytest.approx(7.80, rel=0.005))
    assert find(Reading("cone", "25.4 mm/blow")).cbr == find(Reading("cone", 25.4)).cbr < inch.cbr
    clay = find(Reading("cone", 30, soil="clay"))
    assert (clay.weakest, clay.cbr) == ("very stiff", pytest.approx(3.84, rel=0.005))
    assert "by the curve for all soils)" in inch.sentence
    unnamed = find(Reading("cone", 30)).sentence
    assert "by the curve for lean clay, the weakest that fits as the soil is not noted)" in unnamed
    assert "by the curve for lean clay, the weakest that fits)" in clay.sentence
    assert "by the curve for lean clay)" in find(Reading("cone", 30, soil="CL")).sentence


def test_a_cone_that_falls_through_gives_no_number() -> None:
    # 1/(0.017019 x 340)^2 = 0.030, less than a CBR can be
    finding = find(Reading("cone", 340, "wet", "CL"))
    assert (finding.weakest, finding.strongest, finding.cbr) == ("very soft", "very soft", None)


@pytest.mark.parametrize(
    ("value", "word"), [(0.4, "very soft"), (0.41, "soft"), ("6.4 %", "medium"), ("3", "stiff"), (100, "hard")]
)
def test_a_measured_bearing_ratio_is_itself(value: object, word: str) -> None:
    finding = find(Reading("cbr", value))  # type: ignore[arg-type]
    expected = {"6.4 %": ("very stiff", 6.4), "3": ("stiff", 3.0)}.get(str(value), (word, value))
    assert (finding.weakest, finding.cbr) == expected
    assert finding.weakest == finding.strongest


@pytest.mark.parametrize(
    ("test", "values", "says"),
    [
        ("spt", (-1, 101, nan), "from 0 to 100 blows"), ("pocket", (-0.1, 5.01, 100), "from 0 to 5 tsf"),
        ("vane", (2.51,), "from 0 to 2.5 tsf"), ("cone", (0.9, 351, "0.02 in", "15 in"), "from 1 to 350 mm/blow"),
        ("cbr", (0, 0.049, 100.1), "from 0.05 to 100 %"),
    ],
)  # fmt: skip
def test_a_number_outside_the_instrument(test: str, values: tuple[object, ...], says: str) -> None:
    for value in values:
        with pytest.raises(OutOfRangeError, match=f"^{test} is .*{says}"):
            find(Reading(test, value))  # type: ignore[arg-type]


# how a reading may be written
@pytest.mark.parametrize("value", [2.5, "2.5", "2.5 in", "63.5 mm", Decimal("2.5"), ' 2.5" '])
def test_a_number_may_carry_its_unit(value: object) -> None:
    assert seen("walk", value) == SOFT


def test_plain_numbers_and_words_never_go_near_the_unit_registry() -> None:
    script = (
        "import sys; from basecalc.ground.readings import Reading, find; "
        "[find(Reading(*r)) for r in (('pocket', 1.2), ('vane', '0.4'), ('cone', 20), ('walk', 2), ('rod', 'easy'))]; "
        "heavy = {'pint', 'numpy', 'pandas', 'openpyxl', 'pydantic'} & set(sys.modules); print(sorted(heavy))"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_a_converted_boundary_is_still_a_boundary() -> None:
    assert seen("walk", "50.8 mm") == SOFT
    assert seen("walk", "25.4 mm") == MEDIUM
    assert seen("dump truck", "76.2 mm") == ("soft", "stiff")
    assert seen("dump truck", "0.25 ft") == ("soft", "stiff")


@pytest.mark.parametrize(
    ("test", "value", "says"),
    [
        ("walk", None, "walk is missing; it must be a number from 0 to 36 in"),
        ("walk", "", "walk is missing"),
        ("walk", True, "walk is TRUE"),
        ("walk", "deep", "walk is 'deep'; it must be a number"),
        ("walk", "2 kPa", "walk is '2 kPa'; .*in"),
        ("pocket", "2 in", "pocket is '2 in'; .*tsf"),
        ("shovel", 3, "shovel is 3; it must be one of: no effort, easy, moderate, hard, pick$"),
        ("shovel", None, "shovel is nothing; it must be one of"),
        ("rod", "deep", r"rod is 'deep'; it must be one of: easy, moderate, hard; or a number \(in\)"),
        ("rod", None, "rod is missing"),
        ("thumb", "firm", "thumb is 'firm'; it must be one of: fist deep"),
        ("jump", 3, "test is 'jump'; it must be one of: stand, walk"),
        ("", 3, "test is missing"),
        (None, 3, "test is missing"),
    ],
)
def test_a_reading_that_says_nothing_is_refused(test: str, value: object, says: str) -> None:
    with pytest.raises(InputError, match=says):
        find(Reading(test, value))  # type: ignore[arg-type]


def test_moisture_and_soil_must_be_known_words() -> None:
    with pytest.raises(InputError, match="moisture is 'damp'; it must be one of: dry, moist, wet, frozen"):
        find(Reading("walk", 2, "damp"))
    with pytest.raises(InputError, match="soil is 'peat'"):
        find(Reading("walk", 2, "wet", "peat"))


@pytest.mark.parametrize(("test", "value"), [("thumb", "thumb deep"), ("pocket", 1), ("vane", 1)])
def test_tests_of_fine_soil_are_refused_in_coarse_soil(test: str, value: object) -> None:
    with pytest.raises(InputError, match=f"{test} is not a test for gravel: it reads fine soil"):
        find(Reading(test, value, soil="gravel"))  # type: ignore[arg-type]


def test_what_to_write_is_said_for_every_test() -> None:
    for test in TESTS:
        unit, words = readings.test_unit(test), readings.test_words(test)
        assert unit or words
        assert len(readings.test_help(test)) > 8
        assert all(seen(test, word) for word in words)
    assert {test: readings.test_unit(test) for test in ("cone", "pocket", "vane", "spt", "cbr", "rod")} == {
        "cone": "mm/blow", "pocket": "tsf", "vane": "tsf", "spt": "blows", "cbr": "%", "rod": "in",
    }  # fmt: skip


# dry, moist, wet, frozen
def same(finding: Finding) -> bool:
    """Return whether the season changed nothing."""
    return (finding.weakest, finding.strongest, finding.cbr) == finding.as_read


@pytest.mark.parametrize("moisture", ["dry", " Dry "])
@pytest.mark.parametrize("soil", ["clay", "silt", "loam", "earth", ""])
def test_fine_soil_read_dry_goes_one_class_down(moisture: str, soil: str) -> None:
    finding = find(Reading("pickup", 0.2, moisture, soil))
    assert finding.as_read == ("stiff", "hard", None)
    assert (finding.weakest, finding.strongest) == ("medium", "very stiff")
    assert "one class down, as medium to very stiff" in finding.sentence
    assert ("not noted, counts as fine" in finding.sentence) == (soil == "")


@pytest.mark.parametrize("soil", ["sand", "gravel", "rock"])
def test_coarse_soil_read_dry_is_unchanged(soil: str) -> None:
    finding = find(Reading("cone", 20, "dry", soil))
    assert same(finding)
    assert f"read dry and taken as read, because {soil} is a coarse soil" in finding.sentence


@pytest.mark.parametrize("class_down", [True, False])
@pytest.mark.parametrize("soil", ["clay", "silt", "sand", "gravel", ""])
@pytest.mark.parametrize(("test", "value"), [("cone", 10), ("dump truck", 0), ("shovel", "pick"), ("walk", 3)])
def test_a_reading_of_frozen_ground_is_shown_and_says_nothing(
    test: str, value: float | str, soil: str, class_down: bool
) -> None:
    """Ice binds the soil: what it holds in winter is no sign of what it holds after the thaw, coarse soil or fine."""
    finding = find(Reading(test, value, " Frozen", soil), class_down=class_down)
    assert not finding.counts
    assert (finding.weakest, finding.strongest, finding.cbr) == ("very soft", "hard", None)
    assert finding.as_read == find(Reading(test, value, "wet", soil)).as_read, "it is kept as it was read"
    assert "read frozen, so it does not count" in finding.sentence


@pytest.mark.parametrize("moisture", ["moist", "wet", ""])
def test_moist_wet_and_not_noted_change_nothing(moisture: str) -> None:
    finding = find(Reading("cone", 20, moisture, "clay"))
    assert same(finding)
    assert (f"; read {moisture}." if moisture else "; how wet the ground was is not noted.") in finding.sentence


def test_the_owner_may_turn_the_rule_off() -> None:
    finding = find(Reading("walk", 1.5, "dry", "clay"), class_down=False)
    assert same(finding)
    assert "read dry and taken as read, by the owner's setting" in finding.sentence


def test_a_measured_bearing_ratio_is_halved_with_the_class() -> None:
    finding = find(Reading("cbr", 2.0, "dry", "clay"))
    assert finding.as_read == ("stiff", "stiff", 2.0)
    assert (finding.weakest, finding.strongest, finding.cbr) == ("medium", "medium", 1.0)
    assert "as medium (bearing ratio 1 %)." in finding.sentence


def test_dry_hard_ground_is_very_stiff_and_no_more_than_that_allows() -> None:
    assert find(Reading("cbr", 10, "dry", "clay")).cbr == 5.0
    finding = find(Reading("cbr", 40, "dry", "clay"))
    assert (finding.weakest, finding.cbr) == ("very stiff", 6.4)


def test_very_soft_is_the_floor() -> None:
    finding = find(Reading("cbr", 0.2, "dry", "silt"))
    assert (finding.weakest, finding.strongest, finding.cbr) == ("very soft", "very soft", 0.1)
    assert find(Reading("cbr", 0.08, "dry")).cbr is None, "half of it is no number to design with"
    assert "already the weakest class" in find(Reading("stand", 4, "dry")).sentence


@given(st.floats(0.05, 100))
def test_a_class_down_is_one_class_and_its_ratio_belongs_to_it(cbr: float) -> None:
    finding = find(Reading("cbr", cbr, "dry", "silt"))
    assert finding.weakest == weaker_by(finding.as_read[0], 1)
    if finding.cbr is not None:
        assert class_of_cbr(finding.cbr) == finding.weakest
        assert finding.cbr <= cbr / 2 * (1 + 1e-8)


def test_an_old_pavement_has_sunk_in_every_season() -> None:
    finding = find(Reading("straightedge", 1.0, "dry", "clay"))
    assert same(finding)
    assert "dry" not in finding.sentence


# what the client reads
@pytest.mark.parametrize(
    ("reading", "sentence"),
    [
        (Reading("walk", 2.5, "wet"), "Walking on it: the boot sank 2.5 in, which means soft ground; read wet."),
        (
            Reading("stand", "90 mm", "wet"),
            "Standing on it: the boot sank 90 mm, which means very soft ground; read wet.",
        ),
        (
            Reading("pickup", 0.2, "moist"),
            "Driving an empty pickup over it: the rut was 0.2 in deep, which means stiff or better ground; read moist.",
        ),
        (
            Reading("dump truck", 8, "wet"),
            "Driving a loaded dump truck over it: the rut was 8 in deep, which means medium or weaker ground; "
            "read wet.",
        ),
        (
            Reading("straightedge", 1),
            "Looking at the old pavement: a gap of 1 in under a 6 ft straightedge, which means medium to stiff ground.",
        ),
        (
            Reading("rod", 30, "wet"),
            "Pushing a steel rod in by hand: it went in 30 in, which means medium or weaker ground; read wet.",
        ),
        (
            Reading("spt", 12, "wet"),
            "Boring with the standard penetration test: 12 blows for a foot, which means stiff ground; read wet.",
        ),
        (
            Reading("pocket", 1.5, "wet"),
            "Pressing with a pocket penetrometer: it read 1.5 tsf, which means stiff ground "
            "(bearing ratio 2.4 %); read wet.",
        ),
        (
            Reading("cone", 40, "wet", "sand"),
            "Driving a cone penetrometer: it went in 40 mm a blow, which means very stiff ground (bearing ratio 4.7 %, "
            "by the curve for all soils); read wet.",
        ),
    ],
)
def test_a_finding_says_in_plain_words_what_was_read_and_what_it_means(reading: Reading, sentence: str) -> None:
    assert find(reading).sentence == sentence


def test_a_finding_cites_its_own_row() -> None:
    printed, closed = find(Reading("walk", 2.5)), find(Reading("walk", 4))
    assert printed.source == table("walk_sink").cited
    assert "ETL 1110-1-189" in printed.source
    assert closed.source.startswith("basecalc's own choice")
    assert closed.source.endswith("[own]")
    assert "Table 2-2, [read]" in find(Reading("thumb", "thumb deep")).source
    assert "ASTM D6951" in find(Reading("cone", 20)).source
    assert (
        find(Reading("rod", 3)).source
        == "basecalc's own choice, on the weak side, for the depth of a 1/2 in steel rod [own]"
    )


def test_a_finding_keeps_the_number_read_and_a_short_label() -> None:
    assert find(Reading("rod", "2 ft")).amount == 24
    assert find(Reading("rod", "2 ft")).label == "rod 2 ft"
    assert find(Reading("rod", "easy")).amount is None
    assert find(Reading("thumb", "Thumb  Deep")).label == "thumb deep"
    assert find(Reading("walk", "2")).label == "walk 2 in"


# ---- an old pavement


def sunk(gap: float, length: float = 6.0, where: str = "wheel tracks") -> Seen:
    return Seen("rut", where, gap * INCH_M, length * FOOT_M)


def said(kind: str = "asphalt", **what: object) -> tuple[str, str]:
    speech = speaks(Pavement(**what), kind, "us")  # type: ignore[arg-type]
    return speech.weakest, speech.strongest


@pytest.mark.source("a gap over 3/4 in under 6 ft, medium to stiff: common practice, no source; [practice]")
def test_a_gap_over_three_quarters_of_an_inch_is_medium_to_stiff() -> None:
    assert said(seen=(sunk(0.76),)) == said(seen=(sunk(1.9),)) == ("medium", "stiff")
    assert said(seen=(sunk(0.74),)) == ("medium", "hard")  # our own closing of the gap in the rule, on the weak side


@pytest.mark.source("ten years with no settlement, stiff or hard: common practice, no source; [practice]")
def test_ten_years_without_settlement_is_stiff_or_hard() -> None:
    assert said(age=10.0, state="even") == said("gravel", age=25.0, state="even") == ("stiff", "hard")


def test_what_the_rule_does_not_speak_of_says_nothing() -> None:
    assert said(age=9.0, state="even") == said(state="even") == said(state="settled") == said() == ("", "")
    assert "no gap was measured" in speaks(Pavement(state="rutted"), "pavers", "us").sentences[0]
    assert "only 9 years old" in speaks(Pavement(age=9.0, state="even"), "pavers", "us").sentences[0]
    assert open_words(speaks(Pavement(), "pavers", "us")) == ""


def test_concrete_that_lies_even_says_nothing_but_a_wide_gap_does() -> None:
    assert said("concrete", age=30.0, state="even") == said("concrete", seen=(sunk(0.5),)) == ("", "")
    assert said("concrete", seen=(sunk(1.0),)) == ("medium", "stiff")


def test_a_gap_under_another_length_is_an_interval_by_hand() -> None:
    # one even sag: gaps as the squares, 1 x (6 / 8)^2 = 0.5625; a narrow rut: the same 1 in
    assert gap_under_six_feet(1.0, 8.0) == pytest.approx((0.5625, 1.0))
    # 5 ft: 0.6 x (6 / 5)^2 = 0.864
    assert gap_under_six_feet(0.6, 5.0) == pytest.approx((0.6, 0.864))
    assert said(seen=(sunk(1.0, 8.0),)) == ("medium", "hard")  # between 0.56, medium or better, and 1, medium to stiff
    assert said(seen=(sunk(2.5, 10.0),)) == ("soft", "stiff")  # between 0.9 and 2.5


@pytest.mark.parametrize("length", [3.0, 4.0, 4.89, 10.1, 16.0])
def test_a_length_far_from_six_feet_is_refused(length: float) -> None:
    with pytest.raises(OutOfRangeError, match=r"straightedge is [\d.]+ ft; it must be from 4.9 to 10 ft \(the rule"):
        gap_under_six_feet(0.5, length)


@given(st.floats(0, 2), st.floats(4.9, 10))
def test_the_interval_always_holds_the_gap_itself_and_the_weak_end_is_no_better(gap: float, length: float) -> None:
    low, high = gap_under_six_feet(gap, length)
    assert low <= high
    assert low * (1 - 1e-8) <= gap <= high * (1 + 1e-8)
    assert gap_under_six_feet(gap, 6.0) == (pytest.approx(gap), pytest.approx(gap))


def test_a_reading_may_name_the_length_of_its_straightedge() -> None:
    finding = find(Reading("straightedge", "1 in under 8 ft"))
    assert (finding.weakest, finding.strongest) == ("medium", "hard")
    assert "1 in under a straightedge of 8 ft" in finding.sentence
    assert "[own]" in finding.source
    metric = find(Reading("straightedge", "20 mm under 2 m"))  # 0.79 in, or 0.79 x (1.8288 / 2)^2 = 0.66 in
    assert (metric.weakest, metric.strongest) == ("medium", "hard")
    with pytest.raises(OutOfRangeError, match=r"must be from 4\.9 to 10 ft"):
        find(Reading("straightedge", "1 in under 4 ft"))
    with pytest.raises(InputError, match="gap is '1'; it must have its unit"):
        find(Reading("straightedge", "1 under 8 ft"))


@pytest.mark.source("AASHTO-1993, Part III, Table 5.2, granular base; [memory]")
def test_layer_coefficients_of_an_old_granular_base() -> None:
    credit = table("old_base_credit")
    assert (credit.exact("clean")["low"], credit.exact("clean")["high"]) == (0.10, 0.14)
    assert (credit.exact("dirty")["low"], credit.exact("dirty")["high"]) == (0.00, 0.10)


CLEAN = (TestHole("gate", 8 * INCH_M, "clean"), TestHole("garage", 7 * INCH_M, "clean"))
SMALL = 800 * FOOT2_M2


def test_an_old_base_stays_with_clean_holes_on_stiff_ground_and_counts_by_its_thinnest_hole() -> None:
    verdict = old_base_verdict(Pavement(holes=CLEAN, seen=(sunk(0.25),)), "stiff", SMALL)
    assert verdict.stays
    assert verdict.base_m == 7 * INCH_M
    assert verdict.share == pytest.approx(10 / 14)


@pytest.mark.parametrize(
    ("known", "word", "reason"),
    [
        (None, "hard", "0 of the 2 test holes"),
        (Pavement(base_m=0.2), "hard", "0 of the 2 test holes"),  # somebody's word is no hole
        (Pavement(holes=CLEAN[:1]), "hard", "1 of the 2 test holes"),
        (Pavement(holes=CLEAN), "medium", "the ground below is medium"),
        (Pavement(holes=CLEAN, seen=(sunk(0.75),)), "stiff", "has settled or rutted"),
        (Pavement(holes=CLEAN, state="settled"), "stiff", "has settled or rutted"),
        (Pavement(holes=(*CLEAN, TestHole("edge", 0.2, "dirty"))), "stiff", "at edge there is mud"),
        (Pavement(holes=(*CLEAN, TestHole("edge", 0.0, "clean"))), "stiff", "shows no base at all"),
    ],
)
def test_every_reason_against_an_old_base_is_told(known: Pavement | None, word: str, reason: str) -> None:
    verdict = old_base_verdict(known, word, SMALL)
    assert not verdict.stays
    assert any(reason in against for against in verdict.against)


def test_a_larger_area_needs_more_holes() -> None:
    # own choice: two, or one for each 1,000 ft2 where that is more
    assert [holes_needed(area * FOOT2_M2) for area in (100, 2000, 2001, 4500)] == [2, 2, 3, 5]
    assert "Open 3 test holes" in hole_advice(2500 * FOOT2_M2, "us")
    assert "12 in into the ground" in hole_advice(SMALL, "us")
    assert "305 mm into the ground" in hole_advice(SMALL, "metric")
