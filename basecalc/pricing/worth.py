"""What one more test of the ground would be worth: how far base depth and price lie apart over what is left open."""

from dataclasses import dataclass
from decimal import Decimal
from math import isinf

from basecalc.base.depth import BaseDepth, base_depth
from basecalc.base.limits import limit
from basecalc.base.reinforcement import NONE, Reinforcement
from basecalc.base.sensitivity import HARDEST_CBR
from basecalc.errors import OutOfRangeError
from basecalc.ground.classes import CLASSES, Strength, rank
from basecalc.ground.evidence import AreaEvidence, ground_evidence
from basecalc.pricing.estimate import estimate
from basecalc.pricing.record import Quote
from basecalc.rounding import printed
from basecalc.takeoff.takeoff import take_off
from basecalc.units import INCH_M

# The quote asked for last: the files of client and office show the same, and working it out prices the job many times.
_LAST: list[tuple[Quote, tuple["WorthOfTest", ...]]] = []


@dataclass(frozen=True, slots=True)
class AtStrength:
    """An area's base and the job's money if the ground there were of this strength, all else as offered.

    Parameters
    ----------
    cbr
        The bearing ratio [%].
    depth
        The checks behind the base depth.
    total, cost
        Price of the whole job to the client, and its cost; None where the area cannot be built so.
    note
        Why the end of the range was moved, or why the area cannot be built so; nothing otherwise.
    """

    cbr: float
    depth: BaseDepth
    total: Decimal | None
    cost: Decimal | None
    note: str = ""


@dataclass(frozen=True, slots=True)
class WorthOfTest:
    """What one more test in an area could change.

    Parameters
    ----------
    area
        The area.
    evidence
        All that was read there.
    weak, offered, strong
        The base as it would be at the weak end of what is left open, as it is offered, and at the strong end.
    engineer
        What to say where the weak end reaches ground that no base is designed for; nothing otherwise.
    """

    area: str
    evidence: AreaEvidence
    weak: AtStrength
    offered: AtStrength
    strong: AtStrength
    engineer: str

    @property
    def saves_m(self) -> float:
        """How much base the test could save at most [m]; never negative."""
        return max(0.0, self.offered.depth.required_m - self.strong.depth.required_m)

    @property
    def more_m(self) -> float:
        """How much more base the test could show to be needed at most [m]; never negative."""
        return max(0.0, self.weak.depth.required_m - self.offered.depth.required_m)

    @property
    def spread_m(self) -> float:
        """How far apart the depths at both ends lie [m]."""
        return self.saves_m + self.more_m

    @property
    def saves(self) -> Decimal | None:
        """How much of the price the test could save at most; None where an end cannot be priced."""
        return _less(self.offered.total, self.strong.total)

    @property
    def more(self) -> Decimal | None:
        """How much more the test could show the price to be; None where an end cannot be priced."""
        return _less(self.weak.total, self.offered.total)

    def sentence(self, units: str) -> str:
        """Return in a plain sentence what the test could show, without money.

        Parameters
        ----------
        units
            'us' or 'metric'.
        """
        saves, more = (_depth(value, units) for value in (self.saves_m, self.more_m))
        gains = [f"save up to {saves} of stone"] if saves else []
        needs = [f"that up to {more} more{'' if saves else ' stone'} are needed"] if more else []
        laid = self.offered.depth.reinforcement != NONE
        if laid and self.strong.depth.reinforcement == NONE:
            gains.append("spare the geogrid")
        if not laid and self.weak.depth.reinforcement != NONE:
            needs.append("that a geogrid is needed")
        could = [" and ".join(gains)] if gains else []
        could += [f"show {' and '.join(needs)}"] if needs else []
        said = f"could {', or '.join(could)}" if could else "would not change the depth"
        return f"{_tests(self.evidence)} {said}{'; ' + self.engineer if self.engineer else ''}."


def _less(more: Decimal | None, less: Decimal | None) -> Decimal | None:
    return None if more is None or less is None else more - less


def _tests(evidence: AreaEvidence) -> str:
    names = evidence.to_test
    if not names:
        return "A cone test at one more spot" if evidence.spots else "A cone test"
    if len(names) == 1:
        return f"One cone test ({names[0]})"
    return f"Cone tests at {len(names)} spots" + (f" ({'; '.join(names)})" if len(names) < 4 else "")


def _depth(value_m: float, units: str) -> str:
    """Return a difference of depths in whole inches or millimetres; nothing where there is none."""
    amount = printed(value_m * 1000 if units == "metric" else value_m / INCH_M)
    if amount <= 0:
        return ""
    return f"{amount:,.0f} mm" if units == "metric" else f"{amount:,.3g} in"


def worth_of_tests(quote: Quote) -> tuple[WorthOfTest, ...]:
    """Return for each area what one more test of its ground would be worth.

    The weak and the strong end of what the readings leave open are designed, taken off and priced like the offer, one
    area at a time, with the same settings, option and prices. Ground below the weakest that a base is designed for is
    not priced: the weak end stops there and says so.

    Parameters
    ----------
    quote
        The priced job.

    Examples
    --------
    Ask a quote where a test pays::

        [worth.sentence("us") for worth in worth_of_tests(quote(job, book))]
    """
    for known, worths in _LAST:
        if known is quote:
            return worths
    worths = tuple(_worth(quote, area.name) for area in quote.job.areas)
    _LAST[:] = [(quote, worths)]
    return worths


def _worth(quote: Quote, name: str) -> WorthOfTest:
    made = quote.offered_depths[name]
    evidence = ground_evidence(quote.ground[name], made.settings.class_edge)
    least = limit("weakest ground designed")
    low, high = evidence.left.low_cbr, evidence.left.high_cbr
    engineer, moved = "", ""
    if printed(low) < least:
        engineer = f"it could also show ground below CBR {least:g} %, which a licensed engineer must design"
        moved = f"moved up to {least:g} %, below which a licensed engineer designs the base"
    # Ground moved up to the weakest that is designed lies at the weak edge of soft.
    weak = _at(quote, name, Strength(max(evidence.left.weakest, CLASSES[1], key=rank), max(low, least)), moved)
    ends = f"hard ground has no end; taken as CBR {HARDEST_CBR:g} %" if isinf(high) else ""
    strong = _at(quote, name, Strength(evidence.left.strongest, HARDEST_CBR if isinf(high) else min(high, 100.0)), ends)
    offered = AtStrength(made.cbr, made, quote.offer.total, quote.offer.cost)
    return WorthOfTest(name, evidence, weak, offered, strong, engineer)


def _at(quote: Quote, name: str, strength: Strength, note: str) -> AtStrength:
    """Return the offer with the ground of one area at another strength."""
    depth = _designed(quote.offered_depths[name], strength, _laid(quote), quote.job.units)
    depths = {**quote.offered_depths, name: depth}
    try:
        priced = estimate(take_off(quote.job, quote.book.company, depths, quote.offered), quote.book)
    except OutOfRangeError as refusal:
        return AtStrength(depth.cbr, depth, None, None, "; ".join(part for part in (note, refusal.sentence) if part))
    return AtStrength(depth.cbr, depth, priced.total, priced.cost, note)


def _laid(quote: Quote) -> Reinforcement:
    """Return what the offered option lays where it thins the base."""
    return next((one.reinforcement for one in quote.offered_depths.values() if one.reinforcement != NONE), NONE)


def _designed(made: BaseDepth, strength: Strength, laid: Reinforcement, units: str) -> BaseDepth:
    """Return the base at another strength, with reinforcement only where it thins the base, as the option has it."""
    unit = "mm" if units == "metric" else "in"
    depth = base_depth(strength, made.traffic, laid, made.settings, unit=unit, frost=made.frost, site=made.site)
    if laid == NONE or depth.required_m < depth.unreinforced_m - 1e-9:
        return depth
    return base_depth(strength, made.traffic, NONE, made.settings, unit=unit, frost=made.frost, site=made.site)
