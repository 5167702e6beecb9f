"""The workbooks of the season and of the book of quotes, for the office only: a printed page a sheet where it fits."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from math import ceil
from pathlib import Path
from typing import Final

from openpyxl.chart import BarChart
from openpyxl.utils import get_column_letter

from basecalc.core.numbers import half_up, printed
from basecalc.season.actuals import VERDICTS, JobActuals, Season, Suggestion, sentence
from basecalc.season.book import OPTIONS, SIGNED_STATES, Book, Sum
from basecalc.season.factors import CONFIDENCE
from basecalc.season.records import LOST, OPEN, SIGNED, WON, rule
from basecalc.workbook import charts, style
from basecalc.workbook.figures import capital, number, shown_unit, unit
from basecalc.workbook.layout import COUNTS, Flow, columns
from basecalc.workbook.style import Look
from basecalc.workbook.values import ValuedBook

_MOST_ROWS: Final = 32  # of a table on one page that can still be read
_MOST_NUMBERS: Final = 24  # over the bars of a chart


def start(
    book: ValuedBook, title: str, widths: tuple[float, ...], company: str, numbers: Sequence[str], words: str
) -> Flow:
    """Add a sheet with its head and return the flow behind it."""
    flow = Flow(book, title, widths)
    span = " to ".join(dict.fromkeys((numbers[0], numbers[-1])))
    for value, look, height in (
        (title, "title", 26.0), (f"{company}, quotes {span}", "text", 0.0), (f"{words} Office only.", "quiet", 0.0),
    ):  # fmt: skip
        flow.put(1, len(widths), value, look)  # type: ignore[arg-type]  # a tuple of literals loses them
        flow.next(height)
    flow.gap(6)
    return flow


def _numbers(made: Season) -> list[str]:
    return [one.quote.job.number for one in made.jobs]


def finish(flow: Flow, made: Season | Book, rows: int, head: int) -> None:
    """Set a sheet up for one printed page, across; for as many as it takes where its table is long."""
    foot = f"{made.company}, {flow.sheet.title}. Office only."
    short = rows <= _MOST_ROWS
    style.page(
        flow.sheet, flow.area, units=made.units, landscape=True, foot=foot,
        repeat_rows="" if short else f"{head}:{head}", pages_high=int(short),
    )  # fmt: skip


def bars(block: charts.Block, title: str, format: str, values: Sequence[float]) -> BarChart:
    """Return standing bars whose scale reaches below zero where a value does."""
    lowest, highest = min(values), max(values)
    chart = charts.side_by_side(block, title, format, max(highest, abs(lowest), 1e-3))
    step = float(chart.y_axis.majorUnit or 1.0)
    if len(values) > _MOST_NUMBERS:
        for series in chart.series:
            series.dLbls = None  # they would lie on each other; the table has them
    if lowest < 0:
        chart.y_axis.scaling.min = -step * ceil(abs(lowest) * 1.15 / step)
        chart.x_axis.tickLblPos = "low"
    return chart


FACTORS_TITLE: Final = "Factors"
_LISTED: Final = (25.0, 20.0, 9.0, 11.0, 12.5, 11.0, 10.0, 6.5, 19.0, 25.0, 37.0)
_LIST: Final = 7  # columns beside which the chart stands
_ROW_PT: Final = 15.0
_PER: Final = {word: shown_unit(word) for word in ("yd3", "m3", "ft2", "m2")}


@dataclass(frozen=True, slots=True)
class Over:
    """One quantity over the jobs where it was both estimated and used."""

    what: str
    unit: str
    estimated: float
    used: float
    jobs: int


def over_jobs(made: Season) -> list[Over]:
    """Return each quantity over the jobs where it was both estimated and used: materials, loads, hours."""
    both: dict[tuple[str, str], list[tuple[float, float]]] = {}
    for one in made.jobs:
        for row in one.rows:
            if row.estimated is not None and row.used is not None:
                both.setdefault((row.what, row.unit), []).append((row.estimated, row.used))
    found = [
        Over(what, unit, sum(pair[0] for pair in pairs), sum(pair[1] for pair in pairs), len(pairs))
        for (what, unit), pairs in both.items()
    ]
    return sorted(found, key=lambda one: ("load", "h").index(one.unit) + 1 if one.unit in ("load", "h") else 0)


def write_factors(book: ValuedBook, made: Season) -> None:
    """Write the sheet."""
    flow = start(
        book,
        FACTORS_TITLE,
        _LISTED,
        made.company,
        _numbers(made),
        "Used against estimated over all jobs, and what that suggests.",
    )
    found = over_jobs(made)
    if found:
        _used(flow, found)
    flow.heading("For your price workbook, to be entered by hand or not", 0)
    head = _suggestions(flow, made.suggestions)
    flow.gap(4)
    flow.put(
        1, len(_LISTED),
        f"From and to are the ends of a {CONFIDENCE:.0%} interval: of twenty such intervals about one "
        "misses. Each number is a sum over all jobs, so big jobs weigh more; how far the jobs differ among themselves "
        "makes the interval. What all jobs have in common, such as a base always dug too deep or a scale that is off, "
        f"no interval shows. Nothing was written to {Path(made.prices).name}.", "quiet",
    )  # fmt: skip
    flow.next()
    finish(flow, made, len(made.suggestions), head)


def _used(flow: Flow, found: Sequence[Over]) -> None:
    top, above = flow.height, flow.row
    titles = ("Quantity", "", "Unit", "Estimated", "Used", "Of estimate", "Jobs")
    for place, title in enumerate(titles, 1):
        flow.put(place, place, title, "column", across="right" if place > 3 else "")
    flow.next()
    first = flow.row
    for one in found:
        row = flow.row
        flow.put(1, 2, capital(one.what), "label")
        flow.put(3, 3, shown_unit(one.unit))
        for column, amount in ((4, one.estimated), (5, one.used)):
            flow.put(column, column, printed(amount), "number", "whole" if one.unit == "load" else "one")
        share = COUNTS.format(f"D{row}", f"E{row}", f"E{row}/D{row}")
        flow.formula(6, 6, share, printed(one.used) / printed(one.estimated), "number", "0%")
        flow.put(7, 7, one.jobs, "number", "whole")
        flow.next(_ROW_PT)
    block = charts.Block(flow.sheet, first, flow.row - 1, 1, (6,), ("used",))
    chart = bars(block, "Used, share of the estimate", "0%", [one.used / one.estimated for one in found])
    chart.legend = None
    height = max(_ROW_PT * 1.35 * len(found), 170.0)
    charts.place(flow.sheet, chart, above, _LIST + 1, flow.width_of(_LIST + 1, len(_LISTED)) - 8, height)
    short = height - (flow.height - top)
    if short > 0:
        flow.gap(short + 4)


def _suggestions(flow: Flow, found: Sequence[Suggestion]) -> int:
    """Write the list of suggestions and return the row of its headings."""
    head = columns(
        flow, "Row", "Number", "Unit", "Yours", "Suggested", "From", "To", "Jobs", "Advice", "Where it stands",
        "What it means", right=(4, 5, 6, 7, 8),
    )  # fmt: skip
    for one in found:
        format = "share" if one.unit == "share" else "two" if "/" in one.unit else "one" if one.places == 1 else "three"
        flow.put(1, 1, one.of, "label")
        flow.put(2, 2, capital(one.what))
        flow.put(3, 3, "%" if one.unit == "share" else "/".join(_PER.get(part, part) for part in one.unit.split("/")))
        for column, value in ((4, one.old), (5, one.new), (6, one.low), (7, one.high)):
            shown = None if value is None else printed(value)
            flow.put(column, column, shown, "strong" if column == 5 else "number", format)
        flow.put(8, 8, one.jobs, "number", "whole")
        style.align(flow.put(9, 9, capital(VERDICTS[one.verdict])), across="left", indent=1)
        flow.put(10, 10, one.cell)
        flow.put(11, 11, f"{one.told}.", "quiet")
        flow.next(rule=True)
    if not found:
        flow.put(1, len(_LISTED), "No tickets or hours that a factor could rest on.")
        flow.next()
    return head


TITLE: Final = "Season"
_WIDTHS: Final = (11.0, 24.0, 8.0, 12.0, 13.5, 13.5, 13.5, 13.5, 10.0, 10.0, 12.0, 13.0)
_BUILT: Final = {"stone": "stone only", "geogrid": "geogrid", "habit": "standard depth"}
_CHART_PT: Final = 170.0


def season_file(made: Season) -> bytes:
    """Return the season's workbook: two sheets, a printed page each."""
    book = ValuedBook()
    _season(book, made)
    write_factors(book, made)
    book.describe("Season", made.company, "Used against estimated. Office only.")
    return book.to_bytes()


def _season(book: ValuedBook, made: Season) -> None:
    flow = start(book, TITLE, _WIDTHS, made.company, _numbers(made), "What was quoted, won and made.")
    order = {WON: 0, SIGNED: 1, OPEN: 2, LOST: 3}
    jobs = sorted(made.jobs, key=lambda one: (one.margin_made is None, one.cost_made is None, order[one.result]))
    count = {word: sum(one.result == word for one in jobs) for word in order}
    still = "".join(f", {count[word]} {word}" for word in (SIGNED, OPEN) if count[word])
    built = [one for one in jobs if one.margin_made is not None]
    flow.put(
        1, len(_WIDTHS), f"{len(jobs)} quotes: {count[WON]} won, {count[LOST]} lost{still}. {len(built)} built with at "
        f"least {rule('least share of cost measured'):.0%} of the cost measured; margin is price before tax less cost, "
        "so overhead, contingency and profit together.",
    )  # fmt: skip
    flow.next()
    flow.gap(4)
    first = _table(flow, jobs, made.units)
    _totals(flow, built, first)
    _charts(flow, jobs, built, first, made.units)
    for one in jobs:
        for note in one.notes:
            flow.put(1, len(_WIDTHS), sentence(f"{one.quote.job.number}: {note}"), "quiet")
            flow.next()
    for note in made.notes:
        flow.put(1, len(_WIDTHS), sentence(note), "quiet")
        flow.next()
    finish(flow, made, len(jobs), first - 1)


def _table(flow: Flow, jobs: Sequence[JobActuals], units: str) -> int:
    """Write a row for each job, those measured first, and return the first row."""
    columns(
        flow, "Quote", "Client", "Result", "Built", "Quoted before tax", "Cost planned", "Charged before tax",
        "Cost made", "Margin planned", "Margin made", "Of the cost measured",
        f"Less base than standard, {unit('depth', units)}",
        right=range(5, 13),
    )  # fmt: skip
    first = flow.row
    for one in jobs:
        row = flow.row
        flow.put(1, 1, one.quote.job.number, "label")
        flow.put(2, 2, one.quote.job.client)
        flow.put(3, 3, one.result)
        flow.put(4, 4, _BUILT[one.planned.option] if one.result != LOST else "")
        flow.put(5, 5, one.quoted, "number", "money")
        flow.put(6, 6, one.planned.cost, "number", "money")
        _margin(flow, 9, f"E{row}", f"F{row}", one.margin_planned)
        if one.cost_made is not None and one.margin_made is not None:
            flow.put(7, 7, one.price, "number", "money")
            flow.put(8, 8, one.cost_made, "number", "money")
            _margin(flow, 10, f"G{row}", f"H{row}", one.margin_made)
        if one.cost_made is not None:
            flow.put(11, 11, one.measured, "number", "0%")
        saved = "not possible" if one.saved_m is None else half_up(number(one.saved_m, "depth", units), 1)
        flow.put(12, 12, saved, "number", "0" if units == "metric" else "0.0")
        flow.next(rule=True)
    return first


def _margin(flow: Flow, column: int, price: str, cost: str, value: float, look: Look = "number") -> None:
    text = COUNTS.format(price, cost, f"({price}-{cost})/{price}")
    flow.formula(column, column, text, printed(value), look, "share", across="right")


def _totals(flow: Flow, built: Sequence[JobActuals], first: int) -> None:
    """Write the sums of the jobs measured, which come first."""
    if not built:
        return
    row, last = flow.row, first + len(built) - 1
    flow.put(1, 4, f"The {len(built)} measured", "total")
    amounts = (
        sum((one.quoted for one in built), Decimal(0)),
        sum((one.planned.cost for one in built), Decimal(0)),
        sum((one.price for one in built), Decimal(0)),
        sum((one.cost_made or Decimal(0) for one in built), Decimal(0)),
    )
    for column, amount in enumerate(amounts, 5):
        _total(flow, column, first, amount, "money", last)
    for place, price, cost in ((9, 0, 1), (10, 2, 3)):
        cells = f"{'EFGH'[price]}{row}", f"{'EFGH'[cost]}{row}"
        _margin(flow, place, *cells, float((amounts[price] - amounts[cost]) / amounts[price]), "total")
    flow.put(11, 12, None, "total")
    flow.next()


def _charts(flow: Flow, jobs: Sequence[JobActuals], built: Sequence[JobActuals], first: int, units: str) -> None:
    flow.gap(6)
    row = flow.room(10, _CHART_PT)
    if built:
        block = charts.Block(flow.sheet, first, first + len(built) - 1, 1, (9, 10), ("planned", "made"))
        values = [value for one in built for value in (one.margin_planned, one.margin_made or 0.0)]
        chart = bars(block, "Margin of each job measured, share of price", "0%", values)
        chart.series[0].dLbls = None  # planned is nearly the same everywhere; two numbers a pair would not fit
        charts.place(flow.sheet, chart, row, 1, flow.width_of(1, 6) - 6, _CHART_PT - 4)
    values = [number(one.saved_m, "depth", units) for one in jobs if one.saved_m is not None]
    if values:
        block = charts.Block(flow.sheet, first, first + len(jobs) - 1, 1, (12,), ("less base",))
        title = f"Base saved against the standard depth, {unit('depth', units)}"
        chart = bars(block, title, "General", values)
        chart.legend = None
        charts.place(flow.sheet, chart, row, 7, flow.width_of(7, 12) - 6, _CHART_PT - 4)
    flow.gap(4)


_BOOK_WIDTHS: Final = (11.0, 20.0, 25.0, 12.0, 8.0, 10.5, 10.5, 12.0, 12.0, 12.0, 22.0, 26.0)
_SUM_WIDTHS: Final = (16.0, 9.0, 14.0, 9.0, 14.0, 9.0, 14.0, 9.0, 14.0, 9.0, 12.0)


def book_file(made: Book) -> bytes:
    """Return the workbook of the book of quotes: every quote, and the totals by month and by option."""
    book = ValuedBook()
    numbers = [one.number for one in made.entries]
    flow = start(book, "Book", _BOOK_WIDTHS, made.company, numbers, f"Every quote in {made.folder} on {made.day}.")
    head = columns(
        flow, "Quote", "Client", "Site", "Total", "Margin", "Written", "Valid until", "Option", "Changes signed",
        "Not signed", "State", "To do", right=(4, 5, 9, 10),
    )  # fmt: skip
    for one in made.entries:
        flow.put(1, 1, f"{one.number}-r{one.revision}", "label")
        flow.put(4, 4, one.total, "number", "money")
        flow.put(5, 5, None if one.margin is None else printed(one.margin), "number", "share")
        texts = {
            2: one.client, 3: one.site, 6: str(one.written or ""), 7: str(one.valid_until or ""),
            8: OPTIONS[one.option], 11: one.state_words, 12: one.to_do,
        }  # fmt: skip
        for column, text in texts.items():
            flow.put(column, column, text, "caution" if column == 12 and text else "text")
        for column, signed in ((9, True), (10, False)):
            adds = [change.adds for change in one.standing if change.signed is signed][-1:]
            flow.put(column, column, adds[0] if adds else None, "number", "money")
        flow.next(rule=True)
    for text in made.not_counted:
        flow.put(1, len(_BOOK_WIDTHS), f"Not counted: {text}", "caution")
        flow.next()
    finish(flow, made, len(made.entries), head)
    flow = start(book, "Totals", _SUM_WIDTHS, made.company, numbers, "By the month written, and by option.")
    for title, sums in (("By month", made.months), ("By option", made.options)):
        flow.heading(title, 0)
        _sums(flow, sums)
    finish(flow, made, len(made.months), flow.row)
    book.describe("Book of quotes", made.company, "Every quote, its state and margin. Office only.")
    return book.to_bytes()


def _sums(flow: Flow, sums: Sequence[Sum]) -> None:
    columns(
        flow, "", "Quotes", "Total", "Sent", "Sent, $", "Signed", "Signed, $", "Lost", "Lost, $", "Won", "Won, of $",
        right=range(2, 12),
    )  # fmt: skip
    first = flow.row
    for one in sums:
        flow.put(1, 1, one.name, "label")
        counts = (one.of(), one.of("sent"), one.of(*SIGNED_STATES), one.of("lost"))
        for place, (count, total) in enumerate(counts):
            flow.put(2 + 2 * place, 2 + 2 * place, count, "number", "whole")
            flow.put(3 + 2 * place, 3 + 2 * place, total, "number", "money")
        _won(flow, flow.row, one, "number")
        flow.next(rule=True)
    row, whole = flow.row, Sum("all", tuple(entry for one in sums for entry in one.entries))
    flow.put(1, 1, "All", "total")
    counts = (whole.of(), whole.of("sent"), whole.of(*SIGNED_STATES), whole.of("lost"))
    for place, (count, money) in enumerate(counts):
        _total(flow, 2 + 2 * place, first, count, "whole")
        _total(flow, 3 + 2 * place, first, money, "money")
    _won(flow, row, whole, "total")
    flow.next()
    flow.gap(6)


def _total(flow: Flow, column: int, first: int, value: Decimal | int, format: str, last: int = 0) -> None:
    """Write the sum of a column, which is an error where one of its cells does not hold a number."""
    letter, last = get_column_letter(column), last or flow.row - 1
    cells = f"{letter}{first}:{letter}{last}"
    text = f"=IF(COUNT({cells})={last - first + 1},SUM({cells}),NA())"
    flow.formula(column, column, text, value, "total", format, across="right")


def _won(flow: Flow, row: int, one: Sum, look: Look) -> None:
    """Write signed as a share of decided, by number and by money; a dash where none is decided."""
    for column, signed, lost, value in ((10, "F", "H", one.won), (11, "G", "I", one.won_money)):
        both = f"{signed}{row}+{lost}{row}"
        if value is None:
            flow.put(column, column, "-", look)
            continue
        flow.formula(column, column, f"={signed}{row}/({both})", printed(value), look, "share", across="right")
