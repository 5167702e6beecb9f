"""What one more number at a spot will read, before it is read: closed form, nothing is simulated."""

from dataclasses import dataclass
from math import exp, log, sqrt
from statistics import NormalDist
from typing import Final

from basecalc.ground.chance import variance
from basecalc.ground.classes import CLASSES, Strength, rank, strong_edge, weak_edge
from basecalc.ground.scales import test_row
from basecalc.ground.soils import soil
from basecalc.ground.strength import SpotStrength

NEXT_TEST: Final = "cone"
_NORMAL: Final = NormalDist()
_FIFTHS: Final = (0.1, 0.3, 0.5, 0.7, 0.9)  # the middles of five equally likely parts
_DRY_TIMES: Final = 4.0  # a dry reading is 1 to 4 times too high: basecalc's own choice, no source


@dataclass(frozen=True, slots=True)
class Prospect:
    """What the next reading at a spot will be: log-normal about a middle.

    Parameters
    ----------
    middle
        The CBR that it lies above or below with equal chance [%].
    spread
        Standard deviation of ln(reading).
    """

    middle: float
    spread: float

    @property
    def readings(self) -> tuple[float, ...]:
        """Five equally likely readings [%], the lowest first."""
        return tuple(self.middle * exp(self.spread * _NORMAL.inv_cdf(share)) for share in _FIFTHS)

    def chance_below(self, cbr: float) -> float:
        """Return the chance that it reads less than this [share].

        Parameters
        ----------
        cbr
            A CBR [%].
        """
        return _NORMAL.cdf(log(cbr / self.middle) / self.spread) if cbr > 0 else 0.0

    def middle_below(self, cbr: float) -> float:
        """Return the reading in the middle of those that are less than this [%].

        Parameters
        ----------
        cbr
            A CBR [%].
        """
        return self.middle * exp(self.spread * _NORMAL.inv_cdf(self.chance_below(cbr) / 2))


def spot_prospect(spot: SpotStrength) -> Prospect:
    """Return what one more cone reading will be at a spot that was read, by what decides there.

    Parameters
    ----------
    spot
        The spot.
    """
    decides = spot.decided_by
    test = decides.reading.test.strip().casefold() if decides.cbr is not None else "class"
    as_taken = (decides.weakest, decides.strongest, decides.cbr)
    name = decides.reading.soil.strip()
    dry = decides.reading.moisture.strip().casefold() == "dry" and (not name or soil(name).fine)
    season = bool(test_row(decides.reading.test)["season"])
    return prospect(spot.strength, spot.strongest, test, dry=dry and season, lowered=as_taken != decides.as_read)


def prospect(strength: Strength, strongest: str, test: str, *, dry: bool = False, lowered: bool = True) -> Prospect:
    """Return what one more cone reading will be at a spot.

    Parameters
    ----------
    strength
        The weakest class left open there, and the lowest number read [%], if any.
    strongest
        The strongest class left open.
    test
        The test that read the number; of no account where only classes are known.
    dry
        Whether it was read in dry ground.
    lowered
        Whether that has been taken a class down already.

    Notes
    -----
    What is known of ln(CBR) at the spot has the middle ``ln m`` and the variance ``v``. A number: ``m`` is the number,
    ``v = v_test``. Classes over ``k`` bands, each twice the last: ``m = weak edge x 2^(k/2)``,
    ``v = v_class + (k ln 2)^2 / 12`` (even over the bands). Read dry, 1 to 4 times too high: ``m`` is halved and
    ``v`` grows by ``(ln 4)^2 / 12``. The next reading has ``s = sqrt(v + v_cone)`` about the same middle. Bands
    without an end, very soft and hard, count as one doubling.

    Examples
    --------
    >>> found = prospect(Strength("medium"), "medium", "")
    >>> round(found.middle, 2), round(found.spread, 2), round(found.chance_below(0.8), 2)
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
