"""The season written a second time, from what docs/season.md says: dense, by ages and running sums instead of stocks,
every release written out, solved by scipy's milp."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field

import numpy as np
from scipy.optimize import LinearConstraint, milp

from loamery.reference import coefficient
from loamery.season.mulch import mulch_looks
from loamery.season.problem import Problem

G = 1000.0
AIMS = ("shortfall", "cost", "kept_away")
Terms = dict[int, float]


def value(name: str) -> float:
    return coefficient(name).value


@dataclass
class Dense:
    """A programme under construction: columns with bounds and costs, rows with two sides."""

    most: list[float] = field(default_factory=list)
    least: list[float] = field(default_factory=list)
    whole: list[int] = field(default_factory=list)
    costs: dict[str, Terms] = field(default_factory=lambda: {aim: defaultdict(float) for aim in AIMS})
    rows: list[tuple[Terms, float, float]] = field(default_factory=list)

    def column(self, most: float = np.inf, *, least: float = 0.0, whole: bool = False, **costs: float) -> int:
        number = len(self.most)
        self.most.append(most)
        self.least.append(least)
        self.whole.append(int(whole))
        for aim, cost in costs.items():
            self.costs[aim][number] += cost
        return number

    def row(self, terms: Terms, least: float = -np.inf, most: float = np.inf) -> None:
        self.rows.append((dict(terms), least, most))

    def solve(self) -> dict[str, float]:
        """Return the best value of each aim in its turn."""
        out = {}
        for aim in AIMS:
            table = np.zeros((len(self.rows), len(self.most)))
            for number, (terms, _, _) in enumerate(self.rows):
                for column, factor in terms.items():
                    table[number, column] += factor
            low, high = np.array([row[1] for row in self.rows]), np.array([row[2] for row in self.rows])
            cost = np.zeros(len(self.most))
            for column, price in self.costs[aim].items():
                cost[column] = price
            found = milp(
                cost, constraints=LinearConstraint(table, low, high), bounds=(self.least, self.most),
                integrality=self.whole, options={"mip_rel_gap": 0.0},
            )  # fmt: skip
            assert found.success, found.message
            out[aim] = float(found.fun)
            if aim != AIMS[-1]:
                room = value(f"slack_{aim}_share") * abs(out[aim]) + value(f"slack_{aim}")
                self.row(dict(self.costs[aim]), most=out[aim] + room)
        return out


@dataclass
class _Season:
    """The columns other parts of the second writing refer to."""

    dense: Dense
    spread: dict[tuple[int, int, int], int] = field(default_factory=dict)
    take: dict[tuple[int, int], int] = field(default_factory=dict)
    buy: dict[tuple[int, int], int] = field(default_factory=dict)
    build: dict[tuple[int, int, int], int] = field(default_factory=dict)
    start: dict[tuple[int, int, int], int] = field(default_factory=dict)
    feed: dict[tuple[int, int, int], int] = field(default_factory=dict)
    lying: list[int] = field(default_factory=list)
    hours: list[Terms] = field(default_factory=list)


def independent(p: Problem) -> dict[str, float]:
    """Return the best value of each aim in its turn."""
    s = _Season(Dense(), hours=[defaultdict(float) for _ in range(p.calendar.weeks)])
    _columns(p, s)
    _raw_by_age(p, s)
    _products_by_sums(p, s)
    _heaps(p, s)
    _worms(p, s)
    _scenarios(p, s)
    _limits(p, s)
    _mulch(p, s)
    return s.dense.solve()


def _columns(p: Problem, s: _Season) -> None:
    weeks, worth = range(p.calendar.weeks), p.garden.info.hour_worth or value("hour_worth")
    handling = value("hours_per_100kg_collect") / 100
    for key in map(tuple, np.argwhere(p.allowed)):
        s.spread[key] = s.dense.column(cost=value("hours_per_100kg_spread") / 100)
        s.hours[key[2]][s.spread[key]] += value("hours_per_100kg_spread") / 100
    for lot, offer in enumerate(p.lots):
        km = p.garden.donor(offer.donor).distance_km
        per_kg = 2 * km / value("haul_speed") / value("haul_load") + handling
        for t in weeks:
            free = -1.0 if offer.price_per_kg == 0 else 0.0
            cost = per_kg + offer.price_per_kg / worth
            s.take[lot, t] = s.dense.column(float(p.lot_kg[lot, t]), cost=cost, kept_away=free)
            s.hours[t][s.take[lot, t]] += per_kg
    for good, one in enumerate(p.goods):
        sacks = s.dense.column(one.most, whole=True, cost=one.price / worth)
        for t in weeks:
            s.buy[good, t] = s.dense.column(cost=handling)
            s.hours[t][s.buy[good, t]] += handling
        s.dense.row({s.buy[good, t]: 1.0 for t in weeks} | {sacks: -one.sack_kg}, most=0.0)
    for r in range(len(p.recipes)):
        for h, place in enumerate(p.places):
            for t in np.flatnonzero(p.buildable):
                s.build[r, h, t] = s.dense.column()
                s.start[r, h, t] = s.dense.column(len(place.heaps), whole=True)
    for m in np.flatnonzero(p.castings_yield > 0):
        for w in range(len(p.garden.worm_beds)):
            s.feed |= {(m, w, t): s.dense.column() for t in weeks}


def _raw_by_age(p: Problem, s: _Season) -> None:
    """What comes in week a is used in week t while it keeps, or still lies there at the end."""
    weeks = p.calendar.weeks
    for m, stuff in enumerate(p.raw):
        kept, used_in = int(stuff.storage_weeks), [defaultdict(float) for _ in range(weeks)]
        for a in range(weeks):
            came: Terms = {s.take[lot, a]: -1.0 for lot in np.flatnonzero(p.lot_material == m)}
            came |= {s.buy[good, a]: -1.0 for good, one in enumerate(p.goods) if one.material == stuff.id}
            parts = [s.dense.column() for _ in range(a, min(a + kept, weeks - 1) + 1)]
            for t, column in enumerate(parts, start=a):
                used_in[t][column] -= 1.0
            terms = came | dict.fromkeys(parts, 1.0)
            if a == 0 and p.store_kg[m] > 0:
                terms[s.dense.column(p.store_kg[m], kept_away=1.0)] = 1.0
            if kept and a + kept > weeks - 1:
                terms[s.dense.column(kept_away=1.0)] = 1.0
            in_store = float(p.store_kg[m]) if a == 0 else 0.0
            s.dense.row(terms, in_store, in_store)
        for t in range(weeks):
            goes: Terms = dict(used_in[t])
            for (row, _, week), column in s.spread.items():
                if week == t and p.spreads[row].stuff.id == stuff.id:
                    goes[column] = goes.get(column, 0.0) + 1.0
            for (r, _, week), column in s.build.items():
                if week == t:
                    goes[column] = dict(p.recipes[r].shares).get(stuff.id, 0.0)
            for (fed, _, week), column in s.feed.items():
                if week == t and fed == m:
                    goes[column] = 1.0
            s.dense.row(goes, 0.0, 0.0)


def _made(p: Problem, s: _Season, product: str, until: int) -> Terms:
    """Return what of a product is ready by the end of a week."""
    if p.castings is not None and product == p.castings.id:
        return {
            column: float(p.castings_yield[m]) for (m, _, t), column in s.feed.items() if p.castings_ready[t, until]
        }
    r = [one.id for one in p.composts].index(product)
    return {
        column: float(p.compost_yield[r])
        for (row, _, t), column in s.build.items()
        if row == r and t + np.ceil(p.lead_weeks[r, t]) <= until
    }


def _products_by_sums(p: Problem, s: _Season) -> None:
    """No more of a product is spread by any week than was ready; what was ever made and not spread is next spring's."""
    products = [*p.composts, *([p.castings] if p.castings else [])]
    spring: Terms = defaultdict(float)
    for one in products:
        assert one.storage_weeks >= p.calendar.weeks, "the sums hold only where nothing spoils"
        for t in range(p.calendar.weeks):
            terms = {
                column: -1.0
                for (row, _, week), column in s.spread.items()
                if week <= t and p.spreads[row].stuff.id == one.id
            }
            s.dense.row(terms | _made(p, s, one.id, t), least=0.0)
        for (row, _, _), column in s.spread.items():
            spring[column] -= float(p.spreads[row].stuff.id == one.id)
    for (r, _, _), column in s.build.items():
        spring[column] += float(p.compost_yield[r])
    for (m, _, _), column in s.feed.items():
        spring[column] += float(p.castings_yield[m])
    if products:
        target = value("next_spring_compost") * sum(need.bed.area_m2 for need in p.needs)
        spring[s.dense.column(shortfall=value("weight_next_spring") / max(target, 1.0))] = 1.0
        s.dense.row(spring, least=target)


def _heaps(p: Problem, s: _Season) -> None:
    turnings = int(value("turnings_per_batch"))
    for (r, h, t), begun in s.start.items():
        recipe, place = p.recipes[r], p.places[h]
        litres = (1 + recipe.water_kg_kg) / recipe.density_kg_m3
        s.dense.row({s.build[r, h, t]: litres, begun: -place.capacity_m3}, most=0.0)
        s.dense.row({s.build[r, h, t]: litres, begun: -min(place.capacity_m3, value("heap_min_volume"))}, least=0.0)
        s.dense.costs["cost"][begun] += value("hours_per_batch") + turnings * value("hours_per_turning")
        s.hours[t][begun] += value("hours_per_batch")
        for number in range(turnings):
            week = t + round((number + 1) * value("heap_active_weeks") / (turnings + 1))
            if week < p.calendar.weeks:
                s.hours[week][begun] += value("hours_per_turning")
    for h, place in enumerate(p.places):
        for now in range(p.calendar.weeks):
            going = {
                c: 1.0 for (_, at, t), c in s.start.items() if at == h and 0 <= now - t < value("heap_active_weeks")
            }
            s.dense.row(going, most=len(place.heaps))


def _worms(p: Problem, s: _Season) -> None:
    for w, box in enumerate(p.garden.worm_beds):
        kg = box.worms_kg or value("worm_stocking") * box.area_m2
        for t in range(p.calendar.weeks):
            eaten = {column: 1.0 for (_, at, week), column in s.feed.items() if (at, week) == (w, t)}
            s.dense.row(eaten, most=7 * value("worm_feed_ceiling") * kg)
            kept_shares = (("nitrogen", 1 - value("worm_n_loss")), ("p", 1.0), ("k", 1.0))
            for key, kept in kept_shares if p.castings is not None else ():
                brings = {one.id: kept * float(np.median(getattr(one, key))) for one in p.raw}
                yields = {one.id: float(p.castings_yield[m]) for m, one in enumerate(p.raw)}
                mixture = p.castings.made_of
                holds = sum(kg * brings[name] for name, kg in mixture) / sum(kg * yields[name] for name, kg in mixture)
                terms = {}
                for (m, at, week), column in s.feed.items():
                    if (at, week) == (w, t):
                        spare = G * (brings[p.raw[m].id] - yields[p.raw[m].id] * holds)
                        terms[column] = spare if abs(spare) > 1e-9 else 0.0
                s.dense.row(terms, least=0.0)


def _on(p: Problem, s: _Season, bed: int, per_kg: object) -> Terms:
    """Return what is spread on a bed times a figure of each stuff (and week), per m2."""
    out: Terms = {}
    for (row, b, t), column in s.spread.items():
        if b == bed:
            figure = per_kg(row, t)  # type: ignore[operator]
            out[column] = float(figure) / p.needs[bed].bed.area_m2
    return out


def _scenarios(p: Problem, s: _Season) -> None:
    area = np.array([need.bed.area_m2 for need in p.needs])
    part, count = area / area.sum(), p.scenarios.count
    tail, level = value("tail_weight"), value("tail_level")
    edge = s.dense.column(least=-np.inf, shortfall=tail)
    for j, draw in enumerate(p.scenarios.picked):
        loss = s.dense.column(shortfall=(1 - tail) / count)
        beyond = s.dense.column(shortfall=tail / (1 - level) / count)
        s.dense.row({beyond: 1.0, edge: 1.0, loss: -1.0}, least=0.0)
        adds: Terms = {loss: 1.0}
        for b, need in enumerate(p.needs):
            scale = {key: max(need.need_kg_m2[key] * G, 0.1) for key in "NPK"}
            gone: list[int] = []
            before: tuple[int, int, int] | None = None
            for k in p.checks:
                asked = (need.n_demand_kg_m2[k] - p.scenarios.soil_n_kg_m2[j, b, k]) * G

                def n(row: int, t: int, b: int = b, k: int = k, j: int = j, draw: int = draw) -> float:
                    release = p.spreads[row].release.on_bed(b)
                    amount = release.amount[:, draw] @ release.patterns[:, t, k]
                    return float(amount * p.scenarios.arrives[j, row] * G)

                given = _on(p, s, b, n)
                short, lying, washed = s.dense.column(), s.dense.column(), s.dense.column()
                gone.append(washed)
                adds[short] = -value("weight_n") * part[b] / scale["N"] / len(p.checks)
                out = dict.fromkeys([lying, *gone], -1.0)
                s.dense.row(given | {short: 1.0} | out, least=asked, most=asked)
                _soil_water(p, s, (j, b, k), (short, lying, washed), before)
                before = (short, lying, int(k))
                if k == p.checks[-1]:
                    over = s.dense.column()
                    adds[over] = -value("weight_surplus") * part[b] / scale["N"]
                    s.dense.row(given | {over: -1.0}, most=max(asked, 0.0) + value("n_supply_surplus_max"))
            for key in "PK":
                short = s.dense.column()
                adds[short] = -value(f"weight_{key.lower()}") * part[b] / scale[key]

                def given_pk(row: int, t: int, key: str = key, j: int = j, draw: int = draw) -> float:
                    draws = getattr(p.spreads[row].release, key.lower())
                    return float(draws[draw] * p.scenarios.arrives[j, row] * G)

                s.dense.row(_on(p, s, b, given_pk) | {short: 1.0}, least=need.need_kg_m2[key] * G)
        s.dense.row(adds, 0.0, 0.0)


def _soil_water(
    p: Problem,
    s: _Season,
    place: tuple[int, int, int],
    columns: tuple[int, int, int],
    before: tuple[int, int, int] | None,
) -> None:
    """Hold what a crop makes up for, and what drainage carries away of what lies mineral beyond the bare soil's."""
    (j, b, k), (short, lying, washed) = place, columns
    demand = p.needs[b].n_demand_kg_m2
    since = -1 if before is None else before[2]
    course = demand[k] - (demand[since] if before else 0.0)
    held = {short: 1.0} if before is None else {short: 1.0, before[0]: -1.0}
    s.dense.row(held, least=-(p.scenarios.catch_up[j] - 1.0) * course * G)
    kept = np.exp(-p.scenarios.drained[j, b, since + 1 : k + 1].sum())
    bare = p.scenarios.lying_kg_m2[j, b, k] + (p.scenarios.lying_kg_m2[j, b, since] if before else 0.0)
    half = (1.0 - kept) / 2.0
    terms = {washed: 1.0, lying: -half} | ({} if before is None else {before[1]: -half})
    s.dense.row(terms, least=-half * bare * G)


def _limits(p: Problem, s: _Season) -> None:
    for b, need in enumerate(p.needs):
        for key, ceiling in need.ceilings.items():

            def held(row: int, t: int, key: str = key) -> float:
                one = p.spreads[row]
                draws = {"P": one.stuff.p, "K": one.stuff.k, "salt": one.stuff.salts}.get(key, one.stuff.trace.get(key))
                if draws is None:
                    return 0.0
                reaches = 1.0 if key in ("K", "salt") or one.use == "dig_in" else one.stuff.decay.decomposed_frac
                return float(np.quantile(draws, value("ceiling_confidence")) * reaches)

            most = max(ceiling.limit_kg_m2, 1e-12)
            loads = {column: load / most for column, load in _on(p, s, b, held).items()}
            s.dense.row(loads, most=ceiling.limit_kg_m2 / most)
        s.dense.row(_on(p, s, b, lambda row, _: p.spreads[row].use == "dig_in"), most=value("compost_rate_max"))
        ash = _on(p, s, b, lambda row, _: p.spreads[row].stuff.kind == "wood-ash")
        s.dense.row(ash, most=value("wood_ash_rate_max"))
    if p.garden.info.hours_per_week is not None:
        for week in s.hours:
            s.dense.row(week, most=p.garden.info.hours_per_week)


def _mulch(p: Problem, s: _Season) -> None:
    looks, wanted = mulch_looks(p.calendar.weeks), value("mulch_depth_target")
    calendar, wait = p.calendar, value("mulch_wait_weeks")
    for b, need in enumerate(p.needs):
        for look in looks:
            standing: Terms = {}
            for row, one in enumerate(p.spreads):
                if one.use == "mulch":
                    layer = {
                        column: float(one.left[t, look] / np.median(one.stuff.density) / need.bed.area_m2)
                        for (at, bed, t), column in s.spread.items()
                        if (at, bed) == (row, b)
                    }
                    s.dense.row(layer, most=one.stuff.mulch_depth_m)
                    standing |= layer
            s.dense.row(standing, most=value("standing_mulch_max"))
            wants = [
                calendar.week_of(one.planted) + wait <= look <= calendar.week_of(one.harvested)
                for one in need.plantings
            ]
            if any(wants):
                share = need.bed.area_m2 / sum(other.bed.area_m2 for other in p.needs)
                bare = s.dense.column(
                    1.0,
                    shortfall=value("weight_cover") * share / len(looks),
                    cost=value("hours_bare_soil") * need.bed.area_m2 / len(looks),
                )
                s.dense.row(standing | {bare: wanted}, least=wanted)
