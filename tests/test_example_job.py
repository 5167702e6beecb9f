"""The job file that shows every key: it loads, it is whole, and a quote is made of it."""

import re
from pathlib import Path

import pytest
from basecalc.estimating.job_cells import job_cells

from basecalc.core.errors import InputError
from basecalc.job import load_job, parse_job
from basecalc.job.fields import AREA, CLIMATE, FROST, HOLE, JOB, LOG_ROW, READING, SEEN, SPOT
from basecalc.plan.area import SHAPES

EXAMPLE = Path(__file__).parent.parent / "examples" / "every-key.toml"
TABLES = (JOB, CLIMATE, AREA, FROST, SEEN, HOLE, SPOT, READING, LOG_ROW)
INSIDE = {"row"}  # which row of a sheet it stood in: said by the reader of a sheet, not by a job file
SLOPED = {"name": "Drive", "shape": "rectangle", "length": 50, "width": 10, "soil": "clay", "strength": 3}
HEAD = {"number": "Q-1", "client": "Any", "site": "Any Lane"}


def test_every_key_of_a_job_file_stands_in_it() -> None:
    text = EXAMPLE.read_text("utf-8")
    keys = {key for table in TABLES for key in table.keys} - INSIDE
    told = set(re.findall(r"(?:^|[{,]|^# )\s*([a-z0-9_]+) = ", text, re.MULTILINE))
    told |= set(re.findall(r"^\[+(?:[a-z]+\.)?([a-z]+)\]", text, re.MULTILINE)) | {"sides"}
    assert keys - told == set(), "keys that a job file takes and the example does not show"


def test_it_loads_with_every_shape_and_kind_of_spot() -> None:
    job = load_job(EXAMPLE)
    assert {area.shape for area in job.areas} == set(SHAPES)
    assert [area.name for area in job.areas if area.strip_of] == ["Driveway at the foundation"]
    assert [bool(spot.drops) for spot in job.spots] == [False, True, True]


def test_a_slope_of_a_job_file_becomes_the_fall_of_the_sheet() -> None:
    sloped = SLOPED | {"slope": 2, "slope_direction": "length"}
    row = job_cells({"job": HEAD, "area": [sloped]}).areas[0]
    assert (row["fall_length"], "fall_width" in row) == (pytest.approx(12), False)  # 2 % of 50 ft is 1 ft
    assert "slope" not in row
    metric = job_cells({"job": HEAD | {"units": "metric"}, "area": [sloped]}).areas[0]
    assert metric["fall_length"] == pytest.approx(1000)  # 2 % of 50 m


def test_what_the_sheets_have_no_place_for_is_named_by_its_key() -> None:
    old = SLOPED | {"old_pavement": 3, "old_pavement_kind": "asphalt", "old_pavement_age": 14}
    with pytest.raises(InputError, match="'Drive' has 'old pavement age', for which the sheets"):
        job_cells({"job": HEAD, "area": [old]})
    with pytest.raises(InputError, match="'Drive' has 'old pavement age', for which the sheets"):
        job_cells(parse_job({"job": HEAD, "area": [old]}))
