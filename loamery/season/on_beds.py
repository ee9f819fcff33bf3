"""What has to hold on beds: nutrients in every scenario, ceilings, depth of mulch and cover."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from loamery.reference import coefficient
from loamery.season.allowed import is_ash
from loamery.season.columns import TINY, Columns, looked_at
from loamery.season.matrix import Array, Matrix
from loamery.season.mulch import mulch_looks
from loamery.season.problem import Problem, depth_m_per_kg_m2
from loamery.season.spreads import Spread
from loamery.units import to_si

GRAMS = 1.0 / to_si(1.0, "g")
NOTHING = 1e-9
"""Nitrogen below this, kg per kg, is none: far below what a solver tells apart."""


def hold_on_beds(m: Matrix, c: Columns, p: Problem) -> None:
    """Add every row about beds."""
    _totals(m, c, p)
    _mulch(m, c, p)
    _nitrogen(m, c, p)
    _phosphorus_and_potassium(m, c, p)
    _ceilings(m, c, p)


def _totals(m: Matrix, c: Columns, p: Problem) -> None:
    """Define what a bed gets of a spread in the season, kg per m2."""
    rows = m.rows("total", c.total.shape, lower=0.0, upper=0.0, where=c.total >= 0)
    m.put(rows, c.total)
    m.put(rows[:, :, None], c.spread, -1.0 / p.area_m2[:, None])


def _mulch(m: Matrix, c: Columns, p: Problem) -> None:
    """Hold the standing depth to each material's limit and the bed's, and ask for cover on growing crops."""
    looks = mulch_looks(p.calendar.weeks)
    laid = [s for s, one in enumerate(p.spreads) if one.use == "mulch"]
    wanted, most = coefficient("mulch_depth_target").value, coefficient("standing_mulch_max").value
    shape = (len(p.needs), len(looks))
    limits = np.array([p.spreads[s].depth_limit_m for s in laid]).reshape(-1, 1, 1)
    open_looks, lies = p.open_weeks[looks], _lying(p, laid, looks)
    layer = m.rows("layer", (len(laid), *shape), upper=np.maximum(limits, lies), where=(limits < most) & open_looks)
    standing = m.rows("mulch", shape, upper=np.maximum(most, lies.sum(axis=0)), where=open_looks)
    cover = m.rows("cover", shape, lower=wanted, where=looked_at(p) > 0)
    m.put(cover, c.bare, wanted)
    for row, s in enumerate(laid):
        one = p.spreads[s]
        depth = _depth(p, one, looks)
        for rows in (layer[row], standing, cover):
            m.put(rows[:, :, None], c.spread[s][:, None, :], depth)


def _depth(p: Problem, one: Spread, looks: NDArray[np.int64]) -> Array:
    """Return the depth that a kilogram laid in each week still has at each look, m, (beds, looks, weeks)."""
    return np.asarray(depth_m_per_kg_m2(one.stuff) * one.left[:, looks].T / p.area_m2[:, None, None])


def _lying(p: Problem, laid: Sequence[int], looks: NDArray[np.int64]) -> Array:
    """Return how deep what was laid already lies at each look, m, (mulches, beds, looks)."""
    depths = [(_depth(p, p.spreads[s], looks) * p.so_far.spread[s][:, None, :]).sum(axis=2) for s in laid]
    return np.array(depths).reshape(len(laid), len(p.needs), len(looks))


def _nitrogen(m: Matrix, c: Columns, p: Problem) -> None:
    """Let supply and shortfall together meet demand at each check of each scenario, and price nitrogen far beyond need.

    Rows are in g per m2, so that the solver's tolerances stay far below the figures.
    """
    asked = nitrogen_asked(p)
    rows = m.rows("nitrogen", asked.shape, lower=asked, upper=asked)
    m.put(rows, c.short_n)
    m.put(rows, c.lying, -1.0)
    so_far = np.triu(np.ones((len(p.checks), len(p.checks))))
    m.put(rows[:, :, None, :], c.washed[:, :, :, None], -so_far)
    _caught_up(m, c, p)
    _washed(m, c, p)
    most = np.maximum(asked[:, :, -1], 0.0) + coefficient("n_supply_surplus_max").value
    over = m.rows("surplus", most.shape, upper=most)
    m.put(over, c.surplus, -1.0)
    for s, one in enumerate(p.spreads):
        # axes: scenarios, beds, weeks spread, checks
        given = _given_by_checks(p, s, one) * (GRAMS / p.area_m2[:, None, None])
        m.put(rows[:, :, None, :], c.spread[s][None, :, :, None], given)
        m.put(over[:, :, None], c.spread[s][None], given[..., -1])


def _caught_up(m: Matrix, c: Columns, p: Problem) -> None:
    """Let crops take up what they missed no faster than they can; what a crop lacks at its harvest stays lacking."""
    course = np.diff(np.array([need.n_demand_kg_m2[p.checks] for need in p.needs]), axis=1, prepend=0.0)
    most = (p.scenarios.catch_up - 1.0)[:, None, None] * course * GRAMS
    rows = m.rows("catch_up", most.shape, lower=-most)
    m.put(rows, c.short_n)
    m.put(rows[:, :, 1:], c.short_n[:, :, :-1], -1.0)


def _washed(m: Matrix, c: Columns, p: Problem) -> None:
    """Let drainage carry away what lies mineral beyond what lies there with nothing spread, mean of both ends."""
    since = np.concatenate([[0], p.checks[:-1] + 1])
    share = -np.expm1(-np.add.reduceat(p.scenarios.drained, since, axis=2))
    bare = p.scenarios.lying_kg_m2[:, :, p.checks] * GRAMS
    before = np.concatenate([bare[:, :, :1] * 0.0, bare[:, :, :-1]], axis=2)
    rows = m.rows("washed", share.shape, lower=-0.5 * share * (before + bare))
    m.put(rows, c.washed)
    m.put(rows, c.lying, -0.5 * share)
    m.put(rows[:, :, 1:], c.lying[:, :, :-1], -0.5 * share[:, :, 1:])


def _given_by_checks(p: Problem, s: int, one: Spread) -> Array:
    """Return what a kilogram spread in each week has given by each check, kg, (scenarios, beds, weeks spread, checks)."""
    arrives = p.scenarios.arrives[:, s]
    on_soils = [
        np.tensordot(soil.amount[:, p.scenarios.picked] * arrives, soil.patterns[:, :, p.checks], axes=(0, 0))
        for soil in one.release.soils
    ]
    given = np.stack(on_soils, axis=1)[:, one.release.soil_of]
    return np.asarray(np.where(np.abs(given) > NOTHING, given, 0.0))


def nitrogen_asked(p: Problem) -> Array:
    """Return what crops ask beyond the soil's own nitrogen by each check, g per m2, shape (scenarios, beds, checks)."""
    demand = np.array([need.n_demand_kg_m2 for need in p.needs])
    return np.asarray((demand - p.scenarios.soil_n_kg_m2)[:, :, p.checks] * GRAMS)


def _phosphorus_and_potassium(m: Matrix, c: Columns, p: Problem) -> None:
    need = np.array([[one.need_kg_m2[key] * GRAMS for key in "PK"] for one in p.needs])
    rows = m.rows("need", c.short_pk.shape, lower=need)
    m.put(rows, c.short_pk)
    for column, key in enumerate("pk"):
        per_kg = np.array([getattr(one.release, key)[p.scenarios.picked] for one in p.spreads]) * p.scenarios.arrives.T
        m.put(rows[:, None, :, column], c.total[None], per_kg.T[:, :, None] * GRAMS)


def _ceilings(m: Matrix, c: Columns, p: Problem) -> None:
    """Hold totals of phosphorus, potassium, salts and trace elements to each bed's ceilings, and rates to theirs.

    What was spread already may be above a ceiling: then nothing more fits. What a kilogram holds is taken at the share of draws in which a ceiling is to hold. What no bed could reach even at full depth
    is left out: it cannot bind, and rows cost time.
    """
    dug = np.array([float(one.use == "dig_in") for one in p.spreads])
    ash = np.array([float(is_ash(one.stuff)) for one in p.spreads])
    done = _done_kg_m2(p)
    for name, counts, rate in (("dug_in", dug, "compost_rate_max"), ("ash", ash, "wood_ash_rate_max")):
        most = np.maximum(coefficient(rate).value, counts @ done)
        rows = m.rows(name, (len(p.needs),), upper=most, where=counts.any())
        m.put(rows, c.total, counts[:, None])
    for key in dict.fromkeys(key for need in p.needs for key in need.ceilings):
        per_kg = ceiling_contents(p, key)
        limits = ceiling_limits(p, key, per_kg)
        if _most_kg_m2(p, per_kg) > limits.min():
            scale = 1.0 / max(float(limits.max()), TINY)
            rows = m.rows(f"ceiling_{key}", limits.shape, upper=p.room.get(f"ceiling_{key}", 1.0) * scale * limits)
            m.put(rows, c.total, scale * per_kg[:, None])


def _done_kg_m2(p: Problem) -> Array:
    """Return what was spread already, kg per m2, (spreads, beds)."""
    return np.asarray(p.so_far.spread.sum(axis=2) / p.area_m2)


def ceiling_limits(p: Problem, key: str, per_kg: Array) -> Array:
    """Return the most each bed may get of what a ceiling is for, kg per m2, (beds,); its row stands in parts of the greatest.

    Parameters
    ----------
    per_kg : of the same ceiling, as `ceiling_contents` returns it.
    """
    return np.maximum([need.ceilings[key].limit_kg_m2 for need in p.needs], per_kg @ _done_kg_m2(p))


def ceiling_contents(p: Problem, key: str) -> Array:
    """Return what a kilogram of each spread counts as against a ceiling, kg per kg, (spreads,)."""
    level = coefficient("ceiling_confidence").value
    held = [one.held(key) for one in p.spreads]
    return np.array([0.0 if draws is None else float(np.quantile(draws, level)) for draws in held])


def _most_kg_m2(p: Problem, per_kg: Array) -> float:
    """Return the most of a substance that any bed could receive: full mulch renewed as it decays, and all worked in."""
    mulch = dug_in = 0.0
    for held, spread in zip(per_kg, p.spreads, strict=True):
        if spread.use == "dig_in":
            dug_in = max(dug_in, held)
        else:
            least_left = max(float(spread.left[spread.left > 0].min()), TINY)
            mulch = max(mulch, held / depth_m_per_kg_m2(spread.stuff) / least_left)
    depth, rate = coefficient("standing_mulch_max").value, coefficient("compost_rate_max").value
    return mulch * depth + dug_in * rate
