"""The README and the guides: every command and every piece of Python in them runs as printed, in the order printed."""

import re
import shlex
import shutil
from pathlib import Path

import pytest

from basecalc.cli import main
from basecalc.demo import DemoFiles

ROOT = Path(__file__).parent.parent
GUIDES = ("README.md", "examples/guide-estimator.md", "examples/guide-owner.md", "examples/guide-script.md")
BLOCK = re.compile(r"(?:<!-- (\w+): \w+ -->\n)?```(\w+)\n(.*?)```", re.DOTALL)
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


@pytest.mark.parametrize("page", GUIDES)
def test_every_file_they_point_to_is_there(page: str) -> None:
    text = (ROOT / page).read_text("utf-8")
    for target in re.findall(r"\]\((?!https?:)([^)#]+)\)", text):
        assert ((ROOT / page).parent / target).exists(), target


def test_the_readme_is_a_landing_page() -> None:
    assert len((ROOT / "README.md").read_text("utf-8").splitlines()) <= 130
