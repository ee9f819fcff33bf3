"""Plans side by side in the same seasons."""

from __future__ import annotations

import json

import numpy as np
import pytest

from loamery.season.compare import compare_by_hand, compare_change
from loamery.season.outcome import MEASURES
from loamery.season.what_if import donor_stops
from tests.season.small_season import small

DRAWS = 4


def test_a_donor_who_stops_leaves_less_to_use() -> None:
    one = small()
    garden = one.prepared.garden
    found = compare_change(one.prepared, [donor_stops(garden, "near")], solved=one, draws=DRAWS)
    assert found.question.startswith("What if Near (invented) gives nothing?")
    first, second = (side.collected_kg() for side in found.sides)
    assert second["grass"] == 0.0 < first["grass"]
    rows = {row.measure.key: row for row in found.rows}
    assert set(rows) == {one.key for one in MEASURES}
    assert rows["short_n"].bands[1].median >= rows["short_n"].bands[0].median
    assert rows["short_n"].change[0].median == 0.0
    assert rows["short_n"].verdict(1) in ("worse", "no clear difference")
    assert json.loads(json.dumps(found.as_dict()))["sides"][1]["collected_kg"]["grass"] == 0.0


def test_the_rules_of_the_hand_are_played_in_the_same_seasons() -> None:
    found = compare_by_hand(small(), draws=DRAWS)
    assert [side.label for side in found.sides] == ["the plan", "by hand, within the same limits", "by hand, as usual"]
    assert len({id(side.played.years) for side in found.sides}) == 1
    assert all(side.played.balance_error() < 1e-9 for side in found.sides)


def test_a_verdict_needs_nine_of_ten_seasons() -> None:
    found = compare_by_hand(small(), draws=DRAWS)
    row = next(row for row in found.rows if row.measure.key == "hours")
    hours = [side.played.outcome.figures["hours"][0] for side in found.sides]
    expected = "worse" if hours[2] > hours[0] else "better"
    assert row.verdict(2) == expected
    assert row.better[0] == row.worse[0] == 0.0
    assert np.isfinite(row.bands[2].median)


@pytest.mark.parametrize("key", ["diverted_kg", "cover"])
def test_more_is_better_where_more_is_better(key: str) -> None:
    found = compare_by_hand(small(), draws=DRAWS)
    row = next(row for row in found.rows if row.measure.key == key)
    assert (row.better[1] > 0.5) == (row.change[1].median > 0)
