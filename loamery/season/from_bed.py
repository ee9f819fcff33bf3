"""What the bed model says before a plan is made: what each kilogram gives, and what the soil has by itself.

A handful of seasons is drawn: numbers of the model, how fast and how far each kind of material decays, warmth and rain. Every draw of
the garden belongs to one of them. Within a season the model is linear in what a material holds, but for a mulch short of nitrogen;
so each kind is run at a few ratios of nitrogen to carbon, and every draw of every material of that kind lies between two of them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, fields, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from loamery.bed.crop import crops
from loamery.bed.kernels import reaching_share, release_kernels, usual_place
from loamery.bed.matter import Matter, carbon_of_kind
from loamery.bed.parameters import Parameters, bed_parameters
from loamery.bed.place import place_of, places_of
from loamery.bed.simulate import WEEK, Portion, simulate_bed
from loamery.bed.warm import moisture_factor
from loamery.bed.weather import normal_weather
from loamery.garden.model import Garden
from loamery.season.calendar import Calendar
from loamery.season.needs import BedNeed
from loamery.season.stuff import RAW, Stuff

Array = NDArray[np.float64]
SEASONS = 16
"""How many seasons are drawn; the plan's scenarios are fewer."""
RATIOS = {True: (0.002, 0.025, 0.05, 0.2), False: (0.02, 0.2)}
"""Nitrogen to carbon of the runs: on the surface, and worked in, where two are enough because the model is linear there."""
ALIKE = 0.04
"""Beds on which matter decays so nearly as fast, by moisture and as a share of the best, count as one kind of soil."""
KEPT = 1e-6
"""Patterns of release below this share of the largest are rounding, and left out."""


@dataclass(frozen=True, eq=False)
class Seasons:
    """The seasons drawn, and the beds in them with nothing spread.

    Parameters
    ----------
    numbers : of the bed model, one set for each season. temp_c : of the air in each week, (weeks, seasons).
    soil_n_kg_m2 : nitrogen there for the crops of every bed by the end of each week, shape (seasons, beds, weeks): what they
        have taken up and what lies mineral in their root zone, so what rain washes out does not count.
    lying_kg_m2 : of it what lies mineral, same shape. drained : water that drains in each week with what it carries, as a share
        of what the root zone holds, same shape: nitrate that lies there falls by exp(-drained).
    moisture : speed of decay by moisture in each week on each kind of soil, mean of its beds by area, (weeks, soils, seasons).
    soil_of : the kind of soil of each bed, (beds,).
    known : what kinds of material give, which is reckoned once.
    """

    numbers: Parameters
    temp_c: Array
    soil_n_kg_m2: Array
    lying_kg_m2: Array
    drained: Array
    moisture: Array
    soil_of: NDArray[np.int64]
    known: dict[tuple[str, bool, bool], tuple[Array, Array]] = field(default_factory=dict, repr=False)

    @property
    def weeks(self) -> int:
        """Return the weeks of the season."""
        return int(self.temp_c.shape[0])

    @property
    def soils(self) -> int:
        """Return how many kinds of soil there are."""
        return int(self.moisture.shape[1])

    @staticmethod
    def of_draws(draws: int) -> NDArray[np.int64]:
        """Return the season to which each of the garden's draws belongs, shape (draws,)."""
        return np.arange(draws) % SEASONS


def seasons_of(garden: Garden, calendar: Calendar, needs: Sequence[BedNeed]) -> Seasons:
    """Return the seasons a garden is planned for; without beds they are those of an ordinary loam."""
    numbers, climate = bed_parameters(SEASONS, garden.info.seed), garden.climate
    days = WEEK * calendar.weeks
    weather = normal_weather(
        climate.mean_temp_c, climate.rain_mm, calendar.start, days, SEASONS, garden.info.seed, climate.latitude_deg
    )
    grown = crops([one.plantings for one in needs] or [()], calendar.start, days)
    places = [
        place_of(one.bed, one.test, float(root)) for one, root in zip(needs, grown.root_depth_m, strict=bool(needs))
    ]
    soils = places_of(places or [usual_place()])
    run = simulate_bed((), (), soils, weather, grown, numbers)
    there = np.cumsum(run.taken, axis=0) + run.mineral_n[1:]
    dry = run.stock["depletion_mm"] / (1000.0 * soils.root_depth_m)
    filled = np.clip((soils.field_capacity - 0.5 * (dry[1:] + dry[:-1])) / soils.porosity, 0.0, 1.0)
    speed = moisture_factor(filled, numbers["moisture_peak_wfps"])
    soil_of = _alike(speed.mean(axis=(0, 2)))
    area = np.array([one.bed.area_m2 for one in needs] or [1.0]) * (soil_of == np.arange(soil_of.max() + 1)[:, None])
    moisture = np.einsum("gb,wbs->wgs", area / area.sum(axis=1, keepdims=True), speed)
    carried = numbers["bed_leach_efficiency"] * run.flow["drained_mm"] / soils.held_mm
    soil, lying, drained = (np.moveaxis(one, (0, 2), (2, 0)) for one in (there, run.mineral_n[1:], carried))
    return Seasons(numbers, weather.weekly_temp_c(), soil, lying, drained, moisture, soil_of[: len(needs)])


def _alike(speed: Array) -> NDArray[np.int64]:
    """Return the kind of soil of each bed: beds whose speeds of decay lie close together, the slowest first, (beds,)."""
    kinds = np.zeros(speed.size, dtype=np.int64)
    first, kind = -np.inf, -1
    for bed in np.argsort(speed, kind="stable"):
        if speed[bed] > first + ALIKE:
            first, kind = speed[bed], kind + 1
        kinds[bed] = kind
    return kinds


def release_draws(stuff: Stuff, on_surface: bool, seasons: Seasons, soil: int) -> tuple[Array, Array]:
    """Return what a kilogram gives on a kind of soil in every draw, as patterns and amounts of them.

    Returns
    -------
    Patterns, shape (patterns, weeks spread, weeks), and kg of nitrogen per kg for each, shape (patterns, draws).
    """
    every, mineral = _per_kilogram(stuff.kind, stuff.form == RAW, on_surface, seasons)
    organic = every[soil]
    weights = _between(stuff, np.array(RATIOS[on_surface]))
    columns = np.concatenate([organic, mineral[None]]).reshape(len(organic) + 1, -1, SEASONS)
    held = np.concatenate([weights, stuff.n_mineral[None]])
    scaled = columns * np.abs(held).mean(axis=1)[:, None, None]
    basis = _basis(np.concatenate(list(scaled), axis=1))
    kept = basis.shape[0]
    shares = np.einsum("pw,iws->pis", basis, columns)[:, :, Seasons.of_draws(stuff.dry.size)]
    started = np.triu(np.ones((seasons.weeks, seasons.weeks)))
    patterns = basis.reshape(kept, seasons.weeks, seasons.weeks) * started
    return patterns, np.asarray(np.einsum("pij,ij->pj", shares, held))


def _basis(columns: Array) -> Array:
    """Return what columns have in common, as rows that stand square on each other: left singular vectors, large ones only.

    Notes
    -----
    By the eigenvectors of the small square of inner products, which takes a tenth of the time; what it loses lies below `KEPT`.
    """
    power, right = np.linalg.eigh(columns.T @ columns)
    large = np.flatnonzero(power > KEPT**2 * power[-1])[::-1]
    if large.size == 0:
        return np.zeros((1, columns.shape[0]))
    return np.asarray((columns @ right[:, large] / np.sqrt(power[large])).T)


def _between(stuff: Stuff, ratios: Array) -> Array:
    """Return the kilograms of carbon of each run that together stand for a material, shape (runs, draws).

    Their carbon is its carbon and their nitrogen its organic nitrogen; beyond the last run the line goes on.
    """
    ratio = stuff.n_organic / np.maximum(stuff.carbon, 1e-12)
    low = np.clip(np.searchsorted(ratios, ratio) - 1, 0, ratios.size - 2)
    upper = (stuff.n_organic - ratios[low] * stuff.carbon) / (ratios[low + 1] - ratios[low])
    out = np.zeros((ratios.size, ratio.size))
    draws = np.arange(ratio.size)
    out[low, draws] = stuff.carbon - upper
    out[low + 1, draws] = upper
    return out


def _per_kilogram(kind: str, raw: bool, on_surface: bool, seasons: Seasons) -> tuple[Array, Array]:
    """Return what a kilogram of carbon gives at each ratio, (soils, ratios, weeks, weeks, seasons), and one of mineral nitrogen."""
    key = (kind, raw, on_surface)
    if key not in seasons.known:
        seasons.known[key] = _runs(kind, raw, on_surface, seasons)
    return seasons.known[key]


def _runs(kind: str, raw: bool, on_surface: bool, seasons: Seasons) -> tuple[Array, Array]:
    ratios, numbers, weeks, soils = RATIOS[on_surface], seasons.numbers, seasons.weeks, seasons.soils
    # runs stand one after the other along the axis of draws: by soil, by ratio, by season
    temps = np.tile(seasons.temp_c, soils * len(ratios))
    moist = np.tile(seasons.moisture, len(ratios)).reshape(weeks, -1)
    one = carbon_of_kind(kind, numbers)
    many = Parameters(
        {key: np.tile(value, soils * len(ratios)) for key, value in numbers.values.items()}, temps.shape[1]
    )
    runs = Portion(_at_ratios(one, ratios * soils), on_surface, raw)
    gained = release_kernels([runs], temps, many, moisture=moist)[0]
    organic = np.moveaxis(gained.reshape(weeks, weeks, soils, len(ratios), SEASONS), (2, 3), (0, 1))
    # what is composted holds its mineral nitrogen as nitrate, which the air does not take
    reaching = reaching_share(one.ph, seasons.temp_c, numbers) if raw and on_surface else np.ones_like(seasons.temp_c)
    started = np.triu(np.ones((weeks, weeks)))
    return np.ascontiguousarray(organic), started[:, :, None] * reaching[:, None, :]


def _at_ratios(one: Matter, ratios: Sequence[float]) -> Matter:
    """Return a kilogram of carbon at several ratios of nitrogen, one after the other along the axis of draws."""
    names = [each.name for each in fields(one) if isinstance(getattr(one, each.name), np.ndarray)]
    tiled: dict[str, Any] = {name: np.concatenate([getattr(one, name)] * len(ratios), axis=-1) for name in names}
    return replace(one, **{**tiled, "organic_n": np.repeat(ratios, SEASONS)})
