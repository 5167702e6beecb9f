"""The client's file: a proposal to sign, prices by depth, terms and notes, the ground report."""

from collections.abc import Sequence
from decimal import Decimal
from pathlib import Path
from typing import Final

from basecalc.cautions import cautions
from basecalc.company import Company
from basecalc.core.words import area_words, capital, day_words, depth_words, listed, lower_first, money, the
from basecalc.crew_plan import base_words
from basecalc.ground.classes import CLASSES
from basecalc.ground.strength import OLD_PAVEMENT
from basecalc.job import JobArea
from basecalc.pricing.records import FillOption, FillWay
from basecalc.render import drawings
from basecalc.render.ground_report import class_means, ground_report, needs_no_more, why
from basecalc.render.page import COLUMNS, Book, Page, Put, need
from basecalc.report import Option, Report, known_from

_MOST_NAMED: Final = 3  # areas that a sentence names; of more it says how many
_NOTE: Final = "8 gray"
_UP: Final = "high"
_PHOTO_IN: Final = (3.4, 2.6)


def client_file(made: Report, revision: int) -> bytes:
    """Return the client's workbook."""
    quote = made.quote
    job, company = quote.job, quote.book.company
    book = Book(made.units)
    number = f"{job.number}, revision {revision}" if revision > 1 else job.number
    many = len(job.areas) > _MOST_NAMED
    titles = ["Proposal", *(("Prices", "Terms") if many else ("Prices and terms",)), "Ground report"]
    foot = f"{company.name}   Proposal {number}"
    pages = [book.page(f"{at} {title}", foot, f"page {at} of {len(titles)}") for at, title in enumerate(titles, 1)]
    _proposal(pages[0], made, number)
    _prices(pages[1], made, number)
    if many:
        _depth_table(pages[2], made, made.options[1:])
    _terms(pages[-2], made)
    ground_report(pages[-1], made)
    for page in pages:
        page.close()
    return book.to_bytes(f"Proposal {job.number}", company.name, f"{job.client}, {job.site}")


# --- page one


def letterhead(page: Page, company: Company, prices: str, kind: str, under: Sequence[str]) -> None:
    """Write who writes, with the logo, what this paper is, and two lines under that."""
    first = 1
    if company.logo:
        mark = drawings.picture(Path(prices).parent / company.logo, f"logo of {company.name}", 1.6, 0.62)
        page.draw(1, mark)
        first = 2 + int(mark.width / 0.302) + 1
    look = f"bold {20 if len(company.name) < 24 else 15} ink"
    page.write(
        27, (first, 12, company.name, look),
        (13, COLUMNS, kind, f"bold {14 if len(kind) < 30 else 12} right")
    )
    reach = "   ".join(part for part in (company.phone, company.email) if part)
    lines = [company.address, "   ".join(part for part in (reach, company.license) if part)]
    lines = [line for line in lines if line] or [""]
    for place in range(max(len(lines), len(under))):
        left = lines[place] if place < len(lines) else ""
        right = under[place] if place < len(under) else ""
        look = "bold right" if place == 1 else "right"
        page.write(12, (first, 17, left or None, "8"), (18, COLUMNS, right or None, look))
    page.write(3, (1, COLUMNS, None, "medium"))


def _proposal(page: Page, made: Report, number: str) -> None:
    quote, offer, other = made.quote, made.offer, made.other
    job, company = quote.job, quote.book.company
    until = f"Good until {day_words(made.until)}" if made.until else f"Good for {company.valid_days} days"
    letterhead(page, company, quote.book.path, f"PROPOSAL {number}", (day_words(job.date), until))
    page.next(5)
    big = "bold 10"
    page.write(
        max(16.0, need(3, 11, job.client, big), need(14, 24, job.site, big)), (1, 2, "For", ""),
        (3, 11, job.client, big), (12, 13, "Site", ""), (14, 24, job.site, big)
    )
    look = "bold 12 ink"
    promise = _promise(made)
    page.write(need(1, 24, promise, look) + 4, (1, 24, promise, look))
    _what(page, made)
    page.head((1, 24, "Price: mark one box" if other else "Price"), gap=4)
    for option in made.options:
        _option(page, made, option)
    same = "Both options carry the same traffic" if other else "Built to carry"
    traffic = quote.offered_depths[job.areas[0].name].traffic
    tax = f" {company.tax_note}" if company.tax_note and offer.estimate.tax else ""
    page.write(None, (1, 24, f"{same}: {traffic.meaning or traffic.name}.{tax}", "8.5 top-thin"))
    _softer_line(page, made)
    _why(page, made)
    _columns(page, made)
    if company.not_included:
        page.write(None, (1, 24, f"Not included: {company.not_included}", "8.5 high"))
    accepted = "the option marked above, with" if other else "this proposal with"
    page.head((1, 24, f"Accepted: {accepted} the terms and depth prices on page 2"), gap=4)
    signatures(page, job.client, ", ".join(part for part in (job.prepared_by, company.name) if part))


def signatures(page: Page, client: str, company: str) -> None:
    """Write the lines to sign on."""
    page.next(26)
    look = "8 high top-thin"
    page.write(12, (1, 8, client, look), (9, 11, "date", look), (14, 21, company, look), (22, 24, "date", look))


def _promise(made: Report) -> str:
    """Return the offer in a sentence: what, how large, on what ground."""
    total = sum(area.area_m2 for area in made.quote.job.areas)
    size = area_words(total, made.units)
    names = [lower_first(area.name) for area in made.plan]
    classes = {ground.strength.strength_class for ground in made.quote.ground.values()}
    soils = {area.soil for area in made.quote.job.areas}
    what = f"A new {size} paver {names[0]}" if len(names) == 1 and "drive" in names[0] else f"New pavers, {size}"
    where = (
        f" for {listed(names)}" if 1 < len(names) <= _MOST_NAMED else f" in {len(names)} areas" if len(names) > 1
        else ""
    )
    where = where or (f" for the {names[0]}" if not what.startswith("A new") else "")
    if len(classes) == 1 and len(soils) == 1 and not any(area.loose_fill for area in made.quote.job.areas):
        return f"{what}{where}, built to stay level on the {classes.pop()} {_soil(soils.pop())} at your site."
    return f"{what}{where}, each part built for the ground it lies on."


def _soil(soil: str) -> str:
    return "soil" if soil == "earth" else soil


def _what(page: Page, made: Report) -> None:
    """Write the plan to scale beside what is built; many areas take the width of the page."""
    many = len(made.plan) > _MOST_NAMED
    label, words = "8 gray hair", "8.5 hair"
    if many:
        page.head((1, 24, "Your paving, to scale"), gap=2)
        tall = 185.0
        page.draw(1, drawings.plan(made.plan, made.units, 7.05, tall / 72))
        page.next(tall)
        page.head((1, 24, "What we build"), gap=2)
        for name, said in made.spec:
            page.write(None, (1, 3, name, label), (4, 24, said.replace("\n", "; "), words))
        return
    page.head((1, 14, "Your driveway, to scale"), (16, 24, "What we build"), gap=2)
    heights = [need(18, 24, said, words) + 1.5 for _, said in made.spec]
    tall = max(sum(heights) + 3, 104.0 if len(made.plan) == 1 else 128.0)
    page.draw(1, drawings.plan(made.plan, made.units, 4.12, tall / 72))
    for (name, said), height in zip(made.spec, heights, strict=True):
        page.write(height, (16, 17, name, label), (18, 24, said, words))
    page.next(max(tall - sum(heights), 2.0))


def _option(page: Page, made: Report, option: Option) -> None:
    """Write one way to build it, with a box to mark and its price."""
    page.next(4)
    page.tick(1)
    days = (
        f"about {option.days} work days" if option.days and option.days > 1 else "about 1 work day" if option.days
        else ""
    )
    mark = f"{option.mark}.  " if option.mark else ""
    page.put(3, 14, f"{mark}{option.name}", "bold 12")
    page.put(15, 18, days or None, "8.5 right")
    page.put(19, 24, option.estimate.total, "bold 15 right money")
    page.next(21)
    page.write(None, (3, 24, _tip(made, option), "8.5 high gray"))


def _tip(made: Report, option: Option) -> str:
    """Return how deep an option is built, and whether we recommend it."""
    areas = option.estimate.takeoff.areas
    built: dict[str, list[str]] = {}
    for area in areas:
        grid = " over geogrid" if area.area.name in option.on_grid else ""
        built.setdefault(f"{base_words(area, made.units)}{grid}", []).append(the(area.area.name))
    if len(built) == 1:
        text = f"{next(iter(built))}."
    elif len(areas) <= _MOST_NAMED:
        text = f"{capital('; '.join(f'{listed(names)}: {base}' for base, names in built.items()))}."
    else:
        depths = sorted(area.base_m for area in areas)
        grid = f", over geogrid in {len(option.on_grid)} of {len(areas)} areas" if option.on_grid else ""
        text = (
            f"{depth_words(depths[0], made.units)} to {depth_words(depths[-1], made.units)} of compacted "
            f"stone{grid}. The depth of each area is on page 2."
        )
    if option is made.offer:
        return f"{text} We recommend this one." if made.other else text
    if option.estimate.option == "stone":
        return f"{text} Same strength, more digging and trucking."
    return f"{text} Same strength, less digging and trucking."


def _softer_line(page: Page, made: Report) -> None:
    """Write what one more step of base costs, with room for initials; where nothing is promised, that it is asked."""
    rates = []
    for option in made.options:
        first = [prices[0] for prices in option.deeper.areas.values() if prices]
        if first:
            many = f"{money(min(first))} to {money(max(first))}" if min(first) != max(first) else money(first[0])
            rates.append(f"{many}{f' ({option.mark})' if option.mark else ''}")
    text = "If we dig into softer ground we stop and ask you."
    if rates and len(made.quote.job.areas) > 1:
        text += (
            " The price of every further inch is fixed on page 2." if made.units == "us"
            else " The price of every further step of depth is fixed on page 2."
        )
    elif rates:
        text += (
            f" {capital(made.offer.deeper.step)} more base is {' or '.join(rates)}. All prices by depth are on page 2."
        )
    else:
        text += " A deeper base is priced then, and you approve it first."
    page.write(24, (1, 18, text, "bold"), (19, 22, "my initials", "8 right"), (23, 24, None, "box-thin"))


def _why(page: Page, made: Report) -> None:
    """Write why this base, in three lines, beside the sections to scale."""
    rows, words = _section_rows(made)
    title = "Both sections, to scale" if len(made.options) > 1 and len(made.plan) == 1 else "Sections, to scale"
    page.head((1, 13, "Why this base"), (15, 24, title))
    page.draw(15, drawings.sections(rows, words, 2.95, 1.62))
    look = "9 high"
    lines = _reasons(made)
    heights = [need(2, 13, line, look) + 3 for line in lines]
    for place, (line, height) in enumerate(zip(lines, heights, strict=True), 1):
        page.write(height, (1, 1, place, "bold 9.5 high ink"), (2, 13, line, look))
    page.next(max(120 - sum(heights), 3.0))


def _section_rows(made: Report) -> tuple[list[tuple[str, Sequence[drawings.Layer], bool, str]], dict[str, str]]:
    """Return the sections that are drawn: of one area every option, of several the offer of the first three."""
    rows: list[tuple[str, Sequence[drawings.Layer], bool, str]] = []
    words: dict[str, str] = {}
    units = made.units
    crew = {one.name: one for one in made.crew}
    if len(made.quote.job.areas) == 1:
        picks = [(option, made.quote.job.areas[0].name) for option in made.options]
    else:
        deepest = sorted(made.quote.job.areas, key=lambda a: -made.offer.estimate.takeoff.area(a.name).base_m)
        names = [area.name for area in made.quote.job.areas if area in deepest[:_MOST_NAMED]]
        picks = [(made.offer, name) for name in names]
    for at, (option, name) in enumerate(picks):
        area = option.estimate.takeoff.area(name)
        layers = crew[name].layers
        if option is not made.offer:
            top = layers[1][2]
            layers = (
                *layers[:2], ("stone", top, top + area.new_m),
                *[
                    (word, top + area.new_m, top + area.new_m + (area.kept_m if word == "old base" else area.fill_m))
                    for word, _, _ in layers[3:]
                ]
            )
        layers = tuple(one for one in layers if one[0] != "fill" or area.area.loose_fill is not None)
        for word, upper, lower in layers:
            words[f"{at} {word}"] = f"{word} {depth_words(lower - upper, units)}" if word != "sand" else ""
        title = (
            name if len(made.quote.job.areas) > 1
            else f"{f'{option.mark}: ' if option.mark else ''}{depth_words(layers[-1][2], units)} deep"
        )
        soil = f"{made.quote.ground[name].strength.strength_class} {_soil(area.area.soil)}"
        rows.append((title, layers, name in option.on_grid, soil))
    return rows, words


def _reasons(made: Report) -> list[str]:
    """Return why this base, in three lines: the ground, the depth, the geogrid or what sells the method."""
    quote, units = made.quote, made.units
    grounds = quote.ground
    deepest = max(quote.offer.takeoff.areas, key=lambda area: area.base_m).area
    ground = grounds[deepest.name]
    if len({one.strength.strength_class for one in grounds.values()}) == 1:
        word = ground.strength.strength_class
        text = f"Your soil is {word}: {class_means(word, units)}.{_tested(grounds.values())}"
    elif len(grounds) <= _MOST_NAMED:
        told = [f"{the(name)} is {one.strength.strength_class}" for name, one in grounds.items()]
        text = f"Soil conditions vary across your site: {listed(told)}.{_tested(grounds.values())}"
    else:
        ranked = sorted({one.strength.strength_class for one in grounds.values()}, key=CLASSES.index)
        text = f"Soil conditions vary across your site, from {ranked[0]} to {ranked[-1]}.{_tested(grounds.values())}"
    lines = [text]
    whose, its = ("", "the") if len(grounds) == 1 else (f" {the(deepest.name)}", "its")
    enough = needs_no_more(quote, deepest.name)
    depth = f"{why(quote.offered_depths[deepest.name], units, enough=enough)}"
    if ground.governed_by and known_from(ground)[0] > 1 and ground.overruled != OLD_PAVEMENT:
        depth = (
            f"We design{whose} for {its} weakest spot, {lower_first(ground.governed_by)}. That's where a "
            f"driveway settles first. {depth}"
        )
    lines.append(depth)
    worked = "This base was worked out for this ground. It isn't one depth for every driveway."
    saved = quote.against_stone
    if quote.offered == "geogrid" and saved is not None and made.other is not None:
        both = [option.estimate.takeoff.base_m[deepest.name] for option in made.options]
        less = (
            f"With it, {depth_words(both[0], units)} of stone does the work of {depth_words(both[1], units)}"
            if both[0] < both[1] else "It saves stone"
        )
        loads = f": {saved.loads} fewer truckloads" if saved.loads > 1 else ""
        pay = f", and you pay {money(saved.money)} less" if saved.money > 0 else ""
        lines.append(f"Geogrid is a stiff mesh that locks the stone together. {less}{loads}{pay}. {worked}")
    else:
        lines.append(worked)
    return lines


def _tested(grounds: object) -> str:
    """Return at how many spots the ground was read."""
    counted = [known_from(one) for one in grounds]  # type: ignore[attr-defined]
    spots, tests = sum(one[0] for one in counted), sum(one[1] for one in counted)
    if not tests:
        return " The strength was given to us; we have not tested it."
    at = "one spot" if spots == 1 else f"{spots} spots"
    return f" We tested it at {at} with {tests} {'test' if tests == 1 else 'tests'}."


def _columns(page: Page, made: Report) -> None:
    """Write dates, payment, and warranty with license and insurance, side by side; only what is filled in."""
    quote, company = made.quote, made.quote.book.company
    start = quote.job.start
    days = made.offer.days
    dates = [f"Start {day_words(start, weekday=True)}." if start else ""]
    dates.append(f"About {days} work day{'s' if days != 1 else ''}, weather permitting." if days else "")
    dates.append(f"Prices good until {day_words(made.until)}." if made.until else "")
    pay: list[str] = []
    for dues in zip(*(option.payments for option in made.options), strict=True):
        if dues[0].share or pay:  # the balance is said where something is due before
            both = zip(made.options, dues, strict=True)
            amounts = [f"{option.mark} {money(due.amount)}".strip() for option, due in both]
            said = f"{dues[0].share * 100:.4g}% {dues[0].when}: " if dues[0].share else f"{dues[0].when}:\n"
            pay.append(said + "   ".join(amounts))
    pay.append(company.payment)
    backed = [company.warranty, company.license, company.insurance]
    blocks = [("Dates", dates), ("Payment", pay), ("Warranty and license" if company.warranty else "License", backed)]
    filled = [(title, "\n".join(line for line in lines if line)) for title, lines in blocks if any(lines)]
    spans = {1: [(1, 24)], 2: [(1, 11), (13, 24)], 3: [(1, 7), (9, 16), (18, 24)]}.get(len(filled), [])
    if not filled:
        return
    page.head(*[(a, b, title) for (a, b), (title, _) in zip(spans, filled, strict=True)], gap=4)
    look = "8.5 high"
    page.write(None, *[(a, b, text, look) for (a, b), (_, text) in zip(spans, filled, strict=True)])


# --- page two


def _prices(page: Page, made: Report, number: str) -> None:
    page.write(22, (1, 24, f"Proposal {number}: prices by depth, terms and notes", "bold 14 ink"))
    _depth_table(page, made, made.options[:1] if len(made.quote.job.areas) > _MOST_NAMED else made.options)
    _parts(page, made)
    _another_way(page, made)


def _terms(page: Page, made: Report) -> None:
    quote, company = made.quote, made.quote.book.company
    page.head((1, 24, "Terms"))
    terms = list(company.terms)
    terms.append(
        f"This proposal is good until {day_words(made.until)}." if made.until
        else f"This proposal is good for {company.valid_days} days."
    )
    for place, words in enumerate(terms, 1):
        page.write(None, (1, 1, place, _UP), (2, 24, words, _UP))
    page.head((1, 24, "Important notes about your site"))
    notes = [
        (caution.heading, caution.text + (f" (Here: {caution.told}.)" if caution.told else ""))
        for caution in cautions("client", made.facts, made.units)
    ]
    notes += [("" if place else "On this job", note) for place, note in enumerate(n for n in quote.job.notes if n)]
    for heading, words in notes:
        page.said(heading.rstrip("."), words)


def _depth_table(page: Page, made: Report, shown: Sequence[Option]) -> None:
    """Write what a deeper base adds to the price: the table that is promised, for each option and area."""
    if not shown:
        return
    options = [option for option in shown if option.deeper.areas]
    kept = [the(area.area.name) for area in made.quote.offer.takeoff.areas if area.kept_m > 0]
    page.head((1, 24, "If we find softer ground"), gap=2)
    said = "We show you the ground and ask before we go deeper. "
    if options:
        said += (
            "If you say yes, the base gets deeper and the price goes up by exactly the amount "
            "printed here. It includes "
            "digging, hauling, stone and tax. If the ground is as we read it, you pay nothing extra. "
            "Deeper than the table, " "or built another way? Then we stop and price it anew, and you approve it before "
            "anything goes on."
        )
    else:
        said += "A deeper base is priced then, and you approve it first."
    if kept:
        said += (
            f" The old stone base stays under {listed(kept)}. If it has to come out, we price that "
            "anew and you approve it " "first."
        )
    page.write(None, (1, 24, said, _UP))
    names = list(dict.fromkeys(name for option in options for name in option.deeper.areas))
    if len(names) == 1 and len(options) == 2:
        _side_by_side(page, made, names[0])
        return
    columns = [
        (f"{option.mark}: {name}" if option.mark else name, option, name) for option in options
        for name, prices in option.deeper.areas.items() if prices
    ]
    most = 6 if len(columns) <= 6 else 7
    for first in range(0, len(columns), most):
        _matrix(page, made, columns[first : first + most])


def _side_by_side(page: Page, made: Report, name: str) -> None:
    page.next(3)
    spans, bold = ((1, made.options[0]), (14, made.options[1])), "bold"
    page.write(15, *[(c, c + 10, f"Option {option.mark}, {lower_first(option.name)}", bold) for c, option in spans])
    cap = "8 gray thin"
    right = "8 right gray thin"
    page.write(
        13,
        *[
            one for c, _ in spans
            for one in (
                (c, c + 3, "Stone base", cap), (c + 4, c + 6, "Added", right), (c + 7, c + 10, "New total", right)
            )
        ]
    )
    most = max(len(option.deeper.areas[name]) for _, option in spans)
    for place in range(most + 1):
        cells: list[Put] = []
        for c, option in spans:
            prices = (Decimal("0.00"), *option.deeper.areas[name])
            if place >= len(prices):
                continue
            base = option.estimate.takeoff.base_m[name] + place * option.deeper.step_m
            words = depth_words(base, made.units) + ("" if place else "  as priced")
            cells.append((c, c + 3, words, "hair"))
            cells.append((c + 4, c + 6, prices[place] if place else None, "bold right hair added"))
            cells.append((c + 7, c + 10, option.estimate.total + prices[place], "right hair money"))
        page.write(14.5, *cells)
    page.next(2)


def _matrix(page: Page, made: Report, columns: Sequence[tuple[str, Option, str]]) -> None:
    """Write what each further step adds, a column for an area of an option: heading, option, area."""
    page.next(3)
    step = columns[0][1].deeper
    wide = (COLUMNS - 3) // max(len(columns), 3)
    spans = [(4 + wide * at, 3 + wide * (at + 1)) for at in range(len(columns))]
    cap = "bold 8 right low"
    page.write(None, *[(a, b, title, cap) for (a, b), (title, _, _) in zip(spans, columns, strict=True)])
    quiet = "8 right gray thin"
    priced = [depth_words(option.estimate.takeoff.base_m[name], made.units) for _, option, name in columns]
    page.write(
        12, (1, 3, "As priced", "8 gray thin"),
        *[(a, b, words, quiet) for (a, b), words in zip(spans, priced, strict=True)]
    )
    small = len(columns) > 6
    look = f"{7 if small else 8.5} right hair added"
    for place in range(max(len(option.deeper.areas[name]) for _, option, name in columns)):
        deeper = depth_words((place + 1) * step.step_m, made.units)
        cells: list[Put] = [(1, 3, f"{deeper} deeper", "8 hair")]
        for (a, b), (_, option, name) in zip(spans, columns, strict=True):
            prices = option.deeper.areas[name]
            cells.append((a, b, prices[place] if place < len(prices) else None, look))
        page.write(11.0 if small else 12.5, *cells)


def _parts(page: Page, made: Report) -> None:
    """Write what the price is made of; the parts sum to it."""
    which = f" (option {made.offer.mark})" if made.offer.mark else ""
    page.head((1, 24, f"What the price is made of{which}"))
    first = page.row
    for part in made.parts:
        look = "high hair"
        page.write(
            None, (1, 6, part.title, "bold high hair"), (7, 20, part.text, look),
            (21, 24, part.amount, "right high hair money")
        )
    total = made.offer.estimate.total
    bold = "bold 10"
    page.put(1, 20, "Price, sales tax included" if made.offer.estimate.tax else "Price", bold)
    page.formula(21, 24, f"=SUM(U{first}:U{page.row - 1})", total, "bold 10 right money")
    page.next(16)
    if len(made.plan) > _MOST_NAMED:
        rows = [
            f"{area.area.name}: {base_words(area, made.units, short=True)}"
            + (" over geogrid" if area.area.name in made.offer.on_grid else "")
            for area in made.offer.estimate.takeoff.areas
        ]
        page.write(None, (1, 24, f"Stone base by area: {'; '.join(rows)}.", "8.5 high"))


def _another_way(page: Page, made: Report) -> None:
    """Write the other way to deal with loose fill, where the job offers it to the client."""
    offered = [one for one in made.quote.fill_options if one.offered and one.other is not None]
    if not offered:
        return
    page.head((1, 24, "Another way to deal with the loose fill"))
    for one in offered:
        area = next(area for area in made.quote.job.areas if area.name == one.area)
        words = _fill_words(one, area, made.units)
        page.said(one.area, words)


def _fill_words(one: FillOption, area: JobArea, units: str) -> str:
    if one.other is None or one.more is None or area.loose_fill is None:
        return ""
    deep = depth_words(area.loose_fill.depth_m, units)
    price = "the same" if not one.more else f"{money(abs(one.more))} {'more' if one.more > 0 else 'less'}"
    ways = [_fill_way(way, deep, units) for way in (one.chosen, one.other)]
    return (
        f"Our price: {ways[0]}. The other way: {ways[1]}. It costs {price} in all, tax included. Fill "
        "that stays in place can " "go on settling; fill that is replaced has been compacted."
    )


def _fill_way(way: FillWay, deep: str, units: str) -> str:
    base = f"{depth_words(way.base_m, units)} of compacted stone{' over geogrid' if way.on_grid else ''}"
    if way.way == "stone":
        return f"the loose fill stays, under {base}"
    return f"the loose fill is dug out to firm ground at {deep} and granular fill compacted in its place, under {base}"
