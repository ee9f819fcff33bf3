"""Solve a blend: any number of materials, bounds that hold in most draws, whole buckets, water as an unknown.

>>> from loamery.blend.bounds import Bounds, Range
>>> from loamery.blend.ingredient import Ingredient
>>> from loamery.blend.solve import solve_blend
>>> grass = Ingredient("grass", 0.77, 0.45, 0.024, stock_kg=10, least_kg=10)
>>> leaves = Ingredient("leaves", 0.35, 0.50, 0.0075)
>>> blend = solve_blend([grass, leaves], Bounds(cn=Range(30, 30)), objective="closest", water=False)
>>> round(blend.kg["leaves"], 3)
3.474
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from loamery.blend.account import Solved, account, coverage
from loamery.blend.bounds import Bounds
from loamery.blend.explain import explain_no_blend
from loamery.blend.ingredient import Ingredient, Matter, matter
from loamery.blend.objective import Objective, Search
from loamery.blend.program import Problem, problem
from loamery.blend.result import BlendResult
from loamery.blend.robust import SAFETIES, hold
from loamery.errors import InputError, NoPlan, UnknownName
from loamery.reference import coefficient
from loamery.say import say

Array = NDArray[np.float64]
SCENARIOS = 500
"""Draws in which bounds are held while solving; the others measure how well they hold."""


def solve_blend(
    ingredients: Sequence[Ingredient],
    bounds: Bounds | None = None,
    *,
    total_kg: float | None = None,
    total_l: float | None = None,
    objective: str = "closest",
    robust: bool = True,
    buckets: bool = False,
    water: bool = True,
    bucket_l: float = 20.0,
    packing: float = 1.0,
    n_scenarios: int = SCENARIOS,
    seed: int = 1,
    candidates: Sequence[Ingredient] = (),
) -> BlendResult:
    """Return the blend that is best by an objective among all that keep the bounds.

    Parameters
    ----------
    ingredients : what may go in, with stocks.
    bounds : what the blend has to be like; the published reasonable ranges when None.
    total_kg : mass as built, added water included. total_l : volume as built. At most one of the two.
    objective : ``use_most:NAME``, ``least_labour``, ``least_bought``, ``closest`` or ``most_mass``.
    robust : bounds hold together in the share ``blend_keep_share`` of fresh draws, not at the medians only.
    buckets : whole vessels of each ingredient (``vessel_l``, else ``bucket_l``); what one weighs is then uncertain.
    water : whether water may be added.
    packing : bulk volume of the mixture per sum of volumes, above 0 and at most 1.
    n_scenarios : draws used for solving; never more than half of those given.
    seed : which draws are used for solving and which for measuring.
    candidates : materials that could be fetched, tried when no blend exists.

    Raises
    ------
    InputError : the question cannot be asked as it stands.
    NoPlan : no blend fits, with the smallest set of limits in conflict and what to add.

    Notes
    -----
    A total in whole vessels is met to half the largest vessel.
    """
    bounds = Bounds.reasonable() if bounds is None else bounds
    everything = matter(ingredients)
    _refuse(ingredients, everything, bounds, total_kg, total_l, buckets, bucket_l, packing, n_scenarios)
    goal = Objective.parse(objective, everything.names)
    solving, fresh = _split(everything, n_scenarios, seed)
    size = {"total_kg": total_kg, "total_l": total_l, "water": water, "packing": packing}
    asked = problem(ingredients, solving, bounds, bucket_l=bucket_l if buckets else None, **size)  # type: ignore[arg-type]
    goal.refuse_endless(asked, total_kg is not None or total_l is not None)
    search = Search(asked, goal)
    median = search(np.zeros((0, asked.size)))
    if median is None:
        raise _no_plan(ingredients, bounds, size, candidates, buckets)
    solved = Solved(median, proven=search.proven)
    if robust and everything.draws > 1:
        solved = _robust(asked, search, median, fresh)
    return account(asked, solved, fresh, bounds, objective, goal.value(asked, solved.x), bucket_l)


def _robust(asked: Problem, search: Search, median: Array, fresh: Matter) -> Solved:
    """Return the blend that keeps its bounds in fresh draws, else the one for the medians beside the most reliable."""
    keep, proven = coefficient("blend_keep_share").value, search.proven
    best, best_share = median, coverage(asked, median, fresh)
    for safety in SAFETIES:
        found = hold(asked, search, keep, safety)
        share = 0.0 if found.x is None else coverage(asked, found.x, fresh)
        if found.x is not None and share >= keep:
            return Solved(found.x, keep, proven=search.proven)
        if found.x is not None and share > best_share:
            best, best_share = found.x, share
        if found.x is None or found.kept < keep:
            break  # not even the solving draws can be held: asking for more is no use
    return Solved(median, keep, True, best, proven)


def _split(everything: Matter, n_scenarios: int, seed: int) -> tuple[Matter, Matter]:
    """Return draws to solve with and draws that the solution has never seen."""
    if everything.draws == 1:
        return everything, everything
    order = np.random.default_rng(seed).permutation(everything.draws)
    solving = min(n_scenarios, everything.draws // 2)
    return everything.take(order[:solving]), everything.take(order[solving:])


def _no_plan(
    ingredients: Sequence[Ingredient], bounds: Bounds, size: Mapping[str, float | None],
    candidates: Sequence[Ingredient], buckets: bool,
) -> NoPlan:  # fmt: skip
    why = explain_no_blend(ingredients, bounds, candidates=candidates, **size)  # type: ignore[arg-type]
    if why is not None:
        return why.error()
    remedies = [
        say("use a smaller vessel for part of it"),
        say("make more at once"),
        say("weigh instead of counting vessels"),
    ]
    if not buckets:
        remedies = [say("loosen one of the limits a little")]
    text = (
        say("a blend exists in kilograms, but none in whole vessels") if buckets else say("no blend was found in time")
    )
    return NoPlan(text, conflict=[say("whole vessels")] if buckets else [], remedies=remedies)


def _refuse(
    ingredients: Sequence[Ingredient], everything: Matter, bounds: Bounds, total_kg: float | None,
    total_l: float | None, buckets: bool, bucket_l: float, packing: float, n_scenarios: int,
) -> None:  # fmt: skip
    """Raise when a figure of the question is impossible."""
    if total_kg is not None and total_l is not None:
        raise InputError(
            say("a total of {total_kg:g} kg and of {total_l:g} litres", total_kg=total_kg, total_l=total_l),
            expected=say("one of the two"),
            remedy=say("leave one out"),
        )
    sizes = {say("total in kg"): total_kg, say("total in litres"): total_l, say("bucket in litres"): bucket_l}
    for what, value in sizes.items():
        if value is not None and not 0 < value < math.inf:
            raise InputError(
                say("{what} of {value:g}", what=what, value=value),
                expected=say("a number above zero"),
                remedy=say("correct it"),
            )
    if not 0 < packing <= 1:
        raise InputError(
            say("packing of {packing:g}", packing=packing),
            expected=say("above 0 and at most 1"),
            remedy=say("leave it at 1"),
        )
    if n_scenarios < 1:
        raise InputError(
            say("{n_scenarios} scenarios", n_scenarios=n_scenarios),
            expected=say("one or more"),
            remedy=say("leave it out"),
        )
    if all(one.stock_kg == 0 for one in ingredients):
        raise InputError(
            say("a stock of zero of every ingredient"),
            expected=say("something to blend"),
            remedy=say("enter what there is"),
        )
    if bounds.cn is not None and not np.any(np.median(everything.n_dm, axis=1) > 0):
        raise InputError(
            say("no ingredient holds any nitrogen, so the blend has no C:N"),
            expected=say("at least one material with nitrogen"),
            remedy=say("add grounds, grass, manure or another green material"),
        )
    _refuse_names(bounds, everything.names)
    if (buckets or total_l is not None) and everything.bulk_density is None:
        lacking = [one.name for one in ingredients if one.bulk_density is None]
        raise InputError(
            say("no bulk density of ") + ", ".join(lacking),
            expected=say("the bulk density of every ingredient, to count litres or buckets"),
            remedy=say("weigh one full bucket of it, or ask for kilograms"),
        )


def _refuse_names(bounds: Bounds, names: tuple[str, ...]) -> None:
    for name, (low, high) in {**bounds.shares, **bounds.volume_shares}.items():
        if name not in names:
            raise UnknownName(
                say("a share of “{name}”", name=name),
                expected=say("one of ") + ", ".join(names),
                remedy=say("name an ingredient of the blend"),
            )
        ends = [end for end in (low, high) if end is not None]
        if any(not 0 <= end <= 1 for end in ends) or ends != sorted(ends):
            raise InputError(
                say("a share of {name} from {low} to {high}", name=name, low=low, high=high), expected=say("two shares between 0 and 1, the lower first"),
                remedy=say("correct it"),
            )  # fmt: skip
