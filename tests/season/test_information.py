"""The value of knowing, against what can be computed by hand and by brute force."""

from __future__ import annotations

import math

import numpy as np
import pytest

from loamery.season.information import value_of_certainty, value_of_knowing

N = 4000


def gauss(mu: float, sigma: float) -> float:
    """Return E[max(0, X)] of a normal X."""
    z = mu / sigma
    density = math.exp(-0.5 * z * z) / math.sqrt(2 * math.pi)
    return mu * 0.5 * (1 + math.erf(z / math.sqrt(2))) + sigma * density


def two_choices(noise: float, seed: int = 3) -> tuple[np.ndarray, np.ndarray]:
    """Return benefits of doing nothing and of a gamble on theta, and what a noisy test of theta says."""
    rng = np.random.default_rng(seed)
    theta = rng.normal(0.3, 1.0, N)
    other = rng.normal(0.0, 0.5, N)
    return np.column_stack([np.zeros(N), theta + other]), (theta + noise * rng.normal(size=N))[:, None]


@pytest.mark.parametrize("noise", [0.0, 0.5, 1.5])
def test_a_test_of_a_normal_gamble_is_worth_what_the_formula_says(noise: float) -> None:
    benefit, signal = two_choices(noise)
    told = 1.0 / math.sqrt(1.0 + noise**2)  # spread of the mean that the answer leaves one with
    found = value_of_knowing(benefit, signal)
    assert found.value == pytest.approx(gauss(0.3, told) - 0.3, abs=4 * found.error + 0.01)


@pytest.mark.parametrize("noise", [0.0, 0.5, 1.5])
def test_a_test_narrows_by_what_it_says_of_the_truth(noise: float) -> None:
    benefit, signal = two_choices(noise)
    left = math.sqrt(
        (1.25 - 1.0 / (1.0 + noise**2)) / 1.25
    )  # of the gamble's variance, 1.25, the answer tells its part
    assert value_of_knowing(benefit, signal).narrows == pytest.approx(1.0 - left, abs=0.02)


def test_noise_narrows_nothing() -> None:
    benefit, _ = two_choices(0.5)
    assert value_of_knowing(benefit, np.random.default_rng(9).normal(size=(N, 6))).narrows < 0.01


def test_certainty_is_worth_most() -> None:
    benefit, signal = two_choices(0.5)
    assert value_of_certainty(benefit) == pytest.approx(gauss(0.3, math.sqrt(1.25)) - 0.3, abs=0.05)
    assert value_of_knowing(benefit, signal).value < value_of_certainty(benefit)


def test_noise_is_not_sold_as_knowledge() -> None:
    benefit, _ = two_choices(0.5)
    noise = np.random.default_rng(9).normal(size=(N, 6))
    found = value_of_knowing(benefit, noise)
    assert found.value <= 2.5 * max(found.error, 0.005)


def test_one_plan_to_choose_from_makes_knowing_worthless() -> None:
    benefit, signal = two_choices(0.0)
    found = value_of_knowing(benefit[:, :1], signal)
    assert (found.value, found.changes) == (0.0, 0.0)


def test_a_signal_that_never_changes_says_nothing() -> None:
    benefit, _ = two_choices(0.0)
    assert value_of_knowing(benefit, np.ones((N, 2))).changes == 0.0


def test_a_bent_answer_is_followed() -> None:
    rng = np.random.default_rng(4)
    theta = rng.normal(size=N)
    benefit = np.column_stack([np.zeros(N), theta**2 - 1.5])
    truth = float(np.maximum(theta**2 - 1.5, 0.0).mean())
    assert value_of_knowing(benefit, theta[:, None]).value == pytest.approx(truth, rel=0.1)


@pytest.mark.parametrize(("benefit", "signal"), [((20, 2), (20, 1)), ((100, 2), (99, 1)), ((100,), (100, 1))])
def test_arrays_that_do_not_fit_are_refused(benefit: tuple[int, ...], signal: tuple[int, ...]) -> None:
    with pytest.raises(ValueError, match="do not fit"):
        value_of_knowing(np.zeros(benefit), np.zeros(signal))
