"""What every bed needs and may take: demand over the weeks, the soil's own share, ceilings."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loamery.bed.ceilings import Ceiling, nutrient_ceiling, salt_ceiling, trace_ceilings
from loamery.bed.demand import Demand, crop_demand, soil_nitrogen, uptake_share
from loamery.bed.release import warmth
from loamery.bed.soil import UNTESTED, SoilTest, soil_om_default
from loamery.garden.model import Bed, Garden, Planting
from loamery.reference import coefficient, table
from loamery.season.calendar import Calendar

Array = NDArray[np.float64]


@dataclass(frozen=True)
class BedNeed:
    """One bed's needs in one season, all per m2 of the whole bed.

    Parameters
    ----------
    n_demand_kg_m2 : cumulative nitrogen the crops have taken up by the end of each week, shape (weeks,).
    n_soil_kg_m2 : cumulative nitrogen the soil's own organic matter has released, shape (weeks,).
    need_kg_m2 : nitrogen, phosphorus and potassium to be supplied over the season, by key; N before the soil's share.
    removal_kg_m2 : P and K the harvests carry off.
    ceilings : by key.
    """

    bed: Bed
    test: SoilTest
    plantings: tuple[Planting, ...]
    demands: tuple[Demand, ...]
    n_demand_kg_m2: Array
    n_soil_kg_m2: Array
    need_kg_m2: Mapping[str, float]
    removal_kg_m2: Mapping[str, float]
    ceilings: Mapping[str, Ceiling]

    def class_of(self, key: str) -> str:
        """Return the soil test class of P or K, the assumed one when untested."""
        return self.test.nutrient_class(key) or UNTESTED


def bed_need(garden: Garden, bed: Bed, test: SoilTest, calendar: Calendar) -> BedNeed:
    """Return what a bed needs and may take.

    Parameters
    ----------
    test : the bed's soil test, empty if untested.
    """
    plantings = tuple(one for one in garden.plantings if one.bed == bed.id and overlaps(one, calendar))
    demands = tuple(crop_demand(one) for one in plantings)
    removal = {key: _sum(plantings, [getattr(one, f"{key.lower()}_kg_m2") for one in demands]) for key in "PK"}
    curves = [
        uptake_weeks(one, calendar) * one.share * demand.n_kg_m2 for one, demand in zip(plantings, demands, strict=True)
    ]
    demand_n = np.sum(curves, axis=0) if curves else np.zeros(calendar.weeks)
    need = {"N": float(demand_n[-1])}
    for key in "PK":
        found = test.nutrient_class(key) or UNTESTED
        need[key] = removal[key] * coefficient(f"suff_factor_{key.lower()}_{found}").value
    ceilings = {key: nutrient_ceiling(key, test, removal[key]) for key in "PK"}
    ceilings["salt"] = salt_ceiling(bed, test, plantings)
    ceilings |= trace_ceilings(_cumulative_key(garden.info.jurisdiction))
    return BedNeed(
        bed=bed,
        test=test,
        plantings=plantings,
        demands=demands,
        n_demand_kg_m2=demand_n,
        n_soil_kg_m2=soil_weeks(test, calendar),
        need_kg_m2=need,
        removal_kg_m2=removal,
        ceilings=ceilings,
    )


def overlaps(planting: Planting, calendar: Calendar) -> bool:
    """Tell whether a planting stands in the bed during the season."""
    return calendar.week_of(planting.harvested) >= 0 and calendar.week_of(planting.planted) < calendar.weeks


def uptake_weeks(planting: Planting, calendar: Calendar) -> Array:
    """Return the share of its uptake a planting has reached at the end of each week, less what came before week 0."""
    length = max((planting.harvested - planting.planted).days, 1)
    ends = np.array([(calendar.monday(week + 1) - planting.planted).days for week in range(-1, calendar.weeks)])
    share = uptake_share(ends / length)
    return np.asarray(share[1:] - share[0])


def soil_weeks(test: SoilTest, calendar: Calendar) -> Array:
    """Return the nitrogen the soil has released by the end of each week, kg per m2.

    Notes
    -----
    The season's published total is spread over the weeks by warmth.
    """
    return soil_nitrogen_by(test, calendar.temp_c)


def soil_nitrogen_by(test: SoilTest, temp_c: Array) -> Array:
    """Return the nitrogen a soil has released by the end of each week of a course of temperatures, kg per m2."""
    matter = test.value("organic_matter")
    if matter is None and (carbon := test.value("C")) is not None:
        matter = carbon / coefficient("carbon_in_organic_matter").value
    speed = warmth(temp_c)
    total = soil_nitrogen(soil_om_default() if matter is None else matter)
    return np.asarray(total * np.cumsum(speed) / max(float(speed.sum()), 1e-12))


def _sum(plantings: Sequence[Planting], values: Sequence[float]) -> float:
    return float(sum(one.share * value for one, value in zip(plantings, values, strict=True)))


def _cumulative_key(jurisdiction: str) -> str:
    row = next(row for row in table("jurisdictions") if row["key"] == jurisdiction)
    return row["cumulative_limits"].split(";")[0]
