"""One job with everything at once: old base kept, strip, loose fill, slope, cone log, first day; its files."""

import json
import re
import tomllib
from dataclasses import replace
from decimal import Decimal
from io import BytesIO
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from engines import printed_pages
from openpyxl import load_workbook
from papers import client_file, crew_file, office_file, rows, text
from test_command_line import run  # noqa: F401 (a fixture)
from test_quote_again import cells
from trial_quote import trial_book

from basecalc.change_runs import change_job, change_numbers, change_text
from basecalc.core.units import INCH_M
from basecalc.estimating.read_job import load_job
from basecalc.ground.evidence import ground_evidence
from basecalc.ground.strength import OLD_PAVEMENT, SOUND_GROUND
from basecalc.job.read import checked_job
from basecalc.pricing.changes import change_order
from basecalc.pricing.quote import quote
from basecalc.pricing.records import Quote
from basecalc.pricing.value_of_testing import worth_of_tests
from basecalc.render.save import QuoteFiles, write_quote
from basecalc.runs import quote_file

STRIP = "Driveway at the foundation"
SUNK = [{"what": "settlement", "where": "middle", "gap": 2}]
LOG = "blows,depth mm\n0,0\n" + "".join(f"9,{60 * step}\n" for step in range(1, 11))
TOML = """
[job]
number = "FH-140"
client = "Odalys Pemberwick"
site = "31 Rushes Lane, Brackwater"
date = 2026-05-06
start = 2026-06-08
season = "wet"
soil = "clay"

[[area]]
name = "Driveway"
shape = "rectangle"
length = 62
width = 14
finish_above_ground = 4
slope = 2
slope_direction = "length"
old_pavement = 3
old_pavement_kind = "asphalt"
old_pavement_age = 14
old_pavement_state = "even"
old_pavement_seen = [{ what = "rut", where = "wheel tracks", gap = 0.125, straightedge = 8 }]
old_base = 10
keep_old_base = true
test_holes = [{ where = "gate", base = 12, state = "clean" }, { where = "middle", base = 11, state = "clean" }]
foundation_edge = 14
foundation_fill_width = 5
foundation_strip = true
footing_depth = 48
loose_fill_depth = 42
loose_fill = "fill"
offer_other_way = true

[[spot]]
name = "gate"
area = "Driveway"
log = "gate.csv"

[[spot]]
name = "middle"
area = "Driveway"
readings = [{ test = "rod", reading = 1 }, { test = "shovel", reading = "pick" }, { test = "pocket", reading = 4.5 }]

[[spot]]
name = "at the wall"
area = "Driveway at the foundation"
readings = [{ test = "rod", reading = 30 }, { test = "walk", reading = 2.5 }]
"""
# The same job in the metric edition, in round metric numbers.
METRIC = {
    'season = "wet"': 'season = "wet"\nunits = "metric"',
    "length = 62": "length = 19",
    "width = 14": "width = 4.3",
    "finish_above_ground = 4": "finish_above_ground = 100",
    "old_pavement = 3": "old_pavement = 75",
    "gap = 0.125, straightedge = 8": "gap = 3, straightedge = 2.4",
    "old_base = 10": "old_base = 250",
    "base = 12,": "base = 300,",
    "base = 11,": "base = 280,",
    "foundation_edge = 14": "foundation_edge = 4.3",
    "foundation_fill_width = 5": "foundation_fill_width = 1.5",
    "footing_depth = 48": "footing_depth = 1200",
    "loose_fill_depth = 42": "loose_fill_depth = 1050",
    '{ test = "rod", reading = 1 }, ': "",
    ', { test = "pocket", reading = 4.5 }': "",
    '{ test = "rod", reading = 30 }, ': "",
    "reading = 2.5": "reading = 60",
}


def job_text(units: str) -> str:
    told = TOML
    for us, metric in METRIC.items() if units == "metric" else ():
        assert us in told
        told = told.replace(us, metric)
    return told


def made(units: str = "us", drop: tuple[str, ...] = (), traffic: str = "light", **area: Any) -> Quote:
    data = tomllib.loads(job_text(units))
    data["job"]["traffic"] = traffic
    data["area"][0] |= area
    data["area"][0] = {key: value for key, value in data["area"][0].items() if key not in drop}
    if "foundation_strip" in drop:
        data["spot"] = [spot for spot in data["spot"] if spot["area"] != STRIP]
    job, wrong = checked_job(data, "drive.toml", logs={"gate.csv": LOG})
    assert wrong == []
    assert job is not None
    return quote(job, trial_book())


@pytest.fixture(scope="module", params=["us", "metric"])
def either(request: pytest.FixtureRequest) -> Quote:
    return made(request.param)


@pytest.fixture(scope="module")
def whole() -> Quote:
    return made()


def all_text(content: bytes) -> str:
    return text(content)


def levels_of(of: Quote) -> list[tuple[str, str]]:
    """Return every level of the crew sheet with its depth below ZERO, area beside area."""
    found = []
    for row in rows(crew_file(of), "Crew sheet"):
        for name, deep in pairwise(row):
            if re.match("BOTTOM|TOP|DIG PAST|Top of|Past the edge", str(name)) and re.fullmatch(r"[\d,/-]+", str(deep)):
                found.append((str(name), str(deep)))
    return found


def test_the_crew_sheet_where_an_old_base_stays_and_loose_fill_is_dug_out_by_hand(whole: Quote) -> None:
    """Pavers 2-3/8 and sand 1 in: the base ends 3-3/8 in below ZERO. The finish is 4 in up, asphalt 3 in: the old base
    lies 7 in below it, so 3-5/8 in of stone; 3.625 x 1.254 = 4.55, to the eighth 4-1/2 loose. Past the edge 6 in of
    stone, two lifts of 3 (3.76 loose: 3-3/4), dug 9-3/8 below ZERO. 57 ft at 2 % fall 13.68.
    The strip: 6 in of base ends 9-3/8 below ZERO; sound ground 42 in below the asphalt's top: 36-5/8 in of fill, to 46
    in below ZERO. 36.625 / 4: 10 lifts of 3.6625 (3-5/8), x 1.2 = 4.395 loose (4-3/8). It falls 2 % of 5 ft: 1.2 in.
    """
    found = levels_of(whole)
    for level in (
        ("DIG PAST THE EDGE", "9-3/8"),
        ("TOP OF OLD BASE", "7"),
        ("Top of base", "3-3/8"),
        ("BOTTOM OF DIG", "46"),
        ("Top of fill", "9-3/8"),
        ("Top of lift 1", "6-3/8"),
        ("Top of lift 2 = base", "3-3/8"),
    ):
        assert level in found, level
    words = text(crew_file(whole), "Crew sheet")
    for expected in (
        "The old base stays: take nothing off its top",
        "asphalt, 3 in thick",
        "Level the old base that stays, 11 in thick, loosen its top. 1 lift, 4-1/2 in loose to 3-5/8 in",
        "Past the edge 6 in of stone in 2 lifts, 3-3/4 in loose to 3 in",
        "Old base opened at 2 places, a wheel track and the worst place among them: 11 in or more of clean stone",
        "36-5/8 in deep on all of the dug ground. 10 lifts, 4-3/8 in loose to 3-5/8 in",
        "Dig on to sound ground, 42 in below today's ground. CALL before it is filled.",
        "The footing ends 48 in below today's ground: never dig below it.",
        "HARD ground everywhere, rod pushed",
        "lower at B 13-5/8 in and C 13-5/8 in",
        "1-1/4 in",
    ):
        assert expected in words, expected


def test_the_metric_sheet_by_hand() -> None:
    """60.325 + 25.4 mm; finish 100 up, 75 of asphalt: old base at 175, 89 of new stone. Base 203, the least on
    fine soil below CBR 5: 289 below the finish; 1,050 to sound ground: 1,150 below the finish, 861 of fill in 9
    lifts of 96, x 1.2 = 114.8, to 5 mm 115 loose. 17.5 m at 2 % fall 350.
    """
    of = made("metric")
    found = levels_of(of)
    for level in (
        ("TOP OF OLD BASE", "175"),
        ("DIG PAST THE EDGE", "289"),
        ("BOTTOM OF DIG", "1,150"),
        ("Top of fill", "289"),
    ):
        assert level in found, level
    words = text(crew_file(of), "Crew sheet")
    for expected in ("861 mm deep on all", "9 lifts, 115 mm loose to 96 mm", "lower at B 350 mm", "30 mm"):
        assert expected in words, expected


def test_an_old_base_whose_top_is_taken_off_and_one_that_gets_no_stone() -> None:
    """At the height of today the sand ends 3/8 in into the old base under 3 in of asphalt: 11 less 3/8 stays."""
    of = made(finish_above_ground=0)
    words = text(crew_file(of), "Crew sheet")
    assert ("TOP OF OLD BASE", "3-3/8") in levels_of(of)
    assert "take 3/8 in off its top" in words
    assert "10-5/8 in thick, roll it: no stone on it, the sand comes next" in words
    assert "Past the edge 6 in of stone in 2 lifts, 3-3/4 in loose to 3 in" in words
    assert ("Past the edge, top of lift 1", "6-3/8") in levels_of(of)


def test_an_old_base_between_walls_gets_no_new_stone_at_all() -> None:
    keys = ("foundation_strip", "footing_depth", "loose_fill_depth", "loose_fill", "offer_other_way")
    of = made(drop=keys, finish_above_ground=0, open_edge=0, foundation_fill_width=0)
    words = text(crew_file(of), "Crew sheet")
    assert "roll it: no stone on it, the sand comes next" in words
    assert " loose to " not in words


def test_an_old_base_that_cannot_stay_and_a_footing_above_the_bottom_are_told_on_the_page() -> None:
    out = made(test_holes=[], footing_depth=30)
    words = text(crew_file(out), "Crew sheet")
    assert "asphalt, 3 in thick, its stone base as well" in words
    assert ("BOTTOM OF DIG", "9-3/8") in levels_of(out)
    assert "CALL FIRST: the dig goes 42 in below today's ground, below the footing at 30 in" in words
    unknown = text(crew_file(made(drop=("footing_depth",))), "Crew sheet")
    assert "Nobody knows how deep the footing is: find its bottom first, and never dig below it." in unknown


def test_the_order_and_the_sheet_bring_the_fill_before_the_stone(whole: Quote) -> None:
    words = text(crew_file(whole))
    assert "day 1 is Monday, June 8" in words
    assert words.index("FILL") < words.index("STONE")
    assert words.index("Place and compact granular fill") < words.index("Place and compact the base")
    assert "Clean granular fill." in words


def test_ground_that_its_readings_do_not_decide_is_told_so(whole: Quote) -> None:
    """Readings in fill that is dug out say nothing of the ground below; an old pavement may speak for weaker ground."""
    ground = whole.ground[STRIP]
    found = ground_evidence(ground)
    assert (ground.overruled, found.confidence.spots, found.to_test) == (SOUND_GROUND, 0, ("at the bottom of the dig",))
    assert found.left.low_cbr < found.cbr < found.left.high_cbr
    strip = {one.area: one for one in worth_of_tests(whole)}[STRIP]
    assert strip.sentence("us").startswith("One cone test (at the bottom of the dig): expected saving ")
    sunk = made(drop=("old_pavement_state",), old_pavement_seen=SUNK)
    assert sunk.ground["Driveway"].overruled == OLD_PAVEMENT
    assert ground_evidence(sunk.ground["Driveway"]).to_test == ("below the old pavement",)
    words = all_text(client_file(sunk, 1))
    assert "The old pavement shows weaker ground, and we go by the weaker of the two." in words
    assert "three out of four" not in words


def test_every_reader_gets_a_file_and_the_client_learns_what_is_old_and_what_is_fill(either: Quote) -> None:
    client, office = all_text(client_file(either, 1)), all_text(office_file(either, 1))
    metric = either.job.units == "metric"
    kept, new = ("280 mm", "89 mm") if metric else ("11 in", "3-5/8 in")
    assert f"Our test holes showed clean old stone, so {kept} of it stays, under {new} of new stone." in client
    assert f"the driveway: {new} of compacted stone on {kept} of the old base".casefold() in client.casefold()
    assert f"{STRIP}: dug out to firm ground and refilled in compacted layers" in client
    assert "Another way to deal with the loose fill" in client
    assert "Loose fill, as around a new house, settles for years" in client  # called for by the loose fill
    assert "cone test" not in client  # advice of the office to itself
    assert "at the bottom of the dig" in office
    assert "Cone log" in load_workbook(BytesIO(office_file(either, 1))).sheetnames


@pytest.fixture(scope="module", params=["us", "metric"])
def signed(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> QuoteFiles:
    return write_quote(made(request.param), tmp_path_factory.mktemp("signed"))


def test_the_clients_file_comes_again_from_the_offices(signed: QuoteFiles) -> None:
    again = quote_file(signed.office, None, signed.office.parent)
    assert again.refusal == ""
    assert again.files is not None
    old, new = cells(signed.client), cells(again.files.client)
    assert old.keys() == new.keys()
    changed = [(old[place][0], new[place][0]) for place in old if old[place] != new[place]]
    assert changed
    assert all(was.replace("FH-140", "FH-140, revision 2") == now for was, now in changed)


def test_a_change_order_from_the_offices_file_names_the_old_base(signed: QuoteFiles) -> None:
    changed = change_job(signed.office, ["Driveway=soft"], None, signed.office.parent / "drive", pdf=False)
    order = changed.order
    metric = order.signed.job.units == "metric"
    was = "89 mm on 280 mm of the old base" if metric else "3-5/8 in on 11 in of the old base"
    assert f"instead of {was}" in change_text(changed)
    client = all_text(changed.files.client.read_bytes())
    assert f"of compacted stone instead of {was}" in client
    assert "As quoted: driveway at the foundation." in client
    assert "The old stone base, which was to stay, cannot stay on this ground: it is dug out." in client
    assert "Granular fill, compacted" in client
    before, after = (one.offer.takeoff.area(STRIP) for one in (order.signed, order.found))
    assert replace(after, area=before.area) == before
    # no table promises what an old base costs that has to come out: it is priced anew, and the paper says so
    assert (order.promised, order.total) == ({}, order.real)
    assert "priced anew, at the unit prices of the quote: the old stone base has to come out." in client
    told = change_numbers(changed)["areas"]["Driveway"]
    assert (told["old_base_stays_found_in"], round(told["old_base_stays_signed_in"])) == (0, 11)
    crew = text(changed.files.crew, "Crew sheet")
    assert "its stone base as well" in crew
    assert "CHANGE 1" in crew
    assert "Throw the old sheet away." in crew


def test_ground_found_below_loose_fill_is_that_below_it(signed: QuoteFiles) -> None:
    changed = change_job(signed.office, [f"{STRIP}=medium"], None, signed.office.parent / "strip", pdf=False)
    old, new = (one.offer.takeoff.area(STRIP) for one in (changed.order.signed, changed.order.found))
    assert changed.order.found.ground[STRIP].strength.strength_class == "medium"
    assert new.base_m > old.base_m
    assert new.base_m + new.fill_m == pytest.approx(old.base_m + old.fill_m)  # sound ground lies where it lies
    rest = changed.order.found.offer.takeoff.area("Driveway")
    assert rest == changed.order.signed.offer.takeoff.area("Driveway")


def test_better_ground_found_where_loose_fill_stays_is_a_credit() -> None:
    of = made(loose_fill="stone", sound_ground="stiff")
    assert of.ground[STRIP].strength.strength_class == "soft"
    order = change_order(of, {STRIP: "hard"}, 1)
    assert order.found.ground[STRIP].strength.strength_class == "hard"
    assert order.total < 0


def test_an_old_base_lost_is_a_change_though_no_base_gets_deeper() -> None:
    """On medium ground no old base stays; the words hold that for softer ground too."""
    order = change_order(made(), {"driveway": "medium"}, 1)
    assert order.softer
    assert order.found.offer.takeoff.area("Driveway").kept_m == 0
    assert sum((one.difference for one in order.lines), Decimal(0)) == order.total


def test_what_was_seen_counts_and_not_what_the_old_pavement_spoke_for() -> None:
    sunk = made(drop=("old_pavement_state",), traffic="delivery", old_pavement_seen=SUNK)
    assert sunk.ground["Driveway"].strength.strength_class == "stiff"
    order = change_order(sunk, {"Driveway": "hard"}, 1)
    assert order.found.ground["Driveway"].strength.strength_class == "hard"
    assert order.found.offer.takeoff.area("Driveway").kept_m == 0  # priced as dug out: it stays so


@pytest.mark.parametrize("units", ["us", "metric"])
def test_the_command_line_prints_it_for_people_and_for_programs(
    units: str, run: Any, prices: Path, tmp_path: Path  # noqa: F811
) -> None:  # fmt: skip
    (tmp_path / "gate.csv").write_text(LOG, "utf-8")
    job = tmp_path / "drive.toml"
    job.write_text(job_text(units), "utf-8")
    code, out, err = run("quote", job, "--prices", prices, "--out", tmp_path / "q", "--json")
    assert (code, err) == (0, "")
    (told,) = json.loads(out)
    assert told["loose_fill"][0]["area"] == STRIP
    assert told["old_base"]["Driveway"]["stays_in"] == pytest.approx(11 if units == "us" else 280 / 25.4)
    assert set(told["ground"]) == {"Driveway", STRIP}
    code, out, err = run("quote", told["office_file"], "--found", "Driveway=soft", "--out", tmp_path / "q", "--json")
    assert (code, err) == (0, "")
    assert json.loads(out)["areas"]["Driveway"]["old_base_stays_found_in"] == 0
    code, out, err = run("template", tmp_path / "x.xlsx", "--job", job)
    assert (code, err) == (0, "")
    given, back = load_job(job), load_job(tmp_path / "x.xlsx")
    assert replace(back, source_path="") == replace(given, source_path="")


@pytest.mark.libreoffice
def test_the_crew_gets_one_page_of_work_and_one_of_safety(either: Quote, tmp_path: Path) -> None:
    path = tmp_path / "crew.xlsx"
    path.write_bytes(crew_file(either, 1))
    assert printed_pages([path], tmp_path) == {path: 2}
    assert either.offer.takeoff.area("Driveway").kept_m / INCH_M == pytest.approx(11, abs=0.05)
