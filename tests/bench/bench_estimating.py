"""How long the estimating workbook recalculates in LibreOffice, against the same workbook without our functions.

Run it by hand: ``python tests/bench/bench_estimating.py [AREAS]``; a thousand areas if no number is given, one reading
each. In the second workbook each formula with a call is a native one that gives the value stored with it.
"""

import sys
import tempfile
import time
from pathlib import Path
from typing import Any


def job(areas: int) -> dict[str, Any]:
    """Return a job with so many areas, each measured once."""
    return {
        "job": {
            "number": "LF-1000", "client": "Ida Farrow", "site": "4 Rushes Lane, Brackwater", "traffic": "light",
            "season": "moist", "soil": "clay",
        },
        "area": [
            {"name": f"Area {at}", "shape": "rectangle", "length": 40 + at % 50, "width": 12 + at % 7}
            for at in range(areas)
        ],
        "spot": [
            {"name": f"spot {at}", "area": f"Area {at}", "readings": [{"test": "cbr", "reading": 0.5 + at % 60 / 10}]}
            for at in range(areas)
        ],
    }  # fmt: skip


def without_calls(path: Path, into: Path) -> int:
    """Write the workbook again with native formulas only; return how many calls were replaced."""
    import openpyxl

    book, stored = openpyxl.load_workbook(path), openpyxl.load_workbook(path, data_only=True)
    replaced = 0
    for sheet in book:
        for row in sheet.iter_rows():
            for cell in row:
                if cell.data_type == "f" and "BASECALC." in str(cell.value):
                    value = stored[sheet.title][cell.coordinate].value
                    shown = value if isinstance(value, int | float) else '"' + str(value or "").replace('"', '""') + '"'
                    cell.value = f"=IF(COUNTA($A{cell.row}:$X{cell.row})=0,{shown},{shown})"
                    replaced += 1
    book.save(into)
    return replaced


def main() -> None:
    """Print both times and their ratio."""
    sys.path.insert(0, str(Path(__file__).parent.parent))
    from estimating_kit import demo_prices
    from libreoffice import Calc

    from basecalc.addin.build import build_addin
    from basecalc.estimating.template import write_template

    areas = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    with tempfile.TemporaryDirectory() as scratch:
        place = Path(scratch)
        start = time.perf_counter()
        made = write_template(
            place / "calls.xlsx", demo_prices(), host="calc", job=job(areas), area_rows=areas, reading_rows=areas
        )
        print(f"{areas} areas, {areas} readings: workbook written in {time.perf_counter() - start:.1f} s")
        calls = without_calls(made, place / "native.xlsx")
        with Calc(place, build_addin(place / "basecalc.oxt")) as calc:
            taken = {}
            for name in ("native", "calls"):
                calc.ask("open", str(place / f"{name}.xlsx"))
                taken[name] = min(calc.ask("seconds", 3, seconds=1800))
                print(f"{name:8}{taken[name]:8.2f} s, total {calc.read([('', 'QuotedTotal')])[0]}")
        ratio = taken["calls"] / taken["native"]
        each = (taken["calls"] - taken["native"]) / calls * 1e6
        print(f"{calls} calls: {ratio:.1f} times as long as native formulas only, {each:.0f} us a call")


if __name__ == "__main__":
    main()
