"""The change order a client signs: what was found, old and new section, what changes, and the price by line."""

from dataclasses import dataclass
from datetime import date
from typing import Final

from basecalc.cautions import site_facts
from basecalc.core.numbers import half_up, printed
from basecalc.ground.classes import Strength
from basecalc.ground.strength import Fact
from basecalc.pricing.changes import ChangeOrder, amounts, working_days
from basecalc.workbook import client_words
from basecalc.workbook.cautions import cautions
from basecalc.workbook.client import day_words, set_up_page, sheet_flow, write_head
from basecalc.workbook.client_ground import layers, not_new_stone, write_section
from basecalc.workbook.client_price import WAYS, write_signatures
from basecalc.workbook.figures import depth_words, money, number, unit
from basecalc.workbook.layout import Flow
from basecalc.workbook.style import align
from basecalc.workbook.values import ValuedBook

ADDED: Final = '"+$"#,##0.00;"-$"#,##0.00;"$"0.00'
_SCALES: Final = (100, 92, 85, 78)
_MOST_PAGES: Final = 2
_CHART_HIGH: Final = 290.0  # points: the picture takes what the first page has left
_MORE: Final = {"volume": "+#,##0.0;-#,##0.0;0.0", "mass": "+#,##0.0;-#,##0.0;0.0", "count": "+0;-0;0"}
_PLAIN: Final = {"volume": "one", "mass": "one", "count": "whole"}


@dataclass(frozen=True, slots=True)
class ChangeMark:
    """Which change order of a quote it is, and the day it is written."""

    place: int
    day: date


def change_file(order: ChangeOrder, mark: ChangeMark) -> bytes:
    """Return the client's workbook of a change order."""
    book = ValuedBook()
    for scale in _SCALES:
        pages = _write(book, order, mark, scale)
        if pages <= _MOST_PAGES:
            break
    return book.to_bytes()


def reference(order: ChangeOrder) -> str:
    """Return what the change is taken against, in words."""
    job = order.signed.job
    if not order.revision:
        return f"no signed quote at hand; taken against the job {job.number} at today's prices"
    day = f" of {day_words(job.date)}" if job.date else ""
    return f"quote {job.number}, revision {order.revision}{day}"


def _write(book: ValuedBook, order: ChangeOrder, mark: ChangeMark, scale: int) -> int:
    """Write the book at a scale of print [%]; return how many pages it takes."""
    book.begin_again()
    job, company = order.signed.job, order.signed.book.company
    name = f"{job.number}, change {mark.place}"
    flow = sheet_flow(book, "Change order", job.units, scale)
    rows = (
        ("For", job.client, "Date", day_words(mark.day)),
        ("Site", job.site, "Prepared by", job.prepared_by),
        ("To", client_words.capital(reference(order)), "", ""),
    )
    write_head(flow, company, "CHANGE ORDER", name, rows)
    row = _glance(flow, order)
    _found(flow, order)
    _sections(flow, order)
    _amounts(flow, order)
    difference = _price(flow, order)
    align(book.formula(flow.sheet, row, 9, f"={difference}", order.total, "title", ADDED, across="right"), indent=1)
    _cautions(flow, order)
    accepted = "Accepted: the ground found, the work and the change in price above."
    write_signatures(flow, order.signed, accepted)
    set_up_page(flow, job.units, scale, f"{company.name}   Change order {name}")
    book.describe(f"Change order {name}", company.name, f"{job.client}, {job.site}")
    return flow.pages


def _glance(flow: Flow, order: ChangeOrder) -> int:
    """Write the change in two sentences and return the row that waits for its amount."""
    units, old, new = order.signed.job.units, order.signed.offer.takeoff, order.found.offer.takeoff
    parts = []
    for name, found in order.strengths.items():
        was = client_words.base_words(old.area(name), units, short=True)
        depths = f"{client_words.base_words(new.area(name), units)} instead of {was}"
        parts.append(f"Under {client_words.the(name)} we found {_ground(found)}: it takes {depths}.")
    flow.put(1, 8, " ".join(parts), "good")
    flow.put(9, 12, None, "title")
    row = flow.row
    flow.next(42)
    added = "added to the price" if order.total >= 0 else "taken off the price"
    whose = "signed " if order.revision else ""
    flow.put(7, 12, f"{added} {'of the ' + whose + 'quote' if whose else ''}".rstrip(), "quiet", across="right")
    flow.next()
    return row


def _ground(strength: Strength) -> str:
    measured = f" (bearing ratio {strength.cbr:.2g} %)" if strength.cbr is not None else ""
    return f"{strength.strength_class} ground{measured}"


def _found(flow: Flow, order: ChangeOrder) -> None:
    units = order.signed.job.units
    start = flow.heading("What we found, and why the base changes")
    for name, found in order.strengths.items():
        quoted = order.signed.ground[name].strength
        flow.put(1, 3, f"{name}:\n{found.strength_class} ground", "label")
        meaning = client_words.class_means(found.strength_class, units)
        flow.put(
            4, 12,
            f"Quoted for {_ground(quoted)}. Found when it was opened: {_ground(found)}; on it {meaning}.\n"
            + client_words.why(order.found.offered_depths[name], units)
            + _old_base_lost(order, name),
        )  # fmt: skip
        flow.next()
        flow.keep(start)
        start = flow.row
    same = [client_words.lower_first(area.name) for area in order.signed.job.areas if area.name not in order.strengths]
    if same:
        flow.put(1, 12, f"As quoted stays: {client_words.listed(same)}.")
        flow.next()
    if order.left_out:
        flow.put(1, 12, "On this ground a geogrid makes no base thinner: it is left out.")
        flow.next()


def _old_base_lost(order: ChangeOrder, name: str) -> str:
    """Return that an old base that was to stay is dug out; nothing where none was, or where it still stays."""
    before, after = (made.offer.takeoff.area(name) for made in (order.signed, order.found))
    lost = before.kept_m > 0 and after.kept_m <= 0
    return "\nThe old stone base, which was to stay, cannot stay on this ground: it is dug out." if lost else ""


def _sections(flow: Flow, order: ChangeOrder) -> None:
    rows = []
    for name in order.strengths:
        for words, made in (("quoted", order.signed), ("now", order.found)):
            rows.append((f"{name}, {words}", layers(made.offer.takeoff.area(name), made.offered_depths[name])))
    units = order.signed.job.units
    write_section(
        flow, "As quoted, and as it must be built now", rows, "Section through the ground", units, _CHART_HIGH
    )
    for name in order.strengths:
        for when, made in (("quoted", order.signed), ("now", order.found)):
            if words := not_new_stone(made.offer.takeoff.area(name), units):
                flow.put(1, 12, f"{name}, {when}: {words}.", "quiet")
                flow.next()


def _amounts(flow: Flow, order: ChangeOrder) -> None:
    """Write how much more, or less, is dug, brought in and laid, and the days it takes."""
    units = order.signed.job.units
    start = flow.heading("What that means on your drive", 0)
    flow.put(1, 5, "", "column")
    for first, last, words in ((6, 7, "In the quote"), (8, 10, "On the ground found"), (11, 12, "Difference")):
        flow.put(first, last, words, "column", across="right")
    flow.next()
    for one in amounts(order):
        if one.kind == "count":
            words, old, new = one.words, printed(one.signed), printed(one.found)
        else:
            words = f"{one.words}, {unit(one.kind, units)}"
            old, new = (half_up(number(value, one.kind, units), 1) for value in (one.signed, one.found))
        _row(flow, words, old, new, _PLAIN[one.kind], _MORE[one.kind])
    old_days, new_days, missed = working_days(order)
    if old_days or new_days:
        _row(flow, "Working days, about", half_up(old_days, 1), half_up(new_days, 1), "one", _MORE["mass"])
    if missed:
        flow.put(1, 12, f"Not counted in the working days: {client_words.listed(list(missed))}.", "quiet")
        flow.next()
    flow.keep(start)


def _row(flow: Flow, words: str, old: float, new: float, plain: str, more: str) -> None:
    flow.put(1, 5, words)
    flow.put(6, 7, old, "number", plain)
    flow.put(8, 10, new, "number", plain)
    row = flow.row
    flow.formula(11, 12, f"=H{row}-F{row}", printed(new - old), "strong", more)
    flow.next(rule=True)


def _price(flow: Flow, order: ChangeOrder) -> str:
    """Write both full prices by line and what changes, and return the cell of the change."""
    start = flow.heading("Price", 0)
    flow.put(1, 5, "Work", "column")
    signed = "Signed quote" if order.revision else "As priced"
    for first, last, words in ((6, 7, signed), (8, 10, "With this change"), (11, 12, "Difference")):
        flow.put(first, last, words, "column", across="right")
    flow.next()
    top = flow.row
    for line in order.lines:
        row = flow.row
        flow.put(1, 5, line.title, "label")
        flow.put(6, 7, line.signed, "number", "money")
        flow.put(8, 10, line.found, "number", "money")
        flow.formula(11, 12, f"=H{row}-F{row}", line.difference, "number", ADDED)
        flow.next(rule=True)
    last, row = flow.row - 1, flow.row
    note = order.signed.book.company.tax_note if order.found.offer.tax else ""
    flow.put(1, 5, "Full price", "total")
    for first, end, letter, value in ((6, 7, "F", order.signed.offer.total), (8, 10, "H", order.price)):
        flow.formula(first, end, f"=SUM({letter}{top}:{letter}{last})", value, "total", "money", across="right")
    change = flow.formula(11, 12, f"=H{row}-F{row}", order.total, "total", ADDED, across="right")
    flow.next(20)
    kind = "is added to" if order.total >= 0 else "is a credit, taken off"
    then = f"{money(abs(order.total))} {kind} the price; the full price is then {money(order.price)}."
    replaces = " All else in the quote stays as signed. This takes the place of every earlier change order to it."
    flow.put(1, 12, " ".join(words for words in (then, note) if words) + (replaces if order.revision else ""))
    flow.next()
    if words := _how_priced(order):
        flow.put(1, 12, words, "quiet")
        flow.next()
    if order.other is not None:
        way = WAYS[order.other.option].lower()
        words = f"Built the other way on the ground found, {way}, the full price is {money(order.other.total)}."
        flow.put(1, 12, words, "quiet")
        flow.next()
    flow.keep(start)
    return change


def _how_priced(order: ChangeOrder) -> str:
    """Return where each price of the change comes from: the table in the quote, or the quote's own unit prices."""
    units, base_m = order.signed.job.units, order.found.offer.takeoff.base_m
    kept = [f"{depth_words(base_m[name], units)} under {client_words.the(name)}" for name in order.promised]
    said = [f"A deeper base costs what the table in the quote says: {client_words.listed(kept)}."] if kept else []
    for name, why in order.priced_anew.items():
        whose = client_words.capital(client_words.the(name))
        said.append(
            f"{whose} is priced anew, at the unit prices of the quote: {why}."
            if why
            else f"{whose} takes less: what it saves is a credit in full."
        )
    return " ".join(said)


def _cautions(flow: Flow, order: ChangeOrder) -> None:
    start = flow.heading("Please know")
    facts = [*site_facts(order.found), *([Fact("softer")] if order.softer else [])]
    own = [caution for caution in cautions("client", facts) if caution.found]
    for caution in (*cautions("change", facts), *own):
        flow.put(1, 3, caution.heading, "label")
        flow.put(4, 12, caution.text)
        flow.next()
    flow.keep(start)
