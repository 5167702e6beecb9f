"""The LibreOffice that tests work in: where it is missing, how it says so, and that each keeps to itself."""

import os
import shutil
from collections.abc import Iterator
from pathlib import Path

import libreoffice as office
import openpyxl
import pytest
from libreoffice import Calc


@pytest.fixture
def nothing_found(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    office.libreoffice.cache_clear()
    monkeypatch.setattr(shutil, "which", lambda _: None)
    yield
    office.libreoffice.cache_clear()


@pytest.mark.usefixtures("nothing_found")
def test_where_it_is_missing_a_test_is_skipped_with_the_reason(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("CI", raising=False)
    with pytest.raises(pytest.skip.Exception, match="no soffice command was found"):
        office.libreoffice()


@pytest.mark.usefixtures("nothing_found")
def test_where_it_must_be_a_missing_one_fails(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("CI", "true")
    with pytest.raises(pytest.fail.Exception, match="LibreOffice is needed here: no soffice command was found"):
        Calc(tmp_path)


@pytest.mark.libreoffice
def test_two_at_once_keep_to_themselves_and_leave_nothing_running(tmp_path: Path) -> None:
    folders = [tmp_path / name for name in ("one", "two with a space")]
    for folder in folders:
        folder.mkdir()
    with Calc(folders[0]) as one, Calc(folders[1]) as two:
        for number, calc in ((1.0, one), (2.0, two)):
            assert len(calc.open()) == 1
            calc.write([("Sheet1", "A1", number), ("Sheet1", "A2", "=A1*10"), ("Sheet1", "A3", "=A1/0")])
        assert one.read([("Sheet1", "A2"), ("Sheet1", "A3"), ("Sheet1", "A4")]) == [10.0, "#DIV/0!", ""]
        assert two.edited([("Sheet1", "A1", 3.0)], [("Sheet1", "A2")]) == [30.0]
        pids = [calc.ask("pid") for calc in (one, two)]
        assert len(set(pids)) == 2
    for pid in pids:
        with pytest.raises(ProcessLookupError):
            os.kill(pid, 0)


@pytest.mark.libreoffice
def test_what_cannot_be_done_is_said(tmp_path: Path) -> None:
    with Calc(tmp_path) as calc:
        with pytest.raises(AssertionError, match="fly: AttributeError"):
            calc.ask("fly")
        calc.open()
        with pytest.raises(AssertionError, match=r"read: .*NoSuchElementException"):
            calc.read([("No such sheet", "A1")])
        assert calc.read([("Sheet1", "A1")]) == [""]  # and it goes on


@pytest.mark.libreoffice
def test_cells_are_written_as_they_stand_and_read_by_name(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = "Here"
    book.defined_names["Mine"] = openpyxl.workbook.defined_name.DefinedName("Mine", attr_text="Here!$B$2")
    sheet["C2"], sheet["C3"] = "=Mine", "=ISNUMBER(Mine)"
    book.save(tmp_path / "book.xlsx")
    with Calc(tmp_path) as calc:
        assert calc.open(tmp_path / "book.xlsx") == ["Here"]
        assert calc.edited([("", "Mine", 4.5)], [("", "Mine"), ("Here", "C2"), ("Here", "C3")]) == [4.5, 4.5, 1.0]
        assert calc.edited([("", "Mine", "1/2")], [("", "Mine"), ("Here", "C3")]) == ["1/2", 0.0]
        assert calc.edited([("", "Mine", None)], [("", "Mine"), ("Here", "C2")]) == ["", 0.0]
        calc.edited([("", "Mine", 7.0)], [])
        saved = openpyxl.load_workbook(calc.save(tmp_path / "saved.xlsx"), data_only=True)
    assert [saved["Here"][at].value for at in ("B2", "C2", "C3")] == [7, 7, True]
