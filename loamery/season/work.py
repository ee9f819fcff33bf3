"""What work costs in hours."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from loamery.reference import coefficient
from loamery.season.problem import Problem

Array = NDArray[np.float64]


def spread_hours_per_kg() -> float:
    """Return the hours it takes to carry and spread a kilogram."""
    return coefficient("hours_per_100kg_spread").value / 100.0


def collect_hours_per_kg(problem: Problem, lot: int) -> float:
    """Return the hours a kilogram of a supply costs to fetch: the trip, shared by a load, and handling."""
    supply = problem.lots[lot]
    there_and_back = 2.0 * problem.garden.donor(supply.donor).distance_km
    trip = there_and_back / coefficient("haul_speed").value / coefficient("haul_load").value
    return trip + handling_hours_per_kg()


def handling_hours_per_kg() -> float:
    """Return the hours it takes to load and unload a kilogram."""
    return coefficient("hours_per_100kg_collect").value / 100.0


def moving_hours(problem: Problem, take: Array, buy: Array, spread: Array) -> Array:
    """Return the hours of each week in which stuff is fetched, carried and spread, (weeks,).

    Parameters
    ----------
    take, buy, spread : kg, as in a `Decision`: (lots, weeks), (goods, weeks), (spreads, beds, weeks).
    """
    per_lot = np.array([collect_hours_per_kg(problem, lot) for lot in range(len(problem.lots))])
    carried = per_lot @ take + handling_hours_per_kg() * buy.sum(axis=0)
    return np.asarray(carried + spread_hours_per_kg() * spread.sum(axis=(0, 1)))


def turning_weeks(built: int) -> list[int]:
    """Return the weeks in which a batch built in a week is turned, spread evenly over its active weeks."""
    turnings = int(coefficient("turnings_per_batch").value)
    active = coefficient("heap_active_weeks").value
    return [built + round((number + 1) * active / (turnings + 1)) for number in range(turnings)]


def batch_hours(weeks: int) -> Array:
    """Return the hours a batch asks for: built in a week (row), to be worked in a week (column).

    Parameters
    ----------
    weeks : of the season.

    Returns
    -------
    Array of shape (weeks, weeks + 1); the last column holds the turnings after the season's end.
    """
    hours = np.zeros((weeks, weeks + 1))
    for built in range(weeks):
        hours[built, built] += coefficient("hours_per_batch").value
        for week in turning_weeks(built):
            hours[built, min(week, weeks)] += coefficient("hours_per_turning").value
    return hours
