"""How worms grow in number and how much they turn into castings."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loamery.errors import InputError
from loamery.finding import Band
from loamery.reference import Coefficient, coefficient
from loamery.say import say
from loamery.uncertain import from_range, percentiles

Array = NDArray[np.float64]
DAYS_PER_WEEK = 7
MOST_WEEKS, MOST_DRAWS = 520, 5000


@dataclass(frozen=True, eq=False)
class WormForecast:
    """Worms and castings, week by week.

    Parameters
    ----------
    worms_kg, eaten_kg, castings_kg : 5th, 50th and 95th percentile, shape (3, weeks + 1); live worms, feed as received and
        dry castings, the last two added up from the start.
    """

    weeks: int
    worms_kg: Array
    eaten_kg: Array
    castings_kg: Array

    def at(self, name: str, week: int, unit: str = "kg") -> Band:
        """Return one band in one week."""
        low, median, high = (float(one) for one in getattr(self, name)[:, week])
        return Band(median, low, high, unit)


def forecast_worms(
    worms_kg: float,
    area_m2: float,
    feed_kg_week: Sequence[float],
    feed_dry: float | Array,
    bed_temp_c: Sequence[float],
    draws: int = 400,
    seed: int = 1,
) -> WormForecast:
    """Return how worms and castings grow.

    Parameters
    ----------
    worms_kg : live worms now; area_m2 : of the bed.
    feed_kg_week : feed offered in each week, kg as received.
    feed_dry : dry matter of the feed, kg/kg, a number or draws of shape (draws,).
    bed_temp_c : mean of the bed in each week.

    Returns
    -------
    Bands over ``len(feed_kg_week)`` weeks and the start.

    Raises
    ------
    InputError : a number that cannot be used.

    Source
    ------
    Logistic growth after the form of Neuhauser et al. 1980 (abstract); rate and capacity are our judgement, feed ceiling after
    an FAO text, castings per dry feed common practice (coefficients.csv). What is not fed cannot carry more worms.
    """
    weeks = len(feed_kg_week)
    _refuse(worms_kg, area_m2, feed_kg_week, bed_temp_c, draws)
    rate, capacity = _draw("worm_growth_rate", draws, seed), _draw("worm_capacity", draws, seed) * area_m2
    appetite, yielded = _draw("worm_feed_ceiling", draws, seed), _draw("castings_yield", draws, seed)
    alive, eaten, made = (np.zeros((weeks + 1, draws)) for _ in range(3))
    alive[0] = worms_kg
    for week in range(weeks):
        pace = temperature_pace(bed_temp_c[week])
        wanted = DAYS_PER_WEEK * appetite * pace * alive[week]
        taken = np.minimum(wanted, feed_kg_week[week])
        fed = np.divide(taken, wanted, out=np.zeros(draws), where=wanted > 0.0)
        alive[week + 1] = _grown(alive[week], rate * pace, capacity, fed)
        eaten[week + 1] = eaten[week] + taken
        made[week + 1] = made[week] + taken * feed_dry * yielded
    ends = [percentiles(one) for one in (alive, eaten, made)]
    return WormForecast(weeks, *ends)


def _grown(alive: Array, rate: Array, capacity: Array, fed: Array) -> Array:
    """Return the worms a week later: the closed form of logistic growth towards what bed and feed carry."""
    room = np.maximum(np.minimum(capacity, np.where(fed >= 1.0, capacity, alive * np.maximum(fed, 0.1))), 1e-9)
    falls = room < alive
    quick = np.where(falls & (rate <= 0.0), 0.0, rate)
    grown = np.exp(-quick * DAYS_PER_WEEK)
    start = np.maximum(alive, 1e-12)
    return np.asarray(np.where(alive > 0.0, room / (1.0 + (room / start - 1.0) * grown), 0.0))


def temperature_pace(temp_c: float) -> float:
    """Return how worms feed and grow at a bed temperature, 0 to 1: full between the good ends, nothing at the limits."""
    names = ("worm_temp_min", "worm_temp_low", "worm_temp_high", "worm_temp_max")
    ends = [coefficient(name).value for name in names]
    return float(np.interp(temp_c, ends, (0.0, 1.0, 1.0, 0.0)))


def _draw(key: str, n: int, seed: int) -> Array:
    one = coefficient(key)
    return _spread(one, n, seed) if one.high > one.low else np.full(n, one.value)


def _spread(one: Coefficient, n: int, seed: int) -> Array:
    drawn = from_range("lognormal", one.low, one.high, one.value).draw(n, seed, "worms", one.key)
    return np.clip(drawn, 0.5 * one.low, 2.0 * one.high)


def _refuse(
    worms_kg: float, area_m2: float, feed_kg_week: Sequence[float], bed_temp_c: Sequence[float], draws: int
) -> None:
    checks = [
        (say("worms"), worms_kg, 0.0, 1e5, "kg"),
        (say("area"), area_m2, 0.01, 1e5, "m2"),
        (say("draws"), draws, 3, MOST_DRAWS, ""),
    ]
    checks += [(say("feed of week {week}", week=i + 1), kg, 0.0, 1e6, "kg") for i, kg in enumerate(feed_kg_week)]
    checks += [
        (say("bed temperature of week {week}", week=i + 1), one, -40.0, 60.0, "°C") for i, one in enumerate(bed_temp_c)
    ]
    for name, value, low, high, unit in checks:
        if not (np.isfinite(value) and low <= value <= high):
            raise InputError(
                say("{name} {value:g}", name=name, value=value),
                expected=say("{low:g} to {high:g}", low=low, high=high) + (say(" {unit}", unit=unit) if unit else ""),
                remedy=say("correct the {name}", name=name),
            )
    if len(feed_kg_week) != len(bed_temp_c) or not 1 <= len(feed_kg_week) <= MOST_WEEKS:
        raise InputError(
            say("{count} weeks of feed, {count_2} of temperature", count=len(feed_kg_week), count_2=len(bed_temp_c)), expected=say("the same number, 1 to 520"),
            remedy=say("give one figure of each for every week"),
        )  # fmt: skip
