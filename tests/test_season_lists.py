"""Lists of a season as people keep them: each file gives the right records, or one line with its row.

Nothing counts twice, a crew's size is not its hours, and what is in doubt counts for no factor.
"""

import json
import re
from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from test_command_line import one_line, run  # noqa: F401 (a fixture)
from test_season import LISTS, SEASON, prices  # noqa: F401 (a fixture)
from ticket_corpus import CASES, HEAD, HOURS, JOBS, LOADS, PLAIN, RESULTS
from trial_quote import trial_company

from basecalc import BasecalcError
from basecalc.core.units import INCH_M, SHORT_TON_KG, YARD3_M3
from basecalc.season.lists import Hours, Records, Result, Ticket, read_records

REFUSED = {name: case for name, case in CASES.items() if case.told}
READ = {name: case for name, case in CASES.items() if not case.told}
WANTED = (
    ("FH-1", "base-stone", 13.0, 8.8, False),
    ("FH-1", "base-stone", 12.5, 8.4, False),
    ("FH-2", "bedding-sand", 4.25, None, False),
    ("FH-2", "spoil-haul", None, None, False),
    ("FH-1", "base-stone", 1.5, None, True),
)


@pytest.fixture
def read(tmp_path: Path) -> Callable[..., Records]:
    def reader(*contents: str | bytes, jobs: tuple[str, ...] = JOBS) -> Records:
        files = []
        for place, content in enumerate(contents):
            files.append(tmp_path / f"list-{place}.csv")
            files[-1].write_bytes(content.encode() if isinstance(content, str) else content)
        return read_records([*files, str(files[0])], jobs, trial_company())  # a file named twice is read once

    return reader


def us(ticket: Ticket) -> tuple[str, str, float | None, float | None, bool]:
    net = None if ticket.net_kg is None else ticket.net_kg / SHORT_TON_KG
    volume = None if ticket.volume_m3 is None else ticket.volume_m3 / YARD3_M3
    return ticket.job, ticket.code, net, volume, ticket.left_over


@pytest.mark.parametrize("name", READ)
def test_tickets_written_another_way_are_the_same_tickets(read, name: str) -> None:
    for ticket, wanted in zip(read(READ[name].content).tickets, WANTED, strict=True):
        assert us(ticket) == tuple(pytest.approx(one, abs=1e-6) if isinstance(one, float) else one for one in wanted)


@pytest.mark.parametrize("name", REFUSED)
def test_a_wrong_file_is_refused_in_one_line_with_its_row(read, name: str, tmp_path: Path) -> None:
    case = REFUSED[name]
    with pytest.raises(BasecalcError) as refused:
        read(case.content)
    line = str(refused.value)
    assert "\n" not in line
    assert case.told in line
    assert line.startswith(str(tmp_path / "list-0.csv"))
    assert (f"row {case.row}: " in line) == bool(case.row)


def test_hours_and_results_are_read_as_written(read, tmp_path: Path) -> None:
    found = read(HOURS, RESULTS)
    place = f"{tmp_path / 'list-0.csv'}, row "
    assert found.hours == (
        Hours(f"{place}2", "FH-1", "dig", 3.5, 4.0), Hours(f"{place}3", "FH-2", "base-place", 2.0, None),
    )  # fmt: skip
    place = f"{tmp_path / 'list-1.csv'}, row "
    deeper = pytest.approx(2 * INCH_M)
    assert found.results == {
        "FH-1": Result(f"{place}2", "FH-1", "won", "stone", Decimal("15000.00"), deeper, state="signed"),
        "FH-2": Result(f"{place}3", "FH-2", "open"),
    }


def test_one_file_may_hold_tickets_and_hours_and_a_single_job_need_not_be_named(read) -> None:
    both = read("job,material,net ton,work,crew hours\nFH-1,base-stone,12,,\nFH-1,,,dig,2\n")
    assert [us(one)[:3] for one in both.tickets] == [("FH-1", "base-stone", pytest.approx(12.0))]
    assert [(one.code, one.crew_h) for one in both.hours] == [("dig", 2.0)]
    assert any("no column of ticket numbers" in note for note in both.notes)
    one = read("ticket,material,net lb,weather\n7,sand,8000,fair\n", jobs=("FH-7",))
    assert [us(one)[:3] for one in one.tickets] == [("FH-7", "bedding-sand", pytest.approx(4.0))]
    assert any("Not used: the column 'weather'" in note for note in one.notes)


def test_the_owners_own_names_are_materials_and_tell_stones_of_one_code_apart(tmp_path: Path) -> None:
    company = trial_company()
    other = replace(company.stones[0], name="Ballast")
    (tmp_path / "list.csv").write_text(
        "job,ticket,material,net ton\nFH-1,1,ballast,12\nFH-1,2,stone,12\nFH-1,3,3/4 in crushed base,12\n", "utf-8"
    )
    found = read_records([tmp_path / "list.csv"], JOBS, replace(company, stones=(*company.stones, other)))
    named = [("base-stone", "Ballast"), ("base-stone", ""), ("base-stone", "3/4 in crushed base")]
    assert [(one.code, one.material) for one in found.tickets] == named


@pytest.mark.parametrize(
    "heading", ["crew hours", "hours", "hrs", "Crew hrs.", "crew h", "crew [h]", "crew time (hours)", "hours worked"]
)
def test_hours_are_read_however_their_heading_says_so(read, heading: str) -> None:
    found = read(f"date,job,work,{heading},crew size\n2026-05-03,FH-1,paver-lay,5,3\n")
    assert [one.crew_h for one in found.hours] == [5.0]
    assert any("Not used: the column 'crew size'" in note for note in found.notes)


AGAIN = {
    "the very same": LOADS,
    "noughts before it": LOADS.replace("2395", "002395").replace("2397", "002397"),
    "a spreadsheet's number": LOADS.replace("23955", "23955.0"),
    "a word before it": LOADS.replace("23955", "No. 23955"),
    "the supplier left out": LOADS.replace("Ostmoor", ""),
    "the supplier's whole name": LOADS.replace("Ostmoor", "Ostmoor Quarry"),
    "no column of suppliers": LOADS.replace(",supplier", "").replace(",Ostmoor", ""),
    "another name of the supplier, all else alike": LOADS.replace("Ostmoor", "OQ Stone"),
}
APART = {
    "another supplier": LOADS.replace("Ostmoor", "Gorse Bank").replace("04-29", "04-30"),
    "another supplier, another weight": LOADS.replace("Ostmoor", "Gorse Bank").replace("13.12", "11.9").replace(
        "12.79", "13.4"
    ),
    "no supplier, another day": LOADS.replace("Ostmoor", "").replace("04-29", "05-08"),
    "a letter behind the number": LOADS.replace("23955", "23955-b").replace("23976", "23976-b"),
    "a supplier called total": LOADS.replace("Ostmoor", "Total Stone").replace("04-29", "04-30"),
}  # fmt: skip


@pytest.mark.parametrize("again", AGAIN.values(), ids=AGAIN)
def test_the_same_load_under_another_spelling_is_refused_with_both_places(read, again: str) -> None:
    with pytest.raises(BasecalcError, match="where it is another load, add a letter to its number") as refused:
        read(LOADS, again)
    line = str(refused.value)
    assert "is listed twice: it is" in line
    assert len(re.findall(r"list-\d\.csv, row \d", line)) == 2


@pytest.mark.parametrize("other", APART.values(), ids=APART)
def test_loads_that_are_not_the_same_are_all_counted(read, other: str) -> None:
    assert len(read(LOADS, other).tickets) == 4


@pytest.mark.parametrize(
    "content",
    [
        "sep=;\n" + LOADS.replace(",", ";"), '"sep=;"\n' + LOADS.replace(",", ";"),
        "sep=\t\n" + LOADS.replace(",", "\t"), "Loads of May\n" + LOADS, "Loads of May,,,,,\n\n" + LOADS,
        "sep=,\nLoads of May\nall of Ostmoor\n" + LOADS,
    ],
    ids=["a mark", "a quoted mark", "a mark of tabs", "a title", "a title with empty cells", "titles and a mark"],
)  # fmt: skip
def test_a_title_or_a_mark_above_the_headings_changes_nothing(read, content: str) -> None:
    assert [us(one) for one in read(content).tickets] == [us(one) for one in read(LOADS).tickets]


def test_a_lost_job_has_no_tickets_and_a_missing_file_is_refused(read) -> None:
    with pytest.raises(BasecalcError, match=r"list-0\.csv, row 2: job FH-1 is marked lost in .*list-1\.csv, row 2"):
        read(PLAIN, RESULTS.replace("won,stone", "lost,stone"))
    with pytest.raises(BasecalcError, match="there is no such file"):
        read_records(["none.csv"], JOBS, trial_company())


def test_a_load_that_no_truck_carries_is_named_with_the_truck(read) -> None:
    pounds = "job,ticket,material,net kg\nFH-1,23955,base-stone,26200\n"
    carries = r"row 2: the load is 28\.9 ton \(26,200 kg\), and your largest truck on Company carries 14\.0 ton"
    with pytest.raises(BasecalcError, match=rf"{carries}.* is the unit right\?"):
        read(pounds)
    for said in ("net lb", "26200 kg", "14500"):  # the last a truck somewhat fuller than its payload
        old = {"net lb": "net kg"}.get(said, "26200")
        assert read(pounds.replace(old, said)).tickets  # said once more in the row: another truck's


# --- what is in doubt, through the command line

Actuals = Callable[..., dict[str, Any]]
OWN = {name.removesuffix(".csv"): (SEASON / name).read_text("utf-8") for name in LISTS}


@pytest.fixture
def actuals(run, prices: Path, tmp_path: Path) -> Actuals:  # noqa: F811
    def call(*lists: str) -> dict[str, Any]:
        files = [tmp_path / f"list-{place}.csv" for place, _ in enumerate(lists)]
        for file, content in zip(files, lists, strict=True):
            file.write_text(content, "utf-8")
        code, out, err = run("actuals", *files, "--job", SEASON / "jobs", "--prices", prices, "--json")
        assert (code, err) == (0, "")
        return json.loads(out)

    return call


def without(text: str, number: str) -> str:
    return "".join(f"{line}\n" for line in text.splitlines() if number not in line)


def suggested(numbers: dict[str, Any], of: str, what: str) -> tuple[float | None, int]:
    (found,) = [one for one in numbers["suggestions"] if (one["of"], one["what"]) == (of, what)]
    return found["suggested"], found["jobs"]


def test_hours_that_are_crew_sizes_or_entered_twice_count_for_no_rate(actuals: Actuals) -> None:
    head, *rows = (row.split(",") for row in OWN["hours"].splitlines())
    spoilt = [[*head[:3], "crew size", head[4]], *([*row[:3], "3", row[4]] for row in rows if row[4])]
    numbers = actuals(OWN["tickets"], "".join(f"{','.join(row)}\n" for row in spoilt))
    assert [one for one in numbers["suggestions"] if one["what"] == "per machine hour" and one["suggested"]]
    assert not [one for one in numbers["suggestions"] if one["what"] == "per crew hour"]
    mine = [line for line in OWN["hours"].splitlines() if ",LF-2611," in line]
    twice = actuals(OWN["tickets"], OWN["hours"] + "".join(f"{line}\n" for line in mine), OWN["results"])
    assert any(
        re.search(r"list-1\.csv, row \d+ has the hours of .*list-1\.csv, row 2 once more: entered twice\?", doubt)
        for doubt in twice["jobs"][0]["doubts"]
    )
    rate = ("base-place", "per crew hour")
    others = actuals(OWN["tickets"], without(OWN["hours"], ",LF-2611,"), OWN["results"])
    assert suggested(twice, *rate) == suggested(others, *rate)
    assert suggested(actuals(*OWN.values()), *rate)[1] == 10
    lines = [f"{','.join(head)},comment", *(f"{','.join(row)}," for row in rows)]
    right = actuals(OWN["tickets"], "\n".join([*lines, *(f"{line},second shift" for line in mine)]) + "\n")
    assert right["jobs"][0]["doubts"] == []


def test_a_job_in_doubt_counts_for_no_factor_until_it_is_cleared(actuals: Actuals) -> None:
    """The stone of one job is listed once more, under numbers of its own."""
    stone = ("crushed base, 3/4 in minus", "compaction factor")
    rows = [line for line in OWN["tickets"].splitlines() if ",LF-2613," in line and "crushed base" in line]
    doubled = OWN["tickets"] + "".join(re.sub(r"(,LF-2613,\d+)", r"\1-b", row) + "\n" for row in rows)
    sound, spoilt = (actuals(one, OWN["results"]) for one in (OWN["tickets"], doubled))
    job = next(one for one in spoilt["jobs"] if one["number"] == "LF-2613")
    assert any("of the estimate: are tickets missing or entered twice?" in doubt for doubt in job["doubts"])
    assert any("until the list of results says 'yes' for it under 'checked'" in note for note in job["notes"])
    assert any("Left out of every suggestion, for they are in doubt: 1 job (LF-2613)" in n for n in spoilt["notes"])
    others = actuals(without(OWN["tickets"], ",LF-2613,"), OWN["results"])
    assert suggested(spoilt, *stone) == suggested(others, *stone)
    assert suggested(spoilt, *stone)[1] == suggested(sound, *stone)[1] - 1
    head, *lines = OWN["results"].splitlines()
    cleared = "\n".join([f"{head},checked", *(f"{row},{'yes' if 'LF-2613' in row else ''}" for row in lines)]) + "\n"
    counted = actuals(doubled, cleared)
    assert suggested(counted, *stone)[1] == suggested(sound, *stone)[1]
    assert suggested(counted, *stone)[0] > suggested(sound, *stone)[0] * 1.05
    job = next(one for one in counted["jobs"] if one["number"] == "LF-2613")
    assert job["doubts"] == []
    assert any("Checked, and right" in note for note in job["notes"])


def test_a_bad_ticket_is_one_line_and_nothing_is_written(run, prices: Path, tmp_path: Path) -> None:  # noqa: F811
    (tmp_path / "tickets.csv").write_text(f"{HEAD}{LOADS.splitlines()[1]}\n{LOADS.splitlines()[1]}\n", "utf-8")
    given = (tmp_path / "tickets.csv", "--job", SEASON / "jobs" / "LF-2611.toml", "--prices", prices)
    code, out, err = run("actuals", *given, "--out", tmp_path / "season.xlsx")
    assert (code, out) == (2, "")
    assert "job is 'FH-1'; it must be one of: LF-2611" in one_line(err)
    assert not (tmp_path / "season.xlsx").exists()
