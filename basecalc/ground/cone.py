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


def cone_curves(soil: str = "") -> tuple[str, ...]:
    """Return which curves may hold for a soil: any of them where none is named.

    Examples
    --------
    >>> cone_curves("sand"), cone_curves("clay"), cone_curves()
    (('general',), ('CL', 'CH'), ('general', 'CL', 'CH'))
    """
    return soil_named(soil).cone if soil else tuple(table("cone_equations").keys())


def cone_curve(soil: str = "") -> str:
    """Return the weakest of the curves that may hold for a soil.

    Notes
    -----
    The curves are in one order at every index from 10 mm/blow on, and CL is the weakest of them wherever it is used:
    general 292/DPI^1.12 lies above CL 1/(0.017019 DPI)^2 from 16.5 mm/blow, and below CH 1/(0.002871 DPI) everywhere.

    Examples
    --------
    >>> cone_curve("sand"), cone_curve("clay"), cone_curve("lab-tested fat clay"), cone_curve()
    ('general', 'CL', 'CH', 'CL')
    """
    return min(cone_curves(soil), key=lambda curve: _by_rule(curve, 40.0))


def cone_cbr(mm_per_blow: float, soil: str = "", hammer_factor: float = 1.0) -> float:
    """Return the bearing ratio [%] that the cone penetrometer's index stands for, 100 at the most.

    Parameters
    ----------
    mm_per_blow
        Penetration of one blow [mm/blow]; times the hammer factor it must lie from 1 to 350.
    soil
        One of `basecalc.ground.soils.SOILS`; nothing where it is not named.
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
    weaker of the two is taken. Where the word for a soil, or none, lets several curves apply, the weakest of them is
    taken: fat clay takes its own curve only where a laboratory found it.

    Examples
    --------
    >>> round(cone_cbr(20, "sand"), 2), round(cone_cbr(30, "CL"), 2), round(cone_cbr(30), 2)
    (10.19, 3.84, 3.84)

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
    return min(MOST_CBR, *(_by_rule(curve, index) for curve in cone_curves(soil)))


def _by_rule(curve: str, index: float) -> float:
    """Return the bearing ratio by a curve where it is used, by the curve for all soils otherwise."""
    cbr = _on_curve(curve, index)
    used = printed(cbr) < float(table("cone_equations").exact(curve)["used_below"])
    return cbr if used else _on_curve("general", index)


def _on_curve(curve: str, index: float) -> float:
    row = table("cone_equations").exact(curve)
    penetration: float = (float(row["factor"]) * index) ** float(row["exponent"])
    return float(row["numerator"]) / penetration
