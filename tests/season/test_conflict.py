"""Why no plan exists: the smallest set of limits in conflict, each with what would help."""

from __future__ import annotations

import re

import pytest

from loamery.errors import NoPlan
from loamery.garden import Garden
from loamery.say import is_told, told
from loamery.season.holding import Held
from loamery.season.make import solve_prepared
from loamery.season.on_beds import ceiling_contents
from loamery.season.prepare import prepare
from tests.season.gardens import START, garden, material, planting, supply


def plain(kg: float = 30.0, **more: object) -> Garden:
    one = garden((material("m", "compost-finished"),), (supply("m", kg),), (planting("bed", "kale"),), draws=100)
    return one.model_copy(update=more)


def refused(one: Garden, *held: tuple[str, float]) -> NoPlan:
    """Return why amounts worked in or laid on the bed in the first week cannot be had."""
    fixed = [Held("m", "M (invented)", use, "bed", START, kg) for use, kg in held]  # type: ignore[arg-type]
    with pytest.raises(NoPlan) as why:
        solve_prepared(prepare(one), scenarios=1, held=fixed)
    return why.value


def test_more_fixed_than_donors_give_names_both_and_how_much_more_it_takes() -> None:
    found = refused(plain(), ("dig_in", 50.0))
    assert len(found.conflict) == 2
    assert any("donors" in one for one in found.conflict)
    assert any("fixed by hand" in one for one in found.conflict)
    assert any("20" in one and "donor" in one for one in found.remedies)
    assert any("20" in one and "let go" in one for one in found.remedies)


def test_what_nobody_could_carry_names_the_hours() -> None:
    one = plain(2000.0)
    busy = one.model_copy(update={"info": one.info.model_copy(update={"hours_per_week": 0.001})})
    found = refused(busy, ("dig_in", 2.0))
    assert any("hours" in each for each in found.conflict) and len(found.conflict) == 2
    assert any("hours_per_week" in each and "\u00a0h" in each for each in found.remedies)


def test_every_limit_of_the_set_is_needed() -> None:
    """Ten times what a bed takes and donors give: leaving out one of the limits that forbid it leaves the others."""
    found = refused(plain(), ("dig_in", 3000.0))
    assert 2 <= len(found.conflict) <= 3
    assert found.remedies


def test_a_set_in_conflict_is_told_in_the_error_and_its_document() -> None:
    found = refused(plain(), ("dig_in", 50.0))
    assert "cannot hold together" in str(found)
    assert found.as_dict()["conflict"] == list(found.conflict)


def test_a_fixed_amount_that_fits_is_planned_around() -> None:
    one = prepare(plain())
    held = [Held("m", "M (invented)", "dig_in", "bed", START, 2.0)]
    found = solve_prepared(one, scenarios=1, held=held)
    assert found.solution.spread[:, 0, 0].sum() >= 2.0 - 1e-6


def salted() -> Garden:
    """Return a garden whose only material holds more salt than a bed bears much of: steamed bone meal."""
    return garden(
        (material("m", "bone-meal-steamed", "dig_in"),), (supply("m", 300.0),), (planting("bed", "kale"),), draws=100
    )


def figure(text: str) -> float:
    """Return the first number of a remedy that stands before a unit."""
    found = re.search(r"([\d.]+)\u00a0(?:kg|g)", text)
    assert found, text
    return float(found.group(1))


def test_a_ceiling_says_how_much_less_has_to_come_to_the_bed() -> None:
    """What the ceiling would have to give is what the material that has to stay away holds, over the bed's area."""
    found = refused(salted(), ("dig_in", 5.0))
    assert any("ceiling for" in one for one in found.conflict)
    give = next(one for one in found.remedies if one.startswith("bring a bed"))
    gone = next(one for one in found.remedies if one.startswith("let go"))
    one = prepare(salted())
    problem = solve_prepared(one, scenarios=1).problem
    row = next(row for row, each in enumerate(problem.spreads) if each.use == "dig_in")
    per_kg = {key: float(ceiling_contents(problem, key)[row]) for key in problem.needs[0].ceilings}
    asked = [1000.0 * per_kg[key] * figure(gone) / problem.area_m2[0] for key in per_kg]
    assert any(figure(give) == pytest.approx(one, rel=0.02) for one in asked)
    assert figure(give) > 0


def test_a_conflict_is_said_in_french_too() -> None:
    for why in (refused(plain(), ("dig_in", 50.0)), refused(salted(), ("dig_in", 5.0))):
        assert is_told(why.args[0], "fr")
        assert "Aucun plan" in told(why.args[0], "fr")
        assert all(is_told(one, "fr") for one in why.remedies)
