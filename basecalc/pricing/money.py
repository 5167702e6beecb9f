"""Sums of money: mark-ups to the cent, a total spread over lines to the cent, and exact totals for rates."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from math import floor

from basecalc.company import Company
from basecalc.errors import PriceError
from basecalc.pricing.record import Line, Markups
from basecalc.rounding import CENT, cents


@dataclass(frozen=True, slots=True)
class Sums:
    """The sums below the lines, each to the cent."""

    cost: Decimal
    contingency: Decimal
    overhead: Decimal
    profit: Decimal
    taxable: Decimal
    tax: Decimal
    total: Decimal


def markups_of(company: Company) -> Markups:
    """Return the owner's mark-ups as exact decimals.

    Parameters
    ----------
    company
        The owner's settings.

    Raises
    ------
    PriceError
        A profit of the whole price or more.
    """
    shares = [_share(value) for value in (company.contingency, company.overhead, company.profit, company.tax_rate)]
    if shares[2] >= 1:
        raise PriceError(f"profit is {shares[2]:%} of the price; it must be below 100 %", where="sheet Company")
    return Markups(*shares)


def _share(value: float) -> Decimal:
    return Decimal(f"{value:.9g}")


def sums(lines: Iterable[Line], markups: Markups) -> Sums:
    """Return the sums below the printed lines; the total is the sum of what is printed.

    Parameters
    ----------
    lines
        The printed lines.
    markups
        The owner's shares.
    """
    lines = tuple(lines)
    cost = sum((line.amount for line in lines), Decimal("0.00"))
    contingency = cents(cost * markups.contingency)
    overhead = cents((cost + contingency) * markups.overhead)
    before_profit = cost + contingency + overhead
    # Profit is a share of the price before tax: price = cost of all kinds / (1 - share).
    profit = cents(before_profit * markups.profit / (1 - markups.profit))
    taxable = sum((line.amount for line in lines if line.taxable), Decimal("0.00"))
    tax = cents(taxable * markups.tax_rate)
    return Sums(cost, contingency, overhead, profit, taxable, tax, before_profit + profit + tax)


def factor(markups: Markups, *, taxable: bool) -> Fraction:
    """Return what one unit of cost adds to the total, exactly."""
    marked = (1 + Fraction(markups.contingency)) * (1 + Fraction(markups.overhead)) / (1 - Fraction(markups.profit))
    return marked + (Fraction(markups.tax_rate) if taxable else 0)


def exact_total(amounts: Iterable[tuple[Fraction, bool]], markups: Markups) -> Fraction:
    """Return the total of exact amounts, nothing rounded.

    Parameters
    ----------
    amounts
        Each amount of money, and whether it is taxed.
    markups
        The owner's shares.
    """
    both = {taxable: factor(markups, taxable=taxable) for taxable in (False, True)}
    return sum((amount * both[taxable] for amount, taxable in amounts), Fraction(0))


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

    Parameters
    ----------
    total
        Money to the cent.
    weights
        Weight of each share, none negative; equal remainders go to the earlier one.

    Examples
    --------
    >>> spread(Decimal("10.00"), {"a": Fraction(1), "b": Fraction(1), "c": Fraction(1)})
    {'a': Decimal('3.34'), 'b': Decimal('3.33'), 'c': Decimal('3.33')}
    """
    whole, sum_of_weights = int(total / CENT), sum(weights.values(), Fraction(0))
    if sum_of_weights == 0:
        return {key: Decimal("0.00") for key in weights}
    exact = {key: whole * weight / sum_of_weights for key, weight in weights.items()}
    share = {key: floor(value) for key, value in exact.items()}
    order: Sequence[str] = sorted(exact, key=lambda key: share[key] - exact[key])
    for key in order[: whole - sum(share.values())]:
        share[key] += 1
    return {key: Decimal(value) * CENT for key, value in share.items()}


def differences(total: Decimal, before: Mapping[str, Fraction], after: Mapping[str, Fraction]) -> dict[str, Decimal]:
    """Return by how much each share that changes does so, in whole cents that sum to the total.

    Parameters
    ----------
    total
        The change in all, money to the cent.
    before, after
        Each share before and after, not rounded; one that is on one side only is 0 on the other.

    Notes
    -----
    Each difference is rounded down to the cent; the cents that are left of the total go, one each, to those that lost
    most by that. A share that does not change is left out.

    Examples
    --------
    >>> differences(Decimal("1.01"), {"a": Fraction(1), "b": Fraction(2)}, {"a": Fraction(2), "b": Fraction(2)})
    {'a': Decimal('1.01')}
    """
    exact = {key: after.get(key, Fraction(0)) - before.get(key, Fraction(0)) for key in {**before, **after}}
    changed = {key: value for key, value in exact.items() if value}
    share = {key: floor(value * 100) for key, value in changed.items()}
    order = sorted(changed, key=lambda key: share[key] - changed[key] * 100)
    left = int(total / CENT) - sum(share.values())
    for place in range(left if order else 0):
        share[order[place % len(order)]] += 1
    for place in range(-left if order else 0):
        share[order[-1 - place % len(order)]] -= 1
    return {key: Decimal(value) * CENT for key, value in share.items()}
