"""Dynamic cone penetrometer: the penetration of one blow (the index) becomes a bearing ratio."""

from typing import Any, Final

from basecalc.checks import number, shown
from basecalc.errors import InputError, OutOfRangeError
from basecalc.ground.classes import MOST_CBR
from basecalc.ground.soils import soil as soil_named
from basecalc.rounding import printed
from basecalc.tables import table

HAMMER_FACTORS: Final[tuple[float, ...]] = tuple(float(row["factor"]) for row in table("cone_hammers").rows)


def hammer_factor(hammer: Any) -> float:
    """Return what a blow of a hammer counts, by its weight.

    Parameters
    ----------
    hammer
        The weight of the hammer, 8 or 4.6 [kg]: a number, or text such as ``"4.6 kg"``.

    Raises
    ------
    InputError
        Nothing, or a hammer there is not.

    Examples
    --------
    >>> hammer_factor("8 kg"), hammer_factor(4.6)
    (1.0, 2.0)

    References
    ----------
    FM-5-430-00-2, App. J: the light hammer counts essentially twice; [read].
    """
    known = table("cone_hammers")
    weight = f"{hammer:g}" if isinstance(hammer, int | float) and not isinstance(hammer, bool) else str(hammer or "")
    spelled = weight.casefold().replace(" ", "").removesuffix("kg").replace(",", ".").removesuffix(".0")
    for row in known.rows:
        if str(row["hammer"]).removesuffix(" kg") == spelled:
            return float(row["factor"])
    raise InputError(f"hammer is {shown(hammer)}; it must be one of: {', '.join(known.keys())}")


def hammer_of(factor: float) -> str:
    """Return the hammer whose blow counts so much.

    Examples
    --------
    >>> hammer_of(2.0)
    '4.6 kg'
    """
    return next(str(row["hammer"]) for row in table("cone_hammers").rows if row["factor"] == factor)


def cone_curve(soil: str = "") -> str:
    """Return which curve holds for a soil: general where none is named.

    Examples
    --------
    >>> cone_curve(), cone_curve("clay")
    ('general', 'CL')
    """
    return soil_named(soil).cone if soil else "general"


def cone_cbr(mm_per_blow: float, soil: str = "", hammer_factor: float = 1.0) -> float:
    """Return the bearing ratio [%] that the cone penetrometer's index stands for, 100 at the most.

    Parameters
    ----------
    mm_per_blow
        Penetration of one blow [mm/blow]; times the hammer factor it must lie from 1 to 350.
    soil
        One of `basecalc.ground.soils.SOILS`; nothing takes the curve for all soils.
    hammer_factor
        1 for the 8 kg hammer, 2 for the 4.6 kg hammer.

    Raises
    ------
    OutOfRangeError
        An index outside 1 to 350 mm per blow, or a hammer there is not.

    Notes
    -----
    In lean clay (CL) the clay curve holds wherever it gives less than 10, which is beyond 18.58 mm/blow; before that
    the curve for all soils. So from 18.58 to 20.34 mm/blow, where the curve for all soils is still above 10, the
    weaker of the two is taken.

    Examples
    --------
    >>> round(cone_cbr(20), 2), round(cone_cbr(30, "CL"), 2)
    (10.19, 3.84)

    References
    ----------
    ASTM-D6951, equations for all soils, CL and CH; [read]. FM-5-430-00-2, App. J, hammers; [read].
    """
    if hammer_factor not in HAMMER_FACTORS:
        raise OutOfRangeError(
            f"hammer factor is {shown(hammer_factor)}; it must be 1 (8 kg hammer) or 2 (4.6 kg hammer)"
        )
    limits = table("reading_tests").exact("cone")
    per_blow = number("cone", mm_per_blow, "mm/blow", 0, above=True)
    index = number("cone", per_blow * hammer_factor, "mm/blow", float(limits["low"]), float(limits["high"]),
                   why="millimetres per blow of the 8 kg hammer, not inches")  # fmt: skip
    curve = cone_curve(soil)
    cbr = _on_curve(curve, index)
    if printed(cbr) >= float(table("cone_equations").exact(curve)["used_below"]):
        cbr = _on_curve("general", index)
    return min(MOST_CBR, cbr)


def _on_curve(curve: str, index: float) -> float:
    row = table("cone_equations").exact(curve)
    penetration: float = (float(row["factor"]) * index) ** float(row["exponent"])
    return float(row["numerator"]) / penetration
