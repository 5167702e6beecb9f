"""The sheet Ground: every reading judged by the published tables, spots put together, the weakest spot of each place.

The rule of caution is that of `basecalc.ground.strength`: readings of a spot leave an interval open, the lowest measured
CBR is cut off at its strong end; a measured spot counts with the owner's share unless the area was walked, never less
than the weak edge of its class; a class alone counts at its edge; frozen ground counts for nothing. Classes are numbers
here, 0 very soft to 5 hard.
"""

from collections.abc import Sequence
from typing import Final

from basecalc.core.published import table
from basecalc.core.units import INCH_M, TSF_KPA
from basecalc.design.settings import limit
from basecalc.estimating.blocks import Block, Sheets, first_of
from basecalc.estimating.fields import LOG_TEST, reading_limits
from basecalc.estimating.plan import Typing
from basecalc.ground.classes import CLASSES, LEAST_CBR, MOST_CBR, middle, strong_edge, weak_edge
from basecalc.ground.readings import TESTS, pavement_rule, settled_gap_in, test_help, test_row

SHEET: Final = "Ground"
_NONE: Final = 1000000000  # no reading, where the weakest is looked for


def ground_lists(sheets: Sheets) -> None:
    """Declare the published tables that readings are judged by."""
    metric = sheets.units == "metric"
    block = Block(sheets, "classes", "Lists", 3, len(CLASSES), "Classes of the ground, by CBR", left=0)
    block.add("name", "Class", list(CLASSES))
    block.add("weak", "Weak edge", [weak_edge(one) for one in CLASSES])
    block.add("strong", "Strong edge", lambda n: strong_edge(CLASSES[n - 1]) if n < len(CLASSES) else float(_NONE))
    block.add("middle", "Middle", lambda n: middle(CLASSES[n - 1]) if n > 1 else 0.0)
    for key, of, unit in (("qu_to", "qu_classes", TSF_KPA if metric else 1.0), ("spt_to", "spt_classes", 1.0)):
        block.add(key, f"{of}, up to", lambda n, of=of, unit=unit: float(f"{float(table(of).rows[n - 1]['up_to']) * unit:.12g}"))
    bands, words = [], []
    for test in TESTS:
        row = test_row(test)
        if row["bands"]:
            factor = INCH_M * 1000 if metric else 1.0
            bands += [(test, float(one["from"]) * factor, one["weakest"], one["strongest"]) for one in table(str(row["bands"])).rows]
        if row["words"]:
            words += [(test, one["word"], one["weakest"], one["strongest"]) for one in table(str(row["words"])).rows]
    for name, rows in (("bands", bands), ("words", words)):
        block = Block(sheets, name, "Lists", 3, len(rows), "Readings by number" if name == "bands" else "Readings by word", left=0)
        if name == "bands":
            block.add("test", "Test", [row[0] for row in rows])
            block.add("order", "No.", lambda n: n)
            block.add("from", "From", [float(f"{row[1]:.12g}") for row in rows])
        else:
            block.add("key", "Test and word", [f"{row[0]} {row[1]}" for row in rows])
        block.add("weakest", "Weakest", [CLASSES.index(str(row[2])) for row in rows])
        block.add("strongest", "Strongest", [CLASSES.index(str(row[3])) for row in rows])
    tests = reading_limits(sheets.units)
    block = Block(sheets, "tests", "Lists", 3, len(tests), "Tests of the ground", left=0)
    for place, (key, heading) in enumerate((("name", "Test"), ("kind", "Kind"), ("low", "At least"), ("high", "At most"))):
        block.add(key, heading, [one[place] for one in tests])
    for key in ("season", "fine_only"):
        block.add(key, key.replace("_", " "), [0 if test == LOG_TEST else int(bool(test_row(test)[key])) for test, *_ in tests])
    block.add("help", "What to type", ["its file" if test == LOG_TEST else test_help(test) for test, *_ in tests])


def readings_block(sheets: Sheets, typing: Typing, rows: int) -> None:
    """Declare the readings: what each says by itself, then what its spot says."""
    metric = sheets.units == "metric"
    block = Block(sheets, "readings", SHEET, 3, rows, "Readings, one by one and spot by spot")
    add = block.add
    for key in ("spot", "area", "test", "reading", "moisture", "soil_typed", "note"):
        add(key, key, lambda n, key=key: f"={typing.text('readings', n, 'soil' if key == 'soil_typed' else key)}")
    add("used", "Used", '=IF([spot]&[area]&[test]&[reading]&[moisture]&[soil_typed]="",0,1)')
    add("place_name", "Place", '=IF([used]=0,"",IF(AND([area]="",SUM([areas.used:])=1),INDEX([areas.name:],MATCH(1,[areas.used:],0)),[area]))')
    add("place", "Row of the place", '=IF([place_name]="",0,IFERROR(MATCH([place_name],[places.name:],0),0))')
    add("wet", "Ground was", '=IF([moisture]="",[job.wet],[moisture])')
    add("soil", "Soil", '=IF([used]=0,"",IF([soil_typed]<>"",[soil_typed],IF([place]=0,"",INDEX([places.soil:],[place]))))')
    add("soil_row", "Row of the soil", "=IF([used]=0,0,IFERROR(MATCH([soil],[soils.name:],0),0))")
    add("fine", "Fine soil", "=IF([soil_row]=0,1,INDEX([soils.fine:],[soil_row]))")
    add("test_row", "Row of the test", "=IF([used]=0,0,IFERROR(MATCH([test],[tests.name:],0),0))")
    add("kind", "Kind", '=IF([test_row]=0,"",INDEX([tests.kind:],[test_row]))')
    add("season", "Season matters", "=IF([test_row]=0,0,INDEX([tests.season:],[test_row]))")
    add("number", "Number", lambda n: f"=IF(ISNUMBER({typing.number(sheets, 'readings', n, 'reading', SHEET)}),{typing.number(sheets, 'readings', n, 'reading', SHEET)},\"\")")
    add("word_row", "Row of the word", '=IF([used]=0,0,IFERROR(MATCH([test]&" "&[reading],[words.key:],0),0))')
    add("band_row", "Row of the band", '=IF(OR([used]=0,[number]="",[word_row]>0),0,SUMPRODUCT(MAX(([bands.test:]=[test])*([bands.from:]<=ROUND([number],9))*[bands.order:])))')
    tsf = repr(TSF_KPA)
    kpa = "1" if metric else tsf
    add("qu", "Unconfined strength", '=IF([number]="","",IF([test]="pocket",[number],IF([test]="vane",2*[number],"")))')
    curves = table("cone_equations")
    formulas = []
    for curve in curves.rows:
        name = str(curve["curve"])
        own = f"{float(curve['numerator'])!r}/({float(curve['factor'])!r}*[number])^{float(curve['exponent'])!r}"
        general = curves.exact("general")
        for_all = f"{float(general['numerator'])!r}/({float(general['factor'])!r}*[number])^{float(general['exponent'])!r}"
        used = f"IF(ROUND({own},9)<{float(curve['used_below'])!r},{own},{for_all})" if float(curve["used_below"]) < 1e9 else own
        key = f"by_{name.lower()}"
        add(key, f"Cone, {name}", f'=IF(AND([test]="cone",N([number])>0),IF(AND([soil_row]>0,INDEX([soils.cone_{name.lower()}:],MAX([soil_row],1))=0),{_NONE},{used}),{_NONE})')
        formulas.append(f"[{key}]")
    per_cbr = float(table("shear_strength").exact("cu per CBR")["value"])
    add("raw", "CBR as read", first_of([
        ('[number]=""', '""'), ('[test]="cbr"', "[number]"), ('[test]="cone"', f"MIN({MOST_CBR!r},{','.join(formulas)})"),
        ('[qu]<>""', f"[qu]/2*{kpa}/{per_cbr!r}"),
    ]))  # fmt: skip
    by_cbr = "SUMPRODUCT(--([classes.weak:]<ROUND({},10)))-1"
    add("raw_class", "Class as read", first_of([
        ('[raw]=""', '""'), ('[qu]<>""', f"MAX(0,MIN({by_cbr.format('[raw]')},SUMPRODUCT(--([classes.qu_to:]<ROUND([qu],9)))))"),
        ("1=1", f"MAX(0,{by_cbr.format('[raw]')})"),
    ]))  # fmt: skip
    add("weakest", "Weakest", first_of([
        ("[used]=0", '""'), ("[word_row]>0", "INDEX([words.weakest:],[word_row])"), ('[raw]<>""', "[raw_class]"),
        ("[band_row]>0", "INDEX([bands.weakest:],[band_row])"),
        ('AND([test]="spt",[number]<>"")', "SUMPRODUCT(--([classes.spt_to:]<ROUND([number],9)))"),
    ]))  # fmt: skip
    add("strongest", "Strongest", first_of([
        ('[weakest]=""', '""'), ("[word_row]>0", "INDEX([words.strongest:],[word_row])"),
        ("[band_row]>0", "INDEX([bands.strongest:],[band_row])"), ("1=1", "[weakest]"),
    ]))  # fmt: skip
    add("says", "Says something", '=IF([weakest]="",0,1)')
    add("counts", "Counts", '=IF([says]=0,0,IF(AND([season]=1,[wet]="frozen"),0,1))')
    add("down", "Class down", '=IF(AND([counts]=1,[season]=1,[wet]="dry",[fine]=1,[company.class_down]=1),1,0)')
    add("low", "Weakest, taken", "=IF([counts]=0,0,MAX([weakest]-[down],0))")
    add("high", "Strongest, taken", "=IF([counts]=0,5,MAX([strongest]-[down],0))")
    add("read_cbr", "CBR, taken", f'=IF(OR([counts]=0,[raw]=""),"",IF([raw]<{LEAST_CBR!r},"",IF([down]=0,[raw],IF(MIN([raw]/2,INDEX([classes.strong:],[high]+1))<{LEAST_CBR!r},"",MIN([raw]/2,INDEX([classes.strong:],[high]+1))))))')
    add("number_read", "CBR or none", f"=IF(COUNT([read_cbr])=1,[read_cbr],{_NONE})")
    add("by_class", "By class only", "=IF(AND([counts]=1,COUNT([read_cbr])=0),1,0)")
    same = "([spot:]=[spot])"
    add("spot_high", "Spot: strongest", f"=IF([used]=0,5,MIN(5,SUMPRODUCT(MIN([high:]+(1-{same}*[by_class:])*99))))")
    add("spot_low", "Spot: weakest", f"=IF([used]=0,0,MIN([spot_high],SUMPRODUCT(MAX([low:]*{same}*[by_class:]))))")
    add("lowest", "Spot: lowest CBR", f"=IF([used]=0,{_NONE},SUMPRODUCT(MIN([number_read:]+(1-{same})*{_NONE})))")
    add("measured", "Spot: measured", f"=IF(AND([lowest]<{_NONE},[spot_high]>0),1,0)")
    add("spot_cbr", "Spot: CBR", '=IF([measured]=0,"",MIN([lowest],INDEX([classes.strong:],[spot_high]+1)))')
    add("spot_class", "Spot: class", f"=IF([measured]=0,[spot_low],MAX(0,{by_cbr.format('[spot_cbr]')}))")
    add("spot_counts", "Spot counts", f"=IF([used]=0,0,SUMPRODUCT(MAX([counts:]*{same})))")
    add("walked", "Walked", "=IF([place]=0,0,INDEX([areas.walk:],MAX(INDEX([places.row:],[place]),1)))")
    edge = 'IF([company.class_edge]="middle",INDEX([classes.middle:],[spot_class]+1),INDEX([classes.weak:],[spot_class]+1))'
    add("known", "Counts as CBR", f"=IF(OR([used]=0,[spot_counts]=0),{_NONE},IF([measured]=0,{edge},IF([walked]=1,[spot_cbr],MIN([spot_cbr],MAX(INDEX([classes.weak:],[spot_class]+1),[company.allowance]*[spot_cbr])))))")
    add("other_place", "Spot in two areas", f"=IF([used]=0,0,SUMPRODUCT({same}*([used:]=1)*([place:]<>[place])))")
    add("shown", "Taken as", first_of([
        ("[used]=0", '""'), ("[says]=0", '""'), ("[spot_counts]=0", '"frozen"'),
        ("[measured]=1", '"CBR "&ROUND([known],2)'), ("1=1", "INDEX([classes.name:],[spot_class]+1)"),
    ]))  # fmt: skip


def strength_block(sheets: Sheets, rows: int) -> None:
    """Declare the strength of each place: by hand or by its readings, its old pavement, the ground below its fill."""
    metric = sheets.units == "metric"
    block = Block(sheets, "strength", SHEET, sheets.blocks["readings"].count + 8, rows, "The ground of each place")
    add = block.add
    of = lambda key: f"INDEX([areas.{key}:],MAX(INDEX([places.row:],[#]),1))"  # noqa: E731
    place = lambda key: f"INDEX([places.{key}:],[#])"  # noqa: E731
    add("used", "Used", f"={place('used')}")
    add("strip", "Strip", f"={place('strip')}")
    add("hand", "By hand", f'=IF([used]=0,"",IF([strip]=1,{of("foundation_strip_strength")},{of("strength")}))')
    add("hand_class", "By hand, class", '=IF([hand]="","",IFERROR(MATCH([hand],[classes.name:],0)-1,""))')
    number = 'VALUE(SUBSTITUTE(SUBSTITUTE(SUBSTITUTE([hand],"%",""),",","x"),".",MID(1/2,2,1)))'
    add("hand_cbr", "By hand, CBR", f'=IF(OR([hand]="",[hand_class]<>""),"",IFERROR(IF(OR({number}<{LEAST_CBR!r},{number}>{MOST_CBR!r}),"",{number}),""))')
    add("readings", "Readings", "=IF([used]=0,0,SUMPRODUCT(([readings.place:]=[#])*([readings.says:]=1)))")
    add("thawed", "Readings that count", "=IF([used]=0,0,SUMPRODUCT(([readings.place:]=[#])*([readings.spot_counts:]=1)*([readings.says:]=1)))")
    add("weakest", "Weakest spot, CBR", f"=IF([thawed]=0,\"\",SUMPRODUCT(MIN([readings.known:]+([readings.place:]<>[#])*{_NONE})))")
    add("weakest_class", "Weakest spot, class", "=IF([thawed]=0,\"\",SUMPRODUCT(MIN([readings.spot_class:]+(([readings.place:]<>[#])+([readings.known:]>[weakest])>0)*99)))")
    edge = lambda rank: f'IF([company.class_edge]="middle",INDEX([classes.middle:],{rank}+1),INDEX([classes.weak:],{rank}+1))'  # noqa: E731
    soft = CLASSES.index("soft")
    add("beside", "Place beside it", '=IF([strip]=1,[#]-1,0)')
    # In order: by hand, by readings, a strip nobody tested
    add("own_cbr", "Its own, CBR", lambda n: first_of([
        ("[used]=0", '""'), ('[hand_cbr]<>""', "[hand_cbr]"), ('[hand_class]<>""', edge("[hand_class]")),
        ('[weakest]<>""', "[weakest]"),
        ("AND([strip]=1,[readings]=0)", f"MIN({edge(str(soft))},{block.cell('cbr', n - 1, SHEET)})" if n > 1 else '""'),
    ]))  # fmt: skip
    by_cbr = "MAX(0,SUMPRODUCT(--([classes.weak:]<ROUND([hand_cbr],10)))-1)"
    def own_class(n: int) -> str:
        up = block.cell("cbr", n - 1, SHEET) if n > 1 else "0"
        rank = block.cell("class", n - 1, SHEET) if n > 1 else "0"
        untested = f"IF({edge(str(soft))}<{up},{soft},IF({edge(str(soft))}={up},MIN({soft},{rank}),{rank}))"
        return first_of([
            ('[own_cbr]=""', '""'), ('[hand_cbr]<>""', by_cbr), ('[hand_class]<>""', "[hand_class]"),
            ('[weakest]<>""', "[weakest_class]"), ("1=1", untested),
        ])  # fmt: skip
    add("own_class", "Its own, class", own_class)
    cut = place("cut")
    seen = (
        f'([said.for:]={of("name")})*([said.what:]="old pavement seen")'
        f'*((1-{cut})+{cut}*([strip]*([said.part3:]="foundation")+(1-[strip])*([said.part3:]<>"foundation")))'
    )
    add("gap_low", "Gap, at least", f"=IF([used]=0,-1,SUMPRODUCT(MAX(([said.gap_low:]+2)*{seen}))-2)")
    add("gap_high", "Gap, at most", f"=IF([used]=0,-1,SUMPRODUCT(MAX(([said.gap_high:]+2)*{seen}))-2)")
    settled = settled_gap_in() * (INCH_M * 1000 if metric else 1)
    add("speaks", "Old pavement: strongest", f'=IF(OR([used]=0,{place("old")}=0,[gap_low]<0,AND({place("old_kind")}="concrete",ROUND([gap_high],9)<{settled!r})),5,INDEX([bands.strongest:],SUMPRODUCT(MAX(([bands.test:]="straightedge")*([bands.from:]<=ROUND([gap_low],9))*[bands.order:]))))')
    add("known_class", "With the old pavement, class", '=IF([own_class]="","",MIN([own_class],[speaks]))')
    add("known_cbr", "With the old pavement, CBR", f'=IF([own_class]="","",IF([own_class]>[speaks],{edge("[speaks]")},[own_cbr]))')
    add("sound", "Sound ground below", f'=IF([used]=0,"",IF({place("loose")}=0,"",{of("sound_ground")}))')
    add("sound_class", "Sound, class", '=IF([sound]="","",IFERROR(MATCH([sound],[classes.name:],0)-1,IFERROR(MAX(0,SUMPRODUCT(--([classes.weak:]<VALUE([sound])))-1),"")))')
    add("sound_cbr", "Sound, CBR", f'=IF([sound_class]="","",IF(ISNA(MATCH([sound],[classes.name:],0)),VALUE([sound]),{edge("[sound_class]")}))')
    add("cbr", "Designed for, CBR", lambda n: first_of([
        ('[known_class]=""', '""'), (f'AND({place("fills")}=1,[sound_class]<>"")', "[sound_cbr]"),
        (f"AND({place('fills')}=1,[strip]=1)", block.cell("cbr", n - 1, SHEET) if n > 1 else "[known_cbr]"), ("1=1", "[known_cbr]"),
    ]))  # fmt: skip
    add("class", "Designed for, class", lambda n: first_of([
        ('[known_class]=""', '""'), (f'AND({place("fills")}=1,[sound_class]<>"")', "[sound_class]"),
        (f"AND({place('fills')}=1,[strip]=1)", block.cell("class", n - 1, SHEET) if n > 1 else "[known_class]"), ("1=1", "[known_class]"),
    ]))  # fmt: skip
    # An old base that is to stay
    holes = f'([said.for:]={of("name")})*([said.what:]="test holes")'
    add("holes", "Test holes", f"=IF([used]=0,0,SUMPRODUCT({holes}))")
    one = pavement_rule("area of one test hole")
    feet = f"{place('plan')}*{1 / 0.09290304!r}" if metric else place("plan")
    add("needed", "Test holes needed", f"=IF([used]=0,0,MAX({pavement_rule('fewest test holes')!r},ROUNDUP(ROUND(N({feet})/{one!r},9),0)))")
    add("dirty", "Dirty holes", f'=IF([used]=0,0,SUMPRODUCT({holes}*([said.part2:]<>"clean")))')
    add("thinnest", "Old base, thinnest hole", f"=IF([holes]=0,\"\",SUMPRODUCT(MIN([said.base:]+(1-{holes})*{_NONE})))")
    credit = table("old_base_credit")
    add("worth", "Worth of an inch of it", float(credit.exact("clean")["low"]) / float(credit.exact("clean")["high"]))
    stiff = CLASSES.index("stiff")
    add("stays", "Old base may stay", f'=IF(AND([used]=1,{place("keeps")}=1,{place("loose")}=0,{place("textile")}=0,[holes]>=[needed],[dirty]=0,N([class])>={stiff},ROUND([gap_high],9)<{settled!r},OR({of("old_pavement_state")}="",{of("old_pavement_state")}="even"),N([thinnest])>0),1,0)')


def depth_block(sheets: Sheets, rows: int) -> None:
    """Declare the base depth of each place, with and without geogrid: the thresholds, and what the site adds."""
    metric = sheets.units == "metric"
    block = Block(sheets, "depth", SHEET, sheets.blocks["readings"].count + rows + 13, rows, "The base of each place")
    add = block.add
    of = lambda key: f"INDEX([areas.{key}:],MAX(INDEX([places.row:],[#]),1))"  # noqa: E731
    place = lambda key: f"INDEX([places.{key}:],[#])"  # noqa: E731
    add("used", "Used", f"={place('used')}")
    add("cbr", "CBR", '=IF([used]=0,"",INDEX([strength.cbr:],[#]))')
    add("group_asked", "Frost asked", f'=IF([used]=0,0,IF(OR([company.frost_counts]=1,[job.climate]=1,{of("group")}<>"",{of("fines_below_20_microns")}<>"",{of("plasticity_index")}<>"",[frost_said]>0),1,0))')
    add("frost_said", "Frost: other keys", f'=IF([used]=0,0,SUMPRODUCT(([said.for:]={of("name")})*(([said.what:]="dry density")+([said.what:]="water content"))))')
    kind = f"IFERROR(INDEX([soils.frost_kind:],MATCH({place('soil')},[soils.name:],0)),\"\")"
    unknown = f"IFERROR(INDEX([soils.frost_unknown:],MATCH({place('soil')},[soils.name:],0)),\"\")"
    add("kind", "Frost table", f"=IF([group_asked]=0,\"\",{kind})")
    clay = table("frost_clay").rows
    cases = [("[group_asked]=0", '""'), (f'{of("group")}<>""', of("group")),
             (f'AND([kind]="clay",{of("plasticity_index")}<>"")', _bands_up_to(of("plasticity_index"), clay))]  # fmt: skip
    for soil in ("sand", "gravel"):
        cases.append((f'AND([kind]="{soil}",{of("fines_below_20_microns")}<>"")', _bands_from(of("fines_below_20_microns"), table(f"frost_{soil}").rows)))
    add("group", "Frost group", first_of([*cases, ("1=1", unknown)]))
    support = [(f'[group]="{row["group"]}"', f"{float(row['index'])!r}") for row in table("frost_support").rows if row["index"]]
    add("index", "Support index", first_of([('OR([group]="",[company.frost_counts]=0)', str(_NONE)), *support], str(_NONE)))
    add("thaw", "CBR in the thaw", '=IF([cbr]="","",MIN([cbr],[index]))')
    add("lifts", "Frost lifts it", '=IF(AND([job.freezes]=1,OR([group]="F3",[group]="F4")),1,0)')
    wet_least = _least("driveway, wet ground", metric)
    water = f"({of('water_table')}+{place('finish')})"
    below = f"({water}-MIN({water},0))-([company.paver]+[company.bedding]+{wet_least!r}-MIN({water},0))"
    reach = table("water_reach").rows
    feet = 304.8 if metric else 12.0
    pumping, feeding = (float(row["up_to"]) * feet for row in reach[1:3])
    add("room", "Room above the water", f'=IF(OR([used]=0,{of("water_table")}=""),{_NONE},ROUND({below},7))')
    add("water", "Water is near", f"=IF(OR([room]<={pumping!r},AND([room]<={feeding!r},{place('fine')}=1)),1,0)")
    firm = limit("firm ground of the least base")
    add("least", "Least base here", f"=IF([used]=0,0,MAX(IF(AND({place('fine')}=1,ROUND(N([cbr]),9)<{firm!r}),{_least('driveway, weak fine soil', metric)!r},0),IF([water]=1,{wet_least!r},0),IF([lifts]=1,{_least('driveway, soil that frost lifts', metric)!r},0)))")
    step = "[depths.step]"
    add("least_up", "Least base, rounded up", f"=ROUNDUP(ROUND([least]/{step},9),0)*{step}")
    soft = "OR([cbr]=\"\",N([cbr])<[depths.weakest],[depths.stone_column]=0)"
    for key, column in (("stone", "stone"), ("grid", "grid")):
        look = f"INDEX([chosen.{column}_depth:],MATCH([thaw],[chosen.{column}:],-1))"
        lacking = soft if key == "stone" else f"OR({soft},[depths.grid_column]=0)"
        add(key, "Stone only" if key == "stone" else "With geogrid", f'=IF([used]=0,"",IF({lacking},"",MAX({look},[least_up])))')
    add("kept", "Old base stays (stone only)", "=IF([used]=0,0,N(INDEX([stone_area.keep:],[#])))")
    add("laid", "Geogrid is laid", "=IF(AND(COUNT([stone],[grid])=2,[kept]=0),IF([grid]<[stone],1,0),0)")
    add("with_grid", "Base of the geogrid option", '=IF([used]=0,"",IF([laid]=1,[grid],[stone]))')
    for roll in ("textile", "grid"):
        rule = table("overlap" if roll == "textile" else "grid_overlap").rows
        unit = 0.3048 if metric else 1.0
        for key, column in (("lap", "greatest"), ("end", "roll_end")):
            printed = first_of([(f"N([cbr])<={float(row['up_to'])!r}", repr(float(f"{float(row[column]) * unit:.12g}"))) for row in rule], "0")[1:]
            own = f"[company.{roll}_overlap]"
            add(f"{roll}_{key}", f"{roll}: {'overlap' if key == 'lap' else 'overlap of roll ends'}", f'=IF([used]=0,"",IF({own}<>"",{own},{printed}))')


def _least(use: str, metric: bool) -> float:
    row = table("least_bases").exact(use)
    return float(row["base_metric" if metric else "base"])


def _bands_up_to(cell: str, rows: Sequence[object]) -> str:
    return first_of([(f"{cell}<={float(row['up_to'])!r}", f'"{row["group"]}"') for row in rows])[1:]  # type: ignore[index]


def _bands_from(cell: str, rows: Sequence[object]) -> str:
    return first_of([(f"{cell}<{float(row['below'])!r}", f'"{row["group"]}"') for row in rows], f'"{rows[-1]["group"]}"')[1:]  # type: ignore[index]
