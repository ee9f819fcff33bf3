"""What a blend should be best at, as costs of a linear programme; ties go to the blend nearest its preferred ranges."""

from __future__ import annotations

import math
from dataclasses import dataclass
from time import perf_counter

import numpy as np
from numpy.typing import NDArray

from loamery.blend.program import Answer, Problem, minimise
from loamery.errors import InputError, UnknownName
from loamery.say import say

Array = NDArray[np.float64]
KINDS = ("use_most", "least_labour", "least_bought", "closest", "most_mass")
PASSES = 3  # rounds in which the scale of each distance is brought up to date
SECONDS, LONGEST_S, SLICE_S = 1.5, 0.5, 0.05  # for one blend, for one question to the solver, and the least it gets
TIE = 1e-6  # weight of the mass of a blend beside its distances, so that ties have one answer


@dataclass(frozen=True)
class Objective:
    """One of the objectives, and the ingredient it is about for ``use_most``."""

    kind: str
    name: str = ""

    @classmethod
    def parse(cls, text: str, names: tuple[str, ...]) -> Objective:
        """Return the objective a text names.

        Parameters
        ----------
        text : ``use_most:NAME``, ``least_labour``, ``least_bought``, ``closest`` or ``most_mass``.
        names : the ingredients of the blend.

        Raises
        ------
        UnknownName : no such objective, or no such ingredient.
        """
        kind, _, name = text.partition(":")
        if kind not in KINDS or (kind != "use_most" and name):
            raise UnknownName(
                say("objective “{text}”", text=text),
                expected=say("use_most:NAME, least_labour, least_bought, closest or most_mass"),
                remedy=say("choose one of them"),
            )
        if kind == "use_most" and name not in names:
            raise UnknownName(
                say("objective “{text}”", text=text),
                expected=say("use_most: and one of ") + ", ".join(names),
                remedy=say("name an ingredient"),
            )
        return cls(kind, name)

    def cost(self, problem: Problem) -> Array | None:
        """Return the cost per lot of each unknown; None when closeness is all that counts."""
        per_kg = {
            "least_labour": [one.minutes_per_kg for one in problem.ingredients],
            "least_bought": [one.cost_per_kg for one in problem.ingredients],
            "most_mass": [-1.0] * len(problem.ingredients),
            "use_most": [-1.0 * (one.name == self.name) for one in problem.ingredients],
        }.get(self.kind)
        return None if per_kg is None else np.append(np.array(per_kg) * problem.lot_kg, 0.0)

    def refuse_endless(self, problem: Problem, has_total: bool) -> None:
        """Raise when nothing says how much to make.

        Raises
        ------
        InputError : no total, and no stock or least amount that would set one.
        """
        if has_total:
            return
        if self.kind in ("use_most", "most_mass"):
            ended = not self._has_no_end(problem)
        else:
            ended = any(one.least_kg > 0 for one in problem.ingredients)
        if not ended:
            raise InputError(
                say("objective “{kind}” with nothing that says how much to make", kind=self.kind),
                expected=say("a total in kg or litres, or stocks (or least amounts) that set one"),
                remedy=say("give the size of the blend"),
            )

    def _has_no_end(self, problem: Problem) -> bool:
        rows, rhs = problem.rows()
        cost, upper = self.cost(problem), problem.upper()
        assert cost is not None
        return not minimise(cost, rows, rhs, upper).found and minimise(0.0 * cost, rows, rhs, upper).found

    def value(self, problem: Problem, x: Array) -> tuple[float, str] | None:
        """Return what the objective comes to and its unit; None for closeness."""
        cost = self.cost(problem)
        if cost is None:
            return None
        total = float(cost @ x)
        return {
            "least_labour": (total, "min"), "least_bought": (total, "money"), "most_mass": (-total, "kg"),
            "use_most": (-total, "kg"),
        }[self.kind]  # fmt: skip


@dataclass
class Search:
    """Finds the best amounts again and again as rows are added, within one allowance of time.

    Parameters
    ----------
    left_s : seconds left for whole vessels; weighed blends take milliseconds.
    proven : False once the best was asked for and time ran out before it was proved.
    """

    problem: Problem
    objective: Objective
    left_s: float = SECONDS
    proven: bool = True

    def __call__(self, extra: Array) -> Array | None:
        """Return the best amounts in lots, water last, under all limits and some extra rows (at least zero).

        Parameters
        ----------
        extra : shape (rows, unknowns).

        Returns
        -------
        Array of shape (unknowns,), or None when no amounts satisfy the rows.
        """
        asked = self.problem
        rows, rhs = asked.rows()
        rows, rhs = np.vstack([rows, extra]), np.append(rhs, np.zeros(len(extra)))
        cost = self.objective.cost(asked)
        first = self._minimise(np.zeros(asked.size) if cost is None else cost, rows, rhs, asked.upper())
        if not first.found:
            return None
        self.proven = first.status == "optimal"
        if cost is not None and np.any(cost):
            scale = float(np.abs(cost).max())
            rows, rhs = np.vstack([rows, -cost / scale]), np.append(rhs, -first.value / scale)
        return self._closest(rows, rhs, first.x) if asked.aims else first.x

    def _closest(self, rows: Array, rhs: Array, x: Array) -> Array:
        """Return the amounts with the least sum of scaled distances from the preferred ranges, starting from x."""
        asked = self.problem
        for _ in range(PASSES):
            nearer, right, columns = _distances(asked, x)
            table = np.vstack([np.hstack([rows, np.zeros((len(rhs), columns))]), nearer])
            cost = np.append(TIE * asked.lots / asked.lots.max(), np.ones(columns))
            upper = np.append(asked.upper(), np.full(columns, math.inf))
            answer = self._minimise(cost, table, np.append(rhs, right), upper)
            if not answer.found:
                return x
            settled = np.allclose(answer.x[: asked.size], x, rtol=1e-7, atol=1e-12)
            x = answer.x[: asked.size]
            if settled:
                break
        return x

    def _minimise(self, cost: Array, rows: Array, rhs: Array, upper: Array) -> Answer:
        """Return the cheapest amounts, taking the time from the allowance."""
        whole = np.zeros(len(cost), dtype=bool)
        whole[: self.problem.size - 1] = self.problem.whole
        started = perf_counter()
        answer = minimise(cost, rows, rhs, upper, whole, max(SLICE_S, min(LONGEST_S, self.left_s)))
        self.left_s -= perf_counter() - started
        return answer


def _distances(problem: Problem, x: Array) -> tuple[Array, Array, int]:
    """Return rows ‘distance at least what the quantity is off’, their right-hand sides and how many distances.

    A distance is (top - target x bottom)/(bottom x scale): linear once the bottom is taken from the amounts before.
    """
    made: list[tuple[Array, int]] = []
    for number, (ratio, wanted) in enumerate(problem.aims):
        assert wanted.target is not None
        low, high, scale = wanted.target
        kg = problem.lots * x
        bottom = float(ratio.bottom[:, 0] @ kg[:-1] + ratio.bottom_water * kg[-1])
        for goal, side in ((low, 1.0), (high, -1.0)):
            if goal is not None and bottom > 0:
                margin, water = ratio.margin(goal)
                row = np.append(margin[:, 0] * problem.lot_kg, water * problem.water_lot_kg)
                made.append((side * row / (bottom * scale), number))
    count = len(problem.aims)
    table = np.array([np.append(row, np.eye(count)[number]) for row, number in made])
    return table.reshape(-1, problem.size + count), np.zeros(len(made)), count
