"""The columns of a season's programme: everything that is decided, and what follows from it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loamery.season.matrix import INFINITY, Array, Index, Matrix
from loamery.season.mulch import cover_wanted, mulch_looks
from loamery.season.problem import Problem

TINY = 1e-9


@dataclass(frozen=True)
class Columns:
    """Numbers of the columns, by block; see the table of variables in docs/season.md."""

    take: Index
    buy: Index
    sacks: Index
    spread: Index
    build: Index
    start: Index
    feed: Index
    stock: Index
    thrown: Index
    total: Index
    short_n: Index
    lying: Index
    washed: Index
    short_pk: Index
    surplus: Index
    bare: Index


def season_columns(m: Matrix, p: Problem) -> Columns:
    """Add the columns of a season and return their numbers.

    Notes
    -----
    What the rules forbid, and weeks that are past, have no column; what was spread already, or fixed by hand, has one that is fixed.
    """
    weeks, beds, checks = p.calendar.weeks, len(p.needs), len(p.checks)
    count, now, done = p.scenarios.count, p.open_weeks, p.so_far.spread
    heaps, begun = (len(p.recipes), len(p.places), weeks), p.so_far.may_be_thrown(p.store_kg)
    places = np.array([len(place.heaps) for place in p.places], dtype=float).reshape(1, -1, 1)
    spoiled = p.so_far.spoiled(p.store_kg, np.array([int(one.storage_weeks) for one in p.stuffs]))
    used, most = p.spreading.any(axis=2), np.where(now & p.allowed, INFINITY, done)
    least = done if p.held is None else np.where(p.fixed, done + p.held, done)
    most = np.where(p.fixed, least, most)
    return Columns(
        take=m.columns("take", p.lot_kg.shape, upper=p.lot_kg, where=(p.lot_kg > 0) & now),
        buy=m.columns("buy", (len(p.goods), weeks), where=now),
        sacks=m.columns("sacks", (len(p.goods),), upper=[one.most for one in p.goods], whole=True),
        spread=m.columns("spread", p.allowed.shape, lower=least, upper=most, where=p.spreading),
        build=m.columns("build", heaps, where=p.buildable & now),
        start=m.columns("start", heaps, upper=places, where=p.buildable & now, whole=True),
        feed=m.columns("feed", (len(p.raw), len(p.garden.worm_beds), weeks), where=_eaten(p) & now),
        stock=m.columns("stock", (len(p.stuffs), weeks)),
        thrown=m.columns(
            "thrown", (len(p.stuffs),), lower=spoiled, upper=np.maximum(begun, spoiled), where=begun > TINY
        ),
        total=m.columns("total", used.shape, where=used),
        short_n=m.columns("short_n", (count, beds, checks)),
        lying=m.columns("lying", (count, beds, checks)),
        washed=m.columns("washed", (count, beds, checks)),
        short_pk=m.columns("short_pk", (count, beds, 2)),
        surplus=m.columns("surplus", (count, beds)),
        bare=m.columns("bare", (beds, len(mulch_looks(weeks))), upper=1.0, where=looked_at(p) > 0),
    )


def _eaten(p: Problem) -> NDArray[np.bool_]:
    return np.asarray(p.castings_yield > 0).reshape(-1, 1, 1)


def looked_at(p: Problem) -> Array:
    """Return 1 where a bed wants a mulch at a look, shape (beds, looks)."""
    return np.asarray(cover_wanted(p)[:, mulch_looks(p.calendar.weeks)])
