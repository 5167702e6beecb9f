"""The sheet Estimate: options side by side, why each depth, priced lines, and every number behind them."""

from collections.abc import Mapping
from typing import Final, cast

from openpyxl.cell.cell import Cell
from openpyxl.workbook import Workbook
from openpyxl.worksheet.worksheet import Worksheet

from basecalc.estimating.areas_sheet import AreaSheet
from basecalc.estimating.column_step import OPTION_WORDS, OPTIONS
from basecalc.estimating.edition import Edition
from basecalc.estimating.estimate_answer import draw_pictures, write_compared, write_reasons
from basecalc.estimating.estimate_checks import IS_SOUND, write_checks
from basecalc.estimating.estimate_layout import (
    AMOUNT,
    CHART_ROWS,
    COMPARED_ROW,
    PICTURES_ROW,
    QUANTITY,
    REASONS_ROW,
    WIDTH,
    cents,
    heads,
    place_of,
)
from basecalc.estimating.estimate_numbers import LONG_LINES, write_quantities, write_taken, write_work
from basecalc.estimating.quantities import line_rows
from basecalc.estimating.sheet_kit import (
    BEGUN,
    QUIET_NUMBERS,
    heading,
    line_below,
    lock,
    mark_refusals,
    name_cell,
    title,
)
from basecalc.estimating.tables import ESTIMATE_SHEET
from basecalc.workbook import style
from basecalc.workbook.template_table import note

_WIDTHS: Final = (36, 10, 11, 9, 11.5, 12.5, 11.5, 12.5, 11.5, 12.5, 26, 10, 15)


def write_estimate(book: Workbook, edition: Edition, areas: AreaSheet, last_reading: int, last_log: int) -> None:
    """Write the sheet Estimate."""
    sheet = cast(Worksheet, book.create_sheet(ESTIMATE_SHEET))
    style.widths(sheet, *_WIDTHS)
    title(
        sheet,
        "Estimate",
        "Office only: the options side by side, why each area needs its depth, and every line that makes the price.",
    )
    style.formula(sheet, 3, 1, "=Banner", "label", across="left")
    style.align(cast(Cell, sheet.cell(3, 1)), wrap=False, up="center")
    mark_refusals(sheet, "A3", "A3")
    sheet.row_dimensions[3].height = 20
    compared, reasons, charts = COMPARED_ROW, REASONS_ROW, PICTURES_ROW
    lines = charts + CHART_ROWS + 1
    sums = _lines_end(lines, edition) + 1
    row = sums + 10
    style.page_break(sheet, charts + CHART_ROWS)
    style.page_break(sheet, row - 1)
    quantities, row = write_quantities(sheet, row, edition, areas)
    style.page_break(sheet, row)
    hours, row = write_work(sheet, row, edition, quantities)
    parts = {option: "+".join(_parts(sums, option)) for option in OPTIONS}
    row = write_checks(book, sheet, row + 1, edition, areas, last_reading, last_log, parts)
    style.page_break(sheet, row)
    end = write_taken(book, sheet, row + 1, edition)
    raw = {**quantities, **hours}
    _lines(book, sheet, lines, edition, raw)
    _sums(book, sheet, sums, lines, edition)
    write_compared(book, sheet, compared, edition, areas, quantities)
    write_reasons(sheet, reasons, edition, areas)
    draw_pictures(sheet, charts, compared, reasons, edition)
    mark_refusals(sheet, f"A5:M{end}", "A5", begun=BEGUN)
    sheet.freeze_panes = "A4"
    lock(sheet)
    style.page(
        sheet,
        f"A1:M{end - 1 - len(LONG_LINES)}",
        units=edition.units,
        landscape=True,
        repeat_rows="1:3",
        foot="Estimate (office only)",
    )


def _lines_end(lines: int, edition: Edition) -> int:
    return lines + 1 + len(line_rows(edition))


def _lines(book: Workbook, sheet: Worksheet, top: int, edition: Edition, raw: Mapping[str, int]) -> None:
    heading(sheet, top, "Lines: printed quantity times unit price, rounded once", WIDTH)
    texts = {
        "A": "line",
        "B": "price is per",
        "C": "unit price [$]",
        "D": "taxed",
        "K": "price row",
        "L": "units in one",
        "M": "quote line",
    }
    for option in OPTIONS:
        texts[QUANTITY[option]], texts[AMOUNT[option]] = (
            f"quantity, {OPTION_WORDS[option]}",
            f"amount, {OPTION_WORDS[option]}",
        )
    heads(sheet, top + 1, texts)
    note(sheet, top + 1, 3, "From the sheet Prices: change it there.")
    note(sheet, top + 1, 12, "Units of the price in one unit of the quantity.")
    for row, line in enumerate(line_rows(edition), top + 2):
        at = raw[line.key]
        needed = f"SUM($E${at},$G${at},$I${at})"

        def call(column: str, needed: str = needed, row: int = row) -> str:
            return f'=IF({needed}=0,"",OWNER_VALUE(OwnerPrices,$K{row},"{column}"))'

        style.align(style.put(sheet, row, 1, line.label, "text"), wrap=False)
        style.formula(sheet, row, 2, call("unit"), "number", across="right")
        style.formula(sheet, row, 3, call("unit price"), "number", "#,##0.00##")
        style.formula(sheet, row, 4, call("taxable"), "number", across="right")
        for option in OPTIONS:
            quantity, amount = QUANTITY[option], AMOUNT[option]
            taken = f"${quantity}${at}"
            exact = f"IF(ISNUMBER($L{row}),{cents(f'{taken}*$L{row}')},NA())"
            style.formula(
                sheet,
                row,
                place_of(quantity),
                f"=IF({taken}=0,0,{exact})",
                "number",
                QUIET_NUMBERS["two"],
            )
            priced = f'AND(ISNUMBER($C{row}),OR($D{row}="yes",$D{row}="no"))'
            paid = f"IF({priced},{cents(f'${quantity}{row}*$C{row}')},NA())"
            style.formula(sheet, row, place_of(amount), f"=IF({taken}=0,0,{paid})", "number", QUIET_NUMBERS["two"])
        style.align(style.formula(sheet, row, 11, f"={line.price}", "quiet", across="left"), wrap=False, indent=1)
        style.formula(
            sheet, row, 12, f'=IF($B{row}="","",UNIT_FACTOR("{line.unit}",$B{row}))', "quiet", "General", across="right"
        )
        style.align(style.put(sheet, row, 13, line.scope, "quiet", across="left"), wrap=False, indent=1)
        sheet.row_dimensions[row].height = 13.5
        line_below(sheet, row, range(1, WIDTH + 1))
    first, last = top + 2, _lines_end(top, edition)
    for name, letter in (
        ("LineScopes", "M"),
        ("LineTaxed", "D"),
        ("LineStone", "F"),
        ("LineGeogrid", "H"),
        ("LineUsual", "J"),
    ):
        name_cell(book, name, sheet, f"{letter}{first}:{letter}{last}")


_SUMS: Final = ("cost", "contingency", "overhead", "profit", "taxed material", "sales tax", "total")


def _parts(top: int, option: str) -> list[str]:
    """Return the cells that the total of an option is the sum of."""
    return [f"{AMOUNT[option]}{top + at}" for at, label in enumerate(_SUMS) if label not in ("taxed material", "total")]


def _sums(book: Workbook, sheet: Worksheet, top: int, lines: int, edition: Edition) -> None:
    first, last = lines + 2, _lines_end(lines, edition)
    shares = (None, "Contingency", "Overhead", "Profit", None, "SalesTax", None)
    at = {label: top + place for place, label in enumerate(_SUMS)}
    for (label, row), share in zip(at.items(), shares, strict=True):
        look: style.Look = "total" if label == "total" else "text"
        for column in range(1, WIDTH - 2):
            style.put(sheet, row, column, None, look)
        style.put(sheet, row, 1, label, look)
        sheet.row_dimensions[row].height = 14
        if share:
            style.formula(sheet, row, 3, f"={share}", "number", "0.0##%")
    for option in OPTIONS:
        a = AMOUNT[option]
        cost, cont, over = (f"{a}{at[label]}" for label in ("cost", "contingency", "overhead"))
        taxed = f"{a}{at['taxed material']}"
        made = {
            "cost": f"=ROUND(SUM({a}{first}:{a}{last}),2)",
            "contingency": f"=IF(ISNUMBER(Contingency),{cents(f'{cost}*Contingency')},NA())",
            "overhead": f"=IF(ISNUMBER(Overhead),{cents(f'({cost}+{cont})*Overhead')},NA())",
            "profit": f"=IF(ISNUMBER(Profit),{cents(f'({cost}+{cont}+{over})*Profit/(1-Profit)')},NA())",
            # SUMIF passes over a cell in error; the sum of the words, which is 0, does not.
            "taxed material": f'=ROUND(SUMIF($D{first}:$D{last},"yes",{a}{first}:{a}{last})+SUM($D{first}:$D{last}),2)',
            "sales tax": f"=IF(ISNUMBER(SalesTax),{cents(f'{taxed}*SalesTax')},NA())",
        }
        made["total"] = f"=IF({IS_SOUND},ROUND({'+'.join(_parts(top, option))},2),NA())"
        column = place_of(a)
        for label, text in made.items():
            style.formula(
                sheet, at[label], column, text, "total" if label == "total" else "number", "money", across="right"
            )
        name_cell(
            book,
            {"stone": "TotalStone", "geogrid": "TotalGeogridLaid", "habit": "TotalUsual"}[option],
            sheet,
            f"{a}{at['total']}",
        )
