"""A cone penetrometer's log: the standard's own sheet, every way to write one, and a job that names one."""

import shutil
from io import BytesIO
from pathlib import Path
from typing import Any
from zipfile import ZipFile

import pytest
from hypothesis import given
from hypothesis import strategies as st
from log_corpus import CASES, MANY, PLAIN, READINGS
from papers import office_file, rows, text
from trial_quote import trial_book

from basecalc import BasecalcError, InputError, Job, WorkbookError, load_job, parse_job, quote
from basecalc.ground.cone_log import ConeLog, heading
from basecalc.ground.cone_log_file import cone_log, read_cone_log
from basecalc.ground.readings import cone_cbr, hammer_factor
from basecalc.job import job_problems

# ---- every way of writing blows and depths
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


# ---- the corpus
REFUSED = {name: case for name, case in CASES.items() if case.told}
READ = {name: case for name, case in CASES.items() if not case.told}


def written(folder: Path, content: bytes) -> Path:
    file = folder / "gate.csv"
    file.write_bytes(content)
    return file


def steps_mm(log: ConeLog, drop: int = 0) -> list[tuple[int, float, float]]:
    return [
        (step.blows, round(step.top_m * 1000, 6), round(step.bottom_m * 1000 * step.hammer_factor, 6))
        for step in log.drops[drop].steps
    ]


PLAIN_STEPS = [
    (blows, before, float(depth)) for (blows, depth), (_, before) in zip(READINGS[1:], READINGS, strict=False)
]


@pytest.mark.parametrize("name", READ)
def test_a_log_written_another_way_is_the_same_log(name: str, tmp_path: Path) -> None:
    log = read_cone_log(written(tmp_path, READ[name].content), **READ[name].given)
    assert len(log.drops) == 1
    found = steps_mm(log)
    assert [(blows, bottom) for blows, _, bottom in found] == [
        (blows, pytest.approx(bottom, abs=1e-5)) for blows, _, bottom in PLAIN_STEPS
    ]


@pytest.mark.parametrize("name", REFUSED)
def test_a_wrong_log_is_refused_in_one_line_with_its_row(name: str, tmp_path: Path) -> None:
    case = REFUSED[name]
    file = written(tmp_path, case.content)
    with pytest.raises(BasecalcError) as refused:
        read_cone_log(file, **case.given)
    line = str(refused.value)
    assert "\n" not in line
    assert case.told in line
    assert line.startswith(str(file)) or name == "an unknown unit"  # which is the caller's, not the file's
    assert (f", row {case.row}: " in line) == bool(case.row)
    assert case.row or ", row " not in line


def test_thousands_of_rows_of_many_drops_are_read_right(tmp_path: Path) -> None:
    log = read_cone_log(written(tmp_path, MANY.content))
    assert len(log.drops) == 600
    assert steps_mm(log, 0) == steps_mm(log, len(log.drops) - 1) == PLAIN_STEPS
    assert log.drops[-1].steps[-1].row == MANY.content.count(b"\n")


def test_a_missing_file_a_folder_and_a_huge_one_are_refused(tmp_path: Path) -> None:
    with pytest.raises(WorkbookError, match="there is no such file"):
        read_cone_log(tmp_path / "none.csv")
    with pytest.raises(WorkbookError, match="this is a folder"):
        read_cone_log(tmp_path)
    with pytest.raises(WorkbookError, match="at most 20 MB"):
        read_cone_log(written(tmp_path, b"0" * 20_000_001))
    with pytest.raises(WorkbookError, match="cannot be read"):
        read_cone_log("a\0b.csv")


# ---- a spot of a job names a log
EXAMPLE = Path(__file__).parent.parent / "examples" / "cone-log.csv"
JOB = """
[job]
number = "Q-31"
client = "Any Client"
site = "Any Lane 1"
season = "wet"
soil = "clay"
units = "us"

[[area]]
name = "Drive"
shape = "rectangle"
length = 40
width = 20

[[spot]]
name = "gate"
"""


def job_file(folder: Path, keys: str, log: str | None = PLAIN, text: str = JOB) -> Path:
    if log is not None:
        (folder / "gate.csv").write_text(log, "utf-8")
    file = folder / "drive.toml"
    file.write_text(text + keys + "\n", "utf-8")
    return file


def job_of(folder: Path, keys: str, log: str | None = PLAIN, text: str = JOB) -> Job:
    return load_job(job_file(folder, keys, log, text))


def test_a_log_beside_the_job_counts_as_a_reading_of_its_design_layer(tmp_path: Path) -> None:
    job = job_of(tmp_path, 'log = "gate.csv"')
    (reading,) = job.spots[0].readings
    (drop,) = job.spots[0].drops
    assert (reading.test, reading.value, reading.moisture, reading.soil) == ("cone", 20, "wet", "clay")
    ground = quote(job, trial_book()).ground["Drive"]
    assert ground.spots[0].cbr == drop.cbr == cone_cbr(20, "clay")
    finding = ground.spots[0].decided_by
    assert "the 8 kg hammer is assumed" in finding.reading.note
    assert (
        "(log gate.csv): 2 layers, the weakest that matters, from 3.9 to 10.2 in, went in 20 mm a blow"
        in finding.sentence
    )


def test_other_readings_of_the_spot_stand_beside_the_log(tmp_path: Path) -> None:
    job = job_of(tmp_path, 'log = "gate.csv"\nreadings = [{ test = "walk", reading = 2.5 }]')
    assert [one.test for one in job.spots[0].readings] == ["walk", "cone"]
    ground = quote(job, trial_book()).ground["Drive"]
    assert ground.strength.strength_class == "soft"
    assert len(ground.conflicts) == 1


def test_a_dry_season_takes_the_log_one_class_down(tmp_path: Path) -> None:
    job = job_of(tmp_path, 'log = "gate.csv"', text=JOB.replace('"wet"', '"dry"'))
    assert quote(job, trial_book()).ground["Drive"].spots[0].cbr == pytest.approx(cone_cbr(20, "clay") / 2)


def test_the_keys_of_a_log_say_how_it_is_read(tmp_path: Path) -> None:
    bare = PLAIN.replace(" mm", "")
    light = job_of(tmp_path, 'log = "gate.csv"\nlog_unit = "mm"\nhammer = 4.6', bare)
    assert light.spots[0].readings[0].value == 40
    total = "blows,depth mm\n0,0\n5,60\n10,120\n15,180\n"
    counted = job_of(tmp_path, 'log = "gate.csv"\nlog_blows = "total"', total)
    assert counted.spots[0].readings[0].value == 12
    per_step = "blows,depth mm\n5,60\n5,80\n5,90\n".replace("depth", "penetration")
    assert job_of(tmp_path, 'log = "gate.csv"\nlog_blows = "per step"\nlog_depths = "per step"', per_step).spots


def test_the_bottom_of_the_base_narrows_what_counts(tmp_path: Path) -> None:
    weak_top = "blows per step,depth mm\n0,0\n1,60\n1,120\n1,180\n2,220\n2,260\n2,300\n2,340\n"
    assert job_of(tmp_path, 'log = "gate.csv"', weak_top).spots[0].readings[0].value == 60
    assert job_of(tmp_path, 'log = "gate.csv"\nbase_bottom = 8', weak_top).spots[0].readings[0].value == 20
    metric = JOB.replace('"us"', '"metric"')
    deep = job_of(tmp_path, 'log = "gate.csv"\nbase_bottom = 200', weak_top, metric)
    assert deep.spots[0].readings[0].value == 20
    assert "340 mm deep (log gate.csv)" in deep.spots[0].readings[0].told


def test_each_drop_is_a_reading_and_one_may_be_chosen(tmp_path: Path) -> None:
    shutil.copy(EXAMPLE, tmp_path / "cone-log.csv")
    both = job_of(tmp_path, 'log = "cone-log.csv"')
    assert [one.profile.drop.name for one in both.spots[0].drops] == ["gate", "ditch"]
    assert len(both.spots[0].readings) == 2
    assert quote(both, trial_book()).ground["Drive"].spots[0].cbr == min(one.cbr for one in both.spots[0].drops)
    one = job_of(tmp_path, 'log = "cone-log.csv"\nlog_drop = "Ditch"')
    assert [drop.profile.drop.name for drop in one.spots[0].drops] == ["ditch"]


@pytest.mark.parametrize(
    ("keys", "log", "told"),
    [
        ("", PLAIN, 'spot 1 "gate": readings is missing; a spot must have at least one reading, or a log'),
        ('log = "none.csv"', PLAIN, "none.csv: there is no such file"),
        ('log = "gate.csv"', PLAIN.replace("5,50", "5,20"), "gate.csv, row 4: the depth goes back by 5 mm"),
        ('log = "gate.csv"', PLAIN.replace(" mm", ""), "nothing says the unit of the depths"),
        ('log = "gate.csv"\nlog_unit = "yd"', PLAIN, "log unit is 'yd'; it must be one of: mm"),
        ('log = "gate.csv"\nhammer = 10', PLAIN, "hammer is 10; it must be one of: 8 kg, 4.6 kg"),
        (
            'log = "gate.csv"\nlog_drop = "B"',
            PLAIN.replace("mm\n", "mm,drop\n").replace("0,0\n", "0,0,A\n", 1),
            "log drop is 'B'; it must be one of: A",
        ),
        ('log = "gate.csv"\nbase_bottom = 30', PLAIN, "gate.csv: the log ends 10.2 in deep, above the bottom"),
        ('log = "gate.csv"\nbase_bottom = -1', PLAIN, "base bottom is -1 in; it must be from 0 to 118 in"),
        ('log_unit = "mm"\nreadings = [{ test = "walk", reading = 1 }]', PLAIN, "log is missing; log unit says how"),
        ('log = "gate.csv"\nlog_drop = true', PLAIN, "log drop is TRUE"),
        ('lgo = "gate.csv"', PLAIN, "there is no key 'lgo'; did you mean 'log'?"),
    ],
)
def test_what_is_wrong_with_a_log_is_told_with_the_spot(tmp_path: Path, keys: str, log: str, told: str) -> None:
    file = job_file(tmp_path, keys, log)
    with pytest.raises(BasecalcError) as refused:
        load_job(file)
    line = str(refused.value)
    assert line.startswith(f'{file}, spot 1 "gate"')
    assert told in line
    assert "\n" not in line
    assert line in [str(problem) for problem in job_problems(file)]


def test_a_job_in_no_file_has_no_log_beside_it() -> None:
    data: dict[str, Any] = {
        "job": {"number": "Q-1", "client": "Any Client", "site": "Any Lane 1", "soil": "clay"},
        "area": [{"name": "Drive", "shape": "rectangle", "length": 40, "width": 20}],
        "spot": [{"name": "gate", "log": "/any/where.csv"}],
    }
    with pytest.raises(InputError, match="the job was not read from a file"):
        parse_job(data)


# ---- the sheet of the office's file
def test_the_sheet_shows_every_layer_and_reading_of_every_drop(tmp_path: Path) -> None:
    shutil.copy(EXAMPLE, tmp_path / "cone-log.csv")
    job = job_of(tmp_path, 'log = "cone-log.csv"')
    data = office_file(quote(job, trial_book()))
    found = rows(data, "Cone log")
    for drop in job.spots[0].drops:
        for step, cbr in zip(drop.profile.drop.steps, drop.profile.step_cbrs, strict=True):
            (row,) = [
                row
                for row in found
                if len(row) >= 6
                and row[0] == step.row
                and row[3] == step.blows
                and row[2] == pytest.approx(step.bottom_m / 0.0254)
                and row[5] == pytest.approx(cbr, abs=5e-4)
            ]
            assert row[4] == f"{step.mm_per_blow:,.1f}"
        for layer in drop.profile.layers:
            (row,) = [
                row
                for row in found
                if len(row) >= 6
                and row[2] == pytest.approx(layer.bottom_m / 0.0254)
                and row[5] == pytest.approx(layer.cbr, abs=5e-4)
                and row[3] == layer.blows
                and row[1] == pytest.approx(layer.top_m / 0.0254)
                and row[0] < 10
            ][:1]
            assert (row[-1] == "the design layer" or str(row[-1]).startswith("the design layer,")) == (
                layer is drop.layer
            )
        assert any(drop.how in str(cell) for row in found for cell in row)
    assert "The cone stopped in row 35" in text(data, "Cone log")
    with ZipFile(BytesIO(data)) as parts:  # CBR by depth is drawn, a dot for every reading
        drawn = "".join(
            parts.read(name).decode() for name in parts.namelist() if name.startswith("xl/drawings/drawing")
        )
    assert "CBR, %" in drawn
