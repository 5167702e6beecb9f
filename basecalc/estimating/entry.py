"""The sheet Entry: the only one an estimator types on. Status, the next thing to do and the totals are on top.

Inputs are unlocked and of text format, so that 1/2 stays 1/2. The calculation reads them from a locked heading to a
locked footer, so that no cut, sort, paste or deletion drags a formula along.
"""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any, Final

from openpyxl.formatting.rule import FormulaRule
from openpyxl.styles import Font, PatternFill
from openpyxl.utils import column_index_from_string, get_column_letter
from openpyxl.worksheet.datavalidation import DataValidation
from openpyxl.worksheet.worksheet import Worksheet

from basecalc.core.words import OPTION_WORDS, capital
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
from basecalc.estimating.fields import (
    CARD,
    LINE_FIELDS,
    PARTICULAR_FIELDS,
    READING_EXTRA,
    READING_FIELDS,
    ROWS,
    Field,
    area_fields,
)
from basecalc.workbook.style import fit_width

SHEET: Final = "Entry"
HEAD: Final = 8
_ANSWERS = 11  # first column
# The columns of each list, in the order of its fields.
_SPANS: Final = {
    "areas": "B C D E F G H I J", "readings": "P Q R S T W X", "lines": "B:C D E F G H I J:K L:M",
    "particulars": "B C:E F:J",
}  # fmt: skip
_PIXELS: Final = 8.62  # of a unit of column width, in the face of the Normal style
_CARD_ENDS: Final = {"C": "E", "H": "J", "M": "P", "R": "U"}
_CARD_EDGES: Final = {"C": ("B", "F"), "H": ("F", "K"), "M": ("K", "Q"), "R": ("Q", "V")}
_BACK_WHITE: Final = "FFFFFF"
Typed = Mapping[str, Any]


class Layout:
    """Where each list is on the sheet, for so many rows of each."""

    def __init__(self, units: str, rows: Mapping[str, int] = ROWS) -> None:
        self.units, self.rows = units, rows
        self.fields: Mapping[str, Sequence[Field]] = {
            "areas": area_fields(units), "lines": LINE_FIELDS, "particulars": PARTICULAR_FIELDS,
            "readings": (*READING_FIELDS, *READING_EXTRA),
        }  # fmt: skip
        self.heads = {"areas": HEAD, "readings": HEAD, "lines": HEAD + rows["areas"] + 2}
        self.heads["particulars"] = self.heads["lines"] + rows["lines"] + 3
        self.last = max(self.end(name) for name in rows)
        self.spans = {
            name: {one.key: (first, end or first) for one, (first, _, end) in zip(fields, (span.partition(":") for span in _SPANS[name].split()), strict=True)}
            for name, fields in self.fields.items()
        }  # fmt: skip

    def end(self, name: str) -> int:
        """Return the row of the footer of a list."""
        return self.heads[name] + self.rows[name] + 1

    def cell(self, name: str, row: int, key: str) -> str:
        """Return the cell of a list, its rows counted from 1."""
        key = "text" if name == "particulars" and key.startswith("part") else key
        return f"{self.spans[name][key][0]}{self.heads[name] + row}"

    def sources(self) -> dict[str, dict[str, str]]:
        """Return how each column of each list is read, from its heading to its footer; {} is the place in it."""
        return {
            name: {key: f"INDEX({SHEET}!${c}${self.heads[name]}:${c}${self.end(name)},{{}})" for key, (c, _) in spans.items()}
            for name, spans in self.spans.items()
        }  # fmt: skip

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
        filled, read = [], ["SUM([areas.typed:])"]
        blocks = {"lines": "extras", "particulars": "said", "readings": "readings"}
        for name, spans in self.spans.items():
            top, end, known = self.heads[name], self.end(name), 1  # the footer
            for first, last in _together(spans.values()):
                filled.append(f'SUMPRODUCT(--({SHEET}!${first}${top}:${last}${end}<>""))')
            filled.append(str(-known - len(spans)))
            if name in blocks:
                keys = ("soil_typed" if name == "readings" and key == "soil" else key for key in spans)
                read += [f'SUMPRODUCT(--([{blocks[name]}.{key}:]<>""))' for key in keys]
        count, seen = "+".join(filled), "+".join(read)
        return f'IF({count}={seen},"","The lists hold "&({count})&" filled cells, and "&({seen})&" are read. Undo the last change.")'


def _together(spans: Iterable[tuple[str, str]]) -> list[tuple[str, str]]:
    """Return columns as ranges of columns side by side."""
    found: list[tuple[str, str]] = []
    for first, last in spans:
        if found and column_index_from_string(found[-1][1]) + 1 == column_index_from_string(first):
            found[-1] = (found[-1][0], last)
        else:
            found.append((first, last))
    return found


def write_entry(sheets: Sheets, layout: Layout, company: str, typed: Mapping[str, Any]) -> Worksheet:
    """Write the sheet, with what is typed already: the card by key, rows of the lists by key."""
    page = sheets.sheet(SHEET)
    page.sheet_view.showGridLines = False
    last = layout.last + 1
    widths = {1: 19, 11: 42, 12: 44, 13: 48, 14: 74, 15: 6, 21: 72, 22: 4}
    for name in ("areas", "readings"):
        widths |= {column_index_from_string(layout.spans[name][one.key][0]): one.width for one in layout.fields[name]}
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
    put(page, 1, 1, "Driveway estimate", bold=True, size=14, color=_BACK_WHITE, back=BAND)
    put(page, 1, 6, company, size=10, color=_BACK_WHITE, back=BAND)
    put(page, 1, 16, "Yellow: needed", bold=True, color="FFE08A", back=BAND)
    put(page, 1, 21, f'=IF({problems}=0,"READY",{problems}&" TO FIX")', bold=True, size=11, color=_BACK_WHITE, back=BAND, across="right")
    put(page, 2, 1, f'=IF({problems}=0,"Nothing to fix","Do this next")', bold=True, size=10)
    done = "Save, then run: basecalc quote with this file. Or read the price from Estimate."
    put(page, 2, 3, f'=IF({problems}=0,"{done}",{first})', bold=True, size=10)
    link = f'IF(ISNUMBER(SEARCH({cell},"Company Prices")),"#"&{cell}&"!A1","#{SHEET}!"&{cell})'
    put(page, 2, 19, f'=IF({problems}=0,"",HYPERLINK({link},"Go to "&{cell}))', color=LINK, bold=True)
    put(page, 2, 21, '=HYPERLINK("#Problems!A1","Problems")', color=LINK, bold=True, across="right")
    for label, value, text, key in ((1, 3, "Total as offered", "chosen"), (6, 8, capital(OPTION_WORDS["stone"]), "stone"), (11, 13, capital(OPTION_WORDS["geogrid"]), "grid")):
        put(page, 3, label, text, bold=True, back=PALE)
        total = result.cell(key, 1, SHEET)
        _merge(page, 3, value, value + 2)
        put(page, 3, value, f'=IF(ISERROR({total}),"not yet",{total})', bold=True, size=11, form='"$"#,##0.00', back=PALE)
    put(page, 3, 17, "Totals include markups and tax.", back=PALE, size=8)


def _merge(page: Worksheet, row: int, first: int, last: int) -> None:
    """Merge cells of a row that have their look already."""
    page.merged_cells.add(f"{get_column_letter(first)}{row}:{get_column_letter(last)}{row}")


def _input(sheets: Sheets, page: Worksheet, row: int, column: int, value: Any, *, center: bool = False) -> None:
    text = None if value is None or value == "" else str(value)
    sheets.put(page, row, column, text, back=INPUT, form="@", unlocked=True, box=True, across="center" if center else "left")


def _card(sheets: Sheets, page: Worksheet, typed: Typed) -> None:
    for key, label, needed, words, label_at, cell, row in CARD:
        sheets.put(page, row, column_index_from_string(label_at), f"{label} *" if needed else label, bold=needed, back=PALE)
        first, end = (column_index_from_string(one) for one in (cell, _CARD_ENDS[cell]))
        for column in range(first, end + 1):
            _input(sheets, page, row, column, typed.get(key) if column == first else None)
        _merge(page, row, first, end)
        if words:
            _offer(page, f"{cell}{row}", LIST_NAMES[key])


def _lists(sheets: Sheets, page: Worksheet, layout: Layout, typed: Mapping[str, Any]) -> None:
    for name, fields in layout.fields.items():
        head, rows, given = layout.heads[name], layout.rows[name], typed.get(name, ())
        for one in fields:
            span = layout.spans[name][one.key]
            first, end = map(column_index_from_string, span)
            color = "FFE08A" if one.needed else _BACK_WHITE
            for row in range(rows + 1):
                value = given[row - 1].get(one.key) if 0 < row <= len(given) else None
                for column in range(first, end + 1):
                    if row == 0:
                        text = one.heading(layout.units) if column == first else None
                        sheets.put(page, head, column, text, bold=True, back=BAND, color=color, box=True, across="center", wrap=head == HEAD, size=9 if head == HEAD else 8)
                    else:
                        center = bool(one.kind) or one.key in ("reading", "moisture")
                        _input(sheets, page, head + row, column, value if column == first else None, center=center)
                if end > first:
                    _merge(page, head + row, first, end)
            if one.words:
                _offer(page, f"{span[0]}{head + 1}:{span[0]}{head + rows}", LIST_NAMES[one.key])
        at = column_index_from_string(next(iter(layout.spans[name].values()))[0])
        sheets.put(page, layout.end(name), at, f"end of {name}", size=1, back=PALE, color=PALE)
    head = layout.heads["particulars"]
    sheets.put(page, head - 1, 2, "Particulars: anything else about the job, an area or a spot", bold=True, back=PALE)
    sheets.put(page, head - 1, 8, "Type feet and fractions as you say them: 1/2, 14'-6\", 14 ft 6 in. Several parts: with ; between.", back=PALE, size=8)


def _answers(sheets: Sheets, page: Worksheet, layout: Layout) -> None:
    unit = "in" if layout.units == "us" else "mm"
    for place, title in enumerate(("CBR", f"Stone {unit}", f"Grid {unit}", "Status")):
        sheets.put(page, HEAD, _ANSWERS + place, title, bold=True, back=ANSWER_HEAD, color=_BACK_WHITE, box=True, across="center", wrap=True)
    sheets.put(page, HEAD, 21, "Taken as", bold=True, back=ANSWER_HEAD, color=_BACK_WHITE, box=True, across="center")
    blocks = sheets.blocks
    for n in range(1, layout.rows["areas"] + 1):
        sheets.put(page, HEAD + n, 1, n, size=8, back=PALE, color="5B6B72", across="center")
        first = blocks["areas"].cell("first_place", n, SHEET)
        state = blocks["areas"].cell("state", n, SHEET)
        for at, (block, key, form) in enumerate((("strength", "cbr", "0.0#"), ("depth", "stone", "0.##"), ("depth", "with_grid", "0.##"))):
            value = f"INDEX({blocks[block].range(key, SHEET)},{first})"
            laid = f'IF(INDEX({blocks["depth"].range("laid", SHEET)},{first})=1,{value},"")' if key == "with_grid" else value
            sheets.put(page, HEAD + n, _ANSWERS + at, f'=IF({first}=0,"",IF({state}="Ready",IFERROR({laid},""),""))', back=ANSWER, box=True, across="center", form=form)
        sheets.put(page, HEAD + n, _ANSWERS + 3, f"={state}", back=ANSWER, box=True, across="center")
    for n in range(1, layout.rows["readings"] + 1):
        sheets.put(page, HEAD + n, 21, f"={blocks['readings'].cell('state', n, SHEET)}", back=ANSWER, box=True, across="center")
    for name, block, left in (("lines", "extras", 14), ("particulars", "said", 11)):
        head = layout.heads[name]
        sheets.put(page, head, left, "Counts", bold=True, back=ANSWER_HEAD, color=_BACK_WHITE, box=True, across="center", size=8)
        for n in range(1, layout.rows[name] + 1):
            for column in range(left, 15):
                shown = f"={blocks[block].cell('state', n, SHEET)}" if column == left else None
                sheets.put(page, head + n, column, shown, back=PALE)


def _offer(page: Worksheet, cells: str, name: str) -> None:
    """Offer words; the sheet judges them, so that nothing typed is thrown away."""
    rule = DataValidation(type="list", formula1=name, allow_blank=True, showErrorMessage=False)
    page.add_data_validation(rule)
    rule.add(cells)


LIST_NAMES: Final[Mapping[str, str]] = {
    "traffic": "Traffics", "soil": "Soils", "season": "Wetness", "moisture": "Wetness", "offer": "Offers", "walked": "YesNo",
    "new_build": "YesNo", "geotextile": "YesNo", "shape": "Shapes", "old_pavement_kind": "OldKinds", "test": "Tests",
    "area": "PlaceNames", "for": "PlaceNames", "what": "Particulars", "unit": "Units", "sense": "Senses", "taxable": "YesNo",
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
    first, end, last = HEAD + 1, layout.end("areas") - 1, layout.end("readings") - 1
    filled = "&".join(f"${column}{first}" for column, _ in layout.spans["areas"].values())
    rule(f"B{first}:B{end}", f'AND(B{first}="",OR({filled}<>"",AND(ROW()={first},$B${first}="")))', fill=need)
    plain = f'OR($C{first}="",$C{first}="rectangle",$C{first}="measured")'
    rule(f"D{first}:E{end}", f'AND(D{first}="",OR({filled}<>"",AND(ROW()={first},$B${first}="")),{plain})', fill=need)
    begun = f'$P{first}&$Q{first}&$R{first}&$S{first}&$T{first}<>""'
    rule(f"P{first}:P{last}", f'AND(P{first}="",{begun})', fill=need)
    rule(f"Q{first}:Q{last}", f'AND(Q{first}="",{begun},COUNTA($B${first}:$B${end})>1)', fill=need)
    rule(f"R{first}:S{last}", f'AND(R{first}="",{begun})', fill=need)
    said, said_end = layout.heads["particulars"] + 1, layout.end("particulars") - 1
    rule(f"C{said}:J{said_end}", f'AND($B{said}&$C{said}&$F{said}<>"",OR($C{said}="",$F{said}=""))', fill=need)
    line, line_end = layout.heads["lines"] + 1, layout.end("lines") - 1
    begun = "&".join(f"${column}{line}" for column, _ in layout.spans["lines"].values())
    rule(f"B{line}:C{line_end}", f'AND($B{line}="",$G{line}="",{begun}<>"")', fill=need)
    rule(f"D{line}:D{line_end}", f'AND(D{line}="",{begun}<>"",LEFT($E{line},1)<>"l")', fill=need)
    rule(f"E{line}:F{line_end}", f'AND(E{line}="",$G{line}="",{begun}<>"")', fill=need)
    rule(f"N{first}:N{end}", f'AND(N{first}<>"",N{first}<>"Ready")', font=bad, fill=pink)
    words = ('"frozen"', '"very soft"', '"soft"', '"medium"', '"stiff"', '"very stiff"', '"hard"')
    good = ",".join(f"U{first}={word}" for word in words)
    rule(f"U{first}:U{last}", f'AND(U{first}<>"",LEFT(U{first},3)<>"CBR",NOT(OR({good})))', font=bad, fill=pink)
    rule(f"K{said}:N{said_end}", f'AND($K{said}<>"",$K{said}<>"counts")', font=bad, fill=pink)
    rule(f"N{line}:N{line_end}", f'AND($N{line}<>"",$N{line}<>"counts")', font=bad, fill=pink)
    for cells, test, font, fill in (("A2:U2", '$U$1<>"READY"', bad, need), ("A2:U2", '$U$1="READY"', green, fine)):
        rule(cells, test, font=font, fill=fill)
    rule("C3:O3", 'C3="not yet"', font=bad)


def words_blocks(sheets: Sheets, lists: Mapping[str, Sequence[str]]) -> None:
    """Declare the words that the drop-downs offer, a column each."""
    for name, words in lists.items():
        block = Block(sheets, f"offered_{name.lower()}", "Lists", 3, len(words), name, left=0)
        block.add("words", name, list(words))
