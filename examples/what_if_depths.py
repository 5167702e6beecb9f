"""What a job costs at other depths, and what the depth would be on other ground.

Run it:  python examples/what_if_depths.py [FOLDER]
"""

import sys
from pathlib import Path

import pandas as pd

from basecalc import depth_column, estimate, load_job, load_prices, reinforcement, take_off, traffic
from basecalc.demo import fresh_directory, write_demo

INCH = 0.0254  # m


def main(folder: Path) -> None:
    cbr = [0.4, 0.6, 0.8, 1.2, 1.6, 2.4, 3.2, 6.4]
    light = traffic("light")
    grid = reinforcement("geogrid", aperture_stability=0.32)
    ground = pd.DataFrame({"CBR, %": cbr, "stone only, in": depth_column(cbr, light)})
    ground["with geogrid, in"] = depth_column(cbr, light, grid)
    ground.iloc[:, 1:] /= INCH
    print(ground.round(1).to_string(index=False))

    demo = write_demo(folder)
    job, book = load_job(demo.jobs[1]), load_prices(demo.prices)
    name = job.areas[0].name
    rows = []
    for depth in range(8, 25, 4):
        made = estimate(take_off(job, book.company, {name: depth * INCH}, "habit", cbrs={name: 0.6}), book)
        rows.append((depth, made.takeoff.amount("base-stone"), made.takeoff.amount("dig"), made.total))
    print(f"\n{job.number}, {name}, at one depth or another:")
    table = pd.DataFrame(rows, columns=["base, in", "stone, ton", "dig, yd3", "total"])
    print(table.round({"stone, ton": 1, "dig, yd3": 1}).to_string(index=False))


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else fresh_directory(Path("example-what-if")))
