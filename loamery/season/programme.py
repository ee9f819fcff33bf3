"""The season as a mixed-integer linear programme: what is decided and what has to hold.

Indices: l lot, g good, m raw material, q stuff (raw, compost, castings), s spread (a stuff and a use), b bed, t week, k nitrogen
check, r recipe, h heap places of one size, w worm bed, j scenario, i look at the mulch. Every block of rows has the name
under which docs/season.md describes it and `loamery.season.duals` gives its prices. Columns stand in columns.py, what has to hold
on beds in on_beds.py, what is best in aims.py.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loamery.errors import NoPlan
from loamery.reference import coefficient
from loamery.say import say
from loamery.season.columns import TINY, Columns, season_columns
from loamery.season.matrix import Array, Index, Matrix
from loamery.season.on_beds import GRAMS, hold_on_beds
from loamery.season.problem import Problem
from loamery.season.work import batch_hours, collect_hours_per_kg, handling_hours_per_kg, spread_hours_per_kg
from loamery.worms.published import feed_kg_per_week, nitrogen_lost_share


@dataclass(frozen=True)
class _Inflow:
    """What comes into store: stuff, week, the column it comes with, and kg for each unit of that column."""

    stuff: NDArray[np.int64]
    week: NDArray[np.int64]
    column: Index
    kg: Array


def season_matrix(problem: Problem) -> tuple[Matrix, Columns]:
    """Return the programme of a season without its aims.

    Raises
    ------
    NoPlan : nothing can be had in the season.
    """
    _refuse_idle(problem)
    m = Matrix()
    c = season_columns(m, problem)
    _stocks(m, c, problem)
    _sacks(m, c, problem)
    _heaps(m, c, problem)
    _worm_beds(m, c, problem)
    hold_on_beds(m, c, problem)
    _hands(m, c, problem)
    return m, c


def _refuse_idle(problem: Problem) -> None:
    """Raise when nothing can be had, or nothing that can be had may be used."""
    something = problem.lot_kg.any() or problem.goods or problem.store_kg.any() or problem.so_far.came.any()
    if not something:
        raise NoPlan(
            say("No donor gives anything in this season, nothing is in store and nothing is for sale."),
            conflict=[say("supplies.csv holds no amount above zero within the season")],
            remedies=[
                say("add a supply with kg_per_week above zero"),
                say("check the dates of the supplies and of the season"),
            ],
        )
    if not problem.spreads:
        raise NoPlan(
            say("Nothing that this garden has may be spread on a bed."),
            conflict=[say("the uses of the materials in materials.csv")],
            remedies=[
                say("allow a material the use mulch or dig_in"),
                say("add a heap or a worm bed for what may not lie raw"),
            ],
        )


def _inflow(c: Columns, p: Problem) -> _Inflow:
    weeks, parts = np.arange(p.calendar.weeks), []
    for column, material in ((c.take, p.lot_material), (c.buy, p.good_material)):
        stuff, week = np.broadcast_arrays(material[:, None], weeks)
        parts.append((stuff, week, column, np.ones(column.shape)))
    ready = _first(p.ready)
    stuff = len(p.raw) + np.arange(len(p.recipes))[:, None, None]
    kg = p.compost_yield.reshape(-1, 1, 1)
    parts.append(tuple(np.broadcast_arrays(stuff, ready[:, None, :], c.build, kg)))  # type: ignore[arg-type]
    if p.castings is not None:
        castings = len(p.raw) + len(p.recipes)
        week, kg = _first(p.castings_ready)[None, None, :], p.castings_yield[:, None, None]
        parts.append(tuple(np.broadcast_arrays(castings, week, c.feed, kg)))  # type: ignore[arg-type]
    stuff, week, column, kg = (np.concatenate([one[n].ravel() for one in parts]) for n in range(4))
    kept = (column >= 0) & (week < p.calendar.weeks)
    return _Inflow(stuff[kept], week[kept], column[kept], kg[kept])


def _first(ready: Array) -> NDArray[np.int64]:
    """Return the first week something is ready; the number of weeks when it is not within the season."""
    return np.asarray(np.where(ready.any(axis=-1), ready.argmax(axis=-1), ready.shape[-1]), dtype=np.int64)


def _stocks(m: Matrix, c: Columns, p: Problem) -> None:
    """Hold stock = stock before + what comes - what is used, and use everything before it spoils."""
    shape = (len(p.stuffs), p.calendar.weeks)
    came = p.so_far.came.copy()
    came[:, 0] += p.store_kg
    flow = came - p.so_far.went
    rows, inflow = m.rows("stock", shape, lower=flow, upper=flow), _inflow(c, p)
    m.put(rows, c.stock)
    m.put(rows[:, 1:], c.stock[:, :-1], -1.0)
    m.put(rows[inflow.stuff, inflow.week], inflow.column, -inflow.kg)
    if p.so_far.week < p.calendar.weeks:
        m.put(rows[:, p.so_far.week], c.thrown)
    m.put(rows[p.spread_stuff][:, None, :], c.spread)
    m.put(rows[: len(p.raw), None, None, :], c.build[None], p.shares[:, :, None, None])
    m.put(rows[: len(p.raw), None, :], c.feed)
    kept = np.array([int(one.storage_weeks) for one in p.stuffs])
    spoils = kept < p.calendar.weeks
    until = np.cumsum(came, axis=1)
    young = until - np.stack([_later(row, weeks) for row, weeks in zip(until, kept, strict=True)])
    keeps = m.rows("keeps", shape, upper=young, where=spoils[:, None] & p.open_weeks)
    m.put(keeps, c.stock)
    for age in range(int(kept[spoils].max(initial=0))):
        fresh = (inflow.week + age < p.calendar.weeks) & (age < kept[inflow.stuff])
        m.put(keeps[inflow.stuff[fresh], inflow.week[fresh] + age], inflow.column[fresh], -inflow.kg[fresh])


def stocks_of(p: Problem, decided: Mapping[str, Array]) -> Array:
    """Return what lies in store at the end of each week, kg, (stuffs, weeks), from what was decided.

    Parameters
    ----------
    decided : the blocks ``take``, ``buy``, ``spread``, ``build``, ``feed`` and ``thrown`` of a `Decision`; summed up here, so that
        what comes and goes balances to the last digit and not to the solver's tolerance.
    """
    flow = p.so_far.came - p.so_far.went
    flow[:, 0] += p.store_kg
    np.add.at(flow, p.lot_material, decided["take"])
    np.add.at(flow, p.good_material, decided["buy"])
    np.subtract.at(flow, p.spread_stuff, decided["spread"].sum(axis=1))
    flow[: len(p.raw)] -= p.shares @ decided["build"].sum(axis=1) + decided["feed"].sum(axis=1)
    if p.so_far.week < p.calendar.weeks:
        flow[:, p.so_far.week] -= decided["thrown"]
    made = decided["build"].sum(axis=1) * p.compost_yield[:, None]
    finishes = np.diff(p.ready, axis=2, prepend=0.0)
    flow[len(p.raw) : len(p.raw) + len(p.recipes)] += np.einsum("ra,rat->rt", made, finishes)
    if p.castings is not None:
        fed = p.castings_yield @ decided["feed"].sum(axis=1)
        flow[len(p.raw) + len(p.recipes)] += fed @ np.diff(p.castings_ready, axis=1, prepend=0.0)
    return np.asarray(np.cumsum(flow, axis=1))


def _later(row: Array, weeks: int) -> Array:
    """Return a row moved later by some weeks, zeros before."""
    return np.concatenate([np.zeros(min(weeks, row.size)), row[: max(row.size - weeks, 0)]])


def _sacks(m: Matrix, c: Columns, p: Problem) -> None:
    """Buy no more than whole sacks hold."""
    rows = m.rows("sacks", (len(p.goods),), upper=0.0)
    m.put(rows[:, None], c.buy)
    m.put(rows, c.sacks, [-one.sack_kg for one in p.goods])


def _heaps(m: Matrix, c: Columns, p: Problem) -> None:
    """Hold each batch between the smallest that heats and what the heap holds, one batch at a time in a place."""
    shape, weeks = c.build.shape, p.calendar.weeks
    volume = np.array([(1 + one.water_kg_kg) / one.density_kg_m3 for one in p.recipes]).reshape(-1, 1, 1)
    capacity = np.array([place.capacity_m3 for place in p.places]).reshape(1, -1, 1)
    least = np.minimum(capacity, coefficient("heap_min_volume").value)
    holds = m.rows("heap_holds", shape, upper=0.0, where=p.buildable & p.open_weeks)
    m.put(holds, c.build, volume)
    m.put(holds, c.start, -capacity)
    heats = m.rows("heap_heats", shape, lower=0.0, where=p.buildable & p.open_weeks)
    m.put(heats, c.build, volume)
    m.put(heats, c.start, -least)
    count = np.array([len(place.heaps) for place in p.places], dtype=float).reshape(-1, 1)
    free = np.maximum(count - p.so_far.occupied, 0.0)
    one_at_a_time = m.rows("one_batch_at_a_time", (len(p.places), weeks), upper=free, where=p.open_weeks)
    age = np.arange(weeks)[None, :] - np.arange(weeks)[:, None]
    active = (age >= 0) & (age < coefficient("heap_active_weeks").value)
    m.put(one_at_a_time[None, :, None, :], c.start[:, :, :, None], active[None, None])


def _worm_beds(m: Matrix, c: Columns, p: Problem) -> None:
    most = np.array([feed_kg_per_week(one) for one in p.garden.worm_beds]).reshape(-1, 1)
    m.put(m.rows("worms_eat", (len(most), p.calendar.weeks), upper=most)[None], c.feed)
    for key in ("nitrogen", "p", "k") if p.castings is not None else ():
        rows = m.rows(f"castings_{key}", (len(most), p.calendar.weeks), lower=0.0)
        m.put(rows[None], c.feed, castings_spare(p, key)[:, None, None])


def castings_spare(p: Problem, key: str) -> Array:
    """Return what a kilogram of each feed holds beyond what castings of it are counted to hold, g per kg, (raw,).

    Castings count as those of the usual mixture, whatever is fed; so no week's feed may bring less than that.
    """
    mixture = dict(p.castings.made_of) if p.castings is not None else {}
    share = np.array([mixture.get(one.id, 0.0) for one in p.raw])
    kept = 1.0 - nitrogen_lost_share() if key == "nitrogen" else 1.0
    brings = kept * np.array([float(np.median(getattr(one, key))) for one in p.raw])
    counted = p.castings_yield * (share @ brings) / (share @ p.castings_yield)
    spare = np.where(p.castings_yield > 0, (brings - counted) * GRAMS, 0.0)
    return np.where(np.abs(spare) > TINY, spare, 0.0)


def _hands(m: Matrix, c: Columns, p: Problem) -> None:
    """Hold weekly hours to the hands there are, where the garden names them."""
    if p.garden.info.hours_per_week is not None:
        rows = m.rows("hands", (p.calendar.weeks,), upper=p.garden.info.hours_per_week, where=p.open_weeks)
        for column, hours in work(c, p):
            m.put(np.broadcast_to(rows, column.shape), column, hours)
        m.put(rows, c.start[:, :, :, None], batch_hours(p.calendar.weeks)[:, :-1])


def work(c: Columns, p: Problem) -> list[tuple[Index, Array]]:
    """Return blocks of columns and the hours each unit of them asks for in its own week; batches are told apart."""
    per_take = np.array([collect_hours_per_kg(p, lot) for lot in range(len(p.lots))]).reshape(-1, 1)
    return [
        (c.take, np.broadcast_to(per_take, c.take.shape)),
        (c.buy, np.full(c.buy.shape, handling_hours_per_kg())),
        (c.spread, np.full(c.spread.shape, spread_hours_per_kg())),
    ]
