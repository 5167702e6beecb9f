"""Random jobs typed on the entry sheet of the estimating workbook, held to the cent against the library.

``python tests/bench/estimating_jobs.py ironcalc 0 200`` takes jobs 0 to 199, US and metric by turns, in IronCalc;
``office 0 200`` in LibreOffice; ``hyperformula 0 50 FOLDER`` in HyperFormula, where FOLDER has its node_modules.
``thresholds`` holds the thresholds against the depth on 5,000 CBRs a column; ``speed`` times LibreOffice with 20 areas.
"""

import json
import os
import re
import subprocess
import sys
from collections.abc import Iterator, Mapping
from contextlib import ExitStack
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory
from typing import Any

sys.path.insert(0, str(Path(__file__).parent.parent))

import random_ground
import test_random_jobs as random_jobs
from estimating_kit import Sheets, demo_prices
from libreoffice import Calc
from openpyxl import load_workbook
from test_estimating_workbook import different, lines_by_code, typed

import basecalc
from basecalc import carry_over, write_template
from basecalc.design.depth import Site, base_depth
from basecalc.estimating.depths import thresholds

OWNERS = 3


class OfficeSheets(Sheets):
    """A workbook in LibreOffice instead."""

    def __init__(self, path: Path, calc: Calc) -> None:
        super().__init__(path)
        self.calc = calc
        calc.open(path)

    def type(self, cells: Mapping[str, str], sheet: str = "Entry") -> None:
        self.calc.write([(sheet, cell, text or None) for cell, text in cells.items()])
        self.calc.ask("calculate")
        self.typed |= cells

    def cell(self, sheet: str, cell: str) -> Any:
        return self.calc.read([(sheet, cell)])[0]


HYPER = """
const {HyperFormula} = require('hyperformula'), lines = require('readline').createInterface({input: process.stdin});
let book;
lines.on('line', line => {
  const [what, given] = JSON.parse(line);
  if (what === 'open') {
    book = HyperFormula.buildFromSheets(given, {licenseKey: 'gpl-v3', useArrayArithmetic: true, smartRounding: false,
      precisionEpsilon: 1e-15, maxRows: 20000, matchWholeCell: true, useWildcards: true});
    console.log('1');
  } else if (what === 'type') {
    book.batch(() => given.forEach(([sheet, row, col, text]) => book.setCellContents({sheet, row, col}, [[text]])));
    console.log('1');
  } else {
    const value = book.getCellValue({sheet: given[0], row: given[1], col: given[2]});
    console.log(JSON.stringify(value && value.type ? value.value : value));
  }
});
"""


class HyperSheets(Sheets):
    """A workbook in HyperFormula instead, given as rows of cells."""

    def __init__(self, path: Path, folder: Path) -> None:
        super().__init__(path)
        self.process = subprocess.Popen(
            ["node", "-e", HYPER], cwd=folder, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
        )
        pages = {
            page.title: [[as_typed(cell) for cell in row] for row in page.iter_rows()] for page in load_workbook(path)
        }
        self.ask("open", pages)

    def ask(self, what: str, given: Any) -> Any:
        assert self.process.stdin
        assert self.process.stdout
        self.process.stdin.write(json.dumps([what, given]) + "\n")
        self.process.stdin.flush()
        return json.loads(self.process.stdout.readline())

    def type(self, cells: Mapping[str, str], sheet: str = "Entry") -> None:
        place = self.names.index(sheet)
        at = [(place, *at_of(cell), f"'{text}" if text else None) for cell, text in cells.items()]
        self.ask("type", at)
        self.typed |= cells

    def cell(self, sheet: str, cell: str) -> Any:
        value = self.ask("read", (self.names.index(sheet), *at_of(cell)))
        return float(value) if isinstance(value, int) else value


def at_of(cell: str) -> tuple[int, int]:
    from openpyxl.utils import coordinate_to_tuple

    row, column = coordinate_to_tuple(cell)
    return row - 1, column - 1


def as_typed(cell: Any) -> Any:
    """Return a cell as HyperFormula takes it: a text behind an apostrophe, so that no number or date comes of it."""
    value = cell.value
    if isinstance(value, str):
        own = re.sub(r"\b(TRUE|FALSE)\b", r"\1()", value.replace('""""', r'"\""'))  # as it writes these two
        return own if cell.data_type == "f" else f"'{value}"
    return value if isinstance(value, int | float | None) else str(value)


def drawn(first: int, last: int) -> Iterator[tuple[tuple[int, str], str, int, Random, dict[str, Any]]]:
    """Yield jobs with the owner and the edition they are for, in that order."""
    found = []
    for number in range(first, last):
        for kind, made in (("job", random_jobs.job_data), ("read", random_ground.read_job)):
            rng = Random(f"{kind} {number}")
            data = made(rng, number)
            found.append(((number % OWNERS, data["job"]["units"]), kind, number, rng, data))
    yield from sorted(found, key=lambda one: one[0])


def jobs(engine: str, first: int, last: int, *folders: str) -> None:
    """Print what differs, and how many jobs were the same."""
    seen = {"same": 0, "no total on either": 0, "different": 0}
    sheets, book, open_now = None, None, None
    with TemporaryDirectory() as scratch, ExitStack() as stack:
        calc = stack.enter_context(Calc(Path(scratch))) if engine == "office" else None
        for key, kind, number, rng, data in drawn(first, last):
            if key != open_now:
                given, book = random_jobs.price_book(key[0])
                name = f"{key[0]}-{key[1]}"
                old = basecalc.write_price_workbook(Path(scratch, f"{name}-prices.xlsx"), given)
                path = write_template(Path(scratch, f"{name}.xlsx"), carry_over(old, key[1]).records, units=key[1])
                sheets = (
                    OfficeSheets(path, calc) if calc else Sheets(path) if engine == "ironcalc"
                    else HyperSheets(path, Path(folders[0]))
                )  # fmt: skip
                open_now = key
            data["line"] = [*data.get("line", ()), *lines_by_code(rng, book)]
            sheets.job(typed(data))
            apart = different(sheets, data, book)
            total = isinstance(sheets.totals()[0], float)
            seen["different" if apart else "same" if total else "no total on either"] += 1
            if apart:
                print(kind, number, apart)
    print(engine, seen)


def processor_s(process: int) -> float:
    """Return the processor time of a process so far; the clock says more where others work beside it (Linux)."""
    fields = Path(f"/proc/{process}/stat").read_text("utf-8").rsplit(")", 1)[1].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def speed() -> None:
    """Print how long LibreOffice takes to work out 20 areas and 40 readings anew."""
    areas = [{"name": f"Area {n}", "shape": "rectangle", "length": 30 + n, "width": 12} for n in range(20)]
    spots = [
        {"name": f"Spot {n}", "area": f"Area {n // 2}", "readings": [{"test": "walk", "reading": 0.75 + n / 50}]}
        for n in range(40)
    ]
    job = {"number": "S-1", "client": "Any Client", "site": "1 Any Lane", "soil": "clay"}
    with TemporaryDirectory() as scratch:
        path = write_template(Path(scratch, "book.xlsx"), demo_prices(), job={"job": job, "area": areas, "spot": spots})
        with Calc(Path(scratch)) as calc:
            calc.open(path)
            for what, given in (("seconds", [5]), ("typing", ["Entry", "D9", ["31", "32", "33", "34", "35"]])):
                before = processor_s(calc.ask("pid"))
                taken = [round(each, 3) for each in calc.ask(what, *given)]
                each = (processor_s(calc.ask("pid")) - before) / 5
                print(f"{what}: {taken} s by the clock, {each:.3f} s of processor time each")
            print("total", calc.read([("", "TotalAsOffered")]))


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
    what, *rest = sys.argv[1:]
    if what in ("thresholds", "speed"):
        {"thresholds": steps, "speed": speed}[what]()
    else:
        jobs(what, int(rest[0]), int(rest[1]), *rest[2:])
