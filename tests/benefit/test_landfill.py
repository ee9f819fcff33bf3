"""Landfill gas: carbon is kept, draws broadcast, materials fall under the right waste."""

from __future__ import annotations

import numpy as np
import pytest

from loamery.benefit.landfill import Waste, climate_zone, evaporation_mm, methane_by_year, waste_type
from loamery.reference import table


def test_all_decaying_carbon_becomes_gas_in_the_end():
    waste = Waste(200.0, 0.2, 0.5, 0.3, mcf=0.8, methane_frac=0.5)
    assert methane_by_year(waste, 400).sum() == pytest.approx(float(waste.decaying_kg) * 0.5 * 16 / 12)


def test_draws_give_the_same_as_numbers_one_by_one():
    doc, k = np.array([0.1, 0.2]), np.array([0.05, 0.2])
    both = methane_by_year(Waste(100.0, doc, 0.5, k), 20)
    assert both.shape == (20, 2)
    for at in range(2):
        assert both[:, at] == pytest.approx(methane_by_year(Waste(100.0, doc[at], 0.5, k[at]), 20))


@pytest.mark.parametrize(("kind", "waste"), [("coffee-spent", "food"), ("leaves-mixed", "garden"), ("chips-arborist", "wood"), ("cardboard", "paper"), ("manure-horse", ""), ("compost-finished", "")])  # fmt: skip
def test_materials_fall_under_a_waste_or_none(kind: str, waste: str):
    assert waste_type(kind) == waste


def test_every_row_of_waste_types_names_a_material_once():
    slugs = [row["slug"] for row in table("waste_types")]
    assert len(slugs) == len(set(slugs)) and set(slugs) <= {row["slug"] for row in table("materials")}


def test_frost_does_not_evaporate():
    assert evaporation_mm([-10.0] * 12) == 0.0
    assert climate_zone([-10.0] * 12, [5.0] * 12) == "boreal_temperate_wet"
