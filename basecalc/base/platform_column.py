"""The equation of `platform` solved for a whole column of subgrades at once (NumPy)."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from basecalc.base.platform import DEEPEST_M, SHALLOWEST_M, bearing_factor, excess, terms
from basecalc.base.solving_column import COLUMN, Column, Rows, deepest_roots, falling_roots
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
    nc = bearing_factor(kind)

    def missing_at(grounds: Column) -> Callable[[Column, Rows], Column]:
        t = terms(grounds, traffic, nc, stability, base_cbr, COLUMN)

        def missing(trial: Column, rows: Rows) -> Column:
            some = replace(t, stiffness=t.stiffness[rows], strength_kpa=t.strength_kpa[rows])
            result: Column = excess(trial, some, COLUMN)
            return result

        return missing

    def solve(grounds: Column) -> Column:
        return deepest_roots(missing_at(grounds), grounds.size, SHALLOWEST_M, DEEPEST_M)

    t = terms(cbr, traffic, nc, stability, base_cbr, COLUMN)
    needed = np.flatnonzero(t.tyre_kpa > t.strength_kpa)
    depth = np.zeros(cbr.size)
    depth[needed] = falling_roots(cbr[needed], solve, missing_at(cbr[needed]))
    return depth
