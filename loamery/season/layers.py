"""What was laid on beds, and how deep it lies in seasons that may come."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from loamery.bed.release import mulch_left
from loamery.reference import coefficient
from loamery.season.mulch import mulch_looks
from loamery.season.problem import Problem
from loamery.season.years import Years

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Laid:
    """What was laid on one bed of one stuff, arrays of shape (n, weeks).

    Parameters
    ----------
    row, bed : of the problem's spreads and needs.
    held : kg of `mass` (as it lies), `dry`, `carbon`, `n_mineral`, `n_organic`, `p`, `k`, `salts`, and `trace X`.
    """

    row: int
    bed: int
    held: Mapping[str, Array]


class Speeds:
    """How a mulch decays in every season; the same for all beds, so it is kept."""

    def __init__(self, problem: Problem, years: Years) -> None:
        self.problem, self.years = problem, years
        self.kept: dict[str, Array] = years.fates.setdefault(("mulch left",), {})  # type: ignore[assignment]
        self.shares: dict[str, Array] = {}

    def decomposed(self, kind: str) -> Array:
        """Return draws of the share that decomposes in a season, (n,)."""
        if kind not in self.shares:
            self.shares[kind] = self.years.decomposed(kind)
        return self.shares[kind]

    def left(self, row: int) -> Array:
        """Return what is left of a mulch, shape (n, weeks, weeks)."""
        stuff = self.problem.spreads[row].stuff
        if stuff.kind not in self.kept:
            shares = zip(self.decomposed(stuff.kind), self.years.temp_c, strict=True)
            drawn = ((replace(stuff.decay, decomposed_frac=float(share)), temp_c) for share, temp_c in shares)
            self.kept[stuff.kind] = np.stack([mulch_left(decay, temp_c) for decay, temp_c in drawn])
        return self.kept[stuff.kind]


def fitted(problem: Problem, laid: Sequence[Laid], years: Years) -> list[Laid]:
    """Return what is laid when nobody lays a mulch deeper than it may be: the same share of every layer of that stuff."""
    speeds = Speeds(problem, years)
    out = list(laid)
    for bed in range(len(problem.needs)):
        there = [
            at for at, one in enumerate(out) if one.bed == bed and one.held and problem.spreads[one.row].use == "mulch"
        ]
        for at in there:
            deepest = depth_m(problem, out[at], years, speeds).max(axis=1)
            out[at] = _scaled(out[at], problem.spreads[out[at].row].depth_limit_m / np.maximum(deepest, 1e-9))
        if there:
            standing = sum((depth_m(problem, out[at], years, speeds) for at in there), np.zeros((1, 1))).max(axis=1)
            for at in there:
                out[at] = _scaled(out[at], coefficient("standing_mulch_max").value / np.maximum(standing, 1e-9))
    return out


def _scaled(one: Laid, share: Array) -> Laid:
    kept = np.minimum(share, 1.0)[:, None]
    return replace(one, held={key: value * kept for key, value in one.held.items()})


def depth_m(problem: Problem, one: Laid, years: Years, speeds: Speeds) -> Array:
    """Return how deep a mulch lies at every look, shape (n, looks), m."""
    stuff = years.raw.get(problem.spreads[one.row].stuff.id)
    density = stuff.density if stuff is not None else np.full(years.n, coefficient("compost_bulk_density").value)
    fresh = one.held["mass"] / density[:, None] / problem.needs[one.bed].bed.area_m2
    return np.asarray(np.einsum("nt,ntk->nk", fresh, speeds.left(one.row))[:, mulch_looks(problem.calendar.weeks)])
