"""The working behind the sheet Estimate: quantities, hours, the numbers taken from the owner, and what is checked."""

import re
from collections.abc import Mapping
from typing import Final

from openpyxl.utils import get_column_letter
from openpyxl.workbook import Workbook
from openpyxl.worksheet.worksheet import Worksheet

from basecalc.estimating.areas_sheet import AreaSheet
from basecalc.estimating.column_step import OPTION_WORDS, OPTIONS
from basecalc.estimating.edition import Edition
from basecalc.estimating.estimate_layout import AMOUNT, QUANTITY, WIDTH, place_of
from basecalc.estimating.quantities import WORK, quantity_rows
from basecalc.estimating.sheet_kit import QUIET_NUMBERS, heading, line_below, name_cell
from basecalc.estimating.taken_numbers import Taken, taken_numbers
from basecalc.plan.area import OLD_PAVEMENTS
from basecalc.takeoff.codes import codes
from basecalc.workbook import style

# Lines for the functions; they stand last and are not printed.
LONG_LINES: Final = ("TrafficLine", "LogLine", "SiteLine", "DesignLine", "TaskLine")
_REFERENCE: Final = re.compile(r"\{([QPSAV]):([^}]+)\}")


def write_quantities(sheet: Worksheet, top: int, edition: Edition, areas: AreaSheet) -> tuple[dict[str, int], int]:
    """Write the quantities of each option; return their rows, and the row below."""
    heading(sheet, top, "Quantities, pooled over the areas", WIDTH)
    for at in range(1, WIDTH + 1):
        style.put(sheet, top + 1, at, None, "column")
    style.put(sheet, top + 1, 1, "quantity", "column")
    style.put(sheet, top + 1, 2, "unit", "column", across="right")
    for option in OPTIONS:
        at = place_of(QUANTITY[option])
        style.put(sheet, top + 1, at, OPTION_WORDS[option], "column", across="right")
    rows = quantity_rows(edition)
    at_row = {row.key: top + 2 + place for place, row in enumerate(rows)}
    below = top + 2 + len(rows)
    values = {}
    for kind in OLD_PAVEMENTS:
        old = f"old {kind}"
        for what, offset in (("weight", 0), ("bulking", 1)):
            values[f"{kind}-{what}"] = f"$L${at_row[old] + offset}"
        row = at_row[old]
        needed = f"SUM($E${row - 1},$G${row - 1},$I${row - 1})"
        for offset, what, unit in ((0, "weight in place", f',OwnerSoils,"{edition.density}"'), (1, "bulking", "")):
            told = f"{what} [{edition.density}]" if unit else what
            style.align(style.put(sheet, row + offset, 11, told, "quiet", across="left"), wrap=False, indent=1)
            call = f'=IF({needed}=0,0,SPOIL_VALUE("{kind}","{what}"{unit}))'
            style.formula(sheet, row + offset, 12, call, "quiet", QUIET_NUMBERS["two"], across="right")
    for one in rows:
        at = at_row[one.key]
        style.align(style.put(sheet, at, 1, one.label, "text"), wrap=False)
        style.align(style.put(sheet, at, 2, one.unit, "quiet", across="right"), wrap=False)
        shape = QUIET_NUMBERS["whole" if one.unit in ("load", "roll", "bag") else "two"]
        for option in OPTIONS:
            laid = one.key != "geogrid" or option == "geogrid"
            for column, text in ((QUANTITY[option], one.formula if laid else "0"), (AMOUNT[option], one.second)):
                if text:
                    body = _written(text, option, at_row, values, areas)
                    style.formula(
                        sheet, at, place_of(column), f"=IF(AllSound=1,{body},NA())", "number", shape, across="right"
                    )
        line_below(sheet, at, range(1, WIDTH + 1))
    return at_row, below


def _written(text: str, option: str, rows: Mapping[str, int], values: Mapping[str, str], areas: AreaSheet) -> str:
    """Return the formula of a quantity for an option, its references written out."""

    def referred(found: re.Match[str]) -> str:
        kind, key = found[1], found[2]
        if kind == "A":
            return areas.column(key.replace("o_", f"{option}_", 1) if key.startswith("o_") else key)
        if kind == "V":
            return values[key]
        column = AMOUNT[option] if kind == "S" else QUANTITY[option]
        return f"{column}{rows[key]}"

    return _REFERENCE.sub(referred, text)


def write_work(
    sheet: Worksheet, top: int, edition: Edition, quantities: Mapping[str, int]
) -> tuple[dict[str, int], int]:
    """Write how each kind of work is priced: by its own price, or by crew and machine hours; return the rows."""
    heading(sheet, top + 1, "Work: by its own price, or by hours at the rates on the sheet Company", WIDTH)
    texts = {
        1: "work",
        2: "unit",
        3: "own price?",
        4: "rate?",
        11: "rate is per",
        12: "units in one",
        13: "an hour does",
    }
    sheet.row_dimensions[top + 2].height = 30
    for at in range(1, WIDTH + 1):
        style.put(sheet, top + 2, at, texts.get(at), "column", across="left" if at == 1 else "right")
    for option in OPTIONS:
        style.put(sheet, top + 2, place_of(QUANTITY[option]), OPTION_WORDS[option], "column", across="right")
    rows: dict[str, int] = {}
    row = top + 3
    for key in WORK:
        own, crew, machine = row, row + 1, row + 2
        rows |= {f"{key} own": own, f"{key} crew": crew, f"{key} machine": machine}
        q, unit = quantities[key], codes()[key].unit(edition.units)
        needed = f"SUM($E${q},$G${q},$I${q})"
        style.align(style.put(sheet, own, 1, codes()[key].title, "text"), wrap=False)
        style.put(sheet, own, 2, unit, "quiet", across="right")
        style.formula(sheet, own, 3, f'=IF({needed}=0,"",OWNER_ROWS(OwnerPrices,"{key}"))', "quiet", across="right")
        style.formula(sheet, own, 4, f'=IF($C${own}<>0,"",OWNER_ROWS(OwnerRates,"{key}"))', "quiet", across="right")
        style.formula(
            sheet, own, 11, f'=IF($D${own}<>1,"",OWNER_VALUE(OwnerRates,"{key}","unit"))', "quiet", across="right"
        )
        style.formula(sheet, own, 12, f'=IF($D${own}<>1,"",UNIT_FACTOR("{unit}",$K${own}))', "quiet", across="right")
        for who, at in (("crew", crew), ("machine", machine)):
            style.align(style.put(sheet, at, 1, f"   {who} hours", "text"), wrap=False)
            style.put(sheet, at, 2, "h", "quiet", across="right")
            rate = f'=IF($D${own}<>1,"",OWNER_VALUE(OwnerRates,"{key}","per {who} hour"))'
            style.formula(sheet, at, 13, rate, "quiet", across="right")
        for option in OPTIONS:
            letter = QUANTITY[option]
            column, amount = place_of(letter), f"{letter}{q}"
            by_price = f"=IF({amount}=0,0,IF($C${own}=1,{amount},IF($C${own}=0,0,NA())))"
            style.formula(sheet, own, column, by_price, "number", QUIET_NUMBERS["two"], across="right")
            for at in (crew, machine):
                nobody = f'AND($M${crew}="none",$M${machine}="none")'
                hours = f"IF(AND(ISNUMBER($M{at}),ISNUMBER($L${own})),{amount}*$L${own}/$M{at},NA())"
                rated = f'IF({nobody},NA(),IF($M{at}="none",0,{hours}))'
                timed = f"IF(AND($C${own}=0,$D${own}=1),{rated},NA())"
                style.formula(
                    sheet,
                    at,
                    column,
                    f"=IF({amount}=0,0,IF($C${own}=1,0,{timed}))",
                    "number",
                    QUIET_NUMBERS["two"],
                    across="right",
                )
        line_below(sheet, machine, range(1, WIDTH + 1))
        row += 3
    return rows, row


def write_taken(book: Workbook, sheet: Worksheet, top: int, edition: Edition) -> int:
    """Write the numbers taken from the owner's sheets, each with its name, and return the row below."""
    heading(sheet, top, "Taken from Start and Company; change them there", WIDTH)
    halves: tuple[list[tuple[str, tuple[Taken, ...]]], ...] = ([], [])
    for words, numbers in taken_numbers(edition):
        short = tuple(one for one in numbers if one.name not in LONG_LINES)
        halves[words.startswith(("Pavers", "Rolls", "Trucks"))].append((words, short))
    ends = [
        _taken_blocks(book, sheet, top + 1, blocks, label, value)
        for blocks, label, value in zip(halves, (1, 6), (4, 10), strict=True)
    ]
    row = max(ends)
    for one in (one for _, numbers in taken_numbers(edition) for one in numbers if one.name in LONG_LINES):
        style.put(sheet, row, 1, one.label, "text")
        cell = style.formula(sheet, row, 2, one.formula, "quiet", across="left")
        sheet.merge_cells(start_row=row, start_column=2, end_row=row, end_column=WIDTH)
        style.align(cell, wrap=True, up="top", indent=1)
        sheet.row_dimensions[row].height = 27
        name_cell(book, one.name, sheet, f"B{row}")
        row += 1
    return row


def _taken_blocks(
    book: Workbook, sheet: Worksheet, top: int, blocks: list[tuple[str, tuple[Taken, ...]]], label: int, value: int
) -> int:
    row = top
    for words, numbers in blocks:
        style.align(style.put(sheet, row, label, words, "label"), wrap=False, up="bottom")
        sheet.row_dimensions[row].height = 20
        row += 1
        for one in numbers:
            style.align(style.put(sheet, row, label, one.label, "text"), wrap=False)
            shape = "0.0##%" if one.unit == "share" else "#,##0.0###" if one.unit else "General"
            cell = style.formula(sheet, row, value, one.formula, "number", shape, across="right")
            style.align(style.put(sheet, row, value + 1, one.unit, "quiet", across="left"), wrap=False, indent=1)
            style.align(cell, wrap=False, up="top")
            sheet.row_dimensions[row].height = 14
            name_cell(book, one.name, sheet, f"{get_column_letter(value)}{row}")
            row += 1
    return row
