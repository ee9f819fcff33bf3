"""The programme against an independent one: dense, without labels, by ages instead of stocks, solved by scipy."""

from __future__ import annotations

import random
from collections import defaultdict
from dataclasses import dataclass, field
from functools import cache
from itertools import pairwise

import numpy as np
import pytest
from scipy.optimize import linprog

from loamery.garden import Garden
from loamery.garden.model import Bed, Heap, SoilValue
from loamery.reference import coefficient
from loamery.season.make import plan_season
from loamery.season.mulch import mulch_looks
from loamery.season.problem import Problem
from loamery.season.programme import Solution, solve_season
from tests.season.gardens import garden, material, planting, supply
from tests.season.test_problem import problem_of

G = 1000.0
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


def weight(name: str) -> float:
    return coefficient(f"weight_{name}").value


@dataclass
class Dense:
    """A linear programme under construction: columns with cost and bounds, rows that must not be exceeded."""

    cost: list[float] = field(default_factory=list)
    most: list[float | None] = field(default_factory=list)
    rows: list[tuple[dict[int, float], float]] = field(default_factory=list)
    equal: list[tuple[dict[int, float], float]] = field(default_factory=list)

    def column(self, cost: float = 0.0, most: float | None = None) -> int:
        self.cost.append(cost)
        self.most.append(most)
        return len(self.cost) - 1

    def at_most(self, terms: dict[int, float], limit: float) -> None:
        self.rows.append((dict(terms), limit))

    def solve(self) -> float:
        def matrix(rows: list[tuple[dict[int, float], float]]) -> tuple[np.ndarray | None, np.ndarray | None]:
            if not rows:
                return None, None
            table = np.zeros((len(rows), len(self.cost)))
            for number, (terms, _) in enumerate(rows):
                for column, value in terms.items():
                    table[number, column] += value
            return table, np.array([limit for _, limit in rows])

        (a, b), (c, d) = matrix(self.rows), matrix(self.equal)
        bounds = [(0, most) for most in self.most]
        found = linprog(self.cost, A_ub=a, b_ub=b, A_eq=c, b_eq=d, bounds=bounds, method="highs")
        assert found.status == 0, found.message
        return float(found.fun)


def independent(problem: Problem) -> float:
    """Return the best objective of a problem without heaps and worms, from what the documentation says it is."""
    info, weeks, beds = problem.garden.info, problem.calendar.weeks, problem.needs
    area = np.array([need.bed.area_m2 for need in beds])
    part = area / area.sum()
    dense = Dense()
    hours: list[dict[int, float]] = [defaultdict(float) for _ in range(weeks)]
    spread_hours = coefficient("hours_per_100kg_spread").value / 100

    # spreading: in kg, priced by its hours
    spread = {}
    for s, b, t in np.argwhere(problem.allowed):
        spread[s, b, t] = dense.column(weight("hour") * spread_hours)
        hours[t][spread[s, b, t]] += spread_hours

    # collecting: trip there and back shared by a load, handling, price; free material is worth a little when put to use
    take = {}
    for lot, offer in enumerate(problem.lots):
        km = problem.garden.donor(offer.donor).distance_km
        per_kg = (
            2 * km / coefficient("haul_speed").value / coefficient("haul_load").value
            + coefficient("hours_per_100kg_collect").value / 100
        )
        for t in range(weeks):
            cost = (
                weight("hour") * per_kg
                + weight("money") * offer.price_per_kg
                - (weight("diverted") if offer.price_per_kg == 0 else 0)
            )
            take[lot, t] = dense.column(cost, float(problem.lot_kg[lot, t]))
            hours[t][take[lot, t]] += per_kg

    # what is collected in week a is used in week t while it keeps, or is still there at the end
    for r, stuff in enumerate(problem.raw):
        kept = int(stuff.storage_weeks)
        lots = np.flatnonzero(problem.lot_material == r)
        used_in: list[list[int]] = [[] for _ in range(weeks)]
        for a in range(weeks):
            parts = [dense.column() for _ in range(a, min(a + kept, weeks - 1) + 1)]
            for t, column in enumerate(parts, start=a):
                used_in[t].append(column)
            whole = dict.fromkeys(parts, 1.0) | {take[lot, a]: -1.0 for lot in lots}
            if kept and a + kept > weeks - 1:
                whole[dense.column(weight("diverted"))] = 1.0
            dense.equal.append((whole, 0.0))
        for t in range(weeks):
            goes = dict.fromkeys(used_in[t], -1.0)
            goes |= {
                column: 1.0
                for (s, _, week), column in spread.items()
                if week == t and problem.spreads[s].stuff.id == stuff.id
            }
            dense.equal.append((goes, 0.0))

    def on(bed: int, per_kg: np.ndarray | list[float], until: int | None = None) -> dict[int, float]:
        """Return what is spread on a bed times a figure of each stuff (and week), per m2."""
        out = {}
        for (s, b, t), column in spread.items():
            if b == bed and (until is None or t <= until):
                value = per_kg[s][t] if np.ndim(per_kg[s]) else per_kg[s]
                out[column] = float(value) / area[bed]
        return out

    checks, looks = problem.checks, mulch_looks(weeks)
    wanted, deepest = coefficient("mulch_depth_target").value, coefficient("standing_mulch_max").value
    for b, need in enumerate(beds):
        scale = {key: max(need.need_kg_m2[key] * G, 0.1) for key in "NPK"}
        for check in checks:
            short = dense.column(weight("shortfall") * weight("n") * part[b] / scale["N"] / len(checks))
            asked = (need.n_demand_kg_m2[check] - need.n_soil_kg_m2[check]) * G
            given = on(b, [one.n_kg_kg[:, check] * G for one in problem.spreads])
            dense.at_most({column: -value for column, value in given.items()} | {short: -1.0}, -asked)
        last = checks[-1]
        over = dense.column(weight("surplus") * part[b] / scale["N"])
        room = (
            max((need.n_demand_kg_m2[last] - need.n_soil_kg_m2[last]) * G, 0.0)
            + coefficient("n_supply_surplus_max").value
        )
        dense.at_most(on(b, [one.n_kg_kg[:, last] * G for one in problem.spreads]) | {over: -1.0}, room)
        for key in "PK":
            short = dense.column(weight("shortfall") * weight(key.lower()) * part[b] / scale[key])
            given = on(b, [getattr(one, f"{key.lower()}_kg_kg") * G for one in problem.spreads])
            dense.at_most(
                {column: -value for column, value in given.items()} | {short: -1.0}, -need.need_kg_m2[key] * G
            )
        for key, ceiling in need.ceilings.items():
            held = []
            for one in problem.spreads:
                draws = {"P": one.stuff.p, "K": one.stuff.k, "salt": one.stuff.salts}.get(key, one.stuff.trace.get(key))
                total = 0.0 if draws is None else float(np.median(draws))
                held.append(
                    total * (1.0 if key in ("K", "salt") or one.use == "dig_in" else one.stuff.decay.decomposed_frac)
                )
            most = max(ceiling.limit_kg_m2, 1e-12)
            dense.at_most({column: value / most for column, value in on(b, held).items()}, ceiling.limit_kg_m2 / most)
        for look in looks:
            standing: dict[int, float] = defaultdict(float)
            for row, one in enumerate(problem.spreads):
                if one.use != "mulch":
                    continue
                thick = [0.0] * len(problem.spreads)
                thick[row] = one.left[:, look] / np.median(one.stuff.density)  # type: ignore[call-overload]
                layer = {column: value for column, value in on(b, thick).items() if value}
                if one.stuff.mulch_depth_m < deepest:
                    dense.at_most(layer, one.stuff.mulch_depth_m)
                for column, value in layer.items():
                    standing[column] += value
            dense.at_most(standing, deepest)
            calendar, wait = problem.calendar, coefficient("mulch_wait_weeks").value
            if any(
                calendar.week_of(one.planted) + wait <= look <= calendar.week_of(one.harvested)
                for one in need.plantings
            ):
                bare = dense.column(weight("cover") * part[b] / len(looks), 1.0)
                dense.at_most({column: -value for column, value in standing.items()} | {bare: -wanted}, -wanted)
    if info.hours_per_week is not None:
        for week in hours:
            dense.at_most(week, info.hours_per_week)
    return dense.solve()


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
    return garden(
        materials, supplies, plantings, beds=beds, soil=soil, hours=draw.choice([None, 0.1, 0.5, 3]), draws=100
    )


SEEDS = range(24)


@cache
def solved(seed: int) -> tuple[Problem, Solution]:
    problem = problem_of(random_garden(seed))
    return problem, solve_season(problem)


@pytest.mark.parametrize("seed", SEEDS)
def test_the_objective_is_that_of_an_independent_programme(seed: int) -> None:
    problem, solution = solved(seed)
    assert solution.status == "optimal"
    expected = independent(problem)
    assert solution.objective == pytest.approx(expected, rel=1e-6, abs=1e-5)
    assert solution.bound == pytest.approx(expected, rel=1e-6, abs=1e-5)
    assert solution.gap <= 1e-5


def test_the_random_gardens_are_not_all_alike() -> None:
    """Some of them must be short, spread, held by hours and by ceilings, or the comparison would say little."""
    found = [solved(seed)[1] for seed in SEEDS]
    assert sum(one.spread.sum() > 1 for one in found) >= 15
    assert sum(one.short_n.sum() > 0.1 for one in found) >= 5
    assert sum(one.short_n.sum() < 0.1 for one in found) >= 1
    assert sum(one.bare.sum() > 0.1 for one in found) >= 5


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
        return solve_season(problem_of(one.model_copy(update={"info": info}))).objective

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
    for name in ("take", "spread", "short_n", "short_pk", "bare"):
        assert np.array_equal(getattr(one, name), getattr(other, name)), name


def test_free_mulch_is_piled_up_to_the_limit_and_no_further() -> None:
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
    assert solution.objective == pytest.approx(independent(problem), rel=1e-6)
    looks, deepest = mulch_looks(8), coefficient("standing_mulch_max").value
    depth = sum(
        solution.spread[row, 0] @ spread.left[:, looks] / np.median(spread.stuff.density) / one.beds[0].area_m2
        for row, spread in enumerate(problem.spreads)
    )
    assert max(depth) == pytest.approx(deepest, rel=1e-6)
