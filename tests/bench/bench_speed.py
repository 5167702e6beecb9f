"""How fast the command line answers and a quote is made: ratios of processor time, measured in turn in one run.

Run it by hand: ``python tests/bench/bench_speed.py [JOBS]``. Start: against ``import click``. A quote, from job file to
three workbooks: against openpyxl writing the same cells and looks as constants. Many jobs: one worker against two, on
the clock (it needs two free cores), and the most memory one process has held. Prints; asserts nothing.
"""

import re
import resource
import subprocess
import sys
import time
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from openpyxl import Workbook, load_workbook

from basecalc import load_prices, quote
from basecalc.demo import DemoFiles, write_demo

STARTS = {
    "import click": ("-c", "import click"),
    "basecalc depth soft": ("-m", "basecalc", "depth", "soft"),
}
MEMORY = """
import resource, sys
from pathlib import Path
from basecalc.runs import job_files, quote_files
jobs, prices, out = map(Path, sys.argv[1:])
for done, _ in enumerate(quote_files(job_files([jobs]), prices, out), 1):
    if done in (20, 100, 200) or done % 500 == 0:
        print(f"{done} jobs {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024} MB", end="  ")
"""


def starts() -> None:
    """Print the processor time of fresh processes."""
    best = dict.fromkeys(STARTS, 1e9)
    for _ in range(25):
        for name, arguments in STARTS.items():
            before = resource.getrusage(resource.RUSAGE_CHILDREN)
            subprocess.run([sys.executable, *arguments], check=True, stdout=subprocess.DEVNULL)
            after = resource.getrusage(resource.RUSAGE_CHILDREN)
            best[name] = min(best[name], after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime)
    click, depth = best.values()
    print(f"depth soft {depth * 1e3:.0f} ms, {depth / click:.2f} times import click (goal: at most 2.5)")


def write_constants(sheets: list[list[Any]], path: Path) -> None:
    """Write cells with openpyxl alone, the quickest way there is: its tables of looks as they are."""
    book = Workbook()
    book.remove(book.active)
    old = sheets[0][0].parent.parent
    for table in ("_fonts", "_fills", "_borders", "_alignments", "_protections", "_number_formats", "_cell_styles"):
        setattr(book, table, getattr(old, table))
    for cells in sheets:
        sheet = book.create_sheet()
        for cell in cells:
            sheet.cell(cell.row, cell.column, cell.value)._style = cell._style
    book.save(path)


def one_quote(demo: DemoFiles, folder: Path) -> None:
    """Print a quote against the same cells written as constants."""
    prices = load_prices(demo.prices)
    made = quote(demo.jobs[2], prices).save(folder / "first")
    books = [
        [[cell for row in sheet.iter_rows() for cell in row if cell.has_style] for sheet in load_workbook(path)]
        for path in (made.client, made.office, made.crew)
    ]
    ours = bare = 1e9
    for turn in range(9):
        start = time.process_time()
        quote(demo.jobs[2], prices).save(folder / "quotes")
        middle = time.process_time()
        for place, sheets in enumerate(books):
            write_constants(sheets, folder / f"{place}-{turn}.xlsx")
        ours, bare = min(ours, middle - start), min(bare, time.process_time() - middle)
    cells = sum(len(sheet) for book in books for sheet in book)
    print(f"a quote of {cells} cells {ours * 1e3:.0f} ms, {ours / bare:.2f} times openpyxl alone (goal: at most 2.5)")


def many(demo: DemoFiles, folder: Path, count: int) -> None:
    """Print many jobs with one worker and with two, and the memory that one process takes."""
    jobs = folder / "jobs"
    jobs.mkdir()
    for place in range(count):
        text = re.sub(
            r'(?m)^number = ".*"', f'number = "M-{place:04}"', demo.jobs[place % 3].read_text("utf-8"), count=1
        )
        (jobs / f"{place:04}.toml").write_text(text, "utf-8")
    took = []
    for workers in ("1", "2"):
        start = time.perf_counter()
        words = ("quote", jobs, "--prices", demo.prices, "--out", folder / f"out{workers}", "--workers", workers)
        subprocess.run([sys.executable, "-m", "basecalc", *words], check=True, stdout=subprocess.DEVNULL)
        took.append(time.perf_counter() - start)
    print(f"{count} jobs: two workers {took[0] / took[1]:.2f} times as fast as one (goal: at least 1.8)")
    subprocess.run([sys.executable, "-c", MEMORY, jobs, demo.prices, folder / "memory"], check=True)
    print()


if __name__ == "__main__":
    with TemporaryDirectory() as name:
        demo = write_demo(Path(name) / "demo")
        starts()
        one_quote(demo, Path(name))
        many(demo, Path(name), int(sys.argv[1]) if len(sys.argv) > 1 else 200)
