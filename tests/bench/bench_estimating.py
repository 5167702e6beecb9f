"""How long the estimating workbook recalculates in LibreOffice, against the same workbook without our functions.

Run it by hand: ``python tests/bench/bench_estimating.py [AREAS ...]``; 20, 100, 300 and 1,000 areas if none are given,
one reading each. In the second workbook each formula with a call is a native one that gives the value stored with it;
both are recalculated whole (Ctrl+Shift+F9), one after the other in one LibreOffice. What is printed is the processor
time that LibreOffice took (Linux only), so that other work on the machine counts little: the mean of many
recalculations; "first" is the first after opening, when nothing is remembered yet.

Milliseconds of processor time of LibreOffice 7.4, on two busy cores:

======  ===========  ==================  ==============  ============
areas   native only  with the functions  first recalc    times native
======  ===========  ==================  ==============  ============
20      8            27                  40              3.4
100     23           63                  80              2.7
300     68           138                 170             2.0
======  ===========  ==================  ==============  ============

Up to 300 areas a straight line: about 0.4 ms an area, 0.2 ms of it native. At the bottom remain some 20 ms, the calls
of the sheet Estimate that read whole tables of the owner's, once each, however many areas there are. 1,000 areas were
measured once, by the clock, on an overloaded machine, before the line of unchanged readings was remembered: 0.94 s and
4.0 s, 4.3 times. Three times is not shown there yet; measure again on a quiet machine.
"""

import os
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

SIZES = (20, 100, 300, 1000)


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
    """Write the workbook again with native formulas only; return how many calls were replaced.

    A text that is too long for a formula, the line of a call, stands in a cell of its own and is referred to.
    """
    import openpyxl

    book, stored = openpyxl.load_workbook(path), openpyxl.load_workbook(path, data_only=True)
    texts = book.create_sheet("texts")
    replaced = 0
    for sheet in book:
        for row in sheet.iter_rows():
            for cell in row:
                if cell.data_type == "f" and "BASECALC." in str(cell.value):
                    replaced += 1
                    value = stored[sheet.title][cell.coordinate].value
                    shown = value if isinstance(value, int | float) else '"' + str(value or "").replace('"', '""') + '"'
                    if len(str(shown)) > 250:
                        texts.cell(replaced, 1).value = value
                        texts.cell(replaced, 1).data_type = "s"
                        shown = f"texts!$A${replaced}"
                    cell.value = f"=IF(COUNTA($A{cell.row}:$X{cell.row})=0,{shown},{shown})"
    book.save(into)
    return replaced


def processor_seconds(pid: int) -> float:
    """Return the processor time that a process has taken so far."""
    fields = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def recalculated(calc: Any, times: int) -> float:
    """Return the processor time of one of so many recalculations."""
    pid = calc.ask("pid")
    before = processor_seconds(pid)
    calc.ask("seconds", times, seconds=1800)
    return (processor_seconds(pid) - before) / times


def main() -> None:
    """Print, for each size, both times and their ratio."""
    sys.path.insert(0, str(Path(__file__).parent.parent))
    from estimating_kit import demo_prices
    from libreoffice import Calc

    from basecalc.addin.build import build_addin
    from basecalc.estimating.template import write_template

    sizes = [int(size) for size in sys.argv[1:]] or list(SIZES)
    print("areas  native ms  with calls ms  first ms  times native  calls  us a call  written in s")
    with tempfile.TemporaryDirectory() as scratch:
        place = Path(scratch)
        with Calc(place, build_addin(place / "basecalc.oxt")) as calc:
            for areas in sizes:
                start = time.perf_counter()
                made = write_template(
                    place / f"{areas}.xlsx",
                    demo_prices(),
                    host="calc",
                    job=job(areas),
                    area_rows=areas,
                    reading_rows=areas,
                )
                written = time.perf_counter() - start
                calls = without_calls(made, place / f"{areas}-native.xlsx")
                taken, first, totals = {}, {}, {}
                for name, path in (("calls", made), ("native", place / f"{areas}-native.xlsx")):
                    calc.ask("open", str(path), seconds=600)
                    first[name] = recalculated(calc, 1)
                    taken[name] = recalculated(calc, max(5, 1500 // areas))
                    totals[name] = calc.read([("", "QuotedTotal")])[0]
                assert totals["calls"] == totals["native"], totals
                native, called = taken["native"], taken["calls"]
                each = (called - native) / calls * 1e6
                print(
                    f"{areas:5}{native * 1e3:11.0f}{called * 1e3:15.0f}{first['calls'] * 1e3:10.0f}"
                    f"{called / native:14.1f}{calls:7}{each:11.0f}{written:14.1f}",
                    flush=True,
                )


if __name__ == "__main__":
    main()
