"""Run a heap, or many heaps at once on the cores of this machine."""

from __future__ import annotations

from collections.abc import Sequence
from threading import Lock
from typing import Any

import numpy as np
from numpy.typing import NDArray

from loamery.errors import HeapFailed, InputError
from loamery.heap import layout as at
from loamery.heap.mesh import cell_shares
from loamery.heap.parameters import parameter_values
from loamery.heap.result import EnsembleRun, HeapRun
from loamery.heap.spec import HeapSpec, Stuff
from loamery.say import say

Array = NDArray[np.float64]
GEOMETRY = {"layer": at.LAYER, "bin": at.BIN, "pile": at.PILE}
TOLERANCE_K = 0.045
LONGEST_STEP_DAYS = 0.125
CELLS = 64
"""So many that twice as many move no outcome by one percent, unless it is days at a threshold (validation/check_heap_grid.py)."""
_ONE_AT_A_TIME = Lock()
"""The compiled loop over heaps may not be entered by two threads: one of numba's thread layers ends the process then."""


def simulate(
    spec: HeapSpec,
    days: float,
    cells: int = CELLS,
    *,
    every_days: float = 0.25,
    tolerance_k: float = TOLERANCE_K,
    longest_step_days: float = LONGEST_STEP_DAYS,
) -> HeapRun:
    """Return what becomes of a heap.

    Parameters
    ----------
    days : length of the run.
    cells : number of cells from the middle (or the ground) to the surface.
    every_days : how often the record is written.
    tolerance_k : how far a step's temperature may stray from a straight line, K; smaller is more exact.
    longest_step_days : no step is longer.

    Raises
    ------
    InputError : the spec or a number here cannot be used.
    HeapFailed : the equations could not be solved.
    """
    from loamery.heap.kernel import run

    _usable(days, cells, every_days, tolerance_k, longest_step_days)
    _weather_reaches(spec, days)
    times = record_times_s(days, every_days)
    share, state = start_state(spec, cells)
    out = np.full((times.size, at.STATES + 3, cells), np.nan)
    books = np.full((times.size, at.ACCOUNTS), np.nan)
    counts = np.zeros(2, dtype=np.int64)
    control = np.array([longest_step_days * 86400.0, tolerance_k])
    done = run(
        parameter_values(spec.changes)[0], heap_record(spec)[0], share, state, spec.weather.table, events_of(spec), times,
        control, out, books, counts,
    )  # fmt: skip
    if not done or not (np.isfinite(out).all() and np.isfinite(books).all()):
        raise HeapFailed(
            say(
                "The heap could not be worked out: a step of the solution did not settle.\n  what to do: look for a "
                "very thin, very dry or very wet layer in the description, or ask for fewer cells"
            )
        )
    return HeapRun(spec, times / 86400.0, out, books, int(counts[0]), int(counts[1]))


def _usable(days: float, cells: int, every_days: float, tolerance_k: float, longest_step_days: float) -> None:
    wanted = (
        ("days", days, 0.01, 3650.0),
        ("cells", cells, 3, 2000),
        ("days between records", every_days, 1e-3, 1000.0),
        ("tolerance", tolerance_k, 1e-6, 5.0),
        ("longest step in days", longest_step_days, 1e-5, 1.0),
    )
    for name, value, low, high in wanted:
        if not low <= value <= high:
            raise InputError(
                say("{name} = {value:g}", name=name, value=value),
                expected=say("{low:g} to {high:g}", low=low, high=high),
                remedy=say("change the {name}", name=name),
            )


def _weather_reaches(spec: HeapSpec, days: float) -> None:
    if spec.weather.days < days - 1e-9:
        raise InputError(
            say("weather of {days} days for a run of {days_2:g}", days=spec.weather.days, days_2=days),
            expected=say("weather for every day of the run"),
            remedy=say("give more days of weather, or fill them from monthly normals"),
        )


def record_times_s(days: float, every_days: float) -> Array:
    """Return the times at which the record is written, from 0 to the end, s."""
    steps = max(1, round(days / every_days))
    return np.linspace(0.0, days * 86400.0, steps + 1)


def start_state(spec: HeapSpec, cells: int) -> tuple[Array, Array]:
    """Return the share of each cell and the state at the start, shapes (cells,) and (STATES, cells)."""
    stuff, p = spec.stuff, parameter_values(spec.changes)[0]
    share = cell_shares(GEOMETRY[spec.geometry], cells)
    dry = spec.built_kg * (1.0 - stuff.moisture) * share
    organic, water = dry * (1.0 - stuff.ash_dm), spec.built_kg * stuff.moisture * share
    state = np.zeros((at.STATES, cells))
    state[at.FAST], state[at.SLOW], state[at.RECAL] = (
        organic * stuff.fast,
        organic * stuff.slow,
        organic * stuff.recalcitrant,
    )
    state[at.N_AMM] = dry * stuff.n_dm * stuff.ammonium_share
    state[at.N_ORG] = dry * stuff.n_dm - state[at.N_AMM]
    state[at.ACTIVITY] = _activity(stuff, p)
    state[at.WATER] = water
    temp = float(spec.weather.table[0, at.AIR_C]) if spec.start_temp_c is None else spec.start_temp_c
    state[at.HEAT] = (dry * p["cp_solid"] + water * p["cp_water"]) * temp
    state[at.START] = dry
    state[at.OXYGEN] = p["air_oxygen"] * _pore_gas_m3(spec, p) * share * _oxygen_kg_m3(p)
    return share, state


def _activity(stuff: Stuff, p: Any) -> float:
    compost = stuff.compost_share
    return float(min(0.999, max(1e-6, (1.0 - compost) * p["activity_fresh"] + compost * p["activity_compost"])))


def _oxygen_kg_m3(p: Any) -> float:
    return float(p["air_pressure"] * p["molar_oxygen"] / (p["gas_constant"] * (p["oxygen_store_temp"] + 273.15)))


def _pore_gas_m3(spec: HeapSpec, p: Any) -> float:
    stuff, dry = spec.stuff, spec.built_kg * (1.0 - spec.stuff.moisture)
    solid = dry * ((1.0 - stuff.ash_dm) / p["rho_organic"] + stuff.ash_dm / p["rho_ash"])
    full = solid + spec.built_kg * stuff.moisture / p["rho_water"]
    if full > 1.02 * spec.built_m3:
        raise InputError(
            say(
                "{bulk_density_kg_m3:g} kg/m3 at {value:.0f} % moisture",
                bulk_density_kg_m3=stuff.bulk_density_kg_m3,
                value=100 * stuff.moisture,
            ),
            expected=say(
                "at most {built_kg:.0f} kg/m3: solids and water alone fill the space", built_kg=spec.built_kg / full
            ),
            remedy=say("check the bulk density, the moisture and the ash"),
        )
    return float(max(spec.built_m3 - full, p["air_space_floor"] * spec.built_m3))


def heap_record(spec: HeapSpec) -> NDArray[Any]:
    """Return the description of one heap as the kernel reads it, shape (1,)."""
    stuff, p = spec.stuff, parameter_values(spec.changes)[0]
    record = np.zeros(1, dtype=at.heap_type())
    pools = (("fast", stuff.fast), ("slow", stuff.slow), ("recalcitrant", stuff.recalcitrant))
    # the laboratory's carbon rules; pools keep their proportions, and oxygen goes with carbon
    scale = stuff.c_dm / (1.0 - stuff.ash_dm) / sum(share * p[f"carbon_{name}"] for name, share in pools)
    for name, field in (("fast", "fast"), ("slow", "slow"), ("recalcitrant", "recal")):
        record[f"carbon_{field}"] = scale * p[f"carbon_{name}"]
        record[f"oxygen_{field}"] = scale * p[f"oxygen_{name}"]
    dry = spec.built_kg * (1.0 - stuff.moisture)
    drains_at = p["field_capacity"] if stuff.field_capacity is None else stuff.field_capacity
    values = {
        "geometry": GEOMETRY[spec.geometry],
        "radius_m": spec.bin_radius_m if spec.geometry == "bin" else 1.0,
        "area_m2": spec.area_m2,
        "particle_m": stuff.particle_m,
        "ground": float(spec.ground),
        "ph_start": stuff.ph,
        "loose_m3_per_kg": spec.built_m3 / (dry * _bulk(spec, p)),
        "ash_share": stuff.ash_dm,
        "dry_start_kg": dry,
        "oxygen_outside": p["air_oxygen"],
        "moisture": spec.fed.moisture,
        "fast": spec.fed.fast,
        "slow": spec.fed.slow,
        "recal": spec.fed.recalcitrant,
        "nitrogen": spec.fed.n_dm,
        "ammonium_share": spec.fed.ammonium_share,
        "activity": _activity(spec.fed, p),
        "holds_kg_kg": drains_at / (1.0 - drains_at),
    }
    for name in ("vent", "wall_r", "wall_open", "cover_r", "cover_open", "rain_share"):
        values[name] = getattr(spec, name)
    for name, value in values.items():
        record[name] = value
    return record


def _bulk(spec: HeapSpec, p: Any) -> float:
    """Return the share of the dry matter that takes up room as skeleton does, at the start (eq. 2)."""
    stuff = spec.stuff
    soft = float(p["soft_volume"]) * (stuff.fast + stuff.slow) + stuff.recalcitrant
    return (1.0 - stuff.ash_dm) * soft + stuff.ash_dm


def events_of(spec: HeapSpec) -> Array:
    """Return turnings, waterings and feedings in order of time, shape (n, 3): time s, kind, amount."""
    turns = [(day * 86400.0, float(at.TURN), 0.0) for day in spec.turn_days]
    waters = [(day * 86400.0, float(at.GIVE_WATER), kg) for day, kg in spec.waterings]
    meals = [(day * 86400.0, float(at.FEED), kg) for day, kg in spec.feedings]
    return np.array(sorted(turns + waters + meals), dtype=np.float64).reshape(-1, 3)


def ensemble(
    specs: Sequence[HeapSpec],
    days: float,
    cells: int = CELLS,
    *,
    every_days: float = 1.0,
    tolerance_k: float = TOLERANCE_K,
) -> EnsembleRun:
    """Return many heaps run side by side on the cores of this machine.

    Parameters
    ----------
    specs : heaps; each may have its own stuff, weather, events and parameters.

    Returns
    -------
    Temperature, oxygen, moisture and volume of every member, time and cell, and the accounts of every member and time.

    Raises
    ------
    InputError : a spec cannot be used.
    HeapFailed : a member could not be solved.
    """
    from loamery.heap.many import run_many

    _usable(days, cells, every_days, tolerance_k, LONGEST_STEP_DAYS)
    if not specs:
        raise InputError(say("no heaps"), expected=say("at least one heap"), remedy=say("give the heaps to run"))
    for spec in specs:
        _weather_reaches(spec, days)
    times = record_times_s(days, every_days)
    packed = _pack(specs, cells)
    out = np.full((len(specs), times.size, at.RECORDED, cells), np.nan)
    books = np.full((len(specs), times.size, at.ACCOUNTS), np.nan)
    done = np.zeros(len(specs), dtype=np.bool_)
    with _ONE_AT_A_TIME:
        run_many(
            *packed, times, np.array([LONGEST_STEP_DAYS * 86400.0, tolerance_k]), _dealt(len(specs)), out, books, done
        )
    if not done.all() or not np.isfinite(out).all():
        raise HeapFailed(
            say("heap {argmin} of {count} could not be worked out", argmin=int(np.argmin(done)) + 1, count=len(specs))
        )
    return EnsembleRun(tuple(specs), times / 86400.0, out, books)


def _dealt(members: int) -> NDArray[np.int64]:
    """Return the members as cards are dealt to the cores, for neighbours in a list cost about the same."""
    from numba import get_num_threads

    return np.argsort(np.arange(members) % get_num_threads(), kind="stable")


def _pack(specs: Sequence[HeapSpec], cells: int) -> tuple[Any, ...]:
    starts = [start_state(spec, cells) for spec in specs]
    events, weather = [events_of(spec) for spec in specs], [spec.weather.table for spec in specs]
    return (
        np.concatenate([parameter_values(spec.changes) for spec in specs]),
        np.concatenate([heap_record(spec) for spec in specs]),
        np.stack([share for share, _ in starts]),
        np.stack([state for _, state in starts]),
        np.concatenate(weather),
        np.cumsum([0, *(len(one) for one in weather)]),
        np.concatenate(events),
        np.cumsum([0, *(len(one) for one in events)]),
    )
