"""A plan carried out week by week in seasons that may come: what is laid on each bed when, and where matter stays."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from loamery.reference import coefficient
from loamery.season.decision import Decision
from loamery.season.layers import Laid, fitted
from loamery.season.plan import Batch
from loamery.season.problem import Problem
from loamery.season.replay_heaps import HeapFate
from loamery.season.stuff import Stuff
from loamery.season.years import DAYS, Years
from loamery.worms.published import lead_time_weeks as castings_weeks

Array = NDArray[np.float64]
Amounts = dict[str, Array]
CASTINGS = "castings"
LEAST_KG = 1e-6
KEPT_WITH_K = ("k", "salts")


@dataclass(eq=False)
class Pile:
    """A stock of one product: what comes in when it is ready, what is there, what is owed to beds.

    Parameters
    ----------
    arrivals : (week it is ready by member, contents by member).
    """

    arrivals: list[tuple[Array, Amounts]] = field(default_factory=list)
    there: Amounts = field(default_factory=dict)

    def comes(self, week: int) -> None:
        """Take in what becomes ready in a week."""
        for when, amounts in self.arrivals:
            add(self.there, {key: np.where(when == week, value, 0.0) for key, value in amounts.items()})

    def gives(self, kg: Array) -> Amounts:
        """Take out kilograms of it, and return what they hold."""
        share = kg / np.maximum(self.there["mass"], LEAST_KG) if self.there else 0.0 * kg
        out = {key: value * share for key, value in self.there.items()}
        for key, value in out.items():
            self.there[key] = self.there[key] - value
        return out

    @property
    def mass(self) -> Array | float:
        """Return what is there, kg."""
        return self.there.get("mass", 0.0)


@dataclass(frozen=True, eq=False)
class Carried:
    """A plan as it was carried out.

    Parameters
    ----------
    laid : on beds. owed : planned product that never came, kg, (n,); late : planned product that was not there in its
        week, kg, (n,); planned : product the plan spreads, kg.
    left_over : share of everything planned that did not fit a layer or a heap, (n,).
    used : of each raw material, kg, (n,).
    book : by quantity (``dry``, ``nitrogen``, ``p``): what was collected and where it stayed, kg, each (n,).
    """

    laid: tuple[Laid, ...]
    owed: Array
    late: Array
    planned: float
    left_over: Array
    used: Mapping[str, Array]
    book: Mapping[str, Mapping[str, Array]]


def add(into: Amounts, more: Mapping[str, Array]) -> None:
    """Add amounts to a store of them."""
    for key, value in more.items():
        into[key] = into[key] + value if key in into else value


def contents(stuff: Stuff, kg: Array) -> Amounts:
    """Return what kilograms of a raw stuff hold; kg has shape (n,) or (n, weeks)."""
    per = {key: getattr(stuff, key) for key in ("dry", "carbon", "n_mineral", "n_organic", "p", "k", "salts")}
    per |= {f"trace {key}": value for key, value in stuff.trace.items()}
    shape = (slice(None),) + (None,) * (kg.ndim - 1)
    return {"mass": kg * np.ones_like(kg), **{key: value[shape] * kg for key, value in per.items()}}


def carry_out(
    problem: Problem, solution: Decision, batches: Sequence[Batch], fates: Sequence[HeapFate], years: Years
) -> Carried:
    """Return what is laid when a plan is carried out with what really comes of it.

    Notes
    -----
    Raw material goes as planned as far as it fits: one who lays a mulch sees when it is as deep as it may be, one who builds sees when
    the heap is full, and leaves the rest. A product that is not ready or less than planned is shared among the beds that wait for
    it; what is owed is made up as soon as there is more and the bed may still take it.
    """
    piles, lost = _products(problem, solution, batches, fates, years)
    product_laid, owed, late, planned = _spread_products(problem, solution, piles, years)
    laid = fitted(problem, [*_raw(problem, solution, years), *product_laid], years)
    used = _used_kg(problem, solution, batches, fates, laid, years)
    book = _book(problem, solution, years, laid, piles, lost, used)
    asked = float(solution.spread.sum() + solution.build.sum() + solution.feed.sum())
    done = sum((one.held["mass"].sum(axis=1) for one in laid if one.held), np.zeros(years.n))
    left_over = 1.0 - (done + _into_heaps(batches, fates, years) + float(solution.feed.sum()) + owed) / max(
        asked, LEAST_KG
    )
    return Carried(tuple(laid), owed, late, planned, np.maximum(left_over, 0.0), used, book)


def _into_heaps(batches: Sequence[Batch], fates: Sequence[HeapFate], years: Years) -> Array:
    pairs = zip(batches, fates, strict=True)
    return sum((sum(batch.parts_kg.values()) * fate.fits for batch, fate in pairs), np.zeros(years.n))


def _raw(problem: Problem, solution: Decision, years: Years) -> list[Laid]:
    out = []
    for row, spread in enumerate(problem.spreads):
        if spread.stuff.id not in years.raw:
            continue
        for bed in range(len(problem.needs)):
            kg = solution.spread[row, bed]
            if kg.sum() > LEAST_KG:
                out.append(Laid(row, bed, contents(years.raw[spread.stuff.id], np.tile(kg, (years.n, 1)))))
    return out


def _products(
    problem: Problem, solution: Decision, batches: Sequence[Batch], fates: Sequence[HeapFate], years: Years
) -> tuple[dict[str, Pile], Amounts]:
    """Return the stocks of composts and castings to come, and what was lost in making them."""
    lost: Amounts = {}
    piles: dict[str, Pile] = {stuff.id: Pile() for stuff in problem.composts}
    for batch, fate in zip(batches, fates, strict=True):
        kept = {"dry": fate.dry_left, "carbon": fate.c_left, "n": fate.n_left, **_kept_pk(years)}
        built = {key: value * fate.fits for key, value in _mixed(years, batch.parts_kg).items()}
        made = _product(built, kept, lost)
        when = np.where(
            np.isfinite(fate.ready_days), batch.week + np.ceil(fate.ready_days / DAYS), float(problem.calendar.weeks)
        )
        piles[batch.recipe.id].arrivals.append((when, made))
    for key, amounts, week in _standing(problem, years):
        piles[key] = Pile([(np.full(years.n, week), amounts)])
    if problem.castings is not None:
        piles[problem.castings.id] = _castings(problem, solution, years, lost)
    return piles, lost


def _standing(problem: Problem, years: Years) -> list[tuple[str, Amounts, float]]:
    """Return the compost of heaps that stood before the season: its stuff, what it holds, the week it is ready."""
    found = []
    for one in problem.standing:
        names = ("dry", "carbon", "n_mineral", "n_organic", "p", "k", "salts")
        drawn: dict[str, Any] = {key: np.resize(getattr(one.compost, key), years.n) for key in names}
        trace = {key: np.resize(value, years.n) for key, value in one.compost.trace.items()}
        stuff = replace(one.compost, **drawn, trace=trace)
        found.append((stuff.id, contents(stuff, np.full(years.n, one.compost_kg)), float(max(one.ready_week, 0))))
    return found


def _kept_pk(years: Years) -> dict[str, Array]:
    return {key: 1.0 - np.minimum(years.drawn(coefficient(f"heap_{key}_loss")), 1.0) for key in "pk"}


def _mixed(years: Years, parts_kg: Mapping[str, float]) -> Amounts:
    total: Amounts = {}
    for name, kg in parts_kg.items():
        add(total, contents(years.raw[name], np.full(years.n, kg)))
    return total


def _product(built: Amounts, kept: Mapping[str, Array], lost: Amounts) -> Amounts:
    """Return what is left of a blend as a moist product, and book what is lost."""
    nitrogen = built["n_mineral"] + built["n_organic"]
    made = {
        "dry": built["dry"] * kept["dry"],
        "carbon": built["carbon"] * kept["carbon"],
        "n_mineral": np.zeros_like(nitrogen),
        "n_organic": nitrogen * kept["n"],
        "p": built["p"] * kept["p"],
        **{key: built[key] * kept["k"] for key in KEPT_WITH_K},
        **{key: value for key, value in built.items() if key.startswith("trace ")},
    }
    made["mass"] = made["dry"] / (1.0 - coefficient("heap_finished_moisture").value)
    add(lost, {key: built[key] - made[key] for key in ("dry", "p")} | {"nitrogen": nitrogen - made["n_organic"]})
    return made


def _castings(problem: Problem, solution: Decision, years: Years, lost: Amounts) -> Pile:
    share = np.minimum(years.drawn(coefficient("castings_yield")), 1.0)
    kept = {"dry": share, "carbon": share, "n": 1.0 - np.minimum(years.drawn(coefficient("worm_n_loss")), 1.0),
            "p": np.ones(years.n), "k": np.ones(years.n)}  # fmt: skip
    pile, lead = Pile(), int(np.ceil(castings_weeks()))
    for week, fed in _fed_weeks(solution):
        parts = {one.id: float(fed[at, week]) for at, one in enumerate(problem.raw) if fed[at, week] > 0.0}
        made = _product(_mixed(years, parts), kept, lost)
        pile.arrivals.append((np.full(years.n, float(week + lead)), made))
    return pile


def _spread_products(
    problem: Problem, solution: Decision, piles: Mapping[str, Pile], years: Years
) -> tuple[list[Laid], Array, Array, float]:
    weeks, n = problem.calendar.weeks, years.n
    out: list[Laid] = []
    owed_all, late_all, planned = np.zeros(n), np.zeros(n), 0.0
    for key, pile in piles.items():
        rows = [row for row, one in enumerate(problem.spreads) if one.stuff.id == key]
        waiting = {
            (row, bed): np.zeros(n)
            for row in rows
            for bed in range(len(problem.needs))
            if solution.spread[row, bed].sum() > LEAST_KG
        }
        planned += sum(float(solution.spread[row, bed].sum()) for row, bed in waiting)
        held: dict[tuple[int, int], list[Amounts]] = {place: [] for place in waiting}
        for week in range(weeks):
            pile.comes(week)
            late_all += _lay(problem, solution, pile, waiting, held, week)
        out += [Laid(row, bed, _by_week(held[row, bed])) for row, bed in waiting]
        owed_all += sum(waiting.values(), np.zeros(n))
    return out, owed_all, late_all, planned


def _lay(
    problem: Problem,
    solution: Decision,
    pile: Pile,
    waiting: dict[tuple[int, int], Array],
    held: dict[tuple[int, int], list[Amounts]],
    week: int,
) -> Array | float:
    """Lay what is owed as far as it is there, and return what this week's plan lacks, kg."""
    for row, bed in waiting:
        waiting[row, bed] = waiting[row, bed] + solution.spread[row, bed, week]
    open_now = [place for place in waiting if problem.allowed[place[0], place[1], week]]
    asked = sum(waiting[place] for place in open_now) if open_now else 0.0
    share = np.minimum(pile.mass / np.maximum(asked, LEAST_KG), 1.0)
    lacking: Array | float = 0.0
    for place in waiting:
        kg = waiting[place] * share if place in open_now else np.zeros_like(waiting[place])
        held[place].append(pile.gives(kg))
        waiting[place] = waiting[place] - kg
        lacking = lacking + np.minimum(waiting[place], solution.spread[place[0], place[1], week])
    return lacking


def _by_week(weekly: Sequence[Amounts]) -> Amounts:
    names = dict.fromkeys(key for one in weekly for key in one)
    blank = np.zeros_like(next(iter(weekly[-1].values()))) if weekly and weekly[-1] else np.zeros(1)
    return {key: np.stack([one.get(key, blank) for one in weekly], axis=1) for key in names}


def nitrogen_of(amounts: Mapping[str, Array]) -> Array:
    """Return the nitrogen that amounts hold, mineral and organic."""
    return np.asarray(amounts["n_mineral"] + amounts["n_organic"])


def _book(
    problem: Problem,
    solution: Decision,
    years: Years,
    laid: Sequence[Laid],
    piles: Mapping[str, Pile],
    lost: Amounts,
    used: Mapping[str, Array],
) -> dict[str, dict[str, Array]]:
    """Return the account of dry matter, nitrogen and phosphorus: collected, and where it stayed."""
    collected, left = _zero(years), _zero(years)
    for index, stuff in enumerate(problem.raw):
        taken = had_kg(problem, solution, index)
        for store, kg in ((collected, np.full(years.n, taken)), (left, taken - used[stuff.id])):
            for key, value in _three(contents(years.raw[stuff.id], kg)).items():
                store[key] = store[key] + value
    for _, amounts, _ in _standing(problem, years):
        _sum_into(collected, _three(amounts))
    applied, product = _zero(years), _zero(years)
    for one in laid:
        if one.held:
            _sum_into(applied, {key: value.sum(axis=1) for key, value in _three(one.held).items()})
    for pile in piles.values():
        if pile.there:
            _sum_into(product, _three(pile.there))
        for when, amounts in pile.arrivals:
            late = when >= problem.calendar.weeks
            _sum_into(product, {key: np.where(late, value, 0.0) for key, value in _three(amounts).items()})
    gone = {key: lost.get(key, np.zeros(years.n)) for key in ("dry", "nitrogen", "p")}
    return {
        key: {
            "collected": collected[key], "applied": applied[key], "product kept": product[key],
            "lost": gone[key], "left": left[key],
        }
        for key in ("dry", "nitrogen", "p")
    }  # fmt: skip


def had_kg(problem: Problem, solution: Decision, index: int) -> float:
    """Return what there is of a raw material in the season: taken from donors, bought, and in store at the start, kg."""
    taken = float(solution.take[problem.lot_material == index].sum())
    return taken + float(solution.buy[problem.good_material == index].sum()) + float(problem.store_kg[index])


def _zero(years: Years) -> Amounts:
    return {key: np.zeros(years.n) for key in ("dry", "nitrogen", "p")}


def _three(amounts: Mapping[str, Array]) -> Amounts:
    return {"dry": amounts["dry"], "nitrogen": nitrogen_of(amounts), "p": amounts["p"]}


def _sum_into(store: Amounts, more: Mapping[str, Array]) -> None:
    for key, value in more.items():
        store[key] = store[key] + value


def _used_kg(
    problem: Problem,
    solution: Decision,
    batches: Sequence[Batch],
    fates: Sequence[HeapFate],
    laid: Sequence[Laid],
    years: Years,
) -> dict[str, Array]:
    """Return what is used of each raw material in the season, kg, counted as it is carried out."""
    used = {one.id: np.zeros(years.n) for one in problem.raw}
    for one in laid:
        key = problem.spreads[one.row].stuff.id
        if key in used and one.held:
            used[key] = used[key] + one.held["mass"].sum(axis=1)
    for batch, fate in zip(batches, fates, strict=True):
        for key, kg in batch.parts_kg.items():
            used[key] = used[key] + kg * fate.fits
    for week, fed in _fed_weeks(solution):
        for at, stuff in enumerate(problem.raw):
            used[stuff.id] = used[stuff.id] + float(fed[at, week])
    return used


def _fed_weeks(solution: Decision) -> list[tuple[int, Array]]:
    fed = solution.feed.sum(axis=1)
    return [(int(week), fed) for week in np.flatnonzero(fed.sum(axis=0) > LEAST_KG)]
