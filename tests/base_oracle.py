"""The equations of the base written a second time, from their publications, and solved by scipy."""

import math

import numpy as np
from scipy.optimize import brentq

NC = {"none": 3.14, "geotextile": 5.14, "geogrid": 5.71}


def giroud_han(cbr_sub, cbr_base, load_kn, tire_kpa, passes, rut_mm, stability, kind):
    """Return the raw depth [m]: the last change of sign on a fine grid, refined; 0 where no base is needed."""
    radius = math.sqrt(load_kn / (math.pi * tire_kpa))
    cu = 30 * cbr_sub
    area = math.pi * radius**2
    if load_kn <= rut_mm / 75 * area * NC[kind] * cu:
        return 0.0
    f_e = 1 + 0.204 * (min(5, 3.48 * cbr_base**0.3 / cbr_sub) - 1)

    def missing(h):
        m = rut_mm / 75 * (1 - 0.9 * np.exp(-((radius / h) ** 2)))
        front = (0.868 + (0.661 - 1.006 * stability**2) * (radius / h) ** 1.5 * np.log10(passes)) / f_e
        return front * (np.sqrt(load_kn / (area * m * NC[kind] * cu)) - 1) * radius - h

    grid = np.geomspace(0.02, 2.5, 4000)
    enough = missing(grid) < 0
    if not enough[-1]:
        return math.inf
    too_thin = np.flatnonzero(~enough)
    if not too_thin.size:
        return 0.0
    last = too_thin[-1]
    return brentq(missing, grid[last], grid[last + 1], xtol=1e-13)


def aashto_sn(w18, zr, so, loss, mr):
    """Return the structural number by brentq."""

    def missing(sn):
        log_w18 = (
            zr * so
            + 9.36 * math.log10(sn + 1)
            - 0.20
            + math.log10(loss / 2.7) / (0.40 + 1094 / (sn + 1) ** 5.19)
            + 2.32 * math.log10(mr)
            - 8.07
        )
        return math.log10(w18) - log_w18

    return brentq(missing, 0.0, 25.0, xtol=1e-13)


def forest_service(cu_kpa, load_kn, tire_kpa, nc):
    """Return the depth [m] at which Boussinesq's stress below the middle of a square tire print falls to Nc cu."""
    side = math.sqrt(load_kn / tire_kpa)

    def too_much(depth):
        m = side / 2 / depth
        v = 1 + 2 * m * m
        corner = 2 * m * m * math.sqrt(v) / (v + m**4) * (v + 1) / v + math.atan2(2 * m * m * math.sqrt(v), v - m**4)
        return tire_kpa * corner / math.pi - nc * cu_kpa

    return brentq(too_much, 1e-6, 20.0, xtol=1e-13)
