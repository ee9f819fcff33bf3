"""How thick a mulch may be, from few runs and remembered: for those who ask it of many materials, as a season's plan does."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from loamery.finding import Band
from loamery.heap.matter import Part, fines_of, stuff_draws
from loamery.heap.mulch_layers import DEPTHS_M, REASONS, Layers, Site, crossing
from loamery.heap.mulch_limit import site_of
from loamery.heap.spec import Stuff
from loamery.reference import coefficient
from loamery.uncertain import band

DRAWS, REMEMBERED = 9, 256


@dataclass(frozen=True)
class GreatestDepth:
    """How thick a mulch may be, in short.

    Parameters
    ----------
    depth : greatest depth, m, with its 90 % band; never more than was asked for.
    reason : which fault comes first in most runs: ``airless``, ``heats``, ``seals``, or ``none`` up to the greatest asked for.
    share : of runs in which it does.
    fault : which fault comes first in most of those runs that have one; ``none`` where none has.
    """

    depth: Band
    reason: str
    share: float
    fault: str


def greatest_depth(
    parts: Sequence[Part],
    air_c: float = 20.0,
    month_mm: float | None = None,
    *,
    most_m: float = DEPTHS_M[-1],
    draws: int = DRAWS,
    seed: int = 1,
) -> GreatestDepth:
    """Return how thick a mulch of a material or mix may be, judged as `mulch_limit` does.

    Parameters
    ----------
    parts : the materials with their masses; only their proportions count.
    air_c : mean air temperature while it lies fresh.
    month_mm : rain of a month then; `mulch_month_rain` when None.
    most_m : no layer is thicker; thicker ones are not run.

    Raises
    ------
    InputError : a number out of bounds, or a material that lacks a figure.

    Notes
    -----
    Each draw halves the row of depths until it stands between one that passes and one that does not: a fault is taken to stay at
    every depth beyond that at which it comes. What was asked before is answered from memory.
    """
    site, stuff = site_of(air_c, draws, None, month_mm), tuple(stuff_draws(parts, draws, seed))
    thickest = min(int(np.searchsorted(DEPTHS_M, most_m)), len(DEPTHS_M) - 1) + 1
    by_fault = np.array(_searched(stuff, fines_of(parts), site, seed, thickest))
    found = np.minimum(by_fault.min(axis=0), most_m)
    first = np.where(found >= min(most_m, DEPTHS_M[-1]), len(REASONS), by_fault.argmin(axis=0))
    shares = np.bincount(first, minlength=len(REASONS) + 1) / draws
    most, faults = int(shares.argmax()), shares[: len(REASONS)]
    fault = REASONS[int(faults.argmax())] if faults.any() else "none"
    return GreatestDepth(band(found, "m"), (*REASONS, "none")[most], float(shares[most]), fault)


@lru_cache(maxsize=REMEMBERED)
def _searched(
    stuff: tuple[Stuff, ...], fines: float, site: Site, seed: int, thickest: int
) -> tuple[tuple[float, ...], ...]:
    """Return the depth at which each fault comes, m, by fault and draw; right for the fault that comes first.

    Parameters
    ----------
    thickest : how many of DEPTHS_M are tried.
    """
    layers = Layers(stuff, fines, site, seed)
    seals = crossing(layers.standing_m(), coefficient("mulch_ponding").value)
    most_days, most_rise = coefficient("mulch_airless_days").value, coefficient("mulch_rise_max").value
    days, rise = np.zeros((2, len(stuff), len(DEPTHS_M)))
    # places in the row of depths: the deepest that passes, and the first that does not; past where it seals nothing is run
    passes = np.full(len(stuff), -1)
    fails = np.minimum(np.searchsorted(DEPTHS_M, seals, side="right") + 1, thickest)
    while (wide := np.flatnonzero(fails - passes > 1)).size:
        middle = (passes[wide] + fails[wide]) // 2
        found = layers.run(list(zip(wide.tolist(), middle.tolist(), strict=True)))
        days[wide, middle], rise[wide, middle] = found.airless_days, found.rise_k
        bad = (found.airless_days > most_days) | (found.rise_k > most_rise)
        fails[wide[bad]], passes[wide[~bad]] = middle[bad], middle[~bad]
    depths = (crossing(days, most_days), crossing(rise, most_rise), seals)
    return tuple(tuple(float(one) for one in row) for row in depths)
