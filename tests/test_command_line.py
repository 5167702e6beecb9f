"""The command line does what the README says; bad input is one line on standard error and exit code 2."""

import json
import re
import shlex
import shutil
import subprocess
import sys
from pathlib import Path

import conftest
import openpyxl
import pytest
from engines import libreoffice

from basecalc import WorkbookError, worksheet
from basecalc.cli import commands
from basecalc.runs import write_pdfs

EXAMPLES = Path(__file__).parent.parent / "examples"
KINDS = ("crew", "office", "quote")
demo, run = conftest.demo, conftest.run  # for the test files that import them from here


def one_line(text: str) -> str:
    (line,) = text.splitlines()
    assert line.startswith("basecalc: ")
    return line


def names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


def test_demo_writes_prices_jobs_and_quotes_and_says_so(demo) -> None:
    folder, out = demo.prices.parent, (demo.prices.parent / "printed.txt").read_text("utf-8")
    assert names(folder) == ["estimate-2-soft-ground.xlsx", "jobs", "prices.xlsx", "printed.txt", "quotes"]
    assert names(folder / "jobs") == ["1-firm-ground.toml", "2-soft-ground.toml", "3-new-build.toml"]
    assert names(demo.quotes) == [f"LF-260{job}-r1-{kind}.xlsx" for job in (1, 2, 3) for kind in KINDS]
    assert all(name in out for name in names(demo.quotes))
    assert [line for line in out.splitlines() if "estimate-2-soft-ground.xlsx" in line] == [
        f"The second job in an estimating workbook, for any spreadsheet program: {demo.estimate}"
    ]


def test_demo_shows_the_three_cases_it_is_there_for(demo, run) -> None:
    firm, soft, new = json.loads(run("quote", *demo.jobs, "--prices", demo.prices, "--dry-run", "--json")[1])
    standard, stone = firm["options"]["habit"], firm["options"]["stone"]
    assert stone["base_depth_in"]["Driveway"] < standard["base_depth_in"]["Driveway"]
    assert float(stone["total"]) < float(standard["total"])
    assert soft["offered"] == "geogrid"
    assert float(soft["options"]["geogrid"]["total"]) < float(soft["options"]["stone"]["total"])
    assert len({area["strength_class"] for area in new["ground"].values()}) == 2
    assert any(one["code"] == "foundation-fill" for one in new["options"]["stone"]["quantities"])


def test_demo_refuses_a_folder_that_holds_something(run, tmp_path) -> None:
    (tmp_path / "keep.txt").write_text("mine")
    code, _, err = run("demo", tmp_path)
    assert (code, "new or empty folder" in one_line(err)) == (2, True)
    assert names(tmp_path) == ["keep.txt"]


def test_a_second_quote_of_a_job_is_a_new_revision_where_it_is_asked_for(run, demo_copy) -> None:
    assert run("quote", demo_copy.jobs[0], "--prices", demo_copy.prices, "--out", demo_copy.quotes)[0] == 0
    assert len(names(demo_copy.quotes)) == 3 * 3
    assert run("quote", demo_copy.jobs[0], "--prices", demo_copy.prices, "--out", demo_copy.quotes, "--again")[0] == 0
    assert names(demo_copy.quotes)[:6] == [f"LF-2601-r{k}-{kind}.xlsx" for k in (1, 2) for kind in KINDS]


def test_two_workers_write_what_one_writes(run, demo, tmp_path) -> None:
    jobs = ("quote", *demo.jobs, "--prices", demo.prices, "--json", "--out", tmp_path)
    one, two = (json.loads(run(*jobs, *more)[1]) for more in (("--dry-run",), ("--workers", 2)))
    assert [quote["total"] for quote in two] == [quote["total"] for quote in one]
    assert len({quote["total"] for quote in one}) == 3
    assert names(tmp_path) == names(demo.quotes)


def test_one_bad_job_in_a_folder_is_named_and_the_others_are_quoted(run, demo, tmp_path) -> None:
    (tmp_path / "bad.toml").write_text("[job]\nnumber = 3\n")
    words = ("quote", tmp_path / "bad.toml", demo.jobs[0], "--prices", demo.prices, "--out", tmp_path / "q")
    code, out, err = run(*words)
    assert (code, "bad.toml" in one_line(err), "LF-2601-r1-quote.xlsx" in out) == (2, True, True)


@pytest.mark.parametrize(
    ("name", "content"),
    [
        *(("prices.xlsx", content) for content in (None, b"", b"not a workbook", b"PK\x03\x04 half a zip")),
        *(("odd.toml", content) for content in (None, b"", b"\xff\xfe\x00", b"x = [", b"a = 1")),
    ],
)
def test_a_file_that_is_none_ends_in_one_line_and_nothing_is_written(run, demo, tmp_path, name, content) -> None:
    if content is not None:
        (tmp_path / name).write_bytes(content)
    job, prices = (demo.jobs[0], tmp_path / name) if name == "prices.xlsx" else (tmp_path / name, demo.prices)
    code, out, err = run("quote", job, "--prices", prices, "--out", tmp_path / "q")
    assert (code, out, name in one_line(err)) == (2, "", True)
    assert not (tmp_path / "q").exists()


@pytest.mark.parametrize(
    ("words", "part"),
    [
        (("depth", "0.3"), "engineer"),
        (("depth", "very soft"), "engineer"),
        (("depth", "bog"), "one of: very soft"),
        (("depth", "soft", "--traffic", "tanks"), "light, delivery, heavy"),
        (("depth", "soft", "--reinforcement", "geogrid"), "aperture stability"),
        (("depth", "soft", "--reinforcement", "geogrid", "--aperture-stability", "9"), "0.8"),
        (("depth", "soft", "--aperture-stability", "much"), "much"),
        (("depth",), "STRENGTH"),
        (("quote", "x.toml"), "there is no such file"),
        (("quote", "--prices", "x.xlsx"), "job"),
        (("quote", "x.toml", "--prices", "a.xlsx", "--prices", "a.xlsx"),
         "Invalid value for '--prices': it may be given once, not 2 times"),
        (("quote", "x.toml", "--dry-run", "--pdf"), "--dry-run writes nothing, so no PDF"),
        (("template", "new.ods"), "must end in .xlsx"),
        (("template", "new.xlsx", "--for", "excel"), "must end in .xlsm"),
        (("nonsense",), "nonsense"),
        (("check", "notes.txt"), "notes.txt"),
    ],
)  # fmt: skip
def test_bad_words_end_in_one_line(run, tmp_path, monkeypatch, words, part) -> None:
    monkeypatch.chdir(tmp_path)
    code, out, err = run(*words)
    assert (code, out) == (2, "")
    assert part in one_line(err)
    assert names(tmp_path) == []


def test_depth_prints_every_check_and_the_one_that_governs(run) -> None:
    code, out, _ = run("depth", "soft")
    assert code == 0
    assert "Base depth 24 in" in out  # practice for soft ground, weak edge: 24 in; common practice, no source
    assert all(f"  {name}: " in out for name in ("platform", "structural", "minimum", "practice"))
    assert "platform: 23.2 in, governs" in out


def test_depth_as_json_holds_numbers(run) -> None:
    _, out, _ = run(
        "depth", "1.0", "--reinforcement", "geogrid", "--aperture-stability", "0.32", "--json", "--unit", "mm"
    )
    numbers = json.loads(out)
    assert numbers["required_mm"] % 10 == pytest.approx(0)
    assert {check["check"] for check in numbers["checks"]} >= {"platform", "structural", "minimum", "practice"}
    assert all(check["source"] for check in numbers["checks"])


def test_depth_compared_prints_all_checks_beside_each_other_and_changes_nothing(run) -> None:
    asked = ("depth", "1.0", "--traffic", "heavy")
    assert run(*asked, "--json", "--compare") == run(*asked, "--json")
    code, out, _ = run(*asked, "--compare")
    table = out.split("\n\n")[1].splitlines()
    checks = [check["check"] for check in json.loads(run(*asked, "--json")[1])["checks"]]
    assert (code, [line.split()[0] for line in table]) == (0, ["check", *checks])
    assert "0.0 in  governs" in table[1]


def test_a_cone_log_is_printed_with_its_layers_and_its_design_cbr(run) -> None:
    code, out, err = run("dcp", EXAMPLES / "cone-log.csv")
    assert (code, err) == (0, "")
    assert "design CBR" in out
    assert "<- design" in out
    assert json.loads(run("dcp", EXAMPLES / "cone-log.csv", "--json")[1])["drops"]


def test_a_log_that_leaves_its_counting_open_is_read_with_the_word_it_asks_for(run, tmp_path) -> None:
    short = tmp_path / "short.csv"
    short.write_text("blows,depth mm\n0,0\n5,100\n10,220\n15,330\n")
    code, _, err = run("dcp", short)
    assert (code, "per step" in one_line(err)) == (2, True)
    per_step, total = (
        json.loads(run("dcp", short, "--blows", word, "--depths", "total", "--json")[1])["drops"][0]
        for word in ("per step", "total")
    )
    assert per_step["design_cbr_percent"] > total["design_cbr_percent"]  # more blows for the same way: stronger ground


def test_a_bad_cone_log_ends_in_one_line_with_its_row(run, tmp_path) -> None:
    (tmp_path / "log.csv").write_text("blows,depth mm\n0,0\n5,60\n5,40\n")
    code, out, err = run("dcp", tmp_path / "log.csv")
    assert (code, out) == (2, "")
    assert re.search(r"log\.csv.*row 4", one_line(err))


def test_template_writes_a_workbook_once_whose_check_names_every_price_that_is_missing(run, tmp_path) -> None:
    path = tmp_path / "estimate.xlsx"
    code, out, _ = run("template", path)
    assert (code, "any spreadsheet program" in out) == (0, True)
    sheets = openpyxl.load_workbook(path, read_only=True).sheetnames
    assert sheets[:5] == ["Start", "Entry", "Problems", "Estimate", "Quote"]
    before = path.read_bytes()
    code, _, err = run("template", path)
    assert (code, "exists" in one_line(err)) == (2, True)
    assert path.read_bytes() == before
    code, _, err = run("check", path)
    missing = [line for line in err.splitlines() if "unit price" in line]
    assert (code, len(missing) >= 10) == (2, True)
    assert all("sheet Prices, cell D" in line for line in missing)


def test_template_carries_prices_over_and_takes_a_job_that_quotes_the_same(run, demo, tmp_path) -> None:
    filled, old = tmp_path / "filled.xlsm", demo.prices.read_bytes()
    code, out, _ = run("template", filled, "--prices", demo.prices, "--job", demo.jobs[1])
    assert (code, "an estimating workbook" in out, "any spreadsheet program" in out) == (0, True, False)
    assert demo.prices.read_bytes() == old
    (quote,) = json.loads(run("quote", filled, "--dry-run", "--json")[1])
    assert quote["total"] == "28375.21"


def test_the_demos_estimating_workbook_is_its_second_job_at_the_demos_prices(run, demo, tmp_path) -> None:
    assert run("check", demo.estimate)[:2] == (0, f"{demo.estimate}: nothing wrong was found\n")
    (from_sheets,) = json.loads(run("quote", demo.estimate, "--out", tmp_path, "--json")[1])
    (from_file,) = json.loads(run("quote", demo.jobs[1], "--prices", demo.prices, "--dry-run", "--json")[1])
    assert names(tmp_path) == [f"LF-2602-r1-{kind}.xlsx" for kind in KINDS]
    written = {"job_file", "client_file", "office_file", "crew_file", "revision"}
    assert {key for key in from_sheets if from_sheets[key] != from_file[key]} == written


def test_prices_that_are_named_win_over_those_in_a_filled_workbook(run, demo, tmp_path) -> None:
    book = openpyxl.load_workbook(demo.prices)
    page = book["Prices"]
    dearer = next(row for row in range(5, 40) if page.cell(row, 1).value == "base-stone")
    page.cell(dearer, 4).value *= 2
    book.save(tmp_path / "dearer.xlsx")
    named = ("--prices", tmp_path / "dearer.xlsx")
    own, other, from_file = (
        json.loads(run("quote", *words, "--json", "--dry-run")[1])[0]
        for words in ((demo.estimate,), (demo.estimate, *named), (demo.jobs[1], *named))
    )
    assert float(other["total"]) > float(own["total"])
    assert (other["total"], other["options"]) == (from_file["total"], from_file["options"])


def test_a_folder_may_hold_job_files_and_filled_workbooks(run, demo, tmp_path) -> None:
    folder = tmp_path / "jobs"
    folder.mkdir()
    for file, name in ((demo.jobs[0], "a.toml"), (demo.estimate, "b.xlsm"), (demo.prices, "prices.xlsx")):
        shutil.copy(file, folder / name)
    code, out, err = run("quote", folder, "--out", tmp_path / "none")
    assert (code, out) == (2, "")
    assert "a.toml: a job file has no prices" in one_line(err)
    assert not (tmp_path / "none").exists()
    code, out, err = run("quote", folder, "--prices", demo.prices, "--dry-run", "--json")
    assert (code, err) == (0, "")
    assert [Path(one["job_file"]).name for one in json.loads(out)] == ["a.toml", "b.xlsm"]


def test_a_template_in_other_units_than_its_job_is_refused_in_one_line(run, demo, tmp_path) -> None:
    code, out, err = run("template", tmp_path / "new.xlsx", "--units", "metric", "--job", demo.jobs[0])
    assert (code, out, "metric" in one_line(err), names(tmp_path)) == (2, "", True, [])


def test_the_addin_is_written_once(run, tmp_path) -> None:
    assert run("addin", "--for", "calc", tmp_path / "base.oxt")[0] == 0
    before = (tmp_path / "base.oxt").read_bytes()
    code, _, err = run("addin", "--for", "calc", tmp_path / "base.oxt")
    assert (code, "the file exists and is left as it is" in one_line(err)) == (2, True)
    assert (tmp_path / "base.oxt").read_bytes() == before


def test_check_of_good_files_says_so(run, demo) -> None:
    for file in (demo.prices, *demo.jobs):
        code, out, _ = run("check", file)
        assert (code, out.splitlines()[0]) == (0, f"{file}: nothing wrong was found")
        # the new plot leaves open how deep its fill goes, in both of its areas
        assert all(line.startswith("worth a look: ") for line in out.splitlines()[1:])
        assert len(out.splitlines()) == (3 if file.stem == "3-new-build" else 1)


def test_check_of_the_installation_passes_here(run) -> None:
    code, out, _ = run("check")
    assert (code, "openpyxl" in out) == (0, True)


def test_a_pdf_without_libreoffice_is_refused_before_anything_is_written(run, demo, tmp_path, monkeypatch) -> None:
    monkeypatch.setattr("basecalc.runs.shutil.which", lambda _: None)
    code, _, err = run("quote", demo.jobs[0], "--prices", demo.prices, "--out", tmp_path / "q", "--pdf")
    assert (code, "LibreOffice" in one_line(err)) == (2, True)
    assert not (tmp_path / "q").exists()


def test_the_program_starts_as_a_module(tmp_path) -> None:
    done = subprocess.run(
        [sys.executable, "-m", "basecalc", "--version"], capture_output=True, text=True, cwd=tmp_path, check=True
    )
    assert done.stdout.startswith("basecalc 0.")


@pytest.mark.libreoffice
def test_client_and_crew_get_pdfs_of_a_quote_and_of_a_change_order_once(run, demo, tmp_path) -> None:
    libreoffice()
    code, quoted, _ = run("quote", demo.jobs[1], "--prices", demo.prices, "--out", tmp_path, "--pdf")
    assert code == 0
    found = ("--found", "Driveway=0.45", "--out", tmp_path, "--pdf")
    code, changed, _ = run("quote", tmp_path / "LF-2602-r1-office.xlsx", *found)
    assert code == 0
    for name, out in (
        ("quote", quoted), ("crew", quoted), ("change1", changed), ("change1-crew", changed),
    ):  # fmt: skip
        path = tmp_path / f"LF-2602-r1-{name}.pdf"
        assert str(path) in out
        assert path.read_bytes().startswith(b"%PDF")
    with pytest.raises(WorkbookError, match="not replaced"):
        write_pdfs([tmp_path / "LF-2602-r1-quote.xlsx"])


def test_a_dry_run_prices_and_prints_and_writes_nothing(run, demo, tmp_path) -> None:
    out = tmp_path / "quotes"
    words = ("quote", demo.jobs[0], "--prices", demo.prices, "--out", out)
    code, text, err = run(*words, "--dry-run")
    assert (code, err, "dry run: priced and not written" in text, "$13,937.95" in text) == (0, "", True, True)
    (numbers,) = json.loads(run(*words, "--dry-run", "--json")[1])
    assert (numbers["total"], numbers["client_file"], numbers["revision"]) == ("13937.95", None, None)
    assert not out.exists()
    (written,) = json.loads(run(*words, "--json")[1])
    assert written.keys() == numbers.keys()
    assert {key for key in written if written[key] != numbers[key]} == {
        "client_file", "office_file", "crew_file", "revision",
    }  # fmt: skip
    before = names(out)
    assert "no change: LF-2601-r1 holds" in run(*words, "--dry-run")[1]
    office = out / "LF-2601-r1-office.xlsx"
    code, text, err = run("quote", office, "--found", "Driveway=soft", "--dry-run", "--out", out)
    assert (code, err, "a change, priced and not written" in text) == (0, "", True)
    assert names(out) == before


def test_a_change_order_is_beside_its_office_file_so_the_book_has_it(run, demo, tmp_path, monkeypatch) -> None:
    monkeypatch.chdir(tmp_path)
    assert run("quote", demo.jobs[0], "--prices", demo.prices, "--out", "d/out")[0] == 0
    code, text, err = run("quote", "d/out/LF-2601-r1-office.xlsx", "--found", "Driveway=soft")
    assert (code, err, f"{Path('d/out/LF-2601-r1-change1.xlsx')}" in text) == (0, "", True)
    assert names(tmp_path) == ["d"]
    (entry,) = json.loads(run("book", "d/out", "--json")[1])["quotes"]
    assert len(entry["changes"]) == 1


def test_a_dry_run_refuses_what_a_run_refuses(run, demo, tmp_path) -> None:
    other = tmp_path / "other.toml"
    other.write_text(demo.jobs[0].read_text("utf-8").replace("Odessa Wrenfield", "Somebody Else"), "utf-8")
    code, _, err = run("quote", other, "--prices", demo.prices, "--out", demo.quotes, "--dry-run")
    assert (code, "belongs to Odessa Wrenfield" in one_line(err)) == (2, True)


def require_taken(program: str, name: str, *words: str) -> None:
    """Check that the command takes these words."""
    assert program == "basecalc"
    commands.commands[name].make_context(name, list(words)).close()


@pytest.mark.parametrize("name", sorted(commands.commands))
def test_help_ends_in_two_examples_that_the_command_takes(run, name: str) -> None:
    code, text, _ = run(name, "--help")
    *_, head, first, second = text.splitlines()
    assert (code, head.strip()) == (0, "Examples:")
    for line in (first, second):
        assert shlex.split(line)[1] == name
        require_taken(*shlex.split(line))


def test_the_excel_checklist_has_twelve_points_and_its_commands_and_answers_hold() -> None:
    text = (EXAMPLES / "excel-checklist.md").read_text("utf-8")
    points = re.findall(r"^\| (\d+) \| .+ \| .+ \|$", text, re.MULTILINE)
    assert points == [str(place) for place in range(1, 13)]
    lines = re.findall(r"^basecalc .+$|(?<=`)basecalc [^`]+(?=`)", text, re.MULTILINE)
    assert len(lines) >= 6
    for line in lines:
        require_taken(*shlex.split(line))
    assert (worksheet.BASE_DEPTH("soft", "light"), worksheet.BASE_DEPTH("hard", "light")) == (24, 6)
    assert str(worksheet.LOOSE_VOLUME(100, "chalk")).startswith("#soil is 'chalk'")
