"""What each bed gets when a plan is carried out in seasons that may come."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

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
    problem: Problem, laid: Sequence[Laid], years: Years, nitrogen: Sequence[tuple[Array, Array]]
) -> list[BedYear]:
    """Return what every bed gets, in the order of the problem's needs.

    Parameters
    ----------
    nitrogen : of each bed what the bed model found missing at each check (n, checks) and spare (n,), kg per m2.
    """
    speeds = Speeds(problem, years)
    out = []
    for bed in range(len(problem.needs)):
        there = [one for one in laid if one.bed == bed and one.held]
        out.append(_bed_year(problem, bed, there, years, speeds, nitrogen[bed]))
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
