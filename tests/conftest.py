"""What several test files share: files made once for the whole run, the command line, the add-in, a LibreOffice."""

import fcntl
import hashlib
import os
import shutil
from collections.abc import Callable, Iterator
from contextlib import redirect_stdout, suppress
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from estimating_kit import demo_job, demo_prices
from hypothesis import settings
from libreoffice import Calc

from basecalc import write_price_workbook, write_template
from basecalc.addin.build import build_addin
from basecalc.cli import main
from basecalc.demo import DemoFiles

# A busy machine is not a fault. A quarter of the usual examples, drawn anew in every run, are enough; the long run:
# EXAMPLES=1000 pytest
settings.register_profile("house", deadline=None, max_examples=int(os.environ.get("EXAMPLES", "25")))
settings.load_profile("house")

collect_ignore = ["calc_session.py"]  # runs in the system's Python, which has the bridge to LibreOffice

Once = Callable[[str, Callable[[Path], Any]], Path]


def _fingerprint(path: Path) -> str:
    parts = [path, *sorted(path.rglob("*"))]
    return hashlib.sha256(b"".join(bytes(part) + part.read_bytes() for part in parts if part.is_file())).hexdigest()


@pytest.fixture(scope="session")
def once(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Once]:
    """Give a file or folder by its name, made by the first test of the whole run that asks for it, in any worker.

    It is only to be read: the run ends in an error where anything of it is not as it was made.
    """
    base = tmp_path_factory.getbasetemp()
    root = (base.parent if base.name.startswith("popen-") else base) / "once"
    root.mkdir(exist_ok=True)
    given: dict[Path, str] = {}

    def give(name: str, make: Callable[[Path], Any]) -> Path:
        path = root / name
        if path not in given:
            with (root / f"{name}.lock").open("a+") as lock:
                fcntl.flock(lock, fcntl.LOCK_EX)  # let go when closed, whatever happens
                lock.seek(0)
                if not (fingerprint := lock.read()):
                    make(path)
                    lock.write(fingerprint := _fingerprint(path))
            given[path] = fingerprint
        return path

    yield give
    assert [path.name for path, fingerprint in given.items() if _fingerprint(path) != fingerprint] == []


def _demo(folder: Path) -> DemoFiles:
    jobs = tuple(sorted((folder / "jobs").iterdir()))
    return DemoFiles(folder / "prices.xlsx", jobs, *folder.glob("estimate-*.xlsx"), folder / "quotes")


@pytest.fixture(scope="session")
def demo(once: Once) -> DemoFiles:
    """Return what the command `demo` writes, and prints; only to be read (`demo_copy` may be changed)."""

    def make(folder: Path) -> None:
        with redirect_stdout(StringIO()) as printed, suppress(SystemExit):
            main(["demo", str(folder)])
        (folder / "printed.txt").write_text(printed.getvalue(), "utf-8")

    return _demo(once("demo", make))


@pytest.fixture
def demo_copy(demo: DemoFiles, tmp_path: Path) -> DemoFiles:
    """Return a copy of the demo with its quotes, for one test to change."""
    return _demo(Path(shutil.copytree(demo.prices.parent, tmp_path / "demo")))


@pytest.fixture(scope="session")
def prices(once: Once) -> Path:
    """Return the demo's price workbook alone, which takes no time; only to be read."""
    return once("prices.xlsx", lambda path: write_price_workbook(path, demo_prices()))


@pytest.fixture(scope="session")
def template(once: Once) -> Callable[..., Path]:
    """Give an estimating workbook, only to be read: blank, or of the demo's company, with one of its jobs by name."""

    def give(job: str = "", *, ending: str = "xlsx", units: str = "us", blank: bool = False) -> Path:
        given = None if blank else demo_prices()
        return once(
            f"template-{job or ('blank' if blank else 'prices')}-{units}.{ending}",
            lambda path: write_template(path, given, units=units, job=demo_job(job) if job else None),
        )

    return give


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]) -> Callable[..., tuple[int, str, str]]:
    """Give the command line in this process: its words in; exit code, standard output and standard error out."""

    def call(*words: object) -> tuple[int, str, str]:
        with pytest.raises(SystemExit) as stop:
            main([str(word) for word in words])
        printed = capsys.readouterr()
        return int(stop.value.code or 0), printed.out, printed.err

    return call


@pytest.fixture(scope="package")
def addin(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the add-in's file."""
    return build_addin(tmp_path_factory.mktemp("addin") / "basecalc.oxt")


@pytest.fixture(scope="package")
def calc(addin: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Calc]:
    """Give a running LibreOffice with the add-in in a fresh profile; open a workbook in it."""
    with Calc(tmp_path_factory.mktemp("calc"), addin) as running:
        yield running
