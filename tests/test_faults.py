"""Power cuts, full disks, locked folders and two runs at once: no half file, no lost revision, nothing quoted twice.

The long run, 100 kills of a run of 200 jobs:  ABUSE=20 pytest tests/test_faults.py
"""

import os
import random
import re
import resource
import signal
import subprocess
import sys
import time
import tomllib
import zipfile
from importlib.resources import files
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from abuse import STRENGTH
from trial_quote import FIRM, trial_quote

from basecalc.demo import DemoFiles, write_demo
from basecalc.errors import WorkbookError
from basecalc.runs import open_elsewhere, quote_files
from basecalc.workbook.save import is_quoted, write_quote
from basecalc.workbook.template import write_price_workbook

KILLS = 5 * STRENGTH
JOBS = min(20 * STRENGTH, 200)
POSIX = pytest.mark.skipif(os.name == "nt", reason="kill -9 and file size limits are those of Linux")


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> DemoFiles:
    return write_demo(tmp_path_factory.mktemp("faults") / "demo")


def many(demo: DemoFiles, folder: Path, count: int) -> list[str]:
    """Write so many jobs with numbers of their own into a folder, and return the numbers."""
    folder.mkdir()
    numbers = [f"K-{place:03}" for place in range(count)]
    for place, number in enumerate(numbers):
        text = demo.jobs[place % len(demo.jobs)].read_text("utf-8")
        (folder / f"{number}.toml").write_text(
            re.sub(r'(?m)^number = ".*"', f'number = "{number}"', text, count=1), "utf-8"
        )
    return numbers


def command(jobs: Path, demo: DemoFiles, out: Path, *more: str) -> list[str]:
    return [
        sys.executable, "-m", "basecalc", "quote", str(jobs), "--prices", str(demo.prices), "--out", str(out), *more,
    ]  # fmt: skip


def require_whole(out: Path) -> None:
    """Every file that is to be seen is whole, and a client's file has its office and crew files."""
    for path in out.glob("*.xlsx") if out.exists() else ():
        with zipfile.ZipFile(path) as parts:
            assert parts.testzip() is None, path
            assert "xl/workbook.xml" in parts.namelist()
        if path.stem.endswith("-quote"):
            assert path.with_name(path.name.replace("-quote.", "-office.")).exists()
            assert path.with_name(path.name.replace("-quote.", "-crew.")).exists()


@POSIX
def test_a_run_that_is_killed_leaves_no_half_file_and_the_next_one_completes_it(
    demo: DemoFiles, tmp_path: Path
) -> None:
    numbers = many(demo, tmp_path / "jobs", JOBS)
    out, chance = tmp_path / "quotes", random.Random(9)
    run = command(tmp_path / "jobs", demo, out, "--only-new", "--workers", "2")
    interrupted = 0
    for kill in range(KILLS):
        process = subprocess.Popen(run, start_new_session=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        time.sleep(chance.uniform(0.1, 2.5))
        interrupted += process.poll() is None
        if kill % 2:
            process.kill()  # the parent alone: its workers must notice
        else:
            os.killpg(process.pid, signal.SIGKILL)
        process.wait()
        for _ in range(100):
            try:
                os.killpg(process.pid, 0)
            except ProcessLookupError:
                break
            time.sleep(0.1)
        else:
            pytest.fail("workers go on ten seconds after their parent was killed")
        require_whole(out)
        if all(is_quoted(out, number) for number in numbers):
            for path in out.glob("*"):  # all done: begin again, so that every kill meets a run at work
                path.unlink()
    assert interrupted > KILLS / 2
    done = subprocess.run(run, check=False, capture_output=True, text=True)
    assert (done.returncode, done.stderr.strip()) == (0, "")
    require_whole(out)
    clients = sorted(path.name for path in out.glob("*-quote.xlsx"))
    assert [re.sub(r"-r\d+-quote.xlsx", "", name) for name in clients] == numbers


def test_two_runs_on_one_folder_give_no_revision_twice_and_lose_none(demo: DemoFiles, tmp_path: Path) -> None:
    numbers = many(demo, tmp_path / "jobs", 3)
    run = command(tmp_path / "jobs", demo, tmp_path / "quotes")
    both = [subprocess.Popen(run, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) for _ in range(2)]
    told = [process.communicate() for process in both]
    assert [(process.returncode, errors) for process, (_, errors) in zip(both, told, strict=True)] == [(0, "")] * 2
    printed = sorted(line.strip() for out, _ in told for line in out.splitlines() if line.endswith(".xlsx"))
    assert len(set(printed)) == len(printed) == 3 * 2 * 3  # jobs, runs, files of a quote
    assert printed == sorted(str(path) for path in (tmp_path / "quotes").iterdir())
    for number in numbers:
        assert sorted(path.name for path in (tmp_path / "quotes").glob(f"{number}-*")) == sorted(
            f"{number}-r{revision}-{kind}.xlsx" for kind in ("crew", "office", "quote") for revision in (1, 2)
        )


@POSIX
def test_a_full_disk_is_one_line_and_no_file(demo: DemoFiles, tmp_path: Path) -> None:
    def small_files_only() -> None:
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (9_000, 9_000))

    done = subprocess.run(
        [*command(demo.jobs[0], demo, tmp_path / "quotes")],
        preexec_fn=small_files_only, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert (done.returncode, done.stdout) == (2, "")
    assert re.match(r"basecalc: .*: the workbook cannot be made: file too large in the folder for temp", done.stderr)
    assert done.stderr.count("\n") == 1
    assert list((tmp_path / "quotes").iterdir()) == []


@POSIX
def test_a_folder_that_may_not_be_written_is_one_line() -> None:
    quote, user = trial_quote(FIRM), os.geteuid()
    with TemporaryDirectory() as name:
        folder = Path(name, "quotes")
        folder.mkdir(mode=0o555)
        folder.parent.chmod(0o755)
        try:
            if user == 0:
                os.seteuid(65534)  # for whom a folder can be read-only, which for root none is
            with pytest.raises(WorkbookError, match="cannot be written there: permission denied; nothing was written"):
                write_quote(quote, folder)
        finally:
            os.seteuid(user)
        assert list(folder.iterdir()) == []


@pytest.mark.parametrize("lock", ["~$prices.xlsx", ".~lock.prices.xlsx#"])
def test_prices_that_are_open_in_a_spreadsheet_program_are_used_as_saved_and_said_so(
    demo: DemoFiles, tmp_path: Path, lock: str
) -> None:
    prices = tmp_path / "prices.xlsx"
    prices.write_bytes(demo.prices.read_bytes())
    assert open_elsewhere(prices) == ""
    (tmp_path / lock).write_bytes(b"")
    assert f"({lock} is beside it): what was last saved is used" in open_elsewhere(prices)
    run = command(demo.jobs[0], demo, tmp_path / "quotes")
    run[run.index(str(demo.prices))] = str(prices)
    done = subprocess.run(run, capture_output=True, text=True, check=False)
    assert done.returncode == 0
    assert done.stderr == f"basecalc: {open_elsewhere(prices)}\n"


def test_prices_that_change_during_a_run_change_none_of_its_quotes(demo: DemoFiles, tmp_path: Path) -> None:
    records = tomllib.loads((files("basecalc") / "data" / "demo" / "prices.toml").read_text("utf-8"))
    dear = [{**row, "unit_price": row["unit_price"] * 2} for row in records["prices"]]
    prices = write_price_workbook(tmp_path / "prices.xlsx", records)
    usual = [outcome.quote.offer.total for outcome in quote_files(demo.jobs, prices, tmp_path / "a") if outcome.quote]
    run = quote_files(demo.jobs, prices, tmp_path / "b")
    first = next(run)
    prices.unlink()
    write_price_workbook(prices, {**records, "prices": dear})
    rest = [outcome.quote.offer.total for outcome in run if outcome.quote]
    assert first.quote is not None
    assert [first.quote.offer.total, *rest] == usual
    later = [outcome.quote.offer.total for outcome in quote_files(demo.jobs, prices, tmp_path / "c") if outcome.quote]
    assert all(after > before for after, before in zip(later, usual, strict=True))
