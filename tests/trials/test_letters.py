"""Letters of treatments: shared exactly where two were not told apart."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest

from loamery.trials.letters import letters_of


def test_a_published_kind_of_display() -> None:
    """Means in a row, only the ends told apart: a, ab, b."""
    assert letters_of(["x", "y", "z"], [("x", "z")]) == {"x": "a", "y": "ab", "z": "b"}
    assert letters_of(["x", "y"], []) == {"x": "a", "y": "a"}
    assert letters_of(["x", "y", "z"], combinations("xyz", 2)) == {"x": "a", "y": "b", "z": "c"}


@pytest.mark.parametrize("seed", range(20))
def test_two_share_a_letter_exactly_where_they_are_not_apart(seed: int) -> None:
    draw = np.random.default_rng(seed)
    keys = [f"t{at}" for at in range(9)]
    apart = {pair for pair in combinations(keys, 2) if draw.random() < 0.5}
    told = letters_of(keys, sorted(apart))
    for one, other in combinations(keys, 2):
        assert bool(set(told[one]) & set(told[other])) == ((one, other) not in apart)
    assert all(told.values())


def test_thirty_treatments_in_a_row_stay_readable() -> None:
    keys = [f"t{at:02d}" for at in range(30)]
    apart = [(a, b) for a, b in combinations(keys, 2) if int(b[1:]) - int(a[1:]) > 9]
    told = letters_of(keys, apart)
    assert told["t00"] == "a" and max(len(one) for one in told.values()) <= 10
