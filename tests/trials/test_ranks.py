"""Drawing the lots again: exact where all ways are tried, and the same as ranks' tests in plain cases."""

from __future__ import annotations

import numpy as np
import pytest
from made import readings, trial

from loamery.trials.frame import make_frame
from loamery.trials.ranks import lot_p, rank_test


def test_two_treatments_in_four_blocks_have_sixteen_ways():
    """When one treatment wins in every block, two of the 16 ways are as extreme: p = 2/16."""
    made = trial(blocks=4, count=2)
    assert lot_p(make_frame(made, readings(made, {"compost": 50.0}))) == pytest.approx([2 / 16])


def test_p_values_of_no_effect_are_spread_evenly():
    values = []
    for seed in range(200):
        made = trial(blocks=3, count=3)
        values.append(lot_p(make_frame(made, readings(made, seed=seed))).min())
    assert np.mean(np.array(values) <= 0.1) == pytest.approx(0.1, abs=0.065)


@pytest.mark.parametrize(("design", "count", "name"), [("complete_blocks", 3, "Friedman"), ("complete_blocks", 2, "Wilcoxon, signed ranks"), ("completely_random", 3, "Kruskal and Wallis")])  # fmt: skip
def test_ranks_use_the_test_of_the_design(design: str, count: int, name: str):
    made = trial(blocks=5, count=count, design=design)  # type: ignore[arg-type]
    found = rank_test(make_frame(made, readings(made)))
    assert found is not None and found.name == name and 0 < found.p <= 1


def test_many_ways_are_drawn_at_random_and_agree_with_all_of_them():
    made = trial(blocks=4, count=3)
    frame = make_frame(made, readings(made, {"compost": 1.0}))
    exact = lot_p(frame)
    import loamery.trials.ranks as ranks

    ways, ranks.MOST_DRAWS = ranks.MOST_DRAWS, 1290  # below the 1296 ways there are
    try:
        drawn = lot_p(frame)
    finally:
        ranks.MOST_DRAWS = ways
    assert drawn == pytest.approx(exact, abs=0.05)
