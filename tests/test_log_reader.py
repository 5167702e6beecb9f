"""A cone penetrometer's log: the standard's own sheet row by row, and every way of writing blows and depths."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from log_corpus import PLAIN, READINGS

from basecalc.core.errors import BasecalcError, InputError
from basecalc.ground.cone_log import ConeLog, heading
from basecalc.ground.cone_log_file import cone_log
from basecalc.ground.readings import cone_cbr, hammer_factor

# ASTM D6951, sample sheet: blows since the last reading, depth [mm] -> index [mm/blow] as printed, CBR [%]
ASTM_D6951_SHEET = [
    (5, 25, 5, 50), (5, 55, 6, 40), (15, 125, 5, 50), (10, 175, 5, 50), (5, 205, 6, 40), (5, 230, 5, 50),
    (10, 280, 5, 50), (5, 310, 6, 40), (5, 340, 6, 40), (5, 375, 7, 35), (5, 435, 12, 18),
]  # fmt: skip


def read(text: str, **said: str | float) -> ConeLog:
    return cone_log(text.encode(), "gate.csv", **said)  # type: ignore[arg-type]


def indices(log: ConeLog, drop: int = 0) -> list[float]:
    return [step.mm_per_blow for step in log.drops[drop].steps]


@pytest.mark.source("ASTM-D6951, sample data sheet and Table 1; [memory]")
@pytest.mark.parametrize("row", range(len(ASTM_D6951_SHEET)))
def test_the_sample_sheet_row_by_row(row: int) -> None:
    sheet = "Number of blows,Cumulative penetration (mm)\n0,0\n" + "".join(
        f"{blows},{depth}\n" for blows, depth, _, _ in ASTM_D6951_SHEET
    )
    step = read(sheet).drops[0].steps[row]
    blows, depth, index, cbr = ASTM_D6951_SHEET[row]
    assert (step.row, step.blows, round(step.bottom_m * 1000)) == (row + 3, blows, depth)
    assert int(step.mm_per_blow + 0.5) == index  # printed to the whole millimetre, halves up
    assert cone_cbr(index) == pytest.approx(cbr, rel=0.07)  # the table is rounded, as all its rows are


@pytest.mark.source("FM-5-430-00-2, App. J: the light hammer counts essentially twice; [read]")
def test_the_hammer_by_column_argument_and_comment() -> None:
    light = [2 * index for index in indices(read(PLAIN))]
    column = PLAIN.replace("mm\n", "mm,hammer\n").replace("0,0\n", "0,0,4.6 kg\n", 1)
    assert indices(read(column)) == light  # a blank cell means as above
    factor = PLAIN.replace("mm\n", "mm,hammer factor\n").replace("0,0\n", "0,0,2\n", 1)
    assert indices(read(factor)) == light
    assert indices(read(PLAIN, hammer=4.6)) == indices(read(PLAIN, hammer="4.6 kg")) == light
    assert indices(read("# Hammer: 4,6 kg\n" + PLAIN)) == light
    assert indices(read("# driven with the 4.6 kg hammer\n" + PLAIN)) == light
    assert indices(read("# 8 kg hammer\n" + PLAIN, hammer=8)) == indices(read(PLAIN))
    with pytest.raises(InputError, match=r"row 1: the comment names a hammer of 4\.6 kg, but 8 is taken"):
        read("# 4.6 kg hammer\n" + PLAIN, hammer=8)
    with pytest.raises(InputError, match="row 1: hammer is '10'"):
        read("# 10 kg hammer\n" + PLAIN)


def test_a_hammer_may_change_within_a_drop() -> None:
    log = read("blows per step,depth mm,hammer kg\n0,0,8\n5,50,8\n5,75,4.6\n2,100,4.6\n")
    assert indices(log) == [10, 10, 25]


def test_an_assumed_hammer_is_told() -> None:
    assert any("8 kg hammer is assumed" in note for note in read(PLAIN).notes)
    assert read(PLAIN, hammer=8).notes == ()


@pytest.mark.parametrize("hammer", ["8 KG", "8", 8, 8.0, "8,0 kg"])
def test_a_hammer_is_known_by_its_weight(hammer: str | float) -> None:
    assert hammer_factor(hammer) == 1


@pytest.mark.parametrize("hammer", ["", None, True, "kg", "80", -8])
def test_other_hammers_are_refused(hammer: object) -> None:
    with pytest.raises(InputError, match=r"hammer is .*it must be one of: 8 kg, 4\.6 kg"):
        hammer_factor(hammer)


def test_without_a_seating_reading_the_first_one_is_the_start_and_that_is_told() -> None:
    whole = read(PLAIN).drops[0]
    cut = read(PLAIN.replace("0,0\n", "", 1)).drops[0]
    assert [step.mm_per_blow for step in cut.steps] == [step.mm_per_blow for step in whole.steps[1:]]
    assert "no seating reading" in cut.notes[0]
    assert "row 2 (25 mm), is taken as the start, and its 5 blows do not count" in cut.notes[0]


def test_in_a_log_per_step_the_first_step_counts_and_that_is_told() -> None:
    log = read("blows,penetration per step mm\n5,60\n5,70\n")
    assert indices(log) == [12, 14]
    assert "the first step, row 2, counts" in log.drops[0].notes[0]


def test_a_seating_reading_below_zero_starts_the_depths_there() -> None:
    log = read("blows per step,depth mm\n0,35\n5,85\n5,145\n")
    assert [(step.top_m, step.bottom_m) for step in log.drops[0].steps] == [(0, 0.05), (0.05, 0.11)]
    assert "The ruler stood at 35 mm" in log.drops[0].notes[0]
    seated = read("blows,penetration per step mm\n0,35\n5,50\n5,60\n")
    assert [(step.top_m, step.bottom_m) for step in seated.drops[0].steps] == [(0, 0.05), (0.05, 0.11)]


def test_where_the_cone_stops_the_log_ends_and_that_is_told() -> None:
    log = read(PLAIN + "10,262\n5,262\n")
    assert log.drops[0].steps == read(PLAIN).drops[0].steps
    assert "stopped in row 11, where 15 blows moved it 2 mm" in log.drops[0].notes[0]


def test_several_drops_stand_apart() -> None:
    body = "".join(f"{{drop}},{blows},{depth}\n" for blows, depth in READINGS)
    log = read("test no,blows,depth mm\n" + body.format(drop="gate") + body.format(drop="7"))
    assert [drop.name for drop in log.drops] == ["gate", "7"]
    assert indices(log, 0) == indices(log, 1) == indices(read(PLAIN))
    assert log.drops[1].steps[0].row == 12
    blank = read("drop,blows,depth mm\n" + body.format(drop="").replace(",", "gate,", 1))
    assert [drop.name for drop in blank.drops] == ["gate"]
    with pytest.raises(InputError, match=r"gate\.csv, drop 7, row 13: the depth goes back"):
        read("drop,blows,depth mm\n" + body.format(drop="gate") + "7,0,50\n7,5,100\n7,5,90\n")


def test_comments_are_kept_with_their_rows() -> None:
    text = "# gate\n" + PLAIN.replace("mm\n", "mm,note\n").replace("5,25\n", "5,25,a root # broke\n")
    log = read(text)
    assert log.comments == ((1, "gate"), (4, "broke; a root"))
    assert log.drops[0].steps[0].note == "broke; a root"


def test_a_column_nobody_knows_is_told() -> None:
    assert "Not used: the column 'operator'" in read(PLAIN.replace("mm\n", "mm,operator\n")).notes


def test_a_soil_in_the_log_is_kept_by_row() -> None:
    log = read("blows per step,depth mm,soil\n0,0,\n5,50,CH\n5,110,gravel\n")
    assert [step.soil for step in log.drops[0].steps] == ["fat clay", "gravel"]


@pytest.mark.parametrize(
    ("text", "kind", "how", "unit"),
    [
        ("blows", "blows", "", ""), ("No. of blows", "blows", "", ""), ("Hammer blows", "blows", "", ""),
        ("cumulative_blows", "blows", "total", ""), ("blows per 50 mm", "blows", "per step", ""),
        ("Depth [mm]", "depth", "total", "mm"), ("depth in", "depth", "total", "in"),
        ('depth "', "depth", "total", "in"),
        ("depth in hole", "depth", "total", ""), ("depth, mm, in hole", "depth", "total", "mm"),
        ("penetration (in)", "depth", "", "in"), ("Penetration since last reading, cm", "depth", "per step", "cm"),
        ("total penetration (inches)", "depth", "total", "in"), ("ruler reading mm", "depth", "total", "mm"),
        ("depth (m)", "depth", "total", "m"), ("mm/blow", "worked out", "", ""),
        ("penetration per blow", "worked out", "", ""),
        ("CBR", "worked out", "", ""), ("hammer kg", "hammer", "", ""), ("reading no", "", "", ""),
        ("Test", "drop", "", ""),
        ("Remarks", "comment", "", ""), ("soil", "soil", "", ""), ("weather", "", "", ""),
    ],
)  # fmt: skip
def test_a_heading_means_what_it_says(text: str, kind: str, how: str, unit: str) -> None:
    found = heading(0, text)
    assert (found.kind, found.how, found.unit) == (kind, how, unit)


def test_numbers_prove_how_they_are_counted_or_the_log_is_refused() -> None:
    """A total never falls; eight readings that always rise are a total, which is told; fewer may be either."""
    rising = [3, 5, 9, 14, 16, 21, 25, 30, 36]
    total = read("blows,depth mm\n" + "".join(f"{b},{40 * place}\n" for place, b in enumerate(rising)))
    assert [step.blows for step in total.drops[0].steps] == [2, 4, 5, 2, 5, 4, 5, 6]
    assert "The blows rise in every row: they are taken as a running total" in total.notes
    per_step = read("blows,penetration mm\n5,30\n5,28\n5,35\n5,31\n")
    assert indices(per_step) == [6, 5.6, 7, 6.2]
    with pytest.raises(InputError, match="per step or in total"):
        read("blows,depth mm\n3,20\n5,60\n9,120\n14,200\n")
    with pytest.raises(InputError, match="row 8 does not rise"):
        read(
            "blows,depth mm\n" + "".join(f"{b},{40 * place}\n" for place, b in enumerate([3, 5, 9, 14, 16, 21, 2, 30]))
        )


@pytest.mark.parametrize(
    ("said", "told"),
    [
        ({"blows": "sometimes"}, "blows is 'sometimes'; it must be one of: per step, total"),
        ({"depths": "per step"}, "depths are given as 'per step', but the heading 'depth mm' says 'total'"),
        ({"hammer": "12 kg"}, "hammer is '12 kg'"),
        ({"unit": "in"}, "the unit given is in, but the heading 'depth mm' says mm"),
    ],
)
def test_what_the_caller_says_must_make_sense(said: dict[str, str], told: str) -> None:
    with pytest.raises(InputError, match=told):
        read(PLAIN, **said)


@given(st.text(max_size=200))
def test_no_text_breaks_the_reader(text: str) -> None:
    refusal, log = "", None
    try:
        log = read(text, unit="mm")
    except BasecalcError as error:
        refusal = str(error)
    assert "\n" not in refusal
    assert refusal or (log is not None and log.drops[0].depth_m > 0)


CELL = st.one_of(
    st.integers(-5, 900).map(str), st.sampled_from(["", "x", "5,5", '"', "#", "1e9", "-", "4.6", "=1+1", " "])
)


@given(st.lists(st.lists(CELL, min_size=1, max_size=4), max_size=8), st.sampled_from(",;\t"))
def test_no_table_breaks_the_reader(table: list[list[str]], mark: str) -> None:
    text = mark.join(("blows", "depth mm", "hammer", "drop")) + "\n" + "\n".join(mark.join(row) for row in table)
    refusal, log = "", None
    try:
        log = read(text)
    except BasecalcError as error:
        refusal = str(error)
    assert "\n" not in refusal
    assert refusal or (
        log is not None
        and all(step.mm_per_blow >= 1 or step.top_m == step.bottom_m for drop in log.drops for step in drop.steps)
    )


@given(st.binary(max_size=300))
def test_no_bytes_break_the_reader(content: bytes) -> None:
    with pytest.raises(BasecalcError) as refused:
        cone_log(content, "gate.csv", unit="mm")
    assert "\n" not in str(refused.value)
