"""Tickets, hours and results from files of text, every row checked; a fault names its file and row."""

from collections.abc import Mapping, Sequence
from decimal import Decimal
from math import inf, isnan
from pathlib import Path
from typing import Any, Final

import pandas as pd

from basecalc.checks import shown
from basecalc.company import Company
from basecalc.errors import BasecalcError, InputError, OutOfRangeError
from basecalc.ground.log.columns import Faults, numbers
from basecalc.ground.log.text import cells, read_bytes
from basecalc.reckoning.columns import amounts, column, dates, refuse_totals, words
from basecalc.reckoning.headings import HOLDS, Heading, headings
from basecalc.reckoning.record import LOST, OPEN, WON, Hours, Records, Result, Ticket
from basecalc.reckoning.tickets import Seen, tickets_of
from basecalc.reckoning.words import material_words, plain, work_words
from basecalc.rounding import cents

_RESULTS: Final = {WON: WON, LOST: LOST, OPEN: OPEN}
_BUILT: Final = {
    "stone": "stone",
    "stone only": "stone",
    "geogrid": "geogrid",
    "with geogrid": "geogrid",
    "habit": "habit",
}
_YES: Final = {"yes": True, "no": False}
_HIGHEST: Final = 10_000_000


class _Found:
    """What is gathered over the files."""

    def __init__(self, jobs: Sequence[str], company: Company) -> None:
        self.jobs = {plain(number): number for number in jobs}
        self.materials, self.work = material_words(company), work_words()
        self.tickets: list[Ticket] = []
        self.hours: list[Hours] = []
        self.results: dict[str, Result] = {}
        self.payload_kg = max((truck.payload_kg for truck in company.trucks), default=inf)
        self.seen: Seen = {}
        self.worked: dict[tuple[Any, ...], str] = {}
        self.doubts: dict[str, list[str]] = {}
        self.notes: list[str] = []


def read_records(paths: Sequence[str | Path], jobs: Sequence[str], company: Company) -> Records:
    """Return the tickets, hours and results in some files of text, checked row by row.

    Parameters
    ----------
    paths
        Files with columns separated by commas, semicolons or tabs; they are only read. What a file holds is told by
        its headings.
    jobs
        Numbers of the jobs they may name. With one job they need not name it.
    company
        The owner's settings, whose stones a ticket may name.

    Raises
    ------
    WorkbookError
        There is no such file, or it is no text.
    InputError, OutOfRangeError
        The first row that cannot be used, with its number in the file.
    """
    found = _Found(jobs, company)
    for path in dict.fromkeys(str(path) for path in paths):
        frame = cells(read_bytes(path, HOLDS), path, HOLDS).frame
        _read(frame, path, found)
    rows: list[Ticket | Hours] = [*found.tickets, *found.hours]
    for row in rows:
        result = found.results.get(row.job)
        if result is not None and result.result == LOST:
            raise InputError(
                f"job {row.job} is marked lost in {result.where}; a lost job has no tickets and no hours",
                where=row.where,
            )
    return Records(
        tuple(dict.fromkeys(map(str, paths))), tuple(found.tickets), tuple(found.hours), found.results,
        tuple(dict.fromkeys(found.notes)), {job: tuple(told) for job, told in found.doubts.items()},
    )  # fmt: skip


def _read(frame: pd.DataFrame, where: str, found: _Found) -> None:
    known = headings([str(cell) for cell in frame.iloc[0]], f"{where}, row {frame.index[0]}")
    body = frame.iloc[1:]
    if body.empty:
        raise InputError("there are headings but no rows under them", where=where)
    faults = Faults(where)
    try:
        refuse_totals(body, known, faults)
        days = dates(column(body, known, "date"), faults)
        jobs = _jobs(body, known, found, faults)
        for kind in known:
            if kind.startswith("?") and kind != "?":
                found.notes.append(f"Not used: the column {shown(kind[1:])} of {where}")
        if "result" in known:
            results = _results(body, known, jobs, found, faults)
            faults.check()
            found.results |= results
            return
        material, work = (column(body, known, kind) != "" for kind in ("material", "work"))
        faults.add(material & work, InputError, lambda _: (
            "this row has a material and a work; a row is a ticket or hours, not both"
        ))  # fmt: skip
        faults.add(~material & ~work, InputError, lambda _: f"this row has no {_wanted(known)}")
        tickets = (
            tickets_of(
                body[material], known, jobs, found.materials, days, found.payload_kg, faults, found.seen
            ) if material.any() else []
        )  # fmt: skip
        hours = _hours(body[work & ~material], known, jobs, days, found, faults) if work.any() else []
    except BasecalcError:
        faults.check()  # a fault of a row comes before one of the whole file
        raise
    faults.check()
    if tickets and "ticket" not in known:
        found.notes.append(f"{where} has no column of ticket numbers: a ticket entered twice cannot be seen")
    found.tickets += tickets
    found.hours += hours


def _wanted(known: Mapping[str, Heading]) -> str:
    return " and no ".join(kind for kind in ("material", "work") if kind in known)


def _jobs(frame: pd.DataFrame, known: Mapping[str, Heading], found: _Found, faults: Faults) -> "pd.Series[str]":
    if "job" not in known:
        if len(found.jobs) > 1:
            raise InputError(
                f"no heading names the job, and there are {len(found.jobs)} jobs; one must say 'job'",
                where=faults.where,
            )
        return pd.Series(next(iter(found.jobs.values())), frame.index)
    names = list(found.jobs.values())
    few = ", ".join(names[:6]) + (f" and {len(names) - 6} more" if len(names) > 6 else "")
    return words(column(frame, known, "job"), "job", found.jobs, faults, lambda: few)


def _hours(
    frame: pd.DataFrame, known: Mapping[str, Heading], jobs: "pd.Series[str]", days: "pd.Series[Any]", found: _Found,
    faults: Faults,
) -> list[Hours]:  # fmt: skip
    offered = ", ".join(dict.fromkeys(found.work.values()))
    code = words(column(frame, known, "work"), "work", found.work, faults, lambda: offered)
    crew, machine = (amounts(frame, known, kind, faults, nought=True) for kind in ("crew", "machine"))
    faults.add(crew.fillna(0) + machine.fillna(0) == 0, InputError, lambda _: (
        "hours are missing; the row must have crew hours or machine hours above 0"
    ))  # fmt: skip
    faults.check()
    comment = column(frame, known, "comment")
    for row in frame.index:
        said = (jobs[row], code[row], days[row], _some(crew[row]), _some(machine[row]), comment[row])
        where = f"{faults.where}, row {row}"
        before = found.worked.setdefault(said, where)
        if before != where:
            found.doubts.setdefault(str(jobs[row]), []).append(
                f"{where} has the hours of {before} once more: entered twice? A comment on one of them says that both "
                "are right"
            )
    return [
        Hours(f"{faults.where}, row {row}", str(jobs[row]), str(code[row]), _some(crew[row]), _some(machine[row]))
        for row in frame.index
    ]


def _some(value: float) -> float | None:
    return None if isnan(value) else float(value)


def _results(
    frame: pd.DataFrame, known: Mapping[str, Heading], jobs: "pd.Series[str]", found: _Found, faults: Faults
) -> dict[str, Result]:
    result = words(column(frame, known, "result"), "result", _RESULTS, faults, lambda: ", ".join(_RESULTS))
    told = "stone, geogrid, habit; nothing for the option offered"
    built = words(column(frame, known, "built"), "built", _BUILT, faults, lambda: told, needed=False)
    text = column(frame, known, "price")
    price = numbers(text[text != ""], "price", "it must be a number, without a currency sign", faults)
    faults.add((price <= 0) | (price > _HIGHEST), OutOfRangeError, lambda row: (
        f"price is {shown(text[row])}; it must be above 0 and at most {_HIGHEST:,}"
    ))  # fmt: skip
    extra = amounts(frame, known, "extra", faults, nought=True)
    checked = words(column(frame, known, "checked"), "checked", _YES, faults, lambda: "yes, no", needed=False)
    places = {job: row.where for job, row in found.results.items()}
    again: dict[int, str] = {}
    for row, job in jobs.items():
        if not isinstance(job, str):  # a fault already
            continue
        if job in places:
            again[int(row)] = places[job]  # type: ignore[call-overload]
        places.setdefault(job, f"{faults.where}, row {row}")
    faults.add(frame.index.to_series().isin(list(again)), InputError, lambda row: (
        f"job {jobs[row]} stands twice; its result stands in {again[row]} already"
    ))  # fmt: skip
    faults.check()
    return {
        str(jobs[row]): Result(
            f"{faults.where}, row {row}", str(jobs[row]), str(result[row]),
            built[row] if isinstance(built[row], str) else "",
            cents(Decimal(f"{price[row]:.12g}")) if row in price.index else None, _some(extra[row]) or 0.0,
            checked[row] is True,
        )
        for row in frame.index
    }  # fmt: skip
