"""What crops need: uptake over a planting, spread over its weeks by a logistic curve."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from loamery.garden.model import Planting
from loamery.reference import coefficient, table
from loamery.reference.lookup import Figure, figure_or, need_figure
from loamery.units import to_si

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Demand:
    """What one planting takes up.

    Parameters
    ----------
    n_kg_m2, p_kg_m2, k_kg_m2 : over the whole planting, kg per m2 of the planted share.
    yield_kg_m2 : fresh yield it rests on.
    figures : published figures used, by name.
    legume : whether part of the nitrogen comes from the air.
    """

    crop: str
    n_kg_m2: float
    p_kg_m2: float
    k_kg_m2: float
    yield_kg_m2: float
    figures: dict[str, Figure]
    legume: bool


def crop_name(slug: str) -> str:
    """Return a crop's name in words."""
    return next(row["name"] for row in table("crops") if row["slug"] == slug)


def crop_demand(planting: Planting) -> Demand:
    """Return what a planting needs.

    Returns
    -------
    Nitrogen as whole-crop uptake (removal in the harvest divided by the harvest index; a legume asks for the share it
    does not fix), phosphorus and potassium as removal in the harvest, all kg/m2.

    Source
    ------
    crop_values.csv (removal: USDA SR28; harvest index, yields: as marked there).
    """
    figures = {
        name: need_figure("crop_values", planting.crop, name)
        for name in ("yield", "removal_N", "removal_P", "removal_K")
    }
    figures["n_harvest_index"] = figure_or("crop_values", planting.crop, "n_harvest_index", "n_harvest_index_default")
    crop_yield = planting.yield_kg_m2 or to_si(figures["yield"].value, "kg/m2")
    taken = {key: crop_yield * to_si(figures[f"removal_{key}"].value, figures[f"removal_{key}"].unit) for key in "NPK"}
    legume = next(row["legume"] == "1" for row in table("crops") if row["slug"] == planting.crop)
    asked = 1.0 - coefficient("legume_n_fixed_share").value if legume else 1.0
    return Demand(
        crop=planting.crop,
        n_kg_m2=taken["N"] / figures["n_harvest_index"].value * asked,
        p_kg_m2=taken["P"],
        k_kg_m2=taken["K"],
        yield_kg_m2=crop_yield,
        figures=figures,
        legume=legume,
    )


def uptake_share(season_share: ArrayLike) -> Array:
    """Return the share of its nutrients a crop has taken up after a share of its time in the bed.

    Parameters
    ----------
    season_share : 0 at planting, 1 at the last harvest; values outside are clipped.

    Returns
    -------
    Share from 0 to 1, same shape.

    Source
    ------
    Logistic in time, u = (L(x) - L(0)) / (L(1) - L(0)); slope and midpoint in coefficients.csv.
    """
    slope, middle = coefficient("uptake_logistic_slope").value, coefficient("uptake_logistic_midpoint").value
    x = np.clip(np.asarray(season_share, dtype=np.float64), 0.0, 1.0)

    def logistic(at: ArrayLike) -> Array:
        return np.asarray(1.0 / (1.0 + np.exp(-slope * (np.asarray(at) - middle))))

    start, end = logistic(0.0), logistic(1.0)
    return np.asarray((logistic(x) - start) / (end - start))


def soil_nitrogen(organic_matter_frac: float) -> float:
    """Return the nitrogen a soil's own organic matter releases in one growing season.

    Parameters
    ----------
    organic_matter_frac : kg per kg dry soil.

    Returns
    -------
    kg N per m2 and season.

    Source
    ------
    coefficients.csv, soil_n_supply_per_percent_som (10 lb N per acre for each per cent).
    """
    per_percent = to_si(coefficient("soil_n_supply_per_percent_som").value, "g/m2")
    return per_percent * organic_matter_frac / to_si(1.0, "%")
