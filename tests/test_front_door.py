"""Hostile, odd and oversized files end in one sentence, soon and in little memory, whatever door they come in by.

Each is looked at in a process of its own, with a limit on its time and on its memory.
"""

import json
import os
import re
import subprocess
import sys
import time
import tomllib
import zipfile
from collections.abc import Callable, Mapping
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from abuse import packed, part_of, with_part
from price_books import sound
from processes import PATIENCE, SECONDS, limited

import basecalc
from basecalc import BasecalcError, cli, worksheet
from basecalc.core.units import to_unit
from basecalc.demo import DemoFiles
from basecalc.health import file_problems

ROOT = Path(basecalc.__file__).parent.parent
SHEET = "xl/worksheets/sheet1.xml"

Change = Callable[[bytes], bytes]


def refused(*words: object, by: str) -> str:
    """Check that a command ends in one sentence with these words."""
    code, out, err = limited(cli.main, [str(word) for word in words])
    assert (code, "Traceback" not in out + err) == (2, True)
    assert re.search(by, err), err[-500:]
    return out + err


def part(name: str, change: Change) -> Change:
    return lambda book: with_part(book, name, change(part_of(book, name)))


def put(more: bytes, *, before: bytes, name: str = SHEET) -> Change:
    """Return how a part of a workbook gets something more before one of its tags."""

    def change(old: bytes) -> bytes:
        assert before in old
        return old.replace(before, more + before, 1)

    return part(name, change)


def rows(more: bytes) -> Change:
    return put(more, before=b"</sheetData>")


def behind(kind: str, inside: bytes) -> Change:
    """Return how a sheet gets something more behind its cells."""
    tag = kind.encode()
    return part(SHEET, lambda old: old.replace(b"</sheetData>", b"</sheetData><%s>%s</%s>" % (tag, inside, tag), 1))


def merges(*refs: str, spelled: str = 'ref="{}"') -> Change:
    return behind("mergeCells", b"".join(b"<mergeCell %s/>" % spelled.format(ref).encode() for ref in refs))


def links(*refs: str) -> Change:
    inside = b"".join(b'<hyperlink ref="%s" location="A1"/>' % ref.encode() for ref in refs)
    return put(b"<hyperlinks>%s</hyperlinks>" % inside, before=b"<pageMargins")


def _renamed(book: bytes) -> bytes:
    """A sheet in a part that is not called .xml, far too large."""
    large = rows(b"<row>" + b"<c/>" * 300_000 + b"</row>")(book)
    return called(book, part_of(large, SHEET), "xl/worksheets/sheet2.dat")


def called(book: bytes, sheet: bytes, name: str) -> bytes:
    """Return a workbook with its first sheet in a part of another name."""
    with zipfile.ZipFile(BytesIO(book)) as old:
        parts = {one: old.read(one) for one in old.namelist() if one != SHEET}
    for listed in ("xl/_rels/workbook.xml.rels", "[Content_Types].xml"):
        assert SHEET.encode() in parts[listed]
        parts[listed] = parts[listed].replace(SHEET.encode(), name.encode())
    parts[f"xl/worksheets/_rels/{Path(name).name}.rels"] = parts.pop(f"xl/worksheets/_rels/{Path(SHEET).name}.rels")
    return packed({**parts, name: sheet})


def _shared(book: bytes) -> bytes:
    """Thirty sheets that are one part."""
    workbook = part_of(book, "xl/workbook.xml")
    one = re.search(rb"<sheet [^>]*/>", workbook)
    assert one
    more = b"".join(re.sub(rb'name="[^"]*"', b'name="more%d"' % k, one[0]) for k in range(30))
    book = rows(b"<row>" + b'<c t="n"><v>1</v></c>' * 15_000 + b"</row>")(book)
    return with_part(book, "xl/workbook.xml", workbook.replace(one[0], one[0] + more, 1))


def _styles(count: int) -> Change:
    return put(b"<xf/>" * count, before=b"</cellXfs>", name="xl/styles.xml")


def _strings(count: int) -> Change:
    text = b"<sst>" + b"<si><t>a</t></si>" * count + b"</sst>"
    return lambda book: with_part(book, "xl/sharedStrings.xml", text)


def _encrypted(book: bytes) -> bytes:
    """Every part marked as encrypted, in the list at the end of the zip and before each part."""
    made = bytearray(book)
    for mark, flags in ((b"PK\x03\x04", 6), (b"PK\x01\x02", 8)):
        at = made.find(mark)
        while at >= 0:
            made[at + flags] |= 1
            at = made.find(mark, at + 4)
    return bytes(made)


def _doubled(book: bytes) -> bytes:
    out = BytesIO(book)
    with pytest.warns(UserWarning, match="Duplicate name"), zipfile.ZipFile(out, "a") as zipped:
        zipped.writestr(SHEET, part_of(book, SHEET))
    return out.getvalue()


def _strict(workbook: bytes) -> bytes:
    return workbook.replace(
        b"http://schemas.openxmlformats.org/spreadsheetml/2006/main", b"http://purl.oclc.org/ooxml/spreadsheetml/main"
    )


def _lying(book: bytes) -> bytes:
    """A part that says it unpacks to less than it does."""
    content = with_part(book, SHEET, b"<worksheet>" + b" " * 30_000_000)
    true, told = (30_000_011).to_bytes(4, "little"), (4096).to_bytes(4, "little")
    assert true in content
    return content.replace(true, told)


COPIED = b'<row r="900"><c r="A900"><f t="shared" ref="A900:A2900" si="7">%s</f></c></row>' % (b"A1+" * 2_000 + b"A1")
COPIED += b"".join(b'<row r="%d"><c r="A%d"><f t="shared" si="7"/></c></row>' % (row, row) for row in range(901, 2_900))
BOMB = b"<worksheet>" + b" " * 40_000_000 + b"</worksheet>"
GROWING = b'<!ENTITY a "ha">' + b"".join(b'<!ENTITY %c "%s">' % (98 + k, b"&%c;" % (97 + k) * 10) for k in range(9))
READING = b'<!ENTITY j SYSTEM "file:///etc/hostname">'


def _entity(entities: bytes) -> Change:
    def change(sheet: bytes) -> bytes:
        assert re.search(rb"<t>[^<]*</t>", sheet)
        said = re.sub(rb"<t>[^<]*</t>", b"<t>&j;</t>", sheet, count=1)
        return b'<?xml version="1.0"?><!DOCTYPE worksheet [' + entities + b"]>" + said

    return part(SHEET, change)


DAMAGED, RULES = "damaged or is not a workbook", "drop-downs and rules; at most 10,000"
ALL = "A1000:XFD1048576"  # the whole sheet below what is there
EACH_BELOW = [f"A{k * 6 + 1000}:XFD{k * 6 + 1005}" for k in range(100)]  # each 98,304 cells
HOSTILE: Mapping[str, tuple[Change, str]] = {
    "the whole sheet merged": (merges(ALL), "cells are merged into one; at most 100,000"),
    "a merge with spaces around the sign": (merges(ALL, spelled='ref = "{}"'), "cells are merged"),
    "a merge spelled by character references": (merges("A1000&#58;XFD1048576"), "cells are merged"),
    "many merges, each below the limit": (merges(*EACH_BELOW), "more than 100,000 cells are merged"),
    "a link over the whole sheet": (links(ALL), "are under one link; at most 100,000"),
    "many links, each below the limit": (links(*EACH_BELOW), "more than 100,000 cells are under one link"),
    "ten thousand small merges": (
        merges(*(f"A{k}:B{k}" for k in range(1000, 11_000))), "merges and links; at most 5,000"),
    "a sheet of another name": (_renamed, "more than 200,000 cells; at most 200,000"),
    "many sheets that are one part": (_shared, "more than 200,000 cells; at most 200,000"),
    "far too many rows": (
        rows(b"".join(b'<row r="%d"><c r="A%d"/></row>' % (row, row) for row in range(5000, 305_000))),
        "Delete the empty rows"),
    "far too many styles": (_styles(200_000), "its styles have more than 100,000 entries"),
    "far too many texts": (_strings(300_000), "more than 400,000 texts"),
    "far too many drop-downs": (behind("dataValidations", b"<dataValidation/>" * 30_000), RULES),
    "a drop-down for far too many places": (
        behind("dataValidations", b'<dataValidation sqref="%s"/>' % (b"A1 " * 30_000)), RULES),
    "far too many colors by rule": (
        behind("conditionalFormatting", b"<cfRule><formula>1</formula></cfRule>" * 30_000), RULES),
    "a long formula copied": (rows(COPIED), "its copied formulas have .* letters; at most 5,000,000"),
    "a cell below the last row": (
        rows(b'<row r="99999999999"><c r="A99999999999"><v>1</v></c></row>'),
        "a cell in row 99,999,999,999; a sheet ends at row 1,048,576"),
    "a value in a cell half a million times": (
        rows(b"<row><c>" + b"<v/>" * 500_000 + b"</c></row>"), "values and formulas; at most"),
    "an encrypted zip": (_encrypted, "the file is encrypted; save it as an ordinary .xlsx without a password"),
    "a part that is there twice": (_doubled, f"holds its part {SHEET} more than once; .*ordinary .xlsx"),
    "the strict kind of workbook": (
        part("xl/workbook.xml", _strict), "Strict Open XML workbook.*save it as an ordinary .xlsx"),
    "a part that unpacks to 40 MB": (part(SHEET, lambda _: BOMB), "unpacks to 40 MB; at most 20 MB"),
    "a part nobody needs that unpacks to 40 MB": (
        lambda book: with_part(book, "xl/more.xml", BOMB), "xl/more.xml unpacks to 40 MB; at most 20 MB"),
    "sizes that are not true": (_lying, DAMAGED),
    "entities that grow": (_entity(GROWING), DAMAGED),
    "an entity that reads a file": (_entity(READING), DAMAGED),
    "ten thousand parts": (lambda _: packed({f"xl/{k}.xml": b"<a/>" for k in range(10_000)}), "holds 10,000 parts"),
    "a zip of something else": (lambda _: packed({"letter.txt": b"Dear all"}), DAMAGED),
    "a workbook that names no sheet": (part("xl/workbook.xml", lambda _: b"<workbook/>"), "its sheets are: none"),
    "an unknown way of writing letters": (
        part("xl/workbook.xml", lambda _: b'<?xml version="1.0" encoding="klingon"?><workbook/>'), DAMAGED),
}  # fmt: skip


def at_the_edge(book: bytes) -> bytes:
    """Return the largest workbook that is let in: cells, styles, texts and merges just below their limits."""
    cells = b"".join(b'<row r="%d">%s</row>' % (row, b'<c t="n"><v>1</v></c>' * 100) for row in range(900, 2_700))
    merged = merges(*(f"AA{k}:AT{k}" for k in range(3_000, 7_800)))
    for change in (rows(cells), _styles(90_000), _strings(190_000), merged):
        book = change(book)
    return book


def looked_at(paths: list[Path]) -> dict[str, list[list[str]]]:
    """Return what check, prices and job readers say of each file, by its stem, within the limits of time and memory."""

    def said(door: Callable[[Path], Any], path: Path) -> list[str]:
        try:
            found = door(path)
        except BasecalcError as refusal:
            return [str(refusal)]
        return [str(problem) for problem in found] if door is file_problems else []

    def look() -> None:
        for path in paths:
            begun = time.process_time()
            told = [said(door, path) for door in (file_problems, basecalc.load_prices, basecalc.load_job)]
            print(json.dumps([path.stem, told, time.process_time() - begun]), flush=True)

    code, out, err = limited(look)
    assert code == 0, out[-300:] + err[-2000:]
    answers = [json.loads(line) for line in out.splitlines()]
    assert [(name, seconds) for name, _, seconds in answers if seconds > SECONDS] == []
    return {name: told for name, told, _ in answers}


@pytest.fixture(scope="module")
def workbooks(tmp_path_factory: pytest.TempPathFactory) -> dict[str, list[list[str]]]:
    folder, book, paths = tmp_path_factory.mktemp("hostile"), sound(), []
    for name, change in {**{name: change for name, (change, _) in HOSTILE.items()}, "the edge": at_the_edge}.items():
        paths.append(folder / f"{name}.xlsx")
        paths[-1].write_bytes(change(book))
    return looked_at(paths)


@pytest.mark.parametrize("name", HOSTILE)
def test_a_hostile_workbook_is_refused_soon_and_in_one_sentence(workbooks: dict[str, Any], name: str) -> None:
    checked, [prices], [job] = workbooks[name]
    assert re.search(HOSTILE[name][1], prices)
    assert prices in checked
    for said in (*checked, job):
        assert f"{name}.xlsx" in said
        assert "\n" not in said


def test_the_largest_workbook_that_is_let_in_is_read_within_the_limits(workbooks: dict[str, Any]) -> None:
    assert [said for said in workbooks["the edge"][0] if "at most" in said or "damaged" in said] == []


def test_what_spreadsheet_programs_write_is_still_read(tmp_path: Path) -> None:
    """A sheet in a part of another name, relations that climb, the letters of UTF-16: all of it means the same."""
    plain, book = tmp_path / "plain.xlsx", sound()
    plain.write_bytes(book)
    whole = basecalc.load_prices(plain).prices
    wide = '<?xml version="1.0" encoding="UTF-16"?>' + re.sub(r"^<\?xml[^>]*\?>", "", part_of(book, SHEET).decode())
    for content in (
        called(book, part_of(book, SHEET), "xl/worksheets/sheet2.dat"), with_part(book, SHEET, wide.encode("utf-16")),
    ):  # fmt: skip
        path = tmp_path / "prices.xlsx"
        path.write_bytes(content)
        assert basecalc.load_prices(path).prices == whole


def job_text(**changes: str) -> str:
    keys = {
        "client": '"c"', "length": "40", "reading": "3", "date": "2026-05-04", "slope": "2", "note": '"n"', "log": "",
        "spot": '"s"', **changes,
    }  # fmt: skip
    readings = 'log = "{log}"' if keys["log"] else 'readings = [{{ test = "walk", reading = {reading} }}]'
    return (
        '[job]\nnumber = "T-1"\nsite = "s"\nsoil = "clay"\nclient = {client}\ndate = {date}\n[[area]]\nname = "A"\n'
        'shape = "rectangle"\nwidth = 20\nlength = {length}\nslope = {slope}\nslope_direction = "length"\n'
        'note = {note}\n[[spot]]\nname = {spot}\narea = "A"\n' + readings + "\n"
    ).format(**keys)


@pytest.mark.parametrize(
    ("door", "kind"),
    [
        *((door, "pipe") for door in ("check", "quote", "dcp", "template", "prices", "log", "actuals")),
        ("check", "device"),
        ("log", "device"),
    ],
)
def test_what_is_no_file_never_hangs(tmp_path: Path, demo: DemoFiles, door: str, kind: str) -> None:
    ending = {"quote": "toml", "dcp": "csv", "log": "csv", "actuals": "csv"}.get(door, "xlsx")
    prices, first, odd, job = demo.prices, demo.jobs[0], tmp_path / f"odd.{ending}", tmp_path / "log.toml"
    if kind == "pipe":
        os.mkfifo(odd)
    else:
        odd.symlink_to("/dev/zero")
    job.write_text(job_text(log=odd.name), "utf-8")
    words = {
        "check": ("check", odd),
        "quote": ("quote", odd, "--prices", prices),
        "dcp": ("dcp", odd),
        "template": ("template", tmp_path / "new.xlsx", "--for", "calc", "--prices", odd),
        "prices": ("quote", first, "--prices", odd, "--out", tmp_path),
        "log": ("check", job),
        "actuals": ("actuals", odd, "--job", first, "--prices", prices),
    }[door]
    leads_out = (door, kind) == ("log", "device")  # a link that leads out of the folder
    refused(*words, by="in the folder of the job or below" if leads_out else "a pipe or a device, not a file")


@pytest.mark.parametrize("log", ["/etc/passwd", "../../secret.csv", "logs/../../secret.csv", "leads-out.csv"])
def test_a_log_outside_the_folder_of_the_job_is_not_read(tmp_path: Path, log: str) -> None:
    folder = tmp_path / "jobs"
    (folder / "logs").mkdir(parents=True)
    (tmp_path / "secret.csv").write_text("PRIVATE WORDS", "utf-8")
    (folder / "leads-out.csv").symlink_to(tmp_path / "secret.csv")
    (folder / "job.toml").write_text(job_text(log=log), "utf-8")
    with pytest.raises(BasecalcError, match="it must be a file in the folder of the job or below it") as refusal:
        basecalc.load_job(folder / "job.toml")
    assert "PRIVATE" not in str(refusal.value)
    assert "root:" not in str(refusal.value)


def test_no_control_character_reaches_the_terminal(tmp_path: Path) -> None:
    path, odd = tmp_path / "job.toml", tmp_path / "a\x1b]0;pwn\x07.toml"
    path.write_text(job_text(spot='"s\\u001b[2J"', log="\\u001b]0;pwn\\u0007"), "utf-8")
    odd.write_text("[job]\n", "utf-8")
    for file in (path, odd, tmp_path / "none\x1b[2J.toml"):
        said = refused("check", file, by=r"\.toml")
        assert re.findall(r"[\x00-\x09\x0b-\x1f\x7f-\x9f]", said) == []


FAR_OUT: Mapping[str, tuple[dict[str, str], str]] = {
    "sound": ({}, ""),
    "a length of 5,000 digits": ({"length": "1" * 5_000}, "a number in this file has thousands of digits"),
    "a reading of 400 digits": ({"reading": "9" * 400}, r"reading is 1.00000e\+400"),
    "a reading that is a long text": ({"reading": f'"{"1" * 100_000} in"'}, "'111"),
    "a client that is no name": ({"client": "nan"}, "client is nan; it must be text"),
    "a client without end": ({"client": "1e400"}, "client is inf; it must be text"),
    "a length that is a long text": ({"length": f'"{"1" * 100_000} m"'}, "length is '111"),
    "a unit of powers of powers": ({"length": '"9**9**9**9 mm"'}, "length is '9"),
    "small powers of powers": ({"length": '"1 m^4^4^4^4"'}, "length is '1 m"),
    "a slope of 5,000 digits": ({"slope": f'"{"1" * 5_000}/4 in/ft"'}, "slope is '111"),
    "the last day there is": ({"date": "9999-12-31"}, "date is 9999-12-31; it must be from 2000-01-01 to 2199-12-31"),
}


def test_a_number_or_word_of_a_job_far_out_of_reach_ends_in_one_sentence(tmp_path: Path) -> None:
    for name, (keys, _) in FAR_OUT.items():
        (tmp_path / f"{name}.toml").write_text(job_text(**keys), "utf-8")
    jobs = looked_at([tmp_path / f"{name}.toml" for name in FAR_OUT])
    assert jobs.pop("sound")[0] == []
    for name, ([said], _, _) in jobs.items():
        assert re.search(FAR_OUT[name][1], said), name
        assert len(said) < 1_000


@pytest.mark.parametrize(("kind", "most"), [("area", 200), ("spot", 1000), ("reading", 2000), ("note", 200)])
def test_a_job_of_far_too_many_things_is_refused_by_their_number(kind: str, most: int) -> None:
    data = tomllib.loads(job_text())
    area, spot = data["area"][0], data["spot"][0]
    more: dict[str, Any] = {
        "area": {"area": [{**area, "name": f"A{k}"} for k in range(most + 1)]},
        "spot": {"spot": [{**spot, "name": f"s{k}"} for k in range(most + 1)]},
        "reading": {"spot": [{**spot, "readings": spot["readings"] * (most + 1)}]},
        "note": {"job": {**data["job"], "notes": ["n"] * (most + 1)}},
    }[kind]
    with pytest.raises(BasecalcError, match=rf"the job has {most + 1:,} {kind}s; it must be at most {most:,}"):
        basecalc.parse_job({**data, **more})
    assert basecalc.parse_job(data).spots


def test_a_file_of_far_too_many_bytes_is_not_read(tmp_path: Path) -> None:
    for name, words in (("job.toml", "a job file"), ("prices.xlsx", "an .xlsx workbook"), ("log.csv", "a log")):
        path = tmp_path / name
        with path.open("wb") as file:
            file.truncate(40_000_000_000)
        refused("dcp" if name == "log.csv" else "check", path, by=rf"the file has 40,000.0 MB; it must be {words}")


UNITS = ("9**9**9**9 mm", "9^9^9^9 mm", "mm**9**9**9", "m^4^4^4^4", "(((((((((mm)))))))))", "1" * 16_000 + "!")


def test_a_unit_is_looked_up_and_never_worked_out() -> None:
    """A call of a spreadsheet program must come back at once, whatever is in the cell."""

    def ask() -> None:
        ws = worksheet
        for unit in UNITS:
            one = f"1 {unit}"
            for said in (
                ws.TRUCKLOADS(unit, 14.0), ws.TRUCKLOADS(one, 14.0), ws.TRUCKLOADS(36.0, one), ws.BASE_DEPTH(unit),
                ws.BASE_DEPTH("soft", "light", "none", None, unit), ws.BASE_LIFTS(unit), ws.BASE_LIFTS(12.0, one),
                ws.ROLLS(one, 20.0, 100.0, 13.1), ws.EXCAVATION_VOLUME(one, 8.0),
                ws.EXCAVATION_VOLUME(800.0, 8.0, None, None, None, unit), ws.AGGREGATE_TONS(100.0, one),
                ws.AGGREGATE_TONS(100.0, 1.4, 1.15, 0.0, unit),
            ):  # fmt: skip
                assert str(said).lstrip("[").startswith(("#", "'#")), said

    assert limited(ask) == (0, "", "")


@pytest.mark.parametrize(
    ("old", "new"),
    [
        (rb"(thickest lift</t>.*?<t>)in<", rb"\g<1>9**9**9**9 in<"),
        (rb"loose density \[ton/yd3\]", rb"loose density [9**9**9**9 ton/yd3]"),
    ],
    ids=["unit cell", "heading"],
)
def test_a_unit_of_the_price_workbook_is_looked_up(tmp_path: Path, old: bytes, new: bytes) -> None:
    parts = {name: part_of(sound(), name) for name in zipfile.ZipFile(BytesIO(sound())).namelist()}
    changed = {name: re.sub(old, new, data, count=1, flags=re.DOTALL) for name, data in parts.items()}
    assert changed != parts
    path = tmp_path / "prices.xlsx"
    path.write_bytes(packed(changed))
    refused("check", path, by=r"'9\*\*9\*\*9\*\*9 (in|ton/yd3)'; it must be")


@pytest.mark.parametrize(
    ("given", "unit", "value"),
    [("2 kg/cm2", "kPa", 196.133), ("2 kgf/cm2", "kPa", 196.133), ("20 kPa", "tsf", 20 / 95.76051796)],
)
@pytest.mark.source("standard gravity 9.80665 m/s2, exact by definition (3rd CGPM, 1901); [memory]")
def test_pressures_in_kilograms_per_square_centimeter_are_read(given: str, unit: str, value: float) -> None:
    assert to_unit("reading", given, unit) == pytest.approx(value, rel=1e-6)


def test_a_broken_installation_is_never_the_users_mistake(tmp_path: Path) -> None:
    """A library that cannot be loaded is named; no value of the user's is."""
    (tmp_path / "pint.py").write_text("raise TypeError('cannot inherit frozen dataclass')\n", "utf-8")
    path, code = (
        f"{tmp_path}{os.pathsep}{ROOT}",
        "from basecalc.core.units import to_unit\nto_unit('depth', '350 mm', 'in')",
    )
    used, looked = (
        subprocess.run(
            [sys.executable, *words], capture_output=True, text=True, timeout=PATIENCE, check=False,
            env={**os.environ, "PYTHONPATH": path, "COLUMNS": "200"},
        )
        for words in (("-c", code), ("-m", "basecalc", "check"))
    )  # fmt: skip
    assert "cannot inherit frozen dataclass" in used.stderr.splitlines()[-1]
    assert looked.returncode != 0
    assert "Traceback" not in looked.stderr
    assert re.search(r"pint.*cannot be loaded.*cannot inherit frozen dataclass", looked.stdout + looked.stderr)
