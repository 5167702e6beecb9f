"""What a season of jobs suggests for the sheet Company: densities, compaction factors, waste and production rates.

Each is a ratio of sums over jobs with its interval: big jobs weigh more; each job is left out once to see what it does.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache
from math import atan, cos, pi, sin, sqrt
from pathlib import Path
from typing import Final

from basecalc.company import Company, Stone
from basecalc.core.errors import InputError
from basecalc.core.numbers import number, plural, quoted
from basecalc.core.units import convert
from basecalc.pricing.price_tables import COMPANY_SHEET, COMPANY_TABLES, STONES
from basecalc.pricing.prices import PriceBook, rows_end
from basecalc.pricing.records import Quote
from basecalc.season.actuals import Brought, JobActuals, Season, Signed, Suggestion, job_actuals
from basecalc.season.lists import WON, Records, rule
from basecalc.tables.from_workbook import Grid, find_grid, open_book
from basecalc.takeoff.codes import code
from basecalc.takeoff.takeoff import stone_mass_kg

CONFIDENCE: Final = rule("confidence")
FEWEST: Final = int(rule("fewest jobs"))
Sums = Sequence[float]


@dataclass(frozen=True, slots=True)
class Interval:
    """A value, the ends of its interval, its standard error, and from how many jobs."""

    value: float
    low: float
    high: float
    error: float
    jobs: int


def t_share(t: float, degrees: int) -> float:
    """Return the share of Student's t distribution that lies between -t and t.

    Examples
    --------
    >>> round(t_share(2.228, 10), 4)
    0.95

    References
    ----------
    ABRAMOWITZ-STEGUN, 26.7.3 and 26.7.4 [memory]: finite series in the angle whose tangent is t over the root of the
    degrees.
    """
    angle = atan(t / sqrt(degrees))
    term = total = cos(angle) if degrees % 2 else 1.0
    for step in range(3 if degrees % 2 else 2, degrees - 1, 2):
        term *= cos(angle) ** 2 * (step - 1) / step
        total += term
    if degrees == 1:
        return 2 * angle / pi
    if degrees % 2:
        return 2 / pi * (angle + sin(angle) * total)
    return sin(angle) * total


@cache
def t_value(degrees: int, confidence: float = CONFIDENCE) -> float:
    """Return the t between minus and plus which a share of Student's t distribution lies.

    Examples
    --------
    >>> round(t_value(4), 3), round(t_value(11), 3)
    (2.776, 2.201)
    """
    number("degrees of freedom", degrees, "", 1)
    share = number("confidence", confidence, "", 0.0, 0.9999, above=True)
    low, high = 0.0, 1.0
    while t_share(high, degrees) < share:
        high *= 2
    for _ in range(80):
        middle = (low + high) / 2
        low, high = (middle, high) if t_share(middle, degrees) < share else (low, middle)
    return (low + high) / 2


def interval(rows: Sequence[Sequence[float]], of: Callable[[Sums], float]) -> Interval:
    """Return what a function of sums over jobs gives, with its interval.

    The value is the function of the sums over all jobs, so that a job weighs by its size. Each job is left out once;
    the variance is the sum of the squares by which that moves the value, and the interval is so many standard errors to
    either side as Student's t with one degree of freedom less than there are jobs says. Jobs are taken to differ
    independently, in any amount.

    Examples
    --------
    >>> found = interval([(11.0, 10.0), (19.0, 20.0), (33.0, 30.0)], lambda sums: sums[0] / sums[1])
    >>> round(found.value, 3), round(found.error, 4)
    (1.05, 0.0714)

    References
    ----------
    MACKINNON-WHITE, HC3: for a ratio of sums the variance is that of a line through zero with weights by size,
    residual / (1 - leverage) squared and summed; the form [read] in the documentation of statsmodels and of the R
    package sandwich. COCHRAN, ch. 6 [memory]: a ratio of sums weighs best where the variance grows with size.
    """
    if len(rows) < 2:
        raise InputError(f"there are {len(rows)} jobs; at least 2 must be there for an interval")
    sums = [sum(parts) for parts in zip(*rows, strict=True)]
    try:
        value = of(sums)
        moved = [of([total - part for total, part in zip(sums, row, strict=True)]) - value for row in rows]
    except ZeroDivisionError:
        raise InputError("one job holds all that there is of this; at least two must have it") from None
    error = sqrt(sum(move * move for move in moved))
    reach = t_value(len(rows) - 1) * error
    return Interval(value, value - reach, value + reach, error, len(rows))


def company_grids(path: str) -> Mapping[str, Grid]:
    """Return the tables of the sheet Company by key, as far as there is such a file."""
    if not Path(path).is_file():
        return {}
    sheet = open_book(path).sheet(COMPANY_SHEET)
    found = {one.key: find_grid(sheet, one.name, one.title, one.fields)[0] for one in COMPANY_TABLES}
    return {key: replace(grid, end=rows_end(found, key)) for key, grid in found.items()}


def place(grid: Grid | None, word: str, field: str) -> str:
    """Return sheet and cell of a field in the row that a word heads; nothing where there is none."""
    first = "name" if grid and "name" in grid.columns else "code"
    for row in grid.rows() if grid else ():
        if grid and grid.word(row, first) == " ".join(word.split()).casefold():
            return str(replace(grid.place(row, field), file=""))
    return ""


_BOUGHT, _BUILT, _LEFT, _WEIGHED, _MEASURED = range(5)
_SHEET: Final = "sheet Company"


def suggestions(jobs: Sequence[JobActuals], company: Company, grids: Mapping[str, Grid]) -> tuple[Suggestion, ...]:
    """Return what the jobs suggest, stone by stone and work by work, in the order of the sheet."""
    found: list[Suggestion] = []
    for stone in company.stones:
        if brought := [one for job in jobs for one in job.brought if one.material == stone.name]:
            said = list(_stone(stone, brought, company.units, grids.get("stones")))
            # the parts of a stone are held together: the product of the three is what was measured
            together = sum(one.new is not None and bool(one.cell) for one in said) > 1
            joined = together and any(one.verdict == "consider" for one in said)
            found += [replace(one, joined=joined) for one in said]
    for work in dict.fromkeys(one.code for job in jobs for one in job.worked):
        found += _rates(work, jobs, company, grids.get("rates"))
    return tuple(found)


def _few(count: int) -> str:
    return f"From {plural(count, 'job')}: fewer than {FEWEST} say too little, so nothing is suggested"


def _stone(stone: Stone, brought: Sequence[Brought], units: str, grid: Grid | None) -> Iterator[Suggestion]:
    """Yield what can be said of a stone over the jobs that brought it, the whole first and then its parts."""
    edge = STONES.field("loose_density").unit(units)
    unit = grid.units.get("loose_density", edge) if grid else edge
    per = convert(1.0, "kg/m3", unit)

    def rows(*, left: bool = False, measured: bool = False) -> list[tuple[float, ...]]:
        """Return the sums of each job that has what is asked for."""
        return [
            (one.delivered_kg, one.built_m3, one.left_kg or 0.0, one.weighed_kg, one.measured_m3)
            for one in brought
            if (one.left_kg is not None or not left) and (one.measured_m3 > 0 or not measured)
        ]

    def suggest(
        what: str, unit: str, old: float, jobs: int, told: str, field: str = "", made: Interval | None = None
    ) -> Suggestion:
        cell = place(grid, stone.name, field) or _SHEET if field else ""
        if made is None:
            return Suggestion(what, stone.name, unit, old, None, None, None, jobs, cell, told)
        low = max(made.low, 0.0) if unit == "share" else made.low
        return Suggestion(what, stone.name, unit, old, made.value, low, made.high, jobs, cell, told)

    whole, back, volumes = rows(), rows(left=True), rows(measured=True)
    name, old = "weight bought per volume built", stone_mass_kg(1.0, stone) * per
    if len(whole) < FEWEST:
        yield suggest(name, unit, old, len(whole), _few(len(whole)))
        return
    yield suggest(
        name, unit, old, len(whole),
        "All that tickets alone can say: loose density x compaction factor x (1 + waste), as one number; a base deeper "
        "or wider than planned is in it too", made=interval(whole, lambda sums: sums[_BOUGHT] / sums[_BUILT] * per),
    )  # fmt: skip
    splits, weighs = len(back) >= FEWEST, len(volumes) >= FEWEST
    if weighs:
        yield suggest(
            "loose density", unit, stone.loose_density_kg_m3 * per, len(volumes),
            "Weight over volume of the loads measured in the truck, with the water they held", "loose_density",
            interval(volumes, lambda sums: sums[_WEIGHED] / sums[_MEASURED] * per),
        )  # fmt: skip
    both = rows(left=splits, measured=weighs)
    told, made = _factor(
        stone, both, splits=splits, weighs=weighs, density=f"{stone.loose_density_kg_m3 * per:.2f} {unit}"
    )
    yield suggest("compaction factor", "", stone.compaction_factor, len(both), told, "compaction_factor", made)
    if splits:
        told = "Stone brought back over stone used; what sank into soft ground is in the compaction factor"
        made = interval(back, lambda sums: sums[_LEFT] / (sums[_BOUGHT] - sums[_LEFT]))
    else:
        made = None
        told = (
            f"Left-over stone was written down on {len(back)} jobs, {FEWEST} are needed: the waste cannot be told "
            "from the compaction factor"
        )
    yield suggest("waste", "share", stone.waste, len(back), told, "waste", made)


def _factor(
    stone: Stone, rows: Sequence[tuple[float, ...]], *, splits: bool, weighs: bool, density: str
) -> tuple[str, Interval | None]:
    """Return what a compaction factor rests on and its interval, with the waste and the density of the sheet or not."""
    if len(rows) < FEWEST:
        return f"{_few(len(rows))}: these have both left-over stone and measured loads", None

    def value(sums: Sums) -> float:
        placed = sums[_BOUGHT] - sums[_LEFT] if splits else sums[_BOUGHT] / (1 + stone.waste)
        return placed / sums[_BUILT] / (sums[_WEIGHED] / sums[_MEASURED] if weighs else stone.loose_density_kg_m3)

    made, limits = interval(rows, value), STONES.field("compaction_factor").kind
    if not limits.low <= made.value <= limits.high:
        return (
            f"The jobs give {made.value:.3f}, outside {limits.low:g} to {limits.high:g}: look for wrong tickets or a "
            "wrong density first"
        ), None
    held = [
        *([] if splits else [f"a waste of {stone.waste:.1%}"]),
        *([] if weighs else [f"a loose density of {density}"]),
    ]
    if held:
        return f"Holds only with {' and '.join(held)}, as the sheet has", made
    return "Stone placed over the volume built and the loose density measured", made


def _rates(work: str, jobs: Sequence[JobActuals], company: Company, grid: Grid | None) -> Iterator[Suggestion]:
    rate = next((one for one in company.rates if one.code == work), None)
    unit = rate.unit if rate else code(work).unit(company.units)
    for who in ("crew", "machine"):
        rows = [
            (convert(one.amount, one.unit, unit), hours)
            for job in jobs for one in job.worked
            if one.code == work and (hours := getattr(one, f"{who}_h"))
        ]  # fmt: skip
        if not rows:
            continue
        field = f"per_{who}_hour"
        cell = place(grid, work, field) or (_SHEET if rate else f"{_SHEET}, work rates, a new row")
        told = "Amount built over hours written down"
        if rate is None:
            told += "; the table of work rates has no row of this work yet"
        made = interval(rows, lambda sums: sums[0] / sums[1]) if len(rows) >= FEWEST else None
        if made is None:
            told = _few(len(rows))
        elif made.low <= 0:
            made, told = None, "The jobs differ too much among themselves to suggest a rate"
        value, low, high = (None, None, None) if made is None else (made.value, made.low, made.high)
        old = getattr(rate, field) if rate else None
        yield Suggestion(field.replace("_", " "), work, unit, old, value, low, high, len(rows), cell, told, 1)


_SIGNED = "Planned is what was signed: the office file of each quote and its signed change order, at their own prices"
_PLANNED = "Planned is worked out anew from the job files and this price workbook, as it is today"
_COST = (
    "Cost made is what invoices, tickets and hours say, the last two at the quote's own prices; where they say nothing "
    "the estimate is taken"
)
_LITTLE = f"No margin made where less than {rule('least share of cost measured'):.0%} of the cost was measured"
_TAKEN = "A job with tickets or hours and no result in a list is taken as won and finished, its tickets complete"


def season(quotes: Sequence[Quote | Signed], records: Records, book: PriceBook | None = None) -> Season:
    """Return the season that some jobs and their records make, compared with a price workbook."""
    if not quotes:
        raise InputError("no job is named; give at least one")
    signed = [one if isinstance(one, Signed) else Signed(one) for one in quotes]
    if book is None:
        if len({one.quote.book.path for one in signed}) > 1:
            raise InputError("the jobs have several price workbooks; name the one to compare them all with")
        book = signed[0].quote.book
    jobs = sorted((job_actuals(one, records) for one in signed), key=lambda one: one.quote.job.number)
    sure = [one for one in jobs if not one.doubts]
    numbers = suggestions(sure, book.company, company_grids(book.path))
    notes = [_SIGNED if any(isinstance(one, Signed) for one in quotes) else _PLANNED]
    if any(one.cost_made is not None for one in jobs):
        notes.append(_COST)
    if any(one.cost_made is not None and one.margin_made is None for one in jobs):
        notes.append(_LITTLE)
    if any(one.result == WON and one.quote.job.number not in records.results for one in jobs):
        notes.append(_TAKEN)
    if doubtful := [one.quote.job.number for one in jobs if one.doubts]:
        left_out = plural(len(doubtful), "job")
        notes.append(f"Left out of every suggestion, for they are in doubt: {left_out} ({', '.join(doubtful)})")
    known = {stone.name for stone in book.company.stones}
    strange = sorted({one.material for job in sure for one in job.brought} - known)
    notes += [f"No suggestion for {quoted(name)}: the price workbook has no stone of that name" for name in strange]
    return Season(book.path, book.company.units, book.company.name, tuple(jobs), numbers, (*notes, *records.notes))
