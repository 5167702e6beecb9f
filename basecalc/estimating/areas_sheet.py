"""The sheet Areas: what is measured of each area, and beside it everything that is worked out, step by step."""

import re
from collections.abc import Mapping, Sequence
from typing import Any, Final, cast

from openpyxl.cell.cell import Cell
from openpyxl.utils import get_column_letter
from openpyxl.workbook import Workbook
from openpyxl.worksheet.hyperlink import Hyperlink
from openpyxl.worksheet.pagebreak import Break, ColBreak
from openpyxl.worksheet.table import TableFormula
from openpyxl.worksheet.worksheet import Worksheet

from basecalc.estimating.area_columns import steps
from basecalc.estimating.column_step import LINES, OPTION_WORDS, OPTIONS, PART, Step
from basecalc.estimating.edition import Edition
from basecalc.estimating.sheet_kit import REFUSED, keep_formulas, mark_refusals, mark_words, name_cell, title
from basecalc.estimating.tables import AREAS
from basecalc.plan.area import SIZES
from basecalc.tables.schema import Field
from basecalc.workbook import style
from basecalc.workbook.template_table import drop_down, mark_gaps, note

HEADING_ROW: Final = 6
FIRST: Final = HEADING_ROW + 1
MORE_ROWS: Final = 200  # totals look so far below the rows made ready
_INPUTS: Final = len(AREAS.columns)
_WIDTHS: Final[Mapping[str, float]] = {
    "name": 20,
    "shape": 11,
    "points": 30,
    "soil": 10,
    "note": 26,
    "strength": 12,
    "old_pavement_kind": 11,
}
# The words above the columns, from the first of each group on; on paper each but the first begins a page.
_FILLED_GROUPS: Final[Mapping[str, str]] = {
    "name": "What you measure",
    "finish_above_ground": "Levels, what lies there, extras",
    "water_table": "Water and frost, only where known",
}
_GROUPS: Final[Mapping[str, str]] = {
    "answer": "The answer: how strong, how deep, and why",
    "measured": "Measured, as it is used below",
    **{option: f"Steps: {OPTION_WORDS[option]}" for option in OPTIONS},
    LINES: "Asked once",
}
_CELL: Final = re.compile(r"(?<![A-Za-z!$'])\$?([A-Z]{1,3})\$?7(?::\$?([A-Z]{1,3})\$?7)?(?![0-9(])")


class AreaSheet:
    """Where each column of the sheet Areas stands, for the formulas of the other sheets."""

    def __init__(self, edition: Edition, ready_rows: int) -> None:
        self.steps = steps(edition)
        self.edition, self.ready_rows = edition, ready_rows
        self.last_ready = FIRST + ready_rows - 1
        self.last = self.last_ready + MORE_ROWS
        keys = [step.key for step in self.steps]
        self.letters = {key: get_column_letter(_INPUTS + 2 + place) for place, key in enumerate(keys)}

    def column(self, key: str) -> str:
        """Return the whole column of a step, rows to come included, as a range on the sheet."""
        return f"Areas!${self.letters[key]}${FIRST}:${self.letters[key]}${self.last}"

    def cell(self, key: str, row: int) -> str:
        """Return a cell of a step."""
        return f"Areas!${self.letters[key]}{row}"

    def formula(self, step: Step, row: int) -> str:
        """Return the formula of a step for a row, which shows nothing while the row is empty."""
        inputs = f"$A{row}:${get_column_letter(_INPUTS)}{row}"
        places = {key: f"${letter}{row}" for key, letter in self.letters.items()}
        fields = [column.key for column in AREAS.columns]
        places["name"], places["by_hand"] = f"$A{row}", f"${get_column_letter(1 + fields.index('strength'))}{row}"
        body = self._state() if step.key == "state" else step.formula
        return f'=IF(COUNTA({inputs})=0,"",{body.format(row=inputs, **places)})'

    def parts(self) -> list[tuple[int, int]]:
        """Return first and last row of each part of the table, rows to come included."""
        return [(first, min(first + PART - 1, self.last)) for first in range(FIRST, self.last + 1, PART)]

    def _state(self) -> str:
        numbers = [f"ISNUMBER({{{step.key}}})" for step in self.steps if step.counts == "always"]
        words = [f'LEFT({{{step.key}}},1)<>"#"' for step in self.steps if step.counts == "word"]
        always = ",".join(numbers + words)
        sometimes = [step for step in self.steps if step.counts not in ("always", "word", "never")]
        where = ",".join(f"IF({step.counts},ISNUMBER({{{step.key}}}),TRUE)" for step in sometimes)
        return f'IF(AND({always}),IF(AND({where}),"ok","{REFUSED}"),"{REFUSED}")'


def write_areas(book: Workbook, edition: Edition, rows: Sequence[Mapping[str, Any]], ready_rows: int) -> AreaSheet:
    """Write the sheet Areas and return where its columns stand."""
    made = AreaSheet(edition, max(ready_rows, len(rows)))
    sheet = cast(Worksheet, book.create_sheet(AREAS.sheet))
    title(sheet, "Areas", "")
    told = (
        "One row for each area of one ground and one depth. The depth and its reason stand to the right "
        "of what you fill in."
    )
    style.put(sheet, 2, 2, told, "subtitle")  # the first column is printed on every page
    style.put(sheet, 2, 1, "How deep, and why", "label").hyperlink = Hyperlink(
        ref="A2", location=f"'{AREAS.sheet}'!{made.letters['why']}{FIRST}"
    )
    style.put(sheet, 3, 1, "A boxed cell is yours.", "input")
    told = (
        "Hatched: still needed for this shape. # or REFUSED: it cannot be worked out, and the cell says "
        "why. Headings carry notes."
    )
    style.align(style.put(sheet, 3, 2, told, "quiet"), up="center", wrap=False, indent=1)
    sheet.row_dimensions[3].height = 18
    style.formula(sheet, 4, 2, "=Banner", "label", across="left")
    style.align(cast(Cell, sheet.cell(4, 2)), wrap=False, up="center")
    mark_refusals(sheet, "B4", "B4")
    sheet.row_dimensions[4].height = 18
    headings = [column.heading(edition.units) for column in AREAS.columns]
    headings += ["sizes the shape needs", *(step.heading for step in made.steps)]
    _head(sheet, made, headings)
    for row in range(FIRST, made.last_ready + 1):
        values = rows[row - FIRST] if row - FIRST < len(rows) else {}
        _row(sheet, made, row, values)
    _table(sheet, made, headings)
    _rules(sheet, made)
    for name, key in (("AreaNames", "name"), ("AreaSoils", "soil")):
        letter = get_column_letter(1 + [column.key for column in AREAS.columns].index(key))
        name_cell(book, name, sheet, f"{letter}{FIRST}:{letter}{made.last}")
    name_cell(book, "FirstArea", sheet, f"A{FIRST}")
    name_cell(book, "AreaRows", sheet, f"A{FIRST}:{get_column_letter(_INPUTS)}{made.last}")
    _page(sheet, made)
    return made


def _width(column: Field) -> float:
    return _WIDTHS.get(column.key, 9.5)


def _head(sheet: Worksheet, made: AreaSheet, headings: Sequence[str]) -> None:
    helps = (
        [column.help for column in AREAS.columns] + ["What to fill in for the shape."] + [s.help for s in made.steps]
    )
    widths = [_width(column) for column in AREAS.columns] + [24, *(step.width for step in made.steps)]
    style.widths(sheet, *widths)
    for at, (text, told) in enumerate(zip(headings, helps, strict=True), 1):
        cell = style.put(sheet, HEADING_ROW, at, text, "column", across="left")
        style.align(cell, up="bottom")
        if told:
            note(sheet, HEADING_ROW, at, told)
    sheet.row_dimensions[HEADING_ROW].height = 58
    fields = [column.key for column in AREAS.columns]
    marks = [(1 + fields.index(field), words) for field, words in _FILLED_GROUPS.items()] + [(_INPUTS + 1, "Sizes")]
    seen: set[str] = set()
    for place, step in enumerate(made.steps):
        if step.group not in seen:
            seen.add(step.group)
            marks.append((_INPUTS + 2 + place, _GROUPS[step.group]))
    for at, words in marks:
        style.align(style.put(sheet, HEADING_ROW - 1, at, words, "label"), wrap=False, up="bottom")
    sheet.row_dimensions[HEADING_ROW - 1].height = 20
    sheet.freeze_panes = f"B{FIRST}"


def _row(sheet: Worksheet, made: AreaSheet, row: int, values: Mapping[str, Any]) -> None:
    sheet.row_dimensions[row].height = 28
    for at, column in enumerate(AREAS.columns, 1):
        value = values.get(column.key)
        numeric = bool(column.unit("us")) and column.key != "points"
        across = "right" if numeric and not isinstance(value, str) else "left"
        cell = style.put(sheet, row, at, value, "input", column.format, across=across)
        style.align(cell, wrap=not numeric)
    told = f'=IF($B{row}="","",IFERROR(INDEX(ShapeSizes,MATCH($B{row},ShapeWords,0)),"no such shape"))'
    style.align(style.formula(sheet, row, _INPUTS + 1, told, "quiet"), up="center", wrap=True)
    for place, step in enumerate(made.steps):
        look: style.Look = "strong" if step.key in ("depth", "state") else "number"
        wordy = step.format == "text"
        if wordy and step.key != "state":
            look = "quiet"
        cell = style.formula(
            sheet, row, _INPUTS + 2 + place, made.formula(step, row), look, "" if wordy else step.format
        )
        style.align(
            cell,
            up="top" if step.group == LINES else "center",  # of a long line its beginning shows
            wrap=wordy,
            across="left" if wordy else "right",
            indent=int(wordy),
        )


def _table(sheet: Worksheet, made: AreaSheet, headings: Sequence[str]) -> None:
    from basecalc.workbook.template_table import add_table

    last = get_column_letter(len(headings))
    add_table(sheet, AREAS.name, f"A{HEADING_ROW}:{last}{made.last_ready}", headings)
    table = sheet.tables[AREAS.name]
    for at in range(_INPUTS, len(headings)):
        text = str(sheet.cell(FIRST, at + 1).value)
        table.tableColumns[at].calculatedColumnFormula = TableFormula(attr_text=column_formula(text, headings)[1:])


def column_formula(text: str, headings: Sequence[str], table: str = AREAS.name) -> str:
    """Return the formula of the first row as Excel keeps it for a whole column, so that a row typed below takes it.

    Examples
    --------
    >>> column_formula("=$A7*2", ["size [ft]"])
    "=Areas[[#This Row],[size '[ft']]]*2"
    """

    def named(letters: str) -> str:
        at = 0
        for letter in letters:
            at = at * 26 + ord(letter) - 64
        return re.sub(r"(['\[\]#@])", r"'\1", headings[at - 1])

    def in_row(match: re.Match[str]) -> str:
        first, last = match[1], match[2]
        inside = f"[{named(first)}]" + (f":[{named(last)}]" if last else "")
        return f"{table}[[#This Row],{inside}]"

    return _CELL.sub(in_row, text)


def _rules(sheet: Worksheet, made: AreaSheet) -> None:
    last, reach = made.last_ready, made.last
    for at, column in enumerate(AREAS.columns, 1):
        if column.choices:
            drop_down(sheet, f"{get_column_letter(at)}{FIRST}:{get_column_letter(at)}{reach}", tuple(column.choices))
    first, end = get_column_letter(_INPUTS + 1), get_column_letter(_INPUTS + 1 + len(made.steps))
    keep_formulas(sheet, f"{first}{FIRST}:{end}{last}")
    mark_refusals(sheet, f"{first}{FIRST}:{end}{last}", f"{first}{FIRST}")
    why = made.letters["ground_why"]
    mark_words(sheet, f"{why}{FIRST}:{why}{last}", f'ISNUMBER(SEARCH("CONFLICT",{why}{FIRST}))')
    letters = {column.key: get_column_letter(at) for at, column in enumerate(AREAS.columns, 1)}
    needs = {
        1: ("rectangle", "triangle", "trapezoid", "circle", "measured"),
        2: ("rectangle", "triangle", "trapezoid", "measured"),
        3: ("trapezoid",),
    }
    for size, shapes in needs.items():
        letter = letters[SIZES[size - 1]]
        words = ",".join(f'$B{FIRST}="{shape}"' for shape in shapes)
        mark_gaps(sheet, f"{letter}{FIRST}:{letter}{reach}", f'AND({letter}{FIRST}="",OR({words}))')
    for key, shape in (("points", "polygon"), ("area", "measured")):
        letter = letters[key]
        mark_gaps(sheet, f"{letter}{FIRST}:{letter}{reach}", f'AND({letter}{FIRST}="",$B{FIRST}="{shape}")')
    mark_gaps(sheet, f"B{FIRST}:B{reach}", f'AND($A{FIRST}<>"",B{FIRST}="")')


def _page(sheet: Worksheet, made: AreaSheet) -> None:
    # On paper only what was measured and the answer; the steps behind them are for the screen.
    end = made.letters[[step.key for step in made.steps if step.group == "answer"][-1]]
    filled = made.last_ready
    style.page(sheet, f"A1:{end}{filled}", units=made.edition.units, landscape=True, foot="Areas (office only)")
    properties = sheet.sheet_properties.pageSetUpPr
    if properties is not None:
        properties.fitToPage = False
    sheet.page_setup.fitToWidth = sheet.page_setup.fitToHeight = None
    sheet.page_setup.scale = 66 if made.edition.units == "metric" else 61
    sheet.print_title_cols = "A:A"
    sheet.print_title_rows = f"{HEADING_ROW - 1}:{HEADING_ROW}"
    fields = [column.key for column in AREAS.columns]
    sheet.col_breaks = ColBreak()
    for column in (*(fields.index(field) for field in list(_FILLED_GROUPS)[1:]), _INPUTS + 1):
        sheet.col_breaks.append(Break(id=column))
