"""What a job used against its estimate, and what a season of jobs suggests."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from basecalc.brief import brief
from basecalc.pricing.record import Estimate, Quote

# What to do about a suggestion, in words.
VERDICTS: Final[Mapping[str, str]] = {
    "consider": "worth entering",
    "together": "enter with the others of this stone",
    "keep": "yours lies inside: no need",
    "shown": "shown only",
    "none": "no suggestion",
}


def sentence(text: str) -> str:
    """Return a text closed with a full stop, where it does not close itself.

    Examples
    --------
    >>> sentence("Two loads"), sentence("Two loads?")
    ('Two loads.', 'Two loads?')
    """
    return text if text.endswith("?") else f"{text}."


@dataclass(frozen=True, slots=True)
class Used:
    """One quantity, used against estimated.

    Parameters
    ----------
    code
        The quantity's code; of hours, the work code.
    what
        In words.
    unit
        Unit of the amounts.
    estimated
        As quoted; None where the estimate has none.
    used
        By tickets or hours; None where there is none: not nought, but not known.
    left_over
        Of it brought back; None where nobody wrote it down.
    whole
        Whether it is counted in whole pieces.
    """

    code: str
    what: str
    unit: str
    estimated: float | None
    used: float | None
    left_over: float | None = None
    whole: bool = False

    @property
    def difference(self) -> float | None:
        """Used less estimated, in the unit; None where either is not known."""
        return None if self.used is None or self.estimated is None else self.used - self.estimated

    @property
    def share(self) -> float | None:
        """The difference as a share of the estimate; None where it is not known or the estimate is nought."""
        return self.difference / self.estimated if self.difference is not None and self.estimated else None


@dataclass(frozen=True, slots=True)
class Brought:
    """A material over one job: what a suggestion rests on.

    Parameters
    ----------
    code, material
        The quantity's code, and the owner's name for it.
    built_m3
        Compacted volume built by the take-off [m3].
    delivered_kg
        Net weight of its tickets [kg].
    left_kg
        Weight brought back [kg]; None where nobody wrote it down.
    weighed_kg, measured_m3
        Weight and loose volume of the loads whose volume was measured [kg], [m3].
    """

    code: str
    material: str
    built_m3: float
    delivered_kg: float
    left_kg: float | None
    weighed_kg: float
    measured_m3: float


@dataclass(frozen=True, slots=True)
class Worked:
    """Work over one job: its code, how much was built and in which unit, and the hours it took [h]."""

    code: str
    amount: float
    unit: str
    crew_h: float | None
    machine_h: float | None


@dataclass(frozen=True, slots=True)
class JobActuals:
    """A job with its estimate and what it used.

    Parameters
    ----------
    quote
        The job's quote.
    planned
        The estimate of the option built, as quoted.
    result
        ``won``, ``lost`` or ``open``.
    rows
        Used against estimated.
    brought, worked
        What suggestions rest on; empty where nothing was written down.
    price
        Price before tax: as charged, else as quoted.
    cost_made
        Cost by tickets and hours at the owner's prices, as estimated where there are none; None for a job not built.
    measured
        Share of that cost which tickets and hours decide.
    saved_m
        Base depth below the one-depth habit, over the area of the base [m]; None where the habit cannot be built.
    notes
        What must catch the eye.
    doubts
        Why it is in doubt and counts for no factor; nothing where it is not.
    """

    quote: Quote
    planned: Estimate
    result: str
    rows: tuple[Used, ...]
    brought: tuple[Brought, ...]
    worked: tuple[Worked, ...]
    price: Decimal
    cost_made: Decimal | None
    measured: float
    saved_m: float | None
    notes: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()

    __repr__ = brief

    @property
    def margin_planned(self) -> float:
        """Price before tax less cost, as a share of the price, as quoted."""
        return float((self.planned.before_tax - self.planned.cost) / self.planned.before_tax)

    @property
    def margin_made(self) -> float | None:
        """The same by what was charged and used; None for a job not built."""
        return None if self.cost_made is None else float((self.price - self.cost_made) / self.price)


@dataclass(frozen=True, slots=True)
class Suggestion:
    """A number of the sheet Company that a season of jobs speaks to. It is never written anywhere.

    Parameters
    ----------
    what
        The column, in its own words, such as ``compaction factor``; or what is only shown.
    of
        The row: the owner's material, or the work code.
    unit
        Unit of the values.
    old
        What stands in the price workbook; None where nothing does.
    new, low, high
        The suggestion and its 95 % interval; None where there is none.
    jobs
        From how many jobs.
    cell
        Sheet and cell; nothing where there is no such cell.
    told
        What it means and what it holds fast, in a sentence; or why there is no suggestion.
    places
        Digits after the point.
    joined
        Whether it holds only together with the others of its stone, one of which is worth entering.
    """

    what: str
    of: str
    unit: str
    old: float | None
    new: float | None
    low: float | None
    high: float | None
    jobs: int
    cell: str
    told: str
    places: int = 3
    joined: bool = False

    @property
    def verdict(self) -> str:
        """What to do about it: consider it, enter it with the others, keep the old one, look only; or none."""
        if self.new is None or self.low is None or self.high is None:
            return "none"
        if not self.cell:
            return "shown"
        if self.old is None or not self.low <= self.old <= self.high:
            return "consider"
        return "together" if self.joined else "keep"


@dataclass(frozen=True, slots=True)
class Season:
    """Some jobs and what they teach.

    Parameters
    ----------
    prices
        The price workbook they are held against.
    units
        'us' or 'metric', as the owner's sheets are.
    company
        The owner's name.
    jobs
        In the order of their numbers.
    suggestions
        For the owner to enter by hand, or not.
    notes
        What was assumed, a sentence each.
    """

    prices: str
    units: str
    company: str
    jobs: tuple[JobActuals, ...]
    suggestions: tuple[Suggestion, ...]
    notes: tuple[str, ...] = ()

    __repr__ = brief
