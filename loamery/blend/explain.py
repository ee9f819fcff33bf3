"""Why no blend exists: the smallest set of limits in conflict, how far each would have to give, and what to add."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from loamery.blend.bounds import Bounds
from loamery.blend.ingredient import Ingredient, matter
from loamery.blend.program import NOT_EMPTY, Limit, Problem, minimise, problem, shown
from loamery.blend.ratios import Ratio, ratios, share_ratio
from loamery.errors import NoPlan
from loamery.say import say

Array = NDArray[np.float64]
ENOUGH = 5  # remedies told; more would not be read


@dataclass(frozen=True)
class Loosening:
    """How far one limit would have to give, all others kept; ``needed`` is None when giving way alone does not help."""

    limit: str
    now: float
    needed: float | None
    text: str


@dataclass(frozen=True)
class Addition:
    """How much of one more material makes a blend possible, kg."""

    name: str
    kg: float
    text: str


@dataclass(frozen=True)
class Explanation:
    """Why no blend exists.

    Parameters
    ----------
    conflict : limits that cannot hold together; leave any one out and the rest can.
    loosenings : one for each limit of the conflict.
    additions : what to add, least first.
    """

    conflict: tuple[str, ...]
    loosenings: tuple[Loosening, ...]
    additions: tuple[Addition, ...]

    def error(self) -> NoPlan:
        """Return the explanation as an error for people."""
        loosened = [one.text for one in self.loosenings if one.needed is not None]
        remedies = [one.text for one in self.additions[:ENOUGH]] + loosened
        if not self.additions:
            remedies.insert(0, say("add a material that lies on the other side of one of these limits"))
        if not loosened:
            remedies.append(say("loosen more than one limit: giving up any one of these alone is not enough"))
        return NoPlan(say("no blend fits all limits"), conflict=self.conflict, remedies=remedies)


def explain_no_blend(
    ingredients: Sequence[Ingredient],
    bounds: Bounds,
    *,
    total_kg: float | None = None,
    total_l: float | None = None,
    water: bool = True,
    packing: float = 1.0,
    candidates: Sequence[Ingredient] = (),
) -> Explanation | None:
    """Return why no blend exists at the median compositions, in kilograms; None when one does.

    Parameters
    ----------
    candidates : materials that could be fetched; each is tried alone, with no end to its stock.
    """
    question = _Question(tuple(ingredients), bounds, total_kg, total_l, water, packing)
    asked = question.problem()
    if fits(asked, asked.limits):
        return None
    conflict = smallest_conflict(asked)
    loosenings = tuple(loosen(asked, name) for name in conflict)
    return Explanation(conflict, loosenings, tuple(question.additions(candidates)))


def fits(asked: Problem, limits: Iterable[Limit]) -> bool:
    """Tell whether some amounts satisfy these limits at the medians."""
    rows, rhs = asked.rows(limits)
    return minimise(np.zeros(asked.size), rows, rhs, asked.upper()).found


def smallest_conflict(asked: Problem) -> tuple[str, ...]:
    """Return names of limits that cannot hold together and of which none can be left out (deletion filter).

    Source
    ------
    Chinneck and Dravnieks 1991, ORSA J. Computing 3:157, deletion filter (recalled).
    """
    # amounts last: a bound on the mixture explains more than the size of a pile, so try to do without amounts first
    order = sorted(asked.limits, key=lambda one: ("total", "stock", "least", "share", "ratio").index(one.kind))
    some = [one for one in asked.limits if one.name == NOT_EMPTY]  # no wish of anyone, so never part of a conflict
    kept = list(dict.fromkeys(one.name for one in order if one.name != NOT_EMPTY))
    for name in tuple(kept):
        rest = [other for other in kept if other != name]
        if not fits(asked, some + [one for one in asked.limits if one.name in rest]):
            kept = rest
    return tuple(dict.fromkeys(one.name for one in asked.limits if one.name in kept))


def loosen(asked: Problem, name: str) -> Loosening:
    """Return how far one limit would have to give for the others to hold."""
    limit = next(one for one in asked.limits if one.name == name)
    others = [one for one in asked.limits if one.name != name]
    mixture = limit.kind in ("ratio", "share")
    needed = _best_ratio(asked, limit, others) if mixture else _best_amount(asked, name, others)
    if needed is None:
        return Loosening(name, limit.goal, None, say("giving way on ‘{limit}’ alone does not help", limit=name))
    return Loosening(
        name, limit.goal, needed, say("loosen ‘{limit}’ to {value}", limit=name, value=shown(limit.about, needed))
    )


def _best_ratio(asked: Problem, limit: Limit, others: list[Limit]) -> float | None:
    """Return the ratio nearest its bound under all other limits (Charnes-Cooper: y = t x with total bottom = 1)."""
    ratio = _median_ratio(asked, limit.about)
    top = np.append(ratio.top[:, 0] * asked.lot_kg, ratio.top_water * asked.water_lot_kg)
    bottom = np.append(ratio.bottom[:, 0] * asked.lot_kg, ratio.bottom_water * asked.water_lot_kg)
    unit = float(np.abs(bottom).max())
    rows, rhs = asked.rows(others)
    table = np.vstack([np.column_stack([rows, -rhs]), np.append(bottom / unit, 0), np.append(-bottom / unit, 0)])
    right = np.append(np.zeros(len(rhs)), [1.0, -1.0])
    answer = minimise(np.append(-limit.side * top / unit, 0.0), table, right, np.append(asked.upper(), math.inf))
    return -limit.side * answer.value if answer.found else None


def _median_ratio(asked: Problem, about: str) -> Ratio:
    kind, _, name = about.partition("/")
    if name:
        found = share_ratio(asked.median, name, kind == "volume_share")
        assert found is not None
        return found
    return ratios(asked.median, asked.packing)[about]


def _best_amount(asked: Problem, name: str, others: list[Limit]) -> float | None:
    """Return the stock, least amount or total nearest to the one asked that lets the others hold."""
    sides = [one for one in asked.limits if one.name == name]
    rows, rhs = asked.rows(others)
    table, right = np.hstack([rows, np.zeros((len(rhs), 1))]), rhs
    for one in sides:
        table = np.vstack([table, np.append(one.row, 1.0)])
        right = np.append(right, one.rhs)
    cost = np.append(np.zeros(asked.size), 1.0)
    answer = minimise(cost, table, right, np.append(asked.upper(), math.inf))
    if not answer.found:
        return None
    side = next((one for one in sides if float(one.row @ answer.x[:-1]) < one.rhs), sides[0])
    # rows were scaled: the goal belongs to rhs as the need belongs to what the row comes to
    return side.goal * float(side.row @ answer.x[:-1]) / side.rhs if side.rhs else None


@dataclass(frozen=True)
class _Question:
    ingredients: tuple[Ingredient, ...]
    bounds: Bounds
    total_kg: float | None
    total_l: float | None
    water: bool
    packing: float

    def problem(self) -> Problem:
        return problem(
            self.ingredients, matter([_flat(one) for one in self.ingredients]), self.bounds, total_kg=self.total_kg,
            total_l=self.total_l, water=self.water, bucket_l=None, packing=self.packing,
        )  # fmt: skip

    def additions(self, candidates: Sequence[Ingredient]) -> list[Addition]:
        found = [self._with_water()] + [self._with_more(one) for one in self.ingredients]
        names = {one.name for one in self.ingredients}
        found += [self._with_other(one) for one in candidates if one.name not in names]
        return sorted((one for one in found if one is not None), key=lambda one: one.kg)

    def _with_water(self) -> Addition | None:
        if self.water:
            return None
        kg = _least(replace(self, water=True).problem(), -1)
        return None if kg is None else Addition("water", kg, say("add {kg:.3g} kg of water", kg=kg))

    def _with_more(self, one: Ingredient) -> Addition | None:
        if math.isinf(one.stock_kg):
            return None
        at = self.ingredients.index(one)
        endless = (*self.ingredients[:at], replace(one, stock_kg=math.inf), *self.ingredients[at + 1 :])
        kg = _least(replace(self, ingredients=endless).problem(), at)
        if kg is None:
            return None
        more = kg - one.stock_kg
        return Addition(
            one.name,
            more,
            say("fetch {more:.3g} kg more of {name} ({kg:.3g} kg in all)", more=more, name=one.name, kg=kg),
        )

    def _with_other(self, one: Ingredient) -> Addition | None:
        more = (*self.ingredients, replace(one, stock_kg=math.inf, least_kg=0.0))
        kg = _least(replace(self, ingredients=more).problem(), len(self.ingredients))
        return None if kg is None else Addition(one.name, kg, say("add {kg:.3g} kg of {name}", kg=kg, name=one.name))


def _flat(one: Ingredient) -> Ingredient:
    """Return an ingredient with its medians in place of its draws."""
    quantities = ("moisture", "c_dm", "n_dm", "om_dm", "ash_dm", "bulk_density", "fines", "ph", "ec")
    known = {key: one.median(key) for key in quantities if getattr(one, key) is not None}
    return replace(one, **known)  # type: ignore[arg-type]


def _least(asked: Problem, at: int) -> float | None:
    """Return the least kg of one unknown with which all limits hold."""
    rows, rhs = asked.rows()
    cost = np.zeros(asked.size)
    cost[at] = 1.0
    answer = minimise(cost, rows, rhs, asked.upper())
    return float(answer.x[at] * asked.lots[at]) if answer.found else None
