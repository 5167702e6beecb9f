"""The upper part of the sheet Estimate: options side by side, why each depth, and two pictures."""

from collections.abc import Mapping
from typing import Final, cast

from openpyxl.cell.cell import Cell
from openpyxl.workbook import Workbook
from openpyxl.worksheet.worksheet import Worksheet

from basecalc.estimating.areas_sheet import FIRST, AreaSheet
from basecalc.estimating.column_step import OPTION_WORDS, OPTIONS
from basecalc.estimating.edition import Edition
from basecalc.estimating.estimate_checks import IS_SOUND
from basecalc.estimating.estimate_layout import (
    AMOUNT,
    CHART_ROWS,
    PICTURED,
    PICTURES_ROW,
    QUANTITY,
    REASONS,
    WIDTH,
    heads,
    place_of,
)
from basecalc.estimating.sheet_kit import QUIET_NUMBERS, heading, line_below, mark_words, name_cell
from basecalc.workbook import style
from basecalc.workbook.charts import Block, place, section, side_by_side
from basecalc.workbook.template_table import note

_TOTAL: Final[Mapping[str, str]] = {"stone": "TotalStone", "geogrid": "TotalGeogrid", "habit": "TotalUsual"}
_DRAWN: Final = '"$"#,##0;-"$"#,##0;""'  # an option that is not there, or has no price, shows no number
_SAVED: Final[Mapping[str, str]] = {
    "stone": "TotalUsual-TotalStone",
    "geogrid": "IF(ISNUMBER(TotalGeogrid),TotalUsual-TotalGeogrid,TotalGeogrid)",
    "habit": "0",
}


def write_compared(
    book: Workbook, sheet: Worksheet, top: int, edition: Edition, areas: AreaSheet, quantities: Mapping[str, int]
) -> None:
    """Write the options side by side, which of them is offered, and the names of the totals."""
    heading(sheet, top, "Options side by side", WIDTH)
    heads(
        sheet,
        top + 1,
        {AMOUNT[option]: OPTION_WORDS[option] for option in OPTIONS} | {"K": "", "M": "as drawn below"},
        "A",
    )
    note(sheet, top + 1, 10, "What your one depth everywhere would cost (sheet Company).")
    rows = (
        "price",
        "less than the usual depth",
        "deepest base",
        "dig, in the ground",
        "base stone",
        "loads, in and out",
    )
    units = ("$", "$", edition.depth, edition.volume, edition.mass, "load")
    loads = [row for key, row in quantities.items() if "haul" in key]
    for place_, (label, unit) in enumerate(zip(rows, units, strict=True)):
        row = top + 2 + place_
        style.put(sheet, row, 1, label, "label" if place_ == 0 else "text")
        style.put(sheet, row, 2, unit, "quiet", across="right")
        for option in OPTIONS:
            column = place_of(AMOUNT[option])
            q = QUANTITY[option]
            made = {
                "price": f"={_TOTAL[option]}",
                "less than the usual depth": f"={_SAVED[option]}",
                "deepest base": f"=IF(AllSound=1,MAX({areas.column(f'{option}_base')}),NA())",
                "dig, in the ground": f"={q}{quantities['dig']}",
                "base stone": f"={q}{quantities['base-stone']}",
                "loads, in and out": "=" + "+".join(f"{q}{one}" for one in loads),
            }[label]
            format = {"$": "money", edition.depth: "General", "load": "whole"}.get(unit, "two")
            style.formula(
                sheet,
                row,
                column,
                made,
                "strong" if label == "price" else "number",
                QUIET_NUMBERS.get(format, format),
                across="right",
            )
        line_below(sheet, row, range(1, WIDTH + 1))
    offered = top + 2 + len(rows)
    style.put(sheet, offered, 1, "offered to the client", "total")
    for column in range(2, 11):
        style.put(sheet, offered, column, None, "total")
    thinner = f"SUM({areas.column('laid')})"
    choice = (
        'IF(JobOffer="stone","stone",IF(GridOption=0,IF(JobOffer="geogrid",NA(),"stone"),'
        'IF(JobOffer="geogrid","geogrid",IF(TotalGeogrid<TotalStone,"geogrid","stone"))))'
    )
    known = 'OR(JobOffer="stone",JobOffer="geogrid",JobOffer="cheaper")'
    style.formula(sheet, offered, 6, f"=IF({IS_SOUND},IF({known},{choice},NA()),NA())", "total", across="right")
    style.formula(sheet, offered, 8, '=IF(Offered="geogrid",TotalGeogrid,TotalStone)', "total", "money", across="right")
    style.put(sheet, offered + 1, 1, "geogrid makes a base thinner in so many areas", "quiet")
    style.formula(sheet, offered + 1, 6, f"=IF(AllSound=1,{thinner},NA())", "quiet", "0", across="right")
    style.formula(
        sheet,
        offered + 1,
        8,
        '=IF(ISNUMBER(GridOption),IF(GridOption=0,"no option here",IF(ISNUMBER(TotalGeogridLaid),'
        "TotalGeogridLaid,NA())),NA())",
        "quiet",
        "money",
        across="right",
    )
    for name, cell in (
        ("Offered", f"F{offered}"),
        ("OfferedTotal", f"H{offered}"),
        ("GridOption", f"F{offered + 1}"),
        ("TotalGeogrid", f"H{offered + 1}"),
    ):
        name_cell(book, name, sheet, cell)


def write_reasons(sheet: Worksheet, top: int, edition: Edition, areas: AreaSheet) -> None:
    """Write the depth of each area in every option, and why the ground needs it."""
    heading(sheet, top, f"Why this depth, area by area (the first {REASONS}; all of them on the sheet Areas)", WIDTH)
    deep = edition.depth
    heads(
        sheet,
        top + 1,
        {
            "A": "area",
            "B": f"stone [{deep}]",
            "C": f"grid [{deep}]",
            "D": f"usual [{deep}]",
            "E": "the reason for the depth, and for the ground it is designed for",
        },
    )
    sheet.merge_cells(start_row=top + 1, start_column=5, end_row=top + 1, end_column=WIDTH)
    style.align(cast(Cell, sheet.cell(top + 1, 5)), across="left", indent=1)
    for place_ in range(REASONS):
        row, area = top + 2 + place_, FIRST + place_
        name = f"Areas!$A${area}"
        style.align(
            style.formula(sheet, row, 1, f'=IF({name}="","",{name}&"")', "label", across="left"),
            up="center",
            wrap=False,
        )
        for column, key in ((2, "depth"), (3, "geogrid_base"), (4, "habit_base")):
            cell = areas.cell(key, area)
            shown = f'IF({cell}="","",IF(ISNUMBER({cell}),{cell},NA()))'
            style.align(
                style.formula(
                    sheet,
                    row,
                    column,
                    f"=IF(ISERROR({cell}),NA(),{shown})",
                    "strong" if column == 2 else "number",
                    "General",
                ),
                up="center",
            )
        why, ground = areas.cell("why", area), areas.cell("ground_why", area)
        text = f'=IF({why}="","",{why}&"   GROUND "&{ground})'
        cell_ = style.formula(sheet, row, 5, text, "text", across="left")
        sheet.merge_cells(start_row=row, start_column=5, end_row=row, end_column=WIDTH)
        style.align(cell_, up="center", wrap=True, indent=1)
        sheet.row_dimensions[row].height = 37
        line_below(sheet, row, range(1, WIDTH + 1))
    mark_words(sheet, f"E{top + 2}:E{top + 1 + REASONS}", f'ISNUMBER(SEARCH("CONFLICT",E{top + 2}))')


def draw_pictures(sheet: Worksheet, top: int, compared: int, reasons: int, edition: Edition) -> None:
    """Draw the price of each option, and the depth of each area in every option."""
    rows = range(top, top + CHART_ROWS)
    for row in rows:
        sheet.row_dimensions[row].height = 15
    names = compared + 2
    for place_, option in enumerate(OPTIONS):  # side by side in columns above; a picture needs them below each other
        style.put(sheet, names + place_, 11, OPTION_WORDS[option], "quiet", across="right")
        cell = f"{AMOUNT[option]}{compared + 2}"
        shown = f"=IF(ISNUMBER({cell}),{cell},0)"
        style.formula(sheet, names + place_, 13, shown, "quiet", _DRAWN, across="right")
        line_below(sheet, names + place_, (11, 13))
    block = Block(sheet, names, names + 2, 11, (13,), ("price",))
    bars = side_by_side(block, "Price of each option, $", _DRAWN, 10.0)
    bars.legend = None
    bars.y_axis.scaling.max = bars.y_axis.majorUnit = None
    place(sheet, bars, top, 1, 245, 144)
    layers = Block(
        sheet, reasons + 2, reasons + 1 + PICTURED, 1, (2, 3, 4), ("stone only", "with geogrid", "usual depth")
    )
    depths = side_by_side(layers, f"Depth of the base, first {PICTURED} areas, {edition.depth}", "0", 10.0)
    depths.y_axis.scaling.max = depths.y_axis.majorUnit = None
    place(sheet, depths, top, 4, 345, 144)


def draw_section(sheet: Worksheet, layers: Worksheet, first: int, edition: Edition) -> None:
    """Draw the section of each area as it is offered: pavers, bedding and base, down into the ground."""
    block = Block(layers, first, first + PICTURED - 1, 1, (5, 6, 7), ("pavers", "bedding", "base offered"))
    drawn = section(block, f"Section of each area, first {PICTURED}", edition.depth, 10.0, "0")
    drawn.y_axis.scaling.max = None
    place(sheet, drawn, PICTURES_ROW, 9, 345, 144)
