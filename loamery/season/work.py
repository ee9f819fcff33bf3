"""What work costs in hours."""

from __future__ import annotations

from loamery.reference import coefficient
from loamery.season.problem import Problem


def collect_hours_per_kg(problem: Problem, lot: int) -> float:
    """Return the hours a kilogram of a supply costs to fetch: the trip, shared by a load, and handling."""
    supply = problem.lots[lot]
    there_and_back = 2.0 * problem.garden.donor(supply.donor).distance_km
    trip = there_and_back / coefficient("haul_speed").value / coefficient("haul_load").value
    return trip + coefficient("hours_per_100kg_collect").value / 100.0


def batch_hours() -> float:
    """Return the hours to build one batch and turn it as often as is usual."""
    turnings = coefficient("turnings_per_batch").value
    return coefficient("hours_per_batch").value + turnings * coefficient("hours_per_turning").value
