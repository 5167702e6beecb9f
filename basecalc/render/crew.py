"""The crew's file: a page for up to three areas: plan, depths below ZERO, steps, hold points, stop signs. No price."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from math import ceil
from typing import Final

from basecalc.cautions import cautions
from basecalc.core.words import capital, listed, tape_words, unit
from basecalc.crew_plan import MANY, CrewArea
from basecalc.render import drawings
from basecalc.render.page import COLUMNS, Book, Page, Put, look, need
from basecalc.report import Report
from basecalc.schedule import hour_words

_A_PAGE: Final = 6  # areas whose depths fit on a page of their own
_CAP: Final = "bold 8 medium"
_EVERYWHERE: Final = (
    "Water in the dig or running into it.", "Peat, black or foul-smelling soil, trash, dumped fill.",
    "The side of the dig cracks or slumps.", "A line not marked. A footing, a foundation's bottom."
)


def crew_file(made: Report, revision: int, change: str = "", was: Mapping[str, float] | None = None) -> bytes:
    """Return the crew's workbook; `change` marks a changed sheet, `was` gives the old depth of each dig [m]."""
    job, company = made.quote.job, made.quote.book.company
    book = Book(made.units)
    foot = f"Crew sheet {job.number}, revision {revision}" + (f", {change}" if change else "")
    few = len(made.crew) <= MANY
    count = len(made.crew)
    each = ceil(count / ceil(count / _A_PAGE))
    groups = [] if few else [made.crew[at : at + each] for at in range(0, count, each)]
    pages, named = 2 + len(groups), drawings.letters(made.plan)
    page = book.page("Crew sheet", foot, f"No prices on this sheet. Page 1 of {pages}", margin=0.45)
    _head(page, made, change, was or {})
    tall = 1.7 if len(made.plan) == 1 else 1.95 if few else 2.9
    page.draw(1, drawings.plan(made.plan, made.units, 7.1, tall, named))
    page.next(tall * 72)
    zero = "ZERO = top of finished pavers. String line at ZERO. Measure every depth down from it."
    page.line(zero, "black 11 center", 21)
    _string(page, made)
    if few:
        _depths(page, made, made.crew)
    else:
        after = "page 2" if pages == 3 else f"pages 2 to {pages - 1}"
        page.line(f"Plan and depths of each of the {count} areas: {after}", "bold", 16)
    _steps(page, made)
    _holds(page, made)
    _stop(page, made)
    page.close()
    for place, group in enumerate(groups, 2):
        page = book.page(f"Depths {place - 1}", foot, f"No prices on this sheet. Page {place} of {pages}", margin=0.45)
        page.line(f"{job.site}: depths below ZERO", "black 14 in1", 26)
        for first in range(0, len(group), MANY):
            row = group[first : first + MANY]
            drawn = [area for area in made.plan if area.name in [one.name for one in row]]
            page.next(6)
            if drawn:
                page.draw(1, drawings.plan(drawn, made.units, 7.1, 1.7, named))
                page.next(1.7 * 72)
            _depths(page, made, row)
            _details(page, row)
        page.close()
    _cautions(
        book.page("Safety and days", foot, f"No prices on this sheet. Page {pages} of {pages}", margin=0.45), made
    )
    return book.to_bytes(f"Crew sheet {job.number}", company.name, "Digging and building; no prices")


def _head(page: Page, made: Report, change: str, was: Mapping[str, float]) -> None:
    job, company = made.quote.job, made.quote.book.company
    site = f"black {16 if len(job.site) < 40 else 12} in1"
    page.write(28, (1, 15, job.site, site), (16, 24, f"CREW SHEET {job.number}", "black 12 right in1"))
    if change:
        page.next(3)
        told = []
        for area in made.crew:
            if area.name in was:
                loud = [level for level in area.levels if level.loud][-1]
                name = f"{area.name}: " if len(made.crew) > 1 else ""
                base = tape_words(area.takeoff.base_m, made.units)
                old_base, old_dig = was[area.name], was[f"{area.name} dig"]
                dig = f"DIG {tape_words(loud.depth_m, made.units)}, WAS {tape_words(old_dig, made.units)}"
                told.append(f"{name}BASE {base}, WAS {tape_words(old_base, made.units)}. {dig}.")
        words = " ".join((*told, "Throw the old sheet away."))
        own = "bold 11 box-medium in1"
        page.write(max(30.0, need(6, 24, words, own)), (1, 5, change.upper(), "black 15 center"), (6, 24, words, own))
    order = made.order
    days = made.offer.days
    start = f"{order.start:%a %B} {order.start.day}" if order.start else "start not set"
    length = f", {days} day{'s' if days != 1 else ''}" if days else ""
    client = f"{job.client}  {job.client_phone}".strip()
    page.write(
        20, (1, 10, client, "10"), (11, 17, f"{start}{length}", "bold 10"),
        (18, 24, f"Office {company.phone}".strip(), "bold 12 right")
    )
    for column, first, last, words in (
        (1, 2, 10, "811 CALLED. Ticket"), (11, 12, 16, "LINES MARKED"), (17, 18, 24, "PRIVATE LINES SHOWN")
    ):
        page.tick(column)
        page.put(first, last, words, "bold 10 in1 thin" if column == 1 else "bold 10 in1")
    page.next(19)
    page.line("CALL 811. NO DIGGING until all utilities are marked.", "bold", 14)
    page.next(2)


_BOX: Final = ("the lower left", "the lower right", "the upper right", "the upper left")


def _string(page: Page, made: Report) -> None:
    """Write how the string is set where the finish falls: how far below its highest corner at each corner."""
    named = drawings.letters(made.plan)
    for area in made.crew:
        if not area.string:
            continue
        own = named.get(area.name, []) if area.takeoff.area.shape == "rectangle" else []
        corners = list(zip(own or _BOX, area.string, strict=True))
        top = next(name for name, corner in corners if corner.down_m == 0)
        told = [f"{name} {tape_words(corner.down_m, made.units)}" for name, corner in corners if corner.down_m > 0]
        box = "" if own else " of the box around it"
        name = f"{area.name}: " if len(made.crew) > 1 else ""
        slope = f", {area.slope:.1%} in all" if area.slope else ""
        words = f"string at ZERO is highest at {top}{box}; lower at {listed(told)}{slope}." if told else "string level."
        page.line(capital(name + words), "bold")


def _depths(page: Page, made: Report, areas: Sequence[CrewArea]) -> None:
    """Write the levels of up to three areas from the bottom up, beside story poles to scale where there is room."""
    page.next(4)
    units, one = made.units, len(made.crew) == 1
    rows = max(len(area.levels) for area in areas)
    high = (20.0 if rows < 8 else 18.0) if one else 14.5
    # columns of the page: the first, of a level's name, of its depth, of each blank, and of an area
    col, name, deep, each, width = (8, 6, 3, 2, 17) if one else (9 if len(made.crew) == 2 else 1, 5, 2, 1, 8)
    corners = (drawings.letters(made.plan)[areas[0].name] or ["1", "2", "3", "4"])[:4] if one else []
    blanks = [f"at {corner}" for corner in corners] or ["OK"]
    if len(made.crew) <= 2:
        pole = [
            ("To scale" if one else area.name, area.layers, _marks(area, units),
             any(roll.kind == "geogrid" for roll in area.rolls)) for area in areas
        ]  # fmt: skip
        page.draw(1, drawings.poles(pole, 2.0 if one else 2.35, max((15 + high * rows) / 72, 1.2)))

    def spans(at: int) -> list[tuple[int, int]]:
        first = col + at * width
        blank = first + name + deep
        return [(first, first + name - 1), (first + name, blank - 1),
                *[(blank + each * j, blank + each * (j + 1) - 1) for j in range(len(blanks))]]  # fmt: skip

    heads: list[Put] = []
    for at, area in enumerate(areas):
        titles = ["Below ZERO" if one else area.name, unit("depth", units), *blanks]
        looks = [_CAP if one else f"{_CAP} in1", *[f"{_CAP} center"] * (1 + len(blanks))]
        heads += [(a, b, title, own) for (a, b), title, own in zip(spans(at), titles, looks, strict=True)]
    page.write(max(15.0, *(need(a, b, w, _CAP) for a, b, w, _ in heads)), *heads)
    for row in range(rows):
        cells: list[Put] = []
        for at, area in enumerate(areas):
            if row >= len(area.levels):
                continue
            level, (first, second, *ends) = area.levels[row], spans(at)
            value = "0" if level.depth_m < 1e-9 else tape_words(level.depth_m, units, bare=True)
            cells.append((*first, level.name, f"{'bold ' if level.loud else ''}{'10' if one else '8.5 in1'} thin"))
            cells.append((*second, value, f"bold {15 if one else 11.5} center thin"))
            cells += [(*end, None, "box-thin") for end in ends]
        page.write(high, *cells)


def _details(page: Page, areas: Sequence[CrewArea]) -> None:
    """Write what each of up to three areas takes, below its depths."""
    page.next(3)
    for row in range(max(len(area.detail) for area in areas)):
        told = [(at, area.detail[row]) for at, area in enumerate(areas) if row < len(area.detail)]
        page.write(None, *[(1 + 8 * at, 8 + 8 * at, "{}: {}".format(*words), "8 high") for at, words in told])


def _marks(area: CrewArea, units: str) -> list[tuple[float, str]]:
    paver = area.layers[0][2]
    marks = [level for level in reversed(area.levels) if abs(level.depth_m - paver) > 1e-9]
    return [
        (level.depth_m, "ZERO" if level.depth_m < 1e-9 else tape_words(level.depth_m, units, bare=True))
        for level in marks
    ]


def _steps(page: Page, made: Report) -> None:
    """Write the steps of the work, each with a box to mark and a blank for what was used."""
    page.next(5)
    page.write(
        13, (2, 4, "Do", "bold 8 medium in1"), (5, 17, "How", _CAP), (18, 21, "Amount", "bold 8 medium center"),
        (22, 24, "Used", "bold 8 medium center")
    )
    how, amount = "8.5 thin" if len(made.crew) > 1 else "9 thin", "bold 9 center thin"
    for place, step in enumerate(made.steps, 1):
        page.tick(1)
        height = max(15.0 if step.do == "ALSO" else 19.0, need(5, 17, step.how, how), need(18, 21, step.amount, amount))
        page.write(
            height, (2, 4, f"{place} {step.do}", "bold 9.5 thin in1"), (5, 17, step.how, how),
            (18, 21, step.amount, amount), (22, 24, step.used or None, "8 right low box-thin")
        )


def _holds(page: Page, made: Report) -> None:
    """Write where work waits until something was looked at, with room for initials; then calls and notes."""
    page.next(4)
    for field in ("ground_hold", "base_hold"):
        told: dict[str, list[str]] = {}
        for area in made.crew:
            told.setdefault(getattr(area, field), []).append(area.name)
        for words, names in told.items():
            whose = "" if len(told) == 1 else f"{listed(names).upper()}: "
            page.tick(1)
            text = f"HOLD. {whose}{words}"
            own = "bold in1"
            page.write(
                max(18.0, need(2, 21, text, own)), (2, 21, text, own), (22, 24, "initials", "7 right low box-thin")
            )
    lines: dict[str, list[str]] = {}
    for area in made.crew:
        for call in area.calls:
            lines.setdefault(call, []).append(area.name)
    notes = [f"{f'{listed(names)}: ' if len(made.crew) > 1 else ''}{words}" for words, names in lines.items()]
    notes += [f"{f'{area.name}: ' if len(made.crew) > 1 else ''}{note}" for area in made.crew for note in area.notes]
    for words in (*notes, *(f"Note: {note}" for note in made.quote.job.notes if note)):
        page.line(words, "bold")


def _stop(page: Page, made: Report) -> None:
    """Write what ends the work: what shows weaker ground, area by area, and what ends it everywhere."""
    company = made.quote.book.company
    told: dict[str, list[str]] = {}
    for area in made.crew:
        told.setdefault(area.stops, []).append(area.name)
    own = [
        (f"{listed(names).upper()}: " if len(told) > 1 else "") + f"{capital(words)}." for words, names in told.items()
        if words
    ]
    lines: list[tuple[str, ...]] = [
        *((words,) for words in own), *((a, b) for a, b in zip(_EVERYWHERE[::2], _EVERYWHERE[1::2], strict=True))
    ]
    promised = any(made.quote.deeper.areas.values())
    then = "No stone, no truck on it. Mark it, take a picture with a tape in it, call. The office says how much deeper"
    then += "; the client agrees first." if promised else "."
    bold = "bold in1"
    page.put(1, 4, "STOP", replace(look("black 22 center"), high=len(lines)))
    for place, said in enumerate(lines):
        spans = [(5, 24)] if len(said) == 1 else [(5, 13), (14, 24)]
        edged = "bold in1" if place else "bold in1 top-medium"
        page.write(
            max(need(a, b, one, bold) for (a, b), one in zip(spans, said, strict=True)),
            *[(a, b, one, edged) for (a, b), one in zip(spans, said, strict=True)]
        )
    phone = "black 12 center high"
    page.write(
        max(20.0, need(5, 24, then, bold)), (1, 4, company.phone or "OFFICE", phone), (5, 24, then, "bold in1 medium")
    )
    right = "right"
    page.write(21, (1, 4, "Foreman", ""), (5, 13, None, "thin"), (14, 16, "Finished", right), (17, 24, None, "thin"))


def _cautions(page: Page, made: Report) -> None:
    """Write the safety rules of this job, and which day brings what."""
    page.line(f"{made.quote.job.site}: safety and days", "black 14 in1", 26)
    start = made.order.start
    page.head((1, COLUMNS, "Days and deliveries" + (f"; day 1 is {start:%A, %B} {start.day}" if start else "")))
    for step in made.order.plan:
        first, last = step.first_day, step.last_day
        days = (
            "day not known" if first is None else f"from day {first}" if last is None else f"day {first}"
            if first == last else f"day {first} to {last}"
        )
        hours = "" if step.hours is None else f"{step.hours:.1f} h"
        page.write(15, (1, 10, capital(step.title), "10"), (11, 15, days, "bold 10"), (16, 19, hours, "10 right"))
    for stone in made.order.stones:
        brings = [
            f"day {one.day}: {one.loads} ({hour_words(one.after_h)})" for one in stone.deliveries if one.day is not None
        ]
        if brings:
            page.line(f"Loads of {stone.material}: {', '.join(brings)}.", "10")
    page.head((1, COLUMNS, "Safety"))
    for caution in cautions("crew", made.facts, made.units):
        words = f"{caution.text} ({capital(caution.told)})" if caution.told else caution.text
        page.said(caution.heading, words, 7, "9.5 high")
    page.close()
