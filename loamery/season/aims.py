"""What is best, in order: feed the crops in the expected and in the worst draws, then spare work and money, then keep
free material in use. Each aim is minimised in its turn while those before it give way by no more than their slack."""

from __future__ import annotations

import numpy as np

from loamery.garden.model import Garden
from loamery.reference import coefficient
from loamery.season.columns import Columns
from loamery.season.matrix import INFINITY, Array, Index, Matrix
from loamery.season.on_beds import GRAMS
from loamery.season.problem import Problem
from loamery.season.programme import work
from loamery.season.work import batch_hours

LEAST_NEED_G = 0.1
"""A bed's need counts as at least this, g per m2, so that a bed without need does not divide by zero."""


def set_aims(m: Matrix, c: Columns, p: Problem) -> None:
    """Add the aims ``shortfall``, ``cost`` and ``kept_away`` to a season's programme."""
    _shortfall(m, c, p)
    _cost(m, c, p)
    _kept_away(m, c, p)


def bed_weights(p: Problem) -> Array:
    """Return the share of each bed in the garden's area."""
    return np.asarray(p.area_m2 / p.area_m2.sum())


def need_scale(p: Problem, key: str) -> Array:
    """Return each bed's need in g per m2, at least a little."""
    return np.array([max(need.need_kg_m2[key] * GRAMS, LEAST_NEED_G) for need in p.needs])


def slack(aim: str, value: float) -> float:
    """Return by how much an aim may become worse for the sake of the next: a share of it and a fixed part."""
    return coefficient(f"slack_{aim}_share").value * abs(value) + coefficient(f"slack_{aim}").value


def hour_worth(garden: Garden) -> float:
    """Return the money that an hour of work weighs as much as."""
    return garden.info.hour_worth or coefficient("hour_worth").value


def _shortfall(m: Matrix, c: Columns, p: Problem) -> None:
    """Minimise expected loss and its worst tail (conditional value at risk), bare soil, and compost missing next spring.

    Source
    ------
    Rockafellar and Uryasev 2000, J. Risk 2(3):21, eq. 17 (recalled): CVaR = min over a of a + E[max(loss - a, 0)] / (1 - level).
    """
    count, aim = p.scenarios.count, "shortfall"
    loss, over = m.columns("loss", (count,)), m.columns("over", (count,))
    edge = m.columns("edge", (1,), lower=-INFINITY)
    rows = m.rows("loss", (count,), lower=0.0, upper=0.0)
    m.put(rows, loss)
    for column, weight in _missing(c, p):
        m.put(rows.reshape(-1, *[1] * (column.ndim - 1)), column, -weight)
    tail = m.rows("tail", (count,), lower=0.0)
    m.put(tail, over)
    m.put(tail, edge, 1.0)
    m.put(tail, loss, -1.0)
    part, beyond = coefficient("tail_weight").value, 1.0 - coefficient("tail_level").value
    m.aim(aim, loss, (1.0 - part) / count)
    m.aim(aim, edge, part)
    m.aim(aim, over, part / (beyond * count))
    bare = coefficient("weight_cover").value * bed_weights(p) / max(c.bare.shape[1], 1)
    m.aim(aim, c.bare, bare[:, None])
    _next_spring(m, c, p)


def _missing(c: Columns, p: Problem) -> list[tuple[Index, Array]]:
    """Return blocks of what is missing or too much in a scenario, and the points a gram per m2 of it counts."""
    weight = {key: coefficient(f"weight_{key}").value for key in ("n", "p", "k", "surplus")}
    beds = bed_weights(p)
    nitrogen = weight["n"] * beds / need_scale(p, "N") / len(p.checks)
    others = np.stack([weight[key.lower()] * beds / need_scale(p, key) for key in "PK"], axis=1)
    return [
        (c.short_n, np.broadcast_to(nitrogen[:, None], c.short_n.shape)),
        (c.short_pk, np.broadcast_to(others, c.short_pk.shape)),
        (c.surplus, np.broadcast_to(weight["surplus"] * beds / need_scale(p, "N"), c.surplus.shape)),
    ]


def spring_target_kg(p: Problem) -> float:
    """Return the compost that next spring's beds want of what the garden makes itself, kg; 0 where it makes none."""
    makes = bool(p.recipes or p.standing) or p.castings is not None
    return coefficient("next_spring_compost").value * float(p.area_m2.sum()) if makes else 0.0


def _next_spring(m: Matrix, c: Columns, p: Problem) -> None:
    """Price compost that next spring lacks: what is left in store at the end and what becomes ready after it counts."""
    target = max(spring_target_kg(p) - p.so_far.spring_kg, 0.0)
    lacking = m.columns("lacking", (1,), where=target > 0)
    row = m.rows("next_spring", (1,), lower=target, where=target > 0)
    m.put(row, lacking)
    m.put(row, c.stock[len(p.raw) :, -1])
    late = (1.0 - p.ready[:, :, -1]) * p.compost_yield[:, None]
    m.put(row.reshape(1, 1, 1), c.build, late[:, None, :])
    if p.castings is not None:
        m.put(row.reshape(1, 1, 1), c.feed, p.castings_yield[:, None, None] * (1.0 - p.castings_ready[:, -1]))
    m.aim("shortfall", lacking, coefficient("weight_next_spring").value / max(target, 1.0))


def _cost(m: Matrix, c: Columns, p: Problem) -> None:
    """Minimise hours: of work, turnings after the season included, of weeding and watering bare soil, and for money."""
    for column, hours in work(c, p):
        m.aim("cost", column, hours)
    m.aim("cost", c.start, batch_hours(p.calendar.weeks).sum(axis=1))
    per_look = coefficient("hours_bare_soil").value * p.area_m2 / max(c.bare.shape[1], 1)
    m.aim("cost", c.bare, per_look[:, None])
    worth = hour_worth(p.garden)
    m.aim("cost", c.take, np.array([one.price_per_kg / worth for one in p.lots]).reshape(-1, 1))
    m.aim("cost", c.sacks, np.array([one.price / worth for one in p.goods]))


def _kept_away(m: Matrix, c: Columns, p: Problem) -> None:
    """Minimise free material that is not put to use: less what is taken, and again what is left lying at the end or thrown away."""
    free = np.array([one.price_per_kg == 0 for one in p.lots], dtype=float)
    m.aim("kept_away", c.take, -free.reshape(-1, 1))
    m.aim("kept_away", c.stock[: len(p.raw), -1], 1.0)
    m.aim("kept_away", c.thrown, 1.0)
