"""Phosphorus and the other elements: what was brought is in the material, in the soil or gone with the harvest."""

from __future__ import annotations

import numpy as np
import pytest

from loamery.bed.elements import element_course
from loamery.bed.matter import NUTRIENTS
from loamery.bed.simulate import simulate_bed
from tests.bed.beds import dose, numbers, portion, soil, tomatoes, weather

PORTIONS = [portion("coffee-spent", True, 5), portion("compost-finished", False, 5), portion("wood-ash", False, 5)]


@pytest.fixture(scope="module")
def courses() -> dict[str, object]:
    doses = dose((1, 2.0), (8, 0.7), portions=3)
    crop = tomatoes()
    run = simulate_bed(PORTIONS, doses, soil(), weather(5), crop, numbers(5))
    return {key: element_course(run, PORTIONS, key, crop) for key in NUTRIENTS}


@pytest.mark.parametrize("key", NUTRIENTS)
def test_the_account_closes(courses: dict, key: str) -> None:
    one = courses[key]
    assert np.abs(one.gap()).max() <= 1e-9 * one.brought.max()
    assert np.all(one.held >= -1e-15) and np.all(np.diff(one.freed, axis=0) >= -1e-12)
    expected = sum(2.7 * each.matter.elements.get(key, np.zeros(5)) for each in PORTIONS)
    assert one.brought[-1, 0] == pytest.approx(expected)


def test_potassium_is_free_at_once_and_phosphorus_waits(courses: dict) -> None:
    assert np.all(courses["K"].held == 0.0)
    assert float(np.median(courses["P"].held[-1])) > 0.0


def test_harvests_carry_off_what_the_crop_table_says(courses: dict) -> None:
    assert courses["P"].carried[-1, 0] == pytest.approx(tomatoes().p_kg_m2[0, -1])
    assert float(np.median(courses["P"].soil_gain[-1])) == pytest.approx(
        float(np.median(courses["P"].freed[-1])) - tomatoes().p_kg_m2[0, -1]
    )


@pytest.mark.parametrize("key", ["P", "S", "Ca", "Mg", "Cu", "Zn"])
def test_what_is_held_is_what_lies_in_the_carbon_and_lime_that_are_left(key: str) -> None:
    """Reckoned anew from the stocks of the run: content per carbon or per lime, times what is left of it."""
    doses = dose((1, 2.0), (8, 0.7), portions=3)
    run = simulate_bed(PORTIONS, doses, soil(), weather(5), None, numbers(5))
    there = 0.0
    for index, one in enumerate(PORTIONS):
        content = one.matter.elements.get(key, np.zeros(5))
        if one.matter.mineral:
            there = there + run.lime_left[-1, index, 0] * content / one.matter.lime
        else:
            there = there + run.carbon_left[-1, index, 0] * content / one.matter.carbon
    course = element_course(run, PORTIONS, key)
    assert course.held[-1, 0] == pytest.approx(there, rel=1e-9, abs=1e-15)


def test_ash_gives_its_calcium_within_the_season_and_shell_over_years() -> None:
    shares = {}
    for kind in ("wood-ash", "eggshell"):
        one = [portion(kind)]
        course = element_course(simulate_bed(one, dose((0, 0.3)), soil(), weather(), None, numbers()), one, "Ca")
        shares[kind] = float(course.freed[-1, 0, 0] / course.brought[-1, 0, 0])
        assert 0.0 < float(course.freed[1, 0, 0]) < float(course.freed[-1, 0, 0])
    assert shares["wood-ash"] > 0.7 > 0.3 > shares["eggshell"] > 0.0
