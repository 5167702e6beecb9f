"""Which of several strengths governs: the weakest, or the lower quartile where enough of them are measured."""

from collections.abc import Sequence
from dataclasses import dataclass
from statistics import quantiles
from typing import Final

from basecalc.checks import choice
from basecalc.errors import InputError
from basecalc.ground.classes import CLASSES, Strength, class_of_cbr, middle, rank, weak_edge
from basecalc.tables import table

RULES: Final = ("auto", "weakest", "lower quartile")
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


def choose(names: Sequence[str], values: Sequence[Strength], rule: str, class_edge: str) -> Chosen:
    """Return the strength that several come to, which of them governs, and the rule in words.

    Parameters
    ----------
    names, values
        The strengths, each with a name.
    rule
        One of `RULES`.
    class_edge
        One of `CLASS_EDGES`: where in its band a class without a CBR is designed.

    Raises
    ------
    InputError
        No such rule or edge, or a lower quartile of too few CBRs.

    Examples
    --------
    >>> choose(["A", "B"], [Strength("stiff"), Strength("soft")], "auto", "weak").how
    'the weakest of 2 spots: B'

    References
    ----------
    TM-5-818-8, sec. 2-7a (lower quartile); [read].
    """
    rule, edge = choice("rule", rule, RULES), choice("class edge", class_edge, CLASS_EDGES)

    def designed(position: int) -> tuple[float, int, str]:
        return known_cbr(values[position], edge), rank(values[position].strength_class), names[position]

    weakest = min(range(len(values)), key=designed)
    measured = [value.cbr for value in values if value.cbr is not None]
    least = int(area_rule("spots for the lower quartile"))
    if rule == "lower quartile" and len(measured) < least:
        raise InputError(
            f"rule is 'lower quartile' with {len(measured)} measured CBRs; it needs at least {least} "
            "('auto' and 'weakest' take any number)"
        )
    if len(values) == 1:
        return Chosen(values[0], 0, "the only spot")
    name = names[weakest]
    if rule == "weakest" or len(measured) < least:
        return Chosen(values[weakest], weakest, f"the weakest of {len(values)} spots: {name}")
    if values[weakest].strength_class == CLASSES[0]:
        return Chosen(values[weakest], weakest, f"{name} is very soft, which governs whatever the other spots are")
    quartile = quantiles(measured, n=4, method="inclusive")[0]
    of_quartile = Strength(class_of_cbr(quartile), quartile)
    words = f"lower quartile of {len(measured)} measured bearing ratios, {quartile:.2g} % (TM 5-818-8, sec. 2-7a)"
    below = [
        position for position, value in enumerate(values)
        if value.cbr is None and rank(value.strength_class) < rank(of_quartile.strength_class)
    ]  # fmt: skip
    if below:
        governing = min(below, key=designed)
        return Chosen(
            values[governing], governing, f"{names[governing]}, known by class only, is weaker than the {words}"
        )
    return Chosen(of_quartile, None, f"the {words}")
