"""Published factors of a batch: times and losses within the ranges of the trade."""

from __future__ import annotations

import pytest

from loamery.heap.published import finished_share, lead_time_weeks
from loamery.reference import cite, coefficient


def test_a_heap_takes_months_and_waits_out_the_frost() -> None:
    warm, frozen = lead_time_weeks(15.0), lead_time_weeks(-5.0)
    # three to six months from building to use is common practice, no source
    assert 12 <= warm <= 26
    assert frozen == pytest.approx(warm + coefficient("heap_winter_weeks_lost").value)
    assert lead_time_weeks(0.0) == frozen
    assert lead_time_weeks(0.1) == warm


@pytest.mark.parametrize("key", ["dm", "C", "N", "P", "K"])
def test_losses_are_shares_with_a_range_and_a_source(key: str) -> None:
    one = finished_share(key)
    assert 0 <= one.low <= one.value <= one.high < 1
    assert cite([one.source])


def test_carbon_goes_first_and_phosphorus_stays() -> None:
    loss = {key: finished_share(key).value for key in ("dm", "C", "N", "P", "K")}
    assert loss["C"] > loss["dm"] > loss["N"] > loss["K"] > loss["P"]
    # so composting lowers C:N: 30 goes to 30 (1 - C loss) / (1 - N loss), usually 15 to 22 (common practice, no source)
    assert 12 < 30 * (1 - loss["C"]) / (1 - loss["N"]) < 25
