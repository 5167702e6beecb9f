"""Many jobs into many quotes: which files, one at a time or several, and what became of each."""

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
from basecalc.pricing.archive import holds_quote, load_quote
from basecalc.pricing.prices import PriceBook, load_prices
from basecalc.pricing.quote import quote
from basecalc.pricing.records import Quote
from basecalc.render.save import QuoteFiles, file_stem, holds_something, last_quote, write_quote
from basecalc.tables.from_workbook import lock_of
from basecalc.workbook.new_file import claimed, write_new

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


def job_files(paths: Sequence[Path]) -> list[Path]:
    """Return the job files that the paths stand for: files as they are, folders as the jobs in them.

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


def quote_file(
    job: Path,
    book: PriceBook | None,
    out: Path,
    *,
    pdf: bool = False,
    only_new: bool = False,
    again: bool = False,
    same_number: bool = False,
    dry_run: bool = False,
) -> Outcome:
    """Return what became of one job: its workbooks in the folder, or why there are none; a dry run writes nothing."""
    outcome = Outcome(job)
    try:
        outcome = _quoted(job, book, out, only_new=only_new, again=again, same_number=same_number, dry_run=dry_run)
        if pdf and outcome.files is not None:
            client, crew = _pdfs(outcome.files, there=outcome.unchanged)
            outcome = replace(outcome, pdf=client, crew_pdf=crew)
    except BasecalcError as refusal:  # where the workbooks are there already, they stay
        return replace(outcome, refusal=str(refusal))
    except OSError as error:
        return replace(outcome, refusal=f"{job}: {fault_sentence(error)}")
    except Exception as fault:  # noqa: BLE001  # a fault of ours in one job must not cost the others
        return replace(outcome, refusal=f"{job}: {fault_sentence(fault)}")
    return outcome


def _doubts(job: Path, priced: Quote) -> tuple[str, ...]:
    """Return where a filled workbook shows something else than the quote made from it."""
    if not is_workbook(job) or not holds_job(job):
        return ()
    differs = other_total(job, priced.offer.total)
    return (differs,) if differs else ()


def _quoted(
    job: Path, book: PriceBook | None, out: Path, *, only_new: bool, again: bool, same_number: bool, dry_run: bool
) -> Outcome:
    """Return a job's outcome before any PDF; its number is claimed while its files are looked at and written."""
    priced, kept = _priced(job, book)
    number = priced.job.number
    with nullcontext() if dry_run else claimed(out, file_stem(number)):
        last = last_quote(out, number)
        notes: tuple[str, ...] = ()
        if last is not None:
            other = last.other_client(priced.job)
            if other and not same_number:
                raise InputError(
                    f"quote number {number} belongs to {other} ({last.files.client}), and this job is for "
                    f"{priced.job.client}, {priced.job.site}; give it a number of its own, or add --same-number where "
                    "it is the same job",
                    where=Place(str(job)),
                )
            if only_new:
                said = last.since(priced)
                return Outcome(job, left_out=True, notes=(f"{job}: {said}",) if said else ())
            if not (again or kept or last.unread or last.changes(priced)):
                return Outcome(job, priced, last.files, unchanged=True)
            if last.unread and not kept:
                notes = (f"{job}: whether {last.name} is for the same client cannot be seen: {last.unread}",)
        notes = (*notes, *(_doubts(job, priced) if book is None else ()))
        return Outcome(job, priced, None if dry_run else write_quote(priced, out), notes=notes)


def _pdfs(files: QuoteFiles, *, there: bool) -> list[Path]:
    """Return the PDFs of client and crew; those of an unchanged quote may be there already."""
    workbooks = (files.client, files.crew)
    if there and all(holds_something(workbook.with_suffix(".pdf")) for workbook in workbooks):
        return [workbook.with_suffix(".pdf") for workbook in workbooks]
    return write_pdfs(workbooks)


def _priced(job: Path, book: PriceBook | None) -> tuple[Quote, bool]:
    """Return the quote of a job, or the one that an office file holds, made again as it was; and whether it is that."""
    if not (is_workbook(job) and holds_quote(job)):
        return quote(load_job(job), own_prices(job) if book is None else book), False
    if book is not None:
        raise InputError(
            "this is the office file of a quote, which is made again at its own prices; leave out --prices, or give "
            "the job file to quote it at other ones",
            where=Place(str(job)),
        )
    return load_quote(job).quote, True


def quote_files(
    jobs: Sequence[Path],
    prices: Path | None,
    out: Path,
    *,
    pdf: bool = False,
    workers: int = 1,
    only_new: bool = False,
    again: bool = False,
    same_number: bool = False,
    dry_run: bool = False,
) -> Iterator[Outcome]:
    """Yield what became of each job, in the order given; a job that is refused or fails does not stop the others."""
    if prices is None:
        for job in jobs:
            _require_own_prices(job)
    book = None if prices is None else load_prices(prices)
    if pdf:
        _soffice()
    work = partial(
        quote_file, book=book, out=out, pdf=pdf, only_new=only_new, again=again, same_number=same_number,
        dry_run=dry_run,
    )  # fmt: skip
    if workers == 1 or len(jobs) == 1:
        yield from map(work, jobs)
    else:
        yield from _shared(work, jobs, workers)


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
    for target in targets:
        if target.exists():
            raise WorkbookError("the PDF exists already and is not replaced", where=Place(str(target)))
    with tempfile.TemporaryDirectory() as scratch:
        profile = Path(scratch, "profile")
        command = [_soffice(), f"-env:UserInstallation={profile.as_uri()}", "--headless", "--convert-to", "pdf"]
        sources = [str(workbook.resolve()) for workbook in workbooks]
        _run_office([*command, "--outdir", scratch, *sources], sources[0])
        made = [Path(scratch, target.name) for target in targets]
        for one, workbook in zip(made, workbooks, strict=True):
            if not one.exists() or not one.read_bytes().startswith(_PDF):
                raise WorkbookError("LibreOffice made no PDF of it", where=Place(str(workbook)))
        try:
            write_new({target: one.read_bytes() for target, one in zip(targets, made, strict=True)})
        except FileExistsError:
            raise WorkbookError("the PDF exists already and is not replaced", where=Place(str(targets[0]))) from None
        except OSError as error:
            raise WorkbookError(f"the PDF cannot be written: {reason(error)}", where=Place(str(targets[0]))) from None
    return targets


def _run_office(command: Sequence[str], where: str) -> None:
    """Run LibreOffice to its end, or end it with all that it started."""
    try:
        process = subprocess.Popen(
            command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, stdin=subprocess.DEVNULL,
            start_new_session=True,
        )  # fmt: skip
    except OSError as error:
        raise WorkbookError(f"LibreOffice cannot be started: {reason(error)}", where=Place(command[0])) from None
    try:
        process.wait(PDF_LIMIT_S)
    except subprocess.TimeoutExpired:
        raise WorkbookError(f"LibreOffice did not finish the PDF in {PDF_LIMIT_S:.0f} s", where=where) from None
    finally:
        if process.poll() is None:
            _end_session(process)


def _end_session(process: "subprocess.Popen[bytes]") -> None:
    """End a program and what it started; a parent that is ended alone leaves its children running."""
    if sys.platform == "win32":
        process.kill()
    else:
        with suppress(ProcessLookupError):
            os.killpg(process.pid, signal.SIGKILL)
    process.wait()
