"""Wrong input of every kind, and the sentence each ends in: functions, prices, jobs, sheets, lists, commands, files.

`gathered` gives them by the place where people meet them. Right input is that of the other tests; each case spoils one
thing of it.
"""

import datetime as dt
import re
from collections.abc import Callable, Iterator, Mapping
from contextlib import redirect_stderr, redirect_stdout
from copy import deepcopy
from dataclasses import dataclass
from io import StringIO
from pathlib import Path
from typing import Any

import log_corpus
import ticket_corpus
from addin_examples import EXAMPLES
from estimating_kit import demo_prices
from openpyxl import load_workbook
from pricing_kit import book, job_data
from trial_quote import trial_company

import basecalc
from basecalc import BasecalcError, parse_job
from basecalc.addin.build import build_addin
from basecalc.cli import main
from basecalc.core.numbers import quoted
from basecalc.demo import DemoFiles
from basecalc.design.frost import frost_ground
from basecalc.estimating.read_job import job_sheet_problems
from basecalc.formulas.functions import FUNCTIONS
from basecalc.formulas.spec import Function
from basecalc.ground.cone_log_file import read_cone_log
from basecalc.job.fields import AREA as AREA_TABLE
from basecalc.job.fields import JOB as JOB_TABLE
from basecalc.season.actuals import Season
from basecalc.season.lists import read_records
from basecalc.takeoff import road_weight, rolls
from basecalc.takeoff.model import MODEL

DRIVE: Mapping[str, Any] = {
    "job": {
        "number": "LF-7", "client": "Ida Farrow", "site": "4 Rushes Lane, Brackwater", "traffic": "light",
        "season": "wet", "soil": "clay", "notes": ["The gate is 9 ft wide.", "Dog."],
    },
    "area": [
        {"name": "Drive", "shape": "rectangle", "length": 40, "width": 20, "foundation_edge": 20, "geotextile": True},
        {"name": "Bay", "shape": "trapezoid", "parallel_sides": [24, 18], "height": 20, "soil": "sand",
         "strength": "stiff"},
        {"name": "Turn", "shape": "triangle", "sides": [30, "12 ft", 28], "old_pavement": 3,
         "old_pavement_kind": "asphalt", "strength": 2.1},
    ],
    "spot": [
        {"name": "gate", "area": "Drive", "readings": [{"test": "walk", "reading": 2.5},
                                                       {"test": "vane", "reading": "22 kPa", "note": "twice"}]},
        {"name": "house", "area": "Drive", "readings": [{"test": "thumb", "reading": "thumb deep"}]},
    ],
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Refusal:
    """A sentence, what was done to get it, what it has to name, and the value that was given."""

    case: str
    text: str
    where: tuple[str, ...] = ()
    given: Any = None


PROGRAMS_WORDS = re.compile(
    r"\b(None|NoneType|str|int|float|bool|dict|tuple|Decimal|datetime|NaN|nan|Traceback|\w+Error|Exception)\b|<\w+"
)


def faults(one: Refusal) -> list[str]:
    """Return what is not well about a sentence: nothing where it is one line of plain words with all it has to name."""
    if not one.text.strip():
        return ["nothing was refused"]
    found = [f"does not say {word}" for word in one.where if word not in one.text]
    if "\n" in one.text or one.text != one.text.strip():
        found.append("more than one line")
    if "  " in one.text:
        found.append("two spaces")
    if word := PROGRAMS_WORDS.search(re.sub(r"'[^']*'", "", one.text)):  # what was given is shown as it was given
        found.append(f"a program's word: {word[0]}")
    if one.given is not None and _given_words(one.given) not in one.text:
        found.append(f"does not show {one.given!r} as it was given")
    return found


def _given_words(value: Any) -> str:
    return f"{value:%Y-%m-%d}" if isinstance(value, dt.datetime) else quoted(value).strip("'")


def sentence(work: Callable[[], Any]) -> str:
    """Return the sentence that some work ends in; nothing where it is allowed."""
    try:
        work()
    except BasecalcError as refusal:
        return str(refusal)
    return ""


def refusals(cases: Mapping[str, Callable[[], Any]], given: Mapping[str, Any] | None = None) -> Iterator[Refusal]:
    """Return the sentences of some cases, each named after what it has to name: words before a colon."""
    for case, work in cases.items():
        yield Refusal(case, sentence(work), tuple(case.split(":")[0].split(" + ")), (given or {}).get(case))


WRONG_CELLS = (None, "abc", -3.0, 1e9, "#DIV/0!", "5 kg", True, dt.datetime(2026, 3, 4))


def functions(offered: tuple[Function, ...]) -> Iterator[Refusal]:
    """Return what a cell shows where one argument of a function is wrong."""
    for function in offered:
        right = EXAMPLES[function.name]
        for at, argument in enumerate(function.arguments[: len(right)]):
            for wrong in WRONG_CELLS:
                shown = function(*right[:at], wrong, *right[at + 1 :])
                if isinstance(shown, str) and shown.startswith("#"):
                    given = None if wrong == "#DIV/0!" else wrong
                    yield Refusal(f"{function.name}, {argument.name} {wrong!r}", shown[1:], (argument.name,), given)


WRONG_KEYS = (None, "", "abc", -3, 1e9, "5 kg", True, [], {}, ["x"], dt.time(8), "a\nb", "x" * 3000)


def _spoilt(table: str, key: str, value: Any) -> dict[str, Any]:
    data = deepcopy(dict(DRIVE))
    place = data[table] if table == "job" else data[table][0]
    place[key] = value
    return data


def job_keys() -> Iterator[Refusal]:
    """Return what is wrong with a job one of whose keys holds anything else."""
    for table, record in (("job", JOB_TABLE), ("area", AREA_TABLE)):
        for key in record.keys:
            for value in WRONG_KEYS:
                data = _spoilt(table, key, value)
                if text := sentence(lambda data=data: parse_job(data, "drive.toml")):
                    yield Refusal(f"{table}.{key} = {value!r:.30}", text, ("drive.toml",))
    for key in ("test", "reading", "moisture", "soil", "note", "colour"):
        for value in WRONG_KEYS:
            data = deepcopy(dict(DRIVE))
            data["spot"][0]["readings"][0][key] = value
            if text := sentence(lambda data=data: parse_job(data, "drive.toml")):
                yield Refusal(f"reading.{key} = {value!r:.30}", text, ("drive.toml", 'spot 1 "gate", reading 1'))


AREA = DRIVE["area"][0]
JOBS: dict[str, dict[str, Any]] = {
    "no area": {**DRIVE, "area": []},
    "no job": {"area": [AREA]},
    "an unknown table": {**DRIVE, "areas": []},
    "an unknown key": _spoilt("area", "lenght", 3),
    "two areas of a name": {**DRIVE, "area": [AREA, AREA]},
    "a spot of no area": {**DRIVE, "spot": [{**DRIVE["spot"][0], "area": "Barn"}]},
    "strength and readings": _spoilt("area", "strength", "soft"),
    "no strength": {**DRIVE, "spot": []},
    "too short for its edge": _spoilt("area", "foundation_edge", 500),
    "sides that do not close": {**DRIVE, "area": [{"name": "Turn", "shape": "triangle", "sides": [1, 2, 30]}]},
    "no width": {**DRIVE, "area": [{"name": "Drive", "shape": "rectangle", "length": 30}]},
    "a polygon that crosses itself": {
        **DRIVE, "area": [{"name": "Bow", "shape": "polygon", "points": [[0, 0], [9, 9], [9, 0], [0, 9]]}]},
    "fill without a building": _spoilt("area", "foundation_fill_depth", 12),
    "a fall without a direction": _spoilt("area", "slope", 2),
    "a slope too steep": {**DRIVE, "area": [{**AREA, "slope": 60, "slope_direction": "length"}]},
    "an old pavement of no kind": _spoilt("area", "old_pavement", 3),
    "half a climate": {**DRIVE, "job": {**DRIVE["job"], "climate": {"freezing_index": 500}}},
    "a log that is not there": {**DRIVE, "spot": [{"name": "gate", "area": "Drive", "log": "none.csv"}]},
}  # fmt: skip
TOML = {
    "no table": b"number = 3 [", "empty": b"", "not text": b"\xff\xfe\x00\xd8", "too deep": b"a = " + b"[" * 5000,
    "twice": b"[job]\nnumber = '1'\n[job]\n",
}  # fmt: skip


def jobs(folder: Path) -> Iterator[Refusal]:
    """Return what is wrong with jobs as a whole, as mappings and as files."""
    for case, data in JOBS.items():
        yield Refusal(case, sentence(lambda data=data: parse_job(data, "drive.toml")), ("drive.toml",))
    for case, content in TOML.items():
        path = folder / f"{case}.toml"
        path.write_bytes(content)
        yield Refusal(case, sentence(lambda path=path: basecalc.load_job(path)), (str(path),))
    for path in (folder, folder / "none.toml", folder / "drive.doc", folder / "a\0b.toml"):
        seen = str(path).replace("\0", r"\x00")  # what no screen shows is spelled out
        yield Refusal(path.name, sentence(lambda path=path: basecalc.load_job(path)), (seen,))


def sheets(folder: Path) -> Iterator[Refusal]:
    """Return what is wrong with filled workbooks, many cells at a time."""
    whole = basecalc.write_template(folder / "filled.xlsx", demo_prices(), job=DRIVE)
    for wrong, every in ((None, slice(0, None, 3)), ("abc", slice(0, None, 2)), ("abc", slice(1, None, 2))):
        book, path = load_workbook(whole), folder / "spoiled.xlsx"
        for cell in [
            cell for row in book["Entry"].iter_rows() for cell in row
            if not cell.protection.locked and cell.value is not None
        ][every]:  # fmt: skip
            cell.value = wrong
        book.save(path)
        for problem in job_sheet_problems(path):
            yield Refusal(f"Entry {wrong!r}", str(problem), (str(path), "sheet "))


def lists(folder: Path) -> Iterator[Refusal]:
    """Return what is wrong with cone logs and with tickets, hours and results."""
    file = folder / "gate.csv"
    for case, log in log_corpus.CASES.items():
        if log.told and len(log.content) < 1_000_000:
            file.write_bytes(log.content)
            where = () if case == "an unknown unit" else (str(file),)
            yield Refusal(case, sentence(lambda log=log: read_cone_log(file, **log.given)), where)
    for case, ticket in ticket_corpus.CASES.items():
        if ticket.told:
            file.write_bytes(ticket.content)
            text = sentence(lambda: read_records([file], ticket_corpus.JOBS, trial_company()))
            yield Refusal(case, text, (str(file),))
    for path in (folder, folder / "none.csv"):
        yield Refusal(path.name, sentence(lambda path=path: read_cone_log(path)), (str(path),))


def library() -> Iterator[Refusal]:
    """Return what the functions of a script refuse."""
    soft, light = basecalc.strength("soft"), basecalc.traffic("light")
    made = basecalc.quote(parse_job(job_data(), "drive.toml"), book())
    yield from refusals({
        "strength: none": lambda: basecalc.strength(None),
        "strength + 'mushy'": lambda: basecalc.strength("mushy"),
        "strength + 1,000,000,000 %": lambda: basecalc.strength(1e9),
        "strength + 0.01 %": lambda: basecalc.strength(0.01),
        "traffic + 'tanks'": lambda: basecalc.traffic("tanks"),
        "reinforcement + 'net'": lambda: basecalc.reinforcement("net"),
        "geogrid: bare": lambda: basecalc.reinforcement("geogrid"),
        "aperture stability + 3": lambda: basecalc.reinforcement("geogrid", 3),
        "reduction + 0.3: no source": lambda: basecalc.reinforcement("geogrid", None, 0.3),
        "unit + 'furlong'": lambda: basecalc.base_depth(soft, light, unit="furlong"),
        "very soft": lambda: basecalc.base_depth(basecalc.strength("very soft"), light),
        "CBR of the base + 3": lambda: basecalc.DesignSettings(base_cbr=3),
        "reliability + 'high'": lambda: basecalc.DesignSettings(reliability="high"),  # type: ignore[arg-type]
        "check + 'moon'": lambda: basecalc.DesignSettings(checks=("moon",)),
        "row 2": lambda: basecalc.depth_column([1.0, "x"], light),
        "row 2 + 0.1": lambda: basecalc.depth_column([1.0, 0.1], light),
        "spot gate": lambda: basecalc.spot_strength("gate", []),
        "spot gate + thumb": lambda: basecalc.spot_strength("gate", [basecalc.Reading("thumb", "brick")]),
        "spot gate + 'lick'": lambda: basecalc.spot_strength("gate", [basecalc.Reading("lick", 3)]),
        "area Drive": lambda: basecalc.area_strength("Drive", []),
        "soil + 'jelly'": lambda: frost_ground("jelly"),
        "axles + 2.5": lambda: road_weight.bridge_limit_lb(30, 2.5),  # type: ignore[arg-type]
        "payload + 0 t": lambda: MODEL.value("spoil_loads", spoil_payload=0.0),
        "swell + 3": lambda: MODEL.value("loose", swell=3),
        "waste is missing": lambda: MODEL.value("stone_mass", stone=1.0, stone_density=1500.0, stone_factor=1.2),
        "corners": lambda: MODEL.value("base_area", plan=72.0, open=0.0, reach=0.2, corner=4),
        "the finish is": lambda: MODEL.value("dig", layers=0.3, finish=0.5, old=0.0, keep=0),
        "overlap + 5 m": lambda: rolls.lay(20, 10, 50, 4, 5),
        "end overlap": lambda: rolls.lay(60, 5, 50, 4, 0.3, 30),
        "area + 0 m2": lambda: MODEL.value("base_area", plan=0.0),
        "compacted volume + 0.5": lambda: MODEL.value("stone_mass", stone_factor=0.5),
        "roll length + 0 m": lambda: rolls.lay(60, 5, 0, 4, 0.3),
        "Driveway": lambda: basecalc.take_off(made.job, made.book.company, {}, "stone"),
        "Driveway + 'mushy'": lambda: basecalc.change_order(made, {"Driveway": "mushy"}, 1),
        "'Barn'": lambda: basecalc.change_order(made, {"Barn": "soft"}, 1),
        "Driveway + very soft": lambda: basecalc.change_order(made, {"Driveway": "very soft"}, 1),
        "found": lambda: basecalc.change_order(made, {}, 1),
        "drive.toml + 'tanks'": lambda: basecalc.quote(
            parse_job({**job_data(), "job": {**job_data()["job"], "traffic": "tanks"}}, "drive.toml"), book()),
        "drive.toml + 'gold'": lambda: basecalc.quote(
            parse_job({**job_data(), "job": {**job_data()["job"], "stone": "gold"}}, "drive.toml"), book()),
    })  # fmt: skip


def commands(folder: Path, demo: DemoFiles) -> Iterator[Refusal]:
    """Return what the command line refuses, and what its commands say of files that are not what they should be."""
    job, quoted, client = demo.jobs[0], demo.quotes / "LF-2601-r1-office.xlsx", demo.quotes / "LF-2601-r1-quote.xlsx"
    office, filled, out = folder / "office.xlsx", folder / "season.csv", folder / "out"
    changed = load_workbook(quoted)
    sheet = changed["As quoted"]
    next(
        one for row in sheet.iter_rows() for one in row if one.value == "strength" or "0.12" in str(one.value)
    ).value = 9
    changed.save(office)
    filled.write_text("job,result\nX-1,won\n")
    (folder / "empty").mkdir()
    for words in (
        ("depth", "mushy"), ("depth", "-3"), ("depth", ""), ("depth", "soft", "--traffic", "tanks"), ("depth",),
        ("depth", "soft", "--reinforcement", "geogrid"), ("depth", "soft", "--unit", "ft"), ("depth", "very soft"),
        ("depth", "soft", "--reinforcement", "geogrid", "--aperture-stability", "much"),
        ("depth", "soft", "--reinforcement", "geogrid", "--aperture-stability", "7"), ("pave",), ("depth", "a", "b"),
        ("quote",), ("quote", job), ("quote", job, "--prices", folder / "no.xlsx"), ("quote", folder / "no.toml"),
        ("quote", job, "--prices", job), ("quote", demo.prices, "--prices", demo.prices), ("quote", folder / "empty"),
        ("quote", job, "--prices", demo.prices, "--workers", "0"), ("quote", job, "--workers", "two"), ("quote", "--x"),
        ("quote", job, "--prices", demo.prices, "--out", job), ("quote", quoted, "--prices", demo.prices),
        ("quote", office), ("quote", client), ("quote", job, "--found", "Driveway"),
        ("quote", quoted, "--found", "Driveway="), ("quote", quoted, "--found", "Barn=soft"),
        ("quote", quoted, "--found", "Driveway=mushy"), ("quote", quoted, "--found", "Driveway=very soft"),
        ("quote", quoted, "--found", "Driveway=soft", "--found", "Driveway=soft"),
        ("quote", job, "--found", "Driveway=soft", "--out", folder / "empty"),
        ("quote", job, demo.jobs[1], "--found", "Driveway=soft"), ("check", folder / "no.xlsx"), ("check", folder),
        ("check", filled), ("check", "--against", demo.prices), ("check", job, "--against", demo.prices),
        ("check", demo.prices, "--against", folder / "no.xlsx"), ("check", demo.prices, "--quotes", folder / "empty"),
        ("check", demo.prices, "--quotes", folder / "nowhere"), ("template",), ("template", folder / "t.ods"),
        ("template", folder / "t.xlsx", "--for", "excel"), ("template", folder / "t.xlsm", "--for", "numbers"),
        ("template", folder / "t.xlsm", "--prices", folder / "no.xlsx"), ("template", demo.prices),
        ("template", folder / "t.xlsm", "--prices", client), ("template", folder / "t.xlsm", "--job", filled),
        ("template", folder / "t.xlsm", "--units", "metric", "--job", job), ("addin", folder / "a.oxt"),
        ("addin", "--for", "calc", folder / "a.zip"), ("addin", "--for", "calc", demo.prices),
        ("dcp", folder / "no.csv"), ("dcp", filled), ("dcp", demo.prices), ("dcp", folder),
        ("dcp", filled, "--unit", "ft"), ("dcp", filled, "--hammer", "9"),
        ("dcp", filled, "--blows", "many"), ("actuals",), ("actuals", filled),
        ("actuals", filled, "--job", job), ("actuals", filled, "--job", job, "--prices", demo.prices),
        ("actuals", folder / "no.csv", "--job", job, "--prices", demo.prices),
        ("actuals", folder / "empty", "--job", job, "--prices", demo.prices),
        ("actuals", filled, "--job", job, "--job", job, "--prices", demo.prices), ("demo", folder), ("demo", job),
    ):  # fmt: skip
        yield from _said([str(word) for word in words], out)


def _said(words: list[str], out: Path) -> Iterator[Refusal]:
    if words[:1] == ["quote"] and "--out" not in words:
        words = [*words, "--out", str(out)]
    told, printed, code = StringIO(), StringIO(), None
    try:
        with redirect_stderr(told), redirect_stdout(printed):
            main(words)
    except SystemExit as stop:
        code = stop.code
    assert code == 2, (words, told.getvalue())
    lines = told.getvalue().removesuffix("\n").split("\n")
    for line in lines:
        assert line.startswith("basecalc: "), (words, line)
        yield Refusal(" ".join(words), line.removeprefix("basecalc: "))


def writers(folder: Path) -> Iterator[Refusal]:
    """Return what is said where a file would be replaced, has a wrong ending, or cannot be written."""
    made = basecalc.quote(parse_job(job_data(), "drive.toml"), book())
    there = folder / "there.xlsx"
    there.write_bytes(b"somebody's")
    order = basecalc.change_order(made, {"Driveway": "medium"}, 1)
    season = Season("prices.xlsx", "us", "Any Paving", (), ())
    cases: dict[str, tuple[Path, Callable[[Path], Any]]] = {
        "price workbook there": (there, basecalc.write_price_workbook),
        "price workbook of another ending": (folder / "p.ods", basecalc.write_price_workbook),
        "estimating workbook there": (there, lambda path: basecalc.write_template(path, host="calc")),
        "estimating workbook of another ending": (folder / "t.ods", basecalc.write_template),
        "add-in there": (there, build_addin),
        "quote into a file": (there, lambda path: basecalc.write_quote(made, path)),
        "change order into a file": (there, lambda path: basecalc.write_change(order, path)),
        "price workbook that is not there": (folder / "none.xlsx", basecalc.load_prices),
        "price workbook that is a folder": (folder, basecalc.load_prices),
        "office file that is none": (there, basecalc.load_quote),
        "office file that is not there": (folder / "none.xlsx", basecalc.load_quote),
        "old workbook that is none": (there, basecalc.carry_over),
        "quotes of no folder": (folder / "nowhere", lambda path: basecalc.reprice(path, book())),
        "season of another ending": (folder / "s.ods", lambda path: basecalc.write_season(season, path)),
    }
    for case, (path, work) in cases.items():
        yield Refusal(case, sentence(lambda path=path, work=work: work(path)), (str(path),))
    assert there.read_bytes() == b"somebody's"


GATHER: dict[str, Callable[[Path, DemoFiles], Iterator[Refusal]]] = {
    "worksheet functions": lambda *_: functions(FUNCTIONS),
    "job keys": lambda *_: job_keys(),
    "jobs": lambda folder, _: jobs(folder),
    "sheets": lambda folder, _: sheets(folder),
    "lists": lambda folder, _: lists(folder),
    "library": lambda *_: library(),
    "commands": commands,
    "writers": lambda folder, _: writers(folder),
}
