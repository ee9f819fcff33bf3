"""A small garden with a heap and worms, planned once: quick to play, and everything in it moves."""

from __future__ import annotations

from functools import cache

from loamery.garden import Garden
from loamery.garden.model import Heap, WormBed
from loamery.season.make import Solved, solve_prepared
from loamery.season.prepare import prepare
from tests.season.gardens import garden, material, planting, supply

WEEKS = 22


def small_garden(**changes: object) -> Garden:
    """Return two beds, grass, leaves, chips, trimmings and bought compost, a heap and a worm bed."""
    made = garden(
        (
            material("grass", "grass-clippings", "mulch", "heap"),
            material("leaves", "leaves-mixed", "mulch", "heap", weeks=30),
            material("chips", "chips-arborist", "mulch", "heap"),
            material("trimmings", "veg-trimmings", "heap", "worm_bed"),
            material("compost", "compost-finished", "dig_in", "mulch"),
        ),
        (
            supply("grass", 120, 1, 18),
            supply("leaves", 200, 0, 10),
            supply("chips", 40, 0, WEEKS, donor="far"),
            supply("trimmings", 20, 0, WEEKS),
            supply("compost", 40, 0, 6, price=0.1),
        ),
        (planting("one", "cabbage", 1, 16), planting("two", "chard", 4, 20)),
        beds=(
            *(
                garden((), (), ()).beds[0].model_copy(update={"id": key, "name": f"Bed {key}"})
                for key in ("one", "two")
            ),
        ),
        heaps=(Heap(id="bin", name="Bin", capacity_m3=1.2),),
        weeks=WEEKS,
        draws=200,
    )
    worms = (WormBed(id="worms", name="Worms", area_m2=0.5, worms_kg=0.5),)
    return made.model_copy(update={"worm_beds": worms, **changes})


@cache
def scarce() -> Solved:
    """Return the plan of the small garden with so little grass that a bucket of it matters."""
    garden = small_garden(heaps=(), worm_beds=())
    less = {"grass": 1.5}
    supplies = tuple(
        one.model_copy(update={"kg_per_week": less.get(one.material, one.kg_per_week)}) for one in garden.supplies
    )
    kept = tuple(one for one in supplies if one.material != "compost")
    return solve_prepared(prepare(garden.model_copy(update={"supplies": kept})), scenarios=4)


@cache
def small() -> Solved:
    """Return the plan of the small garden."""
    return solve_prepared(prepare(small_garden()), scenarios=4)
