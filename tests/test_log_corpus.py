"""No log is misread: each file of the corpus gives the right drop, or one line with its row."""

from pathlib import Path

import pytest
from log_corpus import CASES, MANY, READINGS

from basecalc import BasecalcError, WorkbookError
from basecalc.ground.cone_log import ConeLog
from basecalc.ground.cone_log_file import read_cone_log

REFUSED = {name: case for name, case in CASES.items() if case.told}
READ = {name: case for name, case in CASES.items() if not case.told}


def written(folder: Path, content: bytes) -> Path:
    file = folder / "gate.csv"
    file.write_bytes(content)
    return file


def steps_mm(log: ConeLog, drop: int = 0) -> list[tuple[int, float, float]]:
    return [
        (step.blows, round(step.top_m * 1000, 6), round(step.bottom_m * 1000 * step.hammer_factor, 6))
        for step in log.drops[drop].steps
    ]


PLAIN_STEPS = [
    (blows, before, float(depth)) for (blows, depth), (_, before) in zip(READINGS[1:], READINGS, strict=False)
]


def test_the_corpus_is_as_large_as_it_must_be() -> None:
    assert len(REFUSED) >= 25
    assert len(READ) >= 25


@pytest.mark.parametrize("name", READ)
def test_a_log_written_another_way_is_the_same_log(name: str, tmp_path: Path) -> None:
    log = read_cone_log(written(tmp_path, READ[name].content), **READ[name].given)
    assert len(log.drops) == 1
    found = steps_mm(log)
    assert [(blows, bottom) for blows, _, bottom in found] == [
        (blows, pytest.approx(bottom, abs=1e-5)) for blows, _, bottom in PLAIN_STEPS
    ]


@pytest.mark.parametrize("name", REFUSED)
def test_a_wrong_log_is_refused_in_one_line_with_its_row(name: str, tmp_path: Path) -> None:
    case = REFUSED[name]
    file = written(tmp_path, case.content)
    with pytest.raises(BasecalcError) as refused:
        read_cone_log(file, **case.given)
    line = str(refused.value)
    assert "\n" not in line
    assert case.told in line
    assert line.startswith(str(file)) or name == "an unknown unit"  # which is the caller's, not the file's
    assert (f", row {case.row}: " in line) == bool(case.row)
    assert case.row or ", row " not in line


def test_a_hundred_thousand_rows_of_many_drops_are_read_right(tmp_path: Path) -> None:
    log = read_cone_log(written(tmp_path, MANY.content))
    assert len(log.drops) == 100_000 // len(READINGS) + 1
    assert steps_mm(log, 0) == steps_mm(log, len(log.drops) - 1) == PLAIN_STEPS
    assert log.drops[-1].steps[-1].row == MANY.content.count(b"\n")


def test_a_missing_file_a_folder_and_a_huge_one_are_refused(tmp_path: Path) -> None:
    with pytest.raises(WorkbookError, match="there is no such file"):
        read_cone_log(tmp_path / "none.csv")
    with pytest.raises(WorkbookError, match="this is a folder"):
        read_cone_log(tmp_path)
    with pytest.raises(WorkbookError, match="at most 20 MB"):
        read_cone_log(written(tmp_path, b"0" * 20_000_001))
    with pytest.raises(WorkbookError, match="cannot be read"):
        read_cone_log("a\0b.csv")
