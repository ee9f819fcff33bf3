"""Published factors for a batch of compost, and how many published figures of whole runs the heap model misses."""

from __future__ import annotations

from loamery.reference import Coefficient, coefficient

PUBLISHED_FIGURES, PUBLISHED_MISSES = 32, 12
"""Figures of published runs that validation/check_heap_runs.py holds the model against, and how many it misses; that check holds these two."""


def lead_time_weeks(start_temp_c: float) -> float:
    """Return the weeks from building a batch to usable compost.

    Parameters
    ----------
    start_temp_c : mean air temperature of the weeks after building, °C; below freezing the heap waits.

    Source
    ------
    Common practice, no source: active weeks plus curing, with the weeks a frozen heap loses (coefficients.csv).
    """
    lead = coefficient("heap_lead_time_weeks").value
    return lead + (coefficient("heap_winter_weeks_lost").value if start_temp_c <= 0.0 else 0.0)


def finished_share(key: str) -> Coefficient:
    """Return the coefficient of what a batch loses of dry matter (``dm``), ``C``, ``N``, ``P`` or ``K``.

    Returns
    -------
    Share lost, 0 to 1, with its 90 % range; what stays is 1 minus the value. Other elements are taken to stay.
    """
    return coefficient(f"heap_{key.lower()}_loss")
