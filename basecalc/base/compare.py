"""Every check of a base beside the second opinions: what each asks for, what counts, and how far they lie apart."""

from dataclasses import dataclass

from basecalc.base.check import Check
from basecalc.base.corps import aggregate_road_depth, corps_depth
from basecalc.base.depth import BaseDepth, base_depth
from basecalc.base.forest_service import forest_service_depth
from basecalc.base.frost import FrostGround
from basecalc.base.minimum import UNKNOWN, Site
from basecalc.base.reinforcement import NONE, Reinforcement
from basecalc.base.settings import DEFAULT_SETTINGS, DesignSettings
from basecalc.base.traffic import Traffic
from basecalc.ground.classes import Strength


@dataclass(frozen=True, slots=True)
class Row:
    """One line of a comparison.

    Parameters
    ----------
    name
        The check or the second opinion.
    depth_m
        Depth it asks for [m], not rounded; None where it says nothing.
    counts
        Whether the required depth takes it into account; never for a second opinion.
    governs
        Whether it is the one that governs.
    against_m
        How much more it asks for than the check that governs [m], negative where less; None where it says nothing.
    note
        What it did, in plain words.
    source
        Where its equation or table was published.
    """

    name: str
    depth_m: float | None
    counts: bool
    governs: bool
    against_m: float | None
    note: str
    source: str


@dataclass(frozen=True, slots=True)
class Comparison:
    """A base depth with second opinions beside it.

    Parameters
    ----------
    made
        The base depth, as it is designed; no second opinion changes it.
    opinions
        The second opinions, with their working; none of them counts.
    """

    made: BaseDepth
    opinions: tuple[Check, ...]

    @property
    def rows(self) -> tuple[Row, ...]:
        """The checks, those that count first, then the second opinions."""
        top = unrounded_m(self.made)
        return tuple(
            Row(
                check.name,
                check.depth_m,
                check.counts,
                check.name == self.made.governs,
                None if check.depth_m is None else check.depth_m - top,
                check.sentence,
                check.source,
            )
            for check in (*self.made.checks, *self.opinions)
        )


def unrounded_m(made: BaseDepth) -> float:
    """Return the required depth of a base before it is rounded up [m].

    Parameters
    ----------
    made
        The base depth.
    """
    return max(check.depth_m for check in made.checks if check.counts and check.depth_m is not None)


def second_opinions(made: BaseDepth) -> tuple[Check, ...]:
    """Return the second opinions on a base depth: shown beside its checks, never counted.

    Parameters
    ----------
    made
        The base depth.
    """
    return (
        *forest_service_depth(made.cbr, made.traffic, made.reinforcement),
        corps_depth(made.cbr, made.traffic, made.settings),
        aggregate_road_depth(made.cbr),
    )


def compare(
    strength: Strength,
    traffic: Traffic,
    reinforcement: Reinforcement = NONE,
    settings: DesignSettings = DEFAULT_SETTINGS,
    *,
    unit: str = "in",
    frost: FrostGround | None = None,
    site: Site = UNKNOWN,
) -> Comparison:
    """Return a base depth and the second opinions beside it.

    Parameters
    ----------
    strength, traffic, reinforcement, settings, unit, frost, site
        As in `basecalc.base.depth.base_depth`.

    Raises
    ------
    OutOfRangeError
        Ground too soft, or outside what a check is meant for.

    Examples
    --------
    >>> from basecalc.base.traffic import traffic
    >>> rows = compare(Strength("soft"), traffic("delivery")).rows
    >>> [(row.name, row.counts) for row in rows][-3:]
    [('forest service', False), ('corps', False), ('aggregate road', False)]
    """
    made = base_depth(strength, traffic, reinforcement, settings, unit=unit, frost=frost, site=site)
    return Comparison(made, second_opinions(made))
