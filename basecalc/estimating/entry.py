"""The sheet Entry: the only one an estimator types on. Status, the next thing to do and the totals are on top.

Inputs are unlocked and of text format, so that 1/2 stays 1/2. The calculation reads them from a locked heading to a
locked footer, so that no cut, sort, paste or deletion drags a formula along.
"""

from collections.abc import Mapping, Sequence
from typing import Any, Final

from openpyxl.formatting.rule import FormulaRule
from openpyxl.styles import Font, PatternFill
from openpyxl.utils import column_index_from_string, get_column_letter
from openpyxl.worksheet.datavalidation import DataValidation
from openpyxl.worksheet.worksheet import Worksheet

from basecalc.estimating.blocks import (
    ANSWER,
    ANSWER_HEAD,
    BAD,
    BAND,
    GOOD,
    INPUT,
    LINK,
    NEEDED,
    PALE,
    Block,
    Sheets,
)
from basecalc.estimating.fields import CARD, READING_EXTRA, READING_FIELDS, Field, area_fields
from basecalc.workbook.style import fit_width

SHEET: Final = "Entry"
HEAD: Final = 8
_AREA, _ANSWERS, _READING, _EXTRA = 2, 11, 16, 23  # first columns
_PIXELS: Final = 8.62  # of a unit of column width, in the face of the Normal style
_CARD_ENDS: Final = {"C": "E", "H": "J", "M": "P", "R": "U"}
_CARD_EDGES: Final = {"C": ("B", "F"), "H": ("F", "K"), "M": ("K", "Q"), "R": ("Q", "V")}
_BACK_WHITE: Final = "FFFFFF"
Typed = Mapping[str, Any]


class Layout:
    """Where each list is on the sheet, for so many areas, readings and particulars."""

    def __init__(self, units: str, areas: int, readings: int, particulars: int) -> None:
        self.units, self.areas, self.readings, self.particulars = units, areas, readings, particulars
        self.fields = area_fields(units)
        self.area_end = HEAD + areas + 1
        self.said_head = self.area_end + 2
        self.said_end = self.said_head + particulars + 1
        self.reading_end = HEAD + readings + 1
        self.columns: dict[str, dict[str, tuple[str, int, int]]] = {"areas": {}, "readings": {}, "particulars": {}}
        for place, one in enumerate(self.fields):
            self.columns["areas"][one.key] = (get_column_letter(_AREA + place), HEAD, self.area_end)
        for first, group in ((_READING, READING_FIELDS), (_EXTRA, READING_EXTRA)):
            for place, one in enumerate(group):
                self.columns["readings"][one.key] = (get_column_letter(first + place), HEAD, self.reading_end)
        for key, column in (("for", "B"), ("what", "C"), ("text", "F")):
            self.columns["particulars"][key] = (column, self.said_head, self.said_end)

    def cell(self, name: str, row: int, key: str) -> str:
        """Return the cell of a list, its rows counted from 1."""
        key = "text" if name == "particulars" and key.startswith("part") else key
        column, head, _ = self.columns[name][key]
        return f"{column}{head + row}"

    def sources(self) -> dict[str, dict[str, str]]:
        """Return how each column of each list is read, from its heading to its footer; {} is the place in it."""
        return {
            name: {key: f"INDEX({SHEET}!${c}${head}:${c}${end},{{}})" for key, (c, head, end) in columns.items()}
            for name, columns in self.columns.items()
        }

    def card(self) -> dict[str, str]:
        """Return how each cell of the job card is read."""
        found = {}
        for key, _, _, _, _, cell, row in CARD:
            first, last = _CARD_EDGES[cell]
            found[key] = f"INDEX({SHEET}!${first}${row}:${last}${row},1,{column_index_from_string(cell) - column_index_from_string(first) + 1})"
        return found

    def card_cells(self) -> dict[str, str]:
        """Return the cell of each entry of the job card."""
        return {key: f"{cell}{row}" for key, _, _, _, _, cell, row in CARD}

    def census(self) -> str:
        """Return a formula for the sentence where a filled cell is not read, or one is read that is not there."""
        spans = (("B", get_column_letter(_AREA + len(self.fields) - 1), HEAD, self.area_end, len(self.fields) + 1),
                 ("P", "T", HEAD, self.reading_end, len(READING_FIELDS) + 1), ("W", "X", HEAD, self.reading_end, len(READING_EXTRA)),
                 ("B", "B", self.said_head, self.said_end, 2), ("C", "C", self.said_head, self.said_end, 1),
                 ("F", "F", self.said_head, self.said_end, 1))  # fmt: skip
        filled = "+".join(f'SUMPRODUCT(--({SHEET}!${a}${top}:${z}${end}<>""))-{known}' for a, z, top, end, known in spans)
        texts = [f"[readings.{key}:]" for key in ("spot", "area", "test", "reading", "moisture", "soil_typed", "note")]
        texts += [f"[said.{key}:]" for key in ("for", "what", "text")]
        read = "SUM([areas.typed:])+" + "+".join(f'SUMPRODUCT(--({text}<>""))' for text in texts)
        return f'IF({filled}={read},"","The lists hold "&({filled})&" filled cells, and "&({read})&" are read. Undo the last change.")'


def write_entry(sheets: Sheets, layout: Layout, company: str, typed: Mapping[str, Any]) -> Worksheet:
    """Write the sheet, with what is typed already: the card by key, rows of the lists by key."""
    page = sheets.sheet(SHEET)
    page.sheet_view.showGridLines = False
    last = max(layout.said_end, layout.reading_end) + 1
    widths = {1: 19, 11: 42, 12: 44, 13: 48, 14: 74, 15: 6, 21: 72, 22: 4, **{_AREA + n: one.width for n, one in enumerate(layout.fields)}}
    widths |= {first + n: one.width for first, group in ((_READING, READING_FIELDS), (_EXTRA, READING_EXTRA)) for n, one in enumerate(group)}
    for column, pixels in widths.items():
        page.column_dimensions[get_column_letter(column)].width = round(pixels / _PIXELS, 2)
    for row in range(1, last):
        page.row_dimensions[row].height = {1: 21, 2: 18, 3: 17, 7: 5, 8: 36}.get(row, 13.5)
        for column in range(1, 25):
            sheets.put(page, row, column, None, back=BAND if row == 1 else PALE)
    _top(sheets, page, company)
    _card(sheets, page, typed.get("card", {}))
    _lists(sheets, page, layout, typed)
    _answers(sheets, page, layout)
    _rules(page, layout)
    page.freeze_panes = "A4"
    fit_width(page, orientation="landscape")
    page.print_title_rows, page.print_area = "1:3", f"A1:U{last - 1}"
    return page


def _top(sheets: Sheets, page: Worksheet, company: str) -> None:
    put, result = sheets.put, sheets.blocks["result"]
    problems, first, cell = (result.cell(key, 1, SHEET) for key in ("problems", "first", "cell"))
    put(page, 1, 2, "Driveway estimate", bold=True, size=14, color=_BACK_WHITE, back=BAND)
    put(page, 1, 6, company, size=10, color=_BACK_WHITE, back=BAND)
    put(page, 1, 16, "Yellow: needed", bold=True, color="FFE08A", back=BAND)
    put(page, 1, 21, f'=IF({problems}=0,"READY",{problems}&" TO FIX")', bold=True, size=11, color=_BACK_WHITE, back=BAND, across="right")
    put(page, 2, 2, f'=IF({problems}=0,"Nothing to fix","Do this next")', bold=True, size=10)
    done = "Save, then run: basecalc quote with this file. Or read the price from Estimate."
    put(page, 2, 3, f'=IF({problems}=0,"{done}",{first})', bold=True, size=10)
    link = f'IF(ISNUMBER(SEARCH({cell},"Company Prices")),"#"&{cell}&"!A1","#{SHEET}!"&{cell})'
    put(page, 2, 19, f'=IF({problems}=0,"",HYPERLINK({link},"Go to "&{cell}))', color=LINK, bold=True)
    put(page, 2, 21, '=HYPERLINK("#Problems!A1","Problems")', color=LINK, bold=True, across="right")
    for label, value, text, key in ((2, 3, "Total as offered", "chosen"), (6, 8, "Stone only", "stone"), (11, 13, "With geogrid", "grid")):
        put(page, 3, label, text, bold=True, back=PALE)
        total = result.cell(key, 1, SHEET)
        page.merge_cells(start_row=3, end_row=3, start_column=value, end_column=value + 2)
        put(page, 3, value, f'=IF(ISERROR({total}),"not yet",{total})', bold=True, size=11, form='"$"#,##0.00', back=PALE)
    put(page, 3, 17, "Totals include markups and tax.", back=PALE, size=8)


def _input(sheets: Sheets, page: Worksheet, row: int, column: int, value: Any, *, center: bool = False) -> None:
    text = None if value is None or value == "" else str(value)
    sheets.put(page, row, column, text, back=INPUT, form="@", unlocked=True, box=True, across="center" if center else "left")


def _card(sheets: Sheets, page: Worksheet, typed: Typed) -> None:
    for key, label, needed, words, label_at, cell, row in CARD:
        sheets.put(page, row, column_index_from_string(label_at), f"{label} *" if needed else label, bold=needed, back=PALE)
        first, end = (column_index_from_string(one) for one in (cell, _CARD_ENDS[cell]))
        for column in range(first, end + 1):
            _input(sheets, page, row, column, typed.get(key) if column == first else None)
        page.merge_cells(start_row=row, end_row=row, start_column=first, end_column=end)
        if words:
            _offer(page, f"{cell}{row}", LIST_NAMES[key])


def _lists(sheets: Sheets, page: Worksheet, layout: Layout, typed: Mapping[str, Any]) -> None:
    groups: list[tuple[str, Sequence[Field], int]] = [
        ("areas", layout.fields, layout.areas), ("readings", (*READING_FIELDS, *READING_EXTRA), layout.readings),
    ]  # fmt: skip
    for name, fields, rows in groups:
        for one in fields:
            column, head, _ = layout.columns[name][one.key]
            at = column_index_from_string(column)
            color = "FFE08A" if one.needed else _BACK_WHITE
            sheets.put(page, head, at, one.heading(layout.units), bold=True, back=BAND, color=color, box=True, across="center", wrap=True)
            for row in range(1, rows + 1):
                given = typed.get(name, ())
                value = given[row - 1].get(one.key) if row <= len(given) else None
                _input(sheets, page, head + row, at, value, center=bool(one.kind) or one.key in ("reading", "moisture"))
            if one.words:
                _offer(page, f"{column}{head + 1}:{column}{head + rows}", LIST_NAMES[one.key])
    _particulars(sheets, page, layout, typed.get("particulars", ()))
    for row, at, text in ((layout.area_end, 2, "end of areas"), (layout.reading_end, 16, "end of readings"), (layout.said_end, 2, "end of particulars")):
        sheets.put(page, row, at, text, size=1, back=PALE, color=PALE)


def _particulars(sheets: Sheets, page: Worksheet, layout: Layout, typed: Sequence[Typed]) -> None:
    head = layout.said_head
    sheets.put(page, head - 1, 2, "Particulars: anything else about the job, an area or a spot", bold=True, back=PALE)
    sheets.put(page, head - 1, 8, "Type feet and fractions as you say them: 1/2, 14'-6\", 14 ft 6 in. Several parts: with ; between.", back=PALE, size=8)
    spans = (("for", "For (blank: job)", 2, 2), ("what", "What", 3, 5), ("text", "Value", 6, 10))
    for key, title, first, end in spans:
        for row in range(layout.particulars + 1):
            for column in range(first, end + 1):
                if row == 0:
                    sheets.put(page, head, column, title if column == first else None, bold=True, back=BAND, color=_BACK_WHITE, box=True)
                else:
                    value = typed[row - 1].get(key) if row <= len(typed) and column == first else None
                    _input(sheets, page, head + row, column, value)
            if end > first:
                page.merge_cells(start_row=head + row, end_row=head + row, start_column=first, end_column=end)
    sheets.put(page, head, 11, "Counts", bold=True, back=ANSWER_HEAD, color=_BACK_WHITE, box=True)
    _offer(page, f"B{head + 1}:B{head + layout.particulars}", "PlaceNames")
    _offer(page, f"C{head + 1}:C{head + layout.particulars}", "Particulars")


def _answers(sheets: Sheets, page: Worksheet, layout: Layout) -> None:
    unit = "in" if layout.units == "us" else "mm"
    for place, title in enumerate(("CBR", f"Stone {unit}", f"Grid {unit}", "Status")):
        sheets.put(page, HEAD, _ANSWERS + place, title, bold=True, back=ANSWER_HEAD, color=_BACK_WHITE, box=True, across="center", wrap=True)
    sheets.put(page, HEAD, 21, "Taken as", bold=True, back=ANSWER_HEAD, color=_BACK_WHITE, box=True, across="center")
    blocks = sheets.blocks
    for n in range(1, layout.areas + 1):
        sheets.put(page, HEAD + n, 1, n, size=8, back=PALE, color="5B6B72", across="center")
        first = blocks["areas"].cell("first_place", n, SHEET)
        state = blocks["areas"].cell("state", n, SHEET)
        for at, (block, key, form) in enumerate((("strength", "cbr", "0.0#"), ("depth", "stone", "0.##"), ("depth", "with_grid", "0.##"))):
            value = f"INDEX({blocks[block].range(key, SHEET)},{first})"
            laid = f'IF(INDEX({blocks["depth"].range("laid", SHEET)},{first})=1,{value},"")' if key == "with_grid" else value
            sheets.put(page, HEAD + n, _ANSWERS + at, f'=IF({first}=0,"",IF({state}="Ready",IFERROR({laid},""),""))', back=ANSWER, box=True, across="center", form=form)
        sheets.put(page, HEAD + n, _ANSWERS + 3, f"={state}", back=ANSWER, box=True, across="center")
    for n in range(1, layout.readings + 1):
        sheets.put(page, HEAD + n, 21, f"={blocks['readings'].cell('state', n, SHEET)}", back=ANSWER, box=True, across="center")
    for n in range(1, layout.particulars + 1):
        for column in range(11, 15):
            sheets.put(page, layout.said_head + n, column, f"={blocks['said'].cell('state', n, SHEET)}" if column == 11 else None, back=PALE)


def _offer(page: Worksheet, cells: str, name: str) -> None:
    """Offer words; the sheet judges them, so that nothing typed is thrown away."""
    rule = DataValidation(type="list", formula1=name, allow_blank=True, showErrorMessage=False)
    page.add_data_validation(rule)
    rule.add(cells)


LIST_NAMES: Final[Mapping[str, str]] = {
    "traffic": "Traffics", "soil": "Soils", "season": "Wetness", "moisture": "Wetness", "offer": "Offers", "walked": "YesNo",
    "new_build": "YesNo", "geotextile": "YesNo", "shape": "Shapes", "old_pavement_kind": "OldKinds", "test": "Tests",
    "area": "PlaceNames",
}  # fmt: skip


def _rules(page: Worksheet, layout: Layout) -> None:
    """Color what is needed and what is wrong; a word says it too."""
    bad, need, pink = Font(color=BAD, bold=True), PatternFill("solid", bgColor=NEEDED), PatternFill("solid", bgColor="FBE3E0")
    green, fine = Font(color=GOOD, bold=True), PatternFill("solid", bgColor="DDEFD9")

    def rule(cells: str, test: str, **look: Any) -> None:
        page.conditional_formatting.add(cells, FormulaRule(formula=[test], **look))

    for _, _, needed, _, _, cell, row in CARD:
        if needed:
            rule(f"{cell}{row}:{_CARD_ENDS[cell]}{row}", f'${cell}${row}=""', fill=need)
    first, end = HEAD + 1, layout.area_end - 1
    filled = "&".join(f"${get_column_letter(_AREA + n)}{first}" for n in range(len(layout.fields)))
    rule(f"B{first}:B{end}", f'AND(B{first}="",OR({filled}<>"",AND(ROW()={first},$B${first}="")))', fill=need)
    plain = f'OR($C{first}="",$C{first}="rectangle",$C{first}="measured")'
    rule(f"D{first}:E{end}", f'AND(D{first}="",OR({filled}<>"",AND(ROW()={first},$B${first}="")),{plain})', fill=need)
    last = layout.reading_end - 1
    rule(f"P{first}:S{last}", f'AND(P{first}="",$P{first}&$Q{first}&$R{first}&$S{first}&$T{first}<>"")', fill=need)
    said = layout.said_head + 1
    rule(f"C{said}:J{layout.said_end - 1}", f'AND($B{said}&$C{said}&$F{said}<>"",OR($C{said}="",$F{said}=""))', fill=need)
    rule(f"N{first}:N{end}", f'AND(N{first}<>"",N{first}<>"Ready")', font=bad, fill=pink)
    words = ('"frozen"', '"very soft"', '"soft"', '"medium"', '"stiff"', '"very stiff"', '"hard"')
    good = ",".join(f"U{first}={word}" for word in words)
    rule(f"U{first}:U{last}", f'AND(U{first}<>"",LEFT(U{first},3)<>"CBR",NOT(OR({good})))', font=bad, fill=pink)
    rule(f"K{said}:N{layout.said_end - 1}", f'AND($K{said}<>"",$K{said}<>"counts")', font=bad, fill=pink)
    for cells, test, font, fill in (("B2:U2", '$U$1<>"READY"', bad, need), ("B2:U2", '$U$1="READY"', green, fine)):
        rule(cells, test, font=font, fill=fill)
    rule("C3:O3", 'C3="not yet"', font=bad)


def words_blocks(sheets: Sheets, lists: Mapping[str, Sequence[str]]) -> None:
    """Declare the words that the drop-downs offer, a column each."""
    for name, words in lists.items():
        block = Block(sheets, f"offered_{name.lower()}", "Lists", 3, len(words), name, left=0)
        block.add("words", name, lambda n, words=words: words[n - 1])
