"""What a quote costs: against openpyxl writing the same cells as constants, with two workers, and in memory.

Run by hand: ``python tests/bench/bench_quote.py [JOBS]``. Prints ratios measured in turn in one run; asserts nothing.
A single quote is measured in processor time, so that other work on the machine counts little.
"""

import re
import resource
import subprocess
import sys
import time
from io import BytesIO
from pathlib import Path
from tempfile import TemporaryDirectory

from openpyxl import Workbook, load_workbook

from basecalc.demo import write_demo
from basecalc.estimating.read_job import load_job
from basecalc.pricing.prices import load_prices
from basecalc.pricing.quote import quote
from basecalc.render.save import write_quote

_MEMORY = """
import resource, sys
from pathlib import Path
from basecalc.runs import job_files, quote_files
jobs, prices, out = map(Path, sys.argv[1:])
for done, _ in enumerate(quote_files(job_files([jobs]), prices, out), 1):
    if done in (20, 100) or done % 500 == 0:
        print(done, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024)
"""


def constants(content: bytes) -> list[tuple]:
    """Return every cell of a workbook as value and look, for another one to be written from."""
    book = load_workbook(BytesIO(content), data_only=True)
    return [
        (sheet.title, [(c.row, c.column, c.value, c) for row in sheet.iter_rows() for c in row if c.has_style])
        for sheet in book.worksheets
    ]


def write_constants(sheets: list[tuple], path: Path, *, looks: bool) -> None:
    """Write the cells with openpyxl alone."""
    book = Workbook()
    book.remove(book.active)
    if looks:  # the quickest way there is: the tables of looks as they are, and each cell its place in them
        old = sheets[0][1][0][3].parent.parent
        for table in ("_fonts", "_fills", "_borders", "_alignments", "_protections", "_number_formats", "_cell_styles"):
            setattr(book, table, getattr(old, table))
    for title, cells in sheets:
        sheet = book.create_sheet(title)
        for row, column, value, cell in cells:
            made = sheet.cell(row, column, value)
            if looks:
                made._style = cell._style
    book.save(path)


def against_openpyxl(folder: Path) -> None:
    """Print a quote, from job file to three workbooks, against the same cells written as constants."""
    files = write_demo(folder / "demo")
    book = load_prices(files.prices)
    best = {"quote": 1e9, "plain": 1e9, "looks": 1e9}
    made = write_quote(quote(load_job(files.jobs[2]), book), folder / "first")
    sheets = [constants(path.read_bytes()) for path in (made.client, made.office, made.crew)]
    for turn in range(7):
        start = time.process_time()
        write_quote(quote(load_job(files.jobs[2]), book), folder / "quotes")
        best["quote"] = min(best["quote"], time.process_time() - start)
        for key in ("plain", "looks"):
            start = time.process_time()
            for place, cells in enumerate(sheets):
                write_constants(cells, folder / f"{key}-{place}-{turn}.xlsx", looks=key == "looks")
            best[key] = min(best[key], time.process_time() - start)
    cells = sum(len(found) for book_ in sheets for _, found in book_)
    print(f"a quote, {cells} cells in three workbooks: {best['quote'] * 1e3:.0f} ms")
    for key, words in (("looks", "values and looks"), ("plain", "values alone")):
        print(f"  openpyxl writing their {words}: {best[key] * 1e3:.0f} ms, ratio {best['quote'] / best[key]:.2f}")


def many(folder: Path, count: int) -> tuple[Path, Path]:
    """Write so many jobs, and return their folder and the price workbook."""
    files = write_demo(folder / "many")
    jobs = folder / "jobs"
    jobs.mkdir()
    for place in range(count):
        text = files.jobs[place % 3].read_text("utf-8")
        (jobs / f"{place:04}.toml").write_text(
            re.sub(r'(?m)^number = ".*"', f'number = "M-{place:04}"', text, count=1), "utf-8"
        )
    return jobs, files.prices


def with_workers(folder: Path, jobs: Path, prices: Path) -> None:
    """Print how much faster two workers are than one."""
    took = {}
    for workers in (1, 2):
        start = time.perf_counter()
        subprocess.run(
            [sys.executable, "-m", "basecalc", "quote", jobs, "--prices", prices, "--out", folder / f"out{workers}",
             "--workers", str(workers)], check=True, capture_output=True,
        )  # fmt: skip
        took[workers] = time.perf_counter() - start
    count = len(list(jobs.iterdir()))
    print(f"{count} jobs: one worker {took[1]:.1f} s, two {took[2]:.1f} s, ratio {took[1] / took[2]:.2f}")


def memory(folder: Path, jobs: Path, prices: Path) -> None:
    """Print the most memory that one process has held after so many jobs."""
    told = subprocess.run(
        [sys.executable, "-c", _MEMORY, jobs, prices, folder / "memory"], check=True, capture_output=True, text=True
    ).stdout
    print("most memory after so many jobs, MB: " + ", ".join(" ".join(line.split()) for line in told.splitlines()))


def main() -> None:
    """Print all of it."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 200
    with TemporaryDirectory() as name:
        folder = Path(name)
        against_openpyxl(folder)
        jobs, prices = many(folder, count)
        if count <= 200:
            with_workers(folder, jobs, prices)
        memory(folder, jobs, prices)
    print(f"this process itself: {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024} MB")


if __name__ == "__main__":
    main()
