"""The office's part of a change order: cost lines before and after, the quote's own rate, the checks."""

from decimal import Decimal
from typing import Final

from basecalc.core.numbers import fixed
from basecalc.core.units import INCH_M
from basecalc.pricing.changes import ChangeOrder
from basecalc.workbook import as_quoted, client_words, office_costs
from basecalc.workbook.change_client import ADDED, ChangeMark, reference
from basecalc.workbook.figures import depth_words, money
from basecalc.workbook.layout import Flow
from basecalc.workbook.office_sheet import OPTION_WORDS, finish, page_height, start
from basecalc.workbook.values import ValuedBook

TITLE: Final = "Change costs"
GROUND_TITLE: Final = "Ground found"
_GROUND_WIDTHS: Final = (22.0, 120.0)


def change_office_file(order: ChangeOrder, mark: ChangeMark) -> bytes:
    """Return the office's workbook of a change order."""
    book, job = ValuedBook(), order.signed.job
    shown = [order.signed.offer, order.found.offer]
    called = [
        f"Quoted, {OPTION_WORDS[shown[0].option].lower()}",
        f"Found, {OPTION_WORDS[shown[1].option].lower()}",
    ]
    flow, head, (*_, totals) = office_costs.write_lines(
        book, TITLE, order.signed, order.revision,
        f"Change order {mark.place} of {mark.day:%Y-%m-%d}, taken against {reference(order)}.", shown, called,
    )  # fmt: skip
    real = _sum(flow, "Real difference at the quote's own prices", f"={totals[1]}-{totals[0]}", order.real)
    flow.page_height = page_height(flow)
    _charged(flow, order, real)
    finish(flow, order.signed, repeat_rows=f"{head - 1}:{head}", freeze=f"C{head + 1}")
    _ground(book, order)
    as_quoted.write_changed(book, order, mark.place, mark.day)
    book.describe(
        f"Change order {job.number}, office", order.signed.book.company.name, "Cost and work; not the client's"
    )
    return book.to_bytes()


def _sum(flow: Flow, words: str, formula: str, value: Decimal) -> str:
    """Write a line that sums up what the change adds, and return its cell."""
    flow.put(1, 3, words, "total")
    for column in range(4, 9):
        flow.put(column, column, None, "total")
    cell = flow.formula(9, 9, formula, value, "total", ADDED, across="right")
    flow.next()
    return cell


def _charged(flow: Flow, order: ChangeOrder, real: str) -> None:
    """Write what the client is charged: the promised prices of deeper bases, and what is priced anew."""
    units, base_m = order.signed.job.units, order.found.offer.takeoff.base_m
    start = flow.heading("What the client is charged", 0)
    first = flow.row
    for name, price in order.promised.items():
        flow.put(1, 8, f"Deeper base, {name}, {depth_words(base_m[name], units)}: as the quote's table promises")
        flow.put(9, 9, price, "number", ADDED)
        flow.next(rule=True)
    for name, why in order.priced_anew.items():
        flow.put(1, 8, f"{name}: priced anew, {why or 'it takes less, a credit in full'}")
        flow.next(rule=True)
    flow.put(1, 8, "Priced anew in all")
    flow.put(9, 9, order.anew.offer.total - order.signed.offer.total, "number", ADDED)
    flow.next(rule=True)
    charged = _sum(flow, "Change order", f"=SUM(I{first}:I{flow.row - 1})", order.total)
    _sum(flow, "Charged over the real difference", f"={charged}-{real}", order.total - order.real)
    if order.promised and order.total < order.real:
        flow.put(
            1, 10,
            f"The promised price is {money(order.real - order.total)} below the real difference. The quote's table "
            "holds: the client is not charged more.",
            "caution",
        )  # fmt: skip
        flow.next()
    flow.keep(start)


def _ground(book: ValuedBook, order: ChangeOrder) -> None:
    """Write what each area was quoted for, what was found, and every check of its new depth."""
    units = order.signed.job.units
    flow = start(
        book, GROUND_TITLE, _GROUND_WIDTHS, order.signed, order.revision, "What each area was quoted for, what was "
        "found there, and every check of its new depth.",
    )  # fmt: skip
    for name, found in order.strengths.items():
        old, new = order.signed.ground[name].strength, order.found.offered_depths[name]
        was, now = (made.offer.takeoff.base_m[name] for made in (order.signed, order.found))
        cbr = ("" if one.cbr is None else f" (CBR {one.cbr:.3g})" for one in (old, found))
        flow.put(1, 1, name, "label")
        flow.put(
            2, 2,
            f"Quoted for {old.strength_class}{next(cbr)}, {depth_words(was, units)}; found {found.strength_class}"
            f"{next(cbr)}, {depth_words(now, units)}. {client_words.capital(new.reason)}{_old_base(order, name)}",
        )  # fmt: skip
        flow.next()
        for check in new.checks:
            depth = "none" if check.depth_m is None else _deep(check.depth_m, units)
            counts = "governs" if check.name == new.governs else "counts" if check.counts else "shown only"
            flow.put(1, 1, f"  {check.name}", "quiet")
            flow.put(2, 2, f"{depth}, {counts}. {check.sentence} [{check.source}]", "quiet")
            flow.next()
        flow.gap(6)
    finish(flow, order.signed)


def _old_base(order: ChangeOrder, name: str) -> str:
    """Return what was to become of an old base and what becomes of it now; nothing where none was to stay."""
    before, after = (made.offer.takeoff.area(name) for made in (order.signed, order.found))
    return f". Before: {before.old_base}; now {after.old_base}" if before.kept_m > 0 else ""


def _deep(depth_m: float, units: str) -> str:
    return f"{fixed(depth_m * 1000, 0)} mm" if units == "metric" else f"{fixed(depth_m / INCH_M, 1)} in"
