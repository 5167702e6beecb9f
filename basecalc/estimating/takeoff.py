"""Take-off and price on sheets: the declared quantities (`basecalc.takeoff.model`) written as formulas, option by option.

Nothing is worked out here. A quantity's formula comes from its declaration; this room says which cell each of its names
is: what is typed, what the company has, the base of the option.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

from basecalc.core.published import table
from basecalc.core.units import convert
from basecalc.core.words import OPTION_WORDS, capital
from basecalc.estimating.blocks import Block, Sheets, first_of
from basecalc.estimating.fields import LINE_FIELDS
from basecalc.estimating.owner import Owner, price_problem, work_codes
from basecalc.estimating.plan import Typing
from basecalc.takeoff.codes import code
from basecalc.takeoff.model import CODES, MODEL

STRIPS: Final = 60  # of a roll, all places together
LINES_SHEET: Final = "Lines"
EXTRAS_SHEET: Final = "Extra lines"
PLACE_INPUTS: Final = ("plan", "open", "corner", "long", "wide", "finish", "swell", "weight", "old", "old_kind", "old_weight",
                       "bulking", "along", "fill_width", "fill_depth", "sound_at", "edge", "textile")  # fmt: skip
USED: Final = "SUM([places.used:])"


@dataclass(frozen=True, slots=True)
class Option:
    """One way to build: its name in the tables, its sheet, the base of each place, whether geogrid and old base count."""

    key: str
    sheet: str
    title: str
    base: str
    grid: str
    may_stay: str


OPTIONS: Final = (
    Option("stone", "Stone only", capital(OPTION_WORDS["stone"]), "[depth.stone]", "0", "[strength.stays]"),
    Option("grid", "Geogrid", capital(OPTION_WORDS["geogrid"]), "[depth.with_grid]", "[depth.laid]", "[strength.stays]"),
    Option("usual", "Standard", f"Your {OPTION_WORDS['habit']}", "[company.standard]", "0", "0"),
)
_ROLLS: Final = ("textile", "grid")


def takeoff_blocks(sheets: Sheets, option: Option, rows: int) -> None:
    """Declare the take-off of one option."""
    system, o = sheets.units, option.key
    area = Block(sheets, f"{o}_area", option.sheet, 3, rows, f"{option.title}: every place, every quantity")
    own = {"base": option.base, "grid": option.grid, "may_stay": option.may_stay, "old_base": "[strength.thinnest]",
           "old_worth": "[strength.worth]"}  # fmt: skip
    own |= {key: f"[places.{key}]" for key in PLACE_INPUTS}
    own |= {f"{roll}_{key}": f"[depth.{roll}_{key}]" for roll in _ROLLS for key in ("lap", "end")}
    company = {one.key: f"[company.{one.key}]" for one in MODEL.tables["company"].entries}

    def in_area(name: str) -> str:
        return own.get(name) or company.get(name) or f"[{name}]"

    area.add("place", "Place", "=[places.name]")
    for one in MODEL.tables["area"].quantities:
        formula = MODEL.formula(one.key, in_area, system)[1:]
        area.add(one.key, one.label, f'=IF([places.used]=0,"",{formula})')
    if o == "stone":  # what is refused in another option has no number there
        area.add("wrong", "What is wrong", f'=IF([places.used]=0,"",{MODEL.problem("area", in_area, system)[1:]})')
    for roll in _ROLLS:
        area.add(f"{roll}_to", f"{roll}: strips so far", f'=IF([places.used]=0,"",N([^{roll}_to])+[{roll}_strips])')
    top = rows + 8
    for roll in _ROLLS:
        if roll == "grid" and option.grid == "0":
            continue
        _strips(sheets, option, roll, top, company)
        top += STRIPS + 4
    _job(sheets, option, top, company)


def _strips(sheets: Sheets, option: Option, roll: str, top: int, company: dict[str, str]) -> None:
    """Declare the strips of a roll, one after the other: what is left of a roll begins the next strip."""
    o = option.key
    block = Block(sheets, f"{o}_{roll}", option.sheet, top, STRIPS, f"{option.title}: strips of {roll}, cut from whole rolls")
    block.add("number", "Strip", list(range(1, STRIPS + 1)))
    total = f"MAX([{o}_area.{roll}_to:])"
    block.add("used", "Used", f"=IF([number]<={total},1,0)")
    block.add("place", "Place", f"=IF([used]=0,0,SUMPRODUCT(--([{o}_area.{roll}_to:]<[number]))+1)")
    block.add(f"{roll}_need", "Length", f'=IF([used]=0,"",INDEX([{o}_area.{roll}_run:],[place]))')
    block.add(f"{roll}_over", "Overlap of ends", f'=IF([used]=0,"",INDEX([depth.{roll}_end:],[place]))')
    entries, carried = MODEL.tables[roll].quantities, MODEL.tables[roll].carried

    def cell(name: str) -> str:
        return f"N([^{carried[name]}])" if name in carried else company.get(name) or f"[{name}]"

    for one in entries:
        block.add(one.key, one.label, f'=IF([used]=0,"",{MODEL.formula(one.key, cell, sheets.units)[1:]})')


def _job(sheets: Sheets, option: Option, top: int, company: dict[str, str]) -> None:
    """Declare what all places come to: loads, rolls, bags."""
    o = option.key
    area = {one.key for one in MODEL.tables["area"].entries}
    job = Block(sheets, f"{o}_job", option.sheet, top, None, f"{option.title}: the whole job")

    def cell(name: str) -> str:
        if name in ("textile_used", "grid_used"):
            roll = name.removesuffix("_used")
            return f"[{o}_{roll}.{name}:]" if f"{o}_{roll}" in sheets.blocks else "0"
        if name in area:
            return f"[places.{name}:]" if name in PLACE_INPUTS else f"[{o}_area.{name}:]"
        return company.get(name) or f"[{name}]"

    def rows(name: str) -> str:
        for roll in _ROLLS:
            if name == f"{roll}_used":
                return f"MAX([{o}_area.{roll}_to:])"
        return USED

    for one in MODEL.tables["job"].quantities:
        if one.key == "grid_rolls" and f"{o}_grid" not in sheets.blocks:
            job.add(one.key, one.label, 0)
        else:
            job.add(one.key, one.label, MODEL.formula(one.key, cell, sheets.units, rows))
    job.add("strips", "Strips of rolls, most of one", f"=MAX(MAX([{o}_area.textile_to:]),MAX([{o}_area.grid_to:]))")
    kinds = [str(row["kind"]) for row in table("old_pavements").rows]
    rubble = Block(sheets, f"{o}_rubble", option.sheet, job.top + len(job.columns) + 4, len(kinds), f"{option.title}: old pavement, kind by kind")
    rubble.add("kind", "Kind", kinds)
    for one in MODEL.tables["rubble"].quantities:
        own = lambda name: "[kind]" if name == "kind" else f"[{name}]" if name in rubble.columns else cell(name)  # noqa: E731
        rubble.add(one.key, one.label, MODEL.formula(one.key, own, sheets.units, rows))


@dataclass(frozen=True, slots=True)
class Line:
    """A line that is priced: its code, what it measures, its amount in an option ({o}), its weight and loose volume."""

    key: str
    code: str
    label: str
    measures: str  # ft2, lb, ft3, ft, load, roll, bag
    amount: str
    own_code: str = ""  # a formula: the price row of the owner's own material
    mass: str = ""
    loose: str = ""
    hours: str = ""  # crew or machine


def _lines(owner: Owner) -> list[Line]:
    def own(table_key: str, row: str) -> str:
        cell = f"INDEX({owner.column(table_key, 'code')},[company.{row}])"
        return f'IF([company.{row}]=0,"",IF({cell}="","",{cell}))'

    materials = {
        "geotextile": ("rolls", "textile_row"), "geogrid": ("rolls", "grid_row"), "base-stone": ("stones", "stone_row"),
        "bedding-sand": ("stones", "sand_row"), "pavers": ("pavers", "paver_row"), "foundation-fill": ("stones", "gravel_row"),
    }  # fmt: skip
    base = {"area": "ft2", "volume": "ft3", "mass": "lb", "length": "ft"}
    lines, hauls, works = [], [], []
    for one in MODEL.tables["job"].quantities:
        if not one.code:
            continue
        of, cell = code(one.code), f"[{{o}}_job.{one.key}]"
        measures = base.get(one.kind, of.us)
        if of.kind == "work":
            for hours in ("", "crew", "machine"):
                key, label = (f"{one.key}_{hours}", f"{hours} hours: {of.title}") if hours else (one.key, of.title)
                works.append(Line(key, one.code, label, measures, cell, hours=hours))
        elif of.kind == "haul":
            hauls.append(Line(one.key, one.code, one.label, measures, cell, "", *(f"[{{o}}_job.{key}]" for key in one.also)))
        else:
            lines.append(Line(one.key, one.code, of.title, measures, cell, own(*materials[one.code]) if one.code in materials else ""))
    for n, row in enumerate(table("old_pavements").rows, 1):
        cells = (f"INDEX([{{o}}_rubble.{key}:],{n})" for key in ("rubble_loads", "rubble_weight", "rubble_room"))
        amount, mass, loose = cells
        hauls.append(Line(f"rubble_{n}", "old-pavement-haul", f"haul old {row['kind']} away", "load", amount, "", mass, loose))
    return [*lines, *hauls, *works]


def extras_block(sheets: Sheets, typing: Typing, owner: Owner, rows: int) -> None:
    """Declare the extra lines as typed, and what each takes from its row on Prices."""
    block = Block(sheets, "extras", EXTRAS_SHEET, 3, rows, "Extra lines as typed")
    add = block.add
    for one in LINE_FIELDS:
        add(one.key, one.label, lambda n, key=one.key: f"={typing.text('lines', n, key)}")
    for key in ("quantity", "unit_price"):
        number = lambda n, key=key: typing.number(sheets, "lines", n, key, EXTRAS_SHEET)  # noqa: E731
        add(f"{key}_read", f"{key.replace('_', ' ').capitalize()}, read", lambda n, number=number: f'=IF(ISNUMBER({number(n)}),{number(n)},"")')
    add("used", "Used", f"=IF({'&'.join(f'[{one.key}]' for one in LINE_FIELDS)}=\"\",0,1)")
    add("row", "Row on Prices", f'=IF([code]="",0,IFERROR(MATCH([code],{owner.column("prices", "code")},0),0))')
    of = lambda field: f"INDEX({owner.column('prices', field)},[row])"  # noqa: E731
    add("price_unit", "Price is for one", f'=IF([row]=0,"",TRIM({of("unit")}&""))')
    add("said_unit", "Unit", '=IF([unit]="",[price_unit],TRIM(SUBSTITUTE([unit],"."," ")))')
    add("per", "Price is for one", '=IF([code]="",[said_unit],[price_unit])')
    for key, word in (("own", "[said_unit]"), ("price", "[price_unit]")):
        found = f"MATCH({word},[price_units.word:],0)"
        is_it = f"IFERROR(INDEX([price_units.word:],{found})={word},FALSE)"  # a * or ? matches another word
        add(f"{key}_of", "Measures", f'=IF({word}="","",IF({is_it},INDEX([price_units.of:],{found}),"?"))')
        add(f"{key}_size", "One is", f'=IF({word}="","",IF({is_it},INDEX([price_units.size:],{found}),""))')
    add("amount", "Amount", '=IF([used]=0,0,IF([quantity]<>"",[quantity_read],IF([own_of]="lump",1,"")))')
    add("size", "Amount in one unit", '=IF([used]=0,"",IF([code]="",1,IF(AND([own_of]=[price_of],[own_size]<>""),[price_size]/[own_size],"")))')
    add("price", "Unit price", f'=IF([code]="",[unit_price_read],IF([row]=0,"",IF({of("unit_price")}="","",{of("unit_price")})))')
    priced = f'IF([row]=0,0,IF({of("taxable")}="yes",1,0))'
    add("taxed", "Taxable", f'=IF([taxable]="yes",1,IF([taxable]="no",0,{priced}))')
    add("as_price", "Charged as it is", '=IF([sense]="price",1,0)')
    add("label", "Line", f'=IF([used]=0,"",IF([item]<>"",[item],IF([row]=0,[code],IF({of("item")}="",[code],{of("item")}&""))))')
    add("kind", "Code", '=IF([used]=0,"",IF([code]="","own price",[code]))')
    add("included", "Named on the quote", lambda n: f"={block.cell('included', n - 1, EXTRAS_SHEET) + '&' if n > 1 else ''}IF([used]=0,\"\",\", \"&[label])")


def price_blocks(sheets: Sheets, owner: Owner) -> None:
    """Declare what each line costs: its price row, then its amount and money in each option."""
    lines = _lines(owner)
    leasts = [key for key, of in CODES.items() if of.kind == "haul"]
    extras = sheets.blocks["extras"]
    first_extra = len(lines) + 1  # mobilization comes between
    count = first_extra + extras.count
    block = Block(sheets, "prices", LINES_SHEET, 3, count, "Each line: its price on Prices, its amount and money in each option")


    def add(key: str, heading: str, formula: Any, extra: str = "") -> None:
        """Add a column; an extra line takes it from the column of that name of its own table."""
        def written(n: int) -> Any:
            if n > first_extra and extra:
                return f"={extras.cell(extra, n - first_extra, LINES_SHEET)}"
            return formula(n) if callable(formula) else formula

        block.add(key, heading, written)

    def line(n: int) -> Any:
        return lines[n - 1] if n <= len(lines) else None

    add("label", "Line", lambda n: line(n).label if line(n) else "Mobilization", "label")
    add("kind", "Code", lambda n: line(n).code if line(n) else "mobilization", "kind")
    add("scope", "Client's line", lambda n: code(line(n).code).scope if line(n) else "")
    add("own", "Own code", lambda n: f"={line(n).own_code}" if line(n) and line(n).own_code else "")
    codes_range = owner.column("prices", "code")
    listed = f"ISNUMBER(MATCH([kind],{codes_range},0))"

    def price_code(n: int) -> str:
        if line(n) is None:
            return "-"
        if line(n).hours:
            return f'=IF({listed},"-","{line(n).hours}-time")'
        if line(n).code in work_codes():
            return f'=IF({listed},[kind],"-")'
        return '=IF([own]="",[kind],[own])'

    add("code", "Price row", price_code)  # an extra line has found its own
    add("row", "Row on Prices", f'=IF([code]="-",0,IFERROR(MATCH([code],{codes_range},0),0))')
    of = lambda field: f"INDEX({owner.column('prices', field)},[row])"  # noqa: E731
    add("unit", "Price is for one", f'=IF([row]=0,"",TRIM({of("unit")}&""))', "per")
    add("of", "Measures", '=IF([unit]="","",IFERROR(INDEX([price_units.of:],MATCH([unit],[price_units.word:],0)),"?"))')
    add("one", "One is", '=IF([unit]="","",IFERROR(INDEX([price_units.size:],MATCH([unit],[price_units.word:],0)),""))')
    add("measures", "Quantity measures", lambda n: line(n).measures if line(n) else "job")
    rates = lambda field: f"INDEX({owner.column('rates', field)},MATCH([kind],{owner.column('rates', 'code')},0))"  # noqa: E731

    def rate(n: int) -> str:
        if line(n) is None:
            return "=1"
        if line(n).hours:
            cell = rates(f"per_{line(n).hours}_hour")
            return f'=IF([code]="-","",IFERROR(IF(ISNUMBER({cell}),{cell},""),""))'
        if line(n).mass:
            crew, machine = rates("per_crew_hour"), rates("per_machine_hour")
            return f'=IF([of]="h",IFERROR(IF(ISNUMBER({machine}),{machine},IF(ISNUMBER({crew}),{crew},"")),""),1)'
        return "=1"

    add("rate", "Units in an hour", rate)
    metric = sheets.units == "metric"
    sheet_unit = {"lb": "t" if metric else "short_ton", "ft3": "m3" if metric else "yd3", "ft2": "m2" if metric else "ft2",
                  "ft": "m" if metric else "ft"}  # fmt: skip
    factor = {base: float(f"{convert(1.0, unit, base):.15g}") for base, unit in sheet_unit.items()}

    def size(n: int) -> str:
        one = line(n)
        if one is None:
            return "=1"
        if one.hours:  # the rate is for a unit of the work
            unit = f'TRIM({rates("unit")}&"")'
            found = f"MATCH({unit},[price_units.word:],0)"
            return f'=IF([rate]="","",IFERROR(IF(INDEX([price_units.of:],{found})=[measures],INDEX([price_units.size:],{found})/{factor[one.measures]!r},""),""))'
        if one.mass:
            return f'=IF([of]="lb",[one]/{factor["lb"]!r},IF([of]="ft3",[one]/{factor["ft3"]!r},IF(OR([of]="load",[of]="h"),1,"")))'
        scale = factor.get(one.measures, 1.0)
        return f'=IF(AND([of]=[measures],[one]<>""),[one]/{scale!r},"")'

    add("size", "Amount in one unit", size, "size")
    add("price", "Unit price", lambda n: f'=IF([row]=0,"",IF({of("unit_price")}="","",{of("unit_price")}))' if line(n) else "=[company.mobilization]", "price")
    taxed = f'=IF([row]=0,"",IF({of("taxable")}="yes",1,IF({of("taxable")}="no",0,"")))'
    add("taxable", "Taxable", lambda n: taxed if line(n) else 0, "taxed")
    add("as_price", "Charged as it is", lambda n: 0 if line(n) else 1, "as_price")
    rest = Block(sheets, "least", LINES_SHEET, count + 8, len(leasts), "Rest of a minimum charge: what the lines of a price row lack")
    rest.add("kind", "Code", list(leasts))
    rest.add("row", "Row on Prices", f"=IFERROR(MATCH([kind],{codes_range},0),0)")
    minimum = of("minimum")
    rest.add("least", "Minimum charge", f"=IF([row]=0,0,IF(ISNUMBER({minimum}),{minimum},0))")
    rest.add("taxable", "Taxable", f'=IF([row]=0,0,IF({of("taxable")}="yes",1,0))')

    for option in OPTIONS:
        _option_lines(sheets, block, option, lines)
        _least(sheets, rest, option, count)
    needed = "+".join(f"N([{option.key}_amount])" for option in OPTIONS)
    add("needed", "Needed", lambda n: f'=IF([code]="-",0,IF(IFERROR({needed},1)>0,1,0))' if line(n) else "=0")

    used = "+".join(f"IFERROR(N([{option.key}_amount]),0)" for option in OPTIONS)
    add("shown", "Shown on Estimate", f"=N([^shown])+IF({used}>0,1,0)")

    def wrong(n: int) -> str:
        one = line(n)
        if one is None:
            return '=""'
        rest = first_of([
            ('[unit]=""', '"Type the unit of "&[code]&" on Prices."'),
            ('AND([size]="",[rate]<>"")', '"The price of "&[code]&" is for one "&[unit]&". That does not fit "&[label]&"."'),
            ('[rate]=""', '"Add a work rate for "&[kind]&" to Company."'),
        ])[1:]  # fmt: skip
        if one.hours:
            rest = first_of([
                ('[rate]=""', '"Add a work rate for "&[kind]&" to Company, or a row "&[kind]&" to Prices."'),
                ('[size]=""', '"The work rate of "&[kind]&" on Company is for a unit that does not fit."'),
                ('[of]<>"h"', '"The price of "&[code]&" must be for one h."'),
            ])[1:]  # fmt: skip
            both = f'AND(IFERROR({rates("per_crew_hour")},"")="",IFERROR({rates("per_machine_hour")},"")="")'
            return f'=IF(OR([needed]=0,[code]="-"),"",IF(AND([rate]="",NOT({both})),"",IF({price_problem("[code]", owner)}<>"",{price_problem("[code]", owner)},{rest})))'
        return f'=IF([needed]=0,"",IF({price_problem("[code]", owner)}<>"",{price_problem("[code]", owner)},{rest}))'

    add("wrong", "What is wrong", wrong)
    for option in OPTIONS:
        _price(sheets, option, count)


def _option_lines(sheets: Sheets, block: Block, option: Option, lines: Sequence[Line]) -> None:
    """Declare the money of the lines in one option: the table `line` of the declared price."""
    o = option.key

    extras = sheets.blocks["extras"]

    def amount(n: int) -> str:
        if n > len(lines) + 1:
            return f"={extras.cell('amount', n - len(lines) - 1, LINES_SHEET)}"
        if n > len(lines):
            return "=IF([company.mobilization]>0,1,0)"
        one = lines[n - 1]
        text = one.amount.replace("{o}", o)
        if one.hours:
            both = '[rate]=""'
            return f'=IF([code]="-",0,IF({both},0,{text}))'
        if one.code in work_codes():
            return f'=IF([code]="-",0,{text})'
        if one.mass:
            return f'=IF([of]="lb",{one.mass.replace("{o}", o)},IF([of]="ft3",{one.loose.replace("{o}", o)},{text}))'
        return f"={text}"

    block.add(f"{o}_amount", f"{option.title}: amount", amount)
    names = {"amount": f"[{o}_amount]", "size": "[size]", "rate": "[rate]", "unit_price": "[price]", "taxable": "[taxable]",
             "as_price": "[as_price]", "bought": f"[{o}_bought]", "line": f"[{o}_line]"}  # fmt: skip
    for one in MODEL.tables["line"].quantities:
        block.add(f"{o}_{one.key}", f"{option.title}: {one.label}", MODEL.formula(one.key, names.__getitem__, sheets.units))


def _least(sheets: Sheets, rest: Block, option: Option, count: int) -> None:
    """Declare the rest of a minimum charge in one option: the table `minimum` of the declared price."""
    o = option.key
    names = {"line": f"[prices.{o}_line:]", "bought": f"[prices.{o}_bought:]", "line_code": "[prices.kind:]", "least_code": "[kind]",
             "least": "[least]", "least_taxable": "[taxable]", "least_rest": f"[{o}_least_rest]"}  # fmt: skip
    for one in MODEL.tables["minimum"].quantities:
        formula = MODEL.formula(one.key, names.__getitem__, sheets.units, lambda _: str(count))
        rest.add(f"{o}_{one.key}", f"{option.title}: {one.label}", formula)


def _price(sheets: Sheets, option: Option, count: int) -> None:
    """Declare markups, tax and total of an option: the table `price` of the declared price."""
    o = option.key
    place = OPTIONS.index(option)
    block = Block(sheets, f"{o}_price", "Money", 3, None, option.title, left=1 + 3 * place)

    def cell(name: str) -> str:
        if name.endswith("_share") or name in ("minimum_charge", "round_to"):
            return f"[company.{name}]"
        if name.startswith("least_"):
            return f"[least.{o}_{name}:]"
        return f"[prices.{o}_{name}:]" if name in ("line_cost", "line_price", "taxed") else f"[{name}]"

    def rows(name: str) -> str:
        return str(sheets.blocks["least"].count if name.startswith("least_") else count)

    for one in MODEL.tables["price"].quantities:
        block.add(one.key, one.label, MODEL.formula(one.key, cell, sheets.units, rows), '"$"#,##0.00')
    block.add("sound", "Can be built", f"=IF(AND(ISNUMBER([price_total]),[{o}_job.strips]<={STRIPS}),1,0)")
