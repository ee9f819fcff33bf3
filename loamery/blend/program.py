"""The linear programme of a blend: every limit is one row ‘coefficients times amounts at least a right-hand side’.

The unknowns are one amount per ingredient and the added water. An amount counts in lots of ``lot_kg``: a share of the
whole when things are weighed, one vessel when they are carried in whole buckets. Limits keep their names, so that what
binds and what conflicts can be told.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from loamery.blend.bounds import LABELS, UNITS, Bounds, Range, Side
from loamery.blend.ingredient import Ingredient, Matter
from loamery.blend.ratios import Ratio, ratios, share_ratio
from loamery.say import joined, say

Array = NDArray[np.float64]
EXACT = 1e-9  # a bound counts as held when it is missed by less than this share of itself
NOT_EMPTY = "a blend that is not empty"
NOTHING = 1e-6  # a blend smaller than this share of what there is counts as no blend


@dataclass(frozen=True, eq=False)
class Limit:
    """One named side of a bound.

    Parameters
    ----------
    name : as told to people, e.g. ``C:N at most 40``.
    kind : ratio, share, stock, least or total.
    row, rhs : row times amounts (lots, water last) is at least rhs; row is scaled to a largest entry of 1.
    about : quantity key or ingredient.
    goal : the bound in SI units.
    side : 1 for at least, -1 for at most.
    scenarios : the row in every draw, shape (draws, ingredients + 1); empty for limits that do not depend on them.
    """

    name: str
    kind: Literal["ratio", "share", "stock", "least", "total"]
    row: Array
    rhs: float
    about: str
    goal: float
    side: int
    scenarios: Array


@dataclass(frozen=True, eq=False)
class Problem:
    """One blending question, ready to be solved.

    Parameters
    ----------
    ingredients, matter, median : what may go in, its draws, its medians.
    limits : all rows.
    lot_kg : kg in one lot of each ingredient, at the median; water_lot_kg the same for water.
    lot_kg_draws : the same in every draw, shape (ingredients, draws).
    whole : whether lots are whole vessels.
    water : whether water may be added.
    aims : quantities with a preferred range, at the median.
    unchecked : bounds that could not be applied, with the reason.
    packing : bulk volume of the mixture per sum of volumes.
    """

    ingredients: tuple[Ingredient, ...]
    matter: Matter
    median: Matter
    limits: tuple[Limit, ...]
    lot_kg: Array
    water_lot_kg: float
    lot_kg_draws: Array
    whole: bool
    water: bool
    aims: tuple[tuple[Ratio, Range], ...]
    unchecked: tuple[str, ...]
    packing: float

    @property
    def size(self) -> int:
        """Return the number of unknowns."""
        return len(self.ingredients) + 1

    @property
    def lots(self) -> Array:
        """Return kg per lot, water last."""
        return np.append(self.lot_kg, self.water_lot_kg)

    def rows(self, limits: Iterable[Limit] | None = None) -> tuple[Array, Array]:
        """Return rows and right-hand sides of some limits (all when None)."""
        chosen = list(self.limits if limits is None else limits)
        if not chosen:
            return np.zeros((0, self.size)), np.zeros(0)
        return np.array([one.row for one in chosen]), np.array([one.rhs for one in chosen])

    def scenario_rows(self) -> Array:
        """Return the rows of every draw, shape (draws, limits, unknowns)."""
        blocks = [one.scenarios for one in self.limits if len(one.scenarios)]
        return np.stack(blocks, axis=1) if blocks else np.zeros((0, 0, self.size))

    def upper(self) -> Array:
        """Return the largest amount of each unknown: no end, but no water where none may be added."""
        return np.append(np.full(len(self.ingredients), math.inf), math.inf if self.water else 0.0)


def problem(
    ingredients: Sequence[Ingredient],
    matter: Matter,
    bounds: Bounds,
    *,
    total_kg: float | None,
    total_l: float | None,
    water: bool,
    bucket_l: float | None,
    packing: float,
) -> Problem:
    """Return the programme of a blend.

    Parameters
    ----------
    matter : the draws to hold bounds in.
    total_kg : mass as built, water included; total_l : volume as built; None leaves it open.
    bucket_l : size of the vessel when whole vessels are wanted, None to weigh.
    packing : bulk volume of the mixture per sum of volumes.
    """
    median = matter.median()
    scale = _scale(ingredients, median, total_kg, total_l)
    draws = _lots(ingredients, matter, bucket_l, scale)
    lots = _lots(ingredients, median, bucket_l, scale)[:, 0]
    make = _Maker(ingredients, matter, median, lots, draws, scale, packing)
    limits = make.amounts() + make.totals(total_kg, total_l, bucket_l)
    for key, one in bounds.ranges().items():
        limits += make.of_range(key, one)
    for kind, shares in (("mass", bounds.shares), ("volume", bounds.volume_shares)):
        for name, side in shares.items():
            limits += make.of_share(name, side, kind == "volume")
    aims = tuple(
        (make.median_ratios[key], one) for key, one in bounds.ranges().items() if one.target and key in make.all_ratios
    )
    return Problem(
        tuple(ingredients), matter, median, tuple(limits), lots, scale, draws, bucket_l is not None, water, aims,
        tuple(make.unchecked), packing,
    )  # fmt: skip


def _scale(ingredients: Sequence[Ingredient], median: Matter, total_kg: float | None, total_l: float | None) -> float:
    if total_kg is not None:
        return total_kg
    if total_l is not None and median.bulk_density is not None:
        return total_l / 1000.0 * float(np.median(median.bulk_density))
    stocks = [one.stock_kg for one in ingredients if math.isfinite(one.stock_kg)]
    return sum(stocks) or 1.0


def _lots(ingredients: Sequence[Ingredient], matter: Matter, bucket_l: float | None, scale: float) -> Array:
    if bucket_l is None:
        return np.full(matter.moisture.shape, scale)
    assert matter.bulk_density is not None
    vessels = np.array([(one.vessel_l or bucket_l) / 1000.0 for one in ingredients])
    return np.asarray(vessels[:, None] * matter.bulk_density)


class _Maker:
    """Makes limits out of bounds, in one set of lots."""

    def __init__(
        self, ingredients: Sequence[Ingredient], matter: Matter, median: Matter, lots: Array, draws: Array,
        scale: float, packing: float,
    ) -> None:  # fmt: skip
        self.ingredients, self.matter, self.median = ingredients, matter, median
        self.lots, self.draws, self.scale, self.packing = lots, draws, scale, packing
        self.all_ratios, self.median_ratios = ratios(matter, packing), ratios(median, packing)
        self.unchecked: list[str] = []

    def limit(self, name: str, kind: str, row: Array, rhs: float, about: str, goal: float, side: int) -> Limit:
        largest = float(np.abs(row).max()) or 1.0
        none = np.zeros((0, len(row)))
        return Limit(name, kind, row / largest, rhs / largest, about, goal, side, none)  # type: ignore[arg-type]

    def amounts(self) -> list[Limit]:
        made = []
        for i, one in enumerate(self.ingredients):
            row = np.zeros(len(self.ingredients) + 1)
            row[i] = self.lots[i]
            if math.isfinite(one.stock_kg):
                name = say("stock of {name} ({kg:g} kg)", name=one.name, kg=one.stock_kg)
                made.append(self.limit(name, "stock", -row, -one.stock_kg, one.name, one.stock_kg, -1))
            if one.least_kg > 0:
                name = say("at least {kg:g} kg of {name}", kg=one.least_kg, name=one.name)
                made.append(self.limit(name, "least", row, one.least_kg, one.name, one.least_kg, 1))
        return made

    def totals(self, total_kg: float | None, total_l: float | None, bucket_l: float | None) -> list[Limit]:
        mass = np.append(self.lots, self.scale)
        some = [self.limit(NOT_EMPTY, "total", np.append(self.lots, 0.0), NOTHING * self.scale, "total_kg", 0.0, 1)]
        if total_kg is not None:
            return some + self._total(say("a total of {kg:g} kg", kg=total_kg), "total_kg", mass, total_kg, bucket_l)
        if total_l is not None:
            assert self.median.bulk_density is not None
            litres = 1000.0 * self.packing * self.lots / self.median.bulk_density[:, 0]
            row = np.append(litres, 0.0)
            return some + self._total(
                say("a total of {litres:g} litres", litres=total_l), "total_l", row, total_l, bucket_l
            )
        return some

    def _total(self, name: str, about: str, row: Array, goal: float, bucket_l: float | None) -> list[Limit]:
        # whole vessels cannot meet a total to the gram: half a vessel either way is as near as they come
        give = 0.0 if bucket_l is None else 0.5 * float(row[:-1].max())
        return [
            self.limit(name, "total", row, goal - give, about, goal, 1),
            self.limit(name, "total", -row, -goal - give, about, goal, -1),
        ]

    def of_range(self, key: str, one: Range) -> list[Limit]:
        if key not in self.all_ratios:
            lacking = _lacking(self.ingredients, key)
            self.unchecked.append(say("{quantity} was not checked: {lacking}", quantity=LABELS[key], lacking=lacking))
            return []
        return self.of_ratio(self.all_ratios[key], self.median_ratios[key], (one.low, one.high), "ratio", key)

    def of_share(self, name: str, side: Side, by_volume: bool) -> list[Limit]:
        drawn, median = share_ratio(self.matter, name, by_volume), share_ratio(self.median, name, by_volume)
        if drawn is None or median is None:
            self.unchecked.append(
                say("the share of {name} by volume was not checked: a bulk density is missing", name=name)
            )
            return []
        return self.of_ratio(drawn, median, side, "share", drawn.key)

    def of_ratio(self, drawn: Ratio, median: Ratio, ends: Side, kind: str, about: str) -> list[Limit]:
        made = []
        for side, goal in ((1, ends[0]), (-1, ends[1])):
            if goal is None:
                continue
            rows = self._rows(drawn, goal, side, self.draws)
            rows = rows / np.maximum(np.abs(rows).max(axis=1, keepdims=True), np.finfo(float).tiny)
            row = self._rows(median, goal, side, self.lots[:, None])[0]
            what = {"what": drawn.label, "value": shown(about, goal)}
            name = say("{what} at least {value}", **what) if side > 0 else say("{what} at most {value}", **what)
            one = self.limit(name, kind, row, 0.0, about, goal, side)
            made.append(replace(one, scenarios=rows))
        return made

    def _rows(self, ratio: Ratio, goal: float, side: int, lots: Array) -> Array:
        margin, water = ratio.margin(goal)
        per_lot = side * margin * lots
        return np.vstack([per_lot, np.full((1, per_lot.shape[1]), side * water * self.scale)]).T


def _lacking(ingredients: Sequence[Ingredient], key: str) -> str:
    needs = {"free_air_space": ("bulk_density", "ash_dm"), "salt": ("ec",)}.get(key, (key,))
    names = [one.name for one in ingredients if any(getattr(one, need) is None for need in needs)]
    return say("not known for {names}", names=joined(", ", names))


def shown(key: str, value_si: float) -> str:
    """Return a value of a quantity as people see it, with its unit."""
    if "share/" in key:
        return f"{value_si * 100:.4g} %"
    if key in ("total_kg", "total_l"):
        return f"{value_si:.4g} {'kg' if key == 'total_kg' else 'litres'}"
    unit, factor = UNITS.get(key, ("kg", 1.0))
    return f"{value_si * factor:.4g} {unit}".strip()


@dataclass(frozen=True)
class Answer:
    """What the solver said, and the unknowns; ``stopped`` is out of time, with the best so far if there is one."""

    status: Literal["optimal", "infeasible", "unbounded", "stopped"]
    x: Array
    value: float

    @property
    def found(self) -> bool:
        """Tell whether there is an answer to use."""
        return bool(len(self.x))


def minimise(
    cost: Array, rows: Array, rhs: Array, upper: Array, whole: Array | None = None, time_limit_s: float = 10.0
) -> Answer:
    """Return the x >= 0 with rows x >= rhs and x <= upper that costs least.

    Parameters
    ----------
    whole : True for unknowns that must be whole numbers.
    time_limit_s : give up after so many seconds and return the best found so far.
    """
    import highspy

    # the bare engine: the wrapper class prints a banner on the first use
    lp, engine = highspy.HighsLp(), highspy._Highs()  # type: ignore[attr-defined]
    lp.num_col_, lp.num_row_ = len(cost), len(rhs)
    lp.col_cost_, lp.col_lower_, lp.col_upper_ = cost, np.zeros(len(cost)), upper
    lp.row_lower_, lp.row_upper_ = rhs, np.full(len(rhs), highspy.kHighsInf)
    at_row, at_col = np.nonzero(rows)
    lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    lp.a_matrix_.start_ = np.searchsorted(at_row, np.arange(len(rhs) + 1))
    lp.a_matrix_.index_, lp.a_matrix_.value_ = at_col, rows[at_row, at_col]
    if whole is not None and whole.any():
        kinds = (highspy.HighsVarType.kContinuous, highspy.HighsVarType.kInteger)
        lp.integrality_ = [kinds[int(one)] for one in whole]
    for name, value in _OPTIONS.items():
        engine.setOptionValue(name, value)
    engine.setOptionValue("time_limit", time_limit_s)
    engine.passModel(lp)
    engine.run()
    return _answer(engine)


_OPTIONS: dict[str, bool | float | int | str] = {
    "output_flag": False,
    "threads": 1,  # the same answer on every machine
    "primal_feasibility_tolerance": 1e-10,
    "dual_feasibility_tolerance": 1e-10,
    "mip_feasibility_tolerance": 1e-9,
    "mip_rel_gap": 1e-4,  # whole vessels: nobody fills them more exactly than that
}


def _answer(engine: Any) -> Answer:
    import highspy

    status, states = engine.getModelStatus(), highspy.HighsModelStatus
    solution, value = engine.getSolution(), engine.getInfo().objective_function_value
    if status == states.kOptimal:
        return Answer("optimal", np.maximum(solution.col_value, 0.0), float(value))
    if status in (states.kUnbounded, states.kUnboundedOrInfeasible):
        return Answer("unbounded" if status == states.kUnbounded else "infeasible", np.zeros(0), math.nan)
    if status == states.kTimeLimit and math.isfinite(value) and len(solution.col_value):
        return Answer("stopped", np.maximum(solution.col_value, 0.0), float(value))
    return Answer("infeasible" if status == states.kInfeasible else "stopped", np.zeros(0), math.nan)
