"""The client's file, its price: the ways to build it, the price by line, softer ground, cautions, terms, signatures."""

from decimal import Decimal
from typing import Final

from openpyxl.styles import Border, Side

from basecalc.cautions import site_facts
from basecalc.pricing.records import Quote
from basecalc.workbook import charts, client_words, style
from basecalc.workbook.cautions import cautions
from basecalc.workbook.figures import depth_format, depth_words, number
from basecalc.workbook.layout import Flow

_CHARTS_PT: Final = 116.0
_FEW_AREAS: Final = 3
_STEPS_A_LINE: Final = 4
_ADDS: Final = "#,##0.00"
WAYS: Final = {"stone": "Stone only", "geogrid": "With geogrid"}


def write_options(flow: Flow, quote: Quote) -> None:
    """Write stone only against with geogrid: depth of the base and price; nothing where there is no geogrid."""
    if quote.geogrid is None:
        return
    units, ways = quote.job.units, (quote.stone, quote.geogrid)
    start = flow.heading("Two ways to build it", 0)
    flow.put(1, 5, "", "column")
    for place, way in enumerate(ways):
        offer = ", our offer" if way.option == quote.offered else ""
        flow.put(6 + 4 * place, 8 + 4 * place, WAYS[way.option] + offer, "column", across="right")
    flow.put(9, 9, "", "column")
    flow.next()
    first = flow.row
    for name in quote.stone.takeoff.base_m:
        flow.put(1, 5, f"Stone base, {client_words.lower_first(name)}")
        for place, way in enumerate(ways):
            depth = way.takeoff.base_m[name]
            shown = number(depth, "depth", units)
            flow.put(6 + 4 * place, 8 + 4 * place, shown, "number", depth_format(depth, units))
        flow.next(rule=True)
    last = flow.row - 1
    flow.put(1, 5, "Total price", "label")
    for place, way in enumerate(ways):
        flow.put(6 + 4 * place, 8 + 4 * place, way.total, "strong", "money")
    flow.next(rule=True)
    if words := _difference(quote):
        flow.put(1, 12, words)
        flow.next()
    flow.gap(4)
    row, beside = flow.room(8, _CHARTS_PT), 7 if last - first < _FEW_AREAS else 10  # many areas take more room
    titles = (WAYS["stone"], WAYS["geogrid"])
    deepest = max(number(depth, "depth", units) for way in ways for depth in way.takeoff.base_m.values())
    bars = charts.Block(flow.sheet, first, last, 1, (6, 10), titles)
    depths = charts.side_by_side(
        bars, f"Depth of the stone base, {'mm' if units == 'metric' else 'in'}", "0", deepest,
    )  # fmt: skip
    prices = charts.side_by_side(
        charts.Block(flow.sheet, last + 1, last + 1, 1, (6, 10), titles),
        "Total price, $",
        '"$"#,##0',
        float(max(way.total for way in ways)),
    )
    wide = flow.width_of(1, beside - 1) - 4
    legible = charts.legible(bars, wide)
    if legible:  # else the table says it better
        charts.place(flow.sheet, depths, row, 1, wide, _CHARTS_PT - 2)
    charts.place(flow.sheet, prices, row, beside if legible else 1, flow.width_of(beside, 12) - 4, _CHARTS_PT - 2)
    flow.keep(start)


def _difference(quote: Quote) -> str:
    """Return what geogrid spares the street and the yard, where it spares anything."""
    saved = quote.against_stone
    if saved is None or max(saved.depth_m.values()) <= 0:
        return ""
    less = depth_words(max(saved.depth_m.values()), quote.job.units)
    loads = f" and {saved.loads} fewer truckloads in and out" if saved.loads > 1 else ""
    return f"The geogrid means up to {less} less to dig{loads}. Both ways are built to carry the same traffic."


def write_price(flow: Flow, quote: Quote) -> str:
    """Write the price line by line, the total, the deposit and the balance; return the cell of the total."""
    offer = quote.offer
    start = flow.heading("Price", 0)
    flow.put(1, 3, "Work", "column")
    flow.put(4, 10, "What it includes", "column")
    flow.put(11, 12, "Price", "column", across="right")
    flow.next()
    first = flow.row
    for line in offer.scope_prices:
        flow.put(1, 3, line.title, "label")
        flow.put(4, 10, line.text)
        flow.put(11, 12, line.amount, "number", "money")
        flow.next(rule=True)
    last = flow.row - 1
    flow.put(1, 10, f"Total. {quote.book.company.tax_note}".strip() if offer.tax else "Total", "total")
    total = flow.formula(11, 12, f"=SUM(K{first}:K{last})", offer.total, "total", "money", across="right")
    flow.next(20)
    paid = ""
    for due in quote.payments if len(quote.payments) > 1 else ():
        share = f" ({due.share * 100:.4g} % of the total)" if due.share else ""
        flow.put(1, 10, due.words + share)
        text = f"=ROUND({total}*{Decimal(str(due.share))},2)" if due.share else f"={total}{paid}"
        paid += "-" + flow.formula(11, 12, text, due.amount, "number", "money")
        flow.next()
    other = quote.stone if quote.offered == "geogrid" else quote.geogrid
    if other is not None:
        flow.put(1, 10, f"The other way to build it, {WAYS[other.option].lower()}: total", "quiet")
        flow.put(11, 12, other.total, "number", "money")
        flow.next()
    flow.keep(start)
    return total


def write_softer(flow: Flow, quote: Quote) -> None:
    """Write what a deeper base adds to the price if the ground turns out softer: the table that is promised."""
    deeper, units = quote.deeper, quote.job.units
    start = flow.heading("If the ground turns out softer than we read it")
    others = [client_words.the(area.name) for area in quote.job.areas if area.name not in deeper.areas]
    table = (
        "We show you the ground and agree with you before we go deeper. A deeper stone base adds what this table says, "
        "not more, everything included; if the ground is as we read it, nothing. A base beyond the table, or built "
        "another way, is priced anew and you approve it first."
    )
    kept = (
        f"The old stone base stays below {client_words.listed(others)}. If it has to come out, we price that anew and "
        "you approve it first."
    )
    for words in (table if deeper.areas else "", kept if others else ""):
        if words:
            flow.put(1, 12, words)
            flow.next()
    for name, prices in deeper.areas.items():
        offered = quote.offer.takeoff.base_m[name]
        for first in range(0, len(prices), _STEPS_A_LINE):
            flow.put(1, 3, f"{name}, {depth_words(offered, units)} as offered" if not first else None, "label")
            line = prices[first : first + _STEPS_A_LINE]
            columns = range(5, 5 + 2 * len(line), 2)
            for column, place in zip(columns, range(first + 1, first + 1 + len(line)), strict=True):
                depth = depth_words(offered + place * deeper.step_m, units)
                flow.put(column, column + 1, depth, "quiet", across="right")
            flow.next()
            flow.put(1, 3, "adds to the price", "quiet")
            for column, price in zip(columns, line, strict=True):
                flow.put(column, column + 1, price, "number", _ADDS, across="right")
            flow.next(rule=True)
            flow.keep(start)  # the first rows with the heading
            start = flow.row
    flow.keep(start)


def write_cautions(flow: Flow, quote: Quote) -> None:
    """Write the cautions that concern a client, and what was noted for this job."""
    start = flow.heading("Please know")
    said = [
        (caution.heading, caution.text + (f" (Here: {caution.told}.)" if caution.told else ""))
        for caution in cautions("client", site_facts(quote), quote.job.units)
    ]
    notes = [note for note in quote.job.notes if note]
    for heading, text in [*said, *(("" if place else "On this job.", note) for place, note in enumerate(notes))]:
        flow.put(1, 3, heading, "label")
        flow.put(4, 12, text)
        flow.next()
        flow.keep(start)
        start = flow.row


def write_terms(flow: Flow, quote: Quote, until: str) -> None:
    """Write the owner's terms."""
    company = quote.book.company
    terms = list(company.terms)
    if until:
        terms.append(f"This quote is good until {until}.")
    else:
        terms.append(f"This quote is good for {company.valid_days} days.")
    start = flow.heading("Terms")
    for place, term in enumerate(terms, 1):
        flow.put(1, 12, f"{place}. {term}")
        flow.next()
    flow.keep(start)


def write_signatures(flow: Flow, quote: Quote, accepted: str) -> None:
    """Write the lines to sign on."""
    start = flow.row
    flow.gap(10)
    flow.put(1, 12, accepted, "label")
    flow.next()
    flow.gap(26)
    for first, last, words in ((1, 5, quote.job.client), (7, 11, quote.book.company.name)):
        flow.put(first, last, f"{words}, date", "quiet")
        for column in range(first, last + 1):
            flow.sheet.cell(flow.row, column).border = Border(top=Side("thin", color=style.INK))
    flow.next()
    flow.keep(start)
