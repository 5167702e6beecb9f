"""Random edits in an estimating workbook that is open in LibreOffice: never a wrong total, never a broken workbook.

``python tests/bench/entry_edits.py 1000`` cuts, pastes, sorts, inserts, deletes, undoes, blanks and mistypes by the
program's own commands. After every edit, what the sheets of inputs hold is typed into a second, untouched workbook;
every cell of the calculation and of the totals must be the same there, or the edited one asks to undo the edit, which
must help. A fresh file is taken every hundred edits, and at its end all first inputs are typed again: the first total
must come back, and no formula may hold a #REF!.
"""

import json
import subprocess
import sys
from collections import Counter
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory

TESTS = Path(__file__).parent.parent
SYSTEM_PYTHON = "/usr/bin/python3"  # the one that has the bridge to LibreOffice
A_FILE = 100
TYPED = (
    "12", "1/2", "0.12", "14'-6\"", "abc", "-5", "12%", "1e3", "$1,250.00", "31.12.2026", "=1/0", "#N/A", " ", "0",
    "10 12", "North drive", "rectangle", "walk", "stand", "very soft", "cbr", "clay", "yes", "1 yd", "999999",
    "3/0", "½",
)  # fmt: skip


def make(folder: Path) -> Path:
    """Return an estimating workbook that holds the demo's second job."""
    import tomllib
    from importlib.resources import files

    import basecalc

    demo = files("basecalc") / "data" / "demo"
    prices = tomllib.loads((demo / "prices.toml").read_text("utf-8"))
    old = basecalc.write_price_workbook(folder / "prices.xlsx", prices)
    job = basecalc.load_job(str(demo / "2-soft-ground.toml"))
    return basecalc.write_template(
        folder / "estimate.xlsx", basecalc.carry_over(old, "us").records, units="us", job=job
    )


def inputs(path: Path) -> list[str]:
    """Return the cells of the entry sheet that may be typed in."""
    from openpyxl import load_workbook

    page = load_workbook(path)["Entry"]
    return [
        cell.coordinate for row in page.iter_rows() for cell in row
        if not cell.protection.locked and type(cell).__name__ == "Cell"
    ]  # fmt: skip


KINDS = (
    *("type",) * 3, "number", *("blank", "cut and paste", "copy and paste", "values", "sort", "undo") * 2, "redo",
    "insert rows", "delete rows", "insert cells", "delete cells", "insert columns", "delete columns", "fill down",
    "cut to nowhere", "format",
)  # fmt: skip
COMMANDS = {
    "insert rows": "InsertRowsBefore", "delete rows": "DeleteRows", "insert columns": "InsertColumnsBefore",
    "delete columns": "DeleteColumns", "insert cells": "InsertCell", "delete cells": "DeleteCell",
}  # fmt: skip


class Edits:
    """Two workbooks from one file: one that is edited, and one into which its inputs are typed."""

    def __init__(self, office, path, cells, random):
        self.office, self.random, self.cells = office, random, cells
        self.edited = self._open(path, hidden=False)
        self.clean = self._open(path, hidden=True)
        self.clean.enableAutomaticCalculation(False)
        self.entry, self.other = (one.Sheets.getByName("Entry") for one in (self.edited, self.clean))
        self.places = {}
        for cell in cells:
            at = self.entry.getCellRangeByName(cell).getCellAddress()
            self.places[cell] = at.Row, at.Column
        self.first = self.held(self.entry)
        self.start = self.totals(self.edited)
        self.frame = self.edited.CurrentController.Frame
        self.helper = office.service("com.sun.star.frame.DispatchHelper")
        self.edited.CurrentController.setActiveSheet(self.entry)

    def _open(self, path, hidden):
        from calc_session import given, url

        made = self.office.desktop.loadComponentFromURL(url(str(path)), "_blank", 0, given(Hidden=hidden))
        made.calculateAll()
        return made

    def close(self):
        self.edited.close(True)
        self.clean.close(True)

    def held(self, sheet):
        """Return what the inputs hold: a text, a number, or a formula."""
        rows = sheet.getCellRangeByName("A1:X90").getDataArray()
        texts = sheet.getCellRangeByName("A1:X90").getFormulaArray()
        return {
            cell: ("formula", texts[y][x]) if texts[y][x].startswith("=") and texts[y][x] != rows[y][x] else rows[y][x]
            for cell, (y, x) in self.places.items()
        }

    @staticmethod
    def totals(document):
        """Return every cell of every sheet but what is typed: the calculation, problems and totals."""
        found = {}
        for sheet in document.Sheets:
            cursor = sheet.createCursor()
            cursor.gotoEndOfUsedArea(False)
            end = cursor.RangeAddress
            if sheet.Name == "Entry":
                continue
            found[sheet.Name] = sheet.getCellRangeByPosition(0, 0, end.EndColumn, end.EndRow).getDataArray()
        entry = document.Sheets.getByName("Entry")
        found["on Entry"] = [entry.getCellRangeByName(cell).String for cell in ("C2", "C3", "H3", "M3", "U1")]
        return found

    def send(self, name, **values):
        from calc_session import given

        self.helper.executeDispatch(self.frame, f".uno:{name}", "", 0, given(**values))

    def choose(self, size=None):
        """Select inputs, now and then with headings, answers or whole rows."""
        y, x = self.places[self.random.choice(self.cells)]
        tall, wide = size or (self.random.choice((1, 1, 1, 2, 3, 8, 20)), self.random.choice((1, 1, 2, 4, 9)))
        if self.random.random() < 0.05:
            y, x = self.random.randrange(60), self.random.randrange(22)
        chosen = self.entry.getCellRangeByPosition(x, y, min(x + wide - 1, 23), min(y + tall - 1, 80))
        self.edited.CurrentController.select(chosen)
        return chosen

    def type(self, cell, value):
        if isinstance(value, str):
            cell.setString(value)
        else:
            cell.setValue(value)

    def edit(self):
        """Do one edit, and return its name."""
        kind = self.random.choice(KINDS)
        if kind == "type":
            self.choose((1, 1))
            self.send("EnterString", StringName=self.random.choice(TYPED))
        elif kind == "number":
            cell = self.choose((1, 1)).getCellByPosition(0, 0)
            if self.entry.isProtected() and not cell.CellProtection.IsLocked:
                cell.setValue(self.random.choice((0.12, 12, 46000, -3, 1.5, 0)))
        elif kind == "blank":
            self.choose()
            self.send("ClearContents")
        elif kind in ("cut and paste", "copy and paste", "values", "cut to nowhere"):
            self.choose()
            self.send("Cut" if kind.startswith("cut") else "Copy")
            self.choose((1, 1))
            if kind == "values":
                self.send(
                    "InsertContents",
                    Flags="SVD",
                    FormulaCommand=0,
                    SkipEmptyCells=False,
                    Transpose=False,
                    AsLink=False,
                    MoveMode=4,
                )
            elif kind != "cut to nowhere":
                self.send("Paste")
        elif kind == "sort":
            self.choose((self.random.choice((3, 8, 20)), self.random.choice((1, 4, 9))))
            self.send(self.random.choice(("SortAscending", "SortDescending")))
        elif kind == "fill down":
            self.choose((3, 1))
            self.send("FillDown")
        elif kind == "format":
            self.choose()
            self.send("NumberFormatValue", NumberFormatValue=self.random.choice((0, 10, 36)))
        elif kind in ("undo", "redo"):
            self.send(kind.capitalize())
        else:
            self.choose()
            ways = {"insert cells": "V>", "delete cells": "UL"}.get(kind)
            self.send(COMMANDS[kind], **({"Flags": self.random.choice(ways)} if ways else {}))
        return kind

    def copied(self):
        """Type what the edited workbook holds into the clean one; return where the two differ then."""
        now, before = self.held(self.entry), self.held(self.other)
        for cell, value in now.items():
            if value != before[cell] or type(value) is not type(before[cell]):
                place = self.other.getCellRangeByName(cell)
                if isinstance(value, tuple):
                    place.setFormula(value[1])
                else:
                    self.type(place, value)
        self.clean.calculate()
        mine, true = self.totals(self.edited), self.totals(self.clean)
        return [
            f"{name} row {row + 1}: {a} is {b} when typed anew"
            for name in mine for row, (a, b) in enumerate(zip(mine[name], true[name], strict=False)) if a != b
        ], mine["on Entry"], true["on Entry"]  # fmt: skip

    def asks_to_undo(self):
        """Return whether a problem says that more is filled in than is read."""
        rows = self.edited.Sheets.getByName("Problems").getCellRangeByName("C5:C64").getDataArray()
        return any("Undo the last change" in str(row[0]) for row in rows)

    def again(self):
        """Type the first inputs again where another is held now."""
        self.edited.enableAutomaticCalculation(False)
        now = self.held(self.entry)
        for cell, value in self.first.items():
            if value != now[cell] or type(value) is not type(now[cell]):
                self.type(self.entry.getCellRangeByName(cell), value)
        self.edited.enableAutomaticCalculation(True)
        self.edited.calculate()

    def ends_well(self):
        """Return what is wrong after the first inputs are typed again."""
        self.again()
        self.edited.calculateAll()
        wrong = [] if self.totals(self.edited) == self.start else ["the first totals do not come back"]
        for sheet in self.edited.Sheets:
            wrong += [
                f"#REF! in {cell.AbsoluteName}" for cell in sheet.queryContentCells(16).Cells if "#REF!" in cell.Formula
            ][:3]
        return wrong


def finished(pair):
    """Close the two workbooks, and return how much is wrong after the first inputs are typed again."""
    if pair is None:
        return 0
    wrong = pair.ends_well()
    for text in wrong:
        print("at the end of a file:", text, flush=True)
    pair.close()
    return len(wrong)


def drive(path, cells, edits):
    """Do so many edits, and print what came of them; run by the Python that has the bridge."""
    sys.path.insert(0, str(TESTS))
    import shutil

    from calc_session import Office

    program = Path(shutil.which("soffice")).resolve().parent / "soffice.bin"
    done, seen, wrong, pair = Counter(), Counter(), 0, None
    with TemporaryDirectory() as folder:
        office = Office(str(program), folder)
        try:
            for number in range(edits):
                if number % A_FILE == 0:
                    wrong += finished(pair)
                    pair = Edits(office, path, cells, Random(f"edits {number}"))
                before = pair.held(pair.entry)
                kind = pair.edit()
                done[kind] += 1
                seen["changed what is typed"] += before != pair.held(pair.entry)
                apart, mine, true = pair.copied()
                whole = mine[1] not in ("not yet", "")
                seen["a total" if whole else "no total"] += 1
                if apart and not whole and pair.asks_to_undo():
                    seen["asks to undo"] += 1  # something lies where nothing is read, such as below a merged cell
                    pair.send("Undo")
                    apart, mine, true = pair.copied()
                if apart:
                    wrong += 1
                    print(number, kind, mine, true, *apart[:4], sep="\n  ", flush=True)
                    pair.close()
                    pair = Edits(office, path, cells, Random(f"edits {number} again"))
                elif number % 4 == 3 and not whole:
                    pair.again()  # else most edits would be made on a job without a total
            wrong += finished(pair)
        finally:
            office.end()
    print(f"{edits} edits, {wrong} wrong; {dict(seen)}; {dict(done.most_common())}")


if __name__ == "__main__":
    if sys.argv[1] == "drive":
        path, cells, edits = json.loads(sys.argv[2])
        drive(path, cells, edits)
    else:
        with TemporaryDirectory() as scratch:
            book = make(Path(scratch))
            given = json.dumps([str(book), inputs(book), int(sys.argv[1])])
            sys.exit(subprocess.run([SYSTEM_PYTHON, __file__, "drive", given], check=False).returncode)
