"""What a season decides, and what the programme found about it.

A `Decision` is all that a simulator needs beside the `Problem` to replay a season: also a plan made by hand is one.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
AIMS = ("shortfall", "cost", "kept_away")
"""What is minimised, in this order: what crops lack (points: 1 is a garden that gets nothing), work and money (hours),
free material that is not put to use (kg)."""


@dataclass(frozen=True)
class Decision:
    """What people do, in kg as received, by week.

    Parameters
    ----------
    take : collected, shape (lots, weeks). buy : bought by the sack, (goods, weeks).
    spread : laid on beds, (spreads, beds, weeks).
    build : put into heaps without water, (recipes, heap places, weeks); start : batches begun, same shape, whole numbers.
    feed : given to worms, (raw, worm beds, weeks).
    """

    take: Array
    buy: Array
    spread: Array
    build: Array
    start: Array
    feed: Array


@dataclass(frozen=True)
class Solution(Decision):
    """The best decision found, with what it leaves short and how good it is proven to be.

    Parameters
    ----------
    stock : lying there at the end of each week, kg, (stuffs, weeks); thrown : of what is there when the plan begins, what
        spoils before it finds a use, kg, (stuffs,).
    sacks : bought, whole numbers, (goods,).
    short_n : nitrogen missing at each check, g per m2, (scenarios, beds, checks). short_pk : P and K, (scenarios, beds, 2).
    surplus : nitrogen beyond need and room at the end, g per m2, (scenarios, beds).
    loss : of each scenario, points, (scenarios,); lacking : compost missing next spring, kg.
    bare : share of the wanted mulch that is missing, (beds, looks).
    values : by aim, of this decision.
    turns, bounds : by aim, in its own turn, with the aims before it held: the value reached, and what no plan can beat. Later
        aims may then use up the slack, so `values` may lie a little above `turns`.
    status : in HiGHS's words, of the first aim that was not proven.
    """

    stock: Array
    thrown: Array
    sacks: Array
    short_n: Array
    short_pk: Array
    surplus: Array
    loss: Array
    lacking: float
    bare: Array
    values: Mapping[str, float]
    turns: Mapping[str, float]
    bounds: Mapping[str, float]
    status: str

    @property
    def objective(self) -> float:
        """Return the first aim, reached in its own turn: expected and worst-tail shortfall, points."""
        return self.turns["shortfall"]

    @property
    def bound(self) -> float:
        """Return what no plan can beat in the first aim."""
        return self.bounds["shortfall"]

    @property
    def gaps(self) -> Mapping[str, float]:
        """Return by aim how much better another plan may at most be, in its turn."""
        return {aim: max(self.turns[aim] - self.bounds[aim], 0.0) for aim in self.turns}

    @property
    def gap(self) -> float:
        """Return how much better another plan may at most be in the first aim, points."""
        return self.gaps["shortfall"]
