"""The LibreOffice add-in as a file: what is in it, what is not, and that it runs on what it carries."""

import ast
import io
import json
import re
import subprocess
import sys
import tomllib
import xml.etree.ElementTree as ET
from importlib.metadata import PackageNotFoundError, distribution, version
from pathlib import Path
from types import ModuleType, SimpleNamespace
from typing import Any
from zipfile import ZipFile

import pytest
from addin_examples import EXAMPLES, directly

from basecalc.addin import carried
from basecalc.addin.build import addin_bytes, build_addin
from basecalc.addin.parts import ADVICE, component
from basecalc.core.errors import WorkbookError
from basecalc.formulas.functions import FUNCTIONS

ROOT = Path(__file__).parent.parent
OOR = "{http://openoffice.org/2001/registry}"
NAMES = [function.name for function in FUNCTIONS]


@pytest.fixture(scope="module")
def files(addin: Path) -> dict[str, bytes]:
    with ZipFile(addin) as archive:
        assert archive.testzip() is None
        return {entry.filename: archive.read(entry) for entry in archive.infolist()}


def test_each_function_stands_once_in_interface_names_and_component(files: dict[str, bytes]) -> None:
    methods = re.findall(r"any ([A-Z_]+)\(", files["Functions.idl"].decode())
    nodes = ET.fromstring(files["CalcAddIns.xcu"]).findall(f".//*[@{OOR}name='AddInFunctions']/node")
    assert methods == [node.get(f"{OOR}name") for node in nodes] == NAMES
    assert len(set(NAMES)) == len(NAMES)
    names = next(
        ast.literal_eval(node.value)
        for node in ast.parse(files["component.py"]).body
        if isinstance(node, ast.Assign) and ast.unparse(node.targets[0]) == "NAMES"
    )
    assert list(names) == NAMES


def test_interface_has_the_arguments_in_their_order_under_names_it_allows(files: dict[str, bytes]) -> None:
    text = files["Functions.idl"].decode()
    assert text.isascii()
    for function in FUNCTIONS:
        arguments = re.search(rf"any {function.name}\( (.*) \);", text)[1].split(", ")  # type: ignore[index]
        words = [re.fullmatch(r"\[in\] any ([a-z][A-Za-z0-9]*)", argument)[1] for argument in arguments]  # type: ignore[index]
        assert [word.lower() for word in words] == [a.name.replace("_", "") for a in function.arguments]


def said(node: ET.Element, name: str) -> str:
    return str(node.findtext(f"prop[@{OOR}name='{name}']/value"))


def test_help_is_the_functions_own_and_short_enough_for_the_boxes(files: dict[str, bytes]) -> None:
    nodes = ET.fromstring(files["CalcAddIns.xcu"]).findall(f".//*[@{OOR}name='AddInFunctions']/node")
    for function, node in zip(FUNCTIONS, nodes, strict=True):
        assert said(node, "DisplayName") == said(node, "CompatibilityName") == function.name
        assert said(node, "Category") == "Add-In"
        assert said(node, "Description") == function.help
        told = node.findall(f"node[@{OOR}name='Parameters']/node")
        assert [said(each, "DisplayName") for each in told] == [argument.name for argument in function.arguments]
        for argument, each in zip(function.arguments, told, strict=True):
            text = said(each, "Description")
            assert text == (argument.help if argument.optional else f"Needed. {argument.help}")
            assert 10 < len(text) <= 255


def test_manifest_lists_what_libreoffice_loads(files: dict[str, bytes]) -> None:
    space = "{http://openoffice.org/2001/manifest}"
    listed = [entry.get(f"{space}full-path") for entry in ET.fromstring(files["META-INF/manifest.xml"])]
    assert listed == ["Functions.idl", "component.py", "CalcAddIns.xcu"]
    assert set(listed) <= files.keys()


def test_description_has_the_packages_version_and_says_what_is_needed(files: dict[str, bytes]) -> None:
    space = "{http://openoffice.org/extensions/description/2006}"
    root = ET.fromstring(files["description.xml"])
    assert root.find(f"{space}version").get("value") == version("basecalc")  # type: ignore[union-attr]
    told = files["description.txt"].decode()
    assert ADVICE in told
    assert "MIT license" in told
    assert f"{len(FUNCTIONS)} worksheet functions" in told
    needed = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]["requires-python"]
    assert f"Python {needed.removeprefix('>=')} or later" in told


def test_licenses_of_all_that_is_carried(files: dict[str, bytes]) -> None:
    for library in ("basecalc", "pint", "flexcache", "flexparser", "platformdirs", "typing_extensions"):
        assert any(re.match(rf"licenses/{library}/.*LICEN[CS]E", name) for name in files), library


def test_nothing_compiled_and_no_path_of_this_machine(files: dict[str, bytes]) -> None:
    machine = {str(ROOT), sys.prefix, sys.base_prefix, str(Path.home())} - {"/usr", "/"}
    for name, content in files.items():
        assert not name.startswith("/")
        assert not {"..", "__pycache__", "testsuite", "tests"} & set(name.split("/"))
        assert name.endswith((".py", ".txt", ".toml", ".typed", ".xml", ".xcu", ".idl", ".md")) or "licenses/" in name
        text = content.decode("utf-8")  # all of it is text
        if name.endswith(".py"):
            ast.parse(text)
        assert not [place for place in machine if re.search(rf"{re.escape(place)}[/\\]", text)], name


def test_only_the_rooms_behind_the_functions_are_carried(files: dict[str, bytes]) -> None:
    rooms = {name.split("/")[2] for name in files if name.startswith("pythonpath/basecalc/")}
    assert {"__init__.py", "addin", "core", "design", "data", "formulas", "ground", "takeoff"} <= rooms
    declared = {f"pythonpath/basecalc/pricing/{name}.py" for name in ("__init__", "price_tables")}
    assert {name for name in files if "/basecalc/pricing/" in name} <= declared
    assert not {"workbook", "cli.py", "worksheet.py", "frames.py", "demo.py", "estimating"} & rooms
    assert {name.rsplit("/", 1)[1] for name in files if "basecalc/addin/" in name} == {"__init__.py", "calc.py"}
    tables = {path.name for path in (ROOT / "basecalc" / "data").glob("*.toml")}
    assert {name.rsplit("/", 1)[1] for name in files if "basecalc/data/" in name} == tables


def test_the_same_installation_gives_the_same_bytes(addin: Path) -> None:
    assert addin_bytes() == addin.read_bytes()


_ALONE = """
import json, sys
sys.path.insert(0, sys.argv[1])
from basecalc.addin.calc import answer
shown = [answer(name, cells) for name, cells in json.loads(sys.argv[2])]
homes = [m.__file__ for m in list(sys.modules.values()) if getattr(m, "__file__", None)]
print(json.dumps([shown, homes]))
"""


def test_runs_on_python_and_what_it_carries_alone(addin: Path, tmp_path: Path) -> None:
    with ZipFile(addin) as archive:
        archive.extractall(tmp_path)
    calls: list[tuple[str, tuple[Any, ...]]] = [*EXAMPLES.items(), ("EXCAVATION_VOLUME", ("85 m^2", "200 mm"))]
    asked = json.dumps([[name, [[[0.0]] if cell == 0 else cell for cell in given]] for name, given in calls])
    place = str(tmp_path / "pythonpath")
    command = [sys.executable, "-I", "-S", "-W", "error", "-c", _ALONE, place, asked]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    shown, homes = json.loads(done.stdout)
    assert shown == [directly(name, given) for name, given in calls]
    assert {name for name, _ in calls} == set(NAMES)
    strangers = [home for home in homes if "site-packages" in home or str(ROOT) in home]
    assert not strangers
    assert sum(home.startswith(place) for home in homes) > 60


@pytest.mark.parametrize("name", ["basecalc.zip", "basecalc", "basecalc.oxt.txt"])
def test_another_ending_is_refused(tmp_path: Path, name: str) -> None:
    with pytest.raises(WorkbookError, match=rf"{name}: the name of the add-in must end in \.oxt"):
        build_addin(tmp_path / name)
    assert not list(tmp_path.iterdir())


def test_no_file_is_replaced(tmp_path: Path) -> None:
    mine = tmp_path / "mine.oxt"
    mine.write_text("mine")
    with pytest.raises(WorkbookError, match="exists and is left as it is"):
        build_addin(mine)
    assert mine.read_text() == "mine"
    assert list(tmp_path.iterdir()) == [mine]


def test_a_folder_that_is_not_there_is_said(tmp_path: Path) -> None:
    with pytest.raises(WorkbookError, match="cannot be written: no such file"):
        build_addin(tmp_path / "nowhere" / "basecalc.oxt")


def test_a_library_with_compiled_parts_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(carried, "ENTRANCE", "basecalc.estimating.template")  # which imports ironcalc
    with pytest.raises(WorkbookError, match=r"ironcalc has compiled parts \(.+\); an add-in cannot carry it"):
        carried.carried()


def test_a_library_that_is_not_installed_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    def without_flexparser(name: str) -> Any:
        if name == "flexparser":
            raise PackageNotFoundError(name)
        return distribution(name)

    monkeypatch.setattr(carried, "distribution", without_flexparser)
    with pytest.raises(WorkbookError, match="flexparser is not installed; the add-in carries it"):
        carried.carried()


def loaded_component(monkeypatch: pytest.MonkeyPatch, python: tuple[int, ...], place: Path) -> Any:
    """Return the object Calc talks to, from a component that stands beside no package, in a Python of this version."""

    class Helper:
        addImplementation = staticmethod(lambda *_: None)  # noqa: N815 - the bridge's name

    interface = type("Interface", (), {})
    stand_ins: dict[str, dict[str, Any]] = {
        "uno": {},
        "unohelper": {"Base": type("Base", (), {}), "ImplementationHelper": Helper},
        "com": {}, "com.sun": {}, "com.sun.star": {},
        "com.sun.star.lang": {"XServiceInfo": interface},
        "com.sun.star.sheet": {"XVolatileResult": type("Result", (), {})},
        "drivewaybase": {"XWorksheetFunctions": type("Functions", (), {})},
    }  # fmt: skip
    for name, contents in stand_ins.items():
        module = ModuleType(name)
        vars(module).update(contents)
        monkeypatch.setitem(sys.modules, name, module)
    text = component((3, 11))
    scope: dict[str, Any] = {"__file__": str(place / "component.py")}
    exec(compile(text, "component.py", "exec"), scope)
    monkeypatch.setitem(scope, "sys", SimpleNamespace(version_info=python, path=[]))
    return scope["WorksheetFunctions"](None)


def test_the_component_can_be_read_by_old_pythons() -> None:
    tree = ast.parse(component((3, 11)), feature_version=(3, 5))
    assert not [node for node in ast.walk(tree) if isinstance(node, ast.JoinedStr | ast.NamedExpr)]


@pytest.mark.parametrize("python", [(3, 5, 10), (3, 8, 16), (3, 10, 18)])
def test_an_old_python_says_so_in_every_cell(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, python: tuple[int, ...]
) -> None:
    functions = loaded_component(monkeypatch, python, tmp_path)
    for function in FUNCTIONS:
        shown = getattr(functions, function.name)(*[None] * len(function.arguments))
        assert shown == (
            f"#basecalc needs Python 3.11 or later; this LibreOffice runs Python 3.{python[1]}, so {ADVICE}"
        )


def test_an_addin_whose_package_is_missing_says_so(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setitem(sys.modules, "basecalc.addin.calc", None)
    functions = loaded_component(monkeypatch, (3, 11, 2), tmp_path)
    shown = functions.BASE_DEPTH("soft", None, None, None, None)
    assert re.match(r"#basecalc could not be loaded \(ModuleNotFoundError: .*\); install the add-in again$", shown)


def test_zip_entries_have_one_time_and_plain_rights(addin: Path) -> None:
    with ZipFile(io.BytesIO(addin.read_bytes())) as archive:
        entries = archive.infolist()
    assert [entry.filename for entry in entries] == sorted({entry.filename for entry in entries})
    assert {entry.date_time for entry in entries} == {(1980, 1, 1, 0, 0, 0)}
    assert {entry.external_attr >> 16 for entry in entries} == {0o644}
