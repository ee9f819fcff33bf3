"""From amounts to work: what to do in which week, in kilograms, litres and buckets."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from loamery.garden.model import Heap
from loamery.reference import coefficient
from loamery.say import say
from loamery.season.decision import Decision, Solution
from loamery.season.plan import Action, Batch, MaterialUse, Task
from loamery.season.problem import Problem, bucket_kg, depth_m_per_kg_m2
from loamery.season.recipes import Recipe
from loamery.season.sacks import sack_money, sacks_by_week, sacks_text
from loamery.season.stuff import Stuff
from loamery.season.work import collect_hours_per_kg, handling_hours_per_kg, spread_hours_per_kg, turning_weeks
from loamery.units import from_si, show, to_si
from loamery.words import mass_text, quantity_text

LEAST_KG = 0.5
"""Amounts below this are not worth a trip and are left out of the chores."""
LEAST_SACKED_KG = 0.02
"""The same for meals and minerals, of which a handful counts."""
HALF = 0.5
ROUNDING = 1e-6


def least_kg(stuff: Stuff) -> float:
    """Return the least amount of a stuff that is worth spreading, kg."""
    return LEAST_SACKED_KG if stuff.group in ("meal", "mineral") else LEAST_KG


def batches_of(problem: Problem, solution: Decision) -> tuple[Batch, ...]:
    """Return the batches the plan builds, in order of weeks, each in a heap that is free by then."""
    busy_until = {heap.id: 0 for heap in problem.garden.heaps}
    active = math.ceil(coefficient("heap_active_weeks").value)
    found: list[Batch] = []
    for week, place_index, row in sorted(zip(*np.nonzero(solution.build.transpose(2, 1, 0) > LEAST_KG), strict=True)):
        place, kg = problem.places[place_index], float(solution.build[row, place_index, week])
        count = max(round(float(solution.start[row, place_index, week])), 1)
        for _ in range(count):
            heap = min(place.heaps, key=lambda one: busy_until[one.id])
            busy_until[heap.id] = int(week) + active
            found.append(_batch(problem, f"batch-{len(found) + 1}", heap, int(row), int(week), kg / count))
    return tuple(found)


def _volume_m3(recipe: Recipe, kg: float) -> float:
    return kg * (1.0 + recipe.water_kg_kg) / recipe.density_kg_m3


def _batch(problem: Problem, name: str, heap: Heap, row: int, week: int, kg: float) -> Batch:
    recipe, ready = problem.recipes[row], _first_ready(problem, row, week)
    return Batch(
        id=name,
        heap=heap.id,
        heap_name=heap.name,
        recipe=recipe,
        week=week,
        day=problem.calendar.monday(week),
        parts_kg={key: share * kg for key, share in recipe.shares},
        water_l=recipe.water_kg_kg * kg,
        volume_m3=_volume_m3(recipe, kg),
        ready_week=ready,
        ready_day=problem.calendar.monday(ready),
        compost_kg=float(problem.compost_yield[row]) * kg,
    )


def _first_ready(problem: Problem, row: int, week: int) -> int:
    return week + math.ceil(float(problem.lead_weeks[row, week]))


def actions_of(problem: Problem, solution: Decision, batches: Sequence[Batch]) -> tuple[Action, ...]:
    """Return everything there is to do, by week and kind of work."""
    out = [*_buying(problem, solution), *_collecting(problem, solution)]
    out += [*_spreading(problem, solution), *_feeding(problem, solution)]
    for batch in batches:
        out += [_building(problem, batch), *_turning(problem, batch)]
    order: list[Task] = ["buy", "collect", "build", "turn", "feed", "dig_in", "mulch"]
    return tuple(sorted(out, key=lambda one: (one.week, order.index(one.task), one.target_name, one.stuff_name)))


def _action(
    problem: Problem, week: int, task: Task, stuff: Stuff, target: tuple[str, str], kg: float, **more: object
) -> Action:
    litres = from_si(kg / float(np.median(stuff.density)), "L")
    buckets = max(math.ceil(kg / bucket_kg(stuff, problem.garden) / HALF - ROUNDING) * HALF, HALF)
    return Action(
        week=int(week),
        day=problem.calendar.monday(week),
        task=task,
        stuff=stuff.id,
        stuff_name=stuff.name,
        target=target[0],
        target_name=target[1],
        kg=kg,
        volume_l=litres,
        buckets=buckets,
        **more,  # type: ignore[arg-type]
    )


def _buying(problem: Problem, solution: Decision) -> list[Action]:
    """Return the sacks to buy in each week; the hours are those of what the week takes of them, as the programme counts."""
    out, info, counts = [], problem.garden.info, sacks_by_week(problem, solution)
    for good, week in zip(*np.nonzero(counts), strict=True):
        one, sacks = problem.goods[good], int(counts[good, week])
        stuff, cost = problem.raw[problem.good_material[good]], sacks * one.price
        detail = sacks_text(sacks, mass_text(one.sack_kg, info.units), cost, info.currency)
        hours = handling_hours_per_kg() * float(solution.buy[good, week])
        kg = sacks * one.sack_kg
        out.append(
            _action(problem, week, "buy", stuff, ("", ""), kg, hours=hours, detail=detail, sacks=sacks, cost=cost)
        )
    return out


def _collecting(problem: Problem, solution: Decision) -> list[Action]:
    out = []
    for lot, week in zip(*np.nonzero(solution.take > LEAST_KG), strict=True):
        kg = float(solution.take[lot, week])
        donor = problem.garden.donor(problem.lots[lot].donor)
        stuff = problem.raw[problem.lot_material[lot]]
        hours = kg * collect_hours_per_kg(problem, int(lot))
        out.append(_action(problem, week, "collect", stuff, (donor.id, donor.name), kg, hours=hours))
    return out


def _spreading(problem: Problem, solution: Decision) -> list[Action]:
    per_kg = spread_hours_per_kg()
    out = []
    to_do = solution.spread - problem.so_far.spread
    least = np.array([least_kg(one.stuff) for one in problem.spreads]).reshape(-1, 1, 1)
    for row, bed_index, week in zip(*np.nonzero(to_do > least), strict=True):
        kg = float(to_do[row, bed_index, week])
        spread, bed = problem.spreads[row], problem.needs[bed_index].bed
        depth = depth_m_per_kg_m2(spread.stuff) * kg / bed.area_m2 if spread.use == "mulch" else 0.0
        task: Task = "mulch" if spread.use == "mulch" else "dig_in"
        out.append(_action(problem, week, task, spread.stuff, (bed.id, bed.name), kg, hours=kg * per_kg, depth_m=depth))
    return out


def _feeding(problem: Problem, solution: Decision) -> list[Action]:
    out = []
    for row, box, week in zip(*np.nonzero(solution.feed > LEAST_KG), strict=True):
        kg = float(solution.feed[row, box, week])
        target = problem.garden.worm_beds[box]
        out.append(_action(problem, week, "feed", problem.raw[row], (target.id, target.name), kg, hours=0.0))
    return out


def _building(problem: Problem, batch: Batch) -> Action:
    names = {one.id: one.name for one in problem.raw}
    system = problem.garden.info.units
    parts = ", ".join(f"{names[key].lower()} {mass_text(kg, system, 2)}" for key, kg in batch.parts_kg.items())
    water_text = quantity_text(*show(to_si(batch.water_l, "L"), "volume", system), 2)
    water = f", water {water_text}" if batch.water_l >= 1.0 else ""
    return Action(
        week=batch.week,
        day=batch.day,
        task="build",
        stuff=batch.recipe.id,
        stuff_name=batch.recipe.name,
        target=batch.heap,
        target_name=batch.heap_name,
        kg=sum(batch.parts_kg.values()),
        volume_l=from_si(batch.volume_m3, "L"),
        buckets=math.ceil(from_si(batch.volume_m3, "L") / problem.garden.info.bucket_l),
        hours=coefficient("hours_per_batch").value,
        detail=parts + water,
    )


def _turning(problem: Problem, batch: Batch) -> list[Action]:
    """Spread the usual number of turnings evenly over the active weeks; the heap model will search for better times."""
    return [
        Action(
            week=week,
            day=problem.calendar.monday(week),
            task="turn",
            stuff="",
            stuff_name="",
            target=batch.heap,
            target_name=batch.heap_name,
            kg=0.0,
            volume_l=0.0,
            buckets=0.0,
            hours=coefficient("hours_per_turning").value,
            detail=say("take its temperature first; steam and a hot core can scald"),
        )
        for week in turning_weeks(batch.week)
        if week < problem.calendar.weeks
    ]


def weekly_hours(actions: Sequence[Action], weeks: int) -> tuple[float, ...]:
    """Return the hours of work of every week."""
    hours = np.zeros(weeks)
    for action in actions:
        hours[action.week] += action.hours
    return tuple(float(one) for one in hours)


def material_uses(problem: Problem, solution: Solution) -> tuple[MaterialUse, ...]:
    """Return what became of each raw material."""
    return tuple(_material_use(problem, solution, index, stuff) for index, stuff in enumerate(problem.raw))


def _material_use(problem: Problem, solution: Solution, index: int, stuff: Stuff) -> MaterialUse:
    lots, goods = np.flatnonzero(problem.lot_material == index), np.flatnonzero(problem.good_material == index)
    done, now = problem.so_far, problem.so_far.week
    taken, loads = float(solution.take[lots].sum()), float(done.loads[index])
    offered = loads + float(problem.lot_kg[lots, now:].sum())
    by_use = {"mulch": 0.0, "dig_in": 0.0}
    for row, spread in enumerate(problem.spreads):
        if spread.stuff.id == stuff.id:
            by_use[spread.use] += float(solution.spread[row].sum())
    by_use["heap"] = float(problem.shares[index] @ solution.build.sum(axis=(1, 2)) + done.heaps[index])
    by_use["worm_bed"] = float(solution.feed[index].sum() + done.worms[index])
    spent = sum(problem.lots[lot].price_per_kg * solution.take[lot].sum() for lot in lots)
    spent += sack_money(problem, solution)[goods].sum()
    return MaterialUse(
        material=stuff.id,
        name=stuff.name,
        offered_kg=offered,
        collected_kg=taken + loads,
        by_use_kg={key: kg for key, kg in by_use.items() if kg > ROUNDING},
        left_kg=offered - taken - loads,
        spent=float(spent),
        bought_kg=float(solution.buy[goods].sum()),
        stored_kg=float(problem.store_kg[index] + done.found[index]),
        in_store_kg=float(solution.stock[index, -1]),
        thrown_kg=float(solution.thrown[index]),
    )
