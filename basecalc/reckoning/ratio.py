"""A ratio of sums over jobs with its interval: big jobs weigh more; each job is left out once to see what it does."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache
from math import atan, cos, isfinite, pi, sin, sqrt
from typing import Final

import numpy as np
from numpy.typing import NDArray

from basecalc.checks import number
from basecalc.errors import InputError

CONFIDENCE: Final = 0.95
FEWEST: Final = 5  # jobs; own choice: with fewer the interval is wider than what anybody would enter
Sums = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Interval:
    """A value, the ends of its interval, its standard error, and from how many jobs."""

    value: float
    low: float
    high: float
    error: float
    jobs: int


def t_share(t: float, degrees: int) -> float:
    """Return the share of Student's t distribution that lies between -t and t.

    Parameters
    ----------
    t
        From nought up.
    degrees
        Degrees of freedom, at least 1.

    Examples
    --------
    >>> round(t_share(2.228, 10), 4)
    0.95

    References
    ----------
    ABRAMOWITZ-STEGUN, 26.7.3 and 26.7.4 [memory]: finite series in the angle whose tangent is t over the root of the
    degrees.
    """
    angle = atan(t / sqrt(degrees))
    term = total = cos(angle) if degrees % 2 else 1.0
    for step in range(3 if degrees % 2 else 2, degrees - 1, 2):
        term *= cos(angle) ** 2 * (step - 1) / step
        total += term
    if degrees == 1:
        return 2 * angle / pi
    if degrees % 2:
        return 2 / pi * (angle + sin(angle) * total)
    return sin(angle) * total


@cache
def t_value(degrees: int, confidence: float = CONFIDENCE) -> float:
    """Return the t between minus and plus which a share of Student's t distribution lies.

    Parameters
    ----------
    degrees
        Degrees of freedom, at least 1.
    confidence
        The share, above 0 and below 1.

    Examples
    --------
    >>> round(t_value(4), 3), round(t_value(11), 3)
    (2.776, 2.201)
    """
    number("degrees of freedom", degrees, "", 1)
    share = number("confidence", confidence, "", 0.0, 0.9999, above=True)
    low, high = 0.0, 1.0
    while t_share(high, degrees) < share:
        high *= 2
    for _ in range(80):
        middle = (low + high) / 2
        low, high = (middle, high) if t_share(middle, degrees) < share else (low, middle)
    return (low + high) / 2


def interval(rows: Sequence[Sequence[float]], of: Callable[[Sums], float]) -> Interval:
    """Return what a function of sums over jobs gives, with its interval.

    The value is the function of the sums over all jobs, so that a job weighs by its size. Each job is left out once;
    the variance is the sum of the squares by which that moves the value, and the interval is so many standard errors to
    either side as Student's t with one degree of freedom less than there are jobs says. Jobs are taken to differ
    independently, in any amount.

    Parameters
    ----------
    rows
        For each job the amounts that are summed.
    of
        Gives the value from the sums, such as one over the other.

    Raises
    ------
    InputError
        Fewer than two jobs, or one without which there is no value.

    Examples
    --------
    >>> found = interval([(11.0, 10.0), (19.0, 20.0), (33.0, 30.0)], lambda sums: sums[0] / sums[1])
    >>> round(found.value, 3), round(found.error, 4)
    (1.05, 0.0714)

    References
    ----------
    MACKINNON-WHITE, HC3: for a ratio of sums the variance is that of a line through nought with weights by size,
    residual / (1 - leverage) squared and summed; the form [read] in the documentation of statsmodels and of the R
    package sandwich. COCHRAN, ch. 6 [memory]: a ratio of sums weighs best where the variance grows with size.
    """
    table = np.array(rows, dtype=float)
    if len(table) < 2:
        raise InputError(f"there are {len(table)} jobs; at least 2 must be there for an interval")
    sums = table.sum(axis=0)
    value = float(of(sums))
    moved = [float(of(sums - row)) - value for row in table]
    if not all(map(isfinite, (value, *moved))):
        raise InputError("one job holds all that there is of this; at least two must have it")
    error = sqrt(sum(move * move for move in moved))
    reach = t_value(len(table) - 1) * error
    return Interval(value, value - reach, value + reach, error, len(table))
