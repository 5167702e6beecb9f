"""How often weaker evidence about the ground makes a base thinner, on random sites: it must be never.

Run by hand: ``python tests/bench/caution_sites.py [SITES] [SEED]``, 200,000 sites if left out. Prints for each property
how many cases were tried and how many went wrong, by design CBR and by base depth; exits 1 on any.
"""

import sys
from collections import Counter, defaultdict
from pathlib import Path
from random import Random

import numpy as np

sys.path.insert(0, str(Path(__file__).parent.parent))

from caution_sites import cases, no_stronger, told

from basecalc import depth_column, traffic

SHOWN = 5  # of the cases that went wrong
BATCH = 20_000


def thinner(pairs: list[tuple[float, float]]) -> int:
    """Return how many bases are thinner than allowed, of both kinds of traffic; no base at all is the thickest."""
    both = np.array([pair for pair in pairs if min(pair) > 0])
    if not both.size:
        return 0
    count = 0
    for level in ("light", "delivery"):
        most, made = (depth_column(np.minimum(column, 100.0), traffic(level)) for column in both.T)
        count += int((made < most - 1e-9).sum())
    return count


def main(sites: int, seed: int) -> int:
    """Try so many sites and return 1 where anything went wrong."""
    tried: Counter[str] = Counter()
    wrong: Counter[str] = Counter()
    thin: Counter[str] = Counter()
    pairs: dict[str, list[tuple[float, float]]] = defaultdict(list)
    for number in range(sites):
        for case in cases(Random(seed * 1_000_003 + number)):
            name, most, cbr = case
            tried[name] += 1
            if not no_stronger(most, cbr):
                wrong[name] += 1
                if wrong.total() <= SHOWN:
                    print(f"site {number}: {told(case)}")
            pairs[name].append((most, cbr))
        if number % BATCH == BATCH - 1 or number == sites - 1:
            for name, some in pairs.items():
                thin[name] += thinner(some)
            pairs.clear()
    print(f"{sites:,} sites, seed {seed}")
    print(f"{'property':<32}{'cases':>10}{'design CBR rises':>18}{'base thinner':>14}")
    for name, count in tried.items():
        print(f"{name:<32}{count:>10,}{wrong[name]:>18,}{thin[name]:>14,}")
    return int(bool(wrong.total() or thin.total()))


if __name__ == "__main__":
    given = [int(word.replace(",", "")) for word in sys.argv[1:]]
    sys.exit(main(*(given + [200_000, 2026][len(given) :])))
