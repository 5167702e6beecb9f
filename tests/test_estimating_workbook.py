"""The estimating workbook, recalculated by an engine that is not ours, against the library: totals, depths, numbers.

Jobs are typed as text on the entry sheet; nothing is taken from values that were stored.
"""

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal
from math import nextafter
from pathlib import Path
from random import Random
from typing import Any

import pytest
import random_ground
import test_random_jobs as random_jobs
from estimating_kit import JOBS, Sheets, demo_job, demo_prices
from openpyxl import load_workbook

import basecalc
from basecalc import BasecalcError, carry_over, load_job, load_prices, parse_job, quote, write_template
from basecalc.core.units import to_unit
from basecalc.estimating.read_job import job_sheet_problems, other_total
from basecalc.takeoff.codes import units_like

EXAMPLE = Path(__file__).parent.parent / "examples" / "every-key.toml"
CENT = 0.004


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("estimating")


@pytest.fixture(scope="module")
def filled(folder: Path) -> dict[str, Path]:
    """Return workbooks of two demo jobs, as the command writes them."""
    return {name: write_template(folder / f"{name}.xlsx", demo_prices(), job=demo_job(name)) for name in JOBS[1:]}


@pytest.fixture(scope="module")
def demo(filled: dict[str, Path]) -> Sheets:
    return Sheets(filled["3-new-build"])


@pytest.fixture(scope="module")
def random_sheets(folder: Path) -> dict[str, tuple[Sheets, Any]]:
    """Return a workbook of one drawn owner in each edition, with the owner's prices as the library reads them.

    Both charge mobilization and least hauls; one rounds prices up, one has a discount and a minimum charge of a job.
    """
    found = {}
    for units, seed in (("us", 3), ("metric", 7)):
        given, _ = random_jobs.price_book(seed)
        given["settings"]["discount"] = 0.05 if units == "metric" else 0
        old = basecalc.write_price_workbook(folder / f"owner-{units}.xlsx", given)
        book = load_prices(old)
        assert book.company.mobilization
        assert any(price.minimum for price in book.prices.values())
        assert (book.company.round_price != "off", bool(book.company.minimum_charge)) == (
            units == "us",
            units == "metric",
        )
        carried = carry_over(old, units)
        path = write_template(folder / f"random-{units}.xlsx", carried.records, units=units)
        found[units] = (Sheets(path), book)
    return found


def typed(data: dict[str, Any]) -> dict[str, str]:
    """Return the cells that a job is typed into."""
    from basecalc.estimating.entries import entries
    from basecalc.estimating.entry import Layout

    units, rows = data["job"].get("units", "us"), entries(data)
    layout = Layout(units)
    cells = {layout.card_cells()[key]: text for key, text in rows["card"].items() if text}
    for name in layout.rows:
        for place, row in enumerate(rows[name], 1):
            cells |= {layout.cell(name, place, key): str(text) for key, text in row.items() if text}
    return cells


def lines_by_code(rng: Random, book: Any) -> list[dict[str, Any]]:
    """Return extra lines that take a row of the price list, in its own unit or in another."""
    found = []
    for code in rng.sample(sorted(book.prices), rng.choice((0, 1, 2))):
        line: dict[str, Any] = {"code": code, "quantity": round(rng.uniform(0.5, 30), 1)}
        if rng.random() < 0.5:
            line |= {"unit": rng.choice(units_like(book.prices[code].unit)), "taxable": rng.choice(("yes", "no"))}
        found.append(line)
    return found


def from_library(data: dict[str, Any], book: Any) -> list[Any] | None:
    """Return the totals of the options as the library has them; None where it refuses the job."""
    try:
        made = quote(parse_job(data), book)
    except BasecalcError:
        return None
    return [
        float(made.offer.total), float(made.stone.total),
        float(made.geogrid.total) if made.geogrid else "no option here",
        float(made.standard.total) if made.standard else "can't be built",
    ]  # fmt: skip


def different(sheets: Sheets, data: dict[str, Any], book: Any) -> list[str]:
    """Return what differs between sheet and library: totals, then each quantity of the stone option with its cell."""
    expected, shown = from_library(data, book), sheets.totals()
    if expected is None:
        return [] if not isinstance(shown[0], float) else [f"the sheet shows {shown} for a job that is refused"]
    apart = [
        f"{name}: {one} against {other}" for name, one, other in zip(("offered", "stone", "geogrid", "standard"), shown, expected, strict=True)
        if (abs(one - other) > CENT if isinstance(one, float) and isinstance(other, float) else one != other)
    ]  # fmt: skip
    if not apart:
        return []
    made = quote(parse_job(data), book)
    return [sheets.problem(), *apart, *quantities_apart(sheets, made.stone)]


def quantities_apart(sheets: Sheets, estimate: Any) -> list[str]:
    found = []
    for one in estimate.takeoff.quantities:
        for label, row in sheets.labels["Stone only"].items():
            if label == one.item and one.area == "":
                shown = sheets.cell("Stone only", f"B{row}")
                if not isinstance(shown, float) or abs(shown - one.amount) > 1e-6 * max(one.amount, 1):
                    found.append(f"{one.code}: Stone only!B{row} is {shown}, the library has {one.amount}")
    return found


@pytest.mark.parametrize("name", JOBS)
def test_a_demo_job_typed_on_the_entry_sheet_gives_the_librarys_totals(demo: Sheets, folder: Path, name: str) -> None:
    book = load_prices(basecalc.write_price_workbook(folder / f"prices-{name}.xlsx", demo_prices()))
    demo.job(typed(demo_job(name)))
    assert demo.problem() == ""
    assert different(demo, demo_job(name), book) == []


@pytest.mark.parametrize("kind", ["as given by hand", "as read"])
@pytest.mark.parametrize("units", ["us", "metric"])
def test_random_jobs_give_the_librarys_totals_to_the_cent(
    random_sheets: dict[str, tuple[Sheets, Any]], units: str, kind: str
) -> None:
    """Old bases that stay, strips, loose fill, every shape, every test, water, frost, dry and frozen ground.

    A sample; ``python tests/bench/estimating_jobs.py 0 500`` takes more.
    """
    sheets, book = random_sheets[units]
    seen = 0
    for number in range(24):
        rng = Random(f"{kind} {number}")
        data = random_jobs.job_data(rng, number) if kind == "as given by hand" else random_ground.read_job(rng, number)
        if data["job"]["units"] != units:
            continue
        data["line"] = [*data.get("line", ()), *lines_by_code(rng, book)]
        sheets.job(typed(data))
        apart = different(sheets, data, book)
        assert not apart, (number, apart)
        seen += isinstance(sheets.totals()[0], float)
    assert seen >= 4


def test_what_is_stored_is_what_the_sheet_recalculates_to_and_what_the_library_quotes(filled: dict[str, Path]) -> None:
    for path in filled.values():
        total = basecalc.quote(path).offer.total
        assert other_total(path, total) == ""
        assert "the sheet shows" in other_total(path, total + Decimal("0.01"))


def test_the_page_for_the_client_names_nothing_as_included_that_has_no_line(filled: dict[str, Path]) -> None:
    for path in filled.values():
        page = load_workbook(path, data_only=True)["Quote"]
        said = [cell.value for row in page.iter_rows() for cell in row if str(cell.value).startswith("Included")]
        lines = [line.title.lower() for line in basecalc.quote(path).offer.scope_prices if line.amount > 0]
        assert said == [f"Included: {', '.join(lines)}."]


def test_a_pasted_total_is_named(filled: dict[str, Path], tmp_path: Path) -> None:
    book = load_workbook(filled["2-soft-ground"])
    sheet, cell = str(book.defined_names["TotalAsOffered"].attr_text).split("!")
    book[sheet][cell.replace("$", "")] = 12_000.0
    book.save(tmp_path / "pasted.xlsx")
    said = other_total(tmp_path / "pasted.xlsx", Decimal("28375.21"))
    assert "the sheet shows $12,000.00, and $28,375.21 was worked out" in said


# Depth by thresholds


@pytest.mark.parametrize("reinforcement", ["none", "geogrid"])
@pytest.mark.parametrize("level", ["light", "delivery", "heavy"])
def test_a_threshold_is_never_thinner_than_the_function_of_the_worksheet(
    filled: dict[str, Path], level: str, reinforcement: str
) -> None:
    """On both sides of every step; soil that is neither fine nor wet nor frozen, as the list is made for."""
    from basecalc.design.depth import Site, base_depth

    page = load_workbook(filled["2-soft-ground"])["Depths"]
    grid = basecalc.reinforcement(reinforcement, 0.3)
    settings = load_prices(filled["2-soft-ground"]).company.design
    column = next(
        at for at in range(2, page.max_column + 1, 2)
        if page.cell(3, at).value == level and page.cell(4, at).value == 2.375 and page.cell(5, at).value == grid.aperture_stability
    )  # fmt: skip
    steps = [(page.cell(row, column).value, page.cell(row, column + 1).value) for row in range(9, 69)]
    steps = [(cbr, depth) for cbr, depth in steps if depth is not None]
    assert [depth for _, depth in steps] == sorted(depth for _, depth in steps)

    def needed(cbr: float) -> float:
        made = base_depth(basecalc.strength(cbr), level, grid, settings, site=Site(fine=False, freezes=False))
        return round(made.required_m / 0.0254, 6)

    for (cbr, depth), (_, deeper) in zip(steps[1:], [*steps[2:], (0, steps[-1][1])], strict=True):
        assert needed(cbr) <= depth
        assert needed(nextafter(cbr, 100) * (1 + 1e-9)) <= depth - 1
        assert needed(cbr * (1 - 1e-9)) == depth
        assert deeper >= depth


# Numbers as the trade writes them: what is typed where feet are due, and what it is [practice].
LENGTHS = {
    "12": 12, "12.5": 12.5, ".5": 0.5, "1/2": 0.5, "½": 0.5, "1½": 1.5, "1 1/2": 1.5, "1-1/2": 1.5, "3/8": 0.375,
    "14'-6\"": 14.5, "14\u2019-6\u201d": 14.5, "14'6\"": 14.5, "14' 6 1/2\"": 14 + 6.5 / 12, "14 ft 6 in": 14.5, "14 feet": 14,
    "14'": 14, '6"': 0.5, "6 in": 0.5, "6 inches": 0.5, "1,250": 1250, "2 3/8 ft": 2.375, "4 yd": 12, "3 m": 9.842519685,
    "350 mm": 1.148293963, "350 MM": 1.148293963, "3 M": 9.842519685, "14 FT": 14, "14 Ft 6 IN": 14.5, "  14 ": 14, "7/8 in": 0.875 / 12, "10-1/4 in": 10.25 / 12,
}  # fmt: skip
REFUSED = (
    "-5", "12-", "10 12", "1/0", "1/2/3", "12:30", "14'6'", "12%", "$12", "abc", "14'6\"x", "2,5", "1,2500", "3 kg",
    "..5", "1.2.3", "12*", "12?", "12 ~m", "12 ft 3 ft", "'", '"', "5 6/", "/2",
)  # fmt: skip


def numbers_read(sheets: Sheets, texts: Sequence[str]) -> list[Any]:
    """Return what the sheet Numbers makes of texts that are typed as lengths and widths, 40 at a time."""
    cells = [f"{letter}{row}" for letter in "DE" for row in range(9, 29)]
    sheets.job(dict(zip(cells, texts, strict=False)))
    return [sheets.cell("Numbers", number_cell(sheets, cell)) for cell, _ in zip(cells, texts, strict=False)]


def test_a_number_as_the_trade_writes_it_is_the_same_on_the_sheet_and_in_a_job_file(demo: Sheets) -> None:
    for (text, value), shown in zip(LENGTHS.items(), numbers_read(demo, list(LENGTHS)), strict=True):
        assert shown == pytest.approx(value, rel=1e-9), text
        assert to_unit("length", text, "ft") == pytest.approx(value, rel=1e-9), text


def test_what_is_no_number_is_refused_on_the_sheet_and_in_a_job_file(demo: Sheets) -> None:
    for text, shown in zip(REFUSED, numbers_read(demo, REFUSED), strict=True):
        assert isinstance(shown, str), (text, shown)
        with pytest.raises(BasecalcError):
            to_unit("length", text, "ft", 0)


def number_cell(sheets: Sheets, cell: str) -> str:
    """Return where the sheet Numbers has the value of a cell of Entry."""
    headings = {sheets.cell("Numbers", f"{letter}3"): letter for letter in "ABCDEFGHIJKLMNOPQRSTUVWXYZ"}
    return f"{headings['Value']}{sheets.labels['Numbers'][cell]}"


# Nothing typed wrong lowers a total


WRONG = ("", "abc", "-5", "46089", "#N/A", "{}x")


def test_no_spoiled_cell_lowers_the_total_unseen(demo: Sheets) -> None:
    """A text, a date's number, an error word or nothing where a number or a word is due: no total, or the library's."""
    line = {"item": "Basin", "quantity": 2, "unit": "each", "unit_price": 184.5, "taxable": "yes", "area": "Driveway"}
    right = typed({**demo_job("3-new-build"), "line": [line, {"code": "dig", "quantity": 3, "unit": "ft3"}]})
    demo.job(right)
    whole = demo.total()
    assert whole is not None
    for place, (cell, text) in enumerate(right.items()):
        for wrong in (WRONG[place % 6], WRONG[(place + 3) % 6]):
            demo.type({cell: wrong.format(text)})
            shown = demo.total()
            allowed = shown is None or shown >= whole - CENT or agrees(demo, shown)
            assert allowed, f"{cell} {wrong!r} shows {shown}, lower than {whole}: {demo.problem()}"
        demo.type({cell: text})
    assert demo.total() == pytest.approx(whole)


def test_a_reading_that_names_no_area_among_several_is_asked_about(demo: Sheets) -> None:
    """It may be the weak one: left out, the base would come too thin."""
    area = {"shape": "rectangle", "length": 40, "width": 12}
    spots = [("gate", "Drive", 0.5), ("ditch", "Drive", 2.5), ("step", "Walk", 0.5)]
    job = demo_job("2-soft-ground")
    job["area"] = [{**area, "name": "Drive"}, {**area, "name": "Walk"}]
    job["spot"] = [
        {"name": name, "area": where, "readings": [{"test": "walk", "reading": deep}]} for name, where, deep in spots
    ]
    right = typed(job)
    demo.job(right)
    whole = demo.total()
    for row in (9, 10, 11):
        demo.type({f"Q{row}": ""})
        assert demo.total() is None, row
        assert "area" in demo.problem().casefold(), row
        demo.type({f"Q{row}": right[f"Q{row}"]})
    assert demo.total() == whole


def agrees(sheets: Sheets, shown: float) -> bool:
    """Return whether a lower total is what the library makes of the same cells, as with a reading left out."""
    from basecalc.estimating.entries import tables
    from basecalc.estimating.entry import Layout

    layout = Layout("us")
    text = {at: value for at, value in sheets.typed.items() if value}
    rows: dict[str, list[dict[str, Any]]] = {}
    for part, count in layout.rows.items():
        keys = layout.spans[part]
        found = [{key: text.get(layout.cell(part, row, key)) for key in keys} for row in range(1, count + 1)]
        rows[part] = [row for row in found if any(row.values())]
    card = {key: text.get(at) for key, at in layout.card_cells().items()}
    data, wrong_rows = tables(card, rows, "us")
    if wrong_rows:
        return False
    try:
        return abs(float(quote(parse_job(data), PRICES[0]).offer.total) - shown) <= CENT
    except BasecalcError:
        return False


PRICES: list[Any] = []


@pytest.fixture(scope="module", autouse=True)
def _prices(folder: Path) -> None:
    PRICES.append(load_prices(basecalc.write_price_workbook(folder / "demo-prices.xlsx", demo_prices())))


# Job file to workbook and back


def test_every_key_of_a_job_file_comes_back_from_the_workbook(tmp_path: Path) -> None:
    (tmp_path / "cone-log.csv").write_bytes(EXAMPLE.with_name("cone-log.csv").read_bytes())
    job = load_job(EXAMPLE)
    path = write_template(tmp_path / "every.xlsx", demo_prices(), job=job)
    assert job_sheet_problems(path) == []
    assert replace(load_job(path), source_path=job.source_path) == job


@pytest.mark.parametrize("name", JOBS[1:])
def test_a_demo_job_comes_back_from_the_workbook(filled: dict[str, Path], name: str) -> None:
    assert replace(load_job(filled[name]), source_path="") == parse_job(demo_job(name))


AWKWARD: dict[str, Any] = {
    "job": {"number": "007", "client": "Any; Client", "site": "Any Lane", "soil": "clay", "notes": ["[1]", '"x"', "a\nb; c"]},
    "area": [
        {"name": "A; b", "shape": "polygon", "points": [["0 ft", 0], [40, 0], [40, 20], [0, 20]], "strength": 2.1, "note": "{x}"},
        {"name": "Drive", "shape": "rectangle", "length": "40 ft", "width": 20, "old_pavement": 3, "old_pavement_kind": "asphalt",
         "test_holes": [{"where": "gate; left", "base": 8, "state": "clean"}], "strength": "soft",
         "old_pavement_seen": [{"what": "rut", "where": "edge", "gap": 1, "note": "a; b"}]},
        {"name": "Read", "shape": "rectangle", "length": 9, "width": 9},
    ],
    "spot": [{"name": "12", "area": "Read", "readings": [{"test": "walk", "reading": "1/2", "note": "7"}],
              "log_rows": [{"drop": "a;b", "depth": 0, "blows": 0}, {"depth": 9, "blows": 5}]}],
    "line": [{"item": "=1+1; {x}", "quantity": 0.125, "unit": "Sq. Ft", "unit_price": "$1,250.00", "sense": "price", "scope": "007"},
             {"code": "Dig", "quantity": "1/2", "unit": "cy", "taxable": False, "area": "Drive", "item": "\u201clump\u201d"}],
}  # fmt: skip


def test_awkward_texts_of_a_job_come_back_from_the_workbook(tmp_path: Path) -> None:
    path = write_template(tmp_path / "awkward.xlsx", demo_prices(), job=AWKWARD)
    assert job_sheet_problems(path) == []
    assert replace(load_job(path), source_path="") == parse_job(AWKWARD)


def test_a_refusal_names_the_cell_of_the_entry_sheet(filled: dict[str, Path], tmp_path: Path) -> None:
    book = load_workbook(filled["2-soft-ground"])
    for cell, value, words in (
        ("D9", "abc", "length"), ("D9", None, "length is missing"), ("H4", None, "number is missing"), ("R9", "kick", "test is 'kick'"),
        ("S9", "999", "walk"), ("G9", "chalk", "soil is 'chalk'"),
    ):  # fmt: skip
        right, book["Entry"][cell].value = book["Entry"][cell].value, value
        book.save(tmp_path / "wrong.xlsx")
        book["Entry"][cell].value = right
        found = job_sheet_problems(tmp_path / "wrong.xlsx")
        assert f"sheet Entry, cell {cell}" in str(found[0]), found
        assert words in str(found[0])


# Extra lines: what is typed wrong there, and what the sheet says of it.
LINES: list[tuple[dict[str, Any], str]] = [
    ({"unit": "ft", "unit_price": 3, "quantity": 1}, "Type what the extra line is in B31."),
    ({"item": "Drain", "unit_price": 3, "quantity": 1}, "Type the unit in E31: each, lump,"),
    ({"item": "Drain", "unit": "furlong", "unit_price": 3, "quantity": 1}, "Unit in E31 says furlong. Pick one"),
    ({"item": "Drain", "unit": "*", "unit_price": 3, "quantity": 1}, "Unit in E31 says *. Pick one"),
    ({"item": "Drain", "unit": "ft", "quantity": 1}, "Type the unit price in F31, or the code of a row of Prices in G31."),
    ({"item": "Drain", "unit": "ft", "unit_price": "free", "quantity": 1}, "Unit price in F31 says free. Write a number"),
    ({"item": "Drain", "unit": "ft", "unit_price": -3, "quantity": 1}, "Unit price in F31 says -3."),
    ({"item": "Drain", "unit": "ft", "unit_price": 3}, "Type how many ft in D31."),
    ({"item": "Drain", "unit": "ft", "unit_price": 3, "quantity": 0}, "Quantity in D31 must be more than 0."),
    ({"item": "Drain", "unit": "ft", "unit_price": 3, "quantity": 1, "taxable": "maybe"}, "Taxable in H31 is yes or no."),
    ({"item": "Drain", "unit": "ft", "unit_price": 3, "quantity": 1, "sense": "gift"}, "Type cost in I31"),
    ({"item": "Drain", "unit": "ft", "unit_price": 3, "quantity": 1, "area": "Barn"}, "For area in J31 says Barn."),
    ({"code": "dig", "unit_price": 3, "quantity": 1}, "Clear the unit price in F31 or the price row in G31."),
    ({"code": "railing", "quantity": 1}, "Add a row railing to Prices."),
    ({"code": "pavers", "quantity": 1, "unit": "ton"}, "The price of pavers is for one ft2. ton in E31 can't be turned"),
    ({"code": "pavers"}, "Type how many ft2 in D31."),
]  # fmt: skip


@pytest.mark.parametrize(("line", "sentence"), LINES)
def test_an_extra_line_that_says_too_little_or_too_much_gives_no_total(
    demo: Sheets, line: dict[str, Any], sentence: str
) -> None:
    data = {**demo_job("1-firm-ground"), "line": [line]}
    demo.job(typed(data))
    assert demo.total() is None
    assert demo.problem().startswith(sentence)
    assert from_library(data, PRICES[0]) is None


def test_more_areas_with_strips_than_the_sheet_has_places_for_are_named(demo: Sheets) -> None:
    area = {"shape": "rectangle", "length": 40, "width": 20, "foundation_edge": 20, "foundation_strip": True,
            "foundation_fill_width": 3}  # fmt: skip
    names = [f"A{n}" for n in range(14)]
    spots = [{"name": n, "area": n, "readings": [{"test": "walk", "reading": 0.1}]} for n in names]
    data = {**demo_job("1-firm-ground"), "spot": spots, "area": [{**area, "name": n} for n in names]}
    demo.job(typed(data))
    assert demo.total() is None
    assert demo.problem().startswith("So many areas with foundation strips")
    demo.job(typed({**data, "area": data["area"][:13], "spot": spots[:13]}))
    assert demo.problem() == ""


# A new workbook, and what it takes along


def test_a_blank_workbook_asks_for_what_is_needed_and_nothing_else(folder: Path) -> None:
    """Company's figures, prices, then the job; no geogrid in the company means no geogrid option."""
    path = write_template(folder / "blank.xlsx")
    sheets = Sheets(path)
    assert "on Company" in sheets.problem()
    book = load_workbook(path)
    grids = [cell.row for cell in book["Company"]["C"] if cell.value == "geogrid"]
    assert not [row for row in grids if book["Company"].cell(row, 6).value]
    fill = demo_prices()
    fill["rolls"] = [row for row in fill["rolls"] if row["kind"] != "geogrid"]
    own = Sheets(write_template(folder / "no-grid.xlsx", fill))
    own.job(typed(demo_job("2-soft-ground")))
    assert own.problem() == ""
    offered, stone, grid, _ = own.totals()
    assert (offered, grid) == (stone, "no option here")


def test_the_design_of_a_company_that_changed_asks_for_a_new_workbook(demo: Sheets) -> None:
    demo.job(typed(demo_job("2-soft-ground")))
    assert demo.total() is not None
    row = demo.labels["Company"]["strength of the base stone (CBR)"]
    demo.model.set_user_input(demo.names.index("Company"), row, 2, "40")
    demo.model.evaluate()
    assert demo.total() is None
    assert "Make the workbook anew" in demo.problem()
    demo.model.set_user_input(demo.names.index("Company"), row, 2, "20")
    demo.model.evaluate()
    assert demo.total() is not None


def test_prices_company_and_notes_are_carried_over_in_either_edition(tmp_path: Path) -> None:
    from openpyxl.comments import Comment

    old = basecalc.write_price_workbook(tmp_path / "old.xlsx", demo_prices())
    book = load_workbook(old)
    row = next(cell.row for cell in book["Prices"]["A"] if cell.value == "dig")
    book["Prices"].cell(row, 4).comment = Comment("asked twice", "R. T.")
    book.save(tmp_path / "noted.xlsx")
    before = load_prices(tmp_path / "noted.xlsx")
    for units in ("us", "metric"):
        carried = carry_over(tmp_path / "noted.xlsx", units)
        new = write_template(tmp_path / f"{units}.xlsx", carried.records, units=units, notes=carried.notes)
        after = load_prices(new)
        same = {code: (price.unit_price, price.unit, price.taxable) for code, price in before.prices.items()}
        assert {code: (price.unit_price, price.unit, price.taxable) for code, price in after.prices.items()} == same
        assert after.company.lift_m == pytest.approx(before.company.lift_m, rel=1e-9)
        assert after.company.trucks[0].payload_kg == pytest.approx(before.company.trucks[0].payload_kg, rel=1e-9)
        notes = [
            cell.comment.text for cells in load_workbook(new)["Prices"].iter_rows() for cell in cells if cell.comment
        ]
        assert "asked twice" in notes


def test_a_job_in_other_units_or_too_long_is_refused(tmp_path: Path) -> None:
    with pytest.raises(BasecalcError, match="the job is in us units"):
        write_template(tmp_path / "x.xlsx", demo_prices(), units="metric", job=demo_job("1-firm-ground"))
    long = {**demo_job("1-firm-ground"), "area": [
        {"name": f"A{n}", "shape": "rectangle", "length": 9, "width": 9, "strength": "stiff"} for n in range(41)], "spot": []}  # fmt: skip
    with pytest.raises(BasecalcError, match="the job has 41 areas; the workbook takes at most 40"):
        write_template(tmp_path / "x.xlsx", demo_prices(), job=long)
    assert list(tmp_path.iterdir()) == []


def test_only_inputs_can_be_typed_on_and_they_keep_what_is_typed(filled: dict[str, Path]) -> None:
    book = load_workbook(filled["2-soft-ground"])
    for page in book:
        if page.title in ("Prices", "Company", "Codes"):
            continue
        assert page.protection.sheet, page.title
        cells = [cell for row in page.iter_rows() for cell in row if type(cell).__name__ == "Cell"]
        unlocked = [cell for cell in cells if not cell.protection.locked]
        assert bool(unlocked) is (page.title == "Entry"), page.title
        assert {cell.number_format for cell in unlocked} <= {"@"}
        assert not [cell.coordinate for cell in unlocked if cell.data_type == "f"]
    assert book.security.lockStructure
