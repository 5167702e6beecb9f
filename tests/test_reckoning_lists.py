"""Lists of a season as people keep them: nothing counts twice, a crew's size is not its hours, doubt is not counted.

All through the command line, with the invented season of the examples.
"""

import json
import re
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import pytest
from test_command_line import one_line, run  # noqa: F401 (a fixture)
from test_reckoning_season import SEASON, prices  # noqa: F401 (a fixture)

Run = Callable[..., tuple[int, str, str]]
JOB = SEASON / "jobs" / "LF-2611.toml"
TICKETS, HOURS = ((SEASON / name).read_text("utf-8") for name in ("tickets.csv", "hours.csv"))
HEAD = "date,job,ticket,supplier,material,net ton\n"
LOADS = f"{HEAD}2026-04-29,LF-2611,23955,Ostmoor,base-stone,13.12\n2026-04-29,LF-2611,23976,Ostmoor,base-stone,12.79\n"
RESULTS = (SEASON / "results.csv").read_text("utf-8")


@pytest.fixture
def actuals(run: Run, prices: Path, tmp_path: Path) -> Callable[..., tuple[int, str, str]]:  # noqa: F811
    def call(*lists: str, jobs: Path = SEASON / "jobs", more: Sequence[object] = ()) -> tuple[int, str, str]:
        files = []
        for place, content in enumerate(lists):
            files.append(tmp_path / f"list-{place}.csv")
            files[-1].write_text(content, "utf-8")
        return run("actuals", *files, "--job", jobs, "--prices", prices, *more)

    return call


def season(actuals: Callable[..., tuple[int, str, str]], *lists: str) -> dict[str, Any]:
    code, out, err = actuals(*lists, more=["--json"])
    assert (code, err) == (0, "")
    return json.loads(out)


def suggested(numbers: dict[str, Any], of: str, what: str) -> tuple[float | None, int]:
    (found,) = [one for one in numbers["suggestions"] if (one["of"], one["what"]) == (of, what)]
    return found["suggested"], found["jobs"]


@pytest.mark.parametrize("heading", ["crew size", "crew", "men", "people", "crew (men)", "crew count", "machine"])
def test_how_many_there_were_is_never_taken_for_hours(actuals, heading: str) -> None:
    code, out, err = actuals(f"date,job,work,{heading}\n2026-05-03,LF-2611,paver-lay,3\n")
    assert (code, out) == (2, "")
    assert "no heading names hours; one must say 'crew hours' or 'machine hours'" in one_line(err)


@pytest.mark.parametrize(
    "heading", ["crew hours", "hours", "hrs", "Crew hrs.", "crew h", "crew [h]", "crew time (hours)", "hours worked"]
)
def test_hours_are_read_however_their_heading_says_so(actuals, heading: str) -> None:
    table = f"date,job,work,{heading},crew size\n2026-05-03,LF-2611,paver-lay,5,3\n"
    numbers = season(actuals, table)
    (row,) = [one for one in numbers["jobs"][0]["quantities"] if one["what"].startswith("crew hours: ") and one["used"]]
    assert row["used"] == pytest.approx(5.0)
    assert any("Not used: the column 'crew size'" in note for note in numbers["notes"])


@pytest.mark.parametrize("heading", ["man hours", "labor hours", "man-hrs"])
def test_the_hours_of_each_person_are_not_those_of_the_crew(actuals, heading: str) -> None:
    code, _, err = actuals(f"date,job,work,{heading}\n2026-05-03,LF-2611,paver-lay,15\n")
    assert code == 2
    assert "counts the hours of each person; it must be crew hours" in one_line(err)


def test_a_season_whose_hours_are_crew_sizes_suggests_no_rate(actuals) -> None:
    head, *rows = (row.split(",") for row in HOURS.splitlines())
    spoilt = [[*head[:3], "crew size", head[4]], *([*row[:3], "3", row[4]] for row in rows if row[4])]
    numbers = season(actuals, TICKETS, "".join(f"{','.join(row)}\n" for row in spoilt))
    assert [one for one in numbers["suggestions"] if one["what"] == "per machine hour" and one["suggested"]]
    assert not [one for one in numbers["suggestions"] if one["what"] == "per crew hour"]


AGAIN = {
    "noughts before it": (LOADS, LOADS.replace("2395", "002395").replace("2397", "002397")),
    "a spreadsheet's number": (LOADS, LOADS.replace("23955", "23955.0")),
    "a word before it": (LOADS, LOADS.replace("23955", "No. 23955")),
    "the supplier left out": (LOADS, LOADS.replace("Ostmoor", "")),
    "the supplier's whole name": (LOADS, LOADS.replace("Ostmoor", "Ostmoor Quarry")),
    "no column of suppliers": (LOADS, LOADS.replace(",supplier", "").replace(",Ostmoor", "")),
    "another name of the supplier, all else alike": (LOADS, LOADS.replace("Ostmoor", "OQ Stone")),
    "in one list": (LOADS + "2026-04-29,LF-2611,023955,,base-stone,13.12\n",),
}


@pytest.mark.parametrize("name", AGAIN)
def test_the_same_load_under_another_spelling_is_refused_with_both_places(actuals, name: str) -> None:
    code, out, err = actuals(*AGAIN[name])
    assert (code, out) == (2, "")
    line = one_line(err)
    assert "is listed twice: it is" in line
    assert len(re.findall(r"list-\d\.csv, row \d", line)) == 2
    assert "where it is another load, add a letter to its number" in line


APART = {
    "another supplier": LOADS.replace("Ostmoor", "Gorse Bank").replace("04-29", "04-30"),
    "another supplier, another weight": LOADS.replace("Ostmoor", "Gorse Bank").replace("13.12", "11.9").replace(
        "12.79", "13.4"
    ),
    "no supplier, another day": LOADS.replace("Ostmoor", "").replace("04-29", "05-08"),
    "a letter behind the number": LOADS.replace("23955", "23955-b").replace("23976", "23976-b"),
}  # fmt: skip


@pytest.mark.parametrize("name", APART)
def test_loads_that_are_not_the_same_are_all_counted(actuals, name: str) -> None:
    numbers = season(actuals, LOADS, APART[name])
    (row,) = [one for one in numbers["jobs"][0]["quantities"] if one["what"] == "loads of base stone"]
    assert row["used"] == 4


@pytest.mark.parametrize(
    ("content", "row"),
    [
        (LOADS + ",LF-2611,Total,,base-stone,25.91\n", 4), (LOADS + "Total,LF-2611,23999,,base-stone,25.91\n", 4),
        (LOADS + ",TOTAL:,,,,25.91\n", 4), (LOADS + "2026-04-29,LF-2611,Sum,,base-stone,25.91\n", 4),
        ("date,job,work,crew hours\n2026-05-03,LF-2611,dig,3\n,LF-2611,Total,3\n", 3),
        ("date,job,work,crew hours\n2026-05-03,LF-2611,dig,3\nGrand total,LF-2611,dig,3\n", 3),
    ],
    ids=["ticket", "day", "job", "sum", "work", "grand"],
)  # fmt: skip
def test_a_row_of_totals_is_named_and_never_a_load(actuals, content: str, row: int) -> None:
    code, out, err = actuals(content)
    assert (code, out) == (2, "")
    assert f"row {row}: this row is a total of others; leave it out" in one_line(err)


def test_a_supplier_may_be_called_total(actuals) -> None:
    assert actuals(LOADS.replace("Ostmoor", "Total Stone"))[0] == 0


WAYS = {
    "a mark for Excel": "sep=;\n" + LOADS.replace(",", ";"),
    "a mark in quotes": '"sep=;"\n' + LOADS.replace(",", ";"),
    "a mark of tabs": "sep=\t\n" + LOADS.replace(",", "\t"),
    "a title": "Loads of May\n" + LOADS,
    "a title with empty cells": "Loads of May,,,,,\n\n" + LOADS,
    "two titles and a mark": "sep=,\nLoads of May\nall of Ostmoor\n" + LOADS,
}


@pytest.mark.parametrize("name", WAYS)
def test_a_title_or_a_mark_above_the_headings_changes_nothing(actuals, name: str) -> None:
    told, plain = season(actuals, WAYS[name]), season(actuals, LOADS)
    assert told == plain


def test_hours_entered_twice_are_asked_about_and_count_for_no_rate(actuals) -> None:
    twice = HOURS + "".join(f"{line}\n" for line in HOURS.splitlines() if ",LF-2611," in line)
    numbers = season(actuals, TICKETS, twice, RESULTS)
    assert any(
        re.search(r"list-1\.csv, row \d+ has the hours of .*list-1\.csv, row 2 once more: entered twice\?", doubt)
        for doubt in numbers["jobs"][0]["doubts"]
    )
    sound = season(actuals, TICKETS, HOURS, RESULTS)
    others = "".join(f"{line}\n" for line in HOURS.splitlines() if ",LF-2611," not in line)
    without = season(actuals, TICKETS, others, RESULTS)
    assert suggested(sound, "base-place", "per crew hour")[1] == 10
    assert suggested(numbers, "base-place", "per crew hour") == suggested(without, "base-place", "per crew hour")


def test_two_shifts_alike_are_right_where_a_comment_says_so(actuals) -> None:
    head, *rows = HOURS.splitlines()
    lines = [f"{head},comment", *(f"{row}," for row in rows)]
    said = [*lines, *(f"{row},second shift" for row in rows if ",LF-2611," in row)]
    numbers = season(actuals, TICKETS, "\n".join(said) + "\n")
    assert numbers["jobs"][0]["doubts"] == []


def doubled(tickets: str) -> str:
    """Return the tickets with the stone of one job once more under numbers of its own."""
    rows = [line for line in tickets.splitlines() if ",LF-2613," in line and "crushed base" in line]
    return tickets + "".join(re.sub(r"(,LF-2613,\d+)", r"\1-b", row) + "\n" for row in rows)


def test_a_job_in_doubt_counts_for_no_factor_until_it_is_cleared(actuals) -> None:
    stone = ("crushed base, 3/4 in minus", "compaction factor")
    sound, spoilt = (season(actuals, one, RESULTS) for one in (TICKETS, doubled(TICKETS)))
    job = next(one for one in spoilt["jobs"] if one["number"] == "LF-2613")
    assert any("of the estimate: are tickets missing or entered twice?" in doubt for doubt in job["doubts"])
    assert any("until the list of results says 'yes' for it under 'checked'" in note for note in job["notes"])
    assert any("Left out of every suggestion, for they are in doubt: 1 job (LF-2613)" in n for n in spoilt["notes"])
    without = season(actuals, "".join(f"{li}\n" for li in TICKETS.splitlines() if ",LF-2613," not in li), RESULTS)
    assert suggested(spoilt, *stone) == suggested(without, *stone)
    assert suggested(spoilt, *stone)[1] == suggested(sound, *stone)[1] - 1
    head, *rows = RESULTS.splitlines()
    cleared = "\n".join([f"{head},checked", *(f"{row},{'yes' if 'LF-2613' in row else ''}" for row in rows)]) + "\n"
    counted = season(actuals, doubled(TICKETS), cleared)
    assert suggested(counted, *stone)[1] == suggested(sound, *stone)[1]
    assert suggested(counted, *stone)[0] > suggested(sound, *stone)[0] * 1.05
    job = next(one for one in counted["jobs"] if one["number"] == "LF-2613")
    assert job["doubts"] == []
    assert any("Checked, and right" in note for note in job["notes"])


def test_a_load_that_no_truck_carries_is_named_with_the_truck(actuals) -> None:
    pounds = "job,ticket,material,net kg\nLF-2611,23955,base-stone,26200\n"
    code, out, err = actuals(pounds)
    assert (code, out) == (2, "")
    line = one_line(err)
    assert "row 2: the load is 28.9 ton (26,200 kg), and your largest truck on Company carries 14.0 ton" in line
    assert "is the unit right?" in line
    assert actuals(pounds.replace("net kg", "net lb"))[0] == 0
    assert actuals(pounds.replace("26200", "26200 kg"))[0] == 0  # said once more in the row: another truck's
    assert actuals(pounds.replace("26200", "14500"))[0] == 0  # a truck somewhat fuller than its payload
