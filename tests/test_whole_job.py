"""One job with everything at once: old base kept, strip, loose fill, slope, cone log, first day; its files."""

import json
import tomllib
from dataclasses import replace
from decimal import Decimal
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from engines import printed_pages
from openpyxl import load_workbook
from openpyxl.worksheet.worksheet import Worksheet
from test_command_line import run  # noqa: F401 (a fixture)
from test_quote_again import cells
from test_workbook_crew import below, corners, text
from trial_quote import trial_book

from basecalc.change_runs import change_job, change_numbers, change_text
from basecalc.core.units import INCH_M
from basecalc.demo import write_demo
from basecalc.ground.evidence import ground_evidence
from basecalc.ground.strength import OLD_PAVEMENT, SOUND_GROUND
from basecalc.job.read import checked_job
from basecalc.pricing.changes import change_order
from basecalc.pricing.quote import quote
from basecalc.pricing.records import Quote
from basecalc.pricing.value_of_testing import worth_of_tests
from basecalc.runs import quote_file
from basecalc.workbook.client import client_file
from basecalc.workbook.crew import crew_file
from basecalc.workbook.office import office_file
from basecalc.workbook.save import QuoteFiles, write_quote

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
    'season = "wet"': 'season = "wet"\nunits = "metric"', "length = 62": "length = 19", "width = 14": "width = 4.3",
    "finish_above_ground = 4": "finish_above_ground = 100", "old_pavement = 3": "old_pavement = 75",
    "gap = 0.125, straightedge = 8": "gap = 3, straightedge = 2.4", "old_base = 10": "old_base = 250",
    "base = 12,": "base = 300,", "base = 11,": "base = 280,", "foundation_edge = 14": "foundation_edge = 4.3",
    "foundation_fill_width = 5": "foundation_fill_width = 1.5", "footing_depth = 48": "footing_depth = 1200",
    "loose_fill_depth = 42": "loose_fill_depth = 1050", '{ test = "rod", reading = 1 }, ': "",
    ', { test = "pocket", reading = 4.5 }': "", '{ test = "rod", reading = 30 }, ': "", "reading = 2.5": "reading = 60",
}  # fmt: skip


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


def page(of: Quote, area: str) -> Worksheet:
    return load_workbook(BytesIO(crew_file(of, 1)), data_only=True)[area]


def all_text(content: bytes) -> str:
    return "\n".join(text(sheet) for sheet in load_workbook(BytesIO(content), data_only=True))


def column_under(sheet: Worksheet, heading: str, words: str) -> Any:
    """Return what stands under the first cell with these words below a heading."""
    top = next(cell.row for row in sheet.iter_rows() for cell in row if str(cell.value).startswith(heading))
    at = next(cell for row in sheet.iter_rows(min_row=top) for cell in row if cell.value == words)
    return sheet.cell(at.row + 1, at.column).value


def test_the_crews_page_where_an_old_base_stays_by_hand(whole: Quote) -> None:
    """Pavers 2-3/8 and sand 1 in: the base ends 3-3/8 in below the finish. The finish is 4 in up, asphalt 3 in: the old
    base lies 7 in below it, so 3-5/8 in of stone; 3.625 x 1.254 = 4.55, to the eighth 4-1/2 loose. Past the edge 6 in
    of stone, two lifts of 3 (3.76 loose: 3-3/4), dug 9-3/8 below the finish, 5-3/8 of ground. 57 ft at 2 % fall 13.68.
    """
    sheet = page(whole, "Driveway")
    titles = ("Top of old base", "New stone on it", "Top of base", "Dig past the edge", "Stone there")
    assert [below(sheet, title) for title in titles] == [7, 3.625, 3.375, 9.375, 6]
    assert corners(sheet) == {
        "A": (0, 7, 9.375), "B": (13.625, 20.625, 23), "C": (13.625, 20.625, 23), "D": (0, 7, 9.375),
    }  # fmt: skip
    assert [below(sheet, head) for head in ("Lifts", "Spread each loose", "Roll each down to")] == [1, 4.5, 3.625]
    assert below(sheet, "Top of lift 1") == 3.375
    words = text(sheet)
    for expected in (
        "The old base stays on 798 ft². Take nothing off its top; past the edge dig 5-3/8 in of ground",
        "Old asphalt, 3 in thick, comes out first.",
        "First level the old base that stays, 11 in thick, and loosen its top.",
        "Past the edge stone 6 in deep in 2 lifts: spread each 3-3/4 in loose, roll it down to 3 in",
        "look into it at 2 places, a wheel track and the worst place among them: 11 in or more of clean stone left",
        "11.1 yd³ loose, about 1.0 loads",  # 798 ft2 x 3 in = 7.39 yd3 of asphalt, x 1.5; 14.46 of 14 tons
    ):
        assert expected in words
    assert "No truck on the dug ground" not in words


def test_the_crews_page_where_loose_fill_is_dug_out_by_hand(whole: Quote) -> None:
    """6 in of base ends 9-3/8 below the finish, 5-3/8 below the asphalt's top; sound ground 42 in: 36-5/8 in of fill,
    to 46 in below the finish. 36.625 / 4: 10 lifts of 3.6625 (3-5/8), x 1.2 = 4.395 loose (4-3/8). The strip falls
    2 % of 5 ft away from the building: 1.2 in, to the eighth 1-1/4. 75 ft2 x 36.625 in = 8.478 yd3, x 1.2 x 1.48 =
    15.06 tons, 1.08 loads of 14.
    """
    sheet = page(whole, STRIP)
    titles = ("Bottom of dig", "Stone base", "Top of base", "Top of the fill", "Granular fill")
    assert [below(sheet, title) for title in titles] == [46, 6, 3.375, 9.375, 36.625]
    assert corners(sheet) == {
        "A": (0, 3.375, 46), "B": (0, 3.375, 46), "C": (1.25, 4.625, 47.25), "D": (1.25, 4.625, 47.25),
    }  # fmt: skip
    heads = ("Lifts", "Spread each loose", "Roll each down to")
    assert [column_under(sheet, "Fill up to the base", head) for head in heads] == [10, 4.375, 3.625]
    assert [column_under(sheet, "Build up", head) for head in heads] == [2, 3.75, 3]
    words = text(sheet)
    for expected in (
        "A to B runs along the building", "Dig 75 ft², 39 in deep ",
        "Dig on to sound ground, 42 in below the surface of today; call before it is filled.",
        "The footing ends 48 in below the surface of today: never dig below it.",
        "Clean granular fill in 10 lifts", "Granular fill, 36-5/8 in deep, on all of the dug ground",
        "HARD ground shows everywhere: no truck in the dig", "fill only when the office says so",
        "15.1 tons, about 1.1 loads",
    ):  # fmt: skip
        assert expected in words
    assert "of the building, " not in words  # the words for fill that is ordered along a foundation


def test_the_metric_pages_by_hand() -> None:
    """60.325 + 25.4 mm; finish 100 up, 75 of asphalt: old base at 175, 89 of new stone. Base 203, the least on
    fine soil below CBR 5: 289 below the finish; 1,050 to sound ground: 1,150 below the finish, 861 of fill in 9
    lifts of 96, x 1.2 = 114.8, to 5 mm 115 loose.
    """
    of = made("metric")
    drive, strip = page(of, "Driveway"), page(of, STRIP)
    titles = ("Top of old base", "New stone on it", "Dig past the edge", "Stone there")
    assert [below(drive, title) for title in titles] == [175, 89, 289, 203]
    assert corners(drive)["B"] == (350, 525, 639)  # 17.5 m at 2 %
    assert [below(strip, title) for title in ("Bottom of dig", "Top of the fill", "Granular fill")] == [1150, 289, 861]
    assert corners(strip)["C"] == (30, 116, 1180)
    heads = ("Lifts", "Spread each loose", "Roll each down to")
    assert [column_under(strip, "Fill up to the base", head) for head in heads] == [9, 115, 96]


def test_an_old_base_whose_top_is_taken_off_and_one_that_gets_no_stone() -> None:
    """At the height of today the sand ends 3/8 in into the old base under 3 in of asphalt: 11 less 3/8 stays."""
    sheet = page(made(finish_above_ground=0), "Driveway")
    assert [below(sheet, title) for title in ("Top of old base", "New stone on it")] == [3.375, 0]
    words = text(sheet)
    assert "Take 3/8 in off its top" in words
    assert "10-5/8 in thick, and roll it; no stone is laid on it, the bedding sand comes next." in words
    assert "Build up past the edge only" in words
    assert [below(sheet, head) for head in ("Lifts", "Roll each down to")] == [2, 3]
    assert [below(sheet, f"Top of lift {place}") for place in (1, 2)] == [6.375, 3.375]


def test_an_old_base_between_walls_gets_no_new_stone_at_all() -> None:
    keys = ("foundation_strip", "footing_depth", "loose_fill_depth", "loose_fill", "offer_other_way")
    sheet = page(made(drop=keys, finish_above_ground=0, open_edge=0, foundation_fill_width=0), "Driveway")
    words = text(sheet)
    assert "Build up: no new stone" in words
    assert "Spread each loose" not in words
    assert "Stone in" not in words
    assert corners(sheet)["A"] == (0, 3.375, 3.375)  # top of the base, and of the old base, which is the same


def test_an_old_base_that_cannot_stay_and_a_footing_above_the_bottom_are_told_on_the_page() -> None:
    out = made(test_holes=[], footing_depth=30)
    assert "comes out first. The stone base under it is dug out as well." in text(page(out, "Driveway"))
    assert below(page(out, "Driveway"), "Bottom of dig") == 9.375
    words = text(page(out, STRIP))
    assert "CALL FIRST: the dig goes 42 in below the surface of today, below the footing at 30 in" in words
    unknown = text(page(made(drop=("footing_depth",)), STRIP))
    assert "How deep the footing lies is not known: find its bottom first, and never dig below it." in unknown


def test_the_order_and_the_job_page_bring_the_fill_before_the_stone(whole: Quote) -> None:
    words = text(load_workbook(BytesIO(crew_file(whole, 1)), data_only=True)["Job"])
    assert "day 1 is Mon 2026-06-08" in words
    assert words.index("Place and compact granular fill") < words.index("Place and compact the base")
    assert "Haul stone to the site: Clean granular fill" in words


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
    assert "but the old pavement speaks for weaker ground, and we go by the weaker of the two" in words
    assert "three out of four" not in words


def test_every_reader_gets_a_file_and_the_client_learns_what_is_old_and_what_is_fill(either: Quote) -> None:
    client, office = all_text(client_file(either, 1)), all_text(office_file(either, 1))
    metric = either.job.units == "metric"
    kept, deep = ("280 mm", "about 860 mm") if metric else ("11 in", "about 37 in")
    assert f"Driveway: {kept} of the stone base is the old one that stays, under" in client
    assert f"{STRIP}: below the stone base lies granular fill, {deep} deep, compacted in layers." in client
    base = "89 mm of compacted stone on 280 mm" if metric else "3-5/8 in of compacted stone on 11 in"
    assert f"it needs {base} of the old base under the driveway" in client
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
    assert [new[place][0] for place in old if old[place] != new[place]] == ["FH-140, revision 2"]


def test_a_change_order_from_the_offices_file_names_the_old_base(signed: QuoteFiles) -> None:
    changed = change_job(signed.office, ["Driveway=soft"], None, signed.office.parent / "drive", pdf=False)
    order = changed.order
    metric = order.signed.job.units == "metric"
    was = "89 mm on 280 mm of the old base" if metric else "3-5/8 in on 11 in of the old base"
    assert f"instead of {was}" in change_text(changed)
    client = all_text(changed.files.client.read_bytes())
    assert f"of compacted stone instead of {was}" in client
    assert "As quoted stays: driveway at the foundation." in client
    assert "The old stone base, which was to stay, cannot stay on this ground: it is dug out." in client
    assert "Granular fill, compacted" in client
    before, after = (one.offer.takeoff.area(STRIP) for one in (order.signed, order.found))
    assert replace(after, area=before.area) == before
    # no table promises what an old base costs that has to come out: it is priced anew, and the paper says so
    assert (order.promised, order.total) == ({}, order.real)
    assert "priced anew, at the unit prices of the quote: the old stone base has to come out." in client
    told = change_numbers(changed)["areas"]["Driveway"]
    assert (told["old_base_stays_found_in"], round(told["old_base_stays_signed_in"])) == (0, 11)
    crew = text(load_workbook(changed.files.crew)["Driveway"])
    assert "The stone base under it is dug out as well." in crew


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
def test_the_command_line_prints_it_for_people_and_for_programs(units: str, run: Any, tmp_path: Path) -> None:  # noqa: F811
    demo = write_demo(tmp_path / "demo")
    (tmp_path / "gate.csv").write_text(LOG, "utf-8")
    job = tmp_path / "drive.toml"
    job.write_text(job_text(units), "utf-8")
    code, out, err = run("quote", job, "--prices", demo.prices, "--out", tmp_path / "q", "--json")
    assert (code, err) == (0, "")
    (told,) = json.loads(out)
    assert told["loose_fill"][0]["area"] == STRIP
    assert told["old_base"]["Driveway"]["stays_in"] == pytest.approx(11 if units == "us" else 280 / 25.4)
    assert set(told["ground"]) == {"Driveway", STRIP}
    code, out, err = run("quote", told["office_file"], "--found", "Driveway=soft", "--out", tmp_path / "q", "--json")
    assert (code, err) == (0, "")
    assert json.loads(out)["areas"]["Driveway"]["old_base_stays_found_in"] == 0
    code, out, err = run("template", tmp_path / "x.xlsx", "--job", job)
    assert (code, out) == (2, "")
    assert "for which the sheets of the estimating workbook have no place" in err


@pytest.mark.libreoffice
def test_each_page_of_the_crew_is_one_sheet_of_paper(either: Quote, tmp_path: Path) -> None:
    path = tmp_path / "crew.xlsx"
    path.write_bytes(crew_file(either, 1))
    assert printed_pages(path, tmp_path) == 4
    assert either.offer.takeoff.area("Driveway").kept_m / INCH_M == pytest.approx(11, abs=0.05)
