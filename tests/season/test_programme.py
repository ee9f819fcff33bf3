"""The programme against an independent writing of it, solved by scipy; and what any plan must keep."""

from __future__ import annotations

import random
from functools import cache
from itertools import pairwise

import numpy as np
import pytest

from loamery.garden import Garden
from loamery.garden.model import Bed, Good, Heap, SoilValue, Store, WormBed
from loamery.reference import coefficient
from loamery.season.believed import Believed
from loamery.season.decision import AIMS, Solution
from loamery.season.make import plan_season
from loamery.season.mulch import mulch_looks
from loamery.season.problem import Problem, make_problem
from loamery.season.recipes import Recipe
from loamery.season.solve import solve_season
from tests.season.gardens import garden, material, planting, supply
from tests.season.independent import independent
from tests.season.test_problem import problem_of

EXACT = dict.fromkeys(AIMS, 0.0)


KINDS = [
    "coffee-spent",
    "leaves-mixed",
    "compost-finished",
    "chips-arborist",
    "grass-clippings",
    "straw-wheat",
    "wood-ash",
    "brewers-grain",
]
CROPS = ["kale", "tomato", "lettuce-leaf", "strawberry", "potato", "pea-green", "carrot", "bean-snap"]


def random_garden(seed: int) -> Garden:
    draw = random.Random(seed)
    kinds = draw.sample(KINDS, draw.choice([2, 3]))
    materials = tuple(
        material(f"m{n}", kind, "mulch", "dig_in", weeks=draw.choice([None, 0.5, 1, 3])) for n, kind in enumerate(kinds)
    )
    supplies = tuple(
        supply(
            one.id,
            draw.uniform(1, 40),
            draw.uniform(0, 4),
            draw.uniform(4.5, 9),
            draw.choice([0, 0, 0.3]),
            draw.choice(["near", "far"]),
        )
        for one in materials
        for _ in range(draw.choice([1, 2]))
    )
    beds = tuple(Bed(id=f"b{n}", name=f"Bed {n}", area_m2=draw.uniform(2, 12)) for n in range(draw.choice([1, 2])))
    plantings = tuple(planting(bed.id, draw.choice(CROPS), draw.randint(-2, 3), draw.randint(5, 10)) for bed in beds)
    soil = tuple(
        SoilValue(bed=bed.id, quantity=key, value=draw.uniform(*ends), unit=unit, extractant=how)
        for bed in beds
        for key, ends, unit, how in (("P", (5, 120), "mg/kg", "mehlich3"), ("K", (20, 300), "mg/kg", "mehlich3"),
                                     ("EC", (0.2, 3), "dS/m", "saturated paste"), ("organic_matter", (1, 7), "%", ""))
        if draw.random() < 0.7
    )  # fmt: skip
    one = garden(
        materials, supplies, plantings, beds=beds, soil=soil, hours=draw.choice([None, 0.1, 0.5, 3]), draws=100
    )
    more: dict[str, object] = {}
    if draw.random() < 0.4:
        more["stores"] = (Store(material="m0", kg=draw.uniform(5, 60)),)
    if draw.random() < 0.4:
        more["materials"] = (*materials, material("meal", "feather-meal", "dig_in"))
        more["goods"] = (Good(material="meal", sack_kg=draw.choice([0.5, 2]), price=draw.choice([2, 30]), most=3),)
    if draw.random() < 0.5:
        more["supplies"] = tuple(s.model_copy(update={"kg_per_week": 4 * s.kg_per_week}) for s in supplies)
        more["heaps"] = (Heap(id="h", name="H", capacity_m3=draw.choice([0.1, 0.3])),)
    if draw.random() < 0.5:
        more["worm_beds"] = (WormBed(id="w", name="W", area_m2=0.2),)
    return with_worms(one.model_copy(update=more))


def with_worms(one: Garden) -> Garden:
    """Let worms eat what is soft, where there is a worm bed."""
    soft = ("coffee-spent", "leaves-mixed", "brewers-grain")
    fed = [
        each.model_copy(update={"uses": (*each.uses, "worm_bed")}) if each.kind in soft else each
        for each in one.materials
    ]
    return one.model_copy(update={"materials": tuple(fed)}) if one.worm_beds else one


def small_problem(seed: int) -> Problem:
    """Return a random garden as a problem; heaps get a recipe of all there is, and a compost that is ready within the season."""
    one, draw = random_garden(seed), random.Random(-seed)
    plain = problem_of(one)
    recipes = ()
    if one.heaps:
        share = draw.uniform(0.2, 0.8)
        recipes = (Recipe("recipe-1", "r", (("m0", share), ("m1", 1 - share)), 0.1, 300.0, None),)  # type: ignore[arg-type]
    lead = Believed(lead_weeks={"recipe-1": np.full(8, draw.choice([1.0, 1.5, 20.0]))})
    return make_problem(
        one, plain.calendar, plain.needs, plain.raw, recipes, believed=lead, scenarios=draw.choice([1, 2, 4])
    )


SEEDS = (*range(99), 137)
"""The last one spreads compost of a heap of the same season."""


@cache
def solved(seed: int) -> tuple[Problem, Solution]:
    problem = small_problem(seed)
    return problem, solve_season(problem, gaps=EXACT)


@pytest.mark.parametrize("seed", SEEDS)
def test_every_aim_is_that_of_an_independent_programme(seed: int) -> None:
    problem, solution = solved(seed)
    assert solution.status == "optimal"
    expected = independent(problem)
    for aim in AIMS:
        close = pytest.approx(expected[aim], rel=1e-6, abs=1e-6)
        assert solution.turns[aim] == close, aim
        assert solution.bounds[aim] == close, aim


def test_the_random_gardens_are_not_all_alike() -> None:
    """Some of them must be short, spread, build, buy, feed worms and use a store, or the comparison would say little."""
    found = [solved(seed) for seed in SEEDS]
    told = [one for _, one in found]
    assert sum(one.spread.sum() > 1 for one in told) >= 60
    assert sum(one.short_n.mean() > 0.1 for one in told) >= 20
    assert sum(one.bare.sum() > 0.1 for one in told) >= 20
    assert sum(one.build.sum() > 1 for one in told) >= 5
    assert sum(one.sacks.sum() > 0 for one in told) >= 5
    assert sum(one.feed.sum() > 0.1 for one in told) >= 5
    assert sum((problem.store_kg > 0).any() for problem, _ in found) >= 20
    assert sum(problem.scenarios.count > 1 and np.ptp(one.loss) > 0.01 for problem, one in found) >= 20
    composts = [
        one.spread[[row for row, each in enumerate(problem.spreads) if each.stuff.form == "compost"]].sum()
        for problem, one in found
    ]
    assert sum(kg > 0.1 for kg in composts) >= 1


def heap_garden(hours: float | None, **more: object) -> Garden:
    materials = (material("grounds", "coffee-spent", "heap", "mulch"), material("leaves", "leaves-mixed", "heap", "mulch"),
                 material("grass", "grass-clippings", "heap", weeks=2))  # fmt: skip
    supplies = (supply("grounds", 60, 0, 20), supply("leaves", 80, 0, 20), supply("grass", 60, 0, 20))
    heaps = (Heap(id="h1", name="H1", capacity_m3=1.2), Heap(id="h2", name="H2", capacity_m3=1.2))
    return garden(materials, supplies, (planting("bed", "kale", 0, 20),), heaps=heaps, weeks=20, hours=hours, **more)  # type: ignore[arg-type]


@pytest.mark.parametrize("hours", [0.0, 0.5, 2.4, 3.2, 6.0])
def test_no_week_asks_for_more_hands_than_there_are(hours: float) -> None:
    """Turnings count in the week they are done, not in the week the heap is built."""
    plan = plan_season(heap_garden(hours))
    assert max(plan.hours) <= hours + 1e-6
    assert bool(plan.batches) is (hours >= 2.4), "a batch takes two hours to build"
    assert sum(one.hours for one in plan.actions) == pytest.approx(sum(plan.hours))


def test_more_hands_never_give_a_worse_plan() -> None:
    one = random_garden(3)

    def objective(hours: float | None) -> float:
        info = one.info.model_copy(update={"hours_per_week": hours})
        return solve_season(problem_of(one.model_copy(update={"info": info})), gaps=EXACT).objective

    found = [objective(hours) for hours in (0.0, 0.1, 0.5, 2.0, None)]
    assert all(later <= earlier + 1e-6 for earlier, later in pairwise(found))


@pytest.mark.parametrize("weeks", [1, 2, 3, 60])
def test_short_and_long_seasons(weeks: int) -> None:
    one = garden(
        (material("m", "compost-finished"),),
        (supply("m", 30, 0, weeks),),
        (planting("bed", "kale", 0, max(weeks, 4)),),
        weeks=weeks,
    )
    plan = plan_season(one)
    assert plan.calendar.weeks == len(plan.hours) == weeks


def test_with_no_hands_at_all_nothing_moves_and_the_shortfall_is_told() -> None:
    plan = plan_season(
        garden((material("m", "compost-finished"),), (supply("m", 30),), (planting("bed", "kale"),), hours=0.0)
    )
    assert plan.actions == ()
    assert plan.beds[0].supplied["N"].median == 0
    assert "short_of_nutrient" in {one.code for one in plan.findings}


def test_a_seed_gives_one_plan() -> None:
    one, other = (solve_season(problem_of(random_garden(5))) for _ in range(2))
    for name in ("take", "spread", "short_n", "short_pk", "bare", "stock"):
        assert np.array_equal(getattr(one, name), getattr(other, name)), name


def test_two_mulches_together_cover_the_bed_and_lie_no_deeper_than_it_bears() -> None:
    """Two kinds that each keep their own limit may together lie no deeper than a bed of vegetables bears."""
    kinds = {"chips": "chips-arborist", "leaves": "leaves-mixed"}
    soil = tuple(
        SoilValue(bed="bed", quantity=key, value=value, unit="mg/kg", extractant="mehlich3")
        for key, value in (("P", 2), ("K", 5))
    )
    one = garden(
        tuple(material(key, kind, "mulch") for key, kind in kinds.items()),
        tuple(supply(key, 400) for key in kinds),
        (planting("bed", "potato", -2, 8),),
        soil=soil,
    )
    problem = problem_of(one)
    solution = solve_season(problem)
    looks, deepest = mulch_looks(8), coefficient("standing_mulch_max").value
    depth = sum(
        solution.spread[row, 0] @ spread.left[:, looks] / np.median(spread.stuff.density) / one.beds[0].area_m2
        for row, spread in enumerate(problem.spreads)
    )
    assert max(depth) <= deepest * (1 + 1e-6)
    assert max(depth) >= coefficient("mulch_depth_target").value * 0.9
