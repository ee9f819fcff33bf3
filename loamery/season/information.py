"""What it is worth to know more before deciding: expected value of information by regression on draws.

Draws of benefits for several decisions are regressed on what a test would say. The decision is then taken by what the
regression foresees and paid with what really comes, on draws the regression has not seen; so noise is not sold as knowledge.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
FOLDS = 10
LEAST_DRAWS = 50
RANK = 1e-10
"""Directions of features this much weaker than the strongest carry nothing."""


@dataclass(frozen=True)
class Worth:
    """What knowing is worth before deciding, in the unit of the benefits, at least 0.

    Parameters
    ----------
    error : one standard error of the estimate.
    changes : share of draws in which another decision is taken than without knowing.
    narrows : by what share the spread of the benefit of the usual decision shrinks once the signal is known.
    """

    value: float
    error: float
    changes: float
    narrows: float


def value_of_knowing(benefit: Array, signal: Array, *, seed: int = 1) -> Worth:
    """Return what it is worth to see a signal before deciding.

    Parameters
    ----------
    benefit : of every decision in every draw, shape (draws, decisions).
    signal : what would be seen, shape (draws, quantities).
    seed : of the order in which draws are put aside.

    Raises
    ------
    ValueError : fewer than 50 draws, or arrays that do not belong together.

    Source
    ------
    Regression-based expected value of (partial perfect or sample) information: Strong, Oakley and Brennan 2014 (STRONG14); Strong et
    al. 2015 (STRONG15), both recalled. Additive polynomials stand for their splines; folds put aside stand against over-fitting.
    """
    n = benefit.shape[0]
    if benefit.ndim != 2 or signal.ndim != 2 or signal.shape[0] != n or n < LEAST_DRAWS:
        raise ValueError(
            f"benefits {benefit.shape} and signal {signal.shape} do not fit, or fewer than {LEAST_DRAWS} draws"
        )
    usual = int(benefit.mean(axis=0).argmax())
    gain = benefit - benefit[:, [usual]]
    # beside the gains, the benefit of the usual decision itself: what is foreseen of it is what knowing narrows
    aims = np.column_stack([gain, benefit[:, usual] - benefit[:, usual].mean()])
    features = _features(signal)
    fold = np.random.default_rng(seed).permutation(n) % FOLDS
    foreseen = np.zeros_like(aims)
    squares = np.stack([features[fold == number].T @ features[fold == number] for number in range(FOLDS)])
    products = np.stack([features[fold == number].T @ aims[fold == number] for number in range(FOLDS)])
    for number in range(FOLDS):
        out = fold == number
        # normal equations: features are near orthogonal, and a sum less one part costs less than ten regressions
        weights, *_ = np.linalg.lstsq(squares.sum(0) - squares[number], products.sum(0) - products[number], rcond=RANK)
        foreseen[out] = features[out] @ weights
    chosen = foreseen[:, :-1].argmax(axis=1)
    paid = gain[np.arange(n), chosen]
    spread = float(aims[:, -1].std())
    left = float((aims[:, -1] - foreseen[:, -1]).std()) / spread if spread > 0.0 else 1.0
    return Worth(
        max(float(paid.mean()), 0.0),
        float(paid.std(ddof=1) / np.sqrt(n)),
        float(np.mean(chosen != usual)),
        max(1.0 - left, 0.0),
    )


def value_of_certainty(benefit: Array) -> float:
    """Return what it would be worth to know everything before deciding: no test can be worth more."""
    return float(benefit.max(axis=1).mean() - benefit.mean(axis=0).max())


def _features(signal: Array) -> Array:
    """Return constant, value, square and cube of every quantity on the scale of normal scores."""
    from scipy.special import ndtri

    n = signal.shape[0]
    ranks = signal.argsort(axis=0).argsort(axis=0)
    scores = ndtri((ranks + 0.5) / n)
    moving = signal.std(axis=0) > 0.0
    scores = scores[:, moving]
    return np.column_stack([np.ones(n), scores, scores**2 - 1.0, scores**3 - 3.0 * scores])
