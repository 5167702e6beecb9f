"""The sheets Checks and Problems: one sentence for everything that is wrong, its cell, and the totals tied to all of them.

A sentence either asks for something to be fixed, or says that only `basecalc quote` works this out; both keep every
total from showing.
"""

from collections.abc import Callable, Sequence
from typing import Final

from basecalc.company import settings
from basecalc.core.units import INCH_M, Measure
from basecalc.core.words import OPTION_WORDS
from basecalc.estimating.blocks import BAND, LINK, Block, Sheets, first_of
from basecalc.estimating.fields import CARD, JOB, LOG_TEST, area_fields
from basecalc.estimating.owner import Owner, price_problem
from basecalc.estimating.plan import CORNERS, SLOTS, Typing
from basecalc.estimating.takeoff import STRIPS
from basecalc.ground.classes import LEAST_CBR, MOST_CBR
from basecalc.ground.readings import settled_gap_in
from basecalc.plan.area import SHAPES
from basecalc.takeoff.model import MODEL
from basecalc.workbook.style import fit_width

SHEET, PROBLEMS = "Checks", "Problems"
_BY_QUOTE: Final = "basecalc quote works it out."
Check = tuple[str, str]  # a formula for the cell, a formula for the sentence
Cases = Callable[[int], list[tuple[str, str, str, str]]]  # of a row: test, word, sentence, cell


def _listed(cell: str, words: Sequence[str]) -> str:
    """Return a test that a word is none of a list."""
    offered = "|" + "|".join(words) + "|"
    return f'ISERROR(SEARCH("|"&SUBSTITUTE({cell},"~","")&"|","{offered}"))'


def card_checks(cells: dict[str, str]) -> list[Check]:
    """Return what may be wrong with the job card."""
    found: list[Check] = []
    for key, label, needed, words, *_ in CARD:
        cell, value = cells[key], f"[job.{key}]"
        if needed:
            found.append((f'"{cell}"', f'IF({value}="","Type the {label.lower()} in {cell}.","")'))
        elif words and not isinstance(words, str):
            said = f'"{label} in {cell} says "&{value}&". Pick one from the list."'
            found.append((f'"{cell}"', f'IF({value}="","",IF({_listed(value, words)},{said},""))'))
    number = "[job.number]"
    found.append((f'"{cells["number"]}"', f'IF(OR(LEN({number})>40,ISNUMBER(FIND(" ",{number})),ISNUMBER(FIND("/",{number})),ISNUMBER(FIND(":",{number}))),"The job number in {cells["number"]} starts file names. Use letters, digits, - and _.","")'))
    level = f'IF([depths.level]=0,"Traffic in {cells["traffic"]} says "&[job.level]&". Pick one from the list.","")'
    found.append((f'"{cells["traffic"]}"', level))
    for key in ("date", "start"):
        value = f"[job.{key}]"
        iso = f'AND(LEN({value})=10,MID({value},5,1)="-",MID({value},8,1)="-")'
        found.append((f'"{cells[key]}"', f'IF({value}="","",IF(OR({iso},NOT(ISERROR(DATEVALUE({value})))),"","Write the date in {cells[key]} like 2026-11-28."))'))
    return found


def area_checks(sheets: Sheets, typing: Typing, cell: Callable[[str, int, str], str]) -> None:
    """Add the sentence of each area, and the word that its row shows."""
    block = sheets.blocks["areas"]
    fields = {one.key: one for one in area_fields(sheets.units)}
    at = cell  # at(list, row, key) gives the cell on Entry

    settled = settled_gap_in() * (INCH_M * 1000 if sheets.units == "metric" else 1)

    def cases(n: int) -> list[tuple[str, str, str, str]]:
        where = lambda key: at("areas", n, key)  # noqa: E731
        says = lambda key: typing.number(sheets, "areas", n, key, "Areas", "says")  # noqa: E731
        rows: list[tuple[str, str, str, str]] = [
            ('[name]=""', '"Name"', f'"Type a name for the area in {where("name")}."', where("name")),
            ("SUMPRODUCT(([areas.used:]=1)*([areas.name:]=[name]))+SUMPRODUCT(([areas.used:]=1)*([areas.strip_name:]=[name]))>1", '"Same name"',
             f'"Two areas are called "&[name]&" ({where("name")}). Give each its own name."', where("name")),
            (f'OR([name]="{JOB}",ISNUMBER(FIND("*",[name])),ISNUMBER(FIND("?",[name])),ISNUMBER(FIND("~",[name])),LEN([name])>200)', '"Name"',
             f'"The name in {where("name")} can\'t be used here. Leave out * ? ~, and don\'t call it job."', where("name")),
            (_listed("[shape]", SHAPES), '"Shape"', f'"Shape in {where("shape")} says "&[shape_typed]&". Pick one from the list."', where("shape")),
        ]
        for key in ("length", "width", "foundation_edge", "old_pavement"):
            rows.append((f'{says(key)}<>""', f'"{fields[key].label}"', says(key), where(key)))
        need = lambda test, key, text: rows.append((test, f'"{fields[key].label}"', f'"{text} "&[name]&" in {where(key)}."', where(key)))  # noqa: E731
        need('AND([length]="",OR([shape]="rectangle",[shape]="measured",[shape]="circle",AND([shape]="triangle",[sides]="")))', "length", "Type the length of")
        need('AND([width]="",OR([shape]="rectangle",[shape]="measured",[shape]="trapezoid",AND([shape]="triangle",[sides]="")))', "width", "Type the width (or height) of")
        need("OR(N([length])<0,AND([length]<>\"\",[length]=0),AND([width]<>\"\",[width]=0))", "length", "Length and width must be more than 0:")
        need('OR(AND([length]<>"",OR([shape]="trapezoid",[shape]="polygon")),AND([length]<>"",[sides]<>""))', "length", "Clear the length: this shape takes its sizes from the particulars:")
        need('OR(AND([width]<>"",OR([shape]="circle",[shape]="polygon")),AND([width]<>"",[sides]<>""))', "width", "Clear the width: this shape does not take it:")
        part = lambda test, text: rows.append((test, '"Particulars"', f'[name]&": {text}"', where("name")))  # noqa: E731
        part('AND([shape]="measured",[area_given]="")', 'add the particular \'area\'.')
        part('AND([shape]="trapezoid",OR([parallel_sides]="",[parallel_sides2]=""))', "add the particular 'parallel sides', such as 24; 18.")
        part('AND([shape]="polygon",[points]="")', "add the particular 'points' with its corners, such as 0 0; 70 0; 70 16.")
        part('OR(AND([area_given]&[perimeter]<>"",[shape]<>"measured"),AND([sides]<>"",[shape]<>"triangle"),AND([parallel_sides]&[legs]<>"",[shape]<>"trapezoid"),AND([points]<>"",[shape]<>"polygon"))', "a particular gives a size that its shape does not take.")
        rows.append((f"OR([slot]>{SLOTS},IF([slot]=0,FALSE,IF([slot]>{SLOTS},FALSE,AND([shape]=\"polygon\",OR(INDEX([outlines.pieces:],MAX(MIN([slot],{SLOTS}),1))>{CORNERS},LEFT([points],1)=\"[\")))))", '"By quote"',
                     f'[name]&": an outline with so many corners is not worked out on the sheet. {_BY_QUOTE}"', where("name")))
        part("AND([odd]=1,NOT(ISNUMBER([plan])))", "its sides or corners don't make a shape. Check them.")
        part('AND([shape]="measured",[area_given]<>"",ISNUMBER([length]),ISNUMBER([width]),N([area_given])*0.98>N([length])*N([width]))', "its area is more than length times width.")
        part('AND([open_edge]="",[around]="")', "add the particular 'open edge' or 'perimeter'.")
        need('AND([around]<>"",[building]>N([around])*1.000000001)', "foundation_edge", "The edge at the building is longer than the outline of")
        part('AND([open_edge]<>"",[around]<>"",N([open_edge])>(N([around])-[building])*1.000000001+0.000000001)', "the open edge is longer than the outline less the edge at the building.")
        need('[soil]=""', "soil", "Pick the soil that is dug for")
        need("ISNA(MATCH([soil],[soils.name:],0))", "soil", "The soil is not on the list:")
        need('AND(N([old_pavement])>0,[old_pavement_kind]="")', "old_pavement_kind", "Pick what the old paving is for")
        need('AND(N([old_pavement])=0,[old_pavement_kind]<>"")', "old_pavement", "Type how thick the old paving is for")
        need('AND([old_pavement_kind]<>"",ISNA(MATCH([old_pavement_kind],[old_kinds.name:],0)))', "old_pavement_kind", "The kind of old paving is not on the list:")
        need('AND([geotextile]<>"",[geotextile]<>"yes",[geotextile]<>"no")', "geotextile", "Fabric is yes or no:")
        part('AND([old_pavement]=0,OR([old_pavement_state]<>"",SUMPRODUCT(([said.for:]=[name])*(([said.what:]="test holes")+([said.what:]="old pavement seen")))>0))', "particulars speak of an old pavement, but none is typed.")
        part(f'AND([old_pavement_state]="even",SUMPRODUCT(([said.for:]=[name])*([said.gap_high:]>={settled!r}))>0)', "the old pavement is called even, but a gap was measured.")
        part('AND([strip]=1,OR([building]=0,N([foundation_fill_width])=0))', "a foundation strip needs the edge at the building and the particular 'foundation fill width'.")
        part('AND([strip]=0,[foundation_strip_strength]&[foundation_strip_open_ends]<>"")', "particulars speak of a foundation strip. Add 'foundation strip' yes.")
        part('AND([strip]=0,IF(N([foundation_fill_depth])>0,1,0)<>IF(N([foundation_fill_width])>0,1,0))', "give depth and width of the foundation fill together.")
        part('AND([strip]=0,N([foundation_fill_depth])>0,[building]=0)', "the foundation fill needs the edge at the building.")
        part('AND([strip]=1,N([foundation_fill_width])*[building]>=N([plan])*0.999999999)', "the foundation strip is as large as the area.")
        part('AND([strip]=1,N([foundation_fill_width])>N(IF(AND([shape]="rectangle",[building]>N([wide])*1.000000001),[wide],[long]))*1.000000001)', "the foundation strip is wider than the area.")
        part('AND([strip]=1,N([foundation_strip_open_ends])*N([foundation_fill_width])>N([open])*1.000000001)', "the open ends of the foundation strip are longer than the open edge.")
        part('AND([foundation_strip_open_ends]<>"",N([foundation_strip_open_ends])<>INT(N([foundation_strip_open_ends])))', "the strip has 0, 1 or 2 open ends.")
        part('AND(N([loose_fill_depth])=0,[loose_fill]&[sound_ground]<>"")', "add the particular 'loose fill depth'.")
        part('AND(N([loose_fill_depth])>0,N([foundation_fill_depth])>0)', "give 'loose fill depth' or 'foundation fill depth', not both.")
        part('AND(N([loose_fill_depth])>0,[sound_ground]="",[strip]=0)', "add the particular 'sound ground', such as stiff.")
        part('AND([sound_ground]<>"",INDEX([strength.sound_class:],[first_place]+[strip])="")', "'sound ground' is a class such as stiff, or a CBR.")
        part('AND([sound_ground]<>"",N(INDEX([strength.sound_class:],[first_place]+[strip]))<N(INDEX([strength.known_class:],[first_place]+[strip])))', "the sound ground is weaker than what lies above it.")
        own = "INDEX([strength.{}:],MAX([first_place],1))"
        part(f'AND([strength]<>"",{own.format("hand_class")}&{own.format("hand_cbr")}="")', f"'strength' is a class such as soft, or a CBR from {LEAST_CBR:g} to {MOST_CBR:g}.")
        behind = "INDEX([strength.{}:],MAX([first_place],1)+1)"
        part(f'IF([strip]=1,AND([foundation_strip_strength]<>"",{behind.format("hand_class")}&{behind.format("hand_cbr")}=""),FALSE)', "'foundation strip strength' is a class such as soft, or a CBR.")
        part(f'IF([strength]="",FALSE,{own.format("readings")}>0)', "a strength is given, and readings too. Keep one.")
        part(f'IF([strip]=1,AND([foundation_strip_strength]<>"",{behind.format("readings")}>0),FALSE)', "a strength of the strip is given, and readings too. Keep one.")
        log = f'SUMPRODUCT(([readings.place:]>=[first_place])*([readings.place:]<=[first_place]+[strip])*([readings.test:]="{LOG_TEST}"))'
        rows.append((f"{log}>0", '"By quote"', f'[name]&": the sheet can\'t read a cone log. {_BY_QUOTE} Or type its CBR as a reading."', where("name")))
        first = at("readings", 1, "spot")
        adrift = "SUMPRODUCT(([readings.used:]=1)*([readings.place:]=0))>0"
        rows.append((f'AND([strength]="",{own.format("readings")}=0,{adrift})', '"Add reading"', '"Say in the column In area where each reading was taken: there is more than one area."', at("readings", 1, "area")))
        rows.append((f'AND([strength]="",{own.format("readings")}=0)', '"Add reading"', '"No reading yet for "&[name]&". Add one in the list of readings, on the right."', first))
        rows.append((f'AND([strength]="",{own.format("thawed")}=0)', '"Frozen"', '[name]&": frozen ground does not show how strong it is after the thaw. Test it again when it has thawed."', first))
        soft = "N(INDEX([strength.cbr:],MAX({},1)))<[depths.weakest]"
        rows.append((f"OR({soft.format('[first_place]')},IF([strip]=1,{soft.format('[first_place]+1')},FALSE))", '"Too soft"', '[name]&" is too soft (CBR below "&[depths.weakest]&"). An engineer must design it."', where("name")))
        wrong = "INDEX([stone_area.wrong:],MAX({},1))"
        rows.append((f'{wrong.format("[first_place]")}<>""', '"Check"', f'[name]&": "&{wrong.format("[first_place]")}', where("name")))
        rows.append((f'IF([strip]=1,{wrong.format("[first_place]+1")}<>"",FALSE)', '"Check"', f'[strip_name]&": "&{wrong.format("[first_place]+1")}', where("name")))
        rows.append(("NOT(ISNUMBER(INDEX([stone_area.stone:],MAX([first_place],1))))", '"Check"', '[name]&" can\'t be worked out yet."', where("name")))
        return rows

    _add_cases(block, cases, "[used]=0", '"Ready"')


_AT_ONCE: Final = 24  # tests in one formula: Excel nests 64 deep, LibreOffice chooses among 30


def _add_cases(block: Block, cases: Cases, unused: str, ready: str) -> None:
    """Add the number of the first fault of each row, the word of the row, the sentence, the cell it speaks of."""
    parts = range(0, len(cases(1)), _AT_ONCE)

    def fault(first: int, n: int) -> str:
        rows = list(enumerate(cases(n), 1))[first : first + _AT_ONCE]
        return first_of([(unused, "0"), *((f"IFERROR({test},TRUE)", str(at)) for at, (test, *_) in rows)], "0")

    for first in parts:
        block.add(f"fault_{first}", "Fault, some tests", lambda n, first=first: fault(first, n))
    found = [(f"[fault_{first}]>0", f"[fault_{first}]") for first in parts]
    block.add("fault", "First fault", first_of(found, "0"))

    def picked(n: int, place: int) -> str:
        texts = [(word, sentence, f'"{cell}"')[place] for _, word, sentence, cell in cases(n)]
        chosen = [
            (f"[fault_{first}]>0", f"CHOOSE([fault_{first}]-{first},{','.join(texts[first : first + _AT_ONCE])})")
            for first in parts
        ]
        return first_of([(unused, '""'), *chosen], ready if place == 0 else '""')

    for place, (key, heading) in enumerate((("state", "Row shows"), ("sentence", "Sentence"), ("where", "Cell"))):
        block.add(key, heading, lambda n, place=place: picked(n, place))


def reading_checks(sheets: Sheets, typing: Typing, cell: Callable[[str, int, str], str]) -> None:
    """Add the sentence of each reading, and the word that its row shows."""
    block = sheets.blocks["readings"]

    def cases(n: int) -> list[tuple[str, str, str, str]]:
        where = lambda key: cell("readings", n, key)  # noqa: E731
        says = typing.number(sheets, "readings", n, "reading", block.sheet, "says")
        help_ = "INDEX([tests.help:],MAX([test_row],1))"
        return [
            ('[spot]=""', '"Spot"', f'"Type where it was read in {where("spot")}."', where("spot")),
            ("[place]=0", '"Area"', f'IF([area]="","Pick the area of this reading in {where("area")}.","In area in {where("area")} says "&[area]&". No area has that name.")', where("area")),
            ("[other_place]>0", '"Area"', f'"Spot "&[spot]&" is in two areas ({where("area")})."', where("area")),
            ("[test_row]=0", '"Test"', f'IF([test]="","Pick the test in {where("test")}.","Test in {where("test")} says "&[test]&". Pick one from the list.")', where("test")),
            ('[reading]=""', '"Reading"', f'"Type the reading in {where("reading")}: "&{help_}&"."', where("reading")),
            (f'AND([test]<>"{LOG_TEST}",[word_row]=0,[kind]="")', '"Reading"', f'"Reading in {where("reading")} says "&[reading]&". Type "&{help_}&"."', where("reading")),
            ('AND([test]="straightedge",ISNUMBER(SEARCH(" under ",[reading])))', '"By quote"', f'"A gap under another straightedge ({where("reading")}) is not worked out on the sheet. {_BY_QUOTE}"', where("reading")),
            (f'AND([test]<>"{LOG_TEST}",[word_row]=0,{says}<>"")', '"Reading"', says, where("reading")),
            (_listed("[moisture]", ("", "dry", "moist", "wet", "frozen")) + '*([moisture]<>"")>0', '"Ground was"', f'"Ground was in {where("moisture")} says "&[moisture]&". Pick one from the list."', where("moisture")),
            ('AND([soil_typed]<>"",[soil_row]=0)', '"Soil"', f'"Soil in {where("soil")} is not on the list."', where("soil")),
            ("AND([test_row]>0,[fine]=0,INDEX([tests.fine_only:],MAX([test_row],1))=1)", '"Test"', f'"Test in {where("test")}: "&[test]&" reads fine soil only, not "&[soil]&". Use a boot, a truck or the cone."', where("test")),
            (f'AND([test]<>"{LOG_TEST}",[says]=0)', '"Reading"', f'"Type the reading in {where("reading")}: "&{help_}&"."', where("reading")),
        ]  # fmt: skip

    _add_cases(block, cases, "[used]=0", f'IF([test]="{LOG_TEST}","by quote",[shown])')


def particular_checks(sheets: Sheets, typing: Typing, cell: Callable[[str, int, str], str]) -> None:
    """Add the sentence of each particular, and the word that its row shows."""
    block = sheets.blocks["said"]

    def cases(n: int) -> list[tuple[str, str, str, str]]:
        where = lambda key: cell("particulars", n, key)  # noqa: E731
        says = [typing.number(sheets, "particulars", n, f"part{part}", block.sheet, "says") for part in (1, 2, 3)]
        two = '[what]="parallel sides",[what]="legs",[what]="sides",[what]="old pavement seen"'
        offered = "INDEX([whats.words:],MAX([place],1))"
        return [
            ('[scope]="?"', '"For"', f'"For in {where("for")} says "&[for]&". It must be an area or a spot, or blank for the whole job."', where("for")),
            ('[what]=""', '"What"', f'"Pick what it is in {where("what")}."', where("what")),
            ("[place]=0", '"What"', f'"What in {where("what")} says "&[what]&". That is not said of "&IF([scope]="job","the whole job",IF([scope]="area","an area","a spot"))&". Pick one from the list."', where("what")),
            ('[text]=""', '"Value"', f'"Type the value of "&[what]&" in {where("text")}."', where("text")),
            ("AND(INDEX([whats.listed:],MAX([place],1))=0,SUMPRODUCT(--([said.key:]=[key]))>1)", '"Twice"', f'"There are two rows "&[what]&" for "&IF([for]="","the job",[for])&" ({where("what")}). Keep one."', where("what")),
            (f'AND({offered}<>"",ISERROR(SEARCH("|"&[text]&"|",{offered})))', '"Value"', f'"Value in {where("text")} says "&[text]&". Pick one of: "&SUBSTITUTE(MID({offered},2,LEN({offered})-2),"|",", ")&"."', where("text")),
            ('AND([kind]<>"",OR(LEFT([text],1)="{",LEFT([text],1)="["))', '"By quote"', f'"A value like that in {where("text")} is not worked out on the sheet. {_BY_QUOTE}"', where("text")),
            (f'AND([kind]<>"",OR([part1]="",{says[0]}<>""))', '"Value"', f'IF({says[0]}="","Type a number in {where("text")}.",{says[0]})', where("text")),
            (f'AND(OR({two}),{says[1]}<>"")', '"Value"', says[1], where("text")),
            (f'AND([what]="sides",OR([third]="",{says[2]}<>""))', '"Value"', f'IF({says[2]}="","Three sides are due in {where("text")}, such as 20; 16; 12.",{says[2]})', where("text")),
            ('AND(OR([what]="parallel sides",[what]="legs",[what]="sides"),[second]="")', '"Value"', f'"Two numbers are due in {where("text")}, such as 24; 18."', where("text")),
            ('AND([what]="test holes",OR(AND([part2]<>"clean",[part2]<>"dirty"),[part3]=""))', '"Value"', f'"Write a test hole in {where("text")} as base; clean or dirty; where."', where("text")),
            ('AND([what]="old pavement seen",OR([part3]="",[edge]<4.9*IF([job.units]="metric",0.3048,1),[edge]>10*IF([job.units]="metric",0.3048,1)))', '"Value"', f'"Write it in {where("text")} as gap; straightedge; where; settlement or rut."', where("text")),
            ('AND([what]="stone trucks on base",[text]="yes")', '"By quote"', f'"Loaded stone trucks on the base ({where("text")}): {_BY_QUOTE}"', where("text")),
        ]  # fmt: skip

    _add_cases(block, cases, "[used]=0", '"counts"')


def line_checks(sheets: Sheets, typing: Typing, owner: Owner, cell: Callable[[str, int, str], str]) -> None:
    """Add the sentence of each extra line, and the word that its row shows."""
    block = sheets.blocks["extras"]

    def cases(n: int) -> list[tuple[str, str, str, str]]:
        where = lambda key: cell("lines", n, key)  # noqa: E731
        problem = price_problem("[code]", owner)
        rows = [
            ('AND([item]="",[code]="")', '"Item"', f'"Type what the extra line is in {where("item")}."', where("item")),
            ('AND([code]<>"",[unit_price]<>"")', '"Price"', f'"Clear the unit price in {where("unit_price")} or the price row in {where("code")}. One of them is due."', where("unit_price")),
            (f'IF([code]="",FALSE,{problem}<>"")', '"Price row"', problem, where("code")),
            ('AND([code]="",[unit]="")', '"Unit"', f'"Type the unit in {where("unit")}: each, lump, h, day, ft, ft2, yd3, ton."', where("unit")),
            ('AND([unit]<>"",[own_of]="?")', '"Unit"', f'"Unit in {where("unit")} says "&[unit]&". Pick one from the list."', where("unit")),
            ('AND([code]="",[unit_price]="")', '"Price"', f'"Type the unit price in {where("unit_price")}, or the code of a row of Prices in {where("code")}."', where("unit_price")),
        ]  # fmt: skip
        for key in ("unit_price", "quantity"):
            says = typing.number(sheets, "lines", n, key, block.sheet, "says")
            rows.append((f'{says}<>""', '"Number"', says, where(key)))
        return [
            *rows,
            ('AND([quantity]="",[own_of]<>"lump")', '"Quantity"', f'"Type how many "&[said_unit]&" in {where("quantity")}."', where("quantity")),
            ('AND([quantity]<>"",[quantity_read]<=0)', '"Quantity"', f'"Quantity in {where("quantity")} must be more than 0."', where("quantity")),
            ('[size]=""', '"Unit"', f'"The price of "&[code]&" is for one "&[price_unit]&". "&[said_unit]&" in {where("unit")} can\'t be turned into that."', where("unit")),
            ('AND([taxable]<>"",[taxable]<>"yes",[taxable]<>"no")', '"Taxable"', f'"Taxable in {where("taxable")} is yes or no."', where("taxable")),
            ('AND([sense]<>"",[sense]<>"cost",[sense]<>"price")', '"Cost/price"', f'"Type cost in {where("sense")} for what is marked up, or price for what the client pays."', where("sense")),
            ('AND([area]<>"",ISERROR(MATCH([area],[places.name:],0)))', '"Area"', f'"For area in {where("area")} says "&[area]&". No area has that name."', where("area")),
            ("NOT(ISNUMBER([amount]*[size]*[price]))", '"Check"', f'"The extra line in {where("item")} can\'t be worked out yet."', where("item")),
        ]  # fmt: skip

    _add_cases(block, cases, "[used]=0", '"counts"')


def company_checks(sheets: Sheets, owner: Owner) -> list[Check]:
    """Return what may be wrong with Company and Prices, and whether the depths still belong to them."""
    found: list[Check] = []
    for key, setting in settings().items():
        value = owner.setting(key)
        if setting.default is None and isinstance(setting.kind, Measure):
            found.append(('"Company"', f'IF(ISNUMBER({value}),"","Type {setting.label} on Company.")'))
        elif setting.default is None:
            found.append(('"Company"', f'IF({value}="","Type the {setting.label} on Company.","")'))
        if isinstance(setting.kind, Measure) and setting.kind.us == "share":
            found.append(('"Company"', f'IF(AND(ISNUMBER({value}),OR(AND({value}>0,{value}<0.01),{value}=1),{owner.setting(key, "sure")}<>"yes"),"{setting.label.capitalize()} on Company is "&ROUND(100*{value},2)&" %. For 12 percent type 12. If it is meant, write yes beside it.",IF(OR({value}<{setting.kind.low},{value}>{setting.kind.high}),"{setting.label.capitalize()} on Company is out of range.",""))'))
    needed = (("base stone", "stone", "[job.stone]"), ("paver", "paver", "[job.paver]"), ("bedding sand", "sand", '""'),
              ("truck that hauls soil", "spoil", "[job.spoil_truck]"), ("truck that hauls stone", "supply", "[job.stone_truck]"))  # fmt: skip
    for text, row, asked in needed:
        found.append(('"Company"', f'IF([company.{row}_row]=0,"Company has no {text}"&IF({asked}="","."," called "&{asked}&"."),"")'))
    fills = "SUMPRODUCT(([places.used:]=1)*(([places.fill_depth:]>0)+([places.fills:]=1)))"
    found.append(('"Company"', f'IF(AND([company.gravel_row]=0,{fills}>0),"Company has no granular fill.","")'))
    found.append(('"Company"', 'IF(AND([company.textile_row]=0,SUMPRODUCT(([places.used:]=1)*([places.textile:]=1))>0),"Company has no geotextile (fabric).","")'))
    found.append(('"Company"', 'IF(AND([job.geogrid]<>"",[company.grid_row]=0),"Company has no geogrid called "&[job.geogrid]&".","")'))
    found.append(('"Company"', '[depths.stale]'))
    found.append(('"Company"', 'IF(AND([depths.stone_column]=0,[depths.level]>0),"There are no depths for this traffic and this paver. Make the workbook anew: basecalc template NEW --prices THIS.","")'))
    found.append(('"Company"', 'IF(AND([company.grid_aperture_stability]+[company.grid_reduction]>0,[depths.grid_column]=0,[depths.level]>0),"There are no depths for this geogrid. Make the workbook anew: basecalc template NEW --prices THIS.","")'))
    found.append(('"Company"', f'IF([company.spot_rule]="quartile","Your company counts the lower quartile of the spots. {_BY_QUOTE}","")'))
    for one in _figures_wrong(sheets):
        found.append(('"Company"', one))
    return found


def _figures_wrong(sheets: Sheets) -> list[str]:
    """Return the sentences of figures of the company that are out of their limits."""
    text = MODEL.problem("company", lambda name: f"[company.{name}]", sheets.units)[1:]
    return [f'IF(LEN({part})=0,"","Company: "&{part})' for part in _pieces(text)]


def _pieces(text: str, longest: int = 3000) -> list[str]:
    """Return a sum of texts in pieces that a cell may hold."""
    depth, start, quoted = 0, 0, False
    found: list[str] = []
    parts: list[str] = []
    for place, sign in enumerate(text):
        quoted ^= sign == '"'
        depth += (sign == "(") - (sign == ")") if not quoted else 0
        if sign == "&" and not depth and not quoted:
            parts.append(text[start:place])
            start = place + 1
    parts.append(text[start:])
    for part in parts:
        if found and len(found[-1]) + len(part) < longest // 2:
            found[-1] += "&" + part
        else:
            found.append(part)
    return found


def checks_blocks(sheets: Sheets, checks: Sequence[Check], census: str, entry_first: str) -> None:
    """Declare the list of all sentences, how many there are, the totals tied to them."""
    places = "SUM([areas.used:])+SUM([areas.strip:])"
    many = f'IF({places}>{sheets.blocks["places"].count},"So many areas with foundation strips are not worked out on the sheet. {_BY_QUOTE}","")'
    rows: list[Check] = [*checks, (f'"{entry_first}"', many)]
    for name in ("areas", "readings", "said", "extras"):
        if name == "areas":
            rows.append((f'"{entry_first}"', f'IF(SUM([areas.used:])=0,"Type the name of the first area in {entry_first}.","")'))
        block = sheets.blocks[name]
        rows += [(block.cell("where", n, SHEET), block.cell("sentence", n, SHEET)) for n in range(1, block.count + 1)]
    prices = sheets.blocks["prices"]
    rows += [('"Prices"', prices.cell("wrong", n, SHEET)) for n in range(1, prices.count + 1)]
    rows.append(('"Company"', f'IF(AND(MAX([stone_job.strips],[grid_job.strips])>{STRIPS}),"So many strips of a roll are not worked out on the sheet. {_BY_QUOTE}","")'))
    rows.append((f'"{entry_first}"', 'IF(AND([job.offered]="geogrid",SUM([areas.used:])>0,[result.others]=0,[result.grid_there]=0),"The offer is geogrid, but geogrid makes no base thinner here. Pick stone or cheaper.","")'))
    rows.append((f'"{entry_first}"', census))
    block = Block(sheets, "checks", SHEET, 3, len(rows), "Everything that may be wrong, in the order of work")
    block.add("cell", "Cell", [f"={cell}" for cell, _ in rows])
    block.add("sentence", "Sentence", [f"={sentence}" for _, sentence in rows])
    block.add("count", "Count so far", '=N([^count])+IF(ISERROR([sentence]),1,IF([sentence]="",0,1))')
    last = len(rows)
    result = Block(sheets, "result", "Money", 34, None, "The result")
    result.add("problems", "Problems", f"={block.cell('count', last, 'Money')}")
    result.add("others", "Problems but the last two", f"={block.cell('count', last - 2, 'Money')}")
    result.add("first", "First problem", '=IF([problems]=0,"",IFERROR(INDEX([checks.sentence:],MATCH(1,[checks.count:],0)),"Something can\'t be worked out: see Checks."))')
    result.add("cell", "Its cell", '=IF([problems]=0,"",INDEX([checks.cell:],MATCH(1,[checks.count:],0)))')
    result.add("grid_there", "There is a geogrid option", "=IF(AND(SUM([depth.laid:])>0,[grid_price.sound]=1),1,0)")
    result.add("stone", f"Total, {OPTION_WORDS['stone']}", "=IF([problems]>0,NA(),[stone_price.price_total])", '"$"#,##0.00')
    result.add("grid", f"Total, {OPTION_WORDS['geogrid']}", '=IF([problems]>0,NA(),IF([grid_there]=1,[grid_price.price_total],"no option here"))', '"$"#,##0.00')
    result.add("usual", f"Total, your {OPTION_WORDS['habit']}", '=IF([problems]>0,NA(),IF([usual_price.sound]=1,[usual_price.price_total],"can\'t be built"))', '"$"#,##0.00')
    result.add("takes_grid", "Geogrid is offered", '=IF([problems]>0,NA(),IF([grid_there]=0,0,IF([job.offered]="geogrid",1,IF([job.offered]="stone",0,IF([grid]<[stone],1,0)))))')
    result.add("chosen", "Total as offered", "=IF([problems]>0,NA(),IF([takes_grid]=1,[grid],[stone]))", '"$"#,##0.00')
    result.add("deposit", "Deposit", "=IF([problems]>0,NA(),IF([takes_grid]=1,[grid_price.deposit],[stone_price.deposit]))", '"$"#,##0.00')


def problems_sheet(sheets: Sheets) -> None:
    """Write the sheet that lists what is wrong, each with a link to its cell."""
    page, put = sheets.sheet(PROBLEMS), sheets.put
    result, checks = sheets.blocks["result"], sheets.blocks["checks"]
    problems = result.cell("problems", 1, PROBLEMS)
    put(page, 1, 1, "Problems", bold=True, size=14, color=BAND)
    page.row_dimensions[1].height = 22
    put(page, 2, 1, f'=IF({problems}=0,"Nothing is missing or wrong.",{problems}&" to fix. The top one comes first.")', bold=True)
    for column, title in enumerate(("No.", "Cell", "What to do"), 1):
        put(page, 4, column, title, bold=True, back=BAND, color="FFFFFF", box=True)
    counts, sentences, cells = (checks.range(key, PROBLEMS) for key in ("count", "sentence", "cell"))
    for place in range(1, min(checks.count or 0, 60) + 1):
        at = f"MATCH({place},{counts},0)"
        show = lambda value, place=place: f'=IF({place}>{problems},"",{value})'  # noqa: E731
        put(page, 4 + place, 1, show(str(place)), across="center")
        name = f"INDEX({cells},{at})"
        link = f'IF(ISNUMBER(SEARCH({name},"Company Prices")),"#"&{name}&"!A1","#Entry!"&{name})'
        put(page, 4 + place, 2, show(f"HYPERLINK({link},{name})"), color=LINK, bold=True)
        put(page, 4 + place, 3, show(f'IFERROR(INDEX({sentences},{at}),"Something can\'t be worked out: see Checks.")'), wrap=True)
    for name, width in zip("ABC", (7, 11, 120), strict=True):
        page.column_dimensions[name].width = width
    page.freeze_panes = "A5"
    page.sheet_view.showGridLines = False
    fit_width(page, orientation="landscape")
