"""How long the command line and the worksheet functions take to start, against the libraries they stand on.

Run by hand: ``python tests/bench/bench_start.py``. Prints processor seconds of fresh processes and their ratio, the
cases taken in turn in one run; asserts nothing.
"""

import resource
import subprocess
import sys

TIMES = 25
CASES = {
    "import click": ("-c", "import click"),
    "basecalc --version": ("-c", "import sys; sys.argv[1:] = ['--version']; from basecalc.cli import main; main()"),
    "basecalc depth soft": ("-m", "basecalc", "depth", "soft"),
    "import xlwings": ("-c", "import xlwings"),
    "import basecalc.worksheet": ("-c", "import basecalc.worksheet"),
}


def seconds(arguments: tuple[str, ...]) -> float:
    """Return the processor time [s] that one fresh process takes."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run([sys.executable, *arguments], check=True, stdout=subprocess.DEVNULL)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def main() -> None:
    """Print the table."""
    best = dict.fromkeys(CASES, 1e9)
    for _ in range(TIMES):
        for name, arguments in CASES.items():
            best[name] = min(best[name], seconds(arguments))
    for name, least in best.items():
        print(f"{name:28}{least * 1e3:6.0f} ms")
    print(f"--version against click: {best['basecalc --version'] / best['import click']:.2f}")
    print(f"depth soft against click: {best['basecalc depth soft'] / best['import click']:.2f} (goal: at most 2.5)")
    print(f"worksheet against xlwings: {best['import basecalc.worksheet'] / best['import xlwings']:.2f}")


if __name__ == "__main__":
    main()
