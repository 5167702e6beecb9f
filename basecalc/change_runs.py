"""From a job and the ground found to a change order on disk: which quote was signed, and what is printed about it."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import Any

from basecalc.core.errors import BasecalcError, InputError, Place
from basecalc.core.numbers import printed
from basecalc.core.units import INCH_M
from basecalc.core.words import money
from basecalc.crew_plan import base_words
from basecalc.estimating.read_job import is_workbook, load_job
from basecalc.job import Job
from basecalc.pricing.archive import holds_quote, load_quote, quoted_tables
from basecalc.pricing.changes import ChangeOrder, amounts, change_order, found_words, working_days
from basecalc.pricing.prices import load_prices
from basecalc.pricing.quote import quote
from basecalc.pricing.records import Quote
from basecalc.render.change_order import reference
from basecalc.render.save import (
    ChangeFiles,
    file_stem,
    holds_something,
    is_finished,
    office_files,
    other_client,
    same_change,
    write_change,
)
from basecalc.runs import QUOTES, own_prices, write_pdfs
from basecalc.workbook.new_file import claimed


@dataclass(frozen=True, slots=True)
class Signed:
    """The quote that a change is taken against, where it was found, and what must be known about that."""

    quote: Quote
    revision: int
    against: str
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Changed:
    """A change order, its files (none after a dry run), and what its difference is taken against."""

    order: ChangeOrder
    files: ChangeFiles | None
    signed: Signed
    pdfs: tuple[Path, ...] = ()
    unchanged: bool = False


def signed_quote(job: Path, prices: Path | None, out: Path) -> Signed:
    """Return the signed quote of a job: the office file, the latest one in the folder, or the job priced today."""
    if is_workbook(job) and holds_quote(job):
        if prices is not None:
            raise InputError(
                "this is the office file of a quote, whose change is priced at its own prices; leave out --prices",
                where=Place(str(job)),
            )
        return _kept(job)
    asked = load_job(job)
    found = _signed_file(out, asked, job)
    if found is not None:
        signed, notes = _kept(found), []
        if replace(asked, source_path="") != replace(signed.quote.job, source_path=""):
            notes.append(
                f"{job} is not the job that was quoted in {found}; the change is taken from the quote, not from {job}"
            )
        if prices is not None:
            notes.append(f"{prices} was not used: the signed quote in {found} has its own prices")
        return replace(signed, notes=tuple(notes))
    missing = f"no signed quote of {asked.number} was found in {out}"
    if prices is None and not is_workbook(job):
        raise InputError(
            f"{missing}; name its office file instead of the job, name the folder with --out, or give --prices to take "
            "the change against today's prices",
            where=Place(str(job)),
        )
    book = own_prices(job) if prices is None else load_prices(prices)
    note = f"{missing}: the change is taken against what the job costs at the prices in {book.path}"
    return Signed(quote(asked, book), 0, f"the job at the prices in {book.path}", (note,))


def _kept(office: Path) -> Signed:
    kept = load_quote(office)
    return Signed(kept.quote, kept.revision, f"the signed quote in {office}, at its own prices")


def _signed_file(out: Path, asked: Job, job: Path) -> Path | None:
    """Return the office file of the latest revision in a folder that is for the client and site of a job."""
    if not out.is_dir():
        return None
    stranger = ""
    for path, _ in reversed(office_files(out, asked.number)):
        if is_finished(path) and holds_quote(path):
            other = other_client(quoted_tables(path), asked)
            if not other:
                return path
            stranger = stranger or f"{path} is for {other}"
    if stranger:
        raise InputError(
            f"no quote of {asked.number} in {out} is for {asked.client}, {asked.site}: {stranger}; name the office "
            "file of the signed quote instead of the job",
            where=Place(str(job)),
        )
    return None


def change_job(
    job: Path,
    found: Sequence[str],
    prices: Path | None,
    out: Path | None = None,
    *,
    pdf: bool = False,
    again: bool = False,
    dry_run: bool = False,
    day: date | None = None,
) -> Changed:
    """Write the change order of a job on the ground found, and return it with its files.

    Without a folder it goes beside the office file that is named, or into quotes where a job is named instead.
    """
    words = found_words(found)
    out = out or (job.parent if is_workbook(job) and holds_quote(job) else QUOTES)
    signed = signed_quote(job, prices, out)
    try:
        order = change_order(signed.quote, words, signed.revision)
    except BasecalcError as refusal:
        raise (refusal if refusal.where else refusal.at(Place(str(job)))) from None
    if dry_run:
        return Changed(order, None, signed)
    with claimed(out, f"{file_stem(order.signed.job.number)}-r{order.revision}-change"):
        last = None if again else same_change(order, out)
        files = last or write_change(order, out, day)
    notes = list(signed.notes)
    if last:
        notes.append(f"change order {last.place} says the same already: nothing was written; --again writes a new one")
    elif files.place > 1 and order.revision:
        notes.append(
            f"this quote has a change order already; number {files.place} takes its place and is not added to it"
        )
    workbooks = (files.client, files.crew)
    pdfs = tuple(path.with_suffix(".pdf") for path in workbooks) if pdf else ()
    if pdf and not (last and all(map(holds_something, pdfs))):
        write_pdfs(workbooks)
    return Changed(order, files, replace(signed, notes=tuple(notes)), pdfs, last is not None)


def change_text(made: Changed) -> str:
    """Return a change order as a few lines of text."""
    order, units = made.order, made.order.signed.job.units
    old, new = order.signed.offer.takeoff, order.found.offer.takeoff
    place = f"change {made.files.place}" if made.files else "a change, priced and not written"
    rows = [f"{order.signed.job.number}  {place}, to {reference(order)}"]
    for name, ground in order.strengths.items():
        now, was = base_words(new.area(name), units, short=True), base_words(old.area(name), units, short=True)
        depths = f"base {now} instead of {was}"
        cbr = "" if ground.cbr is None else f" (CBR {ground.cbr:.2g})"
        rows.append(f"  {name}: found {ground.strength_class}{cbr}; {depths}")
    sign = "+" if order.total >= 0 else ""
    rows.append(
        f"  {sign}{money(order.total)}: {money(order.price)} with the change, less "
        f"{money(order.signed.offer.total)} in {made.signed.against}"
    )
    written = (made.files.client, made.files.office, made.files.crew) if made.files else ()
    rows += [f"  {path}" for path in (*written, *made.pdfs)]
    return "\n".join(rows)


def change_numbers(made: Changed) -> dict[str, Any]:
    """Return a change order as plain values. These are the office's numbers, not for the client."""
    order = made.order
    old, new = order.signed.offer.takeoff, order.found.offer.takeoff
    old_days, new_days, missed = working_days(order)
    return {
        "number": order.signed.job.number,
        "revision": order.revision or None,
        "change": made.files.place if made.files else None,
        "unchanged": made.unchanged,
        "against": made.signed.against,
        "notes": list(made.signed.notes),
        "signed_total": str(order.signed.offer.total),
        "found_total": str(order.price),
        "difference": str(order.total),
        "by_the_quotes_rate": str(sum(order.promised.values())) if order.promised else None,
        "promised": {name: str(price) for name, price in order.promised.items()},
        "priced_anew": dict(order.priced_anew),
        "real_difference": str(order.real),
        "areas": {
            name: {
                "found_class": ground.strength_class,
                "found_cbr_percent": ground.cbr,
                "base_signed_in": printed(old.area(name).base_m / INCH_M),
                "base_found_in": printed(new.area(name).base_m / INCH_M),
                "old_base_stays_signed_in": printed(old.area(name).kept_m / INCH_M),
                "old_base_stays_found_in": printed(new.area(name).kept_m / INCH_M),
            }
            for name, ground in order.strengths.items()
        },
        "lines": [
            {"line": one.title, "signed": str(one.signed), "found": str(one.found), "difference": str(one.difference)}
            for one in order.lines
        ],
        "amounts": [
            {"what": one.words, "kind": one.kind, "signed_si": one.signed, "found_si": one.found}
            for one in amounts(order)
        ],
        "working_days": {"signed": old_days, "found": new_days, "without_a_rate": list(missed)},
        "client_file": str(made.files.client) if made.files else None,
        "office_file": str(made.files.office) if made.files else None,
        "crew_file": str(made.files.crew) if made.files else None,
        "pdfs": [str(path) for path in made.pdfs],
    }
