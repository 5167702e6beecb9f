"""The functions an equation is written with, for one number and a column alike; a safe root for one number."""

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Final, TypeAlias

#: A float, or a NumPy array of floats: the equations of this package are written once for both.
Number: TypeAlias = Any

#: Neighbouring trial depths stand in this ratio when a root is looked for from the deep end.
RATIO: Final = 1.3


@dataclass(frozen=True, slots=True)
class Functions:
    """Where an equation takes its functions from: `math` for one number, NumPy for a column."""

    exp: Callable[[Number], Number]
    log10: Callable[[Number], Number]
    sqrt: Callable[[Number], Number]
    least: Callable[[Number, Number], Number]


SCALAR: Final = Functions(math.exp, math.log10, math.sqrt, min)


def trials(low: float, high: float) -> tuple[float, ...]:
    """Return the trial values from high down to low, neighbours in one ratio.

    Examples
    --------
    >>> trials(1.0, 1.69)
    (1.69, 1.3, 1.0)
    """
    steps = math.ceil(round(math.log(high / low) / math.log(RATIO), 9))
    inner = (high * (low / high) ** (step / steps) for step in range(1, steps))
    return (high, *(float(f"{value:.12g}") for value in inner), low)


def bisect(excess: Callable[[float], float], low: float, high: float) -> float:
    """Return where the excess passes from positive to negative, to the last digits of a float.

    Parameters
    ----------
    excess
        Not negative at low, negative at high.
    low, high
        The bracket, in the unit of the result.

    Examples
    --------
    >>> round(bisect(lambda x: 2 - x * x, 1.0, 2.0), 12)
    1.414213562373
    """
    while True:
        middle = 0.5 * (low + high)
        if not low < middle < high:
            return middle
        if excess(middle) >= 0:
            low = middle
        else:
            high = middle


def deepest_root(excess: Callable[[float], float], low: float, high: float) -> float:
    """Return the greatest value at which the excess passes from positive to negative.

    The search comes down from the deep end, so that of several roots it finds the one on the safe side.

    Parameters
    ----------
    excess
        How much more an equation asks for than the trial value gives.
    low, high
        Where to search, in the unit of the result.

    Returns
    -------
    float
        The root; `math.inf` where even high is not enough; 0 where no trial value down to low is too small.

    Examples
    --------
    >>> round(deepest_root(lambda x: 2 - x * x, 0.5, 10), 9)
    1.414213562
    """
    outer = math.inf
    for trial in trials(low, high):
        if excess(trial) >= 0:
            return bisect(excess, trial, outer) if outer < math.inf else math.inf
        outer = trial
    return 0.0
