"""A quote number is one client's, a changed job is seen, and nothing is written twice that says the same."""

import json
import re
from datetime import date, timedelta
from pathlib import Path

import pytest
from openpyxl import load_workbook
from test_command_line import demo, one_line, run  # noqa: F401 (fixtures)

from basecalc.demo import DemoFiles


@pytest.fixture
def job(demo: DemoFiles, tmp_path: Path) -> Path:  # noqa: F811
    path = tmp_path / "mine.toml"
    path.write_bytes(demo.jobs[0].read_bytes())
    return path


def said(job: Path, key: str, value: str) -> Path:
    """Write the job anew with another value for a key of its first table."""
    text, count = re.subn(rf"(?m)^{key} = .*$", f"{key} = {value}", job.read_text("utf-8"), count=1)
    assert count == 1
    other = job.with_name(f"other-{key}.toml")
    other.write_text(text, "utf-8")
    return other


def names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


def dear(prices: Path, to: Path) -> Path:
    """Return a copy of the prices with everything twice as dear."""
    book = load_workbook(prices)
    sheet = book["Prices"]
    for row in range(6, 40):
        if isinstance(sheet.cell(row, 4).value, int | float):
            sheet.cell(row, 4).value *= 2
    book.save(to)
    return to


def test_a_second_run_with_nothing_changed_says_so_and_writes_nothing(run, demo, job, tmp_path) -> None:  # noqa: F811
    quote = ("quote", job, "--prices", demo.prices, "--out", tmp_path / "q")
    assert run(*quote)[0] == 0
    before = {path: path.read_bytes() for path in (tmp_path / "q").iterdir()}
    code, out, err = run(*quote)
    assert (code, err) == (0, "")
    assert "no change: LF-2601-r1 holds, and no new revision was written" in out
    (numbers,) = json.loads(run(*quote, "--json")[1])
    assert (numbers["revision"], numbers["unchanged"]) == (1, True)
    assert numbers["client_file"] == str(tmp_path / "q" / "LF-2601-r1-quote.xlsx")
    assert {path: path.read_bytes() for path in (tmp_path / "q").iterdir()} == before
    assert json.loads(run(*quote, "--json", "--again")[1])[0]["revision"] == 2


@pytest.mark.parametrize("what", ["the job", "the prices"])
def test_a_job_or_a_price_that_changed_gives_a_new_revision_and_only_new_says_so(
    run, demo, job, tmp_path, what: str  # noqa: F811
) -> None:  # fmt: skip
    quote = ("quote", job, "--out", tmp_path / "q", "--prices")
    (old,) = json.loads(run(*quote, demo.prices, "--json")[1])
    prices = demo.prices
    if what == "the job":
        job.write_text(re.sub(r"(?m)^length = .*$", "length = 75", job.read_text("utf-8"), count=1), "utf-8")
    else:
        prices = dear(demo.prices, tmp_path / "dear.xlsx")
    code, out, err = run(*quote, prices, "--only-new")
    assert (code, names(tmp_path / "q")) == (0, [f"LF-2601-r1-{kind}.xlsx" for kind in ("crew", "office", "quote")])
    assert "left out, its quote is there already" in out
    line = one_line(err)
    assert f"{what} changed since LF-2601-r1 was quoted (${float(old['total']):,.2f} then, $" in line
    assert "Quote it without --only-new for a new revision" in line
    (left,) = json.loads(run(*quote, prices, "--only-new", "--json")[1])
    assert left["notes"] == [line.removeprefix("basecalc: ")]
    (new,) = json.loads(run(*quote, prices, "--json")[1])
    assert (new["revision"], new["unchanged"]) == (2, False)
    assert f"{float(new['total']):,.2f} now" in line
    assert run(*quote, prices, "--only-new")[2] == ""


def test_only_new_says_where_it_cannot_see_whether_a_job_changed(run, demo, job, tmp_path) -> None:  # noqa: F811
    quote = ("quote", job, "--prices", demo.prices, "--out", tmp_path / "q")
    run(*quote)
    (tmp_path / "q" / "LF-2601-r1-office.xlsx").unlink()
    code, _, err = run(*quote, "--only-new")
    assert code == 0
    assert "whether LF-2601-r1 is still what the job comes to cannot be seen" in one_line(err)


@pytest.mark.parametrize(("key", "value"), [("client", '"Somebody Else"'), ("site", '"9 Other Road, Brackwater"')])
def test_a_number_of_another_client_or_site_is_refused_unless_it_is_said_to_be_the_same(
    run, demo, job, tmp_path, key: str, value: str  # noqa: F811
) -> None:  # fmt: skip
    out = tmp_path / "q"
    assert run("quote", job, "--prices", demo.prices, "--out", out)[0] == 0
    other, before = said(job, key, value), names(out)
    for more in ((), ("--only-new",), ("--again",)):
        code, printed, err = run("quote", other, "--prices", demo.prices, "--out", out, *more)
        assert (code, printed) == (2, "")
        assert "quote number LF-2601 belongs to " in one_line(err)
        assert "add --same-number where it is the same job" in err
        assert value.strip('"') in err
        assert names(out) == before
    code, printed, err = run("quote", other, "--prices", demo.prices, "--out", out, "--same-number")
    assert (code, err) == (0, "")
    assert "LF-2601-r2-quote.xlsx" in printed


def test_two_clients_of_one_number_in_one_run_are_not_mixed(run, demo, job, tmp_path) -> None:  # noqa: F811
    other = said(job, "client", '"Somebody Else"')
    code, out, err = run("quote", job, other, "--prices", demo.prices, "--out", tmp_path / "q")
    assert code == 2
    assert "LF-2601-r1-quote.xlsx" in out
    assert str(other) in one_line(err)
    assert not list((tmp_path / "q").glob("*-r2-*"))


def test_the_same_client_written_another_way_is_the_same_client(run, demo, job, tmp_path) -> None:  # noqa: F811
    client = re.search(r'(?m)^client = "(.*)"$', job.read_text("utf-8"))[1]
    run("quote", job, "--prices", demo.prices, "--out", tmp_path / "q")
    other = said(job, "client", f'"  {client.upper()} "')
    assert run("quote", other, "--prices", demo.prices, "--out", tmp_path / "q")[0] == 0


def test_a_change_order_is_never_taken_from_another_clients_quote(run, demo, job, tmp_path) -> None:  # noqa: F811
    out = tmp_path / "q"
    other = said(job, "client", '"Somebody Else"')
    run("quote", job, "--prices", demo.prices, "--out", out)
    run("quote", other, "--prices", demo.prices, "--out", out, "--same-number")
    mine = json.loads(run("quote", job, "--found", "Driveway=medium", "--out", out, "--json")[1])
    assert mine["revision"] == 1
    assert Path(mine["client_file"]).name == "LF-2601-r1-change1.xlsx"
    theirs = json.loads(run("quote", other, "--found", "Driveway=medium", "--out", out, "--json")[1])
    assert theirs["revision"] == 2
    third, before = said(job, "client", '"A Third One"'), names(out)
    code, printed, err = run("quote", third, "--found", "Driveway=medium", "--out", out, "--prices", demo.prices)
    assert (code, printed) == (2, "")
    assert "no quote of LF-2601 in " in one_line(err)
    assert "name the office file of the signed quote instead" in err
    assert names(out) == before


def test_a_quote_that_was_never_finished_is_not_a_signed_one(run, demo, job, tmp_path) -> None:  # noqa: F811
    out = tmp_path / "q"
    run("quote", job, "--prices", demo.prices, "--out", out)
    (out / "LF-2601-r1-quote.xlsx").write_bytes(b"")
    code, _, err = run("quote", job, "--found", "Driveway=medium", "--out", out)
    assert code == 2
    assert "no signed quote of LF-2601 was found" in one_line(err)


def test_options_that_would_write_and_leave_out_the_same_job_are_refused(run, demo, job, tmp_path) -> None:  # noqa: F811
    code, out, err = run("quote", job, "--prices", demo.prices, "--out", tmp_path / "q", "--only-new", "--again")
    assert (code, out) == (2, "")
    assert "give one of them" in one_line(err)


@pytest.mark.parametrize("day", [date(1999, 12, 31), date(2200, 1, 1), date.max])
def test_a_day_that_is_a_typo_is_named_by_check_and_by_quote(run, demo, job, tmp_path, day: date) -> None:  # noqa: F811
    odd = said(job, "date", day.isoformat())
    for words in (("check", odd), ("quote", odd, "--prices", demo.prices, "--out", tmp_path / "q")):
        code, out, err = run(*words)
        assert (code, out) == (2, "")
        assert f"date is {day}; it must be from 2000-01-01 to 2199-12-31" in one_line(err)
    last = said(job, "date", (date(2200, 1, 1) - timedelta(1)).isoformat())
    assert run("quote", last, "--prices", demo.prices, "--out", tmp_path / "q")[0] == 0


def test_a_workbook_marked_as_encrypted_costs_itself_alone(run, demo, job, tmp_path) -> None:  # noqa: F811
    run("quote", job, "--prices", demo.prices, "--out", tmp_path / "q")
    content = (tmp_path / "q" / "LF-2601-r1-office.xlsx").read_bytes()
    locked = tmp_path / "locked.xlsx"
    for mark, flags in ((b"PK\x03\x04", 6), (b"PK\x01\x02", 8)):  # APPNOTE 4.3.7 and 4.3.12: bit 0 is encryption
        content = b"".join(
            part if not place else mark + part[: flags - 4] + bytes([part[flags - 4] | 1]) + part[flags - 3 :]
            for place, part in enumerate(content.split(mark))
        )
    locked.write_bytes(content)
    for words in (("quote", locked, job, "--prices", demo.prices, "--out", tmp_path / "p"), ("check", locked)):
        code, _, err = run(*words)
        assert code == 2
        assert "the file is encrypted; save it as an ordinary .xlsx without a password" in one_line(err)
    assert (tmp_path / "p" / "LF-2601-r1-quote.xlsx").exists()
