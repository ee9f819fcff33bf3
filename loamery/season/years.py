"""Seasons that may come: fresh draws of what is not known when the plan is made, and the weather from day to day."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from loamery.bed.matter import decomposed_share
from loamery.heap.climate import Normals
from loamery.heap.layout import AIR_C, RAIN_SUM
from loamery.heap.parameters import drawn_parameters
from loamery.heap.weather import Weather
from loamery.lab.combine import compose
from loamery.lab.composition import Composition
from loamery.reference import Coefficient, coefficient
from loamery.season.calendar import Calendar
from loamery.season.prepare import Prepared
from loamery.season.stuff import Stuff, raw_stuff
from loamery.uncertain import from_range, scores

Array = NDArray[np.float64]
LATER_DAYS = 220
"""Weather is drawn for so many days after the season, for the heaps that are still at work."""
DAYS = 7


@dataclass(frozen=True, eq=False)
class Years:
    """Seasons drawn afresh; member i of everything belongs to the same season.

    Parameters
    ----------
    n, seed : how many, and the seed, which is not the one the plan was made with.
    compositions, raw : by material id, with n draws.
    soils : by id of a bed nobody tested: draws of its organic matter over the usual (``n``), and of the share of the harvest's
        phosphorus and potassium worth supplying over that of a medium soil (``P``, ``K``).
    weather : daily from the first day of the season.
    temp_c : mean of each week, shape (n, weeks).
    heap_numbers : parameters of the heap model, one mapping a member.
    fates : what became of a heap, by what it is made of and when, so that the same heap is run once.
    """

    n: int
    seed: int
    compositions: Mapping[str, Composition]
    raw: Mapping[str, Stuff]
    soils: Mapping[str, Mapping[str, Array]]
    weather: tuple[Weather, ...]
    temp_c: Array
    heap_numbers: tuple[Mapping[str, float], ...]
    fates: dict[tuple[object, ...], object] = field(default_factory=dict, repr=False)

    def decomposed(self, kind: str) -> Array:
        """Return draws of the share of dry matter that decomposes in a season, those of the bed model, shape (n,)."""
        return decomposed_share(kind, self.n, self.seed)

    def factor(self, key: str) -> Array:
        """Return draws of a coefficient over its best value, shape (n,); shares at most their whole."""
        one = coefficient(key)
        return self.drawn(one) / one.value

    def drawn(self, one: Coefficient) -> Array:
        """Return draws of a coefficient within its range, shape (n,)."""
        kind = "logit" if one.unit == "1" and one.low > 0.0 and one.high < 1.0 else "lognormal"
        if one.low <= 0.0:
            return np.clip(
                from_range("normal", one.low, one.high, one.value).draw(self.n, self.seed, one.key), 0.0, None
            )
        return from_range(kind, one.low, one.high, one.value).draw(self.n, self.seed, one.key)

    @property
    def season_warmth(self) -> Array:
        """Return how many standard deviations the season is warmer than its normals, shape (n,)."""
        return scores(self.n, self.seed, "weather", "season")

    @property
    def season_rain(self) -> Array:
        """Return how many standard deviations the season is wetter than its normals, shape (n,)."""
        return scores(self.n, self.seed, "weather", "wetness")

    def weather_from(self, day: int) -> list[Weather]:
        """Return the weather of every member from a day of the season on."""
        out = []
        for one in self.weather:
            table = one.table[day:].copy()
            table[:, RAIN_SUM] -= table[0, RAIN_SUM]
            out.append(Weather(table))
        return out


def draw_years(prepared: Prepared, calendar: Calendar, n: int, seed: int) -> Years:
    """Return seasons that may come.

    Parameters
    ----------
    prepared : the garden with its reports read; they are what is known.
    n : how many. seed : of the draws; take another than the garden's own for fresh ones.
    """
    garden = prepared.garden
    compositions = {
        one.id: compose(one.kind, prepared.reports[one.id], material=one.id, n=n, seed=seed) for one in garden.materials
    }
    normals = Normals(garden.climate.mean_temp_c, garden.climate.rain_mm)
    days = DAYS * calendar.weeks + LATER_DAYS
    weather = tuple(normals.draws(calendar.start, days, n, seed))
    air = np.stack([one.table[: DAYS * calendar.weeks, AIR_C] for one in weather])
    return Years(
        n=n,
        seed=seed,
        compositions=compositions,
        raw={one.id: raw_stuff(one, compositions[one.id]) for one in garden.materials},
        soils={bed.id: _untested(bed.id, n, seed) for bed in garden.beds if not prepared.soils[bed.id].values},
        weather=weather,
        temp_c=air.reshape(n, calendar.weeks, DAYS).mean(axis=2),
        heap_numbers=tuple(drawn_parameters(n, seed)),
    )


CLASSES = ("very_low", "low", "medium", "high", "very_high")


def _untested(bed: str, n: int, seed: int) -> dict[str, Array]:
    """Return what a soil nobody tested may turn out to be: organic matter in its range, each class as likely as the next."""
    one = coefficient("soil_om_default")
    out = {
        "n": from_range("lognormal", one.low, one.high, one.value).draw(n, seed, "soil", bed, "organic matter")
        / one.value
    }
    for key in "PK":
        factors = np.array([coefficient(f"suff_factor_{key.lower()}_{name}").value for name in CLASSES])
        place = np.argsort(np.argsort(scores(n, seed, "soil", bed, key))) * len(CLASSES) // n
        out[key] = factors[place] / coefficient(f"suff_factor_{key.lower()}_medium").value
    return out
