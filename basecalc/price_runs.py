"""Prices over time: what changed since an older workbook, and what the new prices do to quotes that are out."""

import json
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import Any

from basecalc.core.errors import BasecalcError, Place, WorkbookError
from basecalc.core.numbers import printed
from basecalc.core.words import money
from basecalc.estimating.read_job import is_workbook
from basecalc.pricing.archive import holds_quote, load_quote
from basecalc.pricing.price_changes import PriceChange, old_numbers, old_prices, old_words, price_changes
from basecalc.pricing.prices import PriceBook, far_prices, load_prices
from basecalc.pricing.quote import quote
from basecalc.render.save import client_of, is_finished, office_files


@dataclass(frozen=True, slots=True)
class Repriced:
    """A quote that is out, as it was made and at other prices; or the sentence that says why it cannot be told.

    Parameters
    ----------
    file
        The office's file.
    number, revision, client
        The quote as its file names it.
    quoted, now
        The total as quoted and at the other prices; None where it cannot be told.
    offered
        The option offered then, and the one that would be offered now.
    refusal
        Why it cannot be told; nothing where it can.
    """

    file: Path
    number: str = ""
    revision: int = 0
    client: str = ""
    quoted: Decimal | None = None
    now: Decimal | None = None
    offered: tuple[str, str] = ("", "")
    refusal: str = ""

    @property
    def difference(self) -> Decimal | None:
        """What the other prices add; None where it cannot be told."""
        return None if self.quoted is None or self.now is None else self.now - self.quoted

    @property
    def percent(self) -> float | None:
        """The same as a share of the quoted total [%]."""
        if self.difference is None or not self.quoted:
            return None
        return printed(float(self.difference / self.quoted) * 100)


@dataclass(frozen=True, slots=True)
class PriceReport:
    """A price workbook compared with an older one and with a folder of quotes; None for what was not asked."""

    book: PriceBook
    changes: tuple[PriceChange, ...] | None
    quotes: tuple[Repriced, ...] | None


def reprice(folder: str | Path, book: PriceBook) -> tuple[Repriced, ...]:
    """Return every quote of a folder as it was made and at other prices, by the office files in it.

    Parameters
    ----------
    folder
        Where quotes are kept.
    book
        The other prices.

    Raises
    ------
    WorkbookError
        The folder is not there, cannot be read, or holds no office file.
    """
    files = office_files(Path(folder))
    if not files:
        raise WorkbookError("the folder holds no office file of a quote (*-office.xlsx)", where=Place(str(folder)))
    return tuple(_repriced(path, book) for path, _ in files)


def unfinished(office: Path) -> str:
    """Return why an office file whose client file is not beside it is not counted."""
    return (
        f"{office}: not counted as a quote; its client file ({client_of(office).name}) is missing or empty, so this "
        "revision was never finished, or that file was moved"
    )


def _repriced(path: Path, book: PriceBook) -> Repriced:
    if not is_finished(path):
        return Repriced(path, refusal=unfinished(path))
    try:
        kept = load_quote(path)
    except BasecalcError as refusal:
        return Repriced(path, refusal=str(refusal))
    was, job = kept.quote, kept.quote.job
    try:
        now = quote(job, book)
    except BasecalcError as refusal:
        return Repriced(
            path, job.number, kept.revision, job.client, was.offer.total, refusal=f"at the new prices: {refusal}"
        )
    return Repriced(
        path, job.number, kept.revision, job.client, was.offer.total, now.offer.total, (was.offered, now.offered)
    )


def price_report(file: Path, against: Path | None, quotes: Path | None) -> PriceReport:
    """Return a price workbook compared with an older one and with a folder of quotes."""
    for one in (file, against):
        if one is not None and not is_workbook(one):
            raise WorkbookError(
                "it must be a price workbook (.xlsx) to compare with prices or quotes", where=Place(str(one))
            )
    book = load_prices(file)
    changes = None if against is None else price_changes(book, load_prices(against))
    return PriceReport(book, changes, None if quotes is None else reprice(quotes, book))


def price_printed(file: Path, against: Path | None, quotes: Path | None, *, as_json: bool) -> str:
    """Return a report on prices as the command line prints it."""
    report = price_report(file, against, quotes)
    return json.dumps(price_numbers(report), indent=2) if as_json else price_text(report)


def far_prices_in(file: Path, against: Path | None) -> tuple[str, ...]:
    """Return a sentence for each price that is many times, or a fraction of, that of an older workbook."""
    if against is None:
        return ()
    return tuple(str(one) for one in far_prices(load_prices(file), load_prices(against)))


def old_prices_in(file: Path) -> tuple[str, ...]:
    """Return a sentence on the old prices of a sound price workbook; none where it has none, or is another file."""
    if not is_workbook(file) or holds_quote(file):
        return ()
    book = load_prices(file)
    words = old_words(old_prices(book), book.company)
    return (f"{file}: {words}",) if words else ()


def price_text(report: PriceReport) -> str:
    """Return a report on prices as lines of text."""
    rows: list[str] = []
    if report.changes is not None:
        rows += ["What changed:"] if report.changes else ["Nothing changed."]
        rows += columns([_change(one) for one in report.changes])
    if report.quotes is not None:
        rows += [*([""] if rows else []), "The quotes, as made and at these prices:"]
        rows += columns([_quote(one) for one in report.quotes if not one.refusal])
        rows += [f"  {one.refusal}" for one in report.quotes if one.refusal]
    return "\n".join(rows)


def _change(one: PriceChange) -> tuple[str, ...]:
    percent = "" if one.percent is None else f"{one.percent:+.1f} %"
    then = one.new if not one.old or one.new == "removed" else f"{one.old} -> {one.new or 'removed'}"
    return one.kind, one.what, then, percent


def _quote(one: Repriced) -> tuple[str, ...]:
    if one.quoted is None or one.now is None or one.difference is None:
        return ()
    sign = "+" if one.difference >= 0 else ""
    percent = "" if one.percent is None else f"{one.percent:+.1f} %"
    other = "" if one.offered[0] == one.offered[1] else f"offered {one.offered[1]} instead of {one.offered[0]}"
    moved = (f"{sign}{money(one.difference)}", percent) if one.difference else ("no change", "")
    return f"{one.number}-r{one.revision}", one.client, money(one.quoted), "->", money(one.now), *moved, other


def columns(rows: Sequence[Sequence[str]]) -> list[str]:
    """Return rows of words in columns."""
    wide = [max(map(len, column)) for column in zip(*rows, strict=True)]
    return ["  " + "  ".join(map(str.ljust, row, wide)).rstrip() for row in rows]


def price_numbers(report: PriceReport) -> dict[str, Any]:
    """Return a report on prices as plain values."""
    numbers: dict[str, Any] = {"problems": [], "old_prices": old_numbers(old_prices(report.book))}
    if report.changes is not None:
        numbers["changes"] = [
            {"kind": one.kind, "what": one.what, "old": one.old, "new": one.new, "percent": one.percent}
            for one in report.changes
        ]
    if report.quotes is not None:
        numbers["quotes"] = [
            {
                "file": str(one.file),
                "number": one.number or None,
                "revision": one.revision or None,
                "quoted_total": None if one.quoted is None else str(one.quoted),
                "new_total": None if one.now is None else str(one.now),
                "difference": None if one.difference is None else str(one.difference),
                "percent": one.percent,
                "offered": one.offered[0] or None,
                "offered_now": one.offered[1] or None,
                "refusal": one.refusal or None,
            }
            for one in report.quotes
        ]
    return numbers
