"""The estimating workbook alive in LibreOffice: after every edit each total is the library's own, to the cent."""

from collections.abc import Callable, Mapping
from pathlib import Path
from random import Random
from typing import Any

import openpyxl
import pytest
from basecalc.estimating.other_edition import records_in
from estimating_kit import JOBS, demo_job, demo_prices
from libreoffice import Calc, Value
from twin_book import Edit, TwinBook, differences, loud

from basecalc.core.errors import BasecalcError
from basecalc.estimating.read_job import load_job
from basecalc.estimating.template import write_template
from basecalc.pricing.prices import load_prices
from basecalc.pricing.quote import Quote, quote

pytestmark = pytest.mark.libreoffice

METRIC_JOB: Mapping[str, Any] = {
    "job": {"number": "LF-9", "client": "Ida Farrow", "site": "4 Rushes Lane, Brackwater", "units": "metric",
            "traffic": "light", "season": "wet", "soil": "silt"},
    "area": [
        {"name": "Drive", "shape": "rectangle", "length": 22.5, "width": 4.2, "foundation_edge": 4.2,
         "geotextile": True},
        {"name": "Court", "shape": "circle", "diameter": 9, "soil": "clay", "finish_above_ground": 30},
    ],
    "spot": [
        {"name": "gate", "area": "Drive",
         "readings": [{"test": "walk", "reading": 60}, {"test": "vane", "reading": 25}]},
        {"name": "court", "area": "Court", "readings": [{"test": "cone", "reading": 38}]},
    ],
}  # fmt: skip


def twin(calc: Calc, folder: Path, job: str) -> TwinBook:
    """Return the workbook of a job for LibreOffice, open, with its copy."""
    units = "metric" if job == "metric" else "us"
    filled = METRIC_JOB if job == "metric" else demo_job(job)
    path = write_template(folder / "filled.xlsx", records_in(demo_prices(), units), host="calc", job=filled)
    return TwinBook(calc, path, folder / "copy.xlsx")


# What an estimator does to a workbook: each kind of edit gives cells and what is typed into them.
Kind = Callable[[TwinBook, Random], list[Edit]]


def one(book: TwinBook, table: str, row: int | str, column: str, value: Value) -> list[Edit]:
    return [(*book.cell(table, row, column), value)]


def factor(book: TwinBook, table: str, row: int | str, column: str, by: float, digits: int = 2) -> list[Edit]:
    cell = book.cell(table, row, column)
    return [(*cell, round(float(book.held(cell)) * by, digits))]


CODES = ("base-stone", "stone-haul", "spoil-haul", "pavers", "geogrid", "bedding-sand", "crew-time", "machine-time")


def price(book: TwinBook, random: Random) -> list[Edit]:
    return factor(
        book, "UnitPrices", random.choice(CODES), "unit price", random.uniform(0.3, 3), random.choice((0, 2, 4))
    )


def price_of_nought(book: TwinBook, random: Random) -> list[Edit]:
    return one(book, "UnitPrices", random.choice(CODES), "unit price", 0.0)


def taxed(book: TwinBook, random: Random) -> list[Edit]:
    return one(book, "UnitPrices", random.choice(CODES), "taxable", random.choice(("yes", "no")))


def markup(book: TwinBook, random: Random) -> list[Edit]:
    label = random.choice(("overhead on cost", "profit as a share of the price", "contingency on cost", "sales tax"))
    return one(book, "Settings", label, "value", round(random.uniform(0, 0.4), 4))


def material(book: TwinBook, random: Random) -> list[Edit]:
    table, column = random.choice((
        ("BaseStone", "loose density"), ("BaseStone", "compaction factor"), ("Trucks", "payload"), ("Trucks", "box"),
        ("Rolls", "width"), ("Rolls", "length"), ("Pavers", "cutting waste"),
    ))  # fmt: skip
    return factor(book, table, 1, column, random.uniform(0.95, 1.15), 4)


def nought(book: TwinBook, random: Random) -> list[Edit]:
    """A 0 that is meant: LibreOffice must not take it for an empty cell, nor an empty cell for a 0."""
    table, row, column = random.choice((
        ("Rolls", 1, "overlap"), ("Rolls", 2, "overlap"), ("BaseStone", 1, "waste"), ("Areas", 1, "open edge"),
    ))  # fmt: skip
    return one(book, table, row, column, random.choice((0.0, None)) if column == "overlap" else 0.0)


def card(book: TwinBook, random: Random) -> list[Edit]:
    label, words = random.choice((
        ("traffic", ("light", "delivery", "heavy")), ("ground on the day", ("dry", "moist", "wet", None)),
        ("soil dug", ("clay", "sand", "silt", "gravel")), ("offer", ("stone", "geogrid", "cheaper")),
        ("newly built plot", ("yes", "no")),
    ))  # fmt: skip
    return one(book, "JobCard", label, "fill in", random.choice(words))


READ: Mapping[str, tuple[Value, ...]] = {
    "walk": ("1.5 in", "60 mm", 0.0), "vane": ("18 kPa", "45 kPa"), "cone": (12.5, 41.0, "88 mm"),
    "cbr": (0.9, 2.4, 7.0), "pocket": ("0.45 tsf", "90 kPa"), "thumb": ("thumb deep", "thumb moderate"),
    "shovel": ("easy", "hard"),
}  # fmt: skip


def reading(book: TwinBook, random: Random) -> list[Edit]:
    test = random.choice(sorted(READ))
    return [
        *one(book, "Readings", 1, "test", test),
        *one(book, "Readings", 1, "reading", random.choice(READ[test])),
        *one(book, "Readings", 1, "moisture", random.choice(("dry", "wet", None))),
    ]


def more_reading(book: TwinBook, random: Random) -> list[Edit]:
    row = next(row for row in range(1, 40) if book.held(book.cell("Readings", row, "spot")) is None)
    area = book.held(book.cell("Areas", 1, "area"))
    return [
        *one(book, "Readings", row, "spot", f"spot {row}"),
        *one(book, "Readings", row, "area", area),
        *one(book, "Readings", row, "test", "cbr"),
        *one(book, "Readings", row, "reading", round(random.uniform(0.5, 12), 2)),
    ]


def size(book: TwinBook, random: Random) -> list[Edit]:
    edits = one(book, "Areas", 1, "shape", "rectangle")
    edits += one(book, "Areas", 1, "corners at", None)
    edits += one(book, "Areas", 1, "size 1", random.choice((round(random.uniform(18, 150), 2), "31.5 m", "88 ft")))
    return edits + one(book, "Areas", 1, "size 2", round(random.uniform(16, 30), 2))


def detail(book: TwinBook, random: Random) -> list[Edit]:
    column, value = random.choice((
        ("along a building", 12.0), ("along a building", None), ("open edge", 30.0), ("open edge", 0.0),
        ("finish above ground", -1.5), ("finish above ground", None), ("soil", "loam"), ("edge restraint", 44.4),
        ("geotextile", "yes"), ("geotextile", "no"),
    ))  # fmt: skip
    return one(book, "Areas", 1, column, value)


def old_pavement(book: TwinBook, random: Random) -> list[Edit]:
    thick = random.choice(("2.5 in", "90 mm"))
    kind = random.choice(("asphalt", "concrete", "gravel", "pavers"))
    return [*one(book, "Areas", 1, "old pavement", thick), *one(book, "Areas", 1, "kind of it", kind)]


def more_area(book: TwinBook, random: Random) -> list[Edit]:
    row = next(row for row in range(1, 12) if book.held(book.cell("Areas", row, "area")) is None)
    shape, sizes = random.choice((
        ("circle", ("6 m",)), ("triangle", ("30 ft", "40 ft", "50 ft")), ("rectangle", ("12 m", "5 m")),
        ("trapezoid", ("8 m", "6 m", "5 m")),
    ))  # fmt: skip
    return [
        *one(book, "Areas", row, "area", f"Area {row}"),
        *one(book, "Areas", row, "shape", shape),
        *[edit for place, each in enumerate(sizes, 1) for edit in one(book, "Areas", row, f"size {place}", each)],
        *one(book, "Areas", row, "strength by hand", random.choice(("soft", "medium", "hard", 1.3))),
    ]


KINDS: tuple[Kind, ...] = (
    price, price_of_nought, taxed, markup, material, nought, card, reading, more_reading, size, detail, old_pavement,
    more_area,
)  # fmt: skip


def undone(book: TwinBook, edits: list[Edit]) -> list[Edit]:
    return [(sheet, at, book.held((sheet, at))) for sheet, at, _ in edits]


@pytest.mark.parametrize("job", [*JOBS, "metric"])
def test_totals_are_the_librarys_after_every_edit(calc: Calc, tmp_path: Path, job: str) -> None:
    """Each kind of edit once, then random ones; what the library refuses is refused loudly, and taken back."""
    book, random = twin(calc, tmp_path, job), Random(f"edits of {job}")
    assert differences(book.shown(), book.answer()) == []
    sound, refused, totals = 0, 0, set()
    for kind in (*KINDS, *random.choices(KINDS, k=2)):
        edits = kind(book, random)
        before = undone(book, edits)
        book.edit(edits)
        shown, answer = book.shown(), book.answer()
        assert differences(shown, answer) == [], (kind.__name__, edits)
        if isinstance(answer, BasecalcError):
            refused += 1
            assert loud(shown)
            book.edit(before)
            assert not isinstance(book.answer(), BasecalcError)
        else:
            sound += 1
            totals.add(shown["QuotedTotal"])
    assert sound >= 10, f"{refused} of the edits were refused"
    assert len(totals) > 6  # the edits matter


WRONG: tuple[tuple[str, int | str, str], ...] = (
    ("UnitPrices", "base-stone", "unit price"), ("UnitPrices", "base-stone", "unit"),
    ("UnitPrices", "pavers", "taxable"), ("Settings", "sales tax", "value"), ("Settings", "thickest lift", "value"),
    ("BaseStone", 1, "loose density"), ("Trucks", 1, "payload"), ("JobCard", "traffic", "fill in"),
    ("JobCard", "offer", "fill in"), ("JobCard", "client", "fill in"), ("Readings", 1, "test"),
    ("Readings", 1, "reading"), ("Areas", 1, "area"), ("Areas", 1, "size 1"), ("Areas", 1, "open edge"),
    ("Areas", 1, "soil"),
)  # fmt: skip
ON_THE_QUOTE_ALONE = ("JobCard", "client", "fill in")  # the estimate is sound without it


@pytest.mark.parametrize(
    "value", [None, "no such thing", -7.0, 1e12, "=1/0"], ids=["blank", "text", "minus", "huge", "error"]
)
def test_wrong_input_never_gives_a_total_that_the_library_would_not(calc: Calc, tmp_path: Path, value: Value) -> None:
    book = twin(calc, tmp_path, "2-soft-ground")
    wrong, refusals = [], 0
    for place in WRONG:
        cell = book.cell(*place)
        before = book.held(cell)
        book.edit([(*cell, value)])
        shown, answer = book.shown(), book.answer()
        refusals += isinstance(answer, BasecalcError)
        wrong += [(place, told) for told in differences(shown, answer)]
        said = str(shown["Banner"]).startswith(("REFUSED", "Nothing"))
        if isinstance(answer, BasecalcError) and not said and place != ON_THE_QUOTE_ALONE:
            wrong.append((place, f"the sheets say {shown['Banner']!r}"))
        book.edit([(*cell, before)])
    assert wrong == []
    assert refusals >= 8
    assert differences(book.shown(), book.answer()) == []


def test_nothing_is_called_loaded_that_is_not(calc: Calc, tmp_path: Path) -> None:
    book = twin(calc, tmp_path, "1-firm-ground")
    names = [formula for sheet, at, held, formula in calc.formulas() if held == "#NAME?"]
    assert not names
    assert str(calc.read([("Start", "A4")])[0]).startswith("The worksheet functions are loaded")
    assert book.shown()["Banner"] == "All sound: areas, readings and prices are worked out."


def test_every_stored_value_is_what_libreoffice_works_out(calc: Calc, tmp_path: Path) -> None:
    path = write_template(tmp_path / "filled.xlsx", demo_prices(), host="calc", job=demo_job("3-new-build"))
    stored = openpyxl.load_workbook(path, data_only=True)
    calc.open(path)
    cells = [cell for cell in calc.formulas() if cell[:2] not in {("Start", "A4"), ("Quote", "B7")}]  # loaded? a date
    assert len(cells) > 1000
    differing = []
    for sheet, at, held, formula in cells:
        value = stored[sheet][at].value
        wanted = "" if value is None else value
        if isinstance(wanted, int | float) and isinstance(held, float):
            same = held == pytest.approx(float(wanted), rel=1e-9, abs=1e-9)
        else:
            same = held == wanted
        if not same:
            differing.append((sheet, at, held, wanted, formula))
    assert differing == []


def test_a_workbook_saved_by_libreoffice_is_a_job_for_the_library(calc: Calc, tmp_path: Path) -> None:
    book = twin(calc, tmp_path, "3-new-build")
    book.edit(price(book, Random(3)) + markup(book, Random(4)))
    shown, wanted = book.shown(), book.answer()
    saved = calc.save(tmp_path / "saved.xlsx")
    again = quote(load_job(saved), load_prices(saved))
    assert isinstance(wanted, Quote)
    assert again.offer.total == wanted.offer.total
    assert again.stone.total == wanted.stone.total
    calc.open(saved)
    assert book.shown() == shown
