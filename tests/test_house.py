"""The house keeps its shape: one direction, one importer per outside library, truthful docstrings."""

import ast
import graphlib
import importlib
import inspect
import re
import subprocess
import sys
from pathlib import Path

import pytest

import basecalc

ROOT = Path(__file__).parent.parent
PACKAGE = ROOT / "basecalc"
MODULES = {
    ".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__"): path
    for path in sorted(PACKAGE.rglob("*.py"))
}
# Ground floor first; a room may import from its own floor and from those below.
FLOORS = (
    ("version", "core"),
    ("tables",),
    ("ground",),
    ("design",),
    ("company", "plan"),
    ("job",),
    ("takeoff",),
    ("pricing",),
    ("schedule", "cautions"),
    ("workbook",),
    ("crew_plan",),
    ("report",),
    ("frames", "render"),
    ("formulas",),
    ("addin",),
    ("estimating",),
    ("demo", "runs", "health", "reports", "ground_report", "change_runs", "price_runs"),
    ("season",),
    ("worksheet", "cli"),
    ("__main__",),
)
FLOOR = {name: level for level, names in enumerate(FLOORS) for name in names}
ONLY_IMPORTER = {
    "pint": "basecalc.core.units",
    "xlwings": "basecalc.worksheet",
    "click": "basecalc.cli",
    "pandas": "basecalc.frames",
}


def imported(path: Path) -> set[str]:
    """Return the modules of this package, and the outside ones, that a file names in its imports."""
    found = set()
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            inside = {f"{node.module}.{alias.name}" for alias in node.names} & MODULES.keys()
            found |= inside or {node.module}
    return found


GRAPH = {name: imported(path) for name, path in MODULES.items()}


def floor(module: str) -> int:
    room = module.removeprefix("basecalc").lstrip(".").split(".")[0]
    return FLOOR[room] if room else len(FLOORS)  # the package's own front door stands above all


def test_a_room_imports_only_from_its_floor_and_below() -> None:
    assert {
        (room, other) for room, names in GRAPH.items() for other in names
        if other.startswith("basecalc") and floor(other) > floor(room)
    } == set()  # fmt: skip


def test_no_two_rooms_import_each_other() -> None:
    inside = {name: {other for other in names if other in MODULES} for name, names in GRAPH.items()}
    assert len(tuple(graphlib.TopologicalSorter(inside).static_order())) >= len(MODULES)


def test_an_outside_library_has_one_importer() -> None:
    for library, room in ONLY_IMPORTER.items():
        assert {name for name, names in GRAPH.items() if any(n.split(".")[0] == library for n in names)} == {room}


def test_worksheet_functions_load_without_compiled_or_heavy_libraries() -> None:
    """They run inside spreadsheet hosts that have nothing but Python."""
    blocked = ("numpy", "pandas", "pydantic", "openpyxl", "click", "rich")
    code = (
        f"import sys\nfor name in {blocked!r}: sys.modules[name] = None\n"
        "import basecalc.worksheet as w\nassert w.BASE_DEPTH('soft') > 6"
    )
    subprocess.run([sys.executable, "-c", code], check=True, timeout=60)


SUFFIX_UNITS = {
    "_m": "m", "_m2": "m2", "_m3": "m3", "_kg": "kg", "_kpa": "kPa", "_kn": "kN", "_mm": "mm", "_psi": "psi",
    "_kg_m3": "kg/m3", "_kg_m2": "kg/m2", "_lb": "lb", "_ft": "ft",
}  # fmt: skip


def documented(docstring: str) -> dict[str, str]:
    """Return the parameters a numpydoc docstring describes, each with its text."""
    match = re.search(r"Parameters\n-+\n(.*?)(?:\n\n[A-Z][a-z]+\n-+\n|\Z)", docstring, re.DOTALL)
    texts: dict[str, str] = {}
    names: list[str] = []
    for line in match[1].splitlines() if match else []:
        if line and not line.startswith(" "):
            names = [name.strip().lstrip("*") for name in line.split(":")[0].split(",")]
            texts |= dict.fromkeys(names, "")
        else:
            texts |= {name: texts[name] + " " + line.strip() for name in names}
    return texts


def test_a_docstring_names_the_parameters_there_are_with_their_units() -> None:
    faults = []
    for room in MODULES.keys() - {"basecalc.__main__"}:
        for key, function in vars(importlib.import_module(room)).items():
            if not inspect.isfunction(function) or function.__module__ != room or key.startswith("_"):
                continue
            texts = documented(inspect.getdoc(function) or "")
            parameters = {name for name in inspect.signature(function).parameters if not name.startswith("_")}
            if not inspect.getdoc(function) or (texts and texts.keys() != parameters):
                faults.append(f"{room}.{key}: {parameters ^ texts.keys()}")
            for parameter, text in texts.items():
                suffixes = [suffix for suffix in SUFFIX_UNITS if parameter.endswith(suffix)]
                if suffixes and f"[{SUFFIX_UNITS[max(suffixes, key=len)]}" not in text:
                    faults.append(f"{room}.{key}: {parameter} does not say its unit")
    assert faults == []


def test_the_front_door_is_sorted_and_opens() -> None:
    """Every public name loads, comes from the room its type checker is told of, and stands once in order."""
    names = basecalc.__all__
    assert names == sorted(set(names))
    for name in names:
        assert getattr(basecalc, name).__name__ == name
    assert set(names) <= set(dir(basecalc))
    with pytest.raises(AttributeError, match="pave"):
        _ = basecalc.pave


WORDS_OF_THE_WORKPLACE = re.compile(
    r"\b(issue \d|(?<!scope=\")session|assistant|prompt|helper-\d|/work/|/tmp/w)\b", re.IGNORECASE
)


def test_the_project_speaks_of_itself_alone() -> None:
    files = [
        path
        for folder in ("basecalc", "tests", "examples", ".ci")
        for path in (ROOT / folder).rglob("*")
        if path.is_file()
    ]
    files += [ROOT / "README.md", ROOT / "DEVELOPERS.md", ROOT / "pyproject.toml"]
    texts = {path: path.read_text("utf-8") for path in files if path.suffix in {".py", ".toml", ".md", ""}}
    assert len(texts) > 100
    strays = [
        path.name for path, text in texts.items() if path != Path(__file__) and WORDS_OF_THE_WORKPLACE.search(text)
    ]
    assert not strays
