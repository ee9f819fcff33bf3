"""What a plan comes to in seasons that may come, in the few figures that plans are compared by."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loamery.finding import Band
from loamery.reference import coefficient
from loamery.season.aims import LEAST_NEED_G, hour_worth
from loamery.season.decision import Decision
from loamery.season.problem import Problem
from loamery.season.replay_beds import BedYear
from loamery.season.sacks import sack_money
from loamery.season.work import batch_hours, moving_hours
from loamery.uncertain import band
from loamery.units import from_si

Array = NDArray[np.float64]
ON_BED = ("n", "p", "k")


@dataclass(frozen=True)
class Measure:
    """One figure that plans are compared by; `better` is -1 where less is better."""

    key: str
    label: str
    unit: str
    better: int
    factor: float = 1.0


MEASURES = (
    Measure("harvest_lost", "harvest lost to hunger for nutrients", "kg", -1),
    Measure("short_n", "nitrogen short when it is needed", "%", -1, 100.0),
    Measure("short_p", "phosphorus short", "%", -1, 100.0),
    Measure("short_k", "potassium short", "%", -1, 100.0),
    Measure("spare_n", "nitrogen nobody took up", "g/m2", -1),
    Measure("cover", "wanted mulch that lies there", "%", 1, 100.0),
    Measure("hours", "hours of work", "h", -1),
    Measure("money", "money spent", "", -1),
    Measure("diverted_kg", "free material put to use", "kg", 1),
    Measure("left_over", "planned amounts that did not fit a layer or a heap", "%", -1, 100.0),
    Measure("compost_kg", "compost made", "kg", 1),
)
"""The figures, in the order in which they matter; shares are of what the crops need, weighted by area."""


@dataclass(frozen=True, eq=False)
class Outcome:
    """What a plan comes to; every figure by its key, each of shape (n,).

    Parameters
    ----------
    worth : harvest lost, money and hours in one figure, in the garden's currency; more is better, 0 the best there is.
    by_bed : shortfall of nitrogen as a share of the need, shape (n, beds).
    """

    figures: Mapping[str, Array]
    worth: Array
    by_bed: Array

    def band(self, measure: Measure) -> Band:
        """Return a figure with its band, in the unit people see."""
        return band(self.figures[measure.key], measure.unit, measure.factor)


def outcome(
    problem: Problem, solution: Decision, beds: Sequence[BedYear], compost_kg: Array, left_over: Array
) -> Outcome:
    """Return what a plan comes to.

    Parameters
    ----------
    beds : what each bed got. compost_kg : made in the season, shape (n,).
    left_over : share of what is planned that did not fit, (n,).
    """
    n = beds[0].p_kg_m2.size
    weight = np.array([need.bed.area_m2 for need in problem.needs])
    weight = weight / weight.sum()
    shorts = {key: np.stack([_short(problem, i, one, key) for i, one in enumerate(beds)], axis=1) for key in ON_BED}
    spare = np.stack([from_si(one.spare_n_kg_m2, "g/m2") for one in beds], axis=1)
    wanting = np.array([float(bool(need.plantings)) for need in problem.needs]) * weight
    cover = np.stack([one.covered for one in beds], axis=1) @ (wanting / max(float(wanting.sum()), 1e-12))
    hours, spent = hours_of(problem, solution), money_of(problem, solution)
    figures = {f"short_{key}": shorts[key] @ weight for key in ON_BED}
    figures |= {
        "harvest_lost": _harvest_lost(problem, shorts),
        "spare_n": spare @ weight,
        "cover": cover,
        "hours": np.full(n, hours),
        "money": np.full(n, spent),
        "diverted_kg": np.full(n, diverted_kg(problem, solution)),
        "left_over": left_over,
        "compost_kg": compost_kg,
    }
    return Outcome(figures, worth_of(problem, figures), shorts["n"])


def _harvest_lost(problem: Problem, shorts: Mapping[str, Array]) -> Array:
    """Return the harvest that is lost to shortage, kg, shape (n,).

    Notes
    -----
    A straight line from nothing short to nothing harvested; phosphorus and potassium weigh less, the soil's reserve bridges a
    season.
    """
    yields = np.array(
        [
            need.bed.area_m2
            * sum(one.share * demand.yield_kg_m2 for one, demand in zip(need.plantings, need.demands, strict=True))
            for need in problem.needs
        ]
    )
    short = sum(coefficient(f"weight_{key}").value * shorts[key] for key in ON_BED)
    return np.asarray(np.minimum(coefficient("harvest_per_nitrogen").value * short, 1.0) @ yields)


def worth_of(problem: Problem, figures: Mapping[str, Array], harvest_price: float | None = None) -> Array:
    """Return harvest lost, money and hours in one figure, in the garden's currency, at most 0.

    Parameters
    ----------
    harvest_price : money for a kilogram of harvest; the coefficient when None.
    """
    price = coefficient("harvest_price").value if harvest_price is None else harvest_price
    hour = hour_worth(problem.garden)
    return np.asarray(-price * figures["harvest_lost"] - figures["money"] - hour * figures["hours"])


def _scale(need_kg_m2: float) -> float:
    return max(float(from_si(need_kg_m2, "g/m2")), LEAST_NEED_G)


def _short(problem: Problem, bed: int, year: BedYear, key: str) -> Array:
    """Return what is missing as a share of the need; of nitrogen the mean over the weeks in which it is looked at."""
    need = problem.needs[bed]
    if key != "n":
        asked = need.need_kg_m2[key.upper()] * year.need_factor[key.upper()]
        gap = asked - getattr(year, f"{key}_kg_m2")
        return np.asarray(np.maximum(from_si(gap, "g/m2"), 0.0) / _scale(need.need_kg_m2[key.upper()]))
    return np.asarray(from_si(year.missing_n_kg_m2, "g/m2").mean(axis=1) / _scale(need.need_kg_m2["N"]))


def hours_of(problem: Problem, solution: Decision) -> float:
    """Return the hours of work a plan asks for, turnings after the season included."""
    hours = float(moving_hours(problem, solution.take, solution.buy, solution.spread).sum())
    for week, count in batches_started(problem, solution).items():
        hours += count * float(batch_hours(problem.calendar.weeks)[week].sum())
    return hours


def batches_started(problem: Problem, solution: Decision) -> dict[int, int]:
    """Return how many batches are started in each week."""
    from loamery.season.actions import batches_of

    counts: dict[int, int] = {}
    for one in batches_of(problem, solution):
        counts[one.week] = counts.get(one.week, 0) + 1
    return counts


def money_of(problem: Problem, solution: Decision) -> float:
    """Return what a plan spends on supplies."""
    prices = np.array([lot.price_per_kg for lot in problem.lots])
    return float(prices @ solution.take.sum(axis=1)) + float(sack_money(problem, solution).sum())


def diverted_kg(problem: Problem, solution: Decision) -> float:
    """Return the free material put to use, kg as received."""
    free = np.array([lot.price_per_kg == 0.0 for lot in problem.lots])
    return float(solution.take[free].sum())
