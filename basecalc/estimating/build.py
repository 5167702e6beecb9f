"""The estimating workbook as a whole: the owner's sheets, the entry sheet, and the calculation behind it."""

import re
from collections.abc import Mapping, Sequence
from io import BytesIO
from typing import Any, Final
from zipfile import ZIP_DEFLATED, ZipFile

from openpyxl.styles import Font
from openpyxl.utils import get_column_letter
from openpyxl.workbook import Workbook
from openpyxl.workbook.defined_name import DefinedName
from openpyxl.workbook.protection import WorkbookProtection

from basecalc.company import Company, settings
from basecalc.core.errors import BasecalcError, OutOfRangeError
from basecalc.core.units import PRICE_UNITS, Measure
from basecalc.design.settings import TRAFFIC_NAMES
from basecalc.estimating import checks, ground, plan
from basecalc.estimating.blocks import FACE, Block, Sheets
from basecalc.estimating.depths import Key, Steps, company_steps
from basecalc.estimating.entry import SHEET as ENTRY
from basecalc.estimating.entry import Layout, words_blocks, write_entry
from basecalc.estimating.fields import (
    LOG_TEST,
    MOST,
    ROWS,
    SCOPES,
    UNITS,
    YES,
    Particular,
    area_fields,
    listed_particulars,
    unit_words,
)
from basecalc.estimating.numbers import Typed, numbers_block
from basecalc.estimating.owner import (
    Owner,
    company_block,
    depth_settings,
    price_units_block,
    soils_block,
    units_block,
)
from basecalc.estimating.papers import estimate_sheet, quote_sheet, start_sheet
from basecalc.estimating.quick import SHEET as QUICK
from basecalc.estimating.quick import quick_sheet, unit_costs
from basecalc.estimating.takeoff import OPTIONS, extras_block, price_blocks, takeoff_blocks
from basecalc.ground.readings import MOISTURES, SOILS, TESTS
from basecalc.job.fields import OFFERS, SENSES
from basecalc.plan.area import OLD_PAVEMENTS, SHAPES
from basecalc.pricing.prices import read_company
from basecalc.tables.from_workbook import Book
from basecalc.workbook import style
from basecalc.workbook.starter import built_in
from basecalc.workbook.template_company import write_company
from basecalc.workbook.template_prices import write_codes, write_prices

TOTAL: Final = "TotalAsOffered"
_COMMON_PAVERS: Final = {"us": (0.060325, 0.079375), "metric": (0.06, 0.08)}
_CHOSEN: Final = 60  # depths of one column


def build_book(records: Mapping[str, Any], units: str, typed: Mapping[str, Any], host: str = "any") -> Workbook:
    """Return the workbook of an owner, with what is typed on its entry sheet; formulas have no values yet."""
    book = style.new_book()
    book._named_styles["Normal"].font = Font(name=FACE, size=11)  # type: ignore[attr-defined]  # column widths hang on this font
    for title in ("Start", ENTRY, checks.PROBLEMS, "Estimate", "Quote", *((QUICK,) if host != "any" else ())):
        book.create_sheet(title)
    given = {**records, "settings": {**records.get("settings", {}), "units": units}}
    write_prices(book, given, units)
    write_company(book, given, units)
    write_codes(book, units)
    sheets, owner = Sheets(book, units), Owner(book, units)
    layout = _layout(units, typed)
    listed = sorted(listed_particulars().values(), key=lambda one: SCOPES.index(one.scope))
    typing = _declare(sheets, owner, layout, listed)
    _depths(sheets, owner, _company(given, units), book)
    _all_checks(sheets, owner, layout, typing)
    words_blocks(sheets, _words(given, listed))
    if host != "any":
        unit_costs(sheets)
    sheets.write()
    write_entry(sheets, layout, str(given["settings"].get("name") or ""), typed)
    checks.problems_sheet(sheets)
    estimate_sheet(sheets)
    quote_sheet(sheets, owner)
    start_sheet(sheets, host)
    if host != "any":
        quick_sheet(sheets, host)
    _finish(book, sheets)
    return book


def _layout(units: str, typed: Mapping[str, Any]) -> Layout:
    rows = {}
    for name, ready in ROWS.items():
        there = len(typed.get(name, ()))
        if there > MOST[name]:
            raise OutOfRangeError(f"the job has {there:,} {name}; the workbook takes at most {MOST[name]:,}")
        rows[name] = max(ready, there + (10 if there > ready - 10 and name in ("readings", "particulars") else 0))
    return Layout(units, rows)


def _declare(sheets: Sheets, owner: Owner, layout: Layout, listed: Sequence[Particular]) -> plan.Typing:
    """Declare the whole calculation."""
    rows: list[Typed] = []
    numbers: dict[tuple[str, int, str], int] = {}
    sources = layout.sources()
    units = layout.units

    def typed(
        name: str, row: int, key: str, what: str, kind: str, source: str, low: Any, high: Any, **more: Any
    ) -> None:
        numbers[name, row, key] = len(rows) + 1
        unit = more.pop("unit", UNITS[kind][units == "metric"] if kind in UNITS else "")
        rows.append(Typed(layout.cell(name, row, key), what, kind, source, low, high, unit, **more))

    raw = lambda source: f'IF(ISERROR({source}),"(error)",IF({source}="","",{source}))'  # noqa: E731
    for name in ("areas", "lines"):
        for n in range(1, layout.rows[name] + 1):
            for one in layout.fields[name]:
                if one.kind:
                    source = raw(sources[name][one.key].format(n + 1))
                    if one.kind == "money":  # a dollar sign may be typed
                        source = f'IF(LEFT(TRIM({source}))="$",MID(TRIM({source}),2,60),{source})'
                    typed(name, n, one.key, one.label, one.kind, source, one.low, one.high)
    for n in range(1, layout.rows["readings"] + 1):
        row = f"MAX(INDEX([readings.test_row:],{n}),1)"
        kind = f"=INDEX([readings.kind:],{n})"
        ends = [f"=INDEX([tests.{end}:],{row})" for end in ("low", "high")]
        source = raw(sources["readings"]["reading"].format(n + 1))
        words = f"INDEX([readings.word_row:],{n})"
        typed("readings", n, "reading", "Reading", kind, f'IF({words}>0,"",{source})', *ends)
    for n in range(1, layout.rows["particulars"] + 1):
        place, kind = f"MAX(INDEX([said.place:],{n}),1)", f"INDEX([said.kind:],{n})"
        seen = f'INDEX([said.what:],{n})="old pavement seen"'
        for part in (1, 2, 3):
            used = (
                f'{kind}<>""'
                if part == 1
                else f'OR(INDEX([said.what:],{n})="parallel sides",INDEX([said.what:],{n})="legs",INDEX([said.what:],{n})="sides",AND({part}=2,{seen}))'
            )
            source = f'IF({used},INDEX([said.part{part}:],{n}),"")'
            own = f'=IF({seen},"length",{kind})' if part == 2 else f"={kind}"
            low, high = (f"=INDEX([whats.{end}:],{place})" for end in ("low", "high"))
            if part == 2:
                high = f"=IF({seen},100,INDEX([whats.high:],{place}))"
            typed("particulars", n, f"part{part}", "Value", own, source, low, high, signed=True)
    typing = plan.Typing(sources, numbers)
    numbers_block(sheets, rows)
    units_block(sheets, unit_words(units))
    soils_block(sheets, owner)
    price_units_block(sheets)
    ground.ground_lists(sheets)
    plan.job_block(sheets, layout.card(), listed, units)
    company_block(sheets, owner)
    plan.said_block(sheets, typing, layout.rows["particulars"], listed)
    plan.areas_block(sheets, typing, layout.rows["areas"], area_fields(units), listed)
    plan.outlines_block(sheets)
    places = layout.rows["areas"] + plan.STRIPS
    plan.places_block(sheets, places)
    ground.readings_block(sheets, typing, layout.rows["readings"])
    ground.strength_block(sheets, places)
    ground.depth_block(sheets, places)
    for option in OPTIONS:
        takeoff_blocks(sheets, option, places)
    extras_block(sheets, typing, owner, layout.rows["lines"])
    price_blocks(sheets, owner)
    return typing


def _depths(sheets: Sheets, owner: Owner, company: Company, book: Workbook) -> None:
    """Declare the thresholds of the company, and the columns that this job takes."""
    own = [one.thickness_m for one in company.pavers]
    steps = company_steps(company, [*own, *_COMMON_PAVERS[owner.units]])
    unit = 0.001 if owner.units == "metric" else 0.0254
    printed = lambda value: float(f"{value / unit:.9g}")  # noqa: E731
    page, put = sheets.sheet("Depths"), sheets.put
    put(
        page,
        1,
        1,
        "The largest CBR that still needs each depth of base, worked out by basecalc for the settings on Company",
        bold=True,
        size=11,
    )
    labels = ("traffic", "paver thickness", "aperture stability", "documented reduction", "weakest CBR")
    for row, label in enumerate(("number", *labels), 2):
        put(page, row, 1, label, bold=True)
    columns: list[tuple[Key, Steps]] = list(steps.items())
    for place, (key, found) in enumerate(columns):
        at = 2 + 2 * place
        for row, value in enumerate(
            (key.traffic, printed(key.paver_m), key.stability, key.reduction, found.weakest), 3
        ):
            put(page, row, at, value)
        put(page, 2, at, 2 * place + 1)
        put(page, 8, at, "CBR up to", bold=True)
        put(page, 8, at + 1, "depth", bold=True)
        for row in range(_CHOSEN):
            cbr, depth = found.rows[row] if row < len(found.rows) else (0.0, None)
            put(page, 9 + row, at, cbr)
            put(page, 9 + row, at + 1, None if depth is None else printed(depth))
    last = 2 + 2 * max(len(columns), 1)
    span = lambda row, end=0: f"Depths!$B${row}:${get_column_letter(last)}${end or row}"  # noqa: E731
    values = Block(sheets, "depths", "Owner", 90, None, "Which columns of Depths hold for this job")
    values.add("level", "Traffic is on the list", f"=SUMPRODUCT(--({span(3)}=[job.level]))")
    same = f"({span(3)}=[job.level])*(ABS({span(4)}-[company.paver])<0.00001)"
    laid = f"({span(5)}=[company.grid_aperture_stability])*({span(6)}=[company.grid_reduction])"
    for name, there in (("stone", f"({span(5)}=0)*({span(6)}=0)"), ("grid", f"({span(5)}+{span(6)}>0)*{laid}")):
        values.add(
            f"{name}_column",
            f"Column, {name}",
            f'=IF(COUNT([company.paver])=0,0,SUMPRODUCT(MAX({same}*{there}*({span(3)}<>"")*{span(2)})))',
        )
    values.add(
        "weakest",
        "Weakest CBR designed",
        f"=IF([stone_column]=0,0.4,MAX(INDEX({span(7)},1,[stone_column]),IF([grid_column]=0,0,INDEX({span(7)},1,[grid_column]))))",
    )
    values.add("step", "Depths are rounded up to", f"={owner.setting('design.step_m')}")
    pairs = depth_settings(owner, book)
    title = "What the depths were worked out from, and the headings of the owner's tables"
    kept = Block(sheets, "kept", "Owner", 3, len(pairs) + len(owner.headings), title, left=5)
    everything = [*pairs, *((f"heading {cell.replace('$', '')}", cell, text) for cell, text in owner.headings)]
    kept.add("what", "What", [text for text, *_ in everything])
    kept.add("then", "Then", ["" if then is None else then for *_, then in everything])
    kept.add("now", "Now", [f'=IF(ISERROR({cell}),"(error)",IF({cell}="","",{cell}))' for _, cell, _ in everything])
    kept.add("same", "Same", "=IF([then]=[now],1,0)")
    said = '"Company has changed ("&INDEX([kept.what:],MATCH(0,[kept.same:],0))&"), and the depths here were worked out before. Make the workbook anew: basecalc template NEW --prices THIS --job THIS."'
    values.add("stale", "Changed since", f'=IF(ISNA(MATCH(0,[kept.same:],0)),"",{said})')
    chosen = Block(sheets, "chosen", "Owner", 3, _CHOSEN, "The thresholds that hold for this job", left=11)
    for name in ("stone", "grid"):
        column = f"[depths.{name}_column]"
        chosen.add(name, f"CBR up to, {name}", f"=IF({column}=0,0,INDEX({span(9, 8 + _CHOSEN)},[#],MAX({column},1)))")
        chosen.add(
            f"{name}_depth", f"Depth, {name}", f'=IF({column}=0,"",INDEX({span(9, 8 + _CHOSEN)},[#],MAX({column},1)+1))'
        )


def _company(records: Mapping[str, Any], units: str) -> Company:
    """Return the company of the records as far as its depths go; what is missing or wrong is left out."""
    tables = {key: rows for key, rows in records.items() if key not in ("settings", "sure", "prices")}
    bare = {key: setting.edge_default(units) for key, setting in settings().items() if setting.default is not None}
    zero = {
        key: 0.0 for key, setting in settings().items() if setting.default is None and isinstance(setting.kind, Measure)
    }
    whole = {
        **zero,
        "name": "any",
        **{key: value for key, value in records.get("settings", {}).items() if value not in (None, "")},
    }
    rolls = [
        row
        for row in tables.get("rolls", built_in().get("rolls", ()))
        if row.get("kind") != "geogrid" or row.get("aperture_stability") or row.get("reduction")
    ]
    without: dict[str, list[Any]] = {"stones": [], "rates": [], "terms": [], "soils": []}
    for trial in (
        {**tables, **without, "rolls": rolls, "settings": whole},
        {**without, "rolls": [], "settings": {**bare, **zero, "name": "any", "units": units}},
    ):
        found = _read_company(trial, units)
        if found is not None:
            return found
    raise AssertionError("a company of defaults cannot be read")


def _read_company(records: Mapping[str, Any], units: str) -> Company | None:
    book = style.new_book()
    write_company(book, records, units)
    write_prices(book, {**records, "prices": []}, units)
    wrong: list[BasecalcError] = []
    return read_company(Book("company", book, book), wrong).company


def _all_checks(sheets: Sheets, owner: Owner, layout: Layout, typing: plan.Typing) -> None:
    checks.area_checks(sheets, typing, layout.cell)
    checks.reading_checks(sheets, typing, layout.cell)
    checks.particular_checks(sheets, typing, layout.cell)
    checks.line_checks(sheets, typing, owner, layout.cell)
    rows = [*checks.company_checks(sheets, owner), *checks.card_checks(layout.card_cells())]
    checks.checks_blocks(sheets, rows, layout.census(), layout.cell("areas", 1, "name"))


def _words(records: Mapping[str, Any], listed: Sequence[Particular]) -> dict[str, Sequence[str]]:
    own = [str(row["name"]) for row in records.get("traffics", ()) if row.get("name")]
    return {
        "Traffics": [*TRAFFIC_NAMES, *own], "Soils": SOILS, "Wetness": MOISTURES, "Offers": OFFERS, "YesNo": YES, "Shapes": SHAPES,
        "Units": tuple(PRICE_UNITS), "Senses": SENSES, "OldKinds": OLD_PAVEMENTS, "Tests": (*TESTS, LOG_TEST), "Particulars": tuple(dict.fromkeys(one.word for one in listed)),
    }  # fmt: skip


def _finish(book: Workbook, sheets: Sheets) -> None:
    """Name what the drop-downs offer and the total, lock what is not typed on, set what every program needs."""
    for name, block in sheets.blocks.items():
        if name.startswith("offered_"):
            book.defined_names[block.title] = DefinedName(block.title, attr_text=block.range("words"))
    book.defined_names["PlaceNames"] = DefinedName("PlaceNames", attr_text=sheets.blocks["places"].range("name"))
    book.defined_names[TOTAL] = DefinedName(TOTAL, attr_text=sheets.blocks["result"].cell("chosen", 1))
    for page in book:
        if page.title in ("Prices", "Company", "Codes"):
            continue
        page.protection.sheet = True
        if page.title == ENTRY:
            page.protection.sort = False  # unlocked cells may be sorted
        elif page.title not in ("Start", "Problems", "Estimate", "Quote", QUICK):
            page.freeze_panes = "B4"
            page.page_setup.orientation, page.page_setup.scale = "landscape", 65  # one page wide is too small to read
            page.page_setup.pageOrder = "overThenDown"
            page.print_title_cols, page.print_title_rows = "A:A", "1:3"
            for column in range(1, page.max_column + 1):
                page.column_dimensions[get_column_letter(column)].width = 26 if column == 1 else 14
    book.security = WorkbookProtection(lockStructure=True)
    book.active = 1


def tidy(data: bytes, entry_part: str) -> bytes:
    """Return the file packed, with two things openpyxl cannot write: empty cells without a number type, no marks on texts."""
    out = BytesIO()
    with ZipFile(BytesIO(data)) as old, ZipFile(out, "w") as new:
        for item in old.infolist():
            part = old.read(item)
            if item.filename.startswith("xl/worksheets/sheet"):
                part = re.sub(rb'(<c r="\w+" s="\d+") t="n" ?/>', rb"\1/>", part)
            if item.filename == entry_part:
                mark = b'<ignoredErrors><ignoredError sqref="B4:X600" numberStoredAsText="1"/></ignoredErrors>'
                ends = (part.find(end) for end in (b"<legacyDrawing", b"<tableParts", b"</worksheet>"))
                cut = min(at for at in ends if at > 0)
                part = part[:cut] + mark + part[cut:]
            new.writestr(item, part, ZIP_DEFLATED)
    return out.getvalue()
