"""The office's sheet Costs: every line at one unit price, for each option; mark-ups, tax, total; the client's lines."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from basecalc.pricing.price_changes import old_in_quote, old_words
from basecalc.pricing.prices import PriceBook
from basecalc.pricing.records import Estimate, Line, Quote
from basecalc.takeoff.codes import scopes
from basecalc.workbook.figures import quantity_format, shown_unit
from basecalc.workbook.layout import Flow
from basecalc.workbook.office_sheet import COUNTS, OPTION_WORDS, columns, finish, options, start
from basecalc.workbook.style import align
from basecalc.workbook.values import ValuedBook

TITLE: Final = "Costs"
_FIRST_OPTION: Final = 6  # column of the first option's quantity; its amount stands beside it


@dataclass(frozen=True, slots=True)
class Totals:
    """Where the sheet Costs keeps the results of each option: cells by option."""

    cost: Mapping[str, str]
    before_tax: Mapping[str, str]
    total: Mapping[str, str]


def _letter(place: int, *, amount: bool) -> str:
    return "FGHIJK"[2 * place + amount]


def write(book: ValuedBook, quote: Quote, revision: int) -> Totals:
    """Write the sheet and return where its totals stand."""
    shown = options(quote)
    flow, head, cells = write_lines(
        book, TITLE, quote, revision, "Quantities times the owner's unit prices, with mark-ups and tax.", shown,
        [OPTION_WORDS[one.option] + (", offered" if one is quote.offer else "") for one in shown],
    )  # fmt: skip
    names: list[str] = [one.option for one in shown]
    totals = Totals(*(dict(zip(names, row, strict=True)) for row in cells))
    _client_lines(flow, quote, totals.total[quote.offer.option])
    if words := old_words(old_in_quote(quote), quote.book.company):
        flow.gap(6)
        flow.put(1, 9, words, "caution")
        flow.next()
    finish(flow, quote, repeat_rows=f"{head - 1}:{head}", freeze=f"C{head + 1}")
    return totals


def write_lines(
    book: ValuedBook, title: str, quote: Quote, revision: int, words: str, shown: list[Estimate], called: Sequence[str]
) -> tuple[Flow, int, tuple[tuple[str, ...], ...]]:
    """Write a sheet of priced lines with their sums, estimates side by side."""
    widths = (17.0, 40.0, 6.5, 14.0, 7.0, *((11.0, 13.5) * len(shown)), 36.0)
    flow = start(book, title, widths, quote, revision, words)
    note = len(widths)
    flow.put(1, 5, "", "column")
    for place, name in enumerate(called):
        first = _FIRST_OPTION + 2 * place
        flow.put(first, first + 1, name, "column", across="right")
    flow.put(note, note, "", "column")
    flow.next()
    titles = [
        "Code",
        "Item",
        "Unit",
        "Unit price",
        "Taxed",
        *(["Quantity", "Amount"] * len(shown)),
        "  Price cell, supplier, priced on",
    ]
    head = columns(flow, *titles, right=(4, *range(_FIRST_OPTION, note)))
    first = flow.row
    for scope, lines in _grouped(shown).items():
        named = next(line for found in lines for line in found if line is not None)
        flow.put(1, 2, scopes()[scope].title if scope in scopes() else named.title, "label")
        flow.next()
        for found in lines:
            _line(flow, quote.book, found, note)
    last = flow.row - 1
    return flow, head, _results(flow, shown, first, last)


def _grouped(shown: list[Estimate]) -> dict[str, list[tuple[Line | None, ...]]]:
    """Return the lines of all options by the client's scope, those that differ only in quantity side by side."""
    order = list(scopes())
    rows: dict[tuple[str, ...], list[Line | None]] = {}
    for place, one in enumerate(shown):
        seen: dict[tuple[str, ...], int] = {}
        for line in one.lines:
            same = (line.scope, line.code, line.item, line.work, line.unit, str(line.unit_price), str(line.taxable))
            seen[same] = seen.get(same, 0) + 1
            row = rows.setdefault((*same, str(seen[same])), [None] * len(shown))
            row[place] = line
    grouped: dict[str, list[tuple[Line | None, ...]]] = {}
    for key in sorted(rows, key=lambda key: order.index(key[0]) if key[0] in order else len(order)):
        grouped.setdefault(key[0], []).append(tuple(rows[key]))
    return grouped


def _line(flow: Flow, book: PriceBook, found: tuple[Line | None, ...], note: int) -> None:
    line = next(one for one in found if one is not None)
    row = flow.row
    flow.put(1, 1, line.code)
    flow.put(2, 2, line.item)
    flow.put(3, 3, shown_unit(line.unit))
    flow.put(4, 4, line.unit_price, "number", '"$"#,##0.00######')
    flow.put(5, 5, line.taxable)
    for place, one in enumerate(found):
        quantity = _letter(place, amount=False)
        column = _FIRST_OPTION + 2 * place
        flow.put(column, column, one.quantity if one else Decimal(0), "number", quantity_format(line.unit))
        flow.formula(
            column + 1, column + 1,
            COUNTS.format(f"{quantity}{row}", f"$D{row}", f"ROUND({quantity}{row}*$D{row},2)"),
            one.amount if one else Decimal(0), "number", '"$"#,##0.00;-"$"#,##0.00;"-"',
        )  # fmt: skip
    price = book.prices.get(line.code)
    supplier = (price.supplier, f"{price.priced_on:%Y-%m-%d}" if price.priced_on else "") if price else ()
    told = flow.put(
        note,
        note,
        "; ".join(part for part in (line.cell.removeprefix("sheet Prices, cell "), *supplier, line.note) if part),
        "quiet",
    )
    align(told, across="left", indent=1)
    flow.next(rule=True)


def _results(flow: Flow, shown: list[Estimate], first: int, last: int) -> tuple[tuple[str, ...], ...]:
    """Write cost, mark-ups, tax and total below the lines; return the cells of cost, price before tax and total."""
    marks = shown[0].markups
    used = {key: words for key, words in _ROWS.items() if key not in _TERMS or any(one.sum(key) for one in shown)}
    rows = {key: flow.row + place for place, key in enumerate(used)}
    for key, (words, share) in used.items():
        strong = key in ("cost", "before_tax", "total")
        flow.put(1, 3, words, "total" if strong else "text")
        rate = getattr(marks, share) if share else None
        flow.put(4, 4, rate, "total" if strong else "number", "0.0##%")
        flow.put(5, 5, None, "total" if strong else "text")
        for place, one in enumerate(shown):
            at = _letter(place, amount=True)
            column = _FIRST_OPTION + 2 * place
            flow.put(column, column, None, "total" if strong else "text")
            if key in _TERMS:
                flow.put(column + 1, column + 1, _TERMS[key] * one.sum(key), "number", "money")
                continue
            text = _formula(key, at, rows, first, last)
            flow.formula(column + 1, column + 1, text, getattr(one, key), "total" if strong else "number", "money",
                         across="right")  # fmt: skip
        flow.put(len(flow.widths), len(flow.widths), None, "total" if strong else "text")
        flow.next()
    return tuple(
        tuple(f"{_letter(place, amount=True)}{rows[key]}" for place in range(len(shown)))
        for key in ("cost", "before_tax", "total")
    )


_ROWS: Final = {
    "cost": ("Cost", ""),
    "contingency": ("Contingency, on cost", "contingency"),
    "overhead": ("Overhead, on cost and contingency", "overhead"),
    "profit": ("Profit, a share of the price before tax", "profit"),
    "charged": ("Lines charged as they are", ""),
    "discount": ("Discount", ""),
    "small_job": ("Up to the minimum charge", ""),
    "rounding": ("Rounding", ""),
    "before_tax": ("Price before tax", ""),
    "taxable": ("of the cost, taxable", ""),
    "tax": ("Tax, on taxable lines", "tax_rate"),
    "total": ("Total", ""),
}


_TERMS: Final = {"charged": 1, "discount": -1, "small_job": 1, "rounding": 1}  # and how they count in the price


def _formula(key: str, at: str, rows: Mapping[str, int], first: int, last: int) -> str:
    cell = {name: f"{at}{row}" for name, row in rows.items()}
    rate = f"$D{rows[key]}"
    loaded = f"({cell['cost']}+{cell['contingency']}+{cell['overhead']})"
    return {
        "cost": f"=SUM({at}{first}:{at}{last})" + (f"-{cell['charged']}" if "charged" in cell else ""),
        "contingency": f"=ROUND({cell['cost']}*{rate},2)",
        "overhead": f"=ROUND(({cell['cost']}+{cell['contingency']})*{rate},2)",
        "profit": f"=ROUND({loaded}/(1-{rate})-{loaded},2)",
        "before_tax": f"=SUM({at}{rows['cost']}:{at}{rows['before_tax'] - 1})",
        "taxable": f'=SUMIF($E${first}:$E${last},"yes",{at}{first}:{at}{last})',
        "tax": f"=ROUND({cell['taxable']}*{rate},2)",
        "total": f"={cell['before_tax']}+{cell['tax']}",
    }[key]


def _client_lines(flow: Flow, quote: Quote, total: str) -> None:
    """Write the client's lines and hold their sum against the total."""
    flow.heading("What the client's file says", 0)
    first = flow.row
    for line in quote.offer.scope_prices:
        flow.put(1, 3, line.title)
        flow.put(4, 4, line.amount, "number", "money")
        flow.next()
    flow.put(1, 3, "Sum of the client's lines", "total")
    own = flow.formula(4, 4, f"=SUM(D{first}:D{flow.row - 1})", quote.offer.total, "total", "money", across="right")
    flow.next()
    flow.put(1, 3, "Less the total above")
    off = flow.formula(4, 4, f"=ROUND({own}-{total},2)", Decimal(0), "number", "money")
    words = f'=IF(ISNUMBER({off}),IF({off}=0,"the two agree to the cent","they differ: do not send"),NA())'
    flow.formula(5, 9, words, "the two agree to the cent", "text")
    flow.next()
