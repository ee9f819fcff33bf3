"""Water that stands on a mulch in a shower: limits worked out by hand, and scipy on the same front."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from loamery.heap.mulch_rain import conductivity, standing_water_m
from loamery.reference import coefficient


def test_nothing_stands_where_water_passes_faster_than_it_falls() -> None:
    assert standing_water_m(0.05, 1e-3, 0.3, 7e-6, 30.0) == pytest.approx(0.0, abs=1e-6)


def test_all_of_the_shower_stands_on_what_lets_nothing_through() -> None:
    assert standing_water_m(0.05, 1e-13, 0.3, 7e-6, 30.0) == pytest.approx(7e-6 * 1800.0, rel=1e-3)


def test_a_long_shower_on_a_thin_layer_ends_at_darcys_balance() -> None:
    # K (h + L)/L = R, so h = L (R/K - 1)
    assert standing_water_m(0.01, 3e-6, 0.3, 7e-6, 600.0) == pytest.approx(0.01 * (7.0 / 3.0 - 1.0), rel=0.02)


@pytest.mark.parametrize(("depth", "k", "air"), [(0.02, 2e-6, 0.2), (0.1, 3e-6, 0.3), (0.3, 5e-7, 0.15)])
def test_the_wet_front_is_that_of_an_independent_solution(depth: float, k: float, air: float) -> None:
    rain, seconds = 7e-6, 1800.0

    def slope(_: float, y: np.ndarray) -> list[float]:
        wet = min(max(y[0] / air, 1e-4), depth)
        flow = k * (max(y[1], 0.0) + wet) / wet
        flow = min(flow, rain) if y[1] <= 0.0 else flow
        return [flow, rain - flow]

    found = solve_ivp(slope, (0.0, seconds), [0.0, 0.0], method="LSODA", rtol=1e-7, atol=1e-10, max_step=5.0)
    assert standing_water_m(depth, k, air, rain, 30.0) == pytest.approx(found.y[1].max(), rel=0.05, abs=5e-5)


def test_a_thicker_layer_never_lets_in_more() -> None:
    stands = standing_water_m(np.array([0.01, 0.02, 0.05, 0.1, 0.3]), 3e-6, 0.25, 1.4e-5, 30.0)
    assert (np.diff(stands) >= -1e-9).all()


def test_conductivity_lies_between_its_ends() -> None:
    fine, half, coarse = (float(np.median(conductivity(one, 400, 1))) for one in (1.0, 0.5, 0.0))
    assert fine == pytest.approx(coefficient("mulch_ks_fine").value, rel=0.2)
    assert coarse == pytest.approx(coefficient("mulch_ks_coarse").value, rel=0.2)
    assert half == pytest.approx((fine * coarse) ** 0.5, rel=0.3)
