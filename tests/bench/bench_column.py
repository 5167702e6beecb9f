"""How much faster a column of platform depths is than a scipy brentq loop, and than one base_depth after another.

Run by hand: ``python tests/bench/bench_column.py [ROWS]``. Prints ratios, asserts nothing.
"""

import math
import sys
import time

import numpy as np
from scipy.optimize import brentq

from basecalc.design.column import depth_column, platform_thickness_column
from basecalc.design.depth import base_depth
from basecalc.design.settings import traffic
from basecalc.ground.classes import Strength, class_of_cbr

LEVEL = traffic("delivery")


def brentq_depth(cbr: float) -> float:
    """Return the raw platform depth [m] as a plain script would find it."""
    radius = math.sqrt(LEVEL.wheel_load_kn / (math.pi * LEVEL.tyre_kpa))
    stiffness = 1 + 0.204 * (min(5, 3.48 * 20**0.3 / cbr) - 1)

    def missing(depth: float) -> float:
        mobilised = 1 - 0.9 * math.exp(-((radius / depth) ** 2))
        front = (0.868 + 0.661 * (radius / depth) ** 1.5 * math.log10(LEVEL.passes)) / stiffness
        return front * (math.sqrt(LEVEL.tyre_kpa / (mobilised * 3.14 * 30 * cbr)) - 1) * radius - depth

    return float(brentq(missing, 0.02, 2.5, xtol=1e-13))


def brentq_number(cbr: float) -> float:
    """Return the structural number as a plain script would find it (AASHTO 1993, Part II, eq. 3.1.1)."""
    modulus = min(1500 * cbr, 2555 * cbr**0.64)
    right = math.log10(LEVEL.esal) + 0.674 * 0.45 + 0.2 + 8.07 - 2.32 * math.log10(modulus)

    def missing(sn: float) -> float:
        worn = math.log10(1.7 / 2.7) / (0.4 + 1094 / (sn + 1) ** 5.19)
        return 9.36 * math.log10(sn + 1) + worn - right

    return float(brentq(missing, 0, 20, xtol=1e-13))


def seconds(work, times: int) -> float:
    """Return the shortest of several runs [s]."""
    best = math.inf
    for _ in range(times):
        start = time.perf_counter()
        work()
        best = min(best, time.perf_counter() - start)
    return best


def main() -> None:
    """Print the comparison."""
    rows = int(sys.argv[1]) if len(sys.argv) > 1 else 10_000
    cbrs = np.exp(np.random.default_rng(1).uniform(np.log(0.4), np.log(5), rows))
    numbers = cbrs.tolist()
    column = seconds(lambda: platform_thickness_column(cbrs, LEVEL), 5)
    loop = seconds(lambda: [brentq_depth(cbr) for cbr in numbers], 2)
    depths = seconds(lambda: depth_column(cbrs, LEVEL), 5)
    both = seconds(lambda: [(brentq_depth(cbr), brentq_number(cbr)) for cbr in numbers], 2)
    few = numbers[: max(1, rows // 20)]
    one = seconds(lambda: [base_depth(Strength(class_of_cbr(cbr), cbr), LEVEL) for cbr in few], 2) / len(few)
    worst = np.abs(platform_thickness_column(cbrs, LEVEL) - [brentq_depth(cbr) for cbr in numbers]).max()
    print(f"{rows} rows, platform equation: column {column * 1e3:.1f} ms, brentq loop {loop * 1e3:.1f} ms")
    print(f"ratio {loop / column:.1f}; greatest difference {worst:.1e} m")
    print(
        f"required depth, all checks: column {depths * 1e3:.1f} ms, brentq loop of both equations {both * 1e3:.1f} ms"
    )
    print(f"ratio {both / depths:.1f}")
    print(
        f"required depth, all checks: column {depths * 1e3:.1f} ms, one {one * 1e6:.0f} us, "
        f"ratio {one * rows / depths:.0f}"
    )


if __name__ == "__main__":
    main()
