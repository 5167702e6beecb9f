"""The latest finished quote of a number in a folder: whose it is, and what has changed since it was made."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from decimal import Decimal, InvalidOperation
from pathlib import Path
from typing import Any, Final

from basecalc.core.errors import BasecalcError
from basecalc.job import Job
from basecalc.pricing.archive import kept_job, kept_tables, quoted_tables, toml_lines, toml_tables
from basecalc.pricing.records import Quote
from basecalc.workbook.figures import money
from basecalc.workbook.save import QuoteFiles, last_finished, revision_files

JOB: Final = "the job"
PRICES: Final = "the prices"
PROGRAM: Final = "basecalc itself"
_PRICED_BY: Final = ("company", "prices")


@dataclass(frozen=True, slots=True)
class LastQuote:
    """The latest finished revision of a quote, by what its office file keeps."""

    files: QuoteFiles
    name: str
    tables: Mapping[str, Any]
    unread: str = ""

    def other_client(self, job: Job) -> str:
        """Return whose quote it is, where that is not the client and the site of a job."""
        return other_client(self.tables, job)

    def changes(self, quote: Quote) -> tuple[str, ...]:
        """Return what is not as it was when the quote was made; nothing where it would be the same quote again."""
        try:
            now = toml_tables(toml_lines(kept_tables(quote, self.files.revision)))
            was = kept_job(self.tables, str(self.files.office))
        except BasecalcError:
            return (JOB,)
        found = [] if replace(was, source_path="") == replace(quote.job, source_path="") else [JOB]
        if any(self.tables.get(key) != now.get(key) for key in _PRICED_BY):
            found.append(PRICES)
        if not found and (self._said("offered"), self.total) != (quote.offered, quote.offer.total):
            found.append(PROGRAM)
        return tuple(found)

    def since(self, quote: Quote) -> str:
        """Return what changed since and what it does to the price; nothing where the client would get the same."""
        if self.unread:
            return f"whether {self.name} is still what the job comes to cannot be seen: {self.unread}"
        found = [one for one in self.changes(quote) if one == JOB or self.total != quote.offer.total]
        if not found:
            return ""
        then = "" if self.total is None else money(self.total)
        moved = (
            f"{then} then, {money(quote.offer.total)} now" if self.total != quote.offer.total else f"{then} as before"
        )
        return (
            f"{' and '.join(found)} changed since {self.name} was quoted ({moved}); it is left as it is. Quote it "
            "without --only-new for a new revision"
        )

    @property
    def total(self) -> Decimal | None:
        """Its total; None where the office file does not say it."""
        try:
            return Decimal(str(self._said("total")))
        except InvalidOperation:
            return None

    def _said(self, key: str) -> Any:
        head = self.tables.get("quote")
        return head.get(key) if isinstance(head, Mapping) else None


def other_client(tables: Mapping[str, Any], job: Job) -> str:
    """Return client and site of a kept quote where they are not those of a job; nothing where they are."""
    kept = tables.get("job")
    if not isinstance(kept, Mapping):
        return ""
    client, site = str(kept.get("client", "")), str(kept.get("site", ""))
    return "" if _plain(client, site) == _plain(job.client, job.site) else f"{client}, {site}"


def _plain(*words: str) -> list[str]:
    """Return words as they are compared: without regard to case, spaces and points."""
    return [" ".join(word.replace(".", " ").replace(",", " ").split()).casefold() for word in words]


def last_quote(folder: Path, number: str) -> LastQuote | None:
    """Return the latest finished revision of a quote number in a folder; None where there is none."""
    revision = last_finished(folder, number)
    if not revision:
        return None
    files, name = revision_files(folder, number, revision), f"{number}-r{revision}"
    try:
        return LastQuote(files, name, quoted_tables(files.office))
    except BasecalcError as refusal:
        return LastQuote(files, name, {}, str(refusal))
