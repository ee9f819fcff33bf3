"""Beds, soils, weather and materials that the tests of the bed model share; all invented."""

from __future__ import annotations

from datetime import date
from functools import cache

import numpy as np

from loamery.bed.crop import Crop, crops
from loamery.bed.matter import Matter, matter_of
from loamery.bed.parameters import Parameters, bed_parameters
from loamery.bed.place import Place, place_of
from loamery.bed.simulate import Portion
from loamery.bed.soil import soil_test
from loamery.bed.weather import BedWeather, normal_weather
from loamery.garden.model import Bed, Planting, SoilValue
from loamery.lab.combine import compose

START, WEEKS = date(2027, 4, 5), 26
TEMPS = (-10.4, -8.7, -2.3, 5.8, 12.9, 17.8, 20.6, 19.4, 14.6, 7.9, 1.0, -6.8)
RAIN = (58.0, 49.0, 55.0, 68.0, 79.0, 88.0, 94.0, 90.0, 84.0, 80.0, 73.0, 64.0)


@cache
def numbers(draws: int = 1) -> Parameters:
    return bed_parameters(draws)


@cache
def matter(kind: str, draws: int = 1) -> Matter:
    return matter_of(compose(kind, ()), numbers(draws))


def portion(kind: str, surface: bool = False, draws: int = 1) -> Portion:
    return Portion(matter(kind, draws), surface)


def soil(texture: str = "loam", matter_pct: float = 3.5, ph: float = 6.5, depth_m: float = 0.15) -> Place:
    bed = Bed.model_validate({"id": "b", "name": "b", "area_m2": 10.0, "depth_m": depth_m, "texture": texture})
    typed = [
        SoilValue(bed="b", quantity="organic_matter", value=matter_pct, unit="%"),
        SoilValue(bed="b", quantity="pH", value=ph, unit="pH"),
    ]
    return place_of(bed, soil_test("b", typed, []))


@cache
def weather(draws: int = 1, weeks: int = WEEKS) -> BedWeather:
    return normal_weather(TEMPS, RAIN, START, 7 * weeks, draws)


def tomatoes(beds: int = 1, weeks: int = WEEKS) -> Crop:
    one = Planting(bed="b", crop="tomato", planted=date(2027, 5, 20), harvested=date(2027, 9, 15))
    return crops([[one]] * beds, START, 7 * weeks)


def dose(*given: tuple[int, float], weeks: int = WEEKS, portions: int = 1) -> np.ndarray:
    """Return doses with kg per m2 in some weeks, the same for every portion."""
    out = np.zeros((portions, weeks))
    for week, kg in given:
        out[:, week] = kg
    return out
