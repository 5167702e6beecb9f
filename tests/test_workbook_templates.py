"""The committed workbooks are what the generator writes today, cell by cell."""

import runpy
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any
from zipfile import ZipFile

import pytest
from openpyxl import load_workbook
from openpyxl.worksheet.worksheet import Worksheet

from basecalc.estimating.host_excel import VBA_PART

FOLDER = Path(__file__).parent.parent / "workbook_templates"
RENEW = runpy.run_path(str(FOLDER / "renew.py"))
FILES: dict[str, tuple[str, str]] = RENEW["FILES"]


def cells(sheet: Worksheet) -> dict[str, Any]:
    """Return what each cell holds, how it looks, whether it may be changed, and the note on it."""
    return {
        cell.coordinate: (
            getattr(cell.value, "text", cell.value), cell.data_type, cell.style, cell.number_format,
            cell.protection.locked, cell.comment.text if cell.comment else None,
        )
        for row in sheet.iter_rows()
        for cell in row
        if cell.value is not None or cell.comment or cell.style != "Normal"
    }  # fmt: skip


def tables(sheet: Worksheet) -> dict[str, Any]:
    return {
        table.displayName: (
            table.ref,
            [
                (column.name, getattr(column.calculatedColumnFormula, "attr_text", None))
                for column in table.tableColumns
            ],
        )
        for table in sheet.tables.values()
    }


def rules(sheet: Worksheet) -> list[Any]:
    asked = [
        (rule.type, str(rule.sqref), rule.formula1, rule.formula2, rule.errorStyle)
        for rule in sheet.data_validations.dataValidation
    ]
    marked = [
        (str(ranges.sqref), rule.type, tuple(rule.formula))
        for ranges in sheet.conditional_formatting
        for rule in ranges.rules
    ]
    return sorted(map(repr, asked + marked))


def page(sheet: Worksheet) -> list[Any]:
    widths = {key: column.width for key, column in sheet.column_dimensions.items()}
    setup = sheet.page_setup
    return [
        sheet.print_area, sheet.print_title_rows, sheet.print_title_cols, sheet.freeze_panes, setup.orientation,
        setup.paperSize, sheet.protection.sheet, sorted(map(str, sheet.merged_cells.ranges)), widths,
        len(sheet._charts), sheet.sheet_state, sheet.sheet_properties.codeName,
    ]  # fmt: skip


def contents(path: Path) -> dict[str, Any]:
    """Return what a workbook holds, part by part, leaving out when it was written."""
    book, values = load_workbook(path), load_workbook(path, data_only=True)
    found: dict[str, Any] = {"names": {name: made.attr_text for name, made in book.defined_names.items()}}
    found["sheets"] = book.sheetnames
    for sheet in book.worksheets:
        shown = {cell.coordinate: cell.value for row in values[sheet.title].iter_rows() for cell in row}
        found[f"{sheet.title}: cells"] = cells(sheet)
        found[f"{sheet.title}: values"] = {at: value for at, value in shown.items() if value is not None}
        found[f"{sheet.title}: tables"] = tables(sheet)
        found[f"{sheet.title}: rules"] = rules(sheet)
        found[f"{sheet.title}: page"] = page(sheet)
    with ZipFile(path) as parts:
        found["charts"] = {name: parts.read(name) for name in parts.namelist() if name.startswith("xl/charts/chart")}
        found["macros"] = VBA_PART in parts.namelist()
    return found


def parts(path: Path) -> dict[str, bytes]:
    """Return the parts of a workbook, leaving out when it was written; equal parts need no longer look."""
    with ZipFile(path) as zipped:
        return {name: zipped.read(name) for name in zipped.namelist() if name != "docProps/core.xml"}


def differences(one: dict[str, Any], other: dict[str, Any]) -> list[str]:
    """Return every part, and every cell of it, that is not the same in both."""
    told = [f"{key} is in one of them only" for key in one.keys() ^ other.keys()]
    for key in one.keys() & other.keys():
        if isinstance(one[key], dict):
            apart = {at for at in one[key].keys() | other[key].keys() if one[key].get(at) != other[key].get(at)}
            told += [f"{key}, {at}: {one[key].get(at)!r} / {other[key].get(at)!r}" for at in sorted(apart)]
        elif one[key] != other[key]:
            told.append(f"{key}: {one[key]!r} / {other[key]!r}")
    return told


def test_the_folder_holds_these_workbooks_and_how_to_renew_them() -> None:
    assert {path.name for path in FOLDER.iterdir() if path.name != "__pycache__"} == {*FILES, "renew.py"}


@pytest.mark.parametrize("name", FILES)
def test_a_committed_workbook_is_what_the_generator_writes(template: Callable[..., Path], name: str) -> None:
    host, units = FILES[name]
    committed, made = FOLDER / name, template(blank=True, ending=name.rpartition(".")[2], units=units)
    apart = [] if parts(committed) == parts(made) else differences(contents(committed), contents(made))
    assert not apart[:20], f"{len(apart)} differences; delete the file and run workbook_templates/renew.py"
    assert (VBA_PART in parts(made)) is (host == "excel")


def test_a_difference_is_seen_in_every_part(tmp_path: Path) -> None:
    """The comparison itself is no empty one."""
    name = next(iter(FILES))
    before = contents(FOLDER / name)
    book = load_workbook(FOLDER / name)
    book["Entry"]["P9"] = "by the gate"
    book["Prices"]["D5"].comment.text += "!"
    table = book["Company"].tables["Trucks"]
    table.tableColumns[0].name = "other"
    book["Entry"].data_validations.dataValidation.pop()
    del book.defined_names["Soils"]
    book["Quote"].freeze_panes = "C9"
    book.save(tmp_path / "changed.xlsx")
    told = "\n".join(differences(before, contents(tmp_path / "changed.xlsx")))
    for part in ("Entry: cells, P9", "Entry: values, P9", "Prices: cells, D5", "Company: tables, Trucks",
                 "Entry: rules", "names, Soils", "Quote: page", "macros"):  # fmt: skip
        assert part in told


def test_renewing_writes_what_is_missing_and_replaces_nothing(
    tmp_path: Path, template: Callable[..., Path], monkeypatch: pytest.MonkeyPatch
) -> None:
    def write(path: Path, *, host: str, units: str) -> Path:
        assert (host, units) == FILES[path.name]
        return Path(shutil.copy(template(blank=True, ending=path.suffix[1:], units=units), path))

    monkeypatch.setitem(RENEW["renew"].__globals__, "write_template", write)
    kept = tmp_path / next(iter(FILES))
    kept.write_bytes(b"mine")
    written = RENEW["renew"](tmp_path)
    assert {path.name for path in written} == set(FILES) - {kept.name}
    assert kept.read_bytes() == b"mine"
    assert RENEW["renew"](tmp_path) == []
