"""What to test next at a spot or in an area, and what about an area must catch the eye."""

from collections.abc import Iterator, Sequence
from statistics import median
from typing import Final

from basecalc.ground.classes import CLASSES, rank
from basecalc.ground.facts import Fact
from basecalc.ground.governing import area_rule
from basecalc.ground.readings import Finding
from basecalc.rounding import printed

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
    if any(
        finding.reading.moisture.strip().casefold() == "dry"
        and (finding.weakest, finding.strongest, finding.cbr) != finding.as_read
        for finding in findings
    ):
        return "Read it again after a wet spell: what holds then needs no class down, and may save stone"
    return ""


def spot_advice(
    findings: Sequence[Finding], weakest: str, strongest: str, cbr: float | None, conflicts: Sequence[str]
) -> str:
    """Return what to test next at a spot, in one sentence.

    Parameters
    ----------
    findings
        What was read there.
    weakest, strongest
        The classes left open.
    cbr
        The measured bearing ratio [%], if any.
    conflicts
        The disagreements between readings.
    """
    if weakest == CLASSES[0] and (weakest == strongest or cbr is not None):
        return f"{ENGINEER}."
    done = {finding.reading.test.strip().casefold() for finding in findings}
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


def frozen_flags(spots: Sequence[str]) -> list[str]:
    """Return a sentence for each spot that was read in frozen ground only.

    Parameters
    ----------
    spots
        Their names.
    """
    return [
        f"{name} was read in frozen ground only and does not count: test it again when it has thawed." for name in spots
    ]


def rod_flags(rods: Sequence[tuple[str, float]]) -> list[str]:
    """Return a sentence for each spot where the rod went in far deeper than at its neighbours.

    Parameters
    ----------
    rods
        Name of a spot and the deepest rod reading there [in].

    Examples
    --------
    >>> rod_flags([("A", 6.0), ("B", 5.0), ("C", 24.0)])[0][:55]
    'At C the rod went in 24 in, at its neighbours 5.5 in: p'
    """
    return [
        f"At {name} the rod went in {depth:.3g} in, at its neighbours {usual:.3g} in: probably loose backfill there; "
        "open a test hole before the price is given."
        for name, depth, usual in _standing_out(rods)
    ]


def rod_facts(area: str, rods: Sequence[tuple[str, float]]) -> list[Fact]:
    """Return the same as findings that call for the cautions of fill.

    Parameters
    ----------
    area
        The area of the spots.
    rods
        Name of a spot and the deepest rod reading there [in].
    """
    return [
        Fact("fill", area, name, "a steel rod went in far deeper than beside it") for name, *_ in _standing_out(rods)
    ]


def _standing_out(rods: Sequence[tuple[str, float]]) -> Iterator[tuple[str, float, float]]:
    """Yield each spot whose rod went in far deeper than at its neighbours, with its depth and their median [in]."""
    times, least = area_rule("rod stands out above"), area_rule("rod stands out by")
    for position, (name, depth) in enumerate(rods):
        others = [other for place, (_, other) in enumerate(rods) if place != position]
        if others and printed(depth) > printed(times * median(others)) and printed(depth - median(others)) >= least:
            yield name, depth, median(others)


def place_flags(strength_class: str, *, new_build: bool, near_foundation: bool, old_pavement: bool) -> list[str]:
    """Return a sentence for what the place itself brings with it.

    Parameters
    ----------
    strength_class
        The class the area is designed for.
    new_build, near_foundation, old_pavement
        Whether the plot is newly built on, the area lies along a foundation, an old pavement lies there.
    """
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
