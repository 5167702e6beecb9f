"""LibreOffice for tests: whether it is there, and one of its own to work in, by way of `calc_session.py`."""

import json
import os
import selectors
import shutil
import subprocess
from collections.abc import Iterable, Sequence
from functools import cache
from pathlib import Path
from typing import Any

import pytest

SYSTEM_PYTHON = "/usr/bin/python3"  # Debian's own, which has the bridge to LibreOffice; a virtual environment has not
_DRIVER = Path(__file__).with_name("calc_session.py")
# A cell: sheet and address, such as ("Areas", "C7"); with no sheet, a defined name.
Cell = tuple[str, str]
Value = float | str | None


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


class Calc:
    """A LibreOffice with a profile of its own, for as long as the context lasts; one workbook is open at a time.

    Parameters
    ----------
    scratch
        A folder for the profile, which nobody else uses.
    addin
        An extension to install first.
    """

    def __init__(self, scratch: Path, addin: Path | None = None) -> None:
        self._command = [SYSTEM_PYTHON, str(_DRIVER), libreoffice(), str((scratch / "profile").resolve())]
        self._log = scratch / "calc.log"
        self._addin = addin

    def __enter__(self) -> "Calc":
        self._stderr = self._log.open("wb")
        self._process = subprocess.Popen(
            self._command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=self._stderr, text=True
        )
        try:
            if self._addin:
                self.ask("install", str(self._addin.resolve()))
        except BaseException:
            self.__exit__()
            raise
        return self

    def __exit__(self, *_: object) -> None:
        try:
            self._process.communicate(timeout=60)
        except subprocess.TimeoutExpired:
            self._process.kill()
            self._process.communicate()
        self._stderr.close()

    def ask(self, request: str, *arguments: Any, seconds: float = 180) -> Any:
        """Return the answer to any request that `calc_session.Office` takes."""
        assert self._process.stdin is not None
        assert self._process.stdout is not None
        self._process.stdin.write(json.dumps([request, *arguments]) + "\n")
        self._process.stdin.flush()
        with selectors.DefaultSelector() as waiting:
            waiting.register(self._process.stdout, selectors.EVENT_READ)
            assert waiting.select(seconds), f"LibreOffice took more than {seconds:g} s over {request}"
        line = self._process.stdout.readline()
        assert line, f"LibreOffice ended over {request}: {self._log.read_text(errors='replace')[-2000:]}"
        failure, answer = json.loads(line)
        assert not failure, f"{request}: {failure}"
        return answer

    def open(self, path: Path | None = None) -> list[str]:
        """Open a workbook (a new one without a path) in place of the last, calculate it, and return its sheets."""
        sheets = list(self.ask("open", str(path.resolve()) if path else ""))
        self.ask("calculate")
        return sheets

    def save(self, path: Path) -> Path:
        """Write the open workbook as .xlsx to a new file."""
        self.ask("save", str(path.resolve()))
        return path

    def write(self, cells: Iterable[tuple[str, str, Value]]) -> None:
        """Fill cells (sheet, address, content): a number, a text, a formula that starts with =, or None for nothing."""
        self.ask("write", [list(cell) for cell in cells])

    def read(self, cells: Sequence[Cell]) -> list[Value]:
        """Return what single cells hold: a number, a text ('' where empty), or the name of their error."""
        return [shown(rows[0][0]) for rows in self.ask("read", [list(cell) for cell in cells])]

    def block(self, sheet: str, at: str) -> list[list[Value]]:
        """Return what the cells of a range hold, row by row."""
        return [[shown(cell) for cell in row] for row in self.ask("read", [[sheet, at]])[0]]

    def edited(self, cells: Iterable[tuple[str, str, Value]], watched: Sequence[Cell]) -> list[Value]:
        """Fill cells, calculate everything anew, and return what the watched cells hold then."""
        self.write(cells)
        self.ask("calculate")
        return self.read(watched)

    def formulas(self) -> list[tuple[str, str, Value, str]]:
        """Return every formula cell of the open workbook: sheet, address, what it holds, formula."""
        return [(sheet, at, shown([held, error]), formula) for sheet, at, held, error, formula in self.ask("formulas")]


# What Calc shows for the errors that have a name; the others are shown as Err: and their number.
ERRORS = {503: "#NUM!", 519: "#VALUE!", 524: "#REF!", 525: "#NAME?", 532: "#DIV/0!", 32767: "#N/A"}


def shown(cell: Sequence[Any]) -> Value:
    """Return what a cell shows, from its content and the number of its error."""
    held, error = cell
    return ERRORS.get(error, f"Err:{error}") if error else held
