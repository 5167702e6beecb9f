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
    OPTION_WORDS,
    capital,
    day_words,
    depth_words,
    money,
    number,
    quantity_words,
    shown_unit,
    unit,
)
from basecalc.pricing.archive import TITLE, quote_rows
from basecalc.pricing.price_changes import old_words
from basecalc.pricing.records import Estimate, FillOption, Line, Quote
from basecalc.render import proof
from basecalc.render.page import Book, Formula, Page, Put, Style, need, quantity_format, table
from basecalc.report import Option, Report, first_days
from basecalc.schedule import EXTRA, STONE_STEPS, OrderedStone, back_haul_words, hour_words, message
from basecalc.takeoff.model import SCOPES
from basecalc.takeoff.road_weight import missing, road_weight

_CAP: Final = "8 low gray thin"
_UP: Final = "8.5 high"
_QUIET: Final = "7 high gray"
_LOUD: Final = "bold 8.5 high loud"


def office_file(made: Report, revision: int) -> bytes:
    """Return the office's workbook."""
    quote = made.quote
    job, many = quote.job, len(made.crew) > 3
    book = Book(made.units)
    foot = f"{job.number}, revision {revision}   Office only: cost and margin"

    def page(title: str, *, wide: bool = True, high: int = 1) -> Page:
        made_page = book.page(title, foot, "&P of &N", high=high, wide=wide)
        if title != "Job summary":
            made_page.line(f"{title}   {job.number}, {job.client}, {job.site}", "bold 12")
        return made_page

    summary = page("Job summary", wide=False)
    _summary(summary, made, revision, _costs(page("Costs"), made))
    _quantities(page("Quantities", high=2 if many else 1), made)
    _order(page("Stone order", wide=False), made)
    proof.ground(page("Ground evidence", high=2 if many else 1), made)
    proof.depth(page("Why this depth", high=2 if len(made.alike) > 1 else 1), made)
    logged = any(spot.drops for spot in job.spots)
    high = 2 if len(made.alike) > 2 and not logged else 1
    proof.sensitivity(page("What moves the depth", wide=False, high=high), made)
    if logged:
        proof.cone_logs(page("Cone log", wide=False), made)
    proof.sources(page("Cautions and sources", wide=False), made)
    words = "What this quote was made from: 'basecalc quote' makes it again from here. Change nothing."
    book.hidden(TITLE, words, quote_rows(quote, revision))
    return book.to_bytes(f"Quote {job.number}, office", quote.book.company.name, "Cost and work; not for the client")


# --- costs

_FIRST: Final = 13  # column of the first option's quantity; its amount follows

# Each sum in words, the owner's share or amount behind it, and how it counts where it is a term of the price.
_SUMS: Final = {
    "cost": ("Cost", "", 1), "contingency": ("Contingency, on cost", "contingency", 1),
    "overhead": ("Overhead, on cost and contingency", "overhead", 1),
    "profit": ("Profit, a share of the price before tax", "profit", 1),
    "charged": ("Lines charged as they are", "", 1), "discount": ("Discount", "discount", -1),
    "small_job": ("Up to the minimum charge", "minimum_charge", 1), "rounding": ("Rounding", "round_price", 1),
    "before_tax": ("Price before tax", "", 1), "taxable": ("of the cost, taxable", "", 1),
    "tax": ("Tax, on taxable lines", "tax_rate", 1), "total": ("Total", "", 1)
}
_TERMS: Final = ("charged", "discount", "small_job", "rounding")
_LOUD_SUMS: Final = ("cost", "before_tax", "total")


class Sums:
    """Where the sums of each option are on a sheet of costs."""

    def __init__(self, shown: Sequence[Estimate], row: int) -> None:
        self.keys = [key for key in _SUMS if key not in _TERMS or any(one.sum(key) for one in shown)]
        self.rows = {key: row + place for place, key in enumerate(self.keys)}

    def cell(self, key: str, at: int = 0, sheet: str = "") -> str:
        """Return the cell of a sum of an option."""
        return f"{sheet}{letter(_FIRST + 5 * at + 2)}{self.rows[key]}"


def _sum(one: Estimate, key: str) -> Decimal:
    value: Decimal = _SUMS[key][2] * one.sum(key) if key in _TERMS else getattr(one, key)
    return value


def _costs(page: Page, made: Report) -> Sums:
    quote = made.quote
    ways = _ways(made)
    names = [f"{option.mark}  {option.name}".strip() for option in ways]
    sums = cost_lines(page, quote, [option.estimate for option in ways], names)
    page.head((1, 32, "What the client's file says"))
    first = page.row
    table(page, " 8| 3>", [(part.title, (part.amount, "8.5 money")) for part in made.parts])
    row, same, differs = page.row, "agrees with the price to the cent", "differs from the price: do not send"
    check = f'=IF(ISNUMBER(I{row}),IF(ROUND(I{row}-{sums.cell("total")},2)=0,"{same}","{differs}"),NA())'
    page.write(
        13, (1, 8, "Sum of the client's lines", "bold 8.5"),
        (9, 11, Formula(f"=SUM(I{first}:I{row - 1})", quote.offer.total), "bold 8.5 right money"),
        (13, 22, Formula(check, same), "8.5")
    )
    page.head((1, 32, "What each way is worth"))
    for text, loud in _worth_texts(made):
        page.line(text, _LOUD if loud else _UP)
    page.close()
    return sums


def _ways(made: Report) -> tuple[Option, ...]:
    return (*made.options, *([made.standard] if made.standard else []))


def cost_lines(page: Page, quote: Quote, shown: Sequence[Estimate], called: Sequence[str]) -> Sums:
    """Write priced lines with their sums, estimates side by side; return where the sums are."""
    at = [_FIRST + 5 * place for place in range(len(shown))]
    heads: list[Put] = [(c, c + 4, name, "bold 8 right low") for c, name in zip(at, called, strict=True)]
    page.write(None, (1, 12, None, _CAP), *heads)
    note, right = _FIRST + 5 * len(shown), f"{_CAP} right"
    page.write(
        13, (1, 8, "Item", _CAP), (9, 9, "Unit", _CAP), (10, 11, "Unit price", right), (12, 12, "Tax", right),
        *[put for c in at for put in ((c, c + 1, "Quantity", right), (c + 2, c + 4, "Amount", right))],
        (note, 32, "Price cell, supplier, priced on", f"{_CAP} in1")
    )
    first, as_they_are, before = page.row, list[int](), ""
    for scope, lines in _grouped(shown).items():
        heading = SCOPES[scope].title if scope in SCOPES else "Extra lines"
        if heading != before:
            page.write(12, (1, 12, heading, "bold 8 low"))
        before = heading
        for same in lines:
            if any(line is not None and line.sense == "price" for line in same):
                as_they_are.append(page.row)
            _cost_line(page, quote, same, note)
    sums = Sums(shown, page.row)
    _results(page, quote, shown, sums, (first, page.row - 1), as_they_are)
    return sums


def _grouped(shown: Sequence[Estimate]) -> dict[str, list[tuple[Line | None, ...]]]:
    """Return the lines of all options by the client's scope, those that differ only in quantity side by side."""
    order = list(SCOPES)
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


def _cost_line(page: Page, quote: Quote, same: tuple[Line | None, ...], note: int) -> None:
    line = next(one for one in same if one is not None)
    row = page.row
    cells: list[Put] = [
        (1, 8, f"{line.item} ({line.code})", "8 hair"), (9, 9, shown_unit(line.unit), "7.5 hair"),
        (10, 11, line.unit_price, Style(bottom="hair", size=8.5, across="right", format='"$"#,##0.00######')),
        (12, 12, "yes" if line.taxable else "no", "7.5 right hair")
    ]
    counted = Style(bottom="hair", size=8, across="right", format=quantity_format(line.unit))
    for at, one in enumerate(same):
        c = _FIRST + 5 * at
        quantity = f"{letter(c)}{row}"
        text = f"=IF(AND(ISNUMBER({quantity}),ISNUMBER($J{row})),ROUND({quantity}*$J{row},2),NA())"
        cells.append((c, c + 1, one.quantity if one else Decimal(0), counted))
        cells.append((c + 2, c + 4, Formula(text, one.amount if one else Decimal(0)), "8.5 right hair dash"))
    price = quote.book.prices.get(line.code)
    told = (price.supplier, f"{price.priced_on:%Y-%m-%d}" if price.priced_on else "") if price else ()
    words = "; ".join(part for part in (line.cell.removeprefix("sheet Prices, cell "), *told, line.note) if part)
    page.write(None, *cells, (note, 32, words or None, "7 gray hair in1"))


def _results(
    page: Page, quote: Quote, shown: Sequence[Estimate], sums: Sums, lines: tuple[int, int], as_they_are: Sequence[int]
) -> None:
    """Write cost, markups, terms, tax and total below the lines."""
    marks, own = shown[0].markups, quote.book.company
    amounts = {"small_job": own.minimum_charge, "rounding": 0 if own.round_price == "off" else int(own.round_price)}
    for key in sums.keys:
        words, share, _ = _SUMS[key]
        bold = "bold top-thin " if key in _LOUD_SUMS else ""
        mark = amounts[key] if key in amounts else getattr(marks, share) if share else None
        form = '"$"#,##0.00' if key in amounts else "0.0##%"
        cells: list[Put] = [
            (1, 9, words, f"{bold}8.5"), (10, 11, mark, Style(size=8.5, across="right", format=form))
        ]
        for at, one in enumerate(shown):
            c = _FIRST + 5 * at + 2
            text = _sum_formula(key, letter(c), sums.rows, lines, as_they_are)
            cells.append((c, c + 2, Formula(text, _sum(one, key)), f"{bold}8.5 right money"))
        page.write(13, *cells)


def _sum_formula(
    key: str, at: str, rows: Mapping[str, int], lines: tuple[int, int], as_they_are: Sequence[int]
) -> str:
    """Return how a sum follows from the lines and from the sums above it; rounding follows from the tax too."""
    first, last = lines
    cell = {name: f"{at}{row}" for name, row in rows.items()}
    rate, before = f"$J{rows[key]}", f"SUM({cell['cost']}:{at}{rows[key] - 1})"
    loaded, taxed = f"({cell['cost']}+{cell['contingency']}+{cell['overhead']})", f"({before}+{cell['tax']})"
    return {
        "cost": f"=SUM({at}{first}:{at}{last})" + (f"-{cell['charged']}" if "charged" in cell else ""),
        "contingency": f"=ROUND({cell['cost']}*{rate},2)",
        "overhead": f"=ROUND(({cell['cost']}+{cell['contingency']})*{rate},2)",
        "profit": f"=ROUND({loaded}/(1-{rate})-{loaded},2)",
        "charged": "=" + "+".join(f"{at}{row}" for row in as_they_are),
        "discount": f"=-ROUND({before}*{rate},2)", "small_job": f"=ROUND(MAX({rate}-{before},0),2)",
        "rounding": f"=ROUND(ROUNDUP(ROUND({taxed}/{rate},6),0)*{rate}-{taxed},2)", "before_tax": f"={before}",
        "taxable": f'=SUMIF($L${first}:$L${last},"yes",{at}{first}:{at}{last})',
        "tax": f"=ROUND({cell['taxable']}*{rate},2)", "total": f"={cell['before_tax']}+{cell['tax']}"
    }[key]


def _worth_texts(made: Report) -> list[tuple[str, bool]]:
    """Return what each way to build it is worth, in sentences, each with whether it is a warning."""
    quote, units = made.quote, made.units
    texts: list[str] = []
    if quote.against_standard is not None:
        saved = quote.against_standard.money
        needs = "less" if saved >= 0 else "more: this ground needs more than the standard depth gives it"
        texts.append(f"Against our standard depth the offer costs {money(abs(saved))} {needs}.")
    if quote.against_stone is not None:
        saved = quote.against_stone.money
        texts.append(
            f"Geogrid against {OPTION_WORDS['stone']}: {money(abs(saved))} {'less' if saved >= 0 else 'more'}, "
            f"{quote.against_stone.loads} loads fewer in and out."
        )
    texts += [quote.no_geogrid, quote.break_even.sentence if quote.break_even else ""]
    loud: list[str] = []
    if quote.separator is not None:
        told = "; ".join(f"{area}: {words}" for area, words in quote.separator.why.items())
        price = (
            f"it cannot be priced: {quote.separator.cannot}" if quote.separator.more is None
            else f"geotextile = true there adds {money(quote.separator.more)} to the offer, tax included"
        )
        loud.append(f"NO SEPARATOR. {capital(told)}. Fine soil works up into the stone; {price}.")
    for name, check in made.construction.items():
        texts.append(f"Loaded stone trucks, {name}: {_truck_words(made, name, check.depth_m)}.")
    for one in quote.fill_options:
        texts += _fill_texts(made, one)
    for corner in quote.weak_corners:
        less = corner.whole_total - corner.split_total
        texts.append(
            f"Weak corner, {corner.area}: {corner.spot}. Whole area alike {depth_words(corner.whole_m, units)}, "
            f"{money(corner.whole_total)}; the corner by itself ({corner.share:.0%} of the area, an estimate) "
            f"{depth_words(corner.weak_m, units)} and the rest {depth_words(corner.rest_m, units)}, "
            f"{money(corner.split_total)}: saves {money(less) if less > 0 else 'nothing'}. Find its border with two "
            "more spots before you make it an area of its own."
        )
    if words := old_words(made.old_prices, quote.book.company):
        loud.append(f"{words}.")
    return [*((capital(words), False) for words in texts if words), *((words, True) for words in loud)]


def _truck_words(made: Report, name: str, needs_m: float | None) -> str:
    if made.may_drive[name]:
        return "the finished base carries them"
    if needs_m is None:
        return "tip from the end: no base carries them"
    if needs_m <= made.quote.offered_depths[name].required_m:
        return "tip from the end, as the job says"
    deep = depth_words(needs_m, made.units)
    return f"tip from the end: to carry them the base must be {deep} deep (stone_trucks_on_base = true)"


_WAYS: Final = {"stone": "more stone above it", "fill": "dug out, granular fill"}


def _fill_texts(made: Report, one: FillOption) -> list[str]:
    """Return both ways to deal with loose fill, and what compacting it in place costs."""

    def much(value: float, kind: str) -> str:
        return f"{fixed(number(value, kind, made.units), 1)} {unit(kind, made.units)}"

    if one.other is None or one.more is None:
        priced = f"Loose fill, {one.area}: {_WAYS[one.chosen.way]} is priced."
        return [f"{priced} The other way cannot be priced here: {one.cannot}."]
    told = [
        f"{_WAYS[way.way]}: base {depth_words(way.base_m, made.units)}, {much(way.bank_m3, 'volume')} dug, "
        f"{much(way.stone_kg, 'mass')} of stone, {much(way.fill_kg, 'mass')} of fill, {way.loads_in} loads in, "
        f"{way.loads_out} out, cost {money(way.cost)}, total {money(way.total)}" for way in (one.chosen, one.other)
    ]
    cheaper = (
        f"Cheaper: {_WAYS[one.other.way if one.more < 0 else one.chosen.way]}, by {money(abs(one.more))}." if one.more
        else "Both cost the same."
    )
    shown = f"The client {'sees' if one.offered else 'does not see'} the other way."
    again = one.no_recompact if one.recompact is None else (
        f"{much(one.recompact_m3, 'volume')} in place, {money(one.recompact)} more than more stone above it, tax "
        "included. The base stays as deep; a test of the lifts shows what the fill becomes"
    )
    return [
        f"Loose fill, {one.area}. Priced: {told[0]}. The other way: {told[1]}. {cheaper} {shown}",
        f"Loose fill, {one.area}, dug out and put back in compacted lifts: {again}."
    ]


# --- page one


def _summary(page: Page, made: Report, revision: int, sums: Sums) -> None:
    job = made.quote.job
    page.write(22, (1, 17, f"{job.number}  {job.client}", "bold 15"), (18, 24, "OFFICE ONLY", "bold 12 right"))
    sent = f"Sent {day_words(job.date)}, revision {revision}" if job.date else f"Revision {revision}, no date"
    page.write(15, (1, 15, f"{job.site}   {job.client_phone}".strip(), ""), (16, 24, sent, "bold right"))
    page.next(3)
    states = ["Open", *(f"Signed {option.mark}".strip() for option in made.options), "Lost, why:"]
    for column, words in zip((1, 5, 10, 15) if len(states) == 4 else (1, 6, 12), states, strict=True):
        last = words.startswith("Lost")
        page.tick(column)
        page.put(column + 1, 24 if last else column + 3, words, "bold in1 thin" if last else "bold in1")
    page.next(19)
    page.next(5)
    _options(page, made, sums)
    _build_and_hours(page, made, sums)
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
        page.write(max(17.0, need(7, 24, words, "")), (2, 6, title, "bold hair in1"), (7, 24, words, "hair"))
    page.next(4)
    page.line("Call log: date, who, what was said", "8 gray", 12)
    for _ in range(2):
        page.line(None, "thin", 19)
    page.close()


def _worths(option: Option, sums: Sums, at: int, hours: float) -> list[tuple[str, Any, str]]:
    """Return price, cost and margin of an option, as formulas on the sheet of costs, each with its format."""
    total, cost, before = (sums.cell(key, at, "Costs!") for key in ("total", "cost", "before_tax"))
    one, margin = option.estimate, f"ROUND({before}-{cost},2)"
    day = Formula(f"=ROUND({margin}/({option.crew_h!r}/{hours:g}),2)", option.per_crew_day or 0)
    return [
        ("Price", Formula(f"={total}", one.total), "money"), ("Cost", Formula(f"={cost}", one.cost), "money"),
        ("Margin", Formula(f"={margin}", option.margin), "money"),
        ("Margin %", Formula(f"=IF({before}=0,0,{margin}/{before})", option.margin_share), "percent"),
        ("Per crew day", day if option.per_crew_day is not None else "no hours", "money")
    ]


def _options(page: Page, made: Report, sums: Sums) -> None:
    """Write price, cost and margin of the offer large, then the options side by side, the standard depth last."""
    units, hours, offer = made.units, made.quote.book.company.hours_per_day, made.offer
    boxes, spans = _worths(offer, sums, 0, hours), ((1, 5), (6, 10), (11, 15), (16, 19), (20, 24))
    mark = f", option {offer.mark}" if offer.mark else ""
    names = [f"{words}{mark}" if words == "Price" else words for words, _, _ in boxes]
    page.write(14, *[(a, b, words, "8 center gray box-thin") for (a, b), words in zip(spans, names, strict=True)])
    large = "bold 13 center box-thin"
    page.write(26, *[(a, b, value, f"{large} {form}") for (a, b), (_, value, form) in zip(spans, boxes, strict=True)])
    page.line(
        "Margin is price before tax less cost: it must pay contingency, overhead and profit. "
        f"{fixed(offer.crew_h, 1)} crew hours are {fixed(offer.crew_days, 1)} crew days.", "8 gray"
    )
    page.head((1, 24, "Options"), gap=3)
    rows = []
    for at, option in enumerate(_ways(made)):
        depths = sorted({area.base_m for area in option.estimate.takeoff.areas})
        least, most = (depth_words(one, units) for one in (depths[0], depths[-1]))
        deep = most if least == most else f"{least.rsplit(' ', 1)[0]} to {most}"
        name = f"{option.mark} {option.name}".strip()
        if option is made.standard and _thin(made):
            name += ": TOO THIN here"
        worths = [(value, form) for words, value, form in _worths(option, sums, at, hours) if words != "Margin"]
        last = ((fixed(option.crew_days, 1), ""), (fixed(option.stone_tons, 0), ""))
        cells = [(name, ""), (deep, ""), *worths, *last, (f"{option.loads_in}, {option.loads_out}", "")]
        bold = "bold " if option is offer else ""
        rows.append([(value, f"{bold}8 {form}") for value, form in cells])
    tons = "Tons" if units == "us" else "t"
    table(
        page, f"Option 6|Stone base 3>|Price 3>|Cost 3>|Margin % 2>|Per crew day 2>|Crew days 1>|{tons} of stone 2>"
        "|Loads in, out 2>", rows
    )
    if made.quote.no_standard:
        page.line(made.quote.no_standard, "8 gray")


def _thin(made: Report) -> bool:
    """Return whether the standard depth, without geogrid, is less than some area needs without it."""
    return made.standard is not None and any(
        deep < made.quote.depths[name].required_m - 1e-9 for name, deep in made.standard.estimate.takeoff.base_m.items()
    )


def _build_and_hours(page: Page, made: Report, sums: Sums) -> None:
    """Write how cost becomes the price, as on the sheet of costs, beside the hours and their days."""
    one, marks = made.offer.estimate, made.offer.estimate.markups
    build: list[tuple[str, str, Formula]] = []
    for key in sums.keys:
        words, share, _ = _SUMS[key]
        rate = f" {fixed(getattr(marks, share) * 100, 2).rstrip('0').rstrip('.')}%" if hasattr(marks, share) else ""
        bold = "bold " if key in _LOUD_SUMS else ""
        build.append((words + rate, bold, Formula(f"={sums.cell(key, 0, 'Costs!')}", _sum(one, key))))
    hours = []
    for step, first in first_days(made):
        days = (
            "day not known" if step.first_day is None else f"day {step.first_day}"
            + (f" to {step.last_day}" if step.last_day not in (None, step.first_day) else "")
        )
        when = f", {first:%b} {first.day}" if first else ""
        taken = "no rate" if step.hours is None else f"{fixed(step.hours, 1)} h"
        hours.append((capital(step.title), taken, f"{days}{when}"))
    hours.append(("Crew hours", f"{fixed(made.offer.crew_h, 1)} h", f"{fixed(made.offer.crew_days, 1)} crew days"))
    hours.append(("Machine hours", f"{fixed(made.offer.machine_h, 1)} h", ""))
    mark = f" ({made.offer.mark})" if made.offer.mark else ""
    page.head((1, 11, f"From cost to price{mark}"), (13, 24, f"Hours{mark}"), gap=5)
    for place in range(max(len(build), len(hours))):
        cells: list[Put] = []
        if place < len(build):
            words, bold, value = build[place]
            cells += [(1, 8, words, f"{bold}8.5 hair"), (9, 11, value, f"{bold}8.5 right hair money")]
        if place < len(hours):
            words, taken, when = hours[place]
            cells += [(13, 18, words, "8.5 hair"), (19, 20, taken, "8.5 right hair"), (21, 24, when, "8.5 right hair")]
        page.write(None, *cells)


# What is ordered, and the step of the work that it must be there for.
_ORDERED: Final = {
    "geogrid": "base-place", "geotextile": "base-place", "pavers": "paver-lay", "edge-restraint": "paver-lay",
    "joint-sand": "paver-lay"
}


def _to_order(page: Page, made: Report) -> None:
    """Write what to order, how much, from whom, for which day, each with a box to mark."""
    quote, order, takeoff = made.quote, made.order, made.quote.offer.takeoff
    suppliers = {
        line.quantity_code: price.supplier for line in quote.offer.lines
        if (price := quote.book.prices.get(line.code)) is not None
    }
    days = {step.code: (first, step.first_day) for step, first in first_days(made)}

    def on(key: str) -> str:
        day, place = days.get(key, (None, None))
        return f"{day:%b} {day.day}" if day else f"day {place}" if place else "not known"

    rows = [
        (stone.material, f"{fixed(stone.tons, 1)} {order.ton}, {plural(stone.loads, 'load')}",
         suppliers.get(stone.code, ""), on(STONE_STEPS[stone.code]))
        for stone in order.stones
    ]  # fmt: skip
    looks = ", ".join(part for part in (quote.job.paver_color, quote.job.paver_pattern) if part)
    for key, step in _ORDERED.items():
        found = takeoff.of(key)
        if not found:
            continue
        amount, word = sum(one.amount for one in found), found[0].unit
        name = (found[0].variant or found[0].item) + (f", {looks}" if key == "pavers" and looks else "")
        much = f"{fixed(amount, 0)} {shown_unit(word)}" if word not in ("roll", "bag") else plural(round(amount), word)
        rows.append((name, much, suppliers.get(key, ""), on(step)))
    for line in order.extras:
        price = quote.book.prices.get(line.code)
        rows.append((line.item, quantity_words(line.quantity, line.unit), price.supplier if price else "", "as needed"))
    if out := round(takeoff.amount("spoil-haul")):
        rows.append(("Trucks for soil", plural(out, "load"), suppliers.get("spoil-haul", ""), on("dig")))
    page.head((1, 24, "Order"), gap=5)
    page.write(12, (2, 10, "What", _CAP), (11, 16, "How much", _CAP), (17, 21, "From", _CAP), (22, 24, "On site", _CAP))
    for name, much, supplier, day in rows:
        page.tick(1)
        words, look = capital(name), "8.5 hair in1"
        page.write(
            max(14.5, need(2, 10, words, look)), (2, 10, words, look), (11, 16, much, "8.5 hair"),
            (17, 21, supplier or None, "8.5 hair"), (22, 24, day, "8.5 hair")
        )


# --- quantities and order


def _quantities(page: Page, made: Report) -> None:
    """Write every quantity of the offer with its working, beside that of the other option, then the hours."""
    other = made.other
    marks = [option.mark or "" for option in made.options]
    also = {
        (one.code, one.area, one.variant, one.item): one for one in (other.estimate.takeoff.quantities if other else ())
    }
    rows = []
    for one in made.quote.offer.takeoff.quantities:
        beside = also.pop((one.code, one.area, one.variant, one.item), None)
        rows.append(_quantity_row(one, one.amount, None if beside is None else beside.amount))
    rows += [_quantity_row(one, None, one.amount) for one in also.values()]
    second = f"Quantity {marks[1]}" if other else ""
    table(
        page, f"Code 4|Item 7|Area 4|{f'Quantity {marks[0]}'.strip()} 3>|{second} 3>| 1|Working 10", rows, "8"
    )
    page.head((1, 32, "Hours"), gap=5)
    hours = []
    for work in made.quote.offer.work(made.quote.book.company.hours_per_day):
        taken = [
            (("" if work.code == EXTRA else "no rate") if value is None else half_up(value, 2), "8 two")
            for value in (work.crew_h, work.machine_h)
        ]
        priced = "priced by these hours" if work.priced_by_hours else "for the plan only, priced by its own row"
        hours.append([work.code, work.item, *taken, None, (f"{work.working}; {priced}", _QUIET)])
    table(page, "Work 5|Item 10|Crew hours 3>|Machine h 3>| 1|Working 10", hours, "8")
    page.close("1:2")


def _quantity_row(one: Any, mine: float | None, other: float | None) -> list[Any]:
    look = Style(size=8, format=quantity_format(one.unit))
    item = one.item + (f", {one.variant}" if one.variant else "")
    amounts = [None if value is None else (half_up(value, 2), look) for value in (mine, other)]
    return [one.code, item, one.area or "whole job", *amounts, (shown_unit(one.unit), "7"), (one.working, _QUIET)]


def _order(page: Page, made: Report) -> None:
    quote, order, units = made.quote, made.order, made.units
    mass, truck = unit("mass", units), order.truck
    ton = TONNE_KG if units == "metric" else SHORT_TON_KG
    box = f"{truck.box_m3:.1f} m³" if units == "metric" else f"{truck.box_m3 / YARD3_M3:.1f} yd³"
    page.line(f"Truck: {truck.name}, payload {truck.payload_kg / ton:.4g} {mass}, box {box}.", "", 14)
    table(page, f"Material 10|For 4|Order, {mass} 3>|Full load, {mass} 3>|Loads 2>|Last load 2>", ())
    totals = {stone.code: _material(page, quote, stone) for stone in order.stones}
    page.head((1, 24, "When it must be there"), gap=5)
    table(page, f"Day 9|Material 8|Brings, {mass} 3>|Loads 2>|Last load 2>", ())
    for stone in order.stones:
        rows: list[list[Any]] = []
        for one in stone.deliveries:
            on = f", {one.date:%a %b} {one.date.day}" if one.date else ""
            day = "not known" if one.day is None else f"day {one.day}{on}, {hour_words(one.after_h)}"
            brings = ((one.tons, "8.5 two"), (one.loads, "8.5 whole"), (half_up(one.last_tons, 2), "8.5 two"))
            rows.append([day, stone.material, *brings])
        first, row, same = page.row, page.row + len(rows), "as ordered"
        brought = printed(sum(one.tons for one in stone.deliveries))
        rows.append([
            (f"{capital(stone.material)}, all deliveries", "bold 8.5"),
            Formula(f'=IF(U{row}=U{totals[stone.code]},"{same}","differs from the order")', same),
            (Formula(f"=SUM(R{first}:R{row - 1})", brought), "bold 8.5 two"),
            (Formula(f"=SUM(U{first}:U{row - 1})", stone.loads), "bold 8.5 whole")
        ])  # fmt: skip
        table(page, " 9| 8| 3>| 2>| 2>", rows)
    lacking = [step.title for step in order.plan if step.hours is None]
    if lacking:
        lacks = ", ".join(lacking)
        page.line(f"No day is known from here on: the sheet Company has no work rate for: {lacks}.", _LOUD)
    page.line(
        f"By your own production rates, {quote.book.company.hours_per_day:g} h a day: one crew finishes each step on "
        "every area before the next begins. Rain, inspections and other jobs are not counted.", _QUIET
    )
    page.head((1, 24, "Trucks"), gap=5)
    page.said("Shared trips", back_haul_words(order.back_haul), 5, _UP)
    for hauler in order.trucks:
        words, over = weight_words(hauler, units)
        page.said("Weight on the road", words, 5, _LOUD if over else _UP)
    page.head((1, 24, "Text to send to the supplier"), gap=5)
    page.line(message(order), _UP)
    page.close()


def _material(page: Page, quote: Quote, stone: OrderedStone) -> int:
    """Write the rows of a material, its total last, and return the row of that."""
    two, bold = "8.5 two", "bold 8.5 two"
    parts = quote.offer.takeoff.of(stone.code)
    first, row = page.row, page.row + len(parts)
    rows: list[list[Any]] = [[one.variant or one.item, one.area or "whole job", (one.amount, two)] for one in parts]
    loads = f"=IF(AND(ISNUMBER(O{row}),ISNUMBER(R{row})),ROUNDUP(ROUND(O{row}/R{row},9),0),NA())"
    rows.append([
        (f"{capital(stone.material)}, all", bold), None, (Formula(f"=SUM(O{first}:O{row - 1})", stone.tons), bold),
        (stone.full_tons, bold), (Formula(loads, stone.loads), "bold 8.5 whole"),
        (Formula(f"=ROUND(ROUND(O{row}-(U{row}-1)*R{row},8),2)", half_up(stone.last_tons, 2)), bold)
    ])  # fmt: skip
    table(page, " 10| 4| 3>| 3>| 2>| 2>", rows)
    return row


def weight_words(truck: Truck, units: str) -> tuple[str, bool]:
    """Return how heavy a full truck is beside the federal limit, in a sentence, and whether it is too heavy."""
    if lacking := missing(truck):
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
