"""Power cuts, full disks, locked folders and two runs at once: no half file, no lost revision, nothing quoted twice.

The long run, 80 kills of a run of 120 jobs:  ABUSE=20 pytest tests/test_faults.py
"""

import encodings.cp437  # noqa: F401 (a zip asks for it when it may no longer be looked for)
import os
import random
import re
import resource
import shutil
import signal
import subprocess
import sys
import time
import zipfile
from collections.abc import Callable
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import pytest
from abuse import STRENGTH
from estimating_kit import demo_prices
from processes import Process
from test_command_line import KINDS, names, one_line
from trial_quote import FIRM, trial_quote

from basecalc import WorkbookError, change_runs, cli, price_runs, reports, runs, write_price_workbook, write_quote
from basecalc.demo import DemoFiles
from basecalc.render.save import is_quoted
from basecalc.workbook import new_file

KILLS, JOBS = 4 * STRENGTH, min(6 * STRENGTH, 120)
POSIX = pytest.mark.skipif(os.name == "nt", reason="kill -9 and file size limits are those of Linux")
USED = (change_runs, price_runs, reports)  # loaded before a process may no longer look for them


def many(demo: DemoFiles, folder: Path, count: int) -> list[str]:
    """Write so many jobs with numbers of their own into a folder, and return the numbers."""
    folder.mkdir()
    numbers, text = [f"K-{place:03}" for place in range(count)], demo.jobs[0].read_text("utf-8")
    for number in numbers:
        numbered = re.sub(r'(?m)^number = ".*"', f'number = "{number}"', text, count=1)
        (folder / f"{number}.toml").write_text(numbered, "utf-8")
    return numbers


def quoting(jobs: Path, demo: DemoFiles, out: Path, *more: str) -> list[str]:
    return ["quote", str(jobs), "--prices", str(demo.prices), "--out", str(out), *more]


def begun(words: list[str], fault: Callable[[], Any] = lambda: None) -> Process:
    """Return the command line at work in a process of its own, after something in basecalc was broken there."""
    return Process(lambda: (fault(), cli.main(words)))


def replaced(where: Any, name: str, what: Callable[..., Any]) -> Callable[[], None]:
    """Return a fault: a function of basecalc that begins with something else, told its arguments."""
    whole = getattr(where, name)

    def spoilt(*given: Any) -> Any:
        what(*given)
        return whole(*given)

    return lambda: setattr(where, name, spoilt)


def for_one(what: Callable[[], Any]) -> Callable[[], None]:
    """Return what happens when the job K-001 is read."""
    return replaced(runs, "load_job", lambda path: what() if path.stem == "K-001" else None)


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
def test_a_run_that_is_killed_leaves_no_half_file_and_the_next_one_completes_it(demo, tmp_path: Path) -> None:
    numbers = many(demo, tmp_path / "jobs", JOBS)
    out, chance = tmp_path / "quotes", random.Random(9)
    words = quoting(tmp_path / "jobs", demo, out, "--only-new", "--workers", "2")
    interrupted = 0
    for kill in range(KILLS):
        process = begun(words)
        time.sleep(chance.uniform(0.1, 1.5))
        interrupted += process.working()
        try:
            if kill % 2:
                os.kill(process.pid, signal.SIGKILL)  # the parent alone: its workers must notice
            else:
                os.killpg(process.pid, signal.SIGKILL)
        except ProcessLookupError:
            pass
        process.ended()
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
    code, _, err = begun(words).ended()
    assert (code, err) == (0, "")
    require_whole(out)
    clients = sorted(path.name for path in out.glob("*-quote.xlsx"))
    assert [re.sub(r"-r\d+-quote.xlsx", "", name) for name in clients] == numbers


@pytest.mark.parametrize("more", [(), ("--only-new",), ("--again",)], ids=["plain", "only new", "again"])
def test_two_runs_at_once_quote_no_job_twice_and_lose_none(demo, tmp_path: Path, more: tuple[str, ...]) -> None:
    numbers, out = many(demo, tmp_path / "jobs", 2), tmp_path / "quotes"
    ended = [process.ended() for process in [begun(quoting(tmp_path / "jobs", demo, out, *more)) for _ in range(2)]]
    assert [(code, errors) for code, _, errors in ended] == [(0, "")] * 2
    printed = {line.strip() for _, text, _ in ended for line in text.splitlines() if line.endswith(".xlsx")}
    assert printed == {str(path) for path in out.iterdir()}
    assert {path.name for path in out.iterdir()} == {
        f"{number}-r{revision}-{kind}.xlsx"
        for number in numbers for kind in KINDS for revision in ((1, 2) if "--again" in more else (1,))
    }  # fmt: skip


@POSIX
def test_a_full_disk_is_one_line_and_no_file(demo, tmp_path: Path) -> None:
    def small_files_only() -> None:
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (9_000, 9_000))

    code, out, err = begun(quoting(demo.jobs[0], demo, tmp_path / "quotes"), small_files_only).ended()
    assert (code, out) == (2, "")
    assert re.match(r".*: the workbook cannot be made: file too large in the folder for temp", one_line(err))
    assert list((tmp_path / "quotes").iterdir()) == []


def ends_itself() -> None:
    os.kill(os.getpid(), signal.SIGKILL)


def fails(error: BaseException) -> Callable[..., None]:
    def fail(*_: object) -> None:
        raise error

    return fail


DENIED = PermissionError(13, "Permission denied", "x.toml")


@POSIX
@pytest.mark.parametrize(
    ("workers", "what", "words"),
    [
        ("1", fails(OverflowError("out of")), "a fault in basecalc itself: please report it (OverflowError: out of"),
        ("1", fails(MemoryError()), "a fault in basecalc itself: please report it (MemoryError"),
        ("2", fails(MemoryError()), "a fault in basecalc itself: please report it (MemoryError"),
        ("1", fails(DENIED), "x.toml: the file or folder cannot be used"),
        ("2", ends_itself, "the process that worked on it was ended from outside, alone as well (is there enough "
                           "memory?); nothing more is known of it"),
    ],
    ids=["overflow", "memory", "memory of a worker", "permission", "killed"],
)  # fmt: skip
def test_a_job_that_fails_is_named_and_the_others_are_quoted_and_reported_once(
    demo, tmp_path: Path, workers: str, what: Callable[[], None], words: str
) -> None:
    numbers, out = many(demo, tmp_path / "jobs", 3), tmp_path / "quotes"
    code, printed, err = begun(quoting(tmp_path / "jobs", demo, out, "--workers", workers), for_one(what)).ended()
    assert code == 2
    assert one_line(err).startswith(f"basecalc: {tmp_path / 'jobs' / 'K-001.toml'}: ")
    assert words in err
    for number in numbers:
        assert is_quoted(out, number) == (number != "K-001")
        assert printed.count(f"{number}-r1-quote.xlsx") == (number != "K-001")
    assert not list(out.glob("*-r2-*"))


def test_each_job_is_reported_when_it_is_done_and_not_at_the_end(demo, tmp_path: Path) -> None:
    def stop() -> None:
        sys.stdout.flush()
        os._exit(7)

    many(demo, tmp_path / "jobs", 2)
    code, out, _ = begun(quoting(tmp_path / "jobs", demo, tmp_path / "quotes"), for_one(stop)).ended()
    assert (code, "K-000-r1-quote.xlsx" in out) == (7, True)


def killed_after(files: int, *, links: bool) -> Callable[[], None]:
    """Return a fault: a kill after so many of the three files have their names, on a disk with or without links."""
    left = [files]

    def stop(*_: object) -> None:
        left[0] -= 1
        if left[0] == 0:
            ends_itself()

    def fault() -> None:
        if links:
            publish = new_file._publish

            def then_stop(draft: Path, path: Path) -> None:
                publish(draft, path)
                stop()

            new_file._publish = then_stop
        else:
            os.link = fails(OSError(1, "Operation not permitted"))  # type: ignore[assignment]
            replaced(Path, "replace", stop)()

    return fault


@POSIX
@pytest.mark.parametrize(("files", "links"), [(1, True), (3, True), (1, False), (3, False)])
def test_a_kill_between_two_files_loses_nothing_and_the_next_run_completes_it(
    demo, run, tmp_path: Path, files: int, links: bool
) -> None:
    out = tmp_path / "quotes"
    words = quoting(demo.jobs[0], demo, out, "--only-new")
    assert begun(words, killed_after(files, links=links)).ended()[0] == -signal.SIGKILL
    complete = links and files == 3
    assert is_quoted(out, "LF-2601") == complete
    listed = run("check", demo.prices, "--quotes", out)[1]
    assert ("LF-2601-r1-office.xlsx: not counted as a quote" in listed) == (not complete)
    assert ("LF-2601-r1  " in listed) == complete
    code, printed, err = run(*words)
    assert (code, err, "left out, its quote is there already" in printed) == (0, "", complete)
    for kind in KINDS:
        with zipfile.ZipFile(out / f"LF-2601-r{1 if complete else 2}-{kind}.xlsx") as parts:
            assert parts.testzip() is None
    assert "left out, its quote is there already" in run(*words)[1]
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


@POSIX
@pytest.mark.parametrize(
    "words",
    [
        "quote {closed}/x.toml --prices {prices} --out {free}/q", "quote {closed}/x.xlsx --out {free}/q",
        "quote {job} --prices {closed}/p.xlsx --out {free}/q", "check {closed}/x.xlsx",
        "check {prices} --against {closed}/x.xlsx", "template {free}/t.xlsx --prices {closed}/p.xlsx",
        "demo {closed}/x",
    ],
)  # fmt: skip
def test_a_folder_that_may_not_be_searched_is_one_line(demo, words: str) -> None:
    with TemporaryDirectory() as name:
        closed, free = Path(name, "closed"), Path(name, "free")
        closed.mkdir()
        free.mkdir(mode=0o777)
        free.chmod(0o777)
        Path(name).chmod(0o755)
        prices, job = free / "prices.xlsx", free / "job.toml"
        shutil.copy(demo.prices, prices)
        shutil.copy(demo.jobs[0], job)
        closed.chmod(0o600 if os.geteuid() == 0 else 0o000)

        def other_user() -> None:  # for whom a folder can be closed, which for root none is
            if os.geteuid() == 0:
                os.seteuid(65534)

        given = words.format(closed=closed, free=free, prices=prices, job=job).split()
        code, out, err = begun(given, other_user).ended()
        closed.chmod(0o700)
        assert (code, out, "permission denied" in one_line(err)) == (2, "", True)
        assert not (free / "q").exists()
        assert list(closed.iterdir()) == []


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
    demo, run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    what, words = OFFICES[name]
    child, program = tmp_path / "child", tmp_path / "bin" / "soffice"
    program.parent.mkdir()
    program.write_text(("" if what.startswith("#!") else OUTDIR) + what.format(child=child) + "\n", "utf-8")
    program.chmod(0o755)
    monkeypatch.setenv("PATH", f"{program.parent}:{os.environ['PATH']}")
    monkeypatch.setattr(runs, "PDF_LIMIT_S", 2.0)
    out = tmp_path / "quotes"
    code, _, err = run(*quoting(demo.jobs[0], demo, out, "--pdf"))
    assert (code, words in one_line(err)) == (2, True)
    assert names(out) == [f"LF-2601-r1-{kind}.xlsx" for kind in KINDS]
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
        assert names(folder) == []


@pytest.mark.parametrize("lock", ["~$prices.xlsx", ".~lock.prices.xlsx#"])
def test_prices_that_are_open_in_a_spreadsheet_program_are_used_as_saved_and_said_so(
    demo, run, tmp_path: Path, lock: str
) -> None:
    prices = Path(shutil.copy(demo.prices, tmp_path))
    words = ("quote", demo.jobs[0], "--prices", prices, "--dry-run")
    assert run(*words)[2] == ""
    (tmp_path / lock).write_bytes(b"")
    code, _, err = run(*words)
    assert (code, f"({lock} is beside it): what was last saved is used" in one_line(err)) == (0, True)


def test_prices_that_change_during_a_run_change_none_of_its_quotes(demo, tmp_path: Path) -> None:
    records = demo_prices()
    dear = [{**row, "unit_price": row["unit_price"] * 2} for row in records["prices"]]
    prices = write_price_workbook(tmp_path / "prices.xlsx", records)

    def totals() -> list[Any]:
        return [
            done.quote.offer.total for done in runs.quote_files(demo.jobs, prices, tmp_path, runs.Wishes(dry_run=True))
        ]

    usual = totals()
    run = runs.quote_files(demo.jobs, prices, tmp_path, runs.Wishes(dry_run=True))
    first = next(run)
    prices.unlink()
    write_price_workbook(prices, {**records, "prices": dear})
    assert [done.quote.offer.total for done in (first, *run)] == usual
    assert all(after > before for after, before in zip(totals(), usual, strict=True))
