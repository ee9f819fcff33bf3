"""Heaps are built from a few recipes; how much is lost against blending freely?

Free blending would make the content of compost a product of two decisions, which is not linear. Beside the few recipes stand here, as columns
of their own, all blends on a fine grid that keep the bounds at the medians: the best plan with them bounds what a free blend could reach, to the
grid. The recipes of a garden without reports are the most reliable blends, so a part of the loss is the price of that.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from loamery.blend.bounds import Bounds
from loamery.blend.ingredient import Ingredient
from loamery.blend.solve import solve_blend
from loamery.errors import NoPlan
from loamery.garden import Garden
from loamery.garden.model import Heap
from loamery.season.believed import Believed
from loamery.season.calendar import calendar_of
from loamery.season.needs import bed_need
from loamery.season.prepare import Prepared, prepare
from loamery.season.problem import make_problem
from loamery.season.recipes import Recipe, make_recipes
from loamery.season.scenarios import draws_as_scenarios
from loamery.season.solve import solve_season
from loamery.season.stuff import raw_stuff
from tests.season.gardens import garden, material, planting, supply
from tests.season.test_programme import EXACT

STEP = 0.05
LEAD = 6.0


def small(rich: str, lean: str, crop: str) -> Garden:
    materials = (material("rich", rich, "heap", weeks=4), material("lean", lean, "heap"))
    supplies = (supply("rich", 120, 0, 6), supply("lean", 120, 0, 6))
    heap = Heap(id="h", name="H", capacity_m3=0.8)
    return garden(materials, supplies, (planting("bed", crop, 7, 16),), heaps=(heap,), weeks=16, draws=200)


def grid(prepared: Prepared, lean: tuple[float, ...]) -> list[Recipe]:
    """Return a recipe for every share of the lean material at which the bounds hold."""
    one, out = prepared.garden, []
    parts = [
        Ingredient.from_composition(prepared.compositions[key], name=key, vessel_l=one.info.bucket_l)
        for key in ("rich", "lean")
    ]
    for share in lean:
        bounds = replace(Bounds.reasonable(), shares={"lean": (share - 1e-4, share + 1e-4)})
        try:
            blend = solve_blend(parts, bounds, total_kg=100.0, objective="closest", n_scenarios=80, seed=one.info.seed)
        except NoPlan:
            continue
        litres = (blend.total_l or 1.0) / 1000.0
        dry = sum(portion.kg for portion in blend.portions)
        shares = tuple((portion.name, portion.kg / dry) for portion in blend.portions)
        out.append(Recipe(f"grid-{share:.2f}", "grid", shares, blend.water_kg / dry, blend.total_kg / litres, blend))
    return out


@pytest.mark.parametrize(
    ("rich", "lean", "crop"), [("grass-clippings", "leaves-mixed", "kale"), ("manure-horse", "straw-wheat", "potato")]
)
def test_a_few_recipes_lose_little_against_all_blends(rich: str, lean: str, crop: str) -> None:
    prepared = prepare(small(rich, lean, crop))
    one, calendar = prepared.garden, calendar_of(prepared.garden)
    raw = [raw_stuff(each, prepared.compositions[each.id]) for each in one.materials]
    needs = [bed_need(one, bed, prepared.soils[bed.id], calendar) for bed in one.beds]
    few, _ = make_recipes(one, calendar, raw, prepared.compositions)
    many = grid(prepared, tuple(np.arange(STEP, 1.0, STEP)))
    assert few and len(many) >= 3

    def best(recipes: list[Recipe]) -> tuple[float, float]:
        lead = Believed(lead_weeks={each.id: np.full(calendar.weeks, LEAD) for each in recipes})
        problem = make_problem(one, calendar, needs, raw, recipes, believed=lead)
        same = draws_as_scenarios(one, problem.seasons, needs, problem.spreads, raw, np.arange(0, one.info.draws, 50))
        found = solve_season(replace(problem, scenarios=same), gaps=EXACT)
        return found.turns["shortfall"], float(found.build.sum())

    (with_few, built), (with_all, _) = best(list(few)), best([*few, *many])
    assert built > 1, "a heap is built, or this says nothing"
    assert with_all <= with_few + 1e-9
    assert with_few - with_all <= 0.1 * with_all, (with_few, with_all)
