"""Readings of a spot become its strength, spots become the strength of an area; the weakest wins, in the open."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

from basecalc.brief import brief
from basecalc.errors import BasecalcError, InputError
from basecalc.ground.advice import (
    ENGINEER,
    ENOUGH,
    frozen_flags,
    place_flags,
    rod_facts,
    rod_flags,
    season_advice,
    spot_advice,
)
from basecalc.ground.classes import CLASSES, Strength, class_of_cbr, rank, strength, strong_edge
from basecalc.ground.facts import Fact
from basecalc.ground.governing import Chosen, area_rule, choose, counted
from basecalc.ground.readings import THAW, Finding, Reading, find, ground_words
from basecalc.tables import table

OLD_PAVEMENT: Final = "old pavement"  # it speaks for weaker ground than was read
SOUND_GROUND: Final = "sound ground"  # the fill that was read is dug out


@dataclass(frozen=True, slots=True)
class SpotStrength:
    """How strong the ground is at one spot.

    Parameters
    ----------
    name
        The spot.
    findings
        What each reading there says, in the order read.
    weakest, strongest
        The classes that all readings leave open; where they conflict, those of the weakest.
    cbr
        The lowest measured bearing ratio [%], cut off where the hand and truck tests end; nothing where none was
        measured, or where these tests show very soft ground.
    decided_by
        The finding that the result rests on.
    conflicts
        A sentence for each reading that disagrees with the weakest one.
    test_next
        What to test next, in one sentence.
    """

    name: str
    findings: tuple[Finding, ...]
    weakest: str
    strongest: str
    cbr: float | None
    decided_by: Finding
    conflicts: tuple[str, ...]
    test_next: str

    __repr__ = brief

    @property
    def strength(self) -> Strength:
        """The strength of the spot as measured: the weakest class left open, with the measured bearing ratio if any."""
        return Strength(self.weakest, self.cbr)

    @property
    def counts(self) -> bool:
        """Whether it says anything about the ground; not where every reading was taken in frozen ground."""
        return any(finding.counts for finding in self.findings)


@dataclass(frozen=True, slots=True)
class AreaStrength:
    """How strong the ground of an area is taken to be, and why.

    Parameters
    ----------
    name
        The area.
    spots
        Its spots.
    strength
        What the base is designed for.
    rule
        How the spots became one strength, in words.
    conflicts
        The disagreements at its spots.
    flags
        What must catch the eye before the price is given.
    test_next
        What to test next, in one sentence.
    governed_by
        The spot that governs; nothing where the lower quartile of many does, or what overrules the readings.
    facts
        Findings that call for cautions, each by its key.
    overruled
        What the strength rests on where the readings do not decide it, `OLD_PAVEMENT` or `SOUND_GROUND`; nothing where
        they do.
    walked
        Whether the whole area was walked and its softest place tested, so that measured spots count as measured.
    allowance
        Share of a measured CBR that counts where it was not.
    spot_rule
        The owner's rule, 'weakest' or 'quartile'.
    """

    name: str
    spots: tuple[SpotStrength, ...]
    strength: Strength
    rule: str
    conflicts: tuple[str, ...]
    flags: tuple[str, ...]
    test_next: str
    governed_by: str = ""
    facts: tuple[Fact, ...] = ()
    overruled: str = ""
    walked: bool = False
    allowance: float = 1.0
    spot_rule: str = "weakest"

    __repr__ = brief


def spot_strength(name: str, readings: Sequence[Reading], *, class_down: bool = True) -> SpotStrength:
    """Return the strength at a spot: what its readings leave open together, the weakest where they conflict.

    Parameters
    ----------
    name
        The spot.
    readings
        What was read there, in any order.
    class_down
        Whether fine soil read dry is taken one class down.

    Raises
    ------
    InputError
        No readings, or one that cannot be used; the message names the spot.
    OutOfRangeError
        A reading outside the limits of its test.

    Examples
    --------
    >>> spot = spot_strength("S1", [Reading("stand", 1.5, "wet"), Reading("shovel", "moderate", "wet")])
    >>> spot.weakest, spot.strongest
    ('medium', 'medium')
    """
    if not readings:
        raise InputError(f"spot {name} has no reading; it needs at least one")
    try:
        findings = tuple(find(reading, class_down=class_down) for reading in readings)
    except BasecalcError as refusal:
        raise refusal.at(f"spot {name}") from None
    counting = [finding for finding in findings if finding.counts]
    if not counting:
        first = min(findings, key=_by_words)
        return SpotStrength(name, findings, CLASSES[0], CLASSES[-1], None, first, (), f"{season_advice(findings)}.")
    limiting = min(counting, key=lambda finding: (rank(finding.strongest), rank(finding.weakest), *_by_words(finding)))
    weakest, strongest, cbr = _left_open(counting)
    agreeing = [finding for finding in counting if rank(finding.weakest) <= rank(strongest)]
    conflicts = tuple(sorted({_conflict(limiting, other) for other in counting if other not in agreeing}))
    decided_by = min(
        (finding for finding in agreeing if finding.weakest == weakest and (cbr is None or finding.cbr == cbr)),
        key=lambda finding: (rank(finding.strongest), *_by_words(finding)),
        default=limiting,  # which cut off what was measured
    )
    advice = spot_advice(findings, weakest, strongest, cbr, conflicts)
    return SpotStrength(name, findings, weakest, strongest, cbr, decided_by, conflicts, advice)


def _by_words(finding: Finding) -> tuple[str, ...]:
    reading = finding.reading
    return finding.label, finding.sentence, reading.soil, reading.moisture, reading.note


def _left_open(findings: Sequence[Finding]) -> tuple[str, str, float | None]:
    """Return the classes that readings leave open together, and the lowest measured CBR [%] cut off where they end.

    A weaker reading never gives a stronger spot: the cut-off and the lowest CBR only fall with it, and so does the
    greatest weak end, which counts only where nothing was measured.
    """
    by_class = [finding for finding in findings if finding.cbr is None]
    measured = [finding.cbr for finding in findings if finding.cbr is not None]
    strongest = min((finding.strongest for finding in by_class), key=rank, default=CLASSES[-1])
    weakest = min(max((finding.weakest for finding in by_class), key=rank, default=CLASSES[0]), strongest, key=rank)
    if not measured or strongest == CLASSES[0]:
        return weakest, strongest, None
    cbr = min(*measured, strong_edge(strongest))
    return class_of_cbr(cbr), class_of_cbr(cbr), cbr


def _conflict(limiting: Finding, other: Finding) -> str:
    return (
        f"'{limiting.label}' says {ground_words(limiting.weakest, limiting.strongest)}, but '{other.label}' says "
        f"{ground_words(other.weakest, other.strongest)}: the weaker is taken"
    )


def area_strength(
    name: str,
    spots: Sequence[SpotStrength],
    *,
    new_build: bool = False,
    near_foundation: bool = False,
    old_pavement: bool = False,
    class_edge: str = "weak",
    walked: bool = False,
    allowance: float | None = None,
    spot_rule: str = "weakest",
) -> AreaStrength:
    """Return the strength of an area: that of its weakest spot.

    Where the whole area was walked and its softest place tested, a measured spot counts as measured; else with a share
    of its CBR, never less than the weak edge of its class. Spots read in frozen ground only do not count.

    Parameters
    ----------
    name
        The area.
    spots
        Its spots, each with a name of its own.
    new_build, near_foundation, old_pavement
        Whether the plot is newly built on, the area lies along a foundation, an old pavement lies there.
    class_edge
        Where in its band a class without a CBR is designed, "weak" or "middle"; which spot is the weakest may turn
        on it.
    walked
        Whether somebody walked the whole area and tested the softest place.
    allowance
        Share of a measured CBR that counts where nobody did, 0.5 to 1; by default that of the design numbers.
    spot_rule
        'weakest', or 'quartile': from four measured spots on their lower quartile, at most 1.25 times the weakest.

    Raises
    ------
    InputError
        No spots, two of the same name, or none read but in frozen ground.

    Notes
    -----
    counted CBR = max(weak edge of the class, allowance x measured CBR), or the measured CBR where walked; the least of
    all spots is designed for.

    References
    ----------
    The weakest spot and the allowance: common practice, no source. TM-5-818-8, sec. 2-7a (lower quartile); [read].
    """
    if not spots:
        raise InputError(f"area {name} has no spot with a reading; it needs at least one")
    names = [spot.name for spot in spots]
    if twice := sorted({spot for spot in names if names.count(spot) > 1}):
        raise InputError(f"area {name} has two spots named {twice[0]}; each needs a name of its own")
    counting = [spot for spot in spots if spot.counts]
    if not counting:
        raise InputError(f"area {name} was read in frozen ground only; {THAW}")
    share = float(table("design_defaults").exact("reading_allowance")["default"]) if allowance is None else allowance
    as_counted = [counted(spot.strength, walked=walked, allowance=share) for spot in counting]
    measured = sum(one.cbr is not None for one in as_counted)
    by_quartile = spot_rule == "quartile" and measured >= area_rule("spots for the lower quartile")
    chosen = choose([spot.name for spot in counting], as_counted, "quartile" if by_quartile else "weakest", class_edge)
    rods = [(spot.name, depth) for spot in spots if (depth := _deepest_rod(spot)) is not None]
    flags = frozen_flags([spot.name for spot in spots if not spot.counts]) + rod_flags(rods)
    flags += place_flags(
        chosen.strength.strength_class, new_build=new_build, near_foundation=near_foundation, old_pavement=old_pavement
    )
    return AreaStrength(
        name,
        tuple(spots),
        chosen.strength,
        chosen.how + _how_counted(chosen.strength, as_counted, walked=walked, allowance=share),
        tuple(f"{spot.name}: {conflict}" for spot in spots for conflict in spot.conflicts),
        tuple(flags),
        _area_advice(counting, chosen),
        "" if chosen.position is None else counting[chosen.position].name,
        tuple(rod_facts(name, rods)),
        walked=walked,
        allowance=share,
        spot_rule=spot_rule,
    )


def _how_counted(chosen: Strength, as_counted: Sequence[Strength], *, walked: bool, allowance: float) -> str:
    """Return how what was measured counts, in words; nothing where nothing was measured, or it counts in full."""
    if walked and any(one.cbr is not None for one in as_counted):
        return "; the area was walked and its softest place tested, so readings count as measured"
    if chosen.as_read is None and not any(one.as_read is not None for one in as_counted):
        return ""
    return (
        f"; the area was not walked, so a measured CBR counts {allowance:g} of it, never less than the weak edge of "
        "its class"
    )


def _deepest_rod(spot: SpotStrength) -> float | None:
    depths = [
        finding.amount
        for finding in spot.findings
        if finding.amount is not None and finding.reading.test.strip().casefold() == "rod"
    ]
    return max(depths, default=None)


def _area_advice(spots: Sequence[SpotStrength], chosen: Chosen) -> str:
    if chosen.position is None:
        season = season_advice([finding for spot in spots for finding in spot.findings])
        return f"{season or ENOUGH}."
    governing = spots[chosen.position]
    others = [spot for spot in spots if spot is not governing]
    if governing.test_next not in (f"{ENOUGH}.", f"{ENGINEER}."):
        return f"At {governing.name}: {governing.test_next}" if others else governing.test_next
    if governing.test_next == f"{ENGINEER}.":
        return governing.test_next
    if others and all(rank(spot.weakest) >= rank(governing.weakest) + 2 for spot in others):
        return (
            f"Find out how far the weaker ground around {governing.name} reaches: as an area of its own it would save "
            "stone everywhere else."
        )
    return f"{ENOUGH}."


def site_strength(values: Sequence[Any], rule: str = "auto", *, class_edge: str = "weak") -> Strength:
    """Return the one strength that several class words and bearing ratios come to, each taken as given.

    Parameters
    ----------
    values
        Class words, CBR [%], or text with one.
    rule
        "auto" or "weakest": the weakest; "quartile" or "lower quartile": that of four or more CBRs, at most 1.25 times
        the weakest of them, and never above a weaker class or very soft ground.
    class_edge
        As in `area_strength`.

    Raises
    ------
    InputError
        No values, one that is neither class nor CBR, or a lower quartile of fewer than four CBRs.
    OutOfRangeError
        A CBR outside 0.05 to 100 %.

    Examples
    --------
    >>> site_strength(["stiff", 2.5, "medium"]).strength_class
    'medium'
    >>> site_strength([4, 5, 6, 7]).cbr, site_strength([4, 5, 6, 7], "quartile").cbr
    (4.0, 4.25)

    References
    ----------
    TM-5-818-8, sec. 2-7a (lower quartile); [read].
    """
    if not values:
        raise InputError("strengths are missing; at least one class word or CBR is needed")
    strengths = []
    for position, value in enumerate(values, 1):
        try:
            strengths.append(strength(value))
        except BasecalcError as refusal:
            raise refusal.at(f"value {position}") from None
    return choose([f"value {place:06d}" for place in range(len(strengths))], strengths, rule, class_edge).strength
