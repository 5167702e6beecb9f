"""The sheet Areas: what is typed of each area, its plan, and the places to build: an area, or the strip cut from it.

Lengths are in feet or meters, depths in inches or millimeters, as typed. Shapes of straight sides go through Outlines,
corner by corner, as `basecalc.plan.shapes` measures them.
"""

from collections.abc import Callable, Sequence
from typing import Any, Final

from basecalc.estimating.blocks import Block, Sheets, first_of
from basecalc.estimating.fields import STRIP, Field, Particular
from basecalc.plan.shapes import TAPE

SHEET, OUTLINES = "Areas", "Outlines"
SLOTS, CORNERS, STRIPS = 6, 12, 6
_HAIR: Final = "0.000000001"


class Typing:
    """Finds what is typed: cells of the lists as text, numbers read, and particulars by what they are for."""

    def __init__(self, lists: dict[str, dict[str, str]], numbers: dict[tuple[str, int, str], int]) -> None:
        self.lists, self.numbers = lists, numbers

    def text(self, name: str, row: int, key: str) -> str:
        """Return a formula for the text of a cell of a list."""
        source = self.lists[name][key].format(row + 1)
        return f'IF(ISERROR({source}),"(error)",TRIM({source}&""))'

    def number(self, sheets: Sheets, name: str, row: int, key: str, seen_from: str, column: str = "value") -> str:
        """Return the cell of a number that was read."""
        return sheets.blocks["numbers"].cell(column, self.numbers[name, row, key], seen_from)


def job_block(sheets: Sheets, card: dict[str, str], particulars: Sequence[Particular], units: str) -> Block:
    """Declare what is typed of the whole job."""
    block = Block(sheets, "job", "Owner", 60, None, "The job")
    for key, source in card.items():
        block.add(key, key.replace("_", " "), f'=IF(ISERROR({source}),"(error)",TRIM({source}&""))')
    for one in particulars:
        if one.scope == "job" and one.use == "priced":
            found = f'MATCH("{"job"}|{one.word}",[said.key:],0)'
            column = "value" if one.kind else "text"
            block.add(one.key, one.word, f'=IF(ISNA({found}),"",INDEX([said.{column}:],{found}))')
    block.add("units", "Units", units)
    block.add("level", "Traffic level", '=IF([traffic]="","light",[traffic])')
    block.add("wet", "Ground was", "=[season]")
    block.add("offered", "Offer", '=IF([offer]="","cheaper",[offer])')
    block.add("all_walked", "Walked it all", '=IF([walked]="yes",1,0)')
    block.add("freezes", "It freezes", '=IF([freezing_index]="",1,IF([freezing_index]>0,1,0))')
    block.add("climate", "Winter given", '=IF([freezing_index]="",0,1)')
    return block


def said_block(sheets: Sheets, typing: Typing, rows: int, listed: Sequence[Particular]) -> None:
    """Declare the particulars as typed: for what, what, the parts of the value."""
    whats = Block(sheets, "whats", "Lists", 3, len(listed), "Particulars", left=0)
    whats.add("key", "For and what", [f"{one.scope}|{one.word}" for one in listed])
    whats.add("kind", "Kind", [one.kind for one in listed])
    whats.add("low", "At least", [one.limits(sheets.units)[0] for one in listed])
    whats.add("high", "At most", [one.limits(sheets.units)[1] for one in listed])
    whats.add("listed", "Several rows", [int(one.listed) for one in listed])
    whats.add("words", "Words", [f"|{'|'.join(one.words)}|" if one.words else "" for one in listed])
    block = Block(sheets, "said", "Particulars", 3, rows, "What is typed under Particulars")
    for key, heading in (("for", "For"), ("what", "What"), ("text", "Value")):
        block.add(key, heading, lambda n, key=key: f"={typing.text('particulars', n, key)}")
    block.add("used", "Used", '=IF([for]&[what]&[text]="",0,1)')
    block.add("scope", "Is for", first_of([
        ("[used]=0", '""'), ('OR([for]="",[for]="job")', '"job"'),
        ('ISNUMBER(MATCH([for],[areas.name:],0))', '"area"'), ('ISNUMBER(MATCH([for],[readings.spot:],0))', '"spot"'),
    ], '"?"'))  # fmt: skip
    block.add("key", "Key", '=IF([used]=0,"",IF([scope]="job","job",[for])&"|"&[what])')
    block.add("place", "Row of the list", '=IF([used]=0,0,IFERROR(MATCH([scope]&"|"&[what],[whats.key:],0),0))')
    block.add("kind", "Kind", '=IF([place]=0,"",INDEX([whats.kind:],[place]))')
    for part in (1, 2, 3):
        cut = f'TRIM(MID(SUBSTITUTE([text],";",REPT(" ",200)),{(part - 1) * 200 + 1},200))'
        block.add(f"part{part}", f"Part {part}", f'=IF([text]="","",{cut})')
    for part, key in ((1, "value"), (2, "second"), (3, "third")):
        column = lambda n, part=part: typing.number(sheets, "particulars", n, f"part{part}", block.sheet)  # noqa: E731
        block.add(key, f"Number {part}", lambda n, column=column: f'=IF(ISNUMBER({column(n)}),{column(n)},"")')
    # A gap under a straightedge of another length: what 6 ft would show at least and at most (old_pavement_seen).
    six = "6" if sheets.units == "us" else "1.8288"
    block.add("edge", "Straightedge", f"=IF(ISNUMBER([second]),[second],{six})")
    block.add("base", "Base in a test hole", '=IF(AND([what]="test holes",ISNUMBER([value])),[value],0)')
    block.add("gap_low", "Gap, at least", f'=IF(AND([what]="old pavement seen",ISNUMBER([value])),ROUND(MIN([value],[value]*({six}/[edge])^2),9),-1)')
    block.add("gap_high", "Gap, at most", f'=IF([gap_low]<0,-1,ROUND(MAX([value],[value]*({six}/[edge])^2),9))')


def areas_block(sheets: Sheets, typing: Typing, rows: int, fields: Sequence[Field], listed: Sequence[Particular]) -> None:
    """Declare the areas as typed, and their plan."""
    block = Block(sheets, "areas", SHEET, 3, rows, "Areas as typed, and their plan")
    add = block.add
    add("typed", "Filled", lambda n: "=" + "+".join(f'IF({typing.text("areas", n, one.key)}="",0,1)' for one in fields))
    add("used", "Used", "=IF([typed]>0,1,0)")
    add("order", "No.", lambda n: n)
    for one in fields:
        if one.kind:
            add(one.key, one.label, lambda n, one=one: f'=IF(ISNUMBER({typing.number(sheets, "areas", n, one.key, SHEET)}),{typing.number(sheets, "areas", n, one.key, SHEET)},"")')
        else:
            key = "shape_typed" if one.key == "shape" else "soil_typed" if one.key == "soil" else one.key
            add(key, one.label, lambda n, one=one: f"={typing.text('areas', n, one.key)}")
    add("shape", "Shape", '=IF([used]=0,"",IF([shape_typed]="","rectangle",[shape_typed]))')
    add("soil", "Soil", '=IF([used]=0,"",IF([soil_typed]="",[job.soil],[soil_typed]))')
    for said in listed:
        if said.scope != "area" or said.use != "priced" or said.listed:
            continue
        row = f'MATCH([name]&"|{said.word}",[said.key:],0)'
        for part in (1, 2, 3) if said.key in ("sides",) else (1, 2) if said.key in ("parallel_sides", "legs") else (1,):
            column = {1: "value", 2: "second", 3: "third"}[part] if said.kind else "text"
            add(f"{said.key}{part if part > 1 else ''}" if said.key != "area" else "area_given", said.word + f" {part}" * (part > 1),
                f'=IF(OR([used]=0,ISNA({row})),"",INDEX([said.{column}:],{row}))')
    odd = '[shape]="triangle",[shape]="trapezoid",[shape]="polygon"'
    add("odd", "Straight sides", f"=IF(OR({odd}),1,0)")
    add("slot", "Outline", lambda n: "=IF([odd]=1," + ("1" if n == 1 else f"MAX({block.cell('slot', 1, SHEET)}:{block.cell('slot', n - 1, SHEET)})+1") + ",0)")

    def shaped(rectangle: str, circle: str, measured: str, key: str) -> str:
        outline = f'IF([slot]>{SLOTS},"",INDEX([outlines.{key}:],[slot]))'
        return first_of([("[used]=0", '""'), ('[shape]="rectangle"', rectangle), ('[shape]="circle"', circle),
                         ('[shape]="measured"', measured), ("[odd]=1", outline)])  # fmt: skip

    add("plan", "Paved area", shaped('IF(COUNT([length],[width])=2,[length]*[width],"")', 'IF([length]="","",PI()*[length]^2/4)', "[area_given]", "plan"))
    add("around", "Outline length", shaped('IF(COUNT([length],[width])=2,2*([length]+[width]),"")', 'IF([length]="","",PI()*[length])', "[perimeter]", "around"))
    add("corner_sum", "Corners, all open", shaped("4", "PI()", "4", "corner_sum"))
    two = 'IF(COUNT([length],[width])=2,{}([length],[width]),"")'
    add("long", "Longer side", shaped(two.format("MAX"), "[length]", two.format("MAX"), "long"))
    add("wide", "Shorter side", shaped(two.format("MIN"), "[length]", two.format("MIN"), "wide"))
    add("building", "Along the building", '=IF([foundation_edge]="",0,[foundation_edge])')
    add("open", "Open edge", '=IF([used]=0,"",IF([open_edge]<>"",[open_edge],IF([around]="","",MAX([around]-[building],0))))')
    closed, tape = "([around]-[open])", str(TAPE)
    near = lambda length: f"ABS({length}-{closed})<={tape}*{closed}"  # noqa: E731
    rectangle = (
        f'IF(OR({near("[length]")},{near("[width]")}),2,IF({near("([length]+[width])")},1,'
        f'IF(OR({near("(2*[length]+[width])")},{near("([length]+2*[width])")}),0,2)))'
    )
    add("corner", "Open corners", first_of([
        ("[used]=0", '""'), ('[corners]<>""', "[corners]"), ('[open]=""', '""'), ("[open]=0", "0"),
        ('[around]=""', "[corner_sum]"), (f"[open]>=[around]*(1-{_HAIR})", "[corner_sum]"),
        ('[shape]="rectangle"', rectangle), ('[shape]="circle"', "[corner_sum]*[open]/[around]"),
        ('[shape]="measured"', "MAX([corner_sum]-2,0)"), (f"[slot]<={SLOTS}", "INDEX([outlines.part_open:],[slot])"),
    ]))  # fmt: skip
    add("restraint", "Edge restraint", '=IF([used]=0,"",IF([edge_restraint]="",[open],[edge_restraint]))')
    add("strip", "Strip at the foundation", '=IF([foundation_strip]="yes",1,0)')
    add("strip_name", "Strip is called", f'=IF([strip]=1,[name]&"{STRIP}","")')
    add("first_place", "First place", lambda n: "=IF([used]=0,0," + ("1" if n == 1 else f"SUM({block.cell('used', 1, SHEET)}:{block.cell('used', n - 1, SHEET)})+SUM({block.cell('strip', 1, SHEET)}:{block.cell('strip', n - 1, SHEET)})+1") + ")")
    add("walk", "Walked", '=IF([walked]="",[job.all_walked],IF([walked]="yes",1,0))')


def outlines_block(sheets: Sheets) -> None:
    """Declare the outlines of areas with straight sides: corners, sides, and what each part comes to."""
    block = Block(sheets, "outlines", OUTLINES, 3, SLOTS, "Areas with straight sides that are no rectangle")
    add = block.add
    add("area", "Row of the area", "=IFERROR(MATCH([#],[areas.slot:],0),0)")
    for key in ("shape", "length", "width", "sides", "sides2", "sides3", "parallel_sides", "parallel_sides2", "legs", "legs2", "points", "around_open"):
        source = {"around_open": "open"}.get(key, key)
        add(f"its_{key}", source, f'=IF([area]=0,"",INDEX([areas.{source}:],[area]))')
    add("by_sides", "By three sides", '=IF(AND([its_shape]="triangle",COUNT([its_sides],[its_sides2],[its_sides3])=3),1,0)')
    for key, one in (("longest", "MAX"), ("shortest", "MIN")):
        add(key, one, f"=IF([by_sides]=1,{one}([its_sides],[its_sides2],[its_sides3]),0)")
    add("middle", "Middle side", "=IF([by_sides]=1,[its_sides]+[its_sides2]+[its_sides3]-[longest]-[shortest],0)")
    add("along", "Foot of the tip", "=IF([by_sides]=1,([longest]^2+[middle]^2-[shortest]^2)/(2*[longest]),0)")
    add("lean", "Lean of a leg", '=IF(AND([its_shape]="trapezoid",COUNT([its_legs],[its_width])=2),SQRT(MAX([its_legs]^2-[its_width]^2,0)),0)')
    closing = "ABS(SQRT(([its_parallel_sides]-[its_parallel_sides2]-({}))^2+[its_width]^2)-[its_legs2])"
    add("start", "Where the upper side starts", f'=IF(COUNT([its_legs],[its_legs2],[its_width],[its_parallel_sides],[its_parallel_sides2])=5,IF({closing.format("[lean]")}<={closing.format("-[lean]")},[lean],-[lean]),0)')
    pieces = '(LEN([its_points])-LEN(SUBSTITUTE([its_points],";","")))'
    add("pieces", "Corners listed", f'=IF(OR([its_shape]<>"polygon",[its_points]=""),0,{pieces}+IF(RIGHT([its_points],1)=";",0,1))')
    add("same_end", "Ends where it began", lambda n: f"=IF([pieces]>3,IF(ABS({_corner(sheets, n, 'x_typed', 1)}-INDEX({_column(sheets, n, 'x_typed')},[pieces]))+ABS({_corner(sheets, n, 'y_typed', 1)}-INDEX({_column(sheets, n, 'y_typed')},[pieces]))<0.000001,1,0),0)")
    sound = {
        "triangle": "IF([by_sides]=1,IF([longest]<[shortest]+[middle],3,0),IF(COUNT([its_length],[its_width])=2,3,0))",
        "trapezoid": "IF(COUNT([its_parallel_sides],[its_parallel_sides2],[its_width])=3,4,0)",
        "polygon": f"IF(AND([pieces]>=3,[pieces]<={CORNERS}),[pieces]-[same_end],0)",
    }
    add("count", "Corners", first_of([(f'[its_shape]="{shape}"', text) for shape, text in sound.items()], "0"))

    def summed(formula: str) -> Callable[[int], str]:
        return lambda n: _filled(formula, sheets, n)

    add("signed", "Area with its sign", summed('=IF([count]=0,"",SUM({cross})/2)'))
    add("plan", "Area", '=IF([count]=0,"",ABS([signed]))')
    add("around", "Outline", summed('=IF([count]=0,"",SUM({side}))'))
    add("corner_sum", "Corners, all open", summed('=IF([count]=0,"",ROUND(SUM({turn}),12))'))
    add("long", "Longer side", summed(f'=IF([count]=0,"",INDEX({{best_long}},{CORNERS}))'))
    add("wide", "Shorter side", summed(f'=IF([count]=0,"",INDEX({{best_wide}},{CORNERS}))'))
    add("closed", "Closed length", '=IF(OR([count]=0,[its_around_open]=""),"",[around]-[its_around_open])')
    add("left", "Open corners of sides in a row", summed('=IF([closed]="","",MAX({run}))'))
    add("part_open", "Open corners", summed('=IF([closed]="","",IF([left]>-500,ROUND([left],12),MAX(ROUND([corner_sum]-LARGE({turn},1)-LARGE({turn},2),12),0)))'))
    for slot in range(1, SLOTS + 1):
        _corners(sheets, slot)


def _name(slot: int) -> str:
    return f"corners{slot}"


def _column(sheets: Sheets, slot: int, key: str) -> str:
    own = sheets.blocks[_name(slot)]
    whole = own.range(key, OUTLINES)
    first, _, last = whole.partition(":")
    return f"{first}:{last.rstrip('0123456789')}{own.top + CORNERS}"


def _corner(sheets: Sheets, slot: int, key: str, row: int) -> str:
    return sheets.blocks[_name(slot)].cell(key, row, OUTLINES)


def _filled(formula: str, sheets: Sheets, slot: int) -> str:
    for key in ("cross", "side", "turn", "best_long", "best_wide", "run"):
        formula = formula.replace("{" + key + "}", _column(sheets, slot, key))
    return formula


def _corners(sheets: Sheets, slot: int) -> None:
    """Declare the corners of one outline; twice as many rows, so that sides in a row may pass the first corner."""
    rows = 2 * CORNERS
    block = Block(sheets, _name(slot), OUTLINES, 6 + SLOTS + (slot - 1) * (rows + 3), rows, f"Outline {slot}, corner by corner")
    head = sheets.blocks["outlines"]
    h = lambda key: head.cell(key, slot, OUTLINES)  # noqa: E731

    def add(key: str, heading: str, formula: str) -> None:
        def written(n: int) -> Any:
            if n > CORNERS:
                return None
            text = formula
            for name in ("first", "count", "its_points", "its_shape", "its_length", "its_width", "by_sides", "longest", "along", "middle", "its_parallel_sides", "its_parallel_sides2", "start", "signed", "closed", "corner_sum", "pieces"):
                text = text.replace("{" + name + "}", h(name) if name != "first" else "")
            return text
        block.add(key, heading, written)

    at = lambda key, n: block.cell(key, n, OUTLINES)  # noqa: E731
    block.add("number", "No.", lambda n: n)
    cut = 'TRIM(MID(SUBSTITUTE({its_points},";",REPT(" ",99)),([number]-1)*99+1,99))'
    add("piece", "As typed", f'=IF([number]>{{pieces}},"",SUBSTITUTE(TRIM(SUBSTITUTE(SUBSTITUTE({cut},",","|")," ","|")),"||","|"))')
    point = lambda text: f'VALUE(SUBSTITUTE({text},".",MID(1/2,2,1)))'  # noqa: E731
    add("x_typed", "x typed", f'=IF([piece]="","",{point("LEFT([piece],FIND(" + chr(34) + "|" + chr(34) + ",[piece])-1)")})')
    add("y_typed", "y typed", f'=IF([piece]="","",{point("MID([piece],FIND(" + chr(34) + "|" + chr(34) + ",[piece])+1,40)")})')
    shapes_x = ('IF({its_shape}="polygon",[x_typed],IF({its_shape}="triangle",CHOOSE([number],0,IF({by_sides}=1,{longest},{its_length}),IF({by_sides}=1,{along},0)),'
                "CHOOSE([number],0,{its_parallel_sides},{start}+{its_parallel_sides2},{start})))")  # fmt: skip
    shapes_y = ('IF({its_shape}="polygon",[y_typed],IF({its_shape}="triangle",CHOOSE([number],0,0,IF({by_sides}=1,SQRT(MAX({middle}^2-{along}^2,0)),{its_width})),'
                "CHOOSE([number],0,0,{its_width},{its_width})))")  # fmt: skip
    for key, text in (("x", shapes_x), ("y", shapes_y)):
        def position(n: int, key: str = key, text: str = text) -> Any:
            if n > CORNERS:
                return None
            for name in ("its_shape", "by_sides", "longest", "along", "middle", "its_length", "its_width", "start", "its_parallel_sides2", "its_parallel_sides"):
                text = text.replace("{" + name + "}", h(name))
            past = "0" if n == 1 else at(key, 1)
            return f"=IF({h('count')}=0,0,IF([number]>{h('count')},{past},{text}))"
        block.add(key, key, position)
    def onward(key: str) -> Callable[[int], Any]:
        return lambda n: None if n > CORNERS else f"=IF([number]>{h('count')},0,{'IF([number]=' + h('count') + ',' + at(key, 1) + ',' + at(key, n + 1) + ')' if n < CORNERS else at(key, 1)}-[{key}])"
    block.add("dx", "To the next, x", onward("x"))
    block.add("dy", "To the next, y", onward("y"))
    add("side", "Side", "=SQRT([dx]^2+[dy]^2)")
    add("cross", "Twice its area", "=[x]*([y]+[dy])-([x]+[dx])*[y]")
    def turn(n: int) -> str:
        if n > CORNERS:
            return f"=IF([number]>{h('count')},IF([number]>2*{h('count')},\"\",INDEX({_column(sheets, slot, 'turn')},[number]-{h('count')})),\"\")"
        nx, ny, ns = (f"IF([number]={h('count')},{at(key, 1)},{at(key, n + 1) if n < CORNERS else at(key, 1)})" for key in ("dx", "dy", "side"))
        own = f"SIGN({h('signed')})*([dx]*{ny}-[dy]*{nx})/([side]*{ns}+[dx]*{nx}+[dy]*{ny})"
        return f"=IF({h('count')}=0,\"\",IF([number]>{h('count')},\"\",{own}))"
    block.add("turn", "Corner", turn)
    for key, along in (("span", "({x}*[dx]+{y}*[dy])"), ("across", "({y}*[dx]-{x}*[dy])")):
        def extent(n: int, along: str = along) -> Any:
            if n > CORNERS:
                return None
            text = along.replace("{x}", _column(sheets, slot, "x")).replace("{y}", _column(sheets, slot, "y"))
            return f"=IF([side]=0,0,(SUMPRODUCT(MAX({text}))-SUMPRODUCT(MIN({text})))/[side])"
        block.add(key, key, extent)
    def better(n: int) -> Any:
        if n > CORNERS:
            return None
        return "=IF([side]=0,0,1)" if n == 1 else f"=IF([side]=0,0,IF([span]*[across]<[^best_long]*[^best_wide]*(1-{_HAIR}),1,0))"
    block.add("better", "Smaller box", better)
    for key, one in (("best_long", "MAX"), ("best_wide", "MIN")):
        block.add(key, f"Box, {key[5:]}", lambda n, key=key, one=one: None if n > CORNERS else f"=IF([better]=1,{one}([span],[across]),N([^{key}]))")
    # Sides in a row: lengths and corners added up, once round and on
    count = h("count")
    def twice(key: str, n: int) -> str:
        own = f"[{key}]" if n <= CORNERS else "0"
        again = f"INDEX({_column(sheets, slot, key)},[number]-{count})" if n > 3 else "0"
        return f"IF({count}=0,0,IF([number]<={count},{own},IF([number]<=2*{count},{again},0)))"
    for key, of in (("sides_to", "side"), ("turns_to", "turn")):
        block.add(key, f"{of}s so far", lambda n, key=key, of=of: f"=N([^{key}])+{twice(of, n)}")
    def run(n: int) -> Any:
        if n > CORNERS:
            return None
        last = min(n + CORNERS - 2, rows)
        window = lambda key: f"{at(key, n)}:{at(key, last)}"  # noqa: E731
        before = {key: "0" if n == 1 else at(key, n - 1) for key in ("sides_to", "turns_to")}
        ahead = f"IF([number]=1,INDEX({_column(sheets, slot, 'turn')},{count}),{at('turn', n - 1) if n > 1 else 0})"
        hit = f"(ABS({window('sides_to')}-{before['sides_to']}-{h('closed')})<={TAPE}*{h('closed')})*({window('number')}<[number]+{count}-1)"
        left = f"(1000+{h('corner_sum')}-({window('turns_to')}-{before['turns_to']}+{ahead}))"
        return f"=IF(OR([number]>{count},{h('closed')}=\"\"),-1000,SUMPRODUCT(MAX({hit}*{left}))-1000)"
    block.add("run", "Open corners if closed from here", run)


def places_block(sheets: Sheets, rows: int) -> None:
    """Declare the places to build in their order: each area, and behind it the strip that was cut from it."""
    block = Block(sheets, "places", SHEET, 3 + sheets.blocks["areas"].count + 4, rows, "Places to build: areas and strips")
    add = block.add
    add("used", "Used", "=IF([#]<=SUM([areas.used:])+SUM([areas.strip:]),1,0)")
    add("row", "Row of the area", "=IF([used]=0,0,SUMPRODUCT(MAX(([areas.first_place:]<=[#])*([areas.first_place:]>0)*([areas.order:]))))")
    of = lambda key: f"INDEX([areas.{key}:],[row])"  # noqa: E731
    add("strip", "Strip", f"=IF([used]=0,0,IF([#]>{of('first_place')},1,0))")
    add("cut", "Has a strip", f"=IF([used]=0,0,{of('strip')})")
    add("name", "Place", f'=IF([used]=0,"",IF([strip]=1,{of("strip_name")},{of("name")}))')
    for key in ("plan", "around", "open", "corner", "long", "wide", "building", "restraint"):
        add(f"all_{key}", f"Whole: {key}", f'=IF([used]=0,"",{of(key)})')
    add("width", "Width of the strip", f'=IF([cut]=1,{of("foundation_fill_width")},0)')
    add("ends", "Open ends", f'=IF([cut]=0,0,IF({of("foundation_strip_open_ends")}<>"",{of("foundation_strip_open_ends")},IF(N([width])=0,0,MIN(INT([all_open]/[width]*(1+{_HAIR})),2))))')
    add("left_open", "Open edge left", f'=IF([cut]=0,"",IF([all_open]-[ends]*[width]<={_HAIR}*[all_open],0,[all_open]-[ends]*[width]))')
    edge = "[all_building]"
    cut_long = lambda side, other: f"AND(ABS({edge}-{side})<={_HAIR}*{side},{other}>[width])"  # noqa: E731
    add("cut_off", "Cut along a whole side", f'=IF(AND([cut]=1,[ends]=2,{of("shape")}="rectangle"),IF({cut_long("[all_long]", "[all_wide]")},1,IF({cut_long("[all_wide]", "[all_long]")},2,0)),0)')
    whole = lambda rest, strip, plain: f'=IF([used]=0,"",IF([cut]=0,{plain},IF([strip]=1,{strip},{rest})))'  # noqa: E731
    add("plan", "Paved area", whole(f"[all_plan]-{edge}*[width]", f"{edge}*[width]", "[all_plan]"))
    add("open", "Open edge", whole("[left_open]", "[all_open]-[left_open]", "[all_open]"))
    add("corner", "Open corners", whole("IF([left_open]>0,[all_corner],0)", "IF([left_open]>0,0,[all_corner])", "[all_corner]"))
    sides = lambda one: f"CHOOSE([cut_off]+1,{'[all_long]' if one == 'MAX' else '[all_wide]'},{one}([all_long],[all_wide]-[width]),{one}([all_wide],[all_long]-[width]))"  # noqa: E731
    add("long", "Longer side", whole(sides("MAX"), f"MAX({edge},[width])", "[all_long]"))
    add("wide", "Shorter side", whole(sides("MIN"), f"MIN({edge},[width])", "[all_wide]"))
    along = "MIN([all_open]-[left_open],[all_restraint])"
    add("edge", "Edge restraint", whole(f"[all_restraint]-{along}", along, "[all_restraint]"))
    add("finish", "Finish above ground", f'=IF([used]=0,"",N({of("finish_above_ground")}))')
    add("soil", "Soil", f'=IF([used]=0,"",{of("soil")})')
    for key in ("fine", "swell", "weight"):
        add(key, key, f'=IF([used]=0,"",IFERROR(INDEX([soils.{key}:],MATCH([soil],[soils.name:],0)),""))')
    add("old", "Old pavement", f'=IF([used]=0,"",N({of("old_pavement")}))')
    add("old_kind", "of", f'=IF([used]=0,"",{of("old_pavement_kind")})')
    for key in ("weight", "bulking"):
        add("old_weight" if key == "weight" else key, f"Old pavement: {key}", f'=IF([used]=0,"",IF([old]=0,"",IFERROR(INDEX([old_kinds.{key}:],MATCH([old_kind],[old_kinds.name:],0)),"")))')
    add("along", "Along the foundation", whole("0", edge, edge))
    add("fill_width", "Width of the fill", whole("0", "[width]", f"N({of('foundation_fill_width')})"))
    add("fill_depth", "Depth of the fill", whole("0", f"N({of('foundation_fill_depth')})", f"N({of('foundation_fill_depth')})"))
    add("loose", "Loose fill here", f'=IF([used]=0,0,IF(AND(N({of("loose_fill_depth")})>0,OR([cut]=0,[strip]=1)),1,0))')
    add("fills", "It is replaced", f'=IF([loose]=0,0,IF({of("loose_fill")}="fill",1,0))')
    add("sound_at", "Sound ground at", f'=IF([used]=0,"",IF([fills]=1,{of("loose_fill_depth")},0))')
    add("textile", "Fabric", f'=IF([used]=0,"",IF({of("geotextile")}="yes",1,0))')
    add("keeps", "Old base is to stay", f'=IF([used]=0,0,IF(AND([strip]=0,{of("keep_old_base")}="yes"),1,0))')
