"""How thick a mulch may be: fines against chips, each fault by itself."""

from __future__ import annotations

import pytest

from loamery.errors import InputError
from loamery.heap.mulch_limit import DEPTHS_M, MulchLimit, mulch_limit
from tests.heap.gardenstuff import part


@pytest.fixture(scope="module")
def grounds() -> MulchLimit:
    return mulch_limit((part("coffee-spent"),), 20.0, 12, chips=part("chips-arborist"))


@pytest.fixture(scope="module")
def chips() -> MulchLimit:
    return mulch_limit((part("chips-arborist"),), 20.0, 12)


def test_chips_may_lie_thicker_than_grounds(grounds: MulchLimit, chips: MulchLimit) -> None:
    assert grounds.limit.median < 0.1 < chips.limit.median
    assert grounds.fines > 0.8 > 0.3 > chips.fines
    for one in grounds.by_reason:
        assert grounds.by_reason[one].median <= chips.by_reason[one].median


def test_the_published_advice_for_grounds_lies_in_the_band(grounds: MulchLimit) -> None:
    # WSU FS207E (Chalker-Scott) as excerpted by extension services: at most half an inch of pure grounds
    assert grounds.limit.low <= 0.0127 <= grounds.limit.high


def test_a_layer_of_ten_centimetres_of_chips_does_not_heat(chips: MulchLimit) -> None:
    rise = dict(zip(chips.depths_m, chips.rise_k, strict=True))
    assert rise[0.1] < 5.0


def test_oxygen_falls_with_depth(grounds: MulchLimit) -> None:
    assert grounds.least_o2[0] > 0.19
    assert grounds.least_o2[-1] < 0.1
    assert grounds.least_o2[-1] < grounds.least_o2[-3] < grounds.least_o2[0] + 1e-6


def test_shares_of_faults_add_up(grounds: MulchLimit, chips: MulchLimit) -> None:
    for one in (grounds, chips):
        assert sum(one.first.values()) == pytest.approx(1.0)
        assert one.limit.low <= one.limit.median <= one.limit.high <= DEPTHS_M[-1]


def test_thinning_with_chips_raises_the_limit(grounds: MulchLimit) -> None:
    assert [row.chips for row in grounds.table] == [0.0, 0.25, 0.5, 0.75]
    fines = [row.fines for row in grounds.table]
    assert fines == sorted(fines, reverse=True)
    assert grounds.table[0].limit.median < grounds.table[2].limit.median
    assert grounds.table[0].limit.median == pytest.approx(grounds.limit.median)  # as many draws as the table takes
    assert all(len(row.verdicts) == len(DEPTHS_M) for row in grounds.table)


@pytest.mark.parametrize(
    "more", [{"air_c": 90.0}, {"draws": 1}, {"rain_m_s": 0.0}, {"rain_m_s": float("nan")}, {"month_mm": -1.0}]
)
def test_bad_input_is_refused(more: dict[str, float]) -> None:
    with pytest.raises(InputError):
        mulch_limit((part("coffee-spent"),), **more)  # type: ignore[arg-type]


def test_rain_brings_airlessness_sooner_and_a_heavier_shower_seals_sooner(grounds: MulchLimit) -> None:
    dry = mulch_limit((part("coffee-spent"),), 20.0, 12, month_mm=0.0)
    assert grounds.by_reason["airless"].median < dry.by_reason["airless"].median
    heavy = mulch_limit((part("coffee-spent"),), 20.0, 12, rain_m_s=3e-5)
    assert heavy.by_reason["seals"].median < grounds.by_reason["seals"].median
