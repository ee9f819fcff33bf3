"""What every bed gets, checked with all draws: the solver decided on medians, the bands are told afterwards."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from loamery.bed.release import net_nitrogen_share, release_progress
from loamery.finding import Band
from loamery.reference import coefficient
from loamery.season.actions import LEAST_KG
from loamery.season.mulch import cover_wanted, mulch_looks
from loamery.season.plan import BedPlan, Given, Reached
from loamery.season.problem import Problem, Spread
from loamery.season.programme import Solution
from loamery.uncertain import band, from_range
from loamery.units import from_si

Array = NDArray[np.float64]
G_M2 = "g/m2"


def bed_plans(problem: Problem, solution: Solution) -> tuple[BedPlan, ...]:
    """Return what every bed needs and gets, with bands from the draws of composition, decay and availability."""
    factors = {spread.name: _release_draws(problem, spread) for spread in problem.spreads}
    return tuple(_bed_plan(problem, solution, index, factors) for index in range(len(problem.needs)))


def _release_draws(problem: Problem, spread: Spread) -> dict[str, Array]:
    """Return draws of N (at full release, per kg organic nitrogen share), P and K available from a kg."""
    stuff, info = spread.stuff, problem.garden.info
    decay = stuff.decay
    draws = stuff.dry.size
    share = from_range("lognormal", decay.decomposed_low, decay.decomposed_high, decay.decomposed_frac)
    decomposed = np.minimum(share.draw(draws, info.seed, "decay", stuff.kind), 1.0)
    drawn = replace(decay, decomposed_frac=1.0)
    net = net_nitrogen_share(drawn, stuff.c_to_n, on_surface=spread.use == "mulch") * decomposed
    return {"n_organic": stuff.n_organic * net} | {
        key: getattr(stuff, key) * _available(problem, key, getattr(decay, f"{key}_share"), draws) for key in ("p", "k")
    }


def _available(problem: Problem, key: str, share: float, draws: int) -> Array:
    """Return draws of the share of P or K that is available; its spread is that of the general coefficient."""
    one = coefficient(f"{key}_availability")
    spread = from_range("lognormal", one.low, one.high, one.value)
    factor = spread.draw(draws, problem.garden.info.seed, "availability", key) / one.value
    return np.minimum(share * factor, 1.0)


def _bed_plan(problem: Problem, solution: Solution, index: int, factors: dict[str, dict[str, Array]]) -> BedPlan:
    need = problem.needs[index]
    given, totals = [], {key: np.zeros(problem.garden.info.draws) for key in "NPK"}
    weekly = np.zeros(problem.calendar.weeks)
    for row, spread in enumerate(problem.spreads):
        kg = solution.spread[row, index]
        weekly += (kg[:, None] * spread.n_kg_kg).sum(axis=0) / need.bed.area_m2
        if kg.sum() > LEAST_KG:
            draws = _given_draws(problem, spread, kg / need.bed.area_m2, factors[spread.name])
            for key, value in draws.items():
                totals[key] = totals[key] + value
            given.append(_given(spread, float(kg.sum()), draws))
    supplied = {key: _g_band(value) for key, value in totals.items()}
    soil_n = from_si(need.n_soil_kg_m2, G_M2)
    short = {"N": float(solution.short_n[index, -1])}
    short |= {key: float(solution.short_pk[index, column]) for column, key in enumerate("PK")}
    return BedPlan(
        need_data=need,
        need={key: from_si(value, G_M2) for key, value in need.need_kg_m2.items()},
        soil_n=tuple(float(one) for one in soil_n),
        demand_n=tuple(float(one) for one in from_si(need.n_demand_kg_m2, G_M2)),
        supply_n=tuple(float(one) for one in from_si(weekly, G_M2)),
        supplied=supplied,
        short=short,
        given=tuple(sorted(given, key=lambda one: -one.n.median)),
        ceilings=_reached(problem, solution, index),
        cover_share=_cover_share(problem, solution, index),
    )


def _given_draws(problem: Problem, spread: Spread, kg_m2: Array, factor: dict[str, Array]) -> dict[str, Array]:
    on_surface = spread.use == "mulch"
    progress = release_progress(spread.stuff.decay, problem.calendar.temp_c, on_surface=on_surface)[:, -1]
    released = float((kg_m2 * progress).sum())
    total = float(kg_m2.sum())
    return {
        "N": spread.stuff.n_mineral * total + factor["n_organic"] * released,
        "P": factor["p"] * total * spread.decayed,
        "K": factor["k"] * total,
    }


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
        loads = [(amount, _held(spread, key)) for amount, spread in zip(kg_m2, problem.spreads, strict=True)]
        known = [(amount, draws) for amount, draws in loads if draws is not None and amount > 0]
        total = sum((amount * draws for amount, draws in known), start=np.zeros(problem.garden.info.draws))
        out.append(Reached(ceiling, float(sum(a * np.median(d) for a, d in known)), _g_band(total)))
    return tuple(sorted(out, key=lambda one: -one.share))


def _held(spread: Spread, key: str) -> Array | None:
    stuff = spread.stuff
    draws = {"P": stuff.p, "K": stuff.k, "salt": stuff.salts}.get(key, stuff.trace.get(key))
    return None if draws is None else draws * spread.reaching(key)


def _cover_share(problem: Problem, solution: Solution, index: int) -> float:
    """Return the share of the wanted mulch that lies there, over the weeks that want it."""
    wanted = cover_wanted(problem)[index][mulch_looks(problem.calendar.weeks)]
    return float(1.0 - (solution.bare[index] * wanted).sum() / wanted.sum()) if wanted.any() else 1.0
