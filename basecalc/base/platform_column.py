"""The equation of `platform` solved for a whole column of subgrades at once (NumPy)."""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from basecalc.base.platform import DEEPEST_M, SHALLOWEST_M, bearing_factor, excess, terms
from basecalc.base.solving_column import COLUMN, Column, deepest_roots
from basecalc.base.traffic import Traffic


def platform_thickness_column(
    cbr: Column, traffic: Traffic, kind: str = "none", stability: float = 0.0, base_cbr: float = 20.0
) -> Column:
    """Return the depth the platform equation asks for, row by row, before any least depth [m].

    Parameters
    ----------
    cbr
        CBR of the subgrades [%], not checked here.
    traffic
        Wheel load, tyre pressure, passes and allowed rut.
    kind
        Kind of reinforcement, for the bearing capacity factor.
    stability
        Aperture stability modulus [m-N/deg], 0 without a geogrid.
    base_cbr
        CBR of the base [%].

    Returns
    -------
    numpy.ndarray
        Depth [m]; 0 where no base is needed, infinity where none down to 2.5 m is enough.
    """
    t = terms(cbr, traffic, bearing_factor(kind), stability, base_cbr, COLUMN)
    needed = np.flatnonzero(t.tyre_kpa > t.strength_kpa)
    stiffness, strength = t.stiffness[needed], t.strength_kpa[needed]

    def missing(trial: Column, rows: NDArray[np.intp]) -> Column:
        some = replace(t, stiffness=stiffness[rows], strength_kpa=strength[rows])
        result: Column = excess(trial, some, COLUMN)
        return result

    depth = np.zeros(cbr.size)
    depth[needed] = deepest_roots(missing, needed.size, SHALLOWEST_M, DEEPEST_M)
    return depth
