"""One day of decay: the balance of the decomposers, scarcity, the surface, the lag."""

from __future__ import annotations

import numpy as np
import pytest

from loamery.bed.decomposers import Decay, Portions, Stock, decay_day
from tests.bed.beds import numbers

RATE = np.array([0.1, 0.1, 0.1]).reshape(3, 1, 1, 1)


def portions(reach: float = 1.0, lag: float = 0.0) -> Portions:
    one = np.ones((1, 1, 1))
    return Portions(RATE, one * lag, one, one * reach, one * 0.03, np.zeros((1, 1, 1), dtype=bool))


def day(c_to_n: float, mineral: float = 1.0, reach: float = 1.0, lag: float = 0.0) -> tuple[Stock, Decay]:
    stock = Stock.empty(1, 1, 1)
    stock.carbon[0] += 1.0
    stock.nitrogen[0] += 1.0 / c_to_n
    pool = np.array([[mineral]])
    return stock, decay_day(stock, portions(reach, lag), numbers(), np.ones((1, 1)), pool, 0.0 * pool)


def test_the_first_meal_breaks_even_at_ratio_over_efficiency() -> None:
    even = float(numbers()["bed_biomass_cn"][0] / numbers()["bed_efficiency"][0])
    assert float(day(even)[1].net[0, 0, 0]) == pytest.approx(0.0, abs=1e-4)  # what grew and died that day comes back
    assert float(day(even / 2)[1].given[0, 0]) > 0.0
    assert float(day(even * 2)[1].taken[0, 0]) > 0.0


def test_carbon_of_a_day_is_eaten_kept_or_breathed_out() -> None:
    stock, one = day(15.0)
    assert float(
        stock.carbon.sum() + stock.living.sum() + one.respired.sum() + one.humus_carbon.sum()
    ) == pytest.approx(1.0)
    assert float(stock.living.sum() / (1.0 - stock.carbon.sum())) == pytest.approx(0.4, rel=0.03)


def test_short_of_nitrogen_they_keep_less_then_slow_down() -> None:
    plenty, thrifty, starved = (day(80.0, mineral)[0] for mineral in (1.0, 0.002, 0.0))
    eaten = [1.0 - float(one.carbon.sum()) for one in (plenty, thrifty, starved)]
    kept = [float(one.living.sum()) / share for one, share in zip((plenty, thrifty), eaten, strict=False)]
    assert kept[1] < kept[0]
    assert eaten[0] == pytest.approx(eaten[1])
    assert day(200.0, 0.0)[0].carbon.sum() > plenty.carbon.sum()
    assert day(200.0, 0.0)[1].taken.sum() == 0.0


def test_on_the_surface_only_a_share_of_the_need_comes_from_the_soil() -> None:
    full, touching = day(80.0)[1], day(80.0, reach=0.1)[1]
    assert float(touching.taken.sum()) == pytest.approx(0.1 * float(full.taken.sum()))


def test_a_lag_holds_the_start_back() -> None:
    assert float(day(20.0, lag=10.0)[0].carbon.sum()) == pytest.approx(1.0)
    assert float(day(20.0)[0].carbon.sum()) < 0.95
