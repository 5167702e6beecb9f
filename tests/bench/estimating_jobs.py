"""Random jobs typed on the entry sheet of the estimating workbook, held to the cent against the library.

``python tests/bench/estimating_jobs.py 0 200`` takes jobs 0 to 199, by hand and as read, US and metric by turns.
``python tests/bench/estimating_jobs.py thresholds`` holds the thresholds against the depth on 5,000 CBRs a column.
"""

import sys
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory

sys.path.insert(0, str(Path(__file__).parent.parent))

import random_ground
import test_random_jobs as random_jobs
from estimating_kit import Sheets
from test_estimating_workbook import different, lines_by_code, typed

import basecalc
from basecalc import carry_over, write_template
from basecalc.design.depth import Site, base_depth
from basecalc.estimating.depths import thresholds

OWNERS = 3


def jobs(first: int, last: int) -> None:
    """Print what differs, and how many jobs were the same."""
    found: dict[tuple[int, str], tuple[Sheets, object]] = {}
    seen = {"same": 0, "no total on either": 0, "different": 0}
    with TemporaryDirectory() as folder:
        for number in range(first, last):
            for kind, made in (("job", random_jobs.job_data), ("read", random_ground.read_job)):
                rng = Random(f"{kind} {number}")
                data = made(rng, number)
                key = (number % OWNERS, data["job"]["units"])
                if key not in found:
                    given, book = random_jobs.price_book(key[0])
                    name = f"{key[0]}-{key[1]}"
                    old = basecalc.write_price_workbook(Path(folder, f"{name}-prices.xlsx"), given)
                    path = write_template(Path(folder, f"{name}.xlsx"), carry_over(old, key[1]).records, units=key[1])
                    found[key] = (Sheets(path), book)
                sheets, book = found[key]
                data["line"] = [*data.get("line", ()), *lines_by_code(rng, book)]
                sheets.job(typed(data))
                apart = different(sheets, data, book)
                total = isinstance(sheets.totals()[0], float)
                seen["different" if apart else "same" if total else "no total on either"] += 1
                if apart:
                    print(kind, number, apart)
    print(seen)


def steps() -> None:
    """Print how many of 5,000 CBRs a column are designed deeper than needed, and any that are thinner."""
    settings = basecalc.DesignSettings()
    for name in ("light", "delivery", "heavy"):
        for grid in (basecalc.reinforcement("none"), basecalc.reinforcement("geogrid", 0.32)):
            level, chance = basecalc.traffic(name), Random(f"{name} {grid.kind}")
            rows = thresholds(settings, level, grid).rows
            deeper = thinner = 0
            for _ in range(5000):
                cbr = 0.4 * 250 ** chance.random()
                listed = max(depth for limit, depth in rows if limit >= cbr)
                made = base_depth(basecalc.strength(cbr), level, grid, settings, site=Site(fine=False, freezes=False))
                deeper += listed > made.required_m + 1e-9
                thinner += listed < made.required_m - 1e-9
            print(f"{name}, {grid.kind}: {deeper} deeper, {thinner} thinner of 5,000")


if __name__ == "__main__":
    if sys.argv[1] == "thresholds":
        steps()
    else:
        jobs(int(sys.argv[1]), int(sys.argv[2]))
