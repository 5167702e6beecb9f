"""Many jobs into many quotes: which files, one at a time or several, and what became of each."""

import os
import shutil
import subprocess
import tempfile
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from threading import Thread
from time import sleep

from basecalc.errors import BasecalcError, InputError, WorkbookError
from basecalc.estimating.read_job import WORKBOOKS, holds_job, is_workbook, load_job
from basecalc.estimating.stored import other_total, pasted_over
from basecalc.files import reason
from basecalc.pricing.prices import PriceBook, load_prices
from basecalc.pricing.quote import Quote, quote
from basecalc.pricing.workbook_bytes import lock_of
from basecalc.workbook.as_quoted import holds_quote, load_quote
from basecalc.workbook.new_file import write_new
from basecalc.workbook.save import QuoteFiles, is_quoted, write_quote


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of one job: its quote and files, the sentence that refused it, or that it was left out."""

    job: Path
    quote: Quote | None = None
    files: QuoteFiles | None = None
    pdf: Path | None = None
    refusal: str = ""
    left_out: bool = False
    crew_pdf: Path | None = None
    notes: tuple[str, ...] = ()


def job_files(paths: Sequence[Path]) -> list[Path]:
    """Return the job files that the paths stand for: files as they are, folders as the jobs in them.

    A job is a job file or a filled estimating workbook; other workbooks in a folder are passed over.

    Parameters
    ----------
    paths
        Files and folders.

    Raises
    ------
    InputError
        A folder without a job file, or no path at all.
    """
    found: list[Path] = []
    for path in paths:
        if path.is_dir():
            inside = sorted(entry for entry in path.iterdir() if _is_job(entry))
            if not inside:
                raise InputError("the folder holds no job file (*.toml) and no filled workbook", where=str(path))
            found += inside
        else:
            found.append(path)
    if not found:
        raise InputError("no job is named; give at least one job file or a folder of them")
    return list(dict.fromkeys(found))


def _is_job(entry: Path) -> bool:
    if entry.suffix.casefold() in WORKBOOKS:
        return not entry.name.startswith("~$") and holds_job(entry)  # ~$ marks a file that is open in Excel
    return entry.suffix == ".toml"


def quote_file(job: Path, book: PriceBook | None, out: Path, *, pdf: bool = False, only_new: bool = False) -> Outcome:
    """Return what became of one job: its workbooks in the folder, or why there are none.

    Parameters
    ----------
    job
        A job file, a filled workbook, or the office file of a quote, which is made again as it was.
    book
        The owner's prices; None for those in the workbook itself.
    out
        The folder for the workbooks; made where it is missing.
    pdf
        Whether the workbooks of client and crew are also turned into PDF.
    only_new
        Whether a job is left out whose number has a finished quote in the folder.
    """
    try:
        priced = _priced(job, book)
        if only_new and is_quoted(out, priced.job.number):
            return Outcome(job, left_out=True)
        files = write_quote(priced, out)
        notes = _doubts(job, priced) if book is None else ()
    except BasecalcError as refusal:
        return Outcome(job, refusal=str(refusal))
    try:
        if not pdf:
            return Outcome(job, priced, files, notes=notes)
        client, crew = write_pdfs((files.client, files.crew))
        return Outcome(job, priced, files, client, crew_pdf=crew, notes=notes)
    except BasecalcError as refusal:  # the workbooks are there all the same
        return Outcome(job, priced, files, refusal=str(refusal), notes=notes)


def _doubts(job: Path, priced: Quote) -> tuple[str, ...]:
    """Return where a filled workbook shows something else than the quote made from it."""
    if not is_workbook(job) or not holds_job(job):
        return ()
    differs = other_total(job, priced.offer.total)
    return (*((differs,) if differs else ()), *map(str, pasted_over(job)))


def _priced(job: Path, book: PriceBook | None) -> Quote:
    """Return the quote of a job, or the one that an office file holds, made again as it was."""
    if not (is_workbook(job) and holds_quote(job)):
        return quote(load_job(job), own_prices(job) if book is None else book)
    if book is not None:
        raise InputError(
            "this is the office file of a quote, which is made again at its own prices; leave out --prices, or give "
            "the job file to quote it at other ones",
            where=str(job),
        )
    return load_quote(job).quote


def quote_files(
    jobs: Sequence[Path],
    prices: Path | None,
    out: Path,
    *,
    pdf: bool = False,
    workers: int = 1,
    only_new: bool = False,
) -> Iterator[Outcome]:
    """Yield what became of each job, in the order given; a refused job does not stop the others.

    Parameters
    ----------
    jobs
        Job files and filled workbooks.
    prices
        The owner's price workbook, read once; None where every job is a filled workbook and brings its own.
    out
        The folder for the workbooks.
    pdf
        Whether the workbooks of client and crew are also turned into PDF.
    workers
        How many processes share the work.
    only_new
        Whether jobs are left out that have a finished quote in the folder.

    Raises
    ------
    InputError
        There is no price workbook, and a job file needs one.
    PriceError, WorkbookError
        The price workbook cannot be used; nothing is written.
    """
    if prices is None:
        for job in jobs:
            _require_own_prices(job)
    book = None if prices is None else load_prices(prices)
    if pdf:
        _soffice()
    one = partial(quote_file, book=book, out=out, pdf=pdf, only_new=only_new)
    if workers == 1 or len(jobs) == 1:
        yield from map(one, jobs)
        return
    with ProcessPoolExecutor(min(workers, len(jobs)), initializer=_end_with, initargs=(os.getpid(),)) as pool:
        yield from pool.map(one, jobs)


def _end_with(parent: int) -> None:
    """Let this worker end when the process that started it is gone, even if that was killed without a word."""

    def watch() -> None:
        while os.getppid() == parent:
            sleep(1)
        os._exit(1)

    Thread(target=watch, daemon=True).start()


def open_elsewhere(prices: Path) -> str:
    """Return a sentence where a spreadsheet program has the price workbook open, for what it has not saved is not used.

    Parameters
    ----------
    prices
        The owner's price workbook.

    Returns
    -------
    str
        Nothing where no lock file stands beside it.
    """
    lock = lock_of(prices)
    if lock is None:
        return ""
    return f"{prices} seems open in a spreadsheet program ({lock.name} is beside it): what was last saved is used"


def own_prices(job: Path) -> PriceBook:
    """Return the prices that a filled workbook brings along.

    Parameters
    ----------
    job
        A filled workbook.

    Raises
    ------
    InputError
        It is a job file, which has none.
    PriceError, WorkbookError
        What is wrong with them.
    """
    _require_own_prices(job)
    return load_prices(job)


def _require_own_prices(job: Path) -> None:
    if not is_workbook(job):
        if not job.exists():
            raise WorkbookError("there is no such file", where=str(job))
        raise InputError(
            "a job file has no prices; name the owner's price workbook with --prices "
            "('basecalc template prices.xlsx' makes one)",
            where=str(job),
        )


def _soffice() -> str:
    program = shutil.which("soffice") or shutil.which("libreoffice")
    if program is None:
        raise WorkbookError("a PDF needs LibreOffice, and no soffice command was found; install it or leave out --pdf")
    return program


def write_pdfs(workbooks: Sequence[Path]) -> list[Path]:
    """Return the paths of PDFs made of workbooks by an installed LibreOffice, each beside its workbook: all or none.

    Parameters
    ----------
    workbooks
        The files to turn into pages, all with names of their own.

    Raises
    ------
    WorkbookError
        LibreOffice is not installed, made no PDF in two minutes, or one of the PDFs is there already.
    """
    targets = [workbook.with_suffix(".pdf") for workbook in workbooks]
    for target in targets:
        if target.exists():
            raise WorkbookError("the PDF exists already and is not replaced", where=str(target))
    with tempfile.TemporaryDirectory() as scratch:
        profile = Path(scratch, "profile")
        command = [_soffice(), f"-env:UserInstallation={profile.as_uri()}", "--headless", "--convert-to", "pdf"]
        sources = [str(workbook.resolve()) for workbook in workbooks]
        try:
            subprocess.run([*command, "--outdir", scratch, *sources], capture_output=True, timeout=120, check=False)
        except subprocess.TimeoutExpired:
            raise WorkbookError("LibreOffice did not finish the PDF in 120 s", where=sources[0]) from None
        made = [Path(scratch, target.name) for target in targets]
        for one, workbook in zip(made, workbooks, strict=True):
            if not one.exists():
                raise WorkbookError("LibreOffice made no PDF of it", where=str(workbook))
        try:
            write_new({target: one.read_bytes() for target, one in zip(targets, made, strict=True)})
        except FileExistsError:
            raise WorkbookError("the PDF exists already and is not replaced", where=str(targets[0])) from None
        except OSError as error:
            raise WorkbookError(f"the PDF cannot be written: {reason(error)}", where=str(targets[0])) from None
    return targets
