"""Water table, frost and the design winter on the sheets: the same job, the same quote, bad cells named."""

from pathlib import Path
from typing import Any

import pytest
from addin_examples import SETTINGS
from basecalc.estimating.other_edition import records_in
from basecalc.estimating.tables import AREAS
from estimating_kit import demo_prices, named_value, same_money
from job_books import cell_of, plain_book
from openpyxl import load_workbook
from openpyxl.workbook import Workbook
from test_filled_job import money
from workbook_engine import ERROR, Engine

from basecalc.core.errors import BasecalcError
from basecalc.estimating.build import build_book
from basecalc.estimating.read_job import read_job_sheets
from basecalc.formulas.functions import FUNCTIONS
from basecalc.job import Job, parse_job
from basecalc.pricing.prices import load_prices
from basecalc.pricing.quote import quote

CALL = {function.name: function for function in FUNCTIONS}
AREAS_US: list[dict[str, Any]] = [
    {"name": "Drive", "shape": "rectangle", "length": 40, "width": 20, "strength": 12, "soil": "sand",
     "water_table": 36, "frost": {"fines_below_20_microns": "18 %", "dry_density": "110 pcf", "water_content": 12}},
    {"name": "Bay", "shape": "rectangle", "length": 30, "width": 10, "soil": "clay", "strength": 9,
     "frost": {"plasticity_index": 9}},
    {"name": "Turn", "shape": "circle", "diameter": 30, "strength": 20, "soil": "gravel", "water_table": "1 ft",
     "frost": {"group": "F2"}},
]  # fmt: skip
AREAS_METRIC: list[dict[str, Any]] = [
    {**AREAS_US[0], "length": 12, "width": 6, "water_table": 900,
     "frost": {"fines_below_20_microns": 18, "dry_density": 1760, "water_content": 12}},
    {**AREAS_US[1], "length": 9, "width": 3},
    {**AREAS_US[2], "diameter": 9},
]  # fmt: skip


def frost_job(units: str) -> dict[str, Any]:
    winter = (400, 7.5) if units == "metric" else (800, 46)
    climate = {"freezing_index": winter[0], "mean_annual_temperature": winter[1], "freezing_season": 90}
    return {
        "job": {"number": "Q-1", "client": "Any Client", "site": "Any Lane 1", "units": units, "traffic": "heavy",
                "climate": climate},
        "area": AREAS_METRIC if units == "metric" else AREAS_US,
    }  # fmt: skip


def records(units: str) -> dict[str, Any]:
    made = dict(records_in(demo_prices(), units))
    made["settings"] = {**made["settings"], "checks.frost": "yes"}
    return made


def frost_book(units: str, job: Any) -> tuple[Workbook, dict[str, dict[str, Any]]]:
    return build_book(records(units), "test", units, job, area_rows=3, reading_rows=1, log_rows=1)


@pytest.mark.parametrize("units", ["us", "metric"])
@pytest.mark.parametrize("record", [False, True])
def test_frost_water_and_winter_come_over_and_the_sheets_show_the_price_of_the_quote(
    tmp_path: Path, units: str, record: bool
) -> None:
    job = parse_job(frost_job(units))
    book, values = frost_book(units, job if record else frost_job(units))
    book.save(tmp_path / "filled.xlsx")
    back = read_job_sheets(tmp_path / "filled.xlsx")
    prices = load_prices(tmp_path / "filled.xlsx")
    for own, other in zip(job.areas, back.areas, strict=True):
        assert own.water_table_m == pytest.approx(other.water_table_m)
        assert own.frost is not None
        assert other.frost is not None
        assert own.frost.group == other.frost.group
        for name in ("fines_percent", "plasticity_index", "dry_density_pcf", "water_percent"):
            assert getattr(own.frost, name) == pytest.approx(getattr(other.frost, name))
    assert job.climate is not None
    assert back.climate is not None
    assert back.climate.mean_annual_f == pytest.approx(job.climate.mean_annual_f)
    assert back.climate.freezing_index == pytest.approx(job.climate.freezing_index)
    made, again = quote(job, prices), quote(back, prices)
    assert "frost" in {depth.governs for depth in made.depths.values()}
    assert money(again) == money(made)
    assert {name: ground.flags for name, ground in again.ground.items()} == {
        name: ground.flags for name, ground in made.ground.items()
    }
    assert same_money(named_value(book, values, "OfferedTotal"), made.offer.total)


def with_cell(folder: Path, heading: str, row: int, value: Any, sheet: str = AREAS.sheet) -> tuple[Path, str]:
    found = []

    def change(book: Workbook) -> None:
        found.append(cell_of(book, sheet, heading, row))
        book[sheet][found[0]] = value

    return plain_book(folder, frost_job("us"), change=change), f"sheet {sheet}, cell {found[0]}: "


@pytest.mark.parametrize(
    ("heading", "row", "value", "told", "sheet"),
    [
        ("water table", 1, -1, "water table is -1 in; it must be from 0 to 600 in", "Areas"),
        ("water table", 1, "wet", "'wet'", "Areas"),
        ("frost group", 3, "F9", "group is 'F9'; it must be one of", "Areas"),
        ("finer than 0.02 mm", 1, 118, "finer than 0.02 mm is 118 %; it must be from 0 to 100 %", "Areas"),
        ("plasticity", 2, "high", "'high'", "Areas"),
        ("dry weight", 1, 5, "dry weight is 5 pcf; it must be from 50 to 160 pcf", "Areas"),
        ("water content", 1, 0, "water content is 0 %; it must be from 1 to 100 %", "Areas"),
        ("freezing index", 0, -5, "freezing index is -5", "Start"),
        ("mean annual temperature", 0, None, "mean annual temperature is missing", "Start"),
        ("freezing season", 0, "long", "freezing season is 'long'", "Start"),
    ],
)
def test_a_bad_cell_is_named(tmp_path: Path, heading: str, row: int, value: Any, told: str, sheet: str) -> None:
    path, place = with_cell(tmp_path, heading, row, value, sheet)
    with pytest.raises(BasecalcError) as refused:
        read_job_sheets(path)
    assert place in str(refused.value)
    assert told in str(refused.value)


def test_a_workbook_without_these_columns_is_read_as_before(tmp_path: Path) -> None:
    labels = {column.name for column in AREAS.columns if column.optional}

    def earlier(book: Workbook) -> None:
        sheet = book[AREAS.sheet]
        sheet.tables.clear()
        for at in range(sheet.max_column, 0, -1):
            if str(sheet.cell(3, at).value).split(" [")[0] in labels:
                sheet.delete_cols(at)

    plain = {**frost_job("us"), "area": [{**area, "water_table": None, "frost": None} for area in AREAS_US]}
    path = plain_book(tmp_path, plain, change=earlier)
    assert not labels & {str(cell.value).split(" [")[0] for cell in load_workbook(path)[AREAS.sheet][3]}
    back: Job = read_job_sheets(path)
    assert [area.frost for area in back.areas] == [None] * 3


def test_the_sheets_refuse_what_the_quote_refuses(tmp_path: Path) -> None:
    book, _ = frost_book("us", frost_job("us"))
    book.save(tmp_path / "engine.xlsx")
    engine = Engine(tmp_path / "engine.xlsx")
    right = engine.named("OfferedTotal")
    for heading, row, value in (
        ("finer than 0.02 mm", 1, "fine"), ("finer than 0.02 mm", 1, 1e9), ("finer than 0.02 mm", 1, "=1/0"),
        ("plasticity", 2, -3), ("frost group", 3, "F9"), ("water table", 1, -3), ("dry weight", 1, "heavy"),
    ):  # fmt: skip
        cell = cell_of(book, AREAS.sheet, heading, row)
        before = book[AREAS.sheet][cell].value
        engine.set(AREAS.sheet, cell, value)
        engine.recalculate()
        assert ERROR.match(str(engine.named("OfferedTotal"))), (heading, value)
        engine.set(AREAS.sheet, cell, before)
    engine.recalculate()
    assert engine.named("OfferedTotal") == right


def test_a_frost_group_stands_for_the_soil_that_has_it() -> None:
    settings = [*SETTINGS, ("count the frost check", "yes", "")]
    design = CALL["DESIGN_SETTINGS"](settings, 2.375, "in")
    heavy = CALL["TRAFFIC_LEVEL"]("heavy")
    depths = [CALL["DESIGN_DEPTH"](12, heavy, design, said) for said in ("silt", "F4", "f4", "NFS")]
    assert depths[0] == depths[1] == depths[2] > depths[3]
