"""How long a worksheet function takes: a cell by itself, a row of a column, and a cell through the real xlwings,
against its conversions alone.

Run it by hand: ``python tests/bench/bench_worksheet.py``.
"""

import subprocess
import sys
from pathlib import Path
from timeit import repeat
from typing import Any

from basecalc.formulas.functions import FUNCTIONS

CASES: dict[str, tuple[Any, ...]] = {
    "STRENGTH_CLASS": ("pocket", 0.3),
    "BEARING_RATIO": ("cone", 40.0, "clay"),
    "SITE_STRENGTH": ([["stiff"], [2.5], [None], ["medium"]],),
    "BASE_DEPTH": (1.2, "light", "geogrid", 0.32),
    "BASE_DEPTH_REASON": (1.2, "light", "geogrid", 0.32),
    "EXCAVATION_VOLUME": (800.0, 8.0, 120.0, 8.0, 4.0),
    "LOOSE_VOLUME": (100.0, "clay"),
    "AGGREGATE_TONS": (19.75,),
    "TRUCKLOADS": (36.5, 14.0, 24.8, 14.0),
    "BASE_LIFTS": (14.0,),
    "ROLLS": (100.0, 20.0, 100.0, 13.1),
}
ROWS = 1000


def start_up() -> float:
    """Return the seconds that a fresh process takes to import the functions, beyond starting Python."""

    def seconds(code: str) -> float:
        return min(repeat(lambda: subprocess.run([sys.executable, "-c", code], check=True), number=1, repeat=3))

    return seconds("import basecalc.worksheet") - seconds("pass")


def main() -> None:
    """Print the table."""
    sys.path.insert(0, str(Path(__file__).parent.parent))
    from com_host import ExcelHost
    from com_stubs import ComRange

    heads = ("a cell", "in a column", "in Excel", "alone", "ratio")
    print(f"{'microseconds':20}" + "".join(f"{head:>14}" for head in heads))
    with ExcelHost() as excel:
        for function in FUNCTIONS:
            cells = CASES[function.name]
            alone = min(repeat(lambda f=function, c=cells: f(*c), number=10, repeat=30)) / 10 * 1e6
            column = [[cells[0] * (1 + row / 1e6) if isinstance(cells[0], float) else cells[0]] for row in range(ROWS)]
            if function.name == "SITE_STRENGTH":
                column = cells[0]
            seconds = min(repeat(lambda f=function, c=cells, k=column: f(k, *c[1:]), number=1, repeat=5))
            in_column = seconds / len(column) * 1e6
            sent = tuple(ComRange(tuple(map(tuple, c))) if isinstance(c, list) else c for c in cells)
            in_excel = excel.microseconds(function.name, sent)
            bare = excel.microseconds_alone(function.name, sent)
            shown = (f"{one:14.0f}" for one in (alone, in_column, in_excel, bare))
            print(f"{function.name:20}" + "".join(shown) + f"{in_excel / bare:14.2f}")
    print(f"import basecalc.worksheet: {start_up():.2f} s")


if __name__ == "__main__":
    main()
