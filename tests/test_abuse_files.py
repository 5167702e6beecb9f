"""Broken, hostile and odd files end in what they would say unbroken, or in one sentence."""

import math
import random
import re
import zipfile
from collections.abc import Callable
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from abuse import STRENGTH, cut, flipped, packed, part_of, repacked, with_part
from openpyxl import load_workbook
from openpyxl.utils import get_column_letter
from openpyxl.workbook import Workbook
from price_books import find, sound, spoiled
from trial_quote import FIRM, trial_quote

from basecalc.core.errors import BasecalcError, PriceError, WorkbookError
from basecalc.demo import write_demo
from basecalc.estimating.read_job import holds_job, load_job
from basecalc.estimating.template import new_workbook
from basecalc.ground.cone_log_file import read_cone_log
from basecalc.pricing.archive import load_quote
from basecalc.pricing.prices import load_prices, problems
from basecalc.render.save import write_quote
from basecalc.season.lists import Records, read_records

ROUNDS = range(30 * STRENGTH)
LOG = Path(__file__).parent.parent / "examples" / "cone-log.csv"
SEASON = Path(__file__).parent.parent / "examples" / "season"


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


@pytest.fixture(scope="module")
def filled(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    folder = tmp_path_factory.mktemp("filled")
    files = write_demo(folder / "demo")
    return new_workbook(folder / "filled.xlsx", prices=files.prices, job=files.jobs[2]).path.read_bytes()


@pytest.mark.parametrize("spoil", [flipped, cut])
def test_a_damaged_price_workbook_is_refused_or_means_the_same(tmp_path: Path, spoil: Any) -> None:
    """A zip checks every part: what can still be read is what was written."""
    path = tmp_path / "prices.xlsx"
    path.write_bytes(sound())
    whole = load_prices(path)
    refused = 0
    for seed in ROUNDS:
        path.write_bytes(spoil(sound(), random.Random(seed)))
        made, refusal = said(lambda: load_prices(path))
        refused += bool(refusal)
        assert refusal or made == whole, seed
    assert refused > len(ROUNDS) / 2


def test_a_price_workbook_with_a_spoiled_part_ends_in_prices_or_in_sentences(tmp_path: Path) -> None:
    path = tmp_path / "prices.xlsx"
    for seed in ROUNDS:
        path.write_bytes(repacked(sound(), random.Random(seed)))
        made, refusal = said(lambda: load_prices(path))
        listed = problems(path)
        assert bool(refusal) == bool(listed), seed
        if made:
            assert all(price.unit_price >= 0 for price in made.prices.values())


@pytest.mark.parametrize("spoil", [flipped, cut, repacked])
def test_a_spoiled_filled_workbook_ends_in_a_job_or_in_a_sentence(tmp_path: Path, filled: bytes, spoil: Any) -> None:
    path = tmp_path / "filled.xlsx"
    for seed in ROUNDS[::3]:
        path.write_bytes(spoil(filled, random.Random(seed)))
        made, refusal = said(lambda: load_job(path))
        assert refusal or made.areas, seed
        assert holds_job(path) in (True, False)


@pytest.mark.parametrize("spoil", [flipped, cut])
def test_a_spoiled_job_file_ends_in_a_job_or_in_a_sentence(tmp_path: Path, spoil: Any) -> None:
    jobs = write_demo(tmp_path / "demo").jobs
    path = tmp_path / "job.toml"
    for seed in ROUNDS:
        path.write_bytes(spoil(jobs[seed % len(jobs)].read_bytes(), random.Random(seed)))
        made, refusal = said(lambda: load_job(path))
        assert refusal or made.areas, seed


@pytest.mark.parametrize("spoil", [flipped, cut])
def test_a_spoiled_cone_log_ends_in_drops_or_in_a_sentence(tmp_path: Path, spoil: Any) -> None:
    path = tmp_path / "log.csv"
    for seed in ROUNDS:
        path.write_bytes(spoil(LOG.read_bytes(), random.Random(seed)))
        made, refusal = said(lambda: read_cone_log(path))
        assert refusal or made.drops, seed


@pytest.mark.parametrize("spoil", [flipped, cut])
@pytest.mark.parametrize("name", ["tickets", "hours", "results"])
def test_a_spoiled_list_ends_in_records_or_in_a_sentence(tmp_path: Path, name: str, spoil: Any) -> None:
    content = (SEASON / f"{name}.csv").read_bytes()
    numbers = [path.stem for path in (SEASON / "jobs").glob("*.toml")]
    path, company = tmp_path / "list.csv", load_prices(write_demo(tmp_path / "demo").prices).company
    whole, refused = read_records([SEASON / f"{name}.csv"], numbers, company), 0
    assert whole.tickets or whole.hours or whole.results
    for seed in ROUNDS:
        path.write_bytes(spoil(content, random.Random(seed)))
        made, refusal = said(lambda: read_records([path], numbers, company))
        refused += bool(refusal)
        assert refusal or isinstance(made, Records), seed
        for ticket in made.tickets if made else ():
            assert ticket.net_kg is None or 0 <= ticket.net_kg < math.inf, seed
    assert refused


@pytest.mark.parametrize("spoil", [flipped, cut, repacked])
def test_a_spoiled_office_file_ends_in_its_quote_or_in_a_sentence(tmp_path: Path, spoil: Any) -> None:
    office = write_quote(trial_quote(FIRM), tmp_path).office
    content, whole = office.read_bytes(), load_quote(office).quote.offer.total
    path, refused = tmp_path / "spoiled.xlsx", 0
    for seed in ROUNDS[::3]:
        path.write_bytes(spoil(content, random.Random(seed)))
        made, refusal = said(lambda: load_quote(path))
        refused += bool(refusal)
        assert refusal or made.quote.offer.total == whole, seed
    assert refused


BOMB = b"<worksheet>" + b" " * 300_000_000 + b"</worksheet>"
GROWING = b'<!ENTITY a "ha">' + b"".join(b'<!ENTITY %c "%s">' % (98 + k, b"&%c;" % (97 + k) * 10) for k in range(9))
READING = b'<!ENTITY j SYSTEM "file:///etc/hostname">'


def _with_entity(book: bytes, entities: bytes) -> bytes:
    name = "xl/worksheets/sheet1.xml"
    part = re.sub(rb"<t>[^<]*</t>", b"<t>&j;</t>", part_of(book, name), count=1)
    assert b"&j;" in part
    return with_part(book, name, b'<?xml version="1.0"?><!DOCTYPE worksheet [' + entities + b"]>" + part)


def _inserted(part: bytes, tag: bytes, before: bytes) -> bytes:
    assert before in part
    return part.replace(before, tag + before, 1)


HOSTILE: dict[str, tuple[Callable[[bytes], bytes], str]] = {
    "a part that unpacks to 300 MB": (
        lambda book: with_part(book, "xl/worksheets/sheet1.xml", BOMB), "unpacks to 300 MB; at most 20 MB"),
    "a part nobody needs that unpacks to 300 MB": (
        lambda book: with_part(book, "xl/more.xml", BOMB), "xl/more.xml unpacks to 300 MB; at most 20 MB"),
    "entities that grow": (lambda book: _with_entity(book, GROWING), "damaged or is not a workbook"),
    "an entity that reads a file": (
        lambda book: _with_entity(book, READING), "damaged or is not a workbook"),
    "a million rows": (
        lambda book: with_part(book, "xl/worksheets/sheet1.xml", _inserted(
            part_of(book, "xl/worksheets/sheet1.xml"),
            b"".join(b'<row r="%d"><c r="A%d"/></row>' % (row, row) for row in range(5000, 1_048_577)),
            b"</sheetData>")), "Delete the empty rows"),
    "the whole sheet merged": (
        lambda book: with_part(book, "xl/worksheets/sheet1.xml", _inserted(
            part_of(book, "xl/worksheets/sheet1.xml"),
            b'<mergeCells count="1"><mergeCell ref="A200:XFD1048576"/></mergeCells>', b"<pageMargins")),
        "are merged into one; at most 100,000"),
    "a link over the whole sheet": (
        lambda book: with_part(book, "xl/worksheets/sheet1.xml", _inserted(
            part_of(book, "xl/worksheets/sheet1.xml"),
            b'<hyperlinks><hyperlink ref="A200:XFD1048576" location="A1"/></hyperlinks>', b"<pageMargins")),
        "are under one link; at most 100,000"),
    "ten thousand parts": (
        lambda _: packed({f"xl/{k}.xml": b"<a/>" for k in range(10_000)}), "holds 10,000 parts"),
    "a zip of something else": (lambda _: packed({"letter.txt": b"Dear all"}), "damaged or is not a workbook"),
    "a workbook that names no sheet": (
        lambda book: with_part(book, "xl/workbook.xml", b"<workbook/>"), "its sheets are: none"),
    "an unknown way of writing letters": (
        lambda book: with_part(book, "xl/workbook.xml", b'<?xml version="1.0" encoding="klingon"?><workbook/>'),
        "damaged or is not a workbook"),
}  # fmt: skip


@pytest.mark.parametrize("name", HOSTILE)
def test_a_hostile_workbook_is_refused_in_one_line(tmp_path: Path, name: str) -> None:
    change, words = HOSTILE[name]
    path = tmp_path / "prices.xlsx"
    path.write_bytes(change(sound()))
    _, refusal = said(lambda: load_prices(path))
    assert words in refusal
    assert str(path) in refusal
    assert refusal in [str(problem) for problem in problems(path)]
    assert said(lambda: load_job(path))[1]


def test_a_zip_that_lies_about_its_sizes_is_refused(tmp_path: Path) -> None:
    content = bytearray(with_part(sound(), "xl/worksheets/sheet1.xml", b"<worksheet>" + b" " * 30_000_000))
    true, told = (30_000_011).to_bytes(4, "little"), (4096).to_bytes(4, "little")
    assert content.count(true) >= 1
    path = tmp_path / "prices.xlsx"
    path.write_bytes(bytes(content).replace(true, told))
    assert "damaged or is not a workbook" in said(lambda: load_prices(path))[1]


def _outside_link(book: Workbook) -> None:
    book["Prices"]["F6"] = "='[other.xlsx]Sheet1'!$A$1"


def _hidden(book: Workbook) -> None:
    book["Prices"].column_dimensions["D"].hidden = True
    book["Company"].sheet_state = "hidden"


def _reordered(book: Workbook) -> None:
    book._sheets.reverse()


def _merged(book: Workbook) -> None:
    book["Prices"].merge_cells("K3:M40")


def _formatted_far_down(book: Workbook) -> None:
    book["Prices"]["A1048576"].number_format = "0.00"


@pytest.mark.parametrize("change", [_hidden, _reordered, _merged, _formatted_far_down])
def test_an_odd_workbook_means_what_it_says(tmp_path: Path, change: Callable[[Workbook], None]) -> None:
    plain = tmp_path / "plain.xlsx"
    plain.write_bytes(sound())
    assert load_prices(spoiled(tmp_path, change)).prices.keys() == load_prices(plain).prices.keys()


def test_macros_and_links_to_elsewhere_are_never_followed(tmp_path: Path) -> None:
    book = with_part(sound(), "xl/vbaProject.bin", b"\xd0\xcf\x11\xe0 not run")
    book = with_part(book, "xl/externalLinks/externalLink1.xml", b"<externalLink/>")
    path = tmp_path / "prices.xlsm"
    path.write_bytes(book)
    plain = tmp_path / "plain.xlsx"
    plain.write_bytes(sound())
    assert load_prices(path).prices.keys() == load_prices(plain).prices.keys()


def test_a_price_that_is_a_formula_counts_as_last_calculated_or_not_at_all(tmp_path: Path) -> None:
    def never(book: Workbook) -> None:
        row, _ = find(book["Prices"], "base-stone", 1)
        book["Prices"].cell(row, 4).value = "=12*2"

    path = spoiled(tmp_path, never)
    with pytest.raises(PriceError, match="was never calculated"):
        load_prices(path)
    sheet = next(
        name for name in zipfile.ZipFile(path).namelist() if b"<f>12*2</f>" in part_of(path.read_bytes(), name)
    )
    part = part_of(path.read_bytes(), sheet)
    path.write_bytes(with_part(path.read_bytes(), sheet, re.sub(rb"<f>12\*2</f><v ?/>", b"<f>12*2</f><v>24</v>", part)))
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


def test_the_corners_of_a_sheet_are_no_trap(tmp_path: Path) -> None:
    """A cell in the last row and column makes no reader walk a sheet of 17,000 million cells."""
    book = load_workbook(BytesIO(sound()))
    book["Prices"][f"{get_column_letter(16_384)}1048576"] = "x"
    path = tmp_path / "prices.xlsx"
    book.save(path)
    assert said(lambda: load_prices(path))[0]
