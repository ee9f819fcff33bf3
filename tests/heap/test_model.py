from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from loamery.heap import layout as at
from loamery.heap.model import CELLS, LONGEST_STEP_DAYS, TOLERANCE_K, ensemble, simulate
from loamery.heap.spec import HeapSpec, Stuff
from loamery.heap.weather import Weather
from tests.heap.random_heaps import random_changes, random_heap

BLEND = Stuff(0.60, 450, 0.46, 0.016, 0.10, 0.28, 0.47, 0.25, particle_m=0.006)
ONE = HeapSpec(BLEND, volume_m3=1.0, weather=Weather.constant(15.0))


@pytest.mark.parametrize("block", range(10))
def test_nothing_is_lost_in_two_hundred_random_heaps(block: int) -> None:
    for seed in range(20 * block, 20 * block + 20):
        run = simulate(random_heap(seed), 120.0, every_days=5.0, tolerance_k=0.25, longest_step_days=0.25)
        errors = {name: one.error for name, one in run.balances().items()}
        assert max(errors.values()) < 1e-6, (seed, errors)


@pytest.mark.parametrize("seed", range(1000, 1040))
def test_no_odd_number_leaves_whatever_the_parameters(seed: int) -> None:
    run = simulate(replace(random_heap(seed), changes=random_changes(seed)), 60.0, every_days=1.0, tolerance_k=0.25)
    assert np.isfinite(run.record).all()
    assert run.temp_c.min() > -40.0
    assert run.temp_c.max() < 95.0
    assert run.moisture.min() > 0.0
    assert run.o2_frac.min() >= 0.0
    assert run.state(at.N_AMM).min() >= 0.0


def figures(run) -> np.ndarray:
    return np.array(
        [
            run.peak()[0],
            1.0 + run.organic_loss,
            run.mean_moisture[-1],
            5.0 + run.core_days_above(55.0),
            run.volume_share_meeting(40.0, 3.0),
        ]
    )


CASES = {
    "pile": replace(ONE, turn_days=(14.0, 28.0)),
    "bin": HeapSpec(BLEND, "bin", volume_m3=0.3, wall_r=0.2, weather=Weather.constant(15.0)),
    "layer": HeapSpec(BLEND, "layer", depth_m=0.3, weather=Weather.constant(15.0)),
}


@pytest.mark.parametrize("shape", CASES)
def test_twice_the_cells_move_the_outcome_by_less_than_one_percent(shape: str) -> None:
    coarse, fine = (figures(simulate(CASES[shape], 45.0, cells)) for cells in (CELLS, 2 * CELLS))
    assert coarse[:4] == pytest.approx(fine[:4], rel=0.01)
    assert coarse[4] == pytest.approx(fine[4], abs=0.02)


@pytest.mark.parametrize("shape", CASES)
def test_half_the_step_moves_the_outcome_by_less_than_one_percent(shape: str) -> None:
    usual = simulate(CASES[shape], 45.0)
    half = simulate(CASES[shape], 45.0, tolerance_k=TOLERANCE_K / 4, longest_step_days=LONGEST_STEP_DAYS / 2)
    assert half.steps > 1.7 * usual.steps
    assert figures(usual) == pytest.approx(figures(half), rel=0.01)


def test_an_ensemble_gives_what_each_heap_gives_alone() -> None:
    specs = [random_heap(seed, 30) for seed in range(6)]
    many = ensemble(specs, 30.0)
    for i, spec in enumerate(specs):
        alone = simulate(spec, 30.0, every_days=1.0)
        assert many.temp_c[i] == pytest.approx(alone.temp_c, abs=1e-9)
        assert many.moisture[i] == pytest.approx(alone.moisture, abs=1e-12)


def test_heat_does_not_move_without_vapour_as_it_does_with_it() -> None:
    small = replace(ONE, volume_m3=0.05)
    without = replace(small, changes={"latent_transport": 0.0})
    assert simulate(without, 20.0).peak()[0] > simulate(small, 20.0).peak()[0] + 5.0
    assert simulate(without, 20.0).accounts[-1, at.WATER_VAPOUR] == 0.0


def test_air_rises_only_with_buoyancy() -> None:
    still = replace(ONE, changes={"buoyancy": 0.0})
    assert simulate(still, 10.0).o2_frac.min() < 0.5 * simulate(ONE, 10.0).o2_frac.min()


def test_nitrogen_rich_stuff_loses_more_ammonia_than_woody_stuff() -> None:
    rich = replace(ONE, stuff=replace(BLEND, n_dm=0.04, ph=7.5))
    poor = replace(ONE, stuff=replace(BLEND, n_dm=0.010))
    assert simulate(rich, 40.0).nitrogen_loss > 0.08
    assert simulate(poor, 40.0).nitrogen_loss < 0.02


def test_rain_under_a_cover_stays_out() -> None:
    wet = Weather.constant(15.0, rain_mm_per_day=6.0)
    open_heap, covered = replace(ONE, weather=wet), replace(ONE, weather=wet, rain_share=0.0)
    assert simulate(covered, 40.0).accounts[-1, at.WATER_RAIN] == 0.0
    assert simulate(open_heap, 40.0).mean_moisture[-1] > simulate(covered, 40.0).mean_moisture[-1] + 0.1


def test_turning_mixes_and_lets_air_in() -> None:
    run = simulate(replace(ONE, turn_days=(10.0,)), 10.0)
    assert np.ptp(run.temp_c[-1]) < 0.5
    assert run.o2_frac[-1].min() > 0.2
    assert run.volume_m3[-1].sum() > simulate(ONE, 10.0).volume_m3[-1].sum() * 1.03


FED = HeapSpec(BLEND, "bin", volume_m3=0.02, radius_m=0.3, weather=Weather.constant(15.0))
MEALS = tuple((float(day), 2.0) for day in range(1, 41))


@pytest.mark.parametrize("shape", ["bin", "layer", "pile"])
def test_a_fed_heap_holds_what_was_fed(shape: str) -> None:
    run = simulate(replace(FED, geometry=shape, feedings=MEALS), 60.0, every_days=1.0)
    assert max(one.error for one in run.balances().values()) < 1e-9
    built = FED.stuff.bulk_density_kg_m3 * run.volume_m3[0].sum()
    assert run.state(at.START)[-1].sum() == pytest.approx(0.4 * (built + 80.0), rel=1e-6)
    assert run.volume_m3[40].sum() > 1.8 * run.volume_m3[0].sum()
    assert 0.0 < run.dry_loss < 1.0


def test_a_bin_fed_bit_by_bit_stays_cooler_than_one_filled_at_once() -> None:
    at_once = replace(FED, volume_m3=0.02 + 80.0 / BLEND.bulk_density_kg_m3)
    assert simulate(replace(FED, feedings=MEALS), 60.0).peak()[0] < simulate(at_once, 60.0).peak()[0] - 3.0


def test_what_is_fed_lies_on_top_of_a_layer() -> None:
    fresh = simulate(replace(FED, geometry="layer", depth_m=0.2, feedings=((30.0, 40.0),)), 30.0)
    fast = fresh.state(at.FAST)[-1] / fresh.state(at.START)[-1]
    assert fast[-1] == pytest.approx(0.9 * BLEND.fast, rel=1e-6)
    assert fast[0] < 0.7 * fast[-1]


def test_air_that_passes_through_the_crust_leaves_water_there() -> None:
    through, straight = (
        simulate(replace(ONE, rain_share=0.0, changes={"crust_share": share}), 40.0) for share in (1.0, 0.0)
    )
    assert through.accounts[-1, at.WATER_VAPOUR] < straight.accounts[-1, at.WATER_VAPOUR]


def test_peat_keeps_its_room_where_scraps_lose_it() -> None:
    peat, scraps = (replace(ONE, stuff=replace(BLEND, fast=f, slow=s, recalcitrant=r)) for f, s, r in
                    ((0.08, 0.25, 0.67), (0.40, 0.42, 0.18)))  # fmt: skip
    assert simulate(peat, 60.0).shrinkage < simulate(scraps, 60.0).shrinkage - 0.1


def test_a_wall_that_keeps_heat_makes_a_small_bin_hotter() -> None:
    bare = HeapSpec(BLEND, "bin", volume_m3=0.1, weather=Weather.constant(10.0), cover_open=0.3)
    assert simulate(replace(bare, wall_r=1.5, cover_r=1.5), 15.0).peak()[0] > simulate(bare, 15.0).peak()[0] + 3.0


def test_finished_compost_starts_a_heap_sooner() -> None:
    seeded = replace(ONE, stuff=replace(BLEND, compost_share=0.25))
    assert simulate(seeded, 12.0).peak()[1] < simulate(ONE, 12.0).peak()[1] - 0.5


def test_stuff_that_holds_its_water_does_not_drain() -> None:
    wet = Stuff(0.78, 420, 0.46, 0.02, 0.10, 0.10, 0.25, 0.65)
    seeped = [
        simulate(
            HeapSpec(replace(wet, field_capacity=holds), rain_share=0.0, weather=Weather.constant(5.0, 11)), 10, 12
        ).accounts[-1][at.WATER_SEEPED]
        for holds in (None, 0.72, 0.87)
    ]
    assert seeped[0] == seeped[1] > 1.0
    assert seeped[2] == 0.0
