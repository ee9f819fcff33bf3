"""What each bed gets when a plan is carried out in seasons that may come."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from loamery.bed.release import net_nitrogen_share, warmth
from loamery.reference import coefficient
from loamery.season.layers import Laid, Speeds, depth_m
from loamery.season.mulch import cover_wanted, mulch_looks
from loamery.season.problem import Problem
from loamery.season.years import Years

Array = NDArray[np.float64]
WASHES = ("k", "salts")
"""What a mulch gives to the soil at once, however far it has decayed."""


@dataclass(frozen=True, eq=False)
class BedYear:
    """One bed over the season, in seasons that may come.

    Parameters
    ----------
    missing_n_kg_m2 : nitrogen crops lack on their course at each check, shape (n, checks).
    spare_n_kg_m2 : nitrogen that nobody took up: washed out, or left at the end, (n,).
    p_kg_m2, k_kg_m2 : available in the season, shape (n,).
    load_kg_m2 : totals that reach the soil, by ceiling key (``P``, ``K``, ``salt``, trace elements), each (n,).
    layers_m : deepest layer of each mulch, by row of the problem's spreads, (n,). standing_m : deepest in all, (n,).
    covered : share of the wanted cover that lies there, (n,).
    dug_in_kg_m2 : worked in, (n,).
    need_factor : of P and K over what the plan takes for needed, (n,); 1 where the soil is tested.
    """

    missing_n_kg_m2: Array
    spare_n_kg_m2: Array
    p_kg_m2: Array
    k_kg_m2: Array
    load_kg_m2: Mapping[str, Array]
    layers_m: Mapping[int, Array]
    standing_m: Array
    covered: Array
    dug_in_kg_m2: Array
    need_factor: Mapping[str, Array]


def bed_years(
    problem: Problem, laid: Sequence[Laid], years: Years, nitrogen: Sequence[tuple[Array, Array]] | None = None
) -> list[BedYear]:
    """Return what every bed gets, in the order of the problem's needs.

    Parameters
    ----------
    nitrogen : of each bed what the bed model found missing and spare; by published factors of release when None.
    """
    speeds = Speeds(problem, years)
    out = []
    for bed in range(len(problem.needs)):
        there = [one for one in laid if one.bed == bed and one.held]
        known = nitrogen[bed] if nitrogen is not None else _by_factors(problem, bed, there, years, speeds)
        out.append(_bed_year(problem, bed, there, years, speeds, known))
    return out


def _bed_year(
    problem: Problem, bed: int, laid: Sequence[Laid], years: Years, speeds: Speeds, nitrogen: tuple[Array, Array]
) -> BedYear:
    need, n = problem.needs[bed], years.n
    area = need.bed.area_m2
    p, k, dug = np.zeros(n), np.zeros(n), np.zeros(n)
    loads = {key: np.zeros(n) for key in need.ceilings}
    for one in laid:
        spread = problem.spreads[one.row]
        on_surface = spread.use == "mulch"
        decayed = speeds.decomposed(spread.stuff.kind) if on_surface else np.ones(n)
        p += one.held["p"].sum(axis=1) * spread.stuff.decay.p_share * years.factor("p_availability") * decayed / area
        k += one.held["k"].sum(axis=1) * spread.stuff.decay.k_share * years.factor("k_availability") / area
        for key in loads:
            loads[key] += _load(one, key) * (1.0 if _key(key) in WASHES else decayed) / area
        dug += 0.0 if on_surface else one.held["mass"].sum(axis=1) / area
    layers, standing = _depths(problem, laid, years, speeds)
    return BedYear(
        missing_n_kg_m2=nitrogen[0],
        spare_n_kg_m2=nitrogen[1],
        need_factor={key: _soil_draw(years, need.bed.id, key) for key in "PK"},
        p_kg_m2=p,
        k_kg_m2=k,
        load_kg_m2=loads,
        layers_m={row: depth.max(axis=1) for row, depth in layers.items()},
        standing_m=standing.max(axis=1),
        covered=_covered(problem, bed, standing),
        dug_in_kg_m2=dug,
    )


def _by_factors(problem: Problem, bed: int, laid: Sequence[Laid], years: Years, speeds: Speeds) -> tuple[Array, Array]:
    """Return nitrogen missing at each check and spare at the end by published factors of release, kg per m2."""
    need = problem.needs[bed]
    soil = _soil(need.n_soil_kg_m2, problem.calendar.temp_c, years) * _soil_draw(years, need.bed.id, "n")[:, None]
    given = soil + sum((_released(one, speeds) for one in laid), np.zeros_like(soil)) / need.bed.area_m2
    missing = np.maximum(need.n_demand_kg_m2[problem.checks] - given[:, problem.checks], 0.0)
    return missing, np.maximum(given[:, -1] - need.n_demand_kg_m2[-1], 0.0)


def _released(one: Laid, speeds: Speeds) -> Array:
    """Return the nitrogen available by the end of each week, kg, shape (n, weeks)."""
    spread = speeds.problem.spreads[one.row]
    progress = speeds.of(one.row)[0]
    organic, carbon = one.held["n_organic"], one.held["carbon"]
    c_to_n = carbon / np.maximum(organic + one.held["n_mineral"], 1e-12)
    whole = replace(spread.stuff.decay, decomposed_frac=1.0)
    share = net_nitrogen_share(whole, c_to_n, on_surface=spread.use == "mulch")
    gain = organic * share * speeds.decomposed(spread.stuff.kind)[:, None]
    return np.asarray(np.einsum("nt,ntk->nk", gain, progress) + np.cumsum(one.held["n_mineral"], axis=1))


def _soil(plan_kg_m2: Array, plan_temp_c: Array, years: Years) -> Array:
    """Return the soil's own nitrogen in warmer and colder seasons, shape (n, weeks)."""
    usual = float(warmth(plan_temp_c).sum())
    speed = np.cumsum(warmth(years.temp_c), axis=1) / max(usual, 1e-12)
    return np.asarray(speed * float(plan_kg_m2[-1]) * years.factor("soil_n_supply_per_percent_som")[:, None])


def _soil_draw(years: Years, bed: str, key: str) -> Array:
    drawn = years.soils.get(bed)
    return np.ones(years.n) if drawn is None else drawn[key]


def _key(key: str) -> str:
    return {"P": "p", "K": "k", "salt": "salts"}.get(key, f"trace {key}")


def _load(one: Laid, key: str) -> Array:
    held = one.held.get(_key(key))
    return np.zeros(1) if held is None else held.sum(axis=1)


def _depths(problem: Problem, laid: Sequence[Laid], years: Years, speeds: Speeds) -> tuple[dict[int, Array], Array]:
    """Return the depth of each mulch at every look, and of all together, shape (n, looks), m."""
    mulches = [one for one in laid if problem.spreads[one.row].use == "mulch"]
    layers = {one.row: depth_m(problem, one, years, speeds) for one in mulches}
    looks = len(mulch_looks(problem.calendar.weeks))
    return layers, np.asarray(sum(layers.values(), np.zeros((years.n, looks))))


def _covered(problem: Problem, bed: int, standing_m: Array) -> Array:
    wanted = cover_wanted(problem)[bed][mulch_looks(problem.calendar.weeks)]
    if not wanted.any():
        return np.ones(standing_m.shape[0])
    share = np.minimum(standing_m / coefficient("mulch_depth_target").value, 1.0)
    return np.asarray((share * wanted).sum(axis=1) / wanted.sum())
