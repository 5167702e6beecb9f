"""Every refusal reads well: one line, what and where, the value as given, what it must be, and no word of a program's.

To read them all: pytest -s tests/test_refusals.py
"""

import re
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest
from refusals import GATHER, Refusal

from basecalc.core.numbers import quoted

PROGRAMS_WORDS = re.compile(
    r"\b(None|NoneType|str|int|float|bool|dict|tuple|Decimal|datetime|NaN|nan|Traceback|\w+Error|Exception)\b|<\w+"
)

WHAT_TO_DO = re.compile(
    r"\b(must|needs?|give|write|fill|name|add|mend|fix|list|did you mean|there is no such file|engineer|cannot be|lower"
    r"|areas are|keys here are)\b"
)
TOLD_WHAT_TO_DO = ("worksheet functions", "job keys", "jobs", "library", "writers")
# So many at least, or a table of wrong input has come to nothing.
LEAST = {
    "worksheet functions": 300, "prices": 40, "job keys": 700, "jobs": 25,
    "sheets": 12, "lists": 90, "library": 38, "commands": 65, "writers": 12,
}  # fmt: skip


def faults(one: Refusal) -> list[str]:
    found = []
    if not one.text.strip():
        return ["nothing was refused"]
    if "\n" in one.text or one.text != one.text.strip():
        found.append("more than one line")
    if "  " in one.text:
        found.append("two spaces")
    if word := PROGRAMS_WORDS.search(re.sub(r"'[^']*'", "", one.text)):  # what was given is shown as it was given
        found.append(f"a program's word: {word[0]}")
    if missing := [word for word in one.where if word not in one.text]:
        found.append(f"does not say {missing}")
    if one.given is not None and given_words(one.given) not in one.text:
        found.append(f"does not show {one.given!r} as it was given")
    return found


def given_words(value: Any) -> str:
    """Return a value as a sentence has to show it."""
    return f"{value:%Y-%m-%d}" if isinstance(value, datetime) else quoted(value).strip("'")


@pytest.mark.parametrize("place", GATHER)
def test_every_refusal_reads_well(place: str, tmp_path: Path) -> None:
    said = list(GATHER[place](tmp_path))
    print(f"\n## {place}: {len(said)}")
    for one in said:
        print(f"- {one.text}".replace(str(tmp_path), "/folder"))
    assert len(said) >= LEAST[place]
    if place in TOLD_WHAT_TO_DO:
        assert [one.text for one in said if not WHAT_TO_DO.search(one.text)] == []
    assert [(one.case, one.text, wrong) for one in said if (wrong := faults(one))] == []
