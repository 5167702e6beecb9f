"""The crew's file: a page an area, its levels, lifts and rolls by hand arithmetic, limits with source, no price."""

import re
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from engines import printed_pages
from openpyxl import Workbook, load_workbook
from openpyxl.worksheet.worksheet import Worksheet
from test_workbook_client import numbers, secrets
from trial_quote import FIRM, METRIC, PRICES, SOFT, TWO_AREAS, trial_quote

from basecalc.core.units import INCH_M
from basecalc.design.settings import TRAFFIC_NAMES
from basecalc.ground.classes import CLASSES, rank
from basecalc.ground.readings import Reading, find
from basecalc.ground.warning_signs import CREW_TESTS, rut_of, weaker_signs
from basecalc.pricing.records import Quote
from basecalc.takeoff.rolls import lay
from basecalc.workbook.crew import crew_file
from basecalc.workbook.crew_rolls import laid_in, strips_of
from basecalc.workbook.figures import words

JOBS = {"SOFT": SOFT, "FIRM": FIRM, "TWO_AREAS": TWO_AREAS, "METRIC": METRIC}


def sloped(job: dict[str, Any], **keys: Any) -> dict[str, Any]:
    return job | {"area": [job["area"][0] | keys, *job["area"][1:]]}


def crew(made: Quote) -> Workbook:
    return load_workbook(BytesIO(crew_file(made, 1)), data_only=True)


def text(page: Worksheet) -> str:
    return "\n".join(str(cell.value) for row in page.iter_rows() for cell in row if cell.value is not None)


def below(page: Worksheet, heading: str) -> Any:
    """Return what stands under the first cell with this text."""
    at = next(cell for row in page.iter_rows() for cell in row if cell.value == heading)
    return page.cell(at.row + 1, at.column).value


def corners(page: Worksheet) -> dict[str, tuple[float, float, float]]:
    """Return for each corner its finish, top of base and bottom of dig below the highest corner, as printed."""
    top = next(cell.row for row in page.iter_rows() for cell in row if cell.value == "Corner")
    return {
        page.cell(row, 13).value: tuple(page.cell(row, column).value for column in (15, 18, 21))
        for row in range(top + 1, top + 5)
    }  # type: ignore[misc]


def test_there_is_one_page_for_the_job_one_for_each_area_and_one_of_cautions() -> None:
    assert crew(trial_quote(TWO_AREAS)).sheetnames == ["Job", "Driveway", "Parking bay", "Cautions"]


def test_corner_levels_by_hand() -> None:
    """96 ft at 1/4 in/ft fall 24 in; 2-3/8 in of paver and 1 in of sand over 15 in of stone are 18-3/8 in."""
    page = crew(trial_quote(sloped(SOFT, slope="1/4 in/ft", slope_direction="length")))["Driveway"]
    assert (below(page, "Bottom of dig"), below(page, "Stone base"), below(page, "Top of base")) == (18.375, 15, 3.375)
    assert corners(page) == {
        "A": (0, 3.375, 18.375), "B": (24, 27.375, 42.375), "C": (24, 27.375, 42.375), "D": (0, 3.375, 18.375),
    }  # fmt: skip
    assert "falls 24 in from A to B, nothing from A to D (2.1%)" in text(page)


def test_a_fall_both_ways_is_measured_from_the_highest_corner() -> None:
    """3 in up from A to B and 1 in down from A to D: B is the highest; A lies 3 in below it, C 1 in, D 4 in."""
    page = crew(trial_quote(sloped(FIRM, fall_length=-3, fall_width="1 in")))["Driveway"]
    assert {name: levels[0] for name, levels in corners(page).items()} == {"A": 3, "B": 0, "C": 1, "D": 4}
    assert corners(page)["D"] == (4, 7.375, 13.375)  # 6 in of stone, 9-3/8 in in all
    assert "below the finish at corner B" in text(page)


@pytest.mark.source("ICPI-TOLERANCES, slope of at least 2 %; [read]")
def test_a_finish_that_is_too_flat_is_called_out() -> None:
    flat = "the finish falls less than 2 %"
    # 62 ft at 2 % are 14.88 in
    assert flat in text(crew(trial_quote(sloped(FIRM, fall_length=14.8)))["Driveway"])
    assert flat not in text(crew(trial_quote(sloped(FIRM, fall_length=14.9)))["Driveway"])


def test_metric_levels_by_hand() -> None:
    """5.5 m at 20 mm/m fall 110 mm; 60 and 25 mm over 200 mm of stone are 285 mm."""
    job = sloped(METRIC, slope="20 mm/m", slope_direction="width")
    page = crew(trial_quote(job, units="metric"))["Driveway"]
    assert corners(page)["C"] == corners(page)["D"] == (110, 195, 395)
    assert corners(page)["A"] == (0, 85, 285)


def test_lifts_and_loose_thickness_by_hand() -> None:
    """15 in in lifts of at most 4 in are 4 of 3.75 in; 3.75 x 1.254 = 4.70 in loose, to the eighth 4-3/4."""
    page = crew(trial_quote(SOFT))["Driveway"]
    assert [below(page, head) for head in ("Lifts", "Spread each loose", "Roll each down to", "Passes")] == [
        4, 4.75, 3.75, 4,
    ]  # fmt: skip
    # 18.375 less 3.75, 7.5, 11.25, 15
    assert [below(page, f"Top of lift {k}") for k in (1, 2, 3, 4)] == [14.625, 10.875, 7.125, 3.375]
    assert "common practice, no source" in text(page)


def test_metric_lifts_by_hand() -> None:
    """200 mm in 2 lifts of 100 mm; 125.4 mm loose, to 5 mm: 125."""
    page = crew(trial_quote(METRIC, units="metric", passes=6))["Driveway"]
    assert [below(page, head) for head in ("Lifts", "Spread each loose", "Roll each down to", "Passes")] == [
        2, 125, 100, 6,
    ]  # fmt: skip


def test_the_picture_of_rolls_shows_every_piece_and_its_lap() -> None:
    """Rolls of 50 m (164 ft): two strips of 96 ft + 2 x 15 in = 98.5 ft; 65.5 ft left for the second, 3 ft lapped."""
    made = trial_quote(SOFT)
    page = crew(made)["Driveway"]
    pieces = [str(cell.value) for row in page.iter_rows() for cell in row if str(cell.value).startswith("roll ")]
    assert pieces[-3:] == ["roll 1: 98.5 ft", "roll 1: 65.5 ft", "roll 2: 36.0 ft"]  # 98.5 - 65.5 + 3
    hatched = [cell for row in page.iter_rows() for cell in row if cell.fill.patternType == "lightUp"]
    assert len({cell.row for cell in hatched}) == 3  # a lap of each kind of roll, and one between two pieces
    assert "lapped 3.0 ft side by side, roll ends lapped 3.0 ft (hatched)" in text(page)
    assert "SEW THE SEAMS" in text(page)


@pytest.mark.parametrize("job", JOBS.values(), ids=list(JOBS))
def test_the_strips_drawn_are_those_that_are_ordered(job: dict[str, Any]) -> None:
    made = trial_quote(job)
    used: dict[str, int] = {}
    for area in made.offer.takeoff.areas:
        for sheet in laid_in(made, area):
            strips = strips_of(made, area, sheet)
            assert len(strips) == sheet.strips
            for pieces in strips:
                covered = sum(piece.length_m for piece in pieces) - (len(pieces) - 1) * sheet.end_m
                assert covered == pytest.approx(sheet.length_m)
            used[sheet.roll.name] = strips[-1][-1].roll
    ordered = {one.variant: one.amount for code in ("geogrid", "geotextile") for one in made.offer.takeoff.of(code)}
    assert used == ordered


def test_pieces_and_rolls_of_one_place_agree() -> None:
    plan = lay(40.0, 6.0, 50.0, 4.0, 0.5)
    assert (plan.rolls, plan.joints, plan.left_m) == (2, 1, 19.5)


def test_many_strips_are_drawn_as_a_few() -> None:
    job = sloped(SOFT, width=140)
    page = crew(trial_quote(job))["Driveway"]
    assert "more strips between, laid the same way" in text(page)


def test_nothing_is_laid_where_the_offer_has_no_roll() -> None:
    page = crew(trial_quote(FIRM))["Driveway"]
    assert "Lay the" not in text(page)
    assert not [cell for row in page.iter_rows() for cell in row if cell.fill.patternType == "lightUp"]


@pytest.mark.source("INDOT-JTRP-2017-16: 1 in on new subgrade, 1/2 in on stabilised, 20 tons; [read]")
@pytest.mark.source("ILLINOIS-DOT-2005: 1/2 in; [read]")
def test_proof_roll_limits_as_printed_where_the_ground_may_carry_a_truck() -> None:
    hard = text(crew(trial_quote(FIRM))["Driveway"])
    assert "a loaded tandem truck of 20 tons or more, at walking pace. Not more than 1 in of rut, no pumping" in hard
    assert "[read]" in hard
    soft = text(crew(trial_quote(SOFT))["Driveway"])
    assert "No truck on the dug ground: soft ground ruts under one" in soft
    assert "no loaded truck just to test it" in soft  # light traffic
    delivery = text(crew(trial_quote(TWO_AREAS))["Driveway"])
    assert "Before the bedding sand: a loaded tandem truck of 20 tons or more" in delivery
    assert "Not more than 1/2 in of rut" in delivery
    assert "Illinois Department of Transportation" in delivery
    assert TRAFFIC_NAMES[1] == "delivery"


@pytest.mark.source("ETL-1110-1-189, ground under load; [memory]")
@pytest.mark.parametrize(
    ("word", "signs"),
    [
        ("soft", {"stand": 3, "walk": 3}),
        ("medium", {"stand": 2, "walk": 2}),
        ("stiff", {"stand": 1, "walk": 1, "pickup": 1, "dump truck": 6}),
        ("very stiff", {"stand": 1, "walk": 1, "pickup": 0.5, "dump truck": 3}),
        ("hard", {"stand": 1, "walk": 1, "pickup": 0.5, "dump truck": 1}),
    ],
)
def test_what_shows_weaker_ground_follows_the_rules_of_the_readings(word: str, signs: dict[str, float]) -> None:
    assert {sign.test: sign.least_in for sign in weaker_signs(word)} == signs
    for test, least in signs.items():
        assert rank(find(Reading(test, least, "wet")).strongest) < rank(word)
        assert rank(find(Reading(test, least - 0.01, "wet")).strongest) >= rank(word)


def test_only_hard_ground_may_pass_a_roll_with_an_inch_of_rut() -> None:
    passing = [word for word in CLASSES if (seen := rut_of(word, CREW_TESTS[-1])) and seen[1] <= 1]
    assert passing == ["hard"]


def test_stop_and_call_says_the_class_the_sign_and_what_to_do() -> None:
    words_of_page = text(crew(trial_quote(SOFT))["Driveway"])
    for expected in (
        "this base is for SOFT ground (CBR 0.4 to 0.8)", "STOP when a person standing still sinks 3 in or more",
        "no stone, no truck on it", "call 555 0142", "A deeper base has its price in the quote",
    ):  # fmt: skip
        assert expected in words_of_page
    assert "75 mm or more" in text(
        crew(trial_quote(METRIC | {"area": [METRIC["area"][0] | {"strength": "soft"}]}))["Driveway"]
    )


def test_cautions_stand_with_their_public_source() -> None:
    page = text(crew(trial_quote(TWO_AREAS))["Cautions"])
    for expected in (
        "1926.652(a)(1)", "1926.651(b)", "1926.651(j)(2)", "1926.651(i)", "1926.1153 Table 1", "811", "APF 10",
        "licensed engineer", "Local code governs", "[memory]", "[read]",
    ):  # fmt: skip
        assert expected in page
    assert "BEFORE THE FIRST BUCKET" in text(crew(trial_quote(SOFT))["Job"])


def test_the_job_page_counts_what_is_priced() -> None:
    made = trial_quote(TWO_AREAS)
    page = crew(made)["Job"]
    shown = {page.cell(row, 1).value: page.cell(row, 15).value for row in range(1, page.max_row + 1)}
    for code in ("spoil-haul", "old-pavement-haul", "stone-haul", "geogrid", "joint-sand"):
        for one in made.offer.takeoff.of(code):
            title = one.item + (f": {one.variant}" if one.variant else "")
            assert shown[title[:1].upper() + title[1:]] == one.amount


def test_loads_of_an_area_are_its_share() -> None:
    made = trial_quote(TWO_AREAS)
    book = crew(made)
    for area in made.offer.takeoff.areas:
        assert words(area.stone_kg, "mass", "us", 1) in text(book[area.area.name])


@pytest.mark.parametrize("job", JOBS.values(), ids=list(JOBS))
def test_no_cost_price_or_supplier_is_anywhere_in_the_crews_file(job: dict[str, Any]) -> None:
    made = trial_quote(job)
    data = crew_file(made, 1)
    seen = numbers(data)
    # a rate or a share may be a small number that a depth happens to be; money is looked for to the cent
    money = {name: value for name, value in secrets(made).items() if value > 100 or value % 1}
    assert {name for name, value in money.items() if value in seen} == set()
    page = "\n".join(text(sheet) for sheet in load_workbook(BytesIO(data))).casefold()
    assert {
        one for one in (*(row[4] for row in PRICES if row[4]), "$", "overhead", "profit") if one.casefold() in page
    } == set()
    assert all(sheet.sheet_state == "visible" for sheet in load_workbook(BytesIO(data)))


@pytest.mark.parametrize(
    ("keys", "told"),
    [
        ({"slope": 2}, "slope direction is missing"),
        ({"slope_direction": "length"}, "slope is missing"),
        ({"slope": 2, "slope_direction": "length", "fall_width": 3}, "slope and a fall are both given"),
        ({"slope": 26, "slope_direction": "length"}, "from -25 to 25 %"),
        ({"slope": "steep", "slope_direction": "length"}, "such as '2 %'"),
        ({"slope": 2, "slope_direction": "north"}, "length, width"),
        ({"fall_width": 60}, "at most 25%"),
    ],
)
def test_a_slope_that_cannot_be_meant_is_one_clear_sentence(keys: dict[str, Any], told: str) -> None:
    from basecalc.core.errors import BasecalcError

    with pytest.raises(BasecalcError, match=told):
        trial_quote(sloped(FIRM, **keys))


def test_the_length_of_a_rectangle_is_the_one_the_file_calls_so() -> None:
    """A rectangle 14 ft long and 62 ft wide falls 2 % along its 14 ft: 3.36 in across the longer side."""
    made = trial_quote(sloped(FIRM, length=14, width=62, slope=2, slope_direction="length"))
    fall = made.job.areas[0].fall_m
    assert fall is not None
    assert (fall[0], fall[1] / INCH_M) == (0.0, pytest.approx(3.36))


@pytest.mark.libreoffice
@pytest.mark.parametrize("job", JOBS.values(), ids=list(JOBS))
def test_every_page_is_one_sheet_of_paper(job: dict[str, Any], tmp_path: Path) -> None:
    made = trial_quote(sloped(job, slope=2, slope_direction="length"))
    path = tmp_path / "crew.xlsx"
    path.write_bytes(crew_file(made, 1))
    assert printed_pages(path, tmp_path) == len(made.job.areas) + 2


def test_a_metric_crew_reads_metric_measures_in_its_limits_and_cautions() -> None:
    book = crew(trial_quote(METRIC))
    pages = text(book["Job"]) + text(book["Cautions"])
    assert "within 10 mm over 3 m" in pages
    assert "sand stays 25 mm" in pages
    assert "at least 0.6 m back" in pages
    assert not re.search(r"\d ft\b|3/8 in|[{|}]", pages)
    us = crew(trial_quote(SOFT))
    assert "within 3/8 in over 10 ft" in text(us["Job"])
    assert not re.search(r"[{|}]", text(us["Job"]) + text(us["Cautions"]))


def test_a_long_name_of_an_area_stands_whole_over_its_page() -> None:
    """At 26 pt the title of some 60 letters takes two lines of some 32 pt."""
    name = "The long turning circle at the far end beyond the garage"
    page = crew(trial_quote(sloped(FIRM, name=name))).worksheets[1]
    assert page["A1"].value == name
    assert page["A1"].alignment.wrap_text
    assert (page.row_dimensions[1].height or 0) >= 2 * 26


def test_how_deep_to_dig_is_told_with_and_without_an_old_pavement() -> None:
    """FIRM: 6 in of stone, 1 in of sand, 2-3/8 in of paver, 1 in of it above the ground: 8-3/8 in, or 5-3/8 below 3."""
    assert "8-3/8 in deep from the ground as it lies." in text(crew(trial_quote(FIRM)).worksheets[1])
    old = trial_quote(sloped(FIRM, old_pavement=3, old_pavement_kind="asphalt"))
    assert "5-3/8 in deep below the old pavement." in text(crew(old).worksheets[1])
