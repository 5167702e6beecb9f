"""Spoiled and odd files end in what they would say unbroken, or in one sentence."""

import random
import re
import zipfile
from collections.abc import Callable
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import pytest
from abuse import STRENGTH, cut, flipped, part_of, repacked, with_part
from estimating_kit import demo_prices
from openpyxl.utils import get_column_letter
from openpyxl.workbook import Workbook
from price_books import find, sound, spoiled

from basecalc import BasecalcError, PriceError, WorkbookError, load_job, load_prices, load_quote, write_price_workbook
from basecalc.demo import DemoFiles
from basecalc.ground.cone_log_file import read_cone_log
from basecalc.health import file_problems
from basecalc.season.lists import read_records

EXAMPLES = Path(__file__).parent.parent / "examples"


def said(work: Callable[[], Any]) -> tuple[Any, str]:
    """Return what some work gives, or the one line that refuses it."""
    try:
        return work(), ""
    except BasecalcError as refusal:
        line = str(refusal)
        assert line.strip()
        assert "\n" not in line
        assert "Traceback" not in line
        return None, line


@cache
def _company() -> Any:
    with TemporaryDirectory() as folder:
        return load_prices(write_price_workbook(Path(folder, "prices.xlsx"), demo_prices())).company


def _records(path: Path) -> list[Any]:
    jobs = [job.stem for job in (EXAMPLES / "season" / "jobs").glob("*.toml")]
    read = read_records([path], jobs, _company())
    assert all(ticket.net_kg is None or ticket.net_kg >= 0 for ticket in read.tickets)
    return [*read.tickets, *read.hours, *read.results]


def _prices(path: Path) -> Any:
    book, refusal = said(lambda: load_prices(path))
    assert bool(refusal) <= bool(file_problems(path))
    if refusal:
        raise BasecalcError(refusal)
    assert all(price.unit_price >= 0 for price in book.prices.values())
    return book.prices, book.company


# What is read, and what of it must be there, or be as in the whole file, wherever it can be read at all.
READ: dict[str, Callable[[Path], Any]] = {
    "prices.xlsx": _prices,
    "filled.xlsx": lambda path: load_job(path).areas,
    "office.xlsx": lambda path: load_quote(path).quote.offer.total,
    "job.toml": lambda path: load_job(path).areas,
    "log.csv": lambda path: read_cone_log(path).drops,
    "tickets.csv": _records,
    "hours.csv": _records,
    "results.csv": _records,
}
WHOLE = {("prices.xlsx", flipped), ("prices.xlsx", cut), *(("office.xlsx", way) for way in (flipped, cut, repacked))}


@pytest.fixture(scope="module")
def contents(demo: DemoFiles) -> dict[str, bytes]:
    files = {
        "filled.xlsx": demo.estimate, "office.xlsx": demo.quotes / "LF-2602-r1-office.xlsx", "job.toml": demo.jobs[2],
        "log.csv": EXAMPLES / "cone-log.csv",
        **{f"{name}.csv": EXAMPLES / "season" / f"{name}.csv" for name in ("tickets", "hours", "results")},
    }  # fmt: skip
    return {"prices.xlsx": sound(), **{name: path.read_bytes() for name, path in files.items()}}


@pytest.mark.parametrize(
    ("name", "spoil"),
    [(name, way) for name in READ for way in (flipped, cut, repacked) if way is not repacked or name.endswith(".xlsx")],
)
def test_a_spoiled_file_ends_in_what_it_said_or_in_a_sentence(
    tmp_path: Path, contents: dict[str, bytes], name: str, spoil: Callable[[bytes, random.Random], bytes]
) -> None:
    """A zip checks every part: what can still be read of a workbook is what was written, where no part was changed."""
    path, refused = tmp_path / name, 0
    path.write_bytes(contents[name])
    whole = READ[name](path)
    assert whole
    for seed in range((10 if name.endswith(".xlsx") else 30) * STRENGTH):
        path.write_bytes(spoil(contents[name], random.Random(seed)))
        read, refusal = said(lambda: READ[name](path))
        refused += bool(refusal)
        assert refusal or (read == whole if (name, spoil) in WHOLE else read), seed
    assert refused


def _hidden(book: Workbook) -> None:
    book["Prices"].column_dimensions["D"].hidden = True
    book["Company"].sheet_state = "hidden"


def _reordered(book: Workbook) -> None:
    book._sheets.reverse()


def _merged(book: Workbook) -> None:
    book["Prices"].merge_cells("K3:M40")


def _formatted_far_down(book: Workbook) -> None:
    book["Prices"]["A1048576"].number_format = "0.00"


def _in_the_last_corner(book: Workbook) -> None:
    """Which makes no reader walk a sheet of 17,000 million cells."""
    book["Prices"][f"{get_column_letter(16_384)}1048576"] = "x"


@pytest.mark.parametrize("change", [_hidden, _reordered, _merged, _formatted_far_down, _in_the_last_corner])
def test_an_odd_workbook_means_what_it_says(tmp_path: Path, change: Callable[[Workbook], None]) -> None:
    plain = tmp_path / "plain.xlsx"
    plain.write_bytes(sound())
    odd, book = load_prices(spoiled(tmp_path, change)).prices, load_prices(plain).prices
    assert {code: price.unit_price for code, price in odd.items()} == {
        code: price.unit_price for code, price in book.items()
    }


def test_macros_and_links_to_elsewhere_are_never_followed(tmp_path: Path) -> None:
    path, plain = tmp_path / "prices.xlsm", tmp_path / "plain.xlsx"
    book = with_part(sound(), "xl/vbaProject.bin", b"\xd0\xcf\x11\xe0 not run")
    path.write_bytes(with_part(book, "xl/externalLinks/externalLink1.xml", b"<externalLink/>"))
    plain.write_bytes(sound())
    assert load_prices(path).prices.keys() == load_prices(plain).prices.keys()


def test_a_price_that_is_a_formula_counts_as_last_calculated_or_not_at_all(tmp_path: Path) -> None:
    def never(book: Workbook) -> None:
        row, _ = find(book["Prices"], "base-stone", 1)
        book["Prices"].cell(row, 4).value = "=12*2"

    path = spoiled(tmp_path, never)
    with pytest.raises(PriceError, match="was never calculated"):
        load_prices(path)
    content = path.read_bytes()
    sheet = next(name for name in zipfile.ZipFile(path).namelist() if b"<f>12*2</f>" in part_of(content, name))
    calculated = re.sub(rb"<f>12\*2</f><v ?/>", b"<f>12*2</f><v>24</v>", part_of(content, sheet))
    path.write_bytes(with_part(content, sheet, calculated))
    assert load_prices(path).prices["base-stone"].unit_price == 24


def test_a_renamed_heading_is_named_not_guessed(tmp_path: Path) -> None:
    def rename(book: Workbook) -> None:
        row, column = find(book["Prices"], "unit price")
        book["Prices"].cell(row, column).value = "what it costs us"

    with pytest.raises(PriceError, match="unit price"):
        load_prices(spoiled(tmp_path, rename))


def test_a_file_that_is_being_written_is_not_half_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "prices.xlsx"
    path.write_bytes(sound())
    true = Path.open

    def open_while_written(self: Path, *how: Any) -> Any:
        stream = true(self, *how)
        if self == path and how == ("rb",):
            with true(self, "ab") as file:
                file.write(b"more")
        return stream

    monkeypatch.setattr(Path, "open", open_while_written)
    with pytest.raises(WorkbookError, match="being written by another program"):
        load_prices(path)
