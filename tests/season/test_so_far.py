"""Planning anew in mid-season: what was done is fixed, the rest is planned from it."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pytest

from loamery.errors import InputError
from loamery.garden import Garden, read_garden, write_demo
from loamery.garden.model import Heap, WormBed
from loamery.garden.records import Application, Batch, BatchPart, Feeding, Load
from loamery.reference import coefficient
from loamery.season.actions import LEAST_KG
from loamery.season.make import Solved, solve_prepared
from loamery.season.prepare import Prepared, prepare
from loamery.season.solve import ROUGH_GAPS
from tests.season.gardens import START, day, garden, material, planting, supply


def base(**more: object) -> Garden:
    materials = (
        material("grounds", "coffee-spent", "mulch", "heap", "worm_bed"),
        material("leaves", "leaves-mixed", "mulch", "heap"),
        material("bought", "compost-finished", "mulch", "dig_in"),
    )
    supplies = (supply("grounds", 20), supply("leaves", 20), supply("bought", 20, price=0.2))
    one = garden(materials, supplies, (planting("bed", "kale"),), heaps=(Heap(id="h", name="H", capacity_m3=0.3),))
    return one.model_copy(update=more)


def solved(one: Garden, week: float) -> Solved:
    return solve_prepared(prepare(one), scenarios=4, since=day(week))


def records(first: Solved, until: int) -> dict[str, object]:
    """Return what was done when a plan was followed up to a week."""
    loads, laid = [], []
    for one in first.plan.actions:
        if one.week < until and one.task == "collect":
            loads.append(Load(id=f"load-{len(loads)}", donor=one.target, material=one.stuff, on=one.day, kg=one.kg))
        if one.week < until and one.task in ("mulch", "dig_in"):
            laid.append(Application(bed=one.target, on=one.day, material=one.stuff, kg=one.kg, use=one.task))  # type: ignore[arg-type]
    return {"loads": tuple(loads), "applications": tuple(laid)}


def test_a_plan_that_was_followed_is_planned_on_as_well() -> None:
    one = base(heaps=())
    first = solve_prepared(prepare(one), scenarios=4)
    again = solved(base(heaps=(), **records(first, 4)), 4)
    assert again.plan.from_week == 4
    assert again.solution.turns["shortfall"] == pytest.approx(first.solution.values["shortfall"], rel=0.03, abs=2e-3)
    assert all(action.week >= 4 for action in again.plan.actions)
    assert {"planned_anew"} <= {found.code for found in again.plan.findings}


def test_what_was_spread_feeds_the_bed_and_uses_up_its_ceilings() -> None:
    laid = (Application(bed="bed", on=day(0), material="bought", kg=30, use="dig_in"),)
    with_it, without = solved(base(applications=laid), 3), solved(base(), 3)
    bed, bare = with_it.plan.beds[0], without.plan.beds[0]
    assert bed.supply_n[1] > 0 == bare.supply_n[1]
    row = [one.name for one in with_it.problem.spreads].index("bought / dig_in")
    assert with_it.solution.spread[row, 0, 0] == pytest.approx(30)
    given = next(one for one in bed.given if one.use == "dig_in")
    assert given.kg >= 30 - 1e-6


def test_too_much_already_lets_nothing_more_on_and_still_gives_a_plan() -> None:
    laid = (Application(bed="bed", on=day(3), material="bought", kg=400, use="mulch"),)
    found = solved(base(applications=laid), 4)
    assert not [one for one in found.plan.actions if one.task in ("mulch", "dig_in") and one.kg > LEAST_KG]
    assert max(one.share for one in found.plan.beds[0].ceilings) > 1


def test_what_was_used_without_a_load_is_taken_to_have_been_there() -> None:
    laid = (Application(bed="bed", on=day(2), material="leaves", kg=25, use="mulch"),)
    found = solved(base(applications=laid), 4)
    (gap,) = [one for one in found.plan.findings if one.code == "records_gap"]
    assert "25\xa0kg" in gap.text
    leaves = next(one for one in found.plan.materials if one.material == "leaves")
    assert leaves.stored_kg == pytest.approx(25)


def test_a_load_lies_in_store_until_it_spoils() -> None:
    load = (Load(id="a", donor="near", material="leaves", on=day(1), kg=50),)
    found = solved(base(loads=load, supplies=(supply("grounds", 20),)), 4)
    row = [one.id for one in found.problem.raw].index("leaves")
    leaves = next(one for one in found.plan.materials if one.material == "leaves")
    assert leaves.collected_kg == pytest.approx(50)
    came = leaves.collected_kg + leaves.stored_kg
    assert came == pytest.approx(sum(leaves.by_use_kg.values()) + leaves.in_store_kg + leaves.thrown_kg, abs=1e-6)
    assert found.solution.stock[row, 3] == pytest.approx(50)
    grounds = (Load(id="b", donor="near", material="grounds", on=day(0), kg=50),)
    old = solved(base(loads=grounds), 5)
    assert next(one for one in old.plan.materials if one.material == "grounds").thrown_kg == pytest.approx(50)


def heap_records(built: float, emptied: float | None = None) -> dict[str, object]:
    batch = Batch(
        id="b1", heap="h", built=day(built), emptied=None if emptied is None else day(emptied), compost_kg=40 if emptied else None
    )  # fmt: skip
    parts = (BatchPart(batch="b1", material="grounds", kg=60), BatchPart(batch="b1", material="leaves", kg=60))
    return {"batches": (batch,), "batch_parts": parts}


def test_a_heap_of_last_autumn_gives_compost_this_spring_without_any_from() -> None:
    found = solve_prepared(prepare(base(**heap_records(-30, -1))), scenarios=4)
    row = [one.id for one in found.problem.stuffs].index("b1")
    assert found.problem.so_far.came[row, 0] == pytest.approx(40)
    used = sum(one.kg for one in found.plan.actions if one.stuff == "b1" and one.task in ("mulch", "dig_in"))
    assert used + found.solution.stock[row, -1] == pytest.approx(40, abs=LEAST_KG * 8)


def test_a_standing_heap_holds_its_place_and_its_parts_are_gone() -> None:
    found = solved(base(**heap_records(2)), 4)
    assert not found.plan.batches, "its only place is taken"
    assert found.problem.so_far.occupied[0, 2:].min() == 1
    assert found.problem.so_far.spring_kg > 0
    grounds = next(one for one in found.plan.materials if one.material == "grounds")
    assert grounds.by_use_kg["heap"] == pytest.approx(60)


def test_a_heap_of_unknown_parts_is_told() -> None:
    alone = {"batches": (Batch(id="b1", heap="h", built=day(-20)),)}
    found = solve_prepared(prepare(base(**alone)), scenarios=2)
    assert "batch_without_parts" in {one.code for one in found.plan.findings}


def test_worms_that_were_fed_give_castings() -> None:
    fed = (Feeding(worm_bed="w", material="grounds", on=day(0), kg=10),)
    worms = (WormBed(id="w", name="W", area_m2=0.5),)
    found = solved(base(worm_beds=worms, feedings=fed, info=base().info.model_copy(update={"season_weeks": 30})), 4)
    row = [one.id for one in found.problem.stuffs].index("castings")
    week = int(np.ceil(coefficient("worm_lead_weeks").value))
    index = [one.id for one in found.problem.raw].index("grounds")
    assert found.problem.so_far.came[row, week] == pytest.approx(10 * found.problem.castings_yield[index])


def test_a_day_outside_of_the_season_is_refused() -> None:
    with pytest.raises(InputError, match="a day of the season"):
        solve_prepared(prepare(base()), since=START - timedelta(days=1))


def test_what_was_used_in_the_week_of_planning_was_there_and_the_rest_may_be_thrown() -> None:
    """Loads that spoil before their use, and uses that no load covers, in the very week of planning, leave a plan possible."""
    wet = (material("grass", "grass-clippings", "heap", weeks=1.0), material("bought", "compost-finished"))
    one = garden(wet, (supply("grass", 20), supply("bought", 10)), (planting("bed", "kale"),))
    heap = Heap(id="h", name="H", capacity_m3=0.3)
    loads = (Load(id="load-1", donor="near", material="grass", on=day(3), kg=90),)
    built = Batch(id="b", heap="h", built=day(3), volume_m3=0.3)
    parts = (BatchPart(batch="b", material="grass", kg=140),)
    later = START + timedelta(days=3 * 7 + 4)
    spoils = solve_prepared(prepare(one.model_copy(update={"loads": loads})), scenarios=1, since=later)
    assert spoils.solution.thrown[0] == pytest.approx(90.0, abs=1e-6)
    more = one.model_copy(update={"heaps": (heap,), "loads": loads, "batches": (built,), "batch_parts": parts})
    covered = solve_prepared(prepare(more), scenarios=1, since=later)
    assert covered.problem.so_far.found[0] == pytest.approx(50.0)


@pytest.mark.parametrize("on", ["2027-04-11", "2027-05-15", "2027-06-10", "2027-07-14", "2027-09-12"])
def test_the_demo_season_can_be_planned_anew_from_any_week(full_demo: Prepared, on: str) -> None:
    found = solve_prepared(
        full_demo, scenarios=1, since=date.fromisoformat(on), recipes=(), gaps=ROUGH_GAPS, most_nodes=5
    )
    assert found.plan.from_week == found.plan.calendar.week_of(date.fromisoformat(on))
    assert found.solution.turns["shortfall"] < 1.0


@pytest.fixture(scope="module")
def full_demo(tmp_path_factory: pytest.TempPathFactory) -> Prepared:
    """Return the demo garden with the records of its seasons, and few draws."""
    one = read_garden(write_demo(tmp_path_factory.mktemp("demo") / "garden", seasons=True))
    return prepare(one.model_copy(update={"info": one.info.model_copy(update={"draws": 100})}))
