"""A job file: what it may say, in which units, how it is split, and the one sentence that refuses it."""

import re
import tomllib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pricing_kit import book, changed, job_data
from test_command_line import demo, run  # noqa: F401 (fixtures)

from basecalc import BasecalcError, InputError, Job, OutOfRangeError, WorkbookError, load_job, parse_job, quote
from basecalc.core.units import FOOT2_M2, FOOT_M, INCH_M
from basecalc.design.frost import FrostSoil
from basecalc.design.frost_depth import Climate
from basecalc.ground.old_pavement import Seen
from basecalc.job import job_problems
from basecalc.job.fields import FILE
from basecalc.plan.area import SHAPES
from basecalc.tables.schema import Inner, Table

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


def of(text: str) -> Job:
    return parse_job(tomllib.loads(text))


@pytest.fixture(scope="module")
def us_job() -> Job:
    return of(US_FILE)


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


def test_a_metric_file_says_the_same_in_si(us_job: Job) -> None:
    metric = of(METRIC_FILE)
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


OLD: dict[str, Any] = {"old_pavement": 3, "old_pavement_kind": "asphalt"}
HOLES = [{"where": "gate", "base": 8, "state": "clean"}, {"where": "garage", "base": 7, "state": "clean"}]
STRIP: dict[str, Any] = {"foundation_edge": 20, "foundation_fill_width": 4, "foundation_strip": True}


def job(**area: Any) -> Job:
    return parse_job(job_data(**area))


def test_an_old_pavement_is_read_in_us_and_metric_units() -> None:
    told = {"old_pavement_age": 12, "old_pavement_state": "even", "old_base": 8, "test_holes": HOLES}
    rut = {"what": "rut", "where": "wheel tracks", "gap": 0.5, "note": "right one"}
    known = job(**OLD, **told, old_pavement_seen=[rut]).areas[0].pavement
    assert known is not None
    assert (known.age, known.state, known.base_m) == (12.0, "even", pytest.approx(8 * INCH_M))
    assert known.seen == (Seen("rut", "wheel tracks", 0.5 * INCH_M, 6 * FOOT_M, "right one"),)
    assert [hole.base_m / INCH_M for hole in known.holes] == pytest.approx([8, 7])
    metric = job_data(**OLD, old_pavement_seen=[{**rut, "gap": 12, "straightedge": 2}], length=12, width=6)
    metric["job"]["units"] = "metric"
    known = parse_job(metric).areas[0].pavement
    assert known is not None
    assert (known.seen[0].gap_m, known.seen[0].straightedge_m) == pytest.approx((0.012, 2.0))
    assert job().areas[0].pavement is None


def test_a_strip_becomes_an_area_of_its_own_with_its_spots() -> None:
    data = job_data(**STRIP, edge_restraint=70, note="mind the tap", keep_old_base=True, **OLD)
    data["spot"] = [{"name": "S", "area": "driveway AT the foundation", "readings": [{"test": "walk", "reading": 2.5}]}]
    made = parse_job(data)
    # 40 x 20 ft, building along 20 ft: strip 20 x 4 = 80 ft2, ends 8 ft; rest 720 ft2, open 100 - 8 = 92 ft
    rest, strip = made.areas
    assert (rest.name, strip.name, strip.strip_of) == ("Driveway", "Driveway at the foundation", "Driveway")
    assert (rest.area_m2 / FOOT2_M2, strip.area_m2 / FOOT2_M2) == pytest.approx((720, 80))
    assert (rest.open_edge_m / FOOT_M, strip.open_edge_m / FOOT_M) == pytest.approx((92, 8))
    assert (rest.foundation_edge_m, strip.foundation_edge_m / FOOT_M) == pytest.approx((0, 20))
    assert (rest.edge_restraint_m / FOOT_M, strip.edge_restraint_m / FOOT_M) == pytest.approx((62, 8))
    assert (rest.keep_old_base, strip.keep_old_base) == (True, False)
    assert (rest.note, strip.note) == ("mind the tap", "")
    assert made.spots[0].area == strip.name
    assert (rest.soil, strip.soil) == ("clay", "clay")


def test_what_sank_at_the_foundation_goes_with_the_strip() -> None:
    sunk = [{"what": "settlement", "where": place, "gap": 1} for place in ("foundation", "edge")]
    rest, strip = job(**STRIP, **OLD, old_pavement_seen=sunk).areas
    assert rest.pavement is not None
    assert strip.pavement is not None
    assert [one.where for one in rest.pavement.seen] == ["edge"]
    assert [one.where for one in strip.pavement.seen] == ["foundation"]


def test_the_fall_of_a_split_drive_by_hand() -> None:
    # 40 x 20 ft, garage along 20 ft, strip 4 ft wide; 1/4 in/ft along the 40 ft: 10 in, 1 in of it in the strip.
    rest, strip = job(**STRIP, slope="1/4 in/ft", slope_direction="length").areas
    assert rest.fall_m is not None
    assert strip.fall_m is not None
    assert [fall / INCH_M for fall in rest.fall_m] == pytest.approx([9, 0])  # 36 ft at 1/4 in/ft
    assert [fall / INCH_M for fall in strip.fall_m] == pytest.approx([0, 1])  # A to B along the 20 ft of the garage


WINTER: dict[str, Any] = {"freezing_index": 1200, "mean_annual_temperature": 44, "freezing_season": 110}


def test_frost_and_water_are_read_in_us_and_metric_units() -> None:
    grains = {"fines_below_20_microns": 12, "plasticity_index": 5}
    frost = {"group": "f2", "dry_density": 110, "water_content": "9 %"} | grains
    read = parse_job(changed(job_data(frost=frost, water_table=36), climate=WINTER))
    assert read.areas[0].frost == FrostSoil("F2", 12.0, 5.0, 110.0, 9.0)
    assert read.areas[0].water_table_m == pytest.approx(36 * INCH_M)
    assert read.climate == Climate(1200, 44, 110)
    winter = {"freezing_index": 500, "mean_annual_temperature": 7.5, "freezing_season": 95}
    read = parse_job(changed(job_data(frost={"dry_density": 1760}, water_table=900), units="metric", climate=winter))
    assert read.climate is not None
    assert (read.climate.freezing_index, read.climate.mean_annual_f) == pytest.approx((900, 45.5))
    assert (read.climate.season_days, read.areas[0].water_table_m) == pytest.approx((95, 0.9))
    assert read.areas[0].frost is not None
    assert read.areas[0].frost.dry_density_pcf == pytest.approx(109.87, abs=0.01)
    plain = job()
    assert (plain.climate, plain.areas[0].frost, plain.areas[0].water_table_m) == (None, None, None)


def spotted(**reading: Any) -> dict[str, Any]:
    data = job_data(strength=None)
    return {**data, "spot": [{"name": "gate", "readings": [{"test": "walk", "reading": 2, **reading}]}]}


RUT = {"what": "rut", "where": "edge", "gap": 1}
OUTLINE: dict[str, Any] = {"shape": "polygon", "length": None, "width": None}
STRIP_SPOT = {"name": "S", "area": "Driveway at the foundation", "readings": [{"test": "walk", "reading": 2}]}
FULL = {**STRIP, "loose_fill_depth": 36}
# Keys of the area, and the refusal; OutOfRangeError where a number is beyond its limits, else InputError.
AREA_REFUSED: list[tuple[dict[str, Any], str]] = [
    ({"length": -4}, 'length is -4 ft; it must be above 0 and at most 3000 ft'),
    ({"length": float("nan")}, "length is not a finite number"),
    ({"length": True}, "length is TRUE"),
    ({"width": "4 kg"}, "width is '4 kg'"),
    ({"width": None}, "width is missing; a rectangle needs length and width"),
    ({"diameter": 9}, "diameter does not belong to a rectangle"),
    ({"lenght": 4}, "there is no key 'lenght'; did you mean 'length'?"),
    ({"shape": "hexagon"}, "it must be one of: rectangle, triangle"),
    ({"soil": "shale"}, "soil is 'shale'; it must be one of: sand"),
    ({"soil": ""}, "soil is missing"),
    ({"strength": None}, 'add a [[spot]] with area = "Driveway", or a strength'),
    ({"strength": "mushy"}, "strength is 'mushy'"),
    ({"strength": 0.01}, "it must be from 0.05 to 100 %"),
    ({"foundation_edge": 121}, "foundation edge is 121 ft"),
    ({"open_edge": 121}, "it must be at most 120 ft"),
    ({"foundation_fill_depth": 12}, "foundation fill width is missing"),
    ({"foundation_fill_depth": 12, "foundation_fill_width": 2}, "foundation edge is missing"),
    ({"old_pavement": 3}, "old pavement kind is missing; it must be one of: asphalt, concrete"),
    ({"old_pavement_kind": "asphalt"}, "old pavement is missing"),
    ({"note": "a\x01b"}, "note holds the control character U+0001"),
    ({**OUTLINE, "points": [[0, 0], [10, 10], [10, 0], [0, 10]]}, "the outline crosses or touches itself"),
    ({**OUTLINE, "points": [[0, 0], [9, 9, 9], [9, 0]]}, "has 3 entries"),
    # old pavement
    ({"old_pavement_age": 12}, "old pavement age is given, but no old pavement"),
    ({"test_holes": HOLES}, "test holes is given, but no old pavement"),
    ({**OLD, "old_pavement_age": 200}, "old pavement age is 200; it must be from 0 to 150"),
    ({**OLD, "old_pavement_state": "fine"}, "old pavement state is 'fine'; it must be one of: even, settled"),
    ({**OLD, "old_pavement_seen": [{**RUT, "where": "roof"}]}, "where is 'roof'; it must be one of: wheel tracks"),
    ({**OLD, "old_pavement_seen": [{"what": "rut", "where": "edge"}]}, "gap is missing"),
    ({**OLD, "old_pavement_seen": [{**RUT, "straightedge": 4}]},
     "straightedge is 4 ft; it must be from 4.9 to 10 ft (the rule is made for 6 ft"),
    ({**OLD, "old_pavement_state": "even", "old_pavement_seen": [RUT]},
     "old pavement state is 'even', but a gap of 1 in (25 mm) was measured"),
    ({**OLD, "old_pavement_seen": [{"what": "rut", "wher": "edge"}]}, "no key 'wher'; did you mean 'where'?"),
    ({**OLD, "test_holes": [{**HOLES[0], "base": 50}]}, "base is 50 in; it must be from 0 to 36"),
    ({**OLD, "test_holes": [{**HOLES[0], "state": "so-so"}]}, "state is 'so-so'; it must be one of"),
    ({**OLD, "test_holes": [{**HOLES[0], "base": "8 lb"}]}, "'8 lb'"),
    ({**OLD, "test_holes": [HOLES[0], {"where": "garage", "base": 5}]}, 'area 1 "Driveway", test hole 2'),
    # a strip along the building, and loose fill; a depth of 0 says that fill was looked for and there is none
    ({"foundation_strip": True}, "foundation edge is missing; a foundation strip needs its length and its width"),
    ({"foundation_strip": True, "foundation_edge": 20}, "foundation fill width is missing"),
    ({**STRIP, "foundation_edge": 40, "foundation_fill_width": 20}, "it must be below the area, 800 ft2"),
    ({**STRIP, "foundation_strip": "perhaps"}, "foundation strip is 'perhaps'; it must be one of: yes, no"),
    ({**STRIP, "foundation_strip_open_ends": 3}, "foundation strip open ends is 3; it must be from 0 to 2"),
    ({**STRIP, "foundation_strip_open_ends": 1.5}, "open ends is 1.5; it must be a whole number from 0 to 2"),
    ({**STRIP, "open_edge": 5, "corners": 0, "foundation_strip_open_ends": 2}, "the open edge is only 5 ft"),
    ({**STRIP, "foundation_edge": 12, "slope": 2, "slope_direction": "length"}, "no whole side of a rectangle"),
    ({**STRIP, "foundation_strip_strength": "squishy"}, "squishy"),
    ({"foundation_strip_strength": "soft"}, "strength is given, but no foundation strip; foundation strip must be yes"),
    ({"foundation_strip_open_ends": 0}, "foundation strip open ends is given, but no foundation strip"),
    ({"footing_depth": 30}, "footing depth is given, but no foundation edge"),
    ({"loose_fill": "fill"}, "loose fill is given, but no loose fill depth"),
    ({"loose_fill_depth": 0, "sound_ground": "stiff"}, "sound ground is given, but no loose fill depth"),
    ({"loose_fill_depth": -1, "sound_ground": "stiff"}, "loose fill depth is -1 in; it must be from 0 to 120 in"),
    ({"loose_fill_depth": 36}, "sound ground is missing"),
    ({**FULL, "loose_fill": "gravel"}, "loose fill is 'gravel'; it must be one of: stone, fill"),
    ({**FULL, "foundation_fill_depth": 20}, "are both given; it must be one"),
    # frost and water
    ({"frost": {"group": "F7"}}, "group is 'F7'; it must be one of: NFS, PFS, S1, S2"),
    ({"frost": {"fines_below_20_microns": 120}}, "fines below 20 microns is 120 %; it must be from 0"),
    ({"frost": {"fines": 12}}, "there is no key 'fines'; the keys here are: dry_density, fines_below_20_m"),
    ({"frost": "F2"}, "frost is 'F2'; it must be a table of fields"),
    ({"water_table": -3}, "water table is -3 in; it must be from 0 to 600 in"),
]  # fmt: skip
JOB_REFUSED: list[tuple[dict[str, Any], str]] = [
    ({"number": "../Q"}, "number is '../Q'; it starts file names"),
    ({"number": "Q" * 41}, "at most 40 characters"),
    ({"clinet": "x"}, "did you mean 'client'?"),
    ({"date": "soon"}, "it must be a date such as 2025-04-30"),
    ({"units": "imperial"}, "units is 'imperial'; it must be one of: us, metric"),
    ({"season": "spring"}, "it must be one of: dry, moist, wet, frozen"),
    ({"climate": {"freezing_index": 1200}}, "mean annual temperature is missing"),
    ({"climate": {**WINTER, "freezing_index": -1}}, "freezing index is -1 F-days; it must be from 0 to 10,000 F-days"),
    ({"climate": {**WINTER, "mean_annual_temperature": 25}}, "temperature is 25 F; it must be from 32 to 90 F"),
    ({"climate": {**WINTER, "freezing_season": "long"}}, "freezing season is 'long'"),
    ({"climate": {**WINTER, "season": 90}}, "there is no key 'season'; did you mean 'freezing_season'?"),
]  # fmt: skip
FILE_REFUSED: list[tuple[dict[str, Any], str]] = [
    (job_data(name=""), "area 1: name is missing"),
    ({**job_data(), "spots": []}, "there is no key 'spots'; did you mean 'spot'?"),
    ({**job_data(), "area": job_data()["area"] * 2}, 'area 2 "Driveway": duplicate name'),
    ({**job_data(), "area": job_data()["area"][0]}, "each area must be written as [[area]]"),
    ({"area": job_data()["area"]}, "the table [job] is missing"),
    (spotted(test="wlak"), "spot 1 \"gate\", reading 1: test is 'wlak'; it must be one of: stand, walk"),
    (spotted(reading=99), 'spot 1 "gate", reading 1: walk is 99 in; it must be from 0 to 36 in'),
    (spotted(reading=True), "reading is TRUE"),
    (spotted(reading=" "), "reading is missing"),
    (spotted(readin=2), "there is no key 'readin'; did you mean 'reading'?"),
    ({**job_data(strength=None), "spot": [{"name": "gate", "readings": []}]}, "readings has 0 entries"),
    ({**spotted(), "spot": [{**spotted()["spot"][0], "area": "Drive"}]}, "is 'Drive'; it must be one of: Driveway"),
    ({**spotted(), "spot": spotted()["spot"] * 2}, 'spot 2 "gate": duplicate name'),
    ({**spotted(), "area": job_data()["area"]}, "strength is given, but spot 'gate' was read here"),
    ({**spotted(), "area": [*spotted()["area"], {**job_data()["area"][0], "name": "Bay"}]},
     "area is nothing; it must be one of: Driveway, Bay"),
    ({**job_data(), "spot": [STRIP_SPOT]}, "it must be one of: Driveway"),
    ({**job_data(**STRIP, foundation_strip_strength="soft"), "spot": [STRIP_SPOT]},
     "foundation strip strength is given, but spot 'S' was read there"),
    ({**job_data(), "area": [*job_data(**STRIP)["area"], *job_data(name="Driveway at the foundation")["area"]]},
     'area 2 "Driveway at the foundation": duplicate name'),
]  # fmt: skip
OUT_OF_RANGE = re.compile("must be (from|above|at most|below) |not a finite|crosses|only 5 ft|has 41 characters")
REFUSED = [
    *((job_data(**area), 'area 1 "Driveway"', told) for area, told in AREA_REFUSED),
    *((changed(job_data(), **head), "[job]", told) for head, told in JOB_REFUSED),
    *((data, "", told) for data, told in FILE_REFUSED),
]


@pytest.mark.parametrize(("data", "place", "told"), REFUSED)
def test_a_refusal_is_one_line_with_the_place(data: dict[str, Any], place: str, told: str) -> None:
    with pytest.raises(BasecalcError) as refused:
        parse_job(data, "drive.toml")
    line = str(refused.value)
    assert line.startswith("drive.toml")
    assert place in line
    assert told in line
    assert "\n" not in line
    assert isinstance(refused.value, OutOfRangeError if OUT_OF_RANGE.search(line) else InputError), line


EXAMPLES = Path(__file__).parent.parent / "examples"


def tables(table: Table) -> list[Table]:
    """Return a table of a job file and those inside it."""
    inner = [one.kind.table if isinstance(one.kind, Inner) else one.kind.of for one in table.fields
             if isinstance(one.kind, Inner) or isinstance(getattr(one.kind, "of", None), Table)]  # fmt: skip
    return [table, *(deeper for one in inner for deeper in tables(one))]


def test_the_example_shows_every_key_shape_and_kind_of_spot() -> None:
    text = (EXAMPLES / "every-key.toml").read_text("utf-8")
    keys = {key for table in tables(FILE) for key in table.keys} - {"row"}  # the row of a sheet: in no job file
    told = set(re.findall(r"(?:^|[{,]|^# )\s*([a-z0-9_]+) = ", text, re.MULTILINE)) | {"sides"}
    told |= {word for name in re.findall(r"^(?:# )?\[+([a-z.]+)\]", text, re.MULTILINE) for word in name.split(".")}
    assert keys - told == set(), "keys that a job file takes and the example does not show"
    shown = load_job(EXAMPLES / "every-key.toml")
    assert {area.shape for area in shown.areas} == set(SHAPES)
    assert [area.name for area in shown.areas if area.strip_of] == ["Driveway at the foundation"]
    assert [bool(spot.drops) for spot in shown.spots] == [False, True, True]


_HEAD = """[job]
number = "FH-140"
client = "Any Client"
site = "Any Lane 1"
season = "moist"
soil = "clay"

[[area]]
name = "Driveway"
shape = "rectangle"
length = 60
width = 14
old_pavement = 3
old_pavement_kind = "asphalt"
finish_above_ground = 3
foundation_edge = 14
strength = "very stiff"
"""


def test_the_page_of_old_pavements_and_fill_is_quoted_with_both_its_areas() -> None:
    """How much of the old base stays, by hand: 7 in of it lie below 3 in of asphalt, down to 10 in below the ground.

    Pavers of 2 3/8 in on 1 in of sand end 3 3/8 - 3 = 3/8 in below the ground: 9 5/8 in for new stone and old. Clay
    takes 8 in at least, and an old inch counts 0.10 / 0.14 of a new one (AASHTO 1993, Part III, Table 5.2, [memory]):
    new + old = 9.625, new + 0.10 / 0.14 old = 8, old = 1.625 / (1 - 0.10 / 0.14).
    """
    text = (EXAMPLES / "old-pavements-and-fill.md").read_text("utf-8")
    block = text.split("```toml\n")[1].split("```")[0]
    made = quote(parse_job(tomllib.loads(_HEAD + block)), book())
    rest, strip = made.stone.takeoff.areas
    assert rest.kept_m / INCH_M == pytest.approx(1.625 / (1 - 0.10 / 0.14))
    assert strip.area.name == "Driveway at the foundation"
    assert made.fill_options[0].offered


def test_a_wrong_job_is_one_line_on_the_command_line_and_writes_nothing(run, demo, tmp_path) -> None:  # noqa: F811
    path = tmp_path / "odd.toml"
    path.write_text(f"{_HEAD}loose_fill_depht = 30\n", "utf-8")
    for words in (("check", path), ("quote", path, "--prices", demo.prices, "--out", tmp_path / "out")):
        code, out, err = run(*words)
        assert (code, out) == (2, "")
        assert "there is no key 'loose_fill_depht'; did you mean 'loose_fill_depth'?" in err
        assert str(path) in err
        assert len(err.splitlines()) == 1
    assert not (tmp_path / "out").exists()


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
    file = tmp_path / "job.toml"
    wrong = US_FILE.replace("length = 40", "length = -40").replace('"walk"', '"wlak"').replace("client", "clinet")
    file.write_text(wrong, "utf-8")
    told = [str(error) for error in job_problems(file)]
    assert len(told) == 4  # the unknown key, the client it leaves missing, the length, the test
    assert all(line.startswith(str(file)) for line in told)
    file.write_text(US_FILE, "utf-8")
    assert job_problems(file) == []


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
