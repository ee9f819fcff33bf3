"""Whole buckets: a plan made anew in the places and weeks of the one before, with amounts that a bucket measures."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from loamery.season.columns import Columns
from loamery.season.matrix import Array, Matrix
from loamery.season.problem import Problem, bucket_kg

LEAST_BUCKETS = 0.02
"""What was below this share of a bucket in the plan before is given up."""
MORE_BUCKETS = 2


def counted(p: Problem) -> NDArray[np.bool_]:
    """Return where amounts are to be whole buckets, shape (spreads, beds, weeks); what a person fixed stays as it was fixed."""
    asked = np.array([one.use in p.garden.info.whole_buckets for one in p.spreads])
    return np.asarray(asked[:, None, None] & p.allowed & p.open_weeks & ~p.fixed)


def hold_whole_buckets(m: Matrix, c: Columns, p: Problem, before: Array) -> None:
    """Let what is spread in the uses the garden names be whole buckets.

    Parameters
    ----------
    before : kg spread by the plan without whole buckets, (spreads, beds, weeks). Only where and when that plan spreads something
        may this one: it keeps the number of whole numbers small, and is why its proof is that of the plan before.
    """
    size = np.array([bucket_kg(one.stuff, p.garden) for one in p.spreads]).reshape(-1, 1, 1)
    where, more = counted(p), before - p.so_far.spread
    some = where & (more > LEAST_BUCKETS * size)
    buckets = m.columns("buckets", before.shape, upper=np.ceil(more / size) + MORE_BUCKETS, where=some, whole=True)
    rows = m.rows("buckets", before.shape, lower=p.so_far.spread, upper=p.so_far.spread, where=where)
    m.put(rows, c.spread)
    m.put(rows, buckets, -size)
