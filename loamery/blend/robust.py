"""Blends that keep their bounds in most draws: scenario constraints, with a small budget of draws given up.

A draw is one possible truth about all the ingredients at once. ``grow`` adds the draws that a blend misses, mildest
first, until few enough are missed: the dearest draws are never paid for. Where that fails ``spare`` looks for the
blend that misses the fewest (a reweighted linear programme), and ``budget`` settles it with one yes-or-no per draw.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loamery.blend.program import EXACT, Problem, minimise

Array = NDArray[np.float64]
Optimise = Callable[[Array], Array | None]
"""Takes extra rows (at least zero) and returns the best unknowns, or None when there are none."""
SAFETIES = (2.0, 4.0)  # standard errors by which the blend is made better than asked, the next when one was too few
ROUNDS = 60
REWEIGHTS = 5
NEAR = 2  # times the allowance: within it an integer programme may still find a blend
TIME_LIMIT_S = 0.3
SOME_DRAWS = 250  # draws among which those to give up are chosen
FEW_DRAWS = 60  # draws given a yes-or-no each; more would take too long


@dataclass(frozen=True)
class Robust:
    """A blend and in how many of the solving draws it misses a bound."""

    x: Array | None
    missed: int
    draws: int

    @property
    def kept(self) -> float:
        """Return the share of the solving draws in which every bound holds."""
        return 1.0 - self.missed / self.draws


def allowance(draws: int, keep: float, unknowns: int, safety: float = SAFETIES[0]) -> int:
    """Return how many solving draws may be missed so that fresh draws are kept at the share asked.

    Notes
    -----
    Each unknown can be fitted to about one draw, which says nothing of fresh ones; sampling adds its spread.
    """
    spread = math.sqrt(draws * keep * (1.0 - keep))
    return max(0, math.floor(draws * (1.0 - keep) - safety * spread - unknowns))


def misses(rows: Array, x: Array) -> Array:
    """Return how far each draw is missed, shape (draws,); zero or less is kept.

    Parameters
    ----------
    rows : shape (draws, limits, unknowns), at least zero when held.
    """
    return np.asarray(-(rows @ x).min(axis=1) - EXACT * float(np.abs(x).max()))


def hold(problem: Problem, optimise: Optimise, keep: float, safety: float = SAFETIES[0]) -> Robust:
    """Return the best blend that keeps its bounds in a share of draws, or the one that comes nearest.

    Parameters
    ----------
    optimise : the objective with all fixed limits, given extra rows.
    keep : share of fresh draws to hold, e.g. 0.9.
    safety : standard errors by which the solving draws are held better than that.

    Returns
    -------
    Robust; ``x`` is None when not even the fixed limits have an answer.
    """
    rows = problem.scenario_rows()
    if not len(rows):
        return Robust(optimise(np.zeros((0, problem.size))), 0, 1)
    allowed = allowance(len(rows), keep, problem.size, safety)
    tried = [grow(rows, optimise, allowed)]
    if tried[0].x is None or tried[0].missed > allowed:
        fewest = _over(rows, spare(problem, rows[:SOME_DRAWS], allowed * SOME_DRAWS // len(rows)))
        if allowed < fewest.missed <= NEAR * allowed:
            fewest = min(fewest, budget(problem, rows), key=lambda one: one.missed)
        tried += [fewest] * (not problem.whole) + [_for_draws_kept(rows, fewest, optimise)]
    fair = [one for one in tried if one.x is not None]
    good = [one for one in fair if one.missed <= allowed]
    if problem.whole and not good:
        counted = _over(rows, spare(problem, rows[:FEW_DRAWS], 0, whole=True))
        fair += [] if counted.x is None else [counted]
    # of those good enough the last one tried is the best by the objective
    return good[-1] if good else min(fair, key=lambda one: one.missed, default=tried[0])


def _for_draws_kept(rows: Array, found: Robust, optimise: Optimise) -> Robust:
    """Return the best blend that holds in all the draws in which another one holds."""
    if found.x is None:
        return found
    x = optimise(rows[misses(rows, found.x) <= 0].reshape(-1, rows.shape[2]))
    return _over(rows, Robust(x, len(rows), len(rows)))


def _over(rows: Array, found: Robust) -> Robust:
    """Return the same amounts with their misses counted over all of some draws."""
    missed = len(rows) if found.x is None else int((misses(rows, found.x) > 0).sum())
    return Robust(found.x, missed, len(rows))


def grow(rows: Array, optimise: Optimise, allowed: int) -> Robust:
    """Return a blend found by adding missed draws, mildest first, until at most ``allowed`` are missed."""
    inside = np.zeros(len(rows), dtype=bool)
    best = Robust(None, len(rows), len(rows))
    for _ in range(ROUNDS):
        x = optimise(rows[inside].reshape(-1, rows.shape[2]))
        if x is None:
            break
        short = misses(rows, x)
        missed = np.flatnonzero((short > 0) & ~inside)
        if best.x is None or len(missed) < best.missed:
            best = Robust(x, len(missed), len(rows))
        if len(missed) <= allowed:
            break
        mildest = missed[np.argsort(short[missed], kind="stable")]
        inside[mildest[: max(1, len(missed) - allowed)]] = True
    return best


def spare(problem: Problem, rows: Array, allowed: int, whole: bool = False) -> Robust:
    """Return amounts that miss few draws, by a linear programme whose weights lean towards giving up whole draws.

    Parameters
    ----------
    whole : amounts are whole vessels; slower, so that the draws to give up are chosen with parts of vessels first.
    """
    draws, sides, size = rows.shape
    fixed, rhs = problem.rows()
    weight, best = np.ones(draws), Robust(None, draws, draws)
    table = np.hstack([rows.reshape(-1, size), np.repeat(np.eye(draws), sides, axis=0)])
    table = np.vstack([np.hstack([fixed, np.zeros((len(rhs), draws))]), table])
    right = np.append(rhs, np.zeros(draws * sides))
    upper = np.append(problem.upper(), np.full(draws, math.inf))
    kinds = np.append(np.full(size - 1, whole), np.zeros(draws + 1, dtype=bool))
    for _ in range(REWEIGHTS):
        answer = minimise(np.append(np.zeros(size), weight), table, right, upper, kinds, TIME_LIMIT_S)
        if not answer.found:
            break
        x = answer.x[:size]
        short = np.maximum(misses(rows, x), 0.0)
        missed = int((short > 0).sum())
        if missed < best.missed or best.x is None:
            best = Robust(x, missed, draws)
        if missed <= allowed:
            break
        weight = 1.0 / (short + 0.1 * short[short > 0].mean())
        weight /= weight.mean()
    return best


def budget(problem: Problem, rows: Array) -> Robust:
    """Return amounts that miss the fewest of some draws, with one yes-or-no per draw (an integer programme)."""
    few = rows[:FEW_DRAWS]
    draws, sides, size = few.shape
    fixed, rhs = problem.rows()
    reach = _reach(problem, fixed, rhs)
    if reach is None:
        return Robust(None, len(rows), len(rows))
    # the most a row can be missed within reach: what a given-up draw may cost
    give = -np.minimum(few * reach, 0.0).sum(axis=2)
    table = np.hstack([few.reshape(-1, size), np.repeat(np.eye(draws), sides, axis=0) * give.reshape(-1, 1)])
    table = np.vstack([np.hstack([fixed, np.zeros((len(rhs), draws))]), table])
    right = np.append(rhs, np.zeros(draws * sides))
    upper = np.append(problem.upper(), np.ones(draws))
    whole = np.append(np.zeros(size, dtype=bool), np.ones(draws, dtype=bool))
    answer = minimise(np.append(np.zeros(size), np.ones(draws)), table, right, upper, whole, TIME_LIMIT_S)
    if not answer.found:
        return Robust(None, len(rows), len(rows))
    x = answer.x[:size]
    return Robust(x, int((misses(rows, x) > 0).sum()), len(rows))


def _reach(problem: Problem, fixed: Array, rhs: Array) -> Array | None:
    """Return the largest amount of each unknown that the fixed limits allow, None when there is no end to one."""
    most = np.zeros(problem.size)
    for i in range(problem.size):
        cost = np.zeros(problem.size)
        cost[i] = -1.0
        answer = minimise(cost, fixed, rhs, problem.upper())
        if not answer.found:
            return None
        most[i] = answer.x[i]
    return most
