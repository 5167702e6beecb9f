"""Quantities times the owner's prices: lines, mark-ups, tax, total, and what the client reads."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction

from basecalc.company import Company, Rate
from basecalc.errors import InputError, PriceError
from basecalc.pricing.money import factor, markups_of, spread, sums
from basecalc.pricing.prices import Price, PriceBook
from basecalc.pricing.record import Estimate, Line, Markups, ScopePrice, WorkHours
from basecalc.rounding import cents, decimal, fixed
from basecalc.takeoff.codes import WHOLE_UNITS, Code, code, scopes
from basecalc.takeoff.record import Quantity, Takeoff
from basecalc.takeoff.surface import work_hours
from basecalc.units import convert

__all__ = ["Estimate", "Line", "Markups", "ScopePrice", "WorkHours", "estimate", "scope_weights"]

_TIME = {"crew": "crew-time", "machine": "machine-time"}


@dataclass(frozen=True, slots=True)
class _Draft:
    """A line before it is rounded: an amount in the unit of its price."""

    of: Quantity
    scope: str
    item: str
    amount: float
    price: Price
    working: str
    work: str = ""


def estimate(takeoff: Takeoff, book: PriceBook) -> Estimate:
    """Return the priced take-off: office lines, mark-ups, total, and the lines the client reads.

    Parameters
    ----------
    takeoff
        Every quantity of one option.
    book
        The owner's settings and prices.

    Raises
    ------
    PriceError
        A quantity without a price, or a price for a unit that the quantity cannot be turned into.
    """
    drafts, hours = _drafts(takeoff, book)
    lines = _with_minimums([_line(draft) for draft in drafts], book)
    markups = markups_of(book.company)
    below = sums(lines, markups)
    return Estimate(
        takeoff, lines, markups, below.cost, below.contingency, below.overhead, below.profit, below.taxable, below.tax,
        below.total, _scope_prices(lines, markups, below.total), hours,
    )  # fmt: skip


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
            drafts += _timed(quantity, entry, hours[-1], book)
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
    kinds = {"base-stone": "base", "bedding-sand": "bedding", "foundation-fill": "fill"}
    if quantity.code in kinds:
        own = [stone.code for stone in company.stones if stone.name == quantity.variant]
    elif quantity.code == "pavers":
        own = [paver.code for paver in company.pavers if paver.name == quantity.variant]
    elif quantity.code in ("geogrid", "geotextile"):
        own = [roll.code for roll in company.rolls if roll.name == quantity.variant]
    else:
        own = []
    return own[0] if own and own[0] else quantity.code


def _rate(key: str, company: Company) -> Rate | None:
    return next((rate for rate in company.rates if rate.code == key), None)


def _hours(quantity: Quantity, rate: Rate | None, *, by_hours: bool) -> WorkHours:
    """Return the hours that a kind of work takes at the owner's production rates."""
    if rate is None:
        told = "no production rate on the sheet Company"
        return WorkHours(
            quantity.code,
            quantity.item,
            quantity.amount,
            quantity.unit,
            None,
            None,
            priced_by_hours=False,
            working=told,
        )
    amount = _in_unit(quantity, rate.unit)
    if amount is None:
        raise PriceError(
            f"the production rate of {quantity.code!r} is for {rate.unit}; it must be for a unit that "
            f"{quantity.unit} can be turned into",
            where="sheet Company, table of work rates",
        )
    crew = None if rate.per_crew_hour is None else work_hours(amount, rate.per_crew_hour)
    machine = None if rate.per_machine_hour is None else work_hours(amount, rate.per_machine_hour)
    rates = ((rate.per_crew_hour, "crew"), (rate.per_machine_hour, "machine"))
    told = " and ".join(f"{value:g} {rate.unit} per {who} hour" for value, who in rates if value is not None)
    working = f"{fixed(amount, 2)} {rate.unit} at {told}"
    return WorkHours(
        quantity.code, quantity.item, quantity.amount, quantity.unit, crew, machine, priced_by_hours=by_hours,
        working=working,
    )  # fmt: skip


def _in_unit(quantity: Quantity, unit: str) -> float | None:
    """Return the amount in another unit, or None: a load, a roll or a bag is no measure of anything else."""
    if quantity.unit == unit:
        return quantity.amount
    if {quantity.unit, unit} & WHOLE_UNITS:
        return None
    try:
        return convert(quantity.amount, quantity.unit, unit)
    except InputError:
        return None


def _draft(quantity: Quantity, entry: Code, price: Price, rate: Rate | None) -> _Draft:
    amount, working = _in_unit(quantity, price.unit), quantity.working
    if amount is None and price.unit in entry.also_priced_by:
        amount, working = _haul_in_unit(quantity, price, rate)
    if amount is None:
        raise PriceError(
            f"the price of {price.code!r} is for one {price.unit}; it must be for a unit that {quantity.unit} "
            "can be turned into",
            where=price.cell,
        )
    item = price.item or quantity.item
    if entry.kind == "haul" and quantity.variant:
        item = f"{item}: {quantity.variant}"
    return _Draft(quantity, entry.scope, item, amount, price, working)


def _haul_in_unit(quantity: Quantity, price: Price, rate: Rate | None) -> tuple[float | None, str]:
    """Return loads by their weight, their loose volume or the hours they take, and the sum in words."""
    if price.unit == "h":
        a_load = None if rate is None else rate.per_machine_hour or rate.per_crew_hour
        if a_load is None:
            raise PriceError(
                f"the price of {price.code!r} is for one h; it needs a work rate for {price.code!r} on the sheet "
                "Company: how many loads a truck hauls in an hour (unit load)",
                where=price.cell,
            )
        return quantity.amount / a_load, f"{quantity.working}; {a_load:g} loads an hour"
    amounts = (_in_unit(replace(quantity, amount=amount, unit=unit), price.unit) for amount, unit in quantity.also)
    return next((amount for amount in amounts if amount is not None), None), quantity.working


def _with_minimums(lines: Sequence[Line], book: PriceBook) -> tuple[Line, ...]:
    """Return the lines, with what is missing to the least charge of a haul in a line of its own behind them."""
    made: list[Line] = []
    for place, line in enumerate(lines):
        made.append(line)
        least = book.prices[line.code].minimum
        if least is None or any(later.code == line.code for later in lines[place + 1 :]):
            continue
        charged = sum((one.amount for one in lines if one.code == line.code), Decimal("0.00"))
        if charged < least:
            title, least_words = code(line.quantity_code).title, f"minimum charge of ${least:,.2f}"
            made.append(
                replace(
                    line,
                    item=f"{title}: rest of the minimum charge",
                    quantity=Decimal(1),
                    unit="job",
                    unit_price=least - charged,
                    amount=least - charged,
                    note=least_words,
                    quantity_code="",
                    working=f"{least_words} less ${charged:,.2f} above",
                )
            )
    return tuple(made)


def _timed(quantity: Quantity, entry: Code, hours: WorkHours, book: PriceBook) -> list[_Draft]:
    """Return the lines of work that is priced by its hours."""
    drafts = []
    for who, amount in (("crew", hours.crew_h), ("machine", hours.machine_h)):
        if amount is None:
            continue
        key = _TIME[who]
        price = book.prices.get(key)
        if price is None:
            raise _unpriced(key, quantity, entry, book)
        item = f"{price.item or code(key).title}: {entry.title}"
        try:
            inside = convert(amount, "h", price.unit)
        except InputError:
            raise PriceError(
                f"the price of {key!r} is for one {price.unit}; it must be for one h", where=price.cell
            ) from None
        drafts.append(_Draft(quantity, entry.scope, item, inside, price, hours.working, entry.code))
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


def _line(draft: _Draft) -> Line:
    price = draft.price
    whole = price.unit in WHOLE_UNITS and draft.amount == int(draft.amount)
    quantity = decimal(draft.amount, 0 if whole else 2)
    amount = cents(quantity * price.unit_price)
    free = "priced at 0 by the owner" if price.unit_price == 0 else "less than half a cent in all"
    note = "" if amount else free
    return Line(
        price.code, draft.item, draft.scope, quantity, price.unit, price.unit_price, amount, price.taxable,
        draft.working, price.cell, draft.work, note, draft.of.code,
    )  # fmt: skip


def _scope_prices(lines: Sequence[Line], markups: Markups, total: Decimal) -> tuple[ScopePrice, ...]:
    """Return what the client reads: the total over the scopes, by marked-up cost and own tax, to the cent."""
    shares = spread(total, scope_weights(lines, markups))
    return tuple(ScopePrice(key, scopes()[key].title, scopes()[key].text, amount) for key, amount in shares.items())


def scope_weights(lines: Sequence[Line], markups: Markups) -> dict[str, Fraction]:
    """Return what each of the client's lines comes to before it is rounded: cost, mark-ups and its own tax.

    Parameters
    ----------
    lines
        The office's priced lines.
    markups
        The owner's shares.
    """
    weights: dict[str, Fraction] = {}
    for key in scopes():
        own = [line for line in lines if line.scope == key]
        if own:
            weights[key] = sum(
                (Fraction(line.amount) * factor(markups, taxable=line.taxable) for line in own), Fraction(0)
            )
    return weights
