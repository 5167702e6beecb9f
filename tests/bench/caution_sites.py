"""How often weaker evidence about the ground makes a base thinner, on random sites: it must be never.

Run by hand: ``python tests/bench/caution_sites.py [SITES] [SEED]``, 20,000 sites if left out. Prints for each property
how many cases were tried and how many went wrong, by design CBR and by base depth; exits 1 on any.
"""

import sys
from collections import Counter
from functools import cache
from pathlib import Path
from random import Random

sys.path.insert(0, str(Path(__file__).parent.parent))

from caution_sites import cases, no_stronger, told

from basecalc import base_depth, traffic

SHOWN = 5  # of the cases that went wrong


@cache
def depth_m(cbr: float, level: str) -> float:
    """Return the base depth of a CBR [m]; the many spots of a site come to few different CBRs."""
    return base_depth(cbr, traffic(level)).required_m


def thinner(most: float, cbr: float) -> bool:
    """Return whether the base is thinner than allowed, with either traffic; no base at all is the thickest."""
    if min(most, cbr) <= 0:
        return False
    allowed, designed = min(most, 100.0), min(cbr, 100.0)
    return any(depth_m(designed, level) < depth_m(allowed, level) - 1e-9 for level in ("light", "delivery"))


def main(sites: int, seed: int) -> int:
    """Try so many sites and return 1 where anything went wrong."""
    tried: Counter[str] = Counter()
    wrong: Counter[str] = Counter()
    thin: Counter[str] = Counter()
    for number in range(sites):
        for case in cases(Random(seed * 1_000_003 + number)):
            name, most, cbr = case
            tried[name] += 1
            if not no_stronger(most, cbr):
                wrong[name] += 1
                if wrong.total() <= SHOWN:
                    print(f"site {number}: {told(case)}")
            thin[name] += thinner(most, cbr)
    print(f"{sites:,} sites, seed {seed}")
    print(f"{'property':<32}{'cases':>10}{'design CBR rises':>18}{'base thinner':>14}")
    for name, count in tried.items():
        print(f"{name:<32}{count:>10,}{wrong[name]:>18,}{thin[name]:>14,}")
    return int(bool(wrong.total() or thin.total()))


if __name__ == "__main__":
    given = [int(word.replace(",", "")) for word in sys.argv[1:]]
    sys.exit(main(*(given + [20_000, 2026][len(given) :])))
