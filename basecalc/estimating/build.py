"""The whole estimating workbook for one host, with the value of every formula."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

from openpyxl.utils import get_column_letter, range_boundaries
from openpyxl.workbook import Workbook

from basecalc.addin.spelling import calc_formula
from basecalc.company import settings
from basecalc.core.errors import InputError
from basecalc.core.numbers import choice
from basecalc.estimating.areas_sheet import AreaSheet, write_areas
from basecalc.estimating.edition import edition_of
from basecalc.estimating.estimate_answer import draw_section
from basecalc.estimating.estimate_sheet import write_estimate
from basecalc.estimating.evaluate import formula_values
from basecalc.estimating.ground_sheet import write_ground
from basecalc.estimating.job_cells import job_cells
from basecalc.estimating.log_sheet import write_log
from basecalc.estimating.quote_sheet import FOUND_ROW, write_quote_sheet
from basecalc.estimating.sheet_kit import name_cell
from basecalc.estimating.sources_sheet import write_sources
from basecalc.estimating.start_sheet import LOADED, NOT_ASKED, write_start
from basecalc.estimating.tables import AREAS, ESTIMATE_SHEET, GROUND, LOG, QUOTE_SHEET, SHEETS, START_SHEET
from basecalc.job import Job
from basecalc.pricing.price_tables import COMPANY_SHEET, COMPANY_TABLES, PRICES, PRICES_SHEET, SETTINGS_TABLE, TERMS
from basecalc.workbook import style
from basecalc.workbook.starter import edition as edition_in
from basecalc.workbook.template_company import write_company
from basecalc.workbook.template_prices import write_codes, write_prices
from basecalc.workbook.template_table import CODES_SHEET, ROWS_TO_COME
from basecalc.workbook.values import Value

HOSTS: Final = ("excel", "calc", "test")


@dataclass(frozen=True, slots=True)
class _Owner:
    """Where the owner's tables ended up."""

    lists: Mapping[str, str]
    traffic_rows: tuple[int, int]
    term_rows: tuple[int, int]


def build_book(
    records: Mapping[str, Any] | None = None,
    host: str = "excel",
    units: str = "",
    job: Job | Mapping[str, Any] | None = None,
    *,
    area_rows: int = AREAS.ready_rows,
    reading_rows: int = GROUND.ready_rows,
    log_rows: int = LOG.ready_rows,
) -> tuple[Workbook, dict[str, dict[str, Value]]]:
    """Return the estimating workbook and the value of each of its formulas, by sheet and cell."""
    host = choice("host", host, HOSTS)
    given = dict(records or {})
    if units and "units" not in given.get("settings", {}):
        given["settings"] = {**given.get("settings", {}), "units": choice("units", units, ("us", "metric"))}
    system = edition_in(given)
    if units and choice("units", units, ("us", "metric")) != system:
        raise InputError(
            f"units is '{units}', but the records are those of the {system} edition; they must be the same"
        )
    cells = None if job is None else job_cells(job)
    if cells is not None and cells.job.units != system:
        raise InputError(
            f"the job is in {cells.job.units} units; the workbook is the {system} edition, it must be the same"
        )
    edition = edition_of(system)
    book = style.new_book()
    write_company(book, given, system)
    write_prices(book, given, system)
    owner = _name_owner(book)
    write_codes(book, system)
    lists = {**owner.lists, **write_sources(book, edition, (COMPANY_SHEET, *owner.traffic_rows))}
    areas = write_areas(book, edition, cells.areas if cells else (), area_rows)
    last_reading = write_ground(book, edition, cells.readings if cells else (), reading_rows, areas)
    last_log = write_log(book, edition, cells.logs if cells else (), log_rows, areas)
    write_estimate(book, edition, areas, last_reading, last_log)
    write_quote_sheet(book, edition, areas, COMPANY_SHEET, owner.term_rows)
    draw_section(book[ESTIMATE_SHEET], book[QUOTE_SHEET], FOUND_ROW + 2, edition)
    write_start(book, edition, cells.card if cells else {}, host, lists)
    order = [*SHEETS, CODES_SHEET]
    book._sheets.sort(key=lambda sheet: order.index(sheet.title))  # type: ignore[attr-defined]  # openpyxl moves sheets one by one only
    book.active = 0
    for sheet in book.worksheets:
        sheet.sheet_view.tabSelected = sheet.title == START_SHEET
    book.properties.title, book.properties.creator = "Driveway base estimate", "basecalc"
    values = formula_values(book)
    values[START_SHEET][LOADED] = NOT_ASKED
    if host == "calc":
        _spell_for_calc(book)
    assert isinstance(areas, AreaSheet)
    return book, values


def _name_owner(book: Workbook) -> _Owner:
    """Name the owner's tables, free rows and all, as the reader of the sheets takes them."""
    sheet = book[COMPANY_SHEET]
    tops = {table.name: range_boundaries(table.ref) for table in sheet.tables.values()}
    starts = sorted(int(span[1] or 0) for span in tops.values())
    left, first, _, last = tops[SETTINGS_TABLE]
    name_cell(book, "OwnerSettings", sheet, f"A{int(first or 0) + 1}:D{last}")
    ends, lists = {}, {}
    for table in COMPANY_TABLES:
        _, top, right, bottom = tops[table.name]
        below = [start for start in starts if start > int(top or 0)]
        end = below[0] - 3 if below else int(bottom or 0)
        ends[table.key] = (int(top or 0) + 1, end)
        name = {"traffics": "OwnerTraffic"}.get(table.key, f"Owner{table.key.capitalize()}")
        name_cell(book, name, sheet, f"A{top}:{get_column_letter(int(right or 1))}{end}")
        lists[table.key] = f"{COMPANY_SHEET}!$A${int(top or 0) + 1}:$A${end}"
    prices = book[PRICES_SHEET]
    _, top, right, bottom = range_boundaries(prices.tables[PRICES.name].ref)
    name_cell(
        book,
        "OwnerPrices",
        prices,
        f"A{top}:{get_column_letter(int(right or 1))}{int(bottom or 0) + PRICES.free_rows + ROWS_TO_COME}",
    )
    for row in range(int(first or 0) + 1, int(last or 0) + 1):
        for key, name in (("name", "CompanyName"), ("tax_note", "TaxNote")):
            if sheet.cell(row, 1).value == settings()[key].label:
                name_cell(book, name, sheet, f"B{row}")
    assert left == 1
    return _Owner(lists, ends["traffics"], ends[TERMS.key])


def _spell_for_calc(book: Workbook) -> None:
    """Write the formulas as LibreOffice Calc must be given them, those that a table keeps for new rows too."""
    ranges = {name for name, made in book.defined_names.items() if ":" in str(made.attr_text)}
    for sheet in book.worksheets:
        for row in sheet.iter_rows():
            for cell in row:
                if cell.data_type == "f":
                    cell.value = calc_formula(str(cell.value), ranges)
        for table in sheet.tables.values():
            for column in table.tableColumns:
                if kept := column.calculatedColumnFormula:
                    kept.attr_text = calc_formula(f"={kept.attr_text}", ranges)[1:]
