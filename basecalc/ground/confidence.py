"""How far the judgement of an area's ground can be trusted, in a word, with every reason to doubt it."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from basecalc.checks import counted
from basecalc.ground.readings import Finding
from basecalc.ground.scales import test_row
from basecalc.ground.strength import SOUND_GROUND, AreaStrength, SpotStrength
from basecalc.tables import table

NOTHING_READ: Final = "none"
_UNSURE: Final = ("", "dry")


@dataclass(frozen=True, slots=True)
class Confidence:
    """How far the judgement of an area can be trusted.

    Parameters
    ----------
    word
        'good', 'fair' or 'low'; 'none' where nothing was read.
    doubts
        The reasons to doubt it, in words.
    spots, tests, measured
        How many spots were read, with how many readings, and how many of these measured a bearing ratio.
    source
        Where the rule comes from.
    """

    word: str
    doubts: tuple[str, ...]
    spots: int
    tests: int
    measured: int
    source: str

    @property
    def sentence(self) -> str:
        """The word with what it rests on, for the office."""
        if not self.spots:
            return f"{self.word}: the strength was given by hand, nothing was read here"
        counts = (
            f"{counted(self.spots, 'spot')}, {counted(self.tests, 'reading')}, {self.measured} with a bearing ratio"
        )
        return f"{self.word}: {counts}; {'; '.join(self.doubts) or 'no reason to doubt it'}"


def confidence(ground: AreaStrength) -> Confidence:
    """Return how far the judgement of an area can be trusted: the more reasons to doubt it, the less.

    Parameters
    ----------
    ground
        The area's strength.

    Examples
    --------
    >>> from basecalc.ground.readings import Reading
    >>> from basecalc.ground.strength import area_strength, spot_strength
    >>> confidence(area_strength("drive", [spot_strength("S1", [Reading("walk", 2.5, "wet")])])).word
    'low'

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
    deciding = next((spot for spot in ground.spots if spot.name == ground.governed_by), None)
    doubted = {"few spots": len(spots) < float(rules.exact("few spots")["limit"])}
    doubted |= _at_the_spot(deciding, float(rules.exact("few tests")["limit"]))
    doubted["conflict"] = bool(ground.conflicts)
    doubted["season"] = _unsure([deciding.decided_by] if deciding else [spot.decided_by for spot in spots])
    doubts = tuple(str(row["words"]) for row in rules.rows if doubted[str(row["doubt"])])
    word = str(words.band("reasons to doubt", len(doubts))["word"])
    return Confidence(word, doubts, len(spots), len(findings), measured, words.cited)


def _at_the_spot(spot: SpotStrength | None, tests: float) -> dict[str, bool]:
    if spot is None:
        return dict.fromkeys(("few tests", "class only", "wide"), False)
    return {
        "few tests": len({finding.reading.test.strip().casefold() for finding in spot.findings if finding.counts})
        < tests,
        "class only": spot.cbr is None,
        "wide": spot.weakest != spot.strongest,
    }


def _unsure(deciding: Sequence[Finding]) -> bool:
    return any(
        bool(test_row(finding.reading.test)["season"]) and finding.reading.moisture.strip().casefold() in _UNSURE
        for finding in deciding
    )
