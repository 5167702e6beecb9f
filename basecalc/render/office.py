"""The office's file: a page to run the job by, costs with formulas, quantities, order, and the proof of the depth."""

from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Any, Final

from openpyxl.utils import get_column_letter as letter

from basecalc.company import Truck
from basecalc.core.errors import BasecalcError
from basecalc.core.numbers import fixed, half_up, plural, printed
from basecalc.core.units import FOOT_M, POUND_KG, SHORT_TON_KG, TONNE_KG, YARD3_M3
from basecalc.core.words import (
    capital,
    day_words,
    depth_words,
    money,
    number,
    shown_unit,
    unit,
)
from basecalc.crew_plan import quantity_words
from basecalc.pricing.price_changes import old_words
from basecalc.pricing.records import Estimate, FillOption, Line, Quote
from basecalc.render import archive, proof
from basecalc.render.page import Book, Page, Put, Style, need, quantity_format, table
from basecalc.report import Option, Report, step_dates
from basecalc.schedule import EXTRA, STONE_STEPS, OrderedStone, back_haul_words, hour_words, message
from basecalc.takeoff.codes import scopes
from basecalc.takeoff.road_weight import missing, road_weight

OPTION_WORDS: Final = {"stone": "Stone alone", "geogrid": "With geogrid", "habit": "Standard depth"}
_CAP: Final = "8 low gray thin"
_CAPR: Final = "8 right low gray thin"
_CELL: Final = "8.5 hair"
_UP: Final = "8.5 high"
_QUIET: Final = "7 high gray"
_LOUD: Final = "bold 8.5 high loud"


def office_file(made: Report, revision: int) -> bytes:
    """Return the office's workbook."""
    quote = made.quote
    job, company = quote.job, quote.book.company
    book = Book(made.units)
    foot = f"{job.number}, revision {revision}   Office only: cost and margin"
    many, logged = len(made.alike) > 2, any(spot.drops for spot in job.spots)

    def page(title: str, *, wide: bool = True, high: int = 1) -> Page:
        made_page = book.page(title, foot, "&P of &N", high=high, wide=wide)
        if title != "Job summary":
            words = f"{title}   {job.number}, {job.client}, {job.site}"
            made_page.write(None, (1, made_page.columns, words, "bold 12"))
        return made_page

    _summary(page("Job summary", wide=False), made, revision)
    _costs(page("Costs"), made)
    _quantities(page("Quantities", high=2 if len(made.crew) > 3 else 1), made)
    _order(page("Stone order", wide=False), made)
    proof.ground(page("Ground evidence", high=2 if len(made.crew) > 3 else 1), made)
    proof.depth(page("Why this depth", high=2 if len(made.alike) > 1 else 1), made)
    proof.sensitivity(page("What moves the depth", wide=False, high=2 if many and not logged else 1), made)
    if logged:
        proof.cone_logs(page("Cone log", wide=False), made)
    proof.sources(page("Cautions and sources", wide=False), made)
    archive.write(book.workbook, quote, revision)
    return book.to_bytes(f"Quote {job.number}, office", company.name, "Cost and work; not for the client")


# --- page one


def _summary(page: Page, made: Report, revision: int) -> None:
    quote, offer = made.quote, made.offer
    job = quote.job
    page.write(22, (1, 17, f"{job.number}  {job.client}", "bold 15"), (18, 24, "OFFICE ONLY", "bold 12 right"))
    sent = f"Sent {day_words(job.date)}, revision {revision}" if job.date else f"Revision {revision}, no date"
    page.write(15, (1, 15, f"{job.site}   {job.client_phone}".strip(), ""), (16, 24, sent, "bold right"))
    page.next(3)
    states = ["Open", *(f"Signed {option.mark}".strip() for option in made.options), "Lost, why:"]
    spots = (1, 5, 10, 15) if len(states) == 4 else (1, 6, 12)
    for column, words in zip(spots, states, strict=True):
        last = words.startswith("Lost")
        page.tick(column)
        page.put(column + 1, 24 if last else column + 3, words, "bold in1 thin" if last else "bold in1")
    page.next(19)
    page.next(5)
    _boxes(page, offer)
    _options(page, made)
    _build_and_hours(page, made)
    _to_order(page, made)
    page.head((1, 24, "Risks"), gap=5)
    for place, risk in enumerate(made.risks[:3], 1):
        page.write(
            None, (1, 1, place, "bold high"), (2, 6, risk.title, "bold 8.5 high"), (7, 17, risk.what, _UP),
            (18, 24, risk.do, _UP)
        )
    page.head((1, 24, "Next"), gap=5)
    for title, words in made.calls:
        page.tick(1)
        look = "hair"
        page.write(max(17.0, need(7, 24, words, look)), (2, 6, title, "bold hair in1"), (7, 24, words, look))
    page.next(4)
    page.write(12, (1, 24, "Call log: date, who, what was said", "8 gray"))
    for _ in range(2):
        page.write(19, (1, 24, None, "thin"))
    page.close()


def _boxes(page: Page, offer: Option) -> None:
    """Write price, cost and margin large."""
    mark = f", option {offer.mark}" if offer.mark else ""
    one = offer.estimate
    boxes: list[tuple[str, Any, str]] = [
        (f"Price{mark}", one.total, "money"), ("Cost", one.cost, "money"), ("Margin", offer.margin, "money"),
        ("Margin %", offer.margin_share, "percent"),
        ("Per crew day", offer.per_crew_day if offer.per_crew_day is not None else "no hours", "money")
    ]
    spans = ((1, 5), (6, 10), (11, 15), (16, 19), (20, 24))
    page.write(
        14, *[(a, b, words, "8 center gray box-thin") for (a, b), (words, _, _) in zip(spans, boxes, strict=True)]
    )
    page.write(
        26,
        *[
            (a, b, value, f"bold 13 center box-thin {form}")
            for (a, b), (_, value, form) in zip(spans, boxes, strict=True)
        ]
    )
    words = (
        "Margin is price before tax less cost: it must pay contingency, overhead and profit. "
        f"{fixed(offer.crew_h, 1)} crew hours are " f"{fixed(offer.crew_days, 1)} crew days."
    )
    page.write(None, (1, 24, words, "8 gray"))


def _options(page: Page, made: Report) -> None:
    """Write the options side by side, the standard depth last."""
    units = made.units
    page.head((1, 24, "Options"), gap=3)
    heads = (
        (1, 6, "Option", "left"), (7, 8, "Stone base", "right"), (9, 11, "Price", "right"), (12, 14, "Cost", "right"),
        (15, 16, "Margin %", "right"), (17, 18, "Per crew day", "right"), (19, 20, "Crew days", "right"),
        (21, 22, ("Tons" if units == "us" else "t") + " of stone", "right"), (23, 24, "Loads in, out", "right")
    )
    rows = []
    for option in (*made.options, *([made.standard] if made.standard else [])):
        depths = sorted({area.base_m for area in option.estimate.takeoff.areas})
        deep = (
            depth_words(depths[0], units) if len(depths) == 1
            else f"{depth_words(depths[0], units).rsplit(' ', 1)[0]} to {depth_words(depths[-1], units)}"
        )
        day = "" if option.per_crew_day is None else f"${option.per_crew_day:,.0f}"
        name = " ".join(part for part in (option.mark, option.name) if part)
        if option is made.standard and _thin(made):
            name += ": TOO THIN here"
        rows.append(
            [
                (value, f"{'bold ' if option is made.offer else ''}8 {form}")
                for value, form in (
                    (name, ""), (deep, ""), (option.estimate.total, "money"), (option.estimate.cost, "money"),
                    (option.margin_share, "percent"), (day, ""), (fixed(option.crew_days, 1), ""),
                    (fixed(option.stone_tons, 0), ""), (f"{option.loads_in}, {option.loads_out}", "")
                )
            ]
        )
    table(page, heads, rows, "8")
    if made.quote.no_habit:
        page.write(None, (1, 24, made.quote.no_habit, "8 gray"))


def _thin(made: Report) -> bool:
    """Return whether the standard depth, without geogrid, is less than some area needs without it."""
    return made.standard is not None and any(
        deep < made.quote.depths[name].required_m - 1e-9 for name, deep in made.standard.estimate.takeoff.base_m.items()
    )


def _build_and_hours(page: Page, made: Report) -> None:
    """Write how cost becomes the price, beside the hours and their days."""
    one = made.offer.estimate
    marks = one.markups
    build: list[tuple[str, Decimal]] = [
        ("COST", one.cost), (f"Contingency {_percent(marks.contingency)}", one.contingency),
        (f"Overhead {_percent(marks.overhead)}", one.overhead),
        (f"Profit {_percent(marks.profit)} of price", one.profit),
        *((words, sign * one.sum(key)) for key, (words, sign) in _TERMS.items() if one.sum(key)),
        ("Price before tax", one.before_tax),
        (f"Sales tax {_percent(marks.tax_rate)} on {money(one.taxable)}", one.tax), ("PRICE", one.total)
    ]
    hours = []
    for step, first, last in step_dates(made):
        days = (
            "day not known" if step.first_day is None else f"day {step.first_day}"
            + (f" to {step.last_day}" if step.last_day not in (None, step.first_day) else "")
        )
        when = f", {first:%b} {first.day}" if first else ""
        hours.append(
            (capital(step.title), "no rate" if step.hours is None else f"{fixed(step.hours, 1)} h", f"{days}{when}")
        )
        del last
    hours.append(("Crew hours", f"{fixed(made.offer.crew_h, 1)} h", f"{fixed(made.offer.crew_days, 1)} crew days"))
    hours.append(("Machine hours", f"{fixed(made.offer.machine_h, 1)} h", ""))
    mark = f" ({made.offer.mark})" if made.offer.mark else ""
    page.head((1, 11, f"From cost to price{mark}"), (13, 24, f"Hours{mark}"), gap=5)
    for place in range(max(len(build), len(hours))):
        cells: list[Put] = []
        if place < len(build):
            words, amount = build[place]
            bold = "bold " if words.isupper() else ""
            cells += [(1, 7, words, f"{bold}8.5 hair"), (8, 11, amount, f"{bold}8.5 right hair money")]
        if place < len(hours):
            words, taken, when = hours[place]
            cells += [(13, 17, words, _CELL), (18, 19, taken, "8.5 right hair"), (20, 24, when, "8.5 right hair")]
        page.write(13.5, *cells)


def _percent(share: Decimal) -> str:
    return f"{fixed(share * 100, 2).rstrip('0').rstrip('.')}%"


_ORDERED: Final = {
    "geogrid": "base-place", "geotextile": "base-place", "pavers": "paver-lay", "edge-restraint": "paver-lay",
    "joint-sand": "paver-lay"
}


def _to_order(page: Page, made: Report) -> None:
    """Write what to order, how much, from whom, for which day, each with a box to mark."""
    quote, order = made.quote, made.order
    suppliers = {
        line.quantity_code: price.supplier for line in quote.offer.lines
        if (price := quote.book.prices.get(line.code)) is not None
    }
    days = {step.code: (first, step.first_day) for step, first, _ in step_dates(made)}

    def on(key: str) -> str:
        day, place = days.get(key, (None, None))
        return f"{day:%b} {day.day}" if day else f"day {place}" if place else "not known"

    rows = [
        (
            stone.material, f"{fixed(stone.tons, 1)} {order.ton}, {plural(stone.loads, 'load')}",
            suppliers.get(stone.code, ""),
            on(STONE_STEPS[stone.code])
        ) for stone in order.stones
    ]
    looks = ", ".join(part for part in (quote.job.paver_color, quote.job.paver_pattern) if part)
    for key, step in _ORDERED.items():
        found = quote.offer.takeoff.of(key)
        if not found:
            continue
        amount = sum(one.amount for one in found)
        whole = found[0].unit in ("roll", "bag")
        name = found[0].variant or found[0].item
        name += f", {looks}" if key == "pavers" and looks else ""
        much = plural(round(amount), found[0].unit) if whole else f"{fixed(amount, 0)} {shown_unit(found[0].unit)}"
        rows.append((name, much, suppliers.get(key, ""), on(step)))
    for line in order.extras:
        price = quote.book.prices.get(line.code)
        rows.append((line.item, quantity_words(line.quantity, line.unit), price.supplier if price else "", "as needed"))
    out = round(quote.offer.takeoff.amount("spoil-haul"))
    if out:
        rows.append(("Trucks for soil", plural(out, "load"), suppliers.get("spoil-haul", ""), on("dig")))
    page.head((1, 24, "Order"), gap=5)
    page.write(12, (2, 10, "What", _CAP), (11, 16, "How much", _CAP), (17, 21, "From", _CAP), (22, 24, "On site", _CAP))
    for name, much, supplier, day in rows:
        page.tick(1)
        look = "8.5 hair"
        words = capital(name)
        page.write(
            max(14.5, need(2, 10, words, look)), (2, 10, words, "8.5 hair in1"), (11, 16, much, look),
            (17, 21, supplier or None, look), (22, 24, day, look)
        )


# --- costs


_FIRST: Final = 13  # column of the first option's quantity; its amount follows
_NOTE_AT: Final = 28


def _costs(page: Page, made: Report) -> None:
    quote = made.quote
    shown = [option.estimate for option in (*made.options, *([made.standard] if made.standard else []))]
    called = [
        f"{option.mark + '  ' if option.mark else ''}{OPTION_WORDS[option.estimate.option]}" for option in made.options
    ]
    called += ["Standard depth"] if made.standard else []
    _, _, totals = cost_lines(page, quote, shown, called)
    first = page.row + 1
    page.write(18, (1, 32, "What the client's file says", "bold 10 low medium"))
    for part in made.parts:
        page.write(12.5, (1, 8, part.title, _CELL), (9, 11, part.amount, "8.5 right hair money"))
    page.put(1, 8, "Sum of the client's lines", "bold 8.5")
    page.formula(9, 11, f"=SUM(I{first}:I{page.row - 1})", quote.offer.total, "bold 8.5 right money")
    row = page.row
    same, differs = "agrees with the price to the cent", "differs from the price: do not send"
    check = f'=IF(ISNUMBER(I{row}),IF(ROUND(I{row}-{totals[0]},2)=0,"{same}","{differs}"),NA())'
    page.formula(13, 22, check, same, "8.5")
    page.next(13)
    page.write(18, (1, 32, "What each way is worth", "bold 10 low medium"))
    for text, loud in _worth_texts(made):
        page.write(None, (1, 32, text, _LOUD if loud else _UP))
    page.close()


def cost_lines(
    page: Page, quote: Quote, shown: Sequence[Estimate], called: Sequence[str]
) -> tuple[int, int, tuple[str, ...]]:
    """Write priced lines with their sums, estimates side by side; return their first and last row, and the totals."""
    page.write(
        14, (1, 12, None, _CAP),
        *[(_FIRST + 5 * at, _FIRST + 5 * at + 4, name, "bold 9 right") for at, name in enumerate(called)]
    )
    heads: list[Put] = [
        (1, 8, "Item", _CAP), (9, 9, "Unit", _CAP), (10, 11, "Unit price", _CAPR), (12, 12, "Tax", _CAPR)
    ]
    for at in range(len(shown)):
        c = _FIRST + 5 * at
        heads += [(c, c + 1, "Quantity", _CAPR), (c + 2, c + 4, "Amount", _CAPR)]
    heads.append((_NOTE_AT, 32, "Price cell, supplier, priced on", "8 low gray thin in1"))
    page.write(13, *heads)
    first, as_they_are = page.row, list[int]()
    for scope, lines in _grouped(shown).items():
        named = next(line for same in lines for line in same if line is not None)
        title = scopes()[scope].title if scope in scopes() else named.title
        page.write(12, (1, 12, title, "bold 8 low"))
        for same in lines:
            if any(line is not None and line.sense == "price" for line in same):
                as_they_are.append(page.row)
            _cost_line(page, quote, same)
    last = page.row - 1
    return first, last, _results(page, quote, shown, (first, last), as_they_are)


def _grouped(shown: Sequence[Estimate]) -> dict[str, list[tuple[Line | None, ...]]]:
    """Return the lines of all options by the client's scope, those that differ only in quantity side by side."""
    order = list(scopes())
    rows: dict[tuple[str, ...], list[Line | None]] = {}
    for place, one in enumerate(shown):
        seen: dict[tuple[str, ...], int] = {}
        for line in one.lines:
            same = (line.scope, line.code, line.item, line.work, line.unit, str(line.unit_price), str(line.taxable))
            seen[same] = seen.get(same, 0) + 1
            rows.setdefault((*same, str(seen[same])), [None] * len(shown))[place] = line
    grouped: dict[str, list[tuple[Line | None, ...]]] = {}
    for key in sorted(rows, key=lambda key: order.index(key[0]) if key[0] in order else len(order)):
        grouped.setdefault(key[0], []).append(tuple(rows[key]))
    return grouped


def _cost_line(page: Page, quote: Quote, same: tuple[Line | None, ...]) -> None:
    line = next(one for one in same if one is not None)
    row = page.row
    right = Style(bottom="hair", size=8.5, across="right", format='"$"#,##0.00######')
    page.put(1, 8, f"{line.item} ({line.code})", "8 hair")
    page.put(9, 9, shown_unit(line.unit), "7.5 hair")
    page.put(10, 11, line.unit_price, right)
    page.put(12, 12, "yes" if line.taxable else "no", "7.5 right hair")
    for at, one in enumerate(same):
        c = _FIRST + 5 * at
        quantity = f"{letter(c)}{row}"
        page.put(
            c, c + 1, one.quantity if one else Decimal(0),
            Style(bottom="hair", size=8, across="right", format=quantity_format(line.unit))
        )
        text = f"=IF(AND(ISNUMBER({quantity}),ISNUMBER($J{row})),ROUND({quantity}*$J{row},2),NA())"
        page.formula(c + 2, c + 4, text, one.amount if one else Decimal(0), "8.5 right hair dash")
    price = quote.book.prices.get(line.code)
    told = (price.supplier, f"{price.priced_on:%Y-%m-%d}" if price.priced_on else "") if price else ()
    words = "; ".join(part for part in (line.cell.removeprefix("sheet Prices, cell "), *told, line.note) if part)
    item = f"{line.item} ({line.code})"
    page.put(_NOTE_AT, 32, words or None, "7 gray hair in1")
    page.next(max(12.5, need(1, 8, item, "8"), need(_NOTE_AT, 32, words, "7 in1")))


_ROWS: Final = {
    "cost": ("Cost", ""), "contingency": ("Contingency, on cost", "contingency"),
    "overhead": ("Overhead, on cost and contingency", "overhead"),
    "profit": ("Profit, a share of the price before tax", "profit"),
    "before_tax": ("Price before tax", ""),
    "taxable": ("of the cost, taxable", ""), "tax": ("Tax, on taxable lines", "tax_rate"), "total": ("Total", "")
}


# What a price may also hold, in words, and how it counts.
_TERMS: Final = {
    "charged": ("Lines charged as they are", 1), "discount": ("Discount", -1),
    "small_job": ("Up to the minimum charge", 1), "rounding": ("Rounding", 1),
}


def _results(
    page: Page, quote: Quote, shown: Sequence[Estimate], lines: tuple[int, int], as_they_are: Sequence[int]
) -> tuple[str, ...]:
    """Write cost, markups, terms, tax and total below the lines; return the cells of the totals."""
    marks, own = shown[0].markups, quote.book.company
    amounts = {"small_job": own.minimum_charge, "rounding": 0 if own.round_price == "off" else int(own.round_price)}
    used: dict[str, tuple[str, str]] = {}
    for key, named in _ROWS.items():
        if key == "before_tax":
            used |= {
                term: (said, "discount" if term == "discount" else "") for term, (said, _) in _TERMS.items()
                if any(one.sum(term) for one in shown)
            }
        used[key] = named
    rows = {key: page.row + place for place, key in enumerate(used)}
    for key, (words, share) in used.items():
        bold = "bold top-thin " if key in ("cost", "before_tax", "total") else ""
        page.put(1, 9, words, f"{bold}8.5")
        if key in amounts:
            page.put(10, 11, amounts[key], "8.5 right money")
        else:
            page.put(10, 11, getattr(marks, share) if share else None, Style(size=8.5, across="right", format="0.0##%"))
        for at, one in enumerate(shown):
            c = _FIRST + 5 * at + 2
            value = _TERMS[key][1] * one.sum(key) if key in _TERMS else getattr(one, key)
            if key in _TERMS and key != "charged":
                text = _term_formula(key, letter(c), rows)
            else:
                text = _sum_formula(key, letter(c), rows, lines, as_they_are)
            page.formula(c, c + 2, text, value, f"{bold}8.5 right money")
        page.next(13)
    return tuple(f"{letter(_FIRST + 5 * at + 2)}{rows['total']}" for at in range(len(shown)))


def _term_formula(key: str, at: str, rows: Mapping[str, int]) -> str:
    """Return how a term follows from the rows above it, and rounding from the tax too."""
    before, rate = f"SUM({at}{rows['cost']}:{at}{rows[key] - 1})", f"$J{rows[key]}"
    taxed = f"({before}+{at}{rows['tax']})"
    return {
        "discount": f"=-ROUND({before}*{rate},2)", "small_job": f"=ROUND(MAX({rate}-{before},0),2)",
        "rounding": f"=ROUND(ROUNDUP(ROUND({taxed}/{rate},6),0)*{rate}-{taxed},2)"
    }[key]


def _sum_formula(
    key: str, at: str, rows: Mapping[str, int], lines: tuple[int, int], as_they_are: Sequence[int]
) -> str:
    first, last = lines
    cell = {name: f"{at}{row}" for name, row in rows.items()}
    rate = f"$J{rows[key]}"
    loaded = f"({cell['cost']}+{cell['contingency']}+{cell['overhead']})"
    return {
        "charged": "=" + "+".join(f"{at}{row}" for row in as_they_are),
        "cost": f"=SUM({at}{first}:{at}{last})" + (f"-{cell['charged']}" if "charged" in cell else ""),
        "contingency": f"=ROUND({cell['cost']}*{rate},2)",
        "overhead": f"=ROUND(({cell['cost']}+{cell['contingency']})*{rate},2)",
        "profit": f"=ROUND({loaded}/(1-{rate})-{loaded},2)",
        "before_tax": f"=SUM({at}{rows['cost']}:{at}{rows['before_tax'] - 1})",
        "taxable": f'=SUMIF($L${first}:$L${last},"yes",{at}{first}:{at}{last})',
        "tax": f"=ROUND({cell['taxable']}*{rate},2)", "total": f"={cell['before_tax']}+{cell['tax']}"
    }[key]


def _worth_texts(made: Report) -> list[tuple[str, bool]]:
    """Return what each way to build it is worth, in sentences, each with whether it is a warning."""
    quote, units = made.quote, made.units
    texts: list[tuple[str, bool]] = []
    if quote.against_habit is not None:
        saved = quote.against_habit.money
        needs = "" if saved >= 0 else ": this ground needs more than the standard depth gives it"
        texts.append(
            (
                f"Against our standard depth the offer costs {money(abs(saved))} "
                f"{'less' if saved >= 0 else 'more'}{needs}.",
                False,
            )
        )
    if quote.against_stone is not None:
        saved = quote.against_stone.money
        texts.append(
            (
                f"Geogrid against stone alone: {money(abs(saved))} {'less' if saved >= 0 else 'more'}, "
                f"{quote.against_stone.loads} loads fewer in and out.",
                False,
            )
        )
    texts += [
        (capital(words), False) for words in (quote.no_geogrid, quote.break_even.sentence if quote.break_even else "")
        if words
    ]
    if quote.separator is not None:
        told = "; ".join(f"{area}: {words}" for area, words in quote.separator.why.items())
        price = (
            f"it cannot be priced: {quote.separator.cannot}" if quote.separator.more is None
            else f"geotextile = true there adds {money(quote.separator.more)} to the offer, tax included"
        )
        texts.append((f"NO SEPARATOR. {capital(told)}. Fine soil works up into the stone; {price}.", True))
    for name, check in made.construction.items():
        texts.append((f"Loaded stone trucks, {name}: {_truck_words(made, name, check.depth_m)}.", False))
    for one in quote.fill_options:
        texts += [(words, False) for words in _fill_texts(made, one)]
    for corner in quote.weak_corners:
        less = corner.whole_total - corner.split_total
        cheaper = f"saves {money(less)}" if less > 0 else "saves nothing"
        texts.append((
            f"Weak corner, {corner.area}: {corner.spot}. Whole area alike {depth_words(corner.whole_m, units)}, "
            f"{money(corner.whole_total)}; the corner by itself ({corner.share:.0%} of the area, an estimate) "
            f"{depth_words(corner.weak_m, units)} and the rest {depth_words(corner.rest_m, units)}, "
            f"{money(corner.split_total)}: {cheaper}. Find its border with two more spots before you make it an area "
            "of its own.", False))  # fmt: skip
    if words := old_words(made.old_prices, quote.book.company):
        texts.append((f"{words}.", True))
    return texts


def _truck_words(made: Report, name: str, needs_m: float | None) -> str:
    if made.may_drive[name]:
        return "the finished base carries them"
    if needs_m is None:
        return "tip from the end: no base carries them"
    if needs_m <= made.quote.offered_depths[name].required_m:
        return "tip from the end, as the job says"
    return (
        f"tip from the end: to carry them the base must be {depth_words(needs_m, made.units)} deep "
        "(stone_trucks_on_base = true)"
    )


_WAYS: Final = {"stone": "more stone above it", "fill": "dug out, granular fill"}


def _fill_texts(made: Report, one: FillOption) -> list[str]:
    """Return both ways to deal with loose fill, and what compacting it in place costs."""
    units = made.units
    if one.other is None or one.more is None:
        return [
            f"Loose fill, {one.area}: {_WAYS[one.chosen.way]} is priced. The other way cannot be "
            f"priced here: {one.cannot}."
        ]
    told = [
        f"{_WAYS[way.way]}: base {depth_words(way.base_m, units)}, "
        f"{fixed(number(way.bank_m3, 'volume', units), 1)} {unit('volume', units)} dug, "
        f"{fixed(number(way.stone_kg, 'mass', units), 1)} {unit('mass', units)} of stone, "
        f"{fixed(number(way.fill_kg, 'mass', units), 1)} of fill, "
        f"{way.loads_in} loads in, {way.loads_out} out, cost {money(way.cost)}, total " f"{money(way.total)}"
        for way in (one.chosen, one.other)
    ]
    cheaper = (
        f"Cheaper: {_WAYS[one.other.way if one.more < 0 else one.chosen.way]}, by {money(abs(one.more))}." if one.more
        else "Both cost the same."
    )
    shown = "The client sees the other way." if one.offered else "The client does not see the other way."
    texts = [f"Loose fill, {one.area}. Priced: {told[0]}. The other way: {told[1]}. {cheaper} {shown}"]
    if one.recompact is None:
        texts.append(f"Loose fill, {one.area}, dug out and put back in compacted lifts: {one.no_recompact}.")
    else:
        texts.append(
            f"Loose fill, {one.area}, dug out and put back in compacted lifts: "
            f"{fixed(number(one.recompact_m3, 'volume', units), 1)} {unit('volume', units)} in place, "
            f"{money(one.recompact)} more than more stone above it, tax included. The base stays as "
            "deep; a test of the lifts shows what the fill becomes."
        )
    return texts


# --- quantities and order


def _quantities(page: Page, made: Report) -> None:
    """Write every quantity of the offer with its working, beside that of the other option, then the hours."""
    other = made.other
    marks = [option.mark or "" for option in made.options]
    heads = [
        (1, 4, "Code", "left"), (5, 11, "Item", "left"), (12, 15, "Area", "left"),
        (16, 18, f"Quantity {marks[0]}".strip(), "right")
    ]
    heads.append((19, 21, f"Quantity {marks[1]}" if other else "", "right"))
    heads += [(22, 22, "", "left"), (23, 32, "Working", "left")]
    also = {
        (one.code, one.area, one.variant, one.item): one for one in (other.estimate.takeoff.quantities if other else ())
    }
    rows = []
    for one in made.quote.offer.takeoff.quantities:
        beside = also.pop((one.code, one.area, one.variant, one.item), None)
        rows.append(_quantity_row(one, one.amount, None if beside is None else beside.amount))
    rows += [_quantity_row(one, None, one.amount) for one in also.values()]
    table(page, heads, rows, "8")
    page.head((1, 32, "Hours"), gap=5)
    heads = [
        (1, 5, "Work", "left"), (6, 15, "Item", "left"), (16, 18, "Crew hours", "right"),
        (19, 21, "Machine h", "right"), (22, 22, "", "left"), (23, 32, "Working", "left")
    ]
    hours = []
    for work in made.quote.offer.work(made.quote.book.company.hours_per_day):
        taken = [
            (("" if work.code == EXTRA else "no rate") if value is None else half_up(value, 2), "8 two")
            for value in (work.crew_h, work.machine_h)
        ]
        priced = "priced by these hours" if work.priced_by_hours else "for the plan only, priced by its own row"
        hours.append([work.code, work.item, *taken, None, (f"{work.working}; {priced}", _QUIET)])
    table(page, heads, hours, "8")
    page.close("1:2")


def _quantity_row(one: Any, mine: float | None, other: float | None) -> list[Any]:
    look = Style(size=8, format=quantity_format(one.unit))
    item = one.item + (f", {one.variant}" if one.variant else "")
    amounts = [None if value is None else (half_up(value, 2), look) for value in (mine, other)]
    return [one.code, item, one.area or "whole job", *amounts, (shown_unit(one.unit), "7"), (one.working, _QUIET)]


def _order(page: Page, made: Report) -> None:
    quote, order, units = made.quote, made.order, made.units
    mass = unit("mass", units)
    truck = order.truck
    ton = TONNE_KG if units == "metric" else SHORT_TON_KG
    box = f"{truck.box_m3:.1f} m³" if units == "metric" else f"{truck.box_m3 / YARD3_M3:.1f} yd³"
    page.write(14, (1, 24, f"Truck: {truck.name}, payload {truck.payload_kg / ton:.4g} {mass}, box {box}.", ""))
    heads = (
        (1, 10, "Material", "left"), (11, 14, "For", "left"), (15, 17, f"Order, {mass}", "right"),
        (18, 20, f"Full load, {mass}", "right"), (21, 22, "Loads", "right"), (23, 24, "Last load", "right")
    )
    page.write(None, *[(a, b, words, _CAPR if to == "right" else _CAP) for a, b, words, to in heads])
    totals = {stone.code: _material(page, quote, stone) for stone in order.stones}
    page.head((1, 24, "When it must be there"), gap=5)
    page.write(
        13, (1, 9, "Day", _CAP), (10, 17, "Material", _CAP), (18, 20, f"Brings, {mass}", _CAPR),
        (21, 22, "Loads", _CAPR), (23, 24, "Last load", _CAPR)
    )
    two, whole = "8.5 right hair two", "8.5 right hair whole"
    for stone in order.stones:
        first = page.row
        for one in stone.deliveries:
            day = (
                "not known" if one.day is None
                else f"day {one.day}{f', {one.date:%a %b} {one.date.day}' if one.date else ''}, "
                f"{hour_words(one.after_h)}"
            )
            page.write(
                13, (1, 9, day, _CELL), (10, 17, stone.material, _CELL), (18, 20, one.tons, two),
                (21, 22, one.loads, whole), (23, 24, half_up(one.last_tons, 2), two)
            )
        row = page.row
        page.put(1, 9, f"{capital(stone.material)}, all deliveries", "bold 8.5")
        ordered = f"U{totals[stone.code]}"
        page.formula(10, 17, f'=IF(U{row}={ordered},"as ordered","differs from the order")', "as ordered", "8.5")
        page.formula(
            18, 20, f"=SUM(R{first}:R{row - 1})", printed(sum(one.tons for one in stone.deliveries)),
            "bold 8.5 right two"
        )
        page.formula(21, 22, f"=SUM(U{first}:U{row - 1})", stone.loads, "bold 8.5 right whole")
        page.next(14)
    lacking = [step.title for step in order.plan if step.hours is None]
    if lacking:
        page.write(
            None,
            (
                1, 24, f"No day is known from here on: the sheet Company has no work rate for: {', '.join(lacking)}.",
                _LOUD
            )
        )
    day_h = quote.book.company.hours_per_day
    page.write(
        None,
        (
            1,
            24,
            f"By your own production rates, {day_h:g} h a day: one crew finishes each step on every area before the "
            "next begins. Rain, inspections and other jobs are not counted.",
            _QUIET,
        ),
    )
    page.head((1, 24, "Trucks"), gap=5)
    page.said("Shared trips", back_haul_words(order.back_haul), 5, _UP)
    for hauler in order.trucks:
        words, over = weight_words(hauler, units)
        page.said("Weight on the road", words, 5, _LOUD if over else _UP)
    page.head((1, 24, "Text to send to the supplier"), gap=5)
    page.write(None, (1, 24, message(order), _UP))
    page.close()


def _material(page: Page, quote: Quote, stone: OrderedStone) -> int:
    """Write the rows of a material and return that of its total."""
    first = page.row
    two = "8.5 right hair two"
    for one in quote.offer.takeoff.of(stone.code):
        page.write(
            13, (1, 10, one.variant or one.item, _CELL), (11, 14, one.area or "whole job", _CELL),
            (15, 17, one.amount, two)
        )
    row, bold = page.row, "bold 8.5 right two"
    page.put(1, 10, f"{capital(stone.material)}, all", "bold 8.5")
    page.formula(15, 17, f"=SUM(O{first}:O{row - 1})", stone.tons, bold)
    page.put(18, 20, stone.full_tons, bold)
    page.formula(
        21, 22, f"=IF(AND(ISNUMBER(O{row}),ISNUMBER(R{row})),ROUNDUP(ROUND(O{row}/R{row},9),0),NA())", stone.loads,
        "bold 8.5 right whole"
    )
    page.formula(23, 24, f"=ROUND(ROUND(O{row}-(U{row}-1)*R{row},8),2)", half_up(stone.last_tons, 2), bold)
    page.next(15)
    return row


def weight_words(truck: Truck, units: str) -> tuple[str, bool]:
    """Return how heavy a full truck is beside the federal limit, in a sentence, and whether it is too heavy."""
    lacking = missing(truck)
    if lacking:
        return (
            f"{truck.name}: not checked against the federal bridge formula; the sheet Company does not say its "
            f"{', '.join(lacking)}. The payload is the one you gave.", False,
        )  # fmt: skip
    try:
        found = road_weight(truck)
    except BasecalcError as refusal:
        return f"{truck.name}: not checked against the federal bridge formula; {refusal.sentence}.", True

    def mass(kg: float) -> str:
        return f"{fixed(kg / TONNE_KG, 2)} t" if units == "metric" else f"{fixed(kg / POUND_KG, 0)} lb"

    assert truck.outer_axles_m is not None
    over = f"{fixed(truck.outer_axles_m, 1)} m" if units == "metric" else f"{fixed(truck.outer_axles_m / FOOT_M, 1)} ft"
    told = f"{truck.axles} axles over {over} may weigh {mass(found.limit_kg)}"
    full = f"full it weighs {mass(found.gross_kg)}"
    rest = "Single axles, tandems and the limits of state and town are not looked at. 23 CFR 658.17 [read]."
    if not found.over_kg:
        return f"{truck.name}: {full}; by the federal bridge formula its {told}. {rest}", False
    return (
        f"{truck.name} is too heavy by {mass(found.over_kg)} when full: {full}, and by the federal bridge formula its "
        f"{told}. A payload of {mass(found.payload_kg)} would be within it, unless your state allows more: correct the "
        f"payload on the sheet Company, and the loads follow. {rest}", True,
    )  # fmt: skip
