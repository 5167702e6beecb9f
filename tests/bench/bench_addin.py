"""How long a worksheet function takes inside LibreOffice Calc: microseconds a cell when a sheet is calculated anew.

Run it by hand: ``python tests/bench/bench_addin.py``. The numbers of an example differ from row to row, so that nothing
is merely remembered; a sheet of native formulas stands beside it.
"""

import sys
import tempfile
import time
from pathlib import Path
from typing import Any

ROWS = 1000
NATIVE = "=ROUND(D1*1.254;2)+MAX(D1;6)"


def main() -> None:
    """Print the table."""
    sys.path.insert(0, str(Path(__file__).parent.parent))
    from addin_examples import EXAMPLES
    from libreoffice import Calc

    from basecalc.addin.build import build_addin

    with tempfile.TemporaryDirectory() as scratch:
        place = Path(scratch)
        start = time.perf_counter()
        addin = build_addin(place / "basecalc.oxt")
        print(f"add-in built in {time.perf_counter() - start:.2f} s, {addin.stat().st_size / 1e6:.2f} MB")
        start = time.perf_counter()
        with Calc(place, addin) as calc:
            print(f"LibreOffice in a fresh profile, the add-in installed: {time.perf_counter() - start:.1f} s")
            native = _microseconds(calc, "", ())
            print(f"\n{'native formula':22}{native:8.1f} us a cell")
            for name, given in EXAMPLES.items():
                taken = _microseconds(calc, name, given)
                print(f"{name:22}{taken:8.1f} us a cell{taken / native:8.0f} times native")


def _microseconds(calc: Any, name: str, given: tuple[Any, ...]) -> float:
    """Return the best of three recalculations of a column of calls, per cell."""
    from openpyxl.utils import get_column_letter

    cells: list[tuple[str, str, Any]] = []
    arguments: list[str] = []
    column = 4
    varied = next((place for place, cell in enumerate(given) if isinstance(cell, float) and cell), None)
    for place, cell in enumerate(given):
        block = cell if isinstance(cell, tuple) else ((cell,),)
        if cell is None:
            arguments.append("")
            continue
        first, last = get_column_letter(column), get_column_letter(column + len(block[0]) - 1)
        column += len(block[0])
        if place == varied:
            arguments.append(f"{first}{{row}}")
            cells += [("Sheet1", f"{first}{row}", cell * (1 + row / 1e6)) for row in range(1, ROWS + 1)]
            continue
        arguments.append(f"${first}$1:${last}${len(block)}")
        cells += [
            ("Sheet1", f"{get_column_letter(column - len(block[0]) + x)}{1 + y}", value)
            for y, row in enumerate(block)
            for x, value in enumerate(row)
            if value != ""
        ]
    if not name:
        cells += [("Sheet1", f"D{row}", 10 + row / 7) for row in range(1, ROWS + 1)]
    formula = f"=BASECALC.{name}({';'.join(arguments)})" if name else NATIVE.replace("D1", "D{row}")
    cells += [("Sheet1", f"A{row}", formula.replace("{row}", str(row))) for row in range(1, ROWS + 1)]
    calc.open()
    calc.write(cells)
    best = min(calc.ask("seconds", 3))
    shown = [row[0] for row in calc.block("Sheet1", f"A1:A{ROWS}")]
    assert not [cell for cell in shown if str(cell).startswith(("#", "Err"))], shown[:3]
    return float(best) / ROWS * 1e6


if __name__ == "__main__":
    main()
