"""All readings of an area together: what each allows, which decides and which conflict, and what is left open."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from math import inf
from typing import Final

from basecalc.brief import brief
from basecalc.ground.chance import at_end
from basecalc.ground.classes import CLASSES, Strength, class_of_cbr, rank, strong_edge, weak_edge
from basecalc.ground.confidence import Confidence, confidence
from basecalc.ground.governing import choose, counted, known_cbr
from basecalc.ground.readings import Finding
from basecalc.ground.strength import OLD_PAVEMENT, SOUND_GROUND, AreaStrength, SpotStrength
from basecalc.tables import table

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
    """Between which strengths the ground may lie.

    Parameters
    ----------
    weakest, strongest
        The classes.
    low_cbr, high_cbr
        The bearing ratios [%]; the higher one is infinite where the class has no end.
    """

    weakest: str
    strongest: str
    low_cbr: float
    high_cbr: float

    def holds(self, cbr: float) -> bool:
        """Return whether a bearing ratio [%] lies within, its ends counted."""
        return self.low_cbr * (1 - 1e-9) <= cbr <= self.high_cbr * (1 + 1e-9)


@dataclass(frozen=True, slots=True)
class ReadingEvidence:
    """One reading: what it allows, as read and after the rule for dry and frozen ground.

    Parameters
    ----------
    finding
        The reading and its meaning.
    as_read, taken
        What it allows before and after that rule.
    role
        'decides', 'agrees', 'cut off' where a CBR counts only as far as the hand and truck tests reach, 'set aside'
        where a weaker reading contradicts it, or 'does not count' where the ground was frozen.
    source
        Where the step from reading to strength comes from.
    """

    finding: Finding
    as_read: Span
    taken: Span
    role: str
    source: str


@dataclass(frozen=True, slots=True)
class SpotEvidence:
    """One spot: its readings, and what they leave open together.

    Parameters
    ----------
    name
        The spot.
    readings
        The one that decides first, then those that agree, then those set aside.
    left
        What they leave open.
    strength
        What the spot counts with.
    governs
        Whether it governs the area.
    """

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
        Its spots, in the order read; none where the strength was given by hand.
    strength
        What the base is designed for.
    cbr
        The bearing ratio that the strength counts with [%].
    left
        What the readings leave open: what tests at the spots that hold the strength back may still find, or one more
        spot where a quartile governs.
    to_test
        Spots known by class only that hold the strength back, where a number can save stone; or the place below what
        overrules the readings. None where a number holds it back (one more number there never saves: the lowest
        counts), or where nothing was read.
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
    >>> found = ground_evidence(area_strength("drive", [spot_strength("S1", [Reading("walk", 1.5, "wet")])]))
    >>> found.left.low_cbr, found.left.high_cbr, found.confidence.word
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
    """Return between which shares of its value a measured bearing ratio may lie.

    Examples
    --------
    >>> scatter()
    (0.7, 1.4)
    """
    row = table("sensitivity_ranges").exact("cbr")
    return float(row["low"]), float(row["high"])


def span_of(strength: Strength) -> Span:
    """Return between which strengths ground known as this may lie: the whole band of a class, or a measured ratio.

    Parameters
    ----------
    strength
        A class, with the measured bearing ratio where there is one.

    Examples
    --------
    >>> span_of(Strength("medium")).high_cbr, span_of(Strength("medium", 1.0)).low_cbr
    (1.6, 0.7)
    """
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
    classes = [one.taken for one in readings if one.role != SET_ASIDE and one.finding.cbr is None]
    return _both([_span(spot.weakest, spot.strongest, spot.cbr), *classes])


def _reading(finding: Finding, spot: SpotStrength) -> ReadingEvidence:
    role = _role(finding, spot)
    low, high = scatter()
    measured = f"; from and to are {low:g} and {high:g} of it" if finding.cbr is not None else ""
    taken = _span(finding.weakest, finding.strongest, finding.cbr)
    as_read = _span(*finding.as_read)
    if at_end(finding.reading.test.strip().casefold(), finding.amount):
        measured += "; the end of the instrument's scale, so it is an 'at least'"
        taken, as_read = (replace(span, strongest=CLASSES[-1], high_cbr=inf) for span in (taken, as_read))
    return ReadingEvidence(finding, as_read, taken, role, f"{finding.source}{measured}")


def _role(finding: Finding, spot: SpotStrength) -> str:
    if not finding.counts:
        return NOT_COUNTED
    if rank(finding.weakest) > rank(spot.strongest):
        lowest = min((one.cbr for one in spot.findings if one.cbr is not None), default=None)
        return (
            CUT_OFF
            if finding.cbr is not None and finding.cbr == lowest and spot.cbr is not None and spot.cbr < lowest
            else SET_ASIDE
        )
    return DECIDES if finding is spot.decided_by else AGREES


def _order(one: ReadingEvidence) -> tuple[int, str, str, str]:
    return _ROLES.index(one.role), one.finding.label, one.finding.sentence, one.finding.reading.note


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
    """Return the quartile with one more spot as weak as the weakest measured, and with one as strong as the strongest.

    A spot that is weaker than all of them can still turn up: the quartile of a few spots is no promise.
    """
    names = [f"spot {place:04d}" for place in range(len(known) + 1)]
    ratios = sorted((one for one in known if one.cbr is not None), key=lambda one: one.cbr or 0.0)
    weak, strong = (choose(names, [*known, one], "quartile", "weak").strength for one in (ratios[0], ratios[-1]))
    return Span(weak.strength_class, strong.strength_class, weak.cbr or 0.0, strong.cbr or 0.0)
