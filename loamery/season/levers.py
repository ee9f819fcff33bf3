"""What a changed plan is reckoned with, in plain medians: small enough to keep beside the plan and answer at once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loamery.garden.model import Use
from loamery.reference import coefficient
from loamery.season.mulch import cover_wanted, mulch_looks
from loamery.season.on_beds import ceiling_contents
from loamery.season.problem import Problem, depth_m_per_kg_m2
from loamery.season.work import spread_hours_per_kg
from loamery.units import from_si

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Way:
    """One way to use one stuff on beds, with what a kilogram gives.

    Parameters
    ----------
    n_g_kg : nitrogen available on each bed by the end of a week (column) when spread in a week (row), g per kg, (beds, weeks, weeks).
    p_g_kg, k_g_kg : available in the season, g per kg.
    left : share of a mulch still lying there, (weeks, weeks); depth_m_per_kg_m2 : of the fresh layer.
    depth_limit_m : most of it that may lie; mulch_fault : what more would do by the heap model, empty where it is as published.
    load_kg_kg : what a kilogram brings against each ceiling.
    allowed : weeks in which it may go on a bed, by bed id.
    """

    stuff: str
    stuff_name: str
    use: Use
    n_g_kg: Array
    p_g_kg: float
    k_g_kg: float
    left: Array
    depth_m_per_kg_m2: float
    depth_limit_m: float
    mulch_fault: str
    load_kg_kg: Mapping[str, float]
    allowed: Mapping[str, NDArray[np.bool_]]


@dataclass(frozen=True)
class Ground:
    """What one bed asks for and may take: g per m2 for needs, kg per m2 for ceilings.

    Parameters
    ----------
    n_asked_g_m2 : nitrogen asked of materials by the end of each week, negative where the soil gives more than is used.
    cover_looks : weeks at which a crop wants a mulch.
    """

    bed: str
    name: str
    area_m2: float
    n_asked_g_m2: Array
    need_g_m2: Mapping[str, float]
    ceilings_kg_m2: Mapping[str, float]
    cover_looks: NDArray[np.int64]


@dataclass(frozen=True)
class Levers:
    """Everything the effect of a change rests on.

    Parameters
    ----------
    checks : weeks at whose end nitrogen is held against need.
    offered_kg : by raw material, kg in each week; yields and readiness of castings per kg fed.
    done_kg : what lies on beds already and is no action of the plan, kg, shape (ways, beds, weeks).
    """

    ways: tuple[Way, ...]
    grounds: tuple[Ground, ...]
    checks: NDArray[np.int64]
    offered_kg: Mapping[str, Array]
    castings: str
    castings_yield: Mapping[str, float]
    castings_ready: Array
    hours_per_kg: float
    hours_most: float | None
    mulch_most_m: float
    mulch_wanted_m: float
    dug_in_most_kg_m2: float
    done_kg: Array

    def way(self, stuff: str, use: str) -> Way | None:
        """Return the way of a stuff and a use, None where there is none."""
        return next((one for one in self.ways if (one.stuff, one.use) == (stuff, use)), None)


def levers_of(problem: Problem) -> Levers:
    """Return what changes of a plan are reckoned with, from the season as arrays."""
    offered = {
        one.id: problem.lot_kg[np.flatnonzero(problem.lot_material == row)].sum(axis=0)
        for row, one in enumerate(problem.raw)
    }
    keys = dict.fromkeys(key for need in problem.needs for key in need.ceilings)
    contents = {key: ceiling_contents(problem, key) for key in keys}
    return Levers(
        ways=tuple(_way(problem, row, contents) for row in range(len(problem.spreads))),
        grounds=tuple(_ground(problem, index) for index in range(len(problem.needs))),
        checks=problem.checks,
        offered_kg=offered,
        castings=problem.castings.id if problem.castings else "",
        castings_yield={one.id: float(problem.castings_yield[row]) for row, one in enumerate(problem.raw)},
        castings_ready=problem.castings_ready,
        hours_per_kg=spread_hours_per_kg(),
        hours_most=problem.garden.info.hours_per_week,
        mulch_most_m=coefficient("standing_mulch_max").value,
        mulch_wanted_m=coefficient("mulch_depth_target").value,
        dug_in_most_kg_m2=coefficient("compost_rate_max").value,
        done_kg=problem.so_far.spread,
    )


def _way(problem: Problem, row: int, contents: Mapping[str, Array]) -> Way:
    one = problem.spreads[row]
    return Way(
        stuff=one.stuff.id,
        stuff_name=one.stuff.name,
        use=one.use,
        n_g_kg=np.asarray(from_si(one.n_kg_kg, "g")),
        p_g_kg=float(from_si(one.p_kg_kg, "g")),
        k_g_kg=float(from_si(one.k_kg_kg, "g")),
        left=one.left,
        depth_m_per_kg_m2=depth_m_per_kg_m2(one.stuff),
        depth_limit_m=one.depth_limit_m,
        mulch_fault=one.stuff.mulch_fault if one.use == "mulch" else "",
        load_kg_kg={key: float(per_kg[row]) for key, per_kg in contents.items()},
        allowed={need.bed.id: problem.allowed[row, index] for index, need in enumerate(problem.needs)},
    )


def _ground(problem: Problem, index: int) -> Ground:
    need = problem.needs[index]
    looks = mulch_looks(problem.calendar.weeks)
    return Ground(
        bed=need.bed.id,
        name=need.bed.name,
        area_m2=need.bed.area_m2,
        n_asked_g_m2=np.asarray(from_si(need.n_demand_kg_m2 - need.n_soil_kg_m2, "g/m2")),
        need_g_m2={key: float(from_si(value, "g/m2")) for key, value in need.need_kg_m2.items()},
        ceilings_kg_m2={key: one.limit_kg_m2 for key, one in need.ceilings.items()},
        cover_looks=looks[cover_wanted(problem)[index][looks] > 0],
    )
