"""Files are written whole, all of a quote together, under a revision of their own, or not at all."""

import os
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import pytest
from trial_quote import FIRM, trial_quote

from basecalc.core.errors import WorkbookError
from basecalc.render.save import KINDS, file_stem, is_quoted, next_revision, save_pair, write_quote
from basecalc.workbook import new_file


def both(revision: int) -> Mapping[str, bytes]:
    return {kind: f"{kind} {revision}".encode() for kind in KINDS}


def names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


def test_the_pair_takes_the_next_free_revision_and_replaces_nothing(tmp_path: Path) -> None:
    job = {**FIRM["job"], "client": "../../NUL", "site": "C:\\CON. \N{SNOWMAN}" + "x" * 100}  # no part of the names
    quote = trial_quote({**FIRM, "job": job})
    first, second = write_quote(quote, tmp_path / "new" / "folder"), write_quote(quote, tmp_path / "new" / "folder")
    assert (first.revision, second.revision) == (1, 2)
    made = [path.name for path in (second.client, second.office, second.crew)]
    assert made == [f"FH-119-r2-{kind}.xlsx" for kind in ("quote", "office", "crew")]
    kinds = ("crew", "office", "quote")
    assert names(first.client.parent) == [f"FH-119-r{k}-{kind}.xlsx" for k in (1, 2) for kind in kinds]


def test_one_file_of_a_pair_is_enough_to_take_its_revision(tmp_path: Path) -> None:
    (tmp_path / "Q-1-r3-office.xlsx").write_bytes(b"mine")
    (tmp_path / "Q-1-r1-quote.xlsx").write_bytes(b"mine too")
    (tmp_path / "Q-10-r9-quote.xlsx").write_bytes(b"another quote")
    assert save_pair(tmp_path, "Q-1", both).revision == 4
    assert (tmp_path / "Q-1-r3-office.xlsx").read_bytes() == b"mine"


def test_a_file_that_appears_meanwhile_is_left_alone(tmp_path: Path) -> None:
    def slow(revision: int) -> Mapping[str, bytes]:
        if revision == 1:
            (tmp_path / "Q-1-r1-office.xlsx").write_bytes(b"a colleague's")
        return both(revision)

    files = save_pair(tmp_path, "Q-1", slow)
    assert files.revision == 2
    assert files.client.read_bytes() == b"quote 2"
    assert names(tmp_path) == ["Q-1-r1-office.xlsx", "Q-1-r2-crew.xlsx", "Q-1-r2-office.xlsx", "Q-1-r2-quote.xlsx"]
    assert (tmp_path / "Q-1-r1-office.xlsx").read_bytes() == b"a colleague's"


def fails_at(place: int, error: OSError) -> Callable[..., None]:
    """Return what takes the place of a call of the system that fails at one of its calls."""
    calls = []

    def call(*_: Any) -> None:
        calls.append(1)
        if len(calls) == place:
            raise error

    return call


def no_client_file(draft: Path, path: Path) -> None:
    if path.name.endswith("quote.xlsx"):
        raise BROKEN
    PUBLISH(draft, path)


FULL, BROKEN, PUBLISH = OSError(28, "No space left on device"), OSError(5, "Input/output error"), new_file._publish


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        (
            [(os, "fsync", fails_at(1, FULL))],
            r"Q-1 cannot be written there: no space left on device; nothing was written",
        ),
        ([(os, "fsync", fails_at(2, FULL))], "no space left on device; nothing was written"),
        ([(new_file, "_publish", no_client_file)], "input/output error"),
        ([(os, "link", fails_at(1, BROKEN)), (Path, "replace", fails_at(1, BROKEN))], "input/output error"),
    ],
    ids=["the first file", "the second file", "the last name", "no links"],
)
def test_a_disk_that_fails_leaves_no_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, changes: list[tuple[Any, str, Any]], told: str
) -> None:
    for owner, name, change in changes:
        monkeypatch.setattr(owner, name, change)
    with pytest.raises(WorkbookError, match=told):
        save_pair(tmp_path, "Q-1", both)
    assert names(tmp_path) == []


def test_a_disk_without_links_still_replaces_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def no_links(*_: Any) -> None:
        raise OSError(1, "Operation not permitted")

    monkeypatch.setattr(os, "link", no_links)
    assert save_pair(tmp_path, "Q-1", both).revision == 1
    assert save_pair(tmp_path, "Q-1", both).office.read_bytes() == b"office 2"
    assert len(names(tmp_path)) == 2 * len(KINDS)


def test_a_quote_counts_as_there_when_its_client_file_is(tmp_path: Path) -> None:
    """It is the last of a pair to get its name, so an interrupted pair is no quote yet."""
    (tmp_path / "Q-[1]-r1-office.xlsx").write_bytes(b"alone")
    assert not is_quoted(tmp_path, "Q-[1]")
    files = save_pair(tmp_path, "Q-1", both)
    assert is_quoted(tmp_path, "Q-1")
    assert not is_quoted(tmp_path, "Q-10")
    files.client.unlink()
    assert not is_quoted(tmp_path, "Q-1")


def test_drafts_of_a_killed_run_go_after_an_hour(tmp_path: Path) -> None:
    old, fresh, other = (tmp_path / name for name in (".basecalc-0a.tmp", ".basecalc-0b.tmp", ".mine.tmp"))
    for draft in (old, fresh, other):
        draft.write_bytes(b"half")
        os.utime(draft, (0, 0) if draft != fresh else None)
    save_pair(tmp_path, "Q-1", both)
    assert names(tmp_path) == [".basecalc-0b.tmp", ".mine.tmp", *(f"Q-1-r1-{kind}.xlsx" for kind in sorted(KINDS))]


def test_a_folder_that_is_a_file_is_one_clear_error(tmp_path: Path) -> None:
    (tmp_path / "quotes").write_text("not a folder")
    with pytest.raises(WorkbookError, match="quotes: the folder cannot be made"):
        save_pair(tmp_path / "quotes", "Q-1", both)
    with pytest.raises(WorkbookError, match="the folder cannot be read"):
        next_revision(tmp_path / "quotes", "Q-1")


def test_new_files_are_readable_like_any_other_of_their_folder(tmp_path: Path) -> None:
    (tmp_path / "plain").write_bytes(b"")
    files = save_pair(tmp_path, "Q-1", both)
    assert files.client.stat().st_mode == (tmp_path / "plain").stat().st_mode


HOSTILE_NUMBERS = {
    "../../etc/passwd": "etc-passwd", "..\\..\\boot.ini": "boot.ini", "/": "quote", "...": "quote", "": "quote",
    "C:\\quotes\\1": "C-quotes-1", "7.": "7", "7 . . ": "7", "con": "quote-con", "NUL.1": "quote-NUL.1",
    "com1.x": "quote-com1.x", "LPT\N{SUPERSCRIPT ONE}.": "quote-LPT\N{SUPERSCRIPT ONE}", "CONCRETE.1": "CONCRETE.1",
    "7\N{SNOWMAN}8\N{HOUSE BUILDING}": "7-8", "a\x00b\nc": "a-b-c", "1:2*3?4|5<6>7": "1-2-3-4-5-6-7",
    "x" * 5000: "x" * 80, "e\N{COMBINING ACUTE ACCENT}": "\N{LATIN SMALL LETTER E WITH ACUTE}",
    "\N{RIGHT-TO-LEFT OVERRIDE}xslx.1": "xslx.1", "\U00020000" * 80: "\U00020000" * 50,
}  # fmt: skip


@pytest.mark.parametrize("number", HOSTILE_NUMBERS)
def test_any_number_makes_a_file_name_that_every_system_takes(tmp_path: Path, number: str) -> None:
    assert file_stem(number) == HOSTILE_NUMBERS[number]
    files = save_pair(tmp_path / "quotes", number, both)
    assert names(tmp_path) == ["quotes"]
    for path in (files.client, files.office, files.crew):
        assert path.parent == tmp_path / "quotes"
        assert path.exists()
        assert len(path.name.encode()) <= 255
        assert path.name.partition(".")[0].upper() not in ("CON", "PRN", "AUX", "NUL", "COM1", "LPT1")
        assert not path.name.startswith((".", "-", " "))
    assert is_quoted(tmp_path / "quotes", number)
    assert next_revision(tmp_path / "quotes", number) == 2
