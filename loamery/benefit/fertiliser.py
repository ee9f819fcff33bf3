"""What the same plant food would cost in the shop: the cheapest mix of fertilisers the grower can buy."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loamery.garden.model import Fertiliser

Array = NDArray[np.float64]
KEYS = ("N", "P", "K")


@dataclass(frozen=True)
class Bought:
    """The cheapest mix.

    Parameters
    ----------
    cost : of it. kg : of each fertiliser by id, only what is bought.
    worth : what one more kg of each nutrient would cost, N, P, K as elements.
    lacking : nutrients that no fertiliser on the list holds; they are not priced.
    """

    cost: float
    kg: Mapping[str, float]
    worth: Mapping[str, float]
    lacking: tuple[str, ...]


def cheapest(need_kg: Mapping[str, float], shop: Sequence[Fertiliser]) -> Bought:
    """Return the cheapest mix of fertilisers that gives at least the nutrients needed.

    Parameters
    ----------
    need_kg : N, P and K as elements; below zero counts as none.

    Notes
    -----
    A linear programme: least sum of price times kg, with each nutrient at least as needed; solved by HiGHS.
    """
    from scipy.optimize import linprog

    table = np.array([one.shares for one in shop]).reshape(-1, 3).T
    need = np.array([max(need_kg.get(key, 0.0), 0.0) for key in KEYS])
    have = table.max(axis=1, initial=0.0) > 0.0
    lacking = tuple(key for key, held, much in zip(KEYS, have, need, strict=True) if not held and much > 0.0)
    if not have.any() or not need[have].any():
        return Bought(0.0, {}, dict.fromkeys(KEYS, 0.0), lacking)
    done = linprog([one.price_per_kg for one in shop], A_ub=-table[have], b_ub=-need[have], method="highs")
    worth = dict.fromkeys(KEYS, 0.0)
    worth |= {key: float(-dual) for key, dual in zip(np.array(KEYS)[have], done.ineqlin.marginals, strict=True)}
    kg = {one.id: float(much) for one, much in zip(shop, done.x, strict=True) if much > 1e-6}
    return Bought(float(done.fun), kg, worth, lacking)


def cost_draws(need_kg: Mapping[str, Array], shop: Sequence[Fertiliser], most: int = 200) -> Array:
    """Return the cost of the cheapest mix for each draw of the nutrients, shape (draws,), at most so many of them."""
    count = min(most, min(len(one) for one in need_kg.values()))
    return np.array([cheapest({key: float(one[at]) for key, one in need_kg.items()}, shop).cost for at in range(count)])
