"""The client's file: a proposal to sign, prices by depth, terms and notes, the ground report."""

from collections.abc import Iterator, Sequence
from decimal import Decimal
from pathlib import Path
from typing import Final

from basecalc.cautions import cautions
from basecalc.company import Company
from basecalc.core.words import day_words, depth_words, lower_first, money
from basecalc.crew_plan import base_words
from basecalc.ground.classes import CLASSES
from basecalc.job import Job
from basecalc.render import drawings, sentences
from basecalc.render.page import COLUMN_IN, COLUMNS, INK, Book, Formula, Page, Put, Style, columns, fitted, need, table
from basecalc.render.sentences import MOST_NAMED
from basecalc.report import Option, Report

_UP: Final = "high"
_PHOTO_IN: Final = (3.4, 2.6)


def client_file(made: Report, revision: int) -> bytes:
    """Return the client's workbook."""
    quote = made.quote
    job, company = quote.job, quote.book.company
    book = Book(made.units)
    number = f"{job.number}, revision {revision}" if revision > 1 else job.number
    many = len(job.areas) > MOST_NAMED
    titles = ["Proposal", *(("Prices", "Terms") if many else ("Prices and terms",)), "Ground report"]
    foot = f"{company.name}   Proposal {number}"
    pages = [book.page(f"{at} {title}", foot, f"page {at} of {len(titles)}") for at, title in enumerate(titles, 1)]
    _proposal(pages[0], made, number)
    pages[1].line(f"Proposal {number}: prices by depth, terms and notes", "bold 14 ink", 22)
    _depth_table(pages[1], made, made.options[:1] if many else made.options)
    _parts(pages[1], made)
    _another_way(pages[1], made)
    if many and made.other:
        _depth_table(pages[2], made, made.options[1:])
    _terms(pages[-2], made)
    _ground_report(pages[-1], made)
    for page in pages:
        page.close()
    return book.to_bytes(f"Proposal {job.number}", company.name, f"{job.client}, {job.site}")


# --- page one


def letterhead(page: Page, job: Job, company: Company, prices: str, kind: str, under: Sequence[str]) -> None:
    """Write who writes, with the logo, what this paper is with two lines under that, whom it is for, and the site."""
    first, middle = 1, 15
    if company.logo:
        mark = drawings.picture(Path(prices).parent / company.logo, f"logo of {company.name}", 1.6, 0.62)
        page.draw(1, mark)
        first = 2 + int(mark.width / COLUMN_IN) + 1
    name = fitted(first, middle, company.name, (20, 17, 14, 11))
    kind_size = fitted(middle + 1, COLUMNS, kind, (14, 12, 10, 8.5))
    page.write(
        27, (first, middle, company.name, f"bold {name} ink"),
        (middle + 1, COLUMNS, kind, f"bold {kind_size} right")
    )
    reach = "   ".join(part for part in (company.phone, company.email) if part)
    lines = [line for line in (company.address, reach, company.license) if line]
    for place in range(max(len(lines), len(under))):
        left, right = (some[place] if place < len(some) else None for some in (lines, under))
        page.write(12, (first, 17, left, "8"), (18, COLUMNS, right, "bold right" if place == 1 else "right"))
    page.line(None, "medium", 3)
    page.next(5)
    big = "bold 10"
    page.write(
        max(16.0, need(3, 11, job.client, big), need(14, 24, job.site, big)), (1, 2, "For", ""),
        (3, 11, job.client, big), (12, 13, "Site", ""), (14, 24, job.site, big)
    )


def signatures(page: Page, client: str, company: str) -> None:
    """Write the lines to sign on."""
    page.next(26)
    look = "8 high top-thin"
    page.write(12, (1, 8, client, look), (9, 11, "date", look), (14, 21, company, look), (22, 24, "date", look))


def _proposal(page: Page, made: Report, number: str) -> None:
    quote, offer, other = made.quote, made.offer, made.other
    job, company = quote.job, quote.book.company
    until = f"Good until {day_words(made.until)}" if made.until else f"Good for {company.valid_days} days"
    letterhead(page, job, company, quote.book.path, f"PROPOSAL {number}", (day_words(job.date), until))
    look, promise = "bold 12 ink", sentences.promise(made)
    page.line(promise, look, need(1, 24, promise, look) + 4)
    _what(page, made)
    page.head((1, 24, "Price: mark one box" if other else "Price"), gap=4)
    for option in made.options:
        _option(page, made, option)
    same = "Both options carry the same traffic" if other else "Built to carry"
    traffic = quote.offered_depths[job.areas[0].name].traffic
    tax = f" {company.tax_note}" if company.tax_note and offer.estimate.tax else ""
    page.line(f"{same}: {traffic.meaning or traffic.name}.{tax}", "8.5 top-thin")
    softer = sentences.softer(made)
    page.write(24, (1, 18, softer, "bold"), (19, 22, "my initials", "8 right"), (23, 24, None, "box-thin"))
    _why(page, made)
    _columns(page, made)
    if company.not_included:
        page.line(f"Not included: {company.not_included}", "8.5 high")
    accepted = "the option marked above, with" if other else "this proposal with"
    page.head((1, 24, f"Accepted: {accepted} the terms and depth prices on page 2"), gap=4)
    signatures(page, job.client, ", ".join(part for part in (job.prepared_by, company.name) if part))


def _what(page: Page, made: Report) -> None:
    """Write the plan to scale beside what is built; many areas take the width of the page."""
    label, words = "8 gray hair", "8.5 hair"
    if len(made.plan) > MOST_NAMED:
        page.head((1, 24, "Your paving, to scale"), gap=2)
        page.draw(1, drawings.plan(made.plan, made.units, 7.05, 2.57))
        page.next(185)
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
    """Write one way to build it and its price, with a box to mark where there is another way."""
    page.next(4)
    first = 3 if made.other else 1
    if made.other:
        page.tick(1)
    days = f"about {option.days} work day{'s' if option.days > 1 else ''}" if option.days else None
    page.put(first, 14, f"{option.mark}.  {option.name}" if option.mark else option.name, "bold 12")
    page.put(15, 18, days, "8.5 right")
    page.put(19, 24, option.estimate.total, "bold 15 right money")
    page.next(21)
    page.write(None, (first, 24, sentences.tip(made, option), "8.5 high gray"))


def _why(page: Page, made: Report) -> None:
    """Write why this base, in three lines, beside the sections to scale."""
    rows = list(_section_rows(made))
    title = "Section, to scale" if len(rows) == 1 else "Sections, to scale"
    page.head((1, 13, "Why this base"), (15, 24, title))
    page.draw(15, drawings.sections(rows, 2.95, 1.62))
    look, used = "9 high", page.used
    for place, line in enumerate(sentences.reasons(made), 1):
        page.write(need(2, 13, line, look) + 3, (1, 1, place, "bold 9.5 high ink"), (2, 13, line, look))
    page.next(max(120 - (page.used - used), 3.0))


def _section_rows(made: Report) -> Iterator[drawings.Section]:
    """Return the sections that are drawn: of one area every option, of several the offer of the deepest three."""
    areas = made.quote.job.areas
    deepest = sorted(areas, key=lambda area: -made.offer.estimate.takeoff.area(area.name).base_m)[:MOST_NAMED]
    one = len(areas) == 1
    picks = [(option, areas[0]) for option in made.options] if one else [(made.offer, a) for a in areas if a in deepest]
    for option, area in picks:
        taken = option.estimate.takeoff.area(area.name)
        layers = next(crew.layers for crew in made.crew if crew.name == area.name)
        if option is not made.offer:
            top = layers[1][2]
            below = [
                (word, top + taken.new_m, top + taken.new_m + (taken.kept_m if word == "old base" else taken.fill_m))
                for word, _, _ in layers[3:]
            ]
            layers = (*layers[:2], ("stone", top, top + taken.new_m), *below)
        mark = f"{option.mark}: " if option.mark else ""
        grade = made.quote.ground[area.name].strength.strength_class
        yield section(
            layers, made.units, title="" if one else area.name, mark=mark, grid=area.name in option.on_grid,
            ground=(grade, f"{grade} {sentences.soil_words(area.soil)}"), fill=area.loose_fill is not None
        )


def section(
    layers: Sequence[drawings.Layer], units: str, *, title: str, mark: str = "", grid: bool,
    ground: Sequence[str] = (), fill: bool
) -> drawings.Section:
    """Return a section to be drawn, its layers with their depths; without a title its whole depth is the title."""
    shown = tuple(layer for layer in layers if layer[0] != "fill" or fill)
    words = [f"{name} {depth_words(lower - upper, units)}" if name != "sand" else "" for name, upper, lower in shown]
    return title or f"{mark}{depth_words(shown[-1][2], units)} deep", shown, words, grid, ground


def _columns(page: Page, made: Report) -> None:
    """Write dates, payment, and warranty with license and insurance, side by side; only what is filled in."""
    quote, company = made.quote, made.quote.book.company
    days = made.offer.days
    dates = [f"Start {day_words(quote.job.start, weekday=True)}." if quote.job.start else ""]
    dates.append(f"About {days} work day{'s' if days != 1 else ''}, weather permitting." if days else "")
    dates.append(f"Prices good until {day_words(made.until)}." if made.until else "")
    pay: list[str] = []
    for dues in zip(*(option.payments for option in made.options), strict=True):
        if dues[0].share or pay:  # the balance is said where something is due before
            both = zip(made.options, dues, strict=True)
            amounts = "   ".join(f"{option.mark} {money(due.amount)}".strip() for option, due in both)
            pay.append(f"{dues[0].share * 100:.4g}% {dues[0].when}:" if dues[0].share else f"{dues[0].when}:")
            if need(9, 16, f"{pay[-1]} {amounts}", "8.5") > need(1, 1, "", "8.5"):
                pay.append(amounts)
            else:
                pay[-1] += f" {amounts}"
    pay.append(company.payment)
    backed = [company.warranty, company.license, company.insurance]
    blocks = [("Dates", dates), ("Payment", pay), ("Warranty and license" if company.warranty else "License", backed)]
    filled = [(title, "\n".join(line for line in lines if line)) for title, lines in blocks if any(lines)]
    if not filled:
        return
    spans = {1: [(1, 24)], 2: [(1, 11), (13, 24)], 3: [(1, 7), (9, 16), (18, 24)]}[len(filled)]
    page.head(*[(a, b, title) for (a, b), (title, _) in zip(spans, filled, strict=True)], gap=4)
    page.write(None, *[(a, b, text, "8.5 high") for (a, b), (_, text) in zip(spans, filled, strict=True)])


# --- page two


def _depth_table(page: Page, made: Report, shown: Sequence[Option]) -> None:
    """Write what a deeper base adds to the price: the table that is promised, for each option and area."""
    options = [option for option in shown if option.deeper.areas]
    if shown[0] is made.offer:
        page.head((1, 24, "If we find softer ground"), gap=2)
        page.line(sentences.softer_terms(made, promised=bool(options)), _UP)
    else:
        page.head((1, 24, f"If we find softer ground: option {shown[0].mark}"), gap=2)
    names = list(dict.fromkeys(name for option in options for name in option.deeper.areas))
    if len(names) == 1:
        _side_by_side(page, made, options, names[0])
        return
    priced = [
        (f"{option.mark}: {name}" if option.mark else name, option, name) for option in options
        for name, prices in option.deeper.areas.items() if prices
    ]
    most = 6 if len(priced) <= 6 else 7
    for first in range(0, len(priced), most):
        _matrix(page, made, priced[first : first + most])


def _side_by_side(page: Page, made: Report, options: Sequence[Option], name: str) -> None:
    """Write the prices by depth of one area, an option beside the other."""
    page.next(3)
    for at, option in enumerate(options) if made.other else ():
        page.put(1 + 13 * at, 11 + 13 * at, f"Option {option.mark}, {lower_first(option.name)}", "bold")
    page.next(15 if made.other else 3)
    table(page, "| 2|".join(["Stone base 4|Added 3>|New total 4>"] * len(options)), ())
    for place in range(max(len(option.deeper.areas[name]) for option in options) + 1):
        cells: list[Put] = []
        for at, option in enumerate(options):
            prices, c = (Decimal("0.00"), *option.deeper.areas[name]), 1 + 13 * at
            if place < len(prices):
                base = option.estimate.takeoff.base_m[name] + place * option.deeper.step_m
                words = depth_words(base, made.units) + ("" if place else "  as priced")
                cells.append((c, c + 3, words, "hair"))
                cells.append((c + 4, c + 6, prices[place] if place else None, "bold right hair added"))
                cells.append((c + 7, c + 10, option.estimate.total + prices[place], "right hair money"))
        page.write(14.5, *cells)
    page.next(2)


def _matrix(page: Page, made: Report, priced: Sequence[tuple[str, Option, str]]) -> None:
    """Write what each further step adds, a column for an area of an option: heading, option, area."""
    page.next(3)
    step, small = priced[0][1].deeper, len(priced) > 6
    wide = (COLUMNS - 3) // max(len(priced), 3)
    spans = [(4 + wide * at, 3 + wide * (at + 1)) for at in range(len(priced))]
    bold = "bold 8 right low"
    page.write(None, *[(a, b, title, bold) for (a, b), (title, _, _) in zip(spans, priced, strict=True)])
    as_priced = [depth_words(option.estimate.takeoff.base_m[name], made.units) for _, option, name in priced]
    quiet = "8 right gray thin"
    page.write(
        12, (1, 3, "As priced", "8 gray thin"),
        *[(a, b, words, quiet) for (a, b), words in zip(spans, as_priced, strict=True)]
    )
    look = f"{7 if small else 8.5} right hair added"
    for place in range(max(len(option.deeper.areas[name]) for _, option, name in priced)):
        cells: list[Put] = [(1, 3, f"{depth_words((place + 1) * step.step_m, made.units)} deeper", "8 hair")]
        for (a, b), (_, option, name) in zip(spans, priced, strict=True):
            prices = option.deeper.areas[name]
            cells.append((a, b, prices[place] if place < len(prices) else None, look))
        page.write(11.0 if small else 12.5, *cells)


def _parts(page: Page, made: Report) -> None:
    """Write what the price is made of; the parts sum to it."""
    which = f" (option {made.offer.mark})" if made.offer.mark else ""
    page.head((1, 24, f"What the price is made of{which}"))
    first = page.row
    table(page, " 6| 14| 4>", [((part.title, "bold"), part.text, (part.amount, "money")) for part in made.parts], "9")
    estimate = made.offer.estimate
    page.write(
        16, (1, 20, "Price, sales tax included" if estimate.tax else "Price", "bold 10"),
        (21, 24, Formula(f"=SUM(U{first}:U{page.row - 1})", estimate.total), "bold 10 right money")
    )
    if len(made.plan) > MOST_NAMED:
        rows = [
            f"{area.area.name}: {base_words(area, made.units, short=True)}"
            + (" over geogrid" if area.area.name in made.offer.on_grid else "") for area in estimate.takeoff.areas
        ]
        page.line(f"Stone base by area: {'; '.join(rows)}.", "8.5 high")


def _another_way(page: Page, made: Report) -> None:
    """Write the other way to deal with loose fill, where the job offers it to the client."""
    offered = [one for one in made.quote.fill_options if one.offered and one.other is not None]
    if offered:
        page.head((1, 24, "Another way to deal with the loose fill"))
    for one in offered:
        area = next(area for area in made.quote.job.areas if area.name == one.area)
        page.said(one.area, sentences.fill_words(one, area, made.units))


def _terms(page: Page, made: Report) -> None:
    job, company = made.quote.job, made.quote.book.company
    page.head((1, 24, "Terms"))
    until = f"until {day_words(made.until)}" if made.until else f"for {company.valid_days} days"
    for place, words in enumerate((*company.terms, f"This proposal is good {until}."), 1):
        page.write(None, (1, 1, place, _UP), (2, 24, words, _UP))
    page.head((1, 24, "Important notes about your site"))
    for caution in cautions("client", made.facts, made.units):
        here = f" (Here: {caution.told}.)" if caution.told else ""
        page.said(caution.heading.rstrip("."), caution.text + here)
    for place, note in enumerate(note for note in job.notes if note):
        page.said("" if place else "On this job", note)


# --- the last page

_SHORT: Final = {
    "us": (
        "sinks\n3 in or more", "boot sinks\n2 to 3 in", "boot sinks\n1 to 2 in", "pickup ruts\n1/2 to 1 in",
        "truck ruts\n1 to 3 in", "truck ruts\nunder 1 in"
    ),
    "metric": (
        "sinks 75\nmm or more", "boot sinks\n50 to 75 mm", "boot sinks\n25 to 50 mm", "pickup ruts\n13 to 25 mm",
        "truck ruts\n25 to 75 mm", "truck ruts\nunder 25 mm"
    )
}


def _ground_report(page: Page, made: Report) -> None:
    """Write what was tested where, what it means for each area, and pictures."""
    quote, job = made.quote, made.quote.job
    page.line("Ground report", "bold 14 ink", 24)
    tested = f" Tested by {job.prepared_by}." if job.prepared_by and made.ground else ""
    page.line(f"{job.site}.{tested}", "", 16)
    if made.ground:
        _classes(page, made)
    many = len(job.areas) > 1
    page.head((1, 24, "What it means for each area" if many else "What it means for your driveway"))
    for area in job.areas:
        page.said(area.name if many else "Your ground", sentences.ground_words(quote, area))
    if walked := sentences.walking(quote):
        page.said("Between the spots", walked)
    page.said(
        "Please note", "Tests show the ground at those spots on that day. If we dig into softer soil we show you, and "
        "the prices on page 2 apply."
    )
    if job.photos:
        page.head((1, 24, "Pictures of your site"))
    folder = Path(job.source_path).parent
    for first in range(0, len(job.photos), 2):
        pair = job.photos[first : first + 2]
        taken = [drawings.picture(folder / photo.file, f"photo {photo.file}", *_PHOTO_IN) for photo in pair]
        for column, one in zip((1, 13), taken, strict=False):
            page.draw(column, one)
        page.next(max(one.height for one in taken) * 72 + 4)
        page.write(None, *[(c, c + 11, photo.caption or None, "8.5") for c, photo in zip((1, 13), pair, strict=False)])


def _classes(page: Page, made: Report) -> None:
    """Write every reading with the classes it allows as filled cells, the weakest spot dark."""
    page.head((1, 24, "What we tested, what we saw, how it rates"))
    spans = [(13 + 2 * at, 14 + 2 * at) for at in range(6)]
    page.write(17, *[(a, b, word, "bold 8.5 center") for (a, b), word in zip(spans, CLASSES, strict=True)])
    page.write(
        24, *[(a, b, title, "bold low") for a, b, title, _ in columns("Where 4|Test 4|What we saw 4")],
        *[(a, b, word, "6 center high") for (a, b), word in zip(spans, _SHORT[made.units], strict=True)]
    )
    before = ("", "")
    for row in made.ground:
        where = f"{row.where}\n(weakest)" if row.weakest else row.where
        if len(made.quote.ground) > 1 and row.area != before[0]:
            page.line(row.area, Style(bold=True, color=INK, fill="EEF1EF"), 14)
        same, bold, look = (row.area, row.where) == before, "bold " if row.weakest else "", "8.5 hair"
        saw = row.saw if row.counts else f"{row.saw} (frozen, does not count)"
        name = 0.0 if same else need(1, 4, where, f"{bold}8.5")
        fills = [
            ("24443B" if row.weakest else "93A39C") if row.low <= at <= row.high and row.counts else ""
            for at in range(6)
        ]
        page.write(
            max(need(5, 8, row.test, look), need(9, 12, saw, look), 14.0, name),
            (1, 4, None if same else where, f"{bold}8.5 hair{'' if same else ' top-thin'}"), (5, 8, row.test, look),
            (9, 12, saw, look),
            *[(a, b, None, Style(box="thin", fill=fill)) for (a, b), fill in zip(spans, fills, strict=True)]
        )
        before = (row.area, row.where)
    page.write(12, (13, 18, "weaker", "7"), (19, 24, "stronger", "7 right"))
