"""A filled estimating workbook becomes a job, or sentences that say what is wrong with it, each with sheet and cell."""

from decimal import Decimal
from pathlib import Path
from typing import Any, Final

from openpyxl.utils.cell import coordinate_to_tuple

from basecalc.core.errors import BasecalcError, KeyPath, Place, PriceError, WorkbookError
from basecalc.core.numbers import cents
from basecalc.estimating.build import TOTAL
from basecalc.estimating.entries import tables
from basecalc.estimating.entry import HEAD, SHEET, Layout
from basecalc.estimating.fields import LINE_FIELDS, LOG_TEST, PARTICULAR_FIELDS, ROWS
from basecalc.job import Job
from basecalc.job import load_job as load_job_file
from basecalc.job.read import checked_job
from basecalc.tables.from_workbook import Book, open_book, sheet_names

WORKBOOKS: Final = frozenset({".xlsx", ".xlsm"})


def load_job(path: str | Path) -> Job:
    """Return the job in a file: a job file, or a filled estimating workbook.

    Parameters
    ----------
    path
        A ``.toml`` file or a workbook (``.xlsx``, ``.xlsm``); it is only read.

    Raises
    ------
    WorkbookError
        There is no such file, or it cannot be read.
    InputError, OutOfRangeError
        The first thing that is wrong in it.
    """
    return read_job_sheets(path) if is_workbook(path) else load_job_file(path)


def is_workbook(path: str | Path) -> bool:
    """Return whether a file is a workbook, by its ending."""
    return Path(path).suffix.casefold() in WORKBOOKS


def holds_job(path: Path) -> bool:
    """Return whether a workbook has the entry sheet of a job, by its name alone."""
    return {SHEET.casefold(), "problems"} <= {name.strip().casefold() for name in sheet_names(path)}


def has_job(path: str | Path) -> bool:
    """Return whether a job was begun in a workbook: an area or a reading is there."""
    found = _Filled(open_book(path))
    return bool(found.rows["areas"] or found.rows["readings"])


def read_job_sheets(path: str | Path) -> Job:
    """Return the job in a filled estimating workbook."""
    job, wrong = _read(path)
    if job is None:
        raise wrong[0]
    return job


def job_sheet_problems(path: str | Path, *, begun: bool = False) -> list[BasecalcError]:
    """Return everything that is wrong with the job in a filled workbook, at once."""
    try:
        if begun and not has_job(path):
            return []
        return _read(path)[1]
    except BasecalcError as unreadable:
        return [unreadable]


def other_total(path: str | Path, total: Decimal) -> str:
    """Return a sentence where the total last stored in a workbook is another one than was worked out from its cells."""
    opened = open_book(path)
    sheet, cell = opened.named().get(TOTAL, ("", ""))
    if not sheet:
        return f"{path}: its total cannot be found; make the workbook anew with basecalc template"
    stored = opened.stored(sheet, cell)
    if stored is None or isinstance(stored, str):
        said = "shows no total" if isinstance(stored, str) else ""
        return f"{path}: the sheet {said}, and ${total:,.2f} was worked out from its cells" if said else ""
    shown = cents(Decimal(f"{float(stored):.12g}"))
    return (
        ""
        if shown == total
        else f"{path}: the sheet shows ${shown:,.2f}, and ${total:,.2f} was worked out from its cells"
    )


class _Filled:
    """What is typed in a workbook, and the row of the sheet of each entry."""

    def __init__(self, opened: Book) -> None:
        try:
            self.sheet = opened.sheet(SHEET)
        except PriceError:
            raise WorkbookError(
                f"there is no sheet {SHEET}, so this is not an estimating workbook of this version; 'basecalc template' makes one",
                where=Place(opened.file),
            ) from None
        self.file = opened.file
        self.wrong: list[BasecalcError] = []
        self.units = "metric" if str(self.sheet.value(HEAD, 4)).endswith(" m") else "us"
        heads = {"lines": self._row(LINE_FIELDS[0].label), "particulars": self._row(PARTICULAR_FIELDS[0].label)}
        self.layout = Layout(
            self.units, {name: self._row(f"end of {name}") - heads.get(name, HEAD) - 1 for name in ROWS}
        )
        self.rows: dict[str, list[dict[str, Any]]] = {}
        self.at: dict[str, list[int]] = {}
        for name, count in self.layout.rows.items():
            self.rows[name], self.at[name] = [], []
            for row in range(1, count + 1):
                cells = {key: self._cell(self.layout.cell(name, row, key)) for key in self.layout.spans[name]}
                if any(value is not None for value in cells.values()):
                    self.rows[name].append(cells)
                    self.at[name].append(row)
        self.card = {key: self._cell(cell) for key, cell in self.layout.card_cells().items()}

    def _row(self, text: str) -> int:
        for row in sorted(self.sheet.filled):
            for column in self.sheet.filled[row]:
                if self.sheet._formulas.cell(row, column).value == text:
                    return row
        raise WorkbookError(
            f"the entry sheet has lost its line {text!r}; make the workbook anew with basecalc template",
            where=Place(self.file, SHEET),
        )

    def _cell(self, cell: str) -> Any:
        try:
            value = self.sheet.value(*coordinate_to_tuple(cell))
        except PriceError as error:
            self.wrong.append(error)
            return None
        return value.strip() if isinstance(value, str) else value


def _read(path: str | Path) -> tuple[Job | None, list[BasecalcError]]:
    filled = _Filled(open_book(path))
    data, wrong = tables(filled.card, filled.rows, filled.units)
    errors = list(filled.wrong)
    for place, error in wrong:
        cell = filled.layout.cell("particulars", filled.at["particulars"][place], "text")
        errors.append(error.at(_place(filled.file, cell)))
    job, more = checked_job(data, filled.file, lambda place: _where(filled, place))
    errors += [_placed(filled, error) for error in more]
    return (None if errors else job), errors


def _where(filled: _Filled, path: KeyPath, key: str = "") -> Place:
    """Return the cell of a key of the job file; the sheet where it has none."""
    cells = filled.layout.card_cells()
    key = key or next((str(step) for step in reversed(path) if isinstance(step, str)), "")
    if path and path[0] == "job" and key in cells:
        return _place(filled.file, cells[key])
    if path and path[0] in ("area", "line", "spot") and len(path) > 1 and isinstance(path[1], int):
        return _place(filled.file, _row_cell(filled, str(path[0]), path[1], key))
    return Place(filled.file, SHEET)


def _place(file: str, cell: str) -> Place:
    row, column = coordinate_to_tuple(cell)
    return Place(file, SHEET, row=row, column=column)


def _row_cell(filled: _Filled, table: str, index: int, key: str) -> str:
    name = {"area": "areas", "line": "lines", "spot": "readings"}[table]
    if table == "line":
        return filled.layout.cell(name, filled.at[name][index], key if key in filled.layout.spans[name] else "item")
    if table == "spot":
        spots: list[str] = []
        for row in filled.rows["readings"]:
            spot = str(row.get("spot") or "").casefold()
            if spot not in spots:
                spots.append(spot)
        at = next(
            (
                n
                for n, row in enumerate(filled.rows["readings"])
                if index < len(spots) and str(row.get("spot") or "").casefold() == spots[index]
            ),
            0,
        )
        key = {"name": "spot"}.get(key, key)
    else:
        at = index
        key = {"diameter": "length", "base": "length", "height": "width"}.get(key, key)
    if at >= len(filled.at[name]):
        return filled.layout.cell(name, 1, "name" if table == "area" else "spot")
    owner = str(filled.rows[name][at].get("name" if table == "area" else "spot") or "").casefold()
    if key in filled.layout.spans[name]:
        return filled.layout.cell(name, filled.at[name][at], key)
    for place, row in enumerate(filled.rows["particulars"]):
        if (
            str(row.get("for") or "").casefold() == owner
            and "_".join(str(row.get("what") or "").casefold().split()) == key
        ):
            return filled.layout.cell("particulars", filled.at["particulars"][place], "text")
    return filled.layout.cell(name, filled.at[name][at], "name" if table == "area" else "spot")


def _rows_of(filled: _Filled, index: int) -> list[int]:
    """Return which rows of the list of readings belong to a spot."""
    names = [str(row.get("spot") or "").strip().casefold() for row in filled.rows["readings"]]
    spot = list(dict.fromkeys(names))[index]
    logs = [str(row.get("test") or "").strip().casefold() == LOG_TEST for row in filled.rows["readings"]]
    return [place for place, name in enumerate(names) if name == spot and not logs[place]]


def _placed(filled: _Filled, error: BasecalcError) -> BasecalcError:
    """Return a refusal with the cell it is about in the place of the table of a job file."""
    path = error.place.path
    if len(path) == 4 and path[0] == "spot" and path[2] == "readings":  # a reading has a row of its own
        row = HEAD + filled.at["readings"][_rows_of(filled, int(path[1]))[int(path[3])]]
        spans = filled.layout.spans["readings"]
        column = spans.get(error.field, spans["reading"])[0]
        return error.changed(where=_place(filled.file, f"{column}{row}"))
    return error.changed(where=_where(filled, path, error.field)) if path else error
