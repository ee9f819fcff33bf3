"""The shop: read with its faults, bought cheapest, and honest about what it lacks."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loamery.benefit.fertiliser import cheapest, cost_draws
from loamery.errors import GardenError
from loamery.garden import read_garden, write_demo
from loamery.garden.model import Fertiliser

SHOP = [
    Fertiliser(id="blood", name="Blood meal", n_percent=12, price_per_kg=5.4),
    Fertiliser(id="bone", name="Bone meal", n_percent=2, p2o5_percent=14, price_per_kg=4.2),
    Fertiliser(id="potash", name="Potash", k2o_percent=50, price_per_kg=3.9),
]
amounts = st.floats(0, 50)


@settings(max_examples=40, deadline=None)
@given(amounts, amounts, amounts)
def test_the_mix_gives_at_least_what_is_needed(n: float, p: float, k: float):
    found = cheapest({"N": n, "P": p, "K": k}, SHOP)
    given_kg = np.array([one.shares for one in SHOP]).T @ np.array([found.kg.get(one.id, 0.0) for one in SHOP])
    assert (given_kg >= np.array([n, p, k]) - 1e-5).all()
    assert found.cost == pytest.approx(sum(found.kg.get(one.id, 0.0) * one.price_per_kg for one in SHOP), abs=1e-4)


def test_one_kilogram_of_nitrogen_from_one_fertiliser():
    assert cheapest({"N": 1.0, "P": 0.0, "K": 0.0}, SHOP[:1]).cost == pytest.approx(5.4 / 0.12)


def test_what_is_not_on_the_shelf_is_named_and_not_priced():
    found = cheapest({"N": 1.0, "P": 0.5, "K": 0.2}, SHOP[:1])
    assert found.lacking == ("P", "K") and found.cost == pytest.approx(45.0)
    assert cheapest({"N": 1.0}, []).lacking == ("N",)


def test_nothing_needed_costs_nothing():
    assert cheapest({"N": -3.0, "P": 0.0, "K": 0.0}, SHOP).cost == 0.0


def test_costs_of_draws_are_those_of_each():
    need = {"N": np.array([1.0, 2.0]), "P": np.zeros(2), "K": np.zeros(2)}
    assert cost_draws(need, SHOP) == pytest.approx([45.0, 90.0])


def test_the_list_is_part_of_the_garden_and_its_faults_are_told(tmp_path: Path):
    folder = write_demo(tmp_path / "garden")
    path = folder / "fertilisers.csv"
    path.write_text("id,name,n_percent,price_per_kg\nblood,Blood,12,5.4\n")
    assert [one.n_percent for one in read_garden(folder).fertilisers] == [12]
    path.write_text("id,name,n_percent,price_per_kg\nblood,Blood,120,cheap\n")
    with pytest.raises(GardenError, match="row 2") as told:
        read_garden(folder)
    assert len(told.value.faults) == 2
    path.write_text("id,name,price_per_kg\nblood,Blood,5\nblood,Blood again,6\n")
    with pytest.raises(GardenError, match="blood"):
        read_garden(folder)
    path.unlink()
    assert read_garden(folder).fertilisers == ()
