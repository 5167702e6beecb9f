"""A change order: what the client signs or refuses, the office's costs behind it, the crew's changed sheet."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Final

from basecalc.cautions import cautions
from basecalc.core.numbers import fixed, half_up, printed
from basecalc.core.units import INCH_M
from basecalc.core.words import (
    OPTION_WORDS,
    capital,
    day_words,
    depth_words,
    listed,
    lower_first,
    money,
    number,
    the,
    unit,
)
from basecalc.crew_plan import base_words
from basecalc.ground.classes import Strength
from basecalc.ground.strength import Fact
from basecalc.pricing.archive import CHANGE_TITLE, change_rows
from basecalc.pricing.changes import ChangeLine, ChangeOrder, amounts, working_days
from basecalc.render import drawings
from basecalc.render.client import letterhead, section, signatures
from basecalc.render.crew import crew_file
from basecalc.render.office import cost_lines
from basecalc.render.page import Book, Formula, Page, Style, need, table
from basecalc.render.sentences import class_means, why
from basecalc.report import report

_UP: Final = "high"


@dataclass(frozen=True, slots=True)
class ChangeMark:
    """Which change order of a quote it is, and the day it is written."""

    place: int
    day: date


def reference(order: ChangeOrder) -> str:
    """Return what the change is taken against, in words."""
    job = order.signed.job
    if not order.revision:
        return f"no signed quote at hand; taken against the job {job.number} at today's prices"
    day = f" of {day_words(job.date)}" if job.date else ""
    return f"quote {job.number}, revision {order.revision}{day}"


def change_crew_file(order: ChangeOrder, mark: ChangeMark) -> bytes:
    """Return the crew's changed workbook: marked on top, with the old depths."""
    signed, found = report(order.signed), report(order.found)
    was: dict[str, float] = {}
    for area in signed.crew:
        if area.name in order.strengths:
            was[area.name] = area.takeoff.base_m
            was[f"{area.name} dig"] = [level for level in area.levels if level.loud][-1].depth_m
    return crew_file(found, order.revision, f"Change {mark.place}", was)


# --- the client's


def change_file(order: ChangeOrder, mark: ChangeMark) -> bytes:
    """Return the client's workbook of a change order."""
    job, company = order.signed.job, order.signed.book.company
    book = Book(job.units)
    name = f"{job.number}, change {mark.place}"
    page = book.page("Change order", f"{company.name}   Change order {name}", "page 1 of 1", high=1)
    letterhead(page, job, company, order.signed.book.path, f"CHANGE ORDER {name}", (day_words(mark.day), ""))
    page.write(14, (1, 2, "To", ""), (3, 24, capital(reference(order)), ""))
    look, words = "bold 12 ink", _glance(order)
    page.line(words, look, need(1, 24, words, look) + 4)
    _total(page, order)
    _found(page, order)
    _sections(page, order)
    _amounts(page, order)
    _prices(page, order)
    _notes(page, order)
    _answer(page, order)
    page.close()
    return book.to_bytes(f"Change order {name}", company.name, f"{job.client}, {job.site}")


def _glance(order: ChangeOrder) -> str:
    """Return the change in a sentence for each area."""
    units, old, new = order.signed.job.units, order.signed.offer.takeoff, order.found.offer.takeoff
    return " ".join(
        f"Under {the(name)} the ground is {_ground_words(order, name)}: it takes {base_words(new.area(name), units)} "
        f"instead of {base_words(old.area(name), units, short=True)}." for name in order.strengths
    )


def _ground_words(order: ChangeOrder, name: str) -> str:
    """Return the ground found; where it is of the class that was quoted, whether it is weaker or stronger than read."""
    word = order.strengths[name].strength_class
    same = word == order.signed.ground[name].strength.strength_class
    return f"{word}, but {_weaker(order, name)} than we tested" if same else word


def _weaker(order: ChangeOrder, name: str) -> str:
    before, after = (quote.offered_depths[name].cbr for quote in (order.signed, order.found))
    return "weaker" if after < before else "stronger"


def _cbr(strength: Strength) -> str:
    return f" (strength {strength.cbr:.2g}% of crushed stone, CBR)" if strength.cbr is not None else ""


def _total(page: Page, order: ChangeOrder) -> None:
    """Write what the change adds, the new price, and the days."""
    old_days, new_days, missed = working_days(order)
    halves = round(2 * (new_days - old_days))
    whole, half = divmod(abs(halves), 2)
    count = " ".join(part for part in (str(whole) if whole else "", "1/2" if half else "") if part)
    days = f"about {count} day{'s' if abs(halves) > 2 else ''} {'more' if halves > 0 else 'less'}"
    more = "not known" if missed or not (old_days or new_days) else days if halves else "about as many"
    what = "Added to the price" if order.total >= 0 else "Taken off the price"
    page.next(3)
    boxes = ((1, 8, what, order.total, "added"), (9, 16, "New price of the job", order.price, "money"),
             (17, 24, "Work days", more, ""))  # fmt: skip
    page.write(14, *[(a, b, words, "8 center gray box-thin") for a, b, words, _, _ in boxes])
    page.write(27, *[(a, b, value, f"bold 15 center box-thin {form}") for a, b, _, value, form in boxes])
    note = order.signed.book.company.tax_note if order.found.offer.tax else ""
    page.line(" ".join(part for part in (_how_priced(order), note) if part), "8.5 high")


def _how_priced(order: ChangeOrder) -> str:
    """Return where each price of the change comes from: the table in the quote, or the quote's own unit prices."""
    units, base_m = order.signed.job.units, order.found.offer.takeoff.base_m
    kept = listed([f"{depth_words(base_m[name], units)} under {the(name)}" for name in order.promised])
    said = []
    if kept:
        said.append(f"This is the price by depth in your signed quote: {kept}." if order.revision
                    else f"Priced by depth: {kept}.")  # fmt: skip
    for name, why_anew in order.priced_anew.items():
        said.append(
            f"{capital(the(name))} is priced anew, at the unit prices of the quote: {why_anew}." if why_anew
            else f"{capital(the(name))} takes less: what it saves is a credit in full."
        )
    return " ".join(said)


def _found(page: Page, order: ChangeOrder) -> None:
    units = order.signed.job.units
    page.head((1, 24, "What we found, and why the base changes"), gap=4)
    for name, found in order.strengths.items():
        quoted = order.signed.ground[name].strength
        was = f"{quoted.strength_class} ground{_cbr(quoted)}"
        now = f"{found.strength_class}{_cbr(found)}"
        if quoted.strength_class == found.strength_class:
            now = f"{_weaker(order, name)}, {now}"
        before, after = (quote.offer.takeoff.area(name) for quote in (order.signed, order.found))
        lost = before.kept_m > 0 and after.kept_m <= 0
        page.said(
            name, f"Quoted for {was}. When it was opened it was {now}: {class_means(found.strength_class, units)}. "
            + why(order.found.offered_depths[name], units)
            + (" The old stone base, which was to stay, cannot stay on this ground: it is dug out." if lost else "")
        )
    same = [lower_first(area.name) for area in order.signed.job.areas if area.name not in order.strengths]
    if same:
        page.line(f"As quoted: {listed(same)}.")
    if order.left_out:
        page.line("On this ground a geogrid makes no base thinner: it is left out.")


def _sections(page: Page, order: ChangeOrder) -> None:
    """Draw the quoted and the revised section of up to three areas."""
    page.head((1, 24, "Quoted and revised section, to scale"), gap=4)
    crews = [{area.name: area for area in report(quote).crew} for quote in (order.signed, order.found)]
    rows = [
        section(
            crew[name].layers, order.signed.job.units, title="", mark=f"{name}, {when}: ",
            grid=any(roll.kind == "geogrid" for roll in crew[name].rolls),
            fill=crew[name].takeoff.area.loose_fill is not None
        ) for name in list(order.strengths)[:3] for when, crew in zip(("quoted", "revised"), crews, strict=True)
    ]
    page.draw(1, drawings.sections(rows, 7.0, 1.6))
    page.next(119)


def _amounts(page: Page, order: ChangeOrder) -> None:
    """Write how much more, or less, is dug, brought in and laid."""
    units = order.signed.job.units
    page.head((1, 24, "What that takes"), gap=4)
    table(page, " 9|In the quote 5>|Revised 5>|Difference 5>", ())
    for row, one in enumerate(amounts(order), page.row):
        count = one.kind == "count"
        words = one.words if count else f"{one.words}, {unit(one.kind, units).replace('yd³', 'cubic yards')}"
        old, new = (printed(v) if count else half_up(number(v, one.kind, units), 1) for v in (one.signed, one.found))
        plain = "0" if count else "#,##0.0"
        more = Formula(f"=O{row}-J{row}", printed(new - old))
        looks = (Style(format=plain), Style(format=plain), Style(bold=True, format=f"+{plain};-{plain};{plain}"))
        table(page, " 9| 5>| 5>| 5>", [[words, *zip((old, new, more), looks, strict=True)]], "9")
    if missed := working_days(order)[2]:
        page.line(f"Not counted in the work days: {listed(list(missed))}.", "8 gray")


def _prices(page: Page, order: ChangeOrder) -> None:
    """Write both full prices by line, and what changes."""
    page.head((1, 24, "Price"), gap=4)
    signed = "Signed quote" if order.revision else "As priced"
    table(page, f"Work 9|{signed} 5>|With this change 5>|Difference 5>", ())
    lines = [line for line in order.lines if line.difference]
    if rest := [line for line in order.lines if not line.difference]:
        same = sum((line.signed for line in rest), Decimal(0))
        lines.insert(0, ChangeLine(rest[0].title if len(rest) == 1 else "All other work, as quoted", same, same))
    first = page.row
    for row, line in enumerate(lines, first):
        more = Formula(f"=ROUND(O{row}-J{row},2)", line.difference)
        cells = ((line.signed, "money"), (line.found, "money"), (more, "added"))
        table(page, " 9| 5>| 5>| 5>", [[line.title, *cells]], "9")
    row, bold = page.row, "bold right money"
    page.write(
        15, (1, 9, "Full price", "bold"),
        (10, 14, Formula(f"=SUM(J{first}:J{row - 1})", order.signed.offer.total), bold),
        (15, 19, Formula(f"=SUM(O{first}:O{row - 1})", order.price), bold),
        (20, 24, Formula(f"=ROUND(O{row}-J{row},2)", order.total), "bold right added")
    )
    if order.other is not None:
        way = OPTION_WORDS[order.other.option]
        price = money(order.other.total)
        page.line(f"Built the other way on this ground, {way}, the full price is {price}.", "8.5 gray")


def _notes(page: Page, order: ChangeOrder) -> None:
    page.head((1, 24, "Important notes"), gap=4)
    facts = [*report(order.found).facts, *([Fact("softer")] if order.softer else [])]
    own = [caution for caution in cautions("client", facts, order.signed.job.units) if caution.found]
    for caution in (*cautions("change", facts, order.signed.job.units), *own):
        page.said(caution.heading.rstrip("."), caution.text, 6, "8 high")
    if order.revision:
        page.line(
            "All other terms of the original quote remain in effect. This replaces all earlier change orders.", "8 high"
        )


def _answer(page: Page, order: ChangeOrder) -> None:
    """Write a box to accept and a box to refuse, and where to sign."""
    company, job = order.signed.book.company, order.signed.job
    more, new = money(abs(order.total)), money(order.price)
    page.head((1, 24, "Your answer: mark one box"), gap=4)
    for words in (
        f"ACCEPTED. Build it as revised; {more} is {'added to' if order.total >= 0 else 'taken off'} the price, which "
        f"is then {new}.",
        "REFUSED. Don't go deeper. Work at this place stops until we agree in writing." if order.softer
        else f"REFUSED. Build it as quoted, for {money(order.signed.offer.total)}.",
    ):
        page.tick(1)
        page.write(max(19.0, need(2, 24, words, "bold in1")), (2, 24, words, "bold in1"))
    signatures(page, job.client, ", ".join(part for part in (job.prepared_by, company.name) if part))


# --- the office's


def change_office_file(order: ChangeOrder, mark: ChangeMark) -> bytes:
    """Return the office's workbook of a change order."""
    job, company = order.signed.job, order.signed.book.company
    book = Book(job.units)
    foot = f"{job.number}, change {mark.place}   Office only: cost and margin"
    page = book.page("Change costs", foot, "&P of &N", wide=True)
    page.line(f"Change costs   {job.number}, {job.client}, {job.site}", "bold 12", 20)
    page.line(f"Change order {mark.place} of {mark.day:%Y-%m-%d}, taken against {reference(order)}.", "", 14)
    shown = [order.signed.offer, order.found.offer]
    called = [f"{when}, {OPTION_WORDS[one.option]}" for when, one in zip(("Quoted", "Found"), shown, strict=True)]
    sums = cost_lines(page, order.signed, shown, called)
    text = f"={sums.cell('total', 1)}-{sums.cell('total')}"
    real = _sum(page, "Real difference at the quote's own prices", text, order.real)
    _charged(page, order, real)
    page.close()
    page = book.page("Ground found", foot, "&P of &N")
    page.line(f"Ground found   {job.number}, {job.client}, {job.site}", "bold 12", 20)
    _ground(page, order)
    page.close()
    words = "The ground found, and what the change order adds: 'basecalc book' and 'basecalc actuals' read it here."
    book.hidden(CHANGE_TITLE, words, change_rows(order, mark.place, mark.day))
    return book.to_bytes(f"Change order {job.number}, office", company.name, "Cost and work; not the client's")


def _sum(page: Page, words: str, formula: str, value: Decimal) -> str:
    """Write a line that sums up what the change adds, and return its cell."""
    row = page.write(
        14, (1, 12, words, "bold top-thin"), (20, 22, Formula(formula, value), "bold right top-thin added")
    )
    return f"T{row}"


def _charged(page: Page, order: ChangeOrder, real: str) -> None:
    """Write what the client is charged: the promised prices of deeper bases, and what is priced anew."""
    units, base_m = order.signed.job.units, order.found.offer.takeoff.base_m
    page.head((1, 32, "What the client is charged"))
    first = page.row
    rows: list[tuple[str, Decimal | None]] = [
        (f"Deeper base, {name}, {depth_words(base_m[name], units)}: as the quote's table promises", price)
        for name, price in order.promised.items()
    ]
    rows += [
        (f"{name}: priced anew, {words or 'it takes less, a credit in full'}", None)
        for name, words in order.priced_anew.items()
    ]
    rows.append(("Priced anew in all", order.anew.offer.total - order.signed.offer.total))
    table(page, " 19| 3>", [(words, (price, "added")) for words, price in rows], "9")
    charged = _sum(page, "Change order", f"=SUM(T{first}:T{page.row - 1})", order.total)
    _sum(page, "Charged over the real difference", f"=ROUND({charged}-{real},2)", order.total - order.real)
    if order.promised and order.total < order.real:
        page.line(
            f"The promised price is {money(order.real - order.total)} below the real difference. The quote's table is "
            "a promise: the client is not charged more.", "bold loud"
        )


def _ground(page: Page, order: ChangeOrder) -> None:
    """Write what each area was quoted for, what was found, and every check of its new depth."""
    units = order.signed.job.units
    for name, found in order.strengths.items():
        old, new = order.signed.ground[name].strength, order.found.offered_depths[name]
        before, after = (quote.offer.takeoff.area(name) for quote in (order.signed, order.found))
        was, now = (
            f"{one.strength_class}{'' if one.cbr is None else f' (CBR {one.cbr:.3g})'}, {depth_words(deep, units)}"
            for one, deep in ((old, before.base_m), (found, after.base_m))
        )
        kept = f". Before: {before.old_base}; now {after.old_base}" if before.kept_m > 0 else ""
        page.said(name, f"Quoted for {was}; found {now}. {capital(new.reason)}{kept}", 5)
        for check in new.checks:
            deep = (
                "none" if check.depth_m is None else f"{fixed(check.depth_m * 1000, 0)} mm" if units == "metric"
                else f"{fixed(check.depth_m / INCH_M, 1)} in"
            )
            counts = "governs" if check.name == new.governs else "counts" if check.counts else "shown only"
            page.said(f"  {check.name}", f"{deep}, {counts}. {check.sentence} [{check.source}]", 5, "8 high gray")
        page.next(6)
