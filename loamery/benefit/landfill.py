"""Methane of a landfill by first-order decay, and the climate zone that sets its pace."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from loamery.reference import coefficient, table
from loamery.say import say

Array = NDArray[np.float64]
Zone = Literal["boreal_temperate_dry", "boreal_temperate_wet", "tropical_dry", "tropical_wet"]
ZONES: tuple[Zone, ...] = ("boreal_temperate_dry", "boreal_temperate_wet", "tropical_dry", "tropical_wet")
ZONE_WORDS: dict[Zone, str] = {
    "boreal_temperate_dry": say("boreal or temperate, dry"),
    "boreal_temperate_wet": say("boreal or temperate, wet"),
    "tropical_dry": say("tropical, dry"),
    "tropical_wet": say("tropical, moist and wet"),
}
METHANE_PER_CARBON = 16.0 / 12.0
"""Mass of CH4 per mass of carbon in it, as the IPCC rounds it."""


@dataclass(frozen=True)
class Waste:
    """One waste in a landfill; every figure may be an array of draws.

    Parameters
    ----------
    mass_kg : wet mass. doc : degradable organic carbon, kg per kg wet. doc_f : share of it that decays.
    k_per_year : decay rate. mcf : methane correction factor. methane_frac : methane in the gas by volume.
    """

    mass_kg: float | Array
    doc: float | Array
    doc_f: float | Array
    k_per_year: float | Array
    mcf: float | Array = 1.0
    methane_frac: float | Array = 0.5

    @property
    def decaying_kg(self) -> Array:
        """Return the carbon that decays without air, kg (DDOCm)."""
        return np.asarray(self.mass_kg * np.asarray(self.doc) * self.doc_f * self.mcf)


def methane_by_year(waste: Waste, years: int) -> Array:
    """Return the methane generated in each year after the waste was laid down.

    Returns
    -------
    kg CH4, shape (years,) or (years, draws); decay starts with the first year counted.

    Source
    ------
    IPCC 2006, volume 5, chapter 3: DDOCm = W DOC DOCf MCF (equation 3.2), first-order decay (3.4, 3.5),
    CH4 = decayed carbon x F x 16/12 (3.6).
    """
    k = np.asarray(waste.k_per_year, dtype=np.float64)
    ends = np.arange(years + 1, dtype=np.float64).reshape((-1,) + (1,) * k.ndim)
    left = np.exp(-k * ends)
    return np.asarray(waste.decaying_kg * (left[:-1] - left[1:]) * waste.methane_frac * METHANE_PER_CARBON)


def emitted(generated_kg: Array, captured: float | Array, oxidised: float | Array) -> Array:
    """Return the methane that reaches the air: what is not caught, less what the cover oxidises (IPCC equation 3.1)."""
    return np.asarray(generated_kg * (1.0 - np.asarray(captured)) * (1.0 - np.asarray(oxidised)))


def waste_type(kind: str) -> str:
    """Return what a material would count as in a landfill: food, garden, paper or wood; empty when it would not go there."""
    return next((row["waste_type"] for row in table("waste_types") if row["slug"] == kind), "")


def evaporation_mm(mean_temp_c: Sequence[float]) -> float:
    """Return the potential evaporation of a year from monthly mean temperatures, mm.

    Source
    ------
    Holdridge 1967 (recalled): 58.93 mm for each degree of mean biotemperature.
    """
    return coefficient("holdridge_pet").value * float(np.mean(np.clip(mean_temp_c, 0.0, 30.0)))


def climate_zone(mean_temp_c: Sequence[float], rain_mm: Sequence[float]) -> Zone:
    """Return the IPCC's climate zone of a place from its monthly normals.

    Source
    ------
    IPCC 2006, volume 5, Table 3.3: tropical above 20 °C; dry or wet by rain against evaporation, or against 1000 mm.
    """
    rain = math.fsum(rain_mm)
    if float(np.mean(mean_temp_c)) > coefficient("tropical_temp").value:
        return "tropical_wet" if rain >= coefficient("tropical_rain").value else "tropical_dry"
    return "boreal_temperate_wet" if rain > evaporation_mm(mean_temp_c) else "boreal_temperate_dry"
