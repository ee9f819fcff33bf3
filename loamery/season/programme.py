"""The season as a mixed-integer linear programme, written with labelled dimensions and solved by HiGHS.

Dimensions: lot, raw, spread (a stuff and a use), bed, week, check (weeks at whose end nitrogen is held against demand),
recipe, heap (places of one size), worms. Only batches are counted whole; everything else is an amount.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from loamery.errors import NoPlan
from loamery.reference import coefficient
from loamery.season.mulch import cover_wanted, mulch_looks
from loamery.season.problem import Problem, depth_m_per_kg_m2
from loamery.season.solver import run_highs
from loamery.season.work import batch_hours, collect_hours_per_kg, spread_hours_per_kg
from loamery.units import to_si
from loamery.worms.published import feed_kg_per_week

Array = NDArray[np.float64]
TIME_LIMIT_S = 20.0
LEAST_NEED_G = 0.1
BUILD_EVERY_WEEKS = 2
"""Heaps are built every other week, which halves the yes-or-no decisions and suits working days."""
GAP = 2.0
"""A plan is good enough when no other can be better by more, in the points of the objective (one point is an hour)."""
_TINY = 1e-9


@dataclass(frozen=True)
class Solution:
    """What the programme decided; arrays in kg as received.

    Parameters
    ----------
    take : shape (lots, weeks). spread : (spreads, beds, weeks). build : (recipes, heap places, weeks), ingredients without
        water. feed : (raw, worm beds, weeks).
    short_n : nitrogen missing at each check, g per m2, (beds, checks). short_pk : the same for P and K, (beds, 2).
    bare : share of the wanted mulch that is missing, (beds, looks).
    objective, bound : value reached, and what no plan can beat; status : in HiGHS's words.
    """

    take: Array
    spread: Array
    build: Array
    feed: Array
    short_n: Array
    short_pk: Array
    bare: Array
    objective: float
    bound: float
    status: str

    @property
    def gap(self) -> float:
        """Return by how many points of the objective the plan may at most be improved."""
        return max(self.objective - self.bound, 0.0)


def solve_season(problem: Problem) -> Solution:
    """Return the best plan for a season.

    Raises
    ------
    NoPlan : the solver found none; cannot happen through shortfalls, which are allowed and priced.
    """
    programme = _Programme(problem)
    return programme.solve()


class _Programme:
    """The model under construction: variables, then constraints, then what it is to minimise."""

    def __init__(self, problem: Problem) -> None:
        import linopy
        import pandas as pd

        linopy.options["semantics"] = "v1"
        self.problem = problem
        self.model = linopy.Model()
        weeks = problem.calendar.weeks
        self.index = {
            "lot": pd.RangeIndex(len(problem.lots), name="lot"),
            "raw": pd.RangeIndex(len(problem.raw), name="raw"),
            "spread": pd.RangeIndex(len(problem.spreads), name="spread"),
            "bed": pd.RangeIndex(len(problem.needs), name="bed"),
            "week": pd.RangeIndex(weeks, name="week"),
            "when": pd.RangeIndex(weeks, name="when"),
            "look": pd.Index(mulch_looks(weeks), name="look"),
            "check": pd.Index(problem.checks, name="check"),
            "recipe": pd.RangeIndex(len(problem.recipes), name="recipe"),
            "heap": pd.RangeIndex(len(problem.places), name="heap"),
            "worms": pd.RangeIndex(len(problem.garden.worm_beds), name="worms"),
            "nutrient": pd.Index(["P", "K"], name="nutrient"),
        }
        self.area = self._array([need.bed.area_m2 for need in problem.needs], "bed")
        self._variables()
        self._supply()
        self._heaps()
        self._worm_beds()
        self._products()
        self._mulch()
        self._crops()
        self._ceilings()
        self._hours_and_money()

    def _array(self, values: Any, *dims: str) -> Any:
        import xarray as xr

        return xr.DataArray(np.asarray(values), coords={dim: self.index[dim] for dim in dims}, dims=dims)

    def _add(self, name: str, *dims: str, **bounds: Any) -> Any:
        if any(len(self.index[dim]) == 0 for dim in dims):
            return None
        return self.model.add_variables(lower=0, coords=[self.index[dim] for dim in dims], name=name, **bounds)

    def _variables(self) -> None:
        problem = self.problem
        self.take = self._add("take", "lot", "week", upper=self._array(problem.lot_kg, "lot", "week"))
        most = np.where(problem.allowed, np.inf, 0.0)
        self.spread = self._add("spread", "spread", "bed", "week", upper=self._array(most, "spread", "bed", "week"))
        self.build = self._add("build", "recipe", "heap", "week")
        self.start = None
        if self.build is not None:
            build_week = np.arange(problem.calendar.weeks) % BUILD_EVERY_WEEKS == 0
            most_at_once = np.outer([len(place.heaps) for place in problem.places], build_week).astype(float)
            self.start = self._add(
                "start", "recipe", "heap", "week", upper=self._array(most_at_once, "heap", "week"), integer=True
            )
        eats = self._array(np.where(problem.castings_yield > 0, np.inf, 0.0), "raw")
        self.feed = self._add("feed", "raw", "worms", "week", upper=eats)
        self.stock = self._add("stock", "raw", "week")
        self.short_n = self._add("short_n", "bed", "check")
        self.short_pk = self._add("short_pk", "bed", "nutrient")
        self.surplus = self._add("surplus", "bed")
        self.bare = self._add("bare", "bed", "look", upper=1)

    def _supply(self) -> None:
        """Hold stock = stock before + taken - used, and use everything before it spoils."""
        problem = self.problem
        if self.take is None:
            raise NoPlan(
                "No donor gives anything in this season.",
                conflict=["supplies.csv holds no amount above zero within the season"],
                remedies=["add a supply with kg_per_week above zero", "check the dates of the supplies and the season"],
            )
        source = np.zeros((len(problem.raw), len(problem.lots)))
        source[problem.lot_material, np.arange(len(problem.lots))] = 1.0
        taken = (self._array(source, "raw", "lot") * self.take).sum("lot")
        self._flow("stock", self.stock, taken, self._used())
        for position, stuff in enumerate(problem.raw):
            if (kept := int(stuff.storage_weeks)) < problem.calendar.weeks:
                self._keeps(position, kept)

    def _flow(self, name: str, stock: Any, comes: Any, goes: Any) -> None:
        """Hold a stock at the end of each week to the stock before, what comes and what goes."""
        self.model.add_constraints(stock - stock.shift(week=1).fillna(0) - comes + goes == 0, name=name)

    def _keeps(self, position: int, kept: int) -> None:
        """Allow no more stock than came in within the weeks a material keeps."""
        stock = self.stock.sel(raw=position, drop=True)
        lots = np.flatnonzero(self.problem.lot_material == position)
        if kept == 0 or not lots.size:
            self.model.add_constraints(stock <= 0, name=f"keeps_{position}")
            return
        weeks = np.arange(self.problem.calendar.weeks)
        age = weeks[None, :] - weeks[:, None]
        window = self._array(((age >= 0) & (age < kept)).astype(float), "week", "when")
        came_in = (window * self.take.sel(lot=lots).sum("lot")).sum("week").rename(when="week")
        self.model.add_constraints(stock - came_in <= 0, name=f"keeps_{position}")

    def _used(self) -> Any:
        """Return the use of each raw material in each week."""
        problem = self.problem
        spread_of = np.array([[float(one.stuff.id == raw.id) for one in problem.spreads] for raw in problem.raw])
        used = (self._array(spread_of, "raw", "spread") * self.spread).sum(["spread", "bed"])
        if self.build is not None:
            shares = np.array(
                [[dict(recipe.shares).get(raw.id, 0.0) for recipe in problem.recipes] for raw in problem.raw]
            )
            used = used + (self._array(shares, "raw", "recipe") * self.build).sum(["recipe", "heap"])
        if self.feed is not None:
            used = used + self.feed.sum("worms")
        return used

    def _heaps(self) -> None:
        """Hold each batch between the smallest that heats and what the heap holds, one batch at a time."""
        if self.build is None or self.start is None:
            return
        problem = self.problem
        litres = self._array([(1 + one.water_kg_kg) / one.density_kg_m3 for one in problem.recipes], "recipe")
        capacity = self._array([place.capacity_m3 for place in problem.places], "heap")
        least = np.minimum(capacity, coefficient("heap_min_volume").value)
        volume = litres * self.build
        self.model.add_constraints(volume - capacity * self.start <= 0, name="heap_holds")
        self.model.add_constraints(volume - least * self.start >= 0, name="heap_heats")
        weeks = np.arange(problem.calendar.weeks)
        age = weeks[None, :] - weeks[:, None]
        active = self._array(
            ((age >= 0) & (age < coefficient("heap_active_weeks").value)).astype(float), "week", "when"
        )
        count = self._array([len(place.heaps) for place in problem.places], "heap")
        self.model.add_constraints((active * self.start.sum("recipe")).sum("week") <= count, name="one_batch_at_a_time")

    def _worm_beds(self) -> None:
        if self.feed is not None:
            most = self._array([feed_kg_per_week(one) for one in self.problem.garden.worm_beds], "worms")
            self.model.add_constraints(self.feed.sum("raw") - most <= 0, name="worms_eat")

    def _products(self) -> None:
        """Spread no more compost or castings than is ready."""
        problem = self.problem
        if self.build is not None:
            made = self._array(problem.compost_yield, "recipe") * self.build.sum("heap")
            self._product("compost", "recipe", made, problem.ready, [one.id for one in problem.composts])
        if self.feed is not None and problem.castings is not None:
            made = (self._array(problem.castings_yield, "raw") * self.feed.sum("worms")).sum("raw")
            self._product("castings", "", made, problem.castings_ready, [problem.castings.id])

    def _product(self, name: str, dim: str, made: Any, ready: Array, stuff_ids: list[str]) -> None:
        """Keep a stock of each product: it comes when it is ready and goes when it is spread."""
        finishes = self._array(np.diff(ready, axis=1, prepend=0.0), "week", "when")
        comes = (finishes * made).sum("week").rename(when="week")
        spread_of = np.array([[float(one.stuff.id == key) for one in self.problem.spreads] for key in stuff_ids])
        share = self._array(spread_of, dim, "spread") if dim else self._array(spread_of[0], "spread")
        goes = (share * self.spread).sum(["spread", "bed"])
        dims = (dim, "week") if dim else ("week",)
        self._flow(name, self._add(f"{name}_stock", *dims), comes, goes)

    def _mulch(self) -> None:
        """Hold the standing depth to each material's limit and the bed's, and ask for cover on growing crops."""
        import xarray as xr

        problem = self.problem
        looks = mulch_looks(problem.calendar.weeks)
        rows = [index for index, one in enumerate(problem.spreads) if one.use == "mulch"]
        wanted = coefficient("mulch_depth_target").value
        asked = wanted * self._array(cover_wanted(problem)[:, looks], "bed", "look")
        most = coefficient("standing_mulch_max").value
        standing: Any = 0
        if rows:
            laid = [problem.spreads[row] for row in rows]
            layers = np.array([one.left[:, looks] * depth_m_per_kg_m2(one.stuff) for one in laid])
            coords = {"spread": rows, "week": self.index["week"], "look": self.index["look"]}
            depth = (xr.DataArray(layers, coords=coords) * self.spread.sel(spread=rows)).sum("week") / self.area
            limit = xr.DataArray([one.stuff.mulch_depth_m for one in laid], coords={"spread": rows})
            matters = (limit < most) & self._array(np.ones((len(problem.needs), len(looks))), "bed", "look").astype(
                bool
            )
            self.model.add_constraints(depth <= limit, name="layer", mask=matters)
            standing = depth.sum("spread")
            self.model.add_constraints(standing <= most, name="mulch")
        self.model.add_constraints(standing + wanted * self.bare >= asked, name="cover")

    def _crops(self) -> None:
        """Let supply and shortfall together meet demand at each check, and price nitrogen far beyond need.

        Rows are in g per m2, so that the solver's tolerances stay far below the figures.
        """
        problem = self.problem
        checks = problem.checks
        grams = 1.0 / to_si(1.0, "g")
        n = np.array([one.n_kg_kg[:, checks] for one in problem.spreads]) * grams
        supply = (self._array(n, "spread", "week", "check") * self.spread).sum(["spread", "week"]) / self.area
        asked = np.array([(need.n_demand_kg_m2 - need.n_soil_kg_m2)[checks] for need in problem.needs]) * grams
        self.model.add_constraints(supply + self.short_n >= self._array(asked, "bed", "check"), name="nitrogen")
        over = self._array(np.maximum(asked[:, -1], 0.0) + coefficient("n_supply_surplus_max").value, "bed")
        self.model.add_constraints(supply.sel(check=checks[-1], drop=True) - self.surplus <= over, name="surplus")
        for nutrient in ("P", "K"):
            per_kg = np.array([getattr(one, f"{nutrient.lower()}_kg_kg") for one in problem.spreads]) * grams
            given = (self._array(per_kg, "spread") * self.spread).sum(["spread", "week"]) / self.area
            need = self._array([one.need_kg_m2[nutrient] * grams for one in problem.needs], "bed")
            short = self.short_pk.sel(nutrient=nutrient, drop=True)
            self.model.add_constraints(given + short >= need, name=f"need_{nutrient}")

    def _ceilings(self) -> None:
        """Hold totals of phosphorus, potassium, salts and trace elements to each bed's ceilings.

        What no bed could reach even at full depth is left out: it cannot bind, and rows cost time.
        """
        problem = self.problem
        self._dug_in()
        for key in dict.fromkeys(key for need in problem.needs for key in need.ceilings):
            per_kg = np.array([one.reaching(key) * total_per_kg(one.stuff, key) for one in problem.spreads])
            limits = np.array([need.ceilings[key].limit_kg_m2 for need in problem.needs])
            if _most_kg_m2(problem, per_kg) <= limits.min():
                continue
            load = (self._array(per_kg, "spread") * self.spread).sum(["spread", "week"]) / self.area
            scale = 1.0 / max(float(limits.max()), _TINY)
            self.model.add_constraints(scale * load <= scale * self._array(limits, "bed"), name=f"ceiling_{key}")

    def _dug_in(self) -> None:
        """Hold what is worked into a bed in one season to what soil takes."""
        rows = [index for index, one in enumerate(self.problem.spreads) if one.use == "dig_in"]
        if rows:
            worked_in = self.spread.sel(spread=rows).sum(["spread", "week"]) / self.area
            self.model.add_constraints(worked_in <= coefficient("compost_rate_max").value, name="dug_in")

    def _hours_and_money(self) -> None:
        """State what is minimised, and hold weekly hours where the garden names them."""
        problem = self.problem
        hours = self.weekly_hours()
        if problem.garden.info.hours_per_week is not None:
            self.model.add_constraints(hours <= problem.garden.info.hours_per_week, name="hands")
        price = self._array([lot.price_per_kg for lot in problem.lots], "lot")
        free = self._array([float(lot.price_per_kg == 0) for lot in problem.lots], "lot")
        weight = {key: coefficient(f"weight_{key}").value for key in _WEIGHTS}
        objective = weight["shortfall"] * self._relative_shortfall(weight)
        objective = objective + weight["surplus"] * (self._bed_weight() * self.surplus / self._need_scale("N")).sum()
        objective = objective + weight["cover"] * (self._bed_weight() * self.bare).sum() / len(self.index["look"])
        objective = objective + weight["hour"] * hours.sum() + weight["money"] * (price * self.take).sum()
        objective = objective - weight["diverted"] * ((free * self.take).sum() - self.stock.isel(week=-1).sum())
        if self.build is not None:
            late = self._array(1.0 - problem.ready[:, -1], "week")
            kept = self._array(problem.compost_yield, "recipe") * late * self.build
            after = self._array(batch_hours(problem.calendar.weeks)[:, -1], "week")
            objective = objective - weight["carryover"] * kept.sum() + weight["hour"] * (after * self.start).sum()
        self.model.add_objective(objective)

    def _bed_weight(self) -> Any:
        return self.area / float(self.area.sum())

    def _need_scale(self, key: str) -> Any:
        """Return each bed's need in g per m2, at least a little so that a bed without need does not divide by zero."""
        return self._array(
            [max(need.need_kg_m2[key] / to_si(1.0, "g"), LEAST_NEED_G) for need in self.problem.needs], "bed"
        )

    def _relative_shortfall(self, weight: dict[str, float]) -> Any:
        checks = len(self.problem.checks)
        total = weight["n"] * (self._bed_weight() / self._need_scale("N") * self.short_n).sum() / checks
        for nutrient in ("P", "K"):
            scale = self._bed_weight() / self._need_scale(nutrient)
            total = total + weight[nutrient.lower()] * (scale * self.short_pk.sel(nutrient=nutrient, drop=True)).sum()
        return total

    def weekly_hours(self) -> Any:
        """Return the expression of hours of work in each week; turnings count in the week they are done."""
        problem = self.problem
        per_take = self._array([collect_hours_per_kg(problem, index) for index in range(len(problem.lots))], "lot")
        hours = (per_take * self.take).sum("lot")
        hours = hours + spread_hours_per_kg() * self.spread.sum(["spread", "bed"])
        if self.start is not None:
            work = self._array(batch_hours(problem.calendar.weeks)[:, :-1], "week", "when")
            hours = hours + (work * self.start.sum(["recipe", "heap"])).sum("week").rename(when="week")
        return hours

    def solve(self) -> Solution:
        """Run HiGHS and read the answer."""
        answer = run_highs(self.model, time_limit_s=TIME_LIMIT_S, gap=GAP)
        if not answer.by_label.size:
            raise NoPlan(
                f"The solver found no plan ({answer.status}).",
                remedies=["raise hours_per_week in garden.toml, or leave it out", "loosen the uses of the materials"],
            )
        weeks, beds = self.problem.calendar.weeks, len(self.problem.needs)
        shapes = {"build": (0, 0, weeks), "feed": (len(self.problem.raw), 0, weeks)}

        def amounts(name: str) -> Array:
            variable = getattr(self, name)
            if variable is None:
                return np.zeros(shapes.get(name, (0, beds, weeks)))
            return np.maximum(answer.values(variable), 0.0)

        names = ("take", "spread", "build", "feed", "short_n", "short_pk", "bare")
        return Solution(
            **{name: amounts(name) for name in names},
            objective=answer.objective,
            bound=answer.bound,
            status=answer.status,
        )


_WEIGHTS = ("shortfall", "n", "p", "k", "surplus", "cover", "hour", "money", "diverted", "carryover")


def _most_kg_m2(problem: Problem, per_kg: Array) -> float:
    """Return the most of a substance that any bed could receive: full mulch renewed as it decays, and all worked in."""
    mulch = dug_in = 0.0
    for held, spread in zip(per_kg, problem.spreads, strict=True):
        if spread.use == "dig_in":
            dug_in = max(dug_in, held)
        else:
            least_left = max(float(spread.left[spread.left > 0].min()), _TINY)
            mulch = max(mulch, held / depth_m_per_kg_m2(spread.stuff) / least_left)
    depth, rate = coefficient("standing_mulch_max").value, coefficient("compost_rate_max").value
    return mulch * depth + dug_in * rate


def total_per_kg(stuff: Any, key: str) -> float:
    """Return the median of what a kilogram of a stuff holds of P, K, soluble salts (``salt``) or a trace element."""
    draws = {"P": stuff.p, "K": stuff.k, "salt": stuff.salts}.get(key, stuff.trace.get(key))
    return 0.0 if draws is None else float(np.median(draws))
