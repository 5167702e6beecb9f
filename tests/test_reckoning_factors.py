"""What a season suggests: only what the records can tell, from five jobs up, each with the cell it belongs to."""

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from test_reckoning_compare import held
from trial_quote import LOOSE_KG_M3, trial_company

from basecalc.company import Rate
from basecalc.core.units import SHORT_TON_KG, YARD3_M3
from basecalc.demo import write_demo
from basecalc.pricing.prices import load_prices
from basecalc.season.actuals import Brought, JobActuals, Suggestion, Worked
from basecalc.season.factors import company_grids, place, suggestions

STONE = "3/4 in crushed base"
COMPANY = trial_company()
BARE = held()
SIZES = (10.0, 14.0, 9.0, 22.0, 30.0, 12.0)
TON_YD3 = SHORT_TON_KG / YARD3_M3


def brought(
    volume: float, *, density: float = LOOSE_KG_M3, factor: float = 1.254, waste: float = 0.05,
    left: bool = False, measured: bool = False,
) -> Brought:  # fmt: skip
    placed = volume * factor * density
    bought = placed * (1 + waste)
    return Brought(
        "base-stone", STONE, volume, bought, placed * waste if left else None,
        bought if measured else 0.0, bought / density if measured else 0.0,
    )  # fmt: skip


def jobs(*found: Brought) -> list[JobActuals]:
    return [replace(BARE, brought=(one,)) for one in found]


def said(made: Sequence[JobActuals]) -> dict[str, Suggestion]:
    return {one.what: one for one in suggestions(made, COMPANY, {})}


def test_tickets_alone_tell_one_number_and_the_rest_holds_only_with_the_sheet() -> None:
    """density x factor x (1 + waste) of the truth is found; the factor is right only if the other two are."""
    found = said(jobs(*(brought(size, factor=1.30, waste=0.08) for size in SIZES)))
    whole = found["weight bought per volume built"]
    assert whole.new == pytest.approx(1.48 * 1.30 * 1.08)
    assert whole.old == pytest.approx(1.48 * 1.254 * 1.05)
    assert (whole.verdict, whole.cell) == ("shown", "")
    assert found["compaction factor"].new == pytest.approx(1.30 * 1.08 / 1.05)
    assert "waste of 5.0%" in found["compaction factor"].told
    assert "loose density of 1.48 ton/yd3" in found["compaction factor"].told
    assert found["waste"].new is None
    assert "cannot be told" in found["waste"].told
    assert "loose density" not in found


def test_left_over_stone_tells_waste_and_factor_apart() -> None:
    found = said(jobs(*(brought(size, factor=1.30, waste=0.08, left=True) for size in SIZES)))
    assert found["waste"].new == pytest.approx(0.08)
    assert found["compaction factor"].new == pytest.approx(1.30)
    assert "waste" not in found["compaction factor"].told
    assert "loose density of 1.48" in found["compaction factor"].told


def test_measured_loads_tell_the_density_apart() -> None:
    found = said(jobs(*(brought(size, density=1.6 * TON_YD3, factor=1.2, measured=True) for size in SIZES)))
    assert found["loose density"].new == pytest.approx(1.6)
    assert found["compaction factor"].new == pytest.approx(1.2)
    assert "waste of 5.0%" in found["compaction factor"].told


def test_both_together_tell_all_three() -> None:
    truth = {"density": 1.55 * TON_YD3, "factor": 1.22, "waste": 0.09}
    found = said(jobs(*(brought(size, left=True, measured=True, **truth) for size in SIZES)))  # type: ignore[arg-type]
    assert found["loose density"].new == pytest.approx(1.55)
    assert found["waste"].new == pytest.approx(0.09)
    assert found["compaction factor"].new == pytest.approx(1.22)
    assert "Holds only" not in found["compaction factor"].told


def test_a_stone_whose_parts_hold_together_is_entered_together() -> None:
    """The factor is as the sheet has it, the waste is not: the product of all was measured."""
    sizes = [
        (size, 1.254 * (1 + shift))
        for size, shift in zip(SIZES, (-0.02, 0.02, -0.01, 0.01, 0.015, -0.015), strict=True)
    ]
    found = said(jobs(*(brought(size, factor=factor, waste=0.12, left=True) for size, factor in sizes)))
    assert found["waste"].verdict == "consider"
    assert found["compaction factor"].verdict == "together"


def test_an_old_value_inside_the_interval_is_kept() -> None:
    shifts = (-0.04, 0.03, -0.02, 0.05, -0.03, 0.02)
    found = said(jobs(*(brought(size, factor=1.254 * (1 + shift)) for size, shift in zip(SIZES, shifts, strict=True))))
    one = found["compaction factor"]
    assert one.low is not None
    assert one.high is not None
    assert one.low < 1.254 < one.high
    assert one.verdict == "keep"


@pytest.mark.parametrize("count", [1, 4])
def test_fewer_than_five_jobs_suggest_nothing(count: int) -> None:
    found = said(jobs(*(brought(size, left=True, measured=True) for size in SIZES[:count])))
    assert set(found) == {"weight bought per volume built"}
    assert found["weight bought per volume built"].new is None
    assert f"From {count} job" in found["weight bought per volume built"].told


def test_five_jobs_are_enough() -> None:
    assert said(jobs(*(brought(size) for size in SIZES[:5])))["compaction factor"].new == pytest.approx(1.254)


def test_four_jobs_with_left_over_stone_do_not_tell_the_waste() -> None:
    found = said(jobs(*(brought(size, waste=0.1, left=place < 4) for place, size in enumerate(SIZES))))
    assert found["waste"].new is None
    assert "on 4 jobs, 5 are needed" in found["waste"].told
    assert found["compaction factor"].new == pytest.approx(1.254 * 1.1 / 1.05)


def test_left_over_and_measured_on_different_jobs_give_no_factor() -> None:
    twelve = [brought(size, left=place < 6, measured=place >= 6) for place, size in enumerate(SIZES * 2)]
    found = said(jobs(*twelve))
    assert found["waste"].new is not None
    assert found["loose density"].new is not None
    assert found["compaction factor"].new is None
    assert "From 0 jobs" in found["compaction factor"].told


def test_a_factor_that_no_stone_has_is_not_suggested() -> None:
    found = said(jobs(*(brought(size, factor=1.9) for size in SIZES)))
    assert found["compaction factor"].new is None
    assert "outside 1 to 1.6" in found["compaction factor"].told


def test_waste_never_reaches_below_nought() -> None:
    wastes = (0.0, 0.2, 0.0, 0.0, 0.0, 0.01)
    found = said(jobs(*(brought(size, waste=waste, left=True) for size, waste in zip(SIZES, wastes, strict=True))))
    assert found["waste"].low == 0


def worked(
    *hours: tuple[float, float | None, float | None], code: str = "base-place", unit: str = "yd3"
) -> list[JobActuals]:
    return [replace(BARE, worked=(Worked(code, amount, unit, crew, machine),)) for amount, crew, machine in hours]


def test_a_rate_is_all_that_was_built_over_all_hours() -> None:
    found = said(worked((20, 2, 1), (10, 2, 1), (40, 4, 2), (10, 1, 1), (20, 1, 1)))
    assert found["per crew hour"].new == pytest.approx(100 / 10)
    assert found["per machine hour"].new == pytest.approx(100 / 6)
    assert (found["per crew hour"].old, found["per crew hour"].unit) == (11.0, "yd3")


def test_a_rate_rests_only_on_jobs_with_such_hours() -> None:
    found = said(worked(*[(20.0, 2.0, None)] * 5))
    assert found["per crew hour"].jobs == 5
    assert "per machine hour" not in found


def test_a_rate_is_told_in_the_unit_of_the_sheet() -> None:
    metric = replace(COMPANY, rates=(Rate("base-place", 8.0, None, "m3"),))
    made = worked(*[(20.0, 2.0, None)] * 5)
    one = suggestions(made, metric, {})[0]
    assert (one.unit, one.new) == ("m3", pytest.approx(10 * YARD3_M3))


def test_a_work_without_a_rate_gets_a_new_row() -> None:
    found = suggestions(worked(*[(20.0, 2.0, None)] * 5), replace(COMPANY, rates=()), {})[0]
    assert found.old is None
    assert found.cell.endswith("a new row")
    assert found.verdict == "consider"


def test_rates_that_differ_too_much_are_not_suggested() -> None:
    found = said(worked((1, 10, None), (1, 10, None), (500, 1, None), (1, 10, None), (1, 10, None)))
    assert found["per crew hour"].new is None
    assert "differ too much" in found["per crew hour"].told


@settings(deadline=None)
@given(st.permutations(range(6)))
def test_the_order_of_jobs_does_not_matter(order: list[int]) -> None:
    made = jobs(*(brought(size, factor=1.2 + 0.01 * k, left=True) for k, size in enumerate(SIZES)))
    for one, other in zip(
        suggestions(made, COMPANY, {}), suggestions([made[k] for k in order], COMPANY, {}), strict=True
    ):
        assert one.new == pytest.approx(other.new, rel=1e-9)
        assert one.low == pytest.approx(other.low, rel=1e-6)


def test_the_cell_named_holds_the_old_value(tmp_path: Path) -> None:
    from openpyxl import load_workbook

    demo = write_demo(tmp_path / "demo")
    company = load_prices(demo.prices).company
    grids = company_grids(str(demo.prices))
    sheet = load_workbook(demo.prices, data_only=True)["Company"]

    def at(table: str, word: str, field: str) -> float:
        told = place(grids[table], word, field)
        assert told.startswith("sheet Company, cell ")
        return float(sheet[told.removeprefix("sheet Company, cell ")].value)

    for stone in company.stones:
        assert at("stones", stone.name, "compaction_factor") == pytest.approx(stone.compaction_factor)
        assert at("stones", stone.name, "waste") == pytest.approx(stone.waste)
        assert at("stones", stone.name, "loose_density") * TON_YD3 == pytest.approx(stone.loose_density_kg_m3)
    for rate in company.rates:
        if rate.per_crew_hour is not None:
            assert at("rates", rate.code, "per_crew_hour") == rate.per_crew_hour
    assert place(grids["rates"], "a work without a row", "per_crew_hour") == ""
    assert company_grids(str(tmp_path / "none.xlsx")) == {}
