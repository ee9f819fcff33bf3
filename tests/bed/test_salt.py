"""Salt of a bed: what moves, what stands still, what minerals dissolve; and rain that runs off."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from loamery.bed.parameters import bed_parameters
from loamery.bed.salt import own_conductivity, salt_day
from loamery.bed.simulate import simulate_bed
from loamery.bed.water import curve_number, run_off
from loamery.bed.weather import normal_weather
from tests.bed.beds import RAIN, START, TEMPS, dose, numbers, portion, soil, weather

ONE = bed_parameters(1)


@given(
    salts=st.floats(0.0, 2.0), resting=st.floats(0.0, 1.0), drained=st.floats(0.0, 500.0), least=st.floats(0.0, 0.5),
)  # fmt: skip
def test_a_day_of_salt_closes_and_never_goes_below_nothing(
    salts: float, resting: float, drained: float, least: float
) -> None:
    day = salt_day(salts, resting * salts, drained, 60.0, least, ONE)
    assert float(day.salts[0]) == pytest.approx(salts + float(day.dissolved[0]) - float(day.leached[0]), abs=1e-12)
    assert -1e-12 <= float(day.still[0]) <= float(day.salts[0]) + 1e-12
    assert float(day.leached[0]) >= 0.0
    assert float(day.salts[0]) >= least - 1e-12


def test_with_all_water_moving_it_is_one_mixed_layer() -> None:
    mixed = ONE.with_values(bed_salt_mobile=[1.0])
    day = salt_day(1.0, 0.0, 60.0, 60.0, 0.0, mixed)
    assert float(day.leached[0]) == pytest.approx(1.0 - np.exp(-1.0))


def test_no_drainage_carries_nothing_off() -> None:
    day = salt_day(1.0, 0.1, 0.0, 60.0, 0.0, ONE)
    assert float(day.leached[0]) == 0.0 and float(day.still[0]) > 0.1


def test_a_soil_keeps_more_in_solution_the_higher_its_ph_up_to_calcite() -> None:
    low, mid, high, higher = (float(own_conductivity(ph, ONE)[0]) for ph in (5.0, 7.0, 8.0, 8.5))
    assert low < mid < high == higher


def test_a_bed_nobody_tested_starts_at_its_own_salt_and_a_tested_one_at_its_test() -> None:
    own = float(own_conductivity(6.5, ONE)[0])
    fresh = simulate_bed((), (), soil(), weather(), None, numbers())
    assert float(fresh.stock["ec_si"][0, 0, 0]) == pytest.approx(own)
    poor = simulate_bed((), (), replace(soil(), ec_si=np.array([[0.4 * own]])), weather(), None, numbers())
    assert float(poor.stock["ec_si"][0, 0, 0]) == pytest.approx(0.4 * own)
    assert float(poor.stock["ec_si"][-1, 0, 0]) == pytest.approx(0.4 * own, rel=1e-6)


def test_rain_carries_a_gifts_salt_down_to_what_the_soil_holds_by_itself() -> None:
    run = simulate_bed([portion("compost-finished")], dose((1, 20.0)), soil(), weather(), None, numbers())
    course = run.stock["ec_si"][:, 0, 0]
    assert course.max() > 3.0 * course[0]
    assert course[0] * 0.999 <= course[-1] < 0.5 * course.max()


def test_clay_sheds_more_rain_than_sand_and_a_mulch_lets_it_in() -> None:
    shed = [float(simulate_bed((), (), soil(one), weather(9), None, numbers(9)).flow["run_off_mm"].sum()) for one in ("sand", "loam", "clay")]  # fmt: skip
    assert shed[0] < shed[1] < shed[2]
    bare = simulate_bed((), (), soil("clay"), weather(), None, numbers()).flow["run_off_mm"].sum()
    under = simulate_bed([portion("chips-arborist", True)], dose((0, 30.0)), soil("clay"), weather(), None, numbers())
    assert under.flow["run_off_mm"].sum() < 0.5 * bare


@given(rain=st.floats(0.0, 300.0), clay=st.floats(0.0, 0.7), covered=st.floats(0.0, 1.0), scale=st.floats(0.3, 3.0))
def test_no_more_runs_off_than_falls(rain: float, clay: float, covered: float, scale: float) -> None:
    number = curve_number(clay, covered)
    assert 25.0 < float(number) < 95.0
    assert 0.0 <= float(run_off(rain, number, scale)) <= rain


def test_the_latitude_sets_how_much_the_air_asks_for() -> None:
    def asked(latitude: float | None) -> float:
        return float(normal_weather(TEMPS, RAIN, START, 182, latitude_deg=latitude).asked_mm.sum())

    assert asked(None) == pytest.approx(asked(45.0))
    assert asked(-45.0) < 0.7 * asked(45.0)
    assert asked(65.0) < asked(45.0)
