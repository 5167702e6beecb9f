"""Quantities times the owner's prices: lines, markups, tax, total to the cent, and what the client reads.

Also what follows from two priced options: savings, and the geogrid price at which both cost the same.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction
from functools import cache, partial
from math import floor
from typing import Any, Final, Literal

from basecalc.company import STONE_CODES, Company, Paver, Rate, Roll, Stone
from basecalc.core.errors import PriceError
from basecalc.core.expressions import SI
from basecalc.core.numbers import CENT, cents, decimal, fixed
from basecalc.core.units import COUNTED_UNITS, YARD2_M2
from basecalc.job.record import ExtraLine, Job
from basecalc.pricing.prices import Price, PriceBook
from basecalc.pricing.records import BreakEven, Estimate, Line, Markups, Saving, ScopePrice, WorkHours
from basecalc.takeoff.codes import code, unit_in
from basecalc.takeoff.model import MODEL, SCOPES, Code
from basecalc.takeoff.takeoff import Quantity, Takeoff


def markups_of(company: Company) -> Markups:
    """Return the owner's mark-ups as exact decimals."""
    given = (company.contingency, company.overhead, company.profit, company.tax_rate, company.discount)
    shares = [_share(value) for value in given]
    if shares[2] >= 1:
        raise PriceError(f"profit is {shares[2]:%} of the price; it must be below 100 %", where="sheet Company")
    if company.deposit + company.progress > 1:
        raise PriceError(
            f"deposit and progress payment are {company.deposit + company.progress:.4g} of the total; they must be at "
            "most all of it",
            where="sheet Company",
        )
    return Markups(*shares)


def _share(value: float) -> Decimal:
    return Decimal(f"{value:.9g}")


@cache
def factor(markups: Markups, *, taxable: bool, as_price: bool = False) -> Fraction:
    """Return what one dollar of a line adds to the total, exactly: the sums of the model with nothing rounded."""
    shares = {key: Fraction(share) for key, share in _shares(markups).items()}
    known = {
        "line_cost": [int(not as_price)], "line_price": [int(as_price)], "least_rest": [], "taxed": [int(taxable)],
        "least_taxed": [],
    }  # fmt: skip
    return Fraction(MODEL.value("summed", {**shares, **known}, exact=True, minimum_charge=0))


def _factor_of(line: Line, markups: Markups) -> Fraction:
    return factor(markups, taxable=line.taxable, as_price=line.sense == "price")


def _shares(markups: Markups) -> dict[str, Decimal]:
    return {
        "contingency_share": markups.contingency, "overhead_share": markups.overhead, "profit_share": markups.profit,
        "tax_share": markups.tax_rate, "discount_share": markups.discount,
    }  # fmt: skip


def cents_down(value: Fraction) -> Decimal:
    """Return money rounded down to the cent.

    Examples
    --------
    >>> cents_down(Fraction(10, 3))
    Decimal('3.33')
    """
    return Decimal(floor(value * 100)) * CENT


def spread(total: Decimal, weights: Mapping[str, Fraction]) -> dict[str, Decimal]:
    """Return the total in whole cents by weight; what rounding leaves goes to the largest remainders.

    Examples
    --------
    >>> spread(Decimal("10.00"), {"a": Fraction(1), "b": Fraction(1), "c": Fraction(1)})
    {'a': Decimal('3.34'), 'b': Decimal('3.33'), 'c': Decimal('3.33')}
    """
    whole = sum(weights.values(), Fraction(0))
    if whole == 0:
        return {key: Decimal("0.00") for key in weights}
    return _in_cents(total, {key: Fraction(total) * weight / whole for key, weight in weights.items()})


def differences(total: Decimal, before: Mapping[str, Fraction], after: Mapping[str, Fraction]) -> dict[str, Decimal]:
    """Return by how much each share that changes does so, in whole cents that sum to the total.

    Examples
    --------
    >>> differences(Decimal("1.01"), {"a": Fraction(1), "b": Fraction(2)}, {"a": Fraction(2), "b": Fraction(2)})
    {'a': Decimal('1.01')}
    """
    exact = {key: after.get(key, Fraction(0)) - before.get(key, Fraction(0)) for key in {**before, **after}}
    return _in_cents(total, {key: value for key, value in exact.items() if value})


def _in_cents(total: Decimal, exact: Mapping[str, Fraction]) -> dict[str, Decimal]:
    """Return each amount down to the cent; cents left of the total go, one each, to those that lost most by that."""
    share = {key: floor(value * 100) for key, value in exact.items()}
    order = sorted(exact, key=lambda key: share[key] - exact[key] * 100)
    left = int(total / CENT) - sum(share.values())
    for place in range(left if order else 0):
        share[order[place % len(order)]] += 1
    for place in range(-left if order else 0):
        share[order[-1 - place % len(order)]] -= 1
    return {key: Decimal(value) * CENT for key, value in share.items()}


OWN_PRICE: Final = "own price"  # the code of a line that is priced on the job itself
_TIME: Final = {"crew": "crew-time", "machine": "machine-time"}


@dataclass(frozen=True, slots=True)
class _Draft:
    """A line before it is rounded: an amount in SI, and how much of it one unit of the price is."""

    of: Quantity
    scope: str
    item: str
    amount: float
    size: float
    rate: float
    price: Price
    working: str
    work: str = ""
    text: str = ""
    sense: Literal["cost", "price"] = "cost"


def estimate(takeoff: Takeoff, book: PriceBook, *, part: bool = False) -> Estimate:
    """Return the priced take-off: office lines, mark-ups, total, and the lines the client reads.

    Parameters
    ----------
    takeoff
        Every quantity of one option.
    book
        The owner's settings and prices.
    part
        Whether it is only a part of a job: no extra lines, mobilization, minimum charge and rounding.

    Raises
    ------
    PriceError
        A quantity without a price, or a price for a unit that the quantity cannot be turned into.

    Notes
    -----
    Lines, markups and total are declared in `basecalc.takeoff.model`, tables LINE, MINIMUM and PRICE:
    line = printed quantity x unit price; contingency on cost; overhead on both; profit = (cost of all kinds) x share /
    (1 - share), a share of the price before tax; to that the lines charged as they are, less the discount, up to the
    minimum charge; tax on the taxable lines; rounded up. `Estimate.values` holds what they gave.
    """
    drafts, hours, rows, minimums, sums = _worked_out(takeoff, book, part=part)
    lines = _with_minimums([_line(draft, row) for draft, row in zip(drafts, rows, strict=True)], minimums, book)
    markups = markups_of(book.company)
    return Estimate(
        takeoff, lines, markups, sums["cost"], sums["contingency"], sums["overhead"], sums["profit"],
        sums["taxable_cost"], sums["tax"], sums["price_total"], _scope_prices(lines, markups, sums, book.company),
        hours,
        {"line": tuple(rows), "minimum": tuple(minimums), "price": (sums,)},
    )  # fmt: skip


def total_of(takeoff: Takeoff, book: PriceBook) -> Decimal:
    """Return the total of `estimate` alone."""
    return Decimal(_worked_out(takeoff, book, part=False)[-1]["price_total"])


_Row = dict[str, Any]


def _worked_out(
    takeoff: Takeoff, book: PriceBook, *, part: bool
) -> tuple[list[_Draft], tuple[WorkHours, ...], list[_Row], list[_Row], _Row]:
    """Return the lines before rounding, the hours, and the values of the model for lines, minimums and price."""
    drafts, hours = _drafts(takeoff, book)
    if not part:
        drafts += _extras(takeoff.job, book)
    rows = [_row(draft) for draft in drafts]
    minimums = _minimums(rows, book)
    columns = {key: [row[key] for row in rows] for key in ("line_cost", "line_price", "taxed")}
    least = {key: [row[key] for row in minimums] for key in ("least_rest", "least_taxed")}
    terms = {**_shares(markups_of(book.company)), **_terms(book.company, part=part)}
    return drafts, hours, rows, minimums, MODEL.work_out("price", {**terms, **columns, **least})


def _terms(company: Company, *, part: bool) -> dict[str, Decimal]:
    """Return what the model takes of the owner's terms: minimum charge, rounding, when the total is due."""
    return {
        "minimum_charge": Decimal(0) if part else _share(company.minimum_charge),
        "round_to": Decimal(0) if part or company.round_price == "off" else Decimal(company.round_price),
        "deposit_share": _share(company.deposit),
        "progress_share": _share(company.progress),
    }


_MOBILIZATION: Final = "mobilization"


def _extras(job: Job, book: PriceBook) -> list[_Draft]:
    """Return the extra lines of a job before rounding, mobilization last."""
    drafts = []
    for place, line in enumerate(job.lines, 1):
        where = f"{job.place()}, line {place}"
        price = book.prices.get(line.code) if line.code else _own_price(line, where)
        if price is None:
            raise PriceError(
                f"there is no price for {line.code!r}; add a row {line.code!r} to the table of prices, or write item, "
                "unit and unit price on the line",
                where=where,
            )
        unit = line.unit or price.unit
        each = unit_in(unit, price.unit)
        if each is None:
            raise PriceError(
                f"unit is {unit!r}; the price of {price.code!r} is for one {price.unit}, and {unit} cannot be turned "
                "into that",
                where=where,
            )
        if line.quantity is None and unit != "lump":
            raise PriceError(f"quantity is missing; it must be how many {unit} there are", where=where)
        amount = 1.0 if line.quantity is None else line.quantity
        if line.taxable is not None:
            price = replace(price, taxable=line.taxable)
        item = line.item or price.item or line.code
        working = f"{line.area}: typed on the job" if line.area else "typed on the job"
        of = Quantity("", item, line.area, amount, unit, working)
        drafts.append(_Draft(of, "", item, amount, each, 1.0, price, working, "", line.scope, line.sense))
    if book.company.mobilization:
        money, words = _share(book.company.mobilization), "Bringing machines and crew to the site and back."
        price = Price(_MOBILIZATION, "Mobilization", "lump", money, False, None, "", "sheet Company, mobilization")
        of = Quantity("", "Mobilization", "", 1.0, "lump", "once a job")
        drafts.append(_Draft(of, "", of.item, 1.0, 1.0, 1.0, price, of.working, "", words, "price"))
    scopes_of: dict[tuple[str, str], str] = {}
    for draft in drafts:
        scopes_of.setdefault((draft.item, draft.text), f"extra-{len(scopes_of) + 1}")
    return [replace(draft, scope=scopes_of[draft.item, draft.text]) for draft in drafts]


def _own_price(line: ExtraLine, where: str) -> Price:
    assert line.unit_price is not None
    return Price(OWN_PRICE, line.item, line.unit, line.unit_price, bool(line.taxable), None, "", where)


def _row(draft: _Draft) -> _Row:
    """Return the values of the model for a line."""
    return MODEL.work_out(
        "line",
        {
            "line_code": draft.price.code, "amount": draft.amount, "size": draft.size, "rate": draft.rate,
            "unit_price": draft.price.unit_price, "taxable": int(draft.price.taxable),
            "as_price": int(draft.sense == "price"),
        },
    )  # fmt: skip


def _minimums(rows: Sequence[_Row], book: PriceBook) -> list[_Row]:
    """Return the values of the model for each price row with a minimum charge that has lines."""
    columns = {key: [row[key] for row in rows] for key in ("line", "bought", "line_code")}
    used = (book.prices[key] for key in dict.fromkeys(columns["line_code"]) if key in book.prices)
    return [
        MODEL.work_out(
            "minimum",
            {**columns, "least_code": price.code, "least": price.minimum, "least_taxable": int(price.taxable)},
        )
        for price in used
        if price.minimum is not None
    ]


def _drafts(takeoff: Takeoff, book: PriceBook) -> tuple[list[_Draft], tuple[WorkHours, ...]]:
    """Return the lines before rounding, one for each code and material, and the hours of all work."""
    pooled: dict[tuple[str, str], list[Quantity]] = {}
    for one in takeoff.quantities:
        variant = "" if code(one.code).kind == "work" else one.variant
        pooled.setdefault((one.code, variant), []).append(one)
    drafts: list[_Draft] = []
    hours: list[WorkHours] = []
    for same in pooled.values():
        quantity, entry = _pool(same), code(same[0].code)
        key = _price_code(quantity, book.company)
        price = book.prices.get(key)
        rate = _rate(quantity.code, book.company)
        if entry.kind == "work":
            hours.append(_hours(quantity, rate, by_hours=price is None))
        if price is not None:
            drafts.append(_draft(quantity, entry, price, rate))
        elif entry.kind == "work" and rate is not None:
            drafts += _timed(quantity, entry, hours[-1], rate, book)
        else:
            raise _unpriced(key, quantity, entry, book)
    return drafts, tuple(hours)


def _pool(same: Sequence[Quantity]) -> Quantity:
    """Return quantities of one code as one, with the areas they come from in the working."""
    first = same[0]
    if len(same) == 1:
        working = f"{first.area}: {first.working}" if first.area else first.working
        return replace(first, working=working)
    working = "; ".join(f"{one.area or 'job'}: {one.working} = {fixed(one.amount, 2)} {one.unit}" for one in same)
    amount = sum(one.amount for one in same)
    return Quantity(first.code, code(first.code).title, "", amount, first.unit, working, first.variant)


def _price_code(quantity: Quantity, company: Company) -> str:
    """Return the code of the price row: that of the owner's own material, or the quantity's."""
    lists: dict[str, tuple[Stone | Paver | Roll, ...]] = {
        **dict.fromkeys(STONE_CODES.values(), company.stones),
        "pavers": company.pavers,
        **dict.fromkeys(("geogrid", "geotextile"), company.rolls),
    }
    own = next((one.code for one in lists.get(quantity.code, ()) if one.name == quantity.variant), "")
    return own or quantity.code


def _rate(key: str, company: Company) -> Rate | None:
    return next((rate for rate in company.rates if rate.code == key), None)


def _hours(quantity: Quantity, rate: Rate | None, *, by_hours: bool) -> WorkHours:
    """Return the hours that a kind of work takes at the owner's production rates."""
    work = partial(WorkHours, quantity.code, quantity.item, quantity.amount, quantity.unit)
    if rate is None:
        return work(None, None, False, "no production rate on the sheet Company")
    size = _size(quantity.unit, rate.unit)
    if size is None:
        raise PriceError(
            f"the production rate of {quantity.code!r} is for {rate.unit}; it must be for a unit that "
            f"{quantity.unit} can be turned into",
            where="sheet Company, table of work rates",
        )
    amount = quantity.amount * SI[quantity.unit] / size
    rates = {"crew": rate.per_crew_hour, "machine": rate.per_machine_hour}
    crew, machine = (
        None if per_hour is None else MODEL.value("units_bought", amount=amount, size=1.0, rate=per_hour)
        for per_hour in rates.values()
    )
    done = " and ".join(f"{value:g} {rate.unit} per {who} hour" for who, value in rates.items() if value is not None)
    return work(crew, machine, by_hours, f"{fixed(amount, 2)} {rate.unit} at {done}")


def _size(of: str, unit: str) -> float | None:
    """Return how much in SI one unit of a price is, or None where it does not measure the quantity."""
    each = unit_in(of, unit)
    return None if each is None else each * SI[of]


def _draft(quantity: Quantity, entry: Code, price: Price, rate: Rate | None) -> _Draft:
    amount, size, working, per_hour = quantity.amount, _size(quantity.unit, price.unit), quantity.working, 1.0
    unit = quantity.unit
    if size is None and price.unit in entry.also_priced_by:
        if price.unit == "h":
            size, per_hour = 1.0, _loads_an_hour(price, rate)
            working = f"{working}; {per_hour:g} loads an hour"
        else:
            sizes = ((_size(other, price.unit), measure, other) for measure, other in quantity.also)
            size, amount, unit = next(one for one in sizes if one[0] is not None)
    if size is None:
        raise PriceError(
            f"the price of {price.code!r} is for one {price.unit}; it must be for a unit that {quantity.unit} "
            "can be turned into",
            where=price.cell,
        )
    item = price.item or quantity.item
    if entry.kind == "haul" and quantity.variant:
        item = f"{item}: {quantity.variant}"
    return _Draft(quantity, entry.scope, item, amount * SI[unit], size, per_hour, price, working)


def _loads_an_hour(price: Price, rate: Rate | None) -> float:
    a_load = None if rate is None else rate.per_machine_hour or rate.per_crew_hour
    if a_load is None:
        raise PriceError(
            f"the price of {price.code!r} is for one h; it needs a work rate for {price.code!r} on the sheet "
            "Company: how many loads a truck hauls in an hour (unit load)",
            where=price.cell,
        )
    return a_load


def _with_minimums(lines: Sequence[Line], minimums: Sequence[Mapping[str, Any]], book: PriceBook) -> tuple[Line, ...]:
    """Return the lines, with what is missing to the least charge of a haul in a line of its own behind them."""
    made = list(lines)
    for row in minimums:
        least, rest = book.prices[row["least_code"]].minimum, row["least_rest"]
        if not rest:
            continue
        place = max(place for place, line in enumerate(made) if line.code == row["least_code"])
        last, words = made[place], f"minimum charge of ${least:,.2f}"
        made.insert(
            place + 1,
            replace(
                last, item=f"{code(row['least_code']).title}: rest of the minimum charge", quantity=Decimal(1),
                unit="job", unit_price=rest, amount=rest, taxable=book.prices[row["least_code"]].taxable, sense="cost",
                note=words, quantity_code="",
                working=f"{words} less ${least - rest:,.2f} above",
            ),
        )  # fmt: skip
    return tuple(made)


def _timed(quantity: Quantity, entry: Code, hours: WorkHours, rate: Rate, book: PriceBook) -> list[_Draft]:
    """Return the lines of work that is priced by its hours."""
    drafts = []
    size = _size(quantity.unit, rate.unit)
    for who, per_hour in (("crew", rate.per_crew_hour), ("machine", rate.per_machine_hour)):
        if per_hour is None or size is None:
            continue
        key = _TIME[who]
        price = book.prices.get(key)
        if price is None:
            raise _unpriced(key, quantity, entry, book)
        item = f"{price.item or code(key).title}: {entry.title}"
        if price.unit != "h":
            raise PriceError(f"the price of {key!r} is for one {price.unit}; it must be for one h", where=price.cell)
        amount = quantity.amount * SI[quantity.unit]
        drafts.append(_Draft(quantity, entry.scope, item, amount, size, per_hour, price, hours.working, entry.code))
    return drafts


def _unpriced(key: str, quantity: Quantity, entry: Code, book: PriceBook) -> PriceError:
    whose = f" in area {quantity.area}" if quantity.area else ""
    amount = f"{fixed(quantity.amount, 2)} {quantity.unit}"
    need = f"there is no price for {key!r}, which {amount} of {entry.title} ({entry.code}){whose} need"
    if key in _TIME.values():
        remedy = f"add a row {key!r} to the table of prices, or a price for {entry.code!r} itself"
    elif entry.kind == "work":
        remedy = f"add a row {key!r} to the table of prices, or a work rate for it on the sheet Company"
    else:
        remedy = f"add a row {key!r} to the table of prices, with 0 where it costs nothing"
    return PriceError(f"{need}; {remedy}", where=f"{book.path}, sheet Prices")


def _line(draft: _Draft, row: Mapping[str, Any]) -> Line:
    price, bought, amount = draft.price, row["bought"], row["line"]
    if price.unit in COUNTED_UNITS and bought == int(bought):
        bought = decimal(bought, 0)
    free = "priced at 0 by the owner" if price.unit_price == 0 else "less than half a cent in all"
    return Line(
        price.code, draft.item, draft.scope, bought, price.unit, price.unit_price, amount, price.taxable,
        draft.working, price.cell, draft.work, "" if amount else free, draft.of.code,
        "" if draft.of.code else draft.item, draft.text, draft.of.area, draft.sense,
    )  # fmt: skip


def _scope_prices(
    lines: Sequence[Line], markups: Markups, sums: Mapping[str, Any], company: Company
) -> tuple[ScopePrice, ...]:
    """Return what the client reads: the total over the scopes, by marked-up cost and own tax, to the cent.

    Lines that are charged as they are keep their amount and tax; the discount is a line of its own.
    """
    total, discount = sums["price_total"] + sums["discount"], sums["discount"]
    fixed: dict[str, Decimal] = {}
    for line in lines:
        if line.sense == "price":
            tax = cents(line.amount * markups.tax_rate) if line.taxable else Decimal("0.00")
            fixed[line.scope] = fixed.get(line.scope, Decimal("0.00")) + line.amount + tax
    weights = scope_weights(lines, replace(markups, discount=Decimal(0)))
    spread_over = {key: weight for key, weight in weights.items() if key not in fixed}
    if not any(spread_over.values()):
        fixed, spread_over = {}, weights
    shares = fixed | spread(total - sum(fixed.values(), Decimal("0.00")), spread_over)
    words = {line.scope: (line.title, line.text) for line in lines if line.extra}
    words |= {key: (scope.title, scope.text) for key, scope in SCOPES.items()}
    prices = [ScopePrice(key, *words[key], shares[key]) for key in weights]
    if discount:
        prices.append(ScopePrice("discount", company.discount_words or "Discount", "", -discount))
    return tuple(prices)


def scope_weights(lines: Sequence[Line], markups: Markups) -> dict[str, Fraction]:
    """Return what each of the client's lines comes to before it is rounded: cost, mark-ups and its own tax."""
    weights: dict[str, Fraction] = {}
    for key in dict.fromkeys((*SCOPES, *(line.scope for line in lines))):
        worth = [Fraction(line.amount) * _factor_of(line, markups) for line in lines if line.scope == key]
        if worth:
            weights[key] = sum(worth, Fraction(0))
    return weights


def saving(option: Estimate, against: Estimate) -> Saving:
    """Return what one option has less than another; negative where it has more."""
    mine, other = option.takeoff, against.takeoff
    mine_m, other_m = mine.base_m, other.base_m

    def less(name: str) -> float:
        return float(sum(getattr(area, name) for area in other.areas) - sum(getattr(area, name) for area in mine.areas))

    return Saving(
        option=mine.option,
        against=other.option,
        depth_m={name: other_m[name] - mine_m[name] for name in mine_m},
        dig_m3=less("bank_m3"),
        stone_m3=less("stone_m3"),
        stone_kg=less("stone_kg"),
        stone_loads=round(other.amount("stone-haul")) - round(mine.amount("stone-haul")),
        spoil_loads=round(other.amount("spoil-haul")) - round(mine.amount("spoil-haul")),
        money=against.total - option.total,
    )


def break_even(stone: Estimate, geogrid: Estimate, roll: Roll) -> BreakEven:
    """Return the geogrid price at which both options cost the client the same, loads and rolls as they are."""
    bought = [line for line in geogrid.lines if line.quantity_code == "geogrid"]
    rest = [line for line in geogrid.lines if line.quantity_code != "geogrid"]
    line = bought[0]
    room = _exact(stone.lines, stone) - _exact(rest, geogrid)
    price = room / (Fraction(line.quantity) * factor(geogrid.markups, taxable=line.taxable))
    area_m2 = roll.length_m * roll.width_m
    pays = geogrid.total < stone.total
    if price < 0:
        sentence = "Geogrid does not pay here at any price: what it saves in digging and stone is less than nothing."
        return BreakEven(None, None, None, line.unit_price, pays, sentence)
    per_m2 = price / Fraction(f"{area_m2:.12g}")
    per_yd2 = per_m2 * Fraction(f"{YARD2_M2:.12g}")
    same = cents_down(price)
    verdict = "pays" if pays else "costs more than stone only" if geogrid.total > stone.total else "costs as much"
    sentence = (
        f"Both cost the same where a roll of geogrid costs ${same:,.2f}; at ${line.unit_price:,.2f} it {verdict}."
    )
    return BreakEven(same, cents_down(per_yd2), cents_down(per_m2), line.unit_price, pays, sentence)


def _exact(lines: Iterable[Line], of: Estimate) -> Fraction:
    """Return the total of printed quantities with no money rounded."""
    worth = (Fraction(line.quantity) * Fraction(line.unit_price) * _factor_of(line, of.markups) for line in lines)
    return sum(worth, Fraction(0))
