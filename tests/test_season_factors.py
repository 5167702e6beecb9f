"""What a season suggests: only what the records can tell, from five jobs up, each with its interval and its cell."""

from collections.abc import Sequence
from dataclasses import replace
from math import sqrt
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from openpyxl import load_workbook
from scipy import stats
from test_season import prices  # noqa: F401 (a fixture)
from test_season_job import held
from trial_quote import LOOSE_KG_M3, trial_company

from basecalc import BasecalcError, load_prices
from basecalc.company import Rate
from basecalc.core.units import SHORT_TON_KG, YARD3_M3
from basecalc.season.actuals import Brought, JobActuals, Suggestion, Worked
from basecalc.season.factors import Sums, company_grids, interval, place, suggestions, t_share, t_value

STONE = "3/4 in crushed base"
COMPANY = trial_company()
BARE = held()
SIZES = (10.0, 14.0, 9.0, 22.0, 30.0, 12.0)
TON_YD3 = SHORT_TON_KG / YARD3_M3


def brought(
    volume: float, *, density: float = 1.48, factor: float = 1.254, waste: float = 0.05, left: bool = False,
    measured: bool = False,
) -> Brought:  # fmt: skip
    """Return the stone of a job by a known truth."""
    loose = LOOSE_KG_M3 if density == 1.48 else density * TON_YD3
    placed = volume * factor * loose
    bought = placed * (1 + waste)
    return Brought(
        "base-stone", STONE, volume, bought, placed * waste if left else None,
        bought if measured else 0.0, bought / loose if measured else 0.0,
    )  # fmt: skip


def jobs(*found: Brought) -> list[JobActuals]:
    return [replace(BARE, brought=(one,)) for one in found]


def said(made: Sequence[JobActuals]) -> dict[str, Suggestion]:
    return {one.what: one for one in suggestions(made, COMPANY, {})}


@pytest.mark.parametrize(
    ("density", "factor", "waste", "left", "measured"),
    [
        (1.48, 1.30, 0.08, False, False), (1.48, 1.30, 0.08, True, False), (1.60, 1.20, 0.05, False, True),
        (1.55, 1.22, 0.09, True, True),
    ],
)  # fmt: skip
def test_only_what_the_tickets_tell_apart_is_suggested(
    density: float, factor: float, waste: float, left: bool, measured: bool
) -> None:
    """The factor is right only if the two that were not measured are; density x factor x (1 + waste) always is."""
    truth = {"density": density, "factor": factor, "waste": waste, "left": left, "measured": measured}
    found = said(jobs(*(brought(size, **truth) for size in SIZES)))  # type: ignore[arg-type]
    whole, stone = found["weight bought per volume built"], found["compaction factor"]
    assert whole.new == pytest.approx(density * factor * (1 + waste))
    assert whole.old == pytest.approx(1.48 * 1.254 * 1.05)
    assert (whole.verdict, whole.cell) == ("shown", "")
    assert stone.new == pytest.approx(
        factor * (1 if left else (1 + waste) / 1.05) * (1 if measured else density / 1.48)
    )
    assert ("waste of 5.0%" in stone.told) is not left
    assert ("loose density of 1.48 ton/yd3" in stone.told) is not measured
    assert ("Holds only" in stone.told) is not (left and measured)
    assert found["waste"].new == (pytest.approx(waste) if left else None)
    assert ("cannot be told" in found["waste"].told) is not left
    assert "loose density" in found if measured else "loose density" not in found
    assert not measured or found["loose density"].new == pytest.approx(density)


def test_a_stone_whose_parts_hold_together_is_entered_together_and_one_that_fits_is_kept() -> None:
    """The factor is as the sheet has it, the waste is not: the product of all was measured."""
    shifts = (-0.02, 0.02, -0.01, 0.01, 0.015, -0.015)
    factors = [(size, 1.254 * (1 + shift)) for size, shift in zip(SIZES, shifts, strict=True)]
    found = said(jobs(*(brought(size, factor=factor, waste=0.12, left=True) for size, factor in factors)))
    assert (found["waste"].verdict, found["compaction factor"].verdict) == ("consider", "together")
    one = said(jobs(*(brought(size, factor=factor) for size, factor in factors)))["compaction factor"]
    assert one.low is not None
    assert one.high is not None
    assert one.low < 1.254 < one.high
    assert one.verdict == "keep"


def test_fewer_than_five_jobs_suggest_nothing() -> None:
    for count in (1, 4):
        found = said(jobs(*(brought(size, left=True, measured=True) for size in SIZES[:count])))
        assert set(found) == {"weight bought per volume built"}
        assert found["weight bought per volume built"].new is None
        assert f"From {count} job" in found["weight bought per volume built"].told
    assert said(jobs(*(brought(size) for size in SIZES[:5])))["compaction factor"].new == pytest.approx(1.254)
    four = said(jobs(*(brought(size, waste=0.1, left=place < 4) for place, size in enumerate(SIZES))))
    assert four["waste"].new is None
    assert "on 4 jobs, 5 are needed" in four["waste"].told
    assert four["compaction factor"].new == pytest.approx(1.254 * 1.1 / 1.05)
    twelve = [brought(size, left=place < 6, measured=place >= 6) for place, size in enumerate(SIZES * 2)]
    apart = said(jobs(*twelve))
    assert None not in (apart["waste"].new, apart["loose density"].new)
    assert apart["compaction factor"].new is None
    assert "From 0 jobs" in apart["compaction factor"].told


def test_a_factor_that_no_stone_has_is_not_suggested_and_waste_never_reaches_below_zero() -> None:
    found = said(jobs(*(brought(size, factor=1.9) for size in SIZES)))
    assert found["compaction factor"].new is None
    assert "outside 1 to 1.6" in found["compaction factor"].told
    wastes = zip(SIZES, (0.0, 0.2, 0.0, 0.0, 0.0, 0.01), strict=True)
    assert said(jobs(*(brought(size, waste=waste, left=True) for size, waste in wastes)))["waste"].low == 0


def worked(*hours: tuple[float, float | None, float | None]) -> list[JobActuals]:
    return [replace(BARE, worked=(Worked("base-place", *amount_hours(one)),)) for one in hours]


def amount_hours(one: tuple[float, float | None, float | None]) -> tuple[float, str, float | None, float | None]:
    return one[0], "yd3", one[1], one[2]


def test_a_rate_is_all_that_was_built_over_the_hours_of_jobs_that_have_any() -> None:
    found = said(worked((20, 2, 1), (10, 2, 1), (40, 4, 2), (10, 1, 1), (20, 1, 1)))
    assert found["per crew hour"].new == pytest.approx(100 / 10)
    assert found["per machine hour"].new == pytest.approx(100 / 6)
    assert (found["per crew hour"].old, found["per crew hour"].unit) == (11.0, "yd3")
    crew = worked(*[(20.0, 2.0, None)] * 5)
    assert said(crew)["per crew hour"].jobs == 5
    assert "per machine hour" not in said(crew)
    metric = suggestions(crew, replace(COMPANY, rates=(Rate("base-place", 8.0, None, "m3"),)), {})[0]
    assert (metric.unit, metric.new) == ("m3", pytest.approx(10 * YARD3_M3))
    new = suggestions(crew, replace(COMPANY, rates=()), {})[0]
    assert (new.old, new.verdict) == (None, "consider")
    assert new.cell.endswith("a new row")
    wild = said(worked((1, 10, None), (1, 10, None), (500, 1, None), (1, 10, None), (1, 10, None)))
    assert wild["per crew hour"].new is None
    assert "differ too much" in wild["per crew hour"].told


@settings(deadline=None)
@given(st.permutations(range(6)))
def test_the_order_of_jobs_does_not_matter(order: list[int]) -> None:
    made = jobs(*(brought(size, factor=1.2 + 0.01 * k, left=True) for k, size in enumerate(SIZES)))
    both = (suggestions(some, COMPANY, {}) for some in (made, [made[k] for k in order]))
    for one, other in zip(*both, strict=True):
        assert one.new == pytest.approx(other.new, rel=1e-9)
        assert one.low == pytest.approx(other.low, rel=1e-6)


def test_the_cell_named_holds_the_old_value(prices: Path, tmp_path: Path) -> None:  # noqa: F811
    company, grids = load_prices(prices).company, company_grids(str(prices))
    sheet = load_workbook(prices, data_only=True)["Company"]

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


# --- the interval of a ratio of sums: by hand, by an independent regression, and by its own laws

PAIRS = st.lists(
    st.tuples(st.floats(1.0, 500.0), st.floats(1.0, 500.0)), min_size=3, max_size=20
)  # what was used, what was built


def ratio(sums: Sums) -> float:
    return sums[0] / sums[1]


@pytest.mark.source("ABRAMOWITZ-STEGUN, Table 26.10, two-sided 95 %; [memory]")
@pytest.mark.parametrize(
    ("degrees", "printed"),
    [(1, 12.706), (2, 4.303), (3, 3.182), (4, 2.776), (5, 2.571), (9, 2.262), (11, 2.201), (30, 2.042), (120, 1.980)],
)
def test_t_is_as_printed(degrees: int, printed: float) -> None:
    assert t_value(degrees) == pytest.approx(printed, abs=5e-4)


@pytest.mark.parametrize("degrees", [*range(1, 41), 100, 399])
def test_t_agrees_with_scipy(degrees: int) -> None:
    for share in (0.5, 0.8, 0.95, 0.99):
        assert t_value(degrees, share) == pytest.approx(stats.t.ppf((1 + share) / 2, degrees), rel=1e-9)
        assert t_share(1.7, degrees) == pytest.approx(2 * stats.t.cdf(1.7, degrees) - 1, rel=1e-12)


def test_what_no_interval_can_be_made_of_is_refused() -> None:
    for degrees, share in ((0, 0.95), (3, 1.0), (3, 0.0)):
        with pytest.raises(BasecalcError):
            t_value(degrees, share)
    with pytest.raises(BasecalcError, match="there are 1 jobs; at least 2"):
        interval([(1.0, 2.0)], ratio)
    with pytest.raises(BasecalcError, match="at least two must have it"):
        interval([(1.0, 2.0), (1.0, 0.0)], ratio)


@pytest.mark.source("worked on paper from the definition; [computed]")
def test_three_jobs_by_hand() -> None:
    """Used 11, 19, 33 where 10, 20, 30 were built.

    All: 63 / 60 = 1.05. Without the first 52 / 50 = 1.04, the second 44 / 40 = 1.10, the third 30 / 30 = 1.00: moved by
    -0.01, 0.05, -0.05. Squares 0.0001 + 0.0025 + 0.0025 = 0.0051; its root is 0.0714143; times t of 2 degrees,
    4.302653, is 0.307271.
    """
    found = interval([(11.0, 10.0), (19.0, 20.0), (33.0, 30.0)], ratio)
    assert found.value == pytest.approx(1.05)
    assert found.error == pytest.approx(0.0714143, abs=1e-7)
    assert (found.low, found.high) == pytest.approx((1.05 - 0.307271, 1.05 + 0.307271), abs=1e-6)
    assert found.jobs == 3
    assert interval([(200.0, 100.0), (1.0, 1.0)], ratio).value == pytest.approx(201 / 101)  # a big job weighs more


@pytest.mark.source("MACKINNON-WHITE, HC3, as the documentation of statsmodels prints it; [read]")
@given(PAIRS)
def test_it_is_the_weighted_regression_through_zero_with_hc3(pairs: list[tuple[float, float]]) -> None:
    """(X'X)^-1 X' diag(e^2 / (1 - h)^2) X (X'X)^-1, rows divided by the root of the size."""
    used, built = np.array(pairs).T
    across, up = (built / np.sqrt(built))[:, None], used / np.sqrt(built)
    bread = np.linalg.inv(across.T @ across)
    slope = (bread @ across.T @ up)[0]
    leverage = np.diag(across @ bread @ across.T)
    residual = (up - across[:, 0] * slope) / (1 - leverage)
    variance = (bread @ across.T @ np.diag(residual**2) @ across @ bread)[0, 0]
    found = interval(pairs, ratio)
    assert found.value == pytest.approx(slope, rel=1e-9)
    assert found.error == pytest.approx(sqrt(variance), rel=1e-6, abs=1e-9 * slope)


@given(PAIRS, st.randoms(), st.floats(0.01, 100.0))
def test_neither_order_nor_unit_matters_and_jobs_that_agree_leave_no_doubt(
    pairs: list[tuple[float, float]], chance, times: float
) -> None:
    shuffled = list(pairs)
    chance.shuffle(shuffled)
    one, other = interval(pairs, ratio), interval(shuffled, ratio)
    assert (one.value, one.error) == pytest.approx((other.value, other.error), rel=1e-9, abs=1e-12)
    scaled = interval([(used * times, built) for used, built in pairs], ratio)
    assert (scaled.value, scaled.error) == pytest.approx((one.value * times, one.error * times), rel=1e-9, abs=1e-9)
    alike = interval([(times * built, built) for _, built in pairs], ratio)
    assert (alike.value, alike.error) == (pytest.approx(times, rel=1e-12), pytest.approx(0, abs=1e-7 * times))
