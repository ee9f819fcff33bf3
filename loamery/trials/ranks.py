"""Tests that do not assume a bell curve: ranks, and drawing the treatments by lot again."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import permutations, product

import numpy as np
from numpy.typing import NDArray

from loamery.say import say
from loamery.trials.compare import contrasts
from loamery.trials.frame import Frame

Array = NDArray[np.float64]
MOST_DRAWS = 5000
SEED = 7


@dataclass(frozen=True)
class RankTest:
    """A test of all treatments by ranks.

    Parameters
    ----------
    name : of the test; p : chance of so large a difference in ranks when treatments do nothing.
    """

    name: str
    statistic: float
    p: float

    def as_dict(self) -> dict[str, object]:
        """Return the test ready for JSON."""
        return dict(vars(self))


def rank_test(frame: Frame) -> RankTest | None:
    """Return Friedman's test within blocks, or Kruskal and Wallis' without; None where it cannot be done."""
    from scipy.stats import friedmanchisquare, kruskal, wilcoxon

    if not frame.blocked:
        groups = [frame.values[frame.treatment == one] for one in range(len(frame.keys))]
        found = kruskal(*groups)
        return RankTest("Kruskal and Wallis", float(found.statistic), float(found.pvalue))
    if not frame.complete:
        return None
    table = as_table(frame)
    if len(frame.keys) == 2:  # Friedman's needs three; with two it is the signed-rank test
        found = wilcoxon(table[:, 0], table[:, 1])
        return RankTest(say("Wilcoxon, signed ranks"), float(found.statistic), float(found.pvalue))
    found = friedmanchisquare(*table.T)
    return RankTest("Friedman", float(found.statistic), float(found.pvalue))


def as_table(frame: Frame) -> Array:
    """Return the values of complete blocks, shape (blocks, treatments)."""
    table = np.full((len(frame.blocks), len(frame.keys)), np.nan)
    table[frame.block, frame.treatment] = frame.values
    return table


def lot_p(frame: Frame) -> Array:
    """Return for each comparison how often drawing the lots again gives any difference as large.

    Every way the treatments could have fallen is tried, or 5000 of them drawn at random where there are more. The largest
    difference of all comparisons is kept each time, so all are judged together.
    """
    rows = contrasts(frame.keys, frame.control)
    seen = np.abs(rows @ frame.means)
    largest = np.array([np.abs(rows @ one).max() for one in _means_again(frame)])
    return np.asarray((largest[:, None] >= seen[None, :] - 1e-12 * max(seen.max(), 1.0)).mean(axis=0))


def _means_again(frame: Frame) -> Array:
    """Return the treatment means of lots drawn again, the real ones first, shape (draws, treatments)."""
    if frame.blocked and frame.complete and math.factorial(len(frame.keys)) ** len(frame.blocks) <= MOST_DRAWS:
        return _all_ways(as_table(frame))
    draw = np.random.default_rng(SEED)
    groups = [np.flatnonzero(frame.block == one) for one in set(frame.block.tolist())] if frame.blocked else [np.arange(len(frame.values))]  # fmt: skip
    weights = np.eye(len(frame.keys))[frame.treatment] / np.bincount(frame.treatment)[None, :]
    out = np.empty((MOST_DRAWS, len(frame.keys)))
    out[0] = frame.values @ weights
    values = np.tile(frame.values, (MOST_DRAWS - 1, 1))
    for group in groups:
        values[:, group] = draw.permuted(values[:, group], axis=1)
    out[1:] = values @ weights
    return out


def _all_ways(table: Array) -> Array:
    blocks, treatments = table.shape
    each: list[Array] = [row[np.array(list(permutations(range(treatments))))] for row in table]
    sums: list[Array] = [np.sum(ways, axis=0) for ways in product(*each)]
    return np.array(sums) / float(blocks)
