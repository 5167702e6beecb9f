"""Readings of a spot become its strength, spots become the strength of an area; the weakest wins, in the open."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

from basecalc.brief import brief
from basecalc.errors import BasecalcError, InputError
from basecalc.ground.advice import ENGINEER, ENOUGH, place_flags, rod_facts, rod_flags, season_advice, spot_advice
from basecalc.ground.classes import Strength, rank, strength
from basecalc.ground.facts import Fact
from basecalc.ground.governing import Chosen, area_rule, choose
from basecalc.ground.readings import Finding, Reading, find, ground_words

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
        The lowest measured bearing ratio [%] within those classes; nothing where none was measured.
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
        """The strength to design for: the weakest class left open, with the measured bearing ratio if any."""
        return Strength(self.weakest, self.cbr)


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
        Whether fine soil read dry or frozen is taken one class down.

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
    limiting = min(
        findings, key=lambda finding: (rank(finding.strongest), rank(finding.weakest), finding.label, finding.sentence)
    )
    strongest = limiting.strongest
    agreeing = [finding for finding in findings if rank(finding.weakest) <= rank(strongest)]
    weakest = max((finding.weakest for finding in agreeing), key=rank)
    conflicts = tuple(sorted({_conflict(limiting, other) for other in findings if other not in agreeing}))
    inside = [finding for finding in agreeing if finding.cbr is not None and rank(finding.weakest) >= rank(weakest)]
    cbr = min((finding.cbr for finding in inside if finding.cbr is not None), default=None)
    decided_by = min(
        (finding for finding in agreeing if finding.weakest == weakest and (cbr is None or finding.cbr == cbr)),
        key=lambda finding: (rank(finding.strongest), finding.label, finding.sentence),
    )
    advice = spot_advice(findings, weakest, strongest, cbr, conflicts)
    return SpotStrength(name, findings, weakest, strongest, cbr, decided_by, conflicts, advice)


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
) -> AreaStrength:
    """Return the strength of an area: its weakest spot, or the lower quartile where four or more are measured.

    A very soft spot governs in any case, and so does a spot known by its class only that is weaker than the quartile.

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

    Raises
    ------
    InputError
        No spots, or two of the same name.

    References
    ----------
    TM-5-818-8, sec. 2-7a (lower quartile); [read].
    """
    if not spots:
        raise InputError(f"area {name} has no spot with a reading; it needs at least one")
    names = [spot.name for spot in spots]
    if twice := sorted({spot for spot in names if names.count(spot) > 1}):
        raise InputError(f"area {name} has two spots named {twice[0]}; each needs a name of its own")
    chosen = choose(names, [spot.strength for spot in spots], "auto", class_edge)
    rods = [(spot.name, depth) for spot in spots if (depth := _deepest_rod(spot)) is not None]
    flags = rod_flags(rods) + place_flags(
        chosen.strength.strength_class, new_build=new_build, near_foundation=near_foundation, old_pavement=old_pavement
    )
    return AreaStrength(
        name,
        tuple(spots),
        chosen.strength,
        chosen.how,
        tuple(f"{spot.name}: {conflict}" for spot in spots for conflict in spot.conflicts),
        tuple(flags),
        _area_advice(spots, chosen),
        "" if chosen.position is None else names[chosen.position],
        tuple(rod_facts(name, rods)),
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
    least = int(area_rule("spots for the lower quartile"))
    return f"With {least} or more spots measured by cone, their lower quartile counts instead of the weakest one."


def site_strength(values: Sequence[Any], rule: str = "auto", *, class_edge: str = "weak") -> Strength:
    """Return the one strength that several class words and bearing ratios come to.

    Parameters
    ----------
    values
        Class words, CBR [%], or text with one.
    rule
        "auto" (weakest, or lower quartile where four or more are CBRs), "weakest" or "lower quartile".
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
    >>> site_strength([4, 5, 6, 7]).cbr
    4.75

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
