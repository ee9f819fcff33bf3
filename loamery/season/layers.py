"""What was laid on beds, and how deep it lies in seasons that may come."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from loamery.bed.release import mulch_left, release_progress
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
    """Progress of release and decay of a spread in every season; the same for all beds, so it is kept."""

    def __init__(self, problem: Problem, years: Years) -> None:
        self.problem, self.years = problem, years
        self.kept: dict[tuple[str, str], tuple[Array, Array]] = years.fates.setdefault(("speeds",), {})  # type: ignore[assignment]
        self.shares: dict[str, Array] = {}

    def decomposed(self, kind: str) -> Array:
        """Return draws of the share that decomposes in a season, (n,)."""
        if kind not in self.shares:
            self.shares[kind] = self.years.decomposed(kind)
        return self.shares[kind]

    def of(self, row: int) -> tuple[Array, Array]:
        """Return progress and what is left of a mulch, each of shape (n, weeks, weeks)."""
        spread = self.problem.spreads[row]
        key = (spread.stuff.kind, spread.use)
        if key not in self.kept:
            decay, on_surface = spread.stuff.decay, spread.use == "mulch"
            temps, shares = self.years.temp_c, self.decomposed(spread.stuff.kind)
            progress = np.stack([release_progress(decay, one, on_surface=on_surface) for one in temps])
            changed = [replace(decay, decomposed_frac=float(share)) for share in shares]
            left = np.stack([mulch_left(one, temp) for one, temp in zip(changed, temps, strict=True)])
            self.kept[key] = progress, left
        return self.kept[key]


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
    left = speeds.of(one.row)[1]
    return np.asarray(np.einsum("nt,ntk->nk", fresh, left)[:, mulch_looks(problem.calendar.weeks)])
