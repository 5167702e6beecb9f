"""The sheets to read and print: Estimate with all options side by side, a one-page Quote, and the short Start."""

from typing import Final

from basecalc.core.words import OPTION_WORDS
from basecalc.estimating.blocks import BAND, LINE, PALE, Sheets
from basecalc.estimating.host_excel import START_STEPS
from basecalc.estimating.owner import Owner
from basecalc.estimating.takeoff import OPTIONS
from basecalc.takeoff.model import SCOPES
from basecalc.workbook.style import fit_width

_MONEY: Final = '"$"#,##0.00'
_SUMS: Final = ("cost", "contingency", "overhead", "profit", "tax", "price_total")
_LINES: Final = 7 + len(_SUMS)  # first row of the lines, below the sums
START: Final = (
    "1  Company and Prices hold your settings and unit prices. You fill them in once; every new workbook takes them along.",
    "2  Entry is the only sheet you type on for a job. Do what its second line says until it reads READY.",
    "3  Estimate shows the options side by side, line by line. Quote is one page to print.",
    "4  For the client's proposal, the crew sheet and the stone order, save the file and run: basecalc quote FILE",
    "5  For the next job, start from a fresh copy: basecalc template NEW.xlsx --prices THIS.xlsx",
    "All other sheets are the calculation, step by step. They are locked, without a password, so that you can look but not break them.",
    'Numbers are typed as the trade writes them: 1/2, 1-1/2", 14\'-6", 14 ft 6 in, 22 kPa. Nothing here needs a macro or an add-in.',
)


def start_sheet(sheets: Sheets, host: str) -> None:
    """Write the sheet that says in a few lines what to do."""
    lines = [*START]
    if host != "any":
        lines.append(
            "Quick (many driveways, one line each) is the only sheet that needs the worksheet functions of basecalc."
        )
    if host == "excel":
        lines += START_STEPS
    elif host == "calc":
        lines.append(
            "LibreOffice: basecalc addin --for calc FILE.oxt, then Tools > Extension Manager > Add, and start it again."
        )
    page, put = sheets.sheet("Start"), sheets.put
    page.sheet_view.showGridLines = False
    put(page, 1, 1, "Driveway estimating workbook", bold=True, size=16, color=BAND)
    page.row_dimensions[1].height = 30
    put(page, 2, 1, '=HYPERLINK("#Entry!C4","Go to Entry")', bold=True, size=11, color="1D4E89")
    for row, text in enumerate(lines, 4):
        put(page, row, 1, text, size=11, wrap=True)
        page.row_dimensions[row].height = 32
    page.column_dimensions["A"].width = 110
    fit_width(page, orientation="landscape")


def estimate_sheet(sheets: Sheets) -> None:
    """Write the office's estimate: lines and sums of each option."""
    page, put = sheets.sheet("Estimate"), sheets.put
    page.sheet_view.showGridLines = False
    prices, result = sheets.blocks["prices"], sheets.blocks["result"]
    problems = result.cell("problems", 1, "Estimate")
    put(page, 1, 1, "Estimate", bold=True, size=16, color=BAND)
    page.row_dimensions[1].height = 24
    put(
        page,
        2,
        1,
        f'=IF({problems}=0,"For the office: costs and markups, not for the client.",{problems}&" to fix on Entry. No total is shown before that.")',
        bold=True,
    )
    put(page, _LINES - 1, 1, "Line", bold=True, back=BAND, color="FFFFFF", box=True)
    for column, title in ((2, "Unit price"), (3, "per")):
        put(page, _LINES - 1, column, title, bold=True, back=BAND, color="FFFFFF", box=True, across="center")
    for place, option in enumerate(OPTIONS):
        at = 4 + 2 * place
        put(page, 3, at, option.title, bold=True, size=10, across="center")
        page.merge_cells(start_row=3, end_row=3, start_column=at, end_column=at + 1)
        for column, title in ((at, "Quantity"), (at + 1, "Cost")):
            put(page, _LINES - 1, column, title, bold=True, back=BAND, color="FFFFFF", box=True, across="center")
    there = {option.key: _there(sheets, option.key) for option in OPTIONS}
    count = prices.count
    column_of = lambda key: prices.range(key, "Estimate")  # noqa: E731
    for at, key in enumerate(_SUMS):
        row = 5 + at
        bold = key in ("cost", "price_total")
        label = sheets.blocks["stone_price"].columns[key][1]
        put(page, row, 1, label.capitalize(), bold=bold)
        for place, option in enumerate(OPTIONS):
            value = sheets.blocks[f"{option.key}_price"].cell(key, 1, "Estimate")
            put(
                page,
                row,
                5 + 2 * place,
                f'=IF(OR({problems}>0,{there[option.key]}=0),"-",{value})',
                bold=bold,
                form=_MONEY,
                across="right",
                back=PALE if bold else "",
            )
    row = 4 + len(_SUMS) + 1
    put(page, row, 1, "Total as offered", bold=True, size=11)
    chosen = result.cell("chosen", 1, "Estimate")
    put(page, row, 5, f'=IF({problems}>0,"not yet",{chosen})', bold=True, size=11, form=_MONEY, across="right")
    stone, grid = OPTION_WORDS["stone"], OPTION_WORDS["geogrid"]
    put(
        page,
        row,
        6,
        f'=IF({problems}>0,"",IF({result.cell("takes_grid", 1, "Estimate")}=1,"{grid}","{stone}"))',
        bold=True,
    )
    for n in range(1, count + 1):
        row = _LINES - 1 + n
        nth = f"MATCH({n},{column_of('shown')},0)"
        used = f"AND({problems}=0,{n}<=MAX({column_of('shown')}))"
        put(page, row, 1, f'=IF({used},INDEX({column_of("label")},{nth}),"")')
        put(page, row, 2, f'=IF({used},INDEX({column_of("price")},{nth}),"")', form=_MONEY)
        put(page, row, 3, f'=IF({used},INDEX({column_of("unit")},{nth}),"")', across="center")
        for place, option in enumerate(OPTIONS):
            for column, key, form in ((4 + 2 * place, "bought", "#,##0.00"), (5 + 2 * place, "line", _MONEY)):
                value = f"INDEX({column_of(option.key + '_' + key)},{nth})"
                shown = f'=IF(AND({used},{there[option.key]}=1),IF({value}=0,"",{value}),"")'
                put(page, row, column, shown, form=form, across="right")
    for name, width in zip("ABCDEFGHI", (38, 11, 7, 12, 13, 12, 13, 12, 14), strict=True):
        page.column_dimensions[name].width = width
    page.freeze_panes = "B5"
    fit_width(page)


def _there(sheets: Sheets, key: str) -> str:
    result = sheets.blocks["result"]
    return {
        "stone": "1",
        "grid": result.cell("grid_there", 1, "Estimate"),
        "usual": sheets.blocks["usual_price"].cell("sound", 1, "Estimate"),
    }[key]


def quote_sheet(sheets: Sheets, owner: Owner) -> None:
    """Write one page for the client: who, what, price, terms of payment, signatures; no cost and no markup."""
    page, put, blocks = sheets.sheet("Quote"), sheets.put, sheets.blocks
    page.sheet_view.showGridLines = False
    result = blocks["result"]
    problems, chosen = (result.cell(key, 1, "Quote") for key in ("problems", "chosen"))
    job = lambda key: blocks["job"].cell(key, 1, "Quote")  # noqa: E731
    put(page, 1, 1, f"={blocks['company'].cell('name', 1, 'Quote')}", bold=True, size=16, color=BAND)
    page.row_dimensions[1].height = 24
    contact = "&".join(
        f'IF({owner.setting(key)}="","",{owner.setting(key)}&"   ")' for key in ("address", "phone", "email")
    )
    put(page, 2, 1, f"={contact}")
    put(page, 4, 1, "Quote", bold=True, size=14)
    put(page, 5, 1, f'=IF({problems}>0,"NOT READY: see Problems","")', bold=True, color="8A1C1C")
    for row, (label, key) in enumerate(
        (("Client", "client"), ("Site", "site"), ("Quote number", "number"), ("Date", "date")), 6
    ):
        put(page, row, 1, label, bold=True)
        put(page, row, 2, f"={job(key)}")
    put(page, 11, 1, "Price, tax included", bold=True, size=12)
    put(page, 11, 3, f'=IF({problems}>0,"not yet",{chosen})', bold=True, size=12, form=_MONEY, across="right")
    deposit = f'=IF({problems}>0,"not yet",{result.cell("deposit", 1, "Quote")})'
    put(page, 12, 1, "Deposit at signing")
    put(page, 12, 3, deposit, form=_MONEY, across="right")
    put(page, 13, 1, f'="This quote is good for "&{owner.setting("valid_days")}&" days. "&{owner.setting("tax_note")}')
    put(page, 15, 1, _included(sheets, problems), wrap=True)
    page.merge_cells("A15:C15")
    page.row_dimensions[15].height = 42
    put(page, 18, 1, "Client: signature, date", color=LINE)
    put(page, 18, 3, "For the company: signature, date", color=LINE)
    put(page, 20, 1, "What we build", bold=True, size=11)
    unit, area_unit = ("in", "sq ft") if owner.units == "us" else ("mm", "m²")
    for column, title in enumerate(("Area", "Paved", "Base depth"), 1):
        put(page, 21, column, title, bold=True, back=PALE, box=True)
    places, takes = blocks["places"], result.cell("takes_grid", 1, "Quote")
    stone, grid, laid = (
        (lambda n, key=key: blocks["depth"].cell(key, n, "Quote")) for key in ("stone", "with_grid", "laid")
    )
    for n in range(1, places.count + 1):
        used = f"AND({problems}=0,{places.cell('used', n, 'Quote')}=1)"
        on_grid = f'IF(AND({takes}=1,{laid(n)}=1)," on geogrid","")'
        put(page, 21 + n, 1, f'=IF({used},{places.cell("name", n, "Quote")},"")')
        plan = f'=IF({used},ROUND({places.cell("plan", n, "Quote")},0),"")'
        put(page, 21 + n, 2, plan, form=f'#,##0" {area_unit}"')
        put(page, 21 + n, 3, f'=IF({used},IF({takes}=1,{grid(n)},{stone(n)})&" {unit}"&{on_grid},"")')
    for name, width in zip("ABC", (38, 22, 34), strict=True):
        page.column_dimensions[name].width = width
    fit_width(page)


def _included(sheets: Sheets, problems: str) -> str:
    """Return a formula that names what the price includes: each of the client's lines that costs anything."""
    prices, grid = sheets.blocks["prices"], sheets.blocks["result"].cell("takes_grid", 1, "Quote")
    of = lambda key: prices.range(key, "Quote")  # noqa: E731
    parts = [
        f'IF(IF({grid}=1,SUMIF({of("scope")},"{key}",{of("grid_line")}),SUMIF({of("scope")},"{key}",{of("stone_line")}))>0,", {scope.title.lower()}","")'
        for key, scope in SCOPES.items()
    ]
    extras = sheets.blocks["extras"]
    parts.append(extras.cell("included", extras.count, "Quote"))
    return f'=IF({problems}>0,"","Included: "&MID({"&".join(parts)},3,2000)&".")'
