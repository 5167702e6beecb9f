"""The workbook for Excel: xlwings' own VBA project, a sheet that names our functions, formulas that it can call.

No Excel was at hand: what Excel and the add-in do with the file is read from the installed xlwings.
"""

import importlib
import importlib.util
import re
import subprocess
import sys
from collections.abc import Iterator
from io import BytesIO
from pathlib import Path
from typing import Any
from xml.etree import ElementTree as ET
from zipfile import ZipFile

import pytest
from com_host import ExcelHost
from estimating_kit import demo_job, demo_prices
from openpyxl import load_workbook
from openpyxl.formula import Tokenizer
from openpyxl.workbook import Workbook

from basecalc.core.errors import WorkbookError
from basecalc.estimating import host_excel
from basecalc.estimating.host_excel import CONF_SHEET, START_STEPS, UDF_MODULE, quickstart
from basecalc.estimating.template import write_template
from basecalc.formulas.functions import FUNCTIONS

VBA = "xl/vbaProject.bin"
RELS = "{http://schemas.openxmlformats.org/package/2006/relationships}"
MAIN = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
# What Excel 2007 has, as far as our formulas use it.
WORDS_OF_EXCEL = """
    ABS AND CEILING CHOOSE COLUMN COLUMNS COUNT COUNTA COUNTIF DATE DATEVALUE FALSE FIND FLOOR HYPERLINK IF IFERROR
    INDEX INT ISBLANK ISERROR ISNA ISNUMBER ISTEXT LARGE LEFT LEN LOWER MATCH MAX MID MIN N NA NOT OFFSET OR PI REPT
    RIGHT ROUND ROUNDDOWN ROUNDUP ROW ROWS SEARCH SIGN SQRT SUBSTITUTE SUM SUMIF SUMPRODUCT T TEXT TODAY TRIM TRUE UPPER
    VALUE
"""
NATIVE = frozenset(WORDS_OF_EXCEL.split())


def folder_of_xlwings() -> Path:
    spec = importlib.util.find_spec("xlwings")
    assert spec is not None
    return Path(next(iter(spec.submodule_search_locations or ())))


@pytest.fixture(scope="module", params=["us", "metric"])
def path(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Path:
    target = tmp_path_factory.mktemp("excel") / "estimate.xlsm"
    if request.param == "us":
        return write_template(target, demo_prices(), host="excel", job=demo_job("2-soft-ground"))
    return write_template(target, host="excel", units="metric")


@pytest.fixture(scope="module")
def book(path: Path) -> Workbook:
    return load_workbook(path, keep_vba=True)


@pytest.fixture(scope="module")
def wrapper() -> Iterator[str]:
    with ExcelHost() as host:
        yield host.module()


def part(path: Path, name: str) -> bytes:
    with ZipFile(path) as parts:
        return parts.read(name)


def test_the_vba_project_is_that_of_xlwings_byte_for_byte(path: Path) -> None:
    assert part(path, VBA) == part(folder_of_xlwings() / "quickstart.xlsm", VBA)


def test_it_is_a_macro_workbook_whose_parts_are_all_there(path: Path) -> None:
    types = part(path, "[Content_Types].xml").decode()
    assert 'PartName="/xl/workbook.xml" ContentType="application/vnd.ms-excel.sheet.macroEnabled.main+xml"' in types
    assert 'Extension="bin" ContentType="application/vnd.ms-office.vbaProject"' in types
    with ZipFile(path) as parts:
        names = parts.namelist()
        assert len(set(names)) == len(names)
        for rels in (name for name in names if name.endswith(".rels")):
            base = Path(rels).parent.parent
            for link in ET.fromstring(parts.read(rels)):
                assert link.tag == f"{RELS}Relationship"
                if link.get("TargetMode") == "External":
                    continue
                target = str(link.get("Target"))
                found = target.lstrip("/") if target.startswith("/") else str((base / target).as_posix())
                assert found in names, (rels, target)


def test_opened_without_the_functions_it_shows_the_values_stored(path: Path, book: Workbook) -> None:
    """Asked to recalculate as it opens, Excel would show #NAME? in their place."""
    assert 'fullCalcOnLoad="0"' in part(path, "xl/workbook.xml").decode()
    values = load_workbook(path, data_only=True)
    calling = [
        (sheet.title, cell.coordinate)
        for sheet in book
        for row in sheet.iter_rows()
        for cell in row
        if cell.data_type == "f" and "BASE_DEPTH" in str(cell.value)
    ]
    assert calling
    stored = {str(cell.value) for page in values for row in page.iter_rows() for cell in row}
    assert "#NAME?" not in stored


def test_its_sheets_are_ours_and_a_hidden_one_for_xlwings(book: Workbook) -> None:
    assert book.sheetnames[:6] == ["Start", "Entry", "Problems", "Estimate", "Quote", "Quick"]
    assert book.sheetnames[-1] == CONF_SHEET
    assert [sheet.title for sheet in book.worksheets if sheet.sheet_state != "visible"] == [CONF_SHEET]


def test_every_document_module_of_the_vba_project_finds_its_sheet(path: Path) -> None:
    """Excel ties a module to a sheet by its code name; a module without one makes it repair the file."""
    modules = {name.decode() for name in re.findall(rb"Document=(\w+)/", part(path, VBA))}
    assert len(modules) == 3
    with ZipFile(path) as parts:
        texts = [
            parts.read(name).decode()
            for name in parts.namelist()
            if re.match(r"xl/(workbook|worksheets/\w+)\.xml", name)
        ]
    found = [name for text in texts for name in re.findall(r'codeName="(\w+)"', text)]
    assert sorted(found) == sorted(modules)


def test_the_vba_project_refers_to_the_add_in(path: Path) -> None:
    """The wrappers that Import Functions writes call a function of the add-in, so its project must be referred to."""
    assert b"xlwings" in part(path, VBA)


def config(book: Workbook) -> dict[str, Any]:
    """Return what the add-in reads: from the first cell down to the first blank one, keys in capitals."""
    sheet, found = book[CONF_SHEET], {}
    row = 1
    while sheet.cell(row, 1).value:
        found[str(sheet.cell(row, 1).value).upper()] = sheet.cell(row, 2).value
        row += 1
    return found


def keys_read_by_xlwings() -> set[str]:
    texts = [source.read_text("utf-8", "replace") for source in (folder_of_xlwings() / "addin").glob("*.bas")]
    return {key for text in texts for key in re.findall(r'GetConfig\("([^"]+)"', text)}


def test_the_settings_for_xlwings_are_keys_that_it_reads(book: Workbook) -> None:
    found = config(book)
    assert found["UDF MODULES"] == UDF_MODULE == "basecalc.worksheet"
    assert found.keys() <= keys_read_by_xlwings()
    assert {type(value) for key, value in found.items() if key != "UDF MODULES"} == {bool}
    assert not any(value for key, value in found.items() if key != "UDF MODULES")


def test_no_setting_of_the_machine_is_masked(book: Workbook) -> None:
    """A key on the sheet wins even where it is blank, and only the machine knows where its Python is."""
    of_the_machine = {
        "INTERPRETER_WIN",
        "INTERPRETER_MAC",
        "INTERPRETER",
        "PYTHONPATH",
        "CONDA PATH",
        "CONDA ENV",
        "LICENSE_KEY",
    }
    assert of_the_machine <= keys_read_by_xlwings()
    assert not of_the_machine & config(book).keys()


def test_nothing_but_the_settings_stands_in_the_first_cells_of_that_sheet(book: Workbook) -> None:
    sheet = book[CONF_SHEET]
    assert sheet["A1"].value == "UDF Modules"
    assert sheet.cell(len(config(book)) + 1, 1).value is None
    assert sheet["B2"].data_type == "b"


def formulas(book: Workbook) -> set[str]:
    cells = {
        str(getattr(cell.value, "text", cell.value))
        for sheet in book
        for row in sheet.iter_rows()
        for cell in row
        if cell.data_type == "f"
    }
    columns = [column for sheet in book for table in sheet.tables.values() for column in table.tableColumns]
    whole = {f"={c.calculatedColumnFormula.attr_text}" for c in columns if c.calculatedColumnFormula is not None}
    rules = {
        f"={text}"
        for sheet in book
        for ranges in sheet.conditional_formatting
        for rule in ranges.rules
        for text in rule.formula
    }
    return cells | whole | rules


def calls(formula: str) -> list[tuple[str, int]]:
    """Return each function a formula calls with how many arguments it gets there."""
    found: list[tuple[str, int]] = []
    open_calls: list[list[Any]] = []
    for token in Tokenizer(formula).items:
        if token.type in ("FUNC", "PAREN", "ARRAY") and token.subtype == "OPEN":
            open_calls.append([token.value.rstrip("("), 0, 0])
        elif token.subtype == "CLOSE":
            name, separators, filled = open_calls.pop()
            if name:
                found.append((name, separators + 1 if separators or filled else 0))
            if open_calls:
                open_calls[-1][2] += 1
        elif token.type == "SEP" and open_calls:
            open_calls[-1][1] += 1
        elif token.type == "OPERAND" and open_calls:
            open_calls[-1][2] += 1
    return found


def signatures(wrapper: str) -> dict[str, tuple[int, int]]:
    """Return the least and the greatest number of arguments of each function in the VBA wrapper."""
    found = {}
    for name, arguments in re.findall(r"^Function (\w+)\((.*)\)$", wrapper, re.MULTILINE):
        given = [argument for argument in arguments.split(", ") if argument]
        found[name] = (sum(not argument.startswith("Optional ") for argument in given), len(given))
    return found


def test_calls_are_counted_as_excel_counts_them() -> None:
    assert calls('=IF(A1="a,b",BASE_DEPTH("soft",,B1),NA())') == [("BASE_DEPTH", 3), ("NA", 0), ("IF", 3)]
    assert calls("=ROUND(SUM(A1:A2,(B1+1)*2),2)") == [("SUM", 2), ("ROUND", 2)]


def test_the_wrappers_of_xlwings_cover_every_function_used_with_that_many_arguments(
    book: Workbook, wrapper: str
) -> None:
    known = signatures(wrapper)
    used = {call for formula in formulas(book) for call in calls(formula)}
    ours = {(name, count) for name, count in used if name not in NATIVE}
    assert len({name for name, _ in ours}) >= 10
    for name, count in ours:
        assert name in known, f"{name} is in no wrapper"
        least, most = known[name]
        assert least <= count <= most, f"{name} is called with {count} arguments"


def test_formulas_use_our_functions_by_their_plain_names_and_none_newer_than_2007(book: Workbook) -> None:
    names = {name for formula in formulas(book) for name, _ in calls(formula)}
    assert names <= NATIVE | {function.name for function in FUNCTIONS}
    assert not [formula for formula in formulas(book) if "_xlfn" in formula or "BASECALC." in formula]


def test_every_wrapper_calls_the_module_that_the_workbook_names(wrapper: str) -> None:
    assert set(re.findall(r'XLPy\.CallUDF\("([^"]+)"', wrapper)) == {UDF_MODULE}
    assert set(signatures(wrapper)) == {function.name for function in FUNCTIONS}


def test_the_steps_stand_on_start_and_name_what_xlwings_has(book: Workbook) -> None:
    start = [str(cell.value) for row in book["Start"].iter_rows() for cell in row if cell.value]
    assert [step for step in START_STEPS if step not in start] == []
    told = " ".join(START_STEPS)
    with ZipFile(folder_of_xlwings() / "addin" / "xlwings.xlam") as add_in:
        ribbon = "".join(
            add_in.read(name).decode()
            for name in add_in.namelist()
            if name.startswith("customUI") and name.endswith(".xml")
        )
    for label in ("Import Functions", "Interpreter"):
        assert f'label="{label}' in ribbon
        assert label in told
    commands = (folder_of_xlwings() / "cli.py").read_text("utf-8")
    assert "xlwings addin install" in told
    assert 'add_parser(\n        "addin"' in commands
    assert "INTERPRETER_{}" in commands  # the step that tells Excel which Python to use


def test_xlwings_is_read_from_and_not_imported(tmp_path: Path) -> None:
    code = (
        "import sys\nfrom basecalc.estimating.host_excel import quickstart\n"
        "assert quickstart()[:2] == b'PK'\nassert 'xlwings' not in sys.modules"
    )
    subprocess.run([sys.executable, "-c", code], check=True, timeout=60, cwd=tmp_path)


def test_an_xlwings_that_is_not_there_or_broken_is_one_sentence(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(host_excel, "find_spec", lambda _: None)
    with pytest.raises(WorkbookError, match="xlwings is not installed"):
        quickstart()
    (tmp_path / "xlwings").mkdir()
    (tmp_path / "xlwings" / "__init__.py").touch()
    spec = importlib.util.spec_from_file_location(
        "xlwings", tmp_path / "xlwings" / "__init__.py", submodule_search_locations=[str(tmp_path / "xlwings")]
    )
    monkeypatch.setattr(host_excel, "find_spec", lambda _: spec)
    with pytest.raises(WorkbookError, match=r"quickstart\.xlsm: the installed xlwings has no VBA project"):
        quickstart()
    with ZipFile(tmp_path / "xlwings" / "quickstart.xlsm", "w") as empty:
        empty.writestr("xl/workbook.xml", "<workbook/>")
    with pytest.raises(WorkbookError, match="has no VBA project here"):
        quickstart()


def test_the_file_keeps_its_name_and_its_kind(tmp_path: Path) -> None:
    with pytest.raises(WorkbookError, match=r"must end in \.xlsm"):
        write_template(tmp_path / "estimate.xlsx", host="excel")
    assert not list(tmp_path.iterdir())
    plain = write_template(tmp_path / "estimate.xlsx", host="calc")
    with ZipFile(plain) as parts:
        assert VBA not in parts.namelist()
    assert CONF_SHEET not in load_workbook(BytesIO(plain.read_bytes())).sheetnames
