"""The sheet Quote: what the client pays for the offered option, by scope, to the cent."""

from typing import Final, cast

from openpyxl.cell.cell import Cell
from openpyxl.workbook import Workbook
from openpyxl.worksheet.worksheet import Worksheet

from basecalc.estimating.areas_sheet import FIRST, AreaSheet
from basecalc.estimating.edition import Edition
from basecalc.estimating.estimate_checks import IS_SOUND
from basecalc.estimating.sheet_kit import BEGUN, heading, line_below, lock, mark_refusals, name_cell, title
from basecalc.estimating.tables import QUOTE_SHEET
from basecalc.takeoff.codes import scopes
from basecalc.workbook import style

WIDTH: Final = 3
_WIDTHS: Final = (30, 62, 16, 4, 15, 15, 15, 8)
FOUND_ROW: Final = 10  # heading of the areas; the first of them stands two rows below
_AREAS: Final = 12


def write_quote_sheet(book: Workbook, edition: Edition, areas: AreaSheet, owner: str, terms: tuple[int, int]) -> None:
    """Write the sheet Quote."""
    sheet = cast(Worksheet, book.create_sheet(QUOTE_SHEET))
    style.widths(sheet, *_WIDTHS)
    title(sheet, "Quote", "")
    style.formula(sheet, 2, 1, '=CompanyName&""', "subtitle", across="left")
    status = style.formula(sheet, 3, 1, f'=IF({IS_SOUND},"",Banner)', "caution", across="left")
    style.align(status, wrap=False, up="center")
    rows = (
        ("quote", '=JobNumber&""'),
        ("for", '=JobClient&""'),
        ("site", '=JobSite&""'),
        ("date", '=IF(JobDate="","",JobDate)'),
        ("prepared by", '=JobPreparedBy&""'),
    )
    for row, (label, text) in enumerate(rows, 4):
        style.put(sheet, row, 1, label, "quiet")
        style.formula(sheet, row, 2, text, "text", "date" if label == "date" else "", across="left")
    row = FOUND_ROW
    heading(sheet, row, "What we found, and the base it needs", WIDTH)
    style.put(sheet, row + 1, 1, "area", "column")
    style.put(sheet, row + 1, 2, "ground", "column")
    style.put(sheet, row + 1, 3, f"stone base [{edition.depth}]", "column", across="right")
    for place in range(_AREAS):
        at, area = row + 2 + place, FIRST + place
        name = f"Areas!$A${area}"
        style.formula(sheet, at, 1, f'=IF({name}="","",{name}&"")', "label", across="left")
        ground = areas.cell("strength", area)
        style.formula(
            sheet,
            at,
            2,
            f'=IF({name}="","",IF(ISNUMBER({ground}),"measured, CBR "&ROUND({ground},1)&" %",{ground}&" ground"))',
            "text",
            across="left",
        )
        stone, grid = areas.cell("stone_base", area), areas.cell("geogrid_base", area)
        style.formula(sheet, at, 3, f'=IF({name}="","",IF(Offered="geogrid",{grid},{stone}))', "strong", "General")
        drawn = ("PaverThickness", "Bedding", f"$C{at}")
        for column, layer in enumerate(drawn, 5):
            shown = f'=IF(ISNUMBER($C{at}),{layer},"")'
            style.formula(sheet, at, column, shown, "quiet", "General", across="right")
    for column, words in enumerate(("pavers", "bedding", "base, as drawn on Estimate"), 5):
        style.align(style.put(sheet, row + 1, column, words, "quiet", across="right"), wrap=False)
    row += _AREAS + 3
    row = _prices(book, sheet, row)
    heading(sheet, row, "Terms", WIDTH)
    first, last = terms
    for place, line in enumerate(range(first, last + 1)):
        cell = style.formula(sheet, row + 1 + place, 1, f'={owner}!$A${line}&""', "quiet", across="left")
        sheet.merge_cells(start_row=row + 1 + place, start_column=1, end_row=row + 1 + place, end_column=WIDTH)
        style.align(cell, wrap=True)
        sheet.row_dimensions[row + 1 + place].height = 26
    end = row + 1 + last - first
    mark_refusals(sheet, f"A4:C{end}", "A4", begun=BEGUN)
    lock(sheet)
    sheet.freeze_panes = "A3"
    style.page(
        sheet,
        f"A1:C{end}",
        units=edition.units,
        foot="A draft on one sheet; the client's own file is made by: basecalc quote",
    )


def _prices(book: Workbook, sheet: Worksheet, top: int) -> int:
    """Write the price by scope, the total spread to the cent with the largest remainders first; return a row below."""
    heading(sheet, top, "Price", WIDTH)
    for at, text in ((5, "weight"), (6, "share, cents"), (7, "remainder")):
        style.put(sheet, top, at, text, "quiet", across="right")
    first, last = top + 1, top + len(scopes())
    total = last + 1
    weights, whole, left = (f"${c}${first}:${c}${last}" for c in "EFG")
    marked = "(1+Contingency)*(1+Overhead)/(1-Profit)"
    for row, (key, scope) in enumerate(scopes().items(), first):
        unused = f"IF(ISNUMBER($E{row}),$E{row}=0,FALSE)"
        style.formula(sheet, row, 1, f'=IF({unused},"","{scope.title}")', "label", across="left")
        cell = style.formula(sheet, row, 2, f'=IF({unused},"","{scope.text}")', "quiet", across="left")
        style.align(cell, wrap=True)
        style.fit_height(sheet, row, {66: scope.text}, size=9)
        weight = "+".join(
            f'SUMPRODUCT(--(LineScopes="{key}"),--(LineTaxed="{taxed}"),Line{{option}})*({factor})'
            for taxed, factor in (("yes", f"{marked}+SalesTax"), ("no", marked))
        )
        chosen = f'IF(Offered="geogrid",{weight.replace("{option}", "Geogrid")},{weight.replace("{option}", "Stone")})'
        style.formula(sheet, row, 5, f"=IF(ISNUMBER(OfferedTotal),{chosen},NA())", "quiet", "two", across="right")
        exact = f"ROUND(OfferedTotal*100,0)*$E{row}/SUM({weights})"
        style.formula(sheet, row, 6, f"=IF(SUM({weights})=0,0,INT(ROUND({exact},6)))", "quiet", "0", across="right")
        style.formula(
            sheet, row, 7, f"=IF(SUM({weights})=0,0,ROUND({exact}-$F{row},6))", "quiet", "0.000", across="right"
        )
        ahead = f"SUMPRODUCT(--({left}>$G{row}))"
        before = f"+SUMPRODUCT(--($G${first - 1}:$G{row - 1}=$G{row}))" if row > first else ""
        extra = f"IF({ahead}{before}<ROUND(OfferedTotal*100,0)-SUM({whole}),1,0)"
        style.formula(sheet, row, 3, f'=IF($E{row}=0,"",($F{row}+{extra})/100)', "number", "money", across="right")
        line_below(sheet, row, range(1, WIDTH + 1))
        style.align(cast(Cell, sheet.cell(row, 1)), up="top")
    needed = 'AND(TRIM(JobNumber&"")<>"",TRIM(JobClient&"")<>"",TRIM(JobSite&"")<>"")'
    for column in (1, 2, 3):
        style.put(sheet, total, column, None, "total")
    style.put(sheet, total, 1, "total, tax included", "total")
    style.formula(
        sheet,
        total,
        2,
        f'=IF({needed},IF(ISNUMBER(OfferedTotal),"","REFUSED: no total, see Estimate"),"REFUSED: quote '
        f'number, client or site is missing on Start")',
        "total",
        across="right",
    )
    style.formula(
        sheet,
        total,
        3,
        f"=IF({needed},IF({IS_SOUND},IF(ROUND(SUM($C${first}:$C${last})-OfferedTotal,2)=0,OfferedTotal,NA()),NA()),NA())",
        "total",
        "money",
        across="right",
    )
    name_cell(book, "QuotedTotal", sheet, f"C{total}")
    style.put(sheet, total + 1, 1, "deposit at signing", "text")
    style.formula(
        sheet,
        total + 1,
        3,
        "=IF(AND(ISNUMBER(QuotedTotal),ISNUMBER(Deposit)),ROUND(ROUND(QuotedTotal*Deposit*100,6),0)/100,NA())",
        "number",
        "money",
        across="right",
    )
    style.put(sheet, total + 2, 1, "good for [days]", "text")
    style.formula(sheet, total + 2, 3, "=IF(ISNUMBER(ValidDays),ValidDays,NA())", "number", "0", across="right")
    style.formula(sheet, total + 3, 1, '=TaxNote&""', "quiet", across="left")
    style.align(cast(Cell, sheet.cell(total + 3, 1)), wrap=False)
    return total + 5
