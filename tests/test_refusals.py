"""Every refusal reads well: one line, what and where, the value as given, what it must be, and no word of a program's.

To read them all: pytest -s tests/test_refusals.py; those of the price workbook: tests/test_prices_refused.py.
"""

import re
from pathlib import Path

import pytest
from refusals import GATHER, faults

from basecalc.demo import DemoFiles

WHAT_TO_DO = re.compile(
    r"\b(must|needs?|give|write|fill|name|add|mend|fix|list|did you mean|there is no such file|engineer|cannot be|lower"
    r"|areas are|keys here are)\b"
)
TOLD_WHAT_TO_DO = ("worksheet functions", "job keys", "jobs", "library", "writers")
# So many at least, or a table of wrong input has come to nothing.
LEAST = {
    "worksheet functions": 300, "job keys": 700, "jobs": 25, "sheets": 12, "lists": 90, "library": 38, "commands": 65,
    "writers": 14,
}  # fmt: skip


@pytest.mark.parametrize("place", GATHER)
def test_every_refusal_reads_well(place: str, tmp_path: Path, demo: DemoFiles) -> None:
    said = list(GATHER[place](tmp_path, demo))
    print(f"\n## {place}: {len(said)}")
    for one in said:
        print(f"- {one.text}".replace(str(tmp_path), "/folder"))
    assert len(said) >= LEAST[place]
    if place in TOLD_WHAT_TO_DO:
        assert [one.text for one in said if not WHAT_TO_DO.search(one.text)] == []
    assert [(one.case, one.text, wrong) for one in said if (wrong := faults(one))] == []
