"""All comparisons of a trial judged together: the largest |t| that chance alone would give."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
POINTS_POWER = 16
"""Quasi-random points, as a power of two; 65536 give critical values right to about 0.005."""
SEED = 20


def pairs(keys: Sequence[str], control: str) -> list[tuple[str, str]]:
    """Return the comparisons of a trial: each treatment with the control, or every two where there is none."""
    if control:
        return [(one, control) for one in keys if one != control]
    return [(later, earlier) for earlier, later in combinations(keys, 2)]


def contrasts(keys: Sequence[str], control: str) -> Array:
    """Return the comparisons as rows of +1 and -1 over the treatments, shape (comparisons, treatments)."""
    rows = np.zeros((len(pairs(keys, control)), len(keys)))
    for row, (one, other) in zip(rows, pairs(keys, control), strict=True):
        row[keys.index(one)], row[keys.index(other)] = 1.0, -1.0
    return rows


class LargestT:
    """The distribution of the largest |t| of several comparisons when there is no difference at all.

    Parameters
    ----------
    covariance : of the differences, up to a factor, shape (m, m).
    df : degrees of freedom of the error.

    Source
    ------
    Hothorn, Bretz, Westfall 2008, section 3: with equal blocks it is Dunnett's test against a control and Tukey's test for
    all pairs.
    """

    def __init__(self, covariance: Array, df: float) -> None:
        sd = np.sqrt(np.diag(covariance))
        correlation = np.round(covariance / np.outer(sd, sd), 6)
        self._sorted = _largest(correlation.tobytes(), len(sd), float(df))

    def critical(self, alpha: float) -> float:
        """Return the |t| that chance exceeds with probability alpha."""
        return float(np.quantile(self._sorted, 1.0 - alpha))

    def p(self, t: float) -> float:
        """Return the chance that any comparison gives so large a |t|."""
        beyond = len(self._sorted) - int(np.searchsorted(self._sorted, abs(t), side="left"))
        return max(beyond, 0.5) / len(self._sorted)


@lru_cache(maxsize=64)
def _largest(correlation: bytes, size: int, df: float) -> Array:
    from scipy.special import chdtri, ndtri
    from scipy.stats import qmc

    matrix = np.frombuffer(correlation).reshape(size, size)
    values, vectors = np.linalg.eigh(matrix)
    keep = values > 1e-9  # all pairs of three treatments hang together: one comparison follows from the others
    root = vectors[:, keep] * np.sqrt(values[keep])
    points = qmc.Sobol(1 + int(keep.sum()), rng=SEED).random_base2(POINTS_POWER)
    points = np.clip(points, 1e-12, 1.0 - 1e-12)
    scale = np.sqrt(chdtri(df, points[:, 0]) / df)
    largest = np.abs(ndtri(points[:, 1:]) @ root.T).max(axis=1) / scale
    return np.asarray(np.sort(largest))
