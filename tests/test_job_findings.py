"""What a job file says of an old pavement, a foundation strip and loose fill: read, split, refused, never lost."""

import tomllib
from pathlib import Path
from typing import Any

import pytest
from pricing_kit import book, job_data

from basecalc.cli import main
from basecalc.core.errors import BasecalcError, InputError, OutOfRangeError
from basecalc.core.units import FOOT2_M2, FOOT_M, INCH_M
from basecalc.demo import write_demo
from basecalc.ground.old_pavement import Seen
from basecalc.job import Job, parse_job
from basecalc.pricing.quote import quote

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


REFUSED: list[tuple[dict[str, Any], str]] = [
    ({"old_pavement_age": 12}, "old pavement age is given, but no old pavement"),
    ({"test_holes": HOLES}, "test holes is given, but no old pavement"),
    ({**OLD, "old_pavement_age": 200}, "old pavement age is 200; it must be from 0 to 150"),
    ({**OLD, "old_pavement_state": "fine"}, "old pavement state is 'fine'; it must be one of: even, settled"),
    (
        {**OLD, "old_pavement_seen": [{"what": "rut", "where": "roof", "gap": 1}]},
        "where is 'roof'; it must be one of: wheel tracks",
    ),
    ({**OLD, "old_pavement_seen": [{"what": "rut", "where": "edge"}]}, "gap is missing"),
    (
        {**OLD, "old_pavement_seen": [{"what": "rut", "where": "edge", "gap": 1, "straightedge": 4}]},
        "straightedge is 4 ft; it must be from 4.9 to 10 ft (the rule is made for 6 ft",
    ),
    (
        {**OLD, "old_pavement_state": "even", "old_pavement_seen": [{"what": "rut", "where": "edge", "gap": 1}]},
        "old pavement state is 'even', but a gap of 1 in (25 mm) was measured",
    ),
    ({**OLD, "old_pavement_seen": [{"what": "rut", "wher": "edge"}]}, "there is no key 'wher'; did you mean 'where'?"),
    (
        {**OLD, "test_holes": [{"where": "gate", "base": 50, "state": "clean"}]},
        "base is 50 in; it must be from 0 to 36",
    ),
    ({**OLD, "test_holes": [{"where": "gate", "base": 5, "state": "so-so"}]}, "state is 'so-so'; it must be one of"),
    ({"foundation_strip": True}, "foundation edge is missing; a foundation strip needs its length and its width"),
    ({"foundation_strip": True, "foundation_edge": 20}, "foundation fill width is missing"),
    ({**STRIP, "foundation_edge": 40, "foundation_fill_width": 20}, "it must be below the area, 800 ft2"),
    ({**STRIP, "foundation_strip": "perhaps"}, "foundation strip is 'perhaps'; it must be one of: yes, no"),
    ({**STRIP, "foundation_strip_open_ends": 3}, "foundation strip open ends is 3; it must be from 0 to 2"),
    (
        {**STRIP, "foundation_strip_open_ends": 1.5},
        "foundation strip open ends is 1.5; it must be a whole number from 0 to 2",
    ),
    ({**STRIP, "foundation_strip_strength": "squishy"}, "squishy"),
    ({"foundation_strip_strength": "soft"}, "foundation strip strength is given, but foundation strip is not true"),
    ({"footing_depth": 30}, "footing depth is given, but no foundation edge"),
    ({"loose_fill": "fill"}, "loose fill is given, but no loose fill depth"),
    # 0 says that fill was looked for and there is none
    ({"loose_fill_depth": 0, "sound_ground": "stiff"}, "sound ground is given, but no loose fill depth"),
    ({"loose_fill_depth": -1, "sound_ground": "stiff"}, "loose fill depth is -1 in; it must be from 0 to 120 in"),
    ({"loose_fill_depth": 36}, "sound ground is missing"),
    (
        {**STRIP, "loose_fill_depth": 36, "loose_fill": "gravel"},
        "loose fill is 'gravel'; it must be one of: stone, fill",
    ),
    ({**STRIP, "loose_fill_depth": 36, "foundation_fill_depth": 20}, "are both given; it must be one"),
]


@pytest.mark.parametrize(("area", "sentence"), REFUSED)
def test_wrong_input_is_one_sentence_with_its_place(area: dict[str, Any], sentence: str) -> None:
    with pytest.raises(BasecalcError) as refused:
        job(**area)
    assert sentence in str(refused.value)
    assert 'area 1 "Driveway"' in str(refused.value)
    assert "\n" not in str(refused.value)


def test_a_hole_and_a_rut_are_named_by_their_place_in_the_list() -> None:
    with pytest.raises(InputError, match='area 1 "Driveway", test hole 2'):
        job(**OLD, test_holes=[HOLES[0], {"where": "garage", "base": 5}])


def test_the_fall_of_a_split_drive_by_hand() -> None:
    # 40 x 20 ft, garage along 20 ft, strip 4 ft wide; 1/4 in/ft along the 40 ft: 10 in, 1 in of it in the strip.
    rest, strip = job(**STRIP, slope="1/4 in/ft", slope_direction="length").areas
    assert rest.fall_m is not None
    assert strip.fall_m is not None
    assert [fall / INCH_M for fall in rest.fall_m] == pytest.approx([9, 0])  # 36 ft at 1/4 in/ft
    assert [fall / INCH_M for fall in strip.fall_m] == pytest.approx([0, 1])  # A to B along the 20 ft of the garage
    with pytest.raises(InputError, match=r'area 1 "Driveway".*no whole side of a rectangle'):
        job(**{**STRIP, "foundation_edge": 12}, slope=2, slope_direction="length")


def test_a_strip_whose_name_is_taken_or_that_is_both_read_and_given_is_refused() -> None:
    data = job_data(**STRIP)
    data["area"].append({**data["area"][0], "name": "Driveway at the foundation", "foundation_strip": False})
    data["area"][1].pop("foundation_fill_width")
    with pytest.raises(InputError, match="duplicate name"):
        parse_job(data)
    data = job_data(**STRIP, foundation_strip_strength="soft")
    data["spot"] = [{"name": "S", "area": "Driveway at the foundation", "readings": [{"test": "walk", "reading": 2}]}]
    with pytest.raises(InputError, match="foundation strip strength is given, but spot 'S' was read there"):
        parse_job(data)
    data = job_data()
    data["spot"] = [{"name": "S", "area": "Driveway at the foundation", "readings": [{"test": "walk", "reading": 2}]}]
    with pytest.raises(InputError, match="it must be one of: Driveway"):
        parse_job(data)


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
    text = (Path(__file__).parent.parent / "examples" / "old-pavements-and-fill.md").read_text("utf-8")
    block = text.split("```toml\n")[1].split("```")[0]
    made = quote(parse_job(tomllib.loads(_HEAD + block)), book())
    rest, strip = made.stone.takeoff.areas
    assert rest.kept_m / INCH_M == pytest.approx(1.625 / (1 - 0.10 / 0.14))
    assert strip.area.name == "Driveway at the foundation"
    assert made.fill_options[0].offered


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("foundation_strip = true", "foundation fill width is missing"),
        ("loose_fill_depth = 30", "sound ground is missing"),
        ("loose_fill_depht = 30", "there is no key 'loose_fill_depht'; did you mean 'loose_fill_depth'?"),
        ('test_holes = [{ where = "gate", base = "8 lb", state = "clean" }]', "'8 lb'"),
        ('old_pavement_seen = [{ what = "rut", where = "edge", gap = 1, straightedge = 16 }]', "from 4.9 to 10 ft"),
    ],
)
def test_wrong_input_on_the_command_line_is_one_line_and_writes_nothing(
    line: str, said: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    prices = write_demo(tmp_path / "demo").prices
    path = tmp_path / "odd.toml"
    path.write_text(f"{_HEAD}{line}\n", encoding="utf-8")
    for words in (("check", path), ("quote", path, "--prices", prices, "--out", tmp_path / "out")):
        with pytest.raises(SystemExit) as stop:
            main([str(word) for word in words])
        told = capsys.readouterr()
        assert stop.value.code == 2
        assert said in told.out + told.err
        assert "odd.toml" in told.out + told.err
        assert "Traceback" not in told.err
    assert not (tmp_path / "out").exists()


def test_more_of_the_strip_than_there_is_edge_is_refused() -> None:
    with pytest.raises(OutOfRangeError, match=r"foundation strip open ends is 2, .* the open edge is only 5 ft"):
        job(**STRIP, open_edge=5, corners=0, foundation_strip_open_ends=2)
