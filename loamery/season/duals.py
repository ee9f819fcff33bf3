"""What every limit of a plan costs: duals of the programme with its whole numbers held at their best.

For an aim ``shortfall`` (points) or ``cost`` (hours) `shadow_prices` tells, for each block of rows by name and in the block's own
shape, by how much the aim would change if the row's side were one unit higher; for the upper bounds of columns likewise (so
``take`` says what one more kilogram from a donor in a week would be worth: a negative price is what it would save). Shapes:
``stock`` (stuffs, weeks), ``nitrogen`` (scenarios, beds, checks) in g per m2, ``need`` (scenarios, beds, 2), ``ceiling_P`` (beds,) and so on, in parts of the
largest limit. A side that is not reached has the price 0.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loamery.season.aims import set_aims, slack
from loamery.season.decision import Solution
from loamery.season.problem import Problem
from loamery.season.programme import season_matrix
from loamery.season.solver import Engine

Array = NDArray[np.float64]
SECONDS = 60.0


@dataclass(frozen=True)
class ShadowPrices:
    """Prices of an aim.

    Parameters
    ----------
    aim : ``shortfall`` or ``cost``. value : of the aim, with the whole numbers of the plan.
    rows : by name of a block of rows, in its shape: change of the aim for one more unit of the side.
    columns : by name of a block of columns, in its shape: change of the aim for one more unit of the bound it lies at.
    """

    aim: str
    value: float
    rows: Mapping[str, Array]
    columns: Mapping[str, Array]


def shadow_prices(problem: Problem, solution: Solution, aim: str = "shortfall") -> ShadowPrices:
    """Return what each limit of a solved season costs under an aim.

    Parameters
    ----------
    aim : ``shortfall``, or ``cost`` (with the shortfall held within its slack).
    """
    matrix, columns = season_matrix(problem)
    set_aims(matrix, columns, problem)
    engine = Engine(matrix, time_limit_s=SECONDS)
    if aim == "cost":
        first = matrix.cost("shortfall")
        reached = solution.turns["shortfall"]
        engine.hold(first, reached + slack("shortfall", reached))
    fixed = np.zeros(matrix.shape[1])
    for name in ("start", "sacks"):
        block = matrix.block(name)
        fixed[block[block >= 0]] = getattr(solution, name)[block >= 0]
    found = engine.prices(matrix.cost(aim), fixed)
    blocks = {name: matrix.read(name, found.columns) for name in ("take", "buy", "spread", "build", "start", "sacks", "feed", "bare")}  # fmt: skip
    return ShadowPrices(aim, found.value, matrix.read_rows(found.rows), blocks)
