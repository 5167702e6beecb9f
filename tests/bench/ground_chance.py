"""How often more than a quarter of an area is weaker than it is designed for, by spots, walking and allowance.

Run by hand: ``python tests/bench/ground_chance.py [DRIVEWAYS]``. Prints the rows of
``basecalc/data/chance_weaker.toml`` and a good boot beside them; half a minute. ``tests/test_evidence.py``
repeats it with fewer driveways and compares.

Ground
    40 cells in a row along a driveway, ln(CBR) correlated (1/e at a quarter of its length), with a coefficient of
    variation of 0.3, 0.5 or 0.8 within the driveway; or a *patch*: 0.3, and a fifth of the length weaker by a
    factor of 3 to 8. Middle of the driveway log-uniform from CBR 0.8 to 3.2, where the base depth depends on it.
    The four kinds of ground weigh equally.
Readings
    ln(reading) = ln(truth at the spot) + one error for the whole site (soil, curve, operator) + one error for each
    reading, both normal, their standard deviations in ``basecalc/data/test_scatter.toml``. A test by class reads
    with errors of its own and writes down only the band it falls in. "By number" is the mean of pocket
    penetrometer, hand vane, cone and measured CBR.
Spots
    One in each of n equal stretches, anywhere in it. Walked: the first spot is where a boot sinks most, and the
    boot feels each cell with an error of its own: 0.5 of ln(CBR) for a good boot, 1.0 for a poor one. The poor one
    is printed.
Rule
    A class counts at its weak edge (or in its middle, the owner's setting); a number counts with the allowance
    times itself, never below the weak edge of its class; walked, as measured. The weakest spot designs the area;
    the owner may ask for the lower quartile, from four measured spots and at most 1.25 times the weakest.
Score
    The share of driveways where more than a quarter of the cells is weaker than the design CBR.

Sources of the errors, by how far they were read:
    class: Quarterly J. of Engineering Geology 28(4), 1995, p. 381: field descriptions of consistency agree poorly
    with measured strength, errors of one class are common, of two rare [abstract read]. Pocket penetrometer and
    hand vane: Caltrans Trenching and Shoring Manual, Table 3-4, "fair" where the field vane is "very good"
    [digitized]; TxDOT Geotechnical Manual, "at best a crude instrument" [read]; UFC 3-220-20 ch. 7, su from a vane
    7.5 to 15 %, from a cone resistance 29 to 35 %, variances add [digitized]; Phoon and Kulhawy 1999, field vane 10
    to 20 % [memory]. Cone and CBR: Smith and Pratt, Australian Road Research 13(4), 1983: at one location in-situ
    CBR varies by about 60 %, the cone by about 40 %, the ground's own spread included [abstract read]; ASTM D6951,
    repeatability below 20 % [memory]. Ground: JCSS Probabilistic Model Code 3.7, su 10 to 40 %, scale of
    fluctuation 40 to 200 m [read]; a log-normal CBR, Look, Australian Geomechanics [abstract read]; a CBR varies by
    17 to 58 % (Lee et al. 1983) [memory]. The patch and the error of the boot are own assumptions.

Honest doubts:
    1. A common bias beats everything: all readings 1.25 times too high make three spots 1 in 3 to 1 in 4 instead of
       1 in 6, 1.5 times too high 2 in 5. The chances hold if the readings are right for this soil and season.
    2. It is not the chance of a failure: the depth methods have margins of their own.
    3. The kinds of ground weigh equally; on the most even one three spots give some 14 %, on the least even one 19
       %.
    4. Errors are independent from spot to spot but for the error of the site; layers, settling fill and season are
       outside.
    5. Spots are tested by one kind of test; an area with both kinds takes the worse column.
    6. Driveways whose design CBR comes out below 0.4 get no base from basecalc and should be left out. There are
       many here, because a patch makes soft ground very soft: without them three measured spots give 20 instead of
       16 %, walked 25 instead of 19 %. On firmer ground there are none, and the printed chances hold.
    7. A class is counted here from its weak edge up to that of hard, 6.4; a very soft one counts as nothing.
"""

import sys
from collections.abc import Iterator
from typing import Final

import numpy as np
from numpy.typing import NDArray

from basecalc.core.published import table

Array = NDArray[np.float64]

CELLS: Final = 40
GROUNDS: Final = (0.3, 0.5, 0.8, "patch")
SPOTS: Final = tuple(range(1, 9))
ALLOWANCES: Final = (0.5, 0.6, 0.7, 0.8, 0.9, 1.0)
GOOD_BOOT, POOR_BOOT = 0.5, 1.0
LEAST, HARD = 0.4, 6.4  # weak edges of soft and of hard: bands double in between
SEED: Final = 20260
WEAKER = CELLS // 4  # more than a quarter of the cells: the next one in order is weaker, too


def driveways(rng: np.random.Generator, ground: float | str, count: int) -> Array:
    """Return ln(CBR) of every cell of so many driveways."""
    normal, step = rng.standard_normal((count, CELLS)), np.exp(-4 / CELLS)
    for cell in range(1, CELLS):
        normal[:, cell] = step * normal[:, cell - 1] + np.sqrt(1 - step**2) * normal[:, cell]
    normal = (normal - normal.mean(1, keepdims=True)) / normal.std(1, keepdims=True)
    spread = 0.3 if isinstance(ground, str) else ground
    cells = np.sqrt(np.log1p(spread**2)) * normal
    if ground == "patch":
        soft = (np.arange(CELLS) - rng.integers(0, CELLS, (count, 1))) % CELLS < CELLS // 5
        cells = cells - soft * rng.uniform(np.log(3), np.log(8), (count, 1))
    return np.asarray(cells + rng.uniform(np.log(0.8), np.log(3.2), (count, 1)))


def places(rng: np.random.Generator, cells: Array, spots: int, boot: float | None) -> NDArray[np.int64]:
    """Return the cell of each spot; with a boot the first is where it sinks most, felt with that error."""
    count, ends = len(cells), np.linspace(0, CELLS, spots + 1).astype(int)
    at = np.stack([rng.integers(ends[one], ends[one + 1], count) for one in range(spots)], 1)
    if boot is not None:
        at[:, 0] = (cells + boot * rng.standard_normal(cells.shape)).argmin(1)
    return at


def readings(rng: np.random.Generator, cells: Array, at: NDArray[np.int64], test: str) -> Array:
    """Return the CBR that a test reads at each spot."""
    truth = np.take_along_axis(cells, at, 1)
    row = table("test_scatter").exact(test)
    site = float(row["site"]) * rng.standard_normal((len(cells), 1))
    return np.asarray(np.exp(truth + site + float(row["reading"]) * rng.standard_normal(truth.shape)))


def weak_edges(cbr: Array) -> Array:
    """Return the weak edge of the class that a CBR falls in; 0 for very soft."""
    edges = np.minimum(LEAST * 2.0 ** np.floor(np.log2(cbr / LEAST)), HARD)
    return np.where(cbr < LEAST, 0.0, edges)


def designs(cbr: Array, test: str) -> dict[str, Array]:
    """Return the CBR designed for by each column of the table."""
    edges = weak_edges(cbr)
    if test == "class":
        middles = np.where(edges < HARD, edges * 2**0.5, edges)
        return {"class_weak": edges.min(1), "class_middle": middles.min(1)}
    found = {}
    for share in ALLOWANCES:
        counted = np.maximum(edges, share * cbr)
        found[f"at_{100 * share:.0f}"] = counted.min(1)
        found[f"quartile_at_{100 * share:.0f}"] = capped_quartile(counted)
    return found


def capped_quartile(counted: Array) -> Array:
    """Return the (n + 1) quartile of four spots or more, at most 1.25 times the weakest; of fewer the weakest."""
    if counted.shape[1] < 4:
        return np.asarray(counted.min(1))
    quartile = np.quantile(counted, 0.25, axis=1, method="weibull")
    return np.minimum(quartile, 1.25 * counted.min(1))


def chances(count: int, boot: float | None, seed: int = SEED) -> Iterator[tuple[int, dict[str, float]]]:
    """Yield for each number of spots the chance [%] of each column of the table, over all grounds and tests."""
    rng = np.random.default_rng(seed)
    grounds = [driveways(rng, ground, count) for ground in GROUNDS]
    weaker = [np.exp(np.partition(cells, WEAKER, axis=1)[:, WEAKER]) for cells in grounds]
    for spots in SPOTS:
        hits: dict[str, list[Array]] = {}
        for cells, quarter in zip(grounds, weaker, strict=True):
            at = places(rng, cells, spots, boot)
            for test in [str(row["test"]) for row in table("test_scatter").rows]:
                for column, design in designs(readings(rng, cells, at, test), test).items():
                    hits.setdefault(column, []).append(quarter < design)
        yield spots, {column: 100 * float(np.mean([hit.mean() for hit in found])) for column, found in hits.items()}


def rows(count: int, seed: int = SEED) -> list[dict[str, float]]:
    """Return the rows of the table: chances [%] anywhere by allowance, and walked as measured (a poor boot)."""
    walked = dict(chances(count, POOR_BOOT, seed + 1))
    return [
        {"spots": spots, **found, "class_weak_walked": walked[spots]["class_weak"],
         "class_middle_walked": walked[spots]["class_middle"], "walked": walked[spots]["at_100"],
         "quartile_walked": walked[spots]["quartile_at_100"]}
        for spots, found in chances(count, None, seed)
    ]  # fmt: skip


def main(count: int) -> None:
    """Print the rows as the data file has them, and a good boot beside the poor one."""
    good = dict(chances(count, GOOD_BOOT, SEED + 2))
    for row in rows(count):
        print("\n[[rows]]")
        for column, value in row.items():
            print(f"{column} = {value:.0f}" if column == "spots" else f"{column} = {value:.1f}")
        print(f"# with a good boot, measured and walked: {good[int(row['spots'])]['at_100']:.1f}")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 60000)
