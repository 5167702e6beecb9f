"""Which of several strengths governs: the weakest, or the capped lower quartile where the owner asks for it."""

from collections.abc import Sequence
from dataclasses import dataclass
from statistics import quantiles
from typing import Final

from basecalc.checks import choice
from basecalc.errors import InputError
from basecalc.ground.classes import CLASSES, Strength, class_of_cbr, middle, rank, weak_edge
from basecalc.rounding import printed
from basecalc.tables import table

RULES: Final = ("auto", "weakest", "quartile", "lower quartile")
CLASS_EDGES: Final = ("weak", "middle")


def area_rule(name: str) -> float:
    """Return one of the numbers by which spots become an area.

    Examples
    --------
    >>> area_rule("spots for the lower quartile")
    4.0
    """
    return float(table("area_rules").exact(name)["value"])


@dataclass(frozen=True, slots=True)
class Chosen:
    """What several strengths come to.

    Parameters
    ----------
    strength
        The one strength.
    position
        Which of them it is; nothing where it is the lower quartile of many.
    how
        The rule that was used, in words.
    """

    strength: Strength
    position: int | None
    how: str


def known_cbr(value: Strength, class_edge: str) -> float:
    """Return the bearing ratio [%] that a strength counts with: the measured one, or the edge or middle of its class.

    Parameters
    ----------
    value
        The strength.
    class_edge
        One of `CLASS_EDGES`; very soft ground has no middle and counts with its weak edge, 0.

    Examples
    --------
    >>> known_cbr(Strength("stiff"), "weak"), known_cbr(Strength("stiff", 2.1), "weak")
    (1.6, 2.1)
    """
    if value.cbr is not None:
        return value.cbr
    word = value.strength_class
    return middle(word) if class_edge == "middle" and rank(word) else weak_edge(word)


def counted(value: Strength, *, walked: bool, allowance: float) -> Strength:
    """Return the strength of a spot as it counts for its area.

    Parameters
    ----------
    value
        The strength of the spot, its CBR as measured.
    walked
        Whether the whole area was walked and its softest place tested.
    allowance
        Share of a measured CBR that counts where it was not, 0.5 to 1.

    Returns
    -------
    Strength
        With its counted CBR [%]; a class alone, and any spot of a walked area, as it is.

    Notes
    -----
    counted CBR = max(weak edge of the class, allowance x measured CBR). 0.7 is half a class (bands double, 1/sqrt 2): a
    class at its weak edge lies as far below its own middle. Common practice, no source; tried on random ground.

    Examples
    --------
    >>> counted(Strength("stiff", 3.0), walked=False, allowance=0.7).cbr
    2.1
    >>> counted(Strength("stiff", 2.0), walked=False, allowance=0.7).cbr
    1.6
    """
    if value.cbr is None or walked:
        return value
    cbr = printed(max(weak_edge(value.strength_class), allowance * value.cbr))
    return Strength(value.strength_class, cbr, value.cbr) if cbr < value.cbr else value


def choose(names: Sequence[str], values: Sequence[Strength], rule: str, class_edge: str) -> Chosen:
    """Return the strength that several come to, which of them governs, and the rule in words.

    Parameters
    ----------
    names, values
        The strengths as they count, each with a name.
    rule
        One of `RULES`; 'auto' is 'weakest', 'quartile' short for 'lower quartile'.
    class_edge
        One of `CLASS_EDGES`: where in its band a class without a CBR is designed.

    Raises
    ------
    InputError
        No such rule or edge, or a lower quartile of too few CBRs.

    Notes
    -----
    lower quartile = min(Q1, 1.25 x the weakest measured, every class without a CBR), with Q1 the (n + 1) quartile of
    the measured CBRs; very soft ground governs in any case. So it never rises for a weaker spot.

    Examples
    --------
    >>> choose(["A", "B"], [Strength("stiff"), Strength("soft")], "auto", "weak").how
    'the weakest of 2 spots: B'

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
