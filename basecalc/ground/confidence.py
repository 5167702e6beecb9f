"""How far the judgement of an area's ground can be trusted: what was done, every reason to doubt it, and the chance."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from basecalc.checks import counted
from basecalc.ground.chance import chance_weaker, chance_words, crude
from basecalc.ground.classes import CLASSES, rank, strong_edge
from basecalc.ground.governing import known_cbr
from basecalc.ground.readings import Finding
from basecalc.ground.scales import TESTS, test_row
from basecalc.ground.soils import soil
from basecalc.ground.strength import SOUND_GROUND, AreaStrength, SpotStrength
from basecalc.tables import table
from basecalc.units import FOOT_M

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
    kinds
        The kinds of test that were made.
    walked
        Whether the whole area was walked and its softest place tested.
    ratio
        The strongest spot over the weakest, as bearing ratios; 1 for one spot.
    chance
        The chance that more than a quarter of the area is weaker than designed for [share]; None where nothing was read
        or something else than the readings decides.
    """

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
            f"{counted(self.spots, 'spot')}, {counted(self.tests, 'reading')}, {self.measured} with a bearing ratio",
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
        loud = f"only {counted(self.spots, 'spot')}: " if self.few else ""
        return (
            f"{loud}{chance_words(self.chance)} ({100 * self.chance:.0f} %) that more than a quarter of the area is "
            "weaker than designed for, if the readings are right for this soil and season"
        )


def confidence(ground: AreaStrength, class_edge: str = "weak", area_m2: float | None = None) -> Confidence:
    """Return how far the judgement of an area can be trusted: the more reasons to doubt it, the less.

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
    deciding = next((spot for spot in spots if spot.name == ground.governed_by), None)
    rests_on = [deciding.decided_by] if deciding else [spot.decided_by for spot in spots]
    ratio = _ratio(spots)
    doubted = {
        "few spots": len(spots) < _limit("few spots"),
        "large area": area_m2 is not None and area_m2 / FOOT_M**2 > _limit("large area") * len(spots),
        "spread": ratio > _limit("spread") * (1 + 1e-9),
        "conflict": bool(ground.conflicts),
        "season": any(_read_in(finding, _UNSURE) for finding in rests_on),
        "moist": any(_read_in(finding, ("moist",)) and _fine(finding) for finding in rests_on),
    }
    doubted |= _at_the_spot(deciding)
    doubts = tuple(str(row["words"]) for row in rules.rows if doubted[str(row["doubt"])])
    chance = None if ground.overruled else area_chance(ground, class_edge)
    by_doubts = words.rows.index(words.band("reasons to doubt", len(doubts)))
    most = [float(row["most_chance"]) / 100 for row in words.rows]
    by_chance = 0 if chance is None else next(place for place, limit in enumerate(most) if chance <= limit)
    word = str(words.rows[max(by_doubts, by_chance)]["word"])
    made = {_test(finding) for finding in findings}
    kinds = tuple(test for test in TESTS if test in made)
    return Confidence(
        word, doubts, len(spots), len(findings), measured, words.cited, kinds, ground.walked, ratio, chance
    )


def area_chance(
    ground: AreaStrength, class_edge: str = "weak", *, more_spots: int = 0, walked: bool | None = None
) -> float:
    """Return the chance that more than a quarter of an area is weaker than designed for [share].

    Parameters
    ----------
    ground
        The area's strength, read at one spot or more.
    class_edge
        As in `confidence`.
    more_spots
        With so many more spots, measured.
    walked
        Whether the area is taken as walked; as it is where nothing is said.
    """
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


def _test(finding: Finding) -> str:
    return finding.reading.test.strip().casefold()


def _at_the_spot(spot: SpotStrength | None) -> dict[str, bool]:
    if spot is None:
        return dict.fromkeys(("few tests", "class only", "crude", "wide"), False)
    return {
        "few tests": len({_test(finding) for finding in spot.findings if finding.counts}) < _limit("few tests"),
        "class only": spot.cbr is None,
        "crude": spot.cbr is not None and crude(_test(spot.decided_by)),
        "wide": spot.cbr is None and rank(spot.weakest) < rank(spot.strongest),
    }


def _read_in(finding: Finding, moistures: Sequence[str]) -> bool:
    """Return whether a reading that the season changes was taken in such ground."""
    return bool(test_row(_test(finding))["season"]) and finding.reading.moisture.strip().casefold() in moistures


def _fine(finding: Finding) -> bool:
    """Return whether the soil weakens when wet; a soil that is not noted counts as fine."""
    name = finding.reading.soil
    return not name.strip() or soil(name).fine
