"""The office's sheet What moves the depth: the checks beside each other, and how far each input moves the base."""

from collections.abc import Sequence
from decimal import Decimal
from typing import Final

from basecalc.core.numbers import decimal, printed
from basecalc.design.depth import BaseDepth
from basecalc.design.sensitivity import End, Moved, Sensitivity, sensitivity, unrounded_m
from basecalc.pricing.records import Quote
from basecalc.workbook import charts, style
from basecalc.workbook.client_words import capital
from basecalc.workbook.figures import number, unit
from basecalc.workbook.layout import Flow
from basecalc.workbook.office_sheet import columns, finish, page_each, start
from basecalc.workbook.values import ValuedBook

TITLE: Final = "What moves the depth"
_WIDTHS: Final = (30.0, 12.0, 11.0, 11.0, 11.0, 11.0, 10.0, 11.0, 11.0, 12.0, 52.0)
_LEAST: Final = 7  # column of the least depth; how far the design lies above it and what lies beyond follow
_SHADES: Final = "dark up to the design depth, light beyond it"
_ROW_PT: Final = 19.0
_AROUND_PT: Final = 95.0


def write(book: ValuedBook, quote: Quote, revision: int) -> None:
    """Write the sheet: for each different depth of the offered option its comparison, its tornado and their tables."""
    flow = start(
        book, TITLE, _WIDTHS, quote, revision,
        "The checks beside each other, and how far each input moves the depth with the others held.",
    )  # fmt: skip
    tops = []
    for names, made in _alike(quote):
        tops.append(flow.row)
        flow.heading(", ".join(names))
        _comparison(flow, made, quote.job.units)
        _moved(flow, sensitivity(made), quote, names)
    finish(flow, quote)
    if len(tops) > 1:
        page_each(flow, tops)


def _alike(quote: Quote) -> list[tuple[list[str], BaseDepth]]:
    """Return the different depths of the offered option, each with the areas it holds for."""
    found: list[tuple[list[str], BaseDepth]] = []
    for name, made in quote.offered_depths.items():
        same = next((names for names, other in found if other == made), None)
        if same is None:
            found.append(([name], made))
        else:
            same.append(name)
    return found


def _comparison(flow: Flow, made: BaseDepth, units: str) -> None:
    last = len(_WIDTHS)
    for first, end, title in (
        (1, 1, "Check"), (2, 2, f"Depth, {_depth_unit(units)}"), (3, 3, "Against the design"),
        (4, 4, "Counts"), (5, last - 1, "What it did"), (last, last, "Source"),
    ):  # fmt: skip
        flow.put(first, end, title, "column", across="right" if first in (2, 3) else "center" if first == 4 else "")
    flow.next()
    for check in made.checks:
        apart = None if check.depth_m is None else check.depth_m - unrounded_m(made)
        flow.put(1, 1, check.name + (" (governs)" if check.name == made.governs else ""), "label")
        flow.put(2, 2, _depth(check.depth_m, units, "none"), "number", _places(units))
        flow.put(3, 3, _depth(apart, units, ""), "number", f"+{_places(units)};-{_places(units)};0")
        flow.put(4, 4, check.counts, across="center")
        flow.put(5, last - 1, capital(check.sentence))
        style.align(flow.put(last, last, check.source, "quiet"), across="left", indent=1)
        flow.next(rule=True)
    flow.gap(6)


def _moved(flow: Flow, found: Sensitivity, quote: Quote, names: Sequence[str]) -> None:
    units = quote.job.units
    rate = sum((quote.deeper.per_step(name) for name in names), Decimal(0))
    flow.put(1, 1, f"Depth designed, before rounding, {_depth_unit(units)}", "label")
    designed = flow.put(2, 2, _depth(found.designed_m, units, ""), "strong", _places(units)).coordinate
    flow.put(
        3,
        9,
        f"{quote.deeper.step} more depth here adds to the price, on the average of the quote's table",
        across="right",
    )
    money = flow.put(10, 10, rate, "strong", "money").coordinate
    flow.next()
    if found.moving:
        first = _table(flow, found, units, designed, money)
        _chart(flow, found, units, first, ", ".join(names))
    if found.still:
        still = ", ".join(row.name for row in found.still)
        flow.put(1, len(_WIDTHS), f"Within their ranges these do not move the depth, another check governs: {still}.")
        flow.next()
    flow.gap(6)


def _table(flow: Flow, found: Sensitivity, units: str, designed: str, money: str) -> int:
    """Write the table of the inputs that move the depth and return its first row."""
    word = _depth_unit(units)
    titles = ("Input", "Used", "From", "To", f"Depth at from, {word}", f"Depth at to, {word}")
    more = ("Least", "Up to the design", "Beyond it", "Worth", "Where the range comes from")
    columns(flow, *titles, *more, right=range(2, 11))
    first = flow.row
    base = number(found.designed_m, "depth", units)
    step = number(1.0, "depth", units)
    for row in found.moving:
        at = flow.row
        flow.put(1, 1, row.name + (f", {row.unit}" if row.unit else ""), "label")
        for column, value in ((2, row.used), (3, row.low.value), (4, row.high.value)):
            flow.put(column, column, value, "number", _value_format(value))
        for column, end in ((5, row.low), (6, row.high)):
            flow.put(column, column, _depth(end.depth_m, units, "refused"), "number", _places(units))
        least, most = (value * step for value in row.depths_m(found.designed_m))
        ends = f"E{at}:F{at}"
        places = _places(units)
        flow.formula(_LEAST, _LEAST, f"=MIN({ends},{designed})", printed(least), "number", places)
        flow.formula(8, 8, f"={designed}-G{at}", printed(base - least), "number", places)
        flow.formula(9, 9, f"=MAX({ends},{designed})-{designed}", printed(most - base), "number", places)
        worth = printed((most - least) / _step(units)) * float(str(flow.sheet[money].value))
        per = f"/{_step(units):g}" if _step(units) != 1 else ""
        flow.formula(10, 10, f"=ROUND((H{at}+I{at}){per}*{money},0)", float(decimal(worth, 0)), "number", "money whole")
        style.align(flow.put(11, 11, f"{capital(row.reason)}.{_notes(row)}", "quiet"), across="left", indent=1)
        flow.next(rule=True)
    flow.gap(4)
    return first


def _value_format(value: float | str) -> str:
    if isinstance(value, str):
        return "text"
    return "whole" if value == round(value) else "#,##0.0##"


def _notes(row: Moved) -> str:
    """Return what there is to say of the ends of a range, behind its reason."""

    def told(word: str, end: End) -> str:
        return f" {word}: {end.note}." if end.note else ""

    return told("From", row.low) + told("To", row.high)


def _chart(flow: Flow, found: Sensitivity, units: str, first: int, names: str) -> None:
    count = len(found.moving)
    block = charts.Block(
        flow.sheet, first, first + count - 1, 1, (_LEAST, _LEAST + 1, _LEAST + 2),
        ("least", "up to the design depth", "beyond the design depth"),
    )  # fmt: skip
    highest = max(number(row.depths_m(found.designed_m)[1], "depth", units) for row in found.moving)
    word = _depth_unit(units)
    chart = charts.tornado(
        block, f"What moves the base depth: {names}", f"base depth, {word}; {_SHADES}", highest, "General"
    )
    height = _AROUND_PT + _ROW_PT * count
    rows = max(round(height / 15), 1)
    top = flow.room(rows, height)
    charts.place(flow.sheet, chart, top, 1, flow.width_of(1, 10) - 8, height - 6)
    flow.gap(4)


def _step(units: str) -> float:
    """Return the step of the extra-depth rate in the unit of a printed depth: 1 in, or 10 mm."""
    return 10.0 if units == "metric" else 1.0


def _depth_unit(units: str) -> str:
    return unit("depth", units)


def _places(units: str) -> str:
    return "0" if units == "metric" else "0.0"


def _depth(depth_m: float | None, units: str, otherwise: str) -> float | str:
    return otherwise if depth_m is None else number(depth_m, "depth", units)
