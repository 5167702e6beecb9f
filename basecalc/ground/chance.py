"""The chance that more than a quarter of an area is weaker than designed for, by spots, walking and rule."""

from collections.abc import Mapping
from math import ceil, hypot, inf
from typing import Final

from basecalc.checks import choice, number
from basecalc.errors import InputError
from basecalc.ground.governing import CLASS_EDGES
from basecalc.tables import Cell, table

SPOT_RULES: Final = ("weakest", "quartile")
_LEAST_SHARE: Final = 0.02  # the model knows no smaller chance
_HALF: Final = 0.55  # above it, tenths say more than "1 in 2"


def chance_weaker(
    by_number: int,
    by_class: int,
    *,
    walked: bool = False,
    allowance: float = 0.7,
    class_edge: str = "weak",
    spot_rule: str = "weakest",
) -> float:
    """Return the chance that more than a quarter of an area is weaker than designed for [share].

    Parameters
    ----------
    by_number, by_class
        How many of its spots have a measured number, and how many are known by their class only.
    walked
        Whether the whole area was walked and one of the spots is its softest place; numbers then count as measured.
    allowance
        What share of itself a number counts with where the area was not walked [share]; between two columns of the
        table the worse one is taken.
    class_edge
        Where in its band a class alone is designed, 'weak' or 'middle'.
    spot_rule
        'weakest', or 'quartile' from four measured spots on.

    Raises
    ------
    InputError
        No spot, or an unknown edge or rule.
    OutOfRangeError
        An allowance outside 0 to 1.

    Notes
    -----
    A simulation (``tests/bench/ground_chance.py``) gives the table ``chance_weaker``; nothing is simulated here. An
    area with spots of both kinds takes the worse column of the two. More spots than the table has count as its last
    row.

    Examples
    --------
    >>> chance_weaker(3, 0), chance_weaker(3, 0, walked=True), chance_weaker(0, 3)
    (0.163, 0.191, 0.123)

    References
    ----------
    chance_weaker; [computed].
    """
    edge = choice("class edge", class_edge, CLASS_EDGES)
    rule = "quartile_" if choice("spot rule", spot_rule, SPOT_RULES) == "quartile" else ""
    share = number("allowance", allowance, "share", 0.0, 1.0)
    spots = by_number + by_class
    if spots < 1:
        raise InputError("no spot was read; a chance needs at least one")
    known = table("chance_weaker")
    columns = []
    if by_class:
        columns.append(f"class_{edge}_walked" if walked else f"class_{edge}")
    if by_number:
        steps = [int(name.removeprefix("at_")) for name in known.columns if name.startswith("at_")]
        column = "walked" if walked else f"at_{min(step for step in steps if step >= 100 * share - 1e-9)}"
        columns.append(rule + column)
    row = known.exact(str(min(spots, len(known.rows))))
    return round(max(float(row[column]) for column in columns) / 100, 4)


def chance_words(share: float) -> str:
    """Return a chance as a person says it; never less than 1 in 50.

    Parameters
    ----------
    share
        The chance [share].

    Examples
    --------
    >>> chance_words(0.163), chance_words(0.518), chance_words(0.673), chance_words(0.008)
    ('about 1 in 6', 'about 1 in 2', 'about 7 in 10', 'about 1 in 50')
    """
    if share > _HALF:
        return f"about {min(ceil(10 * share), 10)} in 10"
    return f"about 1 in {round(1 / max(share, _LEAST_SHARE))}"


def variance(test: str) -> float:
    """Return the variance of ln(CBR) of one reading of a test, its error of the site and its own together.

    Parameters
    ----------
    test
        A test that measures a number, or 'class' for any that names a class only.

    Notes
    -----
    ``v = s_site^2 + s_reading^2``, both from the table ``test_scatter``; the errors are independent, so variances add.

    Examples
    --------
    >>> round(variance("cone"), 4), round(variance("pocket"), 3)
    (0.1525, 0.245)

    References
    ----------
    test_scatter; [own].
    """
    row = table("test_scatter").exact(test)
    return hypot(float(row["site"]), float(row["reading"])) ** 2


def crude(test: str) -> bool:
    """Return whether a test is weaker evidence than a cone or a measured bearing ratio."""
    return bool(_scatter(test).get("crude", False))


def at_end(test: str, amount: float | None) -> bool:
    """Return whether a number was read at the end of the instrument's scale, so that it is an 'at least'."""
    return amount is not None and amount >= float(_scatter(test).get("end", inf))


def _scatter(test: str) -> Mapping[str, Cell]:
    """Return the row of a test; an empty one for a test that names a class only."""
    return next((row for row in table("test_scatter").rows if row["test"] == test), {})
