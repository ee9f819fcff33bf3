"""Before any report there is a plan from published ranges, with wider bands; each report narrows it. And where there is no plan."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from loamery.errors import NoPlan
from loamery.garden import Garden
from loamery.lab.composition import Composition
from loamery.season import plan_season
from loamery.season.prepare import prepare
from tests.season.conftest import Solved
from tests.season.gardens import garden, material, planting, supply


def width(composition: Composition, key: str) -> float:
    """Return how wide a band is, as the ratio of its ends."""
    band = composition.estimates[key].band()
    return band.high / band.low


def test_without_a_report_there_is_a_plan_and_it_says_what_it_rests_on(bare: Solved) -> None:
    assert bare.plan.actions
    assert len(bare.plan.published_only) == len(bare.plan.garden.materials)
    (found,) = [one for one in bare.plan.findings if one.code == "no_report_yet"]
    assert found.severity == "warning"
    assert "wide" in found.text
    assert "narrows" in found.proposal
    assert "partly_published" not in {one.code for one in bare.plan.findings}


def test_with_some_reports_the_rest_is_named(demo: Solved) -> None:
    (found,) = [one for one in demo.plan.findings if one.code == "partly_published"]
    assert f"{len(demo.plan.published_only)} of {len(demo.plan.garden.materials)}" in found.text
    assert 0 < len(demo.plan.published_only) < len(demo.plan.garden.materials)


def test_each_report_narrows_what_it_speaks_of(demo_garden: Garden) -> None:
    of_materials = [one for one in demo_garden.reports if one.material]
    assert len(of_materials) >= 7
    before = prepare(demo_garden.model_copy(update={"reports": ()})).compositions
    narrowed = 0
    for entry in of_materials:
        after = prepare(demo_garden.model_copy(update={"reports": (entry,)})).compositions
        key = str(entry.material)
        for quantity in ("N", "P", "K", "moisture"):
            if after[key].estimates[quantity].origin != before[key].estimates[quantity].origin:
                assert width(after[key], quantity) < width(before[key], quantity), (entry.file, quantity)
                narrowed += 1
        others = [one for one in before if one != key]
        assert all(width(after[one], "N") == width(before[one], "N") for one in others), (
            "a report speaks of its own material only"
        )
    assert narrowed >= 12


def test_a_second_report_of_the_same_material_narrows_again(demo_garden: Garden) -> None:
    entries = [one for one in demo_garden.reports if one.material == "grounds"]
    assert len(entries) == 2
    widths = [
        width(prepare(demo_garden.model_copy(update={"reports": tuple(entries[:count])})).compositions["grounds"], "N")
        for count in (0, 1, 2)
    ]
    assert widths[2] < widths[1] < widths[0]


def relative(solved: Solved) -> float:
    """Return the mean relative width of the bands of what beds are supplied."""
    found = [
        (band.high - band.low) / band.median
        for bed in solved.plan.beds
        for key in ("P", "K")
        if (band := bed.supplied[key]).median > 0.05
    ]
    return float(np.mean(found))


def test_bands_of_the_plan_are_wider_without_reports(demo: Solved, bare: Solved) -> None:
    assert relative(bare) > relative(demo)


EMPTY: dict[str, tuple[Callable[[], Garden], str]] = {
    "supplies of zero": (
        lambda: garden((material("m", "straw-wheat"),), (supply("m", 0),), (planting("bed", "kale"),)),
        "above zero",
    ),
    "no supplies": (lambda: garden((material("m", "straw-wheat"),), (), (planting("bed", "kale"),)), "above zero"),
    "no materials": (lambda: garden((), (), (planting("bed", "kale"),)), "material"),
    "no beds": (lambda: garden((material("m", "straw-wheat"),), (supply("m", 5),), (), beds=()), "bed"),
    "supplies of another year": (
        lambda: garden((material("m", "straw-wheat"),), (supply("m", 5, 60, 70),), (planting("bed", "kale"),)),
        "dates",
    ),
}


@pytest.mark.parametrize("case", EMPTY)
def test_where_there_is_nothing_to_plan_it_is_said_with_a_remedy(case: str) -> None:
    make, word = EMPTY[case]
    with pytest.raises(NoPlan) as told:
        plan_season(make())
    assert told.value.conflict
    assert told.value.remedies
    assert word in " ".join(told.value.remedies)
    assert "Traceback" not in str(told.value)


def test_everything_that_is_lacking_is_told_at_once() -> None:
    with pytest.raises(NoPlan) as told:
        plan_season(garden((), (), (), beds=()))
    assert len(told.value.conflict) == len(told.value.remedies) == 3


def test_a_garden_without_crops_is_planned_and_spreads_nothing() -> None:
    plan = plan_season(garden((material("m", "compost-finished"),), (supply("m", 5),), ()))
    assert not [one for one in plan.actions if one.task in ("mulch", "dig_in")]
