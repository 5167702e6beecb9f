"""The season's workbook, for the office only: what was won and made, and what the jobs used against their estimates."""

from collections.abc import Sequence
from decimal import Decimal
from typing import Final

from basecalc.reckoning.factor_sheet import write as write_factors
from basecalc.reckoning.outcome import JobActuals, Season, sentence
from basecalc.reckoning.record import LOST, OPEN, WON
from basecalc.reckoning.season_kit import bars, finish, start
from basecalc.rounding import half_up, printed
from basecalc.workbook import charts
from basecalc.workbook.figures import number, unit
from basecalc.workbook.layout import Flow
from basecalc.workbook.office_sheet import COUNTS, columns
from basecalc.workbook.style import Look
from basecalc.workbook.values import ValuedBook

TITLE: Final = "Season"
_WIDTHS: Final = (11.0, 24.0, 8.0, 12.0, 13.5, 13.5, 13.5, 13.5, 10.0, 10.0, 12.0, 13.0)
_BUILT: Final = {"stone": "stone only", "geogrid": "geogrid", "habit": "the habit"}
_CHART_PT: Final = 170.0


def season_file(made: Season) -> bytes:
    """Return the season's workbook: two sheets, a printed page each.

    Parameters
    ----------
    made
        The season.
    """
    book = ValuedBook()
    _season(book, made)
    write_factors(book, made)
    book.describe("Season", made.company, "Used against estimated. Office only.")
    return book.to_bytes()


def _season(book: ValuedBook, made: Season) -> None:
    flow = start(book, TITLE, _WIDTHS, made, "What was quoted, won and made.")
    order = {WON: 0, OPEN: 1, LOST: 2}
    jobs = sorted(made.jobs, key=lambda one: (one.cost_made is None, order[one.result]))
    count = {word: sum(one.result == word for one in jobs) for word in order}
    still = f", {count[OPEN]} open" if count[OPEN] else ""
    built = [one for one in jobs if one.cost_made is not None]
    flow.put(
        1, len(_WIDTHS), f"{len(jobs)} quotes: {count[WON]} won, {count[LOST]} lost{still}. "
        f"{len(built)} built with tickets or hours; margin is price before tax less cost, so overhead, contingency "
        "and profit together.",
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
    """Write a row for each job, those built first, and return the first row."""
    columns(
        flow, "Quote", "Client", "Result", "Built", "Quoted before tax", "Cost planned", "Charged before tax",
        "Cost made", "Margin planned", "Margin made", "Of the cost measured",
        f"Less base than habit, {unit('depth', units)}",
        right=range(5, 13),
    )  # fmt: skip
    first = flow.row
    for one in jobs:
        row = flow.row
        flow.put(1, 1, one.quote.job.number, "label")
        flow.put(2, 2, one.quote.job.client)
        flow.put(3, 3, one.result)
        flow.put(4, 4, _BUILT[one.planned.option] if one.result != LOST else "")
        flow.put(5, 5, one.planned.before_tax, "number", "money")
        flow.put(6, 6, one.planned.cost, "number", "money")
        _margin(flow, 9, f"E{row}", f"F{row}", one.margin_planned)
        if one.cost_made is not None and one.margin_made is not None:
            flow.put(7, 7, one.price, "number", "money")
            flow.put(8, 8, one.cost_made, "number", "money")
            _margin(flow, 10, f"G{row}", f"H{row}", one.margin_made)
            flow.put(11, 11, one.measured, "number", "0%")
        saved = "no habit" if one.saved_m is None else half_up(number(one.saved_m, "depth", units), 1)
        flow.put(12, 12, saved, "number", "0" if units == "metric" else "0.0")
        flow.next(rule=True)
    return first


def _margin(flow: Flow, column: int, price: str, cost: str, value: float, look: Look = "number") -> None:
    text = COUNTS.format(price, cost, f"({price}-{cost})/{price}")
    flow.formula(column, column, text, printed(value), look, "share", across="right")


def _totals(flow: Flow, built: Sequence[JobActuals], first: int) -> None:
    """Write the sums of the jobs built, which stand first."""
    if not built:
        return
    row, last = flow.row, first + len(built) - 1
    flow.put(1, 4, f"The {len(built)} built", "total")
    amounts = (
        sum((one.planned.before_tax for one in built), Decimal(0)),
        sum((one.planned.cost for one in built), Decimal(0)),
        sum((one.price for one in built), Decimal(0)),
        sum((one.cost_made or Decimal(0) for one in built), Decimal(0)),
    )
    for place, (column, amount) in enumerate(zip("EFGH", amounts, strict=True), 5):
        flow.formula(
            place, place,
            f"=IF(COUNT({column}{first}:{column}{last})={len(built)},SUM({column}{first}:{column}{last}),NA())",
            amount, "total", "money", across="right",
        )  # fmt: skip
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
        chart = bars(block, "Margin of each job built, share of price", "0%", values)
        chart.series[0].dLbls = None  # planned is nearly the same everywhere; two numbers a pair would not fit
        charts.place(flow.sheet, chart, row, 1, flow.width_of(1, 6) - 6, _CHART_PT - 4)
    values = [number(one.saved_m, "depth", units) for one in jobs if one.saved_m is not None]
    if values:
        block = charts.Block(flow.sheet, first, first + len(jobs) - 1, 1, (12,), ("less base",))
        title = f"Base saved against the one-depth habit, {unit('depth', units)}"
        chart = bars(block, title, "General", values)
        chart.legend = None
        charts.place(flow.sheet, chart, row, 7, flow.width_of(7, 12) - 6, _CHART_PT - 4)
    flow.gap(4)
