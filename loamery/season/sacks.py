"""What is bought by the sack: in which week each sack is needed, and what it costs."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from loamery.say import say
from loamery.season.decision import Decision
from loamery.season.matrix import Array
from loamery.season.problem import Problem
from loamery.season.work import batch_hours, handling_hours_per_kg, moving_hours
from loamery.words import number

ROUNDING = 1e-5
"""Share of a sack by which the solver may miss its brim: nobody opens another for that."""


def sacks_by_week(problem: Problem, decision: Decision) -> Array:
    """Return the sacks to have bought when a week's work begins beyond those of the weeks before, whole, (goods, weeks).

    Notes
    -----
    A sack is bought in the first week that takes from it; what later weeks take of it is there already.
    """
    holds = np.array([one.sack_kg for one in problem.goods]).reshape(-1, 1)
    opened = np.maximum(np.ceil(np.cumsum(decision.buy, axis=1) / holds - ROUNDING), 0.0)
    return np.asarray(np.diff(opened, axis=1, prepend=0.0))


def sack_money(problem: Problem, decision: Decision) -> Array:
    """Return what the sacks of each good cost in the season, in the garden's currency, (goods,)."""
    price = np.array([one.price for one in problem.goods])
    return np.asarray(price * sacks_by_week(problem, decision).sum(axis=1))


def sacks_text(sacks: int, sack: str, cost: float, currency: str) -> str:
    """Return in words how many sacks there are to buy.

    Parameters
    ----------
    sack : what one weighs, in words. cost : of all of them.
    """
    money = number(cost, 3)
    if sacks == 1:
        return say("1 sack of {sack} for {money} {currency}", sack=sack, money=money, currency=currency)
    return say("{sacks} sacks of {sack} for {money} {currency}", sacks=sacks, sack=sack, money=money, currency=currency)


def bought_late(problem: Problem, decided: Mapping[str, Array], stock: Array) -> Array:
    """Return what is bought, kg, (goods, weeks), each kilogram as late as its use allows; the aims do not mind when.

    Parameters
    ----------
    decided : the blocks ``take``, ``buy``, ``spread`` and ``start`` of a `Decision`.
    stock : what lies in store at the end of each week, kg, (stuffs, weeks).
    """
    buy, lying, most = decided["buy"].copy(), stock.copy(), problem.garden.info.hours_per_week
    room = np.inf if most is None else most - _hours(problem, decided)
    room_kg = np.maximum(np.broadcast_to(room, buy.shape[-1:]) / handling_hours_per_kg(), 0.0)
    for week in range(buy.shape[1] - 1):
        for good, material in enumerate(problem.good_material):
            kg = max(min(buy[good, week], lying[material, week], room_kg[week + 1]), 0.0)
            buy[good, week : week + 2] += (-kg, kg)
            lying[material, week] -= kg
            room_kg[week : week + 2] += (kg, -kg)
    return np.asarray(buy)


def _hours(problem: Problem, decided: Mapping[str, Array]) -> Array:
    """Return the hours of work of each week as the programme counts them, (weeks,)."""
    moving = moving_hours(problem, decided["take"], decided["buy"], decided["spread"])
    return np.asarray(moving + decided["start"].sum(axis=(0, 1)) @ batch_hours(problem.calendar.weeks)[:, :-1])
