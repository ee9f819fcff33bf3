"""One heap from its first day to its last: the steps of the model in order (docs/heap-model.md, eq. 24).

Each step takes decay and gas at the middle of the step, then moves heat and water in two implicit stages (second order,
unconditionally stable). Its length follows how far the temperature strays from a straight line.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from loamery.heap.biology import apply_decay, fill_potentials, mineralise
from loamery.heap.exchange import fill_conductances, fill_surface
from loamery.heap.fast import fast
from loamery.heap.feeding import feed
from loamery.heap.heat_water import fill_carried, solve_stage
from loamery.heap.layout import (
    ACCOUNTS,
    AIR_C,
    AIR_SPACE,
    BASE_HEAT,
    BASE_WATER,
    DRY,
    FAST,
    FEED,
    HEAT,
    HUMIDITY,
    MOVED_WATER,
    OUT_RHO,
    OUT_SOIL,
    OUT_SUN,
    OUT_TEMP,
    OUT_WIND,
    OUTSIDE,
    OXYGEN,
    OXYGEN_SHARE,
    RAIN_SUM,
    RECAL,
    SLOW,
    SOIL_C,
    SOURCE_HEAT,
    SOURCE_WATER,
    STAGE_DRY,
    START,
    STATES,
    SUN,
    TEMP,
    TRY_HEAT,
    TRY_TEMP,
    TRY_WATER,
    TURN,
    VOLUME,
    WATER,
    WIND,
    WORK_ROWS,
)
from loamery.heap.mesh import fill_geometry, fill_volumes
from loamery.heap.nitrogen import fill_ammonia, move_ammonia
from loamery.heap.oxygen import solve_oxygen
from loamery.heap.physics import DAY_S, oxygen_density, vapour_density
from loamery.heap.seepage import add_rain_and_sun, drain
from loamery.heap.turning import give_water, turn

GAMMA = 1.0 - 1.0 / math.sqrt(2.0)
"""Of the two-stage, second-order, L-stable implicit method (Alexander 1977)."""
SHORTEST_S = 1e-5 * DAY_S
FIRST_S = 2e-3 * DAY_S
GROWTH = 1.5
WATER_AS_K = 25.0
"""Water per dry matter (kg/kg) weighs as this many kelvin in the choice of the step."""
THIN = 0.3
"""What is so much thinner than the mean cell does not hold the step up with its water: rain and sun pass through it at once."""
OXYGEN_AS_K = 60.0
"""Oxygen (share of the pore gas) weighs as this many kelvin."""
STRAIGHT = 5e-4
"""Oxygen (share of the pore gas) that moves less in half a step is carried on in a straight line in the record."""


@fast
def run(
    p: Any, h: Any, share: Any, state: Any, weather: Any, events: Any, record_s: Any, control: Any, cells_out: Any,
    books_out: Any, counts: Any,
) -> bool:  # fmt: skip
    """Run one heap and write its record.

    Parameters
    ----------
    p, h : records of parameters and of the heap.
    share : share of the whole in each cell, shape (cells,).
    state : at the start, shape (STATES, cells); changed in place.
    weather : one row per day from the start, shape (days, WEATHER_COLUMNS).
    events : (time s, kind, amount) in order of time, shape (n, 3).
    record_s : times to write at, from 0, shape (times,).
    control : longest step s, tolerance K.
    cells_out : filled: temperature C, oxygen share, then the state, then volume; shape (times, STATES + 3, cells).
    books_out : filled: running accounts, shape (times, ACCOUNTS).
    counts : filled: steps taken, steps taken again.

    Returns
    -------
    False when a step could not be taken; everything after it is then left as it was.
    """
    n = state.shape[1]
    work, slope = np.zeros((WORK_ROWS, n)), np.zeros((STATES + 1, n))
    mid, new = np.zeros((STATES, n)), np.zeros((STATES, n))
    area, ring, outside = np.zeros(n + 1), np.zeros(n), np.zeros(OUTSIDE)
    books, tried = np.zeros(ACCOUNTS), np.zeros(ACCOUNTS)
    time, turned, coming, step, last = 0.0, 0.0, 0, FIRST_S, 0.0
    now_temp = np.zeros(n)
    for k in range(record_s.shape[0]):
        while time < record_s[k] - 1e-6:
            # stop at the next thing a person does
            until = record_s[k]
            if coming < events.shape[0]:
                until = min(until, events[coming, 0])
            left = until - time
            if left > 1e-6:
                dt = left / math.ceil(left / min(step, control[0]))
                _temperature(state, now_temp, h, p)
                ok, stray = _advance(
                    state, slope, mid, new, work, area, ring, outside, now_temp, h, p, weather, time, dt,
                    _settled(time - turned, p), tried,
                )  # fmt: skip
                counts[0] += 1
                if not ok or (stray > 4.0 * control[1] and dt > SHORTEST_S):
                    counts[1] += 1
                    step = 0.4 * dt
                    if not ok:
                        slope[:] = 0.0
                        work[MOVED_WATER, :] = 0.0
                    if step < SHORTEST_S and not ok:
                        return False
                    continue
                time, last = time + dt, dt
                _accept(state, slope, new, work, now_temp, dt, books, tried)
                step = dt * min(GROWTH, 0.9 * math.sqrt(control[1] / max(stray, 1e-6)))
            if coming < events.shape[0] and time >= events[coming, 0] - 1e-6:
                _look_outside(weather, time, outside, p)
                if events[coming, 1] == TURN:
                    turn(state, work, h, p, outside, share, books)
                    turned = time
                elif events[coming, 1] == FEED:
                    feed(state, work, h, p, outside, share, _settled(time - turned, p), events[coming, 2], books)
                else:
                    give_water(state, p, outside, events[coming, 2], books)
                coming, step, last = coming + 1, FIRST_S, 0.0
                slope[:] = 0.0
                work[MOVED_WATER, :] = 0.0
        _look_outside(weather, time, outside, p)
        settled = _settled(time - turned, p)
        _write(state, slope, new, work, area, ring, outside, h, p, settled, last, cells_out[k], now_temp, tried)
        books_out[k, :] = books
    return True


@fast
def _accept(state: Any, slope: Any, new: Any, work: Any, now_temp: Any, dt: float, books: Any, tried: Any) -> None:
    # the slope of this step is the guess for the next
    per_step = 1.0 / dt
    for row in range(STATES):
        for i in range(state.shape[1]):
            slope[row, i] = (new[row, i] - state[row, i]) * per_step
            state[row, i] = new[row, i]
    for i in range(state.shape[1]):
        work[MOVED_WATER, i] = slope[WATER, i] - work[SOURCE_WATER, i]
        slope[STATES, i] = (work[TRY_TEMP, i] - now_temp[i]) * per_step
    for one in range(ACCOUNTS):
        books[one] += tried[one]


@fast
def _settled(since_s: float, p: Any) -> float:
    return p.settle_share * (1.0 - math.exp(-since_s / (p.settle_days * DAY_S)))


@fast
def _look_outside(weather: Any, time: float, outside: Any, p: Any) -> None:
    # between the middles of two days the weather goes in a straight line
    last = weather.shape[0] - 1
    day = min(max(time / DAY_S, 0.0), float(last))
    at = min(int(day), max(last - 1, 0))
    part = day - at
    ahead = min(at + 1, last)
    outside[OUT_TEMP] = weather[at, AIR_C] + part * (weather[ahead, AIR_C] - weather[at, AIR_C])
    outside[OUT_WIND] = weather[at, WIND] + part * (weather[ahead, WIND] - weather[at, WIND])
    outside[OUT_SUN] = weather[at, SUN] + part * (weather[ahead, SUN] - weather[at, SUN])
    outside[OUT_SOIL] = weather[at, SOIL_C] + part * (weather[ahead, SOIL_C] - weather[at, SOIL_C])
    humid = weather[at, HUMIDITY] + part * (weather[ahead, HUMIDITY] - weather[at, HUMIDITY])
    outside[OUT_RHO] = humid * vapour_density(outside[OUT_TEMP], p)
    fill_surface(outside, p)


@fast
def _rain(weather: Any, time: float) -> float:
    # rain fallen since the start, kg/m2
    last = weather.shape[0] - 1
    day = min(max(time / DAY_S, 0.0), float(last))
    at = min(int(day), max(last - 1, 0))
    return weather[at, RAIN_SUM] + (day - at) * (weather[min(at + 1, last), RAIN_SUM] - weather[at, RAIN_SUM])


@fast
def _temperature(state: Any, temp: Any, h: Any, p: Any) -> None:
    ash_share, cp_solid, cp_water = h.ash_share, p.cp_solid, p.cp_water
    for i in range(state.shape[1]):
        dry = state[FAST, i] + state[SLOW, i] + state[RECAL, i] + ash_share * state[START, i]
        temp[i] = state[HEAT, i] / (dry * cp_solid + state[WATER, i] * cp_water)


@fast
def _advance(
    state: Any, slope: Any, mid: Any, new: Any, work: Any, area: Any, ring: Any, outside: Any, now_temp: Any, h: Any, p: Any,
    weather: Any, time: float, dt: float, settled: float, books: Any,
) -> tuple[bool, float]:  # fmt: skip
    """Try one step; the outcome is in `new`. Return whether it is sound and how far it strays from a line, K."""
    n = state.shape[1]
    books[:] = 0.0
    # 1. the middle of the step, from the slope of the one before
    half = 0.5 * dt
    for row in range(STATES):
        for i in range(n):
            mid[row, i] = max(state[row, i] + half * slope[row, i], 0.5 * state[row, i])
            new[row, i] = state[row, i]
    # heat may fall below nought
    for i in range(n):
        mid[HEAT, i] = state[HEAT, i] + half * slope[HEAT, i]
    for i in range(n):
        work[TEMP, i] = now_temp[i] + half * slope[STATES, i]
    # 2. what is outside; volumes, faces and conductances (eq. 1-5, 14, 17, 18)
    _look_outside(weather, time + 0.5 * dt, outside, p)
    fill_volumes(mid, work, h, p, settled)
    height = fill_geometry(work, h, area, ring)
    fill_conductances(mid, work, h, p, outside, area, ring, height)
    # 3. decay as far as oxygen allows (eq. 6-12)
    fill_potentials(mid, work, h, p)
    if not _oxygen(state, new, work, h, p, outside[OUT_TEMP], dt, books):
        return False, 0.0
    apply_decay(state, mid, new, work, h, p, dt, books)
    # 4. nitrogen released or bound (eq. 19)
    mineralise(mid, new, work, h, p, dt)
    # 5. rain, sun, seepage, then ammonia (eq. 20-22)
    rain = (_rain(weather, time + dt) - _rain(weather, time)) / dt
    add_rain_and_sun(work, h, p, outside, area, ring, height, rain, dt, books)
    drain(state, mid, new, work, h, p, area, height, dt, books)
    fill_ammonia(mid, work, h, p)
    move_ammonia(state, new, work, p, dt, GAMMA, books)
    # 6. heat and water (eq. 13-18)
    fill_carried(work, p, outside)
    if not _two_stages(state, slope, new, work, h, p, outside, dt, now_temp, books):
        return False, 0.0
    return _stray(state, slope, new, work, p, now_temp, dt)


@fast
def _oxygen(state: Any, new: Any, work: Any, h: Any, p: Any, outside_c: float, dt: float, books: Any) -> bool:
    """Solve for oxygen from the share that the cells hold now."""
    store = oxygen_density(p.oxygen_store_temp, p)
    for i in range(state.shape[1]):
        work[OXYGEN_SHARE, i] = state[OXYGEN, i] / (store * work[AIR_SPACE, i] * work[VOLUME, i])
    return solve_oxygen(state, new, work, h, p, outside_c, dt, books)


@fast
def _two_stages(
    state: Any, slope: Any, new: Any, work: Any, h: Any, p: Any, outside: Any, dt: float, now_temp: Any, books: Any
) -> bool:
    n = state.shape[1]
    tau, ash_share, rest, per_gamma = GAMMA * dt, h.ash_share, (1.0 - GAMMA) / GAMMA, 1.0 / GAMMA
    for i in range(n):
        dry_now = state[FAST, i] + state[SLOW, i] + state[RECAL, i] + ash_share * state[START, i]
        dry_new = new[FAST, i] + new[SLOW, i] + new[RECAL, i] + ash_share * new[START, i]
        work[STAGE_DRY, i] = dry_now + GAMMA * (dry_new - dry_now)
        work[DRY, i] = dry_new
    for i in range(n):
        work[BASE_WATER, i] = state[WATER, i] + tau * work[SOURCE_WATER, i]
        work[BASE_HEAT, i] = state[HEAT, i] + tau * work[SOURCE_HEAT, i]
        # the first try goes on as the step before did: it is mostly so near that one straightened solution settles
        work[TRY_TEMP, i] = now_temp[i] + tau * slope[STATES, i]
        work[TRY_WATER, i] = max(state[WATER, i] + tau * slope[WATER, i], 0.5 * state[WATER, i])
    if not solve_stage(work, p, outside, tau, (1.0 - GAMMA) * dt, books):
        return False
    for i in range(n):
        moved_water = work[TRY_WATER, i] - work[BASE_WATER, i]
        moved_heat = work[TRY_HEAT, i] - work[BASE_HEAT, i]
        work[BASE_WATER, i] = state[WATER, i] + dt * work[SOURCE_WATER, i] + rest * moved_water
        work[BASE_HEAT, i] = state[HEAT, i] + dt * work[SOURCE_HEAT, i] + rest * moved_heat
    for i in range(n):
        work[STAGE_DRY, i] = work[DRY, i]
        work[TRY_TEMP, i] = now_temp[i] + (work[TRY_TEMP, i] - now_temp[i]) * per_gamma
        on = state[WATER, i] + (work[TRY_WATER, i] - state[WATER, i]) * per_gamma
        work[TRY_WATER, i] = max(on, 0.5 * work[TRY_WATER, i])
    if not solve_stage(work, p, outside, tau, tau, books):
        return False
    for i in range(n):
        new[WATER, i] = work[TRY_WATER, i]
        new[HEAT, i] = work[TRY_HEAT, i]
    return True


@fast
def _stray(state: Any, slope: Any, new: Any, work: Any, p: Any, now_temp: Any, dt: float) -> tuple[bool, float]:
    most = 0.0
    store, mean = oxygen_density(p.oxygen_store_temp, p), 0.0
    for i in range(state.shape[1]):
        mean += work[DRY, i] / state.shape[1]
    for i in range(state.shape[1]):
        if not (new[WATER, i] > 0.0 and new[0, i] >= 0.0 and new[1, i] >= 0.0 and new[4, i] >= 0.0):
            return False, 0.0
        if not (abs(work[TRY_TEMP, i]) < 500.0 and new[OXYGEN, i] > -1e-3 and new[3, i] >= 0.0):
            return False, 0.0
        off_temp = abs(work[TRY_TEMP, i] - now_temp[i] - dt * slope[STATES, i])
        held = store * work[AIR_SPACE, i] * work[VOLUME, i]
        off_gas = abs(new[OXYGEN, i] - state[OXYGEN, i] - dt * slope[OXYGEN, i]) / held
        off_water = abs(new[WATER, i] - state[WATER, i] - dt * slope[WATER, i]) / max(work[DRY, i], THIN * mean)
        most = max(most, off_temp, WATER_AS_K * off_water, OXYGEN_AS_K * off_gas)
    return True, 0.5 * most


@fast
def _write(
    state: Any, slope: Any, new: Any, work: Any, area: Any, ring: Any, outside: Any, h: Any, p: Any, settled: float,
    last: float, out: Any, temp: Any, spare: Any,
) -> None:  # fmt: skip
    # gas was solved with the flows of the middle of the last step: half a step on, along its line or, where that leads
    # far, with the flows of now, it is that of now
    _temperature(state, temp, h, p)
    work[TEMP, :] = temp
    fill_volumes(state, work, h, p, settled)
    store, far = oxygen_density(p.oxygen_store_temp, p), 0.0
    for i in range(state.shape[1]):
        new[OXYGEN, i] = state[OXYGEN, i] + 0.5 * last * slope[OXYGEN, i]
        far = max(far, abs(0.5 * last * slope[OXYGEN, i]) / (store * work[AIR_SPACE, i] * work[VOLUME, i]))
    if far > STRAIGHT:
        height = fill_geometry(work, h, area, ring)
        fill_conductances(state, work, h, p, outside, area, ring, height)
        fill_potentials(state, work, h, p)
        _oxygen(state, new, work, h, p, outside[OUT_TEMP], 0.5 * last, spare)
    for i in range(state.shape[1]):
        out[0, i] = temp[i]
        out[1, i] = max(new[OXYGEN, i], 0.0) / (store * work[AIR_SPACE, i] * work[VOLUME, i])
        for row in range(STATES):
            out[2 + row, i] = state[row, i]
        out[2 + STATES, i] = work[VOLUME, i]
