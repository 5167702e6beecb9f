"""The suite notices: a formula or a table changed by a little makes a test fail, one change at a time.

Each change is made in a copy of the package, and a named file of tests is run against that copy, as far as its first
failure. The same files pass against the copy unchanged. It takes about half a minute. To add a change, give the file,
the words in it, what they become, and the tests that must notice.
"""

import os
import shutil
import subprocess
import sys
from dataclasses import dataclass
from importlib.util import cache_from_source
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent


@dataclass(frozen=True, slots=True)
class Change:
    """What is changed in which file, and the tests that must fail then."""

    file: str
    old: str
    new: str
    tests: str
    times: int = 1


CHANGES = {
    "a constant of the platform equation": Change("design/platform.py", "(0.868 +", "(0.898 +", "test_depth.py"),
    "the bearing factor without reinforcement": Change(
        "data/bearing_factors.toml", "factor = 3.14", "factor = 3.41", "test_depth.py"),
    "the modulus of the ground": Change(
        "design/structural.py", "2555 * cbr", "2255 * cbr", "test_depth.py"),
    "the least base below a driveway": Change(
        "data/least_bases.toml", 'use = "residential driveway"\nbase = 6', 'use = "residential driveway"\nbase = 5',
        "test_design_settings.py"),
    "the boundary of a class": Change("data/cbr_classes.toml", "= 0.8\n", "= 0.9\n", "test_classes.py", times=2),
    "how much clay swells": Change("data/swell.toml", "swell = 1.43", "swell = 1.34", "test_takeoff_quantities.py"),
    "the corners of an extended edge": Change(
        "takeoff/model.py", '"area", "open*reach + corner*reach*reach"', '"area", "open*reach"', "test_takeoff_quantities.py"),
    "the compaction factor": Change(
        "takeoff/model.py", "stone*stone_factor*stone_density", "stone/stone_factor*stone_density",
        "test_takeoff_quantities.py"),
    "loads not rounded up": Change(
        "takeoff/model.py", 'f"up({key}_trucks)"', 'f"{key}_trucks"', "test_takeoff_quantities.py"),
    "a line rounded down": Change(
        "core/numbers.py", "Decimal(1).scaleb(-places), ROUND_HALF_UP", 'Decimal(1).scaleb(-places), "ROUND_DOWN"',
        "test_paper_job.py"),
    "profit on cost instead of on the price": Change(
        "takeoff/model.py", "before*profit_share/(1 - profit_share)", "before*profit_share", "test_paper_job.py"),
    "overhead without the contingency": Change(
        "takeoff/model.py", "(cost + contingency)*overhead_share", "cost*overhead_share", "test_paper_job.py"),
    "a line charged as it is, marked up": Change(
        "takeoff/model.py", "(0 if as_price else line)", "line", "test_extra_lines.py"),
}  # fmt: skip


@pytest.fixture(scope="module")
def copy(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a copy of the package and its tests, on which every test named above passes."""
    folder = tmp_path_factory.mktemp("copy")
    shutil.copy(ROOT / "pyproject.toml", folder)
    for part in ("basecalc", "tests"):
        shutil.copytree(ROOT / part, folder / part, ignore=shutil.ignore_patterns("__pycache__"))
    done = run(folder, *{change.tests for change in CHANGES.values()})
    assert done.returncode == 0, done.stdout[-2000:]
    return folder


def run(folder: Path, *tests: str) -> subprocess.CompletedProcess[str]:
    """Run tests of a copy against its own package, up to the first failure."""
    return subprocess.run(
        [sys.executable, "-m", "pytest", "-q", "-x", "--tb=no", "-p", "no:cacheprovider",
         *(f"tests/{name}" for name in sorted(tests))],
        cwd=folder, env={**os.environ, "PYTHONPATH": str(folder)}, capture_output=True, text=True, check=False,
    )  # fmt: skip


@pytest.mark.parametrize("name", CHANGES)
def test_the_suite_notices(name: str, copy: Path) -> None:
    change = CHANGES[name]
    path = copy / "basecalc" / change.file
    right = path.read_text("utf-8")
    assert right.count(change.old) == change.times
    try:
        _write(path, right.replace(change.old, change.new))
        done = run(copy, change.tests)
    finally:
        _write(path, right)
    assert done.returncode == 1, done.stdout[-2000:]  # 1: tests failed; 2 would be a copy that does not even load
    assert "1 failed" in done.stdout


def _write(path: Path, text: str) -> None:
    path.write_text(text, "utf-8")
    Path(cache_from_source(str(path))).unlink(missing_ok=True)  # two writes within a second would look like one
