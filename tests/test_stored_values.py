"""What a workbook shows is what was stored or nothing: no lower total, nothing pasted unseen, no value lost."""

import re
import sys
import zipfile
from collections.abc import Callable
from contextlib import redirect_stderr, redirect_stdout
from importlib.metadata import distribution
from io import StringIO
from pathlib import Path

import pytest
from estimating_kit import demo_book, demo_job, demo_prices, named_value, row_of
from libreoffice import Calc
from openpyxl import load_workbook
from openpyxl.workbook import Workbook
from workbook_engine import ERROR, Engine

from basecalc.cli import main
from basecalc.estimating.template import write_template
from basecalc.health import file_problems, installation

ROOT = Path(__file__).parent.parent
TOTALS = ("TotalStone", "TotalGeogrid", "TotalUsual", "OfferedTotal", "QuotedTotal")


def run(*arguments: object) -> tuple[int, str]:
    """Run the command line; return its exit code and all that it printed."""
    said = StringIO()
    with redirect_stdout(said), redirect_stderr(said), pytest.raises(SystemExit) as ended:
        main([str(one) for one in arguments])
    return int(ended.value.code or 0), said.getvalue()


def test_without_the_functions_there_is_no_total_and_the_status_says_so(tmp_path: Path) -> None:
    book, _ = demo_book("2-soft-ground")
    book.save(tmp_path / "engine.xlsx")
    engine = Engine(tmp_path / "engine.xlsx")
    for row in range(1, len(engine.calls) + 1):
        engine.model.set_user_input(engine.side, row, 1, "=NA()")
    engine.model.evaluate()
    for name in TOTALS:
        assert ERROR.match(str(engine.named(name))), name
    assert engine.named("Banner").startswith("REFUSED: the worksheet functions were not loaded")
    for word in ("taxed material", "sales tax", "total"):
        row = row_of(book, "Estimate", word)
        for column in "FHJ":
            assert ERROR.match(str(engine.cell("Estimate", f"{column}{row}"))), (word, column)


def test_one_word_in_error_takes_the_sales_tax_and_the_total_with_it(tmp_path: Path) -> None:
    """SUMIF passes over a cell in error; a tax worked out without it would be too small."""
    book, _ = demo_book("2-soft-ground")
    book.save(tmp_path / "engine.xlsx")
    engine = Engine(tmp_path / "engine.xlsx")
    taxable = [
        place for place, (name, given) in enumerate(engine.calls) if name == "OWNER_VALUE" and '"taxable"' in given
    ]
    assert len(taxable) > 5
    row = row_of(book, "Estimate", "taxed material")
    before = engine.cell("Estimate", f"F{row}")
    assert before > 0
    for place in taxable:
        engine.model.set_user_input(engine.side, place + 1, 1, "=NA()")
    engine.model.evaluate()
    assert all(ERROR.match(str(engine.cell("Estimate", f"{column}{row}"))) for column in "FHJ")
    assert all(ERROR.match(str(engine.named(name))) for name in TOTALS)


@pytest.mark.libreoffice
def test_a_workbook_edited_without_the_functions_never_opens_with_a_lower_price(tmp_path: Path, addin: Path) -> None:
    path = write_template(tmp_path / "filled.xlsx", demo_prices(), host="calc", job=demo_job("2-soft-ground"))
    row = next(cell.row for cell in load_workbook(path)["Prices"]["A"] if cell.value == "base-stone")
    watched = [("", name) for name in (*TOTALS, "Banner")]
    for folder in ("bare", "full"):
        (tmp_path / folder).mkdir()
    with Calc(tmp_path / "bare") as bare:
        bare.ask("open", str(path))
        before = bare.read(watched)
        bare.write([("Prices", f"D{row}", 30.0)])
        assert not any(isinstance(one, float) for one in bare.read(watched))
        bare.save(tmp_path / "saved.xlsx")
    with Calc(tmp_path / "full", addin) as full:
        full.ask("open", str(tmp_path / "saved.xlsx"))
        opened = full.read(watched)
        full.ask("calculate")
        healed = full.read(watched)
    *totals, status = opened
    assert str(status).startswith("REFUSED")
    assert not any(isinstance(one, float) for one in totals)
    assert [now > was for now, was in zip(healed[:-1], before[:-1], strict=True)] == [True] * len(TOTALS)
    assert str(healed[-1]).startswith("All sound")


def edited_parts(path: Path, change: Callable[[str, str], str]) -> Path:
    """Return a copy of a workbook with its parts changed as text, all stored values kept."""
    copy = path.with_name(f"edited-{path.name}")
    with zipfile.ZipFile(path) as old, zipfile.ZipFile(copy, "w") as new:
        for item in old.infolist():
            data = old.read(item)
            if item.filename.startswith("xl/worksheets/sheet"):
                data = change(item.filename, data.decode()).encode()
            new.writestr(item, data)
    return copy


@pytest.fixture(scope="module")
def estimate(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("estimate")
    return write_template(folder / "drive.xlsx", demo_prices(), host="calc", job=demo_job("2-soft-ground"))


def test_an_untouched_workbook_is_sound_and_quoted_without_a_note(estimate: Path, tmp_path: Path) -> None:
    assert not file_problems(estimate)
    code, said = run("quote", estimate, "--out", tmp_path / "quotes")
    assert code == 0
    assert "basecalc:" not in said


def test_a_total_that_is_not_the_quote_is_said_by_check_and_quote(estimate: Path, tmp_path: Path) -> None:
    """Someone changed a price where nothing is worked out, on a phone say: the old total is still shown."""
    dearer = edited_parts(estimate, lambda _, text: text.replace("<v>24.8</v></c>", "<v>34.8</v></c>"))
    book = load_workbook(dearer)
    assert 34.8 in [cell.value for cell in book["Prices"]["D"]]
    code, said = run("check", dearer)
    assert code == 2
    assert "the workbook shows a total of $28,375.21, and the quote from the cells" in said
    code, said = run("quote", dearer, "--out", tmp_path / "quotes")
    assert code == 0
    assert "the workbook shows a total of $28,375.21, and the quote from the cells" in said


def pasted(estimate: Path, folder: Path, change: Callable[[Workbook], tuple[str, str]]) -> tuple[str, str]:
    """Return what check says after a value was pasted over a formula, and the cell."""
    book = load_workbook(estimate)
    sheet, cell = change(book)
    book[sheet][cell].value = 7
    book.save(folder / "pasted.xlsx")
    code, said = run("check", folder / "pasted.xlsx")
    assert code == 2
    code, quoted = run("quote", folder / "pasted.xlsx", "--out", folder / "quotes")
    assert code == 0
    assert f"cell {cell}: the cell is worked out, and 7 was typed or pasted over its formula" in quoted
    return said, f"sheet {sheet}, cell {cell}: the cell is worked out, and 7 was typed or pasted over its formula"


@pytest.mark.parametrize("place", [("Areas", "AI7"), ("Areas", "CT7"), ("Ground", "H7"), ("Cone log", "J11")])
def test_a_value_pasted_over_a_worked_out_cell_of_a_table_is_named(
    estimate: Path, tmp_path: Path, place: tuple[str, str]
) -> None:
    said, wanted = pasted(estimate, tmp_path, lambda _: place)
    assert wanted in said


@pytest.mark.parametrize("name", ["TotalStone", "OfferedTotal", "QuotedTotal", "AllSound", "Banner", "StoneWaste"])
def test_a_value_pasted_over_a_named_cell_is_named(estimate: Path, tmp_path: Path, name: str) -> None:
    def place(book: Workbook) -> tuple[str, str]:
        sheet, _, cell = str(book.defined_names[name].attr_text).rpartition("!")
        return sheet.strip("'"), cell.replace("$", "")

    said, wanted = pasted(estimate, tmp_path, place)
    assert wanted in said


def test_every_file_carries_the_calculation_id_of_a_current_excel(tmp_path: Path) -> None:
    """ECMA-376 Part 1, 18.2.2: a program whose own id is greater calculates the file anew on loading [memory]."""
    demo = tmp_path / "demo"
    steps = [
        ("demo", demo),
        ("quote", demo / "quotes" / "LF-2602-r1-office.xlsx", "--found", "Driveway=0.45", "--out", demo / "quotes"),
        ("template", tmp_path / "new.xlsm"),
        ("template", tmp_path / "new.xlsx", "--prices", demo / "prices.xlsx"),
        ("actuals", ROOT / "examples" / "season", "--job", ROOT / "examples" / "season" / "jobs", "--prices",
         demo / "prices.xlsx", "--out", tmp_path / "season.xlsx"),
    ]  # fmt: skip
    for step in steps:
        code, said = run(*step)
        assert code == 0, (step, said)
    files = sorted([*tmp_path.rglob("*.xlsx"), *tmp_path.rglob("*.xlsm")])
    kinds = {re.sub(r"^LF-\d+-r\d-|^new\.|^estimate-.*\.", "", file.name) for file in files}
    assert {"quote.xlsx", "office.xlsx", "crew.xlsx", "change1.xlsx", "change1-office.xlsx", "prices.xlsx",
            "season.xlsx", "xlsx", "xlsm"} <= kinds  # fmt: skip
    for file in files:
        with zipfile.ZipFile(file) as parts:
            said = re.search(r"<calcPr[^>]*>", parts.read("xl/workbook.xml").decode())
        assert said, file
        assert 'calcId="191029"' in said[0], (file, said[0])
        assert 'fullCalcOnLoad="1"' not in said[0], (file, said[0])


@pytest.mark.parametrize("line", ['"INTERPRETER_WIN","{}"', '"INTERPRETER_MAC",""\n"INTERPRETER_WIN","{}"'])
def test_check_says_which_python_excel_is_set_to(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, line: str) -> None:
    for name in ("HOME", "USERPROFILE"):
        monkeypatch.setenv(name, str(tmp_path))
    name = "Python of xlwings in Excel"
    assert name not in {part.name for part in installation()}
    conf = tmp_path / ".xlwings" / "xlwings.conf"
    conf.parent.mkdir()
    conf.write_text(line.format(sys.executable), "utf-8")
    assert next(part for part in installation() if part.name == name).works
    conf.write_text(line.format("/old/place/python.exe"), "utf-8")
    found = next(part for part in installation() if part.name == name)
    assert (found.works, found.needed) == (False, False)
    assert "/old/place/python.exe" in found.seen
    assert "config create --force" in found.seen


def test_the_license_carries_the_notice_of_the_vba_project() -> None:
    license_text = " ".join((ROOT / "LICENSE").read_text("utf-8").split())
    xlwings = distribution("xlwings")
    notice = next(file for file in xlwings.files or () if str(file).endswith("licenses/LICENSE.txt"))
    assert " ".join(Path(str(xlwings.locate_file(notice))).read_text("utf-8").split()) in license_text
    assert 'license-files = ["LICENSE"]' in (ROOT / "pyproject.toml").read_text("utf-8")


def test_the_stored_totals_of_the_demo_did_not_move() -> None:
    book, values = demo_book("2-soft-ground")
    assert named_value(book, values, "OfferedTotal") == 28375.21
