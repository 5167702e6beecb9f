"""A sound workbook gives what was written in it, whatever its owner moved, added or converted."""

from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest
from openpyxl import Workbook
from price_books import PRICES, RECORDS, filled, find, spoiled, with_formula

from basecalc import DesignSettings, InputError, OutOfRangeError, PriceBook, load_prices, write_price_workbook
from basecalc.company import company, settings
from basecalc.core.published import table
from basecalc.core.units import PRICE_UNITS, Measure, convert
from basecalc.pricing.prices import problems
from basecalc.takeoff.codes import units_like
from basecalc.takeoff.model import CODES
from basecalc.workbook.starter import built_in

TON, YD3, FT, INCH = 907.18474, 0.764554857984, 0.3048, 0.0254


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> PriceBook:
    return load_prices(filled(tmp_path_factory.mktemp("sound")))


def test_the_settings_come_back_in_si(book: PriceBook) -> None:
    ours = book.company
    assert (ours.name, ours.address, ours.phone) == ("Larch Fork Paving", "7 Kiln Row, Brackwater", "555 0117")
    assert (ours.overhead, ours.profit, ours.contingency, ours.tax_rate, ours.deposit) == (0.12, 0.15, 0.03, 0.065, 0.3)
    assert ours.standard_depth_m == pytest.approx(0.35, abs=1e-9)
    assert (ours.design.class_edge, ours.class_down, ours.units, ours.valid_days) == ("middle", True, "us", 30)
    assert ours.design.checks == ("platform", "structural", "minimum")
    assert ours.lift_m == pytest.approx(4 * INCH)
    assert ours.joint_sand_kg_m2 == pytest.approx(0.45359237 / 0.09290304)


def test_the_tables_come_back_in_si(book: PriceBook) -> None:
    stone, sand = book.company.stones
    assert (stone.name, stone.code, stone.kind, stone.waste) == ("crusher run", "base-stone", "base", 0.05)
    assert stone.loose_density_kg_m3 == pytest.approx(1.48 * TON / YD3)
    assert (sand.kind, sand.compaction_factor) == ("bedding", 1.15)
    (paver,) = book.company.pavers
    assert paver.thickness_m == pytest.approx(0.060325)
    assert book.company.design.paver_m == paver.thickness_m
    grid, tested, cloth = book.company.rolls
    assert (grid.kind, grid.aperture_stability, grid.reduction, grid.overlap_m) == ("geogrid", 0.32, 0.0, None)
    assert grid.length_m == pytest.approx(150 * FT)
    assert (tested.reduction, tested.reduction_source) == (0.3, "plate tests of May 2024")
    assert tested.overlap_m == pytest.approx(1.5 * FT)
    assert (cloth.kind, cloth.aperture_stability) == ("geotextile", 0.0)
    (truck,) = book.company.trucks
    assert (truck.use, truck.payload_kg, truck.box_m3) == ("both", pytest.approx(14 * TON), pytest.approx(12 * YD3))
    assert book.company.soils == {"clay": 1.35}
    dig, lay = book.company.rates
    assert (dig.code, dig.per_crew_hour, dig.per_machine_hour, dig.unit) == ("dig", 12, 15, "yd3")
    assert (lay.per_machine_hour, lay.unit) == (None, "ft2")
    (camper,) = book.company.traffics
    assert camper.wheel_load_kn == pytest.approx(5000 * 4.4482216152605e-3)
    assert camper.rut_mm == pytest.approx(63.5)
    assert book.company.terms == ("Half a day's notice, please.",)


def test_the_prices_come_back_to_the_cent_with_their_cells(book: PriceBook) -> None:
    assert {code: price.unit_price for code, price in book.prices.items()} == {
        code: Decimal(str(price)) for code, price in PRICES.items()
    }
    stone = book.prices["base-stone"]
    assert (stone.unit, stone.taxable, stone.supplier, stone.priced_on) == ("ton", True, "Ridge Pit", date(2026, 3, 2))
    assert stone.cell == "sheet Prices, cell D11"
    assert not book.prices["spoil-haul"].taxable


def test_a_metric_workbook_reads_the_same(tmp_path: Path) -> None:
    metric = {
        "settings": {**RECORDS["settings"], "units": "metric", "standard_depth_m": 350},
        "stones": [{**RECORDS["stones"][0], "loose_density": 1.48 * TON / YD3 / 1000}],
        "trucks": [{"name": "tandem", "use": "both", "payload": 12.7, "box": 9.2}],
        "rolls": [],
        "pavers": [{**RECORDS["pavers"][0], "thickness": 60}],
        "traffics": [],
        "rates": [],
    }
    ours = load_prices(filled(tmp_path, **metric)).company
    assert ours.stones[0].loose_density_kg_m3 == pytest.approx(1.48 * TON / YD3)
    assert (ours.standard_depth_m, ours.design.minimum_depth_m, ours.design.step_m) == (0.35, 0.15, 0.01)
    assert (ours.trucks[0].payload_kg, ours.trucks[0].box_m3, ours.pavers[0].thickness_m) == (12700, 9.2, 0.06)


def test_another_unit_in_a_heading_or_beside_a_setting_is_converted(tmp_path: Path) -> None:
    def change(book: Workbook) -> None:
        sheet = book["Company"]
        row, column = find(sheet, "loose density [ton/yd3]")
        sheet.cell(row, column).value = "Loose  Density (lb/yd3)"
        sheet.cell(row + 1, column).value = 2960
        sheet.cell(row + 2, column).value = 2700
        row, _ = find(sheet, "your standard depth")
        sheet.cell(row, 2).value, sheet.cell(row, 3).value = 1.25, "ft"

    ours = load_prices(spoiled(tmp_path, change)).company
    assert ours.stones[0].loose_density_kg_m3 == pytest.approx(1.48 * TON / YD3)
    assert ours.standard_depth_m == pytest.approx(15 * INCH)


def test_a_workbook_with_the_headings_of_an_older_version_is_read(tmp_path: Path) -> None:
    def age(book: Workbook) -> None:
        sheet = book["Company"]
        sheet.cell(*find(sheet, "your standard depth")).value = "your usual base depth"
        sheet.cell(*find(sheet, "tire pressure [psi]")).value = "tyre pressure [psi]"
        row, _ = find(sheet, "your usual base depth")
        sheet.cell(row, 2).value = 11

    ours = load_prices(spoiled(tmp_path, age)).company
    assert ours.standard_depth_m == pytest.approx(11 * INCH)
    assert ours.traffics == load_prices(spoiled(tmp_path, lambda _: None)).company.traffics


def test_numbers_typed_as_text_are_read_as_the_trade_writes_them(tmp_path: Path) -> None:
    def change(book: Workbook) -> None:
        book["Prices"]["D11"] = "$1,024.50"
        book["Prices"]["I11"] = "yes"
        sheet = book["Company"]
        row, column = find(sheet, "thickness [in]")
        sheet.cell(row + 1, column).value = '2-3/8"'
        row, _ = find(sheet, "overhead on cost", 1)
        sheet.cell(row, 2).value = "12"

    read = load_prices(spoiled(tmp_path, change))
    assert read.prices["base-stone"].unit_price == Decimal("1024.5")
    assert read.company.pavers[0].thickness_m == pytest.approx(0.060325)
    assert read.company.overhead == 0.12


def test_moved_and_added_columns_are_found_by_their_headings(tmp_path: Path) -> None:
    def change(book: Workbook) -> None:
        sheet = book["Prices"]
        del sheet.tables["UnitPrices"]
        sheet.unmerge_cells("A3:I3")
        sheet.move_range("D5:D40", cols=9)
        sheet.cell(5, 4).value = "my own remarks"
        sheet.cell(6, 4).value = "ask again in May"

    price = load_prices(spoiled(tmp_path, change)).prices["old-pavement-haul"]
    assert (price.unit_price, price.cell) == (Decimal(210), "sheet Prices, cell M6")


@pytest.mark.parametrize("gap", [1, 4])
def test_a_row_typed_below_the_table_counts(tmp_path: Path, gap: int) -> None:
    last = 5 + len(PRICES)

    def change(book: Workbook) -> None:
        sheet = book["Prices"]
        for column, value in enumerate(("dig", "dig by the yard", "cy", 38.5, "no"), 1):
            sheet.cell(last + gap, column).value = value

    dig = load_prices(spoiled(tmp_path, change)).prices["dig"]
    assert (dig.unit, dig.unit_price, dig.cell) == ("yd3", Decimal("38.5"), f"sheet Prices, cell D{last + gap}")


def test_a_truck_typed_right_below_its_table_counts(tmp_path: Path) -> None:
    def change(book: Workbook) -> None:
        sheet = book["Company"]
        row, _ = find(sheet, "Soil in the truck")
        for column, value in enumerate(("tri-axle", "stone", 20, 16), 1):
            sheet.cell(row - 1, column).value = value

    assert [truck.name for truck in load_prices(spoiled(tmp_path, change)).company.trucks] == ["tandem", "tri-axle"]


def test_tables_that_lost_their_names_are_found_by_their_headings(tmp_path: Path) -> None:
    def change(book: Workbook) -> None:
        for sheet in book.worksheets:
            for name in list(sheet.tables):
                del sheet.tables[name]
        book["Company"].title = "other"
        book["other"].title = "COMPANY"

    nameless, named = load_prices(spoiled(tmp_path, change)), load_prices(filled(tmp_path))
    assert (nameless.company, nameless.prices) == (named.company, named.prices)


def test_a_deleted_setting_takes_its_default(tmp_path: Path) -> None:
    def change(book: Workbook) -> None:
        row, _ = find(book["Company"], "working hours in a day")
        for column in range(1, 5):
            book["Company"].cell(row, column).value = None

    assert load_prices(spoiled(tmp_path, change)).company.hours_per_day == 8


def test_a_material_may_have_a_price_code_of_its_own(tmp_path: Path) -> None:
    stones = [*RECORDS["stones"], {**RECORDS["stones"][0], "name": "recycled", "code": "Recycled-Base"}]
    prices = [
        *RECORDS["prices"],
        {"code": "recycled-base", "item": "crushed concrete", "unit": "ton", "unit_price": 14, "taxable": False},
    ]
    book = load_prices(filled(tmp_path, stones=stones, prices=prices))
    assert book.company.stones[2].code == "recycled-base"
    assert book.prices["recycled-base"].unit_price == 14


def test_reading_leaves_the_file_alone_and_closed(tmp_path: Path) -> None:
    path = filled(tmp_path)
    before, stat = path.read_bytes(), path.stat()
    with path.open("rb"):  # open elsewhere
        load_prices(path)
        problems(path)
    assert path.read_bytes() == before
    assert (path.stat().st_mtime_ns, path.stat().st_ino) == (stat.st_mtime_ns, stat.st_ino)
    assert [entry.name for entry in tmp_path.iterdir()] == [path.name]
    path.rename(tmp_path / "moved.xlsx")


def test_a_sheet_formatted_to_its_last_row_reads_at_once(tmp_path: Path) -> None:
    def change(book: Workbook) -> None:
        book["Prices"].cell(1_048_576, 16_384).number_format = "0.00"

    assert problems(spoiled(tmp_path, change)) == []


def test_settings_without_a_workbook_default_to_the_design_defaults() -> None:
    needed = {"name": "A", "overhead": 0, "profit": 0, "contingency": 0, "tax_rate": 0, "deposit": 0}
    assert company(needed).design == DesignSettings()
    with pytest.raises(InputError, match="profit as a share of the price is missing"):
        company({key: value for key, value in needed.items() if key != "profit"})
    with pytest.raises(InputError, match="no setting 'profits'"):
        company({**needed, "profits": 0.1})
    with pytest.raises(InputError, match="at least one of the settings that count one must be yes"):
        company({**needed, "checks.platform": False, "checks.structural": False})
    metric = company({**needed, "units": "metric", "standard_depth_m": 300})
    assert (metric.standard_depth_m, metric.design.minimum_depth_m) == (0.3, 0.15)


@pytest.mark.parametrize("units", ["us", "metric"])
@pytest.mark.parametrize("key", [key for key, one in settings().items() if one.default is not None])
def test_every_default_stands_within_its_own_limits(key: str, units: str) -> None:
    one = settings()[key]
    assert one.read(one.edge_default(units), one.unit(units)) is not None


@pytest.mark.parametrize("key", [key for key, one in settings().items() if isinstance(one.kind, Measure)])
def test_every_number_is_refused_just_outside_its_limits(key: str) -> None:
    one = settings()[key]
    for outside in (one.kind.low - 0.01, one.kind.high * 1.01 + 0.01):
        with pytest.raises(OutOfRangeError, match=r"must be (a whole number )?from"):
            one.read(outside, one.unit("us"))
    assert one.read(one.kind.high, one.unit("us"), sure=True) is not None  # the whole of something is asked about
    us, metric = one.unit("us"), one.unit("metric")
    for limit in (one.kind.low, one.kind.high) if metric != us else ():  # one turned into the other unit is inside
        assert one.read(float(f"{convert(limit, us, metric):.12g}"), metric, sure=True) is not None


@pytest.mark.source("WSDOT-M22-01, Exhibit 620-1; [read]")
def test_the_starter_stone_is_the_printed_base_course() -> None:
    printed_row = table("stones").exact("crushed surfacing base course")
    stone = built_in()["stones"][0]
    assert (stone["loose_density"], stone["compaction_factor"]) == (1.48, 1.254)
    assert (printed_row["loose_tons"], printed_row["factor"]) == (1.48, 1.254)


def test_every_code_is_priced_by_units_that_a_price_may_have() -> None:
    for code in CODES.values():
        assert set(code.units) <= set(units_like(code.units[0])) <= set(PRICE_UNITS)
    for alone in ("h", "load", "roll", "bag"):
        assert units_like(alone) == (alone,)
    assert units_like("yd3") == ("yd3", "ft3", "m3")


def test_a_price_calculated_by_a_formula_counts_with_its_stored_value(tmp_path: Path) -> None:
    assert load_prices(with_formula(tmp_path, "20+4.5", "24.5")).prices["base-stone"].unit_price == Decimal("24.5")


def test_a_new_workbook_asks_for_every_price_and_every_decision(tmp_path: Path) -> None:
    wrong = [str(one) for one in problems(write_price_workbook(tmp_path / "new.xlsx"))]
    needed = [code for code in CODES.values() if code.must_be_priced]
    prices = [line for line in wrong if "sheet Prices" in line]
    for row, line in enumerate(prices, 6):
        assert f"cell D{row}: unit price is missing; it must be a number from 0 to 1,000,000" in line
    assert len(prices) == len(needed)
    for label in ("company name", "overhead on", "profit as a share", "contingency on cost", "sales tax", "deposit"):
        assert any(f": {label}" in line and "is missing" in line for line in wrong)
    assert sum("both rates are missing" in line for line in wrong) == 5
