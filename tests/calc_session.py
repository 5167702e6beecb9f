"""Drives a LibreOffice of its own: one JSON request a line in, one JSON answer a line out, until the input ends.

Run by the Python that has the bridge `uno` (Debian's /usr/bin/python3), with the program and a folder for the profile
that nobody else uses. Only the process started here is ever ended.
"""

import json
import os
import subprocess
import sys
import time

import uno
import unohelper
from com.sun.star.beans import PropertyValue
from com.sun.star.connection import NoConnectException
from com.sun.star.lang import DisposedException
from com.sun.star.task import XInteractionHandler
from com.sun.star.ucb import XCommandEnvironment

FRESH = 81  # a fresh profile ends its first start with this code, and wants a second
FORMULAS = 16  # of com.sun.star.sheet.CellFlags
ERRORS = 4  # of com.sun.star.sheet.FormulaResult
XLSX = "Calc MS Excel 2007 XML"


class Consent(unohelper.Base, XInteractionHandler, XCommandEnvironment):
    """Says yes to what the extension manager asks."""

    def handle(self, request):
        for answer in request.getContinuations():
            if approve := answer.queryInterface(uno.getTypeByName("com.sun.star.task.XInteractionApprove")):
                approve.select()
                return

    def getInteractionHandler(self):  # noqa: N802 - the name of the interface
        return self

    def getProgressHandler(self):  # noqa: N802 - the name of the interface
        return None


def given(**properties):
    """Return properties as UNO takes them."""
    made = []
    for name, value in properties.items():
        each = PropertyValue()
        each.Name, each.Value = name, value
        made.append(each)
    return tuple(made)


def url(path):
    return unohelper.systemPathToFileUrl(path)


class Office:
    """A running LibreOffice and the workbook that is open in it."""

    def __init__(self, program, profile):
        pipe = f"basecalc{os.getpid()}"
        command = [program, f"-env:UserInstallation={url(profile)}", "--headless", "--norestore", "--nologo"]
        command += ["--nodefault", "--nofirststartwizard", f"--accept=pipe,name={pipe};urp;"]
        self.process = self._start(command)
        local = uno.getComponentContext()
        resolver = local.ServiceManager.createInstanceWithContext("com.sun.star.bridge.UnoUrlResolver", local)
        end = time.monotonic() + 90
        while True:
            try:
                self.context = resolver.resolve(f"uno:pipe,name={pipe};urp;StarOffice.ComponentContext")
                break
            except NoConnectException:
                code = self.process.poll()
                if code == FRESH:
                    self.process = self._start(command)
                elif code is not None or time.monotonic() > end:
                    self.end()
                    sys.exit(f"LibreOffice did not start: {code}")
                time.sleep(0.05)
        self.desktop = self.service("com.sun.star.frame.Desktop")
        self.document = None

    @staticmethod
    def _start(command):
        return subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)

    def service(self, name):
        return self.context.ServiceManager.createInstanceWithContext(name, self.context)

    def end(self):
        try:
            self.desktop.terminate()
            self.process.wait(30)
        except (AttributeError, DisposedException, subprocess.TimeoutExpired):
            self.process.kill()
            self.process.wait(30)

    def _cells(self, sheet, at):
        """Return a range by sheet and address; by defined name where no sheet is given."""
        if not sheet:
            return self.document.NamedRanges.getByName(at).getReferredCells()
        return self.document.Sheets.getByName(sheet).getCellRangeByName(at)

    # What can be asked for; the names are those of the requests.

    def pid(self):
        return self.process.pid

    def install(self, path):
        """Add an extension for this profile; unlike unopkg it works for root too."""
        manager = self.context.getByName("/singletons/com.sun.star.deployment.ExtensionManager")
        manager.addExtension(url(path), (), "user", manager.createAbortChannel(), Consent())

    def installed(self):
        """Return identifier, version, shown name and description of what was installed for this profile."""
        manager = self.context.getByName("/singletons/com.sun.star.deployment.ExtensionManager")
        found = manager.getDeployedExtensions("user", manager.createAbortChannel(), Consent())
        return [[each.Identifier.Value, each.Version, each.DisplayName, each.Description] for each in found]

    def wizard(self, start):
        """Return what the function wizard knows of the functions whose names start so."""
        known = self.service("com.sun.star.sheet.FunctionDescriptions")
        found = []
        for place in range(known.Count):
            about = {each.Name: each.Value for each in known.getByIndex(place)}
            if about["Name"].startswith(start):
                arguments = [[each.Name, each.Description, each.IsOptional] for each in about["Arguments"] or ()]
                found.append([about["Name"], about["Description"], arguments])
        return found

    def open(self, path):
        """Open a workbook, or a new one where no path is given; return the names of its sheets."""
        self.close()
        place = url(path) if path else "private:factory/scalc"
        self.document = self.desktop.loadComponentFromURL(place, "_blank", 0, given(Hidden=True))
        return list(self.document.Sheets.ElementNames)

    def close(self):
        if self.document is not None:
            self.document.close(True)
            self.document = None

    def save(self, path):
        self.document.storeToURL(url(path), given(FilterName=XLSX))

    def write(self, cells):
        """Fill cells: a number, a text as it stands, a formula that starts with =, or nothing."""
        sheets = {name: self.document.Sheets.getByName(name) for name in {sheet for sheet, _, _ in cells if sheet}}
        for sheet, at, value in cells:
            cell = sheets[sheet].getCellRangeByName(at) if sheet else self._cells("", at).getCellByPosition(0, 0)
            if value is None:
                cell.clearContents(1 + 2 + 4 + FORMULAS)  # numbers, dates, texts
            elif isinstance(value, str) and value.startswith("="):
                cell.setFormula(value)
            elif isinstance(value, str):
                cell.setString(value)
            else:
                cell.setValue(value)

    def array(self, sheet, at, formula):
        self._cells(sheet, at).setArrayFormula(formula)

    def calculate(self):
        self.document.calculateAll()

    def read(self, ranges):
        """Return, for each range, its rows of cells, each as what it holds and the number of its error."""
        return [self._rows(self._cells(sheet, at)) for sheet, at in ranges]

    @staticmethod
    def _rows(cells):
        """Return rows of cells; only those in error are asked one by one."""
        address = cells.getRangeAddress()
        errors = {}
        for cell in cells.queryFormulaCells(ERRORS).Cells:
            at = cell.getCellAddress()
            errors[at.Row - address.StartRow, at.Column - address.StartColumn] = cell.getError()
        return [
            [[None, errors[y, x]] if (y, x) in errors else [held, 0] for x, held in enumerate(row)]
            for y, row in enumerate(cells.getDataArray())
        ]

    def formulas(self):
        """Return every formula cell: sheet, address, what it holds, the number of its error, the formula."""
        found = []
        for sheet in self.document.Sheets:
            for cell in sheet.queryContentCells(FORMULAS).Cells:
                at = cell.AbsoluteName.rsplit(".", 1)[1].replace("$", "")
                held = cell.String if cell.FormulaResultType2 == 2 else cell.Value
                found.append([sheet.Name, at, held, cell.getError(), cell.Formula])
        return found


def main():
    office = Office(*sys.argv[1:3])
    try:
        for line in sys.stdin:
            name, *arguments = json.loads(line)
            try:
                reply = [None, getattr(office, name)(*arguments)]
            except Exception as failure:  # noqa: BLE001 - whoever asked is told, whatever it is
                reply = [f"{type(failure).__name__}: {failure}", None]
            print(json.dumps(reply), flush=True)
    finally:
        office.end()


if __name__ == "__main__":
    main()
