"""No ticket is misread: each file of the corpus gives the right tickets, or one line with its row."""

from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest
from ticket_corpus import CASES, HOURS, JOBS, PLAIN, RESULTS
from trial_quote import trial_company

from basecalc.core.errors import BasecalcError, InputError, WorkbookError
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


def read(folder: Path, *contents: str | bytes, jobs: tuple[str, ...] = JOBS) -> Records:
    files = []
    for place, content in enumerate(contents):
        files.append(folder / f"list-{place}.csv")
        files[-1].write_bytes(content.encode() if isinstance(content, str) else content)
    return read_records(files, jobs, trial_company())


def us(ticket: Ticket) -> tuple[str, str, float | None, float | None, bool]:
    net = None if ticket.net_kg is None else ticket.net_kg / SHORT_TON_KG
    volume = None if ticket.volume_m3 is None else ticket.volume_m3 / YARD3_M3
    return ticket.job, ticket.code, net, volume, ticket.left_over


def test_the_corpus_is_as_large_as_it_must_be() -> None:
    assert len(REFUSED) >= 15
    assert len(READ) >= 12


@pytest.mark.parametrize("name", READ)
def test_tickets_written_another_way_are_the_same_tickets(name: str, tmp_path: Path) -> None:
    found = read(tmp_path, READ[name].content)
    for ticket, (job, code, net, volume, left) in zip(found.tickets, WANTED, strict=True):
        assert us(ticket) == (
            job, code, None if net is None else pytest.approx(net, abs=1e-6),
            None if volume is None else pytest.approx(volume, abs=1e-9), left,
        )  # fmt: skip


@pytest.mark.parametrize("name", REFUSED)
def test_a_wrong_file_is_refused_in_one_line_with_its_row(name: str, tmp_path: Path) -> None:
    case = REFUSED[name]
    with pytest.raises(BasecalcError) as refused:
        read(tmp_path, case.content)
    line = str(refused.value)
    assert "\n" not in line
    assert case.told in line
    assert line.startswith(str(tmp_path / "list-0.csv"))
    assert (f"row {case.row}: " in line) == bool(case.row)


def test_hours_and_results_are_read_as_written(tmp_path: Path) -> None:
    found = read(tmp_path, HOURS, RESULTS)
    place = f"{tmp_path / 'list-0.csv'}, row "
    assert found.hours == (
        Hours(f"{place}2", "FH-1", "dig", 3.5, 4.0),
        Hours(f"{place}3", "FH-2", "base-place", 2.0, None),
    )
    place = f"{tmp_path / 'list-1.csv'}, row "
    assert found.results == {
        "FH-1": Result(
            f"{place}2", "FH-1", "won", "stone", Decimal("15000.00"), pytest.approx(2 * INCH_M), state="signed"
        ),
        "FH-2": Result(f"{place}3", "FH-2", "open"),
    }


def test_one_file_may_hold_tickets_and_hours(tmp_path: Path) -> None:
    both = "job,material,net ton,work,crew hours\nFH-1,base-stone,12,,\nFH-1,,,dig,2\n"
    found = read(tmp_path, both)
    assert [us(one)[:3] for one in found.tickets] == [("FH-1", "base-stone", pytest.approx(12.0))]
    assert [(one.code, one.crew_h) for one in found.hours] == [("dig", 2.0)]
    assert any("no column of ticket numbers" in note for note in found.notes)


def test_a_single_job_need_not_be_named(tmp_path: Path) -> None:
    found = read(tmp_path, "ticket,material,net lb\n7,sand,8000\n", jobs=("FH-7",))
    assert [us(one)[:3] for one in found.tickets] == [("FH-7", "bedding-sand", pytest.approx(4.0))]


def test_the_owners_own_names_are_materials(tmp_path: Path) -> None:
    found = read(tmp_path, "job,ticket,material,net ton\nFH-1,1,3/4 in crushed base,12\nFH-1,2,base-stone,12\n")
    assert [(one.code, one.material) for one in found.tickets] == [
        ("base-stone", "3/4 in crushed base"),
        ("base-stone", ""),
    ]


def test_a_ticket_in_two_files_is_refused_with_both_places(tmp_path: Path) -> None:
    with pytest.raises(
        InputError, match=r"list-1\.csv, row 2: ticket '401' is listed twice: it is in .*list-0\.csv, row 2"
    ):
        read(tmp_path, PLAIN, PLAIN)


def test_the_same_number_of_two_suppliers_is_two_tickets(tmp_path: Path) -> None:
    rows = "job,ticket,supplier,material,net ton\nFH-1,1,Ninebark,base-stone,12\nFH-1,1,Gorse Bank,base-stone,12\n"
    assert len(read(tmp_path, rows).tickets) == 2


def test_a_file_named_twice_is_read_once(tmp_path: Path) -> None:
    (tmp_path / "list.csv").write_text(PLAIN, "utf-8")
    found = read_records([tmp_path / "list.csv", str(tmp_path / "list.csv")], JOBS, trial_company())
    assert len(found.tickets) == len(WANTED)


def test_a_lost_job_has_no_tickets(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"list-0\.csv, row 2: job FH-1 is marked lost in .*list-1\.csv, row 2"):
        read(tmp_path, PLAIN, RESULTS.replace("won,stone", "lost,stone"))


def test_an_unused_column_is_told(tmp_path: Path) -> None:
    found = read(tmp_path, PLAIN.replace("truck\n", "weather\n"))
    assert any("Not used: the column 'weather'" in note for note in found.notes)


def test_a_missing_file_is_refused() -> None:
    with pytest.raises(WorkbookError, match="there is no such file"):
        read_records(["none.csv"], JOBS, trial_company())


def test_two_stones_of_one_price_code_are_told_apart_by_name_only(tmp_path: Path) -> None:
    company = trial_company()
    other = replace(company.stones[0], name="Ballast")
    (tmp_path / "list.csv").write_text("job,ticket,material,net ton\nFH-1,1,ballast,12\nFH-1,2,stone,12\n", "utf-8")
    found = read_records([tmp_path / "list.csv"], JOBS, replace(company, stones=(*company.stones, other)))
    assert [one.material for one in found.tickets] == ["Ballast", ""]
