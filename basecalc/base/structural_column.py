"""The equation of `structural` solved for a whole column of subgrades at once (NumPy)."""

from collections.abc import Callable
from math import log10

import numpy as np

from basecalc.base.solving_column import COLUMN, Column, Rows, bracketed, falling_roots
from basecalc.base.structural import HIGHEST_SN, log_axles, log_modulus


def structural_number_column(
    esal: float, modulus_psi: Column, zr: float, overall_deviation: float, serviceability_drop: float
) -> Column:
    """Return the structural number that the traffic asks for, row by row [in].

    Parameters
    ----------
    esal
        Equivalent 18-kip single axles.
    modulus_psi
        Resilient modulus of the subgrades [psi].
    zr
        Standard normal deviate of the reliability.
    overall_deviation
        Overall standard deviation.
    serviceability_drop
        Loss of serviceability.

    Returns
    -------
    numpy.ndarray
        Structural number [in]; 0 where none is needed, infinity where none up to 20 is enough.
    """

    def missing_at(grounds: Column) -> Callable[[Column, Rows], Column]:
        wanted = log10(esal) - log_modulus(grounds, COLUMN)

        def missing(sn: Column, rows: Rows) -> Column:
            result: Column = wanted[rows] - log_axles(sn, zr, overall_deviation, serviceability_drop, COLUMN)
            return result

        return missing

    def solve(grounds: Column) -> Column:
        missing, every = missing_at(grounds), np.arange(grounds.size)
        weak, strong = (missing(np.full(grounds.size, sn), every) for sn in (0.0, HIGHEST_SN))
        result = np.where(strong > 0, np.inf, 0.0)
        open_ = np.flatnonzero((weak > 0) & (strong <= 0))
        if open_.size:
            ends = np.zeros(open_.size), np.full(open_.size, HIGHEST_SN)
            result[open_] = bracketed(lambda sn, at: missing(sn, open_[at]), *ends)
        return result

    return falling_roots(modulus_psi, solve, missing_at(modulus_psi))
