"""The office's sheet What moves the depth: comparison, native tornado chart and table, with live formulas."""

from io import BytesIO
from pathlib import Path
from typing import Any
from zipfile import ZipFile

import pytest
from engines import ironcalc_results, stored
from openpyxl import load_workbook
from openpyxl.workbook import Workbook
from trial_quote import METRIC, SOFT, TWO_AREAS, trial_quote

from basecalc.design.sensitivity import sensitivity
from basecalc.pricing.records import Quote
from basecalc.workbook import tornado_chart
from basecalc.workbook.values import ValuedBook

INCH = 0.0254
JOBS = {"us": TWO_AREAS, "metric": METRIC}


def written(quote: Quote) -> bytes:
    book = ValuedBook()
    tornado_chart.write(book, quote, 1)
    return book.to_bytes()


def opened(quote: Quote) -> Workbook:
    return load_workbook(BytesIO(written(quote)), data_only=True)


def rows(book: Workbook) -> list[tuple[Any, ...]]:
    return list(book[tornado_chart.TITLE].iter_rows(values_only=True))


@pytest.fixture(scope="module")
def quote() -> Quote:
    return trial_quote(TWO_AREAS)


def test_every_check_is_there_with_what_it_counts(quote: Quote) -> None:
    made = quote.offered_depths["Driveway"]
    found = rows(opened(quote))
    top = next(place for place, row in enumerate(found) if row[0] == "Check")
    for row, check in zip(found[top + 1 :], made.checks, strict=False):
        assert row[0] == check.name + (" (governs)" if check.name == made.governs else "")
        assert row[1] == ("none" if check.depth_m is None else pytest.approx(check.depth_m / INCH))
        assert row[3] == ("yes" if check.counts else "no")
        assert row[10] == check.source


@pytest.mark.parametrize("units", JOBS)
def test_the_table_holds_the_sensitivity_most_first(units: str) -> None:
    made = trial_quote(JOBS[units], **({"units": "metric"} if units == "metric" else {}))
    step = 0.001 if units == "metric" else INCH
    found = sensitivity(made.offered_depths["Driveway"])
    table = rows(opened(made))
    top = next(place for place, row in enumerate(table) if row[0] == "Input")
    for row, moved in zip(table[top + 1 :], found.moving, strict=False):
        least, most = moved.depths_m(found.designed_m)
        assert row[0].startswith(moved.name)
        assert (row[2], row[3]) == (moved.low.value, moved.high.value)
        assert row[6] == pytest.approx(least / step)
        assert row[7] == pytest.approx((found.designed_m - least) / step, abs=1e-5)
        assert row[8] == pytest.approx((most - found.designed_m) / step, abs=1e-5)
        assert row[10].casefold().startswith(moved.reason.casefold())
    worth = [row[9] for row in table[top + 1 : top + 1 + len(found.moving)]]
    prices = made.deeper.areas["Driveway"]
    rate = round(float(prices[-1]) / len(prices), 2)
    first = found.moving[0].spread_m(found.designed_m) / made.deeper.step_m
    assert worth == sorted(worth, reverse=True)
    assert worth[0] == pytest.approx(first * rate, abs=0.5)


@pytest.mark.parametrize("units", JOBS)
def test_its_formulas_give_what_is_stored_beside_them(units: str, tmp_path: Path) -> None:
    made = trial_quote(JOBS[units], **({"units": "metric"} if units == "metric" else {}))
    path = tmp_path / "moves.xlsx"
    path.write_bytes(written(made))
    values, calculated = stored(path), ironcalc_results(path)
    assert values
    assert values.keys() == calculated.keys()
    for place, value in values.items():
        assert calculated[place] == pytest.approx(value, abs=1e-6), place


def test_each_depth_has_its_own_native_chart_of_its_table(quote: Quote) -> None:
    data = written(quote)
    with ZipFile(BytesIO(data)) as parts:
        charts = [parts.read(name).decode() for name in parts.namelist() if name.startswith("xl/charts/chart")]
    moving = [sensitivity(made).moving for made in quote.offered_depths.values()]
    assert len(charts) == sum(bool(rows) for rows in moving)
    for xml in charts:
        assert '<barDir val="bar"' in xml
        assert '<grouping val="stacked"' in xml
        assert xml.count("<ser>") == 3
        assert '<orientation val="maxMin"' in xml
        assert "dark up to the design depth, light beyond it" in xml
    sheet = load_workbook(BytesIO(data))[tornado_chart.TITLE]
    (first, *_) = sheet._charts
    top = next(row for row in range(1, sheet.max_row) if sheet.cell(row, 1).value == "Input") + 1
    bottom = top + len(moving[0]) - 1
    drawn = [series.val.numRef.f for series in first.series]
    assert drawn == [f"'{tornado_chart.TITLE}'!${letter}${top}:${letter}${bottom}" for letter in "GHI"]


def test_what_does_not_move_the_depth_is_said_in_a_line_and_not_drawn() -> None:
    job = {**SOFT, "area": [{**SOFT["area"][0], "strength": 60}]}
    del job["spot"]
    data = written(trial_quote(job))
    told = "\n".join(str(cell) for row in rows(load_workbook(BytesIO(data))) for cell in row if cell)
    assert "Within their ranges these do not move the depth, another check governs: CBR of the base" in told
    with ZipFile(BytesIO(data)) as parts:
        assert not [name for name in parts.namelist() if "chart" in name]


def test_areas_of_one_depth_share_one_table() -> None:
    job = {**SOFT, "area": [SOFT["area"][0], {**SOFT["area"][0], "name": "Apron"}]}
    job["area"] = [{**area, "strength": "soft"} for area in job["area"]]
    del job["spot"]
    made = trial_quote(job)
    found = rows(opened(made))
    assert [row[0] for row in found if row[0] == "Input"] == ["Input"]
    assert any(row[0] == "Driveway, Apron" for row in found)
    rate = made.deeper.per_step("Driveway") + made.deeper.per_step("Apron")
    assert rate > 0
    told = next(row for row in found if str(row[0]).startswith("Depth designed"))
    assert told[9] == pytest.approx(float(rate))


def test_of_several_areas_each_has_its_own_page_at_one_scale() -> None:
    sheet = opened(trial_quote(TWO_AREAS))["What moves the depth"]
    (first,) = (one.id for one in sheet.row_breaks.brk)
    assert sheet.cell(first + 2, 1).value == "Parking bay"  # below the gap over its heading
    assert not sheet.sheet_properties.pageSetUpPr.fitToPage
    heights = [sheet.row_dimensions[row].height for row in range(1, sheet.max_row + 1)]
    longest = max(sum(heights[:first]), sum(heights[first:]))
    assert longest * sheet.page_setup.scale / 100 <= 505  # points of a page across, either paper
