"""Jobs into quotes, from the paths a user has: one, or many, one at a time or several, and what became of each."""

import os
import shutil
import signal
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import nullcontext, suppress
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from threading import Thread
from time import sleep
from typing import Final

from basecalc.core.errors import BasecalcError, InputError, Place, WorkbookError, fault_sentence
from basecalc.core.files import reason
from basecalc.estimating.read_job import WORKBOOKS, holds_job, is_workbook, load_job, other_total
from basecalc.job import Job
from basecalc.pricing.archive import holds_quote, load_quote
from basecalc.pricing.prices import PriceBook, load_prices
from basecalc.pricing.quote import quote as priced
from basecalc.pricing.records import Quote
from basecalc.render.save import QuoteFiles, file_stem, holds_something, last_quote, write_quote
from basecalc.tables.from_workbook import lock_of
from basecalc.workbook.new_file import claimed, write_new

QUOTES: Final = Path("quotes")  # the folder for workbooks where none is named
PDF_LIMIT_S: Final = 120.0
_PDF: Final = b"%PDF-"


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of one job: its quote and files, the sentence that refused it, or that it was left out.

    A dry run has a quote and no files. Where nothing changed since the latest revision, the files are those of that
    revision and nothing was written.
    """

    job: Path
    quote: Quote | None = None
    files: QuoteFiles | None = None
    pdf: Path | None = None
    refusal: str = ""
    left_out: bool = False
    crew_pdf: Path | None = None
    unchanged: bool = False
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Wishes:
    """How jobs are to be quoted, as the options of the command line say it."""

    pdf: bool = False
    only_new: bool = False
    again: bool = False
    same_number: bool = False
    dry_run: bool = False


def quote(job: Job | str | Path, book: PriceBook | str | Path | None = None) -> Quote:
    """Return a job's ground, depths and priced options: all that the workbooks are written from.

    Parameters
    ----------
    job
        The job, or the path of a job file (.toml) or a filled estimating workbook; a file is only read.
    book
        The owner's settings and prices, or the path of the workbook with them. A filled estimating workbook brings its
        own, where nothing is given.

    Raises
    ------
    WorkbookError
        There is no such file, or it cannot be read.
    InputError
        Something in the job is wrong, the job names what the owner does not have, or asks for a geogrid option that
        there is not.
    OutOfRangeError
        Ground too weak for a base depth, or a depth at which an area cannot be built; the message names the area.
    PriceError
        A price or a material that the job needs is missing or wrong.

    Examples
    --------
    From two files to the total::

        quote("drive.toml", "prices.xlsx").offer.total
    """
    if book is None:
        if isinstance(job, Job) or not is_workbook(job):
            raise InputError("book is missing; a job has no prices, so the path of the price workbook must be given")
        book = job
    read = job if isinstance(job, Job) else load_job(job)
    return priced(read, book if isinstance(book, PriceBook) else load_prices(book))


def job_files(paths: Sequence[Path]) -> list[Path]:
    """Return the job files that the paths name: files as they are, folders as the jobs in them.

    A job is a job file or a filled estimating workbook; other workbooks in a folder are passed over.
    """
    found: list[Path] = []
    for path in paths:
        if path.is_dir():
            inside = sorted(entry for entry in path.iterdir() if _is_job(entry))
            if not inside:
                raise InputError("the folder holds no job file (*.toml) and no filled workbook", where=Place(str(path)))
            found += inside
        else:
            found.append(path)
    if not found:
        raise InputError("no job is named; give at least one job file or a folder of them")
    return list(dict.fromkeys(found))


def _is_job(entry: Path) -> bool:
    if entry.suffix.casefold() not in WORKBOOKS:
        return entry.suffix == ".toml"
    try:
        return not entry.name.startswith("~$") and holds_job(entry)  # ~$ marks a file that is open in Excel
    except Exception:  # noqa: BLE001  # what is wrong with it is said when its turn comes, and stops no other job
        return True


def quote_file(job: Path, book: PriceBook | None, out: Path, wishes: Wishes = Wishes()) -> Outcome:
    """Return what became of one job: its workbooks in the folder, or why there are none; a dry run writes nothing."""
    outcome = Outcome(job)
    try:
        outcome = _quoted(job, book, out, wishes)
        if wishes.pdf and outcome.files is not None:
            client, crew = _pdfs(outcome.files, there=outcome.unchanged)
            outcome = replace(outcome, pdf=client, crew_pdf=crew)
    except BasecalcError as refusal:  # where the workbooks are there already, they stay
        return replace(outcome, refusal=str(refusal))
    except Exception as fault:  # noqa: BLE001  # a disk, or a fault of ours, in one job must not cost the others
        return replace(outcome, refusal=f"{job}: {fault_sentence(fault)}")
    return outcome


def _quoted(job: Path, book: PriceBook | None, out: Path, wishes: Wishes) -> Outcome:
    """Return a job's outcome before any PDF; its number is claimed while its files are looked at and written."""
    made, kept = _priced(job, book)
    number = made.job.number
    with nullcontext() if wishes.dry_run else claimed(out, file_stem(number)):
        last = last_quote(out, number)
        notes: list[str] = []
        if last is not None:
            other = last.other_client(made.job)
            if other and not wishes.same_number:
                raise InputError(
                    f"quote number {number} belongs to {other} ({last.files.client}), and this job is for "
                    f"{made.job.client}, {made.job.site}; give it a number of its own, or add --same-number where "
                    "it is the same job",
                    where=Place(str(job)),
                )
            if wishes.only_new:
                said = last.since(made)
                return Outcome(job, left_out=True, notes=(f"{job}: {said}",) if said else ())
            if not (wishes.again or kept or last.unread or last.changes(made)):
                return Outcome(job, made, last.files, unchanged=True)
            if last.unread and not kept:
                notes.append(f"{job}: whether {last.name} is for the same client cannot be seen: {last.unread}")
        if book is None and holds_job(job) and (differs := other_total(job, made.offer.total)):
            notes.append(differs)
        return Outcome(job, made, None if wishes.dry_run else write_quote(made, out), notes=tuple(notes))


def _pdfs(files: QuoteFiles, *, there: bool) -> list[Path]:
    """Return the PDFs of client and crew; those of an unchanged quote may be there already."""
    workbooks = (files.client, files.crew)
    pdfs = [workbook.with_suffix(".pdf") for workbook in workbooks]
    return pdfs if there and all(map(holds_something, pdfs)) else write_pdfs(workbooks)


def _priced(job: Path, book: PriceBook | None) -> tuple[Quote, bool]:
    """Return the quote of a job, or the one that an office file holds, made again as it was; and whether it is that."""
    if not (is_workbook(job) and holds_quote(job)):
        return priced(load_job(job), own_prices(job) if book is None else book), False
    if book is not None:
        raise InputError(
            "this is the office file of a quote, which is made again at its own prices; leave out --prices, or give "
            "the job file to quote it at other ones",
            where=Place(str(job)),
        )
    return load_quote(job).quote, True


def quote_files(
    jobs: Sequence[Path], prices: Path | None, out: Path, wishes: Wishes = Wishes(), workers: int = 1
) -> Iterator[Outcome]:
    """Yield what became of each job, in the order given; a job that is refused or fails does not stop the others."""
    if prices is None:
        for job in jobs:
            _require_own_prices(job)
    if wishes.pdf:
        _soffice()
    work = partial(quote_file, book=None if prices is None else load_prices(prices), out=out, wishes=wishes)
    yield from map(work, jobs) if workers == 1 or len(jobs) == 1 else _shared(work, jobs, workers)


def _shared(work: Callable[[Path], Outcome], jobs: Sequence[Path], workers: int) -> Iterator[Outcome]:
    """Yield the outcomes of jobs shared among processes; one that the system ends costs no job but its own.

    When a process dies, all of its pool are gone. The first job without an outcome is then done alone, which shows
    whether it was the one; the others go on in a new pool.
    """
    left, done = list(jobs), dict[Path, Outcome]()
    while left:
        pool = _pool(min(workers, len(left)))
        asked: dict[Path, Future[Outcome]] = {}
        try:
            for job in left:
                if job not in done:
                    asked[job] = pool.submit(work, job)
            while left:
                job = left[0]
                yield done[job] if job in done else asked[job].result()
                left.pop(0)
        except BrokenProcessPool:
            done |= {job: one.result() for job, one in asked.items() if one.done() and one.exception() is None}
            done[left[0]] = _alone(work, left[0])
        finally:
            pool.shutdown(cancel_futures=True)


def _alone(work: Callable[[Path], Outcome], job: Path) -> Outcome:
    """Return the outcome of a job in a process of its own, or that this process was ended."""
    with _pool(1) as pool:
        try:
            return pool.submit(work, job).result()
        except BrokenProcessPool:
            return Outcome(
                job,
                refusal=f"{job}: the process that worked on it was ended from outside, alone as well (is there enough "
                "memory?); nothing more is known of it",
            )


def _pool(workers: int) -> ProcessPoolExecutor:
    return ProcessPoolExecutor(workers, initializer=_end_with, initargs=(os.getpid(),))


def _end_with(parent: int) -> None:
    """Let this worker end when the process that started it is gone, even if that was killed without a word."""

    def watch() -> None:
        while os.getppid() == parent:
            sleep(1)
        os._exit(1)

    Thread(target=watch, daemon=True).start()


def open_elsewhere(prices: Path) -> str:
    """Return a sentence where a spreadsheet program has the price workbook open: what is not saved is not used."""
    lock = lock_of(prices)
    if lock is None:
        return ""
    return f"{prices} seems open in a spreadsheet program ({lock.name} is beside it): what was last saved is used"


def own_prices(job: Path) -> PriceBook:
    """Return the prices that a filled workbook brings along."""
    _require_own_prices(job)
    return load_prices(job)


def _require_own_prices(job: Path) -> None:
    if not is_workbook(job):
        if not job.exists():
            raise WorkbookError("there is no such file", where=Place(str(job)))
        raise InputError(
            "a job file has no prices; name the owner's price workbook with --prices "
            "('basecalc template prices.xlsx' makes one)",
            where=Place(str(job)),
        )


def _soffice() -> str:
    program = shutil.which("soffice") or shutil.which("libreoffice")
    if program is None:
        raise WorkbookError("a PDF needs LibreOffice, and no soffice command was found; install it or leave out --pdf")
    return program


def write_pdfs(workbooks: Sequence[Path]) -> list[Path]:
    """Return the paths of PDFs made of workbooks by an installed LibreOffice, each beside its workbook: all or none."""
    targets = [workbook.with_suffix(".pdf") for workbook in workbooks]
    taken = "the PDF exists already and is not replaced"
    for target in targets:
        if target.exists():
            raise WorkbookError(taken, where=Place(str(target)))
    with tempfile.TemporaryDirectory() as scratch:
        profile = Path(scratch, "profile").as_uri()
        sources = [str(workbook.resolve()) for workbook in workbooks]
        _run_office(
            [_soffice(), f"-env:UserInstallation={profile}", "--headless", "--convert-to", "pdf", "--outdir", scratch,
             *sources], sources[0],
        )  # fmt: skip
        contents: dict[Path, bytes] = {}
        for target, workbook in zip(targets, workbooks, strict=True):
            printed = Path(scratch, target.name)
            contents[target] = printed.read_bytes() if printed.exists() else b""
            if not contents[target].startswith(_PDF):
                raise WorkbookError("LibreOffice made no PDF of it", where=Place(str(workbook)))
    try:
        write_new(contents)
    except FileExistsError:
        raise WorkbookError(taken, where=Place(str(targets[0]))) from None
    except OSError as error:
        raise WorkbookError(f"the PDF cannot be written: {reason(error)}", where=Place(str(targets[0]))) from None
    return targets


def _run_office(command: Sequence[str], where: str) -> None:
    """Run LibreOffice to its end, or end it with all that it started: a parent ended alone leaves its children."""
    quiet = subprocess.DEVNULL
    try:
        process = subprocess.Popen(command, stdout=quiet, stderr=quiet, stdin=quiet, start_new_session=True)
    except OSError as error:
        raise WorkbookError(f"LibreOffice cannot be started: {reason(error)}", where=Place(command[0])) from None
    try:
        process.wait(PDF_LIMIT_S)
    except subprocess.TimeoutExpired:
        raise WorkbookError(f"LibreOffice did not finish the PDF in {PDF_LIMIT_S:.0f} s", where=where) from None
    finally:
        if process.poll() is None:
            if sys.platform == "win32":
                process.kill()
            else:
                with suppress(ProcessLookupError):
                    os.killpg(process.pid, signal.SIGKILL)
            process.wait()
