"""Synthetic cone logs with weak seams, as a crew writes them, each with what the cone truly met.

The ground is driven blow by blow; each blow scatters, and that scatter is the ground's own: a layer's true index is
what its whole readings went in a blow. Ordinary layers and seams (one to three whole readings) may start in a reading,
which then belongs to neither. Slips (a depth misread, made up for by the next reading), blows at a stone that move
nothing, and refusal at the end never lie in a seam: there nobody can tell what the cone met.
"""

from dataclasses import dataclass

import numpy as np

from basecalc.core.units import INCH_M

UNITS = {"mm": (1.0, 1.0), "cm": (10.0, 0.1), "in": (25.4, 0.1)}  # mm of one, and the step to which it is read
LEAST_MM = 2 * INCH_M * 1000


@dataclass(frozen=True)
class Met:
    """A true layer: from and to [mm], its index over its whole readings [mm per blow of the 8 kg hammer]."""

    top: float
    bottom: float
    index: float


@dataclass(frozen=True)
class SeamLog:
    """A log as text, and what the cone truly met; where the bottom of the base lies [m], if anyone knows."""

    text: str
    met: tuple[Met, ...]
    base_bottom_m: float | None


def seam_log(rng: np.random.Generator) -> SeamLog:
    """Return one log."""
    every = int(rng.integers(1, 11))  # blows a reading
    scatter = rng.uniform(0.05, 0.30)
    factor = float(rng.choice([1.0, 2.0]))
    name, (unit, step) = [*UNITS.items()][rng.integers(len(UNITS))]
    # each layer: index and whole readings
    plan: list[tuple[float, int]] = []
    index = _strong(rng, every, factor)
    for _ in range(rng.integers(1, 4)):
        plan.append((index, int(rng.integers(4, 13))))
        if rng.random() < 0.8:
            seam = min(index * float(np.exp(rng.uniform(np.log(1.5), np.log(6)))), 120.0 * 2 / factor, 340.0)
            plan += [(seam, int(rng.integers(1, 4))), (index, int(rng.integers(3, 9)))]
        other = _strong(rng, every, factor)
        index = other if max(other / index, index / other) >= 1.6 else index * 1.7
    blows: list[int] = [0]
    depths: list[float] = [0.0]
    met: list[Met] = []
    spoil: list[int] = []  # readings of ordinary ground, whole, with another such reading behind
    for at, (own, readings) in enumerate(plan):
        if at and rng.random() < 0.5:  # a reading through both
            share = rng.uniform(0.2, 0.8)
            _drive(rng, blows, depths, every, (1 - share) * plan[at - 1][0] + share * own, scatter, factor)
        first = len(depths) - 1
        for _ in range(readings):
            _drive(rng, blows, depths, every, own, scatter, factor)
        met.append(Met(depths[first], depths[-1], (depths[-1] - depths[first]) * factor / (readings * every)))
        if readings > 3:
            spoil += range(first + 2, len(depths) - 1)
    shown = np.array(depths)
    if not 150 < depths[-1] < 2900:  # no log is shallower or deeper
        return seam_log(rng)
    if spoil and rng.random() < 0.4:  # a slip: the depth misread, no more than half of either reading
        place = int(rng.choice(spoil))
        most = min(shown[place] - shown[place - 1], shown[place + 1] - shown[place]) / 2
        shown[place] += rng.choice([-1, 1]) * min(rng.uniform(10, 30), most)
    rows = list(zip(blows, np.round(shown / unit / step) * step, strict=True))
    if spoil and rng.random() < 0.3:  # a stone: blows that move nothing
        place = int(rng.choice(spoil))
        rows.insert(place, (int(rng.integers(1, 11)), rows[place - 1][1]))
    if rng.random() < 0.3:  # refusal
        rows += [(10, rows[-1][1])] * int(rng.integers(1, 3))
    text = "\n".join([f"blows per step,depth {name}", *(f"{hits},{depth:.4g}" for hits, depth in rows)])
    bottom = None if rng.random() < 0.5 else float(rng.uniform(0, min(depths[-1] / 2000, 0.5)))
    return SeamLog(f"# {8 if factor == 1 else 4.6:g} kg hammer\n{text}\n", tuple(met), bottom)


def _strong(rng: np.random.Generator, every: int, factor: float) -> float:
    """Return the index of ordinary ground; logs of many blows a reading are of hard ground."""
    most = max(40.0 / every**0.5, 8.0)
    return float(np.exp(rng.uniform(np.log(4.0 * factor), np.log(most * factor))))


def _drive(
    rng: np.random.Generator, blows: list[int], depths: list[float], count: int, index: float, scatter: float,
    factor: float,
) -> None:  # fmt: skip
    """Add a reading of so many blows."""
    moved = index / factor * np.exp(rng.normal(-(scatter**2) / 2, scatter, count)).sum()
    blows.append(count)
    depths.append(depths[-1] + float(moved))
