"""How the beds of a garden answer to material by the bed model, in the form in which a plan is solved: nitrogen there for the
crops from a kilogram spread in a week, and from the soil with nothing spread."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loamery.bed.crop import Crop, crops
from loamery.bed.matter import matter_of_stuff
from loamery.bed.parameters import bed_parameters
from loamery.bed.place import Place, place_of, places_of
from loamery.bed.record import BedRun
from loamery.bed.simulate import Portion, simulate_bed
from loamery.bed.weather import BedWeather, normal_weather
from loamery.season.problem import Problem
from loamery.season.years import DAYS

Array = NDArray[np.float64]
DOSE_KG_M2 = 1.0
"""Material given to see the answer; an ordinary layer of grass or compost."""


@dataclass(frozen=True, eq=False)
class Response:
    """How beds answer.

    Parameters
    ----------
    release : by name of a spread: kg of nitrogen there for the crop by the end of a week from a kg spread in a week.
    soil_n_kg_m2 : by bed: nitrogen there for the crop by the end of each week with nothing spread, (weeks,).
    """

    release: Mapping[str, Array]
    soil_n_kg_m2: Mapping[str, Array]


def response(problem: Problem) -> Response:
    """Return how the beds answer at best values and in normal weather.

    Notes
    -----
    What is there is what the crop has taken up and what lies mineral in its root zone; so what rain washes out does not count.
    Material answers as on the largest bed.
    """
    days = DAYS * problem.calendar.weeks
    climate = problem.garden.climate
    weather = normal_weather(climate.mean_temp_c, climate.rain_mm, problem.calendar.start, days)
    grown = crops([need.plantings for need in problem.needs], problem.calendar.start, days)
    soils = [
        place_of(need.bed, need.test, float(depth))
        for need, depth in zip(problem.needs, grown.root_depth_m, strict=True)
    ]
    bare = there(simulate_bed((), (), places_of(soils), weather, grown))
    largest = int(problem.area_m2.argmax())
    release = {}
    for row, spread in enumerate(problem.spreads):
        open_weeks = np.flatnonzero(problem.allowed[row].any(axis=0))
        if open_weeks.size:
            release[spread.name] = _release(
                problem, row, open_weeks, soils[largest], grown, largest, weather, bare[:, largest]
            )
    return Response(release, {need.bed.id: bare[:, bed] for bed, need in enumerate(problem.needs)})


def there(run: BedRun) -> Array:
    """Return nitrogen taken up or lying there for the crop by the end of each week, kg per m2, shape (weeks, beds)."""
    return np.asarray(np.median(np.cumsum(run.taken, axis=0) + run.mineral_n[1:], axis=2))


def _release(
    problem: Problem,
    row: int,
    open_weeks: NDArray[np.int64],
    soil: Place,
    grown: Crop,
    bed: int,
    weather: BedWeather,
    bare: Array,
) -> Array:
    """Return the answer to one spread; every week of spreading is a bed of its own, side by side."""
    spread, weeks, count = problem.spreads[row], problem.calendar.weeks, open_weeks.size
    numbers = bed_parameters(1)
    doses = np.zeros((1, count, weeks))
    doses[0, np.arange(count), open_weeks] = DOSE_KG_M2
    portion = Portion(matter_of_stuff(spread.stuff, numbers), on_surface=spread.use == "mulch")
    many = Crop(**{name: np.repeat(value[[bed]], count, axis=0) for name, value in vars(grown).items()})
    gained = there(simulate_bed([portion], doses, places_of([soil] * count), weather, many, numbers)) - bare[:, None]
    out = np.zeros((weeks, weeks))
    out[open_weeks] = gained.T / DOSE_KG_M2
    return np.where(np.triu(np.ones((weeks, weeks))) > 0, out, 0.0)
