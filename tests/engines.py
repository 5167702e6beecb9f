"""Independent spreadsheet engines: what each formula gives when nobody trusts the stored values."""

import os
import re
import subprocess
from pathlib import Path
from typing import Any

import ironcalc
import openpyxl
from libreoffice import Calc, libreoffice

Results = dict[tuple[str, str], Any]


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


def printed_pages(books: list[Path], scratch: Path, faces: Path | None = None) -> dict[Path, int]:
    """Return how many pages LibreOffice prints each of some workbooks on, all in one start; with these faces alone."""
    surroundings = dict(os.environ)
    if faces is not None:
        only = scratch / "fonts.conf"
        only.write_text(f"<fontconfig><dir>{faces}</dir><cachedir>{scratch / 'cache'}</cachedir></fontconfig>", "utf-8")
        surroundings["FONTCONFIG_FILE"] = str(only)
    profile = f"-env:UserInstallation=file://{scratch / 'profile'}"
    command = [libreoffice(), profile, "--headless", "--convert-to", "pdf", "--outdir", str(scratch), *map(str, books)]
    made = {book: scratch / f"{book.stem}.pdf" for book in books}
    for _ in range(2):  # a fresh profile may want a second start
        subprocess.run(command, capture_output=True, timeout=180, check=False, env=surroundings)
        if all(path.exists() for path in made.values()):
            break
    return {book: len(re.findall(rb"/Type\s*/Page\b", path.read_bytes())) for book, path in made.items()}


def libreoffice_results(books: list[Path], scratch: Path) -> list[Results]:
    """Return what LibreOffice calculates for every formula of some workbooks, all values calculated anew."""
    results = []
    with Calc(scratch) as calc:
        for book in books:
            calc.open(book)
            cells = calc.ask("formulas")
            broken = [(sheet, at, error) for sheet, at, _, error, _ in cells if error]
            assert not broken, f"cells in error: {broken}"
            results.append({(sheet, at): value for sheet, at, value, _, _ in cells})
    return results
