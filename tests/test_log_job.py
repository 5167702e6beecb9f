"""A spot of a job names a log: it counts like any other reading, and what is wrong with it is told with its place."""

import shutil
from io import BytesIO
from pathlib import Path
from typing import Any
from zipfile import ZipFile

import pytest
from log_corpus import PLAIN
from papers import office_file, rows, sheets, text
from trial_quote import trial_book

from basecalc.core.errors import BasecalcError, InputError
from basecalc.ground.readings import cone_cbr
from basecalc.job import Job, job_problems, load_job, parse_job
from basecalc.pricing.quote import quote

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


def test_a_job_without_a_log_has_no_such_sheet(tmp_path: Path) -> None:
    job = job_of(tmp_path, 'readings = [{ test = "walk", reading = 2.5 }]')
    assert "Cone log" not in [sheet.title for sheet in sheets(office_file(quote(job, trial_book())))]
