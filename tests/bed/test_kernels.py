"""Unit responses: they add up, they are what the simulator gives, and they vanish before the material is given."""

from __future__ import annotations

import numpy as np
import pytest

from loamery.bed.day import Switches
from loamery.bed.kernels import release_kernel, release_kernels, usual_place
from loamery.bed.simulate import simulate_bed
from loamery.bed.weather import BedWeather
from tests.bed.beds import numbers, portion

TEMPS = np.array([8.0, 10.0, 13.0, 16.0, 18.0, 20.0, 21.0, 20.0, 18.0, 15.0, 12.0, 9.0])


def test_nothing_comes_before_it_is_given_and_mineral_nitrogen_at_once() -> None:
    kernel = release_kernel(portion("litter-broiler-breeder"), TEMPS)
    one = portion("litter-broiler-breeder").matter
    assert np.all(kernel[np.tril_indices(12, -1)] == 0.0)
    assert np.all(np.diag(kernel) >= float(one.ammonium_n[0] + one.nitrate_n[0]))


def test_a_season_is_the_sum_of_its_kilograms() -> None:
    kernel = release_kernel(portion("straw-wheat"), TEMPS)
    doses = np.array([[0.3, 0, 0, 1.0, 0, 0, 0.2, 0, 0, 0, 0, 0]])
    still = np.zeros((84, 1))
    weather = BedWeather(np.repeat(TEMPS, 7)[:, None], still, still)
    free = Switches(scarcity=False)
    run = simulate_bed(
        [portion("straw-wheat")], doses, usual_place(), weather, None, numbers(), watered=False, physics=free
    )
    whole = np.cumsum(run.net_n[:, 0, 0, 0])
    # several doses of one portion share their lag, so the sum is close, not equal
    assert whole[-1] == pytest.approx(float((doses[0][:, None] * kernel).sum(axis=0)[-1]), rel=0.05)


def test_materials_in_one_call_do_not_mix() -> None:
    two = release_kernels([portion("straw-wheat"), portion("blood-meal")], TEMPS)
    assert two[0, :, :, 0] == pytest.approx(release_kernel(portion("straw-wheat"), TEMPS), abs=1e-15)
    assert two[1, :, :, 0] == pytest.approx(release_kernel(portion("blood-meal"), TEMPS), abs=1e-15)


def test_ammonium_on_the_surface_is_partly_lost() -> None:
    top = release_kernel(portion("manure-layer", True), TEMPS)
    inside = release_kernel(portion("manure-layer"), TEMPS)
    assert float(top[3, 3]) < float(inside[3, 3])


def test_warm_weeks_give_sooner() -> None:
    kernel = release_kernel(portion("grass-clippings"), TEMPS)
    assert kernel[4, 7] > kernel[0, 3] > 0.0
