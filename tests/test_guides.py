"""The README and the guides: every command and every piece of Python in them runs as printed, in the order printed."""

import os
import re
import runpy
import shlex
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from basecalc.cli import main
from basecalc.demo import DemoFiles

ROOT = Path(__file__).parent.parent
GUIDES = ("README.md", "examples/guide-estimator.md", "examples/guide-owner.md", "examples/guide-script.md")
BLOCK = re.compile(r"(?:<!-- (\w+): \w+ -->\n)?```(\w+)\n(.*?)```", re.DOTALL)
SCRIPTS = sorted(path for path in (ROOT / "examples").glob("*.py") if path.stem != "make_reference")
SET_UP = {". .venv/bin/activate"}  # what is no command of ours


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory, demo: DemoFiles) -> Path:
    """Where a user stands: the demo beside the examples."""
    place = tmp_path_factory.mktemp("project")
    unused = shutil.ignore_patterns("*.py", "*.png", "reference.md")
    shutil.copytree(ROOT / "examples", place / "examples", ignore=unused)
    shutil.copytree(demo.prices.parent, place / "basecalc-demo")
    return place


@pytest.mark.parametrize("page", GUIDES)
def test_every_command_and_snippet_runs_in_the_order_printed(page: str, folder: Path, monkeypatch, capsys) -> None:
    monkeypatch.chdir(folder)
    shared: dict[str, object] = {}
    ran = 0
    for mark, language, text in BLOCK.findall((ROOT / page).read_text("utf-8")):
        if mark:  # demo and tests on a fresh machine: the gate runs them
            continue
        if language == "python":
            exec(compile(text, page, "exec"), shared)
            ran += 1
        for line in text.splitlines() if language == "sh" else ():
            if line not in SET_UP:
                program, *words = shlex.split(line, comments=True)
                assert program == "basecalc", line
                with pytest.raises(SystemExit) as end:
                    main(words)
                assert not end.value.code, f"{line}: {capsys.readouterr().err}"
                ran += 1
    assert ran


@pytest.mark.parametrize("script", SCRIPTS, ids=[path.stem for path in SCRIPTS])
def test_an_example_runs_and_prints(script: Path, folder: Path, monkeypatch, capsys) -> None:
    monkeypatch.chdir(folder)
    runpy.run_path(str(script))
    assert len(capsys.readouterr().out.splitlines()) > 2


def test_the_same_input_on_the_same_day_gives_the_same_bytes(tmp_path: Path, monkeypatch) -> None:
    season = str(ROOT / "examples" / "season")
    commands = (
        ["demo", "demo"],
        ["template", "card.xlsx", "--field-card"],
        ["quote", "demo/quotes/LF-2602-r1-office.xlsx", "--found", "Driveway=0.45", "--out", "demo/quotes"],
        ["book", "demo/quotes", "--day", "2026-05-01", "--out", "book.xlsx"],
        ["actuals", season, "--job", f"{season}/jobs", "--prices", "demo/prices.xlsx", "--out", "season.xlsx"],
        ["addin", "--for", "calc", "basecalc.oxt"],
    )
    here, there = tmp_path / "here", tmp_path / "some" / "where" / "else"
    for place in (here, there):
        place.mkdir(parents=True)
    monkeypatch.chdir(here)
    for words in commands:
        with pytest.raises(SystemExit) as end:
            main(words)
        assert not end.value.code, words
    script = f"from basecalc.cli import commands\nfor words in {commands!r}: commands(words, standalone_mode=False)"
    other = {**os.environ, "PYTHONHASHSEED": "1"}
    subprocess.run([sys.executable, "-c", script], cwd=there, check=True, stdout=subprocess.DEVNULL, env=other)
    written = [path.relative_to(here) for path in here.rglob("*") if path.is_file()]
    assert len(written) == 21
    for path in written:
        assert (here / path).read_bytes() == (there / path).read_bytes(), path


@pytest.mark.parametrize("page", GUIDES)
def test_every_file_they_point_to_is_there(page: str) -> None:
    text = (ROOT / page).read_text("utf-8")
    for target in re.findall(r"\]\((?!https?:)([^)#]+)\)", text):
        assert ((ROOT / page).parent / target).exists(), target


def test_the_readme_is_a_landing_page() -> None:
    assert len((ROOT / "README.md").read_text("utf-8").splitlines()) <= 130
