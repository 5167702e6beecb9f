"""Independent spreadsheet engines: what each formula gives when nobody trusts the stored values."""

import json
import os
import re
import shutil
import subprocess
from functools import cache
from pathlib import Path
from typing import Any

import ironcalc
import openpyxl
import pytest

SYSTEM_PYTHON = "/usr/bin/python3"  # Debian's own, which has the bridge to LibreOffice; a virtual environment has not
Results = dict[tuple[str, str], Any]

_BRIDGE = r"""
import json, os, subprocess, sys, time
import uno
from com.sun.star.beans import PropertyValue
from com.sun.star.connection import NoConnectException

program, profile, *books = sys.argv[1:]
pipe = f"basecalc{os.getpid()}"
command = [program, f"-env:UserInstallation=file://{profile}", "--headless", "--norestore", "--nologo", "--nodefault",
           "--nofirststartwizard", f"--accept=pipe,name={pipe};urp;"]
office = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
local = uno.getComponentContext()
resolver = local.ServiceManager.createInstanceWithContext("com.sun.star.bridge.UnoUrlResolver", local)
end = time.time() + 90
while True:
    try:
        context = resolver.resolve(f"uno:pipe,name={pipe};urp;StarOffice.ComponentContext")
        break
    except NoConnectException:
        if office.poll() == 81:  # a fresh profile wants a second start
            office = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        elif office.poll() is not None or time.time() > end:
            sys.exit(f"LibreOffice did not start: {office.poll()}")
        time.sleep(0.1)
desktop = context.ServiceManager.createInstanceWithContext("com.sun.star.frame.Desktop", context)
hidden = PropertyValue()
hidden.Name, hidden.Value = "Hidden", True
found = []
try:
    for book in books:
        document = desktop.loadComponentFromURL(f"file://{book}", "_blank", 0, (hidden,))
        document.calculateAll()
        cells = []
        for sheet in document.Sheets:
            ranges = sheet.queryContentCells(16)  # formulas
            for cell in ranges.Cells:
                at = cell.AbsoluteName.rsplit(".", 1)[1].replace("$", "")
                text = cell.FormulaResultType2 == 2
                cells.append([sheet.Name, at, cell.String if text else cell.Value, cell.getError()])
        document.close(True)
        found.append(cells)
finally:
    try:
        desktop.terminate()
    except Exception:
        pass
    office.wait(30)
print(json.dumps(found))
"""


def formulas(path: Path) -> dict[tuple[str, str], str]:
    """Return every formula of a workbook by sheet and cell."""
    book = openpyxl.load_workbook(path)
    return {
        (sheet.title, cell.coordinate): cell.value
        for sheet in book
        for row in sheet.iter_rows()
        for cell in row
        if cell.data_type == "f"
    }


def stored(path: Path) -> Results:
    """Return the value stored with every formula of a workbook."""
    book = openpyxl.load_workbook(path, data_only=True)
    return {(sheet, cell): book[sheet][cell].value for sheet, cell in formulas(path)}


def without_values(path: Path, into: Path) -> Path:
    """Write the workbook again with no value stored beside any formula, as openpyxl saves it, and return its path."""
    openpyxl.load_workbook(path).save(into)
    return into


def ironcalc_results(path: Path) -> Results:
    """Return what ironcalc calculates for every formula of a workbook."""
    model = ironcalc.load_from_xlsx(str(path))
    model.evaluate()
    names = openpyxl.load_workbook(path, read_only=True).sheetnames
    found: Results = {}
    for sheet, at in formulas(path):
        row, column = openpyxl.utils.cell.coordinate_to_tuple(at)
        found[sheet, at] = model.get_cell_value(names.index(sheet), row, column)
    return found


@cache
def libreoffice() -> str:
    """Return the path of LibreOffice's program, or skip the test with the reason; where CI is true it must be there."""
    program = shutil.which("soffice") or shutil.which("libreoffice")
    reason = "" if program else "no soffice command was found"
    if program:
        binary = Path(program).resolve().parent / "soffice.bin"
        program = str(binary) if binary.exists() else program
        bridge = Path(SYSTEM_PYTHON).exists() and subprocess.run(
            [SYSTEM_PYTHON, "-c", "import uno"], capture_output=True, check=False
        )
        if not bridge or bridge.returncode:
            reason = f"{SYSTEM_PYTHON} cannot import uno (Debian package python3-uno)"
    if reason:
        if os.environ.get("CI", "").casefold() == "true":
            pytest.fail(f"LibreOffice is needed here: {reason}")
        pytest.skip(reason)
    return str(program)


def printed_pages(book: Path, scratch: Path) -> int:
    """Return how many pages LibreOffice prints a workbook on."""
    program = libreoffice()
    profile = f"-env:UserInstallation=file://{scratch / 'profile'}"
    command = [program, profile, "--headless", "--convert-to", "pdf", "--outdir", str(scratch), str(book)]
    for _ in range(2):  # a fresh profile may want a second start
        subprocess.run(command, capture_output=True, timeout=180, check=False)
        made = scratch / f"{book.stem}.pdf"
        if made.exists():
            break
    return len(re.findall(rb"/Type\s*/Page\b", made.read_bytes()))


def libreoffice_results(books: list[Path], scratch: Path) -> list[Results]:
    """Return what LibreOffice calculates for every formula of some workbooks, all values calculated anew."""
    program = libreoffice()
    script = scratch / "bridge.py"
    script.write_text(_BRIDGE, "utf-8")
    done = subprocess.run(
        [SYSTEM_PYTHON, str(script), program, str(scratch / "profile"), *(str(book.resolve()) for book in books)],
        capture_output=True,
        text=True,
        timeout=240,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    results = []
    for cells in json.loads(done.stdout):
        broken = [(sheet, at, error) for sheet, at, _, error in cells if error]
        assert not broken, f"cells in error: {broken}"
        results.append({(sheet, at): value for sheet, at, value, _ in cells})
    return results
