"""The command line does what the README says; bad input is one line on standard error and exit code 2."""

import json
import re
import shlex
import subprocess
import sys
from pathlib import Path

import openpyxl
import pytest
from engines import libreoffice

from basecalc import worksheet
from basecalc.cli import commands, main
from basecalc.core.errors import WorkbookError
from basecalc.demo import write_demo
from basecalc.runs import write_pdfs


@pytest.fixture
def run(capsys):
    def call(*words: object) -> tuple[int, str, str]:
        with pytest.raises(SystemExit) as stop:
            main([str(word) for word in words])
        printed = capsys.readouterr()
        return int(stop.value.code or 0), printed.out, printed.err

    return call


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    return write_demo(tmp_path_factory.mktemp("demo"))


def one_line(text: str) -> str:
    lines = text.splitlines()
    assert len(lines) == 1
    assert lines[0].startswith("basecalc: ")
    assert "Traceback" not in text
    return lines[0]


def test_demo_writes_prices_jobs_and_quotes_and_says_so(run, tmp_path) -> None:
    code, out, err = run("demo", tmp_path / "d")
    assert (code, err) == (0, "")
    names = sorted(path.relative_to(tmp_path / "d").as_posix() for path in (tmp_path / "d").rglob("*.*"))
    assert names == [
        "estimate-2-soft-ground.xlsx", "jobs/1-firm-ground.toml", "jobs/2-soft-ground.toml", "jobs/3-new-build.toml",
        "prices.xlsx",
        *(f"quotes/LF-260{job}-r1-{kind}.xlsx" for job in (1, 2, 3) for kind in ("crew", "office", "quote")),
    ]  # fmt: skip
    assert all(name.split("/")[-1] in out for name in names if name.startswith("quotes/"))
    assert [line for line in out.splitlines() if "estimate-2-soft-ground.xlsx" in line] == [
        "The second job in an estimating workbook, for any spreadsheet program: "
        f"{tmp_path / 'd' / 'estimate-2-soft-ground.xlsx'}"
    ]


def test_demo_shows_the_three_cases_it_is_there_for(demo, tmp_path, run) -> None:
    _, out, _ = run("quote", demo.jobs[0].parent, "--prices", demo.prices, "--out", tmp_path / "q", "--json")
    firm, soft, new = json.loads(out)
    habit, stone = firm["options"]["habit"], firm["options"]["stone"]
    assert stone["base_depth_in"]["Driveway"] < habit["base_depth_in"]["Driveway"]
    assert float(stone["total"]) < float(habit["total"])
    assert soft["offered"] == "geogrid"
    assert float(soft["options"]["geogrid"]["total"]) < float(soft["options"]["stone"]["total"])
    classes = {name: area["strength_class"] for name, area in new["ground"].items()}
    assert len(set(classes.values())) == 2
    assert any(one["code"] == "foundation-fill" for one in new["options"]["stone"]["quantities"])


def test_demo_refuses_a_folder_that_holds_something(run, tmp_path) -> None:
    (tmp_path / "keep.txt").write_text("mine")
    code, _, err = run("demo", tmp_path)
    assert code == 2
    assert "new or empty folder" in one_line(err)
    assert [path.name for path in tmp_path.iterdir()] == ["keep.txt"]


def test_a_second_quote_of_a_job_is_a_new_revision_where_it_is_asked_for(run, demo, tmp_path) -> None:
    for more in ((), ("--again",)):
        assert run("quote", demo.jobs[0], "--prices", demo.prices, "--out", tmp_path, *more)[0] == 0
    assert sorted(path.name for path in tmp_path.iterdir()) == [
        f"LF-2601-r{k}-{kind}.xlsx" for k in (1, 2) for kind in ("crew", "office", "quote")
    ]


def test_two_workers_write_what_one_writes(run, demo, tmp_path) -> None:
    totals = []
    for workers in (1, 2):
        out = run(
            "quote",
            *demo.jobs,
            "--prices",
            demo.prices,
            "--out",
            tmp_path / str(workers),
            "--json",
            "--workers",
            workers,
        )
        totals.append([quote["total"] for quote in json.loads(out[1])])
    assert totals[0] == totals[1]
    assert len(set(totals[0])) == 3


def test_one_bad_job_in_a_folder_is_named_and_the_others_are_quoted(run, demo, tmp_path) -> None:
    bad = tmp_path / "bad.toml"
    bad.write_text("[job]\nnumber = 3\n")
    code, out, err = run("quote", bad, demo.jobs[0], "--prices", demo.prices, "--out", tmp_path / "q")
    assert code == 2
    assert "bad.toml" in one_line(err)
    assert "LF-2601-r1-quote.xlsx" in out


BAD_FILES = {
    "missing.xlsx": None,
    "empty.xlsx": b"",
    "text.xlsx": b"not a workbook",
    "cut.xlsx": b"PK\x03\x04 half a zip",
}


@pytest.mark.parametrize("name", BAD_FILES)
def test_a_price_file_that_is_none_ends_in_one_line_and_nothing_is_written(run, demo, tmp_path, name) -> None:
    if BAD_FILES[name] is not None:
        (tmp_path / name).write_bytes(BAD_FILES[name])
    code, out, err = run("quote", demo.jobs[0], "--prices", tmp_path / name, "--out", tmp_path / "q")
    assert (code, out) == (2, "")
    assert name in one_line(err)
    assert not (tmp_path / "q").exists()


@pytest.mark.parametrize(
    "content", [None, b"", b"\xff\xfe\x00", b"x = [", b"a = 1"], ids=["missing", "empty", "binary", "cut", "other"]
)
def test_a_job_file_that_is_none_ends_in_one_line_and_nothing_is_written(run, demo, tmp_path, content) -> None:
    job = tmp_path / "odd.toml"
    if content is not None:
        job.write_bytes(content)
    code, _, err = run("quote", job, "--prices", demo.prices, "--out", tmp_path / "q")
    assert code == 2
    assert "odd.toml" in one_line(err)
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
        (("nonsense",), "nonsense"),
        (("check", "notes.txt"), "notes.txt"),
    ],
)
def test_bad_words_end_in_one_line(run, words, part) -> None:
    code, out, err = run(*words)
    assert (code, out) == (2, "")
    assert part in one_line(err)


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
    names = [check["check"] for check in json.loads(run(*asked, "--json")[1])["checks"]]
    assert (code, [line.split()[0] for line in table]) == (0, ["check", *names])
    assert "0.0 in  governs" in table[1]


LOG = Path(__file__).parent.parent / "examples" / "cone-log.csv"


def test_a_cone_log_is_printed_with_its_layers_and_its_design_cbr(run) -> None:
    code, out, err = run("dcp", LOG)
    assert (code, err) == (0, "")
    assert "design CBR" in out
    numbers = json.loads(run("dcp", LOG, "--json")[1])
    assert numbers["drops"]
    assert "<- design" in out


def test_a_log_that_leaves_its_counting_open_is_read_with_the_word_it_asks_for(run, tmp_path) -> None:
    short = tmp_path / "short.csv"
    short.write_text("blows,depth mm\n0,0\n5,100\n10,220\n15,330\n")
    code, _, err = run("dcp", short)
    assert code == 2
    assert "per step" in one_line(err)
    index = []
    for word in ("per step", "total"):
        numbers = json.loads(run("dcp", short, "--blows", word, "--depths", "total", "--json")[1])
        index.append(numbers["drops"][0]["design_cbr_percent"])
    assert index[0] > index[1]  # more blows for the same way: stronger ground


def test_a_bad_cone_log_ends_in_one_line_with_its_row(run, tmp_path) -> None:
    bad = tmp_path / "log.csv"
    bad.write_text("blows,depth mm\n0,0\n5,60\n5,40\n")
    code, out, err = run("dcp", bad)
    assert (code, out) == (2, "")
    assert "log.csv" in one_line(err)
    assert "row 4" in err


@pytest.mark.parametrize("name", ["estimate.xlsx", "estimate.xlsm"])
def test_template_writes_a_workbook_once_and_never_over_another(run, tmp_path, name) -> None:
    path = tmp_path / name
    code, out, _ = run("template", path)
    assert (code, "any spreadsheet program" in out) == (0, name.endswith(".xlsx"))
    order = ["Start", "Entry", "Problems", "Estimate", "Quote"]
    assert openpyxl.load_workbook(path).sheetnames[: len(order)] == order
    before = path.read_bytes()
    code, _, err = run("template", path)
    assert code == 2
    assert "exists" in one_line(err)
    assert path.read_bytes() == before


def test_check_of_a_new_template_names_every_price_that_is_missing(run, tmp_path) -> None:
    run("template", tmp_path / "p.xlsx")
    code, _, err = run("check", tmp_path / "p.xlsx")
    missing = [line for line in err.splitlines() if "unit price" in line]
    assert code == 2
    assert len(missing) >= 10
    assert all("sheet Prices, cell D" in line for line in missing)


def test_template_carries_prices_over_and_takes_a_job_that_quotes_the_same(run, demo, tmp_path) -> None:
    job, filled, old = demo.jobs[1], tmp_path / "filled.xlsx", demo.prices.read_bytes()
    code, out, _ = run("template", filled, "--prices", demo.prices, "--job", job)
    assert (code, "an estimating workbook" in out) == (0, True)
    assert demo.prices.read_bytes() == old
    from_file = json.loads(run("quote", job, "--prices", demo.prices, "--out", tmp_path / "a", "--json")[1])
    from_sheets = json.loads(run("quote", filled, "--out", tmp_path / "b", "--json")[1])
    assert from_sheets[0]["total"] == from_file[0]["total"]


def test_the_demos_estimating_workbook_is_its_second_job_at_the_demos_prices(run, demo, tmp_path) -> None:
    assert run("check", demo.estimate)[:2] == (0, f"{demo.estimate}: nothing wrong was found\n")
    before = demo.estimate.read_bytes()
    from_sheets = json.loads(run("quote", demo.estimate, "--out", tmp_path / "a", "--json")[1])
    from_file = json.loads(run("quote", demo.jobs[1], "--prices", demo.prices, "--out", tmp_path / "b", "--json")[1])
    assert demo.estimate.read_bytes() == before
    assert [path.name for path in sorted((tmp_path / "a").iterdir())] == [
        "LF-2602-r1-crew.xlsx", "LF-2602-r1-office.xlsx", "LF-2602-r1-quote.xlsx",
    ]  # fmt: skip
    for told in (*from_sheets, *from_file):
        del told["job_file"], told["client_file"], told["office_file"], told["crew_file"]
    assert from_sheets == from_file


def test_prices_that_are_named_win_over_those_in_a_filled_workbook(run, demo, tmp_path) -> None:
    book = openpyxl.load_workbook(demo.prices)
    page = book["Prices"]
    dearer = next(row for row in range(5, 40) if page.cell(row, 1).value == "base-stone")
    page.cell(dearer, 4).value *= 2
    book.save(tmp_path / "dearer.xlsx")
    quote = ("--prices", tmp_path / "dearer.xlsx", "--json", "--out")
    (own,) = json.loads(run("quote", demo.estimate, "--json", "--out", tmp_path / "a")[1])
    (named,) = json.loads(run("quote", demo.estimate, *quote, tmp_path / "b")[1])
    (from_file,) = json.loads(run("quote", demo.jobs[1], *quote, tmp_path / "c")[1])
    assert float(named["total"]) > float(own["total"])
    assert (named["total"], named["options"]) == (from_file["total"], from_file["options"])


def test_a_folder_may_hold_job_files_and_filled_workbooks(run, demo, tmp_path) -> None:
    folder = tmp_path / "jobs"
    folder.mkdir()
    (folder / "a.toml").write_bytes(demo.jobs[0].read_bytes())
    (folder / "b.xlsm").write_bytes(demo.estimate.read_bytes())
    (folder / "prices.xlsx").write_bytes(demo.prices.read_bytes())
    code, out, err = run("quote", folder, "--out", tmp_path / "none")
    assert (code, out) == (2, "")
    assert "a.toml: a job file has no prices" in one_line(err)
    assert not (tmp_path / "none").exists()
    code, out, err = run("quote", folder, "--prices", demo.prices, "--out", tmp_path / "q", "--json")
    assert (code, err) == (0, "")
    assert [Path(one["job_file"]).name for one in json.loads(out)] == ["a.toml", "b.xlsm"]
    assert len(list((tmp_path / "q").iterdir())) == 2 * 3


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("new.ods",), "must end in .xlsx"),
        (("new.xlsx", "--for", "excel"), "must end in .xlsm"),
        (("new.xlsx", "--units", "metric", "--job"), "metric"),
    ],
)
def test_a_template_that_cannot_be_is_refused_in_one_line(run, demo, tmp_path, arguments, words) -> None:
    rest = [demo.jobs[0]] if arguments[-1] == "--job" else []
    code, out, err = run("template", tmp_path / arguments[0], *arguments[1:], *rest)
    assert (code, out) == (2, "")
    assert words in one_line(err)
    assert not (tmp_path / arguments[0]).exists()


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
    assert code == 0
    assert "openpyxl" in out


def test_a_pdf_without_libreoffice_is_refused_before_anything_is_written(run, demo, tmp_path, monkeypatch) -> None:
    monkeypatch.setattr("basecalc.runs.shutil.which", lambda _: None)
    code, _, err = run("quote", demo.jobs[0], "--prices", demo.prices, "--out", tmp_path / "q", "--pdf")
    assert code == 2
    assert "LibreOffice" in one_line(err)
    assert not (tmp_path / "q").exists()


def test_the_program_starts_as_a_module(tmp_path) -> None:
    done = subprocess.run(
        [sys.executable, "-m", "basecalc", "--version"], capture_output=True, text=True, cwd=tmp_path, check=True
    )
    assert done.stdout.startswith("basecalc 0.")


@pytest.mark.libreoffice
def test_pdfs_for_client_and_crew_are_made_once(run, demo, tmp_path) -> None:
    libreoffice()
    code, out, _ = run("quote", demo.jobs[1], "--prices", demo.prices, "--out", tmp_path, "--pdf")
    pdf = tmp_path / "LF-2602-r1-quote.pdf"
    assert code == 0
    for made in (pdf, tmp_path / "LF-2602-r1-crew.pdf"):
        assert str(made) in out
        assert made.read_bytes().startswith(b"%PDF")
    with pytest.raises(WorkbookError, match="not replaced"):
        write_pdfs([tmp_path / "LF-2602-r1-quote.xlsx"])


@pytest.mark.libreoffice
def test_a_change_order_has_pdfs_for_client_and_crew_too(run, demo, tmp_path) -> None:
    libreoffice()
    run("quote", demo.jobs[1], "--prices", demo.prices, "--out", tmp_path)
    office = tmp_path / "LF-2602-r1-office.xlsx"
    code, out, _ = run("quote", office, "--found", "Driveway=0.45", "--out", tmp_path, "--pdf")
    assert code == 0
    for name in ("LF-2602-r1-change1.pdf", "LF-2602-r1-change1-crew.pdf"):
        assert str(tmp_path / name) in out
        assert (tmp_path / name).read_bytes().startswith(b"%PDF")


def test_two_price_workbooks_are_refused_for_nobody_would_see_which_counted(run, demo) -> None:
    prices, job = str(demo.prices), str(demo.jobs[0])
    code, out, err = run("quote", job, "--prices", prices, "--prices", prices)
    assert (code, out) == (2, "")
    assert err == "basecalc: Invalid value for '--prices': it may be given once, not 2 times\n"


def test_a_dry_run_prices_and_prints_and_writes_nothing(run, demo, tmp_path: Path) -> None:
    out = tmp_path / "quotes"
    words = ("quote", demo.jobs[0], "--prices", demo.prices, "--out", out)
    code, text, err = run(*words, "--dry-run")
    assert (code, err) == (0, "")
    assert "dry run: priced and not written" in text
    assert "$13,937.95" in text
    (numbers,) = json.loads(run(*words, "--dry-run", "--json")[1])
    assert (numbers["total"], numbers["client_file"], numbers["revision"]) == ("13937.95", None, None)
    assert not out.exists()
    (written,) = json.loads(run(*words, "--json")[1])
    assert written.keys() == numbers.keys()
    assert {key for key in written if written[key] != numbers[key]} == {
        "client_file", "office_file", "crew_file", "revision",
    }  # fmt: skip
    before = sorted(path.name for path in out.iterdir())
    assert "no change: LF-2601-r1 holds" in run(*words, "--dry-run")[1]
    office = out / "LF-2601-r1-office.xlsx"
    code, text, err = run("quote", office, "--found", "Driveway=soft", "--dry-run", "--out", out)
    assert (code, err) == (0, "")
    assert "a change, priced and not written" in text
    assert sorted(path.name for path in out.iterdir()) == before
    assert "--dry-run writes nothing, so no PDF" in one_line(run(*words, "--dry-run", "--pdf")[2])


def test_a_dry_run_refuses_what_a_run_refuses(run, demo, tmp_path: Path) -> None:
    run("quote", demo.jobs[0], "--prices", demo.prices, "--out", tmp_path)
    other = tmp_path / "other.toml"
    other.write_text(demo.jobs[0].read_text("utf-8").replace("Odessa Wrenfield", "Somebody Else"), "utf-8")
    code, _, err = run("quote", other, "--prices", demo.prices, "--out", tmp_path, "--dry-run")
    assert code == 2
    assert "belongs to Odessa Wrenfield" in one_line(err)


@pytest.mark.parametrize("name", sorted(commands.commands))
def test_help_ends_in_two_examples_that_the_command_takes(run, name: str) -> None:
    code, text, _ = run(name, "--help")
    assert code == 0
    *_, head, first, second = text.splitlines()
    assert head.strip() == "Examples:"
    for line in (first, second):
        program, given, *words = shlex.split(line)
        assert (program, given) == ("basecalc", name)
        commands.commands[name].make_context(name, words).close()


def test_the_excel_checklist_has_twelve_points_and_its_commands_and_answers_hold() -> None:
    text = (Path(__file__).parent.parent / "examples" / "excel-checklist.md").read_text("utf-8")
    points = re.findall(r"^\| (\d+) \| .+ \| .+ \|$", text, re.MULTILINE)
    assert points == [str(place) for place in range(1, 13)]
    lines = [shlex.split(line) for line in re.findall(r"^basecalc .+$|(?<=`)basecalc [^`]+(?=`)", text, re.MULTILINE)]
    assert len(lines) >= 6
    for _, name, *words in lines:
        commands.commands[name].make_context(name, words).close()
    assert (worksheet.BASE_DEPTH("soft", "light"), worksheet.BASE_DEPTH("hard", "light")) == (24, 6)
    assert str(worksheet.LOOSE_VOLUME(100, "chalk")).startswith("#soil is 'chalk'")
