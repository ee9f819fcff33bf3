"""Rows of cells in which each hangs together with its two neighbours: y = base + back * next y + on * y before, per diagonal.

A pivot found by dividing by the one before makes every cell wait for a division. The determinants of the first cells go by
products and differences alone; their quotients are the pivots, and those divisions are made several at once.
"""

from __future__ import annotations

from typing import Any

from loamery.heap.fast import fast
from loamery.heap.layout import ELIM_A, ELIM_B, ELIM_C, ELIM_D, ELIM_R, ELIM_S


@fast
def factorise(work: Any) -> None:
    """Prepare the rows for `substitute`.

    Parameters
    ----------
    work : in: ELIM_B the diagonal, ELIM_A what comes back from the next cell (0 in the last), ELIM_C what goes on from the cell
        before (0 in the first); out: one over the pivots, and both of the others times it.
    """
    n = work.shape[1]
    for i in range(n):
        work[ELIM_S, i] = 1.0 / work[ELIM_B, i]
    for i in range(n - 1):
        work[ELIM_D, i + 1] = work[ELIM_A, i] * work[ELIM_S, i] * work[ELIM_C, i + 1] * work[ELIM_S, i + 1]
    # determinants with a diagonal of ones: none can overflow, and rows that keep more than they pass on keep them above nought
    older = before = work[ELIM_D, 0] = 1.0
    for i in range(1, n):
        older, before = before, before - work[ELIM_D, i] * older
        work[ELIM_D, i] = before
    work[ELIM_B, 0] = work[ELIM_S, 0]
    for i in range(1, n):
        work[ELIM_B, i] = work[ELIM_S, i] * work[ELIM_D, i - 1] / work[ELIM_D, i]
    for i in range(n):
        work[ELIM_A, i] *= work[ELIM_B, i]
        work[ELIM_C, i] *= work[ELIM_B, i]


@fast
def substitute(work: Any) -> None:
    """Turn the bases in ELIM_R into the solution, with the rows that `factorise` left."""
    n, before = work.shape[1], 0.0
    for i in range(n):
        before = work[ELIM_R, i] * work[ELIM_B, i] + work[ELIM_C, i] * before
        work[ELIM_R, i] = before
    for i in range(n - 2, -1, -1):
        before = work[ELIM_R, i] + work[ELIM_A, i] * before
        work[ELIM_R, i] = before
