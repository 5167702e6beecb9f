"""The interval of a ratio of sums: by hand, by an independent regression, and by its own laws."""

from math import sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from basecalc.core.errors import BasecalcError, InputError
from basecalc.season.factors import Sums, interval, t_share, t_value

JOBS = st.lists(
    st.tuples(st.floats(1.0, 500.0), st.floats(1.0, 500.0)), min_size=3, max_size=20
)  # what was used, what was built


def one_over_other(sums: Sums) -> float:
    return float(sums[0] / sums[1])


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


def test_t_needs_a_degree_of_freedom_and_a_share_below_one() -> None:
    for degrees, share in ((0, 0.95), (3, 1.0), (3, 0.0)):
        with pytest.raises(BasecalcError):
            t_value(degrees, share)


@pytest.mark.source("worked on paper from the definition; [computed]")
def test_three_jobs_by_hand() -> None:
    """Used 11, 19, 33 where 10, 20, 30 were built.

    All: 63 / 60 = 1.05. Without the first 52 / 50 = 1.04, the second 44 / 40 = 1.10, the third 30 / 30 = 1.00: moved by
    -0.01, 0.05, -0.05. Squares 0.0001 + 0.0025 + 0.0025 = 0.0051; its root is 0.0714143; times t of 2 degrees,
    4.302653, is 0.307271.
    """
    found = interval([(11.0, 10.0), (19.0, 20.0), (33.0, 30.0)], one_over_other)
    assert found.value == pytest.approx(1.05)
    assert found.error == pytest.approx(0.0714143, abs=1e-7)
    assert (found.low, found.high) == pytest.approx((1.05 - 0.307271, 1.05 + 0.307271), abs=1e-6)
    assert found.jobs == 3


@pytest.mark.source("MACKINNON-WHITE, HC3, as the documentation of statsmodels prints it; [read]")
@given(JOBS)
def test_it_is_the_weighted_regression_through_nought_with_hc3(jobs: list[tuple[float, float]]) -> None:
    """(X'X)^-1 X' diag(e^2 / (1 - h)^2) X (X'X)^-1, rows divided by the root of the size."""
    used, built = np.array(jobs).T
    across, up = (built / np.sqrt(built))[:, None], used / np.sqrt(built)
    bread = np.linalg.inv(across.T @ across)
    slope = (bread @ across.T @ up)[0]
    leverage = np.diag(across @ bread @ across.T)
    residual = (up - across[:, 0] * slope) / (1 - leverage)
    variance = (bread @ across.T @ np.diag(residual**2) @ across @ bread)[0, 0]
    found = interval(jobs, one_over_other)
    assert found.value == pytest.approx(slope, rel=1e-9)
    assert found.error == pytest.approx(sqrt(variance), rel=1e-6, abs=1e-9 * slope)


@given(JOBS, st.randoms())
def test_the_order_of_the_jobs_does_not_matter(jobs: list[tuple[float, float]], chance: object) -> None:
    shuffled = list(jobs)
    chance.shuffle(shuffled)  # type: ignore[attr-defined]
    one, other = interval(jobs, one_over_other), interval(shuffled, one_over_other)
    assert (one.value, one.error) == pytest.approx((other.value, other.error), rel=1e-9, abs=1e-12)


@given(JOBS, st.floats(0.01, 100.0))
def test_the_unit_does_not_matter(jobs: list[tuple[float, float]], times: float) -> None:
    one = interval(jobs, one_over_other)
    scaled = interval([(used * times, built) for used, built in jobs], one_over_other)
    assert (scaled.value, scaled.error) == pytest.approx((one.value * times, one.error * times), rel=1e-9, abs=1e-9)


@given(st.lists(st.floats(1.0, 500.0), min_size=3, max_size=20), st.floats(0.5, 2.0))
def test_jobs_that_all_agree_leave_no_doubt(built: list[float], rate: float) -> None:
    found = interval([(rate * one, one) for one in built], one_over_other)
    assert found.value == pytest.approx(rate, rel=1e-12)
    assert found.error == pytest.approx(0, abs=1e-9)


def test_a_big_job_weighs_more_than_a_small_one() -> None:
    assert interval([(200.0, 100.0), (1.0, 1.0)], one_over_other).value == pytest.approx(201 / 101)


def test_one_job_is_no_sample() -> None:
    with pytest.raises(InputError, match="there are 1 jobs; at least 2"):
        interval([(1.0, 2.0)], one_over_other)


def test_a_value_that_hangs_on_one_job_is_refused() -> None:
    with pytest.raises(InputError, match="at least two must have it"):
        interval([(1.0, 2.0), (1.0, 0.0)], one_over_other)
