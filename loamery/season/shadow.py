"""What one more of anything would be worth, in plain words: prices of the programme, each tried out with one more of it.

A price is what the programme says of a very small step. What is told is the step a person can take, a sack, a square
metre, an hour: the programme is solved again with it, heaps and whole sacks held as planned.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from loamery.names import quantity
from loamery.say import capital, say
from loamery.season.aims import bed_weights
from loamery.season.decision import Solution
from loamery.season.duals import ShadowPrices, shadow_prices
from loamery.season.problem import Problem, bucket_kg
from loamery.units import from_si, to_si
from loamery.words import mass_text, number

Array = NDArray[np.float64]
AIM = "shortfall"
MOST, TINY = 8, 1e-7
"""So many are told; a price below the second is the solver's rounding."""
STEP_G = 1.0
"""A ceiling is raised by so much, g per m2, to see what that is worth."""


@dataclass(frozen=True)
class Spare:
    """What one more of something would spare.

    Parameters
    ----------
    kind : ``supply``, ``ceiling`` or ``hands``. step : in words, such as “one more bucket of grass in the week of 17 May”.
    price : points by the programme's price of the whole step; spares : points when solved again with it.
    harvest_kg : about what that is in harvest. share : of everything that is short. brief : the step, to stand beside a bar.
    """

    kind: str
    about: str
    step: str
    price: float
    spares: float
    harvest_kg: float
    share: float
    brief: str

    @property
    def text(self) -> str:
        """Return it as a sentence."""
        return say(
            "{step} would spare {value} % of all that is short, about {harvest_kg} kg of harvest.",
            step=capital(self.step),
            value=number(100.0 * self.share, 2),
            harvest_kg=number(self.harvest_kg, 2),
        )

    def as_dict(self) -> dict[str, object]:
        """Return it ready for JSON."""
        told = {key: value for key, value in vars(self).items() if key != "brief"}
        return {**told, "text": self.text}


@dataclass(frozen=True)
class _Step:
    """A step that could be taken: its words, in full and in short, its price by the programme, and the problem with it."""

    kind: str
    about: str
    words: str
    brief: str
    price: float
    taken: Callable[[], Problem]


def spares(problem: Problem, solution: Solution, *, most: int = MOST, tried: bool = True) -> tuple[Spare, ...]:
    """Return what one more of this or that would spare, the most first.

    Parameters
    ----------
    most : how many are told. tried : solve again with one more of each; else the price is told, which is quicker.
    """
    prices = shadow_prices(problem, solution, AIM)
    steps = [*_supplies(problem, prices), *_ceilings(problem, prices), *_hands(problem, prices)]
    steps = _best(steps, most)
    harvest = _harvest_kg(problem)
    found = []
    for one in steps:
        if one.price > TINY:
            spared = prices.value - shadow_prices(one.taken(), solution, AIM).value if tried else one.price
            share = spared / prices.value if prices.value > 0.0 else 0.0
            found.append(Spare(one.kind, one.about, one.words, one.price, spared, spared * harvest, share, one.brief))
    return tuple(sorted(found, key=lambda one: -one.spares))


def _best(steps: Sequence[_Step], most: int) -> list[_Step]:
    """Return the steps of the highest price, half of them supplies, which a person can do most about."""
    # two donors of one material may say the same; the better one is told
    dearest = {one.words: one for one in sorted(steps, key=lambda one: one.price)}
    ranked = sorted(dearest.values(), key=lambda one: -one.price)
    supplies = [one for one in ranked if one.kind == "supply"][: most // 2]
    others = [one for one in ranked if one.kind != "supply"][: most - len(supplies)]
    return [*supplies, *others]


def _harvest_kg(problem: Problem) -> float:
    """Return the harvest that one point stands for: a garden that gets nothing of what it needs."""
    per_m2 = [
        sum(one.share * demand.yield_kg_m2 for one, demand in zip(need.plantings, need.demands, strict=True))
        for need in problem.needs
    ]
    return float(bed_weights(problem) @ np.array(per_m2) * problem.area_m2.sum())


def _supplies(problem: Problem, prices: ShadowPrices) -> Sequence[_Step]:
    """Return, for each supply, one more bucket in the week in which it is worth most."""
    out = []
    for lot, supply in enumerate(problem.lots):
        gains = np.where(problem.lot_kg[lot] > 0.0, -prices.columns["take"][lot], 0.0)
        week = int(gains.argmax())
        stuff = problem.raw[problem.lot_material[lot]]
        kg = bucket_kg(stuff, problem.garden)
        words = say(
            "one more bucket of {stuff} ({kg}) in the week of {week}",
            stuff=stuff.name.lower(),
            kg=mass_text(kg, problem.garden.info.units, 2),
            week=problem.calendar.label(week),
        )
        brief = say("bucket of {stuff} {week}", stuff=stuff.name.lower(), week=problem.calendar.label(week))
        out.append(
            _Step(
                "supply", supply.material, words, brief, kg * float(gains[week]), _more_supply(problem, lot, week, kg)
            )
        )
    return out


def _more_supply(problem: Problem, lot: int, week: int, kg: float) -> Callable[[], Problem]:
    def taken() -> Problem:
        more = problem.lot_kg.copy()
        more[lot, week] += kg
        return replace(problem, lot_kg=more)

    return taken


def _ceilings(problem: Problem, prices: ShadowPrices) -> Sequence[_Step]:
    """Return, for each bed and ceiling that binds, a ceiling a little higher."""
    out = []
    for name, values in prices.rows.items():
        if not name.startswith("ceiling_"):
            continue
        key = name.removeprefix("ceiling_")
        limits = np.array([need.ceilings[key].limit_kg_m2 for need in problem.needs])
        step = to_si(STEP_G * (10.0 if key == "salt" else 1.0), "g/m2")
        step = min(step, 0.1 * float(limits.max()))
        per_kg = 1.0 / max(float(limits.max()), 1e-9)
        for bed, need in enumerate(problem.needs):
            label = "salt" if key == "salt" else quantity(key).label.lower()
            words = say(
                "room for {step} g/m² more {label} on {bed} (a soil that has less of it)",
                step=number(float(from_si(step, "g/m2")), 2),
                label=label,
                bed=need.bed.name,
            )
            brief = say("room for {label}: {bed}", label=label, bed=need.bed.name)
            price = -float(values[bed]) * per_kg * step
            out.append(_Step("ceiling", need.bed.id, words, brief, price, _more_room(problem, bed, key, step)))
    return out


def _more_room(problem: Problem, bed: int, key: str, step_kg_m2: float) -> Callable[[], Problem]:
    def taken() -> Problem:
        need = problem.needs[bed]
        higher = replace(need.ceilings[key], limit_kg_m2=need.ceilings[key].limit_kg_m2 + step_kg_m2)
        needs = list(problem.needs)
        needs[bed] = replace(need, ceilings={**need.ceilings, key: higher})
        return replace(problem, needs=tuple(needs))

    return taken


def _hands(problem: Problem, prices: ShadowPrices) -> Sequence[_Step]:
    """Return one more hour in the week in which it is worth most, where hours are short."""
    limit = problem.garden.info.hours_per_week
    gains = -prices.rows["hands"] if limit is not None and "hands" in prices.rows else np.zeros(0)
    if not gains.size or gains.max() <= TINY:
        return []
    week = int(gains.argmax())

    def taken() -> Problem:
        # hours are one figure for all weeks, so the step tried is an hour more in each of them
        info = problem.garden.info.model_copy(update={"hours_per_week": (limit or 0.0) + 1.0})
        return replace(problem, garden=problem.garden.model_copy(update={"info": info}))

    words = say("one more hour of work a week, most of all in the week of {week},", week=problem.calendar.label(week))
    return [_Step("hands", "garden", words, say("an hour of work a week"), float(gains.sum()), taken)]
