"""A quote as plain tables, the job as entered and the records used, from which it can be made again to the cent."""

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from decimal import Decimal
from importlib.metadata import PackageNotFoundError, version
from typing import Any, Final

from pydantic import TypeAdapter, ValidationError

from basecalc.brief import brief
from basecalc.checks import shown
from basecalc.company import Company, settings
from basecalc.errors import BasecalcError, InputError
from basecalc.job import Job
from basecalc.job.read import checked_job, entered_again
from basecalc.pricing.prices import Price, PriceBook
from basecalc.pricing.quote import quote
from basecalc.pricing.record import Quote
from basecalc.rounding import CENT
from basecalc.validation import refusals, words

_JOB_TABLES: Final = ("job", "area", "spot")
# Tables of records, and those of their fields that may hold nothing, which a file of plain text leaves out.
_ROWS: Final[Mapping[str, tuple[str, ...]]] = {
    "stones": (), "pavers": (), "rolls": ("overlap_m",), "trucks": (), "rates": ("per_crew_hour", "per_machine_hour"),
    "traffics": (), "prices": ("priced_on", "minimum"),
}  # fmt: skip
ONE_LINE_ROWS: Final = ("prices", *(f"company.{key}" for key in _ROWS if key != "prices"))
_COMPANY: Final = TypeAdapter(Company)
_PRICES: Final = TypeAdapter(tuple[Price, ...])


@dataclass(frozen=True, slots=True)
class Kept:
    """A quote that was made again from what was kept of it.

    Parameters
    ----------
    quote
        The quote, equal to the one it was kept from.
    revision
        The revision it was kept with.
    made_by
        Version of basecalc that made it.
    """

    quote: Quote
    revision: int
    made_by: str

    __repr__ = brief


def basecalc_version() -> str:
    """Return the version of this program, or a word where it runs without being installed."""
    try:
        return version("basecalc")
    except PackageNotFoundError:
        return "not installed"


def kept_tables(quote: Quote, revision: int) -> dict[str, Any]:
    """Return what must be kept of a quote, as plain tables.

    Parameters
    ----------
    quote
        The priced job.
    revision
        Which revision of the quote it is.

    Raises
    ------
    InputError
        The job was not read from a file or a mapping, or was changed after it was read.
    """
    job, book = quote.job, quote.book
    given, _ = entered_again(job)
    logs = {spot.log: spot.log_text for spot in job.spots if spot.log}
    head = {
        "basecalc": basecalc_version(), "number": job.number, "revision": revision, "offered": quote.offered,
        "total": str(quote.offer.total), "prices_from": book.path,
    }  # fmt: skip
    company = asdict(replace(book.company, soils=dict(book.company.soils)))
    company |= {key: _numbered(company[key]) for key in _ROWS if key != "prices"}
    return {
        "quote": head,
        **{key: given[key] for key in _JOB_TABLES if key in given},
        "deeper": {name: list(prices) for name, prices in quote.deeper.areas.items()},
        **({"log": [{"name": name, **_numbered(text.split("\n"))} for name, text in logs.items()]} if logs else {}),
        "company": company,
        "prices": _numbered([asdict(price) for price in book.prices.values()]),
    }


def _numbered(lines: Sequence[Any]) -> dict[str, Any]:
    return {str(place): line for place, line in enumerate(lines, 1)}


def quote_again(tables: Mapping[str, Any], where: str) -> Kept:
    """Return a quote made again from what was kept of it.

    Parameters
    ----------
    tables
        As `kept_tables` gave them.
    where
        The file they were kept in, for refusals.

    Raises
    ------
    BasecalcError
        What is missing or wrong in the tables; or this version of basecalc comes to another price.
    """
    head = _head(tables)
    made = quote(kept_job(tables, where), _book(tables, head))
    if (made.offered, made.offer.total) != (head["offered"], head["total"]):
        same = head["basecalc"] == basecalc_version()
        raise InputError(
            f"this quote was made as {_way(head['offered'])} at ${head['total']:,.2f} by basecalc {head['basecalc']}; "
            f"basecalc {basecalc_version()} comes to {_way(made.offered)} at ${made.offer.total:,.2f}, so it cannot be "
            f"made again as it was; {'what was kept of it was changed' if same else 'use the version that made it'}"
        )
    if {name: [str(price) for price in prices] for name, prices in made.deeper.areas.items()} != tables.get("deeper"):
        raise InputError(
            f"the added prices of a deeper base that basecalc {head['basecalc']} promised in this quote are missing or "
            f"are not those that basecalc {basecalc_version()} comes to; the quote can be made again only by the "
            "version that made it, from the sheet as it was written"
        )
    return Kept(made, head["revision"], head["basecalc"])


def _way(option: str) -> str:
    return "stone only" if option == "stone" else f"with {option}"


def _head(tables: Mapping[str, Any]) -> dict[str, Any]:
    head = _mapping(tables, "quote")
    kinds = {"basecalc": str, "number": str, "revision": int, "offered": str, "total": str, "prices_from": str}
    for key, kind in kinds.items():
        if not isinstance(head.get(key), kind) or isinstance(head.get(key), bool):
            what = "a whole number" if kind is int else "text"
            raise InputError(f"{words(key)} of the quote is {shown(head.get(key))}; it must be {what}")
    try:
        total = Decimal(head["total"]).quantize(CENT)
    except ArithmeticError:
        raise InputError(f"total of the quote is {shown(head['total'])}; it must be money such as 10627.06") from None
    return {**head, "total": total}


def _mapping(tables: Mapping[str, Any], key: str) -> Mapping[str, Any]:
    found = tables.get(key)
    if not isinstance(found, Mapping):
        raise InputError(f"the table [{key}] is missing")
    return found


def kept_job(tables: Mapping[str, Any], where: str) -> Job:
    """Return the job of what was kept of a quote.

    Parameters
    ----------
    tables
        As `kept_tables` gave them.
    where
        The file they were kept in, for refusals.

    Raises
    ------
    BasecalcError
        What is missing or wrong in the tables.
    """
    logs: dict[str, str] = {}
    kept = tables.get("log", [])
    for log in kept if isinstance(kept, list) else [kept]:
        if not isinstance(log, Mapping) or not isinstance(log.get("name"), str):
            raise InputError("a cone log has no name; it must be written as [[log]] with its name and its lines")
        lines = [log.get(str(place)) for place in range(1, len(log))]
        texts = [line for line in lines if isinstance(line, str)]
        if len(texts) != len(lines):
            raise InputError(f"the log {shown(log['name'])} lacks a line; its lines must be numbered from 1")
        logs[log["name"]] = "\n".join(texts)
    given = {key: tables[key] for key in _JOB_TABLES if key in tables}
    job, wrong = checked_job(given, where, logs=logs)
    if job is None:
        raise wrong[0]
    return job


def _book(tables: Mapping[str, Any], head: Mapping[str, Any]) -> PriceBook:
    given = dict(_mapping(tables, "company"))
    known = set(Company.__dataclass_fields__)
    if stray := [key for key in given if key not in known]:
        raise InputError(
            f"the company has {shown(stray[0])}, which basecalc {basecalc_version()} does not know; the file was made "
            f"by basecalc {head['basecalc']}"
        )
    for key, setting in settings().items():  # a setting that came after the version that made the file
        if key in known and setting.default is not None:
            given.setdefault(key, setting.read(setting.default, setting.unit))
    for key in _ROWS:
        if key != "prices":
            given[key] = _rows(given, key)
    try:
        company = _COMPANY.validate_python(given)
        prices = _PRICES.validate_python(_rows(tables, "prices"))
    except ValidationError as error:
        raise _refused(error) from None
    for price in prices:
        if not price.unit_price.is_finite() or price.unit_price < 0:
            raise InputError(f"the price of {shown(price.code)} is {price.unit_price}; it must be 0 or more")
    return PriceBook(company, {price.code: price for price in prices}, head["prices_from"])


def _rows(tables: Mapping[str, Any], key: str) -> Any:
    """Return the rows of a table with its blanks filled in; what is no table of rows is left for pydantic to refuse."""
    rows = tables.get(key)
    if not isinstance(rows, Mapping) or not all(isinstance(row, Mapping) for row in rows.values()):
        return rows
    return [{**dict.fromkeys(_ROWS[key]), **row} for row in rows.values()]


def _refused(error: ValidationError) -> BasecalcError:
    return refusals(error, lambda path: ", ".join(str(step) for step in path))[0]
