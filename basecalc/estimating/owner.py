"""The owner's sheets Company and Prices as the calculation reads them: settings by label, tables by name, prices.

What the depths were worked out from is kept beside them. Where the owner changes it later, the workbook asks to be made
anew rather than show a depth for other settings.
"""

from collections.abc import Mapping
from typing import Any, Final

from openpyxl.utils import get_column_letter as letter
from openpyxl.utils import range_boundaries
from openpyxl.workbook import Workbook

from basecalc.company import COMPANY_SHEET, COMPANY_TABLES, SETTING_ROWS, settings
from basecalc.core.expressions import KINDS
from basecalc.core.published import table
from basecalc.core.units import INCH_M, POUND_KG, PRICE_UNITS, convert
from basecalc.estimating.blocks import Block, Sheets, first_of
from basecalc.ground.readings import SOILS, pavement_rule, soil_named
from basecalc.pricing.prices import PRICES, PRICES_SHEET
from basecalc.takeoff.model import CODES
from basecalc.takeoff.takeoff import BAG_KG, spoil_density_kg_m3

SHEET: Final = "Owner"
_PRICE_ROWS: Final = 200


class Owner:
    """Where each column of the owner's tables is."""

    def __init__(self, book: Workbook, units: str) -> None:
        self.units = units
        self.columns: dict[str, dict[str, str]] = {}
        self.headings: list[tuple[str, str]] = []  # a heading's cell, and what it says now
        for of in (*COMPANY_TABLES, SETTING_ROWS, PRICES):
            sheet = PRICES_SHEET if of is PRICES else COMPANY_SHEET
            left, top, _, bottom = (int(edge or 0) for edge in range_boundaries(book[sheet].tables[of.name].ref))
            last = top + _PRICE_ROWS if of is PRICES else bottom
            self.columns[of.key] = {}
            for place, column in enumerate(of.fields):
                at = letter(left + place)
                self.columns[of.key][column.key] = f"{sheet}!${at}${top + 1}:${at}${last}"
                self.headings.append((f"{sheet}!${at}${top}", str(book[sheet].cell(top, left + place).value)))

    def column(self, table_key: str, field: str) -> str:
        """Return the range of a column."""
        return self.columns[table_key][field]

    def setting(self, key: str, field: str = "value") -> str:
        """Return a formula for a setting, found by its label."""
        label = settings()[key].label.replace('"', '""')
        return f'INDEX({self.column("settings", field)},MATCH("{label}",{self.column("settings", "label")},0))'

    def row_of(self, table_key: str, field: str, word: str, asked: str, use: str) -> str:
        """Return a formula for the row of the material that a job names, or of the first of that use."""
        uses = self.column(table_key, use) if use else ""
        named = f"MATCH({asked},{self.column(table_key, field)},0)"
        first = f'MATCH("{word}",{uses},0)' if uses else "1"
        return f'IF({asked}="",{first},{named})'


def units_block(sheets: Sheets, spelled: list[tuple[str, float]]) -> None:
    """Declare the units that a typed number may carry."""
    block = Block(sheets, "units", "Lists", 3, len(spelled), "Units behind a typed number", left=0)
    block.add("key", "Kind and unit", [word for word, _ in spelled])
    block.add("factor", "One of it is", [size for _, size in spelled])


def soils_block(sheets: Sheets, owner: Owner) -> None:
    """Declare the soils: fine or not, swell (the owner's, else the table's), weight, frost group where nothing is known."""
    metric = owner.units == "metric"
    weight = KINDS["density"].si(owner.units)
    frost = table("frost_soils")
    block = Block(sheets, "soils", "Lists", 3, len(SOILS), "Soils", left=0)
    block.add("name", "Soil", list(SOILS))
    block.add("fine", "Fine", [int(soil_named(soil).fine) for soil in SOILS])
    block.add("printed", "Swell, printed", [soil_named(soil).swell for soil in SOILS])
    own = f'MATCH([name],{owner.column("soils", "soil")},0)'
    block.add("swell", "Swell", f'=IF(ISNA({own}),[printed],INDEX({owner.column("soils", "swell")},{own}))')
    block.add("weight", "Loose weight", [float(f"{spoil_density_kg_m3(soil) / float(weight):.15g}") for soil in SOILS])
    for curve in [str(row["curve"]) for row in table("cone_equations").rows]:
        block.add(f"cone_{curve.lower()}", f"Curve {curve}", [int(curve in soil_named(soil).cone) for soil in SOILS])
    block.add("frost_kind", "Frost table", [str(frost.exact(soil)["kind"]) for soil in SOILS])
    block.add("frost_unknown", "Frost group, nothing known", [str(frost.exact(soil)["unknown"]) for soil in SOILS])
    kinds = table("old_pavements").rows
    rubble = Block(sheets, "old_kinds", "Lists", 3, len(kinds), "Old pavements", left=0)
    rubble.add("name", "Kind", [str(one["kind"]) for one in kinds])
    rubble.add(
        "weight", "Weight in place",
        [float(f"{convert(float(one['in_place']), 'lb/yd3', 't/m3' if metric else 'short_ton/yd3'):.15g}") for one in kinds],
    )  # fmt: skip
    rubble.add("bulking", "Bulking", [float(one["bulking"]) for one in kinds])


def price_units_block(sheets: Sheets) -> None:
    """Declare the units a price may be for: which dimension, and one of it in feet, pounds, or pieces."""
    base = {"ton": "lb", "t": "lb", "lb": "lb", "kg": "lb", "yd3": "ft3", "ft3": "ft3", "m3": "ft3", "ft2": "ft2", "yd2": "ft2",
            "m2": "ft2", "ft": "ft", "m": "ft"}  # fmt: skip
    spelled = [(word, unit) for unit, others in PRICE_UNITS.items() for word in (unit, *others)]
    block = Block(sheets, "price_units", "Lists", 3, len(spelled), "Units of a price", left=0)
    block.add("word", "Unit", [word for word, _ in spelled])
    block.add("of", "Measures", [base.get(unit, unit) for _, unit in spelled])
    sizes = {unit: float(f"{convert(1.0, 'short_ton' if unit == 'ton' else unit, of):.15g}") for unit, of in base.items()}
    block.add("size", "One of it is", [sizes.get(unit, 1.0) for _, unit in spelled])


def company_block(sheets: Sheets, owner: Owner) -> Block:
    """Declare the figures of the company that a job is worked out with."""
    metric = owner.units == "metric"
    block = Block(sheets, "company", SHEET, 3, None, "What the job takes from Company")
    rows = (
        ("stone_row", "stones", "base", "[job.stone]", "use", "Row of the base stone"),
        ("sand_row", "stones", "bedding", '""', "use", "Row of the bedding sand"),
        ("gravel_row", "stones", "fill", '""', "use", "Row of the granular fill"),
        ("paver_row", "pavers", "", "[job.paver]", "", "Row of the paver"),
        ("grid_row", "rolls", "geogrid", "[job.geogrid]", "kind", "Row of the geogrid"),
        ("textile_row", "rolls", "geotextile", "[job.geotextile]", "kind", "Row of the geotextile"),
    )
    for key, of, word, asked, use, label in rows:
        block.add(key, label, f"=IFERROR({owner.row_of(of, 'name', word, asked, use)},0)")
    for key, word in (("spoil", "spoil"), ("supply", "stone")):
        asked = f"[job.{'spoil' if key == 'spoil' else 'stone'}_truck]"
        uses, names = owner.column("trucks", "use"), owner.column("trucks", "name")
        first = f'MIN(IF(ISNA(MATCH("{word}",{uses},0)),999,MATCH("{word}",{uses},0)),IF(ISNA(MATCH("both",{uses},0)),999,MATCH("both",{uses},0)))'
        block.add(f"{key}_row", f"Row of the {word} truck", f'=IFERROR(IF({asked}="",{first},MATCH({asked},{names},0)),0)')
    _figures(block, owner, metric=metric)
    for key in ("contingency", "overhead", "profit", "tax_rate", "discount", "deposit", "progress"):
        block.add(f"{key.removesuffix('_rate')}_share", settings()[key].label, f"={owner.setting(key)}")
    for key in ("mobilization", "minimum_charge"):
        block.add(key, settings()[key].label, f"={owner.setting(key)}")
    whole = owner.setting("round_price")
    block.add("round_to", settings()["round_price"].label, f'=IF({whole}&""="off",0,VALUE({whole}&""))')
    block.add("standard", settings()["standard_depth_m"].label, f"={owner.setting('standard_depth_m')}")
    block.add("class_edge", settings()["design.class_edge"].label, f"={owner.setting('design.class_edge')}")
    block.add("class_down", settings()["class_down"].label, f'=IF({owner.setting("class_down")}="no",0,1)')
    block.add("allowance", settings()["design.reading_allowance"].label, f"={owner.setting('design.reading_allowance')}")
    block.add("spot_rule", settings()["design.spot_rule"].label, f"={owner.setting('design.spot_rule')}")
    block.add("frost_counts", settings()["checks.frost"].label, f'=IF({owner.setting("checks.frost")}="yes",1,0)')
    block.add("valid_days", settings()["valid_days"].label, f"={owner.setting('valid_days')}")
    block.add("name", settings()["name"].label, f'={owner.setting("name")}&""')
    return block


def _figures(block: Block, owner: Owner, *, metric: bool) -> None:
    """Declare the inputs of the table `company` of the declared take-off."""
    def of(table_key: str, field: str, row: str) -> str:
        return f'=IF([{row}]=0,"",IF(INDEX({owner.column(table_key, field)},[{row}])="","",INDEX({owner.column(table_key, field)},[{row}])))'

    block.add("paver", "Paver thickness", of("pavers", "thickness", "paver_row"))
    block.add("bedding", "Bedding sand", f"={owner.setting('design.bedding_m')}")
    block.add("least_reach", "Least reach beyond the edge", f"={owner.setting('edge_extension_m')}")
    block.add("lift", "Thickest lift", f"={owner.setting('lift_m')}")
    thinnest = pavement_rule("thinnest old base that stays")
    block.add("thinnest_old", "Thinnest old base that stays", thinnest * INCH_M * 1000 if metric else thinnest)
    block.add("cutting", "Cutting waste", of("pavers", "cutting_waste", "paver_row"))
    block.add("joint_cover", "Joint sand", f"={owner.setting('joint_sand_kg_m2')}")
    block.add("bag", "Bag of joint sand", BAG_KG if metric else BAG_KG / POUND_KG)
    for key in ("stone", "sand", "gravel"):
        for field, column in (("density", "loose_density"), ("factor", "compaction_factor"), ("waste", "waste")):
            block.add(f"{key}_{field}", f"{key}: {field}", of("stones", column, f"{key}_row"))
    block.add("gravel_swell", "Swell of old gravel", '=INDEX([soils.swell:],MATCH("gravel",[soils.name:],0))')
    block.add("gravel_weight", "Weight of loose old gravel", '=INDEX([soils.weight:],MATCH("gravel",[soils.name:],0))')
    for key in ("spoil", "supply"):
        for field in ("payload", "box"):
            block.add(f"{key}_{field}", f"{key} truck: {field}", of("trucks", field, f"{key}_row"))
    for key in ("textile", "grid"):
        for field in ("length", "width", "overlap"):
            block.add(f"{key}_{field}", f"{key}: {field}", of("rolls", field, f"{key}_row"))
    for field in ("aperture_stability", "reduction"):
        cell = f'INDEX({owner.column("rolls", field)},[grid_row])'
        block.add(f"grid_{field}", f"geogrid: {field.replace('_', ' ')}", f'=IF([grid_row]=0,0,IF(ISNUMBER({cell}),{cell},0))')


def depth_settings(owner: Owner, book: Workbook) -> list[tuple[str, str, Any]]:
    """Return label, formula and value now of everything the thresholds were worked out from."""
    found: list[tuple[str, str, Any]] = []
    labels = {str(book[COMPANY_SHEET].cell(row, 1).value): row for row in range(1, book[COMPANY_SHEET].max_row + 1)}
    used = [key for key in settings() if key.startswith(("design.", "checks."))]
    for key in used:
        if key not in ("design.class_edge", "design.reading_allowance", "design.spot_rule", "checks.frost"):
            row = labels[settings()[key].label]
            for field, column in (("value", 2), ("unit", 3)):
                found.append((settings()[key].label, owner.setting(key, field), book[COMPANY_SHEET].cell(row, column).value))
    for field, span in owner.columns["traffics"].items():
        if field != "meaning":
            left, top, _, bottom = range_boundaries(span.split("!")[1].replace("$", ""))
            for row in range(int(top or 1), int(bottom or 1) + 1):
                cell = f"{COMPANY_SHEET}!${letter(int(left or 1))}${row}"
                found.append(("traffic levels of your own", cell, book[COMPANY_SHEET].cell(row, int(left or 1)).value))
    return found


def price_problem(code_cell: str, owner: Owner) -> str:
    """Return a formula for what is wrong with the price row of a code; nothing where it is sound."""
    count = f"SUMPRODUCT(--({owner.column('prices', 'code')}={code_cell}))"
    row = f"MATCH({code_cell},{owner.column('prices', 'code')},0)"
    price, taxable = (f"INDEX({owner.column('prices', field)},{row})" for field in ("unit_price", "taxable"))
    return first_of([
        (f"{count}=0", f'"Add a row "&{code_cell}&" to Prices."'),
        (f"{count}>1", f'"Prices has two rows for "&{code_cell}&". Keep one."'),
        (f"NOT(ISNUMBER({price}))", f'"Type the unit price of "&{code_cell}&" on Prices. Type 0 if it is free."'),
        (f"OR({price}<0,{price}>1000000)", f'"The unit price of "&{code_cell}&" on Prices is out of range."'),
        (f'AND({taxable}<>"yes",{taxable}<>"no")', f'"Is "&{code_cell}&" taxable? Type yes or no on Prices."'),
    ])[1:]  # fmt: skip


def work_codes() -> Mapping[str, Any]:
    """Return the codes of work that may be priced by its hours."""
    return {key: code for key, code in CODES.items() if code.kind == "work"}
