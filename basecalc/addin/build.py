"""The add-in for LibreOffice Calc as one file, the same bytes from the same installation every time.

It carries the rooms behind the worksheet functions and the library they need, file by file as installed in the Python
that runs now.
"""

import re
from collections.abc import Iterator
from importlib.metadata import Distribution, PackageNotFoundError, distribution, version
from io import BytesIO
from pathlib import Path
from typing import Final
from zipfile import ZIP_DEFLATED, ZipFile, ZipInfo

from basecalc.addin.parts import parts
from basecalc.core.errors import Place, WorkbookError
from basecalc.workbook.new_file import write_one

PACKAGE: Final = "basecalc"
_HOME: Final = Path(__file__).parent.parent
# The rooms that the worksheet functions lead to, beside what the component imports: basecalc.addin.calc.
ROOMS: Final = ("core", "data", "design", "formulas", "ground", "plan", "takeoff")
_BESIDE: Final = ("__init__.py", "version.py", "addin/__init__.py", "addin/calc.py")
LIBRARY: Final = "pint"  # the one that they need
_COMPILED: Final = (".so", ".pyd", ".dll", ".dylib")
_NOT_CARRIED: Final = {"__pycache__", "tests", "testsuite"}
_LICENSE_TEXT: Final = re.compile(r"licen[cs]e|copying", re.IGNORECASE)
_LICENSE: Final = re.compile(rf"{_LICENSE_TEXT.pattern}|notice|authors", re.IGNORECASE)
ENDING: Final = ".oxt"


def build_addin(path: str | Path) -> Path:
    """Write the add-in with the worksheet functions for LibreOffice Calc to a new file, and return its path."""
    place = Path(path)
    if place.suffix.lower() != ENDING:
        raise WorkbookError(f"the name of the add-in must end in {ENDING}", where=Place(str(place)))
    return write_one(place, addin_bytes())


def addin_bytes() -> bytes:
    """Return the content of the add-in's file."""
    files, libraries, python = carried()
    files |= parts(version(PACKAGE), libraries, python)
    packed = BytesIO()
    with ZipFile(packed, "w", ZIP_DEFLATED) as archive:
        for name in sorted(files):
            entry = ZipInfo(name)  # with the first day a zip can hold
            entry.create_system, entry.external_attr = 3, 0o644 << 16  # the same on every system
            archive.writestr(entry, files[name], ZIP_DEFLATED)
    return packed.getvalue()


def carried() -> tuple[dict[str, bytes], tuple[str, ...], tuple[int, int]]:
    """Return files by their place in the add-in, the libraries among them, and the oldest Python that runs them all."""
    paths = [_HOME / name for name in _BESIDE]
    paths += [path for room in ROOMS for path in (_HOME / room).iterdir() if path.suffix in (".py", ".toml")]
    files = {f"pythonpath/{PACKAGE}/{path.relative_to(_HOME).as_posix()}": path.read_bytes() for path in paths}
    own, *libraries = (_installed(name) for name in [PACKAGE, *_libraries()])
    files |= _licenses(own)
    for library in libraries:
        files |= _code(library) | _licenses(library)
    names = tuple(f"{library.metadata['Name']} {library.version}" for library in libraries)
    return files, names, max(_oldest_python(each) for each in (own, *libraries))


def _libraries() -> list[str]:
    """Return the library and all that it requires, in order of name."""
    found: set[str] = set()
    waiting = [LIBRARY]
    while waiting:
        name = re.sub(r"[-_.]+", "-", waiting.pop()).lower()
        if name not in found:
            found.add(name)
            waiting += _requirements(_installed(name))
    return sorted(found)


def _requirements(library: Distribution) -> Iterator[str]:
    """Yield what a library cannot do without; its extras are left aside."""
    for line in library.requires or ():
        requirement, _, condition = line.partition(";")
        name = re.split(r"[^\w.-]", requirement.strip(), maxsplit=1)[0]
        if "extra" in condition:
            continue
        if condition.strip():  # for some Pythons or systems only: carried where it is installed
            try:
                distribution(name)
            except PackageNotFoundError:
                continue
        yield name


def _installed(name: str) -> Distribution:
    try:
        return distribution(name)
    except PackageNotFoundError:
        raise WorkbookError(
            f"{name} is not installed; the add-in carries it ('pip install {name}' brings it)"
        ) from None


def _code(library: Distribution) -> dict[str, bytes]:
    """Return the files that a library runs on."""
    files = {}
    for path in library.files or ():
        if path.suffix in _COMPILED:
            raise WorkbookError(
                f"{library.metadata['Name']} has compiled parts ({path.name}); an add-in cannot carry it"
            )
        top = path.parts[0]
        beside = top == ".." or top.endswith(".dist-info") or (len(path.parts) == 1 and path.suffix != ".py")
        if not beside and not _NOT_CARRIED & set(path.parts):
            files[f"pythonpath/{path.as_posix()}"] = path.read_binary()
    if not files:
        raise WorkbookError(f"the files of {library.metadata['Name']} cannot be listed; install it again with pip")
    return files


def _licenses(library: Distribution) -> dict[str, bytes]:
    """Return the license texts that came with a library, or else what it says of itself."""
    told = [path for path in library.files or () if path.parts[0].endswith(".dist-info")]
    found = [path for path in told if _LICENSE.match(path.name)]
    if not any(_LICENSE_TEXT.match(path.name) for path in found):
        found += [path for path in told if path.name == "METADATA"]
    return {f"licenses/{library.metadata['Name'].lower()}/{path.name}": path.read_binary() for path in found}


def _oldest_python(library: Distribution) -> tuple[int, int]:
    """Return the oldest Python a library says it runs on."""
    least = re.search(r">=\s*(\d+)\.(\d+)", library.metadata["Requires-Python"] or "")
    return (int(least[1]), int(least[2])) if least else (3, 0)
