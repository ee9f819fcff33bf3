"""Why no plan exists: the smallest set of limits in conflict, each with what would help."""

from __future__ import annotations

import pytest

from loamery.errors import NoPlan
from loamery.garden import Garden
from loamery.season.holding import Held
from loamery.season.make import solve_prepared
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
    assert any("hours_per_week" in each and " h" in each for each in found.remedies)


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
