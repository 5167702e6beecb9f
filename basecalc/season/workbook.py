"""The workbooks of the season and of the book of quotes, for the office only: a printed page a sheet where it fits."""

from collections import Counter
from collections.abc import Sequence
from decimal import Decimal
from pathlib import Path
from typing import Any, Final

from openpyxl.utils import get_column_letter

from basecalc.core.numbers import half_up, plural, printed
from basecalc.core.units import INCH_M
from basecalc.core.words import OPTION_WORDS, SHOWN_UNITS, capital
from basecalc.render.drawings import Drawing, bars
from basecalc.render.page import Book as Workbook
from basecalc.render.page import Formula, table
from basecalc.season.actuals import VERDICTS, JobActuals, Season, Suggestion, sentence
from basecalc.season.book import SIGNED_STATES, Book, Sum
from basecalc.season.factors import CONFIDENCE
from basecalc.season.lists import LOST, OPEN, SIGNED, WON, rule

_MOST_ROWS: Final = 32  # of a table on one page that can still be read
_MOST_BARS: Final = 12
_TEXT: Final = "8.5"
_NUMBER: Final = "right in1"
_AFTER: Final = "left in1"  # words that follow a number
_COUNTS: Final = "=IF(AND(ISNUMBER({0}),ISNUMBER({1})),{2},NA())"  # a refusal ends in #N/A, never in a smaller total
Heads = Sequence[tuple[str, float, str]]  # title, width [characters], alignment


class _List:
    """A page that is a list: its head, then tables whose columns are the sheet's own."""

    def __init__(self, book: Workbook, title: str, made: Season | Book, words: str, heads: Heads, rows: int) -> None:
        numbers = [one.number for one in made.entries] if isinstance(made, Book) else [
            one.quote.job.number for one in made.jobs
        ]  # fmt: skip
        self.heads, self.short = heads, rows <= _MOST_ROWS
        foot = f"{made.company}, {title}. Office only."
        self.page = book.page(
            title, foot, "Page &P of &N", high=int(self.short), wide=True, widths=[width for _, width, _ in heads]
        )
        span = " to ".join(dict.fromkeys((numbers[0], numbers[-1])))
        self.say(title, "bold 16 ink")
        self.say(f"{made.company}, quotes {span}. {words} Office only.")
        self.page.next(4)

    def say(self, words: str, look: str = "8.5 gray") -> None:
        """Write a line over the whole width."""
        self.page.write(None, (1, self.page.columns, words, look))

    def table(self, rows: Sequence[Sequence[Any]]) -> int:
        """Write the list and return the row of its headings."""
        head = self.page.row
        table(self.page, [(at, at, title, to) for at, (title, _, to) in enumerate(self.heads, 1)], rows, _TEXT)
        return head

    def chart(self, title: str, column: int, drawing: Drawing) -> None:
        """Draw a chart below this row, with its title in the row, from a column on."""
        self.page.put(column, min(column + 5, self.page.columns), title, "bold 9")
        self.page.book.draw(self.page.sheet.title, column, self.page.row + 1, drawing)

    def close(self, head: int) -> None:
        """End the page; a long one repeats its headings."""
        self.page.close("" if self.short else f"{head}:{head}")


def _total(column: int, first: int, last: int, value: Decimal | int, look: str) -> tuple[Formula, str]:
    """Return the sum of a column, which is an error where one of its cells does not hold a number."""
    letter = get_column_letter(column)
    cells = f"{letter}{first}:{letter}{last}"
    return Formula(f"=IF(COUNT({cells})={last - first + 1},SUM({cells}),NA())", value), f"bold {_TEXT} {look}"


def _margin(price: str, cost: str, value: float, look: str = "") -> tuple[Formula, str]:
    return Formula(_COUNTS.format(price, cost, f"({price}-{cost})/{price}"), printed(value)), f"{look} {_TEXT} percent"


def _form(value: Any, look: str) -> tuple[Any, str]:
    return value, f"{_TEXT} {look}"


def season_file(made: Season) -> bytes:
    """Return the season's workbook: two sheets, a printed page each where they are short."""
    book = Workbook(made.units)
    _season(book, made)
    _factors(book, made)
    return book.to_bytes("Season", made.company, "Used against estimated. Office only.")


def _season(book: Workbook, made: Season) -> None:
    order = {WON: 0, SIGNED: 1, OPEN: 2, LOST: 3}
    jobs = sorted(made.jobs, key=lambda one: (one.margin_made is None, one.cost_made is None, order[one.result]))
    count = Counter(one.result for one in jobs)
    built = [one for one in jobs if one.margin_made is not None]
    metric = made.units == "metric"
    heads = (
        ("Quote", 12, "left"), ("Client", 22, "left"), ("Result", 8, "left"), ("Built", 15, "left"),
        ("Quoted before tax", 13, _NUMBER), ("Cost planned", 13, _NUMBER), ("Charged before tax", 13, _NUMBER),
        ("Cost made", 13, _NUMBER), ("Margin planned", 9, _NUMBER), ("Margin made", 8, _NUMBER),
        ("Of the cost measured", 11, _NUMBER), (f"Less base than standard, {'mm' if metric else 'in'}", 13, _NUMBER),
    )  # fmt: skip
    page = _List(book, "Season", made, "What was quoted, won and made.", heads, len(jobs))
    still = "".join(f", {count[word]} {word}" for word in (SIGNED, OPEN) if count[word])
    page.say(
        f"{len(jobs)} quotes: {count[WON]} won, {count[LOST]} lost{still}. {len(built)} built with at least "
        f"{rule('least share of cost measured'):.0%} of the cost measured; margin is price before tax less cost, so "
        "overhead, contingency and profit together.", "9",
    )  # fmt: skip
    page.page.next(4)
    first = page.page.row + 1
    rows = [_job_row(row, one, metric=metric) for row, one in enumerate(jobs, first)]
    if built:
        rows.insert(len(jobs), _measured_row(built, first, first + len(jobs)))
    head = page.table(rows)
    page.page.next(8)
    _season_charts(page, jobs, built, metric=metric)
    for one in jobs:
        for note in one.notes:
            page.say(sentence(f"{one.quote.job.number}: {note}"))
    for note in made.notes:
        page.say(sentence(note))
    page.close(head)


def _job_row(row: int, one: JobActuals, *, metric: bool) -> list[Any]:
    made: tuple[Any, ...] = ("", "", "")
    if one.cost_made is not None and one.margin_made is not None:
        made = _form(one.price, "money"), _form(one.cost_made, "money"), _margin(f"G{row}", f"H{row}", one.margin_made)
    return [
        _form(one.quote.job.number, "bold"), one.quote.job.client, one.result,
        OPTION_WORDS[one.planned.option] if one.result != LOST else "", _form(one.quoted, "money"),
        _form(one.planned.cost, "money"), *made[:2], _margin(f"E{row}", f"F{row}", one.margin_planned), made[2],
        "" if one.cost_made is None else _form(printed(one.measured), "percent"),
        "not possible" if one.saved_m is None else _saved(one.saved_m, metric=metric),
    ]  # fmt: skip


def _saved(saved_m: float, *, metric: bool) -> Any:
    return _form(half_up(saved_m * 1000), "whole") if metric else _form(half_up(saved_m / INCH_M, 1), "one")


def _measured_row(built: Sequence[JobActuals], first: int, row: int) -> list[Any]:
    """Return the sums of the jobs measured, which come first in the table."""
    last = first + len(built) - 1
    sums = [
        sum((amount for amount in amounts), Decimal(0))
        for amounts in zip(
            *((one.quoted, one.planned.cost, one.price, one.cost_made or Decimal(0)) for one in built), strict=True
        )
    ]
    shares = [float((sums[at] - sums[at + 1]) / sums[at]) for at in (0, 2)]
    return [
        _form(f"{len(built)} measured", "bold"), "", "", "",
        *(_total(column, first, last, amount, "money") for column, amount in enumerate(sums, 5)),
        _margin(f"E{row}", f"F{row}", shares[0], "bold"), _margin(f"G{row}", f"H{row}", shares[1], "bold"), "", "",
    ]  # fmt: skip


def _season_charts(page: _List, jobs: Sequence[JobActuals], built: Sequence[JobActuals], *, metric: bool) -> None:
    """Draw the jobs whose margin came out furthest from plan, and by how much the bases were thinner than usual."""
    charts: list[tuple[str, int, Drawing]] = []
    off = [((one.margin_made or 0.0) - one.margin_planned, one) for one in built]
    furthest = sorted(sorted(off, key=lambda pair: -abs(pair[0]))[:_MOST_BARS], key=lambda pair: pair[0])
    if furthest:
        drawn = [
            (f"{one.quote.job.number} {one.quote.job.client}"[:34], points, f"{one.margin_made:.1%}")
            for points, one in furthest
        ]
        few = f": the {len(furthest)} of {len(built)} jobs furthest from plan" if len(furthest) < len(built) else ""
        title = f"Margin made against margin planned{few}"
        charts.append((title, 1, _bars(drawn, 0.0, "as planned; dark: less, light: more", 4.9)))
    step, each, unit = (0.05, 50, "mm") if metric else (INCH_M, 1, "in")
    steps = sorted(Counter(int(half_up(one.saved_m / step)) for one in jobs if one.saved_m is not None).items())
    if steps:
        drawn = [
            (
                f"{abs(at) * each} {unit} {'less' if at > 0 else 'more'}" if at else "as the standard depth",
                float(many), plural(many, "job"),
            )
            for at, many in steps
        ]  # fmt: skip
        charts.append(("Base against the standard depth", 7, _bars(drawn, 0.0, "", 4.9)))
    for title, column, drawing in charts:
        page.chart(title, column, drawing)
    if charts:
        page.page.next(16)
        page.page.next(max(drawing.height for _, _, drawing in charts) * 72 + 6)


def _bars(rows: Sequence[tuple[str, float, str]], middle: float, caption: str, width: float) -> Drawing:
    """Return a bar for each name, from one value of all to its own, which is written at its end."""
    words = {at: (said, "") if value < middle else ("", said) for at, (_, value, said) in enumerate(rows)}
    spans = [(name, min(value, middle), middle, max(value, middle)) for name, value, _ in rows]
    return bars(spans, words, caption, width)


def _over_jobs(made: Season) -> list[tuple[str, str, float, float, int]]:
    """Return each quantity over the jobs where it was both estimated and used: materials, loads, hours."""
    both: dict[tuple[str, str], list[tuple[float, float]]] = {}
    for one in made.jobs:
        for row in one.rows:
            if row.estimated is not None and row.used is not None:
                both.setdefault((row.what, row.unit), []).append((row.estimated, row.used))
    found = [
        (what, unit, sum(pair[0] for pair in pairs), sum(pair[1] for pair in pairs), len(pairs))
        for (what, unit), pairs in both.items()
    ]
    return sorted(found, key=lambda one: ("load", "h").index(one[1]) + 1 if one[1] in ("load", "h") else 0)


def _factors(book: Workbook, made: Season) -> None:
    heads = (
        ("Row", 22, "left"), ("Number", 20, "left"), ("Unit", 8, "left"), ("Yours", 9, _NUMBER),
        ("Suggested", 9, _NUMBER), ("From", 9, _NUMBER), ("To", 9, _NUMBER), ("Jobs", 6, _NUMBER),
        ("Advice", 19, _AFTER), ("Where it is", 22, "left"), ("What it means", 36, "left"),
    )  # fmt: skip
    page = _List(
        book, "Factors", made, "Used against estimated over all jobs, and what that suggests.", heads,
        len(made.suggestions),
    )  # fmt: skip
    if found := _over_jobs(made):
        _used(page, found)
    page.page.head((1, page.page.columns, "For your price workbook, to be entered by hand or not"))
    head = page.table([_suggestion(one) for one in made.suggestions])
    if not made.suggestions:
        page.say("No tickets or hours that a factor could rest on.", "9")
    page.page.next(4)
    page.say(
        f"From and to are the ends of a {CONFIDENCE:.0%} interval: of twenty such intervals about one misses. Each "
        "number is a sum over all jobs, so big jobs weigh more; how far the jobs differ among themselves makes the "
        "interval. What all jobs have in common, such as a base always dug too deep or a scale that is off, no "
        f"interval shows. Nothing was written to {Path(made.prices).name}."
    )
    page.close(head)


def _used(page: _List, found: Sequence[tuple[str, str, float, float, int]]) -> None:
    first, top = page.page.row + 1, page.page.used
    share = "=IF(AND(ISNUMBER(D{0}),ISNUMBER(E{0})),E{0}/D{0},NA())"
    heads = (
        (1, 2, "Quantity", "left"), (3, 3, "Unit", "left"), (4, 4, "Estimated", _NUMBER), (5, 5, "Used", _NUMBER),
        (6, 6, "Of estimate", _NUMBER), (7, 7, "Jobs", _NUMBER),
    )  # fmt: skip
    table(
        page.page, heads,
        [
            [
                _form(capital(what), "bold"), SHOWN_UNITS.get(unit, unit),
                *(_form(printed(amount), "whole" if unit == "load" else "one") for amount in (estimated, used)),
                _form(Formula(share.format(row), printed(used) / printed(estimated)), "percent"), jobs,
            ]
            for row, (what, unit, estimated, used, jobs) in enumerate(found, first)
        ],
        _TEXT,
    )  # fmt: skip
    drawn = [(capital(what), used / estimated, f"{used / estimated:.0%}") for what, _, estimated, used, _ in found]
    drawing = _bars(drawn, 1.0, "as estimated; dark: less, light: more", 5.0)
    page.page.book.draw(page.page.sheet.title, 9, first, drawing)
    page.page.next(max(drawing.height * 72 - (page.page.used - top) + 20, 4.0))


def _suggestion(one: Suggestion) -> list[Any]:
    form = "percent" if one.unit == "share" else "two" if "/" in one.unit else "one" if one.places == 1 else "three"
    unit = "%" if one.unit == "share" else "/".join(SHOWN_UNITS.get(part, part) for part in one.unit.split("/"))
    return [
        _form(one.of, "bold"), capital(one.what), unit.replace("tons/", "ton/"),
        *(
            _form(None if value is None else printed(value), f"{'bold ' if value is one.new else ''}{form}")
            for value in (one.old, one.new, one.low, one.high)
        ),
        one.jobs, capital(VERDICTS[one.verdict]), one.cell, _form(f"{one.told}.", "gray"),
    ]  # fmt: skip


def book_file(made: Book) -> bytes:
    """Return the workbook of the book of quotes: every quote, and the totals by month and by option."""
    book = Workbook(made.units)
    heads = (
        ("Quote", 12, "left"), ("Client", 20, "left"), ("Site", 25, "left"), ("Total", 12, _NUMBER),
        ("Margin", 8, _NUMBER), ("Written", 11, _AFTER), ("Valid until", 10, "left"), ("Option", 14, "left"),
        ("Changes signed", 11, _NUMBER), ("Not signed", 11, _NUMBER), ("State", 21, _AFTER), ("To do", 25, "left"),
    )  # fmt: skip
    page = _List(book, "Book", made, f"Every quote in {made.folder} on {made.day}.", heads, len(made.entries))
    rows: list[list[Any]] = []
    for one in made.entries:
        changes = [
            next((change.adds for change in reversed(one.standing) if change.signed is signed), None)
            for signed in (True, False)
        ]
        rows.append([
            _form(f"{one.number}-r{one.revision}", "bold"), one.client, one.site, _form(one.total, "money"),
            _form(None if one.margin is None else printed(one.margin), "percent"), one.written, one.valid_until,
            OPTION_WORDS[one.option], *(_form(adds, "money") for adds in changes), one.state_words,
            _form(one.to_do, "bold loud" if one.to_do else ""),
        ])  # fmt: skip
    head = page.table(rows)
    for text in made.not_counted:
        page.say(f"Not counted: {text}", "bold 8.5 loud")
    page.close(head)
    _sums(book, made)
    return book.to_bytes("Book of quotes", made.company, "Every quote, its state and margin. Office only.")


def _sums(book: Workbook, made: Book) -> None:
    titles = ("Quotes", "Total", "Sent", "Sent, $", "Signed", "Signed, $", "Lost", "Lost, $", "Won", "Won, of $")
    heads = (("", 16.0, "left"), *((title, 9.0 if at % 2 else 14.0, _NUMBER) for at, title in enumerate(titles, 1)))
    page = _List(book, "Totals", made, "By the month written, and by option.", heads, len(made.months))
    for title, sums in (("By month", made.months), ("By option", made.options)):
        page.page.head((1, page.page.columns, title))
        first = page.page.row + 1
        whole = Sum("All", made.entries)
        rows = [_sum_row(one, row) for row, one in enumerate((*sums, whole), first)]
        for at in range(1, 9):
            value, look = rows[-1][at]
            rows[-1][at] = _total(at + 1, first, first + len(sums) - 1, value, look)
        head = page.table([*rows[:-1], [_bold(cell) for cell in rows[-1]]])
        page.page.next(6)
    page.close(head)


def _bold(cell: Any) -> Any:
    return (cell[0], f"bold {cell[1]}") if isinstance(cell, tuple) else (cell, f"bold {_TEXT}")


def _sum_row(one: Sum, row: int) -> list[Any]:
    """Return counts and totals, then signed as a share of decided, by number and by money; a dash where none is."""
    cells: list[Any] = [_form(one.name, "bold")]
    for states in ((), ("sent",), SIGNED_STATES, ("lost",)):
        count, total = one.of(*states)
        cells += [_form(count, "whole"), _form(total, "money")]
    for signed, lost, value in (("F", "H", one.won()), ("G", "I", one.won(1))):
        share = Formula(f"={signed}{row}/({signed}{row}+{lost}{row})", printed(value or 0.0))
        cells.append("-" if value is None else _form(share, "percent"))
    return cells
