"""How soil and surface pass heat to the frost: thermal conductivity by Kersten's equations, n factor of a surface."""

from math import log10

from basecalc.checks import number
from basecalc.tables import table

_INCHES_OF_A_FOOT = 12  # Kersten prints Btu in/(ft2 h F)


def conductivity(fine: bool, dry_density_pcf: float, water_percent: float) -> float:
    """Return the thermal conductivity of soil [Btu/(h ft F)], the mean of frozen and unfrozen.

    Parameters
    ----------
    fine
        Whether it is silt or clay; else sand or gravel.
    dry_density_pcf
        Dry unit weight [pcf], 50 to 160.
    water_percent
        Water by dry weight [%]: 7 to 100 in silt and clay, 1 to 100 in sand and gravel.

    Raises
    ------
    OutOfRangeError
        A value outside what the equations were fitted to.

    Examples
    --------
    >>> round(conductivity(True, 100, 15), 2)
    0.76

    References
    ----------
    KERSTEN, equations for silt and clay and for sandy soil; [memory], confirmed by the case of TM-5-852-6.
    """
    density = number("dry unit weight", dry_density_pcf, "pcf", 50, 160)
    water = number("water content", water_percent, "%", 7 if fine else 1, 100, why="the range of Kersten's equations")
    if fine:
        unfrozen = (0.9 * log10(water) - 0.2) * 10 ** (0.01 * density)
        frozen = 0.01 * 10 ** (0.022 * density) + 0.085 * 10 ** (0.008 * density) * water
    else:
        unfrozen = (0.7 * log10(water) + 0.4) * 10 ** (0.01 * density)
        frozen = 0.076 * 10 ** (0.013 * density) + 0.032 * 10 ** (0.0146 * density) * water
    return (unfrozen + frozen) / 2 / _INCHES_OF_A_FOOT


def surface_factor(surface: str) -> float:
    """Return the n factor of a surface: its freezing index over that of the air.

    Parameters
    ----------
    surface
        A row of the table of surfaces; pavers are taken as concrete.

    Examples
    --------
    >>> surface_factor("concrete"), surface_factor("turf")
    (0.75, 0.5)
    """
    return float(table("frost_surfaces").exact(surface)["factor"])
