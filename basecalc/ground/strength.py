"""Readings of a spot become its strength, spots become the strength of an area; the weakest wins and says so.

Here too: what to test next at a spot, and what about an area calls for a caution.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from statistics import median, quantiles
from typing import Any, Final

from basecalc.core.errors import BasecalcError, InputError
from basecalc.core.numbers import brief, choice, printed
from basecalc.core.published import table
from basecalc.ground.classes import (
    CLASS_EDGES,
    CLASSES,
    Strength,
    class_of_cbr,
    middle,
    rank,
    strength,
    strong_edge,
    weak_edge,
)
from basecalc.ground.readings import THAW, Finding, Reading, find, ground_words

ALWAYS: Final = "always"


@dataclass(frozen=True, slots=True)
class Fact:
    """Something seen on a job that calls for cautions, by a key of the table of cautions."""

    key: str
    area: str = ""
    spot: str = ""
    found: str = ""

    @property
    def place(self) -> str:
        """Where it was seen, in words; nothing where it holds for the whole job."""
        return ", ".join(part for part in (self.area, self.spot) if part)


RULES: Final = ("auto", "weakest", "quartile", "lower quartile")


def area_rule(name: str) -> float:
    """Return one of the numbers by which spots become an area."""
    return float(table("area_rules").exact(name)["value"])


@dataclass(frozen=True, slots=True)
class Chosen:
    """What several strengths come to."""

    strength: Strength
    position: int | None
    how: str


def known_cbr(value: Strength, class_edge: str) -> float:
    """Return the bearing ratio [%] that a strength counts with: as measured, else the edge or middle of its class."""
    if value.cbr is not None:
        return value.cbr
    word = value.strength_class
    return middle(word) if class_edge == "middle" and rank(word) else weak_edge(word)


def counted(value: Strength, *, walked: bool, allowance: float) -> Strength:
    """Return the strength of a spot as it counts for its area: the rule of caution.

    Notes
    -----
    ``counted CBR = max(weak edge of its class, allowance x measured CBR)``; the measured CBR itself where the whole
    area was walked and its softest place tested. 0.7 is half a class (bands double, 1/sqrt 2): a class at its weak edge
    lies as far below its own middle. Common practice, no source; tried on random ground
    (``tests/bench/caution_sites.py``).
    """
    if value.cbr is None or walked:
        return value
    cbr = printed(max(weak_edge(value.strength_class), allowance * value.cbr))
    return Strength(value.strength_class, cbr, value.cbr) if cbr < value.cbr else value


def choose(names: Sequence[str], values: Sequence[Strength], rule: str, class_edge: str) -> Chosen:
    """Return the strength that several come to, which of them governs, and the rule in words.

    Notes
    -----
    'auto' and 'weakest' take the weakest; 'quartile' is short for 'lower quartile':
    ``min(Q1, cap x the weakest measured CBR, every class without a CBR)``, Q1 the (n + 1) quartile of the measured
    CBRs, cap and least number of them from ``area_rules``. Very soft ground governs in any case, so it never rises for
    a weaker spot.

    References
    ----------
    TM-5-818-8, sec. 2-7a (lower quartile); [read]. The weakest spot, and the cap: common practice, no source.
    """
    rule, edge = choice("rule", rule, RULES), choice("class edge", class_edge, CLASS_EDGES)

    def designed(position: int) -> tuple[float, int, str]:
        return known_cbr(values[position], edge), rank(values[position].strength_class), names[position]

    places = range(len(values))
    measured = [place for place in places if values[place].cbr is not None]
    least = int(area_rule("spots for the lower quartile"))
    quartile = rule in RULES[2:]
    if quartile and len(measured) < least:
        raise InputError(
            f"rule is '{rule}' with {len(measured)} measured CBRs; it needs at least {least} "
            "('auto' and 'weakest' take any number)"
        )
    if len(values) == 1:
        return Chosen(values[0], 0, "the only spot")
    weakest = min(places, key=designed)
    if not quartile:
        return Chosen(values[weakest], weakest, f"the weakest of {len(values)} spots: {names[weakest]}")
    if softest := [place for place in places if values[place].strength_class == CLASSES[0]]:
        governing = min(softest, key=designed)
        return Chosen(
            values[governing], governing, f"{names[governing]} is very soft, which governs whatever the other spots are"
        )
    most = area_rule("quartile above the weakest")
    lowest = values[min(measured, key=designed)]
    first = quantiles([known_cbr(values[place], edge) for place in measured], n=4)[0]
    capped = printed(min(first, most * known_cbr(lowest, edge)))
    words = (
        f"lower quartile of {len(measured)} measured bearing ratios, at most {most:g} times the weakest, "
        f"{capped:.2g} % (TM 5-818-8, sec. 2-7a; the owner's rule)"
    )
    by_class = min((place for place in places if values[place].cbr is None), key=designed, default=None)
    if by_class is not None and known_cbr(values[by_class], edge) < capped:
        return Chosen(values[by_class], by_class, f"{names[by_class]}, known by class only, is weaker than the {words}")
    word = max(class_of_cbr(capped), lowest.strength_class, key=rank)
    return Chosen(Strength(word, capped), None, f"the {words}")


ENGINEER: Final = (
    "Very soft ground is beyond the rules of the trade: have a licensed soils engineer look at it before it is priced"
)
ENOUGH: Final = "No further test is needed here"
# Rough tests that carry on where the earlier ones leave off: the strongest class at which each can still tell.
_LADDER: Final = (
    ("walk", "stiff", "walk over it and measure how deep the boot sinks"),
    ("pickup", "very stiff", "drive an empty pickup over it and measure the rut"),
    ("dump truck", "hard", "drive a loaded dump truck over it and measure the rut"),
)


def season_advice(findings: Sequence[Finding]) -> str:
    """Return what to do about a reading of frozen ground, or of dry ground taken one class down; nothing otherwise."""
    if not all(finding.counts for finding in findings):
        return "Read it again when the ground has thawed: what was read in frozen ground does not count"
    if any(finding.moisture == "dry" and finding.changed for finding in findings):
        return "Read it again after a wet spell: what holds then needs no class down, and may save stone"
    return ""


def spot_advice(
    findings: Sequence[Finding], weakest: str, strongest: str, cbr: float | None, conflicts: Sequence[str]
) -> str:
    """Return what to test next at a spot, in one sentence."""
    if weakest == CLASSES[0] and (weakest == strongest or cbr is not None):
        return f"{ENGINEER}."
    done = {finding.test for finding in findings}
    if weakest == CLASSES[0]:
        first = "stand on it and measure how deep the boot sinks" if "stand" not in done else "test it with a cone"
        return f"Very soft ground is not ruled out: {first}; if it stays so, a licensed soils engineer must look at it."
    if season := season_advice(findings):
        return f"{season}."
    if conflicts:
        return "The readings disagree: test the same place with a cone before the weaker one is paid for in stone."
    if cbr is not None:
        return f"{ENOUGH}."
    if weakest == strongest:
        return "A cone test would give a number, which can save stone."
    if done == {"straightedge"}:
        return "Open a test hole through the old pavement and test the ground below with a thumb or a cone."
    for test, up_to, what in _LADDER:
        if rank(weakest) < rank(up_to) and not done & {name for name, *_ in _LADDER[_position(test) :]}:
            return f"{weakest.capitalize()} to {strongest} is left open: {what}, or test it with a cone, to narrow it."
    return f"{weakest.capitalize()} to {strongest} is left open: a cone test would narrow it, and can save stone."


def _position(test: str) -> int:
    return [name for name, *_ in _LADDER].index(test)


def _far_deeper(rods: Sequence[tuple[str, float]]) -> Iterator[tuple[str, float, float]]:
    """Yield each spot whose rod went in far deeper than at its neighbors, with its depth and their median [in]."""
    times, least = area_rule("rod far deeper above"), area_rule("rod far deeper by")
    for position, (name, depth) in enumerate(rods):
        others = [other for place, (_, other) in enumerate(rods) if place != position]
        if others and printed(depth) > printed(times * median(others)) and printed(depth - median(others)) >= least:
            yield name, depth, median(others)


def place_flags(strength_class: str, *, new_build: bool, near_foundation: bool, old_pavement: bool) -> list[str]:
    """Return a sentence for what the place itself brings with it."""
    flags = []
    if new_build:
        flags.append(
            "New-build plot: the ground is fill that settles for years, most of all next to the foundation; granular "
            "fill placed there now is cheaper than digging later, and fill that nobody compacted is a matter for a "
            "licensed engineer."
        )
    if near_foundation:
        flags.append(
            "The area lies along a foundation, where the backfill is often loose: test it there by itself, and never "
            "dig below the foundation."
        )
    if old_pavement and rank(strength_class) >= rank("stiff"):
        flags.append(
            f"The ground under the old pavement is {strength_class}: its base can probably stay; measure how thick and "
            "how clean it is before it is dug out."
        )
    return flags


OLD_PAVEMENT: Final = "old pavement"  # it speaks for weaker ground than was read
SOUND_GROUND: Final = "sound ground"  # the fill that was read is dug out


@dataclass(frozen=True, slots=True)
class SpotStrength:
    """How strong the ground is at one spot."""

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
    """How strong the ground of an area is taken to be, and why."""

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

    Notes
    -----
    Readings by class leave ``strongest = min(strong ends)`` and ``weakest = min(max(weak ends), strongest)``; where
    anything was measured, ``CBR = min(measured CBRs, strong edge of strongest)`` counts instead. All of these only fall
    with a weaker reading, so no weaker reading ever gives a stronger spot. Frozen ground does not count.

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
    ``strength = min over the spots of counted CBR``, with ``counted CBR = measured CBR`` where the area was walked,
    else ``max(weak edge of its class, allowance x measured CBR)``. A class without a CBR counts at its weak edge.

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
    measured = sum(spot.cbr is not None for spot in as_counted)
    by_quartile = spot_rule == "quartile" and measured >= area_rule("spots for the lower quartile")
    chosen = choose([spot.name for spot in counting], as_counted, "quartile" if by_quartile else "weakest", class_edge)
    deeper = list(_far_deeper([(spot.name, depth) for spot in spots if (depth := _deepest_rod(spot)) is not None]))
    flags = [
        f"{spot.name} was read in frozen ground only and does not count: test it again when it has thawed."
        for spot in spots
        if not spot.counts
    ]
    flags += [
        f"At {spot} the rod went in {depth:.3g} in, at its neighbors {around:.3g} in: probably loose backfill there; "
        "open a test hole before the price is given."
        for spot, depth, around in deeper
    ]
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
        tuple(Fact("fill", name, spot, "a steel rod went in far deeper than beside it") for spot, *_ in deeper),
        walked=walked,
        allowance=share,
        spot_rule=spot_rule,
    )


def _how_counted(chosen: Strength, as_counted: Sequence[Strength], *, walked: bool, allowance: float) -> str:
    """Return in words how what was measured counts; nothing where nothing was measured, or it counts in full."""
    if walked and any(spot.cbr is not None for spot in as_counted):
        return "; the area was walked and its softest place tested, so readings count as measured"
    if chosen.as_read is None and not any(spot.as_read is not None for spot in as_counted):
        return ""
    return (
        f"; the area was not walked, so a measured CBR counts {allowance:g} of it, never less than the weak edge of "
        "its class"
    )


def _deepest_rod(spot: SpotStrength) -> float | None:
    return max((f.amount for f in spot.findings if f.amount is not None and f.test == "rod"), default=None)


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


def site_strength(values: Sequence[Any], rule: str = "auto") -> Strength:
    """Return the one strength that several class words and bearing ratios come to, each taken as given.

    Values are class words, CBR [%] or text with one; the rule is one of `RULES`, as in `choose`.

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
    return choose([f"value {place:06d}" for place in range(len(strengths))], strengths, rule, "weak").strength
