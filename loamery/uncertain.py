"""Uncertain quantities: a distribution on the scale that suits it, seeded draws, and 90 % bands.

Concentrations are log-normal, moisture and other shares logit-normal, pH normal. A draw is an array whose last axis is
the draws, so the same model function serves one number and a thousand.
"""

from __future__ import annotations

import hashlib
import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from loamery.finding import Band
from loamery.reference import coefficient

Draws = NDArray[np.float64]
DRAWS = 1000
BAND = (0.05, 0.5, 0.95)
_Z90 = 1.6448536269514722  # standard normal quantile at 0.95


@dataclass(frozen=True)
class Uncertain:
    """A quantity that is not known exactly.

    Parameters
    ----------
    kind : ``lognormal``, ``logit`` (a share between 0 and 1) or ``normal``.
    mu, sigma : mean and standard deviation on the transformed scale; sigma 0 is a fixed number.
    """

    kind: str
    mu: float
    sigma: float

    @property
    def median(self) -> float:
        """Return the median in the quantity's own unit."""
        return float(from_scale(self.kind, self.mu))

    def quantile(self, z: float) -> float:
        """Return the value at a standard normal score z."""
        return float(from_scale(self.kind, self.mu + z * self.sigma))

    def band(self, unit: str = "", factor: float = 1.0) -> Band:
        """Return median and 90 % band times a factor."""
        low, high = self.quantile(-_Z90), self.quantile(_Z90)
        return Band(self.median * factor, low * factor, high * factor, unit)

    def draw(self, n: int, seed: int, *stream: str) -> Draws:
        """Return n seeded draws; the same seed and stream names always give the same draws."""
        return np.asarray(from_scale(self.kind, self.mu + self.sigma * scores(n, seed, *stream)), dtype=np.float64)


def scores(n: int, seed: int, *stream: str) -> Draws:
    """Return n standard normal scores of a named stream, independent of every other stream.

    Parameters
    ----------
    n : number of draws.
    seed : the garden's seed.
    stream : names that tell this stream from the others, e.g. material and quantity.

    Returns
    -------
    Array of shape (n,).
    """
    digest = hashlib.sha256("\x1f".join(stream).encode()).digest()
    words = np.frombuffer(digest[:16], dtype=np.uint32)
    return np.random.default_rng([seed, *(int(word) for word in words)]).standard_normal(n)


def to_scale(kind: str, value: ArrayLike) -> Draws:
    """Return values on the scale on which the distribution is normal.

    Raises
    ------
    ValueError : a log-normal value is not positive, or a share is not strictly between 0 and 1.
    """
    array = np.asarray(value, dtype=np.float64)
    if kind == "lognormal":
        if np.any(array <= 0):
            raise ValueError("a log-normal quantity must be above zero")
        return np.log(array)
    if kind == "logit":
        if np.any((array <= 0) | (array >= 1)):
            raise ValueError("a share must lie strictly between 0 and 1")
        return np.asarray(np.log(array) - np.log1p(-array))
    return array


def from_scale(kind: str, value: ArrayLike) -> Draws:
    """Return values from the normal scale back in the quantity's own unit."""
    array = np.asarray(value, dtype=np.float64)
    if kind == "lognormal":
        return np.asarray(np.exp(array))
    if kind == "logit":
        return np.asarray(1.0 / (1.0 + np.exp(-array)))
    return array


def from_range(kind: str, low: float, high: float, typical: float | None = None) -> Uncertain:
    """Return the distribution whose 90 % band is a published range.

    Parameters
    ----------
    low, high : ends of the range, in the quantity's own unit.
    typical : the median to use; the middle of the range on the transformed scale when None.

    Notes
    -----
    With a typical value off the middle the wider side sets the spread, so the band never hides published values.
    """
    a, b = float(to_scale(kind, low)), float(to_scale(kind, high))
    mu = 0.5 * (a + b) if typical is None else float(to_scale(kind, typical))
    return Uncertain(kind, mu, max(b - mu, mu - a, 0.0) / _Z90)


def from_rsd(kind: str, value: float, rsd: float) -> Uncertain:
    """Return the distribution with a median and a relative standard deviation.

    Parameters
    ----------
    value : median, in the quantity's own unit.
    rsd : relative standard deviation as a fraction; for ``normal`` the standard deviation is rsd times value.
    """
    if kind == "lognormal":
        return Uncertain(kind, float(to_scale(kind, value)), math.sqrt(math.log1p(rsd * rsd)))
    if kind == "logit":
        return Uncertain(kind, float(to_scale(kind, value)), rsd / (1.0 - value))
    return Uncertain(kind, value, abs(rsd * value))


def percentiles(draws: ArrayLike, axis: int = -1, *, between: bool = True) -> Draws:
    """Return the 5th, 50th and 95th percentile of draws, shape (3, ...).

    Parameters
    ----------
    between : read between two draws; a draw itself when False, as where some are infinite.

    Notes
    -----
    Rank r of n draws stands for r/(n + 1), so one more draw lies between the outer two in nine of ten cases however few the
    draws are (down to 19, below which the least and the greatest stand in). Plain (r - 1)/(n - 1) holds 83 % with 24 draws.

    Source
    ------
    Weibull 1939 plotting position (recalled); the expected value of the r-th of n uniform draws.
    """
    array = np.asarray(draws, dtype=np.float64)
    if between:
        return np.asarray(np.quantile(array, BAND, axis=axis, method="weibull"))
    ranked = np.sort(array, axis=axis)
    n = ranked.shape[axis]
    places = np.clip(np.rint(np.array(BAND) * (n + 1)).astype(int) - 1, 0, n - 1)
    return np.moveaxis(np.take(ranked, places, axis=axis), axis, 0)


def band(draws: ArrayLike, unit: str = "", factor: float = 1.0) -> Band:
    """Return median and 90 % band of draws.

    Parameters
    ----------
    draws : array of shape (n,).
    factor : multiplies all three figures, for the printed unit.
    """
    low, median, high = percentiles(np.asarray(draws, dtype=np.float64) * factor)
    return Band(float(median), float(low), float(high), unit)


def horwitz_rsd(mass_frac: float) -> float:
    """Return the relative standard deviation between laboratories expected at a concentration.

    Parameters
    ----------
    mass_frac : concentration, kg per kg, above 0 and at most 1.

    Returns
    -------
    Relative standard deviation as a fraction (0.04 at a concentration of 0.01).

    Source
    ------
    Horwitz, RSD % = 2^(1 - 0.5 log10 C) (AOAC Appendix F 2012, Table D1); Thompson's constant 22 % below 1.2e-7 and
    sigma = 0.01 C^0.5 above 0.138.
    """
    if not 0 < mass_frac <= 1:
        raise ValueError(f"a concentration must lie in (0, 1], not {mass_frac!r}")
    if mass_frac < coefficient("thompson_low_conc").value:
        return coefficient("thompson_low_rsd").value
    if mass_frac > coefficient("thompson_high_conc").value:
        return coefficient("thompson_high_coeff").value / math.sqrt(mass_frac)
    return 0.01 * math.pow(coefficient("horwitz_a").value, 1.0 - 0.5 * math.log10(mass_frac))
