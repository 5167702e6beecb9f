"""The suite notices: a formula or a table changed by a little makes a test fail, one change at a time.

Each change is made in a copy of the package, and a named file of tests is run against that copy, as far as its first
failure; in the end those tests pass against the copy unchanged. To add a change, give the file,
the words in it, what they become, and the tests that must notice.
"""

import os
import re
import shutil
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest
from processes import Process

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
def copy(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Path, list[str]]]:
    """Give a copy of the package and its tests, and the tests that failed on it changed, which pass on it unchanged."""
    folder, failed = tmp_path_factory.mktemp("copy"), list[str]()
    shutil.copy(ROOT / "pyproject.toml", folder)
    for part in ("basecalc", "tests"):
        shutil.copytree(ROOT / part, folder / part, ignore=shutil.ignore_patterns("__pycache__"))
    yield folder, failed
    code, out = run(folder, *failed)
    assert code == 0, out


def run(folder: Path, *tests: str) -> tuple[int, str]:
    """Run tests of a copy against its own package, up to the first failure; return the exit code and what is printed."""

    def work() -> None:
        for name, module in list(sys.modules.items()):
            file = Path(getattr(module, "__file__", None) or "/")
            if name.split(".")[0] == "basecalc" or file.parent == ROOT / "tests":
                del sys.modules[name]
        sys.path[:] = [str(folder), *(path for path in sys.path if Path(path) != ROOT / "tests")]
        sys.dont_write_bytecode = True
        os.chdir(folder)
        plain = ("-q", "-x", "-rf", "--tb=no", "-p", "no:cacheprovider", "-p", "no:xdist")
        sys.exit(pytest.main([*plain, *(f"tests/{name}" for name in tests)]))

    code, out, _ = Process(work).ended()
    return code, out[-2000:]


@pytest.mark.parametrize("name", CHANGES)
def test_the_suite_notices(name: str, copy: tuple[Path, list[str]]) -> None:
    (folder, failed), change = copy, CHANGES[name]
    path = folder / "basecalc" / change.file
    right = path.read_text("utf-8")
    assert right.count(change.old) == change.times
    try:
        path.write_text(right.replace(change.old, change.new), "utf-8")
        code, out = run(folder, change.tests)
    finally:
        path.write_text(right, "utf-8")
    assert (code, "1 failed" in out) == (1, True), out  # 1: tests failed; 2 would be a copy that does not even load
    failed += re.findall(r"^FAILED tests/(.+?)(?: - .*)?$", out, re.MULTILINE)
