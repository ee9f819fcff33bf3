"""The season as a mixed-integer linear programme: what is decided and what has to hold.

Indices: l lot, g good, m raw material, q stuff (raw, compost, castings), s spread (a stuff and a use), b bed, t week, k nitrogen
check, r recipe, h heap places of one size, w worm bed, j scenario, i look at the mulch. Every block of rows has the name
under which docs/season.md describes it and `loamery.season.duals` gives its prices. What is best stands in aims.py.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loamery.errors import NoPlan
from loamery.reference import coefficient
from loamery.season.allowed import is_ash
from loamery.season.matrix import INFINITY, Array, Index, Matrix
from loamery.season.mulch import cover_wanted, mulch_looks
from loamery.season.problem import Problem, depth_m_per_kg_m2
from loamery.season.work import batch_hours, collect_hours_per_kg, handling_hours_per_kg, spread_hours_per_kg
from loamery.units import to_si
from loamery.worms.published import feed_kg_per_week, nitrogen_lost_share

GRAMS = 1.0 / to_si(1.0, "g")
_TINY = 1e-9


@dataclass(frozen=True)
class Columns:
    """Numbers of the columns, by block; see the table of variables in docs/season.md."""

    take: Index
    buy: Index
    sacks: Index
    spread: Index
    build: Index
    start: Index
    feed: Index
    stock: Index
    thrown: Index
    total: Index
    given: Index
    short_n: Index
    short_pk: Index
    surplus: Index
    bare: Index


@dataclass(frozen=True)
class _Inflow:
    """What comes into store: stuff, week, the column it comes with, and kg for each unit of that column."""

    stuff: NDArray[np.int64]
    week: NDArray[np.int64]
    column: Index
    kg: Array


def season_matrix(problem: Problem) -> tuple[Matrix, Columns]:
    """Return the programme of a season without its aims.

    Raises
    ------
    NoPlan : nothing can be had in the season.
    """
    if not (problem.lot_kg.any() or problem.goods or problem.store_kg.any()):
        raise NoPlan(
            "No donor gives anything in this season, nothing is in store and nothing is for sale.",
            conflict=["supplies.csv holds no amount above zero within the season"],
            remedies=["add a supply with kg_per_week above zero", "check the dates of the supplies and the season"],
        )
    m = Matrix()
    c = _columns(m, problem)
    _stocks(m, c, problem)
    _sacks(m, c, problem)
    _heaps(m, c, problem)
    _worm_beds(m, c, problem)
    _totals(m, c, problem)
    _mulch(m, c, problem)
    _nitrogen(m, c, problem)
    _phosphorus_and_potassium(m, c, problem)
    _ceilings(m, c, problem)
    _hands(m, c, problem)
    return m, c


def _columns(m: Matrix, p: Problem) -> Columns:
    weeks, beds, checks = p.calendar.weeks, len(p.needs), len(p.checks)
    spreads, count = len(p.spreads), p.scenarios.count
    heaps = (len(p.recipes), len(p.places), weeks)
    places = np.array([len(place.heaps) for place in p.places], dtype=float).reshape(1, -1, 1)
    used = p.allowed.any(axis=2)
    return (
        Columns(
            take=m.columns("take", p.lot_kg.shape, upper=p.lot_kg, where=p.lot_kg > 0),
            buy=m.columns("buy", (len(p.goods), weeks)),
            sacks=m.columns("sacks", (len(p.goods),), upper=[one.most for one in p.goods], whole=True),
            spread=m.columns("spread", p.allowed.shape, where=p.allowed),
            build=m.columns("build", heaps, where=p.buildable),
            start=m.columns("start", heaps, upper=places, where=p.buildable, whole=True),
            feed=m.columns("feed", (len(p.raw), len(p.garden.worm_beds), weeks), where=_eaten(p)),
            stock=m.columns("stock", (len(p.stuffs), weeks)),
            thrown=m.columns("thrown", (len(p.stuffs),), upper=p.store_kg, where=p.store_kg > 0),
            total=m.columns("total", used.shape, where=used),
            given=_given(m, p),
            short_n=m.columns("short_n", (count, beds, checks)),
            short_pk=m.columns("short_pk", (count, beds, 2)),
            surplus=m.columns("surplus", (count, beds)),
            bare=m.columns("bare", (beds, len(mulch_looks(weeks))), upper=1.0, where=_looked_at(p) > 0),
        )
        if spreads
        else _refuse_idle()
    )


def _refuse_idle() -> Columns:
    raise NoPlan(
        "Nothing that this garden has may be spread on a bed.",
        conflict=["the uses of the materials in materials.csv"],
        remedies=[
            "allow a material the use mulch or dig_in",
            "add a heap or a worm bed for what may not be spread raw",
        ],
    )


def _eaten(p: Problem) -> NDArray[np.bool_]:
    return np.asarray(p.castings_yield > 0).reshape(-1, 1, 1)


def _looked_at(p: Problem) -> Array:
    return np.asarray(cover_wanted(p)[:, mulch_looks(p.calendar.weeks)])


def _padded(p: Problem) -> tuple[Array, Array]:
    """Return patterns (spreads, patterns, weeks, weeks) and amounts in the scenarios (spreads, patterns, scenarios)."""
    most = max(len(one.release.patterns) for one in p.spreads)
    weeks = p.calendar.weeks
    patterns = np.zeros((len(p.spreads), most, weeks, weeks))
    amounts = np.zeros((len(p.spreads), most, p.scenarios.count))
    for s, one in enumerate(p.spreads):
        patterns[s, : len(one.release.patterns)] = one.release.patterns
        amounts[s, : len(one.release.amount)] = one.release.amount[:, p.scenarios.picked] * p.scenarios.arrives[:, s]
    return patterns, amounts


def _given(m: Matrix, p: Problem) -> Index:
    """Add a column for every pattern of release on every bed at every check: kg per m2 times the pattern so far."""
    patterns, amounts = _padded(p)
    at_check = patterns[:, :, :, p.checks]
    matters = np.einsum("spak,sba->spbk", np.abs(at_check), p.allowed.astype(float)) > 0
    matters &= np.abs(amounts).max(axis=2)[:, :, None, None] > 0
    lower = np.where(at_check.min(axis=(2, 3)) < 0, -INFINITY, 0.0)[:, :, None, None]
    return m.columns("given", matters.shape, lower=lower, where=matters)


def _inflow(c: Columns, p: Problem) -> _Inflow:
    weeks, parts = np.arange(p.calendar.weeks), []
    for column, material in ((c.take, p.lot_material), (c.buy, p.good_material)):
        stuff, week = np.broadcast_arrays(material[:, None], weeks)
        parts.append((stuff, week, column, np.ones(column.shape)))
    ready = _first(p.ready)
    stuff = len(p.raw) + np.arange(len(p.recipes))[:, None, None]
    kg = p.compost_yield.reshape(-1, 1, 1)
    parts.append(tuple(np.broadcast_arrays(stuff, ready[:, None, :], c.build, kg)))  # type: ignore[arg-type]
    if p.castings is not None:
        week, kg = _first(p.castings_ready)[None, None, :], p.castings_yield[:, None, None]
        parts.append(tuple(np.broadcast_arrays(len(p.stuffs) - 1, week, c.feed, kg)))  # type: ignore[arg-type]
    stuff, week, column, kg = (np.concatenate([one[n].ravel() for one in parts]) for n in range(4))
    kept = (column >= 0) & (week < p.calendar.weeks)
    return _Inflow(stuff[kept], week[kept], column[kept], kg[kept])


def _first(ready: Array) -> NDArray[np.int64]:
    """Return the first week something is ready; the number of weeks when it is not within the season."""
    return np.asarray(np.where(ready.any(axis=-1), ready.argmax(axis=-1), ready.shape[-1]), dtype=np.int64)


def _stocks(m: Matrix, c: Columns, p: Problem) -> None:
    """Hold stock = stock before + what comes - what is used, and use everything before it spoils."""
    shape = (len(p.stuffs), p.calendar.weeks)
    store = np.zeros(shape)
    store[:, 0] = p.store_kg
    rows, inflow = m.rows("stock", shape, lower=store, upper=store), _inflow(c, p)
    m.put(rows, c.stock)
    m.put(rows[:, 1:], c.stock[:, :-1], -1.0)
    m.put(rows[inflow.stuff, inflow.week], inflow.column, -inflow.kg)
    m.put(rows[:, 0], c.thrown)
    m.put(rows[p.spread_stuff][:, None, :], c.spread)
    m.put(rows[: len(p.raw), None, None, :], c.build[None], p.shares[:, :, None, None])
    m.put(rows[: len(p.raw), None, :], c.feed)
    kept = np.array([int(one.storage_weeks) for one in p.stuffs])
    spoils = kept < p.calendar.weeks
    fresh = np.arange(p.calendar.weeks) < kept[:, None]
    keeps = m.rows("keeps", shape, upper=np.where(fresh, p.store_kg[:, None], 0.0), where=spoils[:, None])
    m.put(keeps, c.stock)
    for age in range(int(kept[spoils].max(initial=0))):
        young = (inflow.week + age < p.calendar.weeks) & (age < kept[inflow.stuff])
        m.put(keeps[inflow.stuff[young], inflow.week[young] + age], inflow.column[young], -inflow.kg[young])


def _sacks(m: Matrix, c: Columns, p: Problem) -> None:
    """Buy no more than whole sacks hold."""
    rows = m.rows("sacks", (len(p.goods),), upper=0.0)
    m.put(rows[:, None], c.buy)
    m.put(rows, c.sacks, [-one.sack_kg for one in p.goods])


def _heaps(m: Matrix, c: Columns, p: Problem) -> None:
    """Hold each batch between the smallest that heats and what the heap holds, one batch at a time in a place."""
    shape, weeks = c.build.shape, p.calendar.weeks
    volume = np.array([(1 + one.water_kg_kg) / one.density_kg_m3 for one in p.recipes]).reshape(-1, 1, 1)
    capacity = np.array([place.capacity_m3 for place in p.places]).reshape(1, -1, 1)
    least = np.minimum(capacity, coefficient("heap_min_volume").value)
    holds = m.rows("heap_holds", shape, upper=0.0, where=p.buildable)
    m.put(holds, c.build, volume)
    m.put(holds, c.start, -capacity)
    heats = m.rows("heap_heats", shape, lower=0.0, where=p.buildable)
    m.put(heats, c.build, volume)
    m.put(heats, c.start, -least)
    count = np.array([len(place.heaps) for place in p.places], dtype=float).reshape(-1, 1)
    one_at_a_time = m.rows("one_batch_at_a_time", (len(p.places), weeks), upper=count)
    age = np.arange(weeks)[None, :] - np.arange(weeks)[:, None]
    active = (age >= 0) & (age < coefficient("heap_active_weeks").value)
    m.put(one_at_a_time[None, :, None, :], c.start[:, :, :, None], active[None, None])


def _worm_beds(m: Matrix, c: Columns, p: Problem) -> None:
    most = np.array([feed_kg_per_week(one) for one in p.garden.worm_beds]).reshape(-1, 1)
    m.put(m.rows("worms_eat", (len(most), p.calendar.weeks), upper=most)[None], c.feed)
    for key in ("nitrogen", "p", "k") if p.castings is not None else ():
        rows = m.rows(f"castings_{key}", (len(most), p.calendar.weeks), lower=0.0)
        m.put(rows[None], c.feed, castings_spare(p, key)[:, None, None])


def castings_spare(p: Problem, key: str) -> Array:
    """Return what a kilogram of each feed holds beyond what castings of it are counted to hold, g per kg, (raw,).

    Castings count as those of the usual mixture, whatever is fed; so no week's feed may bring less than that.
    """
    mixture = dict(p.castings.made_of) if p.castings is not None else {}
    share = np.array([mixture.get(one.id, 0.0) for one in p.raw])
    kept = 1.0 - nitrogen_lost_share() if key == "nitrogen" else 1.0
    brings = kept * np.array([float(np.median(getattr(one, key))) for one in p.raw])
    counted = p.castings_yield * (share @ brings) / (share @ p.castings_yield)
    spare = np.where(p.castings_yield > 0, (brings - counted) * GRAMS, 0.0)
    return np.where(np.abs(spare) > _TINY, spare, 0.0)


def _totals(m: Matrix, c: Columns, p: Problem) -> None:
    """Define what a bed gets of a spread in the season, and its patterns of release so far, kg per m2."""
    per_m2 = 1.0 / p.area_m2
    rows = m.rows("total", c.total.shape, lower=0.0, upper=0.0, where=c.total >= 0)
    m.put(rows, c.total)
    m.put(rows[:, :, None], c.spread, -per_m2[:, None])
    patterns = _padded(p)[0][:, :, :, p.checks]
    given = m.rows("given", c.given.shape, lower=0.0, upper=0.0, where=c.given >= 0)
    m.put(given, c.given)
    for s in range(len(p.spreads)):
        coefficients = -patterns[s].transpose(0, 2, 1)[:, None] * per_m2[None, :, None, None]
        m.put(given[s][:, :, :, None], c.spread[s][None, :, None, :], coefficients)


def _mulch(m: Matrix, c: Columns, p: Problem) -> None:
    """Hold the standing depth to each material's limit and the bed's, and ask for cover on growing crops."""
    looks = mulch_looks(p.calendar.weeks)
    laid = [s for s, one in enumerate(p.spreads) if one.use == "mulch"]
    wanted, most = coefficient("mulch_depth_target").value, coefficient("standing_mulch_max").value
    shape = (len(p.needs), len(looks))
    limits = np.array([p.spreads[s].depth_limit_m for s in laid]).reshape(-1, 1, 1)
    layer = m.rows("layer", (len(laid), *shape), upper=limits, where=limits < most)
    standing = m.rows("mulch", shape, upper=most)
    cover = m.rows("cover", shape, lower=wanted, where=_looked_at(p) > 0)
    m.put(cover, c.bare, wanted)
    for row, s in enumerate(laid):
        one = p.spreads[s]
        depth = depth_m_per_kg_m2(one.stuff) * one.left[:, looks].T / p.area_m2[:, None, None]
        for rows in (layer[row], standing, cover):
            m.put(rows[:, :, None], c.spread[s][:, None, :], depth)


def _nitrogen(m: Matrix, c: Columns, p: Problem) -> None:
    """Let supply and shortfall together meet demand at each check of each scenario, and price nitrogen far beyond need.

    Rows are in g per m2, so that the solver's tolerances stay far below the figures.
    """
    asked = nitrogen_asked(p)
    amounts = _padded(p)[1] * GRAMS
    rows = m.rows("nitrogen", asked.shape, lower=asked)
    m.put(rows, c.short_n)
    most = np.maximum(asked[:, :, -1], 0.0) + coefficient("n_supply_surplus_max").value
    over = m.rows("surplus", most.shape, upper=most)
    m.put(over, c.surplus, -1.0)
    for j in range(p.scenarios.count):
        here = amounts[:, :, j, None, None]
        m.put(rows[j][None, None], c.given, here)
        m.put(over[j][None, None], c.given[:, :, :, -1], here[..., 0])


def nitrogen_asked(p: Problem) -> Array:
    """Return what crops ask beyond the soil's own nitrogen by each check, g per m2, shape (scenarios, beds, checks)."""
    demand = np.array([need.n_demand_kg_m2 for need in p.needs])
    return np.asarray((demand - p.scenarios.soil_n_kg_m2)[:, :, p.checks] * GRAMS)


def _phosphorus_and_potassium(m: Matrix, c: Columns, p: Problem) -> None:
    need = np.array([[one.need_kg_m2[key] * GRAMS for key in "PK"] for one in p.needs])
    rows = m.rows("need", c.short_pk.shape, lower=need)
    m.put(rows, c.short_pk)
    for column, key in enumerate("pk"):
        per_kg = np.array([getattr(one.release, key)[p.scenarios.picked] for one in p.spreads]) * p.scenarios.arrives.T
        m.put(rows[:, None, :, column], c.total[None], per_kg.T[:, :, None] * GRAMS)


def _ceilings(m: Matrix, c: Columns, p: Problem) -> None:
    """Hold totals of phosphorus, potassium, salts and trace elements to each bed's ceilings, and rates to theirs.

    What a kilogram holds is taken at the share of draws in which a ceiling is to hold. What no bed could reach even at full depth
    is left out: it cannot bind, and rows cost time.
    """
    dug = np.array([float(one.use == "dig_in") for one in p.spreads])
    ash = np.array([float(is_ash(one.stuff)) for one in p.spreads])
    for name, counts, rate in (("dug_in", dug, "compost_rate_max"), ("ash", ash, "wood_ash_rate_max")):
        rows = m.rows(name, (len(p.needs),), upper=coefficient(rate).value, where=counts.any())
        m.put(rows, c.total, counts[:, None])
    for key in dict.fromkeys(key for need in p.needs for key in need.ceilings):
        per_kg, limits = ceiling_contents(p, key), np.array([need.ceilings[key].limit_kg_m2 for need in p.needs])
        if _most_kg_m2(p, per_kg) > limits.min():
            scale = 1.0 / max(float(limits.max()), _TINY)
            rows = m.rows(f"ceiling_{key}", limits.shape, upper=scale * limits)
            m.put(rows, c.total, scale * per_kg[:, None])


def ceiling_contents(p: Problem, key: str) -> Array:
    """Return what a kilogram of each spread counts as against a ceiling, kg per kg, (spreads,)."""
    level = coefficient("ceiling_confidence").value
    held = [one.held(key) for one in p.spreads]
    return np.array([0.0 if draws is None else float(np.quantile(draws, level)) for draws in held])


def _most_kg_m2(p: Problem, per_kg: Array) -> float:
    """Return the most of a substance that any bed could receive: full mulch renewed as it decays, and all worked in."""
    mulch = dug_in = 0.0
    for held, spread in zip(per_kg, p.spreads, strict=True):
        if spread.use == "dig_in":
            dug_in = max(dug_in, held)
        else:
            least_left = max(float(spread.left[spread.left > 0].min()), _TINY)
            mulch = max(mulch, held / depth_m_per_kg_m2(spread.stuff) / least_left)
    depth, rate = coefficient("standing_mulch_max").value, coefficient("compost_rate_max").value
    return mulch * depth + dug_in * rate


def _hands(m: Matrix, c: Columns, p: Problem) -> None:
    """Hold weekly hours to the hands there are, where the garden names them."""
    if p.garden.info.hours_per_week is not None:
        rows = m.rows("hands", (p.calendar.weeks,), upper=p.garden.info.hours_per_week)
        for column, hours in work(c, p):
            m.put(np.broadcast_to(rows, column.shape), column, hours)
        m.put(rows, c.start[:, :, :, None], batch_hours(p.calendar.weeks)[:, :-1])


def work(c: Columns, p: Problem) -> list[tuple[Index, Array]]:
    """Return blocks of columns and the hours each unit of them asks for in its own week; batches are told apart."""
    per_take = np.array([collect_hours_per_kg(p, lot) for lot in range(len(p.lots))]).reshape(-1, 1)
    return [
        (c.take, np.broadcast_to(per_take, c.take.shape)),
        (c.buy, np.full(c.buy.shape, handling_hours_per_kg())),
        (c.spread, np.full(c.spread.shape, spread_hours_per_kg())),
    ]
