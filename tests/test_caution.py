"""The rule of caution: no sign of weak ground ever makes a base thinner, at a spot, in an area, in a job and its split.

The long run over random sites: ``python tests/bench/caution_sites.py 200000``.
"""

import json
from pathlib import Path
from random import Random
from typing import Any

import pytest
from caution_sites import WEAKER, cases, no_stronger, owner, site, told
from estimating_kit import Sheets, demo_prices
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from openpyxl import load_workbook
from pricing_kit import job_data
from test_estimating_workbook import typed
from trial_quote import trial_book

import basecalc
from basecalc import InputError, Quote, Reading
from basecalc.cli import main
from basecalc.demo import write_demo
from basecalc.worksheet import BASE_DEPTH, SITE_STRENGTH, STRENGTH_CLASS

INCH = 0.0254
WHOLE = trial_book()


@pytest.fixture(scope="module")
def prices(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_demo(tmp_path_factory.mktemp("demo")).prices


def spot(name: str, *readings: tuple[str, Any], area: str = "Driveway", moisture: str = "wet") -> dict[str, Any]:
    said = [{"test": test, "reading": value, "moisture": moisture} for test, value in readings]
    return {"name": name, "area": area, "readings": said}


def job(*spots: dict[str, Any], soil: str = "clay", **head: Any) -> dict[str, Any]:
    """Return a driveway read at these spots."""
    data = job_data(soil=soil)
    del data["area"][0]["strength"]
    return {**data, "job": {**data["job"], **head}, "spot": list(spots)}


def quoted(data: dict[str, Any], book: Any = WHOLE) -> Quote:
    return basecalc.quote(basecalc.parse_job(data), book)


def inches(made: Quote, area: str = "Driveway") -> int:
    return round(made.depths[area].required_m / INCH)


def cbrs(*values: float) -> list[dict[str, Any]]:
    return [spot(f"S{place}", ("cbr", value)) for place, value in enumerate(values, 1)]


# at a spot and between spots


@settings(deadline=None, max_examples=150)
@given(st.integers(0, 2**48))
def test_no_weaker_evidence_makes_a_design_stronger(seed: int) -> None:
    for case in cases(Random(seed)):
        assert no_stronger(*case[1:]), told(case)


@settings(deadline=None, max_examples=25)
@given(st.integers(0, 2**48))
def test_no_weaker_evidence_makes_a_base_thinner(seed: int) -> None:
    """By the depth itself, for the traffic of cars and of trucks."""
    chance = Random(seed)
    before, own = site(chance), owner(chance)

    def depth(of: Any, level: str) -> float:
        try:
            spots = [basecalc.spot_strength(f"S{k}", one, class_down=own.class_down) for k, one in enumerate(of)]
            ground = basecalc.area_strength(
                "Drive", spots, class_edge=own.class_edge, walked=own.walked, allowance=own.allowance,
                spot_rule=own.spot_rule,
            )  # fmt: skip
            design = basecalc.DesignSettings(class_edge=own.class_edge)
            return basecalc.base_depth(ground.strength, basecalc.traffic(level), settings=design).required_m
        except basecalc.BasecalcError:  # very soft, or frozen only: no base at all
            return float("inf")

    for name, change in WEAKER.items():
        after = change(before, chance)
        for level in ("light", "delivery"):
            assert depth(after, level) >= depth(before, level), name


@pytest.mark.source("common practice, no source: the weakest of several signs counts")
def test_two_pairs_of_readings_at_one_spot() -> None:
    def depth(*readings: tuple[str, Any]) -> int:
        return inches(quoted(job(spot("S1", *readings), soil="sand")))

    assert depth(("walk", 1.5), ("cone", 106)) >= depth(("walk", 1.5), ("cone", 104))
    assert depth(("pickup", 2), ("walk", 1.5)) >= depth(("pickup", 2), ("dump truck", 0.2))


@pytest.mark.source("design brackets: light traffic within 2 in of 24, 13, 6 in at CBR 0.4, 0.8, 1.6; [practice]")
@pytest.mark.parametrize(("test", "reading", "depth"), [("walk", 2.5, 24), ("walk", 1.5, 13), ("pickup", 0.7, 6)])
def test_a_class_alone_stays_at_its_weak_edge(test: str, reading: float, depth: int) -> None:
    for walked in (True, False):
        assert inches(quoted(job(spot("S1", (test, reading)), walked=walked))) == pytest.approx(depth, abs=2)


@pytest.mark.parametrize(
    ("read", "counts"),
    # 0.7 of a reading, never less than where its class begins: 0.4, 0.8, 1.6, 3.2, 6.4 (by hand)
    [(0.45, 0.4), (0.57, 0.4), (0.7, 0.49), (0.8, 0.56), (1.0, 0.8), (1.5, 1.05), (2.0, 1.6), (3.0, 2.1), (10.0, 7.0)],
)
def test_a_measured_spot_counts_seven_tenths_where_nobody_walked(read: float, counts: float) -> None:
    assert quoted(job(*cbrs(read))).depths["Driveway"].cbr == pytest.approx(counts)
    assert quoted(job(*cbrs(read), walked=True)).depths["Driveway"].cbr == pytest.approx(read)
    half = trial_book(**{"design.reading_allowance": "85 %"})
    edge = counts if counts in (0.4, 0.8, 1.6) else 0.0
    assert quoted(job(*cbrs(read)), half).depths["Driveway"].cbr == pytest.approx(max(edge, 0.85 * read))


def test_a_strength_by_hand_counts_as_given() -> None:
    made = quoted(job_data(strength=1.8))
    assert made.depths["Driveway"].cbr == 1.8
    assert inches(made) == BASE_DEPTH(1.8)


def test_an_area_says_for_itself_whether_it_was_walked() -> None:
    data = job(*cbrs(3.0), walked=True)
    data["area"][0]["walked"] = False
    assert quoted(data).depths["Driveway"].cbr == pytest.approx(2.1)
    assert not quoted(data).ground["Driveway"].walked


@pytest.mark.source(
    "UFC-3-260-02: a value so low that it marks a weak area is not averaged away; its extent is found by more samples; "
    "[read]"
)
def test_three_good_spots_do_not_outvote_a_soft_corner() -> None:
    made = quoted(job(*cbrs(0.45, 6, 6, 6), walked=True))
    assert made.depths["Driveway"].cbr == 0.45
    assert inches(made) > 12
    assert SITE_STRENGTH([0.45, 6, 6, 6]) == "soft"
    by_quartile = quoted(job(*cbrs(0.45, 6, 6, 6), walked=True), trial_book(**{"design.spot_rule": "quartile"}))
    assert by_quartile.depths["Driveway"].cbr == pytest.approx(1.25 * 0.45)


def test_no_advice_asks_for_a_test_that_only_changes_the_rule() -> None:
    made = quoted(job(*cbrs(2, 3), walked=True))
    assert made.ground["Driveway"].test_next == "No further test is needed here."


def test_the_office_hears_what_walking_would_save() -> None:
    made = quoted(job(*cbrs(0.7), offer="stone"))  # counts 0.49
    deep, walked = inches(made), inches(quoted(job(*cbrs(0.7), offer="stone", walked=True)))
    advice = made.ground["Driveway"].test_next
    assert walked < deep
    assert advice.endswith(f"if no softer place turns up, {walked} in of base do instead of {deep} in.")
    assert "Walk the whole area and test its softest place" in advice
    assert "Walk" not in quoted(job(*cbrs(10))).ground["Driveway"].test_next, "it would save nothing"


# frozen ground


def frozen(*names: str) -> list[dict[str, Any]]:
    return [spot(name, ("cone", 10), ("dump truck", 0), ("shovel", "pick"), moisture="frozen") for name in names]


@pytest.mark.parametrize("soil", ["clay", "sand"])
def test_an_area_read_in_frozen_ground_only_is_refused_with_what_to_do(soil: str) -> None:
    with pytest.raises(InputError, match="test it again when it has thawed, or give the strength by hand") as refusal:
        quoted(job(*frozen("S1", "S2"), soil=soil))
    assert str(refusal.value).count("frozen ground") == 2
    assert "Driveway" in str(refusal.value)
    assert "\n" not in str(refusal.value)


def test_frozen_spots_are_shown_and_the_others_go_on(tmp_path: Path) -> None:
    data = job(*cbrs(2.0), *frozen("Ice"))
    alone, made = quoted(job(*cbrs(2.0))), quoted(data)
    assert made.depths["Driveway"].cbr == alone.depths["Driveway"].cbr
    ground = made.ground["Driveway"]
    assert [one.name for one in ground.spots] == ["S1", "Ice"]
    assert "Ice was read in frozen ground only and does not count: test it again when it has thawed." in ground.flags
    files = basecalc.write_quote(made, tmp_path)
    for path in (files.client, files.office, files.crew):
        text = "\n".join(
            str(cell.value) for sheet in load_workbook(path) for row in sheet for cell in row if cell.value is not None
        )
        assert path == files.crew or "Ice" in text
    frame = basecalc.evidence_frame(made)
    assert set(frame[frame["spot"] == "Ice"]["part"]) == {"does not count"}
    assert basecalc.worth_of_tests(made)


def test_a_frozen_spot_stops_no_sheet(tmp_path: Path) -> None:
    """On the estimating workbook: the spot says that it is frozen, the others go on, and alone it gives no price."""
    ice = spot("Ice", ("cone", 10.0), moisture="frozen")
    both = job(*cbrs(3.0), ice)
    sheets = Sheets(basecalc.write_template(tmp_path / "frozen.xlsx", demo_prices(), job=both))
    strength, taken_as = (sheets.entry[heading].rstrip("0123456789") for heading in ("CBR", "Taken as"))
    for walked, counts in ((False, 2.1), (True, 3.0)):
        sheets.job(typed(job(*cbrs(3.0), ice, walked=walked)))
        assert sheets.cell("Entry", f"{taken_as}10") == "frozen"
        assert sheets.cell("Entry", f"{strength}9") == pytest.approx(counts)
        with_ice = sheets.totals()
        assert sheets.problem() == ""
        sheets.job(typed(job(*cbrs(3.0), walked=walked)))
        assert with_ice == sheets.totals()
        assert isinstance(with_ice[0], float)
    sheets.job(typed(job(ice)))
    assert "Test it again when it has thawed" in sheets.problem()
    assert sheets.total() is None


def test_the_season_of_the_job_freezes_its_readings() -> None:
    data = job({"name": "S1", "area": "Driveway", "readings": [{"test": "cone", "reading": 12}]}, season="frozen")
    with pytest.raises(InputError, match="read in frozen ground only"):
        quoted(data)


def test_a_sheet_gets_a_sentence_for_frozen_ground() -> None:
    answer = STRENGTH_CLASS("cone", 12, "frozen")
    assert isinstance(answer, str)
    assert answer.startswith("#moisture is frozen")
    assert "thawed" in answer


def test_a_frozen_job_on_the_command_line_is_one_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], prices: Path
) -> None:
    text = """
[job]
number = "C-1"
client = "Odessa Wrenfield"
site = "9 Quarry Rise, Brackwater"
season = "frozen"
soil = "sand"
[[area]]
name = "Driveway"
shape = "rectangle"
length = 40
width = 12
[[spot]]
name = "gate"
readings = [{ test = "cone", reading = 10 }]
"""
    file = tmp_path / "ice.toml"
    file.write_text(text, "utf-8")
    with pytest.raises(SystemExit) as stop:
        main(["quote", str(file), "--prices", str(prices), "--out", str(tmp_path / "out")])
    said = capsys.readouterr().err.strip()
    assert stop.value.code == 2
    assert len(said.splitlines()) == 1
    assert "read in frozen ground only" in said
    assert not list(tmp_path.glob("out/*.xlsx"))


# a weak corner


def test_a_weak_corner_is_offered_from_five_spots_on_with_both_prices() -> None:
    made = quoted(job(*cbrs(0.45, 6, 6, 6, 6), walked=True, offer="stone"))
    (corner,) = made.weak_corners
    assert (corner.area, corner.spot, corner.spots, corner.share) == ("Driveway", "S1", 5, 0.4)
    assert corner.whole_total == made.offer.total
    assert corner.weak_m == corner.whole_m == made.offered_depths["Driveway"].required_m
    assert corner.rest_m == pytest.approx(BASE_DEPTH(6) * INCH)  # type: ignore[operator]
    assert corner.split_total < corner.whole_total
    assert len(made.job.areas) == 1, "it is never applied by itself"
    assert quoted(job(*cbrs(0.45, 6, 6, 6), walked=True)).weak_corners == ()
    assert quoted(job(*cbrs(3.1, 6, 6, 6, 6), walked=True)).weak_corners == (), "not below half of the next"


def test_the_weak_corner_is_priced_where_nobody_walked_too() -> None:
    (corner,) = quoted(job(*cbrs(0.7, 6, 6, 6, 6))).weak_corners
    assert corner.rest_m < corner.weak_m == corner.whole_m


def test_the_office_reads_of_the_weak_corner(tmp_path: Path) -> None:
    made = quoted(job(*cbrs(0.45, 6, 6, 6, 6), walked=True))
    files = basecalc.write_quote(made, tmp_path)
    sheets = load_workbook(files.office)
    cells = [cell.value for sheet in sheets for row in sheet for cell in row if cell.value is not None]
    (said,) = (str(cell) for cell in cells if "Find its border with two more spots" in str(cell))
    (corner,) = made.weak_corners
    assert f"and the rest 6 in, ${corner.split_total:,.2f}: " in said
    assert f"Whole area alike 14 in, ${corner.whole_total:,.2f};" in said
    client = load_workbook(files.client)
    assert not any("border" in str(cell.value) for sheet in client for row in sheet for cell in row)


@settings(deadline=None, max_examples=12, suppress_health_check=[HealthCheck.too_slow])
@given(st.integers(0, 2**48))
def test_splitting_a_job_never_leaves_the_weak_part_thinner(seed: int) -> None:
    """In a job file: the weakest spot with an area of its own, beside the rest."""
    chance = Random(seed)
    values = [round(chance.uniform(0.6, 12), 2) for _ in range(chance.randint(2, 6))]
    walked, rule = chance.random() < 0.5, chance.choice(["weakest", "quartile"])
    book = trial_book(**{"design.spot_rule": rule})
    whole = job(*cbrs(*values), walked=walked, offer="stone")
    weakest = values.index(min(values))
    corner = {**whole["area"][0], "name": "Corner"}
    spots = [{**one, "area": "Corner"} if place == weakest else one for place, one in enumerate(whole["spot"])]
    split = {**whole, "area": [whole["area"][0], corner], "spot": spots}
    assert inches(quoted(split, book), "Corner") >= inches(quoted(whole, book))
    weaker = [*whole["spot"], spot("Added", ("cbr", max(0.6, min(values) * chance.uniform(0.7, 1))))]
    assert inches(quoted({**whole, "spot": weaker}, book)) >= inches(quoted(whole, book))


# what the client reads


def why(made: Quote, tmp_path: Path) -> str:
    files = basecalc.write_quote(made, tmp_path)
    return "\n".join(
        str(cell.value) for sheet in load_workbook(files.client) for row in sheet for cell in row if cell.value
    )


def test_the_client_is_told_that_deeper_adds_nothing_only_where_it_is_true(tmp_path: Path) -> None:
    praise = "Going deeper would add cost and no strength"
    sure = job(*cbrs(12, 15, 14), walked=True)
    assert praise in why(quoted(sure), tmp_path / "sure")
    weak_fine = job(*cbrs(3.5, 4), walked=True)
    assert inches(quoted(weak_fine)) == 8  # fine soil below CBR 5
    assert praise not in why(quoted(weak_fine), tmp_path / "weak")
    dry = job(spot("S1", ("cbr", 20), moisture="dry"), walked=True, soil="sand")
    assert praise not in why(quoted(dry), tmp_path / "dry")
    wet = job(*cbrs(12, 15, 14), walked=True)
    wet["area"][0]["water_table"] = 30
    assert praise not in why(quoted(wet), tmp_path / "water")
    by_class = job(spot("S1", ("dump truck", 0)), walked=True)
    assert praise not in why(quoted(by_class), tmp_path / "class")


def test_a_filled_workbook_keeps_what_was_walked(tmp_path: Path) -> None:
    data = job(*cbrs(3.0), walked=True)
    path = tmp_path / "book.xlsx"
    basecalc.write_template(path, job=basecalc.parse_job(data))
    assert all(area.walked for area in basecalc.load_job(path).areas)


def test_numbers_for_a_script(tmp_path: Path, capsys: pytest.CaptureFixture[str], prices: Path) -> None:
    spots = "".join(
        f'[[spot]]\nname = "S{place}"\nreadings = [{{ test = "cbr", reading = {cbr}, moisture = "wet" }}]\n'
        for place, cbr in enumerate((0.7, 6, 6, 6, 6))
    )
    text = (
        '[job]\nnumber = "C-2"\nclient = "Odessa Wrenfield"\nsite = "9 Quarry Rise"\nsoil = "clay"\n'
        '[[area]]\nname = "Driveway"\nshape = "rectangle"\nlength = 60\nwidth = 12\n' + spots
    )
    file = tmp_path / "corner.toml"
    file.write_text(text, "utf-8")
    with pytest.raises(SystemExit):
        main(["quote", str(file), "--prices", str(prices), "--out", str(tmp_path / "out"), "--json"])
    (numbers,) = json.loads(capsys.readouterr().out)
    ground = numbers["ground"]["Driveway"]
    assert (ground["cbr_percent"], ground["cbr_as_read_percent"], ground["walked"]) == (0.49, 0.7, False)
    (corner,) = numbers["weak_corners"]
    assert (corner["spot"], corner["spots"], corner["share_of_area"]) == ("S0", 5, 0.4)
    assert float(corner["corner_by_itself"]["total"]) < float(corner["whole_area"]["total"])


def test_one_reading_counts_in_the_sheet_as_in_the_library() -> None:
    spots = [basecalc.spot_strength("S1", [Reading("cbr", 3.0, "wet")])]
    assert basecalc.area_strength("Drive", spots).strength.cbr == pytest.approx(2.1)
