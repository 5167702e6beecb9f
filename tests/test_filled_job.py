"""A filled estimating workbook is a job: read through the same gate as a job file, every complaint with its cell."""

import datetime as dt
import re
import subprocess
import tomllib
from collections.abc import Callable, Mapping
from dataclasses import replace
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest
from estimating_kit import TOTALS, demo_job, demo_prices, named_value, same_money
from hypothesis import Phase, given, settings
from hypothesis import strategies as st
from job_books import DRIVE, cell_of, plain_book
from libreoffice import libreoffice
from openpyxl import load_workbook
from openpyxl.workbook import Workbook
from openpyxl.worksheet.worksheet import Worksheet
from test_job import METRIC_FILE, US_FILE

from basecalc.core.errors import BasecalcError, InputError, OutOfRangeError, WorkbookError
from basecalc.estimating import job_cells as job_cells_room
from basecalc.estimating.build import build_book
from basecalc.estimating.carry_over import carry_over
from basecalc.estimating.job_cells import job_cells
from basecalc.estimating.other_edition import records_in
from basecalc.estimating.read_job import holds_job, job_sheet_problems, load_job, read_job_sheets
from basecalc.estimating.template import write_template
from basecalc.health import file_problems
from basecalc.job import Job, parse_job
from basecalc.job import load_job as load_job_file
from basecalc.pricing.prices import load_prices
from basecalc.pricing.quote import Quote, quote
from basecalc.runs import job_files, quote_files

DEMO = files("basecalc") / "data" / "demo"
FILES = {entry.name: entry.read_text("utf-8") for entry in DEMO.iterdir() if entry.name[0].isdigit()}
FILES |= {"us": US_FILE, "metric": METRIC_FILE}
EXAMPLES = {name: tomllib.loads(text) for name, text in FILES.items()} | {"drive": DRIVE}


def read(path: Path) -> Job:
    return replace(read_job_sheets(path), source_path="")


def numbers(job: Job) -> list[float]:
    """Return every number of the areas, those of a length and width in turn."""
    held = [getattr(area, name) for area in job.areas for name in area.__slots__]
    return [one for value in held for one in (value if isinstance(value, tuple) else [value]) if isinstance(one, float)]


def rest(job: Job) -> Job:
    """Return a job whose areas keep only what is no number, their shapes apart."""
    areas = [
        replace(area, shape="", **{n: 0.0 for n in area.__slots__ if isinstance(getattr(area, n), float | tuple)})
        for area in job.areas
    ]
    return replace(job, areas=tuple(areas))


def assert_same(back: Job, job: Job) -> None:
    assert rest(back) == rest(job)
    # cells hold fifteen or sixteen digits
    assert numbers(back) == pytest.approx(numbers(job), rel=1e-12, abs=1e-12)


def money(made: Quote) -> list[Any]:
    """Return every amount and quantity a quote prints, option by option."""
    options = [option for option in (made.stone, made.geogrid, made.habit) if option]
    lines = [(line.code, line.quantity, line.unit, line.amount) for option in options for line in option.lines]
    totals = [(option.cost, option.tax, option.total, option.scope_prices) for option in options]
    return [made.offered, made.deeper, {name: d.required_m for name, d in made.depths.items()}, totals, lines]


@pytest.mark.parametrize("name", EXAMPLES)
def test_the_mapping_of_a_job_comes_back_as_the_same_job(tmp_path: Path, name: str) -> None:
    job = parse_job(EXAMPLES[name])
    assert read(plain_book(tmp_path, EXAMPLES[name])) == job


@pytest.mark.parametrize("name", EXAMPLES)
def test_a_job_of_which_only_the_record_is_left_comes_back_with_the_same_numbers(tmp_path: Path, name: str) -> None:
    job = parse_job(EXAMPLES[name])
    back = read(plain_book(tmp_path, job))
    assert_same(back, job)
    assert [area.shape for area in back.areas] == [area.shape for area in job.areas]


def test_the_fall_of_the_finish_and_the_first_day_come_back(tmp_path: Path) -> None:
    drive, *others = DRIVE["area"]
    data = {
        **DRIVE,
        "job": DRIVE["job"] | {"start": dt.date(2026, 6, 8)},
        "area": [drive | {"fall_length": 9, "fall_width": "-25.4 mm"}, *others],
    }
    job = parse_job(data)
    assert job.areas[0].fall_m == (pytest.approx(9 * 0.0254), pytest.approx(-0.0254))
    assert read(plain_book(tmp_path, data)) == job
    assert job_cells(job).areas == job_cells(data).areas


@pytest.mark.parametrize(
    ("slope", "cells"),
    [
        # 40 ft at 2 % are 9.6 in; 20 ft at 1/4 in/ft 5 in; a file that calls the shorter side the length keeps its word
        ({"slope": 2, "slope_direction": "Length"}, {"fall_length": 9.6}),
        ({"slope": "1/4 in/ft", "slope_direction": "width"}, {"fall_width": 5}),
        ({"slope": 2, "slope_direction": "length", "length": 20, "width": 40}, {"fall_length": 4.8}),
        ({"slope": "-20 mm/m", "slope_direction": "length"}, {"fall_length": -9.6}),
        ({"slope": " "}, {}),
    ],
)
def test_a_slope_becomes_the_fall_that_the_sheet_has_a_cell_for(
    slope: dict[str, Any], cells: dict[str, float], tmp_path: Path
) -> None:
    drive, *others = DRIVE["area"]
    data = {**DRIVE, "area": [drive | slope, *others]}
    row = job_cells(data).areas[0]
    assert {key: value for key, value in row.items() if key.startswith("fall_")} == cells
    back, asked = read(plain_book(tmp_path, data)).areas[0].fall_m, parse_job(data).areas[0].fall_m
    assert back == (asked and pytest.approx(asked))


def records_for(job: Job) -> Mapping[str, Any]:
    records = demo_prices()
    return records_in(records, job.units)


@pytest.mark.parametrize("name", EXAMPLES)
@pytest.mark.parametrize("as_record", [False, True], ids=["mapping", "record"])
def test_a_quote_of_the_filled_workbook_is_the_quote_of_the_job(tmp_path: Path, name: str, as_record: bool) -> None:
    job = parse_job(EXAMPLES[name])
    path = write_template(
        tmp_path / "filled.xlsx", records_for(job), host="calc", job=job if as_record else EXAMPLES[name]
    )
    prices = load_prices(path)
    assert money(quote(read_job_sheets(path), prices)) == money(quote(job, prices))
    assert not job_sheet_problems(path)


def test_the_sheets_show_what_the_quote_of_the_file_says(tmp_path: Path) -> None:
    book, values = build_book(demo_prices(), "test", "us", demo_job("3-new-build"))
    path = tmp_path / "filled.xlsx"
    book.save(path)
    made = quote(read_job_sheets(path), load_prices(path))
    assert made.geogrid is not None
    shown = {name: named_value(book, values, name) for name in TOTALS}
    expected = (
        made.stone.total,
        made.geogrid.total,
        made.habit.total if made.habit else None,
        made.offer.total,
        made.offer.total,
    )
    assert [name for name, total in zip(TOTALS, expected, strict=True) if not same_money(shown[name], total)] == []


POSITIVE = st.floats(0.5, 60).map(lambda x: float(f"{x:.4g}"))


def l_shape(length: float, width: float, share: float) -> dict[str, Any]:
    inner = length * share
    corners = [[0, 0], [length, 0], [length, width], [inner, width], [inner, width * 2], [0, width * 2]]
    return {"shape": "polygon", "points": corners}


def by_area(length: float, width: float, share: float) -> dict[str, Any]:
    area = float(f"{length * width * share:.6g}")
    return {
        "shape": "measured",
        "area": area,
        "perimeter": float(f"{2.2 * (length + width) + 10:.9g}"),
        "length": length,
        "width": width,
    }


SHAPES = st.one_of(
    st.fixed_dictionaries({"shape": st.just("rectangle"), "length": POSITIVE, "width": POSITIVE}),
    st.fixed_dictionaries({"shape": st.just("triangle"), "base": POSITIVE, "height": POSITIVE}),
    st.fixed_dictionaries({"shape": st.just("circle"), "diameter": POSITIVE}),
    st.fixed_dictionaries(
        {"shape": st.just("trapezoid"), "height": POSITIVE,
         "parallel_sides": st.lists(POSITIVE, min_size=2, max_size=2)}
    ),
    st.builds(l_shape, POSITIVE, POSITIVE, st.floats(0.2, 0.8)),
    st.builds(by_area, POSITIVE, POSITIVE, st.floats(0.4, 1)),
)  # fmt: skip
READINGS = st.one_of(
    st.tuples(st.just("cone"), st.floats(5, 90).map(lambda x: round(x, 1))),
    st.tuples(st.just("walk"), st.sampled_from(["1 in", "20 mm", "2.25 in"])),
    st.tuples(st.just("shovel"), st.sampled_from(["easy", "moderate", "hard"])),
    st.tuples(st.just("vane"), st.sampled_from(["22 kPa", "40 kPa"])),
    st.tuples(st.just("spt"), st.integers(4, 40)),
)


@st.composite
def jobs(draw: st.DrawFn) -> Mapping[str, Any]:
    """Return the mapping of some job, US or metric."""
    units = draw(st.sampled_from(["us", "metric"]))
    areas, spots = [], []
    for at in range(draw(st.integers(1, 3))):
        area = draw(SHAPES) | {"name": f"area {at}", "soil": draw(st.sampled_from(["clay", "sand", "CH", "silt"]))}
        area["finish_above_ground"] = draw(st.sampled_from([0, -1, 0.5]))
        area["geotextile"] = draw(st.booleans())
        if draw(st.booleans()):
            area |= {"old_pavement": draw(st.sampled_from([2, 3.5])), "old_pavement_kind": "asphalt"}
        if draw(st.booleans()):
            area["edge_restraint"] = draw(st.floats(0, 80).map(lambda x: round(x, 2)))
        if draw(st.booleans()):
            area["strength"] = draw(st.sampled_from(["medium", "stiff", "hard", 2.1, 5]))
        else:
            readings = draw(st.lists(READINGS, min_size=1, max_size=3))
            said = [
                {"test": test, "reading": value, "moisture": draw(st.sampled_from(["", "wet", "dry"]))}
                for test, value in readings
            ]
            spots.append({"name": f"spot {at}", "area": area["name"], "readings": said})
        areas.append(area)
    head = {
        "number": "H-1", "client": "Any Client", "site": "Any Lane", "units": units,
        "date": draw(st.dates(dt.date(2000, 1, 1), dt.date(2090, 1, 1))),
        "traffic": draw(st.sampled_from(["light", "delivery"])), "new_build": draw(st.booleans()),
        "season": draw(st.sampled_from(["", "moist", "wet"])),
        "notes": draw(st.lists(st.sampled_from(["One.", "= two", "#3 gate"]), max_size=2)),
    }  # fmt: skip
    return {"job": head, "area": areas, "spot": spots}


def any_job(data: Mapping[str, Any]) -> Job | None:
    try:
        return parse_job(data)
    except BasecalcError:
        return None


@pytest.mark.parametrize(
    "shape",
    [
        {"shape": "triangle", "base": 60, "height": 1.06},
        {"shape": "triangle", "sides": [30, 30, 59.99]},
        {"shape": "trapezoid", "parallel_sides": [0.5, 60], "height": 1.05},
    ],
)
def test_a_sharp_corner_counts_as_many_right_angles_and_comes_back(tmp_path: Path, shape: dict[str, Any]) -> None:
    data = {**DRIVE, "area": [{"name": "Drive", **shape, "soil": "clay"}]}
    job = parse_job(data)
    assert job.areas[0].corners > 100
    for one in (data, job):
        folder = tmp_path / type(one).__name__
        folder.mkdir()
        assert_same(read(plain_book(folder, one)), job)


@settings(max_examples=20, deadline=None, phases=[Phase.explicit, Phase.reuse, Phase.generate])
@given(data=jobs(), as_record=st.booleans())
def test_any_job_comes_back_from_the_sheets(
    tmp_path_factory: pytest.TempPathFactory, data: Mapping[str, Any], as_record: bool
) -> None:
    job = any_job(data)
    if job is None:
        return  # sides that do not close, an outline too short: no job in either place
    folder = tmp_path_factory.mktemp("job")
    path = plain_book(folder, job if as_record else data)
    back = read(path)
    assert_same(back, job)
    if not as_record:
        assert back == job


@settings(max_examples=6, deadline=None, phases=[Phase.explicit, Phase.reuse, Phase.generate])
@given(data=jobs(), as_record=st.booleans())
def test_any_job_is_quoted_the_same_from_the_sheets(
    tmp_path_factory: pytest.TempPathFactory, data: Mapping[str, Any], as_record: bool
) -> None:
    job = any_job(data)
    if job is None:
        return
    folder = tmp_path_factory.mktemp("quote")
    path = write_template(folder / "filled.xlsx", records_for(job), host="calc", job=job if as_record else data)
    prices = load_prices(path)
    try:
        expected: Any = money(quote(job, prices))
    except BasecalcError as refusal:
        expected = refusal.sentence
    try:
        shown: Any = money(quote(read_job_sheets(path), prices))
    except BasecalcError as refusal:
        shown = refusal.sentence
    assert shown == expected


def put(sheet: str, heading: str, row: int, value: Any) -> Callable[[Workbook], None]:
    """Return a change that writes into a column of a table so many rows down, or beside a label of the card (row 0)."""

    def change(book: Workbook) -> None:
        cell = book[sheet][cell_of(book, sheet, heading, row)]
        cell.value = value
        if isinstance(value, str) and not value.startswith("#"):
            cell.data_type = "s"

    return change


WRONG: dict[str, tuple[str, str, int, Any, str]] = {
    "no number": ("Start", "quote number", 0, None, "quote number is missing; fill it in"),
    "number of a bad kind": ("Start", "quote number", 0, "a/b", "it starts file names, so it must be letters"),
    "no client": ("Start", "client", 0, " ", "client is missing"),
    "date as text": ("Start", "date", 0, "May", "date is 'May'; it must be a date such as 2025-04-30"),
    "no such season": ("Start", "ground on the day", 0, "damp", "ground on the day is 'damp'; it must be one of: dry"),
    "traffic gone": ("Start", "traffic", 0, None, "traffic is missing; fill it in"),
    "no such offer": ("Start", "offer", 0, "both", "offer is 'both'; it must be one of: stone, geogrid, cheaper"),
    "new build is a number": ("Start", "newly built plot", 0, 7, "newly built plot is 7; it must be one of: yes, no"),
    "error in the card": ("Start", "site", 0, "#N/A", "the cell shows #N/A; it must hold a value"),
    "no such shape": ("Areas", "shape", 1, "oval", "shape is 'oval'; it must be one of: rectangle, triangle"),
    "no shape": ("Areas", "shape", 1, None, "shape is missing"),
    "no width": ("Areas", "size 2", 1, None, "width is missing; a rectangle needs length and width"),
    "negative": ("Areas", "size 1", 1, -40, "length is -40 ft; it must be above 0"),
    "text": ("Areas", "size 1", 1, "long", "length is 'long'; it must be a number (ft)"),
    "huge": ("Areas", "size 2", 1, 1e9, "width is 1,000,000,000 ft; it must be above 0 and at most 3000 ft"),
    "error": ("Areas", "size 1", 1, "#DIV/0!", "the cell shows #DIV/0!; it must hold a value"),
    "a size too many": ("Areas", "size 3", 1, 12, "size 3 does not belong to a rectangle, which takes"),
    "one parallel side": ("Areas", "size 2", 2, None, "parallel sides has 1 sizes; it must have 2"),
    "a side too long": ("Areas", "size 1", 3, 300, "side is 91.44 m; it must be below"),
    "corners of a rectangle": ("Areas", "corners at", 1, "0 0; 1 0; 1 1", "points does not belong to a rectangle"),
    "corners that are none": ("Areas", "corners at", 1, "0 0 0; 1 1", "'0 0 0' is no corner"),
    "area of a rectangle": ("Areas", "measured area", 1, 800, "area does not belong to a rectangle"),
    "building too long": ("Areas", "along a building", 1, 500, "along a building is 500 ft (152.4 m); it must"),
    "open edge too long": ("Areas", "open edge", 1, 118, "open edge is 118 ft (35.9664 m); it must be at most"),
    "finish of no unit": ("Areas", "finish above ground", 1, "a bit", "finish above ground is 'a bit'; it must be"),
    "no such soil": ("Areas", "soil", 2, "marl", "soil is 'marl'; it must be one of"),
    "pavement without kind": ("Areas", "old pavement", 1, 3, "kind of it is missing"),
    "kind without pavement": ("Areas", "kind of it", 1, "gravel", "old pavement is missing"),
    "fill without width": ("Areas", "fill depth", 1, 12, "fill width is missing"),
    "geotextile maybe": ("Areas", "geotextile", 1, "maybe", "geotextile is 'maybe'; it must be one of: yes, no"),
    "strength of a read area": ("Areas", "strength by hand", 1, "soft", "strength by hand is given, but spot 'gate'"),
    "no strength and no reading": ("Areas", "strength by hand", 2, None, "nothing was read in area 'Bay'"),
    "no such strength": ("Areas", "strength by hand", 2, "so so", "strength by hand is 'so so'; it must be"),
    "a name twice": ("Areas", "area", 2, "drive", "duplicate name: area 1 already uses it"),
    "no name": ("Areas", "area", 1, None, "area is missing"),
    "no such test": ("Ground", "test", 1, "kick", "test is 'kick'; it must be one of"),
    "no reading": ("Ground", "reading", 1, None, "reading is missing"),
    "reading that fits no test": ("Ground", "reading", 1, "knee deep", "'knee deep'"),
    "negative reading": ("Ground", "reading", 1, -2, "-2"),
    "reading in error": ("Ground", "reading", 2, "#VALUE!", "the cell shows #VALUE!; it must hold a value"),
    "reading turned into a date": ("Ground", "reading", 1, dt.datetime(2026, 1, 2), "it must be a number or text"),
    "no such moisture": ("Ground", "moisture", 1, "damp", "moisture is 'damp'; it must be one of"),
    "no spot": ("Ground", "spot", 1, None, "spot is missing; name the place where this was read"),
    "no such area": ("Ground", "area", 3, "Yard", "area is 'Yard'; it must be one of: Drive, Bay, Turn"),
    "two areas of a spot": ("Ground", "area", 2, "Bay", "area is 'Bay', but 'Drive' in an earlier row of"),
}  # fmt: skip
# Complaints that belong beside the cell that was changed: the one that is missing, or the first of several.
ELSEWHERE = {
    "pavement without kind": ("Areas", "kind of it", 1), "kind without pavement": ("Areas", "old pavement", 1),
    "fill without width": ("Areas", "fill width", 1), "one parallel side": ("Areas", "size 1", 2),
}  # fmt: skip


@pytest.mark.parametrize("case", WRONG)
def test_what_is_wrong_is_told_with_its_sheet_and_cell(tmp_path: Path, case: str) -> None:
    sheet, heading, row, value, sentence = WRONG[case]
    path = plain_book(tmp_path, DRIVE, change=put(sheet, heading, row, value))
    page, label, down = ELSEWHERE.get(case, (sheet, heading, row))
    cell = cell_of(load_workbook(path), page, label, down)
    with pytest.raises((InputError, OutOfRangeError)) as refused:
        read_job_sheets(path)
    assert str(refused.value).startswith(f"{path}, sheet {page}, cell {cell}: "), str(refused.value)
    assert sentence in str(refused.value)
    assert "[[" not in str(refused.value)
    assert "[job]" not in str(refused.value)


def test_everything_wrong_is_told_at_once_each_with_its_cell(tmp_path: Path) -> None:
    def change(book: Workbook) -> None:
        for case in ("no client", "no such shape", "no such soil", "no such test", "negative reading"):
            put(*WRONG[case][:4])(book)
        put("Areas", "geotextile", 3, "maybe")(book)

    path = plain_book(tmp_path, DRIVE, change=change)
    found = [str(one) for one in job_sheet_problems(path)]
    assert len(found) >= 5
    assert all(re.match(re.escape(f"{path}, sheet ") + r"\w+, cell [A-Z]+\d+: ", one) for one in found), found
    assert len({one.split(": ")[0] for one in found}) == len(found)
    assert set(found) <= {str(one) for one in file_problems(path)}


def test_soil_missing_everywhere_is_told_in_words_of_the_sheets(tmp_path: Path) -> None:
    path = plain_book(tmp_path, DRIVE, change=put("Start", "soil dug", 0, None))
    with pytest.raises(
        InputError, match=r"sheet Areas, cell \w+: soil is missing; fill it in here or on the sheet Start"
    ):
        read_job_sheets(path)


def other_unit(book: Workbook) -> None:
    cell = book["Areas"][cell_of(book, "Areas", "size 1", 1)].offset(row=-1)
    cell.value = "size 1 [m]"


def test_a_heading_in_another_unit_is_refused_for_no_formula_follows_it(tmp_path: Path) -> None:
    path = plain_book(tmp_path, DRIVE, change=other_unit)
    with pytest.raises(InputError, match=r"cell C3: the heading of size 1 says \[m\]; it must say \[ft\]"):
        read_job_sheets(path)


def no_rows(book: Workbook) -> None:
    for sheet in ("Areas", "Ground"):
        for row in book[sheet].iter_rows(min_row=4):
            for cell in row:
                cell.value = None


def test_a_workbook_without_an_area_is_no_job_yet(tmp_path: Path) -> None:
    path = plain_book(tmp_path, DRIVE, change=no_rows)
    with pytest.raises(InputError, match="sheet Areas, cell A3: there is no area; fill in a row of the table"):
        read_job_sheets(path)
    assert job_sheet_problems(path, begun=True) == []
    assert file_problems(path) == []


@pytest.mark.parametrize("units", ["us", "metric"])
def test_a_new_workbook_waits_for_its_job_and_says_so(tmp_path: Path, units: str) -> None:
    path = write_template(tmp_path / "new.xlsm", units=units)
    told = [str(one) for one in job_sheet_problems(path)]
    assert any("sheet Start, cell B22: quote number is missing" in one for one in told)
    assert any("there is no area" in one for one in told)
    assert not job_sheet_problems(path, begun=True)


def shuffle(book: Workbook) -> None:
    """Add a column of the estimator's own, move tables to other sheets, and lose their names."""
    book["Ground"].insert_cols(3)
    book["Ground"]["C3"] = "who read it"
    for name in ("Readings",):
        del book["Ground"].tables[name]
    del book["Start"].tables["JobCard"]
    book.move_sheet("Areas", -4)
    book["Areas"].title = "My areas"


def test_tables_are_found_wherever_they_stand(tmp_path: Path) -> None:
    assert read(plain_book(tmp_path, DRIVE, change=shuffle)) == parse_job(DRIVE)


def test_rows_of_one_spot_may_stand_apart_and_below_the_table(tmp_path: Path) -> None:
    def change(book: Workbook) -> None:
        sheet: Worksheet = book["Ground"]
        for column, value in enumerate(["GATE ", None, "spt", 6], 1):
            sheet.cell(sheet.max_row + (column == 1), column).value = value

    spots = read(plain_book(tmp_path, DRIVE, change=change)).spots
    assert [(spot.name, len(spot.readings)) for spot in spots] == [("gate", 3), ("house", 1)]
    assert (spots[0].readings[2].test, spots[0].readings[2].value) == ("spt", 6)


def test_numbers_as_names_and_a_formula_in_a_cell_are_read_as_they_show(tmp_path: Path) -> None:
    def change(book: Workbook) -> None:
        for sheet, heading in (("Areas", "area"), ("Ground", "area")):
            for row in (1, 2, 3):
                cell = book[sheet][cell_of(book, sheet, heading, row)]
                cell.value = {"Drive": 1, "Bay": 2, "Turn": 3}.get(cell.value, cell.value)
        put("Start", "quote number", 0, 1042)(book)

    job = read(plain_book(tmp_path, DRIVE, change=change))
    assert job.number == "1042"
    assert [area.name for area in job.areas] == ["1", "2", "3"]
    assert {spot.area for spot in job.spots} == {"1"}


def test_a_formula_that_was_never_calculated_is_refused(tmp_path: Path) -> None:
    def change(book: Workbook) -> None:
        book["Areas"][cell_of(book, "Areas", "size 1", 1)].value = "=20*2"

    with pytest.raises(InputError, match=r"sheet Areas, cell C4: the formula '=20\*2' was never calculated"):
        read_job_sheets(plain_book(tmp_path, DRIVE, change=change))


def test_a_workbook_of_prices_alone_is_no_job(tmp_path: Path) -> None:
    path = plain_book(tmp_path, DRIVE)
    assert holds_job(path)
    book = load_workbook(path)
    del book["Ground"]
    book.save(path)
    assert not holds_job(path)
    assert not file_problems(path)
    with pytest.raises(InputError, match="there is no sheet 'Ground', which holds the table of readings"):
        read_job_sheets(path)
    assert not holds_job(tmp_path / "nowhere.xlsx")
    with pytest.raises(WorkbookError, match="there is no such file"):
        load_job(tmp_path / "nowhere.xlsx")


def test_the_old_and_the_filled_file_are_only_read(tmp_path: Path) -> None:
    path = plain_book(tmp_path, DRIVE)
    before = path.read_bytes()
    read_job_sheets(path)
    job_sheet_problems(path)
    assert path.read_bytes() == before


@pytest.mark.parametrize("as_record", [False, True])
def test_what_the_sheets_have_no_place_for_is_refused(as_record: bool, monkeypatch: pytest.MonkeyPatch) -> None:
    """There is a place for all of a job today; a key that comes later must not be lost on the way."""
    data = tomllib.loads(US_FILE)
    data["area"][0]["water_table"] = 40
    assert job_cells(data).areas[0]["water_table"] == 40
    columns = {key: column for key, column in job_cells_room._AREA_COLUMNS.items() if key != "water_table"}
    monkeypatch.setattr(job_cells_room, "_AREA_COLUMNS", columns)
    with pytest.raises(
        InputError, match=r"has 'water table', for which the sheets of the estimating workbook have no place"
    ):
        job_cells(parse_job(data) if as_record else data)


def test_a_cone_log_comes_over_row_by_row(tmp_path: Path) -> None:
    (tmp_path / "logs").mkdir()
    rows = "\n".join(f"{blow},{30 * blow}" for blow in range(12))
    (tmp_path / "logs" / "a.csv").write_text(f"blows,depth [mm]\n{rows}\n", "utf-8")
    text = US_FILE + '\n[[spot]]\nname = "log"\narea = "Drive"\nlog = "logs/a.csv"\nlog_blows = "total"\n'
    (tmp_path / "job.toml").write_text(text, "utf-8")
    job = load_job_file(tmp_path / "job.toml")
    path = write_template(tmp_path / "filled.xlsx", demo_prices(), host="calc", job=job)
    back, prices = read_job_sheets(path), load_prices(path)
    assert [len(spot.readings) for spot in back.spots] == [len(spot.readings) for spot in job.spots]
    assert back.spots[-1].readings[0].value == job.spots[-1].readings[0].value
    assert "(log kept with the job)" in back.spots[-1].readings[0].told
    assert len(back.spots[-1].drops[0].profile.drop.rows) == 12
    assert money(quote(back, prices)) == money(quote(job, prices))


def test_a_filled_workbook_fills_the_next_one(tmp_path: Path) -> None:
    first = write_template(tmp_path / "one.xlsx", demo_prices(), host="calc", job=demo_job("3-new-build"))
    second = write_template(tmp_path / "two.xlsm", demo_prices(), job=load_job(first))
    assert_same(read(second), read(first))


@pytest.mark.parametrize("name", EXAMPLES)
def test_a_job_fills_the_cells_that_the_mapping_it_was_read_from_fills(name: str) -> None:
    assert job_cells(parse_job(EXAMPLES[name])) == job_cells(EXAMPLES[name])


def test_a_batch_takes_job_files_and_filled_workbooks(tmp_path: Path) -> None:
    folder = tmp_path / "jobs"
    folder.mkdir()
    plain_book(folder, DRIVE, "b.xlsx")
    write_template(folder / "c.xlsm", demo_prices(), job=demo_job("2-soft-ground"))
    (folder / "a.toml").write_text(FILES["1-firm-ground.toml"], "utf-8")
    (folder / "~$c.xlsm").write_bytes(b"held open")
    (folder / "not-ours.xlsx").write_bytes(b"nothing")
    found = job_files([folder])
    assert [path.name for path in found] == ["a.toml", "b.xlsx", "c.xlsm"]
    with pytest.raises(
        InputError, match=r"a\.toml: a job file has no prices; name the owner's price workbook with --prices"
    ):
        list(quote_files(found, None, tmp_path / "out"))
    assert not (tmp_path / "out").exists()
    own = list(quote_files([folder / "c.xlsm"], None, tmp_path / "out"))
    given_prices = list(quote_files([folder / "a.toml", folder / "c.xlsm"], folder / "c.xlsm", tmp_path / "out"))
    assert [outcome.refusal for outcome in own + given_prices] == ["", "", ""]
    assert own[0].quote is not None
    assert own[0].quote.offer.total == given_prices[1].quote.offer.total  # type: ignore[union-attr]
    refused = next(iter(quote_files([folder / "b.xlsx"], None, tmp_path / "out")))
    assert "there is no price for 'old-pavement'" in refused.refusal


@pytest.mark.libreoffice
def test_a_filled_workbook_saved_by_libreoffice_is_the_same_job(tmp_path: Path) -> None:
    program = libreoffice()
    path = write_template(tmp_path / "filled.xlsx", demo_prices(), host="calc", job=DRIVE)
    for _ in range(2):  # a fresh profile may end the first start without doing anything
        subprocess.run(
            [program, f"-env:UserInstallation=file://{tmp_path}/profile", "--headless", "--convert-to", "xlsx",
             "--outdir", str(tmp_path / "saved"), str(path)],
            check=False, capture_output=True, timeout=120,
        )  # fmt: skip
        if (tmp_path / "saved" / path.name).exists():
            break
    saved = tmp_path / "saved" / path.name
    assert read(saved) == parse_job(DRIVE)
    assert load_prices(saved).company == load_prices(path).company
    assert not [one for one in carry_over(saved).left_behind if "sheet Company" in one or "sheet Prices" in one]
