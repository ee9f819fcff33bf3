"""Random-effects combination: several samples of one material, each with its own error, and a published prior."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from loamery.reference import coefficient

Array = NDArray[np.float64]
_NORMAL = NormalDist()
LEAST_VARIANCE = 1e-30
"""A sample said to be without any error would weigh without end; it weighs as one with this."""


@dataclass(frozen=True)
class Pooled:
    """A combined mean on the transformed scale, and the spread of the next load about it.

    Parameters
    ----------
    mean, variance : of the material's mean.
    load_variance : variance of one more load about that mean.
    weights : weight of each sample in the mean; with a prior they add up to less than one.
    """

    mean: float
    variance: float
    load_variance: float
    weights: tuple[float, ...]

    @property
    def predictive_variance(self) -> float:
        """Return the variance of one more load."""
        return self.variance + self.load_variance


def _weighted(y: Array, v: Array, tau2: float) -> tuple[float, float, Array]:
    weights = 1.0 / np.maximum(v + tau2, LEAST_VARIANCE)
    mean = float(np.sum(weights * y) / np.sum(weights))
    return mean, float(np.sum(weights * (y - mean) ** 2)), weights


def paule_mandel(y: Sequence[float], v: Sequence[float]) -> float:
    """Return the between-sample variance at which the weighted sum of squares equals its expectation.

    Parameters
    ----------
    y : sample values on the transformed scale.
    v : their error variances, above zero.

    Returns
    -------
    tau squared, zero when the samples scatter no more than their errors.

    Source
    ------
    Paule & Mandel (1982), J. Res. NBS 87:377, generalised Q = k - 1.
    """
    values, errors = np.asarray(y, dtype=np.float64), np.asarray(v, dtype=np.float64)
    freedom = len(values) - 1

    def excess(tau2: float) -> float:
        return _weighted(values, errors, tau2)[1] - freedom

    return _root(excess, float(np.var(values)) + float(np.max(errors))) if freedom > 0 and excess(0.0) > 0 else 0.0


def reml(y: Sequence[float], v: Sequence[float]) -> float:
    """Return the between-sample variance by restricted maximum likelihood.

    Parameters
    ----------
    y : sample values on the transformed scale.
    v : their error variances, above zero.

    Source
    ------
    Viechtbauer (2005), J. Educ. Behav. Stat. 30:261, score of the restricted likelihood.
    """
    values, errors = np.asarray(y, dtype=np.float64), np.asarray(v, dtype=np.float64)

    def score(tau2: float) -> float:
        mean, _, w = _weighted(values, errors, tau2)
        trace = float(np.sum(w) - np.sum(w**2) / np.sum(w))
        return float(np.sum(w**2 * (values - mean) ** 2)) - trace

    return _root(score, float(np.var(values)) + float(np.max(errors))) if len(values) > 1 and score(0.0) > 0 else 0.0


def _root(falling: Callable[[float], float], start: float) -> float:
    low, high = 0.0, max(start, 1e-12)
    while falling(high) > 0:
        low, high = high, 2.0 * high
    for _ in range(200):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if falling(middle) > 0 else (low, middle)
    return 0.5 * (low + high)


def between_loads(y: Sequence[float], v: Sequence[float], default: float) -> float:
    """Return the between-load variance: the observed one, drawn towards the default while samples are few.

    Parameters
    ----------
    y, v : samples and their error variances on the transformed scale.
    default : variance between loads expected for such materials; it counts for ``tau_prior_weight`` samples.
    """
    freedom = len(y) - 1
    if freedom < 1:
        return default
    weight = coefficient("tau_prior_weight").value
    return (weight * default + freedom * paule_mandel(y, v)) / (weight + freedom)


def load_variance(tau2: float, samples: int) -> float:
    """Return the variance to draw the next load with when the between-load variance is itself an estimate.

    Parameters
    ----------
    tau2 : between-load variance, from `between_loads`.
    samples : how many samples it rests on; none leaves it as it is.

    Source
    ------
    Student's 95 % point over the normal one, expansion 26.7.5 of Abramowitz & Stegun (1964), first term.
    """
    if samples < 1:
        return tau2
    freedom = coefficient("tau_prior_weight").value + samples - 1
    z = _NORMAL.inv_cdf(0.95)
    return tau2 * (1.0 + (z * z + 1.0) / (4.0 * freedom)) ** 2


def pool(y: Sequence[float], v: Sequence[float], tau2: float, prior: tuple[float, float] | None) -> Pooled:
    """Return the mean of a material from its samples and, when there is one, a prior for that mean.

    Parameters
    ----------
    y, v : samples and their error variances.
    tau2 : variance between loads.
    prior : mean and variance of the published mean; None when nothing is published.
    """
    precisions = [1.0 / (one + tau2) for one in v]
    whole = sum(precisions) + (1.0 / prior[1] if prior else 0.0)
    total = sum(p * one for p, one in zip(precisions, y, strict=True)) + (prior[0] / prior[1] if prior else 0.0)
    weights = tuple(p / whole for p in precisions)
    return Pooled(total / whole, 1.0 / whole, load_variance(tau2, len(y)), weights)


def disagreement(y: Sequence[float], v: Sequence[float], tau2: float) -> float:
    """Return the largest standard score between any two samples, allowing for loads to differ."""
    pairs = [(i, j) for i in range(len(y)) for j in range(i)]
    return max((abs(y[i] - y[j]) / math.sqrt(v[i] + v[j] + 2 * tau2) for i, j in pairs), default=0.0)


def censored_normal(detects: Sequence[float], limits: Sequence[float], steps: int = 500) -> tuple[float, float]:
    """Return mean and variance of a normal sample of which some values are only known to lie below a limit.

    Parameters
    ----------
    detects : values found, on the transformed scale; at least two.
    limits : reporting limits of the non-detects, same scale.

    Returns
    -------
    Maximum-likelihood mean and variance.

    Source
    ------
    Expectation-maximisation for left-censored data (Dempster, Laird & Rubin 1977); no substitution (Helsel 2005).
    """
    found, below = np.asarray(detects, dtype=np.float64), np.asarray(limits, dtype=np.float64)
    mean, variance = float(np.mean(found)), max(float(np.var(found)), 1e-9)
    count = len(found) + len(below)
    for _ in range(steps):
        first, second = _below_moments(below, mean, math.sqrt(variance))
        new = float((np.sum(found) + np.sum(first)) / count)
        spread = float((np.sum((found - new) ** 2) + np.sum(second - 2 * new * first + new**2)) / count)
        done = abs(new - mean) + abs(spread - variance) < 1e-13 * (1.0 + abs(mean))
        mean, variance = new, max(spread, 1e-12)
        if done:
            break
    return mean, variance


def _below_moments(limits: Array, mean: float, sd: float) -> tuple[Array, Array]:
    z = (limits - mean) / sd
    cumulative = np.maximum(np.array([_NORMAL.cdf(one) for one in z]), 1e-300)
    hazard = np.exp(-0.5 * z**2) / math.sqrt(2 * math.pi) / cumulative
    first = mean - sd * hazard
    return first, sd**2 * (1.0 - z * hazard - hazard**2) + first**2


def censored_posterior(
    samples: tuple[Sequence[float], Sequence[float]],
    limits: tuple[Sequence[float], Sequence[float]],
    tau2: float,
    prior: tuple[float, float],
    points: int = 801,
) -> tuple[Array, Array]:
    """Return the posterior of a material's mean when some samples are non-detects, on a grid.

    Parameters
    ----------
    samples : values and error variances of the detects, transformed scale.
    limits : reporting limits of the non-detects and their error variances.
    tau2 : variance between loads.
    prior : mean and variance of the published mean.
    points : grid points.

    Returns
    -------
    Grid and its cumulative probability, both of shape (points,).
    """
    reach = 6.0 * math.sqrt(prior[1])
    ends = [prior[0] - reach, prior[0] + reach, *samples[0], *limits[0]]
    # Non-detects far below the published range pull the mean below every printed number.
    spare = 6.0 * math.sqrt(prior[1] + tau2)
    grid = np.linspace(min(ends) - spare, max(ends), points)
    log_weight = -0.5 * (grid - prior[0]) ** 2 / prior[1]
    for value, error in zip(*samples, strict=True):
        log_weight -= 0.5 * (grid - value) ** 2 / (error + tau2)
    for limit, error in zip(*limits, strict=True):
        log_weight += _log_cdf((limit - grid) / math.sqrt(error + tau2))
    weight = np.exp(log_weight - np.max(log_weight))
    return grid, np.cumsum(weight) / np.sum(weight)


def _log_cdf(z: Array) -> Array:
    return np.log(np.maximum(cdf(z), 1e-300))


def cdf(z: Array) -> Array:
    """Return the standard normal distribution function of an array."""
    return np.asarray(0.5 * _erfc(-z / math.sqrt(2.0)), dtype=np.float64)


_erfc = np.frompyfunc(math.erfc, 1, 1)
