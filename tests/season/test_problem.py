"""What may go where and when: the masks of the programme."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from loamery.garden import Garden
from loamery.garden.model import Bed, Heap, Planting
from loamery.season.allowed import manure_days
from loamery.season.calendar import calendar_of
from loamery.season.needs import bed_need
from loamery.season.prepare import prepare
from loamery.season.problem import Problem, bucket_kg, depth_m_per_kg_m2, heap_places, make_problem
from loamery.season.stuff import raw_stuff
from tests.season.gardens import day, garden, material, planting, supply


def problem_of(one: Garden) -> Problem:
    prepared, calendar = prepare(one), calendar_of(one)
    raw = [raw_stuff(each, prepared.compositions[each.id]) for each in one.materials]
    needs = [bed_need(one, bed, prepared.soils[bed.id], calendar) for bed in one.beds]
    return make_problem(one, calendar, needs, raw, [])


def mask(one: Garden, use: str) -> list[bool]:
    problem = problem_of(one)
    rows = [row for row, spread in enumerate(problem.spreads) if spread.use == use]
    return [bool(each) for each in problem.allowed[rows[0], 0]] if rows else []


def test_a_mulch_waits_until_the_crop_stands_and_goes_with_it() -> None:
    one = garden((material("m", "straw-wheat"),), (supply("m", 9),), (planting("bed", "kale", 1, 6),))
    assert mask(one, "mulch") == [False, False, False, True, True, True, False, False]


def test_nothing_is_dug_into_a_standing_crop() -> None:
    one = garden((material("m", "compost-finished"),), (supply("m", 9),), (planting("bed", "kale", 2, 6),))
    # before planting and in its first days only
    assert mask(one, "dig_in") == [True, True, True, True, False, False, False, False]


def test_between_two_crops_the_bed_is_open() -> None:
    crops = (planting("bed", "spinach", 0, 3), planting("bed", "kale", 5, 8))
    one = garden((material("m", "compost-finished"),), (supply("m", 9),), crops)
    assert mask(one, "dig_in") == [True, True, False, True, True, True, True, False]


def test_a_bed_with_two_crops_waits_for_both() -> None:
    crops = (planting("bed", "spinach", 0, 8, 0.5), planting("bed", "kale", 4, 8, 0.5))
    one = garden((material("m", "compost-finished"),), (supply("m", 9),), crops)
    assert mask(one, "dig_in") == [True, True] + [False] * 6
    assert mask(one, "mulch") == [False, False, True, True, False, False, True, True]


def test_a_bed_without_crops_gets_nothing() -> None:
    one = garden((material("m", "compost-finished"),), (supply("m", 9),), ())
    assert not problem_of(one).allowed.any()


@pytest.mark.parametrize(
    "kind", ["manure-horse-straw", "manure-cattle", "manure-layer", "manure-rabbit", "litter-broiler"]
)
@pytest.mark.parametrize("first", [0, 3, 10, 16, 18, 25])
def test_raw_manure_never_comes_near_a_crop(kind: str, first: int) -> None:
    """7 CFR 205.203(c)(1): 120 days between raw manure and the harvest of a crop that touches the soil.

    Ours is stricter: no crop in the ground within 120 days after spreading, whenever it is harvested.
    """
    one = garden(
        (material("m", kind, "mulch", "dig_in"),),
        (supply("m", 9, 0, 30),),
        (planting("bed", "kale", first, first + 10),),
        weeks=36,
    )
    problem = problem_of(one)
    for row, spread in enumerate(problem.spreads):
        assert spread.stuff.is_raw_manure
        for week in np.flatnonzero(problem.allowed[row, 0]):
            spread_on = problem.calendar.monday(int(week))
            for each in one.plantings:
                assert each.harvested < spread_on or (each.planted - spread_on).days >= 120


def test_the_interval_is_that_of_the_jurisdiction() -> None:
    for jurisdiction in ("us", "ca-a", "ca-b", "eu"):
        assert manure_days(garden((), (), (), jurisdiction=jurisdiction)) == 120


def test_a_week_with_some_days_of_a_supply_counts_in_part() -> None:
    one = garden((material("m", "compost-finished"),), (supply("m", 70, 1, 2 + 3 / 7),), (planting("bed", "kale"),))
    assert problem_of(one).lot_kg[0] == pytest.approx([0, 70, 30, 0, 0, 0, 0, 0])


def test_a_supply_that_began_before_the_season_is_cut() -> None:
    one = garden((material("m", "compost-finished"),), (supply("m", 7, -10, 2),), (planting("bed", "kale"),))
    assert problem_of(one).lot_kg.sum() == pytest.approx(14)


def test_supplies_of_zero_are_no_lots() -> None:
    one = garden((material("m", "compost-finished"),), (supply("m", 0), supply("m", 5)), (planting("bed", "kale"),))
    assert len(problem_of(one).lots) == 1


def test_nitrogen_is_looked_at_until_the_last_week() -> None:
    for weeks in (1, 2, 4, 5, 8, 26):
        one = garden((material("m", "compost-finished"),), (supply("m", 5),), (Planting(bed="bed", crop="kale", planted=day(0), harvested=day(1)),), weeks=weeks)  # fmt: skip
        assert problem_of(one).checks[-1] == weeks - 1


def test_nitrogen_of_a_kilogram_is_what_its_parts_give() -> None:
    one = garden((material("m", "compost-finished"),), (supply("m", 5),), (planting("bed", "kale"),))
    (dug,) = [spread for spread in problem_of(one).spreads if spread.use == "dig_in"]
    assert np.all(dug.n_kg_kg[:, np.tri(8, k=-1, dtype=bool)] == 0)
    assert dug.n_kg_kg.max() <= np.median(dug.stuff.nitrogen)
    assert dug.reaching("P") == dug.reaching("salt") == 1.0


def test_a_mulch_gives_the_soil_what_has_decayed_of_it() -> None:
    one = garden((material("m", "straw-wheat"),), (supply("m", 5),), (planting("bed", "kale"),))
    (laid,) = [spread for spread in problem_of(one).spreads if spread.use == "mulch"]
    assert laid.reaching("P") == laid.decayed < 1
    assert laid.reaching("K") == laid.reaching("salt") == 1.0


def test_heaps_of_one_size_are_counted_together() -> None:
    heaps = tuple(Heap(id=key, name=key, capacity_m3=size) for key, size in (("a", 1.0), ("b", 2.0), ("c", 1.0)))
    places = heap_places(heaps)
    assert [(place.capacity_m3, len(place.heaps)) for place in places] == [(2.0, 1), (1.0, 2)]
    assert heap_places(()) == ()


def test_depth_and_buckets_by_hand() -> None:
    one = garden((material("m", "compost-finished"),), (), (), beds=(Bed(id="bed", name="Bed", area_m2=1),))
    stuff = raw_stuff(one.materials[0], prepare(one).compositions["m"])
    density = float(np.median(stuff.density))
    assert depth_m_per_kg_m2(stuff) * density == pytest.approx(1.0)
    assert bucket_kg(stuff, one) == pytest.approx(0.020 * density)


@pytest.mark.parametrize("first", [5, 18, 25, 30])
def test_the_interval_holds_even_where_manure_might_be_dug_in(first: int) -> None:
    """Manure is never dug in by other rules; were it allowed, the 120 days before a planting would stay closed."""
    one = garden(
        (material("m", "manure-cattle"),),
        (supply("m", 9, 0, 36),),
        (planting("bed", "kale", first, first + 5),),
        weeks=36,
    )
    prepared, calendar = prepare(one), calendar_of(one)
    manure = replace(raw_stuff(one.materials[0], prepared.compositions["m"]), uses=("dig_in",))
    problem = make_problem(one, calendar, [bed_need(one, one.beds[0], prepared.soils["bed"], calendar)], [manure], [])
    open_weeks = [int(week) for week in np.flatnonzero(problem.allowed[0, 0])]
    last_open = (7 * first - 120) // 7  # the last week that starts 120 days or more before planting
    assert open_weeks == list(range(last_open + 1))
