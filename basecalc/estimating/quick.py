"""The sheet Quick of the editions with worksheet functions: many driveways, one line each, in cells of their own.

It is in feet and inches, as the eleven functions are, and takes the owner's unit prices, payload and geogrid.
"""

from typing import Final

from openpyxl.utils import get_column_letter

from basecalc.addin.spelling import calc_formula
from basecalc.core.units import convert
from basecalc.estimating.blocks import ANSWER, ANSWER_HEAD, BAND, INPUT, Block, Sheets, first_of
from basecalc.workbook.style import fit_width

SHEET: Final = "Quick"
ROWS: Final = 25
_HEAD: Final = 5
_TYPED: Final = (("Driveway", 20), ("Test", 10), ("Reading", 10), ("Ground was", 9), ("Soil", 10), ("Length, ft", 8), ("Width, ft", 8))


def unit_costs(sheets: Sheets) -> None:
    """Declare what one of each thing costs in feet and tons, from the lines of the estimate."""
    block = Block(sheets, "unit_costs", "Money", 60, None, "What Quick takes from Prices and Company, in feet and tons")
    metric = sheets.units == "metric"
    lines = sheets.blocks["prices"]
    labels = [lines.columns["label"][2](n) for n in range(1, lines.count + 1)]

    def row(label: str) -> int:
        return labels.index(label) + 1

    def each(label: str, kind: str = "") -> str:
        """Return what one unit of the sheet costs, then in feet and tons."""
        cell = lambda key: lines.cell(key, row(label), "Money")  # noqa: E731
        scale = {"yd3": ("m3", "yd3"), "ft2": ("m2", "ft2"), "ton": ("t", "short_ton")}.get(kind)
        factor = 1.0 if not metric or scale is None else 1 / convert(1.0, *scale)
        return f"IF(COUNT({cell('price')},{cell('size')},{cell('rate')})=3,{cell('price')}/({cell('size')}*{cell('rate')})*{factor!r},0)"

    def load(label: str, truck: str) -> str:
        cell = lambda key: lines.cell(key, row(label), "Money")  # noqa: E731
        return first_of([
            (f"COUNT({cell('price')},{cell('size')},{cell('rate')})<3", "NA()"),
            (f'{cell("of")}="lb"', f"{cell('price')}/{cell('size')}*[company.{truck}_payload]"),
            (f'{cell("of")}="ft3"', f"{cell('price')}/{cell('size')}*[company.{truck}_box]"),
        ], f"{cell('price')}/({cell('size')}*{cell('rate')})")[1:]  # fmt: skip

    def work(title: str, kind: str) -> str:
        return "+".join(each(label, kind) for label in (title, f"crew hours: {title}", f"machine hours: {title}"))

    tons = convert(1.0, "t", "short_ton") if metric else 1.0
    inches = 25.4 if metric else 1.0
    feet = 0.3048 if metric else 1.0
    block.add("payload", "Payload of the stone truck, ton", f"=[company.supply_payload]*{tons!r}")
    block.add("spoil_payload", "Payload of the soil truck, ton", f"=[company.spoil_payload]*{tons!r}")
    block.add("box", "Box of the soil truck, yd3", f"=[company.spoil_box]*{convert(1.0, 'm3', 'yd3') if metric else 1.0!r}")
    block.add("above", "Pavers and bedding, in", f"=([company.paver]+[company.bedding])/{inches!r}")
    block.add("lift", "Thickest lift, in", f"=[company.lift]/{inches!r}")
    block.add("roll_length", "Geogrid roll, length, ft", f'=IF([company.grid_row]=0,"",[company.grid_length]/{feet!r})')
    block.add("roll_width", "Geogrid roll, width, ft", f'=IF([company.grid_row]=0,"",[company.grid_width]/{feet!r})')
    block.add("stability", "Geogrid, aperture stability", '=IF([company.grid_aperture_stability]>0,[company.grid_aperture_stability],"")')
    block.add("waste", "Waste of stone", "=[company.stone_waste]")
    block.add("stone", "Stone, a ton", f"={each('base stone', 'ton')}")
    block.add("stone_haul", "Stone, hauling a load", f"={load('haul stone', 'supply')}")
    block.add("dig", "Dig, a yd3", f"={work('dig, in the ground', 'yd3')}")
    block.add("spoil", "Soil, hauling and tipping a load", f"={load('haul soil away', 'spoil')}+{load('tipping fee for soil', 'spoil')}")
    block.add("place", "Placing base, a yd3", f"={work('place and compact the base', 'yd3')}")
    block.add("surface", "Pavers and laying, a ft2", f"={each('pavers', 'ft2')}*(1+[company.cutting])+{work('lay and compact pavers', 'ft2')}")
    block.add("markup", "Markups", "=(1+[company.contingency_share])*(1+[company.overhead_share])/(1-[company.profit_share])")


def quick_sheet(sheets: Sheets, host: str) -> None:
    """Write the sheet: what is typed on the left, what the eleven functions give on the right."""
    page, put = sheets.sheet(SHEET), sheets.put
    page.sheet_view.showGridLines = False
    own = lambda key: sheets.blocks["unit_costs"].cell(key, 1, SHEET)  # noqa: E731
    put(page, 1, 1, "Quick: many driveways, one line each", bold=True, size=14, color=BAND)
    put(page, 2, 1, "Rough numbers for rectangles, open on all sides, light traffic, before tax. A job for a client goes on Entry.")
    put(page, 3, 1, "Each cell on the right is one worksheet function. A # and a sentence says what a function can't use.")

    def call(name: str, *arguments: str) -> str:
        return f"{name}({','.join(arguments)})"

    area, edge = "{F}*{G}", "2*({F}+{G})"
    stone = call("EXCAVATION_VOLUME", area, "{K}", edge)
    grid = f'IF(ISNUMBER({own("stability")}),{call("BASE_DEPTH", "{J}", chr(34) + "light" + chr(34), chr(34) + "geogrid" + chr(34), own("stability"))},"none")'
    spoil = f"ROUNDUP(MAX({{O}}/{own('box')},{{O}}*1.28/{own('spoil_payload')}),0)"
    price = (
        f"({{P}}*{own('stone')}+{{Q}}*{own('stone_haul')}+{{N}}*{own('dig')}+{spoil}*{own('spoil')}+{stone}*{own('place')}"
        f"+{area}*{own('surface')})*{own('markup')}/({area})"
    )
    answers = (
        ("Class", 12, call("STRENGTH_CLASS", "{B}", "{C}", "{D}"), ""),
        ("CBR, %", 9, call("BEARING_RATIO", "{B}", "{C}", "{E}"), "0.0#"),
        ("Designed for", 12, call("SITE_STRENGTH", "{H}"), ""),
        ("Stone only, in", 9, call("BASE_DEPTH", "{J}"), "0"),
        ("Why", 24, call("BASE_DEPTH_REASON", "{J}"), ""),
        ("With geogrid, in", 9, grid, "0"),
        ("Dig, yd3", 9, call("EXCAVATION_VOLUME", area, f"{{K}}+{own('above')}", edge), "#,##0.0"),
        ("Loose, yd3", 9, call("LOOSE_VOLUME", "{N}", "{E}"), "#,##0.0"),
        ("Stone, ton", 9, call("AGGREGATE_TONS", stone, "", "", own("waste")), "#,##0.0"),
        ("Loads", 7, call("TRUCKLOADS", "{P}", own("payload")), "0"),
        ("Lifts", 6, call("BASE_LIFTS", "{K}", own("lift")), "0"),
        ("Rolls of grid", 7, f'IF(ISNUMBER({own("roll_length")}),{call("ROLLS", "MAX({F},{G})", "MIN({F},{G})", own("roll_length"), own("roll_width"))},"none")', "0"),
        ("Price a ft2, stone only", 11, f"IF(COUNT({{K}},{{N}},{{O}},{{P}},{{Q}})=5,{price},NA())", '"$"#,##0.00'),
    )  # fmt: skip
    for column, (title, width) in enumerate(_TYPED, 1):
        put(page, _HEAD, column, title, bold=True, back=BAND, color="FFFFFF", box=True, across="center", wrap=True)
        page.column_dimensions[get_column_letter(column)].width = width
    for place, (title, width, _, _) in enumerate(answers, len(_TYPED) + 1):
        put(page, _HEAD, place, title, bold=True, back=ANSWER_HEAD, color="FFFFFF", box=True, across="center", wrap=True)
        page.column_dimensions[get_column_letter(place)].width = width
    page.row_dimensions[_HEAD].height = 27
    for row in range(_HEAD + 1, _HEAD + 1 + ROWS):
        for column in range(1, len(_TYPED) + 1):
            put(page, row, column, None, back=INPUT, box=True, unlocked=True)
        for place, (_, _, formula, form) in enumerate(answers, len(_TYPED) + 1):
            text = formula
            for letter in "BCDEFGHJKNOPQ":
                text = text.replace("{" + letter + "}", f"${letter}{row}")
            whole = f'=IF(COUNTA($B{row},$C{row},$F{row},$G{row})<4,"",{text})'
            put(page, row, place, calc_formula(whole) if host == "calc" else whole, back=ANSWER, box=True, form=form, across="center")
    page.freeze_panes = f"B{_HEAD + 1}"
    fit_width(page, orientation="landscape")
