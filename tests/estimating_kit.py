"""An estimating workbook under test: typed on as on the entry sheet, recalculated by an engine that is not ours."""

import re
import tomllib
from collections.abc import Mapping
from importlib.resources import files
from io import BytesIO
from pathlib import Path
from typing import Any
from zipfile import ZIP_DEFLATED, ZipFile

import ironcalc
from openpyxl import load_workbook
from openpyxl.utils import coordinate_to_tuple

DEMO = files("basecalc") / "data" / "demo"
JOBS = ("1-firm-ground", "2-soft-ground", "3-new-build")
TOTALS = ("Total as offered", "Total, stone only", "Total, with geogrid", "Total, your standard depth")
_NOTES = re.compile(rb'<Relationship [^>]*Type="[^"]*/(?:comments|vmlDrawing)"[^>]*/>')


def demo_prices() -> dict[str, Any]:
    return tomllib.loads((DEMO / "prices.toml").read_text("utf-8"))


def demo_job(name: str) -> dict[str, Any]:
    return tomllib.loads((DEMO / f"{name}.toml").read_text("utf-8"))


def without_notes(data: bytes) -> bytes:
    """Return a workbook without the notes on its cells, which the engine cannot read."""
    out = BytesIO()
    with ZipFile(BytesIO(data)) as old, ZipFile(out, "w", ZIP_DEFLATED) as new:
        for item in old.infolist():
            part = old.read(item)
            part = _NOTES.sub(b"", part) if item.filename.endswith(".rels") else part
            part = re.sub(rb"<legacyDrawing [^>]*/>", b"", part) if "/worksheets/" in item.filename else part
            if "comments" not in item.filename and "vmlDrawing" not in item.filename:
                new.writestr(item, part)
    return out.getvalue()


class Sheets:
    """A workbook in the engine: cells are typed as text, as the entry sheet takes them, and read by sheet and cell."""

    def __init__(self, path: Path) -> None:
        bare = path.with_suffix(".bare.xlsx")
        bare.write_bytes(without_notes(path.read_bytes()))
        self.model = ironcalc.load_from_xlsx(str(bare), "en", "UTC", "en")
        book = load_workbook(path)
        self.names = book.sheetnames
        self.entry = {cell.value: cell.coordinate for row in book["Entry"].iter_rows() for cell in row if cell.value}
        self.labels = {
            title: {str(cell.value): cell.row for cell in book[title]["A"] if cell.value} for title in book.sheetnames
        }
        self.formulas = {
            (page.title, cell.coordinate): str(cell.value)
            for page in book for row in page.iter_rows() for cell in row if cell.data_type == "f"
        }  # fmt: skip
        self.inputs = [
            cell.coordinate for row in book["Entry"].iter_rows() for cell in row
            if not cell.protection.locked and type(cell).__name__ == "Cell"
        ]  # fmt: skip
        self.typed = {
            cell: str(book["Entry"][cell].value) for cell in self.inputs if book["Entry"][cell].value is not None
        }
        self.model.evaluate()

    def type(self, cells: Mapping[str, str], sheet: str = "Entry") -> None:
        """Type into cells, or empty them."""
        place = self.names.index(sheet)
        for cell, text in cells.items():
            row, column = coordinate_to_tuple(cell)
            if text == "":
                self.model.set_user_input(place, row, column, "")
            else:
                self.model.update_cell_with_text(place, row, column, text)
            if sheet == "Entry":
                self.typed[cell] = text
        self.model.evaluate()

    def job(self, cells: Mapping[str, str]) -> None:
        """Type a whole job in the place of the one before."""
        self.type({**dict.fromkeys((cell for cell, text in self.typed.items() if text), ""), **cells})

    def cell(self, sheet: str, cell: str) -> Any:
        row, column = coordinate_to_tuple(cell)
        return self.model.get_cell_value(self.names.index(sheet), row, column)

    def beside(self, sheet: str, label: str) -> Any:
        """Return the value beside a label in the first column."""
        return self.cell(sheet, f"B{self.labels[sheet][label]}")

    def totals(self) -> list[Any]:
        """Return the totals, an error as it shows."""
        return [self.beside("Money", label) for label in TOTALS]

    def problem(self) -> str:
        """Return the first sentence of what is wrong; nothing where all is sound."""
        return str(self.beside("Money", "First problem"))

    def total(self) -> float | None:
        """Return the total as offered; None where none is shown."""
        shown = self.totals()[0]
        return shown if isinstance(shown, float) else None
