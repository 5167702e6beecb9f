"""The office's sheet Options: stone only, with geogrid and the one-depth habit side by side, and what each is worth."""

from basecalc.core.numbers import half_up
from basecalc.pricing.records import Estimate, Quote
from basecalc.pricing.site import construction, trucks_may_drive
from basecalc.workbook import charts, office_corner, office_fill
from basecalc.workbook.client_words import capital
from basecalc.workbook.figures import depth_format, depth_words, money, number, unit
from basecalc.workbook.layout import Flow
from basecalc.workbook.office_costs import TITLE as COSTS
from basecalc.workbook.office_costs import Totals
from basecalc.workbook.office_sheet import OPTION_WORDS, columns, finish, options, page_height, start
from basecalc.workbook.style import Look
from basecalc.workbook.values import ValuedBook

TITLE = "Options"
_DASH = '#,##0;-#,##0;"-"'


def write(book: ValuedBook, quote: Quote, revision: int, totals: Totals) -> None:
    """Write the sheet."""
    shown = options(quote)
    widths = (40.0, *((23.0,) * len(shown)), 25.0)
    last_column = "Offered less than habit" if quote.habit is not None else "Offered less than the other"
    flow = start(book, TITLE, widths, quote, revision, "What each way to build it takes and costs.")
    flow.page_height = page_height(flow) * 0.98
    names = [OPTION_WORDS[one.option] + (", offered" if one is quote.offer else "") for one in shown]
    less = len(shown) + 2
    columns(flow, "", *names, last_column, right=tuple(range(2, less + 1)))
    _amounts(flow, quote, shown)
    total_row = _money(flow, shown, totals)
    top = flow.row
    _charts(flow, quote, shown, total_row)
    flow.keep(top)
    for section in (_worth, office_fill.write, office_corner.write, _softer):
        top = flow.row
        section(flow, quote)
        flow.keep(top)
    finish(flow, quote)


def _row(flow: Flow, words: str, values: list[float], format: str, *, total: bool = False) -> None:
    """Write one kind of amount for each option, and by how much the offer stays below the last of them."""
    look: Look = "strong" if total else "number"
    flow.put(1, 1, words, "label" if total else "text")
    for place, value in enumerate(values):
        flow.put(2 + place, 2 + place, value, look, format)
    last = "BCDE"[len(values) - 1]
    row = flow.row
    column = len(values) + 2
    text = f"=IF(AND(ISNUMBER(B{row}),ISNUMBER({last}{row})),{last}{row}-B{row},NA())"
    flow.formula(column, column, text, values[-1] - values[0], look, format)
    flow.next(rule=True)


def _amounts(flow: Flow, quote: Quote, shown: list[Estimate]) -> None:
    units = quote.job.units
    for area in quote.job.areas:
        depths = [one.takeoff.base_m[area.name] for one in shown]
        format = '0" mm"' if units == "metric" else '0.##" in"'
        if all(depth_format(depth, units) == '0" in"' for depth in depths):
            format = '0" in"'
        _row(flow, f"Base depth, {area.name}", [number(depth, "depth", units) for depth in depths], format)
    sums = (
        (f"Ground dug, in place, {unit('volume', units)}", "bank_m3", "volume"),
        (f"Base stone, compacted, {unit('volume', units)}", "stone_m3", "volume"),
        (f"Base stone, {unit('mass', units)}", "stone_kg", "mass"),
    )
    for words, field, kind in sums:
        values = [
            half_up(sum(number(getattr(area, field), kind, units) for area in one.takeoff.areas), 1) for one in shown
        ]
        _row(flow, words, values, "#,##0.0")
    for words, codes in (
        ("Loads out", ("spoil-haul", "old-pavement-haul")),
        ("Loads of stone and sand in", ("stone-haul",)),
    ):
        _row(flow, words, [sum(one.takeoff.amount(code) for code in codes) for one in shown], _DASH)


def _money(flow: Flow, shown: list[Estimate], totals: Totals) -> int:
    rows = (
        ("Cost", totals.cost, "cost"), ("Price before tax", totals.before_tax, "before_tax"),
        ("Total", totals.total, "total"),
    )  # fmt: skip
    less = len(shown) + 2
    last = "BCDE"[len(shown) - 1]
    for words, cells, field in rows:
        row = flow.row
        look: Look = "strong" if field == "total" else "number"
        flow.put(1, 1, words, "label" if field == "total" else "text")
        for place, one in enumerate(shown):
            flow.formula(2 + place, 2 + place, f"={COSTS}!{cells[one.option]}", getattr(one, field), look, "money")
        saved = getattr(shown[-1], field) - getattr(shown[0], field)
        flow.formula(less, less, f"={last}{row}-B{row}", saved, look, "money")
        flow.next(rule=True)
    return flow.row - 1


def _charts(flow: Flow, quote: Quote, shown: list[Estimate], total_row: int) -> None:
    flow.gap(6)
    row, width = flow.room(10, 170), flow.width / 2 - 6
    units = quote.job.units
    deepest = max(number(depth, "depth", units) for one in shown for depth in one.takeoff.base_m.values())
    dearest = float(max(one.total for one in shown))
    titles = tuple(OPTION_WORDS[one.option] for one in shown)
    places = tuple(range(2, 2 + len(shown)))
    first = total_row - 2 - 5 - len(quote.job.areas)
    depths = charts.Block(flow.sheet, first, first + len(quote.job.areas) - 1, 1, places, titles)
    name = f"Base depth, {unit('depth', quote.job.units)}"
    legible = charts.legible(depths, width)
    if legible:  # else the table says it better
        charts.place(flow.sheet, charts.side_by_side(depths, name, "0", deepest), row, 1, width, 166)
    block = charts.Block(flow.sheet, total_row, total_row, 1, places, titles)
    charts.place(
        flow.sheet, charts.side_by_side(block, "Total, $", '"$"#,##0', dearest), row, 3 if legible else 1, width, 166
    )
    flow.keep(row)


def _worth(flow: Flow, quote: Quote) -> None:
    flow.heading("What it is worth")
    texts = [quote.no_habit] if quote.no_habit else []
    if quote.against_habit is not None:
        saved = quote.against_habit.money
        texts.append(
            f"Against the one-depth habit the offer costs {money(abs(saved))} {'less' if saved >= 0 else 'more'}"
            + (": this ground needs more than the habit gives it." if saved < 0 else ".")
        )
    if quote.against_stone is not None:
        saved = quote.against_stone.money
        texts.append(
            f"Geogrid against stone only: {money(abs(saved))} {'less' if saved >= 0 else 'more'}, "
            f"{quote.against_stone.loads} loads fewer in and out."
        )
    if quote.no_geogrid:
        texts.append(capital(quote.no_geogrid))
    if quote.break_even is not None:
        texts.append(quote.break_even.sentence)
    for text in (*texts, *_separator(quote), *_stone_trucks(quote)):
        flow.put(1, len(flow.widths), text)
        flow.next()


def _separator(quote: Quote) -> list[str]:
    """Return what calls for a separator that the offer lacks, and what it costs."""
    if quote.separator is None:
        return []
    why = "; ".join(f"{area}: {words}" for area, words in quote.separator.why.items())
    price = f"it cannot be priced: {quote.separator.cannot}"
    if quote.separator.more is not None:
        price = f"geotextile = true there adds {money(quote.separator.more)} to the offer, tax included"
    return [f"NO SEPARATOR. {capital(why)}. Fine soil works up into the stone; {price}."]


def _stone_trucks(quote: Quote) -> list[str]:
    """Return, area by area, whether the loaded stone trucks may drive on the base."""
    texts = []
    for name, made in quote.offered_depths.items():
        check = construction(quote, name)
        if trucks_may_drive(quote, name):
            text = "the finished base bears them"
        elif check.depth_m is None:
            text = "tip from the end: no base bears them"
        elif check.depth_m <= made.required_m:
            text = "tip from the end, as the job says"
        else:
            deep = depth_words(check.depth_m, quote.job.units)
            text = f"tip from the end: to bear them the base must be {deep} deep (stone_trucks_on_base = true)"
        texts.append(f"Loaded stone trucks, {name}: {text}.")
    return texts


def _softer(flow: Flow, quote: Quote) -> None:
    units, offered = quote.job.units, quote.offer.takeoff.base_m
    flow.heading("Deeper base: what the quote promises the client for it, everything included")
    for name, prices in quote.deeper.areas.items():
        for place, price in enumerate(prices, 1):
            flow.put(1, 1, f"{name}, {depth_words(offered[name] + place * quote.deeper.step_m, units)}")
            flow.put(2, 2, price, "number", "money")
            flow.next(rule=True)
    if not all(quote.deeper.areas.get(area.name) for area in quote.job.areas):
        flow.put(1, len(flow.widths), "An area that is not listed has no promised price: it is priced anew.")
        flow.next()
