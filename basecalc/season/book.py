"""The book of quotes: every quote of a folder by its office file, with its state, its money, and what to do today."""

import re
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import asdict, dataclass, replace
from datetime import date, timedelta
from decimal import Decimal, InvalidOperation
from pathlib import Path
from typing import Any, Final

from basecalc.core.errors import BasecalcError, InputError, Place, WorkbookError
from basecalc.core.files import reason
from basecalc.core.numbers import brief, plural, printed, quoted
from basecalc.core.words import OPTION_WORDS, money
from basecalc.price_runs import columns, unfinished
from basecalc.pricing.archive import (
    CHANGE_TITLE,
    change_again,
    kept_job,
    kept_options,
    quote_again,
    quote_mark,
    quoted_tables,
)
from basecalc.pricing.records import Quote
from basecalc.render.save import file_stem, holds_something, is_finished
from basecalc.season.actuals import Signed
from basecalc.season.lists import Result, read_records, rule

SIGNED_STATES: Final = ("signed", "built")
_OFFICE: Final = re.compile(
    r"(?P<stem>.+)-r(?P<revision>\d{1,6})(-change(?P<change>\d{1,6}))?-office\.xlsx", re.IGNORECASE
)
_PAPER: Final = re.compile(r"(.+-r\d{1,6}(-change\d{1,6})?)(-quote|-crew)?\.xlsx", re.IGNORECASE)
Tables = Mapping[str, Any]


@contextmanager
def _kept(path: Path, what: str = "quote") -> Iterator[None]:
    """Name the file of whatever is refused of what it keeps."""
    try:
        yield
    except BasecalcError as refusal:
        raise (refusal if refusal.place.file else refusal.at(Place(str(path)))) from None
    except (KeyError, TypeError, ValueError, InvalidOperation):
        raise InputError(f"what was kept of this {what} is not whole", where=Place(str(path))) from None


def _kept_tables(path: Path) -> Tables:
    """Return what an office file keeps of its quote, which must be the one that its name says, where that names one."""
    tables, name = quoted_tables(path), _OFFICE.fullmatch(path.name)
    with _kept(path):
        number = str(tables["quote"]["number"])
        if name and file_stem(number).casefold() != file_stem(name["stem"]).casefold():
            raise InputError(f"its name says {quoted(name['stem'])}, and it keeps the quote {quoted(number)}")
    return tables


@dataclass(frozen=True, slots=True)
class Filed:
    """What a folder holds of one quote number: finished revisions, each with its change orders, by number."""

    number: str
    revisions: Mapping[int, Path]
    changes: Mapping[int, Mapping[int, Path]]
    latest: Tables

    def chosen(self, result: Result | None) -> tuple[int, int]:
        """Return the revision that counts and its change order that was signed, 0 where none was.

        The revision is the one that the list of results names, else the last that has a change order, else the last.
        """
        revision = (result.revision if result else 0) or max(self.changes or self.revisions)
        place = result.change if result else 0
        for what, number, there in (
            ("revision", revision, self.revisions), ("change order", place, self.changes.get(revision, {})),
        ):  # fmt: skip
            if number and number not in there:
                has = ", ".join(map(str, sorted(there))) or "none"
                raise InputError(
                    f"{what} {number} of {self.number} is not in the folder; there is {has}",
                    where=result.where if result else "",
                )
        return revision, place

    def unclear(self, result: Result | None) -> bool:
        """Return whether nothing says which of several revisions was signed."""
        return len(self.revisions) > 1 and not self.changes and not (result and result.revision)

    def tables(self, revision: int) -> Tables:
        """Return what the office file of a revision keeps."""
        return self.latest if revision == max(self.revisions) else _kept_tables(self.revisions[revision])

    def change(self, revision: int, place: int, signed: Tables) -> Tables:
        """Return what the office file of a change order keeps, which must be of this signed quote."""
        path = self.changes[revision][place]
        kept = quoted_tables(path, CHANGE_TITLE)
        head = kept.get("change")
        if not isinstance(head, Mapping) or head.get("signed") != quote_mark(signed):
            raise InputError(
                "this change order was not taken from the quote beside it in the folder", where=Place(str(path))
            )
        return kept

    def signed(self, result: Result | None) -> Signed:
        """Return the quote and the change order that were signed, each made again as it was."""
        revision, place = self.chosen(result)
        tables = self.tables(revision)
        quote, order = self._again(revision, tables), None
        notes = [
            f"Change order {number} is not signed by the list of results, so it is not in the plan"
            for number in self.changes.get(revision, {}) if number > place
        ]  # fmt: skip
        if self.unclear(result):
            notes.append(f"Taken as signed: revision {revision}, the last; the list of results may name another")
        if place:
            with _kept(self.changes[revision][place], "change order"):
                order = change_again(quote, self.change(revision, place, tables))
        return Signed(quote, order, tuple(notes))

    def _again(self, revision: int, tables: Tables) -> Quote:
        path = self.revisions[revision]
        with _kept(path):
            return quote_again(tables, str(path)).quote

    def entry(self, result: Result | None, day: date, not_counted: list[str]) -> "Entry":
        """Return the quote as the book lists it."""
        revision, signed = self.chosen(result)
        tables, path = self.tables(revision), self.revisions[revision]
        with _kept(path):
            job = kept_job(tables, str(path))
            # files of older versions lack the options
            options = tables.get("options") or kept_options(self._again(revision, tables))
            option = (result.built if result else "") or tables["quote"]["offered"]
            valid = job.date + timedelta(days=int(tables["company"]["valid_days"])) if job.date else None
        if result is not None and option not in options:
            raise InputError(
                f"{self.number} is said to be built as {OPTION_WORDS.get(option, option)!r}, and its quote has no such "
                "option",
                where=result.where,
            )
        with _kept(path):
            spent = _spent(options[option])
        changes: list[Change] = []
        for number, file in sorted(self.changes.get(revision, {}).items()):
            try:
                with _kept(file, "change order"):
                    head = self.change(revision, number, tables)["change"]
                    changes.append(Change(number, head.get("written"), Decimal(head["adds"]), number == signed))
                    if number == signed:
                        spent, option = _spent(head), head["option"]
            except BasecalcError as refusal:
                if number == signed:
                    raise
                not_counted.append(str(refusal))
        entry = Entry(
            self.number, revision, job.client, job.site, job.date, valid, option, *spent,
            result.state if result else "sent", result.day if result else None, result.reason if result else "",
            tuple(changes), path,
        )  # fmt: skip
        if self.unclear(result) and entry.state in SIGNED_STATES:
            return replace(entry, to_do="the list of results does not say which revision was signed")
        return replace(entry, to_do=_to_do(entry, day))


def _spent(kept: Tables) -> tuple[Decimal, Decimal, Decimal]:
    """Return total, tax and cost."""
    return Decimal(kept["total"]), Decimal(kept["tax"]), Decimal(kept["cost"])


def quotes_in(place: str | Path) -> tuple[list[Filed], list[str]]:
    """Return the quotes of a folder by number, or the one of an office file, and a sentence on each file left out."""
    place = Path(place)
    folder = place if place.is_dir() else place.parent
    own = _OFFICE.fullmatch(place.name) if place != folder else None
    if place != folder and own is None:  # an office file under a name of the user's
        tables = _kept_tables(place)
        return [Filed(str(tables["quote"]["number"]), {int(tables["quote"]["revision"]): place}, {}, tables)], []
    try:
        paths = sorted(entry for entry in folder.iterdir() if not entry.name.startswith(("~$", ".")))
    except OSError as error:
        raise WorkbookError(f"the folder cannot be read: {reason(error)}", where=Place(str(folder))) from None
    stems: dict[str, tuple[dict[int, Path], dict[int, dict[int, Path]]]] = {}
    left_out: list[str] = []
    for path in paths:
        if match := _OFFICE.fullmatch(path.name):
            stem, revision = match["stem"].casefold(), int(match["revision"])
            if own and (stem, revision) != (own["stem"].casefold(), int(own["revision"])):
                continue
            revisions, changes = stems.setdefault(stem, ({}, {}))
            if match["change"]:
                changes.setdefault(revision, {})[int(match["change"])] = path
            elif is_finished(path) or path == place:
                revisions[revision] = path
            else:
                left_out.append(unfinished(path))
        elif path.suffix.casefold() in (".xlsx", ".xlsm") and not own:
            paper = _PAPER.fullmatch(path.name)
            if paper is None:
                left_out.append(f"{path}: not a file of a quote")
            elif not holds_something(folder / f"{paper[1]}-office.xlsx"):
                left_out.append(f"{path}: its office file ({paper[1]}-office.xlsx) is missing or empty")
    filed: list[Filed] = []
    for revisions, changes in stems.values():
        for revision in changes.keys() - revisions.keys():
            left_out += [
                f"{path}: the quote it changes is not in the folder" for path in changes.pop(revision).values()
            ]
        if revisions:
            try:
                tables = _kept_tables(revisions[max(revisions)])
            except BasecalcError as refusal:
                others = "; the quote's other revisions are not counted either" if len(revisions) > 1 else ""
                left_out.append(f"{refusal}{others}")
            else:
                filed.append(Filed(str(tables["quote"]["number"]), revisions, changes, tables))
    return filed, left_out


@dataclass(frozen=True, slots=True)
class Change:
    """A change order of a quote: its number, day, what it adds, and whether it is signed."""

    place: int
    day: date | None
    adds: Decimal
    signed: bool


@dataclass(frozen=True, slots=True)
class Entry:
    """One quote of the book; total, tax and cost are those of the option signed, with the change order signed."""

    number: str
    revision: int
    client: str
    site: str
    written: date | None
    valid_until: date | None
    option: str
    total: Decimal
    tax: Decimal
    cost: Decimal
    state: str
    day: date | None
    reason: str
    changes: tuple[Change, ...]
    file: Path
    to_do: str = ""

    @property
    def state_words(self) -> str:
        """The state, since when and why."""
        since = f"{self.state} {self.day}" if self.day else self.state
        return f"{since}: {self.reason}" if self.reason else since

    @property
    def standing(self) -> tuple[Change, ...]:
        """The change order signed and those written since; each takes the place of the ones before it."""
        signed = [place for place, change in enumerate(self.changes) if change.signed]
        return self.changes[signed[0] :] if signed else self.changes[-1:]

    @property
    def margin(self) -> float | None:
        """Price before tax less cost, as a share of the price; None for a quote of nothing."""
        before_tax = self.total - self.tax
        return float((before_tax - self.cost) / before_tax) if before_tax else None


@dataclass(frozen=True, slots=True)
class Sum:
    """Some quotes of the book together: all of a month, or all of an option."""

    name: str
    entries: tuple[Entry, ...]

    def of(self, *states: str) -> tuple[int, Decimal]:
        """Return how many are in these states, and their total; of all where none is named."""
        totals = [entry.total for entry in self.entries if not states or entry.state in states]
        return len(totals), sum(totals, Decimal("0.00"))

    def won(self, by: int = 0) -> float | None:
        """Return signed and built as a share of those decided, by number (0) or money (1); None where none is."""
        decided = self.of(*SIGNED_STATES, "lost")[by]
        return float(self.of(*SIGNED_STATES)[by] / decided) if decided else None


@dataclass(frozen=True, slots=True)
class Book:
    """The quotes of a folder on a day, and the files that are not counted, each with the reason."""

    folder: str
    company: str
    units: str
    day: date
    entries: tuple[Entry, ...]
    not_counted: tuple[str, ...]

    __repr__ = brief

    @property
    def to_do(self) -> tuple[Entry, ...]:
        """The quotes that ask for something today, the first to run out on top."""
        waiting = (entry for entry in self.entries if entry.to_do)
        return tuple(sorted(waiting, key=lambda entry: entry.valid_until or self.day))

    @property
    def whole(self) -> Sum:
        """All quotes together."""
        return Sum("all", self.entries)

    @property
    def months(self) -> tuple[Sum, ...]:
        """The quotes by the month they were written in."""
        return self._by(lambda entry: f"{entry.written:%Y-%m}" if entry.written else "no date")

    @property
    def options(self) -> tuple[Sum, ...]:
        """The quotes by the option offered or signed."""
        return self._by(lambda entry: OPTION_WORDS[entry.option])

    def _by(self, name: Callable[[Entry], str]) -> tuple[Sum, ...]:
        groups: dict[str, list[Entry]] = {}
        for entry in self.entries:
            groups.setdefault(name(entry), []).append(entry)
        return tuple(Sum(key, tuple(groups[key])) for key in sorted(groups))


def load_book(folder: str | Path, results: str | Path | None = None, day: date | None = None) -> Book:
    """Return the book of the quotes in a folder, by their office files.

    Parameters
    ----------
    folder
        Where quotes are kept; nothing in it is written.
    results
        The list of results (.csv); results.csv in the folder where it is left out and there is one.
    day
        The day the book is read for; today where it is left out.

    Raises
    ------
    WorkbookError
        The folder cannot be read, or holds no quote.
    InputError
        The list of results cannot be used; the message names the row.

    Examples
    --------
    Who is to be called today::

        for entry in load_book("quotes").to_do:
            print(entry.client, entry.to_do)
    """
    folder, day = Path(folder), day or date.today()
    if not folder.is_dir():
        raise WorkbookError("it must be a folder of quotes", where=Place(str(folder)))
    if results is None and (folder / "results.csv").is_file():
        results = folder / "results.csv"
    filed, not_counted = quotes_in(folder)
    numbers = [quote.number for quote in filed]
    said = {} if results is None or not filed else read_records([results], numbers, None).results
    entries: list[Entry] = []
    for quote in filed:
        result = said.get(quote.number)
        try:
            entries.append(quote.entry(result, day, not_counted))
        except BasecalcError as refusal:
            if result is not None and refusal.where == result.where:
                raise  # the list is wrong, not the file
            not_counted.append(str(refusal))
    if not entries:
        raise WorkbookError(
            "the folder holds no finished quote" + "".join(f"; {words}" for words in not_counted[:1]),
            where=Place(str(folder)),
        )
    company = filed[-1].latest.get("company", {})
    return Book(
        str(folder), str(company.get("name", "")), str(company.get("units", "us")), day,
        tuple(sorted(entries, key=_order)), tuple(not_counted),
    )  # fmt: skip


def _to_do(entry: Entry, day: date) -> str:
    """Return what to do about a quote on a day; nothing where it can wait."""
    if entry.state == "lost":
        return ""
    waiting = [change for change in entry.changes[-1:] if not change.signed]
    if waiting:
        word = f"change order {waiting[0].place} ({money(waiting[0].adds)}) is not signed"
        return word if entry.state != "sent" else f"{word}, and the quote is not marked signed"
    if entry.state != "sent":
        return ""
    if entry.valid_until is None:
        return "has no date, so it never runs out: call"
    left = (entry.valid_until - day).days
    if left < 0:
        return f"ran out {plural(-left, 'day')} ago: renew it or mark it lost"
    if left <= rule("days before a quote runs out"):
        return f"runs out in {plural(left, 'day')}: call" if left else "runs out today: call"
    heard = entry.day or entry.written
    silent = (day - heard).days if heard else 0
    return f"no answer for {plural(silent, 'day')}: call" if silent >= rule("days to the next call") else ""


def next_number(book: Book) -> str:
    """Return the number for the next quote: that of the last, its digits counted on past all in the folder."""
    last = max(book.entries, key=_order).number if book.entries else ""
    match = re.fullmatch(r"(.*?)(\d+)(\D*)", last)
    if match is None:
        raise InputError(
            "no quote here has a number that ends in digits, so none can be counted on", where=Place(book.folder)
        )
    first, digits, end = match.groups()
    same = re.compile(re.escape(first) + r"(\d+)" + re.escape(end), re.IGNORECASE)
    stems = (re.match(r"(.+?)-r\d{1,6}[-.]", path.name) for path in Path(book.folder).iterdir())
    names = [entry.number for entry in book.entries] + [stem[1] for stem in stems if stem]
    highest = max(int(digit[1]) for name in names if (digit := same.fullmatch(name)))
    return f"{first}{highest + 1:0{len(digits)}d}{end}"


def _order(entry: Entry) -> tuple[str, str]:
    return str(entry.written or ""), entry.number


def book_text(book: Book) -> str:
    """Return the book as lines of text: what to do today, every quote, totals by month and by option."""
    whole = book.whole
    counts = ", ".join(f"{whole.of(state)[0]} {state}" for state in ("sent", "signed", "built", "lost"))
    rows = [f"{book.company}, {book.day}: {plural(len(book.entries), 'quote')}, {money(whole.of()[1])}; {counts}"]
    if whole.won() is not None:
        rows[0] += f"; won {whole.won():.0%} of those decided, {_percent(whole.won(1))} of their money"
    if book.to_do:
        rows += ["", "To do today:", *columns([(entry.number, entry.client, entry.to_do) for entry in book.to_do])]
    rows += ["", "Quotes:", *columns([HEADINGS, *map(_cells, book.entries)])]
    for title, sums in (("By month written:", book.months), ("By option:", book.options)):
        head = ("", "quotes", "total", "sent", "signed", "lost", "won", "of the money")
        rows += ["", title, *columns([head, *map(_sum_cells, sums)])]
    if book.not_counted:
        rows += ["", "Not counted:", *(f"  {words}" for words in book.not_counted)]
    return "\n".join(rows)


HEADINGS: Final = (
    "number", "client", "site", "total", "margin", "written", "valid until", "option", "changes", "state",
)  # fmt: skip


def _cells(entry: Entry) -> tuple[str, ...]:
    changes = (
        f"{change.place}: {money(change.adds)}{'' if change.signed else ' not signed'}" for change in entry.standing
    )
    return (
        f"{entry.number}-r{entry.revision}", entry.client, entry.site, money(entry.total), _percent(entry.margin),
        str(entry.written or ""), str(entry.valid_until or ""), OPTION_WORDS[entry.option], ", ".join(changes),
        entry.state_words,
    )  # fmt: skip


def _sum_cells(quotes: Sum) -> tuple[str, ...]:
    states = (quotes.of("sent"), quotes.of(*SIGNED_STATES), quotes.of("lost"))
    count, total = quotes.of()
    return (
        quotes.name, str(count), money(total), *(f"{few} {money(some)}" for few, some in states),
        _percent(quotes.won()), _percent(quotes.won(1)),
    )  # fmt: skip


def _percent(share: float | None) -> str:
    return "" if share is None else f"{share:.1%}"


_KEYS: Final = (
    "number", "revision", "client", "site", "written", "valid_until", "state", "day", "reason", "option", "total",
    "tax", "cost", "margin", "to_do", "file",
)  # fmt: skip


def book_numbers(book: Book) -> dict[str, Any]:
    """Return the book as plain values. These are the office's numbers, not for the client."""
    try:
        following: str | None = next_number(book)
    except InputError:
        following = None
    return {
        "folder": book.folder,
        "day": str(book.day),
        "quotes": [
            plain({key: None if (value := getattr(entry, key)) == "" else value for key in _KEYS})
            | {"changes": [plain(asdict(change)) for change in entry.changes]}
            for entry in book.entries
        ],
        "months": list(map(_sum_numbers, book.months)),
        "options": list(map(_sum_numbers, book.options)),
        "all": _sum_numbers(book.whole),
        "not_counted": list(book.not_counted),
        "next": following,
    }


def plain(values: Mapping[str, Any]) -> dict[str, Any]:
    """Return values as --json prints them: money, days and paths as text."""
    numbers = {key: printed(value) for key, value in values.items() if isinstance(value, float)}
    return {
        key: numbers.get(key, value if value is None or isinstance(value, int) else str(value))
        for key, value in values.items()
    }


def _sum_numbers(quotes: Sum) -> dict[str, Any]:
    groups = {"all": (), "sent": ("sent",), "signed": SIGNED_STATES, "lost": ("lost",)}
    sums = {name: quotes.of(*states) for name, states in groups.items()}
    return {
        "name": quotes.name,
        **{name: {"quotes": count, "total": str(total)} for name, (count, total) in sums.items()},
        "won": quotes.won(),
        "won_money": quotes.won(1),
    }
