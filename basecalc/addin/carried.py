"""What the add-in carries along: the rooms behind the worksheet functions, which need nothing but Python.

They are read from the import statements themselves, so that nothing is forgotten and nothing is carried for nothing.
"""

import ast
import re
import sys
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from importlib.metadata import distribution
from pathlib import Path
from typing import Final

from basecalc.core.errors import WorkbookError

PACKAGE: Final = "basecalc"
_HOME: Final = Path(__file__).parent.parent
ENTRANCE: Final = "basecalc.addin.calc"  # what the component imports
_LICENSE: Final = re.compile(r"licen[cs]e|copying|notice|authors", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Carried:
    """Files for the add-in by their place in it, and the oldest Python that runs them all."""

    files: Mapping[str, bytes]
    python: tuple[int, int]


def carried() -> Carried:
    """Return all that the worksheet functions need, themselves included."""
    rooms, outside = rooms_needed(ENTRANCE)
    if outside:
        raise WorkbookError(f"the worksheet functions import {', '.join(sorted(outside))}; an add-in cannot carry that")
    files = {f"pythonpath/{PACKAGE}/{path.relative_to(_HOME).as_posix()}": path.read_bytes() for path in rooms.values()}
    # Tables are read by their key when one is first looked up: all of them are carried, they are small.
    files |= {f"pythonpath/{PACKAGE}/data/{path.name}": path.read_bytes() for path in (_HOME / "data").glob("*.toml")}
    own = distribution(PACKAGE)
    texts = [path for path in own.files or () if path.parts[0].endswith(".dist-info") and _LICENSE.match(path.name)]
    files |= {f"licenses/{PACKAGE}/{path.name}": path.read_binary() for path in texts}
    least = re.search(r">=\s*(\d+)\.(\d+)", own.metadata["Requires-Python"] or "")
    return Carried(files, (int(least[1]), int(least[2])) if least else (3, 0))


def rooms_needed(entrance: str) -> tuple[dict[str, Path], set[str]]:
    """Return the modules of this package that a module leads to, each with its file, and the outside ones they import.

    Examples
    --------
    >>> rooms, outside = rooms_needed("basecalc.core.errors")
    >>> len(rooms), outside
    (5, set())
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
