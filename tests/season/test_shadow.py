"""Prices in plain words, each verified by solving again with a bit more of it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from loamery.season.duals import shadow_prices
from loamery.season.shadow import AIM, spares
from tests.season.small_season import scarce, small

LITTLE = 1e-3


def test_the_price_of_a_supply_is_what_a_little_more_of_it_spares() -> None:
    one = scarce()
    prices = shadow_prices(one.problem, one.solution, AIM)
    gains = np.where(one.problem.lot_kg > 0.0, -prices.columns["take"], 0.0)
    lot, week = (int(at) for at in np.unravel_index(gains.argmax(), gains.shape))
    assert gains[lot, week] > 1e-7
    more = one.problem.lot_kg.copy()
    more[lot, week] += LITTLE
    spared = prices.value - shadow_prices(replace(one.problem, lot_kg=more), one.solution, AIM).value
    assert spared / LITTLE == pytest.approx(gains[lot, week], rel=0.02)


def test_the_price_of_a_ceiling_is_what_a_little_more_room_spares() -> None:
    one = small()
    prices = shadow_prices(one.problem, one.solution, AIM)
    name, values = max(
        ((name, values) for name, values in prices.rows.items() if name.startswith("ceiling_")),
        key=lambda item: -float(item[1].min()),
    )
    bed, key = int(values.argmin()), name.removeprefix("ceiling_")
    if values[bed] > -1e-6:
        pytest.skip("no ceiling binds in the small garden")
    largest = max(need.ceilings[key].limit_kg_m2 for need in one.problem.needs)
    step = 1e-4 * largest
    need = one.problem.needs[bed]
    higher = replace(need.ceilings[key], limit_kg_m2=need.ceilings[key].limit_kg_m2 + step)
    needs = list(one.problem.needs)
    needs[bed] = replace(need, ceilings={**need.ceilings, key: higher})
    spared = prices.value - shadow_prices(replace(one.problem, needs=tuple(needs)), one.solution, AIM).value
    scale = largest if need.ceilings[key].limit_kg_m2 < largest else largest + step
    assert spared == pytest.approx(-float(values[bed]) * step / scale, rel=0.05)


def test_what_is_told_was_tried() -> None:
    one = scarce()
    found = spares(one.problem, one.solution, most=3)
    assert found
    for each in found:
        assert each.price > 0.0
        # one more never spares more than its price: what is best bends downwards
        assert 0.0 <= each.spares <= each.price * (1.0 + 1e-3) + 1e-6
        assert each.text.endswith("kg of harvest.")
        assert each.as_dict()["text"] == each.text
    assert [each.spares for each in found] == sorted((each.spares for each in found), reverse=True)


def test_a_price_alone_is_told_without_trying() -> None:
    one = small()
    found = spares(one.problem, one.solution, most=4, tried=False)
    assert all(each.spares == each.price for each in found)
