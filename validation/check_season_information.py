"""The worth of a laboratory test: regression on draws against a closed form and against a nested Monte Carlo.

Closed form (recalled, textbook): a gamble on theta ~ N(mu, sigma) against nothing is worth sigma' phi(mu/sigma') + mu Phi(mu/sigma') - mu
to one who sees theta with noise, sigma' the spread of the mean that the answer leaves. The nested Monte Carlo takes other
draws, cuts them into forty parts by the nitrogen of the grounds, and decides in each part by its own mean.
"""

from __future__ import annotations

import math
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from loamery.garden import read_garden
from loamery.season.by_hand import play_by_hand
from loamery.season.information import value_of_knowing
from loamery.season.make import Solved, solve_prepared
from loamery.season.outcome import worth_of
from loamery.season.prepare import prepare
from loamery.season.replay import replay
from loamery.season.years import draw_years

NOISES = (0.0, 0.5, 1.0, 2.0)
N, PARTS, DRAWS = 20000, 40, 2000
STARTER = Path(__file__).resolve().parents[1] / "loamery" / "garden" / "starter"
MATERIAL = "grounds"


@cache
def starter() -> Solved:
    """Return the plan of the starter garden."""
    return solve_prepared(prepare(read_garden(STARTER)), scenarios=4)


def closed_form(noise: float, mu: float = 0.3) -> float:
    spread = 1.0 / math.sqrt(1.0 + noise**2)
    z = mu / spread
    return spread * math.exp(-0.5 * z * z) / math.sqrt(2 * math.pi) + mu * 0.5 * (1 + math.erf(z / math.sqrt(2))) - mu


def by_regression(noise: float) -> float:
    rng = np.random.default_rng(11)
    theta = rng.normal(0.3, 1.0, N)
    benefit = np.column_stack([np.zeros(N), theta + rng.normal(0.0, 0.5, N)])
    return value_of_knowing(benefit, (theta + noise * rng.normal(size=N))[:, None]).value


@pytest.mark.parametrize("noise", NOISES)
def test_a_gamble_is_worth_what_the_closed_form_says(noise: float) -> None:
    assert by_regression(noise) == pytest.approx(closed_form(noise), abs=0.012)


def season_benefits(seed: int) -> tuple[np.ndarray, np.ndarray]:
    """Return what the plan of the starter garden and the rules of the hand bring, and the nitrogen of its grounds."""
    one = starter()
    years = draw_years(one.prepared, one.problem.calendar, DRAWS, seed)
    hand = play_by_hand(one.prepared, one.problem)
    played = [replay(one.prepared, *pair, years=years, simulate=False) for pair in ((one.problem, one.solution), hand)]
    worth = np.stack([worth_of(one.problem, each.outcome.figures) for each in played], axis=1)
    worth[:, 1] += worth[:, 0].mean() - worth[:, 1].mean()  # even on the whole, so that knowing matters
    return worth, years.compositions[MATERIAL].draws("N")


def nested(benefit: np.ndarray, known: np.ndarray) -> float:
    parts = np.array_split(np.argsort(known, kind="stable"), PARTS)
    best = sum(len(part) * float(benefit[part].mean(axis=0).max()) for part in parts) / known.size
    return best - float(benefit.mean(axis=0).max())


def test_a_season_is_worth_what_nesting_says(capsys: pytest.CaptureFixture[str]) -> None:
    benefit, known = season_benefits(101)
    other, other_known = season_benefits(202)
    regression = value_of_knowing(benefit, np.log(known)[:, None])
    brute = nested(other, other_known)
    same = nested(benefit, known)
    with capsys.disabled():
        print("\nWorth of knowing before deciding: closed form, by regression")
        for noise in NOISES:
            print(f"  noise {noise:3.1f} {closed_form(noise):8.4f} {by_regression(noise):8.4f}")
        print(
            f"  starter garden, nitrogen of grounds known: nested {same:.3f}, with other draws {brute:.3f}, "
            f"regression {regression.value:.3f} ± {regression.error:.3f}"
        )
    assert regression.value == pytest.approx(same, abs=regression.error)
    assert regression.value == pytest.approx(brute, abs=3 * math.sqrt(2.0) * regression.error)
    assert regression.value > 5 * regression.error
