"""Whether the stone base of an old pavement may stay, what it counts, and the test holes that must confirm it."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil
from typing import Final

from basecalc.ground.classes import rank
from basecalc.ground.pavement import Pavement
from basecalc.ground.straightedge import gap_under_six_feet, pavement_rule, settled_gap_in
from basecalc.rounding import printed
from basecalc.tables import table
from basecalc.units import FOOT2_M2, FOOT_M, INCH_M

_LEAST_CLASS: Final = "stiff"  # the trade's rule lets a base stay on stiff ground or better [practice]


@dataclass(frozen=True, slots=True)
class Verdict:
    """Whether an old base may stay.

    Parameters
    ----------
    against
        The reasons why it may not, each the end of a sentence; none where it may.
    base_m
        The thickness that may count: that of the thinnest test hole [m].
    share
        What an inch of it counts, of an inch of new stone.
    holes
        Test holes that an area of this size needs.
    """

    against: tuple[str, ...]
    base_m: float
    share: float
    holes: int

    @property
    def stays(self) -> bool:
        """Whether nothing speaks against it."""
        return not self.against


def holes_needed(area_m2: float) -> int:
    """Return how many test holes an old base needs before it may count: two, or one for each 1,000 ft2 [own].

    Parameters
    ----------
    area_m2
        The paved area [m2].

    Examples
    --------
    >>> holes_needed(80.0), holes_needed(200.0)
    (2, 3)
    """
    each = ceil(printed(area_m2 / FOOT2_M2 / pavement_rule("area of one test hole")))
    return max(int(pavement_rule("fewest test holes")), each)


def hole_advice(area_m2: float, units: str) -> str:
    """Return how many test holes to open, how deep, and what to look for, in one sentence.

    Parameters
    ----------
    area_m2
        The paved area [m2].
    units
        'us' or 'metric'.
    """
    deep = pavement_rule("test hole below the base")
    depth = f"{deep * INCH_M * 1000:.0f} mm" if units == "metric" else f"{deep:g} in"
    return (
        f"Open {holes_needed(area_m2)} test holes, one in a wheel track and one in the worst place, through pavement "
        f"and base and {depth} into the ground: measure the stone, look for mud or fines in it and for water, and "
        "press the ground below with a thumb or push the rod"
    )


def old_base_verdict(
    pavement: Pavement | None, strength_class: str, area_m2: float, others: Sequence[str] = ()
) -> Verdict:
    """Return whether an old base may stay: every reason against it, and what it counts for where there is none.

    It stays on stiff ground or better, where it has not sunk, and where enough test holes found clean stone; the
    thinnest hole counts.

    Parameters
    ----------
    pavement
        What is known of the old pavement; None where nothing is.
    strength_class
        The class that the area is designed for.
    area_m2
        The paved area [m2].
    others
        Further reasons against it.

    Examples
    --------
    >>> from basecalc.ground.pavement import TestHole
    >>> holes = (TestHole("gate", 0.2, "clean"), TestHole("garage", 0.18, "clean"))
    >>> old_base_verdict(Pavement(holes=holes), "stiff", 80.0).base_m
    0.18
    """
    known = pavement or Pavement()
    need = holes_needed(area_m2)
    against = list(others)
    if len(known.holes) < need:
        against.append(f"{len(known.holes)} of the {need} test holes it needs are open")
    if rank(strength_class) < rank(_LEAST_CLASS):
        against.append(f"the ground below is {strength_class}, and it stays on {_LEAST_CLASS} ground or better only")
    gaps = [gap_under_six_feet(one.gap_m / INCH_M, one.straightedge_m / FOOT_M)[1] for one in known.seen]
    if max(gaps, default=0.0) >= settled_gap_in() or known.state not in ("", "even"):
        against.append("the pavement on it has settled or rutted")
    credit = table("old_base_credit")
    shares = [_share(hole.state) for hole in known.holes]
    if dirty := [hole.where for hole in known.holes if _share(hole.state) == 0]:
        against.append(f"at {', '.join(dirty)} there is {credit.exact('dirty')['meaning']}")
    thinnest = min((hole.base_m for hole in known.holes), default=0.0)
    if known.holes and thinnest <= 0:
        against.append("a test hole found no base at all")
    return Verdict(tuple(against), thinnest, min(shares, default=0.0), need)


def _share(state: str) -> float:
    credit = table("old_base_credit")
    return float(credit.exact(state)["low"]) / float(credit.exact("clean")["high"])
