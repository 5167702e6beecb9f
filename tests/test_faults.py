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

from basecalc.core.errors import WorkbookError
from basecalc.demo import DemoFiles, write_demo
from basecalc.render.save import is_quoted, write_quote
from basecalc.runs import open_elsewhere, quote_files
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


@pytest.mark.parametrize("more", [(), ("--only-new",), ("--again",)], ids=["plain", "only new", "again"])
def test_two_runs_at_once_quote_no_job_twice_and_lose_none(
    demo: DemoFiles, tmp_path: Path, more: tuple[str, ...]
) -> None:
    numbers = many(demo, tmp_path / "jobs", 3)
    run = command(tmp_path / "jobs", demo, tmp_path / "quotes", *more)
    both = [subprocess.Popen(run, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) for _ in range(2)]
    told = [process.communicate() for process in both]
    assert [(process.returncode, errors) for process, (_, errors) in zip(both, told, strict=True)] == [(0, "")] * 2
    printed = {line.strip() for out, _ in told for line in out.splitlines() if line.endswith(".xlsx")}
    assert printed == {str(path) for path in (tmp_path / "quotes").iterdir()}
    for number in numbers:
        assert sorted(path.name for path in (tmp_path / "quotes").glob(f"{number}-*")) == sorted(
            f"{number}-r{revision}-{kind}.xlsx"
            for kind in ("crew", "office", "quote")
            for revision in ((1, 2) if "--again" in more else (1,))
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


# What a run is that meets a fault while it works: the words of the command line with one thing in basecalc replaced.
BROKEN_RUN = """
import os, signal, sys
from pathlib import Path
from basecalc import cli, runs
from basecalc.workbook import new_file
"""


def broken_run(how: str, run: list[str]) -> "subprocess.CompletedProcess[str]":
    words = run[run.index("basecalc") + 1 :]
    code = f"{BROKEN_RUN}{how}\ncli.main({words!r})"
    return subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False, timeout=300)


FAULT = """
whole = runs.load_job
def spoilt(path):
    if path.stem == "K-001":
        {what}
    return whole(path)
runs.load_job = spoilt
"""


@POSIX
@pytest.mark.parametrize("workers", ["1", "2"])
@pytest.mark.parametrize(
    ("what", "words"),
    [
        ("raise OverflowError('out of range')", "a fault in basecalc itself: please report it (OverflowError: out of"),
        ("raise MemoryError", "a fault in basecalc itself: please report it (MemoryError"),
        ("raise PermissionError(13, 'Permission denied', 'x.toml')", "x.toml: the file or folder cannot be used"),
    ],
    ids=["overflow", "memory", "permission"],
)
def test_a_fault_of_ours_in_one_job_costs_that_job_alone(
    demo: DemoFiles, tmp_path: Path, workers: str, what: str, words: str
) -> None:
    numbers = many(demo, tmp_path / "jobs", 4)
    run = command(tmp_path / "jobs", demo, tmp_path / "quotes", "--workers", workers)
    done = broken_run(FAULT.format(what=what), run)
    assert done.returncode == 2
    assert done.stderr.startswith(f"basecalc: {tmp_path / 'jobs' / 'K-001.toml'}: ")
    assert words in done.stderr
    assert "Traceback" not in done.stderr
    assert done.stderr.count("\n") == 1
    for number in numbers:
        assert is_quoted(tmp_path / "quotes", number) == (number != "K-001")
        assert (f"{number}-r1-quote.xlsx" in done.stdout) == (number != "K-001")


@POSIX
def test_a_job_that_ends_its_process_is_named_and_the_others_are_quoted_and_reported(
    demo: DemoFiles, tmp_path: Path
) -> None:
    numbers = many(demo, tmp_path / "jobs", 5)
    run = command(tmp_path / "jobs", demo, tmp_path / "quotes", "--workers", "2")
    done = broken_run(FAULT.format(what="os.kill(os.getpid(), signal.SIGKILL)"), run)
    assert done.returncode == 2
    assert done.stderr == (
        f"basecalc: {tmp_path / 'jobs' / 'K-001.toml'}: the process that worked on it was ended from outside, alone as "
        "well (is there enough memory?); nothing more is known of it\n"
    )
    for number in numbers:
        assert is_quoted(tmp_path / "quotes", number) == (number != "K-001")
        assert done.stdout.count(f"{number}-r1-quote.xlsx") == (number != "K-001")
    assert not list((tmp_path / "quotes").glob("*-r2-*"))


def test_each_job_is_reported_when_it_is_done_and_not_at_the_end(demo: DemoFiles, tmp_path: Path) -> None:
    many(demo, tmp_path / "jobs", 5)
    run = command(tmp_path / "jobs", demo, tmp_path / "quotes")
    done = broken_run(FAULT.format(what="sys.stdout.flush(); os._exit(7)"), run)
    assert done.returncode == 7
    assert "K-000-r1-quote.xlsx" in done.stdout


# Killed after so many of the three files have their names, on a disk with links and on one without.
KILLED_BETWEEN = """
links, count = {links}, [0]
if not links:
    def link(*_):
        raise OSError(1, "Operation not permitted")
    os.link = link
def stop_at(number):
    count[0] += 1
    if count[0] == number:
        os.kill(os.getpid(), signal.SIGKILL)
if links:
    publish = new_file._publish
    def one(draft, path):
        publish(draft, path)
        stop_at({after})
    new_file._publish = one
else:
    replace = Path.replace
    def one(draft, path):
        stop_at({after})
        return replace(draft, path)
    Path.replace = one
"""


@POSIX
@pytest.mark.parametrize("links", [True, False], ids=["links", "no links"])
@pytest.mark.parametrize("after", [1, 2, 3])
def test_a_kill_between_two_files_loses_nothing_and_the_next_run_completes_it(
    demo: DemoFiles, tmp_path: Path, after: int, links: bool
) -> None:
    out = tmp_path / "quotes"
    run = command(demo.jobs[0], demo, out, "--only-new")
    killed = broken_run(KILLED_BETWEEN.format(after=after, links=links), run)
    assert killed.returncode == -signal.SIGKILL
    complete = links and after == 3
    assert is_quoted(out, "LF-2601") == complete
    check = [sys.executable, "-m", "basecalc", "check", str(demo.prices), "--quotes", str(out)]
    listed = subprocess.run(check, capture_output=True, text=True, check=False).stdout
    assert ("LF-2601-r1-office.xlsx: not counted as a quote" in listed) == (not complete)
    assert ("LF-2601-r1  " in listed) == complete
    done = subprocess.run(run, capture_output=True, text=True, check=False)
    assert (done.returncode, done.stderr) == (0, "")
    last = 1 if complete else 2
    assert ("left out, its quote is there already" in done.stdout) == complete
    for kind in ("quote", "office", "crew"):
        with zipfile.ZipFile(out / f"LF-2601-r{last}-{kind}.xlsx") as parts:
            assert parts.testzip() is None
    rest = subprocess.run(run, capture_output=True, text=True, check=False)
    assert "left out, its quote is there already" in rest.stdout
    assert not list(out.glob("*-r3-*"))
    assert not list(out.glob("*.lock"))


@POSIX
def test_output_that_cannot_be_written_is_one_line() -> None:
    with Path("/dev/full").open("w") as full:
        done = subprocess.run(
            [sys.executable, "-m", "basecalc", "depth", "soft"], stdout=full, stderr=subprocess.PIPE, text=True,
            check=False,
        )  # fmt: skip
    assert done.returncode == 2
    assert done.stderr == "basecalc: the system refused to read or write (no space left on device)\n"


# A user other than root, for whom a folder can be closed; the package itself may lie where only root can look.
CLOSED = """
import basecalc.cli, basecalc.runs, basecalc.health, basecalc.price_runs, basecalc.demo, basecalc.reports
import basecalc.change_runs, basecalc.estimating.template, encodings.cp437
basecalc.core.units.convert(1.0, "in", "ft")  # the table of units is read
os.seteuid(65534) if os.geteuid() == 0 else None
"""


@POSIX
@pytest.mark.parametrize(
    "words",
    [
        ("quote", "{closed}/x.toml", "--prices", "{prices}"), ("quote", "{closed}/x.xlsx"),
        ("check", "{closed}/x.xlsx"),
        ("quote", "{job}", "--prices", "{closed}/p.xlsx"), ("check", "{prices}", "--against", "{closed}/x.xlsx"),
        ("template", "{free}/t.xlsx", "--prices", "{closed}/p.xlsx"), ("demo", "{closed}/x"),
    ],
    ids=" ".join,
)  # fmt: skip
def test_a_folder_that_may_not_be_searched_is_one_line(demo: DemoFiles, words: tuple[str, ...]) -> None:
    with TemporaryDirectory() as name:
        closed, free = Path(name, "closed"), Path(name, "free")
        closed.mkdir()
        free.mkdir(mode=0o777)
        free.chmod(0o777)
        Path(name).chmod(0o755)
        prices, job = free / "prices.xlsx", free / "job.toml"
        prices.write_bytes(demo.prices.read_bytes())
        job.write_bytes(demo.jobs[0].read_bytes())
        closed.chmod(0o600)
        if os.geteuid() != 0:
            closed.chmod(0o000)
        given = [word.format(closed=closed, free=free, prices=prices, job=job) for word in words]
        done = broken_run(CLOSED, ["basecalc", *given, *(["--out", str(free / "q")] if words[0] == "quote" else [])])
        closed.chmod(0o700)
        assert (done.returncode, done.stdout) == (2, "")
        assert done.stderr.startswith("basecalc: ")
        assert "permission denied" in done.stderr
        assert "Traceback" not in done.stderr
        assert done.stderr.count("\n") == 1
        assert not (free / "q").exists()


OUTDIR = """#!/bin/sh
for word in "$@"; do [ "$last" = --outdir ] && out=$word; last=$word; done
"""
OFFICES = {
    "makes an empty file": ('for f in "$@"; do case "$f" in *.xlsx) : > "$out/$(basename "$f" .xlsx).pdf";; esac; done',
                            "LibreOffice made no PDF of it"),
    "hangs with a child": ("sleep 300 & echo $! > {child}; wait", "LibreOffice did not finish the PDF in 2 s"),
    "cannot be started": ("#!/no/such/program", "LibreOffice cannot be started"),
}  # fmt: skip


@POSIX
@pytest.mark.parametrize("name", OFFICES)
def test_a_libreoffice_that_fails_costs_the_pdf_alone_and_leaves_nothing_running(
    demo: DemoFiles, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    what, words = OFFICES[name]
    child, program = tmp_path / "child", tmp_path / "bin" / "soffice"
    program.parent.mkdir()
    program.write_text(("" if what.startswith("#!") else OUTDIR) + what.format(child=child) + "\n", "utf-8")
    program.chmod(0o755)
    monkeypatch.setenv("PATH", f"{program.parent}:{os.environ['PATH']}")
    out = tmp_path / "quotes"
    done = broken_run("runs.PDF_LIMIT_S = 2.0", command(demo.jobs[0], demo, out, "--pdf"))
    assert done.returncode == 2
    assert words in done.stderr
    assert done.stderr.count("\n") == 1
    kinds = ("crew", "office", "quote")
    assert sorted(path.name for path in out.iterdir()) == [f"LF-2601-r1-{kind}.xlsx" for kind in kinds]
    if child.exists():
        state = Path(f"/proc/{child.read_text().strip()}/stat")
        assert not state.exists() or state.read_text().rsplit(")", 1)[1].split()[0] == "Z"


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
