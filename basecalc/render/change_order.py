"""A change order: what the client signs or refuses, the office's costs behind it, the crew's changed sheet."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any, Final

from basecalc.cautions import cautions
from basecalc.core.numbers import fixed, half_up, printed
from basecalc.core.units import INCH_M
from basecalc.core.words import capital, day_words, depth_words, listed, lower_first, money, number, the, unit
from basecalc.crew_plan import CrewArea, base_words
from basecalc.ground.classes import Strength
from basecalc.ground.strength import Fact
from basecalc.pricing.changes import ChangeOrder, amounts, working_days
from basecalc.render import archive, drawings
from basecalc.render.client import letterhead, signatures
from basecalc.render.crew import crew_file
from basecalc.render.ground_report import class_means, why
from basecalc.render.office import OPTION_WORDS, cost_lines
from basecalc.render.page import Book, Page, Put, Style, need
from basecalc.report import OPTION_WORDS as WAYS
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
    letterhead(page, company, order.signed.book.path, f"CHANGE ORDER {name}", (day_words(mark.day), ""))
    page.next(5)
    big = "bold 10"
    page.write(
        max(16.0, need(3, 11, job.client, big), need(14, 24, job.site, big)), (1, 2, "For", ""),
        (3, 11, job.client, big), (12, 13, "Site", ""), (14, 24, job.site, big)
    )
    page.write(14, (1, 2, "To", ""), (3, 24, capital(reference(order)), ""))
    look = "bold 12 ink"
    words = _glance(order)
    page.write(need(1, 24, words, look) + 4, (1, 24, words, look))
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
    parts = []
    for name, found in order.strengths.items():
        was = base_words(old.area(name), units, short=True)
        parts.append(
            f"Under {the(name)} the ground is {found.strength_class}{_cbr(found)}: it takes "
            f"{base_words(new.area(name), units)} instead of {was}."
        )
    return " ".join(parts)


def _cbr(strength: Strength) -> str:
    return f" (strength {strength.cbr:.2g}% of crushed stone, CBR)" if strength.cbr is not None else ""


def _total(page: Page, order: ChangeOrder) -> None:
    """Write what the change adds, the new price, and the days."""
    old_days, new_days, missed = working_days(order)
    halves = round(2 * (new_days - old_days))
    whole, half = divmod(abs(halves), 2)
    count = " ".join(part for part in (str(whole) if whole else "", "1/2" if half else "") if part)
    more = (
        "about as many" if not halves
        else f"about {count} day{'s' if abs(halves) > 2 else ''} {'more' if halves > 0 else 'less'}"
    )
    more = "" if missed or not (old_days or new_days) else more
    what = "Added to the price" if order.total >= 0 else "Taken off the price"
    page.next(3)
    box = "8 center gray box-thin"
    page.write(14, (1, 8, what, box), (9, 16, "New price of the job", box), (17, 24, "Work days", box))
    large = "bold 15 center box-thin"
    page.write(
        27, (1, 8, order.total, "bold 15 center box-thin added"), (9, 16, order.price, "bold 15 center box-thin money"),
        (17, 24, more or "not known", large)
    )
    then = _how_priced(order)
    note = order.signed.book.company.tax_note if order.found.offer.tax else ""
    page.write(None, (1, 24, " ".join(part for part in (then, note) if part), "8.5 high"))


def _how_priced(order: ChangeOrder) -> str:
    """Return where each price of the change comes from: the table in the quote, or the quote's own unit prices."""
    units, base_m = order.signed.job.units, order.found.offer.takeoff.base_m
    kept = [f"{depth_words(base_m[name], units)} under {the(name)}" for name in order.promised]
    said = (
        [f"This is the price by depth in your signed quote: {listed(kept)}."] if kept and order.revision
        else [f"Priced by depth: {listed(kept)}."] if kept else []
    )
    for name, why_anew in order.priced_anew.items():
        whose = capital(the(name))
        said.append(
            f"{whose} is priced anew, at the unit prices of the quote: {why_anew}." if why_anew
            else f"{whose} takes less: what it saves is a credit in full."
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
            before, after = (one.offered_depths[name].cbr for one in (order.signed, order.found))
            now = f"{'weaker' if after < before else 'stronger'}, {now}"
        words = (
            f"Quoted for {was}. When it was opened it was {now}: {class_means(found.strength_class, units)}. "
            + why(order.found.offered_depths[name], units) + _old_base_lost(order, name)
        )
        page.said(name, words)
    same = [lower_first(area.name) for area in order.signed.job.areas if area.name not in order.strengths]
    if same:
        page.write(None, (1, 24, f"As quoted: {listed(same)}.", _UP))
    if order.left_out:
        page.write(None, (1, 24, "On this ground a geogrid makes no base thinner: it is left out.", _UP))


def _old_base_lost(order: ChangeOrder, name: str) -> str:
    before, after = (quote.offer.takeoff.area(name) for quote in (order.signed, order.found))
    lost = before.kept_m > 0 and after.kept_m <= 0
    return " The old stone base, which was to stay, cannot stay on this ground: it is dug out." if lost else ""


def _sections(page: Page, order: ChangeOrder) -> None:
    """Draw the quoted and the revised section of up to three areas."""
    page.head((1, 24, "Quoted and revised section, to scale"), gap=4)
    rows: list[tuple[str, Any, bool, str]] = []
    words: dict[str, str] = {}
    units = order.signed.job.units
    crews = [{area.name: area for area in report(quote).crew} for quote in (order.signed, order.found)]
    for name in list(order.strengths)[:3]:
        for when, crew in zip(("quoted", "revised"), crews, strict=True):
            area: CrewArea = crew[name]
            layers = tuple(one for one in area.layers if one[0] != "fill" or area.takeoff.area.loose_fill is not None)
            for word, upper, lower in layers:
                words[f"{len(rows)} {word}"] = f"{word} {depth_words(lower - upper, units)}" if word != "sand" else ""
            title = f"{name}, {when}: {depth_words(layers[-1][2], units)} deep"
            rows.append((title, layers, any(roll.kind == "geogrid" for roll in area.rolls), ""))
    page.draw(1, drawings.sections(rows, words, 7.0, 1.6))
    page.next(119)


def _amounts(page: Page, order: ChangeOrder) -> None:
    """Write how much more, or less, is dug, brought in and laid."""
    units = order.signed.job.units
    page.head((1, 24, "What that takes"), gap=4)
    cap, right = "8 gray thin", "8 right gray thin"
    page.write(
        13, (1, 9, None, cap), (10, 14, "In the quote", right), (15, 19, "Revised", right),
        (20, 24, "Difference", right)
    )
    for one in amounts(order):
        count = one.kind == "count"
        words = one.words if count else f"{one.words}, {unit(one.kind, units)}"
        old, new = (printed(v) if count else half_up(number(v, one.kind, units), 1) for v in (one.signed, one.found))
        plain = "0" if count else "#,##0.0"
        row = page.row
        page.put(1, 9, words, "hair")
        page.put(10, 14, old, Style(bottom="hair", across="right", format=plain))
        page.put(15, 19, new, Style(bottom="hair", across="right", format=plain))
        page.formula(
            20, 24, f"=O{row}-J{row}", printed(new - old),
            Style(bottom="hair", bold=True, across="right", format=f"+{plain};-{plain};{plain}")
        )
        page.next(13)
    missed = working_days(order)[2]
    if missed:
        page.write(None, (1, 24, f"Not counted in the work days: {listed(list(missed))}.", "8 gray"))


def _prices(page: Page, order: ChangeOrder) -> None:
    """Write both full prices by line, and what changes."""
    page.head((1, 24, "Price"), gap=4)
    cap, right = "8 gray thin", "8 right gray thin"
    signed = "Signed quote" if order.revision else "As priced"
    page.write(
        13, (1, 9, "Work", cap), (10, 14, signed, right), (15, 19, "With this change", right),
        (20, 24, "Difference", right)
    )
    first = page.row
    for line in order.lines:
        row = page.row
        look = "right hair money"
        page.put(1, 9, line.title, "hair")
        page.put(10, 14, line.signed, look)
        page.put(15, 19, line.found, look)
        page.formula(20, 24, f"=ROUND(O{row}-J{row},2)", line.difference, "right hair added")
        page.next(13)
    last, row = page.row - 1, page.row
    bold = "bold right money"
    page.put(1, 9, "Full price", "bold")
    page.formula(10, 14, f"=SUM(J{first}:J{last})", order.signed.offer.total, bold)
    page.formula(15, 19, f"=SUM(O{first}:O{last})", order.price, bold)
    page.formula(20, 24, f"=ROUND(O{row}-J{row},2)", order.total, "bold right added")
    page.next(15)
    if order.other is not None:
        way = WAYS[order.other.option].lower()
        page.write(
            None,
            (
                1, 24, f"Built the other way on this ground, {way}, the full price is {money(order.other.total)}.",
                "8.5 gray"
            )
        )


def _notes(page: Page, order: ChangeOrder) -> None:
    page.head((1, 24, "Important notes"), gap=4)
    facts = [*report(order.found).facts, *([Fact("softer")] if order.softer else [])]
    own = [caution for caution in cautions("client", facts, order.signed.job.units) if caution.found]
    for caution in (*cautions("change", facts, order.signed.job.units), *own):
        page.said(caution.heading.rstrip("."), caution.text, 6, "8 high")
    if order.revision:
        page.write(
            None,
            (
                1, 24,
                "All other terms of the original quote remain in effect. This replaces all earlier change orders.",
                "8 high"
            )
        )


def _answer(page: Page, order: ChangeOrder) -> None:
    """Write a box to accept and a box to refuse, and where to sign."""
    company = order.signed.book.company
    kind = "added to" if order.total >= 0 else "taken off"
    page.head((1, 24, "Your answer: mark one box"), gap=4)
    answers = (
        f"ACCEPTED. Build it as revised; {money(abs(order.total))} is {kind} the price, which is then "
        f"{money(order.price)}.",
        "REFUSED. Don't go deeper. Work at this place stops until we agree in writing." if order.softer
        else f"REFUSED. Build it as quoted, for {money(order.signed.offer.total)}.",
    )
    for words in answers:
        page.tick(1)
        look = "bold in1"
        page.write(max(19.0, need(2, 24, words, look)), (2, 24, words, look))
    signatures(
        page, order.signed.job.client, ", ".join(part for part in (order.signed.job.prepared_by, company.name) if part)
    )


# --- the office's


def change_office_file(order: ChangeOrder, mark: ChangeMark) -> bytes:
    """Return the office's workbook of a change order."""
    job, company = order.signed.job, order.signed.book.company
    book = Book(job.units)
    foot = f"{job.number}, change {mark.place}   Office only: cost and margin"
    page = book.page("Change costs", foot, "&P of &N", wide=True)
    page.write(20, (1, 32, f"Change costs   {job.number}, {job.client}, {job.site}", "bold 12"))
    page.write(14, (1, 32, f"Change order {mark.place} of {mark.day:%Y-%m-%d}, taken against {reference(order)}.", ""))
    shown = [order.signed.offer, order.found.offer]
    called = [f"Quoted, {OPTION_WORDS[shown[0].option].lower()}", f"Found, {OPTION_WORDS[shown[1].option].lower()}"]
    *_, totals = cost_lines(page, order.signed, shown, called)
    real = _sum(page, "Real difference at the quote's own prices", f"={totals[1]}-{totals[0]}", order.real)
    _charged(page, order, real)
    page.close()
    page = book.page("Ground found", foot, "&P of &N")
    page.write(20, (1, 24, f"Ground found   {job.number}, {job.client}, {job.site}", "bold 12"))
    _ground(page, order)
    page.close()
    archive.write_changed(book.workbook, order, mark.place, mark.day)
    return book.to_bytes(f"Change order {job.number}, office", company.name, "Cost and work; not the client's")


def _sum(page: Page, words: str, formula: str, value: Decimal) -> str:
    """Write a line that sums up what the change adds, and return its cell."""
    page.put(1, 12, words, "bold top-thin")
    cell = page.formula(20, 22, formula, value, "bold right top-thin added").coordinate
    page.next(14)
    return cell


def _charged(page: Page, order: ChangeOrder, real: str) -> None:
    """Write what the client is charged: the promised prices of deeper bases, and what is priced anew."""
    units, base_m = order.signed.job.units, order.found.offer.takeoff.base_m
    page.head((1, 32, "What the client is charged"))
    first = page.row
    right = "right hair added"
    rows: list[tuple[str, Decimal | None]] = [
        (f"Deeper base, {name}, {depth_words(base_m[name], units)}: as the quote's table promises", price)
        for name, price in order.promised.items()
    ]
    rows += [
        (f"{name}: priced anew, {words or 'it takes less, a credit in full'}", None)
        for name, words in order.priced_anew.items()
    ]
    rows.append(("Priced anew in all", order.anew.offer.total - order.signed.offer.total))
    for words, price in rows:
        cells: list[Put] = [(1, 19, words, "hair")]
        page.write(13, *cells, (20, 22, price, right))
    charged = _sum(page, "Change order", f"=SUM(T{first}:T{page.row - 1})", order.total)
    _sum(page, "Charged over the real difference", f"=ROUND({charged}-{real},2)", order.total - order.real)
    if order.promised and order.total < order.real:
        words = (
            f"The promised price is {money(order.real - order.total)} below the real difference. The "
            "quote's table is a promise: the client is not charged more."
        )
        page.write(None, (1, 32, words, "bold loud"))


def _ground(page: Page, order: ChangeOrder) -> None:
    """Write what each area was quoted for, what was found, and every check of its new depth."""
    units = order.signed.job.units
    for name, found in order.strengths.items():
        old, new = order.signed.ground[name].strength, order.found.offered_depths[name]
        was, now = (quote.offer.takeoff.base_m[name] for quote in (order.signed, order.found))
        cbrs = ["" if one.cbr is None else f" (CBR {one.cbr:.3g})" for one in (old, found)]
        text = (
            f"Quoted for {old.strength_class}{cbrs[0]}, {depth_words(was, units)}; found "
            f"{found.strength_class}{cbrs[1]}, "
            f"{depth_words(now, units)}. {capital(new.reason)}{_old_base(order, name)}"
        )
        page.said(name, text, 5)
        for check in new.checks:
            depth = "none" if check.depth_m is None else _deep(check.depth_m, units)
            counts = "governs" if check.name == new.governs else "counts" if check.counts else "shown only"
            page.said(f"  {check.name}", f"{depth}, {counts}. {check.sentence} [{check.source}]", 5, "8 high gray")
        page.next(6)


def _old_base(order: ChangeOrder, name: str) -> str:
    before, after = (quote.offer.takeoff.area(name) for quote in (order.signed, order.found))
    return f". Before: {before.old_base}; now {after.old_base}" if before.kept_m > 0 else ""


def _deep(depth_m: float, units: str) -> str:
    return f"{fixed(depth_m * 1000, 0)} mm" if units == "metric" else f"{fixed(depth_m / INCH_M, 1)} in"
