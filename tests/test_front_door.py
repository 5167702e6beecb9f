"""Hostile, odd and oversized files end in one sentence, soon and in little memory, whatever door they come in by.

Each case runs in a process of its own, with a limit on its time and on its memory.
"""

import json
import os
import re
import resource
import shutil
import subprocess
import sys
import tomllib
import zipfile
from collections.abc import Callable, Mapping
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from abuse import packed, part_of, with_part
from price_books import sound

import basecalc
from basecalc.core.errors import BasecalcError
from basecalc.demo import write_demo

SECONDS = 60  # of work; by the clock a busy machine may take much longer
PATIENCE = 1800
BYTES = 1_500_000_000  # of addresses, of which a third is only set aside
ROOT = Path(basecalc.__file__).parent.parent
SHEET = "xl/worksheets/sheet1.xml"
RULE = b'<cfRule type="expression" priority="1"><formula>1</formula></cfRule>'


def _limited_memory() -> None:
    resource.setrlimit(resource.RLIMIT_AS, (BYTES, BYTES))


def _limited() -> None:
    _limited_memory()
    resource.setrlimit(resource.RLIMIT_CPU, (SECONDS, SECONDS))


def command(*arguments: object, cwd: Path | None = None) -> tuple[int, str]:
    """Return how a command ends and everything it prints."""
    done = subprocess.run(
        [sys.executable, "-m", "basecalc", *map(str, arguments)],
        capture_output=True, text=True, timeout=PATIENCE, cwd=cwd, preexec_fn=_limited, check=False,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
    )  # fmt: skip
    return done.returncode, done.stdout + done.stderr


def refused(*arguments: object, words: str, cwd: Path | None = None) -> str:
    """Check that a command ends in one sentence with these words."""
    code, said = command(*arguments, cwd=cwd)
    assert "Traceback" not in said
    assert re.search(words, said), said[-500:]
    assert code != 0
    return said


def behind(part: bytes, data: bytes) -> bytes:
    """Return a sheet with something more behind its cells."""
    assert b"</sheetData>" in part
    return part.replace(b"</sheetData>", b"</sheetData>" + data, 1)


def into(part: bytes, rows: bytes) -> bytes:
    """Return a sheet with more rows."""
    return part.replace(b"</sheetData>", rows + b"</sheetData>", 1)


def sheet(change: Callable[[bytes], bytes]) -> Callable[[bytes], bytes]:
    return lambda book: with_part(book, SHEET, change(part_of(book, SHEET)))


def merges(*refs: str, spelled: str = 'ref="{}"') -> bytes:
    return (
        b"<mergeCells>" + b"".join(b"<mergeCell %s/>" % spelled.format(ref).encode() for ref in refs) + b"</mergeCells>"
    )


def _renamed(book: bytes) -> bytes:
    """A sheet in a part that is not called .xml, far too large."""
    part = into(part_of(book, SHEET), b"<row>" + b"<c/>" * 4_000_000 + b"</row>")
    return _called(book, part, "xl/worksheets/sheet2.dat")


def _called(book: bytes, part: bytes, name: str) -> bytes:
    with zipfile.ZipFile(BytesIO(book)) as old:
        parts = {one: old.read(one) for one in old.namelist() if one != SHEET}
    rels, types = "xl/_rels/workbook.xml.rels", "[Content_Types].xml"
    parts[rels] = parts[rels].replace(SHEET.encode(), name.encode())
    parts[types] = parts[types].replace(SHEET.encode(), name.encode())
    assert name.encode() in parts[rels]
    parts[f"xl/worksheets/_rels/{Path(name).name}.rels"] = parts.pop(f"xl/worksheets/_rels/{Path(SHEET).name}.rels")
    return packed({**parts, name: part})


def _shared(book: bytes) -> bytes:
    """Thirty sheets that are one part."""
    part = into(part_of(book, SHEET), b"<row>" + b'<c t="n"><v>1</v></c>' * 15_000 + b"</row>")
    workbook = part_of(book, "xl/workbook.xml")
    one = re.search(rb"<sheet [^>]*/>", workbook)
    assert one
    more = b"".join(re.sub(rb'name="[^"]*"', b'name="more%d"' % k, one[0]) for k in range(30))
    return with_part(with_part(book, SHEET, part), "xl/workbook.xml", workbook.replace(one[0], one[0] + more, 1))


def _styles(count: int) -> Callable[[bytes], bytes]:
    def change(book: bytes) -> bytes:
        part = part_of(book, "xl/styles.xml")
        assert b"</cellXfs>" in part
        return with_part(book, "xl/styles.xml", part.replace(b"</cellXfs>", b"<xf/>" * count + b"</cellXfs>", 1))

    return change


def _strings(count: int) -> Callable[[bytes], bytes]:
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


def _strict(book: bytes) -> bytes:
    part = part_of(book, "xl/workbook.xml")
    return with_part(
        book, "xl/workbook.xml",
        part.replace(b"http://schemas.openxmlformats.org/spreadsheetml/2006/main", b"http://purl.oclc.org/ooxml/spreadsheetml/main"),
    )  # fmt: skip


def _copied(part: bytes) -> bytes:
    first = b'<c r="A900"><f t="shared" ref="A900:A60900" si="7">%s</f></c>' % (b"A1+" * 2_000 + b"A1")
    rest = b"".join(
        b'<row r="%d"><c r="A%d"><f t="shared" si="7"/></c></row>' % (row, row) for row in range(901, 60_900)
    )
    return into(part, b'<row r="900">' + first + b"</row>" + rest)


HOSTILE: Mapping[str, tuple[Callable[[bytes], bytes], str]] = {
    "a merge with spaces around the sign": (
        sheet(lambda part: behind(part, merges("A1000:XFD1048576", spelled='ref = "{}"'))), "cells are merged"),
    "a merge spelled by character references": (
        sheet(lambda part: behind(part, merges("A1000&#58;XFD1048576"))), "cells are merged"),
    "many merges, each below the limit": (
        sheet(lambda part: behind(part, merges(*(f"A{k * 6 + 1000}:XFD{k * 6 + 1005}" for k in range(100))))),
        "more than 100,000 cells are merged"),
    "many links, each below the limit": (
        sheet(lambda part: part.replace(b"<pageMargins", b"<hyperlinks>" + b"".join(
            b'<hyperlink ref="A%d:XFD%d" location="A1"/>' % (k * 6 + 1000, k * 6 + 1005) for k in range(100)
        ) + b"</hyperlinks><pageMargins", 1)), "more than 100,000 cells are under one link"),
    "ten thousand small merges": (
        sheet(lambda part: behind(part, merges(*(f"A{k}:B{k}" for k in range(1000, 11_000))))),
        "merges and links; at most 5,000"),
    "a sheet of another name": (_renamed, "more than 200,000 cells; at most 200,000"),
    "many sheets that are one part": (_shared, "more than 200,000 cells; at most 200,000"),
    "millions of styles": (_styles(3_500_000), "its styles have more than 100,000 entries"),
    "a million texts": (_strings(1_000_000), "more than 400,000 texts"),
    "a million drop-downs": (
        sheet(lambda part: behind(part, b"<dataValidations>" + b"<dataValidation/>" * 900_000 + b"</dataValidations>")),
        "drop-downs and rules; at most 10,000"),
    "a drop-down for a million places": (
        sheet(lambda part: behind(
            part, b'<dataValidations><dataValidation sqref="%s"/></dataValidations>' % (b"A1 " * 1_000_000))),
        "drop-downs and rules; at most 10,000"),
    "hundreds of thousands of colors by rule": (
        sheet(lambda part: behind(
            part, b'<conditionalFormatting sqref="A1">' + RULE * 200_000 + b"</conditionalFormatting>")),
        "drop-downs and rules; at most 10,000"),
    "a long formula copied": (sheet(_copied), "its copied formulas have .* letters; at most 5,000,000"),
    "a cell below the last row": (
        sheet(lambda part: into(part, b'<row r="99999999999"><c r="A99999999999"><v>1</v></c></row>')),
        "a cell in row 99,999,999,999; a sheet ends at row 1,048,576"),
    "an encrypted zip": (_encrypted, "the file is encrypted; save it as an ordinary .xlsx without a password"),
    "a part that is there twice": (_doubled, f"holds its part {SHEET} more than once; .*ordinary .xlsx"),
    "the strict kind of workbook": (_strict, "Strict Open XML workbook.*save it as an ordinary .xlsx"),
    "a value in a cell five million times": (
        sheet(lambda part: into(part, b"<row><c>" + b"<v/>" * 4_500_000 + b"</c></row>")),
        "values and formulas; at most"),
}  # fmt: skip


AT_THE_EDGE: Mapping[str, Callable[[bytes], bytes]] = {
    "cells": sheet(lambda part: into(part, b"".join(
        b'<row r="%d">%s</row>' % (row, b'<c t="n"><v>1</v></c>' * 100) for row in range(900, 2_800)))),
    "styles": _styles(90_000),
    "texts": _strings(190_000),
    "merges": sheet(lambda part: behind(part, merges(*(f"AA{k}:AT{k}" for k in range(1000, 5_800))))),
}  # fmt: skip

EACH = """
import json, sys, time
from pathlib import Path
from basecalc.core.errors import BasecalcError
from basecalc.health import file_problems
for path in sys.argv[1:]:
    begun = time.process_time()
    try:
        said = [str(problem) for problem in file_problems(Path(path))]
    except BasecalcError as refusal:
        said = [str(refusal)]
    print(json.dumps([path, said, time.process_time() - begun]), flush=True)
"""


def looked_at(paths: list[Path]) -> dict[str, list[str]]:
    """Return all that is wrong with each file, by its stem, each looked at within the limits of time and memory."""
    done = subprocess.run(
        [sys.executable, "-c", EACH, *map(str, paths)],
        capture_output=True, text=True, timeout=PATIENCE, preexec_fn=_limited_memory, check=False, cwd=ROOT,
    )  # fmt: skip
    assert done.returncode == 0, done.stdout[-300:] + done.stderr[-2000:]
    told = [json.loads(line) for line in done.stdout.splitlines()]
    assert [(path, seconds) for path, _, seconds in told if seconds > SECONDS] == []
    return {Path(path).stem: said for path, said, _ in told}


@pytest.fixture(scope="module")
def workbooks(tmp_path_factory: pytest.TempPathFactory) -> dict[str, list[str]]:
    folder, book = tmp_path_factory.mktemp("hostile"), sound()
    paths = []
    for name, change in ({name: change for name, (change, _) in HOSTILE.items()} | dict(AT_THE_EDGE)).items():
        paths.append(folder / f"{name}.xlsx")
        paths[-1].write_bytes(change(book))
    return looked_at(paths)


@pytest.mark.parametrize("name", HOSTILE)
def test_a_hostile_workbook_is_refused_soon_and_in_one_sentence(workbooks: dict[str, list[str]], name: str) -> None:
    [said] = workbooks[name]
    assert re.search(HOSTILE[name][1], said)
    assert f"{name}.xlsx" in said
    assert "\n" not in said


@pytest.mark.parametrize("name", AT_THE_EDGE)
def test_the_largest_workbook_that_is_let_in_is_read_within_the_limits(
    workbooks: dict[str, list[str]], name: str
) -> None:
    assert [said for said in workbooks[name] if "at most" in said or "damaged" in said] == []


def test_what_spreadsheet_programs_write_is_still_read(tmp_path: Path) -> None:
    """A sheet in a part of another name, relations that climb, the letters of UTF-16: all of it means the same."""
    plain, book = tmp_path / "plain.xlsx", sound()
    plain.write_bytes(book)
    whole = basecalc.load_prices(plain).prices
    path = tmp_path / "prices.xlsx"
    path.write_bytes(_called(book, part_of(book, SHEET), "xl/worksheets/sheet2.dat"))
    assert basecalc.load_prices(path).prices == whole
    wide = part_of(book, SHEET).decode()
    wide = '<?xml version="1.0" encoding="UTF-16"?>' + re.sub(r"^<\?xml[^>]*\?>", "", wide)
    path.write_bytes(with_part(book, SHEET, wide.encode("utf-16")))
    assert basecalc.load_prices(path).prices == whole


@pytest.fixture(scope="module")
def demo_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("written") / "demo"
    write_demo(folder)
    return folder


@pytest.mark.parametrize(
    ("door", "kind"),
    [
        *((door, "pipe") for door in ("check", "quote", "dcp", "template", "prices", "log", "actuals")),
        ("check", "device"),
        ("log", "device"),
    ],
)
def test_what_is_no_file_never_hangs(tmp_path: Path, demo_folder: Path, door: str, kind: str) -> None:
    shutil.copytree(demo_folder, tmp_path / "demo")
    ending = {"quote": "toml", "dcp": "csv", "log": "csv", "actuals": "csv"}.get(door, "xlsx")
    prices, first = tmp_path / "demo" / "prices.xlsx", tmp_path / "demo" / "jobs" / "1-firm-ground.toml"
    odd = tmp_path / "demo" / "jobs" / f"odd.{ending}"
    if kind == "pipe":
        os.mkfifo(odd)
    else:
        odd.symlink_to("/dev/zero")
    job = tmp_path / "demo" / "jobs" / "log.toml"
    job.write_text(
        '[job]\nnumber = "T-1"\nclient = "c"\nsite = "s"\nsoil = "clay"\n[[area]]\nname = "A"\nshape = "circle"\n'
        f'diameter = 20\n[[spot]]\nname = "s"\narea = "A"\nlog = "{odd.name}"\n', "utf-8"
    )  # fmt: skip
    doors = {
        "check": ("check", odd),
        "quote": ("quote", odd, "--prices", prices),
        "dcp": ("dcp", odd),
        "template": ("template", tmp_path / "new.xlsx", "--for", "calc", "--prices", odd),
        "prices": ("quote", first, "--prices", odd, "--out", tmp_path),
        "log": ("check", job),
        "actuals": ("actuals", odd, "--job", first, "--prices", prices),
    }
    words = "a pipe or a device, not a file"
    if (door, kind) == ("log", "device"):  # a link that leads out of the folder
        words = "in the folder of the job or below"
    refused(*doors[door], words=words)


@pytest.mark.parametrize("log", ["/etc/passwd", "../../secret.csv", "logs/../../secret.csv", "leads-out.csv"])
def test_a_log_outside_the_folder_of_the_job_is_not_read(tmp_path: Path, log: str) -> None:
    folder = tmp_path / "jobs"
    (folder / "logs").mkdir(parents=True)
    (tmp_path / "secret.csv").write_text("PRIVATE WORDS", "utf-8")
    (folder / "leads-out.csv").symlink_to(tmp_path / "secret.csv")
    path = folder / "job.toml"
    path.write_text(
        '[job]\nnumber = "T-1"\nclient = "c"\nsite = "s"\nsoil = "clay"\n[[area]]\nname = "A"\nshape = "circle"\n'
        f'diameter = 20\n[[spot]]\nname = "s"\narea = "A"\nlog = "{log}"\n', "utf-8"
    )  # fmt: skip
    with pytest.raises(BasecalcError, match="it must be a file in the folder of the job or below it") as refusal:
        basecalc.load_job(path)
    assert "PRIVATE" not in str(refusal.value)
    assert "root:" not in str(refusal.value)


def test_no_control_character_reaches_the_terminal(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    path.write_text(
        '[job]\nnumber = "T-1"\nclient = "c"\nsite = "s"\nsoil = "clay"\n[[area]]\nname = "A"\nshape = "circle"\n'
        'diameter = 20\n[[spot]]\nname = "s\\u001b[2J"\narea = "A"\nlog = "\\u001b]0;pwn\\u0007"\n', "utf-8"
    )  # fmt: skip
    odd = tmp_path / "a\x1b]0;pwn\x07.toml"
    odd.write_text("[job]\n", "utf-8")
    for file in (path, odd, tmp_path / "none\x1b[2J.toml"):
        said = refused("check", file, words=r"\.toml")
        assert re.findall(r"[\x00-\x09\x0b-\x1f\x7f-\x9f]", said) == []


def job_text(**changes: str) -> str:
    keys = {
        "client": '"c"', "length": "40", "reading": "3", "date": "2026-05-04", "slope": "2", "note": '"n"', **changes
    }  # fmt: skip
    return (
        '[job]\nnumber = "T-1"\nsite = "s"\nsoil = "clay"\nclient = {client}\ndate = {date}\n[[area]]\nname = "A"\n'
        'shape = "rectangle"\nwidth = 20\nlength = {length}\nslope = {slope}\nslope_direction = "length"\n'
        "note = {note}\n"
        '[[spot]]\nname = "s"\narea = "A"\nreadings = [{{ test = "walk", reading = {reading} }}]\n'
    ).format(**keys)


FAR_OUT: Mapping[str, tuple[dict[str, str], str]] = {
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


@pytest.fixture(scope="module")
def jobs(tmp_path_factory: pytest.TempPathFactory) -> dict[str, list[str]]:
    folder = tmp_path_factory.mktemp("jobs")
    paths = [folder / f"{name}.toml" for name in ("sound", *FAR_OUT)]
    for path in paths:
        path.write_text(job_text(**FAR_OUT.get(path.stem, ({},))[0]), "utf-8")
    return looked_at(paths)


@pytest.mark.parametrize("name", FAR_OUT)
def test_a_number_or_word_of_a_job_far_out_of_reach_ends_in_one_sentence(jobs: dict[str, list[str]], name: str) -> None:
    assert jobs["sound"] == []
    [said] = jobs[name]
    assert re.search(FAR_OUT[name][1], said)
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
        refused("dcp" if name == "log.csv" else "check", path, words=rf"the file has 40,000.0 MB; it must be {words}")


UNITS = ("9**9**9**9 mm", "9^9^9^9 mm", "mm**9**9**9", "m^4^4^4^4", "(((((((((mm)))))))))", "1" * 16_000 + "!")


def test_a_unit_is_looked_up_and_never_worked_out() -> None:
    """A call of a spreadsheet program must come back at once, whatever is in the cell."""
    code = (
        "from basecalc.worksheet import AGGREGATE_TONS, BASE_DEPTH, BASE_LIFTS, EXCAVATION_VOLUME, ROLLS, TRUCKLOADS\n"
        f"for unit in {UNITS!r}:\n"
        "    for said in (TRUCKLOADS(unit, 14.0), TRUCKLOADS('1 ' + unit, 14.0), TRUCKLOADS(36.0, '1 ' + unit),\n"
        "                 BASE_DEPTH(unit), BASE_DEPTH('soft', 'light', 'none', None, unit), BASE_LIFTS(unit),\n"
        "                 BASE_LIFTS(12.0, '1 ' + unit), ROLLS('1 ' + unit, 20.0, 100.0, 13.1),\n"
        "                 EXCAVATION_VOLUME('1 ' + unit, 8.0), EXCAVATION_VOLUME(800.0, 8.0, None, None, None, unit),\n"
        "                 AGGREGATE_TONS(100.0, '1 ' + unit), AGGREGATE_TONS(100.0, 1.4, 1.15, 0.0, unit)):\n"
        "        assert str(said).lstrip('[').startswith(('#', \"'#\")), said\n"
    )
    subprocess.run([sys.executable, "-c", code], check=True, timeout=PATIENCE, preexec_fn=_limited, cwd=ROOT)


@pytest.mark.parametrize("where", ["unit cell", "heading"])
def test_a_unit_of_the_price_workbook_is_looked_up(tmp_path: Path, where: str) -> None:
    parts = {name: part_of(sound(), name) for name in zipfile.ZipFile(BytesIO(sound())).namelist()}
    old, new = {
        "unit cell": (rb"(thickest lift</t>.*?<t>)in<", rb"\g<1>9**9**9**9 in<"),
        "heading": (rb"loose density \[ton/yd3\]", rb"loose density [9**9**9**9 ton/yd3]"),
    }[where]
    changed = {name: re.sub(old, new, data, count=1, flags=re.DOTALL) for name, data in parts.items()}
    assert changed != parts
    path = tmp_path / "prices.xlsx"
    path.write_bytes(packed(changed))
    refused("check", path, words=r"'9\*\*9\*\*9\*\*9 (in|ton/yd3)'; it must be")


@pytest.mark.parametrize(
    ("given", "unit", "value"),
    [("2 kg/cm2", "kPa", 196.133), ("2 kgf/cm2", "kPa", 196.133), ("20 kPa", "tsf", 20 / 95.76051796)],
)
@pytest.mark.source("standard gravity 9.80665 m/s2, exact by definition (3rd CGPM, 1901); [memory]")
def test_pressures_in_kilograms_per_square_centimeter_are_read(given: str, unit: str, value: float) -> None:
    from basecalc.core.units import to_unit

    assert to_unit("reading", given, unit) == pytest.approx(value, rel=1e-6)


def test_a_broken_installation_is_never_the_users_mistake(tmp_path: Path) -> None:
    """A library that cannot be loaded is named; no value of the user's is."""
    (tmp_path / "pint.py").write_text("raise TypeError('cannot inherit frozen dataclass')\n", "utf-8")
    code = "from basecalc.core.units import to_unit\nto_unit('depth', '350 mm', 'in')"
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, timeout=PATIENCE, check=False,
        env={**os.environ, "PYTHONPATH": f"{tmp_path}{os.pathsep}{ROOT}"},
    )  # fmt: skip
    assert "cannot inherit frozen dataclass" in done.stderr.splitlines()[-1]
    looked = subprocess.run(
        [sys.executable, "-m", "basecalc", "check"], capture_output=True, text=True, timeout=PATIENCE, check=False,
        env={**os.environ, "PYTHONPATH": f"{tmp_path}{os.pathsep}{ROOT}", "COLUMNS": "200"},
    )  # fmt: skip
    assert looked.returncode != 0
    assert "Traceback" not in looked.stderr
    assert re.search(r"pint.*cannot be loaded.*cannot inherit frozen dataclass", looked.stdout + looked.stderr)
