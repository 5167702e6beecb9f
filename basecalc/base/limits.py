"""Where the methods end: the rows of one table, and the refusal of ground that is too soft for any of them."""

from typing import Any

from basecalc.checks import number, shown
from basecalc.errors import OutOfRangeError
from basecalc.rounding import printed
from basecalc.tables import table


def limit(name: str) -> float:
    """Return a limit of the methods, in the unit of its row in the table.

    Examples
    --------
    >>> limit("weakest ground designed")
    0.4
    """
    return float(table("design_limits").exact(name)["value"])


def designed_cbr(cbr: Any) -> float:
    """Return the CBR if a base can be designed on it.

    Parameters
    ----------
    cbr
        CBR of the ground [%], 0.4 to 100.

    Raises
    ------
    OutOfRangeError
        Weaker than the weakest ground a depth is given for, or above 100 %.

    Examples
    --------
    >>> designed_cbr(0.4)
    0.4
    """
    weakest = limit("weakest ground designed")
    value = number("CBR", cbr, "%", high=100)
    if printed(value) < weakest:
        raise OutOfRangeError(
            f"CBR is {shown(value)} %; below {weakest:g} % (very soft ground) no base depth is given, "
            "a licensed engineer must design it"
        )
    return max(value, weakest)  # noise below the ninth digit is no weaker ground
