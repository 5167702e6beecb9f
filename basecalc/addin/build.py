"""The add-in for LibreOffice Calc as one file, the same bytes from the same installation every time."""

from importlib.metadata import version
from io import BytesIO
from pathlib import Path
from typing import Final
from zipfile import ZIP_DEFLATED, ZipFile, ZipInfo

from basecalc.addin.carried import PACKAGE, carried
from basecalc.addin.parts import parts
from basecalc.core.errors import Place, WorkbookError
from basecalc.workbook.new_file import write_one

ENDING: Final = ".oxt"
_TIME: Final = (1980, 1, 1, 0, 0, 0)  # the first a zip can hold


def build_addin(path: str | Path) -> Path:
    """Write the add-in with the worksheet functions for LibreOffice Calc to a new file, and return its path."""
    place = Path(path)
    if place.suffix.lower() != ENDING:
        raise WorkbookError(f"the name of the add-in must end in {ENDING}", where=Place(str(place)))
    return write_one(place, addin_bytes())


def addin_bytes() -> bytes:
    """Return the content of the add-in's file."""
    brought = carried()
    files = {**brought.files, **parts(version(PACKAGE), brought.libraries, brought.python)}
    packed = BytesIO()
    with ZipFile(packed, "w", ZIP_DEFLATED) as archive:
        for name in sorted(files):
            entry = ZipInfo(name, _TIME)
            entry.create_system, entry.external_attr = 3, 0o644 << 16  # the same on every system
            archive.writestr(entry, files[name], ZIP_DEFLATED)
    return packed.getvalue()
