"""What is checked before any total is shown, and the line that every sheet shows on top."""

from collections.abc import Mapping
from typing import Final

from openpyxl.utils import get_column_letter
from openpyxl.workbook import Workbook
from openpyxl.worksheet.worksheet import Worksheet

from basecalc.estimating.areas_sheet import FIRST, HEADING_ROW, MORE_ROWS, AreaSheet
from basecalc.estimating.edition import Edition
from basecalc.estimating.estimate_layout import WIDTH
from basecalc.estimating.log_sheet import HEADING_ROW as LOG_HEADINGS
from basecalc.estimating.log_sheet import LAST_COLUMN as LOG_END
from basecalc.estimating.sheet_kit import REFUSED, heading, line_below, name_cell
from basecalc.estimating.tables import AREAS, GROUND, LOG
from basecalc.takeoff.codes import codes
from basecalc.workbook import style

SOUND: Final = "All sound: areas, readings and prices are worked out."
# The one question that every total asks: what the status line says, and it is not worked out from the totals.
IS_SOUND: Final = f'Banner="{SOUND}"'
_BEYOND: Final = 1000  # rows below the reach of the totals that are looked at for strays


def write_checks(
    book: Workbook,
    sheet: Worksheet,
    top: int,
    edition: Edition,
    areas: AreaSheet,
    last_reading: int,
    last_log: int,
    parts: Mapping[str, str],
) -> int:
    """Write what is checked before any total is shown, with the banner of all sheets; return the last row."""
    heading(
        sheet, top, "Checked before any total is shown: 1 is sound; 0 is the fault named, and stops the totals", WIDTH
    )
    checks = [*_checks(edition, areas, last_reading, last_log), ("Prices: a code is not known", _codes_known(book))]
    for place, (told, formula) in enumerate(checks):
        row = top + 1 + place
        style.align(style.put(sheet, row, 1, told, "text"), wrap=False)
        style.formula(sheet, row, 10, f"=IF({formula},1,0)", "number", "0")
        line_below(sheet, row, range(1, WIDTH + 1))
    last = top + len(checks)
    sound = last + 1
    style.put(sheet, sound, 1, "all sound", "label")
    cells = f"J{top + 1}:J{last}"
    style.formula(sheet, sound, 10, f"=IF(ISERROR(SUM({cells})),0,IF(SUM({cells})={len(checks)},1,0))", "strong", "0")
    name_cell(book, "AllSound", sheet, f"J{sound}")
    said = '"no total: a check on the sheet Estimate failed"'
    for place in reversed(range(len(checks))):
        cell = f"J{top + 1 + place}"
        said = f"IF(ISERROR({cell}),A{top + 1 + place},IF({cell}<>1,A{top + 1 + place},{said}))"
    where, functions = _first_refused(areas), f"J{top + 1}"
    style.put(sheet, sound + 1, 1, "what every sheet says on top", "text")
    with_geogrid = f"ISNUMBER({parts['geogrid']})"
    offered = (
        f'OR(JobOffer="stone",AND(JobOffer="cheaper",OR(GridOption=0,{with_geogrid})),'
        f'AND(JobOffer="geogrid",GridOption>0,{with_geogrid}))'
    )
    whole = f"AND(ISNUMBER({parts['stone']}),ISNUMBER({parts['habit']}),ISNUMBER(GridOption))"
    unpriced = (
        f'"{REFUSED}: no total, though all areas are sound: see the cells marked on Estimate (a price is '
        f'missing, or the offer; with the functions missing none can be read: Ctrl+Alt+F9 once they are there)"'
    )
    priced = f'IF({whole},IF(IFERROR({offered},FALSE),"{SOUND}",{unpriced}),{unpriced})'
    banner = (
        f'=IF(AllSound=1,{priced},IF(COUNTA(AreaNames)+1-{functions}=0,"Nothing to work out '
        f'yet: fill in Ground and Areas.","{REFUSED}: "&{said}&IF({functions}=1,{where},"")))'
    )
    style.align(style.formula(sheet, sound + 1, 3, banner, "quiet", across="left"), wrap=False)
    name_cell(book, "Banner", sheet, f"C{sound + 1}")
    return sound + 1


def _codes_known(book: Workbook) -> str:
    """Return the formula that asks whether every code on Prices is a quantity's, or one of the owner's materials.

    Work with a misspelled code would else be priced by its hours, and not by the price beside the code.
    """

    def cells(table: str, column: str) -> str:
        sheet, _, reach = str(book.defined_names[table].attr_text).partition("!")
        first, last = (int(end.split("$")[2]) for end in reach.split(":"))
        return f"{sheet}!${column}${first + 1}:${column}${last}"

    filled = cells("OwnerPrices", "A")
    known = "+".join(f'COUNTIF({filled},"{key}")' for key in codes())
    rows = [cell.row for cell in book["Codes"]["A"] if cell.value in codes()]
    listed = f"Codes!$A${min(rows)}:$A${max(rows)}"
    own = []
    for table in ("OwnerStones", "OwnerPavers", "OwnerRolls"):
        sheet, _, reach = cells(table, "B").partition("!")
        first, last = (int(end.split("$")[2]) for end in reach.split(":"))
        own += [f"{sheet}!$B${row}" for row in range(first, last + 1)]
    others = "+".join(f"IF(COUNTIF({listed},{cell})>0,0,COUNTIF({filled},{cell}))" for cell in own)
    return f"COUNTA({filled})<={known}+{others}"


def _first_refused(areas: AreaSheet) -> str:
    state = areas.column("state")
    found = f'MATCH("{REFUSED}",{state},0)'
    return f'IFERROR(" ("&INDEX(AreaNames,{found})&")","")'


def _checks(edition: Edition, areas: AreaSheet, last_reading: int, last_log: int) -> list[tuple[str, str]]:
    end, reach = get_column_letter(len(AREAS.columns)), last_reading + MORE_ROWS
    state, reach_of_logs = areas.column("state"), last_log + MORE_ROWS
    says = f"Ground!$H${FIRST}:$H${last_reading}"
    money = ",".join(f"ISNUMBER({name})" for name in ("Contingency", "Overhead", "Profit", "SalesTax", "Deposit"))
    made = [
        (
            "the worksheet functions were not loaded when this was worked out: load them (Start says how), then "
            "Ctrl+Alt+F9, in LibreOffice Ctrl+Shift+F9",
            'ISNUMBER(BASE_DEPTH("soft"))',
        ),
        (
            "Company is set to other units than these sheets (make a workbook of the other edition)",
            f'CompanyUnits="{edition.units}"',
        ),
        (
            "Company: contingency, overhead, profit, sales tax or deposit is refused (12 % is typed 12; below 1 % it "
            "needs yes under 'sure?')",
            f"AND({money})",
        ),
        (
            "Company or the traffic on Start: a setting is refused",
            'AND(LEFT(DesignLine,1)<>"#",LEFT(TrafficLine,1)<>"#")',
        ),
        ("Areas: none is filled in", "COUNTA(AreaNames)>0"),
        ("Cone log: a row is refused", 'LEFT(LogLine,1)<>"#"'),
        ("Ground: a reading is refused", f'COUNTIF({says},"#*")=0'),
        ("Ground: the readings do not fit together (a spot in two areas?)", 'LEFT(SiteLine,1)<>"#"'),
        ("Areas: a filled row has no name", 'SUMPRODUCT((AreaNames="")*(AreaRows<>""))=0'),
        ("Areas: a row is refused", f'COUNTIF({state},"{REFUSED}")=0'),
        (
            "Areas: a filled row is not worked out (a row typed below the table may lack its formulas: copy them down)",
            f'SUMPRODUCT(--(AreaNames<>""))=COUNTIF({state},"ok")',
        ),
        (
            "Areas, Ground, Cone log: something is filled in below the rows that are counted",
            f"COUNTA(Areas!$A${areas.last + 1}:${end}${areas.last + _BEYOND},"
            f"Ground!$A${reach + 1}:$G${reach + _BEYOND},"
            f"'{LOG.sheet}'!$A${reach_of_logs + 1}:${LOG_END}${reach_of_logs + _BEYOND})=0",
        ),
    ]
    for first in range(0, len(AREAS.columns), 8):
        part = AREAS.columns[first : first + 8]
        cells = "&".join(f"Areas!${get_column_letter(first + place + 1)}${HEADING_ROW}" for place in range(len(part)))
        words = "".join(column.heading(edition.units) for column in part)
        made.append(
            (f"Areas: one of the headings {first + 1} to {first + len(part)} was changed", f'{cells}="{words}"')
        )
    for table, heading_row in ((GROUND, HEADING_ROW), (LOG, LOG_HEADINGS)):
        letters = [get_column_letter(at) for at in range(1, len(table.columns) + 1)]
        cells = "&".join(f"'{table.sheet}'!${letter}${heading_row}" for letter in letters)
        words = "".join(column.heading(edition.units) for column in table.columns)
        made.append((f"{table.sheet}: a heading was changed", f'{cells}="{words}"'))
    return made
