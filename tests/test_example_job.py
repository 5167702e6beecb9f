"""The job file that shows every key: it loads, it is whole, and a quote is made of it."""

import re
from pathlib import Path

from basecalc.job import load_job
from basecalc.job.fields import AREA, CLIMATE, FROST, HOLE, JOB, LINE, LOG_ROW, PHOTO, READING, SEEN, SPOT
from basecalc.plan.area import SHAPES

EXAMPLE = Path(__file__).parent.parent / "examples" / "every-key.toml"
TABLES = (JOB, CLIMATE, AREA, FROST, SEEN, HOLE, SPOT, READING, LOG_ROW, LINE, PHOTO)
INSIDE = {"row"}  # which row of a sheet it stood in: said by the reader of a sheet, not by a job file


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
