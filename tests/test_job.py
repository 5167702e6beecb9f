"""A job file: what it may say, in which units, and the one sentence that refuses it."""

from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pricing_kit import changed, job_data

from basecalc.core.errors import BasecalcError, InputError, OutOfRangeError, WorkbookError
from basecalc.core.units import FOOT2_M2, FOOT_M, INCH_M
from basecalc.job import Job, job_problems, load_job, parse_job

US_FILE = """
[job]
number = "Q-12"
client = "= Any Client"
site = "Any Lane 1"
date = 2026-05-04
season = "wet"
soil = "clay"
notes = "Gate code at the office."

[[area]]
name = "Drive"
shape = "rectangle"
length = 40
width = "20 ft"
foundation_edge = 20
foundation_fill_depth = 12
foundation_fill_width = 2
old_pavement = 3
old_pavement_kind = "asphalt"
finish_above_ground = -0.5
geotextile = true

[[area]]
name = "Turning circle"
shape = "circle"
diameter = "6.096 m"
soil = "sand"
strength = 4.2

[[spot]]
name = "gate"
area = "drive"
readings = [{ test = "walk", reading = 2.5 }, { test = "shovel", reading = "easy", moisture = "dry", soil = "earth" }]
"""
METRIC_FILE = (
    US_FILE.replace('number = "Q-12"', 'number = "Q-12"\nunits = "metric"')
    .replace("length = 40", "length = 12.192")
    .replace("foundation_edge = 20", "foundation_edge = 6.096")
    .replace("foundation_fill_depth = 12", "foundation_fill_depth = 304.8")
    .replace("foundation_fill_width = 2", "foundation_fill_width = 0.6096")
    .replace("old_pavement = 3\n", "old_pavement = 76.2\n")
    .replace("finish_above_ground = -0.5", "finish_above_ground = -12.7")
    .replace("reading = 2.5", "reading = 63.5")
)


def written(folder: Path, text: str) -> Path:
    file = folder / "job.toml"
    file.write_text(text, "utf-8")
    return file


@pytest.fixture
def us_job(tmp_path: Path) -> Job:
    return load_job(written(tmp_path, US_FILE))


def test_plain_numbers_are_feet_in_plan_and_inches_in_thickness(us_job: Job) -> None:
    drive, circle = us_job.areas
    assert drive.area_m2 / FOOT2_M2 == pytest.approx(800)
    assert drive.foundation_fill_depth_m / INCH_M == pytest.approx(12)
    assert drive.foundation_fill_width_m / FOOT_M == pytest.approx(2)
    assert drive.old_pavement_m / INCH_M == pytest.approx(3)
    assert drive.finish_above_ground_m / INCH_M == pytest.approx(-0.5)
    assert circle.area_m2 / FOOT2_M2 == pytest.approx(3.14159265 * 100)


def test_the_open_edge_is_the_perimeter_less_the_building_and_loses_two_corners(us_job: Job) -> None:
    drive, circle = us_job.areas
    assert (drive.open_edge_m / FOOT_M, drive.corners) == pytest.approx((100, 2))
    assert drive.edge_restraint_m == drive.open_edge_m
    assert circle.corners == pytest.approx(3.14159265)


def test_a_spot_belongs_to_its_area_and_takes_season_and_soil_where_it_says_none(us_job: Job) -> None:
    (spot,) = us_job.spots_of("Drive")
    walk, shovel = spot.readings
    assert (walk.moisture, walk.soil, walk.value) == ("wet", "clay", 2.5)
    assert (shovel.moisture, shovel.soil, shovel.value) == ("dry", "earth", "easy")
    assert us_job.spots_of("Turning circle") == ()
    assert us_job.areas[1].strength is not None
    assert us_job.areas[1].strength.cbr == 4.2


def test_what_the_client_is_called_stays_text(us_job: Job) -> None:
    assert us_job.client == "= Any Client"
    assert us_job.notes == ("Gate code at the office.",)
    assert us_job.date is not None
    assert us_job.date.isoformat() == "2026-05-04"


def test_a_metric_file_says_the_same_in_si(tmp_path: Path, us_job: Job) -> None:
    metric = load_job(written(tmp_path, METRIC_FILE))
    for ours, theirs in zip(us_job.areas, metric.areas, strict=True):
        for name in ("area_m2", "perimeter_m", "open_edge_m", "edge_restraint_m", "old_pavement_m", "foundation_edge_m",
                     "foundation_fill_depth_m", "foundation_fill_width_m", "finish_above_ground_m"):  # fmt: skip
            assert getattr(theirs, name) == pytest.approx(getattr(ours, name), rel=1e-8), name
    assert metric.spots[0].readings[0].value == "63.5 mm"  # and not 63.5 in


@pytest.mark.parametrize(
    ("shape", "square_feet"),
    [
        ({"shape": "triangle", "base": 20, "height": 30}, 300),
        ({"shape": "triangle", "sides": [30, 40, 50]}, 600),
        ({"shape": "trapezoid", "parallel_sides": [24, 18], "height": 20}, 420),
        ({"shape": "circle", "diameter": 20}, 314.159265),
        ({"shape": "polygon", "points": [[0, 0], [70, 0], [70, 16], [36, 16], [36, 40], [0, 40]]}, 1984),
        ({"shape": "measured", "area": 640, "length": 40, "width": 20, "open_edge": 90}, 640),
    ],
)
def test_every_shape_is_measured(shape: dict[str, Any], square_feet: float) -> None:
    area = parse_job(job_data(**{"length": None, "width": None, **shape})).areas[0]
    assert area.area_m2 / FOOT2_M2 == pytest.approx(square_feet)
    assert area.shape == shape["shape"]


def test_a_measured_area_may_leave_the_perimeter_out_but_not_the_open_edge() -> None:
    area = parse_job(job_data(shape="measured", area=640, open_edge=90)).areas[0]
    assert area.perimeter_m is None
    assert area.open_edge_m / FOOT_M == pytest.approx(90)


BAD: list[tuple[dict[str, Any], type[BasecalcError], str]] = [
    (
        job_data(length=-4),
        OutOfRangeError,
        'area 1 "Driveway": length is -4 ft; it must be above 0 and at most 3000 ft',
    ),
    (job_data(length=float("nan")), OutOfRangeError, "length is not a finite number"),
    (job_data(length=True), InputError, "length is TRUE"),
    (job_data(width="4 kg"), InputError, "width is '4 kg'"),
    (job_data(width=None), InputError, "width is missing; a rectangle needs length and width"),
    (job_data(diameter=9), InputError, "diameter does not belong to a rectangle"),
    (job_data(lenght=4), InputError, "there is no key 'lenght'; did you mean 'length'?"),
    (job_data(shape="hexagon"), InputError, "it must be one of: rectangle, triangle"),
    (job_data(soil="shale"), InputError, "soil is 'shale'; it must be one of: sand"),
    (job_data(soil=""), InputError, "soil is missing"),
    (job_data(strength=None), InputError, 'add a [[spot]] with area = "Driveway", or a strength'),
    (job_data(strength="mushy"), InputError, "strength is 'mushy'"),
    (job_data(strength=0.01), OutOfRangeError, "it must be from 0.05 to 100 %"),
    (job_data(foundation_edge=121), OutOfRangeError, "foundation edge is 121 ft"),
    (job_data(open_edge=121), OutOfRangeError, "it must be at most 120 ft"),
    (job_data(foundation_fill_depth=12), InputError, "foundation fill width is missing"),
    (job_data(foundation_fill_depth=12, foundation_fill_width=2), InputError, "foundation edge is missing"),
    (job_data(old_pavement=3), InputError, "old pavement kind is missing; it must be one of: asphalt, concrete"),
    (job_data(old_pavement_kind="asphalt"), InputError, "old pavement is missing"),
    (job_data(note="a\x01b"), InputError, "note holds the control character U+0001"),
    (job_data(name=""), InputError, "area 1: name is missing"),
    (
        job_data(shape="polygon", length=None, width=None, points=[[0, 0], [10, 10], [10, 0], [0, 10]]),
        OutOfRangeError,
        "the outline crosses or touches itself",
    ),
    (
        job_data(shape="polygon", length=None, width=None, points=[[0, 0], [9, 9, 9], [9, 0]]),
        InputError,
        "has 3 entries",
    ),
    (changed(job_data(), number="../Q"), InputError, "[job]: number is '../Q'; it starts file names"),
    (changed(job_data(), number="Q" * 41), OutOfRangeError, "at most 40 characters"),
    (changed(job_data(), clinet="x"), InputError, "did you mean 'client'?"),
    (changed(job_data(), date="soon"), InputError, "it must be a date such as 2025-04-30"),
    (changed(job_data(), units="imperial"), InputError, "units is 'imperial'; it must be one of: us, metric"),
    (changed(job_data(), season="spring"), InputError, "it must be one of: dry, moist, wet, frozen"),
    ({**job_data(), "spots": []}, InputError, "there is no key 'spots'; did you mean 'spot'?"),
    ({**job_data(), "area": job_data()["area"] * 2}, InputError, 'area 2 "Driveway": duplicate name'),
    ({**job_data(), "area": job_data()["area"][0]}, InputError, "each area must be written as [[area]]"),
    ({"area": job_data()["area"]}, InputError, "the table [job] is missing"),
]


@pytest.mark.parametrize(("data", "kind", "told"), BAD)
def test_a_refusal_is_one_line_with_the_place(data: dict[str, Any], kind: type[BasecalcError], told: str) -> None:
    with pytest.raises(kind) as refused:
        parse_job(data, "drive.toml")
    line = str(refused.value)
    assert line.startswith("drive.toml")
    assert told in line
    assert "\n" not in line


def spotted(**reading: Any) -> dict[str, Any]:
    data = job_data(strength=None)
    return {**data, "spot": [{"name": "gate", "readings": [{"test": "walk", "reading": 2, **reading}]}]}


@pytest.mark.parametrize(
    ("data", "told"),
    [
        (spotted(test="wlak"), "spot 1 \"gate\", reading 1: test is 'wlak'; it must be one of: stand, walk"),
        (spotted(reading=99), 'spot 1 "gate", reading 1: walk is 99 in; it must be from 0 to 36 in'),
        (spotted(reading=True), "reading is TRUE"),
        (spotted(reading=" "), "reading is missing"),
        (spotted(readin=2), "there is no key 'readin'; did you mean 'reading'?"),
        ({**job_data(strength=None), "spot": [{"name": "gate", "readings": []}]}, "readings has 0 entries"),
        (
            {**spotted(), "spot": [{**spotted()["spot"][0], "area": "Drive"}]},
            "area is 'Drive'; it must be one of: Driveway",
        ),
        ({**spotted(), "spot": spotted()["spot"] * 2}, 'spot 2 "gate": duplicate name'),
        ({**spotted(), "area": job_data()["area"]}, "strength is given, but spot 'gate' was read here"),
    ],
)
def test_a_bad_reading_is_found_with_its_spot(data: dict[str, Any], told: str) -> None:
    with pytest.raises(BasecalcError, match=r"^drive\.toml") as refused:
        parse_job(data, "drive.toml")
    assert told in str(refused.value)


def test_where_two_areas_are_paved_a_spot_must_say_which_it_stands_for() -> None:
    other = {**job_data(strength="stiff")["area"][0], "name": "Bay"}
    data = {**spotted(), "area": [*spotted()["area"], other]}
    with pytest.raises(InputError, match="area is nothing; it must be one of: Driveway, Bay"):
        parse_job(data)


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (b"", "the file is empty"),
        (b"  \n", "the file is empty"),
        (b"[job\n", "not a TOML file"),
        (b"PK\x03\x04\xff\xfe", "not a text file"),
        (b"x = " + b"[" * 5000, "job"),
    ],
)
def test_a_file_that_is_no_job_is_refused_by_name(tmp_path: Path, content: bytes, told: str) -> None:
    file = tmp_path / "bad.toml"
    file.write_bytes(content)
    with pytest.raises(BasecalcError, match=r"bad\.toml") as refused:
        load_job(file)
    assert told in str(refused.value)
    assert job_problems(file)


def test_a_missing_file_and_a_folder_are_refused(tmp_path: Path) -> None:
    with pytest.raises(WorkbookError, match="there is no such file"):
        load_job(tmp_path / "none.toml")
    with pytest.raises(WorkbookError, match="this is a folder"):
        load_job(tmp_path)


def test_everything_wrong_with_a_file_is_told_at_once(tmp_path: Path) -> None:
    text = US_FILE.replace("length = 40", "length = -40").replace('"walk"', '"wlak"').replace("client", "clinet")
    told = [str(error) for error in job_problems(written(tmp_path, text))]
    assert len(told) == 4  # the unknown key, the client it leaves missing, the length, the test
    assert all(line.startswith(str(tmp_path)) for line in told)
    assert job_problems(written(tmp_path, US_FILE)) == []


_VALUES = st.one_of(
    st.none(), st.booleans(), st.integers(), st.floats(), st.text(max_size=8), st.lists(st.integers(), max_size=3),
    st.dictionaries(st.text(max_size=3), st.integers(), max_size=2),
)  # fmt: skip


@given(key=st.sampled_from(sorted({"name", "shape", "length", "width", "soil", "strength", "points", "sides", "area",
    "open_edge", "corners", "finish_above_ground", "old_pavement", "foundation_edge", "geotextile", "note"})),
    value=_VALUES)  # fmt: skip
def test_no_value_of_an_area_breaks_the_reader(key: str, value: Any) -> None:
    refusal, job = "", None
    try:
        job = parse_job(job_data(**{key: value}))
    except BasecalcError as error:
        refusal = str(error)
    assert "\n" not in refusal
    assert refusal or (job is not None and job.areas[0].area_m2 > 0)


@given(data=st.recursive(_VALUES, lambda inner: st.dictionaries(st.sampled_from(["job", "area", "spot", "x"]), inner)))
def test_no_shape_of_a_file_breaks_the_reader(data: Any) -> None:
    with pytest.raises(BasecalcError):
        parse_job(data)
