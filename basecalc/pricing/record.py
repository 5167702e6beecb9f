"""What an estimate and a quote hand on: lines, mark-ups, what the client is shown, and the options side by side."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal

from basecalc.base.depth import BaseDepth
from basecalc.ground.strength import AreaStrength
from basecalc.job import Job
from basecalc.pricing.fill_record import FillOption
from basecalc.pricing.prices import PriceBook
from basecalc.pricing.separator import Separator
from basecalc.takeoff.record import Option, Takeoff


@dataclass(frozen=True, slots=True)
class Line:
    """One priced line of the office's estimate: printed quantity times unit price, rounded once.

    Parameters
    ----------
    code
        The price row that prices it.
    item
        What it is, in words.
    scope
        The client's line it belongs to.
    quantity
        As printed: two places, or whole for loads and rolls, in `unit`.
    unit
        The unit of the price.
    unit_price
        Money per unit, as the owner typed it.
    amount
        Money, to the cent.
    taxable
        Whether tax is due on it.
    working
        Where the quantity comes from.
    cell
        Sheet and cell of the price.
    work
        The work code whose hours this line prices; nothing where the line prices its own code.
    note
        A word the sheet must show, such as that the owner priced it at 0.
    quantity_code
        The code of the quantity that is priced.
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


@dataclass(frozen=True, slots=True)
class WorkHours:
    """Hours that one kind of work takes, whether or not they are what prices it.

    Parameters
    ----------
    code, item
        The work code and its words.
    quantity, unit
        How much work.
    crew_h, machine_h
        Hours of the crew and of the machine [h]; None where the owner has no production rate for it.
    priced_by_hours
        Whether the hours carry the price (True) or the code's own price row does (False).
    working
        The sum in words and numbers.
    """

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

    @property
    def option(self) -> Option:
        """Which option was priced."""
        return self.takeoff.option

    @property
    def before_tax(self) -> Decimal:
        """Price before tax."""
        return self.total - self.tax


@dataclass(frozen=True, slots=True)
class Saving:
    """What one option has less than another; negative where it has more.

    Parameters
    ----------
    option, against
        The option, and the one it is held against.
    depth_m
        Base depth saved [m], by area.
    dig_m3, stone_m3, stone_kg
        Ground dug (in place) and base stone (compacted) saved.
    stone_loads, spoil_loads
        Whole loads saved.
    money
        Total saved.
    """

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
    """The geogrid price at which both options cost the client the same.

    Parameters
    ----------
    per_roll
        Money per roll, rounded down to the cent; None where geogrid does not pay at any price.
    per_yd2, per_m2
        The same per area of roll bought.
    today
        The owner's price per roll.
    pays
        Whether geogrid is the cheaper one at the owner's price.
    sentence
        All this in a sentence, for the office.
    """

    per_roll: Decimal | None
    per_yd2: Decimal | None
    per_m2: Decimal | None
    today: Decimal
    pays: bool
    sentence: str


@dataclass(frozen=True, slots=True)
class ExtraInch:
    """What one more step of base depth costs the client, everything included, rounded up to the cent.

    Parameters
    ----------
    step_m
        The step [m]: 1 in or 10 mm, as the job is.
    step
        The step in words.
    areas
        Price of one more step in one area, by name.
    job
        Price of one more step in every area.
    old_base
        For each area whose old base stays, what it costs once more to dig it out after all; the steps come on top.
    """

    step_m: float
    step: str
    areas: Mapping[str, Decimal]
    job: Decimal
    old_base: Mapping[str, Decimal] = field(default_factory=dict)


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
    stone, geogrid, habit
        The three options priced; geogrid and habit are None where they are no option.
    no_geogrid, no_habit
        Why geogrid is no option, or why the habit cannot be built here, in a sentence; nothing where it can.
    offered
        The option the client is offered.
    against_habit
        What the offered option saves against the one-depth habit (office only); None without it.
    against_stone
        What geogrid saves against stone only; None without a geogrid option.
    break_even
        The geogrid price at which both cost the same; None without a geogrid option.
    extra_inch
        What one more inch costs if the ground turns out softer, for the offered option.
    fill_options
        For each area with loose fill, digging it out against more stone.
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
    habit: Estimate | None
    offered: Option
    against_habit: Saving | None
    against_stone: Saving | None
    break_even: BreakEven | None
    extra_inch: ExtraInch
    no_geogrid: str = ""
    no_habit: str = ""
    fill_options: tuple[FillOption, ...] = ()
    separator: Separator | None = None

    @property
    def offer(self) -> Estimate:
        """The estimate the client is offered."""
        return self.geogrid if self.offered == "geogrid" and self.geogrid is not None else self.stone

    @property
    def offered_depths(self) -> Mapping[str, BaseDepth]:
        """The checks behind the offered option, by area."""
        return self.geogrid_depths if self.offered == "geogrid" else self.depths
