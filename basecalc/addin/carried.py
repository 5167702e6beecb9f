"""What the add-in carries along: the rooms behind the worksheet functions, and the libraries that those import.

Both are read from the import statements themselves, so that nothing is forgotten and nothing is carried for nothing.
The libraries come from the Python that runs now, file by file as they were installed.
"""

import ast
import re
import sys
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from importlib.metadata import Distribution, PackageNotFoundError, distribution, packages_distributions
from pathlib import Path
from typing import Final

from basecalc.core.errors import WorkbookError

PACKAGE: Final = "basecalc"
_HOME: Final = Path(__file__).parent.parent
ENTRANCE: Final = "basecalc.addin.calc"  # what the component imports
_COMPILED: Final = (".so", ".pyd", ".dll", ".dylib")
_NOT_CARRIED: Final = {"__pycache__", "tests", "testsuite"}
_LICENSE_TEXT: Final = re.compile(r"licen[cs]e|copying", re.IGNORECASE)
_LICENSE: Final = re.compile(rf"{_LICENSE_TEXT.pattern}|notice|authors", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Carried:
    """Files for the add-in by their place in it, and the oldest Python that runs them all."""

    files: Mapping[str, bytes]
    libraries: tuple[str, ...]
    python: tuple[int, int]


def carried() -> Carried:
    """Return all that the worksheet functions need, themselves included."""
    rooms, outside = rooms_needed(ENTRANCE)
    files = {f"pythonpath/{PACKAGE}/{path.relative_to(_HOME).as_posix()}": path.read_bytes() for path in rooms.values()}
    # Tables are read by their key when one is first looked up: all of them are carried, they are small.
    files |= {f"pythonpath/{PACKAGE}/data/{path.name}": path.read_bytes() for path in (_HOME / "data").glob("*.toml")}
    own, *libraries = (_installed(name) for name in [PACKAGE, *_libraries(outside)])
    files |= _licenses(own)
    for library in libraries:
        files |= _code(library) | _licenses(library)
    names = tuple(f"{library.metadata['Name']} {library.version}" for library in libraries)
    return Carried(files, names, max(_oldest_python(each) for each in (own, *libraries)))


def rooms_needed(entrance: str) -> tuple[dict[str, Path], set[str]]:
    """Return the modules of this package that a module leads to, each with its file, and the outside ones they import.

    Examples
    --------
    >>> rooms, outside = rooms_needed("basecalc.core.errors")
    >>> len(rooms), outside
    (6, set())
    """
    rooms: dict[str, Path] = {}
    outside: set[str] = set()
    waiting = [entrance]
    while waiting:
        name = waiting.pop()
        if name in rooms:
            continue
        path = _file(name)
        if path is None:
            outside.add(name.split(".")[0])
            continue
        rooms[name] = path
        if "." in name:
            waiting.append(name.rpartition(".")[0])  # Python runs the package's own file first
        waiting += _imports(ast.parse(path.read_text("utf-8")))
    return rooms, outside - sys.stdlib_module_names


def _file(name: str) -> Path | None:
    """Return the file of a module of this package."""
    first, *rest = name.split(".")
    if first != PACKAGE:
        return None
    place = _HOME.joinpath(*rest)
    return next((path for path in (place / "__init__.py", place.with_name(f"{place.name}.py")) if path.exists()), None)


def _imports(tree: ast.AST) -> Iterator[str]:
    """Yield what a file imports when it runs, also inside its functions; not what only a type checker reads."""
    for node in ast.iter_child_nodes(tree):
        if isinstance(node, ast.If) and isinstance(node.test, ast.Name) and node.test.id == "TYPE_CHECKING":
            continue
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module:
            yield node.module
            inside = (f"{node.module}.{alias.name}" for alias in node.names)
            yield from (name for name in inside if _file(name))
        else:
            yield from _imports(node)


def _libraries(modules: set[str]) -> list[str]:
    """Return the distributions behind some modules and all that they require, in order of name."""
    offered = packages_distributions()
    found: set[str] = set()
    waiting = [name for module in modules for name in offered.get(module, [module])]
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
