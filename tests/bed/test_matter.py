"""Materials as the bed model takes them: pools, nitrogen, alkalinity, compost and castings."""

from __future__ import annotations

import numpy as np
import pytest

from loamery.bed.matter import excess_cations, matter_of_stuff
from loamery.garden.model import Material
from loamery.lab.combine import compose
from loamery.season.stuff import compost_stuff, raw_stuff
from tests.bed.beds import matter, numbers

KINDS = (
    "coffee-spent",
    "straw-wheat",
    "grass-clippings",
    "manure-layer",
    "compost-finished",
    "wood-ash",
    "eggshell",
    "biochar",
)


@pytest.mark.parametrize("kind", KINDS)
def test_pools_hold_everything_once(kind: str) -> None:
    one = matter(kind, 20)
    assert one.pools.sum(axis=0) == pytest.approx(1.0)
    assert one.pool_n.sum(axis=0) == pytest.approx(1.0)
    assert np.all(one.pools >= 0) and np.all(one.pool_n >= 0)
    assert np.all(np.diff(one.rate_per_day, axis=0) <= 1e-15)  # fast, slow, resistant


def test_coffees_fast_pool_is_poor_in_nitrogen() -> None:
    grounds, grass = matter("coffee-spent"), matter("grass-clippings")
    assert float(grounds.pool_n[0, 0] / grounds.pools[0, 0]) == pytest.approx(0.6)
    assert float(grass.pool_n[0, 0] / grass.pools[0, 0]) == pytest.approx(1.0)


def test_excess_of_cations_is_counted_in_charges() -> None:
    """A mole each of Ca (2), K (1) and S (-2) leave one mole of charge."""
    kilo = {"Ca": np.array([0.040078]), "K": np.array([0.0390983]), "S": np.array([0.032065])}
    assert float(excess_cations(kilo, np.zeros(1))[0]) == pytest.approx(1.0, abs=2e-3)


def test_ash_is_lime_and_leaves_are_not() -> None:
    assert float(matter("wood-ash").lime[0]) > 1.0
    assert float(matter("wood-ash").alkalinity[0]) == 0.0
    assert float(matter("leaves-mixed").lime[0]) == 0.0
    assert float(matter("leaves-mixed").alkalinity[0]) > 0.0
    assert matter("eggshell").coarse


def test_a_seasons_compost_keeps_what_it_holds() -> None:
    raw = raw_stuff(Material(id="g", name="g", kind="coffee-spent"), compose("coffee-spent", ()))
    stuff = compost_stuff("c", "compost", [(raw, 1.0)])[0]
    one = matter_of_stuff(stuff, numbers(20), {"Ca": np.full(1000, 0.002)})
    assert float(one.organic_n[0]) == pytest.approx(float(stuff.n_organic[0]))
    assert one.elements["Ca"].shape == (20,)
    assert np.median(one.c_to_n) < np.median(matter("coffee-spent", 20).c_to_n)
