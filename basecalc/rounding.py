"""Rounding that float noise cannot tip over: whole loads, whole inches, cents."""

from decimal import ROUND_HALF_UP, Decimal
from math import ceil

CENT = Decimal("0.01")


def printed(value: float) -> float:
    """Return the number as it would be printed, without the noise behind the ninth digit.

    Examples
    --------
    >>> printed(6 * 0.0254 / 0.0254)
    6.0
    """
    return float(f"{value:.9g}")


def whole_up(ratio: float) -> int:
    """Return the least whole number that is not below the ratio, noise apart.

    Examples
    --------
    >>> whole_up(3.0000000000004), whole_up(3.001)
    (3, 4)
    """
    return ceil(round(ratio, 9))


def step_up(value: float, step: float) -> float:
    """Return the value rounded up to the next whole step, in the unit of both.

    Examples
    --------
    >>> step_up(14.2, 1.0)
    15.0
    """
    return printed(whole_up(value / step) * step)


def decimal(value: float | Decimal, places: int) -> Decimal:
    """Return the value as a decimal number, rounded half up to so many places.

    A float is taken as it would be printed, so that 2.675 means 2.675.

    Examples
    --------
    >>> decimal(2.675, 2)
    Decimal('2.68')
    """
    exact = value if isinstance(value, Decimal) else Decimal(f"{value:.12g}")
    return exact.quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP)


def half_up(value: float, places: int = 0) -> float:
    """Return the number rounded half up to so many places, as a spreadsheet rounds it and shows it.

    Examples
    --------
    >>> half_up(242.5), half_up(425.285, 2), half_up(-0.125, 2)
    (243.0, 425.29, -0.13)
    """
    return float(decimal(value, places))


def fixed(value: float | Decimal, places: int) -> str:
    """Return the number as text with so many places, rounded half up, large ones in groups of three.

    Examples
    --------
    >>> fixed(1425.285, 2), fixed(2.5, 0)
    ('1,425.29', '3')
    """
    return f"{decimal(value, places):,.{places}f}"


def cents(value: Decimal) -> Decimal:
    """Return an amount of money rounded half up to the cent.

    Examples
    --------
    >>> cents(Decimal("10.005"))
    Decimal('10.01')
    """
    return value.quantize(CENT, ROUND_HALF_UP)
