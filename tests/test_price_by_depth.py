"""The table of added prices by depth is a promise: what it says, where it is kept, and what a change order charges."""

import json
from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from engines import ironcalc_results, stored
from hypothesis import given, reject, settings
from hypothesis import strategies as st
from openpyxl import load_workbook
from papers import client_file, rows
from pricing_kit import PRICES, book, job_data
from test_command_line import run  # noqa: F401 (a fixture)
from trial_quote import METRIC, TWO_AREAS, trial_quote

from basecalc.core.errors import BasecalcError, InputError
from basecalc.core.units import INCH_M
from basecalc.ground.classes import CLASSES, weak_edge
from basecalc.job import parse_job
from basecalc.pricing.archive import load_quote
from basecalc.pricing.changes import change_order
from basecalc.pricing.quote import Quote, quote
from basecalc.render.save import write_quote

Run = Callable[..., tuple[int, str, str]]
# Granular fill dearer than base stone: the deeper the base, the less fill is replaced, and the less the job costs.
DEAR_FILL = {**PRICES, "foundation-fill": ("ton", "161", True), "base-stone": ("ton", "9", True)}


def areas(*strengths: str, **more: Any) -> dict[str, Any]:
    """Return a job of stone only with an area on each of these grounds."""
    given = [
        {**job_data(strength=word)["area"][0], "name": f"Area {place}", "length": 20 + 7 * place, "width": 12}
        for place, word in enumerate(strengths, 1)
    ]
    return {"job": {**job_data()["job"], "offer": "stone", **more}, "area": given}


def with_ground(data: dict[str, Any], name: str, word: str | float) -> dict[str, Any]:
    return {**data, "area": [{**one, "strength": word} if one["name"] == name else one for one in data["area"]]}


def total(data: dict[str, Any]) -> tuple[Decimal, dict[str, float]]:
    made = quote(parse_job(data), book())
    return made.offer.total, {name: depth.required_m for name, depth in made.offered_depths.items()}


def client_cells(of: Quote) -> list[Any]:
    return [value for line in rows(client_file(of)) for value in line]


def agreed(data: dict[str, Any], of: Quote, found: dict[str, str | float]) -> Decimal:
    """Return the change order's total once its lines, its promise and its full price agree with each other."""
    order = change_order(of, found, 1)
    assert sum((line.difference for line in order.lines), Decimal(0)) == order.total
    assert sum((line.found for line in order.lines), Decimal(0)) == order.price == of.offer.total + order.total
    assert not [line for line in order.lines if Decimal(0) < abs(line.difference) <= Decimal("0.02")]
    assert len(data["area"]) == len(order.found.depths)
    return order.total


def test_the_change_on_ground_one_class_weaker_is_the_price_in_the_table_and_what_a_new_quote_would_cost_more() -> None:
    data = areas("stiff", "hard")
    signed = quote(parse_job(data), book())
    more, depths = total(with_ground(data, "Area 1", "medium"))
    deeper = depths["Area 1"] - signed.offered_depths["Area 1"].required_m
    assert deeper > 0
    assert round(deeper / INCH_M) == len(signed.deeper.areas["Area 1"])
    price = signed.deeper.price("Area 1", deeper)
    assert price == more - signed.offer.total > 0
    assert agreed(data, signed, {"Area 1": "medium"}) == price
    assert float(price) in client_cells(signed)


def test_several_areas_cost_the_sum_of_their_tables_though_their_loads_would_share() -> None:
    data = areas("stiff", "stiff", "hard")
    signed = quote(parse_job(data), book())
    each = [signed.deeper.areas[name][-1] for name in ("Area 1", "Area 2")]
    assert agreed(data, signed, {"Area 1": "medium", "Area 2": "medium"}) == sum(each)
    both = change_order(signed, {"Area 1": "medium", "Area 2": "medium"}, 1)
    assert both.total != both.real  # whole loads are bought for both together; the promise is by area


def test_weaker_and_better_ground_in_one_order_are_the_table_and_a_credit_in_full() -> None:
    data = areas("stiff", "medium")
    signed = quote(parse_job(data), book())
    less, _ = total(with_ground(data, "Area 2", "hard"))
    order = change_order(signed, {"Area 1": "medium", "Area 2": "hard"}, 1)
    assert order.promised == {"Area 1": signed.deeper.areas["Area 1"][-1]}
    assert order.total == order.promised["Area 1"] + less - signed.offer.total
    agreed(data, signed, {"Area 1": "medium", "Area 2": "hard"})


def test_another_way_to_build_is_priced_anew_and_says_so() -> None:
    """Very stiff ground needs no geogrid; medium ground beside a geogrid area gets one that was not quoted."""
    data = {**job_data(), "area": [{**job_data(strength="soft")["area"][0]}]}
    data["area"].append({**job_data(strength="hard")["area"][0], "name": "Bay"})
    signed = quote(parse_job(data), book())
    assert signed.offered == "geogrid"
    order = change_order(signed, {"Bay": "soft"}, 1)
    assert order.promised == {}
    assert order.priced_anew == {"Bay": "it takes a geogrid that was not quoted"}
    assert order.total == order.real > 0


def test_a_deeper_base_never_has_a_price_below_nothing_nor_below_that_of_a_shallower_one() -> None:
    strip = {"foundation_edge": 20, "foundation_strip": True, "foundation_fill_width": 6, "loose_fill_depth": 48,
             "loose_fill": "fill", "sound_ground": "stiff"}  # fmt: skip
    data = job_data(strength="stiff", **strip)
    signed = quote(parse_job({**data, "job": {**data["job"], "offer": "stone"}}), book(DEAR_FILL))
    name = "Driveway at the foundation"
    prices = signed.deeper.areas[name]
    assert prices[0] == Decimal("0.00")  # the job as a whole would cost less
    assert list(prices) == sorted(prices)
    order = change_order(signed, {name: "medium"}, 1)
    assert order.found.offer.takeoff.base_m[name] > signed.offer.takeoff.base_m[name]
    assert order.real < 0
    assert order.total == 0
    assert not [value for value in client_cells(signed) if isinstance(value, int | float) and value < 0]


@settings(max_examples=25, deadline=None)
@given(
    strengths=st.lists(st.sampled_from(CLASSES[1:]), min_size=1, max_size=3),
    found=st.lists(st.floats(0.41, 12), min_size=3, max_size=3),
    offer=st.sampled_from(["stone", "cheaper"]),
    metric=st.booleans(),
    prices=st.sampled_from([PRICES, DEAR_FILL]),
)
def test_the_client_never_pays_more_than_the_table_on_weaker_ground_built_the_same_way(
    strengths: list[str], found: list[float], offer: str, metric: bool, prices: Any
) -> None:
    data = areas(*strengths, offer=offer, **({"units": "metric"} if metric else {}))
    signed = quote(parse_job(data), book(prices))
    for name, table in signed.deeper.areas.items():
        assert len(table) >= 3, name
        assert table[0] >= 0
        assert list(table) == sorted(table)
        assert len(table) * signed.deeper.step_m <= 0.41
    words = {f"Area {place}": round(cbr, 2) for place, (cbr, _) in enumerate(zip(found, strengths, strict=False), 1)}
    try:
        order = change_order(signed, words, 1)
    except InputError:  # nothing to change
        reject()
    agreed(data, signed, dict(words))
    old, new = signed.offer.takeoff, order.found.offer.takeoff
    for name, price in order.promised.items():
        steps = (new.base_m[name] - old.base_m[name]) / signed.deeper.step_m
        assert price == (signed.deeper.areas[name][round(steps + 0.49) - 1] if round(steps, 6) else 0), name
    for name in order.priced_anew:
        weaker = order.found.offered_depths[name].cbr < signed.offered_depths[name].cbr
        same = order.found.offered_depths[name].reinforcement == signed.offered_depths[name].reinforcement
        reach = len(signed.deeper.areas[name]) * signed.deeper.step_m
        within = 0 <= round(new.base_m[name] - old.base_m[name], 9) <= reach + 1e-9
        assert not (weaker and same and within), name


@pytest.mark.parametrize("word", CLASSES[2:])
def test_the_table_goes_as_far_as_the_weak_edge_of_the_next_weaker_class(word: str) -> None:
    signed = quote(parse_job(areas(word)), book())
    below = CLASSES[CLASSES.index(word) - 1]
    order_depth = quote(parse_job(areas(below)), book()).stone.takeoff.base_m["Area 1"]
    reach = (order_depth - signed.stone.takeoff.base_m["Area 1"]) / INCH_M
    assert len(signed.deeper.areas["Area 1"]) == max(round(reach), 3)
    assert weak_edge(below) < weak_edge(word)


@pytest.mark.parametrize("job", [TWO_AREAS, METRIC])
def test_the_quote_prints_the_whole_table_and_the_office_file_makes_it_again(
    job: dict[str, Any], tmp_path: Path
) -> None:
    signed = trial_quote(job, **({"units": "metric"} if job is METRIC else {}))
    cells = client_cells(signed)
    for name, prices in signed.deeper.areas.items():
        assert len(signed.deeper.areas) == 1 or any(str(value).endswith(name) for value in cells)
        for price in prices:
            assert float(price) in cells
    said = " ".join(str(value) for value in cells)
    assert "the price goes up by exactly the amount printed here" in said
    assert "each further" not in said.casefold()
    files = write_quote(signed, tmp_path)
    assert load_quote(files.office).quote.deeper == signed.deeper


def test_another_table_in_the_office_file_is_refused(tmp_path: Path) -> None:
    """Whoever changes a promised price, with a fitting fingerprint, does not get it charged."""
    signed = trial_quote(TWO_AREAS)
    prices = signed.deeper.areas["Driveway"]
    other = {**signed.deeper.areas, "Driveway": (prices[0] + 1, *prices[1:])}
    for deeper in ({}, other):
        files = write_quote(replace(signed, deeper=replace(signed.deeper, areas=deeper)), tmp_path)
        with pytest.raises(BasecalcError, match="the added prices of a deeper base"):
            load_quote(files.office)


def test_the_command_line_charges_what_the_signed_table_says(run: Run, tmp_path: Path) -> None:  # noqa: F811
    run("demo", tmp_path)
    office = tmp_path / "quotes" / "LF-2602-r1-office.xlsx"
    code, out, err = run("quote", office, "--found", "Driveway=0.45", "--out", tmp_path / "x", "--json")
    assert (code, err) == (0, "")
    said = json.loads(out)
    again = load_quote(office).quote
    area = said["areas"]["Driveway"]
    price = again.deeper.price("Driveway", (area["base_found_in"] - area["base_signed_in"]) * INCH_M)
    assert said["promised"] == {"Driveway": str(price)}
    assert said["difference"] == said["by_the_quotes_rate"] == str(price)
    assert Decimal(said["found_total"]) - Decimal(said["signed_total"]) == price
    assert sum(Decimal(line["difference"]) for line in said["lines"]) == price
    assert float(price) in client_cells(again)
    office_change = Path(said["office_file"])
    results = ironcalc_results(office_change)
    for place, value in stored(office_change).items():
        assert results[place] == (pytest.approx(value, abs=0.0051) if isinstance(value, int | float) else value), place
    sheet = load_workbook(office_change, data_only=True)["Change costs"]
    words = [str(cell.value) for row in sheet.iter_rows() for cell in row if cell.value is not None]
    assert "Real difference at the quote's own prices" in words
    assert "Deeper base, Driveway, 14 in: as the quote's table promises" in words


def test_the_table_is_in_the_json_of_a_quote(run: Run, tmp_path: Path) -> None:  # noqa: F811
    run("demo", tmp_path)
    job, prices = tmp_path / "jobs" / "3-new-build.toml", tmp_path / "prices.xlsx"
    code, out, _ = run("quote", job, "--prices", prices, "--out", tmp_path / "y", "--json")
    assert code == 0
    said = json.loads(out)
    said = said[0] if isinstance(said, list) else said
    table = said["deeper_base"]["Parking bay"]
    assert [row["base_depth_in"] for row in table][:3] == [7, 8, 9]
    assert all(Decimal(row["adds"]) >= 0 for row in table)


def test_a_change_in_one_area_is_never_refused_for_another() -> None:
    """A strip of loose backfill that was read stiffer than the drive takes the drive's ground below it, at quoting and
    still when softer ground is found in the apron."""
    data = job_data(strength="medium")
    drive = {
        **data["area"][0], "foundation_edge": 20, "foundation_strip": True, "foundation_fill_width": 6,
        "loose_fill_depth": 36, "loose_fill": "fill", "foundation_strip_strength": "stiff",
    }  # fmt: skip
    apron = {**data["area"][0], "name": "Apron", "length": 10, "width": 10, "strength": "medium"}
    signed = quote(parse_job({**data, "area": [drive, apron]}), book())
    order = change_order(signed, {"Apron": "soft"}, 1)
    assert order.total > 0
    for name in signed.depths:
        if name != "Apron":
            assert order.found.ground[name].strength == signed.ground[name].strength
            assert order.found.offer.takeoff.area(name) == signed.offer.takeoff.area(name)
