"""The exponential and logarithm of the heap's loops against those of the C library, and rows against a dense solution."""

import math

import numpy as np
import pytest

from loamery.heap.elimination import factorise, substitute
from loamery.heap.exponential import exponential, logarithm
from loamery.heap.layout import ELIM_A, ELIM_B, ELIM_C, ELIM_R, WORK_ROWS

LAST_PLACE = np.finfo(float).eps


def test_the_exponential_is_that_of_the_c_library():
    x = np.concatenate([np.linspace(-60.0, 60.0, 4001), np.linspace(-690.0, 690.0, 401)])
    ours = np.array([exponential(one) for one in x])
    assert np.max(np.abs(ours / np.exp(x) - 1.0)) <= 2.0 * LAST_PLACE
    assert exponential(0.0) == 1.0


def test_the_logarithm_is_that_of_the_c_library():
    x = np.concatenate([np.geomspace(1e-300, 1e300, 2001), np.linspace(0.5, 2.0, 2001)])
    ours = np.array([logarithm(one) for one in x])
    assert np.all(np.abs(ours - np.log(x)) <= 2.0 * LAST_PLACE * np.abs(np.log(x)))
    assert logarithm(1.0) == 0.0


def test_far_out_the_exponential_is_held_and_what_is_no_number_stays_none():
    assert exponential(1e6) == exponential(700.0)
    assert exponential(-1e6) == exponential(-700.0) > 0.0
    assert math.isnan(exponential(math.nan))


@pytest.mark.parametrize("cells", [1, 2, 20, 288])
def test_rows_are_solved_as_a_dense_matrix_would_be(cells):
    rng = np.random.default_rng(cells)
    back, on = rng.uniform(0.0, 9.0, (2, cells))
    back[-1] = on[0] = 0.0
    # what a cell holds over what it passes on is small in a long step: the case in which pivots come nearest to nought
    passes = np.append(on[1:], 0.0) + np.append(0.0, back[:-1])
    work, base = np.zeros((WORK_ROWS, cells)), rng.uniform(0.0, 1.0, cells)
    work[ELIM_A], work[ELIM_C], work[ELIM_B], work[ELIM_R] = back, on, passes + 1e-3, base
    dense = np.diag(work[ELIM_B]) - np.diag(back[:-1], 1) - np.diag(on[1:], -1)
    factorise(work)
    substitute(work)
    np.testing.assert_allclose(work[ELIM_R], np.linalg.solve(dense, base), rtol=1e-9)
