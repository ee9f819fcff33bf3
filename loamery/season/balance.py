"""What every bed gets, checked with all draws: the plan was made for a few of them, the bands are told of all."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from loamery.finding import Band
from loamery.season.actions import least_kg
from loamery.season.decision import Solution
from loamery.season.mulch import cover_wanted, mulch_looks
from loamery.season.on_beds import ceiling_contents
from loamery.season.plan import BedPlan, Given, Reached
from loamery.season.problem import Problem
from loamery.season.spreads import Spread
from loamery.uncertain import band
from loamery.units import from_si

Array = NDArray[np.float64]
G_M2 = "g/m2"
ROUNDING = 1e-6


def bed_plans(problem: Problem, solution: Solution) -> tuple[BedPlan, ...]:
    """Return what every bed needs and gets, with bands from all draws."""
    return tuple(_bed_plan(problem, solution, index) for index in range(len(problem.needs)))


def _bed_plan(problem: Problem, solution: Solution, index: int) -> BedPlan:
    need = problem.needs[index]
    given, totals = [], {key: np.zeros(problem.garden.info.draws) for key in "NPK"}
    weekly = np.zeros(problem.calendar.weeks)
    for row, spread in enumerate(problem.spreads):
        kg_m2 = solution.spread[row, index] / need.bed.area_m2
        weekly += kg_m2 @ spread.n_kg_kg[index]
        if solution.spread[row, index].sum() > least_kg(spread.stuff):
            draws = {"N": spread.release.on_bed(index).nitrogen(kg_m2)[-1]}
            draws |= {key: getattr(spread.release, key.lower()) * kg_m2.sum() for key in "PK"}
            for key, value in draws.items():
                totals[key] = totals[key] + value
            given.append(_given(spread, float(solution.spread[row, index].sum()), draws))
    soil_n = from_si(need.n_soil_kg_m2, G_M2)
    missing = {"N": solution.short_n[:, index, -1]} | {
        key: solution.short_pk[:, index, column] for column, key in enumerate("PK")
    }
    return BedPlan(
        need_data=need,
        need={key: from_si(value, G_M2) for key, value in need.need_kg_m2.items()},
        soil_n=tuple(float(one) for one in soil_n),
        demand_n=tuple(float(one) for one in from_si(need.n_demand_kg_m2, G_M2)),
        supply_n=tuple(float(one) for one in from_si(weekly, G_M2)),
        supplied={key: _g_band(value) for key, value in totals.items()},
        short={key: float(value.mean()) for key, value in missing.items()},
        worst={key: _worst_tenth(value) for key, value in missing.items()},
        given=tuple(sorted(given, key=lambda one: -one.n.median)),
        ceilings=_reached(problem, solution, index),
        cover_share=_cover_share(problem, solution, index),
    )


def _worst_tenth(values: Array) -> float:
    """Return the mean of the worst tenth, of the single worst at least."""
    return float(np.sort(values)[-max(round(values.size / 10), 1) :].mean())


def _given(spread: Spread, kg: float, draws: dict[str, Array]) -> Given:
    n, p, k = (_g_band(draws[key]) for key in "NPK")
    return Given(spread.stuff.id, spread.stuff.name, spread.use, kg, n, p, k)


def _g_band(draws_kg_m2: Array) -> Band:
    return band(from_si(draws_kg_m2, G_M2), G_M2)


def _reached(problem: Problem, solution: Solution, index: int) -> tuple[Reached, ...]:
    need = problem.needs[index]
    kg_m2 = solution.spread[:, index, :].sum(axis=1) / need.bed.area_m2
    out = []
    for key, ceiling in need.ceilings.items():
        loads = [(amount, spread.held(key)) for amount, spread in zip(kg_m2, problem.spreads, strict=True)]
        known = [(amount, draws) for amount, draws in loads if draws is not None and amount > 0]
        total = sum((amount * draws for amount, draws in known), start=np.zeros(problem.garden.info.draws))
        counted = float(kg_m2 @ ceiling_contents(problem, key))
        kept = float((total <= ceiling.limit_kg_m2 * (1.0 + ROUNDING)).mean())
        out.append(Reached(ceiling, counted, _g_band(total), kept))
    return tuple(sorted(out, key=lambda one: -one.share))


def _cover_share(problem: Problem, solution: Solution, index: int) -> float:
    """Return the share of the wanted mulch that lies there, over the weeks that want it."""
    wanted = cover_wanted(problem)[index][mulch_looks(problem.calendar.weeks)]
    return float(1.0 - (solution.bare[index] * wanted).sum() / wanted.sum()) if wanted.any() else 1.0
