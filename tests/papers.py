"""The papers of a quote, written through the public door, and how a test reads them."""

from functools import cache, lru_cache
from io import BytesIO
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from openpyxl import Workbook, load_workbook
from openpyxl.worksheet.worksheet import Worksheet
from trial_quote import FIRM, METRIC, SOFT, TWO_AREAS, trial_quote

from basecalc import Quote, write_quote

JOBS = {"soft": SOFT, "firm": FIRM, "two areas": TWO_AREAS, "metric": METRIC}

_WRITTEN: dict[tuple[int, int], tuple[Quote, dict[str, bytes]]] = {}  # the quote is kept, so that its id stays its own


@cache
def trial(name: str) -> Quote:
    """Return one of the trial jobs, quoted once in a run."""
    return trial_quote(JOBS[name], **({"units": "metric"} if name == "metric" else {}))


def unsaid(data: bytes, words: str, title: str = "") -> set[str]:
    """Return which of some words, a line each, a paper does not say."""
    page = text(data, title)
    return {line.strip() for line in words.strip().splitlines() if line.strip() not in page}


def papers(quote: Quote, revision: int = 1) -> dict[str, bytes]:
    """Return the client's, the office's and the crew's workbook of a quote, written once."""
    key = (id(quote), revision)
    if key not in _WRITTEN:
        with TemporaryDirectory() as folder:
            if revision > 1:  # an empty file of the revision before takes its number
                Path(folder, f"{quote.job.number}-r{revision - 1}-office.xlsx").touch()
            files = write_quote(quote, folder)
            assert files.revision == revision
            read = {name: getattr(files, name).read_bytes() for name in ("client", "office", "crew")}
        _WRITTEN[key] = (quote, read)
    return _WRITTEN[key][1]


def client_file(quote: Quote, revision: int = 1) -> bytes:
    return papers(quote, revision)["client"]


def office_file(quote: Quote, revision: int = 1) -> bytes:
    return papers(quote, revision)["office"]


def crew_file(quote: Quote, revision: int = 1) -> bytes:
    return papers(quote, revision)["crew"]


@lru_cache(maxsize=40)
def _opened(data: bytes) -> Workbook:
    return load_workbook(BytesIO(data), data_only=True)


def sheets(data: bytes | Path) -> list[Worksheet]:
    """Return the sheets that a person sees, with values."""
    book = _opened(data.read_bytes() if isinstance(data, Path) else data)
    return [sheet for sheet in book if sheet.sheet_state == "visible"]


def rows(data: bytes | Path, title: str = "") -> list[list[Any]]:
    """Return what each row says, from left to right, without its empty cells."""
    found = [sheet for sheet in sheets(data) if title in ("", sheet.title)]
    assert found, title
    lines = [[cell.value for cell in row if cell.value is not None] for sheet in found for row in sheet.iter_rows()]
    return [line for line in lines if line]


def text(data: bytes | Path, title: str = "") -> str:
    """Return all that the cells say, one a line."""
    return "\n".join(str(value) for line in rows(data, title) for value in line)


def row_with(data: bytes | Path, words: str, title: str = "") -> list[Any]:
    """Return the first row of which a cell begins with these words."""
    return next(line for line in rows(data, title) if any(str(value).startswith(words) for value in line))


def levels(data: bytes | Path, title: str = "Crew sheet") -> dict[str, str]:
    """Return the depths of a crew sheet with one area, by the name of the level."""
    names = ("BOTTOM", "TOP", "DIG PAST", "Top of")
    return {str(line[0]): str(line[1]) for line in rows(data, title) if str(line[0]).startswith(names)}
