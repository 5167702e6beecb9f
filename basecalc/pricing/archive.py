"""A quote as plain tables, the job as entered and the records used, from which it can be made again to the cent.

A change order the same way; both as rows of a sheet in the office file, which alone is read again.
"""

import json
import re
import tomllib
import warnings
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import MISSING, asdict, dataclass, fields, is_dataclass, replace
from datetime import date
from decimal import Decimal
from hashlib import sha256
from importlib.metadata import PackageNotFoundError, version
from io import BytesIO
from pathlib import Path
from types import NoneType
from typing import Any, Final, cast, get_args, get_origin, get_type_hints

from openpyxl import load_workbook

from basecalc.company import Company, settings
from basecalc.core.errors import BasecalcError, InputError, Place, WorkbookError
from basecalc.core.numbers import brief, quoted, words
from basecalc.core.words import OPTION_WORDS
from basecalc.ground.classes import Strength
from basecalc.job import Job
from basecalc.job.read import checked_job, entered_again
from basecalc.pricing.changes import ChangeOrder, change_order
from basecalc.pricing.prices import Price, PriceBook
from basecalc.pricing.quote import quote
from basecalc.pricing.records import Quote
from basecalc.tables.from_workbook import BROKEN, DAMAGED, sheet_names, workbook_bytes

Line = tuple[str, str]  # an entry and its value; a heading such as '[[area]]' has none
_BARE: Final = re.compile(r"[A-Za-z0-9_-]+")


def toml_lines(tables: Mapping[str, Any], rows: Collection[str] = ()) -> list[Line]:
    r"""Return tables as lines; nothing (None) is left out, and a decimal becomes text that keeps its digits.

    Examples
    --------
    >>> toml_lines({"job": {"client": "A \"B\"", "units": None}, "area": [{"width": 12.5}]})
    [('[job]', ''), ('client', '"A \\"B\\""'), ('[[area]]', ''), ('width', '12.5')]
    >>> toml_lines({"prices": {"dig": {"unit": "yd3", "unit_price": Decimal("13.50")}}}, rows=["prices"])
    [('[prices]', ''), ('dig', '{unit = "yd3", unit_price = "13.50"}')]
    """
    return list(_table(tables, "", rows))


def _table(table: Mapping[str, Any], path: str, rows: Collection[str]) -> Iterator[Line]:
    given = {str(key): value for key, value in table.items() if value is not None}
    for key, value in given.items():
        if path in rows or not (isinstance(value, Mapping) or _of_tables(value)):
            yield _key(key), _value(key, value)
    for key, value in given.items() if path not in rows else ():
        inner = f"{path}.{_key(key)}" if path else _key(key)
        for one in value if _of_tables(value) else [value] if isinstance(value, Mapping) else []:
            yield (f"[{inner}]" if isinstance(value, Mapping) else f"[[{inner}]]"), ""
            yield from _table(one, inner, rows)


def _of_tables(value: Any) -> bool:
    return isinstance(value, list | tuple) and bool(value) and all(isinstance(one, Mapping) for one in value)


def _key(key: str) -> str:
    return key if _BARE.fullmatch(key) else _text(key)


def _text(text: str) -> str:
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def _value(key: str, value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int | float):
        return repr(value)
    if isinstance(value, str | Decimal):
        return _text(str(value))
    if isinstance(value, date):  # and a datetime, which is one
        return value.isoformat()
    if isinstance(value, Mapping):
        inside = {str(inner): one for inner, one in value.items() if one is not None}
        return f"{{{', '.join(f'{_key(inner)} = {_value(inner, one)}' for inner, one in inside.items())}}}"
    if isinstance(value, list | tuple):
        return f"[{', '.join(_value(key, one) for one in value)}]"
    raise InputError(f"{key} is {quoted(value)}, a {type(value).__name__}, which no file of plain text can keep")


def toml_tables(lines: Sequence[Line]) -> Mapping[str, Any]:
    """Return the tables that lines say."""
    text = "\n".join(f"{entry} = {value}" if value else entry for entry, value in lines)
    try:
        return tomllib.loads(text, parse_float=_finite)
    except tomllib.TOMLDecodeError as error:
        reason = str(error)[:1].lower() + str(error)[1:]
        raise InputError(f"it cannot be read: {reason}, counted from the first entry") from None
    except RecursionError:
        raise InputError("it cannot be read: its entries are nested too deeply") from None


def _finite(text: str) -> float:
    number = float(text)
    if number != number or abs(number) == float("inf"):
        raise InputError(f"it holds {text}, which is not a number")
    return number


_JOB_TABLES: Final = ("job", "area", "spot", "line")
_ROWS: Final = ("stones", "pavers", "rolls", "trucks", "rates", "traffics")  # tables of records of the company
ONE_LINE_ROWS: Final = ("prices", *(f"company.{key}" for key in _ROWS))
_WRITTEN: Final = {"standard_depth_m": "habit_depth_m", "tire_kpa": "tyre_kpa"}  # the words of kept files stay
_PLAIN: Final[Mapping[Any, tuple[tuple[type, ...], str]]] = {
    str: ((str,), "text"), bool: ((bool,), "true or false"), int: ((int,), "a whole number"),
    float: ((int, float), "a number"), Decimal: ((str, int, float, Decimal), "a number"), date: ((date,), "a date"),
}  # fmt: skip


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
    """Return what must be kept of a quote, as plain tables."""
    job, book = quote.job, quote.book
    given, _ = entered_again(job)
    logs = {spot.log: spot.log_text for spot in job.spots if spot.log}
    head = {
        "basecalc": basecalc_version(), "number": job.number, "revision": revision, "offered": quote.offered,
        "total": str(quote.offer.total), "prices_from": book.path,
    }  # fmt: skip
    company = asdict(replace(book.company, soils=dict(book.company.soils)))
    company |= {key: _numbered(company[key]) for key in _ROWS}
    return {
        "quote": head,
        **{key: given[key] for key in _JOB_TABLES if key in given},
        "options": kept_options(quote),
        "deeper": {name: list(prices) for name, prices in quote.deeper.areas.items()},
        **({"log": [{"name": name, **_numbered(text.split("\n"))} for name, text in logs.items()]} if logs else {}),
        "company": _renamed(company, _WRITTEN),
        "prices": _numbered([asdict(price) for price in book.prices.values()]),
    }


def _renamed(table: Mapping[str, Any], names: Mapping[str, str]) -> dict[str, Any]:
    """Return a table and those inside it with other names for some keys."""
    return {
        names.get(key, key): _renamed(value, names) if isinstance(value, Mapping) else value
        for key, value in table.items()
    }


def kept_options(quote: Quote) -> dict[str, dict[str, str]]:
    """Return total, tax and cost of each option."""
    options = [one for one in (quote.stone, quote.geogrid, quote.standard) if one is not None]
    return {one.option: {"total": str(one.total), "tax": str(one.tax), "cost": str(one.cost)} for one in options}


def fingerprint(lines: Sequence[Line]) -> str:
    """Return a check sum that shows a slip of the hand or a damaged cell; it is not a seal."""
    return sha256("\n".join("\t".join(line) for line in lines).encode()).hexdigest()


def quote_mark(tables: Mapping[str, Any]) -> str:
    """Return a check sum of what a quote was made from, whoever made it: change orders name their quote by it."""
    return fingerprint(toml_lines({key: value for key, value in tables.items() if key not in ("quote", "options")}))


def change_tables(order: ChangeOrder, place: int, day: date) -> dict[str, Any]:
    """Return what must be kept of a change order, as plain tables."""
    head = {
        "basecalc": basecalc_version(), "number": order.signed.job.number, "revision": order.revision, "change": place,
        "written": day, "option": order.found.offered, "adds": str(order.total), "total": str(order.price),
        "tax": str(order.found.offer.tax), "cost": str(order.found.offer.cost),
        "signed": quote_mark(kept_tables(order.signed, order.revision)),
    }  # fmt: skip
    return {"change": head, "found": [{"area": name, **asdict(ground)} for name, ground in order.strengths.items()]}


def change_again(signed: Quote, tables: Mapping[str, Any]) -> ChangeOrder:
    """Return a change order made again on its signed quote from what was kept of it."""
    head = _head(tables, "change", basecalc=str, revision=int, adds=Decimal)
    kinds = {"area": str, "strength_class": str, "cbr": float | None, "as_read": float | None}
    found = [_head({"found": row}, "found", **kinds) for row in _list(tables.get("found"))]
    grounds = {row["area"]: Strength(row["strength_class"], row["cbr"], row["as_read"]) for row in found}
    order = change_order(signed, grounds, head["revision"])
    if order.total != head["adds"]:
        raise InputError(
            f"this change order adds ${head['adds']:,.2f} by basecalc {head['basecalc']}; basecalc "
            f"{basecalc_version()} comes to ${order.total:,.2f}, so it cannot be made again as it was"
        )
    return order


def _numbered(lines: Sequence[Any]) -> dict[str, Any]:
    return {str(place): line for place, line in enumerate(lines, 1)}


def quote_again(tables: Mapping[str, Any], where: str) -> Kept:
    """Return a quote made again from what was kept of it."""
    head = _head(tables, "quote", basecalc=str, revision=int, offered=str, total=Decimal, prices_from=str)
    made = quote(kept_job(tables, where), _book(tables, head))
    if (made.offered, made.offer.total) != (head["offered"], head["total"]):
        same = head["basecalc"] == basecalc_version()
        was, now = (OPTION_WORDS.get(option, option) for option in (head["offered"], made.offered))
        raise InputError(
            f"this quote was made as {was} at ${head['total']:,.2f} by basecalc {head['basecalc']}; basecalc "
            f"{basecalc_version()} comes to {now} at ${made.offer.total:,.2f}, so it cannot be made again as it was; "
            f"{'what was kept of it was changed' if same else 'use the version that made it'}"
        )
    kept = tables.get("options", {})
    if any(kept.get(key, money) != money for key, money in kept_options(made).items()):
        raise InputError(
            f"cost, tax or the price of an option that basecalc {head['basecalc']} kept are not those that basecalc "
            f"{basecalc_version()} comes to; the quote can be made again only by the version that made it"
        )
    if {name: [str(price) for price in prices] for name, prices in made.deeper.areas.items()} != tables.get("deeper"):
        raise InputError(
            f"the added prices of a deeper base that basecalc {head['basecalc']} promised in this quote are missing or "
            f"are not those that basecalc {basecalc_version()} comes to; the quote can be made again only by the "
            "version that made it, from the sheet as it was written"
        )
    return Kept(made, head["revision"], head["basecalc"])


def _head(tables: Mapping[str, Any], key: str, **kinds: Any) -> dict[str, Any]:
    """Return what is needed of a table of what was kept, each of its kind."""
    given = _mapping(tables, key)
    return {name: _made(kind, given.get(name), name, (f"[{key}]",)) for name, kind in kinds.items()}


def _mapping(tables: Mapping[str, Any], key: str) -> Mapping[str, Any]:
    found = tables.get(key)
    if not isinstance(found, Mapping):
        raise InputError(f"the table [{key}] is missing")
    return found


def kept_job(tables: Mapping[str, Any], where: str) -> Job:
    """Return the job of what was kept of a quote."""
    logs: dict[str, str] = {}
    for log in _list(tables.get("log", [])):
        if not isinstance(log, Mapping) or not isinstance(log.get("name"), str):
            raise InputError("a cone log has no name; it must be written as [[log]] with its name and its lines")
        lines = [log.get(str(place)) for place in range(1, len(log))]
        texts = [line for line in lines if isinstance(line, str)]
        if len(texts) != len(lines):
            raise InputError(f"the log {quoted(log['name'])} lacks a line; its lines must be numbered from 1")
        logs[log["name"]] = "\n".join(texts)
    given = {key: tables[key] for key in _JOB_TABLES if key in tables}
    job, wrong = checked_job(given, where, logs=logs)
    if job is None:
        raise wrong[0]
    return job


def _book(tables: Mapping[str, Any], head: Mapping[str, Any]) -> PriceBook:
    given = _renamed(_mapping(tables, "company"), {word: name for name, word in _WRITTEN.items()})
    known = set(Company.__dataclass_fields__)
    if stray := [key for key in given if key not in known]:
        raise InputError(
            f"the company has {quoted(stray[0])}, which basecalc {basecalc_version()} does not know; the file was made "
            f"by basecalc {head['basecalc']}"
        )
    for key, setting in settings().items():  # a setting that came after the version that made the file
        if key in known and setting.default is not None:
            given.setdefault(key, setting.read(setting.default, setting.unit("us")))
    given |= {key: _rows(given, key) for key in _ROWS}
    company = _made(Company, given, "company")
    prices = _made(tuple[Price, ...], _rows(tables, "prices"), "prices")
    for price in prices:
        if price.unit_price < 0:
            raise InputError(f"the price of {quoted(price.code)} is {price.unit_price}; it must be 0 or more")
    return PriceBook(company, {price.code: price for price in prices}, head["prices_from"])


def _list(value: Any) -> list[Any]:
    return value if isinstance(value, list) else [value]


def _rows(tables: Mapping[str, Any], key: str) -> Any:
    """Return the rows of a table of numbered rows; what is none is left as it is."""
    rows = tables.get(key)
    return list(rows.values()) if isinstance(rows, Mapping) else rows


def _made(hint: Any, value: Any, key: str, within: tuple[str, ...] = ()) -> Any:
    """Return a value as its annotation says: a record of a mapping, a tuple of a list, or a plain value."""
    inside = get_args(hint)
    if is_dataclass(hint) and isinstance(value, Mapping):
        hints, here = get_type_hints(hint), (*within, key)
        needed = {one.name for one in fields(hint) if one.default is MISSING and one.default_factory is MISSING}
        for name in (*value, *sorted(needed - value.keys())):
            if name not in hints or (name not in value and NoneType not in get_args(hints[name])):
                state = "is missing; it must be given" if name in hints else "is not a field of it"
                raise InputError(state, about=words(name), field=str(name), where=Place(within=here))
        given = dict.fromkeys(needed) | dict(value)  # what holds nothing is left out of a file of plain text
        inner = {name: _made(hints[name], one, name, here) for name, one in given.items()}
        try:
            return cast("Any", hint)(**inner)
        except BasecalcError as refusal:
            raise refusal.at(Place(within=here)) from None
    if NoneType in inside:
        return None if value is None else _made(inside[0], value, key, within)
    if get_origin(hint) is tuple and isinstance(value, list | tuple):
        return tuple(_made(inside[0], one, f"{key} {at}", within) for at, one in enumerate(value, 1))
    if inside and isinstance(value, Mapping):
        return {name: _made(inside[1], one, name, within) for name, one in value.items()}
    kinds, what = _PLAIN.get(hint, ((), "a list" if get_origin(hint) is tuple else "a table of fields"))
    wrong = InputError(f"is {quoted(value)}; it must be {what}", about=words(key), field=key)
    if not isinstance(value, kinds) or (isinstance(value, bool) and hint is not bool):
        raise wrong.at(Place(within=within))
    try:
        made = value if hint in (str, bool, date) else hint(value)
    except ArithmeticError:
        raise wrong.at(Place(within=within)) from None
    if isinstance(made, Decimal) and not made.is_finite():
        raise wrong.at(Place(within=within))
    return made


TITLE: Final = "As quoted"
CHANGE_TITLE: Final = "As changed"
LONGEST_ENTRY: Final = 32_767  # characters that a cell holds
_HEADINGS: Final = ("Entry", "As quoted")
FINGERPRINT: Final = "fingerprint"
_NOT_KEPT: Final = "This quote cannot be made again from this file"
_CHANGED: Final = (
    "the sheet was changed after it was written, its fingerprint does not fit; a quote can be made again only from the "
    "sheet as basecalc wrote it"
)


def quote_rows(quote: Quote, revision: int) -> list[Line]:
    """Return the rows of the sheet As quoted: headings, entries, fingerprint; or a sentence why nothing is kept."""
    return _sheet_rows(lambda: kept_tables(quote, revision))


def change_rows(order: ChangeOrder, place: int, day: date) -> list[Line]:
    """Return the rows of the sheet As changed of a change order, the same way."""
    return _sheet_rows(lambda: change_tables(order, place, day))


def _sheet_rows(kept: Callable[[], Mapping[str, Any]]) -> list[Line]:
    try:
        lines = toml_lines(kept(), ONE_LINE_ROWS)
        if max(len(value) for _, value in lines) > LONGEST_ENTRY:
            raise InputError("an entry is too long for a cell")
    except BasecalcError as refusal:
        return [(f"{_NOT_KEPT}: {refusal.sentence}.", "")]
    return [_HEADINGS, *lines, (FINGERPRINT, fingerprint(lines))]


def holds_quote(path: Path) -> bool:
    """Return whether a workbook has the sheet As quoted, by the names of its sheets alone."""
    return any(name.strip().casefold() == TITLE.casefold() for name in sheet_names(path))


def quoted_tables(path: str | Path, title: str = TITLE) -> Mapping[str, Any]:
    """Return what an office file keeps of its quote or change order, as plain tables, without pricing it again."""
    sheet, rows = _sheet(path, title)
    try:
        return toml_tables(_lines(rows, Place(str(path), sheet)))
    except BasecalcError as refusal:
        raise (refusal if refusal.place.file else refusal.at(Place(str(path), sheet))) from None


def load_quote(path: str | Path) -> Kept:
    """Return the quote that an office file holds, made again from its own sheet.

    Parameters
    ----------
    path
        An office workbook that `basecalc.write_quote` wrote; it is only read.

    Raises
    ------
    WorkbookError
        There is no such file, it is no workbook, or it has no such sheet.
    BasecalcError
        The sheet was changed or damaged, or this version of basecalc comes to another price.
    """
    tables = quoted_tables(path)
    try:
        return quote_again(tables, str(path))
    except BasecalcError as refusal:
        if refusal.place.file == str(path):
            raise
        raise refusal.at(Place(str(path), TITLE)) from None


Row = tuple[int, Any, Any]


def _sheet(path: str | Path, title: str) -> tuple[str, list[Row]]:
    """Return the sheet's own name and its rows that hold anything; no other sheet is unpacked, which takes long."""
    content = workbook_bytes(path)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            book = load_workbook(BytesIO(content), read_only=True)
            name = next((one for one in book.sheetnames if one.strip().casefold() == title.casefold()), "")
            cells: Iterable[Sequence[Any]] = book[name].iter_rows(max_col=2, values_only=True) if name else ()
            rows: list[Row] = []
            for row, (entry, *value) in enumerate(cells, 1):
                if entry is not None or any(value):
                    rows.append((row, entry, value[0] if value else None))
            book.close()
    except BROKEN:
        raise WorkbookError(DAMAGED, where=Place(str(path))) from None
    if not name:
        raise WorkbookError(
            f"there is no sheet {title!r}; only the office file of a {'quote' if title == TITLE else 'change order'} "
            "has it, and only from the version of basecalc on that writes it",
            where=Place(str(path)),
        )
    return name, rows


def _lines(rows: Sequence[Row], place: Place) -> list[Line]:
    """Return the entries of the sheet, each of which must be text as it was written."""
    for row, *both in rows:
        for column, value in enumerate(both, 1):
            if not isinstance(value, str | None):
                raise InputError(
                    f"the cell holds {value!r}, not text; {_CHANGED}", where=Place(row=row, column=column).inside(place)
                )
    lines: list[Line] = [(entry or "", value or "") for _, entry, value in rows]
    if _HEADINGS not in lines:
        reason = next((entry for entry, _ in lines if entry.startswith(_NOT_KEPT)), "")
        raise InputError(reason[:1].lower() + reason[1:].rstrip(".") if reason else _CHANGED)
    lines = lines[lines.index(_HEADINGS) + 1 :]
    if not lines or lines[-1] != (FINGERPRINT, fingerprint(lines[:-1])):
        raise InputError(_CHANGED)
    return lines[:-1]
