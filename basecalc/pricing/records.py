"""What an estimate and a quote hand on: lines, mark-ups, what the client is shown, and the options side by side."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from importlib import import_module
from pathlib import Path
from typing import Any, Final, Literal

from basecalc.company import Company
from basecalc.core.numbers import brief, round_up
from basecalc.core.units import INCH_M
from basecalc.design.depth import BaseDepth
from basecalc.ground.strength import AreaStrength
from basecalc.job import Job
from basecalc.pricing.prices import PriceBook
from basecalc.takeoff.takeoff import Option, Takeoff

Way = Literal["stone", "fill"]


@dataclass(frozen=True, slots=True)
class FillWay:
    """One way to deal with loose fill: what the area takes, and what the whole job costs that way."""

    way: Way
    base_m: float
    bank_m3: float
    stone_kg: float
    fill_kg: float
    loads_out: int
    loads_in: int
    cost: Decimal
    total: Decimal
    on_grid: bool


@dataclass(frozen=True, slots=True)
class FillOption:
    """Digging loose fill out against more stone, for one area."""

    area: str
    chosen: FillWay
    other: FillWay | None
    cannot: str
    offered: bool
    recompact_m3: float = 0.0
    recompact: Decimal | None = None
    no_recompact: str = ""

    @property
    def more(self) -> Decimal | None:
        """What the other way costs the client more, all included; negative where it is cheaper."""
        return None if self.other is None else self.other.total - self.chosen.total


@dataclass(frozen=True, slots=True)
class Line:
    """One priced line of the office's estimate: printed quantity times unit price, rounded once.

    An extra line has a scope of its own, with the `title` and `text` the client reads; with `sense` 'price' the client
    pays just its amount, without markup.
    """

    code: str
    item: str
    scope: str
    quantity: Decimal
    unit: str
    unit_price: Decimal
    amount: Decimal
    taxable: bool
    working: str
    cell: str
    work: str = ""
    note: str = ""
    quantity_code: str = ""
    title: str = ""
    text: str = ""
    area: str = ""
    sense: Literal["cost", "price"] = "cost"

    @property
    def extra(self) -> bool:
        """Whether it is not a quantity of the take-off: an extra line of the job, or mobilization."""
        return bool(self.title)


@dataclass(frozen=True, slots=True)
class WorkHours:
    """Hours that one kind of work takes, whether or not they are what prices it."""

    code: str
    item: str
    quantity: float
    unit: str
    crew_h: float | None
    machine_h: float | None
    priced_by_hours: bool
    working: str


@dataclass(frozen=True, slots=True)
class Markups:
    """The owner's shares: contingency on cost, overhead on both, profit as a share of the price before tax, tax."""

    contingency: Decimal
    overhead: Decimal
    profit: Decimal
    tax_rate: Decimal
    discount: Decimal = Decimal(0)


@dataclass(frozen=True, slots=True)
class ScopePrice:
    """One line the client reads: a scope of work and its price, everything included."""

    scope: str
    title: str
    text: str
    amount: Decimal


@dataclass(frozen=True, slots=True)
class Estimate:
    """The priced take-off of one option.

    Parameters
    ----------
    takeoff, lines, markups
        The quantities, the office's priced lines of them, and the owner's shares.
    cost, contingency, overhead, profit, taxable, tax, total
        Cost is the sum of the printed lines; total is cost, contingency, overhead, profit and tax as printed.
    scope_prices
        What the client reads: the total by scope.
    hours
        Crew and machine hours of each work.
    values
        What the model gave for each row of its tables 'line', 'minimum' and 'price'.
    """

    takeoff: Takeoff
    lines: tuple[Line, ...]
    markups: Markups
    cost: Decimal
    contingency: Decimal
    overhead: Decimal
    profit: Decimal
    taxable: Decimal
    tax: Decimal
    total: Decimal
    scope_prices: tuple[ScopePrice, ...]
    hours: tuple[WorkHours, ...]
    values: Mapping[str, tuple[Mapping[str, Any], ...]] = field(default_factory=dict, repr=False)

    __repr__ = brief

    @property
    def option(self) -> Option:
        """Which option was priced."""
        return self.takeoff.option

    def work(self, hours_per_day: float) -> tuple[WorkHours, ...]:
        """Return the hours of each work, then of each extra line that is sold by the hour or by the day."""
        found = list(self.hours)
        for line in self.lines:
            if line.extra and line.unit in ("h", "day"):
                amount = float(line.quantity)
                hours = amount * hours_per_day if line.unit == "day" else amount
                crew, machine = (None, hours) if line.code == "machine-time" else (hours, None)
                found.append(WorkHours("extra", line.item, amount, line.unit, crew, machine, True, line.working))
        return tuple(found)

    @property
    def to_get(self) -> tuple[Line, ...]:
        """The extra lines that are bought by amount: neither hours nor a lump."""
        return tuple(line for line in self.lines if line.extra and line.unit not in ("h", "day", "lump"))

    @property
    def before_tax(self) -> Decimal:
        """Price before tax."""
        return self.total - self.tax

    def sum(self, key: str) -> Decimal:
        """Return a sum of the model's table PRICE: charged, discount, small_job, rounding, deposit, progress, rest."""
        return Decimal(self.values["price"][0][key]) if self.values else Decimal(0)


@dataclass(frozen=True, slots=True)
class Saving:
    """What one option has less than another; negative where it has more."""

    option: Option
    against: Option
    depth_m: Mapping[str, float]
    dig_m3: float
    stone_m3: float
    stone_kg: float
    stone_loads: int
    spoil_loads: int
    money: Decimal

    @property
    def loads(self) -> int:
        """Loads saved, in and out."""
        return self.stone_loads + self.spoil_loads


@dataclass(frozen=True, slots=True)
class BreakEven:
    """The geogrid price at which both options cost the client the same."""

    per_roll: Decimal | None
    per_yd2: Decimal | None
    per_m2: Decimal | None
    today: Decimal
    pays: bool
    sentence: str


@dataclass(frozen=True, slots=True)
class DepthPrices:
    """What a deeper base adds to the price, everything included: the table that a quote promises its client."""

    step_m: float
    step: str
    areas: Mapping[str, tuple[Decimal, ...]]

    def price(self, area: str, deeper_m: float) -> Decimal | None:
        """Return what a base so much deeper [m] adds in one area; None where the table does not go so far.

        A part of a step counts as a step.
        """
        steps, prices = round_up(deeper_m / self.step_m), self.areas.get(area, ())
        if area not in self.areas or steps > len(prices):
            return None
        return prices[steps - 1] if steps > 0 else Decimal("0.00")


NO_DEPTH_PRICES: Final = DepthPrices(INCH_M, "1 in", {})


@dataclass(frozen=True, slots=True)
class WeakCorner:
    """A weak corner as an area of its own, against the whole area as deep as its weakest spot asks; an estimate."""

    area: str
    spot: str
    spots: int
    share: float
    whole_m: float
    weak_m: float
    rest_m: float
    whole_total: Decimal
    split_total: Decimal


@dataclass(frozen=True, slots=True)
class Separator:
    """A separation geotextile that is called for and not in the price."""

    why: Mapping[str, str]
    more: Decimal | None
    cannot: str


@dataclass(frozen=True, slots=True)
class Payment:
    """A part of the total, in words; when it is due; its share of the total, 0 for what is left."""

    words: str
    when: str
    amount: Decimal
    share: float = 0.0


def payments(estimate: "Estimate", company: Company) -> tuple[Payment, ...]:
    """Return what is due when, in the order it is due, the balance last; the payments sum to the total."""
    later, rest = company.progress_when, "Balance when the work is done"
    dues = (
        ("Deposit at signing", "at signing", "deposit", company.deposit),
        (f"Progress payment {later}", later, "progress", company.progress),
        (rest, rest, "rest", 0.0),
    )
    return tuple(
        Payment(words, when, estimate.sum(key), share) for words, when, key, share in dues if share or key == "rest"
    )


@dataclass(frozen=True, slots=True)
class Quote:
    """Everything the client's file and the office's file are written from.

    Parameters
    ----------
    job, book
        What was asked, and the owner's settings and prices.
    ground
        Strength of each area, by name.
    depths
        The checks without reinforcement, by area.
    geogrid_depths
        The checks of the geogrid option, by area: with geogrid where it makes the base thinner, else without; empty
        where there is no such option.
    stone, geogrid, standard
        The three options priced; geogrid and standard are None where they are no option.
    no_geogrid, no_standard
        Why geogrid is not an option, or why the standard depth cannot be built here; nothing where it can.
    offered
        The option the client is offered.
    against_standard
        What the offered option saves against the standard depth (office only); None without it.
    against_stone
        What geogrid saves against stone only; None without a geogrid option.
    break_even
        The geogrid price at which both cost the same; None without a geogrid option.
    deeper
        What a deeper base adds to the price if the ground turns out softer, for the offered option.
    fill_options
        For each area with loose fill, digging it out against more stone.
    weak_corners
        For each area with a weak corner, that corner as an area of its own.
    separator
        The separation geotextile that the offer lacks; None where it lacks none.
    """

    job: Job
    book: PriceBook
    ground: Mapping[str, AreaStrength]
    depths: Mapping[str, BaseDepth]
    geogrid_depths: Mapping[str, BaseDepth]
    stone: Estimate
    geogrid: Estimate | None
    standard: Estimate | None
    offered: Option
    against_standard: Saving | None
    against_stone: Saving | None
    break_even: BreakEven | None
    deeper: DepthPrices = NO_DEPTH_PRICES
    no_geogrid: str = ""
    no_standard: str = ""
    fill_options: tuple[FillOption, ...] = ()
    weak_corners: tuple[WeakCorner, ...] = ()
    separator: Separator | None = None

    __repr__ = brief

    @property
    def offer(self) -> Estimate:
        """The estimate the client is offered."""
        return self.geogrid if self.offered == "geogrid" and self.geogrid is not None else self.stone

    def save(self, folder: str | Path) -> Any:
        """Write the workbooks of the client, the office and the crew, and return where they are.

        Parameters
        ----------
        folder
            Where they go; it is made if it is missing. No file is ever replaced.

        Returns
        -------
        QuoteFiles
            What `basecalc.write_quote` returns.

        Raises
        ------
        WorkbookError
            They cannot be written there.
        """
        return import_module("basecalc.render.save").write_quote(self, folder)  # a floor above: called, never leaned on

    @property
    def payments(self) -> tuple[Payment, ...]:
        """What is due when of the offer, in the order it is due; the payments sum to the total."""
        return tuple(due for due in payments(self.offer, self.book.company) if due.amount)

    @property
    def offered_depths(self) -> Mapping[str, BaseDepth]:
        """The checks behind the offered option, by area."""
        return self.geogrid_depths if self.offered == "geogrid" else self.depths
