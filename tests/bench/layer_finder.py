"""How well layers are found in synthetic cone logs whose layers are known, through the reader and all.

Run by hand: ``python tests/bench/layer_finder.py [LOGS] [SEED]``. Prints shares, asserts nothing.

A log has one to four layers with an index of 4 to 60 mm/blow; neighbours differ by a factor of 1.6 or more, and a
layer is thick enough for a stated number of readings; none goes deeper than 2.5 m. The cone is driven blow by blow,
each blow scattering by a stated coefficient of variation; the operator reads after 5, 2 or 1 blows by what the last
reading showed, to the whole millimetre with a standard error of 1 mm. In a stated share of the logs one reading is
bad: misread by 10 to 30 mm, its blows miscounted by one, or driven through a stone that takes two thirds of the
penetration.

A log counts as found where the number of layers is right, every boundary lies within one reading of the true one, and
the CBR of every layer is within 10 % of that of its true index. 1,000 logs a row:

==================  ============  ==================  ========
readings a layer    blow scatter  one bad reading in  found
==================  ============  ==================  ========
10 or more          10 %          half the logs       95 %
10 or more          10 %          every log           92 %
10 or more          15 %          half                80 %
10 or more          20 %          half                52 %
8                   10 %          half                95 %
6                   10 %          half                89 %
4                   10 %          half                84 %
==================  ============  ==================  ========

Most of what is not found has a layer too many, on the weak side: a chance run of thick weak readings is cut out as a
seam, because a true one cannot be told from it.
"""

import sys
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from basecalc.ground.cone_layers import profile
from basecalc.ground.cone_log import Profile
from basecalc.ground.cone_log_file import cone_log
from basecalc.ground.readings import cone_cbr

LEAST_CONTRAST = 1.6
CBR_WITHIN = 0.10
DEEPEST_MM = 2500


@dataclass(frozen=True)
class Conditions:
    """How hard the logs are: readings in the thinnest layer, scatter of a blow, share of logs with a bad reading."""

    readings: int = 10
    scatter: float = 0.10
    bad: float = 0.5


@dataclass(frozen=True)
class Known:
    """A synthetic log: its text, the true index of each layer [mm/blow], the true boundaries [mm], what is bad."""

    text: str
    indices: tuple[float, ...]
    edges: tuple[float, ...]
    bad: str


def blows_before_reading(index: float) -> int:
    """Return after how many blows an operator reads, by the index of the last reading [mm/blow]."""
    return 5 if index < 5 else 2 if index < 12 else 1


def known_log(rng: np.random.Generator, conditions: Conditions) -> Known:
    """Return one synthetic log."""
    indices = [_any_index(rng)]
    count = rng.integers(1, 5)
    while len(indices) < count:
        index = _any_index(rng)
        if max(index / indices[-1], indices[-1] / index) >= LEAST_CONTRAST:
            indices.append(index)
    thinnest = [conditions.readings * index * blows_before_reading(index) for index in indices]
    edges = np.cumsum([rng.uniform(1, 2) * max(thin, 100.0) for thin in thinnest])
    if edges[-1] > DEEPEST_MM:
        return known_log(rng, conditions)
    driven, depths = [0], [0.0]
    stone = rng.integers(1, 12) if rng.random() < conditions.bad / 3 else 0
    last = indices[0]
    while depths[-1] < edges[-1]:
        depth, blows = depths[-1], 0
        for _ in range(blows_before_reading(last)):
            here = indices[min(int(np.searchsorted(edges, depth, side="right")), len(indices) - 1)]
            scatter = conditions.scatter
            blow = here * np.exp(rng.normal(-(scatter**2) / 2, scatter))
            depth += blow / 3 if len(driven) == stone else blow
            blows += 1
            if depth >= edges[-1]:
                break
        last = (depth - depths[-1]) / blows
        driven.append(blows)
        depths.append(depth)
    read = np.round(np.array(depths) + np.append(0, rng.normal(0, 1, len(depths) - 1)))
    bad = "stone" if 0 < stone < len(driven) else ""
    if not bad and rng.random() < conditions.bad:
        bad = _spoil(rng, driven, read)
    if (np.diff(read) < driven[1:]).any():  # below 1 mm/blow the reader refuses it
        return known_log(rng, conditions)
    text = "\n".join(["blows per step,total depth mm", *(f"{b},{d:g}" for b, d in zip(driven, read, strict=True))])
    return Known(text, tuple(indices), tuple(edges[:-1]), bad)


def _any_index(rng: np.random.Generator) -> float:
    return float(np.exp(rng.uniform(np.log(4), np.log(60))))


def _spoil(rng: np.random.Generator, driven: list[int], read: np.ndarray) -> str:
    """Misread a depth or miscount the blows of one reading, and say which; nothing where no reading can take it."""
    for _ in range(20):
        place = int(rng.integers(1, len(read)))
        if rng.random() < 0.5:
            wrong = np.round(read[place] + rng.choice([-1, 1]) * rng.uniform(10, 30))
            below = read[place + 1] - 1.5 * driven[place + 1] if place + 1 < len(read) else np.inf
            if read[place - 1] + 1.5 * driven[place] < wrong < below:
                read[place] = wrong
                return "misread"
        elif driven[place] > 1:
            driven[place] += int(rng.choice([-1, 1]))
            return "miscounted"
    return ""


def verdict(log: Known, found: Profile) -> str:
    """Return "found", or what is wrong: the number of layers, a boundary, a CBR."""
    if len(found.layers) != len(log.indices):
        return "layers"
    bottoms = [step.bottom_m * 1000 for step in found.drop.steps]
    for layer, edge in zip(found.layers, log.edges, strict=False):
        place = bottoms.index(layer.bottom_m * 1000)
        true = int(np.searchsorted(bottoms, edge))  # the step that ran across the true boundary
        if place not in (true - 2, true - 1, true, true + 1):
            return "boundary"
    for layer, index in zip(found.layers, log.indices, strict=True):
        if abs(layer.cbr / cone_cbr(index, "sand") - 1) > CBR_WITHIN:
            return "CBR"
    return "found"


def verdicts(count: int, seed: int, conditions: Conditions) -> Iterator[tuple[str, str]]:
    """Yield what became of so many logs, each with what was bad about it."""
    rng = np.random.default_rng(seed)
    for _ in range(count):
        log = known_log(rng, conditions)
        drop = cone_log(log.text.encode(), "log", hammer=8).drops[0]
        yield verdict(log, profile(drop, "sand")), log.bad


def main() -> None:
    """Print the table."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else 1
    print(f"{count} logs each, seed {seed}; not found by reason: number of layers, boundary, CBR")
    for conditions in (
        Conditions(), Conditions(bad=0), Conditions(bad=1), Conditions(scatter=0.05), Conditions(scatter=0.15),
        Conditions(scatter=0.2), Conditions(readings=8), Conditions(readings=6), Conditions(readings=4),
    ):  # fmt: skip
        seen = Counter(word for word, _ in verdicts(count, seed, conditions))
        print(
            f"{conditions.readings:3} readings, scatter {conditions.scatter:.0%}, bad in {conditions.bad:.0%}: "
            f"found {seen['found'] / count:.1%} ({seen['layers']}, {seen['boundary']}, {seen['CBR']})"
        )


if __name__ == "__main__":
    main()
