"""The random-effects pieces against closed forms and an independent optimiser."""

import math

import numpy as np
import pytest

from loamery.lab.random_effects import (
    between_loads,
    censored_normal,
    censored_posterior,
    disagreement,
    load_variance,
    paule_mandel,
    pool,
    reml,
)


def test_equal_errors_have_a_closed_form():
    y, v = [1.0, 2.0, 4.0, 5.0], [0.5] * 4
    assert paule_mandel(y, v) == pytest.approx(np.var(y, ddof=1) - 0.5, rel=1e-9)
    assert reml(y, v) == pytest.approx(np.var(y, ddof=1) - 0.5, rel=1e-9)


def test_no_more_scatter_than_error_is_zero():
    assert paule_mandel([1.0, 1.01, 0.99], [0.1] * 3) == 0.0
    assert reml([1.0, 1.01, 0.99], [0.1] * 3) == 0.0


def test_single_sample_has_no_variance_of_its_own():
    assert paule_mandel([1.0], [0.1]) == 0.0
    assert between_loads([1.0], [0.1], 0.3) == 0.3


def test_observed_variance_takes_over_as_samples_grow():
    rng = np.random.default_rng(1)
    y = list(rng.normal(0, 1.0, 400))
    assert between_loads(y, [0.01] * 400, 0.04) == pytest.approx(float(np.var(y)), rel=0.05)


def test_pool_without_prior_is_the_weighted_mean():
    found = pool([1.0, 3.0], [1.0, 3.0], 0.0, None)
    assert found.mean == pytest.approx(1.5)
    assert found.variance == pytest.approx(0.75)
    assert sum(found.weights) == pytest.approx(1.0)


def test_prior_counts_as_one_more_value():
    found = pool([1.0], [1.0], 0.0, (3.0, 3.0))
    assert found.mean == pytest.approx(1.5)
    assert found.variance == found.predictive_variance == pytest.approx(0.75)


@pytest.mark.parametrize(("samples", "student"), [(1, 1.8595), (5, 1.7823), (23, 1.6973)])
def test_next_load_allows_for_an_estimated_variance(samples: int, student: float):
    # 95 % points of Student's t at 8, 12 and 30 degrees of freedom, as printed in any table.
    assert math.sqrt(load_variance(1.0, samples)) * 1.6449 == pytest.approx(student, rel=0.015)
    assert load_variance(0.4, 0) == 0.4


def test_disagreement_is_the_worst_pair():
    assert disagreement([0.0, 1.0, 5.0], [0.5, 0.5, 0.5], 0.0) == pytest.approx(5.0)
    assert disagreement([0.0], [1.0], 0.0) == 0.0


def likelihood(theta: np.ndarray, found: np.ndarray, limits: np.ndarray) -> float:
    from scipy.stats import norm

    mean, sd = theta[0], math.exp(theta[1])
    return -float(np.sum(norm.logpdf(found, mean, sd)) + np.sum(norm.logcdf(limits, mean, sd)))


@pytest.mark.parametrize("seed", [1, 2, 3, 4])
def test_censored_fit_is_the_maximum_an_optimiser_finds(seed: int):
    from scipy.optimize import minimize

    rng = np.random.default_rng(seed)
    values = rng.normal(-2.0, 0.7, 30)
    limits = rng.choice([-2.3, -2.0], 30)
    found, below = values[values >= limits], limits[values < limits]
    mean, variance = censored_normal(found, below)
    best = minimize(likelihood, np.array([-2.0, -0.3]), (found, below), method="Nelder-Mead", options={"xatol": 1e-9})
    assert mean == pytest.approx(best.x[0], abs=1e-4)
    assert math.sqrt(variance) == pytest.approx(math.exp(best.x[1]), rel=1e-3)


def test_without_non_detects_the_fit_is_the_plain_one():
    values = [1.0, 2.0, 4.0]
    assert censored_normal(values, []) == pytest.approx((np.mean(values), np.var(values)))


def test_grid_agrees_with_the_closed_form_when_nothing_is_censored():
    grid, rising = censored_posterior(([1.0, 1.4], [0.1, 0.2]), ([], []), 0.05, (0.0, 1.0), points=4001)
    exact = pool([1.0, 1.4], [0.1, 0.2], 0.05, (0.0, 1.0))
    assert float(np.interp(0.5, rising, grid)) == pytest.approx(exact.mean, abs=0.005)
    width = float(np.interp(0.95, rising, grid) - np.interp(0.05, rising, grid))
    assert width == pytest.approx(2 * 1.6449 * math.sqrt(exact.variance), rel=0.01)


def test_non_detect_agrees_with_simulation():
    rng = np.random.default_rng(5)
    means = rng.normal(0.0, 1.0, 400_000)
    kept = means[means + rng.normal(0, 0.5, means.size) < -0.5]
    grid, rising = censored_posterior(([], []), ([-0.5], [0.15]), 0.10, (0.0, 1.0))
    for share in (0.05, 0.5, 0.95):
        assert float(np.interp(share, rising, grid)) == pytest.approx(float(np.quantile(kept, share)), abs=0.02)


@pytest.mark.filterwarnings("error")
def test_samples_said_to_be_without_error_do_no_harm() -> None:
    assert paule_mandel([0.0, 0.0], [0.0, 0.0]) == 0.0
    # Q = sum (y - mean)^2 / tau2 = k - 1 gives the variance of the two, 0.5
    assert paule_mandel([0.0, 1.0], [0.0, 0.0]) == pytest.approx(0.5, rel=1e-6)
    assert reml([0.0, 1.0], [0.0, 0.0]) == pytest.approx(0.5, rel=1e-6)
