"""What one more test of the ground is worth: its mean saving, how often it shows more is needed, what that costs.

The three are never set off against each other: stone that is needed is owed anyway, today at the desk or later with the
machine in the hole.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction
from math import exp, log, prod
from typing import Final

from basecalc.core.errors import OutOfRangeError
from basecalc.core.numbers import brief, cents, printed
from basecalc.core.words import tenths
from basecalc.design.depth import BaseDepth, base_depth
from basecalc.design.settings import NONE, Reinforcement, limit
from basecalc.ground.classes import CLASSES, LEAST_CBR, MOST_CBR, Strength, class_of_cbr
from basecalc.ground.evidence import (
    AreaEvidence,
    Prospect,
    area_chance,
    chance_words,
    ground_evidence,
    prospect,
    spot_prospect,
)
from basecalc.ground.readings import Reading
from basecalc.ground.strength import (
    SOUND_GROUND,
    AreaStrength,
    SpotStrength,
    area_strength,
    counted,
    known_cbr,
    spot_strength,
)
from basecalc.job import JobArea
from basecalc.pricing.estimate import total_of
from basecalc.pricing.records import Quote
from basecalc.takeoff.takeoff import take_off

LEAST_CHANCE: Final = 0.005  # a smaller chance is not said


@dataclass(frozen=True, slots=True)
class AtStrength:
    """An area's base and the job's money if the ground there counted with this strength, all else as offered."""

    cbr: float
    depth: BaseDepth
    total: Decimal | None
    note: str = ""
    chance: float = 0.0
    engineer: bool = False


@dataclass(frozen=True, slots=True)
class WorthOfTest:
    """What one more test in an area is worth: three things that are never netted.

    Parameters
    ----------
    area
        The area.
    evidence
        All that was read there.
    outcomes
        What the test may end in, the weakest ground first, each with its chance; equal bases are put together.
    offered
        The base as it is offered.
    chance_more
        The chance that the test shows more is needed [share].
    beyond
        What is needed then where none of the outcomes needs more; None elsewhere.
    more_spot
        The chance [share] that more than a quarter is weaker than designed for, with one more spot; None where there is
        no such chance.
    if_walked
        The chance [share] if the area were walked and one spot were its softest place; None where it was, or where
        there is no such chance.
    walked
        The base if it were walked and nothing softer were found; None where that changes nothing.
    """

    area: str
    evidence: AreaEvidence
    outcomes: tuple[AtStrength, ...]
    offered: AtStrength
    chance_more: float
    beyond: AtStrength | None
    more_spot: float | None = None
    if_walked: float | None = None
    walked: AtStrength | None = None

    @property
    def proposed(self) -> bool:
        """Whether a test is proposed: at a spot with a number one more number never saves."""
        return bool(self.evidence.to_test) or not self.evidence.spots

    @property
    def weak(self) -> AtStrength:
        """The weakest of the outcomes: one reading in ten is lower still."""
        return self.outcomes[0]

    @property
    def strong(self) -> AtStrength:
        """The strongest of the outcomes: one reading in ten is higher still."""
        return self.outcomes[-1]

    __repr__ = brief

    @property
    def saves_m(self) -> float:
        """How much base the test saves on average, where it shows more is needed counted as nothing [m]."""
        return sum(one.chance * max(0.0, self._less_m(one)) for one in self.outcomes)

    @property
    def more_m(self) -> float:
        """How much more base is needed on average where the test shows that more is needed [m]."""
        lost = self._lost
        whole = sum(one.chance for one in lost)
        return sum(one.chance * max(0.0, -self._less_m(one)) for one in lost) / whole if whole else 0.0

    @property
    def saves(self) -> Decimal | None:
        """How much of the price the test saves on average; None where an outcome cannot be priced."""
        return _mean(self.offered.total, [one for one in self.outcomes if not self._needs_more(one)], Fraction(1))

    @property
    def more(self) -> Decimal | None:
        """How much the price rises on average where the test shows that more is needed; None where it has no price."""
        lost = self._lost
        whole = sum((_fraction(one.chance) for one in lost), Fraction(0)) or Fraction(1)
        return _mean(self.offered.total, lost, whole, -1)

    @property
    def _lost(self) -> list[AtStrength]:
        return [one for one in self.outcomes if self._needs_more(one)] or ([self.beyond] if self.beyond else [])

    def _less_m(self, one: AtStrength) -> float:
        return self.offered.depth.required_m - one.depth.required_m

    def _needs_more(self, one: AtStrength) -> bool:
        """Return whether an outcome needs a deeper base than is offered, a geogrid that is not, or an engineer."""
        return one.engineer or _needs_more(self.offered.depth, one.depth)

    def sentence(self, units: str) -> str:
        """Return in plain sentences what the test would do to the depth, without money.

        Parameters
        ----------
        units
            'us' or 'metric'.
        """
        tests = _tests(self.evidence)
        if not tests:
            return "The spot that decides has a number. One more number there never saves stone: the lowest counts."
        saves, more = (_depth(value, units) for value in (self.saves_m, self.more_m))
        said = f"{tests}: expected saving {saves or 'no'} {'of ' if saves else ''}stone"
        grid = self.offered.depth.reinforcement == NONE and any(one.depth.reinforcement != NONE for one in self._lost)
        need = " and ".join(part for part in (f"{more} more" if more else "", "a geogrid" if grid else "") if part)
        then = f", then {'at least ' if self.engineer else ''}{need}" if need else ""
        if self.chance_more < LEAST_CHANCE:
            chance = "no reading to be expected shows that more is needed"
        else:
            chance = f"a chance of {100 * self.chance_more:.0f} % that more is needed{then}"
        return " ".join(part for part in (f"{said}; {chance}.", self.engineer) if part)

    @property
    def engineer(self) -> str:
        """What to say where the test could show ground that no base is designed for; nothing otherwise."""
        could = any(one.engineer for one in (*self.outcomes, self.beyond) if one)
        return _ENGINEER.format(limit("weakest ground designed")) if could else ""

    def next_steps(self) -> tuple[str, ...]:
        """Return what one more spot and walking the area would change, a sentence or two each, for the office."""
        known = self.evidence.confidence
        if known.chance is None or self.more_spot is None:
            return ()
        spots = "the spot read" if known.spots == 1 else f"all {known.spots} spots"
        steps = [
            f"One more measured spot is weaker than {spots} so far with a chance of 1 in {known.spots + 1}, and never "
            f"saves stone. It moves the chance that more than a quarter is weaker from {chance_words(known.chance)} to "
            f"{chance_words(self.more_spot)}."
        ]
        if self.if_walked is not None:
            steps.append(
                "Walked, with the place that gives most among as many spots, the chance is "
                f"{chance_words(self.if_walked)}. A softer place that is found needs more, and is owed anyway."
            )
        return tuple(steps)


def _fraction(chance: float) -> Fraction:
    return Fraction(chance).limit_denominator(10**9)


def _mean(offered: Decimal | None, found: Sequence[AtStrength], whole: Fraction, sign: int = 1) -> Decimal | None:
    """Return the mean of what is saved (or, sign -1, added), each at least nothing, to the cent."""
    if offered is None or any(one.total is None for one in found):
        return None
    total = sum(
        (_fraction(one.chance) * max(Fraction(0), sign * (Fraction(offered) - Fraction(one.total))) for one in found
         if one.total is not None), Fraction(0),
    )  # fmt: skip
    mean = total / whole
    return cents(Decimal(mean.numerator) / Decimal(mean.denominator))


def _needs_more(offered: BaseDepth, other: BaseDepth) -> bool:
    deeper = other.required_m > offered.required_m + 1e-9
    return deeper or (offered.reinforcement == NONE and other.reinforcement != NONE)


@dataclass(frozen=True, slots=True)
class _Test:
    """One test that may be made: what it will read, and how the spot then counts with a reading [%]."""

    prospect: Prospect
    counts: Callable[[float], Strength]


def _tests(evidence: AreaEvidence) -> str:
    names = evidence.to_test
    if not names:
        return "" if evidence.spots else "A cone test"
    if len(names) == 1:
        return f"One cone test ({names[0]})"
    return f"Cone tests at {len(names)} spots" + (f" ({'; '.join(names)})" if len(names) < 4 else "")


def _depth(value_m: float, units: str) -> str:
    """Return a depth in tenths of an inch or whole millimeters; nothing where there is none."""
    shown = tenths(value_m, units)
    return "" if shown.startswith("0 ") else shown


def worth_of_tests(quote: Quote) -> tuple[WorthOfTest, ...]:
    """Return for each area what one more test of its ground is worth.

    Parameters
    ----------
    quote
        The priced job.

    Notes
    -----
    The next cone reading at a spot known by class is log-normal (`basecalc.ground.evidence.prospect`); five equally
    likely values of it go through the rule of caution, the weakest of all spots, the base depth as offered and the
    price of the whole job. Where several spots known by class hold the strength back, all are tested, their readings
    independent.

    ``expected saving = sum(p max(0, offer - outcome))``; ``chance of more = 1 - prod(1 - Phi(ln(limit / m) / s))``,
    the limit being the reading below which the base grows; what more costs is the mean over the outcomes that need
    more, or the middle of the readings below the limit where none of the five does. Ground below the weakest that a
    base is designed for is not priced: it counts at that limit, and is said. At a spot that has a number one more
    number never saves, because the lowest counts.

    Examples
    --------
    Ask a quote where a test pays::

        [worth.sentence("us") for worth in worth_of_tests(quote(job, book))]

    References
    ----------
    test_scatter, chance_weaker; [own], [computed].
    """
    return tuple(_worth(quote, area) for area in quote.job.areas)


def _worth(quote: Quote, area: JobArea) -> WorthOfTest:
    made, ground = quote.offered_depths[area.name], quote.ground[area.name]
    evidence = ground_evidence(ground, made.settings.class_edge, area.area_m2)
    at = _Priced(quote, area.name)
    offered = AtStrength(made.cbr, made, quote.offer.total)
    tests, others = _to_make(quote, ground, evidence)
    ends = [(Fraction(1), ground.strength)]
    if tests:
        ends = _least_of(tests, others, made.settings.class_edge)
    outcomes = at.together(ends)
    limits = [at.reading_below_which_more(test) for test in tests]
    chances = [test.prospect.chance_below(least) for test, least in zip(tests, limits, strict=True)]
    chance_more = 1 - prod(1 - chance for chance in chances)
    beyond = None
    if chance_more >= LEAST_CHANCE and not any(one.engineer or _needs_more(made, one.depth) for one in outcomes):
        chance, place = max((chance, place) for place, chance in enumerate(chances))
        reading = tests[place].prospect.middle_below(limits[place])
        beyond = at.priced(tests[place].counts(reading), chance)
    worth = WorthOfTest(area.name, evidence, outcomes, offered, chance_more, beyond)
    if evidence.confidence.chance is None:
        return worth
    edge = made.settings.class_edge
    worth = replace(worth, more_spot=area_chance(ground, edge, more_spots=1))
    if ground.walked:
        return worth
    spots = [spot for spot in ground.spots if spot.counts]
    stronger = area_strength(area.name, spots, class_edge=edge, walked=True, spot_rule=ground.spot_rule).strength
    walked = at.priced(stronger, 0.0)
    saves = walked.depth.required_m < made.required_m - 1e-9
    return replace(worth, if_walked=area_chance(ground, edge, walked=True), walked=walked if saves else None)


_MOVED = "moved up to the weakest ground that is designed"
_ENGINEER = "It could also show ground below CBR {:g} %, which a licensed engineer must design."


class _Priced:
    """The base and the price of the offer with one area's ground at other strengths, each worked out once."""

    def __init__(self, quote: Quote, name: str) -> None:
        self.quote, self.name = quote, name
        self.made = quote.offered_depths[name]
        self._depths: dict[float, BaseDepth] = {}
        self._prices: dict[tuple[float, str], tuple[Decimal | None, str]] = {}

    def too_weak(self, strength: Strength) -> bool:
        """Return whether no base is designed for ground of this strength."""
        return known_cbr(strength, self.made.settings.class_edge) < limit("weakest ground designed") - 1e-9

    def depth(self, strength: Strength) -> BaseDepth:
        """Return the base at a strength, at the least that is designed where it is weaker."""
        if self.too_weak(strength):
            strength = Strength(CLASSES[1], limit("weakest ground designed"))
        key = known_cbr(strength, self.made.settings.class_edge)
        if key not in self._depths:
            self._depths[key] = designed_at(self.made, strength, _laid(self.quote), self.quote.job.units)
        return self._depths[key]

    def needs_more(self, strength: Strength) -> bool:
        """Return whether ground of this strength needs more than is offered."""
        return self.too_weak(strength) or _needs_more(self.made, self.depth(strength))

    def priced(self, strength: Strength, chance: float) -> AtStrength:
        """Return the offer with the area at a strength."""
        depth = self.depth(strength)
        low = self.too_weak(strength)
        key = (printed(depth.required_m), depth.reinforcement.kind)
        if key not in self._prices:
            self._prices[key] = self._price(depth)
        total, refused = self._prices[key]
        return AtStrength(depth.cbr, depth, total, refused or (_MOVED if low else ""), chance, low)

    def _price(self, depth: BaseDepth) -> tuple[Decimal | None, str]:
        quote = self.quote
        depths = {**quote.offered_depths, self.name: depth}
        try:
            taken = take_off(quote.job, quote.book.company, depths, quote.offered, words=False)
            return total_of(taken, quote.book), ""
        except OutOfRangeError as refusal:
            return None, refusal.sentence

    def together(self, ends: Sequence[tuple[Fraction, Strength]]) -> tuple[AtStrength, ...]:
        """Return the ends priced, those of one base together under the weakest of them, the weakest ground first."""
        bases: dict[tuple[float, str, bool], tuple[Fraction, Strength]] = {}
        for chance, strength in ends:
            depth = self.depth(strength)
            key = (printed(depth.required_m), depth.reinforcement.kind, self.too_weak(strength))
            before, weakest = bases.get(key, (Fraction(0), strength))
            bases[key] = (before + chance, weakest)
        return tuple(self.priced(strength, float(chance)) for chance, strength in bases.values())

    def reading_below_which_more(self, test: _Test) -> float:
        """Return the reading [%] of a test below which more is needed than is offered; 0 where none is."""
        low, high = log(LEAST_CBR), log(MOST_CBR)
        if not self.needs_more(test.counts(LEAST_CBR)):
            return 0.0
        while high - low > 1e-4:
            middle = (low + high) / 2
            needs = self.needs_more(test.counts(exp(middle)))
            low, high = (middle, high) if needs else (low, middle)
        return exp(high)


def _to_make(quote: Quote, ground: AreaStrength, evidence: AreaEvidence) -> tuple[list[_Test], list[Strength]]:
    """Return the tests that are proposed, and how the other spots of the area count."""
    settings = quote.offered_depths[ground.name].settings
    class_down = quote.book.company.class_down
    here = [spot for spot in ground.spots if spot.counts and ground.overruled != SOUND_GROUND]
    if here and not ground.overruled:
        tested = [spot for spot in here if spot.name in evidence.to_test]
        tests = [_Test(spot_prospect(spot), _with_reading(spot, ground, class_down=class_down)) for spot in tested]
    else:  # given by hand, or by what overrules the readings: the first number there

        def alone(cbr: float) -> Strength:
            first = Strength(class_of_cbr(cbr), cbr)
            return counted(first, walked=ground.walked, allowance=settings.reading_allowance)

        test = "cbr" if ground.strength.cbr is not None else ""
        tested, tests = [], [_Test(prospect(ground.strength, ground.strength.strength_class, test), alone)]
    others = [
        counted(spot.strength, walked=ground.walked, allowance=ground.allowance) for spot in here if spot not in tested
    ]
    return tests, others


def _with_reading(spot: SpotStrength, ground: AreaStrength, *, class_down: bool) -> Callable[[float], Strength]:
    """Return how a spot counts with one more number, the number [%] as the argument."""
    before = [finding.reading for finding in spot.findings]

    def counts(cbr: float) -> Strength:
        inside = min(max(cbr, LEAST_CBR), MOST_CBR)
        again = spot_strength(spot.name, [*before, Reading("cbr", inside, "wet")], class_down=class_down)
        return counted(again.strength, walked=ground.walked, allowance=ground.allowance)

    return counts


def _least_of(tests: Sequence[_Test], others: Sequence[Strength], edge: str) -> list[tuple[Fraction, Strength]]:
    """Return what the weakest of all spots may count with after the tests, weakest first, each with its chance."""
    ends = [[test.counts(reading) for reading in test.prospect.readings] for test in tests]
    several = [*ends, *([one] for one in others)]
    known = {known_cbr(one, edge): one for spot in several for one in spot}
    found, before = [], Fraction(1)
    for place, cbr in enumerate(sorted(known)):
        above = sorted(known)[place + 1 :]
        beyond = Fraction(1)
        for spot in several:
            beyond *= Fraction(sum(known_cbr(one, edge) in above for one in spot), len(spot))
        if before > beyond:
            found.append((before - beyond, known[cbr]))
        before = beyond
    return found


def _laid(quote: Quote) -> Reinforcement:
    """Return what the offered option lays where it thins the base."""
    return next((one.reinforcement for one in quote.offered_depths.values() if one.reinforcement != NONE), NONE)


def designed_at(made: BaseDepth, strength: Strength, laid: Reinforcement, units: str) -> BaseDepth:
    """Return the base at another strength, with reinforcement only where it thins the base, as the option has it."""
    unit = "mm" if units == "metric" else "in"
    depth = base_depth(strength, made.traffic, laid, made.settings, unit=unit, frost=made.frost, site=made.site)
    if laid == NONE or depth.required_m < depth.unreinforced_m - 1e-9:
        return depth
    return base_depth(strength, made.traffic, NONE, made.settings, unit=unit, frost=made.frost, site=made.site)
