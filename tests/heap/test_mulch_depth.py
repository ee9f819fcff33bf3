"""The greatest depth of a mulch in short: what the full answer says, from fewer layers, and remembered."""

from __future__ import annotations

import pytest

from loamery.errors import InputError
from loamery.heap import mulch_depth
from loamery.heap.mulch_depth import greatest_depth
from loamery.heap.mulch_layers import Layers
from loamery.heap.mulch_limit import mulch_limit
from tests.heap.gardenstuff import part


@pytest.mark.parametrize("kind", ["coffee-spent", "manure-horse-straw", "chips-arborist"])
def test_it_agrees_with_the_full_answer_on_the_same_draws(kind: str) -> None:
    full, short = mulch_limit((part(kind),), 20.0, 12), greatest_depth((part(kind),), 20.0, draws=12)
    assert (short.depth.low, short.depth.median, short.depth.high) == pytest.approx(
        (full.limit.low, full.limit.median, full.limit.high), rel=1e-6
    )
    assert short.reason == max(full.first, key=lambda key: full.first[key])
    assert short.share == pytest.approx(full.first[short.reason])


def test_fewer_layers_are_run_and_none_the_second_time(monkeypatch: pytest.MonkeyPatch) -> None:
    layers, real = [], Layers.run
    monkeypatch.setattr(Layers, "run", lambda self, which: layers.append(len(which)) or real(self, which))
    mulch_depth._searched.cache_clear()
    first = greatest_depth((part("coffee-spent"),), 19.0, draws=6)
    assert 0 < sum(layers) < 0.5 * 6 * len(mulch_depth.DEPTHS_M)
    ran = len(layers)
    assert greatest_depth((part("coffee-spent", 2.0),), 19.0, draws=6) == first
    assert len(layers) == ran


def test_it_is_never_more_than_asked_for() -> None:
    short = greatest_depth((part("chips-arborist"),), 15.0, most_m=0.08, draws=6)
    assert short.depth.high == short.depth.median == 0.08
    assert (short.reason, short.share) == ("none", 1.0)


def test_bad_input_is_refused() -> None:
    with pytest.raises(InputError, match="air temperature"):
        greatest_depth((part("chips-arborist"),), 80.0)
