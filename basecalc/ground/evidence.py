"""How far the readings of an area can be trusted: the chance of weaker ground, reasons to doubt, what is left open.

Here too: what one more number at a spot will read, before it is read, in closed form.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from math import ceil, exp, hypot, inf, log, sqrt
from statistics import NormalDist
from typing import Final

from basecalc.core.numbers import brief, plural
from basecalc.core.published import Cell, table
from basecalc.core.units import FOOT_M
from basecalc.ground.classes import (
    CLASSES,
    Strength,
    class_of_cbr,
    rank,
    strong_edge,
    weak_edge,
)
from basecalc.ground.readings import TESTS, Finding
from basecalc.ground.strength import (
    OLD_PAVEMENT,
    SOUND_GROUND,
    AreaStrength,
    SpotStrength,
    choose,
    counted,
    known_cbr,
)

_LEAST_SHARE: Final = 0.02  # the model knows no smaller chance
_HALF: Final = 0.55  # above it, tenths say more than "1 in 2"


def chance_weaker(
    by_number: int,
    by_class: int,
    *,
    walked: bool = False,
    allowance: float = 0.7,
    class_edge: str = "weak",
    spot_rule: str = "weakest",
) -> float:
    """Return the chance that more than a quarter of an area is weaker than designed for [share].

    Notes
    -----
    The table ``chance_weaker`` holds, for n spots, the share of simulated driveways of which more than a quarter lies
    below the design CBR (``tests/bench/ground_chance.py``): ln(CBR) varies along the driveway (coefficient of variation
    0.3 to 0.8, or a weak patch); ``ln(reading) = ln(truth) + error of the site + error of the reading``, both normal
    with the scatter of `variance`; the design follows the rule of caution. Spots of both kinds, and an allowance
    between two columns, take the worse column; more spots than the table has count as its last row.

    References
    ----------
    chance_weaker; [computed].
    """
    rule = "quartile_" if spot_rule == "quartile" else ""
    known = table("chance_weaker")
    columns = []
    if by_class:
        columns.append(f"class_{class_edge}_walked" if walked else f"class_{class_edge}")
    if by_number:
        steps = [int(name.removeprefix("at_")) for name in known.columns if name.startswith("at_")]
        column = "walked" if walked else f"at_{min(step for step in steps if step >= 100 * allowance - 1e-9)}"
        columns.append(rule + column)
    row = known.exact(str(min(by_number + by_class, len(known.rows))))
    return round(max(float(row[column]) for column in columns) / 100, 4)


def chance_words(share: float) -> str:
    """Return a chance as a person says it; never less than 1 in 50."""
    if share > _HALF:
        return f"about {min(ceil(10 * share), 10)} in 10"
    return f"about 1 in {round(1 / max(share, _LEAST_SHARE))}"


def variance(test: str) -> float:
    """Return the variance of ln(CBR) of one reading of a test; 'class' is any test that names a class only.

    Notes
    -----
    ``v = s_site^2 + s_reading^2``, the errors of a test on a site and of a reading, both from the table
    ``test_scatter``; they are independent, so variances add.

    References
    ----------
    test_scatter; [own].
    """
    row = table("test_scatter").exact(test)
    return hypot(float(row["site"]), float(row["reading"])) ** 2


def _scatter(test: str) -> Mapping[str, Cell]:
    """Return the row of a test; an empty one for a test that names a class only."""
    return next((row for row in table("test_scatter").rows if row["test"] == test), {})


NOTHING_READ: Final = "none"


@dataclass(frozen=True, slots=True)
class Confidence:
    """How far the judgment of an area can be trusted."""

    word: str
    doubts: tuple[str, ...]
    spots: int
    tests: int
    measured: int
    source: str
    kinds: tuple[str, ...] = ()
    walked: bool = False
    ratio: float = 1.0
    chance: float | None = None

    @property
    def few(self) -> bool:
        """Whether so few spots were read that the chance must be said loudly."""
        return 0 < self.spots < _limit("few spots")

    @property
    def done(self) -> str:
        """What was done, for the office."""
        if not self.spots:
            return "the strength was given by hand, nothing was read here"
        apart = f"the strongest {self.ratio:.2g} times the weakest" if self.ratio > 1 + 1e-9 else "all alike"
        parts = (
            f"{plural(self.spots, 'spot')}, {plural(self.tests, 'reading')}, {self.measured} with a bearing ratio",
            f"by {', '.join(self.kinds)}",
            apart if self.spots > 1 else "",
            "the whole area walked and its softest place tested" if self.walked else "the area was not walked",
        )
        return "; ".join(part for part in parts if part)

    @property
    def sentence(self) -> str:
        """The word with what it rests on, for the office."""
        return f"{self.word}: {'; '.join((self.done, *self.doubts))}"

    @property
    def chance_sentence(self) -> str:
        """The chance in words, for the office; nothing where there is none."""
        if self.chance is None:
            return ""
        loud = f"only {plural(self.spots, 'spot')}: " if self.few else ""
        return (
            f"{loud}{chance_words(self.chance)} ({100 * self.chance:.0f} %) that more than a quarter of the area is "
            "weaker than designed for, if the readings are right for this soil and season"
        )


def confidence(ground: AreaStrength, class_edge: str = "weak", area_m2: float | None = None) -> Confidence:
    """Return how far the judgment of an area can be trusted.

    Notes
    -----
    The word falls with the number of reasons to doubt (few spots, a large area, spread, conflicts, a dry season, a
    class without a number, a crude test; tables ``confidence_rules``, ``confidence_words``) and with the chance of
    `chance_weaker`; the lower of the two words counts.

    References
    ----------
    common practice, no source.
    """
    rules, words = table("confidence_rules"), table("confidence_words")
    spots = [spot for spot in ground.spots if spot.counts]
    findings = [finding for spot in spots for finding in spot.findings if finding.counts]
    measured = sum(finding.cbr is not None for finding in findings)
    if not findings or ground.overruled == SOUND_GROUND:
        return Confidence(NOTHING_READ, (), 0, 0, 0, words.cited)
    deciding = next((spot for spot in spots if spot.name == ground.governed_by), None)
    rests_on = [deciding.decided_by] if deciding else [spot.decided_by for spot in spots]
    ratio = _ratio(spots)
    doubted = {
        "few spots": len(spots) < _limit("few spots"),
        "large area": area_m2 is not None and area_m2 / FOOT_M**2 > _limit("large area") * len(spots),
        "spread": ratio > _limit("spread") * (1 + 1e-9),
        "conflict": bool(ground.conflicts),
        "season": any(finding.seasonal and finding.moisture in ("", "dry") for finding in rests_on),
        "moist": any(finding.seasonal and finding.moisture == "moist" and finding.fine for finding in rests_on),
    }
    doubted |= _at_the_spot(deciding)
    doubts = tuple(str(row["words"]) for row in rules.rows if doubted[str(row["doubt"])])
    chance = None if ground.overruled else area_chance(ground, class_edge)
    by_doubts = words.rows.index(words.band("reasons to doubt", len(doubts)))
    most = [float(row["most_chance"]) / 100 for row in words.rows]
    by_chance = 0 if chance is None else next(place for place, limit in enumerate(most) if chance <= limit)
    word = str(words.rows[max(by_doubts, by_chance)]["word"])
    kinds = tuple(test for test in TESTS if test in {finding.test for finding in findings})
    return Confidence(
        word, doubts, len(spots), len(findings), measured, words.cited, kinds, ground.walked, ratio, chance
    )


def area_chance(
    ground: AreaStrength, class_edge: str = "weak", *, more_spots: int = 0, walked: bool | None = None
) -> float:
    """Return the chance that more than a quarter of an area is weaker than designed for [share]."""
    numbers = [spot.cbr is not None for spot in ground.spots if spot.counts]
    return chance_weaker(
        sum(numbers) + more_spots, len(numbers) - sum(numbers), walked=ground.walked if walked is None else walked,
        allowance=ground.allowance, class_edge=class_edge, spot_rule=ground.spot_rule,
    )  # fmt: skip


def _limit(doubt: str) -> float:
    return float(table("confidence_rules").exact(doubt)["limit"])


def _ratio(spots: Sequence[SpotStrength]) -> float:
    """Return the strongest spot over the weakest; very soft ground counts with the middle of its band."""
    known = [known_cbr(spot.strength, "weak") or strong_edge(CLASSES[0]) / 2 for spot in spots]
    return max(known) / min(known)


def _at_the_spot(spot: SpotStrength | None) -> dict[str, bool]:
    if spot is None:
        return dict.fromkeys(("few tests", "class only", "crude", "wide"), False)
    return {
        "few tests": len({finding.test for finding in spot.findings if finding.counts}) < _limit("few tests"),
        "class only": spot.cbr is None,
        "crude": spot.cbr is not None and bool(_scatter(spot.decided_by.test).get("crude")),
        "wide": spot.cbr is None and rank(spot.weakest) < rank(spot.strongest),
    }


DECIDES: Final = "decides"
AGREES: Final = "agrees"
SET_ASIDE: Final = "set aside"
CUT_OFF: Final = "cut off"
NOT_COUNTED: Final = "does not count"
_ROLES: Final = (DECIDES, AGREES, CUT_OFF, SET_ASIDE, NOT_COUNTED)
# Where a test would settle what overrules the readings.
_OPEN_AT: Final = {OLD_PAVEMENT: "below the old pavement", SOUND_GROUND: "at the bottom of the dig"}


@dataclass(frozen=True, slots=True)
class Span:
    """Between which strengths the ground may lie."""

    weakest: str
    strongest: str
    low_cbr: float
    high_cbr: float

    def holds(self, cbr: float) -> bool:
        """Return whether a bearing ratio [%] lies within, its ends counted."""
        return self.low_cbr * (1 - 1e-9) <= cbr <= self.high_cbr * (1 + 1e-9)


@dataclass(frozen=True, slots=True)
class ReadingEvidence:
    """One reading: what it allows, as read and after the rule for dry and frozen ground."""

    finding: Finding
    as_read: Span
    taken: Span
    role: str
    source: str


@dataclass(frozen=True, slots=True)
class SpotEvidence:
    """One spot: its readings, and what they leave open together."""

    name: str
    readings: tuple[ReadingEvidence, ...]
    left: Span
    strength: Strength
    governs: bool

    __repr__ = brief


@dataclass(frozen=True, slots=True)
class AreaEvidence:
    """One area: its spots, the rule that makes one strength of them, and what one more test could still find.

    Parameters
    ----------
    area
        Its name.
    spots
        Its spots, in the order read; empty where the strength was given by hand.
    strength
        What the base is designed for.
    cbr
        The bearing ratio that the strength counts with [%].
    left
        What the readings leave open: what tests at the spots that hold the strength back may still find, or one more
        spot where a quartile governs.
    to_test
        Spots known by class only that hold the strength back, where a number can save stone; or the place below what
        overrules the readings. Empty where a number holds it back, as one more number there never saves.
    rule, rule_source
        How the spots became one strength, and where the rule comes from.
    conflicts
        The disagreements at its spots.
    confidence
        How far all this can be trusted.
    """

    area: str
    spots: tuple[SpotEvidence, ...]
    strength: Strength
    cbr: float
    left: Span
    to_test: tuple[str, ...]
    rule: str
    rule_source: str
    conflicts: tuple[str, ...]
    confidence: Confidence

    __repr__ = brief


def ground_evidence(ground: AreaStrength, class_edge: str = "weak", area_m2: float | None = None) -> AreaEvidence:
    """Return all that was read in an area as one body of evidence.

    Parameters
    ----------
    ground
        The area's strength.
    class_edge
        Where in its band a class without a measured bearing ratio is designed, 'weak' or 'middle'.
    area_m2
        Plan area [m2]; None where it is not known.

    Examples
    --------
    >>> from basecalc.ground.readings import Reading
    >>> from basecalc.ground.strength import area_strength, spot_strength
    >>> evidence = ground_evidence(area_strength("drive", [spot_strength("S1", [Reading("walk", 1.5, "wet")])]))
    >>> evidence.left.low_cbr, evidence.left.high_cbr, evidence.confidence.word
    (0.8, 1.6, 'low')

    References
    ----------
    TM-5-818-8, sec. 2-7a (lower quartile); [read]. The weakest spot, and the weakest reading where they conflict:
    common practice, no source.
    """
    spots = tuple(_spot(spot, ground.governed_by) for spot in ground.spots)
    cbr = known_cbr(ground.strength, class_edge)
    left, to_test = _left(ground, spots, cbr, class_edge)
    quartile = bool(spots) and not ground.governed_by and not ground.overruled
    source = table("area_rules").cited if quartile else table("confidence_rules").cited
    return AreaEvidence(
        ground.name, spots, ground.strength, cbr, left, to_test, ground.rule, source, ground.conflicts,
        confidence(ground, class_edge, area_m2),
    )  # fmt: skip


def scatter() -> tuple[float, float]:
    """Return between which shares of its value a measured bearing ratio may lie."""
    row = table("sensitivity_ranges").exact("cbr")
    return float(row["low"]), float(row["high"])


def span_of(strength: Strength) -> Span:
    """Return between which strengths ground known as this may lie: the band of a class, 0.7 to 1.4 of a number."""
    word = strength.strength_class
    return _span(word, word, strength.cbr)


def _span(weakest: str, strongest: str, cbr: float | None) -> Span:
    if cbr is None:
        return Span(weakest, strongest, weak_edge(weakest), strong_edge(strongest))
    low, high = (share * cbr for share in scatter())
    return Span(class_of_cbr(low), class_of_cbr(min(high, 100.0)), low, high)


def _both(spans: Iterable[Span]) -> Span:
    """Return what several spans leave open together."""
    first, *others = spans
    for other in others:
        first = Span(
            max(first.weakest, other.weakest, key=rank),
            min(first.strongest, other.strongest, key=rank),
            max(first.low_cbr, other.low_cbr),
            min(first.high_cbr, other.high_cbr),
        )
    return first


def _spot(spot: SpotStrength, governing: str) -> SpotEvidence:
    readings = tuple(sorted((_reading(finding, spot) for finding in spot.findings), key=_order))
    by_class = _span(spot.weakest, spot.strongest, None)
    left = by_class if spot.cbr is None else _within(spot, readings)
    return SpotEvidence(spot.name, readings, left, spot.strength, spot.name == governing)


def _within(spot: SpotStrength, readings: tuple[ReadingEvidence, ...]) -> Span:
    """Return what the lowest measured ratio leaves open within the classes of the readings that measure none."""
    classes = [item.taken for item in readings if item.role != SET_ASIDE and item.finding.cbr is None]
    return _both([_span(spot.weakest, spot.strongest, spot.cbr), *classes])


def _reading(finding: Finding, spot: SpotStrength) -> ReadingEvidence:
    role = _role(finding, spot)
    low, high = scatter()
    measured = f"; from and to are {low:g} and {high:g} of it" if finding.cbr is not None else ""
    taken = _span(finding.weakest, finding.strongest, finding.cbr)
    as_read = _span(*finding.as_read)
    if finding.amount is not None and finding.amount >= float(_scatter(finding.test).get("end", inf)):
        measured += "; the end of the instrument's scale, so it is an 'at least'"
        taken, as_read = (replace(span, strongest=CLASSES[-1], high_cbr=inf) for span in (taken, as_read))
    return ReadingEvidence(finding, as_read, taken, role, f"{finding.source}{measured}")


def _role(finding: Finding, spot: SpotStrength) -> str:
    if not finding.counts:
        return NOT_COUNTED
    if rank(finding.weakest) > rank(spot.strongest):
        lowest = min((other.cbr for other in spot.findings if other.cbr is not None), default=None)
        cut = finding.cbr is not None and finding.cbr == lowest and spot.cbr is not None and spot.cbr < lowest
        return CUT_OFF if cut else SET_ASIDE
    return DECIDES if finding is spot.decided_by else AGREES


def _order(item: ReadingEvidence) -> tuple[int, str, str, str]:
    return _ROLES.index(item.role), item.finding.label, item.finding.sentence, item.finding.reading.note


def _left(ground: AreaStrength, spots: tuple[SpotEvidence, ...], cbr: float, edge: str) -> tuple[Span, tuple[str, ...]]:
    """Return what is left open and the spots that must be tested to settle it; what is designed for lies within."""
    if ground.overruled:
        return span_of(ground.strength), (_OPEN_AT[ground.overruled],)
    if not spots:
        return span_of(ground.strength), ()
    matter = [spot for spot, read in zip(spots, ground.spots, strict=True) if read.counts]
    as_counted = {
        spot.name: counted(spot.strength, walked=ground.walked, allowance=ground.allowance) for spot in matter
    }
    governing = next((spot for spot in matter if spot.governs), None)
    if governing is None:
        return _of_quartile(list(as_counted.values())), ()
    weakest = min(matter, key=lambda spot: spot.left.high_cbr)
    high, strongest = weakest.left.high_cbr, weakest.left.strongest
    tested = [spot for spot in matter if known_cbr(as_counted[spot.name], edge) < high] or [governing]
    low = min(tested, key=lambda spot: spot.left.low_cbr).left
    to_test = [spot.name for spot in tested if spot.strength.cbr is None] if governing.strength.cbr is None else []
    return Span(low.weakest, strongest, min(low.low_cbr, cbr), high), tuple(to_test)


def _of_quartile(known: list[Strength]) -> Span:
    """Return the quartile with one more spot as weak as the weakest measured, or as strong as the strongest."""
    names = [f"spot {place:04d}" for place in range(len(known) + 1)]
    ratios = sorted((spot for spot in known if spot.cbr is not None), key=lambda spot: spot.cbr or 0.0)
    weak, strong = (choose(names, [*known, more], "quartile", "weak").strength for more in (ratios[0], ratios[-1]))
    return Span(weak.strength_class, strong.strength_class, weak.cbr or 0.0, strong.cbr or 0.0)


NEXT_TEST: Final = "cone"
_NORMAL: Final = NormalDist()
_FIFTHS: Final = (0.1, 0.3, 0.5, 0.7, 0.9)  # the middles of five equally likely parts
_DRY_TIMES: Final = 4.0  # a dry reading is 1 to 4 times too high: basecalc's own choice, no source


@dataclass(frozen=True, slots=True)
class Prospect:
    """What the next reading at a spot will be: log-normal about a middle."""

    middle: float
    spread: float

    @property
    def readings(self) -> tuple[float, ...]:
        """Five equally likely readings [%], the lowest first."""
        return tuple(self.middle * exp(self.spread * _NORMAL.inv_cdf(share)) for share in _FIFTHS)

    def chance_below(self, cbr: float) -> float:
        """Return the chance that it reads less than this [share]."""
        return _NORMAL.cdf(log(cbr / self.middle) / self.spread) if cbr > 0 else 0.0

    def middle_below(self, cbr: float) -> float:
        """Return the reading in the middle of those that are less than this [%]."""
        return self.middle * exp(self.spread * _NORMAL.inv_cdf(self.chance_below(cbr) / 2))


def spot_prospect(spot: SpotStrength) -> Prospect:
    """Return what one more cone reading will be at a spot that was read, by what decides there."""
    decides = spot.decided_by
    dry = decides.seasonal and decides.moisture == "dry" and decides.fine
    test = decides.test if decides.cbr is not None else "class"
    return prospect(spot.strength, spot.strongest, test, dry=dry, lowered=decides.changed)


def prospect(strength: Strength, strongest: str, test: str, *, dry: bool = False, lowered: bool = True) -> Prospect:
    """Return what one more cone reading will be at a spot: its weakest class and lowest number, its strongest class.

    Notes
    -----
    What is known of ln(CBR) at the spot has the middle ``ln m`` and the variance ``v``. A number: ``m`` is the number,
    ``v = v_test``. Classes over ``k`` bands, each twice the last: ``m = weak edge x 2^(k/2)``,
    ``v = v_class + (k ln 2)^2 / 12`` (even over the bands). Read dry, 1 to 4 times too high: ``m`` is halved and
    ``v`` grows by ``(ln 4)^2 / 12``. The next reading has ``s = sqrt(v + v_cone)`` about the same middle. Bands
    without an end, very soft and hard, count as one doubling.

    Examples
    --------
    >>> next_one = prospect(Strength("medium"), "medium", "")
    >>> round(next_one.middle, 2), round(next_one.spread, 2), round(next_one.chance_below(0.8), 2)
    (1.13, 0.6, 0.28)

    References
    ----------
    test_scatter; [own].
    """
    if strength.cbr is not None:
        middle, spread = strength.cbr, variance(test)
    else:
        bands = rank(strongest) - rank(strength.strength_class) + 1
        weak = weak_edge(strength.strength_class) or strong_edge(CLASSES[0]) / 2
        middle, spread = weak * 2 ** (bands / 2), variance("class") + (bands * log(2)) ** 2 / 12
    if dry:
        middle, spread = middle if lowered else middle / 2, spread + log(_DRY_TIMES) ** 2 / 12
    return Prospect(middle, sqrt(spread + variance(NEXT_TEST)))
