"""Stiffness of subgrade and base for the structural design: resilient modulus from CBR, layer coefficient."""

from math import log10

from basecalc.base.limits import limit
from basecalc.base.settings import MODULUS_RULES
from basecalc.base.solving import SCALAR, Functions, Number
from basecalc.checks import choice, number
from basecalc.errors import OutOfRangeError


def modulus(cbr: Number, rule: str, f: Functions) -> Number:
    """Return the resilient modulus [psi] by a rule already checked; CBR [%] is a number or a column."""
    power, linear = 2555 * cbr**0.64, 1500 * cbr
    return {"power": power, "linear": linear, "safer": f.least(power, linear)}[rule]


def resilient_modulus_psi(cbr: float, rule: str = "safer") -> float:
    """Return the resilient modulus of the subgrade [psi].

    Parameters
    ----------
    cbr
        CBR of the subgrade [%], above 0, at most 100.
    rule
        'power': 2555 CBR^0.64; 'linear': 1500 CBR, up to CBR 10; 'safer': the lesser of the two, which is 1500 CBR
        below CBR 4.39.

    Raises
    ------
    OutOfRangeError
        A CBR outside the limits of the rule.

    Examples
    --------
    >>> resilient_modulus_psi(3.0), round(resilient_modulus_psi(10.0)), round(resilient_modulus_psi(3.0, "power"))
    (4500.0, 11153, 5161)

    References
    ----------
    FHWA-NHI-05-037, Eq. 5.13 and Table 5-34.
    """
    rule = choice("modulus rule", rule, MODULUS_RULES)
    cbr = number("CBR", cbr, "%", 0, 100, above=True)
    if rule == "linear" and cbr > limit("strongest ground of 1500 CBR"):
        raise linear_refusal(cbr)
    return float(modulus(cbr, rule, SCALAR))


def linear_refusal(cbr: float) -> OutOfRangeError:
    """Return the refusal of ground too strong for the rule 'linear'."""
    return OutOfRangeError(
        f"CBR is {cbr:g} %; the modulus rule 'linear' (1500 CBR) ends at {limit('strongest ground of 1500 CBR'):g} %, "
        "the rule must be 'safer' or 'power'"
    )


def layer_coefficient(modulus_psi: float) -> float:
    """Return the layer coefficient a2 of a granular base [1/in].

    Parameters
    ----------
    modulus_psi
        Resilient modulus of the base [psi].

    Examples
    --------
    >>> round(layer_coefficient(30000), 3)
    0.138

    References
    ----------
    AASHTO-1993, Part II, section 2.3.5.
    """
    return 0.249 * log10(modulus_psi) - 0.977


def modulus_words(cbr: float, rule: str) -> str:
    """Return the formula that gave the modulus, and that it was chosen as the lesser where it was.

    Examples
    --------
    >>> modulus_words(3.0, "safer")
    '1500 CBR, the lesser of 2555 CBR^0.64 and 1500 CBR'
    """
    if rule == "power" or (rule == "safer" and modulus(cbr, "power", SCALAR) < modulus(cbr, "linear", SCALAR)):
        text = "2555 CBR^0.64"
    else:
        text = "1500 CBR"
    return f"{text}, the lesser of 2555 CBR^0.64 and 1500 CBR" if rule == "safer" else text
