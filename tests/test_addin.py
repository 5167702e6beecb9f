"""The LibreOffice add-in: what is in its file, that it runs on what it carries, what it answers to what Calc sends."""

import ast
import io
import json
import logging
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
from addin_examples import CALLABLE, EXAMPLES, directly

from basecalc.addin import build, calc
from basecalc.addin.build import addin_bytes, build_addin
from basecalc.addin.calc import answer
from basecalc.addin.parts import ADVICE, component
from basecalc.addin.spelling import calc_formula
from basecalc.core.errors import WorkbookError
from basecalc.formulas.functions import FUNCTIONS

# ---- the file
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
    assert rooms == {"__init__.py", "version.py", "addin", *build.ROOMS}
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


@pytest.mark.parametrize(
    ("name", "told"),
    [
        ("basecalc.zip", r"basecalc\.zip: the name of the add-in must end in \.oxt"),
        ("basecalc", r"the name of the add-in must end in \.oxt"),
        ("mine.oxt", "exists and is left as it is"),
        ("nowhere/basecalc.oxt", "cannot be written: no such file"),
    ],
)
def test_a_place_where_no_addin_can_be_written_is_refused(tmp_path: Path, name: str, told: str) -> None:
    (tmp_path / "mine.oxt").write_text("mine")
    with pytest.raises(WorkbookError, match=told):
        build_addin(tmp_path / name)
    assert [(file.name, file.read_text()) for file in tmp_path.iterdir()] == [("mine.oxt", "mine")]


def test_a_library_with_compiled_parts_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(build, "LIBRARY", "pandas")
    with pytest.raises(WorkbookError, match=r"(numpy|pandas) has compiled parts \(.+\); an add-in cannot carry it"):
        build.carried()


def test_a_library_that_is_not_installed_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    def without_flexparser(name: str) -> Any:
        if name == "flexparser":
            raise PackageNotFoundError(name)
        return distribution(name)

    monkeypatch.setattr(build, "distribution", without_flexparser)
    with pytest.raises(WorkbookError, match="flexparser is not installed; the add-in carries it"):
        build.carried()


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


# ---- what Calc hands over, and what it gets back
APART = "which LibreOffice does not tell apart"
NOUGHTS = [
    (name, place) for name, cells in EXAMPLES.items() for place, cell in enumerate(cells) if isinstance(cell, float)
]


def filled(name: str, cells: tuple[Any, ...]) -> tuple[Any, ...]:
    """Return the arguments as Calc sends them: as many as the function has, None where nothing was given."""
    return (*cells, *[None] * (len(CALLABLE[name].arguments) - len(cells)))


@pytest.mark.parametrize(("name", "place"), NOUGHTS)
def test_a_nought_is_taken_from_a_text_or_a_range_and_never_from_what_may_be_empty(name: str, place: int) -> None:
    cells = [((0.0,),) if cell == 0 else cell for cell in EXAMPLES[name]]

    def with_nought(cell: Any) -> Any:
        return answer(name, filled(name, (*cells[:place], cell, *cells[place + 1 :])))

    truly, empty, plain = with_nought(((0.0,),)), with_nought((("",),)), with_nought(0.0)
    if str(truly).startswith("#") or truly == empty:
        assert plain == truly
    else:
        assert str(plain).startswith(
            f"#{CALLABLE[name].arguments[place].name} is 0 or an empty cell, {APART}; it must be"
        )
        assert with_nought("0") == truly
    assert with_nought(-0.0) == plain or str(with_nought(-0.0)).startswith("#")


def test_some_argument_takes_a_nought_and_some_an_empty_cell() -> None:
    """Otherwise the test above holds of nothing."""
    reading = answer("STRENGTH_CLASS", ("walk", 0.0, None))
    assert str(reading).startswith(f"#reading is 0 or an empty cell, {APART}")
    assert answer("STRENGTH_CLASS", ("walk", ((0.0,),), None)) == answer("STRENGTH_CLASS", ("walk", "0 in", None))
    assert answer("BASE_DEPTH", ("hard", None, "none", 0.0, None)) == 6.0  # no grid: an empty modulus is as good


def test_a_nought_beside_a_range_is_refused_once_for_the_range() -> None:
    shown = answer("AGGREGATE_TONS", (((10.0,), (20.0,)), 1.48, 1.254, 0.0, None))
    assert str(shown).startswith(f"#waste is 0 or an empty cell, {APART}")


def test_rows_come_back_as_tuples_that_the_bridge_can_carry() -> None:
    column = answer("LOOSE_VOLUME", (((100.0,), ("",)), "clay", None))
    assert isinstance(column, tuple)
    assert column[0] == (143.0,)
    assert str(column[1][0]).startswith("#bank_volume is missing")
    assert answer("LOOSE_VOLUME", (((100.0, 200.0),), "clay", None)) == ((143.0, 286.0),)
    assert answer("LOOSE_VOLUME", (((100.0,),), "clay", None)) == 143.0


def test_a_fault_of_our_own_is_a_sentence_and_goes_to_the_log(
    monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    def broken(*_: Any) -> Any:
        raise RuntimeError("inside")

    monkeypatch.setitem(calc._CALLABLE, "ROLLS", broken)
    with caplog.at_level(logging.ERROR, "basecalc.addin"):
        shown = answer("ROLLS", (1.0, 2.0))
    assert shown == "#basecalc itself failed here (RuntimeError); do not use this row, and report it"
    assert "RuntimeError: inside" in caplog.text
    assert str(answer("NO_SUCH_FUNCTION", ())).startswith("#basecalc itself failed here (KeyError)")


# ---- formulas for Calc
SPELLED = [
    ("=BASE_DEPTH(B7)", "=BASECALC.BASE_DEPTH(B7:B7)"),
    ("=base_depth($B$7)", "=BASECALC.BASE_DEPTH($B$7:$B$7)"),
    ('=BASE_DEPTH("B7",,"none", C7 )', '=BASECALC.BASE_DEPTH("B7",,"none",C7:C7)'),
    ("=BASE_DEPTH()", "=BASECALC.BASE_DEPTH()"),
    ("=SITE_STRENGTH(A1:A9)", "=BASECALC.SITE_STRENGTH(A1:A9)"),
    ("=ROLLS('My (own) sheet'!B2,Width,3,B7*2)", "=BASECALC.ROLLS('My (own) sheet'!B2:B2,Width:Width,3,B7*2)"),
    ("=BASE_LIFTS(Dig,Lift)", "=BASECALC.BASE_LIFTS(Dig,Lift:Lift)"),  # Dig:Dig would be the column DIG
    ('=IF(B7=0,B7,TRUCKLOADS(IF(C7="",D7,E7),F7))', '=IF(B7=0,B7,BASECALC.TRUCKLOADS(IF(C7="",D7,E7),F7:F7))'),
    ("=BASE_LIFTS(BASE_DEPTH(A1),(B1))+1", "=BASECALC.BASE_LIFTS(BASECALC.BASE_DEPTH(A1:A1),(B1))+1"),
    ("=ROLLS(T[[#This Row],[a]],T[b],1,1)", "=BASECALC.ROLLS(T[[#This Row],[a]]:T[[#This Row],[a]],T[b]:T[b],1,1)"),
    ("=SUM(A1,B1)*MY_BASE_DEPTH(C1)", "=SUM(A1,B1)*MY_BASE_DEPTH(C1)"),
    ('="BASE_DEPTH(B7)"&B7', '="BASE_DEPTH(B7)"&B7'),
    ("plain text BASE_DEPTH(B7)", "plain text BASE_DEPTH(B7)"),
]  # fmt: skip


@pytest.mark.parametrize(("formula", "spelled"), SPELLED)
def test_spelled_for_calc(formula: str, spelled: str) -> None:
    assert calc_formula(formula).replace(" ", "") == spelled.replace(" ", "")
    assert calc_formula(calc_formula(formula)) == calc_formula(formula)


def test_the_name_of_a_range_is_left_as_it_is() -> None:
    assert calc_formula("=SITE_STRENGTH(Spots,Rule)", {"Spots"}) == "=BASECALC.SITE_STRENGTH(Spots,Rule:Rule)"
