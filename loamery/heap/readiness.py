"""When compost is ready: cool, and so quiet that it would stay cool if it were given all it wants."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from loamery.heap.parameters import parameter_values
from loamery.heap.spec import HeapSpec
from loamery.reference import coefficient, table

Array = NDArray[np.float64]
TABLE = 400
"""Points of the table that turns organic matter lost into pools left."""
DEEPEST = 60.0
"""Effective days over the rate of the fast pool to which the table reaches, in units of 1/k_slow."""
MG_PER_KG, HOURS = 1e6, 24.0


def stability_limits() -> tuple[float, float]:
    """Return the greatest oxygen uptake, mg/kg organic matter/h, and self-heating, K, of stable compost.

    Source
    ------
    CCME Guidelines for Compost Quality 2005, section on maturity (limits.csv, recalled).
    """
    rows = {row["parameter"]: float(row["value"]) for row in table("limits") if row["key"] == "ca-ccme-2005-hygiene"}
    return rows["stability_o2"], rows["stability_self_heating"]


def pools_left(spec: HeapSpec, organic_share: Array) -> tuple[Array, Array, Array]:
    """Return the fast, slow and recalcitrant matter left, as shares of the organic matter at the start.

    Parameters
    ----------
    organic_share : organic matter left over organic matter at the start.

    Notes
    -----
    All pools of a cell go through the same conditions, so one effective time fits the whole loss. Matter that moved between
    cells makes this an approximation; tests hold it against the pools of single runs.
    """
    p, stuff = parameter_values(spec.changes)[0], spec.stuff
    x = np.concatenate([[0.0], np.geomspace(1e-3, DEEPEST / p["k_slow"], TABLE)])
    fast, slow = stuff.fast * np.exp(-p["k_fast"] * x), stuff.slow * np.exp(-p["k_slow"] * x)
    humus = p["humus_yield"] * (stuff.fast + stuff.slow - fast - slow) * p["carbon_slow"] / p["carbon_recalcitrant"]
    recal = (stuff.recalcitrant + humus) * np.exp(-p["k_recalcitrant"] * x)
    left = fast + slow + recal
    order = np.argsort(left)
    at = np.interp(organic_share, left[order], x[order])
    return (np.interp(at, x, fast), np.interp(at, x, slow), np.interp(at, x, recal))


def oxygen_uptake(spec: HeapSpec, organic_share: Array) -> Array:
    """Return the oxygen that the matter would take up, moist, aired and warm as in the test, mg/kg organic matter/h."""
    p = parameter_values(spec.changes)[0]
    pace = cardinal(coefficient("ready_test_temp").value, p)
    fast, slow, recal = pools_left(spec, organic_share)
    rate = p["k_fast"] * p["oxygen_fast"] * fast + p["k_slow"] * p["oxygen_slow"] * slow
    rate = (1.0 - p["humus_yield"]) * rate + p["k_recalcitrant"] * p["oxygen_recalcitrant"] * recal
    return np.asarray(MG_PER_KG / HOURS * pace * rate / (fast + slow + recal))


def cardinal(temp_c: float, p: Mapping[str, float]) -> float:
    """Return the response to temperature, 1 at the best.

    Source
    ------
    Rosso, Lobry and Flandrois 1993, cardinal temperature model with inflection (recalled).
    """
    low, best, high = (float(p[key]) for key in ("temp_min", "temp_opt", "temp_max"))
    if not low < temp_c < high:
        return 0.0
    top = (temp_c - high) * (temp_c - low) ** 2
    bottom = (best - low) * ((best - low) * (temp_c - best) - (best - high) * (best + low - 2.0 * temp_c))
    return top / bottom


def ready_day(day: Array, warmest_above_air: Array, uptake: Array) -> float:
    """Return the first day from which a heap stays cool and quiet, infinity when it does not in the time simulated.

    Parameters
    ----------
    day : shape (times,).
    warmest_above_air : of the warmest cell, a week's mean, K, shape (times,).
    uptake : possible oxygen uptake, mg/kg organic matter/h, shape (times,).
    """
    most_uptake, most_heat = stability_limits()
    good = (uptake <= most_uptake) & (warmest_above_air <= most_heat)
    bad = np.flatnonzero(~good)
    first = 0 if bad.size == 0 else int(bad[-1]) + 1
    hold = coefficient("ready_hold_days").value
    if first >= day.size or day[-1] - day[first] < hold:
        return float("inf")
    return float(day[first])
