"""Cone logs on a sheet of the estimating workbook: the same log, the same quote, every fault with its cell."""

import json
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from basecalc.estimating.other_edition import records_in
from basecalc.estimating.read_log import read_log_sheet
from basecalc.estimating.tables import COUNTING, LOG
from estimating_kit import REFUSED, TOTALS, demo_prices, library, named_value, same_money, typed
from job_books import cell_of, plain_book
from libreoffice import Calc
from log_corpus import PLAIN
from openpyxl import load_workbook
from openpyxl.workbook import Workbook
from test_filled_job import money
from test_log_job import JOB
from twin_book import TwinBook, differences, loud
from workbook_engine import ERROR, Engine

from basecalc.core.errors import BasecalcError, InputError
from basecalc.estimating.build import build_book
from basecalc.estimating.read_job import job_sheet_problems, read_job_sheets
from basecalc.estimating.template import write_template
from basecalc.formulas.functions import FUNCTIONS
from basecalc.ground.cone_layers import designs
from basecalc.ground.cone_log import LOG_FIELDS
from basecalc.ground.cone_log_file import read_cone_log
from basecalc.ground_report import log_numbers
from basecalc.job import load_job, parse_job
from basecalc.pricing.prices import load_prices
from basecalc.pricing.quote import quote

EXAMPLE = (Path(__file__).parent.parent / "examples" / "cone-log.csv").read_text("utf-8")
CALL = {function.name: function for function in FUNCTIONS}
WRONG: dict[str, Any] = {"blank": None, "text": "abc", "negative": -3, "huge": 1e9, "error": "=1/0"}
# Logs as they are kept, each a job's key and a file: all in one place, so that none is easier than another.
LOGS = {
    "plain": ("", PLAIN),
    "drops, stones, a ruler": ("", EXAMPLE),
    "one drop, with the bottom of the base": ('log_drop = "gate"\nbase_bottom = 8', EXAMPLE),
    "totals in inches": ("", "total blows,depth in\n0,1\n5,2\n10,3\n15,4.5\n17,6.25\n19,8\n21,9.5\n"),
    "depths per step": ("", "blows per step,penetration per step mm\n5,25\n5,30\n5,25\n2,40\n2,45\n2,40\n"),
    "the light hammer, a soil below": (
        "", "blows per step,depth mm,hammer kg,soil\n0,10,4.6,\n5,35,4.6,\n5,60,,\n5,85,,\n2,125,8,CL\n2,165,,CL\n"),
}  # fmt: skip


def log_job(folder: Path, name: str, units: str = "us") -> Path:
    keys, log = LOGS[name]
    (folder / "gate.csv").write_text(log, "utf-8")
    text = JOB.replace('"us"', f'"{units}"')
    if units == "metric":
        keys = keys.replace("= 8", "= 200")
        text = text.replace("length = 40\nwidth = 20", "length = 12\nwidth = 6")
    file = folder / "drive.toml"
    file.write_text(f'{text}log = "gate.csv"\n{keys}\n', "utf-8")
    return file


def filled(folder: Path, name: str, units: str = "us", host: str = "test") -> tuple[Path, Path]:
    """Return a job file with a log and the workbook that it fills."""
    file = log_job(folder, name, units)
    records = records_in(demo_prices(), units)
    path = folder / f"filled-{host}.xlsx"
    write_template(path, records, host=host, units=units, job=load_job(file), area_rows=3, reading_rows=4)
    return file, path


@pytest.mark.parametrize("units", ["us", "metric"])
@pytest.mark.parametrize("name", LOGS)
def test_a_log_on_the_sheet_is_quoted_as_the_job_file_with_its_log(tmp_path: Path, name: str, units: str) -> None:
    file, path = filled(tmp_path, name, units)
    job, back = load_job(file), read_job_sheets(path)
    for own, other in zip(job.spots, back.spots, strict=True):
        said = [
            [(one.test, one.value, one.moisture, one.soil) for one in spot.readings] for spot in (own, other)
        ]  # fmt: skip
        assert said[0] == said[1]
        for first, second in zip(own.drops, other.drops, strict=True):
            assert [(one.mm_per_blow, one.cbr) for one in first.profile.layers] == [
                (one.mm_per_blow, one.cbr) for one in second.profile.layers
            ]
            assert first.zone_m == pytest.approx(second.zone_m)
    prices = load_prices(path)
    made = quote(job, prices)
    assert money(quote(back, prices)) == money(made)
    values = load_workbook(path, data_only=True)
    sheet, cell = values.defined_names["OfferedTotal"].attr_text.replace("'", "").replace("$", "").split("!")
    assert same_money(values[sheet][cell].value, made.offer.total)


@pytest.mark.parametrize("name", LOGS)
def test_dcp_reads_the_sheet_as_it_reads_the_file(tmp_path: Path, name: str) -> None:
    file, path = filled(tmp_path, name)
    log = read_cone_log(tmp_path / "gate.csv")
    bottom = load_job(file).spots[0].base_bottom_m
    own = log_numbers(log, designs(log, "clay", bottom))["drops"]
    wanted = LOGS[name][0]
    sheet = log_numbers(*read_log_sheet(path))
    other = sheet["drops"]
    if "log_drop" in wanted:
        own = [drop for drop in own if drop["drop"] == "gate"]
    assert sheet["file"] == f"{path}, sheet Cone log"
    assert [one["drop"] for one in other] == [f"gate, {one['drop']}" if one["drop"] else "gate" for one in own]
    for first, second in zip(own, other, strict=True):
        assert [one["mm_per_blow"] for one in first["readings"]] == [one["mm_per_blow"] for one in second["readings"]]
        assert first["design_cbr_percent"] == second["design_cbr_percent"]
        assert first["depth_mm"] == second["depth_mm"]
        assert [(one["cbr_percent"], one["to_mm"], one["design"]) for one in first["layers"]] == [
            (one["cbr_percent"], one["to_mm"], one["design"]) for one in second["layers"]
        ]


def basecalc(*arguments: str) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "basecalc", *arguments]
    return subprocess.run(command, check=False, capture_output=True, text=True, timeout=120)


def test_the_command_prints_the_sheet_and_refuses_what_the_sheet_says_itself(tmp_path: Path) -> None:
    _, path = filled(tmp_path, "drops, stones, a ruler")
    printed = basecalc("dcp", str(path))
    assert printed.returncode == 0, printed.stderr
    assert "Drop gate, gate: 30 in deep" in printed.stdout
    assert "Weakest of the 2 drops: gate, gate, CBR 1.8 %" in printed.stdout
    assert json.loads(basecalc("dcp", str(path), "--json").stdout)["drops"][1]["drop"] == "gate, ditch"
    refused = basecalc("dcp", str(path), "--unit", "mm")
    assert refused.returncode == 2
    assert refused.stderr.startswith(f"basecalc: {path}: --unit is given; it must be left out")


def changed(folder: Path, name: str, change: Callable[[Workbook], None]) -> Path:
    return plain_book(folder, load_job(log_job(folder, name)), change=change)


def test_blows_and_depths_may_be_counted_the_other_way(tmp_path: Path) -> None:
    def other_way(book: Workbook) -> None:
        sheet = book[LOG.sheet]
        sheet[cell_of(book, LOG.sheet, "blows", 0)] = "total"
        sheet[cell_of(book, LOG.sheet, "depths", 0)] = "per step"
        blows, deep = 0.0, 0.0
        for row in range(9, sheet.max_row + 1):
            blows += sheet.cell(row, 5).value
            sheet.cell(row, 4).value, deep = sheet.cell(row, 4).value - deep, sheet.cell(row, 4).value
            sheet.cell(row, 5).value = blows

    path = changed(tmp_path, "plain", other_way)
    assert [one.value for one in read_job_sheets(path).spots[0].readings] == [20]
    assert read_log_sheet(path)[1][0].layer.mm_per_blow == 20


# What stands in a cell of the third reading (row 11 of the sheet), and what is said of it.
REFUSALS: dict[str, tuple[str, int, Any, str]] = {
    "no depth": ("depth", 3, None, "depth is missing"),
    "depth in words": ("depth", 3, "deep", "'deep'"),
    "depth below nothing": ("depth", 3, -3, "depth is -3 in; it must be at least 0 in"),
    "far too deep": ("depth", 3, 1e9, "the depth is 2.54e+10 mm; it must be at most 3000 mm"),
    "depth that goes back": ("depth", 3, 0.5, "the depth goes back by 12.3 mm"),
    "depth of time": ("depth", 3, "3 s", "'3 s'"),
    "no blows": ("blows", 3, None, "blows is missing"),
    "half a blow": ("blows", 3, 2.5, "blows is 2.5; it must be a whole number of blows"),
    "blows in words": ("blows", 3, "five", "'five'"),
    "too many blows": ("blows", 3, 1e9, "blows is 1,000,000,000; it must be from 0 to 10,000"),
    "a blow less": ("blows", 3, -1, "blows is -1; it must be from 0 to 10,000"),
    "no blow at all": ("blows", 3, 0, "the cone went 25 mm deeper with no blow"),
    "blows in error": ("blows", 3, "#DIV/0!", "the cell shows #DIV/0!; it must hold a value"),
    "another hammer": ("hammer", 3, "10 kg", "hammer is '10 kg'; it must be one of: 8 kg, 4.6 kg"),
    "no such soil": ("soil", 3, "chalk", "soil is 'chalk'"),
    "no spot": ("spot", 1, None, "spot is missing; the first row must name the place"),
    "no such area": ("area", 1, "Yard", "area is 'Yard'; it must be one of: Drive"),
    "another area": ("area", 3, "Yard", "area is 'Yard', but 'Drive' in an earlier row of the spot 'gate'"),
    "base below the log": ("bottom of base", 1, 30, "the log ends 10.2 in deep, above the bottom of the base"),
    "two bottoms": ("bottom of base", 3, 30, "bottom of base is 30, but 3 in an earlier row"),
    "base in words": ("bottom of base", 1, "low", "'low'"),
    "counted how": ("blows", 0, "some", "log blows is 'some'; it must be one of: per step, total"),
    "counted not": ("depths", 0, None, "depths is missing; it must be per step or total"),
    "counted wrongly": ("blows", 0, "total", "the cone went 25 mm deeper with no blow more"),
}


def place_of(heading: str, row: int) -> str:
    """Return the cell of a row of the log in a plain book, whose headings stand in row 8."""
    return f"{'ABCDEFGHI'[[column.name for column in LOG.columns].index(heading)]}{8 + row}"


@pytest.mark.parametrize("name", REFUSALS)
def test_every_fault_on_the_sheet_names_its_cell(tmp_path: Path, name: str) -> None:
    heading, row, value, told = REFUSALS[name]
    cells = []

    def spoil(book: Workbook) -> None:
        cells.append(place_of(heading, row) if row else cell_of(book, LOG.sheet, heading, 0))
        if name == "two bottoms":
            typed(book, LOG.sheet, place_of(heading, 1), 3)
        typed(book, LOG.sheet, cells[0], value)

    path = changed(tmp_path, "plain", spoil)
    if name == "far too deep":
        told = "the depth goes back by"  # the next one does
    if name == "counted wrongly":
        cells[0] = place_of("blows", 3)
    readers = (read_log_sheet,) if name == "no such area" else (read_job_sheets, read_log_sheet)  # nothing read there
    for refuse in readers:
        with pytest.raises(BasecalcError) as refused:
            refuse(path)
        line = str(refused.value)
        assert told in line
        assert "\n" not in line
        if name not in ("far too deep",):
            assert line.startswith(f"{path}, sheet Cone log, cell {cells[0]}: "), line
    assert any(told in str(problem) for problem in job_sheet_problems(path))


def test_a_workbook_made_before_there_was_such_a_sheet_is_read_as_before(tmp_path: Path) -> None:
    path = write_template(tmp_path / "old.xlsx", demo_prices(), host="test", job=BY_HAND, area_rows=2, reading_rows=2)
    book = load_workbook(path)
    del book[LOG.sheet]
    book.save(path)
    assert read_job_sheets(path).areas[0].strength is not None
    with pytest.raises(InputError, match="sheet Cone log: there is no row; fill in spot, depth and blows"):
        read_log_sheet(path)


def test_a_job_may_hold_the_rows_of_a_log_itself() -> None:
    rows = [{"depth": 1.0, "blows": 0}, *({"depth": 1 + 2.0 * count, "blows": 5} for count in range(1, 6))]
    spot = {"name": "gate", "log_rows": rows}
    job = parse_job({**BY_HAND, "area": [{**BY_HAND["area"][0], "strength": None}], "spot": [spot]})
    assert [(one.test, one.value) for one in job.spots[0].readings] == [("cone", 10.16)]
    beside = {"log_rows": rows, "log": "gate.csv"}
    for more, told in (
        (beside, "log goes with the file of a log"),
        ({"log_rows": rows[:1]}, "row 1: the drop has one"),
    ):
        with pytest.raises(InputError, match=told):
            parse_job({**BY_HAND, "area": [{**BY_HAND["area"][0], "strength": None}], "spot": [{**spot, **more}]})


BY_HAND: dict[str, Any] = {
    "job": {"number": "Q-1", "client": "Any Client", "site": "Any Lane 1", "soil": "clay"},
    "area": [{"name": "Drive", "shape": "rectangle", "length": 40, "width": 20, "strength": "soft"}],
}

# ---- the live sheets


def live_book(folder: Path) -> Workbook:
    file = log_job(folder, "plain")
    book, values = build_book(
        demo_prices(), "test", "us", load_job(file), area_rows=1, reading_rows=1, log_rows=len(PLAIN.splitlines())
    )
    assert named_value(book, values, "LogDrops") == 1
    return book


def test_wrong_input_in_any_cell_of_a_log_never_ends_in_a_number_that_looks_fine(tmp_path: Path) -> None:
    book = live_book(tmp_path)
    book.save(tmp_path / "engine.xlsx")
    engine = Engine(tmp_path / "engine.xlsx")
    right = {name: engine.named(name) for name in TOTALS}
    assert same_money(right["TotalStone"], library(book, tmp_path / "library.xlsx")["TotalStone"])
    sheet = book[LOG.sheet]
    filled_in = [
        cell.coordinate
        for row in sheet.iter_rows(max_col=len(LOG_FIELDS))
        for cell in row
        if cell.style == "basecalc input" and cell.value is not None and cell.row > 3
    ]
    assert len(filled_in) == len(COUNTING) + 1 + 9 * 3  # how it is counted; an area; spot, depth and blows of each row
    # the seating reading, the first two below it, and the last
    tried = [cell for cell in filled_in if int(cell[1:]) < 14 or int(cell[1:]) == 19]
    fine = []
    for cell in tried:
        before = sheet[cell].value
        for kind, value in WRONG.items():
            engine.set(LOG.sheet, cell, value)
            engine.recalculate()
            shown = {name: engine.named(name) for name in TOTALS}
            engine.set(LOG.sheet, cell, before)
            if all(shown[name] == right[name] or ERROR.match(str(shown[name])) for name in TOTALS):
                continue
            typed(book, LOG.sheet, cell, "#DIV/0!" if kind == "error" else value)
            expected = library(book, tmp_path / "library.xlsx")
            sheet[cell].data_type = "n"
            typed(book, LOG.sheet, cell, before)
            if REFUSED in expected or not all(same_money(shown[name], expected[name]) for name in TOTALS):
                fine.append((cell, kind, shown, expected))
    assert fine == []
    engine.recalculate()
    assert {name: engine.named(name) for name in TOTALS} == right


def test_the_sheet_says_which_row_is_wrong_and_that_the_others_wait(tmp_path: Path) -> None:
    book = live_book(tmp_path)
    book.save(tmp_path / "engine.xlsx")
    engine = Engine(tmp_path / "engine.xlsx")
    assert engine.cell(LOG.sheet, "J11") == "the start of the drop"
    assert engine.cell(LOG.sheet, "J12") == "5 mm a blow, CBR 48.1 %"
    for cell, value in (("A7", "gate"), ("C7", "walk"), ("D7", 2.0)):
        engine.set("Ground", cell, value)
    engine.set(LOG.sheet, "E13", "many")
    engine.recalculate()
    assert engine.cell("Ground", "H7") == "waits for the sheet Cone log"
    assert str(engine.cell(LOG.sheet, "J13")).startswith("#row: blows")
    assert engine.cell(LOG.sheet, "J12") == "waits for row 3 of this table"
    assert engine.cell(LOG.sheet, "J20") == ""
    assert str(engine.cell(LOG.sheet, "A4")).startswith("REFUSED: Cone log: a row is refused")


def test_the_picture_is_drawn_from_the_layers_and_readings_of_the_drop_asked_for(tmp_path: Path) -> None:
    _, path = filled(tmp_path, "drops, stones, a ruler")
    book = load_workbook(path)
    assert len(book[LOG.sheet]._charts) == 1
    values = load_workbook(path, data_only=True)[LOG.sheet]
    (_, drops) = read_log_sheet(path)
    layers = drops[0].profile.layers
    corners = [(layer.cbr, end / 0.0254) for layer in layers for end in (layer.top_m, layer.bottom_m)]
    drawn = [(values.cell(11 + at, 18).value, values.cell(11 + at, 19).value) for at in range(24)]
    assert drawn[: len(corners)] == [pytest.approx(corner) for corner in corners]
    assert set(drawn[len(corners) :]) == {drawn[len(corners) - 2], drawn[len(corners) - 1]}
    steps = drops[0].profile.drop.steps
    dots = [(values.cell(11 + at, 20).value, values.cell(11 + at, 21).value) for at in range(60)]
    wanted = zip(drops[0].profile.step_cbrs, steps, strict=True)
    assert dots[: len(steps)] == [pytest.approx((cbr, (one.top_m + one.bottom_m) / 2 / 0.0254)) for cbr, one in wanted]
    assert set(dots[len(steps) :]) == {dots[len(steps) - 1]}


def test_an_empty_sheet_draws_nothing_and_stops_no_total(tmp_path: Path) -> None:
    book, values = build_book(demo_prices(), "test", "us", BY_HAND, area_rows=1, reading_rows=1, log_rows=2)
    assert named_value(book, values, "LogDrops") == 0
    assert isinstance(named_value(book, values, "OfferedTotal"), float)
    assert {values[LOG.sheet][f"R{row}"] for row in range(11, 35)} == {"#N/A"}
    assert book[LOG.sheet].print_area.split("!")[1] == "$A$1:$P$12"  # what is drawn from is not printed
    book.save(tmp_path / "empty.xlsx")
    assert read_job_sheets(tmp_path / "empty.xlsx").spots == ()


AREAS = ([["Drive"], ["Bay"]], [["clay"], [""]], "sand")


def test_a_spot_stands_for_one_area_and_takes_its_soil() -> None:
    rows = [
        ["gate", "Drive", "", 0, 0, "", "", "", ""],
        *([["", "", "", 2.0 * at, 2, "", "", "", ""] for at in (1, 2)]),
    ]
    more = [["bay", "Bay", *row[2:]] for row in rows]
    line = CALL["CONE_LOG"](rows + more, "per step", "total", *AREAS)
    values = [[CALL["CONE_LOG_VALUE"](line, drop, what) for what in ("spot", "index", "cbr")] for drop in (1, 2)]
    assert values[0][:2] == ["gate", 25.4]
    assert values[1][:2] == ["bay", 25.4]
    assert values[0][2] < values[1][2]  # clay takes the curve of clay
    site = CALL["SITE_READINGS"]([[""] * 6], *AREAS[:2], "wet", AREAS[2], "yes", "us", line)
    assert CALL["SPOT_STRENGTH"]("bay", site) == pytest.approx(values[1][2])
    both = CALL["CONE_LOG"]([*rows, ["", "Bay", "", 6.0, 2, "", "", "", ""]], "per step", "total", *AREAS)
    assert both == "#log_rows, row 4: area is 'Bay', but 'Drive' above; a spot stands for one area"
    nowhere = CALL["CONE_LOG"]([["gate", "", *row[2:]] for row in rows], "per step", "total", *AREAS)
    assert str(nowhere).startswith("#log_rows, row 1: area of a reading is")
    again = CALL["CONE_LOG"](rows + more + rows, "per step", "total", *AREAS)
    assert str(again).startswith("#log_rows, row 7: spot 'gate' starts again behind another one")


@pytest.mark.libreoffice
def test_a_log_on_the_sheet_lives_in_libreoffice(tmp_path: Path, calc: Calc) -> None:
    _, path = filled(tmp_path, "plain", host="calc")
    book = TwinBook(calc, path, tmp_path / "copy.xlsx")
    assert differences(book.shown(), book.answer()) == []
    before = book.shown()["TotalStone"]
    deep = book.cell(LOG.name, 9, "depth")
    book.edit([(*deep, 12.0)])  # the last reading, and with it the layer
    assert differences(book.shown(), book.answer()) == []
    assert book.shown()["TotalStone"] != before
    book.edit([(*book.cell(LOG.name, 10, "depth"), 14.5), (*book.cell(LOG.name, 10, "blows"), 2.0)])  # a row more
    assert differences(book.shown(), book.answer()) == []
    for value in ("deep", -3.0, 1e9, "=1/0", ""):
        book.edit([(*deep, value)])
        assert loud(book.shown())
        assert isinstance(book.answer(), BasecalcError)
    book.edit([(*deep, 12.0)])
    assert differences(book.shown(), book.answer()) == []
