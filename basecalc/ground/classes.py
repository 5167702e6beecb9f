"""The six strength classes, the bearing ratio (CBR) bands behind them, and a strength as a user writes it."""

from dataclasses import dataclass
from math import inf, sqrt
from typing import Any, Final

from basecalc.core.errors import InputError, OutOfRangeError
from basecalc.core.numbers import choice, printed, quoted
from basecalc.core.published import table
from basecalc.core.units import to_unit

CLASSES: Final[tuple[str, ...]] = tuple(str(row["class"]) for row in table("qu_classes").rows)
CLASS_EDGES: Final = ("weak", "middle")  # where in its band a class alone is designed
SPOT_RULES: Final = ("weakest", "quartile")  # which spot of an area counts
LEAST_CBR: Final = 0.05
MOST_CBR: Final = 100.0


@dataclass(frozen=True, slots=True)
class Strength:
    """How strong the ground is taken to be.

    Parameters
    ----------
    strength_class
        One of `CLASSES`.
    cbr
        The bearing ratio [%] where one was measured; None where only the class is known.
    as_read
        The measured bearing ratio [%] where `cbr` is the share of it that counts; None where it counts as measured.
    """

    strength_class: str
    cbr: float | None = None
    as_read: float | None = None


def rank(strength_class: str) -> int:
    """Return how many classes are weaker than this one: 0 for very soft, 5 for hard."""
    return CLASSES.index(choice("strength class", strength_class, CLASSES))


def weaker_by(strength_class: str, steps: int) -> str:
    """Return the class so many steps weaker, very soft at the least."""
    return CLASSES[max(0, rank(strength_class) - steps)]


def class_of_cbr(cbr: float) -> str:
    """Return the class whose band holds a bearing ratio [%], 0 to 100.

    Notes
    -----
    Bounds of ``cbr_classes``: ``cu = qu / 2`` and ``CBR = cu / 30 kPa`` from the unconfined strengths qu of
    ``qu_classes``, which double from class to class. One on a boundary belongs to the weaker class.

    References
    ----------
    TM-5-818-1, Table 2-2, through cu = qu/2 and cu = 30 kPa x CBR; [computed].
    """
    return str(table("cbr_classes").band("CBR", printed(cbr))["class"])


def weak_edge(strength_class: str) -> float:
    """Return the bearing ratio [%] at which a class begins; 0 for very soft."""
    return float(table("cbr_classes").rows[rank(strength_class)]["above"])


def strong_edge(strength_class: str) -> float:
    """Return the bearing ratio [%] at which a class ends; infinity for hard, which has no upper bound."""
    position = rank(strength_class)
    return inf if position == len(CLASSES) - 1 else float(table("cbr_classes").rows[position]["up_to"])


def middle(strength_class: str) -> float:
    """Return the geometric middle [%] of a class's band, sqrt(weak edge x strong edge); for hard its weak edge."""
    low, high = weak_edge(strength_class), strong_edge(strength_class)
    if low == 0:
        raise OutOfRangeError(
            f"very soft ground (CBR {high:g} % or less) has no middle of its band to design for; it needs an engineer"
        )
    return low if high == inf else sqrt(low * high)


def cohesion_kpa(cbr: float) -> float:
    """Return the undrained shear strength [kPa] that goes with a bearing ratio [%]: ``cu = 30 kPa x CBR``.

    References
    ----------
    GIROUD-HAN, cu = 30 kPa x CBR; agrees with TM-5-818-8, sec. 2-7; [read].
    """
    return cbr * float(table("shear_strength").exact("cu per CBR")["value"])


def cbr_of_cohesion(cohesion_kpa: float) -> float:
    """Return the bearing ratio [%] that goes with an undrained shear strength [kPa]: `cohesion_kpa` turned round."""
    return cohesion_kpa / float(table("shear_strength").exact("cu per CBR")["value"])


def strength(value: Any) -> Strength:
    """Return the strength that a user wrote: a class word, or a measured bearing ratio.

    Parameters
    ----------
    value
        A class word, a CBR [%] from 0.05 to 100, or text with one, such as ``"2.1 %"``; a strength comes back as it is.

    Raises
    ------
    InputError
        Nothing, or neither a class word nor a number.
    OutOfRangeError
        A bearing ratio outside the limits.

    Examples
    --------
    >>> strength("Very Stiff").strength_class, strength("2.1 %").cbr
    ('very stiff', 2.1)
    """
    if isinstance(value, Strength):
        return value
    needed = f"it must be one of: {', '.join(CLASSES)}; or a CBR from {LEAST_CBR:g} to {MOST_CBR:g} %"
    if value is None or (isinstance(value, str) and not value.strip()):
        raise InputError(f"strength is missing; {needed}")
    if isinstance(value, str):
        word = " ".join(value.split()).casefold()
        if word in CLASSES:
            return Strength(word)
        if not any(character.isdigit() for character in word):
            raise InputError(f"strength is {quoted(value)}; {needed}")
    cbr = to_unit("strength", value, "%", LEAST_CBR, MOST_CBR, why="as a CBR")
    return Strength(class_of_cbr(cbr), cbr)
